//! What the commands that learn from a log have in common: both files are read, every fault of either at once; the answer goes out, and with
//! `--write` what was learned goes into the scenario or into a copy of it.

use std::path::{Path, PathBuf};

use clap::Args;

use super::input::{Source, refusal};
use super::question::{Ready as Places, Told, key_and_value, picture};
use super::{Screen, Stop, Streams};
use crate::files::{self, Destination, Staged, shown};
use crate::render::{Render, format};
use crate::scenario::rewrite::Change;
use crate::scenario::{self, Scenario};

/// The scenario that learns, the log it learns from, and where the answer goes.
#[derive(Debug, Args)]
pub(super) struct Learning {
    /// The scenario; - reads standard input
    #[arg(value_name = "SCENARIO")]
    file: PathBuf,
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// Override one value for this call, for example "sale.price=28"; may be repeated
    #[arg(long, value_name = "KEY=VALUE", value_parser = key_and_value, conflicts_with = "write")]
    set: Vec<(String, String)>,
    /// Write what was learned into the scenario, or into a copy of it
    #[arg(long, value_name = "FILE", num_args = 0..=1, require_equals = true)]
    write: Option<Option<PathBuf>>,
    /// Also draw the chart; the ending, .svg or .png, says which kind
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    #[command(flatten)]
    told: Told,
}

/// Both files, read, and where the answer goes.
pub(super) struct Learned<'a, L> {
    asked: &'a Learning,
    source: Source,
    places: Places,
    /// The scenario with what was set.
    pub(super) scenario: Scenario,
    /// The log.
    pub(super) log: L,
}

/// The new scenario, checked and safely on the disk but not yet in its place.
struct Written {
    staged: Staged,
    name: String,
    changes: Vec<Change>,
}

impl Learning {
    /// Reads both files; every fault of the flags and of either file at once. `what`: which log it should be, "a work log"; `clash`: what of
    /// the flags does not go with it.
    pub(super) fn read<L>(
        &self,
        what: &str,
        log: impl FnOnce(&Source, Screen) -> Result<L, Stop>,
        clash: impl FnOnce(&L) -> Option<String>,
        streams: &Streams<'_>,
    ) -> Result<Learned<'_, L>, Stop> {
        let mut wrong: Vec<String> = picture(self.chart.as_deref()).err().into_iter().collect();
        if self.write == Some(None) && self.file == Path::new("-") {
            wrong.push(
                "batchwright: --write: standard input cannot be written to; name a file, --write=FILE".to_owned(),
            );
        }
        let scenario = Source::load(&self.file).and_then(|source| {
            let scenario = source.read(&self.set, streams.screen)?;
            Ok((source, scenario))
        });
        let log = Source::load_as(&self.log, what).and_then(|source| log(&source, streams.screen));
        wrong.extend(log.as_ref().ok().and_then(clash));
        // What was written is told before what the machine refused.
        let mut refused = None;
        let (scenario, log) = (
            kept(scenario, &mut wrong, &mut refused),
            kept(log, &mut wrong, &mut refused),
        );
        if !wrong.is_empty() {
            return Err(Stop::Wrote(wrong.join("\n\n")));
        }
        let (Some((source, scenario)), Some(log)) = (scenario, log) else {
            return Err(refused.unwrap_or_else(|| Stop::Refused("a file was not read".to_owned())));
        };
        let places = self
            .told
            .places(&[("scenario", &self.file), ("log", &self.log)], self.chart.as_deref())?;
        Ok(Learned {
            asked: self,
            source,
            places,
            scenario,
            log,
        })
    }
}

/// What came of reading; else its faults, or why the machine refused.
fn kept<T>(read: Result<T, Stop>, wrong: &mut Vec<String>, refused: &mut Option<Stop>) -> Option<T> {
    match read {
        Ok(read) => return Some(read),
        Err(Stop::Wrote(faults)) => wrong.push(faults),
        Err(other) => *refused = Some(other),
    }
    None
}

impl<L> Learned<'_, L> {
    /// Gives the answer out, and puts what was learned in its place where that was asked. `all`: every row of long tables.
    pub(super) fn deliver(
        self,
        answer: &dyn Render,
        all: bool,
        edit: impl FnOnce(&str) -> Result<(String, Vec<Change>), Vec<String>>,
        streams: &mut Streams<'_>,
    ) -> Result<(), Stop> {
        let written = self.stage(edit, streams)?;
        let Self {
            asked, source, places, ..
        } = self;
        places.deliver(answer, all, streams)?;
        written.map_or(Ok(()), |written| written.place(asked, &source, streams))
    }

    /// Edits the scenario's text and checks it; `None` where nothing is asked for or nothing changes.
    fn stage(
        &self,
        edit: impl FnOnce(&str) -> Result<(String, Vec<Change>), Vec<String>>,
        streams: &mut Streams<'_>,
    ) -> Result<Option<Written>, Stop> {
        let asked = self.asked;
        let Some(write) = &asked.write else { return Ok(None) };
        let target = write.as_ref().unwrap_or(&asked.file);
        let name = shown(target);
        let place = Destination::open(target)?;
        let others = [
            ("the log", Some(asked.log.as_path())),
            ("--out", asked.told.out.as_deref()),
            ("--chart", asked.chart.as_deref()),
        ];
        for (what, other) in others {
            if other.is_some_and(|other| place.is(other)) {
                return Err(Stop::Wrote(format!(
                    "batchwright: --write and {what} name the same file, {name}; choose another name"
                )));
            }
        }
        if *target != asked.file && !place.is(&asked.file) && target.exists() {
            return Err(Stop::Wrote(format!(
                "batchwright: --write: {name} is there already and is not the scenario; choose another name, or take it away first"
            )));
        }
        let text = String::from_utf8_lossy(self.source.bytes());
        let (text, changes) = edit(&text).map_err(|list| {
            let list: Vec<String> = list.iter().map(|why| format!("batchwright: --write: {why}")).collect();
            Stop::Wrote(format!("{}\nNothing was written.", list.join("\n")))
        })?;
        // Values that stand well alone may clash with the rest: a jig that takes off more than is left.
        if let Err(faults) = scenario::read(&name, &text, &[]) {
            return Err(Stop::Wrote(format!(
                "{}\nbatchwright: --write: with the new figures the scenario would have these faults; nothing was written",
                refusal(&faults, streams.screen)
            )));
        }
        if changes.is_empty() && write.is_none() {
            streams.remark(&format!(
                "{name} has nothing in it that the log would change; nothing was written."
            ));
            return Ok(None);
        }
        Ok(Some(Written {
            staged: place.stage(text.as_bytes())?,
            name,
            changes,
        }))
    }
}

impl Written {
    /// Moves it into its place and says what was written.
    fn place(self, asked: &Learning, source: &Source, streams: &mut Streams<'_>) -> Result<(), Stop> {
        let Self { staged, name, changes } = self;
        let into_itself =
            asked.write == Some(None) || Destination::open(&asked.file).is_ok_and(|place| place.is(Path::new(&name)));
        if into_itself {
            let held = files::hold(&asked.file);
            let _held =
                held.map_err(|error| Stop::Refused(format!("cannot write {name}: {}", files::reason(&error))))?;
            staged.place_over(source.bytes())?;
        } else {
            staged.place_new()?;
        }
        streams.remark(&told(&name, &changes));
        Ok(())
    }
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
