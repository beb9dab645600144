//! `compare` from outside: exit codes, faults, every face, the same bytes for any number of threads.

use crate::program::{run, text};
use batchwright_core::questions::Settings;
use batchwright_core::questions::compare::{self as question, Chosen, Question};
use batchwright_core::scenario;
use std::process::Output;

use crate::shipped::{self, shipped};

fn compare(arguments: &[&str]) -> Output {
    run(&[&["compare"], arguments].concat())
}

const FEW: [&str; 2] = ["--trials", "2000"];

#[test]
fn rails_and_a_coat_stand_by_hour_and_week() {
    let (rail, stand) = (shipped("oak-peg-rail"), shipped("oak-coat-stand"));
    let found = compare(&[&[rail.as_str(), &stand, "--format", "json", "--sizes", "9,1"], &FEW[..]].concat());
    assert!(found.status.success(), "{}", text(&found.stderr));
    let json: serde_json::Value = serde_json::from_slice(&found.stdout).expect("JSON");
    // The stand earns more an hour, but few are asked for: rails bring in more a week, and both together most.
    assert_eq!((&json["best"], &json["best_week"]), (&1.into(), &0.into()));
    let money = |k: usize| json["entries"][k]["week"]["money"]["mean"].as_f64().expect("known");
    assert!(json["mix"]["money"].as_f64().expect("both") > money(0) && money(0) > money(1));
    let page = text(&compare(&[&[rail.as_str(), &stand, "--sizes", "9,1"], &FEW[..]].concat()).stdout);
    let first = page.lines().nth(2).expect("an opening");
    assert!(
        first.starts_with("Make B, Oak coat stand, one at a time. On average an hour earns "),
        "{page}"
    );
    let page = page.replace('\n', " ");
    assert!(page.contains("In a week, give 4 h 31 min to B and"), "{page}");
    assert!(page.contains("Of those made alone, A brings in most a week"), "{page}");
    assert!(page.contains("Buyers want only 0.2 of B a week"), "{page}");
    // Nothing is advised without a word where none earns what its file wants.
    let page = text(
        &compare(
            &[
                &[rail.as_str(), &stand, "--sizes", "9,1", "--set", "target=90"],
                &FEW[..],
            ]
            .concat(),
        )
        .stdout,
    );
    let said = page.replace('\n', " ");
    assert!(
        said.contains("Make B, Oak coat stand, one at a time, if any: none earns the hour you want. On average"),
        "{page}"
    );
}

/// A week is shared out where all have the same hours; else the page says what to give.
#[test]
fn one_week_is_shared_out_where_it_can_be() {
    let (rail, labels) = (shipped("oak-peg-rail"), shipped("plant-labels"));
    let said = |more: &[&str]| {
        let page = compare(&[&[rail.as_str(), &labels], more, &FEW[..]].concat());
        text(&page.stdout).replace('\n', " ")
    };
    let apart = said(&[]);
    assert!(
        apart.contains("bench hours a week differ, from 2 h 15 min to 10 h")
            && apart.contains("with --hours-a-week to share it out"),
        "{apart}"
    );
    let one = said(&["--hours-a-week", "10"]);
    assert!(!one.contains("bench hours a week differ"), "{one}");
}

/// Of four pieces one each is wanted a week, each an hour's work for 40, 35, 30 and 25 EUR: all four take 4 h of the 8 h and bring in 130.
#[test]
fn a_week_of_four_is_told_first_and_then_shared_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |price: u32| {
        let file = folder.path().join(format!("{price}.toml"));
        let text = format!(
            "title = \"At {price}\"\ncurrency = \"EUR\"\ntarget = 20\n[batch]\nsizes = [1]\n[[step]]\nname = \"turn\"\neach = \"1 h\"\n\
             [sale]\nprice = {price}\n[hours]\nmon = 8\n[steady]\nper_week = 1\n"
        );
        std::fs::write(&file, text).expect("written");
        file.to_str().expect("a name").to_owned()
    };
    let files = [40, 35, 30, 25].map(write);
    let files: Vec<&str> = files.iter().map(String::as_str).chain(FEW).collect();
    let page = text(&compare(&files).stdout);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "5.00 EUR more than with B, At 35, one at a time. A week of A, B, C and D brings in most: 130.00 EUR. In a week, give 1 h \
                to A, 1 h to B, 1 h to C and 1 h to D. That takes 4 h of the 8 h at the bench: buyers want no more of them.";
    assert!(page.contains(said), "{page}");
    assert!(!page.contains("is taken") && !page.contains("less than the"), "{page}");
    // Two of the four miss what is wanted, and hours are given to them all the same.
    let page = text(&compare(&[&files[..], &["--set", "target=32"]].concat()).stdout);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    let said = "C and D earn less than the 32 EUR an hour you want, so give them only hours that nothing better fills.";
    assert!(page.contains(said), "{page}");
}

