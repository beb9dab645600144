//! Entries of one step as rows of the model, and what the model makes of them.

use super::ENOUGH;
use super::answer::How;
use crate::stats::estimate::Estimate;
use crate::worklog::Entry;
use crate::worklog::hierarchy::{Deviation, InCommon, Posterior, Prior, Row};
use crate::worklog::units::WorkUnits;
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

    /// Relative deviation of each job from its mean, ascending by job. Their own variances have 1 as the mean of their inverses.
    pub(super) fn deviations(&self) -> Vec<(usize, Deviation)> {
        let ([s, t], [_, setup, piece]) = (self.found.times, self.found.varies());
        let own = |row: &Row| setup * s * s * row.rounds + piece * t * t * row.units;
        let mut list: Vec<(usize, [f64; 3])> = Vec::new();
        for (_, row) in self.kept() {
            let of_row = [row.minutes, row.mean(self.found.times), own(row)];
            match list.last_mut().filter(|(job, _)| *job == row.job) {
                Some((_, sums)) => (0..3).for_each(|k| sums[k] += of_row[k]),
                None => list.push((row.job, of_row)),
            }
        }
        let mut deviations: Vec<(usize, Deviation)> = list
            .into_iter()
            .filter(|(_, [_, expected, own])| *expected > 0.0 && *own > 0.0)
            .map(|(job, [minutes, expected, own])| {
                let (off, own) = (minutes / expected - 1.0, own / (expected * expected));
                (job, Deviation { off, own })
            })
            .collect();
        let inverses: f64 = deviations.iter().map(|(_, d)| 1.0 / d.own).sum();
        let usual = deviations.len() as f64 / inverses;
        for (_, deviation) in &mut deviations {
            deviation.own /= usual;
        }
        deviations
    }
}
