//! The table of estimates: a row for each part of a step's time, and how it is read and written.

use crate::render::columns::{self, Columns, MIDDLE, Table, Unit};
use crate::render::figure::{self, Cell};
use crate::render::format::{count, plain_interval};
use crate::stats::estimate::Estimate;
use crate::worklog::fit::{Chance, Fit, From, Job, Part, Range, Sum};

/// A row of the table: a part of a step's time, its setup and pieces together, a chance, the pace, or a job.
#[derive(Clone, Copy)]
pub(super) enum Row<'a> {
    Part(usize, usize, &'a Part),
    Sum(usize, &'a Sum),
    Chance(usize, &'static str, &'a Chance),
    Pace,
    Job(usize, &'a Job),
}

/// Those that are read, and with `all` those that are only in the CSV as well.
pub(super) fn rows(fit: &Fit, all: bool) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for (k, step) in fit.steps.iter().enumerate() {
        rows.extend(step.parts.iter().enumerate().map(|(i, part)| Row::Part(k, i, part)));
        let sum = step.work.as_ref().and_then(|w| w.sum.as_ref());
        rows.extend(sum.filter(|s| s.minutes.low.is_some()).map(|sum| Row::Sum(k, sum)));
        let chances = [("spoil", &step.spoil), ("redo", &step.redo)];
        let chances = chances
            .into_iter()
            .filter_map(|(key, chance)| Some(Row::Chance(k, key, chance.as_ref()?)));
        rows.extend(chances.filter(|_| all));
    }
    if fit.pace.ratio.is_some() || all {
        rows.push(Row::Pace);
    }
    let jobs = fit.pace.jobs.iter().enumerate().map(|(k, job)| Row::Job(k, job));
    rows.extend(jobs.filter(|_| all));
    rows
}

impl Row<'_> {
    /// Where JSON has it.
    fn place(&self) -> String {
        match self {
            Self::Part(step, part, _) => format!("steps[{step}].parts[{part}]"),
            Self::Sum(step, _) => format!("steps[{step}].work.sum"),
            Self::Chance(step, key, _) => format!("steps[{step}].{key}"),
            Self::Pace => "pace".to_owned(),
            Self::Job(job, _) => format!("pace.jobs[{job}]"),
        }
    }

    /// Of which step, or the job.
    fn owner(&self, fit: &Fit) -> String {
        match self {
            Self::Part(step, ..) | Self::Sum(step, _) | Self::Chance(step, ..) => fit.steps[*step].name.clone(),
            Self::Pace => String::new(),
            Self::Job(_, job) => job.name.clone(),
        }
    }

    fn what(&self) -> String {
        match self {
            Self::Part(_, _, part) => part.key.to_owned(),
            Self::Sum(_, sum) => format!("sum of {}", count(sum.pieces.into())),
            Self::Chance(_, key, _) => (*key).to_owned(),
            Self::Pace => "pace".to_owned(),
            Self::Job(..) => "job".to_owned(),
        }
    }

    fn entries(&self, fit: &Fit) -> usize {
        match self {
            Self::Part(_, _, part) => part.entries,
            Self::Sum(step, _) => fit.steps[*step].jobs,
            Self::Chance(step, ..) => fit.steps[*step].entries,
            Self::Pace => fit.entries,
            Self::Job(_, job) => job.entries,
        }
    }

    /// What the file expects, and what the log says.
    fn figures(&self, fit: &Fit) -> Option<(f64, Estimate)> {
        match self {
            Self::Part(_, _, part) => Some((part.expected, part.found)),
            Self::Sum(_, sum) => Some((sum.expected, sum.minutes)),
            Self::Pace => Some((fit.pace.was.mean, fit.pace.ratio?)),
            Self::Chance(..) | Self::Job(..) => None,
        }
    }

    /// The new range, or that the old one stays.
    fn renewed(&self, fit: &Fit) -> [Cell; 3] {
        let stays = || ["", "stays", ""].map(Cell::from);
        let of = |range: Range| [range.p10, range.mean, range.p90].map(|v| self.cell(v));
        match self {
            Self::Part(..) | Self::Pace if fit.settled => stays(),
            Self::Part(_, _, part) if part.from == From::File => stays(),
            Self::Part(_, _, part) => of(part.new),
            Self::Pace => fit.pace.new.map_or_else(stays, of),
            _ => Default::default(),
        }
    }

    fn cell(&self, value: f64) -> Cell {
        match self {
            Self::Pace => Unit::Ratio.cell(value),
            _ => Unit::Minutes.cell(value),
        }
    }
}

