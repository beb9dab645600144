//! When a batch is done: bench hours of the week, waits on the wall clock, one pair of hands, or two with a helper, and limited room.
//!
//! * Each trial's own times (`times`: the draws that `sweep` adds up) become rounds, pieces and orders (`rounds`, with the rules
//!   of what is done when), and these are scheduled on the bench hours (`schedule`, which knows neither dates nor chance).
//! * The finish is the end of the last task or wait: what is still drying is not done. Its date at confidence q is the first date
//!   by which at least a share q of the batches is done (the inverse of the distribution function, Hyndman and Fan's type 1: a date
//!   lies between no two others); its 95 % interval runs between binomial order statistics, in days.
//! * The latest start for a date is the last bench day from which the scenario's share of trials keeps it, looked for day by day from
//!   the date backwards. Days from which the hands-on minutes or the longest chain of waits cannot fit are passed over: no
//!   schedule is shorter than either.
//! * What limits: bench minutes between start and finish in which the hands are busy, in which what could be done has no room, and
//!   in which there is nothing but waiting. What one more place of room or bench hour brings forward is the paired difference of the
//!   same trials scheduled again.

mod day_plan;
mod days;
mod rounds;
pub mod schedule;
mod times;
mod trials;

pub use day_plan::orders_through;
pub use days::{DAY_MINUTES, Day, Opens, Week, Written, day_of};

use super::{CHOICE_TRIALS, Settings, size_to_ask_about};
use crate::engine::groups::asked_first;
use crate::laws::reaching;
use crate::model::{counts, demand};
use crate::scenario::{Hours, Scenario, Spread, Step};
use crate::stats::{self, Mean, QuantileRank, Share};
use rounds::Space;
use serde::Serialize;
use times::Times;
use trials::{Batch, Course, finishes};

/// Trials where nothing is said.
pub const TRIALS: u64 = 2_000;
/// Hands that are busy in this share of the bench hours are what limits (assumption).
const MOSTLY: f64 = 2.0 / 3.0;
/// Hours a week that the bench is tried to be open longer.
const MORE_HOURS: f64 = 1.0;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// The batch starts on the first bench day from there on.
    pub from: Day,
    /// The date it is due.
    pub due: Option<Day>,
    /// When a bench day begins.
    pub opens: Opens,
    /// Pieces of a batch; the first is looked at closely. Empty: [`size_to_ask_about`].
    pub sizes: Vec<u32>,
    /// Whether it is the first batch of the design, with what is done once. Where `runs` is 1 what is done once is always in it.
    pub first_batch: bool,
    /// Pieces started beyond each of those sizes, of which only as many as the size are due.
    pub spares: u32,
}

/// Why there is no date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoDate {
    /// The scenario has no bench hours.
    NoHours,
    /// No bench day comes after the start.
    NoStart,
    /// Some batch of this many pieces takes longer than bench hours are ever laid out.
    TooLong(u32),
}

