//! Input that is long, deep or repeats itself: it is refused in words, and nothing of it takes the stack, the memory or the day.

use batchwright::{Options, Question, Scenario, ask};
use batchwright_core::scenario::read;

const PLAIN: &str = "target = 20\n[[step]]\nname = 'a'\neach = '3 min'\n[sale]\nprice = 20\n";

fn refused(text: &str, overrides: &[(String, String)]) -> String {
    read("a.toml", text, overrides).expect_err("a fault").render(false, 100)
}

/// 34,600 parts ended every command by its stack.
#[test]
fn deep_keys_and_brackets_are_refused() {
    let deep = vec!["a"; 34_600].join(".");
    for text in [
        format!("{PLAIN}[{deep}]\n"),
        format!("{deep} = 1\n{PLAIN}"),
        format!("x = {{ {deep} = 1 }}\n{PLAIN}"),
        format!("x = {}{}\n{PLAIN}", "[".repeat(34_600), "]".repeat(34_600)),
        format!("x = {}\n{PLAIN}", "{ a = ".repeat(34_600)),
        format!("{PLAIN}[[misfortune]]\nname = 'x'\nchanges = ['{deep} = 1']\n"),
        format!("{PLAIN}[[misfortune]]\nname = 'x'\nchanges = ['step.a.{deep} = 1']\n"),
    ] {
        let said = refused(&text, &[]);
        assert!(said.contains("16 "), "{said}");
    }
    for key in [
        deep.clone(),
        format!("step.a.{deep}"),
        format!("step.{deep}"),
        format!("sale.{deep}"),
    ] {
        refused(PLAIN, &[(key, "1".to_owned())]);
    }
    for value in ["[".repeat(34_600), "{ a = ".repeat(34_600), format!("{{ {deep} = 1 }}")] {
        refused(PLAIN, &[("sale.price".to_owned(), value)]);
    }
    assert!(batchwright_core::scenario::written::sections(&format!("{deep} = 1\n")).is_none());
    // Names with many dots in quotes are names.
    let dots = PLAIN.replace("'a'", "'a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p.q.r.s'");
    assert!(read("a.toml", &dots, &[]).is_ok());
}

#[test]
fn many_faults_are_counted_and_not_listed() {
    let steps = "[[step]]\nname = 'b'\neach = 'x'\n".repeat(20_000);
    let said = refused(&format!("{PLAIN}{steps}"), &[]);
    assert!(said.contains(" more\n"), "{said}");
    assert!(said.lines().count() < 2_000, "{}", said.lines().count());
    let log = format!("step,pieces,minutes\n{}", "glue,x,y\n".repeat(50_000));
    let faults = batchwright_core::worklog::read("log", log.as_bytes()).expect_err("faults");
    let said = faults.render(false, 100);
    assert!(
        said.contains("and 99,950 more") && said.contains("100,000 faults"),
        "{said}"
    );
    assert_eq!(faults.to_string().lines().count(), 51);
}

#[test]
fn names_and_sizes_have_an_end() {
    let long = PLAIN.replace("'a'", &format!("'{}'", "a".repeat(10_000)));
    assert!(refused(&long, &[]).contains("10000 letters"), "{}", refused(&long, &[]));
    let repeated = format!("[batch]\nsizes = '{}'\n{PLAIN}", vec!["1..10000"; 400_000].join(","));
    let text = repeated
        .replacen("target = 20\n", "", 1)
        .replacen("[batch]", "target = 20\n[batch]", 1);
    let said = refused(&text, &[]);
    assert!(said.contains("far more sizes"), "{said}");
}

#[test]
fn many_jobs_are_looked_up_at_once() {
    let lines: String = (0..100_000).map(|k| format!("glue,1,2,job {k}\n")).collect();
    let log =
        batchwright_core::worklog::read("log", format!("step,pieces,minutes,job\n{lines}").as_bytes()).expect("reads");
    let look = batchwright_core::worklog::look::look("log", &log, None);
    assert_eq!(look.jobs.len(), 100_000);
}

/// Nothing comes through, so nothing is in stock: the figures are figures, and the chart is drawn.
#[test]
fn where_every_piece_is_spoiled_there_are_still_figures() {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/plant-labels.toml");
    let folder = tempfile::tempdir().expect("scratch");
    let chart = folder.path().join("x.svg");
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_batchwright"))
        .arg("drivers")
        .arg(&file)
        .args([
            "--set",
            "step.stamp and sponge.spoil=100 %",
            "--trials",
            "200",
            "--format",
            "json",
            "--chart",
        ])
        .arg(&chart)
        .output()
        .expect("runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert!(
        answer["long_run"]["mean"].as_f64().is_some_and(|rate| rate < 0.0),
        "{}",
        answer["long_run"]
    );
    assert!(chart.exists());
}

