//! The hot loops: one step's pieces of one tile, eight trials side by side.
//!
//! A step goes through a tile of pieces in passes, each with one kind of generator in registers: the times; whether a piece
//! is done again or spoiled; the times of what is done again, only for the pieces where any lane does. Every pass adds what a
//! piece takes to the piece's row of a column, whichever step it is; running totals are taken once, after all steps
//! (`running_totals`). Draws belong to the piece, whether or not it is still there: a piece that was spoiled before is drawn and
//! counted with weight 0, so that lanes never part.
//!
//! # Why a step goes over a tile in passes
//!
//! Eight generators side by side fill half of AVX2's registers. Times, fates and redo times in one loop spilled two generators of three on
//! every piece. In passes each has the registers to itself, redo and spoil cost a step without them nothing, and only the pass that draws
//! times is compiled for every shape. The processor cannot guess which piece is done again, so the pass of fates lists those pieces without
//! a branch, and the pass of redos goes down the list.
//!
//! Tried and slower: draws that belong to the k-th piece a step handles (7.2 against 4.7 ns a piece-step with spoil at every step), finding
//! the pieces that open a round one by one (5.4), carrying rounds on without divisions (4.7), tiles of 32 pieces, chunks of 8 groups,
//! link-time optimisation (nothing); in a browser, the lanes of one of its vectors through the whole tile before those of the next, which need
//! fewer registers (1.00 to 1.14 times, where no table is read). Closures inside vector loops that the compiler does not inline are compiled without vectors and cost
//! up to a third: write them as `inline(always)` functions.

use super::shape::{Draw, Shape, high_half, high_raised, low_raised, raised_bound};
use super::stream::{Words, Xoshiro, nth, nth_of_all};
use super::{LANES, Lanes, Row, TILE};
use fearless_simd::{Bytes, Select, Simd, SimdBase, SimdFrom, SimdMask, f64x8, u64x8};

/// What one step's per-piece loops carry from tile to tile.
#[derive(Debug, Clone, Default)]
pub struct EachState {
    /// Generators of the times.
    pub times: Words,
    /// Generators of redo and spoil.
    pub fates: Words,
    /// Generators of redone times.
    pub redos: Words,
    /// Pieces that have reached the step so far, where anything asks for them.
    pub reached: Lanes,
}

/// The times of a tile's pieces at one step, added to `each`.
///
/// Without `LEARNS` and `WEIGHTED` what a draw is above its shape's base is added: the base is the same for every piece, and
/// in the column already. `LEARNS`: every lane's time is multiplied by the piece's factor. `WEIGHTED`: by each lane's own
/// weight, 0 where the piece was spoiled before.
#[inline(always)]
pub fn times_tile<S: Simd, D: Draw<S>, const LEARNS: bool, const WEIGHTED: bool>(
    simd: S,
    draw: D,
    factors: &[f64],
    weights: &[Row],
    times: &mut Words,
    each: &mut [Row],
) {
    let mut generator = Xoshiro::load(simd, times);
    // Sliced to one length, so that the loop carries no bounds checks.
    let length = each.len();
    let factors = if LEARNS { &factors[..length] } else { factors };
    let weights = if WEIGHTED { &weights[..length] } else { weights };
    for piece in 0..length {
        let bits = if D::RANDOM {
            generator.next()
        } else {
            u64x8::splat(simd, 0)
        };
        let time = if LEARNS {
            draw.draw(simd, bits) * factors[piece]
        } else if WEIGHTED {
            draw.draw(simd, bits) * f64x8::simd_from(simd, weights[piece].0)
        } else {
            draw.above(simd, bits)
        };
        (f64x8::simd_from(simd, each[piece].0) + time).store_array(&mut each[piece].0);
    }
    generator.store(times);
}

/// What the next pieces that each lane handles bring, by how many of the tile's it has handled before.
pub type Curve = [[f64; TILE]; LANES];

