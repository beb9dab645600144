//! Names and titles that would steer a terminal or run in a spreadsheet, on every face.

use std::fs;
use std::path::Path;

use assert_cmd::Command;

/// A name as somebody who means harm writes it: a formula, a turned direction, hidden letters. (What controls a terminal the reader refuses.)
const NAME: &str = "=HYPERLINK(\u{202e}\u{200b}\u{ad}";

fn scenario(title: &str) -> String {
    format!(
        r#"
title = "{title} title"
target = 20
[batch]
sizes = "1..8"
[[step]]
name = "{NAME}a"
setup = "10 / 20 / 40 min"
each = "3 / 4 / 7 min"
wait = "2 h"
room = 3
kept_in = "{NAME} kiln"
[[step]]
name = "{NAME}b"
each = "3 / 4 / 7 min"
[[step]]
name = "{NAME}c"
per_order = "3 min"
[[material]]
name = "{NAME} oak"
per_piece = 1
price = 2
unit = "board"
[sale]
price = 40
[[channel]]
name = "{NAME} shop"
share = "50 %"
[[channel]]
name = "{NAME} post"
share = "50 %"
fee = "10 %"
[season]
buyers = "2 / 5 / 9"
clearance = 3
[hours]
mon = 3
thu = 3
[[jig]]
name = "{NAME} jig"
step = "{NAME}a"
build = "1 h"
each = "x 0.5"
[[misfortune]]
name = "{NAME} luck"
changes = ["pace.factor = 1.5"]
"#
    )
}

fn batchwright() -> Command {
    Command::new(env!("CARGO_BIN_EXE_batchwright"))
}

fn is_clean(text: &str, what: &str) {
    let bad = |c: char| {
        c.is_control() && c != '\n'
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
    };
    if let Some((at, c)) = text.char_indices().find(|(_, c)| bad(*c)) {
        let from = text.floor_char_boundary(at.saturating_sub(60));
        panic!("{what}: {c:?} in {:?}", &text[from..at]);
    }
}

/// No cell, taken apart at any sign that spreadsheets take for a separator of cells, begins a formula.
fn no_formula(text: &str, what: &str) {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    for record in reader.records() {
        for cell in record.expect("CSV").iter() {
            let number = cell.parse::<f64>().is_ok();
            assert!(
                number || !cell.starts_with(['=', '+', '-', '@', '\t', '\r']),
                "{what}: {cell:?}"
            );
        }
    }
}

#[test]
fn no_name_steers_a_terminal_or_runs_in_a_spreadsheet() {
    let folder = tempfile::tempdir().expect("scratch");
    let file = folder.path().join("a\u{1b}[31m\u{9b}\u{202e}.toml");
    let other = folder.path().join("b\u{1b}[31m.toml");
    fs::write(&file, scenario(NAME)).expect("write");
    fs::write(&other, scenario(&format!("2{NAME}"))).expect("write");
    let over = ["--over", "sale.price=30,40"];
    let calls: [&[&str]; 9] = [
        &["sweep"],
        &["sweep", over[0], over[1]],
        &["floor", "--order", "1,4"],
        &["stress"],
        &["drivers"],
        &["season"],
        &["jig"],
        &["compare"],
        &["calendar", "--start", "2027-01-04"],
    ];
    for call in calls {
        for format in ["text", "json", "csv"] {
            let chart = folder.path().join("c.svg");
            let mut command = batchwright();
            command.arg(call[0]).arg(&file);
            if call[0] == "compare" {
                command.arg(&other);
            }
            command
                .args(&call[1..])
                .args(["--trials", "200", "--format", format, "--chart"])
                .arg(&chart);
            let output = command.output().expect("runs");
            let (out, err) = (
                String::from_utf8(output.stdout).unwrap(),
                String::from_utf8(output.stderr).unwrap(),
            );
            assert!(output.status.success(), "{call:?}: {err}");
            let what = format!("{call:?} {format}");
            is_clean(&out, &what);
            is_clean(&err, &what);
            is_clean(&fs::read_to_string(&chart).expect("chart"), &format!("{what}, chart"));
            fs::remove_file(&chart).expect("removed");
            if format == "csv" {
                no_formula(&out, &what);
            }
            if format == "json" {
                let value: serde_json::Value = serde_json::from_str(&out).expect("JSON");
                let kept = value.to_string();
                assert!(
                    kept.contains("\u{202e}\u{200b}\u{ad}"),
                    "{what}: JSON stays as it was written"
                );
            }
        }
    }
    let page = folder.path().join("r.html");
    let output = batchwright()
        .arg("report")
        .arg(&file)
        .args(["--trials", "200", "--out"])
        .arg(&page)
        .output()
        .expect("runs");
    assert!(output.status.success());
    is_clean(&fs::read_to_string(&page).expect("page"), "report");
    let output = batchwright().arg("check").arg(&file).output().expect("runs");
    is_clean(&String::from_utf8(output.stdout).unwrap(), "check");
}

