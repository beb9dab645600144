//! Work log to estimates, step by step.
//!
//! **Setup and per-piece time.** An entry with r rounds and d units (pieces, and repeats where `redone` says so; with learning
//! each piece counts as the share of the first that it takes) took `minutes = S r + t d`. Setup alone has d = 0, pieces alone
//! r = 0, and both go into the same least squares ([`regression`]). S below nothing is refitted as S = 0, and so
//! is t; a step that has no setup in the scenario keeps none unless the log shows one (its 95 % interval is above 0).
//!
//! **Weights.** Two laws of variance are tried: the same for every entry, and the one the scenario's own model makes, where a round
//! draws its setup and each piece its time, all uncertain in one proportion: `r S^2 + d t^2` (`d^2` where the run draws one time for
//! all pieces). The one under which the log is likelier (restricted likelihood) is taken. Both have one scale, so neither has an
//! advantage in freedom, and a log too short to tell leaves least squares as they are.
//!
//! **What is left alone.** A value that the log does not contradict stays as it is in the file. A part is contradicted where the file's
//! mean lies outside the 95 % interval of the log's. Where of setup and per-piece time only one is, the other is held at the file's mean
//! and the one fitted again, so that the two together still give what was measured; where neither is, the one that the log knows less
//! well is held, as the sum may be wrong though the log cannot say which. With fewer than [`FEW`] entries, which have no error of their
//! own that is worth anything, the file's own ranges say how far off their sum may be: beyond 1.96 of its standard deviations it is
//! contradicted; where the file says for certain, Student's t of the entries' own ratios does. A mean may hold where the spread does
//! not: with [`ENOUGH`] entries the squares of what they are off, each over the variance that the file expects of it, add up to a
//! chi-squared variable; outside of its middle 95 % the range gets the log's spread about the file's mean. Sums are taken as normal,
//! and all of a step's entries as having one pace: its variance is then
//! rather too large than too small (assumptions).
//!
//! **Ranges.** With at least [`ENOUGH`] entries the entries' own spread about the fit gives that proportion c, the coefficient of
//! variation of a setup and of a piece; the range is the triangle of that mean whose tenths are those of the lognormal with
//! this mean and variation (hours are skewed to the slow side). With fewer, the range in the file is scaled to the fitted mean; with
//! fewer than [`FEW`], or where all entries have one size, it is scaled by actual over expected minutes (assumptions, all of them).
//!
//! **Pace.** A job's ratio is its actual minutes over what the file's steps expect of the same entries, pace not counted. Jobs
//! differ more than their steps alone explain, or not: what remains of the ratios' variance is the pace's. Where every time was
//! measured and none is left as the file has it, times contain the pace and its new mean is 1; else its mean stays, and its spread as
//! well unless the jobs contradict it (by the same chi-squared sum).
//!
//! **Chances.** Spoiled of handled, and redone of done (pieces and repeats), with exact binomial limits ([`stats::clopper_pearson`]): a
//! few pieces lost of a few prove little, and an approximation that is too narrow there would make much of them.

use super::own_times::OwnTimes;
use super::{Entry, Log, What};
use crate::laws::chi_squared_cdf;
use crate::scenario::spread::Z90;
use crate::scenario::{Learning, Scenario, Spread, Step, ThreePoint, Varies};
use crate::stats::Share;
use crate::stats::regression::{self, Estimate, Law};
use crate::stats::{self, Z975};
use serde::Serialize;

/// Entries from which on a step's range comes from their own spread.
pub const ENOUGH: usize = 8;
/// Entries from which on setup and per-piece time are taken apart for the new estimate.
pub const FEW: usize = 4;
/// Jobs from which on the pace comes from their ratios.
pub const ENOUGH_JOBS: usize = 5;
/// A coefficient of variation below this is certainty.
const CERTAIN: f64 = 0.005;
/// Points of a line that is drawn, at most.
const LINE_POINTS: u32 = 400;
/// Share of entries within the band that is drawn.
pub const BAND: f64 = 0.8;
/// A mean closer to the file's than this share of it is the file's: the rest is rounding.
const SAME: f64 = 1e-9;

/// The whole answer; its serialised form is the documented JSON of `fit`. Times are minutes, shares fractions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// The scenario's title.
    pub title: String,
    /// Entries at steps of the scenario.
    pub entries: usize,
    /// Hands-on minutes of those.
    pub minutes: f64,
    /// What the file expects of the same entries, pace counted.
    pub expected: f64,
    /// Steps in the log that the scenario does not have; they are left out.
    pub unknown: Vec<Unknown>,
    /// Every step of the scenario, in its order.
    pub steps: Vec<StepFit>,
    /// The run against its estimates.
    pub pace: PaceFit,
    /// Whether every part of every step that takes time has entries.
    pub complete: bool,
    /// What new times are divided by: the mean of the file's pace where that stays, because some time has no entries or is left as the
    /// file has it; 1 where all times are new and contain the pace.
    pub pace_kept: f64,
    /// Program version.
    pub version: String,
}

/// A step that the scenario does not have.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unknown {
    /// As the log names it.
    pub name: String,
    /// Its entries.
    pub entries: usize,
    /// The nearest step there is.
    pub nearest: Option<String>,
}

/// What is known about one step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepFit {
    /// Its name.
    pub name: String,
    /// Entries of any kind.
    pub entries: usize,
    /// Hands-on minutes.
    pub minutes: f64,
    /// What the file expects of the same entries, pace counted.
    pub expected: f64,
    /// How setup and per-piece time were found; `None`: no such entries.
    pub work: Option<Work>,
    /// New estimates: of setup, each, per order, once; those there are.
    pub parts: Vec<Part>,
    /// Chance that a piece is lost.
    pub spoil: Option<Chance>,
    /// Chance that the step is done again.
    pub redo: Option<Chance>,
    /// Whether `points` and `line` are of pieces or, at a step that takes time per order alone, of orders.
    pub along: Along,
    /// Entries of setup and pieces (of orders), as points to draw.
    pub points: Vec<Point>,
    /// The fitted law along pieces (orders), as a curve to draw; empty where it could not be fitted.
    pub line: Vec<LinePoint>,
    /// Entries left out of the times that are kept as logged, as the piece was done again in them.
    pub left_out: usize,
}

/// What the entries of a step are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Along {
    /// Pieces.
    Pieces,
    /// Orders.
    Orders,
}

/// How setup and per-piece time were found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Work {
    /// In words for a program.
    pub how: How,
    /// Entries of setup, pieces or both.
    pub entries: usize,
    /// Degrees of freedom.
    pub freedom: usize,
    /// Law of variance.
    pub weights: Weights,
    /// Standard deviation of a single entry about the fit where all vary alike; `None` without degrees of freedom, or where they do not.
    pub residual_sd: Option<f64>,
    /// Coefficient of variation of one setup and of one piece.
    pub variation: Option<f64>,
    /// Covariance of setup and per-piece time.
    pub covariance: Option<f64>,
    /// Mean minutes of an entry, where all have the same pieces and rounds.
    pub total: Option<Total>,
}

