//! A page: head and foot, boxes for its panels, and the strokes everything is made of. Lengths are pixels of the page, y
//! downwards.

use super::canvas::{Canvas, UNIT};
use super::labels::Rect;
use super::lettering;
use crate::render::plot::palette::{Color, INK, MUTED};
use crate::render::plot::{LABEL, Letters, Line, Panel, Plot, STRONG, Side, Weight};
use plotters::coord::{CoordTranslate, Shift};
use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::Color as _;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::collections::BTreeMap;
use std::convert::Infallible;

/// Width of every chart, in pixels.
/// No wider, so that the letters of a chart that is as wide as a printed page are 7 pt high at the least.
pub(super) const WIDTH: u32 = 1000;
pub(super) const MARGIN: f64 = 32.0;
/// The plots' left and right ends; to the right of them stand the labels of line ends.
const PLOT: (f64, f64) = (88.0, 736.0);
pub(super) const GUTTER: f64 = 12.0;
/// Room for the name of an axis that stands under a panel which is not the last.
const AXIS_NAME: f64 = 26.0;

/// What drawing can fail with, and what it gives.
pub(super) type Failed = DrawingAreaErrorKind<Infallible>;
pub(super) type Drawn = Result<(), Failed>;

const KICKER: Letters = Letters::new(17.0, Weight::SemiBold, MUTED);
const HEADLINE: Letters = Letters::new(27.0, Weight::SemiBold, INK);
const PANEL_TITLE: Letters = Letters::new(17.0, Weight::SemiBold, INK);
const PANEL_UNIT: Letters = Letters::new(14.5, Weight::Regular, MUTED);
pub(super) const TICK: Letters = Letters::new(14.0, Weight::Regular, MUTED);
const FOOT: Letters = Letters::new(13.0, Weight::Regular, MUTED);

pub(super) const fn rgb(Color(r, g, b): Color) -> RGBColor {
    RGBColor(r, g, b)
}

pub(super) fn style(line: &Line) -> ShapeStyle {
    ShapeStyle {
        color: rgb(line.color).to_rgba(),
        filled: false,
        stroke_width: units(line.width).max(1) as u32,
    }
}

pub(super) fn units(px: f64) -> i32 {
    (px * UNIT).round() as i32
}

fn at((x, y): (f64, f64)) -> (i32, i32) {
    (units(x), units(y))
}

/// A page under construction.
pub(super) struct Page {
    root: DrawingArea<Canvas, Shift>,
    /// Height of the page, where its head ends, and room for what stands under the panels.
    height: f64,
    head: f64,
    foot: f64,
    /// The widest figure behind each name at a line's end: one name is cut in one way on all panels.
    figures: BTreeMap<String, f64>,
}

impl Page {
    /// Draws head and foot: what it is about, the answer in words, what was asked and how.
    pub(super) fn new(root: DrawingArea<Canvas, Shift>, plot: &Plot) -> Result<Self, Failed> {
        root.fill(&WHITE)?;
        let height = f64::from(root.dim_in_pixel().1) / UNIT;
        let mut page = Self {
            root,
            height,
            head: if plot.about.is_empty() && plot.headline.is_empty() {
                0.0
            } else {
                MARGIN
            },
            foot: foot_room(plot),
            figures: BTreeMap::new(),
        };
        for label in plot.panels.iter().flat_map(Panel::end_labels) {
            let wide = lettering::width(&label.figure, STRONG.weight, STRONG.size);
            let widest = page.figures.entry(label.name.clone()).or_default();
            *widest = widest.max(wide);
        }
        let limit = f64::from(WIDTH) - 2.0 * MARGIN;
        let (about, headline) = head_lines(plot);
        for line in about {
            page.text((MARGIN, page.head + 16.0), &line, KICKER, Side::Left, VPos::Bottom)?;
            page.head += HEAD_LINE;
        }
        for line in headline {
            page.text((MARGIN, page.head + 22.0), &line, HEADLINE, Side::Left, VPos::Bottom)?;
            page.head += HEAD_LINE;
        }
        let foot = lettering::wrap(&plot.foot, FOOT.weight, FOOT.size, limit, 2);
        let lowest = height - if foot.len() > 1 { 10.0 } else { 24.0 };
        for (line, from_last) in foot.iter().zip((0..foot.len()).rev()) {
            let y = lowest - 18.0 * from_last as f64;
            page.text((MARGIN, y), line, FOOT, Side::Left, VPos::Bottom)?;
        }
        Ok(page)
    }

    /// Boxes for panels one above the other, their heights as their shares.
    pub(super) fn stacked(&self, panels: &[Panel]) -> Vec<Rect> {
        // Above each panel its title, below it its ticks; under the last one the axis title, then the foot.
        let (top, bottom) = (self.head + 4.0, self.height - self.foot);
        let around: f64 = panels.iter().map(|panel| above(panel) + BELOW).sum();
        let room = (bottom - top - around).max(0.0);
        let total: f64 = panels.iter().map(|p| p.share).sum();
        let mut y = top;
        let last = panels.len().saturating_sub(1);
        panels
            .iter()
            .enumerate()
            .map(|(k, panel)| {
                let y0 = y + above(panel);
                let y1 = y0 + room * panel.share / total;
                y = y1 + BELOW;
                let name = if panel.named && k < last { AXIS_NAME } else { 0.0 };
                Rect {
                    x0: if panel.names_wide > 0.0 {
                        MARGIN + panel.names_wide
                    } else {
                        PLOT.0
                    },
                    y0: y0.round(),
                    x1: PLOT.1,
                    y1: y1.round() - name,
                }
            })
            .collect()
    }

