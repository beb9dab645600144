//! What every chart is made of: a page with a headline, panels with axes, curves, bands, areas, labels at line ends and
//! notes on free ground. Lengths are pixels of the page, y downwards, unless they are values of an axis.

use super::canvas::UNIT;
use super::labels::{self, Rect};
use super::lettering::{self, Weight};
use super::palette::{AXIS, GRID, INK, MUTED};
use super::ticks::{self, SizeScale};
use crate::render::format;
use plotters::coord::Shift;
use plotters::coord::ranged1d::{KeyPointHint, NoDefaultFormatting, Ranged};
use plotters::coord::types::RangedCoordf64;
use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::cell::RefCell;
use std::ops::Range;

/// Width of every chart, in pixels.
pub(super) const WIDTH: u32 = 1200;
const MARGIN: f64 = 32.0;
/// The plots' left and right ends; to the right of them stand the labels of line ends.
const PLOT: (f64, f64) = (88.0, 956.0);
const GUTTER: f64 = 12.0;
const LABEL_GAP: f64 = 19.0;

/// What drawing on a backend gives.
pub(super) type Drawn<DB> = Result<(), DrawingAreaErrorKind<<DB as DrawingBackend>::ErrorType>>;

/// Size, weight and colour of a text.
#[derive(Debug, Clone, Copy)]
pub(super) struct Letters {
    pub(super) size: f64,
    pub(super) weight: Weight,
    pub(super) color: RGBColor,
}

const fn letters(size: f64, weight: Weight, color: RGBColor) -> Letters {
    Letters { size, weight, color }
}

const KICKER: Letters = letters(17.0, Weight::SemiBold, MUTED);
const HEADLINE: Letters = letters(27.0, Weight::SemiBold, INK);
const PANEL_TITLE: Letters = letters(17.0, Weight::SemiBold, INK);
const PANEL_UNIT: Letters = letters(14.5, Weight::Regular, MUTED);
const TICK: Letters = letters(14.0, Weight::Regular, MUTED);
pub(super) const LABEL: Letters = letters(14.5, Weight::Regular, INK);
pub(super) const STRONG: Letters = letters(14.5, Weight::SemiBold, INK);
const FOOT: Letters = letters(13.0, Weight::Regular, MUTED);

/// How a line looks: width in pixels, dash as line and gap in pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    pub(super) color: RGBColor,
    pub(super) width: f64,
    pub(super) dash: Option<(f64, f64)>,
}

impl Line {
    pub(super) const fn solid(color: RGBColor, width: f64) -> Self {
        Self {
            color,
            width,
            dash: None,
        }
    }

    pub(super) const fn dashed(color: RGBColor, width: f64, on: f64, off: f64) -> Self {
        Self {
            color,
            width,
            dash: Some((on, off)),
        }
    }

    fn style(&self) -> ShapeStyle {
        ShapeStyle {
            color: self.color.to_rgba(),
            filled: false,
            stroke_width: units(self.width).max(1) as u32,
        }
    }
}

fn units(px: f64) -> i32 {
    (px * UNIT).round() as i32
}

fn at((x, y): (f64, f64)) -> (i32, i32) {
    (units(x), units(y))
}

/// A page under construction.
pub(super) struct Page<DB: DrawingBackend> {
    root: DrawingArea<DB, Shift>,
    /// Height of the page and where its head ends.
    height: f64,
    head: f64,
}

impl<DB: DrawingBackend> Page<DB> {
    /// Draws head and foot: what it is about, the answer in words, what was asked and how.
    pub(super) fn new(
        root: DrawingArea<DB, Shift>,
        kicker: &str,
        headline: &str,
        foot: &str,
    ) -> Result<Self, DrawingAreaErrorKind<DB::ErrorType>> {
        root.fill(&WHITE)?;
        let height = f64::from(root.dim_in_pixel().1) / UNIT;
        let mut page = Self {
            root,
            height,
            head: MARGIN,
        };
        let limit = f64::from(WIDTH) - 2.0 * MARGIN;
        for line in lettering::wrap(kicker, KICKER.weight, KICKER.size, limit, 1) {
            page.head += 16.0;
            page.text((MARGIN, page.head), &line, KICKER, HPos::Left, VPos::Bottom)?;
            page.head += 18.0;
        }
        for line in lettering::wrap(headline, HEADLINE.weight, HEADLINE.size, limit, 3) {
            page.head += 22.0;
            page.text((MARGIN, page.head), &line, HEADLINE, HPos::Left, VPos::Bottom)?;
            page.head += 12.0;
        }
        let foot = lettering::shorten(foot, FOOT.weight, FOOT.size, limit);
        page.text((MARGIN, height - 24.0), &foot, FOOT, HPos::Left, VPos::Bottom)?;
        Ok(page)
    }

    /// Boxes for panels one above the other, their heights in the given proportion.
    pub(super) fn stacked(&self, shares: &[f64]) -> Vec<Rect> {
        // Above each panel its title, below it its ticks; under the last one the axis title, then the foot.
        let (above, below) = (52.0, 26.0);
        let (top, bottom) = (self.head + 4.0, self.height - 70.0);
        let room = (bottom - top - (above + below) * shares.len() as f64).max(0.0);
        let total: f64 = shares.iter().sum();
        let mut y = top;
        shares
            .iter()
            .map(|share| {
                let (y0, y1) = (y + above, y + above + room * share / total);
                y = y1 + below;
                Rect {
                    x0: PLOT.0,
                    y0: y0.round(),
                    x1: PLOT.1,
                    y1: y1.round(),
                }
            })
            .collect()
    }

