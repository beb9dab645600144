//! Work log to estimates, step by step.
//!
//! **What a setup, a piece and an order take** comes from one hierarchical model of the step's entries ([`super::hierarchy`], with its method, sources and
//! limits): jobs have a pace, setups and pieces vary each by itself, the file is a weak prior, and slips of the pen are set apart and named.
//! A step that has no setup in the scenario keeps none unless the log shows one (with 97.5 % probability).
//!
//! **What cannot be told apart.** Setup and the time a piece are each held against the file by their own 95 % interval, both free. Where neither
//! is off, their sum at a job of the log's size ([`Sum`]) may still be, and then only that is said: a part is never blamed by taking the other
//! as known.
//!
//! **New ranges are predictive.** They are those under which a new batch of the file's sizes is as uncertain as the log leaves it: what jobs, setups and
//! pieces vary by and what few entries leave open of the means ([`super::ranges`]). After five jobs they are wide, after sixty narrow.
//!
//! **What stays.** A part with fewer than [`ENOUGH`] jobs stays as the file has it, unless the sum of its entries is further off than the file's own
//! ranges and pace allow (1.96 standard deviations; where the file says for certain, Student's t of the entries' own ratios); then its range is scaled by actual
//! over expected minutes (assumption).
//!
//! **Pace.** A job's ratio is its actual minutes over what the file's steps expect of the same entries, pace not counted. Where every time is new
//! the times contain the pace: its mean is then 1, and its spread is what batches differ by as a whole. Where any time stays, so does the pace.
//!
//! **Chances.** Spoiled of handled, and redone of done (pieces and repeats), with exact binomial limits ([`stats::clopper_pearson`]): a
//! few pieces lost of a few prove little, and an approximation that is too narrow there would make much of them.

use super::hierarchy::{Posterior, Prior, Row};
use super::own_times::OwnTimes;
use super::ranges;
use super::{Entry, Log, What};
use crate::scenario::spread::Z90;
use crate::scenario::{Learning, Scenario, Spread, Step, ThreePoint, Varies};
use crate::stats::Share;
use crate::stats::regression::Estimate;
use crate::stats::{self, Z975};
use serde::Serialize;
use std::collections::HashMap;

/// Jobs from which on a step's times come from the log, and the pace from the jobs.
pub const ENOUGH: usize = 5;
/// A coefficient of variation below this is certainty.
const CERTAIN: f64 = 0.005;
/// Points of a line that is drawn, at most.
const LINE_POINTS: u32 = 60;
/// Share of jobs within the band that is drawn, and that ranges are made for.
pub const BAND: f64 = 0.8;
/// A mean closer to the file's than this share of it is the file's: the rest is rounding.
const SAME: f64 = 1e-9;
/// Sizes at which a batch is looked at.
const SIZES: usize = 7;
/// Entries that are advised to be timed next.
const NEXT: usize = 3;

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
    /// The batch against its estimates.
    pub pace: PaceFit,
    /// Entries that are no work but slips of the pen, in the order of the log: they are left out of all times.
    pub set_apart: Vec<Apart>,
    /// Lines of entries that go on with a piece (`part`) of which no other entry of their job and step tells.
    pub parts_alone: Vec<usize>,
    /// The entries that would teach most; `None` where no step has both setup and pieces, or too few jobs.
    pub next: Option<Next>,
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

/// An entry that is set apart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Apart {
    /// Its line in the log.
    pub line: usize,
    /// Its step.
    pub step: String,
    /// Its minutes.
    pub minutes: f64,
    /// What the other entries expect of it.
    pub expected: f64,
}

/// Entries that would teach most.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Next {
    /// At which step.
    pub step: String,
    /// How many of them.
    pub entries: usize,
    /// `setup`, `each` or `all`: what is timed.
    pub what: &'static str,
    /// Pieces of each; 0 for setup alone.
    pub pieces: u32,
    /// Pieces of the batch that the errors are of.
    pub batch: u32,
    /// Half the 95 % interval of what that batch takes on average at the step, in minutes.
    pub now: f64,
    /// The same with those entries.
    pub then: f64,
}

/// What is known about one step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepFit {
    /// Its name.
    pub name: String,
    /// Entries of any kind, sittings of one piece together.
    pub entries: usize,
    /// Jobs that its setups and pieces come from: entries of one job, or without a job of one day, are one.
    pub jobs: usize,
    /// Hands-on minutes.
    pub minutes: f64,
    /// What the file expects of the same entries, pace counted.
    pub expected: f64,
    /// How setup and per-piece time were found; `None`: no such entries.
    pub work: Option<Work>,
    /// New estimates: of setup, each, per order, once; those there are.
    pub parts: Vec<Part>,
    /// `piece` or `batch` where the new ranges ask for another `varies` than the file has.
    pub varies: Option<&'static str>,
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
    /// Entries of setup, pieces or both that were not set apart.
    pub entries: usize,
    /// Coefficients of variation of jobs (pace), of a setup, of a piece, where the restricted likelihood is greatest.
    pub varies: [f64; 3],
    /// Setup and pieces together, where both were timed.
    pub sum: Option<Sum>,
}

