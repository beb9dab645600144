//! The commands `log` and `fit` from outside, and what they write.

use super::{close, log_of, rail, shipped};
use crate::program::{run as program, text};
use std::fs;
use std::path::Path;

use batchwright_core::scenario;
use batchwright_core::worklog::fit;

fn name(path: &Path) -> String {
    path.display().to_string()
}

fn rail_files() -> [String; 2] {
    [
        name(&shipped("oak-peg-rail.toml")),
        name(&shipped("oak-peg-rail-log.csv")),
    ]
}

#[test]
fn a_log_is_begun_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let log = name(&folder.path().join("log.csv"));
    let [scenario, _] = rail_files();
    let add = |more: &[&str]| program(&[&["log", &log, "--date", "2027-03-14"], more].concat());
    let first = add(&[
        "--step",
        "drill",
        "--pieces",
        "8",
        "--minutes",
        "31.5",
        "--job",
        "March, porch",
        "--scenario",
        &scenario,
    ]);
    assert!(first.status.success(), "{}", text(&first.stderr));
    assert!(text(&first.stdout).starts_with(&format!("Began {log}: drill, 8 pieces")));
    assert!(
        add(&["--step", "drill", "--what", "setup", "--minutes", "1 h 2"])
            .status
            .success()
    );
    assert_eq!(
        fs::read_to_string(&log).unwrap(),
        "date,job,step,what,pieces,rounds,minutes,spoiled,redone,note\n\
         2027-03-14,\"March, porch\",drill,,8,,31.5,,,\n2027-03-14,,drill,setup,,,62,,,\n"
    );
    let page = text(&program(&["log", &log]).stdout);
    assert!(page.contains("2 entries of 2027-03-14, 1 job, 1 h 34 min"), "{page}");
}

