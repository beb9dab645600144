//! A scenario's text as it stands: where each value is written, and values exchanged there while every other byte stays.
//!
//! `toml_edit` says where each value stands; the text between is never written anew.

use super::amounts::{self, Stretch};
use super::keys::{self, Bound, Measure, Takes};
use super::read::split_setting;
use super::toml;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::ops::Range;
use toml_edit::{Document, InlineTable, Item, Table, TableLike};

/// Keys whose value is a whole number.
fn counts(key: &str) -> bool {
    keys::all().any(|(_, known)| known.name == key && known.takes.is_whole())
}

/// Shares that are a matter of the whole, so that none cannot be: their scale goes to 100 % however small they are.
fn of_the_whole(key: &str) -> bool {
    keys::all().any(|(_, known)| match known.takes {
        Takes::Amount(rule) => known.name == key && rule.measure == Measure::Share && rule.low == Bound::Short(0.0),
        _ => false,
    })
}

/// Which value of a scenario: the section's word (empty for the top of the file), which of several such sections, and the key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Address {
    /// `sale`, `step`; empty for the top.
    pub section: String,
    /// For sections that are lists, which one, counted from 0 in the order of the file.
    pub entry: Option<usize>,
    /// `price`, `each`.
    pub key: String,
}

/// A section as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// `sale`, `step`; empty for the top.
    pub word: String,
    /// Which of several, counted from 0 in the order of the file.
    pub entry: Option<usize>,
    /// What it calls itself (`name`), where it does.
    pub name: Option<String>,
    /// Its first byte in the text.
    pub start: usize,
    /// In the order they were written.
    pub values: Vec<Value>,
}

/// A value as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Value {
    /// `price`, `each`.
    pub key: String,
    /// Its bytes in the text, quotes included.
    pub span: Range<usize>,
    /// As a person writes it: a text without its quotes, anything else as it stands.
    pub shown: String,
    /// As a person says it: as it is shown, a range in braces as its numbers.
    pub said: String,
    /// Whether one time in ten is below the first of its numbers, and one in ten above the last.
    pub tenths: bool,
    /// What the comment behind it in the same line says.
    pub comment: Option<String>,
    /// Its numbers, where it is one number or a range.
    pub figures: Option<Figures>,
    /// Its entries, where it is a list of price breaks or of changes.
    pub rows: Option<Vec<Row>>,
}

/// One entry of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its bytes in the text.
    pub span: Range<usize>,
    /// What stands in it, by name: the keys of a price break; [`FIGURE`] and [`THEN`] of a change.
    pub cells: Vec<(String, String)>,
}

/// Which value a change changes, in [`Row::cells`].
pub const FIGURE: &str = "figure";
/// What it is then.
pub const THEN: &str = "then";

/// A value of one number or a range, taken apart so that its numbers can be exchanged and nothing else.
#[derive(Debug, Clone, PartialEq)]
pub struct Figures {
    /// What stands before, between and behind the numbers of [`Value::shown`]; one more than there are numbers.
    pub between: Vec<String>,
    /// One: a certain value. Two: low, high. Three: low, likely, high.
    pub list: Vec<Figure>,
    /// End of a scale on which they can be shown, from 0, in the unit of [`Figure::worth`] 1.
    pub top: f64,
    /// A sensible smallest step on it.
    pub step: f64,
}

/// One number of a value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The number as written; minutes where it is written in hours and minutes.
    pub value: f64,
    /// Digits written behind the point.
    pub decimals: usize,
    /// What one of its unit is worth on the scale: 1, or minutes where the numbers have different units.
    pub worth: f64,
    /// Written as hours and minutes, `1 h 30 min`.
    pub hours_and_minutes: bool,
}

/// Where a text is edited, and what is written there.
pub(crate) type Edit = (Range<usize>, String);

/// The byte order mark that some editors put in front; the reader does not count it.
#[must_use]
pub fn mark_length(text: &str) -> usize {
    if text.starts_with('\u{feff}') {
        '\u{feff}'.len_utf8()
    } else {
        0
    }
}

