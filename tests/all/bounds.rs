//! Bounds for what is random, derived from a stated chance of a false alarm. Seeds are fixed, so an alarm that does not ring
//! on the day a test is written never does until the draws themselves change.

use batchwright_core::engine::{Engine, Plan, SizeTrials};
use batchwright_core::questions::Settings;
use batchwright_core::scenario::{Scenario, read};
use statrs::distribution::{Binomial, ContinuousCDF, DiscreteCDF, Normal};

/// Every figure of an answer.
pub fn json(answer: &impl serde::Serialize) -> String {
    serde_json::to_string(answer).expect("plain data has a JSON form")
}

/// Chance of a false alarm of one check, unless a test says otherwise.
pub const ALARM: f64 = 1e-6;

/// How many standard errors a normal estimate strays with chance `alarm`, either way.
pub fn normal_bound(alarm: f64) -> f64 {
    Normal::standard().inverse_cdf(1.0 - 0.5 * alarm)
}

/// Counts that Binomial(n, p) stays within but for a chance of `alarm`.
pub fn binomial_bounds(n: u64, p: f64, alarm: f64) -> (u64, u64) {
    let law = Binomial::new(p, n).expect("parameters of a law");
    let smallest = |holds: &dyn Fn(u64) -> bool| {
        let (mut low, mut high) = (0, n);
        while low < high {
            let middle = low + (high - low) / 2;
            if holds(middle) {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        low
    };
    (
        smallest(&|k| law.cdf(k) > 0.5 * alarm),
        smallest(&|k| law.sf(k) <= 0.5 * alarm),
    )
}

#[track_caller]
pub fn count_is_binomial(count: u64, n: u64, p: f64, what: &str) {
    let (low, high) = binomial_bounds(n, p, ALARM);
    assert!(
        (low..=high).contains(&count),
        "{what}: {count} of {n}, due are {low} to {high}"
    );
}

/// The exact `q`-quantile must lie between two order statistics whose ranks follow from the binomial law alone, whatever
/// the law of the values (but for a chance of [`ALARM`]).
#[track_caller]
pub fn quantile_is(sorted: &[f64], q: f64, exact: f64, what: &str) {
    let n = sorted.len() as u64;
    let (low, high) = binomial_bounds(n, q, ALARM);
    let from = if low == 0 {
        f64::NEG_INFINITY
    } else {
        sorted[low as usize - 1]
    };
    let to = if high >= n {
        f64::INFINITY
    } else {
        sorted[high as usize]
    };
    // An exact value that is itself drawn (whole numbers of pieces) may miss by rounding.
    let slack = 1e-12 * exact.abs();
    assert!(
        from <= exact + slack && exact - slack <= to,
        "{what}: the {q}-quantile {exact} is not within {from} to {to}"
    );
}

#[track_caller]
pub fn close(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found} against {expected}, {:e} apart of {tolerance:e}",
        (found - expected).abs()
    );
}

pub fn scenario(text: &str) -> Scenario {
    read("test.toml", text, &[]).unwrap_or_else(|faults| panic!("{}\n{text}", faults.render(false, 100)))
}

/// So many trials, all else as usual.
pub fn settings(trials: u64) -> Settings {
    Settings {
        trials,
        ..Settings::default()
    }
}

/// Raw trials of every size.
pub fn simulate(scenario: &Scenario, trials: u64, seed: u64) -> Vec<SizeTrials> {
    let plan = Plan::new(scenario);
    Engine::new(&plan, seed).answer_sizes(trials, &|_| (), |runs| runs)
}

pub fn sorted(values: &[f64]) -> Vec<f64> {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    values
}

/// Correlation of independent pairs: its root-n multiple is standard normal.
#[track_caller]
pub fn uncorrelated(x: &[f64], y: &[f64], what: &str) {
    let n = x.len().min(y.len());
    let (x, y) = (&x[..n], &y[..n]);
    let mean = |v: &[f64]| v.iter().sum::<f64>() / n as f64;
    let (mx, my) = (mean(x), mean(y));
    let sum = |f: &dyn Fn(usize) -> f64| (0..n).map(f).sum::<f64>();
    let over = sum(&|k| (x[k] - mx) * (y[k] - my));
    let under = (sum(&|k| (x[k] - mx).powi(2)) * sum(&|k| (y[k] - my).powi(2))).sqrt();
    let bound = normal_bound(ALARM) / (n as f64).sqrt();
    assert!(
        (over / under).abs() <= bound,
        "{what}: correlation {}, {bound} allowed",
        over / under
    );
}

/// The rows of a table, without its heading.
pub fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let rows: Vec<Vec<String>> = reader
        .records()
        .map(|row| row.expect("valid").iter().map(str::to_owned).collect())
        .collect();
    assert!(!rows.is_empty());
    rows
}
