//! What can an hour earn at most, however many are made?
//!
//! The long-run rate E\[profit\] / E\[hours\] of one more piece in an endless batch. Per piece started, a_j of which reach step j and g come
//! out good:
//!
//! * minutes: sum of a_j (each_j L_j / (1 - redo_j) + setup_j / room_j) + orders x per order,
//! * orders: g / E\[order size\] for each way of selling, by its share,
//! * money: what sold pieces and their orders bring, less materials at their cheapest tier, wages of a helper and overhead.
//!
//! Setup is spread to nothing but where a step has room for so many pieces only; whole packs fill up. Learning without an end is taken at
//! the largest size of the sweep, so that the ceiling holds for all sizes of the sweep rather than for an hour that shrinks to nothing.
//! Every good piece is sold, and nothing is held. A selling day is another part of a batch: the pieces that find a buyer there, its hours
//! and its cost. So is what a season leaves over: it takes no order, and may earn more an hour than what sells.
//!
//! Example: 30 min a piece that sells for 20 and uses 5 of stock: 30 an hour.

use super::counts::{Sold, arrivals, learning_factor, order_size, second, unsold};
use super::hours::{order_minutes, second_minutes};
use super::money::back;
use super::worth::{leftover_at_most, leftovers_save_making};
use crate::scenario::{Sale, Scenario, SellingDay, Spread, plain_sale};

/// The long-run rate that no batch size can pass.
///
/// Any batch lies between an endless one sold otherwise, one that is left over when a season ends, and the pieces of each selling day with its
/// hours and its cost, as a ratio of sums lies between the ratios (the mediant).
///
/// Of pieces that make no full set a batch has fewer than a set; the smallest of the sweep has the largest share of them. The rate is a ratio
/// of sums in these shares, so it is greatest where each is all or nothing, and raising it one by one finds the greatest.
#[must_use]
pub fn ceiling(scenario: &Scenario) -> f64 {
    let days = days_at_most(scenario, scenario.pace.mean());
    let left = left_over(scenario).map(|left| left.rate);
    days.chain(left).fold(best(scenario).rate, f64::max)
}

/// Whether the [`ceiling`] is what pieces earn that are left over when a season ends, and nothing that sells earns as much an hour.
#[must_use]
pub(crate) fn is_of_left_over(scenario: &Scenario) -> bool {
    let sold = days_at_most(scenario, scenario.pace.mean()).fold(best(scenario).rate, f64::max);
    left_over(scenario).is_some_and(|left| left.rate > sold)
}

/// A piece that is left over when a season ends. One that saves making another is worth no more than it costs to make, with each hour at
/// the target.
fn left_over(scenario: &Scenario) -> Option<Endless> {
    let left = endless(&all_left_over(scenario)?, &[0.0]);
    let most = if leftovers_save_making(scenario) {
        scenario.target_per_hour
    } else {
        f64::INFINITY
    };
    Some(Endless {
        rate: left.rate.min(most),
        ..left
    })
}

/// The scenario with every piece left over when its season ends, each at what one is worth.
pub(super) fn all_left_over(scenario: &Scenario) -> Option<Scenario> {
    scenario.season.as_ref()?;
    Some(without_orders(scenario, plain_sale(leftover_at_most(scenario))))
}

/// One more piece in an endless batch, at the mean pace.
#[derive(Clone, Copy)]
struct Endless {
    rate: f64,
    /// Money that it brings, wages and overhead not taken off.
    money: f64,
    hours: f64,
    /// What the helper costs.
    wages: f64,
}

impl Endless {
    /// Money made an hour at the bench, overhead and wages apart, goes with one over the pace, as a slow day is slow for the helper too.
    fn at_pace(self, scenario: &Scenario, pace: f64) -> f64 {
        if self.rate.is_infinite() {
            return self.rate;
        }
        let wages = if self.wages > 0.0 { self.wages / self.hours } else { 0.0 };
        let besides = scenario.shop.cost_per_hour() + wages;
        (self.rate + besides) * scenario.pace.mean() / pace - besides
    }
}

