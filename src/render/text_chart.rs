//! Small charts in text, for a terminal. Every question's chart is made of one of two things: a `Curve` against batch size,
//! or `RangePlot`, named rows on one axis. What a chart shows is decided beside its question; how it is drawn is decided here.

use super::text::{cut, wrap};
use super::words::is_certain;
use super::{format, ticks};
use crate::questions::sweep::{SizeAnswer, Sweep};

/// Spaces between the plot's rows at most; round steps make them fewer.
const SPACES: usize = 14;
/// Narrower than this nothing can be read.
const MIN_WIDTH: usize = 40;
/// RangePlot shorter than this give up the figures behind them.
const MIN_STRIP: usize = 24;
/// About so many spaces between figures under strips.
const RULED: usize = 6;
/// Sizes span more than this many times: the axis is logarithmic, as in the drawn chart.
const LINEAR_SPAN: u32 = 20;

/// The signs charts are made of.
pub(super) struct Signs {
    /// Half of the runs lie on either side.
    pub(super) median: char,
    /// Where most runs lie.
    pub(super) band: char,
    /// What a bar measures.
    pub(super) bar: char,
    /// What is lacking, on the other side of zero.
    pub(super) lack: char,
    /// Over many runs.
    pub(super) long_run: char,
    /// What is asked for, as a level line.
    pub(super) target: char,
    /// What is asked for, as an upright line.
    pub(super) aim: char,
    /// Where something ends for good.
    pub(super) end: char,
    axis: char,
    upright: char,
    corner: char,
    tick: char,
    /// The size that matters most.
    pub(super) best: char,
    beyond: char,
    before: char,
}

const UNICODE: Signs = Signs {
    median: '●',
    band: '░',
    bar: '█',
    lack: '▒',
    long_run: '┃',
    target: '─',
    aim: '┆',
    end: '×',
    axis: '─',
    upright: '│',
    corner: '└',
    tick: '┴',
    best: '▲',
    beyond: '►',
    before: '◄',
};
const ASCII: Signs = Signs {
    median: 'o',
    band: ':',
    bar: '#',
    lack: '=',
    long_run: '#',
    target: '-',
    aim: '|',
    end: 'x',
    axis: '-',
    upright: '|',
    corner: '+',
    tick: '+',
    best: '^',
    beyond: '>',
    before: '<',
};

impl Signs {
    /// Box-drawing signs, or plain ASCII.
    pub(super) const fn of(unicode: bool) -> &'static Self {
        if unicode { &UNICODE } else { &ASCII }
    }

    /// "● median   ░ 8 runs in 10", for a legend.
    pub(super) fn runs(&self) -> [String; 2] {
        [format!("{} median", self.median), format!("{} 8 runs in 10", self.band)]
    }
}

/// Hourly rate against batch size: median, the band of eight runs in ten, target and first paying size.
///
/// No line is wider than `width` columns (taken as at least 40). `unicode` chooses box-drawing signs; without it the
/// chart is plain ASCII. Lines end in a line feed; an answer without sizes gives an empty text.
#[must_use]
pub fn sweep_chart(answer: &Sweep, width: usize, unicode: bool) -> String {
    let signs = Signs::of(unicode);
    let Some(rows) = sweep_rows(answer) else {
        return String::new();
    };
    let [median, band] = signs.runs();
    let beyond = if rows.of(answer.target).is_some() {
        ""
    } else {
        " (off the chart)"
    };
    let target = format!(
        "{0}{0} target {1}{beyond}",
        signs.target,
        format::typed_amount(answer.target, &answer.currency)
    );
    let mut legend = vec![if is_certain(answer) {
        vec![format!("{} what an hour earns", signs.median), target]
    } else {
        vec![median, band, target]
    }];
    let reached = answer.sizes.iter().map(|s| (s.size, s.reach.share));
    legend.extend(pays_from(
        &reached.collect::<Vec<_>>(),
        answer.first_paying_size,
        answer.confidence,
        signs,
    ));
    Curve {
        heading: format!("{} per hands-on hour", answer.currency),
        rows,
        level: answer.target,
        points: answer
            .sizes
            .iter()
            .map(|s| Point {
                size: s.size,
                low: s.rate.p10,
                middle: s.rate.p50,
                high: s.rate.p90,
            })
            .collect(),
        marks: answer.first_paying_size.map(|s| (s, signs.best)).into_iter().collect(),
        counted: "pieces in a batch",
        legend,
    }
    .text(width, signs)
}