    pub(super) fn text(&self, p: (f64, f64), text: &str, letters: Letters, h: HPos, v: VPos) -> Drawn<DB> {
        let weight = match letters.weight {
            Weight::Regular => FontStyle::Normal,
            Weight::SemiBold => FontStyle::Bold,
        };
        let font = FontDesc::new(FontFamily::SansSerif, letters.size * UNIT, weight);
        let style = TextStyle::from(font).color(&letters.color).pos(Pos::new(h, v));
        self.root.draw(&Text::new(text, at(p), style))
    }

    pub(super) fn path(&self, points: &[(f64, f64)], line: &Line) -> Drawn<DB> {
        let points: Vec<(i32, i32)> = points.iter().copied().map(at).collect();
        match line.dash {
            None => self.root.draw(&PathElement::new(points, line.style())),
            Some((on, off)) => self
                .root
                .draw(&DashedPathElement::new(points, units(on), units(off), line.style())),
        }
    }

    pub(super) fn fill(&self, points: &[(f64, f64)], color: RGBColor, alpha: f64) -> Drawn<DB> {
        let points: Vec<(i32, i32)> = points.iter().copied().map(at).collect();
        self.root.draw(&Polygon::new(points, color.mix(alpha)))
    }

    pub(super) fn rect(&self, r: Rect, color: RGBColor, alpha: f64) -> Drawn<DB> {
        self.root.draw(&Rectangle::new(
            [at((r.x0, r.y0)), at((r.x1, r.y1))],
            color.mix(alpha).filled(),
        ))
    }

    pub(super) fn disc(&self, centre: (f64, f64), radius: f64, color: RGBColor) -> Drawn<DB> {
        self.root.draw(&Circle::new(at(centre), units(radius), color.filled()))
    }
}

/// A level axis: its scale, and what is written where, the most wanted first.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    pub(super) scale: SizeScale,
    pub(super) ticks: Vec<(f64, String)>,
}

impl Axis {
    /// Batch sizes.
    pub(super) fn sizes(scale: SizeScale, sizes: &[u32]) -> Self {
        let named = ticks::sizes(sizes, scale.log);
        Self {
            scale,
            ticks: named.iter().map(|&s| (f64::from(s), format::count(s.into()))).collect(),
        }
    }

    /// Any quantity from `low` to `high`, ruled evenly; `write` says how a tick is written, given the step between ticks.
    pub(super) fn values((low, high): (f64, f64), write: impl Fn(f64, f64) -> String) -> Self {
        let (low, high) = match (low.is_finite() && high.is_finite(), high > low) {
            (true, true) => (low, high),
            (true, false) => (low - 0.5, low + 0.5),
            // What is no figure has no axis of its own.
            (false, _) => (0.0, 1.0),
        };
        let (values, step) = ticks::nice(low, high, 8);
        Self {
            scale: SizeScale { low, high, log: false },
            ticks: values.iter().map(|v| (*v, minus(&write(*v, step)))).collect(),
        }
    }

    /// From 0 to so many of what is counted: nothing between whole ones has a figure.
    pub(super) fn counts(last: f64) -> Self {
        let mut axis = Self::values((0.0, last), format::whole_tick);
        axis.ticks.retain(|(_, text)| !text.is_empty());
        axis
    }
}

/// Batch sizes as an axis that plotters can map.
#[derive(Clone)]
struct SizeCoord(SizeScale);

impl Ranged for SizeCoord {
    type FormatOption = NoDefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        limit.0 + (f64::from(limit.1 - limit.0) * self.0.share(*value)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, _: Hint) -> Vec<f64> {
        Vec::new()
    }

    fn range(&self) -> Range<f64> {
        self.0.low..self.0.high
    }
}

/// What stands before a label at a line's end.
#[derive(Debug, Clone, Copy)]
pub(super) enum Key {
    Line(Line),
    Area(RGBColor),
}

/// A label at the right end: what it is and its figure there; `value` is where on the axis its line ends.
#[derive(Debug, Clone)]
pub(super) struct EndLabel {
    pub(super) value: f64,
    pub(super) key: Key,
    pub(super) name: String,
    pub(super) figure: String,
}

/// What a panel is about.
pub(super) struct PanelHead<'a> {
    pub(super) title: &'a str,
    pub(super) unit: &'a str,
}

/// A plot with its axes.
pub(super) struct Panel<'p, DB: DrawingBackend> {
    page: &'p Page<DB>,
    pub(super) bounds: Rect,
    scale: SizeScale,
    range: (f64, f64),
    area: DrawingArea<DB, Cartesian2d<SizeCoord, RangedCoordf64>>,
    /// Points along what has been drawn and must stay readable, and where labels stand.
    ink: RefCell<Vec<(f64, f64)>>,
    taken: RefCell<Vec<Rect>>,
}

impl<'p, DB: DrawingBackend> Panel<'p, DB> {
    /// Draws title, grid and ticks.
    pub(super) fn new(
        page: &'p Page<DB>,
        bounds: Rect,
        head: &PanelHead<'_>,
        axis: &Axis,
        range: (f64, f64),
    ) -> Result<Self, DrawingAreaErrorKind<DB::ErrorType>> {
        let panel = Self::blank(page, bounds, head, axis, range)?;
        panel.grid(&axis.ticks, true)?;
        Ok(panel)
    }

