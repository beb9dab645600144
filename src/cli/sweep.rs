//! `sweep`: the main question, hourly rate and price floor against batch size.

use std::path::PathBuf;

use clap::Args;

use super::input::refusal;
use super::question::{QuestionArgs, pieces, share_between, watched, within_budget};
use super::{Stop, Streams};
use crate::budget::Work;
use crate::over;
use crate::questions;
use crate::render::question::Question as Asking;
use crate::scenario;

/// Says how many to make at a time: what an hour earns and which price pays, size by size
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  The answer in words, a table and a small chart:
    batchwright sweep hooks.toml
  With another price and target, the file left alone:
    batchwright sweep hooks.toml --price 62 --target 35
  With other values of the file:
    batchwright sweep hooks.toml --set batch.sizes=1..60 --set batch.runs=3
  The chart as a picture too (.svg or .png):
    batchwright sweep hooks.toml --chart hooks.svg
  As a table for a spreadsheet:
    batchwright sweep hooks.toml --format csv --out hooks.csv
  From standard input:
    batchwright sweep - < hooks.toml
  Over prices in place of sizes:
    batchwright sweep hooks.toml --over sale.price=40..70
  Over the minutes a piece takes at a step:
    batchwright sweep hooks.toml --over 'step.glue.each=4..10 step 1 min'
  Over two keys, as a map:
    batchwright sweep hooks.toml --over sale.price=40..70 --over batch.runs=1..9

The same file, seed and number of trials give the same bytes, whatever the \
number of threads.
Exit code 0: done. 2: something in the scenario or the flags is wrong. \
1: a file cannot be read or written.")]
pub(super) struct SweepCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ questions::sweep::TRIALS }>,
    /// Go on until the price floor is known this closely (its 95 % interval), for example 0.5%
    #[arg(long, value_name = "SHARE", value_parser = closeness)]
    within: Option<f64>,
    /// Go over the values of another key instead of sizes: KEY=LOW..HIGH [step S] or a list; twice for a map of two. A key is written
    /// with its section, as for --set: sale.quote_won, and where a section has a name, with that: step.NAME.each, channel.NAME.share.
    /// `batchwright keys` lists them all. sale.price moves all prices together, as --price does.
    /// Without --trials, 400,000 simulated batches are shared out among the values, 2,000 to 20,000 each, or fewer where that would
    /// take more than half a minute
    #[arg(long, value_name = "KEY=VALUES", conflicts_with = "within")]
    over: Vec<String>,
    /// Pieces started together, with --over [default: the size that `season` or `steady` advises; else the first that pays, or the one that comes nearest]
    #[arg(long, value_name = "N", value_parser = pieces::<10_000>)]
    size: Option<u32>,
    /// Show every size in the table, not only well-chosen ones (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &SweepCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    if !command.over.is_empty() {
        return sweep_over(command, streams);
    }
    if let Some(size) = command.size {
        return Err(Stop::Wrote(format!(
            "batchwright: --size goes with --over, as `sweep` goes over sizes by itself; for batches of {size} alone ask \
             `floor --size {size}`, or `sweep --set batch.sizes={size}`"
        )));
    }
    let (scenario, ready) = command.asked.prepare_one(&command.file, Vec::new(), streams)?;
    let settings = questions::Settings {
        within: command.within,
        ..command.asked.settings()
    };
    within_budget(Work::of(Asking::Sweep, &scenario, &[], settings.trials))?;
    let sweep = watched(streams, |progress| {
        questions::sweep::run(&scenario, &settings, progress)
    });
    ready.deliver(&sweep, command.all, streams)
}

/// Against one or two values of the scenario. Every value is read by the reader before anything is computed.
fn sweep_over(command: &SweepCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let asked = &command.asked;
    let (axes, faults) = over::axes(&command.over);
    let faults = faults
        .iter()
        .map(|(text, why)| format!("batchwright: --over {text}: {why}"));
    let faults = faults.collect();
    let (mut read, ready) = asked.prepare_sources(&[&command.file], faults, streams)?;
    let (source, base) = read.remove(0);
    let screen = streams.screen;
    let read = |set: &[(String, String)]| scenario::read_bytes(source.name(), source.bytes(), set);
    let scenarios = over::scenarios(&asked.given.overrides(), &axes, read).map_err(|(faults, faulty)| {
        let mut message = refusal(&faults, screen);
        if faulty > 1 {
            let what = if axes.len() > 1 { "pairs of values" } else { "values" };
            message += &format!("\nThis is the first of {faulty} {what} of --over that cannot be taken.");
        }
        Stop::Wrote(message)
    })?;
    let settings = questions::Settings {
        trials: asked
            .given
            .trials
            .unwrap_or_else(|| over::usual_trials(&scenarios, command.size)),
        ..asked.settings()
    };
    within_budget(over::work(&scenarios, command.size, settings.trials))?;
    let answer = watched(streams, |progress| {
        let size = command
            .size
            .unwrap_or_else(|| questions::size_to_ask_about(&base, &settings));
        questions::over::run(&base, axes, &scenarios, size, &settings, progress)
    });
    ready.deliver(&answer, command.all, streams)
}

fn closeness(text: &str) -> Result<f64, String> {
    share_between(text, 1e-4, 0.5)
}
