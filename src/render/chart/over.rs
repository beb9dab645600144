//! The charts of `sweep --over`: three panels against one value, or a map against two.

use super::Picture;
use super::canvas::Canvas;
use super::frame::{Axis, Cells, Drawn, EndLabel, Key, Line, Page, Panel, PanelHead, Side, minus};
use super::labels::Rect;
use super::palette::{ASKED, BAND, INK, MAIN, PAYS, SECOND, SHADES, STEPS};
use super::ticks::{self, SizeScale, Stretch};
use crate::questions::over::{Over, OverAxis, OverPoint};
use crate::render::format;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::{RGBColor, WHITE};
use plotters_backend::DrawingBackend;

const HEIGHT: u32 = 1180;
const MAP_HEIGHT: u32 = 940;
/// Up to so many values each has a dot.
const FEW: usize = 25;

const MEDIAN: Line = Line::solid(MAIN, 3.0);
const LONG_RUN: Line = Line::dashed(SECOND, 2.0, 7.0, 4.0);
const TARGET: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const BEGIN: Line = Line::dashed(PAYS, 1.6, 4.0, 3.0);
const FLOOR: Line = Line::solid(STEPS[1], 3.0);
const BORDER: Line = Line::solid(INK, 3.4);
const HALO: Line = Line::solid(WHITE, 7.0);

pub(super) struct Chart<'a> {
    over: &'a Over,
    headline: &'a str,
}

impl<'a> Chart<'a> {
    pub(super) const fn new(over: &'a Over, headline: &'a str) -> Self {
        Self { over, headline }
    }

