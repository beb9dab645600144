//! `sold`: a sales log to buyers and prices, and these into the scenario.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use super::input::Source;
use super::log::read_sales;
use super::question::{Told, key_and_value};
use super::write::{self, Write};
use super::{Stop, Streams};
use crate::sales::count;
use crate::sales::edit::edited;
use crate::sales::learn::{Asked, learn};
use crate::scenario::doubts::doubts;

/// Says what to charge, as far as what sold and what did not can tell, and writes that into the scenario
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  What buyers said to the prices tried:
    batchwright sold labels.toml labels-sales.csv
  If answering one who asks takes six minutes:
    batchwright sold labels.toml labels-sales.csv --enquiry \"6 min\"
  Open offers were last looked at on that day:
    batchwright sold labels.toml labels-sales.csv --until 2027-11-28
  What the log contradicts into labels.toml, all else as it is:
    batchwright sold labels.toml labels-sales.csv --write
  With a chart as a picture, .svg or .png:
    batchwright sold labels.toml labels-sales.csv --chart labels.svg

Buyers come by chance, fewer of them at a higher price; what was not sold counts as long as it was for sale. Intervals hold 95 times in \
100. With fewer than 5 sales it only counts, and says what to try. Prices are looked at up to a tenth beyond those that were tried. The \
price that earns most takes hours at the target off, and is the best on average over all that the log leaves open.
--write writes `per_week` of [steady], or `buyers` and `elasticity` of [season], where the log contradicts them.
`batchwright log --help` says how a sales log is written.

Exit code 0: done. 2: something in the files or flags is wrong, nothing was written. 1: a file cannot be read or written.")]
pub(super) struct SoldCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "SCENARIO")]
    file: PathBuf,
    /// The sales log
    #[arg(value_name = "SALES")]
    log: PathBuf,
    /// Override one value for this call, for example "sale.price=28"; may be repeated
    #[arg(long, value_name = "KEY=VALUE", value_parser = key_and_value, conflicts_with = "write")]
    set: Vec<(String, String)>,
    /// The day until which open offers are counted; the log's last day if not given
    #[arg(long, value_name = "DATE", value_parser = date)]
    until: Option<Date>,
    /// What answering one who asks takes: 6, or "6 min"
    #[arg(long, value_name = "TIME", value_parser = enquiry)]
    enquiry: Option<f64>,
    /// Days for sale in a season; as in the log if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=3660))]
    days: Option<u16>,
    /// Write what was learned into the scenario, or into a copy of it
    #[arg(long, value_name = "FILE", num_args = 0..=1, require_equals = true)]
    write: Option<Option<PathBuf>>,
    /// Also draw the chart; the ending, .svg or .png, says which kind
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// Show every price and every change of price (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    told: Told,
}

fn date(text: &str) -> Result<Date, String> {
    crate::logfile::date_of(text.trim())
}

fn enquiry(text: &str) -> Result<f64, String> {
    crate::worklog::minutes(text.trim())
}

pub(super) fn run(command: &SoldCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let mut wrong = Vec::new();
    if let Err(fault) = super::question::picture(command.chart.as_deref()) {
        wrong.push(fault);
    }
    wrong.extend(write::refused(&command.write, &command.file));
    let mut refused = None;
    let mut keep = |stop: Stop| match stop {
        Stop::Wrote(faults) => wrong.push(faults),
        other => refused = Some(other),
    };
    let scenario = Source::load(&command.file).and_then(|source| {
        let scenario = source.read(&command.set, streams.screen)?;
        Ok((source, scenario))
    });
    let scenario = scenario.map_err(&mut keep).ok();
    let log = Source::load_as(&command.log, "a sales log").and_then(|source| {
        let log = read_sales(&source, streams.screen)?;
        Ok((source.name().to_owned(), log))
    });
    let log = log.map_err(&mut keep).ok();
    let last = log.as_ref().and_then(|(_, log)| log.last_day());
    if let (Some(until), Some(last)) = (command.until, last)
        && until < last
    {
        wrong.push(format!(
            "batchwright: --until {until}: the log goes on to {last}; leave it out, or name that day or a later one"
        ));
    }
    if !wrong.is_empty() {
        return Err(Stop::Wrote(wrong.join("\n\n")));
    }
    if let Some(stop) = refused {
        return Err(stop);
    }
    let (Some((source, scenario)), Some((name, log))) = (scenario, log) else {
        return Ok(());
    };
    let ready = command.told.places(
        &[("scenario", &command.file), ("log", &command.log)],
        command.chart.as_deref(),
    )?;
    for doubt in doubts(&scenario).iter().chain(&count::doubts(&log)) {
        streams.remark(&format!("batchwright: doubtful: {doubt}"));
    }
    let asked = Asked {
        looked: command.until.or(last).unwrap_or(Date::ZERO),
        enquiry_minutes: command.enquiry,
        season_days: command.days.map(f64::from),
    };
    let answer = learn(&name, &scenario, &log, &asked);
    if let Some([low, high]) = answer.another_piece() {
        streams.remark(&format!(
            "batchwright: doubtful: the log's prices go from {low} to {high}, and the scenario asks {}; is it the log of another piece?",
            answer.price
        ));
    }
    let write = Write {
        asked: &command.write,
        file: &command.file,
        source: &source,
        others: [
            ("the log", Some(&command.log)),
            ("--out", command.told.out.as_deref()),
            ("--chart", command.chart.as_deref()),
        ],
    };
    let written = write.stage(|text| edited(text, &answer), streams)?;
    ready.deliver(&answer, command.all, streams)?;
    written.map_or(Ok(()), |written| written.place(streams))
}
