//! Estimates written into the scenario, for any log.

use super::*;
use proptest::prelude::*;

/// Taking the new values out again gives the old file, byte for byte.
#[test]
fn a_written_file_differs_in_the_values_alone() {
    let (text, scenario, mut log) = rail();
    // What the log does not contradict is not written: it must contradict much.
    for entry in &mut log.entries {
        entry.minutes *= 2.0;
    }
    let found = fit::fit(&scenario, &log);
    for (before, end) in [
        (text.clone(), "\n"),
        (text.replace('\n', "\r\n"), "\r\n"),
        (format!("\u{feff}{text}"), "\n"),
    ] {
        let (after, changes) = edited(&before, &found).unwrap();
        assert!(changes.len() > 8 && after != before);
        let mut left = changes.clone();
        // Keys that were not there stand on lines of their own.
        left.retain(|c| c.was.is_some());
        let added: Vec<String> = changes
            .iter()
            .filter(|c| c.was.is_none())
            .map(|c| c.new.clone())
            .collect();
        let old: Vec<&str> = before.split(end).collect();
        let new: Vec<&str> = after
            .split(end)
            .filter(|line| {
                let is_guess = line.starts_with("guessed_");
                !(is_guess
                    || ["varies", "opposite"].iter().any(|key| line.starts_with(key))
                        && added.iter().any(|a| line.ends_with(a.as_str()))
                        && !before.contains(line))
            })
            .collect();
        assert_eq!(old.len(), new.len());
        for (a, b) in old.iter().zip(&new).filter(|(a, b)| a != b) {
            let k = left
                .iter()
                .position(|c| b.replacen(&c.new, c.was.as_ref().unwrap(), 1) == **a)
                .unwrap_or_else(|| panic!("{a} -> {b}"));
            left.remove(k);
        }
        assert!(left.is_empty(), "{left:?}");
        let again = scenario::read("again", &after, &[]).unwrap();
        // What was fitted is what the file says then, to the three digits that are written.
        for (step, fitted) in again.steps.iter().zip(&found.steps) {
            for (key, spread) in [
                ("setup", &step.setup),
                ("each", &step.each),
                ("per_order", &step.per_order),
            ] {
                if let Some(part) = fitted.parts.iter().find(|p| p.key == key) {
                    assert!(close(spread.mean(), part.new.mean, 0.01), "{} {key}", step.name);
                }
            }
        }
        // Written once more, nothing changes.
        assert_eq!(edited(&after, &found).unwrap().1, []);
    }
}

/// With the new figures the file expects of the log's entries what they took.
#[test]
fn a_written_file_expects_what_was_measured() {
    let (text, scenario, log) = rail();
    let found = fit::fit(&scenario, &log);
    let (after, _) = edited(&text, &found).unwrap();
    let again = fit::fit(&scenario::read("again", &after, &[]).unwrap(), &log);
    assert!(
        (again.expected / again.minutes - 1.0).abs() < 0.02,
        "{} {}",
        again.expected,
        again.minutes
    );
}

/// The file keeps what stood there, as it stood, and a later reading changes nothing of that.
#[test]
fn what_was_guessed_is_kept_as_it_was_written() {
    let (text, scenario, mut log) = rail();
    for entry in &mut log.entries {
        entry.minutes *= 2.0;
    }
    let (once, _) = edited(&text, &fit::fit(&scenario, &log)).unwrap();
    for line in ["guessed_setup = \"3 / 4 / 8 min\"", "guessed_each = \"3 / 4 / 7 min\""] {
        assert!(once.lines().any(|is| is == line), "{line}: {once}");
    }
    let guesses = |text: &str| -> Vec<String> {
        let lines = text.lines().filter(|line| line.starts_with("guessed_"));
        lines.map(str::to_owned).collect()
    };
    for entry in &mut log.entries {
        entry.minutes *= 2.0;
    }
    let again = scenario::read("again", &once, &[]).unwrap();
    let (twice, changes) = edited(&once, &fit::fit(&again, &log)).unwrap();
    assert!(changes.len() > 8);
    assert_eq!(guesses(&twice), guesses(&once));
    // A time that was not there was guessed to be none.
    let glue = "target = 30\n[[step]]\nname = 'glue'\neach = '10 min'\n[sale]\nprice = 50\n";
    let found = fit::fit(&scenario::read("s", glue, &[]).unwrap(), &lines(&PIECES, &MINUTES));
    let (after, _) = edited(glue, &found).unwrap();
    assert!(
        after.contains("guessed_setup = \"0 min\"\n") && after.contains("guessed_each = '10 min'\n"),
        "{after}"
    );
}

