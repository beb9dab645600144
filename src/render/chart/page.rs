//! A page: head and foot, boxes for its panels, and the strokes everything is made of. Lengths are pixels of the page, y
//! downwards.

use super::canvas::{Canvas, UNIT};
use super::labels::{self, Rect};
use super::lettering;
use super::names::{self, Name};
use crate::render::format;
use crate::render::plot::palette::{Color, INK, MUTED};
use crate::render::plot::ticks;
use crate::render::plot::{
    EndLabel, Field, Key, LABEL, Letters, Line, Panel, Plot, RowShape, STRONG, Side, Weight, minus,
};
use plotters::coord::{CoordTranslate, Shift};
use plotters::prelude::*;
use plotters::style::Color as _;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::convert::Infallible;
use std::rc::Rc;

pub(super) const GUTTER: f64 = 12.0;
/// Narrower than this there is no room for labels beside a plot, in pixels.
const NARROW: f64 = 680.0;
/// Height of a line of names above a narrow row, and of a line of a key above a narrow panel.
pub(super) const NAME_LINE: f64 = 20.0;

/// Room for a piece of a line, or its colour, before its name.
const KEY_WIDE: f64 = 28.0;

/// What is drawn on, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Paper {
    pub(super) width: f64,
    pub(super) margin: f64,
    /// The plots' left and right ends; to the right of them stand the labels of line ends.
    plot: (f64, f64),
    /// Whether head and foot stand on it.
    whole: bool,
    /// Whether labels stand above, as there is no room beside.
    pub(super) narrow: bool,
    /// Whether names of rows stand above them; figures are brief then.
    pub(super) names_above: bool,
}

impl Paper {
    /// A sheet of its own, 1000 pixels wide: no wider, so that the letters of a chart that is as wide as a printed page are 7 pt high at
    /// the least.
    pub(super) const SHEET: Self = Self {
        width: 1000.0,
        margin: 32.0,
        plot: (88.0, 736.0),
        whole: true,
        narrow: false,
        names_above: false,
    };

    /// A part of a page that says what the chart is about itself.
    pub(super) fn part(width: u32, plot: &Plot) -> Self {
        let width = f64::from(width).clamp(280.0, 1200.0);
        // The cells of a map have a legend beside them in any case.
        let maps = plot.panels.iter().any(|panel| matches!(panel.field, Field::Map(_)));
        let width = if maps { width.max(NARROW) } else { width };
        let narrow = width < NARROW;
        Self {
            width,
            margin: 2.0,
            plot: if narrow {
                (50.0, width - 10.0)
            } else {
                (58.0, width - 252.0)
            },
            whole: false,
            narrow,
            names_above: narrow,
        }
    }

    /// A column of a printed page. Names of rows have room beside them there, and lines are saved.
    pub(super) fn column(width: u32, plot: &Plot) -> Self {
        Self {
            names_above: false,
            ..Self::part(width, plot)
        }
    }

    /// With a little less room for the plots where labels beside them are long or figures along upright axes are, as of very large sums.
    fn beside(self, plot: &Plot, figures: &BTreeMap<String, f64>) -> Self {
        let left = self.plot.0.max(self.upright_figures(plot) + 11.0);
        if self.narrow {
            return Self {
                plot: (left, self.plot.1),
                ..self
            };
        }
        let label = |(name, figure): (&String, &f64)| KEY_WIDE + lettering::width(name, LABEL) + 6.0 + figure;
        let most = figures.iter().map(label).fold(0.0, f64::max);
        // A pixel more, as sums of widths are rounded: the longest must not be cut for it.
        let right = self.width - 12.0 - GUTTER - 8.0 - most - 1.0;
        Self {
            plot: (left, right.clamp(self.plot.1 - 120.0, self.plot.1)),
            ..self
        }
    }

    /// The widest figure along an upright axis.
    fn upright_figures(&self, plot: &Plot) -> f64 {
        let panels = plot.panels.iter().zip(self.heights(plot));
        let each = panels.filter_map(|(panel, tall)| match &panel.field {
            // With what notes may need above the curves.
            Field::Curves(curves) if !curves.bare => {
                let (low, high) = curves.range;
                Some(upright_ticks((low, high + 0.5 * (high - low)), tall))
            }
            _ => None,
        });
        each.flatten()
            .map(|(_, text)| lettering::width(&text, TICK))
            .fold(0.0, f64::max)
    }

