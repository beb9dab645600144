//! Estimates from a work log in words, tables, JSON and CSV.

mod plot;
mod table;

use super::columns::Declared;
use super::format::{chances_beside, count, hours, minutes, plain_interval, ratio, share, share_in_words};
use super::page::Page;
use super::plot::Plot;
use super::words::{capital, is_or_are, joined, number_of, pieces};
use super::{Render, text};
use crate::stats::estimate::Estimate;
use crate::worklog::fit::{Apart, Chance, ENOUGH, Fit, From, How, Next, Part, Says, StepFit, Sum, Unknown};
use table::{rows, table};

/// Steps and slips that are told one by one, at most.
const TOLD: usize = 3;
/// Letters of a step's name within a sentence.
const NAME: usize = 30;
/// Within this share of what was expected it is as expected (assumption).
const AS_EXPECTED: f64 = 0.05;
/// A step that took so many times what was expected, or so small a part of it, may be of another piece (assumption).
const FAR: f64 = 2.0;
/// So many jobs tell whether days differ, well enough for the bands of new batches (`tests/MEASURED.md`).
const TELL_PACE: usize = 20;
/// Entries are advised where they bring the error down to this share of it, or further.
const TEACHES: f64 = 0.8;

impl Render for Fit {
    fn page(&self, look: &text::Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self, look),
            why: why(self),
            tables: self.grids(look),
            more: more(self, look),
            small: small_print(self),
            care: "A fair figure is what the work takes with guards on and glue given its time, not the fastest it was ever done."
                .to_owned(),
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(table(self, rows(self, true))))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        let rows = rows(self, false);
        if rows.is_empty() {
            Vec::new()
        } else {
            vec![Box::new(table(self, rows))]
        }
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// "15 % more than", "about what".
fn against(actual: f64, expected: f64) -> String {
    let off = actual / expected - 1.0;
    if off.abs() < AS_EXPECTED {
        "about what".to_owned()
    } else if off > 0.0 {
        format!("{} more than", share_in_words(off))
    } else {
        format!("{} less than", share_in_words(-off))
    }
}

/// One sentence for a chart.
pub(crate) fn headline(fit: &Fit) -> String {
    if fit.entries == 0 || fit.expected <= 0.0 {
        return "The log has no entries at these steps".to_owned();
    }
    format!(
        "The work took {} the file expects: {}, expected {}",
        against(fit.minutes, fit.expected),
        hours(fit.minutes / 60.0),
        hours(fit.expected / 60.0)
    )
}

/// Something that the log contradicts, and how many minutes of the log hang on it.
enum Off<'a> {
    Part(&'a StepFit, &'a Part),
    Sum(&'a StepFit, &'a Sum),
}

impl Off<'_> {
    fn weight(&self) -> f64 {
        let (per, found, expected, step) = match self {
            Self::Part(step, part) => (part.entries as f64, part.found.value, part.expected, step),
            Self::Sum(step, sum) => (step.jobs as f64, sum.minutes.value, sum.expected, step),
        };
        // A time a piece counts for all the pieces there were.
        let times = match self {
            Self::Part(_, part) if matches!(part.key, "each" | "per_order") => {
                step.points.iter().map(|p| f64::from(p.pieces)).sum::<f64>().max(per)
            }
            _ => per,
        };
        (found - expected).abs() * times
    }
}

/// All that the log contradicts, the weightiest first: parts, and sums of which it cannot say which part it is.
fn off(fit: &Fit) -> Vec<Off<'_>> {
    let mut list = Vec::new();
    for step in &fit.steps {
        let before = list.len();
        let parts = step.parts.iter().filter(|p| differs(p) && p.from != From::Ratio);
        list.extend(parts.map(|p| Off::Part(step, p)));
        let of_work = list[before..]
            .iter()
            .any(|o| matches!(o, Off::Part(_, p) if matches!(p.key, "setup" | "each")));
        if let Some(sum) = only_sum(step).filter(|_| !of_work) {
            list.push(Off::Sum(step, sum));
        }
    }
    list.sort_by(|a, b| b.weight().total_cmp(&a.weight()));
    list
}

/// The sum of a step that is off, where neither of its parts is known to be.
fn only_sum(step: &StepFit) -> Option<&Sum> {
    let sum = step.work.as_ref()?.sum.as_ref()?;
    let part = |key: &str| step.parts.iter().any(|p| p.key == key && p.says == Says::Differs);
    (sum.differs && !part("setup") && !part("each")).then_some(sum)
}

