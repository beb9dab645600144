//! `log`: a timed entry for a work log, or what a log holds.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use clap::Args;

use super::input::{Source, read_scenario};
use super::question::{Format, Told};
use super::{Screen, Stop, Streams};
use crate::files::{self, Destination, Failed, shown};
use crate::logfile;
use crate::render::format;
use crate::scenario::Scenario;
use crate::worklog::add::{self, Typed};
use crate::worklog::look::look;
use crate::worklog::{self, Entry, Form, Log, logged_at};

/// Adds a timed entry to a work log, or checks the log
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright log hooks-log.csv --step \"glue pegs\" --pieces 8 --minutes 52 --job July
  batchwright log hooks-log.csv --step drill --what setup --minutes \"12 min\"     setup alone
  batchwright log hooks-log.csv --step drill --pieces 8 --minutes 31 --spoiled 1
  batchwright log chair-log.csv --step carve --pieces part --minutes \"9 h\" --job \"oak chair\"   another sitting at the same chair
  batchwright log hooks-log.csv                                                 check it, and what it holds
  batchwright log hooks-log.csv --scenario hooks.toml                           step names are checked too

The log is a CSV file that a spreadsheet can keep as well; it is made where it is not there yet. Its first line names the
columns, in any order (step, pieces and minutes must be there; columns of other names are left alone):
  date     year-month-day, for example 2027-03-14
  job      which batch of which thing, in your words; entries of one job belong together
  step     the step, as the scenario names it; \"orders through NAME\" for a channel that has a time of its own per order
  what     empty: setup and pieces together; setup, each: one of them alone; order: packing; once: drawing, prototype
  pieces   how many were handled (orders, where what is order); part: goes on with the piece that the entry before counts
           (the last one of that job, step and what), so that several sittings at one piece add up
  rounds   how often it was set up; empty: as often as the step's room asks for
  minutes  hands-on time: 52, or as in a scenario: 1 h 30 min
  spoiled  pieces lost there        redone  times the step was done again on a piece
  note     anything
Cells are divided by commas, semicolons or tabs. An entry is added as one line or not at all; all else stays as it is.

Exit code 0: done; 2: something in the log or the flags is wrong, nothing was written; 1: a file cannot be read or written.")]
pub(super) struct LogCommand {
    /// The work log; - reads standard input
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// Check step names against this scenario
    #[arg(long, value_name = "FILE")]
    scenario: Option<PathBuf>,
    #[command(flatten)]
    entry: NewEntry,
    #[command(flatten)]
    told: Told,
}

/// What stands in a new entry, as it was typed.
#[derive(Debug, Args)]
#[command(next_help_heading = "A new entry")]
struct NewEntry {
    /// The step
    #[arg(long, value_name = "NAME")]
    step: Option<String>,
    /// Hands-on time: 52, or "1 h 30 min"
    #[arg(long, value_name = "TIME", allow_hyphen_values = true)]
    minutes: Option<String>,
    /// Pieces handled, or orders; part: the same piece as before
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pieces: Option<String>,
    /// What was timed: setup, each, order or once; all of the step if not given
    #[arg(long, value_name = "WORD")]
    what: Option<String>,
    /// How often it was set up
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    rounds: Option<String>,
    /// Which batch of which thing
    #[arg(long, value_name = "NAME")]
    job: Option<String>,
    /// When, year-month-day; today if not given, "" for none
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
    /// Pieces lost there
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    spoiled: Option<String>,
    /// Times the step was done again on a piece
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    redone: Option<String>,
    /// Anything
    #[arg(long, value_name = "TEXT", allow_hyphen_values = true)]
    note: Option<String>,
}

impl NewEntry {
    /// Every part with its flag.
    fn parts(&self) -> [&Option<String>; 10] {
        [
            &self.date,
            &self.job,
            &self.step,
            &self.what,
            &self.pieces,
            &self.rounds,
            &self.minutes,
            &self.spoiled,
            &self.redone,
            &self.note,
        ]
    }

    fn is_asked(&self) -> bool {
        self.parts().iter().any(|part| part.is_some())
    }
}

