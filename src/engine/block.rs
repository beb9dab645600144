//! One block of trials: step by step through tiles of pieces, and for every recorded size hours, profit and floor.
//!
//! # Why results are laid down chunk by chunk
//!
//! With a column a size each value of a group goes to a page of its own, and a store that misses both cache and page table holds up all
//! that follow: that was a third of a sweep in which pieces are lost. 16 groups are found in a buffer that stays in the second-level cache
//! and are copied out from front to end.
//!
//! # Why minutes are kept by piece until all steps are done
//!
//! Each pass adds a piece's minutes to its row, and running totals are taken once. What every piece takes whatever is drawn goes into the
//! row before anything is drawn. A setup or a redo then touches one row and not all that follow.
//!
//! # Why setups are drawn by number
//!
//! Where pieces are lost the lanes open their rounds at different pieces, yet the same few rounds. Drawing number k for all lanes at once
//! and letting each lane pick it when it gets there takes a fifth of the draws.

use super::buffers;
use super::kernel::{
    Again, Ahead, EachState, fates_tile, first_setups, reach_tile, redo_tile, run_up, sum_lanes, times_tile,
};
use super::line::MoneyLine;
use super::path::dispatch;
use super::plan::{CertainSale, Matched, Plan, PlanChannel, PlanStep, Source, Stock, UsedBy};
use super::record::{
    BlockRuns, BlockSums, CHANNEL_SUMS, COLUMNS, ChannelSums, Recorder, RunSums, Tallies, Tally, add_weighted,
    weight_of,
};
use super::remake::{self, Extra};
use super::sale::{OrderState, SaleRow, SaleTile, orders_tile, purchases};
use super::shape::{Draw, Same, Shape};
use super::stream::{Words, nth_of_all, seed_words, start, start_lanes, trial_keys};
use super::{BLOCK_TRIALS, CHUNK, LANES, Lanes, Path, Row, TILE};
use fearless_simd::{Select, Simd, SimdBase, SimdFrom, f64x8, u64x8};
use std::ops::Range;

const ZERO: Lanes = [0.0; LANES];
const ONE: Lanes = [1.0; LANES];
const NONE: Row = Row(ZERO);
const GROUPS: usize = BLOCK_TRIALS / LANES;

/// A block of trials on its way through the batch sizes.
#[derive(Debug, Clone)]
pub struct Block {
    /// The block's first group among all.
    first_group: u64,
    trials: usize,
    pieces_done: u32,
    seed: u64,
    /// Only between one stretch of sizes and the next.
    groups: Vec<Group>,
}

/// What a thread uses again from block to block.
pub struct BlockScratch {
    tile: Tile,
    group: Group,
    tallies: Tallies,
    /// What the groups of a chunk found, one after the other.
    found: Vec<Row>,
}

impl BlockScratch {
    /// For the blocks of a plan; `hours_only` where money follows from hours.
    #[must_use]
    pub fn new(plan: &Plan, hours_only: bool) -> Self {
        Self {
            tile: Tile::new(plan, hours_only),
            group: Group::new(plan),
            tallies: if hours_only {
                Tallies::of_hours(plan)
            } else {
                Tallies::of(plan)
            },
            found: Vec::new(),
        }
    }
}

/// What is carried of a step's setups where pieces may be lost before it.
#[derive(Debug, Clone)]
struct SetupState {
    /// Where the stream of setups starts.
    start: [u64; LANES],
    /// 1 in the lanes whose one setup has fallen due.
    opened: Lanes,
}

/// Eight trials on their way.
#[derive(Debug, Clone)]
struct Group {
    keys: [u64; LANES],
    pace_per_hour: Lanes,
    once: Lanes,
    /// Setups that are certain to fall due with the first piece, and only then.
    setup_base: Lanes,
    /// Minutes that every piece takes, whatever is drawn for it.
    each_base: Lanes,
    /// Running totals of setups, per-piece times and redos.
    totals: [Lanes; 3],
    steps: Vec<EachState>,
    setups: Vec<SetupState>,
    /// The run's one draw of `each` where a step varies by batch.
    by_batch: Vec<Lanes>,
    /// For each material: waste + 1, then the plain price and the price at each break.
    material_prices: Vec<Vec<Lanes>>,
    /// What other currencies are worth.
    rates: Vec<Lanes>,
    /// What each [`Stock`] costs each time, and as paid.
    stock: Vec<[Lanes; 2]>,
    /// The money of each channel.
    money: Vec<ChannelMoney>,
    /// The sale, where it is left to chance.
    orders: Option<OrderState>,
    /// Remade pieces drawn so far, a list a lane.
    remakes: Vec<remake::Pieces>,
}

/// What a channel brings and costs in one run, in the scenario's own money.
#[derive(Debug, Clone)]
struct ChannelMoney {
    /// A kept piece at a price of 1.
    keep: Lanes,
    /// The fee on a sold piece at a price of 1.
    fee: Lanes,
    /// Postage the buyer of a kept order pays, without tax.
    charged: Lanes,
    /// Fees on an order that do not hang on the price.
    order_fee: Lanes,
    /// A unit of postage.
    post: Lanes,
}

impl ChannelMoney {
    /// Where currencies are worth `rates`.
    fn new(channel: &PlanChannel, rates: &[Lanes]) -> Self {
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
        }
    }
}

