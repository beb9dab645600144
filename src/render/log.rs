//! What is in a work log: words, a table, JSON and CSV.

#[cfg(feature = "charts")]
use super::chart::ChartError;
use super::figure;
use super::format::{self, count, hours};
use super::grid::Grid;
use super::{Render, csv, json, text};
use crate::worklog::look::{Look, StepLook};

impl Render for Look {
    fn page(&self, look: &text::Look) -> text::Page {
        text::Page {
            title: self.name.clone(),
            opening: verdict(self),
            why: Vec::new(),
            tables: if self.steps.is_empty() {
                Vec::new()
            } else {
                vec![steps(self, look)]
            },
            more: Vec::new(),
            small: vec!["A piece: minutes over pieces, setup in it; `batchwright fit` takes the two apart.".to_owned()],
            chart: None,
            care: String::new(),
        }
    }

    fn json(&self) -> String {
        json::pretty(self)
    }

    fn csv(&self) -> String {
        table(self)
    }

    #[cfg(feature = "charts")]
    fn svg(&self) -> Result<String, ChartError> {
        Err(ChartError::Empty)
    }

    #[cfg(feature = "charts")]
    fn png(&self) -> Result<Vec<u8>, ChartError> {
        Err(ChartError::Empty)
    }
}

/// What was understood, in sentences.
fn verdict(look: &Look) -> Vec<String> {
    if look.entries == 0 {
        return vec!["The log has no entries yet.".to_owned()];
    }
    let entries = match look.entries {
        1 => "1 entry".to_owned(),
        n => format!("{} entries", count(n as u64)),
    };
    let when = match (&look.first, &look.last) {
        (Some(first), Some(last)) if first != last => format!(" from {first} to {last}"),
        (Some(day), _) => format!(" of {day}"),
        _ => String::new(),
    };
    let jobs = match look.jobs.len() {
        0 => "no job named".to_owned(),
        1 => "1 job".to_owned(),
        n => format!("{} jobs", count(n as u64)),
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

fn steps(look: &Look, page: &text::Look) -> Grid {
    let room = page.letters(page.columns.saturating_sub(64).clamp(12, 40));
    let some = |n: Option<u64>| n.map_or_else(figure::nothing, figure::count);
    let number = |n: u64| if n == 0 { figure::nothing() } else { figure::count(n) };
    let rows = look
        .steps
        .iter()
        .map(|step| {
            let sizes = match (step.least, step.most) {
                (Some(a), Some(b)) => format::plain_interval(&count(a.into()), &count(b.into())).into(),
                _ => figure::nothing(),
            };
            let each = per_piece(step).map_or_else(figure::nothing, figure::minutes);
            let mark = if step.known == Some(false) { "? " } else { "" };
            vec![
                format!("{mark}{}", text::cut(&step.name, room)).into(),
                figure::count(step.entries as u64),
                number(step.pieces),
                sizes,
                number(step.orders),
                figure::hours(step.minutes / 60.0),
                each,
                some(step.spoiled),
                some(step.redone),
            ]
        })
        .collect();
    let heads = [
        "\nstep",
        "\nentries",
        "\npieces",
        "at a\ntime",
        "\norders",
        "hands-on\ntime",
        "min\na piece",
        "\nspoiled",
        "\nredone",
    ];
    Grid {
        name: "Step by step".to_owned(),
        heads: heads.map(String::from).to_vec(),
        rows,
        left: 1,
        marked: None,
        ..Grid::default()
    }
}

fn per_piece(step: &StepLook) -> Option<f64> {
    (step.pieces > 0 && step.orders == 0).then(|| step.minutes / step.pieces as f64)
}

/// One row a step, unrounded.
fn table(look: &Look) -> String {
    let header = [
        "step",
        "known",
        "entries",
        "pieces",
        "least_pieces",
        "most_pieces",
        "orders",
        "minutes",
        "spoiled",
        "redone",
    ];
    let mut table = csv::Table::new(header.map(String::from).to_vec());
    let whole = |n: Option<u64>| n.map_or_else(String::new, |n| n.to_string());
    for step in &look.steps {
        table.row(vec![
            step.name.clone(),
            step.known.map_or_else(String::new, |k| k.to_string()),
            step.entries.to_string(),
            step.pieces.to_string(),
            whole(step.least.map(u64::from)),
            whole(step.most.map(u64::from)),
            step.orders.to_string(),
            csv::cell(Some(step.minutes)),
            whole(step.spoiled),
            whole(step.redone),
        ]);
    }
    table.into_text()
}
