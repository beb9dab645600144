//! What a sales log holds, counted: how fast pieces sold at each price, and what each change of price did.
//!
//! Sales over days is the largest likelihood of a rate that is the same every day. Its 95 % interval is exact for so many sales in a fixed
//! time (Garwood 1936, "Fiducial limits for the Poisson distribution", Biometrika 28, 437-442): chi-squared's 2.5 % quantile at 2 d degrees
//! and its 97.5 % quantile at 2 d + 2, over twice the days. Of two rates, given the sales of both together, those of the second are binomial: its exact
//! interval (Clopper and Pearson) gives that of their ratio.

use super::{End, Offer, SalesLog, days_between};
use crate::laws::chi_squared_quantile;
use crate::scenario::{Scenario, grouped, quoted};
use crate::stats::clopper_pearson;
use jiff::civil::Date;
use serde::Serialize;

/// A price so many times the usual one, or so small a part of it, is set apart (assumption: a slip by one digit makes it ten times as much).
const FAR_OFF: f64 = 5.0;
/// Offers that tell which price is usual.
const FELLOWS: usize = 4;
/// Changes of price that are told, the last ones.
const MOST_CHANGES: usize = 200;
/// Days that open offers may have stood since the log's last day, as a share of all days that offers were for sale, before it is asked of them (assumption:
/// sales a week move as much).
const LONG_SINCE: f64 = 0.1;
/// Days a week.
pub const WEEK: f64 = 7.0;

/// A figure with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Between {
    /// The figure.
    pub value: f64,
    /// Lower end; `None`: there is none.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// What is in a log; its serialised form is the documented JSON of `log --sale`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Counted {
    /// The log's name as it was given.
    pub name: String,
    /// Offers, all of them.
    pub offers: usize,
    /// Pieces put up.
    pub pieces: u64,
    /// Pieces sold.
    pub sold: u64,
    /// First day an offer was put up, ISO 8601; `None` without offers.
    pub first: Option<String>,
    /// The day until which open offers are looked at.
    pub until: Option<String>,
    /// Days of all offers together.
    pub days: f64,
    /// Days of an offer for each piece sold; `None`: none was.
    pub days_a_sale: Option<f64>,
    /// Buyers who asked first; `None`: no offer says.
    pub enquiries: Option<Enquiries>,
    /// Offers that nothing is learned from, as their price is far from all others.
    pub set_apart: Vec<SetApart>,
    /// Every price in every outlet, by outlet in the order they first come, then by price.
    pub prices: Vec<AtPrice>,
    /// Every change of price in an outlet, in the order of time.
    pub changes: Vec<PriceChange>,
    /// Program version.
    pub version: String,
}

/// Buyers who asked first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Enquiries {
    /// How many, of the offers that say.
    pub count: u64,
    /// Pieces those sold.
    pub sold: u64,
    /// Enquiries for each sale; `None`: those offers sold nothing. Exact, as far as enquiries come by chance like sales.
    pub a_sale: Option<Between>,
}

/// An offer whose price is far from all others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SetApart {
    /// Its line.
    pub line: usize,
    /// Its price.
    pub price: f64,
    /// The middle one of all prices.
    pub usual: f64,
}

/// How one price went in one outlet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtPrice {
    /// The outlet; empty: not said.
    pub outlet: String,
    /// Asked for a piece.
    pub price: f64,
    /// Offers.
    pub offers: usize,
    /// Pieces put up.
    pub pieces: u64,
    /// Pieces sold.
    pub sold: u64,
    /// Days of all its offers together.
    pub days: f64,
    /// Pieces sold a week of one offer.
    pub a_week: Between,
    /// Days of one offer for each piece sold; `None`: none was.
    pub days_a_sale: Option<f64>,
}

/// What one change of price did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PriceChange {
    /// The outlet.
    pub outlet: String,
    /// When, ISO 8601.
    pub on: String,
    /// Price before.
    pub from: f64,
    /// Price after.
    pub to: f64,
    /// Sold before, since the change before it.
    pub sold_before: u64,
    /// Days of offers before.
    pub days_before: f64,
    /// Sold after, until the next change.
    pub sold_after: u64,
    /// Days of offers after.
    pub days_after: f64,
    /// How many times as fast pieces sold after; `None` where nothing sold before. Without an upper end where that is not known.
    pub times: Option<Between>,
    /// What that teaches.
    pub says: Taught,
}

