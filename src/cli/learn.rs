//! `--write`: what was learned from a log, put into the scenario or into a copy of it.

use std::path::{Path, PathBuf};

use super::input::Source;
use super::{Stop, Streams};
use crate::files::{self, Destination, Staged, shown};
use crate::render::format;
use crate::scenario;
use crate::worklog::edit::Change;

/// What `--write` was asked, and what must not be written over.
pub(super) struct Write<'a> {
    /// As it was asked; `Some(None)`: into the scenario itself.
    pub(super) asked: &'a Option<Option<PathBuf>>,
    /// The scenario's file.
    pub(super) file: &'a Path,
    /// What was read of it.
    pub(super) source: &'a Source,
    /// Other places of this call, each with what it is.
    pub(super) others: [(&'static str, Option<&'a Path>); 3],
}

/// The new scenario, checked and safely on the disk but not yet in its place.
pub(super) struct Ready<'a> {
    staged: Staged,
    name: String,
    changes: Vec<Change>,
    write: Write<'a>,
}

/// What must be refused before anything is read.
pub(super) fn refused(asked: &Option<Option<PathBuf>>, file: &Path) -> Option<String> {
    (matches!(asked, Some(None)) && file == Path::new("-"))
        .then(|| "batchwright: --write: standard input cannot be written to; name a file, --write=FILE".to_owned())
}

impl<'a> Write<'a> {
    /// Edits the scenario's text and checks it; `None` where nothing is asked for or nothing changes.
    pub(super) fn stage(
        self,
        edit: impl FnOnce(&str) -> Result<(String, Vec<Change>), Vec<String>>,
        streams: &mut Streams<'_>,
    ) -> Result<Option<Ready<'a>>, Stop> {
        let Some(write) = self.asked else { return Ok(None) };
        let target = write.as_deref().unwrap_or(self.file);
        let name = shown(target);
        let place = Destination::open(target)?;
        for (what, other) in self.others {
            if other.is_some_and(|other| place.is(other)) {
                return Err(Stop::Wrote(format!(
                    "batchwright: --write and {what} name the same file, {name}; choose another name"
                )));
            }
        }
        if target != self.file && !place.is(self.file) && target.exists() {
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
        let staged = place.stage(text.as_bytes())?;
        Ok(Some(Ready {
            staged,
            name,
            changes,
            write: self,
        }))
    }
}

impl Ready<'_> {
    /// Moves it into its place and says what was written.
    pub(super) fn place(self, streams: &mut Streams<'_>) -> Result<(), Stop> {
        let Self {
            staged,
            name,
            changes,
            write,
        } = self;
        let into_itself =
            *write.asked == Some(None) || Destination::open(write.file).is_ok_and(|place| place.is(Path::new(&name)));
        if into_itself {
            let held = files::hold(write.file);
            let _held =
                held.map_err(|error| Stop::Refused(format!("cannot write {name}: {}", files::reason(&error))))?;
            staged.place_over(write.source.bytes())?;
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
