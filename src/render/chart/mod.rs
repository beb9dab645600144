//! Charts as SVG and PNG, each drawn once for both: the same shapes, the same letters.
//!
//! Which file does what: `frame` has the page, its panels and everything in them that any question's chart needs; `render::ticks`
//! and `labels` decide where figures and labels go; `palette` holds the colours; `lettering` the embedded font; `canvas`
//! records what plotters draws, `svg` and `raster` write it down. A question's chart is one file beside them.
//!
//! Assumption: charts are read on screens and printed in grey, so nothing is told by hue alone.

mod calendar;
mod canvas;
mod compare;
mod drivers;
mod fit;
mod floor;
mod frame;
mod jig;
mod labels;
mod lettering;
mod over;
mod palette;
mod raster;
mod season;
mod steady;
mod stress;
mod svg;
mod sweep;

use super::ticks;
use crate::questions::calendar::Calendar;
use crate::questions::compare::Compare;
use crate::questions::drivers::Drivers;
use crate::questions::floor::Floors;
use crate::questions::jig::Jigs;
use crate::questions::over::Over;
use crate::questions::season::SeasonAnswer;
use crate::questions::steady::SteadyAnswer;
use crate::questions::stress::Stress;
use crate::questions::sweep::Sweep;
use crate::worklog::fit::Fit;
use canvas::Canvas;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters_backend::DrawingBackend;
use std::cell::RefCell;
use std::fmt;
use std::rc::Rc;

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

/// The sweep's chart as SVG, 1200 pixels wide: hourly rate, price floor and where the hours go, against batch size.
/// `headline` is the answer in words, one sentence; it is broken into lines as needed.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes.
pub fn sweep_svg(answer: &Sweep, headline: &str) -> Result<String, ChartError> {
    let canvas = sweep_canvas(answer, headline)?;
    Ok(svg::document(
        &canvas,
        &format!("{}: {headline}", answer.title),
        &sweep::description(answer),
    ))
}

/// [`sweep_svg`]'s chart as a PNG of 1200 pixels width, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes; [`ChartError::Encoding`] where PNG writing fails.
pub fn sweep_png(answer: &Sweep, headline: &str) -> Result<Vec<u8>, ChartError> {
    raster::png(&sweep_canvas(answer, headline)?)
}

fn sweep_canvas(answer: &Sweep, headline: &str) -> Result<Canvas, ChartError> {
    if answer.sizes.is_empty() {
        return Err(ChartError::Empty);
    }
    draw_on(Canvas::new(frame::WIDTH, sweep::HEIGHT), |root| {
        sweep::draw(root, answer, headline)
    })
}

/// The chart of `drivers` as SVG, 1200 pixels wide: shares of variance, swings and gains as rows.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is nothing to draw.
pub fn drivers_svg(answer: &Drivers, headline: &str) -> Result<String, ChartError> {
    svg_of(&drivers::Chart::new(answer, headline))
}

/// [`drivers_svg`]'s chart as a PNG, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is nothing to draw; [`ChartError::Encoding`] where PNG writing fails.
pub fn drivers_png(answer: &Drivers, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&drivers::Chart::new(answer, headline))
}

/// The chart of `sweep --over` as SVG, 1200 pixels wide: three panels against one value, or a map against two.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is nothing to draw.
pub fn over_svg(answer: &Over, headline: &str) -> Result<String, ChartError> {
    svg_of(&over::Chart::new(answer, headline))
}

/// [`over_svg`]'s chart as a PNG, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is nothing to draw; [`ChartError::Encoding`] where PNG writing fails.
pub fn over_png(answer: &Over, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&over::Chart::new(answer, headline))
}

/// The chart of `floor` as SVG: prices that pay against size, at several confidences, and the asked price.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes.
pub fn floor_svg(answer: &Floors, headline: &str) -> Result<String, ChartError> {
    svg_of(&floor::Chart::new(answer, headline)?)
}

/// [`floor_svg`]'s chart as PNG.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes; [`ChartError::Encoding`] where PNG writing fails.
pub fn floor_png(answer: &Floors, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&floor::Chart::new(answer, headline)?)
}

/// The chart of `stress` as SVG: how far each misfortune may go, and what it does to the hour.
///
/// # Errors
///
/// [`ChartError::Empty`] where nothing can go wrong.
pub fn stress_svg(answer: &Stress, headline: &str) -> Result<String, ChartError> {
    svg_of(&stress::Chart::new(answer, headline)?)
}

/// [`stress_svg`]'s chart as PNG.
///
/// # Errors
///
/// [`ChartError::Empty`] where nothing can go wrong; [`ChartError::Encoding`] where PNG writing fails.
pub fn stress_png(answer: &Stress, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&stress::Chart::new(answer, headline)?)
}

/// The season's chart as SVG: surplus, pieces sold and left over against batch size, and surplus against price where demand
/// depends on it.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes.
pub fn season_svg(answer: &SeasonAnswer, headline: &str) -> Result<String, ChartError> {
    svg_of(&season::Chart::new(answer, headline)?)
}

