//! The sets at other sizes: which are looked at, and what they come to there.

use super::work::{Columns, QUICK_SEQUENCES, Work};
use super::{AtSize, QUICK_TRIALS, Set, SetAtSize};
use crate::engine::{Engine, Plan};
use crate::questions::{Settings, sweep};
use crate::scenario::Scenario;
use crate::stats::{self, Mean};

/// Sizes looked at besides the one that is asked about, at most.
pub(super) const SIZES: usize = 10;

/// Rooms up to this many pieces are looked at even where no size of the scenario is as large.
pub(super) const MOST_ROOM: u32 = 100;

/// A few sizes of the scenario, spread over its range, and those that the sets make room for; the asked one is not among them.
pub(super) fn other_sizes(scenario: &Scenario, size: u32, followed: &[&Set]) -> Vec<u32> {
    let all = &scenario.batch.sizes;
    let mut some: Vec<u32> = if all.len() <= SIZES {
        all.clone()
    } else {
        let (first, last) = (f64::from(all[0]), f64::from(all[all.len() - 1]));
        (0..SIZES)
            .filter_map(|k| {
                let wanted = first * libm::pow(last / first, k as f64 / (SIZES - 1) as f64);
                all.iter()
                    .min_by(|a, b| {
                        (f64::from(**a) - wanted)
                            .abs()
                            .total_cmp(&(f64::from(**b) - wanted).abs())
                    })
                    .copied()
            })
            .collect()
    };
    some.extend(followed.iter().flat_map(|set| full_rooms(scenario, &set.jigs)));
    some.sort_unstable();
    some.dedup();
    some.retain(|s| *s != size);
    some
}

/// Sizes that fill the room of a step that the jigs enlarge, as it was and as it is then, where a round more or less shows; of what
/// fills it several times, what is among the scenario's sizes.
pub(super) fn full_rooms(scenario: &Scenario, jigs: &[usize]) -> Vec<u32> {
    let sizes = &scenario.batch.sizes;
    let largest = sizes.last().copied().unwrap_or(1);
    let with = scenario.with_jigs(jigs);
    let rooms = scenario.steps.iter().zip(&with.steps).filter_map(|(was, is)| {
        let (was, is) = (was.room?, is.room?);
        (is > was).then_some((was, is))
    });
    rooms
        .flat_map(|(was, is)| {
            let times = [2, 3].into_iter().filter_map(move |k| is.checked_mul(k));
            [was, is]
                .into_iter()
                .filter(|room| *room <= largest.max(MOST_ROOM))
                .chain(times.filter(|full| sizes.binary_search(full).is_ok()))
        })
        .collect()
}

/// The size with the best long-run hour; `None` where there is only one.
pub(super) fn best_hour(scenario: &Scenario, settings: &Settings) -> Option<u32> {
    if scenario.batch.sizes.len() < 2 {
        return None;
    }
    let quick = Settings {
        trials: settings.trials.min(QUICK_TRIALS),
        within: None,
        ..*settings
    };
    let sweep = sweep::unadvised(scenario, &quick, &|_| ());
    let best = sweep.sizes.iter().rev();
    best.max_by(|a, b| a.rate.long_run.total_cmp(&b.rate.long_run))
        .map(|s| s.size)
}

/// The sets at every size that is looked at. At the asked one they are what was found already: one figure for one thing.
pub(super) fn by_size(
    scenario: &Scenario,
    (size, rate): (u32, Mean),
    followed: &[&Set],
    settings: &Settings,
) -> Vec<AtSize> {
    let mut sizes = other_sizes(scenario, size, followed);
    // The best hour without any is what each is held against, whichever sizes stand in between.
    if let Some(best) = best_hour(scenario, settings).filter(|best| *best != size)
        && let Err(place) = sizes.binary_search(&best)
    {
        sizes.insert(place, best);
    }
    let trials = settings.trials.min(QUICK_TRIALS);
    let columns = |of: &Scenario| -> Vec<Columns> {
        if sizes.is_empty() {
            return Vec::new();
        }
        let mut of = of.clone();
        of.batch.sizes.clone_from(&sizes);
        let plan = Plan::new(&of);
        Engine::new(&plan, settings.seed).answer_sizes(trials, &|_| (), |runs| Columns {
            profit: runs.profit,
            hours: runs.hours,
        })
    };
    let bare = columns(scenario);
    let with: Vec<Vec<Columns>> = followed
        .iter()
        .map(|set| columns(&scenario.with_jigs(&set.jigs)))
        .collect();
    let mut found: Vec<AtSize> = (0..sizes.len())
        .map(|k| {
            let work = Work {
                scenario,
                size: sizes[k],
                seed: settings.seed,
                runs_a_year: None,
                sequences: QUICK_SEQUENCES,
            };
            let sets = followed.iter().zip(&with);
            let sets = sets.map(|(set, with)| simulated(&work, set, &bare[k], &with[k]));
            at_size(sizes[k], stats::ratio(&bare[k].profit, &bare[k].hours), sets.collect())
        })
        .collect();
    let asked = at_size(size, rate, followed.iter().map(|set| as_found(set)).collect());
    let place = found.partition_point(|at| at.size < size);
    found.insert(place, asked);
    found
}

const fn at_size(size: u32, rate: Mean, sets: Vec<SetAtSize>) -> AtSize {
    AtSize {
        size,
        rate: rate.mean,
        rate_se: rate.se,
        sets,
    }
}

/// A set at the size of `work`, by its trials there without it and with it.
fn simulated(work: &Work<'_>, set: &Set, bare: &Columns, with: &Columns) -> SetAtSize {
    let savings = work.savings(bare, with);
    let (rate, adds_to_hour, _) = work.adds(&set.jigs, bare, with, &savings);
    SetAtSize {
        rate: rate.mean,
        rate_se: rate.se,
        adds_to_hour,
        saving: stats::mean(&savings).mean,
        payback: work.payback(&set.jigs, &savings, &work.outlays(&set.jigs)),
    }
}

/// A set at the size that is asked about.
const fn as_found(set: &Set) -> SetAtSize {
    SetAtSize {
        rate: set.rate.mean,
        rate_se: set.rate.se,
        adds_to_hour: set.adds_to_hour,
        saving: set.saving.mean,
        payback: set.payback,
    }
}
