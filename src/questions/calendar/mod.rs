//! When a run is done: bench hours of the week, waits on the wall clock, one pair of hands and limited room.
//!
//! * Each trial's own times (`times`: the draws that `sweep` adds up) become rounds, pieces and orders (`rounds`, with the rules
//!   of what is done when), and these are scheduled on the bench hours (`schedule`, which knows neither dates nor chance).
//! * The finish is the end of the last task or wait: what is still drying is not done. Its date at confidence q is the first date
//!   by which at least a share q of the runs is done (the inverse of the distribution function, Hyndman and Fan's type 1: a date
//!   lies between no two others); its 95 % interval runs between binomial order statistics, in days.
//! * The latest start for a date is the last bench day from which the scenario's share of runs keeps it, looked for day by day from
//!   the date backwards. Days from which the hands-on minutes or the longest chain of waits cannot fit are passed over: no
//!   schedule is shorter than either.
//! * What limits: bench minutes between start and finish in which the hands are busy, in which what could be done has no room, and
//!   in which there is nothing but waiting. What one more place of room or bench hour brings forward is the paired difference of the
//!   same trials scheduled again.

mod days;
mod rounds;
pub mod schedule;
mod times;

pub use days::{DAY_MINUTES, Day, Opens, Week, day_of};

use super::{CHOICE_TRIALS, Settings, size_to_ask_about};
use crate::engine::LANES;
use crate::engine::stream::trial_keys;
use crate::scenario::{Buyers, Hours, Scenario, Spread, Step};
use crate::stats::{self, QuantileRank};
use crate::stats::{Mean, Share};
use rayon::prelude::*;
use rounds::{Job, Space, job};
use schedule::{Log, NoEnd, OpenHours, Outcome, Overnight, schedule};
use serde::Serialize;
use std::sync::atomic::{AtomicU64, Ordering};
use times::{Drawn, Times};

/// Simulated runs where nothing is said.
pub const TRIALS: u64 = 2_000;
/// Days of bench hours that are laid out at first, and at most (some 200 years).
const FIRST_HORIZON: i64 = 731;
const LAST_HORIZON: i64 = 73_100;
/// A latest start is looked for so many days back from the due date.
const SEARCH_DAYS: i64 = 3_660;
/// Hands that are busy in this share of the bench hours are what limits (assumption).
const MOSTLY: f64 = 2.0 / 3.0;
/// Hours a week that the bench is tried to be open longer.
const MORE_HOURS: f64 = 1.0;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// The run starts on the first bench day from there on.
    pub from: Day,
    /// The date it is due.
    pub due: Option<Day>,
    /// When a bench day begins.
    pub opens: Opens,
    /// Pieces of a run; the first is looked at closely. Empty: [`size_to_ask_about`].
    pub sizes: Vec<u32>,
    /// Whether it is the first run of the design, with what is done once.
    pub first_run: bool,
}

/// Why there is no date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoDate {
    /// The scenario has no bench hours.
    NoHours,
    /// No bench day comes after the start.
    NoStart,
    /// Some run of this many pieces takes longer than [`OpenHours`] are ever laid out.
    TooLong(u32),
}

/// The whole answer; its serialised form is the documented JSON of `calendar`. Dates as ISO 8601.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Calendar {
    /// The scenario's title.
    pub title: String,
    /// Share of runs that should keep a date.
    pub confidence: f64,
    /// Simulated runs of each size.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Whether nothing is left to chance: the dates are exact.
    pub certain: bool,
    /// The date asked for.
    pub from: Day,
    /// The bench day on which the run starts: the first from there on.
    pub start: Day,
    /// Bench hours of a week without days off.
    pub week_hours: f64,
    /// When a bench day begins (assumption of the command line).
    pub opens: Opens,
    /// Whether some bench day is too long to begin then and end by midnight: it begins earlier.
    pub begins_earlier: bool,
    /// Whether what is done once for the design is in it.
    pub first_run: bool,
    /// Hands-on hours done once for the design, on average, counted or not.
    pub once_hours: f64,
    /// The date it is due.
    pub due: Option<Day>,
    /// Pieces of the run that is looked at closely.
    pub size: u32,
    /// Every size asked for, ascending.
    pub sizes: Vec<AtSize>,
    /// Dates on which runs of `size` end, ascending.
    pub by_date: Vec<ByDate>,
    /// A run of `size` in the middle, day by day: of those with something to do at the median number of steps, the one that ends nearest
    /// the median finish.
    pub plan: DayPlan,
    /// What more room or hours would bring forward, for runs of `size`.
    pub levers: Vec<Lever>,
}

