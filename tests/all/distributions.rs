//! Draws held against the laws they are drawn from, against other libraries' generators, and against a plain retelling of
//! the whole simulation.
//!
//! Every check of a random value states its chance of a false alarm; where nothing is said it is one in a million
//! (`crate::bounds::ALARM`). Seeds are fixed.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, count_is_binomial, normal_bound, scenario, simulate, sorted, uncorrelated};
use batchwright_core::engine::LANES;
use batchwright_core::engine::shape::{Shape, unit};
use batchwright_core::engine::stream::{GAMMA, Use, nth, part, start, trial_keys};
use batchwright_core::scenario::{Scenario, Spread, Step, ThreePoint};
use rand::{Rng, SeedableRng};
use rand_distr::Distribution;
use rand_xoshiro::{SplitMix64, Xoshiro256PlusPlus};

const N: usize = 200_000;

fn three(low: f64, likely: f64, high: f64) -> ThreePoint {
    ThreePoint { low, likely, high }
}

/// Every shape, plain and at its edges.
fn spreads() -> Vec<(&'static str, Spread)> {
    vec![
        ("uniform", Spread::uniform(3.0, 8.0)),
        ("triangular", Spread::triangular(three(2.0, 3.0, 7.0))),
        ("triangular, symmetric", Spread::triangular(three(4.0, 6.0, 8.0))),
        ("triangular, likely = low", Spread::triangular(three(1.0, 1.0, 11.0))),
        ("triangular, likely = high", Spread::triangular(three(1.0, 11.0, 11.0))),
        ("pert", Spread::pert(three(1.0, 2.0, 3.0))),
        ("pert, skewed to the right", Spread::pert(three(2.0, 3.0, 17.0))),
        ("pert, skewed to the left", Spread::pert(three(10.0, 30.0, 35.0))),
        ("pert, likely = low", Spread::pert(three(1.0, 1.0, 11.0))),
        ("pert, likely = high", Spread::pert(three(1.0, 11.0, 11.0))),
        ("lognormal", Spread::lognormal_from_tenths(5.0, 15.0)),
        ("lognormal, wide", Spread::lognormal_from_tenths(1.0, 10.0)),
    ]
}

/// Fourth central moment / variance squared. Uniform 9/5 and any triangular 12/5; beta and lognormal from their textbook forms
/// (from memory, agreeing with SciPy's `stats(moments="k")` plus 3).
fn kurtosis(spread: &Spread) -> f64 {
    match *spread {
        Spread::Certain(_) | Spread::Logged(_) => panic!("is not continuous"),
        Spread::Uniform { .. } => 1.8,
        Spread::Triangular(_) => 2.4,
        Spread::Pert(t) => {
            let (a, b) = batchwright_core::scenario::spread::pert_shape(t);
            let top = (a - b) * (a - b) * (a + b + 1.0) - a * b * (a + b + 2.0);
            3.0 + 6.0 * top / (a * b * (a + b + 2.0) * (a + b + 3.0))
        }
        Spread::Lognormal { sigma, .. } => {
            let e = |k: f64| (k * sigma * sigma).exp();
            e(4.0) + 2.0 * e(3.0) + 3.0 * e(2.0) - 3.0
        }
    }
}

