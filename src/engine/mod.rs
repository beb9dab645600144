//! The simulation engine: a checked scenario becomes a flat [`Plan`], and the plan becomes simulated [`Trials`].
//!
//! The engine knows no files, no terminal and no dates. What it promises:
//!
//! * **Same bytes everywhere.** Every random number is a function of (seed, trial, part, index) alone, but for the times of
//!   redos: their eight generators move on together while any trial of the group of eight redoes, so they also depend on
//!   who redoes in that (fixed) group. Sums run in a fixed order; nothing is fused or reassociated. Threads, vector width
//!   and the other sizes of a sweep change nothing.
//! * **Common random numbers.** Piece i of a batch of 5 is piece i of a batch of 50, so one pass of running totals over the
//!   largest batch serves every smaller size of that trial.
//! * **Streams by name.** A part's stream is named by its step, so changing one step leaves the draws of the others alone
//!   (where an earlier step spoils other pieces, redo times of later steps shift).
//!
//! Trials are simulated eight at a time, one a lane. The lanes are logical: eight on every processor.

mod block;
mod buffers;
mod by_thread;
pub mod groups;
pub mod kernel;
pub mod line;
pub(crate) mod path;
pub mod plan;
mod record;
pub mod remake;
mod sale;
pub mod shape;
pub mod stream;
mod trials;

pub use by_thread::ByThread;
pub use line::MoneyLine;
pub use path::Path;
pub use plan::{Plan, Terms};
pub use record::{BlockSums, ChannelSums, Sums};
pub use trials::{Chunk, Engine, SizeColumns, SizeTrials, Trials, Worker};

/// Trials simulated side by side, whatever the processor's own width.
pub const LANES: usize = 8;
/// Trials in a block, the unit of work that threads share out.
pub const BLOCK_TRIALS: usize = 256;
/// Groups of eight trials whose results are laid down together.
pub const CHUNK: usize = 16;
/// Pieces handled at a time, so that running totals stay in the first-level cache.
pub const TILE: usize = 64;

/// One value for each lane.
pub type Lanes = [f64; LANES];

/// The values of one row of a column: one for each lane, never across two lines of the processor's cache.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[repr(C, align(64))]
pub struct Row(pub Lanes);
