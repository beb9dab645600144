//! The chart about jigs: surplus cumulated since building, by pieces made, and the long-run rate with and without.

use super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, minus};
use super::labels::Rect;
use super::palette::{BAND, INK, MUTED, RIVALS};
use super::ticks::{self, SizeScale, Stretch};
use super::{Canvas, ChartError, Picture};
use crate::questions::jig::Jigs;
use crate::render::{format, jig as said};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;

const HEIGHT: u32 = 960;
const ZERO: Line = Line::solid(INK, 1.6);
const WITHOUT: Line = Line::dashed(MUTED, 2.2, 8.0, 4.0);

/// An answer about jigs and its words.
pub(super) struct Chart<'a> {
    answer: &'a Jigs,
    headline: &'a str,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a Jigs, headline: &'a str) -> Result<Self, ChartError> {
        if answer.sets.is_empty() || answer.by_size.is_empty() {
            return Err(ChartError::Empty);
        }
        Ok(Self { answer, headline })
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    /// A name that fits beside the plot.
    fn name(&self, set: usize) -> String {
        let set = &self.answer.sets[set];
        match set.jigs.as_slice() {
            [one] => self.answer.jigs[*one].name.clone(),
            many if many.len() == self.answer.jigs.len() && many.len() > 2 => "all together".to_owned(),
            many if many.len() == self.answer.jigs.len() => "both together".to_owned(),
            many => {
                let numbers: Vec<String> = many.iter().map(|k| (k + 1).to_string()).collect();
                format!("jigs {} together", numbers.join(", "))
            }
        }
    }

    /// Surplus by pieces made; where it crosses nothing, the jig is paid.
    fn courses<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let last = a
            .courses
            .iter()
            .filter_map(|c| c.points.last())
            .map(|p| p.pieces)
            .fold(0.0, f64::max);
        let points = || a.courses.iter().flat_map(|c| &c.points);
        let low = points().map(|p| p.p50).chain(self.first_band()).fold(0.0, f64::min);
        let high = points().map(|p| p.p50).chain(self.first_band()).fold(0.0, f64::max);
        let air = 0.05 * (high - low).max(1.0);
        let unit = format!(
            "{}, against pieces made with it; above 0 it has paid for itself",
            a.currency
        );
        let head = PanelHead {
            title: "Surplus since it was built",
            unit: &unit,
        };
        let axis = Axis::counts(last);
        let panel = Panel::new(page, bounds, &head, &axis, (low - air, high + air))?;
        if let Some(first) = a.courses.first() {
            let band: Vec<(f64, f64, f64)> = first.points.iter().map(|p| (p.pieces, p.p10, p.p90)).collect();
            panel.between_curves(&band, BAND)?;
        }
        panel.level(0.0, &ZERO)?;
        let mut ends = Vec::new();
        for (k, course) in a.courses.iter().enumerate().rev() {
            let line = line(k);
            let points: Vec<(f64, Option<f64>)> = course.points.iter().map(|p| (p.pieces, Some(p.p50))).collect();
            panel.curve(&points, &line, false)?;
        }
        for (k, course) in a.courses.iter().enumerate() {
            let set = &a.sets[course.set];
            if let Some(paid) = set.payback.pieces[1].filter(|p| *p > 0.0 && *p <= last) {
                panel.dot((paid, 0.0), 5.0, line(k).color)?;
            }
            if let Some(end) = course.points.last() {
                ends.push(EndLabel {
                    value: end.p50,
                    key: Key::Line(line(k)),
                    name: self.name(course.set),
                    figure: set.payback.pieces[1]
                        .map_or_else(|| "never".to_owned(), |p| format::count(p.ceil() as u64)),
                });
            }
        }
        if let Some(end) = a.courses.first().and_then(|c| c.points.last()) {
            ends.push(EndLabel {
                value: (end.p10 + end.p50) / 2.0,
                key: Key::Area(BAND),
                name: "8 cases in 10".to_owned(),
                figure: String::new(),
            });
        }
        panel.end_labels(&ends)?;
        let quiet = Letters { color: MUTED, ..LABEL };
        let b = panel.bounds;
        let places: Vec<((f64, f64), HPos)> = [0.9, 0.1, 0.75, 0.25]
            .iter()
            .flat_map(|t| {
                let y = b.y0 + t * (b.y1 - b.y0);
                [((b.x1 - 10.0, y), HPos::Right), ((b.x0 + 10.0, y), HPos::Left)]
            })
            .collect();
        panel.note(
            &[
                ("dot: as likely as not it has paid", quiet),
                ("figure at the right: pieces by then", quiet),
            ],
            &places,
        )
    }

    fn first_band(&self) -> Vec<f64> {
        let first = self.answer.courses.first();
        first.map_or_else(Vec::new, |c| c.points.iter().flat_map(|p| [p.p10, p.p90]).collect())
    }

    /// Long-run rate with and without against batch size.
    fn rates<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let sizes: Vec<u32> = a.by_size.iter().map(|s| s.size).collect();
        let scale = SizeScale::new(&sizes, sizes.len() == 1);
        let bare: Vec<f64> = a.by_size.iter().map(|s| s.rate).collect();
        let mut all = bare.clone();
        all.extend(a.by_size.iter().flat_map(|s| s.sets.iter().map(|set| set.rate)));
        let asked = a.by_size.iter().filter(|s| s.size == a.size);
        let story: Vec<f64> = asked
            .flat_map(|s| s.sets.iter().map(|set| set.rate).chain([s.rate]))
            .collect();
        let (low, high) = ticks::range(&story, &bare, &all, Stretch { allow: 4.0, show: 0.5 });
        let air = 0.05 * (high - low).max(1e-9);
        let unit = format!(
            "{} per hands-on hour, building and cost spread over its life{}",
            a.currency,
            if said::some_endless(a) {
                " or what is planned"
            } else {
                ""
            }
        );
        let head = PanelHead {
            title: "What an hour earns in the long run",
            unit: &unit,
        };
        let panel = Panel::new(
            page,
            bounds,
            &head,
            &Axis::sizes(scale, &sizes),
            (low - air, high + air),
        )?;
        let mut ends = Vec::new();
        let without: Vec<(f64, Option<f64>)> = a.by_size.iter().map(|s| (f64::from(s.size), Some(s.rate))).collect();
        panel.curve(&without, &WITHOUT, false)?;
        for k in (0..a.courses.len()).rev() {
            let points: Vec<(f64, Option<f64>)> = a
                .by_size
                .iter()
                .map(|s| (f64::from(s.size), s.sets.get(k).map(|set| set.rate)))
                .collect();
            panel.curve(&points, &line(k), false)?;
        }
        for k in 0..a.courses.len() {
            if let Some(end) = a.by_size.last().and_then(|s| s.sets.get(k)) {
                ends.push(EndLabel {
                    value: end.rate,
                    key: Key::Line(line(k)),
                    name: self.name(k),
                    figure: self.amount(end.rate),
                });
            }
            if let Some(here) = a.by_size.iter().find(|s| s.size == a.size).and_then(|s| s.sets.get(k)) {
                panel.dot((a.size.into(), here.rate), 4.5, line(k).color)?;
            }
        }
        if let Some(end) = bare.last() {
            ends.push(EndLabel {
                value: *end,
                key: Key::Line(WITHOUT),
                name: "without".to_owned(),
                figure: self.amount(*end),
            });
        }
        panel.end_labels(&ends)?;
        panel.name_sizes()
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        HEIGHT
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        let list: Vec<String> = self
            .answer
            .sets
            .iter()
            .map(|set| {
                let paid = set.payback.pieces[1].map_or_else(
                    || "never pays".to_owned(),
                    |p| format!("paid after {} pieces", format::count(p.ceil() as u64)),
                );
                format!("{}: {paid}", said::names(self.answer, set))
            })
            .collect();
        format!(
            "Two panels: surplus cumulated since building against pieces made, with the middle eight cases in ten, and the \
             long-run rate with and without against batch size. {}.",
            list.join("; ")
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let foot = format!(
            "Made {} · target {} an hour · {} simulated runs with and without · seed {} · batchwright {}",
            said::made(a.size),
            format::typed_money(a.target, &a.currency),
            format::count(a.trials),
            a.seed,
            a.version
        );
        let page = Page::new(root, &a.title, self.headline, &foot)?;
        let boxes = page.stacked(&[0.55, 0.45]);
        let [courses, rates] = boxes.as_slice() else {
            return Ok(());
        };
        self.courses(&page, *courses)?;
        self.rates(&page, *rates)
    }
}

fn line(k: usize) -> Line {
    Line::solid(RIVALS[k % RIVALS.len()], 2.6)
}