/// Moments, the whole distribution function and both tails.
fn follows(values: &[f64], spread: &Spread, what: &str) {
    let n = values.len() as f64;
    let z = normal_bound(ALARM);
    let (mean, variance) = batchwright_core::stats::mean_variance(values);
    close(
        mean,
        spread.mean(),
        z * (spread.variance() / n).sqrt(),
        &format!("{what}: mean"),
    );
    // The variance of a sample variance is (kurtosis - 1) s^4 / n; that of the wide lognormal is not normal enough even here.
    if kurtosis(spread) < 10.0 {
        let tolerance = z * spread.variance() * ((kurtosis(spread) - 1.0) / n).sqrt();
        close(variance, spread.variance(), tolerance, &format!("{what}: variance"));
    }
    let (low, high) = spread.limits();
    assert!(
        values.iter().all(|v| (low..=high).contains(v)),
        "{what}: within its limits"
    );
    // Kolmogorov's distance, bounded for every n: P(D > d) <= 2 exp(-2 n d^2) (Massart 1990). Looked for at every 40th value, which
    // misses at most 40 / n of it: a thirtieth of the bound.
    let sorted = sorted(values);
    let bound = ((2.0 / ALARM).ln() / (2.0 * n)).sqrt();
    let distance = sorted.iter().enumerate().step_by(40).fold(0.0_f64, |far, (k, x)| {
        let share = spread.cdf(*x);
        far.max((share - k as f64 / n).abs())
            .max((share - (k + 1) as f64 / n).abs())
    });
    assert!(distance <= bound, "{what}: {distance} off its law, {bound} allowed");
    for tail in [1e-4, 1e-3] {
        let ends = (spread.quantile(tail), spread.quantile(1.0 - tail));
        let under = values.iter().filter(|v| **v < ends.0).count() as u64;
        count_is_binomial(under, values.len() as u64, tail, &format!("{what}: lower tail"));
        let over = values.iter().filter(|v| **v > ends.1).count() as u64;
        count_is_binomial(over, values.len() as u64, tail, &format!("{what}: upper tail"));
    }
}

/// A scenario of one step that takes nothing yet, to be filled in.
pub fn plain(sizes: &[u32]) -> Scenario {
    let mut made = scenario("target = 30\n[[step]]\nname = \"make\"\neach = \"1 min\"\n[sale]\nprice = 50\n");
    made.batch.sizes = sizes.to_vec();
    made.steps[0].each = Spread::ZERO;
    made
}

/// Minutes of `N` trials of one piece.
fn minutes(scenario: &Scenario, seed: u64) -> Vec<f64> {
    simulate(scenario, N as u64, seed)[0]
        .hours
        .iter()
        .map(|h| h * 60.0)
        .collect()
}

/// Rounding of minutes to hours and back.
fn inside(values: Vec<f64>, spread: &Spread) -> Vec<f64> {
    let (low, high) = spread.limits();
    let snap = |v: f64| {
        let held = v.clamp(low, high);
        assert!(
            (held - v).abs() <= 4.0 * f64::EPSILON * v.abs(),
            "{v} is outside {low} to {high}"
        );
        held
    };
    values.into_iter().map(snap).collect()
}

/// Pieces, one generator a trial, eight side by side.
#[test]
fn pieces_follow_their_law() {
    for (name, spread) in spreads() {
        let mut made = plain(&[1]);
        made.steps[0].each = spread.clone();
        follows(
            &inside(minutes(&made, 1), &spread),
            &spread,
            &format!("{name}, a piece"),
        );
    }
}

/// Setups with room, orders, and what is drawn once a batch: numbers of a stream by their place.
#[test]
fn setups_orders_and_pace_follow_their_law() {
    for (name, spread) in spreads() {
        let mut setup = plain(&[1]);
        setup.steps[0].setup = spread.clone();
        setup.steps[0].room = Some(1);
        follows(
            &inside(minutes(&setup, 2), &spread),
            &spread,
            &format!("{name}, a setup"),
        );
        let mut order = plain(&[1]);
        order.steps[0].per_order = spread.clone();
        follows(
            &inside(minutes(&order, 3), &spread),
            &spread,
            &format!("{name}, an order"),
        );
        let mut pace = plain(&[1]);
        pace.pace = spread.clone();
        pace.steps[0].each = Spread::Certain(1.0);
        follows(
            &inside(minutes(&pace, 4), &spread),
            &spread,
            &format!("{name}, the pace"),
        );
    }
}

/// One long stream through the scalar draw.
#[test]
fn one_long_stream_follows_its_law() {
    for (name, spread) in spreads() {
        let shape = Shape::new(&spread);
        let mut generator = Xoshiro256PlusPlus::seed_from_u64(11);
        let values: Vec<f64> = (0..N).map(|_| shape.draw_one(generator.next_u64())).collect();
        follows(&values, &spread, &format!("{name}, one stream"));
    }
}

