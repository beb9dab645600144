//! A scenario with one thing changed, everything else and every draw left as it was.
//!
//! Streams are named by what they are drawn for, so that trial i of the changed scenario is the same day as trial i of the
//! plain one, and differences can be taken trial by trial.

use crate::scenario::{Scenario, Spoiled};

/// Every price a buyer pays for a piece times `factor`, at the same demand.
///
/// Money is linear in price, so that (profit at twice the price - profit) / price is what a price of 1 brings in, trial by trial.
#[must_use]
pub fn priced(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    changed.sale.price *= factor;
    for channel in &mut changed.channels {
        channel.sale.price *= factor;
    }
    for sale in sales(&mut changed) {
        sale.single_price = sale.single_price.map(|price| price * factor);
    }
    for day in &mut changed.selling_days {
        day.price *= factor;
    }
    if let Some(season) = &mut changed.season {
        season.asked_at *= factor;
    }
    changed
}

/// One certain order of all pieces of a batch of `pieces`, sold as `[sale]` says: an order that is there already goes through
/// no channel, waits for no season and is not held in stock; and it is filled, so what is spoiled is made again.
#[must_use]
pub fn one_order(scenario: &Scenario, pieces: u32) -> Scenario {
    let mut changed = scenario.clone();
    changed.batch.sizes = vec![pieces];
    changed.sale.order_of = crate::scenario::Spread::Certain(f64::from(pieces));
    changed.batch.spoiled = Spoiled::Remake;
    // It is for pieces, whatever sets they make elsewhere.
    changed.sale.set_of = 1;
    changed.sale.single_price = None;
    changed.channels.clear();
    changed.selling_days.clear();
    (changed.season, changed.steady) = (None, None);
    // A second fills no order: it is made again, and what it might fetch is left out.
    for step in changed.steps.iter_mut().filter(|step| step.second > 0.0) {
        step.spoil = 1.0 - (1.0 - step.spoil) * (1.0 - step.second);
        step.second = 0.0;
    }
    changed.seconds = None;
    changed.materials.retain(|material| material.channel.is_none());
    changed
}

/// The scenario with one of its channels as its only way of selling, at the price asked there in the scenario's own money: what a channel
/// takes in another currency at its mean worth.
#[must_use]
pub fn through(scenario: &Scenario, channel: usize) -> Scenario {
    let mut changed = scenario.clone();
    let mut only = changed.channels.swap_remove(channel);
    let list = scenario.sale.price;
    only.sale.price = list * only.price_ratio(list) * scenario.exchange_rate(only.sale.currencies.price);
    only.sale.currencies.price = None;
    (only.share, only.discount, only.own_price) = (1.0, 0.0, false);
    changed.sale = only.sale.clone();
    changed.selling_days.clear();
    changed.channels = vec![only];
    changed
        .materials
        .retain(|material| material.channel.is_none_or(|only| only == channel));
    for material in &mut changed.materials {
        material.channel = material.channel.map(|_| 0);
    }
    changed
}

/// [`one_order`] of a scenario that [`through`] left with one way of selling: with the packing, postage and fees there.
#[must_use]
pub fn one_order_through(scenario: &Scenario, pieces: u32) -> Scenario {
    let mut changed = one_order(scenario, pieces);
    changed.channels.clone_from(&scenario.channels);
    changed.materials.clone_from(&scenario.materials);
    for channel in &mut changed.channels {
        channel.sale.order_of = changed.sale.order_of.clone();
        (channel.sale.set_of, channel.sale.single_price) = (1, None);
    }
    changed
}

/// No chance of a spoiled piece or a redo is raised above this.
pub const HIGHEST_CHANCE: f64 = 0.95;

/// All hands-on time times `factor`.
pub fn slower(scenario: &mut Scenario, factor: f64) {
    scenario.pace = scenario.pace.scaled(factor);
}

/// All setups times `factor`.
pub fn slower_setups(scenario: &mut Scenario, factor: f64) {
    for step in &mut scenario.steps {
        step.setup = step.setup.scaled(factor);
    }
}

/// All hands-on time of the step number `index` times `factor`. A channel's own time per order stands for those of the steps, and is no
/// step's.
pub fn slower_step(scenario: &mut Scenario, index: usize, factor: f64) {
    if let Some(step) = scenario.steps.get_mut(index) {
        for time in [&mut step.once, &mut step.setup, &mut step.each, &mut step.per_order] {
            *time = time.scaled(factor);
        }
    }
}

/// A channel's own time per order times `factor`; nothing where it has none.
pub fn slower_orders(scenario: &mut Scenario, channel: usize, factor: f64) {
    if let Some(time) = scenario.channels.get_mut(channel).and_then(|c| c.per_order.as_mut()) {
        *time = time.scaled(factor);
    }
}

/// All stock's prices times `factor`, at every break; what was really paid for it stays.
pub fn dearer_stock(scenario: &mut Scenario, factor: f64) {
    for material in &mut scenario.materials {
        material.price = material.price.scaled(factor);
        for tier in &mut material.breaks {
            tier.price = tier.price.scaled(factor);
        }
    }
}

/// Postage paid times `factor`; what the buyer pays for it stays.
pub fn dearer_post(scenario: &mut Scenario, factor: f64) {
    for sale in sales(scenario) {
        sale.post = sale.post.scaled(factor);
    }
}

/// The helper's wage times `factor`.
pub fn dearer_helper(scenario: &mut Scenario, factor: f64) {
    if let Some(helper) = &mut scenario.helper {
        helper.wage *= factor;
    }
}

