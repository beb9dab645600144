//! What does a batch bring and cost on average, and for what?
//!
//! For each way of selling (counts of [`super::counts`]; p the price after discount, c the postage charged, each in the scenario's money;
//! r the chance that an order is refunded, T the tax contained in the price, f the fee, t the tip):
//!
//! * income = (1 - r) / (1 + T) x (pieces p + orders c) + (1 - r) orders t,
//! * fees = f (pieces p + orders c) + orders x fee per order; they are not given back (assumption),
//! * postage = orders x postage paid.
//!
//! Seconds are one more way of selling, at a price of their own that the price floor leaves alone.
//!
//! A piece that makes no full set brings its own price x (1 / (1 + T) - f), where it is sold singly.
//!
//! A selling day brings pieces x price x (1 / (1 + T) - f) and costs what it costs, sold or not.
//!
//! A helper costs wage x hours of the helper.
//!
//! What comes back can be sold again: r a of the pieces sold, a the share of returned orders that is as new, and (1 - w) of those that come
//! back unsold, w the share of them that is worn. Each is worth what a leftover is; a worn one brings its own price. A piece left on sale or
//! return costs hold x weeks / 52 of what is tied up in it.
//!
//! Besides: materials ([`super::stock`]), overhead x hours ([`mod@super::hours`]), (good - sold - worn + as new again) x what a leftover is worth and E\[good^2\] x what
//! holding costs ([`super::worth`]). Profit is what comes in less what goes out, before the maker is paid. Prices, rates of exchange and
//! counts are drawn independently, so means multiply.
//!
//! Example: 58.00 with 16 % tax contained is 50.00; less a fee of 5 %, 2.90, the shop keeps 47.10.

use super::chances::Chances;
use super::hours::{helper_hours, is_zero, step_order_minutes};
use super::{NoClosedForm, counts, hours, stock, worth};
use crate::scenario::{Sale, Scenario, SellingDay, Spread};
use serde::{Deserialize, Serialize};

/// Mean money of a batch by what it goes into.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Money {
    /// From buyers, without tax, refunds taken off.
    pub income: f64,
    /// Stock at replacement prices.
    pub materials: f64,
    /// Stock at what was really paid.
    pub materials_paid: f64,
    /// Fees.
    pub fees: f64,
    /// Paid to carriers.
    pub post: f64,
    /// Overhead of the shop.
    pub shop: f64,
    /// What pieces left over brought in.
    pub clearance: f64,
    /// Cost of holding pieces until they are sold.
    pub holding: f64,
    /// What selling days cost, sold or not; absent in JSON where there are none.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub selling_days: f64,
    /// Wages of the helper; absent in JSON where there is none.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub wages: f64,
}

impl Money {
    /// What comes in less what goes out, before the maker is paid.
    #[must_use]
    pub fn profit(&self) -> f64 {
        self.income + self.clearance
            - self.materials
            - self.fees
            - self.post
            - self.shop
            - self.holding
            - self.selling_days
            - self.wages
    }
}

/// What a buyer pays for a piece in each way of selling, in the scenario's own money on average.
fn prices(scenario: &Scenario) -> Vec<f64> {
    let price = |(k, sale): (usize, &Sale)| {
        let discount = scenario.channels.get(k).map_or(0.0, |channel| channel.discount);
        sale.price * (1.0 - discount) * scenario.exchange_rate(sale.currencies.price)
    };
    scenario.sales().into_iter().enumerate().map(price).collect()
}

/// Of what one way of selling sells at a price: the income, the fees, and the postage paid.
fn takings(scenario: &Scenario, sale: &Sale, sold: &counts::Sold, price: f64) -> [f64; 3] {
    let charged = sale.post_charged * scenario.exchange_rate(sale.currencies.post_charged);
    let taken = sold.pieces * price + sold.orders * charged;
    let per_order = sale.fee_per_order * scenario.exchange_rate(sale.currencies.fee_per_order);
    let tips = sold.orders * sale.tip.mean() * scenario.exchange_rate(sale.currencies.tip);
    [
        (taken / (1.0 + sale.tax) + tips) * (1.0 - sale.returned),
        taken * sale.fee + sold.orders * per_order,
        sold.orders * sale.post.mean() * scenario.exchange_rate(sale.currencies.post),
    ]
}

/// Expected money of a batch of `size`.
///
/// # Errors
/// [`NoClosedForm`], where a material's cost has none.
pub fn money(scenario: &Scenario, size: u32) -> Result<Money, NoClosedForm> {
    money_of_hours(scenario, size, hours(scenario, size))
}

/// What an hour earns in the long run in batches of `size`: `E[profit] / E[hours]`, before the maker is paid.
///
/// # Errors
/// [`NoClosedForm`], where a material's cost has none.
pub fn rate(scenario: &Scenario, size: u32) -> Result<f64, NoClosedForm> {
    let hours = hours(scenario, size);
    Ok(money_of_hours(scenario, size, hours)?.profit() / hours)
}

