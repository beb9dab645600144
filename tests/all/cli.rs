//! The program as its users meet it: exit codes, streams, files, and what it says.

mod refused;

use crate::program::{batchwright, names, scratch};
use std::collections::BTreeSet;
use std::fs;

use crate::shipped::{self, shipped};
use batchwright_core::scenario::keys;
use predicates::prelude::*;
use predicates::str::contains;

/// Few trials: these tests ask how it is said, not how exact it is.
const QUICK: &str = "--trials=300";

/// Everything certain: setup 60 min, each 15, an order 20, stock 5, price 50, target 40.
const CERTAIN: &str = "
title = 'Certain'
currency = 'EUR'
target = 40
[batch]
sizes = '1..10'
[[step]]
name = 'make'
setup = '60 min'
each = '15 min'
[[step]]
name = 'pack'
per_order = '20 min'
[[material]]
name = 'stock'
per_piece = 1
price = 5
[sale]
price = 50
";

fn json(arguments: &[&str], input: &str) -> serde_json::Value {
    let output = batchwright().args(arguments).write_stdin(input).assert().success();
    serde_json::from_slice(&output.get_output().stdout).expect("JSON")
}

// ---- What it answers ---------------------------------------------------------------------------------------------------

/// Every shipped scenario with nothing but defaults: the whole page, as it is printed.
#[test]
fn shipped_scenarios_say_what_they_said() {
    for name in shipped::names() {
        let output = batchwright()
            .arg("sweep")
            .arg(shipped(name))
            .assert()
            .success()
            .stderr("");
        let page = String::from_utf8(output.get_output().stdout.clone()).expect("text");
        // The version changes with every release and says nothing about the answer.
        let page = page.replace(
            concat!("batchwright ", env!("CARGO_PKG_VERSION")),
            "batchwright VERSION",
        );
        insta::assert_snapshot!(name, page);
    }
}

/// They show what they were made to show.
#[test]
fn shipped_scenarios_tell_different_stories() {
    let says = |name: &str, words: &str| {
        batchwright()
            .arg("sweep")
            .arg(shipped(name))
            .args(["--trials", "20000"])
            .assert()
            .success()
            .stdout(contains(words));
    };
    says("oak-peg-rail", "or more at a time");
    says("stoneware-mugs", "it takes another round, which has its own setup");
    says("card-wallet", "Charge at least");
    says("letterpress-cards", "or more at a time");
    says("oak-coat-stand", "below ");
    says("ash-dining-table", "is too little.");
    says("spinning-tops", "because not all of them sell");
}

/// The figures that must come out exactly where nothing varies: 95 min earn 45, 410 min earn 450; floors by the target.
#[test]
fn a_certain_scenario_is_exact() {
    let answer = json(&["sweep", "-", "--format=json", "--trials=100"], CERTAIN);
    let close = |value: &serde_json::Value, expected: f64| {
        let found = value.as_f64().expect("a number");
        assert!((found - expected).abs() < 5e-8 * expected, "{found} against {expected}");
    };
    let (one, ten) = (&answer["sizes"][0], &answer["sizes"][9]);
    close(&one["rate"]["long_run"], 28.421_052_6);
    close(&one["floor_asked"]["price"], 68.333_333_3);
    close(&ten["rate"]["long_run"], 65.853_658_5);
    close(&ten["floor_asked"]["price"], 32.333_333_3);
    close(&answer["ceiling"], 77.142_857_1);
    // 45 for 35 + 60 / n minutes reaches 40 an hour from n = 60 / 32.5 = 1.85 on.
    assert_eq!(answer["first_paying_size"], 2);
}

