//! Where the hands-on time of a piece goes, as stacked areas or, for few sizes, bars.

use super::super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead};
use super::super::labels::Rect;
use super::super::lettering;
use super::super::palette::{INK, MUTED, PARTS};
use super::super::ticks::{self, Stretch};
use super::{Chart, PAYING};
use crate::questions::sweep::{Parts, SizeAnswer};
use crate::render::format;
use plotters::style::WHITE;
use plotters_backend::DrawingBackend;

impl Chart<'_> {
    pub(super) fn time_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let totals_in_hours = self.values(|s| parts(&s.hours_parts).iter().map(|p| p.1).sum());
        let median = ticks::range(&[], &totals_in_hours, &[], Stretch { allow: 0.0, show: 0.0 }).1;
        let in_minutes = median < 2.0;
        let per_hour = if in_minutes { 60.0 } else { 1.0 };
        let totals: Vec<f64> = totals_in_hours.iter().map(|t| t * per_hour).collect();
        let (_, high) = ticks::range(&[0.0], &totals, &totals, Stretch { allow: 6.0, show: 1.0 });
        let unit = if in_minutes {
            "minutes per piece, on average"
        } else {
            "hours per piece, on average"
        };
        let head = PanelHead {
            title: "Where the hands-on time of a piece goes",
            unit,
        };
        let panel = Panel::new(
            page,
            bounds,
            &head,
            &Axis::sizes(self.scale, &self.sizes),
            (0.0, high * 1.04),
        )?;

        let half = self.bar_half(&panel);
        // Behind bars, which it would hollow out; over areas, which would hide it.
        let pays = a.first_paying_size.filter(|_| self.sizes.len() > 1);
        if let Some(first) = pays.filter(|_| self.few) {
            panel.upright(first.into(), &PAYING)?;
        }
        let mut base = vec![0.0; a.sizes.len()];
        let mut ends: Vec<EndLabel> = Vec::new();
        let mut edges: Vec<Vec<(f64, Option<f64>)>> = Vec::new();
        for (part, color) in PARTS.iter().copied().enumerate() {
            let values: Vec<f64> = a
                .sizes
                .iter()
                .map(|s| parts(&s.hours_parts)[part].1 * per_hour)
                .collect();
            if values.iter().all(|&v| v.is_nan() || v <= 0.0) {
                continue;
            }
            let slice: Vec<(f64, f64, f64)> = self
                .sizes
                .iter()
                .zip(base.iter().zip(&values))
                .map(|(&s, (&from, &v))| (f64::from(s), from, from + v.max(0.0)))
                .collect();
            if self.few {
                for &(x, from, to) in &slice {
                    panel.bar(x, half, (from, to), color)?;
                }
            } else {
                panel.between_curves(&slice, color)?;
                edges.push(slice.iter().map(|&(x, _, to)| (x, Some(to))).collect());
            }
            if let Some(&(_, from, to)) = slice.last() {
                let name = part_name(part);
                let figure = format::hours((to - from) / per_hour);
                ends.push(EndLabel {
                    value: (from + to) / 2.0,
                    key: Key::Area(color),
                    name: name.into(),
                    figure,
                });
            }
            base = slice.iter().map(|s| s.2).collect();
        }
        // White seams keep neighbours apart where a printer makes them one grey.
        edges.pop();
        for edge in &edges {
            panel.curve(edge, &Line::solid(WHITE, 1.0), false)?;
        }
        self.inside_labels(&panel, per_hour)?;
        if let Some(first) = pays.filter(|_| !self.few) {
            panel.upright(first.into(), &Line::solid(WHITE, 3.0))?;
            panel.upright(first.into(), &PAYING)?;
        }
        let beyond: Vec<(&SizeAnswer, f64)> = a
            .sizes
            .iter()
            .zip(totals.iter().copied())
            .filter(|(_, t)| !panel.shows(*t) && t.is_finite())
            .collect();
        let most = beyond.iter().map(|b| b.1).fold(0.0, f64::max);
        let cut: Vec<&SizeAnswer> = beyond.iter().map(|b| b.0).collect();
        let figure = format::hours(most / per_hour);
        self.beyond_note(
            &panel,
            &cut,
            true,
            |way| format!("{way} {figure}").trim().to_owned(),
            Letters { color: MUTED, ..LABEL },
        )?;
        panel.end_labels(&ends)?;
        panel.name_sizes()
    }

    /// Names inside the areas where they are thick enough for letters.
    fn inside_labels<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>, per_hour: f64) -> Drawn<DB> {
        if self.few {
            return Ok(());
        }
        for part in 0..PARTS.len() {
            let edges: Vec<(f64, f64, f64)> = self
                .answer
                .sizes
                .iter()
                .map(|s| {
                    let all = parts(&s.hours_parts);
                    let below: f64 = all[..part].iter().map(|p| p.1).sum::<f64>() * per_hour;
                    let own = all[part].1 * per_hour;
                    (panel.x(s.size.into()), panel.y(below), panel.y(below + own))
                })
                .collect();
            let name = part_name(part);
            let Some((x, y)) = roomiest(&edges, lettering::width(name, LABEL.weight, LABEL.size) + 12.0, 19.0) else {
                continue;
            };
            let color = if part == 0 || part == 1 { INK } else { WHITE };
            panel.name_at((x, y), name, Letters { color, ..LABEL })?;
        }
        Ok(())
    }
}

/// Where a label of that width and height fits between the edges (x, lower y, upper y; pixels): the roomiest place.
fn roomiest(edges: &[(f64, f64, f64)], width: f64, height: f64) -> Option<(f64, f64)> {
    let mut best: Option<(f64, (f64, f64))> = None;
    let mut next = f64::NEG_INFINITY;
    for (i, first) in edges.iter().enumerate() {
        // Sizes may lie far denser than places that differ.
        if first.0 < next {
            continue;
        }
        next = first.0 + 4.0;
        let Some(steps) = edges[i..].iter().position(|e| e.0 - first.0 >= width) else {
            break;
        };
        let end = i + steps;
        let lowest = edges[i..=end].iter().map(|e| e.1).fold(f64::INFINITY, f64::min);
        let highest = edges[i..=end].iter().map(|e| e.2).fold(f64::NEG_INFINITY, f64::max);
        let room = lowest - highest;
        if room >= height && best.is_none_or(|(r, _)| room > r + 1.0) {
            best = Some((room, ((first.0 + edges[end].0) / 2.0, (lowest + highest) / 2.0)));
        }
    }
    best.map(|b| b.1)
}

/// The parts from the bottom up: what no batch dilutes first, setup, which every piece more dilutes, on top.
fn parts(p: &Parts) -> [(&'static str, f64); 5] {
    [
        ("each", p.each),
        ("per order", p.per_order),
        ("redo", p.redo),
        ("once", p.once),
        ("setup", p.setup),
    ]
}

fn part_name(part: usize) -> &'static str {
    const NONE: Parts = Parts {
        once: 0.0,
        setup: 0.0,
        each: 0.0,
        redo: 0.0,
        per_order: 0.0,
    };
    parts(&NONE)[part].0
}
