//! Curves in letters: values against a level axis.

use super::super::plot::ticks::SizeScale;
use super::super::plot::{Curves, Layer, Panel, Points, Ranges, Shape, Sign, Text, listed};
use super::{Lines, Scale, Signs, heading, plain, ruler, said, short};
use crate::render::format;

/// Spaces between the plot's rows at most; round steps make them fewer.
const SPACES: usize = 14;

/// The chart; nothing where there is no curve, or nothing between its ends.
pub(super) fn text(panel: &Panel, curves: &Curves, text: &Text, width: usize, signs: &Signs) -> Option<String> {
    let main = curves.layers.iter().find_map(|layer| match &layer.shape {
        Shape::Curve { points, .. } if layer.sign == Some(Sign::Median) => Some(points),
        _ => None,
    })?;
    let (first, last) = (main.first()?.0, main.last()?.0);
    let rows = Rows::between(curves.range.0, curves.range.1)?;
    let left = rows.labels.iter().map(String::len).max().unwrap_or(0) + 2;
    let of = SizeScale {
        low: first,
        high: last,
        ..panel.axis.scale
    };
    let columns = width - left - 1;
    let scale = Scale { of, columns };
    let mut out = Lines::new(width);
    out.wrapped(&heading(panel));
    let plot = Plotted {
        scale: &scale,
        rows: &rows,
        signs,
    }
    .cells(&curves.layers);
    let drawn = plot.iter().flatten().collect::<String>();
    for (label, cells) in rows.labels.iter().zip(plot) {
        let cells: String = cells.into_iter().collect();
        out.line(&format!("{label:>pad$} {}{cells}", signs.upright, pad = left - 2));
    }
    let (mut line, names) = ruler(&panel.axis, &scale, signs);
    mark(&mut line, &scale, &curves.layers, signs);
    let indent = " ".repeat(left - 1);
    out.line(&format!("{indent}{}{}", signs.corner, line.iter().collect::<String>()));
    out.line(&format!("{indent} {names}"));
    out.line(&format!("{indent} {}", plain(&panel.axis.label())));
    // What stands on the axis is seen too; its own strokes are those of a level.
    let shown = |sign: Sign| {
        let letter = signs.of(sign);
        drawn.contains(letter) || (sign != Sign::Target && line.contains(&letter))
    };
    let drawn = text.legend.iter().filter(|(sign, _)| shown(*sign));
    let mut legend: Vec<String> = drawn.map(|(sign, words)| said(*sign, words, signs)).collect();
    legend.extend(off_the_chart(main, &rows));
    out.items(&legend);
    text.notes.iter().for_each(|note| out.wrapped(&plain(note)));
    Some(out.text)
}

/// Places that matter, on the axis; the one that matters most last.
fn mark(line: &mut [char], scale: &Scale, layers: &[Layer], signs: &Signs) {
    for layer in layers {
        let Some(sign) = layer.sign.map(|sign| signs.of(sign)) else {
            continue;
        };
        match &layer.shape {
            Shape::Strip { from, to, .. } => line[scale.column(*from)..=scale.column(*to)].fill(sign),
            Shape::Marks(at) => at.iter().for_each(|at| line[scale.column(*at)] = sign),
            _ => {}
        }
    }
    for layer in layers {
        if let (Shape::Upright { at, .. }, Some(sign)) = (&layer.shape, layer.sign) {
            line[scale.column(*at)] = signs.of(sign);
        }
    }
}

/// "off the chart at 1-3", of places whose value lies above or below all rows.
fn off_the_chart(points: &Points, rows: &Rows) -> Option<String> {
    let off = |p: &&(f64, Option<f64>)| p.1.is_some_and(|v| v.is_finite() && rows.of(v).is_none());
    let off: Vec<f64> = points.iter().filter(off).map(|p| p.0).collect();
    if off.is_empty() {
        return None;
    }
    if points.iter().any(|p| p.0.fract() != 0.0 || p.0 < 0.0) {
        return Some(format!("off the chart in {} of {} places", off.len(), points.len()));
    }
    let whole = |at: &f64| *at as u32;
    let (off, all): (Vec<u32>, Vec<u32>) = (
        off.iter().map(whole).collect(),
        points.iter().map(|p| whole(&p.0)).collect(),
    );
    Some(format!("off the chart at {}", plain(&listed(&off, &all))))
}

struct Plotted<'p> {
    scale: &'p Scale,
    rows: &'p Rows,
    signs: &'p Signs,
}

