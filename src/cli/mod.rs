//! Arguments to calls: one short file per command.
//!
//! Flag code only validates; every flag and the whole scenario are checked before anything is simulated or written.
//! Answers go to standard output, everything else to standard error. Exit codes: 0 done, 2 for what the user wrote (a flag,
//! a scenario), 1 for what the machine refused (a file that cannot be read, a full disk), 128 and its number after a signal that
//! came while a file was written. A reader that goes away is no error.

mod calendar;
mod check;
mod compare;
mod completions;
mod desk;
mod drivers;
mod fit;
mod floor;
mod input;
mod jig;
mod keys;
mod learn;
mod log;
mod new;
mod offer;
mod overwrite;
mod page;
mod progress;
mod question;
mod report;
mod season;
mod sold;
mod steady;
mod stress;
mod sweep;
mod tips;

use std::borrow::Cow;
use std::ffi::OsString;
use std::fmt::Display;
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand};

use crate::clean;
use crate::files::Failed;
use crate::render::text::wrap;

/// Columns a text is set for where no terminal says otherwise.
const DEFAULT_COLUMNS: usize = 100;

/// Says whether one piece or a batch of them pays, and from which price.
#[derive(Debug, Parser)]
#[command(
    name = "batchwright",
    version,
    about = "Says what an hour at the bench earns, how many to make at a time, and which price pays",
    long_about = "Says what an hour at the bench earns, how many to make at a time, and which price pays.\n\n\
        You write down the steps of the work, the material and how the piece is sold, each as a range. Batchwright makes the \
        batch many thousand times over, and says in words, figures and a chart how many to make and what to ask.",
    after_help = EXAMPLES,
    max_term_width = 100,
    subcommand_required = true,
    arg_required_else_help = true
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

const EXAMPLES: &str = "Examples:
  A commented scenario to fill in:
    batchwright new batch --out hooks.toml
  What was understood of it, and every fault:
    batchwright check hooks.toml
  How many to make:
    batchwright sweep hooks.toml
  The same with a chart as a picture:
    batchwright sweep hooks.toml --chart hooks.svg
  What to quote:
    batchwright floor hooks.toml --order 1,6,12
  Every answer in one page:
    batchwright report hooks.toml --out hooks.html
  The same as a page in the browser, to change and look:
    batchwright desk hooks.toml

batchwright COMMAND --help says more about each.";

#[derive(Debug, Subcommand)]
enum Command {
    New(new::New),
    Check(check::Check),
    Keys(keys::Keys),
    Sweep(sweep::SweepCommand),
    Drivers(drivers::DriversCommand),
    Compare(compare::CompareCommand),
    Jig(jig::JigCommand),
    Floor(floor::FloorCommand),
    Stress(stress::StressCommand),
    Season(season::SeasonCommand),
    Steady(steady::SteadyCommand),
    Calendar(calendar::CalendarCommand),
    Report(report::ReportCommand),
    Log(Box<log::LogCommand>),
    Fit(fit::FitCommand),
    Sold(sold::SoldCommand),
    Desk(desk::DeskCommand),
    Page(page::PageCommand),
    Completions(completions::Completions),
}

/// What standard output and standard error are connected to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    /// Whether standard output may be coloured.
    pub colour_out: bool,
    /// Whether standard error may be coloured.
    pub colour_err: bool,
    /// Whether a person watches standard error.
    pub watched: bool,
    /// Columns of the terminal on standard output, or a default.
    pub columns: usize,
    /// Whether box-drawing characters can be shown.
    pub unicode: bool,
}

impl Screen {
    /// Looks at this process's own streams and environment.
    #[must_use]
    pub fn of_process() -> Self {
        let out = io::stdout().is_terminal();
        let watched = io::stderr().is_terminal();
        let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
        let colour = !set("NO_COLOR") && !dumb;
        let columns = terminal_size::terminal_size().filter(|_| out);
        Self {
            colour_out: out && colour,
            colour_err: watched && colour,
            watched: watched && !dumb,
            columns: columns.map_or(DEFAULT_COLUMNS, |(width, _)| usize::from(width.0)),
            unicode: !out || speaks_unicode(),
        }
    }
}

