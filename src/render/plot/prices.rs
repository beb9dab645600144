//! Curves of prices against batch size, with gaps where no price does it: what the plots of `sweep` and `floor` share.

use super::{EndLabel, Line, MEDIAN, Points, ticks};
use crate::questions::sweep::Floor;

/// A range of prices with so large a share of it as air. Nothing costs less than nothing: air below shows no price under 0.
pub(in crate::render) fn aired(range: (f64, f64), share: f64) -> (f64, f64) {
    let (low, high) = ticks::aired(range, share);
    (if range.0 >= 0.0 { low.max(0.0) } else { low }, high)
}

/// Prices by size that pay so surely, and how they are drawn.
#[derive(Debug, Clone)]
pub(in crate::render) struct Curve {
    pub(in crate::render) name: String,
    pub(in crate::render) line: Line,
    pub(in crate::render) points: Points,
    /// It is the one that was asked for.
    pub(in crate::render) asked: bool,
}

impl Curve {
    /// The prices that there are.
    pub(in crate::render) fn prices(&self) -> impl Iterator<Item = f64> + '_ {
        self.points.iter().filter_map(|p| p.1)
    }

    /// In place of all, which are one: what is reached at a price is reached `always`, and what at none in so many or more.
    pub(in crate::render) fn alone(&self, always: String) -> Self {
        let none = self.prices().next().is_none();
        Self {
            name: if none { format!("{} or more", self.name) } else { always },
            line: MEDIAN,
            points: self.points.clone(),
            asked: true,
        }
    }

    /// The label at its end, with the price at one of the places.
    pub(in crate::render) fn end(&self, told: usize, write: impl Fn(f64) -> String) -> EndLabel {
        let last = self.points.last().and_then(|p| p.1);
        let figure = self
            .points
            .get(told)
            .and_then(|p| p.1)
            .map_or_else(|| "no price".to_owned(), write);
        EndLabel::line(last.unwrap_or(f64::INFINITY), self.line, &self.name, figure)
    }
}

/// Whether two confidences are one: figures of a file that were reckoned with may be a hair off.
pub(in crate::render) fn same_confidence(one: f64, other: f64) -> bool {
    (one - other).abs() < 1e-9
}

/// The confidences of an answer's price floors, ascending, the asked one among them.
pub(in crate::render) fn confidences(floors: &[Floor], asked: f64) -> Vec<f64> {
    let mut found: Vec<f64> = floors.iter().map(|floor| floor.confidence).collect();
    if !found.iter().any(|confidence| same_confidence(*confidence, asked)) {
        found.push(asked);
    }
    found.sort_by(f64::total_cmp);
    found
}

/// The floor at one of those confidences.
pub(in crate::render) fn at_confidence<'f>(floors: &'f [Floor], asked: &'f Floor, confidence: f64) -> &'f Floor {
    let mut floors = floors.iter();
    floors
        .find(|floor| same_confidence(floor.confidence, confidence))
        .unwrap_or(asked)
}

/// Whether all curves are one, prices that are the same being `same`.
pub(in crate::render) fn all_one(curves: &[Curve], same: impl Fn(f64, f64) -> bool) -> bool {
    let Some((first, others)) = curves.split_first() else {
        return false;
    };
    let mut points = others.iter().flat_map(|curve| curve.points.iter().zip(&first.points));
    points.all(|(one, other)| match (one.1, other.1) {
        (Some(one), Some(other)) => same(one, other),
        (one, other) => one == other,
    })
}

/// The sizes at which curves have no price, each behind the name of the first curve that has none at just these.
pub(in crate::render) fn gaps<'c>(curves: &'c [Curve], sizes: &[u32]) -> Vec<(&'c str, Vec<u32>)> {
    let mut found: Vec<(&str, Vec<u32>)> = Vec::new();
    for curve in curves {
        let gaps = curve.points.iter().zip(sizes).filter(|(p, _)| p.1.is_none());
        let gaps: Vec<u32> = gaps.map(|(_, size)| *size).collect();
        if !gaps.is_empty() && found.iter().all(|(_, other)| *other != gaps) {
            found.push((&curve.name, gaps));
        }
    }
    found
}
