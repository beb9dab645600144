//! What a page asks of the library: one question in, one reply out, both JSON. The page that anyone can open runs it in the browser
//! (`wasm/`); `screen/` is what is seen of it.
//!
//! A question brings everything that it is about: nothing is kept between two of them. The page has the clock; the day comes with the
//! question.

pub(crate) mod bench;
mod differs;
pub(crate) mod form;
mod logs;
mod paper;
mod sale;
mod shares;
mod work;

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::ask::{self, MOST_PIECES_OF_ONE, Options, Unanswered, most_pieces};
use crate::budget::Work;
use crate::logfile::{self, LARGEST_COUNT};
use crate::model::doubts::doubts;
use crate::over;
use crate::questions::floor::{self, Floors};
use crate::questions::over::Over;
use crate::questions::{self, Settings, size_to_ask_about, sweep};
use crate::render::Render;
use crate::render::against::{self, Points};
use crate::render::figures::Figures;
use crate::render::fit::foreign;
use crate::render::question::Question;
use crate::render::sold::doubt;
use crate::render::web::{self, Sheet};
use crate::sales::answer::Sold;
use crate::sales::{self, SalesLog, count, learn};
use crate::scenario::change::{self, Change};
use crate::scenario::written::Address;
use crate::scenario::{self, Scenario, keys, rewrite, written};
use crate::worklog;
use crate::worklog::edit::edited;
use crate::worklog::fit::{Fit, fit_with};
use crate::worklog::own_times::own_times;
use differs::{Difference, differences};
use form::{Group, Wrong, groups, wrong};
pub use shares::Parcels;

/// As messages name a text that is in no file.
const NAME: &str = "scenario.toml";
const LOG: &str = "log.csv";

/// The shipped examples, to look at.
const EXAMPLES: [&str; 11] = [
    include_str!("../../scenarios/ash-dining-table.toml"),
    include_str!("../../scenarios/card-wallet.toml"),
    include_str!("../../scenarios/letterpress-cards.toml"),
    include_str!("../../scenarios/oak-coat-stand.toml"),
    include_str!("../../scenarios/oak-peg-rail.toml"),
    include_str!("../../scenarios/plant-labels.toml"),
    include_str!("../../scenarios/poured-candles.toml"),
    include_str!("../../scenarios/printed-tea-towels.toml"),
    include_str!("../../scenarios/spinning-tops.toml"),
    include_str!("../../scenarios/stoneware-mugs.toml"),
    include_str!("../../scenarios/willow-baskets.toml"),
];

/// What can be asked.
#[derive(Deserialize)]
#[serde(tag = "ask", rename_all = "lowercase")]
enum Asked {
    /// What a text says, and one answer about it.
    Look(Box<Looked>),
    /// What is in a work log, and one line more, another or fewer.
    Log(Box<logs::Asked<work::Cells>>),
    /// Which of the two logs a file is.
    Kind { log: String },
    /// What is in a sales log, and one line more, another or fewer.
    Sale(Box<logs::Asked<sale::Cells>>),
    /// The report, a workbook, or the sheet for a buyer.
    Paper(Box<paper::Asked>),
    /// The shipped examples.
    Examples,
    /// Every key that a file may have, explained.
    Keys,
}

/// What is asked about a text.
#[derive(Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(untagged)]
enum Topic {
    /// As the command of this name.
    Question(Question),
    /// As a command with something beside the scenario.
    Beside(Beside),
}

#[derive(Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Beside {
    /// What it really took, by the log.
    Fit,
    /// What buyers pay, by the sales log.
    Sold,
    /// The values of one key or two gone over.
    Over,
    /// The price of single orders.
    Quote,
}