/// Columns of one tile, one row a piece.
struct Tile {
    /// Minutes by piece, then their running totals; likewise `redo` and `setup`.
    each: Vec<Row>,
    redo: Vec<Row>,
    setup: Vec<Row>,
    alive: Vec<Row>,
    /// What leaves a step that spoils; becomes `alive`.
    next: Vec<Row>,
    /// Learning factors of a step where pieces may be missing, 0 where one is.
    weights: Vec<Row>,
    ahead: Box<Ahead>,
    again: Again,
    reached: Vec<Vec<Row>>,
    sale: SaleTile,
    /// Whether any step adds to `setup`.
    has_rounds: bool,
    /// Whether the sale is left to chance.
    sells: bool,
    /// Whether money follows from hours.
    hours_only: bool,
    /// Plain materials by what uses them.
    stock: Vec<Stock>,
    /// Whether anything was bought at another price than today's.
    paid: bool,
    /// Whether any money hangs on orders: fees, postage paid by the buyer.
    order_money: bool,
}

impl Tile {
    fn new(plan: &Plan, hours_only: bool) -> Self {
        let column = || vec![NONE; TILE];
        let counted = |wanted: bool| if wanted { column() } else { Vec::new() };
        Self {
            each: column(),
            redo: column(),
            setup: column(),
            alive: vec![Row(ONE); TILE],
            next: column(),
            weights: column(),
            ahead: Box::default(),
            again: Again::default(),
            reached: plan
                .steps
                .iter()
                .map(|s| counted(s.after_spoilage && s.counts_pieces))
                .collect(),
            sale: SaleTile::new(plan),
            has_rounds: plan.has_rounds(),
            sells: !plan.sells_for_certain(),
            hours_only,
            stock: plan.stock(),
            paid: plan.materials.iter().any(|material| material.paid.is_some()),
            order_money: plan
                .channels
                .iter()
                .any(|channel| channel.fee_per_order != 0.0 || channel.post_charged != 0.0),
        }
    }

    /// Pieces that reached a step up to `row`, the last piece of a batch of `size`.
    #[inline(always)]
    fn reached_at<S: Simd>(&self, simd: S, plan: &Plan, at: usize, row: usize, size: u32) -> f64x8<S> {
        let step = &plan.steps[at];
        if step.after_spoilage && step.counts_pieces {
            f64x8::simd_from(simd, self.reached[at][row].0)
        } else {
            f64x8::splat(simd, f64::from(size))
        }
    }
}

/// A count and what remaking adds to it.
#[inline(always)]
fn with_more<S: Simd>(simd: S, count: f64x8<S>, more: Option<&Lanes>) -> f64x8<S> {
    match more {
        Some(more) => count + f64x8::simd_from(simd, *more),
        None => count,
    }
}

impl Block {
    /// Block number `index` of `total` trials; nothing is simulated yet.
    #[must_use]
    pub fn new(seed: u64, index: u64, total: u64) -> Self {
        let first = index * BLOCK_TRIALS as u64;
        Self {
            first_group: index * GROUPS as u64,
            trials: (total - first).min(BLOCK_TRIALS as u64) as usize,
            pieces_done: 0,
            seed,
            groups: Vec::new(),
        }
    }

    /// Runs `work` on every group, which is begun with the first call, and gives back what they find, `each` rows a group, chunk
    /// by chunk. Unless this is the `last` call, groups are kept.
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    fn each_group(
        &mut self,
        plan: &Plan,
        path: Path,
        scratch: &mut BlockScratch,
        last: bool,
        each: usize,
        mut work: impl FnMut(&mut Group, &mut Tile, &Tallies, usize, &mut [Row]),
    ) -> Vec<Row> {
        let keys = |g: usize| trial_keys(self.seed, self.first_group + g as u64);
        let BlockScratch {
            tile,
            group: begun,
            tallies,
            found,
        } = scratch;
        // One row more, so that those of one size are not all kept in the same few places of the cache.
        let stride = each + 1;
        found.resize(CHUNK * stride, NONE);
        let groups = self.trials.div_ceil(LANES);
        let mut rows = buffers::take(groups * each);
        for first in (0..groups).step_by(CHUNK) {
            let count = (groups - first).min(CHUNK);
            for (g, found) in (first..).zip(found.chunks_exact_mut(stride).take(count)) {
                let found = &mut found[..each];
                if self.pieces_done > 0 {
                    work(&mut self.groups[g], tile, tallies, g * LANES, found);
                    continue;
                }
                dispatch!(path, simd => begun.begin(simd, plan, keys(g), tile));
                work(begun, tile, tallies, g * LANES, found);
                if !last {
                    self.groups.push(begun.clone());
                }
            }
            for k in 0..each {
                rows.extend((0..count).map(|g| found[g * stride + k]));
            }
        }
        rows
    }

    /// What the block's trials add up to, whatever the size, from sums lane by lane.
    fn run_sums(&self, found: &[Lanes; 3]) -> RunSums {
        let [per_hour, once_hours, setup_hours] = found.each_ref().map(sum_lanes);
        RunSums {
            trials: self.trials,
            per_hour,
            once_hours,
            setup_hours,
        }
    }

