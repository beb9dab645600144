//! The steps on a tile of pieces: who gets there, setups, times, fates, redos.

use super::{Group, NONE, ONE, SetupState, Tile};
use crate::engine::kernel::{
    Again, Ahead, EachState, fates_tile, first_setups, reach_tile, redo_tile, running_totals, times_tile,
};
use crate::engine::plan::{Plan, PlanStep};
use crate::engine::shape::{Draw, Same, Shape};
use crate::engine::stream::Words;
use crate::engine::{Lanes, Row};
use fearless_simd::{Simd, SimdBase, SimdFrom, f64x8};

impl Group {
    /// The scratch: all steps on the pieces `first..first + length`.
    pub(super) fn work<S: Simd>(&mut self, simd: S, plan: &Plan, first: u32, length: usize, tile: &mut Tile) {
        let begin = |tile: &mut Tile, each_base: Lanes| {
            // Columns that nothing is written to are as they were made.
            tile.each[..length].fill(Row(each_base));
            if plan.redoes {
                tile.redo[..length].fill(NONE);
            }
            if tile.has_rounds {
                tile.setup[..length].fill(NONE);
            }
        };
        begin(tile, self.each_base);
        if tile.has_helper() {
            tile.change_hands();
            begin(tile, self.helper.each);
            tile.change_hands();
        }
        if plan.spoils {
            tile.alive[..length].fill(Row(ONE));
        }
        for (index, step) in plan.steps.iter().enumerate() {
            let state = &mut self.steps[index];
            if step.helped {
                tile.change_hands();
            }
            if step.has_rounds() {
                setups_step(simd, step, &mut self.setups[index], &state.reached, first, length, tile);
            }
            if step.is_alike() {
                let same = Same(self.by_batch[index]);
                each_step(simd, same, step, first, length, state, tile, index);
            } else {
                match &step.each.shape {
                    // Certain times are the same in every draw: above.
                    Shape::Fixed(_) => {}
                    Shape::Uniform(shape) => each_step(simd, *shape, step, first, length, state, tile, index),
                    Shape::Triangular(shape) => each_step(simd, *shape, step, first, length, state, tile, index),
                    Shape::Logged(log) => each_step(simd, &**log, step, first, length, state, tile, index),
                    Shape::Table(table) => each_step(simd, &**table, step, first, length, state, tile, index),
                }
            }
            if step.helped {
                tile.change_hands();
            }
        }
        add_up(simd, plan, &mut self.totals, length, tile);
        if tile.has_helper() {
            tile.change_hands();
            add_up(simd, plan, &mut self.helper.totals, length, tile);
            tile.change_hands();
        }
    }
}

/// Running totals of what the pieces of a tile take.
#[inline(never)]
pub(super) fn add_up<S: Simd>(simd: S, plan: &Plan, totals: &mut [Lanes; 3], length: usize, tile: &mut Tile) {
    simd.vectorize(
        #[inline(always)]
        || {
            let [setup, each, redo] = totals;
            running_totals(simd, each, &mut tile.each[..length]);
            if plan.redoes {
                running_totals(simd, redo, &mut tile.redo[..length]);
            }
            if tile.has_rounds {
                running_totals(simd, setup, &mut tile.setup[..length]);
            }
        },
    );
}

/// Whether every piece takes this step at the full time of its draw, so that the draw's base is the same for all.
pub(super) const fn counts_from_base(step: &PlanStep) -> bool {
    step.has_each && !step.after_spoilage && step.factors.is_empty()
}

/// Setups that fall due in a tile. Where pieces may be lost, those of rounds are only looked ahead to here: which piece opens
/// a round hangs on how many of them get to the step.
#[inline(never)]
pub(super) fn setups_step<S: Simd>(
    simd: S,
    step: &PlanStep,
    state: &mut SetupState,
    reached: &Lanes,
    first: u32,
    length: usize,
    tile: &mut Tile,
) {
    simd.vectorize(
        #[inline(always)]
        || {
            let shape = &step.setup.shape;
            match (step.after_spoilage, step.room) {
                (true, Some(room)) => tile.ahead.set_up(simd, shape, &state.draws, room, reached, length),
                (true, None) => {
                    let (alive, setup) = (&tile.alive[..length], &mut tile.setup[..length]);
                    first_setups(simd, shape, &state.draws, &mut state.opened, alive, setup);
                }
                (false, room) => {
                    // Every lane has the same pieces, so rounds open in step.
                    let room = u64::from(room.unwrap_or(u32::MAX));
                    let (begin, end) = (u64::from(first), u64::from(first) + length as u64);
                    for number in begin.div_ceil(room)..end.div_ceil(room) {
                        let row = &mut tile.setup[(number * room - begin) as usize].0;
                        let drawn = state.draws.lanes(simd, shape, number);
                        (f64x8::simd_from(simd, *row) + drawn).store_array(row);
                    }
                }
            }
        },
    );
}