fn best(scenario: &Scenario) -> Endless {
    let most = singly_at_most(scenario);
    let mut singly = vec![0.0; most.len()];
    let mut best = endless(scenario, &singly);
    while let Some((k, better)) = (0..most.len()).find_map(|k| {
        let mut other = singly.clone();
        other[k] = most[k] - singly[k];
        Some((k, endless(scenario, &other))).filter(|(_, found)| found.rate > best.rate)
    }) {
        singly[k] = most[k] - singly[k];
        best = better;
    }
    best
}

/// What an hour of each selling day and of the pieces sold there earns at most, at a pace: with as many buyers as come on average. Fewer
/// pieces would share its hours and its cost, which no pace lengthens.
fn days_at_most(scenario: &Scenario, pace: f64) -> impl Iterator<Item = f64> {
    let slower = pace / scenario.pace.mean();
    let (_, good) = arrivals(scenario);
    scenario.selling_days.iter().map(move |day| {
        let times = scenario.buyers_at_price();
        let buyers = match day.sells {
            Spread::Certain(sells) => sells * times,
            // Whole pieces are half a piece more at most.
            ref sells => sells.mean() * times + 0.5,
        };
        let one = endless(&all_sold_on(scenario, day), &[0.0]);
        let started = buyers / good;
        let hours = started * one.hours * slower + day.minutes() / 60.0;
        (started * (one.money - one.wages * slower) - day.cost.mean()) / hours - scenario.shop.cost_per_hour()
    })
}

/// Pieces beside full sets at most of each way of selling, for each that is started.
fn singly_at_most(scenario: &Scenario) -> Vec<f64> {
    let smallest = f64::from(scenario.batch.sizes.first().copied().unwrap_or(1));
    let (_, good) = arrivals(scenario);
    let placed = |k: usize| good * scenario.channels.get(k).map_or(1.0, |channel| channel.share);
    let sales = scenario.sales().into_iter().enumerate();
    sales
        .map(|(k, sale)| match sale.single_price {
            // Those that a season leaves over are looked at by themselves.
            None if scenario.season.is_some() => 0.0,
            _ => placed(k).min(f64::from(sale.set_of - 1) / smallest),
        })
        .collect()
}

/// The scenario with every piece sold on one day.
fn all_sold_on(scenario: &Scenario, day: &SellingDay) -> Scenario {
    let sale = Sale {
        tax: day.tax,
        fee: day.fee,
        ..plain_sale(day.price)
    };
    without_orders(scenario, sale)
}

/// The scenario with every piece sold so, and nothing to pack or send.
fn without_orders(scenario: &Scenario, sale: Sale) -> Scenario {
    let mut changed = scenario.clone();
    changed.sale = sale;
    changed.channels.clear();
    for step in &mut changed.steps {
        step.per_order = Spread::ZERO;
    }
    for material in &mut changed.materials {
        (material.per_order, material.channel) = (0.0, None);
    }
    changed
}

