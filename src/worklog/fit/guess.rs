//! What was thought of the times before the log, which the log is read beside.
//!
//! Were a log read beside ranges that it has been put into, its jobs would count twice: once as what is believed beforehand and once as entries. So the
//! file keeps what was guessed first (`guessed_setup` and the like, written with the first ranges that a log makes), and estimates follow from that guess and
//! the whole log alone, however often the file was written between.

use crate::scenario::{Scenario, Spread};

/// The scenario with what was guessed in the place of what was learned.
pub(super) fn guessed(scenario: &Scenario) -> Scenario {
    let mut guess = scenario.clone();
    let put = |time: &mut Spread, guessed: &Option<Spread>| {
        if let Some(guessed) = guessed {
            time.clone_from(guessed);
        }
    };
    put(&mut guess.pace, &scenario.guessed_pace);
    for (step, of) in guess.steps.iter_mut().zip(&scenario.steps) {
        put(&mut step.once, &of.guessed.once);
        put(&mut step.setup, &of.guessed.setup);
        put(&mut step.each, &of.guessed.each);
        put(&mut step.per_order, &of.guessed.per_order);
        step.varies = of.guessed.varies.unwrap_or(of.varies);
    }
    for (channel, of) in guess.channels.iter_mut().zip(&scenario.channels) {
        if let Some(own) = &mut channel.per_order {
            put(own, &of.guessed_per_order);
        }
    }
    guess
}

/// A file's pace: its mean, and its squared coefficient of variation.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    pub(super) mean: f64,
    pub(super) varies: f64,
}

impl Pace {
    pub(super) fn of(spread: &Spread) -> Self {
        Self {
            mean: spread.mean(),
            varies: varies(spread),
        }
    }
}

/// Squared coefficient of variation.
pub(super) fn varies(spread: &Spread) -> f64 {
    let mean = spread.mean();
    if mean > 0.0 {
        spread.variance() / (mean * mean)
    } else {
        0.0
    }
}
