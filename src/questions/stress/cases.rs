//! Everything that may go wrong, and how each is computed.

use super::Kind;
use crate::engine::groups::asked_first;
use crate::model::demand::mean_buyers;
use crate::questions::vary;
use crate::scenario::{Buyers, Finished, Sale, Scenario, Spoiled};

/// Strength to which breaking points are looked for where they must be searched: ten times as bad.
pub(super) const SEARCH: f64 = 9.0;

/// Where spoiled pieces are made again, strengths that let fewer than this share of starts through are not looked at.
pub(super) const FEWEST_GOOD: f64 = 0.25;

/// Strengths of what makes work slower.
pub(super) const SLOWER: &[f64] = &[0.1, 0.2, 0.3, 0.5, 1.0];

/// Strengths of what gets dearer, or comes back more often.
pub(super) const DEARER: &[f64] = &[0.1, 0.25, 0.5, 1.0];

pub(super) const LIKELIER: &[f64] = &[1.0, 2.0];

pub(super) const UNSOLD: &[f64] = &[0.1, 0.25, 0.5];

pub(super) const AT_ONCE: &[f64] = &[0.1, 0.2, 0.3];

pub(super) type Change = Box<dyn Fn(&mut Scenario, f64) + Sync + Send>;

/// How a misfortune is computed.
pub(super) enum Way {
    /// One simulation at strength 1 tells all.
    Linear(Change),
    /// Run again at each strength up to the second figure.
    Searched(Change, f64),
    /// Run again at each whole number of pieces that are sold.
    Pieces,
    /// One scenario, struck or not.
    Struck(Box<Scenario>),
}

pub(super) struct Case {
    pub(super) kind: Kind,
    pub(super) name: Option<String>,
    pub(super) strengths: &'static [f64],
    pub(super) way: Way,
}

/// Everything that may go wrong, in the order it is told.
pub(super) fn cases(scenario: &Scenario, size: u32) -> Vec<Case> {
    // A steady seller's stock that grows while the batch goes on costs what is not linear in hours.
    let linear = !scenario.steady.is_some_and(|s| s.finished == Finished::Singly);
    let scaled = |change: Change| {
        if linear {
            Way::Linear(change)
        } else {
            Way::Searched(change, SEARCH)
        }
    };
    let plain = |change: fn(&mut Scenario, f64)| -> Change { Box::new(move |s, x| change(s, 1.0 + x)) };
    let likelier = |change: fn(&mut Scenario, f64)| Way::Searched(plain(change), limit(scenario, change));
    let mut cases = Vec::new();
    let mut add = |kind, name, strengths, way| {
        cases.push(Case {
            kind,
            name,
            strengths,
            way,
        });
    };
    add(Kind::Build, None, SLOWER, scaled(plain(vary::slower)));
    add(Kind::Setups, None, SLOWER, scaled(plain(vary::slower_setups)));
    for (index, step) in scenario.steps.iter().enumerate() {
        let change: Change = Box::new(move |s, x| vary::slower_step(s, index, 1.0 + x));
        add(Kind::Step, Some(step.name.clone()), SLOWER, scaled(change));
    }
    for (index, channel) in scenario.channels.iter().enumerate() {
        let change: Change = Box::new(move |s, x| vary::slower_orders(s, index, 1.0 + x));
        add(Kind::Channel, Some(channel.name.clone()), SLOWER, scaled(change));
    }
    if scenario.steps.iter().any(|s| s.spoil > 0.0) {
        add(Kind::Spoil, None, LIKELIER, likelier(vary::more_spoil));
    }
    if scenario.second_chance() > 0.0 {
        add(Kind::Seconds, None, LIKELIER, likelier(vary::more_seconds));
    }
    if scenario.steps.iter().any(|s| s.redo > 0.0) {
        add(Kind::Redo, None, LIKELIER, likelier(vary::more_redo));
    }
    if let Some(lost) = asked_first(&scenario.sales(), |tries| tries.won < 1.0) {
        add(Kind::Lost, Some(lost.to_owned()), LIKELIER, likelier(vary::more_lost));
    }
    if scenario.on_return().any(|(_, on_return)| !on_return.unsold.is_zero()) {
        add(Kind::ComesBack, None, DEARER, likelier(vary::more_unsold));
    }
    add(Kind::Stock, None, DEARER, scaled(plain(vary::dearer_stock)));
    add(Kind::Post, None, DEARER, scaled(plain(vary::dearer_post)));
    add(Kind::Fees, None, DEARER, scaled(plain(vary::dearer_fees)));
    add(Kind::Helper, None, DEARER, scaled(plain(vary::dearer_helper)));
    if !scenario.selling_days.is_empty() {
        let change: Change = Box::new(vary::fewer_on_days);
        add(Kind::Days, None, UNSOLD, Way::Searched(change, 0.99));
    }
    if let Some(season) = &scenario.season {
        // Where nobody buys otherwise than on selling days, this changes nothing and is left out.
        let change: Change = Box::new(fewer_buyers);
        if mean_buyers(season) > 0.0 {
            add(Kind::Unsold, None, UNSOLD, Way::Searched(change, 0.99));
        }
    } else if size > 1 && scenario.selling_days.is_empty() && !scenario.comes_back() {
        // What comes back is worth something, and what finds no buyer here is worth nothing.
        add(Kind::Unsold, None, UNSOLD, Way::Pieces);
    }
    add(Kind::AllAtOnce, None, AT_ONCE, likelier(vary::all_worse));
    for own in &scenario.misfortunes {
        add(
            Kind::Own,
            Some(own.name.clone()),
            &[1.0],
            Way::Struck(own.scenario.clone()),
        );
    }
    cases
}

/// The strength up to which chances grow as asked: no chance held at its cap, and where spoiled pieces are made again enough
/// of them come through.
pub(super) fn limit(scenario: &Scenario, change: fn(&mut Scenario, f64)) -> f64 {
    let fits = |x: f64| {
        let changed = vary::with(scenario, |s| change(s, 1.0 + x));
        let held = |before: f64, after: f64| after > before && before * (1.0 + x) > vary::HIGHEST_CHANCE;
        let grown = scenario.steps.iter().zip(&changed.steps).all(|(before, after)| {
            !held(before.spoil, after.spoil) && !held(before.second, after.second) && !held(before.redo, after.redo)
        });
        let good: f64 = changed.steps.iter().map(|s| 1.0 - s.spoil).product();
        let lost = |s: &Scenario| -> Vec<f64> {
            let sales = s.sales().into_iter().flat_map(Sale::tries);
            sales.map(|tries| 1.0 - tries.won).collect()
        };
        let unsold = |s: &Scenario| -> Vec<f64> {
            let shares = s.on_return();
            shares.map(|(_, on_return)| on_return.unsold.limits().1).collect()
        };
        let free = |of: &dyn Fn(&Scenario) -> Vec<f64>| {
            let mut both = of(scenario).into_iter().zip(of(&changed));
            both.all(|(before, after)| !held(before, after))
        };
        grown && free(&unsold) && free(&lost) && (scenario.batch.spoiled == Spoiled::Short || good >= FEWEST_GOOD)
    };
    let (mut low, mut high) = (0.0, SEARCH);
    if fits(high) {
        return high;
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

pub(super) fn fewer_buyers(scenario: &mut Scenario, share: f64) {
    if let Some(season) = &mut scenario.season {
        season.buyers = match &season.buyers {
            Buyers::Range(spread) => Buyers::Range(spread.scaled(1.0 - share)),
            Buyers::Seen(seen) => Buyers::Seen(seen.iter().map(|n| n * (1.0 - share)).collect()),
        };
    }
}