    /// Left and right end of a panel.
    fn ends(&self, panel: &Panel) -> (f64, f64) {
        let right = self.plot.1;
        match &panel.field {
            // Half a tick's figure stands out at the left.
            Field::Rows { .. } if self.names_above => (self.margin + 24.0, right),
            Field::Rows { layers, .. } if self.narrow => {
                let figures = layers.iter().filter_map(|layer| match &layer.shape {
                    RowShape::Figure { brief, letters, .. } => Some(lettering::width(brief, *letters)),
                    _ => None,
                });
                // A pixel more, as places are rounded.
                let figures = 1.0 + figures.fold(0.0, f64::max).min(self.width / 3.0);
                (
                    self.margin + self.names(panel),
                    self.width - self.margin - figures - GUTTER,
                )
            }
            _ if self.narrow || panel.names_wide <= 0.0 => self.plot,
            _ => (self.margin + self.names(panel), right),
        }
    }

    /// Room for the names of rows to the left of a panel.
    pub(super) fn names(&self, panel: &Panel) -> f64 {
        if self.narrow {
            panel.names_wide.min(0.4 * self.width)
        } else {
            panel.names_wide
        }
    }

    /// The names of a panel's rows as they are set.
    pub(super) fn row_names(&self, panel: &Panel, names: &[String]) -> Vec<Name> {
        let (room, lines) = if self.names_above {
            (self.width * 0.6, 1)
        } else {
            (self.names(panel) - 14.0, names::LINES)
        };
        names.iter().map(|name| Name::new(name, room, lines)).collect()
    }

    /// Room above a panel: its title, and what else stands there.
    fn above(&self, panel: &Panel) -> f64 {
        if !self.narrow {
            let below = if self.one_line(panel) {
                0
            } else {
                self.unit_lines("thousands, ", panel).len()
            };
            return 52.0 + 20.0 * below as f64 + 21.0 * (self.title_lines(panel).len() as f64 - 1.0).max(0.0);
        }
        25.0 + 21.0 * self.title_lines(panel).len() as f64
            + 19.0 * self.unit_lines("thousands, ", panel).len() as f64
            + NAME_LINE * panel.end_labels().count().div_ceil(self.keys_a_line(panel)) as f64
    }

    /// How many lines' names stand beside one another above a narrow panel: two, where the longest has room in half of it.
    pub(super) fn keys_a_line(&self, panel: &Panel) -> usize {
        let long = panel.end_labels().map(|end| {
            let name = lettering::width(&end.name, LABEL);
            KEY_WIDE + name + 6.0 + lettering::width(&end.figure, STRONG)
        });
        1 + usize::from(long.fold(0.0, f64::max) + GUTTER + 8.0 <= self.width / 2.0)
    }

    /// Whether a panel's title and what is said beside it stand in one line.
    fn one_line(&self, panel: &Panel) -> bool {
        let said = self.said("", panel);
        lettering::width(&said, PANEL_UNIT) <= self.beside_title(&panel.title).1
    }

    /// Where there is room beside a panel's title, and how much.
    fn beside_title(&self, title: &str) -> (f64, f64) {
        let after = self.margin + lettering::width(title, PANEL_TITLE) + 12.0;
        (after, self.width - self.margin - after)
    }

    /// A title, in two lines where it takes two.
    fn title_lines(&self, panel: &Panel) -> Vec<String> {
        let limit = self.width - 2.0 * self.margin;
        lettering::wrap(&panel.title, PANEL_TITLE, limit, 2)
    }

    /// Unit and key, and of where the figures are, unless they stand at the ends of the lines that they are of.
    fn said(&self, scale: &str, panel: &Panel) -> String {
        let said = format!("{scale}{}", panel.said_beside());
        let between = if said.is_empty() { "" } else { "; " };
        match panel.figures_at() {
            Some(at) if self.narrow => format!("{said}{between}at {at}:"),
            Some(at) if !panel.figures_of.is_empty() => format!("{said}{between}figures at {at}"),
            _ => said,
        }
    }

