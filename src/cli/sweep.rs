//! `sweep`: the main question, hourly rate and price floor against batch size.

use std::ffi::OsStr;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::input::read_scenario;
use super::output::Destination;
use super::progress::Progress;
use super::{DEFAULT_COLUMNS, Stop, Streams};
use crate::answers::{self, Settings};
use crate::scenario::doubts::doubts;
use crate::scenario::split_setting;
use crate::show::{chart, csv, json, text, words};

/// What an hour earns and which price pays, for every batch size
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright sweep hooks.toml                           words, a table, a small chart
  batchwright sweep hooks.toml --price 62 --target 35    asked differently, the file left alone
  batchwright sweep hooks.toml --set batch.sizes=1..60 --set batch.runs=3
  batchwright sweep hooks.toml --chart hooks.svg         and the chart as a picture (.svg, .png)
  batchwright sweep hooks.toml --format csv --out hooks.csv
  batchwright sweep - < hooks.toml                       from standard input

The same file, seed and number of runs give the same bytes, whatever the number of threads.
Exit code 0: done; 2: something in the scenario or the flags is wrong; 1: a file cannot be read or written.")]
pub(super) struct SweepCommand {
    /// The scenario; - reads standard input
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Override one value for this call, for example sale.price=62; may be repeated
    #[arg(long, value_name = "KEY=VALUE", value_parser = key_and_value)]
    set: Vec<(String, String)>,
    /// Asked price per piece, tax included
    #[arg(long, value_name = "MONEY", value_parser = plain_amount, allow_negative_numbers = true)]
    price: Option<f64>,
    /// What an hour should earn
    #[arg(long, value_name = "MONEY", value_parser = plain_amount, allow_negative_numbers = true)]
    target: Option<f64>,
    /// Simulated runs of each size
    #[arg(long, value_name = "N", default_value_t = 50_000, value_parser = clap::value_parser!(u64).range(100..=100_000_000))]
    trials: u64,
    /// Go on until the price floor is known this closely (its 95 % interval), for example 0.5%
    #[arg(long, value_name = "SHARE", value_parser = closeness)]
    within: Option<f64>,
    /// Seed of the random streams
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Threads to use; all cores if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    threads: Option<u16>,
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Write the answer to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Also draw the chart; the ending, .svg or .png, says which kind
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// Show every size in the table, not only well-chosen ones (JSON and CSV always have all)
    #[arg(long)]
    all: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Words, a table and a small chart, for a person
    Text,
    /// Every figure with its error, for a program
    Json,
    /// One line per size, for a spreadsheet
    Csv,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Picture {
    Svg,
    Png,
}

pub(super) fn run(command: &SweepCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    // Everything the user wrote is checked first, then every place that will be written to; only then is anything done.
    let flags = check_flags(command);
    let scenario = read_scenario(&command.file, &overrides(command), streams.screen);
    let (picture, scenario) = match (flags, scenario) {
        (Ok(picture), Ok(scenario)) => (picture, scenario),
        (Err(flags), Err(Stop::Wrote(faults))) => return Err(Stop::Wrote(format!("{flags}\n\n{faults}"))),
        (Err(flags), Ok(_)) => return Err(Stop::Wrote(flags)),
        (_, Err(stop)) => return Err(stop),
    };
    let out = command.out.as_deref().map(Destination::open).transpose()?;
    let chart = command.chart.as_deref().map(Destination::open).transpose()?;
    keep_apart(command, out.as_ref(), chart.as_ref())?;

    for doubt in doubts(&scenario) {
        streams.remark(&format!("batchwright: doubtful: {doubt}"));
    }

    let settings = Settings {
        trials: command.trials,
        within: command.within,
        seed: command.seed,
        threads: command.threads.map(usize::from),
    };
    let sweep = {
        let progress = Progress::new(streams.screen.watched);
        answers::sweep::run(&scenario, &settings, &|done| progress.tell(done))
    };

    let text = match command.format {
        Format::Text => {
            let to_terminal = command.out.is_none();
            text::sweep(
                &sweep,
                &text::Look {
                    columns: if to_terminal {
                        streams.screen.columns
                    } else {
                        DEFAULT_COLUMNS
                    },
                    unicode: !to_terminal || streams.screen.unicode,
                    colour: to_terminal && streams.screen.colour_out,
                    all: command.all,
                },
            )
        }
        Format::Json => ending_line(json::sweep(&sweep)),
        Format::Csv => csv::sweep(&sweep),
    };
    let headline = words::headline(&sweep);
    let picture = picture
        .map(|kind| match kind {
            Picture::Svg => chart::sweep_svg(&sweep, &headline).map(String::into_bytes),
            Picture::Png => chart::sweep_png(&sweep, &headline),
        })
        .transpose()
        .map_err(|error| Stop::Refused(format!("cannot draw the chart: {error}")))?;

    // Both files are safely on the disk before either takes its place.
    let out = out.map(|place| place.stage(text.as_bytes())).transpose()?;
    let chart = match (chart, picture) {
        (Some(place), Some(bytes)) => Some(place.stage(&bytes)?),
        _ => None,
    };
    let printed = out.is_none();
    for staged in out.into_iter().chain(chart) {
        staged.place()?;
    }
    if printed { streams.answer(&text) } else { Ok(()) }
}

/// What clap cannot check: all that is wrong, one message a line.
fn check_flags(command: &SweepCommand) -> Result<Option<Picture>, String> {
    let Some(path) = &command.chart else { return Ok(None) };
    let ending = path.extension().and_then(OsStr::to_str).map(str::to_ascii_lowercase);
    match ending.as_deref() {
        Some("svg") => Ok(Some(Picture::Svg)),
        Some("png") => Ok(Some(Picture::Png)),
        _ => Err(format!(
            "batchwright: --chart {}: the ending says which kind of picture it is; it must be .svg or .png",
            path.display()
        )),
    }
}

/// Refuses to write two things to one place, or over the scenario itself.
fn keep_apart(command: &SweepCommand, out: Option<&Destination>, chart: Option<&Destination>) -> Result<(), Stop> {
    let named = [("--out", out), ("--chart", chart)];
    for (flag, place) in named {
        if place.is_some_and(|place| place.is(&command.file)) {
            return Err(Stop::Wrote(format!(
                "batchwright: {flag} would overwrite the scenario {}; choose another name",
                command.file.display()
            )));
        }
    }
    match (out, command.chart.as_deref()) {
        (Some(out), Some(chart)) if out.is(chart) => Err(Stop::Wrote(
            "batchwright: --out and --chart name the same file; choose another name for one of them".to_owned(),
        )),
        _ => Ok(()),
    }
}

/// `--set` as given, then `--price` and `--target`, which are short for it.
fn overrides(command: &SweepCommand) -> Vec<(String, String)> {
    let short = [("sale.price", command.price), ("target", command.target)];
    let short = short
        .iter()
        .filter_map(|(key, value)| value.map(|v| ((*key).to_owned(), v.to_string())));
    command.set.iter().cloned().chain(short).collect()
}

fn ending_line(mut text: String) -> String {
    if !text.ends_with('\n') {
        text.push('\n');
    }
    text
}

/// `key=value` as given to `--set`.
pub(super) fn key_and_value(text: &str) -> Result<(String, String), String> {
    split_setting(text).ok_or_else(|| "write key=value, for example sale.price=62".to_owned())
}

fn plain_amount(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Ok(value),
        Ok(_) => Err("an amount of money is a number, 0 or more".to_owned()),
        Err(_) => Err("write a plain number, for example 62 or 58.50".to_owned()),
    }
}

fn closeness(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let (number, unit) = text.strip_suffix('%').map_or((text, 1.0), |rest| (rest.trim(), 0.01));
    match number.parse::<f64>() {
        Ok(value) if (1e-4..=0.5).contains(&(value * unit)) => Ok(value * unit),
        Ok(_) => Err("write a share from 0.01% to 50%".to_owned()),
        Err(_) => Err("write a share, for example 0.5%".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_may_be_written_both_ways() {
        assert_eq!(closeness("0.5%"), Ok(0.005));
        assert_eq!(closeness("0.5 %"), Ok(0.005));
        assert_eq!(closeness("0.005"), Ok(0.005));
        for bad in ["", "%", "0", "-1%", "51%", "nan", "inf", "half"] {
            assert!(closeness(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn money_on_the_command_line_is_plain() {
        assert_eq!(plain_amount("58.50"), Ok(58.5));
        for bad in ["", "-1", "nan", "inf", "58,50", "58 EUR"] {
            assert!(plain_amount(bad).is_err(), "{bad}");
        }
    }
}