/// From which size on enough runs reach the target, as lines of a legend; sizes with the share of runs that do, ascending.
pub(super) fn pays_from(
    reached: &[(u32, f64)],
    first: Option<u32>,
    confidence: f64,
    signs: &Signs,
) -> Vec<Vec<String>> {
    let Some(first) = first else {
        return vec![vec![format!(
            "no size pays in {} of runs",
            format::confidence(confidence)
        )]];
    };
    let later = reached.iter().any(|(size, share)| *size > first && *share < confidence);
    let last = reached.last().map(|(size, _)| *size) == Some(first);
    let word = match (later, last) {
        (true, _) => "pays first at",
        (_, true) => "pays at",
        _ => "pays from",
    };
    let mut lines = vec![vec![format!("{} {word} {}", signs.best, format::count(first.into()))]];
    if later {
        lines.push(vec!["  but not at every size after".to_owned()]);
    }
    lines
}

/// Rows from the target, zero and the curve, leaving out what lies so far away that the rest would be one flat line.
fn sweep_rows(answer: &Sweep) -> Option<Rows> {
    let finite = |of: fn(&SizeAnswer) -> f64| answer.sizes.iter().map(of).filter(|v| v.is_finite());
    let mut medians: Vec<f64> = finite(|s| s.rate.p50).collect();
    medians.sort_by(f64::total_cmp);
    let third = medians.get((medians.len().max(1) - 1) / 3).copied();
    let keep_low = third.unwrap_or(0.0).min(0.0).min(answer.target);
    let keep_high = medians.last().copied().unwrap_or(0.0).max(answer.target).max(0.0);
    let span = keep_high - keep_low;
    if !(span.is_finite() && span > 0.0) {
        return None;
    }
    let low = finite(|s| s.rate.p10).fold(keep_low, f64::min).max(keep_low - span);
    let high = finite(|s| s.rate.p90).fold(keep_high, f64::max).min(keep_high + span);
    Rows::between(low, high)
}

/// What a curve shows at one size; an end of the band that is no number is not drawn.
pub(super) struct Point {
    pub(super) size: u32,
    pub(super) low: f64,
    pub(super) middle: f64,
    pub(super) high: f64,
}

/// Values against batch size: a middle and a band at each size, one level across them all.
pub(super) struct Curve<'a> {
    /// What is against what, with the unit.
    pub(super) heading: String,
    pub(super) rows: Rows,
    /// What the curve is held against.
    pub(super) level: f64,
    /// Ascending in size.
    pub(super) points: Vec<Point>,
    /// Sizes with a sign on the axis, what matters most last.
    pub(super) marks: Vec<(u32, char)>,
    /// What the sizes count.
    pub(super) counted: &'a str,
    /// What the signs mean: lines of things that stand side by side where there is room.
    pub(super) legend: Vec<Vec<String>>,
}

/// A sign on the axis, the sizes it stands at, and what it means.
pub(super) type Like<'a> = (char, Vec<u32>, &'a str);

