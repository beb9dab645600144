//! Memory of trials that are over, kept for those to come.
//!
//! A sweep fills some ten to fifty megabytes and is done with them a moment later. Given back to the system, they would be
//! cleared and faulted in again for the next sweep, which takes longer than simulating it; whoever asks again and again (a
//! search for a price, a map of two values) would pay that every time. Only memory is kept, never anything in it.

use super::Row;
use std::sync::Mutex;

/// Bytes of values that are held at once, and so the most that are kept; larger sweeps go through their sizes in stretches.
pub(super) const COLUMN_BUDGET: usize = 256 << 20;

static POOL: Mutex<Vec<Vec<Row>>> = Mutex::new(Vec::new());

fn bytes(buffer: &Vec<Row>) -> usize {
    buffer.capacity() * size_of::<Row>()
}

/// An empty list with buffer for so many rows.
#[must_use]
pub fn take(rows: usize) -> Vec<Row> {
    let kept = POOL.lock().ok().and_then(|mut pool| {
        // The smallest that will do, and of those the last that was given back: the likeliest to be in the cache still.
        let fitting = pool.iter().enumerate().filter(|(_, buffer)| buffer.capacity() >= rows);
        let (place, _) = fitting.rev().min_by_key(|(_, buffer)| buffer.capacity())?;
        Some(pool.remove(place))
    });
    kept.unwrap_or_else(|| Vec::with_capacity(rows))
}

/// Gives rows back that nobody needs any more.
pub fn give_back(rows: impl Iterator<Item = Vec<Row>>) {
    let Ok(mut pool) = POOL.lock() else {
        return;
    };
    let mut held: usize = pool.iter().map(bytes).sum();
    for mut buffer in rows {
        held += bytes(&buffer);
        if held > COLUMN_BUDGET {
            // What is kept may be too small for what is asked for now: the oldest go first.
            while held > COLUMN_BUDGET && !pool.is_empty() {
                held -= bytes(&pool.remove(0));
            }
            if held > COLUMN_BUDGET {
                held -= bytes(&buffer);
                continue;
            }
        }
        buffer.clear();
        pool.push(buffer);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Other tests take and give at the same time: only what holds whatever they do.
    #[test]
    fn buffers_are_empty_and_large_enough() {
        for rows in [1, 100, 3, 5_000, 100] {
            let mut buffer = take(rows);
            assert!(buffer.is_empty() && buffer.capacity() >= rows);
            buffer.resize(rows, Row([1.0; crate::engine::LANES]));
            give_back(std::iter::once(buffer));
        }
        // More than is kept.
        give_back(std::iter::once(Vec::with_capacity(
            COLUMN_BUDGET / size_of::<Row>() + 1,
        )));
        let held: usize = POOL.lock().unwrap().iter().map(bytes).sum();
        assert!(held <= COLUMN_BUDGET);
    }
}