/// The long-run rate of one more piece in an endless batch, so much of which makes no full set by each way of selling.
fn endless(scenario: &Scenario, singly: &[f64]) -> Endless {
    let largest = scenario.batch.sizes.last().copied().unwrap_or(1);
    let (arrivals, good) = arrivals(scenario);
    let (mut minutes, mut helpers) = (0.0, 0.0);
    for (step, arrive) in scenario.steps.iter().zip(&arrivals) {
        let minutes = if step.helped { &mut helpers } else { &mut minutes };
        let handled = step.learning.and_then(|l| l.learned_by).unwrap_or(0).max(largest);
        let factor = learning_factor(step.learning, handled - 1);
        *minutes += arrive * step.each.mean() * factor / (1.0 - step.redo);
        if let Some(room) = step.room {
            *minutes += arrive * step.own_setup().mean() / f64::from(room);
        }
    }
    let (mut orders, mut minutes_of_orders, mut sold_for) = (Vec::new(), 0.0, 0.0);
    let times = order_minutes(scenario);
    let wages = if helpers > 0.0 {
        scenario.pace.mean() * helpers / 60.0 * scenario.wage()
    } else {
        0.0
    };
    // One that makes no full set is worth no more than it costs to make here, with each hour at the target.
    let hour = scenario.target_per_hour + scenario.shop.cost_per_hour();
    let unsent = vec![0.0; scenario.sales().len()];
    let made = materials(scenario, &arrivals, &unsent) + scenario.pace.mean() * minutes / 60.0 * hour + wages;
    let odd = leftover_at_most(scenario).min(made / good);
    // `placed` of each that is started go this way, so many of them singly; of the others so many find no buyer there.
    let mut sell = |sale: &Sale, [placed, alone]: [f64; 2], unsold: f64, discount: f64, minutes: f64| {
        sold_for += alone * sale.single_price.map_or(odd, |price| price * sale.left_of_single());
        let placed = placed - alone;
        let pieces = placed * (1.0 - unsold);
        let left = sale.left_of_money();
        let price = sale.price * (1.0 - discount) * scenario.exchange_rate(sale.currencies.price);
        let sent = placed / order_size(&sale.order_of) / f64::from(sale.set_of);
        let charged = sale.post_charged * scenario.exchange_rate(sale.currencies.post_charged);
        orders.push(sent);
        minutes_of_orders += sent * minutes;
        sold_for += pieces * price * left;
        sold_for += sent
            * (charged * left + sale.tip.mean() * scenario.exchange_rate(sale.currencies.tip) * (1.0 - sale.returned)
                - sale.fee_per_order * scenario.exchange_rate(sale.currencies.fee_per_order)
                - sale.post.mean() * scenario.exchange_rate(sale.currencies.post));
    };
    if scenario.channels.is_empty() {
        sell(&scenario.sale, [good, singly[0]], 0.0, 0.0, times[0]);
    }
    for (k, (channel, minutes)) in scenario.channels.iter().zip(times).enumerate() {
        sell(
            &channel.sale,
            [channel.share * good, singly[k]],
            unsold(scenario, k),
            channel.discount,
            minutes,
        );
    }
    if let Some(seconds) = &scenario.seconds {
        sell(
            &seconds.sale,
            [second(scenario), 0.0],
            0.0,
            0.0,
            second_minutes(scenario),
        );
    }
    sold_for += comes_back(scenario, good);
    let hours = scenario.pace.mean() * (minutes + minutes_of_orders) / 60.0;
    let materials = materials(scenario, &arrivals, &orders);
    let money = sold_for - materials;
    // Where all the time is setup or the helper's, an hour earns or loses without end.
    Endless {
        rate: (money - wages) / hours - scenario.shop.cost_per_hour(),
        money,
        hours,
        wages,
    }
}

/// What the material of one more piece costs, so many of which arrive at each step and are sent in so many orders by each way of selling.
fn materials(scenario: &Scenario, arrivals: &[f64], orders: &[f64]) -> f64 {
    scenario
        .materials
        .iter()
        .map(|m| {
            let rounds = scenario.steps[m.at]
                .room
                .map_or(0.0, |room| arrivals[m.at] / f64::from(room));
            let sent = m
                .channel
                .map_or_else(|| orders.iter().sum::<f64>(), |only| orders[only]);
            let used = arrivals[m.at] * m.per_piece + rounds * scenario.per_round(m) + sent * m.per_order;
            let price = m.breaks.iter().map(|b| b.price.mean()).fold(m.price.mean(), f64::min);
            used * (1.0 + m.waste.mean()) * price * scenario.exchange_rate(m.currency)
        })
        .sum()
}

/// What comes back of so many good pieces is worth, less what waiting for it costs. Each is worth what it is in the smallest batch: in a
/// large one less is saved by it.
fn comes_back(scenario: &Scenario, good: f64) -> f64 {
    let way = |k: usize| {
        let placed = good * scenario.channels.get(k).map_or(1.0, |channel| channel.share);
        Sold {
            singly: 0.0,
            placed,
            pieces: placed * (1.0 - unsold(scenario, k)),
            orders: 0.0,
        }
    };
    let ways: Vec<Sold> = (0..scenario.sales().len()).map(way).collect();
    let back = back(scenario, &ways);
    let left: f64 = ways.iter().map(|sold| sold.placed - sold.pieces).sum();
    (left + back.again) * leftover_at_most(scenario) + back.worn - back.tied_up
}