/// Written after every job or once at the end, it is the same file: estimates follow from the guess and the whole log alone.
#[test]
fn how_often_a_log_is_read_makes_no_difference() {
    let (text, scenario, log) = rail();
    let (once, _) = edited(&text, &fit::fit(&scenario, &log)).unwrap();
    let mut jobs: Vec<&str> = Vec::new();
    for entry in &log.entries {
        if !jobs.contains(&entry.job.as_str()) {
            jobs.push(&entry.job);
        }
    }
    let mut is = text.clone();
    let mut written = 0;
    for n in 2..=jobs.len() {
        let so_far = Log {
            entries: log
                .entries
                .iter()
                .filter(|e| jobs[..n].contains(&e.job.as_str()))
                .cloned()
                .collect(),
            ..log.clone()
        };
        let found = fit::fit(&scenario::read("again", &is, &[]).unwrap(), &so_far);
        let (new, changes) = edited(&is, &found).unwrap();
        written += usize::from(!changes.is_empty());
        is = new;
        // What the log says is what it says beside the first file.
        let first = fit::fit(&scenario, &so_far);
        for (step, beside) in found.steps.iter().zip(&first.steps) {
            for (part, other) in step.parts.iter().zip(&beside.parts) {
                assert_eq!(part.found, other.found, "{n} jobs, {} {}", step.name, part.key);
            }
        }
    }
    assert!(written > 2, "{written}");
    let read = |text: &str| scenario::read("end", text, &[]).unwrap();
    // A step that went over to one draw a batch and came back says what was guessed of that, which is what it has.
    let said = |text: &str| {
        let mut scenario = read(text);
        for step in &mut scenario.steps {
            step.guessed.varies.get_or_insert(step.varies);
        }
        scenario
    };
    assert_eq!(said(&is), said(&once));
    // Read once more, there is nothing to write.
    let again = fit::fit(&read(&once), &log);
    assert!(again.settled && edited(&once, &again).unwrap().1.is_empty());
}

/// A log that leaves no setup at polishing puts it at the very end of its interval, and what is written is rounded to three digits: that is the same time,
/// and "write 0.21 min, where it has 0.21" would be no advice.
#[test]
fn what_was_written_is_not_contradicted_by_its_rounding() {
    let text = "target = 40\n[pace]\nfactor = '0.85 / 1 / 1.5'\n[[step]]\nname = 'cut'\nsetup = '8 / 10 / 20 min'\neach = '6 / 9 / 15 min'\n[[step]]\n\
                name = 'polish'\nsetup = '5 min'\neach = '8 / 12 / 20 min'\n[sale]\nprice = 72\n";
    let jobs = [
        (6, 78, 103),
        (12, 176, 224),
        (6, 91, 109),
        (8, 135, 144),
        (6, 102, 114),
        (8, 122, 145),
        (12, 197, 272),
        (10, 164, 223),
    ];
    let lines: String = jobs
        .iter()
        .enumerate()
        .map(|(k, (n, cut, polish))| format!("{k},cut,{n},{cut}\n{k},polish,{n},{polish}\n"))
        .collect();
    let log = log_of(&format!("job,step,pieces,minutes\n{lines}"));
    let found = |text: &str| fit::fit(&scenario::read("s", text, &[]).unwrap(), &log);
    let (after, changes) = edited(text, &found(text)).unwrap();
    assert!(changes.len() > 3, "{changes:?}");
    let again = found(&after);
    let parts = || again.steps.iter().flat_map(|step| &step.parts);
    assert!(parts().all(|part| part.says != Says::Differs), "{:?}", again.steps);
    assert!(
        parts().any(|part| part.found.low == Some(part.found.value)),
        "{:?}",
        again.steps
    );
}