/// One step's passes over a tile: who gets there, times, fates, redos.
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
pub(super) fn each_step<S: Simd, D: Draw<S>>(
    simd: S,
    draw: D,
    step: &PlanStep,
    first: u32,
    length: usize,
    state: &mut EachState,
    tile: &mut Tile,
    index: usize,
) {
    let learns = !step.factors.is_empty();
    // Where no piece can be missing, every lane is at the same place of the curve.
    let from_here = step.factors.get(first as usize..).unwrap_or_default();
    let sets_up = step.has_rounds() && step.room.is_some();
    // A step where nothing is done per piece still decides fates and counts pieces.
    if step.after_spoilage && (learns || sets_up || step.counts_pieces) {
        let reach = match (learns, sets_up) {
            (false, false) => reach_loop::<S, false, false>,
            (false, true) => reach_loop::<S, false, true>,
            (true, false) => reach_loop::<S, true, false>,
            (true, true) => reach_loop::<S, true, true>,
        };
        if learns {
            tile.ahead.learn(&step.factors, &state.reached, length);
        }
        reach(
            simd,
            &tile.ahead,
            &mut state.reached,
            &tile.alive[..length],
            &mut tile.reached[index],
            &mut tile.weights,
            &mut tile.setup,
        );
    }
    if step.has_each {
        let each = &mut tile.each[..length];
        let times = &mut state.times;
        match (step.after_spoilage, learns) {
            // The base is all there is.
            (false, false) if !D::RANDOM => {}
            (false, false) => times_loop::<S, D, false, false>(simd, draw, &[], &[], times, each),
            (false, true) => times_loop::<S, D, true, false>(simd, draw, from_here, &[], times, each),
            (true, false) => times_loop::<S, D, false, true>(simd, draw, &[], &tile.alive, times, each),
            (true, true) => times_loop::<S, D, false, true>(simd, draw, &[], &tile.weights, times, each),
        }
    }
    fates_step(simd, draw, step, from_here, length, state, tile);
}

/// Which pieces of a tile must be done again, with the time that takes, and which are lost.
fn fates_step<S: Simd, D: Draw<S>>(
    simd: S,
    draw: D,
    step: &PlanStep,
    from_here: &[f64],
    length: usize,
    state: &mut EachState,
    tile: &mut Tile,
) {
    // A chance too small for any half to be below its bound is none.
    let redoes = step.has_each && step.redo_bound > 0.5;
    let spoils = step.spoil_bound > 0.5;
    let fates = match (redoes, spoils) {
        (false, false) => return,
        (true, false) => fates_loop::<S, true, false>,
        (false, true) => fates_loop::<S, false, true>,
        (true, true) => fates_loop::<S, true, true>,
    };
    fates(
        simd,
        [step.redo_bound, step.spoil_bound],
        &mut state.fates,
        length,
        &tile.alive,
        &mut tile.next,
        &mut tile.again,
    );
    if redoes {
        let factors = match (!step.factors.is_empty(), step.after_spoilage) {
            (false, _) => Factors::None,
            (true, false) => Factors::ByPiece(from_here),
            (true, true) => Factors::ByLane(&tile.weights),
        };
        let rule = [step.redo, step.redo_bound];
        redo_loop(
            simd,
            draw,
            rule,
            &mut state.redos,
            &tile.alive,
            factors,
            &tile.again,
            &mut tile.redo[..length],
        );
    }
    if spoils {
        std::mem::swap(&mut tile.alive, &mut tile.next);
    }
}

/// Learning factors of a tile's rows.
#[derive(Clone, Copy)]
pub(super) enum Factors<'a> {
    None,
    ByPiece(&'a [f64]),
    ByLane(&'a [Row]),
}

#[inline(never)]
pub(super) fn times_loop<S: Simd, D: Draw<S>, const LEARNS: bool, const WEIGHTED: bool>(
    simd: S,
    draw: D,
    factors: &[f64],
    weights: &[Row],
    times: &mut Words,
    each: &mut [Row],
) {
    simd.vectorize(
        #[inline(always)]
        || times_tile::<S, D, LEARNS, WEIGHTED>(simd, draw, factors, weights, times, each),
    );
}

#[inline(never)]
pub(super) fn reach_loop<S: Simd, const LEARNS: bool, const SETS_UP: bool>(
    simd: S,
    ahead: &Ahead,
    count: &mut Lanes,
    alive: &[Row],
    reached: &mut [Row],
    weights: &mut [Row],
    setup: &mut [Row],
) {
    simd.vectorize(
        #[inline(always)]
        || reach_tile::<S, LEARNS, SETS_UP>(simd, ahead, count, alive, reached, weights, setup),
    );
}

#[inline(never)]
pub(super) fn fates_loop<S: Simd, const REDO: bool, const SPOIL: bool>(
    simd: S,
    bounds: [f64; 2],
    fates: &mut Words,
    length: usize,
    alive: &[Row],
    next: &mut [Row],
    again: &mut Again,
) {
    simd.vectorize(
        #[inline(always)]
        || fates_tile::<S, REDO, SPOIL>(simd, bounds, fates, length, alive, next, again),
    );
}

#[inline(never)]
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
pub(super) fn redo_loop<S: Simd, D: Draw<S>>(
    simd: S,
    draw: D,
    rule: [f64; 2],
    redos: &mut Words,
    alive: &[Row],
    factors: Factors<'_>,
    again: &Again,
    redo: &mut [Row],
) {
    simd.vectorize(
        #[inline(always)]
        || {
            let factors = |row: usize| match factors {
                Factors::None => f64x8::splat(simd, 1.0),
                Factors::ByPiece(by_piece) => f64x8::splat(simd, by_piece[row]),
                Factors::ByLane(by_lane) => f64x8::simd_from(simd, by_lane[row].0),
            };
            redo_tile(simd, draw, rule, redos, alive, factors, again, redo);
        },
    );
}
