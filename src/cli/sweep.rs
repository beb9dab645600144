//! `sweep`: the main question, hourly rate and price floor against batch size.

use std::path::PathBuf;

use clap::Args;

use super::question::{Asked, share_between, watched};
use super::{Stop, Streams};
use crate::answers;

/// What an hour earns and which price pays, for every batch size
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright sweep hooks.toml                           words, a table, a small chart
  batchwright sweep hooks.toml --price 62 --target 35    asked differently, the file left alone
  batchwright sweep hooks.toml --set batch.sizes=1..60 --set batch.runs=3
  batchwright sweep hooks.toml --chart hooks.svg         and the chart as a picture (.svg, .png)
  batchwright sweep hooks.toml --format csv --out hooks.csv
  batchwright sweep - < hooks.toml                       from standard input

The same file, seed and number of runs give the same bytes, whatever the number of threads.
Exit code 0: done; 2: something in the scenario or the flags is wrong; 1: a file cannot be read or written.")]
pub(super) struct SweepCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: Asked<50_000>,
    /// Go on until the price floor is known this closely (its 95 % interval), for example 0.5%
    #[arg(long, value_name = "SHARE", value_parser = closeness)]
    within: Option<f64>,
    /// Show every size in the table, not only well-chosen ones (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &SweepCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let (scenario, ready) = command.asked.prepare_one(&command.file, Vec::new(), streams)?;
    let settings = answers::Settings {
        within: command.within,
        ..command.asked.settings()
    };
    let sweep = watched(streams, |progress| answers::sweep::run(&scenario, &settings, progress));
    ready.deliver(&sweep, command.all, streams)
}

fn closeness(text: &str) -> Result<f64, String> {
    share_between(text, 1e-4, 0.5)
}
