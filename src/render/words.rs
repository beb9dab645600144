//! Words that several pages share: how things are counted, listed and named, and what a paragraph has room for.

use super::format::{asked_of_100, count, counted, money, of_100, of_100_beside, only, typed_money};
use super::question::Question;
use super::text::Look;

/// What holds for every answer about money.
pub(super) const BEFORE_TAX: &str =
    "Earnings are before income tax; tax, product safety and consumer law are for local rules.";

/// Small print where there is no chance to tell of.
pub(super) fn nothing_varies(version: &str) -> String {
    format!("Nothing varies here, so every batch is like the next. batchwright {version}.")
}

/// "earns 36.60 EUR", "loses 5.28 EUR".
pub(super) fn earns(rate: f64, currency: &str) -> String {
    if rate < 0.0 {
        format!("loses {}", money(-rate, currency))
    } else {
        format!("earns {}", money(rate, currency))
    }
}

/// The same of you: "earn 36.60 EUR", "lose 5.28 EUR".
pub(super) fn you_earn(rate: f64, currency: &str) -> String {
    if rate < 0.0 {
        format!("lose {}", money(-rate, currency))
    } else {
        format!("earn {}", money(rate, currency))
    }
}

/// "a", "a and b", "a, b and c"; `None` of nothing.
pub(crate) fn joined<S: AsRef<str>>(parts: &[S]) -> Option<String> {
    listed(parts, "and")
}

/// "a", "a or b", "a, b or c"; `None` of nothing.
pub(super) fn either<S: AsRef<str>>(parts: &[S]) -> Option<String> {
    listed(parts, "or")
}

fn listed<S: AsRef<str>>(parts: &[S], and: &str) -> Option<String> {
    let (last, before) = parts.split_last()?;
    let last = last.as_ref();
    let before: Vec<&str> = before.iter().map(AsRef::as_ref).collect();
    Some(match before.as_slice() {
        [] => last.to_owned(),
        before => format!("{} {and} {last}", before.join(", ")),
    })
}

/// All of them once, in order.
pub(super) fn each_once<T: PartialEq>(all: impl IntoIterator<Item = T>) -> Vec<T> {
    let mut found = Vec::new();
    for one in all {
        if !found.contains(&one) {
            found.push(one);
        }
    }
    found
}

/// Which size needs the lowest price, and that price as it is shown; or which one pays at any.
pub(super) fn lowest_price_at(size: u32, price: f64, shown: &str) -> String {
    let n = count(size.into());
    match (price <= 0.0, size) {
        (true, 1) => "Any price pays for a single piece.".to_owned(),
        (true, _) => format!("Any price pays in batches of {n}."),
        (false, 1) => format!("A single piece needs the lowest price of all sizes, {shown}."),
        (false, _) => format!("Batches of {n} need the lowest price of all sizes, {shown}."),
    }
}

/// "1 job", "1,200 jobs".
pub(super) fn number_of(n: u64, one: &str, more: &str) -> String {
    counted(count(n), one, more)
}

/// "1 piece", "1,200 pieces".
pub(super) fn pieces(n: u64) -> String {
    number_of(n, "piece", "pieces")
}

/// "is" of one, "are" of any other number, as it is written.
pub(super) fn is_or_are(n: &str) -> &'static str {
    if n == "1" { "is" } else { "are" }
}

/// What `sweep` says of a size that another question names, where so small a share of its seasons, or whatever it is counted in, do what is
/// `wanted`: "reach 32 EUR an hour".
pub(super) fn sweep_says(look: &Look, (size, share, many): (u32, f64, &str), confidence: f64, wanted: &str) -> String {
    let not = match size {
        1 => "a single piece does not pay".to_owned(),
        n => format!("{} do not pay", count(n.into())),
    };
    let because = only_so_many((share, many), confidence, wanted);
    format!("{} says that {not}, because {because}.", Question::Sweep.named(look))
}

/// "only 74 of 100 batches reach 32 EUR an hour and you want 80 of 100": too few do what is wanted.
pub(super) fn only_so_many((share, many): (f64, &str), confidence: f64, wanted: &str) -> String {
    format!(
        "{} {many} {wanted} and you want {}",
        only(&of_100_beside(share, confidence)),
        asked_of_100(confidence)
    )
}

/// What batches or seasons should do: reach the hour that is wanted, or where none is, pay for themselves.
pub(super) fn wanted(target: f64, currency: &str) -> String {
    if target > 0.0 {
        format!("reach {} an hour", typed_money(target, currency))
    } else {
        "cover your costs".to_owned()
    }
}

/// That more, or fewer, than were looked at may do better, where the best of the sizes is the last or the first of them.
pub(super) fn beyond_looked_at(sizes: &[u32], best: u32) -> Option<String> {
    let (larger, more) = match sizes {
        [_, .., last] if *last == best => ("larger", "more"),
        [first, _, ..] if *first == best && best > 1 => ("smaller", "fewer"),
        _ => return None,
    };
    let n = count(best.into());
    Some(format!(
        "No batch {larger} than {n} was looked at, so {more} may do better."
    ))
}

/// How they are made: "in batches of 12", "one at a time".
pub(super) fn made(size: u32) -> String {
    if size == 1 {
        "one at a time".to_owned()
    } else {
        format!("in batches of {}", count(size.into()))
    }
}

/// That a price told above the asked one may not be enough, and why; nothing where that is next to never so. `made`: what is counted out of
/// 100.
pub(super) fn may_be_too_little(share: f64, price: &str, made: &str) -> Option<String> {
    (share >= 0.005).then(|| {
        format!(
            "A price of {price} may still be too little. In {} {made} all that is sold comes back, and the fee you then lose rises with \
             the price.",
            of_100(share)
        )
    })
}

/// "one" or "12": how many at a time.
pub(super) fn one_or_count(size: u32) -> String {
    if size == 1 {
        "one".to_owned()
    } else {
        count(size.into())
    }
}

/// "batches of 12", or what is said of one at a time.
pub(super) fn batches_of(size: u32, one: &str) -> String {
    if size == 1 {
        one.to_owned()
    } else {
        format!("batches of {}", count(size.into()))
    }
}

/// What another price than the asked one does to pieces of a broken set.
pub(super) const SINGLES_GO_ALONG: &str =
    "Where another price than yours is told, that of a piece sold singly goes up or down by as many per cent.";

/// "a single piece", "a batch of 9".
pub(super) fn batch_of(size: u32) -> String {
    if size == 1 {
        "a single piece".to_owned()
    } else {
        format!("a batch of {}", count(size.into()))
    }
}

/// What is counted out of 100: single pieces, or batches.
pub(super) const fn several(size: u32) -> &'static str {
    if size == 1 { "pieces" } else { "batches" }
}

pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Words of the second paragraph, and of one of its sentences, at the most.
const WHY_WORDS: usize = 60;
const SENTENCE_WORDS: usize = 25;

/// Whether a sentence can be read once.
pub(crate) fn is_short(sentence: &str) -> bool {
    sentence.split_whitespace().count() <= SENTENCE_WORDS
}

/// What has room in the second paragraph, and what is then told under the tables.
pub fn folded(said: Vec<String>) -> (Vec<String>, Vec<String>) {
    let mut words = 0;
    said.into_iter().partition(|sentence| {
        let own = sentence.split_whitespace().count();
        let fits = is_short(sentence) && words + own <= WHY_WORDS;
        words += if fits { own } else { 0 };
        fits
    })
}
