//! The questions, as people name them.

use super::format::count;
use super::text::Look;
use crate::questions::sweep::{Sells, Sweep};
use crate::questions::{calendar, compare, drivers, floor, jig, season, steady, stress, sweep};
use crate::scenario::Scenario;
use serde::{Deserialize, Serialize};

/// What can be asked, in the order it stands in a report; written as its command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Question {
    /// Several scenarios against each other.
    Compare,
    /// What an hour earns, size by size.
    Sweep,
    /// The price that pays.
    Floor,
    /// What may go wrong.
    Stress,
    /// A selling season.
    Season,
    /// A steady sale.
    Steady,
    /// What moves the hour.
    Drivers,
    /// What aids are worth.
    Jig,
    /// When a batch is done.
    Calendar,
}

/// Which other question says how many to make, beside the sweep, and why; `None`: all that is made sells.
pub(super) fn how_many_by(sweep: &Sweep, look: &Look) -> Option<String> {
    let (question, weighs) = match sweep.sells {
        Sells::UntilASeasonEnds => (Question::Season, "what is left over when the season ends"),
        Sells::AllYear => (Question::Steady, "what lies in stock and how often you get ready"),
        Sells::All => return None,
    };
    let named = question.named(look);
    Some(match sweep.weighed_size() {
        Some(size) => format!("{named} advises {}, as it also weighs {weighs}.", count(size.into())),
        None => format!("This page says which sizes pay. {named} says how many to make, as it also weighs {weighs}."),
    })
}

impl Question {
    /// All, in order.
    pub const ALL: [Self; 9] = [
        Self::Compare,
        Self::Sweep,
        Self::Floor,
        Self::Stress,
        Self::Season,
        Self::Steady,
        Self::Drivers,
        Self::Jig,
        Self::Calendar,
    ];

    /// Its command, its heading, and its trials where no other number is asked for.
    const fn entry(self) -> (&'static str, &'static str, u64) {
        match self {
            Self::Compare => ("compare", "Which to make", compare::TRIALS),
            Self::Sweep => ("sweep", "How many to make at a time", sweep::TRIALS),
            Self::Floor => ("floor", "What to charge", floor::TRIALS),
            Self::Stress => ("stress", "How bad luck may get", stress::TRIALS),
            Self::Season => ("season", "How many before the season ends", season::TRIALS),
            Self::Steady => ("steady", "How many at a time, all year", steady::TRIALS),
            Self::Drivers => ("drivers", "What to work on", drivers::TRIALS),
            Self::Jig => ("jig", "Whether a jig or more room pays", jig::TRIALS),
            Self::Calendar => ("calendar", "When it is done", calendar::TRIALS),
        }
    }

    /// The command that asks it alone.
    pub const fn command(self) -> &'static str {
        self.entry().0
    }

    /// The question as a heading.
    pub const fn heading(self) -> &'static str {
        self.entry().1
    }

    /// The question as a sentence begins with it: its command where one can be typed, else its heading.
    pub(super) fn named(self, look: &Look) -> String {
        if look.terminal {
            format!("`{}`", self.command())
        } else {
            format!("\"{}\"", self.heading())
        }
    }

    /// Trials where no other number is asked for.
    pub const fn usual_trials(self) -> u64 {
        self.entry().2
    }

    /// The section that a scenario must have to be asked this, where it is not there: `[season]`.
    pub(crate) fn lacks(self, scenario: &Scenario) -> Option<&'static str> {
        let (section, there) = match self {
            Self::Compare | Self::Sweep | Self::Floor | Self::Stress | Self::Drivers => return None,
            Self::Season => ("[season]", scenario.season.is_some()),
            Self::Steady => ("[steady]", scenario.steady.is_some()),
            Self::Jig => ("[[jig]]", !scenario.jigs.is_empty()),
            Self::Calendar => ("[hours]", scenario.hours.is_some()),
        };
        (!there).then_some(section)
    }

    /// What is answered: a steady seller has no season that ends, and is answered as by `steady`.
    pub(crate) fn meant(self, scenario: &Scenario) -> Self {
        match self {
            Self::Season if scenario.season.is_none() && scenario.steady.is_some() => Self::Steady,
            other => other,
        }
    }

    /// Those that one scenario can be asked, in order.
    pub(crate) fn of(scenario: &Scenario) -> impl Iterator<Item = Self> {
        Self::ALL
            .into_iter()
            .filter(|question| *question != Self::Compare && question.lacks(scenario).is_none())
    }
}
