//! A checked scenario made flat: everything the engine's loops need, in the units they need it.

mod sales;

use super::path::lesser;
use super::shape::{Shape, half_bound, unit};
use super::stream::{Use, nth, part, start};
use crate::model::counts::{certain_orders, learning_factor};
use crate::model::{stock, worth};
use crate::scenario::{Buyers, Learning, Leftover, Scenario, Spoiled, Spread, Varies};
use fearless_simd::{Simd, SimdBase, SimdFloat, f64x8};
pub use sales::{FIRST_OF_SECONDS, PlanChannel, PlanDay, PlanDemand, PlanReturn, PlanSeconds, PlanTries, TRIES_STRIDE};
use sales::{channels, plan_day, seconds};

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

/// Everything about money that does not depend on how a trial goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// Asked price per piece, tax included.
    pub price: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// What each piece brings that is good and not sold.
    pub clearance: f64,
    /// Cost of holding a batch's pieces until they are sold: this times the square of those that are.
    pub holding: f64,
    /// Money tied up in a piece, where some are left on sale or return and that costs something; else 0.
    pub tied_up: f64,
    /// Overhead per hands-on hour.
    pub shop_per_hour: f64,
    /// Money for an hour of the helper's.
    pub wage: f64,
}

/// One step, ready for the loops. Times in minutes.
#[derive(Debug, Clone)]
pub struct PlanStep {
    /// Per round.
    pub setup: Source,
    /// Whether the helper does it.
    pub helped: bool,
    /// The share of each round that this design fills; `setup` is that share of it.
    pub own: f64,
    /// Per piece.
    pub each: Source,
    /// One draw of `each` for the whole batch.
    pub by_batch: bool,
    /// Where setups may lie opposite to that draw, and both vary.
    pub opposite: Option<Opposite>,
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
    pub after_spoilage: bool,
    /// Something counts the pieces that reach this step: a material, or learning where pieces are remade.
    pub counts_pieces: bool,
    /// Whether anything at all is done per piece here.
    pub has_each: bool,
}

/// Setups that lie opposite to the batch's time per piece in a share of the trials.
///
/// There every setup of the trial is `Q(1 - F(x))`: x the time per piece, F its distribution function, Q the quantiles of a setup. Together with the
/// trials whose setups are drawn by themselves this is the copula `a W + (1 - a) P` of Frechet's family (Nelsen 2006, An Introduction to Copulas, 2nd
/// ed., section 2.2; from memory): the laws of both stay what they are.
#[derive(Debug, Clone)]
pub struct Opposite {
    /// The share.
    pub share: f64,
    /// Stream of whether a trial is one of them.
    pub part: u64,
    /// The time per piece, drawn here as well: setups stay what they are where a question changes the time of the pieces alone.
    pub each: Source,
    /// Its range.
    pub range: Spread,
}

impl Opposite {
    fn new(step: &crate::scenario::Step) -> Option<Self> {
        let share = step.opposite_share();
        (share > 0.0).then(|| Self {
            share,
            part: part(Use::Opposite, &step.name),
            each: Source::new(&step.each, Use::Each, &step.name),
            range: step.each.clone(),
        })
    }
}

impl PlanStep {
    /// Minutes of every setup of a trial where they lie opposite to its time per piece; `None`: each is drawn by itself.
    #[must_use]
    pub fn opposite_setup(&self, trial_key: u64) -> Option<f64> {
        let opposite = self.opposite.as_ref()?;
        let draw = |part: u64| nth(start(trial_key, part), 0);
        // Where it is one of them, this is again uniform on 0 to 1.
        let within = unit(draw(opposite.part)) / opposite.share;
        (within < 1.0).then(|| {
            let each = opposite.each.shape.draw_one(draw(opposite.each.part));
            self.setup.shape.quantile(1.0 - opposite.range.rank(each, within))
        })
    }

    /// Learning factor of the piece number `index` (from 0) that this step handles.
    #[must_use]
    pub fn factor(&self, index: u32) -> f64 {
        self.factors
            .get(index as usize)
            .copied()
            .unwrap_or_else(|| learning_factor(self.learning, index))
    }

    /// Whether every piece of a trial takes the same time here, but for learning.
    #[must_use]
    pub(crate) const fn is_alike(&self) -> bool {
        self.by_batch || self.each.shape.is_fixed()
    }

