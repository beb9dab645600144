//! The season's chart: surplus and pieces against batch size, surplus against price.

use super::canvas::Canvas;
use super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, STRONG, minus};
use super::labels::Rect;
use super::palette::{ASKED, BAND, INK, MAIN, MUTED, PARTS, PAYS};
use super::ticks::{self, SizeScale, Stretch};
use super::{ChartError, Picture};
use crate::questions::season::{PriceResponse, SeasonAnswer, SeasonSize};
use crate::render::format;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::text_anchor::HPos;
use plotters::style::{RGBColor, WHITE};

const SURPLUS: Line = Line::solid(MAIN, 3.0);
const BEST: Line = Line::dashed(PAYS, 1.6, 4.0, 3.0);
const ZERO: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const ASKED_PRICE: Line = Line::dashed(ASKED, 1.8, 6.0, 4.0);
const SOLD: RGBColor = PARTS[0];
const LEFT: RGBColor = PARTS[1];
/// Half the width of what stands for one size alone, in pixels.
const LONE_HALF: f64 = 28.0;
/// Room under a panel for the name of its own axis, in pixels.
const AXIS_NAME: f64 = 26.0;

pub(super) struct Chart<'a> {
    answer: &'a SeasonAnswer,
    headline: &'a str,
    best: &'a SeasonSize,
    sizes: Vec<u32>,
    scale: SizeScale,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a SeasonAnswer, headline: &'a str) -> Result<Self, ChartError> {
        let best = answer.sizes.iter().find(|s| s.size == answer.best_by_surplus);
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

    fn surplus_panel(&self, page: &Page<Canvas>, bounds: Rect) -> Drawn<Canvas> {
        let a = self.answer;
        let means: Vec<f64> = a.sizes.iter().map(|s| s.surplus.mean).collect();
        let mut all = means.clone();
        all.extend(a.sizes.iter().flat_map(|s| [s.surplus_p10, s.surplus_p90]));
        let (low, high) = ticks::range(
            &[0.0, self.best.surplus_p10, self.best.surplus_p90],
            &means,
            &all,
            Stretch { allow: 1.5, show: 0.6 },
        );
        let air = 0.04 * (high - low);
        let head = PanelHead {
            title: "What the season leaves",
            unit: &format!(
                "{}, after {} for every hour",
                a.currency,
                format::typed_amount(a.target, &a.currency)
            ),
        };
        let axis = Axis::sizes(self.scale, &self.sizes);
        let panel = Panel::new(page, bounds, &head, &axis, (low - air, high + air))?;
        let band: Vec<(f64, f64, f64)> = a
            .sizes
            .iter()
            .map(|s| (f64::from(s.size), s.surplus_p10, s.surplus_p90))
            .collect();
        let has_band = a.sizes.iter().any(|s| s.surplus_p90 > s.surplus_p10);
        if let [(x, low, high)] = band.as_slice() {
            panel.bar(*x, LONE_HALF, (*low, *high), BAND)?;
        } else {
            panel.between_curves(&band, BAND)?;
        }
        panel.level(0.0, &ZERO)?;
        let points: Vec<(f64, Option<f64>)> = a
            .sizes
            .iter()
            .map(|s| (f64::from(s.size), Some(s.surplus.mean)))
            .collect();
        panel.curve(&points, &SURPLUS, points.len() <= 12)?;
        let x = f64::from(self.best.size);
        if self.sizes.len() > 1 {
            panel.upright(x, &BEST)?;
        }
        panel.dot((x, self.best.surplus.mean), 5.5, PAYS)?;
        let first = format!(
            "{}: {}",
            format::count(self.best.size.into()),
            self.amount(self.best.surplus.mean)
        );
        let second = format!("sells out in {} of seasons", format::share(self.best.sold_out.share));
        let lines = [
            (first.as_str(), Letters { color: PAYS, ..STRONG }),
            (second.as_str(), Letters { color: INK, ..LABEL }),
        ];
        panel.note(&lines, &beside(panel.x(x), panel.bounds, self.sizes.len() == 1))?;

        let mut ends = vec![EndLabel {
            value: 0.0,
            key: Key::Line(ZERO),
            name: "target just met".into(),
            figure: "0".into(),
        }];
        if let Some(last) = a.sizes.last() {
            let mut add = |value: f64, key: Key, name: &str| {
                let lost = name == "average" && !panel.shows(value);
                let name = format!("{name}{}", if lost { ", beyond" } else { "" });
                ends.push(EndLabel {
                    value,
                    key,
                    name,
                    figure: self.amount(value),
                });
            };
            add(last.surplus.mean, Key::Line(SURPLUS), "average");
            if has_band {
                add(last.surplus_p90, Key::Area(BAND), "1 in 10 over");
                add(last.surplus_p10, Key::Area(BAND), "1 in 10 under");
            }
        }
        panel.end_labels(&ends)
    }

    fn pieces_panel(&self, page: &Page<Canvas>, bounds: Rect) -> Drawn<Canvas> {
        let a = self.answer;
        let most = a.sizes.iter().map(|s| s.good.mean).fold(1e-9, f64::max);
        let (title, left) = if a.carried {
            ("Pieces sold and carried on", "carried on")
        } else {
            ("Pieces sold and left over", "left over")
        };
        let head = PanelHead {
            title,
            unit: "good pieces, on average",
        };
        let axis = Axis::sizes(self.scale, &self.sizes);
        let panel = Panel::new(page, bounds, &head, &axis, (0.0, most * 1.04))?;
        let areas = [
            (
                SOLD,
                "sold",
                a.sizes
                    .iter()
                    .map(|s| (f64::from(s.size), 0.0, s.sold.mean))
                    .collect::<Vec<_>>(),
            ),
            (
                LEFT,
                left,
                a.sizes
                    .iter()
                    .map(|s| (f64::from(s.size), s.sold.mean, s.sold.mean + s.leftover))
                    .collect(),
            ),
        ];
        let mut ends = Vec::new();
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
                figure: format::mean_count(high - low),
            }));
        }
        let edge: Vec<(f64, Option<f64>)> = a.sizes.iter().map(|s| (f64::from(s.size), Some(s.sold.mean))).collect();
        if edge.len() > 1 {
            panel.curve(&edge, &Line::solid(WHITE, 1.5), false)?;
            panel.upright(f64::from(self.best.size), &Line::solid(WHITE, 3.0))?;
            panel.upright(f64::from(self.best.size), &BEST)?;
        }
        panel.end_labels(&ends)?;
        panel.name_sizes()
    }

    fn price_panel(&self, page: &Page<Canvas>, bounds: Rect, prices: &PriceResponse) -> Drawn<Canvas> {
        let a = self.answer;
        let values: Vec<f64> = prices.curve.iter().map(|p| p.surplus.mean).collect();
        let mut story = vec![0.0];
        story.extend(prices.best.map(|best| best.surplus.mean));
        let (low, high) = ticks::range(&story, &values, &values, Stretch { allow: 1.5, show: 0.6 });
        let air = 0.06 * (high - low);
        let ends = prices
            .curve
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |(l, h), p| (l.min(p.price), h.max(p.price)));
        let head = PanelHead {
            title: "What other prices leave",
            unit: &format!(
                "{}, each price with its best batch and the buyers there are at it",
                a.currency
            ),
        };
        let axis = Axis::values(ends, format::tick);
        let panel = Panel::new(page, bounds, &head, &axis, (low - air, high + air))?;
        panel.level(0.0, &ZERO)?;
        panel.upright(a.price, &ASKED_PRICE)?;
        let mut points: Vec<(f64, f64)> = prices.curve.iter().map(|p| (p.price, p.surplus.mean)).collect();
        points.extend(prices.best.map(|best| (best.price, best.surplus.mean)));
        points.sort_by(|x, y| x.0.total_cmp(&y.0));
        let curve: Vec<(f64, Option<f64>)> = points.into_iter().map(|(x, y)| (x, Some(y))).collect();
        panel.curve(&curve, &SURPLUS, false)?;
        let asked = format!("asked {}", format::typed_amount(a.price, &a.currency));
        let lone = [(asked.as_str(), Letters { color: ASKED, ..LABEL })];
        if let Some(best) = prices.best {
            panel.upright(best.price, &BEST)?;
            panel.dot((best.price, best.surplus.mean), 5.5, PAYS)?;
            let first = format!(
                "{} with a batch of {}",
                self.amount(best.price),
                format::count(best.size.into())
            );
            let second = format!("leaves {}", self.amount(best.surplus.mean));
            let lines = [
                (first.as_str(), Letters { color: PAYS, ..STRONG }),
                (second.as_str(), Letters { color: INK, ..LABEL }),
            ];
            panel.note(&lines, &beside(panel.x(best.price), panel.bounds, false))?;
        } else {
            let text = if prices.elasticity <= 1.0 {
                "dearer always pays more: no best price"
            } else {
                "the best lies beyond the prices looked at"
            };
            let lines = [(text, Letters { color: MUTED, ..STRONG })];
            panel.note(
                &lines,
                &beside((panel.bounds.x0 + panel.bounds.x1) / 2.0, panel.bounds, false),
            )?;
        }
        panel.note(&lone, &beside(panel.x(a.price), panel.bounds, false))?;
        let last = prices.curve.last().map_or(f64::NAN, |p| p.surplus.mean);
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
                name: "on average".into(),
                figure: self.amount(last),
            },
        ])?;
        panel.name_axis(&format!("price per piece, {}", a.currency))
    }
}

