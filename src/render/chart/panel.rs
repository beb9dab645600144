//! A field of curves: its axes, lines, bands, labels at line ends and notes on free ground.

use super::canvas::{Canvas, UNIT};
use super::labels::{self, Freest, Ink, Over, Rect};
use super::lettering;
use super::page::{GUTTER, Page, TICK, units, upright_ticks};
use crate::render::format;
use crate::render::plot::palette::{AXIS, BAND, Color, GRID, WHITE};
use crate::render::plot::ticks::SizeScale;
use crate::render::plot::{
    self, Curves, EndLabel, Key, LABEL, Layer, Letters, Line, Shape, Side, Spot, Way, Whisker, X, Y,
};
use plotters::coord::ranged1d::{KeyPointHint, NoDefaultFormatting, Ranged};
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::VPos;
use std::cell::{Cell, RefCell};
use std::ops::Range;

const LABEL_GAP: f64 = 19.0;
/// Height of a strip along the foot, and of one of the lines of whiskers above curves, in pixels.
const STRIP: f64 = 6.0;

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

/// Curves on the page.
struct Field<'p> {
    page: &'p Page,
    bounds: Rect,
    panel: &'p plot::Panel,
    scale: SizeScale,
    curves: &'p Curves,
    range: (f64, f64),
    /// Where a key begins that stands above the panel.
    key: f64,
    area: DrawingArea<Canvas, Cartesian2d<SizeCoord, RangedCoordf64>>,
    /// What has been drawn and must stay readable, and where labels stand.
    ink: RefCell<Ink>,
    taken: RefCell<Vec<Rect>>,
    /// How high the highest note is that had no free place.
    lacking: Cell<f64>,
}

/// Draws a panel of curves. Where a note has no free place, the curves leave it some room above them, if it has one then.
pub(super) fn draw(page: &Page, bounds: Rect, panel: &plot::Panel, curves: &Curves) {
    let tried = |room: f64| {
        let scratch = page.scratch();
        let lacking = Field::new(&scratch, bounds, (panel, curves), room).draw();
        (scratch, lacking)
    };
    let (mut drawn, lacking) = tried(curves.headroom);
    if lacking > 0.0
        && let (roomy, 0.0) = tried(curves.headroom + lacking)
    {
        drawn = roomy;
    }
    page.take(drawn);
    if panel.named {
        page.name_axis(bounds, &panel.axis.label());
    }
}

impl<'p> Field<'p> {
    /// With so much room above the curves.
    fn new(page: &'p Page, bounds: Rect, (panel, curves): (&'p plot::Panel, &'p Curves), room: f64) -> Self {
        let tall = bounds.y1 - bounds.y0;
        let (low, high) = curves.range;
        let range = (low, low + (high - low) * tall / (tall - room.min(0.6 * tall)));
        let pixels = (units(bounds.x0)..units(bounds.x1), units(bounds.y1)..units(bounds.y0));
        let coord = Cartesian2d::new(SizeCoord(panel.axis.scale), range.0..range.1, pixels);
        Self {
            page,
            bounds,
            panel,
            scale: panel.axis.scale,
            curves,
            range,
            key: 0.0,
            area: page.area(coord),
            ink: RefCell::default(),
            taken: RefCell::default(),
            lacking: Cell::new(0.0),
        }
    }

    /// Draws it all; how high the highest note is that had no free place.
    fn draw(&mut self) -> f64 {
        let (_, word) = format::tick_scale(self.range.0, self.range.1);
        self.key = self.page.heading(self.bounds, word, self.panel);
        self.grid(&self.panel.axis.ticks);
        // Notes and names keep off all that is drawn, so that comes first.
        let (texts, shapes): (Vec<&Layer>, Vec<&Layer>) =
            self.curves.layers.iter().partition(|layer| layer.gives_way());
        for layer in shapes.into_iter().chain(texts) {
            self.layer(layer);
        }
        self.lacking.get()
    }

