//! How many at a time for a steady seller, by the textbook?
//!
//! Q = sqrt(2 D S / (h s)) with D pieces a year, S what getting ready costs a batch, h what holding one piece costs a year, and s = 1, or
//! 1 - d / p where pieces come into stock one by one at p a week and sell at d (F. W. Harris 1913, "How many parts to make at once", Factory
//! 10, 135-136, 152; E. W. Taft 1918, "The most economical production lot", Iron Age 101, 1410-1412). Getting ready and holding then cost
//! D S / Q + h s Q / 2 a year.
//!
//! Assumption: S is the setups of steps without a limit of room at the target, and stock used once a batch; setups of rounds grow with the
//! pieces. Example: D = 1,000, S = 20, h = 4: 100 at a time, 400 a year.

use super::WEEKS_PER_YEAR;
use super::worth::{piece_value, stock_share};
use crate::scenario::{Scenario, Steady};
use serde::Serialize;

/// The textbook's economic batch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Textbook {
    /// Pieces a year.
    pub demand: f64,
    /// What getting ready costs a batch: the setups of steps without a limit of room at the target, stock used once a batch.
    pub setup_cost: f64,
    /// What holding one piece costs a year.
    pub holding_cost: f64,
    /// 1, or 1 - d / p where pieces come into stock one by one.
    pub stock_share: f64,
    /// sqrt(2 demand setup / (holding x share)).
    pub batch: f64,
    /// Setup and holding a year at that batch.
    pub yearly_cost: f64,
    /// Most pieces in stock.
    pub most_stock: f64,
}

/// What is spent once a batch besides hours: stock per batch, and stock per round where a round holds all pieces.
#[must_use]
pub(crate) fn batch_stock(scenario: &Scenario) -> f64 {
    scenario
        .materials
        .iter()
        .map(|m| {
            let one_round = scenario.steps[m.at].room.is_none();
            let units = m.per_batch + if one_round { scenario.per_round(m) } else { 0.0 };
            units * (1.0 + m.waste.mean()) * m.price.mean() * scenario.exchange_rate(m.currency)
        })
        .sum()
}

/// The economic batch; `None` where getting ready or holding costs nothing.
#[must_use]
pub fn textbook(scenario: &Scenario, steady: Steady) -> Option<Textbook> {
    let hour = scenario.target_per_hour + scenario.shop.cost_per_hour();
    let minutes = |helped: bool| {
        let once_a_batch = |step: &&crate::scenario::Step| step.room.is_none() && step.helped == helped;
        let steps = scenario.steps.iter().filter(once_a_batch);
        steps.fold(0.0, |sum, step| sum + step.own_setup().mean())
    };
    let [own, helpers] = [false, true].map(|helped| scenario.pace.mean() * minutes(helped) / 60.0);
    let setup_cost = own * hour + helpers * scenario.wage() + batch_stock(scenario);
    let demand = steady.per_week * WEEKS_PER_YEAR;
    let holding_cost = steady.hold * piece_value(scenario);
    let stock_share = stock_share(scenario, steady);
    if !(setup_cost > 0.0 && holding_cost > 0.0 && stock_share > 0.0) {
        return None;
    }
    let batch = libm::sqrt(2.0 * demand * setup_cost / (holding_cost * stock_share));
    Some(Textbook {
        demand,
        setup_cost,
        holding_cost,
        stock_share,
        batch,
        yearly_cost: demand * setup_cost / batch + holding_cost * stock_share * batch / 2.0,
        most_stock: batch * stock_share,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 520 a year; getting ready takes 12 min at 40 + 20 an hour and 4 x 1.5 of stock: 18; holding costs a quarter of 36: 9.
    #[test]
    fn an_economic_batch_by_hand() {
        let text = "target = 40\ncurrency = \"EUR\"\n[[step]]\nname = \"make\"\nsetup = \"12 min\"\neach = \"30 min\"\n\
                    [[step]]\nname = \"fire\"\nsetup = \"99 min\"\nroom = 4\n\
                    [[material]]\nname = \"paint\"\nper_batch = 3\nper_round = 1\nprice = \"1 USD\"\nwaste = \"50 %\"\n\
                    [[material]]\nname = \"gas\"\nper_round = 7\nprice = 1\nat = \"fire\"\n\
                    [[material]]\nname = \"oak\"\nper_piece = 2\nprice = 3\n\
                    [currencies]\nUSD = 1\n[sale]\nprice = 90\n[shop]\nper_hour = 20\n[steady]\nper_week = 10\nhold = \"25 %\"\n";
        let shop = crate::scenario::read("test", text, &[]).expect("it reads");
        let close = |found: f64, due: f64| assert!((found - due).abs() <= 1e-12 * due, "{found} against {due}");
        let found = textbook(&shop, shop.steady.expect("it is there")).expect("both cost something");
        close(batch_stock(&shop), 6.0);
        close(found.setup_cost, 18.0);
        close(found.holding_cost, 9.0);
        close(found.demand, 520.0);
        close(found.batch, 2080.0_f64.sqrt());
        close(found.yearly_cost, 520.0 * 18.0 / found.batch + 4.5 * found.batch);
        close(found.most_stock, found.batch);
    }
}
