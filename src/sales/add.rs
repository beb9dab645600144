//! One more offer for the end of a log.

use super::read::{count_as_day, ending, price_of};
use super::{COLUMNS, End, Offer};
use crate::clean;
use crate::logfile::{Form, count_of, date_of};
use crate::scenario::quoted;
use crate::worklog::add::Wrong;

/// Checks what was typed, one text for each of [`COLUMNS`], against a log's columns where there is one.
///
/// # Errors
/// Everything that is wrong.
pub fn check(typed: [&str; COLUMNS.len()], form: Option<&Form>) -> Result<Offer, Vec<Wrong>> {
    let mut wrong = Vec::new();
    let mut say = |part: &'static str, why: String| wrong.push(Wrong { part, why });
    let [listed, price, pieces, left, sold, until, enquiries, outlet, note] = typed.map(str::trim);
    for (part, text) in [("outlet", outlet), ("note", note)] {
        if text.chars().any(char::is_control) {
            say(
                part,
                format!("{} goes over more than one line; write it on one", quoted(text)),
            );
        }
    }
    let mut day = |part: &'static str, written: &str| match written {
        "" => None,
        written => {
            let count = count_as_day(written, pieces).filter(|_| part == "sold");
            let why = count.map(|(what, cure)| format!("{what}; {cure}"));
            let not_a_date = |cure| format!("{} is not a date; {cure}", quoted(written));
            let read = why.map_or_else(|| date_of(written).map_err(not_a_date), Err);
            read.map_err(|why| say(part, why)).ok()
        }
    };
    let days = [day("listed", listed), day("sold", sold), day("until", until)];
    if listed.is_empty() {
        say(
            "listed",
            "no day is given; write the day it was put up for sale, for example 2027-03-14".to_owned(),
        );
    }
    let price = price_of(price)
        .map_err(|cure| {
            let what = if price.is_empty() {
                "no price is given".to_owned()
            } else {
                format!("{} is not a price", quoted(price))
            };
            say("price", format!("{what}; {cure}"));
        })
        .ok();
    let mut count = |part: &'static str, written: &str, least: u32| match written {
        "" => None,
        written => count_of(written, least)
            .map_err(|cure| say(part, format!("{} is not a number of things; {cure}", quoted(written))))
            .ok(),
    };
    let pieces = count("pieces", pieces, 1);
    let left = count("left", left, 0);
    let enquiries = count("enquiries", enquiries, 0);
    if let Some(form) = form {
        for (column, value) in COLUMNS.into_iter().zip(typed) {
            if !value.trim().is_empty() && form.place(column).is_none() {
                say(
                    column,
                    format!("the log has no such column; put `{column}` into its first line, or leave this out"),
                );
            }
        }
    }
    let ([Some(listed), sold, until], Some(price), true) = (days, price, wrong.is_empty()) else {
        return Err(wrong);
    };
    let pieces = pieces.unwrap_or(1);
    let (left, end) = ending(listed, pieces, left, sold, until).map_err(|(part, what, cure)| {
        vec![Wrong {
            part,
            why: format!("{what}; {cure}"),
        }]
    })?;
    Ok(Offer {
        line: 0,
        listed,
        price,
        pieces,
        left,
        end,
        enquiries,
        outlet: outlet.to_owned(),
        note: note.to_owned(),
    })
}

/// What an offer's line says, cell by cell in the order of [`COLUMNS`].
#[must_use]
pub fn values(offer: &Offer) -> [String; COLUMNS.len()] {
    let some = |is_said: bool, n: u32| if is_said { n.to_string() } else { String::new() };
    let day = |day: Option<jiff::civil::Date>| day.map_or_else(String::new, |day| day.to_string());
    let (sold, until) = match offer.end {
        End::Sold(on) => (Some(on), None),
        End::Until(on) => (None, Some(on)),
        End::Open => (None, None),
    };
    [
        offer.listed.to_string(),
        offer.price.to_string(),
        some(offer.pieces > 1, offer.pieces),
        some(offer.left > 0 && offer.left < offer.pieces, offer.left),
        day(sold),
        day(until),
        offer.enquiries.map_or_else(String::new, |n| n.to_string()),
        clean::cell(&offer.outlet).into_owned(),
        clean::cell(&offer.note).into_owned(),
    ]
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::super::{KIND, read};
    use super::*;
    use crate::logfile::appended;
    use proptest::prelude::*;

    proptest! {
        /// What is typed comes back as it was typed, whatever is there already.
        #[test]
        fn an_offer_comes_back(pieces in 1_u32..30, left in 0_u32..30, days in 0_i64..400, price in 1_u32..100_000, note in "[ -~]{0,12}", crlf: bool) {
            let left = left.min(pieces);
            let listed: jiff::civil::Date = "2027-02-26".parse().unwrap();
            let end = (listed + jiff::Span::new().days(days)).to_string();
            let (pieces, left, price) = (pieces.to_string(), left.to_string(), (f64::from(price) / 100.0).to_string());
            let (sold, until) = if left == "0" { (end.as_str(), "") } else { ("", end.as_str()) };
            let offer = check(["2027-02-26", &price, &pieces, &left, sold, until, "", "own page", &note], None).unwrap();
            let before = if crlf { "wood,listed,price,pieces,left,sold,until,enquiries,outlet,note\r\noak,2027-01-01,5,,,,,,,\r\n" } else { "" };
            let form = if crlf { read("log", before.as_bytes()).unwrap().form } else { KIND.new_form() };
            let after = appended(before.as_bytes(), &form, &values(&offer)).unwrap();
            prop_assert!(after.starts_with(before.as_bytes()));
            let log = read("log", &after).unwrap();
            let last = log.offers.last().unwrap();
            prop_assert_eq!(last, &Offer { line: last.line, ..offer });
        }
    }

    /// Only what is given needs a column to stand in.
    #[test]
    fn a_log_without_a_column_takes_nothing_for_it() {
        let form = read("log", b"listed,price,sold\n2027-01-01,5,2027-01-09\n")
            .unwrap()
            .form;
        let offer = |outlet| {
            check(
                ["2027-03-01", "9", "", "", "2027-03-02", "", "", outlet, ""],
                Some(&form),
            )
        };
        assert_eq!(offer("").unwrap().price, 9.0);
        let wrong = offer("own page").unwrap_err();
        assert_eq!(wrong.iter().map(|w| w.part).collect::<Vec<_>>(), ["outlet"]);
    }

    #[test]
    fn everything_wrong_is_said_at_once() {
        let found = check(["", "x", "0", "-1", "14.3.2027", "", "some", "a\nb", ""], None).unwrap_err();
        let parts: Vec<&str> = found.iter().map(|w| w.part).collect();
        assert_eq!(
            parts,
            ["outlet", "sold", "listed", "price", "pieces", "left", "enquiries"],
            "{found:?}"
        );
        let found = check(
            ["2027-03-01", "9", "", "", "2027-03-02", "2027-03-03", "", "", ""],
            None,
        )
        .unwrap_err();
        assert_eq!(found[0].part, "until");
    }
}
