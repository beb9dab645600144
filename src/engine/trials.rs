//! Blocks shared out among threads, and what they hold for one batch size at a time.
//!
//! Values are held chunk by chunk: so many trials, and for them size by size, and for a size hours, profit and floor, each
//! trial by trial. A thread finds them group by group, size by size, in a small buffer that stays in its cache, and lays a
//! chunk down from front to end; who asks for one size then reads a kilobyte at a time. Columns of whole sizes were slower by
//! far: every value went to a page of its own, and a store that misses cache and page table holds up all that follow.

use super::block::{Block, BlockScratch};
use super::buffers::{self, COLUMN_BUDGET};
use super::by_thread::ByThread;
use super::line::MoneyLine;
use super::plan::Plan;
use super::record::{BlockSums, BlockTrials, COLUMNS, Sums};
use super::{BLOCK_TRIALS, CHUNK, LANES, Path, Row};
use crate::parallel;
pub use parcels::Worker;
use std::sync::atomic::{AtomicU64, Ordering};

mod parcels;

/// Doubles for each trial of each size.
const BYTES_PER_RUN: usize = COLUMNS * 8;

/// A plan, a seed and a number of trials: everything that decides what comes out.
#[derive(Debug, Clone, Copy)]
pub struct Engine<'p> {
    plan: &'p Plan,
    path: Path,
    seed: u64,
    column_budget: usize,
    /// Whether to keep hours alone where money follows from them.
    hours_only: bool,
}

/// All trials of all sizes, or of a worker's share of them.
#[derive(Debug)]
pub struct Trials<'p> {
    engine: Engine<'p>,
    sizes: &'p [u32],
    /// The money of each size where it follows from hours.
    lines: Option<Vec<MoneyLine>>,
    trials: u64,
    blocks: Vec<BlockTrials>,
}

impl Drop for Trials<'_> {
    fn drop(&mut self) {
        buffers::give_back(self.blocks.drain(..).map(|trials| trials.rows));
    }
}

/// The trials of one size.
#[derive(Debug, Clone)]
pub struct SizeTrials {
    /// Pieces started.
    pub size: u32,
    /// Hands-on hours, by trial.
    pub hours: Vec<f64>,
    /// Profit, by trial.
    pub profit: Vec<f64>,
    /// The trial's own price floor, by trial; infinite where no price helps.
    pub floor: Vec<f64>,
    /// Sums over trials.
    pub sums: Sums,
    /// The same by blocks of trials, with what each channel took and gave; empty where there is one way of selling.
    pub blocks: Vec<BlockSums>,
}

/// The trials of one size where they lie.
#[derive(Debug, Clone, Copy)]
pub struct SizeColumns<'c> {
    /// Pieces started.
    pub size: u32,
    /// Trials.
    pub trials: usize,
    /// The line by which money follows from hours, where it does.
    pub line: Option<MoneyLine>,
    /// Sums over trials.
    pub sums: Sums,
    values: Values<'c>,
}

/// Where the values of one size are kept.
#[derive(Debug, Clone, Copy)]
enum Values<'c> {
    /// As blocks hold them.
    Held {
        blocks: &'c [BlockTrials],
        /// Which size, and how many there are.
        number: usize,
        sizes: usize,
        /// Columns of each.
        columns: usize,
    },
    /// In columns of their own: hours, profit, floor.
    Columns([&'c [f64]; COLUMNS]),
}

/// The values of one size in one chunk.
#[derive(Debug, Clone, Copy)]
pub struct Chunk<'c> {
    rows: &'c [Row],
    /// How many groups of eight trials.
    pub groups: usize,
}

impl<'c> Chunk<'c> {
    /// A column (hours, profit, floor), group by group.
    #[inline(always)]
    #[must_use]
    pub fn column(&self, column: usize) -> &'c [Row] {
        &self.rows[column * self.groups..][..self.groups]
    }
}

impl<'c> SizeColumns<'c> {
    /// Sums by blocks of trials; empty where there is one way of selling.
    #[must_use]
    pub fn blocks(&self) -> Vec<BlockSums> {
        let Values::Held { blocks, number, .. } = self.values else {
            return Vec::new();
        };
        let own = blocks.iter().map(|block| &block.sums[number]);
        own.filter(|block| !block.channels.is_empty()).cloned().collect()
    }

    /// The columns where they lie in columns of their own.
    #[must_use]
    pub const fn columns(&self) -> Option<[&'c [f64]; COLUMNS]> {
        match self.values {
            Values::Columns(columns) => Some(columns),
            Values::Held { .. } => None,
        }
    }

