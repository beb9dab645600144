//! Named rows in letters, all on one axis.

use super::super::format;
use super::super::plot::{Axis, Curves, EndLabel, Key, Layer, Panel, RowLayer, RowShape, Shape, Sign, Text, TextRow};
use super::super::text::wrap;
use super::{Lines, Scale, Signs, heading, names, plain, ruler, said};

/// Strips shorter than this give up the figures behind them.
const MIN_STRIP: usize = 24;

/// Named rows under one another on one axis.
pub(super) struct Strips {
    pub(super) heading: String,
    pub(super) strips: Vec<Strip>,
    /// What goes further than its ends ends in an arrow.
    pub(super) axis: Axis,
    pub(super) legend: Vec<(Sign, String)>,
}

/// One row.
#[derive(Default)]
pub(super) struct Strip {
    pub(super) name: String,
    /// Signs, later ones over earlier ones.
    pub(super) marks: Vec<Mark>,
    /// What stands behind the last sign, where there is room.
    pub(super) figure: String,
}

/// Signs of a strip.
#[derive(Clone, Copy)]
pub(super) enum Mark {
    /// From one value to another, both in it.
    Band(f64, f64, Sign),
    /// As long as from one value to another.
    Bar(f64, f64, Sign),
    /// At one value.
    Dot(f64, Sign),
}

/// A panel of rows.
pub(super) fn of_rows(panel: &Panel, names: &[String], layers: &[RowLayer], text: &Text) -> Strips {
    let mut strips: Vec<Strip> = names
        .iter()
        .map(|name| Strip {
            name: name.clone(),
            ..Strip::default()
        })
        .collect();
    for RowLayer { row, shape, sign } in layers {
        let strip = &mut strips[*row];
        match (shape, *sign) {
            (RowShape::Bar { from, to, .. }, Some(sign)) => {
                strip.marks.push(Mark::Bar(from.min(*to), from.max(*to), sign));
            }
            (RowShape::Whisker { from, to, .. }, Some(sign)) => strip.marks.push(Mark::Band(*from, *to, sign)),
            (RowShape::Dot { at, .. }, Some(sign)) => strip.marks.push(Mark::Dot(*at, sign)),
            (RowShape::Figure { brief, .. }, _) => strip.figure.clone_from(brief),
            (RowShape::Upright { at, .. }, Some(sign)) => {
                strips
                    .iter_mut()
                    .for_each(|strip| strip.marks.push(Mark::Dot(*at, sign)));
            }
            _ => {}
        }
    }
    strips_of(panel, strips, panel.axis.clone(), text)
}

fn strips_of(panel: &Panel, mut strips: Vec<Strip>, axis: Axis, text: &Text) -> Strips {
    // What is asked for over what lies there, what was found over both.
    for strip in &mut strips {
        strip.marks.sort_by_key(|mark| match mark {
            Mark::Band(..) | Mark::Bar(..) => 0,
            Mark::Dot(_, Sign::Aim) => 1,
            Mark::Dot(..) => 2,
        });
    }
    Strips {
        heading: heading(panel),
        strips,
        axis,
        legend: text.legend.clone(),
    }
}

/// Curves as rows: one for each of some places, or for each label at a line's end.
pub(super) fn of_curves(panel: &Panel, curves: &Curves, text: &Text) -> Strips {
    let rows: Vec<(Option<f64>, Strip)> = if text.by_label {
        by_label(panel, curves)
    } else {
        let row = |row: &TextRow| Strip {
            name: row.name.clone(),
            figure: row.figure.clone(),
            ..Strip::default()
        };
        text.rows.iter().map(|r| (Some(r.at), row(r))).collect()
    };
    let strips = rows.into_iter().map(|(at, mut strip)| {
        strip
            .marks
            .extend(curves.layers.iter().filter_map(|layer| mark_at(layer, at)));
        strip
    });
    let axis = Axis::values(curves.range, format::tick);
    strips_of(panel, strips.collect(), axis, text)
}

/// Every label of a line that is not the level itself.
fn by_label(panel: &Panel, curves: &Curves) -> Vec<(Option<f64>, Strip)> {
    let level = |color| {
        let mut levels = curves.layers.iter();
        levels.any(|layer| matches!(&layer.shape, Shape::Level { line, .. } if line.color == color))
    };
    let found = panel.end_labels().filter(|end| match end.key {
        Key::Line(line) => !level(line.color),
        Key::Area(_) => false,
    });
    let row = |end: &EndLabel| Strip {
        name: end.name.clone(),
        marks: vec![Mark::Dot(end.value, Sign::Median)],
        figure: plain(&end.figure),
    };
    found.map(|end| (None, row(end))).collect()
}

/// What a layer has at a place; levels are everywhere.
fn mark_at(layer: &Layer, at: Option<f64>) -> Option<Mark> {
    let asked = |sign: Sign| if sign == Sign::Target { Sign::Aim } else { sign };
    let sign = layer.sign?;
    match &layer.shape {
        Shape::Level { value, .. } => Some(Mark::Dot(*value, asked(sign))),
        Shape::Band { points, .. } | Shape::Spread(points) => {
            let (_, low, high) = points.iter().find(|p| Some(p.0) == at)?;
            Some(Mark::Band(*low, *high, sign))
        }
        Shape::Curve { points, .. } => {
            let (_, value) = points.iter().find(|p| Some(p.0) == at)?;
            Some(Mark::Dot(value.unwrap_or(f64::INFINITY), asked(sign)))
        }
        _ => None,
    }
}

