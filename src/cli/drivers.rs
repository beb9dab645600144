//! `drivers`: which uncertain input moves the hour's earnings, and what a little less of anything is worth.

use std::path::PathBuf;

use clap::Args;

use super::question::{QuestionArgs, pieces};
use super::{Stop, Streams};
use crate::questions;
use crate::render::question::Question;

/// Says what to work on: what 10 % less time is worth at each step, and what makes batches differ
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  The answer in words, a table and a small chart:
    batchwright drivers hooks.toml
  In batches of 12:
    batchwright drivers hooks.toml --size 12
  Every row, with more room at a step:
    batchwright drivers hooks.toml --all --set 'step.glue up.room=8'
  The chart as a picture too (.svg or .png):
    batchwright drivers hooks.toml --chart drivers.svg
  As a table for a spreadsheet:
    batchwright drivers hooks.toml --format csv --out drivers.csv

Without --size the answer is about the size that `season` or `steady` advises; else about the first that pays, or the one that \
comes nearest.
The same file, seed and number of trials give the same bytes, whatever the \
number of threads.
For large batches fewer are simulated unless --trials says how many; the answer \
says how many.
Exit code 0: done. 2: something in the scenario or the flags is wrong. \
1: a file cannot be read or written.")]
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
    let asked = &command.asked;
    asked.answer(Question::Drivers, &command.file, command.size, command.all, streams)
}
