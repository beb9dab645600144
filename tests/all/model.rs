//! The simulation's means against the expected values of `model`, for random scenarios with every key of the file.
//!
//! A scenario is made from a list of numbers between 0 and 1, read one by one; the lower a number, the plainer what it chooses, so that
//! proptest shrinks a failing list to a plain scenario. Two kinds are made:
//!
//! * certain: no ranges and no chances; every figure must be the model's to rounding.
//! * uncertain: anything. Each is simulated in [`PARTS`] independent parts. The mean of the parts, less the model's, over the standard error between
//!   parts is Student's t with `PARTS - 1` degrees of freedom, as parts of [`TRIALS`] trials are near enough normal. What happens in no trial of
//!   all of them is rarer than ln(1 / alarm) / trials; a figure may be off by so much of all there is, whatever its error.
//!
//! A check alarms falsely once in a hundred million ([`FALSE_ALARM`]); there are some 14,000, so that one seed in 7,000 does. The seed is fixed.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

pub(crate) mod drawn;

use crate::bounds::simulate;
use assert_cmd::Command;
use batchwright_core::engine::SizeTrials;
use batchwright_core::model::{self, NoClosedForm, counts, variance::variance_of_hours};
use batchwright_core::scenario::{self, Material, Scenario, Spread, keys, read};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestError, TestRunner};
use serde_json::json;
use statrs::distribution::{ContinuousCDF, StudentsT};
use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;

use drawn::{Made, make};

const PARTS: usize = 24;
const TRIALS: u64 = 1024;
const FALSE_ALARM: f64 = 1e-8;
/// Scenarios of each kind.
const CASES: u32 = 160;
const SIZES: [u32; 4] = [1, 2, 7, 24];

/// One figure of a batch.
struct Figure {
    name: &'static str,
    /// Sum over trials.
    simulated: fn(&SizeTrials) -> f64,
    /// The model's mean.
    due: f64,
    /// All there is of its kind.
    scale: f64,
}

/// Every figure of a batch of `size`; money where it has a closed form.
fn figures(shop: &Scenario, size: u32) -> (Vec<Figure>, Option<NoClosedForm>) {
    let parts = model::hours_by_part(shop, size);
    let (hours, pieces) = (parts.total(), f64::from(size));
    let ways = counts::sold_by_way(shop, size);
    let good = counts::good(shop, size);
    let mut all = Vec::new();
    let mut add = |name, scale, due, simulated| {
        all.push(Figure {
            name,
            simulated,
            due,
            scale,
        });
    };
    let total = |of: &[f64]| of.iter().sum::<f64>();
    add("hours", hours, hours, |runs| runs.hours.iter().sum());
    add("hours once", hours, parts.once, |runs| runs.sums.once_hours);
    add("hours of setup", hours, parts.setup, |runs| runs.sums.setup_hours);
    add("hours of redo", hours, parts.redo, |runs| runs.sums.redo_hours);
    add("hours of orders", hours, parts.per_order, |runs| runs.sums.order_hours);
    add("hours of selling days", hours, parts.selling_days, |runs| {
        runs.sums.day_hours
    });
    let helper = model::hours::helper_hours(shop, size).iter().sum::<f64>();
    add("hours of the helper", helper, helper, |runs| runs.sums.helper_hours);
    add("hours per piece", hours, parts.each, |runs| {
        let s = &runs.sums;
        runs.hours.iter().sum::<f64>() - s.once_hours - s.setup_hours - s.redo_hours - s.order_hours - s.day_hours
    });
    add("good", pieces, good.mean(), |runs| runs.sums.good);
    add(
        "good squared",
        pieces * pieces,
        good.mean_of(|k| f64::from(k * k)),
        |runs| runs.sums.good_squared,
    );
    let sold: Vec<f64> = ways.iter().map(|sold| sold.pieces + sold.singly).collect();
    let days = model::money::selling_days(shop, size)
        .iter()
        .map(|day| day.sold)
        .sum::<f64>();
    add("sold", pieces, total(&sold) + days, |runs| runs.sums.sold);
    add("sold on selling days", pieces, days, |runs| runs.sums.day_sold);
    let seconds = counts::seconds_sold(shop, size).map_or(0.0, |sold| sold.pieces);
    add("seconds", pieces, seconds, |runs| runs.sums.seconds);
    add(
        "what a price of 1 leaves",
        pieces,
        model::money::per_price(shop, size),
        |runs| runs.sums.per_price,
    );
    match model::money(shop, size) {
        Err(why) => (all, Some(why)),
        Ok(money) => {
            let scale = money.income
                + money.materials
                + money.fees
                + money.post
                + money.shop
                + money.holding
                + money.clearance
                + money.selling_days
                + money.wages;
            add("cost of selling days", scale, money.selling_days, |runs| {
                runs.sums.day_cost
            });
            add("income", scale, money.income, |runs| runs.sums.income);
            add("fees", scale, money.fees, |runs| runs.sums.fees);
            add("postage", scale, money.post, |runs| runs.sums.post);
            add("materials", scale, money.materials, |runs| runs.sums.materials);
            add("materials as paid", scale, money.materials_paid, |runs| {
                runs.sums.materials_paid
            });
            add("clearance", scale, money.clearance, |runs| runs.sums.clearance);
            add("holding", scale, money.holding, |runs| runs.sums.holding);
            add("profit", scale, money.profit(), |runs| runs.profit.iter().sum());
            (all, None)
        }
    }
}

