//! A report: every answer about one or several scenarios, as one HTML page or as a spreadsheet workbook.
//!
//! Each question keeps its own words, tables and chart; here they are only put together, opening with the answers and closing
//! with what was assumed. The figures are those of the single commands with the same seed and trials.

mod buyer;
mod page;
#[cfg(feature = "workbook")]
mod sheets;
#[cfg(feature = "workbook")]
mod sums;
#[cfg(feature = "workbook")]
mod workbook;

pub use buyer::{Sheet, html as buyer, remarks};
pub use page::html;
#[cfg(feature = "workbook")]
pub use workbook::workbook;

use std::fmt;

use jiff::civil::Date;

use super::figures::Figures;
use super::question::Question;
use super::understood::Told;
use super::words::{each_once, joined};
use super::{Render, format, text, web};
#[cfg(feature = "workbook")]
use crate::model::sums::Sums;

/// One question and its answer.
pub struct Section {
    /// What was asked.
    pub question: Question,
    /// The answer.
    pub answer: Figures,
    /// Trials of each size or setting.
    pub trials: u64,
}

/// One scenario and all that was asked about it.
pub struct Part {
    /// The scenario's title.
    pub title: String,
    /// The name of its file.
    pub file: String,
    /// Its text as it was read.
    pub source: String,
    /// The scenario as understood.
    pub told: Told,
    /// ISO 4217 code of its money.
    pub currency: String,
    /// Its averages as sums, or why there are none.
    #[cfg(feature = "workbook")]
    pub sums: Result<Sums, String>,
    /// The answers, in the order of [`Question::ALL`].
    pub sections: Vec<Section>,
}

#[cfg(feature = "workbook")]
impl Part {
    /// That a workbook has no sums of it, and why; nothing where it has.
    pub(crate) fn without_sums(&self) -> Option<String> {
        let why = self.sums.as_ref().err()?;
        Some(format!("{} has no sheet of sums: {why}.", self.title))
    }
}

/// Every answer about one or several scenarios.
pub struct Report {
    /// The day it is dated.
    pub(crate) made: Date,
    /// The program's version.
    pub(crate) version: String,
    /// Seed of the random streams.
    pub(crate) seed: u64,
    /// Values that were set beside the files, key and value.
    pub(crate) changed: Vec<(String, String)>,
    /// The scenarios against each other, where there are several.
    pub(crate) compared: Option<Section>,
    /// One part a scenario.
    pub(crate) parts: Vec<Part>,
    /// What was not asked, and why, a clause each.
    pub(crate) left_out: Vec<String>,
    /// The paper asked for; `None`: that of the country of the money.
    pub(crate) paper: Option<Paper>,
}

/// Paper that is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm (ISO 216).
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// The usual paper where a currency is used (Unicode CLDR, measurement data, paper sizes by territory; from memory).
    pub fn of(currency: &str) -> Self {
        const LETTER: [&str; 12] = [
            "BZD", "CAD", "CLP", "COP", "CRC", "GTQ", "MXN", "NIO", "PAB", "PHP", "USD", "VES",
        ];
        if LETTER.contains(&currency) {
            Self::Letter
        } else {
            Self::A4
        }
    }

    /// Its name in a style sheet (CSS Paged Media, size of a page).
    pub fn named(self) -> &'static str {
        match self {
            Self::Letter => "letter",
            Self::A4 => "A4",
        }
    }

    /// Its number in a workbook (ECMA-376 part 1, 18.3.1.63; from memory).
    pub fn number(self) -> u8 {
        match self {
            Self::Letter => 1,
            Self::A4 => 9,
        }
    }
}

/// Why there is no report, though there are answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReportError(String);

impl fmt::Display for ReportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the report cannot be made: {}", self.0)
    }
}

impl std::error::Error for ReportError {}

#[cfg(feature = "workbook")]
impl From<rust_xlsxwriter::XlsxError> for ReportError {
    fn from(error: rust_xlsxwriter::XlsxError) -> Self {
        Self(error.to_string())
    }
}

impl From<askama::Error> for ReportError {
    fn from(error: askama::Error) -> Self {
        Self(error.to_string())
    }
}

/// Said once, for all answers. What tires, what hurts, what the law is asked about.
const CARE: &str = "Never save setup by leaving a guard off; curing, drying and cooling times are the glue maker's, the finish's and \
                    the kiln's, not ours to shorten. Long repetitive work tires, and tired hands get hurt. Earnings are before income \
                    tax; tax, product safety, finishes for food or children and consumer law are for local rules and a licensed \
                    professional.";

impl Report {
    /// What it is about: the titles.
    pub fn title(&self) -> String {
        joined(&each_once(self.parts.iter().map(|part| &part.title))).unwrap_or_default()
    }

    /// What it is printed on.
    pub(crate) fn paper(&self) -> Paper {
        let first = self.parts.first();
        self.paper
            .unwrap_or_else(|| first.map_or(Paper::A4, |part| Paper::of(&part.currency)))
    }

    /// That money is in several currencies, where it is.
    fn currencies(&self) -> Option<String> {
        let first = &self.parts.first()?.currency;
        if self.parts.iter().all(|part| part.currency == *first) {
            return None;
        }
        let each = self.parts.iter();
        let each: Vec<String> = each
            .map(|part| format!("{} for {}", part.currency, part.title))
            .collect();
        let apart = match self.compared {
            Some(_) => format!("is converted into {first} only where they are set against each other"),
            None => "none is converted".to_owned(),
        };
        Some(format!(
            "Money is in several currencies and {apart}: {}.",
            each.join(", ")
        ))
    }

    /// Every section with the number of its part, the comparison first.
    pub(crate) fn sections(&self) -> impl Iterator<Item = (Option<usize>, &Section)> {
        let parts = self.parts.iter().enumerate();
        let parts = parts.flat_map(|(k, part)| part.sections.iter().map(move |section| (Some(k), section)));
        self.compared.iter().map(|section| (None, section)).chain(parts)
    }

    /// Name and value of what the whole report rests on.
    fn known(&self) -> Vec<(&'static str, String)> {
        let runs = each_once(
            self.sections()
                .map(|(_, section)| format!("{} {}", section.question.command(), format::count(section.trials))),
        );
        let mut known = vec![
            ("Made on", format::date(self.made, None)),
            ("Program", format!("batchwright {}", self.version)),
            ("Seed", self.seed.to_string()),
            ("Batches simulated", runs.join(", ")),
        ];
        if let Some(currencies) = self.currencies() {
            known.push(("Currencies", currencies));
        }
        if !self.changed.is_empty() {
            let set = self.changed.iter();
            let set: Vec<String> = set.map(|(key, value)| format!("{key} = {value}")).collect();
            known.push(("Set beside the file", set.join(", ")));
        }
        if !self.left_out.is_empty() {
            known.push(("Left out", format!("{}.", self.left_out.join("; "))));
        }
        known
    }
}

/// Letters that a summary says at least, where there is more to say.
const ENOUGH: usize = 60;

/// The first sentence of an answer, which is the answer; the next as well where it is a short one.
fn first_words(section: &Section, look: &text::Look) -> String {
    let mut said = String::new();
    for sentence in section.answer.page(look).opening {
        if said.chars().count() >= ENOUGH {
            break;
        }
        if !said.is_empty() {
            said.push(' ');
        }
        said.push_str(&sentence);
    }
    web::sentences(&said)
}
