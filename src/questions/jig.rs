//! When a jig, a second set of clamps or another kiln shelf has paid for itself, and what it adds to the hour.
//!
//! * What a batch saves: surplus with the jig less surplus without it, trial by trial (surplus = profit - target x hours). Trial i
//!   with and without is the same day, so the saving is the jig's alone.
//! * What the jig costs: money, and its building hours at the target and at the shop's overhead; drawn once a sequence.
//! * Payback: batches follow one another independently, so sequences of them are drawn with replacement from the simulated
//!   savings (the bootstrap's way of drawing; Efron 1979, "Bootstrap methods: another look at the jackknife", Annals of Statistics
//!   7(1), 1-26) until their sum reaches the cost. All sets of jigs see the same sequences. Within the batch that pays, the saving
//!   is taken to come evenly over its pieces (assumption).
//! * What it adds to the hour: the long-run rate with its own hours and money spread over its life, less the rate without.
//! * How far it is ahead after the plan: the mean saving times the planned batches, less the mean cost; both are sampled apart, so
//!   their errors add in squares.
//! * What it adds a year: what a year of batches saves, less the share of its cost that these batches use up of its life. A jig without an
//!   end is charged whole, so that its year is the first one. A year is as many batches as bench hours and demand allow, after
//!   what is done once for the design; what is planned has no part in it.
//!
//! Check: by Wald's equation and Lorden's bound (Lorden 1970, "On excess over the boundary", Annals of Mathematical Statistics
//! 41(2), 520-527) the mean number of batches lies between `E[K]/E[s]` and `E[K]/E[s] + E[max(s, 0)^2]/E[s]^2`.
//!
//! # Why it is so
//!
//! *A year of a jig leaves `once` out*, as a steady seller's batch does. What a year adds is its batches times what a batch saves, less the
//! share of each jig's life that they use up; a jig without an end is bought once, in the first year.
//!
//! *Payback is resampled.* Trials are independent, so drawing paired savings with replacement is the renewal process itself. All sets of jigs
//! see the same sequences; the mean is held between Wald's and Lorden's bounds.

mod sizes;
mod work;

use super::compare::weekly_hours;
use super::steady::without_once;
use super::{Settings, size_to_ask_about, trials_at};
use crate::model::WEEKS_PER_YEAR;
use crate::model::money::selling_days;
use crate::scenario::Scenario;
use crate::stats::{self, Mean, Share};
use serde::Serialize;
use sizes::by_size;
use work::{Columns, Work};

/// Trials of the size that is asked about where nothing is said.
pub const TRIALS: u64 = 20_000;
/// Sequences of batches drawn for the size that is asked about.
const SEQUENCES: usize = 4_000;
/// Trials behind every other size.
const QUICK_TRIALS: u64 = 8_000;
/// Up to so many jigs every combination is looked at.
const ALL_COMBINATIONS: usize = 5;
/// So many sets have their course drawn.
const COURSES: usize = 3;

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
    /// Share of trials that should reach it.
    pub confidence: f64,
    /// Trials with and without each set.
    pub trials: u64,
    /// Sequences of batches drawn from them.
    pub sequences: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Pieces in a batch.
    pub size: u32,
    /// Batches planned (`batch.runs`).
    pub planned_runs: u32,
    /// Hands-on hours of a batch without any jig.
    pub hours: Mean,
    /// Long-run rate without any jig, money per hour.
    pub rate: Mean,
    /// Batches a year that bench hours and demand allow without any jig, where one of them is known; what is done once for the
    /// design takes none of these hours.
    pub runs_a_year: Option<f64>,
    /// Which of the two it is that allows no more.
    pub year_limit: Option<YearLimit>,
    /// In the order of the file.
    pub jigs: Vec<JigGiven>,
    /// Whether `sets` holds every combination; else single ones, pairs, and all together.
    pub every_combination: bool,
    /// Those that pay within the planned batches and within their life as surely as asked come first, the one first that leaves most over
    /// the planned batches; then the others, the one first that adds most to a batch.
    pub sets: Vec<Set>,
    /// Other batch sizes; ascending, the asked size among them.
    pub by_size: Vec<AtSize>,
    /// How the first few sets of `sets` get on, piece by piece.
    pub courses: Vec<Course>,
}

/// What allows no more batches a year.
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
    /// Surplus saved a batch, its own cost not counted.
    pub saving: Mean,
    /// Hands-on hours saved a batch.
    pub hours_saved: Mean,
    /// Until it has paid for itself.
    pub payback: Payback,
    /// Long-run rate with it, each jig's hours and money spread over its own life (over the planned batches where it lasts for ever).
    pub rate: Mean,
    /// `rate` less the rate without, with the paired standard error by the delta method.
    pub adds_to_hour: Mean,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Surplus added a batch, its cost spread the same way.
    pub adds_a_run: Mean,
    /// Surplus saved by the planned batches, or by those it lasts for where these are fewer, less all that it costs.
    pub ahead_after_plan: Mean,
    /// Surplus added by `Jigs::runs_a_year` batches: what they save, less the share of each jig's cost that they use up of its life. A
    /// jig without an end is charged whole, so that this is the first year.
    pub adds_a_year: Option<f64>,
    /// Its standard error, the number of batches taken as given.
    pub adds_a_year_se: Option<f64>,
}

