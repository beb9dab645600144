//! What every question shares: the flags, the order of checks, and where the answer goes.
//!
//! Everything the user wrote is checked first, then every place that will be written to; only then is anything computed.
//!
//! `--trials` is an `Option`: the command-line library keeps a derived default in a static of a generic function, which all questions would
//! share.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::input::Source;
use super::progress::Progress;
use super::{DEFAULT_COLUMNS, Stop, Streams, overwrite};
use crate::Error;
use crate::ask::{self, Options, Unanswered};
use crate::budget::Work;
use crate::files::{Destination, shown};
use crate::model::doubts::doubts;
use crate::questions::{Settings, season, steady};
use crate::render::chart::ChartError;
use crate::render::question::Question;
use crate::render::text::Look;
use crate::render::{Dotted, Render};
use crate::scenario::{ASKED_PRICE, Scenario, split_setting};

/// What is asked about and how it is simulated; `TRIALS` is how many trials if nothing is said, 0 where each question has its
/// own number.
#[derive(Debug, Args)]
pub(super) struct Given<const TRIALS: u64> {
    /// Override one value for this call, as if it stood in the file: for example sale.price=62; may be repeated
    #[arg(long, value_name = "KEY=VALUE", value_parser = key_and_value)]
    pub(super) set: Vec<(String, String)>,
    /// Ask another price per piece, tax included: those of channels, selling days and single pieces move with it, those of seconds, worn pieces and
    /// leftovers stay, and buyers answer as [season] says
    #[arg(long, value_name = "MONEY", value_parser = plain_price, allow_negative_numbers = true)]
    pub(super) price: Option<f64>,
    /// What an hour should earn
    #[arg(long, value_name = "MONEY", value_parser = plain_amount, allow_negative_numbers = true)]
    pub(super) target: Option<f64>,
    #[arg(
        long,
        value_name = "N",
        help = match TRIALS {
            0 => "Batches to simulate of each size or setting [default: what each question's own command has]".to_owned(),
            n => format!("Batches to simulate of each size or setting [default: {n}]"),
        },
        value_parser = trials
    )]
    pub(super) trials: Option<u64>,
    /// Seed of the random streams
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// Threads to use; all cores if not given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub(super) threads: Option<u16>,
}

/// Flags of every question; `TRIALS` is how many trials it simulates if nothing is said.
#[derive(Debug, Args)]
pub(super) struct QuestionArgs<const TRIALS: u64> {
    #[command(flatten)]
    pub(super) given: Given<TRIALS>,
    /// Also draw the chart; the ending, .svg or .png, says which kind
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    #[command(flatten)]
    told: Told,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// Words, a table and a small chart, for a person
    Text,
    /// Every figure with its error, for a program
    Json,
    /// Rows and columns, for a spreadsheet
    Csv,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Picture {
    Svg,
    Png,
}

/// Places that were found writable, waiting for the answer.
pub(super) struct Ready {
    format: Format,
    picture: Option<Picture>,
    out: Option<Destination>,
    chart: Option<Destination>,
    overwrite: bool,
}

impl<const TRIALS: u64> Given<TRIALS> {
    /// `--set` as given, then `--price`, which moves what hangs on the price, and `--target`.
    pub(super) fn overrides(&self) -> Vec<(String, String)> {
        let short = [(ASKED_PRICE, self.price), ("target", self.target)];
        let short = short
            .iter()
            .filter_map(|(key, value)| value.map(|v| ((*key).to_owned(), v.to_string())));
        self.set.iter().cloned().chain(short).collect()
    }

    /// How to simulate, with so many trials if nothing is said.
    pub(super) fn settings(&self, trials: u64) -> Settings {
        self.options().settings(self.trials.unwrap_or(trials))
    }

    /// The same for the library.
    pub(super) fn options(&self) -> Options {
        Options {
            trials: self.trials,
            seed: self.seed,
            threads: self.threads.map(usize::from),
            ..Options::default()
        }
    }

