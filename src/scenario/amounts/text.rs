//! Amounts written as a text: `"12 min"`, `"8 / 12 / 25 min"`.

use std::ops::Range;

use crate::scenario::faults::{SourceSpan, quoted};
use crate::scenario::keys::{Measure, Rule};
use crate::scenario::tree::Node;

use super::tokens::{Token, tokens};
use super::units::{needs_unit, time_unit, unit_worth};
use super::{Figure, Flaw, short};

/// What `1/2 h`, `3/4 h` and their like may mean: the fraction as it would be written, and the range. Half an hour read as one to two
/// hours would be four times too long, and nobody would see it.
fn fraction(text: &str, kind: Measure) -> Option<(String, String)> {
    let text = text.trim();
    let [above, b'/', below, ..] = *text.as_bytes() else {
        return None;
    };
    let unit = text.get(3..)?.trim();
    let plain = above.is_ascii_digit() && matches!(below, b'2' | b'3' | b'4' | b'8') && (b'1'..below).contains(&above);
    if !plain || unit.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '/' | '.' | ',')) {
        return None;
    }
    let (above, below) = (f64::from(above - b'0'), f64::from(below - b'0'));
    let share = above / below;
    let as_written = match time_unit(unit) {
        Some(hour) if matches!(kind, Measure::Work | Measure::Clock) && hour >= 60.0 => {
            format!("`\"{} min\"`", short(share * hour))
        }
        _ if unit.is_empty() => format!("`{}`", short(share)),
        _ => format!("`\"{} {unit}\"`", short(share)),
    };
    let range = format!("{above} / {below} {unit}");
    Some((as_written, format!("`\"{}\"`", range.trim_end())))
}

/// One to three figures from a text.
pub(super) fn read_text(node: &Node, text: &str, start: Option<usize>, rule: Rule) -> Result<Vec<Figure>, Vec<Flaw>> {
    let kind = rule.measure;
    // Where the text stands with escapes in it, the whole value is marked instead of a part.
    let place = |range: &Range<usize>| {
        start.map_or_else(
            || node.place.clone(),
            |s| SourceSpan::new(node.place.source, s + range.start..s + range.end),
        )
    };
    let example = || format!("write for example {}", rule.example());
    let whole = |what: String, label: &str, cure: String| vec![Flaw::new(node.place.clone(), what, label, cure)];

    if let Some((cure, range)) = fraction(text, kind) {
        return Err(whole(
            format!("{} may be a fraction or a range", quoted(text.trim())),
            "a fraction, or from the one to the other?",
            format!("write {cure}, or with spaces {range} for anything between the two"),
        ));
    }
    let tokens = tokens(text).map_err(|(range, what, cure)| vec![Flaw::new(place(&range), what, "here", cure)])?;
    if tokens.is_empty() {
        return Err(whole(
            format!("nothing is written, and this must be {}", kind.noun()),
            "empty",
            example(),
        ));
    }
    let parts: Vec<&[(Token, Range<usize>)]> = tokens.split(|(t, _)| *t == Token::Slash).collect();
    if parts.len() > 3 {
        return Err(whole(
            format!("{} numbers between slashes; a range has two or three", parts.len()),
            "low / likely / high",
            example(),
        ));
    }
    if parts.iter().any(|p| p.is_empty()) {
        return Err(whole(
            "a number is missing beside a slash".to_owned(),
            "low / likely / high",
            example(),
        ));
    }

    // The unit at the very end serves all parts that have none, if none of the others has one.
    let shared = match parts.split_last() {
        Some(([(Token::Number(_), _), (Token::Word, range)], others)) if !others.is_empty() => Some(range.clone()),
        _ => None,
    };
    if needs_unit(kind)
        && let Some((what, label, cure)) = units_amiss(&parts, shared.is_some(), text, kind)
    {
        return Err(whole(what, label, cure));
    }

    let mut figures = Vec::new();
    let mut flaws = Vec::new();
    for part in &parts {
        match read_part(part, shared.as_ref().filter(|_| is_bare(part)), text, rule, &place) {
            Ok(figure) => figures.push(figure),
            // The same unit at the end is wrong once, not three times.
            Err(flaw) if flaws.iter().any(|f: &Flaw| f.place == flaw.place) => {}
            Err(flaw) => flaws.push(flaw),
        }
    }
    if !flaws.is_empty() {
        return Err(flaws);
    }
    Ok(figures)
}

/// A number without a unit.
fn is_bare(part: &[(Token, Range<usize>)]) -> bool {
    matches!(part, [(Token::Number(_), _)])
}

/// Several parts of which some or all have no unit: what is wrong, a label, a cure. Zero needs no unit.
fn units_amiss(
    parts: &[&[(Token, Range<usize>)]],
    shared: bool,
    text: &str,
    kind: Measure,
) -> Option<(String, &'static str, String)> {
    let (_, others) = parts.split_last().filter(|(_, others)| !others.is_empty())?;
    let lacking = parts
        .iter()
        .any(|part| matches!(part, [(Token::Number(n), _)] if *n != 0.0));
    if !lacking || shared && others.iter().all(|part| is_bare(part)) {
        return None;
    }
    if parts.iter().all(|part| is_bare(part)) {
        let unit = if kind == Measure::Share { "%" } else { "min" };
        return Some((
            format!("{} has no unit", quoted(text)),
            "unit?",
            format!("write the unit once, at the end: `\"{} {unit}\"`", text.trim()),
        ));
    }
    let example = if kind == Measure::Share {
        "`\"15 / 25 / 40 %\"`"
    } else {
        "`\"8 / 12 / 25 min\"`, `\"45 min / 1 h / 2 h\"`"
    };
    Some((
        "some of the numbers have a unit and some have none".to_owned(),
        "which unit for which number?",
        format!("write the unit once at the end, or with each number: {example}"),
    ))
}

