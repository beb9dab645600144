//! Blocks shared out among threads, and their columns for one batch size at a time.
//!
//! A column holds all trials of one quantity of one size; each block writes its own stretch of every column, so that
//! nothing is gathered afterwards.

use super::block::{Block, BlockSums, COLUMNS, Sums};
use super::line::MoneyLine;
use super::plan::Plan;
use super::{BLOCK_TRIALS, Path};
use rayon::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// Bytes of columns that are held at once; larger sweeps go through their sizes in stretches.
const COLUMN_BUDGET: usize = 256 << 20;
/// Columns of doubles for each trial of each size.
const BYTES_PER_RUN: usize = COLUMNS * 8;

/// A plan, a seed and a number of trials: everything that decides what comes out.
#[derive(Debug, Clone, Copy)]
pub struct Engine<'p> {
    plan: &'p Plan,
    path: Path,
    seed: u64,
    column_budget: usize,
    /// Whether to keep hours alone where money follows from them.
    lean: bool,
}

/// All simulated runs of all sizes.
#[derive(Debug)]
pub struct Runs<'p> {
    engine: Engine<'p>,
    /// The money of each size where it follows from hours.
    lines: Option<Vec<MoneyLine>>,
    /// `[size][hours, profit, floor]`, or hours alone where money follows from them.
    columns: Vec<Vec<f64>>,
    /// By block, then by size.
    sums: Vec<Vec<BlockSums>>,
}

/// The simulated runs of one size.
#[derive(Debug, Clone)]
pub struct SizeRuns {
    /// Pieces started.
    pub size: u32,
    /// Hands-on hours, by trial.
    pub hours: Vec<f64>,
    /// Profit, by trial.
    pub profit: Vec<f64>,
    /// The run's own price floor, by trial; infinite where no price helps.
    pub floor: Vec<f64>,
    /// Sums over trials.
    pub sums: Sums,
    /// The same by blocks of trials, with what each channel took and gave; empty where there is one way of selling.
    pub blocks: Vec<BlockSums>,
}

/// The simulated runs of one size where they lie.
#[derive(Debug, Clone, Copy)]
pub struct SizeColumns<'c> {
    /// Pieces started.
    pub size: u32,
    /// Hands-on hours, by trial.
    pub hours: &'c [f64],
    /// Profit and floor.
    pub money: SizeMoney<'c>,
    /// Sums over trials.
    pub sums: Sums,
    /// Sums of every block by size, and which size this is.
    blocks: (&'c [Vec<BlockSums>], usize),
}

impl SizeColumns<'_> {
    /// Sums by blocks of trials; empty where there is one way of selling.
    #[must_use]
    pub fn blocks(&self) -> Vec<BlockSums> {
        let (blocks, size) = self.blocks;
        let own = blocks.iter().map(|block| &block[size]);
        own.filter(|block| !block.channels.is_empty()).cloned().collect()
    }
}

/// Profit and floor of one size.
#[derive(Debug, Clone, Copy)]
pub enum SizeMoney<'c> {
    /// Both follow from hours.
    Line(MoneyLine),
    /// By trial.
    Columns {
        /// Profit.
        profit: &'c [f64],
        /// The run's own price floor; infinite where no price helps.
        floor: &'c [f64],
    },
}

impl SizeRuns {
    /// These runs where they lie, without sums by blocks.
    #[must_use]
    pub fn columns(&self) -> SizeColumns<'_> {
        SizeColumns {
            size: self.size,
            hours: &self.hours,
            money: SizeMoney::Columns {
                profit: &self.profit,
                floor: &self.floor,
            },
            sums: self.sums,
            blocks: (&[], 0),
        }
    }
}

impl From<SizeColumns<'_>> for SizeRuns {
    fn from(columns: SizeColumns<'_>) -> Self {
        let blocks = columns.blocks();
        let SizeColumns {
            size,
            hours,
            money,
            sums,
            ..
        } = columns;
        let (profit, floor) = match money {
            SizeMoney::Line(line) => (
                hours.iter().map(|h| line.profit(*h)).collect(),
                hours.iter().map(|h| line.floor(*h)).collect(),
            ),
            SizeMoney::Columns { profit, floor } => (profit.to_vec(), floor.to_vec()),
        };
        Self {
            size,
            hours: hours.to_vec(),
            profit,
            floor,
            sums,
            blocks,
        }
    }
}

