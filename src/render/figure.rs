//! Cells of a table: what is written, and the figure behind it for faces that reckon on, such as a workbook.

use jiff::civil::Date;

use super::format::{self, Form};

/// What stands in one place of a table.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Cell {
    /// As it is read.
    pub text: String,
    /// The figure, unrounded, where the cell is one.
    pub figure: Option<Figure>,
    /// Figures behind words, for faces that have columns of their own for them.
    pub apart: Option<Apart>,
    /// A sign before it that is explained below the table.
    pub mark: Option<Mark>,
}

/// Signs before a cell that say what is special about its row. Each has one meaning over the whole program, in tables and in charts of
/// letters. None of them can be read as part of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// The size or price that the page advises.
    Best,
    /// It reaches the target as surely as asked.
    Pays,
    /// It is what the file has.
    Own,
    /// What it leaves is nearly the most.
    Near,
    /// A bigger batch adds hardly anything to the hour.
    Level,
    /// An hour earns most.
    Hour,
    /// The bench hours of a week do not suffice for it.
    Short,
    /// The scenario has no such step.
    Unknown,
}

impl Mark {
    /// Every mark.
    pub const ALL: [Self; 8] = [
        Self::Best,
        Self::Pays,
        Self::Own,
        Self::Near,
        Self::Level,
        Self::Hour,
        Self::Short,
        Self::Unknown,
    ];

    /// What it says wherever it stands; a page may add more behind a colon.
    pub(crate) const fn meaning(self) -> &'static str {
        match self {
            Self::Best => "advised",
            Self::Pays => "pays",
            Self::Own => "as in the file",
            Self::Near => "nearly as good",
            Self::Level => "past it a bigger batch adds under 1 %",
            Self::Hour => "an hour earns most",
            Self::Short => "bench hours do not suffice",
            Self::Unknown => "no such step",
        }
    }

    /// Its meaning, and what it comes to on this page.
    pub(crate) fn explained(self, here: &str) -> String {
        let between = if here.is_empty() { "" } else { ": " };
        format!("{}{between}{here}", self.meaning())
    }

    /// As it is written.
    pub const fn sign(self, unicode: bool) -> char {
        match (self, unicode) {
            (Self::Best, true) => '▲',
            (Self::Best, false) => '^',
            (Self::Pays, true) => '△',
            (Self::Pays, false) => '&',
            (Self::Own, true) => '○',
            (Self::Own, false) => '#',
            (Self::Near, true) => '◇',
            (Self::Near, false) => '@',
            (Self::Level, true) => '◆',
            (Self::Level, false) => '_',
            (Self::Hour, true) => '■',
            (Self::Hour, false) => '$',
            (Self::Short, true) => '▽',
            (Self::Short, false) => '!',
            (Self::Unknown, _) => '?',
        }
    }
}

/// Figures behind a cell that reads as words.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Apart {
    /// The ends of an interval, which say all that the words say; `None`: there is no such end.
    Ends([Option<Figure>; 2]),
    /// What the words say as one figure, and what it is, to stand after the head: `worse by`.
    Beside(&'static str, Figure),
}

/// A figure and the form it is written in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// Unrounded: money in the table's currency, shares as fractions, times in hours.
    pub value: f64,
    /// What it is a figure of.
    pub form: Form,
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self {
            text,
            ..Self::default()
        }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}

impl<T: Into<Cell>> From<Option<T>> for Cell {
    /// Where there is nothing, nothing stands.
    fn from(cell: Option<T>) -> Self {
        cell.map_or_else(Self::default, Into::into)
    }
}

impl Cell {
    pub(super) fn new(text: String, value: f64, form: Form) -> Self {
        Self {
            text,
            figure: plain(value, form),
            ..Self::default()
        }
    }

    /// As it is read, its mark before it.
    pub fn read(&self, unicode: bool) -> String {
        let text = self.text.trim();
        match self.mark {
            Some(mark) => format!("{} {text}", mark.sign(unicode)),
            None => text.to_owned(),
        }
    }

    /// With a sign before it.
    pub(crate) fn marked(self, mark: Mark) -> Self {
        Self {
            mark: Some(mark),
            ..self
        }
    }
}

