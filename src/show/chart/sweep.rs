//! The sweep's chart: three panels over one axis of batch sizes.

use super::frame::{Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, STRONG, minus};
use super::labels::Rect;
use super::palette::{ASKED, BAND, INK, MAIN, MUTED, PARTS, PAYS, SECOND, STEPS};
use super::ticks::{self, SizeScale, Stretch};
use crate::answers::sweep::{Floor, Parts, SizeAnswer, Sweep};
use crate::show::format;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::RGBColor;
use plotters::style::text_anchor::{HPos, VPos};
use plotters_backend::DrawingBackend;

/// Height of the page in pixels.
pub(super) const HEIGHT: u32 = 1380;

const MEDIAN: Line = Line::solid(MAIN, 3.0);
const LONG_RUN: Line = Line::dashed(SECOND, 2.0, 7.0, 4.0);
const TARGET: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const CEILING: Line = Line::dashed(MUTED, 1.6, 2.0, 4.0);
const PAYING: Line = Line::dashed(PAYS, 1.6, 4.0, 3.0);

/// Up to so many sizes each is drawn as a thing of its own: dots on curves, bars for parts.
const FEW: usize = 12;
/// Height of the strip that shows which sizes pay, in pixels.
const STRIP: f64 = 6.0;
/// Half the width of the bar that stands for one size alone, in pixels.
const LONE_HALF: f64 = 28.0;
/// Curves nearer than this everywhere, in pixels, are one curve to the eye and get one label.
const SAME: f64 = 1.5;

/// What the chart says, for those who cannot see it.
pub(super) fn description(answer: &Sweep) -> String {
    let pays = match answer.first_paying_size {
        Some(size) => format!("the first size that pays is {size}"),
        None => "no size pays".to_owned(),
    };
    format!(
        "Three panels against batch size: hourly rate with the range of eight runs in ten, price floor at several \
         confidences, hands-on time per piece by what it goes into. At a price of {} and a target of {} an hour in {} of \
         runs, {pays}.",
        format::typed_money(answer.price, &answer.currency),
        format::typed_money(answer.target, &answer.currency),
        format::confidence(answer.confidence),
    )
}

/// Draws the whole page. The answer has at least one size.
pub(super) fn draw<DB: DrawingBackend>(root: DrawingArea<DB, Shift>, answer: &Sweep, headline: &str) -> Drawn<DB> {
    let page = Page::new(root, &answer.title, headline, &foot(answer))?;
    let boxes = page.stacked(&[0.42, 0.31, 0.27]);
    let chart = Chart::new(answer);
    let [rate, floor, time] = boxes.as_slice() else {
        return Ok(());
    };
    chart.rate_panel(&page, *rate)?;
    chart.floor_panel(&page, *floor)?;
    chart.time_panel(&page, *time)
}

fn foot(answer: &Sweep) -> String {
    format!(
        "Asked price {} · target {} an hour in {} of runs · {} simulated runs of each size · seed {} · batchwright {}",
        format::typed_money(answer.price, &answer.currency),
        format::typed_money(answer.target, &answer.currency),
        format::confidence(answer.confidence),
        format::count(answer.trials),
        answer.seed,
        answer.version,
    )
}

/// The answer with what all panels share.
struct Chart<'a> {
    answer: &'a Sweep,
    sizes: Vec<u32>,
    scale: SizeScale,
    few: bool,
}

