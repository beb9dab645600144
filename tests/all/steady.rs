//! `steady` held against published lot-size examples and the program from outside.
//!
//! Harris: Ford W. Harris 1913, "How many parts to make at once", Factory 10(2), 135-136, 152 (1000 a month, setup 2 dollars, unit
//! cost 0.10, 10 % a year: 2,190 units). EOQ-1: Hillier & Lieberman, 7th ed. (25,298; 7,589.5). EOQ-2: Hopp & Spearman,
//! "Factory Physics" (169; 255,916 with unit costs). EPQ-1 to 3: own. What they come to: `tests/reference/lots.csv` and
//! `whole_lots.csv`, made by `inventory.py` there.

use crate::program::run as program;

use crate::bounds::{scenario, settings};
use batchwright_core::questions::season;
use batchwright_core::questions::steady::{self, SteadyAnswer, SteadySize};
use batchwright_core::scenario::read;

/// Setup takes an hour at a target of `setup`; a piece takes a tenth of an hour, the rest of its value is stock.
struct Lot {
    yearly: f64,
    setup: f64,
    hold: f64,
    value: f64,
    price: f64,
    /// Pieces made a week, where they come into stock one by one.
    made: Option<f64>,
}

fn answer(lot: &Lot, sizes: &str) -> SteadyAnswer {
    let stock = lot.value - 0.1 * lot.setup;
    let (setup, price, per_week) = (lot.setup, lot.price, lot.yearly / 52.0);
    let percent = lot.hold / lot.value * 100.0;
    let (singly, hours) = lot.made.map_or_else(Default::default, |made| {
        let day = made * 0.1 / 7.0;
        let days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"].map(|name| format!("{name} = {day}"));
        ("finished = 'singly'", format!("[hours]\n{}", days.join("\n")))
    });
    let text = format!(
        "title = 'lot'\ntarget = {setup}\n[batch]\nsizes = {sizes}\n[[step]]\nname = 'make'\nsetup = '1 h'\neach = '0.1 h'\n\
         [[material]]\nname = 'stock'\nper_piece = 1\nprice = {stock}\n[sale]\nprice = {price}\n\
         [steady]\nper_week = {per_week}\nhold = '{percent} %'\n{singly}\n{hours}"
    );
    let scenario =
        read("test.toml", &text, &[]).unwrap_or_else(|faults| panic!("{}\n{text}", faults.render(false, 100)));
    let settings = settings(8);
    steady::run(&scenario, &settings, &|_| ()).expect("it has a steady sale")
}

fn of(answer: &SteadyAnswer, size: u32) -> &SteadySize {
    answer.sizes.iter().find(|s| s.size == size).expect("in the sweep")
}

#[track_caller]
fn close(found: f64, expected: f64, share: f64, what: &str) {
    assert!(
        (found - expected).abs() <= share * expected.abs(),
        "{what}: {found} against {expected}"
    );
}

/// What is done once is the same however many are made at a time: the economic batch does not know of it.
#[test]
fn a_design_does_not_make_the_batch_larger() {
    let text = |once: &str| {
        format!(
            "title = 'lot'\ntarget = 20\n[batch]\nsizes = '1..200'\n[[step]]\nname = 'make'\nsetup = '2 h'\neach = '30 min'\n{once}\n\
             [[material]]\nname = 'stock'\nper_piece = 1\nprice = 10\n[sale]\nprice = 60\n[steady]\nper_week = 5\nhold = '25 %'"
        )
    };
    let asked = |text: String| {
        let scenario = read("test.toml", &text, &[]).unwrap_or_else(|faults| panic!("{}", faults.render(false, 100)));
        let settings = settings(8);
        steady::run(&scenario, &settings, &|_| ()).expect("it has a steady sale")
    };
    let (plain, designed) = (asked(text("")), asked(text("once = '10 h'")));
    assert_eq!((plain.sizes, plain.textbook), (designed.sizes, designed.textbook));
    assert_eq!((plain.once_hours, designed.once_hours), (0.0, 10.0));
    // sqrt(2 x 260 x 40 / 5) = 64.5 (Harris 1913).
    assert_eq!(designed.best, 64);
}

/// A lot of the textbooks and what it comes to.
struct Known {
    yearly: f64,
    setup: f64,
    hold: f64,
    /// Share of the pieces that are sold while more are made.
    share: f64,
    batch: f64,
    most_stock: f64,
    yearly_cost: f64,
}

fn rows(table: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let rows = reader.records().map(|row| row.expect("a table"));
    rows.map(|row| row.iter().map(str::to_owned).collect()).collect()
}

fn known(case: &str) -> Known {
    let rows = rows(include_str!("../reference/lots.csv"));
    let row = rows.iter().find(|row| row[0] == case).expect("in the table");
    let number = |k: usize| row[k].parse::<f64>().expect("a number");
    Known {
        yearly: number(1),
        setup: number(2),
        hold: number(3),
        share: number(4),
        batch: number(5),
        most_stock: number(6),
        yearly_cost: number(7),
    }
}