    /// Level axis: numbers where they are, else one place a value.
    fn axis(axis: &OverAxis) -> (Axis, Vec<f64>) {
        if let Some(numbers) = &axis.numbers {
            let (low, high) = (
                numbers.first().copied().unwrap_or(0.0),
                numbers.last().copied().unwrap_or(1.0),
            );
            return (Axis::values((low, high), format::tick), numbers.clone());
        }
        let places: Vec<f64> = (0..axis.texts.len()).map(|i| i as f64).collect();
        let scale = SizeScale {
            low: -0.5,
            high: axis.texts.len() as f64 - 0.5,
            log: false,
        };
        let ticks = places.iter().copied().zip(axis.texts.iter().cloned()).collect();
        (Axis { scale, ticks }, places)
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.over.currency))
    }

    fn points(&self, at: &[f64], of: impl Fn(&OverPoint) -> Option<f64>) -> Vec<(f64, Option<f64>)> {
        at.iter().copied().zip(self.over.points.iter().map(of)).collect()
    }

    fn range(&self, story: &[f64], curve: &[f64], all: &[f64]) -> (f64, f64) {
        let (low, high) = ticks::range(story, curve, all, Stretch { allow: 3.0, show: 1.0 });
        let air = 0.05 * (high - low);
        (low - air, high + air)
    }

    fn begin<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> Drawn<DB> {
        for crossing in &self.over.crossings {
            panel.upright(crossing.value, &BEGIN)?;
        }
        Ok(())
    }

    fn ends(&self, wanted: &[(&str, Line, Option<f64>)], write: impl Fn(f64) -> String) -> Vec<EndLabel> {
        wanted
            .iter()
            .map(|(name, line, value)| EndLabel {
                value: value.unwrap_or(f64::INFINITY),
                key: Key::Line(*line),
                name: (*name).to_owned(),
                figure: value.map_or_else(|| "none".to_owned(), &write),
            })
            .collect()
    }

    fn curves<DB: DrawingBackend>(&self, page: &Page<DB>, boxes: &[Rect], axis: &OverAxis) -> Drawn<DB> {
        let o = self.over;
        let (level, at) = Self::axis(axis);
        let few = at.len() <= FEW;
        let each = |of: fn(&OverPoint) -> f64| -> Vec<f64> { o.points.iter().map(of).collect() };
        let last = |of: &dyn Fn(&OverPoint) -> Option<f64>| o.points.last().and_then(of);
        let [rate_box, reach_box, floor_box] = boxes else {
            return Ok(());
        };

        let (p10, p50, p90) = (each(|p| p.rate.p10), each(|p| p.rate.p50), each(|p| p.rate.p90));
        let (long_run, targets) = (each(|p| p.rate.long_run), each(|p| p.target));
        let all = [&p10[..], &p50, &p90, &long_run].concat();
        let unit = format!("{} per hands-on hour; shaded: eight runs in ten", o.currency);
        let head = PanelHead {
            title: "What an hour earns",
            unit: &unit,
        };
        let panel = Panel::new(page, *rate_box, &head, &level, self.range(&targets, &p50, &all))?;
        let band: Vec<(f64, f64, f64)> = at
            .iter()
            .zip(p10.iter().zip(&p90))
            .map(|(x, (a, b))| (*x, *a, *b))
            .collect();
        panel.between_curves(&band, BAND)?;
        self.begin(&panel)?;
        panel.curve(&self.points(&at, |p| Some(p.target)), &TARGET, false)?;
        panel.curve(&self.points(&at, |p| Some(p.rate.long_run)), &LONG_RUN, false)?;
        panel.curve(&self.points(&at, |p| Some(p.rate.p50)), &MEDIAN, few)?;
        panel.end_labels(&self.ends(
            &[
                ("median", MEDIAN, last(&|p| Some(p.rate.p50))),
                ("long run", LONG_RUN, last(&|p| Some(p.rate.long_run))),
                ("target", TARGET, last(&|p| Some(p.target))),
            ],
            |v| self.amount(v),
        ))?;

        let head = PanelHead {
            title: "How surely the target is reached",
            unit: "% of runs",
        };
        let panel = Panel::new(page, *reach_box, &head, &level, (-3.0, 103.0))?;
        let band: Vec<(f64, f64, f64)> = at
            .iter()
            .zip(&o.points)
            .map(|(x, p)| (*x, 100.0 * p.reach.low, 100.0 * p.reach.high))
            .collect();
        panel.between_curves(&band, BAND)?;
        self.begin(&panel)?;
        panel.curve(&self.points(&at, |p| Some(100.0 * p.confidence)), &TARGET, false)?;
        panel.curve(&self.points(&at, |p| Some(100.0 * p.reach.share)), &MEDIAN, few)?;
        panel.end_labels(&self.ends(
            &[
                ("reached in", MEDIAN, last(&|p| Some(100.0 * p.reach.share))),
                ("asked", TARGET, last(&|p| Some(100.0 * p.confidence))),
            ],
            |v| format::share(v / 100.0),
        ))?;

        let prices = each(|p| p.price);
        let floors: Vec<f64> = o.points.iter().filter_map(|p| p.floor.price).collect();
        let unit = format!("{} per piece, reached as surely as asked", o.currency);
        let head = PanelHead {
            title: "The price that pays",
            unit: &unit,
        };
        let panel = Panel::new(page, *floor_box, &head, &level, self.range(&prices, &floors, &floors))?;
        self.begin(&panel)?;
        panel.curve(&self.points(&at, |p| Some(p.price)), &TARGET, false)?;
        panel.curve(&self.points(&at, |p| p.floor.price), &FLOOR, few)?;
        panel.end_labels(&self.ends(
            &[
                ("pays", FLOOR, last(&|p| p.floor.price)),
                ("asked", TARGET, last(&|p| Some(p.price))),
            ],
            |v| self.amount(v),
        ))?;
        panel.name_axis(&named(axis))
    }

    fn map<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect, across: &OverAxis, up: &OverAxis) -> Drawn<DB> {
        let o = self.over;
        let wide = across.texts.len();
        let rates = || o.points.iter().map(|p| p.rate.long_run).filter(|v| v.is_finite());
        let (low, high) = rates().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let classes = if high > low { SHADES.len() } else { 1 };
        let class = |v: f64| {
            let share = (v - low) / (high - low);
            if share.is_finite() {
                ((share * classes as f64) as usize).min(classes - 1)
            } else {
                0
            }
        };
        let unit = format!("{} an hour in the long run; upwards: {}", o.currency, named(up));
        let head = PanelHead {
            title: "What an hour earns",
            unit: &unit,
        };
        let bare = |axis: &OverAxis| -> Vec<String> {
            let strip = |t: &String| match t.strip_suffix(&axis.unit) {
                Some(rest) if axis.numbers.is_some() => minus(rest.trim()),
                _ => t.clone(),
            };
            axis.texts.iter().map(strip).collect()
        };
        let cells = Cells::new(page, bounds, &head, &bare(across), &bare(up))?;
        for point in &o.points {
            let (Some(&column), Some(&row)) = (point.at.first(), point.at.get(1)) else {
                continue;
            };
            cells.fill((column, row), SHADES[class(point.rate.long_run)])?;
        }
        for point in &o.points {
            let (Some(&column), Some(&row)) = (point.at.first(), point.at.get(1)) else {
                continue;
            };
            let color = if class(point.rate.long_run) >= 4 { WHITE } else { INK };
            cells.figure((column, row), &self.amount(point.rate.long_run), color, point.pays)?;
        }
        // The line between what pays and what does not, bright around so that it shows on every shade.
        for line in [HALO, BORDER] {
            for (i, point) in o.points.iter().enumerate() {
                let at = (i % wide, i / wide);
                let differs = |j: usize| o.points.get(j).is_some_and(|p| p.pays != point.pays);
                if at.0 + 1 < wide && differs(i + 1) {
                    cells.edge(at, Side::Right, &line)?;
                }
                if differs(i + wide) {
                    cells.edge(at, Side::Top, &line)?;
                }
            }
        }
        let step = (high - low) / classes as f64;
        let legend: Vec<(RGBColor, String)> = (0..classes)
            .rev()
            .map(|k| {
                let from = low + step * k as f64;
                let text = if classes == 1 {
                    self.amount(from)
                } else {
                    format!("{} to {}", self.amount(from), self.amount(from + step))
                };
                (SHADES[k], text)
            })
            .collect();
        let paying = o.points.iter().filter(|p| p.pays).count();
        let said = if paying == 0 {
            vec!["the target is reached", "as surely as asked", "nowhere here"]
        } else if paying == o.points.len() {
            vec!["the target is reached", "as surely as asked", "everywhere here"]
        } else {
            vec![
                "between cells that reach",
                "the target as surely as",
                "asked (bold or dotted)",
                "and those that do not",
            ]
        };
        cells.legend(
            &legend,
            (0 < paying && paying < o.points.len()).then_some(&BORDER),
            &said,
        )?;
        cells.name_axis(&named(across))
    }
}

