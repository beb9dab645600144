//! Every file of `scenarios/invalid/` is refused with exactly the words that stand beside it in the `.txt` of the same name.
//!
//! Where a message was changed on purpose: `BATCHWRIGHT_BLESS=1 cargo test --test invalid` writes the texts anew; read the
//! difference before it is committed.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use std::fs;
use std::path::{Path, PathBuf};

use batchwright_core::scenario::{Faults, read_bytes};
use unicode_width::UnicodeWidthStr;

/// Room in characters that the texts are rendered for.
const WIDTH: usize = 100;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/invalid")
}

/// Lines `# --set key=value` at the top of a file are values given for this call.
fn overrides(bytes: &[u8]) -> Vec<(String, String)> {
    String::from_utf8_lossy(bytes)
        .lines()
        .filter_map(|line| line.strip_prefix("# --set "))
        .map(|setting| batchwright_core::scenario::split_setting(setting).expect("a setting is key=value"))
        .collect()
}

fn refused(path: &Path) -> (String, Faults) {
    let bytes = fs::read(path).unwrap();
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    let faults = read_bytes(&name, &bytes, &overrides(&bytes)).expect_err(&name);
    (name, faults)
}

fn scenarios() -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    found.sort();
    assert!(found.len() > 40, "the folder holds one file for each kind of fault");
    found
}

#[test]
fn each_is_refused_with_its_own_words() {
    let mut wrong = Vec::new();
    for path in scenarios() {
        let (name, faults) = refused(&path);
        let rendered = faults.render(false, WIDTH);
        let beside = path.with_extension("txt");
        if std::env::var_os("BATCHWRIGHT_BLESS").is_some() {
            fs::write(&beside, &rendered).unwrap();
        }
        let expected = fs::read_to_string(&beside).unwrap_or_default().replace("\r\n", "\n");
        if rendered != expected {
            wrong.push(format!("{name}\n--- expected\n{expected}\n--- rendered\n{rendered}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn each_text_has_its_scenario() {
    for entry in fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        assert!(
            path.with_extension("toml").exists(),
            "{} has no scenario beside it",
            path.display()
        );
    }
}

/// The minimal files are minimal: but for those about several faults, one thing is wrong in each.
#[test]
fn each_has_one_fault() {
    for path in scenarios() {
        let (name, faults) = refused(&path);
        if !name.starts_with("several") {
            assert_eq!(faults.count(), 1, "{name}: {faults}");
        }
    }
}

/// What these cures name is taken where the fault stands, in its place.
#[test]
fn cures_are_taken_as_they_stand() {
    for name in [
        "range-with-dash",
        "range-with-dash-and-no-unit",
        "money-with-sign",
        "not-toml-sign",
        "several-curly-quotes",
        "selling-day-sells-in-per-cent",
        "steady-for-a-month",
        "money-an-hour",
        "hours-in-words",
        "hours-with-a-dash",
        "hours-into-the-afternoon",
    ] {
        let path = folder().join(name).with_extension("toml");
        let (name, faults) = refused(&path);
        let mut text = fs::read_to_string(&path).unwrap();
        for fault in faults.iter().collect::<Vec<_>>().into_iter().rev() {
            let cure = fault.cure().split('`').nth(1).unwrap();
            let value = cure.rsplit(" = ").next().unwrap();
            let mut span = fault.span();
            if !text[span.clone()].contains(['"', '“', '‘', '£']) {
                // A part within quotes is marked: the whole value is exchanged.
                span.start = text[..span.start].rfind('"').unwrap();
                span.end += text[span.end..].find('"').unwrap() + 1;
            }
            text.replace_range(span, value);
        }
        let taken = read_bytes(&name, text.as_bytes(), &[]);
        assert!(taken.is_ok(), "{text}: {taken:?}");
    }
}

/// The most that is told to be taken off can be taken off, also where the shortest time has no end in minutes.
#[test]
fn what_a_jig_may_take_off_at_most_is_taken() {
    for shortest in ["826 s", "4.43 s", "7.01 s", "4 min", "1 h 0.5 s"] {
        let with = |less: &str| {
            let text = format!(
                "target = 30\n[[step]]\nname = \"drill\"\neach = \"{shortest}\"\n[[step]]\nname = \"pack\"\nper_order = \"5 min\"\n[sale]\nprice = 58\n[[jig]]\nname = \"stop\"\n\
                 step = \"drill\"\neach = \"- {less}\"\n"
            );
            read_bytes("jig.toml", text.as_bytes(), &[])
        };
        let faults = with("2 h").unwrap_err();
        let cure = faults.iter().next().unwrap().cure().to_owned();
        let told = cure
            .strip_prefix("take off at most ")
            .unwrap()
            .split(',')
            .next()
            .unwrap();
        let taken = with(told);
        assert!(taken.is_ok(), "{shortest}: {told}: {taken:?}");
    }
}

#[test]
fn every_fault_says_what_and_how_to_mend_it_at_a_place_in_the_text() {
    for path in scenarios() {
        let (name, faults) = refused(&path);
        for fault in &faults {
            let (_, text) = faults.source_of(fault);
            assert!(!fault.what().is_empty() && !fault.cure().is_empty(), "{name}");
            assert!(
                fault.span().end <= text.len() && fault.span().start <= fault.span().end,
                "{name}"
            );
            let (line, column) = faults.line_and_column(fault);
            let length = text.lines().nth(line - 1).unwrap_or("").chars().count();
            assert!(column <= length + 1, "{name}: {line}:{column}");
        }
    }
}

#[test]
fn colour_adds_only_colour() {
    for path in scenarios() {
        let (name, faults) = refused(&path);
        let coloured = faults.render(true, WIDTH);
        let mut plain = String::new();
        let mut rest = coloured.as_str();
        while let Some(escape) = rest.find('\u{1b}') {
            plain.push_str(&rest[..escape]);
            let end = rest[escape..].find('m').unwrap();
            rest = &rest[escape + end + 1..];
        }
        plain.push_str(rest);
        let trimmed: String = plain.lines().map(|l| format!("{}\n", l.trim_end())).collect();
        assert_eq!(trimmed, faults.render(false, WIDTH), "{name}");
    }
}

/// What may pass the terminal's width: a single word, and what stands between backticks, which would be another text if it were broken.
fn in_one_piece(line: &str) -> bool {
    let said = line.trim_start_matches([' ', '×', '│', '·']);
    let said = said.strip_prefix("help: ").unwrap_or(said).trim();
    let whole = said.trim_end_matches([',', '.', ':', ';']);
    let quoted = whole.len() > 1 && whole.starts_with('`') && whole.ends_with('`') && whole.matches('`').count() == 2;
    quoted || !said.contains(' ')
}

#[test]
fn no_line_passes_the_terminal() {
    let mut wide = Vec::new();
    for path in scenarios() {
        let (name, faults) = refused(&path);
        for width in [60, 80, 100, 120] {
            for line in faults.render(false, width).lines() {
                if line.width() > width && !in_one_piece(line) {
                    wide.push(format!("{name}, {width}: {line}"));
                }
            }
        }
    }
    assert!(wide.is_empty(), "{}", wide.join("\n"));
}
