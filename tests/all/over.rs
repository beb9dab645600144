//! `sweep --over` from outside: agreement with `sweep` itself, refusals, and every face of every shipped scenario.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::program::batchwright;
use crate::shipped::{self, shipped};
use assert_cmd::Command;
use predicates::prelude::PredicateBooleanExt;
use predicates::str::contains;
use serde_json::Value;

fn sweep(arguments: &[&str]) -> Command {
    let mut command = batchwright();
    command.arg("sweep").args(arguments);
    command
}

fn stdout(arguments: &[&str]) -> String {
    String::from_utf8(sweep(arguments).assert().success().get_output().stdout.clone()).unwrap()
}

fn json(arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.extend(["--format", "json"]);
    serde_json::from_str(&stdout(&all)).unwrap()
}

/// A point is what `sweep` says of that size with that value set, to the last digit.
#[test]
fn a_point_is_the_sweep_with_that_value() {
    let rail = shipped("oak-peg-rail");
    let over = json(&[
        &rail,
        "--over",
        "step.sand and oil.each=6..12 step 3 min",
        "--size",
        "8",
        "--trials",
        "3000",
    ]);
    for (point, value) in over["points"]
        .as_array()
        .unwrap()
        .iter()
        .zip(["6 min", "9 min", "12 min"])
    {
        let set = format!("step.sand and oil.each={value}");
        let alone = json(&[&rail, "--set", &set, "--set", "batch.sizes=8", "--trials", "3000"]);
        let size = &alone["sizes"][0];
        for (ours, theirs) in [
            (&point["rate"], &size["rate"]),
            (&point["reach"], &size["reach"]),
            (&point["floor"], &size["floor_asked"]),
            (&point["floor_long_run"], &size["floor_long_run"]),
        ] {
            assert_eq!(ours, theirs, "{value}");
        }
    }
}

/// The target is reached where a trial's own floor is at or below the price, so the price from which it is reached surely enough
/// and the price floor lie between the same two prices.
#[test]
fn the_price_from_which_it_pays_is_the_floor() {
    let rail = shipped("oak-peg-rail");
    let over = json(&[
        &rail,
        "--over",
        "sale.price=50..80 step 1",
        "--size",
        "6",
        "--trials",
        "20000",
    ]);
    let alone = json(&[&rail, "--set", "batch.sizes=6", "--trials", "20000"]);
    let floor = alone["sizes"][0]["floor_asked"]["price"].as_f64().unwrap();
    let [crossing] = over["crossings"].as_array().unwrap().as_slice() else {
        panic!("{}", over["crossings"])
    };
    let figure = |key: &str| crossing[key].as_f64().unwrap();
    assert!(figure("from") < floor && floor <= figure("to"), "{crossing} {floor}");
    assert!((figure("value") - floor).abs() < 1e-9 * floor, "{crossing} {floor}");
    let text = stdout(&[
        &rail,
        "--over",
        "sale.price=50..80 step 1",
        "--size",
        "6",
        "--trials",
        "20000",
    ]);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let gap = format!("; {} and {} were looked at.", figure("from"), figure("to"));
    assert!(
        words.contains(" Set the price at about ")
            && words.contains(
                " EUR or more. With such a value you earn 32 EUR an hour in at least 80 of 100 batches of 6."
            )
            && words.contains(" The target begins to be reached at ")
            && words.contains(&gap),
        "{words}"
    );
    // The price that reaches the target at one size is that size's floor, and so is its interval.
    for end in ["low", "high"] {
        let due = alone["sizes"][0]["floor_asked"][end].as_f64().unwrap();
        assert!((figure(end) - due).abs() < 1e-9 * due, "{crossing} {due}");
    }
}

/// Time is reached up to a value, not from it on.
#[test]
fn slower_work_pays_up_to_a_time() {
    let text = stdout(&[
        &shipped("oak-peg-rail"),
        "--over",
        "step.sand and oil.each=2..40 step 2 min",
        "--size",
        "9",
    ]);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains(" Keep the time per piece of 'sand and oil' at about ")
            && words.contains(" min or less.")
            && words.contains("In the file: step.sand and oil.each."),
        "{words}"
    );
}

