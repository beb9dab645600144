//! `drivers` held against the outside: variance shares of functions with known ones, levers against scenarios rewritten by hand,
//! and the program itself.
//!
//! Exact shares and those of another library: `tests/reference/sensitivity.csv`, made by `sensitivity.py` there (Ishigami & Homma
//! 1990; Sobol's g as in Saltelli & Sobol' 1995; linear and product models by hand; SALib 1.6.0).

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, binomial_bounds, close, normal_bound, scenario, settings};
use crate::program::batchwright;
use crate::shipped::{self, shipped};
use batchwright_core::engine::shape::unit;
use batchwright_core::engine::stream::{mix, nth};
use batchwright_core::questions::drivers::{self, Drivers, Kind, Lever};
use batchwright_core::questions::trials_at;
use batchwright_core::scenario::{Sale, Scenario, Spread};
use batchwright_core::stats::sobol::{self, IndexEstimate, Indices};
use std::f64::consts::PI;

// ---- Estimators ----------------------------------------------------------------------------------------------------

/// One row of the table: exact shares, and SALib's with half the width of their 95 % intervals.
struct Known {
    model: String,
    first: f64,
    total: f64,
    salib_first: (f64, f64),
    salib_total: (f64, f64),
}

fn table() -> Vec<Known> {
    let mut reader = csv::Reader::from_reader(include_str!("../reference/sensitivity.csv").as_bytes());
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        let number = |k: usize| row[k].parse::<f64>().unwrap();
        Known {
            model: row[0].to_owned(),
            first: number(3),
            total: number(4),
            salib_first: (number(5), number(6)),
            salib_total: (number(7), number(8)),
        }
    });
    rows.collect()
}

fn triangle(u: f64, low: f64, likely: f64, high: f64) -> f64 {
    let spread = Spread::triangular(batchwright_core::scenario::ThreePoint { low, likely, high });
    spread.quantile(u)
}

/// The models of the table, as functions of numbers in (0, 1).
fn model(name: &str, u: &[f64]) -> f64 {
    let g = |a: &[f64]| {
        a.iter()
            .zip(u)
            .map(|(a, u)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a))
            .product()
    };
    let ishigami = |a: f64, b: f64| {
        let x: Vec<f64> = u.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
        x[0].sin() + a * x[1].sin().powi(2) + b * x[2].powi(4) * x[0].sin()
    };
    match name {
        "ishigami 7 0.1" => ishigami(7.0, 0.1),
        "ishigami 7 0.05" => ishigami(7.0, 0.05),
        "g 0 1 4.5 9 99 99 99 99" => g(&[0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0]),
        "g 0 1 9" => g(&[0.0, 1.0, 9.0]),
        "g 1 1" => g(&[1.0, 1.0]),
        "linear" => {
            triangle(u[0], 20.0, 30.0, 60.0) + 5.0 * triangle(u[1], 4.0, 6.0, 14.0)
                - 2.0 * triangle(u[2], 1.0, 2.0, 3.0)
        }
        "product" => triangle(u[0], 4.0, 6.0, 14.0) * triangle(u[1], 10.0, 30.0, 35.0),
        _ => panic!("{name} is not known"),
    }
}

/// Estimated shares of a model with so many inputs.
fn estimated(name: &str, inputs: usize, trials: u64, seed: u64) -> Vec<Indices> {
    let draw = |sample: u64, trial: u64, input: u64| unit(nth(mix(mix(seed) ^ sample), trial * 16 + input));
    let column = |from_b: &dyn Fn(usize) -> bool| -> Vec<f64> {
        let of = |trial: u64| {
            let u: Vec<f64> = (0..inputs)
                .map(|k| draw(u64::from(from_b(k)), trial, k as u64))
                .collect();
            model(name, &u)
        };
        (0..trials).map(of).collect()
    };
    let switched: Vec<Vec<f64>> = (0..inputs).map(|i| column(&|k| k == i)).collect();
    let found = sobol::shares(&column(&|_| false), &column(&|_| true), &switched, seed);
    found.inputs.into_iter().map(|i| i.expect("it varies")).collect()
}

fn models() -> Vec<(String, Vec<Known>)> {
    let mut out: Vec<(String, Vec<Known>)> = Vec::new();
    for row in table() {
        match out.last_mut() {
            Some((name, rows)) if *name == row.model => rows.push(row),
            _ => out.push((row.model.clone(), vec![row])),
        }
    }
    out
}

