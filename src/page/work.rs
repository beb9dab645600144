//! The work log on the page: what is in it, and one line more, another or fewer. What may stand in a line is for [`worklog::add`], how it is
//! written for [`logfile`].

use serde::{Deserialize, Serialize};

use super::sale::Wrong;
use super::{LOG, NAME, sentence};
use crate::logfile;
use crate::scenario;
use crate::worklog::{self, Log, add, logged_at};

#[derive(Deserialize)]
pub(super) struct Asked {
    /// The scenario, whose steps are known.
    text: String,
    /// The log so far; empty: there is none yet.
    log: String,
    /// The line that is corrected, or taken out where nothing is typed; absent: what is typed comes behind all others.
    line: Option<usize>,
    /// Absent, and no line either: it is only read.
    typed: Option<Cells>,
}

/// What stands in a line, as it is typed.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
struct Cells {
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
pub(super) struct Said {
    /// The log with the change in it; as it was, where anything is wrong.
    log: String,
    /// What is wrong with what was typed.
    wrong: Vec<Wrong>,
    /// Why the log cannot be read.
    unread: Option<String>,
    entries: Vec<Entry>,
}

#[derive(Serialize)]
struct Entry {
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

pub(super) fn said(asked: Asked) -> Said {
    let read = |text: &str| match text.trim() {
        "" => Ok(None),
        _ => worklog::read(LOG, text.as_bytes()).map(Some),
    };
    let before = match read(&asked.log) {
        Ok(log) => log,
        Err(faults) => {
            return Said {
                log: asked.log,
                wrong: Vec::new(),
                unread: Some(faults.to_string()),
                entries: Vec::new(),
            };
        }
    };
    let changed = changed(&asked, before.as_ref()).and_then(|text| match read(&text) {
        Ok(log) => Ok((text, log)),
        Err(faults) => Err(vec![faults.to_string().into()]),
    });
    let (log, now, wrong) = match changed {
        Ok((text, now)) => (text, now, Vec::new()),
        Err(wrong) => (asked.log, before, wrong),
    };
    let entries = now.iter().flat_map(|log| &log.entries).map(Entry::from).collect();
    Said {
        log,
        wrong,
        unread: None,
        entries,
    }
}

/// The log's text with the change in it.
fn changed(asked: &Asked, before: Option<&Log>) -> Result<String, Vec<Wrong>> {
    let told = |why: String| vec![Wrong::from(why)];
    let Some(typed) = &asked.typed else {
        return match (asked.line, before) {
            (Some(line), Some(log)) => logfile::exchanged(&asked.log, &log.form, line, None).map_err(told),
            _ => Ok(asked.log.clone()),
        };
    };
    let old = match (asked.line, before) {
        (Some(line), Some(log)) => {
            let old = log.entries.iter().find(|entry| entry.line == line);
            Some(old.ok_or_else(|| told(format!("no entry begins in line {line} any more")))?)
        }
        _ => None,
    };
    // A step that the entry had before may be gone from the file.
    let scenario = scenario::read(NAME, &asked.text, &[]).ok();
    let at = scenario
        .as_ref()
        .filter(|_| old.is_none_or(|old| old.step != typed.step.trim()));
    let entry = add::check(
        &add::Typed {
            date: &typed.date,
            job: &typed.job,
            step: &typed.step,
            what: &typed.what,
            pieces: &typed.pieces,
            rounds: &typed.rounds,
            minutes: &typed.minutes,
            spoiled: &typed.spoiled,
            redone: &typed.redone,
            note: &typed.note,
        },
        before.map(|log| &log.form),
        at.map(logged_at).as_deref(),
    )
    .map_err(|wrong| {
        let one = |one: add::Wrong| Wrong {
            part: one.part,
            why: sentence(&one.why),
        };
        wrong.into_iter().map(one).collect::<Vec<_>>()
    })?;
    let values = add::values(&entry);
    let Some((old, log)) = old.zip(before) else {
        let new_form = worklog::KIND.new_form();
        let (text, form) = before.map_or((&b""[..], &new_form), |log| (asked.log.as_bytes(), &log.form));
        let all = logfile::appended(text, form, &values).map_err(told)?;
        return String::from_utf8(all).map_err(|_| told("the log is not UTF-8 text".to_owned()));
    };
    let was = add::values(old);
    let new: Vec<Option<String>> = values
        .into_iter()
        .zip(was)
        .map(|(now, was)| (now != was).then_some(now))
        .collect();
    logfile::exchanged(&asked.log, &log.form, old.line, Some(&new)).map_err(told)
}
