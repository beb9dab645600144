//! One block of trials: step by step through tiles of pieces, and for every recorded size hours, profit and floor.

use super::Path;
use super::kernel::{
    Again, Curve, EachState, add_from, add_redos, fates_tile, reach_tile, redo_tile, sum_lanes, times_tile, whole,
};
use super::line::MoneyLine;
use super::path::dispatch;
use super::plan::{CertainSale, Plan, PlanStep, Source};
use super::remake::{self, Extra};
use super::shape::{Draw, Same, Shape, high_half};
use super::stream::{Words, nth, nth_lanes, nth_of_all, seed_words, start, start_lanes, trial_keys};
use super::{BLOCK_TRIALS, LANES, Lanes, TILE};
use fearless_simd::{Select, Simd, SimdBase, SimdFloat, SimdFrom, SimdMask, f64x8, u64x8};
use std::ops::Range;

const ZERO: Lanes = [0.0; LANES];
const ONE: Lanes = [1.0; LANES];
/// Numbers of setups drawn for all lanes of a tile at once, where its lanes are not further apart.
const SETUPS: usize = 128;
const GROUPS: usize = BLOCK_TRIALS / LANES;

/// Sums over trials that are kept for every size besides the columns.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Sums {
    /// Good pieces.
    pub good: f64,
    /// Their squares.
    pub good_squared: f64,
    /// Hours of setup.
    pub setup_hours: f64,
    /// Hours of redoing.
    pub redo_hours: f64,
    /// Hours of orders.
    pub order_hours: f64,
    /// Hours once for the design.
    pub once_hours: f64,
    /// What a price of 1 brings in: kept pieces without tax, less the fee on all that were sold.
    pub per_price: f64,
    /// Income.
    pub income: f64,
    /// Fees.
    pub fees: f64,
    /// Postage paid.
    pub post: f64,
    /// Materials at replacement prices.
    pub materials: f64,
    /// Materials at what was paid.
    pub materials_paid: f64,
    /// Pieces sold.
    pub sold: f64,
    /// Their squares.
    pub sold_squared: f64,
    /// What leftovers brought in.
    pub clearance: f64,
    /// Cost of holding.
    pub holding: f64,
    /// Runs in which every good piece was sold, and there was one.
    pub sold_out: f64,
}

/// Lanes of [`Sums`], in the order of its fields.
const SUMS: usize = 17;

/// What one channel took and gave, summed over the trials of a block.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct ChannelSums {
    /// Pieces sold there.
    pub sold: f64,
    /// Orders sent.
    pub orders: f64,
    /// Hours of orders.
    pub order_hours: f64,
    /// Income.
    pub income: f64,
    /// Fees.
    pub fees: f64,
    /// Postage paid.
    pub post: f64,
    /// Materials used per order, at replacement prices.
    pub materials: f64,
}

/// Lanes of [`ChannelSums`], in the order of its fields.
const CHANNEL_SUMS: usize = 7;

impl ChannelSums {
    fn from_lanes(lanes: &[Lanes; CHANNEL_SUMS]) -> Self {
        let sum = |k: usize| sum_lanes(&lanes[k]);
        Self {
            sold: sum(0),
            orders: sum(1),
            order_hours: sum(2),
            income: sum(3),
            fees: sum(4),
            post: sum(5),
            materials: sum(6),
        }
    }
}

impl Sums {
    fn from_lanes(lanes: &[Lanes; SUMS]) -> Self {
        let sum = |k: usize| sum_lanes(&lanes[k]);
        Self {
            good: sum(0),
            good_squared: sum(1),
            setup_hours: sum(2),
            redo_hours: sum(3),
            order_hours: sum(4),
            once_hours: sum(5),
            per_price: sum(6),
            income: sum(7),
            fees: sum(8),
            post: sum(9),
            materials: sum(10),
            materials_paid: sum(11),
            sold: sum(12),
            sold_squared: sum(13),
            clearance: sum(14),
            holding: sum(15),
            sold_out: sum(16),
        }
    }

    /// Adds the sums of another block.
    pub fn add(&mut self, other: &Self) {
        self.good += other.good;
        self.good_squared += other.good_squared;
        self.setup_hours += other.setup_hours;
        self.redo_hours += other.redo_hours;
        self.order_hours += other.order_hours;
        self.once_hours += other.once_hours;
        self.per_price += other.per_price;
        self.income += other.income;
        self.fees += other.fees;
        self.post += other.post;
        self.materials += other.materials;
        self.materials_paid += other.materials_paid;
        self.sold += other.sold;
        self.sold_squared += other.sold_squared;
        self.clearance += other.clearance;
        self.holding += other.holding;
        self.sold_out += other.sold_out;
    }
}

/// Columns kept for each size where money does not follow from hours: hours, profit and floor.
pub const COLUMNS: usize = 3;

/// Sums over one block of trials for one size.
#[derive(Debug, Clone, Default)]
pub struct BlockSums {
    /// Everything that all ways of selling share.
    pub sums: Sums,
    /// Hours; only where there are several channels.
    pub hours: f64,
    /// What each channel took and gave; empty where there is only one way of selling.
    pub channels: Vec<ChannelSums>,
}

/// A block of trials on its way through the batch sizes.
#[derive(Debug, Clone)]
pub struct Block {
    groups: Vec<Group>,
    trials: usize,
    pieces_done: u32,
}

/// What is carried of one step's rounds.
#[derive(Debug, Clone)]
struct RoundState {
    /// Where the stream of setups starts.
    start: [u64; LANES],
    /// Minutes so far.
    setup: Lanes,
    /// Pieces in the open round.
    inside: Lanes,
    /// Rounds opened.
    rounds: Lanes,
}

/// What is carried of the sale.
#[derive(Debug, Clone)]
struct OrderState {
    size: [u64; LANES],
    post: [u64; LANES],
    returned: [u64; LANES],
    /// Pieces asked for.
    demand: Lanes,
    good: Lanes,
    sold: Lanes,
    channels: Vec<ChannelState>,
}

/// What is carried of one channel's orders.
#[derive(Debug, Clone)]
struct ChannelState {
    times: Vec<[u64; LANES]>,
    /// Room left in the open order.
    left: Lanes,
    /// 1 where the open order is kept by the buyer, 0 where it comes back.
    open_kept: Lanes,
    orders: Lanes,
    kept_orders: Lanes,
    minutes: Lanes,
    postage: Lanes,
    sold: Lanes,
    kept: Lanes,
}

