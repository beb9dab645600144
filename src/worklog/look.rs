//! What is in a work log: entries, jobs, steps and totals, and what looks unintended.

use super::add::unknown_step;
use super::{Entry, Log, What, logged_at};
use crate::scenario::{Scenario, Step, quoted};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::{HashMap, HashSet};

/// An entry so many times its fellows, or so small a part of them, is doubtful (assumption: a slip by one digit makes it ten times
/// as much, less what entries differ anyway).
const FAR_OFF: f64 = 6.0;
/// Fellows an entry must have to be judged by them.
const FELLOWS: usize = 3;
/// Hands-on hours of one entry that nobody works through (assumption).
const LONG_DAY_HOURS: f64 = 16.0;

/// The whole look; its serialised form is the documented JSON of `log`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Look {
    /// The log's name as it was given.
    pub name: String,
    /// Title of the scenario whose steps it was held against, if any.
    pub scenario: Option<String>,
    /// Entries.
    pub entries: usize,
    /// Jobs that are named, in the order they first come.
    pub jobs: Vec<String>,
    /// First date there is, ISO 8601.
    pub first: Option<String>,
    /// Last date.
    pub last: Option<String>,
    /// Hands-on minutes altogether.
    pub minutes: f64,
    /// In the order of the scenario, then in the order they first come.
    pub steps: Vec<StepLook>,
    /// What looks unintended, a sentence each.
    pub doubts: Vec<String>,
    /// Program version.
    pub version: String,
}

/// One step's entries.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepLook {
    /// As the log names it.
    pub name: String,
    /// Whether the scenario has it; `None` without a scenario.
    pub known: Option<bool>,
    /// Entries.
    pub entries: usize,
    /// Pieces handled, those of `order` entries not counted.
    pub pieces: u64,
    /// Fewest and most pieces of an entry that counts them.
    pub least: Option<u32>,
    /// Most.
    pub most: Option<u32>,
    /// Orders.
    pub orders: u64,
    /// Hands-on minutes.
    pub minutes: f64,
    /// Pieces lost; `None`: no entry says.
    pub spoiled: Option<u64>,
    /// Times done again; `None`: no entry says.
    pub redone: Option<u64>,
}

impl StepLook {
    /// Hands-on hours.
    #[must_use]
    pub fn hours(&self) -> f64 {
        self.minutes / 60.0
    }

    /// Hands-on minutes over pieces; `None` where it has none, or orders as well.
    #[must_use]
    pub fn minutes_a_piece(&self) -> Option<f64> {
        (self.pieces > 0 && self.orders == 0).then(|| self.minutes / self.pieces as f64)
    }
}

