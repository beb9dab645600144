//! Named rows over one level axis: names to the left, a figure at the right end of each row.

use super::labels::Rect;
use super::lettering;
use super::names::{FOLD, Name, tops};
use super::page::{GUTTER, NAME_LINE, Page, TICK};
use crate::render::plot::palette::{AXIS, Color, GRID, WHITE};
use crate::render::plot::{EndLabel, LABEL, Line, Panel, RowLayer, RowShape, Side};
use plotters::style::text_anchor::VPos;

/// What letters above a narrow row keep to a line below them: room for the tails of some.
const BELOW_NAME: f64 = 4.0;

/// Draws a panel of named rows.
pub(super) fn draw(page: &Page, bounds: Rect, panel: &Panel, names: &[String], layers: &[RowLayer]) {
    let key = page.heading(bounds, "", panel);
    let names = page.paper.row_names(panel, names);
    let (tops, tall) = tops(&names, bounds);
    let mut rows = Rows {
        page,
        bounds,
        panel,
        tops,
        tall,
        key,
        has_cells: false,
        brief: false,
        bare: false,
        brief_figures: page.paper.narrow,
    };
    let wide = rows.x(1.0) - rows.x(0.0) - 8.0;
    for layer in layers {
        if let RowShape::Cell { text, brief, .. } = &layer.shape {
            let fits = |text: &str| lettering::width(text, LABEL) <= wide;
            rows.has_cells = true;
            rows.brief |= !fits(text);
            rows.bare |= !fits(brief);
        }
        if let RowShape::Figure { text, letters, .. } = &layer.shape {
            rows.brief_figures |= lettering::width(text, *letters) > rows.beside();
        }
    }
    rows.ground(&names);
    for layer in layers {
        rows.layer(layer);
    }
    if panel.named {
        page.name_axis(bounds, &panel.axis.label());
    }
}

struct Rows<'p> {
    page: &'p Page,
    bounds: Rect,
    panel: &'p Panel,
    /// Where each row begins, and the last one ends.
    tops: Vec<f64>,
    /// Height of a row whose name is in one line; bars of all rows are as thick.
    tall: f64,
    /// Where a key begins that stands above the panel.
    key: f64,
    has_cells: bool,
    /// Whether figures in cells are brief, as one of them has no room, or there are none, as one that is brief has none either; and
    /// whether those beside the rows are brief.
    brief: bool,
    bare: bool,
    brief_figures: bool,
}

