//! The strict reader, the bench: hours of the week, jigs.

use jiff::civil::Date;

use crate::scenario::amounts::{self, Flaw, short};
use crate::scenario::faults::{Fault, SourceSpan, quoted};
use crate::scenario::keys::{Bound, Measure, Rule};
use crate::scenario::overrides;
use crate::scenario::tree::{Node, Table, Value};
use crate::scenario::{Change, Hours, Jig, Spread, Step};

use super::reader::{Reader, Section, entry_title};
use super::steps::takes_time;

const DAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

impl Reader<'_> {
    /// Bench hours of the week, and days off.
    pub(super) fn hours(&mut self, top: &Section<'_>) -> Option<Hours> {
        let had = self.faults.len();
        let s = self.section(top, "hours", "[hours]")?;
        let said = DAYS.map(|day| self.day(&s, day));
        let (days, opens) = (said.map(|(hours, _)| hours), said.map(|(_, opens)| opens));
        if had == self.faults.len() && days.iter().all(|hours| *hours == 0.0) {
            self.faults.push(Fault::new(
                s.place.clone(),
                "[hours] has no day with any bench hours",
                "when is work done?",
                "add for example `mon = 2` and `sat = 6`: hours at the bench, a day that is not named has none",
            ));
        }
        let off = self.days_off(&s);
        Some(Hours { days, opens, off })
    }

    /// Hours of one day, and the minute they begin at where that is said: a plain number, a time with its unit, or from when to when.
    fn day(&mut self, s: &Section<'_>, day: &str) -> (f64, Option<f64>) {
        let Some(node) = s.get(day) else { return (0.0, None) };
        let written = match &node.value {
            Value::Text(text, _) => text.as_str(),
            _ => "",
        };
        let hours = || format!("write for example `{day} = \"18:00..20:30\"`, or only how long: `{day} = 2.5`");
        if let Some((from, to)) = written.split_once("..") {
            let (what, label) = match (minute_of(from), minute_of(to)) {
                (Some(from), Some(to)) if from < to => return ((to - from) / 60.0, Some(from)),
                (Some(_), Some(_)) => ("does not end after it begins, on the same day", "the wrong way round"),
                _ => ("is not from one time of day to another", "must be hours:minutes"),
            };
            self.at_value(s, day, format!("{} {what}", quoted(written)), label, hours());
            return (0.0, None);
        }
        if let Some((from, to)) = from_to(written) {
            let what = format!(
                "{} says from when to when, which is written with two dots",
                quoted(written)
            );
            let time = |minute: f64| format!("{}:{:02}", minute as u32 / 60, minute as u32 % 60);
            let cure = format!(
                "write `{day} = \"{}..{}\"`, or only how long: `{day} = {}`",
                time(from),
                time(to),
                short((to - from) / 60.0)
            );
            self.at_value(s, day, what, "two dots are due", cure);
            return (0.0, None);
        }
        let timed = written.contains(char::is_alphabetic);
        if timed && !written.contains(|c: char| c.is_numeric()) {
            let what = format!("{} does not say from when to when, or how long", quoted(written));
            self.at_value(s, day, what, "which hours?", hours());
            return (0.0, None);
        }
        let (rule, per_hour) = if timed {
            (Rule::of(Measure::Work).up_to(Bound::To(24.0 * 60.0)), 60.0)
        } else {
            (Rule::of(Measure::Number).up_to(Bound::To(24.0)), 1.0)
        };
        match amounts::read(node, rule.certain(), self.sources) {
            Ok(time) => (time.mean() / per_hour, None),
            Err(mut flaws) => {
                // Minutes of a step are no example of bench hours.
                for flaw in flaws
                    .iter_mut()
                    .filter(|flaw| flaw.cure.starts_with("write for example"))
                {
                    flaw.cure = hours();
                }
                self.flaws(s, day, flaws);
                (0.0, None)
            }
        }
    }

    fn days_off(&mut self, s: &Section<'_>) -> Vec<(Date, Date)> {
        const EXAMPLE: &str = "write for example `off = [\"2027-12-24..2027-12-26\", \"2028-01-01\"]`";
        let Some(node) = s.get("off") else { return Vec::new() };
        let one = [node.clone()];
        let list = match &node.value {
            Value::List(list) => list.as_slice(),
            _ => &one,
        };
        let mut found = Vec::new();
        for item in list {
            let written = match &item.value {
                Value::Text(text, _) => text.clone(),
                // A bare date is one of TOML's own kinds.
                Value::Moment => item.raw(self.sources).to_owned(),
                _ => String::new(),
            };
            let (first, last) = written.split_once("..").unwrap_or((&written, &written));
            let (what, label) = match (first.trim().parse::<Date>(), last.trim().parse::<Date>()) {
                (Ok(first), Ok(last)) if first <= last => {
                    found.push((first, last));
                    continue;
                }
                (Ok(_), Ok(_)) => (
                    format!("{} ends before it begins", quoted(item.raw(self.sources))),
                    "the wrong way round",
                ),
                _ => (
                    format!("{} is not a date or a stretch of dates", quoted(item.raw(self.sources))),
                    "must be year-month-day",
                ),
            };
            self.faults.push(Fault::new(
                item.place.clone(),
                format!("{}: {what}", s.owner("off")),
                label,
                EXAMPLE,
            ));
        }
        found
    }

    /// Aids that could be built.
    pub(super) fn jigs(&mut self, top: &Section<'_>, steps: &[Step], step_names: &[String]) -> Vec<Jig> {
        let Some(list) = self.list(top, "jig") else {
            return Vec::new();
        };
        let jigs: Vec<Jig> = list
            .iter()
            .map(|(table, place)| self.jig(table, place, steps, step_names))
            .collect();
        self.unique(&list, "jig", jigs.iter().map(|j| j.name.as_str()));
        let mut left = steps.to_vec();
        for ((table, place), jig) in list.iter().zip(&jigs) {
            let had_some = left.iter().any(takes_time);
            if let Some(step) = left.get_mut(jig.step) {
                jig.change(step);
            }
            if had_some && !left.iter().any(takes_time) {
                let with = if jigs.len() == 1 { "" } else { ", with those before it," };
                self.faults.push(Fault::new(
                    (*place).clone(),
                    format!(
                        "{}{with} leaves no step any hands-on time of yours, so there is no hour to reckon with",
                        entry_title("jig", table)
                    ),
                    "takes all that is left",
                    "let it take less, for example `each = \"x 0.1\"`",
                ));
            }
        }
        jigs
    }

    fn jig(&mut self, table: &Table, place: &SourceSpan, steps: &[Step], step_names: &[String]) -> Jig {
        let title = entry_title("jig", table);
        let s = Section {
            word: "jig",
            title: &title,
            table,
            place,
        };
        self.unknown_keys(&s);
        let name = self.name(&s, "jig");
        if s.get("step").is_none() {
            self.missing(&s, "step");
        }
        let index = self.step_of(&s, "step", step_names);
        let step = index.and_then(|k| steps.get(k));
        let effects = ["setup", "each", "room"];
        if effects.iter().all(|key| s.get(key).is_none()) {
            self.faults.push(Fault::new(
                place.clone(),
                format!("{title} changes nothing: no `setup`, `each` or `room` is given"),
                "what does it do?",
                "add what it does to the step, for example `each = \"- 2 min\"`, `setup = \"x 0.5\"` or `room = \"+ 6\"`",
            ));
        }
        // A time that could not be read is no time to take from: its own fault says so.
        let known = |key: &str| {
            step.filter(|step| {
                let of = format!("`{key}` of step `{}`", step.name);
                !self.faults.iter().any(|fault| fault.what.starts_with(&of))
            })
        };
        let (setup, each) = (known("setup"), known("each"));
        let setup = self.change(&s, "setup", setup.map(|step| &step.setup));
        let each = self.change(&s, "each", each.map(|step| &step.each));
        Jig {
            name,
            step: index.unwrap_or(0),
            build: self.amount(&s, "build").unwrap_or(Spread::ZERO),
            cost: self.certain(&s, "cost").unwrap_or(0.0),
            setup,
            each,
            room: self.more_room(&s, step),
            lasts: self.count(&s, "lasts"),
        }
    }

    /// The index of a step named by a key.
    pub(super) fn step_of(&mut self, s: &Section<'_>, key: &str, step_names: &[String]) -> Option<usize> {
        let name = self.text(s, key)?;
        let found = step_names.iter().position(|n| *n == name);
        if found.is_none() && !step_names.is_empty() {
            let node = s.get(key)?;
            let fault = overrides::unknown_name(node.place.clone(), "step", &name, step_names);
            self.faults.extend(fault.map(|fault| Fault {
                what: format!("{}: {}", s.owner(key), fault.what),
                ..fault
            }));
        }
        found
    }

    /// `x 0.5`, `- 2 min`, `+ 1 min`.
    fn change(&mut self, s: &Section<'_>, key: &str, time: Option<&Spread>) -> Change {
        const CURE: &str =
            "write `\"x 0.5\"` for half the time, `\"- 2 min\"` for two minutes less, `\"+ 1 min\"` for one more";
        let Some(node) = s.get(key) else { return Change::NONE };
        let Value::Text(text, start) = &node.value else {
            self.at_value(
                s,
                key,
                format!("this must be a change of time, not {}", node.kind()),
                "times what, or how much less?",
                CURE.to_owned(),
            );
            return Change::NONE;
        };
        let trimmed = text.trim_start();
        let lead = text.len() - trimmed.len();
        let Some(sign) = trimmed
            .chars()
            .next()
            .filter(|c| matches!(c, 'x' | '×' | '-' | '−' | '+'))
        else {
            self.at_value(
                s,
                key,
                format!("{} does not say how the time changes", quoted(text)),
                "must begin with x, - or +",
                CURE.to_owned(),
            );
            return Change::NONE;
        };
        let skipped = lead + sign.len_utf8();
        let rest = Node {
            place: start.map_or_else(
                || node.place.clone(),
                |start| SourceSpan::new(node.place.source, start + skipped..start + text.len()),
            ),
            value: Value::Text(text[skipped..].to_owned(), start.map(|start| start + skipped)),
        };
        let factor = matches!(sign, 'x' | '×');
        let rule = if factor {
            Rule::of(Measure::Number).up_to(Bound::To(100.0))
        } else {
            Rule::of(Measure::Work)
        };
        let value = match amounts::read(&rest, rule.certain(), self.sources) {
            Ok(value) => value.mean(),
            Err(flaws) => {
                // What follows the sign is read by itself, and the cure is of the whole.
                let whole = whole_change(sign, text[skipped..].trim());
                let cured = |flaw: Flaw| Flaw {
                    cure: match &whole {
                        Some(cure) => cure.clone(),
                        None if flaw.cure.starts_with("write for example") => CURE.to_owned(),
                        None => flaw.cure,
                    },
                    ..flaw
                };
                self.flaws(s, key, flaws.into_iter().map(cured).collect());
                return Change::NONE;
            }
        };
        let (factor, minutes) = match sign {
            'x' | '×' => (value, 0.0),
            '+' => (1.0, value),
            _ => (1.0, -value),
        };
        let change = Change { factor, minutes };
        let Some(time) = time else { return change };
        if change.apply(time).is_none() {
            self.takes_too_much(s, key, time);
            return Change::NONE;
        }
        change
    }

    /// A change that the step's time cannot bear.
    fn takes_too_much(&mut self, s: &Section<'_>, key: &str, time: &Spread) {
        let takes = time.mean();
        // Rounded down, so that what is told can be taken off.
        let most = (takes * 1e4).floor() / 1e4;
        let factor = "write a factor, for example `\"x 0.5\"`";
        let cure = if most > 0.0 {
            format!("take off at most {} min, or {factor}", short(most))
        } else {
            factor.to_owned()
        };
        let what = format!(
            "the step's `{key}` takes {} min{}, so this takes more than there is",
            short(takes),
            if time.is_certain() { "" } else { " on average" }
        );
        self.at_value(s, key, what, "too much", cure);
    }

    /// `"+ 6"`, or how many it holds then.
    fn more_room(&mut self, s: &Section<'_>, step: Option<&Step>) -> Option<u32> {
        let node = s.get("room")?;
        let added = match &node.value {
            Value::Text(text, _) => text
                .trim()
                .strip_prefix('+')
                .and_then(|rest| rest.trim().parse::<u32>().ok()),
            _ => None,
        };
        let before = step.map(|step| step.room);
        if before == Some(None) {
            self.at_value(
                s,
                "room",
                "the step has room for all pieces already".to_owned(),
                "nothing to widen",
                "leave `room` out here, or give the step its `room`".to_owned(),
            );
            return None;
        }
        let before = before.flatten().unwrap_or(1);
        let room = match added {
            Some(more) => before.saturating_add(more),
            None if matches!(node.value, Value::Text(..)) => {
                self.at_value(
                    s,
                    "room",
                    format!("{} is not room", quoted(node.raw(self.sources))),
                    "must be a number of pieces",
                    "write `\"+ 6\"` for room for six more, or `12` for room for twelve in all".to_owned(),
                );
                return None;
            }
            None => self.count(s, "room")?,
        };
        if room <= before {
            self.at_value(
                s,
                "room",
                format!("the step holds {before} already"),
                "no more than now",
                "write `\"+ 6\"` for room for six more, or how many it holds then in all".to_owned(),
            );
            return None;
        }
        Some(room.min(1_000_000))
    }
}

