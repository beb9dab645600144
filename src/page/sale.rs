//! The sales log on the page. What may stand in a line is for [`sales::add`].

use serde::{Deserialize, Serialize};

use super::LOG;
use super::logs::Line;
use crate::clean;
use crate::logfile::{Form, Kind};
use crate::sales::{self, End, Offer};
use crate::scenario::Faults;
use crate::worklog::add;

/// What stands in a line, as it is typed.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Cells {
    listed: String,
    price: String,
    pieces: String,
    left: String,
    sold: String,
    until: String,
    enquiries: String,
    outlet: String,
    note: String,
}

#[derive(Serialize)]
pub(super) struct Entry {
    line: usize,
    /// Pieces put up, and how many of them are sold.
    pieces: u32,
    sold: u32,
    /// Whether it is still for sale.
    open: bool,
    /// The last day that is known of it.
    ended: Option<String>,
    cells: Cells,
}

impl From<&Offer> for Entry {
    fn from(offer: &Offer) -> Self {
        let [listed, price, pieces, left, sold, until, enquiries, outlet, note] = sales::add::values(offer);
        let bare = |cell: String| clean::cell_read(&cell).to_owned();
        Self {
            line: offer.line,
            pieces: offer.pieces,
            sold: offer.sold(),
            open: offer.end == End::Open,
            ended: offer.last_day().map(|day| day.to_string()),
            cells: Cells {
                listed,
                price,
                pieces,
                left,
                sold,
                until,
                enquiries,
                outlet: bare(outlet),
                note: bare(note),
            },
        }
    }
}

impl Line for Cells {
    type Entry = Offer;
    type Shown = Entry;
    const KIND: &'static Kind = &sales::KIND;

    fn read(text: &str) -> Result<(Vec<Offer>, Form), Faults> {
        sales::read(LOG, text.as_bytes()).map(|log| (log.offers, log.form))
    }

    fn line(offer: &Offer) -> usize {
        offer.line
    }

    fn check(&self, _: &str, _: Option<&Offer>, form: Option<&Form>) -> Result<Offer, Vec<add::Wrong>> {
        let cells = [
            &self.listed,
            &self.price,
            &self.pieces,
            &self.left,
            &self.sold,
            &self.until,
            &self.enquiries,
            &self.outlet,
            &self.note,
        ];
        sales::add::check(cells.map(String::as_str), form)
    }

    fn values(offer: &Offer) -> Vec<String> {
        sales::add::values(offer).into()
    }

    fn exchanged(now: &[String], was: &[String]) -> Vec<bool> {
        // How many were put up, how many are left and when it ended belong together: a `left` that stays as it was could deny a new day.
        let together = 2..6;
        let moved = now[together.clone()] != was[together.clone()];
        (0..now.len())
            .map(|k| now[k] != was[k] || (moved && together.contains(&k)))
            .collect()
    }
}