#[derive(Deserialize)]
struct Looked {
    text: String,
    /// What is to change in it first, in order.
    #[serde(default)]
    changes: Vec<Change>,
    /// Nothing is answered where there is none.
    question: Option<Topic>,
    /// The size asked about; absent: as the command chooses it.
    size: Option<u32>,
    /// Simulated batches; absent: as many as the command takes.
    trials: Option<u64>,
    /// The calendar's first day.
    start: Option<String>,
    /// When it is due.
    due: Option<String>,
    /// Texts that it is set against.
    #[serde(default)]
    others: Vec<String>,
    /// Pieces in a batch of each of these, `null` for as many as are advised; absent: as many as of the text.
    #[serde(default)]
    sizes: Vec<Option<u32>>,
    /// The work log, or the sales log.
    #[serde(default)]
    log: String,
    /// What day it is, for a log's doubts; absent: nothing is asked of days to come.
    today: Option<String>,
    /// Steps that keep their own times as they were logged.
    #[serde(default)]
    logged: Vec<String>,
    /// Pieces of each order that is quoted; absent: those that fit the scenario.
    orders: Option<Vec<u32>>,
    /// The channel that orders go through.
    channel: Option<String>,
    /// Keys and values to go over, as `--over` takes them.
    #[serde(default)]
    over: Vec<String>,
    /// The text that the changes are told against.
    before: Option<String>,
    /// What is known of it: `was` of earlier replies.
    #[serde(default)]
    was: Vec<Points>,
    /// For one of several workers that share a sweep out, to simulate its part of the trials: which it is, from 0, and how many there are.
    part: Option<(u8, u8)>,
    /// The same, to answer its share of the sizes from the parcels that come with the question.
    share: Option<(u8, u8)>,
    /// What all of them said of their shares, as it came, to make the whole answer of.
    #[serde(default)]
    shares: Vec<String>,
    /// Width of the chart in pixels; absent: a sheet of its own.
    wide: Option<u32>,
    /// Whether the figures are wanted as JSON and CSV too.
    #[serde(default)]
    figures: bool,
}

#[derive(Default, Serialize)]
struct Said {
    /// The text with the changes in it.
    text: String,
    title: Option<String>,
    currency: Option<String>,
    /// `None`: the text is not TOML.
    form: Option<Vec<Group>>,
    faults: Vec<Wrong>,
    doubts: Vec<String>,
    /// What looks unintended in the log.
    log_doubts: Vec<String>,
    /// Questions that the scenario can be asked.
    questions: Vec<Question>,
    /// Why nothing was changed.
    unchanged: Option<String>,
    /// Why there is no answer although there are no faults.
    cannot: Option<String>,
    answer: Option<Face>,
    /// What differs from the text before.
    changed: Vec<Difference>,
    /// What the changes do.
    against: Vec<String>,
    /// Those of these sentences that do not say that something is as it was.
    moved: Vec<String>,
    /// What was found of the text before them, to be brought along with the next question.
    was: Option<Points>,
    /// The text with what the log says in it, where that changes anything.
    fitted: Option<Fitted>,
}

#[derive(Serialize)]
struct Fitted {
    text: String,
    /// Why the log may be another piece's.
    doubt: Option<String>,
    /// What is another one then.
    changes: Vec<Difference>,
}

/// An answer as it is shown.
#[derive(Serialize)]
struct Face {
    #[serde(flatten)]
    sheet: Sheet,
    trials: u64,
    /// The size it is about, where it is about one.
    size: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    json: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    csv: Option<String>,
}

#[derive(Serialize)]
struct Keys {
    keys: &'static [keys::Section],
    /// Pieces at the most: in a batch that a question is asked about, by its command, in an order that is quoted, and in a line of a log.
    most: BTreeMap<&'static str, u32>,
}

fn most() -> BTreeMap<&'static str, u32> {
    let questions = Question::ALL.into_iter();
    let sized = questions.filter_map(|question| Some((question.command(), most_pieces(question)?)));
    let others = [
        ("over", MOST_PIECES_OF_ONE),
        ("quote", MOST_ORDERED),
        ("log", LARGEST_COUNT),
    ];
    sized.chain(others).collect()
}

/// Pieces in an order at the most.
const MOST_ORDERED: u32 = 10_000;

#[derive(Serialize)]
struct LogKind {
    /// What was put up for sale and sold; otherwise what was timed.
    sales: bool,
}

#[derive(Serialize)]
struct Examples {
    examples: Vec<Example>,
}

#[derive(Serialize)]
struct Example {
    title: String,
    text: &'static str,
}