#[test]
fn json_keeps_its_contract() {
    let file = shipped("oak-peg-rail");
    let answer = json(&["sweep", file.as_str(), "--format=json", QUICK], "");
    let has = |value: &serde_json::Value, keys: &[&str]| {
        for key in keys {
            assert!(value.get(key).is_some(), "{key} is missing in {value}");
        }
    };
    has(
        &answer,
        &[
            "title",
            "currency",
            "price",
            "target",
            "confidence",
            "trials",
            "seed",
            "version",
            "ceiling",
            "first_paying_size",
            "level_size",
            "sizes",
        ],
    );
    let sizes = answer["sizes"].as_array().expect("a list");
    assert_eq!(sizes.len(), 40);
    for size in sizes {
        has(
            size,
            &[
                "size",
                "good",
                "sold",
                "hours",
                "hours_per_piece",
                "setup_share",
                "profit",
                "rate",
                "reach",
                "floor",
                "floor_asked",
                "floor_long_run",
            ],
        );
        has(&size["good"], &["mean", "se"]);
        has(&size["sold"], &["mean", "se"]);
        has(&size["hours"], &["mean", "se", "p10", "p50", "p90"]);
        has(&size["hours_per_piece"], &["mean", "p10", "p50", "p90"]);
        has(&size["profit"], &["mean", "se", "p10", "p50", "p90"]);
        has(&size["rate"], &["mean", "p10", "p50", "p90", "long_run", "long_run_se"]);
        has(&size["reach"], &["share", "low", "high"]);
        has(&size["floor_asked"], &["confidence", "price", "low", "high"]);
        let floors: Vec<f64> = size["floor"]
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(|f| f["confidence"].as_f64())
            .collect();
        assert_eq!(floors, [0.5, 0.8, 0.9]);
    }
}

#[test]
fn csv_has_a_line_for_every_size() {
    let output = batchwright()
        .arg("sweep")
        .arg(shipped("oak-peg-rail"))
        .args(["--format=csv", QUICK])
        .assert()
        .success();
    let mut lines = csv::Reader::from_reader(output.get_output().stdout.as_slice());
    assert_eq!(lines.records().filter(|line| line.is_ok()).count(), 40);
}

#[test]
fn the_same_bytes_for_any_number_of_threads() {
    let page = |threads: &str, format: &str| {
        let file = shipped("stoneware-mugs");
        let run = batchwright()
            .arg("sweep")
            .arg(file)
            .args(["--trials=5000", "--threads", threads, "--format", format])
            .assert();
        run.success().get_output().stdout.clone()
    };
    for format in ["text", "json", "csv"] {
        let one = page("1", format);
        assert!(page("2", format) == one && page("7", format) == one, "{format}");
    }
}

#[test]
fn another_seed_gives_other_draws_and_the_same_seed_the_same() {
    let with = |seed: &str| {
        let file = shipped("oak-peg-rail");
        batchwright()
            .arg("sweep")
            .arg(file)
            .args([QUICK, "--format=csv", "--seed", seed])
            .assert()
            .success()
            .get_output()
            .stdout
            .clone()
    };
    assert!(with("1") == with("1"));
    assert!(with("1") != with("2"));
}

#[test]
fn values_can_be_set_for_one_call() {
    let asked = |extra: &[&str]| {
        let arguments = [&["sweep", "-", "--format=json", "--trials=100"], extra].concat();
        json(&arguments, CERTAIN)
    };
    assert_eq!(asked(&["--price", "62"])["price"], 62.0);
    assert_eq!(asked(&["--set", "sale.price=62"]), asked(&["--price", "62"]));
    assert_eq!(asked(&["--target", "35.5"])["target"], 35.5);
    assert_eq!(
        asked(&["--set", "batch.sizes=3..5"])["sizes"].as_array().map(Vec::len),
        Some(3)
    );
    // 30 + 15 + 20 min, to the last digits that a sum may lose.
    let hours = asked(&["--set", "step.make.setup=30 min"])["sizes"][0]["hours"]["mean"].as_f64();
    assert!(
        hours.is_some_and(|hours| (hours - 65.0 / 60.0).abs() < 1e-14),
        "{hours:?}"
    );
}

#[test]
fn within_goes_on_until_the_floor_is_known_that_closely() {
    let file = shipped("oak-peg-rail");
    let arguments = [
        "sweep",
        file.as_str(),
        "--set",
        "batch.sizes=[4, 8]",
        "--within",
        "1%",
        "--trials=200",
    ];
    let answer = json(&[&arguments[..], &["--format=json"]].concat(), "");
    assert!(answer["trials"].as_u64() > Some(200));
    for size in answer["sizes"].as_array().expect("a list") {
        let floor = |key: &str| size["floor_asked"][key].as_f64().expect("finite");
        assert!((floor("high") - floor("low")) / floor("price") <= 0.01, "{size}");
    }
}

