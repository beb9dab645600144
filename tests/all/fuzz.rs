//! What comes from outside, mangled: no input may panic, whatever it is.
//!
//! A plain loop in this process. A few thousand inputs go with every run of the tests; `BATCHWRIGHT_FUZZ=SECONDS` gives each target so long,
//! with a seed that is printed (`BATCHWRIGHT_FUZZ_SEED`). Inputs begin as the shipped files, the invalid ones and the starters. An input that
//! panics, or takes longer than any person waits, is kept in the folder that cargo has for the files of tests, and becomes a test of its own.

#![allow(clippy::print_stdout, reason = "a figure of what was tried")]

use std::collections::HashSet;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use batchwright::{Options, Question, Scenario, ask, cli};
use batchwright_core::scenario::{self, written};
use batchwright_core::{sales, worklog};
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use serde_json::{Value, json};

/// Inputs of each target where no time is given.
const FEW: u64 = 1_500;
/// Nothing is read or refused as slowly as this, unless the machine is busy with much else.
const HANGS: Duration = Duration::from_secs(20);
/// What a scenario and a log are made of, and what they should not be.
const WORDS: [&str; 72] = [
    "[",
    "]",
    "[[",
    "]]",
    "=",
    "\"",
    "'",
    "\"\"\"",
    "{",
    "}",
    ",",
    "\n",
    "\r",
    "\r\n",
    "#",
    "/",
    "..",
    ".",
    "-",
    "+",
    "%",
    " ",
    "\t",
    "\0",
    "\u{1b}[31m",
    "\u{202e}",
    "\u{feff}",
    "é",
    "🪵",
    "0",
    "-1",
    "1e308",
    "1e-308",
    "nan",
    "inf",
    "9999999999",
    "0.1",
    "1 / 2 / 3 min",
    "2 / 1 min",
    "100 %",
    "99.9999 %",
    "1 d",
    "12 USD",
    "9999-12-31",
    "2027-02-30",
    "1..40",
    "5..100 step 5",
    "1..4294967295",
    "remake",
    "short",
    "[season]",
    "[steady]",
    "[hours]",
    "[[jig]]",
    "[[step]]",
    "[[material]]",
    "[[channel]]",
    "[[misfortune]]",
    "[currencies]",
    "buyers = 3",
    "name = \"a\"",
    "room = 1",
    "kept_in = \"kiln\"",
    "spoil = \"90 %\"",
    "redo = \"80 %\"",
    "price = 1e9",
    "{ low = 1, likely = 2, high = 3, unit = \"min\", ends = \"tenths\", shape = \"pert\" }",
    "shape = \"logged\"",
    "x 0.5",
    "+ 6",
    "order_of = 1000000000",
    "elasticity = 40",
];

fn corpus(folder: &str, ending: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let files = fs::read_dir(folder).expect("a folder of the tree");
    let mut paths: Vec<PathBuf> = files.map(|file| file.expect("a file").path()).collect();
    paths.sort();
    let wanted = paths
        .iter()
        .filter(|path| path.extension().is_some_and(|e| e == ending));
    wanted
        .map(|path| fs::read(path).expect("a file that can be read"))
        .collect()
}

fn scenarios() -> Vec<Vec<u8>> {
    let mut all = corpus("scenarios", "toml");
    all.extend(corpus("scenarios/invalid", "toml"));
    all
}

/// Chance, and a few ways to spoil a text with it.
struct Mangler(Xoshiro256PlusPlus);

impl Mangler {
    fn place(&mut self, length: usize) -> usize {
        self.0.random_range(0..=length)
    }

    fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        of.choose(&mut self.0).expect("something to choose from")
    }

    /// One to six changes of a file, sometimes with a stretch of another one.
    fn mangled(&mut self, corpus: &[Vec<u8>]) -> Vec<u8> {
        let mut text = self.pick(corpus).clone();
        for _ in 0..self.0.random_range(1..=6) {
            let (a, b) = (self.place(text.len()), self.place(text.len()));
            let (from, until) = (a.min(b), a.max(b).min(a.min(b) + 60));
            match self.0.random_range(0..7) {
                0 => drop(text.drain(from..until)),
                1 => {
                    let again = text[from..until].to_vec();
                    text.splice(from..from, again);
                }
                2 if !text.is_empty() => {
                    let at = from.min(text.len() - 1);
                    text[at] ^= 1 << self.0.random_range(0..8);
                }
                3 => {
                    let other = self.pick(corpus).clone();
                    let (c, d) = (self.place(other.len()), self.place(other.len()));
                    text.splice(from..until, other[c.min(d)..c.max(d)].iter().copied());
                }
                4 => self.value(&mut text),
                _ => {
                    let word = *self.pick(&WORDS);
                    text.splice(from..until.min(from + 8), word.bytes());
                }
            }
        }
        text
    }

    /// Another value in place of one, behind an equals sign, so that the file may still be one.
    fn value(&mut self, text: &mut Vec<u8>) {
        let signs: Vec<usize> = (0..text.len()).filter(|&at| text[at] == b'=').collect();
        let Some(&sign) = signs.choose(&mut self.0) else { return };
        let end = text[sign..]
            .iter()
            .position(|b| matches!(b, b'\n' | b'#'))
            .map_or(text.len(), |n| sign + n);
        let value = self.amount();
        text.splice(sign + 1..end, format!(" {value} ").bytes());
    }

    fn amount(&mut self) -> String {
        let number = |random: &mut Xoshiro256PlusPlus| match random.random_range(0..6) {
            0 => "0".to_owned(),
            1 => format!("{}", random.random_range(1..200)),
            2 => format!("{:.2}", random.random_range(0.0..50.0)),
            3 => "1e12".to_owned(),
            4 => "0.000001".to_owned(),
            _ => format!("{}", random.random_range(1..20)),
        };
        let unit = *self.pick(&["", " min", " h", " d", " %", " USD", " EUR"]);
        let mut three: Vec<String> = (0..3).map(|_| number(&mut self.0)).collect();
        match self.0.random_range(0..6) {
            0 => three.swap_remove(0),
            1 => format!("\"{}{unit}\"", three[0]),
            2 => format!("\"{} / {}{unit}\"", three[0], three[1]),
            3 | 4 => {
                three.sort_by(|a, b| a.parse::<f64>().unwrap_or(0.0).total_cmp(&b.parse().unwrap_or(0.0)));
                format!("\"{}{unit}\"", three.join(" / "))
            }
            _ => (*self.pick(&WORDS)).to_owned(),
        }
    }
}

/// Gives a target inputs for as long as is asked, and keeps what it cannot take.
fn fuzz(name: &str, mut input: impl FnMut(&mut Mangler) -> Vec<u8>, mut target: impl FnMut(&[u8])) {
    let number = |key: &str| std::env::var(key).ok().and_then(|value| value.parse::<u64>().ok());
    let seconds = number("BATCHWRIGHT_FUZZ");
    let seed = number("BATCHWRIGHT_FUZZ_SEED").unwrap_or(1);
    let mut mangler = Mangler(Xoshiro256PlusPlus::seed_from_u64(seed));
    let (begin, mut inputs, mut slowest) = (Instant::now(), 0_u64, Duration::ZERO);
    let mut failures = Vec::new();
    let go_on = |inputs: u64| seconds.map_or(inputs < FEW, |s| begin.elapsed() < Duration::from_secs(s));
    while go_on(inputs) && failures.len() < 10 {
        let bytes = input(&mut mangler);
        let asked = Instant::now();
        let fine = catch_unwind(AssertUnwindSafe(|| target(&bytes))).is_ok();
        let took = asked.elapsed();
        inputs += 1;
        if !fine || took > HANGS {
            let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fuzz");
            fs::create_dir_all(&folder).expect("a folder for what was found");
            let path = folder.join(format!("{name}-{seed}-{inputs}"));
            fs::write(&path, &bytes).expect("room for what was found");
            failures.push(path);
        }
        slowest = slowest.max(took);
    }
    let seconds = begin.elapsed().as_secs_f64();
    println!(
        "{name}: {inputs} inputs in {seconds:.0} s, seed {seed}, slowest {:.3} s",
        slowest.as_secs_f64()
    );
    assert!(failures.is_empty(), "{name}: {failures:?}");
}

#[test]
fn scenarios_of_any_bytes() {
    let corpus = scenarios();
    fuzz(
        "scenario",
        |m| m.mangled(&corpus),
        |bytes| match scenario::read_bytes("made.toml", bytes, &[]) {
            Ok(read) => drop(scenario::doubts::doubts(&read)),
            Err(faults) => assert!(!faults.to_string().is_empty(), "a refusal says why"),
        },
    );
}

