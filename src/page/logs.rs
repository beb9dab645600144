//! A log on the page: what is in it, and one line more, another or fewer. What may stand in a line is for the log's own room, how it is written for
//! [`logfile`].

use serde::{Deserialize, Serialize};

use super::sentence;
use crate::logfile::{self, Form, Kind};
use crate::scenario::Faults;
use crate::worklog::add;

#[derive(Deserialize)]
pub(super) struct Asked<C> {
    /// The scenario, where its steps matter.
    #[serde(default)]
    text: String,
    /// The log so far; empty: there is none yet.
    log: String,
    /// The line that is corrected, or taken out where nothing is typed; absent: what is typed comes behind all others.
    line: Option<usize>,
    /// Absent, and no line either: it is only read.
    typed: Option<C>,
}

#[derive(Serialize)]
pub(super) struct Said<S> {
    /// The log with the change in it; as it was, where anything is wrong.
    log: String,
    /// What is wrong with what was typed.
    wrong: Vec<Wrong>,
    /// Why the log cannot be read.
    unread: Option<String>,
    entries: Vec<S>,
}

#[derive(Serialize)]
struct Wrong {
    part: &'static str,
    why: String,
}

impl From<add::Wrong> for Wrong {
    fn from(add::Wrong { part, why }: add::Wrong) -> Self {
        Self {
            part,
            why: sentence(&why),
        }
    }
}

fn whole(why: String) -> Vec<add::Wrong> {
    vec![add::Wrong { part: "", why }]
}

/// What one kind of log has of its own; implemented by what is typed for a line of it.
pub(super) trait Line: Sized {
    /// An entry as it is read.
    type Entry;
    /// As it is shown.
    type Shown: for<'a> From<&'a Self::Entry>;
    const KIND: &'static Kind;

    fn read(text: &str) -> Result<(Vec<Self::Entry>, Form), Faults>;

    /// Its place in the log.
    fn line(entry: &Self::Entry) -> usize;

    /// Checks what was typed, for a scenario with this text, in place of an old entry or as a new one.
    fn check(&self, text: &str, old: Option<&Self::Entry>, form: Option<&Form>)
    -> Result<Self::Entry, Vec<add::Wrong>>;

    fn values(entry: &Self::Entry) -> Vec<String>;

    /// Which values are written anew where an entry is corrected.
    fn exchanged(now: &[String], was: &[String]) -> Vec<bool>;
}

pub(super) fn said<L: Line>(asked: Asked<L>) -> Said<L::Shown> {
    let read = |text: &str| match text.trim() {
        "" => Ok(None),
        _ => L::read(text).map(Some),
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
        Err(faults) => Err(whole(faults.to_string())),
    });
    let (log, now, wrong) = match changed {
        Ok((text, now)) => (text, now, Vec::new()),
        Err(wrong) => (asked.log, before, wrong),
    };
    Said {
        log,
        wrong: wrong.into_iter().map(Wrong::from).collect(),
        unread: None,
        entries: now
            .iter()
            .flat_map(|(entries, _)| entries)
            .map(L::Shown::from)
            .collect(),
    }
}

/// The log's text with the change in it.
fn changed<L: Line>(asked: &Asked<L>, before: Option<&(Vec<L::Entry>, Form)>) -> Result<String, Vec<add::Wrong>> {
    let at = asked.line.zip(before);
    let Some(typed) = &asked.typed else {
        return match at {
            Some((line, (_, form))) => logfile::exchanged(&asked.log, form, line, None).map_err(whole),
            None => Ok(asked.log.clone()),
        };
    };
    let old = match at {
        Some((line, (entries, _))) => {
            let old = entries.iter().find(|entry| L::line(entry) == line);
            Some(old.ok_or_else(|| whole(format!("no entry begins in line {line} any more")))?)
        }
        None => None,
    };
    let entry = typed.check(&asked.text, old, before.map(|(_, form)| form))?;
    let now = L::values(&entry);
    let Some((old, (_, form))) = old.zip(before) else {
        let new_form = L::KIND.new_form();
        let (text, form) = before.map_or((&b""[..], &new_form), |(_, form)| (asked.log.as_bytes(), form));
        let all = logfile::appended(text, form, &now).map_err(whole)?;
        return String::from_utf8(all).map_err(|_| whole("the log is not UTF-8 text".to_owned()));
    };
    let anew = L::exchanged(&now, &L::values(old));
    let new: Vec<Option<String>> = now
        .into_iter()
        .zip(anew)
        .map(|(value, anew)| anew.then_some(value))
        .collect();
    logfile::exchanged(&asked.log, form, L::line(old), Some(&new)).map_err(whole)
}
