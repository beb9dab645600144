//! Every table of every question of every shipped scenario.

#![allow(clippy::unwrap_used, reason = "a test may end where what it needs is missing")]

use super::*;
use crate::ask::{self, Options};
use crate::questions::over::{self, OverAxis};
use crate::questions::{Settings, compare, floor};
use crate::render::Render;
use crate::render::plot::{self, Field, Layer, Shape};
use crate::render::question::Question;
use crate::render::samples::look;
use crate::render::text_chart;
use crate::sales;
use crate::scenario::{Scenario, read_bytes};
use crate::worklog;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

const SETTINGS: Settings = Settings {
    trials: 300,
    within: None,
    seed: 1,
    threads: None,
};

fn shipped() -> Vec<(String, Scenario)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut found: Vec<(String, Scenario)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .map(|path| {
            let name = path.file_stem().unwrap().to_string_lossy().into_owned();
            let scenario = read_bytes(&name, &std::fs::read(&path).unwrap(), &[]).unwrap();
            (name, scenario)
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0));
    found
}

/// A price and a target gone over, at one size.
fn gone_over(scenario: &Scenario, axes: usize) -> over::Over {
    let axis = |key: &str, numbers: &[f64]| OverAxis {
        key: key.to_owned(),
        unit: String::new(),
        texts: numbers.iter().map(f64::to_string).collect(),
        numbers: Some(numbers.to_vec()),
    };
    let prices: Vec<f64> = (1..=23).map(|k| scenario.sale.price * f64::from(k) / 12.0).collect();
    let targets = if axes > 1 { vec![20.0, 30.0, 40.0] } else { vec![30.0] };
    let mut scenarios = Vec::new();
    for target in &targets {
        scenarios.extend(prices.iter().map(|price| {
            let mut scenario = scenario.clone();
            scenario.sale.price = *price;
            scenario.target_per_hour = *target;
            scenario
        }));
    }
    let both = [axis("sale.price", &prices), axis("target.per_hour", &targets)];
    over::run(scenario, both[..axes].to_vec(), &scenarios, 5, &SETTINGS, &|_| ())
}

/// Every question that a scenario answers, and orders.
fn asked(name: &str, scenario: &Scenario) -> Vec<(String, Box<dyn Render>)> {
    let mut options = Options::new();
    options.trials = Some(SETTINGS.trials);
    options.start = Some(jiff::civil::date(2026, 12, 7));
    options.due = Some(jiff::civil::date(2026, 12, 18));
    let mut found: Vec<(String, Box<dyn Render>)> = Vec::new();
    for question in Question::of(scenario) {
        if let Ok(answer) = ask::answer(question, scenario, &options, &|_| ()) {
            found.push((format!("{name} {}", question.command()), Box::new(answer.figures)));
        }
    }
    let orders = floor::orders(scenario, None, &[1, 6, 12], &SETTINGS, &|_| ());
    found.push((format!("{name} orders"), Box::new(orders)));
    found
}

/// Answers of three shipped scenarios made odd: one size, many of them, every hour at a loss, huge figures, nothing that pays, nothing by
/// chance, names as long as sentences.
pub(in crate::render) fn odd_answers() -> &'static [(String, Box<dyn Render>)] {
    static ODD: OnceLock<Vec<(String, Box<dyn Render>)>> = OnceLock::new();
    ODD.get_or_init(make_odd)
}

