//! `sweep` made visible.

mod plot;
mod table;
pub(super) mod words;

use super::columns::Declared;
use super::page::Page;
use super::plot::Plot;
use super::{Render, question, text};
use crate::questions::sweep::Sweep;

/// Said where nothing is known of buyers.
fn all_sell(answer: &Sweep, look: &text::Look) -> String {
    let sizes = &answer.sizes;
    let returned = sizes
        .iter()
        .flat_map(|size| &size.channels)
        .any(|channel| channel.unsold.is_some());
    let sells = if returned {
        "is taken, as many as you make"
    } else {
        "sells"
    };
    // With those, or with selling days, a [steady] would be refused.
    let once = returned || sizes.iter().any(|size| !size.selling_days.is_empty());
    let say = match (look.has_forms(), once) {
        (false, true) => "write a [season] into the file: how many to make then has a page of its own",
        (false, false) => "write a [season] or a [steady] into the file: how many to make then has a page of its own",
        (true, true) => "say how many buyers a season has: how many to make then is a question of its own",
        (true, false) => {
            "say how many buyers a season has, or a week all year: how many to make then is a question of its own"
        }
    };
    format!("Here every good piece {sells}. Where that is not sure, {say}.")
}

impl Render for Sweep {
    fn page(&self, look: &text::Look) -> Page {
        // Where one page is not enough to go by, that is said before anything else. Of what is ordered nobody asks how many.
        let (before, after) = match question::how_many_by(self, look) {
            _ if self.made_to_order => (Vec::new(), Vec::new()),
            Some(other) => (vec![other], Vec::new()),
            None => (Vec::new(), vec![all_sell(self, look)]),
        };
        Page {
            title: self.title.clone(),
            opening: words::opening(self),
            why: [before, words::why(self)].concat(),
            tables: self.grids(look),
            more: [words::more(self, look.terminal), after, table::facts(self)].concat(),
            small: table::small_print(self),
            care: words::care(self),
        }
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
