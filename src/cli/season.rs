//! `season`: how many to make before a fair, at which price, and what is left over.

use std::path::PathBuf;

use clap::Args;

use super::question::QuestionArgs;
use super::{Stop, Streams};
use crate::questions;
use crate::render::question::Question;

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
    let asked = &command.asked;
    asked.answer(Question::Season, &command.file, None, command.all, streams)
}
