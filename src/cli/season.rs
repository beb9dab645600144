//! `season`: how many to make before a fair, at which price, and what is left over.

use std::path::PathBuf;

use clap::Args;

use super::question::{QuestionArgs, watched};
use super::{Stop, Streams, steady};
use crate::questions;

/// How many to make for a selling season, what is left over, and the price that earns most
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright season tops.toml                           the batch that earns most, and what is left over
  batchwright season tops.toml --price 24                at another price, with the buyers there are at it
  batchwright season tops.toml --set 'season.buyers=[9, 14, 22]'     the counts of earlier seasons
  batchwright season tops.toml --set season.clearance=0  if leftovers fetch nothing
  batchwright season tops.toml --chart tops.svg          and the chart as a picture (.svg, .png)

The scenario needs a [season]: how many pieces are asked for before it ends, and what a leftover fetches. With
`elasticity` above 0 the price is looked for as well. A scenario with [steady] instead is answered as by `steady`.")]
pub(super) struct SeasonCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ questions::season::TRIALS }>,
    /// Show every size and price in the tables, not only well-chosen ones (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &SeasonCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let (scenario, ready) = command.asked.prepare_one(&command.file, Vec::new(), streams)?;
    if scenario.season.is_none() && scenario.steady.is_some() {
        return steady::answer(&scenario, &command.asked, ready, command.all, streams);
    }
    let settings = command.asked.settings();
    let answer = watched(streams, |progress| {
        questions::season::run(&scenario, &settings, progress)
    });
    let answer = answer.map_err(|fault| Stop::Wrote(format!("batchwright: {}: {fault}", command.file.display())))?;
    ready.deliver(&answer, command.all, streams)
}
