//! The keys of a scenario file in words, section by section.

use super::text::wrap;
use crate::scenario::keys::{Key, SECTIONS, Section, Takes, Written};

/// How the top of the file is called where a section is asked for.
const TOP: &str = "top";

/// How a section is asked for.
pub fn name(section: &Section) -> &'static str {
    if section.word.is_empty() { TOP } else { section.word }
}

/// The sections that bear these names, in the order of the file; all of them where no name is given.
///
/// # Errors
/// The first name that no section bears.
pub fn asked(names: &[String]) -> Result<Vec<&'static Section>, &str> {
    let known = |asked: &&String| SECTIONS.iter().any(|section| name(section) == asked.as_str());
    if let Some(unknown) = names.iter().find(|asked| !known(asked)) {
        return Err(unknown);
    }
    let wanted = |section: &&Section| names.is_empty() || names.iter().any(|asked| asked == name(section));
    Ok(SECTIONS.iter().filter(wanted).collect())
}

/// These sections and their keys, for a person, at most `columns` wide where that can be.
pub fn text(sections: &[&Section], columns: usize) -> String {
    let columns = columns.clamp(60, 100);
    let told: Vec<String> = sections.iter().map(|section| told(section, columns)).collect();
    told.join("\n")
}

fn told(section: &Section, columns: usize) -> String {
    let head = match section.written {
        Written::Top => "The top of the file".to_owned(),
        Written::Braces => format!(
            "{{ }}, a {} in braces",
            if section.word == "breaks" {
                "price break"
            } else {
                section.word
            }
        ),
        Written::Once | Written::Codes | Written::Each => section.header(),
    };
    let mut out = format!("{head}\n{}", indented(section.about, 2, columns));
    for key in section.keys {
        out += &format!("\n  {} = {}\n", key.name, key.example);
        out += &indented(key.about, 6, columns);
        if let Takes::Choice(choices) = key.takes {
            for choice in choices {
                out += &indented(&format!("\"{}\": {}.", choice.word, choice.about), 6, columns);
            }
        }
        out += &indented(&small_print(key), 6, columns);
    }
    out
}

/// What it takes, whether it may be left out, and what it goes with.
fn small_print(key: &Key) -> String {
    let takes = key.takes.in_words();
    let unit = match key.takes {
        // A share says so by itself.
        _ if key.unit.is_empty() || key.unit == "per cent" => String::new(),
        Takes::Amount(_) | Takes::Count(_) | Takes::Buyers | Takes::Room => format!(" ({})", key.unit),
        _ => String::new(),
    };
    let absent = if key.is_needed() {
        "It must be there.".to_owned()
    } else {
        format!("Without it: {}.", key.default)
    };
    let with = match key.with {
        [] => String::new(),
        [one] => format!(" It goes with `{one}`."),
        several => format!(" It goes with `{}`.", several.join("` and `")),
    };
    match key.takes {
        Takes::Choice(_) => format!("{absent}{with}"),
        _ => format!("Write {takes}{unit}. {absent}{with}"),
    }
}

fn indented(text: &str, by: usize, columns: usize) -> String {
    let blank = " ".repeat(by);
    wrap(text, columns - by)
        .lines()
        .map(|line| format!("{blank}{line}\n"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_is_told_with_its_example_and_no_line_is_too_wide() {
        let all: Vec<&Section> = SECTIONS.iter().collect();
        for columns in [60, 80, 100] {
            let said = text(&all, columns);
            for section in SECTIONS {
                for key in section.keys {
                    assert!(
                        said.contains(&format!("\n  {} = {}\n", key.name, key.example)),
                        "{}",
                        key.name
                    );
                }
            }
            let wide = said
                .lines()
                .find(|line| line.chars().count() > columns && !line.contains(" = "));
            assert_eq!(wide, None);
        }
    }

    #[test]
    fn sections_are_asked_for_by_name() {
        let names = |asked: &[&str]| {
            let asked: Vec<String> = asked.iter().map(|name| (*name).to_owned()).collect();
            super::asked(&asked)
                .map(|found| found.iter().map(|s| name(s)).collect::<Vec<_>>())
                .map_err(str::to_owned)
        };
        assert_eq!(names(&["sale", "top"]), Ok(vec!["top", "sale"]));
        assert_eq!(names(&[]).map(|all| all.len()), Ok(SECTIONS.len()));
        assert_eq!(names(&["sale", "sales"]), Err("sales".to_owned()));
    }
}