#[test]
fn nothing_is_written_where_anything_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log.csv");
    let log_name = name(&log);
    let [scenario, _] = rail_files();
    let bad = [
        "log",
        &log_name,
        "--step",
        "drll",
        "--pieces",
        "-1",
        "--minutes",
        "12,5",
        "--scenario",
        &scenario,
    ];
    let found = program(&bad);
    let said = text(&found.stderr);
    assert_eq!(found.status.code(), Some(2));
    for word in ["did you mean `drill`?", "`12.5`", "--pieces", "Nothing was written"] {
        assert!(said.contains(word), "{said}");
    }
    assert!(!log.exists());
    let broken = "step,pieces,minutes\ndrill,8,soon\n";
    fs::write(&log, broken).unwrap();
    let found = program(&["log", &log_name, "--step", "drill", "--pieces", "4", "--minutes", "12"]);
    assert_eq!(found.status.code(), Some(2));
    assert!(text(&found.stderr).contains("log.csv:2:9"), "{}", text(&found.stderr));
    assert_eq!(fs::read_to_string(&log).unwrap(), broken);
    // A column that is not there.
    fs::write(&log, "step,pieces,minutes\n").unwrap();
    let found = program(&[
        "log",
        &log_name,
        "--step",
        "drill",
        "--pieces",
        "4",
        "--minutes",
        "12",
        "--spoiled",
        "1",
    ]);
    assert_eq!(found.status.code(), Some(2));
    assert!(text(&found.stderr).contains("no such column"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn what_looks_unintended_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("log.csv");
    let [scenario, _] = rail_files();
    fs::write(
        &log,
        "date,step,pieces,minutes,spoilt\n2027-01-01,glue peg,4,30,\n2027-01-01,drill,4,30,\n2027-01-02,drill,5,34,\n\
         2027-01-03,drill,4,310,\n2027-01-04,drill,5,33,\n2027-01-02,drill,5,34,\n",
    )
    .unwrap();
    let found = program(&["log", &name(&log), "--scenario", &scenario]);
    assert!(found.status.success());
    let said = text(&found.stderr);
    for word in [
        "did you mean `glue pegs`?",
        "line 5: 310 min",
        "lines 4 and 7 are the same",
        "did you mean `spoiled`?",
    ] {
        assert!(said.contains(word), "{word}: {said}");
    }
    let json: serde_json::Value =
        serde_json::from_slice(&program(&["log", &name(&log), "--format", "json"]).stdout).unwrap();
    assert_eq!(json["entries"], 6);
    let csv = text(&program(&["log", &name(&log), "--format", "csv"]).stdout);
    assert_eq!(csv.lines().count(), 3);
}

#[test]
fn the_shipped_log_says_what_the_rail_takes() {
    let [scenario, log] = rail_files();
    let found = program(&["log", &log, "--scenario", &scenario]);
    assert!(
        found.status.success() && found.stderr.is_empty(),
        "{}",
        text(&found.stderr)
    );
    let folder = tempfile::tempdir().unwrap();
    for ending in ["svg", "png"] {
        let chart = folder.path().join(format!("chart.{ending}"));
        let found = program(&["fit", &scenario, &log, "--chart", &name(&chart)]);
        assert!(
            found.status.success() && found.stderr.is_empty(),
            "{}",
            text(&found.stderr)
        );
        let bytes = fs::read(chart).unwrap();
        if ending == "svg" {
            assert!(roxmltree::Document::parse(&text(&bytes)).is_ok());
        } else {
            assert!(bytes.starts_with(b"\x89PNG"));
        }
    }
    insta::assert_snapshot!(
        "fit",
        text(&program(&["fit", &scenario, &log]).stdout).replace(env!("CARGO_PKG_VERSION"), "VERSION")
    );
    let json: serde_json::Value =
        serde_json::from_slice(&program(&["fit", &scenario, &log, "--format", "json"]).stdout).unwrap();
    assert_eq!(json["steps"].as_array().unwrap().len(), 7);
    let csv = text(&program(&["fit", &scenario, &log, "--format", "csv"]).stdout);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let wide = reader.headers().unwrap().len();
    assert!(reader.records().all(|row| row.unwrap().len() == wide));
}

#[test]
fn what_is_written_passes_check_and_sweep() {
    let [scenario, log] = rail_files();
    let folder = tempfile::tempdir().unwrap();
    let copy = name(&folder.path().join("rail.toml"));
    let before = fs::read(&scenario).unwrap();
    let found = program(&["fit", &scenario, &log, &format!("--write={copy}")]);
    assert!(found.status.success());
    assert!(
        text(&found.stderr).contains(&format!("values into {copy}:")),
        "{}",
        text(&found.stderr)
    );
    assert_eq!(fs::read(&scenario).unwrap(), before);
    assert!(program(&["check", &copy]).status.success());
    assert!(program(&["sweep", &copy, "--trials", "1000"]).status.success());
    // Into the file itself.
    let found = program(&["fit", &copy, &log, "--write"]);
    assert!(found.status.success(), "{}", text(&found.stderr));
    // One entry as expected changes nothing: the copy is the file.
    let (entry, same) = (folder.path().join("one.csv"), folder.path().join("same.toml"));
    fs::write(&entry, "step,what,pieces,minutes\ndrill,setup,,14\n").unwrap();
    let found = program(&["fit", &scenario, &name(&entry), &format!("--write={}", name(&same))]);
    assert!(
        text(&found.stderr).contains("contradicts nothing in it"),
        "{}",
        text(&found.stderr)
    );
    assert_eq!(fs::read(same).unwrap(), before);
}

#[test]
fn fit_refuses_and_writes_nothing() {
    let [scenario, log] = rail_files();
    let folder = tempfile::tempdir().unwrap();
    let copy = folder.path().join("rail.toml");
    let bad = folder.path().join("bad.csv");
    fs::write(&bad, "step,pieces,minutes\ndrill,8,\n").unwrap();
    let write = format!("--write={}", copy.display());
    for (arguments, word) in [
        (vec!["fit", &scenario, &name(&bad), &write], "no time is given"),
        (vec!["fit", &scenario, &log, &write, "--chart", "a.gif"], ".svg"),
        (
            vec!["fit", &scenario, &log, &write, "--set", "target=3"],
            "cannot be used with",
        ),
        (vec!["fit", "-", &log, "--write"], "standard input cannot be written to"),
        (
            vec!["fit", &scenario, &log, &format!("--write={log}")],
            "the log name the same file",
        ),
        (
            vec!["fit", &scenario, &log, &format!("--write={}", name(&bad))],
            "is there already and is not the scenario",
        ),
    ] {
        let found = program(&arguments);
        assert_eq!(found.status.code(), Some(2), "{arguments:?}: {}", text(&found.stderr));
        assert!(text(&found.stderr).contains(word), "{}", text(&found.stderr));
        assert!(!copy.exists());
    }
    // A jig that takes off more than the new time leaves: nothing is written over the file.
    let jigged = fs::read_to_string(&scenario)
        .unwrap()
        .replace("each  = \"x 0.6\"", "each  = \"- 2 min\"");
    fs::write(&copy, &jigged).unwrap();
    let quick = folder.path().join("quick.csv");
    fs::write(&quick, "step,what,pieces,minutes\ndrill,each,10,5\ndrill,each,10,5\n").unwrap();
    let found = program(&["fit", &name(&copy), &name(&quick), "--write"]);
    assert_eq!(found.status.code(), Some(2), "{}", text(&found.stderr));
    assert!(text(&found.stderr).contains("nothing was written"));
    assert_eq!(fs::read_to_string(&copy).unwrap(), jigged);
}

/// An entry that is left out of all times is in no sum either, nor in what is written; what one job took changes nothing; a line that is there
/// twice is doubted.
#[test]
fn slips_and_single_jobs_write_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let [file, log, copy] = ["caps.toml", "caps.csv", "new.toml"].map(|f| folder.path().join(f));
    fs::write(
        &file,
        "target = 30\n[[step]]\nname = \"turn\"\neach = \"8 / 12 / 16 min\"\n[[step]]\nname = \"list\"\nsetup = \"20 / 30 / 40 min\"\n\
         [sale]\nprice = 50\n",
    )
    .unwrap();
    let entries = "date,job,step,pieces,minutes\n2027-01-04,a,turn,10,121\n2027-01-05,b,turn,10,1190\n2027-01-06,c,turn,5,60\n\
                   2027-01-06,c,turn,5,60\n2027-01-07,d,turn,8,95\n2027-01-07,d,list,8,80\n";
    fs::write(&log, entries).unwrap();
    let found = program(&["fit", &name(&file), &name(&log), "--format", "json"]);
    let doubts = text(&found.stderr);
    assert!(doubts.contains("lines 4 and 5 are the same"), "{doubts}");
    let answer: serde_json::Value = serde_json::from_slice(&found.stdout).unwrap();
    assert_eq!(answer["set_apart"][0]["line"], 3, "{answer}");
    assert_eq!(answer["steps"][0]["minutes"], 121.0 + 60.0 + 60.0 + 95.0);
    assert_eq!(answer["steps"][0]["expected"], 12.0 * (10.0 + 5.0 + 5.0 + 8.0));
    assert_eq!(answer["steps"][0]["parts"][0]["from"], "file");
    assert_eq!(answer["steps"][1]["parts"][0]["says"], "one_job");
    let write = format!("--write={}", copy.display());
    let said = text(&program(&["fit", &name(&file), &name(&log), &write]).stdout).replace('\n', " ");
    assert!(said.contains("Look at line 3 of the log"), "{said}");
    assert!(said.contains("Only one job at list"), "{said}");
    assert!(!copy.exists() || fs::read_to_string(&copy).unwrap() == fs::read_to_string(&file).unwrap());
}