/// What the lines of a text end in, by its first.
pub(crate) fn line_feed(text: &str) -> &'static str {
    let first = text.split_inclusive('\n').next().unwrap_or("");
    if first.ends_with("\r\n") { "\r\n" } else { "\n" }
}

/// The sections of a text in the order they are written; `None` where it is not TOML.
#[must_use]
pub fn sections(text: &str) -> Option<Vec<Section>> {
    let mark = mark_length(text);
    let body = &text[mark..];
    if toml::too_deep(body).is_some() {
        return None;
    }
    let document = Document::parse(body).ok()?;
    let mut found = Vec::new();
    let mut top = Section {
        word: String::new(),
        entry: None,
        name: None,
        start: 0,
        values: Vec::new(),
    };
    for (word, item) in document.as_table().iter() {
        match item {
            Item::Table(table) => found.extend(section(body, word, None, table, table.span())),
            Item::Value(toml_edit::Value::InlineTable(table)) => {
                found.extend(section(body, word, None, table, table.span()));
            }
            Item::ArrayOfTables(list) => {
                for (k, table) in list.iter().enumerate() {
                    found.extend(section(body, word, Some(k), table, table.span()));
                }
            }
            Item::Value(toml_edit::Value::Array(list))
                if !list.is_empty() && list.iter().all(|v| v.as_inline_table().is_some()) =>
            {
                for (k, table) in list.iter().filter_map(toml_edit::Value::as_inline_table).enumerate() {
                    found.extend(section(body, word, Some(k), table, table.span()));
                }
            }
            Item::Value(one) => top.values.extend(value(body, word, one)),
            Item::None => {}
        }
    }
    found.sort_by_key(|s| s.start);
    if !top.values.is_empty() {
        found.insert(0, top);
    }
    for section in &mut found {
        section.values.sort_by_key(|v| v.span.start);
        // The top begins with the file, mark and all.
        section.start += if section.word.is_empty() { 0 } else { mark };
        for value in &mut section.values {
            let rows = value.rows.iter_mut().flatten().map(|row| &mut row.span);
            for span in std::iter::once(&mut value.span).chain(rows) {
                *span = span.start + mark..span.end + mark;
            }
        }
    }
    Some(found)
}

fn section(
    text: &str,
    word: &str,
    entry: Option<usize>,
    table: &dyn TableLike,
    span: Option<Range<usize>>,
) -> Option<Section> {
    let values: Vec<Value> = table
        .iter()
        .filter_map(|(key, item)| item.as_value().and_then(|v| value(text, key, v)))
        .collect();
    let first = values.iter().map(|v| v.span.start).min();
    Some(Section {
        word: word.to_owned(),
        entry,
        name: table.get("name").and_then(Item::as_str).map(str::to_owned),
        start: span.map(|s| s.start).or(first)?,
        values,
    })
}

fn value(text: &str, key: &str, value: &toml_edit::Value) -> Option<Value> {
    let span = value.span()?;
    let written = text.get(span.clone())?;
    // A dotted key makes a table that stands nowhere in one piece.
    if value.is_inline_table() && !written.starts_with('{') {
        return None;
    }
    let (shown, figures) = match value {
        toml_edit::Value::String(s) => (s.value().clone(), figures_of_text(key, s.value())),
        toml_edit::Value::Integer(_) | toml_edit::Value::Float(_) => {
            (written.to_owned(), figures_of_text(key, written))
        }
        toml_edit::Value::InlineTable(table) => (written.to_owned(), figures_of_table(key, table, written, span.start)),
        _ => (written.to_owned(), None),
    };
    let rest = text[span.end..].lines().next().unwrap_or("");
    let comment = rest
        .trim_start_matches([' ', '\t', ',', '}', ']'])
        .strip_prefix('#')
        .map(|said| said.trim().to_owned())
        .filter(|said| !said.is_empty());
    let table = value.as_inline_table();
    Some(Value {
        key: key.to_owned(),
        span,
        said: table.and_then(in_short).unwrap_or_else(|| shown.clone()),
        tenths: table.is_some_and(|table| table.get("ends").and_then(toml_edit::Value::as_str) == Some("tenths")),
        shown,
        comment,
        figures,
        rows: rows(text, key, value),
    })
}