/// Eight trials on their way.
#[derive(Debug, Clone)]
struct Group {
    keys: [u64; LANES],
    pace_per_hour: Lanes,
    once: Lanes,
    /// Setups that are certain to fall due with the first piece, and only then.
    setup_base: Lanes,
    steps: Vec<EachState>,
    rounds: Vec<RoundState>,
    /// The run's one draw of `each` where a step varies by batch.
    by_batch: Vec<Lanes>,
    /// For each material: waste + 1, then the plain price and the price at each break.
    material_prices: Vec<Vec<Lanes>>,
    /// What other currencies are worth.
    rates: Vec<Lanes>,
    orders: OrderState,
    /// Remade pieces drawn so far, a list a lane.
    remakes: Vec<remake::Pieces>,
}

/// Columns of one tile; kept from tile to tile only to save allocations.
struct Tile {
    each: Vec<Lanes>,
    redo: Vec<Lanes>,
    setup: Vec<Lanes>,
    alive: Vec<Lanes>,
    /// What leaves a step that spoils; becomes `alive`.
    next: Vec<Lanes>,
    /// Learning factors of a step where pieces may be missing, 0 where one is.
    weights: Vec<Lanes>,
    curve: Box<Curve>,
    again: Again,
    /// Whether any step adds to `setup`.
    has_rounds: bool,
    /// Setups of a step by number.
    setups: Box<[Lanes; SETUPS]>,
    reached: Vec<Vec<Lanes>>,
    rounds: Vec<Vec<Lanes>>,
    good: Vec<Lanes>,
    /// 1 where the piece is sold.
    sells: Vec<Lanes>,
    /// Pieces sold before it.
    before: Vec<Lanes>,
    sales: Vec<SaleColumns>,
}

/// Running totals of one channel.
struct SaleColumns {
    orders: Vec<Lanes>,
    kept_orders: Vec<Lanes>,
    minutes: Vec<Lanes>,
    postage: Vec<Lanes>,
    sold: Vec<Lanes>,
    kept: Vec<Lanes>,
}

impl Tile {
    fn new(plan: &Plan) -> Self {
        let column = || vec![ZERO; TILE];
        let counted = |wanted: bool| if wanted { column() } else { Vec::new() };
        Self {
            each: column(),
            redo: column(),
            setup: column(),
            alive: vec![ONE; TILE],
            next: column(),
            weights: column(),
            curve: Box::new([[0.0; TILE]; LANES]),
            again: Again::new(),
            has_rounds: plan.steps.iter().any(has_rounds),
            setups: Box::new([ZERO; SETUPS]),
            reached: plan
                .steps
                .iter()
                .map(|s| counted(s.thinned && s.counts_pieces))
                .collect(),
            rounds: plan.steps.iter().map(|s| counted(s.counts_rounds)).collect(),
            good: column(),
            sells: column(),
            before: column(),
            sales: plan
                .channels
                .iter()
                .map(|_| SaleColumns {
                    orders: column(),
                    kept_orders: column(),
                    minutes: column(),
                    postage: column(),
                    sold: column(),
                    kept: column(),
                })
                .collect(),
        }
    }
}

impl Block {
    /// Block number `index` of `total` trials; nothing is simulated yet.
    #[must_use]
    pub fn new(plan: &Plan, path: Path, seed: u64, index: u64, total: u64) -> Self {
        let first = index * BLOCK_TRIALS as u64;
        let trials = (total - first).min(BLOCK_TRIALS as u64) as usize;
        let first_group = index * GROUPS as u64;
        let groups = (0..trials.div_ceil(LANES) as u64)
            .map(|g| {
                let keys = trial_keys(seed, first_group + g);
                dispatch!(path, simd => Group::begin(simd, plan, keys))
            })
            .collect();
        Self {
            groups,
            trials,
            pieces_done: 0,
        }
    }

    /// Simulates on up to the last of `sizes` (ascending, all above those of earlier calls) and records them: sums of each
    /// size, and its columns in `columns`, which hold this block's trials of [`COLUMNS`] columns a size.
    #[must_use]
    pub fn advance(&mut self, plan: &Plan, path: Path, sizes: &[u32], columns: &mut [&mut [f64]]) -> Vec<BlockSums> {
        let mut sums = vec![[ZERO; SUMS]; sizes.len()];
        let several = if plan.channels.len() > 1 {
            plan.channels.len()
        } else {
            0
        };
        let mut channel_sums = vec![vec![[ZERO; CHANNEL_SUMS]; several]; sizes.len()];
        let mut tile = Tile::new(plan);
        let sales: Vec<Option<Vec<CertainSale>>> = sizes.iter().map(|size| plan.certain_sale(*size)).collect();
        let begin = self.pieces_done;
        let trials = self.trials as f64;
        for (g, group) in self.groups.iter_mut().enumerate() {
            let valid = (self.trials - g * LANES).min(LANES);
            let mut recorder = Recorder {
                sizes,
                sales: &sales,
                columns: &mut *columns,
                sums: &mut sums,
                channel_sums: &mut channel_sums,
                trial: g * LANES,
                valid,
                trials,
            };
            dispatch!(path, simd => group.advance(simd, plan, begin, &mut tile, &mut recorder));
        }
        self.pieces_done = sizes.last().copied().unwrap_or(begin);
        sums.iter()
            .zip(&channel_sums)
            .enumerate()
            .map(|(size, (sums, channels))| BlockSums {
                sums: Sums::from_lanes(sums),
                hours: if several > 0 {
                    columns[size * COLUMNS][..self.trials]
                        .iter()
                        .fold(0.0, |sum, h| sum + h)
                } else {
                    0.0
                },
                channels: channels.iter().map(ChannelSums::from_lanes).collect(),
            })
            .collect()
    }