    /// Reads every scenario. `wrong` is what was found wrong with the flags; all faults are told at once.
    pub(super) fn read(
        &self,
        files: &[&Path],
        mut wrong: Vec<String>,
        streams: &Streams<'_>,
    ) -> Result<Vec<(Source, Scenario)>, Stop> {
        let overrides = self.overrides();
        let mut scenarios = Vec::with_capacity(files.len());
        for file in files {
            let read = Source::load(file).and_then(|source| {
                let scenario = source.read(&overrides, streams.screen)?;
                Ok((source, scenario))
            });
            match read {
                Ok(both) => scenarios.push(both),
                Err(Stop::Wrote(faults)) => wrong.push(faults),
                Err(stop) if wrong.is_empty() => return Err(stop),
                Err(_) => {}
            }
        }
        if wrong.is_empty() {
            Ok(scenarios)
        } else {
            Err(Stop::Wrote(wrong.join("\n\n")))
        }
    }
}

/// Says what is allowed but odd in the scenarios that were read, and of several in which.
pub(super) fn tell_doubts(scenarios: &[(Source, Scenario)], streams: &mut Streams<'_>) {
    for (source, scenario) in scenarios {
        let of = match scenarios {
            [_] => String::new(),
            _ => format!("{}: ", source.name()),
        };
        for doubt in doubts(scenario) {
            streams.doubt(format!("{of}{doubt}"));
        }
    }
}

/// The files but for a second standard input, in which there would be nothing; a fault for each of those.
pub(super) fn read_once(named: &[PathBuf]) -> (Vec<&Path>, Vec<String>) {
    let input = Path::new("-");
    let (mut files, mut wrong): (Vec<&Path>, Vec<String>) = (Vec::with_capacity(named.len()), Vec::new());
    for file in named {
        if file == input && files.contains(&input) {
            wrong.push(
                "batchwright: - stands for standard input, which can be read only once; name a file for the others"
                    .to_owned(),
            );
            continue;
        }
        files.push(file);
    }
    (files, wrong)
}

impl<const TRIALS: u64> QuestionArgs<TRIALS> {
    /// How to simulate.
    pub(super) fn settings(&self) -> Settings {
        self.given.settings(TRIALS)
    }

    /// Checks flags, scenarios and places, all faults at once.
    ///
    /// `flags` is what else the command found wrong with its own flags, one message a line.
    pub(super) fn prepare(
        &self,
        files: &[&Path],
        flags: Vec<String>,
        streams: &mut Streams<'_>,
    ) -> Result<(Vec<Scenario>, Ready), Stop> {
        let (read, ready) = self.prepare_sources(files, flags, streams)?;
        Ok((read.into_iter().map(|(_, scenario)| scenario).collect(), ready))
    }

    /// [`Self::prepare`] that keeps the texts, to be read again with other values.
    pub(super) fn prepare_sources(
        &self,
        files: &[&Path],
        flags: Vec<String>,
        streams: &mut Streams<'_>,
    ) -> Result<(Vec<(Source, Scenario)>, Ready), Stop> {
        let mut wrong = flags;
        wrong.extend(picture(self.chart.as_deref()).err());
        let scenarios = self.given.read(files, wrong, streams)?;
        let read: Vec<(&str, &Path)> = files.iter().map(|file| ("scenario", *file)).collect();
        let ready = self.told.places(&read, self.chart.as_deref())?;
        tell_doubts(&scenarios, streams);
        Ok((scenarios, ready))
    }

    /// [`Self::prepare`] for a question about one scenario.
    pub(super) fn prepare_one(
        &self,
        file: &Path,
        flags: Vec<String>,
        streams: &mut Streams<'_>,
    ) -> Result<(Scenario, Ready), Stop> {
        let (mut scenarios, ready) = self.prepare(&[file], flags, streams)?;
        Ok((scenarios.remove(0), ready))
    }

