//! Text that leaves the program, on whatever face: nothing in it steers a terminal, turns a line around, hides, or runs in a
//! spreadsheet. Titles, names, notes, paths and what was typed are whatever somebody wrote. For every room.
//!
//! JSON keeps what was written: there such a character is an escape of JSON's own ([`json`]).

use std::borrow::Cow;
use std::fmt::Write;

/// What stands for a character that is not shown.
pub const SHOWN: char = '\u{fffd}';

/// Whether a character does something else than being seen: controls (C0, C1), marks of direction, what has no width, tags, and what is
/// no character at all (The Unicode Standard: general categories Cc, Cf where they are not part of a script, Zl, Zp).
fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}' | '\u{e0000}'..='\u{e007f}')
}

/// A character as it is shown.
#[must_use]
pub fn shown(c: char) -> char {
    if steers(c) { SHOWN } else { c }
}

/// A text on one line; what would steer is seen as �.
#[must_use]
pub fn line(text: &str) -> Cow<'_, str> {
    if text.chars().any(steers) {
        text.chars().map(shown).collect()
    } else {
        Cow::Borrowed(text)
    }
}

/// A text of several lines, its line feeds kept.
#[must_use]
pub fn lines(text: &str) -> Cow<'_, str> {
    if text.chars().any(|c| c != '\n' && steers(c)) {
        text.chars().map(|c| if c == '\n' { c } else { shown(c) }).collect()
    } else {
        Cow::Borrowed(text)
    }
}

/// [`lines`], but terminal colours (ECMA-48, SGR) are let through: for what was made of clean parts and painted.
#[must_use]
pub fn painted(text: &str) -> String {
    let mut parts = text.split('\u{1b}');
    let mut out = lines(parts.next().unwrap_or_default()).into_owned();
    for part in parts {
        let end = part.find(|c: char| !(c.is_ascii_digit() || c == ';' || c == '['));
        let paints =
            part.starts_with('[') && end.is_some_and(|end| part[end..].starts_with('m') && !part[1..end].contains('['));
        out.push(if paints { '\u{1b}' } else { SHOWN });
        out.push_str(&lines(part));
    }
    out
}

/// A JSON text in which the same values are written without a character that steers.
#[must_use]
pub fn json(text: String) -> String {
    if text.is_ascii() && !text.contains('\u{7f}') {
        return text;
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c == '\n' || !steers(c) {
            out.push(c);
            continue;
        }
        for unit in c.encode_utf16(&mut [0; 2]) {
            // Memory takes what is written to it.
            let _written = write!(out, "\\u{unit:04x}");
        }
    }
    out
}

/// Whether a spreadsheet would take the text for a formula (OWASP, CSV Injection), the apostrophes before it not counted.
fn is_formula(text: &str) -> bool {
    let bare = text.trim_start_matches('\'');
    let begins = bare.starts_with(['=', '+', '-', '@', '\t', '\r', '＝', '＋', '－', '＠']);
    let number = bare.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b)) && bare.parse::<f64>().is_ok();
    begins && !(number && bare.len() == text.len())
}

/// A cell of a spreadsheet's file that stays text: what would be taken for a formula has an apostrophe before it, as one types it there.
/// Numbers stay numbers.
#[must_use]
pub fn cell(text: &str) -> Cow<'_, str> {
    if is_formula(text) {
        Cow::Owned(format!("'{}", line(text)))
    } else {
        line(text)
    }
}

/// What was written by [`cell`], without the apostrophe.
#[must_use]
pub fn cell_read(text: &str) -> &str {
    text.strip_prefix('\'').filter(|rest| is_formula(rest)).unwrap_or(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_steers_is_seen_and_all_else_stays() {
        for bad in [
            '\u{1b}',
            '\u{9b}',
            '\u{7f}',
            '\u{202e}',
            '\u{2066}',
            '\u{200b}',
            '\u{feff}',
            '\u{e0041}',
        ] {
            assert_eq!(line(&format!("a{bad}b")), "a\u{fffd}b", "{bad:?}");
        }
        assert_eq!(line("Äther, 茶, €, “5 µm”"), "Äther, 茶, €, “5 µm”");
        assert_eq!(
            (line("a\nb").as_ref(), lines("a\nb\r").as_ref()),
            ("a\u{fffd}b", "a\nb\u{fffd}")
        );
    }

    #[test]
    fn only_colours_are_let_through() {
        assert_eq!(painted("a\u{1b}[1;31mb\u{1b}[0m\n"), "a\u{1b}[1;31mb\u{1b}[0m\n");
        assert_eq!(
            painted("\u{1b}[2J\u{1b}]0;x\u{7}\u{1b}"),
            "\u{fffd}[2J\u{fffd}]0;x\u{fffd}\u{fffd}"
        );
    }

    #[test]
    fn formulas_become_text_and_numbers_stay() {
        for bad in ["=1+1", "+cmd", "-2+3", "@SUM(A1)", "-", "＝1", "-inf", "--1"] {
            assert_eq!(cell(bad), format!("'{bad}"));
        }
        for good in ["", "-12.5", "+3", "1e-7", "-1E+5", "oak", "a=b", "2027-03-14", "'tis"] {
            assert_eq!(cell(good), good);
        }
        assert_eq!(cell("\t=1"), "'\u{fffd}=1");
    }

    proptest! {
        #[test]
        fn a_cell_reads_back(text in "['=+@a1.-]{0,6}") {
            let written = cell(&text);
            prop_assert_eq!(cell_read(&written), text.as_str());
        }

        #[test]
        fn json_holds_the_same_values(text in any::<String>()) {
            let plain = serde_json::to_string(&text).unwrap_or_default();
            let safe = json(plain);
            prop_assert!(!safe.chars().any(steers), "{:?}", safe);
            let back: String = serde_json::from_str(&safe).unwrap_or_default();
            prop_assert_eq!(back, text);
        }
    }
}
