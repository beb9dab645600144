//! A checked scenario made flat: everything the engine's loops need, in the units they need it.

use super::shape::{Shape, half_bound};
use super::stream::{Use, part};
use crate::scenario::{Learning, Leftover, Scenario, Spoiled, Spread, Varies};

/// A shape and the stream it is drawn from.
#[derive(Debug, Clone)]
pub struct Source {
    /// How it is drawn.
    pub shape: Shape,
    /// The identity of its stream.
    pub part: u64,
}

impl Source {
    fn new(spread: &Spread, purpose: Use, name: &str) -> Self {
        Self {
            shape: Shape::new(spread),
            part: part(purpose, name),
        }
    }
}

/// Everything about money that does not depend on how a run goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// Asked price per piece, tax included.
    pub price: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// 1 / (1 + tax): the share of the price that is not tax.
    pub net: f64,
    /// Fee as a fraction of what the buyer pays.
    pub fee: f64,
    /// Fee per order.
    pub fee_per_order: f64,
    /// Postage paid by the buyer, per order.
    pub post_charged: f64,
    /// Overhead per hands-on hour.
    pub shop_per_hour: f64,
}

/// One step, ready for the loops. Times in minutes.
#[derive(Debug, Clone)]
pub struct PlanStep {
    /// Per round.
    pub setup: Source,
    /// Per piece.
    pub each: Source,
    /// One draw of `each` for the whole run.
    pub by_batch: bool,
    /// Pieces a round holds.
    pub room: Option<u32>,
    /// Learning factor of the i-th piece (from 0) handled at this step; empty: no learning.
    pub factors: Vec<f64>,
    /// The rule behind `factors`, for pieces beyond the largest batch (remakes).
    pub learning: Option<Learning>,
    /// Chance of a redo.
    pub redo: f64,
    /// Chance of spoiling.
    pub spoil: f64,
    /// [`half_bound`] of `redo`.
    pub redo_bound: f64,
    /// [`half_bound`] of `spoil`.
    pub spoil_bound: f64,
    /// Stream of redo and spoil.
    pub fate_part: u64,
    /// Stream of redone times.
    pub redo_part: u64,
    /// Streams of remade pieces: setup, each, fate, redo.
    pub remake_parts: [u64; 4],
    /// An earlier step can spoil pieces, so that fewer may reach this one.
    pub thinned: bool,
    /// Something counts the pieces that reach this step: a material, or learning where pieces are remade.
    pub counts_pieces: bool,
    /// Some material counts the rounds of this step.
    pub counts_rounds: bool,
    /// Whether anything at all is done per piece here.
    pub has_each: bool,
}

impl PlanStep {
    /// Learning factor of the piece number `index` (from 0) that this step handles.
    #[must_use]
    pub fn factor(&self, index: u32) -> f64 {
        self.factors
            .get(index as usize)
            .copied()
            .unwrap_or_else(|| learning_factor(self.learning, index))
    }
}

/// One material, ready for the loops.
#[derive(Debug, Clone)]
pub struct PlanMaterial {
    /// Replacement price per unit.
    pub price: Source,
    /// Fraction bought beyond what is used.
    pub waste: Source,
    /// Units per piece that reaches the step `at`.
    pub per_piece: f64,
    /// Units per run.
    pub per_batch: f64,
    /// Units per round of the step `at`.
    pub per_round: f64,
    /// Units per order.
    pub per_order: f64,
    /// Whole packs of this many units; 0: any amount.
    pub pack: f64,
    /// Whether all that is bought is charged.
    pub lost: bool,
    /// Cheaper tiers: (from, price); they draw from the stream of `price`.
    pub breaks: Vec<(f64, Shape)>,
    /// What was really paid per unit.
    pub paid: Option<f64>,
    /// Index of its step.
    pub at: usize,
}

impl PlanMaterial {
    /// Whether the cost is simply amount times price: no breaks, and no pack whose rest is charged.
    #[must_use]
    pub const fn is_plain(&self) -> bool {
        (self.pack == 0.0 || !self.lost) && self.breaks.is_empty()
    }

    /// What a run that needs `need` units (waste included) buys, in units, and the tier it pays (0: the plain price).
    ///
    /// Whole packs; where buying up to the next break costs less in all, that is what is bought. `price` gives the run's
    /// plain price (0) and its price at each break (from 1).
    #[must_use]
    pub fn purchase(&self, need: f64, price: impl Fn(usize) -> f64) -> (f64, usize) {
        // A need that is a whole number of packs but for rounding must not open another pack.
        let whole = |units: f64| {
            if self.pack == 0.0 {
                units
            } else {
                libm::ceil(units / self.pack * (1.0 - 1e-12) - 1e-12) * self.pack
            }
        };
        let bought = whole(need);
        let tier = self.breaks.iter().take_while(|(from, _)| bought >= *from).count();
        let mut best = (bought, tier);
        let mut outlay = bought * price(tier);
        for (k, (from, _)) in self.breaks.iter().enumerate().skip(tier) {
            let up = whole(*from);
            let up_outlay = up * price(k + 1);
            if up_outlay < outlay && bought > 0.0 {
                outlay = up_outlay;
                best = (up, k + 1);
            }
        }
        best
    }
}