impl Plotted<'_> {
    /// The signs of every row: what is asked for, bands over that, curves over all.
    fn cells(&self, layers: &[Layer]) -> Vec<Vec<char>> {
        let mut plot = vec![vec![' '; self.scale.columns]; self.rows.count()];
        let signed = || layers.iter().filter_map(|layer| Some((&layer.shape, layer.sign?)));
        for (shape, sign) in signed() {
            match shape {
                Shape::Level { value, .. } => {
                    if let Some(row) = self.rows.of(*value) {
                        plot[row].fill(self.signs.of(sign));
                    }
                }
                Shape::Curve { points, .. } if sign == Sign::Target => self.curve(&mut plot, points, sign),
                _ => {}
            }
        }
        for (shape, sign) in signed() {
            if let Shape::Band { points, .. } | Shape::Spread(points) = shape {
                self.band(&mut plot, points, sign);
            }
        }
        for (shape, sign) in signed().filter(|(_, sign)| *sign != Sign::Target) {
            if let Shape::Curve { points, .. } = shape {
                self.curve(&mut plot, points, sign);
            }
        }
        plot
    }

    fn curve(&self, plot: &mut [Vec<char>], points: &Points, sign: Sign) {
        for (column, k) in self.shown(points.iter().map(|p| p.0)) {
            if let Some(row) = points[k].1.and_then(|value| self.rows.of(value)) {
                plot[row][column] = self.signs.of(sign);
            }
        }
    }

    fn band(&self, plot: &mut [Vec<char>], points: &Ranges, sign: Sign) {
        for (column, k) in self.shown(points.iter().map(|p| p.0)) {
            let (_, low, high) = points[k];
            if let (Some(top), Some(bottom)) = (self.rows.clamped(high), self.rows.clamped(low)) {
                for row in &mut plot[top.min(bottom)..=bottom] {
                    if row[column] == ' ' {
                        row[column] = self.signs.of(sign);
                    }
                }
            }
        }
    }

    /// Columns, and which of the points at these places each shows: one that stands there or, between many, the nearest. Few stand apart.
    fn shown(&self, places: impl Iterator<Item = f64>) -> Vec<(usize, usize)> {
        let at: Vec<usize> = places.map(|place| self.scale.column(place)).collect();
        let few = at.len() <= self.scale.columns / 6;
        let furthest = if few { 0 } else { self.scale.columns };
        let nearest = |column: usize| {
            let off = |k: &usize| at[*k].abs_diff(column);
            let k = (0..at.len()).min_by_key(off).filter(|k| off(k) <= furthest)?;
            Some((column, k))
        };
        (0..self.scale.columns).filter_map(nearest).collect()
    }
}

/// Rows of a plot, a round step apart, one of them zero where zero is in sight.
struct Rows {
    /// Value of the uppermost row / step.
    top: f64,
    step: f64,
    labels: Vec<String>,
}

impl Rows {
    /// Rows from the one end to the other; `None` where there is nothing between them.
    fn between(low: f64, high: f64) -> Option<Self> {
        if !(high > low && (high - low).is_finite()) {
            return None;
        }
        let step = row_step((high - low) / SPACES as f64);
        let (top, bottom) = ((high / step).round(), (low / step).round());
        if !(top - bottom).is_finite() {
            return None;
        }
        let labels = (0..=(top - bottom) as usize)
            .map(|row| {
                let steps = top - row as f64;
                if steps % 2.0 == 0.0 {
                    short(format::tick(steps * step, 2.0 * step), steps * step)
                } else {
                    String::new()
                }
            })
            .collect();
        Some(Self { top, step, labels })
    }

    fn count(&self) -> usize {
        self.labels.len()
    }

    /// The row of a value, where the plot reaches it.
    fn of(&self, value: f64) -> Option<usize> {
        let row = (self.top - value / self.step).round();
        (value.is_finite() && row >= 0.0 && row < self.count() as f64).then_some(row as usize)
    }

    /// The row of a value, or the end it lies beyond.
    fn clamped(&self, value: f64) -> Option<usize> {
        let row = (self.top - value / self.step).round();
        (!row.is_nan()).then(|| row.clamp(0.0, self.count() as f64 - 1.0) as usize)
    }
}

/// 1, 2, 2.5 or 5 times a power of ten, and at least so much.
fn row_step(least: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(least)));
    [1.0, 2.0, 2.5, 5.0]
        .into_iter()
        .map(|f| f * power)
        .find(|s| *s >= least * 0.999_999)
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_a_round_step_apart() {
        for (least, step) in [(4.1, 5.0), (5.0, 5.0), (0.21, 0.25), (130.0, 200.0), (6.0, 10.0)] {
            assert!((row_step(least) - step).abs() < 1e-9, "{least}");
        }
        assert!(Rows::between(1.0, 1.0).is_none() && Rows::between(0.0, f64::INFINITY).is_none());
    }
}
