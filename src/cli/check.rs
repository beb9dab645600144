//! `check`: every fault of a scenario, or what was understood.

use std::path::PathBuf;

use clap::Args;

use super::input::read_scenario;
use super::question::key_and_value;
use super::{Stop, Streams};
use crate::model::doubts::doubts;
use crate::render::understood;

/// Finds every fault of a scenario, or says back what was understood
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  What a file says:
    batchwright check hooks.toml
  With another value for this call:
    batchwright check hooks.toml --set batch.runs=3
  What a starter says:
    batchwright new bespoke | batchwright check -

It finds every fault at once, and says where each is and how to mend it. Where there is none, it says back what was \
understood: read it through, and mend what you did not mean.

Exit code 0: it can be computed. 2: it has faults. 1: the file cannot be read.")]
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
    doubts(&scenario).iter().for_each(|doubt| streams.doubt(doubt));
    Ok(())
}
