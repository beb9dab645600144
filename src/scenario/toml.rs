//! A scenario's text read as TOML, and the faults of a text that is none, each with its cure.

use toml_edit::Document;

use super::amounts::{CURRENCY_SIGNS, thousands_joined, without_sign};
use super::faults::{Fault, SourceSpan, quoted};
use super::keys;
use super::tree::{Table, table};

/// Parts of a key, and brackets within brackets, that anything of ours could need, and more; each is a step down the stack.
pub(super) const DEEPEST: usize = 16;

/// Where a text goes deeper than [`DEEPEST`]: a key of more parts, or brackets within brackets. Strings and comments are passed over; what
/// is no TOML the parser says.
pub(super) fn too_deep(text: &str) -> Option<std::ops::Range<usize>> {
    let bytes = text.as_bytes();
    let (mut at, mut open, mut parts, mut begun) = (0, 0_usize, 0, 0);
    while let Some(&byte) = bytes.get(at) {
        let mut next = at + 1;
        match byte {
            b'"' | b'\'' => {
                let long = [byte; 3];
                let close: &[u8] = if bytes[at..].starts_with(&long) {
                    &long
                } else {
                    &long[..1]
                };
                next = at + close.len();
                loop {
                    match bytes.get(next) {
                        None => break,
                        Some(b'\n') if close.len() == 1 => break,
                        Some(b'\\') if byte == b'"' => next += 2,
                        Some(_) if bytes[next..].starts_with(close) => {
                            next += close.len();
                            break;
                        }
                        Some(_) => next += 1,
                    }
                }
            }
            b'#' => {
                next = bytes[at..]
                    .iter()
                    .position(|b| *b == b'\n')
                    .map_or(bytes.len(), |end| at + end)
            }
            b'.' => parts += 1,
            b'[' | b'{' => open += 1,
            b']' | b'}' => open = open.saturating_sub(1),
            _ => {}
        }
        if matches!(byte, b'=' | b'\n' | b',' | b'[' | b']' | b'{' | b'}') {
            (parts, begun) = (0, next);
        }
        if parts >= DEEPEST || open > DEEPEST {
            return Some(begun.min(at)..at + 1);
        }
        at = next.min(bytes.len());
    }
    None
}

/// Reads the text of source 0.
pub(super) fn parse(text: &str) -> Result<Table, Vec<Fault>> {
    if let Some(span) = too_deep(text) {
        return Err(vec![Fault::new(
            SourceSpan::new(
                0,
                text.floor_char_boundary(span.start)..text.floor_char_boundary(span.end),
            ),
            format!("this goes more than {DEEPEST} levels deep"),
            "too deep",
            "no value of a scenario stands deeper than two or three names; look for a stray dot or bracket",
        )]);
    }
    match Document::parse(text) {
        Ok(document) => Ok(table(document.as_table(), text, 0)),
        Err(error) => Err(all_not_toml(text, error)),
    }
}

/// Faults told at once of a text that is no TOML at the most.
const TOLD_AT_ONCE: usize = 30;

/// Every line that stops the parser. The library ends at the first fault, so the value of that line is blotted out with something that it
/// reads, of the same length, as far as it ends on the line.
fn all_not_toml(text: &str, mut error: toml_edit::TomlError) -> Vec<Fault> {
    let mut blotted = text.to_owned();
    let mut faults = Vec::new();
    loop {
        if error.message() == "duplicate key" {
            let lists = single_brackets(text);
            if !lists.is_empty() {
                faults.extend(lists);
                return faults;
            }
        }
        faults.push(not_toml(text, &error));
        let value = error.span().and_then(|span| value_of_line(&blotted, span.start));
        let Some(value) = value.filter(|_| faults.len() < TOLD_AT_ONCE) else {
            return faults;
        };
        let blot = format!("{:<1$}", 0, value.len());
        blotted.replace_range(value, &blot);
        match Document::parse(blotted.as_str()) {
            Ok(_) => return faults,
            Err(next) => error = next,
        }
    }
}

/// Where the value of the line at `at` stands, if it is a line of `key = value`, is not blotted out already and does not go on below.
fn value_of_line(text: &str, at: usize) -> Option<std::ops::Range<usize>> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    let end = text[start..].find('\n').map_or(text.len(), |end| start + end);
    let (key, value) = text[start..end].split_once('=')?;
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
    let [opened, closed] = [['[', '{'], [']', '}']].map(|brackets| value.matches(brackets).count());
    let whole = opened == closed && !value.contains("\"\"\"") && !value.contains("'''");
    (key.trim().chars().all(bare) && !matches!(value.trim(), "" | "0") && whole).then(|| end - value.len()..end)
}

/// Whether the library stopped at a value without quotes.
fn wants_quotes(message: &str) -> bool {
    message.contains("must be quoted")
}