/// An order is filled, whatever is spoiled on the way; where hardly a piece comes through it would never be.
#[test]
fn an_order_that_would_not_end_is_refused() {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/oak-peg-rail.toml");
    for spoil in ["100 %", "99.9999 %"] {
        let output = std::process::Command::new(env!("CARGO_BIN_EXE_batchwright"))
            .arg("floor")
            .arg(&file)
            .args([
                "--order",
                "1",
                "--trials",
                "200",
                "--set",
                &format!("step.drill.spoil={spoil}"),
            ])
            .output()
            .expect("runs");
        assert_eq!(output.status.code(), Some(2));
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(
            said.contains("more than 100 starts") && said.contains("drill"),
            "{said}"
        );
    }
}

/// What would take the machine's memory, or the day, is refused before it begins, with what to change.
#[test]
fn too_much_work_is_refused_and_the_cure_is_taken() {
    let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/oak-peg-rail.toml");
    let run = |arguments: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_batchwright"));
        command
            .arg(arguments[0])
            .arg(&file)
            .args(&arguments[1..])
            .output()
            .expect("runs")
    };
    let much = "--trials=100000000";
    for call in [
        &["sweep", much][..],
        &["sweep", "--over", "sale.price=40,50", much],
        &["floor", much],
        &["floor", "--order", "6", much],
        &["stress", much],
        &["drivers", much],
        &["jig", much],
        &["calendar", much],
        &["calendar", "--size", "10000"],
        &["sweep", "--set", "batch.sizes=1..10000", "--trials=1000000"],
    ] {
        let output = run(call);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{call:?}: {said}");
        assert!(
            said.contains("this would take about") && said.contains("are taken on; "),
            "{call:?}: {said}"
        );
        assert!(output.stdout.is_empty());
    }
}

/// The command asks as the library does: it looks at the size that is named and at no other, and refuses what the library refuses, in its words.
#[test]
fn command_and_library_refuse_alike() {
    let shipped = include_str!("../../scenarios/oak-peg-rail.toml");
    // Of so many sizes, in which every other piece is made again, a quick sweep takes too long.
    let wide = shipped
        .replace("\"1..40\"", "\"1..10000\"")
        .replace("spoiled = \"short\"", "spoiled = \"remake\"")
        .replace("spoil  = \"2 %\"", "spoil  = \"50 %\"");
    let no_set = "target = 20\n[batch]\nsizes = [1, 3]\n[[step]]\nname = 'a'\neach = '3 min'\n[sale]\nprice = 20\nset_of = 4\n[steady]\n\
                  per_week = 4\nhold = '20 %'\n";
    for (text, question, size, trials, refused) in [
        (&*wide, Question::Stress, None, 50_000, Some("take about")),
        (&wide, Question::Stress, Some(4), 500, None),
        (&wide, Question::Drivers, None, 50_000, Some("take about")),
        (&wide, Question::Drivers, Some(4), 500, None),
        (shipped, Question::Stress, Some(10_001), 100_000_000, Some("take about")),
        (&wide, Question::Season, None, 500, Some("[season]")),
        (&wide, Question::Steady, None, 500, Some("[steady]")),
        (no_set, Question::Steady, None, 500, Some("makes a full set")),
    ] {
        let mut options = Options::new().trials(trials).expect("trials");
        let mut command = assert_cmd::Command::cargo_bin("batchwright").expect("the program");
        command
            .args([
                question.command(),
                "-",
                "--format",
                "json",
                "--trials",
                &trials.to_string(),
            ])
            .write_stdin(text);
        if let Some(size) = size {
            options = options.size(size).expect("a size");
            command.args(["--size", &size.to_string()]);
        }
        let output = command.output().expect("it runs");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let answer = ask(question, &Scenario::from_toml(text).expect("it reads"), &options);
        match refused {
            None => assert_eq!(
                String::from_utf8_lossy(&output.stdout),
                answer.expect("an answer").json(),
                "{said}"
            ),
            Some(what) => {
                let why = answer.expect_err(what).to_string();
                assert_eq!(output.status.code(), Some(2), "{question:?}: {said}");
                assert!(why.contains(what) && said.contains(what), "{question:?}: {why}; {said}");
                if !what.starts_with('[') {
                    let (_, why) = why.split_once(": ").expect("a reason");
                    assert!(said.trim_end().ends_with(why), "{question:?}: {why}; {said}");
                }
            }
        }
    }
}