/// The entries of a list of price breaks or of changes; `None` where any is written otherwise.
fn rows(text: &str, key: &str, value: &toml_edit::Value) -> Option<Vec<Row>> {
    let takes = keys::all().find(|(_, known)| known.name == key)?.1.takes;
    let cell = |(key, value): (&str, &toml_edit::Value)| {
        let bare = || text.get(value.span()?).map(str::to_owned);
        Some((key.to_owned(), value.as_str().map(str::to_owned).or_else(bare)?))
    };
    let row = |item: &toml_edit::Value| {
        let cells = match takes {
            Takes::Breaks => item.as_inline_table()?.iter().map(cell).collect::<Option<_>>()?,
            Takes::Changes => {
                let change = item.as_str()?;
                let (figure, then) = split_setting(change).unwrap_or_else(|| (change.to_owned(), String::new()));
                vec![(FIGURE.to_owned(), figure), (THEN.to_owned(), then)]
            }
            _ => return None,
        };
        Some(Row {
            span: item.span()?,
            cells,
        })
    };
    value.as_array()?.iter().map(row).collect()
}

/// The numbers of a range in braces with their unit; `None` where it has none.
fn in_short(table: &InlineTable) -> Option<String> {
    let number = |value: &toml_edit::Value| {
        value
            .as_str()
            .map_or_else(|| value.to_string(), str::to_owned)
            .trim()
            .to_owned()
    };
    let unit = table
        .get("unit")
        .map(number)
        .map_or_else(String::new, |unit| format!(" {unit}"));
    if let Some(values) = table.get("values").and_then(toml_edit::Value::as_array) {
        let values: Vec<String> = values.iter().map(number).collect();
        return Some(format!("one of {}{unit}, each as likely", values.join(", ")));
    }
    table.get("low")?;
    let ends: Vec<String> = ["low", "likely", "high"]
        .iter()
        .filter_map(|name| table.get(name))
        .map(number)
        .collect();
    Some(format!("{}{unit}", ends.join(" / ")))
}

// ---------------------------------------------------------------------------------------------------------------------
// Numbers

/// One to three numbers with their units, or one behind a sign (`x 0.5`, `- 2 min`).
fn figures_of_text(key: &str, text: &str) -> Option<Figures> {
    let parts = amounts::stretches(text)?;
    if !(1..=3).contains(&parts.len()) {
        return None;
    }
    let unit_of = |part: &[Stretch]| match part {
        [.., Stretch::Word(at)] => text.get(at.clone()).map(str::to_owned),
        _ => None,
    };
    let units: Vec<Option<String>> = parts.iter().map(|part| unit_of(part)).collect();
    let last = units.last().cloned().flatten();
    // One unit for all: none at all, the last number's alone, or the same with each.
    let shared = units.iter().all(|unit| *unit == last)
        || (units.iter().rev().skip(1).all(Option::is_none) && parts.iter().rev().skip(1).all(|part| part.len() == 1));
    let mut list = Vec::new();
    let mut places = Vec::new();
    for (part, unit) in parts.iter().zip(&units) {
        let (figure, place) = match part.as_slice() {
            [Stretch::Number(value, at)] | [Stretch::Number(value, at), Stretch::Word(_)] => {
                (plain(*value, text.get(at.clone())?), at.clone())
            }
            [Stretch::Word(sign), Stretch::Number(value, at)]
            | [Stretch::Word(sign), Stretch::Number(value, at), Stretch::Word(_)]
                if parts.len() == 1 && matches!(text.get(sign.clone())?, "x" | "×" | "-" | "−" | "+") =>
            {
                (plain(*value, text.get(at.clone())?), at.clone())
            }
            [
                Stretch::Number(hours, from),
                Stretch::Word(h),
                Stretch::Number(minutes, bare),
                min @ ..,
            ] if text.get(h.clone())? == "h"
                && match min {
                    [] => true,
                    [Stretch::Word(min)] => text.get(min.clone())? == "min",
                    _ => false,
                } =>
            {
                (
                    Figure {
                        value: hours * 60.0 + minutes,
                        decimals: 0,
                        worth: 1.0,
                        hours_and_minutes: true,
                    },
                    from.start..match min {
                        [Stretch::Word(min)] => min.end,
                        _ => bare.end,
                    },
                )
            }
            _ => return None,
        };
        let worth = match unit {
            _ if figure.hours_and_minutes || shared && !list.iter().any(|f: &Figure| f.hours_and_minutes) => 1.0,
            Some(word) => amounts::time_unit(word)?,
            None => return None,
        };
        list.push(Figure { worth, ..figure });
        places.push(place);
    }
    if list.iter().any(|f| f.hours_and_minutes) && shared {
        // Hours and minutes among plain minutes or hours: all on a scale of minutes.
        for (figure, unit) in list.iter_mut().zip(&units).filter(|(f, _)| !f.hours_and_minutes) {
            figure.worth = amounts::time_unit(unit.as_deref()?)?;
        }
    }
    scaled(key, text, list, &places, last.as_deref() == Some("%"))
}