// ---------------------------------------------------------------------------------------------------------------------
// Times kept as they were logged

const PEGS: &str = "target = 30\n[pace]\nfactor = 1.25\n[[step]]\nname = \"turn\"   # by hand\nsetup = \"10 min\"\n\
                    each  = \"8 / 12 / 20 min\"\nredo  = \"10 %\"\n[[step]]\nname = \"post\"\nper_order = \"12 min\"\n[sale]\nprice = 50\n";
const PEGS_LOG: &str = "step,what,pieces,minutes,redone\nturn,setup,,9,\nturn,each,1,11,\nturn,each,1,12.5,\nturn,each,1,14,\n\
                        turn,each,1,12,0\nturn,each,1,19,\nturn,each,1,33,1\nturn,setup,,11,\nturn,setup,,9.5,\nturn,setup,,14,\n\
                        turn,setup,,9,\n";

/// Minutes over the pace that stays (1.25, as posting is not timed): what is written gives what was measured, and nothing else of
/// the file moves.
#[test]
fn own_times_are_written_as_values() {
    let folder = tempfile::tempdir().unwrap();
    let [file, log, copy] = ["pegs.toml", "pegs.csv", "new.toml"].map(|f| folder.path().join(f));
    fs::write(&file, PEGS).unwrap();
    fs::write(&log, PEGS_LOG).unwrap();
    let write = format!("--write={}", name(&copy));
    let found = program(&["fit", &name(&file), &name(&log), "--logged", "turn", &write]);
    assert!(found.status.success(), "{}", text(&found.stderr));
    let told: String = text(&found.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("kept as they were logged at turn"), "{told}");
    assert!(told.contains("left out of them at turn"), "{told}");
    let due = PEGS
        .replace(
            "\"10 min\"",
            "{ shape = \"logged\", values = [7.2, 7.2, 7.6, 8.8, 11.2], unit = \"min\" }",
        )
        .replace(
            "\"8 / 12 / 20 min\"",
            "{ shape = \"logged\", values = [8.8, 9.6, 10, 11.2, 15.2], unit = \"min\" }",
        );
    // What was guessed is kept below.
    let due = due.replace(
        "redo  = \"10 %\"\n",
        "redo  = \"10 %\"\nguessed_setup = \"10 min\"\nguessed_each = \"8 / 12 / 20 min\"\n",
    );
    assert_eq!(fs::read_to_string(&copy).unwrap(), due);
    let made = scenario::read("new", &due, &[]).unwrap();
    // By hand: 68.5 / 5 minutes a piece as measured, 52.5 / 5 a setup.
    assert!(close(made.steps[0].each.mean() * 1.25, 13.7, 1e-14));
    assert!(close(made.steps[0].setup.mean() * 1.25, 10.5, 1e-14));
    // Again, now that the file has them: nothing is left to write.
    let found = program(&["fit", &name(&copy), &name(&log), "--logged", "turn", "--write"]);
    assert!(
        text(&found.stderr).contains("nothing was written"),
        "{}",
        text(&found.stderr)
    );
    // Not asked for, nothing is logged.
    let found = program(&["fit", &name(&file), &name(&log), "--format", "json"]);
    assert!(!text(&found.stdout).contains("\"logged\""));
    let found = program(&["fit", &name(&file), &name(&log), "--logged", "turn", "--format", "json"]);
    assert!(text(&found.stdout).contains("\"from\": \"logged\""));
}

