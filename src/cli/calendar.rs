//! `calendar`: when a batch is done, and when to start for a date.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::{Date, Time};

use super::question::{QuestionArgs, pieces, watched, within_budget};
use super::{Stop, Streams};
use crate::budget::Work;
use crate::questions::calendar::{self, Day, NoDate, Opens, Question};
use crate::render::question::Question as Asking;

/// Says which date to promise, when to start for a date, and what limits it: hands, room or waiting
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Started today, with the usual size:
    batchwright calendar hooks.toml
  Twelve pieces, started on a date:
    batchwright calendar hooks.toml --size 12 --start 2026-12-03
  When to start three sizes for a date:
    batchwright calendar hooks.toml --sizes 6,12,24 --due 2026-12-18
  With three hours on Fridays too:
    batchwright calendar hooks.toml --set hours.fri=3
  In the evenings, with a chart as a picture:
    batchwright calendar hooks.toml --opens 18:30 --chart hooks-dates.svg

The scenario says when there is work, how much room a step has, and what waits:
  [hours]
  mon = 2          # hours at the bench; a day that is not named has none
  sat = 6
  off = [\"2026-12-24..2026-12-26\"]
  [[step]]
  name = \"glue\"
  room = 6         # pieces in the clamps at a time
  wait = \"12 h\"    # nobody's hands are needed, nights and days off included

With --due it says when to start at the latest. Of several sizes the first is looked at closely.

JSON has dates as 2026-12-03, each estimate with the ends of its 95 % interval: `sizes` is the answer by size, `by_date` the \
share of batches done by each date, `then` the size looked at closely if it is started on the day to start by, `plan` one \
batch day by day, `levers` what more room or hours bring forward. CSV has one row for each size.

How long glue, finish and clay must wait, their makers say.

Exit code 0: done. 2: something in the scenario or the flags is wrong. 1: a file cannot be read or written.")]
pub(super) struct CalendarCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ calendar::TRIALS }>,
    /// Pieces in the batch, or several such numbers, for example 6,12,24 [default: the size that `season` or
    /// `steady` advises; else the first that pays, or the one that comes nearest]
    #[arg(long, visible_alias = "sizes", value_name = "N,N,...", value_delimiter = ',', value_parser = pieces::<10_000>)]
    size: Vec<u32>,
    /// The batch starts on this date, or on the first bench day after it [default: today]
    #[arg(long, value_name = "DATE", value_parser = date)]
    start: Option<Date>,
    /// The date it is due
    #[arg(long, value_name = "DATE", value_parser = date)]
    due: Option<Date>,
    /// When a bench day begins that does not say so in the file, which matters for waits of some hours
    #[arg(long, value_name = "HH:MM", value_parser = time, default_value = "09:00")]
    opens: Time,
    /// This is the first batch of the design, so what is done `once` for it comes first; where `runs` is 1 it always does
    #[arg(long)]
    first_batch: bool,
    /// Show every day of the plan
    #[arg(long)]
    all: bool,
}

pub(super) fn run(command: &CalendarCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let (scenario, ready) = command.asked.prepare_one(&command.file, Vec::new(), streams)?;
    let settings = command.asked.settings();
    let question = Question {
        from: Day(command.start.unwrap_or_else(today)),
        due: command.due.map(Day),
        opens: Opens(command.opens),
        sizes: command.size.clone(),
        first_batch: command.first_batch,
        spares: 0,
    };
    within_budget(Work::of(Asking::Calendar, &scenario, &question.sizes, settings.trials))?;
    let answer = watched(streams, |progress| {
        calendar::run(&scenario, &question, &settings, progress)
    })
    .map_err(|refused| Stop::Wrote(said(refused)))?;
    ready.deliver(&answer, command.all, streams)
}

fn said(refused: NoDate) -> String {
    match refused {
        NoDate::NoHours => {
            "batchwright: the scenario has no [hours]. Write when there is time for the bench, for example:\n\n  \
             [hours]\n  mon = 2                  # hours; a day that is not named has none\n  sat = 6\n  off = \
             [\"2026-12-24..2026-12-26\"]"
                .to_owned()
        }
        NoDate::NoStart => {
            "batchwright: after --start there is no bench day left in the years that dates have; choose an earlier date"
                .to_owned()
        }
        NoDate::TooLong(size) => format!(
            "batchwright: with these [hours] a batch of {size} takes more than 200 years; write more hours, or a smaller --size"
        ),
    }
}

/// What day it is here.
pub(super) fn today() -> Date {
    jiff::ZonedDateTime::now().date()
}

/// A date as year-month-day.
pub(super) fn date(text: &str) -> Result<Date, String> {
    text.trim()
        .parse()
        .map_err(|_| "write a date as year-month-day, for example 2026-12-03".to_owned())
}

fn time(text: &str) -> Result<Time, String> {
    let written = text.trim();
    // Digits and a colon only: other forms of a time mean more than a time of day.
    let plain = written.len() == 5 && written.as_bytes()[2] == b':';
    written
        .parse()
        .ok()
        .filter(|_| plain)
        .ok_or_else(|| "write a time of day as hours:minutes, for example 18:30".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_and_times_are_strict() {
        assert_eq!(date("2026-12-03"), Ok(jiff::civil::date(2026, 12, 3)));
        for bad in ["", "3.12.2026", "2026-13-01", "2026-02-30", "12/03/2026", "tomorrow"] {
            assert!(date(bad).is_err(), "{bad}");
        }
        assert_eq!(time("18:30"), Ok(jiff::civil::time(18, 30, 0, 0)));
        for bad in ["", "9", "24:00", "18:60", "6 pm", "18:30:00", "1830"] {
            assert!(time(bad).is_err(), "{bad}");
        }
    }
}
