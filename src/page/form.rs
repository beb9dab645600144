//! The scenario's text as fields, and its faults at them.

use serde::Serialize;

use crate::render::text::printable;
use crate::scenario::written::{self, Address, Figures, Section};
use crate::scenario::{Fault, Faults};

/// A section of the form.
#[derive(Debug, Serialize)]
pub(crate) struct Group {
    section: String,
    entry: Option<usize>,
    name: Option<String>,
    fields: Vec<Field>,
}

/// A value of the form.
#[derive(Debug, Serialize)]
struct Field {
    key: String,
    /// As a person writes it.
    written: String,
    /// As a person says it, where that is not as it is written.
    said: Option<String>,
    /// Whether one time in ten is below its first number, and one in ten above its last.
    tenths: bool,
    /// What its comment says.
    comment: Option<String>,
    /// Its numbers, where they can be dragged.
    figures: Option<Scale>,
    /// Its entries as pairs of name and what is written, where it is a list that has rows.
    rows: Option<Vec<Vec<(String, String)>>>,
}

/// Numbers on a scale.
#[derive(Debug, Serialize)]
struct Scale {
    /// What stands around the numbers, one more than there are.
    between: Vec<String>,
    numbers: Vec<Number>,
    top: f64,
    step: f64,
}

#[derive(Debug, Serialize)]
struct Number {
    value: f64,
    decimals: usize,
    worth: f64,
    hours_and_minutes: bool,
}

impl From<&Figures> for Scale {
    fn from(figures: &Figures) -> Self {
        Self {
            between: figures.between.clone(),
            numbers: figures
                .list
                .iter()
                .map(|f| Number {
                    value: f.value,
                    decimals: f.decimals,
                    worth: f.worth,
                    hours_and_minutes: f.hours_and_minutes,
                })
                .collect(),
            top: figures.top,
            step: figures.step,
        }
    }
}

/// The form of a text that was taken apart.
pub(crate) fn groups(sections: &[Section]) -> Vec<Group> {
    sections
        .iter()
        .map(|section| Group {
            section: section.word.clone(),
            entry: section.entry,
            name: section.name.clone(),
            fields: section
                .values
                .iter()
                .map(|value| Field {
                    key: value.key.clone(),
                    written: value.shown.clone(),
                    said: (value.said != value.shown).then(|| value.said.clone()),
                    tenths: value.tenths,
                    comment: value.comment.clone(),
                    figures: value.figures.as_ref().map(Scale::from),
                    rows: value
                        .rows
                        .as_ref()
                        .map(|rows| rows.iter().map(|row| row.cells.clone()).collect()),
                })
                .collect(),
        })
        .collect()
}

/// A fault with its place.
#[derive(Debug, Serialize)]
pub(crate) struct Wrong {
    what: String,
    label: String,
    cure: String,
    /// Counted from 1.
    line: usize,
    /// Counted from 1, in characters.
    column: usize,
    /// The text in question.
    excerpt: String,
    /// Its value; with an empty key, its section; absent: the text as a whole.
    at: Option<Address>,
    /// The entry of its list, where it is in one.
    row: Option<usize>,
}

/// All faults, by place; `text` as it was read, its byte order mark with it.
pub(crate) fn wrong(text: &str, sections: Option<&[Section]>, faults: &Faults) -> Vec<Wrong> {
    let mark = written::mark_length(text);
    let (listed, _) = faults.shown();
    listed
        .iter()
        .map(|fault| {
            let (line, column) = faults.line_and_column(fault);
            let span = fault.span();
            let span = span.start + mark..span.end + mark;
            let (at, row) = sections.and_then(|sections| place(sections, &span, text.len())).unzip();
            let excerpt = text.get(span.clone()).unwrap_or("").to_owned();
            Wrong {
                what: match sections {
                    Some(_) => fault.what().to_owned(),
                    None => without_form(fault, &excerpt),
                },
                label: fault.label().to_owned(),
                cure: fault.cure().to_owned(),
                line,
                column,
                excerpt,
                at,
                row: row.flatten(),
            }
        })
        .collect()
}

/// Letters of a marked text that are said at the most.
const MARKED: usize = 48;

/// What is wrong with a text that is no TOML: there is no field to stand at, so that the words of the mark are said too.
fn without_form(fault: &Fault, excerpt: &str) -> String {
    let (what, label) = (fault.what(), fault.label());
    let marked: String = printable(excerpt.trim()).chars().take(MARKED).collect();
    if marked.is_empty() {
        format!("{what}: {label}")
    } else {
        format!("{what}; at `{marked}`: {label}")
    }
}

/// The value that a stretch of the text is in, and which entry of it.
fn place(sections: &[Section], span: &std::ops::Range<usize>, length: usize) -> Option<(Address, Option<usize>)> {
    let address = |section: &Section, key: &str| Address {
        section: section.word.clone(),
        entry: section.entry,
        key: key.to_owned(),
    };
    let touches = |value: &std::ops::Range<usize>| span.start < value.end && span.end > value.start || *span == *value;
    for section in sections {
        if let Some(value) = section.values.iter().find(|v| touches(&v.span)) {
            let row = value
                .rows
                .as_ref()
                .and_then(|rows| rows.iter().position(|row| touches(&row.span)));
            return Some((address(section, &value.key), row));
        }
    }
    // A fault at the very end is about what is not there at all.
    let within = sections.iter().rfind(|s| s.start <= span.start);
    within.filter(|_| span.start < length).map(|s| (address(s, ""), None))
}
