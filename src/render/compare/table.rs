//! Both tables of a comparison, whose names are whole titles where there is room, else over several lines. Nothing is cut off, as the end of
//! a name may be all that tells it from another.

use super::{letter, whole};
use crate::questions::compare::{Compare, Limit, Pair};
use crate::render::columns::{Columns, MEAN, SHARE, Table, Unit, between};
use crate::render::format::money_interval;

/// Letters of a line of a name in a table at the least, where whole titles have no room.
const SHORTEST_NAME: usize = 10;

/// What an hour earns.
pub(super) fn rates(answer: &Compare) -> Table<'_, usize> {
    let shown = [
        "letter",
        "name",
        "run.size",
        "run.rate.p10",
        "run.rate.p50",
        "run.rate.p90",
        "run.rate.long_run",
        "run.reach.share",
        "best_less_this_difference",
        "interval",
        "beats_best_share",
    ];
    of_entries(answer, "What an hour earns", columns(answer).pick(&shown)).main(move |k| *k == answer.best)
}

/// What a week brings in and what a batch ties up.
pub(super) fn weeks(answer: &Compare) -> Table<'_, usize> {
    let shown = [
        "letter",
        "name",
        "run.hours.mean",
        "run.money.materials",
        "week.bench_hours",
        "week.demand",
        "week.runs",
        "week.sold",
        "week.money.mean",
        "limit",
    ];
    of_entries(answer, "What a week brings in", columns(answer).pick(&shown))
        .main(move |k| answer.best_week == Some(*k))
}

pub(super) fn of_entries<'a>(answer: &'a Compare, name: &str, columns: Columns<'a, usize>) -> Table<'a, usize> {
    Table::new(name, answer, "entries", 0..answer.entries.len(), columns)
}

/// One row an entry, by its place.
pub(super) fn columns(answer: &Compare) -> Columns<'_, usize> {
    let currency = answer.currency.as_str();
    let money = Unit::Money(currency);
    let mut c: Columns<'_, usize> = Columns::default();
    c.text("letter", move |k| letter(answer, *k)).plain("");
    c.field("title", Unit::Text);
    c.said("name", move |k| whole(answer, *k).into())
        .plain("what is\nmade")
        .decides()
        .breaks(SHORTEST_NAME);
    c.field("run.size", Unit::Count).named("size").plain("pieces\na batch");
    c.rates("run.rate", currency, true).decides();
    c.called("run.reach", "reach", SHARE, Unit::Share)
        .plain("batches\nthat reach\nthe target");
    c.called("run.hours", "hours", MEAN, Unit::Hours)
        .plain("hours\na batch");
    c.called("run.profit", "profit", MEAN, money);
    c.field("run.money.materials", money)
        .named("stock")
        .plain(format!("material\na batch\n{currency}"))
        .spare(1);
    c.field("run.sold.mean", Unit::Mean).named("sold_mean");
    against_best(&mut c, answer);
    of_week(&mut c, answer);
    c
}

/// Each against the best, of which nothing is said here.
fn against_best<'a>(c: &mut Columns<'a, usize>, answer: &'a Compare) {
    let currency = answer.currency.as_str();
    let hourly = Unit::Hourly(currency);
    let best = letter(answer, answer.best);
    let pair = move |k: &usize| answer.pair(answer.best, *k).filter(|_| *k != answer.best);
    let turned = move |k: &usize| pair(k).map(Pair::turned);
    let name = "best_less_this_difference";
    c.figure(name, hourly, move |k| Some(pair(k)?.difference.mean))
        .plain(format!("{currency}\nan hour\nless\nthan {best}"));
    c.figure(format!("{name}_se"), hourly, move |k| Some(pair(k)?.difference.se));
    c.figure(format!("{name}_low"), hourly, move |k| Some(pair(k)?.low));
    c.figure(format!("{name}_high"), hourly, move |k| Some(pair(k)?.high));
    c.shown("interval", move |k| {
        let interval = |p: Pair| {
            let text = money_interval(p.low, p.high, "").trim_end().to_owned();
            between(text, [p.low, p.high].map(Some), hourly)
        };
        pair(k).map(interval).into()
    })
    .head("exact value\nlies between")
    .note("Exact value: 95 times in 100 the simulation is no further off than this.")
    .spare(3);
    c.figure("beats_best_share", Unit::Share, move |k| {
        Some(turned(k)?.first_wins.share)
    })
    .plain(format!("a batch\nbeats one\nof {best} in"));
    c.figure("beats_best_low", Unit::Share, move |k| Some(turned(k)?.first_wins.low));
    c.figure("beats_best_high", Unit::Share, move |k| {
        Some(turned(k)?.first_wins.high)
    });
    c.figure("ties_share", Unit::Share, move |k| Some(turned(k)?.ties));
}

fn of_week<'a>(c: &mut Columns<'a, usize>, answer: &'a Compare) {
    let currency = answer.currency.as_str();
    let money = Unit::Money(currency);
    let week = move |k: &usize| &answer.entries[*k].week;
    c.field("week.bench_hours", Unit::Hours)
        .or("not known")
        .plain("bench time\na week")
        .spare(2);
    c.field("week.demand", Unit::Often)
        .or_row(move |k| if week(k).one_season { "a season" } else { "all" })
        .plain("pieces\nwanted\na week");
    c.field("week.runs", Unit::Often)
        .or("not known")
        .plain("batches\nmade\na week");
    c.field("week.sold", Unit::Mean)
        .or("not known")
        .plain("pieces\nsold\na week");
    c.field("week.hours", Unit::Hours);
    c.field("week.money.mean", money)
        .named("week_money")
        .or("not known")
        .plain(format!("earns\n{currency}\na week"));
    c.field("week.money.se", money);
    c.field("week.limit", Unit::Text);
    let limit = |limit: Limit| match limit {
        Limit::BenchHours => "hours",
        Limit::Demand => "buyers",
    };
    c.shown("limit", move |k| week(k).limit.map(limit).into())
        .plain("limited\nby");
}
