//! Orders that are quoted where none is named, and whether one can be filled.

use crate::scenario::Scenario;

/// Good pieces of those started, below which an order hardly ends: the reader's own bound for `spoiled = "remake"`.
const FEWEST_GOOD: f64 = 0.01;

/// Whether an order, which is filled whatever is spoiled on the way, does not end in sight.
#[must_use]
pub fn hardly_filled(scenario: &Scenario) -> bool {
    scenario.steps.iter().map(|step| 1.0 - step.spoil).product::<f64>() < FEWEST_GOOD
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
}