/// How setup and per-piece time were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Both by least squares.
    Both,
    /// Setup came out below nothing: per-piece time alone, setup 0.
    SetupBelowNothing,
    /// Per-piece time came out below nothing: setup alone, per-piece time 0.
    EachBelowNothing,
    /// The file has no setup and the log shows none: per-piece time alone.
    NoSetup,
    /// Only setups were timed, or the file has no per-piece time and the log shows none.
    SetupOnly,
    /// Only pieces were timed.
    EachOnly,
    /// All entries have one size: only their total is known.
    OneSize,
}

/// Which law of variance the log is likelier under.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Weights {
    /// The same for every entry.
    Equal,
    /// Growing with rounds and pieces.
    Growing,
}

/// Entries of one size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Total {
    /// Pieces of each.
    pub pieces: u32,
    /// Their mean minutes with its error.
    pub minutes: Estimate,
    /// What the file expects, pace counted.
    pub expected: f64,
}

/// One part of a step's time, before and after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// `setup`, `each`, `per_order` or `once`: the key in the scenario.
    pub key: &'static str,
    /// Entries behind it.
    pub entries: usize,
    /// What the file has.
    pub was: Range,
    /// Mean that the file expects, pace counted.
    pub expected: f64,
    /// What the log says, with the other of setup and per-piece time as the file has it where that one alone is left (`from`); `None`
    /// where only the total is known.
    pub found: Option<Estimate>,
    /// What that makes of the file's.
    pub says: Says,
    /// Where the new range comes from.
    pub from: From,
    /// The new range.
    pub new: Range,
    #[serde(skip)]
    pub(super) spread: Spread,
}

/// What the log says about a mean in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Says {
    /// It is another.
    Differs,
    /// It may well be that.
    AsExpected,
    /// It may well be that, and as well be nothing: the log cannot tell.
    CannotTell,
}

/// Where a new range comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum From {
    /// The file: it is left as it is.
    File,
    /// Mean of the file, spread of the log.
    SpreadAlone,
    /// Mean and spread of the log.
    Spread,
    /// Mean of the log, spread of the file.
    Mean,
    /// The file's range times actual over expected.
    Ratio,
    /// The times of the log themselves, one by one.
    Logged,
}

/// A range in figures.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// Mean.
    pub mean: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

impl Range {
    fn of(spread: &Spread) -> Self {
        Self {
            mean: spread.mean(),
            p10: spread.quantile(0.1),
            p50: spread.quantile(0.5),
            p90: spread.quantile(0.9),
        }
    }
}

/// A chance by counting.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Chance {
    /// What the file has.
    pub was: f64,
    /// How often it came.
    pub times: u64,
    /// Out of how many.
    pub of: u64,
    /// Share with its exact 95 % interval (Clopper and Pearson).
    pub share: Share,
    /// Whether the file's chance lies outside that interval: one time in forty at the most would so few, or so many, come of it. Only
    /// then is it written.
    pub contradicts: bool,
}

/// How jobs went against their estimates.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PaceFit {
    /// What the file has.
    pub was: Range,
    /// Jobs that are named, with actual over expected minutes, pace not counted; in the order of the log.
    pub jobs: Vec<Job>,
    /// Mean of their ratios with its error; `None` without jobs.
    pub ratio: Option<Estimate>,
    /// Standard deviation of their ratios.
    pub sd: Option<f64>,
    /// 10 %, 50 % and 90 % quantiles of their ratios (type 7); `None` with fewer than two.
    pub tenths: Option<[f64; 3]>,
    /// What of their coefficient of variation the new estimates of the steps do not explain; `None` with fewer than [`ENOUGH_JOBS`] jobs.
    pub beyond_steps: Option<f64>,
    /// The new range, where it changes.
    pub new: Option<Range>,
    #[serde(skip)]
    pub(super) spread: Option<Spread>,
}

/// One job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Job {
    /// Its name.
    pub name: String,
    /// Entries.
    pub entries: usize,
    /// Actual minutes.
    pub minutes: f64,
    /// Expected by the file, pace not counted.
    pub expected: f64,
    /// One over the other.
    pub ratio: f64,
}

/// An entry of setup and pieces, or of orders.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Point {
    /// Pieces, or orders.
    pub pieces: u32,
    /// Minutes.
    pub minutes: f64,
    /// What was timed is not all of the step.
    pub partly: bool,
}

/// The fitted law at a number of pieces.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LinePoint {
    /// Pieces, or orders.
    pub pieces: u32,
    /// Fitted minutes.
    pub minutes: f64,
    /// What the file expects, pace counted.
    pub expected: f64,
    /// Lower end of the band that eight of ten new entries lie in; `None` without degrees of freedom.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// Makes estimates of a log for a scenario.
#[must_use]
pub fn fit(scenario: &Scenario, log: &Log) -> Fit {
    fit_with(scenario, log, &[])
}