/// Why a question was not understood.
#[derive(Serialize)]
struct Refused {
    refused: String,
}

/// The reply to a question.
#[must_use]
pub fn reply(question: &[u8]) -> String {
    reply_telling(question, Parcels::default(), &|_| ()).0
}

/// The reply to a question, and what goes with it as it is: a worker's parcels for all. Where it takes a while, `tell` is told before how far it is,
/// in JSON.
pub fn reply_telling(question: &[u8], parcels: Parcels<'_>, tell: &(dyn Fn(&str) + Sync)) -> (String, Vec<u8>) {
    let mut made = Vec::new();
    let said = match serde_json::from_slice(question) {
        Ok(Asked::Look(asked)) => match shares::said(&asked, parcels) {
            Some((said, parcels)) => {
                made = parcels;
                serde_json::to_string(&said)
            }
            None => serde_json::to_string(&look(*asked)),
        },
        Ok(Asked::Log(asked)) => serde_json::to_string(&logs::said(*asked)),
        Ok(Asked::Kind { log }) => serde_json::to_string(&LogKind {
            // A work log names no such column.
            sales: logfile::names(&log, "listed"),
        }),
        Ok(Asked::Sale(asked)) => serde_json::to_string(&logs::said(*asked)),
        Ok(Asked::Paper(asked)) => serde_json::to_string(&paper::said(&asked, tell)),
        Ok(Asked::Keys) => serde_json::to_string(&Keys {
            keys: keys::SECTIONS,
            most: most(),
        }),
        Ok(Asked::Examples) => serde_json::to_string(&Examples {
            examples: EXAMPLES.iter().filter_map(|text| example(text)).collect(),
        }),
        Err(error) => serde_json::to_string(&Refused {
            refused: error.to_string(),
        }),
    };
    // Everything that is said is text, numbers and lists of them, which JSON always has room for.
    (said.unwrap_or_default(), made)
}

fn example(text: &'static str) -> Option<Example> {
    let title = scenario::read(NAME, text, &[]).ok()?.title;
    Some(Example { title, text })
}

/// The text with the changes in it. Where they ask another price of buyers who mind it, the price at which the text's buyers were told is put in
/// first: they are no more because a piece is dearer.
fn changed(text: &str, changes: &[Change]) -> Result<String, String> {
    let address = |section: &str, key: &str| Address {
        section: section.to_owned(),
        entry: None,
        key: key.to_owned(),
    };
    let price = address("sale", "price");
    let asks = |change: &Change| matches!(change, Change::Put { at, .. } if *at == price);
    let before = if changes.iter().any(asks) {
        scenario::read(NAME, text, &[]).ok()
    } else {
        None
    };
    let Some(season) = before.as_ref().and_then(Scenario::elastic_season) else {
        return change::made(text, changes);
    };
    let told_at = Change::Put {
        at: address("season", "buyers_at"),
        written: season.asked_at.to_string(),
    };
    change::made(&change::made(text, &[told_at])?, changes)
}