/// How setup and per-piece time were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Both.
    Both,
    /// The file has no setup and the log shows none: per-piece time alone.
    NoSetup,
    /// Only setups were timed, or the file has no per-piece time and the log shows none.
    SetupOnly,
    /// Only pieces were timed.
    EachOnly,
}

/// Setup and pieces together, at a job of the log's usual size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sum {
    /// Pieces of it.
    pub pieces: u32,
    /// Mean minutes with their error.
    pub minutes: Estimate,
    /// What the file expects, pace counted.
    pub expected: f64,
    /// Whether the file's lies outside of the interval.
    pub differs: bool,
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
    /// What the log says, the other of setup and per-piece time being free as well; no interval where there are too few entries.
    pub found: Estimate,
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
    /// The log: its mean, and a spread that holds what the log leaves open as well.
    Log,
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
    /// Coefficient of variation that the steps of a job have in common; `None` without enough jobs.
    pub shared: Option<f64>,
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
    /// It is set apart as a slip of the pen.
    pub apart: bool,
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
    /// Lower end of the band that eight of ten new jobs lie in; `None` with fewer than [`ENOUGH`] jobs.
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
    let (whole, parts_alone) = log.whole();
    let place: HashMap<&str, usize> = scenario
        .steps
        .iter()
        .enumerate()
        .map(|(k, s)| (s.name.as_str(), k))
        .collect();
    let mut entries: Vec<Vec<Timed<'_>>> = vec![Vec::new(); scenario.steps.len()];
    let jobs = jobs_of(&whole);
    for (entry, job) in whole.iter().zip(&jobs) {
        if let Some(k) = place.get(entry.step.as_str()) {
            entries[*k].push(Timed {
                entry,
                job: *job,
                minutes: entry.minutes,
            });
        }
    }
    let mut steps: Vec<Fitted<'_>> = scenario
        .steps
        .iter()
        .zip(&entries)
        .map(|(step, entries)| Fitted::new(step, entries, pace))
        .collect();
    if let Some(common) = common(&steps) {
        for measured in steps
            .iter_mut()
            .flat_map(|s| [&mut s.work, &mut s.orders].into_iter().flatten())
        {
            measured.again(common);
        }
    }
    for fitted in &mut steps {
        fitted.tell(pace);
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
    let shared = shared(&steps);
    let spread = renewed(scenario, &mut steps, kept, (!all_new).then_some(pace.varies), shared);
    for own in own {
        for fitted in steps.iter_mut().filter(|fitted| fitted.step.name == own.step) {
            fitted.keep(own, kept);
        }
    }
    let paced = paced(scenario, &steps, &whole, (all_new, spread, shared));
    let mut set_apart: Vec<Apart> = steps.iter().flat_map(Fitted::set_apart).collect();
    set_apart.sort_by_key(|apart| apart.line);
    Fit {
        title: scenario.title.clone(),
        entries: steps.iter().map(|s| s.step.entries).sum(),
        minutes: steps.iter().map(|s| s.step.minutes).sum(),
        expected: steps.iter().map(|s| s.step.expected).sum(),
        unknown: unknown(scenario, log),
        next: next(scenario, &steps),
        steps: steps.into_iter().map(|s| s.step).collect(),
        pace: paced,
        set_apart,
        parts_alone,
        complete,
        pace_kept: kept,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

/// An entry, its job, and its minutes with those of later sittings at what is done once.
#[derive(Debug, Clone, Copy)]
struct Timed<'a> {
    entry: &'a Entry,
    job: usize,
    minutes: f64,
}

/// What is done once for a design, its sittings added up: those of a job that is named, and those without one together.
fn sittings<'a>(entries: Vec<Timed<'a>>) -> Vec<Timed<'a>> {
    let mut list: Vec<Timed<'a>> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::new();
    for timed in entries {
        match known.get(timed.entry.job.as_str()) {
            Some(k) => list[*k].minutes += timed.minutes,
            None => {
                known.insert(&timed.entry.job, list.len());
                list.push(timed);
            }
        }
    }
    list
}

/// Which job each entry belongs to: the one it names, else its day, else one of its own.
fn jobs_of(entries: &[Entry]) -> Vec<usize> {
    let mut known: HashMap<(&str, Option<jiff::civil::Date>), usize> = HashMap::new();
    let mut count = 0;
    entries
        .iter()
        .map(|entry| {
            let mut new = || {
                count += 1;
                count - 1
            };
            match (entry.job.as_str(), entry.date) {
                ("", None) => new(),
                ("", date) => *known.entry(("", date)).or_insert_with(new),
                (job, _) => *known.entry((job, None)).or_insert_with(new),
            }
        })
        .collect()
}

