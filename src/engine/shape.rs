//! From 64 random bits to one draw of a range.
//!
//! * **Triangular** without a square root. If U and V are uniform, the gaps 1 - max, max - min and min are uniform on the
//!   simplex, and `low (1 - max) + likely (max - min) + high min` is triangular: the linear spline of Curry & Schoenberg
//!   (1966, "On Polya frequency functions IV", J. d'Analyse Math. 17, 71-107), in simulation known as the MINMAX method
//!   (Stein & Keblis 2009, "A new method to simulate the triangular distribution", Math. and Computer Modelling 49,
//!   1143-1147; both from memory). U and V are the two 32-bit halves, each in the middle of its cell.
//! * **Uniform** from 52 bits, in the middle of the cell.
//! * **PERT and lognormal** by a table of the quantile function: cubic pieces on cells that halve towards both ends, so
//!   that tails are as exact as the middle (the idea of Hormann & Leydold 2003, "Continuous random variate generation by
//!   fast numerical inversion", ACM TOMACS 13(4), 347-362; from memory).
//! * **Values of a log** by place: the high half of bits x count, a product of 128 bits (Lemire 2019, "Fast random integer
//!   generation in an interval", ACM TOMACS 29(1), article 3, without its rejection; from memory). Each of n places is had by
//!   2^64 / n of the bits, rounded down or up: its chance is off 1 / n by less than 2^-64, which is n / 2^64 of it.
//!
//! # Why the triangular draw has no square root
//!
//! `low (1 - max(U, V)) + likely |U - V| + high min(U, V)` is triangular: the gaps between two uniform numbers are uniform on the simplex,
//! and a linear form of them has a linear spline as its density. The two numbers are the halves of one 64-bit output. Inversion needs a
//! square root and two selections; measured in the same loop it took 1.47 ns a draw against 0.88.

use super::Lanes;
use crate::scenario::{Logged, Spread, ThreePoint};
use fearless_simd::{Bytes, Select, Simd, SimdBase, SimdFrom, SimdMask, f64x8, mask32x16, u32x16, u64x8};
use std::sync::{Arc, Mutex};

/// 2^52 as bits: or-ing a 32-bit number into it makes the double 2^52 + number.
const TWO_52_BITS: u64 = 0x4330_0000_0000_0000;
/// 2^52 - 1/2: taken off, the number plus one half remains, exactly.
const TWO_52_LESS_HALF: f64 = 4_503_599_627_370_495.5;
/// 1.0 as bits: or-ing 52 bits into it makes a double in [1, 2).
const ONE_BITS: u64 = 0x3FF0_0000_0000_0000;
/// The bits of a double that are neither sign nor exponent.
const MANTISSA: u64 = (1 << 52) - 1;
/// 1 - 2^-53: taken off, a double in the middle of one of 2^52 cells of (0, 1) remains, exactly.
const ONE_LESS_HALF_CELL: f64 = 1.0 - 1.0 / 9_007_199_254_740_992.0;
/// 2^-32.
const CELL_32: f64 = 1.0 / 4_294_967_296.0;

/// A range made ready for drawing.
#[derive(Debug, Clone)]
pub enum Shape {
    /// Certain.
    Fixed(f64),
    /// Uniform.
    Uniform(Uniform),
    /// Triangular.
    Triangular(Triangular),
    /// One of the values of a log.
    Logged(Arc<Logged>),
    /// Anything else, by its quantile function.
    Table(Arc<QuantileTable>),
}

impl Shape {
    /// Makes a range ready.
    #[must_use]
    pub fn new(spread: &Spread) -> Self {
        match *spread {
            Spread::Certain(value) => Self::Fixed(value),
            Spread::Uniform { low, high } => Self::Uniform(Uniform { low, width: high - low }),
            Spread::Triangular(ThreePoint { low, likely, high }) => Self::Triangular(Triangular {
                low,
                width: (high - low) * CELL_32,
                rise: (likely - low) * CELL_32,
            }),
            Spread::Logged(ref log) => Self::Logged(Arc::clone(log)),
            Spread::Pert(_) | Spread::Lognormal { .. } => Self::Table(QuantileTable::of(spread)),
        }
    }

