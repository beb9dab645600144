//! What of a batch goes by the round, by the order or by the pack, so that one more piece may cost more than the one before?
//!
//! Of a batch, on average (counts of [`super::counts`], materials of [`super::stock`], each at what it pays for a unit):
//!
//! * rounds = wage x the helper's hours of setup + rounds x per_round units of each material,
//! * orders = orders x (postage + fee per order - what is left of the postage charged) + orders x per_order units,
//! * packs = units bought beyond those used and wasted.
//!
//! A price break is none of these: with it a unit never costs more in a larger purchase. Where a material's cost has no closed form, it is
//! left out.
//!
//! Example: packs of 4 at 2.00 a piece, all of which is lost that is not used: the fifth piece opens a pack, 6.00 of which is lost.

use super::stock::{Ranges, charged};
use super::{counts, hours, money};
use crate::scenario::Scenario;

/// What of a batch goes by the round, by the order or by the pack, and what its pieces are sold for, on average.
#[derive(Debug, Clone, PartialEq)]
pub struct Uneven {
    /// Money that rounds cost besides the maker's setup: the helper's, and material.
    pub rounds: f64,
    /// Hands-on hours of orders.
    pub order_hours: f64,
    /// Money that orders cost besides those: postage, fees and material.
    pub orders: f64,
    /// All materials by name, and the money that is in what is bought of each and not used.
    pub packs: Vec<(String, f64)>,
    /// Money that a sold piece brings, after refunds, tax and fees.
    pub brings: f64,
}

/// What of a batch of `size` goes by the round, by the order or by the pack.
#[must_use]
pub fn uneven(scenario: &Scenario, size: u32) -> Uneven {
    let at_steps = counts::at_steps(scenario, size);
    let mut sales = scenario.sales();
    let mut ways = counts::sold_by_way(scenario, size);
    let on_days = money::selling_days(scenario, size);
    let firsts = ways
        .iter()
        .map(|way| way.pieces + way.singly)
        .chain(on_days.iter().map(|day| day.sold));
    let firsts: f64 = firsts.sum();
    if let (Some(seconds), Some(sold)) = (&scenario.seconds, counts::seconds_sold(scenario, size)) {
        sales.push(&seconds.sale);
        ways.push(sold);
    }
    let worth = |currency| scenario.exchange_rate(currency);
    let of_orders = sales.into_iter().zip(&ways).map(|(sale, sold)| {
        let charged = sale.post_charged * worth(sale.currencies.post_charged) * sale.left_of_money();
        let fee = sale.fee_per_order * worth(sale.currencies.fee_per_order);
        sold.orders * (sale.post.mean() * worth(sale.currencies.post) + fee - charged)
    });
    let mut found = Uneven {
        rounds: scenario.wage() * hours::helper_hours(scenario, size)[0],
        order_hours: hours::hours_by_part(scenario, size).per_order,
        orders: of_orders.sum(),
        packs: Vec::new(),
        brings: if firsts > 0.0 && scenario.sale.price > 0.0 {
            scenario.sale.price * money::per_price(scenario, size) / firsts
        } else {
            0.0
        },
    };
    let orders: f64 = ways.iter().map(|sold| sold.orders).sum();
    for (number, material) in scenario.materials.iter().enumerate() {
        let at = &at_steps[material.at];
        let wasted = 1.0 + material.waste.mean();
        let by_round = at.rounds * scenario.per_round(material) * wasted;
        let by_order = material.channel.map_or(orders, |only| ways[only].orders) * material.per_order * wasted;
        let by_piece = (at.handled.mean() * material.per_piece + material.per_batch) * wasted;
        let mut rest = 0.0;
        if let Ok([units, cost]) = charged(scenario, size, number, &at_steps, &ways, Ranges::AtMeans)
            && units > 0.0
        {
            let price = cost / units * worth(material.currency);
            found.rounds += by_round * price;
            found.orders += by_order * price;
            rest = (units - by_piece - by_round - by_order).max(0.0) * price;
        }
        found.packs.push((material.name.clone(), rest));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::close;

    /// By hand, of seven pieces in two rounds of six, two orders of six and two packs of four.
    #[test]
    fn of_seven_pieces_by_hand() {
        let text = "target = 20\n[[step]]\nname = \"fire\"\nsetup = \"30 min\"\neach = \"6 min\"\nroom = 6\n\
                    [[step]]\nname = \"pack\"\nper_order = \"12 min\"\n\
                    [[material]]\nname = \"clay\"\nper_piece = 1\npack = 4\nleftover = \"lost\"\nprice = 2\n\
                    [[material]]\nname = \"power\"\nper_round = 5\nprice = 0.3\nat = \"fire\"\n\
                    [[material]]\nname = \"carton\"\nper_order = 1\nprice = 1.2\nwaste = \"10 %\"\n\
                    [sale]\nprice = 40\nfee = \"5 %\"\nfee_per_order = 0.5\npost = 6\npost_charged = 4\norder_of = 6\n";
        let shop = crate::scenario::read("test.toml", text, &[]).expect("a scenario");
        let found = uneven(&shop, 7);
        close(found.rounds, 2.0 * 5.0 * 0.3);
        close(found.order_hours, 0.4);
        close(found.orders, 2.0 * (6.0 + 0.5 - 0.95 * 4.0 + 1.32));
        let lost: Vec<(&str, f64)> = found.packs.iter().map(|(name, lost)| (name.as_str(), *lost)).collect();
        close(lost[0].1, 2.0);
        assert_eq!(
            lost.iter().map(|(name, _)| *name).collect::<Vec<_>>(),
            ["clay", "power", "carton"]
        );
        assert!(lost[1..].iter().all(|(_, lost)| lost.abs() < 1e-9), "{lost:?}");
        close(found.brings, 38.0);
    }
}