/// Looks a log over, and holds its step names against a scenario where there is one.
#[must_use]
pub fn look(name: &str, log: &Log, scenario: Option<&Scenario>) -> Look {
    let mut steps: Vec<StepLook> = Vec::new();
    let mut jobs: Vec<String> = Vec::new();
    let at = scenario.map(logged_at).unwrap_or_default();
    let mut known_jobs: HashSet<&str> = HashSet::new();
    let mut places: HashMap<&str, usize> = HashMap::new();
    for entry in &log.entries {
        if !entry.job.is_empty() && known_jobs.insert(&entry.job) {
            jobs.push(entry.job.clone());
        }
        let of = at.iter().find(|step| step.name == entry.step);
        let what = of.map_or(entry.what, |step| entry.timed(step));
        let place = *places.entry(&entry.step).or_insert_with(|| {
            steps.push(StepLook {
                name: entry.step.clone(),
                known: scenario.map(|_| of.is_some()),
                entries: 0,
                pieces: 0,
                least: None,
                most: None,
                orders: 0,
                minutes: 0.0,
                spoiled: None,
                redone: None,
            });
            steps.len() - 1
        });
        let step = &mut steps[place];
        step.entries += 1;
        step.minutes += entry.minutes;
        match what {
            What::Order => step.orders += u64::from(entry.pieces),
            What::All | What::Each => {
                step.pieces += u64::from(entry.pieces);
                if !entry.goes_on() {
                    step.least = Some(step.least.map_or(entry.pieces, |n| n.min(entry.pieces)));
                    step.most = Some(step.most.map_or(entry.pieces, |n| n.max(entry.pieces)));
                }
            }
            What::Setup | What::Once => {}
        }
        for (sum, count) in [(&mut step.spoiled, entry.spoiled), (&mut step.redone, entry.redone)] {
            if let Some(count) = count {
                *sum = Some(sum.unwrap_or(0) + u64::from(count));
            }
        }
    }
    if scenario.is_some() {
        let place = |name: &str| at.iter().position(|s| s.name == name);
        steps.sort_by_key(|s| place(&s.name).unwrap_or(usize::MAX));
    }
    let dates = || log.entries.iter().filter_map(|e| e.date);
    Look {
        name: name.to_owned(),
        scenario: scenario.map(|s| s.title.clone()),
        entries: log.entries.len(),
        jobs,
        first: dates().min().map(|d| d.to_string()),
        last: dates().max().map(|d| d.to_string()),
        minutes: log.entries.iter().map(|e| e.minutes).sum(),
        doubts: doubts(log, &at, &steps),
        steps,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

/// What looks unintended: what the reader doubts, step names, entries far from their fellows.
fn doubts(log: &Log, at: &[Step], steps: &[StepLook]) -> Vec<String> {
    let mut said = log.doubts.clone();
    if !at.is_empty() {
        for step in steps.iter().filter(|s| s.known == Some(false)) {
            let entries = if step.entries == 1 {
                "1 entry"
            } else {
                &format!("{} entries", step.entries)
            };
            let lines: Vec<usize> = log
                .entries
                .iter()
                .filter(|e| e.step == step.name)
                .map(|e| e.line)
                .collect();
            said.push(format!(
                "{} ({entries}, first in line {})",
                unknown_step(&step.name, at),
                lines.first().copied().unwrap_or(0)
            ));
        }
    }
    said.extend(sittings(log));
    said.extend(appeared(log, at));
    let usual = usual(log);
    for entry in &log.entries {
        let line = entry.line;
        if entry.minutes > 60.0 * LONG_DAY_HOURS {
            said.push(format!(
                "line {line}: {} of {} in one entry; is a digit or the unit a slip of the pen?",
                hours_words(entry.minutes),
                quoted(&entry.step)
            ));
        }
        let Some((minutes, each)) = usual.get(&(entry.step.as_str(), entry.what.word())) else {
            continue;
        };
        let (many, one) = (
            entry.minutes / minutes,
            entry.minutes / f64::from(entry.pieces.max(1)) / each,
        );
        // Both: one piece with a long setup takes many times what a piece of a large batch takes.
        if many.min(one) >= FAR_OFF || many.max(one) <= 1.0 / FAR_OFF {
            let off = if many >= FAR_OFF {
                format!("{:.0} times", many.min(one))
            } else {
                format!("a {:.0}th of", 1.0 / many.max(one))
            };
            said.push(format!(
                "line {line}: {} min at {} is {off} what its fellows take; is it a slip of the pen?",
                short(entry.minutes),
                quoted(&entry.step)
            ));
        }
    }
    said
}

/// Entries that go on with nothing, and jobs that may have counted one piece twice: of one piece everywhere else, and of several entries of one piece here.
fn sittings(log: &Log) -> Vec<String> {
    let mut said: Vec<String> = log
        .whole()
        .1
        .iter()
        .map(|line| {
            format!("line {line}: it goes on with a piece, and no other entry of its job and step counts one; give its pieces as a number")
        })
        .collect();
    // Entries and pieces of each job at each step, of those that count pieces.
    let mut counted: HashMap<(&str, &str), (u32, u32, usize)> = HashMap::new();
    let mut largest: HashMap<&str, u32> = HashMap::new();
    let mut steps: HashMap<&str, Vec<&str>> = HashMap::new();
    let mut order = Vec::new();
    for entry in log
        .entries
        .iter()
        .filter(|e| !e.job.is_empty() && matches!(e.what, What::All | What::Each) && e.pieces > 0)
    {
        let key = (entry.job.as_str(), entry.step.as_str());
        let sums = counted.entry(key).or_insert_with(|| {
            order.push(key);
            steps.entry(key.0).or_default().push(key.1);
            (0, 0, entry.line)
        });
        *sums = (sums.0 + 1, sums.1.saturating_add(entry.pieces), entry.line);
        let most = largest.entry(&entry.job).or_insert(0);
        *most = (*most).max(entry.pieces);
    }
    for key in order {
        let (entries, pieces, line) = counted[&key];
        if entries > 1 && largest.get(key.0) == Some(&1) && steps[key.0].len() > 1 && pieces == entries {
            said.push(format!(
                "line {line}: job {} has {pieces} pieces at {} in {entries} entries, and 1 elsewhere; if it is one piece worked on several times, write \
                 `part` for the pieces of all but the first",
                quoted(key.0),
                quoted(key.1)
            ));
        }
    }
    said
}

/// Jobs with such a doubt that are told one by one, at most.
const TOLD: usize = 5;

/// What a job's entries count at one step.
struct Counted<'a> {
    step: &'a str,
    /// Pieces handled; those of a later entry that only did pieces again are not counted.
    pieces: u64,
    /// Those less what was spoiled there.
    through: u64,
    /// Whether an entry timed pieces alone: it may have timed some of them only.
    may_be_some: bool,
    /// Most pieces of one entry.
    most: u32,
    date: Option<Date>,
    /// Line of the last entry.
    line: usize,
}

/// Jobs in which a step has more pieces than an earlier one: pieces cannot appear.
///
/// Earlier is what comes first in the scenario; without one, what comes first in the log, where no date says otherwise. Pieces may have been
/// carried: what earlier jobs brought through a step and did not take on can come from there. A job of single pieces in several entries is
/// asked about by [`sittings`].
fn appeared(log: &Log, at: &[Step]) -> Vec<String> {
    // Of the jobs before.
    let (mut brought, mut taken): (HashMap<&str, u64>, HashMap<&str, u64>) = (HashMap::new(), HashMap::new());
    let mut said = Vec::new();
    for (job, steps) in counted(log, at) {
        let came = |from: &Counted<'_>, to: &Counted<'_>| {
            let before = brought.get(from.step).copied().unwrap_or(0);
            from.pieces + before.saturating_sub(taken.get(to.step).copied().unwrap_or(0))
        };
        let singles = steps.iter().all(|step| step.most == 1);
        let earlier = |k: usize| {
            let late = |from: &Counted<'_>| at.is_empty() && from.date.zip(steps[k].date).is_some_and(|(a, b)| a > b);
            let before = steps[..k].iter().filter(move |from| !from.may_be_some && !late(from));
            before.min_by_key(|from| came(from, &steps[k]))
        };
        let pairs = steps.iter().enumerate().filter(|_| !singles);
        let mut short = pairs.filter_map(|(k, to)| earlier(k).map(|from| (from, to, came(from, to))));
        if let Some((from, to, came)) = short.find(|(_, to, came)| to.pieces > *came) {
            said.push(format!(
                "line {}: job {} has {} pieces at {}, and no more than {came} can have come from {}; is a count a slip, is an entry missing, or \
                 were some done again (`redone`)?",
                to.line,
                quoted(job),
                to.pieces,
                quoted(to.step),
                quoted(from.step)
            ));
        }
        for step in steps {
            *brought.entry(step.step).or_default() += step.through;
            *taken.entry(step.step).or_default() += step.pieces;
        }
    }
    let more = said.len().saturating_sub(TOLD);
    said.truncate(TOLD);
    match more {
        0 => {}
        1 => said.push("one more job has more pieces at a step than can have come to it".to_owned()),
        _ => said.push(format!(
            "{more} more jobs have more pieces at a step than can have come to it"
        )),
    }
    said
}

/// The named jobs in the order they were begun, each with what its entries count at each step, the earlier step first.
fn counted<'a>(log: &'a Log, at: &[Step]) -> Vec<(&'a str, Vec<Counted<'a>>)> {
    let place = |name: &str| at.iter().position(|step| step.name == name);
    let mut jobs: Vec<(&str, Vec<Counted<'_>>)> = Vec::new();
    let mut places: HashMap<&str, usize> = HashMap::new();
    let counts = |entry: &&Entry| {
        let of = place(&entry.step).map(|k| &at[k]);
        let what = of.map_or(entry.what, |step| entry.timed(step));
        let known = at.is_empty() || of.is_some();
        known && !entry.job.is_empty() && entry.pieces > 0 && matches!(what, What::All | What::Each)
    };
    let mut entries: Vec<&Entry> = log.entries.iter().filter(counts).collect();
    // Where every entry has its day, the newest may stand first in the log, those of one day too.
    if let Some(dates) = entries.iter().map(|entry| entry.date).collect::<Option<Vec<Date>>>() {
        if dates.first() > dates.last() {
            entries.reverse();
        }
        entries.sort_by_key(|entry| entry.date);
    }
    for entry in entries {
        let job = *places.entry(&entry.job).or_insert_with(|| {
            jobs.push((&entry.job, Vec::new()));
            jobs.len() - 1
        });
        let steps = &mut jobs[job].1;
        let Some(step) = steps.iter_mut().find(|step| step.step == entry.step) else {
            steps.push(Counted {
                step: &entry.step,
                pieces: entry.pieces.into(),
                through: entry.pieces.saturating_sub(entry.spoiled.unwrap_or(0)).into(),
                may_be_some: entry.what == What::Each,
                most: entry.pieces,
                date: entry.date,
                line: entry.line,
            });
            continue;
        };
        let spoiled = u64::from(entry.spoiled.unwrap_or(0));
        let new = if entry.redone.unwrap_or(0) < entry.pieces {
            entry.pieces
        } else {
            0
        };
        step.pieces += u64::from(new);
        step.through = (step.through + u64::from(new)).saturating_sub(spoiled);
        step.may_be_some |= entry.what == What::Each;
        step.most = step.most.max(entry.pieces);
        step.line = entry.line;
    }
    for (_, steps) in &mut jobs {
        steps.sort_by_key(|step| place(step.step));
    }
    jobs
}

/// A step's name, and what of it was timed.
type Kind<'a> = (&'a str, &'static str);

/// Median minutes of an entry, and of a piece, for each step and kind that has enough entries to judge one by the others.
fn usual(log: &Log) -> HashMap<Kind<'_>, (f64, f64)> {
    let mut kinds: HashMap<Kind<'_>, (Vec<f64>, Vec<f64>)> = HashMap::new();
    for entry in &log.entries {
        let (minutes, each) = kinds.entry((&entry.step, entry.what.word())).or_default();
        minutes.push(entry.minutes);
        each.push(entry.minutes / f64::from(entry.pieces.max(1)));
    }
    kinds
        .into_iter()
        .filter(|(_, (minutes, _))| minutes.len() > FELLOWS)
        .map(|(kind, (mut minutes, mut each))| (kind, (median(&mut minutes), median(&mut each))))
        .collect()
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    0.5 * (values[(n - 1) / 2] + values[n / 2])
}

