//! `report`: every answer about one or several scenarios in one file, a page or a workbook.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::input::Source;
use super::question::{Given, read_once, tell_doubts, tell_lacking, watched};
use super::{Stop, Streams, calendar, offer, overwrite};
use crate::ask::Options;
use crate::files::{Destination, shown};
use crate::page::bench;
use crate::questions::floor;
use crate::render::Dotted;
use crate::render::question::Question;
use crate::render::report::{self, Paper, Report, Sheet};
use crate::report::{Origin, Wanted, put_together};
use crate::scenario::{ASKED_PRICE, Scenario};

/// Puts every answer about one or several scenarios into one file: a page to read and print, or a workbook
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  A page for the browser and the printer:
    batchwright report hooks.toml --out hooks.html
  A workbook:
    batchwright report hooks.toml --out hooks.xlsx
  Two pieces set against each other, then each:
    batchwright report hooks.toml stool.toml --out both.html
  Two questions only:
    batchwright report hooks.toml --out short.html --only sweep,floor
  Started on a date:
    batchwright report hooks.toml --out h.html --start 2027-01-11
  A page in which values can be changed too:
    batchwright report hooks.toml --out hooks.html --live
  A sheet to hand to a buyer or a shop, without what it rests on:
    batchwright report hooks.toml --for buyer --out offer.html

The answers are those of the single commands. A question that does not apply is left out, and the end of the report says so: \
jig without a [[jig]], season without a [season], steady without a [steady], calendar without [hours], compare with one file. \
The same files, seed, trials and dates give the same bytes.

For a buyer the sheet says what is offered, who offers it where the file does (maker, contact, description), the price of one order of 1, 6, 12 and 24 pieces or sets, as far as the largest batch goes (--order names others), the date by which \
it is ready in four cases of five, from [hours], and until when that holds; no cost, no hours and nothing of what you earn. A \
price is the order's own, as floor --order quotes it, rounded up to a price tag; where some batch pays at your price, no piece \
costs more than that. Where an order costs more than your price, you are told so beside the sheet.

In a workbook money is in the scenario's currency, times are hours and shares are fractions, all unrounded. Sheets named A, \
B, ... are those of the first, second, ... scenario. The sheet Sums has prices and times in tinted cells: change one, and rate, \
floor and ceiling follow, on average and without chance.

Exit code 0: done. 2: something in a scenario or the flags is wrong. 1: a file cannot be read or written.")]
pub(super) struct ReportCommand {
    /// One or more scenarios; one of them may be -, standard input
    #[arg(value_name = "FILE", required = true, num_args = 1..=26)]
    files: Vec<PathBuf>,
    /// Who reads it: you, or a buyer, who sees prices and dates and nothing else
    #[arg(long = "for", value_enum, default_value_t = Reader::Maker, value_name = "READER")]
    reader: Reader,
    /// Write the report to this file; the ending, .html or .xlsx, says which kind
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Let --out replace a file that batchwright did not write, a scenario or a work log
    #[arg(long)]
    overwrite: bool,
    #[command(flatten)]
    given: Given<0>,
    /// Only these questions
    #[arg(long, value_name = "QUESTION,...", value_delimiter = ',', value_parser = questions())]
    only: Vec<Question>,
    /// For the calendar: the batch starts on this date, or on the first bench day after it [default: the report's date]
    #[arg(long, value_name = "DATE", value_parser = calendar::date)]
    start: Option<Date>,
    /// For the calendar: the date it is due
    #[arg(long, value_name = "DATE", value_parser = calendar::date)]
    due: Option<Date>,
    #[command(flatten)]
    sheet: offer::SheetArgs,
    /// Carry along the page of `batchwright page`, in which whoever reads the report can change a value and see what it does
    #[arg(long)]
    live: bool,
    /// With --live: the page, as `batchwright page` wrote it [default: the one in this program]
    #[arg(long, value_name = "FILE", requires = "live")]
    page: Option<PathBuf>,
    /// The date of the report [default: today]
    #[arg(long, value_name = "DATE", value_parser = calendar::date)]
    date: Option<Date>,
    /// The paper it is printed on [default: the usual one where its currency is used]
    #[arg(long, value_parser = papers())]
    paper: Option<Paper>,
}

