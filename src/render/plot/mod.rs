//! A plot as plain data. A question says here what its picture shows; `chart` draws that as SVG or PNG and `text_chart` draws
//! its main panel in letters. Neither knows a question, and nothing here knows how it is drawn.
//!
//! Values are those of an axis; lengths are pixels of the page.

pub(super) mod by_size;
mod in_text;
pub(super) mod palette;
mod places;
pub(super) mod prices;
#[cfg(test)]
pub(super) mod sight;
pub(super) mod ticks;
#[cfg(all(test, feature = "cli"))]
mod told_apart;

use super::format;
pub(super) use in_text::{Sign, Text, TextRow};
use palette::{ASKED, Color, INK, MAIN, PAYS, SECOND};
pub(super) use places::{Side, Spot, X, Y, at_ends, beside, beside_line, beyond, shares, spots};
use ticks::SizeScale;

/// What a picture shows, and what it says to those who cannot see it.
#[derive(Debug, Clone, Default)]
pub struct Plot {
    /// What it is about: the line above the headline.
    pub(super) about: String,
    /// The same for those who hear the page.
    pub(super) title: String,
    /// The answer in words, one sentence; it is broken into lines as needed.
    pub(super) headline: String,
    /// What was asked, and how it was found.
    pub(super) foot: String,
    /// What the plot says, for those who cannot see it.
    pub(super) description: String,
    /// Height of the picture in pixels.
    pub(super) height: u32,
    /// From the top down.
    pub(super) panels: Vec<Panel>,
}

impl Plot {
    /// About this, with the answer in one sentence.
    pub(super) fn about(title: &str, headline: String) -> Self {
        Self {
            about: title.to_owned(),
            title: title.to_owned(),
            headline,
            ..Self::default()
        }
    }
}

/// One field of a plot over one level axis.
#[derive(Debug, Clone, Default)]
pub(super) struct Panel {
    pub(super) title: String,
    /// What is measured, in which unit.
    pub(super) unit: String,
    /// What colours and lines of the picture mean; follows the unit.
    pub(super) key: String,
    /// Where on the level axis the figures beside its lines are of; empty: of the lines' ends.
    pub(super) figures_of: String,
    /// Its share of the picture's height.
    pub(super) share: f64,
    pub(super) axis: Axis,
    /// Whether the picture names the axis under this panel; text always does.
    pub(super) named: bool,
    /// Room for names to the left, in pixels; 0 where there are none.
    pub(super) names_wide: f64,
    pub(super) field: Field,
    /// What is said of places along the level axis, or of rows by their number; empty where the answer's tables have a row for each.
    pub(super) told: Vec<(f64, SpotSaid)>,
    /// How it stands in text, where it does.
    pub(super) text: Option<Text>,
}

/// What a place is, then its figures, each with what it says.
pub(super) type SpotSaid = Vec<(String, String)>;

/// Room for names to the left of rows, in pixels.
pub(super) const NAMES: f64 = 264.0;

impl Panel {
    /// Curves, and what else lies among them, over such an axis and between these ends of the upright one.
    pub(super) fn curves(share: f64, axis: &Axis, range: (f64, f64), layers: Vec<Layer>) -> Self {
        let curves = Curves {
            range,
            layers,
            ..Curves::default()
        };
        Self {
            share,
            axis: axis.clone(),
            field: Field::Curves(curves),
            ..Self::default()
        }
    }

    /// With so much for half the width of what stands for one size alone, in pixels.
    pub(super) fn lone(mut self, half: f64) -> Self {
        if let Field::Curves(curves) = &mut self.field {
            curves.lone = half;
        }
        self
    }

    /// Named rows of one height each along an axis.
    pub(super) fn rows(names: Vec<String>, layers: Vec<RowLayer>, axis: Axis) -> Self {
        Self {
            share: names.len() as f64,
            axis,
            named: true,
            names_wide: NAMES,
            field: Field::Rows { names, layers },
            ..Self::default()
        }
    }