impl Calendar {
    /// The size that is looked at closely.
    #[must_use]
    pub fn asked(&self) -> Option<&AtSize> {
        self.sizes.iter().find(|at| at.size == self.size)
    }
}

/// One batch size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtSize {
    /// Pieces in the run.
    pub size: u32,
    /// Half the runs are done by then.
    pub finish_median: DateEstimate,
    /// The scenario's confidence of runs is done by then.
    pub finish_kept: DateEstimate,
    /// The earliest and the latest of all runs.
    pub finish_first: Day,
    /// The latest.
    pub finish_last: Day,
    /// Clock days from the start to the finish.
    pub clock_days: Mean,
    /// Hands-on hours.
    pub hands_hours: Mean,
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

/// A date and the share of runs done by then.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ByDate {
    /// The date.
    pub date: Day,
    /// Share of runs done by the end of it.
    pub done: Share,
}

/// How a due date is kept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DueAnswer {
    /// Share of runs done by then, started on [`Calendar::start`].
    pub kept: Share,
    /// The last bench day from which the scenario's confidence of runs keeps it; `None`: no day of the ten years before does.
    pub latest_start: Option<Day>,
    /// Share of runs that keep it from there.
    pub kept_then: Option<Share>,
    /// The bench day after that, where it comes no later than the due date.
    pub next_start: Option<Day>,
    /// Share of runs that keep it from there.
    pub kept_next: Option<Share>,
}

/// What limits a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LimitedBy {
    /// The hands are busy in most bench hours.
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
    /// Clock days that runs are done earlier, on average; paired, trial by trial.
    pub days_earlier: Mean,
    /// The median date then.
    pub finish_median: Day,
    /// The date that the scenario's confidence of runs keeps then.
    pub finish_kept: Day,
}

/// A run day by day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayPlan {
    /// Which trial it is, counted from 0.
    pub trial: u64,
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
    /// What is done, in the order in which it is begun.
    pub work: Vec<DayWork>,
    /// What waits when the bench closes.
    pub overnight: Vec<Waiting>,
}

/// What is done at one step in a day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DayWork {
    /// Index into [`DayPlan::steps`].
    pub step: usize,
    /// Hands-on hours.
    pub hours: f64,
    /// Pieces that are done with this day.
    pub pieces: u32,
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

/// A stretch of work or waiting, in days from midnight of the start.
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

/// One trial, scheduled. Minutes from midnight of the start.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Course {
    begin: f64,
    outcome: Outcome,
    /// With endless hands and hours.
    chain: f64,
    /// Steps that it has anything to do or to wait for at.
    steps: usize,
}

impl Course {
    fn clock(&self) -> f64 {
        self.outcome.finish - self.begin
    }

    fn bench(&self) -> f64 {
        self.outcome.hands + self.outcome.idle_room + self.outcome.idle_wait
    }
}

/// What is tried out.
#[derive(Debug, Clone, Copy)]
struct Tried {
    more: More,
    step: Option<usize>,
    room: Option<u32>,
}