fn make_odd() -> Vec<(String, Box<dyn Render>)> {
    const LONG: &str = "what somebody tells of a step in a whole sentence that goes on and on, \
                        with all that happens in it, and why, and how";
    type Change = (&'static str, fn(&mut Scenario));
    let changes: [Change; 5] = [
        ("one size", |s| s.batch.sizes = vec![12]),
        ("many sizes", |s| s.batch.sizes = (1..=200).collect()),
        ("losses", |s| s.sale.price *= 0.15),
        ("huge", |s| {
            s.sale.price *= 1e8;
            s.target_per_hour *= 1e8;
        }),
        ("none pays", |s| s.target_per_hour *= 9.0),
    ];
    let mut found = Vec::new();
    for name in ["oak-peg-rail", "spinning-tops", "plant-labels"] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenarios/{name}.toml"));
        let text = std::fs::read_to_string(path).unwrap();
        let read = |text: &str| read_bytes(name, text.as_bytes(), &[]).unwrap();
        for (odd, change) in changes {
            let mut scenario = read(&text);
            change(&mut scenario);
            found.extend(asked(&format!("{name}, {odd},"), &scenario));
        }
        let certain: Vec<String> = text.split('"').map(likely).collect();
        found.extend(asked(&format!("{name}, certain,"), &read(&certain.join("\""))));
        let mut long = text;
        for (k, step) in [
            "drill",
            "sand and oil",
            "turn",
            "colour bands and wax",
            "peg drilling jig",
            "roll and cut",
            "stamp and sponge",
        ]
        .iter()
        .enumerate()
        {
            long = long.replace(&format!("\"{step}\""), &format!("\"{k} {LONG}\""));
        }
        found.extend(asked(&format!("{name}, long names,"), &read(&long)));
    }
    found
}

/// The likely value of a range as it is written, with its unit; all else as it is.
fn likely(written: &str) -> String {
    let parts: Vec<&str> = written.split(" / ").collect();
    match parts[..] {
        [_, likely, high] if !written.contains('\n') => {
            let unit = high.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
            format!("{likely}{unit}")
        }
        _ => written.to_owned(),
    }
}

/// The plant labels and what sold of them.
fn labels() -> (Scenario, sales::SalesLog) {
    let read = |name: &str| std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios").join(name)).unwrap();
    let scenario = read_bytes("plant-labels", &read("plant-labels.toml"), &[]).unwrap();
    (scenario, sales::read("log", &read("plant-labels-sales.csv")).unwrap())
}

/// What that teaches.
pub(in crate::render) fn labels_sold() -> sales::answer::Sold {
    let (scenario, log) = labels();
    let asked = sales::learn::Asked {
        looked: log.last_day().unwrap(),
        enquiry_minutes: None,
        season_days: None,
    };
    sales::learn::learn("log", &scenario, &log, &asked)
}

/// Every answer that the shipped scenarios have, with a name. They are reckoned once for all tests.
pub(in crate::render) fn answers() -> &'static [(String, Box<dyn Render>)] {
    static ANSWERS: OnceLock<Vec<(String, Box<dyn Render>)>> = OnceLock::new();
    ANSWERS.get_or_init(make)
}

fn make() -> Vec<(String, Box<dyn Render>)> {
    let mut found: Vec<(String, Box<dyn Render>)> = Vec::new();
    let scenarios = shipped();
    for (name, scenario) in &scenarios {
        found.extend(asked(name, scenario));
        let mut one = scenario.clone();
        one.batch.sizes.truncate(1);
        found.push((
            format!("{name} floor, one size"),
            Box::new(floor::run(&one, &SETTINGS, &|_| ())),
        ));
        found.push((format!("{name} over"), Box::new(gone_over(scenario, 1))));
        found.push((format!("{name} map"), Box::new(gone_over(scenario, 2))));
    }
    let euros: Vec<Scenario> = scenarios
        .iter()
        .map(|s| s.1.clone())
        .filter(|s| s.currency == "EUR")
        .collect();
    let several = compare::run(&euros, &compare::Question::default(), &SETTINGS, &|_| ());
    found.push(("compare".to_owned(), Box::new(several)));
    let bytes = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/oak-peg-rail-log.csv")).unwrap();
    let log = worklog::read("log", &bytes).unwrap();
    found.push(("log".to_owned(), Box::new(worklog::look::look("log", &log, None))));
    let rail = scenarios.iter().find(|s| s.0 == "oak-peg-rail").unwrap();
    found.push(("fit".to_owned(), Box::new(worklog::fit::fit(&rail.1, &log))));
    let (_, log) = labels();
    let looked = log.last_day().unwrap();
    found.push(("sold".to_owned(), Box::new(labels_sold())));
    found.push(("sales".to_owned(), Box::new(sales::count::count("log", &log, looked))));
    found
}

