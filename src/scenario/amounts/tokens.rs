//! A text as numbers, words and slashes.

use std::ops::Range;

use crate::scenario::faults::quoted;
use crate::scenario::keys::Measure;

/// A piece of an amount's text.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Token {
    Number(f64),
    Word,
    Slash,
}

/// Signs that are a number in print.
const FRACTION_SIGNS: [(char, &str); 3] = [('¼', "0.25"), ('½', "0.5"), ('¾', "0.75")];

/// Where a text cannot be split, what is wrong and what would be right.
pub(super) type Unreadable = (Range<usize>, String, String);

/// Splits what measures this into numbers, words and slashes, each with its stretch of the text.
pub(super) fn tokens(text: &str, kind: Measure) -> Result<Vec<(Token, Range<usize>)>, Unreadable> {
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
        } else if let Some((length, readings)) = divided(rest, kind) {
            let whole = &rest[..length];
            let sign = if whole.contains(',') {
                "has a comma in the number"
            } else {
                "has its thousands set apart"
            };
            return Err((
                at..at + length,
                format!("{} {sign}", quoted(whole)),
                as_meant(&readings),
            ));
        } else if let Some(length) = number_length(rest) {
            let range = at..at + length;
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

/// Signs that stand between the digits of a number in print.
const DIVIDERS: [char; 4] = [',', '.', '\'', '’'];

/// The number that a text starts with, where signs divide its digits that divide none of ours: its length, and all that it may be. `1,200`
/// is twelve hundred or a little over one: money has no thousandths, and of all else nobody can tell. `0,125` and `12,5` are no thousands.
fn divided(text: &str, kind: Measure) -> Option<(usize, Vec<String>)> {
    let from = sign_length(text);
    let mut end = from;
    let mut dividers = Vec::new();
    let mut rest = text[from..].chars().peekable();
    while let Some(c) = rest.next() {
        let divides = end > from && DIVIDERS.contains(&c) && rest.peek().is_some_and(char::is_ascii_digit);
        if divides {
            dividers.push(c);
        } else if !c.is_ascii_digit() && c != '_' {
            break;
        }
        end += c.len_utf8();
    }
    let (last, others) = dividers.split_last().filter(|_| dividers != ['.'])?;
    let groups: Vec<&str> = text[from..end].split(DIVIDERS).collect();
    let (whole, fraction) = groups.split_at(dividers.len());
    let alike = |signs: &[char]| signs.windows(2).all(|pair| pair[0] == pair[1]);
    let threes = |groups: &[&str]| {
        (1..=3).contains(&groups[0].len()) && !groups[0].starts_with('0') && groups[1..].iter().all(|g| g.len() == 3)
    };
    let pointed =
        matches!(last, ',' | '.') && !others.contains(last) && alike(others) && (others.is_empty() || threes(whole));
    let in_thousands = alike(&dividers) && threes(&groups);
    let sign = &text[..from];
    let mut readings = Vec::new();
    if pointed && !(in_thousands && kind == Measure::Money) {
        readings.push(format!("{sign}{}.{}", whole.concat(), fraction[0]));
    }
    if in_thousands {
        readings.push(format!("{sign}{}", groups.concat()));
    }
    // `5'30` is no number, but minutes and seconds.
    (!readings.is_empty() || dividers.contains(&',')).then_some((end, readings))
}

/// The whole number that a text is, without the strokes that set its thousands apart: `1'200`.
pub(in crate::scenario) fn thousands_joined(text: &str) -> Option<String> {
    let (length, readings) = divided(text, Measure::Money).filter(|_| text.contains(['\'', '’']))?;
    readings.into_iter().next().filter(|_| length == text.len())
}

/// The cure of a number that may be this or that.
fn as_meant(readings: &[String]) -> String {
    const WHY: &str = "a decimal point is a point, and thousands are not set apart";
    match readings {
        [] => "write one number, its decimals behind a point: `12.5`; a range is written with slashes: `8 / 12`"
            .to_owned(),
        [one] => format!("write `{one}`: {WHY}"),
        many => format!("write `{}`, whichever is meant: {WHY}", many.join("` or `")),
    }
}

/// A number or a word of an amount, and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::scenario) enum Stretch {
    Number(f64, Range<usize>),
    Word(Range<usize>),
}

/// The parts between slashes, each with its numbers and words; `None` where there is none or it cannot be split.
pub(in crate::scenario) fn stretches(text: &str) -> Option<Vec<Vec<Stretch>>> {
    let tokens = tokens(text, Measure::Number).ok()?;
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

/// Length of the sign a number starts with.
fn sign_length(text: &str) -> usize {
    let sign = text.chars().next().filter(|c| matches!(c, '+' | '-' | '−'));
    sign.map_or(0, char::len_utf8)
}

/// Length of the number a text starts with: sign, digits, point, exponent.
fn number_length(text: &str) -> Option<usize> {
    let sign = sign_length(text);
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