/// Where the one earns more in an hour and the other in a week, the first sentence says which holds when; and each is told against the
/// target of its own file. Three of A take 1 h 40 min and bring 90: 54 an hour, and 30 in a week in which one is wanted. One of B takes 40 h
/// and brings 1,300: 32.50 an hour, 2.50 under its target, and 520 in a week of 16 h.
#[test]
fn the_best_hour_and_the_most_money_in_a_week_are_told_together() {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| {
        let file = folder.path().join(name);
        std::fs::write(&file, text).expect("written");
        file.to_str().expect("a name").to_owned()
    };
    let small = "title = \"Mill\"\ncurrency = \"EUR\"\ntarget = 28\n[batch]\nsizes = [3]\n[[step]]\nname = \"turn\"\nsetup = \"10 min\"\neach = \"30 min\"\n\
                 [sale]\nprice = 30\n[hours]\nmon = 8\n[steady]\nper_week = 1\nhold = \"0 %\"\n";
    let large = "title = \"Panel\"\ncurrency = \"EUR\"\ntarget = 35\n[batch]\nsizes = [1]\n[[step]]\nname = \"lead\"\neach = \"40 h\"\n\
                 [sale]\nprice = 1300\n[hours]\nmon = 8\ntue = 8\n";
    let [mill, panel] = [write("mill.toml", small), write("panel.toml", large)];
    let page = text(&compare(&[&[mill.as_str(), &panel], &FEW[..]].concat()).stdout);
    let page = page.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "Make A for the best hour, B for the most money in a week. An hour earns 54.00 EUR with A, Mill, 3 at a time, 21.50 EUR more than \
         with B, Panel, one at a time. A week of B brings in 520.00 EUR for 16 h, against 30.00 EUR for 33 min with A.",
        "Here every good piece of B is taken. Where that is not sure, write a [steady] into the file, with as many as buyers want a week.",
        "Each is held to the target of its own file: an hour of A reaches its 28 EUR and B falls 2.50 EUR short of its 35 EUR.",
    ] {
        assert!(page.contains(said), "{page}");
    }
    // Where a file has a selling day, a [steady] would be refused.
    let day = "[[selling_day]]\nname = \"fair\"\nsells = 1\nthere = \"1 h\"\n";
    let fair = write("fair.toml", &format!("{large}{day}"));
    let sold_there = text(&compare(&[&[mill.as_str(), &fair], &FEW[..]].concat()).stdout);
    assert!(
        sold_there.contains("every good piece of B is taken.") && !sold_there.contains("[steady]"),
        "{sold_there}"
    );
    // The same file twice has one target.
    let page = text(&compare(&[&[mill.as_str(), &mill, "--sizes", "3,2"], &FEW[..]].concat()).stdout);
    assert!(!page.contains("its own file") && page.contains("Make A"), "{page}");
    assert!(!page.contains("the most money in a week"), "hardly any more\n{page}");
}

/// A comparison of one size with itself through another door: the figures of `sweep`.
/// Flags may stand anywhere between the files; one file alone is refused.
#[test]
fn flags_may_stand_between_the_files() {
    let (rail, stand) = (shipped("oak-peg-rail"), shipped("oak-coat-stand"));
    let after = compare(&[&[rail.as_str(), &stand, "--sizes", "9,1", "--format", "json"], &FEW[..]].concat());
    let between = compare(&[&[rail.as_str(), "--format", "json", &stand, "--sizes", "9,1"], &FEW[..]].concat());
    assert!(between.status.success(), "{}", text(&between.stderr));
    assert_eq!(text(&after.stdout), text(&between.stdout));
    let alone = compare(&[&rail, "--format", "json"]);
    assert_eq!(alone.status.code(), Some(2));
    assert!(
        text(&alone.stderr).contains("name the second one too"),
        "{}",
        text(&alone.stderr)
    );
}

