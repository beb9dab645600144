//! How logs are kept: CSV files that a spreadsheet can keep as well, read strictly with every fault in its place, and added to line by
//! line in the maker's own bytes. What a line means is for the rooms of the logs, `worklog` and `sales`.

use crate::clean;
use crate::scenario::{Fault, Faults, Source, SourceSpan, nearest, quoted, text_of};
use jiff::civil::Date;
use std::ops::Range;

/// Most things that one line counts.
pub const LARGEST_COUNT: u32 = 1_000_000;

/// What sets one kind of log apart from the other.
#[derive(Debug)]
pub struct Kind {
    /// `work log`.
    pub name: &'static str,
    /// Columns that are understood, in the order of a new log; columns of any other name are left alone.
    pub columns: &'static [&'static str],
    /// Those without which nothing can be learned.
    pub needed: &'static [&'static str],
    /// The log that it may be mistaken for.
    pub other: Other,
}

/// The log of the other kind.
#[derive(Debug)]
pub struct Other {
    /// `sales log`.
    pub name: &'static str,
    /// The columns by which it is known.
    pub needed: &'static [&'static str],
    /// The commands that read it.
    pub read_by: &'static str,
}

impl Kind {
    /// The first line of a new log.
    fn header(&self) -> String {
        self.columns.join(",")
    }

    /// The form of a log that is not there yet.
    #[must_use]
    pub fn new_form(&'static self) -> Form {
        Form {
            columns: self.columns,
            separator: b',',
            names: self.columns.iter().map(|name| (*name).to_owned()).collect(),
            places: (0..self.columns.len()).map(Some).collect(),
            carriage_return: false,
            line_feed: true,
        }
    }
}

/// How a log's file is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Form {
    /// The columns of its kind.
    columns: &'static [&'static str],
    /// What stands between cells: `,`, `;` or a tab.
    pub separator: u8,
    /// Names of all columns as they stand.
    pub names: Vec<String>,
    /// For each column of its kind where it is among them.
    places: Vec<Option<usize>>,
    /// Whether lines end in a carriage return, alone or with a line feed behind it.
    pub carriage_return: bool,
    /// Whether lines end in a line feed, alone or behind a carriage return.
    line_feed: bool,
}

impl Form {
    const fn line_end(&self) -> &'static str {
        match (self.carriage_return, self.line_feed) {
            (true, true) => "\r\n",
            (true, false) => "\r",
            (false, _) => "\n",
        }
    }

    /// Where a column of its kind stands.
    #[must_use]
    pub fn place(&self, name: &str) -> Option<usize> {
        let known = self.columns.iter().position(|c| *c == name)?;
        self.places[known]
    }
}

/// A log as it was read: what its lines say, how it is written, and remarks on columns that look misspelt.
pub(crate) struct Read<T> {
    pub(crate) entries: Vec<T>,
    pub(crate) form: Form,
    pub(crate) doubts: Vec<String>,
}

/// Reads a log from the bytes of its file, where `entry` reads a line, given its number, or says its faults. A byte order mark in front
/// is no part of it; an empty line, or one of separators only, is no entry.
///
/// # Errors
/// [`Faults`]: everything that is wrong, all at once, sorted by place.
pub(crate) fn read<T>(
    kind: &'static Kind,
    source_name: &str,
    bytes: &[u8],
    entry: impl Fn(&Row<'_>, usize, &mut Vec<Fault>) -> Option<T>,
) -> Result<Read<T>, Faults> {
    let text = text_of(source_name, bytes, &format!("a {}", kind.name))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut faults = Vec::new();
    let log = take_apart(kind, text, &entry, &mut faults);
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
fn take_apart<T>(
    kind: &'static Kind,
    text: &str,
    entry: &impl Fn(&Row<'_>, usize, &mut Vec<Fault>) -> Option<T>,
    faults: &mut Vec<Fault>,
) -> Option<Read<T>> {
    let separator = separator_of(text);
    let mut reader = lines_of(text, separator);
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
                    format!(
                        "a {} is a CSV file that begins with the line `{}`",
                        kind.name,
                        kind.header()
                    ),
                ));
                return None;
            }
        };
        let start = record.position().map_or(0, |p| p.byte() as usize);
        let spans = cells(text, start, separator);
        let Some(form) = &form else {
            form = Some(header(kind, &record, &spans, text, separator, faults, &mut doubts)?);
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
        if row.fits(faults) {
            entries.extend(entry(&row, line, faults));
        }
    }
    let Some(form) = form else {
        faults.push(Fault::new(
            SourceSpan::new(0, 0..0),
            format!("the {} is empty: it has no line that names its columns", kind.name),
            "no columns",
            format!("begin it with the line `{}`", kind.header()),
        ));
        return None;
    };
    Some(Read { entries, form, doubts })
}

