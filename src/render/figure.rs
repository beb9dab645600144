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
    /// A sign before it that the small print explains.
    pub mark: Option<char>,
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

impl Cell {
    fn new(text: String, value: f64, form: Form) -> Self {
        Self {
            text,
            figure: value.is_finite().then_some(Figure {
                value,
                form,
                mark: None,
            }),
            apart: None,
        }
    }

    /// With a sign before it; a blank is none, but keeps the place of one.
    #[must_use]
    pub fn marked(mut self, sign: char) -> Self {
        self.text = format!("{sign} {}", self.text);
        if let Some(figure) = self.figure.as_mut().filter(|_| sign != ' ') {
            figure.mark = Some(sign);
        }
        self
    }

    /// With a sign right before it, where there is one.
    #[must_use]
    pub fn signed(mut self, sign: Option<char>) -> Self {
        if let Some(sign) = sign {
            self.text.insert(0, sign);
            if let Some(figure) = &mut self.figure {
                figure.mark = Some(sign);
            }
        }
        self
    }
}

fn plain(value: f64, form: Form) -> Option<Figure> {
    value.is_finite().then_some(Figure {
        value,
        form,
        mark: None,
    })
}

/// An interval as it is read, and its ends.
#[must_use]
pub fn interval(text: String, ends: [Option<f64>; 2], form: Form) -> Cell {
    Cell {
        text,
        figure: None,
        apart: Some(Apart::Ends(ends.map(|end| plain(end?, form)))),
    }
}

/// Words, and the one figure that they say: `what` goes after the head of its column.
#[must_use]
pub fn words(text: String, what: &'static str, value: f64, form: Form) -> Cell {
    Cell {
        text,
        figure: None,
        apart: plain(value, form).map(|figure| Apart::Beside(what, figure)),
    }
}

/// A share as it is read, where the words are not the share's own.
#[must_use]
pub fn share_said(text: String, fraction: f64) -> Cell {
    Cell::new(text, fraction, Form::Share)
}

/// Nothing.
#[must_use]
pub fn nothing() -> Cell {
    Cell::default()
}

/// [`format::amount`].
#[must_use]
pub fn amount(value: f64, currency: &str) -> Cell {
    Cell::new(format::amount(value, currency), value, Form::money(value, currency))
}

/// [`format::signed_amount`].
#[must_use]
pub fn signed_amount(value: f64, currency: &str) -> Cell {
    let form = match Form::money(value, currency) {
        Form::Money(digits) => Form::Change(digits),
        other => other,
    };
    Cell::new(format::signed_amount(value, currency), value, form)
}

/// [`amount`], or that there is no price.
#[must_use]
pub fn price(price: Option<f64>, currency: &str) -> Cell {
    price.map_or_else(|| "no price".into(), |value| amount(value, currency))
}

/// [`format::money`].
#[must_use]
pub fn money(value: f64, currency: &str) -> Cell {
    Cell::new(format::money(value, currency), value, Form::money(value, currency))
}

/// [`format::hours`].
#[must_use]
pub fn hours(hours: f64) -> Cell {
    Cell::new(format::hours(hours), hours, Form::Hours)
}

/// [`format::whole_minutes`].
#[must_use]
pub fn whole_minutes(hours: f64) -> Cell {
    Cell::new(format::whole_minutes(hours), hours, Form::Hours)
}

/// [`format::minutes`].
#[must_use]
pub fn minutes(value: f64) -> Cell {
    Cell::new(format::minutes(value), value, Form::Minutes)
}

/// [`format::share`].
#[must_use]
pub fn share(fraction: f64) -> Cell {
    Cell::new(format::share(fraction), fraction, Form::Share)
}

/// [`format::share_estimate`].
#[must_use]
pub fn share_estimate(fraction: f64) -> Cell {
    Cell::new(format::share_estimate(fraction), fraction, Form::Share)
}

/// [`format::count`].
#[must_use]
pub fn count(n: u64) -> Cell {
    Cell::new(format::count(n), n as f64, Form::Count)
}

/// [`format::mean_count`].
#[must_use]
pub fn mean_count(value: f64) -> Cell {
    Cell::new(format::mean_count(value), value, Form::Mean)
}

/// [`format::often`].
#[must_use]
pub fn often(value: f64) -> Cell {
    Cell::new(format::often(value), value, Form::Ratio)
}

/// [`format::ratio`].
#[must_use]
pub fn ratio(value: f64) -> Cell {
    Cell::new(format::ratio(value), value, Form::Ratio)
}

/// [`format::days`] that something is done earlier; later where that is below nothing.
#[must_use]
pub fn days_earlier(days: f64) -> Cell {
    let text = match format::days(days.abs()) {
        later if days < 0.0 && later != format::days(0.0) => format!("{later} later"),
        earlier => earlier,
    };
    Cell::new(text, days, Form::Days)
}

/// [`format::short_date`].
#[must_use]
pub fn short_date(date: Date, year: Option<i16>) -> Cell {
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

    #[test]
    fn a_mark_stands_before_the_figure_and_beside_it() {
        let cell = count(12).marked('>');
        assert_eq!(cell.text, "> 12");
        assert_eq!(cell.figure.map(|f| (f.value, f.mark)), Some((12.0, Some('>'))));
        let plain = count(12).marked(' ');
        assert_eq!((plain.text.as_str(), plain.figure.and_then(|f| f.mark)), ("  12", None));
    }
}
