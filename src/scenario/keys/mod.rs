//! The keys of a scenario file, each said once: where it stands, what it takes, what it means, and an example.
//!
//! The reader takes names, rules and words from this table and no others. It feeds the cures of faults, `batchwright keys`, the
//! forms of the pages and the tests, so that a key that is not in it is refused, and one that is in it is explained.
//!
//! ```
//! use batchwright_core::scenario::keys::{self, Takes};
//!
//! let spoiled = keys::key("batch", "spoiled").expect("it is a key");
//! let Takes::Choice(choices) = spoiled.takes else { panic!() };
//! assert_eq!(choices.iter().map(|choice| choice.word).collect::<Vec<_>>(), ["short", "remake"]);
//! ```

mod money;
mod rule;
#[cfg(test)]
mod tests;
mod work;

use serde::Serialize;

pub(crate) use rule::LARGEST_SIZE;
pub use rule::{Bound, Measure, Rule};
pub(super) use rule::{LARGEST, SMALLEST};

/// A section of the file and what may stand in it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Section {
    /// The word in its brackets; empty for the top of the file.
    pub word: &'static str,
    /// How it is written.
    pub written: Written,
    /// What it is for, in one or two sentences.
    pub about: &'static str,
    /// Its keys in the order in which a person would write them.
    pub keys: &'static [Key],
}

/// How a section is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Written {
    /// Above the first section.
    Top,
    /// Once: `[sale]`.
    Once,
    /// Once, and every key of it is a currency code; the table has one of them as an example.
    Codes,
    /// As often as there are such things: `[[step]]`.
    Each,
    /// In braces, as or within the value of another key.
    Braces,
}

/// One key.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Key {
    /// As it is written before the equals sign.
    pub name: &'static str,
    /// What its value is.
    pub takes: Takes,
    /// What is counted or measured, in words: `pieces`, `minutes or hours`; empty where nothing is.
    pub unit: &'static str,
    /// What is true without it, in words; empty where the section cannot do without it.
    pub default: &'static str,
    /// What is missed where it must be there: `what a buyer pays for a piece`; empty where it may be left out.
    pub needed: &'static str,
    /// Other keys of the same section without which it says nothing.
    pub with: &'static [&'static str],
    /// What it means, in one or two sentences.
    pub about: &'static str,
    /// A value as it is written behind the equals sign.
    pub example: &'static str,
}

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Takes {
    /// One line of text.
    Text,
    /// What the entry is called; no other of its kind is called the same.
    Name,
    /// The name of a step.
    Step,
    /// The name of a channel.
    Channel,
    /// Three letters for a currency (ISO 4217).
    Currency,
    /// An amount, certain or a range.
    Amount(Rule),
    /// A whole number, and the least that is allowed.
    Count(u32),
    /// One of a few words.
    Choice(&'static [Choice]),
    /// Batch sizes.
    Sizes,
    /// Hours of one day: a number, or a time.
    DayHours,
    /// Dates and stretches of dates.
    Dates,
    /// A range of pieces, or a list of counts.
    Buyers,
    /// What happens to a time: `x 0.5`, `- 2 min`.
    Change,
    /// How many fit: a number, or so many more: `+ 6`.
    Room,
    /// Price breaks, a list of tables in braces.
    Breaks,
    /// Changes of other keys, a list of texts.
    Changes,
    /// One figure of the amount in whose braces it stands.
    Figure,
    /// Logged values of the amount in whose braces it stands.
    Values,
    /// A unit of the amount in whose braces it stands.
    Unit,
}

/// One of a few words, and what it means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Choice {
    /// As it is written, between quotes.
    pub word: &'static str,
    /// What it means, in a few words.
    pub about: &'static str,
}

impl Takes {
    /// In words, for a person who is about to write it.
    #[must_use]
    pub fn in_words(&self) -> String {
        let range = |noun: &str, certain: bool| {
            if certain {
                noun.to_owned()
            } else {
                format!("{noun}, or a range")
            }
        };
        match self {
            Self::Text => "a text".to_owned(),
            Self::Name => "a name".to_owned(),
            Self::Step => "the name of a step".to_owned(),
            Self::Channel => "the name of a channel".to_owned(),
            Self::Currency => "three capital letters".to_owned(),
            Self::Amount(rule) => range(rule.measure.noun(), rule.certain),
            Self::Count(_) => "a whole number".to_owned(),
            Self::Choice(choices) => {
                let words: Vec<String> = choices.iter().map(|choice| format!("\"{}\"", choice.word)).collect();
                format!("one of {}", words.join(", "))
            }
            Self::Sizes => "sizes".to_owned(),
            Self::DayHours => "a number of hours, a time, or from when to when".to_owned(),
            Self::Dates => "a list of dates".to_owned(),
            Self::Buyers => "a number, a range, or a list of counts".to_owned(),
            Self::Change => "a change of time".to_owned(),
            Self::Room => "a whole number, or so many more".to_owned(),
            Self::Breaks => "a list of price breaks".to_owned(),
            Self::Changes => "a list of changes".to_owned(),
            Self::Figure => "one amount".to_owned(),
            Self::Values => "a list of amounts".to_owned(),
            Self::Unit => "a unit".to_owned(),
        }
    }

