//! The mean of a batch written out as sums: counts times means.
//!
//! Whoever changes a price or a time keeps the counts, so that
//!
//! * hours = pace / 60 x (once / batches planned + sum over steps of (rounds x setup + goes x each) + sum over ways of selling of orders x minutes),
//! * profit = sum over ways of (pieces x price x kept + orders x (charged x kept + tip x (1 - returned) - fee per order - postage)) - sum over materials of
//!   units x price - overhead x hours + what leftovers bring - what holding costs, where kept = (1 - returned) / (1 + tax) - fee.
//!
//! Counts are those of [`super::counts`]; a go is one piece handled once by somebody who has learned nothing yet. Units are what is
//! bought at the plain price: where packs or price breaks change what is paid, as many as cost the same. Money is in the scenario's
//! own currency. Where price breaks meet a range, what is cheapest at the means is bought. A count hangs on no price and no time; demand is what it is at the asked price.

use super::ceiling::all_left_over;
use super::counts::{Sold, arrivals, at_steps, good, learning_factor, learning_sums, order_size, sold_by_way, unsold};
use super::hours::order_minutes;
use super::money::back;
use super::stock::Ranges;
use super::{NoClosedForm, stock, worth};
use crate::scenario::{LEFT, Sale, Scenario, Spread, Step};

/// One way of selling, by its means.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// The channel's name; `None` where there is one way only.
    pub name: Option<String>,
    /// Its price as a share of the list price, discount taken off.
    pub ratio: f64,
    /// Tax contained in the price, as a share of the net price.
    pub tax: f64,
    /// Fee, as a share of what the buyer pays.
    pub fee: f64,
    /// Money per order.
    pub fee_per_order: f64,
    /// Money per order to the carrier.
    pub post: f64,
    /// Money per order from the buyer.
    pub post_charged: f64,
    /// Money per order that buyers add.
    pub tip: f64,
    /// Share of the orders that are given back.
    pub returned: f64,
    /// Its own minutes per order; `None` where it takes those of the steps.
    pub minutes: Option<f64>,
}

impl Way {
    /// What is left of each unit of money that a buyer pays.
    #[must_use]
    pub fn kept(&self) -> f64 {
        (1.0 - self.returned) / (1.0 + self.tax) - self.fee
    }
}

/// One step, by its mean minutes.
#[derive(Debug, Clone, PartialEq)]
pub struct Minutes {
    /// The step's name.
    pub name: String,
    /// Per round.
    pub setup: f64,
    /// Per piece.
    pub each: f64,
    /// Per order.
    pub per_order: f64,
    /// Once for the design.
    pub once: f64,
}

/// One material, by its mean price.
#[derive(Debug, Clone, PartialEq)]
pub struct Bought {
    /// The material's name.
    pub name: String,
    /// The word for one unit.
    pub unit: String,
    /// Money per unit.
    pub price: f64,
}

/// How often each mean counts in one batch, or in one more piece of an endless batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Counts {
    /// Rounds of each step.
    pub rounds: Vec<f64>,
    /// Goes of each step.
    pub goes: Vec<f64>,
    /// Pieces sold each way.
    pub pieces: Vec<f64>,
    /// Orders of each way.
    pub orders: Vec<f64>,
    /// Units of each material.
    pub units: Vec<f64>,
    /// Share of the hours done once.
    pub once: f64,
    /// Money that leftovers bring, less what holding costs.
    pub besides: f64,
}

/// A scenario as sums.
#[derive(Debug, Clone, PartialEq)]
pub struct Sums {
    /// Asked list price.
    pub price: f64,
    /// Money an hour that is wanted.
    pub target: f64,
    /// Pace, a factor.
    pub pace: f64,
    /// Overhead per hands-on hour.
    pub overhead: f64,
    /// Steps in order.
    pub steps: Vec<Minutes>,
    /// Ways of selling in order.
    pub ways: Vec<Way>,
    /// Materials in order.
    pub materials: Vec<Bought>,
    /// The counts of each size of the scenario.
    pub sizes: Vec<(u32, Counts)>,
    /// The counts of one more piece in an endless batch ([`mod@super::ceiling`]).
    pub endless: Counts,
    /// The same of one that is left over when a season ends; `None` without one.
    pub left_over: Option<Counts>,
    /// Whether that earns no more than the target, as it is worth what making it costs.
    pub saves_making: bool,
    /// Materials, by index, at whose price breaks the cheapest purchase is taken at the means of price and waste. That is near the mean
    /// and not the mean.
    pub near: Vec<usize>,
}

