//! `log`: a timed entry for a work log, an offer for a sales log, or what a log holds.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use clap::Args;

use super::calendar::today;
use super::input::{Source, read_scenario, refusal};
use super::question::{Format, Told};
use super::{Screen, Stop, Streams};
use crate::files::{self, Destination, Failed, shown};
use crate::logfile::{self, Form, Kind};
use crate::render::text::printable;
use crate::render::{format, sold};
use crate::sales::{self, SalesLog, count};
use crate::scenario::Scenario;
use crate::worklog::add::{self, Typed, Wrong};
use crate::worklog::look::look;
use crate::worklog::{self, Entry, Log, logged_at};

/// Adds a timed entry to a work log or, with --sale, an offer to a sales log; or checks the log
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Eight pieces of one batch at a step:
    batchwright log hooks.csv --step glue --pieces 8 --minutes 52 --job July
  One of them spoiled:
    batchwright log hooks.csv --step drill --pieces 8 --minutes 31 --spoiled 1
  A setup alone:
    batchwright log hooks.csv --step drill --what setup --minutes \"12 min\"
  Another sitting at the same chair:
    batchwright log chair.csv --step carve --pieces part --minutes \"9 h\"
  What the log holds, and every fault of it:
    batchwright log hooks.csv
  Whether its steps are those of a scenario:
    batchwright log hooks.csv --scenario hooks.toml
  A piece that is put up today, into a sales log:
    batchwright log --sale sold.csv --price 48 --outlet \"own page\"
  One that was put up, and sold:
    batchwright log --sale sold.csv --price 48 --listed 2027-03-01 \\
      --sold 2027-03-15
  A fair from which eight pieces of twenty came home:
    batchwright log --sale sold.csv --price 48 --pieces 20 --left 8 \\
      --listed 2027-12-05 --until 2027-12-05 --outlet fair

The log is a CSV file that a spreadsheet can keep as well; it is made where it is not there yet. Its first line names the columns, in any \
order (step, pieces and minutes must be there; columns of other names are left alone):
  date     year-month-day, for example 2027-03-14
  job      which batch of which thing, in your words; entries of one job
           belong together
  step     the step, as the scenario names it; \"orders through NAME\" for a
           channel that has a time of its own per order; selling days, quotes,
           enquiries and orders of seconds are no steps, and are not logged
  what     empty: setup and pieces together; setup, each: one of them alone;
           order: packing; once: drawing, prototype
  pieces   how many were handled (orders, where what is order); part: goes on
           with the piece that the entry before counts (the last one of that
           job, step and what), so that several sittings at one piece add up
  rounds   how often it was set up; empty: as often as the step's room asks for
  minutes  hands-on time: 52, or as in a scenario: 1 h 30 min
  spoiled  pieces lost there
  redone   times the step was done again on a piece
  note     anything
A sales log is kept the same way. Each line is an offer: so many pieces put up at one price, or one selling day; a changed price begins a \
new line. listed, price and sold must be there:
  listed   the day it was put up
  price    asked for a piece, as the buyer sees it there
  pieces   how many were put up; empty: 1
  left     how many of them are not sold; empty: none where sold has a day,
           else all
  sold     the day the last one was sold
  until    where some are left: the day it was taken down or repriced; empty:
           it is still for sale
  enquiries  buyers who asked about it
  outlet   where; a selling day as the scenario names it, a channel likewise
  note     anything
Cells are divided by commas, semicolons or tabs. An entry is added as one line or not at all; all else stays as it is.

Exit code 0: done; 2: something in the log or the flags is wrong, nothing was written; 1: a file cannot be read or written.")]
pub(super) struct LogCommand {
    /// The log; - reads standard input
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// It is a sales log
    #[arg(long, conflicts_with_all = ["scenario", "step", "minutes", "what", "rounds", "job", "date", "spoiled", "redone"])]
    sale: bool,
    /// Check step names against this scenario
    #[arg(long, value_name = "FILE")]
    scenario: Option<PathBuf>,
    #[command(flatten)]
    entry: NewEntry,
    #[command(flatten)]
    offer: NewOffer,
    #[command(flatten)]
    told: Told,
}

