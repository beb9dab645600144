//! Whether a file that is there already may be replaced: only one that this program wrote, unless `--overwrite` is said.
//!
//! Assumption: an earlier answer is known by what it begins with. A text or a table begins with the same line as the new answer, a
//! workbook holds the same parts in the same order (another program that saved it would have put them in its own), pictures and pages
//! say who made them.

use super::Stop;
use crate::files::Destination;
use crate::sales;
use crate::scenario;
use crate::worklog;

/// What stands in a picture or a page of ours.
const SIGNS: [&[u8]; 3] = [b"\"bw-", b"content=\"batchwright ", b"Software\0batchwright"];

/// Refuses what can be told before anything is computed: a scenario, a log.
pub(super) fn inputs_stay(flag: &str, place: &Destination, overwrite: bool) -> Result<(), Stop> {
    let Some(there) = place.before().filter(|there| !overwrite && !there.is_empty()) else {
        return Ok(());
    };
    if there.starts_with(b"<") || there.starts_with(b"PK") || there.starts_with(b"\x89") {
        // A picture, a page or a workbook; a page of ours quotes its scenario.
        return Ok(());
    }
    let words = String::from_utf8_lossy(&there);
    let of_scenario = words
        .lines()
        .any(|line| matches!(line.trim(), "[[step]]" | "[sale]" | "[batch]"));
    let what = if of_scenario || scenario::read_bytes(place.name(), &there, &[]).is_ok() {
        "a scenario"
    } else if worklog::read(place.name(), &there).is_ok() {
        "a work log"
    } else if sales::read(place.name(), &there).is_ok() {
        "a sales log"
    } else {
        return Ok(());
    };
    Err(refused(flag, place, what))
}

/// Refuses to replace what is not an earlier answer of this kind.
pub(super) fn others_stay(flag: &str, place: &Destination, overwrite: bool, new: &[u8]) -> Result<(), Stop> {
    match place.before() {
        Some(there) if !overwrite && !there.is_empty() && !is_earlier(&there, new) => Err(refused(
            flag,
            place,
            "not written by batchwright, as far as can be seen",
        )),
        _ => Ok(()),
    }
}

fn refused(flag: &str, place: &Destination, what: &str) -> Stop {
    let name = place.name();
    Stop::Wrote(format!(
        "batchwright: {flag}: {name} is there already and is {what}; choose another name, or add --overwrite to replace it. Nothing was \
         written."
    ))
}

fn is_earlier(there: &[u8], new: &[u8]) -> bool {
    let signed = |bytes: &[u8]| SIGNS.map(|sign| bytes.windows(sign.len()).take(1 << 16).any(|found| found == sign));
    if signed(new).iter().zip(signed(there)).any(|(new, there)| *new && there) {
        return true;
    }
    if new.starts_with(b"PK") || signed(new).contains(&true) {
        return parts(new) == parts(there) && !parts(new).is_empty();
    }
    // JSON says its title in the second line; all else has it, or its columns, in the first.
    let lines = if new.starts_with(b"{") { 2 } else { 1 };
    let begin = |bytes: &[u8]| {
        bytes
            .split(|b| *b == b'\n')
            .take(lines)
            .map(<[u8]>::to_vec)
            .collect::<Vec<_>>()
    };
    begin(there) == begin(new)
}

/// Names of the first two parts of a workbook (a ZIP archive, APPNOTE 4.3.7: the name's length at 26, the name at 30).
fn parts(bytes: &[u8]) -> Vec<&[u8]> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(head) = bytes
        .get(at..at + 30)
        .filter(|head| head.starts_with(b"PK\x03\x04") && found.len() < 2)
    {
        let length = usize::from(u16::from_le_bytes([head[26], head[27]]));
        let Some(name) = bytes.get(at + 30..at + 30 + length) else {
            break;
        };
        found.push(name);
        let rest = &bytes[at + 30 + length..];
        let Some(next) = rest.windows(4).position(|four| four == b"PK\x03\x04") else {
            break;
        };
        at += 30 + length + next;
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_earlier_answer_begins_alike() {
        for (there, new, earlier) in [
            ("Rail\n\nMake 3.", "Rail\n\nMake 4.", true),
            ("my notes", "Rail\n\nMake 4.", false),
            ("size,good_mean\n1,1", "size,good_mean\n1,0.9", true),
            ("{\n  \"title\": \"Rail\",\n", "{\n  \"title\": \"Rail\",\n  1", true),
            ("{\n  \"name\": 1\n}", "{\n  \"title\": \"Rail\",\n  1", false),
            (
                "<svg><path id=\"bw-r1\"/></svg>",
                "<svg ><path id=\"bw-s1\"/></svg>",
                true,
            ),
            ("<svg><path/></svg>", "<svg><path id=\"bw-s1\"/></svg>", false),
            ("\u{89}PNG other", "\u{89}PNG Software\0batchwright", false),
        ] {
            assert_eq!(is_earlier(there.as_bytes(), new.as_bytes()), earlier, "{there:?}");
        }
    }
}
