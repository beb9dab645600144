//! Money that follows from hours alone.
//!
//! Where nothing is spoiled or returned, and order sizes, postage, prices and waste are certain, the money of a batch is
//! certain but for the overhead its hours cost: profit and floor are functions of hours that never turn, so that only hours
//! need be kept, and one column's order statistics serve all.
//!
//! # Why money is a line where it can be
//!
//! Where nothing but hours is left to chance, profit and floor are functions of hours that never turn. One column is kept and selected
//! instead of four; quantiles of the others are those of hours, mapped. A rounding can turn a rate only where a loss grows with hours;
//! there rates are selected by themselves. The same operations in the same order give the same bits as money worked out trial by trial,
//! and a property test holds them to it. A new source of chance in money must be thought of here.

use super::plan::{CertainSale, Plan, PlanChannel, Terms, UsedBy};
use super::shape::Shape;

/// Profit and floor of one batch size as functions of a trial's hours: the same operations in the same order as where
/// money is worked out trial by trial, so that both give the same bits.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MoneyLine {
    /// How the batch sells.
    pub sale: CertainSale,
    /// Profit before the overhead of hours.
    pub gross: f64,
    /// What of it does not hang on the price.
    pub rest: f64,
    /// What a price of 1 brings in.
    pub per_price: f64,
    /// What the asked price brings in.
    pub income: f64,
    /// Overhead per hour.
    pub shop_per_hour: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// Materials at replacement prices.
    pub materials: f64,
    /// Materials at what was paid.
    pub materials_paid: f64,
}

impl MoneyLine {
    /// Whether profit never rises with hours and the floor never falls.
    #[must_use]
    pub(crate) fn never_turns(&self) -> bool {
        self.shop_per_hour >= 0.0 && self.target >= 0.0
    }

    /// Profit of a batch that takes so many hours.
    #[must_use]
    pub fn profit(&self, hours: f64) -> f64 {
        self.gross - hours * self.shop_per_hour
    }

    /// The price floor of a trial that takes so many hours.
    #[must_use]
    pub fn floor(&self, hours: f64) -> f64 {
        let due = hours * self.target - (self.rest - hours * self.shop_per_hour);
        if self.per_price > 0.0 {
            (due / self.per_price).max(0.0)
        } else if due <= self.income && self.profit(hours) > 0.0 {
            0.0
        } else {
            f64::INFINITY
        }
    }
}

impl Plan {
    /// The money of a batch of `size` as a function of its hours; `None` where chance has a part in it besides hours.
    #[must_use]
    pub(crate) fn money_line(&self, size: u32) -> Option<MoneyLine> {
        // All of them by name: a new one must be thought of here.
        let Terms {
            price,
            target,
            clearance,
            holding,
            tied_up,
            shop_per_hour,
            wage: _,
        } = self.terms;
        if self.has_helper() {
            return None;
        }
        let [channel] = self.channels.as_slice() else {
            return None;
        };
        if clearance != 0.0 || holding != 0.0 || tied_up != 0.0 || self.demand.is_some() || !self.rates.is_empty() {
            return None;
        }
        let PlanChannel {
            price_ratio,
            net,
            fee,
            fee_per_order,
            post_charged,
            ..
        } = *channel;
        let sale = self.certain_sale(size)?;
        let CertainSale {
            pieces,
            orders,
            minutes: _,
            postage,
            tips,
        } = sale;
        let [materials, paid] = self.certain_materials(size, orders)?;
        let per_price = pieces * (net * price_ratio) - pieces * (fee * price_ratio);
        let charged_post = orders * (net * post_charged) + tips;
        let order_fees = orders * (post_charged * fee + fee_per_order);
        Some(MoneyLine {
            sale,
            income: per_price * price,
            gross: per_price * price + charged_post - order_fees - postage - materials,
            rest: charged_post - order_fees - postage - materials,
            per_price,
            shop_per_hour,
            target,
            materials,
            materials_paid: paid,
        })
    }

    /// What materials cost a batch of `size` where nothing is spoiled, at replacement prices and as paid; `None` where chance
    /// has a part.
    fn certain_materials(&self, size: u32, orders: f64) -> Option<[f64; 2]> {
        let fixed = |shape: &Shape| match shape {
            Shape::Fixed(value) => Some(*value),
            _ => None,
        };
        // 1 + waste, then the price and that at each break.
        let mut prices = Vec::with_capacity(self.materials.len());
        for material in &self.materials {
            let mut tiers = vec![1.0 + fixed(&material.waste.shape)?, fixed(&material.price.shape)?];
            for (_, shape) in &material.breaks {
                tiers.push(fixed(shape)?);
            }
            prices.push(tiers);
        }
        let pieces = f64::from(size);
        let rounds = |at: usize| f64::from(self.steps[at].room.map_or(1, |room| size.div_ceil(room)));
        let (mut materials, mut paid) = (0.0, 0.0);
        for stock in self.stock() {
            let times = match stock.used_by {
                UsedBy::Batch => 1.0,
                UsedBy::Order(_) => orders,
                UsedBy::Piece | UsedBy::PieceAt(_) => pieces,
                UsedBy::Round(at) => rounds(at),
            };
            materials += times * stock.cost(|m| prices[m][0] * prices[m][1]);
            paid += times * stock.cost(|m| prices[m][0] * self.materials[m].paid.unwrap_or(prices[m][1]));
        }
        for (material, prices) in self.materials.iter().zip(&prices).filter(|(m, _)| !m.is_plain()) {
            let used = pieces * material.per_piece
                + rounds(material.at) * material.per_round
                + orders * material.per_order
                + material.per_batch;
            let need = used * prices[0];
            let (bought, tier) = material.purchase(need, |tier| prices[tier + 1]);
            let charged = if material.lost { bought } else { need };
            let cost = charged * prices[tier + 1];
            materials += cost;
            paid += material.paid.map_or(cost, |price| charged * price);
        }
        Some([materials, paid])
    }

