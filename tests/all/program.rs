//! The program from outside, and what it says as text.

use std::ffi::OsStr;
use std::fs;
use std::path::Path;
use std::process::Output;
use std::time::Duration;

use assert_cmd::Command;
use batchwright::render::Render;
use batchwright::render::text::Look;

/// The program; nothing around it says how wide or in which colours it is to print.
pub fn batchwright() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_batchwright"));
    command
        .env_remove("COLUMNS")
        .env_remove("NO_COLOR")
        .timeout(Duration::from_secs(300));
    command
}

pub fn run<S: AsRef<OsStr>>(arguments: &[S]) -> Output {
    batchwright().args(arguments).output().expect("the program runs")
}

/// What it prints where all goes well.
pub fn printed(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", text(&output.stderr));
    text(&output.stdout)
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("text")
}

/// A page in one line.
pub fn said(answer: &impl Render) -> String {
    let text = answer.text(&Look::page(false));
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A folder to work in.
pub fn scratch() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder to work in")
}

/// What is in a folder, by name.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).expect("folder");
    let mut names: Vec<String> = entries
        .map(|entry| entry.expect("entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}