    /// A panel whose heights carry no figures: they only compare.
    pub(super) fn bare(
        page: &'p Page<DB>,
        bounds: Rect,
        head: &PanelHead<'_>,
        axis: &Axis,
        range: (f64, f64),
    ) -> Result<Self, DrawingAreaErrorKind<DB::ErrorType>> {
        let panel = Self::blank(page, bounds, head, axis, range)?;
        panel.grid(&axis.ticks, false)?;
        Ok(panel)
    }

    fn blank(
        page: &'p Page<DB>,
        bounds: Rect,
        head: &PanelHead<'_>,
        axis: &Axis,
        range: (f64, f64),
    ) -> Result<Self, DrawingAreaErrorKind<DB::ErrorType>> {
        let scale = axis.scale;
        let title_at = (MARGIN, bounds.y0 - 20.0);
        page.text(title_at, head.title, PANEL_TITLE, HPos::Left, VPos::Bottom)?;
        let after = MARGIN + lettering::width(head.title, PANEL_TITLE.weight, PANEL_TITLE.size) + 12.0;
        let (_, word) = format::tick_scale(range.0, range.1);
        page.text(
            (after, title_at.1),
            &format!("{word}{}", head.unit),
            PANEL_UNIT,
            HPos::Left,
            VPos::Bottom,
        )?;
        let pixels = (units(bounds.x0)..units(bounds.x1), units(bounds.y1)..units(bounds.y0));
        let coord = Cartesian2d::new(SizeCoord(scale), range.0..range.1, pixels);
        let area = page.root.clone().apply_coord_spec(coord);
        Ok(Self {
            page,
            bounds,
            scale,
            range,
            area,
            ink: RefCell::default(),
            taken: RefCell::default(),
        })
    }

    fn grid(&self, level: &[(f64, String)], heights: bool) -> Drawn<DB> {
        let hair = |color| Line::solid(color, 1.0);
        let b = self.bounds;
        let spots: Vec<(f64, f64)> = level
            .iter()
            .map(|(value, text)| (self.x(*value), lettering::width(text, TICK.weight, TICK.size)))
            .collect();
        let kept = labels::without_overlap(&spots, 10.0);
        for ((&(x, _), (_, text)), _) in spots.iter().zip(level).zip(kept).filter(|(_, kept)| *kept) {
            let crisp = x.floor() + 0.5;
            self.page.path(&[(crisp, b.y0), (crisp, b.y1)], &hair(GRID))?;
            self.page.path(&[(crisp, b.y1), (crisp, b.y1 + 5.0)], &hair(AXIS))?;
            self.page.text((x, b.y1 + 10.0), text, TICK, HPos::Center, VPos::Top)?;
        }
        let wanted = ((b.y1 - b.y0) / 62.0).round().max(2.0) as usize;
        let (per, _) = format::tick_scale(self.range.0, self.range.1);
        let (values, step) = ticks::nice(self.range.0, self.range.1, wanted);
        for value in values.into_iter().filter(|_| heights) {
            let y = self.y(value).floor() + 0.5;
            let color = if value.abs() < step * 1e-6 { AXIS } else { GRID };
            self.page.path(&[(b.x0, y), (b.x1, y)], &hair(color))?;
            let text = minus(&format::tick(value / per, step / per));
            self.page
                .text((b.x0 - 10.0, y), &text, TICK, HPos::Right, VPos::Center)?;
        }
        let base = b.y1.floor() + 0.5;
        self.page.path(&[(b.x0, base), (b.x1, base)], &hair(AXIS))
    }

    /// Names the axis of sizes, under the last panel.
    pub(super) fn name_sizes(&self) -> Drawn<DB> {
        let text = if self.scale.log {
            "pieces in a batch (logarithmic scale)"
        } else {
            "pieces in a batch"
        };
        self.name_axis(text)
    }

    /// Names the level axis, under the last panel.
    pub(super) fn name_axis(&self, text: &str) -> Drawn<DB> {
        let middle = (self.bounds.x0 + self.bounds.x1) / 2.0;
        self.page
            .text((middle, self.bounds.y1 + 34.0), text, LABEL, HPos::Center, VPos::Top)
    }

    pub(super) fn x(&self, size: f64) -> f64 {
        f64::from(self.area.map_coordinate(&(size, self.range.0)).0) / UNIT
    }

    /// Height on the page; values beyond the range are taken to its nearer end.
    pub(super) fn y(&self, value: f64) -> f64 {
        let shown = value.clamp(self.range.0, self.range.1);
        f64::from(self.area.map_coordinate(&(self.scale.low, shown)).1) / UNIT
    }

    pub(super) fn shows(&self, value: f64) -> bool {
        value >= self.range.0 && value <= self.range.1
    }

    /// A curve through values by size, broken where there is no value and cut where it leaves the panel. Values that
    /// stand alone are drawn as dots, all of them where `dots` says so.
    pub(super) fn curve(&self, points: &[(f64, Option<f64>)], line: &Line, dots: bool) -> Drawn<DB> {
        for stretch in stretches(points) {
            for piece in self.cut(&stretch) {
                self.mark_ink(&piece);
                let style = line.style();
                match line.dash {
                    None => self.area.draw(&PathElement::new(piece, style))?,
                    Some((on, off)) => {
                        self.area
                            .draw(&DashedPathElement::new(piece, units(on), units(off), style))?;
                    }
                }
            }
            for &(x, y) in stretch
                .iter()
                .filter(|p| (dots || stretch.len() == 1) && self.shows(p.1))
            {
                self.dot((x, y), line.width + 1.6, line.color)?;
            }
        }
        Ok(())
    }

