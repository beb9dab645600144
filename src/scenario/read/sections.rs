//! Sections and lists of them, and what stands in them that they do not know.

use std::collections::HashSet;

use crate::scenario::faults::{Fault, SourceSpan, nearest, quoted};
use crate::scenario::keys::{self, Written};
use crate::scenario::toml;
use crate::scenario::tree::{Table, Value};

use super::reader::{Reader, Section};

/// Keys that a section does not know although their word is known elsewhere, and what was meant by them: section, key, cure.
const MEANT: &[(&str, &str, &str)] = &[
    (
        "step",
        "price",
        "what a buyer pays is the `price` of [sale]; what a step uses up is a [[material]], with a `price` of its own",
    ),
    (
        "step",
        "cost",
        "what a step uses up is a [[material]] with its `price`; what every hour costs is `per_hour` of [shop]",
    ),
    (
        "step",
        "channel",
        "a step is the same for every channel; write the time that one channel takes for an order as its `per_order` under \
         [[channel]]",
    ),
    ("material", "cost", "write what one unit costs as `price`"),
    ("material", "step", "write the step where it goes in as `at`"),
    ("sale", "vat", "write the sales tax that is in the price as `tax`"),
    ("sale", "postage", "write what sending an order costs as `post`"),
    ("sale", "shipping", "write what sending an order costs as `post`"),
    (
        "sale",
        "delivery",
        "write what delivering an order costs as `post`, and what the buyer pays for it as `post_charged`",
    ),
    (
        "sale",
        "delivery_charge",
        "write what the buyer pays for delivery as `post_charged`",
    ),
    (
        "sale",
        "deposit",
        "leave it out: a deposit changes when you are paid, and not what an hour earns",
    ),
    (
        "sale",
        "commission",
        "write the share that goes to whoever sells it as `fee`",
    ),
    ("", "hourly_rate", "write what an hour should earn as `target`"),
    (
        "",
        "wage",
        "write what an hour of yours should earn as `target`, and what one of a helper costs as `wage` under [helper]",
    ),
    (
        "sale",
        "cost",
        "what a piece costs follows from its steps, materials and [shop]; write what it uses up as [[material]]",
    ),
];
/// Entries of one kind of section, which each question goes through many times.
const MOST_ENTRIES: usize = 500;

