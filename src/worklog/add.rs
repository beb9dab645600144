//! One more entry at the end of a log, the rest kept byte for byte.

use super::read::{PART, goes_on, minutes_of, what_of};
use super::{COLUMNS, Entry, Form, What};
use crate::clean;
use crate::logfile::{count_of, date_of};
use crate::scenario::{SourceSpan, Step, nearest, quoted};

/// An entry as it was typed, each part still text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Typed<'a> {
    /// Date, or nothing.
    pub date: &'a str,
    /// Job, or nothing.
    pub job: &'a str,
    /// Step.
    pub step: &'a str,
    /// What was timed, or nothing.
    pub what: &'a str,
    /// Pieces, or nothing.
    pub pieces: &'a str,
    /// Rounds, or nothing.
    pub rounds: &'a str,
    /// A time.
    pub minutes: &'a str,
    /// Pieces lost, or nothing.
    pub spoiled: &'a str,
    /// Times done again, or nothing.
    pub redone: &'a str,
    /// Note, or nothing.
    pub note: &'a str,
}

/// Something wrong with what was typed: for which part, what, and what would be right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// A name of [`COLUMNS`].
    pub part: &'static str,
    /// What is wrong and what would be right.
    pub why: String,
}

/// Checks what was typed, against a log's columns and a scenario's steps where there are any.
///
/// # Errors
/// Everything that is wrong.
pub fn check(typed: &Typed<'_>, form: Option<&Form>, steps: Option<&[Step]>) -> Result<Entry, Vec<Wrong>> {
    let mut wrong = Vec::new();
    wrong_names(typed, steps, &mut wrong);
    let mut say = |part: &'static str, why: String| wrong.push(Wrong { part, why });
    let what = what_of(typed.what.trim())
        .map_err(|cure| say("what", format!("{} is not known; {cure}", quoted(typed.what))))
        .ok();
    let date = match typed.date.trim() {
        "" => None,
        written => date_of(written)
            .map_err(|cure| say("date", format!("{} is not a date; {cure}", quoted(written))))
            .ok(),
    };
    let minutes = minutes_of(
        typed.minutes.trim(),
        SourceSpan::new(0, 0..typed.minutes.trim().len()),
        true,
    )
    .map_err(|faults| {
        for fault in faults {
            say(
                "minutes",
                format!("{}; {}", fault.what().trim_start_matches("`minutes`: "), fault.cure()),
            );
        }
    })
    .ok();
    let mut count = |part: &'static str, written: &str, least: u32| match written.trim() {
        "" => None,
        written => count_of(written, least)
            .map_err(|cure| say(part, format!("{} is not a number of things; {cure}", quoted(written))))
            .ok(),
    };
    let pieces = if goes_on(typed.pieces.trim()) {
        Some(0)
    } else {
        count("pieces", typed.pieces, 1)
    };
    let rounds = count("rounds", typed.rounds, 1);
    let spoiled = count("spoiled", typed.spoiled, 0);
    let redone = count("redone", typed.redone, 0);
    if what.is_some_and(What::counts) && typed.pieces.trim().is_empty() {
        say(
            "pieces",
            "no number is given; say how many pieces (or orders) were handled, or --what setup for setup alone"
                .to_owned(),
        );
    }
    if let (Some(pieces), Some(spoiled)) = (pieces, spoiled)
        && spoiled > pieces
        && pieces > 0
    {
        say(
            "spoiled",
            format!("{spoiled} are more than the {pieces} that were handled"),
        );
    }
    wrong.extend(form.into_iter().flat_map(|form| missing_columns(typed, form)));
    let (Some(what), Some(minutes), true) = (what, minutes, wrong.is_empty()) else {
        return Err(wrong);
    };
    Ok(Entry {
        line: 0,
        date,
        job: typed.job.trim().to_owned(),
        step: typed.step.trim().to_owned(),
        what,
        pieces: if what.counts() { pieces.unwrap_or(0) } else { 0 },
        rounds,
        minutes,
        spoiled,
        redone,
        note: typed.note.trim().to_owned(),
    })
}

/// What was typed for columns that the log has not.
fn missing_columns(typed: &Typed<'_>, form: &Form) -> impl Iterator<Item = Wrong> {
    let missing = |(column, value): &(&'static str, &str)| !value.is_empty() && form.place(column).is_none();
    cells(typed).into_iter().filter(missing).map(|(part, _)| Wrong {
        part,
        why: format!("the log has no such column; put `{part}` into its first line, or leave this out"),
    })
}

/// What is wrong with words of the maker's own: control characters, a step that is not there.
fn wrong_names(typed: &Typed<'_>, steps: Option<&[Step]>, wrong: &mut Vec<Wrong>) {
    let mut say = |part: &'static str, why: String| wrong.push(Wrong { part, why });
    for (part, text) in [("job", typed.job), ("step", typed.step), ("note", typed.note)] {
        if text.chars().any(char::is_control) {
            say(
                part,
                format!("{} goes over more than one line; write it on one", quoted(text)),
            );
        }
    }
    let step = typed.step.trim();
    if step.is_empty() {
        say(
            "step",
            "no step is named; write its name, for example \"glue pegs\"".to_owned(),
        );
    } else if let Some(steps) = steps
        && steps.iter().all(|s| s.name != step)
    {
        say("step", unknown_step(step, steps));
    }
}

/// "no step is called `glue peg`; did you mean `glue pegs`?"
#[must_use]
pub fn unknown_step(name: &str, steps: &[Step]) -> String {
    let names: Vec<&str> = steps.iter().map(|s| s.name.as_str()).collect();
    let cure = nearest(name, names.iter().copied()).map_or_else(
        || {
            let list: Vec<String> = names.iter().map(|n| quoted(n)).collect();
            format!("the steps are {}", list.join(", "))
        },
        |near| format!("did you mean {}?", quoted(near)),
    );
    format!("no step is called {}; {cure}", quoted(name))
}

fn cells<'a>(typed: &Typed<'a>) -> [(&'static str, &'a str); COLUMNS.len()] {
    let values = [
        typed.date,
        typed.job,
        typed.step,
        typed.what,
        typed.pieces,
        typed.rounds,
        typed.minutes,
        typed.spoiled,
        typed.redone,
        typed.note,
    ];
    let mut at = 0;
    COLUMNS.map(|column| {
        at += 1;
        (column, values[at - 1].trim())
    })
}