fn look(asked: Looked) -> Said {
    let (text, unchanged) = match changed(&asked.text, &asked.changes) {
        Ok(text) => (text, None),
        Err(why) => (asked.text.clone(), Some(why)),
    };
    let sections = written::sections(&text);
    let mut said = Said {
        form: sections.as_deref().map(groups),
        unchanged,
        ..Said::default()
    };
    match scenario::read(NAME, &text, &[]) {
        Err(faults) => said.faults = wrong(&text, sections.as_deref(), &faults),
        Ok(scenario) => {
            said.title = Some(scenario.title.clone());
            said.currency = Some(scenario.currency.clone());
            said.doubts = doubts(&scenario);
            said.questions = Question::of(&scenario).collect();
            if let Some(before) = asked.before.as_ref().filter(|before| **before != text) {
                said.changed = differences(before, &text, false);
            }
            match asked.question {
                None => {}
                Some(Topic::Question(question)) => match answered(question, &scenario, &asked) {
                    Ok(answer) => {
                        (said.against, said.moved, said.was) = told(&asked, &text, &scenario, &answer);
                        let of = (answer.trials, answer.size);
                        said.answer = Some(face(&answer.figures, &scenario, of, &asked));
                    }
                    Err(why) => said.cannot = Some(why),
                },
                Some(Topic::Beside(Beside::Over)) => match gone_over(&text, &scenario, &asked) {
                    Ok((answer, of)) => said.answer = Some(face(&answer, &scenario, of, &asked)),
                    Err(why) => said.cannot = Some(why),
                },
                Some(Topic::Beside(Beside::Quote)) => match quoted(&scenario, &asked) {
                    Ok((answer, trials)) => said.answer = Some(face(&answer, &scenario, (trials, None), &asked)),
                    Err(why) => said.cannot = Some(why),
                },
                Some(Topic::Beside(Beside::Fit)) => match learned(&scenario, &asked) {
                    Ok((answer, doubts)) => {
                        said.log_doubts = doubts;
                        said.fitted = fitted(&text, edited(&text, &answer), foreign(&answer));
                        said.answer = Some(face(&answer, &scenario, (0, None), &asked));
                    }
                    Err(why) => said.cannot = Some(why),
                },
                Some(Topic::Beside(Beside::Sold)) => match sales::read(LOG, asked.log.as_bytes()) {
                    Ok(log) => {
                        let answer = learn::learn(LOG, &scenario, &log, &learn::Asked::of(&log));
                        said.log_doubts = sold_doubts(&log, &scenario, &answer, asked.today.as_deref());
                        said.fitted = fitted(&text, sales::edit::edited(&text, &answer), None);
                        said.answer = Some(face(&answer, &scenario, (0, None), &asked));
                    }
                    Err(faults) => said.cannot = Some(faults.to_string()),
                },
            }
        }
    }
    said.text = text;
    said
}

fn answered(question: Question, scenario: &Scenario, asked: &Looked) -> Result<ask::Answer, String> {
    if question == Question::Sweep
        && let Some(answer) = shares::together(scenario, asked)
    {
        return Ok(answer);
    }
    let wrong = |error: crate::Error| error.to_string();
    let mut options = Options::new();
    if let Some(trials) = asked.trials {
        options = options.trials(trials.min(question.usual_trials())).map_err(wrong)?;
    }
    if let Some(size) = asked.size {
        options = options.size(size).map_err(wrong)?;
    }
    if let Some(start) = &asked.start {
        options = options.start(start).map_err(wrong)?;
    }
    if let Some(due) = &asked.due {
        options = options.due(due).map_err(wrong)?;
    }
    for size in asked.sizes.iter().flatten() {
        Options::new().size(*size).map_err(wrong)?;
    }
    options.sizes_against.clone_from(&asked.sizes);
    for other in &asked.others {
        let other = scenario::read(NAME, other, &[])
            .map_err(|faults| format!("Another scenario has {} faults; mend it first.", faults.count()))?;
        options.against.push(other);
    }
    ask::answer(question, scenario, &options, &|_| ()).map_err(|why| match why {
        // A [steady] cannot be put in beside it.
        Unanswered::Lacks("[steady]") if scenario.season.is_some() => {
            "It sells only until a season ends. Ask \"How many before the season ends?\"".to_owned()
        }
        other => why_not(other),
    })
}

/// An answer from so many trials, about this size.
fn face(shown: &dyn Render, scenario: &Scenario, (trials, size): (u64, Option<u32>), asked: &Looked) -> Face {
    Face {
        sheet: web::sheet(shown, &scenario.title, asked.wide),
        trials,
        size,
        json: asked.figures.then(|| shown.json()),
        csv: asked.figures.then(|| shown.csv()),
    }
}

