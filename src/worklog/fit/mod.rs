//! Work log to estimates, step by step.
//!
//! **What a setup, a piece and an order take** comes from one hierarchical model of the step's entries (`worklog/hierarchy/mod.rs`, with its method, sources and
//! limits): jobs have a pace, setups and pieces vary each by itself, the file is a weak prior, and slips of the pen are set apart and named.
//! A step that has no setup in the scenario keeps none unless the log shows one (with 97.5 % probability).
//!
//! **What cannot be told apart.** Setup and the time a piece are each held against the file by their own 95 % interval, both free. Where neither
//! is off, their sum at a job of the log's size ([`Sum`]) may still be, and then only that is said: a part is never blamed by taking the other
//! as known.
//!
//! **New ranges are predictive.** They are those under which a new batch of the file's sizes is as uncertain as the log leaves it: what jobs, setups and
//! pieces vary by and what few entries leave open of the means (`worklog/ranges.rs`). After five jobs they are wide, after sixty narrow.
//!
//! **What stays.** A part with fewer than [`ENOUGH`] jobs stays as the file has it, unless the sum of its entries is further off than the file's own
//! ranges and pace allow (1.96 standard deviations; where the file says for certain, Student's t of the entries' own ratios); then its range is scaled by actual
//! over expected minutes (assumption). One job alone changes nothing but what is done once for a design. Where the file says all of it already ([`Fit::settled`]), nothing is written.
//!
//! **Reading after reading.** The file that a log is put into keeps what was guessed before (`worklog/fit/guess.rs`), and the whole log is read beside that: however
//! often it is written between, the same log gives the same estimates.
//!
//! **Pace.** A job's ratio is its actual minutes over what the file's steps expect of the same entries, pace not counted. Where every time is new
//! the times contain the pace: its mean is then 1, and its spread is what batches differ by as a whole. Where any time stays, so does the pace.
//!
//! **Chances.** Spoiled of handled, and redone of done (pieces and repeats), with exact binomial limits (`stats::clopper_pearson`): a
//! few pieces lost of a few prove little, and an approximation that is too narrow there would make much of them. With fewer than
//! [`ENOUGH`] jobs they stay, as times do: a file that names no chance says 0, which any piece lost contradicts.

mod answer;
mod guess;
mod measured;
mod next;
mod pace;
mod renewed;
mod step;

pub use answer::*;
pub use renewed::from_moments;

use super::own_times::OwnTimes;
use super::{Entry, Log, logged_at, ranges};
use crate::scenario::{Sale, Scenario, Spread, Step, Tries};
use guess::{Pace, guessed};
use measured::{Timed, jobs_of};
use next::next;
use pace::{common, paced, shared};
use renewed::renewed;
use std::collections::{HashMap, HashSet};
use step::Fitted;

/// Jobs from which on a step's times come from the log, and the pace from the jobs.
pub const ENOUGH: usize = 5;
/// Share of jobs within the band that is drawn, and that ranges are made for.
pub const BAND: f64 = 0.8;

/// Makes estimates of a log for a scenario.
#[must_use]
pub fn fit(scenario: &Scenario, log: &Log) -> Fit {
    fit_with(scenario, log, &[])
}

