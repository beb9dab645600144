//! The plots of `sweep --over`: three panels against one value, or a map against two.

use super::{headed, headline, label, shown};
use crate::questions::over::{Over, OverAxis, OverPoint};
use crate::render::format;
use crate::render::plot::palette::{BAND, INK, SHADES, STEPS, WHITE};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    Axis, BEST, Cell, EndLabel, Field, LONG_RUN, Layer, Line, MEDIAN, Map, Panel, Plot, Points, Sign, TARGET, Text,
    TextRow, minus,
};

const HEIGHT: u32 = 1180;
const MAP_HEIGHT: u32 = 940;
/// Up to so many values each has a dot.
const FEW: usize = 25;

const FLOOR: Line = Line::solid(STEPS[1], 3.0);

/// A line, its name and its value at a point.
type LineOf = (&'static str, Line, fn(&OverPoint) -> Option<f64>);

/// The whole plot; nothing where nothing was gone over.
pub(super) fn plot(over: &Over) -> Option<Plot> {
    let keys: Vec<String> = over.axes.iter().map(|axis| counted(over, axis)).collect();
    let (description, height, panels) = match over.axes.as_slice() {
        [across, up] => (
            format!(
                "A map of shaded cells, darker where an hour earns more on average, against {} (across) and {} \
                 (upwards), with a line between the cells that reach the target as surely as asked and those that do not.",
                keys[0], keys[1]
            ),
            MAP_HEIGHT,
            vec![map(over, across, up)],
        ),
        [axis] => (
            format!(
                "Three panels against {}: hourly rate with the range of eight batches in ten, share of batches that reach the target, \
                 and the price that pays.",
                keys[0]
            ),
            HEIGHT,
            View::new(over, axis).panels(),
        ),
        _ => return None,
    };
    let [price, target] = [over.price, over.target].map(|value| format::typed_money(value, &over.currency));
    let (size, sure) = (format::count(over.size.into()), format::confidence(over.confidence));
    let (trials, seed, version) = (format::count(over.trials), over.seed, &over.version);
    Some(Plot {
        foot: format!(
            "Batches of {size} · in the file: price {price}, target {target} an hour in {sure} of batches · {trials} batches of each · \
             seed {seed} · batchwright {version}"
        ),
        description,
        height,
        panels,
        ..Plot::about(&over.title, headline(over))
    })
}

/// What an axis counts, and its unit: `price, EUR`, `setup of 'glue pegs', min`.
fn counted(over: &Over, axis: &OverAxis) -> String {
    let words = headed(axis, &over.currency);
    if axis.unit.is_empty() {
        words
    } else {
        format!("{words}, {}", axis.unit)
    }
}

fn amount(over: &Over, value: f64) -> String {
    minus(&format::amount(value, &over.currency))
}

/// An amount that somebody wrote: without cents where it has none.
fn typed(over: &Over, value: f64) -> String {
    minus(&format::typed_amount(value, &over.currency))
}

struct View<'a> {
    over: &'a Over,
    axis: &'a OverAxis,
    level: Axis,
    at: Vec<f64>,
}

impl<'a> View<'a> {
    /// Level axis: numbers where they are, else one place a value.
    fn new(over: &'a Over, axis: &'a OverAxis) -> Self {
        let (level, at) = if let Some(numbers) = &axis.numbers {
            let (low, high) = (numbers.first(), numbers.last());
            let ends = (low.copied().unwrap_or(0.0), high.copied().unwrap_or(1.0));
            (Axis::values(ends, format::tick), numbers.clone())
        } else {
            let places = (0..axis.texts.len()).map(|i| i as f64).collect();
            (Axis::places(axis.texts.iter().cloned()), places)
        };
        Self {
            over,
            axis,
            level: level.named(counted(over, axis)),
            at,
        }
    }

    fn points(&self, of: impl Fn(&OverPoint) -> Option<f64>) -> Points {
        self.at.iter().copied().zip(self.over.points.iter().map(of)).collect()
    }

    fn each(&self, of: impl Fn(&OverPoint) -> f64) -> Vec<f64> {
        self.over.points.iter().map(of).collect()
    }

    fn range(story: &[f64], curve: &[f64], all: &[f64]) -> (f64, f64) {
        ticks::aired(ticks::range(story, curve, all, Stretch { allow: 3.0, show: 1.0 }), 0.05)
    }

    fn begins(&self) -> impl Iterator<Item = Layer> {
        let crossings = self.over.crossings.iter();
        crossings.map(|crossing| Layer::upright(crossing.value, BEST))
    }