/// On a terminal only: whether the locale promises UTF-8.
fn speaks_unicode() -> bool {
    if cfg!(windows) {
        return true;
    }
    ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .filter_map(|name| std::env::var(name).ok())
        .find(|value| !value.is_empty())
        .is_some_and(|value| value.to_ascii_lowercase().replace('-', "").contains("utf8"))
}

/// Why a command ended early.
#[derive(Debug)]
enum Stop {
    /// The user wrote something that cannot be: the whole message.
    Wrote(String),
    /// The machine refused: the whole message.
    Refused(String),
    /// Whoever read our output went away.
    ReaderGone,
}

impl From<Failed> for Stop {
    fn from(failed: Failed) -> Self {
        match failed {
            Failed::Refused(message) | Failed::Changed(message) | Failed::Taken(message) => Self::Refused(message),
            Failed::ReaderGone => Self::ReaderGone,
        }
    }
}

/// Where a command writes.
struct Streams<'a> {
    stdout: &'a mut dyn Write,
    stderr: &'a mut dyn Write,
    screen: Screen,
}

impl Streams<'_> {
    /// Writes an answer to standard output, whole.
    fn answer(&mut self, text: &str) -> Result<(), Stop> {
        self.stdout
            .write_all(text.as_bytes())
            .and_then(|()| self.stdout.flush())
            .map_err(|error| Failed::writing("to standard output", &error).into())
    }

    /// Says what is allowed but odd.
    fn doubt(&mut self, doubt: impl Display) {
        self.remark(&format!("batchwright: doubtful: {doubt}"));
    }

    /// A remark to the person; if nobody can hear it, that is no reason to stop.
    fn remark(&mut self, text: &str) {
        let text = if self.screen.colour_err {
            clean::painted(text).into()
        } else {
            clean::lines(text)
        };
        let text = if self.screen.watched {
            within(&text, self.screen.columns)
        } else {
            text
        };
        let _unheard = writeln!(self.stderr, "{text}").and_then(|()| self.stderr.flush());
    }
}

/// Sentences in lines of at most so many characters; what is set already, coloured or indented, stays as it is.
fn within(text: &str, columns: usize) -> Cow<'_, str> {
    let set = |line: &str| line.starts_with(' ') || line.contains('\x1b') || line.chars().count() <= columns;
    if text.lines().all(set) {
        return text.into();
    }
    let lines = text.lines().map(|line| {
        let wrapped = if set(line) {
            line.to_owned()
        } else {
            wrap(line, columns)
        };
        wrapped.trim_end().to_owned()
    });
    lines.collect::<Vec<_>>().join("\n").into()
}

/// The file that stands where a command is due.
fn file_for_command(error: &clap::Error) -> Option<String> {
    use clap::error::{ContextKind, ContextValue, ErrorKind};
    let ContextValue::String(word) = error.get(ContextKind::InvalidSubcommand)? else {
        return None;
    };
    let is_file = error.kind() == ErrorKind::InvalidSubcommand && std::path::Path::new(word).is_file();
    is_file.then(|| clean::line(word).into_owned())
}