/// [`ceiling`] at the pace that the asked share of batches does not exceed.
#[must_use]
pub fn slow_ceiling(scenario: &Scenario) -> f64 {
    let slow = scenario.pace.quantile(scenario.confidence);
    let left = left_over(scenario).map(|left| left.at_pace(scenario, slow));
    let apart = days_at_most(scenario, slow).chain(left);
    apart.fold(best(scenario).at_pace(scenario, slow), f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::close;

    /// Four start for three good ones. Turning takes 20 min and once more for a fifth, firing 40 min for eight, packing 12 min for an order
    /// of two.
    #[test]
    fn an_endless_batch_by_hand() {
        let text = "target = 20\nconfidence = \"75 %\"\n[pace]\nfactor = \"1 / 2\"\n[batch]\nsizes = [4]\n\
                    [[step]]\nname = \"turn\"\nsetup = \"1 h\"\neach = \"20 min\"\nredo = \"20 %\"\nspoil = \"25 %\"\n\
                    [[step]]\nname = \"fire\"\nsetup = \"40 min\"\nroom = 8\n\
                    [[step]]\nname = \"pack\"\nper_order = \"12 min\"\n\
                    [[material]]\nname = \"clay\"\nper_piece = 2\nper_batch = 9\nprice = 1\nwaste = \"50 %\"\nbreaks = [{ from = 99, price = 0.5 }]\n\
                    [[material]]\nname = \"gas\"\nper_round = 4\nprice = 1\nat = \"fire\"\n\
                    [[material]]\nname = \"box\"\nper_order = 1\nprice = 2\n\
                    [sale]\nprice = 48\norder_of = 2\npost = 5\n[shop]\nper_hour = 6\n";
        let shop = crate::scenario::read("test", text, &[]).expect("it reads");
        let minutes = 1.5 * (20.0 / 0.8 + 0.75 * 40.0 / 8.0 + 0.375 * 12.0);
        let money = 0.75 * 48.0 - 0.375 * 5.0 - 2.0 * 1.5 * 0.5 - 0.75 / 8.0 * 4.0 - 0.375 * 2.0;
        close(ceiling(&shop), money / (minutes / 60.0) - 6.0);
        // Three batches in four are no slower than 1.75.
        close(slow_ceiling(&shop), money / (minutes / 60.0) * 1.5 / 1.75 - 6.0);
    }

    /// Work of the helper's alone, once there is no setup to speak of: nothing bounds what an hour of the maker's earns, or loses.
    #[test]
    fn no_hours_of_the_makers_have_no_ceiling() {
        let of = |price: f64| {
            let text = format!(
                "target = 20\n[[step]]\nname = \"plan\"\nsetup = \"20 min\"\n[[step]]\nname = \"carve\"\neach = \"30 min\"\n\
                 done_by = \"helper\"\n[helper]\nwage = 14\n[sale]\nprice = {price}\n"
            );
            let shop = crate::scenario::read("test", &text, &[]).expect("it reads");
            [ceiling(&shop), slow_ceiling(&shop)]
        };
        assert_eq!(of(8.0), [f64::INFINITY; 2]);
        assert_eq!(of(6.0), [f64::NEG_INFINITY; 2]);
    }

    /// 10 min of making for 8 is more an hour than 70 for 30; with 20 min of packing it is less. Carried over for half a
    /// year at 20 % a year, a piece is worth nine tenths of its 10 min at 40 an hour.
    #[test]
    fn what_is_left_over_may_earn_more_than_what_sells() {
        let of = |pack: &str, season: &str| {
            let text = format!(
                "target = 40\n[[step]]\nname = \"carve\"\nsetup = \"20 min\"\neach = \"10 min\"\n[[step]]\nname = \"pack\"\n\
                 per_order = \"{pack}\"\n[sale]\nprice = 30\n[season]\nbuyers = \"8 / 12\"\n{season}\n"
            );
            let shop = crate::scenario::read("test", &text, &[]).expect("it reads");
            (ceiling(&shop), is_of_left_over(&shop))
        };
        let is = |(found, left): (f64, bool), due: f64, is_left: bool| {
            close(found, due);
            assert_eq!(left, is_left);
        };
        is(of("60 min", "clearance = 8"), 48.0, true);
        is(of("20 min", "clearance = 8"), 60.0, false);
        let carried = "leftover = \"carry\"\nhold = \"20 %\"\nweeks = 26";
        is(of("60 min", carried), 36.0, true);
        is(of("20 min", carried), 60.0, false);
    }
}
