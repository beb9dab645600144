//! Amounts that are said for another time than their key is for: `12 a month` where a week is due.

use super::text::is_taken;
use super::tokens::{Token, tokens};
use crate::scenario::keys::Rule;

/// How a stretch of time is called, how words that say it begin, and its days. An hour is one at the bench, and no part of a day.
const SPANS: [(&str, &[&str], f64); 5] = [
    ("an hour", &["h", "hr", "hour"], 0.0),
    ("a day", &["d", "day", "dai"], 1.0),
    ("a week", &["wk", "week"], 7.0),
    ("a month", &["month"], 365.25 / 12.0),
    ("a year", &["yr", "year", "annu"], 365.25),
];

/// Which stretch a key's amount is for, by its unit: `pieces a week`.
fn due_in(unit: &str) -> Option<(&'static str, f64)> {
    let span = SPANS.iter().find(|(span, ..)| unit.ends_with(span))?;
    Some((span.0, span.2))
}

/// Which stretch a text names behind its numbers.
fn said_in(text: &str) -> Option<(&'static str, f64)> {
    let words = text.split(|c: char| !c.is_alphabetic()).map(str::to_lowercase);
    let words: Vec<String> = words.filter(|word| !word.is_empty()).collect();
    let names = |(_, begins, _): &&(&str, &[&str], f64)| {
        let says = |word: &String| {
            begins
                .iter()
                .any(|begin| word == begin || begin.len() > 2 && word.starts_with(begin))
        };
        words.iter().any(says)
    };
    SPANS.iter().find(names).map(|(span, _, days)| (*span, *days))
}

/// What is wrong with an amount that names a stretch of time, where its unit says which one it is for, and the cure that leaves its meaning
/// as it is.
pub(in crate::scenario) fn another_span(text: &str, unit: &str, rule: Rule) -> Option<(String, String)> {
    let ((due, due_days), (said, said_days)) = (due_in(unit)?, said_in(text)?);
    let numbers = tokens(text, rule.measure)
        .ok()?
        .into_iter()
        .filter_map(|(token, range)| match token {
            Token::Number(number) => Some((number, &text[range])),
            _ => None,
        });
    let numbers: Vec<(f64, &str)> = numbers.collect();
    let one = match numbers.as_slice() {
        [one] => Some(*one),
        _ => None,
    };
    if said == due {
        let (_, written) = one.filter(|(_, written)| is_taken(written, rule))?;
        let what = format!("is for {due} already, and a plain number is due");
        return Some((what, format!("write the number alone: `{written}`")));
    }
    // An hour at the bench is no part of a day.
    let there = one.filter(|_| due_days > 0.0 && said_days > 0.0);
    let there = there.map(|(number, written)| (two_digits(number * due_days / said_days).to_string(), written));
    let cure = match there.filter(|(there, _)| is_taken(there, rule)) {
        Some((there, written)) => format!("{written} {said} is about {there} {due}: write `{there}`"),
        None => format!("write how much it is {due}, for example {}", rule.example()),
    };
    Some((format!("is for {said}, and what is due is for {due}"), cure))
}

/// To two digits: more of them were never meant.
fn two_digits(value: f64) -> f64 {
    format!("{value:.1e}").parse().unwrap_or(value)
}