/// Each estimate lies as near the exact share as its own error says (normal law, one false alarm in a million a check), and as
/// near another library's estimate as both errors say.
#[test]
fn known_shares_are_found() {
    let wide = normal_bound(ALARM);
    let models = models();
    assert_eq!(models.len(), 7);
    for (name, rows) in models {
        let found = estimated(&name, rows.len(), 32_768, 1);
        for (k, (known, found)) in rows.iter().zip(found).enumerate() {
            let sides = [
                ("first", found.first, known.first, known.salib_first),
                ("total", found.total, known.total, known.salib_total),
            ];
            for (which, estimate, exact, (theirs, half)) in sides {
                let what = format!("{name}, input {}, {which}", k + 1);
                close(estimate.share, exact, wide * estimate.se, &what);
                let both = (estimate.se.powi(2) + (half / 1.96).powi(2)).sqrt();
                close(
                    estimate.share,
                    theirs,
                    wide * both + 1e-5,
                    &format!("{what} beside SALib"),
                );
            }
        }
    }
}

/// Of 120 samples' 95 % intervals no more miss the exact share than chance would have it: Binomial(120, 5 %), one false alarm in
/// a million a check.
#[test]
fn intervals_hold_what_they_say() {
    let samples = 120;
    for name in ["ishigami 7 0.1", "g 0 1 9", "linear"] {
        let rows = models().into_iter().find(|m| m.0 == name).unwrap().1;
        let mut misses = vec![[0_u64; 2]; rows.len()];
        for seed in 0..samples {
            for (k, found) in estimated(name, rows.len(), 2_048, 1_000 + seed).into_iter().enumerate() {
                let outside = |e: IndexEstimate, exact: f64| u64::from(!(e.low..=e.high).contains(&exact));
                misses[k][0] += outside(found.first, rows[k].first);
                misses[k][1] += outside(found.total, rows[k].total);
            }
        }
        let (_, most) = binomial_bounds(samples, 0.05, ALARM);
        for (k, missed) in misses.iter().enumerate() {
            assert!(
                missed.iter().all(|m| *m <= most),
                "{name}, input {}: {missed:?} of at most {most}",
                k + 1
            );
        }
    }
}

// ---- From scenario to shares -----------------------------------------------------------------------------------------

fn answer(scenario: &Scenario, size: u32, trials: u64) -> Drivers {
    let settings = settings(trials);
    drivers::run(scenario, size, &settings, &|_| ())
}

fn shares_are(answer: &Drivers, exact: &[(&str, f64, f64)]) {
    let wide = normal_bound(ALARM);
    assert_eq!(answer.inputs.len(), exact.len(), "{:?}", answer.inputs);
    for (name, first, total) in exact {
        let input = answer.inputs.iter().find(|i| i.name == *name).expect("an input");
        let shares = input.shares.expect("it varies");
        close(
            shares.first.share,
            *first,
            wide * shares.first.se,
            &format!("{name}, first"),
        );
        close(
            shares.total.share,
            *total,
            wide * shares.total.se,
            &format!("{name}, total"),
        );
    }
}

/// The linear model as three prices of stock used 1, 5 and 2 times in an hour's work; the sign of the last does not matter.
#[test]
fn prices_move_a_certain_hour_as_a_linear_model() {
    let text = "target = 20\n[[step]]\nname = 'make'\neach = '1 h'\n\
        [[material]]\nname = 'a'\nper_piece = 1\nprice = '20 / 30 / 60'\n\
        [[material]]\nname = 'b'\nper_piece = 5\nprice = '4 / 6 / 14'\n\
        [[material]]\nname = 'c'\nper_piece = 2\nprice = '1 / 2 / 3'\n[sale]\nprice = 200\n";
    let found = answer(&scenario(text), 1, 32_768);
    let (a, b, c) = (0.381_008_206_331, 0.615_474_794_842, 0.003_516_998_827_67);
    shares_are(&found, &[("a: price", a, a), ("b: price", b, b), ("c: price", c, c)]);
    // Variance 189.555...; its estimate strays by sqrt((kurtosis - 1) / 2n) of itself, and the kurtosis here is under 3.
    close(
        found.rate_sd.powi(2),
        189.555_555_556,
        189.6 * normal_bound(ALARM) * (2.0_f64 / 65_536.0).sqrt(),
        "variance",
    );
}

