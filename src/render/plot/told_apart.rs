//! Every plot of every question of every shipped scenario: what means different things is told apart by all who look.

use super::palette::Color;
use super::sight::least_apart;
use super::{Field, Key, Line, Panel, Points, RowShape, Shape};
use crate::render::columns::tests::{answers, odd_answers};

/// CIE 1976 distance, and distance in lightness, from which two colours alone tell two things apart: about 2.3 is just noticeable side by
/// side (Mahy and others, 1994); areas and lines on a sheet need many times that.
const APART: (f64, f64) = (20.0, 12.0);
/// Of two widths the greater is so many times the other, where width tells apart.
const WIDER: f64 = 1.4;

/// How a thing is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Drawn {
    Line(Color, f64, Option<(f64, f64)>),
    Area(Color),
    /// Without its thickness: where that stands for an amount, it tells no two bars apart.
    Bar(Color),
    Dot(Color, f64),
}

/// What tells two things apart.
#[derive(Debug, PartialEq)]
enum By {
    Colour,
    Shape,
    Dash,
    Width,
}

impl Drawn {
    fn color(self) -> Color {
        match self {
            Self::Line(color, ..) | Self::Area(color) | Self::Bar(color) | Self::Dot(color, _) => color,
        }
    }

    fn told_from(self, other: Self) -> Option<By> {
        let (sight, grey) = least_apart(self.color(), other.color());
        if sight >= APART.0 && grey >= APART.1 {
            return Some(By::Colour);
        }
        let wider = |a: f64, b: f64| a.max(b) >= WIDER * a.min(b);
        match (self, other) {
            (Self::Line(_, _, a), Self::Line(_, _, b)) if a != b => Some(By::Dash),
            (Self::Line(_, a, _), Self::Line(_, b, _)) | (Self::Dot(_, a), Self::Dot(_, b)) => {
                wider(a, b).then_some(By::Width)
            }
            (Self::Area(_), Self::Area(_)) | (Self::Bar(_), Self::Bar(_)) => None,
            _ => Some(By::Shape),
        }
    }
}

/// Each thing that a panel's key or its rows tell of, once.
fn things(panel: &Panel) -> Vec<Drawn> {
    let mut found: Vec<Drawn> = panel
        .end_labels()
        .map(|end| match end.key {
            Key::Line(line) => Drawn::Line(line.color, line.width, line.dash),
            Key::Area(color) => Drawn::Area(color),
        })
        .collect();
    if let Field::Rows { layers, .. } = &panel.field {
        found.extend(layers.iter().filter_map(|layer| match &layer.shape {
            RowShape::Bar { color, .. } => Some(Drawn::Bar(*color)),
            RowShape::Cell { shade, .. } => Some(Drawn::Area(*shade)),
            RowShape::Dot { color, radius, .. } => Some(Drawn::Dot(*color, *radius)),
            RowShape::Upright { line, .. } => Some(Drawn::Line(line.color, line.width, line.dash)),
            _ => None,
        }));
    }
    let mut once: Vec<Drawn> = Vec::new();
    for thing in found {
        if !once.contains(&thing) {
            once.push(thing);
        }
    }
    once
}

#[test]
fn what_means_different_things_is_told_apart_by_colour_dash_shape_or_width() {
    let (mut pairs, mut alike, mut by) = (0, Vec::new(), Vec::new());
    for (name, answer) in answers() {
        for panel in answer.plot().iter().flat_map(|plot| &plot.panels) {
            let things = things(panel);
            for (k, &a) in things.iter().enumerate() {
                for &b in &things[k + 1..] {
                    pairs += 1;
                    match a.told_from(b) {
                        Some(how) => by.push(how),
                        None => alike.push(format!("{name}, {}: {a:?} and {b:?}", panel.title)),
                    }
                }
            }
        }
    }
    alike.dedup();
    assert!(alike.is_empty(), "{}", alike.join("\n"));
    // Most are told apart by colour alone, and each of the other ways is in use.
    assert!(pairs > 300, "{pairs}");
    for how in [By::Colour, By::Dash, By::Shape] {
        assert!(by.contains(&how), "{how:?}");
    }
}

/// Names of lines that stand in one panel are drawn each in its own way.
#[test]
fn two_names_of_lines_are_two_lines() {
    for (name, answer) in answers() {
        for panel in answer.plot().iter().flat_map(|plot| &plot.panels) {
            let mut lines: Vec<(&str, Line)> = Vec::new();
            for end in panel.end_labels() {
                let Key::Line(line) = end.key else { continue };
                if let Some((other, _)) = lines.iter().find(|(other, known)| *known == line && *other != end.name) {
                    panic!("{name}, {}: {other} and {} are drawn alike", panel.title, end.name);
                }
                lines.push((&end.name, line));
            }
        }
    }
}

/// Where a broken line runs along an unbroken one it is drawn after it: through its gaps the other is seen, and not the other way round.
#[test]
fn no_unbroken_line_hides_a_broken_one() {
    /// So near, in the panel's height, two values are one to the eye.
    const SAME: f64 = 0.001;
    let (mut along, mut hidden) = (0, Vec::new());
    for (name, answer) in answers().iter().chain(odd_answers()) {
        for panel in answer.plot().iter().flat_map(|plot| &plot.panels) {
            let Field::Curves(field) = &panel.field else { continue };
            let same = |a: f64, b: f64| (a - b).abs() <= SAME * (field.range.1 - field.range.0);
            let together = |a: &Points, b: &Points| {
                let both = a.iter().zip(b).filter(|(a, b)| a.0 == b.0);
                let met = both.filter(|(a, b)| a.1.zip(b.1).is_some_and(|(a, b)| same(a, b)));
                2 * met.count() > a.len() && a.len() > 1
            };
            let curves: Vec<(&Points, Line)> = field
                .layers
                .iter()
                .filter_map(|layer| match &layer.shape {
                    Shape::Curve { points, line, .. } => Some((points, *line)),
                    _ => None,
                })
                .collect();
            for (k, (under, broken)) in curves.iter().enumerate() {
                for (over, line) in &curves[k + 1..] {
                    if !together(under, over) || broken.dash.is_some() == line.dash.is_some() {
                        continue;
                    }
                    along += 1;
                    if line.dash.is_none() {
                        hidden.push(format!("{name}, {}", panel.title));
                    }
                }
            }
        }
    }
    assert!(along > 0);
    assert!(hidden.is_empty(), "{}", hidden.join("\n"));
}
