//! What is measured, shared by the criterion benches and the table of ratios.
#![allow(dead_code, reason = "each bench uses its part")]

pub mod logs;

use batchwright_core::engine::kernel::{EachState, times_tile};
use batchwright_core::engine::shape::{Shape, Triangular};
use batchwright_core::engine::stream::{Words, Xoshiro, seed_words, trial_keys};
use batchwright_core::engine::{Engine, LANES, Lanes, Path, Plan, Row, TILE};
use batchwright_core::questions::Settings;
use batchwright_core::questions::sweep::{self, Sweep};
use batchwright_core::scenario::{self, Scenario, Spread, ThreePoint};
use batchwright_core::stats::{self, QuantileRank};
use fearless_simd::{Bytes, Simd, SimdBase, SimdFloat, SimdFrom, f64x8, u64x8};
use rand::Rng;
use rand_distr::Distribution;
use std::fmt::Write as _;
use std::hint::black_box;

/// The program's own, for all that is measured, as the program runs with it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// The plain sweep: sizes 1 to this.
pub const SIZE: u32 = 100;
/// The plain sweep's steps.
pub const STEPS: u32 = 10;
/// The plain sweep's trials.
pub const TRIALS: u64 = 20_000;
/// Asked price per piece.
const PRICE: f64 = 60.0;
/// Money an hour should earn.
const TARGET: f64 = 30.0;
/// Fraction of the price.
const FEE: f64 = 0.065;

/// What is switched on besides setups and per-piece times.
#[derive(Clone, Copy, Default)]
pub struct Features {
    pub pace: bool,
    pub room: bool,
    pub learning: bool,
    pub redo: bool,
    pub spoil: bool,
    /// Materials, orders with times and postage, returns.
    pub sales: bool,
}

