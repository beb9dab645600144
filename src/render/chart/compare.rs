//! The comparison's chart: what runs earn an hour, all on one axis, and long-run rates against batch size.

use super::frame::{
    Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, STRONG, end_label_room, minus,
};
use super::labels::Rect;
use super::palette::{MUTED, RIVALS};
use super::ticks::{self, SizeScale, Stretch};
use super::{Canvas, ChartError, Picture, lettering};
use crate::questions::compare::{Compare, Entry};
use crate::render::{compare as said, format};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;

/// Height of both plots with titles and foot, in pixels, and what each strip above the densities adds.
const HEIGHT: u32 = 900;
const STRIP: u32 = 26;
const TARGET: Line = Line::dashed(MUTED, 1.8, 14.0, 5.0);

/// A comparison and its answer in words.
pub(super) struct Chart<'a> {
    answer: &'a Compare,
    headline: &'a str,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a Compare, headline: &'a str) -> Result<Self, ChartError> {
        if answer.entries.is_empty() {
            return Err(ChartError::Empty);
        }
        Ok(Self { answer, headline })
    }

    fn label(&self, k: usize) -> String {
        format!(
            "{} {} × {}",
            said::letter(k),
            format::count(self.answer.entries[k].run.size.into()),
            said::label(self.answer, k)
        )
    }

    /// The label cut to the room beside both panels' figures: one thing is cut in one way.
    fn cut_label(&self, k: usize, panel: &Rect) -> String {
        let rate = &self.answer.entries[k].run.rate;
        let longest = [rate.p50, rate.long_run].map(|value| end_label_room(panel, &self.amount(value)));
        lettering::shorten(&self.label(k), LABEL.weight, LABEL.size, longest[0].min(longest[1]))
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    /// Densities as steps, above them a strip each with median and long run.
    fn rates<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let bins = a.bins;
        let count = a.entries.len();
        let mut low = f64::INFINITY;
        let mut high = f64::NEG_INFINITY;
        let mut show = |value: f64| {
            if value.is_finite() {
                (low, high) = (low.min(value), high.max(value));
            }
        };
        for e in &a.entries {
            let rate = &e.run.rate;
            for value in [rate.p10, rate.p90, rate.long_run] {
                show(value);
            }
        }
        if bins.width > 0.0 {
            // The far tails say little and would squeeze the rest.
            let held: Vec<usize> = (0..a.entries[0].density.len())
                .filter(|k| a.entries.iter().any(|e| e.density[*k] > 0.001))
                .collect();
            if let (Some(first), Some(last)) = (held.first(), held.last()) {
                show(bins.from + bins.width * *first as f64);
                show(bins.from + bins.width * (*last + 1) as f64);
            }
        }
        if let Some(target) = said::same_target(self.answer) {
            show(target);
        }
        let air = if high > low {
            0.03 * (high - low)
        } else {
            0.5 * high.abs().max(1.0)
        };
        let axis = Axis::values((low - air, high + air), format::tick);
        let unit = format!("{} per hands-on hour; height: how many runs earn that", a.currency);
        let head = PanelHead {
            title: "What a run earns an hour",
            unit: &unit,
        };
        // One that is certain is a single bar: it must not squeeze the others flat.
        let peak = a
            .entries
            .iter()
            .filter(|e| !certain(e))
            .flat_map(|e| e.density.iter().copied())
            .fold(0.0, f64::max);
        let peak = if peak > 0.0 { 100.0 * peak } else { 1.0 };
        // RangePlot stand above the curves, each as high as `STRIP` pixels.
        let tall = bounds.y1 - bounds.y0;
        let strips = (f64::from(STRIP) * count as f64 + 10.0).min(0.6 * tall);
        let top = 1.04 * peak * tall / (tall - strips);
        let panel = Panel::bare(page, bounds, &head, &axis, (0.0, top))?;
        if let Some(target) = said::same_target(self.answer) {
            panel.upright(target, &TARGET)?;
        }
        let mut ends = Vec::new();
        for (k, e) in a.entries.iter().enumerate().rev() {
            let line = line(k);
            if bins.width > 0.0 && !certain(e) {
                panel.curve(
                    &steps(e, (bins.from, bins.width), (low - air, high + air)),
                    &line,
                    false,
                )?;
            } else {
                panel.curve(
                    &[(e.run.rate.p50, Some(0.0)), (e.run.rate.p50, Some(peak))],
                    &line,
                    false,
                )?;
            }
        }
        for (k, e) in a.entries.iter().enumerate() {
            let line = line(k);
            let y = top * (1.0 - (f64::from(STRIP) * (k as f64 + 0.5) + 4.0) / tall);
            let rate = &e.run.rate;
            panel.curve(
                &[(rate.p10, Some(y)), (rate.p90, Some(y))],
                &Line::solid(line.color, 5.0),
                false,
            )?;
            let half = top * 9.0 / tall;
            panel.curve(
                &[(rate.long_run, Some(y - half)), (rate.long_run, Some(y + half))],
                &Line::solid(line.color, 2.4),
                false,
            )?;
            panel.dot((rate.p50, y), 5.0, line.color)?;
            ends.push(EndLabel {
                value: y,
                key: Key::Line(line),
                name: self.cut_label(k, &panel.bounds),
                figure: self.amount(rate.p50),
            });
        }
        panel.end_labels(&ends)?;
        self.explain(&panel)
    }

    /// What dot, tick and strip mean, and the target.
    fn explain<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> Drawn<DB> {
        let b = panel.bounds;
        let from = b.y0 + f64::from(STRIP) * self.answer.entries.len() as f64;
        let heights: Vec<f64> = [0.1, 0.25, 0.4, 0.55, 0.7]
            .iter()
            .map(|t| from + t * (b.y1 - from))
            .collect();
        let quiet = Letters { color: MUTED, ..LABEL };
        let sides = [(b.x1 - 10.0, HPos::Right), (b.x0 + 10.0, HPos::Left)];
        let places: Vec<((f64, f64), HPos)> = heights
            .iter()
            .flat_map(|y| sides.iter().map(move |(x, side)| ((*x, *y), *side)))
            .collect();
        panel.note(
            &[
                ("bar: 8 runs in 10", quiet),
                ("dot: median, figure at the right", quiet),
                ("upright tick: long run", quiet),
            ],
            &places,
        )?;
        let Some(target) = said::same_target(self.answer) else {
            return Ok(());
        };
        let x = panel.x(target);
        let text = format!("target {}", format::typed_amount(target, &self.answer.currency));
        let places: Vec<((f64, f64), HPos)> = heights
            .iter()
            .flat_map(|y| [((x + 8.0, *y), HPos::Left), ((x - 8.0, *y), HPos::Right)])
            .collect();
        panel.note(&[(&text, Letters { color: MUTED, ..STRONG })], &places)
    }

    /// Long-run rates against batch size, the compared sizes as dots.
    fn sweeps<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let mut sizes: Vec<u32> = a
            .entries
            .iter()
            .flat_map(|e| e.sweep.iter().map(|p| p.size).chain([e.run.size]))
            .collect();
        sizes.sort_unstable();
        sizes.dedup();
        let scale = SizeScale::new(&sizes, sizes.len() <= 12);
        let compared: Vec<f64> = a.entries.iter().map(|e| e.run.rate.long_run).collect();
        let all: Vec<f64> = a
            .entries
            .iter()
            .flat_map(|e| e.sweep.iter().map(|p| p.long_run))
            .collect();
        let mut story = compared.clone();
        story.push(0.0);
        story.extend(said::same_target(self.answer));
        let (low, high) = ticks::range(&story, &all, &all, Stretch { allow: 1.5, show: 0.5 });
        let air = 0.05 * (high - low);
        let unit = format!("{} per hands-on hour; dots: what is compared", a.currency);
        let head = PanelHead {
            title: "In the long run, against batch size",
            unit: &unit,
        };
        let panel = Panel::new(
            page,
            bounds,
            &head,
            &Axis::sizes(scale, &sizes),
            (low - air, high + air),
        )?;
        if let Some(target) = said::same_target(self.answer) {
            panel.level(target, &TARGET)?;
        }
        let mut ends = Vec::new();
        for (k, e) in a.entries.iter().enumerate().rev() {
            let line = line(k);
            let points: Vec<(f64, Option<f64>)> =
                e.sweep.iter().map(|p| (f64::from(p.size), Some(p.long_run))).collect();
            if points.len() > 1 {
                panel.curve(&points, &line, false)?;
            }
        }
        for (k, e) in a.entries.iter().enumerate() {
            let line = line(k);
            let rate = e.run.rate.long_run;
            panel.dot((e.run.size.into(), rate), 6.0, line.color)?;
            ends.push(EndLabel {
                value: rate,
                key: Key::Line(line),
                name: self.cut_label(k, &panel.bounds),
                figure: self.amount(rate),
            });
        }
        for (k, e) in a.entries.iter().enumerate() {
            let (x, y) = (panel.x(e.run.size.into()), panel.y(e.run.rate.long_run));
            let letters = Letters {
                color: line(k).color,
                ..STRONG
            };
            let places = [
                ((x, y - 18.0), HPos::Center),
                ((x, y + 18.0), HPos::Center),
                ((x + 6.0, y - 18.0), HPos::Left),
                ((x + 6.0, y + 18.0), HPos::Left),
                ((x - 6.0, y - 18.0), HPos::Right),
            ];
            panel.note(&[(&said::letter(k).to_string(), letters)], &places)?;
        }
        panel.end_labels(&ends)?;
        panel.name_sizes()
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        HEIGHT + STRIP * self.answer.entries.len() as u32
    }

    fn title(&self) -> String {
        format!("{}: {}", said::title(self.answer), self.headline)
    }

    fn description(&self) -> String {
        let list: Vec<String> = self
            .answer
            .entries
            .iter()
            .enumerate()
            .map(|(k, e)| {
                format!(
                    "{}: median {}, long run {}",
                    self.label(k),
                    self.amount(e.run.rate.p50),
                    self.amount(e.run.rate.long_run)
                )
            })
            .collect();
        format!(
            "Two panels: how the runs of each scenario are spread over what an hour earns, in {}, and the long-run rate \
             against batch size. {}.",
            self.answer.currency,
            list.join("; ")
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let foot = format!(
            "{} simulated runs of each on the same days · seed {} · batchwright {}",
            format::count(a.trials),
            a.seed,
            a.version
        );
        let page = Page::new(root, &said::chart_title(a), self.headline, &foot)?;
        let strips = f64::from(STRIP) * a.entries.len() as f64;
        let boxes = page.stacked(&[300.0 + strips, 300.0]);
        let [rates, sweeps] = boxes.as_slice() else {
            return Ok(());
        };
        self.rates(&page, *rates)?;
        self.sweeps(&page, *sweeps)
    }
}

