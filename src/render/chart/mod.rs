//! Plots as SVG and PNG, each drawn once for both: the same shapes, the same letters. No question is known here.
//!
//! Which file does what: `page` has head and foot and every stroke; `panel` curves, `rows` named rows, `map` shaded cells;
//! `labels` decides where labels go; `lettering` has the embedded font; `canvas` records what plotters draws, `svg` and
//! `raster` write it down.
//!
//! Assumption: charts are read on screens and printed in grey, so nothing is told by hue alone.

mod canvas;
mod labels;
#[cfg(all(test, feature = "cli"))]
mod legible;
mod lettering;
mod map;
mod names;
mod page;
mod panel;
#[cfg(feature = "png")]
mod raster;
mod rows;
pub(super) mod spots;
mod svg;

use super::plot::{Field, Plot, RowShape};
#[cfg(feature = "png")]
use canvas::{Canvas, Mark};
use page::{Page, Paper};
use spots::Spot;
use std::fmt;
use svg::Colours;
#[cfg(feature = "report")]
pub(super) use svg::apart;

/// Why there is no chart.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum ChartError {
    /// The answer holds nothing to draw.
    Empty,
    /// The picture could not be written as PNG, with the reason.
    Encoding(String),
    /// The picture has a size that cannot be.
    Size,
}

#[cfg(feature = "png")]
impl From<png::EncodingError> for ChartError {
    fn from(reason: png::EncodingError) -> Self {
        Self::Encoding(reason.to_string())
    }
}

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("there is nothing to draw"),
            Self::Encoding(reason) => write!(f, "the chart could not be written as PNG: {reason}"),
            Self::Size => f.write_str("the chart has no size that a picture can have"),
        }
    }
}

impl std::error::Error for ChartError {}

/// A plot as SVG, 1000 pixels wide.
pub(super) fn svg(plot: &Plot) -> String {
    let title = format!("{}: {}", plot.title, plot.headline.trim_end_matches('.'));
    let drawn = page(plot, Paper::SHEET).drawn();
    svg::document(&drawn, &title, &plot.description, Colours::Fixed)
}

/// A plot as SVG so many pixels wide (280 to 1200), for a page that says itself what it is about: without head and foot, its colours
/// named so that the page may give them others, its labels above the panels where there is no room beside; and its places.
pub(super) fn part(plot: &Plot, width: u32) -> (String, Vec<Spot>) {
    let title = format!("{}: {}", plot.title, plot.headline.trim_end_matches('.'));
    let page = page(plot, Paper::part(width, plot));
    let spots = spots::of(&page, plot);
    let svg = svg::document(&page.drawn(), &title, &plot.description, Colours::Named);
    (svg, spots)
}

/// A plot as pictures for paper, one a panel: in a column that is half a page wide, or over both where `wide` says so.
pub(super) struct Piece {
    pub(super) svg: String,
    pub(super) wide: bool,
}

/// Pixels across a column of a printed page, and across two: letters of 13 pixels, the smallest, are 7.3 pt high there.
const COLUMN: u32 = 470;
const COLUMNS: u32 = 960;
/// Heights in a column, in pixels: of a field of curves at the most, and of a named row.
const FIELD: f64 = 160.0;
const ROW: f64 = 18.0;
const ROW_OF_CELLS: f64 = 21.0;

/// A plot as pictures for a page that is printed in two columns and says itself what the plot is about.
pub(super) fn pieces(plot: &Plot) -> Vec<Piece> {
    let cut = cut(plot).into_iter().zip(&plot.panels).enumerate();
    cut.map(|(k, ((piece, paper), panel))| {
        let (said, description) = if k == 0 {
            (plot.headline.trim_end_matches('.'), plot.description.clone())
        } else {
            (panel.title.as_str(), panel.said_beside())
        };
        let title = format!("{}: {said}", plot.title);
        let svg = svg::document(&page(&piece, paper).drawn(), &title, &description, Colours::Fixed);
        let wide = matches!(panel.field, Field::Map(_));
        Piece { svg, wide }
    })
    .collect()
}

/// Each panel of a plot alone, and the paper it is printed on.
fn cut(plot: &Plot) -> Vec<(Plot, Paper)> {
    let tall = Paper::part(COLUMNS, plot).heights(plot);
    let panels = plot.panels.iter().zip(tall);
    panels
        .map(|(panel, tall)| {
            let wide = matches!(panel.field, Field::Map(_));
            let mut piece = Plot {
                panels: vec![panel.clone()],
                ..Plot::default()
            };
            let paper = Paper::column(if wide { COLUMNS } else { COLUMN }, &piece);
            let height = match &panel.field {
                Field::Map(_) => tall,
                Field::Curves(_) => tall.min(FIELD),
                Field::Rows { names, layers } => {
                    let cells = layers.iter().any(|layer| matches!(layer.shape, RowShape::Cell { .. }));
                    let row = if cells { ROW_OF_CELLS } else { ROW };
                    let folds = names::least(&paper.row_names(panel, names)) - names::LOWEST * names.len() as f64;
                    tall.min(names.len() as f64 * row) + folds
                }
            };
            piece.height = page::height_of_one(height);
            (piece, paper)
        })
        .collect()
}

/// A plot as PNG, 1000 pixels wide, on white; and the letters of it that the font lacks, each once, as they come.
///
/// # Errors
///
/// [`ChartError::Encoding`] where PNG writing fails.
#[cfg(feature = "png")]
pub(super) fn png(plot: &Plot) -> Result<(Vec<u8>, String), ChartError> {
    let drawn = page(plot, Paper::SHEET).drawn();
    Ok((raster::png(&drawn)?, lacking_on(&drawn)))
}

/// Those letters alone.
#[cfg(feature = "png")]
pub(super) fn lacking(plot: &Plot) -> String {
    lacking_on(&page(plot, Paper::SHEET).drawn())
}

#[cfg(feature = "png")]
fn lacking_on(canvas: &Canvas) -> String {
    let mut found = String::new();
    for mark in canvas.marks() {
        let Mark::Text { text, letters, .. } = mark else {
            continue;
        };
        let lacking = lettering::layout(text, letters.weight).lacking;
        for c in lacking.iter().flat_map(|lacking| lacking.text.chars()) {
            if c != ' ' && !found.contains(c) {
                found.push(c);
            }
        }
    }
    found
}

fn page(plot: &Plot, paper: Paper) -> Page {
    let page = Page::new(plot, paper);
    for (panel, bounds) in plot.panels.iter().zip(page.stacked(plot)) {
        match &panel.field {
            Field::Curves(curves) => panel::draw(&page, bounds, panel, curves),
            Field::Rows { names, layers } => rows::draw(&page, bounds, panel, names, layers),
            Field::Map(map) => map::draw(&page, bounds, panel, map),
        }
    }
    page
}

#[cfg(test)]
mod tests;
