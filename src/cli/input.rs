//! Reads the scenario a command was given, from a file or from standard input.

use std::io;
use std::path::Path;

use super::{Screen, Stop};
use crate::files::{self, LONGEST_BYTES};
use crate::scenario::{self, Faults, Scenario, nearest};

/// A scenario's text as it came, to be read more than once.
#[derive(Debug)]
pub(super) struct Source {
    name: String,
    bytes: Vec<u8>,
}

impl Source {
    /// Loads a scenario; `-` is standard input.
    pub(super) fn load(file: &Path) -> Result<Self, Stop> {
        Self::load_as(file, "a scenario")
    }

    /// Loads a file that should be `what`.
    pub(super) fn load_as(file: &Path, what: &str) -> Result<Self, Stop> {
        let (name, bytes) = if file == Path::new("-") {
            ("standard input".to_owned(), files::load_from(io::stdin().lock()))
        } else {
            (files::shown(file), files::load(file))
        };
        let bytes = bytes.map_err(|error| {
            let near = (error.kind() == io::ErrorKind::NotFound)
                .then(|| beside(file))
                .flatten();
            let near = near.map_or_else(String::new, |near| format!("; did you mean {near}?"));
            Stop::Refused(format!("cannot read {name}: {}{near}", files::reason(&error)))
        })?;
        if bytes.len() as u64 > LONGEST_BYTES {
            let most = LONGEST_BYTES >> 20;
            return Err(Stop::Wrote(format!(
                "batchwright: {name} is longer than {most} MB, so it is not {what}"
            )));
        }
        Ok(Self { name, bytes })
    }

    /// The file's name as shown in messages.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// What it holds.
    pub(super) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Reads and checks it with these values set. Every fault is in the message.
    pub(super) fn read(&self, overrides: &[(String, String)], screen: Screen) -> Result<Scenario, Stop> {
        scenario::read_bytes(&self.name, &self.bytes, overrides).map_err(|faults| Stop::Wrote(refusal(&faults, screen)))
    }
}

/// Every fault, as a person reads it.
pub(super) fn refusal(faults: &Faults, screen: Screen) -> String {
    faults.render(screen.colour_err, screen.columns).trim_end().to_owned()
}

/// The file beside one that is not there whose name is nearest to it.
fn beside(file: &Path) -> Option<String> {
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    let there = std::fs::read_dir(folder.unwrap_or(Path::new("."))).ok()?.flatten();
    let names: Vec<String> = there
        .map(|entry| entry.path())
        .filter(|path| {
            path.extension()
                .is_some_and(|ending| ending == "toml" || ending == "csv")
        })
        .filter_map(|path| Some(path.file_name()?.to_str()?.to_owned()))
        .collect();
    let asked = file.file_name()?.to_str()?;
    let without_ending = |name: &&String| Path::new(name).file_stem().is_some_and(|stem| stem == asked);
    let near = names.iter().find(without_ending).map(String::as_str);
    let near = near.or_else(|| nearest(asked, names.iter().map(String::as_str)))?;
    Some(files::shown(
        &folder.map_or_else(|| near.into(), |folder| folder.join(near)),
    ))
}

/// Loads, reads and checks a scenario.
pub(super) fn read_scenario(file: &Path, overrides: &[(String, String)], screen: Screen) -> Result<Scenario, Stop> {
    Source::load(file)?.read(overrides, screen)
}