/// `{ low = 1, likely = 2, high = 4, unit = "min" }`, its numbers plain.
fn figures_of_table(key: &str, table: &InlineTable, written: &str, from: usize) -> Option<Figures> {
    let mut list = Vec::new();
    let mut places = Vec::new();
    for name in ["low", "likely", "high"] {
        let Some(number) = table.get(name) else { continue };
        let value = number.as_float().or_else(|| number.as_integer().map(|i| i as f64))?;
        let at = number.span()?;
        let at = at.start.checked_sub(from)?..at.end.checked_sub(from)?;
        list.push(plain(value, written.get(at.clone())?));
        places.push(at);
    }
    if list.len() < 2 || !places.is_sorted_by_key(|p| p.start) {
        return None;
    }
    let unit = table.get("unit").and_then(toml_edit::Value::as_str);
    scaled(key, written, list, &places, unit == Some("%"))
}

fn plain(value: f64, written: &str) -> Figure {
    Figure {
        value,
        decimals: written
            .split_once('.')
            .map_or(0, |(_, digits)| digits.bytes().take_while(u8::is_ascii_digit).count()),
        worth: 1.0,
        hours_and_minutes: false,
    }
}

fn scaled(key: &str, text: &str, list: Vec<Figure>, places: &[Range<usize>], share: bool) -> Option<Figures> {
    if list.iter().any(|f| !f.value.is_finite() || f.value < 0.0) {
        return None;
    }
    let largest = list.iter().map(|f| f.value * f.worth).fold(0.0, f64::max);
    let top = match () {
        () if share && of_the_whole(key) => 100.0,
        () if share && largest <= 100.0 => round_up(2.0 * largest.max(0.5)).min(100.0),
        () if counts(key) => round_up(2.0 * largest.max(5.0)),
        () if largest == 0.0 => 10.0,
        () => round_up(2.0 * largest),
    };
    let decimals = list.iter().map(|f| f.decimals).max().unwrap_or(0);
    let step = match () {
        () if counts(key) => 1.0,
        () if list.iter().any(|f| f.hours_and_minutes) => round_down(top / 100.0).max(1.0),
        // Cents, where they are steps enough.
        () if decimals >= 2 && top >= 0.2 => round_down(top / 100.0).max(0.01),
        () => round_down(top / 100.0),
    };
    let mut between = Vec::new();
    let mut at = 0;
    for place in places {
        between.push(text.get(at..place.start)?.to_owned());
        at = place.end;
    }
    between.push(text.get(at..)?.to_owned());
    Some(Figures {
        between,
        list,
        top,
        step,
    })
}