    /// Unit and key.
    pub(super) fn said_beside(&self) -> String {
        let between = if self.unit.is_empty() || self.key.is_empty() {
            ""
        } else {
            "; "
        };
        format!("{}{between}{}", self.unit, self.key)
    }

    /// Where on the level axis the figures beside its lines are of, if all of them are of one place.
    pub(super) fn figures_at(&self) -> Option<&str> {
        if !self.figures_of.is_empty() {
            return Some(&self.figures_of);
        }
        let Field::Curves(Curves { layers, .. }) = &self.field else {
            return None;
        };
        let end = |layer: &Layer| match &layer.shape {
            Shape::Curve { points, .. } => points.last().copied(),
            _ => None,
        };
        let last = layers
            .iter()
            .filter_map(end)
            .map(|(at, _)| at)
            .fold(f64::NEG_INFINITY, f64::max);
        let is_there = |value: f64| {
            layers.iter().any(|layer| match &layer.shape {
                Shape::Level { value: level, .. } => *level == value,
                _ => end(layer) == Some((last, Some(value))),
            })
        };
        // A line without a value has none anywhere; a shade has its figure where it ends.
        let told = |label: &EndLabel| match label.key {
            Key::Line(_) => !label.value.is_finite() || is_there(label.value),
            Key::Area(_) => true,
        };
        let ends = layers.iter().filter_map(|layer| match &layer.shape {
            Shape::Ends(ends) => Some(ends),
            _ => None,
        });
        let labels: Vec<&EndLabel> = ends.flatten().filter(|label| !label.figure.is_empty()).collect();
        if labels.is_empty() || !labels.into_iter().all(told) {
            return None;
        }
        let tick = self.axis.ticks.iter().find(|tick| tick.0 == last);
        Some(tick.map_or("the right end", |tick| &tick.1))
    }

    /// Every label at a line's end, and every one that says what a shade of rows means.
    pub(super) fn end_labels(&self) -> impl Iterator<Item = &EndLabel> {
        let (curves, rows): (&[Layer], &[RowLayer]) = match &self.field {
            Field::Curves(curves) => (&curves.layers, &[]),
            Field::Rows { layers, .. } => (&[], layers),
            Field::Map(_) => (&[], &[]),
        };
        let of_curves = curves.iter().flat_map(|layer| match &layer.shape {
            Shape::Ends(ends) => ends.as_slice(),
            Shape::Whisker(whisker) => std::slice::from_ref(&whisker.end),
            _ => &[],
        });
        let of_rows = rows.iter().flat_map(|layer| match &layer.shape {
            RowShape::Keys(keys) => keys.as_slice(),
            _ => &[],
        });
        of_curves.chain(of_rows)
    }
}

/// What a panel is made of.
#[derive(Debug, Clone)]
pub(super) enum Field {
    /// Values against the level axis.
    Curves(Curves),
    /// Named rows, from the top down, along the level axis.
    Rows { names: Vec<String>, layers: Vec<RowLayer> },
    /// Shaded cells.
    Map(Map),
}

impl Default for Field {
    fn default() -> Self {
        Self::Curves(Curves::default())
    }
}

/// Layers over one another, the first one undermost.
#[derive(Debug, Clone, Default)]
pub(super) struct Curves {
    /// Ends of the upright axis.
    pub(super) range: (f64, f64),
    /// Room above them for whiskers, in pixels.
    pub(super) headroom: f64,
    /// Heights only compare and carry no figures.
    pub(super) bare: bool,
    /// Half the width of what stands for a curve or a band of one size alone.
    pub(super) lone: f64,
    pub(super) layers: Vec<Layer>,
}

/// Whether a value lies between the ends of a range, or on one of them.
pub(super) fn within((low, high): (f64, f64), value: f64) -> bool {
    value >= low && value <= high
}

/// Values by place, with gaps where there is no value.
pub(super) type Points = Vec<(f64, Option<f64>)>;
/// Low and high values by place.
pub(super) type Ranges = Vec<(f64, f64, f64)>;