    /// What is measured, in as many lines as it takes below a title; a picture of a given height has room for one.
    fn unit_lines(&self, scale: &str, panel: &Panel) -> Vec<String> {
        let said = self.said(scale, panel);
        let limit = self.width - 2.0 * self.margin;
        let most = if self.whole { 1 } else { 3 };
        lettering::wrap(said.trim(), PANEL_UNIT, limit, most)
    }

    /// Heights of the panels without what stands above and below them.
    pub(super) fn heights(&self, plot: &Plot) -> Vec<f64> {
        let (even, least) = (self.even(plot), self.least(plot));
        even.iter()
            .zip(least)
            .map(|(even, least)| even.max(least).round())
            .collect()
    }

    /// Heights that are shares of what the plot is high.
    fn even(&self, plot: &Plot) -> Vec<f64> {
        let total: f64 = plot.panels.iter().map(|p| p.share).sum();
        let count = plot.panels.len() as f64;
        let room = if self.whole {
            let around = plot.panels.iter().map(|panel| self.above(panel) + BELOW);
            let head = head_room(plot) + 4.0;
            f64::from(plot.height) - head - foot_room(plot) - around.sum::<f64>()
        } else {
            (f64::from(plot.height) - HEAD_AND_FOOT - AROUND * count).max(LOWEST * count)
        };
        let tall = |panel: &Panel| {
            let names = match &panel.field {
                Field::Rows { names, .. } if self.names_above => NAME_LINE * names.len() as f64,
                _ => 0.0,
            };
            room * panel.share / total + names
        };
        plot.panels.iter().map(tall).collect()
    }

    /// Heights below which names would lie on one another.
    fn least(&self, plot: &Plot) -> Vec<f64> {
        let last = plot.panels.len().saturating_sub(1);
        let least = |(k, panel): (usize, &Panel)| match &panel.field {
            Field::Rows { names, .. } if !self.names_above => {
                let axis = if panel.named && k < last { AXIS_NAME } else { 0.0 };
                names::least(&self.row_names(panel, names)) + axis
            }
            _ => 0.0,
        };
        plot.panels.iter().enumerate().map(least).collect()
    }

    /// Height of all that is drawn.
    pub(super) fn height(&self, plot: &Plot) -> u32 {
        if self.whole {
            let even = self.even(plot);
            let higher = even
                .iter()
                .zip(self.least(plot))
                .map(|(even, least)| (least - even).max(0.0));
            return plot.height + higher.sum::<f64>().ceil() as u32;
        }
        let between: f64 = plot.panels.iter().map(|panel| self.above(panel) + BELOW).sum();
        (self.heights(plot).iter().sum::<f64>() + between + AXIS_NAME) as u32
    }
}

/// What stands along an upright axis of a panel so high.
pub(super) fn upright_ticks((low, high): (f64, f64), tall: f64) -> Vec<(f64, String)> {
    let wanted = (tall / 62.0).round().max(2.0) as usize;
    let (per, _) = format::tick_scale(low, high);
    let (values, step) = ticks::nice(low, high, wanted);
    // What rounding leaves of zero is zero.
    let zero = |value: f64| if value.abs() < step * 1e-6 { 0.0 } else { value };
    let said = |value: f64| (value, minus(&format::tick(value / per, step / per)));
    values.into_iter().map(zero).map(said).collect()
}

/// What a plot's height counts besides its panels, and besides the field of each; no field is lower than the last.
const HEAD_AND_FOOT: f64 = 180.0;
const AROUND: f64 = 78.0;
const LOWEST: f64 = 120.0;

/// The height of a plot whose one panel has a field so high.
pub(super) fn height_of_one(field: f64) -> u32 {
    (field + HEAD_AND_FOOT + AROUND) as u32
}

/// Room for the ticks below a panel.
const BELOW: f64 = 26.0;
/// Room for the name of an axis that stands under a panel which is not the last.
const AXIS_NAME: f64 = 26.0;