    /// [`Block::advance`] where money follows from hours: one column a size, and sums of what is not certain.
    #[must_use]
    pub fn advance_lean(
        &mut self,
        plan: &Plan,
        path: Path,
        sizes: &[u32],
        lines: &[MoneyLine],
        columns: &mut [&mut [f64]],
    ) -> Vec<BlockSums> {
        let mut recorder = LeanRecorder {
            sizes,
            lines,
            columns,
            hours: vec![LeanHours::default(); sizes.len()],
            setup: ZERO,
            once: ZERO,
            setup_varies: false,
            trial: 0,
        };
        let mut tile = Tile::new(plan);
        recorder.setup_varies = tile.has_rounds;
        let begin = self.pieces_done;
        for (g, group) in self.groups.iter_mut().enumerate() {
            recorder.trial = g * LANES;
            dispatch!(path, simd => group.advance_lean(simd, plan, begin, &mut tile, &mut recorder));
        }
        self.pieces_done = sizes.last().copied().unwrap_or(begin);
        let once_hours = sum_lanes(&recorder.once);
        let sizes = lines.iter().zip(&recorder.hours);
        sizes
            .map(|(line, hours)| Sums {
                setup_hours: sum_lanes(if recorder.setup_varies {
                    &hours.setup
                } else {
                    &recorder.setup
                }),
                redo_hours: sum_lanes(&hours.redo),
                order_hours: sum_lanes(&hours.order),
                once_hours,
                ..line.sums(self.trials)
            })
            .map(|sums| BlockSums {
                sums,
                ..BlockSums::default()
            })
            .collect()
    }
}

/// Where a group writes what it found.
struct Recorder<'a, 'c> {
    sizes: &'a [u32],
    /// How each size sells, where nothing about that is left to chance.
    sales: &'a [Option<Vec<CertainSale>>],
    columns: &'a mut [&'c mut [f64]],
    sums: &'a mut [[Lanes; SUMS]],
    channel_sums: &'a mut [Vec<[Lanes; CHANNEL_SUMS]>],
    /// The group's first trial within the block.
    trial: usize,
    /// Lanes that count.
    valid: usize,
    /// Trials of the whole block.
    trials: f64,
}

/// Puts a group's values into a column from its first trial on; lanes past the column's end do not count.
#[inline(always)]
fn put<S: Simd>(column: &mut [f64], trial: usize, values: f64x8<S>) {
    let slots = &mut column[trial..];
    if slots.len() >= LANES {
        values.store_slice(&mut slots[..LANES]);
    } else {
        let count = slots.len();
        slots.copy_from_slice(&values.as_array()[..count]);
    }
}

/// Where a group writes its hours when money follows from them.
struct LeanRecorder<'a, 'c> {
    sizes: &'a [u32],
    lines: &'a [MoneyLine],
    /// One a size.
    columns: &'a mut [&'c mut [f64]],
    /// One a size.
    hours: Vec<LeanHours>,
    /// Hours of setup, where they are the same for every size.
    setup: Lanes,
    /// Hours once for the design.
    once: Lanes,
    /// Whether hours of setup hang on the size.
    setup_varies: bool,
    /// The group's first trial within the block.
    trial: usize,
}

/// Sums over groups that hang on the size.
#[derive(Clone, Copy, Default)]
struct LeanHours {
    setup: Lanes,
    redo: Lanes,
    order: Lanes,
}

/// The one draw a run makes from `source`.
fn draw_run<S: Simd>(simd: S, keys: &[u64; LANES], source: &Source) -> Lanes {
    match source.shape {
        Shape::Fixed(value) => [value; LANES],
        _ => draw_first(simd, keys, source),
    }
}

#[inline(never)]
fn draw_first<S: Simd>(simd: S, keys: &[u64; LANES], source: &Source) -> Lanes {
    simd.vectorize(
        #[inline(always)]
        || {
            let bits = nth_of_all(start_lanes(simd, keys, source.part), 0);
            source.shape.draw_lanes(simd, bits).to_array()
        },
    )
}

fn starts(keys: &[u64; LANES], part: u64) -> [u64; LANES] {
    keys.map(|key| start(key, part))
}

impl Group {
    fn begin<S: Simd>(simd: S, plan: &Plan, keys: [u64; LANES]) -> Self {
        let pace = draw_run(simd, &keys, &plan.pace);
        let mut once = ZERO;
        for source in &plan.once {
            let minutes = draw_run(simd, &keys, source);
            for lane in 0..LANES {
                once[lane] += minutes[lane] / plan.runs;
            }
        }
        let mut setup_base = ZERO;
        let mut steps = Vec::with_capacity(plan.steps.len());
        let mut rounds = Vec::with_capacity(plan.steps.len());
        let mut by_batch = Vec::with_capacity(plan.steps.len());
        for step in &plan.steps {
            let mut state = EachState::default();
            if step.has_each && !step.by_batch && !step.each.shape.is_fixed() {
                state.times = seed_words(simd, &keys, step.each.part);
                if step.redo > 0.0 {
                    state.redos = seed_words(simd, &keys, step.redo_part);
                }
            }
            if step.redo > 0.0 || step.spoil > 0.0 {
                state.fates = seed_words(simd, &keys, step.fate_part);
            }
            steps.push(state);
            if has_one_setup(step) {
                let minutes = draw_run(simd, &keys, &step.setup);
                for lane in 0..LANES {
                    setup_base[lane] += minutes[lane];
                }
            }
            rounds.push(RoundState {
                start: if has_rounds(step) {
                    starts(&keys, step.setup.part)
                } else {
                    [0; LANES]
                },
                setup: ZERO,
                inside: [f64::INFINITY; LANES],
                rounds: ZERO,
            });
            by_batch.push(if step.by_batch || step.each.shape.is_fixed() {
                draw_run(simd, &keys, &step.each)
            } else {
                ZERO
            });
        }
        let rates: Vec<Lanes> = plan.rates.iter().map(|source| draw_run(simd, &keys, source)).collect();
        let material_prices = plan
            .materials
            .iter()
            .map(|material| {
                let waste = draw_run(simd, &keys, &material.waste).map(|w| 1.0 + w);
                let mut prices = vec![waste, draw_run(simd, &keys, &material.price)];
                for (_, shape) in &material.breaks {
                    let source = Source {
                        shape: shape.clone(),
                        part: material.price.part,
                    };
                    prices.push(draw_run(simd, &keys, &source));
                }
                if let Some(k) = material.rate {
                    for price in &mut prices[1..] {
                        *price = std::array::from_fn(|lane| price[lane] * rates[k][lane]);
                    }
                }
                prices
            })
            .collect();
        let first = &plan.channels[0];
        let orders = OrderState {
            size: starts(&keys, first.order_of.part),
            post: starts(&keys, first.post.part),
            returned: starts(&keys, plan.returned_part),
            demand: plan.demand.as_ref().map_or([f64::INFINITY; LANES], |demand| {
                keys.map(|key| demand.draw(nth(start(key, demand.part), 0)))
            }),
            good: ZERO,
            sold: ZERO,
            channels: plan
                .channels
                .iter()
                .map(|channel| ChannelState {
                    times: channel.order_times.iter().map(|s| starts(&keys, s.part)).collect(),
                    left: ZERO,
                    open_kept: ONE,
                    orders: ZERO,
                    kept_orders: ZERO,
                    minutes: ZERO,
                    postage: ZERO,
                    sold: ZERO,
                    kept: ZERO,
                })
                .collect(),
        };
        let remakes = if plan.remake && plan.spoils {
            vec![remake::Pieces::default(); LANES]
        } else {
            Vec::new()
        };
        Self {
            keys,
            pace_per_hour: pace.map(|f| f / 60.0),
            once,
            setup_base,
            steps,
            rounds,
            by_batch,
            material_prices,
            rates,
            orders,
            remakes,
        }
    }