/// Steps that are scaled, as the file's own ranges do not allow what few entries took.
fn scaled(fit: &Fit) -> Vec<&StepFit> {
    let is_scaled = |s: &&StepFit| s.parts.iter().any(|p| p.from == From::Ratio && p.was.mean > 0.0);
    fit.steps.iter().filter(is_scaled).collect()
}

/// Times that the file does not have and few entries of the log do, each with its step.
fn lacking(fit: &Fit) -> impl Iterator<Item = (&StepFit, &Part)> {
    let parts = fit.steps.iter().flat_map(|s| s.parts.iter().map(move |p| (s, p)));
    parts.filter(|(_, p)| p.from == From::Ratio && p.was.mean <= 0.0)
}

/// Jobs there are, named or not.
fn jobs_of(fit: &Fit) -> usize {
    fit.steps.iter().map(|s| s.jobs).max().unwrap_or(0)
}

fn short_name(step: &StepFit) -> String {
    text::cut(&text::printable(&step.name), NAME)
}

/// Behind what writes.
const PUTS_IN: &str = "puts in all that the table has under \"minutes to write\".";

/// What to do first: at most three sentences.
fn opening(fit: &Fit, look: &text::Look) -> Vec<String> {
    if fit.entries == 0 {
        return vec![
            format!("Log {ENOUGH} jobs at the steps of this scenario: so far the log has no entry at them."),
            "Nothing can be learned from it yet.".to_owned(),
        ];
    }
    let mut said = Vec::new();
    if let Some(check) = foreign(fit) {
        said.push(check);
        said.extend(in_all(fit));
        return said;
    }
    let off = off(fit);
    let enough = fit.steps.iter().flat_map(|s| &s.parts).any(|p| p.from == From::Log);
    let jobs = jobs_of(fit);
    match off.first() {
        Some(Off::Part(step, part)) => {
            said.push(format!(
                "Write {} into the file for {}, where it has {}.",
                amount(part.key, part.new.mean),
                short_name(step),
                bare(part.key, part.was.mean)
            ));
            let more = off.len() - 1;
            said.push(match more {
                0 => format!("{} {PUTS_IN}", capital(look.writes)),
                1 => format!("One more time is off; {} {PUTS_IN}", look.writes),
                n => format!("{} more times are off; {} {PUTS_IN}", capital(&spelled(n)), look.writes),
            });
        }
        Some(Off::Sum(step, sum)) => {
            let by = sum.minutes.value - sum.expected;
            said.push(format!(
                "Plan {} min {} for {} at {}: the sum of setup and pieces is off.",
                minutes(by.abs()),
                if by > 0.0 { "more" } else { "less" },
                pieces(sum.pieces.into()),
                short_name(step)
            ));
            said.push("These entries cannot say whether it is setup or pieces: time three setups alone.".to_owned());
        }
        None => said.extend(as_expected(fit, jobs, enough, look)),
    }
    let to_look_at = much_left_out(fit).or_else(|| look_at(&fit.set_apart));
    said.extend(to_look_at.or_else(|| in_all(fit)));
    said
}

/// What to do where the log contradicts no time of the file.
fn as_expected(fit: &Fit, jobs: usize, enough: bool, look: &text::Look) -> Vec<String> {
    if let Some(step) = far_off(fit).filter(|_| scaled(fit).is_empty()) {
        return open(step);
    }
    if let Some((step, part)) = lacking(fit).next().filter(|(step, _)| step.expected <= 0.0) {
        vec![
            format!(
                "Write {} into the file for {}, where it has none.",
                amount(part.key, part.new.mean),
                short_name(step)
            ),
            format!("{} {PUTS_IN}", capital(look.writes)),
        ]
    } else if let Some(step) = scaled(fit)
        .iter()
        .find(|s| (s.minutes / s.expected - 1.0).abs() >= 0.005)
    {
        let more = step.minutes > step.expected;
        vec![
            format!(
                "Plan {} {} time for {}, which took {} and not {}.",
                share_in_words((step.minutes / step.expected - 1.0).abs()),
                if more { "more" } else { "less" },
                short_name(step),
                hours(step.minutes / 60.0),
                hours(step.expected / 60.0)
            ),
            format!("Once {ENOUGH} jobs are logged, they can tell which of its times is off."),
        ]
    } else if enough {
        let ranges = if fit.settled {
            "Its ranges are those of the log already: nothing is to be written.".to_owned()
        } else {
            format!("{} puts in how far the log lets them vary.", capital(look.writes))
        };
        let jobs = number_of(jobs as u64, "job", "jobs");
        let keep = format!("Keep the average times of the file: {jobs} in the log do not contradict them.");
        vec![keep, ranges]
    } else {
        let more = ENOUGH.saturating_sub(jobs).max(1) as u64;
        let why = if fit.expected <= 0.0 && !fit.set_apart.is_empty() {
            "what the log has is left out"
        } else {
            "the few in the log do not contradict the file"
        };
        let more = number_of(more, "more job", "more jobs");
        vec![format!("Log {more} before you change a time: {why}.")]
    }
}