/// A workbook's names are texts and no formulas.
#[test]
fn a_workbook_holds_no_formula() {
    use calamine::{Reader, Xlsx, open_workbook};
    let folder = tempfile::tempdir().expect("scratch");
    let (file, book) = (folder.path().join("a.toml"), folder.path().join("a.xlsx"));
    fs::write(&file, scenario(NAME)).expect("write");
    batchwright()
        .arg("report")
        .arg(&file)
        .args(["--trials", "200", "--out"])
        .arg(&book)
        .assert()
        .success();
    let mut book: Xlsx<_> = open_workbook(&book).expect("a workbook");
    for name in book.sheet_names() {
        // The sums are the program's own formulas, without anything of the file in them.
        let formulas = book.worksheet_formula(&name).expect("sheet");
        assert_eq!(formulas.is_empty(), name != "Sums", "{name}");
        for (_, _, formula) in formulas.used_cells() {
            assert!(!formula.to_uppercase().contains("HYPERLINK"), "{formula}");
        }
        for row in book.worksheet_range(&name).expect("sheet").rows() {
            for cell in row {
                is_clean(&cell.to_string(), &name);
            }
        }
    }
}

/// What is refused is told without steering either.
#[test]
fn messages_do_not_steer() {
    let folder = tempfile::tempdir().expect("scratch");
    let gone = folder.path().join("\u{1b}[31mgone\u{9b}.toml");
    for arguments in [
        vec!["sweep", "x.toml", "--over", "a\u{1b}[2J"],
        vec!["sweep", "x.toml", "--trials", "\u{1b}[2J\u{202e}"],
        vec!["sweep", gone.to_str().expect("UTF-8")],
        vec![
            "log",
            "x.csv",
            "--step",
            "\u{1b}[2J",
            "--pieces",
            "\u{9b}",
            "--minutes",
            "\u{202e}",
        ],
        vec!["\u{1b}[2J"],
    ] {
        let output = batchwright()
            .args(&arguments)
            .current_dir(folder.path())
            .output()
            .expect("runs");
        assert!(!output.status.success());
        is_clean(&String::from_utf8(output.stderr).unwrap(), &format!("{arguments:?}"));
    }
}

/// A step's name that looks like a formula is written into a log as text and found again.
#[test]
fn a_log_holds_no_formula_and_reads_its_names_back() {
    let folder = tempfile::tempdir().expect("scratch");
    let log = folder.path().join("log.csv");
    let entry = |step: &str, job: &str| {
        batchwright()
            .arg("log")
            .arg(&log)
            .args([
                "--step",
                step,
                &format!("--job={job}"),
                "--pieces",
                "2",
                "--minutes",
                "5",
                "--note",
                "@x",
            ])
            .assert()
            .success();
    };
    entry("=cmd|' /C calc'!A1", "-1+2");
    entry("'=quoted", "+3");
    let text = fs::read_to_string(Path::new(&log)).expect("log");
    no_formula(&text, "log");
    let read = batchwright_core::worklog::read("log", text.as_bytes()).expect("reads");
    let names: Vec<(&str, &str, &str)> = read
        .entries
        .iter()
        .map(|e| (e.step.as_str(), e.job.as_str(), e.note.as_str()))
        .collect();
    assert_eq!(names, [("=cmd|' /C calc'!A1", "-1+2", "@x"), ("'=quoted", "+3", "@x")]);
}
