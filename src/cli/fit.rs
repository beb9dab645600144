//! `fit`: a work log to estimates, and these into the scenario.

use clap::Args;

use super::learn::Learning;
use super::log::read_log;
use super::{Stop, Streams};
use crate::model::doubts::doubts;
use crate::worklog::edit::edited;
use crate::worklog::fit::fit_with;
use crate::worklog::own_times::own_times;

/// Learns from a work log what the steps really take, and writes it into the scenario
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  What the log says against what the file expects:
    batchwright fit hooks.toml hooks-log.csv
  Each step's entries with the fitted line, as a picture:
    batchwright fit hooks.toml hooks-log.csv --chart fit.svg
  New figures into hooks.toml, all else as it is:
    batchwright fit hooks.toml hooks-log.csv --write
  The same into a copy, then one against the other:
    batchwright fit hooks.toml hooks-log.csv --write=new.toml
    batchwright compare hooks.toml new.toml
  The step bend keeps its own times, one by one:
    batchwright fit hooks.toml hooks-log.csv --logged bend

An entry is taken as setup x rounds + time a piece x pieces, each job having a pace of its own; the file is a weak first guess. Every \
time comes with its 95 % interval, and where setup and pieces cannot be told apart only their sum is judged. An entry that is far off \
the others is left out and named. From 5 jobs on a time gets a new range: it holds what jobs, setups and pieces vary by and what so \
few jobs leave open, so that eight new batches in ten fall within it. With fewer jobs a time stays, or is scaled where the file's own \
range does not allow what was measured; one job alone changes nothing but what is done once. Once every time is new, jobs give the pace.
With --logged a step keeps its times one by one, each equally likely to come again: 5 entries or more of each part, and all of \
single pieces, setups or orders. Better 19 or more.
`batchwright log --help` says how a log is written.

Exit code 0: done; 2: something in the files or flags is wrong, nothing was written; 1: a file cannot be read or written.")]
pub(super) struct FitCommand {
    /// Keep the own times of this step as they were logged, for a range of the shape "logged"; may be repeated
    #[arg(long, value_name = "STEP")]
    logged: Vec<String>,
    #[command(flatten)]
    learning: Learning,
}

pub(super) fn run(command: &FitCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let learned = command.learning.read("a work log", read_log, |_| None, streams)?;
    let (scenario, log) = (&learned.scenario, &learned.log);
    let doubts = doubts(scenario);
    doubts.iter().chain(&log.doubts).for_each(|doubt| streams.doubt(doubt));
    let own = own_times(scenario, log, &command.logged).map_err(|list| {
        let list: Vec<String> = list.iter().map(|why| format!("batchwright: --logged: {why}")).collect();
        Stop::Wrote(list.join("\n\n"))
    })?;
    let answer = fit_with(scenario, log, &own);
    for unknown in &answer.unknown {
        let near = unknown
            .nearest
            .as_ref()
            .map_or_else(String::new, |n| format!("; did you mean {n:?}?"));
        streams.doubt(format!(
            "the scenario has no step {:?}, {} left out{near}",
            unknown.name,
            if unknown.entries == 1 {
                "1 entry is".to_owned()
            } else {
                format!("{} entries are", unknown.entries)
            },
        ));
    }
    learned.deliver(&answer, false, |text| edited(text, &answer), streams)
}