/// [`fit`], where some steps keep their own times as they were logged (of the same scenario and log).
#[must_use]
pub fn fit_with(scenario: &Scenario, log: &Log, own: &[OwnTimes]) -> Fit {
    let pace = Pace::of(&scenario.pace);
    let mut steps: Vec<Fitted> = scenario
        .steps
        .iter()
        .map(|step| {
            let entries: Vec<&Entry> = log.entries.iter().filter(|e| e.step == step.name).collect();
            Fitted::new(step, &entries, pace)
        })
        .collect();
    for own in own {
        for fitted in steps.iter_mut().filter(|fitted| fitted.step.name == own.step) {
            fitted.keep(own);
        }
    }
    let complete = scenario.steps.iter().zip(&steps).all(|(step, fitted)| {
        times(step)
            .iter()
            .all(|(key, time)| time.is_zero() || fitted.step.parts.iter().any(|p| p.key == *key))
    });
    // Times as measured contain the pace: what is written beside a pace that stays must not count it twice.
    let all_new = complete
        && steps
            .iter()
            .flat_map(|s| &s.step.parts)
            .all(|part| part.from != From::File);
    let kept = if all_new { 1.0 } else { pace.mean };
    for part in steps.iter_mut().flat_map(|s| &mut s.step.parts) {
        part.spread = part.spread.scaled(1.0 / kept);
        part.new = if part.from == From::File {
            part.was
        } else {
            Range::of(&part.spread)
        };
    }
    let paced = paced(scenario, log, &steps, (complete, all_new));
    let known = |e: &&Entry| scenario.steps.iter().any(|s| s.name == e.step);
    Fit {
        title: scenario.title.clone(),
        entries: log.entries.iter().filter(known).count(),
        minutes: steps.iter().map(|s| s.step.minutes).sum(),
        expected: steps.iter().map(|s| s.step.expected).sum(),
        unknown: unknown(scenario, log),
        steps: steps.into_iter().map(|s| s.step).collect(),
        pace: paced,
        complete,
        pace_kept: kept,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

fn unknown(scenario: &Scenario, log: &Log) -> Vec<Unknown> {
    let names = || scenario.steps.iter().map(|s| s.name.as_str());
    let mut list: Vec<Unknown> = Vec::new();
    for entry in log.entries.iter().filter(|e| names().all(|n| n != e.step)) {
        match list.iter_mut().find(|u| u.name == entry.step) {
            Some(unknown) => unknown.entries += 1,
            None => list.push(Unknown {
                name: entry.step.clone(),
                entries: 1,
                nearest: crate::scenario::nearest(&entry.step, names()).map(str::to_owned),
            }),
        }
    }
    list
}

/// A step's times by key.
fn times(step: &Step) -> [(&'static str, &Spread); 4] {
    [
        ("once", &step.once),
        ("setup", &step.setup),
        ("each", &step.each),
        ("per_order", &step.per_order),
    ]
}

/// The file's pace: its mean, and its squared coefficient of variation.
#[derive(Debug, Clone, Copy)]
struct Pace {
    mean: f64,
    varies: f64,
}

impl Pace {
    fn of(spread: &Spread) -> Self {
        let mean = spread.mean();
        let varies = if mean > 0.0 {
            spread.variance() / (mean * mean)
        } else {
            0.0
        };
        Self { mean, varies }
    }
}

/// What the file expects of an entry.
#[derive(Debug, Clone, Copy)]
struct Expected {
    /// Minutes, pace counted.
    minutes: f64,
    /// Their variance but for the pace's.
    own: f64,
    /// That variance in units of a squared coefficient of variation of setups and pieces alike.
    share: f64,
}

impl Expected {
    /// Of so many rounds and pieces; `pieces` is squared where a run draws one time for all of them.
    fn of(pace: Pace, parts: &[(f64, f64, &Spread)]) -> Self {
        let square = pace.mean * pace.mean;
        let sum = |of: &dyn Fn(&(f64, f64, &Spread)) -> f64| parts.iter().map(of).sum::<f64>();
        Self {
            minutes: pace.mean * sum(&|(times, _, spread)| times * spread.mean()),
            own: square * (1.0 + pace.varies) * sum(&|(_, draws, spread)| draws * spread.variance()),
            share: square * sum(&|(_, draws, spread)| draws * spread.mean() * spread.mean()),
        }
    }
}

/// Entries beside what the file expects of them.
struct Beside<'a> {
    pace: Pace,
    expected: &'a [Expected],
    actual: &'a [f64],
}

impl Beside<'_> {
    /// Whether the sum is further off than the file's own ranges and pace allow.
    fn sum_off(&self) -> bool {
        let actual: f64 = self.actual.iter().sum();
        let expected: f64 = self.expected.iter().map(|e| e.minutes).sum();
        let own: f64 = self.expected.iter().map(|e| e.own).sum();
        let sd = libm::sqrt(own + self.pace.varies * expected * expected);
        if sd <= 0.0 {
            return self.ratio_off();
        }
        (actual - expected).abs() > Z975 * sd + SAME * expected
    }

    /// Where the file says for certain, only the log can say how far single entries are off: whether their ratios to what is expected tell
    /// its mean from 1 (Student's t); of one entry they never do.
    fn ratio_off(&self) -> bool {
        let pairs = self.expected.iter().zip(self.actual);
        let ratios: Vec<f64> = pairs
            .filter(|(expected, _)| expected.minutes > 0.0)
            .map(|(expected, actual)| actual / expected.minutes)
            .collect();
        if ratios.len() < 2 {
            return false;
        }
        let mean = stats::mean(&ratios);
        contradicted(&Estimate::new(mean.mean, Some(mean.se), ratios.len() - 1), 1.0)
    }

    /// The coefficient of variation of a setup and of a piece about the file's means, where it is not the one that the file has; `None`
    /// where it may well be, or where there are too few entries.
    fn other_variation(&self) -> Option<f64> {
        let n = self.actual.len();
        if n < ENOUGH {
            return None;
        }
        let (mut sum, mut squares) = (0.0, 0.0);
        let mut certain = true;
        for (expected, actual) in self.expected.iter().zip(self.actual) {
            let off = (actual - expected.minutes) * (actual - expected.minutes);
            let by_pace = self.pace.varies * expected.minutes * expected.minutes;
            certain &= expected.own + by_pace <= 0.0;
            sum += off / (expected.own + by_pace);
            // What the pace makes of it is not the step's.
            squares += (off - by_pace) / expected.share;
        }
        let variation = libm::sqrt((squares / n as f64).max(0.0));
        if !variation.is_finite() {
            return None;
        }
        let off = if certain {
            variation >= CERTAIN
        } else {
            sum.is_finite() && unlikely(sum, n)
        };
        off.then_some(variation)
    }
}

/// Whether a chi-squared variable of so many degrees of freedom lies outside of its middle 95 %.
fn unlikely(sum: f64, freedom: usize) -> bool {
    let below = chi_squared_cdf(sum, freedom as f64);
    freedom > 0 && below.min(1.0 - below) < 0.5 * (1.0 - regression::CONFIDENCE)
}

/// Whether the file's mean lies outside of an estimate's interval, by more than rounding.
fn contradicted(found: &Estimate, expected: f64) -> bool {
    found.differs_from(expected) && (found.value - expected).abs() > SAME * expected.abs()
}

/// Rounds and units of an entry.
#[derive(Debug, Clone, Copy)]
pub(super) struct WorkUnits {
    pub(super) rounds: f64,
    units: f64,
}

impl WorkUnits {
    pub(super) fn of(step: &Step, what: What, pieces: u32, rounds: Option<u32>, redone: u32) -> Self {
        let by_room = step.room.map_or(1, |room| pieces.div_ceil(room).max(1));
        let rounds = f64::from(rounds.unwrap_or(by_room));
        let learned = step.learning.map_or(f64::from(pieces), |l| learned(l, pieces));
        let units = if pieces == 0 {
            0.0
        } else {
            learned * (1.0 + f64::from(redone) / f64::from(pieces))
        };
        match what {
            What::Setup => Self { rounds, units: 0.0 },
            What::Each => Self { rounds: 0.0, units },
            What::All | What::Order | What::Once => Self { rounds, units },
        }
    }

    fn row(self) -> [f64; 2] {
        [self.rounds, self.units]
    }
}

/// What the first `pieces` of a run take, in units of the first (unit model).
fn learned(learning: Learning, pieces: u32) -> f64 {
    let before = f64::from(learning.made_before);
    let last = learning.learned_by.map_or(f64::INFINITY, f64::from);
    let power = libm::log2(learning.rate);
    let factor = |i: u32| {
        libm::pow(
            (before + f64::from(i)).min(last.max(before + 1.0)) / (before + 1.0),
            power,
        )
    };
    (1..=pieces).map(factor).sum()
}

/// A step with what the pace still needs of it.
struct Fitted {
    step: StepFit,
    /// Expected minutes by the file, pace not counted, and by the new estimates, of each entry, with the latter's variance.
    by_entry: Vec<(f64, f64, f64)>,
}

impl Fitted {
    fn new(step: &Step, entries: &[&Entry], pace: Pace) -> Self {
        let mut fitted = StepFit {
            name: step.name.clone(),
            entries: entries.len(),
            minutes: entries.iter().map(|e| e.minutes).sum(),
            expected: 0.0,
            work: None,
            parts: Vec::new(),
            spoil: chance(entries, step.spoil, |e| e.spoiled, false),
            redo: chance(entries, step.redo, |e| e.redone, true),
            along: Along::Pieces,
            points: Vec::new(),
            line: Vec::new(),
            left_out: 0,
        };
        let of = |kinds: &[What]| -> Vec<&Entry> {
            entries
                .iter()
                .copied()
                .filter(|e| kinds.contains(&e.timed(step)))
                .collect()
        };
        let once = single("once", &step.once, &once_of(&of(&[What::Once])), pace);
        fitted.parts.extend(once.map(|(part, _)| part));
        let work = of(&[What::All, What::Setup, What::Each]);
        let mut variation = None;
        if !work.is_empty() {
            let bench = Bench {
                step,
                pace,
                held: (0.0, 0.0),
            };
            let found = bench.work(&work);
            variation = found.work.variation;
            fitted.points = work
                .iter()
                .map(|e| Point {
                    pieces: e.pieces,
                    minutes: e.minutes,
                    partly: e.timed(step) != What::All,
                })
                .collect();
            fitted.line = found.line;
            fitted.parts.extend(found.parts);
            fitted.work = Some(found.work);
        }
        let packed = of(&[What::Order]);
        let orders: Vec<(f64, f64)> = packed.iter().map(|e| (f64::from(e.pieces), e.minutes)).collect();
        if let Some((part, line)) = single("per_order", &step.per_order, &orders, pace) {
            fitted.parts.push(part);
            if work.is_empty() {
                fitted.along = Along::Orders;
                fitted.line = line;
                fitted.points = packed
                    .iter()
                    .map(|e| Point {
                        pieces: e.pieces,
                        minutes: e.minutes,
                        partly: false,
                    })
                    .collect();
            }
        }

        let mean = |key: &str| fitted.parts.iter().find(|p| p.key == key).map(|p| p.spread.mean());
        let (setup, each) = (
            mean("setup").unwrap_or(step.setup.mean() * pace.mean),
            mean("each").unwrap_or(step.each.mean() * pace.mean),
        );
        let own = |key: &str| {
            fitted
                .parts
                .iter()
                .find(|p| p.key == key)
                .map_or(0.0, |p| p.spread.variance())
        };
        let by_entry: Vec<(f64, f64, f64)> = entries
            .iter()
            .map(|e| {
                let what = e.timed(step);
                let work = WorkUnits::of(step, what, e.pieces, e.rounds, e.redone.unwrap_or(0));
                match what {
                    What::Order => {
                        let n = f64::from(e.pieces);
                        let new = mean("per_order").unwrap_or(step.per_order.mean() * pace.mean);
                        (n * step.per_order.mean(), n * new, n * own("per_order"))
                    }
                    // One sitting of several: it took what it took.
                    What::Once => (e.minutes / pace.mean.max(f64::MIN_POSITIVE), e.minutes, 0.0),
                    _ => {
                        let spread = variation.unwrap_or(0.0);
                        let v = doing_variance(step, work, setup, each) * spread * spread;
                        (
                            work.rounds * step.setup.mean() + work.units * step.each.mean(),
                            work.rounds * setup + work.units * each,
                            v,
                        )
                    }
                }
            })
            .collect();
        fitted.expected = pace.mean * by_entry.iter().map(|e| e.0).sum::<f64>();
        Self { step: fitted, by_entry }
    }

    /// Puts logged times in place of ranges made of them. Their means are the same, but for entries left out.
    fn keep(&mut self, own: &OwnTimes) {
        for (key, minutes) in &own.parts {
            if let Some(part) = self.step.parts.iter_mut().find(|part| part.key == *key) {
                part.spread = Spread::logged(minutes.clone());
                part.from = From::Logged;
            }
        }
        self.step.left_out = own.left_out;
    }
}

/// Variance of an entry in units of the squared coefficient of variation.
fn doing_variance(step: &Step, work: WorkUnits, setup: f64, each: f64) -> f64 {
    let pieces = match step.varies {
        Varies::Piece => work.units,
        Varies::Batch => work.units * work.units,
    };
    work.rounds * setup * setup + pieces * each * each
}

/// Sittings of what is done once, added up by job.
fn once_of(entries: &[&Entry]) -> Vec<(f64, f64)> {
    let mut jobs: Vec<(&str, f64)> = Vec::new();
    for entry in entries {
        match jobs.iter_mut().find(|(name, _)| *name == entry.job) {
            Some((_, minutes)) => *minutes += entry.minutes,
            None => jobs.push((&entry.job, entry.minutes)),
        }
    }
    jobs.into_iter().map(|(_, minutes)| (1.0, minutes)).collect()
}

/// Minutes in proportion to a count: per order, or once; and the law, to be drawn.
fn single(key: &'static str, was: &Spread, entries: &[(f64, f64)], pace: Pace) -> Option<(Part, Vec<LinePoint>)> {
    if entries.is_empty() {
        return None;
    }
    let rows: Vec<Vec<f64>> = entries.iter().map(|(n, _)| vec![*n]).collect();
    let y: Vec<f64> = entries.iter().map(|(_, minutes)| *minutes).collect();
    // Orders draw each their own time.
    let growing: Vec<f64> = entries.iter().map(|(n, _)| *n).collect();
    let (law, weights) = likelier(&rows, &y, &growing)?;
    let found = law.estimate(0);
    let squares: f64 = law.residuals.iter().zip(&growing).map(|(e, n)| e * e / n).sum();
    let variation = (law.freedom > 0).then(|| libm::sqrt(squares / law.freedom as f64) / found.value);
    let expected: Vec<Expected> = entries
        .iter()
        .map(|(n, _)| Expected::of(pace, &[(*n, *n, was)]))
        .collect();
    let beside = Beside {
        pace,
        expected: &expected,
        actual: &y,
    };
    let off = if entries.len() < FEW {
        beside.sum_off()
    } else {
        contradicted(&found, was.mean() * pace.mean)
    };
    let part = PartOf {
        key,
        entries: entries.len(),
        was,
        pace,
    };
    let part = if was.is_zero() || off {
        part.written(Some(found), renewed(was, found.value, entries.len(), variation))
    } else {
        part.held(Some(found), beside.other_variation())
    };
    let most = growing.iter().fold(0.0, |most: f64, n| most.max(*n)) as u32;
    let line = (1..=most)
        .step_by(most.div_ceil(LINE_POINTS).max(1) as usize)
        .map(|pieces| {
            let n = f64::from(pieces);
            let v = match weights {
                Weights::Equal => 1.0,
                Weights::Growing => n,
            };
            let band = law.new_entry(&[n], v, BAND);
            LinePoint {
                pieces,
                minutes: law.at(&[n]),
                expected: n * was.mean() * pace.mean,
                low: band.map(|b| b.0),
                high: band.map(|b| b.1),
            }
        });
    let line = line.collect();
    Some((part, line))
}

/// A part about to be told of.
struct PartOf<'a> {
    key: &'static str,
    entries: usize,
    was: &'a Spread,
    pace: Pace,
}

