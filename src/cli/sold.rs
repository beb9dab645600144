//! `sold`: a sales log to buyers and prices, and these into the scenario.

use clap::Args;
use jiff::civil::Date;

use super::calendar::today;
use super::input::Source;
use super::learn::Learning;
use super::log::read_sales;
use super::{Stop, Streams};
use crate::model::doubts::doubts;
use crate::render::sold::doubt;
use crate::sales::edit::edited;
use crate::sales::{SalesLog, count, learn};

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

Buyers come by chance, fewer of them at a higher price; what was not sold counts as long as it was for sale, until the last day in the log where no --until is \
given: the log does not say whether it was kept since. Intervals hold 95 times in \
100. With fewer than 5 sales, or of too few selling days, it only counts, and says what to try. Prices are looked at up to a tenth beyond those that were tried. The \
price that earns most takes hours at the target off, and is the best on average over all that the log leaves open.
Offers in an outlet that is called like a [[selling_day]] are that day's own: they teach what it sells, and are not counted in `buyers`.
--write writes `per_week` of [steady], or `buyers` and `elasticity` of [season], and `sells` of a selling day, where the log contradicts them.
`batchwright log --help` says how a sales log is written.

Exit code 0: done. 2: something in the files or flags is wrong, nothing was written. 1: a file cannot be read or written.")]
pub(super) struct SoldCommand {
    /// The day until which open offers are counted; the log's last day if not given
    #[arg(long, value_name = "DATE", value_parser = date)]
    until: Option<Date>,
    /// What answering one who asks takes: 6, or "6 min"
    #[arg(long, value_name = "TIME", value_parser = enquiry)]
    enquiry: Option<f64>,
    /// Days for sale in a season; as in the log if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=3660))]
    days: Option<u16>,
    /// Show every price and every change of price (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    learning: Learning,
}

fn date(text: &str) -> Result<Date, String> {
    crate::logfile::date_of(text.trim())
}

fn enquiry(text: &str) -> Result<f64, String> {
    crate::worklog::minutes(text.trim())
}

pub(super) fn run(command: &SoldCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let read = |source: &Source, screen| Ok((source.name().to_owned(), read_sales(source, screen)?));
    let too_early = |(_, log): &(String, SalesLog)| {
        let (until, last) = (command.until?, log.last_day()?);
        (until < last).then(|| {
            format!(
                "batchwright: --until {until}: the log goes on to {last}; leave it out, or name that day or a later one"
            )
        })
    };
    let learned = command.learning.read("a sales log", read, too_early, streams)?;
    let (scenario, (name, log)) = (&learned.scenario, &learned.log);
    let today = today();
    let (of_file, of_log) = (doubts(scenario), count::doubts(log, today, Some(scenario)));
    of_file.iter().chain(&of_log).for_each(|doubt| streams.doubt(doubt));
    if let (None, Some(open)) = (command.until, count::long_since(log, today)) {
        let they = if open.0 == 1 { "it is" } else { "they are" };
        streams.doubt(format!(
            "{}; if {they} still for sale, add --until {today}",
            count::open_until(open)
        ));
    }
    let asked = learn::Asked {
        looked: command.until.or(log.last_day()).unwrap_or(Date::ZERO),
        enquiry_minutes: command.enquiry,
        season_days: command.days.map(f64::from),
    };
    let answer = learn::learn(name, scenario, log, &asked);
    if let Some(doubt) = doubt(&answer) {
        streams.doubt(doubt);
    }
    learned.deliver(&answer, command.all, |text| edited(text, &answer), streams)
}