impl<'a> Chart<'a> {
    fn new(answer: &'a Sweep) -> Self {
        let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
        let few = sizes.len() <= FEW;
        let scale = SizeScale::new(&sizes, few);
        Self {
            answer,
            sizes,
            scale,
            few,
        }
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    fn typed(&self, value: f64) -> String {
        minus(&format::typed_amount(value, &self.answer.currency))
    }

    fn values(&self, of: impl Fn(&SizeAnswer) -> f64) -> Vec<f64> {
        self.answer.sizes.iter().map(of).collect()
    }

    fn points(&self, of: impl Fn(&SizeAnswer) -> Option<f64>) -> Vec<(f64, Option<f64>)> {
        self.answer.sizes.iter().map(|s| (f64::from(s.size), of(s))).collect()
    }

    fn last(&self, of: impl Fn(&SizeAnswer) -> f64) -> f64 {
        self.answer.sizes.last().map_or(f64::NAN, of)
    }

    /// Half the width of a bar, in pixels.
    fn bar_half<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> f64 {
        if self.sizes.len() < 2 {
            return LONE_HALF;
        }
        let (a, b) = (
            self.scale.position(self.scale.low),
            self.scale.position(self.scale.high),
        );
        let wide = (panel.bounds.x1 - panel.bounds.x0) * self.scale.narrowest_step(&self.sizes) / (b - a);
        (0.36 * wide).clamp(0.5, 60.0)
    }

    /// A curve, or what stands for one where there is one size only.
    fn curve<DB: DrawingBackend>(
        &self,
        panel: &Panel<'_, DB>,
        points: &[(f64, Option<f64>)],
        line: &Line,
        dots: bool,
    ) -> Drawn<DB> {
        match points {
            [(size, Some(value))] => panel.rung(*size, LONE_HALF, *value, line),
            _ => panel.curve(points, line, dots),
        }
    }

    /// An upright line at the first paying size; one size alone needs no line to be found.
    fn mark_size<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> Drawn<DB> {
        match self.answer.first_paying_size {
            Some(first) if self.sizes.len() > 1 => panel.upright(first.into(), &PAYING),
            _ => Ok(()),
        }
    }

    /// Sizes in words, "1–3, 5": neighbours among the sizes looked at are joined.
    fn list(&self, sizes: &[u32]) -> String {
        let next = |a: u32, b: u32| {
            self.sizes
                .iter()
                .position(|&s| s == a)
                .and_then(|i| self.sizes.get(i + 1))
                == Some(&b)
        };
        format::size_list(sizes, next).replace('-', "–")
    }

    /// "size 1" or "sizes 1–3".
    fn named(&self, sizes: &[u32]) -> String {
        format!(
            "{} {}",
            if sizes.len() == 1 { "size" } else { "sizes" },
            self.list(sizes)
        )
    }

    // --- what an hour earns ---

    fn rate_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let medians = self.values(|s| s.rate.p50);
        let mut all = self.values(|s| s.rate.p10);
        all.extend(self.values(|s| s.rate.p90));
        all.extend(self.values(|s| s.rate.long_run));
        all.extend(&medians);
        all.push(a.ceiling);
        let mut story = vec![0.0, a.target];
        story.extend(
            a.sizes
                .iter()
                .filter(|s| Some(s.size) == a.first_paying_size)
                .map(|s| s.rate.p50),
        );
        let (low, high) = ticks::range(&story, &medians, &all, Stretch { allow: 2.0, show: 0.6 });
        let air = 0.04 * (high - low);
        let head = PanelHead {
            title: "What an hour earns",
            unit: &format!("{} per hands-on hour", a.currency),
        };
        let panel = Panel::new(page, bounds, &head, (self.scale, &self.sizes), (low - air, high + air))?;

        let band: Vec<(f64, f64, f64)> = a
            .sizes
            .iter()
            .map(|s| (f64::from(s.size), s.rate.p10, s.rate.p90))
            .collect();
        if self.sizes.len() == 1 {
            for &(x, p10, p90) in &band {
                panel.bar(x, LONE_HALF, (p10, p90), BAND)?;
            }
        } else {
            panel.between_curves(&band, BAND)?;
        }
        self.paying_strip(&panel)?;
        if a.ceiling.is_finite() {
            panel.level(a.ceiling, &CEILING)?;
        }
        panel.level(a.target, &TARGET)?;
        let apart = |f: fn(&SizeAnswer) -> f64, g: fn(&SizeAnswer) -> f64| {
            let gaps = a.sizes.iter().map(|s| (panel.y(f(s)) - panel.y(g(s))).abs());
            gaps.filter(|d| d.is_finite()).fold(0.0, f64::max)
        };
        let one_curve = apart(|s| s.rate.p50, |s| s.rate.long_run) < SAME;
        let no_band = apart(|s| s.rate.p10, |s| s.rate.p90) < SAME;
        if !one_curve {
            self.curve(&panel, &self.points(|s| Some(s.rate.long_run)), &LONG_RUN, false)?;
        }
        self.curve(&panel, &self.points(|s| Some(s.rate.p50)), &MEDIAN, self.few)?;
        self.mark_first_paying(&panel)?;
        self.rate_cuts(&panel)?;

        let mut ends = vec![EndLabel {
            value: a.target,
            key: Key::Line(TARGET),
            name: "target".into(),
            figure: self.typed(a.target),
        }];
        if a.ceiling.is_finite() {
            let name = if panel.shows(a.ceiling) {
                "ceiling"
            } else {
                "ceiling, beyond"
            };
            let label = EndLabel {
                value: a.ceiling,
                key: Key::Line(CEILING),
                name: name.into(),
                figure: self.amount(a.ceiling),
            };
            ends.push(label);
        }
        let name = match (one_curve, no_band) {
            (_, true) if one_curve => "every run",
            (true, _) => "median and long run",
            _ => "median",
        };
        let mut add = |value: f64, key: Key, name: &str| {
            if value.is_finite() {
                ends.push(EndLabel {
                    value,
                    key,
                    name: name.into(),
                    figure: self.amount(value),
                });
            }
        };
        add(self.last(|s| s.rate.p50), Key::Line(MEDIAN), name);
        if !one_curve {
            add(self.last(|s| s.rate.long_run), Key::Line(LONG_RUN), "long run");
        }
        if !no_band {
            add(self.last(|s| s.rate.p90), Key::Area(BAND), "1 run in 10 over");
            add(self.last(|s| s.rate.p10), Key::Area(BAND), "1 run in 10 under");
        }
        panel.end_labels(&ends)
    }