/// Only to share a canvas or to draw on it can fail: one that is kept in memory takes all, and a page draws one thing after the other.
fn taken(drawn: Result<(), DrawingAreaErrorKind<Infallible>>) {
    drawn.expect("a canvas in memory takes all that is drawn on it");
}

const KICKER: Letters = Letters::new(17.0, Weight::SemiBold, MUTED);
const HEADLINE: Letters = Letters::new(27.0, Weight::SemiBold, INK);
const PANEL_TITLE: Letters = Letters::new(17.0, Weight::SemiBold, INK);
const PANEL_UNIT: Letters = Letters::new(14.5, Weight::Regular, MUTED);
pub(super) const TICK: Letters = Letters::new(14.0, Weight::Regular, MUTED);
const FOOT: Letters = Letters::new(13.0, Weight::Regular, MUTED);

pub(super) const fn rgb(Color(r, g, b): Color) -> RGBColor {
    RGBColor(r, g, b)
}

fn style(line: &Line) -> ShapeStyle {
    ShapeStyle {
        color: rgb(line.color).to_rgba(),
        filled: false,
        stroke_width: units(line.width).max(1) as u32,
    }
}

/// The dashes of a line, in canvas units like its points. The plotting library's own are measured by the platform's `hypot`.
pub(super) fn dashes(points: &[(i32, i32)], on: i32, off: i32) -> Vec<Vec<(i32, i32)>> {
    let mut found = Vec::new();
    let (mut solid, mut left) = (true, f64::from(on));
    let mut dash: Vec<(i32, i32)> = points.first().copied().into_iter().collect();
    for &[from, to] in points.array_windows() {
        let [from, to] = [from, to].map(|(x, y)| (f64::from(x), f64::from(y)));
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let whole = libm::hypot(dx, dy);
        let mut gone = 0.0;
        while gone < whole {
            let step = left.min(whole - gone);
            gone += step;
            left -= step;
            let [x, y] = [from.0 + dx * gone / whole, from.1 + dy * gone / whole];
            if solid || left <= 0.0 {
                dash.push((x.round() as i32, y.round() as i32));
            }
            if left <= 0.0 {
                if solid {
                    found.push(std::mem::take(&mut dash));
                }
                solid = !solid;
                left = f64::from(if solid { on } else { off });
            }
        }
    }
    if solid && dash.len() > 1 {
        found.push(dash);
    }
    found
}

pub(super) fn units(px: f64) -> i32 {
    (px * UNIT).round() as i32
}

fn at((x, y): (f64, f64)) -> (i32, i32) {
    (units(x), units(y))
}

/// A page under construction.
pub(super) struct Page {
    pub(super) paper: Paper,
    canvas: Rc<RefCell<Canvas>>,
    root: DrawingArea<Canvas, Shift>,
    /// Height of the page, where its head ends, and room for what stands under the panels.
    height: f64,
    head: f64,
    foot: f64,
    /// The widest figure behind each name at a line's end: one name is cut in one way on all panels.
    figures: BTreeMap<String, f64>,
}

impl Page {
    /// Draws head and foot where they stand on the paper: what it is about, the answer in words, what was asked and how.
    pub(super) fn new(plot: &Plot, paper: Paper) -> Self {
        let (canvas, root) = blank(paper.width as u32, paper.height(plot));
        let height = f64::from(root.dim_in_pixel().1) / UNIT;
        let figures = widest_figures(plot);
        let mut page = Self {
            paper: paper.beside(plot, &figures),
            canvas,
            root,
            height,
            head: 0.0,
            foot: foot_room(plot),
            figures,
        };
        if paper.whole {
            page.head_and_foot(plot);
        }
        page
    }

    fn head_and_foot(&mut self, plot: &Plot) {
        let Paper { width, margin, .. } = self.paper;
        taken(self.root.fill(&WHITE));
        let (about, headline) = head_lines(plot);
        self.lines(margin + 16.0, &about, KICKER, KICKER_LINE);
        let below = margin + kicker_room(&about);
        self.lines(below + 22.0, &headline, HEADLINE, HEAD_LINE);
        self.head = head_room(plot);
        let foot = lettering::wrap_parts(&plot.foot, FOOT, width - 2.0 * margin, 2);
        let lowest = self.height - if foot.len() > 1 { 10.0 } else { 24.0 };
        let first = lowest - 18.0 * foot.len().saturating_sub(1) as f64;
        self.lines(first, &foot, FOOT, 18.0);
    }

