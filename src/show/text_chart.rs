//! A small chart in text, for a terminal: hourly rate against batch size.

use super::format;
use crate::answers::sweep::{SizeAnswer, Sweep};

/// Spaces between the plot's rows at most; round steps make them fewer.
const SPACES: usize = 14;
/// Narrower than this nothing can be read.
const MIN_WIDTH: usize = 40;
/// Sizes span more than this many times: the axis is logarithmic, as in the drawn chart.
const LINEAR_SPAN: u32 = 20;

/// The signs one chart is made of.
struct Signs {
    median: char,
    band: char,
    target: char,
    axis: char,
    upright: char,
    corner: char,
    tick: char,
    pays: char,
}

const UNICODE: Signs = Signs {
    median: '●',
    band: '░',
    target: '─',
    axis: '─',
    upright: '│',
    corner: '└',
    tick: '┴',
    pays: '▲',
};
const ASCII: Signs = Signs {
    median: 'o',
    band: ':',
    target: '-',
    axis: '-',
    upright: '|',
    corner: '+',
    tick: '+',
    pays: '^',
};

/// Hourly rate against batch size: median, the band of eight runs in ten, target and first paying size.
///
/// No line is wider than `width` columns (taken as at least 40). `unicode` chooses box-drawing signs; without it the
/// chart is plain ASCII. Lines end in a line feed; an answer without sizes gives an empty text.
#[must_use]
pub fn sweep_chart(answer: &Sweep, width: usize, unicode: bool) -> String {
    let signs = if unicode { &UNICODE } else { &ASCII };
    let width = width.max(MIN_WIDTH);
    let (Some(first), Some(last)) = (answer.sizes.first(), answer.sizes.last()) else {
        return String::new();
    };
    let Some(rows) = Rows::new(answer) else {
        return String::new();
    };
    let left = rows.labels.iter().map(String::len).max().unwrap_or(0) + 2;
    let axis = Sizes {
        first: first.size.max(1),
        last: last.size.max(1),
        columns: width - left - 1,
    };

    let mut plot = vec![vec![' '; axis.columns]; rows.count()];
    if let Some(row) = rows.of(answer.target) {
        plot[row].fill(signs.target);
    }
    for column in 0..axis.columns {
        // Few sizes stand apart, many fill the columns between them.
        let Some(size) = axis.nearest(column, &answer.sizes) else {
            continue;
        };
        let rate = &size.rate;
        if let (Some(top), Some(bottom)) = (rows.clamped(rate.p90), rows.clamped(rate.p10)) {
            for row in &mut plot[top.min(bottom)..=bottom] {
                row[column] = if row[column] == signs.target {
                    signs.target
                } else {
                    signs.band
                };
            }
        }
        if let Some(row) = rows.of(rate.p50) {
            plot[row][column] = signs.median;
        }
    }

    let mut out = String::new();
    let mut line = |text: &str| {
        out.extend(text.trim_end().chars().take(width));
        out.push('\n');
    };
    line(&format!("{} per hands-on hour", answer.currency));
    for (label, cells) in rows.labels.iter().zip(&plot) {
        line(&format!(
            "{label:>pad$} {}{}",
            signs.upright,
            cells.iter().collect::<String>(),
            pad = left - 2
        ));
    }
    let paying = answer.first_paying_size.map(|size| (size, axis.column(size)));
    let mut ruler = vec![signs.axis; axis.columns];
    let ticks = axis.ticks(&answer.sizes);
    for &(_, column, _) in &ticks {
        ruler[column] = signs.tick;
    }
    if let Some((_, column)) = paying {
        ruler[column] = signs.pays;
    }
    let indent = " ".repeat(left - 1);
    line(&format!("{indent}{}{}", signs.corner, ruler.iter().collect::<String>()));
    let mut names = vec![' '; axis.columns];
    for (text, _, start) in &ticks {
        for (cell, c) in names[*start..].iter_mut().zip(text.chars()) {
            *cell = c;
        }
    }
    line(&format!("{indent} {}", names.iter().collect::<String>()));
    let scale = if axis.is_log() {
        "pieces in a batch, logarithmic"
    } else {
        "pieces in a batch"
    };
    line(&format!("{indent} {scale}"));
    for text in legend(answer, signs, rows.of(answer.target).is_some(), width) {
        line(&text);
    }
    out
}

