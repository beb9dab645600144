//! Answers made visible: figures as people write them, charts, JSON, CSV. Nothing here computes an answer or prints one.

pub mod against;
pub mod calendar;
#[cfg(feature = "charts")]
pub mod chart;
pub mod columns;
pub mod compare;
pub mod csv;
mod drivers;
pub mod figure;
pub mod fit;
pub mod floor;
pub mod format;
pub mod grid;
pub mod jig;
pub mod json;
mod log;
mod over;
pub mod question;
#[cfg(feature = "report")]
pub mod report;
pub mod season;
pub mod steady;
pub mod stress;
pub mod table;
pub mod text;
pub mod text_chart;
mod ticks;
pub mod understood;
#[cfg(feature = "report")]
pub mod web;
pub mod words;

use crate::questions::sweep::Sweep;
#[cfg(feature = "charts")]
use chart::ChartError;
use columns::Declared;

/// An answer that can be shown on every face.
pub trait Render {
    /// For a person: the opening, why and how sure, tables, what else there is to know, a small chart where there is room.
    fn page(&self, look: &text::Look) -> text::Page;
    /// Every figure, unrounded, with its error.
    fn json(&self) -> String;
    /// The table of the CSV.
    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        None
    }

    /// Rows and columns, unrounded.
    fn csv(&self) -> String {
        self.data().map_or_else(String::new, |table| table.csv())
    }
    /// The chart as SVG.
    ///
    /// # Errors
    /// [`ChartError`] where there is nothing to draw or the drawing fails.
    #[cfg(feature = "charts")]
    fn svg(&self) -> Result<String, ChartError>;
    /// The chart as PNG.
    ///
    /// # Errors
    /// [`ChartError`] where there is nothing to draw or the drawing fails.
    #[cfg(feature = "charts")]
    fn png(&self) -> Result<Vec<u8>, ChartError>;

    /// The tables of the page, in order.
    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        Vec::new()
    }

    /// The tables as they are read.
    fn grids(&self, look: &text::Look) -> Vec<grid::Grid> {
        self.tables().iter().map(|table| table.grid(look)).collect()
    }

    /// The page as text, ending in a line break.
    fn text(&self, look: &text::Look) -> String {
        self.page(look).text(look)
    }
}

impl Render for Sweep {
    fn page(&self, look: &text::Look) -> text::Page {
        text::Page {
            title: self.title.clone(),
            opening: words::opening(self),
            why: words::why(self),
            tables: self.grids(look),
            more: [words::more(self, look.terminal), table::facts(self)].concat(),
            small: table::small_print(self, look),
            chart: (self.sizes.len() > 1).then(|| text_chart::sweep_chart(self, look.line(), look.unicode)),
            care: words::care(self),
        }
    }

    fn json(&self) -> String {
        json::sweep(self)
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(table::sizes(self)))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        let mut tables: Vec<Box<dyn Declared + '_>> = vec![Box::new(table::sizes(self))];
        tables.extend(table::channels(self).map(|table| Box::new(table) as Box<_>));
        tables
    }

    #[cfg(feature = "charts")]
    fn svg(&self) -> Result<String, ChartError> {
        chart::sweep_svg(self, &words::headline(self))
    }

    #[cfg(feature = "charts")]
    fn png(&self) -> Result<Vec<u8>, ChartError> {
        chart::sweep_png(self, &words::headline(self))
    }
}

impl<S: Render> Render for std::sync::Arc<S> {
    fn page(&self, look: &text::Look) -> text::Page {
        (**self).page(look)
    }

    fn json(&self) -> String {
        (**self).json()
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        (**self).data()
    }

    fn csv(&self) -> String {
        (**self).csv()
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        (**self).tables()
    }

    #[cfg(feature = "charts")]
    fn svg(&self) -> Result<String, ChartError> {
        (**self).svg()
    }

    #[cfg(feature = "charts")]
    fn png(&self) -> Result<Vec<u8>, ChartError> {
        (**self).png()
    }
}

#[cfg(test)]
mod samples;