impl PartOf<'_> {
    /// With a new range, in minutes as measured.
    fn written(self, found: Option<Estimate>, (spread, from): (Spread, From)) -> Part {
        Part {
            key: self.key,
            entries: self.entries,
            was: Range::of(self.was),
            expected: self.was.mean() * self.pace.mean,
            found,
            says: Says::Differs,
            from,
            new: Range::of(&spread),
            spread,
        }
    }

    /// With the mean of the file: left as it is, or with a spread of its own where the file's is contradicted and the mean is known.
    fn held(self, found: Option<Estimate>, variation: Option<f64>) -> Part {
        let mean = self.was.mean() * self.pace.mean;
        // An interval that reaches down to nothing leaves open whether there is any of it at all.
        let open = found.is_some_and(|f| f.low.is_some_and(|low| low <= 0.0));
        let (spread, from) = match variation.filter(|_| !open && mean > 0.0) {
            Some(c) => (from_moments(mean, c), From::SpreadAlone),
            None => (self.was.scaled(self.pace.mean), From::File),
        };
        Part {
            says: if open { Says::CannotTell } else { Says::AsExpected },
            ..self.written(found, (spread, from))
        }
    }
}

/// The law of variance that the entries are likelier under, and the fit under it.
fn likelier(rows: &[Vec<f64>], y: &[f64], growing: &[f64]) -> Option<(Law, Weights)> {
    let equal = regression::fit(rows, y, &vec![1.0; y.len()])?;
    let other = regression::fit(rows, y, growing).filter(|_| growing.iter().all(|v| *v > 0.0));
    let better = |law: &Law| law.likelihood.zip(equal.likelihood).is_some_and(|(a, b)| a > b);
    Some(match other {
        Some(law) if better(&law) => (law, Weights::Growing),
        _ => (equal, Weights::Equal),
    })
}

