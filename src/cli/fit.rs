//! `fit`: a work log to estimates, and these into the scenario.

use std::path::{Path, PathBuf};

use clap::Args;

use super::input::Source;
use super::log::read_log;
use super::question::{Told, key_and_value};
use super::{Stop, Streams};
use crate::files::{self, Destination, Staged, shown};
use crate::render::format;
use crate::scenario;
use crate::scenario::doubts::doubts;
use crate::worklog::edit::{Change, edited};
use crate::worklog::fit::{Fit, fit_with};
use crate::worklog::own_times::own_times;

/// Learns from a work log what the steps really take, and writes it into the scenario
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright fit hooks.toml hooks-log.csv                      what the log says against what the file expects
  batchwright fit hooks.toml hooks-log.csv --chart fit.svg      each step's entries with the fitted line
  batchwright fit hooks.toml hooks-log.csv --write              new figures into hooks.toml, all else as it is
  batchwright fit hooks.toml hooks-log.csv --write=new.toml     into a copy; then: batchwright compare hooks.toml new.toml
  batchwright fit hooks.toml hooks-log.csv --logged bend        the step bend keeps its own times, one by one

An entry is taken as setup x rounds + time a piece x pieces, each job having a pace of its own; the file is a weak first guess. Every
time comes with its 95 % interval, and where setup and pieces cannot be told apart only their sum is judged. An entry that is far off
the others is left out and named. From 5 jobs on a time gets a new range: it holds what jobs, setups and pieces vary by and what so
few jobs leave open, so that eight new batches in ten fall within it. With fewer jobs a time stays, or is scaled where the file's own
range does not allow what was measured. Once every time is new, jobs give the pace.
With --logged a step keeps its times one by one, each equally likely to come again: 5 entries or more of each part, and all of
single pieces, setups or orders. Better 19 or more.
`batchwright log --help` says how a log is written.

Exit code 0: done; 2: something in the files or flags is wrong, nothing was written; 1: a file cannot be read or written.")]
pub(super) struct FitCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "SCENARIO")]
    file: PathBuf,
    /// The work log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// Override one value for this call, for example "pace.factor=1"; may be repeated
    #[arg(long, value_name = "KEY=VALUE", value_parser = key_and_value, conflicts_with = "write")]
    set: Vec<(String, String)>,
    /// Keep the own times of this step as they were logged, for a range of the shape "logged"; may be repeated
    #[arg(long, value_name = "STEP")]
    logged: Vec<String>,
    /// Write the new estimates into the scenario, or into a copy of it
    #[arg(long, value_name = "FILE", num_args = 0..=1, require_equals = true)]
    write: Option<Option<PathBuf>>,
    /// Also draw the chart; the ending, .svg or .png, says which kind
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    #[command(flatten)]
    told: Told,
}