    /// Whether it is a whole number.
    #[must_use]
    pub const fn is_whole(&self) -> bool {
        matches!(self, Self::Count(_) | Self::Room)
    }
}

impl Key {
    const fn new(name: &'static str, takes: Takes, example: &'static str, about: &'static str) -> Self {
        let unit = match takes {
            Takes::Amount(rule) => rule.measure.unit(),
            Takes::Count(_) | Takes::Sizes | Takes::Buyers | Takes::Room => "pieces",
            Takes::DayHours => "hours",
            _ => "",
        };
        Self {
            name,
            takes: match takes {
                Takes::Amount(rule) => Takes::Amount(rule.such_as(example)),
                other => other,
            },
            unit,
            default: "nothing is said",
            needed: "",
            with: &[],
            about,
            example,
        }
    }

    const fn default(self, default: &'static str) -> Self {
        Self { default, ..self }
    }

    const fn needed(self, needed: &'static str) -> Self {
        Self {
            default: "",
            needed,
            ..self
        }
    }

    const fn unit(self, unit: &'static str) -> Self {
        Self { unit, ..self }
    }

    const fn with(self, with: &'static [&'static str]) -> Self {
        Self { with, ..self }
    }

    /// Whether its section cannot do without it.
    #[must_use]
    pub const fn is_needed(&self) -> bool {
        self.default.is_empty()
    }
}

/// The top of the file and its sections, in the order in which a person would write them, then what stands in braces.
pub static SECTIONS: &[Section] = &[
    work::TOP,
    work::BATCH,
    work::PACE,
    work::STEP,
    work::MATERIAL,
    money::SALE,
    money::CHANNEL,
    money::SELLING_DAY,
    money::SECONDS,
    money::CURRENCIES,
    money::SHOP,
    money::SEASON,
    money::STEADY,
    work::HOURS,
    work::HELPER,
    work::JIG,
    work::MISFORTUNE,
    work::BREAKS,
    work::RANGE,
];

/// What the keys begin with that keep what was guessed before a work log.
pub const GUESSED: &str = "guessed_";
/// The word of a price break.
pub(super) const BREAKS: &str = "breaks";
/// The word of a range in braces.
pub(super) const RANGE: &str = "range";

/// A section by its word.
#[must_use]
pub fn section(word: &str) -> Option<&'static Section> {
    SECTIONS.iter().find(|section| section.word == word)
}

/// A key by its section's word and its name.
#[must_use]
pub fn key(section: &str, name: &str) -> Option<&'static Key> {
    self::section(section)?.keys.iter().find(|key| key.name == name)
}

/// Every key with its section's word; the empty word is the top. Currency codes are not among them.
pub fn all() -> impl Iterator<Item = (&'static str, &'static Key)> {
    SECTIONS
        .iter()
        .filter(|section| section.written != Written::Codes)
        .flat_map(|section| section.keys.iter().map(|key| (section.word, key)))
}

/// What may stand in a section; at the top sections stand too.
pub(super) fn known(word: &str) -> impl Iterator<Item = &'static str> {
    let keys = section(word).map_or(&[][..], |section| section.keys);
    let sections = SECTIONS.iter().filter(move |_| word.is_empty());
    keys.iter().map(|key| key.name).chain(
        sections
            .filter(|section| section.has_brackets())
            .map(|section| section.word),
    )
}

/// What a person is told may stand in a section: a log puts the rest there.
pub(super) fn offered(word: &str) -> impl Iterator<Item = &'static str> {
    known(word).filter(|key| !key.starts_with(GUESSED))
}

/// Whether a key of this name takes a text or a name, whatever that looks like.
pub(super) fn is_text(name: &str) -> bool {
    let text = |takes: Takes| {
        matches!(
            takes,
            Takes::Text | Takes::Name | Takes::Step | Takes::Channel | Takes::Currency
        )
    };
    all().any(|(_, key)| key.name == name && text(key.takes))
}

/// Whether a word is that of a section in double brackets.
pub(super) fn is_list(word: &str) -> bool {
    section(word).is_some_and(|section| section.written == Written::Each)
}

/// Whether a word is that of a section in brackets.
pub(super) fn is_section(word: &str) -> bool {
    section(word).is_some_and(Section::has_brackets)
}

impl Section {
    const fn has_brackets(&self) -> bool {
        matches!(self.written, Written::Once | Written::Codes | Written::Each)
    }

    /// Its line in the file: `[sale]`, `[[step]]`; empty for the top and for braces.
    #[must_use]
    pub fn header(&self) -> String {
        match self.written {
            Written::Each => format!("[[{}]]", self.word),
            Written::Once | Written::Codes => format!("[{}]", self.word),
            Written::Top | Written::Braces => String::new(),
        }
    }
}