    fn layer(&self, layer: &Layer) {
        let lone = self.curves.lone;
        match &layer.shape {
            Shape::Curve { points, line, dots } => match points.as_slice() {
                [(at, Some(value))] if lone > 0.0 => self.rung(*at, lone, *value, line),
                _ => self.curve(points, line, *dots),
            },
            Shape::Band { points, color } => match points.as_slice() {
                [(at, low, high)] if lone > 0.0 => self.bar(*at, lone, (*low, *high), *color),
                _ => self.between_curves(points, *color),
            },
            Shape::Bars { points, step, color } => points
                .iter()
                .for_each(|&(at, low, high)| self.bar(at, self.bar_half(*step), (low, high), *color)),
            Shape::Level { value, line } => self.level(*value, line),
            Shape::Upright { at, line } => self.upright(*at, line),
            Shape::Strip { from, to, color } => self.strip(self.x(*from), self.x(*to), *color),
            Shape::StripAt { at, step, color } => {
                let (x, half) = (self.x(*at), self.bar_half(*step));
                self.strip(x - half, x + half, *color)
            }
            Shape::Marks(_) | Shape::Spread(_) => {}
            Shape::Whisker(whisker) => self.whisker(whisker),
            Shape::Dot { at, radius, color } => self.dot(*at, *radius, *color),
            Shape::Note { lines, spots, arrow } => self.note(lines, spots, *arrow),
            Shape::Inside { points, name, color } => self.inside(points, name, *color),
            Shape::Ends(ends) => {
                let mut all = self.whisker_labels();
                all.extend(ends.iter().cloned());
                self.end_labels(&all)
            }
        }
    }

    fn grid(&self, level: &[(f64, String)]) {
        let hair = |color| Line::solid(color, 1.0);
        let b = self.bounds;
        for (x, (value, text)) in self.page.with_room(level, |value| self.x(value)) {
            let crisp = self.x(*value).floor() + 0.5;
            self.page.path(&[(crisp, b.y0), (crisp, b.y1)], &hair(GRID));
            self.page.path(&[(crisp, b.y1), (crisp, b.y1 + 5.0)], &hair(AXIS));
            self.page.text((x, b.y1 + 10.0), text, TICK, Side::Center, VPos::Top);
        }
        if !self.curves.bare {
            for (value, text) in upright_ticks(self.range, b.y1 - b.y0) {
                let y = self.y(value).floor() + 0.5;
                let color = if value == 0.0 { AXIS } else { GRID };
                self.page.path(&[(b.x0, y), (b.x1, y)], &hair(color));
                self.page.text((b.x0 - 10.0, y), &text, TICK, Side::Right, VPos::Center);
            }
        }
        let base = b.y1.floor() + 0.5;
        self.page.path(&[(b.x0, base), (b.x1, base)], &hair(AXIS))
    }

    fn x(&self, size: f64) -> f64 {
        f64::from(self.area.map_coordinate(&(size, self.range.0)).0) / UNIT
    }

    /// Height on the page; values beyond the range are taken to its nearer end.
    fn y(&self, value: f64) -> f64 {
        let shown = value.clamp(self.range.0, self.range.1);
        f64::from(self.area.map_coordinate(&(self.scale.low, shown)).1) / UNIT
    }

    /// Points on the page.
    fn places(&self, line: &[(f64, f64)]) -> Vec<(f64, f64)> {
        line.iter().map(|p| (self.x(p.0), self.y(p.1))).collect()
    }

    fn shows(&self, value: f64) -> bool {
        value >= self.range.0 && value <= self.range.1
    }