/// Numbers of setups drawn for all lanes at once, where its lanes are not further apart.
const SETUPS: usize = 128;

/// What hangs on how many pieces a lane has handled at a step.
#[derive(Debug, Clone)]
pub struct Ahead {
    /// Learning factors.
    factors: Curve,
    /// Minutes of the setup that falls due with a piece, 0 with most.
    setups: Curve,
    /// Setups by number.
    drawn: [Row; SETUPS],
}

impl Default for Ahead {
    fn default() -> Self {
        Self {
            factors: [[0.0; TILE]; LANES],
            setups: [[0.0; TILE]; LANES],
            drawn: [Row([0.0; LANES]); SETUPS],
        }
    }
}

/// Setups of a step in eight trials, by number.
#[derive(Debug, Clone)]
pub struct Setups {
    /// Where their streams start.
    pub start: [u64; LANES],
    /// Those of the trials whose setups lie opposite to the time per piece, all alike; NaN where each is drawn.
    pub opposite: Option<Lanes>,
}

impl Setups {
    /// Number `number` of each lane.
    #[inline(always)]
    pub(crate) fn lanes<S: Simd>(&self, simd: S, shape: &Shape, number: u64) -> f64x8<S> {
        let drawn = shape.draw_lanes(simd, nth_of_all(u64x8::simd_from(simd, self.start), number));
        match self.opposite {
            None => drawn,
            Some(opposite) => {
                let opposite = f64x8::simd_from(simd, opposite);
                opposite.simd_eq(opposite).select(opposite, drawn)
            }
        }
    }

    /// Number `number` of one lane.
    fn one(&self, shape: &Shape, lane: usize, number: u64) -> f64 {
        let opposite = self.opposite.map(|opposite| opposite[lane]);
        opposite
            .filter(|minutes| !minutes.is_nan())
            .unwrap_or_else(|| shape.draw_one(nth(self.start[lane], number)))
    }
}

impl Ahead {
    /// Learning factors of the pieces after those handled; `factors` are those of all pieces from the very first.
    pub fn learn(&mut self, factors: &[f64], handled: &Lanes, length: usize) {
        for (stretch, handled) in self.factors.iter_mut().zip(*handled) {
            let left = factors.get(handled as usize..).unwrap_or_default();
            let here = left.len().min(length);
            stretch[..here].copy_from_slice(&left[..here]);
        }
    }

    /// Setups of rounds of `room` pieces that fall due with the pieces after those handled; number k is that of round k.
    #[inline(always)]
    pub(crate) fn set_up<S: Simd>(
        &mut self,
        simd: S,
        shape: &Shape,
        setups: &Setups,
        room: u32,
        handled: &Lanes,
        length: usize,
    ) {
        let (room, length) = (u64::from(room), length as u64);
        let handled = handled.map(|count| count as u64);
        // Lanes are at different pieces, but mostly come to the same few rounds: each is drawn once for all lanes.
        let least = handled
            .iter()
            .fold(u64::MAX, |least, count| least.min(count.div_ceil(room)));
        let most = handled
            .iter()
            .fold(0, |most, count| most.max((count + length).div_ceil(room)));
        let numbers = most.saturating_sub(least) as usize;
        let drawn = &mut self.drawn;
        let at_once = numbers <= SETUPS;
        if at_once {
            for (row, number) in drawn[..numbers].iter_mut().zip(least..) {
                setups.lanes(simd, shape, number).store_array(&mut row.0);
            }
        }
        for (lane, stretch) in self.setups.iter_mut().enumerate() {
            stretch.fill(0.0);
            let mut number = handled[lane].div_ceil(room);
            let mut place = number * room - handled[lane];
            while place < length {
                stretch[place as usize % TILE] = if at_once {
                    drawn[(number - least) as usize % SETUPS].0[lane]
                } else {
                    setups.one(shape, lane, number)
                };
                number += 1;
                place += room;
            }
        }
    }
}