    fn pays(&self, s: &SizeAnswer) -> bool {
        s.reach.share >= self.answer.confidence
    }

    /// A strip along the foot where sizes pay; a single line would hide that a kiln's 13th mug may not.
    fn paying_strip<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> Drawn<DB> {
        if self.sizes.len() == 1 {
            return Ok(());
        }
        if self.few {
            // Between the few nothing is known.
            let half = self.bar_half(panel);
            for s in self.answer.sizes.iter().filter(|s| self.pays(s)) {
                let x = panel.x(s.size.into());
                panel.strip(x - half, x + half, STRIP, PAYS)?;
            }
            return Ok(());
        }
        let mut edges: Option<(f64, f64)> = None;
        for (i, s) in self.answer.sizes.iter().enumerate() {
            let (from, to) = self.reach_of(i);
            edges = match (edges, self.pays(s)) {
                (Some((start, _)), true) => Some((start, to)),
                (None, true) => Some((from, to)),
                (Some((start, end)), false) => {
                    panel.strip(panel.x(start), panel.x(end), STRIP, PAYS)?;
                    None
                }
                (None, false) => None,
            };
        }
        edges.map_or(Ok(()), |(start, end)| {
            panel.strip(panel.x(start), panel.x(end), STRIP, PAYS)
        })
    }

    /// From half-way to the size before to half-way to the size after.
    fn reach_of(&self, i: usize) -> (f64, f64) {
        let own = f64::from(self.sizes[i]);
        let half = |other: Option<&u32>| {
            other.map(|&o| {
                self.scale
                    .value((self.scale.position(own) + self.scale.position(o.into())) / 2.0)
            })
        };
        let before = i.checked_sub(1).and_then(|j| self.sizes.get(j));
        (
            half(before).unwrap_or(self.scale.low),
            half(self.sizes.get(i + 1)).unwrap_or(self.scale.high),
        )
    }

