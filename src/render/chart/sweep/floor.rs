//! The price that earns the target, at several confidences, against the asked price.

use super::super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead};
use super::super::labels::Rect;
use super::super::palette::{ASKED, MUTED, STEPS};
use super::super::ticks::{self, Stretch};
use super::{Chart, MEDIAN, SAME, TARGET};
use crate::questions::sweep::{Floor, SizeAnswer};
use crate::render::format;
use plotters::style::RGBColor;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;

/// A confidence and its floor by size, `None` where no price does it.
type Curve = (f64, Vec<(f64, Option<f64>)>);

impl Chart<'_> {
    /// The confidences to draw, ascending, the asked one among them; for each how to find its floor.
    fn floor_curves(&self) -> Vec<Curve> {
        let price = |f: &Floor| f.price.filter(|p| p.is_finite());
        let given = self.answer.sizes.first().map(|s| s.floor.len()).unwrap_or(0);
        let mut curves: Vec<Curve> = (0..given)
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

    pub(super) fn floor_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
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
        let panel = Panel::new(
            page,
            bounds,
            &head,
            &Axis::sizes(self.scale, &self.sizes),
            (from, high + air),
        )?;

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
    fn floor_gaps<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>, curves: &[Curve]) -> Drawn<DB> {
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
    fn floor_cuts<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>, curves: &[Curve]) -> Drawn<DB> {
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
fn certain<DB: DrawingBackend>(curves: &[Curve], panel: &Panel<'_, DB>) -> bool {
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