/// The product model as a price times one plus a waste.
#[test]
fn price_and_waste_play_together_as_a_product() {
    let text = "target = 20\n[[step]]\nname = 'make'\neach = '1 h'\n\
        [[material]]\nname = 'a'\nper_piece = 1\nprice = '4 / 6 / 14'\nwaste = '900 / 2900 / 3400 %'\n[sale]\nprice = 200\n";
    let found = answer(&scenario(text), 1, 32_768);
    shares_are(
        &found,
        &[
            ("a: price", 0.592_885_375_494, 0.620_553_359_684),
            ("a: waste", 0.379_446_640_316, 0.407_114_624_506),
        ],
    );
}

/// Everything certain: no shares, no swings, and gains by hand. Pencil case: 30 min setup and 2 x 12 min make 0.9 h and earn
/// 2 x (40 - 5) - 0.9 x 2 = 68.20.
#[test]
fn a_certain_scenario_has_gains_alone() {
    let text = "target = 20\n[[step]]\nname = 'make'\nsetup = '30 min'\neach = '12 min'\nspoil = '0 %'\n\
        [[material]]\nname = 'felt'\nper_piece = 1\nprice = 5\n[sale]\nprice = 40\n[shop]\nper_hour = 2\n";
    let found = answer(&scenario(text), 2, 300);
    assert!(found.inputs.is_empty() && found.rate_sd == 0.0);
    let gain = |kind: Kind| {
        let lever = found.levers.iter().find(|l| l.kind == kind).expect("a lever");
        let gain = lever.gain.expect("hours are left");
        assert!(gain.se <= 1e-12, "{gain:?}");
        gain.mean
    };
    let (hours, profit) = (0.9, 68.2);
    let less = |minutes: f64| (profit + 2.0 * minutes / 60.0) / (hours - minutes / 60.0) - profit / hours;
    close(gain(Kind::Setup), less(1.0), 1e-10, "setup");
    close(gain(Kind::Each), less(2.0), 1e-10, "each");
    close(gain(Kind::Price), 2.0 / hours, 1e-10, "price");
    // A tenth: 3 min of setup, 2 x 1.2 min, 0.50 a piece. The most worth first: 4.57, 3.62 and 1.11.
    let tenth = |kind: Kind| {
        let lever = found.levers.iter().find(|l| l.kind == kind).expect("a lever");
        lever.tenth.expect("hours are left").mean
    };
    close(tenth(Kind::Setup), less(3.0), 1e-10, "a tenth of the setup");
    close(tenth(Kind::Each), less(2.4), 1e-10, "a tenth of each");
    close(tenth(Kind::Price), 2.0 * 0.5 / hours, 1e-10, "a tenth of the price");
    let order: Vec<Kind> = found.levers.iter().map(|l| l.kind).collect();
    assert_eq!(order, [Kind::Setup, Kind::Each, Kind::Price]);
    // The step is both.
    assert_eq!(found.steps.len(), 1);
    close(found.steps[0].hours, hours, 1e-10, "hours of the step");
    close(
        found.steps[0].tenth.expect("hours are left").mean,
        less(5.4),
        1e-10,
        "a tenth of the step",
    );
}

/// A day's work and a short one that is often done again: a minute less of the short one is worth more, as it is saved each time; a
/// tenth of the long one is. 2 h + 18 h, and 40 min / 0.8 with redos, which are left to chance.
#[test]
fn the_same_effort_counts_and_not_the_same_minute() {
    let text = "target = 20\n[[step]]\nname = 'oil'\neach = '40 min'\nredo = '20 %'\n\
        [[step]]\nname = 'carcass'\nsetup = '2 h'\neach = '18 h'\n[sale]\nprice = 800\n";
    let found = answer(&scenario(text), 1, 20_000);
    // Of the carcass an hour less is looked at.
    let minute = |name: &str| {
        let lever = lever(&found, name);
        lever.gain.expect("hours are left").mean / lever.less
    };
    assert_eq!(lever(&found, "carcass: each").less, 60.0);
    assert!(minute("oil: each") > minute("carcass: each"));
    let names: Vec<&str> = found.steps.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names, ["carcass", "oil"]);
    // 800 in 20 h and 50 min of oiling, and in 18 h and the same: 800 / 18.8333 - 800 / 20.8333.
    let oil = found.steps[1].hours;
    let due = 800.0 / (18.0 + oil) - 800.0 / (20.0 + oil);
    close(found.steps[0].tenth.expect("hours are left").mean, due, 1e-9, "carcass");
    // Redos are geometric: mean 1.25 goes of 40 min, variance 0.2 / 0.64 of them.
    let se = 40.0 / 60.0 * (0.2_f64 / 0.64).sqrt() / 20_000.0_f64.sqrt();
    close(oil, 50.0 / 60.0, normal_bound(ALARM) * se, "hours of oiling");
}

