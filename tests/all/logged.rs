//! Values kept from a work log, each equally likely: moments and quantiles against other libraries and certified sets, draws against
//! equal shares on every vector path, whole sweeps against closed forms, and the notation from text to answer.
//!
//! Every check of a random value states its chance of a false alarm; where nothing is said it is one in a million
//! (`crate::bounds::ALARM`). Seeds are fixed.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, count_is_binomial, normal_bound, rows, scenario, settings, simulate, uncorrelated};
use crate::distributions::plain;
use assert_cmd::Command;
use batchwright_core::engine::shape::Shape;
use batchwright_core::engine::stream::{Use, nth, part, start, trial_keys};
use batchwright_core::engine::{Engine, LANES, Path, Plan};
use batchwright_core::model::{self, counts, variance::variance_of_hours};
use batchwright_core::questions::{drivers, sweep};
use batchwright_core::scenario::{Scenario, Spoiled, Spread, Varies, read};
use batchwright_core::stats;
use statrs::distribution::{ChiSquared, ContinuousCDF};

macro_rules! table {
    ($name:literal) => {
        rows(include_str!(concat!("../reference/", $name)))
    };
}

fn values(text: &str) -> Vec<f64> {
    text.split(' ').map(|v| v.parse().unwrap()).collect()
}

/// Source: numpy and SciPy by `logged.py`, printed to twelve places.
#[test]
fn moments_are_those_of_the_values() {
    for row in table!("logged_moments.csv") {
        let log = Spread::logged(values(&row[0]));
        let [mean, variance]: [f64; 2] = [&row[1], &row[2]].map(|v| v.parse().unwrap());
        close(log.mean(), mean, 0.5e-12 + 1e-14 * mean, "mean");
        close(log.variance(), variance, 0.5e-12 + 1e-14 * variance, "variance");
    }
}

/// Source: numpy's `inverted_cdf` and SciPy's discrete law by `logged.py`. Quantiles are values of the log, to the bit.
#[test]
fn quantiles_are_values_and_shares_their_inverse() {
    for row in table!("logged_quantiles.csv") {
        let log = Spread::logged(values(&row[0]));
        let [q, quantile, share]: [f64; 3] = [&row[1], &row[2], &row[3]].map(|v| v.parse().unwrap());
        assert_eq!(log.quantile(q), quantile, "{row:?}");
        assert_eq!(Shape::new(&log).quantile(q), quantile, "{row:?}");
        assert_eq!(log.upper_quantile(1.0 - q), log.quantile(1.0 - (1.0 - q)), "{row:?}");
        close(log.cdf(quantile), share, 0.5e-12, "share");
    }
}

/// A share that is some of the values exactly is never rounded past one: the quantile of k of n is the k-th, for every n and k.
#[test]
fn no_rounding_goes_past_a_value() {
    for n in [5_usize, 7, 10, 23, 49, 100, 997, 5000] {
        let log = Spread::logged((1..=n).map(|k| k as f64).collect());
        for k in 1..=n {
            let share = k as f64 / n as f64;
            assert_eq!(log.quantile(share), k as f64, "{k} of {n}");
            assert_eq!(log.cdf(k as f64), share, "{k} of {n}");
            assert_eq!(log.cdf_below(k as f64), (k - 1) as f64 / n as f64, "{k} of {n}");
        }
        assert_eq!(log.limits(), (1.0, n as f64));
        assert_eq!((log.quantile(0.0), log.quantile(1.0)), (1.0, n as f64));
    }
}

