//! When a jig, a second set of clamps or another kiln shelf has paid for itself, and what it adds to the hour.
//!
//! * What a run saves: surplus with the jig less surplus without it, trial by trial (surplus = profit - target x hours). Trial i
//!   with and without is the same day, so the saving is the jig's alone.
//! * What the jig costs: money, and its building hours at the target and at the shop's overhead; drawn once a sequence.
//! * Payback: runs follow one another independently, so sequences of them are drawn with replacement from the simulated
//!   savings (the bootstrap's way of drawing; Efron 1979, "Bootstrap methods: another look at the jackknife", Annals of Statistics
//!   7(1), 1-26) until their sum reaches the cost. All sets of jigs see the same sequences. Within the run that pays, the saving
//!   is taken to come evenly over its pieces (assumption).
//! * What it adds to the hour: the long-run rate with its own hours and money spread over its life, less the rate without.
//! * What it adds a year: what a year of runs saves, less the share of its cost that these runs use up of its life. A jig without an
//!   end is charged whole, so that its year is the first one. A year is as many runs as bench hours and demand allow, after
//!   what is done once for the design; what is planned has no part in it.
//!
//! Check: by Wald's equation and Lorden's bound (Lorden 1970, "On excess over the boundary", Annals of Mathematical Statistics
//! 41(2), 520-527) the mean number of runs lies between `E[K]/E[s]` and `E[K]/E[s] + E[max(s, 0)^2]/E[s]^2`.
//!
//! # Why it is so
//!
//! *A year of a jig leaves `once` out*, as a steady seller's batch does. What a year adds is its batches times what a batch saves, less the
//! share of each jig's life that they use up; a jig without an end is bought once, in the first year.
//!
//! *Payback is resampled.* Trials are independent, so drawing paired savings with replacement is the renewal process itself. All sets of jigs
//! see the same sequences; the mean is held between Wald's and Lorden's bounds.

use super::compare::weekly_hours;
use super::steady::without_once;
use super::{Settings, quick_sweep, runs_at, size_to_ask_about};
use crate::engine::shape::unit;
use crate::engine::stream::{Use, nth, part, start, trial_keys};
use crate::engine::{Engine, Plan};
use crate::scenario::Scenario;
use crate::stats::{self, QuantileRank};
use crate::stats::{Mean, Share};
use rayon::prelude::*;
use serde::Serialize;

/// Simulated runs of the size that is asked about where nothing is said.
pub const TRIALS: u64 = 20_000;
/// Sequences of runs drawn for the size that is asked about.
const SEQUENCES: usize = 4_000;
/// And for every other size.
const QUICK_SEQUENCES: usize = 1_000;
/// Runs behind every other size.
const QUICK_TRIALS: u64 = 8_000;
/// Sizes looked at besides the one that is asked about, at most.
const SIZES: usize = 10;
/// A jig that has not paid after so many runs is taken never to pay.
const MOST_RUNS: usize = 5_000;
/// Up to so many jigs every combination is looked at.
const ALL_COMBINATIONS: usize = 5;
/// So many sets have their course drawn.
const COURSES: usize = 3;
/// Points of a course.
const COURSE_POINTS: usize = 40;
/// Rooms up to this many pieces are looked at even where no size of the scenario is as large.
const MOST_ROOM: u32 = 100;
/// Weeks of a year.
const YEAR_WEEKS: f64 = 52.0;

/// The whole answer; its serialised form is the documented JSON of `jig`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Jigs {
    /// The scenario's title.
    pub title: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Asked price per piece.
    pub price: f64,
    /// Money an hour should earn; building hours are charged at it.
    pub target: f64,
    /// Share of runs that should reach it.
    pub confidence: f64,
    /// Simulated runs with and without each set.
    pub trials: u64,
    /// Sequences of runs drawn from them.
    pub sequences: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Pieces in a run.
    pub size: u32,
    /// Runs planned (`batch.runs`).
    pub planned_runs: u32,
    /// Hands-on hours of a run without any jig.
    pub hours: Mean,
    /// Long-run rate without any jig, money per hour.
    pub rate: Mean,
    /// Runs a year that bench hours and demand allow without any jig, where one of them is known; what is done once for the
    /// design takes none of these hours.
    pub runs_a_year: Option<f64>,
    /// Which of the two it is that allows no more.
    pub year_limit: Option<YearLimit>,
    /// In the order of the file.
    pub jigs: Vec<JigGiven>,
    /// Whether `sets` holds every combination; else single ones, pairs, and all together.
    pub every_combination: bool,
    /// Those that pay within the planned runs and within their life as surely as asked come first, then the others; among
    /// each the one that adds most to a run first.
    pub sets: Vec<Set>,
    /// Other batch sizes; ascending, the asked size among them.
    pub by_size: Vec<AtSize>,
    /// How the first few sets of `sets` get on, piece by piece.
    pub courses: Vec<Course>,
}

/// What allows no more runs a year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum YearLimit {
    /// The hours at the bench.
    BenchHours,
    /// What is asked for a week.
    Demand,
}

/// A jig as it was written.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JigGiven {
    /// Its name.
    pub name: String,
    /// The step it helps.
    pub step: String,
    /// Money.
    pub cost: f64,
    /// Expected hands-on hours to build it.
    pub build_hours: f64,
    /// Pieces it lasts; `None`: for ever.
    pub lasts: Option<u32>,
}

