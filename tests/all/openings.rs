//! What every page begins with: an instruction with its figure, in at most three whole sentences that are read once.

use std::process::Output;

use crate::shipped;
use assert_cmd::Command;

/// Sentences and words of an opening at most, and words of one of its sentences.
const SENTENCES: usize = 3;
const WORDS: usize = 60;
const WORDS_OF_ONE: usize = 25;

/// What the first word may be: something to do.
const VERBS: [&str; 22] = [
    "Build", "Change", "Charge", "Check", "Choose", "Do", "Expect", "Keep", "Leave", "Log", "Make", "Name", "Plan",
    "Promise", "Quote", "Raise", "Sell", "Set", "Start", "Try", "Work", "Write",
];

/// Days, where a date is what there is to say.
const DAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// What has two meanings at a bench, or is nobody's word there; in small letters, within spaces or marks.
const BANNED: [(&str, &str); 13] = [
    ("run", "a batch, or a trial"),
    ("runs", "batches, or trials"),
    ("tenth", "10 % less, one of ten, or an end of a range"),
    ("tenths", "10 % less, or ends of a range"),
    ("long run", "on average"),
    ("stock dearer", "material dearer"),
    ("stock may", "material may"),
    ("you ask", "your price, or how surely you want it"),
    ("is lost", "the target is missed, or a piece is spoiled"),
    ("lost already", "missed already"),
    ("extran", "an ending glued to the wrong word"),
    ("a order", "an order"),
    ("1 pieces", "one piece"),
];

/// Those with a jig, a season, rounds and hours: what odd cases are tried on.
const TRIED: [&str; 4] = ["ash-dining-table", "oak-peg-rail", "spinning-tops", "stoneware-mugs"];

const STARTERS: [&str; 3] = ["bespoke", "kiln-load", "batch"];

/// Everything certain; `{}`: what is odd about it.
const CERTAIN: &str = "
title = 'Certain'
currency = 'EUR'
target = 30
[batch]
sizes = '1..14'
runs = 20
[[step]]
name = 'drill'
setup = '60 min'
each = '15 min'
{step}
[[step]]
name = 'pack'
per_order = '20 min'
[[material]]
name = 'oak'
per_piece = 1
price = 5
[[jig]]
name = 'stop'
step = 'drill'
build = '2 h'
cost = 14
setup = 'x 0.5'
lasts = 100
[sale]
price = 40
{sale}
";

fn scenario(name: &str) -> String {
    let folder = env!("CARGO_MANIFEST_DIR");
    let shipped = format!("{folder}/scenarios/{name}.toml");
    let starter = format!("{folder}/src/scenario/starters/{name}.toml");
    let read = std::fs::read_to_string(shipped).or_else(|_| std::fs::read_to_string(starter));
    read.expect("the scenario is there")
}

/// Every question that this text can be asked, as a command.
fn questions(text: &str) -> Vec<Vec<&'static str>> {
    let mut found = vec![
        vec!["sweep"],
        vec!["floor"],
        vec!["floor", "--order", "1,6,12"],
        vec!["floor", "--order", "6"],
        vec!["stress"],
        vec!["drivers"],
    ];
    for (section, command) in [
        ("\n[[jig]]", &["jig"][..]),
        ("\n[season]", &["season"]),
        ("\n[steady]", &["steady"]),
        ("\n[hours]", &["calendar", "--start", "2027-01-11"]),
        (
            "\n[hours]",
            &["calendar", "--start", "2027-01-11", "--due", "2027-03-26"],
        ),
    ] {
        if text.contains(section) {
            found.push(command.to_vec());
        }
    }
    found
}

fn page(arguments: &[&str], text: &str) -> String {
    let mut command = Command::cargo_bin("batchwright").expect("the program is built");
    let output: Output = command
        .arg(arguments[0])
        .arg("-")
        .args(&arguments[1..])
        .args(["--trials", "400"])
        .env_remove("COLUMNS")
        .write_stdin(text)
        .output()
        .expect("the program runs");
    assert!(
        output.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("text")
}

/// Whole sentences: each ends where a full stop is followed by a new one.
fn sentences(paragraph: &str) -> Vec<&str> {
    let mut found = Vec::new();
    let mut rest = paragraph;
    while let Some(end) = rest.match_indices(". ").map(|(k, _)| k).find(|k| {
        let next = rest[k + 2..].chars().next();
        next.is_some_and(|c| c.is_uppercase() || c.is_ascii_digit() || c == '\'')
    }) {
        found.push(&rest[..=end]);
        rest = &rest[end + 2..];
    }
    found.push(rest);
    found
}

/// Whether a text has a word or words, and not as part of others.
fn says(text: &str, words: &str) -> bool {
    text.match_indices(words).any(|(at, _)| {
        let letter = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric());
        !letter(text[..at].chars().next_back()) && !letter(text[at + words.len()..].chars().next())
    })
}

