//! `steady`: how many at a time and how often, for a piece that sells all year.

use std::path::PathBuf;

use clap::Args;

use super::question::QuestionArgs;
use super::{Stop, Streams};
use crate::questions;
use crate::render::question::Question;

/// Says how many to make at a time, and how often, for a piece that sells all year
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  How many at a time, and how often:
    batchwright steady labels.toml
  If five pieces are wanted a week:
    batchwright steady labels.toml --set steady.per_week=5
  If keeping stock costs more:
    batchwright steady labels.toml --set 'steady.hold=30 %'
  With a chart as a picture, .svg or .png:
    batchwright steady labels.toml --chart labels.svg

The scenario needs a [steady]: how many pieces buyers want a week, and what keeping one costs a year, as a share of the money \
tied up in it. With [hours] it also says whether the bench hours are enough.

Exit code 0: done. 2: something in the scenario or the flags is wrong. 1: a file cannot be read or written.")]
pub(super) struct SteadyCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ questions::steady::TRIALS }>,
    /// Show every size in the table, not only well-chosen ones (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &SteadyCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let asked = &command.asked;
    asked.answer(Question::Steady, &command.file, None, command.all, streams)
}