    /// A curve through values by size, broken where there is no value and cut where it leaves the panel. Values that
    /// stand alone are drawn as dots, all of them where `dots` says so.
    fn curve(&self, points: &[(f64, Option<f64>)], line: &Line, dots: bool) {
        // White seams are no curves.
        let seam = line.color == WHITE;
        for stretch in stretches(points) {
            for piece in self.cut(&stretch) {
                if !seam {
                    self.mark_ink(&piece);
                }
                self.page.path(&self.places(&piece), line);
            }
            for &(x, y) in stretch
                .iter()
                .filter(|p| (dots || stretch.len() == 1) && self.shows(p.1))
            {
                self.dot((x, y), line.width + 1.6, line.color);
            }
        }
        if !seam {
            self.mark_ends_beyond(points, line.color);
        }
    }

    /// An arrow head at each place where a curve leaves the panel, unless a note says how far it goes.
    fn mark_ends_beyond(&self, points: &[(f64, Option<f64>)], color: Color) {
        let said = |way: Way| {
            let mut layers = self.curves.layers.iter();
            layers.any(|layer| matches!(&layer.shape, Shape::Note { arrow: Some(to), .. } if *to == way))
        };
        let (low, high) = self.range;
        for (end, way) in [(low, Way::Down), (high, Way::Up)] {
            let beyond = |v: f64| if way == Way::Up { v > end } else { v < end };
            for stretch in stretches(points).iter().filter(|_| !said(way)) {
                for w in stretch.windows(2).filter(|w| beyond(w[0].1) != beyond(w[1].1)) {
                    let (x, _) = self.between(w[0], w[1], (end - w[0].1) / (w[1].1 - w[0].1));
                    self.arrow_head((self.x(x), self.y(end)), way, color);
                }
            }
        }
    }

    /// An arrow head inside of the panel, its tip at the place.
    fn arrow_head(&self, (x, tip): (f64, f64), way: Way, color: Color) {
        let base = if way == Way::Up { tip + 9.0 } else { tip - 9.0 };
        self.ink.borrow_mut().strokes.push([(x, tip), (x, base)]);
        self.page.fill(&[(x, tip), (x - 5.5, base), (x + 5.5, base)], color)
    }

