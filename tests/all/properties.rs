//! What must hold for every scenario, tried on many: proptest makes the scenarios, few of them, so that the file is quick.
//!
//! Nothing here is left to chance but which scenarios are tried: each property holds for every trial, exactly or to rounding.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{close, json, scenario, settings, simulate};
use batchwright_core::engine::{Engine, Path, Plan};
use batchwright_core::questions::Settings;
use batchwright_core::questions::sweep::{self, SizeAnswer, Sweep};
use batchwright_core::scenario::{
    Break, Guessed, Learning, Leftover, Material, Scenario, Spoiled, Spread, Step, ThreePoint, Varies,
};
use batchwright_core::stats;
use proptest::prelude::*;
use proptest::sample::select;
use proptest::test_runner::RngSeed;

const TRIALS: u64 = 300;

fn run(scenario: &Scenario, trials: u64) -> Sweep {
    sweep::run(scenario, &settings(trials), &|_| ())
}

/// The least there is, to be filled in.
fn bare() -> Scenario {
    scenario("target = 30\n[[step]]\nname = \"make\"\neach = \"1 min\"\n[sale]\nprice = 58\n")
}

prop_compose! {
    fn range(most: f64)(low in 0.1..most, left in 0.0..most, right in 0.0..most, shape in 0..6) -> Spread {
        let t = ThreePoint { low, likely: low + left, high: low + left + right };
        match shape {
            0 => Spread::Certain(low),
            1 => Spread::triangular(t),
            2 => Spread::pert(t),
            3 => Spread::uniform(t.low, t.high),
            4 => Spread::logged(vec![t.low, t.likely, t.likely, 0.5 * (t.low + t.high), t.high]),
            _ => Spread::lognormal_from_tenths(t.low, t.high),
        }
    }
}

fn certain(most: f64) -> impl Strategy<Value = Spread> {
    (0.0..most).prop_map(Spread::Certain)
}

fn learning() -> impl Strategy<Value = Option<Learning>> {
    let some = (0.7..1.0, 0_u32..5, proptest::option::of(5_u32..40));
    proptest::option::of(some.prop_map(|(rate, made_before, learned_by)| Learning {
        rate,
        made_before,
        learned_by,
    }))
}

prop_compose! {
    /// A step with anything a step can have.
    fn any_step(number: usize)(
        times in (range(60.0), range(30.0), range(20.0), range(10.0)),
        used in (any::<bool>(), any::<bool>(), any::<bool>()),
        room in proptest::option::of(1_u32..9),
        learning in learning(),
        (varies, opposite) in select(vec![(Varies::Piece, 0.0), (Varies::Batch, 0.0), (Varies::Batch, 0.6)]),
        redo in select(vec![0.0, 0.0, 0.2]),
        spoil in select(vec![0.0, 0.0, 0.1]),
    ) -> Step {
        let (once, setup, each, per_order) = times;
        let keep = |wanted: bool, spread: Spread| if wanted { spread } else { Spread::ZERO };
        Step {
            name: format!("step {number}"),
            once: keep(used.0, once),
            setup: keep(used.1, setup),
            each,
            per_order: keep(used.2, per_order),
            room,
            others: 0.0,
            helped: false,
            kept_in: None,
            wait: Spread::ZERO,
            varies,
            opposite,
            learning,
            redo,
            spoil,
            second: 0.0,
            guessed: Guessed::default(),
        }
    }
}

fn stuff(name: &str, at: usize) -> Material {
    Material {
        name: name.to_owned(),
        unit: "unit".to_owned(),
        per_piece: 0.0,
        per_batch: 0.0,
        per_round: 0.0,
        per_order: 0.0,
        channel: None,
        price: Spread::Certain(1.0),
        waste: Spread::ZERO,
        pack: None,
        leftover: Leftover::Keep,
        breaks: Vec::new(),
        paid: None,
        currency: None,
        at,
    }
}