#[test]
fn all_shows_every_size() {
    let rows = |extra: &[&str]| {
        let output = batchwright()
            .arg("sweep")
            .arg(shipped("oak-peg-rail"))
            .arg(QUICK)
            .args(extra)
            .assert()
            .success();
        let page = String::from_utf8_lossy(&output.get_output().stdout).into_owned();
        page.lines()
            .filter(|line| line.contains(" h ") && line.contains(" % "))
            .count()
    };
    assert!(rows(&["--all"]) > rows(&[]));
}

// ---- Files -------------------------------------------------------------------------------------------------------------

#[test]
fn charts_are_written_by_their_ending() {
    let folder = scratch();
    for (name, start) in [
        ("a.svg", b"<svg".as_slice()),
        ("b.png", b"\x89PNG\r\n\x1a\n"),
        ("c.PNG", b"\x89PNG\r\n\x1a\n"),
    ] {
        let path = folder.path().join(name);
        batchwright()
            .arg("sweep")
            .arg(shipped("oak-peg-rail"))
            .args([QUICK, "--chart"])
            .arg(&path)
            .assert()
            .success();
        let bytes = fs::read(&path).expect("written");
        let head = &bytes[..bytes.len().min(200)];
        assert!(head.windows(start.len()).any(|w| w == start), "{name}: {head:?}");
    }
    assert_eq!(names(folder.path()), ["a.svg", "b.png", "c.PNG"]);
}

#[test]
fn out_takes_the_answer_and_leaves_standard_output_empty() {
    let folder = scratch();
    let path = folder.path().join("answer.txt");
    fs::write(&path, "Oak peg rail, five pegs\nan older answer").expect("write");
    batchwright()
        .arg("sweep")
        .arg(shipped("oak-peg-rail"))
        .args([QUICK, "--out"])
        .arg(&path)
        .assert()
        .success()
        .stdout("");
    let page = fs::read_to_string(&path).expect("written");
    assert!(page.contains("Oak peg rail") && !page.contains('\u{1b}'), "{page}");
    assert_eq!(names(folder.path()), ["answer.txt"]);
}

#[test]
fn a_refusal_leaves_every_file_as_it_was() {
    let folder = scratch();
    let (out, chart) = (folder.path().join("out.txt"), folder.path().join("chart.svg"));
    fs::write(&out, "mine").expect("write");
    let untouched = || {
        assert_eq!(fs::read_to_string(&out).expect("read"), "mine");
        assert_eq!(names(folder.path()), ["out.txt"]);
    };
    // A fault in the scenario.
    let mut run = batchwright();
    run.args(["sweep", "-", "--out"])
        .arg(&out)
        .arg("--chart")
        .arg(&chart)
        .write_stdin("target = 'much'");
    run.assert().code(2).stdout("");
    untouched();
    // A chart that cannot be placed: the answer beside it is not written either.
    let mut run = batchwright();
    run.args(["sweep", "-", "--trials=100", "--out"])
        .arg(&out)
        .arg("--chart")
        .arg(folder.path().join("nowhere/chart.svg"));
    run.write_stdin(CERTAIN)
        .assert()
        .code(1)
        .stdout("")
        .stderr(contains("there is no folder"));
    untouched();
    // A flag that cannot be.
    let mut run = batchwright();
    run.args(["sweep", "-", "--out"])
        .arg(&out)
        .args(["--chart", "x.gif"])
        .write_stdin(CERTAIN);
    run.assert().code(2).stdout("").stderr(contains(".svg or .png"));
    untouched();
}

#[test]
fn out_never_overwrites_the_scenario_or_the_chart() {
    let folder = scratch();
    let file = folder.path().join("shop.toml");
    fs::write(&file, CERTAIN).expect("write");
    for flags in [
        vec!["--out", "shop.toml"],
        vec!["--out", "./shop.toml"],
        vec!["--out", "same.svg", "--chart", "same.svg"],
    ] {
        let mut run = batchwright();
        run.current_dir(folder.path())
            .args(["sweep", "shop.toml", "--trials=100"])
            .args(flags);
        run.assert().code(2).stdout("").stderr(contains("choose another name"));
        assert_eq!(fs::read_to_string(&file).expect("read"), CERTAIN);
        assert_eq!(names(folder.path()), ["shop.toml"]);
    }
}