/// One thing on a field of curves. What has a sign stands in text too.
#[derive(Debug, Clone)]
pub(super) struct Layer {
    pub(super) shape: Shape,
    pub(super) sign: Option<Sign>,
}

/// What a layer draws.
#[derive(Debug, Clone)]
pub(super) enum Shape {
    /// A line through values; dots at each of them where `dots` says so.
    Curve {
        points: Points,
        line: Line,
        dots: bool,
    },
    /// The area between two lines.
    Band {
        points: Ranges,
        color: Color,
    },
    /// A band that text alone shows, for what the picture draws as curves.
    Spread(Ranges),
    /// A box for each place, as wide as a share of the way between neighbours.
    Bars {
        points: Ranges,
        step: f64,
        color: Color,
    },
    /// A level line.
    Level {
        value: f64,
        line: Line,
    },
    /// An upright line.
    Upright {
        at: f64,
        line: Line,
    },
    /// A strip along the foot.
    Strip {
        from: f64,
        to: f64,
        color: Color,
    },
    /// A strip along the foot under one place, as wide as a bar.
    StripAt {
        at: f64,
        step: f64,
        color: Color,
    },
    /// Places that text marks on the axis.
    Marks(Vec<f64>),
    /// Where most lies, its middle and a tick, in the so many-th line from the top.
    Whisker(Whisker),
    Dot {
        at: (f64, f64),
        radius: f64,
        color: Color,
    },
    /// Lines of text on the freest of the wanted places, or near one; an arrow head before them where there is more that way.
    Note {
        lines: Vec<(String, Letters)>,
        spots: Vec<Spot>,
        arrow: Option<Way>,
    },
    /// A name within an area, where the area has room for it.
    Inside {
        points: Ranges,
        name: String,
        color: Color,
    },
    /// Labels at the ends of lines.
    Ends(Vec<EndLabel>),
}

impl Layer {
    const fn new(shape: Shape) -> Self {
        Self { shape, sign: None }
    }

    pub(super) const fn curve(points: Points, line: Line) -> Self {
        Self::new(Shape::Curve {
            points,
            line,
            dots: false,
        })
    }

    pub(super) const fn band(points: Ranges, color: Color) -> Self {
        Self::new(Shape::Band { points, color })
    }

    pub(super) const fn spread(points: Ranges) -> Self {
        Self::new(Shape::Spread(points))
    }

    pub(super) const fn bars(points: Ranges, step: f64, color: Color) -> Self {
        Self::new(Shape::Bars { points, step, color })
    }

    pub(super) const fn level(value: f64, line: Line) -> Self {
        Self::new(Shape::Level { value, line })
    }

    pub(super) const fn upright(at: f64, line: Line) -> Self {
        Self::new(Shape::Upright { at, line })
    }

    pub(super) const fn strip((from, to): (f64, f64), color: Color) -> Self {
        Self::new(Shape::Strip { from, to, color })
    }

    pub(super) const fn strip_at(at: f64, step: f64, color: Color) -> Self {
        Self::new(Shape::StripAt { at, step, color })
    }

    pub(super) const fn marks(at: Vec<f64>) -> Self {
        Self::new(Shape::Marks(at))
    }

    pub(super) const fn whisker(whisker: Whisker) -> Self {
        Self::new(Shape::Whisker(whisker))
    }

    pub(super) const fn dot(at: (f64, f64), radius: f64, color: Color) -> Self {
        Self::new(Shape::Dot { at, radius, color })
    }

    pub(super) fn note(lines: impl Into<Vec<(String, Letters)>>, spots: Vec<Spot>) -> Self {
        Self::new(Shape::Note {
            lines: lines.into(),
            spots,
            arrow: None,
        })
    }

    pub(super) const fn inside(points: Ranges, name: String, color: Color) -> Self {
        Self::new(Shape::Inside { points, name, color })
    }

    pub(super) const fn ends(labels: Vec<EndLabel>) -> Self {
        Self::new(Shape::Ends(labels))
    }

