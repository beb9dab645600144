//! A step's own times as they were logged, for a range of the shape `logged`.
//!
//! Each value must be one draw of the model: one piece, the setup of one round, one order. An entry of several gives only their
//! mean, which varies less than they do, and one of setup and pieces gives neither. So every entry that bears on a part must be of a
//! single one, or the step is refused: to leave some out would be to choose among them. Left out are only entries in which the piece was
//! done again: whether it is does not hang on its time (the model's assumption), and such an entry holds two.

use super::units::WorkUnits;
use super::{Entry, Log, What, logged_at};
use crate::scenario::{FEWEST_LOGGED, MOST_LOGGED, Scenario, Step, Varies, nearest, quoted};

/// The times of one step, each by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnTimes {
    /// The step's name.
    pub step: String,
    /// Minutes as measured, by key (`setup`, `each`, `per_order`), in the order of the log.
    pub parts: Vec<(&'static str, Vec<f64>)>,
    /// Entries left out, as the piece was done again in them.
    pub left_out: usize,
}

/// The own times of the steps with these names.
///
/// # Errors
/// What stands in the way, one sentence for each step, with its cure.
pub fn own_times(scenario: &Scenario, log: &Log, names: &[String]) -> Result<Vec<OwnTimes>, Vec<String>> {
    let (mut found, mut wrong) = (Vec::new(), Vec::new());
    let (entries, _) = log.whole();
    let at = logged_at(scenario);
    for (k, name) in names.iter().enumerate() {
        if names[..k].contains(name) {
            continue;
        }
        let Some(step) = at.iter().find(|step| step.name == *name) else {
            let known = at.iter().map(|step| step.name.as_str());
            let near =
                nearest(name, known).map_or_else(String::new, |near| format!("; did you mean {}?", quoted(near)));
            wrong.push(format!("no step is called {}{near}", quoted(name)));
            continue;
        };
        match of_step(step, &entries) {
            Ok(own) => found.push(own),
            Err(why) => wrong.push(format!("step {}: {why}", quoted(name))),
        }
    }
    if wrong.is_empty() { Ok(found) } else { Err(wrong) }
}

