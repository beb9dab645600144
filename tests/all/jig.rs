//! `jig` from outside: exit codes, every face, the same bytes for any number of threads, and a payback that division gives.

use crate::program::{batchwright, text};
use std::process::Output;

use crate::bounds::{scenario, settings};
use crate::shipped::{self, shipped};
use batchwright_core::questions::{Settings, jig as jigs};

fn jig(arguments: &[&str], input: &str) -> Output {
    let mut command = batchwright();
    command.arg("jig").args(arguments).write_stdin(input);
    command.output().expect("the program runs")
}

/// A page with its lines joined, as sentences break anywhere.
fn lines(bytes: &[u8]) -> String {
    text(bytes).replace('\n', " ")
}

const FEW: [&str; 2] = ["--trials", "2000"];

/// Everything certain: a drilling stop saves 15 min a batch and 2 a piece.
const CERTAIN: &str = "
title = 'Certain'
currency = 'EUR'
target = 30
[batch]
sizes = [1, 10]
runs = 20
[[step]]
name = 'drill'
setup = '30 min'
each = '6 min'
[[jig]]
name = 'stop'
step = 'drill'
build = '2 h'
cost = 14
setup = 'x 0.5'
each = '- 2 min'
lasts = 100
[sale]
price = 40
";

#[test]
fn a_certain_jig_pays_after_what_division_says() {
    // Ten pieces: 35 min saved at 30 an hour are 17.50 a batch; two hours and 14 are 74. 74 / 17.5 = 4.23: five batches, 43 pieces.
    let page = lines(&jig(&["-", "--size", "10"], CERTAIN).stdout);
    assert!(
        page.contains("Build the stop: it pays for itself after 43 pieces, that is 5 batches of 10."),
        "{page}"
    );
    // One at a time: 17 min are 8.50. Nine pieces do it.
    let page = lines(&jig(&["-", "--size", "1"], CERTAIN).stdout);
    assert!(page.contains("pays for itself after 9 pieces"), "{page}");
}

#[test]
fn a_jig_that_does_not_pay_is_said_plainly() {
    let short = CERTAIN.replace("lasts = 100", "lasts = 30");
    let page = lines(&jig(&["-", "--size", "10"], &short).stdout);
    assert!(
        page.contains(
            "Do not build the stop: a batch of 10 saves 17.50 EUR, and building costs 74.00 EUR. It does not pay for itself \
             within the 30 pieces it lasts."
        ),
        "{page}"
    );
    let worse = CERTAIN.replace("'x 0.5'", "'+ 40 min'");
    let page = lines(&jig(&["-", "--size", "10"], &worse).stdout);
    // 40 min more and 20 less: 10 a batch.
    assert!(
        page.contains("Do not build the stop: with it a batch of 10 leaves 10.00 EUR less."),
        "{page}"
    );
    let planned = CERTAIN.replace("runs = 20", "runs = 2");
    let page = lines(&jig(&["-", "--size", "10"], &planned).stdout);
    assert!(
        page.contains(
            "Do not build the stop yet: it pays for itself only after 43 pieces, that is 5 batches of 10. You plan only 2 \
             batches of 10."
        ),
        "{page}"
    );
    assert!(page.contains("leaving a guard off"), "{page}");
}

/// One at a time, and no end: 17 min are 8.50, 74 are paid after nine. 40 h a week at 36 min are 66.67 pieces, 3,466.67 a year:
/// x 8.50 - 74 = 29,392.67.
#[test]
fn a_jig_without_an_end_is_bought_once() {
    let made = CERTAIN
        .replace("lasts = 100", "")
        .replace("[sale]", "[hours]\nmon = 20\ntue = 20\n[sale]");
    for runs in [1, 5, 20] {
        let planned = made.replace("runs = 20", &format!("runs = {runs}"));
        let found = jig(&["-", "--size", "1", "--format", "json"], &planned).stdout;
        let found: serde_json::Value = serde_json::from_slice(&found).expect("JSON");
        let year = found["sets"][0]["adds_a_year"].as_f64().expect("known");
        assert!((year - (40.0 * 52.0 / 0.6 * 8.5 - 74.0)).abs() < 1e-6, "{year}");
    }
    let one = made.replace("runs = 20", "runs = 1");
    let page = lines(&jig(&["-", "--size", "1"], &one).stdout);
    assert!(
        page.contains("Do not build the stop yet: it pays for itself only after 9 pieces. You plan only one piece."),
        "{page}"
    );
    // Bench hours alone do not say that 3,467 pieces a year would sell, so the page has no year.
    assert!(
        page.contains("If you made more, it would save 8.50 EUR with each piece.") && !page.contains("year"),
        "{page}"
    );
    let folder = tempfile::tempdir().expect("a folder");
    let chart = folder.path().join("chart.svg").display().to_string();
    assert!(jig(&["-", "--size", "1", "--chart", &chart], &one).status.success());
    let drawn = std::fs::read_to_string(&chart).expect("drawn");
    assert!(
        drawn.contains("Do not build the stop yet: it pays for itself only after 9 pieces"),
        "{drawn}"
    );
}

