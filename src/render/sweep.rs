//! `sweep` made visible.

mod plot;

use super::columns::Declared;
use super::plot::Plot;
use super::{Render, json, question, table, text, words};
use crate::questions::sweep::Sweep;

/// Said where nothing is known of buyers.
const ALL_SELL: &str = "Here every good piece sells. Where that is not sure, write a [season] or a [steady] into the file: how many \
                        to make then has a page of its own.";
/// Said then where pieces are left on sale or return.
const ALL_TAKEN: &str = "Here every good piece is taken, as many as you make. Where that is not sure, write a [season] or a [steady] into \
                         the file: how many to make then has a page of its own.";

impl Render for Sweep {
    fn page(&self, look: &text::Look) -> text::Page {
        // Where one page is not enough to go by, that is said before anything else. Of what is ordered nobody asks how many.
        let (before, after) = match question::how_many_by(self.sells, look) {
            _ if self.made_to_order => (Vec::new(), Vec::new()),
            Some(other) => (vec![other], Vec::new()),
            None => {
                let mut channels = self.sizes.iter().flat_map(|size| &size.channels);
                let said = if channels.any(|channel| channel.unsold.is_some()) {
                    ALL_TAKEN
                } else {
                    ALL_SELL
                };
                (Vec::new(), vec![said.to_owned()])
            }
        };
        text::Page {
            title: self.title.clone(),
            opening: words::opening(self),
            why: [before, words::why(self)].concat(),
            tables: self.grids(look),
            more: [words::more(self, look.terminal), after, table::facts(self)].concat(),
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
