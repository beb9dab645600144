//! Aids that could be built, and what they do to the times of a step.

use super::{Spread, Step};

/// An aid that could be built: a jig, a stop, a second set of clamps, another kiln shelf.
#[derive(Debug, Clone, PartialEq)]
pub struct Jig {
    /// Unique within the scenario.
    pub name: String,
    /// Index into `Scenario::steps`.
    pub step: usize,
    /// Hands-on minutes to build it.
    pub build: Spread,
    /// Money.
    pub cost: f64,
    /// What it does to the step's setup.
    pub setup: Change,
    /// What it does to the step's time per piece.
    pub each: Change,
    /// Pieces one setup holds then; `None`: as before.
    pub room: Option<u32>,
    /// Pieces it lasts; `None`: for ever.
    pub lasts: Option<u32>,
}

impl Jig {
    /// Changes the times and the room of its step; a time that has less than it takes off is left at nothing.
    pub fn change(&self, step: &mut Step) {
        step.setup = self.setup.apply(&step.setup).unwrap_or(Spread::ZERO);
        step.each = self.each.apply(&step.each).unwrap_or(Spread::ZERO);
        if self.room.is_some() {
            step.room = self.room.max(step.room);
        }
    }
}

/// What an aid does to a time: time x factor + minutes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Factor, 0 or more.
    pub factor: f64,
    /// Minutes added; below 0: taken off.
    pub minutes: f64,
}

impl Change {
    /// Nothing is changed.
    pub const NONE: Self = Self {
        factor: 1.0,
        minutes: 0.0,
    };

    /// The changed time. Where it can be shorter than what is taken off, or is lognormal, which cannot be moved, it changes in proportion, by as
    /// much on average; `None` where more is taken off than it takes on average.
    #[must_use]
    pub fn apply(&self, time: &Spread) -> Option<Spread> {
        let in_proportion = || {
            let mean = time.mean();
            let left = mean + self.minutes;
            (mean > 0.0 && left >= 0.0).then(|| match left > 0.0 {
                true => time.scaled(left / mean),
                false => Spread::ZERO,
            })
        };
        self.alike(time).or_else(in_proportion)
    }

    /// The time with each of its values changed alike; `None` where one would fall below nothing, or they cannot be.
    #[must_use]
    pub fn alike(&self, time: &Spread) -> Option<Spread> {
        let changed = time.scaled(self.factor).shifted(self.minutes)?;
        (changed.limits().0 >= 0.0).then_some(changed)
    }
}