/// What a change of price teaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Taught {
    /// Pieces sold more slowly after.
    Slower,
    /// Pieces sold faster after.
    Faster,
    /// The log cannot tell.
    CannotTell,
}

/// The offers that something is learned from, with those that are set apart: among enough others their price is a slip's.
#[must_use]
pub fn set_apart(log: &SalesLog) -> (Vec<&Offer>, Vec<SetApart>) {
    let mut prices: Vec<f64> = log.offers.iter().map(|o| o.price).collect();
    prices.sort_by(f64::total_cmp);
    let usual = prices.get(prices.len() / 2).copied().unwrap_or(0.0);
    let (mut kept, mut apart) = (Vec::new(), Vec::new());
    for offer in &log.offers {
        let off = offer.price / usual;
        if prices.len() > FELLOWS && (off >= FAR_OFF || off <= 1.0 / FAR_OFF) {
            apart.push(SetApart {
                line: offer.line,
                price: offer.price,
                usual,
            });
        } else {
            kept.push(offer);
        }
    }
    (kept, apart)
}

/// Counts what is in a log, its open offers looked at on this day.
#[must_use]
pub fn count(name: &str, log: &SalesLog, looked: Date) -> Counted {
    let (kept, apart) = set_apart(log);
    let sold: u64 = kept.iter().map(|o| u64::from(o.sold())).sum();
    let days: f64 = kept.iter().map(|o| o.days(looked)).sum();
    Counted {
        name: name.to_owned(),
        offers: log.offers.len(),
        pieces: kept.iter().map(|o| u64::from(o.pieces)).sum(),
        sold,
        first: kept.iter().map(|o| o.listed).min().map(|day| day.to_string()),
        until: log.last_day().map(|_| looked.to_string()),
        days,
        days_a_sale: (sold > 0).then(|| days / sold as f64),
        enquiries: enquiries(&kept),
        set_apart: apart,
        prices: at_prices(&kept, looked),
        changes: changes(&kept, looked),
        version: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

/// How many offers are open and the log's last day, where it would tell much whether they were so until today: nobody can see from a log
/// whether it is kept no more, or nothing sold since.
#[must_use]
pub fn long_since(log: &SalesLog, today: Date) -> Option<(usize, Date)> {
    let last = log.last_day()?;
    let open = log.offers.iter().filter(|offer| offer.end == End::Open).count();
    let days: f64 = log.offers.iter().map(|offer| offer.days(last)).sum();
    let since = open as f64 * days_between(last, today);
    (since > LONG_SINCE * days).then_some((open, last))
}

/// That offers are still open, and until when they count.
#[must_use]
pub fn open_until((open, last): (usize, Date)) -> String {
    let offers = if open == 1 {
        "1 offer is".to_owned()
    } else {
        format!("{open} offers are")
    };
    format!("{offers} still open, and counted until {last}, the last day in the log")
}

fn enquiries(offers: &[&Offer]) -> Option<Enquiries> {
    let said: Vec<(u64, u64)> = offers
        .iter()
        .filter_map(|o| Some((u64::from(o.enquiries?), u64::from(o.sold()))))
        .collect();
    if said.is_empty() {
        return None;
    }
    let (count, sold) = said.iter().fold((0, 0), |(a, b), (c, d)| (a + c, b + d));
    Some(Enquiries {
        count,
        sold,
        a_sale: ratio(sold, 1.0, count, 1.0).filter(|_| sold > 0),
    })
}

/// How many times the first rate the second is; `None` where the first counts nothing.
fn ratio(first: u64, first_days: f64, second: u64, second_days: f64) -> Option<Between> {
    if first == 0 || first_days <= 0.0 || second_days <= 0.0 {
        return None;
    }
    let days = first_days / second_days;
    let share = clopper_pearson(second, first + second);
    let times = |p: f64| (p < 1.0).then(|| p / (1.0 - p) * days);
    Some(Between {
        value: second as f64 / first as f64 * days,
        low: times(share.low),
        high: times(share.high),
    })
}

/// So many sales in so many days, a week, with its exact interval.
#[must_use]
pub fn pace(sold: u64, days: f64) -> Between {
    let d = sold as f64;
    let ends = |q: f64, freedom: f64| WEEK * chi_squared_quantile(q, freedom) / (2.0 * days);
    Between {
        value: WEEK * d / days,
        low: Some(if sold == 0 { 0.0 } else { ends(0.025, 2.0 * d) }),
        high: Some(ends(0.975, 2.0 * d + 2.0)),
    }
}

/// Outlets in the order they first come.
#[must_use]
pub fn outlets<'a>(offers: &[&'a Offer]) -> Vec<&'a str> {
    let mut names: Vec<&str> = Vec::new();
    let mut known = std::collections::HashSet::new();
    for offer in offers {
        if known.insert(offer.outlet.as_str()) {
            names.push(&offer.outlet);
        }
    }
    names
}