    /// Asks about one scenario as the library does, about batches of `size` or of those it chooses, and delivers the answer.
    pub(super) fn answer(
        &self,
        question: Question,
        file: &Path,
        size: Option<u32>,
        all: bool,
        streams: &mut Streams<'_>,
    ) -> Result<(), Stop> {
        let (scenario, ready) = self.prepare_one(file, Vec::new(), streams)?;
        if question.meant(&scenario) != question {
            streams.remark("batchwright: there is no [season] in this scenario: it sells all year, so it is answered as by `steady`");
        }
        let options = Options {
            size,
            ..self.given.options()
        };
        let answer = watched(streams, |progress| ask::answer(question, &scenario, &options, progress))
            .map_err(|why| unanswered(question, &scenario, file, why))?;
        ready.deliver(&answer.figures, all, streams)
    }
}

/// Where an answer goes.
#[derive(Debug, Args)]
pub(super) struct Told {
    /// Form of the answer
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
    /// Write the answer to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// Let --out and --chart replace a file that batchwright did not write, a scenario or a work log
    #[arg(long)]
    overwrite: bool,
}

impl Told {
    /// Finds every place writable, and none of them among what is `read`, each file with what it is; `chart` is where a chart goes.
    pub(super) fn places(&self, read: &[(&str, &Path)], chart: Option<&Path>) -> Result<Ready, Stop> {
        let picture = picture(chart).map_err(Stop::Wrote)?;
        let out = self.out.as_deref().map(Destination::open).transpose()?;
        let chart_name = chart;
        let chart = chart.map(Destination::open).transpose()?;
        for (flag, place) in [("--out", &out), ("--chart", &chart)] {
            if let Some((what, file)) = read.iter().find(|(_, file)| place.as_ref().is_some_and(|p| p.is(file))) {
                return Err(Stop::Wrote(format!(
                    "batchwright: {flag} would overwrite the {what} {}; choose another name",
                    shown(file)
                )));
            }
        }
        if let (Some(out), Some(chart)) = (&out, chart_name)
            && out.is(chart)
        {
            return Err(Stop::Wrote(
                "batchwright: --out and --chart name the same file; choose another name for one of them".to_owned(),
            ));
        }
        for (flag, place) in [("--out", &out), ("--chart", &chart)] {
            if let Some(place) = place {
                overwrite::inputs_stay(flag, place, self.overwrite)?;
            }
        }
        Ok(Ready {
            format: self.format,
            picture,
            out,
            chart,
            overwrite: self.overwrite,
        })
    }
}

/// What clap cannot check: whether the chart's ending says what kind it is.
pub(super) fn picture(chart: Option<&Path>) -> Result<Option<Picture>, String> {
    let Some(path) = chart else { return Ok(None) };
    let ending = path.extension().and_then(OsStr::to_str).map(str::to_ascii_lowercase);
    match ending.as_deref() {
        Some("svg") => Ok(Some(Picture::Svg)),
        Some("png") => Ok(Some(Picture::Png)),
        _ => Err(format!(
            "batchwright: --chart {}: the ending says which kind of picture it is; it must be .svg or .png",
            shown(path)
        )),
    }
}

impl Ready {
    /// Writes the answer where it was asked for: nothing at all if any of it fails.
    pub(super) fn deliver(self, answer: &dyn Render, all: bool, streams: &mut Streams<'_>) -> Result<(), Stop> {
        let text = match self.format {
            Format::Text => {
                let to_terminal = self.out.is_none();
                answer.text(&Look {
                    columns: if to_terminal {
                        streams.screen.columns
                    } else {
                        DEFAULT_COLUMNS
                    },
                    unicode: !to_terminal || streams.screen.unicode,
                    colour: to_terminal && streams.screen.colour_out,
                    all,
                    terminal: true,
                    writes: Look::FLAG,
                })
            }
            Format::Json => answer.json(),
            Format::Csv => answer.csv(),
        };
        // The picture, and the letters of it that its font lacks.
        let picture = self.picture.map(|kind| match kind {
            Picture::Svg => answer.svg().map(|svg| (svg.into_bytes(), String::new())),
            Picture::Png => answer.png_and_lacking(),
        });
        let picture = match picture {
            // The answer stands without it.
            Some(Err(ChartError::Empty)) => {
                streams.remark("batchwright: there is nothing to draw, so no chart was written");
                None
            }
            other => other
                .transpose()
                .map_err(|error| Stop::Refused(format!("cannot draw the chart: {error}")))?,
        };
        let picture = picture.map(|(bytes, lacking)| {
            tell_lacking(&lacking, streams);
            bytes
        });

        for (flag, place, bytes) in [
            ("--out", &self.out, Some(text.as_bytes())),
            ("--chart", &self.chart, picture.as_deref()),
        ] {
            if let (Some(place), Some(bytes)) = (place, bytes) {
                overwrite::others_stay(flag, place, self.overwrite, bytes)?;
            }
        }
        // Both files are safely on the disk before either takes its place.
        let out = self.out.map(|place| place.stage(text.as_bytes())).transpose()?;
        let chart = match (self.chart, picture) {
            (Some(place), Some(bytes)) => Some(place.stage(&bytes)?),
            _ => None,
        };
        let printed = out.is_none();
        for staged in out.into_iter().chain(chart) {
            staged.place()?;
        }
        if printed { streams.answer(&text) } else { Ok(()) }
    }
}

/// Says which letters pictures in a PNG or a workbook have no shapes for.
pub(super) fn tell_lacking(letters: &str, streams: &mut Streams<'_>) {
    const NAMED: usize = 8;
    let mut named: Vec<String> = Vec::new();
    for letter in letters.chars().map(String::from) {
        if !named.contains(&letter) {
            named.push(letter);
        }
    }
    if named.is_empty() {
        return;
    }
    if named.len() > NAMED {
        named.truncate(NAMED);
        named.push("…".to_owned());
    }
    streams.remark(&format!(
        "batchwright: the font of charts has no {}: bars stand in their place; an SVG shows them",
        named.join(", ")
    ));
}

/// Refuses what would take too long or too much memory.
pub(super) fn within_budget(work: Work) -> Result<(), Stop> {
    work.within().map_err(too_much)
}

fn too_much(why: String) -> Stop {
    Stop::Wrote(format!("batchwright: {why}"))
}

/// Why there is no answer, as the command line says it.
fn unanswered(question: Question, scenario: &Scenario, file: &Path, why: Unanswered) -> Stop {
    let of_file = |why: &str| Stop::Wrote(format!("batchwright: {}: {why}", shown(file)));
    match why {
        Unanswered::TooMuch(why) => too_much(why),
        Unanswered::NoSet(why) => of_file(&why),
        Unanswered::Lacks("[season]") => of_file(season::lacking(scenario)),
        Unanswered::Lacks("[steady]") => of_file(steady::lacking(scenario)),
        other => of_file(&Error::unanswered(question, other).to_string()),
    }
}

/// Computes with a progress bar where a person is watching.
pub(super) fn watched<A>(streams: &Streams<'_>, compute: impl FnOnce(&(dyn Fn(f64) + Sync)) -> A) -> A {
    let progress = Progress::new(streams.screen.watched);
    compute(&|done| progress.tell(done))
}

/// `key=value` as given to `--set`.
pub(super) fn key_and_value(text: &str) -> Result<(String, String), String> {
    split_setting(text).ok_or_else(|| "write key=value, for example sale.price=62".to_owned())
}

pub(super) fn plain_amount(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value.is_finite() && value >= 0.0 => Ok(value),
        Ok(_) => Err("write 0 or more, for example 62 or 58.50".to_owned()),
        Err(_) => Err("write a plain number, for example 62 or 58.50".to_owned()),
    }
}