/// Of the steps that are far off, and move the whole, the one with most minutes between.
fn far_off(fit: &Fit) -> Option<&StepFit> {
    let off = |step: &StepFit| (step.minutes - step.expected).abs();
    let far = fit
        .steps
        .iter()
        .filter(|s| is_far(s) && off(s) > AS_EXPECTED * fit.expected);
    far.max_by(|a, b| off(a).total_cmp(&off(b)))
}

fn is_far(step: &StepFit) -> bool {
    step.minutes > 0.0 && step.expected > 0.0 && !(1.0 / FAR..=FAR).contains(&(step.minutes / step.expected))
}

/// What to do at a step that is far off, though its entries leave open whether it is as the file has it.
fn open(step: &StepFit) -> Vec<String> {
    let more = match ENOUGH.saturating_sub(step.jobs.max(1)) {
        0 => "more jobs".to_owned(),
        n => number_of(n as u64, "more job", "more jobs"),
    };
    let sum = step.work.as_ref().and_then(|work| work.sum);
    let known = match (sum, step.parts.iter().find(|part| part.key != "once")) {
        (Some(sum), _) => {
            let of = format!("for {}", pieces(sum.pieces.into()));
            Some((sum.minutes, sum.expected, of))
        }
        (None, part) => part.map(|part| (part.found, part.expected, unit_words(part.key).to_owned())),
    };
    vec![
        format!(
            "Log {more} at {} before you change its times: so few leave them open.",
            short_name(step)
        ),
        match known.and_then(|(found, expected, of)| Some((found.low?.max(0.0), found.high?, expected, of))) {
            Some((low, high, expected, of)) => format!(
                "They say {} min {of} (95 %), and the file expects {}.",
                plain_interval(&minutes(low), &minutes(high)),
                minutes(expected)
            ),
            None => {
                let [took, expects] = [step.minutes, step.expected].map(|minutes| hours(minutes / 60.0));
                format!("Work there took {took}, and the file expects {expects}.")
            }
        },
    ]
}

/// A log so much of which is left out says less than it seems to (assumption).
const MUCH_LEFT_OUT: f64 = 0.1;

fn much_left_out(fit: &Fit) -> Option<String> {
    let (out, all) = (elsewhere(fit), elsewhere(fit) + fit.entries);
    (out as f64 >= MUCH_LEFT_OUT * all as f64).then(|| {
        let [out, all] = [out, all].map(|n| count(n as u64));
        let are = is_or_are(&out);
        format!("{out} of the {all} entries {are} left out, as the file has no such step.")
    })
}

/// Entries at steps that the file does not have.
fn elsewhere(fit: &Fit) -> usize {
    fit.unknown.iter().map(|unknown| unknown.entries).sum()
}

/// Which entries are left out for the name of their step, and what may be meant.
fn left_out(unknown: &Unknown) -> String {
    let are = number_of(unknown.entries as u64, "entry is", "entries are");
    let name = text::printable(&unknown.name);
    let near = unknown.nearest.as_ref().map_or_else(String::new, |near| {
        let near = text::printable(near);
        format!(" If '{near}' is meant, write it so in the log, or in the file as the log has it.")
    });
    format!("The file has no step '{name}', so {are} left out.{near}")
}