/// Counts the pieces that reach a step after which others were spoiled; where wanted, `reached` takes the running counts.
///
/// `LEARNS`: `weights` takes the learning factor of each lane, which may be behind others on the curve, and 0 where the piece
/// is not there. `SETS_UP`: what falls due with the piece is added to `setup`.
#[inline(always)]
pub(crate) fn reach_tile<S: Simd, const LEARNS: bool, const SETS_UP: bool>(
    simd: S,
    ahead: &Ahead,
    count_so_far: &mut Lanes,
    alive: &[Row],
    reached: &mut [Row],
    weights: &mut [Row],
    setup: &mut [Row],
) {
    let length = alive.len();
    let mut count = f64x8::simd_from(simd, *count_so_far);
    let mut handled = u64x8::splat(simd, 0);
    let weights = if LEARNS { &mut weights[..length] } else { weights };
    let setup = if SETS_UP { &mut setup[..length] } else { setup };
    for piece in 0..length {
        let here = f64x8::simd_from(simd, alive[piece].0);
        if LEARNS || SETS_UP {
            let places = handled.as_array();
            if LEARNS {
                (look_up(simd, &ahead.factors, places) * here).store_array(&mut weights[piece].0);
            }
            if SETS_UP {
                let due = f64x8::simd_from(simd, setup[piece].0) + look_up(simd, &ahead.setups, places) * here;
                due.store_array(&mut setup[piece].0);
            }
            // The bits of 1.0, but not those of 0.0, have a 1 there.
            let bits: u64x8<S> = here.bitcast();
            handled += bits >> 61;
        }
        count += here;
        if let Some(slot) = reached.get_mut(piece) {
            count.store_array(&mut slot.0);
        }
    }
    count.store_array(count_so_far);
}

/// Each lane's value at its place of a curve.
#[inline(always)]
fn look_up<S: Simd>(simd: S, curve: &Curve, places: &[u64; LANES]) -> f64x8<S> {
    let mut found = [0.0; LANES];
    for lane in 0..LANES {
        found[lane] = curve[lane][places[lane] as usize % TILE];
    }
    f64x8::simd_from(simd, found)
}

/// The one setup of a step where lanes may lose their first pieces: falls due with the first piece of each lane that gets
/// there. `opened` is 1 in the lanes where it has.
#[inline(always)]
pub(crate) fn first_setups<S: Simd>(
    simd: S,
    shape: &Shape,
    setups: &Setups,
    opened: &mut Lanes,
    alive: &[Row],
    setup: &mut [Row],
) {
    let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
    let mut open = f64x8::simd_from(simd, *opened);
    let drawn = setups.lanes(simd, shape, 0);
    for (alive, setup) in alive.iter().zip(setup) {
        if !open.simd_lt(one).any_true() {
            break;
        }
        let opens = f64x8::simd_from(simd, alive.0).simd_gt(open);
        (f64x8::simd_from(simd, setup.0) + opens.select(drawn, zero)).store_array(&mut setup.0);
        open = opens.select(one, open);
    }
    open.store_array(opened);
}

/// Which pieces of a tile are done again, by any of the eight trials.
#[derive(Debug, Clone)]
pub struct Again {
    /// The fates of all pieces of the tile.
    fates: [[u64; LANES]; TILE],
    /// The rows of those that are done again, in their order; the rest is left over.
    rows: [u8; TILE],
    /// How many.
    count: usize,
}

impl Default for Again {
    fn default() -> Self {
        Self {
            fates: [[0; LANES]; TILE],
            rows: [0; TILE],
            count: 0,
        }
    }
}