    /// Whether drawing it always gives the same.
    #[must_use]
    pub(crate) const fn is_fixed(&self) -> bool {
        matches!(self, Self::Fixed(_))
    }

    /// Whether it is certainly nothing.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        matches!(self, Self::Fixed(value) if *value == 0.0)
    }

    /// The same range with every draw times `factor` (0 or more).
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        match self {
            Self::Fixed(value) => Self::Fixed(value * factor),
            Self::Uniform(shape) => Self::Uniform(Uniform {
                low: shape.low * factor,
                width: shape.width * factor,
            }),
            Self::Triangular(shape) => Self::Triangular(Triangular {
                low: shape.low * factor,
                width: shape.width * factor,
                rise: shape.rise * factor,
            }),
            Self::Logged(log) => Self::new(&log.map(|v| v * factor)),
            Self::Table(table) => Self::Table(Arc::new(QuantileTable {
                cells: Box::new(table.cells.map(|c| c.map(|v| v * factor))),
            })),
        }
    }

    /// The value that a share `q` in (0, 1) of draws stays under.
    #[must_use]
    pub fn quantile(&self, q: f64) -> f64 {
        match self {
            Self::Fixed(value) => *value,
            Self::Uniform(shape) => shape.low + q * shape.width,
            Self::Triangular(shape) => {
                let (width, rise) = (shape.width / CELL_32, shape.rise / CELL_32);
                if q * width <= rise {
                    shape.low + libm::sqrt(q * width * rise)
                } else {
                    shape.low + width - libm::sqrt((1.0 - q) * width * (width - rise))
                }
            }
            Self::Logged(log) => log.quantile(q),
            Self::Table(table) => table.at(q),
        }
    }

    /// One draw from 64 random bits.
    #[must_use]
    pub fn draw_one(&self, bits: u64) -> f64 {
        match self {
            Self::Fixed(value) => *value,
            Self::Uniform(_) | Self::Triangular(_) => self.above_one(bits) + self.base(),
            Self::Logged(log) => one_of(log.values(), bits),
            Self::Table(table) => table.at(unit(bits)),
        }
    }

    /// A part of every draw that is the same in all; what is above it is [`Shape::above_one`].
    #[must_use]
    pub const fn base(&self) -> f64 {
        match self {
            Self::Fixed(value) => *value,
            Self::Uniform(shape) => shape.low,
            Self::Triangular(shape) => shape.low,
            Self::Logged(_) | Self::Table(_) => 0.0,
        }
    }

    /// What one draw is above [`Shape::base`], from 64 random bits.
    #[must_use]
    pub fn above_one(&self, bits: u64) -> f64 {
        match self {
            Self::Fixed(_) => 0.0,
            Self::Uniform(shape) => unit(bits) * shape.width,
            Self::Triangular(shape) => {
                let u = f64::from((bits >> 32) as u32) + 0.5;
                let v = f64::from(bits as u32) + 0.5;
                // The same operations in the same order as on lanes, so that both give the same bits.
                (if u < v { u } else { v }) * shape.width + (u - v).abs() * shape.rise
            }
            Self::Logged(log) => one_of(log.values(), bits),
            Self::Table(table) => table.at(unit(bits)),
        }
    }

    /// One draw a lane; every shape, whichever it is.
    #[inline(always)]
    pub(crate) fn draw_lanes<S: Simd>(&self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        match self {
            Self::Fixed(value) => f64x8::splat(simd, *value),
            Self::Uniform(shape) => shape.draw(simd, bits),
            Self::Triangular(shape) => shape.draw(simd, bits),
            Self::Logged(log) => (&**log).draw(simd, bits),
            Self::Table(table) => (&**table).draw(simd, bits),
        }
    }
}

/// 64 bits to the middle of one of 2^52 cells of (0, 1).
#[must_use]
pub fn unit(bits: u64) -> f64 {
    f64::from_bits((bits >> 12) | ONE_BITS) - ONE_LESS_HALF_CELL
}