/// How a run is scheduled: room and hours.
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
    let certain = is_certain(scenario, question.first_run);
    let week = Week::new(hours, question.opens);
    let start = week.first_from(question.from).ok_or(NoDate::NoStart)?;
    let size = question.sizes.first().copied().unwrap_or_else(|| {
        // The size is chosen by as many runs as for every other question.
        let trials = settings.trials.max(CHOICE_TRIALS);
        size_to_ask_about(scenario, &Settings { trials, ..settings })
    });
    let mut sizes = question.sizes.clone();
    sizes.push(size);
    sizes.sort_unstable();
    sizes.dedup();
    let base = Way {
        space: Space::of(scenario),
        week: week.clone(),
    };
    let runs = |size: u32| Runs {
        times: Times::new(scenario, size),
        size,
        once: question.first_run,
        trials: if certain { 1 } else { settings.trials },
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
        let scheduled: Vec<&Way<'_>> = std::iter::once(&base).chain(ways.iter().map(|(_, way)| way)).collect();
        let mut courses = runs.courses(&scheduled, start, &|done| {
            progress(share_each * (k as f64 + 0.5 * done))
        })?;
        progress(share_each * (k as f64 + 0.5));
        let due = question
            .due
            .map(|due| runs.due(&base, start, due, &courses[0], scenario.confidence))
            .transpose()?;
        at_sizes.push(at_size(of, start, &courses[0], scenario.confidence, due)?);
        if of == size {
            let others = courses.split_off(1);
            let levers: Vec<Lever> = ways
                .iter()
                .zip(&others)
                .map(|((what, _), course)| lever(scenario, what, start, (&courses[0], course)))
                .collect::<Result<_, _>>()?;
            let plan = runs.plan(scenario, &base, start, &courses[0])?;
            let by_date = by_date(start, &courses[0])?;
            closely = Some((by_date, plan, levers));
        }
        progress(share_each * (k as f64 + 1.0));
    }
    let (by_date, plan, levers) = closely.ok_or(NoDate::NoStart)?;
    progress(1.0);
    Ok(Calendar {
        title: scenario.title.clone(),
        confidence: scenario.confidence,
        trials: if certain { 1 } else { settings.trials },
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        certain,
        from: question.from,
        start,
        week_hours: hours.week(),
        opens: question.opens,
        begins_earlier: week.begins_earlier(),
        first_run: question.first_run,
        once_hours: crate::model::hours::once_hours(scenario),
        due: question.due,
        size,
        sizes: at_sizes,
        by_date,
        plan,
        levers,
    })
}

