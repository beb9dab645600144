//! What is wrong with a scenario text, where, and what would be right.
//!
//! All faults of a text are collected before any is shown. Each keeps its place as a range of bytes in the text it was
//! found in: the file, or one of the values given for a single call.

use std::fmt;
use std::ops::Range;

use crate::clean;
use unicode_width::UnicodeWidthChar;

/// A text that was read: its name as shown to people, and its content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Source {
    pub(crate) name: String,
    pub(crate) text: String,
}

/// Where something stands: which source, and which bytes of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SourceSpan {
    pub(crate) source: usize,
    pub(crate) span: Range<usize>,
}

impl SourceSpan {
    pub(crate) const fn new(source: usize, span: Range<usize>) -> Self {
        Self { source, span }
    }
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    pub(super) place: SourceSpan,
    pub(super) what: String,
    pub(super) label: String,
    pub(super) cure: String,
}

impl Fault {
    pub(crate) fn new(
        place: SourceSpan,
        what: impl Into<String>,
        label: impl Into<String>,
        cure: impl Into<String>,
    ) -> Self {
        Self {
            place,
            what: what.into(),
            label: label.into(),
            cure: cure.into(),
        }
    }

    /// What is wrong: the value and the rule it breaks.
    #[must_use]
    pub fn what(&self) -> &str {
        &self.what
    }

    /// A few words that stand at the underlined text.
    #[must_use]
    pub fn label(&self) -> &str {
        &self.label
    }

    /// What would be right.
    #[must_use]
    pub fn cure(&self) -> &str {
        &self.cure
    }

    /// The bytes in question, in the text that [`Faults::source_of`] gives; empty where something is missing.
    #[must_use]
    pub fn span(&self) -> Range<usize> {
        self.place.span.clone()
    }

    /// Whether it stands in the scenario file, not in a value given for one call.
    #[must_use]
    pub const fn is_in_file(&self) -> bool {
        self.place.source == 0
    }
}

/// Faults that are listed; nobody reads more at once, and each has its line looked for in the text.
const MOST_SHOWN: usize = 50;

/// Everything that is wrong with one scenario, sorted by place; never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults {
    sources: Vec<Source>,
    list: Vec<Fault>,
}

impl Faults {
    pub(crate) fn new(sources: Vec<Source>, mut list: Vec<Fault>) -> Self {
        debug_assert!(!list.is_empty(), "a refusal needs a reason");
        list.sort_by(|a, b| {
            (a.place.source, a.place.span.start, a.place.span.end).cmp(&(
                b.place.source,
                b.place.span.start,
                b.place.span.end,
            ))
        });
        list.dedup();
        Self { sources, list }
    }

    /// The same, with the flag that gave the values after the first `known` of the call.
    #[must_use]
    pub fn said_by(mut self, known: usize, flag: &str) -> Self {
        for source in self.sources.iter_mut().skip(1 + known) {
            flag.clone_into(&mut source.name);
        }
        self
    }

    /// Those that are shown to people, and how many there are beyond them.
    #[must_use]
    pub fn shown(&self) -> (&[Fault], usize) {
        let shown = self.list.len().min(MOST_SHOWN);
        (&self.list[..shown], self.list.len() - shown)
    }

    /// The faults, by place: the file's first, then those of the values given for one call.
    pub fn iter(&self) -> std::slice::Iter<'_, Fault> {
        self.list.iter()
    }

    /// How many there are.
    #[must_use]
    pub fn count(&self) -> usize {
        self.list.len()
    }

    /// Name and content of the text a fault stands in.
    #[must_use]
    pub fn source_of(&self, fault: &Fault) -> (&str, &str) {
        self.sources
            .get(fault.place.source)
            .map_or(("", ""), |s| (s.name.as_str(), s.text.as_str()))
    }

    /// Line and column of a fault, both counted from 1; columns in characters.
    #[must_use]
    pub fn line_and_column(&self, fault: &Fault) -> (usize, usize) {
        line_and_column(self.source_of(fault).1, fault.place.span.start)
    }

    /// All faults for a person to read, each with the text in question underlined, and how many there are.
    ///
    /// `colour` adds terminal colours; without it the text is plain. `width` is the room in characters; less than 40 is
    /// taken as 40.
    #[must_use]
    pub fn render(&self, colour: bool, width: usize) -> String {
        let width = width.max(40);
        let mut out = String::new();
        let (listed, more) = self.shown();
        for fault in listed {
            out.push_str(&Drawn::new(self, fault, width).text(&Paint::new(colour)));
            out.push('\n');
        }
        if more > 0 {
            out.push_str(&format!("and {} more\n\n", grouped(more)));
        }
        let name = printable(self.sources.first().map_or("", |s| s.name.as_str()));
        let end = match self.list.len() {
            1 => format!("1 fault in {name}; nothing was computed."),
            n => format!("{} faults in {name}; nothing was computed.", grouped(n)),
        };
        out.push_str(&wrapped(&end, width));
        out.push('\n');
        out
    }

    fn one_line(&self, fault: &Fault) -> String {
        let (line, column) = self.line_and_column(fault);
        printable(&format!(
            "{}:{line}:{column}: {} ({})",
            self.source_of(fault).0,
            fault.what,
            fault.cure
        ))
    }
}

