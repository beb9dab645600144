//! What is in a work log: words, a table, JSON and CSV.

use super::columns::{Columns, Declared, Table, Unit};
use super::figure::Mark;
use super::format::{self, count, hours};
use super::page::Page;
use super::words::number_of;
use super::{Render, text};
use crate::worklog::look::{Look, StepLook};

impl Render for Look {
    fn page(&self, look: &text::Look) -> Page {
        Page {
            title: self.name.clone(),
            opening: verdict(self),
            tables: self.grids(look),
            ..Page::default()
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(steps(self)))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        if self.steps.is_empty() {
            Vec::new()
        } else {
            vec![Box::new(steps(self))]
        }
    }
}

/// What was understood, in sentences.
fn verdict(look: &Look) -> Vec<String> {
    if look.entries == 0 {
        return vec!["The log has no entries yet.".to_owned()];
    }
    let entries = number_of(look.entries as u64, "entry", "entries");
    let when = match (&look.first, &look.last) {
        (Some(first), Some(last)) if first != last => format!(" from {first} to {last}"),
        (Some(day), _) => format!(" of {day}"),
        _ => String::new(),
    };
    let jobs = match look.jobs.len() {
        0 => "no job named".to_owned(),
        n => number_of(n as u64, "job", "jobs"),
    };
    let mut said = vec![format!(
        "{entries}{when}, {jobs}, {} of hands-on time.",
        hours(look.minutes / 60.0)
    )];
    if let Some(title) = &look.scenario {
        let foreign = look.steps.iter().filter(|s| s.known == Some(false)).count();
        let title = text::printable(title);
        said.push(match foreign {
            0 => format!("Every step is one of {title}."),
            1 => format!("1 step of the log is not in {title}."),
            n => format!("{} steps of the log are not in {title}.", count(n as u64)),
        });
    }
    said
}

/// All columns are the CSV.
fn steps(look: &Look) -> Table<'_, &StepLook> {
    let some = |n: u64| if n == 0 { String::new() } else { count(n) };
    let mut c: Columns<'_, &StepLook> = Columns::default();
    c.field("name", Unit::Text).named("step").plain("step").breaks(12);
    c.field("known", Unit::Text);
    c.field("entries", Unit::Count).plain("entries");
    c.field("pieces", Unit::Count)
        .says(move |s| some(s.pieces))
        .plain("pieces");
    c.field("least", Unit::Count).named("least_pieces");
    c.field("most", Unit::Count).named("most_pieces");
    c.shown("sizes", |s| {
        let ends = s.least.zip(s.most);
        ends.map(|(a, b)| format::plain_interval(&count(a.into()), &count(b.into())))
            .into()
    })
    .plain("at a\ntime")
    .spare(1);
    c.field("orders", Unit::Count)
        .says(move |s| some(s.orders))
        .plain("orders");
    c.field("minutes", Unit::Minutes);
    c.shown("hands", move |s| Unit::Hours.cell(s.hours()))
        .plain("hands-on\ntime");
    c.shown("each", |s| s.minutes_a_piece().map(|v| Unit::Minutes.cell(v)).into())
        .head("minutes\na piece")
        .note("Minutes a piece: minutes over pieces, setup in it; `batchwright fit` takes the two apart.");
    c.field("spoiled", Unit::Count).plain("spoiled");
    c.field("redone", Unit::Count).plain("redone");
    Table::new("Step by step", look, "steps", &look.steps, c).mark(Mark::Unknown, "", |s| s.known == Some(false))
}