/// Places beside an upright line for a note.
pub(super) fn beside(x: f64, b: Rect, lone: bool) -> Vec<((f64, f64), HPos)> {
    let off = if lone { LONE_HALF + 14.0 } else { 9.0 };
    [0.88, 0.76, 0.12, 0.24, 0.64, 0.4, 0.5]
        .map(|t| b.y0 + t * (b.y1 - b.y0))
        .into_iter()
        .flat_map(|y| [((x + off, y), HPos::Left), ((x - off, y), HPos::Right)])
        .collect()
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        if self.answer.prices.is_some() { 1340 } else { 940 }
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        let price = self
            .answer
            .prices
            .as_ref()
            .map_or("", |_| ", then what is left against the price");
        format!(
            "Panels against batch size: what the season leaves after the target for every hour, with the range of eight \
             seasons in ten; pieces sold and left over{price}. {}.",
            self.headline
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let foot = format!(
            "Asked price {} · {} asked for on average · target {} an hour · {} simulated seasons of each size · seed {} · \
             batchwright {}",
            format::typed_money(a.price, &a.currency),
            format::mean_count(a.buyers.mean),
            format::typed_money(a.target, &a.currency),
            format::count(a.trials),
            a.seed,
            a.version,
        );
        let page = Page::new(root, &a.title, self.headline, &foot)?;
        match &a.prices {
            Some(prices) => {
                let boxes = page.stacked(&[0.38, 0.27, 0.35]);
                let [surplus, pieces, price] = boxes.as_slice() else {
                    return Ok(());
                };
                self.surplus_panel(&page, *surplus)?;
                self.pieces_panel(&page, *pieces)?;
                // The panel before has an axis of its own, with a name under it.
                let below = Rect {
                    y0: price.y0 + AXIS_NAME,
                    ..*price
                };
                self.price_panel(&page, below, prices)
            }
            None => {
                let boxes = page.stacked(&[0.58, 0.42]);
                let [surplus, pieces] = boxes.as_slice() else {
                    return Ok(());
                };
                self.surplus_panel(&page, *surplus)?;
                self.pieces_panel(&page, *pieces)
            }
        }
    }
}