impl<'a> IntoIterator for &'a Faults {
    type Item = &'a Fault;
    type IntoIter = std::slice::Iter<'a, Fault>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// One line per fault: `file:line:column: what (cure)`.
impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (listed, more) = self.shown();
        for (i, fault) in listed.iter().enumerate() {
            if i > 0 {
                f.write_str("\n")?;
            }
            f.write_str(&self.one_line(fault))?;
        }
        if more > 0 {
            write!(f, "\nand {} more", grouped(more))?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}

/// Line and column of a byte, both from 1; columns in characters.
pub(super) fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let before = text.get(..text.floor_char_boundary(offset)).unwrap_or("");
    let line_start = before.rfind('\n').map_or(0, |i| i + 1);
    (
        before.matches('\n').count() + 1,
        before[line_start..].chars().count() + 1,
    )
}

/// A count as people write it: 19,950.
pub(crate) fn grouped(n: usize) -> String {
    let digits = n.to_string();
    let mut out = String::new();
    for (k, digit) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// The same text with everything that could steer a terminal replaced.
pub(super) fn printable(text: &str) -> String {
    clean::line(text).into_owned()
}

/// A value as it is quoted in a message: between backticks, on one line, not too long.
pub(crate) fn quoted(text: &str) -> String {
    const LONGEST: usize = 48;
    let mut shown: String = printable(text).chars().take(LONGEST).collect();
    if text.chars().count() > LONGEST {
        shown.push('…');
    }
    format!("`{shown}`")
}

/// Columns of a terminal that a text takes.
fn columns(text: &str) -> usize {
    text.chars().filter_map(UnicodeWidthChar::width).sum()
}

/// Broken into lines at spaces, but not at those within backticks: what is to be typed stays in one piece.
fn wrapped(text: &str, width: usize) -> String {
    let mut words: Vec<String> = Vec::new();
    let mut within = false;
    for word in text.split(' ') {
        match words.last_mut() {
            Some(last) if within => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
        within ^= word.matches('`').count() % 2 == 1;
    }
    let mut out = String::new();
    let mut column = 0;
    for word in words {
        let length = columns(&word);
        if column > 0 && column + 1 + length > width {
            out.push('\n');
            column = 0;
        } else if column > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(&word);
        column += length;
    }
    out
}

/// The nearest of some known words, if it is near enough to be what was meant.
#[must_use]
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.trim().to_lowercase();
    // A stray megabyte is nobody's misspelt key, and the distance costs length times length.
    if word.is_empty() || word.len() > 200 {
        return None;
    }
    let known: Vec<&str> = known.into_iter().collect();
    let misspelt = known
        .iter()
        .map(|k| (strsim::damerau_levenshtein(&word, &k.to_lowercase()), *k))
        .filter(|(distance, k)| *distance <= 1.max(k.chars().count().max(word.chars().count()) / 3))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, k)| k);
    // `sewing` is `sew`, and `vary` is `varies`, where no other begins so.
    let begins = |k: &&&str| {
        let k = k.to_lowercase();
        let same = k.chars().zip(word.chars()).take_while(|(a, b)| a == b).count();
        same >= 3 && 4 * same >= 3 * k.chars().count().min(word.chars().count())
    };
    misspelt.or_else(|| {
        let mut alike = known.iter().filter(begins);
        alike.next().filter(|_| alike.next().is_none()).copied()
    })
}

/// What is put before and after the parts of a drawn fault.
struct Paint {
    wrong: &'static str,
    place: &'static str,
    cure: &'static str,
    end: &'static str,
}

impl Paint {
    const fn new(colour: bool) -> Self {
        let [wrong, place, cure, end] = if colour {
            ["\x1b[31m", "\x1b[1m", "\x1b[36m", "\x1b[0m"]
        } else {
            [""; 4]
        };
        Self {
            wrong,
            place,
            cure,
            end,
        }
    }
}

/// One fault made ready to be drawn: its line alone, cropped to the room there is and cleaned of what could steer a terminal.
struct Drawn {
    what: String,
    label: String,
    width: usize,
    cure: String,
    /// Name of the text, line and column.
    place: String,
    line: String,
    shown: String,
    /// Bytes of `shown`.
    mark: Range<usize>,
}