/// One or more jigs used together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Set {
    /// Indices into `Jigs::jigs`.
    pub jigs: Vec<usize>,
    /// What it costs: money, and building hours at the target and at overhead.
    pub outlay: Outlay,
    /// Pieces until the first of them is worn out; `None`: they last for ever.
    pub life_pieces: Option<u32>,
    /// Surplus saved a run, its own cost not counted.
    pub saving: Mean,
    /// Hands-on hours saved a run.
    pub hours_saved: Mean,
    /// Until it has paid for itself.
    pub payback: Payback,
    /// Long-run rate with it, each jig's hours and money spread over its own life (over the planned runs where it lasts for ever).
    pub rate: Mean,
    /// `rate` less the rate without, with the paired standard error by the delta method.
    pub adds_to_hour: Mean,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Surplus added a run, its cost spread the same way.
    pub adds_a_run: Mean,
    /// Surplus added by `Jigs::runs_a_year` runs: what they save, less the share of each jig's cost that they use up of its life. A
    /// jig without an end is charged whole, so that this is the first year.
    pub adds_a_year: Option<f64>,
    /// Its standard error, the number of runs taken as given.
    pub adds_a_year_se: Option<f64>,
}

impl Set {
    /// Whether it adds something, and has paid for itself within its life and the planned runs in at least this share of cases.
    #[must_use]
    pub fn pays_as_planned(&self, confidence: f64) -> bool {
        let surely = self.payback.within_life.share.min(self.payback.within_plan.share);
        self.saving.mean > 0.0 && self.adds_a_run.mean > 0.0 && surely >= confidence
    }
}

/// What a set costs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Outlay {
    /// Mean.
    pub mean: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

/// How long it takes to pay. A sequence that never pays counts as endless; an endless quantile is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Payback {
    /// Pieces: 10 %, 50 % and 90 % of sequences have paid by then, whether or not the jig lasts so long.
    pub pieces: [Option<f64>; 3],
    /// The same in whole runs.
    pub runs: [Option<f64>; 3],
    /// Mean number of runs; `None` where some sequences never pay.
    pub mean_runs: Option<Mean>,
    /// Share of sequences that pay within the life.
    pub within_life: Share,
    /// Share of sequences that pay within the planned runs.
    pub within_plan: Share,
}

/// One batch size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtSize {
    /// Pieces in a run.
    pub size: u32,
    /// Long-run rate without.
    pub rate: f64,
    /// Its standard error.
    pub rate_se: f64,
    /// The first few sets of `Jigs::sets`, in their order.
    pub sets: Vec<SetAtSize>,
}

/// A set at one batch size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SetAtSize {
    /// Long-run rate with it, its cost spread over its life.
    pub rate: f64,
    /// Its standard error.
    pub rate_se: f64,
    /// What it adds to the hour.
    pub adds_to_hour: Mean,
    /// Surplus saved a run.
    pub saving: f64,
    /// Until it has paid for itself.
    pub payback: Payback,
}

/// Surplus cumulated since a set was built, by pieces made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    /// Index into `Jigs::sets`.
    pub set: usize,
    /// Ascending in pieces.
    pub points: Vec<CoursePoint>,
}

/// A point of a course.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CoursePoint {
    /// Pieces made with it.
    pub pieces: f64,
    /// 10 % quantile of the cumulated surplus.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

/// Profit and hours by trial.
struct Columns {
    profit: Vec<f64>,
    hours: Vec<f64>,
}

