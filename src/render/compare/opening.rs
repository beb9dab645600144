//! What a comparison says first.

use super::super::format::{count, money};
use super::super::words::{self, earns};
use super::{against_next, both_certain, letter, other_week, same_product, shared_week, told_of_week, what, wins};
use crate::questions::compare::{Compare, Pair};

/// What the second earns, said after the first: the word stands once where both earn, or lose.
pub(super) fn and_earns(first: f64, second: f64, currency: &str) -> String {
    if (first < 0.0) == (second < 0.0) {
        money(second.abs(), currency)
    } else {
        earns(second, currency)
    }
}

/// Which to make, what the hour earns by it, and whether a week says otherwise.
pub fn opening(answer: &Compare) -> Vec<String> {
    let Some(pair) = against_next(answer) else {
        return Vec::new();
    };
    if pair.low <= 0.0 {
        return as_good(answer, &pair);
    }
    if answer.entries[pair.first].run.rate.long_run < 0.0 {
        return none_pays(answer, &pair);
    }
    let currency = answer.currency.as_str();
    let [(a, one, first), (b, other, second)] = both(answer, &pair);
    let more = money(pair.difference.mean, currency);
    let hour = if both_certain(answer, &pair) {
        "An hour"
    } else {
        "On average an hour"
    };
    if let Some(week) = other_week(answer).filter(|_| shared_week(answer).is_none() && !same_product(answer, &pair)) {
        let (week_of, earns) = (letter(answer, week.first), earns(first, currency));
        let short = format!("{hour} {earns} with {a}, {one}, {more} more than with {b}");
        let long = format!("{short}, {other}.");
        return vec![
            format!("Make {a} for the best hour, {week_of} for the most money in a week."),
            if words::is_short(&long) {
                long
            } else {
                format!("{short}.")
            },
            told_of_week(answer, &week),
        ];
    }
    let mut said = if same_product(answer, &pair) {
        vec![
            format!("Expect {more} an hour more from {a}, {one}, than from {b}, {other}."),
            format!(
                "{hour} {} with {a} and {} with {b}.",
                earns(first, currency),
                and_earns(first, second, currency)
            ),
        ]
    } else {
        vec![
            if reached(answer) {
                format!("Make {a}, {one}.")
            } else {
                format!("Make {a}, {one}, if any: none earns the hour you want.")
            },
            format!("{hour} {}, {more} more than with {b}, {other}.", earns(first, currency)),
        ]
    };
    said.extend(
        shared_week(answer)
            .or_else(|| other_week(answer).map(|week| told_of_week(answer, &week)))
            .or_else(|| wins(answer, &pair)),
    );
    said
}

/// Whether any of them earns on average what its own file wants of an hour.
fn reached(answer: &Compare) -> bool {
    let mut entries = answer.entries.iter();
    entries.any(|entry| entry.run.rate.long_run >= entry.target)
}

/// Of each of the two its letter, what it is, and what an hour earns with it on average.
fn both(answer: &Compare, pair: &Pair) -> [(char, String, f64); 2] {
    [pair.first, pair.second].map(|k| {
        let rate = answer.entries[k].run.rate.long_run;
        (letter(answer, k), what(answer, k), rate)
    })
}

/// Where the simulation cannot tell the two apart. Long titles stand in the first sentence, which says little else.
fn as_good(answer: &Compare, pair: &Pair) -> Vec<String> {
    let currency = answer.currency.as_str();
    let [(a, one, first), (b, other, second)] = both(answer, pair);
    let (certain, is) = (both_certain(answer, pair), earns(first, currency));
    let also = and_earns(first, second, currency);
    let named = if certain {
        format!("With {a}, {one}, and with {b}, {other}, an hour {is} alike.")
    } else {
        format!("On average an hour {is} with {a}, {one}, and {also} with {b}, {other}.")
    };
    let short = words::is_short(&named);
    let mut said = vec![match (same_product(answer, pair), short) {
        (true, true) => format!("Expect as much from {a} as from {b}."),
        (true, false) => format!("Expect as much from {a}, {one}, as from {b}, {other}."),
        (false, true) => format!("Make {a} or {b}, as you like."),
        (false, false) => format!("Make {a}, {one}, or {b}, {other}, as you like."),
    }];
    said.push(match (short, certain) {
        (true, _) => named,
        (false, true) => format!("With {a} and with {b} an hour {is} alike."),
        (false, false) => format!("On average an hour {is} with {a} and {also} with {b}."),
    });
    if !certain {
        said.push(format!(
            "That is the same, as far as {} batches can tell.",
            count(answer.trials)
        ));
    }
    said
}

/// Where even the best pays less than its own costs.
fn none_pays(answer: &Compare, pair: &Pair) -> Vec<String> {
    let currency = answer.currency.as_str();
    let [(a, one, first), (b, other, second)] = both(answer, pair);
    vec![
        if same_product(answer, pair) {
            format!("Do not make it as {a} or {b} has it.")
        } else if answer.entries.len() == 2 {
            "Make neither of the two.".to_owned()
        } else {
            format!("Make none of the {}.", answer.entries.len())
        },
        format!(
            "None pays its own costs: with {a}, {one}, an hour {} on average.",
            earns(first, currency)
        ),
        format!("With {b}, {other}, it {}.", earns(second, currency)),
    ]
}

/// Whether the opening says of the best and the next how often the one beats the other: where the best is ahead, pays, and the week says
/// nothing else.
pub(super) fn opens_with_wins(answer: &Compare, pair: &Pair) -> bool {
    let pays = answer.entries[pair.first].run.rate.long_run >= 0.0;
    pair.low > 0.0 && pays && shared_week(answer).is_none() && other_week(answer).is_none()
}