#[test]
fn logs_of_any_bytes() {
    let corpus = corpus("scenarios", "csv");
    let rail = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/oak-peg-rail.toml"))
        .expect("the rail");
    let rail = scenario::read("rail.toml", &rail, &[]).expect("a scenario");
    fuzz(
        "log",
        |m| m.mangled(&corpus),
        |bytes| {
            if let Ok(log) = worklog::read("made.csv", bytes) {
                drop(worklog::fit::fit(&rail, &log));
            }
        },
    );
}

#[test]
fn sales_logs_of_any_bytes() {
    let corpus: Vec<Vec<u8>> = corpus("scenarios", "csv")
        .into_iter()
        .filter(|log| log.starts_with(b"listed"))
        .collect();
    let labels = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/plant-labels.toml"))
        .expect("the plant labels");
    let labels = scenario::read("labels.toml", &labels, &[]).expect("a scenario");
    fuzz(
        "sales log",
        |m| m.mangled(&corpus),
        |bytes| {
            if let Ok(log) = sales::read("made.csv", bytes) {
                let asked = sales::learn::Asked {
                    enquiry_minutes: Some(12.0),
                    ..sales::learn::Asked::of(&log)
                };
                drop(sales::learn::learn("made.csv", &labels, &log, &asked));
            }
        },
    );
}

#[test]
fn settings_of_any_text() {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/stoneware-mugs.toml"))
        .expect("the mugs");
    let keys: Vec<String> = scenario::keys::all()
        .map(|(section, key)| format!("{section}.{}", key.name))
        .collect();
    let names = [
        "glaze firing",
        "stoneware clay",
        "\"elements, shelves, wash\"",
        "nothing",
    ];
    fuzz(
        "set",
        |m| {
            let mut key = m.pick(&keys).clone();
            if m.0.random_bool(0.6) {
                let name = *m.pick(&names);
                key = key.replacen('.', &format!(".{name}."), 1);
            }
            let value = m.amount();
            let mut setting = format!("{key}={value}").into_bytes();
            if m.0.random_bool(0.4) {
                setting = m.mangled(&[setting]);
            }
            setting
        },
        |bytes| {
            let setting = String::from_utf8_lossy(bytes);
            if let Some(pair) = scenario::split_setting(&setting) {
                drop(scenario::read("mugs.toml", &text, &[pair]));
            }
        },
    );
}

#[test]
fn ranges_to_go_over_of_any_text() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/spinning-tops.toml");
    let screen = cli::Screen {
        colour_out: false,
        colour_err: false,
        watched: false,
        columns: 80,
        unicode: true,
    };
    let known = [
        "sale.price=20..80",
        "target=10..50 step 20",
        "step.turn.spoil=0,5,10 %",
        "batch.spoiled=short,remake",
        "season.buyers=5..9 step 2",
    ];
    let corpus: Vec<Vec<u8>> = known.iter().map(|range| range.as_bytes().to_vec()).collect();
    fuzz(
        "over",
        |m| m.mangled(&corpus),
        |bytes| {
            let over = String::from_utf8_lossy(bytes).into_owned();
            let file = file.to_string_lossy().into_owned();
            let args = [
                "batchwright",
                "sweep",
                &file,
                "--size",
                "4",
                "--trials",
                "100",
                "--threads",
                "1",
                "--format",
                "json",
                "--over",
                &over,
            ];
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let _code = cli::run(args, &mut out, &mut err, screen);
            assert!(
                out.is_empty() || serde_json::from_slice::<Value>(&out).is_ok(),
                "an answer is JSON"
            );
        },
    );
}

/// What the local page sends: a text as it was loaded, and what was typed where.
#[test]
fn typed_values_of_any_text() {
    let corpus = scenarios();
    fuzz(
        "typed",
        |m| m.mangled(&corpus),
        |bytes| {
            let text = String::from_utf8_lossy(bytes);
            let mut own = Mangler(Xoshiro256PlusPlus::seed_from_u64(bytes.len() as u64));
            let Some(sections) = written::sections(&text) else {
                return;
            };
            let mut typed = Vec::new();
            for section in &sections {
                for value in &section.values {
                    if own.0.random_bool(0.2) {
                        let address = written::Address {
                            section: section.word.clone(),
                            entry: section.entry,
                            key: value.key.clone(),
                        };
                        typed.push((address, own.amount()));
                        if own.0.random_bool(0.05) {
                            typed.extend(typed.last().cloned());
                        }
                    }
                }
            }
            if let Ok(new) = written::with_typed(&text, &typed) {
                assert!(!typed.is_empty() || new == text, "nothing typed changes nothing");
            }
        },
    );
}