    fn curve(&self, of: impl Fn(&OverPoint) -> Option<f64>, line: Line, sign: Option<Sign>) -> Layer {
        Layer::curve(self.points(of), line)
            .dots(sign != Some(Sign::Target) && line.dash.is_none() && self.at.len() <= FEW)
            .signed(sign)
    }

    fn band(&self, of: impl Fn(&OverPoint) -> (f64, f64), sign: Option<Sign>) -> Layer {
        let points = self.at.iter().zip(&self.over.points);
        Layer::band(points.map(|(x, p)| (*x, of(p).0, of(p).1)).collect(), BAND).signed(sign)
    }

    /// Amounts of money at the lines' ends; what was asked for as it was typed.
    fn amounts(&self, wanted: &[LineOf]) -> Layer {
        self.ends(wanted, |line, v| match *line {
            TARGET => typed(self.over, v),
            FLOOR => amount(self.over, format::enough(v, &self.over.currency)),
            _ => amount(self.over, v),
        })
    }

    fn ends(&self, wanted: &[LineOf], write: impl Fn(&Line, f64) -> String) -> Layer {
        let last = self.over.points.last();
        let label = |(name, line, of): &LineOf| {
            let value = last.and_then(of);
            let figure = value.map_or_else(|| "none".to_owned(), |v| write(line, v));
            EndLabel::line(value.unwrap_or(f64::INFINITY), *line, *name, figure)
        };
        Layer::ends(wanted.iter().map(label).collect())
    }

    fn panels(&self) -> Vec<Panel> {
        vec![self.rate(), self.reach(), self.floor()]
    }

    fn rate(&self) -> Panel {
        // All that eight batches in ten earn is shown: a rate is a straight line over most keys, and runs off over none.
        let all = [
            self.each(|p| p.target),
            self.each(|p| p.rate.p10),
            self.each(|p| p.rate.p90),
            self.each(|p| p.rate.long_run),
        ];
        let range = Self::range(&all.concat(), &[], &[]);
        let mut layers = vec![self.band(|p| (p.rate.p10, p.rate.p90), Some(Sign::Band))];
        layers.extend(self.begins());
        layers.extend([
            self.curve(|p| Some(p.target), TARGET, Some(Sign::Target)),
            self.curve(|p| Some(p.rate.long_run), LONG_RUN, None),
            self.curve(|p| Some(p.rate.p50), MEDIAN, Some(Sign::Median)),
            self.amounts(&[
                ("median", MEDIAN, |p| Some(p.rate.p50)),
                ("on average", LONG_RUN, |p| Some(p.rate.long_run)),
                ("target", TARGET, |p| Some(p.target)),
            ]),
        ]);
        Panel {
            title: "What an hour earns".into(),
            unit: format!("{} per hands-on hour", self.over.currency),
            key: "shaded: eight batches in ten".into(),
            text: self.differ().then(|| self.text()),
            ..Panel::curves(0.42, &self.level, range, layers)
        }
    }

    /// Whether there is more than one rate to tell of.
    fn differ(&self) -> bool {
        let points = self.over.points.iter();
        let mut rates = points.flat_map(|p| [p.target, p.rate.p10, p.rate.p50, p.rate.p90]);
        let first = rates.next();
        rates.any(|rate| Some(rate) != first)
    }

    /// A row for each of some values.
    fn text(&self) -> Text {
        let row = |p: &OverPoint| TextRow {
            at: p.at.first().and_then(|i| self.at.get(*i)).copied().unwrap_or(f64::NAN),
            name: label(self.axis, p, 0).to_owned(),
            figure: String::new(),
        };
        Text {
            rows: shown(self.over)
                .into_iter()
                .map(|k| row(&self.over.points[k]))
                .collect(),
            ..Text::of([
                (Sign::Median, "median"),
                (Sign::Band, "8 batches in 10"),
                (Sign::Target, "target"),
            ])
        }
    }

    fn reach(&self) -> Panel {
        let mut layers = vec![self.band(|p| (100.0 * p.reach.low, 100.0 * p.reach.high), None)];
        layers.extend(self.begins());
        layers.extend([
            self.curve(|p| Some(100.0 * p.confidence), TARGET, None),
            self.curve(|p| Some(100.0 * p.reach.share), MEDIAN, None),
            self.ends(
                &[
                    ("reached in", MEDIAN, |p| Some(100.0 * p.reach.share)),
                    ("asked", TARGET, |p| Some(100.0 * p.confidence)),
                ],
                |_, v| format::share(v / 100.0),
            ),
        ]);
        Panel {
            title: "How surely the target is reached".into(),
            unit: "% of batches".into(),
            ..Panel::curves(0.29, &self.level, (-3.0, 103.0), layers)
        }
    }