    /// Simulates on up to the last of `sizes` (ascending, all above those of earlier calls) and gives their runs,
    /// [`COLUMNS`] values a size. No call may follow the `last`.
    #[must_use]
    pub fn advance(
        &mut self,
        plan: &Plan,
        path: Path,
        sizes: &[u32],
        scratch: &mut BlockScratch,
        last: bool,
    ) -> BlockRuns {
        let count = scratch.tallies.count;
        let each = sizes.len() * COLUMNS;
        let mut sums = vec![NONE; sizes.len() * count];
        let several = if plan.channels.len() > 1 {
            plan.channels.len()
        } else {
            0
        };
        let mut channel_sums = vec![vec![[NONE; CHANNEL_SUMS]; several]; sizes.len()];
        let sales: Vec<Option<Vec<CertainSale>>> = sizes.iter().map(|size| plan.certain_sale(*size)).collect();
        let begin = self.pieces_done;
        let trials = self.trials;
        let mut found = [ZERO; 3];
        let rows = self.each_group(plan, path, scratch, last, each, |group, tile, tallies, trial, rows| {
            let mut recorder = Recorder {
                sizes,
                sales: &sales,
                rows,
                tallies,
                sums: &mut sums,
                channel_sums: &mut channel_sums,
                valid: (trials - trial).min(LANES),
            };
            dispatch!(path, simd => {
                group.add_runs(simd, &mut found, recorder.valid);
                group.advance(simd, plan, begin, tile, &mut recorder);
            });
        });
        self.pieces_done = sizes.last().copied().unwrap_or(begin);
        let runs = self.run_sums(&found);
        let sums = (0..sizes.len())
            .map(|k| BlockSums {
                sums: scratch.tallies.sums(
                    &sums[k * count..(k + 1) * count],
                    plan,
                    sizes[k],
                    sales[k].as_deref(),
                    &runs,
                ),
                hours: scratch.tallies.hours(&sums[k * count..(k + 1) * count]),
                channels: channel_sums[k].iter().map(ChannelSums::from_lanes).collect(),
            })
            .collect();
        BlockRuns { rows, sums }
    }

    /// [`Block::advance`] where money follows from hours: one column a size, and sums of what is not certain.
    #[must_use]
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    pub fn advance_hours_only(
        &mut self,
        plan: &Plan,
        path: Path,
        sizes: &[u32],
        lines: &[MoneyLine],
        scratch: &mut BlockScratch,
        last: bool,
    ) -> BlockRuns {
        let count = scratch.tallies.count;
        let each = sizes.len();
        let mut sums = vec![NONE; sizes.len() * count];
        let begin = self.pieces_done;
        let trials = self.trials;
        let mut found = [ZERO; 3];
        let rows = self.each_group(plan, path, scratch, last, each, |group, tile, tallies, trial, rows| {
            let mut recorder = LeanRecorder {
                sizes,
                lines,
                rows,
                tallies,
                sums: &mut sums,
                valid: (trials - trial).min(LANES),
            };
            dispatch!(path, simd => {
                group.add_runs(simd, &mut found, recorder.valid);
                group.advance_hours_only(simd, plan, begin, tile, &mut recorder);
            });
        });
        self.pieces_done = sizes.last().copied().unwrap_or(begin);
        let runs = self.run_sums(&found);
        let sums = lines
            .iter()
            .enumerate()
            .map(|(k, line)| BlockSums {
                sums: scratch
                    .tallies
                    .sums_of_line(&sums[k * count..(k + 1) * count], plan, sizes[k], line, &runs),
                ..BlockSums::default()
            })
            .collect();
        BlockRuns { rows, sums }
    }
}

/// Where a group writes its hours when money follows from them.
struct LeanRecorder<'a> {
    sizes: &'a [u32],
    lines: &'a [MoneyLine],
    /// The group's hours, one row a size.
    rows: &'a mut [Row],
    tallies: &'a Tallies,
    /// Sums of every size.
    sums: &'a mut [Row],
    /// Lanes that count.
    valid: usize,
}

/// The one draw a run makes from `source`.
fn draw_run<S: Simd>(simd: S, keys: &[u64; LANES], source: &Source) -> Lanes {
    match source.shape {
        Shape::Fixed(value) => [value; LANES],
        _ => draw_shape(simd, keys, &source.shape, source.part),
    }
}

/// The first draw of a stream.
#[inline(never)]
fn draw_shape<S: Simd>(simd: S, keys: &[u64; LANES], shape: &Shape, part: u64) -> Lanes {
    simd.vectorize(
        #[inline(always)]
        || {
            let bits = nth_of_all(start_lanes(simd, keys, part), 0);
            shape.draw_lanes(simd, bits).to_array()
        },
    )
}

impl Group {
    /// Nobody's yet.
    fn new(plan: &Plan) -> Self {
        Self {
            keys: [0; LANES],
            pace_per_hour: ZERO,
            once: ZERO,
            setup_base: ZERO,
            each_base: ZERO,
            totals: [ZERO; 3],
            steps: vec![EachState::default(); plan.steps.len()],
            setups: vec![
                SetupState {
                    start: [0; LANES],
                    opened: ZERO,
                };
                plan.steps.len()
            ],
            by_batch: vec![ZERO; plan.steps.len()],
            material_prices: plan.materials.iter().map(|m| vec![ZERO; 2 + m.breaks.len()]).collect(),
            rates: vec![ZERO; plan.rates.len()],
            stock: Vec::new(),
            money: Vec::new(),
            orders: None,
            remakes: Vec::new(),
        }
    }