    /// A dot with a white rim.
    pub(super) fn dot(&self, (x, y): (f64, f64), radius: f64, color: RGBColor) -> Drawn<DB> {
        let centre = (self.x(x), self.y(y));
        self.ink.borrow_mut().push(centre);
        self.page.disc(centre, radius + 1.5, WHITE)?;
        self.page.disc(centre, radius, color)
    }

    /// The pieces of a polyline that lie within the range.
    fn cut(&self, line: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        let (low, high) = self.range;
        let mut pieces: Vec<Vec<(f64, f64)>> = Vec::new();
        for w in line.windows(2) {
            let (a, b) = (w[0], w[1]);
            // Shares of the way from a to b between which the line is inside.
            let (mut t0, mut t1) = (0.0f64, 1.0f64);
            let rise = b.1 - a.1;
            if rise == 0.0 {
                if !self.shows(a.1) {
                    continue;
                }
            } else {
                let (u, v) = ((low - a.1) / rise, (high - a.1) / rise);
                (t0, t1) = (t0.max(u.min(v)), t1.min(u.max(v)));
                if t0 >= t1 {
                    continue;
                }
            }
            let between = |t: f64| self.between(a, b, t);
            let start = if t0 > 0.0 { between(t0) } else { a };
            let end = if t1 < 1.0 { between(t1) } else { b };
            match pieces.last_mut() {
                Some(piece) if t0 == 0.0 && piece.last() == Some(&a) => piece.push(end),
                _ => pieces.push(vec![start, end]),
            }
        }
        pieces
    }

    /// The point a share of the way along a straight stroke on the page.
    fn between(&self, a: (f64, f64), b: (f64, f64), t: f64) -> (f64, f64) {
        let (p, q) = (self.scale.position(a.0), self.scale.position(b.0));
        (self.scale.value(p + (q - p) * t), a.1 + (b.1 - a.1) * t)
    }

    /// The area between two curves given as (size, low, high), cut where it leaves the panel.
    pub(super) fn between_curves(&self, points: &[(f64, f64, f64)], color: RGBColor) -> Drawn<DB> {
        let (low, high) = self.range;
        let finite: Vec<&(f64, f64, f64)> = points.iter().filter(|p| p.1.is_finite() && p.2.is_finite()).collect();
        if finite.len() < 2 {
            return Ok(());
        }
        let mut columns: Vec<(f64, f64, f64)> = Vec::with_capacity(finite.len() + 8);
        for w in finite.windows(2) {
            let (a, b) = (w[0], w[1]);
            columns.push(*a);
            // Where an edge crosses an end of the range it must bend.
            let mut bends: Vec<f64> = [(a.1, b.1), (a.2, b.2)]
                .into_iter()
                .flat_map(|(p, q)| [(low - p) / (q - p), (high - p) / (q - p)])
                .filter(|t| *t > 0.0 && *t < 1.0)
                .collect();
            bends.sort_by(f64::total_cmp);
            columns.extend(bends.into_iter().map(|t| {
                let (x, bottom) = self.between((a.0, a.1), (b.0, b.1), t);
                (x, bottom, a.2 + (b.2 - a.2) * t)
            }));
        }
        columns.extend(finite.last().copied());
        let inside = |v: f64| v.clamp(low, high);
        // Notes keep off filled ground where they can.
        self.mark_ground(&finite);
        let top = columns.iter().map(|c| (c.0, inside(c.2)));
        let bottom = columns.iter().rev().map(|c| (c.0, inside(c.1)));
        let outline: Vec<(f64, f64)> = top.chain(bottom).collect();
        self.area.draw(&Polygon::new(outline, color.filled()))
    }

    /// A box around a size, `half` pixels to both sides, from one value to another, cut at the panel's ends.
    pub(super) fn bar(&self, size: f64, half: f64, (from, to): (f64, f64), color: RGBColor) -> Drawn<DB> {
        let x = self.x(size);
        let (y0, y1) = (self.y(to), self.y(from));
        if y1 - y0 < 0.05 {
            return Ok(());
        }
        self.page.rect(
            Rect {
                x0: x - half,
                y0,
                x1: x + half,
                y1,
            },
            color,
            1.0,
        )
    }

    /// A short level line at a size, `half` pixels to both sides: what a curve is where there is one size only.
    pub(super) fn rung(&self, size: f64, half: f64, value: f64, line: &Line) -> Drawn<DB> {
        if !self.shows(value) {
            return Ok(());
        }
        let (x, y) = (self.x(size), self.y(value));
        self.ink.borrow_mut().extend([(x - half, y), (x, y), (x + half, y)]);
        self.page.path(&[(x - half, y), (x + half, y)], line)
    }

    /// A level line across the panel, where the panel shows that value.
    pub(super) fn level(&self, value: f64, line: &Line) -> Drawn<DB> {
        if !self.shows(value) {
            return Ok(());
        }
        let ends = [(self.scale.low, value), (self.scale.high, value)];
        self.mark_ink(&ends);
        let y = self.y(value);
        self.page.path(&[(self.bounds.x0, y), (self.bounds.x1, y)], line)
    }