#[test]
fn every_table_fits_says_what_it_shows_and_reads_what_json_has() {
    let found = answers();
    assert!(found.len() > 60, "{}", found.len());
    let mut paths: BTreeMap<(String, String), bool> = BTreeMap::new();
    let mut wide: Vec<String> = Vec::new();
    for (name, answer) in found {
        // One size, several and orders have one table.
        let question = match name.rsplit(' ').next().unwrap() {
            "size" | "orders" => "floor".to_owned(),
            other => other.to_owned(),
        };
        for table in answer.tables().iter().chain(answer.data().as_slice()) {
            for (path, is_there) in table.found() {
                *paths.entry((question.clone(), path)).or_default() |= is_there;
            }
        }
        for columns in [80, 100, 120] {
            for all in [false, true] {
                let look = Look {
                    all,
                    ..look(columns, false)
                };
                for grid in answer.grids(&look) {
                    let text = grid.text(false, None);
                    let widest = text.lines().map(|line| line.chars().count()).max();
                    if widest > Some(columns) {
                        wide.push(format!("{name}: {widest:?} of {columns}\n{text}"));
                    }
                    let legend = grid.legend.join(" ");
                    for mark in grid.rows.iter().flatten().filter_map(|cell| cell.mark) {
                        assert!(legend.contains(mark.sign(false)), "{name}: {mark:?} in {legend}");
                    }
                    for head in &grid.heads {
                        assert!(head.note.is_some(), "{name}: nothing says what {} is", head.whole());
                    }
                    // What neighbours share stands once over both.
                    for pair in grid
                        .heads
                        .windows(2)
                        .filter(|pair| pair[0].spanner != pair[1].spanner || pair[0].spanner.is_none())
                    {
                        let earns = |head: &Head| ["earns", "adds"].map(|word| head.whole().contains(word));
                        let both = earns(&pair[0])
                            .iter()
                            .zip(earns(&pair[1]))
                            .any(|(one, other)| *one && other);
                        let [one, other] = [0, 1].map(|k: usize| pair[k].whole());
                        assert!(!both && one != other, "{name}, {columns}: {one} | {other}");
                    }
                }
            }
        }
        let csv = answer.csv();
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let names: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        for (k, one) in names.iter().enumerate() {
            assert!(!names[..k].contains(one), "{name}: {one} twice");
        }
        assert!(reader.records().all(|row| row.unwrap().len() == names.len()), "{name}");
    }
    assert!(wide.is_empty(), "{} are too wide: {}", wide.len(), wide.join("\n"));
    let nowhere: Vec<_> = paths.iter().filter(|(_, is_there)| !**is_there).collect();
    assert!(nowhere.is_empty(), "no answer has {nowhere:?}");
}