/// Answers for the jigs with the given indices, at one size (`None`: [`size_to_ask_about`]). The scenario has at least one jig.
/// `progress` is called now and then with the share that is done.
#[must_use]
pub fn run(
    scenario: &Scenario,
    wanted: &[usize],
    size: Option<u32>,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Jigs {
    settings.on_threads(|| answer(scenario, wanted, size, settings, progress))
}

fn answer(
    scenario: &Scenario,
    wanted: &[usize],
    size: Option<u32>,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Jigs {
    // On the threads of the caller from here on.
    let settings = Settings {
        threads: None,
        ..*settings
    };
    let size = size.unwrap_or_else(|| size_to_ask_about(scenario, &settings));
    let (combinations, every_combination) = combinations(wanted);
    let columns = |of: &Scenario| {
        let runs = runs_at(of, size, &settings);
        Columns {
            profit: runs.profit,
            hours: runs.hours,
        }
    };
    let bare = columns(scenario);
    let year = runs_of_a_year(scenario, size, &bare, &settings);
    progress(0.1);
    let work = Work {
        scenario,
        size,
        seed: settings.seed,
        runs_a_year: year.map(|(runs, _)| runs),
        sequences: SEQUENCES,
    };
    let count = combinations.len() as f64;
    let mut sets: Vec<(Set, Vec<f64>)> = combinations
        .iter()
        .enumerate()
        .map(|(k, jigs)| {
            let with = columns(&scenario.with_jigs(jigs));
            progress(0.1 + 0.5 * (k + 1) as f64 / count);
            work.set(jigs, &bare, &with)
        })
        .collect();
    // Of equal ones the fewer jigs, then the order of the file.
    let sure = |set: &Set| set.pays_as_planned(scenario.confidence);
    sets.sort_by(|(a, _), (b, _)| {
        sure(b)
            .cmp(&sure(a))
            .then(b.adds_a_run.mean.total_cmp(&a.adds_a_run.mean))
            .then(a.jigs.len().cmp(&b.jigs.len()))
            .then(a.jigs.cmp(&b.jigs))
    });
    let shown = shown(sets.iter().map(|(set, _)| set));
    let courses = work.courses(&sets, &shown);
    let sets: Vec<Set> = sets.into_iter().map(|(set, _)| set).collect();
    let followed: Vec<&Set> = shown.iter().map(|k| &sets[*k]).collect();
    let rate = stats::ratio(&bare.profit, &bare.hours);
    let by_size = by_size(scenario, (size, rate), &followed, &settings);
    progress(1.0);
    Jigs {
        title: scenario.title.clone(),
        currency: scenario.currency.clone(),
        price: scenario.sale.price,
        target: scenario.target_per_hour,
        confidence: scenario.confidence,
        trials: settings.trials,
        sequences: SEQUENCES as u64,
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        size,
        planned_runs: scenario.batch.runs,
        hours: stats::mean(&bare.hours),
        rate,
        runs_a_year: year.map(|(runs, _)| runs),
        year_limit: year.map(|(_, limit)| limit),
        jigs: scenario
            .jigs
            .iter()
            .map(|jig| JigGiven {
                name: jig.name.clone(),
                step: scenario.steps[jig.step].name.clone(),
                cost: jig.cost,
                build_hours: jig.build.mean() / 60.0,
                lasts: jig.lasts,
            })
            .collect(),
        every_combination,
        sets,
        by_size,
        courses,
    }
}

/// Which sets to follow closely: the first few, so that sizes and courses stay readable.
fn shown<'a>(sets: impl Iterator<Item = &'a Set>) -> Vec<usize> {
    sets.take(COURSES).enumerate().map(|(k, _)| k).collect()
}

/// All combinations of a few jigs; of many, each alone, each pair, and all.
fn combinations(wanted: &[usize]) -> (Vec<Vec<usize>>, bool) {
    let n = wanted.len();
    if n <= ALL_COMBINATIONS {
        let all = (1_usize..1 << n)
            .map(|mask| (0..n).filter(|k| mask >> k & 1 == 1).map(|k| wanted[k]).collect())
            .collect();
        return (all, true);
    }
    let mut some: Vec<Vec<usize>> = wanted.iter().map(|k| vec![*k]).collect();
    for a in 0..n {
        some.extend((a + 1..n).map(|b| vec![wanted[a], wanted[b]]));
    }
    some.push(wanted.to_vec());
    (some, false)
}

/// Runs of a year without any jig, as bench hours and demand allow, and which of them allows no more. What is done once for the
/// design is done whether there are few runs or many: were it spread over the planned ones, the year would hang on the plan.
fn runs_of_a_year(scenario: &Scenario, size: u32, bare: &Columns, settings: &Settings) -> Option<(f64, YearLimit)> {
    let once = scenario.steps.iter().any(|step| !step.once.is_zero());
    let again = (once || scenario.steady.is_some()).then(|| {
        let quick = Settings {
            trials: settings.trials.min(QUICK_TRIALS),
            ..*settings
        };
        runs_at(&without_once(scenario), size, &quick)
    });
    let hours = stats::mean(again.as_ref().map_or(&bare.hours, |runs| &runs.hours)).mean;
    let by_hours = weekly_hours(scenario)
        .0
        .filter(|_| hours > 0.0)
        .map(|bench| (bench / hours, YearLimit::BenchHours));
    let by_demand = scenario.steady.zip(again).and_then(|(steady, runs)| {
        let good = runs.sums.good / runs.hours.len() as f64;
        (good > 0.0).then(|| (steady.per_week / good, YearLimit::Demand))
    });
    let (runs, limit) = match (by_hours, by_demand) {
        (Some(hours), Some(demand)) if demand.0 < hours.0 => demand,
        (hours, demand) => hours.or(demand)?,
    };
    Some((YEAR_WEEKS * runs, limit))
}

/// What stays the same from set to set at one size.
struct Work<'a> {
    scenario: &'a Scenario,
    size: u32,
    seed: u64,
    runs_a_year: Option<f64>,
    sequences: usize,
}

