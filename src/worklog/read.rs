//! CSV text to a checked [`Log`], or every fault in its place.

use super::{Entry, KIND, Log, What};
use crate::logfile::{self, Row};
use crate::scenario::{Fault, Faults, SourceSpan, nearest, quoted, work_minutes};
use jiff::civil::Date;
use std::collections::HashMap;

/// What stands in place of a number where a piece is gone on with.
pub(super) const PART: &str = "part";

/// Reads a work log from the bytes of its file.
///
/// # Errors
/// [`Faults`]: everything that is wrong, all at once, sorted by place.
pub fn read(source_name: &str, bytes: &[u8]) -> Result<Log, Faults> {
    let logfile::Read {
        entries,
        form,
        mut doubts,
    } = logfile::read(&KIND, source_name, bytes, entry)?;
    doubts.extend(there_twice(&entries));
    doubts.extend(logfile::long_pauses(
        entries.iter().filter_map(|entry| Some((entry.line, entry.date?))),
    ));
    Ok(Log { entries, form, doubts })
}

/// Pairs of lines that are told one by one, at most.
const TOLD: usize = 5;

/// Entries with a date that are there twice.
fn there_twice(entries: &[Entry]) -> Vec<String> {
    let mut seen: HashMap<Whole<'_>, usize> = HashMap::new();
    let dated = entries.iter().filter(|entry| entry.date.is_some());
    let pairs: Vec<[usize; 2]> = dated
        .filter_map(|entry| Some([seen.insert(whole(entry), entry.line)?, entry.line]))
        .collect();
    let told = pairs.iter().take(TOLD);
    let mut said: Vec<String> = told
        .map(|[before, line]| format!("lines {before} and {line} are the same; is one of them a slip?"))
        .collect();
    match pairs.len().saturating_sub(TOLD) {
        0 => {}
        1 => said.push("one more line is the same as another".to_owned()),
        more => said.push(format!("{more} more lines are the same as others")),
    }
    said
}

/// All that an entry says.
type Whole<'a> = (
    (Option<Date>, &'a str, &'a str, &'a str, &'a str),
    (u32, Option<u32>, u64, Option<u32>, Option<u32>),
);

fn whole(entry: &Entry) -> Whole<'_> {
    (
        (entry.date, &entry.job, &entry.step, entry.what.word(), &entry.note),
        (
            entry.pieces,
            entry.rounds,
            entry.minutes.to_bits(),
            entry.spoiled,
            entry.redone,
        ),
    )
}

/// `None` only with faults.
fn entry(row: &Row<'_>, line: usize, faults: &mut Vec<Fault>) -> Option<Entry> {
    let before = faults.len();
    let step = row.cell("step").to_owned();
    if step.is_empty() {
        faults.push(Fault::new(
            row.place("step"),
            "no step is named",
            "a step is due",
            "write the step by its name, for example `glue pegs`",
        ));
    }
    let what = read_what(row, faults);
    let date = row.date("date", faults);
    let minutes = read_minutes(row, faults);
    let pieces = read_pieces(row, faults);
    let rounds = row.count("rounds", 1, faults);
    let spoiled = row.count("spoiled", 0, faults);
    let redone = row.count("redone", 0, faults);
    if let (Some(what), Ok(None)) = (what, pieces)
        && what.counts()
    {
        let (noun, cure) = if what == What::Order {
            ("orders", "write how many orders were packed, for example `4`")
        } else {
            (
                "pieces",
                "write how many pieces were handled, for example `8`; `part` goes on with a piece that another entry counts; for setup alone write \
                 `setup` in the column `what`",
            )
        };
        faults.push(Fault::new(
            row.place("pieces"),
            format!("no number of {noun} is given"),
            format!("a number of {noun} is due"),
            cure,
        ));
    }
    if let (Ok(Some(pieces)), Ok(Some(spoiled))) = (pieces, spoiled)
        && spoiled > pieces
        && pieces > 0
    {
        faults.push(Fault::new(
            row.place("spoiled"),
            format!("{spoiled} spoiled are more than the {pieces} that were handled"),
            "too many",
            "a piece can be lost once; count in `pieces` all that were started",
        ));
    }
    if faults.len() > before {
        return None;
    }
    let what = what?;
    Some(Entry {
        line,
        date: date?,
        job: row.cell("job").to_owned(),
        step,
        what,
        pieces: if what.counts() { pieces.ok()?.unwrap_or(0) } else { 0 },
        rounds: rounds.ok()?,
        minutes: minutes?,
        spoiled: spoiled.ok()?,
        redone: redone.ok()?,
        note: row.cell("note").to_owned(),
    })
}