/// What stands in a new line of a sales log beside pieces and note, as it was typed.
#[derive(Debug, Args)]
#[command(next_help_heading = "A new offer, with --sale")]
struct NewOffer {
    /// Asked for a piece
    #[arg(long, value_name = "MONEY", allow_hyphen_values = true, requires = "sale")]
    price: Option<String>,
    /// The day it was put up; today if not given
    #[arg(long, value_name = "DATE", requires = "sale")]
    listed: Option<String>,
    /// The day the last piece was sold
    #[arg(long, value_name = "DATE", requires = "sale")]
    sold: Option<String>,
    /// Where some are left: the day it ended
    #[arg(long, value_name = "DATE", requires = "sale")]
    until: Option<String>,
    /// Pieces that are not sold
    #[arg(long, value_name = "N", allow_hyphen_values = true, requires = "sale")]
    left: Option<String>,
    /// Buyers who asked about it
    #[arg(long, value_name = "N", allow_hyphen_values = true, requires = "sale")]
    enquiries: Option<String>,
    /// Where it is for sale
    #[arg(long, value_name = "NAME", requires = "sale")]
    outlet: Option<String>,
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

impl NewOffer {
    fn is_asked(&self) -> bool {
        let Self {
            price,
            listed,
            sold,
            until,
            left,
            enquiries,
            outlet,
        } = self;
        [price, listed, sold, until, left, enquiries, outlet]
            .iter()
            .any(|part| part.is_some())
    }
}

/// Reads and checks a log, with every fault in the message.
pub(super) fn read_log(source: &Source, screen: Screen) -> Result<Log, Stop> {
    worklog::read(source.name(), source.bytes()).map_err(|faults| Stop::Wrote(refusal(&faults, screen)))
}

/// [`read_log`] of a sales log.
pub(super) fn read_sales(source: &Source, screen: Screen) -> Result<SalesLog, Stop> {
    sales::read(source.name(), source.bytes()).map_err(|faults| Stop::Wrote(refusal(&faults, screen)))
}

pub(super) fn run(command: &LogCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    if command.entry.is_asked() || command.offer.is_asked() {
        return add_line(command, streams);
    }
    if command.sale {
        return look_at_sales(command, streams);
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
    found.doubts.iter().for_each(|doubt| streams.doubt(doubt));
    ready.deliver(&found, false, streams)
}

fn look_at_sales(command: &LogCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let source = Source::load_as(&command.log, "a sales log")?;
    let log = read_sales(&source, streams.screen)?;
    let ready = command.told.places(&[("log", &command.log)], None)?;
    let doubts = count::doubts(&log, today(), None);
    doubts.iter().for_each(|doubt| streams.doubt(doubt));
    let looked = log.last_day().unwrap_or_default();
    ready.deliver(&count::count(source.name(), &log, looked), false, streams)
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

fn add_line(command: &LogCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
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
    let screen = streams.screen;
    let line = if command.sale {
        Line {
            kind: &sales::KIND,
            form: &|source| read_sales(source, screen).map(|log| (log.form, String::new())),
            typed: &|form| typed_offer(command, form),
        }
    } else {
        Line {
            kind: &worklog::KIND,
            form: &|source| read_log(source, screen).map(|log| (log.form, another_piece(&log.entries, &command.entry))),
            typed: &|form| typed(&command.entry, form, scenario.as_ref()),
        }
    };
    let mut tries = 0;
    loop {
        match add_once(&command.log, &line, wrong.clone()) {
            // Somebody else began the log, or saved it, since we looked: to what they wrote the entry is added.
            Err(Once::Wrote(Failed::Changed(_) | Failed::Taken(_))) if tries < TRIES => tries += 1,
            Err(Once::Wrote(failed)) => return Err(failed.into()),
            Err(Once::Stopped(stop)) => return Err(stop),
            Ok((said, was_there)) => {
                let verb = if was_there { "Added to" } else { "Began" };
                still_to_come(command).iter().for_each(|doubt| streams.doubt(doubt));
                return streams.answer(&format!("{verb} {}: {said}\n", shown(&command.log)));
            }
        }
    }
}

/// Typed days that have not come yet: what is logged has been.
fn still_to_come(command: &LogCommand) -> Vec<String> {
    let today = today();
    let (entry, offer) = (&command.entry, &command.offer);
    let typed = [
        ("date", &entry.date),
        ("listed", &offer.listed),
        ("sold", &offer.sold),
        ("until", &offer.until),
    ];
    let later = typed.into_iter().filter_map(|(flag, day)| {
        let day = logfile::date_of(day.as_deref()?.trim()).ok()?;
        (day > today).then(|| format!("--{flag} {day} is still to come; today is {today}"))
    });
    later.collect()
}

/// The values of a line and what is said of it, or all that is wrong with it.
type TypedLine = Result<(Vec<String>, String), Vec<String>>;

/// How a log is kept, and what is to be said besides, which hangs on what is there.
type FormAndMore = (Form, String);

/// A line that is to be added: to which kind of log, how that is read, and how what was typed becomes cells and words.
struct Line<'a> {
    kind: &'static Kind,
    form: &'a dyn Fn(&Source) -> Result<FormAndMore, Stop>,
    typed: &'a dyn Fn(Option<&Form>) -> TypedLine,
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

/// Reads, checks and adds, while nobody else of ours does. Says the line and whether the log was there.
fn add_once(log: &Path, line: &Line<'_>, mut wrong: Vec<String>) -> Result<(String, bool), Once> {
    let name = shown(log);
    if log.metadata().is_ok_and(|found| !found.is_file() && !found.is_dir()) {
        return Err(Stop::Wrote(format!("batchwright: {name} is no file that a line can be added to")).into());
    }
    let held = match files::hold(log) {
        Ok(held) => Some(held),
        // A link that leads nowhere is there: the entry must not be lost behind it.
        Err(error) if error.kind() == ErrorKind::NotFound && !log.is_symlink() => None,
        Err(error) => return Err(Stop::Refused(format!("cannot write {name}: {}", files::reason(&error))).into()),
    };
    let before = if held.is_some() {
        let source = Source::load_as(log, &format!("a {}", line.kind.name))?;
        take((line.form)(&source).map(|form| Some((source, form))), &mut wrong)?
    } else {
        None
    };
    let form: Option<&Form> = before.as_ref().map(|(_, (form, _))| form);
    let typed = match (line.typed)(form) {
        Ok(typed) => Some(typed),
        Err(list) => {
            wrong.extend(list);
            None
        }
    };
    let (Some((values, said)), true) = (typed, wrong.is_empty()) else {
        return Err(Stop::Wrote(format!("{}\nNothing was written.", wrong.join("\n"))).into());
    };
    let new_form = line.kind.new_form();
    let bytes = before.as_ref().map_or(&[][..], |(source, _)| source.bytes());
    let more = logfile::lines_for(bytes, form.unwrap_or(&new_form), &values)
        .map_err(|reason| Stop::Refused(format!("cannot write {name}: {reason}")))?;
    match &held {
        Some(held) => files::append(log, held, bytes, &more)?,
        None => Destination::open(log)?.stage(&more)?.place_new()?,
    }
    let besides = before.map_or_else(String::new, |(_, (_, besides))| besides);
    Ok((format!("{said}.{besides}"), held.is_some()))
}

/// That a single piece is counted which may be the one that the job has already, worked on in another sitting.
fn another_piece(there: &[Entry], new: &NewEntry) -> String {
    let same = |text: &Option<String>, other: &str| text.as_deref().unwrap_or("").trim() == other;
    let piece = |entry: &Entry| {
        let what = new.what.as_deref().unwrap_or(worklog::What::All.word());
        entry.what != worklog::What::Order && entry.what.word() == what
    };
    let of_it = |entry: &&Entry| same(&new.job, &entry.job) && same(&new.step, &entry.step) && piece(entry);
    let pieces: u32 = there.iter().filter(of_it).map(|entry| entry.pieces).sum();
    if pieces != 1 || !same(&new.pieces, "1") || same(&new.job, "") {
        return String::new();
    }
    let job = new.job.as_deref().unwrap_or_default();
    format!(
        " That makes 2 pieces of the job \"{}\"; another sitting at the same one is written `--pieces part`.",
        printable(job)
    )
}

/// What was wrong, each with its flag.
fn flagged(list: Vec<Wrong>) -> Vec<String> {
    list.into_iter()
        .map(|wrong| format!("batchwright: --{}: {}", wrong.part, wrong.why))
        .collect()
}

/// The offer that was typed, as cells and in words; put up today where no day is given.
fn typed_offer(command: &LogCommand, form: Option<&Form>) -> TypedLine {
    let (new, entry) = (&command.offer, &command.entry);
    let today = today().to_string();
    let text = |part: &'_ Option<String>| part.clone().unwrap_or_default();
    let typed = [
        new.listed.clone().unwrap_or(today),
        text(&new.price),
        text(&entry.pieces),
        text(&new.left),
        text(&new.sold),
        text(&new.until),
        text(&new.enquiries),
        text(&new.outlet),
        text(&entry.note),
    ];
    let offer = sales::add::check(typed.each_ref().map(String::as_str), form).map_err(flagged)?;
    Ok((sales::add::values(&offer).to_vec(), sold::offer_said(&offer)))
}

/// What was typed, checked; today where no date is given and the log keeps dates.
fn typed(new: &NewEntry, form: Option<&Form>, scenario: Option<&Scenario>) -> TypedLine {
    let keeps_dates = form.is_none_or(|form| form.place("date").is_some());
    let today = today().to_string();
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
    let entry = add::check(&typed, form, at.as_deref()).map_err(flagged)?;
    Ok((add::values(&entry).to_vec(), told(&entry)))
}

/// "glue pegs, 8 pieces, 52 min"
fn told(entry: &Entry) -> String {
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
    parts.join(", ")
}