/// The next round number at or above.
fn round_up(value: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(value)));
    let round = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0];
    // A hair more than a round number is that number.
    let found = round.iter().find(|r| **r * power >= value * (1.0 - 1e-9));
    found.unwrap_or(&10.0) * power
}

/// 1, 2 or 5 times a power of ten, at or below.
fn round_down(value: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(value * (1.0 + 1e-9))));
    let found = [5.0, 2.0, 1.0].into_iter().find(|r| r * power <= value * (1.0 + 1e-9));
    found.unwrap_or(1.0) * power
}

// ---------------------------------------------------------------------------------------------------------------------
// Exchanging

/// The text with these values as a person typed them, quotes or not, each where the old one stands; every other byte as it was.
///
/// A text stays a text and keeps its quotes; what was no text stays bare where TOML allows it. A value that is typed as it is
/// shown is left alone.
///
/// # Errors
/// One sentence: the text is not TOML, has no such value, or one value is typed twice.
pub fn with_typed(text: &str, typed: &[(Address, String)]) -> Result<String, String> {
    if typed.is_empty() {
        return Ok(text.to_owned());
    }
    let sections = sections(text).ok_or("the text cannot be read as TOML")?;
    let mut values: HashMap<(&str, Option<usize>, &str), (&Value, bool)> = HashMap::new();
    for section in &sections {
        for value in &section.values {
            let at = (section.word.as_str(), section.entry, value.key.as_str());
            values.entry(at).or_insert((value, false));
        }
    }
    let mut edits: Vec<Edit> = Vec::new();
    for (Address { section, entry, key }, new) in typed {
        let (value, typed_before) = values
            .get_mut(&(section.as_str(), *entry, key.as_str()))
            .ok_or_else(|| format!("there is no value `{key}` to exchange"))?;
        if std::mem::replace(typed_before, true) {
            return Err(format!("the value `{key}` is typed twice"));
        }
        if *new != value.shown {
            let was = text.get(value.span.clone()).unwrap_or("");
            edits.push((value.span.clone(), as_toml(was, new)));
        }
    }
    Ok(exchanged(text, &edits))
}

/// The text with stretches exchanged. Insertions at one place keep their order; stretches do not overlap.
pub(crate) fn exchanged(text: &str, edits: &[Edit]) -> String {
    // From the end, so that what stands before keeps its place.
    let mut order: Vec<usize> = (0..edits.len()).collect();
    order.sort_by_key(|k| (std::cmp::Reverse(edits[*k].0.start), std::cmp::Reverse(*k)));
    let mut out = text.to_owned();
    for k in order {
        let (span, replacement) = &edits[k];
        out.replace_range(span.clone(), replacement);
    }
    out
}

/// What a person typed as TOML, in the manner of what stood there.
pub(super) fn as_toml(was: &str, typed: &str) -> String {
    let plain = typed.trim();
    let was_text = was.starts_with(['"', '\'']);
    let meant = if was_text {
        plain.starts_with(['"', '\'', '{', '['])
    } else {
        true
    };
    if meant && is_one_value(plain) {
        return plain.to_owned();
    }
    let literal = was.starts_with('\'') && !typed.contains('\'') && !typed.chars().any(char::is_control);
    if literal {
        format!("'{typed}'")
    } else {
        let escaped = typed.chars().any(|c| c == '"' || c == '\\' || c.is_control());
        if escaped {
            toml_edit::Value::from(typed).to_string()
        } else {
            format!("\"{typed}\"")
        }
    }
}

/// Whether it is one TOML value from end to end.
fn is_one_value(text: &str) -> bool {
    const LEAD: &str = "x = ";
    let line = format!("{LEAD}{text}");
    if toml::too_deep(&line).is_some() {
        return false;
    }
    let Ok(document) = Document::parse(line.as_str()) else {
        return false;
    };
    let table = document.as_table();
    let span = table.get("x").and_then(Item::as_value).and_then(toml_edit::Value::span);
    table.len() == 1 && span == Some(LEAD.len()..line.len())
}