    /// A setup that falls due exactly once a batch, with the first piece, in every lane.
    #[must_use]
    pub(crate) fn has_one_setup(&self) -> bool {
        self.room.is_none() && !self.after_spoilage && !self.setup.shape.is_zero()
    }

    /// Setups whose number hangs on the batch.
    #[must_use]
    pub(crate) fn has_rounds(&self) -> bool {
        !(self.setup.shape.is_zero() || self.has_one_setup())
    }

    /// Rounds it takes to handle so many pieces, in every lane.
    #[inline(always)]
    pub fn rounds<S: Simd>(&self, simd: S, pieces: f64x8<S>) -> f64x8<S> {
        match self.room {
            Some(room) => ((pieces - 1.0) / f64::from(room)).floor() + 1.0,
            None => lesser(pieces, f64x8::splat(simd, 1.0)),
        }
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
    /// Units per batch.
    pub per_batch: f64,
    /// Units per round of the step `at`.
    pub per_round: f64,
    /// Units per order.
    pub per_order: f64,
    /// The channel whose orders alone use it.
    pub channel: Option<usize>,
    /// Whole packs of this many units; 0: any amount.
    pub pack: f64,
    /// Whether all that is bought is charged.
    pub lost: bool,
    /// Cheaper tiers: (from, price); they draw from the stream of `price`.
    pub breaks: Vec<(f64, Shape)>,
    /// Tiers whose range has another shape than that of the first that varies: their draw is matched to its.
    pub matched: Vec<Matched>,
    /// What was really paid per unit.
    pub paid: Option<f64>,
    /// Currency of its prices: an index into [`Plan::rates`].
    pub rate: Option<usize>,
    /// Index of its step.
    pub at: usize,
}

/// A tier's price at the quantile at which another's stands: a dear day is dear at every tier, whatever shapes their ranges have.
#[derive(Debug, Clone)]
pub struct Matched {
    /// The tier (0: the plain price), and its range.
    pub tier: (usize, Spread),
    /// The tier that is drawn, and its range.
    pub drawn: (usize, Spread),
}

impl Matched {
    /// The tiers of a material whose range has another shape than the one that is drawn.
    fn of(material: &crate::scenario::Material) -> Vec<Self> {
        let breaks = material.breaks.iter().map(|tier| &tier.price);
        let all: Vec<&Spread> = std::iter::once(&material.price).chain(breaks).collect();
        let Some(drawn) = all.iter().position(|spread| !spread.is_certain()) else {
            return Vec::new();
        };
        let unlike = |(_, spread): &(usize, &Spread)| !spread.is_like(all[drawn]);
        let matched = |(tier, spread): (usize, &Spread)| Self {
            tier: (tier, spread.clone()),
            drawn: (drawn, all[drawn].clone()),
        };
        all.iter().copied().enumerate().filter(unlike).map(matched).collect()
    }
}

impl PlanMaterial {
    /// Whether the cost is simply amount times price: no breaks, and no pack whose rest is charged.
    #[must_use]
    pub(crate) const fn is_plain(&self) -> bool {
        (self.pack == 0.0 || !self.lost) && self.breaks.is_empty()
    }

    /// What a trial that needs `need` units (waste included) buys, in units, and the tier it pays (0: the plain price).
    ///
    /// `price` gives the trial's plain price (0) and its price at each break (from 1).
    #[must_use]
    pub fn purchase(&self, need: f64, price: impl Fn(usize) -> f64) -> (f64, usize) {
        let breaks: Vec<f64> = self.breaks.iter().map(|(from, _)| *from).collect();
        stock::purchase(need, self.pack, &breaks, price)
    }
}

/// What plain materials are used by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UsedBy {
    /// The trial.
    Batch,
    /// Every order, or those of one channel.
    Order(Option<usize>),
    /// Every piece that is started.
    Piece,
    /// Every piece that reaches this step.
    PieceAt(usize),
    /// Every round of this step.
    Round(usize),
}

/// Plain materials that are used by the same thing: their cost is one number times how often that is.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// What uses them.
    pub used_by: UsedBy,
    /// Each material with the units used each time.
    pub parts: Vec<(usize, f64)>,
}

impl Stock {
    /// What all of it costs each time, from what a unit of each material costs, waste included.
    #[must_use]
    pub fn cost(&self, unit: impl Fn(usize) -> f64) -> f64 {
        self.parts.iter().fold(0.0, |sum, (m, units)| sum + units * unit(*m))
    }
}