    /// An upright line at a size.
    pub(super) fn upright(&self, size: f64, line: &Line) -> Drawn<DB> {
        let x = self.x(size);
        let steps = (self.bounds.y1 - self.bounds.y0) / 6.0;
        let ys = (0..=steps as usize).map(|i| (x, self.bounds.y0 + 6.0 * i as f64));
        self.ink.borrow_mut().extend(ys);
        self.page.path(&[(x, self.bounds.y0), (x, self.bounds.y1)], line)
    }

    /// A strip along the panel's foot between two places on the page.
    pub(super) fn strip(&self, from: f64, to: f64, height: f64, color: RGBColor) -> Drawn<DB> {
        let b = self.bounds;
        let strip = Rect {
            x0: from.max(b.x0),
            y0: b.y1 - height,
            x1: to.min(b.x1),
            y1: b.y1,
        };
        self.page.rect(strip, color, 1.0)
    }

    /// Remembers points along a drawn line, so that notes can keep off it.
    fn mark_ink(&self, line: &[(f64, f64)]) {
        let mut ink = self.ink.borrow_mut();
        for w in line.windows(2) {
            let (a, b) = ((self.x(w[0].0), self.y(w[0].1)), (self.x(w[1].0), self.y(w[1].1)));
            // Where sizes lie denser than that, not every one of them is needed.
            if ink
                .last()
                .is_some_and(|l: &(f64, f64)| libm::hypot(b.0 - l.0, b.1 - l.1) < 3.0)
            {
                continue;
            }
            let steps = (libm::hypot(b.0 - a.0, b.1 - a.1) / 6.0).ceil().max(1.0);
            ink.extend((0..=steps as usize).map(|i| {
                let t = i as f64 / steps;
                (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
            }));
        }
    }

    /// Remembers points spread over a filled area given as (size, low, high).
    fn mark_ground(&self, points: &[&(f64, f64, f64)]) {
        const APART: f64 = 12.0;
        let mut ink = self.ink.borrow_mut();
        let mut next = f64::NEG_INFINITY;
        for w in points.windows(2) {
            let place = |p: &(f64, f64, f64)| (self.x(p.0), self.y(p.2), self.y(p.1));
            let (a, b) = (place(w[0]), place(w[1]));
            let mut x = a.0.max(next);
            while x <= b.0 && b.0 > a.0 {
                let t = (x - a.0) / (b.0 - a.0);
                let (top, bottom) = (a.1 + (b.1 - a.1) * t, a.2 + (b.2 - a.2) * t);
                ink.extend((0..=((bottom - top) / APART) as usize).map(|i| (x, top + APART * i as f64)));
                x += APART;
                next = x;
            }
        }
    }

    /// Lines of text on the freest of the wanted places, each given as a point and on which side of it the text stands.
    /// A white ground keeps it readable where no place is free.
    pub(super) fn note(&self, lines: &[(&str, Letters)], places: &[((f64, f64), HPos)]) -> Drawn<DB> {
        self.placed_note(lines, 0.0, places).map(|_| ())
    }

    /// [`Self::note`] with room kept free before the text; tells where it stands.
    fn placed_note(
        &self,
        lines: &[(&str, Letters)],
        room_before: f64,
        places: &[((f64, f64), HPos)],
    ) -> Result<Option<Rect>, DrawingAreaErrorKind<DB::ErrorType>> {
        let wide = lines
            .iter()
            .map(|(t, l)| room_before + lettering::width(t, l.weight, l.size))
            .fold(0.0, f64::max);
        let tall = 18.0 * lines.len() as f64;
        let rects: Vec<Rect> = places
            .iter()
            .map(|&((x, y), side)| {
                let x0 = match side {
                    HPos::Left => x,
                    HPos::Right => x - wide,
                    HPos::Center => x - wide / 2.0,
                };
                Rect {
                    x0,
                    y0: y - tall / 2.0,
                    x1: x0 + wide,
                    y1: y + tall / 2.0,
                }
            })
            .collect();
        let best = labels::freest(&rects, self.bounds, &self.taken.borrow(), &self.ink.borrow());
        let Some(i) = best else { return Ok(None) };
        let (rect, side) = (rects[i], places[i].1);
        self.page.rect(rect.grown(3.0), WHITE, 0.88)?;
        self.taken.borrow_mut().push(rect);
        for (n, (text, letters)) in lines.iter().enumerate() {
            let x = match side {
                HPos::Left => rect.x0 + room_before,
                HPos::Right => rect.x1,
                HPos::Center => (rect.x0 + rect.x1) / 2.0,
            };
            self.page
                .text((x, rect.y0 + 18.0 * n as f64 + 9.0), text, *letters, side, VPos::Center)?;
        }
        Ok(Some(rect))
    }

    /// A one-line note with an arrow head before it: there is more that way.
    pub(super) fn pointing_note(
        &self,
        text: &str,
        letters: Letters,
        up: bool,
        places: &[((f64, f64), HPos)],
    ) -> Drawn<DB> {
        let Some(rect) = self.placed_note(&[(text, letters)], 16.0, places)? else {
            return Ok(());
        };
        let (x, y) = (rect.x0 + 5.5, (rect.y0 + rect.y1) / 2.0);
        let (tip, base) = if up { (y - 4.5, y + 4.5) } else { (y + 4.5, y - 4.5) };
        self.page
            .fill(&[(x, tip), (x - 5.5, base), (x + 5.5, base)], letters.color, 1.0)
    }

    /// Labels to the right of the plot, each beside the end of its line.
    pub(super) fn end_labels(&self, ends: &[EndLabel]) -> Drawn<DB> {
        let wanted: Vec<f64> = ends.iter().map(|e| self.y(e.value)).collect();
        let heights = labels::spread(&wanted, LABEL_GAP, self.bounds.y0 - 8.0, self.bounds.y1 - 2.0);
        let left = self.bounds.x1 + GUTTER + 8.0;
        for ((end, &from), &y) in ends.iter().zip(&wanted).zip(&heights) {
            if self.shows(end.value) {
                let edge = self.bounds.x1;
                self.page
                    .path(&[(edge + 3.0, from), (edge + GUTTER, y)], &Line::solid(AXIS, 1.0))?;
            }
            let x = match end.key {
                Key::Line(line) => {
                    self.page.path(&[(left - 4.0, y), (left + 20.0, y)], &line)?;
                    left + KEY_WIDE
                }
                Key::Area(color) => {
                    self.page.rect(
                        Rect {
                            x0: left - 4.0,
                            y0: y - 6.0,
                            x1: left + 20.0,
                            y1: y + 6.0,
                        },
                        color,
                        1.0,
                    )?;
                    left + KEY_WIDE
                }
            };
            let room = end_label_room(&self.bounds, &end.figure);
            let name = lettering::shorten(&end.name, LABEL.weight, LABEL.size, room);
            self.page.text((x, y), &name, LABEL, HPos::Left, VPos::Center)?;
            let x = x + lettering::width(&name, LABEL.weight, LABEL.size) + 6.0;
            self.page.text((x, y), &end.figure, STRONG, HPos::Left, VPos::Center)?;
        }
        Ok(())
    }

    /// Writes a text around a point without looking for room; notes keep off it.
    pub(super) fn name_at(&self, (x, y): (f64, f64), text: &str, letters: Letters) -> Drawn<DB> {
        let half = lettering::width(text, letters.weight, letters.size) / 2.0;
        self.taken.borrow_mut().push(Rect {
            x0: x - half,
            y0: y - 9.0,
            x1: x + half,
            y1: y + 9.0,
        });
        self.page.text((x, y), text, letters, HPos::Center, VPos::Center)
    }
}

/// Room of a key beside the plot, in pixels.
const KEY_WIDE: f64 = 27.0;

/// Room for the name of an end label to the right of a panel, beside its key and this figure.
pub(super) fn end_label_room(panel: &Rect, figure: &str) -> f64 {
    let figure_width = lettering::width(figure, STRONG.weight, STRONG.size);
    f64::from(WIDTH) - 12.0 - (panel.x1 + GUTTER + 8.0 + KEY_WIDE) - figure_width - 6.0
}

/// Height of a row of [`Rows`] at the least, in pixels.
pub(super) const ROW: f64 = 30.0;

/// A panel of named rows over one level axis: names to the left, a figure at the right end of each row.
pub(super) struct Rows<'p, DB: DrawingBackend> {
    page: &'p Page<DB>,
    pub(super) bounds: Rect,
    scale: SizeScale,
    count: usize,
}

