//! What is kept is worth what it costs to make: where a piece gets cheaper, so do a steady seller's stock and leftovers that are carried on.
//!
//! A leftover saves making another one next season. Where a step takes a tenth less, it saves a tenth less of that step, and stock ties up
//! less money. Money is linear in both values, so that two simulations tell pieces in stock and pieces left trial by trial, and with
//! them what any other values make of the profit.

use crate::engine::plan::Plan;
use crate::model::worth;
use crate::scenario::{Scenario, Unsold};

/// Pieces kept, by trial, and what they are worth as things are.
pub(super) struct Kept {
    size: u32,
    holding: f64,
    leftover: f64,
    /// The square of the good pieces, which holding goes with; empty without a steady sale.
    squares: Vec<f64>,
    /// Pieces left over; empty where none are carried on.
    left: Vec<f64>,
}

impl Kept {
    /// Of batches of `size`; `None` where nothing is kept. `profit` simulates a plan, `plan` is any plan of the scenario.
    pub(super) fn of(scenario: &Scenario, size: u32, plan: &Plan, profit: impl Fn(&Plan) -> Vec<f64>) -> Option<Self> {
        let carried = scenario
            .season
            .as_ref()
            .is_some_and(|s| matches!(s.leftover, Unsold::Carry { .. }));
        if scenario.steady.is_none() && !carried {
            return None;
        }
        let (holding, leftover) = (worth::holding(scenario), worth::leftover(scenario, size));
        let base = profit(plan);
        let more = |holding: f64, leftover: f64, sign: f64| {
            let then = profit(&plan.kept_at(holding, leftover));
            then.iter()
                .zip(&base)
                .map(|(then, base)| sign * (then - base))
                .collect()
        };
        Some(Self {
            size,
            holding,
            leftover,
            squares: if scenario.steady.is_some() {
                more(holding + 1.0, leftover, -1.0)
            } else {
                Vec::new()
            },
            left: if carried {
                more(holding, leftover + 1.0, 1.0)
            } else {
                Vec::new()
            },
        })
    }

    /// A plan where pieces cost what they cost in another scenario.
    pub(super) fn plan(&self, plan: &Plan, then: &Scenario) -> Plan {
        plan.kept_at(worth::holding(then), worth::leftover(then, self.size))
    }

    /// Profits as they are where pieces cost what they cost in another scenario.
    pub(super) fn revalue(&self, profit: &mut [f64], then: &Scenario) {
        let dearer = worth::holding(then) - self.holding;
        profit
            .iter_mut()
            .zip(&self.squares)
            .for_each(|(p, square)| *p -= dearer * square);
        let more = worth::leftover(then, self.size) - self.leftover;
        profit
            .iter_mut()
            .zip(&self.left)
            .for_each(|(p, left)| *p += more * left);
    }
}
