//! What the program refuses, and with which exit code.

use super::*;
use std::process::{Command as Process, Stdio};

#[test]
fn faults_are_shown_all_at_once_in_their_place() {
    let text = CERTAIN
        .replace("setup = '60 min'", "setpu = '60 min'")
        .replace("price = 50", "price = 50\ntax = '120'");
    for command in ["check", "sweep"] {
        let run = batchwright()
            .args([command, "-"])
            .write_stdin(text.as_str())
            .assert()
            .code(2)
            .stdout("");
        run.stderr(
            contains("setpu")
                .and(contains("`setup`"))
                .and(contains("tax"))
                .and(contains("standard input:9:")),
        );
    }
}

#[test]
fn faults_of_flags_and_scenario_are_shown_together() {
    let run = batchwright()
        .args(["sweep", "-", "--chart", "x.gif"])
        .write_stdin("target = -1")
        .assert();
    run.code(2)
        .stdout("")
        .stderr(contains(".svg or .png").and(contains("target")));
}

#[test]
fn what_the_user_wrote_is_exit_code_2() {
    let refused: [&[&str]; 14] = [
        &[],
        &["sweep"],
        &["swept", "x.toml"],
        &["sweep", "-", "--trials", "0"],
        &["sweep", "-", "--trials", "many"],
        &["sweep", "-", "--within", "80%"],
        &["sweep", "-", "--threads", "0"],
        &["sweep", "-", "--price", "-5"],
        &["sweep", "-", "--price", "nan"],
        &["sweep", "-", "--set", "price"],
        &["sweep", "-", "--set", "sale.prise=4"],
        &["sweep", "-", "--format", "xml"],
        &["sweep", "-", "--chart", "chart"],
        &["new", "spaceship"],
    ];
    for arguments in refused {
        batchwright()
            .args(arguments)
            .write_stdin(CERTAIN)
            .assert()
            .code(2)
            .stdout("")
            .stderr(contains("").and(predicate::str::is_empty().not()));
    }
}

#[test]
fn a_file_that_is_not_text_is_exit_code_2() {
    let folder = scratch();
    let file = folder.path().join("shop.toml");
    fs::write(&file, b"title = \"caf\xe9\"\n").expect("write");
    for command in ["check", "sweep"] {
        batchwright()
            .arg(command)
            .arg(&file)
            .assert()
            .code(2)
            .stdout("")
            .stderr(contains("UTF-8").and(contains("shop.toml")));
    }
}

#[test]
fn what_the_machine_refuses_is_exit_code_1() {
    let folder = scratch();
    let missing = folder.path().join("missing.toml");
    for command in ["check", "sweep"] {
        batchwright()
            .arg(command)
            .arg(folder.path())
            .assert()
            .code(1)
            .stdout("")
            .stderr(contains("it is a folder"));
        batchwright()
            .arg(command)
            .arg(&missing)
            .assert()
            .code(1)
            .stdout("")
            .stderr(contains("no such file"));
    }
    let mut run = batchwright();
    run.args(["sweep", "-", "--trials=100", "--out"])
        .arg(folder.path())
        .write_stdin(CERTAIN);
    run.assert().code(1).stderr(contains("it is a folder"));
    let mut run = batchwright();
    run.args(["new", "bespoke", "--out"])
        .arg(folder.path().join("none/table.toml"));
    run.assert().code(1).stderr(contains("there is no folder"));
    assert!(names(folder.path()).is_empty());
}

#[cfg(unix)]
#[test]
fn an_unreadable_file_is_exit_code_1() {
    use std::os::unix::fs::PermissionsExt;
    let folder = scratch();
    let file = folder.path().join("shop.toml");
    fs::write(&file, CERTAIN).expect("write");
    fs::set_permissions(&file, fs::Permissions::from_mode(0o000)).expect("rights");
    // The superuser reads everything; then only the second half of this test says something.
    if fs::read(&file).is_err() {
        batchwright()
            .arg("check")
            .arg(&file)
            .assert()
            .code(1)
            .stdout("")
            .stderr(contains("permission denied"));
    }
    if cfg!(target_os = "linux") {
        // Nobody can read this from its beginning.
        batchwright()
            .args(["check", "/proc/self/mem"])
            .assert()
            .code(1)
            .stdout("")
            .stderr(contains("cannot read /proc/self/mem"));
    }
}

