//! A table: heads, rows, a row that matters most. Its text for a terminal is made here; pages and workbooks read its cells.

use comfy_table::{CellAlignment, LineStyle, Table, TableStyle};

use super::figure::Cell;
use super::text::{printable, wrap};
use super::words::each_once;

/// What stands in a table.
#[derive(Debug, Clone, Default)]
pub struct Grid {
    /// What it holds, for faces that name their tables.
    pub name: String,
    /// Whether a terminal is told the name as well, on a line above.
    pub named: bool,
    /// One head a column.
    pub heads: Vec<Head>,
    /// Rows of cells.
    pub rows: Vec<Vec<Cell>>,
    /// The row that matters most.
    pub marked: Option<usize>,
    /// Columns that make curves against the first one, for faces that draw their own charts.
    pub curves: Vec<Curves>,
    /// What the marks mean, and that there are more rows.
    pub legend: Vec<String>,
    /// That columns have no room which are of one kind with those that are there; empty where none is left out.
    pub left_out: String,
}

/// The head of a column and how the column is set.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Head {
    /// What it says; a line break makes it two lines.
    pub lines: String,
    /// What stands over it and over its neighbours that say the same.
    pub spanner: Option<String>,
    /// What it means, as a sentence; empty where the head says it.
    pub note: Option<String>,
    /// Words stand to the left, figures to the right.
    pub words: bool,
    /// Where a terminal has no room the columns with the greatest go first; 0 never.
    pub spare: u8,
    /// Whether it is what people decide by: it stands first where few columns are seen at once.
    pub decides: bool,
    /// Words that may be broken over lines of at least so many characters.
    pub least: Option<usize>,
    /// What it says is not said again in the next rows that say the same.
    pub once: bool,
}

/// Columns of one table that make curves of one chart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Curves {
    /// What they show.
    pub name: String,
    /// What their axis counts.
    pub axis: String,
    /// The columns.
    pub columns: Vec<usize>,
    /// The one that the others are the band of.
    pub main: usize,
}

/// Neighbouring columns under one spanner: the first of them and how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// The first column.
    pub first: usize,
    /// How many columns.
    pub columns: usize,
}

impl Head {
    /// In one line, without what stands over it.
    pub fn own(&self) -> String {
        let lines: Vec<&str> = self.lines.split('\n').map(str::trim).collect();
        lines.join(" ").trim().to_owned()
    }

    /// In one line, with what stands over it.
    pub fn whole(&self) -> String {
        let own = self.own();
        match &self.spanner {
            Some(spanner) if own.is_empty() => spanner.clone(),
            Some(spanner) => format!("{spanner}, {own}"),
            None => own,
        }
    }
}

impl Grid {
    /// The table, each line ending in a line feed, without what explains it; `highlight` is put around the marked row.
    pub fn text(&self, unicode: bool, highlight: Option<(&str, &str)>) -> String {
        let stroke = if unicode { '─' } else { '-' };
        let table = self.set(unicode);
        let mut out = String::new();
        if self.named {
            out.push_str(&format!("{}\n", printable(&self.name)));
        }
        if let Some(line) = self.spanners(&widths(&table), stroke) {
            out.push_str(&format!("{line}\n"));
        }
        let height = |texts: &mut dyn Iterator<Item = &str>| texts.map(|t| t.split('\n').count()).max().unwrap_or(1);
        let mut first = 1 + height(&mut self.heads.iter().map(|head| head.lines.as_str()));
        let mut lit = 0..0;
        for (k, row) in self.rows.iter().enumerate() {
            let lines = height(&mut row.iter().map(|cell| cell.text.as_str()));
            if self.marked == Some(k) {
                lit = first..first + lines;
            }
            first += lines;
        }
        for (number, line) in table.lines().enumerate() {
            let line = line.trim_end();
            match highlight {
                Some((on, off)) if lit.contains(&number) => out.push_str(&format!("{on}{line}{off}\n")),
                _ => out.push_str(&format!("{line}\n")),
            }
        }
        out
    }

