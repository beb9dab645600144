//! What an entry has of rounds and of pieces.

use super::What;
use crate::scenario::{Learning, Step};

/// Rounds and units of an entry.
#[derive(Debug, Clone, Copy)]
pub(super) struct WorkUnits {
    pub(super) rounds: f64,
    pub(super) units: f64,
}

impl WorkUnits {
    pub(super) fn of(step: &Step, what: What, pieces: u32, rounds: Option<u32>, redone: u32) -> Self {
        let by_room = step.room.map_or(1, |room| pieces.div_ceil(room).max(1));
        let rounds = f64::from(rounds.unwrap_or(by_room));
        let learned = step.learning.map_or(f64::from(pieces), |l| learned(l, pieces));
        let units = if pieces == 0 {
            0.0
        } else {
            learned * (1.0 + f64::from(redone) / f64::from(pieces))
        };
        match what {
            What::Setup => Self { rounds, units: 0.0 },
            What::Each => Self { rounds: 0.0, units },
            What::All | What::Order | What::Once => Self { rounds, units },
        }
    }
}

/// What the first `pieces` of a batch take, in units of the first (unit model).
fn learned(learning: Learning, pieces: u32) -> f64 {
    let before = f64::from(learning.made_before);
    let last = learning.learned_by.map_or(f64::INFINITY, f64::from);
    let power = libm::log2(learning.rate);
    let factor = |i: u32| {
        libm::pow(
            (before + f64::from(i)).min(last.max(before + 1.0)) / (before + 1.0),
            power,
        )
    };
    (1..=pieces).map(factor).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The 2k-th piece takes four fifths of the k-th, those made before counted in, until no more is gained.
    #[test]
    fn pieces_get_quicker_by_hand() {
        let of = |made_before, learned_by, pieces| {
            let learning = Learning {
                rate: 0.8,
                made_before,
                learned_by,
            };
            learned(learning, pieces)
        };
        let third = 3_f64.powf(0.8_f64.log2());
        for (found, expected) in [
            (of(0, None, 4), 1.0 + 0.8 + third + 0.64),
            (of(0, Some(2), 4), 1.0 + 3.0 * 0.8),
            // The second and the third that are ever made, and the sixth, from which on nothing is gained.
            (of(1, None, 3), 1.0 + third / 0.8 + 0.8),
            (of(5, Some(6), 3), 3.0),
        ] {
            assert!((found - expected).abs() < 1e-12, "{found}, by hand {expected}");
        }
    }
}