fn of_step(step: &Step, log: &[Entry]) -> Result<OwnTimes, String> {
    let entries: Vec<&Entry> = log.iter().filter(|entry| entry.step == step.name).collect();
    let mut parts: Vec<(&'static str, Vec<f64>)> =
        vec![("setup", Vec::new()), ("each", Vec::new()), ("per_order", Vec::new())];
    let says = |what: What| entries.iter().any(|entry| entry.timed(step) == what);
    if says(What::All) && (says(What::Each) || says(What::Setup)) {
        return Err(
            "some entries are of all of it and some of a part, so there is more to it than that part; let `what` say the same in all, or leave its \
             own times out"
                .to_owned(),
        );
    }
    let mut several = Vec::new();
    let mut left_out = 0;
    for entry in &entries {
        let (key, single) = match part_of(entry, step)? {
            Some(part) => part,
            None => continue,
        };
        if !single {
            several.push(entry.line);
        } else if entry.redone.unwrap_or(0) > 0 {
            left_out += 1;
        } else if let Some((_, minutes)) = parts.iter_mut().find(|(part, _)| *part == key) {
            minutes.push(entry.minutes);
        }
    }
    if !several.is_empty() {
        return Err(format!(
            "{} of several pieces, rounds or orders ({}), of which only the mean is known; time them one by one, or leave its own times out: the \
             range is then made of the entries' spread",
            counted(several.len()),
            lines(&several)
        ));
    }
    parts.retain(|(_, minutes)| !minutes.is_empty());
    if parts.is_empty() {
        return Err(
            "no entry times a setup, a piece or an order of it by itself; time some, `what` being setup, each or order"
                .to_owned(),
        );
    }
    for (key, minutes) in &parts {
        if minutes.len() < FEWEST_LOGGED {
            return Err(format!(
                "{} of `{key}`, and {FEWEST_LOGGED} are due; time more of them, or leave its own times out",
                counted(minutes.len())
            ));
        }
        if minutes.len() > MOST_LOGGED {
            return Err(format!(
                "{} of `{key}`, and a range may have {MOST_LOGGED}; leave its own times out, or the oldest entries",
                counted(minutes.len())
            ));
        }
    }
    if parts.iter().any(|(key, _)| *key == "each") {
        if step.learning.is_some() {
            return Err(
                "its pieces get quicker (`learning`), and a logged time does not say at which of them it was; leave its own times out".to_owned(),
            );
        }
        if step.varies == Varies::Batch {
            return Err(
                "a batch draws one time for all its pieces here, and the logged ones are those of pieces; write `varies = \"piece\"`, or leave its \
                 own times out"
                    .to_owned(),
            );
        }
    }
    Ok(OwnTimes {
        step: step.name.clone(),
        parts,
        left_out,
    })
}

/// The key an entry times and whether it is of a single one; `None`: what is done once for a design, which no log has many of.
fn part_of(entry: &Entry, step: &Step) -> Result<Option<(&'static str, bool)>, String> {
    let what = entry.timed(step);
    let one_piece = entry.pieces == 1;
    let one_round = WorkUnits::of(step, what, entry.pieces, entry.rounds, 0).rounds == 1.0;
    Ok(Some(match what {
        What::Once => return Ok(None),
        What::Order => ("per_order", one_piece),
        What::Setup => ("setup", one_round),
        What::Each => ("each", one_piece),
        What::All if step.setup.is_zero() => ("each", one_piece),
        What::All if step.each.is_zero() => ("setup", one_round),
        What::All => {
            return Err(format!(
                "setup and pieces are timed together (line {}); time them apart, `what` being setup or each, or leave its own times out",
                entry.line
            ));
        }
    }))
}

fn counted(entries: usize) -> String {
    match entries {
        1 => "1 entry is there".to_owned(),
        n => format!("{n} entries are there"),
    }
}

/// The first lines, so that they can be looked up.
fn lines(list: &[usize]) -> String {
    const SHOWN: usize = 5;
    let shown: Vec<String> = list.iter().take(SHOWN).map(usize::to_string).collect();
    let more = if list.len() > SHOWN { " and more" } else { "" };
    let word = if list.len() == 1 { "line" } else { "lines" };
    format!("{word} {}{more}", shown.join(", "))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;

    const SCENARIO: &str = r#"
target = 30
[[step]]
name = "turn"
setup = "10 min"
each = "8 / 12 / 20 min"
room = 4
[[step]]
name = "sand"
each = "5 min"
[[step]]
name = "coat"
each = "5 min"
learning = "90 %"
[[step]]
name = "post"
per_order = "12 min"
[sale]
price = 50
"#;

    fn scenario() -> Scenario {
        crate::scenario::read("test", SCENARIO, &[]).unwrap()
    }

    fn own(lines: &str, steps: &[&str]) -> Result<Vec<OwnTimes>, Vec<String>> {
        let text = format!("step,what,pieces,rounds,minutes,redone\n{lines}");
        let log = crate::worklog::read("log", text.as_bytes()).unwrap();
        let names: Vec<String> = steps.iter().map(|s| (*s).to_owned()).collect();
        own_times(&scenario(), &log, &names)
    }

    #[test]
    fn single_times_are_kept_as_they_stand() {
        let log = "turn,setup,,,9,\nturn,each,1,,11,\nturn,setup,,1,12,\nturn,each,1,,12.5,0\nturn,each,1,,30,1\nturn,setup,,,9,\n\
                   turn,each,1,,14,\nturn,setup,,,8,\nturn,each,1,,12,\nturn,each,1,,19,\nturn,setup,,,13,\nsand,,1,,4,\nsand,,1,,5,\n\
                   sand,,1,,6,\nsand,,1,,7,\nsand,,1,,4,\npost,,1,,12,\npost,,1,,11,\npost,,1,,10,\npost,order,1,,9,\npost,,1,,8,\n";
        let found = own(log, &["turn", "sand", "post", "turn"]).unwrap();
        let turn = vec![
            ("setup", vec![9.0, 12.0, 9.0, 8.0, 13.0]),
            ("each", vec![11.0, 12.5, 14.0, 12.0, 19.0]),
        ];
        assert_eq!(found.len(), 3);
        assert_eq!((&found[0].parts, found[0].left_out), (&turn, 1));
        // No setup in the file: an entry of everything is one of the piece.
        assert_eq!(found[1].parts, [("each", vec![4.0, 5.0, 6.0, 7.0, 4.0])]);
        assert_eq!(found[2].parts, [("per_order", vec![12.0, 11.0, 10.0, 9.0, 8.0])]);
    }

    /// Each kind of refusal says what is in the way and how to go on.
    #[test]
    fn what_is_no_single_time_is_refused() {
        let single = |step: &str, n: usize| format!("{step},each,1,,5,\n").repeat(n);
        for (log, steps, due) in [
            (single("sand", 6), vec!["sant"], "did you mean `sand`"),
            (single("sand", 6), vec!["sanding"], "did you mean `sand`"),
            (
                single("sand", 4),
                vec!["sand"],
                "4 entries are there of `each`, and 5 are due",
            ),
            (
                format!("{}sand,each,3,,5,\n", single("sand", 6)),
                vec!["sand"],
                "1 entry is there of several pieces, rounds or orders (line 8)",
            ),
            (
                format!("{}turn,setup,8,2,5,\n", single("turn", 6)),
                vec!["turn"],
                "of several pieces, rounds or orders (line 8)",
            ),
            (
                format!("{}turn,all,1,,5,\n", single("turn", 6)),
                vec!["turn"],
                "some of a part",
            ),
            ("turn,all,1,,5,\n".repeat(6), vec!["turn"], "timed together (line 2)"),
            (single("coat", 6), vec!["coat"], "quicker"),
            (single("sand", 6), vec!["post"], "no entry times"),
        ] {
            let wrong = own(&log, &steps).unwrap_err();
            assert_eq!(wrong.len(), 1, "{wrong:?}");
            assert!(wrong[0].contains(due), "{wrong:?}");
        }
        // All at once.
        assert_eq!(own(&single("sand", 2), &["sand", "coat", "ash"]).unwrap_err().len(), 3);
    }
}