/// The flat plan of a scenario.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Pace.
    pub pace: Source,
    /// Minutes once for the design, one source a step that has any.
    pub once: Vec<Source>,
    /// Runs that `once` is spread over.
    pub runs: f64,
    /// Steps in order.
    pub steps: Vec<PlanStep>,
    /// Minutes per order, one source a step that has any.
    pub order_times: Vec<Source>,
    /// Pieces in an order.
    pub order_of: Source,
    /// Postage per order.
    pub post: Source,
    /// [`half_bound`] of the chance that an order comes back; 0: none does.
    pub returned_bound: f64,
    /// Stream of returns.
    pub returned_part: u64,
    /// Materials.
    pub materials: Vec<PlanMaterial>,
    /// Money.
    pub terms: Terms,
    /// Sizes to record, ascending.
    pub sizes: Vec<u32>,
    /// Whether spoiled pieces are made again.
    pub remake: bool,
    /// Whether any step can spoil a piece.
    pub spoils: bool,
}

impl Plan {
    /// Flattens a scenario.
    #[must_use]
    pub fn new(scenario: &Scenario) -> Self {
        let largest = scenario.batch.sizes.last().copied().unwrap_or(1);
        let remake = scenario.batch.spoiled == Spoiled::Remake;
        let mut thinned = false;
        let mut steps = Vec::with_capacity(scenario.steps.len());
        for (index, step) in scenario.steps.iter().enumerate() {
            let at_here = || scenario.materials.iter().filter(move |m| m.at == index);
            let name = &step.name;
            steps.push(PlanStep {
                setup: Source::new(&step.setup, Use::Setup, name),
                each: Source::new(&step.each, Use::Each, name),
                by_batch: step.varies == Varies::Batch,
                room: step.room,
                factors: if step.learning.is_some() && !step.each.is_zero() {
                    (0..largest).map(|i| learning_factor(step.learning, i)).collect()
                } else {
                    Vec::new()
                },
                learning: step.learning,
                redo: step.redo,
                spoil: step.spoil,
                redo_bound: half_bound(step.redo),
                spoil_bound: half_bound(step.spoil),
                fate_part: part(Use::Fate, name),
                redo_part: part(Use::Redo, name),
                remake_parts: [Use::RemakeSetup, Use::RemakeEach, Use::RemakeFate, Use::RemakeRedo]
                    .map(|purpose| part(purpose, name)),
                thinned,
                counts_pieces: at_here().any(|m| m.per_piece != 0.0) || (remake && step.learning.is_some()),
                counts_rounds: at_here().any(|m| m.per_round != 0.0),
                has_each: !step.each.is_zero(),
            });
            thinned |= step.spoil > 0.0;
        }
        let sale = &scenario.sale;
        Self {
            pace: Source::new(&scenario.pace, Use::Pace, ""),
            once: by_step(scenario, Use::Once, |s| s.once),
            runs: f64::from(scenario.batch.runs),
            steps,
            order_times: by_step(scenario, Use::OrderTime, |s| s.per_order),
            order_of: Source::new(&sale.order_of, Use::OrderSize, ""),
            post: Source::new(&sale.post, Use::Post, ""),
            returned_bound: half_bound(sale.returned),
            returned_part: part(Use::Returned, ""),
            materials: scenario.materials.iter().map(plan_material).collect(),
            terms: Terms {
                price: sale.price,
                target: scenario.target_per_hour,
                net: 1.0 / (1.0 + sale.tax),
                fee: sale.fee,
                fee_per_order: sale.fee_per_order,
                post_charged: sale.post_charged,
                shop_per_hour: scenario.shop.cost_per_hour(),
            },
            sizes: scenario.batch.sizes.clone(),
            remake,
            spoils: thinned,
        }
    }

    /// Whether the good pieces of a batch may be fewer than were started when orders are filled.
    #[must_use]
    pub const fn sells_short(&self) -> bool {
        self.spoils && !self.remake
    }
}

fn by_step(scenario: &Scenario, purpose: Use, pick: fn(&crate::scenario::Step) -> Spread) -> Vec<Source> {
    let wanted = scenario.steps.iter().filter(|step| !pick(step).is_zero());
    wanted
        .map(|step| Source::new(&pick(step), purpose, &step.name))
        .collect()
}

fn plan_material(material: &crate::scenario::Material) -> PlanMaterial {
    PlanMaterial {
        price: Source::new(&material.price, Use::Price, &material.name),
        waste: Source::new(&material.waste, Use::Waste, &material.name),
        per_piece: material.per_piece,
        per_batch: material.per_batch,
        per_round: material.per_round,
        per_order: material.per_order,
        pack: material.pack.unwrap_or(0.0),
        lost: material.leftover == Leftover::Lost,
        breaks: material.breaks.iter().map(|b| (b.from, Shape::new(&b.price))).collect(),
        paid: material.paid,
        at: material.at,
    }
}

/// Crawford's unit model: ((m + i) / (m + 1))^log2(rate) for the i-th piece (i = `index` + 1), no further gain after
/// `learned_by` pieces, those made before included.
///
/// Source: design section 4; the unit model is commonly ascribed to J. R. Crawford (Lockheed, 1940s; from memory).
#[must_use]
pub fn learning_factor(learning: Option<Learning>, index: u32) -> f64 {
    let Some(Learning {
        rate,
        made_before,
        learned_by,
    }) = learning
    else {
        return 1.0;
    };
    let made = f64::from(made_before) + f64::from(index) + 1.0;
    let first = f64::from(made_before) + 1.0;
    let counted = learned_by.map_or(made, |end| made.min(f64::from(end).max(first)));
    libm::pow(counted / first, libm::log2(rate))
}