fn certain(entry: &Entry) -> bool {
    entry.density.iter().filter(|d| **d > 0.0).count() <= 1
}

/// Colour and dash of a scenario: four colours, then the same ones broken.
fn line(k: usize) -> Line {
    let color = RIVALS[k % RIVALS.len()];
    match k / RIVALS.len() {
        0 => Line::solid(color, 2.6),
        1 => Line::dashed(color, 2.6, 9.0, 4.0),
        n => Line::dashed(color, 2.6, 3.0, 2.0 + n as f64),
    }
}

/// A density as a stepped outline, in per cent of runs a bin, as far as it lies between `ends`.
fn steps(entry: &Entry, (from, width): (f64, f64), ends: (f64, f64)) -> Vec<(f64, Option<f64>)> {
    let edge = |k: usize| from + width * k as f64;
    let held: Vec<usize> = (0..entry.density.len())
        .filter(|k| edge(*k) >= ends.0 && edge(k + 1) <= ends.1)
        .collect();
    // What lies flat on the axis at either end is nothing.
    let some = |k: &&usize| entry.density[**k] > 0.0;
    let (Some(first), Some(last)) = (held.iter().find(some), held.iter().rev().find(some)) else {
        return Vec::new();
    };
    let mut out = vec![(edge(*first), Some(0.0))];
    for k in *first..=*last {
        let share = Some(100.0 * entry.density[k]);
        out.extend([(edge(k), share), (edge(k + 1), share)]);
    }
    out.push((edge(last + 1), Some(0.0)));
    out
}
