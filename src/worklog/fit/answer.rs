//! The answer of `fit`, as it is shown and serialised.

use super::ranges;
use crate::scenario::Spread;
use crate::stats::Share;
use crate::stats::estimate::Estimate;
use serde::Serialize;

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
    /// What takes hours of the maker in this scenario and is no step, so that no log holds it.
    pub never_logged: Vec<&'static str>,
    /// The entries that would teach most; `None` where no step has both setup and pieces, or too few jobs.
    pub next: Option<Next>,
    /// Whether every part of every step that takes time has entries.
    pub complete: bool,
    /// What new times are divided by: the mean of the file's pace where that stays, because some time has no entries or is left as the
    /// file has it; 1 where all times are new and contain the pace.
    pub pace_kept: f64,
    /// Whether the file says already what the log says: no time and no chance of it is contradicted, and batches of its sizes take what they would with the new ranges.
    /// Nothing is written then, so that a log teaches once. Where the file keeps what was guessed before the log: whether it has the new ranges, but for rounding.
    pub settled: bool,
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
    /// What the other entries expect of it; what the file does where all of them are set apart.
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
    /// Its name; "orders through" and the channel's where it is those.
    pub name: String,
    /// The channel whose orders it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub channel: Option<String>,
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
    /// Share of the batches in which a long setup goes with quick pieces by the new ranges, where the file has another.
    pub opposite: Option<f64>,
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

impl StepFit {
    pub(super) fn contradicts_a_chance(&self) -> bool {
        [self.spoil, self.redo].into_iter().flatten().any(|c| c.contradicts)
    }

    /// Whether the file has all of it already.
    pub(super) fn is_written(&self) -> bool {
        let has = |part: &Part| part.from == From::File || part.was.is_written(&part.new);
        self.varies.is_none() && self.opposite.is_none() && !self.contradicts_a_chance() && self.parts.iter().all(has)
    }
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
    pub(in crate::worklog) spread: Spread,
}

/// What the log says about a mean in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Says {
    /// It is another.
    Differs,
    /// It may well be that.
    AsExpected,
    /// It may well be that, and as well next to nothing: it was never timed alone.
    CannotTell,
    /// One job says too little to hold against it.
    OneJob,
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
    pub(super) fn of(spread: &Spread) -> Self {
        Self {
            mean: spread.mean(),
            p10: spread.quantile(0.1),
            p50: spread.quantile(0.5),
            p90: spread.quantile(0.9),
        }
    }

    /// Whether another range is this one but for the rounding of what is written.
    fn is_written(&self, new: &Self) -> bool {
        let pairs = [(self.mean, new.mean), (self.p10, new.p10), (self.p90, new.p90)];
        pairs
            .into_iter()
            .all(|(was, new)| (was - new).abs() <= ranges::WRITTEN * new)
    }

    /// Whether another range is this one but for what the file, as a prior, does to estimates once it holds them itself.
    pub(super) fn is_near(&self, new: &Self) -> bool {
        let allowed = ranges::near([new.p10, new.p90], new.mean);
        [(self.mean, new.mean), (self.p10, new.p10), (self.p90, new.p90)]
            .into_iter()
            .all(|(was, new)| (was - new).abs() <= allowed)
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
    /// Whether enough jobs say so ([`ENOUGH`](super::ENOUGH)) and the file's chance lies outside that interval: one time in forty at the most
    /// would so few, or so many, come of it. Only then is it written.
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
    pub(in crate::worklog) spread: Option<Spread>,
}

impl PaceFit {
    /// Whether the file has it already.
    pub(super) fn is_written(&self) -> bool {
        self.new.is_none_or(|new| self.was.is_written(&new))
    }
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
    /// Lower end of the band that eight of ten new jobs lie in; `None` with fewer than five jobs.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fifth of the way from 10 to 14, and half a hundredth of the mean: 0.86.
    #[test]
    fn ranges_are_near_by_hand() {
        let new = Range {
            mean: 12.0,
            p10: 10.0,
            p50: 12.0,
            p90: 14.0,
        };
        let off = |by: f64| Range {
            mean: new.mean + by,
            ..new
        };
        assert!(off(0.85).is_near(&new) && off(-0.85).is_near(&new));
        assert!(!off(0.87).is_near(&new) && !off(-0.87).is_near(&new));
        assert!(!Range { p10: 9.1, ..new }.is_near(&new) && !Range { p90: 14.9, ..new }.is_near(&new));
    }
}
