//! Pieces that find no buyer, in whole pieces.

use super::cases::Case;
use super::{Asked, Breaking, Found, Plain, Told, Z, holds_or_not, strength};
use crate::model::worth;
use crate::scenario::{Buyers, Scenario, Season, Spread, Unsold};
use crate::stats::{self, Mean, Share};
use std::collections::BTreeMap;

/// So many pieces find a buyer; each of the others, and each that makes no full set, brings in `left`.
pub(super) fn sold(scenario: &Scenario, pieces: u32, left: f64) -> Scenario {
    let mut changed = scenario.clone();
    changed.season = Some(Season {
        buyers: Buyers::Range(Spread::Certain(f64::from(pieces))),
        asked_at: changed.sale.price,
        leftover: Unsold::Clearance(left),
        elasticity: 0.0,
    });
    changed
}

/// Fewer pieces find a buyer, in whole pieces: strength is 1 - sold / size. One that finds none brings in nothing, and one that makes no full set what it
/// does as planned.
pub(super) fn pieces(asked: &Asked<'_>, plain: &Plain, case: &Case) -> Told {
    let size = asked.size;
    let price = asked.scenario.sale.price;
    let q = asked.scenario.confidence;
    let n = plain.hours.len() as u64;
    let now = stats::reached(&plain.floor, price);
    let mut seen = BTreeMap::from([(size, (stats::wilson(now, n), stats::mean(&plain.profit)))]);
    let odd = worth::leftover(asked.scenario, size);
    // Good pieces, by trial: what all of them bring in where none finds a buyer tells their number.
    let good: Option<Vec<f64>> = (odd > 0.0).then(|| {
        let [none, all] = [0.0, odd].map(|left| asked.simulate(&sold(asked.scenario, 0, left)).profit);
        let pairs = all.iter().zip(&none);
        pairs.map(|(all, none)| ((all - none) / odd).round()).collect()
    });
    let simulate = |k: u32| {
        let mut trials = asked.simulate(&sold(asked.scenario, k, odd));
        let reached = match &good {
            None => stats::reached(&trials.floor, price),
            Some(good) => {
                let profits = trials.profit.iter_mut().zip(good);
                profits.for_each(|(profit, good)| *profit -= odd * (good - f64::from(k)).max(0.0));
                let due = trials.hours.iter().map(|hours| asked.scenario.target_per_hour * hours);
                let allowed = plain.brings.iter().map(|brings| asked.allowance(*brings));
                let trials = trials.profit.iter().zip(due.zip(allowed));
                trials
                    .filter(|(profit, (due, allowed))| **profit >= due - allowed)
                    .count() as u64
            }
        };
        (
            (stats::wilson(reached, n), stats::mean(&trials.profit)),
            trials,
            reached,
        )
    };
    let mut told = Vec::new();
    for &x in case.strengths {
        let k = libm::floor((1.0 - x) * f64::from(size) + 1e-9) as u32;
        if k == 0 || seen.contains_key(&k) {
            continue;
        }
        let (outcome, trials, reached) = simulate(k);
        seen.insert(k, outcome);
        told.push(strength(plain, unsold(k, size), &trials.hours, &trials.profit, reached));
    }
    let mut seen = Seen {
        outcomes: seen,
        look: &|k| simulate(k).0,
    };
    let target_lost = breaking(&mut seen, size, &|(share, _)| {
        [share.share, share.low, share.high].map(|v| v - q)
    });
    // Profit must be more than nothing.
    let more = |v: f64| if v > 0.0 { v } else { v.min(-f64::MIN_POSITIVE) };
    let nothing_earned = breaking(&mut seen, size, &|(_, profit)| {
        let (mean, half) = (profit.mean, Z * profit.se);
        [mean, mean - half, mean + half].map(more)
    });
    // What was found is the last number unsold with which something is earned; nothing is from the next one on.
    let next = |at: f64| (at + 1.0 / f64::from(size)).min(1.0);
    let nothing_earned = match nothing_earned.at {
        Some(at) if at >= 1.0 => holds_or_not(true, None),
        _ => Breaking {
            at: nothing_earned.at.map(next),
            low: nothing_earned.low.map(next),
            high: nothing_earned.high.map(next),
            ..nothing_earned
        },
    };
    (told, target_lost, nothing_earned)
}

/// How sure the target is and what a batch earns, where so many pieces find a buyer.
type Outcome = (Share, Mean);

/// What was looked at, and how to look at more.
struct Seen<'a> {
    outcomes: BTreeMap<u32, Outcome>,
    look: &'a dyn Fn(u32) -> Outcome,
}

impl Seen<'_> {
    /// The fewest pieces with which `over`, which falls with fewer, is not below 0; of `size` at most, all of which are seen.
    fn fewest(&mut self, size: u32, over: &dyn Fn(Outcome) -> f64) -> Option<u32> {
        let mut at = |k: u32| over(*self.outcomes.entry(k).or_insert_with(|| (self.look)(k)));
        if at(size) < 0.0 {
            return None;
        }
        if at(0) >= 0.0 {
            return Some(0);
        }
        let seen = || self.outcomes.iter().map(|(k, outcome)| (*k, over(*outcome)));
        let mut all = seen().find(|(_, over)| *over >= 0.0).map_or(size, |(k, _)| k);
        let mut none = seen().take_while(|(k, _)| *k < all).last().map_or(0, |(k, _)| k);
        let mut at = |k: u32| over(*self.outcomes.entry(k).or_insert_with(|| (self.look)(k)));
        let mut halve = false;
        while all - none > 1 {
            let (above, below) = (at(all), at(none));
            let t = if halve {
                0.5
            } else {
                above / (above - below).max(1e-300)
            };
            let k = all.saturating_sub(libm::floor(t * f64::from(all - none) + 0.5) as u32);
            let k = k.clamp(none + 1, all - 1);
            if at(k) >= 0.0 {
                all = k;
            } else {
                none = k;
            }
            halve = !halve;
        }
        Some(all)
    }
}

/// The share unsold up to which what `over` gives, with the ends of its 95 % interval, is not below 0.
///
/// The interval's ends are where those of `over` are 0: as many pieces as make it sure, and as few as leave it possible. Where even the whole
/// batch does not make it sure, the lower end is at none unsold.
fn breaking(seen: &mut Seen<'_>, size: u32, over: &dyn Fn(Outcome) -> [f64; 3]) -> Breaking {
    let Some(at) = seen.fewest(size, &|outcome| over(outcome)[0]) else {
        return holds_or_not(false, None);
    };
    let surely = seen.fewest(size, &|outcome| over(outcome)[1]).unwrap_or(size);
    let barely = seen.fewest(size, &|outcome| over(outcome)[2]).unwrap_or(at);
    Breaking {
        found: Found::Breaks,
        at: Some(unsold(at, size)),
        low: Some(unsold(surely, size)),
        high: Some(unsold(barely, size)),
        looked_to: None,
    }
}

/// The share of a batch that is not sold where so many pieces are.
fn unsold(sold: u32, size: u32) -> f64 {
    1.0 - f64::from(sold) / f64::from(size)
}