/// What the sums come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Total {
    /// Hands-on hours.
    pub hours: f64,
    /// From buyers, less refunds, tax and fees.
    pub income: f64,
    /// Materials.
    pub materials: f64,
    /// Overhead.
    pub overhead: f64,
    /// Money, before the maker is paid.
    pub profit: f64,
    /// What a list price of 1 leaves.
    pub per_price: f64,
}

impl Total {
    /// Money an hour.
    #[must_use]
    pub fn rate(&self) -> f64 {
        self.profit / self.hours
    }
}

impl Sums {
    /// The scenario as sums.
    ///
    /// # Errors
    /// [`NoClosedForm`], where a material's cost has none.
    pub fn of(scenario: &Scenario) -> Result<Self, NoClosedForm> {
        if scenario.seconds.is_some() {
            return Err(NoClosedForm::SecondsInSums);
        }
        if scenario.has_sets() {
            return Err(NoClosedForm::SetsInSums);
        }
        if scenario.helper.is_some() {
            return Err(NoClosedForm::HelperInSums);
        }
        if !scenario.selling_days.is_empty() {
            return Err(NoClosedForm::DaysInSums);
        }
        let minutes = |step: &Step| Minutes {
            name: step.name.clone(),
            setup: step.own_setup().mean(),
            each: step.each.mean(),
            per_order: step.per_order.mean(),
            once: step.once.mean(),
        };
        let order_minutes = order_minutes(scenario);
        let ways = scenario.sales().into_iter().enumerate().map(|(k, sale)| {
            let channel = scenario.channels.get(k);
            Way {
                name: channel.map(|channel| channel.name.clone()),
                ratio: channel.map_or(1.0, |channel| channel.price_ratio(scenario.sale.price))
                    * scenario.exchange_rate(sale.currencies.price),
                tax: sale.tax,
                fee: sale.fee,
                fee_per_order: sale.fee_per_order * scenario.exchange_rate(sale.currencies.fee_per_order),
                post: sale.post.mean() * scenario.exchange_rate(sale.currencies.post),
                post_charged: sale.post_charged * scenario.exchange_rate(sale.currencies.post_charged),
                tip: sale.tip.mean() * scenario.exchange_rate(sale.currencies.tip),
                returned: sale.returned,
                // With quotes and enquiries until one is won, where there are any.
                minutes: (channel.is_some_and(|channel| channel.per_order.is_some())
                    || sale.tries().iter().any(|tries| !tries.minutes.is_zero()))
                .then(|| order_minutes[k]),
            }
        });
        let bought = scenario.materials.iter().map(|material| Bought {
            name: material.name.clone(),
            unit: material.unit.clone(),
            price: stock::unit_price(scenario, material),
        });
        let mut sizes = Vec::with_capacity(scenario.batch.sizes.len());
        for &size in &scenario.batch.sizes {
            sizes.push((size, batch(scenario, size)?));
        }
        Ok(Self {
            price: scenario.sale.price,
            target: scenario.target_per_hour,
            pace: scenario.pace.mean(),
            overhead: scenario.shop.cost_per_hour(),
            steps: scenario.steps.iter().map(minutes).collect(),
            ways: ways.collect(),
            materials: bought.collect(),
            sizes,
            endless: endless(scenario),
            left_over: left_over(scenario),
            saves_making: worth::leftovers_save_making(scenario),
            near: (0..scenario.materials.len())
                .filter(|number| near(scenario, *number))
                .collect(),
        })
    }