/// A setup that five jobs made nothing of is looked for again when more of them show it.
#[test]
fn a_time_that_was_written_as_nothing_is_looked_for_again() {
    let guess = "target = 30\n[[step]]\nname = 'glue'\nsetup = '20 min'\neach = '10 min'\n[sale]\nprice = 50\n";
    let none = guess.replace("setup = '20 min'", "setup = '0 min'\nguessed_setup = '20 min'");
    let log = lines(
        &[1.0, 2.0, 4.0, 6.0, 9.0, 12.0],
        &[30.5, 39.5, 60.5, 79.5, 110.5, 139.5],
    );
    let found = |text: &str| fit::fit(&scenario::read("s", text, &[]).unwrap(), &log);
    let (beside_guess, beside_none) = (found(guess), found(&none));
    assert_eq!(
        beside_none.steps[0].parts[0].found,
        beside_guess.steps[0].parts[0].found
    );
    assert!((beside_none.steps[0].parts[0].found.value - 20.0).abs() < 1.0);
    let setup = edited(&none, &beside_none).unwrap().1;
    assert!(
        setup
            .iter()
            .any(|change| change.key == "setup" && change.was.as_deref() == Some("'0 min'")),
        "{setup:?}"
    );
}

/// Where some steps have no entries the pace stays, and measured times are written without it.
#[test]
fn a_pace_that_stays_is_not_counted_twice() {
    let (text, scenario, log) = rail();
    let some = Log {
        entries: log.entries.iter().filter(|e| e.step == "glue pegs").cloned().collect(),
        ..log
    };
    let found = fit::fit(&scenario, &some);
    assert!(!found.complete && found.pace.new.is_none());
    let (after, changes) = edited(&text, &found).unwrap();
    assert!(
        !changes.is_empty() && changes.iter().all(|c| c.step == "glue pegs"),
        "{changes:?}"
    );
    let again = fit::fit(&scenario::read("again", &after, &[]).unwrap(), &some);
    assert!(
        close(again.expected, again.minutes, 0.02),
        "{} {}",
        again.expected,
        again.minutes
    );
}

#[test]
fn new_keys_stand_under_the_others() {
    let text = "target = 30\n[[step]]\n  name   = 'glue' # first\n  each   = '10 min'\r\n[[step]] # other\nname = 'oil'\neach = '1 min'\n\
                [sale]\nprice = 50";
    let scenario = scenario::read("s", text, &[]).unwrap();
    let log = lines(&PIECES, &MINUTES);
    let (after, changes) = edited(text, &fit::fit(&scenario, &log)).unwrap();
    // Ten jobs leave the average of a piece open, which one draw for the whole batch says.
    let keys: Vec<&str> = changes.iter().map(|c| c.key.as_str()).collect();
    assert_eq!(keys, ["setup", "each", "varies"]);
    let line = after.lines().find(|l| l.contains("setup")).unwrap();
    assert!(line.starts_with("  setup  = {"), "{after}");
    // New lines end as the line above them does.
    assert_eq!(after.matches("\r\n").count(), 6);
    assert!(after.contains("\r\n  guessed_varies = \"piece\"\r\n"), "{after}");
    assert!(after.contains("'glue' # first\n") && after.ends_with("price = 50"));
    let inline = "target = 30\nstep = [{ name = 'glue', each = '10 min' }] # all\n[sale]\nprice = 50\n";
    let scenario = scenario::read("s", inline, &[]).unwrap();
    let (after, _) = edited(inline, &fit::fit(&scenario, &log)).unwrap();
    assert!(
        after.contains(", setup = { low") && after.contains("}] # all\n"),
        "{after}"
    );
    assert!(scenario::read("s", &after, &[]).is_ok());
}

/// Jobs that differ by more than their steps: a file without a pace gets a section for it, at its end.
#[test]
fn a_pace_that_nobody_wrote_stands_at_the_end() {
    let text = "target = 30\n[[step]]\nname = 'glue'\nsetup = '20 min'\neach = '10 min'\n[sale]\nprice = 50";
    let scenario = scenario::read("s", text, &[]).unwrap();
    let mut log = "job,step,what,pieces,minutes\n".to_owned();
    for (job, factor) in [0.7, 0.9, 1.0, 1.1, 1.3].into_iter().enumerate() {
        for n in [2.0, 5.0, 9.0] {
            log.push_str(&format!(
                "{job},glue,setup,,{}\n{job},glue,each,{n},{}\n",
                20.0 * factor,
                10.0 * n * factor
            ));
        }
    }
    let found = fit::fit(&scenario, &log_of(&log));
    assert!(found.complete && found.pace.shared.unwrap() > 0.1, "{:?}", found.pace);
    let (after, _) = edited(text, &found).unwrap();
    assert!(after.contains("price = 50\n\n[pace]\nfactor = { low = 0."), "{after}");
    let again = scenario::read("again", &after, &[]).unwrap();
    assert!(close(again.pace.mean(), 1.0, 0.01));
    // Lines that end in carriage return and line feed are followed by such.
    for end in ["", "\n"] {
        let text = format!("{text}{end}").replace('\n', "\r\n");
        let (after, _) = edited(&text, &found).unwrap();
        assert!(after.contains("price = 50\r\n\r\n[pace]\r\nfactor = "), "{after:?}");
        assert_eq!(after.matches('\n').count(), after.matches("\r\n").count(), "{after:?}");
    }
}

