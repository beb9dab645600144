//! Tips for an argument that a command does not take, each of which can be followed to the letter.

use std::ffi::OsString;

use clap::builder::StyledStr;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Command, Error};

/// The library's error with a tip that leads somewhere in place of its own: no command takes a flag as a plain value.
pub(super) fn mended(mut error: Error, program: &Command, arguments: &[OsString]) -> Error {
    let (ErrorKind::UnknownArgument, Some(ContextValue::String(wrong))) =
        (error.kind(), error.get(ContextKind::InvalidArg))
    else {
        return error;
    };
    let tip = if wrong.starts_with('-') {
        elsewhere(wrong, program)
    } else {
        in_quotes(wrong, arguments)
            .filter(|(flag, _)| takes_words(flag, program))
            .map(|(_, tip)| tip)
    };
    let mut tips = match error.remove(ContextKind::Suggested) {
        Some(ContextValue::StyledStrs(tips)) => tips,
        _ => Vec::new(),
    };
    tips.retain(|tip| !tip.to_string().contains("as a value"));
    tips.extend(tip.map(StyledStr::from));
    if !tips.is_empty() {
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(tips));
    }
    error
}

/// Which commands have a flag.
fn elsewhere(flag: &str, program: &Command) -> Option<String> {
    let long = flag.strip_prefix("--")?;
    let has = |command: &&Command| command.get_arguments().any(|known| known.get_long() == Some(long));
    let names: Vec<&str> = program.get_subcommands().filter(has).map(Command::get_name).collect();
    match names.split_last()? {
        (one, []) => Some(format!("{one} has {flag}")),
        (last, others) => Some(format!("{} and {last} have {flag}", others.join(", "))),
    }
}

/// Whether a value with a space in it can be right for a flag: a number or a day has none, and a switch no value at all.
fn takes_words(flag: &str, program: &Command) -> bool {
    let mut known = program.get_subcommands().flat_map(Command::get_arguments);
    let argument = known.find(|known| known.get_long() == flag.strip_prefix("--"));
    argument.is_some_and(|argument| {
        let names = argument.get_value_names().unwrap_or_default();
        argument.get_action().takes_values()
            && !names.iter().any(|name| ["MONEY", "N", "DATE"].contains(&name.as_str()))
    })
}

/// The flag whose value was cut at a space, and the tip to write the whole of it between quotes.
fn in_quotes<'a>(wrong: &str, arguments: &'a [OsString]) -> Option<(&'a str, String)> {
    let words: Vec<&str> = arguments.iter().map(|word| word.to_str()).collect::<Option<_>>()?;
    let is_flag =
        |word: &&str| word.len() > 1 && word.starts_with('-') && !word[1..].starts_with(|c: char| c.is_ascii_digit());
    let is_file =
        |word: &str| word.ends_with(".toml") || word.ends_with(".csv") || std::path::Path::new(word).is_file();
    let at = words.iter().position(|word| *word == wrong)?;
    let from = words[..at].iter().rposition(is_flag)?;
    let (flag, first) = match words[from].split_once('=') {
        Some((flag, value)) => (flag, Some(value)),
        None => (words[from], None),
    };
    let rest = words[from + 1..]
        .iter()
        .take_while(|word| !is_flag(word) && !is_file(word));
    let value: Vec<&str> = first.into_iter().chain(rest.copied()).collect();
    let cut = value.len() > 1 && !value.concat().contains(['"', '\\', '$', '`']);
    let tip = || {
        format!(
            "a value with a space in it stands between quotes: {flag} \"{}\"",
            value.join(" ")
        )
    };
    cut.then(|| (flag, tip()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::{CommandFactory, Parser};

    /// What is said of a command line, split at spaces but for those in brackets, that is refused.
    fn said(arguments: &[&str]) -> String {
        let arguments: Vec<OsString> = std::iter::once("batchwright")
            .chain(arguments.iter().copied())
            .map(Into::into)
            .collect();
        let error = super::super::Arguments::try_parse_from(&arguments).expect_err("this is refused");
        mended(error, &super::super::Arguments::command(), &arguments).to_string()
    }

    #[test]
    fn a_flag_of_another_command_is_told_with_that_command() {
        let text = said(&["sweep", "hooks.toml", "--first-batch"]);
        assert!(text.contains("\n  tip: calendar has --first-batch\n"), "{text}");
        let text = said(&["check", "hooks.toml", "--order", "3"]);
        assert!(text.contains("tip: floor") && !text.contains("as a value"), "{text}");
        let text = said(&["sweep", "hooks.toml", "--moonlight"]);
        assert!(!text.contains("tip:"), "{text}");
    }

    #[test]
    fn a_value_cut_at_a_space_is_told_with_its_quotes() {
        for (arguments, due) in [
            (
                &["sweep", "hooks.toml", "--set", "step.throw.each=9", "min"][..],
                "--set \"step.throw.each=9 min\"",
            ),
            (
                &[
                    "sweep",
                    "hooks.toml",
                    "--set=step.throw.each=8",
                    "/",
                    "12",
                    "min",
                    "--seed",
                    "3",
                ],
                "--set \"step.throw.each=8 / 12 min\"",
            ),
            (
                &["sweep", "--set", "step.throw.each=9", "min", "hooks.toml"],
                "--set \"step.throw.each=9 min\"",
            ),
            (
                &["log", "hooks.csv", "--step", "glue", "--minutes", "1", "h", "30", "min"],
                "--minutes \"1 h 30 min\"",
            ),
        ] {
            let text = said(arguments);
            assert!(text.contains(&format!("between quotes: {due}\n")), "{text}");
        }
        // What would be refused between quotes as well.
        for arguments in [
            &["sweep", "--price", "62", "hooks.toml", "more.toml"][..],
            &["sweep", "hooks.toml", "--price", "62", "euro"],
            &["log", "sold.csv", "--sale", "two", "rails"],
        ] {
            let text = said(arguments);
            assert!(!text.contains("tip:"), "{text}");
        }
    }
}
