//! The chart of `fit`: a panel for each step, its entries as dots, the fitted line with its band, and what the file expects.

use super::frame::{Axis, Drawn, EndLabel, Key, Line, Page, Panel, PanelHead};
use super::palette::{ASKED, BAND, INK, MAIN, MUTED};
use super::ticks::SizeScale;
use super::{Canvas, ChartError, Picture};
use crate::render::{format, text};
use crate::worklog::fit::{Along, Fit, StepFit};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;

/// Panels at most: those whose entries took longest.
const PANELS: usize = 8;
const PANEL_HEIGHT: u32 = 250;
const LAW: Line = Line::solid(MAIN, 2.6);
const EXPECTED: Line = Line::dashed(ASKED, 2.0, 8.0, 4.0);

pub(super) struct Chart<'a> {
    answer: &'a Fit,
    headline: &'a str,
    steps: Vec<&'a StepFit>,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a Fit, headline: &'a str) -> Result<Self, ChartError> {
        let mut longest: Vec<&StepFit> = answer.steps.iter().filter(|s| !s.line.is_empty()).collect();
        if longest.is_empty() {
            return Err(ChartError::Empty);
        }
        longest.sort_by(|a, b| b.minutes.total_cmp(&a.minutes));
        longest.truncate(PANELS);
        let steps = answer
            .steps
            .iter()
            .filter(|s| longest.iter().any(|l| std::ptr::eq(*l, *s)))
            .collect();
        Ok(Self {
            answer,
            headline,
            steps,
        })
    }

    fn step(panel: &Panel<'_, Canvas>, step: &StepFit) -> Drawn<Canvas> {
        let band: Vec<(f64, f64, f64)> = step
            .line
            .iter()
            .filter_map(|p| Some((f64::from(p.pieces), p.low?, p.high?)))
            .collect();
        panel.between_curves(&band, BAND)?;
        let curve = |of: &dyn Fn(&crate::worklog::fit::LinePoint) -> f64| -> Vec<(f64, Option<f64>)> {
            step.line.iter().map(|p| (f64::from(p.pieces), Some(of(p)))).collect()
        };
        panel.curve(&curve(&|p| p.expected), &EXPECTED, false)?;
        panel.curve(&curve(&|p| p.minutes), &LAW, false)?;
        for point in &step.points {
            let color = if point.partly { MUTED } else { INK };
            panel.dot((f64::from(point.pieces), point.minutes), 4.0, color)?;
        }
        let Some(end) = step.line.last() else { return Ok(()) };
        let figure = |v: f64| format!("{} min", format::minutes(v));
        let mut ends = vec![
            EndLabel {
                value: end.minutes,
                key: Key::Line(LAW),
                name: "log".into(),
                figure: figure(end.minutes),
            },
            EndLabel {
                value: end.expected,
                key: Key::Line(EXPECTED),
                name: "file".into(),
                figure: figure(end.expected),
            },
        ];
        if let (Some(low), Some(_)) = (end.low, end.high) {
            ends.push(EndLabel {
                value: f64::midpoint(low, end.minutes),
                key: Key::Area(BAND),
                name: "8 entries in 10".into(),
                figure: String::new(),
            });
        }
        panel.end_labels(&ends)
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        190 + PANEL_HEIGHT * self.steps.len() as u32
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        let list: Vec<String> = self
            .steps
            .iter()
            .map(|step| {
                let parts: Vec<String> = step
                    .parts
                    .iter()
                    .filter_map(|p| p.found.map(|f| format!("{} {} min", p.key, format::minutes(f.value))))
                    .collect();
                format!("{}: {}", text::printable(&step.name), parts.join(", "))
            })
            .collect();
        format!(
            "One panel a step: minutes of each entry against its pieces or orders, the fitted line with the band of eight new entries in \
             ten, and what the file expects. {}.",
            list.join("; ")
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let foot = format!(
            "{} entries · {} jobs named · dots: entries (grey: setup or pieces alone) · batchwright {}",
            format::count(self.answer.entries as u64),
            format::count(self.answer.pace.jobs.len() as u64),
            self.answer.version
        );
        let page = Page::new(root, &self.answer.title, self.headline, &foot)?;
        let boxes = page.stacked(&vec![1.0; self.steps.len()]);
        let mut last = None;
        for (step, bounds) in self.steps.iter().zip(boxes) {
            let most_pieces = step
                .points
                .iter()
                .map(|p| p.pieces)
                .chain(step.line.last().map(|p| p.pieces))
                .max()
                .unwrap_or(1);
            let partly = step.points.iter().any(|p| p.pieces == 0);
            let scale = SizeScale {
                low: if partly { 0.0 } else { 1.0 },
                high: f64::from(most_pieces.max(2)),
                log: false,
            };
            let axis = Axis {
                scale,
                ticks: Axis::values((scale.low, scale.high), format::tick)
                    .ticks
                    .into_iter()
                    .filter(|(v, _)| v.fract() == 0.0)
                    .collect(),
            };
            let highest = step
                .points
                .iter()
                .map(|p| p.minutes)
                .chain(step.line.iter().flat_map(|p| [p.minutes, p.expected]))
                .fold(0.0, f64::max);
            let band = step.line.iter().filter_map(|p| p.high).fold(0.0, f64::max);
            let head = PanelHead {
                title: &text::printable(&step.name),
                unit: match step.along {
                    Along::Pieces => "minutes an entry, against pieces",
                    Along::Orders => "minutes an entry, against orders",
                },
            };
            let panel = Panel::new(
                &page,
                bounds,
                &head,
                &axis,
                (0.0, 1.05 * highest.max(band.min(1.5 * highest))),
            )?;
            Self::step(&panel, step)?;
            last = Some(panel);
        }
        let counted = match self.steps.last().map(|step| step.along) {
            Some(Along::Orders) => "orders in an entry",
            _ => "pieces in an entry",
        };
        last.map_or(Ok(()), |panel| panel.name_axis(counted))
    }
}