    /// Paragraphs that explain it: marks, then the columns that are there.
    pub(crate) fn explained(&self) -> Vec<String> {
        let notes = self.heads.iter().filter_map(|head| head.note.as_deref());
        let notes = each_once(notes.filter(|note| !note.is_empty()));
        let said = [self.legend.join("   "), self.left_out.clone(), notes.join(" ")];
        said.into_iter().filter(|paragraph| !paragraph.is_empty()).collect()
    }

    /// The lines of the table but for its spanners.
    fn set(&self, unicode: bool) -> Table {
        let stroke = if unicode { '─' } else { '-' };
        let rule = LineStyle::none().fill(stroke).junction(stroke);
        let mut table = Table::new();
        table.load_style(TableStyle::new().header_separator(rule).bottom_border(rule));
        let tall = self.heads.iter().map(|head| head.lines.split('\n').count());
        let tall = tall.max().unwrap_or(1);
        let heads = self.heads.iter().enumerate().map(|(k, head)| {
            let lines = head.lines.split('\n').count();
            let text = format!("{}{}", "\n".repeat(tall - lines), lines_printable(&head.lines));
            self.spaced(k, &text)
        });
        table.set_header(heads);
        // Words beside marks keep the place of one.
        let places: Vec<bool> = (0..self.heads.len())
            .map(|k| self.heads[k].words && self.rows.iter().any(|row| row.get(k).is_some_and(|c| c.mark.is_some())))
            .collect();
        for row in &self.rows {
            table.add_row(row.iter().enumerate().map(|(k, cell)| {
                let text = lines_printable(&cell.text);
                let text = match cell.mark {
                    Some(mark) => format!("{} {}", mark.sign(unicode), text.replace('\n', "\n  ")),
                    None if places.get(k) == Some(&true) => format!("  {}", text.replace('\n', "\n  ")),
                    None => text,
                };
                self.spaced(k, &text)
            }));
        }
        for (head, column) in self.heads.iter().zip(table.column_iter_mut()) {
            column.set_cell_alignment(if head.words {
                CellAlignment::Left
            } else {
                CellAlignment::Right
            });
            column.set_padding((1, 0));
        }
        for span in self.spans() {
            let needed = self.heads[span.first]
                .spanner
                .as_ref()
                .map_or(0, |text| text.chars().count());
            let there = inside(&widths(&table), span);
            if let Some(column) = table.column_mut(span.first).filter(|_| needed > there) {
                column.set_padding((u16::try_from(1 + needed - there).unwrap_or(1), 0));
            }
        }
        table
    }

    /// Words after a column of figures keep a further blank from them.
    fn spaced(&self, column: usize, text: &str) -> String {
        let after_figures = column > 0 && self.heads[column].words && !self.heads[column - 1].words;
        if after_figures {
            format!(" {}", text.replace('\n', "\n "))
        } else {
            text.to_owned()
        }
    }

    /// Heads over several columns, each in the middle of a rule over its columns.
    fn spanners(&self, widths: &[usize], stroke: char) -> Option<String> {
        let mut line = String::new();
        for span in self.spans() {
            let text = self.heads[span.first]
                .spanner
                .as_deref()
                .map_or_else(String::new, printable);
            let start: usize = widths[..span.first].iter().sum::<usize>() + before(span);
            let room = inside(widths, span);
            let over = room.saturating_sub(text.chars().count());
            let (before, after) = (over / 2, over - over / 2);
            let rule = |length: usize| stroke.to_string().repeat(length.saturating_sub(1));
            let text = match (before, after) {
                (0 | 1, _) => format!("{}{text}", " ".repeat(over)),
                _ => format!("{} {text} {}", rule(before), rule(after)),
            };
            let gap = start.saturating_sub(line.chars().count());
            line.push_str(&format!("{}{text}", " ".repeat(gap)));
        }
        (!line.is_empty()).then(|| line.trim_end().to_owned())
    }

    /// Neighbouring columns under one spanner.
    pub(crate) fn spans(&self) -> Vec<Span> {
        let mut found: Vec<Span> = Vec::new();
        for (k, head) in self.heads.iter().enumerate().filter(|(_, head)| head.spanner.is_some()) {
            match found.last_mut() {
                Some(last) if last.first + last.columns == k && self.heads[last.first].spanner == head.spanner => {
                    last.columns += 1;
                }
                _ => found.push(Span { first: k, columns: 1 }),
            }
        }
        found
    }