/// One part between slashes.
fn read_part(
    part: &[(Token, Range<usize>)],
    shared_unit: Option<&Range<usize>>,
    text: &str,
    rule: Rule,
    place: &dyn Fn(&Range<usize>) -> SourceSpan,
) -> Result<Figure, Flaw> {
    let kind = rule.measure;
    let span = part[0].1.start..part[part.len() - 1].1.end;
    let shown = text[span.clone()].to_owned();
    let example = || format!("write for example {}", rule.example());
    let unit_flaw = |range: &Range<usize>, (what, cure): (String, String)| Flaw::new(place(range), what, "here", cure);
    let no_number = || {
        Flaw::new(
            place(&span),
            format!("{} is not {}", quoted(&shown), kind.noun()),
            format!("must be {}", kind.noun()),
            example(),
        )
    };

    let mut total = 0.0;
    let mut smallest_unit = f64::INFINITY;
    let mut at = 0;
    while at < part.len() {
        let (Token::Number(number), number_range) = &part[at] else {
            // "x 2", "about 5 min", "€ 5".
            if let Err(reason) = unit_worth(rule, &text[part[at].1.clone()])
                && part.len() > 1
            {
                return Err(unit_flaw(&part[at].1, reason));
            }
            return Err(no_number());
        };
        if !number.is_finite() {
            return Err(Flaw::new(
                place(number_range),
                format!("{} is too large", quoted(&text[number_range.clone()])),
                "too large",
                example(),
            ));
        }
        let unit = match part.get(at + 1) {
            Some((Token::Word, range)) => {
                at += 1;
                Some(range)
            }
            _ => shared_unit,
        };
        at += 1;
        let worth = match unit {
            Some(range) => {
                let word = &text[range.clone()];
                if at < part.len() && matches!(part[at].0, Token::Word) || is_dash(word) {
                    // "8 min or so", "8 to 12 min", "8 – 12 min": words between numbers.
                    return Err(range_flaw(place(&span), &shown, rule));
                }
                unit_worth(rule, word).map_err(|reason| {
                    if at < part.len() && time_unit(word).is_none() {
                        range_flaw(place(&span), &shown, rule)
                    } else {
                        unit_flaw(range, reason)
                    }
                })?
            }
            None if at < part.len() => {
                // Two numbers side by side: "8 -12 min", "1 200".
                return Err(range_flaw(place(&span), &shown, rule));
            }
            None if needs_unit(kind) && *number != 0.0 => {
                return Err(without_unit(&text[number_range.clone()], place(number_range), kind));
            }
            None => 1.0,
        };
        let several = part.len() > 2;
        if several && (worth >= smallest_unit || (*number < 0.0 && at > 2)) {
            return Err(range_flaw(place(&span), &shown, rule));
        }
        smallest_unit = worth;
        total += times(*number, worth);
    }
    Ok(Figure {
        value: total,
        place: place(&span),
        shown,
    })
}

/// A number that needs a unit and has none.
fn without_unit(number: &str, place: SourceSpan, kind: Measure) -> Flaw {
    let (what, cure) = if kind == Measure::Share {
        (
            format!("{} has no % sign, and a share is written in per cent", quoted(number)),
            format!("write `\"{number} %\"`"),
        )
    } else {
        (
            format!("{} has no unit, and a time needs one", quoted(number)),
            format!("write `\"{number} min\"` or `\"{number} h\"`"),
        )
    };
    Flaw::new(place, what, "unit?", cure)
}

/// Number times the unit's worth. A worth below 1 divides by its whole reciprocal: 7 % is then the nearest number to 0.07.
pub(super) fn times(number: f64, worth: f64) -> f64 {
    if worth < 1.0 {
        number / (1.0 / worth).round()
    } else {
        number * worth
    }
}

fn is_dash(word: &str) -> bool {
    matches!(word, "-" | "–" | "—" | "−" | "..")
}

/// Numbers and words that make no amount together; where they look like a range, how it is written.
fn range_flaw(place: SourceSpan, shown: &str, rule: Rule) -> Flaw {
    let looks_like_range = [" to ", "..", "-", "–", "—", "−"]
        .iter()
        .any(|sign| shown.contains(sign));
    let mut numbers = Vec::new();
    let mut unit = "";
    if let Ok(tokens) = tokens(shown) {
        for (token, range) in tokens {
            match token {
                Token::Number(value) => numbers.push(short(value.abs())),
                Token::Word => unit = shown.get(range).unwrap_or(""),
                Token::Slash => {}
            }
        }
    }
    let cure = if looks_like_range && (2..=3).contains(&numbers.len()) {
        let unit = if unit_worth(rule, unit).is_ok() {
            format!(" {unit}")
        } else {
            String::new()
        };
        format!("a range is written with slashes: `\"{}{unit}\"`", numbers.join(" / "))
    } else {
        format!("write for example {}", rule.example())
    };
    Flaw::new(
        place,
        format!("{} is not {}", quoted(shown), rule.measure.noun()),
        "not understood",
        cure,
    )
}