/// [`unit()`] on all lanes.
#[inline(always)]
pub(crate) fn unit_lanes<S: Simd>(bits: u64x8<S>) -> f64x8<S> {
    let one_to_two: f64x8<S> = ((bits >> 12) | ONE_BITS).bitcast();
    one_to_two - ONE_LESS_HALF_CELL
}

/// The high 32 bits as a number plus one half.
#[inline(always)]
pub(crate) fn high_half<S: Simd>(bits: u64x8<S>) -> f64x8<S> {
    high_raised(bits) - TWO_52_LESS_HALF
}

/// The high 32 bits as a number plus 2^52.
#[inline(always)]
pub(crate) fn high_raised<S: Simd>(bits: u64x8<S>) -> f64x8<S> {
    ((bits >> 32) | TWO_52_BITS).bitcast()
}

/// The low 32 bits as a number plus one half.
#[inline(always)]
pub(crate) fn low_half<S: Simd>(simd: S, bits: u64x8<S>) -> f64x8<S> {
    low_raised(simd, bits) - TWO_52_LESS_HALF
}

/// The low 32 bits as a number plus 2^52.
#[inline(always)]
pub(crate) fn low_raised<S: Simd>(simd: S, bits: u64x8<S>) -> f64x8<S> {
    if cfg!(all(target_endian = "little", not(target_arch = "wasm32"))) {
        // Every other half from the bits: one instruction where the compiler makes two of a mask and an or.
        let halves: u32x16<S> = bits.bitcast();
        let raise: u32x16<S> = u64x8::splat(simd, TWO_52_BITS).bitcast();
        mask32x16::from_bitmask(simd, 0x5555).select(halves, raise).bitcast()
    } else {
        ((bits & 0xFFFF_FFFF_u64) | TWO_52_BITS).bitcast()
    }
}

/// A chance as a bound on `high_half` and `low_half`: the half is below it with that chance, to 2^-32.
#[must_use]
pub fn half_bound(chance: f64) -> f64 {
    chance / CELL_32
}

/// A [`half_bound`] as a bound on [`high_raised`] and [`low_raised`]: whole numbers whose halves are below the one are below the other.
/// A browser compares whole numbers of 64 bits without sign one by one, but doubles side by side.
#[must_use]
pub(crate) fn raised_bound(bound: f64) -> f64 {
    libm::ceil(bound - 0.5) + 4_503_599_627_370_496.0
}

/// Something the hot loop can draw from.
pub trait Draw<S: Simd>: Copy {
    /// Whether bits are used at all.
    const RANDOM: bool;
    /// One draw a lane.
    fn draw(self, simd: S, bits: u64x8<S>) -> f64x8<S>;
    /// What it is above [`Shape::base`].
    fn above(self, simd: S, bits: u64x8<S>) -> f64x8<S>;
}

/// The same value in every draw of a lane: a certain time, or the trial's one draw where a step `varies` by batch.
#[derive(Debug, Clone, Copy)]
pub struct Same(pub Lanes);

impl<S: Simd> Draw<S> for Same {
    const RANDOM: bool = false;
    #[inline(always)]
    fn draw(self, simd: S, _bits: u64x8<S>) -> f64x8<S> {
        f64x8::simd_from(simd, self.0)
    }
    #[inline(always)]
    fn above(self, simd: S, _bits: u64x8<S>) -> f64x8<S> {
        f64x8::splat(simd, 0.0)
    }
}

/// Uniform on [low, low + width).
#[derive(Debug, Clone, Copy)]
pub struct Uniform {
    low: f64,
    width: f64,
}

impl<S: Simd> Draw<S> for Uniform {
    const RANDOM: bool = true;
    #[inline(always)]
    fn draw(self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        self.above(simd, bits) + self.low
    }
    #[inline(always)]
    fn above(self, _simd: S, bits: u64x8<S>) -> f64x8<S> {
        unit_lanes(bits) * self.width
    }
}