    /// The page with coordinates of its own.
    pub(super) fn area<C: CoordTranslate>(&self, coord: C) -> DrawingArea<Canvas, C> {
        self.root.clone().apply_coord_spec(coord)
    }

    /// The widest figure that stands behind a name at a line's end.
    pub(super) fn widest_figure(&self, name: &str) -> f64 {
        self.figures.get(name).copied().unwrap_or_default()
    }

    /// What a panel is about, above it.
    pub(super) fn heading(&self, bounds: Rect, title: &str, unit: &str) -> Drawn {
        let (x, y) = (MARGIN, bounds.y0 - 20.0);
        let (beside, room) = beside_title(title);
        if lettering::width(unit, PANEL_UNIT.weight, PANEL_UNIT.size) <= room {
            self.text((x, y), title, PANEL_TITLE, Side::Left, VPos::Bottom)?;
            return self.text((beside, y), unit, PANEL_UNIT, Side::Left, VPos::Bottom);
        }
        self.text((x, y - 20.0), title, PANEL_TITLE, Side::Left, VPos::Bottom)?;
        let unit = lettering::shorten(
            unit,
            PANEL_UNIT.weight,
            PANEL_UNIT.size,
            f64::from(WIDTH) - 2.0 * MARGIN,
        );
        self.text((x, y), &unit, PANEL_UNIT, Side::Left, VPos::Bottom)
    }

    /// Names the level axis of a panel, under it.
    pub(super) fn name_axis(&self, bounds: Rect, name: &str) -> Drawn {
        let middle = (bounds.x0 + bounds.x1) / 2.0;
        self.text((middle, bounds.y1 + 34.0), name, LABEL, Side::Center, VPos::Top)
    }

    pub(super) fn text(&self, p: (f64, f64), text: &str, letters: Letters, side: Side, v: VPos) -> Drawn {
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
        self.root.draw(&Text::new(text, at(p), style))
    }

    pub(super) fn path(&self, points: &[(f64, f64)], line: &Line) -> Drawn {
        let points: Vec<(i32, i32)> = points.iter().copied().map(at).collect();
        match line.dash {
            None => self.root.draw(&PathElement::new(points, style(line))),
            Some((on, off)) => self
                .root
                .draw(&DashedPathElement::new(points, units(on), units(off), style(line))),
        }
    }

    pub(super) fn fill(&self, points: &[(f64, f64)], color: Color, alpha: f64) -> Drawn {
        let points: Vec<(i32, i32)> = points.iter().copied().map(at).collect();
        self.root.draw(&Polygon::new(points, rgb(color).mix(alpha)))
    }

    pub(super) fn rect(&self, r: Rect, color: Color, alpha: f64) -> Drawn {
        self.root.draw(&Rectangle::new(
            [at((r.x0, r.y0)), at((r.x1, r.y1))],
            rgb(color).mix(alpha).filled(),
        ))
    }

    pub(super) fn disc(&self, centre: (f64, f64), radius: f64, color: Color) -> Drawn {
        self.root
            .draw(&Circle::new(at(centre), units(radius), rgb(color).filled()))
    }
}

/// Where there is room beside a panel's title, and how much.
fn beside_title(title: &str) -> (f64, f64) {
    let after = MARGIN + lettering::width(title, PANEL_TITLE.weight, PANEL_TITLE.size) + 12.0;
    (after, f64::from(WIDTH) - MARGIN - after)
}

/// Whether a panel's title and what is said beside it stand in one line.
fn one_line(panel: &Panel) -> bool {
    let said = panel.said_beside();
    lettering::width(&said, PANEL_UNIT.weight, PANEL_UNIT.size) <= beside_title(&panel.title).1
}

/// Room above a panel for its title.
fn above(panel: &Panel) -> f64 {
    if one_line(panel) { 52.0 } else { 72.0 }
}

/// Room below a panel for its ticks.
const BELOW: f64 = 26.0;
/// Height of a line of the head.
const HEAD_LINE: f64 = 34.0;

/// The lines of what a plot is about, and of its headline.
fn head_lines(plot: &Plot) -> (Vec<String>, Vec<String>) {
    let limit = f64::from(WIDTH) - 2.0 * MARGIN;
    let headline = plot.headline.trim_end_matches('.');
    (
        lettering::wrap(&plot.about, KICKER.weight, KICKER.size, limit, 1),
        lettering::wrap(headline, HEADLINE.weight, HEADLINE.size, limit, 3),
    )
}

/// Room under the last panel's ticks: the name of its axis, and the foot where there is one.
fn foot_room(plot: &Plot) -> f64 {
    if plot.foot.is_empty() { 32.0 } else { 70.0 }
}

/// Heights of the panels where each is a picture of its own: a panel is as high there as in the whole.
pub(super) fn heights(plot: &Plot) -> Vec<u32> {
    let (about, headline) = head_lines(plot);
    let head = MARGIN + HEAD_LINE * (about.len() + headline.len()) as f64;
    let around: f64 = plot.panels.iter().map(|panel| above(panel) + BELOW).sum();
    let room = (f64::from(plot.height) - head - 4.0 - foot_room(plot) - around).max(0.0);
    let total: f64 = plot.panels.iter().map(|panel| panel.share).sum();
    let last = plot.panels.len().saturating_sub(1);
    let each = plot.panels.iter().enumerate().map(|(k, panel)| {
        let name = if panel.named && k < last { AXIS_NAME } else { 0.0 };
        let own = room * panel.share / total - name;
        let head = if k == 0 { head } else { 0.0 };
        let foot = if k == last { foot_room(plot) } else { 32.0 };
        (head + 4.0 + above(panel) + own + BELOW + foot).round() as u32
    });
    each.collect()
}
