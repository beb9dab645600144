//! Input that is long, deep or repeats itself: it is refused in words, and nothing of it takes the stack, the memory or the day.

use batchwright::scenario::read;

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
    assert!(batchwright::scenario::written::sections(&format!("{deep} = 1\n")).is_none());
    // Names with many dots in quotes are names.
    let dots = PLAIN.replace("'a'", "'a.b.c.d.e.f.g.h.i.j.k.l.m.n.o.p.q.r.s'");
    assert!(read("a.toml", &dots, &[]).is_ok());
}

#[test]
fn many_faults_are_counted_and_not_listed() {
    let steps = "[[step]]\nname = 'b'\neach = 'x'\n".repeat(20_000);
    let said = refused(&format!("{PLAIN}{steps}"), &[]);
    assert!(said.contains("at most 500 are taken"), "{said}");
    assert!(said.lines().count() < 600, "{}", said.lines().count());
    let log = format!("step,pieces,minutes\n{}", "glue,x,y\n".repeat(50_000));
    let faults = batchwright::worklog::read("log", log.as_bytes()).expect_err("faults");
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
    assert!(refused(&long, &[]).contains("10000 letters are more than 200"));
    let repeated = format!("[batch]\nsizes = '{}'\n{PLAIN}", vec!["1..10000"; 400_000].join(","));
    let text = repeated
        .replacen("target = 20\n", "", 1)
        .replacen("[batch]", "target = 20\n[batch]", 1);
    assert!(refused(&text, &[]).contains("far more sizes than there are"));
}

#[test]
fn many_jobs_are_looked_up_at_once() {
    let lines: String = (0..100_000).map(|k| format!("glue,1,2,job {k}\n")).collect();
    let log = batchwright::worklog::read("log", format!("step,pieces,minutes,job\n{lines}").as_bytes()).expect("reads");
    let look = batchwright::worklog::look::look("log", &log, None);
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