prop_compose! {
    fn any_material(number: usize, steps: usize)(
        amounts in (0.1..3.0, 0.0..3.0, 0.0..3.0, 0.0..3.0),
        price in range(5.0),
        waste in select(vec![Spread::ZERO, Spread::Certain(0.25), Spread::uniform(0.1, 0.4)]),
        pack in proptest::option::of(0.5..6.0),
        leftover in select(vec![Leftover::Keep, Leftover::Lost]),
        cheaper in proptest::option::of(range(4.0)),
        paid in proptest::option::of(0.0..2.0),
        at in 0..steps,
    ) -> Material {
        let (per_piece, per_batch, per_round, per_order) = amounts;
        Material {
            per_piece, per_batch, per_round, per_order, price, waste, pack, leftover, paid,
            breaks: cheaper.map(|price| Break { from: 12.0, price }).into_iter().collect(),
            ..stuff(&format!("stuff {number}"), at)
        }
    }
}

prop_compose! {
    /// A scenario with anything a scenario can have.
    fn any_scenario()(
        steps in (any_step(0), any_step(1), any_step(2)),
        materials in (any_material(0, 3), any_material(1, 3)),
        pace in range(2.0),
        order_of in select(vec![Spread::Certain(1.0), Spread::Certain(3.0), Spread::uniform(1.0, 4.0)]),
        post in range(9.0),
        money in (20.0..90.0, 5.0..40.0, 0.0..0.25, 0.0..0.1, 0.0..2.0, 0.0..5.0),
        returned in select(vec![0.0, 0.05]),
        spoiled in select(vec![Spoiled::Short, Spoiled::Remake]),
        runs in 1_u32..5,
    ) -> Scenario {
        let mut made = bare();
        made.steps = vec![steps.0, steps.1, steps.2];
        made.materials = vec![materials.0, materials.1];
        made.pace = pace;
        made.batch.sizes = vec![1, 2, 5, 12, 13, 70];
        made.batch.spoiled = spoiled;
        made.batch.runs = runs;
        made.sale.order_of = order_of;
        made.sale.post = post;
        (made.sale.price, made.target_per_hour, made.sale.tax, made.sale.fee, made.sale.fee_per_order, made.sale.post_charged) = money;
        made.sale.returned = returned;
        made.shop.per_hour = 1.5;
        made
    }
}