    /// Begins eight trials.
    fn begin<S: Simd>(&mut self, simd: S, plan: &Plan, keys: [u64; LANES], tile: &Tile) {
        self.keys = keys;
        self.pace_per_hour = draw_run(simd, &keys, &plan.pace).map(|f| f / 60.0);
        self.once = ZERO;
        for source in &plan.once {
            let minutes = draw_run(simd, &keys, source);
            for (sum, minutes) in self.once.iter_mut().zip(minutes) {
                *sum += minutes / plan.runs;
            }
        }
        self.totals = [ZERO; 3];
        self.setup_base = ZERO;
        self.each_base = ZERO;
        for (index, step) in plan.steps.iter().enumerate() {
            let state = &mut self.steps[index];
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
            if step.has_one_setup() {
                let minutes = draw_run(simd, &keys, &step.setup);
                for (sum, minutes) in self.setup_base.iter_mut().zip(minutes) {
                    *sum += minutes;
                }
            }
            if step.has_rounds() {
                self.setups[index] = SetupState {
                    start: keys.map(|key| start(key, step.setup.part)),
                    opened: ZERO,
                };
            }
            if alike {
                self.by_batch[index] = draw_run(simd, &keys, &step.each);
            }
            if counts_from_base(step) {
                for lane in 0..LANES {
                    self.each_base[lane] += if alike {
                        self.by_batch[index][lane]
                    } else {
                        step.each.shape.base()
                    };
                }
            }
        }
        if tile.hours_only {
            return;
        }
        for (rate, source) in self.rates.iter_mut().zip(&plan.rates) {
            *rate = draw_run(simd, &keys, source);
        }
        for (material, prices) in plan.materials.iter().zip(&mut self.material_prices) {
            prices[0] = draw_run(simd, &keys, &material.waste).map(|w| 1.0 + w);
            prices[1] = draw_run(simd, &keys, &material.price);
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
        // Where no other currency comes in, all runs are alike.
        if self.money.is_empty() || !plan.rates.is_empty() {
            self.money.clear();
            let channels = plan.channels.iter();
            self.money
                .extend(channels.map(|channel| ChannelMoney::new(channel, &self.rates)));
        }
        self.orders = tile.sells.then(|| OrderState::new(plan, &keys));
        if plan.remake && plan.spoils {
            self.remakes.clear();
            self.remakes.resize(LANES, remake::Pieces::default());
        }
    }

    /// Adds what does not hang on the size: hours per minute, hours once, hours of setups due in any batch.
    #[inline(never)]
    fn add_runs<S: Simd>(&self, simd: S, found: &mut [Lanes; 3], valid: usize) {
        simd.vectorize(
            #[inline(always)]
            || {
                let weight = weight_of(simd, valid);
                let per_hour = f64x8::simd_from(simd, self.pace_per_hour);
                add_weighted(simd, &mut found[0], per_hour, weight);
                for (sum, minutes) in found[1..].iter_mut().zip([self.once, self.setup_base]) {
                    add_weighted(simd, sum, f64x8::simd_from(simd, minutes) * per_hour, weight);
                }
            },
        );
    }

    fn advance<S: Simd>(&mut self, simd: S, plan: &Plan, begin: u32, tile: &mut Tile, recorder: &mut Recorder<'_>) {
        let sizes = recorder.sizes;
        tiles(begin, sizes, |first, length, numbers| {
            self.work(simd, plan, first, length, tile);
            if let Some(orders) = &mut self.orders {
                sell(simd, plan, orders, length, tile);
            }
            self.record(simd, plan, first, tile, numbers, recorder);
        });
    }

    /// [`Group::advance`] where money follows from hours.
    fn advance_hours_only<S: Simd>(
        &mut self,
        simd: S,
        plan: &Plan,
        begin: u32,
        tile: &mut Tile,
        recorder: &mut LeanRecorder<'_>,
    ) {
        let sizes = recorder.sizes;
        tiles(begin, sizes, |first, length, numbers| {
            self.work(simd, plan, first, length, tile);
            self.record_hours_only(simd, plan, first, tile, numbers, recorder);
        });
    }

    #[inline(never)]
    fn record_hours_only<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        first: u32,
        tile: &Tile,
        numbers: Range<usize>,
        recorder: &mut LeanRecorder<'_>,
    ) {
        simd.vectorize(
            #[inline(always)]
            || self.record_lean_here(simd, plan, first, tile, numbers, recorder),
        );
    }