fn at_prices(offers: &[&Offer], looked: Date) -> Vec<AtPrice> {
    let names = outlets(offers);
    let place: std::collections::HashMap<&str, usize> = names.iter().enumerate().map(|(k, name)| (*name, k)).collect();
    let mut sorted: Vec<&Offer> = offers.to_vec();
    sorted.sort_by(|a, b| {
        place[a.outlet.as_str()]
            .cmp(&place[b.outlet.as_str()])
            .then(a.price.total_cmp(&b.price))
    });
    sorted
        .chunk_by(|a, b| a.outlet == b.outlet && a.price == b.price)
        .map(|alike| {
            let sold = alike.iter().map(|o| u64::from(o.sold())).sum();
            let days: f64 = alike.iter().map(|o| o.days(looked)).sum();
            AtPrice {
                outlet: alike[0].outlet.clone(),
                price: alike[0].price,
                offers: alike.len(),
                pieces: alike.iter().map(|o| u64::from(o.pieces)).sum(),
                sold,
                days,
                // One put up on the very day it is looked at says nothing yet.
                a_week: if days > 0.0 {
                    pace(sold, days)
                } else {
                    Between {
                        value: 0.0,
                        low: Some(0.0),
                        high: None,
                    }
                },
                days_a_sale: (sold > 0).then(|| days / sold as f64),
            }
        })
        .collect()
}

fn changes(offers: &[&Offer], looked: Date) -> Vec<PriceChange> {
    let mut found = Vec::new();
    for outlet in outlets(offers) {
        let mut here: Vec<&Offer> = offers.iter().copied().filter(|o| o.outlet == outlet).collect();
        here.sort_by_key(|o| o.listed);
        // Offers at one price, one after the other; two prices put up on one day change nothing.
        let spells: Vec<&[&Offer]> = here
            .chunk_by(|a, b| a.price == b.price || a.listed == b.listed)
            .collect();
        for pair in spells.windows(2) {
            let sum = |spell: &[&Offer]| {
                let sold: u64 = spell.iter().map(|o| u64::from(o.sold())).sum();
                (sold, spell.iter().map(|o| o.days(looked)).sum::<f64>())
            };
            let mixed = pair.iter().any(|spell| spell.iter().any(|o| o.price != spell[0].price));
            if mixed {
                continue;
            }
            found.push((
                outlet,
                pair[1][0].listed,
                [pair[0][0].price, pair[1][0].price],
                [sum(pair[0]), sum(pair[1])],
            ));
        }
    }
    found.sort_by_key(|change| change.1);
    let last = found.len().saturating_sub(MOST_CHANGES);
    found[last..].iter().map(|change| price_change(*change)).collect()
}