/// What the signs mean, short enough for the narrowest chart.
fn legend(answer: &Sweep, signs: &Signs, target_seen: bool, width: usize) -> Vec<String> {
    let target = format::typed_amount(answer.target, &answer.currency);
    let beyond = if target_seen { "" } else { " (off the chart)" };
    let mut lines = vec![format!(
        "{} median   {} 8 runs in 10   {2}{2} target {target}{beyond}",
        signs.median, signs.band, signs.target
    )];
    if lines[0].chars().count() > width {
        lines = vec![
            format!("{} median   {} 8 runs in 10", signs.median, signs.band),
            format!("{0}{0} target {target}{beyond}", signs.target),
        ];
    }
    match answer.first_paying_size {
        Some(size) => {
            let later = answer
                .sizes
                .iter()
                .any(|s| s.size > size && s.reach.share < answer.confidence);
            let last = answer.sizes.last().map(|s| s.size) == Some(size);
            let first = match (later, last) {
                (true, _) => "pays first at",
                (_, true) => "pays at",
                _ => "pays from",
            };
            lines.push(format!("{} {first} {}", signs.pays, format::count(size.into())));
            if later {
                lines.push("  but not at every size after".to_owned());
            }
        }
        None => lines.push(format!(
            "no size pays in {} of runs",
            format::confidence(answer.confidence)
        )),
    }
    lines
}

/// Rows of the plot as rates, a round step apart, one of them zero where zero is in sight.
struct Rows {
    /// Rate of the uppermost row / step.
    top: f64,
    step: f64,
    labels: Vec<String>,
}

impl Rows {
    /// From the target, zero and the curve, leaving out what lies so far away that the rest would be one flat line.
    fn new(answer: &Sweep) -> Option<Self> {
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
        let step = row_step((high - low) / SPACES as f64);
        let (top, bottom) = ((high / step).round(), (low / step).round());
        if !(top - bottom).is_finite() {
            return None;
        }
        let labels = (0..=(top - bottom) as usize)
            .map(|row| {
                let steps = top - row as f64;
                if steps % 2.0 == 0.0 {
                    short_tick(steps * step, 2.0 * step)
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

    /// The row of a rate, where the plot reaches it.
    fn of(&self, rate: f64) -> Option<usize> {
        let row = (self.top - rate / self.step).round();
        (rate.is_finite() && row >= 0.0 && row < self.count() as f64).then_some(row as usize)
    }

    /// The row of a rate, or the end it lies beyond.
    fn clamped(&self, rate: f64) -> Option<usize> {
        let row = (self.top - rate / self.step).round();
        (!row.is_nan()).then(|| row.clamp(0.0, self.count() as f64 - 1.0) as usize)
    }
}

/// 1, 2, 2.5 or 5 times a power of ten, and at least so much.
fn row_step(least: f64) -> f64 {
    let power = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 2.5, 5.0]
        .into_iter()
        .map(|f| f * power)
        .find(|s| *s >= least * 0.999_999)
        .unwrap_or(10.0 * power)
}

/// A row's rate in a few columns, however large.
fn short_tick(value: f64, step: f64) -> String {
    let text = format::tick(value, step);
    if text.len() <= 10 { text } else { format!("{value:.1e}") }
}

/// Columns of the plot as sizes.
struct Sizes {
    first: u32,
    last: u32,
    columns: usize,
}

impl Sizes {
    fn is_log(&self) -> bool {
        u64::from(self.last) > u64::from(self.first) * u64::from(LINEAR_SPAN)
    }

    fn position(&self, size: u32) -> f64 {
        if self.is_log() {
            f64::from(size.max(1)).ln()
        } else {
            f64::from(size)
        }
    }

    fn column(&self, size: u32) -> usize {
        let (a, b) = (self.position(self.first), self.position(self.last));
        let share = if b > a {
            (self.position(size) - a) / (b - a)
        } else {
            0.5
        };
        (share.clamp(0.0, 1.0) * (self.columns - 1) as f64).round() as usize
    }

    /// The size a column shows: one that stands there or, between sizes that are neighbours, the nearer one.
    fn nearest<'a>(&self, column: usize, sizes: &'a [SizeAnswer]) -> Option<&'a SizeAnswer> {
        let off = |s: &&SizeAnswer| self.column(s.size).abs_diff(column);
        let nearest = sizes.iter().min_by_key(off)?;
        let few = sizes.len() <= self.columns / 6;
        (off(&nearest) <= usize::from(!few) * self.columns).then_some(nearest)
    }

    /// Named sizes with their columns and where their names start; none overlaps another.
    fn ticks(&self, sizes: &[SizeAnswer]) -> Vec<(String, usize, usize)> {
        let listed: Vec<u32> = sizes.iter().map(|s| s.size).collect();
        let mut out: Vec<(String, usize, usize)> = Vec::new();
        for size in super::chart::named_sizes(&listed, self.is_log()) {
            let (text, column) = (format::count(size.into()), self.column(size));
            let start = column
                .saturating_sub(text.len() / 2)
                .min(self.columns.saturating_sub(text.len()));
            let end = start + text.len();
            if out.iter().all(|(t, _, s)| end + 1 < *s || start > s + t.len() + 1) {
                out.push((text, column, start));
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::show::samples::gallery;

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
        fn no_answer_breaks_it(answer in crate::show::samples::any_sweep(), width in 0usize..120, unicode: bool) {
            for line in sweep_chart(&answer, width, unicode).lines() {
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
