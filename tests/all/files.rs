//! Files under faults: many writers at once, killed writers, links, rights, and what may be overwritten.

use crate::program::{names, scratch};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

const PROGRAM: &str = env!("CARGO_BIN_EXE_batchwright");

fn rail() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/oak-peg-rail.toml")
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(PROGRAM)
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("runs")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn adding(log: &Path, job: usize) -> Child {
    Command::new(PROGRAM)
        .arg("log")
        .arg(log)
        .args([
            "--step",
            "glue",
            "--pieces",
            "2",
            "--minutes",
            "5",
            &format!("--job={job}"),
        ])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("starts")
}

/// Jobs in a log, every line of it whole.
fn jobs(log: &Path) -> Vec<String> {
    let bytes = fs::read(log).expect("log");
    let log = batchwright_core::worklog::read("log", &bytes).unwrap_or_else(|faults| panic!("{faults}"));
    let mut jobs: Vec<String> = log.entries.into_iter().map(|entry| entry.job).collect();
    jobs.sort();
    jobs
}

/// Twenty at once, and the log is not there yet: whatever is said to be added is there.
#[test]
fn many_writers_lose_nothing() {
    let folder = scratch();
    let log = folder.path().join("log.csv");
    for round in 0..3 {
        let writers: Vec<Child> = (0..20).map(|job| adding(&log, 100 * round + job)).collect();
        for writer in writers {
            let output = writer.wait_with_output().expect("ends");
            assert!(output.status.success(), "{}", said(&output));
        }
    }
    let mut due: Vec<String> = (0..60).map(|k| (100 * (k / 20) + k % 20).to_string()).collect();
    due.sort();
    assert_eq!(jobs(&log), due);
    assert_eq!(names(folder.path()), ["log.csv"]);
}

/// An editor that saves between two looks at the log loses nothing either.
#[test]
fn an_editor_and_the_program_take_turns() {
    let folder = scratch();
    let log = folder.path().join("log.csv");
    fs::write(&log, "step,pieces,minutes,job\n").expect("write");
    for round in 0..20 {
        let writer = adding(&log, round);
        let mut text = fs::read_to_string(&log).expect("log");
        text.push_str(&format!("sand,1,1,e{round}\n"));
        let beside = folder.path().join("editor");
        fs::write(&beside, text).expect("write");
        // An editor knows no lock: what it read before the program wrote is what it saves. The program's part is to overwrite nothing.
        let before = jobs(&log);
        fs::rename(&beside, &log).expect("rename");
        let output = writer.wait_with_output().expect("ends");
        assert!(output.status.success(), "{}", said(&output));
        let now = jobs(&log);
        assert!(
            now.contains(&format!("e{round}")),
            "the editor's line is lost: {before:?} {now:?}"
        );
    }
}