/// A price, which brings in something.
fn plain_price(text: &str) -> Result<f64, String> {
    match plain_amount(text) {
        Ok(price) if price > 0.0 => Ok(price),
        Err(why) if text.trim().parse::<f64>().is_err() => Err(why),
        _ => Err("a price is more than 0: write for example 62 or 58.50".to_owned()),
    }
}

/// Pieces that are started together, at most `MOST`.
pub(super) fn pieces<const MOST: u32>(text: &str) -> Result<u32, String> {
    let wanted = text.trim().parse().ok().filter(|pieces| (1..=MOST).contains(pieces));
    wanted.ok_or_else(|| format!("write how many pieces, a whole number from 1 to {MOST}, for example 12"))
}

/// Trials: fewer say nothing, more fit no memory.
fn trials(text: &str) -> Result<u64, String> {
    let wanted = text
        .trim()
        .parse()
        .ok()
        .filter(|trials| (100..=100_000_000).contains(trials));
    wanted.ok_or_else(|| "write how many trials, a whole number from 100 to 100000000, for example 20000".to_owned())
}

/// A share written with or without its sign: `0.5%`, `0.005`.
pub(super) fn share_between(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let text = text.trim();
    let (number, unit) = text.strip_suffix('%').map_or((text, 1.0), |rest| (rest.trim(), 0.01));
    match number.parse::<f64>() {
        Ok(value) if (low..=high).contains(&(value * unit)) => Ok(value * unit),
        Ok(_) => Err(format!("write a share from {}% to {}%", low * 100.0, high * 100.0)),
        Err(_) => Err("write a share, for example 0.5%".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_may_be_written_both_ways() {
        let closeness = |text: &str| share_between(text, 1e-4, 0.5);
        assert_eq!(closeness("0.5%"), Ok(0.005));
        assert_eq!(closeness("0.5 %"), Ok(0.005));
        assert_eq!(closeness("0.005"), Ok(0.005));
        for bad in ["", "%", "0", "-1%", "51%", "nan", "inf", "half"] {
            assert!(closeness(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn counts_on_the_command_line_are_whole() {
        assert_eq!((pieces::<100>("12"), trials("20000")), (Ok(12), Ok(20_000)));
        for bad in ["", "0", "-1", "101", "1.5", "x"] {
            assert!(
                pieces::<100>(bad).is_err_and(|why| why.contains("from 1 to 100,")),
                "{bad}"
            );
        }
        for bad in ["", "0", "-1", "99", "100000001", "1.5", "x"] {
            assert!(trials(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn money_on_the_command_line_is_plain() {
        assert_eq!(plain_amount("58.50"), Ok(58.5));
        assert_eq!(plain_price("58.50"), Ok(58.5));
        for bad in ["-3", "0"] {
            assert!(
                plain_price(bad).is_err_and(|why| why.starts_with("a price is more than 0")),
                "{bad}"
            );
        }
        assert!(plain_price("dear").is_err_and(|why| why.starts_with("write a plain number")));
        for bad in ["", "-1", "nan", "inf", "58,50", "58 EUR"] {
            assert!(plain_amount(bad).is_err(), "{bad}");
        }
    }
}
