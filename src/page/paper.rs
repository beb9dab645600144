//! What is handed on: the report as a page or a workbook, and the sheet for a buyer, as `batchwright report` writes them.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{NAME, orders, sentence, within_budget};
use crate::ask::{self, Options};
use crate::budget::Work;
use crate::questions::calendar::Day;
use crate::questions::offer::{self, NoOffer};
use crate::questions::{Settings, floor};
use crate::render::question::Question;
use crate::render::report::{self, Paper, Part, Report, ReportError, Sheet};
use crate::report::{Origin, Stage, Wanted, put_together};
use crate::scenario::{self, Scenario};

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Report,
    Workbook,
    /// The sheet for a buyer.
    Buyer,
}

#[derive(Deserialize)]
pub(super) struct Asked {
    text: String,
    /// The name of its file.
    file: String,
    kind: Kind,
    /// The day it is made.
    made: String,
    /// The day work may begin; absent: that day.
    start: Option<String>,
    /// Not for a buyer: when it is due.
    due: Option<String>,
    /// For a buyer: pieces of each order; absent: those that fit the scenario.
    orders: Option<Vec<u32>>,
    /// For a buyer: the channel that orders go through.
    channel: Option<String>,
    /// For a buyer: the last day on which it holds.
    until: Option<String>,
    /// Simulated batches; absent: as many as the command takes.
    trials: Option<u64>,
}

#[derive(Default, Serialize)]
pub(super) struct Said {
    /// The file to keep.
    html: Option<String>,
    /// The file to keep, byte by byte.
    workbook: Option<Vec<u8>>,
    /// What the maker should know of it.
    remarks: Vec<String>,
    /// Why there is none.
    cannot: Option<String>,
}

/// What is told meanwhile: which question is being answered.
#[derive(Serialize)]
struct Meanwhile {
    question: Question,
    before: usize,
    all: usize,
}

/// The days that are named.
struct Days {
    made: Date,
    start: Option<Date>,
    due: Option<Date>,
    until: Option<Date>,
}

pub(super) fn said(asked: &Asked, tell: &(dyn Fn(&str) + Sync)) -> Said {
    let made = || {
        let scenario = scenario::read(NAME, &asked.text, &[])
            .map_err(|_| "Mend what is wrong in the figures first.".to_owned())?;
        let day = |name, text: &String| ask::date_of(name, text).map_err(|error| error.to_string());
        let days = Days {
            made: day("made", &asked.made)?,
            start: asked.start.as_ref().map(|text| day("start", text)).transpose()?,
            due: asked.due.as_ref().map(|text| day("due", text)).transpose()?,
            until: asked.until.as_ref().map(|text| day("until", text)).transpose()?,
        };
        let failed = |error: ReportError| error.to_string();
        Ok(match asked.kind {
            Kind::Report => Said {
                html: Some(report::html(&answers(asked, &scenario, &days, tell)).map_err(failed)?),
                ..Said::default()
            },
            Kind::Workbook => {
                let report = answers(asked, &scenario, &days, tell);
                Said {
                    workbook: Some(report::workbook(&report).map_err(failed)?),
                    remarks: report.parts.iter().filter_map(Part::without_sums).collect(),
                    ..Said::default()
                }
            }
            Kind::Buyer => for_buyer(asked, &scenario, &days)?,
        })
    };
    made().unwrap_or_else(|why| Said {
        cannot: Some(why),
        ..Said::default()
    })
}

fn answers(asked: &Asked, scenario: &Scenario, days: &Days, tell: &(dyn Fn(&str) + Sync)) -> Report {
    let origin = Origin {
        scenario,
        text: asked.text.clone(),
        file: asked.file.clone(),
        named: scenario.title.clone(),
    };
    let options = Options {
        trials: asked.trials,
        start: days.start,
        due: days.due,
        ..Options::default()
    };
    let wanted = Wanted {
        only: &[],
        options,
        made: days.made,
    };
    put_together(&[origin], &wanted, &|stage| {
        let Stage {
            question,
            part,
            before,
            all,
        } = stage;
        // Once a question: no more is shown.
        if part == 0.0 {
            tell(&serde_json::to_string(&Meanwhile { question, before, all }).unwrap_or_default());
        }
    })
}

fn for_buyer(asked: &Asked, scenario: &Scenario, days: &Days) -> Result<Said, String> {
    if days.until.is_some_and(|until| until < days.made) {
        return Err("This day is over. Name a later one until which it holds.".to_owned());
    }
    let (channel, orders) = orders(scenario, asked.channel.as_deref(), asked.orders.as_deref())?;
    let settings = Settings {
        trials: asked.trials.unwrap_or(floor::TRIALS),
        ..Settings::default()
    };
    within_budget(Work::of_offer(scenario, &orders, settings.trials))?;
    let from = days.start.unwrap_or(days.made);
    let question = offer::Question {
        orders,
        channel,
        from: Day(from),
    };
    let offer = offer::run(scenario, &question, &settings, &|_| ()).map_err(none)?;
    let remarks = report::remarks(&offer, |left| {
        format!("with {left} as pieces in an order they are left out")
    });
    let paper = Paper::of(&scenario.currency);
    let sheet = Sheet::new(days.made, from, days.until, paper, vec![offer]);
    Ok(Said {
        html: Some(report::buyer(&sheet).map_err(|error| error.to_string())?),
        remarks: remarks.iter().map(|said| sentence(said)).collect(),
        ..Said::default()
    })
}

/// Why nothing can be offered, and what to do.
fn none(why: NoOffer) -> String {
    match why {
        NoOffer::NoPrice(pieces) => format!(
            "No price pays for an order of {pieces}. Name other quantities, or ask what to quote for one order to see the reason."
        ),
        NoOffer::NoDate(pieces) => {
            format!("With these bench hours an order of {pieces} is never ready. Name fewer pieces, or say more hours.")
        }
    }
}