/// The last line of a file has no end that a new one could be like, so the first one says it.
#[test]
fn a_new_last_line_ends_as_the_first_does() {
    for end in ["\n", "\r\n"] {
        let text = "target = 30\n[sale]\nprice = 50\n[[step]]\nname = 'glue'\neach = '10 min'".replace('\n', end);
        let scenario = scenario::read("s", &text, &[]).unwrap();
        let (after, _) = edited(&text, &fit::fit(&scenario, &lines(&PIECES, &MINUTES))).unwrap();
        assert!(after.contains(&format!("{end}setup = ")), "{after:?}");
        assert_eq!(after.matches('\n').count(), after.matches(end).count(), "{after:?}");
    }
}

#[test]
fn what_cannot_be_exchanged_is_said() {
    let text =
        "target = 30\n[[step]]\nname = 'glue'\n[step.each]\nlow = '8 min'\nhigh = '12 min'\n[sale]\nprice = 50\n";
    let scenario = scenario::read("s", text, &[]).unwrap();
    let wrong = edited(text, &fit::fit(&scenario, &lines(&PIECES, &MINUTES))).unwrap_err();
    assert!(wrong[0].contains("`each` of step `glue`"), "{wrong:?}");
}

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        "[0-9]{1,3}",
        Just("12,5".to_owned()),
        Just("1 h 5 min".to_owned()),
        Just("drill".to_owned()),
        Just("mill blanks".to_owned()),
        Just("setup".to_owned()),
        Just("\"".to_owned()),
        Just("\"0\"\u{9d7}".to_owned()),
        Just("2027-03-14".to_owned()),
        any::<String>(),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// No text at all makes the reader fall over, and every fault has a place in it.
    #[test]
    fn any_text_is_read_or_refused(rows in prop::collection::vec(prop::collection::vec(cell(), 0..12), 0..6), separator in "[,;\t]", head: bool) {
        let mut text = if head { worklog::COLUMNS.join(&separator) + "\n" } else { String::new() };
        for row in rows {
            text.push_str(&(row.join(&separator) + "\n"));
        }
        if let Err(faults) = worklog::read("log", text.as_bytes()) {
            for fault in &faults {
                prop_assert!(faults.source_of(fault).1.get(fault.span()).is_some());
            }
            prop_assert!(faults.render(false, 80).contains("fault"));
        }
    }

    /// Any log gives figures that are numbers and a file that can be read.
    #[test]
    fn any_log_gives_a_sound_file(entries in prop::collection::vec((0..6_usize, 0..5_usize, 1..30_u32, 1..2000_u32, 0..4_u32), 1..40)) {
        let (text, scenario, _) = rail();
        let mut log = "job,step,what,pieces,minutes,spoiled,redone\n".to_owned();
        for (step, what, pieces, minutes, lost) in entries {
            let what = ["", "setup", "each", "order", "once"][what];
            log.push_str(&format!(
                "j{},{},{what},{pieces},{},{},{lost}\n", minutes % 7, scenario.steps[step + 1].name, f64::from(minutes) / 10.0, lost.min(pieces)
            ));
        }
        let found = fit::fit(&scenario, &log_of(&log));
        for part in found.steps.iter().flat_map(|s| &s.parts) {
            let r = part.new;
            prop_assert!(r.mean.is_finite() && 0.0 <= r.p10 && r.p10 <= r.p50 && r.p50 <= r.p90, "{part:?}");
            prop_assert!(part.found.value >= 0.0 && part.found.value.is_finite(), "{part:?}");
        }
        let (after, _) = edited(&text, &found).unwrap();
        // A chance of loss at every step may leave nothing to sell, which the reader refuses; times it must take.
        if let Err(faults) = scenario::read("again", &after, &[]) {
            prop_assert!(faults.iter().all(|f| !f.what().contains("setup") && !f.what().contains("each")), "{}", faults.render(false, 100));
        }
    }
}