/// The whole answer; its serialised form is the documented JSON of `calendar`. Dates as ISO 8601.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calendar {
    /// The scenario's title.
    pub title: String,
    /// Share of trials that should keep a date.
    pub confidence: f64,
    /// Trials of each size.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Whether nothing is left to chance: the dates are exact.
    pub certain: bool,
    /// What comes before the orders and has its time in no day here: `quotes`, `enquiries`, or both; absent where nothing does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub asked_before: Option<&'static str>,
    /// Whether others bear a share of some rounds, whose setup takes the hands all of its time here; absent where none do.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub others: bool,
    /// Whether a helper does some steps in the same bench hours, beside the maker; absent where none does.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub helper: bool,
    /// Selling days, whose time is in no day here; absent where there are none.
    #[serde(skip_serializing_if = "is_none")]
    pub selling_days: usize,
    /// The date asked for.
    pub from: Day,
    /// The bench day on which the batch starts: the first from there on.
    pub start: Day,
    /// Bench hours of a week without days off.
    pub week_hours: f64,
    /// When a bench day begins (assumption of the command line).
    pub opens: Opens,
    /// Which bench days begin when the file says and not then; absent where none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub opens_as_written: Option<Written>,
    /// Whether some bench day is too long to begin then and end by midnight: it begins earlier.
    pub begins_earlier: bool,
    /// Whether what is done once for the design is in it: as asked, or as there will be one batch only.
    pub first_batch: bool,
    /// Hands-on hours done once for the design, on average, counted or not.
    pub once_hours: f64,
    /// The date it is due.
    pub due: Option<Day>,
    /// Pieces of the batch that is looked at closely.
    pub size: u32,
    /// Every size asked for, ascending.
    pub sizes: Vec<AtSize>,
    /// Dates on which batches of `size` end, ascending.
    pub by_date: Vec<ByDate>,
    /// Dates on which they end if started on the latest start for the date that is due; absent where that is `start`, is before it, or
    /// is not known.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub by_date_then: Vec<ByDate>,
    /// The same batches started on that day; absent as `by_date_then` is. What is said of a due date is in `sizes`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub then: Option<AtSize>,
    /// A batch of `size` in the middle, day by day: of those with something to do at the median number of steps, the one that ends nearest
    /// the median finish. It begins on the latest start for the date that is due, where that is after `start`: the plan makes the date.
    pub plan: DayPlan,
    /// What more room or hours would bring forward, for batches of `size` that begin as `plan` does.
    pub levers: Vec<Lever>,
}

impl Calendar {
    /// The size that is looked at closely.
    #[must_use]
    pub fn asked(&self) -> Option<&AtSize> {
        self.sizes.iter().find(|at| at.size == self.size)
    }

    /// The same, started as `plan` is: on the day that is advised.
    #[must_use]
    pub fn as_planned(&self) -> Option<&AtSize> {
        self.then.as_ref().or_else(|| self.asked())
    }
}

/// One batch size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtSize {
    /// Pieces in the batch.
    pub size: u32,
    /// Half the batches are done by then.
    pub finish_median: DateEstimate,
    /// The scenario's confidence of trials is done by then.
    pub finish_kept: DateEstimate,
    /// The earliest and the latest of all batches.
    pub finish_first: Day,
    /// The latest.
    pub finish_last: Day,
    /// Clock days from the start to the finish.
    pub clock_days: Mean,
    /// Hands-on hours.
    pub hands_hours: Mean,
    /// Hours of a helper; absent where none does any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub helper_hours: Option<Mean>,
    /// How the date it is due is kept.
    pub due: Option<DueAnswer>,
    /// What the bench hours until the finish go into.
    pub limits: Limits,
}

/// A date with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DateEstimate {
    /// The date.
    pub date: Day,
    /// Calendar days after the start.
    pub days: i64,
    /// Lower end of the interval.
    pub low: Day,
    /// Upper end.
    pub high: Day,
}

/// A date and the share of trials done by then.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ByDate {
    /// The date.
    pub date: Day,
    /// Share of trials done by the end of it.
    pub done: Share,
}

/// How a due date is kept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DueAnswer {
    /// Share of trials done by then, started on [`Calendar::start`].
    pub kept: Share,
    /// The last bench day from which the scenario's confidence of trials keeps it; `None`: no day of the ten years before does.
    pub latest_start: Option<Day>,
    /// Share of trials that keep it from there.
    pub kept_then: Option<Share>,
    /// The bench day after that, where it comes no later than the due date.
    pub next_start: Option<Day>,
    /// Share of trials that keep it from there.
    pub kept_next: Option<Share>,
}

/// What limits a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LimitedBy {
    /// The hands are busy in most bench hours; of two pairs, the maker's.
    Hands,
    /// Work stands ready and has no room.
    Room,
    /// There is nothing to do but wait.
    Wait,
}