/// Runs one command line: `args` as the process got them, program name first.
///
/// Returns 0 when done, 2 for what the user wrote, 1 for what the machine refused. Never panics on any input.
pub fn run<I, A>(args: I, stdout: &mut dyn Write, stderr: &mut dyn Write, screen: Screen) -> ExitCode
where
    I: IntoIterator<Item = A>,
    A: Into<OsString> + Clone,
{
    let mut streams = Streams { stdout, stderr, screen };
    let args: Vec<OsString> = args.into_iter().map(Into::into).collect();
    let outcome = match Arguments::try_parse_from(&args) {
        Ok(arguments) => match arguments.command {
            Command::New(command) => new::run(&command, &mut streams),
            Command::Check(command) => check::run(&command, &mut streams),
            Command::Keys(command) => keys::run(&command, &mut streams),
            Command::Sweep(command) => sweep::run(&command, &mut streams),
            Command::Drivers(command) => drivers::run(&command, &mut streams),
            Command::Compare(command) => compare::run(&command, &mut streams),
            Command::Jig(command) => jig::run(&command, &mut streams),
            Command::Floor(command) => floor::run(&command, &mut streams),
            Command::Stress(command) => stress::run(&command, &mut streams),
            Command::Season(command) => season::run(&command, &mut streams),
            Command::Steady(command) => steady::run(&command, &mut streams),
            Command::Calendar(command) => calendar::run(&command, &mut streams),
            Command::Report(command) => report::run(&command, &mut streams),
            Command::Log(command) => log::run(&command, &mut streams),
            Command::Fit(command) => fit::run(&command, &mut streams),
            Command::Sold(command) => sold::run(&command, &mut streams),
            Command::Desk(command) => desk::run(&command, &mut streams),
            Command::Page(command) => page::run(&command, &mut streams),
            Command::Completions(command) => completions::run(&command, &mut streams),
        },
        Err(error) => {
            let error = tips::mended(error, &Arguments::command(), &args);
            let to_stderr = error.use_stderr();
            let text = error.render();
            let colour = if to_stderr {
                screen.colour_err
            } else {
                screen.colour_out
            };
            // What was typed stands in the text as it came: where it would steer, nothing is painted.
            let plain = text.to_string();
            let text = match clean::lines(&plain) {
                Cow::Borrowed(_) if colour => text.ansi().to_string(),
                cleaned => cleaned.into_owned(),
            };
            if to_stderr {
                streams.remark(text.trim_end());
                if let Some(file) = file_for_command(&error) {
                    streams.remark(&format!(
                        "{file} is a file; say what you ask of it, for example: batchwright check {file}"
                    ));
                }
                return ExitCode::from(2);
            }
            streams.answer(&text)
        }
    };
    match outcome {
        Ok(()) | Err(Stop::ReaderGone) => ExitCode::SUCCESS,
        Err(Stop::Wrote(message)) => {
            streams.remark(&message);
            ExitCode::from(2)
        }
        Err(Stop::Refused(message)) => {
            streams.remark(&format!("batchwright: {message}"));
            ExitCode::from(1)
        }
    }
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_sound() {
        super::Arguments::command().debug_assert();
    }

    /// What a person reads in a terminal breaks between words; what is indented is an example, and stays.
    #[test]
    fn a_remark_keeps_within_the_terminal() {
        let said = "batchwright: one two three\n  batchwright sweep a.toml --price 30\n\nfour five six";
        assert_eq!(
            super::within(said, 20),
            "batchwright: one two\nthree\n  batchwright sweep a.toml --price 30\n\nfour five six"
        );
        assert_eq!(super::within(said, 80), said);
    }

    /// The library breaks lines for the terminal at hand; one that the source breaks as well ends in the middle of it.
    #[test]
    fn sentences_of_the_help_are_broken_by_the_terminal_alone() {
        let top = super::Arguments::command();
        let mut seen = 0;
        for command in top.get_subcommands().chain([&top]) {
            let written = command.get_after_help().map(ToString::to_string).unwrap_or_default();
            for line in written.lines().filter(|line| line.starts_with(char::is_alphanumeric)) {
                seen += 1;
                assert!(line.ends_with(['.', ':']), "{}: {line}", command.get_name());
            }
        }
        assert!(seen > 40, "{seen} lines");
    }

    /// A command that is broken in the middle cannot be copied.
    #[test]
    fn no_example_is_broken_in_a_narrow_terminal() {
        let top = super::Arguments::command();
        let commands = top.get_subcommands().chain([&top]);
        let mut seen = 0;
        for command in commands {
            for width in [80, 100] {
                let written = command.get_after_help().map(ToString::to_string).unwrap_or_default();
                let examples = written
                    .lines()
                    .filter(|line| line.trim_start().starts_with("batchwright "));
                let shown = command.clone().term_width(width).render_long_help().to_string();
                for example in examples {
                    seen += 1;
                    assert!(
                        shown.lines().any(|line| line.trim_end() == example.trim_end()),
                        "{} at {width} columns: {example}",
                        command.get_name()
                    );
                }
            }
        }
        assert!(seen > 50, "{seen} examples");
    }
}
