//! Spoiled pieces made again: further rounds of their own, until the batch is whole.
//!
//! The remade pieces of a trial are one sequence, the same for every batch size: a batch that is 3 short takes the first
//! three, then as many more as those lost. Setups of their rounds are numbered on within a batch.

use super::plan::Plan;
use super::stream::{nth, start};
use super::{LANES, Lanes};

/// What remaking adds to a batch, by lane.
#[derive(Debug, Clone)]
pub struct Extra {
    /// Minutes of setup.
    pub setup: Lanes,
    /// Minutes per piece.
    pub each: Lanes,
    /// Minutes of redoing.
    pub redo: Lanes,
    /// Minutes of the helper, whatever they are for.
    pub helped: Lanes,
    /// Further pieces that reach each step.
    pub reached: Vec<Lanes>,
    /// Further rounds of each step.
    pub rounds: Vec<Lanes>,
    /// Pieces handled and setups drawn at each step, over all that is made again in one lane. A list of its own for each lane of each batch
    /// had taken a tenth of a sweep.
    done: Vec<(u32, u64)>,
}

impl Extra {
    /// Nothing yet.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let steps = plan.steps.len();
        Self {
            setup: [0.0; LANES],
            each: [0.0; LANES],
            redo: [0.0; LANES],
            helped: [0.0; LANES],
            reached: vec![[0.0; LANES]; steps],
            rounds: vec![[0.0; LANES]; steps],
            done: vec![(0, 0); steps],
        }
    }

    /// Nothing again.
    pub fn clear(&mut self) {
        for minutes in [&mut self.setup, &mut self.each, &mut self.redo, &mut self.helped] {
            *minutes = [0.0; LANES];
        }
        self.reached.fill([0.0; LANES]);
        self.rounds.fill([0.0; LANES]);
    }
}

/// The state of a batch before anything is made again.
pub struct Before<'a> {
    /// Pieces missing.
    pub missing: u32,
    /// Pieces that each step has handled: where learning goes on from.
    pub reached: &'a dyn Fn(usize) -> u32,
    /// The trial's one draw of a step that varies by batch (or is certain).
    pub by_batch: &'a dyn Fn(usize) -> f64,
}

/// One remade piece, before learning.
#[derive(Debug, Clone, Copy)]
struct Piece {
    /// Steps it reaches.
    steps: usize,
    /// Whether it comes out good.
    good: bool,
}

/// Remade pieces of one trial, drawn when first needed.
#[derive(Debug, Clone, Default)]
pub struct Pieces {
    pieces: Vec<Piece>,
    /// Minutes of each piece at each step, the first time and again; 0 at steps that it does not reach.
    minutes: Vec<(f64, f64)>,
}

impl Pieces {
    /// None yet.
    pub fn clear(&mut self) {
        self.pieces.clear();
        self.minutes.clear();
    }
}

/// Redos of one piece at one step that have streams of their own; a chance this side of certainty never needs more.
pub const REDO_STRIDE: u64 = 1 << 20;

/// Draws a piece: its minutes go to the row that is its own.
fn draw_piece(
    plan: &Plan,
    trial_key: u64,
    number: u64,
    by_batch: &dyn Fn(usize) -> f64,
    minutes: &mut [(f64, f64)],
) -> Piece {
    let mut piece = Piece { steps: 0, good: true };
    for (index, step) in plan.steps.iter().enumerate() {
        let [_, each_part, fate_part, redo_part] = step.remake_parts;
        let alike = step.is_alike();
        let draw = |part: u64, k: u64| {
            if alike {
                by_batch(index)
            } else {
                step.each.shape.draw_one(nth(start(trial_key, part), k))
            }
        };
        piece.steps += 1;
        let first = if step.has_each { draw(each_part, number) } else { 0.0 };
        let mut again = 0.0;
        let fate = nth(start(trial_key, fate_part), number);
        if step.redo > 0.0 && step.has_each {
            let chance = (fate >> 32) as f64 + 0.5;
            let mut bound = step.redo_bound;
            let mut k = 0;
            while chance < bound {
                again += draw(redo_part, number * REDO_STRIDE + k);
                bound *= step.redo;
                k += 1;
            }
        }
        minutes[index] = (first, again);
        if ((fate & 0xFFFF_FFFF) as f64 + 0.5) < step.spoil_bound {
            piece.good = false;
            break;
        }
    }
    piece
}

/// Makes the missing pieces again, round after round, until none is missing.
pub(crate) fn until_good(
    plan: &Plan,
    trial_key: u64,
    pieces: &mut Pieces,
    before: Before<'_>,
    lane: usize,
    extra: &mut Extra,
) {
    let mut missing = before.missing;
    let mut next = 0;
    let steps = plan.steps.len();
    extra.done.fill((0, 0));
    while missing > 0 {
        let from = next;
        next += missing as usize;
        let drawn = pieces.pieces.len();
        pieces.minutes.resize(steps * next.max(drawn), (0.0, 0.0));
        for number in drawn..next {
            let minutes = &mut pieces.minutes[steps * number..][..steps];
            let piece = draw_piece(plan, trial_key, number as u64, before.by_batch, minutes);
            pieces.pieces.push(piece);
        }
        let made = &pieces.pieces[from..next];
        for (index, step) in plan.steps.iter().enumerate() {
            let (handled, setups) = extra.done[index];
            let mut here = 0;
            for (piece, minutes) in made.iter().zip(pieces.minutes[steps * from..].chunks(steps)) {
                if piece.steps <= index {
                    continue;
                }
                let (first, again) = minutes[index];
                let factor = if step.factors.is_empty() {
                    1.0
                } else {
                    step.factor((before.reached)(index) + handled + here)
                };
                let minutes = [first, again].map(|minutes| minutes * factor);
                if step.helped {
                    extra.helped[lane] += minutes[0] + minutes[1];
                } else {
                    extra.each[lane] += minutes[0];
                    extra.redo[lane] += minutes[1];
                }
                here += 1;
            }
            if here == 0 {
                break;
            }
            extra.reached[index][lane] += f64::from(here);
            let rounds = step.room.map_or(1, |room| here.div_ceil(room));
            extra.rounds[index][lane] += f64::from(rounds);
            if !step.setup.shape.is_zero() {
                let begin = start(trial_key, step.remake_parts[0]);
                let opposite = step.opposite_setup(trial_key);
                for round in 0..u64::from(rounds) {
                    let minutes = if step.helped {
                        &mut extra.helped
                    } else {
                        &mut extra.setup
                    };
                    let drawn = || step.setup.shape.draw_one(nth(begin, setups + round));
                    minutes[lane] += opposite.unwrap_or_else(drawn);
                }
            }
            extra.done[index] = (handled + here, setups + u64::from(rounds));
        }
        missing = made.iter().filter(|p| !p.good).count() as u32;
    }
}