    fn advance<S: Simd>(&mut self, simd: S, plan: &Plan, begin: u32, tile: &mut Tile, recorder: &mut Recorder<'_, '_>) {
        let end = recorder.sizes.last().copied().unwrap_or(begin);
        let mut first = begin;
        let mut next_size = 0;
        while first < end {
            let length = (end - first).min(TILE as u32) as usize;
            self.work(simd, plan, first, length, tile);
            if recorder.sales.last().is_some_and(Option::is_none) {
                self.sell(simd, plan, length, tile);
            }
            while next_size < recorder.sizes.len() && recorder.sizes[next_size] <= first + length as u32 {
                let size = recorder.sizes[next_size];
                let row = (size - first - 1) as usize;
                self.record(simd, plan, size, row, tile, next_size, recorder);
                next_size += 1;
            }
            first += length as u32;
        }
    }

    /// [`Group::advance`] where money follows from hours.
    fn advance_lean<S: Simd>(
        &mut self,
        simd: S,
        plan: &Plan,
        begin: u32,
        tile: &mut Tile,
        recorder: &mut LeanRecorder<'_, '_>,
    ) {
        let end = recorder.sizes.last().copied().unwrap_or(begin);
        let mut first = begin;
        let mut next_size = 0;
        while first < end {
            let length = (end - first).min(TILE as u32) as usize;
            self.work(simd, plan, first, length, tile);
            let here = recorder.sizes[next_size..].partition_point(|size| *size <= first + length as u32);
            let numbers = next_size..next_size + here;
            self.record_lean(simd, plan, first, first == begin, tile, numbers, recorder);
            next_size += here;
            first += length as u32;
        }
    }

