//! Places that are wanted for notes.

use super::{LABEL, Layer, Way};
use crate::render::plot::palette::MUTED;

/// A place wanted for a note: a point, and on which side of it the text begins.
#[derive(Debug, Clone, Copy)]
pub(in crate::render) struct Spot {
    pub(in crate::render) x: X,
    pub(in crate::render) y: Y,
    pub(in crate::render) side: Side,
}

/// Across a panel; pixels count to the right, from a side they count inwards.
#[derive(Debug, Clone, Copy)]
pub(in crate::render) enum X {
    At(f64, f64),
    /// The same, but not left of the panel.
    Within(f64, f64),
    Left(f64),
    Right(f64),
    Middle(f64),
}

/// Down a panel, in pixels and shares of what is left below them.
#[derive(Debug, Clone, Copy)]
pub(in crate::render) enum Y {
    At(f64, f64),
    Share(f64),
    Below(f64, f64),
    Top(f64),
    Foot(f64),
}

/// The point is the text's left end, right end or middle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::render) enum Side {
    Left,
    Right,
    Center,
}

/// Every one of the heights with each of the places across, height by height.
pub(in crate::render) fn spots(heights: &[Y], across: &[(X, Side)]) -> Vec<Spot> {
    let each = |y: &Y| {
        let y = *y;
        across.iter().map(move |&(x, side)| Spot { x, y, side })
    };
    heights.iter().flat_map(each).collect()
}

/// Heights as shares of the panel.
pub(in crate::render) fn shares<const N: usize>(of: [f64; N]) -> [Y; N] {
    of.map(Y::Share)
}

/// To both sides of a place, so many pixels off.
pub(in crate::render) const fn beside(at: f64, off: f64) -> [(X, Side); 2] {
    [(X::At(at, off), Side::Left), (X::At(at, -off), Side::Right)]
}

/// Beside an upright line, low and high first.
pub(in crate::render) fn beside_line(at: f64, off: f64) -> Vec<Spot> {
    spots(&shares([0.88, 0.76, 0.12, 0.24, 0.64, 0.4, 0.5]), &beside(at, off))
}

/// At both ends of a panel, so many pixels inwards, the right one first.
pub(in crate::render) const fn at_ends(off: f64) -> [(X, Side); 2] {
    [(X::Right(off), Side::Right), (X::Left(off), Side::Left)]
}

/// Says along the panel's end that values lie beyond, from the first of their places to the last, how far they go.
pub(in crate::render) fn beyond(text: String, way: Way, first: f64, last: f64) -> Layer {
    let heights = [0.0, 20.0, 45.0, 75.0, 110.0, 150.0].map(|inwards| match way {
        Way::Up => Y::Top(14.0 + inwards),
        Way::Down => Y::Foot(20.0 + inwards),
    });
    let across = [
        (X::At(first, -14.0), Side::Right),
        (X::Within(first, 0.0), Side::Left),
        (X::Within(last, 14.0), Side::Left),
        (X::Within(last, 90.0), Side::Left),
        (X::Right(8.0), Side::Right),
    ];
    Layer::note([(text, LABEL.of(MUTED))], spots(&heights, &across)).towards(way)
}
