//! What is kept is worth what it costs to make: where a piece gets cheaper, so do a steady seller's stock and leftovers that are carried on.
//!
//! A leftover saves making another one next season. Where a step takes a tenth less, it saves a tenth less of that step, and stock ties up
//! less money. Money is linear in these values, so that a simulation of each tells pieces in stock, left and waited for trial by trial, and with
//! them what any other values make of the profit.

use crate::engine::plan::Plan;
use crate::model::worth;
use crate::scenario::Scenario;

/// Pieces kept, by trial, and what they are worth as things are.
pub(super) struct Kept {
    size: u32,
    /// What holding costs, what a leftover is worth, and what is tied up in a piece on sale or return.
    worth: [f64; 3],
    /// The square of the good pieces, which holding goes with; empty without a steady sale.
    squares: Vec<f64>,
    /// Pieces left over or come back as new; empty where none are carried on.
    left: Vec<f64>,
    /// Pieces on sale or return, each times what waiting for it costs of its worth; empty where that costs nothing.
    waiting: Vec<f64>,
}

fn worths(scenario: &Scenario, size: u32) -> [f64; 3] {
    [
        worth::holding(scenario),
        worth::leftover(scenario, size),
        worth::tied_up(scenario),
    ]
}

impl Kept {
    /// Of batches of `size`; `None` where nothing is kept. `profit` simulates a plan, `plan` is any plan of the scenario.
    pub(super) fn of(scenario: &Scenario, size: u32, plan: &Plan, profit: impl Fn(&Plan) -> Vec<f64>) -> Option<Self> {
        let waits = worth::tied_up(scenario) > 0.0;
        let carried = worth::leftovers_save_making(scenario);
        if scenario.steady.is_none() && !carried && !waits {
            return None;
        }
        let worth = worths(scenario, size);
        let base = profit(plan);
        // What one more of a worth makes of each trial's profit.
        let more = |there: bool, which: usize, sign: f64| {
            if !there {
                return Vec::new();
            }
            let mut then = worth;
            then[which] += 1.0;
            let then = profit(&plan.kept_at(then));
            then.iter()
                .zip(&base)
                .map(|(then, base)| sign * (then - base))
                .collect()
        };
        Some(Self {
            size,
            worth,
            squares: more(scenario.steady.is_some(), 0, -1.0),
            left: more(carried, 1, 1.0),
            waiting: more(waits, 2, -1.0),
        })
    }

    /// A plan where pieces cost what they cost in another scenario.
    pub(super) fn plan(&self, plan: &Plan, then: &Scenario) -> Plan {
        plan.kept_at(worths(then, self.size))
    }

    /// Profits as they are where pieces cost what they cost in another scenario.
    pub(super) fn revalue(&self, profit: &mut [f64], then: &Scenario) {
        let then = worths(then, self.size);
        for (k, (counted, sign)) in [(&self.squares, -1.0), (&self.left, 1.0), (&self.waiting, -1.0)]
            .into_iter()
            .enumerate()
        {
            let more = sign * (then[k] - self.worth[k]);
            profit.iter_mut().zip(counted).for_each(|(p, count)| *p += more * count);
        }
    }
}