/// One piece is one piece, and an error too small to see is not the figure that it is the error of.
#[test]
fn one_is_said_as_one() {
    let short = CERTAIN.replace("lasts = 100", "lasts = 1");
    let page = lines(&jig(&["-", "--size", "1"], &short).stdout);
    assert!(
        page.contains(
            "Do not build the stop: a single piece saves 8.50 EUR, and building costs 74.00 EUR. It does not pay for itself \
             within the one piece it lasts."
        ),
        "{page}"
    );
    let page = lines(&jig(&["-", "--size", "1"], CERTAIN).stdout);
    for wrong in [
        "Batches of 1",
        "batches of 1 ",
        "batch of 1 ",
        "1 pieces",
        "1 are",
        "either way",
    ] {
        assert!(!page.contains(wrong), "{wrong}: {page}");
    }
    // 17 min of 36 saved, 1.2 min and 0.14 of building: 39.86 an 20.2 min against 40 an 36 min.
    assert!(
        page.contains(
            "The simulation error (95 %) of what the first adds to the hour, 51.73 EUR, is smaller than its last digit."
        ),
        "{page}"
    );
    let planned = CERTAIN.replace("runs = 20", "runs = 1");
    let page = lines(&jig(&["-", "--size", "1"], &planned).stdout);
    assert!(page.contains("You plan only one piece."), "{page}");
}

/// Firing takes 3 h for every four mugs, and with a second shelf for every eight: of no use to four, and of most to eight, which is
/// none of the sizes.
#[test]
fn the_size_that_fills_the_new_room_is_named() {
    let kiln = "
title = 'Mugs'
currency = 'EUR'
target = 20
[batch]
sizes = [2, 4, 6]
runs = 20
[[step]]
name = 'throw'
each = '15 min'
[[step]]
name = 'fire'
setup = '3 h'
room = 4
[[jig]]
name = 'second shelf'
step = 'fire'
cost = 60
room = '+ 4'
lasts = 400
[sale]
price = 30
";
    let page = lines(&jig(&["-", "--size", "4"], kiln).stdout);
    // A round of 3 h at 20 is 60 a batch of eight: one batch pays. 240 less 1.20 of the shelf in 5 h, 120 in 4 h without it.
    assert!(
        page.contains(
            "Do not build the second shelf for batches of 4: it would change nothing.  In batches of 8 the second shelf pays \
             for itself after 8 pieces, and you earn 47.76 EUR an hour. Without, you earn most when you make 4 at a time, 30.00 EUR \
             an hour."
        ),
        "{page}"
    );
}

#[test]
fn rails_have_a_jig_and_clamps() {
    let rail = shipped("oak-peg-rail");
    let folder = tempfile::tempdir().expect("a folder");
    for ending in ["svg", "png"] {
        let chart = folder.path().join(format!("chart.{ending}"));
        let chart_name = chart.display().to_string();
        let found = jig(&[&[rail.as_str(), "--chart", &chart_name], &FEW[..]].concat(), "");
        assert!(found.status.success(), "{}", text(&found.stderr));
        let bytes = std::fs::read(chart).expect("drawn");
        if ending == "svg" {
            assert!(roxmltree::Document::parse(&text(&bytes)).is_ok());
        } else {
            assert!(bytes.starts_with(b"\x89PNG"));
        }
    }
    let json = |threads: &str| {
        jig(
            &[&[rail.as_str(), "--format", "json", "--threads", threads], &FEW[..]].concat(),
            "",
        )
        .stdout
    };
    let one = json("1");
    assert_eq!(one, json("2"));
    let found: serde_json::Value = serde_json::from_slice(&one).expect("JSON");
    assert_eq!(found["sets"].as_array().map(Vec::len), Some(3));
    let csv = text(&jig(&[&[rail.as_str(), "--format", "csv"], &FEW[..]].concat(), "").stdout);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let wide = reader.headers().expect("a header").len();
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    assert!(rows.len() == 3 && rows.iter().all(|row| row.len() == wide));
    let alone = jig(
        &[
            &[rail.as_str(), "--format", "json", "--jig", "second set of clamps"],
            &FEW[..],
        ]
        .concat(),
        "",
    );
    let alone: serde_json::Value = serde_json::from_slice(&alone.stdout).expect("JSON");
    assert_eq!(alone["sets"].as_array().map(Vec::len), Some(1));
}

/// Every shipped scenario either has jigs, or is told how to write one.
#[test]
fn every_shipped_scenario_answers() {
    for name in shipped::names() {
        let file = shipped(name);
        let has = std::fs::read_to_string(&file).expect("read").contains("[[jig]]");
        let found = jig(&[&[file.as_str()], &FEW[..]].concat(), "");
        if has {
            assert!(found.status.success(), "{name}: {}", text(&found.stderr));
        } else {
            assert_eq!(found.status.code(), Some(2), "{name}");
            assert!(text(&found.stderr).contains("has no [[jig]]"), "{name}");
        }
    }
}

