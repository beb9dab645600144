//! The steady seller's chart: getting ready and holding, surplus, stock, all against batch size.

use super::canvas::Canvas;
use super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, STRONG, minus};
use super::labels::Rect;
use super::palette::{ASKED, INK, MAIN, MUTED, PARTS, PAYS, SECOND};
use super::season::beside;
use super::ticks::{self, SizeScale, Stretch};
use super::{ChartError, Picture};
use crate::questions::steady::{SteadyAnswer, SteadySize};
use crate::render::format;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::WHITE;

const SURPLUS: Line = Line::solid(MAIN, 3.0);
const BEST: Line = Line::dashed(PAYS, 1.6, 4.0, 3.0);
const TEXTBOOK: Line = Line::dashed(MUTED, 1.8, 2.0, 4.0);
const ZERO: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const STOCK: Line = Line::solid(SECOND, 2.6);
/// Half the width of what stands for one size alone, in pixels.
const LONE_HALF: f64 = 28.0;
/// Height of the strip where the bench hours do not suffice, in pixels.
const STRIP: f64 = 6.0;

pub(super) struct Chart<'a> {
    answer: &'a SteadyAnswer,
    headline: &'a str,
    best: &'a SteadySize,
    sizes: Vec<u32>,
    scale: SizeScale,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a SteadyAnswer, headline: &'a str) -> Result<Self, ChartError> {
        let best = answer.sizes.iter().find(|s| s.size == answer.best);
        let best = best.ok_or(ChartError::Empty)?;
        let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
        let scale = SizeScale::new(&sizes, false);
        Ok(Self {
            answer,
            headline,
            best,
            sizes,
            scale,
        })
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    fn points(&self, of: impl Fn(&SteadySize) -> f64) -> Vec<(f64, Option<f64>)> {
        let sizes = self.answer.sizes.iter();
        sizes.map(|s| (f64::from(s.size), Some(of(s)))).collect()
    }

    fn mark_best(&self, panel: &Panel<'_, Canvas>, under: bool) -> Drawn<Canvas> {
        if self.sizes.len() < 2 {
            return Ok(());
        }
        if under {
            panel.upright(f64::from(self.best.size), &Line::solid(WHITE, 3.0))?;
        }
        panel.upright(f64::from(self.best.size), &BEST)
    }

    fn cost_panel(&self, page: &Page<Canvas>, bounds: Rect) -> Drawn<Canvas> {
        let a = self.answer;
        let sums: Vec<f64> = a.sizes.iter().map(|s| s.setup_a_year + s.holding_a_year).collect();
        let least = self.best.setup_a_year + self.best.holding_a_year;
        // One piece at a time costs many times as much: what matters is the trough.
        let (_, high) = ticks::range(&[0.0, 3.0 * least], &sums, &sums, Stretch { allow: 0.3, show: 0.1 });
        let head = PanelHead {
            title: "Getting ready and holding",
            unit: &format!("{} a year", a.currency),
        };
        let axis = Axis::sizes(self.scale, &self.sizes);
        let panel = Panel::new(page, bounds, &head, &axis, (0.0, high * 1.04))?;
        let mut ends = Vec::new();
        let areas = [
            (
                PARTS[1],
                "holding",
                a.sizes
                    .iter()
                    .map(|s| (f64::from(s.size), 0.0, s.holding_a_year))
                    .collect::<Vec<_>>(),
            ),
            (
                PARTS[4],
                "getting ready",
                a.sizes
                    .iter()
                    .map(|s| (f64::from(s.size), s.holding_a_year, s.holding_a_year + s.setup_a_year))
                    .collect(),
            ),
        ];
        for (color, name, area) in &areas {
            if let [(x, low, high)] = area.as_slice() {
                panel.bar(*x, LONE_HALF, (*low, *high), *color)?;
            } else {
                panel.between_curves(area, *color)?;
            }
            ends.extend(area.last().map(|&(_, low, high)| EndLabel {
                value: (low + high) / 2.0,
                key: Key::Area(*color),
                name: (*name).into(),
                figure: self.amount(high - low),
            }));
        }
        self.mark_best(&panel, true)?;
        if let Some(t) = a
            .textbook
            .filter(|t| t.batch >= self.scale.low && t.batch <= self.scale.high)
        {
            panel.upright(t.batch, &Line::solid(WHITE, 3.0))?;
            panel.upright(t.batch, &TEXTBOOK)?;
            panel.dot((t.batch, t.yearly_cost), 5.0, ASKED)?;
            let first = format!("textbook: {}", format::mean_count(t.batch));
            let second = format!("{} a year", self.amount(t.yearly_cost));
            let lines = [
                (first.as_str(), Letters { color: ASKED, ..STRONG }),
                (second.as_str(), Letters { color: INK, ..LABEL }),
            ];
            let mut places = beside(panel.x(t.batch), panel.bounds, false);
            // Above the trough there is free ground.
            places.rotate_left(4);
            panel.note(&lines, &places)?;
        }
        panel.end_labels(&ends)
    }

    fn surplus_panel(&self, page: &Page<Canvas>, bounds: Rect) -> Drawn<Canvas> {
        let a = self.answer;
        let values: Vec<f64> = a.sizes.iter().map(|s| s.surplus_a_year.mean).collect();
        let best = self.best.surplus_a_year.mean;
        let (low, high) = ticks::range(&[0.0, best], &values, &values, Stretch { allow: 0.6, show: 0.4 });
        let air = 0.06 * (high - low);
        let head = PanelHead {
            title: "What a year leaves",
            unit: &format!(
                "{}, after {} for every hour and after holding",
                a.currency,
                format::typed_amount(a.target, &a.currency)
            ),
        };
        let axis = Axis::sizes(self.scale, &self.sizes);
        let panel = Panel::new(page, bounds, &head, &axis, (low - air, high + air))?;
        let short: Vec<&SteadySize> = a.sizes.iter().filter(|s| !s.fits).collect();
        if self.sizes.len() > 1 {
            // Neighbours make one strip.
            let mut strips: Vec<(f64, f64)> = Vec::new();
            for s in &short {
                let x = f64::from(s.size);
                let place = self.sizes.binary_search(&s.size).unwrap_or(0);
                let middle = |other: Option<&u32>| other.map_or(x, |o| f64::midpoint(x, f64::from(*o)));
                let from = middle(place.checked_sub(1).and_then(|k| self.sizes.get(k)));
                let to = middle(self.sizes.get(place + 1));
                match strips.last_mut() {
                    Some((_, end)) if *end == from => *end = to,
                    _ => strips.push((from, to)),
                }
            }
            for (from, to) in strips {
                panel.strip(panel.x(from), panel.x(to), STRIP, ASKED)?;
            }
        }
        panel.level(0.0, &ZERO)?;
        panel.curve(
            &self.points(|s| s.surplus_a_year.mean),
            &SURPLUS,
            self.sizes.len() <= 12,
        )?;
        self.mark_best(&panel, false)?;
        panel.dot((f64::from(self.best.size), best), 5.5, PAYS)?;
        let first = format!(
            "{} at a time: {}",
            format::count(self.best.size.into()),
            self.amount(best)
        );
        let second = format!("every {}", format::weeks(self.best.weeks));
        let lines = [
            (first.as_str(), Letters { color: PAYS, ..STRONG }),
            (second.as_str(), Letters { color: INK, ..LABEL }),
        ];
        panel.note(
            &lines,
            &beside(panel.x(f64::from(self.best.size)), panel.bounds, self.sizes.len() == 1),
        )?;
        if let Some(last) = short.last() {
            let text = "bench hours do not suffice";
            let y = panel.bounds.y1 - STRIP - 14.0;
            let x = panel.x(f64::from(last.size));
            let ends = [
                ((panel.bounds.x0 + 8.0, y), plotters::style::text_anchor::HPos::Left),
                ((x + 8.0, y), plotters::style::text_anchor::HPos::Left),
            ];
            panel.note(&[(text, Letters { color: ASKED, ..LABEL })], &ends)?;
        }
        let last = values.last().copied().unwrap_or(f64::NAN);
        panel.end_labels(&[
            EndLabel {
                value: 0.0,
                key: Key::Line(ZERO),
                name: "target just met".into(),
                figure: "0".into(),
            },
            EndLabel {
                value: last,
                key: Key::Line(SURPLUS),
                name: "surplus".into(),
                figure: self.amount(last),
            },
        ])
    }

    fn stock_panel(&self, page: &Page<Canvas>, bounds: Rect) -> Drawn<Canvas> {
        let a = self.answer;
        let most = a.sizes.iter().map(|s| s.stock).fold(1e-9, f64::max);
        let head = PanelHead {
            title: "In stock",
            unit: "pieces, on average",
        };
        let axis = Axis::sizes(self.scale, &self.sizes);
        let panel = Panel::new(page, bounds, &head, &axis, (0.0, most * 1.06))?;
        panel.curve(&self.points(|s| s.stock), &STOCK, self.sizes.len() <= 12)?;
        self.mark_best(&panel, false)?;
        panel.dot((f64::from(self.best.size), self.best.stock), 5.0, PAYS)?;
        let text = format!(
            "{} in stock, tying up {}",
            format::mean_count(self.best.stock),
            format::money(self.best.tied_up, &a.currency)
        );
        let lines = [(text.as_str(), Letters { color: PAYS, ..STRONG })];
        panel.note(
            &lines,
            &beside(panel.x(f64::from(self.best.size)), panel.bounds, self.sizes.len() == 1),
        )?;
        if let Some(last) = a.sizes.last() {
            panel.end_labels(&[EndLabel {
                value: last.stock,
                key: Key::Line(STOCK),
                name: "in stock".into(),
                figure: format::mean_count(last.stock),
            }])?;
        }
        panel.name_sizes()
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        1180
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        format!(
            "Three panels against batch size: what getting ready and holding cost a year, with the textbook's batch; what a \
             year leaves after the target for every hour; pieces in stock on average. {}.",
            self.headline
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let foot = format!(
            "{} asked for a week · price {} · target {} an hour · holding {} a year · {} simulated runs of each size · seed {} · \
             batchwright {}",
            format::mean_count(a.per_week),
            format::typed_money(a.price, &a.currency),
            format::typed_money(a.target, &a.currency),
            format::confidence(a.hold),
            format::count(a.trials),
            a.seed,
            a.version,
        );
        let page = Page::new(root, &a.title, self.headline, &foot)?;
        let boxes = page.stacked(&[0.4, 0.36, 0.24]);
        let [cost, surplus, stock] = boxes.as_slice() else {
            return Ok(());
        };
        self.cost_panel(&page, *cost)?;
        self.surplus_panel(&page, *surplus)?;
        self.stock_panel(&page, *stock)
    }
}
