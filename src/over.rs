//! Going over the values of a key (`sweep --over`): which values, and the scenario read anew with each of them.

use crate::budget::Work;
use crate::questions::over::{LEAST_TRIALS, OverAxis};
use crate::render::question::Question;
use crate::scenario::keys::{self, GUESSED};
use crate::scenario::{ASKED_PRICE, Faults, Scenario, split_setting};

/// Digits behind the point of a value that is figured, at the most: rounding would show in more.
const DIGITS: usize = 12;
/// Values of one key at the most.
const MOST_VALUES: usize = 200;
/// Values of each key at the most where two are gone over.
const MOST_OF_TWO: usize = 60;
/// Trials shared out among all values where no number of them is asked for, and what each gets at least and at most where a call has time
/// for it.
const ALL_TRIALS: u64 = 400_000;
const TRIALS: (u64, u64) = (LEAST_TRIALS, 20_000);
/// Fewer tell too little of a value, even where more would take longer than a call may.
const FEWEST: u64 = 400;

/// Trials of each of so many values where nothing is asked.
fn default_trials(values: usize) -> u64 {
    (ALL_TRIALS / values.max(1) as u64 / 100 * 100).clamp(TRIALS.0, TRIALS.1)
}

/// The same, but no more than take as long as a call may.
pub(crate) fn usual_trials(scenarios: &[Scenario], size: Option<u32>) -> u64 {
    let usual = default_trials(scenarios.len());
    work(scenarios, size, usual).taken_on().max(FEWEST.min(usual))
}

/// What answering all of them takes: each is one size, as where scenarios are set against each other.
pub(crate) fn work(scenarios: &[Scenario], size: Option<u32>, trials: u64) -> Work {
    let sizes: Vec<u32> = size.into_iter().collect();
    scenarios.iter().fold(Work::default(), |sum, scenario| {
        sum.and(Work::of(Question::Compare, scenario, &sizes, trials))
    })
}

/// Reads what stands behind each `--over`; every fault with what it is about, and why.
pub(crate) fn axes(asked: &[String]) -> (Vec<OverAxis>, Vec<(String, String)>) {
    let (mut axes, mut faults) = (Vec::<OverAxis>::new(), Vec::new());
    let mut refuse = |text: &str, why: &str| faults.push((text.to_owned(), why.to_owned()));
    if asked.len() > 2 {
        refuse(&asked[2], "two keys can be gone over at once, not more");
    }
    for text in asked.iter().take(2) {
        match axis(text) {
            Ok(axis) if axes.iter().any(|a| a.key == axis.key) => {
                refuse(text, "this key is given twice; name two keys")
            }
            Ok(axis) => axes.push(axis),
            Err(why) => refuse(text, &why),
        }
    }
    let most = if asked.len() > 1 { MOST_OF_TWO } else { MOST_VALUES };
    for (axis, text) in axes.iter().zip(asked) {
        if axis.texts.len() > most {
            let n = axis.texts.len();
            refuse(
                text,
                &format!("these are {n} values; at most {most} are gone over, so take a wider step"),
            );
        }
    }
    (axes, faults)
}

/// The scenario with every value, or every pair of values, as `read` reads it with these set; the first axis runs fastest.
///
/// # Errors
/// What `read` says of the first value that cannot be taken, and how many cannot.
pub(crate) fn scenarios(
    overrides: &[(String, String)],
    axes: &[OverAxis],
    read: impl Fn(&[(String, String)]) -> Result<Scenario, Faults>,
) -> Result<Vec<Scenario>, (Faults, usize)> {
    let one = [String::new()];
    let (mut scenarios, mut first_fault, mut faulty) = (Vec::new(), None, 0_usize);
    for upper in axes.get(1).map_or(&one[..], |axis| &axis.texts) {
        for lower in axes.first().map_or(&one[..], |axis| &axis.texts) {
            let mut all = overrides.to_vec();
            all.extend(axes.first().map(|axis| (override_of(axis), lower.clone())));
            all.extend(axes.get(1).map(|axis| (override_of(axis), upper.clone())));
            match read(&all) {
                Ok(scenario) => scenarios.push(scenario),
                Err(fault) => {
                    faulty += 1;
                    first_fault.get_or_insert_with(|| fault.said_by(overrides.len(), "--over"));
                }
            }
        }
    }
    first_fault.map_or(Ok(scenarios), |fault| Err((fault, faulty)))
}

