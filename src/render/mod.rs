//! Answers made visible: figures as people write them, charts, JSON, CSV. Nothing here computes an answer or prints one.

pub mod against;
pub mod calendar;
pub mod cautions;
#[cfg(feature = "charts")]
pub mod chart;
pub mod columns;
pub mod compare;
mod drivers;
pub mod figure;
pub mod figures;
pub mod fit;
pub mod floor;
pub mod format;
pub mod grid;
pub mod jig;
pub mod json;
#[cfg(feature = "cli")]
pub mod keys;
mod log;
mod over;
pub mod page;
mod paint;
pub mod plot;
pub mod question;
#[cfg(feature = "report")]
pub mod report;
pub mod season;
pub mod sold;
mod spoken;
pub mod steady;
pub mod stress;
mod sweep;
pub mod text;
mod text_chart;
pub mod understood;
#[cfg(feature = "report")]
pub mod web;
pub mod words;

#[cfg(feature = "charts")]
use chart::ChartError;
use columns::Declared;
use json::Json;
use page::Page;
use plot::Plot;

/// An answer that can be shown on every face.
pub trait Render: Json + Send + Sync {
    /// For a person: the opening, why and how sure, tables, what else there is to know.
    fn page(&self, look: &text::Look) -> Page;
    /// The table of the CSV: the first of the page, where it is no other.
    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        self.tables().into_iter().next()
    }

    /// Rows and columns, unrounded.
    fn csv(&self) -> String {
        self.data().map_or_else(String::new, |table| table.csv())
    }

    /// What its chart shows; nothing where there is nothing to draw.
    fn plot(&self) -> Option<Plot> {
        None
    }

    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError::Empty`] where there is nothing to draw.
    #[cfg(feature = "charts")]
    fn svg(&self) -> Result<String, ChartError> {
        self.plot().as_ref().map(chart::svg).ok_or(ChartError::Empty)
    }

    /// The tables of the page, in order.
    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        Vec::new()
    }

    /// The tables as they are read.
    fn grids(&self, look: &text::Look) -> Vec<grid::Grid> {
        self.tables().iter().map(|table| table.grid(look)).collect()
    }

    /// The page as text with a small chart where there is room, ending in a line break.
    fn text(&self, look: &text::Look) -> String {
        let plot = self.plot().filter(|_| look.has_room_for_chart());
        let chart = plot.and_then(|plot| text_chart::text(&plot, look.line(), look.unicode));
        self.page(look).text(look, chart.as_deref())
    }
}

/// The chart in dots.
#[cfg(feature = "png")]
pub trait Dotted: Render {
    /// The chart as PNG.
    ///
    /// # Errors
    /// [`ChartError`] where there is nothing to draw or the drawing fails.
    fn png(&self) -> Result<Vec<u8>, ChartError> {
        self.png_and_lacking().map(|(png, _)| png)
    }

    /// The same, with what [`Dotted::lacking`] says of it.
    ///
    /// # Errors
    /// [`ChartError`] where there is nothing to draw or the drawing fails.
    fn png_and_lacking(&self) -> Result<(Vec<u8>, String), ChartError> {
        chart::png(&self.plot().ok_or(ChartError::Empty)?)
    }

    /// Letters of the chart that its font lacks, each once: a PNG has bars in their place.
    fn lacking(&self) -> String {
        self.plot().as_ref().map(chart::lacking).unwrap_or_default()
    }
}

#[cfg(feature = "png")]
impl<R: Render + ?Sized> Dotted for R {}

#[cfg(test)]
mod samples;