    /// What the sums come to for these counts.
    #[must_use]
    pub fn total(&self, counts: &Counts) -> Total {
        let of_steps: f64 = self.steps.iter().map(|step| step.per_order).sum();
        let mut minutes = counts.once * self.steps.iter().map(|step| step.once).sum::<f64>();
        for ((step, rounds), goes) in self.steps.iter().zip(&counts.rounds).zip(&counts.goes) {
            minutes += rounds * step.setup + goes * step.each;
        }
        let (mut income, mut per_price) = (0.0, 0.0);
        for ((way, pieces), orders) in self.ways.iter().zip(&counts.pieces).zip(&counts.orders) {
            minutes += orders * way.minutes.unwrap_or(of_steps);
            let left = pieces * way.ratio * way.kept();
            per_price += left;
            let tip = way.tip * (1.0 - way.returned);
            income += left * self.price + orders * (way.post_charged * way.kept() + tip - way.fee_per_order - way.post);
        }
        let materials: f64 = self
            .materials
            .iter()
            .zip(&counts.units)
            .map(|(m, units)| m.price * units)
            .sum();
        let hours = self.pace * minutes / 60.0;
        let overhead = self.overhead * hours;
        Total {
            hours,
            income,
            materials,
            overhead,
            profit: income - materials - overhead + counts.besides,
            per_price,
        }
    }

    /// The long-run rate that no batch passes, as [`super::ceiling()`] has it.
    #[must_use]
    pub fn ceiling(&self) -> f64 {
        let most = if self.saves_making { self.target } else { f64::INFINITY };
        let left = self.left_over.iter().map(|counts| self.total(counts).rate().min(most));
        left.fold(self.total(&self.endless).rate(), f64::max)
    }

    /// The list price at which these counts earn the target; `None` where no price does it.
    #[must_use]
    pub fn floor(&self, total: &Total) -> Option<f64> {
        let due = self.target * total.hours - total.profit;
        // To rounding, as [`Scenario::price_counts`] has it.
        let counts = self.ways.iter().any(|way| way.kept() > LEFT);
        (counts && total.per_price > 0.0).then(|| (self.price + due / total.per_price).max(0.0))
    }
}

/// Whether a material's price breaks meet a price or a waste that is a range.
fn near(scenario: &Scenario, number: usize) -> bool {
    let material = &scenario.materials[number];
    let prices = material.breaks.iter().map(|tier| &tier.price).chain([&material.price]);
    !material.breaks.is_empty() && !prices.chain([&material.waste]).all(Spread::is_certain)
}

/// The counts of a batch of `size`.
fn batch(scenario: &Scenario, size: u32) -> Result<Counts, NoClosedForm> {
    let at_steps = at_steps(scenario, size);
    let goes = scenario.steps.iter().zip(&at_steps).map(|(step, at)| {
        let learned = learning_sums(step.learning, at.handled.last());
        at.handled.mean_of(|pieces| learned[pieces as usize]) / (1.0 - step.redo)
    });
    let ways = sold_by_way(scenario, size);
    let good = good(scenario, size);
    let sold: f64 = ways.iter().map(|sold| sold.pieces).sum();
    let squares = good.mean_of(|pieces| f64::from(pieces) * f64::from(pieces));
    let mut units = Vec::with_capacity(scenario.materials.len());
    for (number, material) in scenario.materials.iter().enumerate() {
        let [charged, cost] = stock::charged(scenario, size, number, &at_steps, &ways, Ranges::AtMeans)?;
        let price = material.price.mean();
        units.push(if price > 0.0 { cost / price } else { charged });
    }
    let back = back(scenario, &ways);
    Ok(Counts {
        rounds: at_steps.iter().map(|at| at.rounds).collect(),
        goes: goes.collect(),
        pieces: ways.iter().map(|sold| sold.pieces).collect(),
        orders: ways.iter().map(|sold| sold.orders).collect(),
        units,
        once: 1.0 / f64::from(scenario.batch.runs),
        besides: (good.mean() - sold + back.again) * worth::leftover(scenario, size) + back.worn
            - squares * worth::holding(scenario)
            - back.tied_up,
    })
}