    /// Fitted into so many characters: words are broken over lines as far as they may be, and where that is not enough, columns go
    /// that may.
    pub fn fitted(mut self, room: usize) -> Self {
        let width = |grid: &Self| widths(&grid.set(true)).iter().sum::<usize>();
        let least = |grid: &Self| -> Vec<usize> { grid.heads.iter().map(|h| h.least.unwrap_or(usize::MAX)).collect() };
        while width(&self.broken(&least(&self))) > room {
            let spare = self.heads.iter().enumerate().filter(|(_, head)| head.spare > 0);
            let Some((column, _)) = spare.max_by_key(|(_, head)| head.spare) else {
                break;
            };
            self = self.without(column);
        }
        if width(&self) <= room {
            return self;
        }
        // Of the columns that may, the widest gives way, one character at a time: while there is one, one whose words stay whole.
        let (least, mut limits) = (least(&self), widths(&self.set(true)));
        let whole: Vec<usize> = (0..limits.len()).map(|k| self.longest_part(k)).collect();
        loop {
            let grid = self.broken(&limits);
            let may = (0..limits.len()).filter(|&k| limits[k] > least[k]);
            let widest = may.max_by_key(|&k| (limits[k] > whole[k], limits[k]));
            let Some(widest) = widest.filter(|_| width(&grid) > room) else {
                return grid;
            };
            limits[widest] -= 1;
        }
    }

    /// With words broken over lines of at most so many characters, where they may be.
    fn broken(&self, limits: &[usize]) -> Self {
        let mut grid = self.clone();
        for row in &mut grid.rows {
            for ((cell, head), limit) in row.iter_mut().zip(&self.heads).zip(limits) {
                if head.least.is_some() && *limit < usize::MAX {
                    cell.text = broken(&cell.text, *limit).join("\n");
                }
            }
        }
        grid
    }

    /// Letters of the longest part of a column's words; parts are broken only where there is no other way.
    fn longest_part(&self, column: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.get(column));
        let parts = cells.flat_map(|cell| cell.text.split_inclusive(ENDS_A_PART));
        parts.map(|part| part.trim_end().chars().count()).max().unwrap_or(0)
    }

    fn without(mut self, column: usize) -> Self {
        self.heads.remove(column);
        for row in &mut self.rows {
            row.remove(column);
        }
        for curves in &mut self.curves {
            curves.columns.retain(|k| *k != column);
            let columns = curves.columns.iter_mut().chain([&mut curves.main]);
            columns.filter(|k| **k > column).for_each(|k| *k -= 1);
        }
        self
    }
}

/// Widths of columns with the blanks before them: their padding, and one between two columns.
fn widths(table: &Table) -> Vec<usize> {
    let content = table.column_max_content_widths();
    let columns = table.column_iter().zip(content).enumerate();
    columns
        .map(|(k, (column, content))| usize::from(k > 0) + usize::from(column.padding_width()) + usize::from(content))
        .collect()
}

/// What of neighbouring columns is not blank before the first of them.
fn inside(widths: &[usize], span: Span) -> usize {
    let whole: usize = widths[span.first..span.first + span.columns].iter().sum();
    whole - before(span)
}

/// Blanks between the column before and the first of a span.
fn before(span: Span) -> usize {
    1 + usize::from(span.first > 0)
}

fn lines_printable(text: &str) -> String {
    text.split('\n').map(printable).collect::<Vec<_>>().join("\n")
}

/// Behind these a word may end its line.
const ENDS_A_PART: [char; 4] = [' ', '-', '/', '\n'];

/// Words over lines of at most so many letters: at blanks, in a longer word behind a hyphen, and where it has none at any letter.
fn broken(words: &str, room: usize) -> Vec<String> {
    let set = wrap(&printable(words), room.max(1));
    let mut rest = set.lines();
    let mut lines = Vec::new();
    while let Some(line) = rest.next() {
        let Some((end, _)) = line.char_indices().nth(room.max(1)) else {
            lines.push(line.to_owned());
            continue;
        };
        let end = line[..end].rfind(ENDS_A_PART).map_or(end, |at| at + 1);
        lines.push(line[..end].trim_end().to_owned());
        // What is left of the word goes on with the words behind it.
        let left: Vec<&str> = std::iter::once(&line[end..]).chain(rest).collect();
        lines.extend(broken(&left.join(" "), room));
        break;
    }
    lines
}