/// The cure of a change by a share of the time, or by a time without its unit; `None` where it is neither.
fn whole_change(sign: char, rest: &str) -> Option<String> {
    let number = |text: &str| text.trim().parse::<f64>().ok();
    let more = match sign {
        '+' => 1.0,
        '-' | '−' => -1.0,
        _ => return None,
    };
    if let Some(share) = rest.strip_suffix('%').and_then(number) {
        let left = 1.0 + more * share / 100.0;
        return (0.0..=100.0)
            .contains(&left)
            .then(|| format!("write `\"x {}\"`", short(left)));
    }
    number(rest).map(|_| format!("write `\"{sign} {rest} min\"` or `\"{sign} {rest} h\"`"))
}

/// The minutes of two times of day with something else than two dots between them: `9-15`, `9:00 to 15:00`, `6pm-9pm`; in `9 to 2` the 2 is in the
/// afternoon.
fn from_to(text: &str) -> Option<(f64, f64)> {
    let signs = ["-", "–", "—", "/", " to "];
    let (from, end) = signs.iter().find_map(|sign| text.split_once(sign))?;
    let (from, mut to) = (spoken(from)?, spoken(end)?);
    if to <= from && to <= 720.0 && !end.contains(char::is_alphabetic) && !text.contains('/') {
        to += 720.0;
    }
    (from < to).then_some((from, to))
}

/// [`minute_of`], also of `6pm` and `9:30 am`.
fn spoken(text: &str) -> Option<f64> {
    let text = text.trim().to_lowercase();
    let halves = [("am", 0.0), ("pm", 720.0)];
    let half = halves
        .iter()
        .find_map(|(half, from)| Some((text.strip_suffix(half)?, from)));
    match half {
        None => minute_of(&text),
        Some((time, from)) => minute_of(time).filter(|m| *m < 780.0).map(|m| m % 720.0 + from),
    }
}

/// Minutes after midnight of a time of day as it is written, `9`, `18:30` or `24:00`.
fn minute_of(text: &str) -> Option<f64> {
    let (hour, minute) = text.trim().split_once(':').unwrap_or((text.trim(), "00"));
    let number = |text: &str, digits: std::ops::RangeInclusive<usize>| {
        let plain = digits.contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
        text.parse::<u32>().ok().filter(|_| plain)
    };
    let (hour, minute) = (number(hour, 1..=2)?, number(minute, 2..=2)?);
    (minute < 60 && hour * 60 + minute <= 24 * 60).then(|| f64::from(hour * 60 + minute))
}
