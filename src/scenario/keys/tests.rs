//! The table of keys held to the reader, both ways.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use super::*;
use crate::scenario::read;

/// A scenario in which every section can stand.
const BASE: &str = "target = 30\n[[step]]\nname = \"drill\"\nsetup = \"10 min\"\neach = \"4 min\"\nroom = 6\n[sale]\nprice = 58\n[hours]\nmon = 2\n";

/// The base with this section in it: what it needs, what `key` says nothing without, and the value of `key` itself.
fn with(section: &Section, key: &Key, value: &str) -> String {
    let mut lines = vec![format!("{} = {value}", key.name)];
    for other in section.keys {
        let wanted = other.is_needed() || key.with.contains(&other.name);
        if wanted && other.name != key.name {
            lines.push(format!("{} = {}", other.name, other.example));
        }
    }
    let names = |name: &str| section.keys.iter().any(|key| key.name == name);
    match section.word {
        "" => {
            let rest = BASE.replace("target = 30\n", "");
            format!("{}\n{rest}", lines.join("\n"))
        }
        "sale" | "hours" => {
            let header = section.header();
            let (before, after) = BASE.split_once(&format!("{header}\n")).unwrap();
            let (_, after) = after.split_once('\n').unwrap();
            if section.word == "hours" && key.name != "mon" {
                lines.push("mon = 2".to_owned());
            }
            format!("{before}{header}\n{}\n{after}", lines.join("\n"))
        }
        BREAKS => format!(
            "{BASE}[[material]]\nname = \"oak\"\nper_piece = 1\nprice = 7\nbreaks = [{{ {} }}]\n",
            lines.join(", ")
        ),
        RANGE => format!("{BASE}[[step]]\nname = \"saw\"\neach = {{ {} }}\n", range(key, value)),
        _ => {
            if section.word == "material" && !key.name.starts_with("per_") && key.name != "channel" {
                lines.push("per_piece = 1".to_owned());
            }
            if section.word == "material" && key.name == "channel" {
                lines.push("[[channel]]\nname = \"post\"\nshare = \"100 %\"".to_owned());
            }
            if section.word == "step" && key.name == "done_by" {
                lines.push("[helper]\nwage = 18".to_owned());
            }
            if section.word == "seconds" {
                lines.push("[[step]]\nname = \"glaze\"\nsecond = \"8 %\"".to_owned());
            }
            if section.word == "jig" && !["setup", "each", "room"].contains(&key.name) {
                lines.push("each = \"x 0.5\"".to_owned());
            }
            if section.word == "channel" {
                let share = if key.name == "share" { value } else { "\"40 %\"" };
                let others = if share == "\"40 %\"" { "60 %" } else { "50 %" };
                lines.push(format!("[[channel]]\nname = \"the rest\"\nshare = \"{others}\""));
            }
            assert!(section.written == Written::Codes || names(key.name));
            format!("{BASE}{}\n{}\n", section.header(), lines.join("\n"))
        }
    }
}

/// A range in which the key says something.
fn range(key: &Key, value: &str) -> String {
    let own = format!("{} = {value}", key.name);
    match key.name {
        "low" => format!("{own}, high = 25, unit = \"min\""),
        "likely" | "shape" => {
            format!("low = 8, high = 25, unit = \"min\", {own}")
                + if key.name == "shape" { ", likely = 12" } else { "" }
        }
        "high" => format!("low = 8, {own}, unit = \"min\""),
        "values" => format!("shape = \"logged\", unit = \"min\", {own}"),
        _ => format!("low = 8, high = 25, {own}") + if key.name == "unit" { "" } else { ", unit = \"min\"" },
    }
}

fn each() -> impl Iterator<Item = (&'static Section, &'static Key)> {
    SECTIONS.iter().flat_map(|s| s.keys.iter().map(move |key| (s, key)))
}

#[test]
fn every_example_is_read() {
    for (section, key) in each() {
        let text = with(section, key, key.example);
        if let Err(faults) = read("example", &text, &[]) {
            panic!("{} {}\n{}", section.word, key.name, faults.render(false, 100));
        }
    }
}

/// Each word of a choice is one that the reader knows.
#[test]
fn every_choice_is_read() {
    let mut seen = 0;
    for (section, key) in each() {
        let Takes::Choice(choices) = key.takes else { continue };
        for choice in choices {
            seen += 1;
            let text = with(section, key, &format!("\"{}\"", choice.word));
            let faults = read("choice", &text, &[]).err();
            let words = faults
                .iter()
                .flat_map(|faults| faults.iter().map(|fault| fault.what().to_owned()));
            // What goes together with another key than the test has is said so; the word itself is known.
            let unknown = |what: &String| what.contains("not one of its words") || what.contains("is not a word");
            assert_eq!(words.filter(unknown).collect::<Vec<_>>(), Vec::<String>::new());
        }
    }
    assert!(seen > 10, "{seen} words");
}

/// What the reader never looks at would be taken whatever it is.
#[test]
fn every_key_is_looked_at() {
    for (section, key) in each() {
        let text = with(section, key, "[[true]]");
        let at = text.find("[[true]]").unwrap();
        let faults = read("wrong", &text, &[]).expect_err(key.name);
        let there = |fault: &crate::scenario::Fault| fault.span().start <= at + 8 && fault.span().end >= at;
        assert!(
            faults.iter().any(there),
            "{} {}\n{}",
            section.word,
            key.name,
            faults.render(false, 100)
        );
    }
}

/// Every other example reads without the keys that may be left out, so that only these are needed.
#[test]
fn what_is_needed_is_missed() {
    let bracketed = |section: &&Section| !matches!(section.written, Written::Codes | Written::Braces);
    let mut seen = 0;
    for section in SECTIONS.iter().filter(bracketed) {
        for key in section.keys.iter().filter(|key| key.is_needed()) {
            seen += 1;
            let own = format!("{} = {}\n", key.name, key.example);
            let text = with(section, key, key.example);
            assert_eq!(text.matches(&own).count(), 1, "{text}");
            let faults = read("without", &text.replace(&own, ""), &[]).expect_err(key.name);
            let named = format!("`{}`", key.name);
            assert!(
                faults.iter().any(|fault| fault.what().contains(&named)),
                "{}",
                faults.render(false, 100)
            );
        }
    }
    assert!(seen > 8, "{seen} keys");
}

#[test]
fn the_table_is_written_in_whole_sentences() {
    let mut seen = std::collections::BTreeSet::new();
    for section in SECTIONS {
        assert!(section.about.ends_with('.'), "{}", section.word);
        assert!(seen.insert(section.word), "{} stands twice", section.word);
        let mut names = std::collections::BTreeSet::new();
        for key in section.keys {
            assert!(names.insert(key.name), "{} stands twice", key.name);
            assert!(key.about.ends_with('.'), "{} {}", section.word, key.name);
            assert!(
                key.about
                    .split(['.', '?'])
                    .all(|sentence| sentence.split_whitespace().count() <= 25),
                "{} {}: {}",
                section.word,
                key.name,
                key.about
            );
            assert!(
                !(key.needed.is_empty() && key.default.is_empty()),
                "{} {}",
                section.word,
                key.name
            );
            for with in key.with {
                assert!(section.keys.iter().any(|other| other.name == *with), "{with}");
            }
        }
    }
}
