//! A text as numbers, words and slashes.

use std::ops::Range;

use crate::scenario::faults::quoted;

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

/// Splits into numbers, words and slashes, each with its stretch of the text.
pub(super) fn tokens(text: &str) -> Result<Vec<(Token, Range<usize>)>, Unreadable> {
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
                        "write `{}`: a decimal point is a point, and thousands are not set apart",
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
pub(in crate::scenario) enum Stretch {
    Number(f64, Range<usize>),
    Word(Range<usize>),
}

/// The parts between slashes, each with its numbers and words; `None` where there is none or it cannot be split.
pub(in crate::scenario) fn stretches(text: &str) -> Option<Vec<Vec<Stretch>>> {
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
