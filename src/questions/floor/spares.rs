//! Spares: pieces that are started with an order beyond those that are due.
//!
//! What is spoiled of an order is made again, with rounds and setups of its own. A spare costs its stock and its time, and saves them where
//! one is spoiled; past the number with which next to nothing is made again, one more only costs. What is left of them counts what `[season]`
//! says that a leftover is worth, but no more than one more piece takes to make, as else spares would be made for sale and pay the buyer's
//! order. In a steady sale it goes into the stock and saves making that one; without either it counts nothing.

use super::{Floor, Settings};
use crate::engine::{Engine, Plan, SizeTrials, plan};
use crate::model::{counts, worth};
use crate::scenario::Scenario;
use crate::stats::{self, Mean, QuantileRank};
use serde::Serialize;

/// Prices that differ by no more than this share are next to each other (assumption: less is not worth a thought).
const LEVEL: f64 = 0.005;

/// Numbers of spares that are looked at, at most.
pub const MOST_CHOICES: u32 = 9;

/// Pieces of the largest order whose numbers of spares are compared in all trials.
const ALL_TRIALS_UP_TO: u64 = 200;

/// Trials in which the numbers of spares of an order of `due` are compared: of larger orders as many fewer, so that it takes no longer. The
/// advised number is simulated in all of them.
#[must_use]
pub fn compared_in(trials: u64, due: u32) -> u64 {
    trials.min((trials * ALL_TRIALS_UP_TO / u64::from(due)).max(1))
}

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
        let saved = none.hours.mean - advised.hours.mean;
        // A few that lower the price by less than that may cost some minutes.
        (advised.spares > 0 && without * (1.0 - LEVEL) <= with && saved > 0.0).then_some(saved)
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

/// `order` is the scenario as one order of a size; with it the trials of the advised number, or of none where no price pays. `None` where
/// next to nothing of it is spoiled.
pub(super) fn run(scenario: &Scenario, order: &Scenario, settings: &Settings) -> Option<(Spares, SizeTrials)> {
    let due = order.batch.sizes[0];
    let most = counts::most_spares(order, due).filter(|most| *most > 0)?;
    let making = worth::last_piece_value(scenario, due);
    let worth = match (&scenario.season, &scenario.steady) {
        (Some(_), _) => worth::leftover(scenario, due).min(making),
        (None, Some(_)) => making,
        (None, None) => 0.0,
    };
    let choose = |spares: u32, trials: u64| {
        let plan = started(order, spares, worth);
        let trials = Engine::new(&plan, settings.seed)
            .answer_sizes(trials, &|_| (), |trials| trials)
            .remove(0);
        let rank = QuantileRank::of_floor(trials.floor.len(), order.confidence);
        let (made_again, left_over) = counts::with_spares(order, due, spares);
        let choice = Choice {
            spares,
            floor_asked: Floor::of(&stats::settled(&trials.floor, &[rank]), (order.confidence, rank)),
            hours: stats::mean(&trials.hours),
            made_again,
            left_over,
        };
        (choice, trials)
    };
    let compared = compared_in(settings.trials, due);
    let mut choices: Vec<Choice> = Vec::new();
    let mut kept = None;
    // With the last of them next to nothing is made again.
    let apart = most.div_ceil(MOST_CHOICES - 1);
    for spares in (0..=most.div_ceil(apart)).map(|k| k * apart) {
        let (choice, trials) = choose(spares, compared);
        choices.push(choice);
        if advised(&choices).is_none_or(|best| choices[best].spares == spares) {
            kept = Some(trials);
        }
    }
    let best = advised(&choices);
    let at = best.unwrap_or(0);
    let started = due + choices[at].spares;
    // What was kept is another's where a price next to the lowest no longer is.
    let trials = kept
        .filter(|trials| trials.size == started && compared == settings.trials)
        .unwrap_or_else(|| {
            let (choice, trials) = choose(choices[at].spares, settings.trials);
            choices[at] = choice;
            trials
        });
    let spares = Spares {
        order: due,
        advised: best.map(|best| choices[best].spares),
        worth,
        choices,
    };
    Some((spares, trials))
}

/// The place of the one with the fewest hours of those with which the price is next to the lowest.
fn advised(choices: &[Choice]) -> Option<usize> {
    let price = |choice: &Choice| choice.floor_asked.price;
    let lowest = choices.iter().filter_map(price).min_by(f64::total_cmp)?;
    let near = |(_, choice): &(usize, &Choice)| price(choice).is_some_and(|price| price * (1.0 - LEVEL) <= lowest);
    let fewest = choices
        .iter()
        .enumerate()
        .filter(near)
        .min_by(|(_, a), (_, b)| a.hours.mean.total_cmp(&b.hours.mean));
    fewest.map(|(place, _)| place)
}