    /// Whether it keeps off what others draw.
    pub(super) const fn gives_way(&self) -> bool {
        matches!(self.shape, Shape::Note { .. } | Shape::Inside { .. })
    }

    /// With a dot at every value of a curve, or not.
    pub(super) fn dots(mut self, every: bool) -> Self {
        if let Shape::Curve { dots, .. } = &mut self.shape {
            *dots = every;
        }
        self
    }

    /// With an arrow head before a note.
    pub(super) fn towards(mut self, way: Way) -> Self {
        if let Shape::Note { arrow, .. } = &mut self.shape {
            *arrow = Some(way);
        }
        self
    }

    pub(super) fn signed(self, sign: impl Into<Option<Sign>>) -> Self {
        let sign = sign.into();
        Self { sign, ..self }
    }
}

/// Room for the lines of whiskers above curves, each as high, in pixels.
pub(super) const WHISKER: f64 = 26.0;

/// Which way there is more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Way {
    Up,
    Down,
}

/// One of several things set against each other above their curves; a named row in text.
#[derive(Debug, Clone)]
pub(super) struct Whisker {
    pub(super) line_no: usize,
    pub(super) name: String,
    pub(super) low: f64,
    pub(super) middle: f64,
    pub(super) high: f64,
    /// The upright tick.
    pub(super) tick: f64,
    /// Its label, beside it.
    pub(super) end: EndLabel,
}

/// One thing in a row, or through all of them. What has a sign stands in text too.
#[derive(Debug, Clone)]
pub(super) struct RowLayer {
    pub(super) row: usize,
    pub(super) shape: RowShape,
    pub(super) sign: Option<Sign>,
}

/// What stands in a row.
#[derive(Debug, Clone)]
pub(super) enum RowShape {
    /// From one value to another; `thick` is its share of the row's height.
    Bar {
        from: f64,
        to: f64,
        thick: f64,
        color: Color,
    },
    /// A thin line, at the row's middle or from there up to its top (-1) or foot (1).
    Whisker {
        from: f64,
        to: f64,
        off: f64,
        line: Line,
    },
    Dot {
        at: f64,
        radius: f64,
        color: Color,
    },
    /// To the right of the row; `brief` where there is little room.
    Figure {
        text: String,
        brief: String,
        letters: Letters,
    },
    /// A shaded box around a place of the axis, half-way to its neighbours, with a figure in it; `brief` where there is little
    /// room, in all boxes or in none.
    Cell {
        at: f64,
        text: String,
        brief: String,
        shade: Color,
        letters: Color,
    },
    /// What shades mean, beside the rows or above them.
    Keys(Vec<EndLabel>),
    /// Through all rows.
    Upright {
        at: f64,
        line: Line,
    },
}

impl RowLayer {
    const fn new(row: usize, shape: RowShape) -> Self {
        Self { row, shape, sign: None }
    }

    pub(super) const fn bar(row: usize, (from, to): (f64, f64), thick: f64, color: Color) -> Self {
        Self::new(row, RowShape::Bar { from, to, thick, color })
    }

    pub(super) const fn whisker(row: usize, (from, to): (f64, f64), line: Line) -> Self {
        let off = 0.0;
        Self::new(row, RowShape::Whisker { from, to, off, line })
    }

    pub(super) const fn dot(row: usize, at: f64, radius: f64, color: Color) -> Self {
        Self::new(row, RowShape::Dot { at, radius, color })
    }

    pub(super) fn figure(row: usize, text: impl Into<String>, letters: Letters) -> Self {
        let text = text.into();
        let brief = text.clone();
        Self::new(row, RowShape::Figure { text, brief, letters })
    }

    pub(super) const fn keys(keys: Vec<EndLabel>) -> Self {
        Self::new(0, RowShape::Keys(keys))
    }

    pub(super) const fn upright(at: f64, line: Line) -> Self {
        Self::new(0, RowShape::Upright { at, line })
    }

