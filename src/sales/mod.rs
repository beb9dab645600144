//! What sold: a sales log, and what it says about buyers and prices.
//!
//! A sales log is a CSV file beside the scenario, one line an offer: so many pieces put up at one price in one place, sold by a day or not
//! ([`COLUMNS`]). `read` takes it apart and says every fault, `add` puts one line to it, `count` counts what is in it, `survival` is the
//! mathematics of times until a sale, `learn` makes estimates with their errors (`answer` has the types), `price` weighs prices with these, and `edit` writes what
//! was learned into a scenario's text.
//!
//! Nothing here reads or writes a file, prints, or asks a clock.

pub mod add;
pub mod answer;
pub mod count;
pub mod data;
pub mod edit;
pub mod learn;
mod level;
mod mixed;
pub mod price;
mod read;
pub mod survival;

pub use read::read;

use crate::logfile::{Form, Kind, Other};
use jiff::civil::Date;

/// Columns that are understood, in the order of a new log.
pub const COLUMNS: [&str; 9] = [
    "listed",
    "price",
    "pieces",
    "left",
    "sold",
    "until",
    "enquiries",
    "outlet",
    "note",
];

/// Sales logs among all logs.
pub static KIND: Kind = Kind {
    name: "sales log",
    columns: &COLUMNS,
    needed: &["listed", "price", "sold"],
    other: Other {
        name: "work log",
        needed: &["step", "pieces", "minutes"],
        read_by: "`fit` and `log`",
    },
};

/// A sales log that was read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct SalesLog {
    /// In the order of the file.
    pub offers: Vec<Offer>,
    /// How the file is written.
    pub form: Form,
    /// Remarks on the file itself: columns that look misspelt.
    pub doubts: Vec<String>,
}

/// Pieces put up for sale on one day at one price in one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Line in the file, from 1; 0 for an offer that is in none yet.
    pub line: usize,
    /// The day it was put up.
    pub listed: Date,
    /// Asked for each piece, above 0.
    pub price: f64,
    /// Pieces put up, at least 1.
    pub pieces: u32,
    /// Pieces of them that are not sold.
    pub left: u32,
    /// How it ended.
    pub end: End,
    /// Buyers who asked about it; `None`: not said.
    pub enquiries: Option<u32>,
    /// Where, in the maker's words; empty: not said.
    pub outlet: String,
    /// Anything else.
    pub note: String,
}

/// How an offer ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The last piece was sold on this day.
    Sold(Date),
    /// Some were left when it ended, or was looked at, on this day.
    Until(Date),
    /// Some are left and it is still open.
    Open,
}

impl Offer {
    /// Pieces sold.
    #[must_use]
    pub const fn sold(&self) -> u32 {
        self.pieces - self.left
    }

    /// The last day that is known of it, where it has one.
    #[must_use]
    pub const fn last_day(&self) -> Option<Date> {
        match self.end {
            End::Sold(day) | End::Until(day) => Some(day),
            End::Open => None,
        }
    }

    /// Whether it began and ended on one day.
    #[must_use]
    pub(crate) fn is_selling_day(&self) -> bool {
        self.last_day().is_some_and(|day| day <= self.listed)
    }

    /// Days it was for sale, looked at on this day: a selling day counts as one.
    #[must_use]
    pub fn days(&self, looked: Date) -> f64 {
        if self.is_selling_day() {
            1.0
        } else {
            days_between(self.listed, self.last_day().unwrap_or(looked)).max(0.0)
        }
    }
}

impl SalesLog {
    /// The last day that the log knows of: until then what is still open is taken to have been looked at.
    #[must_use]
    pub fn last_day(&self) -> Option<Date> {
        let days = self.offers.iter().map(|o| o.last_day().unwrap_or(o.listed));
        days.max()
    }
}

/// Days from one date to another.
#[must_use]
pub(crate) fn days_between(from: Date, to: Date) -> f64 {
    from.until(to).map_or(0.0, |span| f64::from(span.get_days()))
}