    /// A dot with a white rim.
    fn dot(&self, (x, y): (f64, f64), radius: f64, color: Color) {
        let centre = (self.x(x), self.y(y));
        let across = [(centre.0 - radius, centre.1), (centre.0 + radius, centre.1)];
        let upright = [(centre.0, centre.1 - radius), (centre.0, centre.1 + radius)];
        self.ink.borrow_mut().strokes.extend([across, upright]);
        self.page.disc(centre, radius + 1.5, WHITE);
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
    fn between_curves(&self, points: &[(f64, f64, f64)], color: Color) {
        let (low, high) = self.range;
        let finite: Vec<&(f64, f64, f64)> = points.iter().filter(|p| p.1.is_finite() && p.2.is_finite()).collect();
        if finite.len() < 2 {
            return;
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
        self.mark_ground(&columns, color);
        let top = columns.iter().map(|c| (c.0, inside(c.2)));
        let bottom = columns.iter().rev().map(|c| (c.0, inside(c.1)));
        let outline: Vec<(f64, f64)> = top.chain(bottom).collect();
        let closed: Vec<(f64, f64)> = outline.iter().chain(outline.first()).copied().collect();
        self.mark_ink(&closed);
        self.page.fill(&self.places(&outline), color);
    }

    /// A box around a size, `half` pixels to both sides, from one value to another, cut at the panel's ends.
    fn bar(&self, size: f64, half: f64, (from, to): (f64, f64), color: Color) {
        let x = self.x(size);
        let bar = Rect::new((x - half, self.y(to)), (x + half, self.y(from)));
        if bar.y1 - bar.y0 >= 0.05 {
            self.ink.borrow_mut().strokes.extend(bar.edges());
            self.page.rect(bar, color, 1.0);
        }
    }

    /// A short level line at a size, `half` pixels to both sides: what a curve is where there is one size only.
    fn rung(&self, size: f64, half: f64, value: f64, line: &Line) {
        if self.shows(value) {
            let (x, y) = (self.x(size), self.y(value));
            self.ink.borrow_mut().strokes.push([(x - half, y), (x + half, y)]);
            self.page.path(&[(x - half, y), (x + half, y)], line);
        }
    }

    /// A level line across the panel, where the panel shows that value.
    fn level(&self, value: f64, line: &Line) {
        if self.shows(value) {
            self.mark_ink(&[(self.scale.low, value), (self.scale.high, value)]);
            let y = self.y(value);
            self.page.path(&[(self.bounds.x0, y), (self.bounds.x1, y)], line);
        }
    }

    /// An upright line at a size.
    fn upright(&self, size: f64, line: &Line) {
        let x = self.x(size);
        let ends = [(x, self.bounds.y0), (x, self.bounds.y1)];
        self.ink.borrow_mut().strokes.push(ends);
        self.page.path(&ends, line)
    }

    /// A strip along the panel's foot between two places on the page.
    fn strip(&self, from: f64, to: f64, color: Color) {
        let b = self.bounds;
        let strip = Rect::new((from.max(b.x0), b.y1 - STRIP), (to.min(b.x1), b.y1));
        self.ink.borrow_mut().strokes.extend(strip.edges());
        self.page.rect(strip, color, 1.0)
    }

    /// Remembers a drawn line, so that notes can keep off it.
    fn mark_ink(&self, line: &[(f64, f64)]) {
        let places = self.places(line);
        let strokes = places.windows(2).map(|w| [w[0], w[1]]);
        self.ink.borrow_mut().strokes.extend(strokes);
    }

    /// Remembers points spread over a filled area given as (size, low, high).
    fn mark_ground(&self, points: &[(f64, f64, f64)], color: Color) {
        const APART: f64 = 12.0;
        let mut ink = self.ink.borrow_mut();
        let mut next = f64::NEG_INFINITY;
        for w in points.windows(2) {
            let place = |p: &(f64, f64, f64)| (self.x(p.0), self.y(p.2), self.y(p.1));
            let (a, b) = (place(&w[0]), place(&w[1]));
            let mut x = a.0.max(next);
            while x <= b.0 && b.0 > a.0 {
                let t = (x - a.0) / (b.0 - a.0);
                let (top, bottom) = (a.1 + (b.1 - a.1) * t, a.2 + (b.2 - a.2) * t);
                let ys = (0..=((bottom - top) / APART) as usize).map(|i| (x, top + APART * i as f64));
                if color == BAND {
                    ink.pale.extend(ys);
                } else {
                    ink.dark.extend(ys);
                }
                x += APART;
                next = x;
            }
        }
    }

    /// Lines of text on the freest of the wanted places or, where none of them is free, on a free one near by; in more lines where that
    /// finds one. With an arrow head before them where there is more that way. A white ground keeps them readable, but within a pale
    /// area, which is one of its own.
    fn note(&self, lines: &[(String, Letters)], spots: &[Spot], arrow: Option<Way>) {
        let before = if arrow.is_some() { 16.0 } else { 0.0 };
        let widest = lines.iter().map(|(t, l)| lettering::width(t, *l));
        let widest = widest.fold(0.0, f64::max);
        let limit = self.bounds.x1 - self.bounds.x0 - before - 8.0;
        let narrower = [0.75, 0.6, 0.4]
            .into_iter()
            .filter_map(|share| broken(lines, share * widest));
        let mut best: Option<(Freest, Vec<(String, Letters)>)> = None;
        for lines in std::iter::once(wrapped(lines, limit)).chain(narrower) {
            let Some(found) = self.placed(&lines, spots, before) else {
                return;
            };
            if best.as_ref().is_none_or(|(best, _)| found.over < best.over) {
                best = Some((found, lines));
            }
            if found.over == Over::Nothing {
                break;
            }
        }
        let Some((found, lines)) = best else {
            return;
        };
        let (rect, side) = (found.place, spots[found.which].side);
        if found.over != Over::Nothing {
            self.lacking.set(self.lacking.get().max(rect.y1 - rect.y0 + 12.0));
        }
        if !self.ink.borrow().is_within_pale(rect) {
            self.page.rect(rect.grown(3.0), WHITE, 0.88);
        }
        self.taken.borrow_mut().push(rect);
        for (n, (text, letters)) in lines.iter().enumerate() {
            let x = match side {
                Side::Left => rect.x0 + before,
                Side::Right => rect.x1,
                Side::Center => (rect.x0 + rect.x1) / 2.0,
            };
            let y = rect.y0 + 18.0 * n as f64 + 9.0;
            self.page.text((x, y), text, *letters, side, VPos::Center);
        }
        if let (Some(way), Some((_, letters))) = (arrow, lines.first()) {
            let half = if way == Way::Up { -4.5 } else { 4.5 };
            let tip = (rect.x0 + 5.5, (rect.y0 + rect.y1) / 2.0 + half);
            self.arrow_head(tip, way, letters.color);
        }
    }

    /// Where lines of text go, of the wanted places and those near them; `before` them there is room for an arrow head.
    fn placed(&self, lines: &[(String, Letters)], spots: &[Spot], before: f64) -> Option<Freest> {
        let b = self.bounds;
        let widths = lines.iter().map(|(t, l)| before + lettering::width(t, *l));
        let (wide, tall) = (widths.fold(0.0, f64::max), 18.0 * lines.len() as f64);
        let rect = |spot: &Spot| {
            let (x, y) = self.place(spot);
            let x0 = match spot.side {
                Side::Left => x,
                Side::Right => x - wide,
                Side::Center => x - wide / 2.0,
            };
            // A panel may have room on neither side of what is told of.
            let (x0, y0) = (x0.min(b.x1 - 4.0 - wide).max(b.x0 + 4.0), y - tall / 2.0);
            Rect::new((x0, y0), (x0 + wide, y0 + tall))
        };
        let rects: Vec<Rect> = spots.iter().map(rect).collect();
        labels::freest(&rects, b, &self.taken.borrow(), &self.ink.borrow())
    }

    /// A wanted place on the page.
    fn place(&self, spot: &Spot) -> (f64, f64) {
        let b = self.bounds;
        let x = match spot.x {
            X::At(value, off) => self.x(value) + off,
            X::Within(value, off) => (self.x(value) + off).max(b.x0 + 8.0),
            X::Left(off) => b.x0 + off,
            X::Right(off) => b.x1 - off,
            X::Middle(off) => (b.x0 + b.x1) / 2.0 + off,
        };
        let y = match spot.y {
            Y::At(value, off) => self.y(value) + off,
            Y::Share(share) => b.y0 + share * (b.y1 - b.y0),
            Y::Below(off, share) => {
                let from = b.y0 + off;
                from + share * (b.y1 - from)
            }
            Y::Top(off) => b.y0 + off,
            Y::Foot(off) => b.y1 - off,
        };
        (x, y)
    }

    /// Half the width of a bar whose place is `step` from the next, in pixels.
    fn bar_half(&self, step: f64) -> f64 {
        let (a, b) = (
            self.scale.position(self.scale.low),
            self.scale.position(self.scale.high),
        );
        let wide = (self.bounds.x1 - self.bounds.x0) * step / (b - a);
        (0.36 * wide).clamp(0.5, 60.0)
    }

    /// Height of the so many-th line of whiskers, on the upright axis.
    fn whisker_at(&self, line_no: usize) -> f64 {
        let from_top = plot::WHISKER * (line_no as f64 + 0.5) + 4.0;
        self.range.1 * (1.0 - from_top / (self.bounds.y1 - self.bounds.y0))
    }

    /// A thick line where most lies, an upright tick, a dot at the middle.
    fn whisker(&self, whisker: &Whisker) {
        let (top, tall) = (self.range.1, self.bounds.y1 - self.bounds.y0);
        let y = self.whisker_at(whisker.line_no);
        let (Key::Line(Line { color, .. }) | Key::Area(color)) = whisker.end.key;
        let ends = [(whisker.low, Some(y)), (whisker.high, Some(y))];
        self.curve(&ends, &Line::solid(color, 5.0), false);
        let half = top * 9.0 / tall;
        let ends = [(whisker.tick, Some(y - half)), (whisker.tick, Some(y + half))];
        self.curve(&ends, &Line::solid(color, 2.4), false);
        self.dot((whisker.middle, y), 5.0, color)
    }

    /// A name within an area where that is thick enough for letters; notes keep off it.
    fn inside(&self, points: &[(f64, f64, f64)], name: &str, color: Color) {
        let edges: Vec<(f64, f64, f64)> = points
            .iter()
            .map(|&(at, low, high)| (self.x(at), self.y(low), self.y(high)))
            .collect();
        let wide = lettering::width(name, LABEL);
        let rect = |middle| Rect::around(middle, wide, 18.0);
        let free = |at| !self.ink.borrow().crosses(rect(at));
        if let Some(at) = labels::roomiest(&edges, wide + 12.0, 19.0, free) {
            self.taken.borrow_mut().push(rect(at));
            self.page.text(at, name, LABEL.of(color), Side::Center, VPos::Center);
        }
    }

    fn whisker_labels(&self) -> Vec<EndLabel> {
        let label = |layer: &Layer| match &layer.shape {
            Shape::Whisker(whisker) => Some(EndLabel {
                value: self.whisker_at(whisker.line_no),
                ..whisker.end.clone()
            }),
            _ => None,
        };
        self.curves.layers.iter().filter_map(label).collect()
    }

    /// Labels to the right of the plot, each beside the end of its line; above it where there is no room beside.
    fn end_labels(&self, ends: &[EndLabel]) {
        let paper = self.page.paper;
        if paper.narrow {
            return self.page.keys_above(ends, self.key, paper.keys_a_line(self.panel));
        }
        // Those beyond the panel too stand as they lie, the higher above; of two without a value the later.
        let mut ends: Vec<&EndLabel> = ends.iter().rev().collect();
        ends.sort_by(|a, b| b.value.total_cmp(&a.value));
        let wanted: Vec<f64> = ends.iter().map(|e| self.y(e.value)).collect();
        let heights = labels::spread(&wanted, LABEL_GAP, self.bounds.y0 - 8.0, self.bounds.y1 - 2.0);
        let left = self.bounds.x1 + GUTTER + 8.0;
        for ((end, &from), &y) in ends.iter().zip(&wanted).zip(&heights) {
            if self.shows(end.value) {
                let edge = self.bounds.x1;
                self.page
                    .path(&[(edge + 3.0, from), (edge + GUTTER, y)], &Line::solid(AXIS, 1.0));
            }
            self.page.end_label(end, (left, y), paper.width - 12.0);
        }
    }
}

/// Lines of text, broken where they are longer than the limit.
fn wrapped(lines: &[(String, Letters)], limit: f64) -> Vec<(String, Letters)> {
    let broken = lines.iter().flat_map(|(text, letters)| {
        let lines = lettering::wrap(text, *letters, limit, 3);
        lines.into_iter().map(move |line| (line, *letters))
    });
    broken.collect()
}

/// The same where that cuts nothing.
fn broken(lines: &[(String, Letters)], limit: f64) -> Option<Vec<(String, Letters)>> {
    let wrapped = wrapped(lines, limit);
    let cut = |lines: &[(String, Letters)]| lines.iter().filter(|(text, _)| text.contains('…')).count();
    (cut(&wrapped) == cut(lines)).then_some(wrapped)
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
}