#[test]
fn each_side_is_what_sweep_says() {
    let rail = shipped("oak-peg-rail");
    let found = compare(&[&[rail.as_str(), &rail, "--format", "json", "--sizes", "4,9"], &FEW[..]].concat());
    let json: serde_json::Value = serde_json::from_slice(&found.stdout).expect("JSON");
    let sweep = run(&[&["sweep", &rail, "--format", "json"], &FEW[..]].concat());
    let sweep: serde_json::Value = serde_json::from_slice(&sweep.stdout).expect("JSON");
    for (k, size) in [(0, 4), (1, 9)] {
        assert_eq!(json["entries"][k]["run"], sweep["sizes"][size - 1], "size {size}");
    }
}

#[test]
fn every_shipped_scenario_can_be_compared_with_itself() {
    for name in shipped::names() {
        let file = shipped(name);
        let folder = tempfile::tempdir().expect("a folder");
        for ending in ["svg", "png"] {
            let chart = folder.path().join(format!("chart.{ending}"));
            let chart_name = chart.display().to_string();
            let found = compare(&[&[file.as_str(), &file, "--chart", &chart_name], &FEW[..]].concat());
            assert!(found.status.success(), "{name}: {}", text(&found.stderr));
            let page = text(&found.stdout).replace('\n', " ");
            assert!(
                page.contains("Make A or B, as you like.") || page.contains("None pays its own costs"),
                "{name}: {page}"
            );
            let bytes = std::fs::read(chart).expect("drawn");
            if ending == "svg" {
                let svg = text(&bytes);
                assert!(roxmltree::Document::parse(&svg).is_ok(), "{name}");
            } else {
                assert!(bytes.starts_with(b"\x89PNG"), "{name}");
            }
        }
    }
}

#[test]
fn csv_has_one_header_and_a_row_a_scenario() {
    let (rail, stand) = (shipped("oak-peg-rail"), shipped("oak-coat-stand"));
    let found = compare(&[&[rail.as_str(), &stand, &rail, "--format", "csv"], &FEW[..]].concat());
    let found = text(&found.stdout);
    let mut reader = csv::Reader::from_reader(found.as_bytes());
    let header = reader.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    assert_eq!(rows.len(), 3);
    assert!(rows.iter().all(|row| row.len() == header.len()));
    assert_eq!(found.matches("letter,title").count(), 1);
}

#[test]
fn the_same_bytes_for_any_number_of_threads() {
    let (rail, stand) = (shipped("oak-peg-rail"), shipped("oak-coat-stand"));
    let with = |threads: &str| {
        compare(
            &[
                &[rail.as_str(), &stand, "--format", "json", "--threads", threads],
                &FEW[..],
            ]
            .concat(),
        )
        .stdout
    };
    let one = with("1");
    assert!(!one.is_empty());
    assert_eq!(one, with("2"));
}

/// A pound is worth 1.25 euros: everything that is money, of what is sold abroad, in a season, through channels, is 1.25 times what it is in
/// pounds, and hours and chances stay.
#[test]
fn what_is_in_another_currency_is_converted() {
    let folder = tempfile::tempdir().expect("a folder");
    let rail = std::fs::read_to_string(shipped("oak-peg-rail")).expect("a scenario");
    let euros = folder.path().join("rail.toml");
    std::fs::write(&euros, format!("{rail}\n[currencies]\nGBP = 1.25\n")).expect("write");
    let season = std::fs::read_to_string(shipped("spinning-tops")).expect("a scenario");
    let pounds = folder.path().join("tops.toml");
    std::fs::write(&pounds, season.replace("\"EUR\"", "\"GBP\"")).expect("write");
    let (euros, pounds) = (euros.display().to_string(), pounds.display().to_string());
    for strange in [shipped("printed-tea-towels"), shipped("ash-dining-table"), pounds] {
        let entry = |first: &str| {
            let found = compare(&[&[first, strange.as_str(), "--format", "json"], &FEW[..]].concat());
            assert!(found.status.success(), "{}", text(&found.stderr));
            let json: serde_json::Value = serde_json::from_slice(&found.stdout).expect("JSON");
            json["entries"][1].clone()
        };
        let (own, converted) = (entry(&strange), entry(&euros));
        assert_eq!(own.get("converted"), None);
        assert_eq!(
            converted["converted"],
            serde_json::json!({"from": "GBP", "worth": 1.25})
        );
        let figure = |of: &serde_json::Value, path: &str| {
            of.pointer(path).and_then(serde_json::Value::as_f64).expect("a figure")
        };
        for (path, worth) in [
            ("/price", 1.25),
            ("/target", 1.25),
            ("/run/size", 1.0),
            ("/run/hours/mean", 1.0),
            ("/run/reach/share", 1.0),
            ("/run/rate/long_run", 1.25),
            ("/run/rate/p10", 1.25),
            ("/run/profit/mean", 1.25),
            ("/run/money/materials", 1.25),
            ("/run/money/post", 1.25),
            ("/run/floor_asked/price", 1.25),
        ] {
            let (a, b) = (figure(&own, path) * worth, figure(&converted, path));
            // Two ways to the same sum: rounding alone.
            assert!((a - b).abs() <= 1e-9 * a.abs(), "{strange} {path}: {a} is not {b}");
        }
    }
    let page = text(&compare(&[&[euros.as_str(), &shipped("ash-dining-table")], &FEW[..]].concat()).stdout);
    assert!(
        page.replace('\n', " ")
            .contains("All money is in EUR; 1 GBP is 1.25 EUR, as the files say on average."),
        "{page}"
    );
}