    fn mark_first_paying<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> Drawn<DB> {
        let a = self.answer;
        let b = panel.bounds;
        let confidence = format::confidence(a.confidence);
        let Some(first) = a.first_paying_size else {
            let text = format!("no size here reaches the target in {confidence} of runs");
            let heights = [0.06, 0.93, 0.2, 0.8].map(|t| b.y0 + t * (b.y1 - b.y0));
            let places = heights
                .iter()
                .flat_map(|&y| [((b.x1 - 12.0, y), HPos::Right), ((b.x0 + 12.0, y), HPos::Left)]);
            return panel.note(
                &[(&text, Letters { color: ASKED, ..STRONG })],
                &places.collect::<Vec<_>>(),
            );
        };
        self.mark_size(panel)?;
        if let Some(at) = a.sizes.iter().find(|s| s.size == first)
            && panel.shows(at.rate.p50)
            && self.sizes.len() > 1
        {
            panel.dot((first.into(), at.rate.p50), 5.5, PAYS)?;
        }
        let failing: Vec<u32> = a
            .sizes
            .iter()
            .filter(|s| s.size > first && !self.pays(s))
            .map(|s| s.size)
            .collect();
        let strong = Letters { color: PAYS, ..STRONG };
        let quiet = Letters { color: INK, ..LABEL };
        let (head, below) = if failing.is_empty() {
            let (only, earliest) = (self.sizes.last() == Some(&first), self.sizes.first() == Some(&first));
            let head = match (only, earliest) {
                (true, _) => format!("pays at {}", format::count(first.into())),
                (_, true) => "pays at every size here".to_owned(),
                _ => format!("pays from {}", format::count(first.into())),
            };
            (head, format!("in {confidence} of runs or more"))
        } else {
            let list = self.list(&failing);
            let below = if list.len() <= 24 {
                format!("but not at {list}")
            } else {
                "but not at every size after".to_owned()
            };
            (format!("pays first at {}", format::count(first.into())), below)
        };
        let x = panel.x(first.into());
        let heights = [0.9, 0.8, 0.7, 0.08, 0.18, 0.5].map(|t| b.y0 + t * (b.y1 - b.y0));
        let off = if self.sizes.len() > 1 { 9.0 } else { LONE_HALF + 14.0 };
        let sides = [(x + off, HPos::Left), (x - off, HPos::Right)];
        let places = heights
            .iter()
            .flat_map(|&y| sides.iter().map(move |(x, side)| ((*x, y), side.clone())));
        panel.note(&[(&head, strong), (&below, quiet)], &places.collect::<Vec<_>>())
    }

    /// Says what lies beyond the panel's lower end.
    fn rate_cuts<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> Drawn<DB> {
        let a = self.answer;
        for up in [false, true] {
            // What the curve does says more than what the band does.
            let edge: fn(&SizeAnswer) -> f64 = if up { |s| s.rate.p90 } else { |s| s.rate.p10 };
            let median: fn(&SizeAnswer) -> f64 = |s| s.rate.p50;
            for (what, of) in [("median", median), ("band", edge)] {
                let cut: Vec<&SizeAnswer> = a
                    .sizes
                    .iter()
                    .filter(|s| !panel.shows(of(s)) && (of(s) > a.target) == up)
                    .collect();
                if let Some(extreme) = cut
                    .iter()
                    .map(|s| of(s))
                    .reduce(|x, y| if up { x.max(y) } else { x.min(y) })
                {
                    self.cut_note(panel, &cut, up, what, extreme)?;
                    break;
                }
            }
        }
        Ok(())
    }