/// A label that hangs from column `middle`, each of its lines with the column it begins in: to the right of it, or to the left where
/// there is more room and the right has too little.
fn hung(label: &str, middle: usize, room: usize) -> Vec<(usize, String)> {
    const HOOK: usize = 4;
    if label.is_empty() {
        return Vec::new();
    }
    let (left, right) = ((middle + 1).saturating_sub(HOOK), room.saturating_sub(middle + HOOK));
    if columns(label) <= right || right >= left {
        let lines = wrapped(label, right);
        let hooked = |(k, line)| match k {
            0 => (middle, format!("╰── {line}")),
            _ => (middle + HOOK, str::to_owned(line)),
        };
        return lines.lines().enumerate().map(hooked).collect();
    }
    let lines = wrapped(label, left);
    let at = left - lines.lines().map(columns).max().unwrap_or(0).min(left);
    let hooked = |(k, line)| match k {
        0 => (
            at,
            format!("{line} {}╯", "─".repeat((left - at - columns(line)) + HOOK - 2)),
        ),
        _ => (at, str::to_owned(line)),
    };
    lines.lines().enumerate().map(hooked).collect()
}

impl Drawn {
    fn new(faults: &Faults, fault: &Fault, width: usize) -> Self {
        let (name, text) = faults.source_of(fault);
        let start = text.floor_char_boundary(fault.place.span.start);
        let end = text.floor_char_boundary(fault.place.span.end.max(start));
        let (line, column) = line_and_column(text, start);
        let line_start = text[..start].rfind('\n').map_or(0, |i| i + 1);
        let line_end = text[start..].find('\n').map_or(text.len(), |i| start + i);
        let whole_line = text[line_start..line_end].trim_end_matches('\r');

        // What does not fit is left out at both ends, so that the marked text is always seen.
        let room = width.saturating_sub(14).max(24);
        let shown_as = |c| if c == '\t' { ' ' } else { clean::shown(c) };
        let signs = || whole_line.char_indices().map(|(i, c)| (line_start + i, shown_as(c)));
        let wide = |sign: (usize, char)| sign.1.width().unwrap_or(0);
        let marked_from: usize = signs().take_while(|sign| sign.0 < start).map(wide).sum();
        let all: usize = signs().map(wide).sum();
        let left_out = if all <= room || marked_from + 8 < room {
            0
        } else {
            marked_from.saturating_sub(room / 3)
        };

        let mut shown = String::new();
        if left_out > 0 {
            shown.push('…');
        }
        let (mut mark_start, mut mark_end) = (None, None);
        let mut at = 0;
        for sign in signs() {
            let from = at;
            at += wide(sign);
            if from < left_out {
                continue;
            }
            if at > left_out + room {
                shown.push('…');
                break;
            }
            if sign.0 >= start && mark_start.is_none() {
                mark_start = Some(shown.len());
            }
            if sign.0 >= end && mark_end.is_none() {
                mark_end = Some(shown.len());
            }
            shown.push(sign.1);
        }
        let mark_start = mark_start.unwrap_or(shown.len());
        let mark_end = mark_end.unwrap_or(shown.len()).max(mark_start);
        if mark_start == shown.len() {
            // An arrow past the last character needs something to stand under.
            shown.push(' ');
        }
        Self {
            // `  × ` and `  help: ` stand before them.
            what: wrapped(&printable(&fault.what), width - 4),
            label: printable(&fault.label),
            width,
            cure: wrapped(&printable(&fault.cure), width - 8),
            place: format!("{}:{line}:{column}", printable(name)),
            line: line.to_string(),
            shown,
            mark: mark_start..mark_end,
        }
    }

    /// What is wrong, the line with the mark and its label under it, the cure.
    fn text(&self, paint: &Paint) -> String {
        let Paint {
            wrong,
            place,
            cure,
            end,
        } = paint;
        let start = columns(&self.shown[..self.mark.start]);
        let marked = columns(&self.shown[self.mark.clone()]).max(1);
        // The label hangs from the middle of what is marked; where something is missing there is an arrow.
        let middle = (start + start + marked) / 2;
        let hook = match (self.mark.is_empty(), self.label.is_empty()) {
            (true, _) => '↑',
            (false, false) => '┬',
            (false, true) => '─',
        };
        let (left, right) = ("─".repeat(middle - start), "─".repeat(start + marked - middle - 1));
        let gutter = " ".repeat(self.line.len() + 2);
        let mut lines = vec![
            format!("  {wrong}×{end} {}", self.what.replace('\n', "\n  │ ")),
            format!("{gutter}╭─[{place}{}{end}]", self.place),
            format!(" {} │ {}", self.line, self.shown.trim_end()),
            format!("{gutter}· {:start$}{wrong}{left}{hook}{right}{end}", ""),
        ];
        let room = self.width.saturating_sub(columns(&gutter) + 2);
        let labels = hung(&self.label, middle, room);
        lines.extend(
            labels
                .iter()
                .map(|(at, said)| format!("{gutter}· {:at$}{wrong}{said}{end}", "")),
        );
        lines.push(format!("{gutter}╰────"));
        if !self.cure.is_empty() {
            lines.push(format!("  {cure}help:{end} {}", self.cure.replace('\n', "\n        ")));
        }
        lines.push(String::new());
        lines.join("\n")
    }
}