/// One of three has a rate, one has none: it is left out, the others are compared under their own letters, and the page says what to write.
#[test]
fn only_what_has_no_rate_is_left_out() {
    let folder = tempfile::tempdir().expect("a folder");
    let strange = folder.path().join("dollars.toml");
    let tops = std::fs::read_to_string(shipped("spinning-tops")).expect("a scenario");
    std::fs::write(&strange, tops.replace("\"EUR\"", "\"CHF\"")).expect("write");
    let (rail, strange, stand) = (
        shipped("oak-peg-rail"),
        strange.display().to_string(),
        shipped("oak-coat-stand"),
    );
    let found = compare(&[&[rail.as_str(), &strange, &stand, "--format", "json"], &FEW[..]].concat());
    let json: serde_json::Value = serde_json::from_slice(&found.stdout).expect("JSON");
    let two = compare(&[&[rail.as_str(), &stand, "--format", "json"], &FEW[..]].concat());
    let without: serde_json::Value = serde_json::from_slice(&two.stdout).expect("JSON");
    assert_eq!(json["entries"], without["entries"]);
    assert_eq!(json["left_out"][0]["place"], 1);
    assert_eq!(json["left_out"][0]["currency"], "CHF");
    assert_eq!(without.get("left_out"), None);
    let found = compare(&[&[rail.as_str(), &strange, &stand], &FEW[..]].concat());
    let page = text(&found.stdout).replace('\n', " ");
    assert!(
        page.contains("B, ")
            && page.contains(" is left out: no file says what a CHF is worth")
            && page.contains("`CHF = ...`"),
        "{page}"
    );
    assert!(page.contains(" C  Oak coat stand") && !page.contains(" B  "), "{page}");
    // Two that cannot be set against each other are refused as before.
    assert_eq!(compare(&[&rail, &strange]).status.code(), Some(2));
}

#[test]
fn what_the_user_wrote_is_exit_code_2() {
    let (rail, table) = (shipped("oak-peg-rail"), shipped("ash-dining-table"));
    let refused = |arguments: &[&str], words: &[&str]| {
        let found = compare(arguments);
        let said = text(&found.stderr);
        assert_eq!(found.status.code(), Some(2), "{said}");
        assert!(found.stdout.is_empty());
        for word in words {
            assert!(said.contains(word), "{word}: {said}");
        }
    };
    refused(&[&rail, &table], &["different currencies", "EUR", "GBP"]);
    refused(&[&rail], &["two files or more"]);
    refused(&[&rail, &rail, "--sizes", "3"], &["--sizes names 1 size for 2 files"]);
    refused(&[&rail, &rail, "--sizes", "0,3"], &["0"]);
    refused(&[&rail, &rail, "--hours-a-week", "200"], &["168"]);
    refused(&["-", "-", "--sizes", "1"], &["read only once", "--sizes names"]);
    // Faults of both files at once.
    let folder = tempfile::tempdir().expect("a folder");
    let bad = |name: &str, text: &str| {
        let file = folder.path().join(name);
        std::fs::write(&file, text).expect("written");
        file.display().to_string()
    };
    let (one, two) = (bad("one.toml", "titel = 3"), bad("two.toml", "target = \"soon\""));
    refused(&[&one, &two, "--sizes", "1"], &["titel", "soon", "--sizes names"]);
}

