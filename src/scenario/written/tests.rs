use super::*;
use crate::scenario;
use std::path::Path;

fn shipped() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios");
    let mut found: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| (path.display().to_string(), std::fs::read_to_string(path).unwrap()))
        .collect();
    found.sort();
    assert!(found.len() > 5);
    found
}

fn one(text: &str, key: &str) -> Value {
    let sections = sections(text).unwrap();
    sections
        .into_iter()
        .flat_map(|s| s.values)
        .find(|v| v.key == key)
        .unwrap()
}

fn address(section: &Section, value: &Value) -> Address {
    Address {
        section: section.word.clone(),
        entry: section.entry,
        key: value.key.clone(),
    }
}

/// A number as it was written.
fn again(figures: &Figures) -> String {
    let mut out = figures.between[0].clone();
    for (figure, after) in figures.list.iter().zip(&figures.between[1..]) {
        out += &if figure.hours_and_minutes {
            format!("{} h {} min", (figure.value / 60.0).floor(), figure.value % 60.0)
        } else {
            format!("{:.*}", figure.decimals, figure.value)
        };
        out += after;
    }
    out
}

#[test]
fn every_value_of_the_shipped_scenarios_is_found_and_its_numbers_stand_where_they_are_said_to() {
    for (name, text) in shipped() {
        let sections = sections(&text).unwrap();
        assert!(sections.is_sorted_by_key(|s| s.start), "{name}");
        // Lines within a list over several lines begin with a quote.
        let begins = |line: &str| line.starts_with(|c: char| c.is_ascii_alphabetic()) && line.contains('=');
        let lines = text.lines().filter(|line| begins(line.trim_start())).count();
        let values: usize = sections.iter().map(|s| s.values.len()).sum();
        assert!(values >= lines, "{name}: {values} values, {lines} lines with one");
        for value in sections.iter().flat_map(|s| &s.values) {
            assert!(
                text[value.span.clone()].contains(value.shown.as_str()),
                "{name}: {value:?}"
            );
            if let Some(figures) = &value.figures {
                assert_eq!(again(figures), value.shown, "{name}");
                let largest = figures.list.iter().map(|f| f.value * f.worth).fold(0.0, f64::max);
                assert!(
                    figures.top >= largest && figures.step > 0.0 && figures.step <= figures.top / 10.0,
                    "{name}: {value:?}"
                );
            }
        }
    }
}

/// What is typed into the text is read as the same value given for one call.
#[test]
fn a_typed_value_means_what_it_means_given_for_one_call_and_no_other_byte_moves() {
    for (name, text) in shipped() {
        for mark in ["", "\u{feff}"] {
            let text = format!(
                "{mark}{}",
                text.replace('\n', if mark.is_empty() { "\n" } else { "\r\n" })
            );
            for section in sections(&text).unwrap() {
                for value in &section.values {
                    let Some(figures) = &value.figures else { continue };
                    let mut moved = figures.clone();
                    for figure in &mut moved.list {
                        figure.value = if figure.value == 0.0 { 0.0 } else { figure.value + 1.0 };
                    }
                    let typed = again(&moved);
                    let new = with_typed(&text, &[(address(&section, value), typed.clone())]).unwrap();
                    assert_eq!(new[..value.span.start], text[..value.span.start], "{name}");
                    assert!(new.ends_with(&text[value.span.end..]), "{name}");
                    let key = match (&section.name, section.word.as_str()) {
                        (_, "") => value.key.clone(),
                        (Some(owner), word) => format!("{word}.{owner}.{}", value.key),
                        (None, word) => format!("{word}.{}", value.key),
                    };
                    let written = scenario::read(&name, &new, &[]);
                    let given = scenario::read(&name, &text, &[(key.clone(), typed.clone())]);
                    match (written, given) {
                        (Ok(written), Ok(given)) => {
                            assert_eq!(written, given, "{name}: {key}={typed}");
                        }
                        (Err(written), Err(given)) => {
                            assert_eq!(written.count(), given.count(), "{name}: {key}={typed}")
                        }
                        (written, given) => panic!("{name}: {key}={typed}: {written:?} against {given:?}"),
                    }
                }
            }
        }
    }
}

#[test]
fn typed_as_it_is_shown_nothing_changes() {
    for (name, text) in shipped() {
        let sections = sections(&text).unwrap();
        let all: Vec<(Address, String)> = sections
            .iter()
            .flat_map(|s| s.values.iter().map(|v| (address(s, v), v.shown.clone())))
            .collect();
        assert_eq!(with_typed(&text, &all).unwrap(), text, "{name}");
    }
}

