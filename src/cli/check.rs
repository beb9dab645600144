//! `check`: every fault of a scenario, or what was understood.

use std::path::PathBuf;

use clap::Args;

use super::input::read_scenario;
use super::question::key_and_value;
use super::{Stop, Streams};
use crate::render::understood;
use crate::scenario::doubts::doubts;

/// Read a scenario: report every fault, or tell back what was understood
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright check hooks.toml
  batchwright check hooks.toml --set batch.runs=3
  batchwright new bespoke | batchwright check -

Exit code 0: it can be computed; 2: it has faults; 1: the file cannot be read.")]
pub(super) struct Check {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Override one value for this call, for example sale.price=62; may be repeated
    #[arg(long, value_name = "KEY=VALUE", value_parser = key_and_value)]
    set: Vec<(String, String)>,
}

pub(super) fn run(command: &Check, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let scenario = read_scenario(&command.file, &command.set, streams.screen)?;
    streams.answer(&understood::scenario(
        &scenario,
        streams.screen.columns,
        streams.screen.unicode,
    ))?;
    for doubt in doubts(&scenario) {
        streams.remark(&format!("batchwright: doubtful: {doubt}"));
    }
    Ok(())
}