/// Chances, prices and fees a tenth lower, rewritten and simulated whole; with two channels each has a tenth of its own less.
#[test]
fn tenths_are_those_of_a_scenario_rewritten() {
    let settings = settings(1_024);
    let long_run = |scenario: &Scenario| {
        let runs = trials_at(scenario, 7, &settings);
        runs.profit.iter().sum::<f64>() / runs.hours.iter().sum::<f64>()
    };
    let text = |k: f64, what: &str| {
        let of = |name: &str, value: f64| if name == what { value * k } else { value };
        format!(
            "target = 20\n[[step]]\nname = 'make'\neach = '20 / 25 / 40 min'\nspoil = '{} %'\nredo = '{} %'\n\
             [[material]]\nname = 'felt'\nper_piece = 1\nprice = {}\nwaste = '{} %'\n\
             [sale]\nprice = 60\nfee = '{} %'\nfee_per_order = {}\npost = {}\nreturned = '{} %'\n\
             [[channel]]\nname = 'own'\nshare = '60 %'\n[[channel]]\nname = 'shop'\nshare = '40 %'\nfee = '{} %'\n",
            of("spoil", 8.0),
            of("redo", 9.0),
            of("price", 5.0),
            of("waste", 20.0),
            of("fee", 6.0),
            of("fee per order", 0.4),
            of("postage", 3.0),
            of("returns", 5.0),
            of("fee", 2.0)
        )
    };
    let made = scenario(&text(1.0, ""));
    let found = answer(&made, 7, settings.trials);
    let now = long_run(&made);
    for (lever_name, what) in [
        ("make: spoil", "spoil"),
        ("make: redo", "redo"),
        ("felt: price", "price"),
        ("felt: waste", "waste"),
        ("fee", "fee"),
        ("fee per order", "fee per order"),
        ("postage", "postage"),
        ("returns", "returns"),
    ] {
        let due = long_run(&scenario(&text(0.9, what))) - now;
        let tenth = lever(&found, lever_name).tenth.expect("hours are left").mean;
        close(tenth, due, 1e-8 * (1.0 + due.abs()), lever_name);
        assert!(due > 0.0, "{what}: {due}");
    }
}

/// What there is less of than a minute goes as a whole; where that leaves no hours there is no gain to name.
#[test]
fn less_than_a_minute_goes_altogether() {
    let text = "target = 20\n[[step]]\nname = 'stamp'\neach = '30 s'\n[sale]\nprice = 4\n";
    let found = answer(&scenario(text), 10, 300);
    let lever = &found.levers[0];
    assert_eq!((lever.less, lever.all_of_it, lever.gain), (0.5, true, None));
}

/// Of a price of 0.55 a whole unit of money would be all of it: a tenth of one is a little. The gain is that of a file rewritten.
#[test]
fn a_little_less_of_a_low_price_is_a_little() {
    let text = |price: f64| {
        format!(
            "target = 20\n[[step]]\nname = 'turn'\neach = '20 min'\n[[material]]\nname = 'peg'\nper_piece = 5\nprice = {price}\n\
             [sale]\nprice = 20\npost = {}\nfee_per_order = 0.03\n",
            price + 1.5
        )
    };
    let made = scenario(&text(0.55));
    let found = answer(&made, 4, 300);
    for (name, less) in [("peg: price", 0.1), ("postage", 1.0), ("fee per order", 0.01)] {
        let lever = lever(&found, name);
        assert_eq!((lever.less, lever.all_of_it), (less, false), "{name}");
    }
    // A piece takes a third of an hour: five pegs at 0.10 less are 1.50 an hour.
    close(
        lever(&found, "peg: price").gain.expect("hours are left").mean,
        1.5,
        1e-9,
        "pegs",
    );
}