/// The key to read a value under. Going over the asked price asks what other prices would do, so all that hangs on it moves, as with
/// `--price`.
fn override_of(axis: &OverAxis) -> String {
    let parts = axis.key.split('.').map(|part| part.trim().trim_matches(['"', '\'']));
    if parts.eq(["sale", "price"]) {
        ASKED_PRICE.to_owned()
    } else {
        axis.key.clone()
    }
}

/// `KEY=LOW..HIGH`, `KEY=LOW..HIGH step S`, `KEY=A,B,C` or `KEY=[A, B, C]`.
fn axis(text: &str) -> Result<OverAxis, String> {
    const FORM: &str = "write KEY=LOW..HIGH, for example sale.price=40..70 or 'step.glue up.each=4..10 step 1 min', or a list \
                        such as sale.price=40,50,60";
    let (key, values) = split_setting(text).ok_or(FORM)?;
    if key == "batch.sizes" {
        return Err("sweep itself goes over batch sizes; leave --over out and say --set batch.sizes=...".to_owned());
    }
    let parts = keys::section("range").map_or(&[][..], |range| range.keys);
    let is_part = |(_, name): &(&str, &str)| parts.iter().any(|part| part.name == name.trim());
    let whole = key
        .rsplit_once('.')
        .filter(is_part)
        .map_or(key.as_str(), |(whole, _)| whole);
    let (section, name) = whole.rsplit_once('.').unwrap_or(("", whole));
    if let Some(now) = name.trim().trim_matches(['"', '\'']).strip_prefix(GUESSED) {
        return Err(format!(
            "a guess changes no answer, as it only stands beside the work log; go over what is written now, {section}.{now}"
        ));
    }
    let values = values.trim();
    if values.is_empty() {
        return Err(FORM.to_owned());
    }
    let bare = values.trim_matches('"');
    let (unit, texts, numbers) = match values.strip_prefix('[').and_then(|v| v.strip_suffix(']')) {
        Some(inner) => list(inner)?,
        // Days from when to when are values of a list.
        None if bare.contains("..") && !bare.contains(',') => range(bare)?,
        None => list(values)?,
    };
    if texts.len() < 2 {
        return Err(format!("one value is nothing to go over; {FORM}"));
    }
    Ok(OverAxis {
        key,
        unit,
        texts,
        numbers,
    })
}

/// Unit, values as written, and as numbers where they are.
type Values = (String, Vec<String>, Option<Vec<f64>>);

fn range(text: &str) -> Result<Values, String> {
    let (ends, step) = match text.split_once("step") {
        Some((ends, step)) => (ends, Some(figure(step).ok_or_else(|| no_number(step))?)),
        None => (text, None),
    };
    let (low, high) = ends.split_once("..").ok_or_else(|| no_number(ends))?;
    let (low, high) = (
        figure(low).ok_or_else(|| no_number(low))?,
        figure(high).ok_or_else(|| no_number(high))?,
    );
    let unit = one_unit([Some(&low), Some(&high), step.as_ref()].into_iter().flatten())
        .ok_or("low, high and step are in different units; write all in one, for example 4..10 step 1 min")?;
    let span = high.number - low.number;
    if span <= 0.0 {
        return Err(format!(
            "{} is not below {}; write LOW..HIGH",
            low.shown(),
            high.shown()
        ));
    }
    let (width, digits) = match &step {
        Some(step) if step.number <= 0.0 => return Err("the step must be above 0".to_owned()),
        Some(step) => (step.number, step.digits),
        None => {
            // Whole ends mean whole values, as counts need them, wherever that leaves a few.
            let whole = unit.is_empty() && low.digits == 0 && high.digits == 0 && span >= 2.0;
            let width = round_step(span / 16.0).max(if whole { 1.0 } else { 0.0 });
            (width, (-libm::log10(width)).ceil().max(0.0) as usize)
        }
    };
    let count = span / width * (1.0 + 1e-12) + 1e-9;
    if count > 1e6 {
        return Err(format!(
            "that makes more than a million values; at most {MOST_VALUES} are gone over"
        ));
    }
    let digits = digits.max(low.digits).min(DIGITS);
    // Figured from the low end each time, so that no rounding adds up; both ends as they were typed.
    let mut numbers: Vec<String> = (0..=count as u64)
        .map(|i| trimmed(&format!("{:.digits$}", low.number + i as f64 * width)))
        .collect();
    numbers[0] = low.shown();
    let end = high.shown();
    let (last, reached) = (numbers.len() - 1, trimmed(&format!("{:.digits$}", high.number)));
    if last > 0 && numbers[last] == reached {
        numbers[last] = end;
    } else if step.is_none() {
        numbers.push(end);
    }
    Ok(numbered(unit, numbers))
}

