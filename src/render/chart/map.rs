//! A map: a grid of cells, columns from left to right, rows from the foot upwards.

use super::labels::Rect;
use super::lettering;
use super::page::{GUTTER, Page, TICK};
use crate::render::plot::palette::{AXIS, INK, WHITE};
use crate::render::plot::{Cell, LABEL, Line, Map, Panel, STRONG, Side};
use plotters::style::text_anchor::VPos;

const BORDER: Line = Line::solid(INK, 3.4);
const HALO: Line = Line::solid(WHITE, 7.0);
/// Around the file's own cell, inside of its edges.
const RING: Line = Line::solid(INK, 1.6);
const RING_HALO: Line = Line::solid(WHITE, 4.4);
const INSET: f64 = 4.0;

/// Draws a map: its cells, their figures, the line between those on one side and on the other, what shades mean.
pub(super) fn draw(page: &Page, bounds: Rect, panel: &Panel, map: &Map) {
    page.heading(bounds, "", panel);
    let cells = Cells::new(page, bounds, map);
    cells.names();
    for cell in &map.cells {
        // Under the cells that are drawn after it, so that no ground shows through a seam at any size.
        let r = cells.place(cell.at);
        let (x1, y0) = ((r.x1 + 1.0).min(cells.bounds.x1), (r.y0 - 1.0).max(cells.bounds.y0));
        page.rect(Rect { x1, y0, ..r }, cell.shade, 1.0);
    }
    for cell in &map.cells {
        cells.figure(cell);
    }
    let has_line = cells.line();
    if let Some(own) = map.own {
        let r = cells.place(own);
        cells.ring(r.grown(-INSET.min((r.x1 - r.x0) / 4.0).min((r.y1 - r.y0) / 4.0)));
    }
    cells.legend(has_line);
    page.name_axis(cells.bounds, &panel.axis.name)
}

/// Where each cell lies.
pub(super) fn places<'m>(page: &Page, bounds: Rect, map: &'m Map) -> Vec<(&'m Cell, Rect)> {
    let cells = Cells::new(page, bounds, map);
    map.cells.iter().map(|cell| (cell, cells.place(cell.at))).collect()
}

fn widest(names: &[String]) -> f64 {
    let widths = names.iter().map(|n| lettering::width(n, TICK));
    widths.fold(0.0, f64::max)
}

struct Cells<'p> {
    page: &'p Page,
    bounds: Rect,
    map: &'p Map,
    /// Which figures stand in the cells: in all or in none.
    figures: Option<Figure>,
}

/// What stands in a cell.
type Figure = fn(&Cell) -> Option<&str>;
/// Whole figures, and brief ones where those have no room.
const FIGURES: [Figure; 2] = [|cell| Some(&cell.figure), |cell| cell.brief.as_deref()];

impl<'p> Cells<'p> {
    fn new(page: &'p Page, bounds: Rect, map: &'p Map) -> Self {
        // Long names of rows need more room than figures do.
        let left = (page.paper.margin + widest(&map.rows).min(200.0) + 12.0).max(bounds.x0);
        let mut cells = Self {
            page,
            bounds: Rect { x0: left, ..bounds },
            map,
            figures: None,
        };
        cells.figures = FIGURES.into_iter().find(|figure| cells.have_room(*figure));
        cells
    }

    /// The names of columns and rows, as many as have room; the file's own among them.
    fn names(&self) {
        let b = self.bounds;
        let (wide, tall) = self.cell_size();
        let every = ((widest(&self.map.columns).min(240.0) + 10.0) / wide).ceil().max(1.0) as usize;
        let (own_column, own_row) = self.map.own.unwrap_or_default();
        let columns = self.map.columns.iter().enumerate();
        for (column, name) in columns.skip(own_column % every).step_by(every) {
            let name = lettering::shorten(name, TICK, 240.0);
            let x = b.x0 + wide * (column as f64 + 0.5);
            self.page.text((x, b.y1 + 10.0), &name, TICK, Side::Center, VPos::Top);
        }
        let every = (18.0 / tall).ceil().max(1.0) as usize;
        for (row, name) in self.map.rows.iter().enumerate().skip(own_row % every).step_by(every) {
            let name = lettering::shorten(name, TICK, 200.0);
            let y = b.y1 - tall * (row as f64 + 0.5);
            self.page.text((b.x0 - 10.0, y), &name, TICK, Side::Right, VPos::Center);
        }
    }

