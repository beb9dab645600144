//! Answers as HTML: a fragment for each answer and the one style sheet, for whole pages (`render::report`) and for parts of
//! them. What is written is well-formed XML as well as HTML, so that it can be read back with either's parser.
//!
//! Assumption: a page is read without scripts and without a network; everything it needs stands in it.

use std::collections::BTreeMap;

use askama::Template;
use serde::Serialize;

use super::Render;
use super::chart::{self, Piece};
use super::grid::Grid;
use super::page::Page;
use super::plot::Plot;
use super::text::Look;
use crate::clean;

mod sheet;
pub use sheet::{Sheet, sheet};

/// Colours, letters and layout of a page without charts, light and dark, on screens and on paper.
pub const PLAIN_STYLE: &str = include_str!("style.css");

/// Those of a page with charts, which stand on its ground.
pub const STYLE: &str = concat!(
    include_str!("style.css"),
    ":root { --c-ffffff: var(--ground); }\n",
    include_str!("charts.css")
);

/// Pixels across a chart on a screen, and on a phone. The broad one stands there at 704 pixels or more, so that its smallest letters, of 13, are
/// 12 pixels high.
const BROAD: u32 = 760;
const NARROW: u32 = 340;

/// Where a fragment stands.
#[derive(Debug, Clone, Copy)]
pub struct Place<'a> {
    /// Its name in the page, unlike any other there: letters, digits and hyphens.
    pub id: &'a str,
    /// The level of its heading, 1 to 6.
    pub level: u8,
    /// Its heading.
    pub heading: &'a str,
    /// Whether what to mind stands in it, and not elsewhere on the page.
    pub care: bool,
    /// Whether it has charts for paper as well, a panel each, which fill two columns of a printed page.
    pub printed: bool,
}

/// The letters of the charts of a page. Each has an outline that is defined once a page, however many charts use it.
#[derive(Debug, Clone, Default)]
pub struct Letters(BTreeMap<String, String>);

impl Letters {
    /// Takes the letters out of a chart and gives back what is left of it, to stand in a page that has
    /// [`Letters::definitions`].
    pub fn take(&mut self, svg: &str) -> String {
        let (letters, rest) = chart::apart(svg);
        for (id, definition) in letters {
            self.0.entry(id.to_owned()).or_insert_with(|| definition.to_owned());
        }
        rest
    }

    /// The definitions, to stand once in the page; nothing is seen of them.
    pub(crate) fn definitions(&self) -> String {
        let letters: String = self.0.values().map(|letter| format!("{letter}\n")).collect();
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"letters\" width=\"0\" height=\"0\" aria-hidden=\"true\">\n\
             <defs>\n{letters}</defs>\n</svg>\n"
        )
    }
}

/// An answer as a `<section>`: heading, opening, why, chart, tables, small print; rows that were left out, and what else there is to
/// know, can be opened. The chart's letters go into `letters`. An answer that has no chart is shown without.
///
/// All texts are escaped: titles and names are whatever somebody wrote.
pub fn answer(shown: &dyn Render, place: &Place<'_>, letters: &mut Letters) -> String {
    let page = shown.page(&Look::page(false));
    let whole = shown.page(&Look::page(true));
    // Without anything to draw there is no chart, which is no fault of the page.
    let plot = shown.plot();
    let mut chart = |width| Some(letters.take(&chart::part(plot.as_ref()?, width).0));
    let charts = [("broad", BROAD), ("narrow", NARROW)]
        .into_iter()
        .filter_map(|(name, width)| Some((name, chart(width)?)))
        .collect();
    // The first is what is asked for; what is long beside it is charted, and whole on a screen and in the workbook.
    let on_paper = filled(&page).enumerate();
    let on_paper = on_paper.filter(|(k, table)| *k == 0 || table.rows.len() <= LONG);
    let paper = place.printed.then(|| Paper {
        pieces: pieces(plot.as_ref(), letters),
        tables: on_paper.map(|(_, table)| for_paper(table)).collect(),
    });
    fragment(&page, &whole, charts, paper, place)
}