/// Hands each block its stretch of every column.
fn by_block<'c>(columns: impl Iterator<Item = &'c mut [f64]>, blocks: usize) -> Vec<Vec<&'c mut [f64]>> {
    let mut shares: Vec<Vec<&mut [f64]>> = (0..blocks).map(|_| Vec::with_capacity(columns.size_hint().0)).collect();
    for column in columns {
        for (share, stretch) in shares.iter_mut().zip(column.chunks_mut(BLOCK_TRIALS)) {
            share.push(stretch);
        }
    }
    shares
}

/// The size number `k` of `sizes`, whose columns are given.
fn size_columns<'c>(
    sizes: &[u32],
    k: usize,
    lines: Option<&[MoneyLine]>,
    column: impl Fn(usize) -> &'c [f64],
    sums: &'c [Vec<BlockSums>],
) -> SizeColumns<'c> {
    let mut total = Sums::default();
    for block in sums {
        total.add(&block[k].sums);
    }
    let (hours, money) = match lines {
        Some(lines) => (column(k), SizeMoney::Line(lines[k])),
        None => (
            column(k * COLUMNS),
            SizeMoney::Columns {
                profit: column(k * COLUMNS + 1),
                floor: column(k * COLUMNS + 2),
            },
        ),
    };
    SizeColumns {
        size: sizes[k],
        hours,
        money,
        sums: total,
        blocks: (sums, k),
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
            lean: true,
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

    /// The same engine, working out money run by run even where it follows from hours; the results are the same bytes.
    #[must_use]
    pub const fn run_by_run(mut self) -> Self {
        self.lean = false;
        self
    }

    /// The money of each size where it follows from hours.
    fn money_lines(&self) -> Option<Vec<MoneyLine>> {
        if self.lean { self.plan.money_lines() } else { None }
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
        mut columns: Vec<&mut [f64]>,
    ) -> Vec<BlockSums> {
        match lines {
            Some(lines) => block.advance_lean(self.plan, self.path, sizes, lines, &mut columns),
            None => block.advance(self.plan, self.path, sizes, &mut columns),
        }
    }

    /// Simulates `trials` runs of every size and hands each size's runs to `answer`, in parallel; answers come back in
    /// the order of the sizes. `progress` is called with the share that is done, from any thread.
    pub fn answer_sizes<R: Send>(
        &self,
        trials: u64,
        progress: &(dyn Fn(f64) + Sync),
        answer: impl Fn(SizeRuns) -> R + Sync,
    ) -> Vec<R> {
        self.answer_columns(trials, progress, || (), |(), columns| answer(columns.into()))
    }

    /// [`Engine::answer_sizes`] without a copy of the runs. `scratch` makes what a thread may use again from size to size.
    pub fn answer_columns<R: Send, T>(
        &self,
        trials: u64,
        progress: &(dyn Fn(f64) + Sync),
        scratch: impl Fn() -> T + Sync + Send,
        answer: impl Fn(&mut T, SizeColumns<'_>) -> R + Sync,
    ) -> Vec<R> {
        let sizes = &self.plan.sizes;
        let count = trials.div_ceil(BLOCK_TRIALS as u64);
        let (blocks_count, trials_count) = (count as usize, trials as usize);
        let per_stretch = (self.column_budget / BYTES_PER_RUN / trials_count.max(1)).clamp(1, sizes.len().max(1));
        let stretches = sizes.len().div_ceil(per_stretch);
        let lines = self.money_lines();
        let columns_each = if lines.is_some() { 1 } else { COLUMNS };
        let done = AtomicU64::new(0);
        let step = || {
            let so_far = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress(so_far as f64 / (blocks_count * stretches) as f64);
        };
        let begin = |index: u64| Block::new(self.plan, self.path, self.seed, index, trials);
        let mut blocks: Vec<Block> = Vec::new();
        let mut answers = Vec::with_capacity(sizes.len());
        if trials_count == 0 {
            return answers;
        }
        // Every value is written by every stretch before it is read.
        let mut columns = vec![0.0; per_stretch * columns_each * trials_count];
        for (number, stretch) in sizes.chunks(per_stretch).enumerate() {
            let lines = lines
                .as_ref()
                .map(|lines| &lines[number * per_stretch..][..stretch.len()]);
            let held = &mut columns[..stretch.len() * columns_each * trials_count];
            let shares = by_block(held.chunks_mut(trials_count), blocks_count);
            let simulate = |(block, share): (&mut Block, Vec<&mut [f64]>)| {
                let sums = self.advance(block, stretch, lines, share);
                step();
                sums
            };
            let sums: Vec<Vec<BlockSums>> = if stretches == 1 {
                let shares = shares.into_par_iter().enumerate();
                shares
                    .map(|(index, share)| simulate((&mut begin(index as u64), share)))
                    .collect()
            } else {
                if number == 0 {
                    blocks = (0..count).into_par_iter().map(begin).collect();
                }
                blocks.par_iter_mut().zip(shares).map(simulate).collect()
            };
            let held = &columns;
            let column = |k: usize| &held[k * trials_count..(k + 1) * trials_count];
            answers.par_extend((0..stretch.len()).into_par_iter().map_init(&scratch, |scratch, k| {
                answer(scratch, size_columns(stretch, k, lines, column, &sums))
            }));
        }
        answers
    }

    /// No runs yet of all sizes; [`Runs::extend`] adds them.
    #[must_use]
    pub fn runs(&self) -> Runs<'p> {
        let lines = self.money_lines();
        let columns_each = if lines.is_some() { 1 } else { COLUMNS };
        Runs {
            engine: *self,
            lines,
            columns: vec![Vec::new(); self.plan.sizes.len() * columns_each],
            sums: Vec::new(),
        }
    }
}