/// The answer over the values of one key or two, with its trials and its size.
fn gone_over(text: &str, scenario: &Scenario, asked: &Looked) -> Result<(Over, (u64, Option<u32>)), String> {
    let (axes, faults) = over::axes(&asked.over);
    if let Some((_, why)) = faults.first() {
        return Err(sentence(why));
    }
    let scenarios = over::scenarios(&[], &axes, |set| scenario::read(NAME, text, set)).map_err(|(faults, _)| {
        let (listed, _) = faults.shown();
        listed.first().map_or_else(String::new, |fault| {
            format!(
                "One of these values cannot be taken. {} {}",
                sentence(fault.what()),
                sentence(fault.cure())
            )
        })
    })?;
    let usual = over::usual_trials(&scenarios, asked.size);
    let settings = Settings {
        trials: asked.trials.map_or(usual, |trials| trials.clamp(100, usual)),
        ..Settings::default()
    };
    within_budget(over::work(&scenarios, asked.size, settings.trials))?;
    let size = asked.size.unwrap_or_else(|| size_to_ask_about(scenario, &settings));
    let answer = questions::over::run(scenario, axes, &scenarios, size, &settings, &|_| ());
    Ok((answer, (settings.trials, Some(size))))
}

/// The channel that orders go through, and pieces of each; where none are said, those that fit the scenario.
fn orders(
    scenario: &Scenario,
    channel: Option<&str>,
    orders: Option<&[u32]>,
) -> Result<(Option<usize>, Vec<u32>), String> {
    if floor::hardly_filled(scenario) {
        return Err(
            "An order is filled, and here a good piece needs more than 100 starts. Lower the chance that pieces are spoiled."
                .to_owned(),
        );
    }
    let channel = match channel {
        None => None,
        Some(name) => {
            let found = scenario.channels.iter().position(|channel| channel.name == *name);
            Some(found.ok_or("There is no way of selling with this name any more.")?)
        }
    };
    let mut orders = orders.map_or_else(|| floor::usual_orders(scenario, channel), <[u32]>::to_vec);
    orders.sort_unstable();
    orders.dedup();
    if orders.first().is_none_or(|least| *least == 0) || orders.last().is_some_and(|most| *most > MOST_ORDERED) {
        return Err("Say how many pieces an order has, from 1 to 10,000.".to_owned());
    }
    Ok((channel, orders))
}

/// What single orders of so many pieces must cost, and from how many trials each.
fn quoted(scenario: &Scenario, asked: &Looked) -> Result<(Floors, u64), String> {
    let (channel, orders) = orders(scenario, asked.channel.as_deref(), asked.orders.as_deref())?;
    let settings = Settings {
        trials: asked
            .trials
            .map_or(floor::TRIALS, |trials| trials.clamp(100, floor::TRIALS)),
        ..Settings::default()
    };
    within_budget(Work::of_quotes(scenario, &orders, settings.trials))?;
    let answer = floor::orders(scenario, channel, &orders, &settings, &|_| ());
    Ok((answer, settings.trials))
}

/// What the log says of the steps, and what looks unintended in it.
fn learned(scenario: &Scenario, asked: &Looked) -> Result<(Fit, Vec<String>), String> {
    let log = worklog::read(LOG, asked.log.as_bytes()).map_err(|faults| faults.to_string())?;
    let own = own_times(scenario, &log, &asked.logged).map_err(|list| {
        let list: Vec<String> = list.iter().map(|why| sentence(why)).collect();
        list.join(" ")
    })?;
    Ok((fit_with(scenario, &log, &own), log.doubts))
}

/// What looks unintended in a sales log, as `sold` says it.
fn sold_doubts(log: &SalesLog, scenario: &Scenario, answer: &Sold, today: Option<&str>) -> Vec<String> {
    let today = today.and_then(|today| logfile::date_of(today).ok());
    let mut said = count::doubts(log, today.unwrap_or(Date::MAX), Some(scenario));
    said.extend(today.and_then(|today| count::long_since(log, today)).map(|open| {
        format!(
            "{}; take down what is for sale no more, and note what sold since",
            count::open_until(open)
        )
    }));
    said.extend(doubt(answer));
    said
}

/// What a log changes in a text; `None` where that is nothing, or cannot be written.
fn fitted<W>(was: &str, edited: Result<(String, Vec<rewrite::Change>), W>, doubt: Option<String>) -> Option<Fitted> {
    let (text, _) = edited.ok().filter(|(_, changes)| !changes.is_empty())?;
    Some(Fitted {
        changes: differences(was, &text, true),
        text,
        doubt,
    })
}