    /// Lines of text at the page's margin, the first on such a base line, each `apart` from the next; the base line of one more.
    fn lines(&self, mut y: f64, lines: &[String], letters: Letters, apart: f64) -> f64 {
        for line in lines {
            self.text((self.paper.margin, y), line, letters, Side::Left, VPos::Bottom);
            y += apart;
        }
        y
    }

    /// Boxes for panels one above the other, their heights as their shares.
    pub(super) fn stacked(&self, plot: &Plot) -> Vec<Rect> {
        let paper = self.paper;
        let panels = &plot.panels;
        let above: Vec<f64> = panels.iter().map(|panel| paper.above(panel)).collect();
        // Above each panel its title, below it its ticks; under the last one the axis title, then the foot.
        let heights = if paper.whole {
            let (top, bottom) = (self.head + 4.0, self.height - self.foot);
            let room = (bottom - top - above.iter().map(|above| above + BELOW).sum::<f64>()).max(0.0);
            let shares: Vec<f64> = panels.iter().map(|panel| panel.share).collect();
            shared(room, &shares, &paper.least(plot))
        } else {
            paper.heights(plot)
        };
        let mut y = if paper.whole { self.head + 4.0 } else { 0.0 };
        let last = panels.len().saturating_sub(1);
        panels
            .iter()
            .enumerate()
            .map(|(k, panel)| {
                let (y0, y1) = (y + above[k], y + above[k] + heights[k]);
                y = y1 + BELOW;
                let name = if panel.named && k < last { AXIS_NAME } else { 0.0 };
                let (x0, x1) = paper.ends(panel);
                Rect::new((x0, y0.round()), (x1, y1.round() - name))
            })
            .collect()
    }

    /// An empty page like this one, to try something out.
    pub(super) fn scratch(&self) -> Self {
        let (canvas, root) = blank(self.paper.width as u32, self.height as u32);
        Self {
            canvas,
            root,
            figures: self.figures.clone(),
            ..*self
        }
    }

    /// Keeps what was tried out.
    pub(super) fn take(&self, tried: Self) {
        self.canvas.borrow_mut().take(tried.drawn());
    }

    /// All that was drawn.
    pub(super) fn drawn(self) -> Canvas {
        self.canvas.take()
    }

    /// The page with coordinates of its own.
    pub(super) fn area<C: CoordTranslate>(&self, coord: C) -> DrawingArea<Canvas, C> {
        self.root.clone().apply_coord_spec(coord)
    }

    /// Labels above a narrow panel, from a height on, so many in a line.
    pub(super) fn keys_above(&self, ends: &[EndLabel], from: f64, a_line: usize) {
        let Paper { width, margin, .. } = self.paper;
        let wide = (width - 2.0 * margin) / a_line as f64;
        for (k, end) in ends.iter().enumerate() {
            let left = margin + 4.0 + wide * (k % a_line) as f64;
            let y = from + NAME_LINE * (k / a_line) as f64;
            self.end_label(end, (left, y), left + wide - GUTTER);
        }
    }

    /// One label: its line or colour, its name and its figure, to the right of a place and not beyond `limit`.
    pub(super) fn end_label(&self, end: &EndLabel, (left, y): (f64, f64), limit: f64) {
        match end.key {
            Key::Line(line) => self.path(&[(left - 4.0, y), (left + 20.0, y)], &line),
            Key::Area(color) => {
                self.rect(Rect::new((left - 4.0, y - 6.0), (left + 20.0, y + 6.0)), color, 1.0);
            }
        }
        let x = left + KEY_WIDE;
        let room = limit - x - self.figures.get(&end.name).unwrap_or(&0.0) - 6.0;
        let name = lettering::shorten(&end.name, LABEL, room);
        self.text((x, y), &name, LABEL, Side::Left, VPos::Center);
        let x = x + lettering::width(&name, LABEL) + 6.0;
        self.text((x, y), &end.figure, STRONG, Side::Left, VPos::Center)
    }