fn moved(spread: Spread, by: f64) -> Spread {
    match spread {
        Spread::Certain(v) => Spread::Certain(v + by),
        Spread::Triangular(mut t) => {
            t.low += by;
            t.likely += by;
            t.high += by;
            Spread::Triangular(t)
        }
        Spread::Uniform { low, high } => Spread::Uniform {
            low: low + by,
            high: high + by,
        },
        other => panic!("{other:?} cannot be moved"),
    }
}

/// Every time of every shipped scenario rewritten one minute shorter, simulated whole, gives the gain that was worked out.
#[test]
fn gains_are_those_of_a_scenario_rewritten() {
    let settings = settings(1_024);
    let long_run = |scenario: &Scenario, size: u32| {
        let runs = trials_at(scenario, size, &settings);
        runs.profit.iter().sum::<f64>() / runs.hours.iter().sum::<f64>()
    };
    let mut checked = 0;
    for name in shipped::names() {
        let (made, size) = (scenario(&text_of(name)), 7);
        let found = answer(&made, size, settings.trials);
        let now = long_run(&made, size);
        close(found.long_run.mean, now, 1e-10 * now.abs(), name);
        let minutes = found
            .levers
            .iter()
            .filter(|l| l.less >= 1.0 && !l.all_of_it && l.of.is_some());
        for lever in minutes.filter(|l| matches!(l.kind, Kind::Setup | Kind::Each | Kind::PerOrder | Kind::Once)) {
            let mut other = made.clone();
            // The others are orders of a channel.
            let Some(step) = other.steps.iter_mut().find(|s| Some(&s.name) == lever.of.as_ref()) else {
                continue;
            };
            let spread = match lever.kind {
                Kind::Setup => &mut step.setup,
                Kind::Each => &mut step.each,
                Kind::Once => &mut step.once,
                _ => &mut step.per_order,
            };
            *spread = match spread {
                Spread::Certain(_) | Spread::Triangular(_) | Spread::Uniform { .. } => {
                    moved(spread.clone(), -lever.less)
                }
                _ => continue,
            };
            let gain = lever.gain.expect("hours are left").mean;
            let due = long_run(&other, size) - now;
            close(gain, due, 1e-8 * (1.0 + due.abs()), &format!("{name}, {}", lever.name));
            checked += 1;
        }
    }
    assert!(checked > 25, "{checked}");
}

/// Stock of a steady seller and leftovers that are carried on are worth what they cost. Where a piece gets cheaper they do as well, as
/// in a scenario rewritten and simulated whole.
#[test]
fn what_is_kept_is_worth_what_it_then_costs() {
    let settings = settings(1_024);
    let carried = include_str!("../../scenarios/spinning-tops.toml")
        .replace("clearance  = 11 ", "leftover = \"carry\"\nhold = \"20 %\"\nweeks = 50 ");
    assert!(
        carried.contains("carry\"\nhold"),
        "the file still says what becomes of leftovers"
    );
    // What seconds bring is taken off what a piece is worth, so all that bears on it does.
    let first = carried.find("[[step]]").expect("a step") + "[[step]]\n".len();
    let (head, rest) = carried.split_at(first);
    let seconds = format!(
        "{head}second = \"12 %\"\n{rest}\n[seconds]\nprice = 14\nfee = \"9 %\"\nfee_per_order = 0.4\npost = 2\nreturned = \"3 %\"\n\
         per_order = \"4 / 5 / 8 min\"\n"
    );
    for text in [include_str!("../../scenarios/plant-labels.toml"), &carried, &seconds] {
        let (made, size) = (scenario(text), 40);
        let long_run = |scenario: &Scenario| {
            let runs = trials_at(scenario, size, &settings);
            runs.profit.iter().sum::<f64>() / runs.hours.iter().sum::<f64>()
        };
        let (found, now) = (answer(&made, size, settings.trials), long_run(&made));
        let mut checked = 0;
        for lever in &found.levers {
            let mut other = made.clone();
            let step = other.steps.iter_mut().find(|s| Some(&s.name) == lever.of.as_ref());
            let material = other.materials.iter_mut().find(|m| Some(&m.name) == lever.of.as_ref());
            match (lever.kind, step, material) {
                (Kind::Each, Some(step), _) => step.each = step.each.scaled(0.9),
                (Kind::Redo, Some(step), _) => step.redo *= 0.9,
                (Kind::Spoil, Some(step), _) => step.spoil *= 0.9,
                (Kind::Price, _, Some(material)) => material.price = material.price.scaled(0.9),
                (Kind::Waste, _, Some(material)) => material.waste = material.waste.scaled(0.9),
                (Kind::Second, Some(step), _) => step.second *= 0.9,
                (Kind::PerOrder, None, _) => {
                    let own = other.seconds.as_mut().and_then(|seconds| seconds.per_order.as_mut());
                    let own = own.expect("the one owner that is no step");
                    *own = own.scaled(0.9);
                }
                (Kind::Fee, ..) => every_sale(&mut other, &|sale| sale.fee *= 0.9),
                (Kind::FeePerOrder, ..) => every_sale(&mut other, &|sale| sale.fee_per_order *= 0.9),
                (Kind::Postage, ..) => every_sale(&mut other, &|sale| sale.post = sale.post.scaled(0.9)),
                (Kind::Returns, ..) => every_sale(&mut other, &|sale| sale.returned *= 0.9),
                _ => continue,
            }
            let gain = lever.tenth.expect("hours are left").mean;
            close(gain, long_run(&other) - now, 1e-8, &lever.name);
            checked += 1;
        }
        assert!(checked > 8, "{checked}");
        for input in found.inputs.iter().filter(|input| input.kind == Kind::Pace) {
            let end = input.swing.as_ref().expect("a range").high;
            let mut other = made.clone();
            other.pace = Spread::Certain(end.value);
            close(end.rate, long_run(&other), 1e-8, "pace");
        }
    }
}