/// What a page sends to the library: any bytes, and messages that are understood with mangled texts and values in them.
#[test]
fn messages_of_any_text() {
    let (scenarios, logs) = (scenarios(), corpus("scenarios", "csv"));
    let keys: Vec<_> = scenario::keys::all()
        .map(|(section, key)| (section.to_string(), key.name))
        .collect();
    let topics = [
        "sweep", "floor", "stress", "drivers", "season", "steady", "jig", "calendar", "compare", "over", "quote",
        "fit", "sold",
    ];
    fuzz(
        "message",
        |m| {
            let text = if m.0.random_bool(0.5) {
                m.mangled(&scenarios)
            } else {
                m.pick(&scenarios).clone()
            };
            let log = if m.0.random_bool(0.3) {
                m.mangled(&logs)
            } else {
                m.pick(&logs).clone()
            };
            let (section, key) = m.pick(&keys).clone();
            let at = json!({ "section": section, "entry": m.0.random_bool(0.7).then_some(m.place(3)), "key": key });
            let written = m.amount();
            let said = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
            let message = json!({
                "ask": "look",
                "text": said(&text),
                "question": m.pick(&topics),
                "trials": 100,
                "size": m.0.random_bool(0.5).then_some(m.place(30)),
                "changes": [{ "do": "put", "at": at, "written": written }],
                "log": said(&log),
                "others": [said(m.pick::<Vec<u8>>(&scenarios))],
                "orders": [1, m.place(40)],
                "over": [format!("sale.price={}", m.amount())],
                "start": "2027-01-11",
                "wide": m.0.random_bool(0.5).then_some(m.place(2_000)),
            });
            let bytes = message.to_string().into_bytes();
            if m.0.random_bool(0.3) {
                m.mangled(&[bytes])
            } else {
                bytes
            }
        },
        |bytes| {
            let said = batchwright::page::reply(bytes);
            assert!(serde_json::from_str::<Value>(&said).is_ok(), "a reply is JSON: {said}");
        },
    );
}

/// Low, middle and high figures of one thing are in order, and no figure that is always there is missing (JSON has no NaN but `null`).
fn in_order(value: &Value, path: &str) {
    match value {
        Value::Object(map) => {
            let number = |key: &str| map.get(key).and_then(Value::as_f64);
            for (below, above) in [
                ("p10", "p50"),
                ("p50", "p90"),
                ("low", "high"),
                ("surplus_p10", "surplus_p90"),
            ] {
                if let (Some(below_is), Some(above_is)) = (number(below), number(above)) {
                    assert!(below_is <= above_is, "{path}: {below} {below_is}, {above} {above_is}");
                }
            }
            for key in ["mean", "se", "p10", "p50", "p90", "long_run", "long_run_se"] {
                assert!(map.get(key).is_none_or(|v| !v.is_null()), "{path}.{key} is no number");
            }
            if let Some(share) = number("share").filter(|_| map.len() == 3 && map.contains_key("low")) {
                assert!(share <= 1.0, "{path}: a share of {share}");
            }
            map.iter()
                .for_each(|(key, inner)| in_order(inner, &format!("{path}.{key}")));
        }
        Value::Array(list) => list
            .iter()
            .enumerate()
            .for_each(|(k, inner)| in_order(inner, &format!("{path}.{k}"))),
        _ => {}
    }
}

/// The bits of a number, with one zero.
fn bits(number: f64) -> u64 {
    (number + 0.0).to_bits()
}

/// Figures of the CSV are JSON's to the last digit, but for those that follow from them.
fn csv_has_jsons_figures(json: &str, csv: &str) {
    // From the text, as reading JSON may round the last digit.
    let words = json.split(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c)));
    let known: HashSet<u64> = words.filter_map(|word| word.parse().ok().map(bits)).collect();
    let follows =
        |head: &str| head.contains("_in_all") || head.starts_with("best_less_this") || head.starts_with("beats_best");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let heads = reader.headers().expect("heads").clone();
    for row in reader.records().map(|row| row.expect("a row")) {
        for (head, cell) in heads.iter().zip(&row).filter(|(head, _)| !follows(head)) {
            let figure: Option<f64> = cell.parse().ok();
            assert!(
                figure.is_none_or(|figure| figure.is_finite() && known.contains(&bits(figure))),
                "{head}: {cell} is not in the JSON"
            );
        }
    }
}