    /// What a panel is about, above it; `scale` says how its figures are scaled. Returns where a narrow panel's key begins.
    pub(super) fn heading(&self, bounds: Rect, scale: &str, panel: &Panel) -> f64 {
        let paper = self.paper;
        let (title, units) = (paper.title_lines(panel), paper.unit_lines(scale, panel));
        if paper.narrow {
            let y = bounds.y0 - paper.above(panel) + 24.0;
            let y = self.lines(y, &title, PANEL_TITLE, 21.0) - 2.0;
            return self.lines(y, &units, PANEL_UNIT, 19.0) - 5.0;
        }
        let y = bounds.y0 - 20.0;
        let unit = paper.said(scale, panel);
        let (beside, room) = paper.beside_title(&panel.title);
        if lettering::width(&unit, PANEL_UNIT) <= room {
            self.text((paper.margin, y), &panel.title, PANEL_TITLE, Side::Left, VPos::Bottom);
            self.text((beside, y), &unit, PANEL_UNIT, Side::Left, VPos::Bottom);
        } else {
            let last = y - 20.0 * units.len() as f64;
            self.lines(last - 21.0 * (title.len() as f64 - 1.0), &title, PANEL_TITLE, 21.0);
            self.lines(last + 20.0, &units, PANEL_UNIT, 20.0);
        }
        y
    }

    /// The middle of a text so wide that is wanted at a place, moved to where all of it is on the paper.
    pub(super) fn within(&self, middle: f64, wide: f64) -> f64 {
        middle.min(self.paper.width - wide / 2.0 - 1.0).max(wide / 2.0 + 1.0)
    }

    /// Of the ticks of a level axis those that have room side by side, each with the middle of its figure.
    pub(super) fn with_room<'t>(
        &self,
        ticks: &'t [(f64, String)],
        x: impl Fn(f64) -> f64,
    ) -> impl Iterator<Item = (f64, &'t (f64, String))> {
        let spot = |(value, text): &(f64, String)| {
            let wide = lettering::width(text, TICK);
            (self.within(x(*value), wide), wide)
        };
        let spots: Vec<(f64, f64)> = ticks.iter().map(spot).collect();
        let zero = ticks.iter().position(|(value, _)| *value == 0.0).unwrap_or(0);
        let kept = labels::thinned(&spots, zero, 10.0);
        let all = spots.into_iter().zip(ticks).zip(kept);
        all.filter_map(|(((middle, _), tick), kept)| kept.then_some((middle, tick)))
    }

    /// Names the level axis of a panel, under it.
    pub(super) fn name_axis(&self, bounds: Rect, name: &str) {
        let middle = (bounds.x0 + bounds.x1) / 2.0;
        // Where there is little room, what stands in brackets or behind a semicolon goes first.
        let room = 2.0 * middle.min(self.paper.width - middle) - 4.0;
        let fits = |name: &str| lettering::width(name, LABEL) <= room;
        let ends = [" (", ";"].into_iter().filter_map(|sign| name.find(sign));
        let short = &name[..ends.min().unwrap_or(name.len())];
        let name = if fits(name) { name } else { short };
        let name = &lettering::shorten(name, LABEL, room);
        self.text((middle, bounds.y1 + 34.0), name, LABEL, Side::Center, VPos::Top)
    }

    pub(super) fn text(&self, p: (f64, f64), text: &str, letters: Letters, side: Side, v: VPos) {
        let weight = match letters.weight {
            Weight::Regular => FontStyle::Normal,
            Weight::SemiBold => FontStyle::Bold,
        };
        let font = FontDesc::new(FontFamily::SansSerif, letters.size * UNIT, weight);
        let side = match side {
            Side::Left => HPos::Left,
            Side::Right => HPos::Right,
            Side::Center => HPos::Center,
        };
        let color = rgb(letters.color);
        let style = TextStyle::from(font).color(&color).pos(Pos::new(side, v));
        taken(self.root.draw(&Text::new(text, at(p), style)));
    }

    pub(super) fn path(&self, points: &[(f64, f64)], line: &Line) {
        let points: Vec<(i32, i32)> = points.iter().copied().map(at).collect();
        let pieces = match line.dash {
            None => vec![points],
            Some((on, off)) => dashes(&points, units(on), units(off)),
        };
        for piece in pieces {
            taken(self.root.draw(&PathElement::new(piece, style(line))));
        }
    }

    pub(super) fn fill(&self, points: &[(f64, f64)], color: Color) {
        let points: Vec<(i32, i32)> = points.iter().copied().map(at).collect();
        taken(self.root.draw(&Polygon::new(points, rgb(color))));
    }

    pub(super) fn rect(&self, r: Rect, color: Color, alpha: f64) {
        let corners = [at((r.x0, r.y0)), at((r.x1, r.y1))];
        taken(self.root.draw(&Rectangle::new(corners, rgb(color).mix(alpha).filled())));
    }

    pub(super) fn disc(&self, centre: (f64, f64), radius: f64, color: Color) {
        taken(
            self.root
                .draw(&Circle::new(at(centre), units(radius), rgb(color).filled())),
        );
    }
}