    #[inline(never)]
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    fn record_lean<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        first: u32,
        opening: bool,
        tile: &Tile,
        numbers: Range<usize>,
        recorder: &mut LeanRecorder<'_, '_>,
    ) {
        simd.vectorize(
            #[inline(always)]
            || self.record_lean_here(simd, plan, first, opening, tile, numbers, recorder),
        );
    }

    /// Hours of the sizes with the given numbers, whose last pieces are in the tile that begins with the piece `first`; on
    /// `opening` also what does not hang on the size.
    #[inline(always)]
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    fn record_lean_here<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        first: u32,
        opening: bool,
        tile: &Tile,
        numbers: Range<usize>,
        recorder: &mut LeanRecorder<'_, '_>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let once = load(&self.once);
        let base = load(&self.setup_base);
        let per_hour = load(&self.pace_per_hour);
        // The last group of all may be short; its sums leave out the lanes that do not count.
        let valid = recorder.columns.first().map_or(0, |column| column.len()) - recorder.trial;
        let weight = f64x8::simd_from(simd, std::array::from_fn(|lane| f64::from(u8::from(lane < valid))));
        let add = |sum: &mut Lanes, value: f64x8<S>| {
            let value = if valid < LANES { value * weight } else { value };
            (load(sum) + value).store_array(sum);
        };
        if opening {
            if !recorder.setup_varies {
                add(&mut recorder.setup, base * per_hour);
            }
            if !plan.once.is_empty() {
                add(&mut recorder.once, once * per_hour);
            }
        }
        let setup_varies = recorder.setup_varies;
        let has_orders = plan.channels.iter().any(|channel| !channel.order_times.is_empty());
        let fixed = once + base;
        let sizes = recorder.sizes[numbers.clone()]
            .iter()
            .zip(&recorder.lines[numbers.clone()]);
        let columns = recorder.columns[numbers.clone()].iter_mut();
        for ((size, line), (column, sums)) in sizes.zip(columns.zip(&mut recorder.hours[numbers])) {
            let row = (size - first - 1) as usize;
            let mut minutes = fixed;
            if setup_varies {
                let setup = load(&tile.setup[row]) + base;
                add(&mut sums.setup, setup * per_hour);
                minutes = once + setup;
            }
            minutes += load(&tile.each[row]);
            if plan.redoes {
                let redo = load(&tile.redo[row]);
                add(&mut sums.redo, redo * per_hour);
                minutes += redo;
            }
            if has_orders {
                let orders = f64x8::splat(simd, line.sale.minutes);
                add(&mut sums.order, orders * per_hour);
                minutes += orders;
            }
            put(column, recorder.trial, minutes * per_hour);
        }
    }

    /// The bench: all steps on the pieces `first..first + length`.
    fn work<S: Simd>(&mut self, simd: S, plan: &Plan, first: u32, length: usize, tile: &mut Tile) {
        // Columns that nothing is written to are as they were made.
        tile.each[..length].fill(ZERO);
        if plan.redoes {
            tile.redo[..length].fill(ZERO);
        }
        if tile.has_rounds {
            tile.setup[..length].fill(ZERO);
        }
        if plan.spoils {
            tile.alive[..length].fill(ONE);
        }
        for (index, step) in plan.steps.iter().enumerate() {
            if step.counts_rounds || has_rounds(step) {
                rounds_step(simd, step, &mut self.rounds[index], first, length, tile, index);
            }
            let state = &mut self.steps[index];
            if step.by_batch || step.each.shape.is_fixed() {
                each_step(
                    simd,
                    Same(self.by_batch[index]),
                    step,
                    first,
                    length,
                    state,
                    tile,
                    index,
                );
            } else {
                match &step.each.shape {
                    // Certain times are the same in every draw: above.
                    Shape::Fixed(_) => {}
                    Shape::Uniform(shape) => each_step(simd, *shape, step, first, length, state, tile, index),
                    Shape::Triangular(shape) => each_step(simd, *shape, step, first, length, state, tile, index),
                    Shape::Table(table) => each_step(simd, &**table, step, first, length, state, tile, index),
                }
            }
        }
    }

    /// Good pieces into orders.
    #[inline(never)]
    fn sell<S: Simd>(&mut self, simd: S, plan: &Plan, length: usize, tile: &mut Tile) {
        simd.vectorize(
            #[inline(always)]
            || orders_tile(simd, plan, &mut self.orders, length, tile),
        );
    }

    /// Hours, profit and floor of the batch of `size`, whose last piece is in `row` of the tile.
    #[inline(never)]
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    fn record<S: Simd>(
        &mut self,
        simd: S,
        plan: &Plan,
        size: u32,
        row: usize,
        tile: &Tile,
        size_index: usize,
        recorder: &mut Recorder<'_, '_>,
    ) {
        let extra = if plan.remake && plan.spoils {
            Some(self.remake(plan, size, row, tile))
        } else {
            None
        };
        simd.vectorize(
            #[inline(always)]
            || self.record_here(simd, plan, size, row, tile, size_index, recorder, extra.as_ref()),
        );
    }

    /// The pieces made again for a batch of `size`.
    fn remake(&mut self, plan: &Plan, size: u32, row: usize, tile: &Tile) -> Extra {
        let mut extra = Extra::new(plan);
        for lane in 0..LANES {
            let missing = size - tile.good[row][lane] as u32;
            if missing > 0 {
                remake::until_good(
                    plan,
                    self.keys[lane],
                    &mut self.remakes[lane],
                    remake::Before {
                        missing,
                        // A column is kept wherever the count can differ from the size and anything asks for it.
                        reached: &|step| tile.reached[step].get(row).map_or(size, |counts| counts[lane] as u32),
                        by_batch: &|step| self.by_batch[step][lane],
                    },
                    lane,
                    &mut extra,
                );
            }
        }
        extra
    }

    #[inline(always)]
    #[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
    fn record_here<S: Simd>(
        &self,
        simd: S,
        plan: &Plan,
        size: u32,
        row: usize,
        tile: &Tile,
        size_index: usize,
        recorder: &mut Recorder<'_, '_>,
        extra: Option<&Extra>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let pieces = f64x8::splat(simd, f64::from(size));
        let mut setup = load(&tile.setup[row]) + load(&self.setup_base);
        let mut each = load(&tile.each[row]);
        let mut redo = load(&tile.redo[row]);
        if let Some(extra) = extra {
            setup += load(&extra.setup);
            each += load(&extra.each);
            redo += load(&extra.redo);
        }
        let sale = recorder.sales[size_index].as_deref();
        let splat = |value: f64| f64x8::splat(simd, value);
        let zero = splat(0.0);
        let rate = |k: Option<usize>| k.map_or_else(|| splat(1.0), |k| load(&self.rates[k]));
        // Of all channels together; what each adds is in the order of the channels.
        let (mut order_minutes, mut orders, mut sold_all) = (zero, zero, zero);
        let (mut per_price, mut kept_price, mut fee_price) = (zero, zero, zero);
        let (mut kept_post, mut order_fees, mut post) = (zero, zero, zero);
        for (c, channel) in plan.channels.iter().enumerate() {
            let row = self.sold_in(simd, sale, tile, c, row);
            let price = rate(channel.rates[0]) * channel.price_ratio;
            let charged = rate(channel.rates[3]) * channel.post_charged;
            order_minutes += row.minutes;
            orders += row.orders;
            sold_all += row.sold;
            per_price += (row.kept * channel.net - row.sold * channel.fee) * price;
            kept_price += row.kept * channel.net * price;
            fee_price += row.sold * channel.fee * price;
            kept_post += row.kept_orders * charged;
            order_fees +=
                row.orders * charged * channel.fee + row.orders * (rate(channel.rates[1]) * channel.fee_per_order);
            post += row.postage * rate(channel.rates[2]);
        }
        let good = if plan.remake || sale.is_some() {
            pieces
        } else {
            load(&tile.good[row])
        };
        let once = load(&self.once);
        let per_hour = load(&self.pace_per_hour);
        let hours = (once + setup + each + redo + order_minutes) * per_hour;
        let terms = plan.terms;

        let mut materials = f64x8::splat(simd, 0.0);
        let mut paid = materials;
        for (m, material) in plan.materials.iter().enumerate() {
            let mut reached = if plan.steps[material.at].thinned && material.per_piece != 0.0 {
                load(&tile.reached[material.at][row])
            } else {
                pieces
            };
            let mut rounds = if material.per_round == 0.0 {
                f64x8::splat(simd, 0.0)
            } else {
                load(&tile.rounds[material.at][row])
            };
            if let Some(extra) = extra {
                reached += load(&extra.reached[material.at]);
                rounds += load(&extra.rounds[material.at]);
            }
            let used = reached * material.per_piece
                + rounds * material.per_round
                + orders * material.per_order
                + material.per_batch;
            let prices = &self.material_prices[m];
            let need = used * load(&prices[0]);
            if material.is_plain() {
                let cost = need * load(&prices[1]);
                materials += cost;
                paid += material.paid.map_or(cost, |price| need * (rate(material.rate) * price));
            } else {
                let (cost, charged) = purchases(material, need.as_array(), prices);
                let cost = load(&cost);
                materials += cost;
                paid += material
                    .paid
                    .map_or(cost, |price| load(&charged) * (rate(material.rate) * price));
            }
        }

        // Money is linear in price: profit = price x per_price - rest.
        let shop = hours * terms.shop_per_hour;
        let leftover = good - sold_all;
        let clearance = leftover * terms.clearance;
        let holding = good * good * terms.holding;
        let mut profit = per_price * terms.price + kept_post - order_fees - post - materials - shop;
        // The floor takes the money that does not hang on the price and what the maker's hours should cost.
        let mut due = hours * terms.target - (kept_post - order_fees - post - materials - shop);
        if terms.clearance != 0.0 || terms.holding != 0.0 {
            let kept_back = clearance - holding;
            profit += kept_back;
            due -= kept_back;
        }
        let infinite = f64x8::splat(simd, f64::INFINITY);
        let floor = per_price
            .simd_gt(f64x8::splat(simd, 0.0))
            .select(due / per_price, infinite);

        for (column, values) in [hours, profit, floor].into_iter().enumerate() {
            put(recorder.columns[size_index * COLUMNS + column], recorder.trial, values);
        }
        let weight = if recorder.valid == LANES {
            None
        } else {
            let valid = recorder.valid;
            Some(f64x8::simd_from(
                simd,
                std::array::from_fn(|lane| f64::from(u8::from(lane < valid))),
            ))
        };
        let income = kept_price * terms.price + kept_post;
        let fees = fee_price * terms.price + order_fees;
        let sold_out = (leftover.simd_le(zero) & good.simd_gt(zero)).select(splat(1.0), zero);
        // In the order of the fields of `Sums`; what is known to be nothing is not added.
        let sums = &mut recorder.sums[size_index];
        let mut add = |k: usize, wanted: bool, value: f64x8<S>| {
            if wanted {
                let value = weight.map_or(value, |weight| value * weight);
                (f64x8::simd_from(simd, sums[k]) + value).store_array(&mut sums[k]);
            }
        };
        let varies = sale.is_none() || !plan.rates.is_empty();
        add(2, true, setup * per_hour);
        add(3, plan.redoes, redo * per_hour);
        add(
            4,
            plan.channels.iter().any(|channel| !channel.order_times.is_empty()),
            order_minutes * per_hour,
        );
        add(5, !plan.once.is_empty(), once * per_hour);
        add(10, !plan.materials.is_empty(), materials);
        add(11, !plan.materials.is_empty(), paid);
        for (k, value) in [
            (0, good),
            (1, good * good),
            (6, per_price),
            (7, income),
            (8, fees),
            (9, post),
            (12, sold_all),
            (13, sold_all * sold_all),
            (14, clearance),
            (15, holding),
            (16, sold_out),
        ] {
            // The same in every run: the first lane of the first group stands for all, times the trials.
            if varies {
                add(k, true, value);
            } else if recorder.trial == 0 {
                let mut one = [0.0; LANES];
                one[0] = value.as_array()[0] * recorder.trials;
                add(k, true, f64x8::simd_from(simd, one));
            }
        }
        if plan.channels.len() > 1 {
            self.record_channels(simd, plan, sale, tile, row, size_index, weight, recorder);
        }
    }

    /// What was sold in channel number `c` up to `row` of the tile.
    #[inline(always)]
    fn sold_in<S: Simd>(&self, simd: S, sale: Option<&[CertainSale]>, tile: &Tile, c: usize, row: usize) -> SaleRow<S> {
        let splat = |value: f64| f64x8::splat(simd, value);
        if let Some(sale) = sale {
            let (all, orders) = (splat(sale[c].pieces), splat(sale[c].orders));
            return SaleRow {
                sold: all,
                kept: all,
                orders,
                kept_orders: orders,
                minutes: splat(sale[c].minutes),
                postage: splat(sale[c].postage),
            };
        }
        let columns = &tile.sales[c];
        let load = |column: &[Lanes]| f64x8::simd_from(simd, column[row]);
        SaleRow {
            sold: load(&columns.sold),
            kept: load(&columns.kept),
            orders: load(&columns.orders),
            kept_orders: load(&columns.kept_orders),
            minutes: load(&columns.minutes),
            postage: load(&columns.postage),
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
        size_index: usize,
        weight: Option<f64x8<S>>,
        recorder: &mut Recorder<'_, '_>,
    ) {
        let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
        let splat = |value: f64| f64x8::splat(simd, value);
        let rate = |k: Option<usize>| k.map_or_else(|| splat(1.0), |k| load(&self.rates[k]));
        // Stock of orders is bought in any amount here: whole packs and breaks are shared out evenly by the mean price.
        let mut per_order = splat(0.0);
        for (material, prices) in plan.materials.iter().zip(&self.material_prices) {
            if material.per_order != 0.0 {
                per_order += load(&prices[0]) * load(&prices[1]) * material.per_order;
            }
        }
        for (c, channel) in plan.channels.iter().enumerate() {
            let sold = self.sold_in(simd, sale, tile, c, row);
            let price = rate(channel.rates[0]) * channel.price_ratio * plan.terms.price;
            let charged = rate(channel.rates[3]) * channel.post_charged;
            let values = [
                sold.sold,
                sold.orders,
                sold.minutes * load(&self.pace_per_hour),
                sold.kept * channel.net * price + sold.kept_orders * charged,
                sold.sold * channel.fee * price
                    + sold.orders * charged * channel.fee
                    + sold.orders * (rate(channel.rates[1]) * channel.fee_per_order),
                sold.postage * rate(channel.rates[2]),
                sold.orders * per_order,
            ];
            let sums = &mut recorder.channel_sums[size_index][c];
            for (sum, value) in sums.iter_mut().zip(values) {
                let value = weight.map_or(value, |weight| value * weight);
                (f64x8::simd_from(simd, *sum) + value).store_array(sum);
            }
        }
    }
}

