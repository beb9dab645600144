//! The hot loops: one step's pieces of one tile, eight trials side by side.
//!
//! A step goes through a tile of pieces in passes, each with one kind of generator and its running totals in registers: the
//! times; whether a piece is done again or spoiled; the times of what is done again, only for the pieces where any lane
//! does. Draws belong to the piece, whether or not it is still there: a piece that was spoiled before is drawn and counted
//! with weight 0, so that lanes never part.

use super::shape::{Draw, high_half};
use super::stream::{Words, Xoshiro};
use super::{LANES, Lanes, TILE};
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

/// The times of a tile's pieces at one step; `each` takes their running totals, summed over steps.
///
/// `LEARNS`: every lane's time is multiplied by the piece's factor. `WEIGHTED`: by each lane's own weight, 0 where the piece
/// was spoiled before.
#[inline(always)]
pub fn times_tile<S: Simd, D: Draw<S>, const LEARNS: bool, const WEIGHTED: bool>(
    simd: S,
    draw: D,
    factors: &[f64],
    weights: &[Lanes],
    state: &mut EachState,
    each: &mut [Lanes],
) {
    let mut times = Xoshiro::load(simd, &state.times);
    let mut total = f64x8::simd_from(simd, state.each);
    // Sliced to one length, so that the loop carries no bounds checks.
    let length = each.len();
    let factors = if LEARNS { &factors[..length] } else { factors };
    let weights = if WEIGHTED { &weights[..length] } else { weights };
    for piece in 0..length {
        let bits = if D::RANDOM { times.next() } else { u64x8::splat(simd, 0) };
        let mut time = draw.draw(simd, bits);
        if LEARNS {
            time *= factors[piece];
        }
        if WEIGHTED {
            time *= f64x8::simd_from(simd, weights[piece]);
        }
        total += time;
        (f64x8::simd_from(simd, each[piece]) + total).store_array(&mut each[piece]);
    }
    times.store(&mut state.times);
    total.store_array(&mut state.each);
}

/// What each lane's next pieces take of the time of the first, by how many of them it has handled.
pub type Curve = [[f64; TILE]; LANES];

/// Counts the pieces that reach a step after which others were spoiled; where wanted, `reached` takes the running counts.
///
/// `LEARNS`: `weights` takes the learning factor of each lane, which may be behind others on the curve, and 0 where the piece
/// is not there. `factors` are those of all pieces from the very first.
#[inline(always)]
pub fn reach_tile<S: Simd, const LEARNS: bool>(
    simd: S,
    factors: &[f64],
    curve: &mut Curve,
    count_so_far: &mut Lanes,
    alive: &[Lanes],
    reached: &mut [Lanes],
    weights: &mut [Lanes],
) {
    let length = alive.len();
    let begun = f64x8::simd_from(simd, *count_so_far);
    if LEARNS {
        for (stretch, begun) in curve.iter_mut().zip(*count_so_far) {
            let left = factors.get(begun as usize..).unwrap_or_default();
            let here = left.len().min(TILE);
            stretch[..here].copy_from_slice(&left[..here]);
        }
    }
    let mut count = begun;
    let weights = if LEARNS { &mut weights[..length] } else { weights };
    for piece in 0..length {
        let here = f64x8::simd_from(simd, alive[piece]);
        if LEARNS {
            let handled = whole(count - begun);
            let handled = handled.as_array();
            let factor: Lanes = std::array::from_fn(|lane| curve[lane][handled[lane] as usize % TILE]);
            (f64x8::simd_from(simd, factor) * here).store_array(&mut weights[piece]);
        }
        count += here;
        if let Some(slot) = reached.get_mut(piece) {
            count.store_array(slot);
        }
    }
    count.store_array(count_so_far);
}

/// Which pieces of a tile are done again, by any of the eight trials.
#[derive(Debug, Clone)]
pub struct Again {
    /// The fates of all pieces of the tile.
    fates: [[u64; LANES]; TILE],
    /// The rows of those that are done again, in their order; the rest is left over.
    rows: [u8; TILE],
    /// How many rows are up to and with each row.
    ranks: [u8; TILE],
    /// How many in all.
    count: usize,
    /// Redo minutes before the first of them and after each.
    totals: [Lanes; TILE + 1],
}

impl Again {
    /// None.
    #[must_use]
    pub fn new() -> Self {
        Self {
            fates: [[0; LANES]; TILE],
            rows: [0; TILE],
            ranks: [0; TILE],
            count: 0,
            totals: [[0.0; LANES]; TILE + 1],
        }
    }
}