impl Curve<'_> {
    /// What is left after every hour, against batch size. `first`: the legend's first line; `best`: the size that leaves most,
    /// and how much that is.
    pub(super) fn of_what_is_left(
        heading: String,
        rows: Rows,
        points: Vec<Point>,
        first: Vec<String>,
        best: (u32, f64),
        others: &[Like<'_>],
        signs: &Signs,
    ) -> Self {
        let word = if best.1 < 0.0 { "loses least" } else { "leaves most" };
        let mut second = vec![format!("{} {} {word}", signs.best, format::count(best.0.into()))];
        let mut marks = Vec::new();
        let all: Vec<u32> = points.iter().map(|p| p.size).collect();
        for (sign, sizes, meaning) in others.iter().filter(|(_, sizes, _)| !sizes.is_empty()) {
            second.push(format!("{sign} {} {meaning}", listed(sizes, &all)));
            marks.extend(sizes.iter().map(|size| (*size, *sign)));
        }
        second.extend(Curve::off_the_chart(&points, &rows));
        marks.push((best.0, signs.best));
        Self {
            heading,
            rows,
            level: 0.0,
            points,
            marks,
            counted: "pieces in a batch",
            legend: vec![first, second],
        }
    }

    /// The chart, no line wider than `width` columns (taken as at least 40), each ending in a line feed; empty without sizes.
    pub(super) fn text(&self, width: usize, signs: &Signs) -> String {
        let width = width.max(MIN_WIDTH);
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return String::new();
        };
        let left = self.rows.labels.iter().map(String::len).max().unwrap_or(0) + 2;
        let axis = Scale::sizes(first.size, last.size, width - left - 1);
        let mut out = Lines::new(width);
        out.wrapped(&self.heading);
        for (label, cells) in self.rows.labels.iter().zip(self.plot(&axis, signs)) {
            let cells: String = cells.into_iter().collect();
            out.line(&format!("{label:>pad$} {}{cells}", signs.upright, pad = left - 2));
        }
        let sizes: Vec<u32> = self.points.iter().map(|p| p.size).collect();
        let named = ticks::sizes(&sizes, axis.log);
        let ticks = named.into_iter().map(|s| (format::count(s.into()), axis.of_size(s)));
        let (mut ruler, names) = ruled(&ticks.collect::<Vec<_>>(), axis.columns, signs);
        for (size, sign) in &self.marks {
            ruler[axis.of_size(*size)] = *sign;
        }
        let indent = " ".repeat(left - 1);
        out.line(&format!("{indent}{}{}", signs.corner, ruler.iter().collect::<String>()));
        out.line(&format!("{indent} {names}"));
        let log = if axis.log { ", logarithmic" } else { "" };
        out.line(&format!("{indent} {}{log}", self.counted));
        self.legend.iter().for_each(|items| out.items(items));
        out.text
    }

    /// The signs of every row.
    fn plot(&self, axis: &Scale, signs: &Signs) -> Vec<Vec<char>> {
        let rows = &self.rows;
        let mut plot = vec![vec![' '; axis.columns]; rows.count()];
        if let Some(row) = rows.of(self.level) {
            plot[row].fill(signs.target);
        }
        for column in 0..axis.columns {
            // Few sizes stand apart, many fill the columns between them.
            let Some(at) = self.nearest(axis, column) else {
                continue;
            };
            if let (Some(top), Some(bottom)) = (rows.clamped(at.high), rows.clamped(at.low)) {
                for row in &mut plot[top.min(bottom)..=bottom] {
                    row[column] = if row[column] == signs.target {
                        signs.target
                    } else {
                        signs.band
                    };
                }
            }
            if let Some(row) = rows.of(at.middle) {
                plot[row][column] = signs.median;
            }
        }
        plot
    }

    /// The size a column shows: one that stands there or, between sizes that are neighbours, the nearer one.
    fn nearest(&self, axis: &Scale, column: usize) -> Option<&Point> {
        let off = |p: &&Point| axis.of_size(p.size).abs_diff(column);
        let nearest = self.points.iter().min_by_key(off)?;
        let few = self.points.len() <= axis.columns / 6;
        (off(&nearest) <= usize::from(!few) * axis.columns).then_some(nearest)
    }

    /// "off the chart at 1-3", of sizes whose value lies above or below all rows.
    pub(super) fn off_the_chart(points: &[Point], rows: &Rows) -> Option<String> {
        let off = |p: &&Point| p.middle.is_finite() && rows.of(p.middle).is_none();
        let sizes: Vec<u32> = points.iter().filter(off).map(|p| p.size).collect();
        let all: Vec<u32> = points.iter().map(|p| p.size).collect();
        (!sizes.is_empty()).then(|| format!("off the chart at {}", listed(&sizes, &all)))
    }
}

/// Sizes as a list in which neighbours among all that were looked at are joined: `1-3, 8`.
pub(super) fn listed(sizes: &[u32], all: &[u32]) -> String {
    let place = |size: u32| all.binary_search(&size).ok();
    format::size_list(sizes, |a, b| place(a).zip(place(b)).is_some_and(|(a, b)| b == a + 1))
}

/// Named rows under one another on one axis.
pub(super) struct RangePlot {
    /// What is against what, with the unit.
    pub(super) heading: String,
    pub(super) strips: Vec<Strip>,
    /// Ends of the axis; what goes further ends in an arrow.
    pub(super) ends: (f64, f64),
    /// Figures under the axis; none where those behind the strips say enough.
    pub(super) ruler: Option<Ruler>,
    /// Whether names are figures, which stand to the right.
    pub(super) numbered: bool,
    /// What the signs mean, side by side where there is room.
    pub(super) legend: Vec<String>,
}