/// Changes every way of selling, that of seconds too.
fn every_sale(scenario: &mut Scenario, change: &dyn Fn(&mut Sale)) {
    change(&mut scenario.sale);
    scenario
        .channels
        .iter_mut()
        .for_each(|channel| change(&mut channel.sale));
    if let Some(seconds) = &mut scenario.seconds {
        change(&mut seconds.sale);
    }
}

/// Less waste of what comes in whole packs saves a pack or nothing, so that a tenth is not so many times a point.
#[test]
fn less_waste_of_whole_packs_is_that_of_a_scenario_rewritten() {
    let settings = settings(1_024);
    let text = |waste: f64| {
        format!(
            "target = 20\n[[step]]\nname = 'make'\neach = '20 / 25 / 40 min'\nspoil = '8 %'\n[sale]\nprice = 60\n[[material]]\n\
             name = 'felt'\nper_piece = 1\nprice = 5\nwaste = '{waste} %'\npack = 2.5\nleftover = 'lost'\n"
        )
    };
    let long_run = |scenario: &Scenario| {
        let runs = trials_at(scenario, 7, &settings);
        runs.profit.iter().sum::<f64>() / runs.hours.iter().sum::<f64>()
    };
    let made = scenario(&text(44.0));
    let tenth = lever(&answer(&made, 7, settings.trials), "felt: waste")
        .tenth
        .expect("hours");
    let due = long_run(&scenario(&text(39.6))) - long_run(&made);
    assert!(due > 0.01, "{due}");
    close(tenth.mean, due, 1e-9, "a tenth of the waste");
}

fn lever<'a>(answer: &'a Drivers, name: &str) -> &'a Lever {
    answer
        .levers
        .iter()
        .find(|l| l.name == name)
        .unwrap_or_else(|| panic!("no lever {name}"))
}

/// Chances and money, rewritten likewise. Draws are the same on both sides, so the figures agree to rounding.
#[test]
fn other_gains_are_those_of_a_scenario_rewritten() {
    let settings = settings(2_048);
    let rail = scenario(&text_of("oak-peg-rail"));
    let found = answer(&rail, 8, settings.trials);
    let long_run = |change: &dyn Fn(&mut Scenario)| {
        let mut other = rail.clone();
        change(&mut other);
        let runs = trials_at(&other, 8, &settings);
        runs.profit.iter().sum::<f64>() / runs.hours.iter().sum::<f64>()
    };
    let now = long_run(&|_| ());
    let due = |name: &str, change: &dyn Fn(&mut Scenario)| {
        let gain = lever(&found, name).gain.expect("hours are left").mean;
        close(gain, long_run(change) - now, 1e-8, name);
    };
    due("drill: spoil", &|s| s.steps[2].spoil -= 0.01);
    due("sand and oil: redo", &|s| s.steps[4].redo -= 0.01);
    due("fee", &|s| s.sale.fee -= 0.01);
    due("returns", &|s| s.sale.returned -= 0.01);
    due("fee per order", &|s| s.sale.fee_per_order -= 0.1);
    due("turned pegs: price", &|s| {
        s.materials[1].price = moved(s.materials[1].price.clone(), -0.1)
    });
    // A price that varies is cut in proportion; a shift comes to the same on average, so the two agree but for chance.
    let oil = lever(&found, "hardening oil: price").gain.expect("hours are left");
    let shifted = long_run(&|s| s.materials[2].price = moved(s.materials[2].price.clone(), -1.0)) - now;
    close(oil.mean, shifted, 0.1 * oil.mean, "oil");
}