#[test]
fn a_map_is_the_lists_side_by_side() {
    let rail = shipped("oak-peg-rail");
    let common = ["--size", "8", "--trials", "1000"];
    let run = |arguments: &[&str]| {
        let mut all = vec![rail.as_str()];
        all.extend(arguments);
        all.extend(common);
        json(&all)
    };
    let map = run(&["--over", "sale.price=50,60,70", "--over", "target=20,40"]);
    let points = map["points"].as_array().unwrap();
    assert_eq!(points.len(), 6);
    for (row, target) in ["20", "40"].iter().enumerate() {
        let list = run(&["--over", "sale.price=50,60,70", "--target", target]);
        for (column, point) in list["points"].as_array().unwrap().iter().enumerate() {
            let cell = &points[3 * row + column];
            assert_eq!(cell["at"], serde_json::json!([column, row]));
            assert_eq!(
                (&cell["rate"], &cell["reach"], &cell["floor"]),
                (&point["rate"], &point["reach"], &point["floor"])
            );
        }
    }
    assert_eq!(map["crossings"], serde_json::json!([]));
}

#[test]
fn values_without_numbers_are_gone_over_too() {
    let text = stdout(&[
        &shipped("stoneware-mugs"),
        "--over",
        "batch.spoiled=short,remake",
        "--trials",
        "1000",
    ]);
    assert!(text.contains("short") && text.contains("remake"), "{text}");
    let ranges = json(&[
        &shipped("oak-peg-rail"),
        "--over",
        "step.drill.each=[\"1 / 2 / 3 min\", \"2 / 3 / 5 min\"]",
        "--trials",
        "1000",
    ]);
    assert_eq!(ranges["axes"][0]["numbers"], Value::Null);
    assert_eq!(ranges["points"].as_array().unwrap().len(), 2);
}

#[test]
fn every_shipped_scenario_answers_on_every_face() {
    let folder = tempfile::tempdir().unwrap();
    for name in shipped::names() {
        let file = shipped(name);
        let chart = folder.path().join("chart.svg");
        let price = json(&[&file, "--trials", "100"])["price"].as_f64().unwrap();
        let over = format!("sale.price={}..{}", (price * 0.7).round(), (price * 1.3).round());
        for axes in [
            vec!["--over", &over],
            vec!["--over", &over, "--over", "pace.factor=0.8..1.4 step 0.1"],
        ] {
            let with = |more: &[&str]| {
                let mut all = vec![file.as_str(), "--trials", "1000"];
                all.extend(&axes);
                all.extend(more);
                stdout(&all)
            };
            let text = with(&["--chart", chart.to_str().unwrap()]);
            assert!(text.contains("an hour") && !text.contains("NaN"), "{text}");
            roxmltree::Document::parse(&std::fs::read_to_string(&chart).unwrap()).unwrap();
            let csv = with(&["--format", "csv"]);
            let mut reader = csv::Reader::from_reader(csv.as_bytes());
            assert_eq!(&reader.headers().unwrap()[0], "sale.price");
            let rows = reader
                .records()
                .inspect(|row| assert!(row.is_ok(), "rows of one width"))
                .count();
            let parsed: Value = serde_json::from_str(&with(&["--format", "json"])).unwrap();
            assert_eq!(parsed["points"].as_array().unwrap().len(), rows, "{name}");
        }
    }
}

#[test]
fn threads_change_nothing() {
    let file = shipped("letterpress-cards");
    let with = |threads: &str| {
        stdout(&[
            &file,
            "--over",
            "sale.price=10..20 step 2",
            "--trials",
            "700",
            "--format",
            "json",
            "--threads",
            threads,
        ])
    };
    assert_eq!(with("1"), with("2"));
}

/// A fault names the flag that was typed, and the key as it is typed there.
#[test]
fn a_key_without_its_section_is_told_as_it_was_typed() {
    sweep(&[&shipped("oak-peg-rail"), "--over", "quote_won=20%..60%"])
        .assert()
        .code(2)
        .stderr(
            contains("[--over:1:1]")
                .and(contains("`sale.quote_won` or `channel.NAME.quote_won`"))
                .and(contains("--set").not()),
        );
    // What was wrong with another flag is still told of that one.
    sweep(&[
        &shipped("oak-peg-rail"),
        "--set",
        "room=3",
        "--over",
        "sale.price=50..60",
    ])
    .assert()
    .code(2)
    .stderr(contains("[--set:1:1]").and(contains("`step.NAME.room` or `jig.NAME.room`")));
}