fn not_toml(text: &str, error: &toml_edit::TomlError) -> Fault {
    let span = error.span().unwrap_or(0..0);
    let start = span.start.min(text.len());
    // A fault at the end of a line is shown at that line, not at the start of the next.
    let line_end = text[text.floor_char_boundary(start)..]
        .find('\n')
        .map_or(text.len(), |i| start + i);
    let end = span.end.clamp(start, line_end.max(start));
    let message = error.message();
    let place = SourceSpan::new(0, start..end);
    if message == "duplicate key" {
        let key = text.get(start..end).unwrap_or("");
        return Fault::new(
            place,
            format!("{} is given twice", quoted(key)),
            "given before",
            "write it once; what belongs to another step or material goes under its own [[step]] or [[material]]",
        );
    }
    let digit = |s: Option<&str>, last: bool| {
        s.and_then(|s| if last { s.chars().last() } else { s.chars().next() })
            .is_some_and(|c| c.is_ascii_digit())
    };
    if text.get(start..start + 1) == Some(",") && digit(text.get(..start), true) && digit(text.get(start + 1..), false)
    {
        return Fault::new(
            place,
            "there is a comma in the number",
            "must be a point",
            "a decimal point is a point, and thousands are not set apart: `58.50`, `1250`",
        );
    }
    if let Some((label, cure)) = slip(text, start) {
        return Fault::new(place, NOT_TOML, label, cure);
    }
    // The library's words for the two commonest slips are a programmer's.
    let (label, cure) = if wants_quotes(message) {
        (
            "this needs double quotes around it",
            "amounts with a unit, ranges and names stand between double quotes, for example `each = \"12 min\"`",
        )
    } else if message.contains("basic string") && message.contains("expected `\"`") {
        (
            "the closing quote is missing",
            "amounts with a unit, ranges and names stand between double quotes, for example `each = \"12 min\"`",
        )
    } else {
        (
            message,
            "a line is `key = value`, a [section], a [[step]] or [[material]], or a # comment; what is not a plain number stands \
             between double quotes, for example `each = \"12 min\"`",
        )
    };
    Fault::new(place, NOT_TOML, label, cure)
}

const NOT_TOML: &str = "this cannot be read as TOML, the form a scenario is written in";

/// Quotes as a word processor or a telephone sets them.
const CURLY: [char; 8] = ['“', '”', '„', '‟', '‘', '’', '‚', '‛'];

/// A value and the comment behind it, begun as no comment here is: `22 // my wage`.
fn foreign_comment(value: &str) -> Option<(&str, &str)> {
    let (before, said) = ["//", ";", "--", "/*"].iter().find_map(|sign| value.split_once(sign))?;
    let before = before.trim();
    let is_value = Document::parse(format!("x = {before}").as_str()).is_ok();
    is_value.then(|| (before, said.trim().trim_end_matches("*/").trim_end()))
}

/// A value with curly quotes around it, money with the sign of its currency, or what other hands write: a label and the line as it would be right.
fn slip(text: &str, at: usize) -> Option<(&'static str, String)> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    let line = text[start..].lines().next()?;
    let (key, value) = line.split_once('=')?;
    let value = value.split('#').next().unwrap_or("").trim();
    if let Some(plain) = thousands_joined(value) {
        return Some((
            "thousands are not set apart",
            format!("write `{} = {plain}`", key.trim()),
        ));
    }
    if let Some((before, said)) = foreign_comment(value) {
        return Some((
            "a comment begins with #",
            format!("write `{} = {before} # {said}`", key.trim()),
        ));
    }
    let bare = value.trim_matches(CURLY);
    if bare.contains(CURRENCY_SIGNS) && !keys::is_text(key.trim()) {
        return Some(("a number alone is due", without_sign(bare, own_currency(text))));
    }
    let within = bare.trim_matches('"');
    let cure = if within.contains(['"', '\\']) {
        "write straight quotes in place of the curly ones".to_owned()
    } else {
        format!("write straight quotes: `{} = \"{within}\"`", key.trim())
    };
    (value.len() > bare.len()).then_some(("these quotes are curly", cure))
}

/// The code of the line `currency = "GBP"`, in a text that is no TOML; empty where there is none.
fn own_currency(text: &str) -> &str {
    let of = |line: &str| {
        line.split_once('=')
            .filter(|(key, _)| key.trim() == "currency")
            .map(|(key, _)| key.len() + 1)
    };
    let found = text.lines().find_map(|line| of(line).map(|value| line[value..].trim()));
    let quoted = found.and_then(|value| value.strip_prefix('"')?.split('"').next());
    quoted.filter(|code| code.len() == 3).unwrap_or("")
}

/// Lists in single brackets, each at its line, where the parser stopped at the second of one name.
fn single_brackets(text: &str) -> Vec<Fault> {
    let mut from = 0;
    let mut faults = Vec::new();
    for line in text.split_inclusive('\n') {
        let header = line.split('#').next().unwrap_or("").trim();
        let word = header
            .strip_prefix('[')
            .and_then(|rest| rest.strip_suffix(']'))
            .map(str::trim);
        if let Some(word) = word.filter(|word| keys::is_list(word)) {
            let at = from + line.find(word).unwrap_or(0);
            faults.push(one_bracket(SourceSpan::new(0, at..at + word.len()), word));
        }
        from += line.len();
    }
    faults
}

/// A list in single brackets.
pub(super) fn one_bracket(place: SourceSpan, word: &str) -> Fault {
    Fault::new(
        place,
        format!("a {word} is written in double brackets, because there may be several"),
        "double brackets are due",
        format!("write `[[{word}]]` with two brackets"),
    )
}
