//! What it really took: a work log of timed entries, and the estimates that follow from it.
//!
//! A work log is a CSV file that can also be kept in a spreadsheet: one line an entry, columns named in the first line
//! ([`COLUMNS`]). `read` takes it apart and says every fault, `add` puts one entry to it, `look` says what is in it,
//! `regression` is the arithmetic, `fit` makes estimates of it, `own_times` keeps single times as they are, and `edit` writes those into a scenario's text.
//!
//! Nothing here reads or writes a file, prints, or asks a clock.

pub mod add;
pub mod edit;
pub mod fit;
pub mod look;
pub mod own_times;
mod read;

pub use read::read;

use crate::scenario::Step;
use jiff::civil::Date;

/// Columns that are understood, in the order of a new log. `step`, `pieces` and `minutes` must be there; others may be missing, and
/// columns of any other name are left alone.
pub const COLUMNS: [&str; 10] = [
    "date", "job", "step", "what", "pieces", "rounds", "minutes", "spoiled", "redone", "note",
];

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

/// How a log's file is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Form {
    /// What stands between cells: `,`, `;` or a tab.
    pub separator: u8,
    /// Names of all columns as they stand.
    pub names: Vec<String>,
    /// For each of [`COLUMNS`] where it is among them.
    pub places: [Option<usize>; COLUMNS.len()],
    /// Whether lines end in carriage return and line feed.
    pub carriage_return: bool,
}

impl Form {
    /// Where a column of [`COLUMNS`] stands.
    #[must_use]
    pub fn place(&self, name: &str) -> Option<usize> {
        let known = COLUMNS.iter().position(|c| *c == name)?;
        self.places[known]
    }
}

/// One timed stretch of work at one step.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Line in the file, from 1; 0 for an entry that is in none yet.
    pub line: usize,
    /// When.
    pub date: Option<Date>,
    /// For which run of which thing, in the maker's words; empty: not said.
    pub job: String,
    /// Which step.
    pub step: String,
    /// What was timed.
    pub what: What,
    /// Pieces handled (orders where `what` is [`What::Order`]); 0 where none were.
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