    /// The trials as they are held; the last group of all may be short ([`SizeColumns::trials`]).
    pub fn chunks(&self) -> impl Iterator<Item = Chunk<'c>> {
        let (blocks, number, sizes, columns) = match self.values {
            Values::Held {
                blocks,
                number,
                sizes,
                columns,
            } => (blocks, number, sizes, columns),
            Values::Columns(_) => (&[][..], 0, 1, 1),
        };
        let in_block = move |block: &'c BlockTrials| {
            block.rows.chunks(sizes * columns * CHUNK).map(move |chunk| {
                let groups = chunk.len() / (sizes * columns);
                Chunk {
                    rows: &chunk[number * columns * groups..],
                    groups,
                }
            })
        };
        blocks.iter().flat_map(in_block)
    }

    /// The first trial's value in a column.
    #[must_use]
    pub fn first(&self, column: usize) -> f64 {
        match self.values {
            Values::Held { .. } => self.chunks().next().map(|chunk| chunk.column(column)[0].0[0]),
            Values::Columns(columns) => columns[column].first().copied(),
        }
        .unwrap_or(0.0)
    }

    /// A copy of one of the columns that are held: hours, and where money does not follow from them profit and floor.
    #[must_use]
    pub fn column(&self, column: usize) -> Vec<f64> {
        if let Some(columns) = self.columns() {
            return columns[column].to_vec();
        }
        let mut values = Vec::with_capacity(self.trials + LANES);
        for chunk in self.chunks() {
            for row in chunk.column(column) {
                values.extend_from_slice(&row.0);
            }
        }
        values.truncate(self.trials);
        values
    }
}

impl SizeTrials {
    /// These trials where they lie, without sums by blocks.
    #[must_use]
    pub fn columns(&self) -> SizeColumns<'_> {
        SizeColumns {
            size: self.size,
            trials: self.hours.len(),
            line: None,
            sums: self.sums,
            values: Values::Columns([&self.hours, &self.profit, &self.floor]),
        }
    }
}

impl From<SizeColumns<'_>> for SizeTrials {
    fn from(columns: SizeColumns<'_>) -> Self {
        let hours = columns.column(0);
        let (profit, floor) = match columns.line {
            Some(line) => (
                hours.iter().map(|h| line.profit(*h)).collect(),
                hours.iter().map(|h| line.floor(*h)).collect(),
            ),
            None => (columns.column(1), columns.column(2)),
        };
        Self {
            size: columns.size,
            hours,
            profit,
            floor,
            sums: columns.sums,
            blocks: columns.blocks(),
        }
    }
}

/// The size number `k` of `sizes`.
fn size_columns<'c>(
    sizes: &[u32],
    k: usize,
    trials: usize,
    lines: Option<&[MoneyLine]>,
    blocks: &'c [BlockTrials],
) -> SizeColumns<'c> {
    let mut total = Sums::default();
    for block in blocks {
        total.add(&block.sums[k].sums);
    }
    SizeColumns {
        size: sizes[k],
        trials,
        line: lines.map(|lines| lines[k]),
        sums: total,
        values: Values::Held {
            blocks,
            number: k,
            sizes: sizes.len(),
            columns: if lines.is_some() { 1 } else { COLUMNS },
        },
    }
}

impl<'p> Engine<'p> {
    /// An engine on the best vector path of this processor.
    #[must_use]
    pub fn new(plan: &'p Plan, seed: u64) -> Self {
        Self {
            plan,
            path: Path::best(),
            seed,
            column_budget: COLUMN_BUDGET,
            hours_only: true,
        }
    }

    /// The same engine on another vector path; the results are the same bytes.
    #[must_use]
    pub const fn on_path(mut self, path: Path) -> Self {
        self.path = path;
        self
    }

    /// The same engine with another number of bytes set aside for columns at once; the results are the same bytes.
    #[must_use]
    pub const fn with_column_budget(mut self, bytes: usize) -> Self {
        self.column_budget = bytes;
        self
    }

    /// The same engine, working out money trial by trial even where it follows from hours; the results are the same bytes.
    #[must_use]
    pub const fn trial_by_trial(mut self) -> Self {
        self.hours_only = false;
        self
    }

    /// The money of each size where it follows from hours.
    fn money_lines(&self) -> Option<Vec<MoneyLine>> {
        if self.hours_only { self.plan.money_lines() } else { None }
    }

    /// The vector path.
    #[must_use]
    pub const fn path(&self) -> Path {
        self.path
    }

    /// One block on through `sizes`.
    fn advance(
        &self,
        block: &mut Block,
        sizes: &[u32],
        lines: Option<&[MoneyLine]>,
        scratch: &mut BlockScratch,
        last: bool,
    ) -> BlockTrials {
        match lines {
            Some(lines) => block.advance_hours_only(self.plan, self.path, sizes, lines, scratch, last),
            None => block.advance(self.plan, self.path, sizes, scratch, last),
        }
    }

