//! CSV text to a checked [`Log`], or every fault in its place.

use super::{COLUMNS, Entry, Form, Log, What};
use crate::clean;
use crate::scenario::{Fault, Faults, Source, SourceSpan, nearest, quoted, text_of, work_minutes};
use jiff::civil::Date;
use std::ops::Range;

/// What stands in place of a number where a piece is gone on with.
pub(super) const PART: &str = "part";
/// Most pieces, rounds or repeats in one entry.
pub(super) const LARGEST_COUNT: u32 = 1_000_000;
/// Columns without which nothing can be learned.
const NEEDED: [&str; 3] = ["step", "pieces", "minutes"];
const HEADER: &str = "date,job,step,what,pieces,rounds,minutes,spoiled,redone,note";

/// Reads a work log from the bytes of its file. A byte order mark in front is no part of it; an empty line, or one of separators
/// only, is no entry.
///
/// # Errors
/// [`Faults`]: everything that is wrong, all at once, sorted by place.
pub fn read(source_name: &str, bytes: &[u8]) -> Result<Log, Faults> {
    let text = text_of(source_name, bytes, "a work log")?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut faults = Vec::new();
    let log = take_apart(text, &mut faults);
    match log {
        Some(log) if faults.is_empty() => Ok(log),
        _ => Err(Faults::new(
            vec![Source {
                name: source_name.to_owned(),
                text: text.to_owned(),
            }],
            faults,
        )),
    }
}

/// `None` only with faults.
fn take_apart(text: &str, faults: &mut Vec<Fault>) -> Option<Log> {
    let first = text.split(['\n', '\r']).next().unwrap_or("");
    let separator = [b';', b'\t', b',']
        .into_iter()
        .find(|s| first.contains(char::from(*s)))
        .unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut form = None;
    let mut doubts = Vec::new();
    let mut entries = Vec::new();
    let mut lines = Lines { text, at: 0, number: 1 };
    for record in reader.records() {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                faults.push(Fault::new(
                    SourceSpan::new(0, 0..0),
                    format!("this cannot be read as CSV: {error}"),
                    "",
                    format!("a work log is a CSV file that begins with the line `{HEADER}`"),
                ));
                return None;
            }
        };
        let start = record.position().map_or(0, |p| p.byte() as usize);
        let spans = cells(text, start, separator);
        let Some(form) = &form else {
            form = Some(header(&record, &spans, text, separator, faults, &mut doubts)?);
            continue;
        };
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        let line = lines.number_at(spans.first().map_or(start, |s| s.start));
        let row = Row {
            form,
            record: &record,
            spans: &spans,
            text,
        };
        entries.extend(row.entry(line, faults));
    }
    let Some(form) = form else {
        faults.push(Fault::new(
            SourceSpan::new(0, 0..0),
            "the work log is empty: it has no line that names its columns",
            "no columns",
            format!("begin it with the line `{HEADER}`"),
        ));
        return None;
    };
    Some(Log { entries, form, doubts })
}

/// Counts lines while going down a text.
struct Lines<'a> {
    text: &'a str,
    at: usize,
    number: usize,
}

impl Lines<'_> {
    /// The line that a byte stands in; bytes are asked for in ascending order.
    fn number_at(&mut self, byte: usize) -> usize {
        let between = self.text.as_bytes().get(self.at..byte).unwrap_or(&[]);
        // A line ends in a line feed, a carriage return, or both.
        let ends = |k: &usize| match between[*k] {
            b'\n' => true,
            b'\r' => self.text.as_bytes().get(self.at + k + 1) != Some(&b'\n'),
            _ => false,
        };
        self.number += (0..between.len()).filter(ends).count();
        self.at = self.at.max(byte);
        self.number
    }
}

/// Where the cells of the record that begins at or after `start` stand, without their quotes.
///
/// The library gives the cells' content but not their places; this follows the same rules (RFC 4180) and is held against it.
fn cells(text: &str, start: usize, separator: u8) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let mut at = start;
    while bytes.get(at).is_some_and(|b| matches!(b, b'\r' | b'\n')) {
        at += 1;
    }
    let mut found = Vec::new();
    loop {
        let is_quoted = bytes.get(at) == Some(&b'"');
        let begin = at + usize::from(is_quoted);
        at = begin;
        let mut end = None;
        let mut within = is_quoted;
        while let Some(&b) = bytes.get(at) {
            if within {
                if b == b'"' && bytes.get(at + 1) == Some(&b'"') {
                    at += 1;
                } else if b == b'"' {
                    within = false;
                    end.get_or_insert(at);
                }
            } else if b == separator || b == b'\r' || b == b'\n' {
                break;
            }
            at += 1;
        }
        found.push(begin..end.unwrap_or(at));
        if bytes.get(at) != Some(&separator) {
            return found;
        }
        at += 1;
    }
}

