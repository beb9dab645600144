//! Amounts as people write them: `"12 min"`, `"1 h 30 min"`, `"15 %"`, `6.20`, and ranges `"8 / 12 / 25 min"`.
//!
//! Grammar of a text: one to three parts between slashes. One part is certain; two are low / high with all values between
//! equally likely; three are low / likely / high. A part is a number with its unit, or for times several
//! (`1 h 30 min`). The unit may stand once, at the end, for all parts, or with each of them.
//!
//! `1/2 h` is refused: it reads as half an hour and means one to two hours, four times too long, and nobody would see it.

use std::ops::Range;

use super::faults::{Fault, Source, SourceSpan, nearest, quoted};
use super::keys::{self, Bound, LARGEST, Measure, Rule, SMALLEST, Takes};
use super::spread::{Spread, TenthsError, ThreePoint};
use super::tree::{Node, Table, Value};

impl Measure {
    const fn example(self) -> &'static str {
        match self {
            Self::Work => "`\"12 min\"`, `\"1 h 30 min\"` or a range `\"8 / 12 / 25 min\"`",
            Self::Clock => "`\"12 h\"`, `\"3 d\"` or a range `\"8 / 12 / 24 h\"`",
            Self::Money => "`6.5` or a range `\"6.20 / 7.00 / 8.50\"`",
            Self::Share => "`\"15 %\"` or a range `\"15 / 25 / 40 %\"`",
            Self::Number => "`1.5` or a range `\"0.9 / 1 / 1.35\"`",
        }
    }

    const fn certain_example(self) -> &'static str {
        match self {
            Self::Work | Self::Clock => "`\"12 min\"`",
            Self::Money => "`6.5`",
            Self::Share => "`\"15 %\"`",
            Self::Number => "`1.5`",
        }
    }

    /// What a list of logged values may look like.
    const fn logged_example(self) -> &'static str {
        match self {
            Self::Work => "`values = [11, 12.5, 14, 12, 19], unit = \"min\"`",
            Self::Clock => "`values = [20, 22, 24, 21, 30], unit = \"h\"`",
            Self::Money => "`values = [5.9, 6.8, 6.8, 7.2, 9.5]`",
            Self::Share => "`values = [15, 20, 20, 25, 40], unit = \"%\"`",
            Self::Number => "`values = [0.9, 1, 1, 1.1, 1.35]`",
        }
    }

    /// An amount in this kind's own unit, for a cure.
    fn show(self, value: f64) -> String {
        match self {
            Self::Work | Self::Clock => format!("{} min", short(value)),
            Self::Share => format!("{} %", short(value * 100.0)),
            Self::Money | Self::Number => short(value),
        }
    }
}

/// A number without a tail of zeros or a long fraction.
pub(super) fn short(value: f64) -> String {
    let rounded = (value * 1e4).round() / 1e4;
    if rounded == 0.0 && value != 0.0 {
        format!("{value:e}")
    } else {
        format!("{rounded}")
    }
}

impl Rule {
    const fn example(self) -> &'static str {
        if self.certain {
            self.measure.certain_example()
        } else {
            self.measure.example()
        }
    }
}

/// What is wrong with an amount, before it is said whose amount it is.
#[derive(Debug, Clone)]
pub(super) struct Flaw {
    pub(super) place: SourceSpan,
    pub(super) what: String,
    pub(super) label: String,
    pub(super) cure: String,
}

impl Flaw {
    fn new(place: SourceSpan, what: impl Into<String>, label: impl Into<String>, cure: impl Into<String>) -> Self {
        Self {
            place,
            what: what.into(),
            label: label.into(),
            cure: cure.into(),
        }
    }

    pub(super) fn of(self, owner: &str) -> Fault {
        Fault::new(self.place, format!("{owner}: {}", self.what), self.label, self.cure)
    }
}

/// One number of an amount, in the kind's own unit, and where it stands.
#[derive(Debug, Clone)]
struct Figure {
    value: f64,
    place: SourceSpan,
    /// As written, for messages.
    shown: String,
}