/// What becomes of setup and per-piece time.
enum Settled {
    /// The log's, both.
    Log,
    /// The file's, both.
    File,
    /// The file's and, beside it, the log's.
    Beside(Again),
}

/// One of the two fitted again, beside the other as the file has it.
struct Again {
    held: (f64, f64),
    columns: Columns,
    found: Estimate,
    law: Law,
    weights: Weights,
}

/// What setup and pieces came to.
struct Found {
    work: Work,
    parts: Vec<Part>,
    line: Vec<LinePoint>,
}

/// A step whose setup and per-piece time are looked for.
#[derive(Clone, Copy)]
struct Bench<'a> {
    step: &'a Step,
    pace: Pace,
    /// Minutes of setup and per piece that are not looked for but taken from the file.
    held: (f64, f64),
}

/// Which of setup and per-piece time are fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Columns {
    Both,
    Setup,
    Each,
}

impl Columns {
    fn row(self, work: WorkUnits) -> Vec<f64> {
        match self {
            Self::Both => work.row().to_vec(),
            Self::Setup => vec![work.rounds],
            Self::Each => vec![work.units],
        }
    }

    fn setup(self, law: &Law) -> Option<Estimate> {
        (self != Self::Each).then(|| law.estimate(0))
    }

    fn each(self, law: &Law) -> Option<Estimate> {
        match self {
            Self::Both => Some(law.estimate(1)),
            Self::Each => Some(law.estimate(0)),
            Self::Setup => None,
        }
    }
}

