//! Trials as bytes, for workers that have no memory in common. Each simulates its part of the blocks, at every size, and makes a parcel for each
//! worker; each answers its share of the sizes, from the parcels that all made for it.
//!
//! Both ends make the same plan of the same scenario, so that nothing in a parcel needs a name: block by block, the sums of each size, then its rows.

use super::super::record::{ChannelSums, Sums};
use super::{
    BLOCK_TRIALS, Block, BlockScratch, BlockSums, BlockTrials, CHUNK, COLUMNS, Engine, LANES, Row, Trials, buffers,
};
use std::ops::Range;

/// Bytes of a number.
const BYTES: usize = size_of::<f64>();

/// One of several workers.
#[derive(Debug, Clone, Copy)]
pub struct Worker {
    /// Which it is, from 0.
    pub number: usize,
    /// How many there are.
    pub of: usize,
}

impl Worker {
    /// What falls to it of so many.
    fn part(self, count: usize) -> Range<usize> {
        let end = |number: usize| count * number / self.of;
        end(self.number)..end(self.number + 1)
    }

    /// All of them, in order.
    fn all(self) -> impl Iterator<Item = Self> {
        (0..self.of).map(move |number| Self { number, ..self })
    }
}

/// What a plan keeps of a trial and size.
struct Kept {
    columns: usize,
    channels: usize,
}

impl Kept {
    fn sums(&self) -> usize {
        Sums::COUNT + 1 + self.channels * ChannelSums::COUNT
    }
}

impl<'p> Engine<'p> {
    fn kept(&self) -> Kept {
        match self.money_lines() {
            Some(_) => Kept {
                columns: 1,
                channels: 0,
            },
            None => Kept {
                columns: COLUMNS,
                channels: self.plan.sales_told_apart(),
            },
        }
    }

    /// Simulates this worker's part of so many trials: a parcel for each worker, one after the other, and how many bytes each has.
    #[must_use]
    pub fn parcels(&self, trials: u64, worker: Worker) -> (Vec<u8>, Vec<usize>) {
        let (lines, kept) = (self.money_lines(), self.kept());
        let sizes = &self.plan.sizes;
        let shares: Vec<Range<usize>> = worker.all().map(|to| to.part(sizes.len())).collect();
        let bytes = self.bytes(trials, worker);
        let mut whole = vec![0; bytes.iter().sum()];
        let mut rest = &mut *whole;
        let mut parcels: Vec<&mut [u8]> = Vec::new();
        for bytes in &bytes {
            let (parcel, after) = rest.split_at_mut(*bytes);
            parcels.push(parcel);
            rest = after;
        }
        let mut scratch = BlockScratch::new(self.plan, lines.is_some());
        for index in worker.part(blocks(trials)) {
            let mut block = Block::new(self.seed, index as u64, trials);
            let found = self.advance(&mut block, sizes, lines.as_deref(), &mut scratch, true);
            for (parcel, share) in parcels.iter_mut().zip(&shares) {
                for sums in &found.sums[share.clone()] {
                    put(parcel, sums.sums.all());
                    put(parcel, [sums.hours]);
                    for channel in &sums.channels {
                        put(parcel, channel.all());
                    }
                }
                for chunk in found.rows.chunks(sizes.len() * kept.columns * CHUNK) {
                    let each = chunk.len() / sizes.len();
                    for row in &chunk[share.start * each..share.end * each] {
                        put(parcel, row.0);
                    }
                }
            }
            buffers::give_back(std::iter::once(found.rows));
        }
        (whole, bytes)
    }

    /// Bytes of what a worker makes of so many trials for each worker.
    fn bytes(&self, trials: u64, from: Worker) -> Vec<usize> {
        let kept = self.kept();
        let of_block = |index| kept.sums() + groups(trials, index) * kept.columns * LANES;
        let of_size: usize = from.part(blocks(trials)).map(of_block).sum();
        from.all()
            .map(|to| of_size * to.part(self.plan.sizes.len()).len() * BYTES)
            .collect()
    }

    /// So many trials of this worker's share of the sizes, from all the parcels that it made itself and those that the `others` made for it, one
    /// after the other; `None` where these are not that.
    #[must_use]
    pub fn opened(&self, trials: u64, worker: Worker, own: &[u8], others: &[u8]) -> Option<Trials<'p>> {
        let kept = self.kept();
        let share = worker.part(self.plan.sizes.len());
        let lines = self.money_lines().map(|lines| lines[share.clone()].to_vec());
        let bytes = self.bytes(trials, worker);
        let (before, rest) = own.split_at_checked(bytes[..worker.number].iter().sum())?;
        if before.len() + rest.len() != bytes.iter().sum::<usize>() {
            return None;
        }
        let (mut own, mut others) = (rest, others);
        let mut opened = Vec::with_capacity(blocks(trials));
        for from in worker.all() {
            let rest = if from.number == worker.number {
                &mut own
            } else {
                &mut others
            };
            for index in from.part(blocks(trials)) {
                let sums = (share.clone())
                    .map(|_| sums(numbers(rest, kept.sums())?))
                    .collect::<Option<_>>()?;
                let values = numbers(rest, groups(trials, index) * share.len() * kept.columns * LANES)?;
                let mut rows = buffers::take(values.len() / LANES);
                let (lanes, _) = values.as_chunks::<LANES>();
                rows.extend(lanes.iter().map(|lanes| Row(lanes.map(f64::from_le_bytes))));
                opened.push(BlockTrials { rows, sums });
            }
        }
        others.is_empty().then_some(Trials {
            engine: *self,
            sizes: &self.plan.sizes[share],
            lines,
            trials,
            blocks: opened,
        })
    }
}

/// Blocks of so many trials.
fn blocks(trials: u64) -> usize {
    trials.div_ceil(BLOCK_TRIALS as u64) as usize
}

/// Groups of trials in the block of this number.
fn groups(trials: u64, index: usize) -> usize {
    (trials as usize - index * BLOCK_TRIALS)
        .min(BLOCK_TRIALS)
        .div_ceil(LANES)
}

/// Writes numbers to where a parcel goes on.
fn put<const N: usize>(parcel: &mut &mut [u8], numbers: [f64; N]) {
    let (own, after) = std::mem::take(parcel).split_at_mut(N * BYTES);
    own.copy_from_slice(numbers.map(f64::to_le_bytes).as_flattened());
    *parcel = after;
}

/// The next so many numbers.
fn numbers<'b>(rest: &mut &'b [u8], count: usize) -> Option<&'b [[u8; BYTES]]> {
    let (own, after) = rest.split_at_checked(count * BYTES)?;
    *rest = after;
    Some(own.as_chunks().0)
}

/// The sums of a block and size.
fn sums(numbers: &[[u8; BYTES]]) -> Option<BlockSums> {
    let (sums, rest) = numbers.split_first_chunk::<{ Sums::COUNT }>()?;
    let (hours, channels) = rest.split_first()?;
    let (channels, _) = channels.as_chunks::<{ ChannelSums::COUNT }>();
    Some(BlockSums {
        sums: sums.map(f64::from_le_bytes).into(),
        hours: f64::from_le_bytes(*hours),
        channels: channels
            .iter()
            .map(|channel| channel.map(f64::from_le_bytes).into())
            .collect(),
    })
}