/// Killed at random moments the log is whole, and what was told is in it. `BATCHWRIGHT_KILLS` says how often.
#[test]
fn killed_writers_leave_the_old_or_the_new() {
    let folder = scratch();
    let log = folder.path().join("log.csv");
    let kills: usize = std::env::var("BATCHWRIGHT_KILLS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(40);
    let mut told = Vec::new();
    for job in 0..kills {
        let mut writer = adding(&log, job);
        // Up to a little more than it takes; spread without chance.
        std::thread::sleep(Duration::from_micros((job as u64 * 7_919) % 25_000));
        let _maybe_done = writer.kill();
        if writer.wait().expect("ends").success() {
            told.push(job.to_string());
        }
        if log.exists() {
            let there = jobs(&log);
            assert!(
                told.iter().all(|job| there.contains(job)),
                "kill {job}: told {told:?}, there {there:?}"
            );
        }
    }
    // What was left behind is taken away once it is old.
    for name in names(folder.path()).iter().filter(|name| name.ends_with(".part")) {
        let part = fs::File::options()
            .write(true)
            .open(folder.path().join(name))
            .expect("part");
        part.set_modified(std::time::SystemTime::now() - Duration::from_secs(3600))
            .expect("age");
    }
    assert!(adding(&log, kills).wait().expect("ends").success());
    assert_eq!(names(folder.path()), ["log.csv"]);
}

/// While a reader of the chart is waited for, the table lies beside its place; a signal takes it away and says which it was, as a shell does
/// (POSIX.1-2017, Shell and Utilities, 2.8.2: more than 128; 128 and the number is common practice).
#[cfg(unix)]
#[test]
fn a_signal_leaves_no_file_behind_and_gives_its_number() {
    let folder = scratch();
    let pipe = Command::new("mkfifo").arg(folder.path().join("chart.svg")).status();
    assert!(pipe.expect("mkfifo").success());
    for (signal, code) in [("-INT", 130), ("-TERM", 143)].repeat(4) {
        let mut program = Command::new(PROGRAM)
            .arg("sweep")
            .arg(rail())
            .args(["--trials", "100", "--out", "table.csv", "--chart", "chart.svg"])
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("starts");
        while !names(folder.path()).iter().any(|name| name.ends_with(".part")) {
            assert_eq!(program.try_wait().expect("looks"), None, "it waits for no reader");
            std::thread::sleep(Duration::from_millis(5));
        }
        let told = Command::new("kill").args([signal, &program.id().to_string()]).status();
        assert!(told.expect("kill").success());
        assert_eq!(program.wait().expect("ends").code(), Some(code), "{signal}");
        assert_eq!(names(folder.path()), ["chart.svg"], "{signal}");
    }
}

#[test]
fn a_log_does_not_outgrow_what_is_read() {
    let folder = scratch();
    let log = folder.path().join("log.csv");
    let line = "glue,2,5\n";
    let mut text = "step,pieces,minutes\n".to_owned();
    while text.len() + line.len() <= 4 << 20 {
        text.push_str(line);
    }
    fs::write(&log, &text).expect("write");
    let output = run(
        folder.path(),
        &["log", "log.csv", "--step", "glue", "--pieces", "2", "--minutes", "5"],
    );
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("longer than 4 MB"), "{}", said(&output));
    assert_eq!(fs::read_to_string(&log).expect("log").len(), text.len());
}

#[test]
fn an_entry_and_an_answer_are_two_things() {
    let folder = scratch();
    let entry = ["log", "log.csv", "--step", "glue", "--pieces", "2", "--minutes", "5"];
    for more in [["--out", "x"], ["--format", "json"]] {
        let output = run(folder.path(), &[&entry[..], &more[..]].concat());
        assert_eq!(output.status.code(), Some(2));
        assert!(said(&output).contains("leave them out"), "{}", said(&output));
    }
    assert!(names(folder.path()).is_empty());
}

#[test]
fn one_file_by_two_names_is_seen() {
    let folder = scratch();
    fs::copy(rail(), folder.path().join("a.toml")).expect("copy");
    let output = run(
        folder.path(),
        &[
            "sweep", "a.toml", "--trials", "200", "--out", "x.svg", "--chart", "./x.svg",
        ],
    );
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("name the same file"), "{}", said(&output));
    assert_eq!(names(folder.path()), ["a.toml"]);
}

