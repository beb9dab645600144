//! What the hour of each way of selling earns.

use super::ChannelAnswer;
use crate::engine::{BlockSums, ChannelSums, Plan};
use crate::scenario::{Channel, Scenario};
use crate::stats::columns::per_hour;
use crate::stats::estimate::student;
use crate::stats::{self, Mean};

/// What each channel's hour earns.
pub(super) fn channel_answers(
    scenario: &Scenario,
    plan: &Plan,
    blocks: &[BlockSums],
    n: f64,
    floor: Option<f64>,
) -> Vec<ChannelAnswer> {
    // One channel alone is all there is: nothing to tell apart.
    if blocks.is_empty() {
        return Vec::new();
    }
    let total = |of: &dyn Fn(&BlockSums) -> f64| blocks.iter().map(of).fold(0.0, |sum, value| sum + value);
    let answer = |(c, channel): (usize, &Channel)| {
        // Money and hours of this channel in one block.
        let parts = |block: &BlockSums| {
            let own = &block.channels[c];
            let (channels, seconds) = block.channels.split_at(scenario.channels.len());
            let of_all = |of: &dyn Fn(&ChannelSums) -> f64| channels.iter().map(of).fold(0.0, |sum, v| sum + v);
            // What seconds bring belongs to the making; so do their orders' hours and stock.
            let brought: f64 = seconds.iter().map(|all| all.income - all.fees - all.post).sum();
            // Selling days have sold their share of what was made.
            let share = per_hour(own.placed, of_all(&|other| other.placed) + block.sums.day_sold);
            let making = block.hours - of_all(&|other| other.order_hours) - block.sums.day_hours;
            let hours = own.order_hours + share * making;
            let stock = block.sums.materials - of_all(&|other| other.materials);
            let profit = own.income - own.fees - own.post - own.materials - share * stock
                + own.back
                + share * (block.sums.clearance - block.sums.holding - of_all(&|other| other.back) + brought)
                - plan.terms.shop_per_hour * hours
                - share * plan.terms.wage * block.sums.helper_hours;
            (profit, hours)
        };
        let (profit, hours): (Vec<f64>, Vec<f64>) = blocks.iter().map(parts).unzip();
        let ratio = plan.channels[c].price_ratio;
        // Few blocks tell little of how much blocks differ: as much wider as Student's t is than the normal's at their number.
        let rate = stats::ratio(&profit, &hours);
        let wider = student(0.95, blocks.len() - 1).map_or(1.0, |t| t / stats::Z975);
        ChannelAnswer {
            name: channel.name.clone(),
            currency: channel
                .sale
                .currencies
                .price
                .map_or_else(|| scenario.currency.clone(), |k| scenario.currencies[k].code.clone()),
            price: scenario.sale.price * ratio,
            floor_asked: floor.map(|price| price * ratio),
            sold: total(&|block| block.channels[c].sold) / n,
            unsold: channel
                .on_return
                .as_ref()
                .map(|_| total(&|block| block.channels[c].placed - block.channels[c].sold) / n),
            orders: total(&|block| block.channels[c].orders) / n,
            hours: hours.iter().fold(0.0, |sum, value| sum + value) / n,
            profit: profit.iter().fold(0.0, |sum, value| sum + value) / n,
            rate: Mean {
                se: rate.se * wider,
                ..rate
            },
        }
    };
    scenario.channels.iter().enumerate().map(answer).collect()
}
