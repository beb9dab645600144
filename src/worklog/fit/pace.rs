//! What the jobs of a log have in common: their pace.

use super::ENOUGH;
use super::answer::{Job, PaceFit, Range};
use super::measured::Measured;
use super::renewed::{CERTAIN, from_moments};
use super::step::Fitted;
use crate::scenario::{Scenario, Step};
use crate::stats;
use crate::stats::estimate::Estimate;
use crate::worklog::hierarchy::{Deviation, InCommon};
use crate::worklog::units::WorkUnits;
use crate::worklog::{Entry, What};
use std::collections::{BTreeMap, HashMap};

/// Measured steps with enough jobs.
pub(super) fn known<'b, 'a>(steps: &'b [Fitted<'a>]) -> Vec<&'b Measured<'a>> {
    let all = steps.iter().flat_map(|s| [&s.work, &s.orders].into_iter().flatten());
    all.filter(|m| m.enough()).collect()
}

/// What jobs say of the pace where several of their steps are known; `None` where fewer than [`ENOUGH`] jobs have several.
pub(super) fn common(steps: &[Fitted<'_>]) -> Option<InCommon> {
    let mut jobs: BTreeMap<usize, Vec<Deviation>> = BTreeMap::new();
    for (job, deviation) in known(steps).into_iter().flat_map(Measured::deviations) {
        jobs.entry(job).or_default().push(deviation);
    }
    let several: Vec<Vec<Deviation>> = jobs.into_values().filter(|job| job.len() > 1).collect();
    (several.len() >= ENOUGH).then(|| InCommon::of(&several))
}

/// Squared coefficient of variation of the pace as all steps have it; `None` where no step has enough jobs.
pub(super) fn shared(steps: &[Fitted<'_>]) -> Option<f64> {
    let known = known(steps);
    let all: f64 = known.iter().map(|m| m.found.varies()[0]).sum();
    (!known.is_empty()).then(|| all / known.len() as f64)
}

/// Jobs with their minutes and those that the steps of `at` expect for them, of entries that are not set apart.
fn jobs_of(at: &[Step], steps: &[Fitted<'_>], entries: &[Entry]) -> Vec<Job> {
    let mut apart: Vec<usize> = steps.iter().flat_map(|s| s.set_apart()).map(|a| a.line).collect();
    apart.sort_unstable();
    let place: HashMap<&str, &Step> = at.iter().map(|s| (s.name.as_str(), s)).collect();
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
    jobs
}

pub(super) fn paced(
    (scenario, at): (&Scenario, &[Step]),
    steps: &[Fitted<'_>],
    entries: &[Entry],
    (all_new, spread, shared): (bool, Option<f64>, Option<f64>),
) -> PaceFit {
    let jobs = jobs_of(at, steps, entries);
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
            // Jobs that agree to the minute say nothing of how jobs differ.
            let se = (variance > 0.0).then(|| libm::sqrt(variance / n as f64));
            Estimate::new(mean, se, n.saturating_sub(1))
        }),
        sd: (n > 1).then(|| libm::sqrt(variance)),
        tenths,
        shared: shared.map(libm::sqrt),
        new: new.as_ref().map(Range::of),
        spread: new,
    }
}