/// Swings: one range of the rail set at its ends by hand.
#[test]
fn swings_are_those_of_a_scenario_rewritten() {
    let settings = settings(1_024);
    let rail = scenario(&text_of("oak-peg-rail"));
    let found = answer(&rail, 8, settings.trials);
    let check = |name: &str, change: &dyn Fn(&mut Scenario, f64)| {
        let swing = found
            .inputs
            .iter()
            .find(|i| i.name == name)
            .unwrap()
            .swing
            .expect("a range");
        for (end, q) in [(swing.low, 0.1), (swing.high, 0.9)] {
            let mut other = rail.clone();
            change(&mut other, q);
            let runs = trials_at(&other, 8, &settings);
            let due = runs.profit.iter().sum::<f64>() / runs.hours.iter().sum::<f64>();
            close(end.rate, due, 1e-8, name);
            close(end.change.mean, due - found.long_run.mean, 1e-8, name);
        }
    };
    let at = |spread: &mut Spread, q: f64| *spread = Spread::Certain(spread.quantile(q));
    check("pace", &|s, q| at(&mut s.pace, q));
    check("sand and oil: each", &|s, q| at(&mut s.steps[4].each, q));
    check("glue pegs: setup", &|s, q| at(&mut s.steps[3].setup, q));
    check("pack and post: per order", &|s, q| at(&mut s.steps[6].per_order, q));
    check("oak, sawn 25 mm: waste", &|s, q| at(&mut s.materials[0].waste, q));
    check("postage", &|s, q| at(&mut s.sale.post, q));
}

// ---- The program -------------------------------------------------------------------------------------------------------

fn text_of(name: &str) -> String {
    std::fs::read_to_string(shipped(name)).expect("a shipped scenario")
}

fn output(name: &str, flags: &[&str]) -> Vec<u8> {
    let mut command = batchwright();
    command.arg("drivers").arg(shipped(name)).args(flags);
    command.assert().success().get_output().stdout.clone()
}

#[test]
fn every_shipped_scenario_answers_on_every_face() {
    let folder = tempfile::tempdir().unwrap();
    for name in shipped::names() {
        let chart = folder.path().join(format!("{name}.svg"));
        let text = String::from_utf8(output(name, &["--chart", chart.to_str().unwrap(), "--trials", "1024"])).unwrap();
        assert!(
            (text.contains("Work on '") || text.contains("Sell more by way of '")) && text.contains("of the variance"),
            "{text}"
        );
        assert!(!text.contains("NaN"), "{text}");
        let svg = std::fs::read_to_string(&chart).unwrap();
        roxmltree::Document::parse(&svg).unwrap();

        let json: serde_json::Value =
            serde_json::from_slice(&output(name, &["--format", "json", "--trials", "1024"])).unwrap();
        assert_eq!(json["trials"], 1024);
        let inputs = json["inputs"].as_array().unwrap();
        assert!(inputs.iter().all(|i| i["shares"]["total"]["share"].is_f64()), "{name}");

        let csv = output(name, &["--format", "csv", "--trials", "1024"]);
        let mut reader = csv::Reader::from_reader(csv.as_slice());
        assert_eq!(&reader.headers().unwrap()[0], "name");
        assert!(reader.records().all(|row| row.is_ok()), "rows of one width");
    }
}

#[test]
fn threads_change_nothing() {
    for name in ["oak-peg-rail", "stoneware-mugs"] {
        let with = |threads: &str| output(name, &["--format", "json", "--trials", "1000", "--threads", threads]);
        assert_eq!(with("1"), with("2"), "{name}");
    }
}

#[test]
fn wrong_flags_are_refused() {
    for flags in [["--size", "0"], ["--size", "many"], ["--trials", "1"]] {
        batchwright()
            .arg("drivers")
            .arg(shipped("oak-peg-rail"))
            .args(flags)
            .assert()
            .code(2);
    }
    batchwright().arg("drivers").arg("nowhere.toml").assert().code(1);
}

