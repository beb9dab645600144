//! Misfortunes that are linear in their strength, and shares of trials that are struck: everything from one more simulation.

use super::cases::{Case, Change};
use super::{Asked, Breaking, Found, Kind, Plain, Told, Z, holds_or_not, strength};
use crate::laws::reaching;
use crate::questions::vary;
use crate::scenario::Scenario;
use crate::stats::{self, QuantileRank};

/// Linear in strength: everything from one simulation at strength 1.
pub(super) fn linear(asked: &Asked<'_>, plain: &Plain, case: &Case, change: &Change) -> Option<Told> {
    let target = asked.scenario.target_per_hour;
    let changed = vary::with(asked.scenario, |s| change(s, 1.0));
    let whole = asked.simulate(&changed);
    let n = plain.hours.len();
    let extra_hours: Vec<f64> = (0..n).map(|i| whole.hours[i] - plain.hours[i]).collect();
    let lost: Vec<f64> = (0..n).map(|i| plain.profit[i] - whole.profit[i]).collect();
    if extra_hours.iter().chain(&lost).all(|v| *v == 0.0) {
        return None;
    }
    // Only fees change what a price brings in.
    let brought: Vec<f64> = if case.kind == Kind::Fees {
        asked.brings(&changed, &whole)
    } else {
        plain.brings.clone()
    };
    // Largest strength at which the trial reaches the target, as its floor has it: it earns the target, and more than nothing where the
    // price brings nothing in, because none is sold or fees take all of it.
    let own: Vec<f64> = (0..n)
        .map(|i| {
            let (profit, brings) = (plain.profit[i], plain.brings[i]);
            let surplus = profit - target * plain.hours[i] + asked.allowance(brings);
            let by_target = holds_to(surplus, lost[i] + target * extra_hours[i]);
            let by_profit = above_nothing_to(profit, lost[i]);
            let by_price = above_nothing_to(brings, brings - brought[i]);
            by_target.min(by_profit.max(by_price))
        })
        .collect();
    let strengths = case
        .strengths
        .iter()
        .map(|&x| {
            let hours: Vec<f64> = (0..n).map(|i| plain.hours[i] + x * extra_hours[i]).collect();
            let profit: Vec<f64> = (0..n).map(|i| plain.profit[i] - x * lost[i]).collect();
            // Counted anew: a batch of which pieces come back may do better by slower work, which makes them worth more.
            let pays = |i: &usize| {
                let (i, brings) = (*i, plain.brings[*i]);
                let surplus = profit[i] - target * hours[i] + asked.allowance(brings);
                surplus >= 0.0 && (profit[i] > 0.0 || brings - x * (brings - brought[i]) > 0.0)
            };
            let reached = (0..n).filter(pays).count() as u64;
            strength(plain, x, &hours, &profit, reached)
        })
        .collect();

    // The share of trials that break at x or later falls to the confidence at the (1 - confidence)-quantile: the largest
    // strength at which as many as asked still reach the target, so that it is below 0 exactly where they do not as planned.
    let out = 1.0 - asked.scenario.confidence;
    let place = QuantileRank {
        below: n - reaching(n, asked.scenario.confidence),
        fraction: 0.0,
        ..QuantileRank::new(n, out)
    };
    let mut settled = own;
    stats::put_in_order(&mut settled, &[place]);
    let target_lost = breaking(
        stats::quantile(&settled, place),
        settled[place.low],
        settled[place.high],
    );
    let nothing = stats::ratio(&plain.profit, &lost);
    let nothing_earned = if stats::mean(&lost).mean > 0.0 {
        let half = Z * nothing.se;
        breaking(nothing.mean, nothing.mean - half, nothing.mean + half)
    } else {
        holds_or_not(stats::mean(&plain.profit).mean > 0.0, None)
    };
    Some((strengths, target_lost, nothing_earned))
}

/// The largest strength at which what is over is not lost, where strength 1 takes `loss` of it.
fn holds_to(over: f64, loss: f64) -> f64 {
    if loss > 0.0 {
        over / loss
    } else if over >= 0.0 {
        f64::INFINITY
    } else {
        f64::NEG_INFINITY
    }
}

/// The same where something must be left of it.
fn above_nothing_to(over: f64, loss: f64) -> f64 {
    if loss > 0.0 {
        (over / loss).next_down()
    } else if over > 0.0 {
        f64::INFINITY
    } else {
        f64::NEG_INFINITY
    }
}

/// Below -1 nothing of the kind is left to improve.
pub(super) fn breaking(at: f64, low: f64, high: f64) -> Breaking {
    let finite = |v: f64| v.is_finite().then_some(v);
    if at == f64::INFINITY {
        return Breaking {
            low: finite(low),
            ..holds_or_not(true, None)
        };
    }
    let found = if at >= 0.0 { Found::Breaks } else { Found::BrokenAlready };
    if at < -1.0 {
        return holds_or_not(false, None);
    }
    Breaking {
        found,
        at: Some(at),
        // Nothing gets better by more than all of it.
        low: finite(low.max(-1.0)),
        high: finite(high),
        looked_to: None,
    }
}

/// Struck or not: with a share c of trials struck the chance is (1 - c) plain + c struck, and profit likewise, so that the
/// breaking share is a ratio of means.
pub(super) fn struck(asked: &Asked<'_>, plain: &Plain, scenario: &Scenario) -> Told {
    let trials = asked.simulate(scenario);
    let price = scenario.sale.price;
    let reached = stats::reached(&trials.floor, price);
    let told = strength(plain, 1.0, &trials.hours, &trials.profit, reached);
    let hit = |floor: &f64, price: f64| f64::from(u8::from(*floor <= stats::reachable(price)));
    let q = asked.scenario.confidence;
    let over: Vec<f64> = plain
        .floor
        .iter()
        .map(|f| hit(f, asked.scenario.sale.price) - q)
        .collect();
    let fall: Vec<f64> = over
        .iter()
        .zip(&trials.floor)
        .map(|(over, f)| over + q - hit(f, price))
        .collect();
    let lost: Vec<f64> = plain.profit.iter().zip(&trials.profit).map(|(a, b)| a - b).collect();
    let share = |over: &[f64], fall: &[f64]| {
        let (above, drop) = (stats::mean(over).mean, stats::mean(fall).mean);
        if above < 0.0 {
            return holds_or_not(false, None);
        }
        if above >= drop {
            return holds_or_not(true, Some(1.0));
        }
        let at = stats::ratio(over, fall);
        Breaking {
            found: Found::Breaks,
            at: Some(at.mean),
            low: Some(at.mean - Z * at.se),
            high: Some(at.mean + Z * at.se),
            looked_to: None,
        }
    };
    (vec![told], share(&over, &fall), share(&plain.profit, &lost))
}