pub(super) fn run(command: &FitCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let mut wrong = Vec::new();
    if let Err(fault) = super::question::picture(command.chart.as_deref()) {
        wrong.push(fault);
    }
    if matches!(command.write, Some(None)) && command.file == Path::new("-") {
        wrong.push("batchwright: --write: standard input cannot be written to; name a file, --write=FILE".to_owned());
    }
    let mut refused = None;
    let mut keep = |stop: Stop| match stop {
        Stop::Wrote(faults) => wrong.push(faults),
        other => refused = Some(other),
    };
    let scenario = Source::load(&command.file).and_then(|source| {
        let scenario = source.read(&command.set, streams.screen)?;
        Ok((source, scenario))
    });
    let scenario = scenario.map_err(&mut keep).ok();
    let log = Source::load_as(&command.log, "a work log").and_then(|source| read_log(&source, streams.screen));
    let log = log.map_err(&mut keep).ok();
    if !wrong.is_empty() {
        return Err(Stop::Wrote(wrong.join("\n\n")));
    }
    if let Some(stop) = refused {
        return Err(stop);
    }
    let (Some((source, scenario)), Some(log)) = (scenario, log) else {
        return Ok(());
    };
    let ready = command.told.places(
        &[("scenario", &command.file), ("log", &command.log)],
        command.chart.as_deref(),
    )?;
    for doubt in doubts(&scenario).iter().chain(&log.doubts) {
        streams.remark(&format!("batchwright: doubtful: {doubt}"));
    }
    let own = own_times(&scenario, &log, &command.logged).map_err(|list| {
        let list: Vec<String> = list.iter().map(|why| format!("batchwright: --logged: {why}")).collect();
        Stop::Wrote(list.join("\n\n"))
    })?;
    let answer = fit_with(&scenario, &log, &own);
    for unknown in &answer.unknown {
        let near = unknown
            .nearest
            .as_ref()
            .map_or_else(String::new, |n| format!("; did you mean {n:?}?"));
        streams.remark(&format!(
            "batchwright: doubtful: the scenario has no step {:?}, {} left out{near}",
            unknown.name,
            if unknown.entries == 1 {
                "1 entry is".to_owned()
            } else {
                format!("{} entries are", unknown.entries)
            },
        ));
    }
    let written = written(command, &source, &answer, streams)?;
    ready.deliver(&answer, false, streams)?;
    if let Some((staged, name, changes)) = written {
        if command.write == Some(None) || Destination::open(&command.file).is_ok_and(|place| place.is(Path::new(&name)))
        {
            let held = files::hold(&command.file);
            let _held =
                held.map_err(|error| Stop::Refused(format!("cannot write {name}: {}", files::reason(&error))))?;
            staged.place_over(source.bytes())?;
        } else {
            staged.place_new()?;
        }
        streams.remark(&told(&name, &changes));
    }
    Ok(())
}

/// The new scenario, checked and safely on the disk but not yet in its place; `None` where none is asked for or nothing changes.
fn written(
    command: &FitCommand,
    source: &Source,
    answer: &Fit,
    streams: &mut Streams<'_>,
) -> Result<Option<(Staged, String, Vec<Change>)>, Stop> {
    let Some(write) = &command.write else { return Ok(None) };
    let target = write.as_deref().unwrap_or(&command.file);
    let name = shown(target);
    let place = Destination::open(target)?;
    for (what, other) in [
        ("the log", Some(command.log.as_path())),
        ("--out", command.told.out.as_deref()),
        ("--chart", command.chart.as_deref()),
    ] {
        if other.is_some_and(|other| place.is(other)) {
            return Err(Stop::Wrote(format!(
                "batchwright: --write and {what} name the same file, {name}; choose another name"
            )));
        }
    }
    if target != command.file && !place.is(&command.file) && target.exists() {
        return Err(Stop::Wrote(format!(
            "batchwright: --write: {name} is there already and is not the scenario; choose another name, or take it away first"
        )));
    }
    let text = String::from_utf8_lossy(source.bytes());
    let (text, changes) = edited(&text, answer).map_err(|list| {
        let list: Vec<String> = list.iter().map(|why| format!("batchwright: --write: {why}")).collect();
        Stop::Wrote(format!("{}\nNothing was written.", list.join("\n")))
    })?;
    // Values that stand well alone may clash with the rest: a jig that takes off more than is left.
    if let Err(faults) = scenario::read(&name, &text, &[]) {
        return Err(Stop::Wrote(format!(
            "{}\nbatchwright: --write: with the new figures the scenario would have these faults; nothing was written",
            faults
                .render(streams.screen.colour_err, streams.screen.columns)
                .trim_end()
        )));
    }
    if changes.is_empty() && write.is_none() {
        streams.remark(&format!(
            "{name} has nothing in it that the log would change; nothing was written."
        ));
        return Ok(None);
    }
    Ok(Some((place.stage(text.as_bytes())?, name, changes)))
}

/// What was written: one line a value.
fn told(name: &str, changes: &[Change]) -> String {
    if changes.is_empty() {
        return format!("Wrote {name}, the scenario as it is: the log contradicts nothing in it.");
    }
    let values = match changes.len() {
        1 => "1 value".to_owned(),
        n => format!("{} values", format::count(n as u64)),
    };
    let mut out = format!("Wrote {values} into {name}:");
    for change in changes {
        let owner = if change.step.is_empty() { "[pace]" } else { &change.step };
        let was = change.was.as_deref().unwrap_or("not there");
        out.push_str(&format!("\n  {owner}, {}: {was} -> {}", change.key, change.new));
    }
    out
}