impl Work<'_> {
    /// Building hours of a jig in one trial or sequence.
    fn build_hours(&self, jig: usize, index: u64) -> f64 {
        let jig = &self.scenario.jigs[jig];
        if jig.build.is_zero() {
            return 0.0;
        }
        // A name no step can have, so that no step's draws are these.
        let stream = self.stream(&format!("\u{1}jig\u{1}{}", jig.name));
        jig.build.quantile(unit(nth(stream, index))) / 60.0
    }

    fn stream(&self, name: &str) -> u64 {
        start(trial_keys(self.seed, 0)[0], part(Use::Once, name))
    }

    /// Runs over which a jig's cost is spread.
    fn life_runs(&self, jig: usize) -> f64 {
        self.scenario.jigs[jig]
            .lasts
            .map_or(f64::from(self.scenario.batch.runs), |pieces| {
                f64::from(pieces) / f64::from(self.size)
            })
    }

    /// Share of a jig's cost that falls to a run.
    fn part_of_a_run(&self, jig: usize) -> f64 {
        1.0 / self.life_runs(jig)
    }

    /// Share of a jig's cost that falls to a year of so many runs; all of it where the jig lasts for ever.
    fn part_of_a_year(&self, jig: usize, runs: f64) -> f64 {
        self.scenario.jigs[jig]
            .lasts
            .map_or(1.0, |_| runs * self.part_of_a_run(jig))
    }

    /// Money and building hours of a set for each of `n` trials, of each jig the part that is asked for.
    fn charged(&self, jigs: &[usize], n: usize, part: impl Fn(usize) -> f64) -> (Vec<f64>, Vec<f64>) {
        let overhead = self.scenario.shop.cost_per_hour();
        let (mut money, mut hours) = (vec![0.0; n], vec![0.0; n]);
        for jig in jigs {
            let part = part(*jig);
            let cost = self.scenario.jigs[*jig].cost;
            for (i, (m, h)) in money.iter_mut().zip(&mut hours).enumerate() {
                let built = self.build_hours(*jig, i as u64);
                *m += (cost + overhead * built) * part;
                *h += built * part;
            }
        }
        (money, hours)
    }

    /// Surplus that a year adds, and its error; see the top of this file.
    fn a_year(&self, jigs: &[usize], savings: &[f64]) -> Option<Mean> {
        let runs = self.runs_a_year?;
        let (money, hours) = self.charged(jigs, savings.len(), |jig| self.part_of_a_year(jig, runs));
        let target = self.scenario.target_per_hour;
        let left: Vec<f64> = savings
            .iter()
            .zip(money.iter().zip(&hours))
            .map(|(s, (m, h))| runs * s - m - target * h)
            .collect();
        Some(stats::mean(&left))
    }

    /// What the set costs in each sequence.
    fn outlays(&self, jigs: &[usize]) -> Vec<f64> {
        let an_hour = self.scenario.target_per_hour + self.scenario.shop.cost_per_hour();
        (0..self.sequences as u64)
            .map(|q| {
                jigs.iter()
                    .map(|jig| self.scenario.jigs[*jig].cost + an_hour * self.build_hours(*jig, q))
                    .sum()
            })
            .collect()
    }

    fn savings(&self, bare: &Columns, with: &Columns) -> Vec<f64> {
        let target = self.scenario.target_per_hour;
        let surplus = |c: &Columns, i: usize| c.profit[i] - target * c.hours[i];
        (0..bare.profit.len())
            .map(|i| surplus(with, i) - surplus(bare, i))
            .collect()
    }

    fn life_pieces(&self, jigs: &[usize]) -> Option<u32> {
        jigs.iter().filter_map(|jig| self.scenario.jigs[*jig].lasts).min()
    }

    /// A set's figures, and what a run saves by trial.
    fn set(&self, jigs: &[usize], bare: &Columns, with: &Columns) -> (Set, Vec<f64>) {
        let savings = self.savings(bare, with);
        let (rate, adds_to_hour, adds_a_run) = self.adds(jigs, bare, with, &savings);
        let mut outlays = self.outlays(jigs);
        let payback = self.payback(jigs, &savings, &outlays);
        let outlay_mean = stats::mean(&outlays).mean;
        let [p10, p50, p90] = quantiles(&mut outlays);
        let year = self.a_year(jigs, &savings);
        let freed: Vec<f64> = bare.hours.iter().zip(&with.hours).map(|(a, b)| a - b).collect();
        let set = Set {
            jigs: jigs.to_vec(),
            outlay: Outlay {
                mean: outlay_mean,
                p10,
                p50,
                p90,
            },
            life_pieces: self.life_pieces(jigs),
            saving: stats::mean(&savings),
            hours_saved: stats::mean(&freed),
            payback,
            rate,
            adds_to_hour,
            low: adds_to_hour.mean - stats::Z975 * adds_to_hour.se,
            high: adds_to_hour.mean + stats::Z975 * adds_to_hour.se,
            adds_a_run,
            adds_a_year: year.map(|y| y.mean),
            adds_a_year_se: year.map(|y| y.se),
        };
        (set, savings)
    }

    /// Long-run rate with the set, what it adds to the hour and to a run, its cost spread over its life.
    fn adds(&self, jigs: &[usize], bare: &Columns, with: &Columns, savings: &[f64]) -> (Mean, Mean, Mean) {
        let (money, hours) = self.charged(jigs, savings.len(), |jig| self.part_of_a_run(jig));
        let plus =
            |a: &[f64], b: &[f64], sign: f64| -> Vec<f64> { a.iter().zip(b).map(|(x, y)| x + sign * y).collect() };
        let (profit, worked) = (plus(&with.profit, &money, -1.0), plus(&with.hours, &hours, 1.0));
        let target = self.scenario.target_per_hour;
        let left: Vec<f64> = savings
            .iter()
            .zip(money.iter().zip(&hours))
            .map(|(s, (m, h))| s - m - target * h)
            .collect();
        (
            stats::ratio(&profit, &worked),
            stats::ratio_difference((&profit, &worked), (&bare.profit, &bare.hours)),
            stats::mean(&left),
        )
    }

    fn payback(&self, jigs: &[usize], savings: &[f64], outlays: &[f64]) -> Payback {
        let life = self.life_pieces(jigs).map_or(f64::INFINITY, f64::from);
        let plan = f64::from(self.scenario.batch.runs) * f64::from(self.size);
        // Beyond both nothing is asked but how much later it would have paid.
        let hopeless = savings.iter().all(|s| *s <= 0.0);
        let base = self.stream("\u{1}sequences");
        let paid: Vec<(f64, f64)> = outlays
            .par_iter()
            .enumerate()
            .map(|(q, outlay)| {
                if hopeless && *outlay > 0.0 {
                    return (f64::INFINITY, f64::INFINITY);
                }
                let mut runs = Sequence::new(base, q as u64, savings);
                until_paid(*outlay, f64::from(self.size), || runs.next_saving())
            })
            .collect();
        let count = |limit: f64| {
            paid.iter()
                .filter(|p| p.0 <= limit * (1.0 + 1e-12) && p.0.is_finite())
                .count() as u64
        };
        let n = paid.len() as u64;
        let runs: Vec<f64> = paid.iter().map(|p| p.1).collect();
        let finite = |q: [f64; 3]| q.map(|v| v.is_finite().then_some(v));
        Payback {
            pieces: finite(quantiles(&mut paid.iter().map(|p| p.0).collect::<Vec<f64>>())),
            mean_runs: runs.iter().all(|r| r.is_finite()).then(|| stats::mean(&runs)),
            runs: finite(ranks(&mut runs.clone())),
            within_life: stats::wilson(count(life), n),
            within_plan: stats::wilson(count(plan), n),
        }
    }

    /// How the first sets get on, over the same stretch of pieces for all.
    fn courses(&self, sets: &[(Set, Vec<f64>)], shown: &[usize]) -> Vec<Course> {
        let size = f64::from(self.size);
        let plan = f64::from(self.scenario.batch.runs);
        // Past the slowest payback by half, but no longer than anything lasts.
        let wanted = shown
            .iter()
            .map(|k| {
                let set = &sets[*k].0;
                let life = set.life_pieces.map_or(f64::INFINITY, |p| f64::from(p) / size);
                let [_, median, late] = set.payback.runs;
                let seen = late.map_or_else(|| median.map_or(life, |m| 2.0 * m), |l| 1.5 * l);
                let seen = if seen.is_finite() { seen } else { 4.0 * plan };
                seen.min(life)
            })
            .fold(4.0_f64, f64::max)
            .min(MOST_RUNS as f64);
        let stride = libm::ceil(wanted / COURSE_POINTS as f64).max(1.0) as usize;
        let points = (libm::ceil(wanted / stride as f64) as usize).max(1);
        let base = self.stream("\u{1}sequences");
        shown
            .par_iter()
            .map(|k| {
                let (set, savings) = &sets[*k];
                let outlays = self.outlays(&set.jigs);
                let mut at: Vec<Vec<f64>> = vec![Vec::with_capacity(QUICK_SEQUENCES); points + 1];
                for (q, outlay) in outlays.iter().take(QUICK_SEQUENCES).enumerate() {
                    let mut runs = Sequence::new(base, q as u64, savings);
                    let mut sum = -outlay;
                    at[0].push(sum);
                    for column in &mut at[1..] {
                        for _ in 0..stride {
                            sum += runs.next_saving();
                        }
                        column.push(sum);
                    }
                }
                let points = at
                    .iter_mut()
                    .enumerate()
                    .map(|(k, column)| {
                        let [p10, p50, p90] = quantiles(column);
                        CoursePoint {
                            pieces: (k * stride) as f64 * size,
                            p10,
                            p50,
                            p90,
                        }
                    })
                    .collect();
                Course { set: *k, points }
            })
            .collect()
    }
}