/// Of an outlet's change on a day: prices, and pieces sold and days of offers, before and after.
fn price_change((outlet, on, [from, to], [before, after]): (&str, Date, [f64; 2], [(u64, f64); 2])) -> PriceChange {
    let times = ratio(before.0, before.1, after.0, after.1);
    // With nothing sold before, what is sold after may still be more than chance.
    let back = ratio(after.0, after.1, before.0, before.1);
    let below = |times: Option<Between>| times.and_then(|t| t.high).is_some_and(|high| high < 1.0);
    PriceChange {
        outlet: outlet.to_owned(),
        on: on.to_string(),
        from,
        to,
        sold_before: before.0,
        days_before: before.1,
        sold_after: after.0,
        days_after: after.1,
        times,
        says: if below(times) {
            Taught::Slower
        } else if below(back) {
            Taught::Faster
        } else {
            Taught::CannotTell
        },
    }
}

/// Doubts of one kind, or lines set apart, that are told at most.
pub const TOLD: usize = 5;

/// What looks unintended, a sentence each. `today`: later days have not come; `scenario`: the file whose selling days and channels the log names.
#[must_use]
pub fn doubts(log: &SalesLog, today: Date, scenario: Option<&Scenario>) -> Vec<String> {
    let mut said = log.doubts.clone();
    said.extend(still_to_come(log, today));
    said.extend(spelt_otherwise(log, scenario));
    said.extend(first_of(set_apart(log).1.iter().map(|apart| {
        format!(
            "line {}: a price of {} is far from the usual {}; is a digit or a point wrong? It is set apart, and nothing is learned from it",
            apart.line, apart.price, apart.usual
        )
    })));
    said.extend(far_apart(log));
    let mut seen = std::collections::HashMap::new();
    let mut same = Vec::new();
    for offer in &log.offers {
        // Pieces put up one by one may well be alike; a note or a number of several makes it a slip.
        let alike = (
            offer.listed,
            offer.price.to_bits(),
            offer.pieces,
            offer.left,
            offer.last_day(),
            offer.outlet.as_str(),
        );
        if let Some(before) = seen.insert(alike, offer.line)
            && offer.pieces > 1
        {
            same.push(format!(
                "lines {before} and {} are the same; is one of them a slip?",
                offer.line
            ));
        }
    }
    said.extend(first_of(same.into_iter()));
    said
}

/// Days that have not come yet: what is logged has been.
fn still_to_come(log: &SalesLog, today: Date) -> Vec<String> {
    let days = log.offers.iter().flat_map(|offer| {
        let end = match offer.end {
            End::Sold(day) => Some(("sold", day)),
            End::Until(day) => Some(("until", day)),
            End::Open => None,
        };
        let days = std::iter::once(("listed", offer.listed)).chain(end);
        days.map(|(column, day)| (offer.line, column, day))
    });
    let later = days.filter(|(_, _, day)| *day > today);
    first_of(later.map(|(line, column, day)| {
        format!("line {line}: `{column}` {day} is still to come, as today is {today}; is the year a slip of the pen?")
    }))
}

/// Outlets that differ from a name of the file, or from one further up in the log, by capitals and spaces alone.
fn spelt_otherwise(log: &SalesLog, scenario: Option<&Scenario>) -> Vec<String> {
    let alike = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let mut known = std::collections::HashMap::new();
    if let Some(scenario) = scenario {
        let days = scenario.selling_days.iter().map(|day| &day.name);
        for name in days.chain(scenario.channels.iter().map(|channel| &channel.name)) {
            known.insert(alike(name), (name.as_str(), "in the scenario".to_owned()));
        }
    }
    let mut told = std::collections::HashSet::new();
    let others = log.offers.iter().filter_map(|offer| {
        let name = offer.outlet.as_str();
        let first = known
            .entry(alike(name))
            .or_insert_with(|| (name, format!("in line {}", offer.line)));
        (first.0 != name && told.insert(name)).then(|| {
            format!(
                "line {}: outlet {} is {} {}, and they count as two; write them alike",
                offer.line,
                quoted(name),
                quoted(first.0),
                first.1
            )
        })
    });
    first_of(others)
}

/// The first of them, and how many there are beyond.
fn first_of(said: impl Iterator<Item = String>) -> Vec<String> {
    let mut all: Vec<String> = said.collect();
    let beyond = all.len().saturating_sub(TOLD);
    all.truncate(TOLD);
    if beyond > 0 {
        all.push(format!("and {} more like these", grouped(beyond)));
    }
    all
}

