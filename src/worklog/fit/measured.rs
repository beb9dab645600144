//! Entries of one step as rows of the model, and what the model makes of them.

use super::ENOUGH;
use super::answer::How;
use crate::scenario::{Learning, Step};
use crate::stats::estimate::Estimate;
use crate::worklog::hierarchy::{InCommon, Posterior, Prior, Row};
use crate::worklog::{Entry, What};
use std::collections::HashMap;

/// An entry, its job, and its minutes with those of later sittings at what is done once.
#[derive(Debug, Clone, Copy)]
pub(super) struct Timed<'a> {
    pub(super) entry: &'a Entry,
    pub(super) job: usize,
    pub(super) minutes: f64,
}

/// What is done once for a design, its sittings added up: those of a job that is named, and those without one together.
pub(super) fn sittings<'a>(entries: Vec<Timed<'a>>) -> Vec<Timed<'a>> {
    let mut list: Vec<Timed<'a>> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::new();
    for timed in entries {
        match known.get(timed.entry.job.as_str()) {
            Some(k) => list[*k].minutes += timed.minutes,
            None => {
                known.insert(&timed.entry.job, list.len());
                list.push(timed);
            }
        }
    }
    list
}

/// Which job each entry belongs to: the one it names, else its day, else one of its own.
pub(super) fn jobs_of(entries: &[Entry]) -> Vec<usize> {
    let mut known: HashMap<(&str, Option<jiff::civil::Date>), usize> = HashMap::new();
    let mut count = 0;
    entries
        .iter()
        .map(|entry| {
            let mut new = || {
                count += 1;
                count - 1
            };
            match (entry.job.as_str(), entry.date) {
                ("", None) => new(),
                ("", date) => *known.entry(("", date)).or_insert_with(new),
                (job, _) => *known.entry((job, None)).or_insert_with(new),
            }
        })
        .collect()
}

/// Rows of a step's entries with what the model makes of them.
pub(super) struct Measured<'a> {
    pub(super) entries: Vec<&'a Entry>,
    pub(super) rows: Vec<Row>,
    pub(super) found: Posterior,
    pub(super) prior: Prior,
    /// Minutes of a setup and a piece that the file expects, pace counted.
    pub(super) file: [f64; 2],
    /// The same as it was guessed before the log.
    pub(super) guess: [f64; 2],
    pub(super) how: How,
}

impl<'a> Measured<'a> {
    /// `varies`: squared coefficients of variation of pace, a setup and a piece as they were guessed.
    pub(super) fn new(
        mut timed: Vec<(Timed<'a>, WorkUnits)>,
        file: [f64; 2],
        guess: [f64; 2],
        varies: [f64; 3],
    ) -> Self {
        timed.sort_by_key(|(timed, _)| timed.job);
        let rows: Vec<Row> = timed
            .iter()
            .map(|(timed, work)| Row {
                rounds: work.rounds,
                units: work.units,
                minutes: timed.minutes,
                job: timed.job,
            })
            .collect();
        let there = [rows.iter().any(|r| r.rounds > 0.0), rows.iter().any(|r| r.units > 0.0)];
        // A part that was not guessed is looked for about a quarter of what it would be if it were all of it.
        let all: f64 = rows.iter().map(|r| r.minutes).sum();
        let unguessed = [
            0.25 * all / rows.iter().map(|r| r.rounds).sum::<f64>().max(1.0),
            0.25 * all / rows.iter().map(|r| r.units).sum::<f64>().max(1.0),
        ];
        let of = |wanted: [bool; 2]| {
            let times = [0, 1].map(|k| match (wanted[k] && there[k], guess[k] > 0.0) {
                (false, _) => 0.0,
                (true, true) => guess[k],
                (true, false) => unguessed[k],
            });
            let prior = Prior {
                times,
                varies,
                pace: None,
            };
            let found = Posterior::of(&rows, &prior);
            (prior, found)
        };
        let (how, (prior, found)) = match there {
            [_, false] => (How::SetupOnly, of([true, false])),
            [false, true] => (How::EachOnly, of([false, true])),
            [true, true] => {
                let both = of([true, true]);
                if guess[0] <= 0.0 && guess[1] > 0.0 && both.1.share_below_nothing(0) >= 0.025 {
                    (How::NoSetup, of([false, true]))
                } else if guess[1] <= 0.0 && guess[0] > 0.0 && both.1.share_below_nothing(1) >= 0.025 {
                    (How::SetupOnly, of([true, false]))
                } else {
                    (How::Both, both)
                }
            }
        };
        Self {
            entries: timed.iter().map(|(timed, _)| timed.entry).collect(),
            rows,
            found,
            prior,
            file,
            guess,
            how,
        }
    }

    /// Once more, with what all steps say together of the pace.
    pub(super) fn again(&mut self, pace: &InCommon) {
        self.prior.pace = Some(pace.clone());
        self.found = Posterior::of(&self.rows, &self.prior);
    }

    /// Which of setup and piece were looked for.
    pub(super) fn has(&self) -> [bool; 2] {
        match self.how {
            How::Both => [true, true],
            How::SetupOnly => [true, false],
            How::NoSetup | How::EachOnly => [false, true],
        }
    }

    pub(super) fn enough(&self) -> bool {
        self.found.jobs >= ENOUGH
    }

    /// `S r + t d` with its interval; none with too few jobs.
    pub(super) fn estimate(&self, r: f64, d: f64) -> Estimate {
        let sum = self.found.sum(r, d);
        let value = self.found.times[0] * r + self.found.times[1] * d;
        let ends = (self.found.jobs >= ENOUGH).then(|| self.found.ends(r, d));
        Estimate {
            value,
            se: ends.map(|_| sum.sd),
            low: ends.map(|e| e.0.min(value)),
            high: ends.map(|e| e.1.max(value)),
        }
    }

    pub(super) fn is_apart(&self, row: usize) -> bool {
        self.found.apart.binary_search(&row).is_ok()
    }

    /// Entries that are not set apart, each with its row.
    pub(super) fn kept(&self) -> impl Iterator<Item = (&'a Entry, &Row)> {
        let all = self.entries.iter().copied().zip(&self.rows).enumerate();
        all.filter(|(k, _)| !self.is_apart(*k)).map(|(_, both)| both)
    }

    /// Relative deviation of each job from its mean, ascending by job.
    pub(super) fn deviations(&self) -> Vec<(usize, f64)> {
        let mut list: Vec<(usize, f64, f64)> = Vec::new();
        for (_, row) in self.kept() {
            let mean = row.mean(self.found.times);
            match list.last_mut().filter(|(job, _, _)| *job == row.job) {
                Some((_, minutes, expected)) => {
                    *minutes += row.minutes;
                    *expected += mean;
                }
                None => list.push((row.job, row.minutes, mean)),
            }
        }
        list.into_iter()
            .filter(|(_, _, expected)| *expected > 0.0)
            .map(|(job, minutes, expected)| (job, minutes / expected - 1.0))
            .collect()
    }
}

/// Rounds and units of an entry.
#[derive(Debug, Clone, Copy)]
pub(in crate::worklog) struct WorkUnits {
    pub(in crate::worklog) rounds: f64,
    pub(in crate::worklog) units: f64,
}

impl WorkUnits {
    pub(in crate::worklog) fn of(step: &Step, what: What, pieces: u32, rounds: Option<u32>, redone: u32) -> Self {
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