    /// Hours of the sizes with the given numbers, whose last pieces are in the tile that begins with the piece `first`.
    #[inline(always)]
    fn record_lean_here<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        first: u32,
        tile: &Tile,
        numbers: Range<usize>,
        recorder: &mut LeanRecorder<'_>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let base = load(&self.setup_base);
        let per_hour = load(&self.pace_per_hour);
        let weight = weight_of(simd, recorder.valid);
        let count = recorder.tallies.count;
        let has_orders = plan.has_order_times();
        let once = load(&self.once);
        for number in numbers {
            let row = (recorder.sizes[number] - first - 1) as usize;
            let sums = &mut recorder.sums[number * count..(number + 1) * count];
            let mut minutes = once + base;
            if tile.has_rounds {
                let setup = load(&tile.setup[row].0) + base;
                recorder
                    .tallies
                    .add(simd, sums, Tally::SetupHours, setup * per_hour, weight);
                minutes = once + setup;
            }
            minutes += load(&tile.each[row].0);
            if plan.redoes {
                let redo = load(&tile.redo[row].0);
                recorder
                    .tallies
                    .add(simd, sums, Tally::RedoHours, redo * per_hour, weight);
                minutes += redo;
            }
            if has_orders {
                minutes += f64x8::splat(simd, recorder.lines[number].sale.minutes);
            }
            (minutes * per_hour).store_array(&mut recorder.rows[number].0);
        }
    }

    /// The scratch: all steps on the pieces `first..first + length`.
    fn work<S: Simd>(&mut self, simd: S, plan: &Plan, first: u32, length: usize, tile: &mut Tile) {
        // Columns that nothing is written to are as they were made.
        tile.each[..length].fill(Row(self.each_base));
        if plan.redoes {
            tile.redo[..length].fill(NONE);
        }
        if tile.has_rounds {
            tile.setup[..length].fill(NONE);
        }
        if plan.spoils {
            tile.alive[..length].fill(Row(ONE));
        }
        for (index, step) in plan.steps.iter().enumerate() {
            let state = &mut self.steps[index];
            if step.has_rounds() {
                setups_step(simd, step, &mut self.setups[index], &state.reached, first, length, tile);
            }
            if step.is_alike() {
                let same = Same(self.by_batch[index]);
                each_step(simd, same, step, first, length, state, tile, index);
            } else {
                match &step.each.shape {
                    // Certain times are the same in every draw: above.
                    Shape::Fixed(_) => {}
                    Shape::Uniform(shape) => each_step(simd, *shape, step, first, length, state, tile, index),
                    Shape::Triangular(shape) => each_step(simd, *shape, step, first, length, state, tile, index),
                    Shape::Logged(log) => each_step(simd, &**log, step, first, length, state, tile, index),
                    Shape::Table(table) => each_step(simd, &**table, step, first, length, state, tile, index),
                }
            }
        }
        add_up(simd, plan, &mut self.totals, length, tile);
    }

    /// Hours, profit and floor of the sizes with the given numbers, whose last pieces are in the tile that begins with the
    /// piece `first`.
    #[inline(never)]
    fn record<S: Simd>(
        &mut self,
        simd: S,
        plan: &Plan,
        first: u32,
        tile: &Tile,
        numbers: Range<usize>,
        recorder: &mut Recorder<'_>,
    ) {
        let mut extras = Vec::new();
        if plan.remake && plan.spoils {
            for size in &recorder.sizes[numbers.clone()] {
                extras.push(self.remake(plan, *size, (size - first - 1) as usize, tile));
            }
        }
        simd.vectorize(
            #[inline(always)]
            || {
                for (k, number) in numbers.enumerate() {
                    let row = (recorder.sizes[number] - first - 1) as usize;
                    self.record_here(simd, plan, row, tile, number, recorder, extras.get(k));
                }
            },
        );
    }

    /// The pieces made again for a batch of `size`.
    fn remake(&mut self, plan: &Plan, size: u32, row: usize, tile: &Tile) -> Extra {
        let mut extra = Extra::new(plan);
        for lane in 0..LANES {
            let missing = size - tile.sale.good[row].0[lane] as u32;
            if missing > 0 {
                remake::until_good(
                    plan,
                    self.keys[lane],
                    &mut self.remakes[lane],
                    remake::Before {
                        missing,
                        // A column is kept wherever the count can differ from the size and anything asks for it.
                        reached: &|step| tile.reached[step].get(row).map_or(size, |counts| counts.0[lane] as u32),
                        by_batch: &|step| self.by_batch[step][lane],
                    },
                    lane,
                    &mut extra,
                );
            }
        }
        extra
    }

    /// Hours, profit and floor of the size with the given number, whose last piece is in `row` of the tile.
    #[inline(always)]
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    fn record_here<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        row: usize,
        tile: &Tile,
        number: usize,
        recorder: &mut Recorder<'_>,
        extra: Option<&Extra>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let splat = |value: f64| f64x8::splat(simd, value);
        let zero = splat(0.0);
        let size = recorder.sizes[number];
        let pieces = splat(f64::from(size));
        let mut setup = load(&tile.setup[row].0) + load(&self.setup_base);
        let mut each = load(&tile.each[row].0);
        let mut redo = load(&tile.redo[row].0);
        if let Some(extra) = extra {
            setup += load(&extra.setup);
            each += load(&extra.each);
            redo += load(&extra.redo);
        }
        let sale = recorder.sales[number].as_deref();
        let rate = |k: Option<usize>| k.map_or_else(|| splat(1.0), |k| load(&self.rates[k]));
        // Of all channels together; what each adds is in the order of the channels.
        let (mut order_minutes, mut orders, mut sold_all) = (zero, zero, zero);
        let (mut kept_price, mut fee_price) = (zero, zero);
        let (mut kept_post, mut order_fees, mut post) = (zero, zero, zero);
        for (c, money) in self.money.iter().enumerate() {
            let row = sold_in(simd, plan, sale, tile, c, row);
            order_minutes += row.minutes;
            orders += row.orders;
            sold_all += row.sold;
            kept_price += row.kept * load(&money.keep);
            fee_price += row.sold * load(&money.fee);
            if tile.order_money {
                kept_post += row.kept_orders * load(&money.charged);
                order_fees += row.orders * load(&money.order_fee);
            }
            post += row.postage * load(&money.post);
        }
        let per_price = kept_price - fee_price;
        let good = if plan.remake || sale.is_some() {
            pieces
        } else {
            load(&tile.sale.good[row].0)
        };
        let once = load(&self.once);
        let per_hour = load(&self.pace_per_hour);
        let hours = (once + setup + each + redo + order_minutes) * per_hour;
        let terms = plan.terms;

        let mut materials = zero;
        let mut paid = zero;
        for (stock, costs) in tile.stock.iter().zip(&self.stock) {
            let times = match stock.used_by {
                UsedBy::Batch => splat(1.0),
                UsedBy::Order => orders,
                UsedBy::Piece => pieces,
                UsedBy::PieceAt(at) => {
                    let reached = tile.reached_at(simd, plan, at, row, size);
                    with_more(simd, reached, extra.map(|extra| &extra.reached[at]))
                }
                UsedBy::Round(at) => {
                    let rounds = plan.steps[at].rounds(simd, tile.reached_at(simd, plan, at, row, size));
                    with_more(simd, rounds, extra.map(|extra| &extra.rounds[at]))
                }
            };
            materials += times * load(&costs[0]);
            if tile.paid {
                paid += times * load(&costs[1]);
            }
        }
        for (m, material) in plan.materials.iter().enumerate().filter(|(_, m)| !m.is_plain()) {
            let at = material.at;
            let reached = tile.reached_at(simd, plan, at, row, size);
            let mut used = with_more(simd, reached, extra.map(|extra| &extra.reached[at])) * material.per_piece;
            if material.per_round != 0.0 {
                let rounds = plan.steps[at].rounds(simd, reached);
                used += with_more(simd, rounds, extra.map(|extra| &extra.rounds[at])) * material.per_round;
            }
            used += orders * material.per_order;
            used += material.per_batch;
            let prices = &self.material_prices[m];
            let (cost, charged) = purchases(simd, material, used * load(&prices[0]), prices);
            materials += cost;
            paid += material
                .paid
                .map_or(cost, |price| charged * (rate(material.rate) * price));
        }

        // Money is linear in price: profit = price x per_price - rest.
        let shop = hours * terms.shop_per_hour;
        let mut profit = per_price * terms.price + kept_post - order_fees - post - materials - shop;
        // The floor takes the money that does not hang on the price and what the maker's hours should cost.
        let mut due = hours * terms.target - (kept_post - order_fees - post - materials - shop);
        let leftover = good - sold_all;
        if terms.clearance != 0.0 || terms.holding != 0.0 {
            let kept_back = leftover * plan.clearance(size) - good * good * terms.holding;
            profit += kept_back;
            due -= kept_back;
        }
        // No price is below 0; one that brings nothing in does it where the rest is enough, and is more than nothing.
        let enough = due.simd_le(per_price * terms.price) & profit.simd_gt(zero);
        let floor = per_price
            .simd_gt(zero)
            .select((due / per_price).max(zero), enough.select(zero, splat(f64::INFINITY)));
        let rows = &mut recorder.rows[number * COLUMNS..(number + 1) * COLUMNS];
        for (row, values) in rows.iter_mut().zip([hours, profit, floor]) {
            values.store_array(&mut row.0);
        }

        let weight = weight_of(simd, recorder.valid);
        let tallies = recorder.tallies;
        let sums = &mut recorder.sums[number * tallies.count..(number + 1) * tallies.count];
        let mut add = |tally: Tally, value: f64x8<S>| tallies.add(simd, sums, tally, value, weight);
        add(Tally::Hours, hours);
        add(Tally::Good, good);
        add(Tally::GoodSquared, good * good);
        add(Tally::SetupHours, setup * per_hour);
        add(Tally::RedoHours, redo * per_hour);
        add(Tally::OrderHours, order_minutes * per_hour);
        add(Tally::Sold, sold_all);
        add(Tally::SoldSquared, sold_all * sold_all);
        add(Tally::KeptPrice, kept_price);
        add(Tally::FeePrice, fee_price);
        add(Tally::KeptPost, kept_post);
        add(Tally::OrderFees, order_fees);
        add(Tally::Post, post);
        add(Tally::Materials, materials);
        add(Tally::MaterialsPaid, paid);
        let sold_out = leftover.simd_le(zero) & good.simd_gt(zero);
        add(Tally::SoldOut, sold_out.select(splat(1.0), zero));
        if plan.channels.len() > 1 {
            self.record_channels(simd, plan, sale, tile, row, number, weight, recorder);
        }
    }

    /// Adds what each channel took and gave.
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    #[inline(always)]
    fn record_channels<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        sale: Option<&[CertainSale]>,
        tile: &Tile,
        row: usize,
        number: usize,
        weight: Option<f64x8<S>>,
        recorder: &mut Recorder<'_>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let splat = |value: f64| f64x8::splat(simd, value);
        // Stock of orders is bought in any amount here: whole packs and breaks are shared out evenly by the mean price.
        let mut per_order = splat(0.0);
        for (material, prices) in plan.materials.iter().zip(&self.material_prices) {
            if material.per_order != 0.0 {
                per_order += load(&prices[0]) * load(&prices[1]) * material.per_order;
            }
        }
        for (c, money) in self.money.iter().enumerate() {
            let sold = sold_in(simd, plan, sale, tile, c, row);
            let values = [
                sold.sold,
                sold.orders,
                sold.minutes * load(&self.pace_per_hour),
                sold.kept * load(&money.keep) * plan.terms.price + sold.kept_orders * load(&money.charged),
                sold.sold * load(&money.fee) * plan.terms.price + sold.orders * load(&money.order_fee),
                sold.postage * load(&money.post),
                sold.orders * per_order,
            ];
            let sums = &mut recorder.channel_sums[number][c];
            for (sum, value) in sums.iter_mut().zip(values) {
                add_weighted(simd, &mut sum.0, value, weight);
            }
        }
    }
}