#[cfg(target_os = "linux")]
#[test]
fn no_space_is_said_and_is_exit_code_1() {
    for arguments in [
        &["new", "bespoke"][..],
        &["completions", "bash"],
        &["--help"],
        &["sweep", "-", "--trials=100"],
    ] {
        let full = fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .expect("the full device");
        let mut child = Process::new(env!("CARGO_BIN_EXE_batchwright"))
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(full)
            .stderr(Stdio::piped())
            .spawn()
            .expect("starts");
        feed(&mut child);
        let output = child.wait_with_output().expect("ends");
        assert_eq!(output.status.code(), Some(1), "{arguments:?}");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(said.contains("no space left"), "{arguments:?}: {said}");
    }
    // Given by name, the device is written to and not replaced by a file.
    batchwright()
        .args(["sweep", "-", "--trials=100", "--out", "/dev/full"])
        .write_stdin(CERTAIN)
        .assert()
        .code(1)
        .stderr(contains("no space left"));
    use std::os::unix::fs::FileTypeExt;
    assert!(
        fs::metadata("/dev/full")
            .expect("still there")
            .file_type()
            .is_char_device()
    );
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_ends_quietly() {
    for arguments in [&["sweep", "-", "--all", "--trials=100"][..], &["check", "-"]] {
        let mut child = Process::new(env!("CARGO_BIN_EXE_batchwright"))
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("starts");
        // The reader is gone before the scenario, and so before any answer.
        drop(child.stdout.take());
        feed(&mut child);
        let output = child.wait_with_output().expect("ends");
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
    }
}

#[cfg(unix)]
fn feed(child: &mut std::process::Child) {
    use std::io::Write;
    let mut input = child.stdin.take().expect("piped");
    // A command that reads nothing may have ended already.
    let _unread = input.write_all(CERTAIN.as_bytes());
}

/// One size of a sweep over sizes is another question.
#[test]
fn one_size_is_asked_of_another_question() {
    batchwright()
        .args(["sweep", "-", "--size", "30"])
        .write_stdin(CERTAIN)
        .assert()
        .code(2)
        .stdout("")
        .stderr(contains("`floor --size 30`").and(contains("`sweep --set batch.sizes=30`")));
    for asked in [["floor", "--size", "30"], ["sweep", "--set", "batch.sizes=30"]] {
        let mut run = batchwright();
        run.args([asked[0], "-", "--trials=100"])
            .args(&asked[1..])
            .write_stdin(CERTAIN);
        run.assert().success();
    }
}

/// Each command that is given the log of the other kind says which it is and what reads it.
#[test]
fn a_log_of_the_other_kind_is_known() {
    let folder = scratch();
    let place = |name: &str, text: &str| {
        fs::write(folder.path().join(name), text).expect("write");
    };
    place("shop.toml", CERTAIN);
    place("work.csv", "date,step,pieces,minutes\n2026-11-02,make,4,40\n");
    place("sales.csv", "listed,price,sold\n2026-11-02,50,2026-11-09\n");
    let sales = "this is a sales log, and a work log is due";
    let work = "this is a work log, and a sales log is due";
    let asked: [(&[&str], &str, &str); 5] = [
        (&["fit", "shop.toml", "sales.csv"], sales, "`sold` and `log --sale`"),
        (&["log", "sales.csv"], sales, "`sold` and `log --sale`"),
        (
            &["log", "sales.csv", "--step", "make", "--pieces", "1", "--minutes", "9"],
            sales,
            "`sold` and `log --sale`",
        ),
        (&["sold", "shop.toml", "work.csv"], work, "`fit` and `log`"),
        (&["log", "--sale", "work.csv"], work, "`fit` and `log`"),
    ];
    for (arguments, what, read_by) in asked {
        batchwright()
            .args(arguments)
            .current_dir(folder.path())
            .assert()
            .code(2)
            .stdout("")
            .stderr(contains(what).and(contains(read_by)).and(contains("1 fault in")));
    }
}

/// What is logged has been: a day that is still to come is written, and doubted.
#[test]
fn a_logged_day_that_is_still_to_come_is_doubted() {
    let folder = scratch();
    let asked: [(&[&str], &str); 3] = [
        (
            &[
                "log",
                "work.csv",
                "--step",
                "make",
                "--pieces",
                "1",
                "--minutes",
                "9",
                "--date",
            ],
            "--date",
        ),
        (&["log", "--sale", "sales.csv", "--price", "9", "--listed"], "--listed"),
        (
            &[
                "log",
                "--sale",
                "sales.csv",
                "--price",
                "9",
                "--listed",
                "2020-01-02",
                "--sold",
            ],
            "--sold",
        ),
    ];
    for (arguments, flag) in asked {
        for (day, doubted) in [("2020-03-01", false), ("2110-03-01", true)] {
            let run = batchwright()
                .args(arguments)
                .arg(day)
                .current_dir(folder.path())
                .assert()
                .success();
            let said = format!("batchwright: doubtful: {flag} {day} is still to come; today is ");
            run.stderr(contains(said).count(usize::from(doubted)));
        }
    }
}