fn header(
    record: &csv::StringRecord,
    spans: &[Range<usize>],
    text: &str,
    separator: u8,
    faults: &mut Vec<Fault>,
    doubts: &mut Vec<String>,
) -> Option<Form> {
    let names: Vec<String> = record.iter().map(|cell| cell.trim().to_owned()).collect();
    let span = |k: usize| spans.get(k).cloned().unwrap_or(0..0);
    let before = faults.len();
    let mut places = [None; COLUMNS.len()];
    for (k, name) in names.iter().enumerate() {
        let Some(known) = COLUMNS.iter().position(|c| c.eq_ignore_ascii_case(name)) else {
            continue;
        };
        if places[known].is_some() {
            faults.push(Fault::new(
                SourceSpan::new(0, span(k)),
                format!("there are two columns {}", quoted(name)),
                "named before",
                "give each column a name of its own",
            ));
        } else {
            places[known] = Some(k);
        }
    }
    for (known, column) in COLUMNS.iter().enumerate() {
        if places[known].is_some() {
            continue;
        }
        let near = names.iter().enumerate().find(|(_, name)| {
            !COLUMNS.iter().any(|c| c.eq_ignore_ascii_case(name)) && nearest(name, [*column]).is_some()
        });
        match near {
            Some((k, name)) if NEEDED.contains(column) => faults.push(Fault::new(
                SourceSpan::new(0, span(k)),
                format!("there is no column `{column}`; {} is not known", quoted(name)),
                "not known",
                format!("did you mean `{column}`?"),
            )),
            Some((_, name)) => doubts.push(format!(
                "column {} is not known and was left alone; did you mean `{column}`?",
                quoted(name)
            )),
            None if NEEDED.contains(column) => {
                let line = spans.first().map_or(0, |s| s.start)..spans.last().map_or(0, |s| s.end);
                faults.push(Fault::new(
                    SourceSpan::new(0, line),
                    format!("the first line names no column `{column}`"),
                    "the columns' names are due here",
                    format!("for example `{HEADER}`"),
                ));
            }
            None => {}
        }
    }
    (faults.len() == before).then(|| Form {
        separator,
        names,
        places,
        carriage_return: text.find('\n').is_some_and(|i| text[..i].ends_with('\r')),
    })
}

/// One line of the log.
struct Row<'a> {
    form: &'a Form,
    record: &'a csv::StringRecord,
    spans: &'a [Range<usize>],
    text: &'a str,
}

impl Row<'_> {
    fn cell(&self, name: &str) -> &str {
        let place = self.form.place(name);
        clean::cell_read(place.and_then(|k| self.record.get(k)).unwrap_or("").trim())
    }

    /// Where a cell's content stands; past the end of the line where the line is too short.
    fn place(&self, name: &str) -> SourceSpan {
        let end = self.spans.last().map_or(0, |s| s.end);
        let span = self.form.place(name).and_then(|k| self.spans.get(k)).cloned();
        let Some(span) = span else {
            return SourceSpan::new(0, end..end);
        };
        let raw = self.text.get(span.clone()).unwrap_or("");
        let lead = raw.len() - raw.trim_start().len();
        let length = raw.trim().len();
        if length == 0 {
            return SourceSpan::new(0, span);
        }
        SourceSpan::new(0, span.start + lead..span.start + lead + length)
    }

    /// `None` only with faults.
    fn entry(&self, line: usize, faults: &mut Vec<Fault>) -> Option<Entry> {
        let before = faults.len();
        if self.record.len() > self.form.names.len() {
            let extra = self.form.names.len();
            let from = self.spans.get(extra).map_or(0, |s| s.start);
            faults.push(Fault::new(
                SourceSpan::new(0, from..self.spans.last().map_or(from, |s| s.end)),
                format!(
                    "this line has {} cells, and the first line names {extra} columns",
                    self.record.len()
                ),
                "one too many",
                "a comma within a cell divides it: a decimal point is a point (`12.5`), and a text with a comma stands between \
                 double quotes",
            ));
            return None;
        }
        let step = self.cell("step").to_owned();
        if step.is_empty() {
            faults.push(Fault::new(
                self.place("step"),
                "no step is named",
                "a step is due",
                "write the step as the scenario names it, for example `glue pegs`",
            ));
        }
        let what = self.what(faults);
        let date = self.date(faults);
        let minutes = self.minutes(faults);
        let pieces = self.pieces(faults);
        let rounds = self.count("rounds", 1, faults);
        let spoiled = self.count("spoiled", 0, faults);
        let redone = self.count("redone", 0, faults);
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
                self.place("pieces"),
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
                self.place("spoiled"),
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
            job: self.cell("job").to_owned(),
            step,
            what,
            pieces: if what.counts() { pieces.ok()?.unwrap_or(0) } else { 0 },
            rounds: rounds.ok()?,
            minutes: minutes?,
            spoiled: spoiled.ok()?,
            redone: redone.ok()?,
            note: self.cell("note").to_owned(),
        })
    }

    fn what(&self, faults: &mut Vec<Fault>) -> Option<What> {
        let word = self.cell("what");
        match what_of(word) {
            Ok(what) => Some(what),
            Err(cure) => {
                faults.push(Fault::new(
                    self.place("what"),
                    format!("{} is not a word for what was timed", quoted(word)),
                    "not known",
                    cure,
                ));
                None
            }
        }
    }

    fn date(&self, faults: &mut Vec<Fault>) -> Option<Option<Date>> {
        let written = self.cell("date");
        if written.is_empty() {
            return Some(None);
        }
        match date_of(written) {
            Ok(date) => Some(Some(date)),
            Err(cure) => {
                faults.push(Fault::new(
                    self.place("date"),
                    format!("{} is not a date", quoted(written)),
                    "year-month-day is due",
                    cure,
                ));
                None
            }
        }
    }

    fn minutes(&self, faults: &mut Vec<Fault>) -> Option<f64> {
        let (written, place) = (self.cell("minutes"), self.place("minutes"));
        // Doubled quotes, or text behind a closing quote, make a cell's content unlike what stands there.
        let verbatim = self.text.get(place.span.clone()) == Some(written);
        match minutes_of(written, place, verbatim) {
            Ok(minutes) => Some(minutes),
            Err(found) => {
                faults.extend(found);
                None
            }
        }
    }

    /// [`Self::count`] of pieces: 0, or the word for it, goes on with a piece.
    fn pieces(&self, faults: &mut Vec<Fault>) -> Result<Option<u32>, ()> {
        if goes_on(self.cell("pieces")) {
            return Ok(Some(0));
        }
        self.count("pieces", 1, faults)
    }

    /// `Err` where it is wrong, and the fault is told.
    fn count(&self, name: &str, least: u32, faults: &mut Vec<Fault>) -> Result<Option<u32>, ()> {
        let written = self.cell(name);
        if written.is_empty() {
            return Ok(None);
        }
        count_of(written, least).map(Some).map_err(|cure| {
            faults.push(Fault::new(
                self.place(name),
                format!("`{name}`: {} is not a number of things", quoted(written)),
                "a whole number is due",
                cure,
            ));
        })
    }
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