/// What an entry's line says, cell by cell in the order of [`COLUMNS`].
#[must_use]
pub fn values(entry: &Entry) -> [String; COLUMNS.len()] {
    let number = |n: Option<u32>| n.map_or_else(String::new, |n| n.to_string());
    [
        entry.date.map_or_else(String::new, |d| d.to_string()),
        clean::cell(&entry.job).into_owned(),
        clean::cell(&entry.step).into_owned(),
        if entry.what == What::All {
            String::new()
        } else {
            entry.what.word().to_owned()
        },
        if entry.goes_on() {
            PART.to_owned()
        } else if entry.what.counts() {
            entry.pieces.to_string()
        } else {
            String::new()
        },
        number(entry.rounds),
        plain_minutes(entry.minutes),
        number(entry.spoiled),
        number(entry.redone),
        clean::cell(&entry.note).into_owned(),
    ]
}

/// Minutes as a spreadsheet can add them up: `52`, `7.25`.
fn plain_minutes(minutes: f64) -> String {
    let rounded = (minutes * 1e4).round() / 1e4;
    if rounded == 0.0 {
        minutes.to_string()
    } else {
        rounded.to_string()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::super::{KIND, read};
    use super::*;
    use crate::logfile::appended;
    use proptest::prelude::*;

    fn typed<'a>() -> Typed<'a> {
        Typed {
            date: "2027-03-14",
            job: "July, shop",
            step: "glue pegs",
            pieces: "8",
            minutes: "1 h 30 min",
            spoiled: "1",
            note: "said \"slow\"",
            ..Typed::default()
        }
    }

    #[test]
    fn an_entry_comes_back_as_it_was_written() {
        let entry = check(&typed(), None, None).unwrap();
        let text = appended(b"", &KIND.new_form(), &values(&entry)).unwrap();
        assert_eq!(
            String::from_utf8(text.clone()).unwrap(),
            "date,job,step,what,pieces,rounds,minutes,spoiled,redone,note\n\
             2027-03-14,\"July, shop\",glue pegs,,8,,90,1,,\"said \"\"slow\"\"\"\n"
        );
        let log = read("log", &text).unwrap();
        assert_eq!(log.entries, [Entry { line: 2, ..entry }]);
    }

    /// 20 s are a third of a minute; what is less than the last place keeps its own digits.
    #[test]
    fn minutes_have_four_places_unless_they_have_none() {
        assert_eq!(plain_minutes(1.0 / 3.0), "0.3333");
        assert_eq!(plain_minutes(0.00001), "0.00001");
        assert_eq!(plain_minutes(7.25), "7.25");
    }

    proptest! {
        /// Whatever is there stays there, and the last entry is the one that was added.
        #[test]
        fn what_was_there_stays(crlf: bool, ended: bool, semicolon: bool, note in "[ -~]{0,12}", rows in 0_usize..4) {
            let (end, s) = (if crlf { "\r\n" } else { "\n" }, if semicolon { ';' } else { ',' });
            let mut before = format!("wood{s}step{s}pieces{s}minutes{s}note{end}");
            for k in 0..rows {
                before.push_str(&format!("oak{s}glue{s}{}{s}\"20\"{s} x {end}", k + 1));
            }
            if !ended {
                before.truncate(before.len() - end.len());
            }
            let form = read("log", before.as_bytes()).unwrap().form;
            let given = Typed { date: "", job: "", spoiled: "", note: note.trim(), ..typed() };
            let entry = check(&given, Some(&form), None).unwrap();
            let after = appended(before.as_bytes(), &form, &values(&entry)).unwrap();
            prop_assert!(after.starts_with(before.as_bytes()));
            let log = read("log", &after).unwrap();
            prop_assert_eq!(log.entries.len(), rows + 1);
            let last = log.entries.last().unwrap();
            prop_assert_eq!(last, &Entry { line: last.line, ..entry });
            // A file without any line end says nothing of its kind.
            let lines = String::from_utf8(after).unwrap();
            if crlf && (ended || rows > 0) {
                prop_assert_eq!(lines.matches('\n').count(), lines.matches("\r\n").count());
            } else {
                prop_assert_eq!(lines.matches('\r').count(), 0);
            }
        }
    }

    #[test]
    fn everything_wrong_is_said_at_once() {
        let bad = Typed {
            date: "14.3.2027",
            step: "",
            what: "setups",
            pieces: "-1",
            minutes: "12,5",
            note: "a\nb",
            ..Typed::default()
        };
        let found = check(&bad, None, None).unwrap_err();
        let parts: Vec<&str> = found.iter().map(|w| w.part).collect();
        assert_eq!(
            parts,
            ["note", "step", "what", "date", "minutes", "pieces"],
            "{found:?}"
        );
        assert!(found[4].why.contains("`12.5`"), "{found:?}");
    }
}