/// Whether the first line of a log names this column.
#[must_use]
pub fn names(text: &str, column: &str) -> bool {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let first = lines_of(text, separator_of(text)).into_records().next();
    let Some(Ok(names)) = first else { return false };
    names.iter().any(|name| name.trim().eq_ignore_ascii_case(column))
}

fn separator_of(text: &str) -> u8 {
    let first = text.split(['\n', '\r']).next().unwrap_or("");
    let separators = [b';', b'\t', b','].into_iter();
    let mut those_there = separators.filter(|separator| first.contains(char::from(*separator)));
    those_there.next().unwrap_or(b',')
}

fn lines_of(text: &str, separator: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes())
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
    kind: &'static Kind,
    record: &csv::StringRecord,
    spans: &[Range<usize>],
    text: &str,
    separator: u8,
    faults: &mut Vec<Fault>,
    doubts: &mut Vec<String>,
) -> Option<Form> {
    let names: Vec<String> = record.iter().map(|cell| cell.trim().to_owned()).collect();
    let span = |k: usize| SourceSpan::new(0, spans.get(k).cloned().unwrap_or(0..0));
    let line = spans.first().map_or(0, |s| s.start)..spans.last().map_or(0, |s| s.end);
    let before = faults.len();
    let has = |columns: &[&str]| {
        let mut columns = columns.iter();
        columns.all(|column| names.iter().any(|name| column.eq_ignore_ascii_case(name)))
    };
    if has(kind.other.needed) && !has(kind.needed) {
        faults.push(Fault::new(
            SourceSpan::new(0, line),
            format!("this is a {}, and a {} is due", kind.other.name, kind.name),
            format!("columns of a {}", kind.other.name),
            format!("a {} is read by {}", kind.other.name, kind.other.read_by),
        ));
        return None;
    }
    let places = places(kind, &names, span, faults);
    for (known, column) in kind.columns.iter().enumerate() {
        if places[known].is_some() {
            continue;
        }
        let near = names.iter().enumerate().find(|(_, name)| {
            !kind.columns.iter().any(|c| c.eq_ignore_ascii_case(name)) && nearest(name, [*column]).is_some()
        });
        match near {
            Some((k, name)) if kind.needed.contains(column) => faults.push(Fault::new(
                span(k),
                format!("there is no column `{column}`; {} is not known", quoted(name)),
                "not known",
                format!("did you mean `{column}`?"),
            )),
            Some((_, name)) => doubts.push(format!(
                "column {} is not known and was left alone; did you mean `{column}`?",
                quoted(name)
            )),
            None if kind.needed.contains(column) => faults.push(Fault::new(
                SourceSpan::new(0, line.clone()),
                format!("the first line names no column `{column}`"),
                "the columns' names are due here",
                format!("for example `{}`", kind.header()),
            )),
            None => {}
        }
    }
    // Behind the last name, as a quoted one may hold a line end of its own.
    let rest = spans.last().and_then(|last| text.get(last.end..)).unwrap_or("");
    let end = rest.trim_start_matches(|c| !matches!(c, '\r' | '\n'));
    (faults.len() == before).then(|| Form {
        columns: kind.columns,
        separator,
        names,
        places,
        carriage_return: end.starts_with('\r'),
        line_feed: !end.starts_with('\r') || end.starts_with("\r\n"),
    })
}