    /// Simulates so many trials of every size and hands each size's trials to `answer`, in parallel; answers come back in
    /// the order of the sizes. `progress` is called with the share that is done, from any thread.
    pub fn answer_sizes<R: Send>(
        &self,
        trials: u64,
        progress: &(dyn Fn(f64) + Sync),
        answer: impl Fn(SizeTrials) -> R + Sync,
    ) -> Vec<R> {
        self.answer_columns(trials, progress, || (), |(), columns| answer(columns.into()))
    }

    /// [`Engine::answer_sizes`] without a copy of the trials. `scratch` makes what a thread may use again from size to size.
    pub fn answer_columns<R: Send, T: Send>(
        &self,
        trials: u64,
        progress: &(dyn Fn(f64) + Sync),
        scratch: impl Fn() -> T + Sync,
        answer: impl Fn(&mut T, SizeColumns<'_>) -> R + Sync,
    ) -> Vec<R> {
        let sizes = &self.plan.sizes;
        let count = trials.div_ceil(BLOCK_TRIALS as u64);
        let (blocks_count, trials_count) = (count as usize, trials as usize);
        let per_stretch = (self.column_budget / BYTES_PER_RUN / trials_count.max(1)).clamp(1, sizes.len().max(1));
        let stretches = sizes.len().div_ceil(per_stretch);
        let lines = self.money_lines();
        let done = AtomicU64::new(0);
        let step = || {
            let so_far = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress(so_far as f64 / (blocks_count * stretches) as f64);
        };
        let mut blocks: Vec<Block> = (0..count).map(|index| Block::new(self.seed, index, trials)).collect();
        let block_scratches = ByThread::new(|| BlockScratch::new(self.plan, lines.is_some()));
        let scratches = ByThread::new(scratch);
        let mut answers = Vec::with_capacity(sizes.len());
        if trials_count == 0 {
            return answers;
        }
        for (number, stretch) in sizes.chunks(per_stretch).enumerate() {
            let last = number + 1 == stretches;
            let lines = lines
                .as_ref()
                .map(|lines| &lines[number * per_stretch..][..stretch.len()]);
            let trials: Vec<BlockTrials> = parallel::map_mut(&mut blocks, |block| {
                let trials = block_scratches.with(|scratch| self.advance(block, stretch, lines, scratch, last));
                step();
                trials
            });
            answers.extend(parallel::map(stretch.len(), |k| {
                let columns = size_columns(stretch, k, trials_count, lines, &trials);
                scratches.with(|scratch| answer(scratch, columns))
            }));
            buffers::give_back(trials.into_iter().map(|trials| trials.rows));
        }
        answers
    }

    /// No trials yet of all sizes; [`Trials::extend`] adds them.
    #[must_use]
    pub fn trials(&self) -> Trials<'p> {
        Trials {
            engine: *self,
            sizes: &self.plan.sizes,
            lines: self.money_lines(),
            trials: 0,
            blocks: Vec::new(),
        }
    }
}

impl Trials<'_> {
    /// Trials so far.
    #[must_use]
    pub const fn trials(&self) -> u64 {
        self.trials
    }

    /// The sizes that there are trials of.
    #[must_use]
    pub const fn sizes(&self) -> &[u32] {
        self.sizes
    }

    /// Simulates on to so many trials in all, rounded up to whole blocks; what is there already is not computed again.
    pub fn extend(&mut self, trials: u64, progress: &(dyn Fn(f64) + Sync)) {
        let have = self.blocks.len();
        let want = trials.div_ceil(BLOCK_TRIALS as u64) as usize;
        if want <= have {
            return;
        }
        self.trials = (want * BLOCK_TRIALS) as u64;
        let total = self.trials;
        let Engine { plan, seed, .. } = self.engine;
        let (engine, lines) = (self.engine, self.lines.as_deref());
        let done = AtomicU64::new(0);
        let scratches = ByThread::new(|| BlockScratch::new(plan, lines.is_some()));
        self.blocks.extend(parallel::map(want - have, |k| {
            let mut block = Block::new(seed, (have + k) as u64, total);
            let trials = scratches.with(|scratch| engine.advance(&mut block, &plan.sizes, lines, scratch, true));
            let so_far = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress(so_far as f64 / (want - have) as f64);
            trials
        }));
    }

    /// Trials that fit into the memory set aside for columns; one block at the least.
    #[must_use]
    pub fn most_trials(&self) -> u64 {
        let fit = 2 * self.engine.column_budget / BYTES_PER_RUN / self.engine.plan.sizes.len().max(1);
        (fit / BLOCK_TRIALS).max(1) as u64 * BLOCK_TRIALS as u64
    }

    /// The trials of the size number `k`, where they lie.
    #[must_use]
    pub fn columns(&self, k: usize) -> SizeColumns<'_> {
        size_columns(self.sizes, k, self.trials as usize, self.lines.as_deref(), &self.blocks)
    }

    /// A copy of the trials of the size number `k`.
    #[must_use]
    pub fn size(&self, k: usize) -> SizeTrials {
        self.columns(k).into()
    }
}
