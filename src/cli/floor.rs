//! `floor`: the price that pays, for batches or for single orders.

use std::path::PathBuf;

use clap::Args;

use super::question::{QuestionArgs, pieces, watched, within_budget};
use super::{Stop, Streams};
use crate::budget::Work;
use crate::questions;
use crate::render::question::Question as Asking;
use crate::render::text::printable;
use crate::scenario::Scenario;

/// Says what to charge: the lowest price that pays, for batches of any size or for one order
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  The price for every size of the scenario:
    batchwright floor hooks.toml
  For one size, each price with its interval:
    batchwright floor hooks.toml --size 6
  For several sizes:
    batchwright floor hooks.toml --sizes 1,6,12
  What to quote for one order of so many, made and sent together:
    batchwright floor hooks.toml --order 1,6,12,24
  The same through a channel, with its packing, postage and fees:
    batchwright floor hooks.toml --order 6 --channel fair
  The chart as a picture too (.svg or .png):
    batchwright floor hooks.toml --chart hooks.svg

Exit code 0: done. 2: something in the scenario or the flags is wrong. \
1: a file cannot be read or written.")]
pub(super) struct FloorCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ questions::floor::TRIALS }>,
    /// Pieces in a batch; without it the scenario's sizes
    #[arg(long, value_name = "N", value_parser = pieces::<100_000>, conflicts_with_all = ["sizes", "order"])]
    size: Option<u32>,
    /// Pieces in each of several batches, for example 1,6,12
    #[arg(long, value_name = "N,N,...", value_delimiter = ',', value_parser = pieces::<100_000>, conflicts_with = "order")]
    sizes: Vec<u32>,
    /// Quote one order of so many pieces, made and sent together, for example 1,6,12,24
    #[arg(long, value_name = "N,N,...", value_delimiter = ',', value_parser = pieces::<100_000>)]
    order: Vec<u32>,
    /// With --order: the channel it goes through, with its packing, postage and fees
    #[arg(long, value_name = "NAME", requires = "order")]
    channel: Option<String>,
    /// Show every size in the table, not only well-chosen ones (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &FloorCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let (mut scenario, ready) = command.asked.prepare_one(&command.file, Vec::new(), streams)?;
    let settings = command.asked.settings();
    let answer = if command.order.is_empty() {
        let sizes = ascending(command.size.iter().chain(&command.sizes));
        if !sizes.is_empty() {
            scenario.batch.sizes = sizes;
        }
        within_budget(Work::of(Asking::Floor, &scenario, &[], settings.trials))?;
        watched(streams, |progress| {
            questions::floor::run(&scenario, &settings, progress)
        })
    } else {
        let orders = ascending(&command.order);
        orders_end(&scenario)?;
        within_budget(Work::of_quotes(&scenario, &orders, settings.trials))?;
        let channel = command
            .channel
            .as_deref()
            .map(|name| channel(&scenario, name))
            .transpose()?;
        watched(streams, |progress| {
            questions::floor::orders(&scenario, channel, &orders, &settings, progress)
        })
    };
    ready.deliver(&answer, command.all, streams)
}

/// An order is filled, whatever is spoiled on the way, and that must be in sight.
pub(super) fn orders_end(scenario: &Scenario) -> Result<(), Stop> {
    if !questions::floor::hardly_filled(scenario) {
        return Ok(());
    }
    let worst = scenario.steps.iter().max_by(|a, b| a.spoil.total_cmp(&b.spoil));
    let worst = worst.map_or_else(String::new, |step| format!(", first of all that of \"{}\"", step.name));
    Err(Stop::Wrote(format!(
        "batchwright: an order is filled, and here a good piece needs more than 100 starts, so that it would hardly end; lower \
         the `spoil` of the steps{worst}"
    )))
}

/// Which channel is meant.
pub(super) fn channel(scenario: &Scenario, name: &str) -> Result<usize, Stop> {
    let channels = &scenario.channels;
    channels.iter().position(|channel| channel.name == name).ok_or_else(|| {
        let names: Vec<String> = channels
            .iter()
            .map(|channel| format!("\"{}\"", printable(&channel.name)))
            .collect();
        let cure = if names.is_empty() {
            "this scenario has no [[channel]]: leave --channel out".to_owned()
        } else {
            format!("name one of {}", names.join(", "))
        };
        Stop::Wrote(format!(
            "batchwright: --channel {}: there is no channel of this name; {cure}",
            printable(name)
        ))
    })
}

pub(super) fn ascending<'a>(sizes: impl IntoIterator<Item = &'a u32>) -> Vec<u32> {
    let mut sizes: Vec<u32> = sizes.into_iter().copied().collect();
    sizes.sort_unstable();
    sizes.dedup();
    sizes
}
