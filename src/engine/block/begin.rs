//! How eight trials begin: what they draw once, whatever the size.

use super::steps::counts_from_base;
use super::{Group, HelperBase, SetupState, Tile, ZERO};
use crate::engine::kernel::{EachState, Setups};
use crate::engine::plan::{Matched, Plan, PlanChannel, Source};
use crate::engine::sale::OrderState;
use crate::engine::shape::Shape;
use crate::engine::stream::{nth_of_all, seed_words, start, start_lanes, trial_keys};
use crate::engine::{LANES, Lanes, remake};
use fearless_simd::{Simd, SimdBase};

impl Group {
    /// Nobody's yet.
    pub(super) fn new(plan: &Plan) -> Self {
        Self {
            keys: [0; LANES],
            pace_per_hour: ZERO,
            once: ZERO,
            setup_base: ZERO,
            each_base: ZERO,
            totals: [ZERO; 3],
            helper: HelperBase::NONE,
            steps: vec![EachState::default(); plan.steps.len()],
            setups: vec![
                SetupState {
                    draws: Setups {
                        start: [0; LANES],
                        opposite: None,
                    },
                    opened: ZERO,
                };
                plan.steps.len()
            ],
            by_batch: vec![ZERO; plan.steps.len()],
            material_prices: plan.materials.iter().map(|m| vec![ZERO; 2 + m.breaks.len()]).collect(),
            rates: vec![ZERO; plan.rates.len()],
            stock: Vec::new(),
            money: Vec::new(),
            days: [ZERO; 2],
            orders: None,
            remakes: Vec::new(),
        }
    }

    /// Begins eight trials, those of a seed and a group.
    pub(super) fn begin<S: Simd>(&mut self, simd: S, plan: &Plan, (seed, group): (u64, u64), tile: &Tile) {
        let keys = trial_keys(seed, group);
        self.keys = keys;
        self.pace_per_hour = draw_trial(simd, &keys, &plan.pace).map(|f| f / 60.0);
        self.once = ZERO;
        for source in &plan.once {
            let minutes = draw_trial(simd, &keys, source);
            for (sum, minutes) in self.once.iter_mut().zip(minutes) {
                *sum += minutes / plan.runs;
            }
        }
        self.begin_steps(simd, plan);
        if !tile.hours_only {
            self.begin_money(simd, plan, tile);
            self.orders = tile.sells.then(|| OrderState::new(plan, seed, group));
        }
    }

    /// What the steps draw once, and where their streams start.
    fn begin_steps<S: Simd>(&mut self, simd: S, plan: &Plan) {
        let keys = self.keys;
        self.totals = [ZERO; 3];
        self.setup_base = ZERO;
        self.each_base = ZERO;
        self.helper = HelperBase::NONE;
        for (index, step) in plan.steps.iter().enumerate() {
            let state = &mut self.steps[index];
            let (setup_base, each_base) = if step.helped {
                (&mut self.helper.setup, &mut self.helper.each)
            } else {
                (&mut self.setup_base, &mut self.each_base)
            };
            state.reached = ZERO;
            let alike = step.is_alike();
            if step.has_each && !alike {
                state.times = seed_words(simd, &keys, step.each.part);
                if step.redo > 0.0 {
                    state.redos = seed_words(simd, &keys, step.redo_part);
                }
            }
            if step.redo > 0.0 || step.spoil > 0.0 {
                state.fates = seed_words(simd, &keys, step.fate_part);
            }
            if !step.setup.shape.is_zero() {
                let opposite = |key| step.opposite_setup(key).unwrap_or(f64::NAN);
                self.setups[index] = SetupState {
                    draws: Setups {
                        start: keys.map(|key| start(key, step.setup.part)),
                        opposite: step.opposite.is_some().then(|| keys.map(opposite)),
                    },
                    opened: ZERO,
                };
            }
            if step.has_one_setup() {
                let minutes = first_setup(simd, &step.setup.shape, &self.setups[index].draws);
                for (sum, minutes) in setup_base.iter_mut().zip(minutes) {
                    *sum += minutes;
                }
            }
            if alike {
                self.by_batch[index] = draw_trial(simd, &keys, &step.each);
            }
            if counts_from_base(step) {
                for (lane, base) in each_base.iter_mut().enumerate() {
                    *base += if alike {
                        self.by_batch[index][lane]
                    } else {
                        step.each.shape.base()
                    };
                }
            }
        }
    }