    /// [`Plan::money_line`] of every size; `None` where one has none.
    #[must_use]
    pub(super) fn money_lines(&self) -> Option<Vec<MoneyLine>> {
        self.sizes.iter().map(|size| self.money_line(*size)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::{Engine, Path, SizeTrials};
    use crate::scenario::{Break, Leftover, Scenario, Spread, Step};
    use crate::testing::{material, pencil_trays, scenario, step, tri};

    /// Orders, rounds, redos, learning, overhead; packs, breaks and rounds of material.
    fn calm_shop() -> Scenario {
        let mut shop = scenario(
            50.0,
            40.0,
            &[1, 2, 63, 64, 65, 140],
            vec![
                Step {
                    once: tri(60.0, 90.0, 200.0),
                    setup: tri(5.0, 9.0, 20.0),
                    each: tri(3.0, 4.0, 9.0),
                    redo: 0.1,
                    ..step("saw")
                },
                Step {
                    setup: tri(5.0, 9.0, 20.0),
                    each: tri(1.0, 2.0, 3.0),
                    room: Some(6),
                    ..step("glue")
                },
                Step {
                    per_order: Spread::Certain(12.0),
                    ..step("pack")
                },
            ],
        );
        shop.pace = tri(0.9, 1.0, 1.4);
        shop.shop.per_hour = 3.2;
        shop.sale.order_of = Spread::Certain(3.0);
        shop.sale.post = Spread::Certain(5.9);
        shop.sale.post_charged = 4.0;
        shop.sale.tip = Spread::Certain(1.1);
        shop.sale.fee = 0.065;
        shop.sale.fee_per_order = 0.3;
        shop.materials = vec![
            crate::scenario::Material {
                per_piece: 0.9,
                waste: Spread::Certain(0.15),
                ..material("board", 7.0)
            },
            crate::scenario::Material {
                per_round: 0.4,
                per_order: 0.1,
                at: 1,
                pack: Some(3.0),
                leftover: Leftover::Lost,
                paid: Some(2.0),
                breaks: vec![Break {
                    from: 10.0,
                    price: Spread::Certain(5.0),
                }],
                ..material("glue", 9.0)
            },
        ];
        shop
    }

    fn bits(trials: &SizeTrials) -> Vec<Vec<u64>> {
        let columns = [&trials.hours, &trials.profit, &trials.floor];
        columns
            .map(|column| column.iter().map(|v| v.to_bits()).collect())
            .to_vec()
    }

    /// The same bits as money worked out trial by trial, on every path, also where the last group is short.
    #[test]
    fn lines_are_money_trial_by_trial() {
        for shop in [calm_shop(), pencil_trays()] {
            let plan = Plan::new(&shop);
            assert!(plan.money_lines().is_some());
            for path in Path::available() {
                let engine = Engine::new(&plan, 5).on_path(path);
                let hours_only = engine.answer_sizes(300, &|_| (), |trials| trials);
                let whole = engine.trial_by_trial().answer_sizes(300, &|_| (), |trials| trials);
                for (a, b) in hours_only.iter().zip(&whole) {
                    assert_eq!(bits(a), bits(b), "size {}", a.size);
                    assert_eq!(a.sums, b.sums, "size {}", a.size);
                }
            }
        }
    }

    /// Whatever leaves money to chance leaves no line.
    #[test]
    fn chance_leaves_no_line() {
        let changes: [fn(&mut Scenario); 8] = [
            |shop| shop.steps[0].spoil = 0.1,
            |shop| shop.sale.returned = 0.1,
            |shop| shop.sale.order_of = tri(1.0, 2.0, 4.0),
            |shop| shop.sale.post = tri(1.0, 2.0, 4.0),
            |shop| shop.sale.tip = tri(0.0, 1.0, 4.0),
            |shop| shop.steps[2].per_order = tri(1.0, 2.0, 4.0),
            |shop| shop.materials[0].waste = tri(0.1, 0.2, 0.4),
            |shop| shop.materials[1].breaks[0].price = tri(1.0, 2.0, 4.0),
        ];
        for change in changes {
            let mut shop = calm_shop();
            change(&mut shop);
            assert_eq!(Plan::new(&shop).money_line(2), None);
        }
    }
}