impl Bench<'_> {
    fn work(&self, entries: &[&Entry]) -> Found {
        let step = self.step;
        let units: Vec<WorkUnits> = entries
            .iter()
            .map(|e| WorkUnits::of(step, e.timed(step), e.pieces, e.rounds, e.redone.unwrap_or(0)))
            .collect();
        let y: Vec<f64> = entries.iter().map(|e| e.minutes).collect();
        match self.columns(&units, &y) {
            Some((columns, how)) => {
                let most = entries.iter().map(|e| e.pieces).max().unwrap_or(0);
                self.fitted(columns, how, &units, &y, most)
            }
            None => self.total(entries, &units, &y),
        }
    }

    /// What can be told apart; `None`: nothing, as all entries have one size and both parts in them.
    fn columns(&self, units: &[WorkUnits], y: &[f64]) -> Option<(Columns, How)> {
        if units.iter().all(|d| d.units == 0.0) {
            return Some((Columns::Setup, How::SetupOnly));
        }
        if units.iter().all(|d| d.rounds == 0.0) {
            return Some((Columns::Each, How::EachOnly));
        }
        let (no_setup, no_each) = (self.step.setup.is_zero(), self.step.each.is_zero());
        let Some((law, _)) = self.law(Columns::Both, units, y) else {
            return match (no_setup, no_each) {
                (true, false) => Some((Columns::Each, How::NoSetup)),
                (false, true) => Some((Columns::Setup, How::SetupOnly)),
                _ => None,
            };
        };
        let (setup, each) = (law.estimate(0), law.estimate(1));
        Some(if no_setup && !setup.differs_from(0.0) {
            (Columns::Each, How::NoSetup)
        } else if no_each && !each.differs_from(0.0) {
            (Columns::Setup, How::SetupOnly)
        } else if setup.value < 0.0 {
            (Columns::Each, How::SetupBelowNothing)
        } else if each.value < 0.0 {
            (Columns::Setup, How::EachBelowNothing)
        } else {
            (Columns::Both, How::Both)
        })
    }

    /// The likelier law; the variance that grows is taken at the times that it leads to itself.
    fn law(&self, columns: Columns, units: &[WorkUnits], y: &[f64]) -> Option<(Law, Weights)> {
        let rows: Vec<Vec<f64>> = units.iter().map(|d| columns.row(*d)).collect();
        let y: Vec<f64> = y.iter().zip(units).map(|(y, d)| y - self.taken(*d)).collect();
        let y = y.as_slice();
        let equal = regression::fit(&rows, y, &vec![1.0; y.len()])?;
        let mut growing = equal.clone();
        for _ in 0..20 {
            let v = self.variances(columns, &growing, units);
            if v.iter().any(|v| v.is_nan() || *v <= 0.0) {
                return Some((equal, Weights::Equal));
            }
            growing = regression::fit(&rows, y, &v)?;
        }
        let better = growing.likelihood.zip(equal.likelihood).is_some_and(|(a, b)| a > b);
        Some(if better {
            (growing, Weights::Growing)
        } else {
            (equal, Weights::Equal)
        })
    }

    /// Minutes of an entry that are taken from the file.
    fn taken(&self, work: WorkUnits) -> f64 {
        work.rounds * self.held.0 + work.units * self.held.1
    }

    /// What the file expects of each entry.
    fn expected(&self, units: &[WorkUnits]) -> Vec<Expected> {
        let one = |d: &WorkUnits| {
            let pieces = match self.step.varies {
                Varies::Piece => d.units,
                Varies::Batch => d.units * d.units,
            };
            let parts = [
                (d.rounds, d.rounds, &self.step.setup),
                (d.units, pieces, &self.step.each),
            ];
            Expected::of(self.pace, &parts)
        };
        units.iter().map(one).collect()
    }

    /// Setup and per-piece time with their errors. Where one was dropped for coming out below nothing, its interval is what the fit
    /// with both leaves of it above nothing, and the other's holds both intervals: that of the fit without is right only if
    /// the dropped one is nothing indeed.
    fn with_what_was_dropped(
        &self,
        how: How,
        columns: Columns,
        law: &Law,
        units: &[WorkUnits],
        y: &[f64],
    ) -> (Option<Estimate>, Option<Estimate>) {
        let (setup, each) = (columns.setup(law), columns.each(law));
        if !matches!(how, How::SetupBelowNothing | How::EachBelowNothing) {
            return (setup, each);
        }
        let Some((both, _)) = self.law(Columns::Both, units, y) else {
            return (setup, each);
        };
        let dropped = |free: Estimate| Estimate {
            value: 0.0,
            se: None,
            low: free.low.map(|_| 0.0),
            high: free.high.map(|h| h.max(0.0)),
        };
        let kept = |own: Estimate, free: Estimate| Estimate {
            low: own.low.zip(free.low).map(|(a, b)| a.min(b)),
            high: own.high.zip(free.high).map(|(a, b)| a.max(b)),
            ..own
        };
        let (free_setup, free_each) = (both.estimate(0), both.estimate(1));
        (
            Some(setup.map_or_else(|| dropped(free_setup), |own| kept(own, free_setup))),
            Some(each.map_or_else(|| dropped(free_each), |own| kept(own, free_each))),
        )
    }

    /// Which of the two are left as the file has them, and the other fitted again beside one that is.
    fn settled(
        &self,
        how: How,
        (setup, each): (Option<Estimate>, Option<Estimate>),
        units: &[WorkUnits],
        y: &[f64],
    ) -> Settled {
        let mean = |was: &Spread| was.mean() * self.pace.mean;
        let (s, t) = (mean(&self.step.setup), mean(&self.step.each));
        let off = |found: Option<Estimate>, expected: f64| found.is_some_and(|f| contradicted(&f, expected));
        let both = matches!(how, How::Both | How::SetupBelowNothing | How::EachBelowNothing);
        if !both {
            return match (off(setup, s), off(each, t)) {
                (false, false) => Settled::File,
                _ => Settled::Log,
            };
        }
        // How well a part is known; of one that came out below nothing, from the fit with both.
        let free = self.law(Columns::Both, units, y);
        let known = |column: usize, expected: f64| {
            let se = free.as_ref().and_then(|(law, _)| law.estimate(column).se);
            se.unwrap_or(f64::INFINITY) / expected
        };
        let hold_setup = match (off(setup, s), off(each, t)) {
            (true, true) => return Settled::Log,
            (true, false) => false,
            (false, true) => true,
            (false, false) => known(0, s) >= known(1, t),
        };
        let one_is_off = off(setup, s) || off(each, t);
        let below_is_off = match how {
            How::SetupBelowNothing => off(setup, s),
            How::EachBelowNothing => off(each, t),
            _ => true,
        };
        let (held, columns) = if hold_setup {
            ((s, 0.0), Columns::Each)
        } else {
            ((0.0, t), Columns::Setup)
        };
        let beside = Bench { held, ..*self };
        let again = beside.law(columns, units, y).map(|(law, weights)| Again {
            held,
            columns,
            found: law.estimate(0),
            law,
            weights,
        });
        match again {
            Some(again) if again.found.value > 0.0 && contradicted(&again.found, if hold_setup { t } else { s }) => {
                Settled::Beside(again)
            }
            // Off with the other free and not beside the file's: the log does not bear the file's other out either. But nothing is
            // written for a part that came out below nothing unless the log contradicts the file's.
            _ if one_is_off && below_is_off => Settled::Log,
            _ => Settled::File,
        }
    }

    /// In units of the squared coefficient of variation.
    fn variances(&self, columns: Columns, law: &Law, units: &[WorkUnits]) -> Vec<f64> {
        let value = |e: Option<Estimate>, held: f64| e.map_or(held, |e| e.value.max(0.0));
        let setup = value(columns.setup(law), self.held.0);
        let each = value(columns.each(law), self.held.1);
        units
            .iter()
            .map(|d| doing_variance(self.step, *d, setup, each))
            .collect()
    }

    fn fitted(&self, columns: Columns, how: How, units: &[WorkUnits], y: &[f64], most: u32) -> Found {
        let step = self.step;
        let n = y.len();
        let Some((law, weights)) = self.law(columns, units, y) else {
            return self.total(&[], units, y);
        };
        let (setup, each) = self.with_what_was_dropped(how, columns, &law, units, y);
        let expected = self.expected(units);
        let beside = Beside {
            pace: self.pace,
            expected: &expected,
            actual: y,
        };
        let total: f64 = expected.iter().map(|e| e.minutes).sum();
        let ratio = y.iter().sum::<f64>() / total;
        // Too few to take setup and pieces apart: the file's own proportions, at what was measured.
        let few = n < FEW && total > 0.0;
        let settled = if !few {
            self.settled(how, (setup, each), units, y)
        } else if beside.sum_off() {
            Settled::Log
        } else {
            Settled::File
        };
        // From here on the law that is kept.
        let (kept, columns, law, weights, setup, each) = match &settled {
            Settled::Beside(again) => {
                let bench = Bench {
                    held: again.held,
                    ..*self
                };
                let (setup, each) = match again.columns {
                    Columns::Each => (setup, Some(again.found)),
                    _ => (Some(again.found), each),
                };
                (bench, again.columns, again.law.clone(), again.weights, setup, each)
            }
            Settled::Log | Settled::File => (*self, columns, law, weights, setup, each),
        };
        let shares = kept.variances(columns, &law, units);
        let variation = (law.freedom > 0 && shares.iter().all(|v| *v > 0.0)).then(|| {
            let squares: f64 = law.residuals.iter().zip(&shares).map(|(e, v)| e * e / v).sum();
            libm::sqrt(squares / law.freedom as f64)
        });
        let mut parts = Vec::new();
        let timed_setup = units.iter().any(|d| d.rounds > 0.0);
        let timed_each = units.iter().any(|d| d.units > 0.0);
        for (key, was, found, timed) in [
            ("setup", &step.setup, setup, timed_setup),
            ("each", &step.each, each, timed_each),
        ] {
            let nothing = found.is_none_or(|f| f.value == 0.0) && was.is_zero();
            if !timed || nothing || (few && was.is_zero()) {
                continue;
            }
            let part = PartOf {
                key,
                entries: units
                    .iter()
                    .filter(|d| if key == "setup" { d.rounds > 0.0 } else { d.units > 0.0 })
                    .count(),
                was,
                pace: self.pace,
            };
            let value = found.map_or(0.0, |f| f.value);
            let found = Some(found.unwrap_or(Estimate::new(0.0, None, 0)));
            let held = match &settled {
                Settled::File => true,
                Settled::Log => false,
                Settled::Beside(again) => (again.columns == Columns::Each) == (key == "setup"),
            };
            parts.push(match (held, few) {
                // What is off of a step that is held in part is in the part that is not.
                (true, _) if matches!(settled, Settled::Beside(_)) => part.held(found, None),
                (true, _) => part.held(found, beside.other_variation()),
                (false, true) => part.written(found, (was.scaled(self.pace.mean * ratio), From::Ratio)),
                (false, false) => part.written(found, renewed(was, value, n, variation)),
            });
        }
        let covariance = law
            .variance
            .filter(|_| columns == Columns::Both)
            .map(|s2| s2 * law.unscaled[0][1]);
        let line = kept.line(columns, &law, weights, units, most);
        Found {
            work: Work {
                how,
                entries: n,
                freedom: law.freedom,
                weights,
                residual_sd: law.variance.filter(|_| weights == Weights::Equal).map(libm::sqrt),
                variation,
                covariance,
                total: None,
            },
            parts,
            line,
        }
    }

    /// All entries have one size: what a part took cannot be told from what the other took.
    fn total(&self, entries: &[&Entry], units: &[WorkUnits], y: &[f64]) -> Found {
        let step = self.step;
        let (mean, variance) = stats::mean_variance(y);
        let n = y.len();
        let by_file = self.expected(units);
        let expected: f64 = by_file.iter().map(|e| e.minutes).sum();
        let se = (n > 1).then(|| libm::sqrt(variance / n as f64));
        let actual: f64 = y.iter().sum();
        let ratio = if expected > 0.0 { actual / expected } else { 1.0 };
        let beside = Beside {
            pace: self.pace,
            expected: &by_file,
            actual: y,
        };
        let off = if n < FEW {
            beside.sum_off()
        } else {
            let rows: Vec<Vec<f64>> = by_file.iter().map(|e| vec![e.minutes]).collect();
            let times = regression::fit(&rows, y, &vec![1.0; n]).map(|law| law.estimate(0));
            times.is_some_and(|times| contradicted(&times, 1.0))
        };
        let parts = [("setup", &step.setup), ("each", &step.each)]
            .into_iter()
            .filter(|(_, was)| !was.is_zero())
            .map(|(key, was)| {
                let part = PartOf {
                    key,
                    entries: n,
                    was,
                    pace: self.pace,
                };
                if off {
                    part.written(None, (was.scaled(self.pace.mean * ratio), From::Ratio))
                } else {
                    part.held(None, beside.other_variation())
                }
            })
            .collect();
        let shares: f64 = units
            .iter()
            .map(|d| {
                let times = ratio * self.pace.mean;
                doing_variance(step, *d, times * step.setup.mean(), times * step.each.mean())
            })
            .sum::<f64>()
            / n as f64;
        let one_size = units
            .windows(2)
            .all(|w| w[0].rounds == w[1].rounds && w[0].units == w[1].units);
        Found {
            work: Work {
                how: How::OneSize,
                entries: n,
                freedom: n - 1,
                weights: Weights::Equal,
                residual_sd: (n > 1).then(|| libm::sqrt(variance)),
                variation: (n > 1 && shares > 0.0).then(|| libm::sqrt(variance / shares)),
                covariance: None,
                total: entries.first().filter(|_| one_size).map(|e| Total {
                    pieces: e.pieces,
                    minutes: Estimate::new(mean, se, n - 1),
                    expected: expected / n as f64,
                }),
            },
            parts,
            line: Vec::new(),
        }
    }

    /// The law from one piece to the most there were.
    fn line(&self, columns: Columns, law: &Law, weights: Weights, units: &[WorkUnits], most: u32) -> Vec<LinePoint> {
        let step = self.step;
        if columns == Columns::Setup || units.iter().all(|d| d.rounds == 0.0 || d.units == 0.0) {
            return Vec::new();
        }
        let stride = most.div_ceil(LINE_POINTS).max(1);
        let mut line = Vec::new();
        for pieces in (1..=most).step_by(stride as usize) {
            let work = WorkUnits::of(step, What::All, pieces, None, 0);
            let row = columns.row(work);
            let v = match weights {
                Weights::Equal => 1.0,
                Weights::Growing => self.variances(columns, law, &[work])[0],
            };
            let band = law.new_entry(&row, v, BAND);
            let taken = self.taken(work);
            line.push(LinePoint {
                pieces,
                minutes: law.at(&row) + taken,
                expected: self.pace.mean * (work.rounds * step.setup.mean() + work.units * step.each.mean()),
                low: band.map(|b| b.0 + taken),
                high: band.map(|b| b.1 + taken),
            });
        }
        line
    }
}

