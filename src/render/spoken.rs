//! What a key of the file is called in a sentence, above a column and on an axis.

use super::text::printable;
use crate::scenario::keys::GUESSED;

/// A key as `--set` takes it, in a maker's words and without an article: `time per piece of 'glue pegs'`.
pub(super) fn spoken(key: &str) -> String {
    let (of, last) = key.rsplit_once('.').unwrap_or(("", key));
    let (section, name) = of
        .split_once('.')
        .map_or((of, None), |(section, name)| (section, Some(name)));
    let what = called(section.trim(), last.trim().trim_matches(['"', '\'']));
    let name = name.map(|name| printable(name.trim().trim_matches(['"', '\''])));
    match (section.trim(), name) {
        ("channel", Some(name)) => format!("{what} through '{name}'"),
        ("selling_day", Some(name)) => format!("{what} at '{name}'"),
        (_, Some(name)) => format!("{what} of '{name}'"),
        ("seconds", None) => format!("{what} of seconds"),
        (_, None) => what,
    }
}

/// What the last word of a key means in its section; a word that says so itself stays.
fn called(section: &str, word: &str) -> String {
    if let Some(guessed) = word.strip_prefix(GUESSED) {
        return format!("first guess of the {}", called(section, guessed));
    }
    let words = match (section, word) {
        ("batch", "runs") => "batches of this design",
        ("batch", "spoiled") => "treatment of spoiled pieces",
        ("pace", "factor") => "pace",
        ("step", "each") => "time per piece",
        ("step", "once") => "time once for the design",
        ("step", "varies") => "way of varying",
        ("step", "opposite") => "share of batches with setups opposite to pieces",
        ("step", "done_by") => "worker",
        ("step", "second") => "share of seconds",
        ("step", "others") => "share of others in a round",
        ("step", "kept_in") => "place",
        ("step", "made_before") => "pieces made before",
        ("step", "learned_by") => "pieces until it is learned",
        ("material", "per_piece") => "amount per piece",
        ("material", "per_batch") => "amount per batch",
        ("material", "per_round") => "amount per round",
        ("material", "per_order") => "amount per order",
        ("material", "pack") => "size of a pack",
        ("material", "paid") => "price paid",
        ("material", "leftover") => "treatment of the rest",
        ("material", "at") => "step",
        (_, "per_order") => "time per order",
        (_, "order_of") => "pieces in an order",
        (_, "post") => "postage",
        (_, "post_charged") => "postage that buyers pay",
        (_, "returned") => "returns",
        (_, "as_new") => "returns as good as new",
        (_, "set_of") => "pieces in a set",
        (_, "single_price") => "price of a single piece",
        (_, "quote") => "time for a quote",
        (_, "quote_won") => "quotes that are won",
        (_, "enquiry") => "time for an enquiry",
        (_, "enquiry_bought") => "enquiries that are bought",
        (_, "unsold") => "share that comes back unsold",
        (_, "worn") => "share that comes back worn",
        (_, "worn_price") => "price of a worn piece",
        ("selling_day", "sells") => "sales",
        ("selling_day", "there") => "time there",
        ("selling_day", "travel") => "time on the way",
        ("shop", "per_hour") => "cost per hour",
        ("shop", "per_month") => "cost per month",
        ("season", "leftover") => "treatment of what is left over",
        ("season", "weeks") => "weeks until the next season",
        ("channel", "weeks") => "weeks until it settles",
        ("season", "clearance") => "clearance price",
        ("steady", "finished") => "way of finishing",
        ("steady", "per_week") => "pieces asked for a week",
        (_, "hold") => "holding a year",
        ("hours", "mon") => "bench hours on Monday",
        ("hours", "tue") => "bench hours on Tuesday",
        ("hours", "wed") => "bench hours on Wednesday",
        ("hours", "thu") => "bench hours on Thursday",
        ("hours", "fri") => "bench hours on Friday",
        ("hours", "sat") => "bench hours on Saturday",
        ("hours", "sun") => "bench hours on Sunday",
        ("helper", "wage") => "helper's wage",
        ("jig", "build") => "time to build",
        ("jig", "lasts") => "pieces it lasts for",
        ("currencies", code) => return format!("worth of 1 {}", printable(code)),
        (_, word) => return printable(word).replace('_', " "),
    };
    words.to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::keys::{SECTIONS, Written};

    #[test]
    fn keys_read_as_words() {
        let all = [
            ("sale.price", "price"),
            ("target", "target"),
            ("step.glue pegs.each", "time per piece of 'glue pegs'"),
            ("step.\"cut, no. 2\".setup", "setup of 'cut, no. 2'"),
            ("channel.shop.order_of", "pieces in an order through 'shop'"),
            ("seconds.price", "price of seconds"),
            ("step.sew.done_by", "worker of 'sew'"),
            (
                "step.glue pegs.guessed_each",
                "first guess of the time per piece of 'glue pegs'",
            ),
            ("hours.sat", "bench hours on Saturday"),
            ("currencies.USD", "worth of 1 USD"),
        ];
        for (key, words) in all {
            assert_eq!(spoken(key), words);
        }
    }

    /// Two keys of one section that read alike could not be told apart on a map of both.
    #[test]
    fn no_key_keeps_its_underscores_and_no_two_of_a_section_read_alike() {
        for section in SECTIONS.iter().filter(|section| section.written != Written::Braces) {
            let words: Vec<String> = section.keys.iter().map(|key| called(section.word, key.name)).collect();
            for (k, word) in words.iter().enumerate() {
                assert!(
                    !word.contains('_') && !words[..k].contains(word),
                    "{}: {word}",
                    section.word
                );
            }
        }
    }
}
