//! What README.md shows is what the program prints.

use std::process::Command;

const README: &str = include_str!("../README.md");

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
        drawn == include_str!("../scenarios/oak-peg-rail.svg"),
        "scenarios/oak-peg-rail.svg is not the chart of today"
    );
}
