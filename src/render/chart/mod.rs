//! Plots as SVG and PNG, each drawn once for both: the same shapes, the same letters. No question is known here.
//!
//! Which file does what: `page` has head and foot and every stroke; `panel` curves, `rows` named rows, `map` shaded cells;
//! `labels` decides where labels go; `lettering` has the embedded font; `canvas` records what plotters draws, `svg` and
//! `raster` write it down.
//!
//! Assumption: charts are read on screens and printed in grey, so nothing is told by hue alone.

mod canvas;
mod labels;
mod lettering;
mod map;
mod page;
mod panel;
mod raster;
mod rows;
pub(super) mod spots;
mod svg;

use super::plot::{Field, Plot};
use canvas::Canvas;
use page::{Page, Paper};
use plotters::drawing::DrawingArea;
use spots::Spot;
use std::cell::RefCell;
use std::fmt;
use std::rc::Rc;
use svg::Colours;

/// Why there is no chart.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum ChartError {
    /// The answer holds nothing to draw.
    Empty,
    /// The drawing itself failed, with the reason.
    Drawing(String),
    /// The picture could not be written as PNG, with the reason.
    Encoding(String),
    /// The picture has a size that cannot be.
    Size,
}

impl ChartError {
    fn encoding(reason: &png::EncodingError) -> Self {
        Self::Encoding(reason.to_string())
    }
}

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("there is nothing to draw"),
            Self::Drawing(reason) => write!(f, "the chart could not be drawn: {reason}"),
            Self::Encoding(reason) => write!(f, "the chart could not be written as PNG: {reason}"),
            Self::Size => f.write_str("the chart has no size that a picture can have"),
        }
    }
}

impl std::error::Error for ChartError {}

/// A plot as SVG, 1000 pixels wide.
///
/// # Errors
///
/// [`ChartError::Drawing`] where drawing fails.
pub(super) fn svg(plot: &Plot) -> Result<String, ChartError> {
    let title = format!("{}: {}", plot.title, plot.headline.trim_end_matches('.'));
    Ok(svg::document(
        &drawn(plot, Paper::SHEET)?,
        &title,
        &plot.description,
        Colours::Fixed,
    ))
}

/// A plot as SVG so many pixels wide (280 to 1200), for a page that says itself what it is about: without head and foot, its colours
/// named so that the page may give them others, its labels above the panels where there is no room beside; and its places.
///
/// # Errors
///
/// [`ChartError::Drawing`] where drawing fails.
pub(super) fn part(plot: &Plot, width: u32) -> Result<(String, Vec<Spot>), ChartError> {
    let title = format!("{}: {}", plot.title, plot.headline.trim_end_matches('.'));
    let paper = Paper::part(width, plot);
    let nothing = Rc::new(RefCell::new(Canvas::new(paper.width as u32, paper.height(plot))));
    let page = Page::new(DrawingArea::from(&nothing), plot, paper).map_err(|e| ChartError::Drawing(e.to_string()))?;
    let drawn = drawn(plot, paper)?;
    let svg = svg::document(&drawn, &title, &plot.description, Colours::Named);
    Ok((svg, spots::of(&page, plot)))
}

/// A plot as pictures that stand under one another, one a panel, so that paper is filled: the first has the head, the last the foot.
///
/// # Errors
///
/// [`ChartError::Drawing`] where drawing fails.
pub(super) fn svgs(plot: &Plot) -> Result<Vec<String>, ChartError> {
    let last = plot.panels.len().saturating_sub(1);
    let pieces = plot.panels.iter().zip(page::heights(plot)).enumerate();
    pieces
        .map(|(k, (panel, height))| {
            let only = |there: bool, text: &str| if there { text.to_owned() } else { String::new() };
            let piece = Plot {
                about: only(k == 0, &plot.about),
                headline: only(k == 0, &plot.headline),
                foot: only(k == last, &plot.foot),
                height,
                panels: vec![panel.clone()],
                ..Plot::default()
            };
            let (said, description) = if k == 0 {
                (plot.headline.trim_end_matches('.'), plot.description.clone())
            } else {
                (panel.title.as_str(), panel.said_beside())
            };
            let title = format!("{}: {said}", plot.title);
            Ok(svg::document(
                &drawn(&piece, Paper::SHEET)?,
                &title,
                &description,
                Colours::Fixed,
            ))
        })
        .collect()
}

/// A plot as PNG, 1000 pixels wide, on white.
///
/// # Errors
///
/// [`ChartError::Encoding`] where PNG writing fails.
pub(super) fn png(plot: &Plot) -> Result<Vec<u8>, ChartError> {
    raster::png(&drawn(plot, Paper::SHEET)?)
}

fn drawn(plot: &Plot, paper: Paper) -> Result<Canvas, ChartError> {
    let canvas = Rc::new(RefCell::new(Canvas::new(paper.width as u32, paper.height(plot))));
    draw(DrawingArea::from(&canvas), plot, paper).map_err(|e| ChartError::Drawing(e.to_string()))?;
    let alone =
        Rc::try_unwrap(canvas).map_err(|_| ChartError::Drawing("the page is still being drawn on".to_owned()))?;
    Ok(alone.into_inner())
}

fn draw(root: DrawingArea<Canvas, plotters::coord::Shift>, plot: &Plot, paper: Paper) -> page::Drawn {
    let page = Page::new(root, plot, paper)?;
    for (panel, bounds) in plot.panels.iter().zip(page.stacked(plot)) {
        match &panel.field {
            Field::Curves(curves) => panel::draw(&page, bounds, panel, curves)?,
            Field::Rows { names, layers } => rows::draw(&page, bounds, panel, names, layers)?,
            Field::Map(map) => map::draw(&page, bounds, panel, map)?,
        }
    }
    Ok(())
}

/// A chart's letters, each with its name and definition, and the chart without them.
pub(in crate::render) fn apart(svg: &str) -> (Vec<(&str, &str)>, String) {
    svg::apart(svg)
}

#[cfg(test)]
mod tests;