/// Savings drawn with replacement, the same places for every set.
struct Sequence<'a> {
    key: u64,
    drawn: u64,
    savings: &'a [f64],
}

impl<'a> Sequence<'a> {
    fn new(base: u64, number: u64, savings: &'a [f64]) -> Self {
        Self {
            key: nth(base, number),
            drawn: 0,
            savings,
        }
    }

    fn next_saving(&mut self) -> f64 {
        let word = nth(self.key, self.drawn);
        self.drawn += 1;
        // The high half of the product is even over the places but for one part in 2^40 or less.
        let place = (u128::from(word) * self.savings.len() as u128) >> 64;
        self.savings[place as usize]
    }
}

/// Pieces and whole runs until the savings reach the outlay; infinite where they have not after [`MOST_RUNS`].
fn until_paid(outlay: f64, size: f64, mut next: impl FnMut() -> f64) -> (f64, f64) {
    // An outlay that is a whole number of savings but for rounding must not take another run.
    let due = outlay - 1e-12 * outlay.abs();
    if due <= 0.0 {
        return (0.0, 0.0);
    }
    let mut sum = 0.0;
    for run in 0..MOST_RUNS {
        let saving = next();
        if sum + saving >= due {
            let share = ((outlay - sum) / saving).clamp(0.0, 1.0);
            return ((run as f64 + share) * size, (run + 1) as f64);
        }
        sum += saving;
    }
    (f64::INFINITY, f64::INFINITY)
}

/// 10 %, 50 % and 90 % quantiles (type 7); the values lose their order.
fn quantiles(values: &mut [f64]) -> [f64; 3] {
    let places = [0.1, 0.5, 0.9].map(|q| QuantileRank::new(values.len(), q));
    stats::put_in_order(values, &places);
    places.map(|place| stats::quantile(values, place))
}

/// The same for counts: the smallest count that so many have reached (type 1), so that it is a count.
fn ranks(values: &mut [f64]) -> [f64; 3] {
    values.sort_unstable_by(f64::total_cmp);
    let n = values.len();
    [0.1, 0.5, 0.9].map(|q| {
        let rank = libm::ceil(n as f64 * q - 1e-9) as usize;
        values[rank.clamp(1, n) - 1]
    })
}

/// A few sizes of the scenario, spread over its range, and those that the sets make room for; the asked one is not among them.
fn other_sizes(scenario: &Scenario, size: u32, followed: &[&Set]) -> Vec<u32> {
    let all = &scenario.batch.sizes;
    let mut some: Vec<u32> = if all.len() <= SIZES {
        all.clone()
    } else {
        let (first, last) = (f64::from(all[0]), f64::from(all[all.len() - 1]));
        (0..SIZES)
            .filter_map(|k| {
                let wanted = first * libm::pow(last / first, k as f64 / (SIZES - 1) as f64);
                all.iter()
                    .min_by(|a, b| {
                        (f64::from(**a) - wanted)
                            .abs()
                            .total_cmp(&(f64::from(**b) - wanted).abs())
                    })
                    .copied()
            })
            .collect()
    };
    some.extend(followed.iter().flat_map(|set| full_rooms(scenario, &set.jigs)));
    some.sort_unstable();
    some.dedup();
    some.retain(|s| *s != size);
    some
}