/// A clause as a sentence.
fn sentence(clause: &str) -> String {
    let mut letters = clause.chars();
    let first: String = letters.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let rest = letters.as_str();
    let end = if rest.ends_with(['.', '?', '!']) { "" } else { "." };
    format!("{first}{rest}{end}")
}

/// What differs from the text before, by the same draws, first all that is told and then only what is another; and what was found of that text
/// on the way.
fn told(
    asked: &Looked,
    text: &str,
    now: &Scenario,
    answer: &ask::Answer,
) -> (Vec<String>, Vec<String>, Option<Points>) {
    let whole = match &answer.figures {
        Figures::Sweep(sweep) => Some(Points::from(&**sweep)),
        _ => None,
    };
    // Of the size that the answer speaks of; where it speaks of several, nothing is told of one.
    let size = match &answer.figures {
        Figures::Floor(floor) => Some(floor.about),
        _ => answer.size,
    };
    let (Some(before), Some(size)) = (&asked.before, size) else {
        return Default::default();
    };
    if before == text {
        return (Vec::new(), Vec::new(), whole);
    }
    let trials = answer.trials.min(sweep::TRIALS);
    let settings = Settings {
        trials,
        ..Settings::default()
    };
    let points = |scenario: &Scenario, alone: bool| {
        let mut scenario = scenario.clone();
        if alone || !scenario.batch.sizes.contains(&size) {
            scenario.batch.sizes = vec![size];
        }
        Points::from(&sweep::unadvised(&scenario, &settings, &|_| ()))
    };
    let alone = whole.is_none();
    let (was, found) = match asked.was.iter().find(|was| was.tell(size, trials)) {
        Some(was) => (was.clone(), None),
        None => {
            let Ok(before) = scenario::read(NAME, before, &[]) else {
                return Default::default();
            };
            // Whoever asks for fewer pieces after a refusal does not wait for the many after all.
            let looked_at: &[u32] = if alone { &[size] } else { &[] };
            if Work::of(Question::Sweep, &before, looked_at, trials).within().is_err() {
                return Default::default();
            }
            let was = points(&before, alone);
            (was.clone(), Some(was))
        }
    };
    let now = whole.unwrap_or_else(|| points(now, alone));
    let said = against::sentences(&was, &now, size);
    // As it would be said if nothing had changed.
    let still = against::sentences(&now, &now, size);
    let moved = said.iter().filter(|line| !still.contains(line)).cloned().collect();
    (said, moved, found)
}

/// Refuses what would take too long or too much memory.
fn within_budget(work: Work) -> Result<(), String> {
    work.within().map_err(|why| why_not(Unanswered::TooMuch(why)))
}

/// Why there is no answer, and what to do.
fn why_not(why: Unanswered) -> String {
    let missing = |section: &str| match section {
        "[[jig]]" => "Say what you could build or buy, and which step it helps.",
        "[season]" => "Say how many pieces buyers want before the season ends.",
        "[steady]" => "Say how many pieces buyers want a week.",
        _ => "Say when you are at the bench.",
    };
    match why {
        Unanswered::Lacks(section) => missing(section).to_owned(),
        Unanswered::NoSet(_) => {
            "No batch looked at makes a full set. Look at larger ones, or say what a single piece costs.".to_owned()
        }
        Unanswered::Several => "Set it against another of your products.".to_owned(),
        Unanswered::Currencies => "Both products must be in the same currency.".to_owned(),
        Unanswered::Alone => "This is about one product.".to_owned(),
        Unanswered::Sized => "This looks for the number of pieces itself.".to_owned(),
        Unanswered::TooLarge(most) => format!("Ask about {most} pieces at most."),
        Unanswered::Undated => "Say on which day you start.".to_owned(),
        Unanswered::NoStart => "No bench day is left in the years that dates have. Say other hours.".to_owned(),
        Unanswered::TooLong(size) => {
            format!(
                "With these hours a batch of {size} takes more than 200 years. Say more hours, or ask about fewer pieces."
            )
        }
        Unanswered::TooMuch(why) => format!("Nothing was computed: {why}."),
    }
}

#[cfg(test)]
mod tests;
