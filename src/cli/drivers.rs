//! `drivers`: which uncertain input moves the hour's earnings, and what a little less of anything is worth.

use std::path::PathBuf;

use clap::Args;

use super::question::{QuestionArgs, pieces, watched};
use super::{Stop, Streams};
use crate::questions;

/// Which uncertain input moves what an hour earns, and what a tenth less of each step is worth
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright drivers hooks.toml                   words, a table, a small chart
  batchwright drivers hooks.toml --size 12         in batches of 12
  batchwright drivers hooks.toml --all --set 'step.glue up.room=8'
  batchwright drivers hooks.toml --chart drivers.svg
  batchwright drivers hooks.toml --format csv --out drivers.csv

Without --size it is asked about the first size that pays, or the best one where none does.
The same file, seed and number of runs give the same bytes, whatever the number of threads.
With large batches fewer runs are simulated unless --trials says how many; the answer says it.
Exit code 0: done; 2: something in the scenario or the flags is wrong; 1: a file cannot be read or written.")]
pub(super) struct DriversCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ questions::drivers::TRIALS }>,
    /// Pieces started together
    #[arg(long, value_name = "N", value_parser = pieces::<10_000>)]
    size: Option<u32>,
    /// Show everything in the table, not only what matters (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &DriversCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let (scenario, ready) = command.asked.prepare_one(&command.file, Vec::new(), streams)?;
    let answer = watched(streams, |progress| {
        let (size, settings) = command
            .asked
            .one_size(command.size, &scenario, questions::drivers::MOST_WORK);
        questions::drivers::run(&scenario, size, &settings, progress)
    });
    ready.deliver(&answer, command.all, streams)
}