/// Which entries to look at first.
fn look_at(apart: &[Apart]) -> Option<String> {
    let first = apart.first().filter(|apart| apart.line > 0)?;
    let (others, are) = match apart.len() - 1 {
        0 => (String::new(), "it is"),
        1 => (" and one other entry".to_owned(), "they are"),
        n => (format!(" and {} other entries", spelled(n)), "they are"),
    };
    Some(format!(
        "Look at line {} of the log{others}: {are} so far off that {are} left out.",
        first.line
    ))
}

fn in_all(fit: &Fit) -> Option<String> {
    (fit.expected > 0.0).then(|| {
        format!(
            "In all the work took {}, {} the file expects ({}).",
            hours(fit.minutes / 60.0),
            against(fit.minutes, fit.expected),
            hours(fit.expected / 60.0)
        )
    })
}

/// What speaks for a log of another piece: most entries at steps that the file does not have, or most steps far off.
pub(crate) fn foreign(fit: &Fit) -> Option<String> {
    let elsewhere = elsewhere(fit);
    if elsewhere > fit.entries {
        return Some(format!(
            "Check that the log is of this piece: {} of its {} entries are at steps that the file does not have.",
            count(elsewhere as u64),
            count((elsewhere + fit.entries) as u64)
        ));
    }
    let timed = fit.steps.iter().filter(|s| s.minutes > 0.0 && s.expected > 0.0).count();
    let far = fit.steps.iter().filter(|s| is_far(s)).count();
    (timed > 1 && 3 * far >= 2 * timed).then(|| {
        format!(
            "Check that the log is of this piece: {} of {} steps took more than twice, or less than half, of what the file expects.",
            count(far as u64),
            count(timed as u64)
        )
    })
}

fn spelled(n: usize) -> String {
    const WORDS: [&str; 11] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    ];
    WORDS.get(n).map_or_else(|| count(n as u64), |w| (*w).to_owned())
}

/// "15 min an order", "21 min of setup".
fn amount(key: &str, value: f64) -> String {
    format!("{} {}", bare(key, value), unit_words(key))
}

fn bare(key: &str, value: f64) -> String {
    if key == "once" && value >= 120.0 {
        return hours(value / 60.0);
    }
    format!("{} min", minutes(value))
}

/// Why: slips, the steps that differ most, what is only known together, losses, jobs.
fn why(fit: &Fit) -> Vec<String> {
    let mut said: Vec<String> = fit.unknown.iter().take(TOLD).map(left_out).collect();
    said.extend(fit.set_apart.iter().take(TOLD).map(slip));
    let more = fit.set_apart.len().saturating_sub(TOLD);
    if more > 0 {
        said.push(format!(
            "{} set apart for the same reason; the last paragraphs name {}.",
            capital(&if more == 1 {
                "one more entry is".to_owned()
            } else {
                format!("{} more entries are", spelled(more))
            }),
            if more == 1 { "it" } else { "them" }
        ));
    }
    let mut told_steps: Vec<&str> = Vec::new();
    for found in off(fit) {
        let (step, text) = match &found {
            Off::Part(step, _) => (step, told(step)),
            Off::Sum(step, sum) => (step, told_sum(step, sum)),
        };
        if told_steps.len() < TOLD && !told_steps.contains(&step.name.as_str()) {
            told_steps.push(&step.name);
            said.push(text);
        }
    }
    for step in scaled(fit).into_iter().take(TOLD) {
        said.push(format!(
            "{} has fewer than {ENOUGH} jobs, so its {}.",
            step_name(step),
            match step.parts.iter().filter(|p| p.from == From::Ratio).count() {
                1 => "range is scaled to fit its entries",
                _ => "ranges are all scaled by one factor to fit its entries",
            }
        ));
    }
    said.extend(lacking(fit).take(TOLD).map(|(step, part)| {
        format!(
            "{}: {} is not in the file, and {} of the log {} {}.",
            step_name(step),
            part_words(part.key),
            number_of(part.entries as u64, "entry", "entries"),
            if part.entries == 1 { "says" } else { "say" },
            bare(part.key, part.found.value)
        )
    }));
    for step in &fit.steps {
        let name = step_name(step);
        if let Some(c) = step.spoil.filter(|c| c.contradicts) {
            let [found, ends, named] = beside(&c);
            said.push(format!(
                "{name}: {} of {} pieces {} spoiled, {found} (95 %: {ends}), not {named}.",
                count(c.times),
                count(c.of),
                if c.times == 1 { "was" } else { "were" },
            ));
        }
        if let Some(c) = step.redo.filter(|c| c.contradicts) {
            let [found, ends, named] = beside(&c);
            let times = match c.times {
                1 => "once".to_owned(),
                n => format!("{} times", count(n)),
            };
            let of = count(c.of);
            said.push(format!(
                "{name}: the work was done again {times} in {of}, {found} (95 %: {ends}), not {named}."
            ));
        }
    }
    said.extend(jobs(fit));
    said
}

