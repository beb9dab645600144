//! The whole answer for a person: what to do, why, table, what else there is to know, chart, care.

use super::grid::Grid;
use super::paint;
use super::text::{Look, printable, wrap};
use crate::clean;

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

#[cfg(test)]
mod tests {
    use super::*;

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
}
