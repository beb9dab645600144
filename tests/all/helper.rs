//! A helper who does some steps for a wage, by hand and by law.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, normal_bound, scenario, settings};
use batchwright_core::model;
use batchwright_core::questions::{drivers, stress, sweep};

/// The maker cuts, the helper sands: half an hour to begin with and 9 min a piece at 20 an hour.
const BENCH: &str = r#"
target = 30
currency = "EUR"
[batch]
sizes = [2, 8]
[pace]
factor = 1.5
[[step]]
name = "cut"
setup = "20 min"
each = "15 min"
[[step]]
name = "sand"
once = "2 h"
setup = "30 min"
each = "9 min"
done_by = "helper"
[[step]]
name = "pack"
per_order = "10 min"
[helper]
wage = 20
[sale]
price = 40
[shop]
per_hour = 4
"#;

/// Eight at a pace of one and a half: what the design takes once is the maker's, whoever does the step.
#[test]
fn eight_by_hand() {
    let shop = scenario(BENCH);
    let hours = 1.5 * (120.0 + 20.0 + 8.0 * 15.0 + 8.0 * 10.0) / 60.0;
    let helped = 1.5 * (30.0 + 8.0 * 9.0) / 60.0;
    let profit = 320.0 - 20.0 * helped - 4.0 * hours;
    close(model::hours(&shop, 8), hours, 1e-12, "hours");
    close(
        model::hours::helper_hours(&shop, 8).iter().sum(),
        helped,
        1e-12,
        "helper",
    );
    close(model::money(&shop, 8).unwrap().profit(), profit, 1e-12, "profit");
    let answer = sweep::run(&shop, &settings(100), &|_| ());
    let eight = &answer.sizes[1];
    close(eight.hours.mean, hours, 1e-12, "simulated hours");
    close(eight.helper_hours.unwrap(), helped, 1e-12, "simulated helper");
    close(eight.money.wages, 20.0 * helped, 1e-12, "wages");
    close(eight.profit.mean, profit, 1e-12, "simulated profit");
    close(eight.setup_share, 1.5 * 20.0 / 60.0 / hours, 1e-12, "getting ready");
    let floor = 40.0 + (30.0 * hours - profit) / 8.0;
    close(eight.floor_asked.price.unwrap(), floor, 1e-12, "floor");
    close(
        model::money::floor(&shop, 8).unwrap().unwrap(),
        floor,
        1e-12,
        "floor by the model",
    );
    // In an endless batch 25 min of the maker's and 9 of the helper's, both half as long again.
    let ceiling = (40.0 - 1.5 * 0.15 * 20.0) / (1.5 * 25.0 / 60.0) - 4.0;
    close(model::ceiling(&shop), ceiling, 1e-12, "ceiling");
    let told = batchwright::render::understood::scenario(&shop, 110, true);
    assert!(told.contains("A helper does \"sand\" for 20.00 EUR an hour"), "{told}");
}

/// A minute less of the helper's saves a wage, a minute less of the maker's an hour.
#[test]
fn levers_by_hand() {
    let shop = scenario(BENCH);
    let answer = drivers::run(&shop, 8, &settings(20), &|_| ());
    let hours = 1.5 * 340.0 / 60.0;
    let profit = model::money(&shop, 8).unwrap().profit();
    let gain = |name: &str| {
        answer
            .levers
            .iter()
            .find(|l| l.name == name)
            .unwrap()
            .gain
            .unwrap()
            .mean
    };
    let saved = 1.5 * 8.0 / 60.0;
    close(gain("sand: each"), 20.0 * saved / hours, 1e-12, "sanding");
    let own = (profit + 4.0 * saved) / (hours - saved) - profit / hours;
    close(gain("cut: each"), own, 1e-12, "cutting");
    let step = answer.steps.iter().find(|step| step.name == "sand").unwrap();
    close(step.hours, 1.5 * (120.0 + 30.0 + 72.0) / 60.0, 1e-12, "all of sanding");
    let less = 0.1 * 1.5;
    let tenth = (profit + less * (4.0 * 2.0 + 20.0 * 102.0 / 60.0)) / (hours - less * 2.0) - profit / hours;
    close(step.tenth.unwrap().mean, tenth, 1e-12, "a tenth less of it");
}