/// Decides for a tile's pieces which are done again (`REDO`) and which are spoiled (`SPOIL`).
///
/// `alive` is what reached the step; `next` takes what leaves it, where the step spoils. Bounds are those of
/// [`super::shape::half_bound`].
#[inline(always)]
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
pub(crate) fn fates_tile<S: Simd, const REDO: bool, const SPOIL: bool>(
    simd: S,
    bounds: [f64; 2],
    fates: &mut Words,
    length: usize,
    alive: &[Row],
    next: &mut [Row],
    again: &mut Again,
) {
    let zero = f64x8::splat(simd, 0.0);
    let mut generator = Xoshiro::load(simd, fates);
    let [redo_bound, spoil_bound] = bounds.map(raised_bound);
    let length = length.min(TILE);
    let (alive, next) = (&alive[..length], if SPOIL { &mut next[..length] } else { next });
    let mut count = 0;
    for piece in 0..length {
        let here = f64x8::simd_from(simd, alive[piece].0);
        let fate = generator.next();
        if REDO {
            fate.store_array(&mut again.fates[piece]);
            // Whether or not any lane does, without a branch: which piece is next is not to be guessed.
            again.rows[count % TILE] = piece as u8;
            let does = high_raised(fate).simd_lt(redo_bound) & here.simd_gt(zero);
            count += usize::from(does.any_true());
        }
        if SPOIL {
            let stays = low_raised(simd, fate).simd_ge(spoil_bound);
            stays.select(here, zero).store_array(&mut next[piece].0);
        }
    }
    again.count = count;
    generator.store(fates);
}

/// The times of what [`fates_tile`] found to be done again, added to `redo`. `factors` gives the learning factors of a row.
#[inline(always)]
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
pub(crate) fn redo_tile<S: Simd, D: Draw<S>>(
    simd: S,
    draw: D,
    [chance, bound]: [f64; 2],
    redos: &mut Words,
    alive: &[Row],
    factors: impl Fn(usize) -> f64x8<S>,
    again: &Again,
    redo: &mut [Row],
) {
    let zero = f64x8::splat(simd, 0.0);
    let mut generator = Xoshiro::load(simd, redos);
    let first_bound = f64x8::splat(simd, bound);
    for row in &again.rows[..again.count.min(TILE)] {
        let row = usize::from(*row) % TILE;
        let chances = high_half(u64x8::simd_from(simd, again.fates[row]));
        let here = f64x8::simd_from(simd, alive[row].0);
        let factor = factors(row);
        let mut bound = first_bound;
        let mut more = chances.simd_lt(bound) & here.simd_gt(zero);
        let mut total = f64x8::simd_from(simd, redo[row].0);
        // One uniform number tells how often: below p once, below p^2 twice, and so on.
        loop {
            let bits = if D::RANDOM {
                generator.next()
            } else {
                u64x8::splat(simd, 0)
            };
            let time = draw.draw(simd, bits) * factor;
            total += more.select(time, zero);
            bound *= chance;
            more &= chances.simd_lt(bound);
            if !more.any_true() {
                break;
            }
        }
        total.store_array(&mut redo[row].0);
    }
    generator.store(redos);
}

/// Turns what the pieces of a tile take, row by row, into running totals from the very first piece.
#[inline(always)]
pub(crate) fn running_totals<S: Simd>(simd: S, total_so_far: &mut Lanes, column: &mut [Row]) {
    let mut total = f64x8::simd_from(simd, *total_so_far);
    for row in column {
        total += f64x8::simd_from(simd, row.0);
        total.store_array(&mut row.0);
    }
    total.store_array(total_so_far);
}

/// Sums the lanes in their order, the same on every processor.
#[must_use]
pub(crate) fn sum_lanes(lanes: &Lanes) -> f64 {
    lanes.iter().fold(0.0, |total, lane| total + lane)
}

/// Whole numbers below 2^32 held as doubles, as integers: exact, as adding 2^52 puts them into the low bits.
#[inline(always)]
pub fn whole<S: Simd>(count: f64x8<S>) -> u64x8<S> {
    let shifted: u64x8<S> = (count + 4_503_599_627_370_496.0).bitcast();
    shifted & 0xFFFF_FFFF_u64
}