#[test]
fn new_writes_starters_that_check_and_never_overwrites() {
    let folder = scratch();
    // Without a kind the kinds are named, and nothing is written.
    let kinds = batchwright()
        .arg("new")
        .assert()
        .code(2)
        .stdout("")
        .get_output()
        .stderr
        .clone();
    let kinds = String::from_utf8(kinds).expect("text");
    for kind in ["batch", "kiln-load", "bespoke"] {
        assert!(kinds.contains(&format!("batchwright new {kind}")), "{kinds}");
        let path = folder.path().join(kind).with_extension("toml");
        batchwright()
            .args(["new", kind, "--out"])
            .arg(&path)
            .assert()
            .success()
            .stdout("")
            .stderr(contains("batchwright check"));
        let printed = batchwright()
            .args(["new", kind])
            .assert()
            .success()
            .stderr("")
            .get_output()
            .stdout
            .clone();
        assert_eq!(fs::read(&path).expect("written"), printed);
        batchwright()
            .arg("check")
            .arg(&path)
            .assert()
            .success()
            .stderr("")
            .stdout(contains("Steps"));
        batchwright()
            .arg("sweep")
            .arg(&path)
            .arg(QUICK)
            .assert()
            .success()
            .stderr("");
        fs::write(&path, "my figures").expect("write");
        batchwright()
            .args(["new", kind, "--out"])
            .arg(&path)
            .assert()
            .code(2)
            .stderr(contains("exists"));
        assert_eq!(fs::read_to_string(&path).expect("read"), "my figures");
    }
}

// ---- Help --------------------------------------------------------------------------------------------------------------

#[test]
fn help_has_examples_everywhere() {
    for command in [
        &["--help"][..],
        &["new", "--help"],
        &["check", "--help"],
        &["sweep", "--help"],
        &["completions", "--help"],
    ] {
        batchwright()
            .args(command)
            .assert()
            .success()
            .stderr("")
            .stdout(contains("Examples:").and(contains("batchwright ")));
    }
}

#[test]
fn keys_are_told_whole_or_by_section() {
    let said = |arguments: &[&str]| {
        let out = batchwright().args(arguments).output().unwrap();
        assert!(out.status.success());
        String::from_utf8(out.stdout).unwrap()
    };
    let step = said(&["keys", "step"]);
    assert!(step.starts_with("[[step]]\n") && !step.contains("[sale]\n"), "{step}");
    assert!(
        step.contains("  room = 6\n      How many pieces one setup holds"),
        "{step}"
    );
    assert!(said(&["keys"]).contains("[sale]\n") && said(&["keys"]).contains(&step));
    let table: serde_json::Value = serde_json::from_str(&said(&["keys", "--json", "batch"])).unwrap();
    assert_eq!(table[0]["keys"][1]["takes"]["choice"][1]["word"], "remake");
    let refused = batchwright().args(["keys", "steps"]).output().unwrap();
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("there is no section `steps`"));
    // A key's name leads to where it stands.
    let key = batchwright().args(["keys", "post"]).output().unwrap();
    assert_eq!(key.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&key.stderr).contains("batchwright keys sale channel"));
}

/// A file's name mistyped, its ending left out, or the file put where the command is due.
#[test]
fn a_file_that_is_meant_is_named() {
    let folder = scratch();
    fs::write(folder.path().join("spoon.toml"), CERTAIN).expect("write");
    for (arguments, code, said) in [
        (vec!["check", "spoon.tml"], 1, "did you mean spoon.toml?"),
        (vec!["check", "spoon"], 1, "did you mean spoon.toml?"),
        (vec!["spoon.toml"], 2, "batchwright check spoon.toml"),
    ] {
        let mut run = batchwright();
        run.current_dir(folder.path()).args(arguments);
        run.assert().code(code).stdout("").stderr(contains(said));
    }
    let far = batchwright()
        .current_dir(folder.path())
        .args(["check", "elsewhere.toml"])
        .assert()
        .code(1);
    assert!(!String::from_utf8_lossy(&far.get_output().stderr).contains("did you mean"));
}

#[test]
fn completions_are_made_for_every_shell() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        batchwright()
            .args(["completions", shell])
            .assert()
            .success()
            .stderr("")
            .stdout(contains("sweep"));
    }
}