/// Runs `work` tile by tile up to the last of `sizes`: the tile's first piece, its length, and which sizes end in it.
fn tiles(begin: u32, sizes: &[u32], mut work: impl FnMut(u32, usize, Range<usize>)) {
    let end = sizes.last().copied().unwrap_or(begin);
    let mut first = begin;
    let mut next_size = 0;
    while first < end {
        let length = (end - first).min(TILE as u32);
        let here = sizes[next_size..].partition_point(|size| *size <= first + length);
        work(first, length as usize, next_size..next_size + here);
        next_size += here;
        first += length;
    }
}

/// What was sold in channel number `c` up to `row` of the tile.
#[inline(always)]
fn sold_in<S: Simd>(
    simd: S,
    plan: &Plan,
    sale: Option<&[CertainSale]>,
    tile: &Tile,
    c: usize,
    row: usize,
) -> SaleRow<S> {
    match sale {
        Some(sale) => SaleRow::certain(simd, &sale[c]),
        None => tile.sale.row(simd, plan, c, row),
    }
}

/// Good pieces into orders.
#[inline(never)]
fn sell<S: Simd>(simd: S, plan: &Plan, orders: &mut OrderState, length: usize, tile: &mut Tile) {
    simd.vectorize(
        #[inline(always)]
        || orders_tile(simd, plan, orders, &tile.alive, length, &mut tile.sale),
    );
}

