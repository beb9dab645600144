//! The chart of `floor`: prices that pay against size, the asked price across them.

use super::canvas::Canvas;
use super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, minus};
use super::palette::{ASKED, BAND, MAIN, MUTED, PAYS, STEPS};
use super::ticks::{self, SizeScale, Stretch};
use super::{ChartError, Picture};
use crate::questions::floor::{Floors, MadeFor, SizeFloors};
use crate::render::floor::at_confidence;
use crate::render::format;
use crate::render::text_chart::listed;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::text_anchor::HPos;

/// Half the width of what stands for a curve where there is one size only, in pixels.
const LONE_HALF: f64 = 60.0;
/// Up to so many sizes each has its dot.
const FEW: usize = 12;

const PRICE: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const LONG_RUN: Line = Line::dashed(PAYS, 2.2, 2.0, 4.0);

pub(super) struct Chart<'a> {
    answer: &'a Floors,
    headline: &'a str,
    sizes: Vec<u32>,
    scale: SizeScale,
}

/// Name, line and price by size.
struct Curve {
    name: String,
    line: Line,
    points: Vec<(f64, Option<f64>)>,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a Floors, headline: &'a str) -> Result<Self, ChartError> {
        if answer.sizes.is_empty() {
            return Err(ChartError::Empty);
        }
        let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
        let scale = SizeScale::new(&sizes, sizes.len() <= FEW);
        Ok(Self {
            answer,
            headline,
            sizes,
            scale,
        })
    }

    fn points(&self, of: impl Fn(&SizeFloors) -> Option<f64>) -> Vec<(f64, Option<f64>)> {
        self.answer
            .sizes
            .iter()
            .map(|s| (f64::from(s.size), of(s).filter(|p| p.is_finite())))
            .collect()
    }

    fn is_asked(&self, q: f64) -> bool {
        (q - self.answer.confidence).abs() < 1e-9
    }

    fn curves(&self) -> Vec<Curve> {
        let mut confidences: Vec<f64> = self.answer.sizes[0].floor.iter().map(|f| f.confidence).collect();
        if !confidences.iter().any(|q| self.is_asked(*q)) {
            confidences.push(self.answer.confidence);
        }
        confidences.sort_by(f64::total_cmp);
        let of = confidences.len();
        let mut curves: Vec<Curve> = confidences
            .iter()
            .enumerate()
            .map(|(k, &q)| {
                let shade = STEPS[(k * STEPS.len() / of).min(STEPS.len() - 1)];
                let line = if self.is_asked(q) {
                    Line::solid(MAIN, 3.2)
                } else {
                    Line::dashed(shade, 2.0, 3.0 + 4.0 * k as f64, 4.0)
                };
                Curve {
                    name: format!("in {} of runs", format::confidence(q)),
                    line,
                    points: self.points(|s| at_confidence(s, q).price),
                }
            })
            .collect();
        curves.push(Curve {
            name: "in the long run".into(),
            line: LONG_RUN,
            points: self.points(|s| s.long_run.price),
        });
        curves
    }

    fn certain(&self, curves: &[Curve]) -> bool {
        let Some((first, others)) = curves.split_first() else {
            return false;
        };
        others.iter().all(|c| {
            c.points.iter().zip(&first.points).all(|(a, b)| match (a.1, b.1) {
                (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs().max(1.0),
                (a, b) => a == b,
            })
        })
    }

    /// Says where there is no price.
    fn gaps(&self, panel: &Panel<'_, Canvas>, curves: &[Curve]) -> Drawn<Canvas> {
        let letters = Letters { color: ASKED, ..LABEL };
        let b = panel.bounds;
        let mut said: Vec<Vec<u32>> = Vec::new();
        for curve in curves {
            let missing: Vec<u32> = curve
                .points
                .iter()
                .zip(&self.sizes)
                .filter(|(p, _)| p.1.is_none())
                .map(|(_, s)| *s)
                .collect();
            if missing.is_empty() || said.contains(&missing) {
                continue;
            }
            let list = listed(&missing, &self.sizes);
            let text = format!("no price does it {} at {list}", curve.name);
            let x = panel.x(missing[0].into());
            let places: Vec<((f64, f64), HPos)> = [0.06, 0.13, 0.2, 0.3, 0.5]
                .map(|t| b.y0 + t * (b.y1 - b.y0))
                .into_iter()
                .flat_map(|y| [((x + 8.0, y), HPos::Left), ((b.x1 - 8.0, y), HPos::Right)])
                .collect();
            panel.note(&[(&text, letters)], &places)?;
            said.push(missing);
        }
        Ok(())
    }

    /// Says what lies above the panel.
    fn beyond(&self, panel: &Panel<'_, Canvas>, curves: &[Curve]) -> Drawn<Canvas> {
        let high = curves
            .iter()
            .flat_map(|c| c.points.iter())
            .filter_map(|p| p.1.map(|v| (v, p.0)))
            .filter(|(v, _)| !panel.shows(*v) && *v > self.answer.price)
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let Some((value, size)) = high else { return Ok(()) };
        let text = format!("up to {} at {}", self.amount(value), format::count(size as u64));
        let b = panel.bounds;
        let x = panel.x(size).max(b.x0 + 8.0);
        let places = [0.0, 22.0, 48.0]
            .into_iter()
            .flat_map(|d| {
                [
                    ((x + 60.0, b.y0 + 14.0 + d), HPos::Left),
                    ((x + 6.0, b.y0 + 14.0 + d), HPos::Left),
                    ((b.x1 - 8.0, b.y0 + 14.0 + d), HPos::Right),
                ]
            })
            .collect::<Vec<_>>();
        panel.pointing_note(&text, Letters { color: MUTED, ..LABEL }, true, &places)
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        760
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        let what = match self.answer.made_for {
            MadeFor::Runs => "batch size",
            MadeFor::Order => "the pieces of one order",
        };
        format!(
            "The lowest price per piece that earns {} an hour against {what}, at several confidences and in the long run, with \
             the asked price of {} as a line across.",
            format::typed_money(self.answer.target, &self.answer.currency),
            format::typed_money(self.answer.price, &self.answer.currency)
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let foot = format!(
            "Asked price {} · target {} an hour in {} of runs · {} simulated runs of each size · seed {} · batchwright {}",
            format::typed_money(a.price, &a.currency),
            format::typed_money(a.target, &a.currency),
            format::confidence(a.confidence),
            format::count(a.trials),
            a.seed,
            a.version,
        );
        let page = Page::new(root, &a.title, self.headline, &foot)?;
        let curves = self.curves();
        let values = |curve: &Curve| curve.points.iter().filter_map(|p| p.1).collect::<Vec<f64>>();
        let all: Vec<f64> = curves.iter().flat_map(values).collect();
        let asked: Vec<f64> = self
            .points(|s| s.floor_asked.price)
            .iter()
            .filter_map(|p| p.1)
            .collect();
        let story = [a.price, 0.85 * a.price, 1.1 * a.price];
        // Few sizes are all looked at; among many the dearest would squeeze the others.
        let allow = if self.sizes.len() <= FEW { 30.0 } else { 3.0 };
        let (low, high) = ticks::range(&story, &asked, &all, Stretch { allow, show: 1.5 });
        let air = 0.06 * (high - low);
        let from = if low >= 0.0 { (low - air).max(0.0) } else { low - air };
        let title = format!(
            "The price at which an hour earns {}",
            format::typed_money(a.target, &a.currency)
        );
        let unit = format!("{} per piece", a.currency);
        let boxes = page.stacked(&[1.0]);
        let head = PanelHead {
            title: &title,
            unit: &unit,
        };
        let panel = Panel::new(
            &page,
            boxes[0],
            &head,
            &Axis::sizes(self.scale, &self.sizes),
            (from, high + air),
        )?;
        let band: Vec<(f64, f64, f64)> = a
            .sizes
            .iter()
            .filter_map(|s| Some((f64::from(s.size), s.floor_asked.low?, s.floor_asked.high?)))
            .collect();
        let lone = self.sizes.len() == 1;
        if lone {
            for (size, low, high) in &band {
                panel.bar(*size, LONE_HALF, (*low, *high), BAND)?;
            }
        } else {
            panel.between_curves(&band, BAND)?;
        }
        panel.level(a.price, &PRICE)?;
        let certain = self.certain(&curves);
        let mut ends = vec![EndLabel {
            value: a.price,
            key: Key::Line(PRICE),
            name: "asked".into(),
            figure: minus(&format::typed_amount(a.price, &a.currency)),
        }];
        for curve in curves.iter().take(if certain { 1 } else { curves.len() }) {
            let line = if certain { Line::solid(MAIN, 3.0) } else { curve.line };
            if let (true, Some((size, Some(value)))) = (lone, curve.points.first()) {
                panel.rung(*size, LONE_HALF, *value, &line)?;
            } else {
                panel.curve(&curve.points, &line, self.sizes.len() <= FEW)?;
            }
            let last = curve.points.last().and_then(|p| p.1);
            ends.push(EndLabel {
                value: last.unwrap_or(f64::INFINITY),
                key: Key::Line(line),
                name: if certain {
                    "every run".into()
                } else {
                    curve.name.clone()
                },
                figure: last.map_or_else(|| "no price".to_owned(), |v| self.amount(v)),
            });
        }
        self.gaps(&panel, &curves)?;
        self.beyond(&panel, &curves)?;
        panel.end_labels(&ends)?;
        match a.made_for {
            MadeFor::Runs => panel.name_sizes(),
            MadeFor::Order => panel.name_axis("pieces in one order, made and sent together"),
        }
    }
}