    /// An arrow head and a note: these sizes' values lie beyond the panel, the farthest at `extreme`.
    fn cut_note<DB: DrawingBackend>(
        &self,
        panel: &Panel<'_, DB>,
        cut: &[&SizeAnswer],
        up: bool,
        what: &str,
        extreme: f64,
    ) -> Drawn<DB> {
        let figure = self.amount(extreme);
        self.beyond_note(
            panel,
            cut,
            up,
            |way| format!("{what}{way} {figure}"),
            Letters { color: MUTED, ..LABEL },
        )
    }

    fn beyond_note<DB: DrawingBackend>(
        &self,
        panel: &Panel<'_, DB>,
        cut: &[&SizeAnswer],
        up: bool,
        words: impl Fn(&str) -> String,
        letters: Letters,
    ) -> Drawn<DB> {
        let sizes: Vec<u32> = cut.iter().map(|s| s.size).collect();
        let (Some(&first), Some(&last)) = (sizes.first(), sizes.last()) else {
            return Ok(());
        };
        let way = match (sizes.len(), up) {
            (1, _) => "",
            (_, true) => " up to",
            (_, false) => " down to",
        };
        let text = format!("{} off the chart: {}", self.named(&sizes), words(way));
        let b = panel.bounds;
        let (x0, x1) = (panel.x(first.into()), panel.x(last.into()));
        let (edge, inward) = if up { (b.y0 + 14.0, 1.0) } else { (b.y1 - 20.0, -1.0) };
        // Along the end it is about first, then further in.
        let places: Vec<((f64, f64), HPos)> = [0.0, 20.0, 45.0, 75.0, 110.0, 150.0]
            .map(|i| edge + inward * i)
            .into_iter()
            .flat_map(|y| {
                [
                    (x0, HPos::Left),
                    (x1 + 14.0, HPos::Left),
                    (x1 + 90.0, HPos::Left),
                    (b.x1 - 8.0, HPos::Right),
                ]
                .map(|(x, side)| ((if x < b.x0 + 8.0 { b.x0 + 8.0 } else { x }, y), side))
            })
            .collect();
        panel.pointing_note(&text, letters, up, &places)
    }

    // --- the price that earns the target ---

    /// The confidences to draw, ascending, the asked one among them; for each how to find its floor.
    fn floor_curves(&self) -> Vec<(f64, Vec<(f64, Option<f64>)>)> {
        let price = |f: &Floor| f.price.filter(|p| p.is_finite());
        let given = self.answer.sizes.first().map(|s| s.floor.len()).unwrap_or(0);
        let mut curves: Vec<(f64, Vec<(f64, Option<f64>)>)> = (0..given)
            .map(|i| {
                let confidence = self.answer.sizes[0].floor[i].confidence;
                (confidence, self.points(|s| s.floor.get(i).and_then(price)))
            })
            .collect();
        if !curves.iter().any(|(c, _)| (c - self.answer.confidence).abs() < 1e-9) {
            curves.push((self.answer.confidence, self.points(|s| price(&s.floor_asked))));
        }
        curves.sort_by(|a, b| a.0.total_cmp(&b.0));
        curves
    }

    fn floor_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let curves = self.floor_curves();
        let is_asked = |c: f64| (c - a.confidence).abs() < 1e-9;
        let all: Vec<f64> = curves
            .iter()
            .flat_map(|(_, points)| points.iter().filter_map(|p| p.1))
            .collect();
        let asked: Vec<f64> = curves
            .iter()
            .filter(|c| is_asked(c.0))
            .flat_map(|(_, points)| points.iter().filter_map(|p| p.1))
            .collect();
        let story = [a.price, 0.8 * a.price, 1.1 * a.price];
        let (low, high) = ticks::range(&story, &asked, &all, Stretch { allow: 4.0, show: 1.0 });
        let air = 0.05 * (high - low);
        let title = format!(
            "The price at which an hour earns {}",
            format::typed_money(a.target, &a.currency)
        );
        let unit = format!("{} per piece, reached in so many runs", a.currency);
        let head = PanelHead {
            title: &title,
            unit: &unit,
        };
        // Nothing costs less than nothing: air below must not show a price under 0.
        let from = if low >= 0.0 { (low - air).max(0.0) } else { low - air };
        let panel = Panel::new(page, bounds, &head, (self.scale, &self.sizes), (from, high + air))?;

