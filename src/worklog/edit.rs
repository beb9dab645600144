//! New estimates put into a scenario's text: values are exchanged where they stand ([`crate::scenario::written`]), every other
//! byte stays.

use super::fit::{Fit, From, Part};
use crate::scenario::keys::GUESSED;
use crate::scenario::rewrite::{Change, OTHER_FORM, Wanted, rewritten};
use crate::scenario::written::{Holder, line_feed};
use crate::scenario::{Spread, quoted};

/// Times from so many minutes on are written in hours.
const HOURS_FROM: f64 = 120.0;

/// The text with the new estimates in it, and what was changed. A value that would be as it was is left alone. What stood there is kept beside it as what was
/// guessed, where the file does not keep an older guess: the next reading is beside that.
///
/// # Errors
/// What stands in the way, one sentence each: a value in a form that cannot be exchanged where it stands.
pub fn edited(text: &str, fit: &Fit) -> Result<(String, Vec<Change>), Vec<String>> {
    let (learned, changes) = put(text, fit, wanted(fit))?;
    let guesses = changes.iter().filter(|change| is_learned(&change.key)).map(|change| {
        let was = change.was.clone().unwrap_or_else(|| unsaid(&change.key).to_owned());
        (change.step.clone(), format!("{GUESSED}{}", change.key), was)
    });
    let (learned, _) = put(&learned, fit, guesses.collect())?;
    Ok((learned, changes))
}

/// Whether it is estimated beside a guess: chances are counted, and what setups and pieces have to do with each other comes of the log alone.
fn is_learned(key: &str) -> bool {
    !matches!(key, "spoil" | "redo" | "opposite")
}

/// What a file says of a time, of `varies` or of the pace by saying nothing.
fn unsaid(key: &str) -> &'static str {
    match key {
        "varies" => "\"piece\"",
        "factor" => "1",
        _ => "\"0 min\"",
    }
}

/// The text with values by step and key in it, as TOML, and what was changed.
fn put(text: &str, fit: &Fit, values: Vec<(String, String, String)>) -> Result<(String, Vec<Change>), Vec<String>> {
    let channel_of = |step: &str| fit.steps.iter().find(|s| s.name == step)?.channel.as_deref();
    let wanted = values.into_iter().map(|(step, key, new)| Wanted {
        owner: match channel_of(&step) {
            _ if step.is_empty() => "[pace]".to_owned(),
            Some(channel) => format!("channel {}", quoted(channel)),
            None => format!("step {}", quoted(&step)),
        },
        step,
        key,
        new,
    });
    rewritten(text, wanted.collect(), |root, body, one| {
        let holder = match channel_of(&one.step) {
            _ if one.step.is_empty() => root.get("pace").map(Holder::of),
            Some(channel) => Holder::named(root, "channel", channel),
            None => Holder::named(root, "step", &one.step),
        };
        match holder {
            Some(Some(holder)) => {
                let put = holder.put(body, &one.key, &one.new)?;
                let is_older_guess = one.key.starts_with(GUESSED) && put.2.is_some();
                Ok(if is_older_guess {
                    (put.0, put.1, Some(one.new.clone()))
                } else {
                    put
                })
            }
            // No [pace] yet: a section of its own at the end.
            None if one.step.is_empty() => {
                let end = line_feed(body);
                let gap = if body.ends_with('\n') || body.is_empty() {
                    ""
                } else {
                    end
                };
                let section = format!("{gap}{end}[pace]{end}{} = {}{end}", one.key, one.new);
                Ok((body.len()..body.len(), section, None))
            }
            _ => Err(OTHER_FORM.to_owned()),
        }
    })
}

/// Step, key and value, as TOML.
fn wanted(fit: &Fit) -> Vec<(String, String, String)> {
    let mut list = Vec::new();
    if fit.settled {
        return list;
    }
    for step in &fit.steps {
        // What the log does not contradict stays as it is written.
        for part in step.parts.iter().filter(|part| part.from != From::File) {
            list.push((step.name.clone(), part.key.to_owned(), time(part)));
        }
        if let Some(varies) = step.varies {
            list.push((step.name.clone(), "varies".to_owned(), format!("\"{varies}\"")));
        }
        if let Some(opposite) = step.opposite {
            list.push((step.name.clone(), "opposite".to_owned(), percent(opposite)));
        }
        for (key, chance) in [("redo", &step.redo), ("spoil", &step.spoil)] {
            if let Some(chance) = chance.filter(|c| c.contradicts) {
                list.push((step.name.clone(), key.to_owned(), percent(chance.share.share)));
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

fn percent(share: f64) -> String {
    format!("\"{} %\"", figure(100.0 * share))
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