fn read_what(row: &Row<'_>, faults: &mut Vec<Fault>) -> Option<What> {
    let word = row.cell("what");
    match what_of(word) {
        Ok(what) => Some(what),
        Err(cure) => {
            faults.push(Fault::new(
                row.place("what"),
                format!("{} is not a word for what was timed", quoted(word)),
                "not known",
                cure,
            ));
            None
        }
    }
}

fn read_minutes(row: &Row<'_>, faults: &mut Vec<Fault>) -> Option<f64> {
    let (written, place) = (row.cell("minutes"), row.place("minutes"));
    match minutes_of(written, place, row.is_verbatim("minutes")) {
        Ok(minutes) => Some(minutes),
        Err(found) => {
            faults.extend(found);
            None
        }
    }
}

/// A number of pieces: 0, or the word for it, goes on with a piece.
fn read_pieces(row: &Row<'_>, faults: &mut Vec<Fault>) -> Result<Option<u32>, ()> {
    if goes_on(row.cell("pieces")) {
        return Ok(Some(0));
    }
    row.count("pieces", 1, faults)
}

/// Whether what stands for a number of pieces goes on with one that was counted before.
pub(super) fn goes_on(written: &str) -> bool {
    written == "0" || written.eq_ignore_ascii_case(PART)
}

/// What was timed, or what would be right.
pub(super) fn what_of(word: &str) -> Result<What, String> {
    if word.is_empty() {
        return Ok(What::All);
    }
    let lower = word.to_lowercase();
    if let Some(what) = What::EVERY.into_iter().find(|w| w.word() == lower) {
        return Ok(what);
    }
    Err(nearest(word, What::EVERY.map(What::word)).map_or_else(
        || "write `setup`, `each`, `order` or `once`, or nothing for setup and pieces together".to_owned(),
        |near| format!("did you mean `{near}`?"),
    ))
}

/// Minutes as they are typed: a plain number, or a time as in a scenario.
///
/// # Errors
/// Everything that is wrong, with what would be right.
pub fn minutes(typed: &str) -> Result<f64, String> {
    let place = SourceSpan::new(0, 0..typed.len());
    minutes_of(typed, place, true).map_err(|faults| {
        let list: Vec<String> = faults
            .iter()
            .map(|fault| format!("{}; {}", fault.what().trim_start_matches("`minutes`: "), fault.cure()))
            .collect();
        list.join("; ")
    })
}