/// Triangular, its width and the rise from low to likely in cells of 2^-32.
#[derive(Debug, Clone, Copy)]
pub struct Triangular {
    low: f64,
    width: f64,
    rise: f64,
}

impl<S: Simd> Draw<S> for Triangular {
    const RANDOM: bool = true;
    #[inline(always)]
    fn draw(self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        self.above(simd, bits) + self.low
    }
    #[inline(always)]
    fn above(self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        // Both with 2^52 still on them, which their difference loses and the least is freed from: all exact.
        let (u, v) = (high_raised(bits), low_raised(simd, bits));
        if cfg!(target_arch = "wasm32") {
            return self.by_distance(u, v);
        }
        let (least, most) = (u.min(v), u.max(v));
        (least - TWO_52_LESS_HALF) * self.width + (most - least) * self.rise
    }
}

impl Triangular {
    /// What a draw is above its base, of halves with 2^52 still on them, without least and greatest, which are dear in a browser: twice the
    /// least is the sum less the distance. All of it is exact, and so are twice and half, so that the bits are the same.
    #[inline(always)]
    fn by_distance<S: Simd>(self, u: f64x8<S>, v: f64x8<S>) -> f64x8<S> {
        let apart = (u - v).abs();
        let twice_the_least = (u - 2.0 * TWO_52_LESS_HALF) + v - apart;
        twice_the_least * (0.5 * self.width) + apart * self.rise
    }
}

/// One of `values`, each equally likely; there is at least one.
#[inline(always)]
fn one_of(values: &[f64], bits: u64) -> f64 {
    // The high half of a product of 128 bits, which a browser has no instruction for; a log has less than 2^32 values.
    let count = values.len() as u64;
    let place = ((bits >> 32) * count + (((bits & 0xFFFF_FFFF) * count) >> 32)) >> 32;
    values[place as usize]
}

impl<S: Simd> Draw<S> for &Logged {
    const RANDOM: bool = true;
    #[inline(always)]
    fn draw(self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        f64x8::simd_from(simd, bits.to_array().map(|bits| one_of(self.values(), bits)))
    }
    #[inline(always)]
    fn above(self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        self.draw(simd, bits)
    }
}

/// Cells in an octave: [2^-k-1, 2^-k) is cut in so many.
const CELLS_PER_OCTAVE_BITS: u32 = 2;
const CELLS_PER_OCTAVE: usize = 1 << CELLS_PER_OCTAVE_BITS;
/// Octaves kept: below 2^-OCTAVES - 1 the last cell's cubic is held at its end.
const OCTAVES: usize = 36;
const CELLS: usize = OCTAVES * CELLS_PER_OCTAVE;

/// The least that a tail counts for.
const LEAST_TAIL: f64 = 1.0 / (1_u64 << (OCTAVES + 1)) as f64;
/// The bits of a double within its cell; those above them number the cells.
const CELL_BITS: u32 = 52 - CELLS_PER_OCTAVE_BITS;
/// The number of the cell of the least tail.
const FIRST_CELL: u64 = LEAST_TAIL.to_bits() >> CELL_BITS;

/// Tables of the ranges that were asked for last: a question makes its plan many times over with one thing changed, a report asks all
/// questions of one scenario, and a page asks anew at every step of a drag. A table hangs on nothing but its range, and making it takes as
/// long as thousands of draws.
static TABLES: Mutex<Vec<(Spread, Arc<QuantileTable>)>> = Mutex::new(Vec::new());
/// So many are kept, of 9 KB each.
const TABLES_KEPT: usize = 64;

/// The quantile function of a range in cubic pieces.
#[derive(Debug, Clone)]
pub struct QuantileTable {
    /// By tail, from the least up to the middle: those of the lower half, then those of the upper.
    cells: Box<[[f64; 4]; 2 * CELLS]>,
}

