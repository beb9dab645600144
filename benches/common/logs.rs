//! A work log of real size, and what is reckoned on it beside `fit`: plain least squares of the same rows.

use batchwright_core::scenario::{self, Scenario};
use batchwright_core::worklog::Log;
use rand::SeedableRng;
use rand::rngs::SmallRng;
use rand_distr::{Distribution, Gamma};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Steps, each with a setup and a time a piece in minutes.
const STEPS: [(&str, f64, f64); 5] = [
    ("mill", 20.0, 6.0),
    ("drill", 12.0, 4.0),
    ("glue", 8.0, 7.0),
    ("sand", 5.0, 9.0),
    ("oil", 15.0, 3.0),
];
/// An entry of every step.
const JOBS: usize = 4_000;
pub const ENTRIES: usize = JOBS * STEPS.len();

/// The scenario of the log; its ranges are about right.
#[must_use]
pub fn scenario() -> Scenario {
    let mut text = "currency = 'EUR'\ntarget = 30\nbatch.sizes = [1, 20]\nsale.price = 60\n".to_owned();
    for (name, setup, each) in STEPS {
        let range = |minutes: f64| format!("'{} / {minutes} / {} min'", 0.6 * minutes, 1.6 * minutes);
        let _ = write!(
            text,
            "[[step]]\nname = '{name}'\nsetup = {}\neach = {}\n",
            range(setup),
            range(each)
        );
    }
    scenario::read("bench", &text, &[]).expect("a scenario without faults")
}

/// The log as a file: jobs of 1 to 20 pieces, each with a pace; setups and pieces vary by a quarter.
#[must_use]
pub fn text() -> String {
    let mut random = SmallRng::seed_from_u64(7);
    let mut drawn = |shape: f64| Gamma::new(shape, 1.0 / shape).expect("a law").sample(&mut random);
    let mut text = "date,job,step,pieces,minutes\n".to_owned();
    for job in 0..JOBS {
        let pace = drawn(100.0);
        let pieces = 1 + job * 7 % 20;
        for (name, setup, each) in STEPS {
            let n = pieces as f64;
            let minutes = pace * (setup * drawn(16.0) + each * n * drawn(16.0 * n));
            let _ = writeln!(text, ",job {job},{name},{pieces},{minutes:.1}");
        }
    }
    text
}

/// Minutes of a piece at every step by least squares: a straight line over pieces, all rows alike.
#[must_use]
pub fn least_squares(log: &Log) -> BTreeMap<&str, f64> {
    let mut sums: BTreeMap<&str, [f64; 5]> = BTreeMap::new();
    for entry in &log.entries {
        let (x, y) = (f64::from(entry.pieces), entry.minutes);
        let sum = sums.entry(&entry.step).or_default();
        for (sum, term) in sum.iter_mut().zip([1.0, x, y, x * x, x * y]) {
            *sum += term;
        }
    }
    sums.into_iter()
        .map(|(step, [n, x, y, xx, xy])| (step, (n * xy - x * y) / (n * xx - x * x)))
        .collect()
}
