//! What it really took: a work log of timed entries, and the estimates that follow from it.
//!
//! A work log is a CSV file that can also be kept in a spreadsheet: one line an entry, columns named in the first line
//! ([`COLUMNS`]). `read` takes it apart and says every fault, `add` puts one entry to it, `look` says what is in it, `hierarchy` is
//! the model of a step's entries, `ranges` makes a file's ranges of it, `fit` puts both together, `own_times` keeps single times as they
//! are, and `edit` writes those into a scenario's text.
//!
//! Nothing here reads or writes a file, prints, or asks a clock.

pub mod add;
pub mod edit;
pub mod fit;
mod hierarchy;
pub mod look;
pub mod own_times;
mod ranges;
mod read;
mod units;

pub use crate::logfile::Form;
pub use read::{minutes, read};

use crate::logfile::{Kind, Other};
use crate::questions::calendar::orders_through;
use crate::scenario::{Guessed, Scenario, Spread, Step, Varies};
use jiff::civil::Date;
use std::collections::HashMap;

/// Columns that are understood, in the order of a new log. `step`, `pieces` and `minutes` must be there; others may be missing, and
/// columns of any other name are left alone.
pub const COLUMNS: [&str; 10] = [
    "date", "job", "step", "what", "pieces", "rounds", "minutes", "spoiled", "redone", "note",
];

/// Work logs among all logs.
pub static KIND: Kind = Kind {
    name: "work log",
    columns: &COLUMNS,
    needed: &["step", "pieces", "minutes"],
    other: Other {
        name: "sales log",
        needed: &["listed", "price", "sold"],
        read_by: "`sold` and `log --sale`",
    },
};

/// A work log that was read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// In the order of the file.
    pub entries: Vec<Entry>,
    /// How the file is written.
    pub form: Form,
    /// Remarks on the file itself: columns that look misspelt.
    pub doubts: Vec<String>,
}

/// One timed stretch of work at one step.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Line in the file, from 1; 0 for an entry that is in none yet.
    pub line: usize,
    /// When.
    pub date: Option<Date>,
    /// For which batch of which thing, in the maker's words; empty: not said.
    pub job: String,
    /// Which step.
    pub step: String,
    /// What was timed.
    pub what: What,
    /// Pieces handled (orders where `what` is [`What::Order`]); 0 where none were, and where a piece (an order) is gone on with that
    /// another entry of the job and step counts.
    pub pieces: u32,
    /// Rounds, each with its own setup; `None`: as many as the step's room asks for.
    pub rounds: Option<u32>,
    /// Hands-on minutes, above 0.
    pub minutes: f64,
    /// Pieces lost there; `None`: not said.
    pub spoiled: Option<u32>,
    /// Times the step was done again on a piece; `None`: not said.
    pub redone: Option<u32>,
    /// Anything else.
    pub note: String,
}

/// What of a step an entry timed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum What {
    /// Setup and pieces together.
    All,
    /// Setup alone.
    Setup,
    /// Pieces alone.
    Each,
    /// Orders.
    Order,
    /// What is done once for the life of a design.
    Once,
}

/// What an entry may be logged at: the scenario's steps, then the orders of each channel that takes a time of its own for them.
#[must_use]
pub fn logged_at(scenario: &Scenario) -> Vec<Step> {
    let none = || Spread::Certain(0.0);
    let own = scenario.channels.iter().filter_map(|channel| {
        Some(Step {
            name: orders_through(channel),
            once: none(),
            setup: none(),
            each: none(),
            per_order: channel.per_order.clone()?,
            room: None,
            others: 0.0,
            helped: false,
            kept_in: None,
            wait: none(),
            varies: Varies::Piece,
            opposite: 0.0,
            learning: None,
            redo: 0.0,
            spoil: 0.0,
            second: 0.0,
            guessed: Guessed::default(),
        })
    });
    scenario.steps.iter().cloned().chain(own).collect()
}

impl Log {
    /// The entries with sittings of one piece put together: an entry that counts no pieces goes on with what the last entry before
    /// it of its job, step and `what` counts (the first after it where none is before). Without a job, an entry's job is none. Beside them, the
    /// lines of entries that go on with nothing there is.
    #[must_use]
    pub fn whole(&self) -> (Vec<Entry>, Vec<usize>) {
        let mut whole: Vec<Entry> = Vec::with_capacity(self.entries.len());
        let mut last: HashMap<(&str, &str, What), usize> = HashMap::new();
        let mut early: Vec<&Entry> = Vec::new();
        for entry in &self.entries {
            let key = (entry.job.as_str(), entry.step.as_str(), entry.what);
            if !entry.goes_on() {
                last.insert(key, whole.len());
                let mut entry = entry.clone();
                early.retain(|part| {
                    let same = (part.job.as_str(), part.step.as_str(), part.what) == (key.0, key.1, key.2);
                    if same {
                        entry.take_in(part);
                    }
                    !same
                });
                whole.push(entry);
            } else if let Some(k) = last.get(&key) {
                whole[*k].take_in(entry);
            } else {
                early.push(entry);
            }
        }
        (whole, early.iter().map(|entry| entry.line).collect())
    }
}

impl What {
    /// Every kind.
    pub const EVERY: [Self; 5] = [Self::All, Self::Setup, Self::Each, Self::Order, Self::Once];

    /// Its word in a log.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::All => "all",
            Self::Setup => "setup",
            Self::Each => "each",
            Self::Order => "order",
            Self::Once => "once",
        }
    }

    /// Whether it counts pieces or orders.
    #[must_use]
    pub const fn counts(self) -> bool {
        matches!(self, Self::All | Self::Each | Self::Order)
    }
}

impl Entry {
    /// Whether it goes on with a piece that another entry counts.
    #[must_use]
    pub const fn goes_on(&self) -> bool {
        self.what.counts() && self.pieces == 0
    }

    fn take_in(&mut self, part: &Self) {
        self.minutes += part.minutes;
        for (sum, more) in [
            (&mut self.spoiled, part.spoiled),
            (&mut self.redone, part.redone),
            (&mut self.rounds, part.rounds),
        ] {
            if let Some(more) = more {
                *sum = Some(sum.unwrap_or(0).saturating_add(more));
            }
        }
    }

    /// What it timed, at this step: where nothing is said and the step takes time only per order, or only once, that is meant.
    #[must_use]
    pub fn timed(&self, step: &Step) -> What {
        let bare = step.setup.is_zero() && step.each.is_zero();
        match self.what {
            What::All if bare && !step.per_order.is_zero() => What::Order,
            What::All if bare && !step.once.is_zero() => What::Once,
            what => what,
        }
    }
}