/// The new range of a part whose mean is now `mean` (minutes as measured).
fn renewed(was: &Spread, mean: f64, entries: usize, variation: Option<f64>) -> (Spread, From) {
    if mean.is_nan() || mean <= 0.0 {
        return (Spread::ZERO, From::Mean);
    }
    match variation.filter(|_| entries >= ENOUGH) {
        Some(c) => (from_moments(mean, c), From::Spread),
        None if was.mean() > 0.0 => {
            let from = if entries < FEW { From::Ratio } else { From::Mean };
            (was.scaled(mean / was.mean()), from)
        }
        None => (Spread::Certain(mean), From::Mean),
    }
}

/// A triangle with this mean (above 0) and with the tenths of the lognormal that has this mean and coefficient of variation; that lognormal
/// itself where the triangle would reach below nothing.
#[must_use]
pub fn from_moments(mean: f64, variation: f64) -> Spread {
    if variation.is_nan() || variation < CERTAIN {
        return Spread::Certain(mean);
    }
    let s2 = libm::log1p(variation * variation);
    let (mu, sigma) = (libm::log(mean) - 0.5 * s2, libm::sqrt(s2));
    let (low, high) = (libm::exp(mu - Z90 * sigma), libm::exp(mu + Z90 * sigma));
    let triangle = |likely: f64| Spread::triangular_from_tenths(ThreePoint { low, likely, high });
    // The mean rises with the likely value.
    let (mut left, mut right) = (low, high);
    for _ in 0..60 {
        let middle = 0.5 * (left + right);
        if triangle(middle).is_ok_and(|t| t.mean() < mean) {
            left = middle;
        } else {
            right = middle;
        }
    }
    match triangle(0.5 * (left + right)) {
        Ok(found) if found.limits().0 >= 0.0 && (found.mean() - mean).abs() <= 1e-6 * mean => found,
        _ => Spread::lognormal_from_tenths(low, high),
    }
}