/// Running totals of what the pieces of a tile take.
#[inline(never)]
fn add_up<S: Simd>(simd: S, plan: &Plan, totals: &mut [Lanes; 3], length: usize, tile: &mut Tile) {
    simd.vectorize(
        #[inline(always)]
        || {
            let [setup, each, redo] = totals;
            run_up(simd, each, &mut tile.each[..length]);
            if plan.redoes {
                run_up(simd, redo, &mut tile.redo[..length]);
            }
            if tile.has_rounds {
                run_up(simd, setup, &mut tile.setup[..length]);
            }
        },
    );
}

/// Whether every piece takes this step at the full time of its draw, so that the draw's base is the same for all.
const fn counts_from_base(step: &PlanStep) -> bool {
    step.has_each && !step.after_spoilage && step.factors.is_empty()
}

/// Setups that fall due in a tile. Where pieces may be lost, those of rounds are only looked ahead to here: which piece opens
/// a round hangs on how many of them get to the step.
#[inline(never)]
fn setups_step<S: Simd>(
    simd: S,
    step: &PlanStep,
    state: &mut SetupState,
    reached: &Lanes,
    first: u32,
    length: usize,
    tile: &mut Tile,
) {
    simd.vectorize(
        #[inline(always)]
        || {
            let shape = &step.setup.shape;
            match (step.after_spoilage, step.room) {
                (true, Some(room)) => tile.ahead.set_up(simd, shape, &state.start, room, reached, length),
                (true, None) => {
                    let (alive, setup) = (&tile.alive[..length], &mut tile.setup[..length]);
                    first_setups(simd, shape, &state.start, &mut state.opened, alive, setup);
                }
                (false, room) => {
                    // Every lane has the same pieces, so rounds open in step.
                    let room = u64::from(room.unwrap_or(u32::MAX));
                    let start = u64x8::simd_from(simd, state.start);
                    let (begin, end) = (u64::from(first), u64::from(first) + length as u64);
                    for number in begin.div_ceil(room)..end.div_ceil(room) {
                        let row = &mut tile.setup[(number * room - begin) as usize].0;
                        let drawn = shape.draw_lanes(simd, nth_of_all(start, number));
                        (f64x8::simd_from(simd, *row) + drawn).store_array(row);
                    }
                }
            }
        },
    );
}

