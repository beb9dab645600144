//! Means and variances of hours in closed form, for whatever has one: the simulation's yardstick.
//!
//! Hours are F x M / 60 with F the pace and M the minutes of a run, independent of each other. A piece's time with redo is a
//! geometric sum of draws; pieces that reach a step after spoiling are binomial. Both are textbook results (compound sums:
//! Wald's identity and the law of total variance).

use super::plan::learning_factor;
use crate::scenario::{Scenario, Spoiled, Spread, Varies};
use statrs::distribution::{Binomial, Discrete};

/// Expected hours and their variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Hours.
    pub mean: f64,
    /// Hours squared; `None` where pieces can be spoiled, which ties the steps together.
    pub variance: Option<f64>,
}

/// Moments of the hands-on hours of a batch of `size`.
///
/// `None` where there is no closed form: spoiled pieces made again, or orders of uncertain size.
#[must_use]
pub fn hours(scenario: &Scenario, size: u32) -> Option<Moments> {
    let spoils = scenario.steps.iter().any(|s| s.spoil > 0.0);
    if (spoils && scenario.batch.spoiled == Spoiled::Remake) || !scenario.sale.order_of.is_certain() {
        return None;
    }
    let runs = f64::from(scenario.batch.runs);
    let (mut mean, mut variance) = (0.0, 0.0);
    let mut arrive = 1.0;
    for step in &scenario.steps {
        mean += step.once.mean() / runs;
        variance += step.once.variance() / (runs * runs);

        let counts = counts(size, arrive);
        let rounds = expected_groups(&counts, step.room.map_or(f64::INFINITY, f64::from));
        mean += rounds * step.setup.mean();
        variance += rounds * step.setup.variance();

        // Repeats of one piece's step: 1 + geometric.
        let repeats = 1.0 / (1.0 - step.redo);
        let repeats_variance = step.redo * repeats * repeats;
        let (mut factors, mut factors_squared, mut at_least) = (0.0, 0.0, 1.0 - counts[0]);
        for piece in 0..size {
            let factor = learning_factor(step.learning, piece);
            factors += factor * at_least;
            factors_squared += factor * factor;
            at_least -= counts[piece as usize + 1];
        }
        let (each, each_variance) = (step.each.mean(), step.each.variance());
        mean += each * factors * repeats;
        variance += match step.varies {
            Varies::Piece => factors_squared * (repeats * each_variance + repeats_variance * each * each),
            Varies::Batch => {
                let sum = factors * repeats;
                let sum_variance = factors_squared * repeats_variance;
                (each_variance + each * each) * (sum_variance + sum * sum) - each * each * sum * sum
            }
        };
        arrive *= 1.0 - step.spoil;
    }
    let orders = expected_groups(&counts(size, arrive), order_size(&scenario.sale.order_of));
    for step in &scenario.steps {
        mean += orders * step.per_order.mean();
        variance += orders * step.per_order.variance();
    }
    let (pace, pace_variance) = (scenario.pace.mean(), scenario.pace.variance());
    let whole = (pace_variance + pace * pace) * (variance + mean * mean) - pace * pace * mean * mean;
    Some(Moments {
        mean: pace * mean / 60.0,
        variance: (!spoils).then_some(whole / 3600.0),
    })
}

/// Expected pieces in an order: a draw is rounded to whole pieces, at least one.
#[must_use]
pub fn order_size(order_of: &Spread) -> f64 {
    if let Spread::Certain(value) = order_of {
        return libm::floor(value + 0.5).max(1.0);
    }
    // E[N] = sum over k of P(N >= k); P(N >= 1) is 1.
    let mut expected = 1.0;
    let mut pieces = 2.0;
    loop {
        let share = 1.0 - order_of.cdf(pieces - 0.5);
        if share < 1e-12 {
            return expected;
        }
        expected += share;
        pieces += 1.0;
    }
}

/// Chance of 0, 1, ... `size` pieces when each arrives with chance `arrive`.
fn counts(size: u32, arrive: f64) -> Vec<f64> {
    let certain = |k: u32| (0..=size).map(|i| f64::from(u8::from(i == k))).collect();
    if arrive >= 1.0 {
        return certain(size);
    }
    Binomial::new(arrive, u64::from(size)).map_or_else(
        |_| certain(0),
        |law| (0..=u64::from(size)).map(|k| law.pmf(k)).collect(),
    )
}

/// Expected number of groups of `room` that the pieces fill, at least one where there are any.
fn expected_groups(counts: &[f64], room: f64) -> f64 {
    counts
        .iter()
        .enumerate()
        .skip(1)
        .map(|(k, chance)| chance * libm::ceil(k as f64 / room).max(1.0))
        .sum()
}
