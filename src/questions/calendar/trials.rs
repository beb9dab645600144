//! The trials of one size, scheduled on bench hours.

use super::day_plan::day_plan;
use super::{DayPlan, DueAnswer, NoDate, Way};
use crate::engine::LANES;
use crate::laws::reaching;
use crate::parallel;
use crate::questions::calendar::days::{DAY_MINUTES, Day, day_of};
use crate::questions::calendar::rounds::{Job, Space, job};
use crate::questions::calendar::schedule::{Log, NoEnd, OpenHours, Outcome, schedule};
use crate::questions::calendar::times::{Drawn, Times};
use crate::scenario::Scenario;
use crate::stats::{self, Share};
use std::sync::atomic::{AtomicU64, Ordering};

/// The trials of one size.
pub(super) struct Batch {
    pub(super) times: Times,
    pub(super) size: u32,
    pub(super) once: bool,
    pub(super) trials: u64,
    /// Nothing is left to chance.
    pub(super) certain: bool,
    pub(super) seed: u64,
}

impl Batch {
    /// Every trial scheduled in each way; the outer list is by way.
    pub(super) fn courses(
        &self,
        ways: &[&Way<'_>],
        start: Day,
        progress: &(dyn Fn(f64) + Sync),
    ) -> Result<Vec<Vec<Course>>, NoDate> {
        let mut horizon = FIRST_HORIZON;
        // One group tells how many days it takes about, so that not all trials are scheduled on too few of them in vain.
        let mut trials = self.trials.min(LANES as u64);
        loop {
            let benches: Vec<OpenHours> = ways.iter().map(|way| way.week.bench(start, horizon)).collect();
            let set: Vec<(&Space, &OpenHours)> = ways
                .iter()
                .zip(&benches)
                .map(|(way, bench)| (&way.space, bench))
                .collect();
            let whole = trials == self.trials;
            let found = self.scheduled(&set, trials, if whole { progress } else { &|_| () });
            let all: Option<Vec<Vec<Course>>> = found.into_iter().map(|way| way.into_iter().collect()).collect();
            match all {
                Some(courses) if whole => return Ok(courses),
                Some(_) => trials = self.trials,
                None if horizon >= LAST_HORIZON => return Err(NoDate::TooLong(self.size)),
                None => horizon = (horizon * 10).min(LAST_HORIZON),
            }
        }
    }

    /// The first `trials` with each room and bench; `None` where the bench hours end first.
    pub(super) fn scheduled(
        &self,
        ways: &[(&Space, &OpenHours)],
        trials: u64,
        progress: &(dyn Fn(f64) + Sync),
    ) -> Vec<Vec<Option<Course>>> {
        let groups = trials.div_ceil(LANES as u64);
        let done = AtomicU64::new(0);
        let by_group: Vec<Vec<Vec<Option<Course>>>> = parallel::map(groups as usize, |group| {
            let group = group as u64;
            let left = (trials - group * LANES as u64).min(LANES as u64) as usize;
            let drawn = self.times.group(self.seed, group);
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
        });
        let mut out: Vec<Vec<Option<Course>>> = ways.iter().map(|_| Vec::with_capacity(trials as usize)).collect();
        for group in by_group {
            for (out, courses) in out.iter_mut().zip(group) {
                out.extend(courses);
            }
        }
        out
    }

    /// Share of trials done by the end of `due` that are started on `start`.
    pub(super) fn kept(&self, way: &Way<'_>, start: Day, due: Day) -> Share {
        let days = start.days_to(due);
        let kept = if days < 0 {
            0
        } else {
            let bench = way.week.bench(start, days + 1);
            let found = self.scheduled(&[(&way.space, &bench)], self.trials, &|_| ());
            let end = (days + 1) as f64 * DAY_MINUTES + 1e-6;
            let in_time = found.iter().flatten().flatten().filter(|c| c.outcome.finish <= end);
            in_time.count() as u64
        };
        self.share(kept)
    }

    /// The share that so many of the trials are. Where nothing is left to chance one stands for all, and there is no error.
    pub(super) fn share(&self, many: u64) -> Share {
        if self.certain {
            let share = many as f64 / self.trials as f64;
            return Share {
                share,
                low: share,
                high: share,
            };
        }
        stats::wilson(many, self.trials)
    }

    /// How a due date is kept, and from when on it is not.
    pub(super) fn due(
        &self,
        way: &Way<'_>,
        start: Day,
        due: Day,
        courses: &[Course],
        confidence: f64,
    ) -> Result<DueAnswer, NoDate> {
        let rank = reaching(courses.len(), confidence) - 1;
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
            kept: self.share(kept),
            latest_start: latest.map(|l| l.0),
            kept_then: latest.map(|l| l.1),
            next_start: next,
            kept_next: next.map(|day| self.kept(way, day, due)),
        })
    }

    /// A batch in the middle, day by day.
    pub(super) fn plan(
        &self,
        scenario: &Scenario,
        way: &Way<'_>,
        start: Day,
        courses: &[Course],
    ) -> Result<DayPlan, NoDate> {
        let mut order: Vec<usize> = (0..courses.len()).collect();
        order.sort_by(|a, b| {
            let finish = |k: usize| courses[k].outcome.finish;
            finish(*a).total_cmp(&finish(*b)).then(a.cmp(b))
        });
        let trial = middle(&order, courses);
        let drawn = self.times.group(self.seed, (trial / LANES) as u64);
        let job = job(&self.times, &drawn[trial % LANES], &way.space, self.once);
        let finish = day_of(start, courses[trial].outcome.finish).ok_or(NoDate::TooLong(self.size))?;
        let days = start.days_to(finish) + 1;
        // What waits at the end may end on a later day than the last work.
        let bench = way.week.bench(start, days);
        let mut log = Log::default();
        let begin = bench.next_open(0.0).ok_or(NoDate::NoStart)?;
        schedule(&job.work, &bench, begin, Some(&mut log)).map_err(|_| NoDate::TooLong(self.size))?;
        Ok(day_plan(scenario, way, (start, finish), trial as u64, &job, &log))
    }
}