/// How far a size is from the nearest of others, on the scale of times as many.
pub(crate) fn apart(size: u32, others: impl Iterator<Item = u32>) -> f64 {
    let each = others.map(|other| libm::log(f64::from(other) / f64::from(size)).abs());
    each.fold(f64::INFINITY, f64::min)
}

/// Rows of a table that has no room for all sizes: those in `must` and both ends, then the sizes where the gaps are widest, up
/// to `rows`. Places in `sizes`, ascending.
pub(crate) fn well_chosen(sizes: &[u32], must: &[u32], rows: usize) -> Vec<usize> {
    if sizes.len() <= rows {
        return (0..sizes.len()).collect();
    }
    let mut chosen: Vec<usize> = vec![0, sizes.len() - 1];
    for place in must.iter().filter_map(|size| sizes.binary_search(size).ok()) {
        if !chosen.contains(&place) && chosen.len() < rows {
            chosen.push(place);
        }
    }
    while chosen.len() < rows {
        // As far as can be from all that are there; of equals, the smallest.
        let gap = |place: usize| apart(sizes[place], chosen.iter().map(|&c| sizes[c]));
        let mut widest: Option<(usize, f64)> = None;
        for place in (0..sizes.len()).filter(|place| !chosen.contains(place)) {
            if widest.is_none_or(|(_, most)| gap(place) > most) {
                widest = Some((place, gap(place)));
            }
        }
        let Some((place, _)) = widest else { break };
        chosen.push(place);
    }
    chosen.sort_unstable();
    chosen
}