/// Whether nothing that bears on the dates is left to chance.
fn is_certain(scenario: &Scenario, once: bool) -> bool {
    let packs = crate::model::hours::order_minutes(scenario)
        .iter()
        .any(|minutes| *minutes > 0.0);
    let demand = scenario.season.as_ref().is_none_or(|season| match &season.buyers {
        Buyers::Range(range) => range.is_certain(),
        Buyers::Seen(seen) => seen.windows(2).all(|w| w[0] == w[1]),
    });
    let sure = |spread: &Spread| spread.is_certain();
    let orders = scenario.sales().iter().all(|sale| sure(&sale.order_of))
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
    sure(&scenario.pace) && steps && (!packs || (orders && demand))
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

/// The trials of one size.
struct Runs {
    times: Times,
    size: u32,
    once: bool,
    trials: u64,
    seed: u64,
}

impl Runs {
    /// Every trial scheduled in each way; the outer list is by way.
    fn courses(
        &self,
        ways: &[&Way<'_>],
        start: Day,
        progress: &(dyn Fn(f64) + Sync),
    ) -> Result<Vec<Vec<Course>>, NoDate> {
        let mut horizon = FIRST_HORIZON;
        loop {
            let benches: Vec<OpenHours> = ways.iter().map(|way| way.week.bench(start, horizon)).collect();
            let set: Vec<(&Space, &OpenHours)> = ways
                .iter()
                .zip(&benches)
                .map(|(way, bench)| (&way.space, bench))
                .collect();
            let found = self.scheduled(&set, progress);
            let all: Option<Vec<Vec<Course>>> = found.into_iter().map(|way| way.into_iter().collect()).collect();
            match all {
                Some(courses) => return Ok(courses),
                None if horizon >= LAST_HORIZON => return Err(NoDate::TooLong(self.size)),
                None => horizon = (horizon * 10).min(LAST_HORIZON),
            }
        }
    }

    /// Every trial with each room and bench; `None` where the bench hours end first.
    fn scheduled(&self, ways: &[(&Space, &OpenHours)], progress: &(dyn Fn(f64) + Sync)) -> Vec<Vec<Option<Course>>> {
        let groups = self.trials.div_ceil(LANES as u64);
        let done = AtomicU64::new(0);
        let by_group: Vec<Vec<Vec<Option<Course>>>> = (0..groups)
            .into_par_iter()
            .map(|group| {
                let left = (self.trials - group * LANES as u64).min(LANES as u64) as usize;
                let drawn = self.times.group(&trial_keys(self.seed, group));
                let one = |space: &Space, bench: &OpenHours, drawn: &Drawn| {
                    course(&job(&self.times, drawn, space, self.once), bench)
                };
                let found = ways
                    .iter()
                    .map(|(space, bench)| drawn[..left].iter().map(|drawn| one(space, bench, drawn)).collect())
                    .collect();
                let so_far = done.fetch_add(1, Ordering::Relaxed) + 1;
                progress(so_far as f64 / groups as f64);
                found
            })
            .collect();
        let mut out: Vec<Vec<Option<Course>>> = ways.iter().map(|_| Vec::with_capacity(self.trials as usize)).collect();
        for group in by_group {
            for (out, courses) in out.iter_mut().zip(group) {
                out.extend(courses);
            }
        }
        out
    }

    /// Share of runs done by the end of `due` that are started on `start`.
    fn kept(&self, way: &Way<'_>, start: Day, due: Day) -> Share {
        let days = start.days_to(due);
        let kept = if days < 0 {
            0
        } else {
            let bench = way.week.bench(start, days + 1);
            let found = self.scheduled(&[(&way.space, &bench)], &|_| ());
            let end = (days + 1) as f64 * DAY_MINUTES + 1e-6;
            let in_time = found.iter().flatten().flatten().filter(|c| c.outcome.finish <= end);
            in_time.count() as u64
        };
        stats::wilson(kept, self.trials)
    }

    /// How a due date is kept, and from when on it is not.
    fn due(
        &self,
        way: &Way<'_>,
        start: Day,
        due: Day,
        courses: &[Course],
        confidence: f64,
    ) -> Result<DueAnswer, NoDate> {
        let rank = rank_of(courses.len(), confidence);
        let at_rank = |of: fn(&Course) -> f64| {
            let mut values: Vec<f64> = courses.iter().map(of).collect();
            values.sort_by(f64::total_cmp);
            values[rank]
        };
        let (hands, chain) = (at_rank(|c| c.outcome.hands), at_rank(|c| c.chain));
        let mut capacity = 0.0;
        let mut day = Some(due);
        let mut latest = None;
        for back in 0..SEARCH_DAYS {
            let Some(date) = day else { break };
            if let Some((begin, end)) = way.week.on(date) {
                capacity += end - begin;
                let clock = (back + 1) as f64 * DAY_MINUTES - begin;
                if capacity + 1e-6 >= hands && clock + 1e-6 >= chain {
                    let kept = self.kept(way, date, due);
                    if kept.share >= confidence {
                        latest = Some((date, kept));
                        break;
                    }
                }
            }
            day = date.plus(-1);
        }
        let next = latest
            .and_then(|(date, _)| date.plus(1))
            .and_then(|day| way.week.first_from(day))
            .filter(|day| *day <= due);
        let end = (start.days_to(due) + 1) as f64 * DAY_MINUTES + 1e-6;
        let kept = courses.iter().filter(|c| c.outcome.finish <= end).count() as u64;
        Ok(DueAnswer {
            kept: stats::wilson(kept, self.trials),
            latest_start: latest.map(|l| l.0),
            kept_then: latest.map(|l| l.1),
            next_start: next,
            kept_next: next.map(|day| self.kept(way, day, due)),
        })
    }

    /// A run in the middle, day by day.
    fn plan(&self, scenario: &Scenario, way: &Way<'_>, start: Day, courses: &[Course]) -> Result<DayPlan, NoDate> {
        let mut order: Vec<usize> = (0..courses.len()).collect();
        order.sort_by(|a, b| {
            let finish = |k: usize| courses[k].outcome.finish;
            finish(*a).total_cmp(&finish(*b)).then(a.cmp(b))
        });
        let trial = middle(&order, courses);
        let drawn = self.times.group(&trial_keys(self.seed, (trial / LANES) as u64));
        let job = job(&self.times, &drawn[trial % LANES], &way.space, self.once);
        let finish = day_of(start, courses[trial].outcome.finish).ok_or(NoDate::TooLong(self.size))?;
        let days = start.days_to(finish) + 1;
        // What waits at the end may end on a later day than the last work.
        let bench = way.week.bench(start, days);
        let mut log = Log::default();
        let begin = bench.next_open(0.0).ok_or(NoDate::NoStart)?;
        schedule(&job.work, &bench, begin, Overnight::Pauses, Some(&mut log))
            .map_err(|_| NoDate::TooLong(self.size))?;
        Ok(day_plan(scenario, way, (start, finish), trial as u64, &job, &log))
    }
}

/// One trial on a bench.
fn course(job: &Job, bench: &OpenHours) -> Option<Course> {
    let begin = bench.next_open(0.0)?;
    match schedule(&job.work, bench, begin, Overnight::Pauses, None) {
        Ok(outcome) => Some(Course {
            begin,
            outcome,
            chain: job.work.longest_chain(),
            steps: busy_steps(job),
        }),
        Err(NoEnd::NoHours | NoEnd::NoRoom) => None,
    }
}

/// Steps at which anything is done or waited for.
fn busy_steps(job: &Job) -> usize {
    let mut busy = Vec::new();
    for (task, label) in job.work.tasks().iter().zip(&job.labels) {
        if task.wait > 0.0 || task.hands.is_some_and(|minutes| minutes > 0.0) {
            busy.resize(busy.len().max(label.step + 1), false);
            busy[label.step] = true;
        }
    }
    busy.into_iter().filter(|busy| *busy).count()
}

/// The trial to show of `order`, which is by finish. Where a run comes to nothing, because its piece is spoiled or nobody buys, steps
/// have nothing to do; one such run may have the median finish, and a plan without packing would stand for all that have it.
fn middle(order: &[usize], courses: &[Course]) -> usize {
    let half = rank_of(order.len(), 0.5);
    let mut steps: Vec<usize> = courses.iter().map(|course| course.steps).collect();
    steps.sort_unstable();
    // Runs that come to nothing have fewer; of those in which pieces are made again as many as the others.
    let usual = steps[half];
    let nearest = (0..order.len()).filter(|rank| courses[order[*rank]].steps == usual);
    order[nearest.min_by_key(|rank| rank.abs_diff(half)).unwrap_or(half)]
}

/// Index of the smallest of `n` sorted values that a share `q` of them does not exceed.
fn rank_of(n: usize, q: f64) -> usize {
    let rank = libm::ceil(n as f64 * q - 1e-9) as usize;
    rank.clamp(1, n) - 1
}

/// Finishes in ascending order.
fn finishes(courses: &[Course]) -> Vec<f64> {
    let mut values: Vec<f64> = courses.iter().map(|c| c.outcome.finish).collect();
    values.sort_by(f64::total_cmp);
    values
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
        let day = date(rank_of(n, q))?;
        Ok(DateEstimate {
            date: day,
            days: start.days_to(day),
            low: date(place.low)?,
            high: date(place.high)?,
        })
    };
    let column = |of: &dyn Fn(&Course) -> f64| courses.iter().map(of).collect::<Vec<f64>>();
    let (clock, bench) = (column(&Course::clock), column(&Course::bench));
    let hands = column(&|c| c.outcome.hands);
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

fn by_date(start: Day, courses: &[Course]) -> Result<Vec<ByDate>, NoDate> {
    let n = courses.len() as u64;
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
        done: stats::wilson(done, n),
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
    let date = |q: f64| day_of(start, finishes[rank_of(finishes.len(), q)]).ok_or(NoDate::NoStart);
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

/// A scheduled trial day by day.
fn day_plan(
    scenario: &Scenario,
    way: &Way<'_>,
    (start, finish): (Day, Day),
    trial: u64,
    job: &Job,
    log: &Log,
) -> DayPlan {
    let of = |task: usize| job.labels[task];
    // Steps that there is anything to see of, and their places among those.
    let names: Vec<String> = parts(scenario);
    let mut seen = vec![false; names.len()];
    for (task, ..) in log.worked.iter().filter(|w| w.2 > w.1).chain(&log.waited) {
        seen[of(*task).step] = true;
    }
    let place: Vec<usize> = seen
        .iter()
        .scan(0, |next, seen| {
            let here = *next;
            *next += usize::from(*seen);
            Some(here)
        })
        .collect();
    let mut days = Vec::new();
    let mut day = Some(start);
    let mut number = 0.0;
    while let Some(date) = day.filter(|date| *date <= finish) {
        let (midnight, next) = (number * DAY_MINUTES, (number + 1.0) * DAY_MINUTES);
        number += 1.0;
        day = date.plus(1);
        let bench = way.week.on(date);
        if bench.is_none() && date != finish {
            continue;
        }
        let mut work: Vec<DayWork> = Vec::new();
        let today = log
            .worked
            .iter()
            .enumerate()
            .filter(|(_, w)| w.1 >= midnight && w.1 < next && w.2 > w.1);
        for (k, (task, from, until)) in today {
            let label = of(*task);
            let step = place[label.step];
            // A task that goes on another day has its pieces counted then.
            let ends = log.worked.get(k + 1).is_none_or(|later| later.0 != *task);
            let pieces = if ends { label.pieces } else { 0 };
            let hours = (until - from) / 60.0;
            match work.iter_mut().find(|done| done.step == step) {
                Some(done) => {
                    done.hours += hours;
                    done.pieces += pieces;
                }
                None => work.push(DayWork { step, hours, pieces }),
            }
        }
        let closes = midnight + bench.map_or(DAY_MINUTES, |(_, end)| end);
        let mut overnight: Vec<Waiting> = Vec::new();
        for (task, from, until) in &log.waited {
            let label = of(*task);
            if label.waiting == 0 || *from > closes || *until <= closes {
                continue;
            }
            let step = place[label.step];
            let Some(day) = day_of(start, *until) else { continue };
            let waiting = Waiting {
                step,
                pieces: label.waiting,
                until: day,
                until_minute: until - start.days_to(day) as f64 * DAY_MINUTES,
            };
            match overnight.iter_mut().find(|other| other.step == step) {
                Some(other) => {
                    other.pieces += waiting.pieces;
                    if (waiting.until, waiting.until_minute) > (other.until, other.until_minute) {
                        (other.until, other.until_minute) = (waiting.until, waiting.until_minute);
                    }
                }
                None => overnight.push(waiting),
            }
        }
        days.push(PlanDay {
            date,
            bench_hours: bench.map_or(0.0, |(begin, end)| (end - begin) / 60.0),
            hands_hours: work.iter().map(|done| done.hours).sum(),
            work,
            overnight,
        });
    }
    DayPlan {
        trial,
        finish,
        steps: names
            .into_iter()
            .zip(&seen)
            .filter(|(_, seen)| **seen)
            .map(|(name, _)| name)
            .collect(),
        days,
        bars: bars(job, log, &place),
    }
}

/// What work is done at: the steps, then the orders of each channel.
fn parts(scenario: &Scenario) -> Vec<String> {
    let steps = scenario.steps.iter().map(|step| step.name.clone());
    let orders = scenario
        .channels
        .iter()
        .map(|channel| format!("orders through {}", channel.name));
    steps.chain(orders).collect()
}

/// Stretches of work and waiting at each step, those that touch or overlap joined.
fn bars(job: &Job, log: &Log, place: &[usize]) -> Vec<Bar> {
    let mut bars: Vec<Bar> = Vec::new();
    for (wait, list) in [(true, &log.waited), (false, &log.worked)] {
        let mut stretches: Vec<(usize, f64, f64)> = list
            .iter()
            .filter(|(_, from, until)| until > from)
            .map(|(task, from, until)| (place[job.labels[*task].step], *from, *until))
            .collect();
        stretches.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let first = bars.len();
        for (step, from, until) in stretches {
            let (from, until) = (from / DAY_MINUTES, until / DAY_MINUTES);
            match bars[first..].last_mut() {
                Some(bar) if bar.step == step && from <= bar.until + 1e-9 => bar.until = bar.until.max(until),
                _ => bars.push(Bar {
                    step,
                    wait,
                    from,
                    until,
                }),
            }
        }
    }
    bars
}
