//! The work log on the page. What may stand in a line is for [`worklog::add`].

use serde::{Deserialize, Serialize};

use super::logs::Line;
use super::{LOG, NAME};
use crate::logfile::{Form, Kind};
use crate::scenario::{self, Faults};
use crate::worklog::{self, add, logged_at};

/// What stands in a line, as it is typed.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Cells {
    date: String,
    job: String,
    step: String,
    what: String,
    pieces: String,
    rounds: String,
    minutes: String,
    spoiled: String,
    redone: String,
    note: String,
}

#[derive(Serialize)]
pub(super) struct Entry {
    line: usize,
    cells: Cells,
}

impl From<&worklog::Entry> for Entry {
    fn from(entry: &worklog::Entry) -> Self {
        let [_, _, _, what, pieces, rounds, minutes, spoiled, redone, _] = add::values(entry);
        Self {
            line: entry.line,
            cells: Cells {
                date: entry.date.map_or_else(String::new, |date| date.to_string()),
                job: entry.job.clone(),
                step: entry.step.clone(),
                what,
                pieces,
                rounds,
                minutes,
                spoiled,
                redone,
                note: entry.note.clone(),
            },
        }
    }
}

impl Line for Cells {
    type Entry = worklog::Entry;
    type Shown = Entry;
    const KIND: &'static Kind = &worklog::KIND;

    fn read(text: &str) -> Result<(Vec<worklog::Entry>, Form), Faults> {
        worklog::read(LOG, text.as_bytes()).map(|log| (log.entries, log.form))
    }

    fn line(entry: &worklog::Entry) -> usize {
        entry.line
    }

    fn check(
        &self,
        text: &str,
        old: Option<&worklog::Entry>,
        form: Option<&Form>,
    ) -> Result<worklog::Entry, Vec<add::Wrong>> {
        let scenario = scenario::read(NAME, text, &[]).ok();
        // A step that the entry had before may be gone from the file.
        let at = scenario
            .as_ref()
            .filter(|_| old.is_none_or(|old| old.step != self.step.trim()));
        let typed = add::Typed {
            date: &self.date,
            job: &self.job,
            step: &self.step,
            what: &self.what,
            pieces: &self.pieces,
            rounds: &self.rounds,
            minutes: &self.minutes,
            spoiled: &self.spoiled,
            redone: &self.redone,
            note: &self.note,
        };
        add::check(&typed, form, at.map(logged_at).as_deref())
    }

    fn values(entry: &worklog::Entry) -> Vec<String> {
        add::values(entry).into()
    }

    fn exchanged(now: &[String], was: &[String]) -> Vec<bool> {
        now.iter().zip(was).map(|(now, was)| now != was).collect()
    }
}
