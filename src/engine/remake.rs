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
}

impl Extra {
    /// Nothing yet.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let none = vec![[0.0; LANES]; plan.steps.len()];
        Self {
            setup: [0.0; LANES],
            each: [0.0; LANES],
            redo: [0.0; LANES],
            helped: [0.0; LANES],
            reached: none.clone(),
            rounds: none,
        }
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

/// One remade piece, before learning: a time and redo times at each step it reaches.
#[derive(Debug, Clone)]
struct Piece {
    /// Steps it reaches.
    steps: usize,
    /// Whether it comes out good.
    good: bool,
    /// Minutes at each step it reaches, the first time and again.
    minutes: Vec<(f64, f64)>,
}

/// Remade pieces of one trial, drawn when first needed.
#[derive(Debug, Clone, Default)]
pub struct Pieces(Vec<Piece>);

/// Redos of one piece at one step that have streams of their own; a chance this side of certainty never needs more.
pub const REDO_STRIDE: u64 = 1 << 20;

fn draw_piece(plan: &Plan, trial_key: u64, number: u64, by_batch: &dyn Fn(usize) -> f64) -> Piece {
    let mut piece = Piece {
        steps: 0,
        good: true,
        minutes: Vec::with_capacity(plan.steps.len()),
    };
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
        piece.minutes.push((first, again));
        if ((fate & 0xFFFF_FFFF) as f64 + 0.5) < step.spoil_bound {
            piece.good = false;
            break;
        }
    }
    piece
}

/// Makes the missing pieces again, round after round, until none is missing.
pub fn until_good(
    plan: &Plan,
    trial_key: u64,
    pieces: &mut Pieces,
    before: Before<'_>,
    lane: usize,
    extra: &mut Extra,
) {
    let mut missing = before.missing;
    let mut next = 0;
    // Pieces handled and setups drawn at each step, over all that is made again for this batch.
    let mut handled = vec![0_u32; plan.steps.len()];
    let mut setups = vec![0_u64; plan.steps.len()];
    while missing > 0 {
        let from = next;
        next += missing as usize;
        while pieces.0.len() < next {
            let number = pieces.0.len() as u64;
            pieces.0.push(draw_piece(plan, trial_key, number, before.by_batch));
        }
        let made = &pieces.0[from..next];
        for (index, step) in plan.steps.iter().enumerate() {
            let mut here = 0;
            for piece in made.iter().filter(|p| p.steps > index) {
                let (first, again) = piece.minutes[index];
                let factor = if step.factors.is_empty() {
                    1.0
                } else {
                    step.factor((before.reached)(index) + handled[index] + here)
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
            handled[index] += here;
            extra.reached[index][lane] += f64::from(here);
            let rounds = step.room.map_or(1, |room| here.div_ceil(room));
            extra.rounds[index][lane] += f64::from(rounds);
            if !step.setup.shape.is_zero() {
                let begin = start(trial_key, step.remake_parts[0]);
                for _ in 0..rounds {
                    let minutes = if step.helped {
                        &mut extra.helped
                    } else {
                        &mut extra.setup
                    };
                    minutes[lane] += step.setup.shape.draw_one(nth(begin, setups[index]));
                    setups[index] += 1;
                }
            }
        }
        missing = made.iter().filter(|p| !p.good).count() as u32;
    }
}