/// What selling days find buyers for, less so large a share.
pub fn fewer_on_days(scenario: &mut Scenario, share: f64) {
    for day in &mut scenario.selling_days {
        day.sells = day.sells.scaled(1.0 - share);
    }
}

/// Fees, of the price and per order and for selling days, times `factor`.
pub fn dearer_fees(scenario: &mut Scenario, factor: f64) {
    for sale in sales(scenario) {
        sale.fee *= factor;
        sale.fee_per_order *= factor;
    }
    for day in &mut scenario.selling_days {
        day.fee *= factor;
        day.cost = day.cost.scaled(factor);
    }
}

fn sales(scenario: &mut Scenario) -> impl Iterator<Item = &mut crate::scenario::Sale> {
    let of_channels = scenario.channels.iter_mut().map(|channel| &mut channel.sale);
    let of_seconds = scenario.seconds.as_mut().map(|seconds| &mut seconds.sale);
    std::iter::once(&mut scenario.sale).chain(of_channels).chain(of_seconds)
}

/// Every chance that a piece is spoiled times `factor`, none raised above [`HIGHEST_CHANCE`].
pub fn more_spoil(scenario: &mut Scenario, factor: f64) {
    for step in &mut scenario.steps {
        step.spoil = likelier(step.spoil, factor);
    }
}

/// Every chance that a step must be done again times `factor`, none raised above [`HIGHEST_CHANCE`].
pub fn more_redo(scenario: &mut Scenario, factor: f64) {
    for step in &mut scenario.steps {
        step.redo = likelier(step.redo, factor);
    }
}

/// Every chance that a piece becomes a second times `factor`, none raised above [`HIGHEST_CHANCE`].
pub fn more_seconds(scenario: &mut Scenario, factor: f64) {
    for step in &mut scenario.steps {
        step.second = likelier(step.second, factor);
    }
}

/// Every share that comes back from sale or return times `factor`, no draw of it raised above [`HIGHEST_CHANCE`].
pub fn more_unsold(scenario: &mut Scenario, factor: f64) {
    for on_return in scenario
        .channels
        .iter_mut()
        .filter_map(|channel| channel.on_return.as_mut())
    {
        let most = on_return.unsold.limits().1;
        if most > 0.0 {
            on_return.unsold = on_return.unsold.scaled(likelier(most, factor) / most);
        }
    }
}

/// Every chance that a quote or an enquiry comes to nothing times `factor`, none raised above [`HIGHEST_CHANCE`].
pub fn more_lost(scenario: &mut Scenario, factor: f64) {
    for sale in sales(scenario) {
        for tries in [&mut sale.quote, &mut sale.enquiry] {
            tries.won = 1.0 - likelier(1.0 - tries.won, factor);
        }
    }
}

fn likelier(chance: f64, factor: f64) -> f64 {
    (chance * factor).min(HIGHEST_CHANCE.max(chance))
}

/// All hands-on time, stock, postage, fees, the helper's wage, spoil, seconds, redo, orders lost and pieces unsold times `factor` at once.
pub fn all_worse(scenario: &mut Scenario, factor: f64) {
    let changes: [fn(&mut Scenario, f64); 10] = [
        slower,
        dearer_stock,
        dearer_post,
        dearer_fees,
        dearer_helper,
        more_spoil,
        more_seconds,
        more_redo,
        more_lost,
        more_unsold,
    ];
    changes.iter().for_each(|change| change(scenario, factor));
}

/// A scenario with such a change.
pub fn with(scenario: &Scenario, change: impl FnOnce(&mut Scenario)) -> Scenario {
    let mut changed = scenario.clone();
    change(&mut changed);
    changed
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Spread;

    /// Two steps take 6 and 2 min an order; a channel says 20 min for both, which is a part of its own.
    #[test]
    fn a_channels_own_orders_are_no_steps() {
        let text = "target = 20\n[[step]]\nname = \"pack\"\nper_order = \"6 min\"\n[[step]]\nname = \"post\"\nper_order = \"2 \
                    min\"\n[sale]\nprice = 50\n[[channel]]\nname = \"shop\"\nshare = \"100 %\"\nper_order = \"20 min\"\n";
        let scenario = crate::scenario::read("test", text, &[]).expect("it reads");
        let own = |changed: Scenario| {
            (
                changed.channels[0].per_order.clone(),
                changed.steps[0].per_order.clone(),
            )
        };
        let certain = |a, b| (Some(Spread::Certain(a)), Spread::Certain(b));
        assert_eq!(own(with(&scenario, |s| slower_step(s, 0, 2.0))), certain(20.0, 12.0));
        assert_eq!(own(with(&scenario, |s| slower_orders(s, 0, 2.0))), certain(40.0, 6.0));
    }

    /// Of twenty quotes four come to nothing; half as many again are six. No more than 19 of twenty do.
    #[test]
    fn quotes_come_to_nothing_more_often() {
        let mut scenario = crate::testing::scenario(50.0, 20.0, &[1], Vec::new());
        scenario.sale.quote.won = 0.8;
        let won = |factor| with(&scenario, |s| more_lost(s, factor)).sale.quote.won;
        assert!((won(1.5) - 0.7).abs() < 1e-12, "{}", won(1.5));
        assert!((won(9.0) - 0.05).abs() < 1e-12, "{}", won(9.0));
        assert_eq!(with(&scenario, |s| more_lost(s, 2.0)).sale.enquiry.won, 1.0);
    }
}
