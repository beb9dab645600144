//! The whole answer for a person at a terminal: what to do, why, table, what else there is to know, chart, care.

use super::grid::Grid;
use super::paint;
use crate::clean;

/// Sentences are not set wider than this; longer lines are hard to read.
const LONGEST_LINE: usize = 96;

/// Narrower than this there is no room for a chart.
const CHART_COLUMNS: usize = 60;

/// A page has room for every column.
const PAGE_COLUMNS: usize = 1_000;

/// How the text may look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Room in characters.
    pub columns: usize,
    /// Whether box-drawing characters can be shown.
    pub unicode: bool,
    /// Whether terminal colours may be used.
    pub colour: bool,
    /// Whether every size is shown in the table.
    pub all: bool,
    /// Whether it is read at a terminal: room is scarce, and flags can be typed.
    pub terminal: bool,
}

/// What a page is made of, in the order it is read.
#[derive(Debug, Clone, Default)]
pub struct Page {
    /// What it is about.
    pub title: String,
    /// What to do: at most three sentences and 60 words, the first an instruction with its figure.
    pub opening: Vec<String>,
    /// Why, and what may go wrong: the second paragraph.
    pub why: Vec<String>,
    /// The figures.
    pub tables: Vec<Grid>,
    /// What else there is to know, a paragraph each; folded where a page can be opened.
    pub more: Vec<String>,
    /// How to read the figures and what they rest on, a paragraph each.
    pub small: Vec<String>,
    /// What to mind.
    pub care: String,
}

impl Page {
    /// The page as text with a small chart, ending in a line break.
    pub fn text(&self, look: &Look, chart: Option<&str>) -> String {
        let line = look.line();
        let (bold, faint, plain) = if look.colour {
            ("\x1b[1m", "\x1b[2m", "\x1b[0m")
        } else {
            ("", "", "")
        };
        let mut out = String::new();
        for text in wrap(&printable(&self.title), line).lines() {
            out.push_str(&format!("{bold}{text}{plain}\n"));
        }
        out.push('\n');
        let set = |text: &str| wrap(&clean::lines(text), line);
        let faintly = |set: String| -> String { set.lines().map(|line| format!("{faint}{line}{plain}\n")).collect() };
        out.push_str(&set(&self.opening.join(" ")));
        if !self.why.is_empty() {
            out.push('\n');
            out.push_str(&set(&self.why.join(" ")));
        }
        for table in &self.tables {
            out.push('\n');
            let text = table.text(look.unicode, look.highlight());
            out.push_str(&if look.colour {
                paint::table(&clean::painted(&text), look.unicode)
            } else {
                clean::lines(&text).into_owned()
            });
            for paragraph in table.explained() {
                out.push_str(&faintly(wrap(&paragraph, line)));
            }
        }
        if !self.more.is_empty() {
            out.push('\n');
            for paragraph in &self.more {
                out.push_str(&set(paragraph));
            }
            out.push('\n');
        } else if self.why.is_empty() && self.tables.is_empty() && !self.small.is_empty() {
            out.push('\n');
        }
        for paragraph in &self.small {
            out.push_str(&faintly(set(paragraph)));
        }
        if let Some(chart) = chart {
            out.push('\n');
            let chart = clean::lines(chart.trim_end());
            if look.colour {
                out.push_str(&paint::chart(&chart, look.unicode));
            } else {
                out.push_str(&chart);
            }
            out.push('\n');
        }
        if !self.care.is_empty() {
            out.push('\n');
            out.push_str(&faintly(set(&self.care)));
        }
        out
    }
}

impl Look {
    /// For a page in a browser or a sheet: names in full, no talk of flags.
    pub const fn page(all: bool) -> Self {
        Self {
            columns: PAGE_COLUMNS,
            unicode: true,
            colour: false,
            all,
            terminal: false,
        }
    }

    /// Whether every row is there, or at hand.
    pub fn complete(&self) -> bool {
        self.all || !self.terminal
    }

    /// Columns for running text and text charts.
    pub fn line(&self) -> usize {
        self.columns.min(LONGEST_LINE)
    }

    /// Whether there is room for a chart.
    pub(super) const fn has_room_for_chart(&self) -> bool {
        self.columns >= CHART_COLUMNS
    }

    /// What is put around a line that matters most, where colours may be used.
    pub fn highlight(&self) -> Option<(&'static str, &'static str)> {
        self.colour.then_some(("\x1b[1m", "\x1b[0m"))
    }
}

