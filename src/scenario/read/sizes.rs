//! Batch sizes: `"1..40"`, `"5..100 step 5"`, `[1, 2, 4, 8]`, `"1..12, 16, 24"`.

use std::collections::BTreeSet;

use crate::scenario::amounts::Flaw;
use crate::scenario::faults::{Source, SourceSpan, quoted};
use crate::scenario::keys::LARGEST_SIZE;
use crate::scenario::tree::{Node, Value};

const EXAMPLE: &str = "write for example `\"1..40\"`, `\"5..100 step 5\"`, `\"1..12, 16, 24\"` or `[1, 2, 4, 8]`";

/// Ascending and unique, each in 1..=[`LARGEST_SIZE`].
pub(super) fn read(node: &Node, sources: &[Source]) -> Result<Vec<u32>, Vec<Flaw>> {
    let mut sizes = BTreeSet::new();
    let mut flaws = Vec::new();
    match &node.value {
        Value::Whole(i) => match checked(i128::from(*i)) {
            Ok(size) => _ = sizes.insert(size),
            Err(why) => flaws.push(size_flaw(node.place.clone(), node.raw(sources), why)),
        },
        Value::List(list) => {
            for item in list {
                match item.value {
                    Value::Whole(i) => match checked(i128::from(i)) {
                        Ok(size) => _ = sizes.insert(size),
                        Err(why) => flaws.push(size_flaw(item.place.clone(), item.raw(sources), why)),
                    },
                    _ => flaws.push(size_flaw(
                        item.place.clone(),
                        item.raw(sources),
                        "a size is a whole number of pieces",
                    )),
                }
            }
        }
        Value::Text(text, start) => {
            let (mut at, mut said) = (0, 0);
            for part in text.split(',') {
                let lead = part.len() - part.trim_start().len();
                let range = at + lead..at + lead + part.trim().len();
                at += part.len() + 1;
                if part.trim().is_empty() && text.trim().is_empty() {
                    continue;
                }
                let place = start.map_or_else(
                    || node.place.clone(),
                    |s| SourceSpan::new(node.place.source, s + range.start..s + range.end),
                );
                match read_part(part.trim()) {
                    // The same ranges over and over would take time and memory for nothing.
                    Ok(more) if said + more.size_hint().0 > 10 * LARGEST_SIZE as usize => {
                        flaws.push(size_flaw(place, part.trim(), "these are far more sizes than there are"));
                        break;
                    }
                    Ok(more) => {
                        said += more.size_hint().0;
                        sizes.extend(more);
                    }
                    Err(why) => flaws.push(size_flaw(place, part.trim(), why)),
                }
            }
        }
        _ => flaws.push(size_flaw(
            node.place.clone(),
            node.raw(sources),
            "sizes are whole numbers of pieces",
        )),
    }
    if flaws.is_empty() && sizes.is_empty() {
        flaws.push(size_flaw(node.place.clone(), node.raw(sources), "no size is given"));
    }
    if !flaws.is_empty() {
        return Err(flaws);
    }
    Ok(sizes.into_iter().collect())
}

fn size_flaw(place: SourceSpan, shown: &str, why: &str) -> Flaw {
    Flaw {
        place,
        what: format!("{} cannot be taken: {why}", quoted(shown)),
        label: "here".to_owned(),
        cure: EXAMPLE.to_owned(),
    }
}

fn checked(value: i128) -> Result<u32, &'static str> {
    if value < 1 {
        return Err("a batch has at least 1 piece");
    }
    u32::try_from(value)
        .ok()
        .filter(|s| *s <= LARGEST_SIZE)
        .ok_or("the largest batch is 10000 pieces")
}

/// `12`, `1..40` or `5..100 step 5`.
fn read_part(part: &str) -> Result<std::iter::StepBy<std::ops::RangeInclusive<u32>>, &'static str> {
    let Some((from, rest)) = part.split_once("..") else {
        let one = number(part)?;
        return Ok((one..=one).step_by(1));
    };
    let (to, step) = match rest.split_once("step") {
        Some((to, step)) => (to, step_number(step)?),
        None => (rest, 1),
    };
    let (from, to) = (number(from)?, number(to)?);
    if from > to {
        return Err("the smaller size comes first");
    }
    Ok((from..=to).step_by(step))
}

fn step_number(text: &str) -> Result<usize, &'static str> {
    match text.trim().parse::<usize>() {
        Ok(0) => Err("a step is at least 1"),
        Ok(step) => Ok(step),
        Err(_) => Err("a step is a whole number"),
    }
}

fn number(text: &str) -> Result<u32, &'static str> {
    let digits = text.trim();
    // Beyond the widest integer it is too large in any case.
    if digits.len() > 30 && digits.bytes().all(|b| b.is_ascii_digit()) {
        return checked(i128::MAX);
    }
    digits
        .parse::<i128>()
        .map_err(|_| "sizes are whole numbers, or two of them with `..` between")
        .and_then(checked)
}
