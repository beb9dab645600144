//! Misfortunes that are not linear: simulated again at each strength, breaking points between brackets.

use super::cases::{Case, Change};
use super::{Asked, Breaking, Found, Plain, Told, Z, holds_or_not, strength};
use crate::engine::BLOCK_TRIALS;
use crate::questions::{Settings, vary};
use crate::stats::{self, Mean};

/// One strength that was simulated: share of trials that reach the target, and the mean profit with its error.
#[derive(Debug, Clone, Copy)]
pub(super) struct Looked {
    pub(super) at: f64,
    pub(super) trials: u64,
    pub(super) share: f64,
    pub(super) profit: Mean,
}

/// Not linear: run again at each strength, breaking points between brackets; `None` where no strength changes anything.
pub(super) fn searched(asked: &Asked<'_>, plain: &Plain, case: &Case, change: &Change, limit: f64) -> Option<Told> {
    let price = asked.scenario.sale.price;
    let look = |at: f64| {
        let trials = asked.simulate(&vary::with(asked.scenario, |s| change(s, at)));
        let reached = stats::reached(&trials.floor, price);
        (looked(at, reached, &trials.profit), trials, reached)
    };
    let mut seen = vec![looked(0.0, stats::reached(&plain.floor, price), &plain.profit)];
    let mut strengths = Vec::new();
    let mut all_alike = true;
    for &x in case.strengths.iter().filter(|x| **x <= limit) {
        let (here, trials, reached) = look(x);
        seen.push(here);
        all_alike &= trials.hours == plain.hours && trials.profit == plain.profit;
        strengths.push(strength(plain, x, &trials.hours, &trials.profit, reached));
    }
    if all_alike && !strengths.is_empty() {
        return None;
    }
    let q = asked.scenario.confidence;
    let mut find = |over: &Over<'_>| {
        // First with the first few of the same days, to know where to look with all of them.
        if let Some((few, plainly)) = first_few(asked, plain) {
            let roughly = |at: f64| {
                let trials = few.simulate(&vary::with(few.scenario, |s| change(s, at)));
                looked(at, stats::reached(&trials.floor, price), &trials.profit)
            };
            if let Ok(rough) = turn(&mut vec![plainly], limit, &roughly, over)
                && rough.slope > 0.0
            {
                let at = rough.at.at;
                let first = look(at).0;
                // Half as far again as the slope says, so that the two most likely stand on both sides.
                let next = at + 1.5 * over(&first).0 / rough.slope;
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
    Some((strengths, target_lost, nothing_earned))
}

/// What is to be held, above 0 or not, with its standard error.
type Over<'a> = dyn Fn(&Looked) -> (f64, f64) + 'a;

/// Simulates one strength.
type Look<'a> = dyn Fn(f64) -> Looked + 'a;

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

/// The last strength that was looked at before `over` turns from not below 0 to below 0, so that what may be borne is, and the ends of its
/// interval; what is looked at on the way is kept in `seen`, which holds strength 0 first.
///
/// The interval holds the strengths at which `over` is not told from 0: its ends are where it is above and below by 1.96 of its own
/// standard errors (a test turned round; Casella & Berger 2002, "Statistical Inference", section 9.2.1, from memory). They are looked for
/// as the turn is. The slope between the two strengths that enclose the turn would not do: a handful of trials turn there, and chance
/// makes it too steep as often as too flat.
fn search(seen: &mut Vec<Looked>, limit: f64, look: &Look<'_>, over: &Over<'_>) -> Breaking {
    match turn(seen, limit, look, over) {
        Err(none) => none,
        Ok(Turn { at, broken, .. }) => Breaking {
            found: if broken { Found::BrokenAlready } else { Found::Breaks },
            at: Some(at.at),
            // Nothing gets better by more than all of it.
            low: end(seen, &at, -1.0, look, &|l| over(l).0 - Z * over(l).1, over).or(Some(-1.0)),
            high: end(seen, &at, limit, look, &|l| -over(l).0 - Z * over(l).1, over),
            looked_to: None,
        },
    }
}

/// A strength near which `over` turns.
struct Turn {
    /// The last that was looked at where it is not below 0.
    at: Looked,
    /// How fast it falls there.
    slope: f64,
    /// Whether it is below 0 as planned.
    broken: bool,
}

/// # Errors
/// It does not turn as far as is looked.
fn turn(seen: &mut Vec<Looked>, limit: f64, look: &Look<'_>, over: &Over<'_>) -> Result<Turn, Breaking> {
    let holds = |l: &Looked| over(l).0 >= 0.0;
    let holds_now = holds(&seen[0]);
    let end = if holds_now { limit } else { -1.0 };
    // Strengths beyond the start, nearest first, the last of them the end.
    if !seen.iter().any(|l| (holds(l) != holds_now) && l.at * end > 0.0) {
        let last = look(end);
        seen.push(last);
        if holds(&last) == holds_now {
            return Err(holds_or_not(holds_now, Some(end)));
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
        let held = if holds_now { a } else { b };
        if wide <= 5e-4 * (1.0 + near.at.abs()) || held <= 0.2 * se {
            break;
        }
        // A little on the side that holds, where it is to end.
        let t = if halve {
            0.5
        } else {
            ((a - 0.1 * se) / (a - b)).clamp(0.05, 0.95)
        };
        let next = look(near.at + t * (far.at - near.at));
        seen.push(next);
        if holds(&next) == holds_now {
            near = next;
        } else {
            far = next;
        }
        halve = (far.at - near.at).abs() > 0.5 * wide;
    }
    let (a, b) = (over(&near).0, over(&far).0);
    Ok(Turn {
        at: if holds_now { near } else { far },
        slope: ((b - a) / (far.at - near.at)).abs(),
        broken: !holds_now,
    })
}

/// Between `at` and `edge`, where `past` is no longer below 0; `None` where it is so even at the edge. A straight line does for the last
/// quarter of the way that its interval has on one side.
fn end(
    seen: &mut Vec<Looked>,
    at: &Looked,
    edge: f64,
    look: &Look<'_>,
    past: &dyn Fn(&Looked) -> f64,
    over: &Over<'_>,
) -> Option<f64> {
    if past(at) >= 0.0 {
        return Some(at.at);
    }
    let from = |l: &Looked| (l.at - at.at).abs();
    let mut beyond: Vec<Looked> = seen
        .iter()
        .filter(|l| (l.at - at.at) * (edge - at.at) > 0.0)
        .copied()
        .collect();
    beyond.sort_by(|a, b| from(a).total_cmp(&from(b)));
    if !beyond.iter().any(|l| past(l) >= 0.0) {
        let last = look(edge);
        seen.push(last);
        beyond.push(last);
    }
    let first = beyond.iter().position(|l| past(l) >= 0.0)?;
    let (mut near, mut far) = (if first == 0 { *at } else { beyond[first - 1] }, beyond[first]);
    let line = |near: &Looked, far: &Looked| {
        let (a, b) = (past(near), past(far));
        near.at + (a / (a - b)).clamp(0.0, 1.0) * (far.at - near.at)
    };
    for _ in 0..6 {
        let level = past(&near).abs().min(past(&far));
        if (far.at - near.at).abs() <= 5e-4 * (1.0 + near.at.abs()) || level <= 0.25 * Z * over(&far).1 {
            break;
        }
        let next = look(line(&near, &far));
        seen.push(next);
        if past(&next) >= 0.0 {
            far = next;
        } else {
            near = next;
        }
    }
    Some(line(&near, &far))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is left falls along a bend from 1 to below 0, told to a tenth of the way: where it is 0, and where it is 1.96 tenths, follow by hand.
    #[test]
    fn a_turn_and_its_interval_are_where_they_are_by_hand() {
        let left = |x: f64| 1.0 - x - x * x;
        let look = |at: f64| Looked {
            at,
            trials: 1_000,
            share: 0.0,
            profit: Mean {
                mean: left(at),
                se: 0.1,
            },
        };
        let over = |l: &Looked| (l.profit.mean, l.profit.se);
        let by = Z * 0.1;
        // x where 1 - x - x^2 is so much.
        let at = |so_much: f64| 0.5 * ((5.0 - 4.0 * so_much).sqrt() - 1.0);
        // Looked at before, in no order, on both sides and beyond.
        for before in [vec![], vec![0.3, 0.9], vec![1.5, -0.4, 0.2, 0.7]] {
            let mut seen = vec![look(0.0)];
            seen.extend(before.into_iter().map(look));
            let found = search(&mut seen, 2.0, &look, &over);
            assert_eq!(found.found, Found::Breaks);
            // Looking ends at a fifth of the error; the ends may be off by a quarter of the interval's half.
            let near = |found: Option<f64>, expected: f64, off: f64| {
                let found = found.expect("it turns");
                assert!(
                    (left(found) - left(expected)).abs() <= off,
                    "{found}, by hand {expected}"
                );
            };
            near(found.at, at(0.0), 0.2 * 0.1);
            assert!(
                left(found.at.expect("it turns")) >= 0.0,
                "what may be borne is: {found:?}"
            );
            near(found.low, at(by), 0.25 * by);
            near(found.high, at(-by), 0.25 * by);
        }
        // Broken as planned, by 0.3 of what would make it hold.
        let worse = |l: &Looked| (-0.3 - l.at, 0.1);
        let found = search(&mut vec![look(0.0)], 2.0, &look, &worse);
        assert_eq!(found.found, Found::BrokenAlready);
        assert!(
            found.at.expect("it turns") <= -0.3,
            "so much better is enough: {found:?}"
        );
        for (found, expected, off) in [
            (found.at, -0.3, 0.2 * 0.1),
            (found.low, -0.3 - by, 0.25 * by),
            (found.high, -0.3 + by, 0.25 * by),
        ] {
            let found = found.expect("it turns");
            assert!((found - expected).abs() <= off, "{found}, by hand {expected}");
        }
    }
}