impl Runs<'_> {
    /// Trials so far.
    #[must_use]
    pub fn trials(&self) -> u64 {
        self.columns.first().map_or(0, |column| column.len() as u64)
    }

    /// Simulates on to `trials` runs in all, rounded up to whole blocks; what is there already is not computed again.
    pub fn extend(&mut self, trials: u64, progress: &(dyn Fn(f64) + Sync)) {
        let have = self.sums.len() as u64;
        let want = trials.div_ceil(BLOCK_TRIALS as u64);
        if want <= have {
            return;
        }
        let total = want * BLOCK_TRIALS as u64;
        let Engine { plan, path, seed, .. } = self.engine;
        let (engine, lines) = (self.engine, self.lines.as_deref());
        let begin = have as usize * BLOCK_TRIALS;
        for column in &mut self.columns {
            if begin == 0 {
                // Pages that are zero already are not touched here but by the thread that fills them.
                *column = vec![0.0; total as usize];
            } else {
                column.resize(total as usize, 0.0);
            }
        }
        let fresh = self.columns.iter_mut().map(|column| &mut column[begin..]);
        let shares = by_block(fresh, (want - have) as usize);
        let done = AtomicU64::new(0);
        self.sums
            .par_extend(shares.into_par_iter().enumerate().map(|(number, share)| {
                let mut block = Block::new(plan, path, seed, have + number as u64, total);
                let sums = engine.advance(&mut block, &plan.sizes, lines, share);
                let so_far = done.fetch_add(1, Ordering::Relaxed) + 1;
                progress(so_far as f64 / (want - have) as f64);
                sums
            }));
    }

    /// Trials that fit into the memory set aside for columns; one block at the least.
    #[must_use]
    pub fn most_trials(&self) -> u64 {
        let fit = 2 * self.engine.column_budget / BYTES_PER_RUN / self.engine.plan.sizes.len().max(1);
        (fit / BLOCK_TRIALS).max(1) as u64 * BLOCK_TRIALS as u64
    }

    /// The runs of the size number `k`, where they lie.
    #[must_use]
    pub fn columns(&self, k: usize) -> SizeColumns<'_> {
        let column = |k: usize| &self.columns[k][..];
        size_columns(&self.engine.plan.sizes, k, self.lines.as_deref(), column, &self.sums)
    }

    /// A copy of the runs of the size number `k`.
    #[must_use]
    pub fn size(&self, k: usize) -> SizeRuns {
        self.columns(k).into()
    }
}