/// Source: NIST Statistical Reference Datasets, univariate summaries, certified means and standard deviations (n - 1) as in
/// `reference.rs`; those of NumAcc3 and 4 are the exact results of their data as doubles hold them.
#[test]
fn certified_data_sets_keep_their_digits() {
    let sets = [
        (table!("nist_lew.csv"), -177.435, 277.332_168_044_316, 1e-14),
        (table!("nist_michelso.csv"), 299.8524, 0.079_010_547_819_051_8, 1e-12),
        (table!("nist_numacc3.csv"), 1_000_000.2, 0.100_000_000_034_925, 1e-12),
        (table!("nist_numacc4.csv"), 10_000_000.2, 0.100_000_000_558_794, 1e-12),
    ];
    for (rows, mean, sd, digits) in sets {
        let data: Vec<f64> = rows.iter().map(|row| row.last().unwrap().parse().unwrap()).collect();
        let n = data.len() as f64;
        let log = Spread::logged(data);
        // Half a unit in the last place each for the sum, the division and the data as doubles hold them.
        close(log.mean(), mean, 1.5 * f64::EPSILON * mean.abs(), "mean");
        let found = (log.variance() * n / (n - 1.0)).sqrt();
        close(found, sd, digits * sd, "standard deviation");
    }
}

/// What a log says does not hang on the order it was written in; scaling and moving it are scaling and moving its values.
#[test]
fn logs_are_sets_of_values() {
    let data = [4.0, 3.0, 9.0, 4.0, 3.0, 5.0, 4.0];
    let mut other = data;
    other.reverse();
    let log = Spread::logged(data.to_vec());
    assert_eq!(log, Spread::logged(other.to_vec()));
    assert_eq!(log.scaled(3.0), Spread::logged(data.iter().map(|v| v * 3.0).collect()));
    assert_eq!(
        log.shifted(-2.5),
        Some(Spread::logged(data.iter().map(|v| v - 2.5).collect()))
    );
    assert_eq!(log.scaled(0.0), Spread::ZERO);
    assert_eq!(Spread::logged(vec![4.0; 9]), Spread::Certain(4.0));
    assert_eq!(Spread::logged(Vec::new()), Spread::ZERO);
}

// ---------------------------------------------------------------------------------------------------------------------
// Draws

/// The number of values of a log that no power of two divides, and the values: their places.
fn places(n: usize) -> Spread {
    Spread::logged((0..n).map(|k| k as f64).collect())
}

/// By whole numbers of 128 bits: place floor(bits x n / 2^64). Bits just below and at a place's first give the place before and it.
#[test]
fn a_draw_is_the_place_that_its_bits_fall_on() {
    for n in [2_usize, 5, 7, 64, 1000, 4999, 5000] {
        let shape = Shape::new(&places(n));
        let n = n as u128;
        for k in 0..n {
            let first = (k << 64).div_ceil(n);
            assert_eq!(shape.draw_one(first as u64), k as f64, "{k} of {n}");
            if k > 0 {
                assert_eq!(shape.draw_one((first - 1) as u64), (k - 1) as f64, "{k} of {n}");
            }
            // Each place has 2^64 / n of the bits, rounded down or up.
            let next = ((k + 1) << 64).div_ceil(n);
            let fair = (1_u128 << 64) / n;
            assert!((fair..=fair + 1).contains(&(next - first)), "{k} of {n}");
        }
        assert_eq!(shape.draw_one(u64::MAX), (n - 1) as f64);
    }
}

/// Pearson's statistic against equal shares. Its law is chi-square's in the limit; with more than 2,000 due in each cell the tail at
/// one in a million is taken as exact.
#[track_caller]
fn shares_are_equal(counts: &[u64], what: &str) {
    let n: u64 = counts.iter().sum();
    let due = n as f64 / counts.len() as f64;
    assert!(due > 2_000.0);
    let statistic: f64 = counts.iter().map(|c| (*c as f64 - due).powi(2) / due).sum();
    let law = ChiSquared::new((counts.len() - 1) as f64).unwrap();
    let bound = law.inverse_cdf(1.0 - ALARM);
    assert!(statistic <= bound, "{what}: {statistic}, {bound} allowed: {counts:?}");
    // And not suspiciously even.
    let least = law.inverse_cdf(ALARM);
    assert!(statistic >= least, "{what}: {statistic}, at least {least} due");
}