/// The orders of a batch that sells one way, without any chance in it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CertainSale {
    /// Pieces sold and kept.
    pub pieces: f64,
    /// Orders.
    pub orders: f64,
    /// Hands-on minutes of all orders.
    pub minutes: f64,
    /// Postage of all orders.
    pub postage: f64,
    /// Tips of all orders.
    pub tips: f64,
}

/// Pieces of an order that are started beyond those that are due.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct SparePieces {
    /// How many.
    pub count: u32,
    /// What each is worth that is left over.
    pub worth: f64,
}

/// The flat plan of a scenario.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Pace.
    pub pace: Source,
    /// Minutes once for the design, one source a step that has any.
    pub once: Vec<Source>,
    /// Batches that `once` is spread over.
    pub runs: f64,
    /// Steps in order.
    pub steps: Vec<PlanStep>,
    /// Ways of selling, at least one.
    pub channels: Vec<PlanChannel>,
    /// Selling days in order.
    pub days: Vec<PlanDay>,
    /// Seconds, where any step makes some.
    pub seconds: Option<PlanSeconds>,
    /// What other currencies are worth.
    pub rates: Vec<Source>,
    /// Pieces asked for; `None`: as many as there are.
    pub demand: Option<PlanDemand>,
    /// Stream of returns.
    pub returned_part: u64,
    /// Materials.
    pub materials: Vec<PlanMaterial>,
    /// Money.
    pub terms: Terms,
    /// Sizes to record, ascending.
    pub sizes: Vec<u32>,
    /// Where leftovers are carried over: what one of each size is worth.
    carried: Vec<(u32, f64)>,
    /// Whether spoiled pieces are made again.
    pub remake: bool,
    /// Pieces started beyond those that are due; none unless asked for.
    pub spares: SparePieces,
    /// Whether any step can spoil a piece.
    pub spoils: bool,
    /// Whether any step can fall due again on a piece.
    pub redoes: bool,
}

impl Plan {
    /// Flattens a scenario.
    #[must_use]
    pub fn new(scenario: &Scenario) -> Self {
        let largest = scenario.batch.sizes.last().copied().unwrap_or(1);
        let steps = (0..scenario.steps.len()).map(|index| plan_step(scenario, index, largest));
        Self {
            pace: Source::new(&scenario.pace, Use::Pace, ""),
            once: by_step(scenario, Use::Once, |s| &s.once),
            runs: f64::from(scenario.batch.runs),
            steps: steps.collect(),
            channels: channels(scenario),
            days: scenario
                .selling_days
                .iter()
                .map(|day| plan_day(day, scenario.sale.price, scenario.buyers_at_price()))
                .collect(),
            seconds: seconds(scenario),
            rates: scenario
                .currencies
                .iter()
                .map(|currency| Source::new(&currency.rate, Use::Exchange, &currency.code))
                .collect(),
            demand: scenario.season.as_ref().map(|season| PlanDemand {
                counts: match &season.buyers {
                    Buyers::Range(spread) => Ok(Shape::new(spread)),
                    Buyers::Seen(seen) => Err(seen.clone()),
                },
                part: part(Use::Buyers, ""),
                scale: scenario.buyers_at_price(),
            }),
            returned_part: part(Use::Returned, ""),
            materials: scenario.materials.iter().map(|m| plan_material(scenario, m)).collect(),
            terms: Terms {
                price: scenario.sale.price,
                target: scenario.target_per_hour,
                clearance: worth::leftover_of(scenario, worth::piece_value),
                holding: worth::holding(scenario),
                tied_up: worth::tied_up(scenario),
                shop_per_hour: scenario.shop.cost_per_hour(),
                wage: scenario.wage(),
            },
            carried: if worth::leftovers_save_making(scenario) {
                let sizes = scenario.batch.sizes.iter();
                sizes.map(|size| (*size, worth::leftover(scenario, *size))).collect()
            } else {
                Vec::new()
            },
            sizes: scenario.batch.sizes.clone(),
            remake: scenario.batch.spoiled == Spoiled::Remake,
            spares: SparePieces::default(),
            spoils: scenario.steps.iter().any(|step| step.spoil > 0.0),
            redoes: scenario.steps.iter().any(|step| step.redo > 0.0),
        }
    }

    /// The plan at another price, with the buyers there are at that price.
    #[must_use]
    pub fn at_price(&self, price: f64, elasticity: f64) -> Self {
        let mut plan = self.clone();
        let days = plan.days.iter_mut().map(|day| &mut day.sells);
        for demand in plan.demand.iter_mut().chain(days) {
            demand.scale *= libm::pow(price / self.terms.price, -elasticity);
        }
        plan.terms.price = price;
        plan
    }