        self.mark_size(&panel)?;
        panel.level(a.price, &TARGET)?;
        let mut ends = vec![EndLabel {
            value: a.price,
            key: Key::Line(TARGET),
            name: "asked".into(),
            figure: self.typed(a.price),
        }];
        let one_curve = certain(&curves, &panel);
        let drawn = if one_curve { &curves[..1] } else { &curves[..] };
        for (i, (confidence, points)) in drawn.iter().enumerate() {
            let line = if one_curve {
                MEDIAN
            } else {
                floor_line(i, curves.len(), is_asked(*confidence))
            };
            self.curve(&panel, points, &line, self.few)?;
            let name = if one_curve {
                "every run".to_owned()
            } else {
                format!("in {} of runs", format::confidence(*confidence))
            };
            let last = points.last().and_then(|p| p.1);
            let figure = last.map_or_else(|| "no price".to_owned(), |v| self.amount(v));
            ends.push(EndLabel {
                value: last.unwrap_or(f64::INFINITY),
                key: Key::Line(line),
                name,
                figure,
            });
        }
        self.floor_gaps(&panel, &curves)?;
        self.floor_cuts(&panel, &curves)?;
        panel.end_labels(&ends)
    }

    /// Says where no price earns the target.
    fn floor_gaps<DB: DrawingBackend>(
        &self,
        panel: &Panel<'_, DB>,
        curves: &[(f64, Vec<(f64, Option<f64>)>)],
    ) -> Drawn<DB> {
        let letters = Letters { color: ASKED, ..LABEL };
        let mut said: Vec<Vec<u32>> = Vec::new();
        for (confidence, points) in curves {
            let sizes: Vec<u32> = points
                .iter()
                .zip(&self.sizes)
                .filter(|(p, _)| p.1.is_none())
                .map(|(_, &s)| s)
                .collect();
            if sizes.is_empty() || said.contains(&sizes) {
                continue;
            }
            let share = format::confidence(*confidence);
            let text = if sizes.len() == self.sizes.len() {
                format!("no price does it in {share} of runs, at any size")
            } else {
                format!("no price does it in {share} of runs at {}", self.named(&sizes))
            };
            let x = panel.x(sizes[0].into());
            let b = panel.bounds;
            let places: Vec<((f64, f64), HPos)> = [0.09, 0.2, 0.31, 0.42, 0.6, 0.9]
                .map(|t| b.y0 + t * (b.y1 - b.y0))
                .into_iter()
                .flat_map(|y| {
                    [
                        ((x + 8.0, y), HPos::Left),
                        ((b.x1 - 8.0, y), HPos::Right),
                        ((b.x0 + 8.0, y), HPos::Left),
                    ]
                })
                .collect();
            panel.note(&[(&text, letters)], &places)?;
            said.push(sizes);
        }
        Ok(())
    }

    /// Says what lies beyond the panel's upper end.
    fn floor_cuts<DB: DrawingBackend>(
        &self,
        panel: &Panel<'_, DB>,
        curves: &[(f64, Vec<(f64, Option<f64>)>)],
    ) -> Drawn<DB> {
        for up in [true, false] {
            let beyond = |v: f64| !panel.shows(v) && (v > self.answer.price) == up;
            let mut cut: Vec<&SizeAnswer> = Vec::new();
            let mut values: Vec<f64> = Vec::new();
            for (i, s) in self.answer.sizes.iter().enumerate() {
                let here = curves
                    .iter()
                    .filter_map(|(_, points)| points[i].1)
                    .filter(|&v| beyond(v));
                let before = values.len();
                values.extend(here);
                if values.len() > before {
                    cut.push(s);
                }
            }
            let (least, most) = values
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &v| (a.min(v), b.max(v)));
            let letters = Letters { color: MUTED, ..LABEL };
            let figure = self.amount(if up { most } else { least });
            let words = |_: &str| format!("{} {figure}", if up { "up to" } else { "down to" });
            self.beyond_note(panel, &cut, up, words, letters)?;
        }
        Ok(())
    }

    // --- where the time goes ---

    fn time_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let totals_in_hours = self.values(|s| parts(&s.hours_parts).iter().map(|p| p.1).sum());
        let median = ticks::range(&[], &totals_in_hours, &[], Stretch { allow: 0.0, show: 0.0 }).1;
        let in_minutes = median < 2.0;
        let per_hour = if in_minutes { 60.0 } else { 1.0 };
        let totals: Vec<f64> = totals_in_hours.iter().map(|t| t * per_hour).collect();
        let (_, high) = ticks::range(&[0.0], &totals, &totals, Stretch { allow: 6.0, show: 1.0 });
        let unit = if in_minutes {
            "minutes per piece, on average"
        } else {
            "hours per piece, on average"
        };
        let head = PanelHead {
            title: "Where the hands-on time of a piece goes",
            unit,
        };
        let panel = Panel::new(page, bounds, &head, (self.scale, &self.sizes), (0.0, high * 1.04))?;

        let half = self.bar_half(&panel);
        let mut base = vec![0.0; a.sizes.len()];
        let mut ends: Vec<EndLabel> = Vec::new();
        let mut edges: Vec<Vec<(f64, Option<f64>)>> = Vec::new();
        for (part, color) in PARTS.iter().copied().enumerate() {
            let values: Vec<f64> = a
                .sizes
                .iter()
                .map(|s| parts(&s.hours_parts)[part].1 * per_hour)
                .collect();
            if values.iter().all(|&v| v.is_nan() || v <= 0.0) {
                continue;
            }
            let slice: Vec<(f64, f64, f64)> = self
                .sizes
                .iter()
                .zip(base.iter().zip(&values))
                .map(|(&s, (&from, &v))| (f64::from(s), from, from + v.max(0.0)))
                .collect();
            if self.few {
                for &(x, from, to) in &slice {
                    panel.bar(x, half, (from, to), color)?;
                }
            } else {
                panel.between_curves(&slice, color)?;
                edges.push(slice.iter().map(|&(x, _, to)| (x, Some(to))).collect());
            }
            if let Some(&(_, from, to)) = slice.last() {
                let name = part_name(part);
                let figure = minus(&format::hours((to - from) / per_hour));
                ends.push(EndLabel {
                    value: (from + to) / 2.0,
                    key: Key::Area(color),
                    name: name.into(),
                    figure,
                });
            }
            base = slice.iter().map(|s| s.2).collect();
        }
        // White seams keep neighbours apart where a printer makes them one grey.
        edges.pop();
        for edge in &edges {
            panel.curve(edge, &Line::solid(plotters::style::WHITE, 1.0), false)?;
        }
        self.inside_labels(&panel, per_hour)?;
        if let Some(first) = a.first_paying_size.filter(|_| self.sizes.len() > 1) {
            panel.upright(first.into(), &Line::solid(plotters::style::WHITE, 3.0))?;
            panel.upright(first.into(), &PAYING)?;
        }
        let beyond: Vec<(&SizeAnswer, f64)> = a
            .sizes
            .iter()
            .zip(totals.iter().copied())
            .filter(|(_, t)| !panel.shows(*t) && t.is_finite())
            .collect();
        let most = beyond.iter().map(|b| b.1).fold(0.0, f64::max);
        let cut: Vec<&SizeAnswer> = beyond.iter().map(|b| b.0).collect();
        let figure = format::hours(most / per_hour);
        self.beyond_note(
            &panel,
            &cut,
            true,
            |way| format!("{way} {figure}").trim().to_owned(),
            Letters { color: MUTED, ..LABEL },
        )?;
        panel.end_labels(&ends)?;
        panel.name_sizes()
    }

    /// Names inside the areas where they are thick enough for letters.
    fn inside_labels<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>, per_hour: f64) -> Drawn<DB> {
        if self.few {
            return Ok(());
        }
        for part in 0..PARTS.len() {
            let edges: Vec<(f64, f64, f64)> = self
                .answer
                .sizes
                .iter()
                .map(|s| {
                    let all = parts(&s.hours_parts);
                    let below: f64 = all[..part].iter().map(|p| p.1).sum::<f64>() * per_hour;
                    let own = all[part].1 * per_hour;
                    (panel.x(s.size.into()), panel.y(below), panel.y(below + own))
                })
                .collect();
            let name = part_name(part);
            let Some((x, y)) = roomiest(
                &edges,
                super::lettering::width(name, LABEL.weight, LABEL.size) + 12.0,
                19.0,
            ) else {
                continue;
            };
            let color = if part == 0 || part == 1 {
                INK
            } else {
                plotters::style::WHITE
            };
            panel.text((x, y), name, Letters { color, ..LABEL }, HPos::Center, VPos::Center)?;
        }
        Ok(())
    }
}