    fn floor(&self) -> Panel {
        let floors: Vec<f64> = self.over.points.iter().filter_map(|p| p.floor.price).collect();
        let range = Self::range(&self.each(|p| p.price), &floors, &floors);
        let mut layers: Vec<Layer> = self.begins().collect();
        layers.extend([
            self.curve(|p| Some(p.price), TARGET, None),
            self.curve(|p| p.floor.price, FLOOR, None),
            self.amounts(&[("pays", FLOOR, |p| p.floor.price), ("asked", TARGET, |p| Some(p.price))]),
        ]);
        Panel {
            title: "The price that pays".into(),
            unit: format!("{} per piece, reached as surely as asked", self.over.currency),
            named: true,
            ..Panel::curves(0.29, &self.level, range, layers)
        }
    }
}

/// Shaded cells, darker where an hour earns more.
fn map(over: &Over, across: &OverAxis, up: &OverAxis) -> Panel {
    let rates = over.points.iter().map(|p| p.rate.long_run).filter(|v| v.is_finite());
    let (low, high) = rates.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    // As many shades as have ends that read differently: rounding alone is nothing to be seen.
    let end = |k: usize, classes: usize| amount(over, low + (high - low) * k as f64 / classes as f64);
    let differ = |classes: &usize| (0..*classes).all(|k| end(k, *classes) != end(k + 1, *classes));
    let classes = (2..=SHADES.len()).rev().find(differ).unwrap_or(1);
    let class = |v: f64| {
        let share = (v - low) / (high - low);
        if share.is_finite() {
            ((share * classes as f64) as usize).min(classes - 1)
        } else {
            0
        }
    };
    // A map of one shade is seen to be one.
    let shades = if classes == 1 { &SHADES[2..] } else { &SHADES[..] };
    let brief = |value: f64| minus(&format::tick(value, 1.0));
    let cell = |point: &OverPoint| {
        let class = class(point.rate.long_run);
        Some(Cell {
            at: (*point.at.first()?, *point.at.get(1)?),
            shade: shades[class],
            figure: amount(over, point.rate.long_run),
            // Whole amounts tell cells apart only where those are many.
            brief: (high - low >= 10.0).then(|| brief(point.rate.long_run)),
            letters: if class >= 4 { WHITE } else { INK },
            inside: point.pays,
        })
    };
    let shade = |k: usize| {
        let [from, to] = [k, k + 1].map(|k| end(k, classes));
        let text = if from == to { from } else { format!("{from} to {to}") };
        (shades[k], text)
    };
    let paying = over.points.iter().filter(|p| p.pays).count();
    let said: &[&str] = if paying == 0 {
        &["the target is reached", "as surely as asked", "nowhere here"]
    } else if paying == over.points.len() {
        &["the target is reached", "as surely as asked", "everywhere here"]
    } else {
        &[
            "between cells that reach",
            "the target as surely as",
            "asked (bold or dotted)",
            "and those that do not",
        ]
    };
    Panel {
        title: "What an hour earns".into(),
        unit: format!("{} per hands-on hour, on average", over.currency),
        key: format!("upwards: {}", counted(over, up)),
        share: 1.0,
        axis: Axis::default().named(counted(over, across)),
        named: true,
        field: Field::Map(Map {
            columns: bare(across),
            rows: bare(up),
            cells: over.points.iter().filter_map(cell).collect(),
            shades: (0..classes).rev().map(shade).collect(),
            said: said.to_vec(),
            own: over.own.at.first().copied().zip(over.own.at.get(1).copied()),
        }),
        ..Panel::default()
    }
}

/// An axis' values without their unit, thousands apart.
fn bare(axis: &OverAxis) -> Vec<String> {
    let Some(numbers) = &axis.numbers else {
        return axis.texts.clone();
    };
    let digits = |text: &String| {
        let figure = text.strip_suffix(&axis.unit).unwrap_or(text).trim();
        figure.split_once('.').map_or(0, |(_, behind)| behind.len())
    };
    let written =
        |(value, text): (&f64, &String)| minus(&format::tick(*value, libm::pow(10.0, -(digits(text) as f64))));
    numbers.iter().zip(&axis.texts).map(written).collect()
}