/// "Line 7 of the log says 660 min at glue pegs, where 66 would be expected: it is left out of all times."
fn slip(apart: &Apart) -> String {
    let place = if apart.line > 0 {
        format!("Line {} of the log", apart.line)
    } else {
        "The entry".to_owned()
    };
    format!(
        "{place} says {} min at {}, where {} would be expected: it is left out of all times. Mend it there if it is a slip of the pen.",
        minutes(apart.minutes),
        text::cut(&text::printable(&apart.step), NAME),
        minutes(apart.expected)
    )
}

/// A chance by counting, its interval and the file's.
fn beside(c: &Chance) -> [String; 3] {
    chances_beside(c.share.share, (c.share.low, c.share.high), c.was)
}

fn step_name(step: &StepFit) -> String {
    capital(&text::printable(&step.name))
}

/// Whether the log is sure enough that a part is not what the file expects.
fn differs(part: &Part) -> bool {
    part.says == Says::Differs
}

fn ends(found: &Estimate) -> String {
    match (found.low, found.high) {
        (Some(low), Some(high)) => format!(" (95 %: {})", plain_interval(&minutes(low), &minutes(high))),
        _ => String::new(),
    }
}

/// "Glue pegs took 4.9 min a piece (95 %: 4.6 to 5.2), not 4.1; setup as expected."
fn told(step: &StepFit) -> String {
    let mut unlike = Vec::new();
    let mut rest = String::new();
    for part in step.parts.iter().filter(|p| p.from != From::Ratio) {
        if differs(part) {
            let (found, not) = (amount(part.key, part.found.value), minutes(part.expected));
            unlike.push(format!("{found}{}, not {not}", ends(&part.found)));
        } else if part.says == Says::AsExpected && part.found.low.is_some() {
            rest.push_str(&format!(
                "; the file's {} may be right{}",
                amount(part.key, part.expected),
                ends(&part.found)
            ));
        } else if part.says == Says::CannotTell {
            rest.push_str(&format!(
                "; the log leaves {} open{}",
                part_words(part.key),
                ends(&part.found)
            ));
        }
    }
    format!("{} took {}{rest}.", step_name(step), unlike.join(", and "))
}

/// "Glue pegs took 62 min for 9 pieces (95 %: 55 to 69), not 48; setup and the time a piece may each be right."
fn told_sum(step: &StepFit, sum: &Sum) -> String {
    format!(
        "{} took {} min for {}{}, and the file expects {}. Either its setup or its time a piece may be right, but not both.",
        step_name(step),
        minutes(sum.minutes.value),
        pieces(sum.pieces.into()),
        ends(&sum.minutes),
        minutes(sum.expected)
    )
}

fn unit_words(key: &str) -> &'static str {
    match key {
        "setup" => "of setup",
        "each" => "a piece",
        "per_order" => "an order",
        _ => "once",
    }
}

fn part_words(key: &str) -> &'static str {
    match key {
        "setup" => "setup",
        "each" => "the time a piece",
        "per_order" => "the time an order",
        _ => "what is done once",
    }
}

fn jobs(fit: &Fit) -> Option<String> {
    let pace = &fit.pace;
    let found = pace.ratio?;
    let n = pace.jobs.len();
    let name = if n == 1 {
        "The one job that is named".to_owned()
    } else {
        format!("The {} jobs", count(n as u64))
    };
    let ends = match (pace.tenths, found.low, found.high) {
        (Some(t), ..) if n >= ENOUGH => {
            format!(
                ", eight in ten of them {} times",
                plain_interval(&ratio(t[0]), &ratio(t[2]))
            )
        }
        (_, Some(low), Some(high)) => {
            format!(" (95 %: {})", plain_interval(&ratio(low.max(0.0)), &ratio(high)))
        }
        _ => String::new(),
    };
    Some(format!(
        "{name} took {} times what the steps say{ends}; with its average pace the file expects {} times.",
        ratio(found.value),
        ratio(pace.was.mean)
    ))
}