/// "At 35 an hour earns": a figure that nobody makes, and an hour that is nobody's.
fn dangles(text: &str) -> bool {
    text.match_indices(" an hour ").any(|(at, _)| {
        let before = text[..at].split_whitespace().next_back().unwrap_or_default();
        let after = text[at + " an hour ".len()..]
            .split_whitespace()
            .next()
            .unwrap_or_default();
        let figure = before
            .trim_end_matches(',')
            .chars()
            .all(|c| c.is_ascii_digit() || c == ',');
        (figure || before == "time") && (after == "earns" || after == "loses")
    })
}

/// Why: what follows the opening.
fn second_paragraph(page: &str) -> String {
    let mut paragraphs = page.split("\n\n").skip(2).map(|p| p.replace('\n', " "));
    paragraphs.next().filter(|p| p.ends_with('.')).unwrap_or_default()
}

/// What is wrong with how a page begins.
fn faults(page: &str) -> Vec<String> {
    let mut paragraphs = page.split("\n\n").skip(1).map(|p| p.replace('\n', " "));
    let opening = paragraphs.next().unwrap_or_default();
    let mut wrong = Vec::new();
    let said = sentences(&opening);
    if said.len() > SENTENCES {
        wrong.push(format!("{} sentences", said.len()));
    }
    let words = |text: &str| text.split_whitespace().count();
    if words(&opening) > WORDS {
        wrong.push(format!("{} words", words(&opening)));
    }
    for sentence in &said {
        if words(sentence) > WORDS_OF_ONE {
            wrong.push(format!("{} words in: {sentence}", words(sentence)));
        }
        let first = sentence.chars().next();
        let whole = first.is_some_and(|c| c.is_uppercase() || c.is_ascii_digit() || c == '\'');
        if !whole || !sentence.ends_with('.') || words(sentence) < 3 {
            wrong.push(format!("no whole sentence: {sentence}"));
        }
    }
    let first = opening.split([' ', ',']).next().unwrap_or_default();
    if !VERBS.contains(&first) && !DAYS.contains(&first) {
        wrong.push(format!("begins with {first}"));
    }
    let why = second_paragraph(page);
    let both = format!("{opening} {why}").to_lowercase();
    for (word, better) in BANNED {
        if says(&both, word) {
            wrong.push(format!("says '{word}': {better}"));
        }
    }
    if dangles(&both) {
        wrong.push("an hour that is nobody's".to_owned());
    }
    if !wrong.is_empty() {
        wrong.push(format!("in: {opening} | {why}"));
    }
    wrong
}

