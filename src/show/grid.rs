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