/// Reads an amount of any form.
pub(super) fn read(node: &Node, rule: Rule, sources: &[Source]) -> Result<Spread, Vec<Flaw>> {
    let kind = rule.measure;
    let figures = match &node.value {
        Value::Table(table) if !rule.certain => return read_table(node, table, rule, sources),
        Value::Text(text, start) => read_text(node, text, *start, rule)?,
        Value::Whole(_) | Value::Real(_) => vec![read_number(node, rule, sources).map_err(|f| vec![f])?],
        _ => {
            return Err(vec![Flaw::new(
                node.place.clone(),
                format!("this must be {}, not {}", kind.noun(), node.kind()),
                format!("must be {}", kind.noun()),
                format!("write for example {}", rule.example()),
            )]);
        }
    };
    if rule.certain && figures.len() > 1 {
        return Err(vec![Flaw::new(
            node.place.clone(),
            "this must be certain, and a range is given",
            "must be one value",
            format!("write for example {}", kind.certain_example()),
        )]);
    }
    check_bounds(&figures, rule)?;
    check_order(&figures, kind, node)?;
    Ok(match figures.as_slice() {
        [one] => Spread::Certain(one.value),
        [low, high] => Spread::uniform(low.value, high.value),
        [low, likely, high] => Spread::triangular(ThreePoint {
            low: low.value,
            likely: likely.value,
            high: high.value,
        }),
        _ => Spread::ZERO,
    })
}

/// Hands-on minutes from a text: `52 min`, `1 h 30 min`; more than none, and certain. `verbatim`: it stands at `place` letter by
/// letter, so that a part of it can be marked.
pub(crate) fn work_minutes(owner: &str, text: &str, place: SourceSpan, verbatim: bool) -> Result<f64, Vec<Fault>> {
    let start = verbatim.then_some(place.span.start);
    let node = Node {
        place,
        value: Value::Text(text.to_owned(), start),
    };
    let spread = read(&node, Rule::positive(Measure::Work).certain(), &[]);
    spread
        .map(|s| s.mean())
        .map_err(|flaws| flaws.into_iter().map(|flaw| flaw.of(owner)).collect())
}

/// A number that stands without quotes.
fn read_number(node: &Node, rule: Rule, sources: &[Source]) -> Result<Figure, Flaw> {
    let value = match node.value {
        // Whole numbers past 2^53 lose their last digits here and are refused for their size later.
        Value::Whole(i) => i as f64,
        Value::Real(x) => x,
        _ => f64::NAN,
    };
    let shown = node.raw(sources).to_owned();
    if !value.is_finite() {
        return Err(Flaw::new(
            node.place.clone(),
            format!("{} is not an amount", quoted(&shown)),
            "must be a number",
            format!("write for example {}", rule.example()),
        ));
    }
    match rule.measure {
        Measure::Work | Measure::Clock if value != 0.0 => Err(Flaw::new(
            node.place.clone(),
            format!("{} has no unit, and a time needs one", quoted(&shown)),
            "minutes, hours?",
            format!("write `\"{shown} min\"` or `\"{shown} h\"`"),
        )),
        Measure::Share if value > 0.0 => Err(Flaw::new(
            node.place.clone(),
            format!("{} has no % sign, and a share is written in per cent", quoted(&shown)),
            "per cent?",
            if value < 1.0 {
                format!("write `\"{} %\"`", short(value * 100.0))
            } else {
                format!("write `\"{shown} %\"`")
            },
        )),
        _ => Ok(Figure {
            value,
            place: node.place.clone(),
            shown,
        }),
    }
}

// ---------------------------------------------------------------------------------------------------------------------
// Texts

/// A piece of an amount's text.
#[derive(Debug, Clone, PartialEq)]
enum Token {
    Number(f64),
    Word,
    Slash,
}

/// Signs that are a number in print.
const FRACTION_SIGNS: [(char, &str); 3] = [('¼', "0.25"), ('½', "0.5"), ('¾', "0.75")];

/// Where a text cannot be split, what is wrong and what would be right.
type Unreadable = (Range<usize>, String, String);

