//! New estimates put into a scenario's text: values are exchanged where they stand, every other byte stays.
//!
//! `toml_edit` says where each value stands; the text between is never written anew.

use super::fit::{Fit, From, Part};
use crate::scenario::{Spread, quoted};
use std::ops::Range;
use toml_edit::{Document, InlineTable, Item, Table, TableLike, Value};

/// Times from so many minutes on are written in hours.
const HOURS_FROM: f64 = 120.0;

/// One value that is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Step, or empty for the pace.
    pub step: String,
    /// Key.
    pub key: String,
    /// As it stood; `None`: it was not there.
    pub was: Option<String>,
    /// As it stands now.
    pub new: String,
}

/// The text with the new estimates in it, and what was changed. A value that would be as it was is left alone.
///
/// # Errors
/// What stands in the way, one sentence each: a value in a form that cannot be exchanged where it stands.
pub fn edited(text: &str, fit: &Fit) -> Result<(String, Vec<Change>), Vec<String>> {
    let mark = if text.starts_with('\u{feff}') {
        '\u{feff}'.len_utf8()
    } else {
        0
    };
    let body = &text[mark..];
    let Ok(document) = Document::parse(body) else {
        return Err(vec!["the scenario cannot be read as TOML".to_owned()]);
    };
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    let (mut changes, mut wrong) = (Vec::new(), Vec::new());
    for (step, key, new) in wanted(fit) {
        let holder = if step.is_empty() {
            document.as_table().get("pace").map(Holder::of)
        } else {
            named(document.as_table(), &step)
        };
        let put = match holder {
            Some(Some(holder)) => holder.put(body, &key, &new),
            // No [pace] yet: a section of its own at the end.
            None if step.is_empty() => Ok((
                body.len()..body.len(),
                format!(
                    "{}\n[pace]\n{key} = {new}\n",
                    if body.ends_with('\n') || body.is_empty() {
                        ""
                    } else {
                        "\n"
                    }
                ),
                None,
            )),
            _ => Err("it is written in a form in which it cannot be exchanged".to_owned()),
        };
        match put {
            Ok((span, replacement, was)) if was.as_deref() != Some(new.as_str()) => {
                edits.push((span, replacement));
                changes.push(Change { step, key, was, new });
            }
            Ok(_) => {}
            Err(why) => {
                let owner = if step.is_empty() {
                    "[pace]".to_owned()
                } else {
                    format!("step {}", quoted(&step))
                };
                wrong.push(format!(
                    "`{key}` of {owner}: {why}; write it on one line, `{key} = {new}`"
                ));
            }
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    // From the end, so that what stands before keeps its place; insertions at one place keep their order.
    let mut order: Vec<usize> = (0..edits.len()).collect();
    order.sort_by_key(|k| (std::cmp::Reverse(edits[*k].0.start), std::cmp::Reverse(*k)));
    let mut out = body.to_owned();
    for k in order {
        let (span, replacement) = &edits[k];
        out.replace_range(span.clone(), replacement);
    }
    Ok((format!("{}{out}", &text[..mark]), changes))
}

/// Step, key and value, as TOML.
fn wanted(fit: &Fit) -> Vec<(String, String, String)> {
    let mut list = Vec::new();
    for step in &fit.steps {
        for part in &step.parts {
            list.push((step.name.clone(), part.key.to_owned(), time(part)));
        }
        for (key, chance) in [("redo", &step.redo), ("spoil", &step.spoil)] {
            if let Some(chance) = chance.filter(|c| c.contradicts) {
                let value = format!("\"{} %\"", figure(100.0 * chance.share.share));
                list.push((step.name.clone(), key.to_owned(), value));
            }
        }
    }
    if let Some(pace) = &fit.pace.spread {
        let from_jobs = fit.pace.beyond_steps.is_some();
        list.push((String::new(), "factor".to_owned(), amount(pace, None, from_jobs)));
    }
    list
}

/// A part's new range as it is written.
fn time(part: &Part) -> String {
    // Logged minutes stay minutes: in hours few of them would be round.
    let unit = if part.spread.mean() >= HOURS_FROM && part.from != From::Logged {
        ("h", 60.0)
    } else {
        ("min", 1.0)
    };
    amount(&part.spread, Some(unit), part.from == From::Spread)
}

/// A range as TOML, to three digits; `tenths`: a triangle is given by its tenths and not by its limits.
fn amount(spread: &Spread, unit: Option<(&str, f64)>, tenths: bool) -> String {
    let per = unit.map_or(1.0, |u| u.1);
    let f = |v: f64| figure(v / per);
    let word = unit.map_or_else(String::new, |u| format!(" {}", u.0));
    let table = |low: f64, likely: Option<f64>, high: f64, more: &str| {
        let likely = likely.map_or_else(String::new, |v| format!("likely = {}, ", f(v)));
        let unit = unit.map_or_else(String::new, |u| format!("unit = \"{}\", ", u.0));
        format!("{{ low = {}, {likely}high = {}, {unit}{more} }}", f(low), f(high))
    };
    match spread {
        Spread::Certain(v) if unit.is_none() => f(*v),
        Spread::Certain(v) => format!("\"{}{word}\"", f(*v)),
        Spread::Uniform { low, high } => format!("\"{} / {}{word}\"", f(*low), f(*high)),
        Spread::Triangular(t) if tenths => table(
            spread.quantile(0.1),
            Some(t.likely),
            spread.quantile(0.9),
            "ends = \"tenths\"",
        ),
        Spread::Triangular(t) => format!("\"{} / {} / {}{word}\"", f(t.low), f(t.likely), f(t.high)),
        Spread::Pert(t) => table(t.low, Some(t.likely), t.high, "shape = \"pert\""),
        Spread::Lognormal { .. } => table(
            spread.quantile(0.1),
            None,
            spread.quantile(0.9),
            "shape = \"lognormal\", ends = \"tenths\"",
        ),
        Spread::Logged(log) => {
            // As measured, and not to three digits: to a ten-thousandth, which is exact for what people write.
            let values: Vec<String> = log
                .values()
                .iter()
                .map(|v| format!("{}", (v / per * 1e4).round() / 1e4))
                .collect();
            let unit = unit.map_or_else(String::new, |u| format!(", unit = \"{}\"", u.0));
            format!("{{ shape = \"logged\", values = [{}]{unit} }}", values.join(", "))
        }
    }
}

/// Three digits, no zeros at the end; whole from a hundred on.
fn figure(value: f64) -> String {
    if value.is_nan() || value <= 0.0 {
        return "0".to_owned();
    }
    let magnitude = libm::floor(libm::log10(value)) as i32;
    let text = format!("{value:.*}", usize::try_from((2 - magnitude).clamp(0, 9)).unwrap_or(0));
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A table in one of the two forms it can be written in.
enum Holder<'a> {
    Section(&'a Table),
    Inline(&'a InlineTable),
}

/// Where to write, what, and what stood there.
type Put = (Range<usize>, String, Option<String>);

impl<'a> Holder<'a> {
    fn of(item: &'a Item) -> Option<Self> {
        match item {
            Item::Table(table) => Some(Self::Section(table)),
            Item::Value(Value::InlineTable(table)) => Some(Self::Inline(table)),
            _ => None,
        }
    }

    fn table(&self) -> &dyn TableLike {
        match self {
            Self::Section(table) => *table,
            Self::Inline(table) => *table,
        }
    }

    /// Exchanges a value, or puts a new one after the last.
    fn put(&self, text: &str, key: &str, new: &str) -> Result<Put, String> {
        match self.table().get(key) {
            Some(Item::Value(value)) => {
                let span = value.span().ok_or("its place is not known")?;
                let was = text.get(span.clone()).ok_or("its place is not known")?.to_owned();
                // A dotted key makes a table that stands nowhere in one piece.
                if matches!(value, Value::InlineTable(_)) && !was.starts_with('{') {
                    return Err("it is written in parts".to_owned());
                }
                Ok((span, new.to_owned(), Some(was)))
            }
            Some(_) => Err("it is written as a section of its own".to_owned()),
            None => self.add(text, key, new).map(|(span, added)| (span, added, None)),
        }
    }

    fn add(&self, text: &str, key: &str, new: &str) -> Result<(Range<usize>, String), String> {
        let last = self
            .table()
            .iter()
            .filter_map(|(_, item)| item.as_value().and_then(Value::span))
            .max_by_key(|span| span.end)
            .ok_or("there is no value beside which it could stand")?;
        if matches!(self, Self::Inline(_)) {
            return Ok((last.end..last.end, format!(", {key} = {new}")));
        }
        let line_start = text[..last.start].rfind('\n').map_or(0, |i| i + 1);
        let line = &text[line_start..];
        let indent: String = line.chars().take_while(|c| matches!(c, ' ' | '\t')).collect();
        // Equals signs stay in one column.
        let before_sign = line.find('=').map_or(0, |i| line[..i].chars().count());
        let width = before_sign.saturating_sub(indent.chars().count() + 1);
        let line_end = text[last.end..].find('\n').map(|i| last.end + i + 1);
        let written = format!("{indent}{key:<width$} = {new}");
        Ok(match line_end {
            Some(at) => {
                let end = if text[..at].ends_with("\r\n") { "\r\n" } else { "\n" };
                (at..at, format!("{written}{end}"))
            }
            None => (text.len()..text.len(), format!("\n{written}")),
        })
    }
}

/// The step of this name; the inner `None`: its form is not one that can be edited.
fn named<'a>(root: &'a Table, name: &str) -> Option<Option<Holder<'a>>> {
    let is = |table: &dyn TableLike| table.get("name").and_then(Item::as_str) == Some(name);
    match root.get("step")? {
        Item::ArrayOfTables(list) => list.iter().find(|t| is(*t)).map(|t| Some(Holder::Section(t))),
        Item::Value(Value::Array(list)) => list
            .iter()
            .filter_map(Value::as_inline_table)
            .find(|t| is(*t))
            .map(|t| Some(Holder::Inline(t))),
        _ => Some(None),
    }
}