/// The widest figure behind each name at a line's end.
fn widest_figures(plot: &Plot) -> BTreeMap<String, f64> {
    let mut figures = BTreeMap::new();
    for label in plot.panels.iter().flat_map(Panel::end_labels) {
        let widest: &mut f64 = figures.entry(label.name.clone()).or_default();
        *widest = widest.max(lettering::width(&label.figure, STRONG));
    }
    figures
}

/// An empty canvas of so many pixels, and how it is drawn on.
fn blank(width: u32, height: u32) -> (Rc<RefCell<Canvas>>, DrawingArea<Canvas, Shift>) {
    let canvas = Rc::new(RefCell::new(Canvas::new(width, height)));
    let root = DrawingArea::from(&canvas);
    (canvas, root)
}

/// Shares of a length, none below the least it may have: who would be has that, and the others share the rest.
fn shared(room: f64, shares: &[f64], least: &[f64]) -> Vec<f64> {
    let mut fixed = vec![false; shares.len()];
    loop {
        let of = |values: &[f64], which: bool| -> f64 {
            let kept = values.iter().zip(&fixed).filter(|(_, is)| **is == which);
            kept.map(|(value, _)| value).sum()
        };
        let (rest, total) = ((room - of(least, true)).max(0.0), of(shares, false));
        let one = |k: usize| if fixed[k] { least[k] } else { rest * shares[k] / total };
        let out: Vec<f64> = (0..shares.len()).map(one).collect();
        let low: Vec<usize> = (0..out.len()).filter(|&k| !fixed[k] && out[k] < least[k]).collect();
        if low.is_empty() {
            return out;
        }
        low.into_iter().for_each(|k| fixed[k] = true);
    }
}

/// Height of a line of the head, and of what it is about where that has more than one.
const HEAD_LINE: f64 = 34.0;
const KICKER_LINE: f64 = 23.0;

/// The lines of what a plot is about, and of its headline, on a sheet.
fn head_lines(plot: &Plot) -> (Vec<String>, Vec<String>) {
    let limit = Paper::SHEET.width - 2.0 * Paper::SHEET.margin;
    let headline = plot.headline.trim_end_matches('.');
    (
        lettering::balanced(&plot.about, KICKER, limit, 2),
        lettering::balanced(headline, HEADLINE, limit, 3),
    )
}

/// Room above the first panel of a sheet.
fn head_room(plot: &Plot) -> f64 {
    let (about, headline) = head_lines(plot);
    let above = if about.is_empty() && headline.is_empty() {
        0.0
    } else {
        Paper::SHEET.margin
    };
    above + kicker_room(&about) + HEAD_LINE * headline.len() as f64
}

/// Room for the lines of what a plot is about.
fn kicker_room(about: &[String]) -> f64 {
    if about.is_empty() {
        0.0
    } else {
        KICKER_LINE * (about.len() - 1) as f64 + HEAD_LINE
    }
}

/// Room under the last panel's ticks: the name of its axis, and the foot where there is one.
fn foot_room(plot: &Plot) -> f64 {
    if plot.foot.is_empty() { 32.0 } else { 70.0 }
}