    /// The plan with other values of what is kept: what holding costs, times the square of the pieces, what a leftover is worth, and what is
    /// tied up in a piece left on sale or return.
    #[must_use]
    pub(crate) fn kept_at(&self, [holding, leftover, tied_up]: [f64; 3]) -> Self {
        let mut plan = self.clone();
        plan.terms.holding = holding;
        plan.terms.clearance = leftover;
        plan.terms.tied_up = tied_up;
        plan.carried.clear();
        plan
    }

    /// The plan of an order that so many spares are started with.
    #[must_use]
    pub(crate) fn with_spares(mut self, spares: SparePieces) -> Self {
        self.spares = spares;
        self
    }

    /// Good pieces that are due of a batch that `size` are started for.
    #[must_use]
    pub const fn due(&self, size: u32) -> u32 {
        size.saturating_sub(self.spares.count)
    }

    /// What a leftover of a batch of `size` is worth.
    #[must_use]
    pub fn clearance(&self, size: u32) -> f64 {
        self.carried
            .binary_search_by_key(&size, |(size, _)| *size)
            .map_or(self.terms.clearance, |k| self.carried[k].1)
    }

    /// How a batch of `size` sells where nothing about that is left to chance; `None` where anything is, and of several channels.
    #[must_use]
    pub(crate) fn certain_sale(&self, size: u32) -> Option<CertainSale> {
        let fixed = |source: &Source| match source.shape {
            Shape::Fixed(value) => Some(value),
            _ => None,
        };
        let [channel] = &self.channels[..] else {
            return None;
        };
        if self.spoils
            || self.seconds.is_some()
            || !self.days.is_empty()
            || channel.returned_bound > 0.0
            || channel.on_return.is_some()
            || channel.set_of > 1.0
        {
            return None;
        }
        let due = f64::from(self.due(size));
        let pieces = match &self.demand {
            Some(demand) => demand.certain()?.min(due),
            None => due,
        };
        let orders = certain_orders(pieces, fixed(&channel.order_of)?);
        let mut minutes = 0.0;
        for source in &channel.order_times {
            minutes += fixed(source)?;
        }
        for tries in &channel.tries {
            if tries.lost_bound > 0.5 {
                return None;
            }
            minutes += fixed(&tries.time)?;
        }
        Some(CertainSale {
            pieces,
            orders,
            minutes: orders * minutes,
            postage: orders * fixed(&channel.post)?,
            tips: orders * fixed(&channel.tip)?,
        })
    }

    /// Whether nothing about the sale is left to chance, in any size.
    #[must_use]
    pub(crate) fn sells_for_certain(&self) -> bool {
        self.certain_sale(0).is_some()
    }

    /// Whether the number of setups hangs on the batch at any step.
    #[must_use]
    pub(crate) fn has_rounds(&self) -> bool {
        self.steps.iter().any(PlanStep::has_rounds)
    }

    /// Plain materials by what uses them, so that what a trial costs does not hang on how many materials there are.
    #[must_use]
    pub fn stock(&self) -> Vec<Stock> {
        let mut stock: Vec<Stock> = Vec::new();
        for (m, material) in self.materials.iter().enumerate().filter(|(_, m)| m.is_plain()) {
            let at = material.at;
            // Made again or lost on the way: pieces are counted where they are.
            let all_there = !(self.steps[at].after_spoilage || (self.remake && self.spoils));
            for (used_by, units) in [
                (UsedBy::Batch, material.per_batch),
                (UsedBy::Order(material.channel), material.per_order),
                (
                    if all_there { UsedBy::Piece } else { UsedBy::PieceAt(at) },
                    material.per_piece,
                ),
                (UsedBy::Round(at), material.per_round),
            ] {
                if units == 0.0 {
                    continue;
                }
                match stock.iter_mut().find(|stock| stock.used_by == used_by) {
                    Some(stock) => stock.parts.push((m, units)),
                    None => stock.push(Stock {
                        used_by,
                        parts: vec![(m, units)],
                    }),
                }
            }
        }
        stock
    }

    /// Every way of selling, that of seconds last.
    pub fn sales(&self) -> impl Iterator<Item = &PlanChannel> {
        let of_seconds = self.seconds.as_ref().and_then(|seconds| seconds.sale.as_ref());
        self.channels.iter().chain(of_seconds)
    }