/// How values are written under the axis, given with the step between them, and what they are.
pub(super) struct Ruler {
    /// An empty text leaves a value out.
    pub(super) write: fn(f64, f64) -> String,
    pub(super) name: String,
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
    Band(f64, f64, char),
    /// As long as from one value to another.
    Bar(f64, f64, char),
    /// At one value.
    Dot(f64, char),
}

impl RangePlot {
    /// Characters a name may have.
    pub(super) const fn name_room(width: usize) -> usize {
        width * 2 / 5
    }

    /// The chart, no line wider than `width` columns (taken as at least 40), each ending in a line feed. Nothing where there is
    /// no row, or no axis because all values are one.
    pub(super) fn text(&self, width: usize, signs: &Signs) -> Option<String> {
        let width = width.max(MIN_WIDTH);
        let (low, high) = self.ends;
        if self.strips.is_empty() || !((high - low).is_finite() && high > low) {
            return None;
        }
        let longest = |of: fn(&Strip) -> &str| self.strips.iter().map(|s| of(s).chars().count()).max().unwrap_or(0);
        let left = longest(|s| &s.name).min(Self::name_room(width));
        let figures = longest(|s| &s.figure);
        // Name, a space, the upright; a space before the figure.
        let columns = width - left - 2;
        let kept = columns.saturating_sub(if figures > 0 { figures + 1 } else { 0 });
        let axis = Scale {
            low,
            high,
            log: false,
            columns: if kept < MIN_STRIP { columns } else { kept },
        };
        let mut out = Lines::new(width);
        out.wrapped(&self.heading);
        let begin = if self.ruler.is_some() {
            signs.upright.to_string()
        } else {
            String::new()
        };
        for strip in &self.strips {
            let name = cut(&strip.name, left);
            let cells: String = strip.cells(&axis, signs).into_iter().collect();
            let figure = if kept < MIN_STRIP { "" } else { strip.figure.as_str() };
            let name = if self.numbered {
                format!("{name:>left$}")
            } else {
                format!("{name:<left$}")
            };
            out.line(&format!("{name} {begin}{} {figure}", cells.trim_end()));
        }
        if let Some(ruler) = &self.ruler {
            let (line, names) = axis.ruler(ruler.write, signs);
            let indent = " ".repeat(left + 1);
            out.line(&format!("{indent}{}{}", signs.corner, line.iter().collect::<String>()));
            out.line(&format!("{indent} {names}"));
            if !ruler.name.is_empty() {
                wrap(&ruler.name, axis.columns)
                    .lines()
                    .for_each(|line| out.line(&format!("{indent} {line}")));
            }
        }
        let mut legend = self.legend.clone();
        let before = self.strips.iter().any(|s| s.values().any(|v| v < low));
        let beyond = self.strips.iter().any(|s| s.values().any(|v| v > high));
        let arrows = [(before, signs.before), (beyond, signs.beyond)].map(|(some, sign)| some.then_some(sign));
        if before || beyond {
            let arrows: String = arrows.into_iter().flatten().collect();
            legend.push(format!("{arrows} beyond the axis"));
        }
        out.items(&legend);
        Some(out.text)
    }
}

