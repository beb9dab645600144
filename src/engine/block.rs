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

mod begin;
mod record_sizes;
mod steps;

use super::kernel::{Again, Ahead, EachState, Setups, sum_lanes};
use super::line::MoneyLine;
use super::path::dispatch;
use super::plan::{CertainSale, Plan, Stock};
use super::record::{
    BlockSums, BlockTrials, CHANNEL_SUMS, COLUMNS, ChannelSums, Recorder, Tallies, TrialSums, add_weighted, weight_of,
};
use super::sale::{OrderState, SaleTile, orders_tile};
use super::{BLOCK_TRIALS, CHUNK, LANES, Lanes, Path, Row, TILE, buffers, remake};
use begin::ChannelMoney;
use fearless_simd::{Simd, SimdBase, SimdFrom, f64x8};
use record_sizes::LeanRecorder;
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

/// What is carried of a step's setups.
#[derive(Debug, Clone)]
struct SetupState {
    /// How they are drawn.
    draws: Setups,
    /// 1 in the lanes whose one setup has fallen due.
    opened: Lanes,
}

/// What a group keeps of the helper's minutes, as it does of the maker's.
#[derive(Debug, Clone)]
struct HelperBase {
    setup: Lanes,
    each: Lanes,
    totals: [Lanes; 3],
}

impl HelperBase {
    const NONE: Self = Self {
        setup: ZERO,
        each: ZERO,
        totals: [ZERO; 3],
    };
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
    /// The same three of the helper.
    helper: HelperBase,
    steps: Vec<EachState>,
    setups: Vec<SetupState>,
    /// The trial's one draw of `each` where a step varies by batch.
    by_batch: Vec<Lanes>,
    /// For each material: waste + 1, then the plain price and the price at each break.
    material_prices: Vec<Vec<Lanes>>,
    /// What other currencies are worth.
    rates: Vec<Lanes>,
    /// What each [`Stock`] costs each time, and as paid.
    stock: Vec<[Lanes; 2]>,
    /// The money of each channel, then, where seconds are sold, theirs.
    money: Vec<ChannelMoney>,
    /// Hours and money of all selling days.
    days: [Lanes; 2],
    /// The sale, where it is left to chance.
    orders: Option<OrderState>,
    /// Remade pieces drawn so far, a list a lane.
    remakes: Vec<remake::Pieces>,
}

/// Columns of one tile, one row a piece.
struct Tile {
    /// Minutes by piece, then their running totals; likewise `redo` and `setup`.
    each: Vec<Row>,
    redo: Vec<Row>,
    setup: Vec<Row>,
    /// The helper's `each`, `redo` and `setup`; empty where there is none.
    helper: [Vec<Row>; 3],
    alive: Vec<Row>,
    /// What leaves a step that spoils; becomes `alive`.
    next: Vec<Row>,
    /// Learning factors of a step where pieces may be missing, 0 where one is.
    weights: Vec<Row>,
    ahead: Box<Ahead>,
    again: Again,
    reached: Vec<Vec<Row>>,
    sale: SaleTile,
    /// What is made again for each size that ends in the tile.
    extras: Vec<remake::Extra>,
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
    /// Whether any money hangs on orders: fees, postage and tips paid by the buyer.
    order_money: bool,
    /// [`Plan::accounts_for_more`].
    accounts_for_more: bool,
}

impl Tile {
    fn new(plan: &Plan, hours_only: bool) -> Self {
        let column = || vec![NONE; TILE];
        let counted = |wanted: bool| if wanted { column() } else { Vec::new() };
        Self {
            each: column(),
            redo: column(),
            setup: column(),
            helper: std::array::from_fn(|_| counted(plan.has_helper())),
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
            extras: Vec::new(),
            has_rounds: plan.has_rounds(),
            sells: !plan.sells_for_certain(),
            hours_only,
            stock: plan.stock(),
            paid: plan.materials.iter().any(|material| material.paid.is_some()),
            order_money: plan.sales().any(|channel| {
                channel.fee_per_order != 0.0 || channel.post_charged != 0.0 || !channel.tip.shape.is_zero()
            }),
            accounts_for_more: plan.accounts_for_more(),
        }
    }