impl QuantileTable {
    /// The table of a range; one of those kept, if it is among them.
    fn of(spread: &Spread) -> Arc<Self> {
        let known = TABLES.lock().ok().and_then(|mut tables| {
            let place = tables.iter().position(|(of, _)| of == spread)?;
            // What was asked for last stands last.
            tables[place..].rotate_left(1);
            tables.last().map(|(_, table)| Arc::clone(table))
        });
        known.unwrap_or_else(|| {
            let table = Arc::new(Self::new(spread));
            if let Ok(mut tables) = TABLES.lock() {
                if tables.len() == TABLES_KEPT {
                    tables.remove(0);
                }
                tables.push((spread.clone(), Arc::clone(&table)));
            }
            table
        })
    }

    /// Tabulates the quantile function.
    #[must_use]
    pub fn new(spread: &Spread) -> Self {
        let begin = |cell: usize| f64::from_bits((FIRST_CELL + cell as u64) << CELL_BITS);
        let mut cells = Box::new([[0.0; 4]; 2 * CELLS]);
        let (lower, upper) = cells.split_at_mut(CELLS);
        let halves: [(_, &dyn Fn(f64) -> f64); 2] = [
            (lower, &|tail| spread.quantile(tail)),
            (upper, &|tail| spread.upper_quantile(tail)),
        ];
        for (cells, quantile) in halves {
            // A cell begins where the one before it ends.
            let mut end = quantile(begin(0));
            for (number, cell) in cells.iter_mut().enumerate() {
                let (start, width) = (end, begin(number + 1) - begin(number));
                let inner = |thirds: f64| quantile(begin(number) + width * thirds / 3.0);
                end = quantile(begin(number + 1));
                *cell = cubic([start, inner(1.0), inner(2.0), end]);
            }
        }
        Self { cells }
    }

    /// The quantile at `u` in (0, 1).
    #[must_use]
    pub fn at(&self, u: f64) -> f64 {
        let upper = u >= 0.5;
        // Exact: 1 - u has no rounding for the u of `unit` at or above one half.
        let tail = if upper { 1.0 - u } else { u };
        let tail = if tail < LEAST_TAIL { LEAST_TAIL } else { tail };
        if tail >= 0.5 {
            let c = self.cells[CELLS - 1];
            return c[0] + c[1] + c[2] + c[3];
        }
        let bits = tail.to_bits();
        let cell = (bits >> CELL_BITS) - FIRST_CELL + if upper { CELLS as u64 } else { 0 };
        let t = f64::from_bits(((bits << CELLS_PER_OCTAVE_BITS) & MANTISSA) | ONE_BITS) - 1.0;
        self.within(cell, t)
    }

    /// The quantile at a share `t` of the way through a cell.
    #[inline(always)]
    fn within(&self, cell: u64, t: f64) -> f64 {
        let [c0, c1, c2, c3] = self.cells[cell as usize];
        c0 + t * (c1 + t * (c2 + t * c3))
    }
}

impl<S: Simd> Draw<S> for &QuantileTable {
    const RANDOM: bool = true;
    /// [`QuantileTable::at`] of [`unit()`] on all lanes.
    #[inline(always)]
    fn draw(self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        // All ones in the lanes of the upper half, where turning all bits round makes 1 - u of u.
        let upper = u64x8::splat(simd, 0) - (bits >> 63);
        let tail = unit_lanes(bits ^ upper);
        let least = f64x8::splat(simd, LEAST_TAIL);
        let tail: u64x8<S> = tail.simd_lt(least).select(least, tail).bitcast();
        let cell = (tail >> CELL_BITS) - FIRST_CELL + (upper & CELLS as u64);
        let t: f64x8<S> = (((tail << CELLS_PER_OCTAVE_BITS) & MANTISSA) | ONE_BITS).bitcast();
        let (cell, t) = (cell.to_array(), (t - 1.0).to_array());
        f64x8::simd_from(simd, std::array::from_fn(|lane| self.within(cell[lane], t[lane])))
    }
    #[inline(always)]
    fn above(self, simd: S, bits: u64x8<S>) -> f64x8<S> {
        self.draw(simd, bits)
    }
}

