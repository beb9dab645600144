//! Work shared out among the threads.
//!
//! The thread library's own loops are compiled anew for everything that they are given, which had made them a fifth of this package's
//! code. So there is one loop, and this is where it stands.

use rayon::prelude::*;
use std::sync::{Mutex, PoisonError};

/// What `work` makes of each number below `count`, in their order.
///
/// Numbers are handed out one by one: a thread that is held up keeps no other waiting for long at the end.
pub fn map<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let made: Vec<Mutex<Option<T>>> = (0..count).map(|_| Mutex::new(None)).collect();
    each(count, &|k| *locked(&made[k]) = Some(work(k)));
    made.into_iter()
        .map(|made| made.into_inner().unwrap_or_else(PoisonError::into_inner))
        .map(|made| made.expect("every number was worked on"))
        .collect()
}

/// [`map`] over things that the work changes, each of which one thread has at a time.
pub(crate) fn map_mut<I: Send, T: Send>(things: &mut [I], work: impl Fn(&mut I) -> T + Sync) -> Vec<T> {
    let things: Vec<Mutex<&mut I>> = things.iter_mut().map(Mutex::new).collect();
    map(things.len(), |k| work(*locked(&things[k])))
}

/// A lock that nobody else wants; what a panic left behind is never read, as the panic goes on.
fn locked<T>(thing: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    thing.lock().unwrap_or_else(PoisonError::into_inner)
}

fn each(count: usize, work: &(dyn Fn(usize) + Sync)) {
    (0..count).into_par_iter().with_max_len(1).for_each(work);
}

#[cfg(test)]
mod tests {
    use super::*;

    /// In order on any number of threads, and every thing is worked on once.
    #[test]
    fn what_is_made_stands_in_the_order_of_the_numbers() {
        for threads in [1, 3] {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| {
                assert_eq!(map(100, |k| k * k), (0..100).map(|k| k * k).collect::<Vec<_>>());
                let mut things: Vec<usize> = (0..100).collect();
                let before = map_mut(&mut things, |thing| std::mem::replace(thing, *thing + 1));
                assert_eq!(before, (0..100).collect::<Vec<_>>());
                assert_eq!(things, (1..101).collect::<Vec<_>>());
            });
        }
        assert!(map(0, |k| k).is_empty());
    }
}
