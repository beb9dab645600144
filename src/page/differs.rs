//! What differs between two texts, value by value: what the page calls a change.

use serde::Serialize;

use crate::scenario::keys::GUESSED;
use crate::scenario::written::{self, Section, Value};

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
    /// Whether one time in ten is below the first number of what it is now, and one in ten above the last.
    tenths: bool,
}

/// Sections are the same by their names, or by their place where they have none; an order of sections is no difference. Of a section that is
/// new its values are told where all are wanted.
pub(super) fn differences(before: &str, now: &str, all: bool) -> Vec<Difference> {
    let (Some(before), Some(now)) = (written::sections(before), written::sections(now)) else {
        return Vec::new();
    };
    let whole = |section: &Section, was: Option<&str>, now: Option<&str>| Difference {
        section: section.word.clone(),
        name: section.name.clone(),
        key: String::new(),
        was: was.map(str::to_owned),
        now: now.map(str::to_owned),
        tenths: false,
    };
    let one = |section: &Section, was: Option<&Value>, now: Option<&Value>| {
        // Where only the form is another one, it is told as it is written.
        let form = was.zip(now).is_some_and(|(was, now)| was.said == now.said);
        let told = |value: &Value| if form { &value.shown } else { &value.said }.clone();
        Difference {
            key: was.or(now).map(|value| value.key.clone()).unwrap_or_default(),
            was: was.map(told),
            now: now.map(told),
            tenths: now.is_some_and(|value| value.tenths),
            ..whole(section, None, None)
        }
    };
    let mut found = Vec::new();
    for section in &now {
        let Some(old) = same(&before, section) else {
            if all {
                found.extend(section.values.iter().map(|value| one(section, None, Some(value))));
            } else {
                found.push(whole(section, None, Some("")));
            }
            continue;
        };
        let at = |of: &Section, key: &str| of.values.iter().position(|value| value.key == key);
        for value in &section.values {
            let was = at(old, &value.key).map(|k| &old.values[k]);
            if was.map(|was| &was.shown) != Some(&value.shown) {
                found.push(one(section, was, Some(value)));
            }
        }
        for value in old.values.iter().filter(|value| at(section, &value.key).is_none()) {
            found.push(one(section, Some(value), None));
        }
    }
    for section in before.iter().filter(|section| same(&now, section).is_none()) {
        found.push(whole(section, Some(""), None));
    }
    // A guess that is kept is the old value of a change that is told.
    found.retain(|one| one.was.is_some() || !one.key.starts_with(GUESSED));
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
        assert_eq!(differences(before, &before.replace("# by hand", ""), false), []);
        let moved = "title = \"Hook\"\ntarget = 25\n[sale]\nprice = 18\nfee = \"8 %\"\n[[step]]\nname = \"oil\"\neach = \"5 min\"\n[[step]]\nname = \"forge\"\neach = \"12 min\"\n";
        assert_eq!(differences(before, moved, false), []);
        let now = before
            .replace("price = 18", "price = 21")
            .replace("fee = \"8 %\"", "post = 4")
            .replace("\"oil\"", "\"wax\"");
        let told: Vec<_> = differences(before, &now, false)
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
        assert_eq!(differences(before, "no text", false), []);
    }

    #[test]
    fn a_range_in_braces_is_said_as_its_numbers_and_a_new_section_by_its_values() {
        let before = "[[step]]\nname = \"forge\"\neach = \"12 min\"\nsetup = \"3 / 4 / 6 min\"\n";
        let now = before
            .replace(
                "\"12 min\"",
                "{ low = 9.5, likely = 12, high = 16, unit = \"min\", ends = \"tenths\" }",
            )
            .replace(
                "\"3 / 4 / 6 min\"",
                "{ low = 3, likely = 4, high = 6, unit = \"min\", shape = \"pert\" }",
            )
            + "[pace]\nfactor = { shape = \"logged\", values = [0.9, 1, 1.2] }\n";
        let told: Vec<_> = differences(before, &now, true)
            .into_iter()
            .map(|d| (d.key, d.was, d.now, d.tenths))
            .collect();
        let own = |text: &str| Some(text.to_owned());
        assert_eq!(
            told,
            [
                ("each".to_owned(), own("12 min"), own("9.5 / 12 / 16 min"), true),
                // Its form alone is another one.
                (
                    "setup".to_owned(),
                    own("3 / 4 / 6 min"),
                    own("{ low = 3, likely = 4, high = 6, unit = \"min\", shape = \"pert\" }"),
                    false
                ),
                (
                    "factor".to_owned(),
                    None,
                    own("one of 0.9, 1, 1.2, each as likely"),
                    false
                ),
            ]
        );
    }
}