/// Reads and checks a log, with every fault in the message.
pub(super) fn read_log(source: &Source, screen: Screen) -> Result<Log, Stop> {
    worklog::read(source.name(), source.bytes())
        .map_err(|faults| Stop::Wrote(faults.render(screen.colour_err, screen.columns).trim_end().to_owned()))
}

pub(super) fn run(command: &LogCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    if command.entry.is_asked() {
        return add_entry(command, streams);
    }
    let mut wrong = Vec::new();
    let scenario = take(scenario_of(command, streams), &mut wrong)?;
    let log = Source::load_as(&command.log, "a work log").and_then(|source| {
        let log = read_log(&source, streams.screen)?;
        Ok((source, log))
    });
    let log = take(log.map(Some), &mut wrong)?;
    if !wrong.is_empty() {
        return Err(Stop::Wrote(wrong.join("\n\n")));
    }
    let Some((source, log)) = log else { return Ok(()) };
    let mut read: Vec<(&str, &Path)> = vec![("log", &command.log)];
    read.extend(command.scenario.as_deref().map(|file| ("scenario", file)));
    let ready = command.told.places(&read, None)?;
    let found = look(source.name(), &log, scenario.as_ref());
    for doubt in &found.doubts {
        streams.remark(&format!("batchwright: doubtful: {doubt}"));
    }
    ready.deliver(&found, false, streams)
}

/// Keeps what the user wrote wrong for later, so that all of it is told at once.
fn take<T>(read: Result<Option<T>, Stop>, wrong: &mut Vec<String>) -> Result<Option<T>, Stop> {
    match read {
        Ok(value) => Ok(value),
        Err(Stop::Wrote(faults)) => {
            wrong.push(faults);
            Ok(None)
        }
        Err(stop) => Err(stop),
    }
}

fn scenario_of(command: &LogCommand, streams: &Streams<'_>) -> Result<Option<Scenario>, Stop> {
    let read = |file: &PathBuf| read_scenario(file, &[], streams.screen);
    command.scenario.as_ref().map(read).transpose()
}

fn add_entry(command: &LogCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let name = shown(&command.log);
    if command.told.out.is_some() || command.told.format != Format::Text {
        return Err(Stop::Wrote(
            "batchwright: --out and --format are for what a log holds, and an entry is added to the log itself; leave them out"
                .to_owned(),
        ));
    }
    if command.log == Path::new("-") {
        return Err(Stop::Wrote(
            "batchwright: an entry is added to a file, not to standard input; name the log".to_owned(),
        ));
    }
    let mut wrong = Vec::new();
    let scenario = take(scenario_of(command, streams), &mut wrong)?;
    let mut tries = 0;
    loop {
        let added = add_once(command, scenario.as_ref(), wrong.clone(), streams.screen);
        match added {
            // Somebody else began the log, or saved it, since we looked: to what they wrote the entry is added.
            Err(Once::Wrote(Failed::Changed(_) | Failed::Taken(_))) if tries < TRIES => tries += 1,
            Err(Once::Wrote(failed)) => return Err(failed.into()),
            Err(Once::Stopped(stop)) => return Err(stop),
            Ok((entry, is_there)) => return streams.answer(&format!("{}\n", told(&entry, &name, is_there))),
        }
    }
}

/// How often an entry is tried to be added to a log that others change at the same time.
const TRIES: u32 = 100;

/// Why an entry was not added.
enum Once {
    /// It could not be written.
    Wrote(Failed),
    /// Something was wrong before.
    Stopped(Stop),
}

impl From<Stop> for Once {
    fn from(stop: Stop) -> Self {
        Self::Stopped(stop)
    }
}

impl From<Failed> for Once {
    fn from(failed: Failed) -> Self {
        Self::Wrote(failed)
    }
}