/// [`fit`], where some steps keep their own times as they were logged (of the same scenario and log).
#[must_use]
pub fn fit_with(scenario: &Scenario, log: &Log, own: &[OwnTimes]) -> Fit {
    let guess = guessed(scenario);
    let pace = [scenario, &guess].map(|file| Pace::of(&file.pace));
    let (whole, parts_alone) = log.whole();
    let (at, before) = (logged_at(scenario), logged_at(&guess));
    let entries = by_step(&at, &whole);
    let mut steps: Vec<Fitted<'_>> = at
        .iter()
        .zip(&before)
        .zip(&entries)
        .map(|((step, guess), entries)| Fitted::new([step, guess], entries, pace))
        .collect();
    if let Some(common) = common(&steps) {
        for measured in steps
            .iter_mut()
            .flat_map(|s| [&mut s.work, &mut s.orders].into_iter().flatten())
        {
            measured.again(&common);
        }
    }
    let channels = scenario.channels.iter().filter(|channel| channel.per_order.is_some());
    for (fitted, channel) in steps.iter_mut().skip(scenario.steps.len()).zip(channels) {
        fitted.step.channel = Some(channel.name.clone());
    }
    for fitted in &mut steps {
        fitted.tell(pace);
    }
    let complete = at.iter().zip(&steps).all(|(step, fitted)| {
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
    let [pace, _] = pace;
    let kept = if all_new { 1.0 } else { pace.mean };
    let shared = shared(&steps);
    let (spread, are_written) = renewed(scenario, &mut steps, kept, (!all_new).then_some(pace.varies), shared);
    for own in own {
        for fitted in steps.iter_mut().filter(|fitted| fitted.step.name == own.step) {
            fitted.keep(own, kept);
        }
    }
    let paced = paced((scenario, &at), &steps, &whole, (all_new, spread, shared));
    let settled = if guess == *scenario {
        are_written && steps.iter().all(|fitted| settled(&fitted.step))
    } else {
        // Beside a guess that is kept nothing is counted twice, so that the log may be put in however little it changes.
        paced.is_written() && steps.iter().all(|fitted| fitted.step.is_written())
    };
    let mut set_apart: Vec<Apart> = steps.iter().flat_map(Fitted::set_apart).collect();
    set_apart.sort_by_key(|apart| apart.line);
    Fit {
        title: scenario.title.clone(),
        entries: steps.iter().map(|s| s.step.entries).sum(),
        minutes: steps.iter().map(|s| s.step.minutes).sum(),
        expected: steps.iter().map(|s| s.step.expected).sum(),
        unknown: unknown(&at, log),
        next: next(scenario, &steps),
        steps: steps.into_iter().map(|s| s.step).collect(),
        pace: paced,
        set_apart,
        parts_alone,
        never_logged: never_logged(scenario),
        complete,
        pace_kept: kept,
        settled,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

/// The entries of each step, with the number of their job.
fn by_step<'a>(steps: &[Step], whole: &'a [Entry]) -> Vec<Vec<Timed<'a>>> {
    let place: HashMap<&str, usize> = steps.iter().enumerate().map(|(k, s)| (s.name.as_str(), k)).collect();
    let mut entries = vec![Vec::new(); steps.len()];
    for (entry, job) in whole.iter().zip(jobs_of(whole)) {
        if let Some(k) = place.get(entry.step.as_str()) {
            entries[*k].push(Timed {
                entry,
                job,
                minutes: entry.minutes,
            });
        }
    }
    entries
}

/// Whether a step of the file says already what the log says of it; what a batch takes there is looked at in [`ranges::are_written`].
fn settled(step: &StepFit) -> bool {
    let stays = |part: &Part| match part.from {
        From::File => true,
        From::Log => part.says != Says::Differs && (part.key != "once" || part.was.is_near(&part.new)),
        From::Ratio | From::Logged => false,
    };
    let sum_is_off = step
        .work
        .as_ref()
        .and_then(|work| work.sum)
        .is_some_and(|sum| sum.differs);
    !step.contradicts_a_chance() && !sum_is_off && step.parts.iter().all(stays)
}

fn never_logged(scenario: &Scenario) -> Vec<&'static str> {
    let sales = scenario.sales();
    let tried = |tries: fn(&Sale) -> &Tries| sales.iter().any(|sale| !tries(sale).minutes.is_zero());
    let of_seconds = scenario.seconds.as_ref().and_then(|seconds| seconds.per_order.as_ref());
    [
        ("quotes", tried(|sale| &sale.quote)),
        ("enquiries", tried(|sale| &sale.enquiry)),
        ("selling days", !scenario.selling_days.is_empty()),
        ("orders of seconds", of_seconds.is_some_and(|time| !time.is_zero())),
    ]
    .into_iter()
    .filter_map(|(what, there)| there.then_some(what))
    .collect()
}

fn unknown(at: &[Step], log: &Log) -> Vec<Unknown> {
    let names = || at.iter().map(|s| s.name.as_str());
    let there: HashSet<&str> = names().collect();
    let mut list: Vec<Unknown> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::new();
    for entry in log.entries.iter().filter(|e| !there.contains(e.step.as_str())) {
        let k = *known.entry(&entry.step).or_insert_with(|| {
            list.push(Unknown {
                name: entry.step.clone(),
                entries: 0,
                nearest: crate::scenario::nearest(&entry.step, names()).map(str::to_owned),
            });
            list.len() - 1
        });
        list[k].entries += 1;
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