#[allow(dead_code)]
impl<'p, DB: DrawingBackend> Rows<'p, DB> {
    /// Draws title, grid, ticks and names; `names_wide` is the room for names in pixels.
    pub(super) fn new(
        page: &'p Page<DB>,
        bounds: Rect,
        head: &PanelHead<'_>,
        names: &[String],
        names_wide: f64,
        axis: &Axis,
    ) -> Result<Self, DrawingAreaErrorKind<DB::ErrorType>> {
        let title_at = (MARGIN, bounds.y0 - 20.0);
        page.text(title_at, head.title, PANEL_TITLE, HPos::Left, VPos::Bottom)?;
        let after = MARGIN + lettering::width(head.title, PANEL_TITLE.weight, PANEL_TITLE.size) + 12.0;
        page.text((after, title_at.1), head.unit, PANEL_UNIT, HPos::Left, VPos::Bottom)?;
        let rows = Self {
            page,
            bounds: Rect {
                x0: MARGIN + names_wide,
                ..bounds
            },
            scale: axis.scale,
            count: names.len().max(1),
        };
        let b = rows.bounds;
        let spots: Vec<(f64, f64)> = axis
            .ticks
            .iter()
            .map(|(value, text)| (rows.x(*value), lettering::width(text, TICK.weight, TICK.size)))
            .collect();
        let kept = labels::without_overlap(&spots, 10.0);
        for ((&(x, _), (value, text)), _) in spots.iter().zip(&axis.ticks).zip(kept).filter(|(_, kept)| *kept) {
            let crisp = x.floor() + 0.5;
            let color = if *value == 0.0 { AXIS } else { GRID };
            page.path(&[(crisp, b.y0), (crisp, b.y1)], &Line::solid(color, 1.0))?;
            page.text((x, b.y1 + 10.0), text, TICK, HPos::Center, VPos::Top)?;
        }
        let base = b.y1.floor() + 0.5;
        page.path(&[(b.x0, base), (b.x1, base)], &Line::solid(AXIS, 1.0))?;
        for (row, name) in names.iter().enumerate() {
            let shown = lettering::shorten(name, LABEL.weight, LABEL.size, names_wide - 14.0);
            page.text((b.x0 - 10.0, rows.y(row)), &shown, LABEL, HPos::Right, VPos::Center)?;
        }
        Ok(rows)
    }

    /// Place of a value; values beyond the axis are taken to its nearer end.
    pub(super) fn x(&self, value: f64) -> f64 {
        let share = self.scale.share(value.clamp(self.scale.low, self.scale.high));
        self.bounds.x0 + (self.bounds.x1 - self.bounds.x0) * share
    }