/// Splits into numbers, words and slashes, each with its stretch of the text.
fn tokens(text: &str) -> Result<Vec<(Token, Range<usize>)>, Unreadable> {
    let mut found: Vec<(Token, Range<usize>)> = Vec::new();
    let mut at = 0;
    while let Some(c) = text[at..].chars().next() {
        let rest = &text[at..];
        if c.is_whitespace() {
            at += c.len_utf8();
        } else if c == '/' {
            found.push((Token::Slash, at..at + 1));
            at += 1;
        } else if let Some((_, share)) = FRACTION_SIGNS.iter().find(|(sign, _)| *sign == c) {
            return Err((
                at..at + c.len_utf8(),
                format!("{} is not a number here", quoted(&c.to_string())),
                format!("write it with a point, for example `{share}`"),
            ));
        } else if let Some(length) = number_length(rest) {
            let range = at..at + length;
            let after = &rest[length..];
            if after.starts_with(',') && after[1..].starts_with(|d: char| d.is_ascii_digit()) {
                let digits = after[1..].chars().take_while(char::is_ascii_digit).count();
                let whole = &rest[..length + 1 + digits];
                return Err((
                    at..at + whole.len(),
                    format!("{} has a comma in the number", quoted(whole)),
                    format!(
                        "a decimal point is a point, and thousands are not set apart: `{}`",
                        if rest[..length].contains('.') {
                            whole.replace('.', "").replacen(',', ".", 1)
                        } else if digits == 3 {
                            whole.replace(',', "")
                        } else {
                            whole.replacen(',', ".", 1)
                        }
                    ),
                ));
            }
            let digits: String = rest[..length]
                .chars()
                .filter(|c| *c != '_')
                .map(|c| if c == '−' { '-' } else { c })
                .collect();
            let value: f64 = digits.parse().map_err(|_| {
                (
                    range.clone(),
                    format!("{} is not a number", quoted(&rest[..length])),
                    "write a number, for example `1.5`".to_owned(),
                )
            })?;
            found.push((Token::Number(value), range));
            at += length;
        } else {
            let length = rest
                .char_indices()
                .skip(1)
                .find(|(_, d)| d.is_whitespace() || d.is_ascii_digit() || matches!(d, '/' | '%'))
                .map_or(rest.len(), |(i, _)| i);
            found.push((Token::Word, at..at + length));
            at += length;
        }
    }
    Ok(found)
}

/// A number or a word of an amount, and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stretch {
    Number(f64, Range<usize>),
    Word(Range<usize>),
}

/// The parts between slashes, each with its numbers and words; `None` where there is none or it cannot be split.
pub(super) fn stretches(text: &str) -> Option<Vec<Vec<Stretch>>> {
    let tokens = tokens(text).ok()?;
    let part = |part: &[(Token, Range<usize>)]| {
        part.iter()
            .map(|(token, at)| match token {
                Token::Number(value) => Stretch::Number(*value, at.clone()),
                Token::Word | Token::Slash => Stretch::Word(at.clone()),
            })
            .collect()
    };
    Some(tokens.split(|(t, _)| *t == Token::Slash).map(part).collect())
}

/// Length of the number a text starts with: sign, digits, point, exponent.
fn number_length(text: &str) -> Option<usize> {
    let sign = text
        .chars()
        .next()
        .filter(|c| matches!(c, '+' | '-' | '−'))
        .map_or(0, char::len_utf8);
    let body = &text[sign..];
    let digits = |s: &str| s.bytes().take_while(|b| b.is_ascii_digit() || *b == b'_').count();
    let mut length = digits(body);
    if body[length..].starts_with('.') {
        let fraction = digits(&body[length + 1..]);
        // "1..40" is not a number followed by a stray point.
        if fraction > 0 {
            length += 1 + fraction;
        }
    }
    if length == 0 || !body.as_bytes()[..length].iter().any(u8::is_ascii_digit) {
        return None;
    }
    let exponent = &body[length..];
    if exponent.starts_with(['e', 'E']) {
        let signed = usize::from(exponent[1..].starts_with(['+', '-']));
        let more = exponent[1 + signed..].bytes().take_while(u8::is_ascii_digit).count();
        if more > 0 {
            length += 1 + signed + more;
        }
    }
    Some(sign + length)
}

/// Unit words for times, with minutes to one.
const TIMES: &[(&str, f64)] = &[
    ("min", 1.0),
    ("mins", 1.0),
    ("minute", 1.0),
    ("minutes", 1.0),
    ("h", 60.0),
    ("hr", 60.0),
    ("hrs", 60.0),
    ("hour", 60.0),
    ("hours", 60.0),
    ("s", 1.0 / 60.0),
    ("sec", 1.0 / 60.0),
    ("secs", 1.0 / 60.0),
    ("second", 1.0 / 60.0),
    ("seconds", 1.0 / 60.0),
    ("d", 1440.0),
    ("day", 1440.0),
    ("days", 1440.0),
];

/// Minutes in one of a unit of time.
pub(super) fn time_unit(word: &str) -> Option<f64> {
    let word = word.to_lowercase();
    TIMES.iter().find(|(w, _)| *w == word).map(|(_, m)| *m)
}