/// A loss is said to be one, not mended by minutes.
#[test]
fn a_loss_is_not_mended_by_minutes() {
    let text = String::from_utf8(output("oak-peg-rail", &["--price", "5", "--trials", "500"])).unwrap();
    // Lines are broken anywhere.
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Fewer minutes alone would not mend that."), "{text}");
}

/// Where pieces go several ways, what another split is worth is said, and in the table the same figure.
#[test]
fn another_split_is_weighed() {
    let json: serde_json::Value =
        serde_json::from_slice(&output("printed-tea-towels", &["--format", "json", "--trials", "1000"])).unwrap();
    let ways = json["ways"].as_array().unwrap();
    // Three channels, each with more than a tenth but one: every other one may have it.
    let shares = [45.0, 40.0, 15.0];
    assert_eq!(ways.len(), 2 * shares.iter().filter(|share| **share > 10.0).count());
    let gains: Vec<f64> = ways.iter().map(|way| way["gain"]["mean"].as_f64().unwrap()).collect();
    assert!(
        gains.is_sorted_by(|a, b| a >= b) && gains[0] > 0.0 && gains[gains.len() - 1] < 0.0,
        "{gains:?}"
    );
    let text = String::from_utf8(output("printed-tea-towels", &["--trials", "1000"])).unwrap();
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let way = &ways[0];
    let sentence = format!(
        "Sell more by way of '{}': moving 10 % of the pieces there from '{}' adds {:.2} GBP to the hour. First find out whether they \
         sell there.",
        way["to"].as_str().unwrap(),
        way["from"].as_str().unwrap(),
        gains[0]
    );
    assert!(said.contains(&sentence), "{sentence}: {said}");
    assert!(said.contains(&format!("{:+.2}", gains[0])), "{said}");
}

/// A fair takes the sale's postage where its channel says nothing of it, which whoever is sent there must know; one that says so has none.
#[test]
fn postage_that_a_way_of_selling_takes_from_the_sale_is_said() {
    let text = "target = 20\n[batch]\nsizes = [10]\n[[step]]\nname = \"make\"\neach = \"30 min\"\n[sale]\nprice = 30\npost = 5\n\
                [[channel]]\nname = \"post\"\nshare = \"60 %\"\nfee = \"20 %\"\n[[channel]]\nname = \"fair\"\nshare = \"40 %\"\n";
    let said = |text: &str, question: &[&str]| {
        let run = batchwright()
            .args(question)
            .arg("-")
            .write_stdin(text)
            .output()
            .unwrap();
        assert!(run.status.success(), "{run:?}");
        String::from_utf8(run.stdout)
            .unwrap()
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let there = "Orders through 'fair' are reckoned with the postage of the sale. If nothing is posted there, give that channel a postage of 0.";
    let drivers = ["drivers", "--trials", "1000"];
    assert!(said(text, &drivers).contains(there), "{}", said(text, &drivers));
    assert!(
        said(text, &["check"]).contains("All else is as said above, the postage too."),
        "{}",
        said(text, &["check"])
    );
    let not_posted = format!("{text}post = 0\n");
    assert!(!said(&not_posted, &drivers).contains("the postage of the sale"));
}

/// An hour of turning leaves 40 EUR; with 10 % less time it is 44.44 an hour, 4.44 more. 10 % off 40 EUR of brass are 4 EUR, less than
/// that, and off 60 EUR they are 6, more than that.
#[test]
fn a_cost_that_gives_more_than_the_work_is_told_beside_it() {
    let said = |brass: u32| {
        let text = format!(
            "title = \"Knob\"\ncurrency = \"EUR\"\ntarget = 30\n[batch]\nsizes = [1]\n[[step]]\nname = \"turn\"\neach = \"60 min\"\n\
             [[material]]\nname = \"brass\"\nprice = {brass}\nper_piece = 1\n[sale]\nprice = {}\n",
            brass + 40
        );
        crate::program::said(&drivers::run(&scenario(&text), 1, &settings(500), &|_| ()))
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let first = "Work on 'turn' first: 10 % less time there adds 4.44 EUR to the hour of a single piece.";
    assert!(said(60).contains(&format!("{first} 10 % off the price of 'brass' adds more: 6.00 EUR.")));
    let less = said(40);
    assert!(less.contains(first) && !less.contains("adds more"), "{less}");
}
