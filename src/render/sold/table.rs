//! Price by price, and change by change.

use crate::render::columns::{Columns, Declared, Table, Unit, between};
use crate::render::figure::{self, Cell};
use crate::render::format::{count, days, often, plain_interval, ratio};
use crate::sales::count::{AtPrice, Between, Counted, PriceChange, Taught};

/// Rows of a table unless all are asked for.
const ROWS: usize = 14;

/// Both tables, where they have rows.
pub(super) fn tables<'a, A: serde::Serialize>(
    answer: &'a A,
    at: [&'a str; 2],
    log: &'a Counted,
    currency: &'a str,
) -> Vec<Box<dyn Declared + 'a>> {
    let mut found: Vec<Box<dyn Declared + 'a>> = Vec::new();
    if !log.prices.is_empty() {
        found.push(Box::new(prices(answer, at[0], log, currency)));
    }
    if !log.changes.is_empty() {
        found.push(Box::new(changes(answer, at[1], log, currency)));
    }
    found
}

/// A head with its currency, where that is known.
fn in_currency(head: &str, currency: &str) -> String {
    if currency.is_empty() {
        head.to_owned()
    } else {
        format!("{head}\n{currency}")
    }
}

/// The unit of a price whose currency may not be known.
fn of_price(currency: &str) -> Unit<'_> {
    if currency.is_empty() {
        Unit::Ratio
    } else {
        Unit::Money(currency)
    }
}

/// An empty cell would read as the outlet above it.
fn named(outlet: &str) -> Cell {
    if outlet.is_empty() { "(none named)" } else { outlet }.into()
}

/// All columns are the CSV.
pub(super) fn prices<'a, A: serde::Serialize>(
    answer: &A,
    at: &'a str,
    log: &'a Counted,
    currency: &'a str,
) -> Table<'a, &'a AtPrice> {
    let outlets = log.prices.iter().any(|p| !p.outlet.is_empty());
    let mut c: Columns<'a, &AtPrice> = Columns::default();
    c.field("outlet", Unit::Text);
    if outlets {
        c.shown("where", |p| named(&p.outlet)).plain("outlet").breaks(10).once();
    }
    let price = of_price(currency);
    c.field("price", price)
        .written(move |v| figure::amount(v, currency))
        .plain(in_currency("price", currency));
    c.field("offers", Unit::Count).plain("times\noffered").spare(2);
    c.field("pieces", Unit::Count).plain("pieces\nput up").spare(1);
    c.field("sold", Unit::Count).plain("pieces\nsold");
    c.field("days", Unit::Mean).plain("days\non offer");
    c.field("a_week.value", Unit::Often)
        .named("a_week")
        .plain("sold a week\nof one offer")
        .note("A week of one offer: seven days on offer.");
    c.shown("interval", |p| {
        let ends = p.a_week.high.map_or_else(String::new, |high| {
            plain_interval(&often(p.a_week.low.unwrap_or(0.0)), &often(high))
        });
        between(ends, [p.a_week.low, p.a_week.high], Unit::Often)
    })
    .head("truth lies\nbetween")
    .note("Truth: 95 times in 100 it lies there; exact for sales by chance.");
    c.field("a_week.low", Unit::Often);
    c.field("a_week.high", Unit::Often);
    c.field("days_a_sale", Unit::Mean)
        .plain("days until\none sells")
        .spare(3);
    Table::new("Price by price", answer, at, &log.prices, c).choose((0..log.prices.len().min(ROWS)).collect(), "prices")
}

/// All columns are the CSV.
fn changes<'a, A: serde::Serialize>(
    answer: &A,
    at: &'a str,
    log: &'a Counted,
    currency: &'a str,
) -> Table<'a, &'a PriceChange> {
    let outlets = log.changes.iter().any(|p| !p.outlet.is_empty());
    let mut c: Columns<'a, &PriceChange> = Columns::default();
    c.field("on", Unit::Text).plain("date");
    c.field("outlet", Unit::Text);
    if outlets {
        c.shown("where", |p| named(&p.outlet)).plain("outlet").breaks(10);
    }
    let price = of_price(currency);
    for end in ["from", "to"] {
        c.field(end, price)
            .written(move |v| figure::amount(v, currency))
            .plain(end)
            .under("price changed");
    }
    c.shown("before", |p| {
        format!("{} in {}", count(p.sold_before), days(p.days_before)).into()
    })
    .plain("sold before\nthe change")
    .spare(2);
    c.shown("after", |p| {
        format!("{} in {}", count(p.sold_after), days(p.days_after)).into()
    })
    .plain("sold after\nthe change")
    .spare(1);
    c.field("sold_before", Unit::Count);
    c.field("days_before", Unit::Mean);
    c.field("sold_after", Unit::Count);
    c.field("days_after", Unit::Mean);
    c.field("times.value", Unit::Ratio)
        .named("times")
        .plain("so many\ntimes\nas fast");
    c.shown("interval", |p| {
        let interval = |t: Between| {
            let text = match (t.low, t.high) {
                (Some(low), Some(high)) => plain_interval(&ratio(low), &ratio(high)),
                (Some(low), None) => format!("{} or more", ratio(low)),
                _ => String::new(),
            };
            between(text, [t.low, t.high], Unit::Ratio)
        };
        p.times.map(interval).into()
    })
    .head("truth lies\nbetween")
    .note("Truth: 95 times in 100 it lies there; exact, given the sales of both; season and chance are in it as well as the price.");
    c.field("times.low", Unit::Ratio);
    c.field("times.high", Unit::Ratio);
    c.field("says", Unit::Text)
        .says(|p| {
            match p.says {
                Taught::Slower => "sold more slowly",
                Taught::Faster => "sold faster",
                Taught::CannotTell => "cannot tell",
            }
            .to_owned()
        })
        .plain("what it\ntaught");
    let n = log.changes.len();
    Table::new("What each change of price taught", answer, at, &log.changes, c)
        .titled(true)
        .choose((n.saturating_sub(ROWS)..n).collect(), "changes of price")
}
