//! `jig`: when an aid has paid for itself, and what it adds to the hour.

use std::path::PathBuf;

use clap::Args;

use super::question::{QuestionArgs, pieces, watched, within_budget};
use super::{Stop, Streams};
use crate::budget::Work;
use crate::questions::jig;
use crate::render::question::Question as Asking;
use crate::scenario::{Scenario, Step};

/// Says whether to build a jig or make more room, and after how many pieces it has paid for itself
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Every [[jig]] of the scenario, alone and together:
    batchwright jig hooks.toml
  For batches of 12:
    batchwright jig hooks.toml --size 12
  This jig alone (may be repeated):
    batchwright jig hooks.toml --jig \"drilling jig\"
  The chart as a picture too (.svg or .png):
    batchwright jig hooks.toml --chart hooks-jig.svg

A jig is written in the scenario:
  [[jig]]
  name  = \"drilling jig\"
  step  = \"drill\"         # the step it helps
  build = \"2 / 3 / 5 h\"   # hands-on time to build it
  cost  = 18              # money
  setup = \"x 0.5\"         # what it does to the step's setup and `each`
  lasts = 400             # pieces; left out: for ever
A part of a time is written \"x 0.5\", some time less \"- 2 min\", and more room, as \
by a second set of clamps, room = \"+ 6\".

Never save setup by leaving a guard off.
Exit code 0: done. 2: something in the scenario or the flags is wrong. \
1: a file cannot be read or written.")]
pub(super) struct JigCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ jig::TRIALS }>,
    /// Pieces in a batch [default: the size that `season` or `steady` advises; else the first that pays, or the one that comes nearest]
    #[arg(long, value_name = "N", value_parser = pieces::<10_000>)]
    size: Option<u32>,
    /// Look at this jig only; may be repeated
    #[arg(long, value_name = "NAME")]
    jig: Vec<String>,
}

pub(super) fn run(command: &JigCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let (scenario, ready) = command.asked.prepare_one(&command.file, Vec::new(), streams)?;
    let wanted = wanted(&scenario, &command.jig)?;
    let settings = command.asked.settings();
    let sizes: Vec<u32> = command.size.into_iter().collect();
    within_budget(Work::of(Asking::Jig, &scenario, &sizes, settings.trials))?;
    let answer = watched(streams, |progress| {
        jig::run(&scenario, &wanted, command.size, &settings, progress)
    });
    ready.deliver(&answer, false, streams)
}

/// The jigs that were named, or all; in the order of the file.
fn wanted(scenario: &Scenario, names: &[String]) -> Result<Vec<usize>, Stop> {
    if scenario.jigs.is_empty() {
        // A jig helps what is done with every batch: the step that takes most time of its pieces, and not one that is done once.
        let batch = f64::from(scenario.batch.sizes.last().copied().unwrap_or(1));
        let time = |step: &&Step| step.setup.mean() + batch * step.each.mean();
        let helped = scenario.steps.iter().max_by(|a, b| time(a).total_cmp(&time(b)));
        return Err(Stop::Wrote(format!(
            "batchwright: the scenario has no [[jig]]. Write what could be built, for example:\n\n  [[jig]]\n  name  = \"stop \
             and template\"\n  step  = {:?}\n  build = \"2 / 3 / 5 h\"\n  cost  = 18\n  setup = \"x 0.5\"\n  lasts = 400",
            helped.map_or("", |step| &step.name)
        )));
    }
    let known: Vec<String> = scenario.jigs.iter().map(|jig| format!("{:?}", jig.name)).collect();
    let unknown: Vec<String> = names
        .iter()
        .filter(|name| scenario.jigs.iter().all(|jig| jig.name != **name))
        .map(|name| {
            format!(
                "batchwright: --jig {name:?}: there is no such jig; there is {}",
                known.join(", ")
            )
        })
        .collect();
    if !unknown.is_empty() {
        return Err(Stop::Wrote(unknown.join("\n")));
    }
    Ok((0..scenario.jigs.len())
        .filter(|k| names.is_empty() || names.contains(&scenario.jigs[*k].name))
        .collect())
}