    /// What currencies, materials and channels draw once.
    fn begin_money<S: Simd>(&mut self, simd: S, plan: &Plan, tile: &Tile) {
        let keys = self.keys;
        for (rate, source) in self.rates.iter_mut().zip(&plan.rates) {
            *rate = draw_trial(simd, &keys, source);
        }
        for (material, prices) in plan.materials.iter().zip(&mut self.material_prices) {
            prices[0] = draw_trial(simd, &keys, &material.waste).map(|w| 1.0 + w);
            prices[1] = draw_trial(simd, &keys, &material.price);
            for (price, (_, shape)) in prices[2..].iter_mut().zip(&material.breaks) {
                *price = draw_shape(simd, &keys, shape, material.price.part);
            }
            for Matched { tier, drawn } in &material.matched {
                prices[1 + tier.0] = prices[1 + drawn.0].map(|x| tier.1.matching(&drawn.1, x));
            }
            if let Some(k) = material.rate {
                for price in &mut prices[1..] {
                    *price = std::array::from_fn(|lane| price[lane] * self.rates[k][lane]);
                }
            }
        }
        self.stock.clear();
        for stock in &tile.stock {
            let mut costs = [ZERO; 2];
            for (m, units) in &stock.parts {
                let [waste, price] = [0, 1].map(|k| &self.material_prices[*m][k]);
                let material = &plan.materials[*m];
                let [now, paid] = &mut costs;
                for lane in 0..LANES {
                    let unit = waste[lane] * price[lane];
                    now[lane] += units * unit;
                    let unit_paid = material.paid.map_or(unit, |paid| {
                        let rate = material.rate.map_or(1.0, |k| self.rates[k][lane]);
                        waste[lane] * (rate * paid)
                    });
                    paid[lane] += units * unit_paid;
                }
            }
            self.stock.push(costs);
        }
        // Where no other currency comes in, all trials are alike.
        if self.money.is_empty() || !plan.rates.is_empty() {
            self.money.clear();
            self.money
                .extend(plan.sales().map(|channel| ChannelMoney::new(channel, &self.rates)));
        }
        self.days = [ZERO; 2];
        for day in &plan.days {
            for source in &day.times {
                let minutes = draw_trial(simd, &keys, source);
                for (sum, minutes) in self.days[0].iter_mut().zip(minutes) {
                    *sum += minutes / 60.0;
                }
            }
            let cost = draw_trial(simd, &keys, &day.cost);
            for (sum, cost) in self.days[1].iter_mut().zip(cost) {
                *sum += cost;
            }
        }
        if plan.remake && plan.spoils {
            self.remakes.resize(LANES, remake::Pieces::default());
            self.remakes.iter_mut().for_each(remake::Pieces::clear);
        }
    }
}

/// What a channel brings and costs in one trial, in the scenario's own money.
#[derive(Debug, Clone)]
pub(super) struct ChannelMoney {
    /// A kept piece at a price of 1.
    pub(super) keep: Lanes,
    /// The fee on a sold piece at a price of 1.
    pub(super) fee: Lanes,
    /// Postage the buyer of a kept order pays, without tax.
    pub(super) charged: Lanes,
    /// Fees on an order that do not hang on the price.
    pub(super) order_fee: Lanes,
    /// A unit of postage.
    pub(super) post: Lanes,
    /// A unit of a tip.
    pub(super) tip: Lanes,
}

impl ChannelMoney {
    /// Where currencies are worth `rates`.
    pub(super) fn new(channel: &PlanChannel, rates: &[Lanes]) -> Self {
        let money = |k: usize, lane: usize| channel.rates[k].map_or(1.0, |rate| rates[rate][lane]);
        let lanes = |of: &dyn Fn(usize) -> f64| std::array::from_fn(of);
        let price = |lane: usize| money(0, lane) * channel.price_ratio;
        let charged = |lane: usize| money(3, lane) * channel.post_charged;
        Self {
            keep: lanes(&|lane| channel.net * price(lane)),
            fee: lanes(&|lane| channel.fee * price(lane)),
            charged: lanes(&|lane| channel.net * charged(lane)),
            order_fee: lanes(&|lane| charged(lane) * channel.fee + money(1, lane) * channel.fee_per_order),
            post: lanes(&|lane| money(2, lane)),
            tip: lanes(&|lane| money(4, lane)),
        }
    }
}

/// The one draw a trial makes from `source`.
pub(super) fn draw_trial<S: Simd>(simd: S, keys: &[u64; LANES], source: &Source) -> Lanes {
    match source.shape {
        Shape::Fixed(value) => [value; LANES],
        _ => draw_shape(simd, keys, &source.shape, source.part),
    }
}

/// The setup of the first round.
#[inline(never)]
fn first_setup<S: Simd>(simd: S, shape: &Shape, setups: &Setups) -> Lanes {
    simd.vectorize(
        #[inline(always)]
        || setups.lanes(simd, shape, 0).to_array(),
    )
}

/// The first draw of a stream.
#[inline(never)]
pub(super) fn draw_shape<S: Simd>(simd: S, keys: &[u64; LANES], shape: &Shape, part: u64) -> Lanes {
    simd.vectorize(
        #[inline(always)]
        || {
            let bits = nth_of_all(start_lanes(simd, keys, part), 0);
            shape.draw_lanes(simd, bits).to_array()
        },
    )
}