    /// Middle of a row.
    pub(super) fn y(&self, row: usize) -> f64 {
        self.bounds.y0 + (self.bounds.y1 - self.bounds.y0) * (row as f64 + 0.5) / self.count as f64
    }

    /// Half a bar's thickness, as a share of what a row can hold.
    pub(super) fn half(&self, share: f64) -> f64 {
        (self.bounds.y1 - self.bounds.y0) / self.count as f64 / 2.0 * share
    }

    /// A bar in a row from one value to another; `thick` is its share of the row's height, `off` its place in the row
    /// from -1 (top) to 1 (foot).
    pub(super) fn bar(
        &self,
        row: usize,
        (from, to): (f64, f64),
        (thick, off): (f64, f64),
        color: RGBColor,
    ) -> Drawn<DB> {
        let (a, b) = (self.x(from), self.x(to));
        let middle = self.y(row) + self.half(1.0) * off;
        let half = self.half(thick);
        if (b - a).abs() < 0.05 {
            return Ok(());
        }
        self.page.rect(
            Rect {
                x0: a.min(b),
                y0: middle - half,
                x1: a.max(b),
                y1: middle + half,
            },
            color,
            1.0,
        )
    }

    /// A thin line in a row from one value to another: an interval.
    pub(super) fn whisker(&self, row: usize, (from, to): (f64, f64), off: f64, line: &Line) -> Drawn<DB> {
        let y = self.y(row) + self.half(1.0) * off;
        self.page.path(&[(self.x(from), y), (self.x(to), y)], line)
    }

    /// A dot in a row.
    pub(super) fn dot(&self, row: usize, value: f64, off: f64, radius: f64, color: RGBColor) -> Drawn<DB> {
        let centre = (self.x(value), self.y(row) + self.half(1.0) * off);
        self.page.disc(centre, radius + 1.5, WHITE)?;
        self.page.disc(centre, radius, color)
    }

    /// An upright line through all rows.
    pub(super) fn upright(&self, value: f64, line: &Line) -> Drawn<DB> {
        if value < self.scale.low || value > self.scale.high {
            return Ok(());
        }
        let x = self.x(value);
        self.page.path(&[(x, self.bounds.y0), (x, self.bounds.y1)], line)
    }

    /// A figure to the right of the rows.
    pub(super) fn figure(&self, row: usize, text: &str, letters: Letters) -> Drawn<DB> {
        let room = f64::from(WIDTH) - 12.0 - self.bounds.x1 - GUTTER;
        let text = lettering::shorten(text, letters.weight, letters.size, room);
        self.page.text(
            (self.bounds.x1 + GUTTER, self.y(row)),
            &text,
            letters,
            HPos::Left,
            VPos::Center,
        )
    }

    /// A text within a row, beside a value.
    pub(super) fn note(&self, row: usize, value: f64, off: f64, text: &str, letters: Letters, side: HPos) -> Drawn<DB> {
        let y = self.y(row) + self.half(1.0) * off;
        let gap = match side {
            HPos::Left => 7.0,
            HPos::Right => -7.0,
            HPos::Center => 0.0,
        };
        self.page
            .text((self.x(value) + gap, y), text, letters, side, VPos::Center)
    }

    /// Names the level axis, under the rows.
    pub(super) fn name_axis(&self, text: &str) -> Drawn<DB> {
        let middle = (self.bounds.x0 + self.bounds.x1) / 2.0;
        self.page
            .text((middle, self.bounds.y1 + 34.0), text, LABEL, HPos::Center, VPos::Top)
    }
}

/// A side of a cell of [`Cells`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Top,
    Right,
}

/// A map: a grid of cells, columns from left to right, rows from the foot upwards.
pub(super) struct Cells<'p, DB: DrawingBackend> {
    page: &'p Page<DB>,
    bounds: Rect,
    columns: usize,
    rows: usize,
}

impl<'p, DB: DrawingBackend> Cells<'p, DB> {
    /// Draws title and the names of columns and rows, as many as have room.
    pub(super) fn new(
        page: &'p Page<DB>,
        bounds: Rect,
        head: &PanelHead<'_>,
        columns: &[String],
        rows: &[String],
    ) -> Result<Self, DrawingAreaErrorKind<DB::ErrorType>> {
        let title_at = (MARGIN, bounds.y0 - 20.0);
        page.text(title_at, head.title, PANEL_TITLE, HPos::Left, VPos::Bottom)?;
        let after = MARGIN + lettering::width(head.title, PANEL_TITLE.weight, PANEL_TITLE.size) + 12.0;
        page.text((after, title_at.1), head.unit, PANEL_UNIT, HPos::Left, VPos::Bottom)?;
        // Long names of rows need more room than figures do.
        let widest = |names: &[String]| {
            let widths = names.iter().map(|n| lettering::width(n, TICK.weight, TICK.size));
            widths.fold(0.0, f64::max)
        };
        let left = (MARGIN + widest(rows).min(200.0) + 12.0).max(bounds.x0);
        let cells = Self {
            page,
            bounds: Rect { x0: left, ..bounds },
            columns: columns.len().max(1),
            rows: rows.len().max(1),
        };
        let b = cells.bounds;
        let (wide, tall) = cells.cell_size();
        let most = widest(columns).min(240.0);
        let every = ((most + 10.0) / wide).ceil().max(1.0) as usize;
        for (column, name) in columns.iter().enumerate().step_by(every) {
            let name = lettering::shorten(name, TICK.weight, TICK.size, 240.0);
            let x = b.x0 + wide * (column as f64 + 0.5);
            page.text((x, b.y1 + 10.0), &name, TICK, HPos::Center, VPos::Top)?;
        }
        let every = (18.0 / tall).ceil().max(1.0) as usize;
        for (row, name) in rows.iter().enumerate().step_by(every) {
            let name = lettering::shorten(name, TICK.weight, TICK.size, 200.0);
            let y = b.y1 - tall * (row as f64 + 0.5);
            page.text((b.x0 - 10.0, y), &name, TICK, HPos::Right, VPos::Center)?;
        }
        Ok(cells)
    }