    /// A whisker off the row's middle.
    pub(super) fn off(mut self, by: f64) -> Self {
        if let RowShape::Whisker { off, .. } = &mut self.shape {
            *off = by;
        }
        self
    }

    /// What a figure says where there is little room.
    pub(super) fn brief(mut self, said: String) -> Self {
        if let RowShape::Figure { brief, .. } = &mut self.shape {
            *brief = said;
        }
        self
    }

    pub(super) fn signed(self, sign: Sign) -> Self {
        Self {
            sign: Some(sign),
            ..self
        }
    }
}

/// Cells, each shaded, some with a figure, a line around those that are alike.
#[derive(Debug, Clone, Default)]
pub(super) struct Map {
    pub(super) columns: Vec<String>,
    pub(super) rows: Vec<String>,
    pub(super) cells: Vec<Cell>,
    /// What shades mean, from the top down, and what the line does.
    pub(super) shades: Vec<(Color, String)>,
    pub(super) said: Vec<&'static str>,
    /// Column and row of the file's own cell, which has a ring; `None`: it is not among them.
    pub(super) own: Option<(usize, usize)>,
}

/// A cell of a map.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    /// Column from the left and row from the foot.
    pub(super) at: (usize, usize),
    pub(super) shade: Color,
    pub(super) figure: String,
    /// What stands for the figure where there is little room.
    pub(super) brief: Option<String>,
    pub(super) letters: Color,
    /// On which side of the line it lies; its figure is bold.
    pub(super) inside: bool,
}

/// Size, weight and colour of a text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Letters {
    pub(super) size: f64,
    pub(super) weight: Weight,
    pub(super) color: Color,
}

/// The two weights there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Weight {
    Regular,
    SemiBold,
}

impl Letters {
    pub(super) const fn new(size: f64, weight: Weight, color: Color) -> Self {
        Self { size, weight, color }
    }

    pub(super) const fn of(self, color: Color) -> Self {
        Self { color, ..self }
    }
}

pub(super) const LABEL: Letters = Letters::new(14.5, Weight::Regular, INK);
pub(super) const STRONG: Letters = Letters::new(14.5, Weight::SemiBold, INK);

/// How a line looks: width in pixels, dash as line and gap in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    pub(super) color: Color,
    pub(super) width: f64,
    pub(super) dash: Option<(f64, f64)>,
}

impl Line {
    pub(super) const fn solid(color: Color, width: f64) -> Self {
        Self {
            color,
            width,
            dash: None,
        }
    }

    pub(super) const fn dashed(color: Color, width: f64, on: f64, off: f64) -> Self {
        Self {
            color,
            width,
            dash: Some((on, off)),
        }
    }
}

/// The line in the middle of what is found, and what it is on average.
pub(super) const MEDIAN: Line = Line::solid(MAIN, 3.0);
pub(super) const LONG_RUN: Line = Line::dashed(SECOND, 2.0, 7.0, 4.0);
/// What is asked for or being asked: a target, a price.
pub(super) const TARGET: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
/// Where it pays, or what is best.
pub(super) const BEST: Line = Line::dashed(PAYS, 1.6, 4.0, 3.0);

/// What stands before a label at a line's end.
#[derive(Debug, Clone, Copy)]
pub(super) enum Key {
    Line(Line),
    Area(Color),
}

/// A label at the right end: what it is and its figure, there or where the panel says; `value` is where on the axis its line ends.
#[derive(Debug, Clone)]
pub(super) struct EndLabel {
    pub(super) value: f64,
    pub(super) key: Key,
    pub(super) name: String,
    pub(super) figure: String,
}

impl EndLabel {
    pub(super) fn line(value: f64, line: Line, name: impl Into<String>, figure: impl Into<String>) -> Self {
        Self {
            value,
            key: Key::Line(line),
            name: name.into(),
            figure: figure.into(),
        }
    }

    pub(super) fn area(value: f64, color: Color, name: impl Into<String>, figure: impl Into<String>) -> Self {
        Self {
            value,
            key: Key::Area(color),
            name: name.into(),
            figure: figure.into(),
        }
    }
}