impl Rows<'_> {
    /// Grid, ticks and names.
    fn ground(&self, names: &[Name]) {
        let (page, b, ticks) = (self.page, self.bounds, &self.panel.axis.ticks);
        for (x, (value, text)) in page.with_room(ticks, |value| self.x(value)) {
            let crisp = self.x(*value).floor() + 0.5;
            let color = if *value == 0.0 { AXIS } else { GRID };
            if !self.has_cells {
                self.upright(crisp, &Line::solid(color, 1.0));
            }
            page.text((x, b.y1 + 10.0), text, TICK, Side::Center, VPos::Top);
        }
        let base = b.y1.floor() + 0.5;
        page.path(&[(b.x0, base), (b.x1, base)], &Line::solid(AXIS, 1.0));
        for (row, name) in names.iter().enumerate() {
            let (x, middle, side) = if page.paper.names_above {
                (page.paper.margin, self.name_at(row), Side::Left)
            } else {
                (b.x0 - 10.0, self.middle(row), Side::Right)
            };
            let first = middle - FOLD * (name.lines.len() - 1) as f64 / 2.0;
            for (k, line) in name.lines.iter().enumerate() {
                let y = first + FOLD * k as f64;
                page.text((x, y), line, name.letters, side, VPos::Center);
            }
        }
    }

    fn layer(&self, layer: &RowLayer) {
        let row = layer.row;
        match &layer.shape {
            RowShape::Bar { from, to, thick, color } => {
                let (a, b) = (self.x(*from), self.x(*to));
                if (b - a).abs() < 0.05 {
                    return;
                }
                self.beyond(row, 0.0, &[*from, *to], *color);
                let (middle, half) = (self.y(row, 0.0), self.half(*thick));
                let bar = Rect::new((a.min(b), middle - half), (a.max(b), middle + half));
                self.page.rect(bar, *color, 1.0)
            }
            RowShape::Whisker { from, to, off, line } => {
                let y = self.y(row, *off);
                self.beyond(row, *off, &[*from, *to], line.color);
                self.page.path(&[(self.x(*from), y), (self.x(*to), y)], line)
            }
            RowShape::Dot { at, radius, color } => {
                if !self.shows(*at) {
                    return self.beyond(row, 0.0, &[*at], *color);
                }
                let centre = (self.x(*at), self.y(row, 0.0));
                self.page.disc(centre, radius + 1.5, WHITE);
                self.page.disc(centre, *radius, *color)
            }
            RowShape::Figure { brief, letters, .. } if self.page.paper.names_above => {
                let paper = self.page.paper;
                let text = lettering::shorten(brief, *letters, paper.width * 0.38);
                let at = (paper.width - paper.margin, self.name_at(row));
                self.page.text(at, &text, *letters, Side::Right, VPos::Center)
            }
            RowShape::Figure { text, brief, letters } => {
                let text = if self.brief_figures { brief } else { text };
                let text = lettering::shorten(text, *letters, self.beside());
                let at = (self.bounds.x1 + GUTTER, self.y(row, 0.0));
                self.page.text(at, &text, *letters, Side::Left, VPos::Center)
            }
            RowShape::Cell {
                at,
                text,
                brief,
                shade,
                letters,
            } => {
                let text = match (self.bare, self.brief) {
                    (true, _) => "",
                    (false, true) => brief,
                    (false, false) => text,
                };
                self.cell(row, *at, text, (*shade, *letters))
            }
            RowShape::Keys(keys) => self.keys(keys),
            RowShape::Upright { at, line } if self.shows(*at) => self.upright(self.x(*at), line),
            RowShape::Upright { .. } => {}
        }
    }

    /// A line through all rows, which leaves out the names and figures that stand above them.
    fn upright(&self, x: f64, line: &Line) {
        if !self.page.paper.names_above {
            return self.page.path(&[(x, self.bounds.y0), (x, self.bounds.y1)], line);
        }
        for row in 0..self.tops.len() - 1 {
            let (y0, y1) = self.below_name(row);
            self.page.path(&[(x, y0 + BELOW_NAME), (x, y1)], line);
        }
    }

    /// An arrow head outside of each end that some of the values lie beyond.
    fn beyond(&self, row: usize, off: f64, values: &[f64], color: Color) {
        let (scale, b, y) = (self.panel.axis.scale, self.bounds, self.y(row, off));
        let arrow = |x: f64, tip: f64| self.page.fill(&[(x + tip, y), (x, y - 4.5), (x, y + 4.5)], color);
        if values.iter().any(|v| *v > scale.high) {
            arrow(b.x1 + 2.0, 7.0);
        }
        if values.iter().any(|v| *v < scale.low) {
            arrow(b.x0 - 2.0, -7.0);
        }
    }

    /// A shaded box around a place of the axis, with its figure.
    fn cell(&self, row: usize, at: f64, text: &str, (shade, letters): (Color, Color)) {
        let (y0, y1) = self.below_name(row);
        let place = Rect::new((self.x(at - 0.5), y0), (self.x(at + 0.5), y1));
        self.page.rect(place.grown(-1.0), shade, 1.0);
        let centre = ((place.x0 + place.x1) / 2.0, self.middle(row));
        self.page
            .text(centre, text, LABEL.of(letters), Side::Center, VPos::Center)
    }

    /// What shades mean, beside the rows or above them.
    fn keys(&self, keys: &[EndLabel]) {
        let paper = self.page.paper;
        if paper.narrow {
            return self.page.keys_above(keys, self.key, paper.keys_a_line(self.panel));
        }
        let left = self.bounds.x1 + GUTTER + 8.0;
        for (k, key) in keys.iter().enumerate() {
            let y = self.bounds.y0 + 12.0 + 26.0 * k as f64;
            self.page.end_label(key, (left, y), paper.width - 12.0);
        }
    }

    /// Room for a figure to the right of its row.
    fn beside(&self) -> f64 {
        let paper = self.page.paper;
        paper.width - paper.margin.min(GUTTER) - self.bounds.x1 - GUTTER
    }

    fn shows(&self, value: f64) -> bool {
        self.panel.axis.scale.holds(value)
    }

    /// Place of a value; values beyond the axis are taken to its nearer end.
    fn x(&self, value: f64) -> f64 {
        let scale = self.panel.axis.scale;
        let share = scale.share(value.clamp(scale.low, scale.high));
        self.bounds.x0 + (self.bounds.x1 - self.bounds.x0) * share
    }

    /// A height within a row, from -1 (top) to 1 (foot) of one whose name is in one line.
    fn y(&self, row: usize, off: f64) -> f64 {
        self.middle(row) + self.half(1.0) * off
    }

    /// Upper and lower end of what is drawn of a row, without the name above it.
    fn below_name(&self, row: usize) -> (f64, f64) {
        let names = if self.page.paper.names_above { NAME_LINE } else { 0.0 };
        (self.top(row) + names, self.top(row + 1))
    }

    /// The middle of that.
    fn middle(&self, row: usize) -> f64 {
        let (y0, y1) = self.below_name(row);
        (y0 + y1) / 2.0
    }

    /// Half a bar's thickness, as a share of what a row can hold.
    fn half(&self, share: f64) -> f64 {
        let names = if self.page.paper.names_above { NAME_LINE } else { 0.0 };
        (self.tall - names) / 2.0 * share
    }

    /// The middle of the line above a narrow row, in which its name stands.
    fn name_at(&self, row: usize) -> f64 {
        self.top(row) + NAME_LINE / 2.0 + 2.0
    }

    fn top(&self, row: usize) -> f64 {
        self.tops.get(row).copied().unwrap_or(self.bounds.y1)
    }
}
