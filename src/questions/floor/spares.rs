//! Spares: pieces that are started with an order beyond those that are due.
//!
//! What is spoiled of an order is made again, with rounds and setups of its own. A spare costs its stock and its time, and saves them where
//! one is spoiled; past the number with which next to nothing is made again, one more only costs. What is left of them counts what `[season]`
//! says that a leftover is worth, and nothing without one; no more than one more piece takes to make, as else spares would be made for sale and
//! pay the buyer's order.

use super::{Floor, Settings};
use crate::engine::{Engine, Plan, plan};
use crate::model::{counts, worth};
use crate::scenario::Scenario;
use crate::stats::{self, Mean, QuantileRank};
use serde::Serialize;

/// Prices that differ by no more than this share are next to each other (assumption: less is not worth a thought).
const LEVEL: f64 = 0.005;

/// Numbers of spares that are looked at, at most.
pub const MOST_CHOICES: u32 = 9;

/// Pieces of the largest order that spares are looked at for: each number of them is simulated anew, which takes too long for more.
pub const MOST_WITH_SPARES: u32 = 200;

/// What spares do to the price of one order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spares {
    /// Pieces of the order.
    pub order: u32,
    /// Of those with which the price is next to the lowest the ones with the fewest hours; `None` where no price pays.
    pub advised: Option<u32>,
    /// What a good piece counts that is left over.
    pub worth: f64,
    /// None first, ascending.
    pub choices: Vec<Choice>,
}

/// An order that so many spares are started with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Choice {
    /// How many.
    pub spares: u32,
    /// The price that pays at the asked confidence.
    pub floor_asked: Floor,
    /// Hands-on hours of the order.
    pub hours: Mean,
    /// The share of such orders that pieces are made again for all the same.
    pub made_again: f64,
    /// Good pieces that are left over, on average.
    pub left_over: f64,
}

impl Spares {
    /// Hours that the advised ones save on average, where the price is next to the same without any.
    #[must_use]
    pub fn saves_at_one_price(&self) -> Option<f64> {
        let advised = self.choices.iter().find(|choice| Some(choice.spares) == self.advised)?;
        let none = self.choices.first()?;
        let (with, without) = (advised.floor_asked.price?, none.floor_asked.price?);
        (advised.spares > 0 && without * (1.0 - LEVEL) <= with).then_some(none.hours.mean - advised.hours.mean)
    }

    /// What the whole order costs at a price a piece.
    #[must_use]
    pub fn in_all(&self, price: f64) -> f64 {
        price * f64::from(self.order)
    }
}

/// An order that so many spares are started with.
pub(super) fn started(order: &Scenario, count: u32, worth: f64) -> Plan {
    let mut started = order.clone();
    started.batch.sizes = vec![order.batch.sizes[0] + count];
    Plan::new(&started).with_spares(plan::SparePieces { count, worth })
}

/// `order` is the scenario as one order of a size; `None` where next to nothing of it is spoiled, or the order is too large.
pub(super) fn run(scenario: &Scenario, order: &Scenario, settings: &Settings) -> Option<Spares> {
    let due = order.batch.sizes[0];
    let looked_at = due <= MOST_WITH_SPARES;
    let most = counts::most_spares(order, due).filter(|most| looked_at && *most > 0)?;
    let worth = scenario.season.as_ref().map_or(0.0, |_| {
        worth::leftover(scenario, due).min(worth::last_piece_value(scenario, due))
    });
    let numbers: Vec<u32> = (0..=most).step_by(most.div_ceil(MOST_CHOICES - 1) as usize).collect();
    let choose = |spares: &u32| {
        let plan = started(order, *spares, worth);
        let engine = Engine::new(&plan, settings.seed);
        let trials = engine.answer_sizes(settings.trials, &|_| (), |trials| trials).remove(0);
        let rank = QuantileRank::of_floor(trials.floor.len(), order.confidence);
        let (made_again, left_over) = counts::with_spares(order, due, *spares);
        Choice {
            spares: *spares,
            floor_asked: Floor::of(&stats::settled(&trials.floor, &[rank]), (order.confidence, rank)),
            hours: stats::mean(&trials.hours),
            made_again,
            left_over,
        }
    };
    let choices: Vec<Choice> = numbers.iter().map(choose).collect();
    let price = |choice: &Choice| choice.floor_asked.price;
    let lowest = choices.iter().filter_map(price).min_by(f64::total_cmp);
    let near = |choice: &&Choice| {
        price(choice)
            .zip(lowest)
            .is_some_and(|(price, lowest)| price * (1.0 - LEVEL) <= lowest)
    };
    Some(Spares {
        order: due,
        advised: choices
            .iter()
            .filter(near)
            .min_by(|a, b| a.hours.mean.total_cmp(&b.hours.mean))
            .map(|choice| choice.spares),
        worth,
        choices,
    })
}