impl Strip {
    fn cells(&self, axis: &Scale, signs: &Signs) -> Vec<char> {
        let mut cells = vec![' '; axis.columns];
        for mark in &self.marks {
            match *mark {
                Mark::Band(from, to, sign) if from <= to => cells[axis.column(from)..=axis.column(to)].fill(sign),
                Mark::Bar(from, to, sign) if from <= to => cells[axis.column(from)..axis.column(to)].fill(sign),
                Mark::Dot(at, sign) if at >= axis.low && at <= axis.high => cells[axis.column(at)] = sign,
                _ => {}
            }
        }
        if let Some(last) = cells.last_mut().filter(|_| self.values().any(|v| v > axis.high)) {
            *last = signs.beyond;
        }
        if let Some(first) = cells.first_mut().filter(|_| self.values().any(|v| v < axis.low)) {
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

/// Least and most of the values that are numbers.
pub(super) fn extent(values: impl IntoIterator<Item = f64>) -> (f64, f64) {
    let finite = values.into_iter().filter(|v| v.is_finite());
    finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
        (low.min(v), high.max(v))
    })
}

/// An axis line with its ticks, and the figures under them: of two that would touch, the one that comes first stays.
fn ruled(ticks: &[(String, usize)], columns: usize, signs: &Signs) -> (Vec<char>, String) {
    let mut line = vec![signs.axis; columns];
    let mut names = vec![' '; columns];
    let mut taken: Vec<(usize, usize)> = Vec::new();
    for (text, column) in ticks {
        let length = text.chars().count();
        let start = column.saturating_sub(length / 2).min(columns.saturating_sub(length));
        let end = start + length;
        if taken.iter().all(|(s, e)| end + 1 < *s || start > e + 1) {
            taken.push((start, end));
            line[*column] = signs.tick;
            for (cell, c) in names[start..].iter_mut().zip(text.chars()) {
                *cell = c;
            }
        }
    }
    (line, names.into_iter().collect())
}

/// Lines that are never wider than asked.
struct Lines {
    text: String,
    width: usize,
}

impl Lines {
    const fn new(width: usize) -> Self {
        Self {
            text: String::new(),
            width,
        }
    }

    fn line(&mut self, text: &str) {
        let kept: String = text.chars().take(self.width).collect();
        self.text.push_str(kept.trim_end());
        self.text.push('\n');
    }

    fn wrapped(&mut self, text: &str) {
        wrap(text, self.width).lines().for_each(|line| self.line(line));
    }