fn short(value: f64) -> String {
    ((value * 10.0).round() / 10.0).to_string()
}

fn hours_words(minutes: f64) -> String {
    format!("{} h", short(minutes / 60.0))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;
    use crate::worklog::read;

    fn doubts_of(lines: &str) -> Vec<String> {
        let log = format!("date,job,step,what,pieces,minutes,spoiled,redone\n{lines}");
        look("log", &read("log", log.as_bytes()).unwrap(), None).doubts
    }

    /// A log whose newest line stands first tells the same as one in the order of its days.
    #[test]
    fn the_newest_entry_may_stand_first() {
        let mut lines = [
            "2026-03-02,A,mill,all,6,60,1,",
            "2026-03-02,A,drill,all,5,60,,",
            "2026-03-09,B,mill,all,4,60,,",
            "2026-03-10,B,drill,all,4,60,,",
        ];
        assert_eq!(doubts_of(&lines.join("\n")), Vec::<String>::new());
        lines.reverse();
        assert_eq!(doubts_of(&lines.join("\n")), Vec::<String>::new());
        let slip = lines[0].replace(",4,60", ",9,60");
        lines[0] = &slip;
        assert!(doubts_of(&lines.join("\n"))[0].contains("line 2: job `B` has 9 pieces"));
    }

    /// Fourteen pieces are typed for four, or four for fourteen; of such slips the first of a job is told.
    #[test]
    fn pieces_cannot_appear() {
        let slip = |line, many, few| {
            vec![format!(
                "line {line}: job `A` has {many} pieces at `drill`, and no more than {few} can have come from `mill`; is a count a slip, is an \
                 entry missing, or were some done again (`redone`)?"
            )]
        };
        assert_eq!(
            doubts_of(",A,mill,,4,40,,\n,A,drill,,14,30,,\n,A,sand,,4,30,,\n"),
            slip(3, 14, 4)
        );
        assert_eq!(
            doubts_of(",A,mill,,4,40,,\n,A,drill,,14,30,,\n,A,sand,,14,30,,\n"),
            slip(3, 14, 4)
        );
        // In two sittings, five of four.
        assert_eq!(
            doubts_of(",A,mill,,4,40,,\n,A,drill,,4,30,,\n,A,drill,,1,8,,\n"),
            slip(4, 5, 4)
        );
        // One was carried from the job before, and not two.
        let before = ",Z,mill,,6,60,,\n,Z,drill,,6,60,1,\n,Z,sand,,4,60,,\n";
        let sanded = |many| doubts_of(&format!("{before},A,drill,,4,30,,\n,A,sand,,{many},30,,\n"));
        assert!(sanded(5).is_empty());
        assert_eq!(sanded(6).len(), 1);
        let many: String = (0..7)
            .map(|k| format!(",{k},mill,,4,40,,\n,{k},drill,,5,40,,\n"))
            .collect();
        let told = doubts_of(&many);
        assert_eq!(
            (told.len(), told[5].starts_with("2 more jobs have more pieces")),
            (6, true),
            "{told:?}"
        );
    }

    #[test]
    fn pieces_that_came_by_another_way_are_not_doubted() {
        for (lines, why) in [
            (
                ",A,mill,,4,40,,\n,A,drill,,4,30,,\n,A,drill,,1,8,,1\n",
                "done again, as `redone` says",
            ),
            (
                ",A,mill,,4,40,,\n,A,drill,,4,30,,\n,A,mill,,5,40,,\n,A,drill,,5,30,,\n",
                "in two turns",
            ),
            (
                ",A,mill,,4,40,,\n,A,drill,,4,30,1,\n,A,mill,,1,15,,\n,A,drill,,1,9,,\n",
                "a spoiled one made again",
            ),
            (
                ",A,carve,,2,400,,\n,A,carve,,part,300,,\n,A,oil,,2,30,,\n",
                "several sittings",
            ),
            (
                ",A,mill,each,3,40,,\n,A,drill,,9,80,,\n",
                "three of nine timed by themselves",
            ),
            (",A,mill,setup,1,20,,\n,A,drill,,9,80,,\n", "no pieces at all"),
            (
                "2027-02-02,A,drill,,4,40,,\n2027-02-01,A,mill,,9,90,,\n",
                "written down later",
            ),
            (",A,mill,,4,40,,\n,B,drill,,9,90,,\n", "another job"),
            (",,mill,,4,40,,\n,,drill,,9,90,,\n", "no job"),
        ] {
            assert!(doubts_of(lines).is_empty(), "{why}: {:?}", doubts_of(lines));
        }
    }

    /// 2400 is forty hours with a digit too many, and 40 h are minutes by another name: what is asked is right for both.
    #[test]
    fn more_than_a_day_in_one_entry_is_asked_about_whatever_its_unit() {
        let said = "line 2: 40 h of `glue` in one entry; is a digit or the unit a slip of the pen?";
        for time in ["2400", "40 h", "2400 min"] {
            assert_eq!(doubts_of(&format!(",A,glue,,8,{time},,\n")), [said], "{time}");
        }
        assert!(doubts_of(",A,glue,,8,16 h,,\n").is_empty());
    }

    /// Four entries of ten pieces take 5 min each. A slip makes one of them ten times as much or a tenth; a hundred pieces and a single
    /// one take what they take.
    #[test]
    fn a_slip_is_far_from_its_fellows_by_the_entry_and_by_the_piece() {
        let doubts = |more: &str| {
            let log = format!("step,pieces,minutes\n{}{more}", "glue,10,50\n".repeat(4));
            look("log", &read("log", log.as_bytes()).unwrap(), None).doubts
        };
        let slip = |minutes, off| {
            vec![format!(
                "line 6: {minutes} min at `glue` is {off} what its fellows take; is it a slip of the pen?"
            )]
        };
        assert_eq!(doubts("glue,10,500\n"), slip(500, "10 times"));
        assert_eq!(doubts("glue,10,5\n"), slip(5, "a 10th of"));
        assert!(doubts("glue,100,500\nglue,1,5\n").is_empty());
    }
}