/// A table in one of the two forms it can be written in.
pub(crate) enum Holder<'a> {
    Section(&'a Table),
    Inline(&'a InlineTable),
}

/// Where to write, what, and what stood there.
pub(crate) type Put = (Range<usize>, String, Option<String>);

impl<'a> Holder<'a> {
    pub(crate) fn of(item: &'a Item) -> Option<Self> {
        match item {
            Item::Table(table) => Some(Self::Section(table)),
            Item::Value(toml_edit::Value::InlineTable(table)) => Some(Self::Inline(table)),
            _ => None,
        }
    }

    /// The entry of this name in a list of sections; the inner `None`: its form is not one that can be edited.
    pub(crate) fn named(root: &'a Table, word: &str, name: &str) -> Option<Option<Self>> {
        let is = |table: &dyn TableLike| table.get("name").and_then(Item::as_str) == Some(name);
        match root.get(word)? {
            Item::ArrayOfTables(list) => list.iter().find(|t| is(*t)).map(|t| Some(Self::Section(t))),
            Item::Value(toml_edit::Value::Array(list)) => list
                .iter()
                .filter_map(toml_edit::Value::as_inline_table)
                .find(|t| is(*t))
                .map(|t| Some(Self::Inline(t))),
            _ => Some(None),
        }
    }

    /// One of a list of sections.
    pub(crate) fn entry(list: &'a Item, k: usize) -> Option<Self> {
        match list {
            Item::ArrayOfTables(list) => list.get(k).map(Self::Section),
            Item::Value(toml_edit::Value::Array(list)) => list.get(k)?.as_inline_table().map(Self::Inline),
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
    pub(crate) fn put(&self, text: &str, key: &str, new: &str) -> Result<Put, String> {
        match self.table().get(key) {
            Some(Item::Value(value)) => {
                let span = value.span().ok_or("its place is not known")?;
                let was = text.get(span.clone()).ok_or("its place is not known")?.to_owned();
                // A dotted key makes a table that stands nowhere in one piece.
                if value.is_inline_table() && !was.starts_with('{') {
                    return Err("it is written in parts".to_owned());
                }
                Ok((span, new.to_owned(), Some(was)))
            }
            Some(_) => Err("it is written as a section of its own".to_owned()),
            None => self.add(text, key, new).map(|(span, added)| (span, added, None)),
        }
    }

    fn add(&self, text: &str, key: &str, new: &str) -> Result<(Range<usize>, String), String> {
        let mut spans: Vec<Range<usize>> = self
            .table()
            .iter()
            .filter_map(|(_, item)| item.as_value().and_then(toml_edit::Value::span))
            .collect();
        spans.sort_unstable_by_key(|span| span.end);
        let [first, last] = [spans.first(), spans.last()]
            .map(|span| span.cloned().ok_or("there is no value beside which it could stand"));
        let (first, last) = (first?, last?);
        if matches!(self, Self::Inline(_)) {
            return Ok((last.end..last.end, format!(", {key} = {new}")));
        }
        let line_start = text[..first.start].rfind('\n').map_or(0, |i| i + 1);
        let line = &text[line_start..];
        let indent: String = line.chars().take_while(|c| matches!(c, ' ' | '\t')).collect();
        // Equals signs stay in one column, which is that of the first key: a long one further down may reach beyond it.
        let before_sign = line.find('=').map_or(0, |i| line[..i].chars().count());
        let width = before_sign.saturating_sub(indent.chars().count() + 1);
        let line_end = text[last.end..].find('\n').map(|i| last.end + i + 1);
        let written = format!("{indent}{key:<width$} = {new}");
        Ok(match line_end {
            Some(at) => {
                let end = line_feed(&text[last.end..]);
                (at..at, format!("{written}{end}"))
            }
            None => (text.len()..text.len(), format!("{}{written}", line_feed(text))),
        })
    }
}
#[cfg(test)]
mod tests;