#[test]
fn what_the_user_wrote_is_exit_code_2() {
    let rail = shipped("oak-peg-rail");
    for (arguments, word) in [
        (vec![rail.as_str(), "--jig", "clamp"], "there is no such jig"),
        (vec![rail.as_str(), "--size", "0"], "0"),
        (vec![rail.as_str(), "--chart", "a.gif"], ".svg"),
    ] {
        let found = jig(&arguments, "");
        assert_eq!(found.status.code(), Some(2));
        assert!(text(&found.stderr).contains(word), "{}", text(&found.stderr));
    }
}

/// A jig that saves a random time: how often 400 seeds of 300 trials hold the chance that forty longer simulations find together, where it pays
/// in time about as often as not, and where it hardly ever fails to. Of two counts of a true 95 % chance leaves one outside of these bounds one
/// time in 500 by the binomial.
#[test]
fn a_chance_to_pay_carries_the_error_of_the_savings() {
    let text = "target = 30\n[batch]\nsizes = [10]\nruns = 3\n[[step]]\nname = 'drill'\nsetup = '30 min'\neach = '1 / 6 / 20 min'\n\
                [[jig]]\nname = 'stop'\nstep = 'drill'\nbuild = '2 h'\ncost = COST\nsetup = 'x 0.5'\neach = 'x 0.6'\nlasts = 100\n\
                [sale]\nprice = 40\n";
    // The exact interval of a share near one holds more than it says.
    for (cost, between, most) in [("14", 0.05..0.95, 393), ("7", 0.97..0.999, 400)] {
        let shop = scenario(&text.replace("COST", cost));
        let chance = |trials: u64, seed: u64| {
            let with = Settings {
                seed,
                ..settings(trials)
            };
            jigs::run(&shop, &[0], Some(10), &with, &|_| ()).sets[0]
                .payback
                .within_plan
        };
        let truth = (0..40).map(|k| chance(10_000, 1_000 + k).share).sum::<f64>() / 40.0;
        assert!(between.contains(&truth), "{truth}");
        let held = (1..=400)
            .filter(|seed| {
                let found = chance(300, *seed);
                found.low <= truth && truth <= found.high
            })
            .count();
        assert!((364..=most).contains(&held), "{held} of 400 about {truth}");
    }
}

/// A lognormal time, and one that can be shorter than what a jig takes off, change in proportion, by as much on average: 8 min of 4 to 12 less
/// 5 are 3, three eighths of each. What takes more than there is on average is refused.
#[test]
fn minutes_are_taken_off_in_proportion_where_a_time_can_be_shorter() {
    use batchwright_core::scenario::{Spread, read};
    let shop = |each: &str, change: &str| {
        let text = CERTAIN
            .replace("each = '6 min'", &format!("each = {each}"))
            .replace("each = '- 2 min'", &format!("each = '{change}'"));
        read("test.toml", &text, &[])
    };
    let changed = |each: &str, change: &str| {
        let shop = shop(each, change).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
        (shop.steps[0].each.clone(), shop.with_jigs(&[0]).steps[0].each.clone())
    };
    let (_, with) = changed("'4 / 8 / 12 min'", "- 5 min");
    assert!(
        (with.mean() - 3.0).abs() < 1e-12 && with.limits() == (1.5, 4.5),
        "{with:?}"
    );
    // One that is never shorter loses as much each time.
    assert_eq!(changed("'4 / 8 / 12 min'", "- 2 min").1.limits(), (2.0, 10.0));
    let lognormal = "{ low = 4, high = 9, unit = 'min', shape = 'lognormal', ends = 'tenths' }";
    for (change, minutes) in [("- 2 min", -2.0), ("+ 1 min", 1.0)] {
        let (without, with) = changed(lognormal, change);
        assert!(matches!(with, Spread::Lognormal { .. }), "{with:?}");
        assert!((with.mean() - without.mean() - minutes).abs() < 1e-9, "{with:?}");
    }
    assert_eq!(changed("'5 / 9 min'", "- 7 min").1, Spread::ZERO);
    let refused = shop("'5 / 9 min'", "- 7.1 min").unwrap_err().render(false, 100);
    assert!(
        refused.contains("takes 7 min on average, so this takes more than there is")
            && refused.contains("at most 7 min"),
        "{refused}"
    );
    let said = lines(
        &batchwright()
            .args(["check", "-"])
            .write_stdin(CERTAIN.replace("each = '6 min'", "each = '1 / 6 min'"))
            .output()
            .expect("the program runs")
            .stdout,
    );
    assert!(said.contains("each 2 min less on average"), "{said}");
}