/// Where the bench hours between start and finish go. Each is a ratio of means with its standard error by the delta method.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Limits {
    /// Bench hours between start and finish.
    pub bench_hours: Mean,
    /// Share of them in which the hands are busy.
    pub hands: Mean,
    /// Share in which what could be done has no room.
    pub room: Mean,
    /// Share in which there is nothing to do but wait.
    pub wait: Mean,
    /// Share of all clock time, nights and days off included, in which the hands are busy.
    pub hands_of_clock: Mean,
    /// What it comes to.
    pub by: LimitedBy,
}

/// Something that there could be more of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum More {
    /// One more place of room in every round of a step.
    Place,
    /// Twice the room of a step.
    TwiceTheRoom,
    /// A second of what the rounds of several steps are kept in.
    Second,
    /// An hour a week more, spread over the bench days in proportion.
    HourAWeek,
}

/// What more of something brings forward.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lever {
    /// What there is more of.
    pub more: More,
    /// The step whose room it is.
    pub step: Option<String>,
    /// What there would be a second of.
    pub kept_in: Option<String>,
    /// Pieces its rounds hold then.
    pub room: Option<u32>,
    /// Clock days that batches are done earlier, on average; paired, trial by trial.
    pub days_earlier: Mean,
    /// The median date then.
    pub finish_median: Day,
    /// The date that the scenario's confidence of trials keeps then.
    pub finish_kept: Day,
}

/// A batch day by day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayPlan {
    /// Which trial it is, counted from 0.
    pub trial: u64,
    /// The bench day on which it begins.
    pub start: Day,
    /// When it is done.
    pub finish: Day,
    /// Its steps, in the order of the scenario, then the orders of channels with time of their own; those with nothing to do or to
    /// wait for are left out.
    pub steps: Vec<String>,
    /// Every bench day until the finish, and the finish.
    pub days: Vec<PlanDay>,
    /// Stretches of work and of waiting, for drawing.
    pub bars: Vec<Bar>,
}

/// A day of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanDay {
    /// The date.
    pub date: Day,
    /// Bench hours.
    pub bench_hours: f64,
    /// Hands-on hours.
    pub hands_hours: f64,
    /// Hours of a helper; absent where there are none that day.
    #[serde(skip_serializing_if = "no_hours")]
    pub helper_hours: f64,
    /// What is done, in the order in which it is begun.
    pub work: Vec<DayWork>,
    /// What waits when the bench closes.
    pub overnight: Vec<Waiting>,
}

/// What one of the two does at one step in a day, to pieces or, where the step has both, to orders.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DayWork {
    /// Index into [`DayPlan::steps`].
    pub step: usize,
    /// Hands-on hours.
    pub hours: f64,
    /// Pieces that are done with this day.
    pub pieces: u32,
    /// Whether the helper does it; absent where the maker does.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub helper: bool,
    /// Whether it is done to orders, at a step that pieces have work at too; absent where it is not.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub orders: bool,
}

/// Pieces that wait.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Waiting {
    /// Index into [`DayPlan::steps`].
    pub step: usize,
    /// Pieces.
    pub pieces: u32,
    /// The day on which the last of them is ready.
    pub until: Day,
    /// Minute of that day.
    pub until_minute: f64,
}

/// A stretch of work or waiting, in days from midnight of the plan's start.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bar {
    /// Index into [`DayPlan::steps`].
    pub step: usize,
    /// Whether it is a wait.
    pub wait: bool,
    /// Begin.
    pub from: f64,
    /// End.
    pub until: f64,
}

/// What is tried out.
#[derive(Debug, Clone, Copy)]
struct Tried {
    more: More,
    step: Option<usize>,
    room: Option<u32>,
}

/// How a batch is scheduled: room and hours.
struct Way<'a> {
    space: Space,
    week: Week<'a>,
}