/// Sizes that fill the room of a step that the jigs enlarge, as it was and as it is then, where a round more or less shows; of what
/// fills it several times, what is among the scenario's sizes.
fn full_rooms(scenario: &Scenario, jigs: &[usize]) -> Vec<u32> {
    let sizes = &scenario.batch.sizes;
    let largest = sizes.last().copied().unwrap_or(1);
    let with = scenario.with_jigs(jigs);
    let rooms = scenario.steps.iter().zip(&with.steps).filter_map(|(was, is)| {
        let (was, is) = (was.room?, is.room?);
        (is > was).then_some((was, is))
    });
    rooms
        .flat_map(|(was, is)| {
            let times = [2, 3].into_iter().filter_map(move |k| is.checked_mul(k));
            [was, is]
                .into_iter()
                .filter(|room| *room <= largest.max(MOST_ROOM))
                .chain(times.filter(|full| sizes.binary_search(full).is_ok()))
        })
        .collect()
}

/// The size with the best long-run hour; `None` where there is only one.
fn best_hour(scenario: &Scenario, settings: &Settings) -> Option<u32> {
    if scenario.batch.sizes.len() < 2 {
        return None;
    }
    let quick = Settings {
        trials: settings.trials.min(QUICK_TRIALS),
        ..*settings
    };
    let sweep = quick_sweep(scenario, &quick);
    let best = sweep.sizes.iter().rev();
    best.max_by(|a, b| a.rate.long_run.total_cmp(&b.rate.long_run))
        .map(|s| s.size)
}