/// A helper who is paid less is a lever, one who gets dearer a misfortune: eight take 8.5 h of the maker's and 2.55 h of the helper's.
#[test]
fn the_wage_by_hand() {
    let shop = scenario(BENCH);
    let (hours, helped) = (1.5 * 340.0 / 60.0, 1.5 * 102.0 / 60.0);
    let profit = 320.0 - 20.0 * helped - 4.0 * hours;
    let levers = drivers::run(&shop, 8, &settings(20), &|_| ()).levers;
    let wage = levers.iter().find(|l| l.kind == drivers::Kind::Wage).unwrap();
    close(wage.has, 20.0, 1e-12, "the wage");
    close(wage.gain.unwrap().mean, 1.0 * helped / hours, 1e-12, "one less");
    close(wage.tenth.unwrap().mean, 2.0 * helped / hours, 1e-12, "a tenth less");

    // At 40 the target is missed already; at 50 there are 60 more than it takes, and 51 are wages.
    let dear = scenario(&BENCH.replace("price = 40", "price = 50"));
    let found = stress::run(&dear, 8, &settings(20), &|_| ());
    let helper = found
        .misfortunes
        .iter()
        .find(|m| m.kind == stress::Kind::Helper)
        .unwrap();
    let surplus = profit + 80.0 - 30.0 * hours;
    close(
        helper.target_lost.at.unwrap(),
        surplus / (20.0 * helped),
        1e-10,
        "target lost",
    );
    close(
        helper.nothing_earned.at.unwrap(),
        (profit + 80.0) / (20.0 * helped),
        1e-12,
        "nothing earned",
    );
    let half = helper.strengths.iter().find(|s| s.strength == 0.5).unwrap();
    close(
        half.outcome.profit.mean,
        profit + 80.0 - 10.0 * helped,
        1e-12,
        "half dearer",
    );
    // All at once a tenth worse: the work of both takes a tenth longer, and an hour of the helper costs a tenth more.
    let all = found
        .misfortunes
        .iter()
        .find(|m| m.kind == stress::Kind::AllAtOnce)
        .unwrap();
    let worse = 400.0 - 22.0 * 1.1 * helped - 4.0 * 1.1 * hours;
    close(all.strengths[0].outcome.profit.mean, worse, 1e-12, "all a tenth worse");

    // Where the helper does nothing, the wage matters nothing.
    let idle = scenario(&BENCH.replace("done_by = \"helper\"\n", ""));
    let levers = drivers::run(&idle, 8, &settings(20), &|_| ()).levers;
    assert!(levers.iter().all(|l| l.kind != drivers::Kind::Wage));
    let found = stress::run(&idle, 8, &settings(20), &|_| ());
    assert!(found.misfortunes.iter().all(|m| m.kind != stress::Kind::Helper));
}

/// With chance in everything, rounds, redos, spoil and pieces made again: the mean by the model.
#[test]
fn chance_by_law() {
    for spoiled in ["short", "remake"] {
        let text = BENCH
            .replace("[batch]", &format!("[batch]\nspoiled = \"{spoiled}\""))
            .replace("factor = 1.5", "factor = \"0.8 / 1 / 1.9\"")
            .replace("each = \"15 min\"", "each = \"8 / 15 / 30 min\"\nspoil = \"12 %\"")
            .replace(
                "each = \"9 min\"",
                "each = \"4 / 9 / 20 min\"\nredo = \"20 %\"\nspoil = \"10 %\"\nroom = 3\nlearning = \"90 %\"",
            );
        let shop = scenario(&text);
        for at in sweep::run(&shop, &settings(40_000), &|_| ()).sizes {
            let bound = normal_bound(ALARM) * at.hours.se;
            let due = model::hours(&shop, at.size);
            assert!((at.hours.mean - due).abs() < bound, "{due}: {:?}", at.hours);
            let bound = normal_bound(ALARM) * at.profit.se;
            let due = model::money(&shop, at.size).unwrap().profit();
            assert!((at.profit.mean - due).abs() < bound, "{due}: {:?}", at.profit);
        }
    }
}