/// What `fit --write=new.toml` makes has the title of the old: files tell the two apart, in words, tables and the chart's names.
#[test]
fn two_files_of_one_title_are_told_apart() {
    let folder = tempfile::tempdir().expect("a folder");
    let old = std::fs::read_to_string(shipped("oak-peg-rail")).expect("read");
    let new = folder.path().join("new.toml");
    std::fs::write(&new, old.replace("price         = 62", "price = 70")).expect("written");
    let (rail, new) = (shipped("oak-peg-rail"), new.display().to_string());
    let chart = folder.path().join("both.svg").display().to_string();
    let page = text(&compare(&[&[rail.as_str(), &new, "--sizes", "9,9", "--chart", &chart], &FEW[..]].concat()).stdout);
    assert!(
        page.starts_with("Oak peg rail, five pegs (oak-peg-rail.toml) against Oak peg rail, five pegs (new.toml)\n"),
        "{page}"
    );
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    // One product in two files: what was written before and after is no choice of what to make.
    assert!(
        words.contains(" an hour more from B, Oak peg rail (new.toml), 9 at a time, than from A"),
        "{page}"
    );
    assert!(
        words.contains(" EUR with B and ") && !words.contains("and earns"),
        "{page}"
    );
    // In the table too, where a long name is broken over lines.
    let (_, table) = page.split_once("an hour earns EUR ─").expect("a table");
    let table: String = table.split_whitespace().collect();
    assert!(
        table.contains("(oak-peg-rail.toml)") && table.contains("(new.toml)"),
        "{page}"
    );
    let drawn = std::fs::read_to_string(chart).expect("drawn");
    assert!(drawn.contains("B 9 × new.toml"), "the chart names them");
    let json = compare(&[&[rail.as_str(), &new, "--format", "json"], &FEW[..]].concat()).stdout;
    let json: serde_json::Value = serde_json::from_slice(&json).expect("JSON");
    assert_eq!(json["entries"][1]["file"], new.as_str());
    // The same file twice at one size is no comparison of two sizes.
    let page = text(&compare(&[&[rail.as_str(), &rail, "--sizes", "9,9"], &FEW[..]].concat()).stdout);
    assert!(page.starts_with("Oak peg rail against itself\n"), "{page}");
}

/// Without bench hours the week is not known, and the page says what to write.
#[test]
fn without_bench_hours_the_page_says_what_to_write() {
    let wallet = shipped("card-wallet");
    let page = text(&compare(&[&[wallet.as_str(), &wallet, "--sizes", "4,20"], &FEW[..]].concat()).stdout);
    assert!(page.replace('\n', " ").contains("Write an [hours] section"), "{page}");
    let page = text(
        &compare(
            &[
                &[wallet.as_str(), &wallet, "--sizes", "4,20", "--hours-a-week", "9"],
                &FEW[..],
            ]
            .concat(),
        )
        .stdout,
    );
    assert!(!page.contains("Write an [hours]") && page.contains("9 h"), "{page}");
}

/// An hour of setup and ten minutes a piece that brings 10: 60 n / (60 + 10 n) an hour, 1 % more than at 36 nowhere up to 40 (34.29 there against 34.78). Six pay
/// 30 in an hour, 180 / 2 h; beside six, whatever is made in larger batches would win by that alone.
#[test]
fn sizes_that_nobody_named_are_those_that_earn_as_much_as_any() {
    let text = "target = 30\n[batch]\nsizes = '1..40'\n[[step]]\nname = 'make'\nsetup = '1 h'\neach = '10 min'\n[sale]\nprice = 10\n";
    let shop = scenario::read("test.toml", text, &[]).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
    let asked = Question {
        sizes: vec![None, Some(6)],
        hours_a_week: None,
        files: Vec::new(),
    };
    let settings = Settings {
        trials: 64,
        ..Settings::default()
    };
    let found = question::run(&[shop.clone(), shop], &asked, &settings, &|_| ());
    let of = |k: usize| (found.entries[k].run.size, found.entries[k].chosen);
    let rate = |n: f64| 60.0 * n / (6.0 + n);
    let level = (1..=40).find(|n| rate(40.0) - rate(f64::from(*n)) <= 0.01 * rate(f64::from(*n)));
    assert_eq!(of(0), (level.expect("a size"), Chosen::Level));
    assert_eq!(of(1), (6, Chosen::Asked));
}