/// One step's passes over a tile: who gets there, times, fates, redos.
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
fn each_step<S: Simd, D: Draw<S>>(
    simd: S,
    draw: D,
    step: &PlanStep,
    first: u32,
    length: usize,
    state: &mut EachState,
    tile: &mut Tile,
    index: usize,
) {
    let learns = !step.factors.is_empty();
    // A chance too small for any half to be below its bound is none.
    let redoes = step.has_each && step.redo_bound > 0.5;
    let spoils = step.spoil_bound > 0.5;
    // Where no piece can be missing, every lane is at the same place of the curve.
    let from_here = step.factors.get(first as usize..).unwrap_or_default();
    let sets_up = step.has_rounds() && step.room.is_some();
    // A step where nothing is done per piece still decides fates and counts pieces.
    if step.after_spoilage && (learns || sets_up || step.counts_pieces) {
        let reach = match (learns, sets_up) {
            (false, false) => reach_loop::<S, false, false>,
            (false, true) => reach_loop::<S, false, true>,
            (true, false) => reach_loop::<S, true, false>,
            (true, true) => reach_loop::<S, true, true>,
        };
        if learns {
            tile.ahead.learn(&step.factors, &state.reached, length);
        }
        reach(
            simd,
            &tile.ahead,
            &mut state.reached,
            &tile.alive[..length],
            &mut tile.reached[index],
            &mut tile.weights,
            &mut tile.setup,
        );
    }
    if step.has_each {
        let each = &mut tile.each[..length];
        let times = &mut state.times;
        match (step.after_spoilage, learns) {
            // The base is all there is.
            (false, false) if !D::RANDOM => {}
            (false, false) => times_loop::<S, D, false, false>(simd, draw, &[], &[], times, each),
            (false, true) => times_loop::<S, D, true, false>(simd, draw, from_here, &[], times, each),
            (true, false) => times_loop::<S, D, false, true>(simd, draw, &[], &tile.alive, times, each),
            (true, true) => times_loop::<S, D, false, true>(simd, draw, &[], &tile.weights, times, each),
        }
    }
    let fates = match (redoes, spoils) {
        (false, false) => return,
        (true, false) => fates_loop::<S, true, false>,
        (false, true) => fates_loop::<S, false, true>,
        (true, true) => fates_loop::<S, true, true>,
    };
    fates(
        simd,
        [step.redo_bound, step.spoil_bound],
        &mut state.fates,
        length,
        &tile.alive,
        &mut tile.next,
        &mut tile.again,
    );
    if redoes {
        let factors = match (learns, step.after_spoilage) {
            (false, _) => Factors::None,
            (true, false) => Factors::ByPiece(from_here),
            (true, true) => Factors::ByLane(&tile.weights),
        };
        let rule = [step.redo, step.redo_bound];
        redo_loop(
            simd,
            draw,
            rule,
            &mut state.redos,
            &tile.alive,
            factors,
            &tile.again,
            &mut tile.redo[..length],
        );
    }
    if spoils {
        std::mem::swap(&mut tile.alive, &mut tile.next);
    }
}

/// Learning factors of a tile's rows.
#[derive(Clone, Copy)]
enum Factors<'a> {
    None,
    ByPiece(&'a [f64]),
    ByLane(&'a [Row]),
}

// Each loop is a function of its own, compiled once for each vector path (and shape, where it draws times).

#[inline(never)]
fn times_loop<S: Simd, D: Draw<S>, const LEARNS: bool, const WEIGHTED: bool>(
    simd: S,
    draw: D,
    factors: &[f64],
    weights: &[Row],
    times: &mut Words,
    each: &mut [Row],
) {
    simd.vectorize(
        #[inline(always)]
        || times_tile::<S, D, LEARNS, WEIGHTED>(simd, draw, factors, weights, times, each),
    );
}

#[inline(never)]
fn reach_loop<S: Simd, const LEARNS: bool, const SETS_UP: bool>(
    simd: S,
    ahead: &Ahead,
    count: &mut Lanes,
    alive: &[Row],
    reached: &mut [Row],
    weights: &mut [Row],
    setup: &mut [Row],
) {
    simd.vectorize(
        #[inline(always)]
        || reach_tile::<S, LEARNS, SETS_UP>(simd, ahead, count, alive, reached, weights, setup),
    );
}

#[inline(never)]
fn fates_loop<S: Simd, const REDO: bool, const SPOIL: bool>(
    simd: S,
    bounds: [f64; 2],
    fates: &mut Words,
    length: usize,
    alive: &[Row],
    next: &mut [Row],
    again: &mut Again,
) {
    simd.vectorize(
        #[inline(always)]
        || fates_tile::<S, REDO, SPOIL>(simd, bounds, fates, length, alive, next, again),
    );
}

#[inline(never)]
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
fn redo_loop<S: Simd, D: Draw<S>>(
    simd: S,
    draw: D,
    rule: [f64; 2],
    redos: &mut Words,
    alive: &[Row],
    factors: Factors<'_>,
    again: &Again,
    redo: &mut [Row],
) {
    simd.vectorize(
        #[inline(always)]
        || {
            let factors = |row: usize| match factors {
                Factors::None => f64x8::splat(simd, 1.0),
                Factors::ByPiece(by_piece) => f64x8::splat(simd, by_piece[row]),
                Factors::ByLane(by_lane) => f64x8::simd_from(simd, by_lane[row].0),
            };
            redo_tile(simd, draw, rule, redos, alive, factors, again, redo);
        },
    );
}
