//! An answer as data, for a page that builds what is seen itself: words, tables cell by cell, the chart.

use serde::Serialize;

use super::{WebTable, clean, filled, paragraphs, sentences, table};
use crate::render::Render;
use crate::render::chart;
use crate::render::chart::spots::{Of, Spot};
use crate::render::figure::Cell;
use crate::render::grid::Grid;
use crate::render::text::Look;

/// Where there is less room than this, in pixels, not all columns of the widest tables are seen at once.
const SHORT: u32 = 960;

/// An answer taken apart. Every text is plain, without marks of any kind; the chart is a document of its own.
#[derive(Debug, Serialize)]
pub struct Sheet {
    /// What it is about.
    about: String,
    /// The answer: the first sentence is an instruction.
    opening: Vec<String>,
    /// Why, and what may go wrong.
    why: Vec<String>,
    /// The chart as SVG, where there is anything to draw.
    chart: Option<String>,
    /// What can be said of places of the chart.
    readings: Vec<Reading>,
    /// The tables as they are read first.
    tables: Vec<WebTable>,
    /// Those that have more rows, with all of them; each with its place among `tables`.
    whole: Vec<(usize, WebTable)>,
    /// What else there is to know.
    more: Vec<String>,
    /// How to read the figures and what they rest on.
    small: Vec<String>,
    /// What to mind.
    care: String,
}

/// What is said of a place of the chart.
#[derive(Debug, Serialize)]
struct Reading {
    /// Left, top, right and lower end of its ground, in pixels of the picture.
    area: [f64; 4],
    /// What it is, then figures, each with what it says.
    said: Vec<(String, String)>,
}

/// Takes an answer apart; its chart is so many pixels wide, or a sheet of its own.
pub fn sheet(shown: &dyn Render, about: &str, wide: Option<u32>) -> Sheet {
    let look = |all| Look {
        // The button of the page.
        writes: "\"Put it in\"",
        ..Look::page(all)
    };
    let (page, whole) = (shown.page(&look(false)), shown.page(&look(true)));
    let laid = |grid: &Grid| match wide {
        Some(..SHORT) => unmarked(table(&decisive_first(grid))),
        _ => unmarked(table(grid)),
    };
    let said = |texts| paragraphs(texts).iter().map(|text| quoted(text)).collect();
    let tables: Vec<WebTable> = filled(&page).map(laid).collect();
    let all: Vec<WebTable> = filled(&whole).map(laid).collect();
    let plot = shown.plot();
    let (chart, spots) = match wide {
        None => (plot.as_ref().map(chart::svg), None),
        Some(wide) => plot.map(|plot| chart::part(&plot, wide)).unzip(),
    };
    let spots = spots.into_iter().flatten();
    let readings = spots.filter_map(|spot| reading(&all, spot)).collect();
    let longer = all.into_iter().enumerate();
    let longer = longer.filter(|(k, all)| tables.get(*k).is_some_and(|some| some.rows.len() < all.rows.len()));
    Sheet {
        about: clean(about),
        opening: said(&page.opening),
        why: said(&page.why),
        chart,
        readings,
        whole: longer.collect(),
        tables,
        more: said(&page.more),
        small: said(&page.small),
        care: quoted(&sentences(&page.care)),
    }
}

fn unmarked(mut table: WebTable) -> WebTable {
    for note in &mut table.notes {
        *note = quoted(note);
    }
    table
}

/// What stands between marks of code, between quotes, where it has none of its own.
fn quoted(text: &str) -> String {
    let parts: Vec<&str> = text.split('`').collect();
    let last = parts.len() - 1;
    let part = |(k, part): (usize, &&str)| match k % 2 {
        0 => (*part).to_owned(),
        // The last mark stands alone.
        _ if k == last => format!("`{part}"),
        _ if part.contains('"') => (*part).to_owned(),
        _ => format!("\"{part}\""),
    };
    parts.iter().enumerate().map(part).collect()
}

/// A table with the columns that decide before the others, and those behind that a terminal would leave out first: what is seen without pushing
/// it along is what decides. Others that stand under one head stay together.
fn decisive_first(grid: &Grid) -> Grid {
    let mut spare: Vec<u8> = grid.heads.iter().map(|head| head.spare).collect();
    for span in grid.spans() {
        let group = span.first..span.first + span.columns;
        let others = || group.clone().filter(|&column| !grid.heads[column].decides);
        if let Some(least) = others().map(|column| spare[column]).min() {
            for column in others() {
                spare[column] = least;
            }
        }
    }
    let mut order: Vec<usize> = (0..spare.len()).collect();
    // The first says what a row is about.
    order[1..].sort_by_key(|&column| (!grid.heads[column].decides, spare[column]));
    let mut now = grid.clone();
    now.heads = order.iter().map(|&column| grid.heads[column].clone()).collect();
    let cells = |row: &Vec<Cell>| order.iter().filter_map(|&column| row.get(column).cloned()).collect();
    now.rows = grid.rows.iter().map(cells).collect();
    now
}

/// The row of a table that a place of the chart stands for; none where no table has it.
fn reading(tables: &[WebTable], Spot { area, of }: Spot) -> Option<Reading> {
    if let Of::Cell([column, row, figure]) = of {
        let what = format!("{column}, {row}");
        return (!figure.is_empty()).then(|| Reading {
            area,
            said: vec![(clean(&what), clean(&figure))],
        });
    }
    if let Of::Told(said) = of {
        let said = said.into_iter().map(|(what, figure)| (clean(&what), clean(&figure)));
        return Some(Reading {
            area,
            said: said.collect(),
        });
    }
    let is = |cell: &str| match &of {
        Of::Value(value) => number(cell).is_some_and(|told| (told - value).abs() <= 1e-9 * value.abs().max(1.0)),
        Of::Name(name) => cell == clean(name),
        Of::Cell(_) | Of::Told(_) => false,
    };
    let (table, row) = tables.iter().find_map(|table| {
        // Where the first column has no head, it holds names, and a number in a name is no value.
        let named = heads(table).first().is_none_or(String::is_empty);
        let mut rows = table.rows.iter();
        let row = rows.find(|row| row.cells.first().is_some_and(|cell| is(&cell.text)));
        Some((table, row.filter(|_| !(named && matches!(of, Of::Value(_))))?))
    })?;
    let heads = heads(table);
    let said = row.cells.iter().zip(heads).filter(|(cell, _)| !cell.text.is_empty());
    Some(Reading {
        area,
        said: said.map(|(cell, head)| (head, cell.text.clone())).collect(),
    })
}

/// The number that a cell begins with, as it is written for people, behind a mark.
fn number(cell: &str) -> Option<f64> {
    let cell = cell.trim_start_matches(|c: char| !c.is_alphanumeric() && c != '-');
    let end = cell
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-')))
        .unwrap_or(cell.len());
    cell[..end].replace(',', "").parse().ok()
}

/// What stands over each column, with what stands over several.
fn heads(table: &WebTable) -> Vec<String> {
    let Some((first, below)) = table.head.split_first() else {
        return Vec::new();
    };
    let mut below = below.iter().flatten();
    let mut heads = Vec::new();
    for head in first {
        if head.rows > 1 || table.head.len() == 1 {
            heads.push(head.text.clone());
            continue;
        }
        for own in below.by_ref().take(head.columns) {
            heads.push(format!("{}, {}", head.text, own.text));
        }
    }
    heads
}