/// What somebody else wrote stays, unless it is said otherwise; an earlier answer goes.
#[test]
fn only_earlier_answers_are_overwritten() {
    let folder = scratch();
    let at = |name: &str| folder.path().join(name);
    fs::copy(rail(), at("a.toml")).expect("copy");
    fs::copy(rail(), at("other.toml")).expect("copy");
    fs::write(at("log.csv"), "step,pieces,minutes\nglue,1,2\n").expect("write");
    fs::write(at("notes.txt"), "my notes\n").expect("write");
    fs::write(at("drawing.svg"), "<svg xmlns=\"http://www.w3.org/2000/svg\"/>\n").expect("write");
    fs::write(at("picture.png"), b"\x89PNG\r\n\x1a\nnot ours").expect("write");
    fs::write(at("page.html"), "<!DOCTYPE html>\n<title>mine</title>\n").expect("write");
    fs::write(at("book.xlsx"), b"PK\x03\x04mine").expect("write");
    let sweep = |more: &[&str]| run(folder.path(), &[&["sweep", "a.toml", "--trials", "200"], more].concat());
    let report = |more: &[&str]| {
        let call = [
            "report",
            "a.toml",
            "--trials",
            "200",
            "--only",
            "sweep",
            "--date",
            "2027-01-04",
        ];
        run(folder.path(), &[&call[..], more].concat())
    };
    for name in ["other.toml", "log.csv", "notes.txt"] {
        for format in ["text", "csv", "json"] {
            let before = fs::read(at(name)).expect("read");
            let output = sweep(&["--out", name, "--format", format]);
            assert_eq!(output.status.code(), Some(2), "{name} {format}");
            assert!(said(&output).contains("--overwrite"), "{}", said(&output));
            assert_eq!(fs::read(at(name)).expect("read"), before);
        }
    }
    for name in ["drawing.svg", "picture.png"] {
        assert_eq!(sweep(&["--chart", name]).status.code(), Some(2), "{name}");
        assert!(sweep(&["--chart", name, "--overwrite"]).status.success(), "{name}");
        assert!(
            sweep(&["--chart", name, "--seed", "2"]).status.success(),
            "{name}, our own"
        );
    }
    for name in ["page.html", "book.xlsx"] {
        assert_eq!(report(&["--out", name]).status.code(), Some(2), "{name}");
        assert!(report(&["--out", name, "--overwrite"]).status.success(), "{name}");
        assert!(
            report(&["--out", name, "--seed", "2"]).status.success(),
            "{name}, our own"
        );
    }
    for format in ["text", "csv", "json"] {
        for seed in ["1", "2"] {
            let output = sweep(&["--out", &format!("own.{format}"), "--format", format, "--seed", seed]);
            assert!(output.status.success(), "{format} {seed}: {}", said(&output));
        }
    }
    // What is read is never overwritten, whatever is said.
    assert_eq!(sweep(&["--out", "a.toml", "--overwrite"]).status.code(), Some(2));
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_nowhere_is_said() {
    let folder = scratch();
    std::os::unix::fs::symlink("gone", folder.path().join("link.txt")).expect("link");
    let rail = rail();
    let rail = rail.to_str().expect("UTF-8");
    let output = run(folder.path(), &["sweep", rail, "--trials", "200", "--out", "link.txt"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("a link that leads nowhere"), "{}", said(&output));
    let output = run(
        folder.path(),
        &["log", "link.txt", "--step", "a", "--pieces", "1", "--minutes", "1"],
    );
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(names(folder.path()), ["link.txt"]);
}

#[cfg(unix)]
#[test]
fn a_read_only_file_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let folder = scratch();
    for name in ["log.csv", "own.txt"] {
        fs::write(folder.path().join(name), "step,pieces,minutes\n").expect("write");
        fs::set_permissions(folder.path().join(name), fs::Permissions::from_mode(0o444)).expect("rights");
    }
    let output = run(
        folder.path(),
        &["log", "log.csv", "--step", "a", "--pieces", "1", "--minutes", "1"],
    );
    assert_eq!(output.status.code(), Some(1));
    assert!(said(&output).contains("it is read only"), "{}", said(&output));
    assert_eq!(
        fs::read_to_string(folder.path().join("log.csv")).expect("read"),
        "step,pieces,minutes\n"
    );
}

/// Nothing to draw is no fault of the call: the answer is given, and the missing chart is said.
#[test]
fn a_chart_of_nothing_is_said() {
    let folder = scratch();
    fs::write(folder.path().join("log.csv"), "step,pieces,minutes\nno such step,1,2\n").expect("write");
    let rail = rail();
    let output = run(
        folder.path(),
        &["fit", rail.to_str().expect("UTF-8"), "log.csv", "--chart", "c.svg"],
    );
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(said(&output).contains("nothing to draw"), "{}", said(&output));
    assert!(!output.stdout.is_empty());
    assert_eq!(names(folder.path()), ["log.csv"]);
}

#[test]
fn a_log_of_old_line_ends_is_read() {
    let log =
        batchwright_core::worklog::read("log", b"step,pieces,minutes,note\rglue,1,2,a;b\rsand,1,3,c\r").expect("reads");
    let short: Vec<(usize, &str, &str)> = log
        .entries
        .iter()
        .map(|e| (e.line, e.step.as_str(), e.note.as_str()))
        .collect();
    assert_eq!(short, [(2, "glue", "a;b"), (3, "sand", "c")]);
}