/// Pictures of one chart, of which the style sheet has one seen, by its name there.
type Charts = Vec<(&'static str, String)>;

/// An answer as it is printed, in two columns: a picture a panel, tables of which some have columns left out.
struct Paper {
    pieces: Vec<Piece>,
    tables: Vec<WebTable>,
}

fn pieces(plot: Option<&Plot>, letters: &mut Letters) -> Vec<Piece> {
    let mut taken = |piece: Piece| Piece {
        svg: letters.take(&piece.svg),
        ..piece
    };
    plot.into_iter().flat_map(chart::pieces).map(&mut taken).collect()
}

/// A table for paper: in a column where it has room there without few of the columns that may go, else over both, whole.
fn for_paper(grid: &Grid) -> WebTable {
    let narrow = grid.clone().fitted(COLUMN);
    let gone = grid.heads.len() - narrow.heads.len();
    let fits = gone <= GONE && letters_across(&narrow) <= COLUMN;
    table(if fits { &narrow } else { grid })
}

fn filled(page: &Page) -> impl Iterator<Item = &Grid> {
    page.tables.iter().filter(|table| !table.heads.is_empty())
}

/// [`answer`] of pages that are at hand: `whole` has every row.
fn fragment(page: &Page, whole: &Page, charts: Charts, paper: Option<Paper>, place: &Place<'_>) -> String {
    let longer = page.tables.iter().zip(&whole.tables);
    let longer = longer.filter(|(some, all)| all.rows.len() > some.rows.len());
    // What explains a table stands under it once, where all its rows are at hand.
    let quiet = |grid: &Grid| WebTable {
        notes: Vec::new(),
        ..table(grid)
    };
    Fragment {
        id: place.id,
        level: &format!("h{}", place.level.clamp(1, 6)),
        heading: &clean(place.heading),
        opening: &sentences(&page.opening.join(" ")),
        why: (!page.why.is_empty()).then(|| sentences(&page.why.join(" "))),
        charts,
        paper,
        tables: filled(page).map(table).collect(),
        whole: longer.map(|(_, all)| quiet(all)).collect(),
        more: paragraphs(&page.more),
        small: paragraphs(&page.small),
        care: (place.care && !page.care.is_empty()).then(|| sentences(&page.care)),
    }
    .render()
    // Rendering to memory fails only where a value cannot be displayed, and texts always can.
    .unwrap_or_default()
}

fn paragraphs(texts: &[String]) -> Vec<String> {
    texts.iter().filter(|p| !p.is_empty()).map(|p| sentences(p)).collect()
}

/// Text without what steers a screen or is no character of XML.
pub(in crate::render) fn clean(text: &str) -> String {
    clean::line(text).into_owned()
}

/// Running text: a figure keeps its sign on its line, marks keep their gaps.
pub(in crate::render) fn sentences(text: &str) -> String {
    clean(text).replace(" %", "\u{a0}%").replace("   ", " \u{a0} ")
}

/// A file's text, its lines kept.
pub(in crate::render) fn source(text: &str) -> String {
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n");
    let lines: Vec<String> = text
        .split('\n')
        .map(|line| clean(&line.replace('\t', "    ")))
        .collect();
    lines.join("\n")
}

#[derive(Template)]
#[template(path = "answer.html", config = "src/render/web/askama.toml")]
struct Fragment<'a> {
    id: &'a str,
    level: &'a str,
    heading: &'a str,
    opening: &'a str,
    why: Option<String>,
    charts: Charts,
    paper: Option<Paper>,
    tables: Vec<WebTable>,
    whole: Vec<WebTable>,
    more: Vec<String>,
    small: Vec<String>,
    care: Option<String>,
}