/// What the page shows of an answer, its opening and every cell of its tables, stands on the terminal too.
fn page_is_the_text(shown: &Value, text: &str) {
    let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let text = squeezed(text);
    let opening = shown["opening"].as_array().expect("an opening").iter();
    let tables = shown["tables"].as_array().expect("tables").iter();
    let rows = tables.flat_map(|table| table["rows"].as_array().expect("rows"));
    let cells = rows
        .flat_map(|row| row["cells"].as_array().expect("cells"))
        .map(|cell| &cell["text"]);
    for said in opening
        .chain(cells)
        .map(|said| squeezed(said.as_str().expect("a text")))
    {
        assert!(
            text.contains(&said),
            "the page says {said:?}, and not the terminal:\n{text}"
        );
    }
}

/// Whole calls: a file that is taken answers every question that applies, or says in a sentence why not; its figures are numbers, in order, and
/// the same in JSON, in CSV and on the page.
#[test]
fn what_is_taken_is_answered() {
    let corpus = corpus("scenarios", "toml");
    let topics = [
        "sweep", "floor", "stress", "drivers", "season", "steady", "jig", "calendar", "compare", "over", "quote",
    ];
    let other = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/oak-coat-stand.toml"))
        .expect("shipped");
    let against = Scenario::from_toml(&other).expect("shipped");
    fuzz(
        "whole",
        |m| {
            // Values alone are exchanged, so that most files are still taken.
            let mut text = m.pick(&corpus).clone();
            for _ in 0..m.0.random_range(1..=5) {
                m.value(&mut text);
            }
            text
        },
        |bytes| {
            // One size keeps a call short.
            let at = json!({ "section": "batch", "entry": null, "key": "sizes" });
            let topic = topics[bytes.iter().map(|b| *b as usize).sum::<usize>() % topics.len()];
            let over = "sale.price=20,40,60";
            let message = json!({
                "ask": "look", "text": String::from_utf8_lossy(bytes), "question": topic, "trials": 100, "figures": true, "over": [over],
                "changes": [{ "do": "put", "at": at, "written": "[1, 5]" }], "start": "2027-01-11", "others": [other], "orders": [1, 6],
            });
            let page: Value =
                serde_json::from_str(&batchwright::page::reply(message.to_string().as_bytes())).expect("JSON");
            let shown = &page["answer"];
            let face = |key: &str| shown[key].as_str().expect("a face");
            if !shown.is_null() {
                let json = serde_json::from_str(face("json")).expect("JSON");
                in_order(&json, topic);
                csv_has_jsons_figures(face("json"), face("csv"));
                assert!(!page["answer"].to_string().contains("NaN"), "{topic}: not a number");
            }
            let Ok(read) = Scenario::from_toml(page["text"].as_str().expect("a text")) else {
                assert!(shown.is_null(), "an answer about what is not read");
                return;
            };
            let options = Options::new()
                .trials(100)
                .and_then(|o| o.threads(1))
                .and_then(|o| o.start("2027-01-11"))
                .and_then(|o| if topic == "over" { o.over(over) } else { Ok(o) })
                .expect("options");
            let (question, options) = match topic {
                "quote" => return,
                "over" => (Question::Sweep, options),
                "compare" => (Question::Compare, options.against(&against)),
                named => (
                    Question::ALL
                        .into_iter()
                        .find(|q| q.command() == named)
                        .expect("a question"),
                    options,
                ),
            };
            match ask(question, &read, &options) {
                Ok(answer) => {
                    assert_eq!(
                        (answer.json().trim(), answer.csv()),
                        (face("json").trim(), face("csv").to_owned()),
                        "{topic}"
                    );
                    page_is_the_text(shown, &answer.text(1_000));
                    drop(answer.text(80));
                    drop(answer.svg());
                }
                Err(why) => {
                    assert!(!why.to_string().is_empty(), "a refusal says why");
                    assert!(shown.is_null(), "{topic}: the page answers what the library refuses");
                }
            }
        },
    );
}
