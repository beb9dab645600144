//! Two or more scenarios against each other, each at one batch size: what an hour earns, how sure the difference is, how often a
//! batch of one beats a batch of another, and what a week brings in.
//!
//! Trial i of every scenario is the same day: the pace, and steps and materials with the same name, draw the same luck (a
//! stream is named by seed, trial and name). A slow day is slow for all that is compared, as it would be for one maker, so
//! differences and chances are taken trial by trial. Steps with different names are independent.

mod week;

use std::borrow::Cow;

use super::sweep::{self, SizeAnswer, Sweep};
use super::{Settings, advised, quick_sweep, size_of, trials_at};
use crate::scenario::Scenario;
use crate::stats::columns;
use crate::stats::{self, QuantileRank};
use crate::stats::{Mean, Share};
use serde::Serialize;

pub use week::{BenchFrom, Limit, Mix, Week, weekly_hours};

/// Trials of each scenario where nothing is said.
pub const TRIALS: u64 = 50_000;

/// Bins of the distributions, from the smallest 1/200 to the largest 1/200 of all scenarios' rates.
const BINS: usize = 72;

/// The whole answer; its serialised form is the documented JSON of `compare`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compare {
    /// ISO 4217 code, the first scenario's; all figures are in it.
    pub currency: String,
    /// Trials of each scenario.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Index into `entries`: the best long-run rate (of equal ones the first).
    pub best: usize,
    /// Index into `entries`: the most money a week, among those whose week is known.
    pub best_week: Option<usize>,
    /// Where the bins of `Compared::density` lie.
    pub bins: Bins,
    /// In the order they were given.
    pub entries: Vec<Compared>,
    /// Scenarios whose money is worth nothing known in that of the first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<LeftOut>,
    /// Every two of them, first < second.
    pub pairs: Vec<Pair>,
    /// The best week with several of them, where that beats a week of any one alone.
    pub mix: Option<Mix>,
}

/// Bins of equal width; `width` 0: every batch of every scenario earns the same.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bins {
    /// Where the first bin begins, money per hour.
    pub from: f64,
    /// Width of a bin, money per hour.
    pub width: f64,
}

/// A scenario that cannot be set against the first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftOut {
    /// Its place among all scenarios, from 0.
    pub place: usize,
    /// The scenario's title.
    pub title: String,
    /// The currency that nobody says the worth of, ISO 4217 code.
    pub currency: String,
}

/// One scenario at one size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Its place among all scenarios, from 0.
    #[serde(skip)]
    pub place: usize,
    /// The scenario's title.
    pub title: String,
    /// The file it was read from, where that is known: two files may have one title.
    pub file: Option<String>,
    /// From which money its figures are converted, where its own is another.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub converted: Option<Converted>,
    /// Asked price per piece.
    pub price: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// Share of trials that should reach it.
    pub confidence: f64,
    /// How the size was chosen.
    pub chosen: Chosen,
    /// Everything about a batch of that size, as in `sweep`; `money.materials` is the stock a batch ties up, at replacement prices.
    pub run: SizeAnswer,
    /// Share of trials in each bin of rates; what adds up to less than 1 lies outside.
    pub density: Vec<f64>,
    /// What a week brings in.
    pub week: Week,
    /// Long-run rate at each size of the scenario, from fewer trials; ascending.
    pub sweep: Vec<Point>,
}

/// Money of one scenario in that of another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Converted {
    /// The scenario's own currency, ISO 4217 code.
    pub from: String,
    /// What one unit of it is worth, on average.
    pub worth: f64,
}

/// How a size was chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Chosen {
    /// It was asked for.
    Asked,
    /// It is the single piece that somebody ordered.
    MadeToOrder,
    /// It is advised for the season, or for a steady sale all year.
    Advised,
    /// Past it no bigger batch earns 1 % more an hour; some size reaches the target as surely as the scenario asks.
    Level,
    /// None pays; this has the best long-run rate.
    BestRate,
}

/// The long-run rate at one size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Point {
    /// Pieces started.
    pub size: u32,
    /// Money per hour.
    pub long_run: f64,
    /// Its standard error.
    pub se: f64,
}