/// Every mark and every sign of a chart in letters that a page shows is explained on it, and none that it does not show; a mark is
/// explained alike wherever it stands.
#[test]
fn pages_explain_the_marks_that_they_show() {
    // What a chart draws with, but for its frame.
    let signs = "●░█▒▓┃┆×►◄▲△◇◆■▽";
    let within = |text: &str| signs.chars().filter(|sign| text.contains(*sign)).collect::<String>();
    let mut seen: BTreeMap<char, usize> = BTreeMap::new();
    for (name, answer) in answers() {
        for all in [false, true] {
            let look = Look { all, ..look(100, true) };
            for grid in answer.grids(&look) {
                for mark in Mark::ALL {
                    let shown = grid.rows.iter().flatten().any(|cell| cell.mark == Some(mark));
                    let said = format!("{} {}", mark.sign(true), mark.meaning());
                    let explained = grid.legend.iter().filter(|words| words.starts_with(&said)).count();
                    assert_eq!(explained, usize::from(shown), "{name}: {said}");
                    let any = grid
                        .legend
                        .iter()
                        .filter(|words| words.starts_with(mark.sign(true)))
                        .count();
                    assert_eq!(any, explained, "{name}: {:?}", grid.legend);
                    *seen.entry(mark.sign(true)).or_default() += explained;
                }
            }
        }
        let Some(chart) = answer.plot().and_then(|plot| text_chart::text(&plot, 100, true)) else {
            continue;
        };
        // Names, frames and axes have an upright or a corner, which nothing else has.
        let (drawn, below): (Vec<&str>, Vec<&str>) = chart.lines().partition(|line| line.contains(['│', '└']));
        let drawn = within(&drawn.join("\n"));
        assert_eq!(drawn, within(&below.join("\n")), "{name}\n{chart}");
        for mark in Mark::ALL.into_iter().filter(|mark| drawn.contains(mark.sign(true))) {
            let said = format!("{} {}", mark.sign(true), mark.meaning());
            assert!(chart.contains(&said), "{name}: {said}\n{chart}");
        }
    }
    // The log that is looked at here is looked at without a scenario.
    for mark in Mark::ALL.into_iter().filter(|mark| *mark != Mark::Unknown) {
        assert!(seen[&mark.sign(true)] > 0, "{mark:?} is nowhere");
    }
}

/// Of every chart each panel says what it measures, and its upright axis reaches over some of what is drawn on it.
#[test]
fn every_panel_says_its_unit_and_reaches_over_its_curves() {
    for (name, answer) in answers() {
        for panel in answer.plot().into_iter().flat_map(|plot| plot.panels) {
            assert!(
                !panel.title.is_empty() && !panel.said_beside().is_empty(),
                "{name}: {panel:?}"
            );
            // Every price of the curve, which no table has a row for.
            assert!(name != "sold" || !panel.told.is_empty(), "{}", panel.title);
            // A calendar's last date is one by which something is done.
            let last = panel.told.last().into_iter().flat_map(|(_, said)| said);
            for (_, done) in last.filter(|(what, _)| what.starts_with("batches done")) {
                assert_ne!(done, &format::share(0.0), "{name}");
            }
            let Field::Curves(curves) = &panel.field else { continue };
            let there = |layer: &Layer| match &layer.shape {
                Shape::Curve { points, .. } => points
                    .iter()
                    .any(|p| p.1.is_some_and(|v| plot::within(curves.range, v))),
                Shape::Band { points, .. } | Shape::Bars { points, .. } => {
                    points.iter().any(|p| plot::within(curves.range, p.2))
                }
                _ => false,
            };
            let (low, high) = curves.range;
            assert!(low < high && curves.layers.iter().any(there), "{name}: {}", panel.title);
        }
    }
}

/// The tables that tell a scenario back.
#[test]
fn what_was_understood_fits() {
    for (name, scenario) in shipped() {
        for columns in [80, 100, 120] {
            let text = crate::render::understood::scenario(&scenario, columns, false);
            let widest = text.lines().map(|line| line.chars().count()).max();
            assert!(widest <= Some(columns), "{name}\n{text}");
            for step in &scenario.steps {
                assert!(
                    text.contains(step.name.split(' ').next().unwrap()),
                    "{name}: {}\n{text}",
                    step.name
                );
            }
        }
    }
}