/// Prices far from the next lower one, where there are too few to tell which of them is usual.
fn far_apart(log: &SalesLog) -> Vec<String> {
    let mut offers: Vec<&Offer> = log.offers.iter().collect();
    if offers.len() > FELLOWS {
        return Vec::new();
    }
    offers.sort_by(|a, b| a.price.total_cmp(&b.price));
    let pairs = offers
        .windows(2)
        .filter(|pair| pair[1].price >= FAR_OFF * pair[0].price);
    let said = pairs.map(|pair| {
        let (low, high) = (pair[0], pair[1]);
        format!(
            "line {}: a price of {} is {:.0} times the {} of line {}; is one of them a slip of the pen?",
            high.line,
            high.price,
            high.price / low.price,
            low.price,
            low.line
        )
    });
    said.collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;
    use crate::sales::read;

    /// Chi-squared's quantiles from a printed table (two decimals, from memory): 3.25 at 10 degrees, 23.34 at 12.
    #[test]
    fn a_rate_has_its_exact_interval() {
        let five = pace(5, 70.0);
        assert_eq!(five.value, 0.5);
        assert!((five.low.unwrap() - 7.0 * 3.247 / 140.0).abs() < 1e-4, "{five:?}");
        assert!((five.high.unwrap() - 7.0 * 23.337 / 140.0).abs() < 1e-4, "{five:?}");
        // With nothing sold the upper end is -log 2.5 % over the days.
        let none = pace(0, 7.0);
        assert!((none.high.unwrap() - -libm::log(0.025)).abs() < 1e-12);
    }

    /// Few offers cannot tell which price is usual, but that two of them do not go together.
    #[test]
    fn prices_and_days_that_do_not_go_together_are_asked_about() {
        let today = "2070-01-01".parse().unwrap();
        let of = |lines: &str| {
            let log = read("log", format!("listed,price,sold\n{lines}").as_bytes()).unwrap();
            doubts(&log, today, None)
        };
        assert_eq!(
            of("2026-03-01,28,2026-03-09\n2026-04-01,2800,\n2026-04-02,30,\n"),
            ["line 3: a price of 2800 is 93 times the 30 of line 4; is one of them a slip of the pen?"]
        );
        assert_eq!(
            of("2026-03-01,28,2062-03-09\n2026-04-01,30,\n"),
            ["line 2: 2062-03-09 comes 36 years after 2026-04-01 in line 3; is one of them a slip of the pen?"]
        );
        assert!(of("2026-03-01,28,2026-03-09\n2028-04-01,90,\n").is_empty());
    }

    /// Until 31 January one offer was for sale for 30 days, and two that are open for 30 and 20, 80 in all. By 5 February these two would add 10, more than a
    /// tenth, and by the day before 8.
    #[test]
    fn open_offers_are_asked_of_where_a_log_ended_long_since() {
        let of = |open: &str, today| {
            let text = format!("listed,price,sold\n2027-01-01,20,2027-01-31\n2027-01-01,22,\n2027-01-11,25,{open}\n");
            long_since(
                &read("log", text.as_bytes()).unwrap(),
                jiff::civil::date(2027, 2, today),
            )
        };
        let last = jiff::civil::date(2027, 1, 31);
        assert_eq!([of("", 4), of("", 5)], [None, Some((2, last))]);
        // One open, of 80 days again, adds 8 by 8 February.
        assert_eq!([of("2027-01-31", 8), of("2027-01-31", 9)], [None, Some((1, last))]);
        // A log of days to come says nothing of today.
        assert_eq!(
            long_since(
                &read("log", b"listed,price,sold\n2027-01-01,20,\n").unwrap(),
                jiff::civil::date(2026, 1, 1)
            ),
            None
        );
    }

    #[test]
    fn prices_and_changes_are_counted_by_outlet() {
        let text = "listed,price,pieces,left,sold,until,enquiries,outlet\n\
                    2027-01-01,20,,,2027-01-11,,2,page\n\
                    2027-01-11,20,3,1,,2027-01-31,3,page\n\
                    2027-02-01,30,4,4,,2027-04-12,1,page\n\
                    2027-02-06,25,20,8,,2027-02-06,,fair\n\
                    2027-02-07,250,1,,2027-02-09,,,page\n";
        let log = read("log", text.as_bytes()).unwrap();
        let found = count("log", &log, log.last_day().unwrap());
        assert_eq!((found.offers, found.sold, found.set_apart.len()), (5, 15, 1));
        let short: Vec<_> = found
            .prices
            .iter()
            .map(|p| (p.outlet.as_str(), p.price, p.sold, p.days))
            .collect();
        assert_eq!(
            short,
            [
                ("page", 20.0, 3, 30.0),
                ("page", 30.0, 0, 70.0),
                ("fair", 25.0, 12, 1.0)
            ]
        );
        let [change] = found.changes.as_slice() else {
            panic!("{:?}", found.changes)
        };
        assert_eq!(
            (change.from, change.to, change.on.as_str(), change.sold_after),
            (20.0, 30.0, "2027-02-01", 0)
        );
        // Three of three before: the share after is at most 1 - 0.025^(1/3) = 0.7076, 2.42 times over 70 / 30.
        let high = change.times.unwrap().high.unwrap();
        assert!((high - 0.7076 / 0.2924 * 30.0 / 70.0).abs() < 1e-3, "{high}");
        assert_eq!(change.says, Taught::CannotTell);
        let asked = found.enquiries.unwrap();
        assert_eq!((asked.count, asked.sold, asked.a_sale.unwrap().value), (6, 3, 2.0));
        assert_eq!(doubts(&log, "2027-12-31".parse().unwrap(), None).len(), 1);
    }

    /// A slip in the year of each day that a line has, and outlets that are written in two ways; of many the first five are told.
    #[test]
    fn days_to_come_and_outlets_written_otherwise_are_asked_about() {
        let scenario = crate::scenario::read(
            "file",
            "target = 8\nsale.price = 20\n[[step]]\nname = 'make'\neach = '30 min'\n[[selling_day]]\nname = 'March fair'\nsells = 3\n",
            &[],
        )
        .unwrap();
        let text = "listed,price,sold,until,outlet\n2026-03-01,28,2027-03-09,,own page\n2026-03-02,28,,2027-03-10,Own Page\n\
                    2026-12-01,28,,,own  page\n2026-03-14,28,2026-03-14,,march fair\n2026-03-02,28,,2026-11-30,Own Page\n";
        let log = read("log", text.as_bytes()).unwrap();
        let today: Date = "2026-11-30".parse().unwrap();
        let asked = "is still to come, as today is 2026-11-30; is the year a slip of the pen?";
        assert_eq!(
            doubts(&log, today, Some(&scenario)),
            [
                format!("line 2: `sold` 2027-03-09 {asked}"),
                format!("line 3: `until` 2027-03-10 {asked}"),
                format!("line 4: `listed` 2026-12-01 {asked}"),
                "line 3: outlet `Own Page` is `own page` in line 2, and they count as two; write them alike".to_owned(),
                "line 4: outlet `own  page` is `own page` in line 2, and they count as two; write them alike"
                    .to_owned(),
                "line 5: outlet `march fair` is `March fair` in the scenario, and they count as two; write them alike"
                    .to_owned(),
            ]
        );
        let many = "2026-03-01,28,2027-03-09\n".repeat(1_240);
        let log = read("log", format!("listed,price,sold\n{many}").as_bytes()).unwrap();
        let said = doubts(&log, today, None);
        assert_eq!((said.len(), said[5].as_str()), (6, "and 1,235 more like these"));
        let many = "2026-03-01,28,2026-03-09,3\n".repeat(9_246);
        let log = read("log", format!("listed,price,sold,pieces\n{many}").as_bytes()).unwrap();
        let said = doubts(&log, today, None);
        assert_eq!(said[0], "lines 2 and 3 are the same; is one of them a slip?");
        assert_eq!((said.len(), said[5].as_str()), (6, "and 9,240 more like these"));
    }
}