    /// Whether a helper does any step.
    fn has_helper(&self) -> bool {
        !self.helper[0].is_empty()
    }

    /// Exchanges the maker's columns with the helper's, so that a step is worked the same way whoever does it.
    fn change_hands(&mut self) {
        let [each, redo, setup] = &mut self.helper;
        std::mem::swap(&mut self.each, each);
        std::mem::swap(&mut self.redo, redo);
        std::mem::swap(&mut self.setup, setup);
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
                let group = self.first_group + g as u64;
                dispatch!(path, simd => begun.begin(simd, plan, (self.seed, group), tile));
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
    fn trial_sums(&self, found: &[Lanes; 3]) -> TrialSums {
        let [per_hour, once_hours, setup_hours] = found.each_ref().map(sum_lanes);
        TrialSums {
            trials: self.trials,
            per_hour,
            once_hours,
            setup_hours,
        }
    }

    /// Simulates on up to the last of `sizes` (ascending, all above those of earlier calls) and gives their trials,
    /// [`COLUMNS`] values a size. No call may follow the `last`.
    #[must_use]
    pub fn advance(
        &mut self,
        plan: &Plan,
        path: Path,
        sizes: &[u32],
        scratch: &mut BlockScratch,
        last: bool,
    ) -> BlockTrials {
        let count = scratch.tallies.count;
        let each = sizes.len() * COLUMNS;
        let mut sums = vec![NONE; sizes.len() * count];
        let mut channel_sums = vec![vec![[NONE; CHANNEL_SUMS]; plan.sales_told_apart()]; sizes.len()];
        let sales: Vec<Option<CertainSale>> = sizes.iter().map(|size| plan.certain_sale(*size)).collect();
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
                group.add_trials(simd, &mut found, recorder.valid);
                group.advance(simd, plan, begin, tile, &mut recorder);
            });
        });
        self.pieces_done = sizes.last().copied().unwrap_or(begin);
        let totals = self.trial_sums(&found);
        let sums = (0..sizes.len())
            .map(|k| BlockSums {
                sums: scratch.tallies.sums(
                    &sums[k * count..(k + 1) * count],
                    plan,
                    sizes[k],
                    sales[k].as_ref(),
                    &totals,
                ),
                hours: scratch.tallies.hours(&sums[k * count..(k + 1) * count]),
                channels: channel_sums[k].iter().map(ChannelSums::from_lanes).collect(),
            })
            .collect();
        BlockTrials { rows, sums }
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
    ) -> BlockTrials {
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
                group.add_trials(simd, &mut found, recorder.valid);
                group.advance_hours_only(simd, plan, begin, tile, &mut recorder);
            });
        });
        self.pieces_done = sizes.last().copied().unwrap_or(begin);
        let totals = self.trial_sums(&found);
        let sums = lines
            .iter()
            .enumerate()
            .map(|(k, line)| BlockSums {
                sums: scratch
                    .tallies
                    .sums_of_line(&sums[k * count..(k + 1) * count], plan, sizes[k], line, &totals),
                ..BlockSums::default()
            })
            .collect();
        BlockTrials { rows, sums }
    }
}

impl Group {
    /// Adds what does not hang on the size: hours per minute, hours once, hours of setups due in any batch.
    #[inline(never)]
    fn add_trials<S: Simd>(&self, simd: S, found: &mut [Lanes; 3], valid: usize) {
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
                sell(simd, plan, orders, first, length, &sizes[numbers.clone()], tile);
            }
            if tile.accounts_for_more {
                self.record::<S, true>(simd, plan, first, tile, numbers, recorder);
            } else {
                self.record::<S, false>(simd, plan, first, tile, numbers, recorder);
            }
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

/// Good pieces into orders, for the sizes that end in the tile.
#[inline(never)]
fn sell<S: Simd>(
    simd: S,
    plan: &Plan,
    orders: &mut OrderState,
    first: u32,
    length: usize,
    sizes: &[u32],
    tile: &mut Tile,
) {
    simd.vectorize(
        #[inline(always)]
        || orders_tile(simd, plan, orders, &tile.alive[..length], first, sizes, &mut tile.sale),
    );
}

// Each loop is a function of its own, compiled once for each vector path (and shape, where it draws times).