/// Which of the names is that of each column, where one is; a column that is named twice is a fault.
fn places(
    kind: &Kind,
    names: &[String],
    span: impl Fn(usize) -> SourceSpan,
    faults: &mut Vec<Fault>,
) -> Vec<Option<usize>> {
    let mut places = vec![None; kind.columns.len()];
    for (k, name) in names.iter().enumerate() {
        let Some(known) = kind.columns.iter().position(|c| c.eq_ignore_ascii_case(name)) else {
            continue;
        };
        if places[known].is_some() {
            faults.push(Fault::new(
                span(k),
                format!("there are two columns {}", quoted(name)),
                "named before",
                "give each column a name of its own",
            ));
        } else {
            places[known] = Some(k);
        }
    }
    places
}

/// One line of a log.
pub(crate) struct Row<'a> {
    form: &'a Form,
    record: &'a csv::StringRecord,
    spans: &'a [Range<usize>],
    text: &'a str,
}

impl Row<'_> {
    /// What a cell says, without the spaces about it.
    pub(crate) fn cell(&self, name: &str) -> &str {
        let place = self.form.place(name);
        clean::cell_read(place.and_then(|k| self.record.get(k)).unwrap_or("").trim())
    }

    /// Where a cell's content stands; past the end of the line where the line is too short.
    pub(crate) fn place(&self, name: &str) -> SourceSpan {
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

    /// Whether it has no more cells than there are columns; else the fault is told.
    fn fits(&self, faults: &mut Vec<Fault>) -> bool {
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
            return false;
        }
        true
    }

    /// Whether a cell's content is what stands in the file: doubled quotes, or text behind a closing quote, make it unlike.
    pub(crate) fn is_verbatim(&self, name: &str) -> bool {
        self.text.get(self.place(name).span) == Some(self.cell(name))
    }

    /// A date that may be missing; the outer `None` only with a fault.
    pub(crate) fn date(&self, name: &str, faults: &mut Vec<Fault>) -> Option<Option<Date>> {
        let written = self.cell(name);
        if written.is_empty() {
            return Some(None);
        }
        match date_of(written) {
            Ok(date) => Some(Some(date)),
            Err(cure) => {
                faults.push(Fault::new(
                    self.place(name),
                    format!("{} is not a date", quoted(written)),
                    "year-month-day is due",
                    cure,
                ));
                None
            }
        }
    }

    /// `Err` where it is wrong, and the fault is told.
    pub(crate) fn count(&self, name: &str, least: u32, faults: &mut Vec<Fault>) -> Result<Option<u32>, ()> {
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

/// Days between which nothing was written for so long are asked about (assumption: nobody pauses for so long and goes on with the log, and a
/// slip in the year's tens passes it).
const LONG_PAUSE_YEARS: f64 = 5.0;
/// Long pauses that are told, at most.
const PAUSES_TOLD: usize = 5;

/// Days, each with its line, that are far from all before them.
pub(crate) fn long_pauses(days: impl Iterator<Item = (usize, Date)>) -> Vec<String> {
    let mut days: Vec<(usize, Date)> = days.collect();
    days.sort_by_key(|(_, day)| *day);
    let pauses = days.windows(2).filter_map(|pair| {
        let [(before, from), (line, to)] = *pair else {
            return None;
        };
        let years = f64::from(from.until(to).ok()?.get_days()) / 365.25;
        if years < LONG_PAUSE_YEARS {
            return None;
        }
        let place = if before == line {
            "the same line".to_owned()
        } else {
            format!("line {before}")
        };
        Some(format!(
            "line {line}: {to} comes {years:.0} years after {from} in {place}; is one of them a slip of the pen?"
        ))
    });
    pauses.take(PAUSES_TOLD).collect()
}

/// A date as ISO 8601 writes it.
///
/// # Errors
/// What would be right.
pub fn date_of(written: &str) -> Result<Date, String> {
    let looks = written.len() == 10 && written.is_ascii();
    written.parse::<Date>().ok().filter(|_| looks).ok_or_else(|| {
        let iso = "write year, month and day as ISO 8601 does";
        match meant(written).as_slice() {
            [] => format!("{iso}: `2027-03-14`"),
            [date] => format!("{iso}: `{date}`"),
            [day_first, month_first, ..] => {
                format!("{iso}: `{day_first}` if the day comes first, `{month_first}` if the month does")
            }
        }
    })
}

/// The dates that three numbers may be: `20.4.2026`, `4/20/2026`, `2026/4/20`. A year in front is followed by its month; between points the
/// day comes first, else it may be the month (common practice, no source).
fn meant(written: &str) -> Vec<Date> {
    let parts: Vec<&str> = written.split(['.', '/', '-']).collect();
    let [first, second, third] = parts.as_slice() else {
        return Vec::new();
    };
    let date = |year: &str, month: &str, day: &str| {
        let year = year.parse().ok().filter(|_| year.len() == 4)?;
        Date::new(year, month.parse().ok()?, day.parse().ok()?).ok()
    };
    if first.len() == 4 {
        return date(first, second, third).into_iter().collect();
    }
    let month_first = date(third, first, second).filter(|_| !written.contains('.'));
    let mut found: Vec<Date> = date(third, second, first).into_iter().chain(month_first).collect();
    found.dedup();
    found
}

/// A whole number of at least so many.
///
/// # Errors
/// What would be right.
pub(crate) fn count_of(written: &str, least: u32) -> Result<u32, String> {
    match written.parse::<u32>() {
        Ok(n) if (least..=LARGEST_COUNT).contains(&n) => Ok(n),
        Ok(n) if n < least => Err(format!("it must be at least {least}")),
        _ => Err(format!(
            "write a whole number from {least} to {LARGEST_COUNT}, for example `8`"
        )),
    }
}

/// The log with one line more: what was there, byte for byte, and [`lines_for`] it.
///
/// # Errors
/// Where the line cannot be written as CSV; the reason in words.
pub fn appended(before: &[u8], form: &Form, values: &[String]) -> Result<Vec<u8>, String> {
    Ok([before, &lines_for(before, form, values)?].concat())
}

/// What one line more puts at the end of a log: a line end where there was none, and one line with these values, one for each column of
/// the log's kind. `before` is empty for a log that is not there yet, which gets a first line with the columns' names.
///
/// # Errors
/// Where the line cannot be written as CSV; the reason in words.
pub fn lines_for(before: &[u8], form: &Form, values: &[String]) -> Result<Vec<u8>, String> {
    let mut row = vec![String::new(); form.names.len()];
    for (place, value) in form.places.iter().zip(values) {
        if let Some(cell) = place.and_then(|k| row.get_mut(k)) {
            cell.clone_from(value);
        }
    }
    let mut out = Vec::new();
    if before.is_empty() {
        out.extend(written(form, &form.names)?);
    } else if !before.ends_with(b"\n") {
        // A carriage return that stands there already is the first half of the end, or all of it.
        let end = form.line_end();
        let due = if before.ends_with(b"\r") { &end[1..] } else { end };
        out.extend_from_slice(due.as_bytes());
    }
    out.extend(written(form, &row)?);
    Ok(out)
}

/// One line with these cells, and its end.
fn written<T: AsRef<[u8]>>(form: &Form, cells: &[T]) -> Result<Vec<u8>, String> {
    let end = match form.line_end() {
        "\r\n" => csv::Terminator::CRLF,
        one => csv::Terminator::Any(one.as_bytes()[0]),
    };
    let mut lines = csv::WriterBuilder::new()
        .delimiter(form.separator)
        .terminator(end)
        .flexible(true)
        .from_writer(Vec::new());
    lines.write_record(cells).map_err(|error| error.to_string())?;
    lines.into_inner().map_err(|error| error.to_string())
}

/// The log with another entry in the place of the one that begins in this line; without `values`, with one entry fewer. There is one value
/// for each column of the log's kind, and where it is `None` the cell says what it said, as do columns of other names. Every other line
/// stays byte for byte.
///
/// # Errors
/// Where no entry begins in this line, or it cannot be written as CSV; the reason in words.
pub fn exchanged(log: &str, form: &Form, line: usize, values: Option<&[Option<String>]>) -> Result<String, String> {
    let text = log.strip_prefix('\u{feff}').unwrap_or(log);
    let mut reader = lines_of(text, form.separator);
    let mut lines = Lines { text, at: 0, number: 1 };
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record).map_err(|error| error.to_string())? {
        let from = record.position().map_or(0, |p| p.byte() as usize);
        let rest = text.get(from..).unwrap_or("");
        let start = text.len() - rest.trim_start_matches(['\r', '\n']).len();
        if lines.number_at(start) != line {
            continue;
        }
        let whole = text
            .get(start..reader.position().byte() as usize)
            .unwrap_or("")
            .trim_end_matches(['\r', '\n']);
        let end = start + whole.len();
        let (before, behind) = (&text[..start], &text[end..]);
        let mark = &log[..log.len() - text.len()];
        let Some(values) = values else {
            let behind = behind.strip_prefix('\r').unwrap_or(behind);
            let behind = behind.strip_prefix('\n').unwrap_or(behind);
            return Ok(format!("{mark}{before}{behind}"));
        };
        let mut row: Vec<String> = record.iter().map(str::to_owned).collect();
        row.resize(form.names.len().max(row.len()), String::new());
        for (place, value) in form.places.iter().zip(values) {
            if let (Some(cell), Some(value)) = (place.and_then(|k| row.get_mut(k)), value) {
                cell.clone_from(value);
            }
        }
        let now = String::from_utf8(written(form, &row)?).map_err(|error| error.to_string())?;
        let now = now.trim_end_matches(['\r', '\n']);
        return Ok(format!("{mark}{before}{now}{behind}"));
    }
    Err(format!("no entry begins in line {line} any more"))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    static ANY: Kind = Kind {
        name: "log",
        columns: &["a", "b", "c"],
        needed: &["a"],
        other: Other {
            name: "list",
            needed: &["x"],
            read_by: "nothing",
        },
    };

    fn lines_read(text: &str) -> Read<(usize, [String; 3])> {
        read(&ANY, "log", text.as_bytes(), |row, line, _| {
            Some((line, ["a", "b", "c"].map(|name| row.cell(name).to_owned())))
        })
        .unwrap()
    }

    /// A date in another order is told in that of ISO 8601: both readings where day and month could be either.
    #[test]
    fn the_cure_of_a_date_is_that_date() {
        let iso = |dates: &str| Err(format!("write year, month and day as ISO 8601 does: {dates}"));
        for (written, dates) in [
            (
                "03/04/2026",
                "`2026-04-03` if the day comes first, `2026-03-04` if the month does",
            ),
            (
                "3-4-2026",
                "`2026-04-03` if the day comes first, `2026-03-04` if the month does",
            ),
            ("2026/04/05", "`2026-04-05`"),
            ("2026-4-5", "`2026-04-05`"),
            ("25/12/2026", "`2026-12-25`"),
            ("12/25/2026", "`2026-12-25`"),
            ("5/5/2026", "`2026-05-05`"),
            ("03.04.2026", "`2026-04-03`"),
            ("31/31/2026", "`2027-03-14`"),
            ("03/04/26", "`2027-03-14`"),
            ("soon", "`2027-03-14`"),
        ] {
            assert_eq!(date_of(written), iso(dates), "{written}");
        }
    }

    #[test]
    fn one_entry_is_exchanged_or_taken_out_and_every_other_byte_stays() {
        let text = "\u{feff}a;wood;b;c\r\n\r\n1;\"oak; sawn\";2;\"two\r\nlines\"\r\n;;;\r\n4;ash\r\n7;elm;8;9";
        let form = lines_read(text).form;
        let put = |line, values: Option<&[Option<String>]>| exchanged(text, &form, line, values);
        let some = |text: &str| Some(text.to_owned());
        // What the line says else stays, also in a column of another name; what looks like a separator stands between quotes.
        assert_eq!(
            put(3, Some(&[None, some("a;b"), None])).unwrap(),
            text.replace(";2;", ";\"a;b\";")
        );
        // A line that is too short gets the cells that it lacks.
        assert_eq!(
            put(6, Some(&[some("5"), None, some("6")])).unwrap(),
            text.replace("4;ash", "5;ash;;6")
        );
        assert_eq!(
            put(7, Some(&[None, some(""), None])).unwrap(),
            text.replace("elm;8", "elm;")
        );
        assert_eq!(
            put(3, None).unwrap(),
            text.replace("1;\"oak; sawn\";2;\"two\r\nlines\"\r\n", "")
        );
        assert_eq!(put(7, None).unwrap(), text.replace("7;elm;8;9", ""));
        // In the middle of an entry none begins.
        assert!(put(4, None).is_err() && put(8, None).is_err());
    }

    /// A log keeps the line ends of its first line, also where a name holds another or only half of the last end is there.
    #[test]
    fn a_column_is_found_in_the_first_line_alone_however_it_is_written() {
        for there in ["\u{feff}\"Listed\";price\n1;2", "date\t listed \r\n", "price,listed"] {
            assert!(names(there, "listed"), "{there:?}");
        }
        for not_there in ["", "step,pieces\nlisted,1", "unlisted,price"] {
            assert!(!names(not_there, "listed"), "{not_there:?}");
        }
    }

    #[test]
    fn a_line_more_ends_as_the_others_do() {
        for (before, added) in [
            ("a,b,c\n", "1,2,3\n"),
            ("a,b,c\r\n4,5,6", "\r\n1,2,3\r\n"),
            ("a,b,c\r\n4,5,6\r", "\n1,2,3\r\n"),
            ("a,b,c\r4,5,6\r", "1,2,3\r"),
            ("a,b,c\r4,5,6", "\r1,2,3\r"),
            ("a,b,c,\"d\ne\" \r\n4,5,6,\r\n", "1,2,3,\r\n"),
            ("a,b,c", "\n1,2,3\n"),
        ] {
            let form = lines_read(before).form;
            let lines = lines_for(before.as_bytes(), &form, &["1", "2", "3"].map(str::to_owned)).unwrap();
            assert_eq!(String::from_utf8(lines).unwrap(), added, "{before:?}");
            let after = lines_read(&format!("{before}{added}"));
            assert_eq!(after.entries.last().unwrap().1, ["1", "2", "3"], "{before:?}");
        }
    }

    proptest! {
        /// Whatever stands in a log, an exchanged entry says what was put there, and all others what they said.
        #[test]
        fn an_exchanged_entry_is_read_back(rows in prop::collection::vec(prop::array::uniform3("[a-z][a-z \",;\n]{0,5}[a-z]"), 1..6), at: prop::sample::Index, new in prop::array::uniform3("[a-z][ -~]{0,6}[a-z]"), out: bool) {
            let mut text = "a,b,c\n".to_owned();
            for row in &rows {
                text.push_str(&String::from_utf8(written(&ANY.new_form(), row).unwrap()).unwrap());
            }
            let before = lines_read(&text);
            let at = at.index(rows.len());
            let values = new.clone().map(Some);
            let after = exchanged(&text, &before.form, before.entries[at].0, (!out).then_some(&values[..])).unwrap();
            let mut due = rows;
            if out {
                due.remove(at);
            } else {
                due[at] = new;
            }
            let found: Vec<_> = lines_read(&after).entries.into_iter().map(|(_, cells)| cells).collect();
            prop_assert_eq!(found, due);
        }

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
}