/// What a row has of its own and of the answer, rows without a part, columns of one name, and what JSON writes in full.
#[test]
fn csv_has_the_figures_of_json_to_the_last_digit() {
    let answer = serde_json::json!({
        "all": 7,
        "rows": [
            {"word": "some, \"more\"", "size": 0.1 + 0.2, "part": {"share": 1.0 / 3.0, "low": null}},
            {"word": null, "other": 1e21},
        ],
    });
    let mut c: Columns<'_, usize> = Columns::default();
    c.field("word", Unit::Text);
    c.field("size", Unit::Money("EUR"));
    c.field("other", Unit::Money("EUR")).named("size");
    c.called("part", "of", SHARE, Unit::Share).plain("share");
    c.of_all("all", Unit::Count);
    c.figure("twice", Unit::Hourly("EUR"), |k| (*k > 0).then_some(2.5));
    let table = Table::new("", &answer, "rows", vec![0, 1], c);
    let expected = "word,size_EUR,of_share,of_low,of_high,all,twice_EUR_per_hour\n\
                    \"some, \"\"more\"\"\",0.30000000000000004,0.3333333333333333,,,7,\n\
                    ,1000000000000000000000,,,,7,2.5\n";
    assert_eq!(table.csv(), expected);
    let there: Vec<bool> = table.found().into_iter().map(|(_, there)| there).collect();
    assert_eq!(there, [true, true, true, true, true, false, true]);
    assert_eq!(table.grid(&look(80, true)).rows[0][0].text, "33 %");
}

#[test]
fn picked_columns_stand_in_the_order_asked_for() {
    let mut c: Columns<'_, f64> = Columns::default();
    for key in ["a", "b", "c"] {
        c.figure(key, Unit::Ratio, |v| Some(*v)).plain(key);
    }
    let table = Table::new("", &(), "", vec![1.0], c.pick(&["c", "a"]));
    let heads: Vec<String> = table.grid(&look(80, true)).heads.iter().map(Head::own).collect();
    assert_eq!(heads, ["c", "a"]);
}

#[test]
fn what_is_said_once_and_what_is_left_out() {
    let mut c: Columns<'_, (&str, f64)> = Columns::default();
    c.said("name", |row| row.0.into()).plain("name").once();
    c.figure("n", Unit::Ratio, |row| Some(row.1)).plain("n");
    let rows = vec![("a", 1.0), ("a", 2.0), ("b", 3.0), ("a", 4.0)];
    let table = Table::new("", &(), "", rows, c)
        .choose(vec![0, 1, 3], "rows")
        .gapped()
        .mark(Mark::Best, "most", |row| row.1 > 3.0)
        .main(|row| row.1 > 3.0);
    let grid = table.grid(&look(80, true));
    let names: Vec<&str> = grid.rows.iter().map(|row| row[0].text.as_str()).collect();
    assert_eq!(names, ["a", "", "...", "a"]);
    assert_eq!((grid.marked, grid.rows[3][0].mark), (Some(3), Some(Mark::Best)));
    assert_eq!(grid.legend, ["▲ advised: most", "--all: all 4 rows"]);
}

/// A map that has no room for all of its values says how many it shows and where the others are; one that has says nothing.
#[test]
fn a_map_says_that_values_have_no_room() {
    let (mut short, mut whole) = (0, 0);
    for (name, answer) in answers().iter().filter(|(name, _)| name.ends_with(" map")) {
        let all = answer.grids(&Look {
            terminal: false,
            ..look(80, true)
        })[0]
            .heads
            .len()
            - 1;
        for columns in [80, 100, 120, 400] {
            let grid = &answer.grids(&look(columns, true))[0];
            let shown = grid.heads.len() - 1;
            let said = grid.explained().iter().filter(|p| **p == grid.left_out).count();
            if shown == all {
                whole += 1;
                assert_eq!(grid.left_out, "", "{name}, {columns}");
            } else {
                short += 1;
                assert!(
                    grid.left_out
                        .starts_with(&format!("Only {shown} of the {all} values across")),
                    "{name}"
                );
                assert_eq!(said, 1, "{name}, {columns}");
            }
        }
    }
    assert!(short > 0 && whole > 0, "{short} {whole}");
}
