//! `compare`: two or more scenarios, each at one size, against each other.

use std::path::{Path, PathBuf};

use clap::Args;

use super::question::{QuestionArgs, pieces, read_once, watched, within_budget};
use super::{Stop, Streams};
use crate::budget::Work;
use crate::files::shown;
use crate::questions::compare::{self, Question};
use crate::render::question::Question as Asking;
use crate::scenario::Scenario;

/// Hours in a week.
const WEEK_HOURS: f64 = 168.0;

/// Says which of several pieces or batches earns more an hour, and more a week
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Two pieces, each at its own best size:
    batchwright compare hooks.toml stool.toml
  Twelve of the first against one of the second:
    batchwright compare hooks.toml stool.toml --sizes 12,1
  One piece at two sizes:
    batchwright compare hooks.toml hooks.toml --sizes 6,24
  With ten hours a week at the bench:
    batchwright compare hooks.toml stool.toml --hours-a-week 10
  With a chart as a picture, .svg or .png:
    batchwright compare hooks.toml stool.toml --chart both.svg

A week needs bench hours: an [hours] section in the scenario, shop.hours_per_month, or --hours-a-week. How many pieces buyers \
want a week is written as [steady] per_week; without it all that are made sell.

Scenarios in another currency than the first are converted where one of the two files says under [currencies] what one unit is \
worth in the other, and left out where none does. --set, --price and --target apply to every scenario.

Exit code 0: done. 2: something in a scenario or the flags is wrong. 1: a file cannot be read or written.")]
pub(super) struct CompareCommand {
    /// Two or more scenarios; one of them may be -, standard input
    #[arg(value_name = "FILE", required = true, num_args = 1..=26)]
    files: Vec<PathBuf>,
    #[command(flatten)]
    asked: QuestionArgs<{ compare::TRIALS }>,
    /// Batch sizes, one for each file in order [default: the size that `season` or
    /// `steady` advises; else the one past which a bigger batch adds less than 1 % to the hour]
    #[arg(long, value_name = "N,N,...", value_delimiter = ',', value_parser = pieces::<10_000>)]
    sizes: Vec<u32>,
    /// Bench hours a week, whatever the scenarios say
    #[arg(long, value_name = "HOURS", value_parser = week_hours, allow_negative_numbers = true)]
    hours_a_week: Option<f64>,
}

pub(super) fn run(command: &CompareCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let mut wrong = Vec::new();
    // Counted here and not by the parser, which would want two files side by side, with no flag between them.
    if command.files.len() < 2 {
        wrong.push("batchwright: compare takes two files or more; name the second one too".to_owned());
    }
    if !command.sizes.is_empty() && command.sizes.len() != command.files.len() {
        wrong.push(format!(
            "batchwright: --sizes names {} for {} files; give one for each file, in order, for example --sizes {}",
            counted(command.sizes.len(), "size"),
            command.files.len(),
            vec!["1"; command.files.len()].join(",")
        ));
    }
    let (files, twice) = read_once(&command.files);
    wrong.extend(twice);
    let (scenarios, ready) = command.asked.prepare(&files, wrong, streams)?;
    one_currency(&scenarios, &files)?;
    let question = Question {
        sizes: command.sizes.iter().copied().map(Some).collect(),
        hours_a_week: command.hours_a_week,
        files: files.iter().map(|file| named(file)).collect(),
    };
    let settings = command.asked.settings();
    let work = scenarios
        .iter()
        .enumerate()
        .fold(Work::default(), |sum, (k, scenario)| {
            let size: Vec<u32> = command.sizes.get(k).copied().into_iter().collect();
            sum.and(Work::of(Asking::Compare, scenario, &size, settings.trials))
        });
    within_budget(work)?;
    let answer = watched(streams, |progress| {
        compare::run(&scenarios, &question, &settings, progress)
    });
    ready.deliver(&answer, false, streams)
}

/// A file as it is told of.
pub(super) fn named(file: &Path) -> String {
    if file == Path::new("-") {
        "standard input".to_owned()
    } else {
        shown(file)
    }
}

fn one_currency(scenarios: &[Scenario], files: &[&Path]) -> Result<(), Stop> {
    let Some(first) = scenarios.first() else { return Ok(()) };
    if compare::comparable(scenarios) > 1 {
        return Ok(());
    }
    let list: Vec<String> = scenarios
        .iter()
        .zip(files)
        .map(|(scenario, file)| format!("  {}  {}", scenario.currency, shown(file)))
        .collect();
    let strange = scenarios.iter().find(|s| s.worth_in(first).is_none()).unwrap_or(first);
    Err(Stop::Wrote(format!(
        "batchwright: scenarios in different currencies cannot be compared:\n{}\nSay in the first, under [currencies], what one unit of \
         another is worth there: a line `{} = ` and behind it what 1 {} is worth in {}.",
        list.join("\n"),
        strange.currency,
        strange.currency,
        first.currency
    )))
}

fn counted(n: usize, what: &str) -> String {
    if n == 1 {
        format!("1 {what}")
    } else {
        format!("{n} {what}s")
    }
}

fn week_hours(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(hours) if hours > 0.0 && hours <= WEEK_HOURS => Ok(hours),
        Ok(_) => Err("a week has more than 0 and at most 168 hours".to_owned()),
        Err(_) => Err("write a plain number of hours, for example 12 or 7.5".to_owned()),
    }
}