/// What one channel sold up to one piece.
struct SaleRow<S: Simd> {
    sold: f64x8<S>,
    kept: f64x8<S>,
    orders: f64x8<S>,
    kept_orders: f64x8<S>,
    minutes: f64x8<S>,
    postage: f64x8<S>,
}

/// A setup that falls due exactly once a run, with the first piece, in every lane.
fn has_one_setup(step: &PlanStep) -> bool {
    step.room.is_none() && !step.thinned && !step.setup.shape.is_zero()
}

/// Setups whose number hangs on the batch.
fn has_rounds(step: &PlanStep) -> bool {
    !(step.setup.shape.is_zero() || has_one_setup(step))
}

/// Costs, and units charged, of buying what each lane needs.
fn purchases(material: &super::plan::PlanMaterial, need: &Lanes, prices: &[Lanes]) -> (Lanes, Lanes) {
    let (mut cost, mut charged) = (ZERO, ZERO);
    let certain = material.price.shape.is_fixed() && material.breaks.iter().all(|(_, shape)| shape.is_fixed());
    for lane in 0..LANES {
        if certain && lane > 0 && need[lane] == need[lane - 1] {
            cost[lane] = cost[lane - 1];
            charged[lane] = charged[lane - 1];
            continue;
        }
        let price = |tier: usize| prices[tier + 1][lane];
        let (bought, tier) = material.purchase(need[lane], price);
        charged[lane] = if material.lost { bought } else { need[lane] };
        cost[lane] = charged[lane] * price(tier);
    }
    (cost, charged)
}

