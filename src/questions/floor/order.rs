//! Orders that are quoted where none is named, what each of them counts once, and whether it can be filled.

use crate::model::hours::step_order_minutes;
use crate::model::money::exchange;
use crate::scenario::{Material, Scenario, Spread};
use serde::Serialize;

/// Good pieces of those started, below which an order hardly ends: the reader's own bound for `spoiled = "remake"`.
const FEWEST_GOOD: f64 = 0.01;

/// Whether an order, which is filled whatever is spoiled on the way, does not end in sight.
#[must_use]
pub fn hardly_filled(scenario: &Scenario) -> bool {
    scenario.steps.iter().map(|step| 1.0 - step.spoil).product::<f64>() < FEWEST_GOOD
}

/// What is spent once for each order, however many pieces are in it, on average and in the scenario's own money.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OnceAnOrder {
    /// Postage that the maker pays.
    pub postage: f64,
    /// Material, with its waste, at the price of a unit.
    pub material: f64,
    /// Hands-on minutes.
    pub minutes: f64,
}

/// What is spent once for each order of a scenario with one way of selling.
pub(super) fn once_an_order(scenario: &Scenario) -> OnceAnOrder {
    let channel = scenario.channels.first();
    let sale = channel.map_or(&scenario.sale, |channel| &channel.sale);
    let own = channel.and_then(|channel| channel.per_order.as_ref());
    let material =
        |m: &Material| m.per_order * (1.0 + m.waste.mean()) * m.price.mean() * exchange(scenario, m.currency);
    OnceAnOrder {
        postage: sale.post.mean() * exchange(scenario, sale.currencies.post),
        material: scenario
            .materials
            .iter()
            .map(material)
            .fold(0.0, |sum, cost| sum + cost),
        minutes: own.map_or_else(|| step_order_minutes(scenario), Spread::mean) * scenario.pace.mean(),
    }
}

/// Orders that are quoted where none is named: of 1, 6, 12 and 24 pieces, or of as many sets, those that are no more than the largest batch;
/// where that leaves one, as many as fill the largest batch besides. Through the channel with the index `channel`, or as `[sale]` says.
#[must_use]
pub fn usual_orders(scenario: &Scenario, channel: Option<usize>) -> Vec<u32> {
    let set = channel.map_or(&scenario.sale, |k| &scenario.channels[k].sale).set_of;
    let most = scenario.batch.sizes.iter().max().map_or(1, |size| size / set).max(1);
    let mut sets: Vec<u32> = [1, 6, 12, 24].into_iter().filter(|sets| *sets <= most).collect();
    if sets.len() == 1 && most > 1 {
        sets.push(most);
    }
    sets.into_iter().map(|sets| sets * set).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{scenario, step};

    #[test]
    fn usual_orders_are_no_more_than_the_largest_batch() {
        for (sizes, set, orders) in [
            (&[1_u32, 2][..], 1, &[1_u32, 2][..]),
            (&[1], 1, &[1]),
            (&[4, 5], 1, &[1, 5]),
            (&[1, 10], 1, &[1, 6]),
            (&[1, 12], 1, &[1, 6, 12]),
            (&[40], 1, &[1, 6, 12, 24]),
            // Pairs: thirteen pieces make six.
            (&[13], 2, &[2, 12]),
            (&[9], 2, &[2, 8]),
            (&[1], 2, &[2]),
        ] {
            let mut shop = scenario(50.0, 30.0, sizes, vec![step("make")]);
            shop.sale.set_of = set;
            assert_eq!(usual_orders(&shop, None), orders, "{sizes:?} in sets of {set}");
        }
    }

    /// By hand: postage 6.50; a carton of 1.20 and a tenth more wasted, 1.32; 12 minutes at a pace of 1.1, 13.2.
    #[test]
    fn what_an_order_counts_once_is_its_postage_its_material_and_its_work() {
        let text = "target = 30\n[pace]\nfactor = 1.1\n[[step]]\nname = \"make\"\neach = \"20 min\"\n\
                    [[step]]\nname = \"pack\"\nper_order = \"12 min\"\n\
                    [[material]]\nname = \"carton\"\nper_order = 1\nprice = 1.2\nwaste = \"10 %\"\n\
                    [[material]]\nname = \"wood\"\nper_piece = 1\nprice = 5\n[sale]\nprice = 40\npost = 6.5\n";
        let shop = crate::scenario::read("test.toml", text, &[]).expect("a scenario");
        let once = once_an_order(&shop);
        for (found, by_hand) in [(once.postage, 6.5), (once.material, 1.32), (once.minutes, 13.2)] {
            assert!((found - by_hand).abs() < 1e-9, "{found} {by_hand}");
        }
    }
}
