//! The hot loops: one step's pieces of one tile, eight trials side by side.
//!
//! A step goes through a tile of pieces with its generators and running totals in registers, and adds the totals to the
//! tile's columns. Draws belong to the piece, whether or not it is still there: a piece that was spoiled before is drawn
//! and counted with weight 0, so that lanes never part.

use super::Lanes;
use super::shape::{Draw, high_half, low_half};
use super::stream::{Words, Xoshiro};
use fearless_simd::{Bytes, Select, Simd, SimdBase, SimdFrom, SimdMask, f64x8, u64x8};

/// What one step's per-piece loop carries from tile to tile.
#[derive(Debug, Clone, Default)]
pub struct EachState {
    /// Generators of the times.
    pub times: Words,
    /// Generators of redo and spoil.
    pub fates: Words,
    /// Generators of redone times.
    pub redos: Words,
    /// Minutes so far.
    pub each: Lanes,
    /// Redo minutes so far.
    pub redo: Lanes,
    /// Pieces that have reached the step so far.
    pub reached: Lanes,
}

/// One step's rule for a tile.
#[derive(Debug, Clone, Copy)]
pub struct EachRule<'a> {
    /// Learning factor by pieces handled before; read from `factor_at` on where no piece can be missing.
    pub factors: &'a [f64],
    /// Pieces before this tile.
    pub factor_at: usize,
    /// Chance of a redo and its bound on a half; 0: none.
    pub redo: f64,
    /// Chance of spoiling as a bound on a half; 0: none.
    pub spoil_bound: f64,
    /// `redo` as a bound on a half.
    pub redo_bound: f64,
}

/// The columns of a tile that a step's per-piece loop adds to.
pub struct EachColumns<'a> {
    /// Minutes, running totals, summed over steps.
    pub each: &'a mut [Lanes],
    /// Redo minutes, likewise.
    pub redo: &'a mut [Lanes],
    /// 1 where the piece is still there, 0 where it was spoiled.
    pub alive: &'a mut [Lanes],
    /// Where wanted: pieces that have reached the step, running count.
    pub reached: &'a mut [Lanes],
}

/// Goes through a tile's pieces at one step.
///
/// `THINNED`: an earlier step can spoil. `GENERAL`: redo, spoil or learning may apply; without it there is none of them.
#[inline(always)]
pub fn each_tile<S: Simd, D: Draw<S>, const THINNED: bool, const GENERAL: bool>(
    simd: S,
    draw: D,
    rule: EachRule<'_>,
    state: &mut EachState,
    columns: EachColumns<'_>,
) {
    let EachColumns {
        each,
        redo,
        alive,
        reached,
    } = columns;
    let zero = f64x8::splat(simd, 0.0);
    let mut times = Xoshiro::load(simd, &state.times);
    let mut fates = Xoshiro::load(simd, &state.fates);
    let mut redos = Xoshiro::load(simd, &state.redos);
    let mut total = f64x8::simd_from(simd, state.each);
    let mut again_total = f64x8::simd_from(simd, state.redo);
    let mut count = f64x8::simd_from(simd, state.reached);
    let (redo_bound, spoil_bound) = (
        f64x8::splat(simd, rule.redo_bound),
        f64x8::splat(simd, rule.spoil_bound),
    );
    // Sliced to one length, so that the loop carries no bounds checks.
    let length = each.len();
    let (redo, alive) = (&mut redo[..length], &mut alive[..length]);
    let learns = GENERAL && !rule.factors.is_empty();
    let redoes = GENERAL && rule.redo_bound > 0.0;
    let spoils = GENERAL && rule.spoil_bound > 0.0;
    let factors = if learns && !THINNED {
        &rule.factors[rule.factor_at..rule.factor_at + length]
    } else {
        rule.factors
    };
    for piece in 0..length {
        let here = if THINNED {
            f64x8::simd_from(simd, alive[piece])
        } else {
            f64x8::splat(simd, 1.0)
        };
        let factor = if !learns {
            f64x8::splat(simd, 1.0)
        } else if THINNED {
            // A lane whose pieces were spoiled is behind on the curve. The last factor is never passed by a piece that
            // is still there; one that is not may ask for it and is weighted 0.
            let counts = whole(count);
            f64x8::simd_from(
                simd,
                counts.as_array().map(|c| factors[(c as usize).min(factors.len() - 1)]),
            )
        } else {
            f64x8::splat(simd, factors[piece])
        };
        let bits = if D::RANDOM { times.next() } else { u64x8::splat(simd, 0) };
        let mut time = draw.draw(simd, bits);
        if learns {
            time *= factor;
        }
        total += if THINNED { time * here } else { time };
        if redoes || spoils {
            let fate = fates.next();
            if redoes {
                let chance = high_half(fate);
                let mut again = chance.simd_lt(redo_bound);
                if THINNED {
                    again &= here.simd_gt(zero);
                }
                let mut bound = redo_bound;
                // One uniform number tells how often: below p once, below p^2 twice, and so on.
                while again.any_true() {
                    let bits = if D::RANDOM { redos.next() } else { u64x8::splat(simd, 0) };
                    let mut time = draw.draw(simd, bits);
                    if learns {
                        time *= factor;
                    }
                    again_total += again.select(time, zero);
                    bound *= rule.redo;
                    again &= chance.simd_lt(bound);
                }
                (f64x8::simd_from(simd, redo[piece]) + again_total).store_array(&mut redo[piece]);
            }
            if spoils {
                let lost = low_half(fate).simd_lt(spoil_bound);
                let rest = if THINNED {
                    here
                } else {
                    f64x8::simd_from(simd, alive[piece])
                };
                lost.select(zero, rest).store_array(&mut alive[piece]);
            }
        }
        if THINNED {
            count += here;
            if let Some(slot) = reached.get_mut(piece) {
                count.store_array(slot);
            }
        }
        (f64x8::simd_from(simd, each[piece]) + total).store_array(&mut each[piece]);
    }
    times.store(&mut state.times);
    total.store_array(&mut state.each);
    if GENERAL {
        // Untouched otherwise, and then not even loaded.
        fates.store(&mut state.fates);
        redos.store(&mut state.redos);
        again_total.store_array(&mut state.redo);
        count.store_array(&mut state.reached);
    }
}

/// Whole numbers below 2^32 held as doubles, as integers: exact, as adding 2^52 puts them into the low bits.
#[inline(always)]
pub fn whole<S: Simd>(count: f64x8<S>) -> u64x8<S> {
    let shifted: u64x8<S> = (count + 4_503_599_627_370_496.0).bitcast();
    shifted & 0xFFFF_FFFF_u64
}

/// Adds `value` to every row of a column.
#[inline(always)]
pub fn add_from<S: Simd>(simd: S, column: &mut [Lanes], value: f64x8<S>) {
    for row in column {
        (f64x8::simd_from(simd, *row) + value).store_array(row);
    }
}

/// Sums the lanes in their order, the same on every processor.
#[must_use]
pub fn sum_lanes(lanes: &Lanes) -> f64 {
    lanes.iter().fold(0.0, |total, lane| total + lane)
}