/// The counts of one more piece in an endless batch, as [`super::ceiling()`] has them.
fn endless(scenario: &Scenario) -> Counts {
    let largest = scenario.batch.sizes.last().copied().unwrap_or(1);
    let (arrive, good) = arrivals(scenario);
    let rounds: Vec<f64> = scenario
        .steps
        .iter()
        .zip(&arrive)
        .map(|(step, arrive)| step.room.map_or(0.0, |room| arrive / f64::from(room)))
        .collect();
    let goes = scenario.steps.iter().zip(&arrive).map(|(step, arrive)| {
        let handled = step.learning.and_then(|l| l.learned_by).unwrap_or(0).max(largest);
        arrive * learning_factor(step.learning, handled - 1) / (1.0 - step.redo)
    });
    let shares: Vec<f64> = if scenario.channels.is_empty() {
        vec![1.0]
    } else {
        scenario.channels.iter().map(|channel| channel.share).collect()
    };
    let way = |(k, (sale, share)): (usize, (&Sale, &f64))| Sold {
        singly: 0.0,
        placed: share * good,
        pieces: share * good * (1.0 - unsold(scenario, k)),
        orders: share * good / order_size(&sale.order_of),
    };
    let ways: Vec<Sold> = scenario.sales().into_iter().zip(&shares).enumerate().map(way).collect();
    let back = back(scenario, &ways);
    let left: f64 = ways.iter().map(|sold| sold.placed - sold.pieces).sum();
    let orders: Vec<f64> = ways.iter().map(|sold| sold.orders).collect();
    let all: f64 = orders.iter().sum();
    let units = scenario.materials.iter().map(|m| {
        let sent = m.channel.map_or(all, |only| orders[only]);
        let used = arrive[m.at] * m.per_piece + rounds[m.at] * scenario.per_round(m) + sent * m.per_order;
        let plain = m.price.mean();
        let cheapest = m.breaks.iter().map(|b| b.price.mean()).fold(plain, f64::min);
        used * (1.0 + m.waste.mean()) * if plain > 0.0 { cheapest / plain } else { 1.0 }
    });
    Counts {
        goes: goes.collect(),
        units: units.collect(),
        rounds,
        pieces: ways.iter().map(|sold| sold.pieces).collect(),
        orders,
        once: 0.0,
        besides: (left + back.again) * worth::leftover_at_most(scenario) + back.worn - back.tied_up,
    }
}