    /// How many ways of selling have sums of their own; none where there is one, and nothing to tell apart.
    #[must_use]
    pub(crate) fn sales_told_apart(&self) -> usize {
        if self.channels.len() > 1 {
            self.sales().count()
        } else {
            0
        }
    }

    /// [`Plan::sales`], to be changed.
    pub(crate) fn sales_mut(&mut self) -> impl Iterator<Item = &mut PlanChannel> {
        let of_seconds = self.seconds.as_mut().and_then(|seconds| seconds.sale.as_mut());
        self.channels.iter_mut().chain(of_seconds)
    }

    /// Whether a helper does any step.
    #[must_use]
    pub(crate) fn has_helper(&self) -> bool {
        self.steps.iter().any(|step| step.helped)
    }

    /// Whether a batch has more to its account than steps, materials and plain orders: a helper, selling days, seconds, sets, or what
    /// orders leave behind.
    #[must_use]
    pub(crate) fn accounts_for_more(&self) -> bool {
        self.has_helper()
            || !self.days.is_empty()
            || self.seconds.is_some()
            || self.has_sets()
            || self.channels.iter().any(PlanChannel::leaves_more)
    }

    /// Whether pieces may come back worn from sale or return.
    #[must_use]
    pub fn wears(&self) -> bool {
        let mut on_return = self.channels.iter().filter_map(|channel| channel.on_return.as_ref());
        on_return.any(|on_return| on_return.worn_bound > 0.0)
    }

    /// Whether pieces are sold in sets anywhere.
    #[must_use]
    pub fn has_sets(&self) -> bool {
        self.channels.iter().any(|channel| channel.set_of > 1.0)
    }

    /// Whether orders take time anywhere.
    #[must_use]
    pub(crate) fn has_order_times(&self) -> bool {
        self.sales()
            .any(|channel| !(channel.order_times.is_empty() && channel.tries.is_empty()))
    }

    /// Whether the good pieces of a batch may be fewer than were started when orders are filled.
    #[must_use]
    pub(crate) const fn sells_short(&self) -> bool {
        !(self.all_good() || self.remake)
    }

    /// Whether every piece that is started comes through as a first.
    #[must_use]
    pub(crate) const fn all_good(&self) -> bool {
        !self.spoils && self.seconds.is_none()
    }
}

/// The step with the given number; `largest` is the most pieces of a batch.
fn plan_step(scenario: &Scenario, index: usize, largest: u32) -> PlanStep {
    let step = &scenario.steps[index];
    let name = &step.name;
    let remake = scenario.batch.spoiled == Spoiled::Remake;
    let mut used_here = scenario.materials.iter().filter(|material| material.at == index);
    PlanStep {
        setup: Source::new(&step.own_setup(), Use::Setup, name),
        helped: step.helped,
        own: 1.0 - step.others,
        each: Source::new(&step.each, Use::Each, name),
        by_batch: step.varies == Varies::Batch,
        opposite: Opposite::new(step),
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
        after_spoilage: scenario.steps[..index].iter().any(|before| before.spoil > 0.0),
        counts_pieces: used_here.any(|material| material.per_piece != 0.0 || material.per_round != 0.0)
            || (remake && step.learning.is_some()),
        has_each: !step.each.is_zero(),
    }
}

fn by_step(scenario: &Scenario, purpose: Use, pick: fn(&crate::scenario::Step) -> &Spread) -> Vec<Source> {
    let wanted = scenario.steps.iter().filter(|step| !pick(step).is_zero());
    wanted
        .map(|step| Source::new(pick(step), purpose, &step.name))
        .collect()
}

fn plan_material(scenario: &Scenario, material: &crate::scenario::Material) -> PlanMaterial {
    PlanMaterial {
        price: Source::new(&material.price, Use::Price, &material.name),
        waste: Source::new(&material.waste, Use::Waste, &material.name),
        per_piece: material.per_piece,
        per_batch: material.per_batch,
        per_round: scenario.per_round(material),
        per_order: material.per_order,
        channel: material.channel,
        pack: material.pack.unwrap_or(0.0),
        lost: material.leftover == Leftover::Lost,
        breaks: material.breaks.iter().map(|b| (b.from, Shape::new(&b.price))).collect(),
        matched: Matched::of(material),
        paid: material.paid,
        rate: material.currency,
        at: material.at,
    }
}

#[cfg(test)]
mod tests;