/// Who reads a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Reader {
    /// Every answer, with what it rests on
    Maker,
    /// Prices and dates
    Buyer,
}

/// What a report can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Page,
    Workbook,
}

fn questions() -> impl TypedValueParser<Value = Question> {
    PossibleValuesParser::new(Question::ALL.map(Question::command)).map(|name| {
        let known = Question::ALL.into_iter().find(|q| q.command() == name);
        // The parser lets no other name through.
        known.unwrap_or(Question::Sweep)
    })
}

fn papers() -> impl TypedValueParser<Value = Paper> {
    PossibleValuesParser::new(["a4", "letter"]).map(|name| if name == "a4" { Paper::A4 } else { Paper::Letter })
}

pub(super) fn run(command: &ReportCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let (files, mut wrong) = read_once(&command.files);
    let kind = kind(&command.out).unwrap_or_else(|fault| {
        wrong.push(fault);
        Kind::Page
    });
    wrong.extend(command.not_for_its_reader(kind));
    let read = command.given.read(&files, wrong, streams)?;
    let page = command
        .live
        .then(|| super::page::built(command.page.as_deref()))
        .transpose()?;
    let offers = (command.reader == Reader::Buyer)
        .then(|| offer::wanted(&command.sheet, &read, command.given.settings(floor::TRIALS)))
        .transpose()?;
    let place = Destination::open(&command.out)?;
    if let Some(file) = files.iter().find(|file| place.is(file)) {
        return Err(Stop::Wrote(format!(
            "batchwright: --out would overwrite the scenario {}; choose another name",
            shown(file)
        )));
    }
    overwrite::inputs_stay("--out", &place, command.overwrite)?;
    tell_doubts(&read, streams);
    let made = command.date.unwrap_or_else(calendar::today);
    if let Some(wanted) = offers {
        let from = command.start.unwrap_or(made);
        let offers = watched(streams, |progress| offer::offers(&wanted, &read, from, progress))?;
        let paper = command
            .paper
            .unwrap_or_else(|| Paper::of(read.first().map_or("", |(_, scenario)| &scenario.currency)));
        let sheet = Sheet::new(made, from, command.sheet.until, paper, offers);
        let bytes = report::buyer(&sheet)
            .map_err(|error| Stop::Refused(error.to_string()))?
            .into_bytes();
        overwrite::others_stay("--out", &place, command.overwrite, &bytes)?;
        place.stage(&bytes)?.place()?;
        for said in offer::remarks(&sheet.offers) {
            streams.remark(&said);
        }
        return Ok(());
    }
    let report = watched(streams, |progress| command.report(&read, made, progress));
    if report.sections().next().is_none() {
        return Err(Stop::Wrote(format!(
            "batchwright: nothing is left to report: {}; ask another question with --only, or all of them without it",
            report.left_out.join("; ")
        )));
    }
    let bytes = match kind {
        Kind::Page => report::html(&report).map(|html| {
            let texts = report.parts.iter().map(|part| part.source.clone()).collect::<Vec<_>>();
            let html = match page {
                Some(page) => bench::carried(&html, &page, &texts),
                None => html,
            };
            html.into_bytes()
        }),
        Kind::Workbook => report::workbook(&report),
    };
    let bytes = bytes.map_err(|error| Stop::Refused(error.to_string()))?;
    overwrite::others_stay("--out", &place, command.overwrite, &bytes)?;
    place.stage(&bytes)?.place()?;
    if kind == Kind::Workbook {
        let lacking: String = report.sections().map(|(_, section)| section.answer.lacking()).collect();
        tell_lacking(&lacking, streams);
    }
    Ok(())
}

