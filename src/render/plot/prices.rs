//! Curves of prices against batch size, with gaps where no price does it: what the plots of `sweep` and `floor` share.

use super::{EndLabel, Line, Points, ticks};

/// A range of prices with so large a share of it as air. Nothing costs less than nothing: air below shows no price under 0.
pub(in crate::render) fn aired(range: (f64, f64), share: f64) -> (f64, f64) {
    let (low, high) = ticks::aired(range, share);
    (if range.0 >= 0.0 { low.max(0.0) } else { low }, high)
}

/// Whether all curves are one, prices that are the same being `same`.
pub(in crate::render) fn all_one<'p>(
    mut curves: impl Iterator<Item = &'p Points>,
    same: impl Fn(f64, f64) -> bool,
) -> bool {
    let Some(first) = curves.next() else {
        return false;
    };
    curves.all(|points| {
        points.iter().zip(first).all(|(one, other)| match (one.1, other.1) {
            (Some(one), Some(other)) => same(one, other),
            (one, other) => one == other,
        })
    })
}

/// The label at the end of a curve, with the price there.
pub(in crate::render) fn end(
    points: &Points,
    line: Line,
    name: impl Into<String>,
    write: impl Fn(f64) -> String,
) -> EndLabel {
    let last = points.last().and_then(|p| p.1);
    let figure = last.map_or_else(|| "no price".to_owned(), write);
    EndLabel::line(last.unwrap_or(f64::INFINITY), line, name, figure)
}

/// The sizes at which curves have no price, each behind the place of the first curve that has none at just these.
pub(in crate::render) fn gaps<'p>(curves: impl Iterator<Item = &'p Points>, sizes: &[u32]) -> Vec<(usize, Vec<u32>)> {
    let mut found: Vec<(usize, Vec<u32>)> = Vec::new();
    for (place, points) in curves.enumerate() {
        let gaps = points.iter().zip(sizes).filter(|(p, _)| p.1.is_none());
        let gaps: Vec<u32> = gaps.map(|(_, size)| *size).collect();
        if !gaps.is_empty() && found.iter().all(|(_, other)| *other != gaps) {
            found.push((place, gaps));
        }
    }
    found
}
