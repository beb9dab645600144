//! Blocks shared out among threads, and their columns gathered for one batch size at a time.

use super::block::{Block, BlockRuns, ChannelSums, Sums};
use super::plan::Plan;
use super::{BLOCK_TRIALS, Path};
use rayon::prelude::*;

/// Bytes of columns that are held at once; larger sweeps go through their sizes in stretches.
const COLUMN_BUDGET: usize = 256 << 20;
/// Columns of doubles for each trial of each size.
const BYTES_PER_RUN: usize = 3 * 8;

/// A plan, a seed and a number of trials: everything that decides what comes out.
#[derive(Debug, Clone, Copy)]
pub struct Engine<'p> {
    plan: &'p Plan,
    path: Path,
    seed: u64,
    column_budget: usize,
}

/// All simulated runs of a stretch of sizes.
#[derive(Debug)]
pub struct Runs<'p> {
    engine: Engine<'p>,
    sizes: &'p [u32],
    blocks: Vec<BlockRuns>,
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

/// Sums over one block of trials.
#[derive(Debug, Clone)]
pub struct BlockSums {
    /// Hours.
    pub hours: f64,
    /// Everything else.
    pub sums: Sums,
    /// One for each channel.
    pub channels: Vec<ChannelSums>,
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

    /// Simulates `trials` runs of every size and hands each size's runs to `answer`, in parallel; answers come back in
    /// the order of the sizes. `progress` is called with the share that is done, from any thread.
    pub fn answer_sizes<R: Send>(
        &self,
        trials: u64,
        progress: &(dyn Fn(f64) + Sync),
        answer: impl Fn(SizeRuns) -> R + Sync,
    ) -> Vec<R> {
        let sizes = &self.plan.sizes;
        let per_stretch = (self.column_budget / BYTES_PER_RUN / trials.max(1) as usize).clamp(1, sizes.len().max(1));
        let stretches = sizes.len().div_ceil(per_stretch);
        let mut blocks: Vec<Block> = Vec::new();
        let mut answers = Vec::with_capacity(sizes.len());
        let done = std::sync::atomic::AtomicU64::new(0);
        let count = trials.div_ceil(BLOCK_TRIALS as u64);
        let step = |_: ()| {
            let so_far = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
            progress(so_far as f64 / (count as usize * stretches) as f64);
        };
        for (number, stretch) in sizes.chunks(per_stretch).enumerate() {
            let simulate = |block: &mut Block| {
                let runs = block.advance(self.plan, self.path, stretch);
                step(());
                runs
            };
            let begin = |index: u64| Block::new(self.plan, self.path, self.seed, index, trials);
            let columns: Vec<BlockRuns> = if stretches == 1 {
                (0..count)
                    .into_par_iter()
                    .map(|index| simulate(&mut begin(index)))
                    .collect()
            } else {
                if number == 0 {
                    blocks = (0..count).into_par_iter().map(begin).collect();
                }
                blocks.par_iter_mut().map(simulate).collect()
            };
            let runs = Runs {
                engine: *self,
                sizes: stretch,
                blocks: columns,
            };
            answers.par_extend((0..stretch.len()).into_par_iter().map(|k| answer(runs.size(k))));
        }
        answers
    }

    /// No runs yet of all sizes; [`Runs::extend`] adds them.
    #[must_use]
    pub fn runs(&self) -> Runs<'p> {
        Runs {
            engine: *self,
            sizes: &self.plan.sizes,
            blocks: Vec::new(),
        }
    }
}

impl Runs<'_> {
    /// Trials so far.
    #[must_use]
    pub fn trials(&self) -> u64 {
        self.blocks.iter().map(|b| b.trials as u64).sum()
    }

    /// Simulates on to `trials` runs in all, rounded up to whole blocks; what is there already is not computed again.
    pub fn extend(&mut self, trials: u64, progress: &(dyn Fn(f64) + Sync)) {
        let have = self.blocks.len() as u64;
        let want = trials.div_ceil(BLOCK_TRIALS as u64);
        let total = want * BLOCK_TRIALS as u64;
        let Engine { plan, path, seed, .. } = self.engine;
        let done = std::sync::atomic::AtomicU64::new(0);
        let sizes = self.sizes;
        self.blocks.par_extend((have..want).into_par_iter().map(|index| {
            let runs = Block::new(plan, path, seed, index, total).advance(plan, path, sizes);
            let so_far = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1;
            progress(so_far as f64 / (want - have) as f64);
            runs
        }));
    }

    /// Trials that fit into the memory set aside for columns; one block at the least.
    #[must_use]
    pub fn most_trials(&self) -> u64 {
        let fit = 2 * self.engine.column_budget / BYTES_PER_RUN / self.sizes.len().max(1);
        (fit / BLOCK_TRIALS).max(1) as u64 * BLOCK_TRIALS as u64
    }

    /// The runs of the size number `k`.
    #[must_use]
    pub fn size(&self, k: usize) -> SizeRuns {
        let gather = |column: usize| {
            let mut values = Vec::with_capacity(self.blocks.len() * BLOCK_TRIALS);
            for block in &self.blocks {
                values.extend_from_slice(block.column(k, column));
            }
            values
        };
        let mut sums = Sums::default();
        for block in &self.blocks {
            sums.add(&block.sums[k]);
        }
        SizeRuns {
            size: self.sizes[k],
            hours: gather(0),
            profit: gather(1),
            floor: gather(2),
            sums,
            blocks: self
                .blocks
                .iter()
                .filter(|block| !block.channels[k].is_empty())
                .map(|block| BlockSums {
                    hours: block.column(k, 0).iter().fold(0.0, |total, hours| total + hours),
                    sums: block.sums[k],
                    channels: block.channels[k].clone(),
                })
                .collect(),
        }
    }
}