/// Rows of a step's entries with what the model makes of them.
struct Measured<'a> {
    entries: Vec<&'a Entry>,
    rows: Vec<Row>,
    found: Posterior,
    prior: Prior,
    /// Minutes of a setup and a piece that the file expects, pace counted.
    file: [f64; 2],
    how: How,
}

impl<'a> Measured<'a> {
    /// `varies`: squared coefficients of variation of a setup and a piece in the file.
    fn new(mut timed: Vec<(Timed<'a>, WorkUnits)>, file: [f64; 2], varies: [f64; 3]) -> Self {
        timed.sort_by_key(|(timed, _)| timed.job);
        let rows: Vec<Row> = timed
            .iter()
            .map(|(timed, work)| Row {
                rounds: work.rounds,
                units: work.units,
                minutes: timed.minutes,
                job: timed.job,
            })
            .collect();
        let there = [rows.iter().any(|r| r.rounds > 0.0), rows.iter().any(|r| r.units > 0.0)];
        // A part that the file does not have is looked for about a quarter of what it would be if it were all of it.
        let all: f64 = rows.iter().map(|r| r.minutes).sum();
        let guess = [
            0.25 * all / rows.iter().map(|r| r.rounds).sum::<f64>().max(1.0),
            0.25 * all / rows.iter().map(|r| r.units).sum::<f64>().max(1.0),
        ];
        let of = |wanted: [bool; 2]| {
            let times = [0, 1].map(|k| match (wanted[k] && there[k], file[k] > 0.0) {
                (false, _) => 0.0,
                (true, true) => file[k],
                (true, false) => guess[k],
            });
            let prior = Prior {
                times,
                varies,
                pace: None,
            };
            (prior, Posterior::of(&rows, &prior))
        };
        let (how, (prior, found)) = match there {
            [_, false] => (How::SetupOnly, of([true, false])),
            [false, true] => (How::EachOnly, of([false, true])),
            [true, true] => {
                let both = of([true, true]);
                if file[0] <= 0.0 && file[1] > 0.0 && both.1.share_below_nothing(0) >= 0.025 {
                    (How::NoSetup, of([false, true]))
                } else if file[1] <= 0.0 && file[0] > 0.0 && both.1.share_below_nothing(1) >= 0.025 {
                    (How::SetupOnly, of([true, false]))
                } else {
                    (How::Both, both)
                }
            }
        };
        Self {
            entries: timed.iter().map(|(timed, _)| timed.entry).collect(),
            rows,
            found,
            prior,
            file,
            how,
        }
    }

    /// Once more, with what other steps say of the pace.
    fn again(&mut self, pace: (f64, f64)) {
        self.prior.pace = Some(pace);
        self.found = Posterior::of(&self.rows, &self.prior);
    }

    /// Which of setup and piece were looked for.
    fn has(&self) -> [bool; 2] {
        match self.how {
            How::Both => [true, true],
            How::SetupOnly => [true, false],
            How::NoSetup | How::EachOnly => [false, true],
        }
    }

    fn enough(&self) -> bool {
        self.found.jobs >= ENOUGH
    }

    /// `S r + t d` with its interval; none with too few jobs.
    fn estimate(&self, r: f64, d: f64) -> Estimate {
        let sum = self.found.sum(r, d);
        let value = self.found.times[0] * r + self.found.times[1] * d;
        let ends = (self.found.jobs >= ENOUGH).then(|| self.found.ends(r, d));
        Estimate {
            value,
            se: ends.map(|_| sum.sd),
            low: ends.map(|e| e.0.min(value)),
            high: ends.map(|e| e.1.max(value)),
        }
    }

    fn is_apart(&self, row: usize) -> bool {
        self.found.apart.binary_search(&row).is_ok()
    }

    /// Relative deviation of each job from its mean, ascending by job.
    fn deviations(&self) -> Vec<(usize, f64)> {
        let mut list: Vec<(usize, f64, f64)> = Vec::new();
        for (_, row) in self.rows.iter().enumerate().filter(|(k, _)| !self.is_apart(*k)) {
            let mean = row.mean(self.found.times);
            match list.last_mut().filter(|(job, _, _)| *job == row.job) {
                Some((_, minutes, expected)) => {
                    *minutes += row.minutes;
                    *expected += mean;
                }
                None => list.push((row.job, row.minutes, mean)),
            }
        }
        list.into_iter()
            .filter(|(_, _, expected)| *expected > 0.0)
            .map(|(job, minutes, expected)| (job, minutes / expected - 1.0))
            .collect()
    }
}

/// A step with what the rest of the answer still needs of it.
struct Fitted<'a> {
    scenario: &'a Step,
    step: StepFit,
    work: Option<Measured<'a>>,
    orders: Option<Measured<'a>>,
    once: Option<Measured<'a>>,
}

