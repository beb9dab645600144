//! A scenario with one thing changed, everything else and every draw left as it was.
//!
//! Streams are named by what they are drawn for, so that trial i of the changed scenario is the same day as trial i of the
//! plain one, and differences can be taken trial by trial.

use crate::scenario::{Scenario, Spoiled};

/// Every price a buyer pays for a piece times `factor`, at the same demand.
///
/// Money is linear in price, so that (profit at twice the price - profit) / price is what a price of 1 brings in, run by run.
#[must_use]
pub fn priced(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    changed.sale.price *= factor;
    for channel in &mut changed.channels {
        channel.sale.price *= factor;
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
    changed.channels.clear();
    (changed.season, changed.steady) = (None, None);
    changed
}

/// No chance of a spoiled piece or a redo is raised above this.
pub const HIGHEST_CHANCE: f64 = 0.95;

/// All hands-on time times `factor`.
#[must_use]
pub fn slower(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    changed.pace = changed.pace.scaled(factor);
    changed
}

/// All setups times `factor`.
#[must_use]
pub fn slower_setups(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    for step in &mut changed.steps {
        step.setup = step.setup.scaled(factor);
    }
    changed
}

/// All hands-on time of the step number `index` times `factor`.
///
/// A channel's own time per order stands for those of the steps: it grows by the step's share of them.
#[must_use]
pub fn slower_step(scenario: &Scenario, index: usize, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    let all: f64 = scenario.steps.iter().map(|step| step.per_order.mean()).sum();
    let own = scenario.steps.get(index).map_or(0.0, |step| step.per_order.mean());
    if own > 0.0 {
        for time in changed
            .channels
            .iter_mut()
            .filter_map(|channel| channel.per_order.as_mut())
        {
            *time = time.scaled(1.0 + (factor - 1.0) * own / all);
        }
    }
    if let Some(step) = changed.steps.get_mut(index) {
        for time in [&mut step.once, &mut step.setup, &mut step.each, &mut step.per_order] {
            *time = time.scaled(factor);
        }
    }
    changed
}

/// All stock's prices times `factor`, at every break; what was really paid for it stays.
#[must_use]
pub fn dearer_stock(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    for material in &mut changed.materials {
        material.price = material.price.scaled(factor);
        for tier in &mut material.breaks {
            tier.price = tier.price.scaled(factor);
        }
    }
    changed
}

/// Postage paid times `factor`; what the buyer pays for it stays.
#[must_use]
pub fn dearer_post(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    for sale in sales(&mut changed) {
        sale.post = sale.post.scaled(factor);
    }
    changed
}

/// Fees, of the price and per order, times `factor`.
#[must_use]
pub fn dearer_fees(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    for sale in sales(&mut changed) {
        sale.fee *= factor;
        sale.fee_per_order *= factor;
    }
    changed
}

fn sales(scenario: &mut Scenario) -> impl Iterator<Item = &mut crate::scenario::Sale> {
    std::iter::once(&mut scenario.sale).chain(scenario.channels.iter_mut().map(|c| &mut c.sale))
}

/// Every chance that a piece is spoiled times `factor`, none raised above [`HIGHEST_CHANCE`].
#[must_use]
pub fn more_spoil(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    for step in &mut changed.steps {
        step.spoil = likelier(step.spoil, factor);
    }
    changed
}

/// Every chance that a step must be done again times `factor`, none raised above [`HIGHEST_CHANCE`].
#[must_use]
pub fn more_redo(scenario: &Scenario, factor: f64) -> Scenario {
    let mut changed = scenario.clone();
    for step in &mut changed.steps {
        step.redo = likelier(step.redo, factor);
    }
    changed
}

fn likelier(chance: f64, factor: f64) -> f64 {
    (chance * factor).min(HIGHEST_CHANCE.max(chance))
}

/// All hands-on time, stock, postage, fees, spoil and redo times `factor` at once.
#[must_use]
pub fn all_worse(scenario: &Scenario, factor: f64) -> Scenario {
    let changes: [fn(&Scenario, f64) -> Scenario; 6] =
        [slower, dearer_stock, dearer_post, dearer_fees, more_spoil, more_redo];
    changes
        .iter()
        .fold(scenario.clone(), |changed, change| change(&changed, factor))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Spread;

    /// Two steps take 6 and 2 min an order; a channel says 20 min for both. The first at twice the time: 20 x (1 + 6 / 8).
    #[test]
    fn a_slower_step_slows_the_channels_own_orders_by_its_share() {
        let text = "target = 20\n[[step]]\nname = \"pack\"\nper_order = \"6 min\"\n[[step]]\nname = \"post\"\nper_order = \"2 \
                    min\"\n[sale]\nprice = 50\n[[channel]]\nname = \"shop\"\nshare = \"100 %\"\nper_order = \"20 min\"\n";
        let scenario = crate::scenario::read("test", text, &[]).expect("it reads");
        let own = |index: usize| slower_step(&scenario, index, 2.0).channels[0].per_order.clone();
        assert_eq!(own(0), Some(Spread::Certain(35.0)));
        assert_eq!(own(1), Some(Spread::Certain(25.0)));
    }
}
