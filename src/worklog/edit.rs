//! New estimates put into a scenario's text: values are exchanged where they stand ([`crate::scenario::written`]), every other
//! byte stays.

use super::fit::{Fit, From, Part};
use crate::scenario::written::{Edit, Holder, exchanged, mark_length};
use crate::scenario::{Spread, quoted};
use toml_edit::Document;

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
    let mark = mark_length(text);
    let body = &text[mark..];
    let Ok(document) = Document::parse(body) else {
        return Err(vec!["the scenario cannot be read as TOML".to_owned()]);
    };
    let mut edits: Vec<Edit> = Vec::new();
    let (mut changes, mut wrong) = (Vec::new(), Vec::new());
    for (step, key, new) in wanted(fit) {
        let channel = fit
            .steps
            .iter()
            .find(|s| s.name == step)
            .and_then(|s| s.channel.as_deref());
        let holder = match channel {
            _ if step.is_empty() => document.as_table().get("pace").map(Holder::of),
            Some(channel) => Holder::named(document.as_table(), "channel", channel),
            None => Holder::named(document.as_table(), "step", &step),
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
                } else if let Some(channel) = channel {
                    format!("channel {}", quoted(channel))
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
    Ok((format!("{}{}", &text[..mark], exchanged(body, &edits)), changes))
}

/// Step, key and value, as TOML.
fn wanted(fit: &Fit) -> Vec<(String, String, String)> {
    let mut list = Vec::new();
    for step in &fit.steps {
        // What the log does not contradict stays as it is written.
        for part in step.parts.iter().filter(|part| part.from != From::File) {
            list.push((step.name.clone(), part.key.to_owned(), time(part)));
        }
        if let Some(varies) = step.varies {
            list.push((step.name.clone(), "varies".to_owned(), format!("\"{varies}\"")));
        }
        for (key, chance) in [("redo", &step.redo), ("spoil", &step.spoil)] {
            if let Some(chance) = chance.filter(|c| c.contradicts) {
                let value = format!("\"{} %\"", figure(100.0 * chance.share.share));
                list.push((step.name.clone(), key.to_owned(), value));
            }
        }
    }
    if let Some(pace) = &fit.pace.spread {
        list.push((
            String::new(),
            "factor".to_owned(),
            amount(pace, None, fit.pace.shared.is_some()),
        ));
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
    amount(&part.spread, Some(unit), part.from == From::Log)
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
pub(crate) fn figure(value: f64) -> String {
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
