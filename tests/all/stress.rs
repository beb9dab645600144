//! `floor` and `stress` from outside: what they print for every shipped scenario, and own misfortunes in a file.

use crate::bounds::{binomial_bounds, scenario, settings};
use crate::program::batchwright;
use crate::shipped::{self, shipped};
use batchwright::render::Render;
use batchwright::render::text::Look;
use batchwright_core::questions::Settings;
use batchwright_core::questions::stress::{self, Breaking, Kind};
use batchwright_core::scenario::{Spread, ThreePoint, read};
use predicates::str::contains;
use serde_json::Value;

/// Every way of asking, few trials each.
const QUESTIONS: [&[&str]; 5] = [
    &["floor"],
    &["floor", "--size", "6"],
    &["floor", "--order", "1,6,12"],
    &["stress"],
    &["stress", "--size", "5", "--all"],
];

fn printed(question: &[&str], name: &str, more: &[&str]) -> String {
    let output = batchwright()
        .args(question)
        .arg(shipped(name))
        .args(["--trials", "200"])
        .args(more)
        .assert()
        .success()
        .stderr("");
    String::from_utf8(output.get_output().stdout.clone()).expect("text")
}

#[test]
fn every_shipped_scenario_answers_on_every_face() {
    let folder = tempfile::tempdir().expect("a folder");
    for name in shipped::names() {
        for question in QUESTIONS {
            let text = printed(question, name, &[]);
            assert!(
                text.contains("200 ") && text.contains(" of each") && !text.contains("NaN") && !text.contains("inf"),
                "{text}"
            );
            let json: Value = serde_json::from_str(&printed(question, name, &["--format", "json"])).expect("JSON");
            assert_eq!(json["trials"], 200);
            let csv = printed(question, name, &["--format", "csv"]);
            let mut reader = csv::Reader::from_reader(csv.as_bytes());
            let width = reader.headers().expect("header").len();
            let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
            assert!(!rows.is_empty() && rows.iter().all(|r| r.len() == width), "{name}");
            let chart = folder.path().join("chart.svg");
            printed(question, name, &["--chart", chart.to_str().expect("a name")]);
            let svg = std::fs::read_to_string(&chart).expect("a chart");
            let page = roxmltree::Document::parse(&svg).expect("well formed");
            assert_eq!(page.root_element().attribute("width"), Some("1000"));
        }
    }
}

#[test]
fn threads_change_no_byte() {
    for question in QUESTIONS {
        let with = |threads: &str| {
            printed(
                question,
                "letterpress-cards",
                &["--format", "json", "--threads", threads],
            )
        };
        assert_eq!(with("1"), with("2"), "{question:?}");
    }
}

#[test]
fn an_order_of_one_is_a_run_of_one() {
    // What sells all year lies in stock for a while, which an order does not; where seconds are sold nothing is made again; and a single piece
    // may go to a channel.
    let other = |name: &&str| {
        let text = std::fs::read_to_string(shipped(name)).expect("read");
        ["[steady]", "[seconds]", "[[channel]]"]
            .iter()
            .any(|section| text.contains(section))
    };
    for name in shipped::names().filter(|name| !other(name)) {
        let sizes = |question: &[&str]| {
            let json: Value = serde_json::from_str(&printed(question, name, &["--format", "json"])).expect("JSON");
            let size = json["sizes"][0].clone();
            (
                size["floor"].clone(),
                size["floor_asked"].clone(),
                size["long_run"].clone(),
            )
        };
        assert_eq!(
            sizes(&["floor", "--order", "1"]),
            // An order is filled: what is spoiled is made again.
            sizes(&["floor", "--size", "1", "--set", "batch.spoiled=remake"]),
            "{name}"
        );
    }
}

