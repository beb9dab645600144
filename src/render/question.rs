//! The questions, as people name them.

use super::text::Look;
use crate::questions::sweep::Sells;
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
pub(super) fn how_many_by(sells: Sells, look: &Look) -> Option<String> {
    let (question, weighs) = match sells {
        Sells::UntilASeasonEnds => (Question::Season, "what is left over when the season ends"),
        Sells::AllYear => (Question::Steady, "what lies in stock and how often you get ready"),
        Sells::All => return None,
    };
    Some(format!(
        "This page says which sizes pay. {} says how many to make, as it also weighs {weighs}.",
        question.named(look)
    ))
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

    /// The command that asks it alone.
    pub const fn command(self) -> &'static str {
        match self {
            Self::Compare => "compare",
            Self::Sweep => "sweep",
            Self::Floor => "floor",
            Self::Stress => "stress",
            Self::Season => "season",
            Self::Steady => "steady",
            Self::Drivers => "drivers",
            Self::Jig => "jig",
            Self::Calendar => "calendar",
        }
    }

    /// The question as a heading.
    pub const fn heading(self) -> &'static str {
        match self {
            Self::Compare => "Which to make",
            Self::Sweep => "How many to make at a time",
            Self::Floor => "What to charge",
            Self::Stress => "How bad luck may get",
            Self::Season => "How many before the season ends",
            Self::Steady => "How many at a time, all year",
            Self::Drivers => "What to work on",
            Self::Jig => "Whether a jig or more room pays",
            Self::Calendar => "When it is done",
        }
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
        match self {
            Self::Compare => compare::TRIALS,
            Self::Sweep => sweep::TRIALS,
            Self::Floor => floor::TRIALS,
            Self::Stress => stress::TRIALS,
            Self::Season => season::TRIALS,
            Self::Steady => steady::TRIALS,
            Self::Drivers => drivers::TRIALS,
            Self::Jig => jig::TRIALS,
            Self::Calendar => calendar::TRIALS,
        }
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