fn plain(value: f64, form: Form) -> Option<Figure> {
    value.is_finite().then_some(Figure { value, form })
}

/// An interval as it is read, and its ends.
pub fn interval(text: String, ends: [Option<f64>; 2], form: Form) -> Cell {
    Cell {
        text,
        apart: Some(Apart::Ends(ends.map(|end| plain(end?, form)))),
        ..Cell::default()
    }
}

/// Words, and the one figure that they say: `what` goes after the head of its column.
pub fn words(text: String, what: &'static str, value: f64, form: Form) -> Cell {
    Cell {
        text,
        apart: plain(value, form).map(|figure| Apart::Beside(what, figure)),
        ..Cell::default()
    }
}

/// A share as it is read, where the words are not the share's own.
pub(crate) fn share_said(text: String, fraction: f64) -> Cell {
    Cell::new(text, fraction, Form::Share)
}

fn of_money(text: String, value: f64, currency: &str) -> Cell {
    Cell::new(text, value, Form::money(value, currency))
}

/// [`format::amount`].
pub fn amount(value: f64, currency: &str) -> Cell {
    of_money(format::amount(value, currency), value, currency)
}

/// [`format::signed_amount`].
pub(crate) fn signed_amount(value: f64, currency: &str) -> Cell {
    let form = Form::Change(format::money_digits(value, currency));
    Cell::new(format::signed_amount(value, currency), value, form)
}

/// A price floor as [`format::enough`] has it.
pub fn enough(value: f64, currency: &str) -> Cell {
    let enough = format::enough(value, currency);
    of_money(format::amount(enough, currency), value, currency)
}

/// [`format::exact_amount`], or that there is no price.
pub(crate) fn exact_amount(amount: Option<f64>, currency: &str) -> Cell {
    let exact = |value| of_money(format::exact_amount(value, currency), value, currency);
    amount.map_or_else(|| "no price".into(), exact)
}

/// [`format::enough_money`].
pub(crate) fn enough_money(value: f64, currency: &str) -> Cell {
    of_money(format::enough_money(value, currency), value, currency)
}

/// [`enough`], or that there is no price.
pub fn price(price: Option<f64>, currency: &str) -> Cell {
    price.map_or_else(|| "no price".into(), |value| enough(value, currency))
}

/// [`format::money`].
pub fn money(value: f64, currency: &str) -> Cell {
    of_money(format::money(value, currency), value, currency)
}

/// [`format::whole_minutes`].
pub(crate) fn whole_minutes(hours: f64) -> Cell {
    Cell::new(format::whole_minutes(hours), hours, Form::Hours)
}

/// [`format::share_estimate`].
pub(crate) fn share_estimate(fraction: f64) -> Cell {
    Cell::new(format::share_estimate(fraction), fraction, Form::Share)
}

/// [`format::count`].
pub fn count(n: u64) -> Cell {
    Cell::new(format::count(n), n as f64, Form::Count)
}

/// [`format::days`] that something is done earlier; later where that is below nothing.
pub fn days_earlier(days: f64) -> Cell {
    let text = match format::days(days.abs()) {
        later if days < 0.0 && later != format::days(0.0) => format!("{later} later"),
        earlier => earlier,
    };
    Cell::new(text, days, Form::Days)
}

/// [`format::short_date`].
pub(crate) fn short_date(date: Date, year: Option<i16>) -> Cell {
    Cell::new(format::short_date(date, year), format::sheet_day(date), Form::Date)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_keeps_what_was_rounded_away() {
        let cell = amount(28.417_3, "EUR");
        assert_eq!(cell.text, "28.42");
        assert_eq!(cell.figure.map(|f| f.value), Some(28.417_3));
        assert_eq!(amount(f64::INFINITY, "EUR").figure, None);
    }

    /// No mark can be read as a part of the figure that it stands before, a sign of writing or of comparing.
    #[test]
    fn no_mark_is_a_sign() {
        for mark in Mark::ALL {
            for unicode in [false, true] {
                assert!(!"+-<>=~*/.,%0123456789".contains(mark.sign(unicode)), "{mark:?}");
            }
            assert!(mark.sign(false).is_ascii());
        }
    }
}