impl Point {
    const fn of(answer: &SizeAnswer) -> Self {
        Self {
            size: answer.size,
            long_run: answer.rate.long_run,
            se: answer.rate.long_run_se,
        }
    }
}

/// Two entries against each other.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Pair {
    /// Index into `entries`.
    pub first: usize,
    /// Index into `entries`.
    pub second: usize,
    /// Long-run rate of the first less that of the second, with the paired standard error by the delta method.
    pub difference: Mean,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Chance that a batch of the first earns more per hour than a batch of the second on the same day; ties count half. Wilson
    /// 95 % interval.
    pub first_wins: Share,
    /// Share of ties.
    pub ties: f64,
}

impl Pair {
    /// The same pair seen from the second.
    #[must_use]
    pub fn turned(self) -> Self {
        Self {
            first: self.second,
            second: self.first,
            difference: Mean {
                mean: -self.difference.mean,
                se: self.difference.se,
            },
            low: -self.high,
            high: -self.low,
            first_wins: Share {
                share: 1.0 - self.first_wins.share,
                low: 1.0 - self.first_wins.high,
                high: 1.0 - self.first_wins.low,
            },
            ties: self.ties,
        }
    }
}

impl Compare {
    /// Entry `first` against entry `second`.
    #[must_use]
    pub fn pair(&self, first: usize, second: usize) -> Option<Pair> {
        let found = self
            .pairs
            .iter()
            .find(|p| (p.first, p.second) == (first.min(second), first.max(second)))?;
        Some(if first < second { *found } else { found.turned() })
    }
}

/// What is asked besides the scenarios.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Question {
    /// A size for each scenario, in order; none: as many pieces as are advised.
    pub sizes: Vec<Option<u32>>,
    /// Bench hours a week, whatever the scenarios say.
    pub hours_a_week: Option<f64>,
    /// The file of each scenario, in order; empty: not known.
    pub files: Vec<String>,
}

/// How many of these can be set against the first, itself among them.
#[must_use]
pub fn comparable(scenarios: &[Scenario]) -> usize {
    let worth = |s: &&Scenario| s.worth_in(&scenarios[0]).is_some();
    scenarios.iter().filter(worth).count()
}