/// An axis' key and unit.
fn named(axis: &OverAxis) -> String {
    if axis.unit.is_empty() {
        axis.key.clone()
    } else {
        format!("{}, {}", axis.key, axis.unit)
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        if self.over.axes.len() > 1 { MAP_HEIGHT } else { HEIGHT }
    }

    fn title(&self) -> String {
        format!("{}: {}", self.over.title, self.headline)
    }

    fn description(&self) -> String {
        let keys: Vec<String> = self.over.axes.iter().map(named).collect();
        match keys.as_slice() {
            [across, up] => format!(
                "A map of shaded cells, darker where an hour earns more in the long run, against {across} (across) and {up} \
                 (upwards), with a line between the cells that reach the target as surely as asked and those that do not."
            ),
            _ => format!(
                "Three panels against {}: hourly rate with the range of eight runs in ten, share of runs that reach the target, and \
                 the price that pays.",
                keys.join("")
            ),
        }
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let o = self.over;
        let foot = format!(
            "Batches of {} · in the file: price {}, target {} an hour in {} of runs · {} runs of each · seed {} · batchwright {}",
            format::count(o.size.into()),
            format::typed_money(o.price, &o.currency),
            format::typed_money(o.target, &o.currency),
            format::confidence(o.confidence),
            format::count(o.trials),
            o.seed,
            o.version
        );
        let page = Page::new(root, &o.title, self.headline, &foot)?;
        match o.axes.as_slice() {
            [axis] => self.curves(&page, &page.stacked(&[0.42, 0.29, 0.29]), axis),
            [across, up] => match page.stacked(&[1.0]).as_slice() {
                [bounds] => self.map(&page, *bounds, across, up),
                _ => Ok(()),
            },
            _ => Ok(()),
        }
    }
}