fn list(text: &str) -> Result<Values, String> {
    let mut items: Vec<String> = Vec::new();
    let (mut item, mut quote) = (String::new(), None);
    for c in text.chars() {
        match (quote, c) {
            (None, ',') => items.push(std::mem::take(&mut item)),
            (None, '"' | '\'') => quote = Some(c),
            (Some(q), c) if c == q => quote = None,
            _ => item.push(c),
        }
    }
    items.push(item);
    let mut items: Vec<String> = items.iter().map(|i| i.trim().to_owned()).collect();
    if items.last().is_some_and(String::is_empty) {
        items.pop();
    }
    if items.iter().any(String::is_empty) {
        return Err("a value is missing between two commas".to_owned());
    }
    let figures: Option<Vec<Figure>> = items.iter().map(|i| figure(i)).collect();
    // A unit may stand once, at the end, for all.
    let unit = figures.as_ref().and_then(|figures| one_unit(figures.iter()));
    let (Some(mut figures), Some(unit)) = (figures, unit) else {
        let mut seen = Vec::new();
        items.retain(|i| {
            !seen.contains(i) && {
                seen.push(i.clone());
                true
            }
        });
        return Ok((String::new(), items, None));
    };
    figures.sort_by(|a, b| a.number.total_cmp(&b.number));
    figures.dedup_by(|a, b| a.number == b.number);
    Ok(numbered(unit, figures.iter().map(Figure::shown).collect()))
}

fn numbered(unit: String, numbers: Vec<String>) -> Values {
    let values = numbers.iter().map(|n| n.parse().unwrap_or(f64::NAN)).collect();
    let texts = numbers
        .into_iter()
        .map(|n| if unit.is_empty() { n } else { format!("{n} {unit}") })
        .collect();
    (unit, texts, Some(values))
}

/// A number and the unit behind it.
#[derive(Debug, Clone)]
struct Figure {
    number: f64,
    digits: usize,
    unit: String,
}

impl Figure {
    /// With all its digits, so that a value of the file is met to the last one.
    fn shown(&self) -> String {
        trimmed(&self.number.to_string())
    }
}

fn figure(text: &str) -> Option<Figure> {
    let text = text.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '+'))
        .unwrap_or(text.len());
    let (number, unit) = (&text[..end], text[end..].trim());
    let value: f64 = number.parse().ok()?;
    let plain = !unit.contains(|c: char| c.is_ascii_digit() || "/{[\"".contains(c));
    (plain && value.is_finite() && value.abs() <= 1e12).then(|| Figure {
        number: value,
        digits: number.split_once('.').map_or(0, |(_, rest)| rest.len()),
        unit: unit.to_owned(),
    })
}

/// The one unit that stands behind any of them; `None` where there are two.
fn one_unit<'a>(figures: impl Iterator<Item = &'a Figure>) -> Option<String> {
    let mut unit = "";
    for figure in figures.filter(|f| !f.unit.is_empty()) {
        if !unit.is_empty() && unit != figure.unit {
            return None;
        }
        unit = &figure.unit;
    }
    Some(unit.to_owned())
}