    fn cell_size(&self) -> (f64, f64) {
        let b = self.bounds;
        let (columns, rows) = (self.map.columns.len().max(1), self.map.rows.len().max(1));
        ((b.x1 - b.x0) / columns as f64, (b.y1 - b.y0) / rows as f64)
    }

    fn place(&self, (column, row): (usize, usize)) -> Rect {
        let (wide, tall) = self.cell_size();
        let (x, y) = (
            self.bounds.x0 + wide * column as f64,
            self.bounds.y1 - tall * row as f64,
        );
        Rect::new((x, y - tall), (x + wide, y))
    }

    /// Whether every figure has room in its cell. Some figures among hundreds of empty cells would look like those that matter.
    fn have_room(&self, figure: Figure) -> bool {
        let (wide, tall) = self.cell_size();
        let fits = |text: &str| lettering::width(text, STRONG) + 8.0 <= wide;
        tall >= 18.0 && self.map.cells.iter().all(|cell| figure(cell).is_some_and(fits))
    }

    /// Writes a figure into its cell; where figures have no room a bold one leaves a dot.
    fn figure(&self, cell: &Cell) {
        let letters = if cell.inside { STRONG } else { LABEL }.of(cell.letters);
        let r = self.place(cell.at);
        let centre = ((r.x0 + r.x1) / 2.0, (r.y0 + r.y1) / 2.0);
        match self.figures.and_then(|figure| figure(cell)) {
            Some(text) => self.page.text(centre, text, letters, Side::Center, VPos::Center),
            None if cell.inside => self.page.disc(centre, 2.2, cell.letters),
            None => {}
        }
    }

    /// The line between cells on one side and on the other, bright around so that it shows on every shade; whether there is one.
    fn line(&self) -> bool {
        let wide = self.map.columns.len();
        let mut edges = Vec::new();
        for (i, cell) in self.map.cells.iter().enumerate() {
            let differs = |j: usize| self.map.cells.get(j).is_some_and(|c| c.inside != cell.inside);
            let (at, r) = ((i % wide, i / wide), self.place((i % wide, i / wide)));
            if at.0 + 1 < wide && differs(i + 1) {
                edges.push([(r.x1, r.y0), (r.x1, r.y1)]);
            }
            if differs(i + wide) {
                edges.push([(r.x0, r.y0), (r.x1, r.y0)]);
            }
        }
        for line in [HALO, BORDER] {
            edges.iter().for_each(|edge| self.page.path(edge, &line));
        }
        !edges.is_empty()
    }

    /// A ring that shows on every shade.
    fn ring(&self, r: Rect) {
        let around = [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1), (r.x0, r.y0)];
        self.page.path(&around, &RING_HALO);
        self.page.path(&around, &RING)
    }

    /// To the right of the map: what the shades mean, then the line and what that means, then the file's own cell.
    fn legend(&self, has_line: bool) {
        let x = self.bounds.x1 + GUTTER + 8.0;
        let mut y = self.bounds.y0 + 10.0;
        let swatch = |y: f64| Rect::new((x, y - 9.0), (x + 26.0, y + 9.0));
        for (color, text) in &self.map.shades {
            self.page.rect(swatch(y).grown(1.0), AXIS, 1.0);
            self.page.rect(swatch(y), *color, 1.0);
            self.page.text((x + 36.0, y), text, LABEL, Side::Left, VPos::Center);
            y += 24.0;
        }
        y += 18.0;
        if has_line {
            self.page.path(&[(x, y), (x + 26.0, y)], &BORDER);
        }
        for text in &self.map.said {
            self.page.text((x + 36.0, y), text, LABEL, Side::Left, VPos::Center);
            y += 20.0;
        }
        y += 18.0;
        let own: &[&str] = if self.map.own.is_some() {
            self.ring(swatch(y));
            &["as your file has it"]
        } else {
            &["your file's own pair", "is not among these"]
        };
        for text in own {
            self.page.text((x + 36.0, y), text, LABEL, Side::Left, VPos::Center);
            y += 20.0;
        }
    }
}