#[test]
fn nothing_is_coloured_but_on_a_terminal() {
    batchwright()
        .arg("sweep")
        .arg(shipped("oak-peg-rail"))
        .arg(QUICK)
        .assert()
        .success()
        .stdout(contains("\u{1b}").not());
    batchwright()
        .args(["check", "-"])
        .write_stdin("target = -1")
        .assert()
        .code(2)
        .stderr(contains("\u{1b}").not());
}

#[test]
fn doubts_are_remarked_and_do_not_stop() {
    let text = CERTAIN.replace("price = 5\n", "price = 5\nwaste = '150 %'\n");
    for command in [&["check", "-"][..], &["sweep", "-", "--trials=100"]] {
        batchwright()
            .args(command)
            .write_stdin(text.as_str())
            .assert()
            .success()
            .stderr(contains("waste averages 150 %"));
    }
}

/// Keys that stand in a text as they are used, each with its section; what stands in braces is of a range or a price break.
fn shown_keys(text: &str) -> BTreeSet<(String, String)> {
    let mut shown = BTreeSet::new();
    let mut section = String::new();
    for line in text.lines() {
        let code = line.split_once(" #").map_or(line, |(code, _)| code).trim();
        if code.starts_with('#') {
            continue;
        }
        if code.starts_with('[') {
            code.trim_matches(['[', ']']).clone_into(&mut section);
            continue;
        }
        let Some((key, value)) = code.split_once('=') else {
            continue;
        };
        // Each file begins with it.
        if key.trim() == "title" {
            section.clear();
        }
        shown.insert((section.clone(), key.trim().to_owned()));
        let braced = value.split_once('{').map_or("", |(_, inside)| inside);
        for word in braced.split([',', '{', '}']).filter_map(|part| part.split_once('=')) {
            for of in ["range", "breaks"] {
                shown.insert((of.to_owned(), word.0.trim().to_owned()));
            }
        }
    }
    shown
}

/// The shipped scenarios are examples: nothing in them is doubtful, and together they show every key there is.
#[test]
fn shipped_scenarios_check_without_doubts_and_show_every_key() {
    let mut all = String::new();
    for name in shipped::names() {
        batchwright()
            .arg("check")
            .arg(shipped(name))
            .assert()
            .success()
            .stderr("");
        all.push_str(&fs::read_to_string(shipped(name)).expect("read"));
    }
    let shown = shown_keys(&all);
    // What is a key of [sale] stands under one of the ways of selling.
    let selling = ["sale", "channel", "selling_day", "seconds"];
    let shows = |section: &str, name: &str| {
        let sections = if keys::key("sale", name).is_some() && selling.contains(&section) {
            &selling[..]
        } else {
            &[section][..]
        };
        sections
            .iter()
            .any(|section| shown.contains(&((*section).to_owned(), name.to_owned())))
    };
    let missing: Vec<(&str, &str)> = keys::all()
        .map(|(section, key)| (section, key.name))
        // Guesses are put there by `fit --write`.
        .filter(|(section, name)| !name.starts_with(keys::GUESSED) && !shows(section, name))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
    let words = [
        "\"remake\"",
        "\"short\"",
        "\"batch\"",
        "\"lost\"",
        "\"keep\"",
        "\"pert\"",
        "\"lognormal\"",
        "\"tenths\"",
        " step ",
    ];
    let unsaid: Vec<&&str> = words.iter().filter(|word| !all.contains(**word)).collect();
    assert!(unsaid.is_empty(), "{unsaid:?}");
}

/// Pictures have no letters of other scripts, and that is said; an SVG has them.
#[test]
fn letters_that_a_picture_lacks_are_said() {
    let place = scratch();
    let file = place.path().join("bowl.toml");
    fs::write(&file, CERTAIN.replace("'make'", "'釉薬'")).expect("written");
    let run = |arguments: &[&str]| {
        let mut command = batchwright();
        command.current_dir(place.path());
        command.args(arguments).arg(QUICK).assert().success()
    };
    let said = "the font of charts has no 釉, 薬: bars stand in their place; an SVG shows them";
    run(&["drivers", "bowl.toml", "--chart", "bowl.png"]).stderr(contains(said));
    run(&["drivers", "bowl.toml", "--chart", "bowl.svg"]).stderr("");
    run(&["report", "bowl.toml", "--only", "drivers", "--out", "bowl.xlsx"]).stderr(contains(said));
    run(&["report", "bowl.toml", "--only", "drivers", "--out", "bowl.html"]).stderr("");
}