/// What would teach most, what is missing, and what was left out.
fn more(fit: &Fit, look: &text::Look) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(next) = fit.next.as_ref().filter(|n| n.then < TEACHES * n.now) {
        said.push(advice(next));
    }
    let one = |s: &StepFit| s.parts.iter().any(|p| p.says == Says::OneJob);
    let only_one = names(fit, one);
    said.extend(
        only_one.map(|n| format!("Only one job at {n}: one job may have been anything, so nothing is changed there.")),
    );
    // Where all entries are set apart, that says enough.
    let few = |s: &StepFit| !one(s) && s.expected > 0.0 && s.parts.iter().any(|p| p.from == From::File);
    said.extend(names(fit, |s| few(s) && !is_far(s)).map(|n| {
        format!("Nothing is changed at {n}: fewer than {ENOUGH} jobs are logged there, and they are no further off than the file's own ranges and pace allow.")
    }));
    said.extend(names(fit, |s| few(s) && is_far(s)).map(|n| {
        format!("Nothing is changed at {n}: fewer than {ENOUGH} jobs are logged there, and these may be that far off by chance.")
    }));
    let (pace, jobs) = (&fit.pace, jobs_of(fit));
    if pace.was.p10 == pace.was.p90 && pace.new.is_none() && (ENOUGH..TELL_PACE).contains(&jobs) {
        said.push(format!(
            "The file has no good and bad days (`[pace]`), and {} jobs can hardly tell whether there are any. If you know that your days differ, say so \
             in the file before the new ranges are put in: they are too narrow for that.",
            count(jobs as u64)
        ));
    }
    said.extend(names(fit, |s| s.varies == Some("batch")).map(|n| {
        format!(
            "The time a piece is not well known yet at {n}: {} makes it one draw for the whole batch (`varies = \"batch\"`), as the average itself \
             may be off.",
            look.writes
        )
    }));
    said.extend(names(fit, |s| s.varies == Some("piece")).map(|n| {
        format!(
            "The time a piece is known well enough at {n}: {} lets each piece vary by itself (`varies = \"piece\"`).",
            look.writes
        )
    }));
    let shares: Vec<String> = fit
        .steps
        .iter()
        .filter_map(|s| s.opposite.filter(|o| *o > 0.0))
        .map(share)
        .collect();
    said.extend(names(fit, |s| s.opposite.is_some_and(|o| o > 0.0)).map(|n| {
        format!(
            "At {n} the log tells setup and pieces together better than each: {} lets a long setup go with quick pieces in {} of the batches \
             (`opposite`).",
            look.writes,
            joined(&shares).unwrap_or_default()
        )
    }));
    said.extend(names(fit, |s| s.opposite == Some(0.0)).map(|n| {
        format!(
            "At {n} the log tells setup and pieces together no better than each: {} lets them vary by themselves (`opposite = \"0 %\"`).",
            look.writes
        )
    }));
    said.extend(names(fit, |s| s.parts.is_empty()).map(|n| format!("The log has no entries at {n}.")));
    if fit.set_apart.len() > TOLD {
        let lines = fit.set_apart.iter().skip(TOLD).take(20);
        let lines: Vec<String> = lines.map(|a| a.line.to_string()).collect();
        let rest = fit.set_apart.len().saturating_sub(TOLD + 20);
        let rest = if rest > 0 {
            format!(" and {} more", count(rest as u64))
        } else {
            String::new()
        };
        let lines = in_lines(&lines);
        said.push(format!(
            "Also set apart as far off what would be expected: {lines}{rest}."
        ));
    }
    if !fit.parts_alone.is_empty() {
        let lines: Vec<String> = fit.parts_alone.iter().take(20).map(usize::to_string).collect();
        said.push(format!(
            "Left out, as they go on with a piece that no other entry of their job and step counts: {}.",
            in_lines(&lines)
        ));
    }
    said
}

/// "line 7", "lines 7, 9".
fn in_lines(numbers: &[String]) -> String {
    let word = if numbers.len() == 1 { "line" } else { "lines" };
    format!("{word} {}", numbers.join(", "))
}

