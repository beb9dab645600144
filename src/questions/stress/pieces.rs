//! Pieces that find no buyer, in whole pieces.

use super::cases::Case;
use super::{Asked, Breaking, Found, Plain, Told, Z, holds_or_not, strength};
use crate::scenario::{Buyers, Scenario, Season, Spread, Unsold};
use crate::stats::{self, Mean, Share};
use std::collections::BTreeMap;

/// So many pieces find a buyer; the others bring in nothing.
pub(super) fn sold(scenario: &Scenario, pieces: u32) -> Scenario {
    let mut changed = scenario.clone();
    changed.season = Some(Season {
        buyers: Buyers::Range(Spread::Certain(f64::from(pieces))),
        asked_at: changed.sale.price,
        leftover: Unsold::Clearance(0.0),
        elasticity: 0.0,
    });
    changed
}

/// Fewer pieces find a buyer, in whole pieces: strength is 1 - sold / size.
pub(super) fn pieces(asked: &Asked<'_>, plain: &Plain, case: &Case) -> Told {
    let size = asked.size;
    let price = asked.scenario.sale.price;
    let q = asked.scenario.confidence;
    let n = plain.hours.len() as u64;
    let mut seen: BTreeMap<u32, (Share, Mean)> = BTreeMap::new();
    let now = stats::reached(&plain.floor, price);
    seen.insert(size, (stats::wilson(now, n), stats::mean(&plain.profit)));
    let mut told = Vec::new();
    for &x in case.strengths {
        let k = libm::floor((1.0 - x) * f64::from(size) + 1e-9) as u32;
        if k == 0 || seen.contains_key(&k) {
            continue;
        }
        let trials = asked.simulate(&sold(asked.scenario, k));
        let reached = stats::reached(&trials.floor, price);
        seen.insert(k, (stats::wilson(reached, n), stats::mean(&trials.profit)));
        told.push(strength(plain, unsold(k, size), &trials.hours, &trials.profit, reached));
    }
    let mut look = |k: u32| {
        *seen.entry(k).or_insert_with(|| {
            let trials = asked.simulate(&sold(asked.scenario, k));
            let reached = stats::reached(&trials.floor, price);
            (stats::wilson(reached, n), stats::mean(&trials.profit))
        })
    };
    let mut find = |over: &Over| fewest(size, case.strengths, &mut look, over);
    let target_lost = find(&|(share, _)| (share.share - q, share.low - q, share.high - q));
    // Profit must be more than nothing.
    let more = |v: f64| if v > 0.0 { v } else { v.min(-f64::MIN_POSITIVE) };
    let nothing_earned = find(&|(_, profit)| {
        let (mean, half) = (profit.mean, Z * profit.se);
        (more(mean), more(mean - half), more(mean + half))
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

/// What is above 0 or not, with the ends of its 95 % interval.
type Over<'a> = dyn Fn((Share, Mean)) -> (f64, f64, f64) + 'a;

/// The fewest pieces sold with which `over` is not below 0, as a share unsold.
fn fewest(size: u32, strengths: &[f64], look: &mut dyn FnMut(u32) -> (Share, Mean), over: &Over<'_>) -> Breaking {
    if over(look(size)).0 < 0.0 {
        return holds_or_not(false, None);
    }
    let (mut none, mut all) = (0, size);
    for x in strengths {
        let k = libm::floor((1.0 - x) * f64::from(size) + 1e-9) as u32;
        if k > none && k < all {
            if over(look(k)).0 >= 0.0 {
                all = k;
            } else {
                none = k;
            }
        }
    }
    // Fewest pieces with which it holds, between one number with which it does and one with which it does not.
    if none == 0 && over(look(0)).0 >= 0.0 {
        all = 0;
    }
    let mut halve = false;
    while all - none > 1 && all > 0 {
        let (above, below) = (over(look(all)).0, over(look(none)).0);
        let t = if halve {
            0.5
        } else {
            above / (above - below).max(1e-300)
        };
        let k = all.saturating_sub(libm::floor(t * f64::from(all - none) + 0.5) as u32);
        let k = k.clamp(none + 1, all - 1);
        if over(look(k)).0 >= 0.0 {
            all = k;
        } else {
            none = k;
        }
        halve = !halve;
    }
    let k = all;
    let surely = over(look(k)).1 >= 0.0 || k == size;
    let barely = k > 0 && over(look(k - 1)).2 >= 0.0;
    Breaking {
        found: Found::Breaks,
        at: Some(unsold(k, size)),
        low: Some(if surely { unsold(k, size) } else { unsold(k + 1, size) }),
        high: Some(if barely { unsold(k - 1, size) } else { unsold(k, size) }),
        looked_to: None,
    }
}

/// The share of a batch that is not sold where so many pieces are.
fn unsold(sold: u32, size: u32) -> f64 {
    1.0 - f64::from(sold) / f64::from(size)
}