impl ReportCommand {
    fn report(&self, read: &[(Source, Scenario)], made: Date, progress: &(dyn Fn(f64) + Sync)) -> Report {
        let options = Options {
            start: self.start,
            due: self.due,
            ..self.given.options()
        };
        let origins = read.iter().zip(&self.files).map(|((source, scenario), path)| {
            let file = path.file_name().filter(|name| *name != "-");
            Origin {
                scenario,
                text: String::from_utf8_lossy(source.bytes()).into_owned(),
                file: file.map_or_else(|| source.name().to_owned(), |name| name.to_string_lossy().into_owned()),
                named: super::compare::named(path),
            }
        });
        let wanted = Wanted {
            only: &self.only,
            options,
            made,
        };
        let changed = self.given.overrides().into_iter().map(|(key, value)| {
            let key = if key == ASKED_PRICE {
                "sale.price".to_owned()
            } else {
                key
            };
            (key, value)
        });
        Report {
            changed: changed.collect(),
            paper: self.paper,
            ..put_together(&origins.collect::<Vec<_>>(), &wanted, &|stage| progress(stage.share()))
        }
    }

    /// What was asked for another reader, or in another form, than there is.
    fn not_for_its_reader(&self, kind: Kind) -> Vec<String> {
        let buyer = self.reader == Reader::Buyer;
        let for_buyers = self.sheet.given();
        let for_makers = [("--only", !self.only.is_empty()), ("--due", self.due.is_some())];
        let mut wrong: Vec<String> = if buyer { &for_makers[..] } else { &for_buyers[..] }
            .iter()
            .filter(|(_, said)| *said)
            .map(|(flag, _)| {
                let cure = if buyer {
                    "is no part of a sheet for a buyer; leave it out, or --for buyer"
                } else {
                    "belongs to a sheet for a buyer; add --for buyer, or leave it out"
                };
                format!("batchwright: {flag} {cure}")
            })
            .collect();
        let made = self.date.unwrap_or_else(calendar::today);
        if let Some(until) = self.sheet.until.filter(|until| buyer && *until < made) {
            wrong.push(format!(
                "batchwright: --until {until} is before the report's date, {made}; name a later day"
            ));
        }
        if self.live && (buyer || kind == Kind::Workbook) {
            wrong.push("batchwright: --live belongs to a report for yourself that is a page; leave it out".to_owned());
        }
        if self.live && !self.given.overrides().is_empty() {
            wrong.push(
                "batchwright: --live carries the files as they are written; leave --set and --price out".to_owned(),
            );
        }
        if buyer && kind == Kind::Workbook {
            wrong.push(format!(
                "batchwright: --out {}: a sheet for a buyer is a page to print or send; name a file that ends in .html",
                shown(&self.out)
            ));
        }
        wrong
    }
}

fn kind(out: &Path) -> Result<Kind, String> {
    if out.file_name().is_none() || out.is_dir() {
        return Err(format!(
            "batchwright: --out {}: this is a folder; name the file in it too, for example {}",
            shown(out),
            shown(&out.join("report.html"))
        ));
    }
    let ending = out.extension().and_then(OsStr::to_str).map(str::to_ascii_lowercase);
    match ending.as_deref() {
        Some("html" | "htm") => Ok(Kind::Page),
        Some("xlsx") => Ok(Kind::Workbook),
        _ => Err(format!(
            "batchwright: --out {}: the ending says which kind of report it is; it must be .html or .xlsx, for example {}",
            shown(out),
            shown(&out.with_extension("html"))
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ending_says_what_it_is() {
        assert_eq!(kind(Path::new("a.HTML")), Ok(Kind::Page));
        assert_eq!(kind(Path::new("a.b/c.xlsx")), Ok(Kind::Workbook));
        for bad in ["a", "a.pdf", "a.xls", ".html", "html"] {
            assert!(kind(Path::new(bad)).is_err(), "{bad}");
        }
        for folder in [".", "..", "src"] {
            assert!(
                kind(Path::new(folder)).is_err_and(|said| said.ends_with(&format!("for example {folder}/report.html")))
            );
        }
        assert!(kind(Path::new("a.pdf")).is_err_and(|said| said.ends_with("for example a.html")));
    }
}