/// Squared coefficient of variation.
fn varies(spread: &Spread) -> f64 {
    let mean = spread.mean();
    if mean > 0.0 {
        spread.variance() / (mean * mean)
    } else {
        0.0
    }
}

impl<'a> Fitted<'a> {
    fn new(step: &'a Step, entries: &[Timed<'a>], pace: Pace) -> Self {
        let plain: Vec<&Entry> = entries.iter().map(|t| t.entry).collect();
        let of = |kinds: &[What]| -> Vec<Timed<'a>> {
            entries
                .iter()
                .copied()
                .filter(|t| kinds.contains(&t.entry.timed(step)))
                .collect()
        };
        let file = |spread: &Spread| spread.mean() * pace.mean;
        let work: Vec<(Timed<'a>, WorkUnits)> = of(&[What::All, What::Setup, What::Each])
            .into_iter()
            .map(|t| {
                let e = t.entry;
                (
                    t,
                    WorkUnits::of(step, e.timed(step), e.pieces, e.rounds, e.redone.unwrap_or(0)),
                )
            })
            .collect();
        let piece = varies(&step.each);
        let by_batch = step.varies == Varies::Batch;
        let counts = |list: Vec<Timed<'a>>, units: &dyn Fn(&Entry) -> f64| -> Vec<(Timed<'a>, WorkUnits)> {
            list.into_iter()
                .map(|t| {
                    (
                        t,
                        WorkUnits {
                            rounds: 0.0,
                            units: units(t.entry),
                        },
                    )
                })
                .collect()
        };
        let measured = |list: Vec<(Timed<'a>, WorkUnits)>, file: [f64; 2], varies: [f64; 3]| {
            (!list.is_empty()).then(|| Measured::new(list, file, varies))
        };
        Self {
            scenario: step,
            step: StepFit {
                name: step.name.clone(),
                entries: entries.len(),
                jobs: 0,
                minutes: plain.iter().map(|e| e.minutes).sum(),
                expected: 0.0,
                work: None,
                parts: Vec::new(),
                varies: None,
                spoil: chance(&plain, step.spoil, |e| e.spoiled, false),
                redo: chance(&plain, step.redo, |e| e.redone, true),
                along: Along::Pieces,
                points: Vec::new(),
                line: Vec::new(),
                left_out: 0,
            },
            work: measured(
                work,
                [file(&step.setup), file(&step.each)],
                [
                    pace.varies + if by_batch { piece } else { 0.0 },
                    varies(&step.setup),
                    if by_batch { 0.0 } else { piece },
                ],
            ),
            orders: measured(
                counts(of(&[What::Order]), &|e| f64::from(e.pieces)),
                [0.0, file(&step.per_order)],
                [pace.varies, 0.0, varies(&step.per_order)],
            ),
            once: measured(
                counts(sittings(of(&[What::Once])), &|_| 1.0),
                [0.0, file(&step.once)],
                [pace.varies, 0.0, varies(&step.once)],
            ),
        }
    }

    /// Puts what was found into the answer.
    fn tell(&mut self, pace: Pace) {
        let step = self.scenario;
        let mut parts = Vec::new();
        let mut expected = 0.0;
        if let Some(once) = &self.once {
            parts.extend(part("once", &step.once, once, 1, pace));
            expected += once.rows.len() as f64 * once.file[1];
        }
        if let Some(work) = &self.work {
            self.step.jobs = work.found.jobs;
            for (k, key, was) in [(0, "setup", &step.setup), (1, "each", &step.each)] {
                if work.has()[k] {
                    parts.extend(part(key, was, work, k, pace));
                }
            }
            expected += work.rows.iter().map(|row| row.mean(work.file)).sum::<f64>();
            self.step.work = Some(Work {
                how: work.how,
                entries: work.rows.len() - work.found.apart.len(),
                varies: work.found.likeliest.map(libm::sqrt),
                sum: sum(step, work),
            });
            self.step.points = points(work, |e| e.timed(step) != What::All);
            let most = work.rows.iter().zip(&work.entries).enumerate();
            let most = most
                .filter(|(k, _)| !work.is_apart(*k))
                .map(|(_, (_, e))| e.pieces)
                .max()
                .unwrap_or(0);
            if work.rows.iter().any(|r| r.rounds > 0.0 && r.units > 0.0) || work.how == How::NoSetup {
                self.step.line = line(work, most, |n| WorkUnits::of(step, What::All, n, None, 0));
            }
        }
        if let Some(orders) = &self.orders {
            parts.extend(part("per_order", &step.per_order, orders, 1, pace));
            expected += orders.rows.iter().map(|row| row.mean(orders.file)).sum::<f64>();
            if self.work.is_none() {
                self.step.jobs = orders.found.jobs;
                self.step.along = Along::Orders;
                self.step.points = points(orders, |_| false);
                let most = orders.entries.iter().map(|e| e.pieces).max().unwrap_or(0);
                self.step.line = line(orders, most, |n| WorkUnits {
                    rounds: 0.0,
                    units: f64::from(n),
                });
            }
        }
        self.step.parts = parts;
        self.step.expected = expected;
    }

    fn all(&self) -> impl Iterator<Item = &Measured<'a>> {
        [&self.work, &self.orders, &self.once].into_iter().flatten()
    }

    fn set_apart(&self) -> Vec<Apart> {
        self.all()
            .flat_map(|m| m.found.apart.iter().map(move |k| (m, *k)))
            .map(|(m, k)| Apart {
                line: m.entries[k].line,
                step: self.step.name.clone(),
                minutes: m.rows[k].minutes,
                expected: m.rows[k].mean(m.found.times),
            })
            .collect()
    }

    /// Puts logged times in place of ranges made of them.
    fn keep(&mut self, own: &OwnTimes, kept: f64) {
        for (key, minutes) in &own.parts {
            if let Some(part) = self.step.parts.iter_mut().find(|part| part.key == *key) {
                part.spread = Spread::logged(minutes.clone()).scaled(1.0 / kept);
                part.new = Range::of(&part.spread);
                part.from = From::Logged;
                if *key == "each" {
                    self.step.varies = None;
                }
            }
        }
        self.step.left_out = own.left_out;
    }
}

