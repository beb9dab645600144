//! CSV text to a checked [`SalesLog`], or every fault in its place.

use super::{End, KIND, Offer, SalesLog, days_between};
use crate::logfile::{self, Row, count_of};
use crate::scenario::{Fault, Faults, quoted};
use jiff::civil::Date;

/// The highest price of a piece.
const HIGHEST_PRICE: f64 = 1e9;
/// No offer is open for longer than a hundred years.
const LONGEST_DAYS: f64 = 36_525.0;

/// Reads a sales log from the bytes of its file.
///
/// # Errors
/// [`Faults`]: everything that is wrong, all at once, sorted by place.
pub fn read(source_name: &str, bytes: &[u8]) -> Result<SalesLog, Faults> {
    let logfile::Read {
        entries,
        form,
        mut doubts,
    } = logfile::read(&KIND, source_name, bytes, offer)?;
    let days = |offer: &Offer| [Some(offer.listed), offer.last_day()].map(|day| Some((offer.line, day?)));
    doubts.extend(logfile::long_pauses(entries.iter().flat_map(days).flatten()));
    Ok(SalesLog {
        offers: entries,
        form,
        doubts,
    })
}

/// `None` only with faults.
fn offer(row: &Row<'_>, line: usize, faults: &mut Vec<Fault>) -> Option<Offer> {
    let before = faults.len();
    let listed = row.date("listed", faults);
    if listed == Some(None) {
        faults.push(Fault::new(
            row.place("listed"),
            "no day is given on which it was put up",
            "a day is due",
            "write the day on which it was put up for sale, for example `2027-03-14`",
        ));
    }
    let price = price_of(row.cell("price"))
        .map_err(|cure| {
            let written = row.cell("price");
            let what = if written.is_empty() {
                "no price is given".to_owned()
            } else {
                format!("{} is not a price", quoted(written))
            };
            faults.push(Fault::new(row.place("price"), what, "a price is due", cure));
        })
        .ok();
    let pieces = row.count("pieces", 1, faults);
    let left = row.count("left", 0, faults);
    let enquiries = row.count("enquiries", 0, faults);
    let sold = match count_as_day(row.cell("sold"), row.cell("pieces")) {
        Some((what, cure)) => {
            faults.push(Fault::new(row.place("sold"), what, "a day is due", cure));
            None
        }
        None => row.date("sold", faults),
    };
    let until = row.date("until", faults);
    if faults.len() > before {
        return None;
    }
    let (listed, pieces) = (listed??, pieces.ok()?.unwrap_or(1));
    match ending(listed, pieces, left.ok()?, sold?, until?) {
        Ok((left, end)) => Some(Offer {
            line,
            listed,
            price: price?,
            pieces,
            left,
            end,
            enquiries: enquiries.ok()?,
            outlet: row.cell("outlet").to_owned(),
            note: row.cell("note").to_owned(),
        }),
        Err((column, what, cure)) => {
            faults.push(Fault::new(row.place(column), what, "does not fit the rest", cure));
            None
        }
    }
}