    /// Items side by side, as many to a line as have room.
    fn items(&mut self, items: &[String]) {
        const GAP: &str = "   ";
        let mut line = String::new();
        for item in items {
            let length = item.chars().count();
            if !line.is_empty() && line.chars().count() + GAP.len() + length > self.width {
                self.line(&line);
                line.clear();
            }
            if length > self.width {
                self.wrapped(item);
                continue;
            }
            if !line.is_empty() {
                line.push_str(GAP);
            }
            line.push_str(item);
        }
        if !line.is_empty() {
            self.line(&line);
        }
    }
}

/// Rows of a plot, a round step apart, one of them zero where zero is in sight.
pub(super) struct Rows {
    /// Value of the uppermost row / step.
    top: f64,
    step: f64,
    labels: Vec<String>,
}

impl Rows {
    /// Rows from the one end to the other; `None` where there is nothing between them.
    pub(super) fn between(low: f64, high: f64) -> Option<Self> {
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
    pub(super) fn of(&self, value: f64) -> Option<usize> {
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
    let power = libm::pow(10.0, libm::log10(least).floor());
    [1.0, 2.0, 2.5, 5.0]
        .into_iter()
        .map(|f| f * power)
        .find(|s| *s >= least * 0.999_999)
        .unwrap_or(10.0 * power)
}

/// A figure of an axis in a few columns, however large.
fn short(text: String, value: f64) -> String {
    if text.len() <= 10 { text } else { format!("{value:.1e}") }
}

/// Columns of a plot as values.
struct Scale {
    low: f64,
    high: f64,
    log: bool,
    columns: usize,
}

impl Scale {
    /// Of batch sizes.
    fn sizes(first: u32, last: u32, columns: usize) -> Self {
        let (first, last) = (first.max(1), last.max(1));
        Self {
            low: first.into(),
            high: last.into(),
            log: u64::from(last) > u64::from(first) * u64::from(LINEAR_SPAN),
            columns,
        }
    }

    fn position(&self, value: f64) -> f64 {
        if self.log { libm::log(value.max(1.0)) } else { value }
    }

    /// The column of a value, or the end it lies beyond.
    fn column(&self, value: f64) -> usize {
        let (a, b) = (self.position(self.low), self.position(self.high));
        let share = if b > a {
            (self.position(value) - a) / (b - a)
        } else {
            0.5
        };
        (share.clamp(0.0, 1.0) * (self.columns - 1) as f64).round() as usize
    }

    fn of_size(&self, size: u32) -> usize {
        self.column(size.into())
    }

    /// The axis line and its figures, as many as stand apart.
    fn ruler(&self, write: fn(f64, f64) -> String, signs: &Signs) -> (Vec<char>, String) {
        let mut spaces = RULED;
        loop {
            let (values, step) = ticks::nice(self.low, self.high, spaces);
            let named = values.iter().map(|v| (short(write(*v, step), *v), self.column(*v)));
            let named: Vec<(String, usize)> = named.filter(|(text, _)| !text.is_empty()).collect();
            let (line, names) = ruled(&named, self.columns, signs);
            let shown = line.iter().filter(|c| **c == signs.tick).count();
            if shown == named.len() || spaces <= 1 {
                return (line, names);
            }
            spaces -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::samples::{any_figure, gallery};

    #[test]
    fn no_line_is_wider_than_asked_and_ascii_is_ascii() {
        for (name, answer) in gallery() {
            for width in [0, 40, 41, 60, 80, 200] {
                for unicode in [false, true] {
                    let text = sweep_chart(&answer, width, unicode);
                    assert!(text.lines().count() >= SPACES / 2, "{name} {width}");
                    for line in text.lines() {
                        assert!(line.chars().count() <= width.max(40), "{name} at {width}: {line}");
                        assert!(unicode || line.is_ascii(), "{name}: {line}");
                    }
                }
            }
        }
    }

    #[test]
    fn charts_look_as_they_should() {
        let gallery = gallery();
        let of = |name: &str| &gallery.iter().find(|g| g.0 == name).unwrap().1;
        insta::assert_snapshot!("rail", sweep_chart(of("rail"), 72, true));
        insta::assert_snapshot!("rail_ascii", sweep_chart(of("rail"), 60, false));
        insta::assert_snapshot!("mug", sweep_chart(of("mug"), 80, true));
        insta::assert_snapshot!("table", sweep_chart(of("table"), 60, true));
        insta::assert_snapshot!("single", sweep_chart(of("single"), 40, true));
        insta::assert_snapshot!("loss", sweep_chart(of("loss"), 60, true));
    }

    proptest::proptest! {
        #[test]
        fn no_answer_breaks_it(answer in crate::render::samples::any_sweep(), width in 0usize..120, unicode: bool) {
            for line in sweep_chart(&answer, width, unicode).lines() {
                proptest::prop_assert!(line.chars().count() <= width.max(40), "{line}");
            }
        }
    }

    /// Names of one letter and no figures: 60 - 1 - 2 = 57 columns; 0 to 100 is 56 steps, so 50 is column 28 and 25 is 14.
    fn strips(marks: Vec<Mark>, ends: (f64, f64)) -> RangePlot {
        RangePlot {
            heading: "money against luck".to_owned(),
            strips: vec![Strip {
                name: "a".to_owned(),
                marks,
                figure: String::new(),
            }],
            ends,
            ruler: Some(Ruler {
                write: format::tick,
                name: "luck".to_owned(),
            }),
            numbered: false,
            legend: vec!["o one".to_owned(), "x other".to_owned()],
        }
    }

    fn row(strips: &RangePlot) -> Vec<char> {
        let text = strips.text(60, &UNICODE).unwrap();
        text.lines().nth(1).unwrap().chars().skip(3).collect()
    }

    #[test]
    fn marks_stand_in_their_columns() {
        let marks = vec![
            Mark::Band(0.0, 50.0, 'b'),
            Mark::Bar(50.0, 100.0, 'B'),
            Mark::Dot(25.0, 'o'),
        ];
        let row = row(&strips(marks, (0.0, 100.0)));
        let at = |sign: char| (0..row.len()).filter(|k| row[*k] == sign).collect::<Vec<_>>();
        assert_eq!(at('o'), [14]);
        // A bar is as long as the way between its ends; where it begins it covers the band's last sign.
        assert_eq!(at('b'), (0..28).filter(|k| *k != 14).collect::<Vec<_>>());
        assert_eq!(at('B'), (28..56).collect::<Vec<_>>());
    }

    #[test]
    fn what_lies_beyond_the_axis_ends_in_an_arrow() {
        let far = strips(
            vec![Mark::Bar(0.0, f64::INFINITY, 'B'), Mark::Dot(-1.0, 'o')],
            (0.0, 100.0),
        );
        let cells = row(&far);
        assert_eq!((cells[0], cells[1], cells[55], cells[56]), ('◄', 'B', 'B', '►'));
        assert!(!cells.contains(&'o'));
        let text = far.text(60, &UNICODE).unwrap();
        assert!(text.ends_with("o one   x other   ◄► beyond the axis\n"), "{text}");
        let near = strips(vec![Mark::Bar(0.0, 100.0, 'B')], (0.0, 100.0))
            .text(60, &UNICODE)
            .unwrap();
        assert!(!near.contains("beyond"), "{near}");
    }

    /// 57 columns hold six figures; every figure is centred under its tick.
    #[test]
    fn figures_stand_under_their_ticks() {
        let text = strips(vec![Mark::Dot(1.0, 'o')], (0.0, 100.0))
            .text(60, &UNICODE)
            .unwrap();
        let line = |k: usize| text.lines().nth(k).unwrap().chars().collect::<Vec<_>>();
        let ticks: Vec<usize> = (0..60).filter(|k| line(2).get(*k) == Some(&'┴')).collect();
        // 20 % of 56 is 11.2, 40 % 22.4, 60 % 33.6, 80 % 44.8; three before the first column.
        assert_eq!(ticks, [0, 11, 22, 34, 45, 56].map(|k| k + 3), "{text}");
        assert_eq!(line(3)[ticks[1] - 1..=ticks[1]], ['2', '0'], "{text}");
        assert!(text.contains("100\n   luck\n"), "{text}");
    }

    /// Figures that would touch are made fewer, evenly.
    #[test]
    fn figures_under_a_short_axis_are_fewer() {
        let mut narrow = strips(vec![Mark::Dot(1.0, 'o')], (0.0, 10_000.0));
        narrow.strips[0].name = "a name of sixteen letters and more".to_owned();
        let text = narrow.text(40, &UNICODE).unwrap();
        let figures: Vec<&str> = text.lines().nth(3).unwrap().split_whitespace().collect();
        assert_eq!(figures, ["0", "5,000", "10,000"], "{text}");
    }

    #[test]
    fn figures_behind_strips_give_way_to_the_strips() {
        let mut one = strips(vec![Mark::Bar(0.0, 1.0, 'B')], (0.0, 1.0));
        one.strips[0].figure = "so much".to_owned();
        assert!(one.text(60, &UNICODE).unwrap().contains("B so much"));
        one.strips[0].figure = "a figure that takes half of the line".to_owned();
        assert!(!one.text(60, &UNICODE).unwrap().contains("figure"));
    }

    #[test]
    fn no_axis_no_chart() {
        assert_eq!(strips(vec![Mark::Dot(1.0, 'o')], (1.0, 1.0)).text(60, &UNICODE), None);
        assert_eq!(strips(vec![], extent([f64::NAN])).text(60, &UNICODE), None);
        let mut none = strips(vec![], (0.0, 1.0));
        none.strips.clear();
        assert_eq!(none.text(60, &UNICODE), None);
        assert!(Rows::between(1.0, 1.0).is_none() && Rows::between(0.0, f64::INFINITY).is_none());
    }

    proptest::proptest! {
        #[test]
        fn no_strip_breaks_it(
            name in ".{0,80}",
            figure in ".{0,80}",
            ends in (any_figure(), any_figure()),
            marks in proptest::collection::vec((any_figure(), any_figure()), 0..6),
            width in 0usize..130,
        ) {
            let mut one = strips(Vec::new(), ends);
            (one.strips[0].name, one.strips[0].figure) = (name, figure);
            for (a, b) in marks {
                one.strips[0].marks.extend([Mark::Band(a, b, 'b'), Mark::Bar(b, a, 'B'), Mark::Dot(a, 'o')]);
            }
            for line in one.text(width, &UNICODE).unwrap_or_default().lines() {
                proptest::prop_assert!(line.chars().count() <= width.max(40), "{line}");
            }
        }
    }

    #[test]
    fn rows_are_a_round_step_apart() {
        for (least, step) in [(4.1, 5.0), (5.0, 5.0), (0.21, 0.25), (130.0, 200.0), (6.0, 10.0)] {
            assert!((row_step(least) - step).abs() < 1e-9, "{least}");
        }
    }

    #[test]
    fn an_answer_without_sizes_has_no_chart() {
        let mut answer = gallery().remove(0).1;
        answer.sizes.clear();
        assert_eq!(sweep_chart(&answer, 80, true), "");
    }
}