/// One trial, scheduled. Minutes from midnight of the start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Course {
    pub(super) begin: f64,
    pub(super) outcome: Outcome,
    /// Minutes of the helper.
    pub(super) helped: f64,
    /// With endless hands and hours.
    pub(super) chain: f64,
    /// Steps that it has anything to do or to wait for at.
    pub(super) steps: usize,
}

impl Course {
    pub(super) fn clock(&self) -> f64 {
        self.outcome.finish - self.begin
    }

    pub(super) fn bench(&self) -> f64 {
        self.outcome.hands + self.outcome.idle_room + self.outcome.idle_wait
    }
}

/// One trial on a bench.
pub(super) fn course(job: &Job, bench: &OpenHours) -> Option<Course> {
    let begin = bench.next_open(0.0)?;
    match schedule(&job.work, bench, begin, None) {
        Ok(outcome) => Some(Course {
            begin,
            outcome,
            helped: job.work.helped(),
            chain: job.work.longest_chain(),
            steps: busy_steps(job),
        }),
        Err(NoEnd::NoHours | NoEnd::NoRoom) => None,
    }
}

/// Steps at which anything is done or waited for.
pub(super) fn busy_steps(job: &Job) -> usize {
    let mut busy = Vec::new();
    for (task, label) in job.work.tasks().iter().zip(&job.labels) {
        if task.wait > 0.0 || task.hands.is_some_and(|minutes| minutes > 0.0) {
            busy.resize(busy.len().max(label.step + 1), false);
            busy[label.step] = true;
        }
    }
    busy.into_iter().filter(|busy| *busy).count()
}

/// The trial to show of `order`, which is by finish. Where a batch comes to nothing, because its piece is spoiled or nobody buys, steps
/// have nothing to do; one such batch may have the median finish, and a plan without packing would stand for all that have it.
pub(super) fn middle(order: &[usize], courses: &[Course]) -> usize {
    let half = reaching(order.len(), 0.5) - 1;
    let mut steps: Vec<usize> = courses.iter().map(|course| course.steps).collect();
    steps.sort_unstable();
    // Trials that come to nothing have fewer; of those in which pieces are made again as many as the others.
    let usual = steps[half];
    let nearest = (0..order.len()).filter(|rank| courses[order[*rank]].steps == usual);
    order[nearest.min_by_key(|rank| rank.abs_diff(half)).unwrap_or(half)]
}

/// Finishes in ascending order.
pub(super) fn finishes(courses: &[Course]) -> Vec<f64> {
    let mut values: Vec<f64> = courses.iter().map(|c| c.outcome.finish).collect();
    values.sort_by(f64::total_cmp);
    values
}

/// Days of bench hours that are laid out at first, and at most (some 200 years).
pub(super) const FIRST_HORIZON: i64 = 731;

pub(super) const LAST_HORIZON: i64 = 73_100;

/// A latest start is looked for so many days back from the due date.
pub(super) const SEARCH_DAYS: i64 = 3_660;