/// Something that does not fit the rest of a line: the column, what is wrong, what would be right.
pub(super) type Misfit = (&'static str, String, String);

/// How many are left and how it ended, of what a line says; `left` may be missing.
pub(super) fn ending(
    listed: Date,
    pieces: u32,
    left: Option<u32>,
    sold: Option<Date>,
    until: Option<Date>,
) -> Result<(u32, End), Misfit> {
    let misfit = |column, what: String, cure: &str| Err((column, what, cure.to_owned()));
    for (column, day) in [("sold", sold), ("until", until)] {
        let Some(day) = day else { continue };
        let days = days_between(listed, day);
        if days < 0.0 {
            return misfit(
                column,
                format!("{day} is before {listed}, the day it was put up"),
                "an offer ends on the day it was put up or later",
            );
        }
        if days > LONGEST_DAYS {
            return misfit(
                column,
                format!("from {listed} to {day} are more than a hundred years"),
                "is a year mistyped?",
            );
        }
    }
    if let Some(left) = left.filter(|left| *left > pieces) {
        return misfit(
            "left",
            format!("{left} left are more than the {pieces} that were put up"),
            "count in `pieces` all that were put up",
        );
    }
    match (sold, until, left) {
        (Some(_), Some(_), _) => misfit(
            "until",
            "both `sold` and `until` have a day".to_owned(),
            "write in `sold` the day the last piece was sold, or in `until` the day it ended with some left, not both",
        ),
        (Some(_), None, Some(left)) if left > 0 => misfit(
            "left",
            format!("`sold` says that all were sold, and {left} are left"),
            "where some are left, write the day it ended into `until` and leave `sold` empty",
        ),
        (Some(day), None, _) => Ok((0, End::Sold(day))),
        (None, _, Some(0)) => misfit(
            "sold",
            "nothing is left, and `sold` has no day".to_owned(),
            "write in `sold` the day the last piece was sold",
        ),
        (None, Some(day), left) => Ok((left.unwrap_or(pieces), End::Until(day))),
        (None, None, left) => Ok((left.unwrap_or(pieces), End::Open)),
    }
}

/// What is wrong with a number of pieces in `sold`, and how so many of those in `pieces` are written as sold; `None` where it is none.
pub(super) fn count_as_day(sold: &str, pieces: &str) -> Option<(String, String)> {
    let count = count_of(sold, 0).ok()?;
    let put_up = if pieces.is_empty() {
        Some(1)
    } else {
        count_of(pieces, 1).ok()
    };
    let cure = match put_up {
        _ if count == 0 => "where none was sold, leave `sold` empty".to_owned(),
        Some(put_up) if count < put_up => format!(
            "where {count} of {put_up} were sold, leave `sold` empty and write {} in `left`; where it is over, write its last day in `until`",
            put_up - count
        ),
        Some(put_up) if count == put_up => {
            "write the day on which the last piece was sold, for example `2027-03-15`".to_owned()
        }
        _ => "write in `pieces` how many were put up; where all were sold, write in `sold` the day the last one was, and where some are left, \
              write in `left` how many and leave `sold` empty"
            .to_owned(),
    };
    Some((
        format!(
            "`sold` is the day the last piece was sold, and {} is a number",
            quoted(sold)
        ),
        cure,
    ))
}

/// A price, or what would be right.
pub(super) fn price_of(written: &str) -> Result<f64, String> {
    let plain = written.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    match written.parse::<f64>() {
        Ok(price) if plain && price > 0.0 && price <= HIGHEST_PRICE => Ok(price),
        Ok(price) if plain && price == 0.0 => Err("it must be more than 0; a gift is no sale".to_owned()),
        Ok(price) if price < 0.0 => Err("it must be more than 0; write what was asked for a piece".to_owned()),
        _ => Err("write a plain number without a currency, for example `28` or `28.50`".to_owned()),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;

    #[test]
    fn offers_are_read_as_people_write_them() {
        let text = "listed,price,pieces,left,sold,until,enquiries,outlet,note\n\
                    2027-03-01,28,,,2027-03-15,,2,own page,\n\
                    2027-03-16,30.50,,,,2027-04-20,,own page,taken down\n\
                    2027-12-05,28,20,8,,2027-12-05,31,winter fair,\n\
                    2027-12-06,28,6,,2027-12-06,,,winter fair,sold out\n\
                    2027-12-20,32,3,1,,,,own page,\n";
        let log = read("log", text.as_bytes()).unwrap();
        let short: Vec<_> = log
            .offers
            .iter()
            .map(|o| (o.line, o.pieces, o.sold(), o.days("2027-12-30".parse().unwrap())))
            .collect();
        assert_eq!(
            short,
            [
                (2, 1, 1, 14.0),
                (3, 1, 0, 35.0),
                (4, 20, 12, 1.0),
                (5, 6, 6, 1.0),
                (6, 3, 2, 10.0)
            ]
        );
        assert_eq!(log.last_day().unwrap().to_string(), "2027-12-20");
    }

    #[test]
    fn every_fault_has_its_place_and_cure() {
        let text = "listed,price,pieces,left,sold,until\n\
                    ,28,,,,\n\
                    2027-03-01,\"28,50\",0,,15.3.2027,\n\
                    2027-03-01,0,,,,\n\
                    2027-03-10,28,,,2027-03-09,\n\
                    2027-03-10,28,2,3,,\n\
                    2027-03-10,28,2,1,2027-03-12,\n\
                    2027-03-10,28,2,0,,2027-03-12\n\
                    2027-03-10,28,,,2027-03-12,2027-03-12\n\
                    1027-03-10,28,,,2027-03-12,\n";
        let found = read("log", text.as_bytes()).unwrap_err();
        let places: Vec<(usize, usize)> = found.iter().map(|f| found.line_and_column(f)).collect();
        assert_eq!(
            places,
            [
                (2, 1),
                (3, 13),
                (3, 20),
                (3, 23),
                (4, 12),
                (5, 17),
                (6, 17),
                (7, 17),
                (8, 19),
                (9, 28),
                (10, 17)
            ],
            "{:#?}",
            found.iter().map(Fault::what).collect::<Vec<_>>()
        );
        assert!(found.iter().all(|fault| !fault.cure().is_empty()));
    }

    /// What is asked is more than nothing; each cure says so.
    #[test]
    fn a_price_below_nothing_must_be_more() {
        for (written, cure) in [
            ("-22", "it must be more than 0; write what was asked for a piece"),
            ("-0.5", "it must be more than 0; write what was asked for a piece"),
            ("0", "it must be more than 0; a gift is no sale"),
            (
                "-",
                "write a plain number without a currency, for example `28` or `28.50`",
            ),
        ] {
            assert_eq!(price_of(written).unwrap_err(), cure, "{written}");
        }
    }

    /// How many were sold, in the column for the day: the cure, followed, says that so many were.
    #[test]
    fn a_number_of_pieces_in_the_day_sold_is_told_as_what_is_left() {
        let cure = |pieces: &str, sold: &str| {
            let text = format!("listed,price,pieces,left,sold,until\n2027-03-01,28,{pieces},,{sold},\n");
            let found = read("log", text.as_bytes()).unwrap_err();
            let fault = found.iter().next().unwrap();
            assert_eq!(found.line_and_column(fault), (2, 17 + pieces.len()));
            assert_eq!(
                fault.what(),
                format!("`sold` is the day the last piece was sold, and `{sold}` is a number")
            );
            fault.cure().to_owned()
        };
        assert!(cure("10", "4").starts_with("where 4 of 10 were sold, leave `sold` empty and write 6 in `left`;"));
        let followed = read("log", b"listed,price,pieces,left,sold,until\n2027-03-01,28,10,6,,\n").unwrap();
        assert_eq!(followed.offers[0].sold(), 4);
        assert!(cure("10", "0").starts_with("where none was sold"));
        for all in [("10", "10"), ("", "1")] {
            assert!(cure(all.0, all.1).starts_with("write the day"), "{all:?}");
        }
        assert!(cure("", "4").starts_with("write in `pieces` how many"));
    }
}