#[test]
fn the_words_tell_what_to_do() {
    // Lines are broken anywhere.
    let printed = |question: &[&str], name: &str, more: &[&str]| {
        printed(question, name, more)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let floor = printed(&["floor", "--size", "6"], "oak-peg-rail", &[]);
    assert!(
        floor.contains("a piece in batches of 6. You then earn the 32 EUR an hour you want in 80 of 100 batches."),
        "{floor}"
    );
    assert!(floor.contains("--set batch.spoiled=remake"), "{floor}");
    let order = printed(&["floor", "--order", "12"], "oak-peg-rail", &[]);
    assert!(!order.contains("is not made again"), "{order}");
    let stress = printed(&["stress", "--size", "20"], "oak-peg-rail", &[]);
    assert!(
        stress.contains("Keep your price of 62 EUR for batches of 20: it pays until the whole build goes"),
        "{stress}"
    );
    let poor = printed(&["stress", "--size", "2"], "oak-peg-rail", &[]);
    assert!(
        poor.contains("Raise your price of 62 EUR to about 98.") && poor.contains(" EUR for batches of 2"),
        "{poor}"
    );
    let mugs = printed(&["stress"], "stoneware-mugs", &[]);
    assert!(
        mugs.contains("In batches struck by 'a kiln element fails' you"),
        "{mugs}"
    );
    // An hour of a batch it strikes earns something: no number of batches makes it nothing.
    let row = mugs.split("a kiln element fails").nth(1).expect("its row");
    assert!(
        row.split('─').next().expect("its row").trim().ends_with("never"),
        "{row}"
    );
}

/// Nothing varies and nothing is spoiled or done again: no word of chance, and none of what the file does not have.
#[test]
fn where_nothing_varies_no_chance_is_told_of() {
    let certain = "target = 30\n[batch]\nsizes = [5]\n[[step]]\nname = 'saw'\nsetup = '30 min'\neach = '15 min'\n[[step]]\n\
                   name = 'pack'\nper_order = '10 min'\n[[material]]\nname = 'oak'\nper_piece = 1\nprice = 12\n[sale]\n";
    let asked = |sale: &str, face: &[&str]| {
        let found = batchwright()
            .args(["stress", "-"])
            .args(face)
            .write_stdin(format!("{certain}{sale}"))
            .assert()
            .success();
        let text = String::from_utf8(found.get_output().stdout.clone()).expect("text");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    // By hand: 155 min, so that 77.50 of 5 (price - 12) must be left: 27.50 is enough, 27 is not.
    let (holds, misses) = (asked("price = 28\npost = 0\n", &[]), asked("price = 27\n", &[]));
    for page in [&holds, &misses] {
        for word in ["of 100", "slowest", "simulated", "spoil", "redo", "postage", "seed"] {
            assert!(!page.contains(word), "{word}: {page}");
        }
        assert!(page.contains("Nothing varies here"), "{page}");
        assert!(page.contains("If work and material all get 10 % worse, you "), "{page}");
    }
    assert!(
        holds.contains("Keep your price of 28 XXX for batches of 5") && holds.contains("miss the target"),
        "{holds}"
    );
    assert!(
        misses.contains("Raise your price of 27 XXX to about 27.50 XXX for batches of 5"),
        "{misses}"
    );
    assert!(asked("price = 28\n", &["--format", "json"]).contains("\"certain\": true"));
}

#[test]
fn wrong_flags_are_refused() {
    for wrong in [
        ["floor", "--size", "0"],
        ["floor", "--sizes", "1,x"],
        ["floor", "--order", ""],
        ["stress", "--size", "-3"],
    ] {
        batchwright().args(wrong).arg(shipped("oak-peg-rail")).assert().code(2);
    }
    batchwright()
        .args(["floor", "--size", "2", "--order", "3"])
        .arg(shipped("oak-peg-rail"))
        .assert()
        .code(2)
        .stderr(contains("cannot be used with"));
}

const KILN: &str = "
target = 30
[[step]]
name = 'fire'
setup = '40 min'
each = '2 min'
[sale]
price = 20
[[misfortune]]
name = 'an element fails'
changes = [\"step.fire.setup = 60 / 90 / 150 min\", 'sale.post=2', \"step.'fire'.spoil = 10 %\"]
";

/// The price that pays is `floor`'s to the last digit, and of the same size, also where none pays and one is chosen.
#[test]
fn the_price_that_pays_is_that_of_floor() {
    for name in ["oak-peg-rail", "oak-coat-stand", "card-wallet"] {
        let asked = |question: &str| -> Value {
            let mut command = batchwright();
            let ran = command
                .args([question, &shipped(name), "--format=json"])
                .assert()
                .success();
            serde_json::from_slice(&ran.get_output().stdout).expect("JSON")
        };
        let (stress, floor) = (asked("stress"), asked("floor"));
        assert_eq!(stress["size"], floor["about"], "{name}");
        let sizes = floor["sizes"].as_array().expect("sizes");
        let at = sizes.iter().find(|at| at["size"] == stress["size"]).expect("its size");
        assert_eq!(stress["floor"], at["floor_asked"], "{name}");
    }
}

/// Of what is made to order one is ordered first of all; of the rest the largest order is told first.
#[test]
fn the_order_that_is_told_first_is_the_usual_one() {
    for (name, about) in [("ash-dining-table", 1), ("oak-peg-rail", 6)] {
        let found = printed(&["floor", "--order", "1,6", "--format=json"], name, &[]);
        let found: Value = serde_json::from_str(&found).expect("JSON");
        assert_eq!(found["about"], about, "{name}");
        assert!(found["once_an_order"]["minutes"].as_f64().expect("minutes") >= 0.0);
    }
}

#[test]
fn own_misfortunes_are_whole_changed_scenarios() {
    let scenario = read("kiln.toml", KILN, &[("sale.price".to_owned(), "25".to_owned())]).expect("is right");
    let [own] = scenario.misfortunes.as_slice() else {
        panic!("one misfortune");
    };
    assert_eq!(own.name, "an element fails");
    let struck = &own.scenario;
    let range = ThreePoint {
        low: 60.0,
        likely: 90.0,
        high: 150.0,
    };
    assert_eq!(struck.steps[0].setup, Spread::Triangular(range));
    assert_eq!((struck.steps[0].spoil, scenario.steps[0].spoil), (0.1, 0.0));
    assert_eq!(struck.sale.post, Spread::Certain(2.0));
    // What is set for one call holds in it too, and it has no misfortunes of its own.
    assert_eq!((struck.sale.price, scenario.sale.price), (25.0, 25.0));
    assert!(struck.misfortunes.is_empty());
}

/// With a season buyers may stay away by any share, also where that makes whole pieces of the batch, as 10 % of 20 do.
#[test]
fn in_a_season_buyers_stay_away_whatever_the_size() {
    let season = "[season]\nbuyers = \"10 / 20 / 40\"\nclearance = 8\n";
    let said = |size: u32, more: &str| {
        let text = KILN.split("[[misfortune]]").next().unwrap_or_default().to_owned() + more;
        let shop = read("kiln.toml", &text, &[]).expect("is right");
        let settings = settings(1_000);
        stress::run(&shop, size, &settings, &|_| ()).text(&Look::page(false))
    };
    for size in [20, 21] {
        let page = said(size, season);
        assert!(page.contains("fewer buyers") && !page.contains("unsold"), "{page}");
        assert!(said(size, "").contains("pieces unsold"));
    }
}

/// A fault in a change is shown where it is written, and all of them at once.
#[test]
fn faults_in_changes_have_their_place() {
    let text = KILN
        .replace("60 / 90 / 150 min", "60 / 90 / 80 min")
        .replace("'sale.post=2'", "'sale.pst=2'")
        .replace("10 %", "110 %");
    let faults = read("kiln.toml", &text, &[]).expect_err("is wrong");
    let shown: Vec<&str> = faults
        .iter()
        .map(|fault| {
            assert!(fault.is_in_file());
            &text[fault.span()]
        })
        .collect();
    assert_eq!(faults.count(), 3, "{faults}");
    assert!(shown.iter().any(|s| s.contains("pst")), "{shown:?}");
    assert!(shown.iter().any(|s| s.contains("80")), "{shown:?}");
    assert!(shown.iter().any(|s| s.contains("110")), "{shown:?}");
}

/// How often 400 seeds hold what 400 times as many trials find, where strengths are searched for. Of four counts of a true 95 % chance leaves one
/// outside of what the binomial allows here one time in 300.
#[test]
fn intervals_of_what_is_searched_for_hold() {
    let shop = scenario(
        "target = 30\n[batch]\nsizes = [12]\n[pace]\nfactor = '0.9 / 1 / 1.4'\n\
         [[step]]\nname = 'make'\nonce = '0.5 / 1 / 2 h'\nsetup = '20 / 30 / 60 min'\neach = '10 / 12 / 20 min'\nspoil = '3 %'\n\
         [[step]]\nname = 'glaze'\nsetup = '5 / 8 / 14 min'\neach = '6 / 9 / 14 min'\nredo = '8 %'\nroom = 5\n\
         [[step]]\nname = 'pack'\nper_order = '10 / 12 / 30 min'\n\
         [[material]]\nname = 'stock'\nper_piece = 1\nprice = '4 / 5 / 8'\n\
         [sale]\nprice = 48\nfee = '6 %'\npost = '3 / 4 / 7'\n",
    );
    let searched = |trials, seed| -> Vec<Breaking> {
        let with = Settings {
            seed,
            ..settings(trials)
        };
        let stress = stress::run(&shop, 12, &with, &|_| ());
        let of = |kind| {
            stress
                .misfortunes
                .iter()
                .find(|m| m.kind == kind)
                .expect("it may go wrong")
        };
        let kinds = [Kind::Spoil, Kind::Redo, Kind::AllAtOnce].map(of);
        kinds.iter().flat_map(|m| [m.target_lost, m.nothing_earned]).collect()
    };
    let truth = searched(160_000, 1_000_000);
    let (least, most) = binomial_bounds(400, 0.95, 8e-4);
    let mut held = Vec::new();
    for (k, truth) in truth.iter().enumerate() {
        // What does not break as far as is looked has no interval.
        held.extend(truth.at.map(|at| (k, at, 0_u64)));
    }
    assert!(held.len() >= 4, "{truth:?}");
    for seed in 1..=400 {
        let found = searched(400, seed);
        for (k, at, count) in &mut held {
            let found = &found[*k];
            let holds = found.low.is_none_or(|low| low <= *at) && found.high.is_none_or(|high| *at <= high);
            *count += u64::from(holds && found.at.is_some());
        }
    }
    assert!(
        held.iter().all(|(_, _, held)| (least..=most).contains(held)),
        "{held:?} of 400, due are {least} to {most}"
    );
}