/// Where a label of that width and height fits between the edges (x, lower y, upper y; pixels): the roomiest place.
fn roomiest(edges: &[(f64, f64, f64)], width: f64, height: f64) -> Option<(f64, f64)> {
    let mut best: Option<(f64, (f64, f64))> = None;
    for (i, first) in edges.iter().enumerate() {
        let Some(steps) = edges[i..].iter().position(|e| e.0 - first.0 >= width) else {
            break;
        };
        let end = i + steps;
        let lowest = edges[i..=end].iter().map(|e| e.1).fold(f64::INFINITY, f64::min);
        let highest = edges[i..=end].iter().map(|e| e.2).fold(f64::NEG_INFINITY, f64::max);
        let room = lowest - highest;
        if room >= height && best.is_none_or(|(r, _)| room > r + 1.0) {
            best = Some((room, ((first.0 + edges[end].0) / 2.0, (lowest + highest) / 2.0)));
        }
    }
    best.map(|b| b.1)
}

/// The parts from the bottom up: what no batch dilutes first, setup, which every piece more dilutes, on top.
fn parts(p: &Parts) -> [(&'static str, f64); 5] {
    [
        ("each", p.each),
        ("per order", p.per_order),
        ("redo", p.redo),
        ("once", p.once),
        ("setup", p.setup),
    ]
}

fn part_name(part: usize) -> &'static str {
    const NONE: Parts = Parts {
        once: 0.0,
        setup: 0.0,
        each: 0.0,
        redo: 0.0,
        per_order: 0.0,
    };
    parts(&NONE)[part].0
}

/// Rising confidence is drawn darker; the asked one thicker and unbroken, the others dashed each their own way.
fn floor_line(i: usize, of: usize, asked: bool) -> Line {
    let shade = |i: usize| -> RGBColor { STEPS[(i * STEPS.len() / of.max(1)).min(STEPS.len() - 1)] };
    match (asked, i) {
        (true, _) => Line::solid(shade(i), 3.0),
        (false, 0) => Line::dashed(shade(i), 2.2, 3.0, 3.0),
        (false, _) => Line::dashed(shade(i), 2.2, 10.0, 4.0),
    }
}

/// All floors are one curve to the eye.
fn certain<DB: DrawingBackend>(curves: &[(f64, Vec<(f64, Option<f64>)>)], panel: &Panel<'_, DB>) -> bool {
    let Some((first, others)) = curves.split_first() else {
        return false;
    };
    others.iter().all(|(_, points)| {
        points.iter().zip(&first.1).all(|(p, q)| match (p.1, q.1) {
            (Some(p), Some(q)) => (panel.y(p) - panel.y(q)).abs() < SAME,
            (None, None) => true,
            _ => false,
        })
    })
}