/// Sets `text` in lines of at most `width` characters (a longer word stands alone), each ending in a line break.
pub fn wrap(text: &str, width: usize) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let figure = |k: Option<usize>| k.is_some_and(|k| words[k].ends_with(|c: char| c.is_ascii_digit()));
    // A figure and its unit stay on one line: `80 %`, `32 EUR`, `2 h 10 min`; so does a mark with what it means: `▲ advised`.
    let tied = |k: usize| {
        let Some(next) = words.get(k + 1) else { return false };
        let mut letters = words[k].chars();
        let mark = letters.next().is_some_and(|c| ('\u{2190}'..='\u{27bf}').contains(&c)) && letters.next().is_none();
        let bare = next.trim_end_matches([',', '.', ';', ':', ')']);
        let unit = next.starts_with('%')
            || next.chars().take(3).filter(char::is_ascii_uppercase).count() == 3
            || ["h", "min", "s", "d"].contains(&bare);
        let minutes = words[k] == "h" && figure(k.checked_sub(1)) && next.starts_with(|c: char| c.is_ascii_digit());
        // `--all: all 40 sizes` is one remark in a row of marks.
        let all = words[k.saturating_sub(2)..=k].contains(&"--all:");
        figure(Some(k)) && unit || minutes || mark || all
    };
    let (mut out, mut used) = (String::new(), 0);
    let mut first = 0;
    while first < words.len() {
        let mut last = first;
        while tied(last) {
            last += 1;
        }
        let group = words[first..=last].join(" ");
        let length = group.chars().count();
        if used > 0 && used + 1 + length > width {
            out.truncate(out.trim_end_matches(' ').len());
            out.push('\n');
            used = 0;
        } else if first > 0 {
            out.push(' ');
            used += 1;
        }
        out.push_str(&group);
        used += length;
        first = last + 1;
    }
    out.push('\n');
    out
}

/// A title cannot steer the terminal.
pub(crate) fn printable(text: &str) -> String {
    clean::line(text).into_owned()
}

/// A name in so many characters at most, its end given up for two dots; it cannot steer the terminal either.
pub(super) fn cut(text: &str, longest: usize) -> String {
    let text = printable(text);
    if text.chars().count() <= longest {
        return text;
    }
    let kept = text.chars().take(longest.saturating_sub(2));
    kept.chain("..".chars()).take(longest).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapping_keeps_every_word_and_the_width() {
        let text = "one run in ten earns less than that and half of them do";
        for width in [5, 12, 30, 200] {
            let wrapped = wrap(text, width);
            assert!(
                wrapped.lines().all(|l| l.chars().count() <= width.max(5)),
                "{width}: {wrapped}"
            );
            assert_eq!(wrapped.split_whitespace().collect::<Vec<_>>().join(" "), text);
        }
    }

    #[test]
    fn a_long_title_wraps() {
        let page = Page {
            title: "Which of these four to make".repeat(4),
            ..Page::default()
        };
        let look = Look {
            columns: 80,
            terminal: true,
            ..Look::page(false)
        };
        let said = page.text(&look, None);
        assert!(said.lines().all(|line| line.chars().count() <= 80), "{said}");
        assert_eq!(said.split_whitespace().collect::<Vec<_>>().join(" "), page.title);
    }

    #[test]
    fn a_figure_stays_with_its_unit() {
        for width in 10..40 {
            let wrapped = wrap(
                "reached in at least 80 % of runs of 12 EUR each, 2 h 10 min, or 4 h, and in 14 h 5 min. ▲ advised   --all: all 40 sizes",
                width,
            );
            for whole in [
                "80 %",
                "12 EUR",
                "2 h 10 min,",
                "4 h,",
                "14 h 5 min.",
                "▲ advised",
                "--all: all 40 sizes",
            ] {
                assert!(wrapped.contains(whole), "{width}: {wrapped}");
            }
        }
    }

    #[test]
    fn a_long_name_ends_in_dots() {
        assert_eq!(cut("oak", 3), "oak");
        assert_eq!(cut("walnut", 5), "wal..");
        assert_eq!(cut("a\u{1b}b", 9), "a\u{fffd}b");
        assert_eq!(cut("walnut", 1), ".");
    }

    #[test]
    fn a_title_cannot_steer_the_terminal() {
        assert_eq!(printable("a\u{1b}[2Jb\n"), "a\u{fffd}[2Jb\u{fffd}");
    }
}