/// "Time three setups alone at glue pegs next: ..."
fn advice(next: &Next) -> String {
    let what = match next.what {
        "setup" => "setups alone".to_owned(),
        "each" => format!("lots of {} without their setup", pieces(next.pieces.into())),
        _ => format!("batches of {}", pieces(next.pieces.into())),
    };
    format!(
        "Time {} {what} at {} next: they teach most. What {} take there on average is known within {} min now, and would then be within about {}.",
        spelled(next.entries),
        text::cut(&text::printable(&next.step), NAME),
        pieces(next.batch.into()),
        minutes(next.now),
        minutes(next.then)
    )
}

/// Names of such steps, where there are any.
fn names(fit: &Fit, such: impl Fn(&StepFit) -> bool) -> Option<String> {
    let steps = fit.steps.iter().filter(|step| such(step));
    joined(&steps.map(|step| text::printable(&step.name)).collect::<Vec<_>>())
}

fn small_print(fit: &Fit) -> Vec<String> {
    let mut said = Vec::new();
    if jobs_of(fit) > 0 {
        said.push(
            "A job is a batch, as the log names it; without a name, the entries of one day at a step are one job."
                .to_owned(),
        );
    }
    let open = |s: &StepFit| {
        s.work.as_ref().is_some_and(|w| w.how == How::Both) && s.parts.iter().any(|p| p.says == Says::CannotTell)
    };
    said.extend(names(fit, open).map(|n| format!("The log can hardly tell setup from the time a piece at {n}.")));
    let logged = |s: &StepFit| s.parts.iter().any(|p| p.from == From::Logged);
    let kept = names(fit, logged);
    said.extend(kept.map(|n| format!("Times are kept as they were logged at {n}, each equally likely to come again.")));
    let redone = names(fit, |s| s.left_out > 0);
    said.extend(redone.map(|n| format!("Entries in which the piece was done again are left out of them at {n}.")));
    if !fit.settled && fit.steps.iter().flat_map(|s| &s.parts).any(|p| p.from == From::Log) {
        said.push(
            "The new ranges are wide enough for eight new batches in ten: they allow for what jobs, setups and pieces differ by, and for how little a few \
             jobs can say. More jobs make them narrower."
                .to_owned(),
        );
    }
    let stays = fit.steps.iter().flat_map(|s| &s.parts).any(|p| p.from == From::File);
    if fit.complete && !stays {
        if fit.pace.new.is_some() {
            said.push("New times are as measured, so the new pace is 1 on average; its range is what batches differ by as a whole.".to_owned());
        }
    } else if (fit.pace_kept - 1.0).abs() > 0.005
        && fit.steps.iter().flat_map(|s| &s.parts).any(|p| p.from != From::File)
    {
        said.push(format!(
            "Some of the times {}, so the pace stays {} on average. New times are what was measured divided by that pace: both together give \
             what was measured.",
            if fit.complete { "stay as they are" } else { "lack entries" },
            ratio(fit.pace_kept)
        ));
    }
    let spoilt: Vec<String> = fit
        .steps
        .iter()
        .flat_map(|s| {
            [("spoiled", s.spoil), ("redone", s.redo)]
                .into_iter()
                .filter_map(move |(word, c)| c.map(|c| (s, word, c)))
        })
        .filter(|(_, _, c)| !c.contradicts)
        .map(|(s, word, c)| {
            let [_, ends, named] = beside(&c);
            format!(
                "{} {} of {} {word} (95 %: {ends}; the file's {named} stays)",
                text::printable(&s.name),
                count(c.times),
                count(c.of),
            )
        })
        .collect();
    if !spoilt.is_empty() {
        said.push(format!(
            "Chances that stay, as the log does not contradict them or has fewer than {ENOUGH} jobs there: {}.",
            spoilt.join("; ")
        ));
    }
    if let Some(list) = joined(&fit.never_logged) {
        said.push(capital(&format!(
            "{list} are no steps, so the log holds none, and their hours stay as the file has them."
        )));
    }
    said.push(format!(
        "The proportion of setup to pieces that you guessed before the log counts as a weak guess; the file keeps it when new times are put in. Always read \
         the whole log, old entries and new. Intervals of chances are exact (Clopper and Pearson). batchwright {}.",
        fit.version
    ));
    said
}