/// Sizes in words, neighbours among those looked at joined: "anything from 13 to 16", or "11" and "13 to 16"; where those are many, as "some sizes".
pub fn stretches(sizes: &[u32], all: &[u32]) -> Vec<String> {
    let place = |size: u32| all.binary_search(&size).ok();
    let is_next = |a: &u32, b: &u32| place(*a).zip(place(*b)).is_some_and(|(a, b)| b == a + 1);
    let count = |size: &u32| super::format::count(u64::from(*size));
    let ends = |stretch: &[u32]| Some((count(stretch.first()?), count(stretch.last()?)));
    let found: Vec<&[u32]> = sizes.chunk_by(is_next).collect();
    match (found.as_slice(), ends(sizes)) {
        ([[_, _, _, ..]], Some((first, last))) => vec![format!("anything from {first} to {last}")],
        ([_, _, _, _, ..], Some((first, last))) => vec![format!("some sizes from {first} to {last}")],
        _ => found
            .iter()
            .flat_map(|stretch| match (stretch, ends(stretch)) {
                ([_, _, _, ..], Some((first, last))) => vec![format!("{first} to {last}")],
                _ => stretch.iter().map(count).collect(),
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::figure::{self, Mark};

    fn head(lines: &str, spanner: Option<&str>) -> Head {
        Head {
            lines: lines.to_owned(),
            spanner: spanner.map(str::to_owned),
            ..Head::default()
        }
    }

    /// A table of sizes and what an hour earns in one batch of ten and in half of them.
    fn small() -> Grid {
        let earns = Some("earns EUR");
        let mut heads = vec![
            head("size", None),
            head("10 %", earns),
            head("50 %", earns),
            head("sold\nwhere", None),
        ];
        heads[2].spare = 1;
        heads[3].words = true;
        heads[3].least = Some(4);
        Grid {
            heads,
            rows: vec![vec![
                Cell {
                    mark: Some(Mark::Best),
                    ..figure::count(12)
                },
                figure::amount(8.5, "EUR"),
                figure::amount(9.25, "EUR"),
                "shop in town".into(),
            ]],
            ..Grid::default()
        }
    }

    #[test]
    fn heads_are_read_alone_or_with_what_stands_over_them() {
        let grid = small();
        let whole: Vec<String> = grid.heads.iter().map(Head::whole).collect();
        assert_eq!(whole, ["size", "earns EUR, 10 %", "earns EUR, 50 %", "sold where"]);
        assert_eq!(grid.heads[2].own(), "50 %");
        assert_eq!(grid.spans(), [Span { first: 1, columns: 2 }]);
    }

    #[test]
    fn a_spanner_stands_over_its_columns_and_words_stand_to_the_left() {
        let text = small().text(false, None);
        let expected = "        earns EUR
                    sold
 size  10 %  50 %   where
--------------------------------
 ^ 12  8.50  9.25   shop in town
--------------------------------
";
        assert_eq!(text, expected);
    }

    #[test]
    fn where_there_is_no_room_words_are_broken_and_then_columns_go() {
        let text = |room| small().fitted(room).text(true, None);
        let widest = |text: &str| text.lines().map(|line| line.chars().count()).max();
        for room in [40, 32, 31, 25, 24] {
            let text = text(room);
            assert!(widest(&text) <= Some(room), "{room}\n{text}");
            assert_eq!(text.contains("50 %"), room >= 25, "{room}\n{text}");
            assert_eq!(text.contains("shop in town"), room >= 32, "{room}\n{text}");
        }
        let broken = text(25);
        assert!(
            broken.contains("shop\n") && broken.contains("in\n") && broken.contains("town\n"),
            "{broken}"
        );
    }

    #[test]
    fn words_are_broken_at_blanks_and_hyphens_first() {
        let set = |words, room| broken(words, room).join("|");
        assert_eq!(set("Hand-stitched card wallet", 13), "Hand-stitched|card wallet");
        assert_eq!(set("Hand-stitched card wallet", 12), "Hand-|stitched|card wallet");
        assert_eq!(set("Hand-stitched card", 8), "Hand-|stitched|card");
        assert_eq!(set("unhyphenated set of six", 9), "unhyphena|ted set|of six");
        assert_eq!(set("", 9), "");
        // Of two columns that may give way, the one gives that leaves words whole, though the other is wider.
        let column = |least| Head {
            words: true,
            least: Some(least),
            ..Head::default()
        };
        let grid = Grid {
            heads: vec![column(4), column(4)],
            rows: vec![vec!["Hand-unstitchable".into(), "one of each of".into()]],
            ..Grid::default()
        };
        let text = grid.fitted(22).text(true, None);
        assert!(text.contains("unstitchable") && text.contains("Hand-"), "{text}");
    }

    #[test]
    fn the_marked_row_is_lit_on_all_its_lines() {
        let mut grid = small();
        grid.marked = Some(0);
        let text = grid.fitted(25).text(true, Some(("<", ">")));
        assert_eq!(text.lines().filter(|line| line.starts_with('<')).count(), 3, "{text}");
    }

    #[test]
    fn what_is_not_shown_is_not_explained() {
        let mut grid = small();
        grid.legend = vec!["^ pays".to_owned()];
        grid.heads[1].note = Some("10 %: less.".to_owned());
        grid.heads[2].note = Some("50 %: half.".to_owned());
        assert_eq!(grid.explained(), ["^ pays", "10 %: less. 50 %: half."]);
        assert_eq!(grid.without(2).explained(), ["^ pays", "10 %: less."]);
    }

    #[test]
    fn rows_hold_what_they_must_and_the_ends() {
        let sizes: Vec<u32> = (1..=40).collect();
        let rows = well_chosen(&sizes, &[13, 14, 15, 99], 9);
        assert_eq!(rows.len(), 9);
        for place in [0, 12, 13, 14, 39] {
            assert!(rows.contains(&place), "{rows:?}");
        }
        assert!(rows.is_sorted());
        assert_eq!(well_chosen(&[4, 9], &[4], 9), [0, 1]);
    }

    #[test]
    fn stretches_in_words() {
        let all: Vec<u32> = (1..=9).map(|k| 2 * k).collect();
        assert_eq!(stretches(&[4, 6, 8], &all), ["anything from 4 to 8"]);
        assert_eq!(stretches(&[4, 8], &all), ["4", "8"]);
        assert_eq!(stretches(&[4], &all), ["4"]);
        let all: Vec<u32> = (1..=20).collect();
        assert_eq!(stretches(&[2, 3, 7, 8, 9], &all), ["2", "3", "7 to 9"]);
        assert_eq!(stretches(&[2, 5, 9, 11, 20], &all), ["some sizes from 2 to 20"]);
    }
}