/// Row by row; what has no head is only in the CSV.
pub(super) fn table<'a>(fit: &'a Fit, rows: Vec<Row<'a>>) -> Table<'a, Row<'a>> {
    let mut c: Columns<'a, Row<'a>> = Columns::default();
    c.text("step", |row| row.owner(fit));
    c.text("part", Row::what);
    c.said("name", |row| match row {
        Row::Pace => "pace".into(),
        row => row.owner(fit).into(),
    })
    .plain("step")
    .breaks(12)
    .once();
    c.said("key", |row| match row {
        Row::Pace => "factor".into(),
        row => row.what().replace('_', " ").into(),
    })
    .plain("what it\ntakes");
    c.figure("entries", Unit::Count, |row| Some(row.entries(fit) as f64));
    c.shown("counted", |row| {
        figure::count(match row {
            Row::Pace => fit.pace.jobs.len(),
            row => row.entries(fit),
        } as u64)
    })
    .head("entries\nin the log")
    .note("Entries in the log: for a sum and for the pace it is the number of jobs.")
    .spare(2);
    c.field("from", Unit::Text);
    written(&mut c, fit);
    shown(&mut c, fit);
    Table::new("Step by step", fit, "", rows, c).placed(|_, row| row.place())
}

/// Figures of the CSV.
fn written<'a>(c: &mut Columns<'a, Row<'a>>, fit: &'a Fit) {
    c.fields("was", MIDDLE, Unit::Minutes);
    c.field("was", Unit::Minutes).named("was_mean");
    c.fields("new", MIDDLE, Unit::Minutes);
    c.figure("new_mean", Unit::Minutes, |row| match row {
        Row::Chance(_, _, chance) => chance.contradicts.then_some(chance.share.share),
        _ => None,
    });
    for path in ["expected", "was.mean", "was"] {
        c.field(path, Unit::Minutes).named("expected");
    }
    for (name, paths) in [
        (
            "found",
            ["found.value", "minutes.value", "share.share", "ratio.value"].as_slice(),
        ),
        ("found_se", &["found.se", "minutes.se", "ratio.se"]),
        ("found_low", &["found.low", "minutes.low", "share.low", "ratio.low"]),
        (
            "found_high",
            &["found.high", "minutes.high", "share.high", "ratio.high"],
        ),
    ] {
        for path in paths {
            c.field(*path, Unit::Minutes).named(name);
        }
    }
    c.field("ratio", Unit::Minutes).named("found");
    c.field("times", Unit::Count);
    c.figure("times", Unit::Count, |row| {
        matches!(row, Row::Pace).then(|| fit.pace.jobs.len() as f64)
    });
    c.field("of", Unit::Count);
}

/// Figures as they are read.
fn shown<'a>(c: &mut Columns<'a, Row<'a>>, fit: &'a Fit) {
    c.shown("expects", |row| {
        row.figures(fit).map(|(expected, _)| row.cell(expected)).into()
    })
    .head("minutes\nthe file\nexpects")
    .note("The file expects: its mean times its pace.");
    c.shown("says", |row| {
        row.figures(fit).map(|(_, found)| row.cell(found.value)).into()
    })
    .plain("minutes\nthe log\nsays");
    c.shown("interval", move |row| {
        let ends = row.figures(fit).and_then(|(_, found)| found.low.zip(found.high));
        let interval = |(low, high): (f64, f64)| {
            let low = low.max(0.0);
            let text = plain_interval(&row.cell(low).text, &row.cell(high).text);
            columns::between(text, [Some(low), Some(high)], Unit::Minutes)
        };
        ends.map(interval).into()
    })
    .head("true minutes\nlie between")
    .note(
        "True minutes: 95 times in 100 they lie there, by jobs that differ in pace and by setups and pieces that vary.",
    );
    for (k, head) in ["10 %\ntake\nless", "on\naverage", "10 %\ntake\nmore"]
        .into_iter()
        .enumerate()
    {
        c.shown(head, move |row| row.renewed(fit)[k].clone())
            .head(head)
            .under("minutes to write")
            .note("Minutes to write: the range that is put in has these three figures.")
            .spare(u8::from(k != 1));
    }
}
