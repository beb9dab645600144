//! How text may look, how it is set in lines, and what of a name can be shown.

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
    /// What puts into the file what a log says, as the reader has it at hand.
    pub writes: &'static str,
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
            writes: Self::FLAG,
        }
    }

    /// Whether the reader has forms at hand, and no file.
    pub(crate) fn has_forms(&self) -> bool {
        self.writes != Self::FLAG
    }

    /// What writes into the file on a command line.
    pub const FLAG: &'static str = "the flag `--write`";

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
    pub(crate) fn highlight(&self) -> Option<(&'static str, &'static str)> {
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
