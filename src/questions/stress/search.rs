//! Misfortunes that are not linear: simulated again at each strength, breaking points between brackets.

use super::cases::{Case, Change};
use super::{Asked, Breaking, Found, Plain, Told, Z, holds_or_not, strength};
use crate::engine::BLOCK_TRIALS;
use crate::questions::Settings;
use crate::stats::{self, Mean};

/// One strength that was simulated: share of trials that reach the target, and the mean profit with its error.
#[derive(Debug, Clone, Copy)]
pub(super) struct Looked {
    pub(super) at: f64,
    pub(super) trials: u64,
    pub(super) share: f64,
    pub(super) profit: Mean,
}

/// Not linear: run again at each strength, breaking points between brackets.
pub(super) fn searched(asked: &Asked<'_>, plain: &Plain, case: &Case, change: &Change, limit: f64) -> Told {
    let price = asked.scenario.sale.price;
    let look = |at: f64| {
        let trials = asked.simulate(&change(asked.scenario, at));
        let reached = stats::reached(&trials.floor, price);
        (looked(at, reached, &trials.profit), trials, reached)
    };
    let mut seen = vec![looked(0.0, stats::reached(&plain.floor, price), &plain.profit)];
    let mut strengths = Vec::new();
    for &x in case.strengths.iter().filter(|x| **x <= limit) {
        let (here, trials, reached) = look(x);
        seen.push(here);
        strengths.push(strength(plain, x, &trials.hours, &trials.profit, reached));
    }
    let q = asked.scenario.confidence;
    let mut find = |over: &dyn Fn(&Looked) -> (f64, f64)| {
        // First with the first few of the same days, to know where to look with all of them.
        if let Some((few, plainly)) = first_few(asked, plain) {
            let roughly = |at: f64| {
                let trials = few.simulate(&change(few.scenario, at));
                looked(at, stats::reached(&trials.floor, price), &trials.profit)
            };
            let mut rough_seen = vec![plainly];
            let rough = search(&mut rough_seen, limit, &roughly, over);
            if let (Some(at), Some(low), Some(high)) = (rough.at, rough.low, rough.high)
                && high > low
            {
                let first = look(at).0;
                let (off, _) = over(&first);
                let slope = 2.0 * Z * nearest_error(&rough_seen, at, over) / (high - low);
                // Half as far again as the slope says, so that the two most likely stand on both sides.
                let next = at + 1.5 * off / slope;
                seen.push(first);
                if next.is_finite() && next > -1.0 && next < limit && next * at > 0.0 {
                    seen.push(look(next).0);
                }
            }
        }
        search(&mut seen, limit, &|at| look(at).0, over)
    };
    let error = |n: u64| libm::sqrt(q * (1.0 - q) / n as f64);
    let target_lost = find(&|l| (l.share - q, error(l.trials)));
    let nothing_earned = find(&|l| (l.profit.mean, l.profit.se));
    (strengths, target_lost, nothing_earned)
}

/// Standard error of what was looked at nearest to a strength.
pub(super) fn nearest_error(seen: &[Looked], at: f64, over: &dyn Fn(&Looked) -> (f64, f64)) -> f64 {
    let off = |l: &&Looked| (l.at - at).abs();
    let nearest = seen.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
    nearest.map_or(0.0, |l| over(l).1)
}

pub(super) fn looked(at: f64, reached: u64, profit: &[f64]) -> Looked {
    Looked {
        at,
        trials: profit.len() as u64,
        share: reached as f64 / profit.len() as f64,
        profit: stats::mean(profit),
    }
}

/// The same question of the first eighth of the trials, in whole blocks, and what it is as planned; `None` where they are few.
pub(super) fn first_few<'a>(asked: &Asked<'a>, plain: &Plain) -> Option<(Asked<'a>, Looked)> {
    let trials = asked.settings.trials / 8 / BLOCK_TRIALS as u64 * BLOCK_TRIALS as u64;
    if trials == 0 {
        return None;
    }
    let few = Asked {
        settings: Settings {
            trials,
            ..asked.settings
        },
        ..*asked
    };
    let part = ..trials as usize;
    let reached = stats::reached(&plain.floor[part], few.scenario.sale.price);
    let planned = looked(0.0, reached, &plain.profit[part]);
    Some((few, planned))
}

/// Where `over` (with its standard error) turns from not below 0 to below 0; what is looked at on the way is kept in `seen`,
/// which holds strength 0 first.
pub(super) fn search(
    seen: &mut Vec<Looked>,
    limit: f64,
    look: &dyn Fn(f64) -> Looked,
    over: &dyn Fn(&Looked) -> (f64, f64),
) -> Breaking {
    let holds = |l: &Looked| over(l).0 >= 0.0;
    let holds_now = holds(&seen[0]);
    let end = if holds_now { limit } else { -1.0 };
    // Strengths beyond the start, nearest first, the last of them the end.
    if !seen.iter().any(|l| (holds(l) != holds_now) && l.at * end > 0.0) {
        let last = look(end);
        seen.push(last);
        if holds(&last) == holds_now {
            return holds_or_not(holds_now, Some(end));
        }
    }
    let side = |l: &&Looked| l.at == 0.0 || l.at * end > 0.0;
    let mut inside: Vec<Looked> = seen.iter().filter(side).copied().collect();
    inside.sort_by(|a, b| a.at.abs().total_cmp(&b.at.abs()));
    let turn = inside
        .iter()
        .position(|l| holds(l) != holds_now)
        .unwrap_or(inside.len() - 1);
    let (mut near, mut far) = (inside[turn - 1], inside[turn]);
    // The straight line between the brackets, and the middle where that moves too little (after Dowell & Jarratt 1971).
    let mut halve = false;
    for _ in 0..16 {
        let ((a, _), (b, se)) = (over(&near), over(&far));
        let wide = (far.at - near.at).abs();
        let level = a.abs().min(b.abs());
        if wide <= 5e-4 * (1.0 + near.at.abs()) || level <= 0.2 * se {
            break;
        }
        let t = if halve { 0.5 } else { (a / (a - b)).clamp(0.05, 0.95) };
        let next = look(near.at + t * (far.at - near.at));
        seen.push(next);
        if holds(&next) == holds_now {
            near = next;
        } else {
            far = next;
        }
        halve = (far.at - near.at).abs() > 0.5 * wide;
    }
    let ((a, a_se), (b, b_se)) = (over(&near), over(&far));
    let (at, se) = if a.abs() <= b.abs() {
        (near.at, a_se)
    } else {
        (far.at, b_se)
    };
    let slope = ((b - a) / (far.at - near.at)).abs();
    let half = Z * se / slope;
    Breaking {
        found: if holds_now { Found::Breaks } else { Found::BrokenAlready },
        at: Some(at),
        low: Some(at - half).filter(|v| v.is_finite()),
        high: Some(at + half).filter(|v| v.is_finite()),
        looked_to: None,
    }
}