/// The scenario with one material alone that costs 1 a unit: its cost is how often it is used.
fn counting(shop: &Scenario, probe: impl Fn(&mut Material)) -> Scenario {
    let text = "target = 1\n[[step]]\nname = \"x\"\neach = \"1 min\"\n[[material]]\nname = \"probe\"\nper_piece = 0\nprice = 1\n[sale]\nprice = 1\n";
    let mut material = read("probe", text, &[]).unwrap().materials.remove(0);
    probe(&mut material);
    let mut counted = shop.clone();
    counted.materials = vec![material];
    // A round counts as one, however much of it others fill.
    for step in &mut counted.steps {
        step.others = 0.0;
    }
    counted
}

/// What is counted, the scenario that counts it as money, and the model's count.
type Counted = (&'static str, Scenario, fn(&Scenario, u32) -> f64);

/// What a random scenario is held to beside its own money: how many orders, rounds and pieces there are.
fn counted(shop: &Scenario) -> [Counted; 3] {
    [
        ("orders", counting(shop, |m| m.per_order = 1.0), |shop, size| {
            let of_seconds = counts::seconds_sold(shop, size);
            let ways = counts::sold_by_way(shop, size);
            ways.iter().chain(&of_seconds).map(|sold| sold.orders).sum()
        }),
        (
            "rounds of the last step",
            counting(shop, |m| (m.per_round, m.at) = (1.0, shop.steps.len() - 1)),
            |shop, size| counts::at_steps(shop, size).last().unwrap().rounds,
        ),
        (
            "pieces at the last step",
            counting(shop, |m| (m.per_piece, m.at) = (1.0, shop.steps.len() - 1)),
            |shop, size| counts::at_steps(shop, size).last().unwrap().handled.mean(),
        ),
    ]
}

fn scenario_of(made: &Made) -> Result<Scenario, TestCaseError> {
    read("random.toml", &made.text, &made.set)
        .map_err(|faults| TestCaseError::fail(format!("{}\n{}", faults.render(false, 100), made.text)))
}

/// Tries `CASES` scenarios and checks that all keys of the file came up.
fn each(certain: bool, check: impl Fn(&Made, &Scenario) -> Result<(), TestCaseError>) {
    let mut runner = TestRunner::new(Config {
        cases: CASES,
        rng_seed: RngSeed::Fixed(20),
        failure_persistence: None,
        max_shrink_iters: 300,
        ..Config::default()
    });
    let used = RefCell::new(BTreeSet::new());
    let numbers = prop::collection::vec(0.0..1.0_f64, 400);
    let tried = runner.run(&numbers, |numbers| {
        let made = make(&numbers, certain);
        used.borrow_mut().extend(made.used.iter().cloned());
        check(&made, &scenario_of(&made)?)
    });
    match tried {
        Ok(()) => {}
        // The numbers say nothing to a reader; the scenario is in the message.
        Err(TestError::Fail(why, _)) => panic!("{why}"),
        Err(other) => panic!("{other}"),
    }
    let used = used.into_inner();
    // Chances are none where all is certain, and buyers of another price leave a fraction to chance.
    let chances = ["redo", "spoil", "second", "returned", "as_new", "buyers_at"];
    let missing: Vec<(&str, &str)> = keys::all()
        .map(|(section, key)| (section, key.name))
        // What was guessed before a log changes no batch.
        .filter(|(section, key)| *section != "range" && !key.starts_with(keys::GUESSED))
        .filter(|(section, key)| !used.contains(&((*section).to_owned(), (*key).to_owned())))
        .filter(|(section, key)| !(certain && (chances.contains(key) || *section == "seconds")))
        .collect();
    assert!(missing.is_empty(), "keys that no scenario had: {missing:?}");
}

/// Mean of the parts and its standard error.
fn between(parts: &[f64]) -> (f64, f64) {
    let n = parts.len() as f64;
    let mean = parts.iter().sum::<f64>() / n;
    let squares = parts.iter().map(|part| (part - mean).powi(2)).sum::<f64>();
    (mean, (squares / (n - 1.0) / n).sqrt())
}

#[test]
fn the_simulations_means_are_the_models() {
    let t = StudentsT::new(0.0, 1.0, PARTS as f64 - 1.0)
        .unwrap()
        .inverse_cdf(1.0 - 0.5 * FALSE_ALARM);
    let rare = (1.0 / FALSE_ALARM).ln() / (PARTS as f64 * TRIALS as f64);
    let (checks, whole, without, tried) = (Cell::new(0), Cell::new(0), Cell::new(0), Cell::new(0));
    each(false, |made, shop| {
        let run = |shop: &Scenario| -> Vec<Vec<SizeTrials>> {
            (0..PARTS as u64).map(|seed| simulate(shop, TRIALS, seed)).collect()
        };
        let held = |name: &str, size: u32, of: &dyn Fn(usize) -> f64, due: f64, scale: f64| {
            let parts: Vec<f64> = (0..PARTS).map(|part| of(part) / TRIALS as f64).collect();
            let (mean, se) = between(&parts);
            let allowed = t * se + rare * scale + 1e-9 * scale;
            checks.set(checks.get() + 1);
            prop_assert!(
                (mean - due).abs() <= allowed,
                "{name} of {size}: {mean} with an error of {se}, and the model says {due}\n{}",
                made.text
            );
            Ok(())
        };
        let parts = run(shop);
        for (k, size) in SIZES.into_iter().enumerate() {
            let (figures, why) = figures(shop, size);
            whole.set(whole.get() + 1);
            without.set(without.get() + u32::from(why.is_some()));
            for figure in figures {
                held(
                    figure.name,
                    size,
                    &|part| (figure.simulated)(&parts[part][k]),
                    figure.due,
                    figure.scale,
                )?;
            }
            // What each way of selling took and gave, where there are several.
            for (c, due) in counts::sold_by_way(shop, size)
                .iter()
                .enumerate()
                .filter(|_| shop.channels.len() > 1)
            {
                let sum = |part: usize, of: fn(&batchwright_core::engine::ChannelSums) -> f64| -> f64 {
                    parts[part][k].blocks.iter().map(|block| of(&block.channels[c])).sum()
                };
                held(
                    "pieces of a channel",
                    size,
                    &|part| sum(part, |s| s.sold),
                    due.pieces + due.singly,
                    f64::from(size),
                )?;
                held(
                    "orders of a channel",
                    size,
                    &|part| sum(part, |s| s.orders),
                    due.orders,
                    f64::from(size),
                )?;
            }
        }
        // One count a scenario, in turn.
        let turn = tried.get();
        tried.set(turn + 1);
        for (name, probe, due) in counted(shop).into_iter().skip(turn % 3).take(1) {
            let parts = run(&probe);
            for (k, size) in SIZES.into_iter().enumerate() {
                let due = due(&probe, size);
                held(name, size, &|part| parts[part][k].sums.materials, due, f64::from(size))?;
            }
        }
        Ok(())
    });
    let (whole, without) = (whole.get(), without.get());
    assert!(
        without > 0 && 4 * without < whole,
        "{without} of {whole} batches have no closed form of their money"
    );
    assert!(checks.get() > 10_000, "{} checks", checks.get());
}

/// Where nothing but the channel of a piece is left to chance, too: of a hundred trials just as many go each of two ways as its whole per cents say.
#[test]
fn certain_batches_are_the_models_to_rounding() {
    let checks = Cell::new(0);
    let alike = |shop: &Scenario, size: u32| counts::shared_out_alike(shop, &[size]);
    let two_by_whole_per_cents = |shop: &Scenario| {
        let per_cent = |share: f64| (100.0 * share - (100.0 * share).round()).abs() < 1e-9;
        shop.channels.len() == 2 && shop.channels.iter().all(|channel| per_cent(channel.share))
    };
    let exact = |shop: &Scenario, size: u32| alike(shop, size) || two_by_whole_per_cents(shop);
    each(true, |made, shop| {
        let runs = simulate(shop, 100, 1);
        for (runs, size) in runs.iter().zip(SIZES) {
            if !exact(shop, size) {
                continue;
            }
            let (figures, why) = figures(shop, size);
            prop_assert_eq!(why, None);
            match variance_of_hours(shop, size) {
                Err(NoClosedForm::Orders) => prop_assert!(!alike(shop, size)),
                found => prop_assert_eq!(
                    found.map(|v| v.abs() < 1e-12 * model::hours(shop, size).powi(2)),
                    Ok(true)
                ),
            }
            for figure in figures {
                let found = (figure.simulated)(runs) / 100.0;
                checks.set(checks.get() + 1);
                prop_assert!(
                    (found - figure.due).abs() <= 1e-12 * figure.scale,
                    "{} of {size}: {found}, and the model says {}\n{}",
                    figure.name,
                    figure.due,
                    made.text
                );
            }
        }
        for (name, probe, due) in counted(shop) {
            for (runs, size) in simulate(&probe, 100, 1).iter().zip(SIZES) {
                if !exact(shop, size) {
                    continue;
                }
                prop_assert!(
                    (runs.sums.materials / 100.0 - due(&probe, size)).abs() < 1e-9,
                    "{name} of {size}\n{}",
                    made.text
                );
            }
        }
        Ok(())
    });
    assert!(checks.get() > 5_000, "{} checks", checks.get());
}

/// Random variances: the sample variance is within its error, from the sample's fourth moment.
#[test]
fn hours_vary_as_the_model_says() {
    let bound = crate::bounds::normal_bound(FALSE_ALARM);
    let checks = Cell::new(0);
    each(false, |made, shop| {
        if variance_of_hours(shop, 7).is_err() {
            return Ok(());
        }
        let trials = 20_000;
        for runs in simulate(shop, trials, 3) {
            let Ok(due) = variance_of_hours(shop, runs.size) else {
                continue;
            };
            let n = trials as f64;
            let mean = runs.hours.iter().sum::<f64>() / n;
            let moment = |power: i32| runs.hours.iter().map(|h| (h - mean).powi(power)).sum::<f64>() / n;
            let found = moment(2);
            let se = ((moment(4) - found * found).max(0.0) / n).sqrt();
            checks.set(checks.get() + 1);
            prop_assert!(
                (found - due).abs() <= bound * se + 1e-9 * mean * mean,
                "variance of {}: {found} with an error of {se}, and the model says {due}\n{}",
                runs.size,
                made.text
            );
        }
        Ok(())
    });
    assert!(checks.get() > 60, "{} checks", checks.get());
}

/// The ceiling is what an hour of an endless batch earns: of 40,000 pieces it is off by what is spent once a batch, a few parts in ten thousand.
#[test]
fn an_endless_batch_earns_the_ceiling() {
    let checks = Cell::new(0);
    each(true, |made, shop| {
        let mut shop = shop.clone();
        let size = 40_000;
        (shop.season, shop.steady) = (None, None);
        // A day's pieces are few, and the ceiling takes their price for all.
        shop.selling_days.clear();
        shop.batch.sizes = vec![size];
        if shop.batch.spoiled == scenario::Spoiled::Short {
            let sale = scenario::Sale {
                price: 9.0,
                set_of: 1,
                single_price: None,
                ..shop.sale.clone()
            };
            shop.seconds = Some(scenario::Seconds { sale, per_order: None });
        }
        // Chances that thin the flow, which certain scenarios have not.
        for (k, step) in shop.steps.iter_mut().enumerate() {
            // Time once a batch is nothing in an endless one; where orders take seconds it is not little in this one.
            step.once = Spread::Certain(0.0);
            if step.room.is_none() {
                step.setup = Spread::Certain(0.0);
            }
            (step.redo, step.spoil) = (0.1, if k % 2 == 0 { 0.2 } else { 0.0 });
            if shop.batch.spoiled == scenario::Spoiled::Short {
                step.second = 0.15;
            }
            step.learning = step.learning.map(|l| scenario::Learning {
                learned_by: Some(l.made_before + 9),
                ..l
            });
        }
        // What a batch buys of whole packs and breaks is at the end of its tiers; chances in usage are the other test's.
        for material in &mut shop.materials {
            (material.pack, material.per_order) = (None, 0.0);
            material.waste = Spread::Certain(material.waste.mean());
            material.price = material
                .breaks
                .last()
                .map_or_else(|| material.price.clone(), |tier| tier.price.clone());
            material.breaks.clear();
        }
        let money = model::money(&shop, size).map_err(|why| TestCaseError::fail(why.to_string()))?;
        let found = money.profit() / model::hours(&shop, size);
        let due = model::ceiling(&shop);
        checks.set(checks.get() + 1);
        prop_assert!(
            // Both are endless where nothing takes time.
            found == due || (found - due).abs() <= 2e-3 * (due.abs() + money.income / model::hours(&shop, size)),
            "{found}, and the ceiling is {due}\n{}",
            made.text
        );
        Ok(())
    });
    assert_eq!(checks.get(), CASES);
}

/// `check` and `sweep` say the same of one piece, where a channel has time of its own: 10 min and the shop's 2, not the steps' 30.
#[test]
fn check_and_sweep_agree_about_one_piece() {
    let text = "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [1]\n[[step]]\nname = \"make\"\neach = \"10 min\"\n[[step]]\nname = \"pack\"\n\
                per_order = \"30 min\"\n[sale]\nprice = 50\n[[channel]]\nname = \"shop\"\nshare = \"100 %\"\nper_order = \"2 min\"\n";
    let told = |arguments: &[&str]| {
        let output = Command::cargo_bin("batchwright")
            .unwrap()
            .args(arguments)
            .write_stdin(text)
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    assert!(
        told(&["check", "-"]).contains("takes 12 min"),
        "{}",
        told(&["check", "-"])
    );
    let swept: serde_json::Value =
        serde_json::from_str(&told(&["sweep", "-", "--format=json", "--trials=100"])).unwrap();
    assert_eq!(swept["sizes"][0]["hours"]["mean"], 0.2);
}

/// An order through a channel carries that channel's packing, postage and fees: by hand, 30 min of making and 6 of packing at 20 an hour are 12,
/// with 4 of postage and 1 an order 17, of a price of which 10 % are the fee. As [sale] says it is 10, and the page begins with what is missing.
#[test]
fn an_order_is_quoted_through_a_channel() {
    let text = "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [1]\n[[step]]\nname = \"make\"\neach = \"30 min\"\n[sale]\nprice = 50\n\
                [[channel]]\nname = \"web\"\nshare = \"50 %\"\nprice = 40\nfee = \"10 %\"\nfee_per_order = 1\npost = 4\nper_order = \"6 min\"\n\
                [[channel]]\nname = \"fair\"\nshare = \"50 %\"\n";
    let told = |arguments: &[&str]| {
        let arguments = [&["floor", "-", "--order", "1", "--trials=100"], arguments].concat();
        let output = Command::cargo_bin("batchwright")
            .unwrap()
            .args(arguments)
            .write_stdin(text)
            .output()
            .unwrap();
        (
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    };
    let floors = |arguments: &[&str]| -> serde_json::Value {
        serde_json::from_str(&told(&[arguments, &["--format=json"]].concat()).0).unwrap()
    };
    let through = floors(&["--channel", "web"]);
    let floor = through["sizes"][0]["floor_asked"]["price"].as_f64().unwrap();
    assert!((floor - 17.0 / 0.9).abs() < 1e-9, "{floor}");
    assert_eq!(
        (&through["price"], &through["through"], &through["past_channels"]),
        (&json!(40.0), &json!("web"), &json!(false))
    );
    let alone = floors(&[]);
    assert!((alone["sizes"][0]["floor_asked"]["price"].as_f64().unwrap() - 10.0).abs() < 1e-9);
    assert_eq!(alone["past_channels"], true);
    assert!(
        told(&[])
            .0
            .lines()
            .take(4)
            .any(|line| line.starts_with("If it comes through a channel, name that: ")),
        "{}",
        told(&[]).0
    );
    assert!(told(&["--channel", "wbe"]).1.contains("name one of \"web\", \"fair\""));
}

/// A channel's own time per order is a part of its own: named in the calendar and in `stress`, and no doubt about forgotten packing.
#[test]
fn a_channels_orders_are_a_part_of_their_own() {
    let text = "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [4]\n[[step]]\nname = \"make\"\neach = \"30 min\"\n[[step]]\nname = \"polish\"\n\
                each = \"10 min\"\n[sale]\nprice = 50\n[[channel]]\nname = \"web\"\nshare = \"50 %\"\nper_order = \"6 min\"\n\
                [[channel]]\nname = \"fair\"\nshare = \"50 %\"\nper_order = \"2 min\"\n[hours]\nmon = 8\n";
    let told = |arguments: &[&str]| {
        let output = Command::cargo_bin("batchwright")
            .unwrap()
            .args(arguments)
            .write_stdin(text)
            .output()
            .unwrap();
        (
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    };
    let answer = |arguments: &[&str]| -> serde_json::Value {
        serde_json::from_str(&told(&[arguments, &["--format=json"]].concat()).0).unwrap()
    };
    let plan = &answer(&["calendar", "-", "--start", "2027-03-01"])["plan"];
    assert_eq!(
        plan["steps"],
        json!(["make", "polish", "orders through web", "orders through fair"])
    );
    // Two orders of a piece each, 12 and 4 min; the last step has its four pieces.
    let work = |step: usize| {
        let today = plan["days"][0]["work"].as_array().unwrap().iter();
        let one = today.filter(|done| done["step"] == step).collect::<Vec<_>>();
        (
            one[0]["hours"].as_f64().unwrap() * 60.0,
            one[0]["pieces"].as_u64().unwrap(),
        )
    };
    for (step, minutes, pieces) in [(1, 40.0, 4), (2, 12.0, 2), (3, 4.0, 2)] {
        let (found, count) = work(step);
        assert!(
            (found - minutes).abs() < 1e-9 && count == pieces,
            "{step}: {found} min, {count}"
        );
    }
    let stress = answer(&["stress", "-", "--trials=100"]);
    let mut named = stress["misfortunes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|m| m["kind"] == "channel");
    // 176 min as planned; web's 12 min twice.
    let web = named.next().unwrap();
    assert_eq!((&web["name"], named.count()), (&json!("web"), 1));
    let twice = web["strengths"].as_array().unwrap().last().unwrap();
    let rate = twice["outcome"]["rate"]["mean"].as_f64().unwrap();
    assert!((rate - 200.0 / (188.0 / 60.0)).abs() < 1e-9, "{rate}");
    assert!(!told(&["check", "-"]).1.contains("no step takes time per order"));
}

/// One value overridden is one value: other channels' own prices stay, and so does what the file tells of its buyers' price. `--price` moves them.
#[test]
fn setting_a_price_is_writing_it_into_the_file() {
    let text = |price: &str| {
        format!(
            "title = \"one\"\ntarget = 20\n[batch]\nsizes = [4]\n[[step]]\nname = \"make\"\neach = \"30 min\"\n[sale]\nprice = {price}\n\
             [[channel]]\nname = \"web\"\nshare = \"50 %\"\nprice = 60\n[[channel]]\nname = \"fair\"\nshare = \"50 %\"\n\
             [season]\nbuyers = 8\nelasticity = 2\n"
        )
    };
    let told = |text: String, arguments: &[&str]| {
        let arguments = [&["sweep", "-", "--format=json", "--trials=100"], arguments].concat();
        let output = Command::cargo_bin("batchwright")
            .unwrap()
            .args(arguments)
            .write_stdin(text)
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    let written = told(text("100"), &[]);
    assert_eq!(told(text("50"), &["--set", "sale.price=100"]), written);
    let moved: serde_json::Value = serde_json::from_str(&told(text("50"), &["--price", "100"])).unwrap();
    // Twice the price: 120 in the web shop, and a quarter of the buyers.
    let at = &moved["sizes"][0];
    assert_eq!(
        (&at["sold"]["mean"], &at["channels"][0]["price"]),
        (&json!(2.0), &json!(120.0))
    );
}

/// Shares alone and in all are told in order: 49 % with an error of 4 points and 47 % with one of 2 are both 47.4 %.
#[test]
fn no_share_is_more_alone_than_in_all() {
    use batchwright_core::stats::sobol::{FirstBy, IndexEstimate, Indices};
    let estimate = |share: f64, se: f64| IndexEstimate {
        share,
        se,
        low: share,
        high: share,
    };
    let shares = |first, total| Indices {
        first,
        first_by: FirstBy::Jansen,
        total,
    };
    let (alone, in_all) = shares(estimate(0.49, 0.04), estimate(0.47, 0.02)).in_order();
    assert!((alone - 0.474).abs() < 1e-12 && alone == in_all, "{alone} {in_all}");
    assert_eq!(shares(estimate(0.3, 0.1), estimate(0.4, 0.1)).in_order(), (0.3, 0.4));
    // Nor is one more than all there is.
    assert_eq!(
        shares(estimate(0.99, 0.02), estimate(1.01, 0.02)).in_order(),
        (0.99, 1.0)
    );
    assert_eq!(
        shares(estimate(1.02, 0.02), estimate(1.01, 0.02)).in_order(),
        (1.0, 1.0)
    );
}

/// What was paid is not told where nothing was paid differently, however the sums are rounded.
#[test]
fn nothing_paid_differently_is_not_told() {
    let text = |paid: &str| {
        format!(
            "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [3]\n[[step]]\nname = \"make\"\neach = \"30 / 40 min\"\nspoil = \"10 %\"\n\
             [[material]]\nname = \"oak\"\nper_piece = 0.7\nprice = 3.3\n{paid}[sale]\nprice = 50\n"
        )
    };
    let told = |text: String| {
        let output = Command::cargo_bin("batchwright")
            .unwrap()
            .args(["sweep", "-", "--trials=999"])
            .write_stdin(text)
            .output()
            .unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    assert!(told(text("paid = 1.1\n")).contains("really paid"));
    assert!(!told(text("paid = 3.3\n")).contains("really paid"));
}
