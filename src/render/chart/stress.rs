//! The chart of `stress`: how far each misfortune may go, and what it does to the hour; one row each.

use super::canvas::Canvas;
use super::frame::{Axis, Drawn, Line, Page, PanelHead, ROW, Rows, STRONG, minus};
use super::palette::{ASKED, BAND, MAIN, MUTED, STEPS};
use super::{ChartError, Picture};
use crate::questions::stress::{Kind, Misfortune, Stress};
use crate::render::format;
use crate::render::stress::{bar_end, chosen, how_bad, limit, name, strengths_are, strengths_shown, told};
use crate::render::words::{batch_of, capital};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;

/// Room for the names of rows, in pixels.
const NAMES: f64 = 264.0;
const TARGET: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const PLANNED: Line = Line::solid(MUTED, 1.4);

pub(super) struct Chart<'a> {
    answer: &'a Stress,
    headline: &'a str,
    rows: Vec<&'a Misfortune>,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a Stress, headline: &'a str) -> Result<Self, ChartError> {
        let rows = chosen(answer, false);
        if rows.is_empty() {
            return Err(ChartError::Empty);
        }
        Ok(Self { answer, headline, rows })
    }

    /// Bars: dark up to where the target is lost, light on to where nothing is earned.
    fn limits(&self, page: &Page<Canvas>, bounds: super::labels::Rect, names: &[String]) -> Drawn<Canvas> {
        let (low, high) = strengths_shown(&self.rows);
        let axis = Axis::values((low * 1.05, high), |v, step| {
            format!("{} %", format::tick(v * 100.0, step * 100.0))
        });
        let head = PanelHead {
            title: "How far each may go alone",
            unit: if low < 0.0 {
                "orange: how much better for the target · light: the hour still earns something"
            } else {
                "dark: the target is kept · light: the hour still earns something"
            },
        };
        let rows = Rows::new(page, bounds, &head, names, NAMES, &axis)?;
        for (row, m) in self.rows.iter().enumerate() {
            let (target, nothing) = (bar_end(&m.target_lost, high), bar_end(&m.nothing_earned, high));
            if nothing > 0.0 {
                rows.bar(row, (0.0, nothing.min(high)), (0.62, 0.0), BAND)?;
            }
            let (color, shown) = if target < 0.0 {
                (ASKED, target)
            } else {
                (MAIN, target.min(high))
            };
            rows.bar(row, (0.0, shown), (0.62, 0.0), color)?;
            if let (Some(from), Some(to), true) = (m.target_lost.low, m.target_lost.high, target <= high) {
                rows.whisker(row, (from, to), 0.0, &Line::solid(STEPS[0], 2.0))?;
            }
            rows.figure(row, &minus(&limit(self.answer, m, &m.target_lost)), STRONG)?;
        }
        rows.upright(0.0, &PLANNED)?;
        rows.name_axis(strengths_are(&self.rows))
    }

    /// Dots: what an hour earns at each strength.
    fn effects(&self, page: &Page<Canvas>, bounds: super::labels::Rect, names: &[String]) -> Drawn<Canvas> {
        let a = self.answer;
        let planned = a.as_planned.rate.mean;
        let all = || {
            let found = self
                .rows
                .iter()
                .flat_map(|m| m.strengths.iter().map(|s| s.outcome.rate.mean));
            found.chain([planned, a.target, 0.0]).filter(|v| v.is_finite())
        };
        // A loss many times the target would squeeze the rest.
        let most = all().fold(f64::NEG_INFINITY, f64::max);
        let span = (most - 0.0_f64.min(planned)).max(1e-6);
        let low = all().fold(f64::INFINITY, f64::min).max(0.0_f64.min(planned) - span);
        let axis = Axis::values((low - 0.02 * span, most + 0.04 * span), format::tick);
        let unit = format!(
            "{} per hands-on hour in the long run; each dot a strength, the large one named",
            a.currency
        );
        let head = PanelHead {
            title: "What each does to the hour",
            unit: &unit,
        };
        let rows = Rows::new(page, bounds, &head, names, NAMES, &axis)?;
        rows.upright(planned, &PLANNED)?;
        rows.upright(a.target, &TARGET)?;
        for (row, m) in self.rows.iter().enumerate() {
            let Some(last) = m.strengths.last() else { continue };
            rows.whisker(row, (planned, last.outcome.rate.mean), 0.0, &Line::solid(STEPS[0], 2.0))?;
            let main = told(m).map(|s| s.strength);
            for s in &m.strengths {
                let (radius, color) = if Some(s.strength) == main {
                    (5.5, MAIN)
                } else {
                    (3.5, STEPS[1])
                };
                rows.dot(row, s.outcome.rate.mean, 0.0, radius, color)?;
            }
            if let Some(s) = told(m) {
                let text = format!(
                    "{}: {}",
                    how_bad(a, m, s.strength),
                    minus(&format::amount(s.outcome.rate.mean, &a.currency))
                );
                rows.figure(row, &text, STRONG)?;
            }
        }
        rows.name_axis(&format!(
            "grey line: as planned, {} · dashed: the target, {}",
            minus(&format::amount(planned, &a.currency)),
            format::typed_amount(a.target, &a.currency)
        ))
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        (300.0 + 2.0 * (70.0 + ROW * self.rows.len() as f64)) as u32
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        let a = self.answer;
        let lost: Vec<String> = self
            .rows
            .iter()
            .filter(|m| m.kind != Kind::Own)
            .map(|m| format!("{}: {}", name(a, m), limit(a, m, &m.target_lost)))
            .collect();
        format!(
            "Two panels of rows, one row a misfortune: how far it may go before the target of {} an hour is missed, and what an \
             hour earns at rising strengths. {}.",
            format::typed_money(a.target, &a.currency),
            lost.join("; ")
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let asked = format!(
            "{} at {} · target {} an hour",
            capital(&batch_of(a.size)),
            format::typed_money(a.price, &a.currency),
            format::typed_money(a.target, &a.currency),
        );
        let foot = if a.certain {
            format!("{asked} · nothing is left to chance · batchwright {}", a.version)
        } else {
            format!(
                "{asked} in {} of runs · {} simulated runs of each setting · seed {} · batchwright {}",
                format::confidence(a.confidence),
                format::count(a.trials),
                a.seed,
                a.version,
            )
        };
        let page = Page::new(root, &a.title, self.headline, &foot)?;
        let names: Vec<String> = self.rows.iter().map(|m| name(a, m)).collect();
        let boxes = page.stacked(&[1.0, 1.0]);
        // The first panel's axis title stands between the two.
        let [first, second] = boxes.as_slice() else {
            return Ok(());
        };
        self.limits(
            &page,
            super::labels::Rect {
                y1: first.y1 - 26.0,
                ..*first
            },
            &names,
        )?;
        self.effects(&page, *second, &names)
    }
}
