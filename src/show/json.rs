//! Answers as JSON: every figure, unrounded, with its error. Hours in hours, money in the scenario's currency, shares as
//! fractions, what is infinite or undefined as `null`.

use crate::answers::sweep::Sweep;

/// The sweep's documented JSON, indented, with a line end after it.
#[must_use]
pub fn sweep(answer: &Sweep) -> String {
    pretty(answer)
}

fn pretty<T: serde::Serialize>(answer: &T) -> String {
    // Writing plain structs of numbers and texts to memory cannot fail: no map has keys that are not texts.
    let mut text = serde_json::to_string_pretty(answer).expect("plain data always has a JSON form");
    text.push('\n');
    text
}