/// What one of the unit is worth in the unit the kind is held in, or what is wrong and what would be right.
fn unit_worth(rule: Rule, word: &str) -> Result<f64, (String, String)> {
    let kind = rule.measure;
    let is_time = time_unit(word).is_some();
    let is_currency = (word.len() == 3 && word.bytes().all(|b| b.is_ascii_uppercase()))
        || word.chars().any(|c| matches!(c, '€' | '$' | '£' | '¥'));
    let got = if is_time {
        "a time"
    } else if is_currency {
        "money"
    } else if word == "%" {
        "a share"
    } else {
        ""
    };
    match kind {
        Measure::Work | Measure::Clock => match time_unit(word) {
            Some(minutes) if minutes >= 1440.0 && kind == Measure::Work => Err((
                "a day at the bench is not 24 hours: hands-on time is given in hours".to_owned(),
                "write the hours, for example `\"6 h\"`; days are for `wait`".to_owned(),
            )),
            Some(minutes) => Ok(minutes),
            None if !got.is_empty() => Err((
                format!("{} is {got}, and this must be a time", quoted(word)),
                format!("write for example {}", rule.example()),
            )),
            None if word == "m" => Err((
                "`m` may be minutes or months".to_owned(),
                "write `min`; the units are s, min, h and d".to_owned(),
            )),
            None => Err((
                format!("{} is not a unit of time", quoted(word)),
                nearest(word, TIMES.iter().map(|(w, _)| *w)).map_or_else(
                    || "the units are s, min, h and, for `wait`, d".to_owned(),
                    |n| format!("did you mean {}?", quoted(n)),
                ),
            )),
        },
        Measure::Share if word == "%" => Ok(0.01),
        Measure::Money if is_currency => Err((
            "money is a plain number here; the currency is said once, at the top".to_owned(),
            "write the number alone, and at the top for example `currency = \"EUR\"`".to_owned(),
        )),
        _ if !got.is_empty() => Err((
            format!("{} is {got}, and this must be {}", quoted(word), kind.noun()),
            format!("write for example {}", rule.example()),
        )),
        _ => Err((
            format!("{} is not understood here; this must be {}", quoted(word), kind.noun()),
            format!("write for example {}", rule.example()),
        )),
    }
}

