//! Amounts written as a text: `"12 min"`, `"8 / 12 / 25 min"`.

use std::ops::Range;

use crate::scenario::faults::{SourceSpan, quoted};
use crate::scenario::keys::{Measure, Rule};
use crate::scenario::tree::{Node, Value};

use super::tokens::{Token, tokens};
use super::units::{SIGNS, is_idle, makes_another, needs_unit, time_unit, unit_of_sign, unit_worth};
use super::{Figure, Flaw, short};

/// What is wrong with `1/2 h`, `3/4 h` and their like, and the cure: the fraction as it would be written, the range, or both where both would be
/// taken. Half an hour read as one to two hours would be four times too long, and nobody would see it.
fn fraction(text: &str, rule: Rule) -> Option<(String, &'static str, String)> {
    let text = text.trim();
    let [above, b'/', below, ..] = *text.as_bytes() else {
        return None;
    };
    let unit = text.get(3..)?.trim();
    // Between two shares of less than ten per cent nobody decides: four of five are meant.
    let bare_share = unit.is_empty() && rule.measure == Measure::Share;
    let usual = matches!(below, b'2' | b'3' | b'4' | b'8') || bare_share && below.is_ascii_digit();
    let plain = above.is_ascii_digit() && usual && (b'1'..below).contains(&above);
    if !plain || unit.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '/' | '.' | ',')) {
        return None;
    }
    let (above, below) = (f64::from(above - b'0'), f64::from(below - b'0'));
    let share = above / below;
    let number = match (time_unit(unit), rule.measure) {
        (Some(hour), Measure::Work | Measure::Clock) if hour >= 60.0 => format!("{} min", short(share * hour)),
        _ if bare_share => format!("{} %", short(100.0 * share)),
        _ => format!("{} {unit}", short(share)).trim_end().to_owned(),
    };
    let unit = if bare_share { "%" } else { unit };
    let range = format!("{above} / {below} {unit}").trim_end().to_owned();
    let number_taken = is_taken(&number, rule);
    let number = match unit {
        "" => format!("`{number}`"),
        _ => format!("`\"{number}\"`"),
    };
    let shown = quoted(text);
    Some(match (number_taken, is_taken(&range, rule)) {
        (true, false) => (
            match rule.measure {
                Measure::Share => format!("{shown} is a fraction, and a share is written in per cent"),
                _ => format!("{shown} is a fraction, and a number is written with a point"),
            },
            "a fraction?",
            format!("write {number}"),
        ),
        (false, true) => (
            format!("{shown} looks like a fraction"),
            "from the one to the other?",
            format!("write it with spaces, `\"{range}\"`, for anything between the two"),
        ),
        _ => (
            format!("{shown} may be a fraction or a range"),
            "a fraction, or from the one to the other?",
            format!("write {number}, or with spaces `\"{range}\"` for anything between the two"),
        ),
    })
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

    if let Some((what, label, cure)) = fraction(text, rule) {
        return Err(whole(what, label, cure));
    }
    let tokens =
        tokens(text, kind).map_err(|(range, what, cure)| vec![Flaw::new(place(&range), what, "here", cure)])?;
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
    for tokens in &parts {
        let part = Part {
            tokens,
            text,
            rule,
            place: &place,
        };
        match part.read(shared.as_ref().filter(|_| is_bare(tokens))) {
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

/// Whether a text that a cure names is an amount by the rule.
pub(super) fn is_taken(text: &str, rule: Rule) -> bool {
    let node = Node {
        place: SourceSpan::new(0, 0..0),
        value: Value::Text(text.to_owned(), None),
    };
    super::read(&node, rule, &[]).is_ok()
}

/// The unit that a cure names where none is written.
const fn usual_unit(kind: Measure) -> &'static str {
    match kind {
        Measure::Share => "%",
        _ => "min",
    }
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
        let unit = usual_unit(kind);
        let fractions: Option<Vec<String>> = text.split('/').map(in_per_cent).collect();
        let numbers = match fractions {
            Some(shares) if kind == Measure::Share => shares.join(" / "),
            _ => text.trim().to_owned(),
        };
        return Some((
            format!("{} has no unit", quoted(text)),
            "unit?",
            format!("write the unit once, at the end: `\"{numbers} {unit}\"`"),
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
struct Part<'a> {
    tokens: &'a [(Token, Range<usize>)],
    text: &'a str,
    rule: Rule,
    place: &'a dyn Fn(&Range<usize>) -> SourceSpan,
}

impl Part<'_> {
    fn span(&self) -> Range<usize> {
        self.tokens[0].1.start..self.tokens[self.tokens.len() - 1].1.end
    }

    fn shown(&self) -> &str {
        &self.text[self.span()]
    }

    fn example(&self) -> String {
        format!("write for example {}", self.rule.example())
    }

    /// The cure that writes so many minutes in this part's place, as `5 h 30 min`; `None` where that would be refused as well.
    fn as_hours_and_minutes(&self, minutes: f64) -> Option<String> {
        let (hours, rest) = ((minutes / 60.0).floor(), minutes % 60.0);
        let amount = match rest {
            0.0 => format!("{hours} h"),
            _ => format!("{hours} h {} min", short(rest)),
        };
        let mut text = self.text.to_owned();
        text.replace_range(self.span(), &amount);
        let taken = hours >= 1.0 && is_taken(text.trim(), self.rule);
        taken.then(|| format!("write `\"{}\"`", text.trim()))
    }

    /// The cure of signs of minutes and seconds; `None` where that would be refused as well.
    fn with_units(&self) -> Option<String> {
        let tokens = tokens(self.text, self.rule.measure).ok()?;
        let words = tokens.iter().map(|(_, range)| &self.text[range.clone()]);
        let mut words: Vec<&str> = words.map(|word| unit_of_sign(word).unwrap_or(word)).collect();
        // `5'30`: what stands behind minutes is seconds.
        if let [.., (Token::Word, sign), (Token::Number(_), _)] = tokens.as_slice()
            && unit_of_sign(&self.text[sign.clone()]) == Some("min")
        {
            words.push("s");
        }
        let text = words.join(" ");
        is_taken(&text, self.rule).then(|| format!("{SIGNS}: write `\"{text}\"`"))
    }

    /// The cure of an idle word behind figures: they alone. `None` where that would be refused as well.
    fn without(&self, word: &str) -> Option<String> {
        let kind = self.rule.measure;
        let tokens = tokens(self.text, kind).ok().filter(|_| is_idle(word, kind))?;
        let parts = tokens.iter().map(|(_, range)| &self.text[range.clone()]);
        let text = parts.filter(|part| *part != word).collect::<Vec<_>>().join(" ");
        let currency = if kind == Measure::Money {
            ", in the currency that stands at the top"
        } else {
            ""
        };
        let alone = if text.contains('/') {
            format!("write the numbers alone, `\"{text}\"`{currency}")
        } else {
            format!("write the number alone, `{text}`{currency}")
        };
        is_taken(&text, self.rule).then_some(alone)
    }

    fn range_flaw(&self) -> Flaw {
        range_flaw((self.place)(&self.span()), self.shown(), self.rule)
    }

    fn unit_flaw(&self, range: &Range<usize>, (what, cure): (String, String)) -> Flaw {
        Flaw::new((self.place)(range), what, "here", cure)
    }

    /// The number that stands at a place.
    fn number(&self, at: usize) -> Result<(f64, &Range<usize>), Flaw> {
        match &self.tokens[at] {
            (Token::Number(number), range) if number.is_finite() => Ok((*number, range)),
            (Token::Number(_), range) => Err(Flaw::new(
                (self.place)(range),
                format!("{} is too large", quoted(&self.text[range.clone()])),
                "too large",
                self.example(),
            )),
            (_, range) => {
                // "x 2", "about 5 min", "€ 5".
                if let Err(reason) = unit_worth(self.rule, &self.text[range.clone()])
                    && self.tokens.len() > 1
                {
                    return Err(self.unit_flaw(range, reason));
                }
                let noun = self.rule.measure.noun();
                Err(Flaw::new(
                    (self.place)(&self.span()),
                    format!("{} is not {noun}", quoted(self.shown())),
                    format!("must be {noun}"),
                    self.example(),
                ))
            }
        }
    }

    /// What a unit is worth after which the part goes on at `next`.
    fn worth(&self, unit: &Range<usize>, next: usize) -> Result<f64, Flaw> {
        let word = &self.text[unit.clone()];
        let after = self.tokens.get(next);
        if unit_of_sign(word).is_some()
            && let Some(cure) = self.with_units()
        {
            // All of it is cured at once, so it is told once.
            return Err(self.unit_flaw(
                &(0..self.text.len()),
                (format!("{} is not a unit of time", quoted(word)), cure),
            ));
        }
        if matches!(after, Some((Token::Word, _))) || is_dash(word) {
            // "8 min or so", "8 to 12 min", "8 – 12 min": words between numbers.
            return Err(self.range_flaw());
        }
        unit_worth(self.rule, word).map_err(|(what, cure)| {
            let share = in_words(self.text.trim(), self.rule).map(|share| format!("write `\"{share}\"`"));
            let reason = (what, share.or_else(|| self.without(word)).unwrap_or(cure));
            if after.is_some() && time_unit(word).is_none() {
                self.range_flaw()
            } else {
                self.unit_flaw(unit, reason)
            }
        })
    }

    /// The sum of its numbers; one without a unit has the shared one.
    fn read(&self, shared_unit: Option<&Range<usize>>) -> Result<Figure, Flaw> {
        let kind = self.rule.measure;
        let count = self.tokens.len();
        let mut total = 0.0;
        let mut smallest_unit = f64::INFINITY;
        let mut at = 0;
        while at < count {
            let (number, range) = self.number(at)?;
            at += 1;
            let mut unit = shared_unit;
            if let Some((Token::Word, range)) = self.tokens.get(at) {
                unit = Some(range);
                at += 1;
            }
            let worth = match unit {
                Some(unit) => self.worth(unit, at)?,
                // "1 h 30": minutes behind hours need no word, but "1 h 1/2" is none of them.
                None if at == count && smallest_unit == 60.0 && !self.text[range.end..].starts_with('/') => {
                    if number < 60.0 {
                        1.0
                    } else {
                        let shown = quoted(&self.text[range.clone()]);
                        return Err(Flaw::new(
                            (self.place)(range),
                            format!("{shown} behind hours is minutes, and 60 of them are an hour"),
                            "fewer than 60 are due",
                            self.as_hours_and_minutes(total + number)
                                .unwrap_or_else(|| self.example()),
                        ));
                    }
                }
                // Two numbers side by side: "8 -12 min", "1 200".
                None if at < count => return Err(self.range_flaw()),
                None if needs_unit(kind) && number != 0.0 => {
                    return Err(without_unit(&self.text[range.clone()], (self.place)(range), kind));
                }
                None => 1.0,
            };
            if count > 2 && (worth >= smallest_unit || (number < 0.0 && at > 2)) {
                return Err(self.range_flaw());
            }
            smallest_unit = worth;
            total += times(number, worth);
        }
        Ok(Figure {
            value: total,
            place: (self.place)(&self.span()),
            shown: self.shown().to_owned(),
        })
    }
}

/// A share written as a fraction, 0.05, in per cent; `None` where it is none.
fn in_per_cent(number: &str) -> Option<String> {
    let value: f64 = number.trim().parse().ok()?;
    (value > 0.0 && value < 1.0).then(|| short(value * 100.0))
}

/// A share in words, `30 percent` or `30 per cent`, with its sign; `None` where it is none, or would be refused as well.
fn in_words(shown: &str, rule: Rule) -> Option<String> {
    let number = ["percent", "per cent"]
        .iter()
        .find_map(|words| shown.strip_suffix(words))?;
    let share = format!("{} %", number.trim());
    (rule.measure == Measure::Share && is_taken(&share, rule)).then_some(share)
}

/// A number that needs a unit and has none.
fn without_unit(number: &str, place: SourceSpan, kind: Measure) -> Flaw {
    let (what, cure) = if kind == Measure::Share {
        (
            format!("{} has no % sign, and a share is written in per cent", quoted(number)),
            format!("write `\"{} %\"`", in_per_cent(number).as_deref().unwrap_or(number)),
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
    let mut units: Vec<&str> = Vec::new();
    let mut plain = !needs_unit(rule.measure);
    for (token, range) in tokens(shown, rule.measure).unwrap_or_default() {
        match token {
            Token::Number(value) => numbers.push(short(value.abs())),
            Token::Word => {
                plain &= !makes_another(&shown[range.clone()]);
                units.extend(shown.get(range).filter(|word| unit_worth(rule, word).is_ok()));
            }
            Token::Slash => {}
        }
    }
    units.dedup();
    let range = || {
        let unit = match units.as_slice() {
            [] if needs_unit(rule.measure) => usual_unit(rule.measure),
            [] => "",
            [one] => one,
            _ => return None,
        };
        let text = format!("{} {unit}", numbers.join(" / ")).trim_end().to_owned();
        is_taken(&text, rule).then_some(text)
    };
    let clock = shown
        .split_once(':')
        .filter(|_| matches!(rule.measure, Measure::Work | Measure::Clock))
        .and_then(|(hours, minutes)| Some((hours.parse::<u8>().ok()?, minutes.parse::<u8>().ok()?)))
        .filter(|(_, minutes)| *minutes < 60);
    let cure = if let Some((hours, minutes)) = clock {
        match hours {
            0 => format!("write `\"{minutes} min\"`"),
            _ => format!("write `\"{hours} h {minutes} min\"`"),
        }
    } else if let Some(share) = in_words(shown, rule) {
        format!("write `\"{share}\"`")
    } else if let ([number], true) = (numbers.as_slice(), plain) {
        format!("write the number alone: `{number}`")
    } else if let Some(range) = Some(())
        .filter(|()| looks_like_range && numbers.len() > 1 && !rule.certain)
        .and_then(|()| range())
    {
        format!("a range is written with slashes: `\"{range}\"`")
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