/// Compares scenarios in the money of the first; one whose money is worth nothing known in it ([`Scenario::worth_in`]) is left out.
/// `progress` is called now and then with the share that is done.
#[must_use]
pub fn run(
    scenarios: &[Scenario],
    question: &Question,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Compare {
    let count = scenarios.len();
    let mut columns: Vec<(Vec<f64>, Vec<f64>)> = Vec::with_capacity(count);
    let mut entries: Vec<Compared> = Vec::with_capacity(count);
    let mut left_out = Vec::new();
    for (k, own) in scenarios.iter().enumerate() {
        if own.worth_in(&scenarios[0]).is_none() {
            left_out.push(LeftOut {
                place: k,
                title: own.title.clone(),
                currency: own.currency.clone(),
            });
            continue;
        }
        let (scenario, converted) = in_first_money(own, &scenarios[0]);
        let scenario = &*scenario;
        let quick = settings.on_threads(|| quick_sweep(scenario, settings));
        let (size, chosen) = chosen(question.sizes.get(k).copied().flatten(), scenario, settings, &quick);
        progress((k as f64 + 0.4) / count as f64);
        let runs = trials_at(scenario, size, settings);
        let figures = sweep::figures(scenario, &runs);
        columns.push((runs.profit, runs.hours));
        entries.push(Compared {
            place: k,
            title: scenario.title.clone(),
            file: question.files.get(k).cloned(),
            converted,
            price: scenario.sale.price,
            target: scenario.target_per_hour,
            confidence: scenario.confidence,
            chosen,
            week: week::week(scenario, &figures, question.hours_a_week),
            run: figures,
            density: Vec::new(),
            sweep: quick.sizes.iter().map(Point::of).collect(),
        });
        progress((k as f64 + 1.0) / count as f64);
    }
    let rates: Vec<Vec<f64>> = columns
        .iter()
        .map(|(profit, hours)| {
            profit
                .iter()
                .zip(hours)
                .map(|(p, h)| columns::per_hour(*p, *h))
                .collect()
        })
        .collect();
    let bins = bins(&rates);
    for (entry, rates) in entries.iter_mut().zip(&rates) {
        entry.density = density(rates, bins);
    }
    let mut pairs = Vec::new();
    for first in 0..entries.len() {
        for second in first + 1..entries.len() {
            pairs.push(pair((first, second), &columns, &rates));
        }
    }
    let best = first_of_best(&entries, |e| Some(e.run.rate.long_run)).unwrap_or(0);
    let best_week = first_of_best(&entries, |e| e.week.money.map(|m| m.mean));
    let mix = week::mix(&entries, best_week);
    Compare {
        currency: scenarios.first().map(|s| s.currency.clone()).unwrap_or_default(),
        trials: settings.trials,
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        best,
        best_week,
        bins,
        entries,
        left_out,
        pairs,
        mix,
    }
}

/// The size to look at, and how it was chosen.
fn chosen(asked: Option<u32>, scenario: &Scenario, settings: &Settings, quick: &Sweep) -> (u32, Chosen) {
    if let Some(size) = asked {
        return (size, Chosen::Asked);
    }
    match advised(scenario, settings) {
        Some(size) => (size, Chosen::Advised),
        None if quick.made_to_order => (size_of(quick), Chosen::MadeToOrder),
        // The first that pays is the least a maker should make: beside it the other would win by being made in a larger batch.
        None if quick.first_paying_size.is_some() => (quick.level_size, Chosen::Level),
        None => (size_of(quick), Chosen::BestRate),
    }
}

/// A scenario in the money of the first, and from which it was converted.
fn in_first_money<'a>(own: &'a Scenario, first: &Scenario) -> (Cow<'a, Scenario>, Option<Converted>) {
    match own.worth_in(first).filter(|_| own.currency != first.currency) {
        None => (Cow::Borrowed(own), None),
        Some(worth) => {
            let from = own.currency.clone();
            let made = own.in_currency(&first.currency, worth);
            (Cow::Owned(made), Some(Converted { from, worth }))
        }
    }
}

/// The one with the greatest value; of equals the first.
fn first_of_best(entries: &[Compared], value: impl Fn(&Compared) -> Option<f64>) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (k, entry) in entries.iter().enumerate() {
        if let Some(v) = value(entry)
            && best.is_none_or(|(_, b)| v > b)
        {
            best = Some((k, v));
        }
    }
    best.map(|(k, _)| k)
}

fn pair((first, second): (usize, usize), columns: &[(Vec<f64>, Vec<f64>)], rates: &[Vec<f64>]) -> Pair {
    let side = |k: usize| (columns[k].0.as_slice(), columns[k].1.as_slice());
    let difference = stats::ratio_difference(side(first), side(second));
    let (mut wins, mut ties) = (0_u64, 0_u64);
    for (a, b) in rates[first].iter().zip(&rates[second]) {
        // Rates that differ by rounding only are the same.
        if (a - b).abs() <= 1e-12 * a.abs().max(b.abs()) {
            ties += 1;
        } else if a > b {
            wins += 1;
        }
    }
    let n = rates[first].len() as f64;
    Pair {
        first,
        second,
        difference,
        low: difference.mean - stats::Z975 * difference.se,
        high: difference.mean + stats::Z975 * difference.se,
        first_wins: stats::wilson_of(wins as f64 + 0.5 * ties as f64, n),
        ties: ties as f64 / n,
    }
}

fn bins(rates: &[Vec<f64>]) -> Bins {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for column in rates {
        let mut column = column.clone();
        let ends = [0.005, 0.995].map(|q| QuantileRank::new(column.len(), q));
        stats::put_in_order(&mut column, &ends);
        low = low.min(stats::quantile(&column, ends[0]));
        high = high.max(stats::quantile(&column, ends[1]));
    }
    let width = (high - low) / BINS as f64;
    if width.is_finite() && high - low > 1e-9 * high.abs().max(low.abs()) {
        Bins { from: low, width }
    } else {
        Bins { from: low, width: 0.0 }
    }
}

