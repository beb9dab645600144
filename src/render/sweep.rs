//! `sweep` made visible.

mod plot;

use super::columns::Declared;
use super::plot::Plot;
use super::{Render, json, question, table, text, words};
use crate::questions::sweep::Sweep;

impl Render for Sweep {
    fn page(&self, look: &text::Look) -> text::Page {
        text::Page {
            title: self.title.clone(),
            opening: words::opening(self),
            why: words::why(self),
            tables: self.grids(look),
            more: [
                words::more(self, look.terminal),
                vec![question::how_many_by(self.sells, look)],
                table::facts(self),
            ]
            .concat(),
            small: table::small_print(self, look),
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

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}