/// The tabled quantile functions against the laws' own: what the table gives for a tail is the exact quantile of a tail that is
/// wrong by one part in 10,000 at the most. The share of a tail that 50,000 trials find is never known better than to one part in
/// 220 (1 / sqrt(50,000), at the median), so no answer can tell.
#[test]
fn tables_are_exact_far_into_the_tails() {
    for (name, spread) in spreads() {
        let shape = Shape::new(&spread);
        if !matches!(shape, Shape::Table(_)) {
            continue;
        }
        for upper in [false, true] {
            let exact = |tail: f64| {
                if upper {
                    spread.upper_quantile(tail)
                } else {
                    spread.quantile(tail)
                }
            };
            // From the middle to 2^-36, twelve places to an octave: three in every cell.
            for place in 12..=36 * 12 {
                let tail = (-f64::from(place) / 12.0 - 0.01).exp2();
                let cell = (tail * 4_503_599_627_370_496.0) as u64;
                let bits = if upper { (1 << 52) - 1 - cell } else { cell } << 12;
                let u = unit(bits);
                let tail = if upper { 1.0 - u } else { u };
                let found = shape.draw_one(bits);
                let (a, b) = (exact(tail * (1.0 - 1e-4)), exact(tail * (1.0 + 1e-4)));
                // Where the law's end is flat the two may be the same double.
                let slack = 4.0 * f64::EPSILON * found.abs();
                assert!(
                    a.min(b) - slack <= found && found <= a.max(b) + slack,
                    "{name}, tail {tail:e}: {found} is not between {a} and {b}"
                );
            }
        }
        let (low, high) = spread.limits();
        for bits in [0, u64::MAX] {
            assert!((low..=high).contains(&shape.draw_one(bits)), "{name} at its end");
        }
    }
}

#[test]
fn trials_are_independent_of_their_neighbours() {
    let spread = Spread::triangular(three(2.0, 3.0, 7.0));
    let mut each = plain(&[1]);
    each.steps[0].each = spread.clone();
    let mut setup = plain(&[1]);
    setup.steps[0].setup = spread.clone();
    for (made, what) in [(each, "pieces"), (setup, "setups")] {
        let drawn = minutes(&made, 5);
        // The next lanes, the same lane of the next groups, the same place of the next block.
        for lag in [1, 2, 3, 4, 5, 6, 7, 8, 16, 256, 512] {
            uncorrelated(&drawn, &drawn[lag..], &format!("{what} {lag} trials apart"));
        }
        // Squares see what a correlation alone does not.
        let square = |v: &[f64]| -> Vec<f64> { v.iter().map(|x| (x - spread.mean()).powi(2)).collect() };
        uncorrelated(&square(&drawn), &square(&drawn)[1..], &format!("squares of {what}"));
        for seed in [6, 7, 1 << 32, u64::MAX] {
            uncorrelated(&drawn, &minutes(&made, seed), &format!("{what} of two seeds"));
        }
    }
}