fn no_number(text: &str) -> String {
    format!(
        "{:?} is not a number with its unit; for example 40..70 step 2, or 4..10 step 1 min",
        text.trim()
    )
}

/// Without zeros behind the point, and without a minus before nothing.
fn trimmed(text: &str) -> String {
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        text
    };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// 1, 2 or 5 times a power of ten, at or above `rough`.
fn round_step(rough: f64) -> f64 {
    let power = libm::pow(10.0, libm::log10(rough).floor());
    let factor = [1.0, 2.0, 5.0].into_iter().find(|f| rough <= f * power * 1.000_001);
    factor.unwrap_or(10.0) * power
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(text: &str) -> Vec<String> {
        axis(text).unwrap_or_else(|why| panic!("{text}: {why}")).texts
    }

    #[test]
    fn ranges_are_read_as_people_write_them() {
        assert_eq!(texts("sale.price=40..60 step 5"), ["40", "45", "50", "55", "60"]);
        assert_eq!(texts("sale.price=40..60 step 7"), ["40", "47", "54"]);
        assert_eq!(
            texts("step.glue pegs.each=4..6 step 1 min"),
            ["4 min", "5 min", "6 min"]
        );
        assert_eq!(
            texts("step.glue pegs.each=4 min..6 min step 1 min"),
            ["4 min", "5 min", "6 min"]
        );
        assert_eq!(texts("step.drill.spoil=\"0..1 % step 0.5 %\""), ["0 %", "0.5 %", "1 %"]);
        // No rounding adds up: 0.1 ten times is 1, not 0.9999.
        let tenths = axis("pace.factor=0.1..1 step 0.1").unwrap();
        assert_eq!(tenths.texts.last().map(String::as_str), Some("1"));
        assert_eq!(tenths.numbers.unwrap()[2], 0.3);
        // Without a step: round ones, the high end among them.
        assert_eq!(texts("sale.price=40..72").len(), 17);
        assert_eq!(texts("batch.runs=1..6"), ["1", "2", "3", "4", "5", "6"]);
        assert_eq!(texts("pace.factor=1..2.5").get(1).map(String::as_str), Some("1.1"));
        assert_eq!(texts("sale.price=40..71.5").last().map(String::as_str), Some("71.5"));
    }

    /// No question reads what was guessed; a step may have such a name all the same.
    #[test]
    fn a_guess_is_refused_with_the_key_to_go_over() {
        for (text, now) in [
            ("step.glue pegs.guessed_each=4..6 min", "step.glue pegs.each"),
            ("pace.guessed_factor=1,2", "pace.factor"),
            (
                "channel.\"own page\".\"guessed_per_order\"=4,6",
                "channel.\"own page\".per_order",
            ),
            ("step.glue pegs.guessed_each.likely=4,6", "step.glue pegs.each"),
        ] {
            let why = axis(text).expect_err(text);
            assert!(why.ends_with(&format!("go over what is written now, {now}")), "{why}");
        }
        assert_eq!(texts("step.guessed_well.each=4,6").len(), 2);
    }

    /// What was figured elsewhere may come with all its digits, and a file has it so: it is met to the last one, and what is figured from
    /// it here is rounded.
    #[test]
    fn what_is_typed_with_many_digits_stays_as_it_is() {
        let long = "42.120000000000005";
        assert_eq!(texts(&format!("sale.price=40,{long},50")), ["40", long, "50"]);
        assert_eq!(
            texts(&format!("sale.price={long}..44.12 step 1")),
            [long, "43.12", "44.12"]
        );
        assert_eq!(
            texts(&format!("sale.price=40.12..{long} step 1")),
            ["40.12", "41.12", long]
        );
        assert_eq!(
            texts(&format!("sale.price=41..{long}")).last().map(String::as_str),
            Some(long)
        );
        assert_eq!(
            axis(&format!("sale.price=40,{long}")).unwrap().numbers.unwrap()[1],
            42.120000000000005
        );
        assert_eq!(texts("sale.price=+40.50,.5"), ["0.5", "40.5"]);
    }

    #[test]
    fn lists_are_read_as_people_write_them() {
        assert_eq!(texts("sale.price=60, 40,50,40"), ["40", "50", "60"]);
        assert_eq!(texts("sale.price=[60, 40.50]"), ["40.5", "60"]);
        assert_eq!(texts("step.a.each=4,5,6 min"), ["4 min", "5 min", "6 min"]);
        let ranges = axis("step.a.each=[\"3 / 4 / 8 min\", '2 / 3 / 5 min']").unwrap();
        assert_eq!((ranges.texts.len(), ranges.numbers), (2, None));
        let words = axis("batch.spoiled=short,remake").unwrap();
        assert_eq!(
            (words.texts, words.numbers),
            (vec!["short".to_owned(), "remake".to_owned()], None)
        );
        assert_eq!(
            texts("hours.tue=18:00..20:00, 18:00..21:30"),
            ["18:00..20:00", "18:00..21:30"]
        );
        // Two units are no axis of numbers, but values all the same.
        assert_eq!(axis("step.a.each=30 s,1 min").unwrap().numbers, None);
    }

    #[test]
    fn what_cannot_be_gone_over_is_refused() {
        for (text, why) in [
            ("sale.price", "write KEY="),
            ("sale.price=", "write KEY="),
            ("=3..4", "write KEY="),
            ("sale.price=40", "one value"),
            ("sale.price=60..40", "not below"),
            ("sale.price=40..40", "not below"),
            ("sale.price=40..60 step 0", "above 0"),
            ("sale.price=40..60 step -1", "above 0"),
            ("sale.price=40..60 step 0.00001", "more than a million"),
            ("sale.price=a..b", "not a number"),
            ("sale.price=1..2..3", "not a number"),
            ("step.a.each=4 min..1 h", "different units"),
            ("sale.price=40,,50", "missing"),
            ("batch.sizes=1..9", "sweep itself"),
        ] {
            let found = axis(text).expect_err(text);
            assert!(found.contains(why), "{text}: {found}");
        }
        let many = |n: usize| vec![format!("sale.price=1..{n} step 1")];
        assert!(axes(&many(200)).1.is_empty());
        assert!(axes(&many(201)).1[0].1.contains("at most 200"));
        let two = |n: usize| vec![format!("sale.price=1..{n} step 1"), "target=20,30".to_owned()];
        assert!(axes(&two(60)).1.is_empty());
        assert!(axes(&two(61)).1[0].1.contains("at most 60"));
        let twice = ["target=1,2".to_owned(), "target=3,4".to_owned()];
        assert!(axes(&twice).1[0].1.contains("twice"));
        assert_eq!(axes(&["a".to_owned(), "b".to_owned(), "c".to_owned()]).1.len(), 3);
    }

    /// 3,600 pairs of 200 pieces at 11 steps with 2,000 trials each would take about 80 s, by what `budget.rs` reckons with.
    #[test]
    fn a_map_that_would_take_too_long_has_fewer_trials() {
        let pairs = |size: u32| {
            let head = format!("currency = \"EUR\"\ntarget = 30\n[batch]\nsizes = [{size}]\n[sale]\nprice = 19\n");
            let steps = (0..11).map(|k| format!("[[step]]\nname = \"colour {k}\"\neach = \"1 min\"\n"));
            let text = head + &steps.collect::<String>();
            vec![crate::scenario::read("test", &text, &[]).expect("it reads"); 3600]
        };
        let scenarios = pairs(200);
        let trials = usual_trials(&scenarios, None);
        assert!((400..1_000).contains(&trials), "{trials}");
        assert!(work(&scenarios, None, trials).within().is_ok());
        assert!(work(&scenarios, None, 2_000).within().is_err());
        // Where there is room nothing changes, and too few are never simulated.
        assert_eq!(usual_trials(&scenarios[..20], None), 20_000);
        let huge = pairs(10_000);
        assert_eq!(usual_trials(&huge, None), FEWEST);
        assert!(work(&huge, None, FEWEST).within().is_err());
    }

    #[test]
    fn trials_are_shared_out() {
        assert_eq!([1, 20, 50, 3600].map(default_trials), [20_000, 20_000, 8_000, 2_000]);
    }
}
