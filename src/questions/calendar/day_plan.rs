//! A scheduled trial day by day.

use super::{Bar, DayPlan, DayWork, PlanDay, Waiting, Way};
use crate::questions::calendar::days::{DAY_MINUTES, Day, day_of};
use crate::questions::calendar::rounds::Job;
use crate::questions::calendar::schedule::Log;
use crate::scenario::{Channel, Scenario};

/// A scheduled trial day by day.
pub(super) fn day_plan(
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
        let work = work_of(job, log, &place, (midnight, next));
        let closes = midnight + bench.map_or(DAY_MINUTES, |(_, end)| end);
        let overnight = waiting_at(job, log, &place, start, closes);
        days.push(PlanDay {
            date,
            bench_hours: bench.map_or(0.0, |(begin, end)| (end - begin) / 60.0),
            hands_hours: hours_of(&work, false),
            helper_hours: hours_of(&work, true),
            work,
            overnight,
        });
    }
    DayPlan {
        trial,
        start,
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

/// What is worked at on the day between two midnights.
fn work_of(job: &Job, log: &Log, place: &[usize], (midnight, next): (f64, f64)) -> Vec<DayWork> {
    let mut work: Vec<DayWork> = Vec::new();
    let today = log
        .worked
        .iter()
        .enumerate()
        .filter(|(_, w)| w.1 >= midnight && w.1 < next && w.2 > w.1);
    for (k, (task, from, until)) in today {
        let label = job.labels[*task];
        let step = place[label.step];
        // A task that goes on another day has its pieces counted then.
        let ends = log.worked.get(k + 1).is_none_or(|later| later.0 != *task);
        let pieces = if ends { label.pieces } else { 0 };
        let hours = (until - from) / 60.0;
        let helper = job.work.tasks()[*task].helper;
        let same = |done: &&mut DayWork| (done.step, done.helper, done.orders) == (step, helper, label.order);
        match work.iter_mut().find(same) {
            Some(done) => {
                done.hours += hours;
                done.pieces += pieces;
            }
            None => work.push(DayWork {
                step,
                hours,
                pieces,
                helper,
                orders: label.order,
            }),
        }
    }
    work
}

/// Hours of the helper, or of the maker, in a day.
fn hours_of(work: &[DayWork], helper: bool) -> f64 {
    // Not `sum`, whose nothing is -0.
    let own = work.iter().filter(|done| done.helper == helper);
    own.fold(0.0, |sum, done| sum + done.hours)
}

/// What still waits when the bench closes.
fn waiting_at(job: &Job, log: &Log, place: &[usize], start: Day, closes: f64) -> Vec<Waiting> {
    let mut overnight: Vec<Waiting> = Vec::new();
    for (task, from, until) in &log.waited {
        let label = job.labels[*task];
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
    overnight
}

/// What work is done at: the steps, then the orders of each channel, then those of seconds.
pub(super) fn parts(scenario: &Scenario) -> Vec<String> {
    let steps = scenario.steps.iter().map(|step| step.name.clone());
    let orders = scenario.channels.iter().map(orders_through);
    let of_seconds = scenario.seconds.iter().map(|_| "orders of seconds".to_owned());
    steps.chain(orders).chain(of_seconds).collect()
}

/// What work at a channel's orders is called, here and in a work log.
#[must_use]
pub fn orders_through(channel: &Channel) -> String {
    format!("orders through {}", channel.name)
}

/// Stretches of work and waiting at each step, those that touch or overlap joined.
pub(super) fn bars(job: &Job, log: &Log, place: &[usize]) -> Vec<Bar> {
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
