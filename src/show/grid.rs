//! A plain table for a terminal: heads, a rule, rows, a rule.

use comfy_table::{CellAlignment, LineStyle, Table, TableStyle};

/// What stands in a table.
#[derive(Debug, Clone, Default)]
pub struct Grid {
    /// One head a column; a line break makes it two lines. All have the same number of lines.
    pub heads: Vec<String>,
    /// Rows of cells.
    pub rows: Vec<Vec<String>>,
    /// So many columns from the left hold words and stand to the left; figures stand to the right.
    pub left: usize,
    /// The row that matters most.
    pub marked: Option<usize>,
}

impl Grid {
    /// The table, each line ending in a line feed; `highlight` is put around the marked row.
    #[must_use]
    pub fn text(&self, unicode: bool, highlight: Option<(&str, &str)>) -> String {
        let mut table = Table::new();
        let stroke = if unicode { '─' } else { '-' };
        let rule = LineStyle::none().fill(stroke).junction(stroke);
        table.load_style(TableStyle::new().header_separator(rule).bottom_border(rule));
        table.set_header(self.heads.clone());
        for row in &self.rows {
            table.add_row(row.clone());
        }
        for (number, column) in table.column_iter_mut().enumerate() {
            column.set_cell_alignment(if number < self.left {
                CellAlignment::Left
            } else {
                CellAlignment::Right
            });
            column.set_padding((1, 0));
        }
        // The lines of the heads and the rule under them.
        let head_lines = 1 + self.heads.first().map_or(1, |head| head.split('\n').count());
        let mut out = String::new();
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
                .map(|&c| (f64::from(sizes[c]) / f64::from(sizes[place])).ln().abs());
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