const fn needs_unit(kind: Measure) -> bool {
    matches!(kind, Measure::Work | Measure::Clock | Measure::Share)
}

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
fn read_text(node: &Node, text: &str, start: Option<usize>, rule: Rule) -> Result<Vec<Figure>, Vec<Flaw>> {
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

    // The unit at the very end serves all parts that have none, if none of the others has one. Zero needs no unit.
    let bare = |part: &[(Token, Range<usize>)]| matches!(part, [(Token::Number(_), _)]);
    let lacks = |part: &[(Token, Range<usize>)]| matches!(part, [(Token::Number(n), _)] if *n != 0.0);
    let (last, others) = parts.split_last().map_or((&[][..], &[][..]), |(l, o)| (*l, o));
    let shared = match last {
        [(Token::Number(_), _), (Token::Word, range)] if !others.is_empty() => Some(range.clone()),
        _ => None,
    };
    if needs_unit(kind) && parts.len() > 1 {
        let lacking = parts.iter().filter(|p| lacks(p)).count();
        if lacking > 0 && parts.iter().all(|p| bare(p)) {
            let unit = if kind == Measure::Share { "%" } else { "min" };
            return Err(whole(
                format!("{} has no unit", quoted(text)),
                "unit?",
                format!("write the unit once, at the end: `\"{} {unit}\"`", text.trim()),
            ));
        }
        let one_for_all = shared.is_some() && others.iter().all(|p| bare(p));
        if lacking > 0 && !one_for_all {
            return Err(whole(
                "some of the numbers have a unit and some have none".to_owned(),
                "which unit for which number?",
                format!(
                    "write the unit once at the end, or with each number: {}",
                    if kind == Measure::Share {
                        "`\"15 / 25 / 40 %\"`"
                    } else {
                        "`\"8 / 12 / 25 min\"`, `\"45 min / 1 h / 2 h\"`"
                    }
                ),
            ));
        }
    }

    let mut figures = Vec::new();
    let mut flaws = Vec::new();
    for part in &parts {
        match read_part(part, shared.as_ref().filter(|_| bare(part)), text, rule, &place) {
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
                let number = &text[number_range.clone()];
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
                return Err(Flaw::new(place(number_range), what, "unit?", cure));
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

/// Number times the unit's worth. A worth below 1 divides by its whole reciprocal: 7 % is then the nearest number to 0.07.
fn times(number: f64, worth: f64) -> f64 {
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

// ---------------------------------------------------------------------------------------------------------------------
// Rules

fn check_bounds(figures: &[Figure], rule: Rule) -> Result<(), Vec<Flaw>> {
    let flaws: Vec<Flaw> = figures
        .iter()
        .filter_map(|f| bound_reason(f.value, rule).map(|broken| (f, broken)))
        .map(|(f, (label, cure))| {
            let what = format!("{} is {label}", quoted(&f.shown));
            Flaw::new(f.place.clone(), what, label, cure)
        })
        .collect();
    if flaws.is_empty() { Ok(()) } else { Err(flaws) }
}

/// What a value is that it may not be, and what it must be.
fn bound_reason(value: f64, rule: Rule) -> Option<(&'static str, String)> {
    let kind = rule.measure;
    let under = match rule.low {
        Bound::To(b) => value < b,
        Bound::Short(b) => value <= b,
    };
    let over = match rule.high {
        Bound::To(b) => value > b,
        Bound::Short(b) => value >= b,
    };
    let room = || {
        let low = match rule.low {
            Bound::To(SMALLEST) if value <= 0.0 => "more than 0".to_owned(),
            Bound::To(b) => format!("at least {}", kind.show(b)),
            Bound::Short(b) => format!("more than {}", kind.show(b)),
        };
        match rule.high {
            Bound::To(LARGEST) if under => low,
            Bound::To(LARGEST) => format!("at most {}", kind.show(LARGEST)),
            Bound::To(b) => format!("{low} and at most {}", kind.show(b)),
            Bound::Short(b) => format!("{low} and less than {}", kind.show(b)),
        }
    };
    let label = if !value.is_finite() {
        "no amount"
    } else if under && value < 0.0 {
        "negative"
    } else if under {
        "too small"
    } else if over && rule.measure == Measure::Share && value > 1.0 && rule.high != Bound::To(LARGEST) {
        "more than 100 %"
    } else if over {
        "too large"
    } else {
        return None;
    };
    Some((label, format!("it must be {}", room())))
}

fn check_order(figures: &[Figure], kind: Measure, node: &Node) -> Result<(), Vec<Flaw>> {
    let names: &[&str] = if figures.len() == 3 {
        &["low", "likely", "high"]
    } else {
        &["low", "high"]
    };
    for (i, pair) in figures.windows(2).enumerate() {
        let [a, b] = pair else { continue };
        if a.value > b.value {
            let place = if a.place.source == b.place.source && a.place.span.end <= b.place.span.start {
                SourceSpan::new(a.place.source, a.place.span.start..b.place.span.end)
            } else {
                node.place.clone()
            };
            let mut sorted: Vec<f64> = figures.iter().map(|f| f.value).collect();
            sorted.sort_by(f64::total_cmp);
            let parts: Vec<String> = sorted.iter().map(|v| kind.show(*v)).collect();
            // One is enough: mended as proposed, the whole range is in order.
            return Err(vec![Flaw::new(
                place,
                format!(
                    "{} {} is more than {} {}",
                    names[i],
                    quoted(&a.shown),
                    names[i + 1],
                    quoted(&b.shown)
                ),
                "the smaller comes first",
                format!(
                    "a range is written {}; perhaps `\"{}\"`",
                    names.join(" / "),
                    join_range(&parts)
                ),
            )]);
        }
    }
    Ok(())
}

/// `8 min / 12 min` becomes `8 / 12 min`.
fn join_range(parts: &[String]) -> String {
    let Some((last, before)) = parts.split_last() else {
        return String::new();
    };
    let mut out = String::new();
    for part in before {
        out.push_str(part.split(' ').next().unwrap_or(part));
        out.push_str(" / ");
    }
    out + last
}

// ---------------------------------------------------------------------------------------------------------------------
// Tables

/// Fewest values of a log that a range may have. Of n values that come alike, whatever their law, the next one is outside of all of
/// them with a chance of 2 / (n + 1): one time in three here.
pub(crate) const FEWEST_LOGGED: usize = 5;
/// Most of them: more than one maker times by hand, and few enough to read and to draw from.
pub(crate) const MOST_LOGGED: usize = 5_000;

/// `{ low, likely, high, unit, shape, ends }` or `{ shape, values, unit }`.
fn read_table(node: &Node, table: &Table, rule: Rule, sources: &[Source]) -> Result<Spread, Vec<Flaw>> {
    let kind = rule.measure;
    let mut flaws = Vec::new();
    for (key, _) in &table.entries {
        if keys::key(keys::RANGE, &key.text).is_none() {
            flaws.push(Flaw::new(
                key.place.clone(),
                format!("a range has no {}", quoted(&key.text)),
                "not known",
                nearest(&key.text, keys::known(keys::RANGE)).map_or_else(
                    || "it may have low, likely, high, unit, shape and ends, or values".to_owned(),
                    |n| format!("did you mean {}?", quoted(n)),
                ),
            ));
        }
    }

    let unit = match table.get("unit") {
        Some((key, _)) if !needs_unit(kind) => {
            flaws.push(Flaw::new(
                key.place.clone(),
                format!("{} has no unit here", kind.noun()),
                "no unit",
                "leave `unit` out",
            ));
            None
        }
        Some((_, n)) => match &n.value {
            Value::Text(word, _) => match unit_worth(rule, word.trim()) {
                Ok(_) => Some(word.trim().to_owned()),
                Err((what, cure)) => {
                    flaws.push(Flaw::new(n.place.clone(), what, "here", cure));
                    None
                }
            },
            _ => {
                flaws.push(Flaw::new(
                    n.place.clone(),
                    format!("`unit` is a text, not {}", n.kind()),
                    "must be a text",
                    "write for example `unit = \"min\"`",
                ));
                None
            }
        },
        None => None,
    };
    let unit = match (unit, table.get("unit")) {
        (Some(word), _) => Unit::Of(word),
        (None, Some(_)) => Unit::Faulty,
        (None, None) => Unit::None,
    };
    let shape = word_of(table, "shape", &mut flaws);
    let values = table.get("values");
    // Values without a shape, or with one that is no word: the rest is read as what they must be meant for.
    if shape.as_deref() == Some("logged") || (values.is_some() && shape.is_none()) {
        return read_logged(node, table, &unit, rule, sources, flaws);
    }

    let mut figure = |name: &str| -> Option<Figure> {
        let (_, inner) = table.get(name)?;
        read_figure(inner, &format!("`{name}`"), &unit, rule, sources)
            .map_err(|more| flaws.extend(more))
            .ok()
    };
    let (low, likely, high) = (figure("low"), figure("likely"), figure("high"));

    let default_shape = if table.get("likely").is_some() {
        "triangular"
    } else {
        "uniform"
    };
    let shape = shape.unwrap_or_else(|| default_shape.to_owned());
    let ends = word_of(table, "ends", &mut flaws).unwrap_or_else(|| "limits".to_owned());
    let shape_place = table
        .get("shape")
        .map_or_else(|| node.place.clone(), |(_, n)| n.place.clone());

    if let Some((key, _)) = values {
        flaws.push(Flaw::new(
            key.place.clone(),
            format!("a {shape} range has no values of a log"),
            "not used",
            "take `shape = \"logged\"`, or leave `values` out",
        ));
    }
    for (name, wanted) in [
        ("low", true),
        ("high", true),
        ("likely", matches!(shape.as_str(), "triangular" | "pert")),
    ] {
        match (table.get(name), wanted) {
            (None, true) if values.is_none() => flaws.push(Flaw::new(
                node.place.clone(),
                format!("`{name}` is missing in this range"),
                format!("no `{name}`"),
                if name == "likely" {
                    format!("add `likely`, or take `shape = \"uniform\"`: a {shape} range has three values")
                } else {
                    "a range has at least `low` and `high`; for one certain value write it alone, without the braces"
                        .to_owned()
                },
            )),
            (Some((key, _)), false) => flaws.push(Flaw::new(
                key.place.clone(),
                format!("a {shape} range has no likely value"),
                "not used",
                "leave `likely` out, or take `shape = \"triangular\"` or `\"pert\"`",
            )),
            _ => {}
        }
    }
    if shape == "lognormal" && ends == "limits" {
        flaws.push(Flaw::new(
            shape_place.clone(),
            "a lognormal range has no limits: it goes from 0 on without end",
            "low and high cannot be limits here",
            "add `ends = \"tenths\"`: one time in ten goes under low, one time in ten over high",
        ));
    }
    if !flaws.is_empty() {
        return Err(flaws);
    }
    let (Some(low), Some(high)) = (low, high) else {
        return Err(flaws);
    };
    let figures: Vec<Figure> = [Some(low.clone()), likely.clone(), Some(high.clone())]
        .into_iter()
        .flatten()
        .collect();
    check_bounds(&figures, rule)?;
    check_order(&figures, kind, node)?;
    let three = ThreePoint {
        low: low.value,
        likely: likely.as_ref().map_or(low.value, |l| l.value),
        high: high.value,
    };

    let spread = match (shape.as_str(), ends.as_str()) {
        ("lognormal", _) => {
            if low.value <= 0.0 {
                return Err(vec![Flaw::new(
                    low.place,
                    "a lognormal range cannot start at 0: it never gets there",
                    "must be more than 0",
                    "give a low above 0, or take `shape = \"triangular\"`",
                )]);
            }
            Ok(Spread::lognormal_from_tenths(low.value, high.value))
        }
        ("uniform", "tenths") => Ok(Spread::uniform_from_tenths(low.value, high.value)),
        ("uniform", _) => Ok(Spread::uniform(low.value, high.value)),
        ("pert", "tenths") => Spread::pert_from_tenths(three),
        ("pert", _) => Ok(Spread::pert(three)),
        (_, "tenths") => Spread::triangular_from_tenths(three),
        _ => Ok(Spread::triangular(three)),
    };
    let spread = spread.map_err(|TenthsError| {
        vec![Flaw::new(
            node.place.clone(),
            "no limits can be found for which these are the tenths",
            "not solvable",
            "give the limits themselves: `ends = \"limits\"`",
        )]
    })?;
    // Limits that were solved for must keep the rules as well: nobody glues in less than no time.
    let (bottom, top) = spread.limits();
    let endless = matches!(spread, Spread::Lognormal { .. });
    if endless && (spread.mean() > LARGEST || !spread.variance().is_finite()) {
        return Err(vec![Flaw::new(
            node.place.clone(),
            "low and high are too far apart for a lognormal range: its mean is beyond all measure",
            "too wide",
            "give narrower tenths, or take `shape = \"triangular\"`",
        )]);
    }
    if let Some(bad) = [bottom, top]
        .into_iter()
        .filter(|_| !endless)
        .find(|v| bound_reason(*v, rule).is_some())
    {
        return Err(vec![Flaw::new(
            node.place.clone(),
            format!(
                "with these tenths the {shape} range would reach to {}, which is not allowed here",
                kind.show(bad)
            ),
            format!("{} to {}", kind.show(bottom), kind.show(top)),
            if low.value > 0.0 && bad < low.value {
                "give the limits themselves (`ends = \"limits\"`), or take `shape = \"lognormal\"` with low and high, which never \
                 goes under 0"
                    .to_owned()
            } else {
                "give the limits themselves: `ends = \"limits\"`".to_owned()
            },
        )]);
    }
    Ok(spread)
}

/// The unit of a range's table.
enum Unit {
    Of(String),
    None,
    Faulty,
}

/// One number of a range's table; a plain one has the table's unit, by the same rules as in a text. `name` is for messages.
fn read_figure(inner: &Node, name: &str, unit: &Unit, rule: Rule, sources: &[Source]) -> Result<Figure, Vec<Flaw>> {
    let kind = rule.measure;
    match (&inner.value, unit) {
        (Value::Whole(_) | Value::Real(_), Unit::Of(_) | Unit::Faulty) if needs_unit(kind) => {
            let plain = read_number(inner, Rule::of(Measure::Number).certain(), sources).map_err(|f| vec![f])?;
            let worth = match unit {
                Unit::Of(word) => unit_worth(rule, word).ok(),
                Unit::None | Unit::Faulty => None,
            };
            Ok(Figure {
                value: times(plain.value, worth.unwrap_or(1.0)),
                ..plain
            })
        }
        (Value::Whole(_) | Value::Real(_), _) => read_number(inner, rule, sources).map_err(|f| vec![f]),
        (Value::Text(text, start), _) => {
            let mut list = read_text(inner, text, *start, rule)?;
            if list.len() == 1 {
                Ok(list.remove(0))
            } else {
                Err(vec![Flaw::new(
                    inner.place.clone(),
                    format!("{name} is one value, not a range"),
                    "must be one value",
                    format!("write for example {}", kind.certain_example()),
                )])
            }
        }
        _ => Err(vec![Flaw::new(
            inner.place.clone(),
            format!("{name} is {}, not {}", kind.noun(), inner.kind()),
            format!("must be {}", kind.noun()),
            format!("write for example {}", kind.certain_example()),
        )]),
    }
}

/// `{ shape = "logged", values, unit }`; `flaws` are those found before.
fn read_logged(
    node: &Node,
    table: &Table,
    unit: &Unit,
    rule: Rule,
    sources: &[Source],
    mut flaws: Vec<Flaw>,
) -> Result<Spread, Vec<Flaw>> {
    let kind = rule.measure;
    let example = || format!("for example {}", kind.logged_example());
    for name in ["low", "likely", "high", "ends"] {
        if let Some((key, _)) = table.get(name) {
            flaws.push(Flaw::new(
                key.place.clone(),
                format!("a logged range has no `{name}`: it is its values"),
                "not used",
                format!("leave `{name}` out, or `values` and `shape = \"logged\"`"),
            ));
        }
    }
    let Some((key, list)) = table.get("values") else {
        flaws.push(Flaw::new(
            node.place.clone(),
            "`values` is missing in this range",
            "no `values`",
            format!("add what was logged, {}", example()),
        ));
        return Err(flaws);
    };
    if table.get("shape").is_none() {
        flaws.push(Flaw::new(
            key.place.clone(),
            "values of a log are a shape of their own, and this range does not say it",
            "which shape?",
            "add `shape = \"logged\"`",
        ));
    }
    let Value::List(items) = &list.value else {
        flaws.push(Flaw::new(
            list.place.clone(),
            format!("`values` is a list, not {}", list.kind()),
            "must be a list",
            format!("write {}", example()),
        ));
        return Err(flaws);
    };
    let count = items.len();
    if count < FEWEST_LOGGED {
        flaws.push(Flaw::new(
            list.place.clone(),
            format!("a logged range of {count} values is too little to go by"),
            "too few",
            format!(
                "give at least {FEWEST_LOGGED}, or low, likely and high instead: with fewer, more than one in three of those to come \
                 would be outside of all that were seen"
            ),
        ));
    }
    if count > MOST_LOGGED {
        flaws.push(Flaw::new(
            list.place.clone(),
            format!("a logged range of {count} values is too long"),
            "too many",
            format!("keep the latest {MOST_LOGGED}, or give low, likely and high instead"),
        ));
        return Err(flaws);
    }
    let bare = |item: &Node| match item.value {
        Value::Whole(n) => n != 0,
        Value::Real(x) => x != 0.0,
        _ => false,
    };
    // Once for all of them.
    let no_unit = needs_unit(kind) && matches!(unit, Unit::None) && items.iter().any(bare);
    if no_unit {
        flaws.push(Flaw::new(
            list.place.clone(),
            format!("these values have no unit, and {} needs one", kind.noun()),
            "unit?",
            if kind == Measure::Share {
                "add `unit = \"%\"`"
            } else {
                "add `unit = \"min\"` or `unit = \"h\"`"
            },
        ));
    }
    let unit = if no_unit { &Unit::Faulty } else { unit };
    let mut figures = Vec::with_capacity(count);
    for item in items {
        match read_figure(item, "each of `values`", unit, rule, sources) {
            Ok(figure) => figures.push(figure),
            Err(more) => flaws.extend(more),
        }
    }
    if !matches!(unit, Unit::Faulty) {
        flaws.extend(check_bounds(&figures, rule).err().unwrap_or_default());
    }
    if flaws.is_empty() {
        Ok(Spread::logged(figures.iter().map(|figure| figure.value).collect()))
    } else {
        Err(flaws)
    }
}

/// A word out of a few, in a range's table.
fn word_of(table: &Table, key: &str, flaws: &mut Vec<Flaw>) -> Option<String> {
    let (_, node) = table.get(key)?;
    let Takes::Choice(choices) = keys::key(keys::RANGE, key)?.takes else {
        return None;
    };
    let known: Vec<&str> = choices.iter().map(|choice| choice.word).collect();
    match &node.value {
        Value::Text(word, _) if known.contains(&word.as_str()) => Some(word.clone()),
        other => {
            let given = match other {
                Value::Text(word, _) => quoted(word),
                _ => node.kind().to_owned(),
            };
            let near = match other {
                Value::Text(word, _) => nearest(word, known.iter().copied()),
                _ => None,
            };
            flaws.push(Flaw::new(
                node.place.clone(),
                format!("{given} is not a word for `{key}`"),
                "not known",
                near.map_or_else(
                    || {
                        format!(
                            "`{key}` is one of {}",
                            known.iter().map(|k| format!("\"{k}\"")).collect::<Vec<_>>().join(", ")
                        )
                    },
                    |n| format!("did you mean {}?", quoted(n)),
                ),
            ));
            None
        }
    }
}
