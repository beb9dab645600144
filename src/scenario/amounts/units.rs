//! Units: what one of them is worth.

use crate::scenario::faults::{nearest, quoted};
use crate::scenario::keys::{Measure, Rule};

/// Unit words for times, with minutes to one.
const TIMES: &[(&str, f64)] = &[
    ("min", 1.0),
    ("mins", 1.0),
    ("minute", 1.0),
    ("minutes", 1.0),
    ("h", 60.0),
    ("hr", 60.0),
    ("hrs", 60.0),
    ("hour", 60.0),
    ("hours", 60.0),
    ("s", 1.0 / 60.0),
    ("sec", 1.0 / 60.0),
    ("secs", 1.0 / 60.0),
    ("second", 1.0 / 60.0),
    ("seconds", 1.0 / 60.0),
    ("d", 1440.0),
    ("day", 1440.0),
    ("days", 1440.0),
];

/// Signs of currencies, which no amount has: a currency is said once, by its code.
pub(in crate::scenario) const CURRENCY_SIGNS: [char; 4] = ['€', '$', '£', '¥'];

/// Signs of minutes and of seconds on a plan or a dial (common practice, no source).
const MINUTE_SIGNS: [&str; 3] = ["'", "′", "’"];
const SECOND_SIGNS: [&str; 4] = ["\"", "″", "”", "''"];

/// The unit that a sign of minutes or seconds stands for.
pub(super) fn unit_of_sign(word: &str) -> Option<&'static str> {
    if MINUTE_SIGNS.contains(&word) {
        Some("min")
    } else {
        SECOND_SIGNS.contains(&word).then_some("s")
    }
}

/// Minutes in one of a unit of time.
pub(in crate::scenario) fn time_unit(word: &str) -> Option<f64> {
    let word = word.to_lowercase();
    TIMES.iter().find(|(w, _)| *w == word).map(|(_, m)| *m)
}

/// What the signs mean, for a cure.
pub(super) const SIGNS: &str = "' is minutes and \" is seconds";

/// The unit of time that a misspelt word is near. One letter is as near to every other, so it is near none.
fn near_time(word: &str) -> Option<&'static str> {
    let known = TIMES.iter().map(|(unit, _)| *unit);
    (word.chars().count() > 1).then(|| nearest(word, known)).flatten()
}

/// What one of the unit is worth in the unit the kind is held in, or what is wrong and what would be right.
pub(super) fn unit_worth(rule: Rule, word: &str) -> Result<f64, (String, String)> {
    let kind = rule.measure;
    let is_time = time_unit(word).is_some();
    let is_currency =
        (word.len() == 3 && word.bytes().all(|b| b.is_ascii_uppercase())) || word.contains(CURRENCY_SIGNS);
    let got = if is_time {
        "a time"
    } else if is_currency {
        "money"
    } else if word == "%" {
        "a share"
    } else {
        ""
    };
    match kind {
        Measure::Work | Measure::Clock => match time_unit(word) {
            Some(minutes) if minutes >= 1440.0 && kind == Measure::Work => Err((
                "a day at the bench is not 24 hours: hands-on time is given in hours".to_owned(),
                "write the hours, for example `\"6 h\"`; days are for `wait`".to_owned(),
            )),
            Some(minutes) => Ok(minutes),
            None if !got.is_empty() => Err((
                format!("{} is {got}, and this must be a time", quoted(word)),
                format!("write for example {}", rule.example()),
            )),
            None if word == "m" => Err((
                "`m` may be minutes or months".to_owned(),
                "write `min`; the units are s, min, h and d".to_owned(),
            )),
            None => Err((
                format!("{} is not a unit of time", quoted(word)),
                match (unit_of_sign(word), near_time(word)) {
                    (Some(unit), _) => format!("{SIGNS}: write `{unit}` for it"),
                    (None, Some(near)) => format!("did you mean {}?", quoted(near)),
                    (None, None) => "the units are s, min, h and, for `wait`, d".to_owned(),
                },
            )),
        },
        Measure::Share if word == "%" => Ok(0.01),
        Measure::Money if is_currency => Err((
            "money is a plain number here; the currency is said once, at the top".to_owned(),
            "write the number alone".to_owned(),
        )),
        _ if !got.is_empty() => Err((
            format!("{} is {got}, and this must be {}", quoted(word), kind.noun()),
            format!("write for example {}", rule.example()),
        )),
        _ => Err((
            format!("{} is not understood here; this must be {}", quoted(word), kind.noun()),
            format!("write for example {}", rule.example()),
        )),
    }
}

/// Beginnings of words that make another number of the one before them.
const NUMBER_WORDS: [&str; 9] = [
    "cent", "doz", "hundred", "inch", "mill", "penn", "pence", "percent", "thousand",
];
/// Units and short words that do so.
const NUMBER_UNITS: [&str; 23] = [
    "c", "cl", "cm", "ct", "cts", "dl", "ft", "g", "k", "kg", "km", "l", "lb", "lbs", "m", "mg", "mio", "ml", "mm",
    "mn", "oz", "p", "tsd",
];

/// Whether a word behind a figure makes another amount of it.
pub(super) fn makes_another(word: &str) -> bool {
    let word = word.to_lowercase();
    NUMBER_WORDS.iter().any(|begin| word.starts_with(begin)) || NUMBER_UNITS.contains(&word.as_str())
}

/// Whether a figure says as much without the word behind it: a currency, or what is counted.
pub(super) fn is_idle(word: &str, kind: Measure) -> bool {
    let is_code = word.len() == 3 && word.bytes().all(|b| b.is_ascii_uppercase());
    word.chars().all(char::is_alphabetic)
        && (kind == Measure::Money || kind == Measure::Number && !is_code)
        && time_unit(word).is_none()
        && !makes_another(word)
}

pub(super) const fn needs_unit(kind: Measure) -> bool {
    matches!(kind, Measure::Work | Measure::Clock | Measure::Share)
}