#[test]
fn own_times_that_are_none_are_refused_all_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let [file, log, copy] = ["pegs.toml", "pegs.csv", "new.toml"].map(|f| folder.path().join(f));
    fs::write(&file, PEGS).unwrap();
    fs::write(&log, format!("{PEGS_LOG}turn,each,6,80,\n")).unwrap();
    let write = format!("--write={}", name(&copy));
    let found = program(&[
        "fit",
        &name(&file),
        &name(&log),
        "--logged",
        "turn",
        "--logged",
        "post",
        "--logged",
        "trun",
        &write,
    ]);
    assert_eq!(found.status.code(), Some(2));
    let said = text(&found.stderr);
    for word in [
        "of several pieces, rounds or orders (line 13)",
        "step `post`: no entry times",
        "did you mean `turn`?",
    ] {
        assert!(said.contains(word), "{said}");
    }
    assert!(!copy.exists());
}

/// Times that the file lacks: one job may have been anything, two say what to write, and nothing is told of a share of nothing.
#[test]
fn a_time_that_the_file_lacks_is_told_as_lacking() {
    let (_, scenario, _) = rail();
    let told = |lines: &str| {
        let answer = fit::fit(&scenario, &log_of(&format!("job,step,what,pieces,minutes\n{lines}")));
        let page = batchwright::render::Render::text(&answer, &batchwright::render::text::Look::page(false));
        page.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let one = told("a,drill,order,4,28\n");
    assert!(
        one.contains("Log 4 more jobs before you change a time") && one.contains("Only one job at drill"),
        "{one}"
    );
    // The pace of 1.08 stays, so that 7 min are written as 6.5.
    let two = told("a,drill,order,4,28\nb,drill,order,2,14\n");
    assert!(
        two.contains("Write 6.5 min an order into the file for drill, where it has none."),
        "{two}"
    );
    assert!(
        two.contains("Drill: the time an order is not in the file, and 2 entries of the log say 7 min."),
        "{two}"
    );
    assert!(
        ![one, two]
            .iter()
            .any(|page| page.contains("none more") || page.contains("not 0 min"))
    );
    // Two jobs that agree to the minute say nothing of how jobs differ.
    let alike = told("a,drill,,4,28\nb,drill,,4,28\n");
    assert!(
        alike.contains(
            "The 2 jobs took 1.05 times what the steps say; with its average pace the file expects 1.08 times."
        ),
        "{alike}"
    );
}

/// Twelve jobs whose pieces take now two and now twenty minutes make times lognormal; a jig that takes minutes off them is in the way no longer.
#[test]
fn a_time_that_a_jig_takes_minutes_off_can_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let [file, log] = ["pegs.toml", "log.csv"].map(|name| folder.path().join(name));
    fs::write(
        &file,
        "target = 20\n[[step]]\nname = \"drill\"\nsetup = \"4 / 5 / 6 min\"\neach = \"6 / 8 / 12 min\"\n[sale]\nprice = 21\n[[jig]]\n\
         name = \"fence\"\nstep = \"drill\"\nbuild = \"2 h\"\neach = \"- 2 min\"\n",
    )
    .unwrap();
    let taken = [
        (6, 19),
        (4, 17),
        (3, 10),
        (1, 7),
        (2, 10),
        (4, 35),
        (2, 35),
        (1, 8),
        (2, 15),
        (2, 7),
        (2, 14),
        (2, 46),
    ];
    let entries = taken
        .iter()
        .enumerate()
        .map(|(k, (pieces, minutes))| format!("job {k},drill,{pieces},{minutes}\n"));
    fs::write(
        &log,
        format!("job,step,pieces,minutes\n{}", entries.collect::<String>()),
    )
    .unwrap();
    let [file, log] = [&file, &log].map(|path| path.to_str().unwrap());
    let found = program(&["fit", file, log, "--write"]);
    assert!(found.status.success(), "{}", text(&found.stderr));
    let written = fs::read_to_string(file).unwrap();
    assert!(
        written.contains("shape = \"lognormal\"") && written.contains("each = \"- 2 min\""),
        "{written}"
    );
    assert!(program(&["jig", file, "--trials", "500"]).status.success());
}