#[test]
fn parts_and_steps_are_independent() {
    let spread = Spread::triangular(three(2.0, 3.0, 7.0));
    type Fill = (&'static str, fn(&mut Scenario, Spread));
    let fill: [Fill; 6] = [
        ("each", |s, v| s.steps[0].each = v),
        ("setup", |s, v| s.steps[0].setup = v),
        ("per_order", |s, v| s.steps[0].per_order = v),
        ("once", |s, v| s.steps[0].once = v),
        ("pace", |s, v| {
            s.pace = v;
            s.steps[0].each = Spread::Certain(1.0);
        }),
        ("another step", |s, v| {
            s.steps[0].each = v;
            s.steps[0].name = "make again".to_owned();
        }),
    ];
    let drawn: Vec<(&str, Vec<f64>)> = fill
        .iter()
        .map(|(name, fill)| {
            let mut made = plain(&[1]);
            fill(&mut made, spread.clone());
            (*name, minutes(&made, 8))
        })
        .collect();
    for (k, (name, x)) in drawn.iter().enumerate() {
        for (other, y) in &drawn[k + 1..] {
            uncorrelated(x, y, &format!("{name} and {other}"));
        }
    }
}

/// Pieces, rounds and orders of one trial follow each other in one stream.
#[test]
fn draws_within_a_run_are_independent() {
    let spread = Spread::triangular(three(2.0, 3.0, 7.0));
    type Fill = (&'static str, fn(&mut Step, Spread));
    let fill: [Fill; 3] = [
        ("pieces", |s, v| s.each = v),
        ("rounds", |s, v| {
            s.setup = v;
            s.room = Some(1);
        }),
        ("orders", |s, v| s.per_order = v),
    ];
    for (what, fill) in fill {
        let mut made = plain(&[1, 2, 3, 4, 5, 6]);
        fill(&mut made.steps[0], spread.clone());
        let runs = simulate(&made, N as u64, 9);
        let nth_draw = |k: usize| -> Vec<f64> {
            let before = |trial: usize| if k == 0 { 0.0 } else { runs[k - 1].hours[trial] };
            (0..N)
                .map(|trial| 60.0 * (runs[k].hours[trial] - before(trial)))
                .collect()
        };
        let draws: Vec<Vec<f64>> = (0..6).map(nth_draw).collect();
        for k in 1..6 {
            uncorrelated(&draws[0], &draws[k], &format!("{what} 1 and {}", k + 1));
            uncorrelated(&draws[k - 1], &draws[k], &format!("{what} {k} and {}", k + 1));
        }
        // The sixth is drawn from the same law as the first.
        let sixth = &draws[5];
        let (mean, _) = batchwright_core::stats::mean_variance(sixth);
        close(
            mean,
            spread.mean(),
            normal_bound(ALARM) * (spread.variance() / N as f64).sqrt(),
            what,
        );
    }
}

/// Another library's draws of the same law, added up the plain way: totals of ten pieces. Two-sample Kolmogorov distance;
/// P(D > d) <= 2 exp(-n d^2) for two samples of n >= 458 (Wei & Dudley 2012).
#[test]
fn totals_agree_with_another_librarys_draws() {
    let law = rand_distr::Triangular::new(4.0, 14.0, 6.0).expect("valid");
    let mut generator = Xoshiro256PlusPlus::seed_from_u64(12);
    let theirs: Vec<f64> = (0..N)
        .map(|_| (0..10).map(|_| law.sample(&mut generator)).sum())
        .collect();
    let mut made = plain(&[10]);
    made.steps[0].each = Spread::triangular(three(4.0, 6.0, 14.0));
    let (ours, theirs) = (sorted(&minutes(&made, 10)), sorted(&theirs));
    let share = |values: &[f64], x: f64| values.partition_point(|v| *v <= x) as f64 / N as f64;
    let distance = ours
        .iter()
        .chain(&theirs)
        .fold(0.0_f64, |far, x| far.max((share(&ours, *x) - share(&theirs, *x)).abs()));
    let bound = ((2.0 / ALARM).ln() / N as f64).sqrt();
    assert!(distance <= bound, "{distance} apart, {bound} allowed");
}

/// Number k of a stream is output k of the published SplitMix64, begun at the stream's start.
#[test]
fn streams_by_place_are_splitmix64() {
    for begin in [
        0,
        1,
        GAMMA,
        u64::MAX,
        start(trial_keys(1, 0)[3], part(Use::Setup, "glue")),
    ] {
        let mut published = SplitMix64::from_seed(begin.to_le_bytes());
        for k in 0..1000 {
            assert_eq!(nth(begin, k), published.next_u64());
        }
    }
}

/// Names and uses give parts of their own; keys of trials never meet.
#[test]
fn parts_and_trials_are_all_different() {
    let uses = [
        Use::Pace,
        Use::Once,
        Use::Setup,
        Use::Each,
        Use::Fate,
        Use::Redo,
        Use::OrderTime,
        Use::OrderSize,
        Use::Post,
        Use::Returned,
        Use::Price,
        Use::Waste,
        Use::RemakeSetup,
        Use::RemakeEach,
        Use::RemakeFate,
        Use::RemakeRedo,
    ];
    let names = [
        "",
        "a",
        "b",
        "ab",
        "ba",
        "glue",
        "glue ",
        "Glue",
        "malen",
        "schleifen",
        "\u{f6}len",
    ];
    let mut parts: Vec<u64> = uses.iter().flat_map(|u| names.map(|n| part(*u, n))).collect();
    parts.sort_unstable();
    parts.dedup();
    assert_eq!(parts.len(), uses.len() * names.len());
    let mut keys: Vec<u64> = (0..20_000).flat_map(|group| trial_keys(1, group)).collect();
    keys.sort_unstable();
    keys.dedup();
    assert_eq!(keys.len(), 20_000 * LANES);
}
