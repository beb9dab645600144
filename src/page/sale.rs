//! The sales log on the page: what is in it, and one line more, another or fewer. What may stand in a line is for [`sales::add`], how it is
//! written for [`logfile`].

use serde::{Deserialize, Serialize};

use super::{LOG, sentence};
use crate::clean;
use crate::logfile;
use crate::sales::{self, End, Offer, SalesLog};

#[derive(Deserialize)]
pub(super) struct Asked {
    /// The log so far; empty: there is none yet.
    log: String,
    /// The line that is corrected, or taken out where nothing is typed; absent: what is typed comes behind all others.
    line: Option<usize>,
    /// Absent, and no line either: it is only read.
    typed: Option<Cells>,
}

/// What stands in a line, as it is typed.
#[derive(Default, Serialize, Deserialize)]
#[serde(default)]
struct Cells {
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
pub(super) struct Said {
    /// The log with the change in it; as it was, where anything is wrong.
    log: String,
    /// What is wrong with what was typed.
    wrong: Vec<Wrong>,
    /// Why the log cannot be read.
    unread: Option<String>,
    entries: Vec<Entry>,
}

#[derive(Serialize)]
pub(super) struct Wrong {
    pub(super) part: &'static str,
    pub(super) why: String,
}

impl From<String> for Wrong {
    fn from(why: String) -> Self {
        Self {
            part: "",
            why: sentence(&why),
        }
    }
}

#[derive(Serialize)]
struct Entry {
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

pub(super) fn said(asked: Asked) -> Said {
    let read = |text: &str| match text.trim() {
        "" => Ok(None),
        _ => sales::read(LOG, text.as_bytes()).map(Some),
    };
    let before = match read(&asked.log) {
        Ok(log) => log,
        Err(faults) => {
            return Said {
                log: asked.log,
                wrong: Vec::new(),
                unread: Some(faults.to_string()),
                entries: Vec::new(),
            };
        }
    };
    let changed = changed(&asked, before.as_ref()).and_then(|text| match read(&text) {
        Ok(log) => Ok((text, log)),
        Err(faults) => Err(vec![faults.to_string().into()]),
    });
    let (log, now, wrong) = match changed {
        Ok((text, now)) => (text, now, Vec::new()),
        Err(wrong) => (asked.log, before, wrong),
    };
    let entries = now.iter().flat_map(|log| &log.offers).map(Entry::from).collect();
    Said {
        log,
        wrong,
        unread: None,
        entries,
    }
}

/// The log's text with the change in it.
fn changed(asked: &Asked, before: Option<&SalesLog>) -> Result<String, Vec<Wrong>> {
    let told = |why: String| vec![Wrong::from(why)];
    let Some(typed) = &asked.typed else {
        return match (asked.line, before) {
            (Some(line), Some(log)) => logfile::exchanged(&asked.log, &log.form, line, None).map_err(told),
            _ => Ok(asked.log.clone()),
        };
    };
    let cells = [
        &typed.listed,
        &typed.price,
        &typed.pieces,
        &typed.left,
        &typed.sold,
        &typed.until,
        &typed.enquiries,
        &typed.outlet,
        &typed.note,
    ];
    let offer = sales::add::check(cells.map(String::as_str), before.map(|log| &log.form)).map_err(|wrong| {
        let one = |one: crate::worklog::add::Wrong| Wrong {
            part: one.part,
            why: sentence(&one.why),
        };
        wrong.into_iter().map(one).collect::<Vec<_>>()
    })?;
    let values = sales::add::values(&offer);
    let Some((line, log)) = asked.line.zip(before) else {
        let new_form = sales::KIND.new_form();
        let (text, form) = before.map_or((&b""[..], &new_form), |log| (asked.log.as_bytes(), &log.form));
        let all = logfile::appended(text, form, &values).map_err(told)?;
        return String::from_utf8(all).map_err(|_| told("the log is not UTF-8 text".to_owned()));
    };
    let was = log
        .offers
        .iter()
        .find(|offer| offer.line == line)
        .map(sales::add::values);
    let was = was.ok_or_else(|| told(format!("no entry begins in line {line} any more")))?;
    // How many were put up, how many are left and when it ended belong together: a `left` that stays as it was could deny a new day.
    let together = 2..6;
    let moved = values[together.clone()] != was[together.clone()];
    let new = |k: usize| (values[k] != was[k] || (moved && together.contains(&k))).then(|| values[k].clone());
    logfile::exchanged(&asked.log, &log.form, line, Some(&std::array::from_fn::<_, 9, _>(new))).map_err(told)
}