#[test]
fn it_reads_standard_input_once() {
    let text = std::fs::read_to_string(shipped("card-wallet")).unwrap();
    sweep(&["-", "--over", "target=10,20", "--trials", "500"])
        .write_stdin(text)
        .assert()
        .success()
        .stdout(contains("target"));
}

/// What the reader refuses is told once, in its place, with its cure; nothing is written.
#[test]
fn faults_of_values_are_told_once_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (out, chart) = (folder.path().join("out.txt"), folder.path().join("chart.svg"));
    for (over, words) in [
        ("step.drill.spoil=90..120 % step 10 %", "This is the first of 2 values"),
        ("step.dril.each=1..3 step 1 min", "did you mean `drill`?"),
        ("sale.prise=1..3 step 1", "did you mean"),
        ("step.drill.each=1..3 step 1", "unit"),
        ("title.x=1,2", "has no parts to set"),
    ] {
        let file = shipped("oak-peg-rail");
        let output = sweep(&[
            &file,
            "--over",
            over,
            "--out",
            out.to_str().unwrap(),
            "--chart",
            chart.to_str().unwrap(),
        ])
        .assert()
        .code(2)
        .stdout("")
        .stderr(contains(words));
        let told = String::from_utf8(output.get_output().stderr.clone()).unwrap();
        assert_eq!(told.matches("nothing was computed").count(), 1, "{told}");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "{over}");
    }
}

#[test]
fn wrong_flags_are_refused_all_at_once() {
    let rail = shipped("oak-peg-rail");
    sweep(&[&rail, "--over", "batch.sizes=1..9"])
        .assert()
        .code(2)
        .stderr(contains("sweep itself goes over batch sizes"));
    sweep(&[
        &rail,
        "--over",
        "sale.price=60..40",
        "--over",
        "target=1",
        "--chart",
        "x.gif",
    ])
    .assert()
    .code(2)
    .stderr(
        contains("not below")
            .and(contains("one value"))
            .and(contains(".svg or .png")),
    );
    for flags in [
        &["--size", "3"][..],
        &["--over", "target=1,2", "--within", "1%"],
        &["--over", "target=1,2", "--size", "0"],
        &["--over", "target=1..300 step 1"],
    ] {
        let mut all = vec![rail.as_str()];
        all.extend(flags);
        sweep(&all).assert().code(2);
    }
}

/// Bench hours and what a jig costs are nothing that an hour earns: no value is told to be kept, or not to be counted on.
#[test]
fn what_changes_nothing_is_said_to() {
    let rail = shipped("oak-peg-rail");
    for (key, words) in [
        ("hours.sat=3..6", "bench hours on Saturday"),
        ("hours.thu=18:00..20:00,18:00..21:00", "bench hours on Thursday"),
        ("jig.peg drilling jig.cost=3..6", "cost of 'peg drilling jig'"),
    ] {
        for size in ["2", "12"] {
            let page = stdout(&[&rail, "--over", key, "--size", size, "--trials", "500"]).replace('\n', " ");
            let said = format!(
                "Look elsewhere: nothing of what an hour earns hangs on the {words}. At every value looked at an hour earns "
            );
            assert!(page.contains(&said), "{page}");
            assert!(
                !page.contains("Change something else") && !page.contains("own value"),
                "{page}"
            );
        }
    }
    let page = stdout(&[
        &rail,
        "--over",
        "hours.sat=3..6",
        "--over",
        "sale.price=60,64",
        "--trials",
        "500",
    ]);
    assert!(
        page.contains("Choose") || page.contains("Change something else"),
        "{page}"
    );
}

/// Where no value reaches the target in any batch, the nearest is the one with the best hour, and costs are covered where nothing more is wanted.
#[test]
fn the_nearest_of_none_has_the_best_hour() {
    let rail = shipped("oak-peg-rail");
    let told = |more: &[&str]| {
        let asked = [&[&rail, "--size", "1", "--trials", "300"], more].concat();
        stdout(&asked).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let fee = told(&["--over", "sale.fee=0..20 %"]);
    assert!(fee.contains("The nearest is 0 %, with none of 100 pieces."), "{fee}");
    let target = told(&["--over", "target=[40, 30, 60]"]);
    assert!(
        target.contains("The nearest is 30 EUR, with none of 100 pieces."),
        "{target}"
    );
    let costs = told(&["--over", "sale.price=20..60 step 10", "--target", "0"]);
    assert!(
        costs.contains("With such a value you cover your costs in at least 80 of 100 pieces"),
        "{costs}"
    );
}