/// Minutes: a plain number, or a time as in a scenario.
pub(super) fn minutes_of(written: &str, place: SourceSpan, verbatim: bool) -> Result<f64, Vec<Fault>> {
    if written.is_empty() {
        return Err(vec![Fault::new(
            place,
            "no time is given",
            "minutes are due",
            "write minutes, for example `52`, or a time as in a scenario: `1 h 30 min`",
        )]);
    }
    let digits = written.strip_prefix('-').unwrap_or(written);
    let plain = digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    if plain && written.parse::<f64>().is_ok() {
        return work_minutes("`minutes`", &format!("{written} min"), place, false);
    }
    work_minutes("`minutes`", written, place, verbatim)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;

    fn faults(text: &str) -> Vec<(usize, usize, String, String)> {
        let found = read("log", text.as_bytes()).unwrap_err();
        found
            .iter()
            .map(|f| {
                let (line, column) = found.line_and_column(f);
                (line, column, f.what().to_owned(), f.cure().to_owned())
            })
            .collect()
    }

    #[test]
    fn a_plain_log_is_read() {
        let log = read(
            "log",
            b"\xef\xbb\xbfjob,step,pieces,minutes,spoiled,wood\r\nA,glue,8,52 min,1,oak\r\n\r\n,,,,,\r\nA,\"sand, oil\",7,1 h 30 min,,\r\n",
        )
        .unwrap();
        assert!(log.form.carriage_return);
        let short: Vec<_> = log
            .entries
            .iter()
            .map(|e| (e.line, e.step.as_str(), e.pieces, e.minutes, e.spoiled))
            .collect();
        assert_eq!(short, [(2, "glue", 8, 52.0, Some(1)), (5, "sand, oil", 7, 90.0, None)]);
        // As spreadsheets write it where the comma is the decimal sign.
        let log = read("log", b"step;pieces;minutes\nglue;8;52.5\n").unwrap();
        assert_eq!((log.entries[0].minutes, log.form.separator), (52.5, b';'));
    }

    #[test]
    fn every_fault_has_its_place_and_cure() {
        let found = faults(
            "step;what;pieces;minutes;date;spoiled\nglue;;8;12,5;15.4.2028;9\n;;eight;0;2027-02-30;\nglue;setups;;;;\nglue;;;20;;\n",
        );
        let places: Vec<(usize, usize)> = found.iter().map(|f| (f.0, f.1)).collect();
        assert_eq!(
            places,
            [
                (2, 9),
                (2, 14),
                (2, 24),
                (3, 1),
                (3, 3),
                (3, 9),
                (3, 11),
                (4, 6),
                (4, 14),
                (5, 7)
            ],
            "{found:#?}"
        );
        assert!(found[0].3.contains("`12.5`"), "{found:?}");
        assert!(found[1].3.contains("`2028-04-15`"), "{found:?}");
        assert!(found[7].3.contains("`setup`"), "{found:?}");
    }

    #[test]
    fn a_decimal_comma_between_commas_is_told_as_such() {
        let found = faults("step,pieces,minutes\nglue,8,12,5\n");
        assert_eq!((found.len(), found[0].0, found[0].1), (1, 2, 11));
        assert!(found[0].3.contains("`12.5`"));
    }

    #[test]
    fn minutes_past_the_hour_are_told_as_hours_and_minutes() {
        let log = |time: &str| format!("step,pieces,minutes\nglue,8,{time}\n");
        for (time, cure) in [
            ("4 h 90", "5 h 30 min"),
            ("0 h 60", "1 h"),
            ("1.5 h 75.5", "2 h 45.5 min"),
        ] {
            assert_eq!(faults(&log(time))[0].3, format!("write `\"{cure}\"`"), "{time}");
            read("log", log(cure).as_bytes()).unwrap();
        }
    }

    #[test]
    fn a_time_as_a_clock_shows_it_is_told_as_it_is_written() {
        let found = faults("step,pieces,minutes\nglue,8,1:45\nglue,8,0:05\nglue,8,1:99\n");
        let cures: Vec<&str> = found.iter().map(|f| f.3.as_str()).collect();
        assert_eq!(cures[..2], ["write `\"1 h 45 min\"`", "write `\"5 min\"`"]);
        // No clock shows this, and as hours and minutes it would be refused as well.
        assert!(cures[2].starts_with("write for example"), "{cures:?}");
    }

    #[test]
    fn the_first_line_names_the_columns() {
        assert!(faults("")[0].2.contains("empty"));
        let found = faults("step,piece,minutes\n");
        assert!(found.len() == 1 && found[0].3.contains("`pieces`"), "{found:?}");
        assert_eq!(faults("glue,8,52\n").len(), 3);
        assert!(faults("step,step,pieces,minutes\n")[0].2.contains("two columns"));
        let log = read("log", b"step,pieces,minutes,spoilt\n").unwrap();
        assert_eq!(log.doubts.len(), 1);
    }

    /// 2062 for 2026 is asked about; two years off is a pause.
    #[test]
    fn a_day_far_from_all_others_is_asked_about() {
        let doubts = |last: &str| {
            let text =
                format!("date,step,pieces,minutes\n2026-03-14,glue,8,52\n2026-03-15,glue,8,50\n{last},glue,8,51\n");
            read("log", text.as_bytes()).unwrap().doubts
        };
        assert_eq!(
            doubts("2062-03-16"),
            ["line 4: 2062-03-16 comes 36 years after 2026-03-15 in line 3; is one of them a slip of the pen?"]
        );
        assert!(doubts("2028-03-16").is_empty());
    }

    #[test]
    fn what_is_not_text_is_refused() {
        assert!(read("log", b"\xff\xfe").is_err());
    }
}