/// The table has six digits after the point: half of the last one.
const HALF_DIGIT: f64 = 0.51e-6;

#[track_caller]
fn textbook_is(answer: &SteadyAnswer, known: &Known, what: &str) {
    let found = answer.textbook.expect("both cost something");
    for (found, known) in [(found.batch, known.batch), (found.yearly_cost, known.yearly_cost)] {
        assert!((found - known).abs() <= HALF_DIGIT, "{what}: {found} against {known}");
    }
}

#[test]
fn harris_1913() {
    let known = known("Harris");
    let lot = Lot {
        yearly: known.yearly,
        setup: known.setup,
        hold: known.hold,
        value: 0.2,
        price: 1.0,
        made: None,
    };
    let a = answer(&lot, "'2185..2197'");
    textbook_is(&a, &known, "Harris");
    // He cuts 2190.89 down to 2,190; the whole lot with the least cost is 2191.
    assert_eq!(a.best, 2_191);
    // "About 0.1 cent a unit" for the setup at 2190: 200 / 2190 cents.
    close(
        of(&a, 2_190).setup_a_year / 12_000.0,
        2.0 / 2_190.0,
        1e-12,
        "setup of one",
    );
}

#[test]
fn economic_batches_of_the_textbooks() {
    // By the month there: 8000 a month and 0.3 a month; a year of ours stands for the month.
    let due = known("EOQ-1");
    let first = Lot {
        yearly: due.yearly,
        setup: due.setup,
        hold: due.hold,
        value: 1_250.0,
        price: 3_000.0,
        made: None,
    };
    textbook_is(&answer(&first, "[1, 2]"), &due, "EOQ-1");

    let due = known("EOQ-2");
    let second = Lot {
        yearly: due.yearly,
        setup: due.setup,
        hold: due.hold,
        value: 250.0,
        price: 300.0,
        made: None,
    };
    let a = answer(&second, "'150..190'");
    textbook_is(&a, &due, "EOQ-2");
    assert_eq!(a.best, 169);
    for row in rows(include_str!("../reference/whole_lots.csv")) {
        let size: u32 = row[1].parse().expect("a size");
        let cost: f64 = row[2].parse().expect("a cost");
        let s = of(&a, size);
        let found = s.setup_a_year + s.holding_a_year;
        assert!(
            (found - cost).abs() <= HALF_DIGIT,
            "EOQ-2, whole lots: {found} against {cost}"
        );
        close(
            s.surplus_a_year.mean,
            1_000.0 * (300.0 - 250.0) - found,
            1e-12,
            "EOQ-2, left",
        );
        close(s.stock, f64::from(size) / 2.0, 1e-12, "EOQ-2, stock");
        close(s.weeks, f64::from(size) * 52.0 / 1_000.0, 1e-12, "EOQ-2, weeks");
    }
    // Unit costs and all: 255,916.08 a year; so much is left of 300,000 taken.
    close(
        300_000.0 - of(&a, 169).surplus_a_year.mean,
        255_916.079_882,
        1e-9,
        "EOQ-2, all",
    );
    // A lot r times as large costs (r + 1/r) / 2 as much: 1 % more at r = 1 +- 0.14, beyond 150..190, so all are nearly as good.
    assert_eq!(a.nearly.len(), 40);
}

#[test]
fn production_lots_of_the_textbooks() {
    for name in ["EPQ-1", "EPQ-2", "EPQ-3"] {
        let known = known(name);
        let Known {
            yearly,
            setup,
            hold,
            share,
            batch,
            ..
        } = known;
        let made = yearly / 52.0 / share;
        let value = 0.1 * setup + 1.0;
        let lot = Lot {
            yearly,
            setup,
            hold,
            value,
            price: value + 20.0,
            made: Some(made),
        };
        let whole = f64::round(batch) as u32;
        let a = answer(&lot, &format!("'{}..{}'", whole - 8, whole + 8));
        textbook_is(&a, &known, name);
        let found = a.textbook.expect("there");
        close(found.stock_share, 1.0 - share, 1e-9, name);
        assert!((found.most_stock - known.most_stock).abs() <= HALF_DIGIT, "{name}");
        // The best whole lot is the one whose own costs are least.
        let costs = |n: u32| yearly * setup / f64::from(n) + hold * (1.0 - share) * f64::from(n) / 2.0;
        let due = (whole - 8..=whole + 8)
            .min_by(|a, b| costs(*a).total_cmp(&costs(*b)))
            .expect("some");
        // Setups leave fewer hours a week than pieces need where the bench makes hardly more than is asked for.
        let fits = a.sizes.iter().any(|s| s.fits);
        assert!(
            a.best == due || (fits && !of(&a, due).fits),
            "{name}: {} against {due}",
            a.best
        );
        let s = of(&a, whole);
        close(s.setup_a_year + s.holding_a_year, costs(whole), 1e-9, name);
    }
}