/// The cubic through four values at t = 0, 1/3, 2/3 and 1, in powers of t.
fn cubic([a, b, c, d]: [f64; 4]) -> [f64; 4] {
    [
        a,
        -5.5 * a + 9.0 * b - 4.5 * c + d,
        9.0 * a - 22.5 * b + 18.0 * c - 4.5 * d,
        4.5 * (d - a) + 13.5 * (b - c),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::path::dispatch;
    use crate::engine::stream::nth;
    use crate::engine::{LANES, Path};

    fn spreads() -> Vec<Spread> {
        let t = |low, likely, high| ThreePoint { low, likely, high };
        vec![
            Spread::Certain(4.0),
            Spread::uniform(3.0, 8.0),
            Spread::triangular(t(2.0, 3.0, 7.0)),
            Spread::triangular(t(0.0, 0.0, 10.0)),
            Spread::triangular(t(0.0, 10.0, 10.0)),
            Spread::pert(t(2.0, 3.0, 17.0)),
            Spread::pert(t(0.0, 0.0, 10.0)),
            Spread::pert(t(0.0, 10.0, 10.0)),
            Spread::lognormal_from_tenths(5.0, 15.0),
            Spread::logged(vec![4.0, 3.0, 9.0, 4.0, 3.0, 5.0, 4.0]),
        ]
    }

    /// Bits at the ends and in the middle of every half, and many others.
    fn bits() -> Vec<u64> {
        let corners = [
            0,
            1,
            0xFFF,
            0x1000,
            1 << 31,
            1 << 32,
            1 << 63,
            !0,
            !0xFFF,
            !(1 << 63),
            (1 << 32) - 1,
            !0 << 32,
        ];
        corners.into_iter().chain((0..20_000).map(|k| nth(1, k))).collect()
    }

    #[test]
    fn lanes_and_single_draws_are_the_same_bits() {
        let bits = bits();
        for spread in spreads() {
            let shape = Shape::new(&spread);
            for path in Path::available() {
                for chunk in bits.chunks_exact(LANES) {
                    let chunk: [u64; LANES] = chunk.try_into().unwrap();
                    let mut lanes = [0.0; LANES];
                    dispatch!(path, simd => {
                        shape.draw_lanes(simd, u64x8::simd_from(simd, chunk)).store_array(&mut lanes);
                    });
                    for (value, bits) in lanes.iter().zip(chunk) {
                        let one = shape.draw_one(bits);
                        assert_eq!(value.to_bits(), one.to_bits(), "{spread:?}, {path:?}, {bits:x}");
                    }
                }
            }
        }
    }

    /// Scaled draws are draws scaled, and quantiles those of the range itself.
    #[test]
    fn shapes_scale_and_have_quantiles() {
        for spread in spreads() {
            let shape = Shape::new(&spread);
            for factor in [0.0, 0.25, 3.0] {
                let scaled = shape.scaled(factor);
                for bits in bits().into_iter().take(500) {
                    let (found, due) = (scaled.draw_one(bits), shape.draw_one(bits) * factor);
                    assert!(
                        (found - due).abs() <= 1e-13 * due.abs().max(factor),
                        "{spread:?} x {factor}"
                    );
                }
            }
            for q in [0.05, 0.1, 0.3, 0.5, 0.77, 0.9] {
                let (found, due) = (shape.quantile(q), spread.quantile(q));
                // Cubics on cells of a sixteenth at most: good to far less than a ten-thousandth of the deviation.
                let near = 1e-4 * libm::sqrt(spread.variance()) + 1e-12 * due.abs();
                assert!((found - due).abs() <= near, "{spread:?} at {q}: {found} against {due}");
            }
        }
    }

    #[test]
    fn halves_are_cells_counted_from_their_middle() {
        for path in Path::available() {
            for chunk in bits().chunks_exact(LANES) {
                let chunk: [u64; LANES] = chunk.try_into().unwrap();
                let (mut high, mut low, mut whole) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
                dispatch!(path, simd => {
                    let bits = u64x8::simd_from(simd, chunk);
                    high_half(bits).store_array(&mut high);
                    low_half(simd, bits).store_array(&mut low);
                    unit_lanes(bits).store_array(&mut whole);
                });
                for lane in 0..LANES {
                    assert_eq!(high[lane], (chunk[lane] >> 32) as f64 + 0.5);
                    assert_eq!(low[lane], (chunk[lane] & 0xFFFF_FFFF) as f64 + 0.5);
                    // Exact: 52 bits and one half are 53 digits.
                    let exact = ((chunk[lane] >> 12) as f64 + 0.5) / 4_503_599_627_370_496.0;
                    assert_eq!(whole[lane], exact);
                    assert_eq!(unit(chunk[lane]), exact);
                }
            }
        }
    }

    #[test]
    fn chances_are_bounds_on_halves() {
        assert_eq!(half_bound(0.0), 0.0);
        // Half of all halves are below one half of 2^32; none below nothing; all below all of it.
        assert_eq!(half_bound(0.5), 2_147_483_648.0);
        assert_eq!(half_bound(1.0), 4_294_967_296.0);
    }

    /// On both sides of every bound, on halves as on halves with 2^52 on them.
    #[test]
    fn raised_bounds_part_the_same_whole_numbers() {
        for chance in [1e-12, 1e-9, 0.02, 0.03, 1.0 / 3.0, 0.5, 0.999, 1.0] {
            let bound = half_bound(chance);
            for n in (-3..=3).map(|k| libm::floor(bound) + f64::from(k)) {
                assert_eq!(
                    n + 4_503_599_627_370_496.0 < raised_bound(bound),
                    n + 0.5 < bound,
                    "{chance}, {n}"
                );
            }
        }
    }

    /// Values of a log are equally likely: the value's number is the high half of its count times the bits.
    #[test]
    fn logged_values_are_picked_by_the_high_half() {
        for count in [1_u64, 2, 3, 20, 1000] {
            let values: Vec<f64> = (0..count).map(|k| k as f64).collect();
            for bits in bits() {
                let number = (u128::from(bits) * u128::from(count)) >> 64;
                assert_eq!(one_of(&values, bits), number as f64, "{bits:x} of {count}");
            }
        }
    }

    /// Triangles are inverted by hand: u = v gives the low end of the rise, the corners of the unit square the three points.
    #[test]
    fn triangles_reach_their_three_points() {
        let shape = Shape::new(&Spread::triangular(ThreePoint {
            low: 2.0,
            likely: 3.0,
            high: 7.0,
        }));
        let most = 0xFFFF_FFFF_u64;
        // Both least: low. Both most: high. One of each: likely. Half a cell is 2^-33 of the width.
        let half_cell = 5.0 * CELL_32;
        for (u, v, value) in [(0, 0, 2.0), (most, most, 7.0), (0, most, 3.0), (most, 0, 3.0)] {
            let found = shape.draw_one((u << 32) | v);
            assert!((found - value).abs() <= half_cell, "{found} against {value}");
        }
    }

    /// Where one cell of the table ends the next goes on, at every seam.
    #[test]
    fn tables_have_no_seams() {
        for spread in spreads() {
            let Shape::Table(table) = Shape::new(&spread) else {
                continue;
            };
            let sd = libm::sqrt(spread.variance());
            for octave in 2..OCTAVES as i32 {
                for part in 0..CELLS_PER_OCTAVE as u32 {
                    let seam = libm::ldexp(1.0 + f64::from(part) / CELLS_PER_OCTAVE as f64, -octave);
                    for (here, before) in [
                        (seam, f64::from_bits(seam.to_bits() - 1)),
                        (1.0 - seam, 1.0 - seam - 1.0 / 9_007_199_254_740_992.0),
                    ] {
                        let (x, y) = (table.at(here), table.at(before));
                        // One step of u moves the quantile by far less than this but at the very ends.
                        let allowed = 1e-9 * (sd + x.abs()) + 1e-14 / seam * sd;
                        assert!((x - y).abs() <= allowed, "{spread:?} at {here:e}: {y} then {x}");
                    }
                }
            }
        }
    }
}
