//! A table: heads, rows, a row that matters most. Its text for a terminal is made here; pages and workbooks read its cells.

use comfy_table::{CellAlignment, LineStyle, Table, TableStyle};

use super::figure::Cell;

/// What stands in a table.
#[derive(Debug, Clone, Default)]
pub struct Grid {
    /// What it holds, for faces that name their tables.
    pub name: String,
    /// Whether a terminal is told the name as well, on a line above.
    pub named: bool,
    /// One head a column; a line break makes it two lines. All have the same number of lines.
    pub heads: Vec<String>,
    /// Heads over several columns: in a terminal their first lines are read across, elsewhere this stands over them.
    pub across: Vec<Across>,
    /// Rows of cells.
    pub rows: Vec<Vec<Cell>>,
    /// So many columns from the left hold words and stand to the left; figures stand to the right.
    pub left: usize,
    /// Whether the last column holds words too.
    pub words_last: bool,
    /// The row that matters most.
    pub marked: Option<usize>,
    /// Columns that make curves against the first one, for faces that draw their own charts.
    pub curves: Vec<Curves>,
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

/// A head over several columns, whose own heads are then the last lines of theirs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Across {
    /// The first of them.
    pub first: usize,
    /// How many.
    pub columns: usize,
    /// What it says.
    pub head: String,
}

impl Across {
    /// A head over `columns` columns from `first` on.
    #[must_use]
    pub fn new(first: usize, columns: usize, head: impl Into<String>) -> Self {
        Self {
            first,
            columns,
            head: head.into(),
        }
    }
}

impl Grid {
    /// The table, each line ending in a line feed; `highlight` is put around the marked row.
    #[must_use]
    pub fn text(&self, unicode: bool, highlight: Option<(&str, &str)>) -> String {
        let mut table = Table::new();
        let stroke = if unicode { '─' } else { '-' };
        let rule = LineStyle::none().fill(stroke).junction(stroke);
        table.load_style(TableStyle::new().header_separator(rule).bottom_border(rule));
        let last = self.heads.len().saturating_sub(1);
        // Words after a column of figures keep a further blank from them.
        let spaced = |number: usize, text: &str| {
            if self.words_last && number == last {
                format!(" {}", text.replace('\n', "\n "))
            } else {
                text.to_owned()
            }
        };
        table.set_header(self.heads.iter().enumerate().map(|(k, head)| spaced(k, head)));
        for row in &self.rows {
            table.add_row(row.iter().enumerate().map(|(k, cell)| spaced(k, &cell.text)));
        }
        for (number, column) in table.column_iter_mut().enumerate() {
            column.set_cell_alignment(if self.is_words(number) {
                CellAlignment::Left
            } else {
                CellAlignment::Right
            });
            column.set_padding((1, 0));
        }
        // The lines of the heads and the rule under them.
        let head_lines = 1 + self.heads.first().map_or(1, |head| head.split('\n').count());
        let mut out = String::new();
        if self.named {
            out.push_str(&format!("{}\n", self.name));
        }
        for (number, line) in table.lines().enumerate() {
            let line = line.trim_end();
            match highlight {
                Some((on, off)) if Some(number) == self.marked.map(|row| row + head_lines) => {
                    out.push_str(&format!("{on}{line}{off}\n"));
                }
                _ => {
                    out.push_str(line);
                    out.push('\n');
                }
            }
        }
        out
    }

    /// Whether a column holds words.
    #[must_use]
    pub fn is_words(&self, column: usize) -> bool {
        column < self.left || (self.words_last && column + 1 == self.heads.len())
    }

    /// A column's head in one line, with what stands over it.
    #[must_use]
    pub fn whole_head(&self, column: usize) -> String {
        let own = self.own_head(column);
        match self.over(column) {
            Some(across) if own.is_empty() => across.head.clone(),
            Some(across) => format!("{}, {own}", across.head),
            None => own,
        }
    }

    /// A column's head in one line, without what stands over it.
    #[must_use]
    pub fn own_head(&self, column: usize) -> String {
        let head = self.heads.get(column).map_or("", String::as_str);
        if self.over(column).is_some() {
            return head.lines().next_back().unwrap_or_default().trim().to_owned();
        }
        head.split('\n')
            .map(str::trim)
            .collect::<Vec<_>>()
            .join(" ")
            .trim()
            .to_owned()
    }

    /// The head over a column.
    #[must_use]
    pub fn over(&self, column: usize) -> Option<&Across> {
        self.across
            .iter()
            .find(|a| (a.first..a.first + a.columns).contains(&column))
    }
}

/// Rows of a table that has no room for all sizes: those in `must` and both ends, then the sizes where the gaps are widest, up
/// to `rows`. Places in `sizes`, ascending.
#[must_use]
pub fn well_chosen(sizes: &[u32], must: &[u32], rows: usize) -> Vec<usize> {
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
        // As far as can be from all that are there, on the scale of times as many; of equals, the smallest.
        let gap = |place: usize| {
            let apart = chosen
                .iter()
                .map(|&c| libm::log(f64::from(sizes[c]) / f64::from(sizes[place])).abs());
            apart.fold(f64::INFINITY, f64::min)
        };
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

/// Sizes in words: "any from 13 to 16", or "11, 13-16".
#[must_use]
pub fn stretch_of(sizes: &[u32], all: &[u32]) -> String {
    let place = |size: u32| all.binary_search(&size).ok();
    let is_next = |a: u32, b: u32| place(a).zip(place(b)).is_some_and(|(a, b)| b == a + 1);
    match sizes {
        [first, _, .., last] if sizes.windows(2).all(|w| is_next(w[0], w[1])) => {
            let count = |size: &u32| super::format::count(u64::from(*size));
            format!("anything from {} to {}", count(first), count(last))
        }
        _ => super::format::size_list(sizes, is_next),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::figure;

    /// A table of sizes and what an hour earns at one run in ten and in half of them.
    fn small() -> Grid {
        Grid {
            heads: ["\nsize", "an hour\n10 %", "earns\n50 %", "\nwhere"]
                .map(String::from)
                .to_vec(),
            across: vec![Across::new(1, 2, "an hour earns EUR")],
            rows: vec![vec![
                figure::count(12),
                figure::amount(8.5, "EUR"),
                figure::amount(9.25, "EUR"),
                "shop".into(),
            ]],
            words_last: true,
            ..Grid::default()
        }
    }

    #[test]
    fn heads_are_read_alone_or_across() {
        let grid = small();
        assert_eq!(grid.whole_head(0), "size");
        assert_eq!(grid.whole_head(1), "an hour earns EUR, 10 %");
        assert_eq!(grid.own_head(2), "50 %");
        assert_eq!(grid.whole_head(3), "where");
        assert_eq!([0, 1, 2, 3].map(|k| grid.is_words(k)), [false, false, false, true]);
    }

    #[test]
    fn words_last_stand_to_the_left_with_a_gap() {
        let text = small().text(false, None);
        assert_eq!(
            text,
            "       an hour  earns\n size     10 %   50 %   where\n-----------------------------\n   12     8.50   9.25   shop\n\
             -----------------------------\n"
        );
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
        assert_eq!(stretch_of(&[4, 6, 8], &all), "anything from 4 to 8");
        assert_eq!(stretch_of(&[4, 8], &all), "4, 8");
        assert_eq!(stretch_of(&[4], &all), "4");
    }
}