impl Features {
    /// Setups and per-piece times alone.
    pub const PLAIN: Self = Self {
        pace: false,
        room: false,
        learning: false,
        redo: false,
        spoil: false,
        sales: false,
    };
    /// Pace, rounds, learning, redo and spoil, in all steps.
    pub const EVERYTHING: Self = Self {
        pace: true,
        room: true,
        learning: true,
        redo: true,
        spoil: true,
        sales: false,
    };
    /// One at a time, to see what each costs.
    pub const ALONE: [(&'static str, Self); 6] = [
        (
            "pace",
            Self {
                pace: true,
                ..Self::PLAIN
            },
        ),
        (
            "rounds",
            Self {
                room: true,
                ..Self::PLAIN
            },
        ),
        (
            "learning",
            Self {
                learning: true,
                ..Self::PLAIN
            },
        ),
        (
            "redo",
            Self {
                redo: true,
                ..Self::PLAIN
            },
        ),
        (
            "spoil",
            Self {
                spoil: true,
                ..Self::PLAIN
            },
        ),
        (
            "materials and orders",
            Self {
                sales: true,
                ..Self::PLAIN
            },
        ),
    ];
    /// Everything without one, to see what each costs among the others.
    pub const WITHOUT: [(&'static str, Self); 4] = [
        (
            "rounds",
            Self {
                room: false,
                ..Self::EVERYTHING
            },
        ),
        (
            "learning",
            Self {
                learning: false,
                ..Self::EVERYTHING
            },
        ),
        (
            "redo",
            Self {
                redo: false,
                ..Self::EVERYTHING
            },
        ),
        (
            "spoil",
            Self {
                spoil: false,
                ..Self::EVERYTHING
            },
        ),
    ];
}

/// Setup of step number `k`: low, likely, high in minutes. The array code in `array_sweep.py` has the same.
fn setup(k: u32) -> [f64; 3] {
    let k = f64::from(k);
    [5.0 + k, 10.0 + k, 25.0 + k]
}

/// Per-piece time of step number `k`, likewise.
fn each(k: u32) -> [f64; 3] {
    let k = f64::from(k) / 2.0;
    [2.0 + k, 3.0 + k, 7.0 + k]
}

/// A sweep over sizes 1 to `size` of so many steps, through the reader as any other file.
pub fn scenario(size: u32, steps: u32, on: Features) -> Scenario {
    let mut text = format!(
        "title = \"bench\"\ncurrency = \"EUR\"\ntarget = {TARGET}\n[batch]\nsizes = \"1..{size}\"\n\
         [sale]\nprice = {PRICE}\nfee = \"6.5 %\"\n"
    );
    if on.sales {
        text += "fee_per_order = 0.3\norder_of = \"1 / 2 / 4\"\npost = \"5.9 / 6.8 / 9.5\"\nreturned = \"2 %\"\n\
                 [[material]]\nname = \"board\"\nper_piece = 0.9\nprice = \"6.2 / 7 / 8.5\"\nwaste = \"15 / 25 / 40 %\"\n\
                 pack = 1\nleftover = \"lost\"\n[[material]]\nname = \"glue\"\nper_batch = 0.1\nprice = 9\n";
    }
    if on.pace {
        text += "[pace]\nfactor = \"0.9 / 1 / 1.35\"\n";
    }
    for k in 0..steps {
        let ([a, b, c], [d, e, f]) = (setup(k), each(k));
        write!(
            text,
            "[[step]]\nname = \"step {k}\"\nsetup = \"{a} / {b} / {c} min\"\neach = \"{d} / {e} / {f} min\"\n"
        )
        .expect("text takes text");
        for (wanted, line) in [
            (on.room, "room = 6\n"),
            (on.learning, "learning = \"92 %\"\nlearned_by = 60\n"),
            (on.redo, "redo = \"5 %\"\n"),
            (on.spoil, "spoil = \"1 %\"\n"),
            (on.sales && k == steps - 1, "per_order = \"15 / 20 / 35 min\"\n"),
        ] {
            if wanted {
                text += line;
            }
        }
    }
    scenario::read("bench.toml", &text, &[]).expect("the bench's scenario is sound")
}

/// Simulation alone, on the threads of the caller: hours, profit and floor of every trial of every size.
pub fn simulate(plan: &Plan, trials: u64) {
    let mut all = Engine::new(plan, 1).trials();
    all.extend(trials, &|_| ());
    black_box(&all);
}

/// The whole answer: simulation, means, errors, quantiles, intervals.
pub fn whole(scenario: &Scenario, trials: u64, threads: usize) -> Sweep {
    let settings = Settings {
        trials,
        within: None,
        seed: 1,
        threads: Some(threads),
    };
    black_box(sweep::run(scenario, &settings, &|_| ()))
}

/// The whole answer on the threads of the caller.
pub fn whole_here(scenario: &Scenario, plan: &Plan, trials: u64) -> Sweep {
    let settings = Settings {
        trials,
        within: None,
        seed: 1,
        threads: None,
    };
    black_box(sweep::answer(scenario, plan, Engine::new(plan, 1), &settings, &|_| ()))
}

/// Hours by size and trial, written plainly with a library of distributions: `[size - 1][trial]`.
pub fn scalar_hours<R: Rng>(rng: &mut R, size: u32, steps: u32, trials: u64) -> Vec<Vec<f64>> {
    let shape =
        |[low, likely, high]: [f64; 3]| rand_distr::Triangular::new(low, high, likely).expect("low <= likely <= high");
    let shapes: Vec<_> = (0..steps).map(|k| (shape(setup(k)), shape(each(k)))).collect();
    let mut hours = vec![vec![0.0; trials as usize]; size as usize];
    let mut minutes = vec![0.0; size as usize];
    for trial in 0..trials as usize {
        minutes.fill(0.0);
        for (setup, each) in &shapes {
            let mut total = setup.sample(rng);
            for sum in &mut minutes {
                total += each.sample(rng);
                *sum += total;
            }
        }
        for (column, sum) in hours.iter_mut().zip(&minutes) {
            column[trial] = sum / 60.0;
        }
    }
    hours
}

/// Quantiles of one size: rate at 10, 50 and 90 %, floor at 50, 80 and 90 %.
#[derive(Clone, Copy)]
pub struct Quantiles {
    pub rate: [f64; 3],
    pub floor: [f64; 3],
}

/// The sweep in scalar code with quantiles, on the thread of the caller. The engine's whole answer holds more: quantiles
/// of hours and profit, an interval for each floor, means with errors.
pub fn scalar_sweep<R: Rng>(rng: &mut R, size: u32, steps: u32, trials: u64) -> Vec<Quantiles> {
    let places = |shares: [f64; 3]| {
        shares.map(|q| {
            let place = QuantileRank::new(trials as usize, q);
            // Intervals are not asked for.
            QuantileRank {
                low: place.below,
                high: place.below,
                ..place
            }
        })
    };
    let (rate_places, floor_places) = (places([0.1, 0.5, 0.9]), places([0.5, 0.8, 0.9]));
    let quantiles = |mut values: Vec<f64>, places: [QuantileRank; 3]| {
        stats::put_in_order(&mut values, &places);
        places.map(|p| stats::quantile(&values, p))
    };
    let hours = scalar_hours(rng, size, steps, trials);
    let answers = hours.into_iter().zip(1..=size).map(|(hours, size)| {
        let per_price = f64::from(size) * (1.0 - FEE);
        Quantiles {
            rate: quantiles(hours.iter().map(|h| per_price * PRICE / h).collect(), rate_places),
            floor: quantiles(hours.iter().map(|h| TARGET * h / per_price).collect(), floor_places),
        }
    });
    black_box(answers.collect())
}

/// Runs an expression with the token of this processor's best vector path, the one the engine takes.
#[cfg(target_arch = "x86_64")]
macro_rules! on_best {
    ($simd:ident => $body:expr) => {{
        let level = fearless_simd::Level::new();
        match Path::best() {
            Path::Avx512 if let Some($simd) = level.as_avx512() => $body,
            Path::Avx2 if let Some($simd) = level.as_avx2() => $body,
            _ => {
                let $simd = level.as_sse2().expect("part of every x86-64 processor");
                $body
            }
        }
    }};
}
#[cfg(not(target_arch = "x86_64"))]
macro_rules! on_best {
    ($simd:ident => $body:expr) => {
        fearless_simd::dispatch!(fearless_simd::Level::baseline(), $simd => $body)
    };
}

/// Draws of one tile.
pub const TILE_DRAWS: u64 = (TILE * LANES) as u64;

/// The hot loop by itself, and what it is held against, each on eight lanes.
pub struct Kernel {
    draw: Triangular,
    state: EachState,
    each: Vec<Row>,
    words: Words,
    total: Lanes,
    bits: [u64; LANES],
}

impl Kernel {
    /// Seeded.
    pub fn new() -> Self {
        let spread = Spread::Triangular(ThreePoint {
            low: 3.0,
            likely: 4.0,
            high: 7.0,
        });
        let Shape::Triangular(draw) = Shape::new(&spread) else {
            unreachable!("a triangular range is drawn as one")
        };
        let keys = trial_keys(1, 0);
        let words = on_best!(simd => seed_words(simd, &keys, 7));
        Self {
            draw,
            state: EachState {
                times: words,
                ..EachState::default()
            },
            each: vec![Row::default(); TILE],
            words,
            total: [0.0; LANES],
            bits: [0; LANES],
        }
    }

    /// The engine's loop: generator, triangular draw, running totals added to the columns of a tile.
    pub fn tiles(&mut self, tiles: u64) {
        for _ in 0..tiles {
            on_best!(simd => self.tile(simd));
            black_box(&mut self.each);
        }
    }

    #[inline(never)]
    fn tile<S: Simd>(&mut self, simd: S) {
        simd.vectorize(
            #[inline(always)]
            || {
                times_tile::<S, Triangular, false, false>(
                    simd,
                    self.draw,
                    &[],
                    &[],
                    &mut self.state.times,
                    &mut self.each,
                )
            },
        );
    }

    /// The roofline: generator, square root and add in registers, nothing else. (A square root wants a number, so 52 bits
    /// are put into the range 1 to 2; nothing smaller makes one of bits.)
    pub fn roofline(&mut self, tiles: u64) {
        on_best!(simd => self.roofline_on(simd, tiles));
        black_box(&mut self.total);
    }

    #[inline(never)]
    fn roofline_on<S: Simd>(&mut self, simd: S, tiles: u64) {
        simd.vectorize(
            #[inline(always)]
            || {
                let mut generator = Xoshiro::load(simd, &self.words);
                let mut total = f64x8::simd_from(simd, self.total);
                for _ in 0..tiles * TILE as u64 {
                    total += one_to_two(generator.next()).sqrt();
                }
                generator.store(&mut self.words);
                total.store_array(&mut self.total);
            },
        );
    }

    /// A lower line still: generator and add, without the square root, which the engine's triangular draw does not need.
    pub fn generator_and_add(&mut self, tiles: u64) {
        on_best!(simd => self.generator_and_add_on(simd, tiles));
        black_box(&mut self.total);
    }

    #[inline(never)]
    fn generator_and_add_on<S: Simd>(&mut self, simd: S, tiles: u64) {
        simd.vectorize(
            #[inline(always)]
            || {
                let mut generator = Xoshiro::load(simd, &self.words);
                let mut total = f64x8::simd_from(simd, self.total);
                for _ in 0..tiles * TILE as u64 {
                    total += one_to_two(generator.next());
                }
                generator.store(&mut self.words);
                total.store_array(&mut self.total);
            },
        );
    }

    /// The generator alone.
    pub fn generator(&mut self, tiles: u64) {
        on_best!(simd => self.generator_on(simd, tiles));
        black_box(&mut self.bits);
    }

    #[inline(never)]
    fn generator_on<S: Simd>(&mut self, simd: S, tiles: u64) {
        simd.vectorize(
            #[inline(always)]
            || {
                let mut generator = Xoshiro::load(simd, &self.words);
                let mut bits = u64x8::simd_from(simd, self.bits);
                for _ in 0..tiles * TILE as u64 {
                    bits ^= generator.next();
                }
                generator.store(&mut self.words);
                bits.store_array(&mut self.bits);
            },
        );
    }
}

#[inline(always)]
fn one_to_two<S: Simd>(bits: u64x8<S>) -> f64x8<S> {
    ((bits >> 12) | 0x3FF0_0000_0000_0000_u64).bitcast()
}
