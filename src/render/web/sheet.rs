//! An answer as data, for a page that builds what is seen itself: words, tables cell by cell, the chart.

use serde::Serialize;

use super::{WebTable, clean, sentences, table};
use crate::render::Render;
use crate::render::text::{Look, Page};

/// An answer taken apart. Every text is plain, without marks of any kind; the chart is a document of its own.
#[derive(Debug, Serialize)]
pub struct Sheet {
    /// What it is about.
    about: String,
    /// The answer: the first sentence is an instruction.
    opening: Vec<String>,
    /// Why, and what may go wrong.
    why: Vec<String>,
    /// The chart as SVG, where there is anything to draw.
    chart: Option<String>,
    /// The tables as they are read first.
    tables: Vec<WebTable>,
    /// Those that have more rows, with all of them; each with its place among `tables`.
    whole: Vec<(usize, WebTable)>,
    /// What else there is to know.
    more: Vec<String>,
    /// How to read the figures and what they rest on.
    small: Vec<String>,
    /// What to mind.
    care: String,
}

/// Takes an answer apart; its chart is so many pixels wide, or a sheet of its own.
#[must_use]
pub fn sheet(shown: &dyn Render, about: &str, wide: Option<u32>) -> Sheet {
    let page = shown.page(&Look::page(false));
    let whole = shown.page(&Look::page(true));
    let said =
        |list: &[String]| -> Vec<String> { list.iter().filter(|p| !p.is_empty()).map(|p| sentences(p)).collect() };
    let filled = |page: &Page| -> Vec<_> { page.tables.iter().filter(|t| !t.heads.is_empty()).map(table).collect() };
    let tables = filled(&page);
    let longer = filled(&whole).into_iter().enumerate();
    let longer = longer.filter(|(k, all)| tables.get(*k).is_some_and(|some| some.rows.len() < all.rows.len()));
    Sheet {
        about: clean(about),
        opening: said(&page.opening),
        why: said(&page.why),
        chart: wide.map_or_else(|| shown.svg(), |wide| shown.svg_part(wide)).ok(),
        whole: longer.collect(),
        tables,
        more: said(&page.more),
        small: said(&page.small),
        care: sentences(&page.care),
    }
}