/// A date as ISO 8601 writes it, or what would be right.
pub(super) fn date_of(written: &str) -> Result<Date, String> {
    let looks = written.len() == 10 && written.is_ascii();
    written
        .parse::<Date>()
        .ok()
        .filter(|_| looks)
        .ok_or_else(|| "write year, month and day as ISO 8601 does: `2027-03-14`".to_owned())
}

/// Whether what stands for a number of pieces goes on with one that was counted before.
pub(super) fn goes_on(written: &str) -> bool {
    written == "0" || written.eq_ignore_ascii_case(PART)
}

/// A whole number, or what would be right.
pub(super) fn count_of(written: &str, least: u32) -> Result<u32, String> {
    match written.parse::<u32>() {
        Ok(n) if (least..=LARGEST_COUNT).contains(&n) => Ok(n),
        Ok(n) if n < least => Err(format!("it must be at least {least}")),
        _ => Err(format!(
            "write a whole number from {least} to {LARGEST_COUNT}, for example `8`"
        )),
    }
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
    use proptest::prelude::*;

    proptest! {
        /// Where cells are said to stand, there they stand: the library and the walk agree on any text.
        #[test]
        fn cells_stand_where_they_are_said_to(rows in prop::collection::vec(prop::collection::vec("[a-z \",;\r\n]{0,6}", 1..5), 1..6), semicolon: bool) {
            let separator = if semicolon { b';' } else { b',' };
            let mut writer = csv::WriterBuilder::new().delimiter(separator).flexible(true).from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            let mut reader = csv::ReaderBuilder::new()
                .delimiter(separator)
                .has_headers(false)
                .flexible(true)
                .from_reader(text.as_bytes());
            for record in reader.records() {
                let record = record.unwrap();
                let spans = cells(&text, record.position().unwrap().byte() as usize, separator);
                let found: Vec<String> = spans.into_iter().map(|s| text[s].replace("\"\"", "\"")).collect();
                prop_assert_eq!(found, record.iter().map(str::to_owned).collect::<Vec<_>>());
            }
        }
    }

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
            "step;what;pieces;minutes;date;spoiled\nglue;;8;12,5;14.3.2027;9\n;;eight;0;2027-02-30;\nglue;setups;;;;\nglue;;;20;;\n",
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
        assert!(found[1].3.contains("2027-03-14"), "{found:?}");
        assert!(found[7].3.contains("`setup`"), "{found:?}");
    }

    #[test]
    fn a_decimal_comma_between_commas_is_told_as_such() {
        let found = faults("step,pieces,minutes\nglue,8,12,5\n");
        assert_eq!((found.len(), found[0].0, found[0].1), (1, 2, 11));
        assert!(found[0].3.contains("`12.5`"));
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

    #[test]
    fn what_is_not_text_is_refused() {
        assert!(read("log", b"\xff\xfe").is_err());
    }
}