prop_compose! {
    /// Everything certain; no spoil, redo, room or packs, orders of one.
    fn certain_scenario()(
        times in prop::collection::vec((certain(90.0), certain(60.0), certain(30.0), certain(20.0), learning()), 3),
        used in prop::collection::vec((0.0..3.0, 0.0..9.0, 0.0..2.0, certain(6.0), certain(0.5)), 2),
        breaks in (5.0..20.0, 20.0..60.0, 0.0..1.0, 0.0..1.0),
        lost in select(vec![Leftover::Keep, Leftover::Lost]),
        money in (20.0..90.0, 5.0..40.0, 0.0..0.25, 0.0..0.1, 0.0..2.0, 0.0..5.0),
        post in certain(9.0),
        pace in 0.5..2.0,
    ) -> Scenario {
        let mut made = bare();
        made.batch.sizes = (1..=40).collect();
        made.pace = Spread::Certain(pace);
        made.steps = (0..).zip(times).map(|(k, (once, setup, each, per_order, learning))| Step {
            name: format!("step {k}"), once, setup, each, per_order, learning,
            ..made.steps[0].clone()
        }).collect();
        // Something must take time.
        made.steps[0].each = Spread::Certain(3.0);
        made.materials = (0..).zip(used).map(|(k, (per_piece, per_batch, per_order, price, waste))| {
            let Spread::Certain(plain) = price else { unreachable!() };
            let (from, on, first, second) = breaks;
            let price_of = |share: f64| Spread::Certain(plain * share);
            Material {
                per_piece, per_batch, per_order, price, waste,
                leftover: lost,
                breaks: vec![
                    Break { from, price: price_of(first) },
                    Break { from: on, price: price_of(first * second) },
                ],
                ..stuff(&format!("stuff {k}"), k)
            }
        }).collect();
        (made.sale.price, made.target_per_hour, made.sale.tax, made.sale.fee, made.sale.fee_per_order, made.sale.post_charged) = money;
        made.sale.post = post;
        made
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    /// Setups, lifetime hours, what is used once a batch and cheaper tiers only ever help a bigger batch.
    #[test]
    fn certain_pieces_never_get_dearer_with_size(made in certain_scenario()) {
        let sweep = run(&made, 1);
        for pair in sweep.sizes.windows(2) {
            let cost = |s: &SizeAnswer| s.floor_long_run.expect("it serialises");
            let (before, after) = (cost(&pair[0]), cost(&pair[1]));
            prop_assert!(after <= before + 1e-12 * before.abs().max(1.0), "{} pieces: {before}, then {after}", pair[1].size);
            let (before, after) = (pair[0].hours_per_piece.mean, pair[1].hours_per_piece.mean);
            prop_assert!(after <= before * (1.0 + 1e-12), "{} pieces: {before} h, then {after} h", pair[1].size);
            // No size passes the ceiling, where there is anything to be earned: a loss on every piece is thinned by more hours.
            let rate = pair[1].rate.long_run;
            if sweep.ceiling >= 0.0 {
                prop_assert!(rate <= sweep.ceiling + 1e-9 * rate.abs().max(1.0), "{rate} passes {}", sweep.ceiling);
            }
        }
    }

    /// Reading order does not matter where nothing is random.
    #[test]
    fn certain_totals_do_not_hang_on_the_order_of_steps(made in certain_scenario(), turn in 1_usize..3) {
        let mut turned = made.clone();
        let count = made.steps.len();
        turned.steps.rotate_left(turn);
        for material in &mut turned.materials {
            material.at = (material.at + count - turn) % count;
        }
        for (one, other) in run(&made, 1).sizes.iter().zip(&run(&turned, 1).sizes) {
            for (x, y) in [
                (one.hours.mean, other.hours.mean),
                (one.profit.mean, other.profit.mean),
                (one.rate.long_run, other.rate.long_run),
                (one.floor_asked.price.expect("it serialises"), other.floor_asked.price.expect("it serialises")),
                (one.money.materials, other.money.materials),
                (one.setup_share, other.setup_share),
            ] {
                // Two dozen roundings at the largest amounts that are added.
                let scale = x.abs().max(one.money.income).max(1.0);
                prop_assert!((x - y).abs() <= 1e-13 * scale * 24.0, "{x} and {y}");
            }
        }
    }

    /// A size does not hang on which others are asked for: the same bits.
    #[test]
    fn sizes_together_are_sizes_alone(made in any_scenario()) {
        let together = run(&made, TRIALS);
        for answer in &together.sizes {
            let mut alone = made.clone();
            alone.batch.sizes = vec![answer.size];
            prop_assert_eq!(json(answer), json(&run(&alone, TRIALS).sizes[0]));
        }
    }

    /// With little memory the sizes are simulated in stretches, one size at a time at the least.
    #[test]
    fn stretches_change_nothing(made in any_scenario()) {
        let reference = json(&run(&made, TRIALS));
        let plan = Plan::new(&made);
        for sizes_at_once in [1, 2, 4] {
            let bytes = sizes_at_once * 3 * 8 * TRIALS as usize;
            let engine = Engine::new(&plan, settings(TRIALS).seed).with_column_budget(bytes);
            let found = sweep::answer(&made, &plan, engine, &settings(TRIALS), &|_| ());
            prop_assert_eq!(&json(&found), &reference);
        }
    }

    /// Where money follows from hours it is not worked out trial by trial; were it, every figure would be the same.
    #[test]
    fn money_from_hours_is_money_run_by_run(made in any_scenario()) {
        let mut calm = made.clone();
        calm.sale.returned = 0.0;
        for step in &mut calm.steps {
            step.spoil = 0.0;
            step.per_order = Spread::Certain(step.per_order.mean());
        }
        calm.sale.post = Spread::Certain(calm.sale.post.mean());
        calm.sale.order_of = Spread::Certain(calm.sale.order_of.mean().round().max(1.0));
        for material in &mut calm.materials {
            material.price = Spread::Certain(material.price.mean());
            material.waste = Spread::Certain(material.waste.mean());
            for tier in &mut material.breaks {
                tier.price = Spread::Certain(tier.price.mean());
            }
        }
        for made in [made, calm] {
            let plan = Plan::new(&made);
            let engine = Engine::new(&plan, settings(TRIALS).seed);
            let [lean, whole] =
                [engine, engine.trial_by_trial()].map(|e| sweep::answer(&made, &plan, e, &settings(TRIALS), &|_| ()));
            prop_assert_eq!(json(&lean), json(&whole));
        }
    }

    /// Another currency: four times the money, exactly, because four is a power of two; the hours stay.
    #[test]
    fn money_scales(made in any_scenario()) {
        // The lognormal's own scale is not exact.
        let exact = |s: &Spread| !matches!(s, Spread::Lognormal { .. });
        prop_assume!(exact(&made.sale.post));
        prop_assume!(made.materials.iter().all(|m| exact(&m.price) && m.breaks.iter().all(|b| exact(&b.price))));
        let times = |s: &Spread| match s {
            Spread::Certain(v) => Spread::Certain(4.0 * v),
            Spread::Uniform { low, high } => Spread::Uniform { low: 4.0 * low, high: 4.0 * high },
            Spread::Triangular(t) => Spread::Triangular(ThreePoint { low: 4.0 * t.low, likely: 4.0 * t.likely, high: 4.0 * t.high }),
            Spread::Pert(t) => Spread::Pert(ThreePoint { low: 4.0 * t.low, likely: 4.0 * t.likely, high: 4.0 * t.high }),
            Spread::Logged(log) => log.map(|v| 4.0 * v),
            Spread::Lognormal { .. } => unreachable!(),
        };
        let mut dear = made.clone();
        dear.target_per_hour *= 4.0;
        dear.shop.per_hour *= 4.0;
        dear.shop.per_month *= 4.0;
        dear.sale.price *= 4.0;
        dear.sale.fee_per_order *= 4.0;
        dear.sale.post_charged *= 4.0;
        dear.sale.post = times(&dear.sale.post);
        for material in &mut dear.materials {
            material.price = times(&material.price);
            material.paid = material.paid.map(|p| 4.0 * p);
            for tier in &mut material.breaks {
                tier.price = times(&tier.price);
            }
        }
        let (one, four) = (run(&made, TRIALS), run(&dear, TRIALS));
        prop_assert_eq!(one.first_paying_size, four.first_paying_size);
        prop_assert_eq!(one.level_size, four.level_size);
        prop_assert_eq!(4.0 * one.ceiling, four.ceiling);
        for (a, b) in one.sizes.iter().zip(&four.sizes) {
            prop_assert_eq!(a.hours, b.hours);
            prop_assert_eq!(a.reach, b.reach);
            for (x, y) in [
                (a.profit.mean, b.profit.mean), (a.profit.se, b.profit.se), (a.profit.p10, b.profit.p10), (a.profit.p90, b.profit.p90),
                (a.rate.p10, b.rate.p10), (a.rate.p50, b.rate.p50), (a.rate.p90, b.rate.p90),
                (a.rate.long_run, b.rate.long_run), (a.rate.long_run_se, b.rate.long_run_se), (a.rate.long_run_paid, b.rate.long_run_paid),
                (a.money.income, b.money.income), (a.money.materials, b.money.materials), (a.money.fees, b.money.fees),
                (a.money.post, b.money.post), (a.money.shop, b.money.shop),
            ] {
                prop_assert_eq!(4.0 * x, y);
            }
            for (x, y) in a.floor.iter().chain([&a.floor_asked]).zip(b.floor.iter().chain([&b.floor_asked])) {
                prop_assert_eq!(x.price.map(|p| 4.0 * p), y.price);
                prop_assert_eq!(x.low.map(|p| 4.0 * p), y.low);
                prop_assert_eq!(x.high.map(|p| 4.0 * p), y.high);
            }
            prop_assert_eq!(a.floor_long_run.map(|p| 4.0 * p), b.floor_long_run);
        }
    }

    /// Quantiles and interval ends come in order, shares lie between nothing and all, parts add up.
    #[test]
    fn answers_are_in_order(made in any_scenario()) {
        let sweep = run(&made, TRIALS);
        for answer in &sweep.sizes {
            for [a, b, c] in [
                [answer.hours.p10, answer.hours.p50, answer.hours.p90],
                [answer.hours_per_piece.p10, answer.hours_per_piece.p50, answer.hours_per_piece.p90],
                [answer.profit.p10, answer.profit.p50, answer.profit.p90],
                [answer.rate.p10, answer.rate.p50, answer.rate.p90],
                [answer.reach.low, answer.reach.share, answer.reach.high],
                [0.0, answer.reach.share, 1.0],
                [0.0, answer.setup_share, 1.0],
            ] {
                prop_assert!(a <= b && b <= c, "{a} {b} {c}");
            }
            let height = |price: Option<f64>| price.unwrap_or(f64::INFINITY);
            for floor in answer.floor.iter().chain([&answer.floor_asked]) {
                prop_assert!(height(floor.low) <= height(floor.price) && height(floor.price) <= height(floor.high), "{floor:?}");
            }
            for pair in answer.floor.windows(2) {
                prop_assert!(height(pair[0].price) <= height(pair[1].price));
            }
            let parts = answer.hours_parts;
            let sum = parts.once + parts.setup + parts.each + parts.redo + parts.per_order;
            prop_assert!((sum - answer.hours_per_piece.mean).abs() <= 1e-12 * sum);
            let money = answer.money;
            let profit = money.income - money.materials - money.fees - money.post - money.shop;
            prop_assert!((profit - answer.profit.mean).abs() <= 1e-10 * money.income.max(money.materials).max(1.0));
            prop_assert!(answer.good.mean <= f64::from(answer.size) && answer.good.mean >= 0.0);
        }
    }

    /// Asked at its own floor, at least the asked share of trials reaches the target, and hardly more: whatever the share, whatever the trials.
    /// A hair below, one trial fewer does.
    #[test]
    fn the_floor_is_the_price_that_pays(made in any_scenario(), confidence in 0.01..0.99_f64, round in any::<bool>(), trials in 1_u64..400) {
        let mut made = made;
        // Every trial has a floor of its own.
        made.steps[0].each = Spread::triangular(ThreePoint { low: 2.0, likely: 3.0, high: 9.0 });
        made.steps[0].varies = Varies::Piece;
        made.confidence = if round { (confidence * 100.0).round() / 100.0 } else { confidence };
        let n = trials as f64;
        for answer in run(&made, trials).sizes {
            let Some(floor) = answer.floor_asked.price else { continue };
            prop_assume!(floor > 0.0);
            let at = |price: f64| {
                let mut asked = made.clone();
                asked.sale.price = price;
                asked.batch.sizes = vec![answer.size];
                let found = run(&asked, trials).sizes.remove(0);
                assert_eq!(found.floor_asked.price, Some(floor), "a floor does not hang on the asked price");
                found
            };
            let there = at(floor);
            prop_assert!(there.pays(made.confidence), "{} of {trials} for {}", there.reach.share, made.confidence);
            let on_it = (there.reach.share * n).round();
            prop_assert!((on_it - 1.0) / n < made.confidence, "{} of {trials} for {}", there.reach.share, made.confidence);
            let under = (at(floor * (1.0 - 1e-9)).reach.share * n).round();
            prop_assert_eq!(under, on_it - 1.0);
        }
    }

    /// A step more leaves the others' draws as they were: every trial is longer by exactly that time (times its pace).
    #[test]
    fn other_steps_keep_their_draws(made in any_scenario(), first in any::<bool>()) {
        let mut with = made.clone();
        let extra = Step {
            name: "look it over".to_owned(),
            each: Spread::Certain(7.0),
            ..bare().steps[0].clone()
        };
        if first {
            with.steps.insert(0, extra);
            for material in &mut with.materials {
                material.at += 1;
            }
        } else {
            with.steps.push(extra);
        }
        // Pieces that are made again, or never get there, would take their seven minutes too, or not.
        let (mut made, mut with) = (made, with);
        for step in made.steps.iter_mut().chain(&mut with.steps) {
            step.spoil = 0.0;
        }
        made.pace = Spread::Certain(1.25);
        with.pace = Spread::Certain(1.25);
        for (one, other) in simulate(&made, TRIALS, 1).iter().zip(simulate(&with, TRIALS, 1)) {
            let longer = 1.25 * 7.0 * f64::from(one.size) / 60.0;
            for (x, y) in one.hours.iter().zip(&other.hours) {
                prop_assert!((y - x - longer).abs() <= 1e-12 * y, "{x} and {longer} is not {y}");
            }
        }
    }

    /// Steps do not know of each other: two together take, trial by trial, what each takes alone.
    #[test]
    fn steps_add_up_run_by_run(one in any_step(1), other in any_step(2)) {
        let with = |steps: &[&Step]| {
            let mut made = bare();
            made.batch.sizes = vec![1, 9, 66];
            made.steps = steps.iter().map(|s| Step { spoil: 0.0, ..(*s).clone() }).collect();
            simulate(&made, TRIALS, 3)
        };
        let (alone_1, alone_2, both) = (with(&[&one]), with(&[&other]), with(&[&one, &other]));
        for ((x, y), z) in alone_1.iter().zip(&alone_2).zip(&both) {
            for trial in 0..TRIALS as usize {
                let sum = x.hours[trial] + y.hours[trial];
                prop_assert!((sum - z.hours[trial]).abs() <= 1e-12 * sum);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    /// Threads and vector paths change no byte of the answer.
    #[test]
    fn threads_and_paths_change_nothing(made in any_scenario()) {
        // More blocks than threads, the last one not full.
        let trials = 2100;
        let reference = json(&run(&made, trials));
        let plan = Plan::new(&made);
        for threads in [1, 2, 7] {
            let settings = Settings { threads: Some(threads), ..settings(trials) };
            prop_assert_eq!(&json(&sweep::run(&made, &settings, &|_| ())), &reference);
        }
        for path in Path::available() {
            let engine = Engine::new(&plan, settings(trials).seed).on_path(path);
            let found = sweep::answer(&made, &plan, engine, &settings(trials), &|_| ());
            prop_assert_eq!(&json(&found), &reference, "{:?}", path);
        }
    }

    /// Going on until the floor is known closely enough gives what that many trials give at once.
    #[test]
    fn within_is_a_fixed_run_of_the_same_length(made in any_scenario(), first in 200_u64..3000) {
        let mut made = made;
        made.batch.sizes = vec![4, 10];
        let asked = 0.05;
        let mut found = sweep::run(&made, &Settings { within: Some(asked), ..settings(first) }, &|_| ());
        let within = found.within.take().expect("it serialises");
        prop_assert!(within.reached && within.widest <= asked && within.asked == asked, "{within:?}");
        let widest = found.sizes.iter().map(|s| s.floor_asked.relative_width()).fold(0.0, f64::max);
        prop_assert_eq!(widest, within.widest);
        let fixed = run(&made, found.trials);
        prop_assert_eq!(json(&found), json(&fixed));
    }
}

/// Where memory ends first, it is said that the width was not reached.
#[test]
fn within_owns_up_to_what_it_could_not_reach() {
    let mut made = bare();
    made.batch.sizes = vec![1];
    made.steps[0].each = Spread::triangular(ThreePoint {
        low: 2.0,
        likely: 3.0,
        high: 9.0,
    });
    let plan = Plan::new(&made);
    // Columns of 2048 trials of one size.
    let engine = Engine::new(&plan, 1).with_column_budget(1024 * 3 * 8);
    let settings = Settings {
        within: Some(1e-6),
        ..settings(500)
    };
    let found = sweep::answer(&made, &plan, engine, &settings, &|_| ());
    let within = found.within.expect("it serialises");
    assert!(!within.reached && within.widest > 1e-6, "{within:?}");
    assert_eq!(found.trials, 2048);
}

/// A larger seed is another sample, the same seed the same.
#[test]
fn the_seed_decides() {
    let mut made = bare();
    made.steps[0].each = Spread::triangular(ThreePoint {
        low: 2.0,
        likely: 3.0,
        high: 9.0,
    });
    let hours = |seed: u64| simulate(&made, 100, seed).remove(0).hours;
    assert_eq!(hours(1), hours(1));
    assert!(hours(1).iter().zip(&hours(2)).all(|(x, y)| x != y));
    // More trials go on where fewer ended.
    assert_eq!(simulate(&made, 1000, 1)[0].hours[..100], hours(1));
    let (mean, _) = stats::mean_variance(&hours(1));
    close(60.0 * mean, 14.0 / 3.0, 1.0, "minutes");
}