    fn cell_size(&self) -> (f64, f64) {
        let b = self.bounds;
        ((b.x1 - b.x0) / self.columns as f64, (b.y1 - b.y0) / self.rows as f64)
    }

    fn cell(&self, (column, row): (usize, usize)) -> Rect {
        let (wide, tall) = self.cell_size();
        let (x0, y1) = (
            self.bounds.x0 + wide * column as f64,
            self.bounds.y1 - tall * row as f64,
        );
        Rect {
            x0,
            y0: y1 - tall,
            x1: x0 + wide,
            y1,
        }
    }

    /// Shades a cell.
    pub(super) fn fill(&self, at: (usize, usize), color: RGBColor) -> Drawn<DB> {
        self.page.rect(self.cell(at), color, 1.0)
    }

    /// Writes a figure into a cell where there is room; a bold one that has none leaves a dot.
    pub(super) fn figure(&self, at: (usize, usize), text: &str, color: RGBColor, bold: bool) -> Drawn<DB> {
        let letters = Letters {
            color,
            ..(if bold { STRONG } else { LABEL })
        };
        let r = self.cell(at);
        let centre = ((r.x0 + r.x1) / 2.0, (r.y0 + r.y1) / 2.0);
        // All figures by the room of bold ones, so that neighbours do not differ in having one.
        let wide = lettering::width(text, STRONG.weight, STRONG.size);
        if wide + 8.0 <= r.x1 - r.x0 && r.y1 - r.y0 >= 18.0 {
            self.page.text(centre, text, letters, HPos::Center, VPos::Center)
        } else if bold {
            self.page.disc(centre, 2.2, color)
        } else {
            Ok(())
        }
    }

    /// A line along a side of a cell.
    pub(super) fn edge(&self, at: (usize, usize), side: Side, line: &Line) -> Drawn<DB> {
        let r = self.cell(at);
        let ends = match side {
            Side::Top => [(r.x0, r.y0), (r.x1, r.y0)],
            Side::Right => [(r.x1, r.y0), (r.x1, r.y1)],
        };
        self.page.path(&ends, line)
    }

    /// To the right of the map: what the shades mean, then a line and what that means.
    pub(super) fn legend(&self, shades: &[(RGBColor, String)], line: Option<&Line>, said: &[&str]) -> Drawn<DB> {
        let x = self.bounds.x1 + GUTTER + 8.0;
        let mut y = self.bounds.y0 + 10.0;
        for (color, text) in shades {
            let swatch = Rect {
                x0: x,
                y0: y - 9.0,
                x1: x + 26.0,
                y1: y + 9.0,
            };
            self.page.rect(swatch.grown(1.0), AXIS, 1.0)?;
            self.page.rect(swatch, *color, 1.0)?;
            self.page.text((x + 36.0, y), text, LABEL, HPos::Left, VPos::Center)?;
            y += 24.0;
        }
        y += 18.0;
        if let Some(line) = line {
            self.page.path(&[(x, y), (x + 26.0, y)], line)?;
        }
        for text in said {
            self.page.text((x + 36.0, y), text, LABEL, HPos::Left, VPos::Center)?;
            y += 20.0;
        }
        Ok(())
    }

    /// Names the axis of columns, under the map.
    pub(super) fn name_axis(&self, text: &str) -> Drawn<DB> {
        let middle = (self.bounds.x0 + self.bounds.x1) / 2.0;
        self.page
            .text((middle, self.bounds.y1 + 34.0), text, LABEL, HPos::Center, VPos::Top)
    }
}

/// The unbroken stretches of a curve.
fn stretches(points: &[(f64, Option<f64>)]) -> Vec<Vec<(f64, f64)>> {
    let mut out: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
    for &(x, y) in points {
        match (y.filter(|y| y.is_finite()), out.last_mut()) {
            (Some(y), Some(stretch)) => stretch.push((x, y)),
            _ => out.push(Vec::new()),
        }
    }
    out.retain(|stretch| !stretch.is_empty());
    out
}

/// A hyphen before a figure as the minus it means.
pub(super) fn minus(text: &str) -> String {
    text.strip_prefix('-')
        .map_or_else(|| text.to_owned(), |rest| format!("−{rest}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_break_where_there_is_no_value() {
        let points = [
            (1.0, None),
            (2.0, Some(5.0)),
            (3.0, Some(f64::INFINITY)),
            (4.0, Some(1.0)),
            (5.0, Some(2.0)),
        ];
        assert_eq!(stretches(&points), [vec![(2.0, 5.0)], vec![(4.0, 1.0), (5.0, 2.0)]]);
        assert!(stretches(&[]).is_empty());
    }

    #[test]
    fn minus_is_a_minus() {
        assert_eq!(minus("-3.20"), "−3.20");
        assert_eq!(minus("3-5"), "3-5");
    }
}