#[test]
fn what_is_typed_stays_one_value() {
    let text = "title = \"a\" # what it is\n[sale]\nprice = 62\npost = '5 / 6'\nsizes = [1,\n 2]\n";
    let put = |section: &str, key: &str, typed: &str| {
        let at = Address {
            section: section.to_owned(),
            entry: None,
            key: key.to_owned(),
        };
        with_typed(text, &[(at, typed.to_owned())]).unwrap()
    };
    for (section, key, typed, line) in [
        ("sale", "price", "58.50", "price = 58.50\n"),
        ("sale", "price", "5 / 6", "price = \"5 / 6\"\n"),
        ("sale", "price", "1 # x", "price = \"1 # x\"\n"),
        ("sale", "price", "", "price = \"\"\n"),
        (
            "sale",
            "price",
            "{ low = 1, high = 2 }",
            "price = { low = 1, high = 2 }\n",
        ),
        ("sale", "post", "7", "post = '7'\n"),
        ("sale", "post", "it's", "post = \"it's\"\n"),
        ("", "title", "2027", "title = \"2027\" # what it is\n"),
        ("", "title", "say \"a\\b\"", "title = 'say \"a\\b\"' # what it is\n"),
        ("", "title", "\"a b\"", "title = \"a b\" # what it is\n"),
        ("sale", "sizes", "[3]", "sizes = [3]\n"),
    ] {
        assert!(
            put(section, key, typed).contains(line),
            "{typed}: {}",
            put(section, key, typed)
        );
    }
    // Whatever is typed, what follows it stays what it was.
    for typed in [
        "1\n[shop]\nper_hour = 9",
        "\"\"\"",
        "'",
        "\"\nx = \"",
        "{",
        "[",
        "\u{0}",
        "1 }",
        "\\",
    ] {
        for (section, key) in [("sale", "price"), ("sale", "post"), ("", "title")] {
            let new = sections(&put(section, key, typed)).unwrap_or_else(|| panic!("{typed:?} at {key}"));
            let old = sections(text).unwrap();
            assert_eq!(new.len(), old.len(), "{typed:?} at {key}");
            for (new, old) in new.iter().zip(&old) {
                let keys = |s: &Section| s.values.iter().map(|v| v.key.clone()).collect::<Vec<_>>();
                assert_eq!(keys(new), keys(old), "{typed:?} at {key}");
            }
            let typed_again = one(&put(section, key, typed), key).shown;
            assert_eq!(
                typed_again.trim_matches(['"', '\'']),
                typed.trim_matches(['"', '\'']),
                "at {key}"
            );
        }
    }
    let nowhere = Address {
        section: "sale".to_owned(),
        entry: None,
        key: "tax".to_owned(),
    };
    assert!(
        with_typed(text, &[(nowhere, "1".to_owned())])
            .unwrap_err()
            .contains("`tax`")
    );
}

#[test]
fn numbers_are_taken_apart_with_their_units() {
    let of = |written: &str| one(&format!("[step]\neach = {written} # a word on it"), "each");
    let values = |written: &str| {
        let figures = of(written).figures.unwrap();
        figures.list.iter().map(|f| (f.value, f.worth)).collect::<Vec<_>>()
    };
    assert_eq!(values("\"8 / 12 / 25 min\""), [(8.0, 1.0), (12.0, 1.0), (25.0, 1.0)]);
    assert_eq!(
        values("\"45 min / 1 h / 2 h\""),
        [(45.0, 1.0), (1.0, 60.0), (2.0, 60.0)]
    );
    assert_eq!(values("\"1 h 30 min\""), [(90.0, 1.0)]);
    assert_eq!(values("\"1 h 30\""), [(90.0, 1.0)]);
    assert_eq!(values("\"1 h 30 / 2 h\""), [(90.0, 1.0), (2.0, 60.0)]);
    assert_eq!(values("\"1 h 30 / 1 h 45\""), [(90.0, 1.0), (105.0, 1.0)]);
    assert_eq!(values("\"1 h / 1 h 30 min\""), [(1.0, 60.0), (90.0, 1.0)]);
    assert_eq!(values("\"x 0.5\""), [(0.5, 1.0)]);
    assert_eq!(values("\"- 2 min\""), [(2.0, 1.0)]);
    assert_eq!(
        values("{ low = 1, high = 2.5, unit = \"h\" }"),
        [(1.0, 1.0), (2.5, 1.0)]
    );
    assert_eq!(of("\"15 %\"").figures.unwrap().top, 30.0);
    assert_eq!(of("\"8 %\"").comment.as_deref(), Some("a word on it"));
    for not_numbers in [
        "\"1..40\"",
        "\"oak\"",
        "[1, 2]",
        "\"1 / 2 / 3 / 4\"",
        "\"-2\"",
        "true",
        "\"5 / 6 min / 7\"",
    ] {
        assert_eq!(of(not_numbers).figures, None, "{not_numbers}");
    }
}

#[test]
fn round_numbers_and_steps() {
    assert_eq!(
        [0.03, 1.0, 11.0, 124.0, 700.0].map(round_up),
        [0.03, 1.0, 15.0, 150.0, 800.0]
    );
    assert_eq!(
        [0.012, 1.0, 4.9, 5.0, 70.0].map(round_down),
        [0.01, 1.0, 2.0, 5.0, 50.0]
    );
}
