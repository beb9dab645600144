//! `season`: how many to make before a fair, at which price, and what is left over.

use std::path::PathBuf;

use clap::Args;

use super::question::{QuestionArgs, watched, within_budget};
use super::{Stop, Streams, steady};
use crate::budget::Work;
use crate::files::shown;
use crate::questions;
use crate::render::question::Question as Asking;

/// Says how many to make for a selling season, what is left over, and which price leaves most
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  How many to make:
    batchwright season tops.toml
  The same at another price:
    batchwright season tops.toml --price 28
  If 40 pieces are wanted for sure:
    batchwright season tops.toml --set season.buyers=40
  With a chart as a picture, .svg or .png:
    batchwright season tops.toml --chart tops.svg

The scenario needs a [season]: how many pieces buyers want before it ends, and what a piece fetches that is left over. With \
an `elasticity` above 0 the price is looked for as well. A scenario with [steady] instead is answered as by `steady`.

Exit code 0: done. 2: something in the scenario or the flags is wrong. 1: a file cannot be read or written.")]
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
    within_budget(
        Work::of(Asking::Season, &scenario, &[], settings.trials),
        settings.trials,
    )?;
    let answer = watched(streams, |progress| {
        questions::season::run(&scenario, &settings, progress)
    });
    let answer = answer.map_err(|fault| Stop::Wrote(format!("batchwright: {}: {fault}", shown(&command.file))))?;
    ready.deliver(&answer, command.all, streams)
}