/// One step's passes over a tile: times, fates, redos.
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
    // A step where nothing is done per piece still decides fates and counts pieces.
    if step.thinned && (learns || step.counts_pieces) {
        let reach = if learns {
            reach_loop::<S, true>
        } else {
            reach_loop::<S, false>
        };
        reach(
            simd,
            &step.factors,
            &mut tile.curve,
            &mut state.reached,
            &tile.alive[..length],
            &mut tile.reached[index],
            &mut tile.weights,
        );
    }
    if step.has_each {
        let each = &mut tile.each[..length];
        match (step.thinned, learns) {
            (false, false) => times_loop::<S, D, false, false>(simd, draw, &[], &[], state, each),
            (false, true) => times_loop::<S, D, true, false>(simd, draw, from_here, &[], state, each),
            (true, false) => times_loop::<S, D, false, true>(simd, draw, &[], &tile.alive, state, each),
            (true, true) => times_loop::<S, D, false, true>(simd, draw, &[], &tile.weights, state, each),
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
        let factors = match (learns, step.thinned) {
            (false, _) => Factors::None,
            (true, false) => Factors::ByPiece(from_here),
            (true, true) => Factors::ByLane(&tile.weights),
        };
        let rule = [step.redo, step.redo_bound];
        redo_loop(
            simd,
            draw,
            rule,
            state,
            &tile.alive,
            factors,
            &mut tile.again,
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
    ByLane(&'a [Lanes]),
}

// Each loop is a function of its own, compiled once for each vector path (and shape, where it draws times).

#[inline(never)]
fn times_loop<S: Simd, D: Draw<S>, const LEARNS: bool, const WEIGHTED: bool>(
    simd: S,
    draw: D,
    factors: &[f64],
    weights: &[Lanes],
    state: &mut EachState,
    each: &mut [Lanes],
) {
    simd.vectorize(
        #[inline(always)]
        || times_tile::<S, D, LEARNS, WEIGHTED>(simd, draw, factors, weights, state, each),
    );
}

#[inline(never)]
fn reach_loop<S: Simd, const LEARNS: bool>(
    simd: S,
    factors: &[f64],
    curve: &mut Curve,
    count: &mut Lanes,
    alive: &[Lanes],
    reached: &mut [Lanes],
    weights: &mut [Lanes],
) {
    simd.vectorize(
        #[inline(always)]
        || reach_tile::<S, LEARNS>(simd, factors, curve, count, alive, reached, weights),
    );
}

#[inline(never)]
fn fates_loop<S: Simd, const REDO: bool, const SPOIL: bool>(
    simd: S,
    bounds: [f64; 2],
    fates: &mut Words,
    length: usize,
    alive: &[Lanes],
    next: &mut [Lanes],
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
    state: &mut EachState,
    alive: &[Lanes],
    factors: Factors<'_>,
    again: &mut Again,
    redo: &mut [Lanes],
) {
    simd.vectorize(
        #[inline(always)]
        || {
            let factors = |row: usize| match factors {
                Factors::None => f64x8::splat(simd, 1.0),
                Factors::ByPiece(by_piece) => f64x8::splat(simd, by_piece[row]),
                Factors::ByLane(by_lane) => f64x8::simd_from(simd, by_lane[row]),
            };
            redo_tile(simd, draw, rule, state, alive, factors, again);
            add_redos(simd, again, redo);
        },
    );
}

#[inline(never)]
fn rounds_step<S: Simd>(
    simd: S,
    step: &PlanStep,
    state: &mut RoundState,
    first: u32,
    length: usize,
    tile: &mut Tile,
    index: usize,
) {
    simd.vectorize(
        #[inline(always)]
        || rounds_tile(simd, step, state, first, length, tile, index),
    );
}

/// Rounds and their setups of one step in one tile.
#[inline(always)]
fn rounds_tile<S: Simd>(
    simd: S,
    step: &PlanStep,
    state: &mut RoundState,
    first: u32,
    length: usize,
    tile: &mut Tile,
    index: usize,
) {
    let start = u64x8::simd_from(simd, state.start);
    let mut setup = f64x8::simd_from(simd, state.setup);
    let mut rounds = f64x8::simd_from(simd, state.rounds);
    let shape = &step.setup.shape;
    // `setup_base` already holds a setup that falls due exactly once.
    let adds = has_rounds(step);
    if step.thinned {
        let room = f64x8::splat(simd, step.room.map_or(f64::INFINITY, f64::from));
        let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
        let mut inside = f64x8::simd_from(simd, state.inside);
        // Lanes open their rounds at different pieces, but mostly those of the same few numbers: each number is drawn once
        // for all lanes, and picked by each when it comes to it.
        let least = state.rounds.iter().copied().fold(f64::INFINITY, f64::min);
        let most = state.rounds.iter().copied().fold(0.0, f64::max);
        let most_opened = step.room.map_or(1, |room| length.div_ceil(room as usize));
        let numbers = (most - least) as usize + most_opened;
        let by_number = adds && numbers <= SETUPS;
        if by_number {
            for (k, slot) in tile.setups[..numbers].iter_mut().enumerate() {
                shape
                    .draw_lanes(simd, nth_of_all(start, least as u64 + k as u64))
                    .store_array(slot);
            }
        }
        for piece in 0..length {
            let here = f64x8::simd_from(simd, tile.alive[piece]);
            let opens = here.simd_gt(zero) & inside.simd_ge(room);
            if opens.any_true() {
                if by_number {
                    let places = whole(rounds - least);
                    let places = places.as_array();
                    let drawn: Lanes = std::array::from_fn(|lane| tile.setups[places[lane] as usize % SETUPS][lane]);
                    setup += opens.select(f64x8::simd_from(simd, drawn), zero);
                } else if adds {
                    setup += opens.select(shape.draw_lanes(simd, nth_lanes(start, whole(rounds))), zero);
                }
                rounds += opens.select(one, zero);
                inside = opens.select(zero, inside);
            }
            inside += here;
            if adds {
                (f64x8::simd_from(simd, tile.setup[piece]) + setup).store_array(&mut tile.setup[piece]);
            }
            if let Some(slot) = tile.rounds[index].get_mut(piece) {
                rounds.store_array(slot);
            }
        }
        inside.store_array(&mut state.inside);
    } else {
        // Every lane has the same pieces, so rounds open in step.
        let room = step.room.unwrap_or(u32::MAX);
        let mut piece = 0;
        while piece < length {
            let position = (first + piece as u32) % room;
            if position == 0 {
                if adds {
                    setup += shape.draw_lanes(simd, nth_of_all(start, rounds.as_array()[0] as u64));
                }
                rounds += 1.0;
            }
            let stretch = ((room - position) as usize).min(length - piece);
            if adds {
                add_from(simd, &mut tile.setup[piece..piece + stretch], setup);
            }
            if let Some(slots) = tile.rounds[index].get_mut(piece..piece + stretch) {
                let mut row = ZERO;
                rounds.store_array(&mut row);
                slots.fill(row);
            }
            piece += stretch;
        }
    }
    setup.store_array(&mut state.setup);
    rounds.store_array(&mut state.rounds);
}

/// Good pieces of one tile into orders.
#[inline(always)]
fn orders_tile<S: Simd>(simd: S, plan: &Plan, state: &mut OrderState, length: usize, tile: &mut Tile) {
    let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    let mut good = load(&state.good);
    let mut sold = load(&state.sold);
    let demand = load(&state.demand);
    let short = plan.sells_short();
    for piece in 0..length {
        let alive = load(&tile.alive[piece]);
        good += alive;
        good.store_array(&mut tile.good[piece]);
        // Where spoiled pieces are made again, all that were started are there to be sold.
        let there = if short { alive } else { one };
        let sells = if plan.demand.is_some() {
            sold.simd_lt(demand).select(there, zero)
        } else {
            there
        };
        sold.store_array(&mut tile.before[piece]);
        sells.store_array(&mut tile.sells[piece]);
        sold += sells;
    }
    good.store_array(&mut state.good);
    sold.store_array(&mut state.sold);
    for channel in 0..plan.channels.len() {
        channel_tile(simd, plan, channel, state, length, tile);
    }
}

/// One channel's pieces of one tile into orders, each with its time, postage and fate.
///
/// Order j of channel c among C has number j x C + c in the streams, so that no two orders share a draw.
#[inline(always)]
fn channel_tile<S: Simd>(simd: S, plan: &Plan, number: usize, state: &mut OrderState, length: usize, tile: &mut Tile) {
    let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
    let load = |lanes: &Lanes| f64x8::simd_from(simd, *lanes);
    let OrderState {
        size: size_start,
        post: post_start,
        returned: returned_start,
        channels,
        ..
    } = state;
    let channel = &plan.channels[number];
    let of = plan.channels.len() as u64;
    let state = &mut channels[number];
    let columns = &mut tile.sales[number];
    let mut left = load(&state.left);
    let mut open_kept = load(&state.open_kept);
    let mut orders = load(&state.orders);
    let mut kept_orders = load(&state.kept_orders);
    let mut minutes = load(&state.minutes);
    let mut postage = load(&state.postage);
    let mut sold = load(&state.sold);
    let mut kept = load(&state.kept);
    for piece in 0..length {
        let mut here = load(&tile.sells[piece]);
        if of > 1 {
            let before = &tile.before[piece];
            here *= f64x8::simd_from(
                simd,
                before.map(|k| f64::from(u8::from(usize::from(plan.goes_to[k as usize]) == number))),
            );
        }
        let opens = here.simd_gt(zero) & left.simd_le(zero);
        if opens.any_true() {
            let mut order = whole(orders);
            if of > 1 {
                order = order * of + number as u64;
            }
            let size = draw_order(simd, &channel.order_of, size_start, order);
            let size = (size + 0.5).floor().max(one);
            left = opens.select(size, left);
            for (source, start) in channel.order_times.iter().zip(&state.times) {
                minutes += opens.select(draw_order(simd, source, start, order), zero);
            }
            if !channel.post.shape.is_zero() {
                postage += opens.select(draw_order(simd, &channel.post, post_start, order), zero);
            }
            if channel.returned_bound > 0.0 {
                let chance = high_half(nth_lanes(u64x8::simd_from(simd, *returned_start), order));
                let stays = chance
                    .simd_ge(f64x8::splat(simd, channel.returned_bound))
                    .select(one, zero);
                open_kept = opens.select(stays, open_kept);
            }
            orders += opens.select(one, zero);
            kept_orders += opens.select(open_kept, zero);
        }
        left -= here;
        sold += here;
        kept += here * open_kept;
        orders.store_array(&mut columns.orders[piece]);
        kept_orders.store_array(&mut columns.kept_orders[piece]);
        minutes.store_array(&mut columns.minutes[piece]);
        postage.store_array(&mut columns.postage[piece]);
        sold.store_array(&mut columns.sold[piece]);
        kept.store_array(&mut columns.kept[piece]);
    }
    left.store_array(&mut state.left);
    open_kept.store_array(&mut state.open_kept);
    orders.store_array(&mut state.orders);
    kept_orders.store_array(&mut state.kept_orders);
    minutes.store_array(&mut state.minutes);
    postage.store_array(&mut state.postage);
    sold.store_array(&mut state.sold);
    kept.store_array(&mut state.kept);
}

#[inline(always)]
fn draw_order<S: Simd>(simd: S, source: &Source, start: &[u64; LANES], number: u64x8<S>) -> f64x8<S> {
    if let Shape::Fixed(value) = source.shape {
        return f64x8::splat(simd, value);
    }
    source
        .shape
        .draw_lanes(simd, nth_lanes(u64x8::simd_from(simd, *start), number))
}