impl Reader<'_> {
    /// A section that may be absent. Its unknown keys are reported here.
    pub(super) fn section<'t>(&mut self, top: &Section<'t>, word: &'static str, title: &'t str) -> Option<Section<'t>> {
        let node = top.get(word)?;
        match &node.value {
            Value::Table(table) => {
                let section = Section {
                    word,
                    title,
                    table,
                    place: &node.place,
                };
                self.unknown_keys(&section);
                Some(section)
            }
            Value::List(_) => {
                self.faults.push(Fault::new(
                    top.key_place(word),
                    format!("{title} is written once, in single brackets"),
                    "not a list",
                    format!("write `{title}`"),
                ));
                None
            }
            _ => {
                self.faults.push(Fault::new(
                    top.key_place(word),
                    format!("`{word}` is a section, not {}", node.kind()),
                    "must be a section",
                    format!(
                        "write a line `{title}` and under it {}",
                        keys::offered(word)
                            .map(|k| format!("`{k}`"))
                            .collect::<Vec<_>>()
                            .join(", ")
                    ),
                ));
                None
            }
        }
    }

    /// A list of tables that may be absent; `None` where absent, empty or malformed, the last with a fault.
    pub(super) fn list<'t>(
        &mut self,
        top: &Section<'t>,
        word: &'static str,
    ) -> Option<Vec<(&'t Table, &'t SourceSpan)>> {
        let node = top.get(word)?;
        let mut tables = Vec::new();
        match &node.value {
            Value::List(list) => {
                if let Some(further) = list.get(MOST_ENTRIES) {
                    self.faults.push(Fault::new(
                        further.place.clone(),
                        format!(
                            "there are {} [[{word}]], and at most {MOST_ENTRIES} are taken",
                            list.len()
                        ),
                        "one too many",
                        format!("put several together under one [[{word}]]"),
                    ));
                }
                for item in list.iter().take(MOST_ENTRIES) {
                    match &item.value {
                        Value::Table(table) => tables.push((table, &item.place)),
                        _ => self.faults.push(Fault::new(
                            item.place.clone(),
                            format!("a {word} is a section, not {}", item.kind()),
                            "must be a section",
                            format!("write each {word} under its own line `[[{word}]]`"),
                        )),
                    }
                }
            }
            Value::Table(_) => {
                self.faults.push(toml::one_bracket(top.key_place(word), word));
                return None;
            }
            _ => {
                self.faults.push(Fault::new(
                    top.key_place(word),
                    format!("`{word}` is a section in double brackets, not {}", node.kind()),
                    "double brackets are due",
                    format!("write `[[{word}]]`"),
                ));
                return None;
            }
        }
        (!tables.is_empty()).then_some(tables)
    }

    /// Names must tell the entries of a list apart.
    pub(super) fn unique<'n>(
        &mut self,
        list: &[(&Table, &SourceSpan)],
        what: &str,
        names: impl Iterator<Item = &'n str>,
    ) {
        let mut seen = HashSet::new();
        for (name, (table, place)) in names.zip(list) {
            if name.is_empty() {
                continue;
            }
            if !seen.insert(name) {
                let at = table
                    .get("name")
                    .map_or_else(|| (*place).clone(), |(_, n)| n.place.clone());
                self.faults.push(Fault::new(
                    at,
                    format!("two of the {what}s are called {}", quoted(name)),
                    "used before",
                    "give each its own name, for example with a number at the end",
                ));
            }
        }
    }

    /// Reports what a section has and cannot have.
    pub(super) fn unknown_keys(&mut self, s: &Section<'_>) {
        if s.word == "currencies" {
            return;
        }
        let known: Vec<&str> = keys::known(s.word).collect();
        // What stands for [sale] there is meant alike.
        let sells = matches!(s.word, "channel" | "seconds");
        for (key, node) in &s.table.entries {
            let word = key.text.as_str();
            if known.contains(&word) {
                continue;
            }
            let sectionlike = s.word.is_empty()
                && match &node.value {
                    Value::Table(_) => true,
                    Value::List(list) => list.iter().any(|n| n.as_table().is_some()),
                    _ => false,
                };
            let elsewhere: Vec<&keys::Section> = keys::SECTIONS
                .iter()
                .filter(|section| section.word != s.word && section.written != Written::Braces)
                .filter(|section| keys::known(section.word).any(|key| key == word))
                .filter(|section| !section.word.is_empty() || s.word.is_empty() || !keys::is_section(word))
                .collect();
            // A section's name is not a sensible guess for a plain key, nor the other way round.
            let candidates = known
                .iter()
                .copied()
                .filter(|k| !s.word.is_empty() || keys::is_section(k) == sectionlike);
            // `monday`, `tues`: a day in full.
            let day = known
                .iter()
                .copied()
                .find(|day| s.word == "hours" && word.to_lowercase().starts_with(day));
            let near = day.or_else(|| nearest(word, candidates));
            let what = if sectionlike {
                format!("there is no section {}", quoted(word))
            } else if s.title.is_empty() {
                format!("{} is not known at the top of a scenario", quoted(word))
            } else {
                format!("{} is not known in {}", quoted(word), s.title)
            };
            let meant = MEANT
                .iter()
                .find(|(section, key, _)| *key == word && (*section == s.word || (*section == "sale" && sells)));
            let cure = match (meant, near) {
                (Some((.., cure)), _) => (*cure).to_owned(),
                (None, Some(near)) if sectionlike => format!("did you mean {}?", header(near)),
                (None, Some(near)) => format!("did you mean `{near}`?"),
                (None, None) if elsewhere.is_empty() => may_stand(s, sectionlike),
                (None, None) => belongs(word, &elsewhere, key.place.source > 0),
            };
            self.faults.push(Fault::new(key.place.clone(), what, "not known", cure));
        }
    }
}

/// Where a word that stands in the wrong place belongs; `alone`: it was written for one call and not in a file.
fn belongs(word: &str, elsewhere: &[&keys::Section], alone: bool) -> String {
    match elsewhere {
        [top] if top.word.is_empty() && keys::is_section(word) => {
            format!("{} is a section of its own: {}", quoted(word), header(word))
        }
        _ if alone => {
            let keys: Vec<String> = elsewhere.iter().map(|section| full_key(section, word)).collect();
            format!("write the key with its section: {}", keys.join(" or "))
        }
        [top] if top.word.is_empty() => format!("`{word}` belongs at the top, above the first [section]"),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(|section| section.header()).collect();
            let or = if first.is_empty() { "" } else { " or " };
            format!("`{word}` belongs under {}{or}{}", first.join(", "), last.header())
        }
        [] => String::new(),
    }
}

/// What could stand where an unknown word does.
fn may_stand(s: &Section<'_>, sectionlike: bool) -> String {
    if sectionlike {
        let headers = keys::SECTIONS.iter().map(keys::Section::header);
        let headers: Vec<_> = headers.filter(|header| !header.is_empty()).collect();
        return format!("the sections are {}", headers.join(", "));
    }
    let plain = keys::offered(s.word).filter(|k| !s.word.is_empty() || !keys::is_section(k));
    let plain: Vec<String> = plain.map(|k| format!("`{k}`")).collect();
    format!("these may stand here: {}", plain.join(", "))
}

/// A key as it is written for one call, `sale.price` or `step.NAME.each`.
fn full_key(section: &keys::Section, key: &str) -> String {
    let name = if section.header().starts_with("[[") {
        "NAME."
    } else {
        ""
    };
    match section.word {
        "" => format!("`{key}`"),
        word => format!("`{word}.{name}{key}`"),
    }
}

fn header(word: &str) -> String {
    keys::section(word).map_or_else(String::new, keys::Section::header)
}