/// The counts of one more piece that is left over when a season ends.
fn left_over(scenario: &Scenario) -> Option<Counts> {
    let none = vec![0.0; scenario.sales().len()];
    Some(Counts {
        pieces: none.clone(),
        orders: none,
        besides: arrivals(scenario).1 * worth::leftover_at_most(scenario),
        ..endless(&all_left_over(scenario)?)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{ceiling, hours, money};
    use crate::testing::pencil_trays;

    /// Exact fractions, tests/reference/shop_certain.csv: size, profit, hours, floor.
    #[test]
    fn sums_come_to_the_exact_fractions() {
        let shop = pencil_trays();
        let sums = Sums::of(&shop).unwrap();
        for (size, profit, needed, price) in [
            (1, 23.0750, 1.766_666_666_7, 127.005_347_593_6),
            (10, 493.5500, 9.750_000_000_0, 73.497_326_203_2),
        ] {
            let counts = batch(&shop, size).unwrap();
            let total = sums.total(&counts);
            let near = |found: f64, due: f64| assert!((found - due).abs() < 1e-9, "{size}: {found} against {due}");
            near(total.profit, profit);
            near(total.hours, needed);
            near(sums.floor(&total).unwrap(), price);
        }
    }

    /// A fee of 82 % takes all that 18 % of returns leave, but for rounding: no price pays, here as there.
    #[test]
    fn a_price_that_leaves_nothing_has_no_floor() {
        let mut shop = pencil_trays();
        (shop.sale.tax, shop.sale.returned, shop.sale.fee) = (0.0, 0.18, 0.82);
        assert!(shop.sale.left_of_money() > 0.0);
        let sums = Sums::of(&shop).unwrap();
        let total = sums.total(&sums.sizes[0].1);
        assert!(total.per_price > 0.0);
        assert_eq!(sums.floor(&total), None);
        assert_eq!(money::floor(&shop, sums.sizes[0].0), Ok(None));
    }

    /// Spoil, remakes, learning, redo, packs, breaks, channels abroad, a season: the sums are the other closed forms, term by term elsewhere.
    #[test]
    fn sums_are_the_other_closed_forms() {
        let text = "target = 20\ncurrency = \"EUR\"\nconfidence = \"75 %\"\n[pace]\nfactor = \"1 / 1.2 / 2\"\n[batch]\nsizes = \"1..40\"\nruns = 3\n\
                    [[step]]\nname = \"turn\"\nonce = \"2 h\"\nsetup = \"1 h\"\neach = \"15 / 20 / 40 min\"\nredo = \"20 %\"\nspoil = \"25 %\"\n\
                    learning = \"90 %\"\n\
                    [[step]]\nname = \"fire\"\nsetup = \"40 min\"\nroom = 8\n\
                    [[step]]\nname = \"pack\"\nper_order = \"12 min\"\n\
                    [[material]]\nname = \"clay\"\nper_piece = 2\nper_batch = 9\nprice = 1\nwaste = \"50 %\"\nbreaks = [{ from = 99, price = 0.5 }]\n\
                    [[material]]\nname = \"gas\"\nper_round = 4\nprice = \"1 / 2\"\nat = \"fire\"\n\
                    [[material]]\nname = \"box\"\nper_order = 1\nprice = \"2 USD\"\n\
                    [sale]\nprice = 48\ntax = \"20 %\"\nfee = \"5 %\"\nfee_per_order = 0.5\npost = \"4 / 6\"\npost_charged = 3\ntip = \"0 / 2 USD\"\nreturned = \"4 %\"\n\
                    [[channel]]\nname = \"shop\"\nshare = \"60 %\"\ndiscount = \"30 %\"\nper_order = \"2 min\"\norder_of = \"2 / 5\"\n\
                    [[channel]]\nname = \"abroad\"\nshare = \"40 %\"\nprice = \"70 USD\"\nfee_per_order = \"2 USD\"\n\
                    [currencies]\nUSD = \"0.8 / 1\"\n[shop]\nper_hour = 6\n[season]\nbuyers = [9, 15, 30]\nclearance = 8\n";
        let shop = crate::scenario::read("test", text, &[]).expect("it reads");
        let sums = Sums::of(&shop).unwrap();
        let close = |found: f64, due: f64| {
            assert!(
                (found - due).abs() <= 1e-9 * due.abs().max(1.0),
                "{found} against {due}"
            );
        };
        for (size, counts) in &sums.sizes {
            let total = sums.total(counts);
            close(total.hours, hours(&shop, *size));
            close(total.profit, money(&shop, *size).unwrap().profit());
            close(total.per_price, money::per_price(&shop, *size));
            close(
                sums.floor(&total).unwrap(),
                money::floor(&shop, *size).unwrap().unwrap(),
            );
        }
        close(sums.ceiling(), ceiling(&shop));
    }

    /// What is left over may earn more an hour than what sells, which has to be packed: cleared at a price, or carried on.
    #[test]
    fn the_ceiling_may_be_of_what_is_left_over() {
        for pack in ["60 min", "20 min"] {
            for left in ["clearance = 8", "leftover = \"carry\"\nhold = \"20 %\"\nweeks = 26"] {
                let text = format!(
                    "target = 40\n[[step]]\nname = \"carve\"\nsetup = \"20 min\"\neach = \"10 min\"\nspoil = \"10 %\"\n\
                     [[step]]\nname = \"pack\"\nper_order = \"{pack}\"\n[[material]]\nname = \"box\"\nper_order = 1\nprice = 2\n\
                     [sale]\nprice = 30\n[season]\nbuyers = \"8 / 12\"\n{left}\n"
                );
                let shop = crate::scenario::read("test", &text, &[]).expect("it reads");
                let (found, due) = (Sums::of(&shop).unwrap().ceiling(), ceiling(&shop));
                assert!((found - due).abs() < 1e-9, "{pack}, {left}: {found} against {due}");
            }
        }
    }
}