fn money_of_hours(scenario: &Scenario, size: u32, hours: f64) -> Result<Money, NoClosedForm> {
    let (mut income, mut fees, mut post) = (0.0, 0.0, 0.0);
    let ways = counts::sold_by_way(scenario, size);
    for ((sale, sold), price) in scenario.sales().into_iter().zip(&ways).zip(prices(scenario)) {
        let [kept, fee, paid] = takings(scenario, sale, sold, price);
        let singly = sold.singly * sale.single_price.unwrap_or(0.0);
        income += kept + singly / (1.0 + sale.tax);
        fees += fee + singly * sale.fee;
        post += paid;
    }
    if let (Some(seconds), Some(sold)) = (&scenario.seconds, counts::seconds_sold(scenario, size)) {
        let [kept, fee, paid] = takings(scenario, &seconds.sale, &sold, seconds.sale.price);
        income += kept;
        fees += fee;
        post += paid;
    }
    let [materials, materials_paid] = stock::costs(scenario, size)?;
    let good = counts::good(scenario, size);
    let days = days_sold(scenario, &good);
    for (day, pieces) in scenario.selling_days.iter().zip(&days) {
        income += pieces * day.price / (1.0 + day.tax);
        fees += pieces * day.price * day.fee;
    }
    let sold: f64 = ways.iter().map(|sold| sold.pieces + sold.singly).chain(days).sum();
    let back = back(scenario, &ways);
    Ok(Money {
        income: income + back.worn,
        materials,
        materials_paid,
        fees,
        post,
        shop: scenario.shop.cost_per_hour() * hours,
        clearance: (good.mean() - sold + back.again) * worth::leftover(scenario, size),
        holding: counts::sold_squared(scenario, size) * worth::holding(scenario) + back.tied_up,
        selling_days: scenario.selling_days.iter().map(|day| day.cost.mean()).sum(),
        wages: scenario.wage() * helper_hours(scenario, size).iter().sum::<f64>(),
    })
}

/// What comes back of what was taken, on average.
pub(super) struct Back {
    /// Pieces that can be sold again as new after they were sold, less unsold ones that are worn.
    pub(super) again: f64,
    /// Money that worn ones bring.
    pub(super) worn: f64,
    /// What it costs to wait for what is left on sale or return.
    pub(super) tied_up: f64,
}

/// Of what each way of selling takes.
pub(super) fn back(scenario: &Scenario, ways: &[counts::Sold]) -> Back {
    let mut back = Back {
        again: 0.0,
        worn: 0.0,
        tied_up: 0.0,
    };
    for (sale, sold) in scenario.sales().into_iter().zip(ways) {
        back.again += sold.pieces * sale.returned * sale.as_new;
    }
    for (k, on_return) in scenario.on_return() {
        let worn = (ways[k].placed - ways[k].pieces) * on_return.worn;
        back.again -= worn;
        back.worn += worn * on_return.worn_price;
        back.tied_up += ways[k].placed * worth::waiting(on_return) * worth::piece_value(scenario);
    }
    back
}

/// Mean pieces sold on each selling day of so many good ones.
fn days_sold(scenario: &Scenario, good: &Chances) -> Vec<f64> {
    if scenario.selling_days.is_empty() {
        return Vec::new();
    }
    let sold = counts::on_selling_days(scenario, good).0;
    sold.iter().map(Chances::mean).collect()
}

/// What one selling day is to a batch, on average.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DayMoney {
    /// Its name.
    pub name: String,
    /// Pieces sold there.
    pub sold: f64,
    /// From buyers, tax and fee taken off.
    pub kept: f64,
    /// What the day costs, sold or not.
    pub cost: f64,
    /// The maker's hours there and on the way.
    pub hours: f64,
}

/// Each selling day of a batch of `size`, in the order of the file.
#[must_use]
pub fn selling_days(scenario: &Scenario, size: u32) -> Vec<DayMoney> {
    let sold = days_sold(scenario, &counts::good(scenario, size));
    let day = |(day, sold): (&SellingDay, f64)| DayMoney {
        name: day.name.clone(),
        sold,
        kept: sold * day.price * day.left_of_money(),
        cost: day.cost.mean(),
        hours: day.minutes() / 60.0,
    };
    scenario.selling_days.iter().zip(sold).map(day).collect()
}

/// What a list price of 1 leaves of a batch of `size` on average, after refunds, tax and the fee.
#[must_use]
pub fn per_price(scenario: &Scenario, size: u32) -> f64 {
    let ways = counts::sold_by_way(scenario, size);
    let list = scenario.sale.price;
    let left = |((sale, sold), price): ((&Sale, &counts::Sold), f64)| {
        let singly = sold.singly * sale.single_price.unwrap_or(0.0) / list * sale.left_of_single();
        sold.pieces * price / list * sale.left_of_money() + singly
    };
    let on_days = selling_days(scenario, size)
        .iter()
        .fold(0.0, |sum, day| sum + day.kept / list);
    scenario
        .sales()
        .into_iter()
        .zip(&ways)
        .zip(prices(scenario))
        .map(left)
        .sum::<f64>()
        + on_days
}

