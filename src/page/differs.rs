//! What differs between two texts, value by value: what the page calls a change.

use serde::Serialize;

use crate::scenario::written::{self, Section};

/// A value that is another one; with an empty key, a section that is new or gone.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub(super) struct Difference {
    section: String,
    name: Option<String>,
    key: String,
    /// As a person writes it; absent: it was not there.
    was: Option<String>,
    /// Absent: it is not there any more.
    now: Option<String>,
}

/// Sections are the same by their names, or by their place where they have none; an order of sections is no difference.
pub(super) fn differences(before: &str, now: &str) -> Vec<Difference> {
    let (Some(before), Some(now)) = (written::sections(before), written::sections(now)) else {
        return Vec::new();
    };
    let one = |section: &Section, key: &str, was: Option<&String>, now: Option<&String>| Difference {
        section: section.word.clone(),
        name: section.name.clone(),
        key: key.to_owned(),
        was: was.cloned(),
        now: now.cloned(),
    };
    let mut found = Vec::new();
    for section in &now {
        let Some(old) = same(&before, section) else {
            found.push(one(section, "", None, Some(&String::new())));
            continue;
        };
        let written = |of: &Section, key: &str| of.values.iter().find(|v| v.key == key).map(|v| v.shown.clone());
        for value in &section.values {
            let was = written(old, &value.key);
            if was.as_ref() != Some(&value.shown) {
                found.push(one(section, &value.key, was.as_ref(), Some(&value.shown)));
            }
        }
        for value in old.values.iter().filter(|value| written(section, &value.key).is_none()) {
            found.push(one(section, &value.key, Some(&value.shown), None));
        }
    }
    for section in before.iter().filter(|section| same(&now, section).is_none()) {
        found.push(one(section, "", Some(&String::new()), None));
    }
    found
}

fn same<'a>(among: &'a [Section], section: &Section) -> Option<&'a Section> {
    among.iter().find(|other| {
        other.word == section.word
            && other.name == section.name
            && (section.name.is_some() || other.entry == section.entry)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_sections_and_names_are_told_and_an_order_is_not() {
        let before = "title = \"Hook\"\ntarget = 25\n[sale]\nprice = 18 # by hand\nfee = \"8 %\"\n[[step]]\nname = \"forge\"\neach = \"12 min\"\n[[step]]\nname = \"oil\"\neach = \"5 min\"\n";
        assert_eq!(differences(before, &before.replace("# by hand", "")), []);
        let moved = "title = \"Hook\"\ntarget = 25\n[sale]\nprice = 18\nfee = \"8 %\"\n[[step]]\nname = \"oil\"\neach = \"5 min\"\n[[step]]\nname = \"forge\"\neach = \"12 min\"\n";
        assert_eq!(differences(before, moved), []);
        let now = before
            .replace("price = 18", "price = 21")
            .replace("fee = \"8 %\"", "post = 4")
            .replace("\"oil\"", "\"wax\"");
        let told: Vec<_> = differences(before, &now)
            .into_iter()
            .map(|d| (d.section, d.name, d.key, d.was, d.now))
            .collect();
        let of = |section: &str, name: Option<&str>, key: &str, was: Option<&str>, now: Option<&str>| {
            let own = |text: Option<&str>| text.map(str::to_owned);
            (section.to_owned(), own(name), key.to_owned(), own(was), own(now))
        };
        assert_eq!(
            told,
            [
                of("sale", None, "price", Some("18"), Some("21")),
                of("sale", None, "post", None, Some("4")),
                of("sale", None, "fee", Some("8 %"), None),
                of("step", Some("wax"), "", None, Some("")),
                of("step", Some("oil"), "", Some(""), None),
            ]
        );
        assert_eq!(differences(before, "no text"), []);
    }
}