fn density(rates: &[f64], bins: Bins) -> Vec<f64> {
    if bins.width <= 0.0 {
        return Vec::new();
    }
    let mut counts = [0_u32; BINS];
    for rate in rates {
        let place = (rate - bins.from) / bins.width;
        // The last bin holds its own upper end.
        if (0.0..=BINS as f64).contains(&place) {
            counts[(place as usize).min(BINS - 1)] += 1;
        }
    }
    counts.iter().map(|c| f64::from(*c) / rates.len() as f64).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Finished, Hours, Spread, Steady, Step};
    use crate::testing::{material, scenario, step, tri};

    fn compare(scenarios: &[Scenario], question: &Question, trials: u64) -> Compare {
        let settings = Settings {
            trials,
            ..Settings::default()
        };
        run(scenarios, question, &settings, &|_| ())
    }

    fn certain_shop(price: f64, setup: f64, each: f64) -> Scenario {
        let mut shop = scenario(
            price,
            40.0,
            &[1, 2, 5, 10],
            vec![Step {
                setup: Spread::Certain(setup),
                each: Spread::Certain(each),
                ..step("make")
            }],
        );
        shop.materials = vec![crate::scenario::Material {
            per_piece: 1.0,
            ..material("stock", 5.0)
        }];
        shop
    }

    fn hours(days: [f64; 7]) -> Option<Hours> {
        Some(Hours {
            days,
            opens: [None; 7],
            off: Vec::new(),
        })
    }

    fn steady(per_week: f64) -> Option<Steady> {
        Some(Steady {
            per_week,
            hold: 0.0,
            finished: Finished::Together,
        })
    }

    fn close(found: f64, expected: f64, what: &str) {
        assert!(
            (found - expected).abs() <= 1e-12 * expected.abs().max(1.0),
            "{what}: {found} against {expected}"
        );
    }

    #[test]
    fn a_certain_comparison_is_exact() {
        let mut small = certain_shop(50.0, 60.0, 15.0);
        let mut large = certain_shop(305.0, 60.0, 240.0);
        small.hours = hours([0.0, 2.0, 0.0, 2.0, 0.0, 6.0, 0.0]);
        large.hours = small.hours.clone();
        large.steady = steady(0.5);
        let question = Question {
            sizes: vec![Some(10), Some(1)],
            hours_a_week: None,
            files: Vec::new(),
        };
        let found = compare(&[small, large], &question, 200);
        // By hand: ten small ones take 3.5 h and earn 450, 128.571 an hour; a large one takes 5 h and earns 300, 60 an hour.
        let pair = found.pairs[0];
        close(pair.difference.mean, 450.0 / 3.5 - 60.0, "difference");
        close(pair.difference.se, 0.0, "its error");
        assert_eq!((pair.first_wins.share, pair.ties), (1.0, 0.0));
        assert_eq!((found.best, found.best_week), (0, Some(0)));
        // 10 h a week hold 10 / 3.5 small batches; half a large one is asked for, which takes 2.5 of the 10 h.
        let [a, b] = [0, 1].map(|k| found.entries[k].week);
        assert_eq!((a.limit, b.limit), (Some(Limit::BenchHours), Some(Limit::Demand)));
        close(a.runs.expect("known"), 10.0 / 3.5, "runs of the small one");
        close(a.money.expect("known").mean, 450.0 * 10.0 / 3.5, "its money");
        close(b.runs.expect("known"), 0.5, "runs of the large one");
        close(b.hours.expect("known"), 2.5, "its hours");
        close(b.money.expect("known").mean, 150.0, "its money");
        close(found.entries[0].run.money.materials, 50.0, "stock tied up");
        // Small ones earn more an hour and all of them sell: nothing is left for the large one.
        assert_eq!(found.mix, None);
    }

    #[test]
    fn a_week_is_filled_with_the_best_first() {
        let mut small = certain_shop(50.0, 60.0, 15.0);
        let mut large = certain_shop(305.0, 60.0, 240.0);
        small.hours = hours([0.0, 2.0, 0.0, 2.0, 0.0, 6.0, 0.0]);
        large.hours = small.hours.clone();
        large.title = "large".to_owned();
        small.steady = steady(20.0);
        let question = Question {
            sizes: Vec::new(),
            hours_a_week: None,
            files: Vec::new(),
        };
        let mut fair = large.clone();
        fair.title = "fair".to_owned();
        fair.season = Some(crate::scenario::Season {
            buyers: crate::scenario::Buyers::Seen(vec![20.0]),
            asked_at: 305.0,
            leftover: crate::scenario::Unsold::Clearance(0.0),
            elasticity: 0.0,
        });
        // What is made for a fair beside them takes no part in a week.
        for shops in [vec![large.clone(), small.clone()], vec![large, small, fair]] {
            let sizes = [1, 10, 1].map(Some)[..shops.len()].to_vec();
            let found = compare(
                &shops,
                &Question {
                    sizes,
                    ..question.clone()
                },
                100,
            );
            // By hand: twenty small ones take 7 h and earn 900; the 3 h left hold 0.6 large ones, 180. Ten hours of large ones: 600.
            let mix = found.mix.expect("two are made");
            close(mix.hours[0], 3.0, "hours of the large one");
            close(mix.hours[1], 7.0, "hours of the small one");
            close(mix.money, 1080.0, "money");
            assert_eq!(found.best_week, Some(1));
        }
    }

    /// Five a week are asked for, however they are made: a week of both batches would sell ten.
    #[test]
    fn the_same_thing_in_other_batches_has_the_same_buyers() {
        let mut shop = certain_shop(50.0, 60.0, 15.0);
        shop.hours = hours([2.0; 7]);
        shop.steady = steady(5.0);
        let question = Question {
            sizes: vec![Some(1), Some(10)],
            hours_a_week: None,
            files: Vec::new(),
        };
        let mut other = shop.clone();
        assert_eq!(compare(&[shop.clone(), other.clone()], &question, 100).mix, None);
        other.title = "another".to_owned();
        assert!(compare(&[shop, other], &question, 100).mix.is_some());
    }

    /// What sells before a fair is not asked for every week.
    #[test]
    fn a_season_has_no_week() {
        let mut shop = certain_shop(50.0, 60.0, 15.0);
        shop.hours = hours([2.0; 7]);
        let mut fair = shop.clone();
        fair.season = Some(crate::scenario::Season {
            buyers: crate::scenario::Buyers::Seen(vec![20.0]),
            asked_at: 50.0,
            leftover: crate::scenario::Unsold::Clearance(0.0),
            elasticity: 0.0,
        });
        let found = compare(&[shop, fair], &Question::default(), 100);
        assert!(found.entries[0].week.money.is_some() && !found.entries[0].week.one_season);
        let week = found.entries[1].week;
        assert!(week.one_season && week.runs.is_none() && week.money.is_none());
    }

    #[test]
    fn bench_hours_come_from_where_they_are_written() {
        let mut shop = certain_shop(50.0, 60.0, 15.0);
        assert_eq!(weekly_hours(&shop), (None, BenchFrom::NotGiven));
        let unknown = compare(&[shop.clone(), shop.clone()], &Question::default(), 100);
        assert!(
            unknown
                .entries
                .iter()
                .all(|e| e.week.runs.is_none() && e.week.money.is_none())
        );
        assert_eq!(unknown.best_week, None);
        shop.shop.hours_per_month = 65.0;
        assert_eq!(weekly_hours(&shop), (Some(15.0), BenchFrom::ShopMonth));
        shop.hours = hours([1.0; 7]);
        assert_eq!(weekly_hours(&shop), (Some(7.0), BenchFrom::HoursSection));
        let question = Question {
            sizes: vec![Some(1), Some(1)],
            hours_a_week: Some(3.0),
            files: Vec::new(),
        };
        let asked = compare(&[shop.clone(), shop], &question, 100);
        assert_eq!(asked.entries[0].week.bench_hours, Some(3.0));
        assert_eq!(asked.entries[0].week.bench_from, BenchFrom::Asked);
    }

    #[test]
    fn the_same_scenario_ties_with_itself() {
        let mut shop = certain_shop(50.0, 60.0, 15.0);
        shop.steps[0].each = tri(10.0, 15.0, 40.0);
        let question = Question {
            sizes: vec![Some(5), Some(5)],
            hours_a_week: None,
            files: Vec::new(),
        };
        let found = compare(&[shop.clone(), shop], &question, 1_000).pairs[0];
        assert_eq!((found.difference.mean, found.difference.se), (0.0, 0.0));
        assert_eq!((found.first_wins.share, found.ties), (0.5, 1.0));
        assert_eq!(found.turned().turned(), found);
    }

    #[test]
    fn densities_hold_nearly_all_trials() {
        let mut shop = certain_shop(50.0, 60.0, 15.0);
        shop.pace = tri(0.8, 1.0, 1.6);
        let other = certain_shop(80.0, 60.0, 15.0);
        let found = compare(&[shop, other], &Question::default(), 4_000);
        assert!(found.bins.width > 0.0);
        let sums: Vec<f64> = found.entries.iter().map(|e| e.density.iter().sum()).collect();
        // At most one batch in 200 lies outside at either end; the certain one lies in one bin.
        assert!(sums[0] >= 0.989 && sums[0] <= 1.0 + 1e-12, "{sums:?}");
        close(sums[1], 1.0, "certain");
        assert_eq!(found.entries[1].density.iter().filter(|d| **d > 0.0).count(), 1);
        let certain = compare(
            &[certain_shop(50.0, 60.0, 15.0), certain_shop(50.0, 60.0, 15.0)],
            &Question::default(),
            100,
        );
        assert_eq!(certain.bins.width, 0.0);
    }

    /// The paired interval against what the difference does from seed to seed, and against the unpaired error, which must be
    /// larger where the pace is shared.
    #[test]
    fn the_paired_error_is_the_spread_over_seeds() {
        let mut a = certain_shop(50.0, 60.0, 15.0);
        a.pace = tri(0.8, 1.0, 1.8);
        a.steps[0].each = tri(10.0, 15.0, 30.0);
        let mut b = certain_shop(305.0, 60.0, 240.0);
        b.pace = a.pace.clone();
        b.steps[0].name = "make large".to_owned();
        b.steps[0].each = tri(180.0, 240.0, 400.0);
        let question = Question {
            sizes: vec![Some(5), Some(1)],
            hours_a_week: None,
            files: Vec::new(),
        };
        let (seeds, trials) = (300, 256);
        let found: Vec<(f64, f64, f64)> = (1..=seeds)
            .map(|seed| {
                let settings = Settings {
                    trials,
                    seed,
                    ..Settings::default()
                };
                let found = run(&[a.clone(), b.clone()], &question, &settings, &|_| ());
                let alone = found
                    .entries
                    .iter()
                    .map(|e| e.run.rate.long_run_se.powi(2))
                    .sum::<f64>();
                (
                    found.pairs[0].difference.mean,
                    found.pairs[0].difference.se.powi(2),
                    alone,
                )
            })
            .collect();
        let n = found.len() as f64;
        let mean = found.iter().map(|f| f.0).sum::<f64>() / n;
        let spread = found.iter().map(|f| (f.0 - mean).powi(2)).sum::<f64>() / (n - 1.0);
        let said = found.iter().map(|f| f.1).sum::<f64>() / n;
        let unpaired = found.iter().map(|f| f.2).sum::<f64>() / n;
        // A variance from 300 values is within 4 sqrt(2 / 299) of the true one but once in 16,000; means of 256 batches are
        // near enough to normal, and the mean of the estimates is known far better than that.
        let bound = 4.0 * (2.0 / (n - 1.0)).sqrt();
        assert!((spread / said - 1.0).abs() <= bound, "{spread} against {said}");
        assert!(unpaired > said * (1.0 + bound), "{unpaired} against {said}");
    }
}
