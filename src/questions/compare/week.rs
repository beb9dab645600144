//! What a week of each brings in, and how a week is shared out among several.
//!
//! Batches a week = min(bench hours / `E[hours]`, demand / `E[sold]`), money a week = `E[profit]` x batches a week. Assumption: the bench is
//! kept busy with this alone, selling days take none of its hours, and waits (drying, curing) overlap with other work.

use super::Compared;
use crate::model::WEEKS_PER_YEAR;
use crate::questions::sweep::SizeAnswer;
use crate::scenario::Scenario;
use crate::stats::Mean;
use serde::Serialize;

/// A week of making nothing else.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Week {
    /// Bench hours there are.
    pub bench_hours: Option<f64>,
    /// Where that figure comes from.
    pub bench_from: BenchFrom,
    /// Pieces asked for; `None`: as many as are made.
    pub demand: Option<f64>,
    /// Whether all that is asked for is asked for in one season: then no week stands for the others.
    pub one_season: bool,
    /// Batches made; `None`: the bench hours are not known, or it sells for one season.
    pub runs: Option<f64>,
    /// Pieces sold.
    pub sold: Option<f64>,
    /// Hands-on hours, those of selling days with them.
    pub hours: Option<f64>,
    /// Hours of selling days, which are no bench hours; absent where there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub day_hours: Option<f64>,
    /// Money earned. Where demand is the limit the error is an upper bound (the two errors added up).
    pub money: Option<Mean>,
    /// What limits it.
    pub limit: Option<Limit>,
}

/// Where the bench hours of a week come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BenchFrom {
    /// Asked for this call.
    Asked,
    /// The scenario's `[hours]`, without days off.
    HoursSection,
    /// The scenario's `shop.hours_per_month` x 12 / 52.
    ShopMonth,
    /// Nowhere.
    NotGiven,
}

/// What limits a week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// Bench hours.
    BenchHours,
    /// Pieces asked for.
    Demand,
}

/// A week shared out among several scenarios: the best long-run rate first, as far as pieces are asked for, the rest of the
/// bench hours to the next (what fills a knapsack best where things can be divided; Dantzig 1957, "Discrete-variable extremum
/// problems", Operations Research 5(2), 266-288, from memory). Only where all have the same bench hours; of entries with the same
/// title, which are the same thing in other batches, only the best.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mix {
    /// Hands-on hours of each entry, in the order of `entries`.
    pub hours: Vec<f64>,
    /// Money earned a week.
    pub money: f64,
}

/// Bench hours of a week that a scenario gives, and where it gives them.
#[must_use]
pub fn weekly_hours(scenario: &Scenario) -> (Option<f64>, BenchFrom) {
    if let Some(hours) = &scenario.hours {
        (Some(hours.week()), BenchFrom::HoursSection)
    } else if scenario.shop.hours_per_month > 0.0 {
        (
            Some(scenario.shop.hours_per_month * 12.0 / WEEKS_PER_YEAR),
            BenchFrom::ShopMonth,
        )
    } else {
        (None, BenchFrom::NotGiven)
    }
}

/// A week of making nothing but this.
pub(super) fn week(scenario: &Scenario, run: &SizeAnswer, asked: Option<f64>) -> Week {
    let (bench_hours, bench_from) = match asked {
        Some(hours) => (Some(hours), BenchFrom::Asked),
        None => weekly_hours(scenario),
    };
    let demand = scenario.steady.map(|steady| steady.per_week);
    let days = run.selling_days.iter().fold(0.0, |sum, day| sum + day.hours);
    let at_bench = run.hours.mean - days;
    let unknown = Week {
        day_hours: None,
        bench_hours,
        bench_from,
        demand,
        one_season: scenario.season.is_some(),
        runs: None,
        sold: None,
        hours: None,
        money: None,
        limit: None,
    };
    let by_hours = bench_hours
        .filter(|_| at_bench > 0.0 && !unknown.one_season)
        .map(|hours| hours / at_bench);
    // A batch that sells nothing is never held up by demand.
    let by_demand = demand
        .filter(|_| run.sold.mean > 0.0)
        .map(|pieces| pieces / run.sold.mean);
    let Some(by_hours) = by_hours else { return unknown };
    let (runs, limit) = match by_demand {
        Some(most) if most < by_hours => (most, Limit::Demand),
        _ => (by_hours, Limit::BenchHours),
    };
    let money = match limit {
        Limit::BenchHours => (bench_hours.unwrap_or(0.0) + runs * days) * run.rate.long_run_se,
        // The error of a quotient is at most the sum of what either part alone would make it.
        Limit::Demand => runs * (run.profit.se + (run.profit.mean / run.sold.mean).abs() * run.sold.se),
    };
    Week {
        runs: Some(runs),
        sold: Some(runs * run.sold.mean),
        hours: Some(runs * run.hours.mean),
        day_hours: (days > 0.0).then_some(runs * days),
        money: Some(Mean {
            mean: runs * run.profit.mean,
            se: money,
        }),
        limit: Some(limit),
        ..unknown
    }
}

/// How a week is best shared out, where that brings in more than a week of the best alone.
pub(super) fn mix(entries: &[Compared], best_week: Option<usize>) -> Option<Mix> {
    // What is made for one season has no week, and hours of selling days cannot be shared out as those at the bench are.
    let weekly = |entry: &&Compared| !entry.week.one_season && entry.week.day_hours.is_none();
    let bench = entries.iter().find(weekly)?.week.bench_hours?;
    if entries.iter().filter(weekly).any(|e| e.week.bench_hours != Some(bench)) {
        return None;
    }
    let mut order: Vec<usize> = (0..entries.len())
        .filter(|k| entries[*k].run.rate.long_run > 0.0 && weekly(&&entries[*k]))
        .collect();
    order.sort_by(|a, b| {
        let rate = |k: usize| entries[k].run.rate.long_run;
        rate(*b).total_cmp(&rate(*a)).then(a.cmp(b))
    });
    let mut left = bench;
    let mut hours = vec![0.0; entries.len()];
    let mut money = 0.0;
    for k in order {
        // What demand allows at the most is what a week of this alone holds; the same thing in other batches has the same buyers.
        let again = entries
            .iter()
            .zip(&hours)
            .any(|(other, hours)| *hours > 0.0 && other.title == entries[k].title);
        let alone = entries[k].week.hours.unwrap_or(0.0);
        let most = if again { 0.0 } else { alone.min(left) };
        hours[k] = most;
        left -= most;
        money += most * entries[k].run.rate.long_run;
    }
    let alone = entries[best_week?].week.money?.mean;
    (hours.iter().filter(|h| **h > 1e-9 * bench).count() > 1 && money > alone).then_some(Mix { hours, money })
}