/// [`season_svg`]'s chart as PNG, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes; [`ChartError::Encoding`] where PNG writing fails.
pub fn season_png(answer: &SeasonAnswer, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&season::Chart::new(answer, headline)?)
}

/// The steady seller's chart as SVG: cost of getting ready and holding, surplus and stock against batch size.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes.
pub fn steady_svg(answer: &SteadyAnswer, headline: &str) -> Result<String, ChartError> {
    svg_of(&steady::Chart::new(answer, headline)?)
}

/// [`steady_svg`]'s chart as PNG, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where the answer has no sizes; [`ChartError::Encoding`] where PNG writing fails.
pub fn steady_png(answer: &SteadyAnswer, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&steady::Chart::new(answer, headline)?)
}

/// One question's chart.
trait Picture {
    /// Height of the page in pixels.
    fn height(&self) -> u32;
    /// What it is about and its answer, for those who hear the page.
    fn title(&self) -> String;
    /// What the chart says, for those who cannot see it.
    fn description(&self) -> String;
    /// Draws the whole page.
    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> frame::Drawn<Canvas>;
}

/// A chart as SVG, 1200 pixels wide.
fn svg_of(picture: &dyn Picture) -> Result<String, ChartError> {
    let canvas = draw_on(Canvas::new(frame::WIDTH, picture.height()), |root| picture.draw(root))?;
    Ok(svg::document(&canvas, &picture.title(), &picture.description()))
}

/// A chart as PNG, 1200 pixels wide, on white.
fn png_of(picture: &dyn Picture) -> Result<Vec<u8>, ChartError> {
    raster::png(&draw_on(Canvas::new(frame::WIDTH, picture.height()), |root| {
        picture.draw(root)
    })?)
}

/// The comparison's chart as SVG, 1200 pixels wide: what runs earn an hour, and long-run rates against batch size.
///
/// # Errors
///
/// [`ChartError::Empty`] where nothing is compared.
pub fn compare_svg(answer: &Compare, headline: &str) -> Result<String, ChartError> {
    svg_of(&compare::Chart::new(answer, headline)?)
}

/// [`compare_svg`]'s chart as a PNG of 1200 pixels width, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where nothing is compared; [`ChartError::Encoding`] where PNG writing fails.
pub fn compare_png(answer: &Compare, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&compare::Chart::new(answer, headline)?)
}

/// The chart about jigs as SVG, 1200 pixels wide: surplus since building by pieces made, and rates with and without.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is no jig.
pub fn jig_svg(answer: &Jigs, headline: &str) -> Result<String, ChartError> {
    svg_of(&jig::Chart::new(answer, headline)?)
}

/// [`jig_svg`]'s chart as a PNG of 1200 pixels width, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is no jig; [`ChartError::Encoding`] where PNG writing fails.
pub fn jig_png(answer: &Jigs, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&jig::Chart::new(answer, headline)?)
}

/// The calendar's chart as SVG, 1200 pixels wide: share of runs done by date, and the day plan as bars.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is no plan.
pub fn calendar_svg(answer: &Calendar, headline: &str) -> Result<String, ChartError> {
    svg_of(&calendar::Chart::new(answer, headline)?)
}

/// [`calendar_svg`]'s chart as a PNG of 1200 pixels width, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where there is no plan; [`ChartError::Encoding`] where PNG writing fails.
pub fn calendar_png(answer: &Calendar, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&calendar::Chart::new(answer, headline)?)
}

/// The chart of `fit` as SVG, 1200 pixels wide: a panel for each step with its entries, the fitted line and its band.
///
/// # Errors
///
/// [`ChartError::Empty`] where no step has entries of setup and pieces.
pub fn fit_svg(answer: &Fit, headline: &str) -> Result<String, ChartError> {
    svg_of(&fit::Chart::new(answer, headline)?)
}

/// [`fit_svg`]'s chart as a PNG of 1200 pixels width, on white.
///
/// # Errors
///
/// [`ChartError::Empty`] where no step has entries of setup and pieces; [`ChartError::Encoding`] where PNG writing fails.
pub fn fit_png(answer: &Fit, headline: &str) -> Result<Vec<u8>, ChartError> {
    png_of(&fit::Chart::new(answer, headline)?)
}

/// A chart's letters, each with its name and definition, and the chart without them.
pub(in crate::render) fn apart(svg: &str) -> (Vec<(&str, &str)>, String) {
    svg::apart(svg)
}

/// Lets a routine draw on a backend and gives the backend back.
fn draw_on<DB: DrawingBackend>(
    backend: DB,
    draw: impl FnOnce(DrawingArea<DB, Shift>) -> Result<(), DrawingAreaErrorKind<DB::ErrorType>>,
) -> Result<DB, ChartError> {
    let shared = Rc::new(RefCell::new(backend));
    draw(DrawingArea::from(&shared)).map_err(|e| ChartError::Drawing(e.to_string()))?;
    let alone =
        Rc::try_unwrap(shared).map_err(|_| ChartError::Drawing("the page is still being drawn on".to_owned()))?;
    Ok(alone.into_inner())
}

#[cfg(test)]
mod tests;