/// A level axis: its scale, and what is written where, the most wanted first.
#[derive(Debug, Clone, Default)]
pub(super) struct Axis {
    pub(super) scale: SizeScale,
    pub(super) ticks: Vec<(f64, String)>,
    /// What it counts.
    pub(super) name: String,
}

impl Axis {
    /// Batch sizes; `room` widens the axis by half a step at both ends, for bars.
    pub(super) fn sizes(sizes: &[u32], room: bool) -> Self {
        let scale = SizeScale::new(sizes, room);
        let named = ticks::sizes(sizes, scale.log);
        Self {
            scale,
            ticks: named.iter().map(|&s| (f64::from(s), format::count(s.into()))).collect(),
            name: "pieces in a batch".to_owned(),
        }
    }

    /// Any quantity from `low` to `high`, ruled evenly; `write` says how a tick is written, given the step between ticks.
    pub(super) fn values((low, high): (f64, f64), write: impl Fn(f64, f64) -> String) -> Self {
        let (low, high) = match (low.is_finite() && high.is_finite(), high > low) {
            (true, true) => (low, high),
            (true, false) => (low - 0.5, low + 0.5),
            // What is no figure has no axis of its own.
            (false, _) => (0.0, 1.0),
        };
        let (values, step) = ticks::nice(low, high, 8);
        Self {
            scale: SizeScale { low, high, log: false },
            ticks: values.iter().map(|v| (*v, minus(&write(*v, step)))).collect(),
            name: String::new(),
        }
    }

    /// A place for each of some words, half-way to its neighbours on either side.
    pub(super) fn places(words: impl ExactSizeIterator<Item = String>) -> Self {
        Self {
            scale: SizeScale {
                low: -0.5,
                high: words.len().max(1) as f64 - 0.5,
                log: false,
            },
            ticks: words.enumerate().map(|(k, word)| (k as f64, word)).collect(),
            name: String::new(),
        }
    }

    /// From 0 to so many of what is counted: nothing between whole ones has a figure.
    pub(super) fn counts(last: f64) -> Self {
        let mut axis = Self::values((0.0, last), format::whole_tick);
        axis.ticks.retain(|(_, text)| !text.is_empty());
        axis
    }

    pub(super) fn named(self, name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            ..self
        }
    }

    /// What stands under it.
    pub(super) fn label(&self) -> String {
        let log = if self.scale.log { " (logarithmic scale)" } else { "" };
        format!("{}{log}", self.name)
    }
}

/// A headline as a sentence.
pub(super) fn sentence(headline: &str) -> String {
    format!("{}.", headline.trim_end_matches('.'))
}

/// A hyphen before a figure as the minus it means.
pub(super) fn minus(text: &str) -> String {
    text.strip_prefix('-')
        .map_or_else(|| text.to_owned(), |rest| format!("−{rest}"))
}

/// Sizes as a list in which neighbours among all that were looked at are joined: `1–3, 8`.
pub(super) fn listed(sizes: &[u32], all: &[u32]) -> String {
    let place = |size: u32| all.binary_search(&size).ok();
    let next = |a, b| place(a).zip(place(b)).is_some_and(|(a, b)| b == a + 1);
    format::size_list(sizes, next).replace('-', "–")
}

/// `size 1` or `sizes 1–3`.
pub(super) fn sizes_named(sizes: &[u32], all: &[u32]) -> String {
    let word = if sizes.len() == 1 { "size" } else { "sizes" };
    format!("{word} {}", listed(sizes, all))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minus_is_a_minus() {
        assert_eq!(minus("-3.20"), "−3.20");
        assert_eq!(minus("3-5"), "3-5");
    }

    #[test]
    fn neighbours_among_sizes_looked_at_are_joined() {
        assert_eq!(sizes_named(&[1, 2, 4, 9], &[1, 2, 4, 8, 9]), "sizes 1–4, 9");
        assert_eq!(sizes_named(&[4], &[1, 2, 4]), "size 4");
    }
}