/// A table as the template wants it.
#[derive(Debug, Serialize)]
pub(in crate::render) struct WebTable {
    pub(in crate::render) name: String,
    /// Whether it is too wide for a column that is half a printed page wide.
    #[serde(skip)]
    pub(in crate::render) wide: bool,
    pub(in crate::render) head: Vec<Vec<Head>>,
    pub(in crate::render) rows: Vec<Row>,
    /// What explains it.
    pub(in crate::render) notes: Vec<String>,
}

#[derive(Debug, Serialize)]
pub(in crate::render) struct Head {
    pub(in crate::render) text: String,
    pub(in crate::render) columns: usize,
    pub(in crate::render) rows: usize,
    pub(in crate::render) figures: bool,
}

#[derive(Debug, Serialize)]
pub(in crate::render) struct Row {
    pub(in crate::render) cells: Vec<WebCell>,
    pub(in crate::render) marked: bool,
}

#[derive(Debug, Serialize)]
pub(in crate::render) struct WebCell {
    pub(in crate::render) text: String,
    /// Whether it says what the row is about.
    pub(in crate::render) heads: bool,
    pub(in crate::render) figures: bool,
}

pub(in crate::render) fn table(grid: &Grid) -> WebTable {
    WebTable {
        name: clean(&grid.name),
        wide: letters_across(grid) > COLUMN,
        head: head(grid),
        rows: (0..grid.rows.len()).map(|k| row(grid, k)).collect(),
        notes: grid.explained().iter().map(|p| sentences(p)).collect(),
    }
}

/// So many letters have room in a column of a printed page.
const COLUMN: usize = 62;
/// Columns that a table gives up at the most to stand in one.
const GONE: usize = 2;
/// Rows of a table that stands on paper beside the first.
const LONG: usize = 15;

/// Letters that a table takes across, with those that the gaps between columns are worth. Words may be broken over lines.
fn letters_across(grid: &Grid) -> usize {
    const GAP: usize = 2;
    const WORDS: usize = 14;
    let letters = |text: &str| text.chars().count();
    let longest = |text: &str| text.split_whitespace().map(letters).max().unwrap_or(0);
    let column = |(k, head): (usize, &super::grid::Head)| {
        let cells = grid.rows.iter().filter_map(|row| {
            let text = row.get(k)?.read(true);
            let whole = letters(&text);
            Some(if head.words {
                whole.min(WORDS.max(longest(&text)))
            } else {
                whole
            })
        });
        cells.chain([longest(&head.lines)]).max().unwrap_or(0) + GAP
    };
    grid.heads.iter().enumerate().map(column).sum()
}

/// One line of heads, or two where some stand over several columns.
fn head(grid: &Grid) -> Vec<Vec<Head>> {
    let spans = grid.spans();
    let two = !spans.is_empty();
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for (column, head) in grid.heads.iter().enumerate() {
        let own = Head {
            text: sentences(&head.own()),
            columns: 1,
            rows: 1,
            figures: !head.words,
        };
        let Some(spanner) = &head.spanner else {
            first.push(Head {
                rows: if two { 2 } else { 1 },
                ..own
            });
            continue;
        };
        if let Some(span) = spans.iter().find(|span| span.first == column) {
            first.push(Head {
                text: clean(spanner),
                columns: span.columns,
                rows: 1,
                figures: true,
            });
        }
        second.push(own);
    }
    if two { vec![first, second] } else { vec![first] }
}

fn row(grid: &Grid, k: usize) -> Row {
    let cells = grid.rows[k].iter().enumerate().map(|(column, cell)| {
        let text = clean(&cell.read(true).replace('\n', " "));
        WebCell {
            heads: column == 0 && !text.is_empty(),
            figures: !grid.heads[column].words,
            text,
        }
    });
    Row {
        cells: cells.collect(),
        marked: grid.marked == Some(k),
    }
}

#[cfg(test)]
mod tests;