/// Answers; `progress` is called now and then with the share that is done.
///
/// # Errors
/// [`NoDate`] where there are no bench hours, or too few of them.
pub fn run(
    scenario: &Scenario,
    question: &Question,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Calendar, NoDate> {
    let hours = scenario.hours.as_ref().ok_or(NoDate::NoHours)?;
    settings.on_threads(|| answer(scenario, hours, question, settings, progress))
}

// Longer than others: the answer is filled field by field.
fn answer(
    scenario: &Scenario,
    hours: &Hours,
    question: &Question,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Calendar, NoDate> {
    // On the threads of the caller from here on.
    let settings = Settings {
        threads: None,
        ..*settings
    };
    let once_hours = crate::model::hours::once_hours(scenario);
    // Where one batch is all that will ever be made, it is the first, and its price has all that is done once.
    let first_batch = question.first_batch || scenario.batch.runs == 1 && once_hours > 0.0;
    let week = Week::new(hours, question.opens);
    let start = week.first_from(question.from).ok_or(NoDate::NoStart)?;
    let (size, sizes) = sizes(scenario, question, &settings);
    let certain = is_certain(scenario, &sizes, first_batch);
    let base = Way {
        space: Space::of(scenario),
        week: week.clone(),
    };
    let runs = |size: u32| Batch {
        times: Times::new(scenario, size, question.spares),
        size,
        once: first_batch,
        trials: if certain { 1 } else { settings.trials },
        certain,
        seed: settings.seed,
    };
    let mut closely = None;
    let mut at_sizes = Vec::with_capacity(sizes.len());
    let share_each = 0.9 / sizes.len() as f64;
    for (k, &of) in sizes.iter().enumerate() {
        let runs = runs(of);
        let ways = if of == size {
            ways(scenario, size, &base)
        } else {
            Vec::new()
        };
        let with_levers: Vec<&Way<'_>> = std::iter::once(&base).chain(ways.iter().map(|(_, way)| way)).collect();
        // For a date that is due, levers are told for the day to start by, which is not known yet.
        let scheduled = if question.due.is_some() {
            &with_levers[..1]
        } else {
            &with_levers
        };
        let mut courses = runs.courses(scheduled, start, &|done| progress(share_each * (k as f64 + 0.5 * done)))?;
        progress(share_each * (k as f64 + 0.5));
        let due = question
            .due
            .map(|due| runs.due(&base, start, due, &courses[0], scenario.confidence))
            .transpose()?;
        at_sizes.push(at_size(of, start, &courses[0], scenario.confidence, due)?);
        if of == size {
            let latest = due.and_then(|due| due.latest_start).filter(|latest| *latest > start);
            let on_start = by_date(&runs, start, &courses[0])?;
            let begun = latest.unwrap_or(start);
            if question.due.is_some() {
                courses = runs.courses(&with_levers, begun, &|_| ())?;
            }
            let then = latest.map(|latest| {
                let at = at_size(of, latest, &courses[0], scenario.confidence, None)?;
                Ok((by_date(&runs, latest, &courses[0])?, at))
            });
            let (by_date_then, then) = then.transpose()?.unzip();
            let plan = runs.plan(scenario, &base, begun, &courses[0])?;
            let tried = ways.iter().zip(&courses[1..]);
            let levers: Result<Vec<Lever>, NoDate> = tried
                .map(|((what, _), course)| lever(scenario, what, begun, (&courses[0], course)))
                .collect();
            closely = Some((on_start, by_date_then.unwrap_or_default(), then, plan, levers?));
        }
        progress(share_each * (k as f64 + 1.0));
    }
    let (by_date, by_date_then, then, plan, levers) = closely.ok_or(NoDate::NoStart)?;
    progress(1.0);
    Ok(Calendar {
        title: scenario.title.clone(),
        confidence: scenario.confidence,
        trials: if certain { 1 } else { settings.trials },
        helper: scenario.steps.iter().any(|step| step.helped),
        selling_days: scenario.selling_days.len(),
        others: scenario
            .steps
            .iter()
            .any(|step| step.others > 0.0 && !step.setup.is_zero()),
        asked_before: asked_first(&scenario.sales(), |_| true),
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        certain,
        from: question.from,
        start,
        week_hours: hours.week(),
        opens: question.opens,
        opens_as_written: week.opens_as_written(),
        begins_earlier: week.begins_earlier(),
        first_batch,
        once_hours,
        due: question.due,
        size,
        sizes: at_sizes,
        by_date,
        by_date_then,
        then,
        plan,
        levers,
    })
}

/// The size that is looked at closely, and all of them.
fn sizes(scenario: &Scenario, question: &Question, settings: &Settings) -> (u32, Vec<u32>) {
    let size = question.sizes.first().copied().unwrap_or_else(|| {
        // The size is chosen by as many trials as for every other question.
        let trials = settings.trials.max(CHOICE_TRIALS);
        size_to_ask_about(scenario, &Settings { trials, ..*settings })
    });
    let mut sizes = question.sizes.clone();
    sizes.push(size);
    sizes.sort_unstable();
    sizes.dedup();
    (size, sizes)
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
const fn is_none(count: &usize) -> bool {
    *count == 0
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
const fn no_hours(hours: &f64) -> bool {
    *hours == 0.0
}

/// Whether nothing that bears on the dates of these sizes is left to chance.
fn is_certain(scenario: &Scenario, sizes: &[u32], once: bool) -> bool {
    let own = scenario
        .channels
        .iter()
        .filter_map(|channel| channel.per_order.as_ref());
    let packs = scenario
        .steps
        .iter()
        .map(|step| &step.per_order)
        .chain(own)
        .any(|time| !time.is_zero());
    let times = scenario.buyers_at_price();
    let mut days = scenario.selling_days.iter();
    let days = days.all(|day| demand::certain_of(&day.sells, times).is_some());
    let season = scenario.season.as_ref();
    let demand = season.is_none_or(|season| demand::certain(season, scenario.sale.price).is_some());
    let sure = |spread: &Spread| spread.is_certain();
    let orders = scenario.second_chance() == 0.0
        && counts::shared_out_alike(scenario, sizes)
        && scenario.sales().iter().all(|sale| sure(&sale.order_of))
        && scenario
            .channels
            .iter()
            .all(|channel| channel.per_order.as_ref().is_none_or(sure));
    let steps = scenario.steps.iter().all(|step| {
        sure(&step.setup)
            && sure(&step.each)
            && sure(&step.wait)
            && sure(&step.per_order)
            && (!once || sure(&step.once))
            && step.redo == 0.0
            && step.spoil == 0.0
    });
    sure(&scenario.pace) && steps && (!packs || (orders && demand && days))
}

/// What there could be more of: room where a size needs more than one round, a second of what several steps need, and bench hours.
fn ways<'a>(scenario: &Scenario, size: u32, base: &Way<'a>) -> Vec<(Tried, Way<'a>)> {
    let mut ways = Vec::new();
    for (k, step) in scenario.steps.iter().enumerate() {
        let Some(room) = step.room.filter(|room| *room < size) else {
            continue;
        };
        let mut tried = vec![
            (More::Place, room.saturating_add(1)),
            (More::TwiceTheRoom, room.saturating_mul(2)),
        ];
        tried.dedup_by_key(|(_, room)| *room);
        for (more, room) in tried {
            let way = Way {
                space: base.space.with_room(k, room),
                week: base.week.clone(),
            };
            let tried = Tried {
                more,
                step: Some(k),
                room: Some(room),
            };
            ways.push((tried, way));
        }
    }
    for (k, step) in scenario.steps.iter().enumerate() {
        let first = |step: &Step| scenario.steps.iter().position(|other| other.kept_in == step.kept_in);
        if step.kept_in.is_some() && first(step) == Some(k) {
            let way = Way {
                space: base.space.with_second(k),
                week: base.week.clone(),
            };
            let tried = Tried {
                more: More::Second,
                step: Some(k),
                room: None,
            };
            ways.push((tried, way));
        }
    }
    let longer = Way {
        space: base.space.clone(),
        week: base.week.with_more(MORE_HOURS),
    };
    let tried = Tried {
        more: More::HourAWeek,
        step: None,
        room: None,
    };
    ways.push((tried, longer));
    ways
}

fn at_size(
    size: u32,
    start: Day,
    courses: &[Course],
    confidence: f64,
    due: Option<DueAnswer>,
) -> Result<AtSize, NoDate> {
    let finishes = finishes(courses);
    let n = finishes.len();
    let date = |rank: usize| day_of(start, finishes[rank]).ok_or(NoDate::TooLong(size));
    let estimate = |q: f64| -> Result<DateEstimate, NoDate> {
        let place = QuantileRank::new(n, q);
        let day = date(reaching(n, q) - 1)?;
        Ok(DateEstimate {
            date: day,
            days: start.days_to(day),
            low: date(place.low)?,
            high: date(place.high)?,
        })
    };
    let column = |of: &dyn Fn(&Course) -> f64| courses.iter().map(of).collect::<Vec<f64>>();
    let (clock, bench) = (column(&Course::clock), column(&Course::bench));
    let (hands, helped) = (column(&|c| c.outcome.hands), column(&|c| c.helped));
    let per_hour = |values: &[f64], per: f64| {
        let mean = stats::mean(values);
        Mean {
            mean: mean.mean / per,
            se: mean.se / per,
        }
    };
    let (busy, room, wait) = (
        stats::ratio(&hands, &bench),
        stats::ratio(&column(&|c| c.outcome.idle_room), &bench),
        stats::ratio(&column(&|c| c.outcome.idle_wait), &bench),
    );
    Ok(AtSize {
        size,
        finish_median: estimate(0.5)?,
        finish_kept: estimate(confidence)?,
        finish_first: date(0)?,
        finish_last: date(n - 1)?,
        clock_days: per_hour(&clock, DAY_MINUTES),
        hands_hours: per_hour(&hands, 60.0),
        helper_hours: helped
            .iter()
            .any(|minutes| *minutes > 0.0)
            .then(|| per_hour(&helped, 60.0)),
        due,
        limits: Limits {
            bench_hours: per_hour(&bench, 60.0),
            hands: busy,
            room,
            wait,
            hands_of_clock: stats::ratio(&hands, &clock),
            by: if busy.mean >= MOSTLY {
                LimitedBy::Hands
            } else if room.mean > wait.mean {
                LimitedBy::Room
            } else {
                LimitedBy::Wait
            },
        },
    })
}

fn by_date(runs: &Batch, start: Day, courses: &[Course]) -> Result<Vec<ByDate>, NoDate> {
    let mut out: Vec<(Day, u64)> = Vec::new();
    for (k, finish) in finishes(courses).into_iter().enumerate() {
        let day = day_of(start, finish).ok_or(NoDate::NoStart)?;
        let done = k as u64 + 1;
        match out.last_mut().filter(|(last, _)| *last == day) {
            Some((_, count)) => *count = done,
            None => out.push((day, done)),
        }
    }
    let shares = out.into_iter().map(|(date, done)| ByDate {
        date,
        done: runs.share(done),
    });
    Ok(shares.collect())
}

fn lever(
    scenario: &Scenario,
    tried: &Tried,
    start: Day,
    (base, with): (&[Course], &[Course]),
) -> Result<Lever, NoDate> {
    let earlier: Vec<f64> = base
        .iter()
        .zip(with)
        .map(|(base, with)| (base.outcome.finish - with.outcome.finish) / DAY_MINUTES)
        .collect();
    let finishes = finishes(with);
    let (step, second) = (tried.step.map(|k| &scenario.steps[k]), tried.more == More::Second);
    let date = |q: f64| day_of(start, finishes[reaching(finishes.len(), q) - 1]).ok_or(NoDate::NoStart);
    Ok(Lever {
        more: tried.more,
        step: step.filter(|_| !second).map(|step| step.name.clone()),
        kept_in: step.filter(|_| second).and_then(|step| step.kept_in.clone()),
        room: tried.room,
        days_earlier: stats::mean(&earlier),
        finish_median: date(0.5)?,
        finish_kept: date(scenario.confidence)?,
    })
}
