//! `stress`: what misfortunes do to the asked price.

use std::path::PathBuf;

use clap::Args;

use super::question::{QuestionArgs, pieces};
use super::{Stop, Streams};
use crate::questions;
use crate::render::question::Question;

/// Says how much the price can stand: slow builds, spoil, dear material and other bad luck
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  For the usual size, at the price of the file:
    batchwright stress hooks.toml
  For another size and price:
    batchwright stress hooks.toml --size 12 --price 58
  Every step and every strength:
    batchwright stress hooks.toml --all
  The chart as a picture too (.svg or .png):
    batchwright stress hooks.toml --chart hooks.svg

A scenario may add bad luck of its own, each change as --set takes it:
  [[misfortune]]
  name    = \"the saw breaks down\"
  changes = [\"step.saw.each = 12 / 15 / 30 min\", \"sale.post = 9 / 11 / 14\"]

For large batches fewer are simulated unless --trials says how many; the answer \
says how many.
Exit code 0: done. 2: something in the scenario or the flags is wrong. \
1: a file cannot be read or written.")]
pub(super) struct StressCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ questions::stress::TRIALS }>,
    /// Pieces in a batch [default: the size that `season` or `steady` advises; else the first that pays, or the one that comes nearest]
    #[arg(long, value_name = "N", value_parser = pieces::<100_000>)]
    size: Option<u32>,
    /// Show every step and every strength (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &StressCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let asked = &command.asked;
    asked.answer(Question::Stress, &command.file, command.size, command.all, streams)
}