/// Whiskers above curves, where there are any.
pub(super) fn of_whiskers(panel: &Panel, curves: &Curves, text: &Text) -> Option<Strips> {
    let aims = curves.layers.iter().filter_map(|layer| match &layer.shape {
        Shape::Upright { at, .. } => Some(Mark::Dot(*at, layer.sign?)),
        _ => None,
    });
    let aims: Vec<Mark> = aims.collect();
    let strips = curves.layers.iter().filter_map(|layer| {
        let Shape::Whisker(whisker) = &layer.shape else {
            return None;
        };
        let mut marks = vec![Mark::Band(whisker.low, whisker.high, Sign::Band)];
        marks.extend(&aims);
        marks.extend([
            Mark::Dot(whisker.tick, Sign::LongRun),
            Mark::Dot(whisker.middle, Sign::Median),
        ]);
        Some(Strip {
            name: whisker.name.clone(),
            marks,
            figure: String::new(),
        })
    });
    let strips: Vec<Strip> = strips.collect();
    (!strips.is_empty()).then(|| strips_of(panel, strips, panel.axis.clone(), text))
}

impl Strips {
    /// The chart, each line ending in a line feed. Nothing where there is no row, or no axis because all values are one.
    pub(super) fn text(&self, width: usize, signs: &Signs) -> Option<String> {
        let of = self.axis.scale;
        let (low, high) = (of.low, of.high);
        if self.strips.is_empty() || !((high - low).is_finite() && high > low) {
            return None;
        }
        let names = names(self.strips.iter().map(|s| s.name.as_str()), width * 2 / 5);
        let left = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
        let figures: Vec<String> = self.strips.iter().map(|s| plain(&s.figure)).collect();
        let longest = figures.iter().map(|figure| figure.chars().count()).max().unwrap_or(0);
        // Name, a space, the upright; a space before the figure.
        let columns = width - left - 2;
        let kept = columns.saturating_sub(if longest > 0 { longest + 1 } else { 0 });
        let columns = if kept < MIN_STRIP { columns } else { kept };
        let scale = Scale { of, columns };
        let mut out = Lines::new(width);
        out.wrapped(&self.heading);
        let numbers = names
            .iter()
            .all(|name| name.starts_with(|c: char| c == '-' || c.is_ascii_digit()));
        let mut drawn = String::new();
        for ((strip, name), figure) in self.strips.iter().zip(&names).zip(&figures) {
            let cells: String = strip.cells(&scale, signs).into_iter().collect();
            drawn.push_str(&cells);
            let figure = if kept < MIN_STRIP { "" } else { figure };
            let name = if numbers {
                format!("{name:>left$}")
            } else {
                format!("{name:<left$}")
            };
            out.line(&format!("{name} {}{} {figure}", signs.upright, cells.trim_end()));
        }
        let (line, ticks) = ruler(&self.axis, &scale, signs);
        let indent = " ".repeat(left + 1);
        out.line(&format!("{indent}{}{}", signs.corner, line.iter().collect::<String>()));
        out.line(&format!("{indent} {ticks}"));
        if !self.axis.name.is_empty() {
            let name = plain(&self.axis.label());
            wrap(&name, scale.columns)
                .lines()
                .for_each(|line| out.line(&format!("{indent} {line}")));
        }
        out.items(&self.legend(&drawn, signs));
        Some(out.text)
    }

    /// What the signs mean that were drawn.
    fn legend(&self, drawn: &str, signs: &Signs) -> Vec<String> {
        let asked = |sign| if sign == Sign::Target { Sign::Aim } else { sign };
        let shown = self.legend.iter().map(|(sign, words)| (asked(*sign), words));
        let mut legend: Vec<String> = shown
            .filter(|(sign, _)| drawn.contains(signs.of(*sign)))
            .map(|(sign, words)| said(sign, words, signs))
            .collect();
        let ends = [signs.before, signs.beyond].into_iter();
        let arrows: String = ends.filter(|end| drawn.contains(*end)).collect();
        if !arrows.is_empty() {
            legend.push(format!("{arrows} beyond the axis"));
        }
        legend
    }
}

impl Strip {
    fn cells(&self, axis: &Scale, signs: &Signs) -> Vec<char> {
        let mut cells = vec![' '; axis.columns];
        for mark in &self.marks {
            match *mark {
                Mark::Band(from, to, sign) if from <= to => {
                    cells[axis.column(from)..=axis.column(to)].fill(signs.of(sign))
                }
                Mark::Bar(from, to, sign) if from <= to => {
                    let (first, end) = (axis.column(from), axis.column(to));
                    // A measure may be too short to be seen; a stretch of its own may not.
                    let end = if from > axis.of.low.max(0.0) && to > from {
                        end.max(first + 1)
                    } else {
                        end
                    };
                    cells[first..end].fill(signs.of(sign));
                }
                Mark::Dot(at, sign) if axis.of.holds(at) => cells[axis.column(at)] = signs.of(sign),
                _ => {}
            }
        }
        if let Some(last) = cells.last_mut().filter(|_| self.values().any(|v| v > axis.of.high)) {
            *last = signs.beyond;
        }
        if let Some(first) = cells.first_mut().filter(|_| self.values().any(|v| v < axis.of.low)) {
            *first = signs.before;
        }
        cells
    }

    /// Every value a sign stands for.
    fn values(&self) -> impl Iterator<Item = f64> {
        self.marks.iter().flat_map(|mark| match *mark {
            Mark::Band(from, to, _) | Mark::Bar(from, to, _) => [from, to],
            Mark::Dot(at, _) => [at, at],
        })
    }
}