/// By hand: 2 sizes, 1 a week, setup 1 h and each 0.1 h at 10, stock 4, hold 52 % of 5: 0.05 a week for each piece. Two: lasts two
/// weeks, 26 batches a year; getting ready 260, one in stock on average: 2.60; left 52 x (20 - 5) - 262.60.
#[test]
fn two_sizes_by_hand() {
    let lot = Lot {
        yearly: 52.0,
        setup: 10.0,
        hold: 2.6,
        value: 5.0,
        price: 20.0,
        made: None,
    };
    let a = answer(&lot, "[2, 10]");
    for (size, weeks, ready, holding, hours) in [(2, 2.0, 260.0, 2.6, 0.6), (10, 10.0, 52.0, 13.0, 0.2)] {
        let s = of(&a, size);
        close(s.weeks, weeks, 1e-12, "weeks");
        close(s.setup_a_year, ready, 1e-12, "ready");
        close(s.holding_a_year, holding, 1e-12, "holding");
        close(s.hours_a_week, hours, 1e-12, "hours");
        close(s.tied_up, f64::from(size) / 2.0 * 5.0, 1e-12, "tied up");
        close(s.surplus_a_year.mean, 52.0 * 15.0 - ready - holding, 1e-12, "left");
    }
    assert_eq!((a.best, a.keeps_up), (10, true));
}

// ---- From outside ------------------------------------------------------------------------------------------------------

const LABELS: &str = "scenarios/plant-labels.toml";

#[test]
fn the_program_answers_on_every_face() {
    let text = program(&["steady", LABELS, "--trials=500"]);
    assert!(text.status.success() && text.stderr.is_empty());
    let said = String::from_utf8(text.stdout).expect("text");
    assert!(
        said.contains("at a time, every") && said.contains("The textbook batch is"),
        "{said}"
    );

    let json = program(&["steady", LABELS, "--trials=500", "--format=json", "--threads=1"]);
    let read: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    // The command's own number of trials, not that of another command.
    let default = program(&["steady", LABELS, "--set", "batch.sizes=[4]", "--format=json"]);
    let default: serde_json::Value = serde_json::from_slice(&default.stdout).expect("JSON");
    assert_eq!(default["trials"], 20_000);
    assert_eq!(read["sizes"].as_array().map(Vec::len), Some(97));
    let again = program(&["steady", LABELS, "--trials=500", "--format=json", "--threads=2"]);
    assert!(json.stdout == again.stdout, "threads change nothing");

    let csv = program(&["steady", LABELS, "--trials=500", "--format=csv"]);
    let mut lines = csv::Reader::from_reader(csv.stdout.as_slice());
    let rows: Vec<csv::StringRecord> = lines.records().map(|row| row.expect("of one width")).collect();
    assert_eq!(rows.len(), 97);

    let folder = tempfile::tempdir().expect("a folder");
    let chart = folder.path().join("labels.svg");
    let drawn = program(&[
        "steady",
        LABELS,
        "--trials=500",
        "--chart",
        chart.to_str().expect("path"),
    ]);
    assert!(drawn.status.success());
    let svg = std::fs::read_to_string(&chart).expect("written");
    roxmltree::Document::parse(&svg).expect("well formed");
}

#[test]
fn too_few_bench_hours_are_said() {
    let few = program(&[
        "steady",
        LABELS,
        "--trials=300",
        "--set",
        "hours.sat=0.1",
        "--set",
        "hours.tue=0.1",
    ]);
    assert!(String::from_utf8_lossy(&few.stdout).contains("Do not promise 3 a week."));
}

#[test]
fn a_missing_section_is_told_with_its_cure() {
    let refused = program(&["steady", "scenarios/oak-peg-rail.toml"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(refused.stdout.is_empty());
    assert!(String::from_utf8_lossy(&refused.stderr).contains("add for example `[steady]`"));
}

/// What a file says already is not to be said again: the page names the question that it answers.
#[test]
fn a_file_that_sells_otherwise_is_sent_to_the_question_that_it_answers() {
    let base = "target = 20\n[[step]]\nname = \"sew\"\neach = \"20 min\"\n[sale]\nprice = 30\n";
    let refused =
        |more: &str| steady::run(&scenario(&format!("{base}{more}")), &settings(100), &|_| ()).expect_err("refused");
    let day = "[[selling_day]]\nname = \"fair\"\nsells = 3\n";
    let left = "[[channel]]\nname = \"shop\"\nshare = \"100 %\"\nunsold = \"20 %\"\n";
    for (more, asks) in [
        ("[season]\nbuyers = 9\nclearance = 5\n", "ask `season`"),
        (day, "[[selling_day]], so ask `sweep`"),
        (left, "on sale or return, so ask `sweep`"),
        ("", "add for example `[steady]`"),
    ] {
        assert!(refused(more).contains(asks), "{more}: {}", refused(more));
    }
    let steady = scenario(&format!("{base}[steady]\nper_week = 2\nhold = \"10 %\"\n"));
    let said = season::run(&steady, &settings(100), &|_| ()).expect_err("refused");
    assert!(said.contains("ask `steady`"), "{said}");
}