/// The list price at which a batch of `size` earns the target on average, `E[profit] = target x E[hours]`; `None` where no price does it.
///
/// Money is linear in the price, with the buyers that there are at the asked one.
///
/// # Errors
/// [`NoClosedForm`], where a material's cost has none.
pub fn floor(scenario: &Scenario, size: u32) -> Result<Option<f64>, NoClosedForm> {
    let hours = hours(scenario, size);
    let due = scenario.target_per_hour * hours - money_of_hours(scenario, size, hours)?.profit();
    let per_price = per_price(scenario, size);
    Ok((per_price > 0.0 && scenario.price_counts()).then(|| (scenario.sale.price + due / per_price).max(0.0)))
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

/// What is spent once for each order of a scenario with one way of selling: its only channel, or else `[sale]`.
#[must_use]
pub fn once_an_order(scenario: &Scenario) -> OnceAnOrder {
    let channel = scenario.channels.first();
    let sale = channel.map_or(&scenario.sale, |channel| &channel.sale);
    let own = channel.and_then(|channel| channel.per_order.as_ref());
    OnceAnOrder {
        postage: sale.post.mean() * scenario.exchange_rate(sale.currencies.post),
        material: stock::order_material(scenario, channel.map(|_| 0)),
        minutes: own.map_or_else(|| step_order_minutes(scenario), Spread::mean) * scenario.pace.mean(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{close, pencil_trays};

    /// Exact fractions, tests/reference/shop_certain.csv: size, profit, hours, floor.
    #[test]
    fn pencil_trays_match_the_exact_fractions() {
        for (size, profit, needed, price) in [
            (1, 23.0750, 1.766_666_666_7, 127.005_347_593_6),
            (2, 73.1500, 2.616_666_666_7, 97.860_962_566_8),
            (5, 223.3750, 5.333_333_333_3, 81.443_850_267_4),
            (10, 493.5500, 9.750_000_000_0, 73.497_326_203_2),
        ] {
            let shop = pencil_trays();
            let near = |found: f64, due: f64| assert!((found - due).abs() < 1e-9, "{size}: {found} against {due}");
            near(money(&shop, size).unwrap().profit(), profit);
            near(hours(&shop, size), needed);
            near(floor(&shop, size).unwrap().unwrap(), price);
        }
    }

    /// Two ways of selling, one in another currency, everything by hand: of 5 pieces 3 go direct in orders of one and 2 in one order.
    #[test]
    fn two_ways_of_selling_by_hand() {
        let text = "target = 20\ncurrency = \"EUR\"\n[[step]]\nname = \"make\"\neach = \"12 min\"\n[sale]\nprice = 116\ntax = \"16 %\"\n\
                    fee = \"5 %\"\nfee_per_order = 0.5\npost = 6\npost_charged = 5.8\ntip = \"0 / 4\"\nreturned = \"10 %\"\n\
                    [[channel]]\nname = \"direct\"\nshare = \"60 %\"\n\
                    [[channel]]\nname = \"abroad\"\nshare = \"40 %\"\nprice = \"100 USD\"\ndiscount = \"50 %\"\ntax = \"0 %\"\norder_of = 2\n\
                    fee = \"10 %\"\nfee_per_order = \"2 USD\"\npost = \"10 USD\"\npost_charged = 0\ntip = \"3 USD\"\nreturned = \"0 %\"\n\
                    [currencies]\nUSD = 0.8\n[shop]\nper_hour = 3\n";
        let shop = crate::scenario::read("test", text, &[]).expect("it reads");
        let found = money(&shop, 5).unwrap();
        // Direct: 3 x 116, 3 x 5.80 and tips of 2. Abroad: 2 x 50 USD and a tip of 3 USD at 0.80.
        close(found.income, 0.9 * (3.0 * 100.0 + 3.0 * 5.0 + 3.0 * 2.0) + 80.0 + 2.4);
        close(found.fees, 0.05 * (348.0 + 17.4) + 3.0 * 0.5 + 0.1 * 80.0 + 1.6);
        close(found.post, 18.0 + 8.0);
        close(found.shop, 3.0);
        close(found.profit(), found.income - found.fees - 26.0 - 3.0);
        close(
            per_price(&shop, 5),
            3.0 * (0.9 / 1.16 - 0.05) + 2.0 * 40.0 / 116.0 * 0.9,
        );
    }

    /// One piece, good three times in four, sold if one is asked for (half of the time): the rest is cleared.
    #[test]
    fn leftovers_by_hand() {
        let text = "target = 20\n[[step]]\nname = \"fire\"\neach = \"12 min\"\nspoil = \"25 %\"\n[sale]\nprice = 50\n\
                    [season]\nbuyers = [0, 1]\nclearance = 8\n";
        let shop = crate::scenario::read("test", text, &[]).expect("it reads");
        let found = money(&shop, 1).unwrap();
        close(found.income, 0.375 * 50.0);
        close(found.clearance, 0.375 * 8.0);
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