/// One part as the log has it; `None` where few entries would make up a part that the file does not have.
fn part(key: &'static str, was: &Spread, measured: &Measured<'_>, k: usize, pace: Pace) -> Option<Part> {
    let enough = measured.enough();
    let found = if k == 0 {
        measured.estimate(1.0, 0.0)
    } else {
        measured.estimate(0.0, 1.0)
    };
    if was.is_zero() && (!enough && measured.has() == [true, true]) {
        return None;
    }
    let expected = was.mean() * pace.mean;
    let entries = measured
        .rows
        .iter()
        .filter(|row| if k == 0 { row.rounds > 0.0 } else { row.units > 0.0 })
        .count();
    let (says, from, spread) = if enough {
        let says = if contradicted(&found, expected) {
            Says::Differs
        } else if measured.found.share_below_nothing(k) > 0.025 {
            Says::CannotTell
        } else {
            Says::AsExpected
        };
        // The range follows when all steps are known.
        (says, From::Log, Spread::Certain(found.value))
    } else if was.is_zero() {
        (Says::Differs, From::Ratio, Spread::Certain(found.value))
    } else {
        let by_file = by_file(measured, was, pace);
        let actual: Vec<f64> = measured.rows.iter().map(|r| r.minutes).collect();
        let beside = Beside {
            pace,
            expected: &by_file,
            actual: &actual,
        };
        if beside.sum_off() {
            let all: f64 = by_file.iter().map(|e| e.minutes).sum();
            let ratio = actual.iter().sum::<f64>() / all;
            (Says::Differs, From::Ratio, was.scaled(pace.mean * ratio))
        } else {
            (Says::AsExpected, From::File, was.scaled(pace.mean))
        }
    };
    Some(Part {
        key,
        entries,
        was: Range::of(was),
        expected,
        found,
        says,
        from,
        new: Range::of(&spread),
        spread,
    })
}

/// What the file expects of each row, both parts together, which vary as this one does (few entries, a rough test).
fn by_file(measured: &Measured<'_>, was: &Spread, pace: Pace) -> Vec<Expected> {
    let [s, t] = measured.file;
    let expected = |row: &Row| Expected {
        minutes: row.mean(measured.file),
        own: (1.0 + pace.varies) * varies(was) * (row.rounds * s * s + row.units * t * t),
    };
    measured.rows.iter().map(expected).collect()
}

fn sum(step: &Step, work: &Measured<'_>) -> Option<Sum> {
    if work.how != How::Both {
        return None;
    }
    let kept = work
        .entries
        .iter()
        .enumerate()
        .filter(|(k, e)| !work.is_apart(*k) && e.pieces > 0);
    let mut pieces: Vec<u32> = kept.map(|(_, e)| e.pieces).collect();
    pieces.sort_unstable();
    let pieces = *pieces.get(pieces.len() / 2)?;
    let of = WorkUnits::of(step, What::All, pieces, None, 0);
    let minutes = work.estimate(of.rounds, of.units);
    let expected = of.rounds * work.file[0] + of.units * work.file[1];
    Some(Sum {
        pieces,
        minutes,
        expected,
        differs: contradicted(&minutes, expected),
    })
}

fn points(measured: &Measured<'_>, partly: impl Fn(&Entry) -> bool) -> Vec<Point> {
    let mut list: Vec<(usize, Point)> = measured
        .entries
        .iter()
        .enumerate()
        .map(|(k, e)| {
            let point = Point {
                pieces: e.pieces,
                minutes: e.minutes,
                partly: partly(e),
                apart: measured.is_apart(k),
            };
            (e.line, point)
        })
        .collect();
    list.sort_by_key(|(line, _)| *line);
    list.into_iter().map(|(_, point)| point).collect()
}

