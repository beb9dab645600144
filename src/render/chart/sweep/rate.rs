//! What an hour earns: band, median and long run against target and ceiling, and where it pays.

use super::super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, STRONG};
use super::super::labels::Rect;
use super::super::palette::{ASKED, BAND, INK, MUTED, PAYS, SECOND};
use super::super::ticks::{self, Stretch};
use super::{Chart, LONE_HALF, MEDIAN, SAME, TARGET};
use crate::questions::sweep::SizeAnswer;
use crate::render::format;
use crate::render::words::is_certain;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;

const LONG_RUN: Line = Line::dashed(SECOND, 2.0, 7.0, 4.0);
const CEILING: Line = Line::dashed(MUTED, 1.6, 2.0, 4.0);
/// Height of the strip that shows which sizes pay, in pixels.
const STRIP: f64 = 6.0;

impl Chart<'_> {
    pub(super) fn rate_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
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
        let panel = Panel::new(
            page,
            bounds,
            &head,
            &Axis::sizes(self.scale, &self.sizes),
            (low - air, high + air),
        )?;

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
            let below = if is_certain(a) {
                String::new()
            } else {
                format!("in {confidence} of runs or more")
            };
            (head, below)
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
            .flat_map(|&y| sides.iter().map(move |(x, side)| ((*x, y), *side)));
        let lines = [(head.as_str(), strong), (below.as_str(), quiet)];
        let lines = lines.split_at(if below.is_empty() { 1 } else { 2 }).0;
        panel.note(lines, &places.collect::<Vec<_>>())
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
}