/// Counts of what an entry may say, out of pieces; repeats are out of pieces and repeats. An entry that says nothing counts as none
/// where another of the step says something.
fn chance(entries: &[&Entry], was: f64, count: impl Fn(&Entry) -> Option<u32>, again: bool) -> Option<Chance> {
    if entries.iter().all(|e| count(e).is_none()) {
        return None;
    }
    let counted = entries.iter().filter(|e| matches!(e.what, What::All | What::Each));
    let (mut times, mut of) = (0, 0);
    for entry in counted {
        let n = u64::from(count(entry).unwrap_or(0));
        times += n;
        of += u64::from(entry.pieces) + if again { n } else { 0 };
    }
    (of > 0).then(|| {
        let share = stats::clopper_pearson(times, of);
        Chance {
            was,
            times,
            of,
            share,
            contradicts: was < share.low || was > share.high,
        }
    })
}

fn paced(scenario: &Scenario, log: &Log, steps: &[Fitted], (complete, all_new): (bool, bool)) -> PaceFit {
    struct Sum<'a> {
        name: &'a str,
        entries: usize,
        actual: f64,
        by_file: f64,
        by_new: f64,
        variance: f64,
    }
    let mut jobs: Vec<Sum<'_>> = Vec::new();
    let mut seen = vec![0; steps.len()];
    for entry in &log.entries {
        let Some(k) = scenario.steps.iter().position(|s| s.name == entry.step) else {
            continue;
        };
        let (by_file, by_new, variance) = steps[k].by_entry[seen[k]];
        seen[k] += 1;
        // What is done once belongs to no run.
        if entry.job.is_empty() || entry.timed(&scenario.steps[k]) == What::Once {
            continue;
        }
        let place = jobs.iter().position(|j| j.name == entry.job).unwrap_or_else(|| {
            jobs.push(Sum {
                name: &entry.job,
                entries: 0,
                actual: 0.0,
                by_file: 0.0,
                by_new: 0.0,
                variance: 0.0,
            });
            jobs.len() - 1
        });
        let job = &mut jobs[place];
        job.entries += 1;
        job.actual += entry.minutes;
        job.by_file += by_file;
        job.by_new += by_new;
        job.variance += variance;
    }
    jobs.retain(|j| j.by_file > 0.0 && j.by_new > 0.0);
    let n = jobs.len();
    let mut ratios: Vec<f64> = jobs.iter().map(|j| j.actual / j.by_file).collect();
    let (mean, variance) = if n == 0 {
        (0.0, 0.0)
    } else {
        stats::mean_variance(&ratios)
    };
    let new: Vec<f64> = jobs.iter().map(|j| j.actual / j.by_new).collect();
    let explained: Vec<f64> = jobs.iter().map(|j| j.variance / (j.by_new * j.by_new)).collect();
    let beyond = (n >= ENOUGH_JOBS).then(|| {
        let (_, all) = stats::mean_variance(&new);
        libm::sqrt((all - explained.iter().sum::<f64>() / n as f64).max(0.0))
    });
    let was = scenario.pace.mean();
    let varies = Pace::of(&scenario.pace).varies;
    // How far jobs lie about their mean, over what their steps and the file's pace make of it.
    let spread_off = || {
        let (mean, all) = stats::mean_variance(&new);
        if explained.iter().all(|v| v + varies <= 0.0) {
            return libm::sqrt(all) >= CERTAIN;
        }
        let sum: f64 = new
            .iter()
            .zip(&explained)
            .map(|(ratio, v)| (ratio - mean) * (ratio - mean) / (v + varies))
            .sum();
        unlikely(sum, n - 1)
    };
    let new = if !all_new {
        beyond
            .filter(|_| complete && spread_off())
            .map(|c| from_moments(was, c))
    } else if let Some(c) = beyond {
        Some(from_moments(1.0, c))
    } else if (was - 1.0).abs() > CERTAIN && was > 0.0 {
        Some(scenario.pace.scaled(1.0 / was))
    } else {
        None
    };
    let list = jobs
        .iter()
        .map(|j| Job {
            name: j.name.to_owned(),
            entries: j.entries,
            minutes: j.actual,
            expected: j.by_file,
            ratio: j.actual / j.by_file,
        })
        .collect();
    let tenths = (n >= 2).then(|| {
        let places = [0.1, 0.5, 0.9].map(|q| stats::QuantileRank::new(n, q));
        stats::put_in_order(&mut ratios, &places);
        places.map(|place| stats::quantile(&ratios, place))
    });
    PaceFit {
        was: Range::of(&scenario.pace),
        jobs: list,
        ratio: (n > 0).then(|| {
            let se = (n > 1).then(|| libm::sqrt(variance / n as f64));
            Estimate::new(mean, se, n.saturating_sub(1))
        }),
        sd: (n > 1).then(|| libm::sqrt(variance)),
        tenths,
        beyond_steps: beyond,
        new: new.as_ref().map(Range::of),
        spread: new,
    }
}