impl Default for Again {
    fn default() -> Self {
        Self::new()
    }
}

/// A bound on a half (see [`super::shape::half_bound`]) as a bound on its whole numbers: a half is below `bound` where its
/// whole number, put into the high 32 bits with anything below, is at most this. For bounds above one half.
fn whole_bound(bound: f64) -> u64 {
    // h + 1/2 < bound is h <= ceil(bound - 1/2) - 1.
    let most = libm::ceil(bound - 0.5) as u64 - 1;
    (most << 32) | 0xFFFF_FFFF
}

/// Decides for a tile's pieces which are done again (`REDO`) and which are spoiled (`SPOIL`).
///
/// `alive` is what reached the step; `next` takes what leaves it, where the step spoils. Bounds are those of
/// [`super::shape::half_bound`] and at least one half, so that the whole number 0 is below them.
#[inline(always)]
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
pub fn fates_tile<S: Simd, const REDO: bool, const SPOIL: bool>(
    simd: S,
    bounds: [f64; 2],
    fates: &mut Words,
    length: usize,
    alive: &[Lanes],
    next: &mut [Lanes],
    again: &mut Again,
) {
    let zero = f64x8::splat(simd, 0.0);
    let mut generator = Xoshiro::load(simd, fates);
    let [redo_bound, spoil_bound] = bounds;
    let redo_bound = u64x8::splat(simd, if REDO { whole_bound(redo_bound) } else { 0 });
    let spoil_bound = u64x8::splat(simd, if SPOIL { whole_bound(spoil_bound) } else { 0 });
    let length = length.min(TILE);
    let (alive, next) = (&alive[..length], if SPOIL { &mut next[..length] } else { next });
    let mut count = 0;
    for piece in 0..length {
        let here = f64x8::simd_from(simd, alive[piece]);
        let fate = generator.next();
        if REDO {
            fate.store_array(&mut again.fates[piece]);
            // Whether or not any lane does, without a branch: which piece is next is not to be guessed.
            again.rows[count % TILE] = piece as u8;
            let does = !fate.simd_gt(redo_bound) & here.simd_gt(zero);
            count += usize::from(does.any_true());
            again.ranks[piece] = count as u8;
        }
        if SPOIL {
            let stays = (fate << 32).simd_gt(spoil_bound);
            stays.select(here, zero).store_array(&mut next[piece]);
        }
    }
    again.count = count;
    generator.store(fates);
}

/// The times of what [`fates_tile`] found to be done again. `factors` gives the learning factors of a row.
#[inline(always)]
pub fn redo_tile<S: Simd, D: Draw<S>>(
    simd: S,
    draw: D,
    [chance, bound]: [f64; 2],
    state: &mut EachState,
    alive: &[Lanes],
    factors: impl Fn(usize) -> f64x8<S>,
    again: &mut Again,
) {
    let zero = f64x8::splat(simd, 0.0);
    let mut redos = Xoshiro::load(simd, &state.redos);
    let mut total = f64x8::simd_from(simd, state.redo);
    total.store_array(&mut again.totals[0]);
    let first_bound = f64x8::splat(simd, bound);
    for k in 0..again.count.min(TILE) {
        let row = usize::from(again.rows[k]) % TILE;
        let chances = high_half(u64x8::simd_from(simd, again.fates[row]));
        let here = f64x8::simd_from(simd, alive[row]);
        let factor = factors(row);
        let mut bound = first_bound;
        let mut more = chances.simd_lt(bound) & here.simd_gt(zero);
        // One uniform number tells how often: below p once, below p^2 twice, and so on.
        loop {
            let bits = if D::RANDOM { redos.next() } else { u64x8::splat(simd, 0) };
            let time = draw.draw(simd, bits) * factor;
            total += more.select(time, zero);
            bound *= chance;
            more &= chances.simd_lt(bound);
            if !more.any_true() {
                break;
            }
        }
        total.store_array(&mut again.totals[k + 1]);
    }
    redos.store(&mut state.redos);
    total.store_array(&mut state.redo);
}

/// Adds the running totals of what was done again to the tile's column.
#[inline(always)]
pub fn add_redos<S: Simd>(simd: S, again: &Again, redo: &mut [Lanes]) {
    for (row, rank) in redo.iter_mut().zip(&again.ranks) {
        let total = f64x8::simd_from(simd, again.totals[usize::from(*rank).min(TILE)]);
        (f64x8::simd_from(simd, *row) + total).store_array(row);
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