/// Reads, checks and adds, while nobody else of ours does. Says the entry and whether the log was there.
fn add_once(
    command: &LogCommand,
    scenario: Option<&Scenario>,
    mut wrong: Vec<String>,
    screen: Screen,
) -> Result<(Entry, bool), Once> {
    let name = shown(&command.log);
    if command
        .log
        .metadata()
        .is_ok_and(|found| !found.is_file() && !found.is_dir())
    {
        return Err(Stop::Wrote(format!("batchwright: {name} is no file that a line can be added to")).into());
    }
    let held = match files::hold(&command.log) {
        Ok(held) => Some(held),
        // A link that leads nowhere is there: the entry must not be lost behind it.
        Err(error) if error.kind() == ErrorKind::NotFound && !command.log.is_symlink() => None,
        Err(error) => return Err(Stop::Refused(format!("cannot write {name}: {}", files::reason(&error))).into()),
    };
    let before = if held.is_some() {
        let source = Source::load_as(&command.log, "a work log")?;
        take(
            read_log(&source, screen).map(|log| Some((source, log.form))),
            &mut wrong,
        )?
    } else {
        None
    };
    let form: Option<&Form> = before.as_ref().map(|(_, form)| form);
    let entry = match typed(&command.entry, form, scenario) {
        Ok(entry) => Some(entry),
        Err(list) => {
            wrong.extend(list);
            None
        }
    };
    let (Some(entry), true) = (entry, wrong.is_empty()) else {
        return Err(Stop::Wrote(format!("{}\nNothing was written.", wrong.join("\n"))).into());
    };
    let new_form = worklog::KIND.new_form();
    let bytes = before.as_ref().map_or(&[][..], |(source, _)| source.bytes());
    let more = logfile::lines_for(bytes, form.unwrap_or(&new_form), &add::values(&entry))
        .map_err(|reason| Stop::Refused(format!("cannot write {name}: {reason}")))?;
    match &held {
        Some(held) => files::append(&command.log, held, bytes, &more)?,
        None => Destination::open(&command.log)?.stage(&more)?.place_new()?,
    }
    Ok((entry, held.is_some()))
}

/// What was typed, checked; today where no date is given and the log keeps dates.
fn typed(new: &NewEntry, form: Option<&Form>, scenario: Option<&Scenario>) -> Result<Entry, Vec<String>> {
    let keeps_dates = form.is_none_or(|form| form.place("date").is_some());
    let today = jiff::ZonedDateTime::now().date().to_string();
    let text = |part: &'_ Option<String>| part.clone().unwrap_or_default();
    let date = new
        .date
        .clone()
        .unwrap_or(if keeps_dates { today } else { String::new() });
    let (job, step, what, pieces) = (text(&new.job), text(&new.step), text(&new.what), text(&new.pieces));
    let (rounds, minutes, spoiled) = (text(&new.rounds), text(&new.minutes), text(&new.spoiled));
    let (redone, note) = (text(&new.redone), text(&new.note));
    let typed = Typed {
        date: &date,
        job: &job,
        step: &step,
        what: &what,
        pieces: &pieces,
        rounds: &rounds,
        minutes: &minutes,
        spoiled: &spoiled,
        redone: &redone,
        note: &note,
    };
    let at = scenario.map(logged_at);
    add::check(&typed, form, at.as_deref()).map_err(|list| {
        list.into_iter()
            .map(|wrong| format!("batchwright: --{}: {}", wrong.part, wrong.why))
            .collect()
    })
}

/// "Added to hooks-log.csv: glue pegs, 8 pieces, 52 min (6.5 min a piece)."
fn told(entry: &Entry, name: &str, was_there: bool) -> String {
    let noun = match (entry.what, entry.pieces) {
        (worklog::What::Order, 1) => "order",
        (worklog::What::Order, _) => "orders",
        (_, 1) => "piece",
        _ => "pieces",
    };
    let mut parts = vec![entry.step.clone()];
    if entry.what != worklog::What::All {
        parts.push(entry.what.word().to_owned());
    }
    if entry.goes_on() {
        parts.push("more of the same".to_owned());
    }
    if entry.pieces > 0 {
        parts.push(format!("{} {noun}", format::count(entry.pieces.into())));
    }
    parts.push(format!("{} min", format::minutes(entry.minutes)));
    let verb = if was_there { "Added to" } else { "Began" };
    format!("{verb} {name}: {}.", parts.join(", "))
}
