//! What README.md shows is what the program prints.

use crate::program::printed;
use std::process::Command;

const README: &str = include_str!("../../README.md");

/// The first block fenced as `text`.
fn shown() -> &'static str {
    let (_, rest) = README.split_once("```text\n").expect("README has a text block");
    rest.split_once("```").expect("the block ends").0
}

#[test]
fn the_worked_example_is_what_the_program_prints() {
    let folder = tempfile::tempdir().expect("a folder to draw into");
    let chart = folder.path().join("rail.svg");
    let output = Command::new(env!("CARGO_BIN_EXE_batchwright"))
        .args(["sweep", "scenarios/oak-peg-rail.toml", "--chart"])
        .arg(&chart)
        .env_remove("COLUMNS")
        .output()
        .expect("the program runs");
    assert!(output.status.success());
    assert_eq!(String::from_utf8(output.stdout).expect("text"), shown());
    let drawn = std::fs::read_to_string(chart).expect("the chart was drawn");
    assert!(
        drawn == include_str!("../../scenarios/oak-peg-rail.svg"),
        "scenarios/oak-peg-rail.svg is not the chart of today"
    );
}

#[test]
fn the_other_questions_are_answered_as_shown() {
    let rail = "scenarios/oak-peg-rail.toml";
    for args in [
        &["floor", rail][..],
        &["stress", rail],
        &["compare", rail, "scenarios/oak-coat-stand.toml"],
        &["season", "scenarios/spinning-tops.toml"],
        &["steady", "scenarios/plant-labels.toml"],
        &["drivers", rail],
        &["jig", rail],
        &["calendar", rail, "--start", "2027-01-11"],
        &["fit", rail, "scenarios/oak-peg-rail-log.csv"],
        &[
            "sold",
            "scenarios/plant-labels.toml",
            "scenarios/plant-labels-sales.csv",
        ],
        &["sweep", rail, "--over", "sale.price=50..80", "--size", "6"],
    ] {
        let page = printed(args);
        // Title, an empty line, the verdict in lines: the row says all of it, or whole sentences from the first on.
        let verdict = page.split("\n\n").nth(1).expect("a verdict").replace('\n', " ");
        let first = verdict.split(". ").next().expect("a sentence").trim_end_matches('.');
        let row = README.lines().find(|line| line.contains(first));
        let row = row.unwrap_or_else(|| panic!("{args:?}: README does not say: {first}"));
        let said = &row[row.find(first).expect("it is there")..].trim_end_matches(" |");
        assert!(
            verdict.starts_with(said),
            "{args:?}: README says: {said}\nThe page says: {verdict}"
        );
    }
}

#[test]
fn the_channels_are_as_shown() {
    let page = printed(&["sweep", "scenarios/printed-tea-towels.toml"]);
    let table = README.split("```text\n").nth(2).expect("a second block");
    let table = table.split("```").next().expect("the block ends");
    assert!(page.contains(table), "README shows another table than\n{page}");
}