/// Asks all questions of all cases, a name, a text and flags each, and tells every fault at once.
fn all_open_well(cases: &[(String, String, Vec<&str>)]) {
    let mut wrong = Vec::new();
    for (name, text, flags) in cases {
        let mut asked = questions(text);
        if flags.is_empty() {
            asked.push(vec!["sweep", "--over", "sale.price=20..80", "--size", "6"]);
        }
        for question in asked {
            let arguments: Vec<&str> = question.iter().chain(flags).copied().collect();
            let faults = faults(&page(&arguments, text));
            if !faults.is_empty() {
                wrong.push(format!("{name} {arguments:?}\n  {}", faults.join("\n  ")));
            }
        }
    }
    assert!(wrong.is_empty(), "{} pages:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_shipped_scenario_and_starter_opens_with_what_to_do() {
    let names = shipped::names().chain(STARTERS);
    let cases: Vec<_> = names
        .map(|name| ((*name).to_owned(), scenario(name), Vec::new()))
        .collect();
    all_open_well(&cases);
}

#[test]
fn odd_cases_open_with_what_to_do() {
    let odd: [(&str, &[&str]); 6] = [
        ("nothing pays", &["--price", "1"]),
        ("any price pays", &["--price", "90000"]),
        ("one piece", &["--set", "batch.sizes=1"]),
        ("one size", &["--set", "batch.sizes=12"]),
        ("no target", &["--target", "0"]),
        ("nearly sure", &["--set", "confidence=97.5 %"]),
    ];
    let mut cases = Vec::new();
    for name in TRIED {
        for (what, flags) in odd {
            cases.push((format!("{name}, {what}"), scenario(name), flags.to_vec()));
        }
    }
    let certain = |step: &str, sale: &str| CERTAIN.replace("{step}", step).replace("{sale}", sale);
    cases.extend(
        [
            ("certain", certain("", "")),
            ("rounds with gaps", certain("room = 6", "")),
            ("no price pays", certain("", "returned = '99 %'\nfee = '99 %'")),
            ("a piece too often lost", certain("spoil = '40 %'", "")),
            ("costs more than it brings", certain("", "post = 60")),
        ]
        .map(|(what, text)| (what.to_owned(), text, Vec::new())),
    );
    all_open_well(&cases);
}

#[test]
fn a_comparison_opens_with_what_to_do() {
    let file = |name: &str| format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    for pair in [["oak-peg-rail", "oak-coat-stand"], ["spinning-tops", "plant-labels"]] {
        let mut command = Command::cargo_bin("batchwright").expect("the program is built");
        let output = command
            .arg("compare")
            .args(pair.map(file))
            .args(["--trials", "400"])
            .env_remove("COLUMNS")
            .output()
            .expect("the program runs");
        let said = String::from_utf8(output.stdout).expect("text");
        assert_eq!(faults(&said), [""; 0], "{pair:?}");
    }
}

/// Of four pieces there is much to say: what has no room in the second paragraph stands under the tables, and nothing is lost.
#[test]
fn a_comparison_of_four_says_why_in_a_paragraph_that_is_read_once() {
    let file = |name: &str| format!("{}/scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
    for four in [
        ["oak-peg-rail", "oak-coat-stand", "plant-labels", "poured-candles"],
        ["willow-baskets", "spinning-tops", "oak-peg-rail", "plant-labels"],
    ] {
        let mut command = Command::cargo_bin("batchwright").expect("the program is built");
        let output = command.arg("compare").args(four.map(file)).args(["--trials", "400"]);
        let output = output.env_remove("COLUMNS").output().expect("the program runs");
        let said = String::from_utf8(output.stdout).expect("text");
        assert_eq!(faults(&said), [""; 0], "{four:?}");
        let words = |text: &str| text.split_whitespace().count();
        let why = second_paragraph(&said);
        assert!((1..=WORDS).contains(&words(&why)), "{} words: {why}", words(&why));
        for sentence in sentences(&why) {
            assert!(words(sentence) <= WORDS_OF_ONE, "{} words: {sentence}", words(sentence));
        }
        // Each of the two that come behind the second is set against the first.
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(flat.matches(" an hour ahead.").count(), 2, "{flat}");
    }
}

/// What is made of a work log: the shipped one, and logs that say little, nothing, or only a sum.
#[test]
fn a_work_log_opens_with_what_to_change() {
    let file = format!("{}/scenarios/oak-peg-rail.toml", env!("CARGO_MANIFEST_DIR"));
    let shipped = std::fs::read_to_string(file.replace(".toml", "-log.csv")).expect("the log is there");
    let entries = |list: &[(u32, f64)]| -> String {
        let lines = list.iter().map(|(n, minutes)| format!("sand and oil,{n},{minutes}\n"));
        format!("step,pieces,minutes\n{}", lines.collect::<String>())
    };
    let twice = |n: u32| (n, 2.0 * f64::from(10 + 10 * n));
    let cases = [
        ("shipped", shipped),
        ("none", "step,pieces,minutes\n".to_owned()),
        ("other steps", "step,pieces,minutes\nweave,3,40\n".to_owned()),
        ("one", entries(&[(4, 50.0)])),
        ("few, off", entries(&[twice(2), twice(5)])),
        (
            "as expected",
            entries(&[(2, 33.0), (4, 56.0), (8, 101.0), (5, 66.0), (6, 78.0), (3, 44.0)]),
        ),
        ("sum", entries(&[6, 7, 8, 6, 7, 8, 7].map(twice))),
        (
            "a slip",
            entries(&[(2, 33.0), (4, 56.0), (8, 1010.0), (5, 66.0), (6, 78.0), (3, 44.0)]),
        ),
        (
            "another piece",
            "step,pieces,minutes\nmill blanks,4,300\ndrill,4,200\nglue pegs,4,5\nsand and oil,4,900\n".to_owned(),
        ),
        (
            "once",
            "job,step,what,pieces,minutes\na,draw and try out,once,,300\n".to_owned(),
        ),
    ];
    let folder = tempfile::tempdir().expect("a folder");
    for (name, log) in cases {
        let place = folder.path().join("log.csv");
        std::fs::write(&place, log).expect("written");
        let mut command = Command::cargo_bin("batchwright").expect("the program is built");
        let output = command
            .args(["fit", &file])
            .arg(&place)
            .env_remove("COLUMNS")
            .output()
            .expect("the program runs");
        let said = String::from_utf8(output.stdout).expect("text");
        assert_eq!(faults(&said), [""; 0], "{name}");
    }
}

#[test]
fn a_price_learned_from_what_sold_opens_with_what_to_do() {
    let folder = env!("CARGO_MANIFEST_DIR");
    let shipped =
        std::fs::read_to_string(format!("{folder}/scenarios/plant-labels-sales.csv")).expect("the log is there");
    let head = "listed,price,sold,outlet\n";
    let rows = |n: usize, price: &dyn Fn(usize) -> usize, outlet: &dyn Fn(usize) -> &'static str| -> String {
        (1..=n)
            .map(|k| format!("2027-{k:02}-01,{},2027-{k:02}-{:02},{}\n", price(k), 3 + k, outlet(k)))
            .collect()
    };
    let one = |_: usize| "";
    let cases = [
        ("shipped", shipped),
        ("no offers", head.to_owned()),
        ("two sales", format!("{head}{}", rows(2, &|_| 26, &one))),
        ("one price", format!("{head}{}", rows(9, &|_| 26, &one))),
        (
            "each outlet its own price",
            format!(
                "{head}{}",
                rows(9, &|k| 26 + k % 2 * 4, &|k| if k % 2 == 0 { "page" } else { "fair" })
            ),
        ),
        ("dearer sells faster", format!("{head}{}", rows(9, &|k| 40 - k, &one))),
        ("too cheap", format!("{head}{}", rows(9, &|k| 3 + k % 2, &one))),
    ];
    let mut wrong = Vec::new();
    for (name, log) in cases {
        for scenario in ["plant-labels", "spinning-tops"] {
            let mut command = Command::cargo_bin("batchwright").expect("the program is built");
            let output = command
                .args(["sold", &format!("{folder}/scenarios/{scenario}.toml"), "-"])
                .env_remove("COLUMNS")
                .write_stdin(log.clone())
                .output()
                .expect("the program runs");
            let said = String::from_utf8(output.stdout).expect("text");
            let faults = faults(&said);
            if !faults.is_empty() {
                wrong.push(format!("{name}, {scenario}\n  {}", faults.join("\n  ")));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The rules themselves: each refuses what it is there for.
#[test]
fn the_rules_refuse_what_they_are_there_for() {
    let page = |opening: &str| format!("Title\n\n{opening}\n\n table\n");
    assert_eq!(
        faults(&page("Make 9 or more at a time. You then earn 32 EUR an hour.")),
        [""; 0]
    );
    for (opening, fault) in [
        ("A run of 9 pays. It earns 32 EUR an hour.", "says 'run'"),
        ("Make 9. At 35 an hour earns 47 EUR.", "an hour that is nobody's"),
        ("Even a single piece pays.", "begins with Even"),
        ("Make 9 at a time. Yes.", "no whole sentence: Yes."),
        ("Make 9 at a time. Make 8 too. Make 7 too. Make 6 too.", "4 sentences"),
        ("Make 9 at a time. The slowest tenth takes long.", "says 'tenth'"),
    ] {
        let found = faults(&page(opening)).join("\n");
        assert!(found.contains(fault), "{opening}: {found}");
    }
    let long = format!("Make {}.", "nine ".repeat(25).trim_end());
    assert!(faults(&page(&long)).join("\n").contains("26 words in: "), "{long}");
}

/// A command in an example is copied in one go: none is broken at 80 or at 100 columns, and each stands alone on its line.
#[test]
fn no_example_in_a_help_breaks() {
    for command in ["", "sweep", "floor", "stress", "drivers", "jig"] {
        let help = |columns: &str| {
            let mut program = Command::cargo_bin("batchwright").expect("the program is built");
            let asked = [command, "--help"].into_iter().filter(|word| !word.is_empty());
            let output = program
                .args(asked)
                .env("COLUMNS", columns)
                .output()
                .expect("the program runs");
            String::from_utf8(output.stdout).expect("text")
        };
        let examples = |help: &str| -> Vec<String> {
            let shown = help.split_once("Examples:\n").expect("examples").1;
            // Sentences after them are broken anew for each.
            let indented = shown.lines().filter(|line| line.starts_with(' '));
            indented.map(str::to_owned).collect()
        };
        let (narrow, wide) = (help("80"), help("100"));
        assert_eq!(examples(&narrow), examples(&wide), "{command}");
        let commands = examples(&narrow);
        let commands: Vec<&String> = commands.iter().filter(|l| l.starts_with("    batchwright ")).collect();
        assert!(commands.len() > 3, "{narrow}");
        assert!(
            examples(&narrow).iter().all(|line| line.chars().count() <= 80),
            "{narrow}"
        );
    }
}

/// What is charged per order has its article, and a unit that ends in an article keeps its letters.
#[test]
fn a_unit_that_ends_in_an_article_is_left_alone() {
    let mut command = Command::cargo_bin("batchwright").expect("the program is built");
    let text = CERTAIN.replace("{step}", "").replace("{sale}", "").replace(
        "[[jig]]",
        "[[material]]\nname = 'paper'\nper_order = 1\nunit = 'extra order form'\nprice = 1\n[[jig]]",
    );
    let output = command
        .args(["check", "-"])
        .write_stdin(text)
        .output()
        .expect("the program runs");
    let said = String::from_utf8(output.stdout).expect("text");
    assert!(said.contains("1 extra order form an order"), "{said}");
}
