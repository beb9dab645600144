//! `calendar`: when a run is done, and when to start for a date.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::{Date, Time};

use super::question::{QuestionArgs, pieces, watched};
use super::{Stop, Streams};
use crate::questions::calendar::{self, Day, NoDate, Opens, Question};

/// When a run is done, when to start for a delivery date, a day plan, and what limits it: hands, room or waiting
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright calendar hooks.toml                                from today on, the size that pays
  batchwright calendar hooks.toml --size 12 --start 2026-12-03
  batchwright calendar hooks.toml --size 6,12,24 --due 2026-12-18  each with its latest start; the first is looked at closely
  batchwright calendar hooks.toml --set hours.fri=3              with three hours on Fridays too
  batchwright calendar hooks.toml --opens 18:30 --chart hooks-dates.svg

The scenario says when there is work, how much room a step has, and what waits:
  [hours]
  mon = 2                  # hours at the bench; a day that is not named has none
  sat = 6
  off = [\"2026-12-24..2026-12-26\"]
  [[step]]
  name = \"glue\"
  room = 6                 # pieces in the clamps at a time
  wait = \"12 h\"            # nobody's hands are needed, nights and days off included

JSON: dates as 2026-12-03, each estimate with the ends of its 95 % interval; `sizes` the answer by size, `by_date` the share of
runs done by each date, `plan` the run in the middle day by day, `levers` what more room or hours bring forward.
CSV: one row a size.

Curing times are the glue maker's, not ours to shorten.
Exit code 0: done; 2: something in the scenario or the flags is wrong; 1: a file cannot be read or written.")]
pub(super) struct CalendarCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    #[command(flatten)]
    asked: QuestionArgs<{ calendar::TRIALS }>,
    /// Pieces in a run, or several, for example 6,12,24; if not given, the first size that pays, or the best
    #[arg(long, value_name = "N,N,...", value_delimiter = ',', value_parser = pieces::<10_000>)]
    size: Vec<u32>,
    /// The run starts on this date, or the first bench day after it; today if not given
    #[arg(long, value_name = "DATE", value_parser = date)]
    start: Option<Date>,
    /// The date it is due: how surely it is kept, and the latest start that keeps it
    #[arg(long, value_name = "DATE", value_parser = date)]
    due: Option<Date>,
    /// When a bench day begins; matters for waits of some hours
    #[arg(long, value_name = "HH:MM", value_parser = time, default_value = "09:00")]
    opens: Time,
    /// The first run of the design: what is done once for it (`once`) comes first
    #[arg(long)]
    first_run: bool,
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
        first_run: command.first_run,
    };
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
            "batchwright: with these [hours] a run of {size} takes more than 200 years; write more hours, or a smaller --size"
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