impl Set {
    /// Whether it adds something, and has paid for itself within its life and the planned batches in at least this share of cases.
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
    /// The same in whole batches.
    pub runs: [Option<f64>; 3],
    /// Mean number of batches; `None` where some sequences never pay. Its error is that of the sequences and that of the savings they are
    /// drawn from: the number goes with one over the mean saving (Wald's equation).
    pub mean_runs: Option<Mean>,
    /// Share of sequences that pay within the life.
    pub within_life: Share,
    /// Share of sequences that pay within the planned batches.
    pub within_plan: Share,
}

/// One batch size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtSize {
    /// Pieces in a batch.
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
    /// Surplus saved a batch.
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
        let runs = trials_at(of, size, &settings);
        Columns {
            profit: runs.profit,
            hours: runs.hours,
        }
    };
    let bare = columns(scenario);
    let year = batches_of_a_year(scenario, size, &bare, &settings);
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
    sort(&mut sets, &work);
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
        jigs: given(scenario),
        every_combination,
        sets,
        by_size,
        courses,
    }
}

/// Those that surely pay before others, and of either the one first that leaves most.
fn sort(sets: &mut [(Set, Vec<f64>)], work: &Work<'_>) {
    let sure = |set: &Set| set.pays_as_planned(work.scenario.confidence);
    // Over the planned batches a jig that outlasts them is charged whole.
    let leaves = |set: &Set| {
        if sure(set) {
            f64::from(work.scenario.batch.runs) * set.saving.mean - work.cost_of_plan(&set.jigs)
        } else {
            set.adds_a_run.mean
        }
    };
    // Of equal ones the fewer jigs, then the order of the file.
    sets.sort_by(|(a, _), (b, _)| {
        sure(b)
            .cmp(&sure(a))
            .then(leaves(b).total_cmp(&leaves(a)))
            .then(a.jigs.len().cmp(&b.jigs.len()))
            .then(a.jigs.cmp(&b.jigs))
    });
}

impl Jigs {
    /// Pieces of all the batches that are planned, in batches of `size`.
    #[must_use]
    pub fn planned_pieces(&self, size: u32) -> u64 {
        u64::from(self.planned_runs) * u64::from(size)
    }
}

impl SetAtSize {
    /// Whether an hour with the set earns more than an hour without any at another size, beyond simulation error.
    #[must_use]
    pub fn beats(&self, bare: &AtSize) -> bool {
        self.rate - bare.rate > stats::Z975 * libm::hypot(self.rate_se, bare.rate_se)
    }
}

/// The jigs as the file has them.
fn given(scenario: &Scenario) -> Vec<JigGiven> {
    let given = scenario.jigs.iter().map(|jig| JigGiven {
        name: jig.name.clone(),
        step: scenario.steps[jig.step].name.clone(),
        cost: jig.cost,
        build_hours: jig.build.mean() / 60.0,
        lasts: jig.lasts,
    });
    given.collect()
}

/// Which sets to follow closely: the first few, so that sizes and courses stay readable.
fn shown<'a>(sets: impl Iterator<Item = &'a Set>) -> Vec<usize> {
    sets.take(COURSES).enumerate().map(|(k, _)| k).collect()
}

/// How many sets of so many jigs are looked at.
#[must_use]
pub fn sets_of(jigs: usize) -> usize {
    combinations(&(0..jigs).collect::<Vec<_>>()).0.len()
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

/// Batches of a year without any jig, as bench hours and demand allow, and which of them allows no more. What is done once for the
/// design is done whether there are few batches or many: were it spread over the planned ones, the year would hang on the plan.
fn batches_of_a_year(scenario: &Scenario, size: u32, bare: &Columns, settings: &Settings) -> Option<(f64, YearLimit)> {
    let once = scenario.steps.iter().any(|step| !step.once.is_zero());
    let again = (once || scenario.steady.is_some()).then(|| {
        let quick = Settings {
            trials: settings.trials.min(QUICK_TRIALS),
            ..*settings
        };
        trials_at(&without_once(scenario), size, &quick)
    });
    // Selling days take no hours at the bench.
    let days: f64 = selling_days(scenario, size).iter().map(|day| day.hours).sum();
    let hours = stats::mean(again.as_ref().map_or(&bare.hours, |runs| &runs.hours)).mean - days;
    let by_hours = weekly_hours(scenario)
        .0
        .filter(|_| hours > 0.0)
        .map(|bench| (bench / hours, YearLimit::BenchHours));
    let by_demand = scenario.steady.zip(again).and_then(|(steady, runs)| {
        let sold = runs.sums.sold / runs.hours.len() as f64;
        (sold > 0.0).then(|| (steady.per_week / sold, YearLimit::Demand))
    });
    let (runs, limit) = match (by_hours, by_demand) {
        (Some(hours), Some(demand)) if demand.0 < hours.0 => demand,
        (hours, demand) => hours.or(demand)?,
    };
    Some((WEEKS_PER_YEAR * runs, limit))
}

#[cfg(test)]
mod tests;