/// Through the engine on every vector path: a piece, a setup with room, an order, the pace. Lanes and trials give each value its
/// share, and every path the same bytes.
#[test]
fn each_value_comes_equally_often_on_every_path() {
    const N: u64 = 120_000;
    type Fill = (&'static str, fn(&mut Scenario, Spread));
    let fill: [Fill; 4] = [
        ("a piece", |s, v| s.steps[0].each = v),
        ("a setup", |s, v| {
            s.steps[0].setup = v;
            s.steps[0].room = Some(1);
        }),
        ("an order", |s, v| s.steps[0].per_order = v),
        ("the pace", |s, v| {
            s.pace = v;
            s.steps[0].each = Spread::Certain(1.0);
        }),
    ];
    for (what, fill) in fill {
        for count in [7_usize, 23, 50] {
            let mut made = plain(&[1]);
            // From 1 on, so that no trial takes no time.
            fill(&mut made, Spread::logged((1..=count).map(|k| k as f64).collect()));
            let plan = Plan::new(&made);
            let mut first: Option<Vec<u64>> = None;
            for path in Path::available() {
                let engine = Engine::new(&plan, 21).on_path(path);
                let runs = engine.answer_sizes(N, &|_| (), |runs| runs);
                let mut counts = vec![0; count];
                for hours in runs[0].hours.iter() {
                    let minutes = hours * 60.0;
                    // Hours are minutes over 60, rounded twice.
                    assert!((minutes - minutes.round()).abs() < 1e-12 * minutes, "{what}: {minutes}");
                    counts[minutes.round() as usize - 1] += 1;
                }
                shares_are_equal(&counts, &format!("{what}, {count} values, {path:?}"));
                let bits: Vec<u64> = runs[0].hours.iter().map(|h| h.to_bits()).collect();
                assert!(first.get_or_insert_with(|| bits.clone()) == &bits, "{what}, {path:?}");
            }
        }
    }
}

/// Every trial's one draw told again: bits of the stream, times the number of values, over 2^64.
#[test]
fn a_run_is_told_again_from_its_bits() {
    let data = [11.0, 12.5, 14.0, 12.0, 19.0, 12.5, 30.0];
    let mut sorted = data;
    sorted.sort_by(f64::total_cmp);
    let mut made = plain(&[1]);
    made.steps[0].setup = Spread::logged(data.to_vec());
    let runs = simulate(&made, 2_000, 5);
    for (trial, hours) in runs[0].hours.iter().enumerate() {
        let key = trial_keys(5, (trial / LANES) as u64)[trial % LANES];
        let bits = nth(start(key, part(Use::Setup, "make")), 0);
        let place = (u128::from(bits) * 7 / (1_u128 << 64)) as usize;
        assert_eq!(
            hours.to_bits(),
            (sorted[place] * (1.0 / 60.0)).to_bits(),
            "trial {trial}"
        );
    }
}

#[test]
fn logged_draws_are_independent_of_others() {
    const N: u64 = 100_000;
    let log = Spread::logged(vec![11.0, 12.5, 14.0, 12.0, 19.0, 12.5, 30.0]);
    let minutes = |made: &Scenario, seed: u64| simulate(made, N, seed)[0].hours.to_vec();
    let mut each = plain(&[1]);
    each.steps[0].each = log.clone();
    let mut setup = plain(&[1]);
    setup.steps[0].setup = log.clone();
    let mut other = plain(&[1]);
    other.steps[0].name = "make again".to_owned();
    other.steps[0].each = log.clone();
    let drawn = [&each, &setup, &other].map(|made| minutes(made, 8));
    uncorrelated(&drawn[0], &drawn[1], "each and setup");
    uncorrelated(&drawn[0], &drawn[2], "two steps");
    for drawn in &drawn {
        for lag in [1, 2, 4, 7, 8, 16, 512] {
            uncorrelated(drawn, &drawn[lag..], &format!("{lag} trials apart"));
        }
    }
    uncorrelated(&drawn[0], &minutes(&each, 9), "two seeds");
    // Pieces of one trial, and a second log beside leaves the first one's draws as they were.
    let mut two = plain(&[1, 2, 3]);
    two.steps[0].each = log.clone();
    let runs = simulate(&two, N, 8);
    let piece = |k: usize| -> Vec<f64> {
        (0..N as usize)
            .map(|i| runs[k].hours[i] - runs[k - 1].hours[i])
            .collect()
    };
    uncorrelated(&runs[0].hours.to_vec(), &piece(1), "pieces 1 and 2");
    uncorrelated(&piece(1), &piece(2), "pieces 2 and 3");
    assert_eq!(runs[0].hours.to_vec(), drawn[0]);
}

// ---------------------------------------------------------------------------------------------------------------------
// Whole answers

const SHOP: &str = r#"
target = 30
[batch]
sizes = [1, 4, 13, 40]
runs = 2
[pace]
factor = { shape = "logged", values = [0.9, 0.95, 1, 1, 1.1, 1.4] }
[[step]]
name = "draw"
once = { shape = "logged", values = [60, 75, 90, 90, 200], unit = "min" }
[[step]]
name = "turn"
setup = { shape = "logged", values = [5, 8, 8, 9, 14, 30], unit = "min" }
each = { shape = "logged", values = [7.5, 6, 6.25, 8, 7, 6.5, 6.5, 9, 14, 6, "8 min 30 s"], unit = "min" }
room = 6
learning = "92 %"
redo = "8 %"
[[step]]
name = "stain"
each = { shape = "logged", values = [2, 3, 3, 4, 4.5, 9], unit = "min" }
varies = "batch"
redo = "5 %"
[[step]]
name = "pack"
per_order = { shape = "logged", values = [4, 5, 5, 6, 15], unit = "min" }
[sale]
price = 40
order_of = 3
"#;

/// Mean hours within their standard error of the closed form and, by the exact fourth moment being bounded by the sample's own, the
/// variance within that of a sample variance.
#[test]
fn sweeps_of_logged_times_agree_with_the_closed_form() {
    let mut made = scenario(SHOP);
    for spoil in [0.0, 0.06] {
        made.steps[1].spoil = spoil;
        let trials = 100_000;
        for runs in simulate(&made, trials, 3) {
            let hours = runs.hours.to_vec();
            let (mean, variance) = stats::mean_variance(&hours);
            let n = trials as f64;
            let z = normal_bound(ALARM);
            close(
                mean,
                model::hours(&made, runs.size),
                z * (variance / n).sqrt(),
                &format!("{} pieces: mean", runs.size),
            );
            let Ok(exact) = variance_of_hours(&made, runs.size) else {
                continue;
            };
            // Standard error of a sample variance, from the sample's fourth moment.
            let fourth = hours.iter().map(|h| (h - mean).powi(4)).sum::<f64>() / n;
            let se = ((fourth - variance * variance) / n).sqrt();
            close(variance, exact, z * se, &format!("{} pieces: variance", runs.size));
        }
    }
}

/// All values alike: no chance at all, and the closed form to rounding; the same bytes as the one value written alone.
#[test]
fn a_log_without_spread_is_certain() {
    let text = |each: &str| {
        format!(
            "target = 30\n[batch]\nsizes = [1, 9]\n[[step]]\nname = \"make\"\nsetup = \"11 min\"\neach = {each}\n[sale]\nprice = 50\n"
        )
    };
    let logged = scenario(&text(
        "{ shape = \"logged\", values = [7, 7, 7, 7, 7, 7], unit = \"min\" }",
    ));
    let alone = scenario(&text("\"7 min\""));
    assert_eq!(logged, alone);
    let settings = settings(512);
    let answer = sweep::run(&logged, &settings, &|_| ());
    for size in &answer.sizes {
        let due = model::hours(&logged, size.size);
        close(size.hours.mean, due, 1e-14 * due, "mean hours");
        close(
            size.hours.mean,
            (11.0 + 7.0 * f64::from(size.size)) / 60.0,
            1e-14 * due,
            "by hand",
        );
        assert_eq!(variance_of_hours(&logged, size.size), Ok(0.0));
    }
}

/// Expected pieces in an order, by hand: 1, 1.5 (rounded to 2), 2, 2.4 (2) and 6 pieces, each one time in five, are 13 / 5.
#[test]
fn half_a_piece_is_rounded_up_in_closed_forms_as_in_draws() {
    let order_of = Spread::logged(vec![1.0, 1.5, 2.0, 2.4, 6.0]);
    close(counts::order_size(&order_of), 2.6, 1e-15 * 8.0, "pieces in an order");
    let mut made = plain(&[6]);
    made.sale.order_of = Spread::logged(vec![1.0, 1.5, 6.0, 6.0, 6.0]);
    made.steps[0].per_order = Spread::Certain(1.0);
    // Orders for six pieces when each is of 1, 2 or 6 with 1/5, 1/5, 3/5: f(n) = 1 + f(n-1)/5 + f(n-2)/5.
    let mut f = [0.0; 7];
    for n in 1..=6 {
        f[n] = 1.0 + 0.2 * f[n - 1] + if n >= 2 { 0.2 * f[n - 2] } else { 0.0 };
    }
    let hours = simulate(&made, 100_000, 4)[0].hours.to_vec();
    let (mean, variance) = stats::mean_variance(&hours);
    close(
        mean * 60.0,
        f[6],
        normal_bound(ALARM) * 60.0 * (variance / 1e5).sqrt(),
        "orders",
    );
}

/// A steady share of demand: what is sold of a batch when each of five counts of buyers is equally likely.
#[test]
fn buyers_may_be_logged() {
    let made = scenario(
        "target = 1\n[batch]\nsizes = [10]\n[[step]]\nname = \"make\"\neach = \"1 min\"\n[sale]\nprice = 50\n[season]\n\
         buyers = { shape = \"logged\", values = [2, 4, 4, 7, 30] }\n",
    );
    let runs = simulate(&made, 50_000, 2);
    let sold_out = runs[0].profit.iter().filter(|p| **p > 499.0).count() as u64;
    count_is_binomial(sold_out, 50_000, 0.2, "sold out");
    let two = runs[0].profit.iter().filter(|p| **p < 101.0).count() as u64;
    count_is_binomial(two, 50_000, 0.2, "two sold");
}

/// Ends of a swing are logged values; a minute less of a logged time is worth what a minute less of any is. By hand: 50 for 10 min
/// setup and 20 min on average; the long run earns 50 / 0.5 h = 100, a minute less 50 / (29 / 60 h).
#[test]
fn drivers_read_logged_ranges() {
    let made = scenario(
        "target = 30\n[[step]]\nname = \"make\"\nsetup = \"10 min\"\n\
         each = { shape = \"logged\", values = [10, 12, 14, 16, 18, 20, 22, 24, 26, 38], unit = \"min\" }\n[sale]\nprice = 50\n",
    );
    let settings = settings(40_000);
    let answer = drivers::run(&made, 1, &settings, &|_| ());
    let input = &answer.inputs[0];
    let swing = input.swing.unwrap();
    // One time in ten at most 10; nine in ten at most 26.
    assert_eq!((swing.low.value, swing.high.value), (10.0, 26.0));
    close(swing.low.rate, 150.0, 1e-9, "rate at 10 min");
    close(swing.high.rate, 50.0 / 0.6, 1e-9, "rate at 26 min");
    // The only thing that varies has all of the variance.
    let total = input.shares.unwrap().total;
    close(total.share, 1.0, normal_bound(ALARM) * total.se, "total share");
    let lever = answer.levers.iter().find(|l| l.name == "make: each").unwrap();
    assert_eq!(lever.less, 1.0);
    let gain = lever.gain.unwrap();
    close(
        gain.mean,
        50.0 * 60.0 / 29.0 - 100.0,
        normal_bound(ALARM) * gain.se + 1e-9,
        "a minute less",
    );
}

// ---------------------------------------------------------------------------------------------------------------------
// The notation

fn each(table: &str) -> Spread {
    let text = format!("target = 30\n[[step]]\nname = \"make\"\neach = {table}\n[sale]\nprice = 50\n");
    scenario(&text).steps[0].each.clone()
}

#[test]
fn units_are_those_of_any_range() {
    let minutes = Spread::logged(vec![60.0, 75.0, 90.0, 30.0, 600.0]);
    for text in [
        "{ shape = \"logged\", values = [60, 75, 90, 30, 600], unit = \"min\" }",
        "{ unit = \"h\", values = [1, 1.25, 1.5, 0.5, 10], shape = \"logged\" }",
        "{ shape = \"logged\", values = [\"1 h\", \"75 min\", \"1 h 30 min\", \"30 min\", \"10 h\"] }",
        "{ shape = \"logged\", values = [60, 75, \"1 h 30 min\", 30, 600], unit = \"min\" }",
        "{ shape = \"logged\", values = [60,\n  75, 90,\n  30, 600,\n], unit = \"min\" }",
    ] {
        assert_eq!(each(text), minutes, "{text}");
    }
    let whole = scenario(
        "target = 30\ncurrency = \"EUR\"\n[currencies]\nUSD = { shape = \"logged\", values = [0.9, 0.91, 0.9, 0.93, 0.95] }\n[[step]]\n\
         name = \"make\"\neach = \"1 min\"\nwait = { shape = \"logged\", values = [1, 1, 2, 2, 3], unit = \"d\" }\n\
         [[material]]\nname = \"oak\"\nper_piece = 1\nprice = { shape = \"logged\", values = [5, 6, 6, 7, 9], unit = \"USD\" }\n\
         waste = { shape = \"logged\", values = [10, 15, 15, 20, 40], unit = \"%\" }\n[sale]\nprice = 50\n\
         post = { shape = \"logged\", values = [5.9, 5.9, 6.8, 6.8, 9.5] }\norder_of = { shape = \"logged\", values = [1, 1, 1, 2, 6] }\n",
    );
    assert_eq!(
        whole.steps[0].wait,
        Spread::logged([1.0, 1.0, 2.0, 2.0, 3.0].map(|d| d * 1440.0).to_vec())
    );
    assert_eq!(whole.materials[0].price, Spread::logged(vec![5.0, 6.0, 6.0, 7.0, 9.0]));
    assert_eq!(whole.materials[0].currency, Some(0));
    assert_eq!(
        whole.materials[0].waste,
        Spread::logged(vec![0.1, 0.15, 0.15, 0.2, 0.4])
    );
    assert_eq!(whole.currencies[0].rate.limits(), (0.9, 0.95));
}

#[test]
fn a_value_can_be_given_for_one_call() {
    let text = "target = 30\n[[step]]\nname = \"make\"\neach = \"4 min\"\n[sale]\nprice = 50\n";
    let set = |value: &str| vec![("step.make.each".to_owned(), value.to_owned())];
    let made = read(
        "f",
        text,
        &set("{ shape = \"logged\", values = [3, 4, 4, 5, 9], unit = \"min\" }"),
    )
    .unwrap();
    assert_eq!(made.steps[0].each, Spread::logged(vec![3.0, 4.0, 4.0, 5.0, 9.0]));
    let wrong = read(
        "f",
        text,
        &set("{ shape = \"logged\", values = [3, 4, -4, 5], unit = \"min\" }"),
    )
    .unwrap_err();
    assert_eq!(wrong.count(), 2, "{wrong}");
}

/// As many as may be: read, simulated, and one more refused (`scenarios/invalid/logged-too-many.toml`).
#[test]
fn five_thousand_values_are_taken() {
    let list: Vec<String> = (0..5_000).map(|k| format!("{}", 10 + k % 97)).collect();
    let log = each(&format!(
        "{{ shape = \"logged\", values = [{}], unit = \"min\" }}",
        list.join(", ")
    ));
    let mut made = plain(&[3]);
    made.steps[0].each = log.clone();
    let hours = simulate(&made, 20_000, 1)[0].hours.to_vec();
    let (mean, _) = stats::mean_variance(&hours);
    let se = (3.0 * log.variance() / 20_000.0).sqrt() / 60.0;
    close(mean, 3.0 * log.mean() / 60.0, normal_bound(ALARM) * se, "three pieces");
}

/// Jigs multiply and move logged times; what is more than the least of them is taken off in proportion, and no more than their mean of 5 min.
#[test]
fn jigs_change_logged_times() {
    let text = |each: &str| {
        format!(
            "target = 30\n[[step]]\nname = \"make\"\neach = {{ shape = \"logged\", values = [3, 4, 4, 5, 9], unit = \"min\" }}\n\
             [sale]\nprice = 50\n[[jig]]\nname = \"stop\"\nstep = \"make\"\nbuild = {{ shape = \"logged\", values = [1, 1, 2, 2, 3], unit = \"h\" }}\n\
             each = \"{each}\"\n"
        )
    };
    let with = |change: &str| scenario(&text(change)).with_jigs(&[0]).steps[0].each.clone();
    assert_eq!(with("- 2 min"), Spread::logged(vec![1.0, 2.0, 2.0, 3.0, 7.0]));
    assert_eq!(with("x 0.5"), Spread::logged(vec![1.5, 2.0, 2.0, 2.5, 4.5]));
    let in_proportion = with("- 4 min");
    let Spread::Logged(log) = &in_proportion else {
        panic!("{in_proportion:?}")
    };
    for (value, was) in log.values().iter().zip([3.0, 4.0, 4.0, 5.0, 9.0]) {
        close(*value, 0.2 * was, 1e-12, "a fifth of it is left");
    }
    let wrong = read("f", &text("- 6 min"), &[]).unwrap_err();
    assert!(wrong.to_string().contains("takes 5 min on average"), "{wrong}");
}

/// Remade pieces, a piece's redo and one draw a trial take logged times as they take others; means by Wald's identity.
#[test]
fn logged_times_are_drawn_for_remade_pieces() {
    let mut made = plain(&[8]);
    made.steps[0].each = Spread::logged(vec![3.0, 4.0, 4.0, 5.0, 9.0]);
    made.steps[0].spoil = 0.25;
    made.batch.spoiled = Spoiled::Remake;
    for (varies, redo) in [(Varies::Piece, 0.0), (Varies::Piece, 0.2), (Varies::Batch, 0.2)] {
        made.steps[0].varies = varies;
        made.steps[0].redo = redo;
        let hours = simulate(&made, 50_000, 6)[0].hours.to_vec();
        let (mean, variance) = stats::mean_variance(&hours);
        // 8 / (1 - 1/4) pieces are started, each done 1 / (1 - redo) times, 5 min on average.
        let due = 8.0 / 0.75 / (1.0 - redo) * 5.0 / 60.0;
        close(
            mean,
            due,
            normal_bound(ALARM) * (variance / 50_000.0).sqrt(),
            "mean hours",
        );
    }
}

#[test]
fn check_says_what_a_logged_range_is() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("shop.toml");
    std::fs::write(&file, SHOP).unwrap();
    let out = Command::cargo_bin("batchwright")
        .unwrap()
        .arg("check")
        .arg(&file)
        .output()
        .unwrap();
    assert!(out.status.success());
    let text = String::from_utf8(out.stdout).unwrap();
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("0.9 to 1.4, half at most 1 (one of 6 logged, each equally likely)"),
        "{text}"
    );
    assert!(
        words.contains("one of 11 logged") && words.contains("Logged: each of so many"),
        "{text}"
    );
    let doubts = String::from_utf8(out.stderr).unwrap();
    let doubts = doubts.split_whitespace().collect::<Vec<_>>().join(" ");
    // 2 / (5 + 1).
    assert!(
        doubts.contains("step `draw`: once (5)") && doubts.contains("33 %"),
        "{doubts}"
    );
}