/// The law from one piece to the most there were.
fn line(measured: &Measured<'_>, most: u32, units: impl Fn(u32) -> WorkUnits) -> Vec<LinePoint> {
    let stride = most.div_ceil(LINE_POINTS).max(1) as usize;
    let at: Vec<u32> = (1..=most).step_by(stride).collect();
    // How many standard deviations the band reaches is looked up at a few sizes and changes slowly between them.
    let anchors: Vec<(f64, [f64; 2])> = if measured.enough() {
        ranges::spaced(1, most.max(1), 4)
            .into_iter()
            .map(|n| {
                let of = units(n);
                let (mean, sd) = (
                    measured.found.sum(of.rounds, of.units).mean,
                    measured.found.new_job_sd(of.rounds, of.units),
                );
                let (low, high) = measured.found.new_job(of.rounds, of.units, BAND);
                (
                    f64::from(n),
                    if sd > 0.0 {
                        [(low - mean) / sd, (high - mean) / sd]
                    } else {
                        [0.0; 2]
                    },
                )
            })
            .collect()
    } else {
        Vec::new()
    };
    at.into_iter()
        .map(|pieces| {
            let of = units(pieces);
            let found = &measured.found;
            let minutes = of.rounds * found.times[0] + of.units * found.times[1];
            let band = between(&anchors, f64::from(pieces)).map(|z| {
                let (mean, sd) = (
                    found.sum(of.rounds, of.units).mean,
                    found.new_job_sd(of.rounds, of.units),
                );
                z.map(|z| (mean + z * sd).max(0.0))
            });
            LinePoint {
                pieces,
                minutes,
                expected: of.rounds * measured.file[0] + of.units * measured.file[1],
                low: band.map(|b| b[0].min(minutes)),
                high: band.map(|b| b[1].max(minutes)),
            }
        })
        .collect()
}

/// On the straight line between the anchors about `x`.
fn between(anchors: &[(f64, [f64; 2])], x: f64) -> Option<[f64; 2]> {
    let last = anchors.last()?;
    let k = anchors.partition_point(|a| a.0 <= x);
    let (Some(low), Some(high)) = (anchors.get(k.wrapping_sub(1)), anchors.get(k)) else {
        return Some(if k == 0 { anchors[0].1 } else { last.1 });
    };
    let share = (x - low.0) / (high.0 - low.0);
    Some([0, 1].map(|e| low.1[e] + share * (high.1[e] - low.1[e])))
}

/// Measured steps with enough jobs.
fn known<'b, 'a>(steps: &'b [Fitted<'a>]) -> Vec<&'b Measured<'a>> {
    let all = steps.iter().flat_map(|s| [&s.work, &s.orders].into_iter().flatten());
    all.filter(|m| m.enough()).collect()
}