/// The sets at every size that is looked at. At the asked one they are what was found already: one figure for one thing.
fn by_size(scenario: &Scenario, (size, rate): (u32, Mean), followed: &[&Set], settings: &Settings) -> Vec<AtSize> {
    let mut sizes = other_sizes(scenario, size, followed);
    // The best hour without any is what each is held against, whichever sizes stand in between.
    if let Some(best) = best_hour(scenario, settings).filter(|best| *best != size)
        && let Err(place) = sizes.binary_search(&best)
    {
        sizes.insert(place, best);
    }
    let trials = settings.trials.min(QUICK_TRIALS);
    let columns = |of: &Scenario| -> Vec<Columns> {
        if sizes.is_empty() {
            return Vec::new();
        }
        let mut of = of.clone();
        of.batch.sizes.clone_from(&sizes);
        let plan = Plan::new(&of);
        Engine::new(&plan, settings.seed).answer_sizes(trials, &|_| (), |runs| Columns {
            profit: runs.profit,
            hours: runs.hours,
        })
    };
    let bare = columns(scenario);
    let with: Vec<Vec<Columns>> = followed
        .iter()
        .map(|set| columns(&scenario.with_jigs(&set.jigs)))
        .collect();
    let mut found: Vec<AtSize> = (0..sizes.len())
        .map(|k| {
            let work = Work {
                scenario,
                size: sizes[k],
                seed: settings.seed,
                runs_a_year: None,
                sequences: QUICK_SEQUENCES,
            };
            let rate = stats::ratio(&bare[k].profit, &bare[k].hours);
            AtSize {
                size: sizes[k],
                rate: rate.mean,
                rate_se: rate.se,
                sets: followed
                    .iter()
                    .zip(&with)
                    .map(|(set, with)| {
                        let savings = work.savings(&bare[k], &with[k]);
                        let (rate, adds_to_hour, _) = work.adds(&set.jigs, &bare[k], &with[k], &savings);
                        SetAtSize {
                            rate: rate.mean,
                            rate_se: rate.se,
                            adds_to_hour,
                            saving: stats::mean(&savings).mean,
                            payback: work.payback(&set.jigs, &savings, &work.outlays(&set.jigs)),
                        }
                    })
                    .collect(),
            }
        })
        .collect();
    let asked = AtSize {
        size,
        rate: rate.mean,
        rate_se: rate.se,
        sets: followed
            .iter()
            .map(|set| SetAtSize {
                rate: set.rate.mean,
                rate_se: set.rate.se,
                adds_to_hour: set.adds_to_hour,
                saving: set.saving.mean,
                payback: set.payback,
            })
            .collect(),
    };
    let place = found.partition_point(|at| at.size < size);
    found.insert(place, asked);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Change, Finished, Jig, Spread, Steady, Step};
    use crate::testing::{scenario, step, tri};

    fn certain(minutes: f64) -> Spread {
        Spread::Certain(minutes)
    }

    fn jig(name: &str, step: usize) -> Jig {
        Jig {
            name: name.to_owned(),
            step,
            build: certain(120.0),
            cost: 14.0,
            setup: Change::NONE,
            each: Change::NONE,
            room: None,
            lasts: Some(100),
        }
    }

    /// Drilling 30 min and 6 a piece, gluing 10 min for every four; 30 an hour wanted.
    fn shop() -> Scenario {
        let mut shop = scenario(
            40.0,
            30.0,
            &[1, 2, 5, 10],
            vec![
                Step {
                    setup: certain(30.0),
                    each: certain(6.0),
                    ..step("drill")
                },
                Step {
                    setup: certain(10.0),
                    each: certain(8.0),
                    room: Some(4),
                    ..step("glue")
                },
            ],
        );
        shop.batch.runs = 3;
        shop.jigs = vec![
            Jig {
                setup: Change {
                    factor: 0.5,
                    minutes: 0.0,
                },
                each: Change {
                    factor: 1.0,
                    minutes: -2.0,
                },
                ..jig("stop", 0)
            },
            Jig {
                build: Spread::ZERO,
                cost: 60.0,
                room: Some(8),
                lasts: None,
                ..jig("clamps", 1)
            },
        ];
        shop
    }

    fn quiet(shop: &Scenario, size: u32, trials: u64) -> Jigs {
        let wanted: Vec<usize> = (0..shop.jigs.len()).collect();
        let settings = Settings {
            trials,
            ..Settings::default()
        };
        run(shop, &wanted, Some(size), &settings, &|_| ())
    }

    fn of<'a>(found: &'a Jigs, jigs: &[usize]) -> &'a Set {
        found.sets.iter().find(|s| s.jigs == jigs).expect("looked at")
    }

    fn close(found: f64, expected: f64, what: &str) {
        assert!(
            (found - expected).abs() <= 1e-9 * expected.abs().max(1.0),
            "{what}: {found} against {expected}"
        );
    }

    #[test]
    fn a_certain_jig_pays_when_division_says() {
        let found = quiet(&shop(), 10, 300);
        // By hand, ten pieces. The stop saves 15 + 20 min a run: 17.50. It costs 14 and two hours: 74. 74 / 17.5 = 4.23 runs.
        let stop = of(&found, &[0]);
        close(stop.saving.mean, 17.5, "saving");
        close(stop.outlay.p50, 74.0, "outlay");
        close(stop.payback.pieces[1].expect("pays"), 740.0 / 17.5, "pieces");
        assert_eq!(stop.payback.runs, [Some(5.0); 3]);
        close(stop.payback.mean_runs.expect("all pay").mean, 5.0, "mean runs");
        // It lasts 100 pieces, ten runs; three are planned.
        assert_eq!(
            (stop.payback.within_life.share, stop.payback.within_plan.share),
            (1.0, 0.0)
        );
        // Without: drill 30 + 60, glue 30 + 80, 200 min earn 400. With: 165 min, and 12 min of building and 1.40 a run.
        close(found.rate.mean, 120.0, "rate without");
        close(stop.rate.mean, (400.0 - 1.4) / (177.0 / 60.0), "rate with");
        close(
            stop.adds_to_hour.mean,
            (400.0 - 1.4) / (177.0 / 60.0) - 120.0,
            "adds to the hour",
        );
        close(stop.adds_a_run.mean, 17.5 - 7.4, "adds a run");
        // Room for eight: two rounds of gluing, not three. 10 min are 5 a run; 60 spread over the three planned runs.
        let clamps = of(&found, &[1]);
        close(clamps.saving.mean, 5.0, "saving of the clamps");
        assert_eq!(clamps.payback.runs, [Some(12.0); 3]);
        close(clamps.payback.pieces[0].expect("pays"), 120.0, "pieces");
        close(clamps.adds_a_run.mean, -15.0, "adds a run");
        let both = of(&found, &[0, 1]);
        close(both.saving.mean, 22.5, "saving of both");
        assert_eq!(found.sets.len(), 3);
        assert_eq!(found.sets[0].jigs, [0]);
        // With 20 runs planned clamps and stop pay together, and add more: 22.5 - 7.4 - 60 / 20 against 10.1.
        let mut more = shop();
        more.batch.runs = 20;
        assert_eq!(quiet(&more, 10, 300).sets[0].jigs, [0, 1]);
        // With five only the stop pays: both cost 134, and 134 / 22.5 are six runs. A large life would make both better.
        more.batch.runs = 5;
        more.jigs[1].lasts = Some(10_000);
        let found = quiet(&more, 10, 300);
        assert_eq!(found.sets[0].jigs, [0]);
        assert!(of(&found, &[0, 1]).adds_a_run.mean > found.sets[0].adds_a_run.mean);
    }

    /// Ten pieces take 200 min. 40 h a week are 12 runs, 624 a year. The stop saves 17.50 a run and costs 74 over ten runs; the clamps
    /// save 5 and cost 60 once and for all. However many runs are planned, and whatever the drawing took.
    #[test]
    fn a_year_is_charged_for_what_it_uses_up() {
        for (planned, once) in [(1, 0.0), (1, 600.0), (3, 600.0), (20, 0.0)] {
            let mut shop = shop();
            shop.batch.runs = planned;
            shop.steps[0].once = certain(once);
            shop.shop.hours_per_month = 40.0 * 52.0 / 12.0;
            let found = quiet(&shop, 10, 300);
            close(found.runs_a_year.expect("hours are given"), 624.0, "runs a year");
            assert_eq!(found.year_limit, Some(YearLimit::BenchHours));
            let year = |jigs: &[usize]| of(&found, jigs).adds_a_year.expect("a year is known");
            close(year(&[0]), 624.0 * (17.5 - 7.4), "the stop");
            close(year(&[1]), 624.0 * 5.0 - 60.0, "the clamps");
            close(year(&[0, 1]), 624.0 * (22.5 - 7.4) - 60.0, "both");
            close(
                of(&found, &[1]).adds_a_year_se.expect("known"),
                0.0,
                "nothing is left to chance",
            );
        }
        // 60 pieces are asked for a week, six runs.
        let mut shop = shop();
        shop.shop.hours_per_month = 40.0 * 52.0 / 12.0;
        shop.steady = Some(Steady {
            per_week: 60.0,
            hold: 0.2,
            finished: Finished::Together,
        });
        let found = quiet(&shop, 10, 300);
        assert_eq!(found.year_limit, Some(YearLimit::Demand));
        close(
            of(&found, &[1]).adds_a_year.expect("known"),
            312.0 * 5.0 - 60.0,
            "by demand",
        );
    }

    /// Four fit into the clamps and eight into both sets of them: looked at though the scenario names neither. 16 is named, 24 is not.
    #[test]
    fn rooms_are_looked_at_full() {
        let mut shop = shop();
        shop.batch.sizes = vec![1, 2, 5, 10, 16];
        let found = quiet(&shop, 5, 300);
        let sizes: Vec<u32> = found.by_size.iter().map(|at| at.size).collect();
        assert_eq!(sizes, [1, 2, 4, 5, 8, 10, 16]);
        let clamps = found.sets.iter().position(|set| set.jigs == [1]).expect("looked at");
        let saves = |size: u32| {
            let at = found.by_size.iter().find(|at| at.size == size).expect("looked at");
            at.sets[clamps].saving
        };
        // A round of 10 min at 30 an hour wherever one falls away.
        for (size, rounds) in [(4, 0.0), (5, 1.0), (8, 1.0), (10, 1.0), (16, 2.0)] {
            close(saves(size), 5.0 * rounds, "a round less");
        }
        // Only what changes a room is looked at so.
        shop.jigs.pop();
        let sizes: Vec<u32> = quiet(&shop, 5, 300).by_size.iter().map(|at| at.size).collect();
        assert_eq!(sizes, [1, 2, 5, 10, 16]);
    }

    #[test]
    fn a_jig_that_hurts_never_pays() {
        let mut shop = shop();
        shop.jigs[0].setup = Change {
            factor: 1.0,
            minutes: 30.0,
        };
        let found = quiet(&shop, 1, 300);
        let stop = of(&found, &[0]);
        assert!(stop.saving.mean < 0.0 && stop.adds_to_hour.mean < 0.0);
        assert_eq!(stop.payback.pieces, [None; 3]);
        assert_eq!((stop.payback.within_life.share, stop.payback.mean_runs), (0.0, None));
    }

    #[test]
    fn overhead_is_part_of_what_building_costs() {
        let mut shop = shop();
        shop.shop.per_hour = 6.0;
        let found = quiet(&shop, 10, 300);
        // Two hours at 30 and 6, and 14; a run saves 35 min at 36.
        let stop = of(&found, &[0]);
        close(stop.outlay.mean, 86.0, "outlay");
        close(stop.saving.mean, 21.0, "saving");
        assert_eq!(stop.payback.runs[1], Some(5.0));
    }

    #[test]
    fn sequences_keep_to_renewal_theory() {
        let mut shop = shop();
        shop.pace = tri(0.8, 1.0, 2.0);
        shop.steps[0].setup = tri(5.0, 30.0, 90.0);
        shop.jigs[0].build = tri(200.0, 300.0, 900.0);
        shop.jigs[0].lasts = None;
        let found = quiet(&shop, 2, 20_000);
        let stop = of(&found, &[0]);
        let settings = Settings {
            trials: 20_000,
            ..Settings::default()
        };
        let columns = |s: &Scenario| {
            let runs = runs_at(s, 2, &settings);
            Columns {
                profit: runs.profit,
                hours: runs.hours,
            }
        };
        let work = Work {
            scenario: &shop,
            size: 2,
            seed: 1,
            runs_a_year: None,
            sequences: SEQUENCES,
        };
        let savings = work.savings(&columns(&shop), &columns(&shop.with_jigs(&[0])));
        let n = savings.len() as f64;
        let mean = savings.iter().sum::<f64>() / n;
        let squares = savings.iter().map(|s| s.max(0.0).powi(2)).sum::<f64>() / n;
        let runs = stop.payback.mean_runs.expect("all pay");
        // Wald and Lorden hold for the distribution that is drawn from and the mean of the outlays that were drawn; the
        // number of runs has the error of its 4,000 sequences. Four standard errors: one false alarm in 16,000.
        let low = stop.outlay.mean / mean;
        let high = low + squares / (mean * mean);
        assert!(
            runs.mean >= low - 4.0 * runs.se && runs.mean <= high + 4.0 * runs.se,
            "{low} {} {high}",
            runs.mean
        );
        // The bounds must be able to fail: they are closer together than the answer is large.
        assert!(
            high - low < 0.2 * runs.mean && runs.se < 0.02 * runs.mean,
            "{low} {high} {}",
            runs.mean
        );
        // The mean outlay itself against the mean of its range: (200 + 300 + 900) / 3 min at 30 an hour, and 14.
        let expected = 14.0 + 30.0 * 1400.0 / 3.0 / 60.0;
        let spread = 30.0 / 60.0 * shop.jigs[0].build.variance().sqrt() / (SEQUENCES as f64).sqrt();
        assert!(
            (stop.outlay.mean - expected).abs() <= 4.0 * spread,
            "{}",
            stop.outlay.mean
        );
    }

    #[test]
    fn sizes_agree_with_the_asked_one_and_courses_begin_at_the_outlay() {
        let mut shop = shop();
        shop.pace = tri(0.8, 1.0, 1.5);
        // More runs than other sizes have.
        let found = quiet(&shop, 5, 2 * QUICK_TRIALS);
        let here = found.by_size.iter().find(|s| s.size == 5).expect("asked");
        assert_eq!((here.rate, here.rate_se), (found.rate.mean, found.rate.se));
        assert_eq!(here.sets.len(), 3);
        for (at, set) in here.sets.iter().zip(&found.sets) {
            assert_eq!(at.adds_to_hour, set.adds_to_hour);
            assert_eq!((at.rate, at.saving), (set.rate.mean, set.saving.mean));
            assert_eq!(at.payback, set.payback);
        }
        for course in &found.courses {
            let set = &found.sets[course.set];
            close(course.points[0].p50, -set.outlay.p50, "outlay");
            assert!(course.points.iter().all(|p| p.p10 <= p.p50 && p.p50 <= p.p90));
        }
    }

    #[test]
    fn many_jigs_are_paired_and_not_combined_without_end() {
        assert_eq!(combinations(&[0, 1, 2]).0.len(), 7);
        let (some, every) = combinations(&[0, 1, 2, 3, 4, 5]);
        assert_eq!((some.len(), every), (6 + 15 + 1, false));
    }
}
