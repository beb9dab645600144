//! Something large that each thread makes once and uses again for every piece of work.
//!
//! Work is handed out in the smallest pieces, so that a thread that is held up keeps no other waiting for long at the end;
//! making the thing anew for every piece would cost more than that gains.

use std::sync::Mutex;

/// A thing for each thread of the pool, made when the thread first wants it.
pub struct ByThread<T, M: Fn() -> T> {
    make: M,
    things: Vec<Mutex<Option<T>>>,
}

impl<T, M: Fn() -> T> ByThread<T, M> {
    /// None yet.
    pub fn new(make: M) -> Self {
        Self {
            make,
            things: (0..rayon::current_num_threads()).map(|_| Mutex::new(None)).collect(),
        }
    }

    /// Works with this thread's; with a new one where another has it.
    pub fn with<R>(&self, work: impl FnOnce(&mut T) -> R) -> R {
        let own = rayon::current_thread_index().and_then(|thread| self.things.get(thread));
        match own.map(Mutex::try_lock) {
            Some(Ok(mut thing)) => work(thing.get_or_insert_with(&self.make)),
            _ => work(&mut (self.make)()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicUsize, Ordering};

    /// One each at most, even where work asks for more work; none outside of the pool's own threads is kept.
    #[test]
    fn things_are_made_once_a_thread() {
        let made = AtomicUsize::new(0);
        let make = || made.fetch_add(1, Ordering::Relaxed);
        let pool = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        pool.install(|| {
            let things = ByThread::new(make);
            let first = things.with(|thing| *thing);
            assert_eq!(things.with(|thing| *thing), first);
            // While it is in use, another is made for the moment.
            things.with(|_| assert_ne!(things.with(|thing| *thing), first));
            assert_eq!(things.with(|thing| *thing), first);
        });
        assert_eq!(made.load(Ordering::Relaxed), 2);
    }
}