/// Squared coefficient of variation that the steps of a job have in common, the mean product of two steps' relative deviations, and its standard error
/// by the spread of jobs; `None` where fewer than [`ENOUGH`] jobs have several steps.
fn common(steps: &[Fitted<'_>]) -> Option<(f64, f64)> {
    // Per job the sum of its deviations, of their squares, and how many: the products of all pairs are half of what the square of the sum has more.
    let mut jobs: HashMap<usize, (f64, f64, f64)> = HashMap::new();
    for measured in known(steps) {
        let n = measured.found.jobs as f64;
        // Fitted residuals are shorter than true ones.
        let stretch = libm::sqrt(n / (n - 1.5));
        for (job, off) in measured.deviations() {
            let off = off * stretch;
            let sums = jobs.entry(job).or_insert((0.0, 0.0, 0.0));
            *sums = (sums.0 + off, sums.1 + off * off, sums.2 + 1.0);
        }
    }
    let mut sums: Vec<(usize, (f64, f64, f64))> = jobs.into_iter().filter(|(_, s)| s.2 > 1.0).collect();
    if sums.len() < ENOUGH {
        return None;
    }
    sums.sort_by_key(|(job, _)| *job);
    let each: Vec<(f64, f64)> = sums
        .iter()
        .map(|(_, s)| (0.5 * (s.0 * s.0 - s.1), 0.5 * s.2 * (s.2 - 1.0)))
        .collect();
    let pairs: f64 = each.iter().map(|e| e.1).sum();
    let mean = each.iter().map(|e| e.0).sum::<f64>() / pairs;
    let squares: f64 = each
        .iter()
        .map(|(product, pairs)| (product - mean * pairs) * (product - mean * pairs))
        .sum();
    let n = each.len() as f64;
    // Few jobs know their own spread badly: what a normal law of the mean square makes of it is the least.
    let least = libm::sqrt(2.0 / n) * mean.abs().max(each_square(&sums) / 3.0);
    let se = libm::sqrt(squares * n / (n - 1.0)) / pairs;
    Some((mean, se.max(least)))
}

/// Mean square of a relative deviation.
fn each_square(sums: &[(usize, (f64, f64, f64))]) -> f64 {
    sums.iter().map(|(_, s)| s.1).sum::<f64>() / sums.iter().map(|(_, s)| s.2).sum::<f64>()
}

/// Squared coefficient of variation of the pace as all steps have it; `None` where no step has enough jobs.
fn shared(steps: &[Fitted<'_>]) -> Option<f64> {
    let known = known(steps);
    let all: f64 = known.iter().map(|m| m.found.varies()[0]).sum();
    (!known.is_empty()).then(|| all / known.len() as f64)
}

/// Gives parts their new ranges; the squared coefficient of variation of the new pace where the file's does not stay.
fn renewed(
    scenario: &Scenario,
    steps: &mut [Fitted<'_>],
    kept: f64,
    pace: Option<f64>,
    shared: Option<f64>,
) -> Option<f64> {
    let (mut low, mut high) = (u32::MAX, 1);
    let logged = steps.iter().flat_map(|s| {
        s.step
            .points
            .iter()
            .filter(|p| p.pieces > 0 && !p.apart)
            .map(|p| p.pieces)
    });
    for size in scenario.batch.sizes.iter().copied().chain(logged) {
        (low, high) = (low.min(size), high.max(size));
    }
    let sizes = ranges::spaced(low.min(high), high, SIZES);
    let order = scenario.sale.order_of.mean().max(1.0);
    let mut targets = Vec::new();
    let mut owners = Vec::new();
    for (k, fitted) in steps.iter().enumerate() {
        if let Some(work) = fitted.work.as_ref().filter(|w| w.enough()) {
            let at = sizes
                .iter()
                .map(|n| {
                    let of = WorkUnits::of(fitted.scenario, What::All, *n, None, 0);
                    let has = work.has();
                    [
                        if has[0] { of.rounds } else { 0.0 },
                        if has[1] { of.units } else { 0.0 },
                    ]
                })
                .collect();
            targets.push(ranges::Target::new(&work.found, at, true));
            owners.push((k, false));
        }
        if let Some(orders) = fitted.orders.as_ref().filter(|o| o.enough()) {
            let at = sizes.iter().map(|n| [0.0, libm::ceil(f64::from(*n) / order)]).collect();
            targets.push(ranges::Target::new(&orders.found, at, false));
            owners.push((k, true));
        }
    }
    let (made, found) = ranges::made(&targets, shared.unwrap_or(0.0), pace);
    let some = !targets.is_empty();
    drop(targets);
    for ((k, of_orders), made) in owners.into_iter().zip(made) {
        let fitted = &mut steps[k];
        for part in &mut fitted.step.parts {
            let variation = match (part.key, of_orders) {
                ("setup", false) => made.setup,
                ("each", false) | ("per_order", true) => made.each,
                _ => continue,
            };
            part.spread = from_moments(part.found.value, variation);
        }
        if !of_orders && fitted.step.parts.iter().any(|p| p.key == "each") {
            let (is, new) = (
                fitted.scenario.varies,
                if made.by_batch { Varies::Batch } else { Varies::Piece },
            );
            fitted.step.varies = (is != new).then_some(if made.by_batch { "batch" } else { "piece" });
        }
    }
    for fitted in steps.iter_mut() {
        if let Some(once) = fitted.once.as_ref().filter(|o| o.enough()) {
            let (low, high) = once.found.new_job(0.0, 1.0, BAND);
            let variation = (high - low) / (2.0 * Z90 * once.found.times[1]);
            for part in fitted.step.parts.iter_mut().filter(|p| p.key == "once") {
                part.spread = from_moments(part.found.value, variation);
            }
        }
        for part in &mut fitted.step.parts {
            part.spread = part.spread.scaled(1.0 / kept);
            part.new = if part.from == From::File {
                part.was
            } else {
                Range::of(&part.spread)
            };
        }
    }
    found.filter(|_| some && pace.is_none())
}

fn paced(
    scenario: &Scenario,
    steps: &[Fitted<'_>],
    entries: &[Entry],
    (all_new, spread, shared): (bool, Option<f64>, Option<f64>),
) -> PaceFit {
    let mut apart: Vec<usize> = steps.iter().flat_map(|s| s.set_apart()).map(|a| a.line).collect();
    apart.sort_unstable();
    let place: HashMap<&str, &Step> = scenario.steps.iter().map(|s| (s.name.as_str(), s)).collect();
    let mut jobs: Vec<Job> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::new();
    for entry in entries {
        let Some(step) = place.get(entry.step.as_str()) else {
            continue;
        };
        let what = entry.timed(step);
        // What is done once belongs to no batch.
        if entry.job.is_empty() || what == What::Once || (entry.line > 0 && apart.binary_search(&entry.line).is_ok()) {
            continue;
        }
        let expected = if what == What::Order {
            f64::from(entry.pieces) * step.per_order.mean()
        } else {
            let work = WorkUnits::of(step, what, entry.pieces, entry.rounds, entry.redone.unwrap_or(0));
            work.rounds * step.setup.mean() + work.units * step.each.mean()
        };
        let k = *known.entry(&entry.job).or_insert_with(|| {
            jobs.push(Job {
                name: entry.job.clone(),
                entries: 0,
                minutes: 0.0,
                expected: 0.0,
                ratio: 0.0,
            });
            jobs.len() - 1
        });
        let job = &mut jobs[k];
        job.entries += 1;
        job.minutes += entry.minutes;
        job.expected += expected;
    }
    jobs.retain(|j| j.expected > 0.0);
    for job in &mut jobs {
        job.ratio = job.minutes / job.expected;
    }
    let n = jobs.len();
    let mut ratios: Vec<f64> = jobs.iter().map(|j| j.ratio).collect();
    let (mean, variance) = if n == 0 {
        (0.0, 0.0)
    } else {
        stats::mean_variance(&ratios)
    };
    let was = scenario.pace.mean();
    let new = if !all_new {
        None
    } else if let Some(varies) = spread {
        Some(from_moments(1.0, libm::sqrt(varies)))
    } else if (was - 1.0).abs() > CERTAIN && was > 0.0 {
        Some(scenario.pace.scaled(1.0 / was))
    } else {
        None
    };
    let tenths = (n >= 2).then(|| {
        let places = [0.1, 0.5, 0.9].map(|q| stats::QuantileRank::new(n, q));
        stats::put_in_order(&mut ratios, &places);
        places.map(|place| stats::quantile(&ratios, place))
    });
    PaceFit {
        was: Range::of(&scenario.pace),
        jobs,
        ratio: (n > 0).then(|| {
            let se = (n > 1).then(|| libm::sqrt(variance / n as f64));
            Estimate::new(mean, se, n.saturating_sub(1))
        }),
        sd: (n > 1).then(|| libm::sqrt(variance)),
        tenths,
        shared: shared.map(libm::sqrt),
        new: new.as_ref().map(Range::of),
        spread: new,
    }
}

/// The few entries that would make a middle batch known best: of setup alone, of pieces alone and of whole jobs of the least and the largest size.
fn next(scenario: &Scenario, steps: &[Fitted<'_>]) -> Option<Next> {
    let sizes = &scenario.batch.sizes;
    let (least, most) = (*sizes.iter().min()?, *sizes.iter().max()?);
    let batch = sizes[sizes.len() / 2];
    let mut best: Option<Next> = None;
    for fitted in steps {
        let Some(work) = fitted.work.as_ref().filter(|w| w.enough() && w.how == How::Both) else {
            continue;
        };
        let error = work.found.error();
        let at = |n: u32| {
            let of = WorkUnits::of(fitted.scenario, What::All, n, None, 0);
            [of.rounds, of.units]
        };
        let x = at(batch);
        let half = |e: [f64; 3]| {
            Z975 * libm::sqrt((e[0] * x[0] * x[0] + 2.0 * e[1] * x[0] * x[1] + e[2] * x[1] * x[1]).max(0.0))
        };
        let now = half(error);
        let pieces = at(batch)[1];
        for (what, n, x) in [
            ("setup", 0, [1.0, 0.0]),
            ("each", batch, [0.0, pieces]),
            ("all", least, at(least)),
            ("all", most, at(most)),
        ] {
            let variance = work.found.work_at(x[0], x[1]);
            let then = half(with_more(error, x, variance / NEXT as f64));
            if best.as_ref().is_none_or(|b| now - then > b.now - b.then) {
                best = Some(Next {
                    step: fitted.step.name.clone(),
                    entries: NEXT,
                    what,
                    pieces: n,
                    batch,
                    now,
                    then,
                });
            }
        }
    }
    best
}

/// The errors of setup and piece (variance, covariance, variance) once `S r + t d` was measured with this variance.
fn with_more(e: [f64; 3], [r, d]: [f64; 2], variance: f64) -> [f64; 3] {
    let (a, b) = (e[0] * r + e[1] * d, e[1] * r + e[2] * d);
    let all = variance + a * r + b * d;
    if all <= 0.0 {
        return e;
    }
    [e[0] - a * a / all, e[1] - a * b / all, e[2] - b * b / all]
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
}

/// Whether the file's mean lies outside of an estimate's interval, by more than rounding.
fn contradicted(found: &Estimate, expected: f64) -> bool {
    found.differs_from(expected) && (found.value - expected).abs() > SAME * expected.abs()
}

/// Rounds and units of an entry.
#[derive(Debug, Clone, Copy)]
pub(super) struct WorkUnits {
    pub(super) rounds: f64,
    pub(super) units: f64,
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
}

/// What the first `pieces` of a batch take, in units of the first (unit model).
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
