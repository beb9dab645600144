//! Any question, asked as its own command asks it where nothing more is said: for those outside, for `desk` and `cli`.

use jiff::civil::Date;
use serde::{Serialize, Serializer};

use crate::budget::Work;
use crate::questions::calendar::{self, Day, NoDate, Opens};
use crate::questions::compare;
use crate::questions::drivers;
use crate::questions::floor;
use crate::questions::jig;
use crate::questions::over as over_values;
use crate::questions::season;
use crate::questions::steady;
use crate::questions::stress;
use crate::questions::sweep;
use crate::questions::{CHOICE_TRIALS, Settings, size_of, size_to_ask_about, trials_of_one_size};
#[cfg(feature = "png")]
use crate::render::Dotted;
use crate::render::Render;
use crate::render::figures::Figures;
use crate::render::json::Json;
use crate::render::question::Question;
use crate::render::text::Look;
use crate::scenario::Scenario;
use crate::{Error, checked, over};

/// Pieces in a batch at the most: of `floor` and `stress`, and of the other questions about one size.
const MOST_PIECES: u32 = 100_000;
pub(crate) const MOST_PIECES_OF_ONE: u32 = 10_000;

/// Pieces in a batch at the most that a question is asked about; `None`: it looks for the number itself.
pub(crate) const fn most_pieces(question: Question) -> Option<u32> {
    match question {
        Question::Season | Question::Steady => None,
        Question::Sweep | Question::Floor | Question::Stress => Some(MOST_PIECES),
        Question::Compare | Question::Drivers | Question::Jig | Question::Calendar => Some(MOST_PIECES_OF_ONE),
    }
}
/// Room for a text, in characters.
const COLUMNS: (usize, usize) = (40, 1_000);

/// What a question leaves open; each value is checked where it is given.
///
/// ```
/// use batchwright::Options;
///
/// let options = Options::new().trials(2_000)?.size(12)?.start("2027-01-11")?;
/// assert!(options.trials(3).is_err());
/// # Ok::<(), batchwright::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// The size that is asked about; `None`: as the command chooses it.
    pub(crate) size: Option<u32>,
    /// Simulated batches of each size or setting; `None`: as many as the command takes.
    pub(crate) trials: Option<u64>,
    /// Seed of the random streams.
    pub(crate) seed: u64,
    /// Threads; `None`: the common ones.
    pub(crate) threads: Option<usize>,
    /// The calendar's first day.
    pub(crate) start: Option<Date>,
    /// The day it is due.
    pub(crate) due: Option<Date>,
    /// What it is set against.
    pub(crate) against: Vec<Scenario>,
    /// The size of each of these, `None` as the command chooses it; empty: as the first's.
    pub(crate) sizes_against: Vec<Option<u32>>,
    /// The values that a sweep goes over in place of sizes.
    pub(crate) over: Vec<String>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            size: None,
            trials: None,
            seed: 1,
            threads: None,
            start: None,
            due: None,
            against: Vec::new(),
            sizes_against: Vec::new(),
            over: Vec::new(),
        }
    }
}

impl Options {
    /// The size asked about of the scenario (0) or of one that it is set against.
    fn size_of(&self, place: usize) -> Option<u32> {
        match place.checked_sub(1) {
            Some(other) if !self.sizes_against.is_empty() => self.sizes_against.get(other).copied().flatten(),
            _ => self.size,
        }
    }

    /// As each question's command is asked where nothing more is said.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// So many simulated batches of each size or setting.
    ///
    /// # Errors
    /// Fewer than 100, which say nothing, or more than 100,000,000, which fit no memory.
    pub fn trials(self, trials: u64) -> Result<Self, Error> {
        let trials = Some(within("trials", trials, 100, 100_000_000)?);
        Ok(Self { trials, ..self })
    }

    /// About batches of this many pieces.
    ///
    /// # Errors
    /// None, or more than 100,000.
    pub fn size(self, pieces: u32) -> Result<Self, Error> {
        let size = Some(within("size", pieces, 1, MOST_PIECES)?);
        Ok(Self { size, ..self })
    }

    /// Seed of every random stream; 1 if nothing is said. The same seed gives the same answer.
    #[must_use]
    pub fn seed(self, seed: u64) -> Self {
        Self { seed, ..self }
    }

    /// On so many threads; the answer is the same.
    ///
    /// # Errors
    /// None, or more than 1,024.
    pub fn threads(self, threads: usize) -> Result<Self, Error> {
        let threads = Some(within("threads", threads, 1, 1_024)?);
        Ok(Self { threads, ..self })
    }

    /// For the calendar: the batch starts on this date, written `2027-01-11`, or on the first bench day after it.
    ///
    /// # Errors
    /// What is no date.
    pub fn start(self, date: &str) -> Result<Self, Error> {
        let start = Some(date_of("start", date)?);
        Ok(Self { start, ..self })
    }

    /// For the calendar: the date it is due, written `2027-02-01`.
    ///
    /// # Errors
    /// What is no date.
    pub fn due(self, date: &str) -> Result<Self, Error> {
        let due = Some(date_of("due", date)?);
        Ok(Self { due, ..self })
    }

    /// For the comparison: one more scenario that the first is set against.
    #[must_use]
    pub fn against(mut self, other: &checked::Scenario) -> Self {
        self.against.push(other.read.clone());
        self
    }

    /// For the sweep: over the values of a key in place of sizes, written as for the flag `--over`; said twice, over both keys.
    ///
    /// ```
    /// use batchwright::{Options, Question, Scenario, ask};
    ///
    /// let hook = "currency = 'EUR'\ntarget = 25\n[sale]\nprice = 18\n[[step]]\nname = 'forge'\neach = '20 / 25 / 40 min'\n";
    /// let options = Options::new().trials(500)?.over("sale.price=10..30 step 2")?;
    /// let answer = ask(Question::Sweep, &Scenario::from_toml(hook)?, &options)?;
    /// assert!(answer.json().contains("\"crossings\""));
    /// # Ok::<(), batchwright::Error>(())
    /// ```
    ///
    /// # Errors
    /// What is no key with values, too many values, or a third key.
    pub fn over(mut self, values: &str) -> Result<Self, Error> {
        self.over.push(values.to_owned());
        match over::axes(&self.over).1.pop() {
            Some((text, why)) => Err(Error::option("over", text, format!("KEY=VALUES: {why}"))),
            None => Ok(self),
        }
    }
}

impl Options {
    pub(crate) fn settings(&self, trials: u64) -> Settings {
        Settings {
            trials,
            within: None,
            seed: self.seed,
            threads: self.threads,
        }
    }
}

pub(crate) fn within<N: PartialOrd + std::fmt::Display>(
    name: &'static str,
    value: N,
    low: N,
    high: N,
) -> Result<N, Error> {
    if low <= value && value <= high {
        Ok(value)
    } else {
        Err(Error::option(name, value, format!("from {low} to {high}")))
    }
}

pub(crate) fn date_of(name: &'static str, text: &str) -> Result<Date, Error> {
    let date = text.trim().parse();
    date.map_err(|_| Error::option(name, text, "a date as year-month-day, for example 2027-01-11"))
}

/// An answer: figures with their errors, and how they are told.
#[derive(Debug, Clone)]
pub struct Answer {
    pub(crate) figures: Figures,
    /// The size it is about, where it is about one.
    pub(crate) size: Option<u32>,
    /// Simulated batches of each size or setting.
    pub(crate) trials: u64,
}

/// As its JSON.
impl Serialize for Answer {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.figures.serialize(serializer)
    }
}

impl Answer {
    /// One that nothing was simulated for.
    pub(crate) fn new(figures: Figures) -> Self {
        Self {
            figures,
            size: None,
            trials: 0,
        }
    }

    /// Every figure, unrounded, with its error.
    #[must_use]
    pub fn figures(&self) -> &Figures {
        &self.figures
    }

    /// Simulated batches of each size or setting.
    #[must_use]
    pub fn trials(&self) -> u64 {
        self.trials
    }

    /// For a person: what to do, why, the figures in tables, in so many columns (40 to 1,000), ending in a line break.
    #[must_use]
    pub fn text(&self, columns: usize) -> String {
        self.figures.text(&Look {
            columns: columns.clamp(COLUMNS.0, COLUMNS.1),
            ..Look::page(false)
        })
    }

    /// The documented JSON, indented, ending in a line break.
    #[must_use]
    pub fn json(&self) -> String {
        self.figures.json()
    }

    /// Rows and columns, unrounded, with a line of names above.
    #[must_use]
    pub fn csv(&self) -> String {
        self.figures.csv()
    }

    /// The chart as SVG, 1000 pixels wide. Letters that the charts' font lacks are left to a font of whoever looks.
    ///
    /// # Errors
    /// There is nothing to draw, or the drawing fails.
    #[cfg(feature = "charts")]
    pub fn svg(&self) -> Result<String, Error> {
        self.figures.svg().map_err(Error::chart)
    }

    /// The chart as PNG, 1000 pixels wide, on white. Words in letters that the charts' font lacks are bars.
    ///
    /// # Errors
    /// There is nothing to draw, or the drawing fails.
    #[cfg(feature = "png")]
    pub fn png(&self) -> Result<Vec<u8>, Error> {
        self.figures.png().map_err(Error::chart)
    }
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Unanswered {
    /// It takes several scenarios.
    Several,
    /// It is about one scenario.
    Alone,
    /// The scenarios have different currencies, and none says what one is worth in the other.
    Currencies,
    /// It looks for the size itself.
    Sized,
    /// It is asked about so many pieces at most.
    TooLarge(u32),
    /// The scenario has no such section.
    Lacks(&'static str),
    /// No batch looked at makes a full set, so none sells a piece: a clause that says what to change.
    NoSet(String),
    /// No first day was said.
    Undated,
    /// No bench day is left in the years that dates have.
    NoStart,
    /// A batch of so many takes more than 200 years.
    TooLong(u32),
    /// It would take too long, or too much memory: a clause that says what to change.
    TooMuch(String),
}

/// Asks one question about a scenario.
///
/// # Errors
/// The scenario lacks the section that the question is about, or the options do not go with the question.
pub fn ask(question: Question, scenario: &checked::Scenario, options: &Options) -> Result<Answer, Error> {
    let refuse = |why| Err(Error::unanswered(question, why));
    if question != Question::Compare && !options.against.is_empty() {
        return refuse(Unanswered::Alone);
    }
    if !options.over.is_empty() {
        return if question == Question::Sweep {
            over_values_of(scenario, options)
        } else {
            let values = options.over.join(" and ");
            Err(Error::option(
                "over",
                values,
                "left out, as only the sweep goes over values",
            ))
        };
    }
    let only;
    let mut scenario = &scenario.read;
    if let Some(size) = options.size {
        match most_pieces(question) {
            None => return refuse(Unanswered::Sized),
            Some(most) if size > most => return refuse(Unanswered::TooLarge(most)),
            Some(_) => {}
        }
        if question == Question::Sweep {
            only = of_size(scenario, size);
            scenario = &only;
        }
    }
    answer(question, scenario, options, &|_| ()).map_err(|why| Error::unanswered(question, why))
}

/// What an hour earns over the values of one key or two, each read and refused as if it stood in the file.
fn over_values_of(scenario: &checked::Scenario, options: &Options) -> Result<Answer, Error> {
    let refuse = |why| Error::unanswered(Question::Sweep, why);
    if options.size.is_some_and(|size| size > MOST_PIECES_OF_ONE) {
        return Err(refuse(Unanswered::TooLarge(MOST_PIECES_OF_ONE)));
    }
    let (axes, _) = over::axes(&options.over);
    let scenarios = scenario.over(&axes)?;
    let usual = || over::usual_trials(&scenarios, options.size);
    let trials = options.trials.unwrap_or_else(usual);
    let settings = options.settings(trials);
    over::work(&scenarios, options.size, trials)
        .within()
        .map_err(|why| refuse(Unanswered::TooMuch(why)))?;
    let base = &scenario.read;
    let size = options.size.unwrap_or_else(|| size_to_ask_about(base, &settings));
    let answer = over_values::run(base, axes, &scenarios, size, &settings, &|_| ());
    Ok(Answer {
        figures: Figures::Over(Box::new(answer)),
        size: Some(size),
        trials,
    })
}

/// Answers, one arm a question (which makes it long). `progress` is called with the share that is done, from any thread.
///
/// # Errors
/// Why the scenario cannot be asked this.
pub(crate) fn answer(
    question: Question,
    scenario: &Scenario,
    options: &Options,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Answer, Unanswered> {
    let question = question.meant(scenario);
    if let Some(section) = question.lacks(scenario) {
        return Err(Unanswered::Lacks(section));
    }
    let usual = question.usual_trials();
    let settings = options.settings(options.trials.unwrap_or(usual));
    // A question about one size under many settings, and how many pieces times steps it takes with its usual trials.
    let one = |most: usize| -> Result<(u32, Settings), Unanswered> {
        let size = options.size.unwrap_or_else(|| size_to_ask_about(scenario, &settings));
        let trials = options
            .trials
            .unwrap_or_else(|| trials_of_one_size(scenario, size, usual, most));
        Work::of(question, scenario, &[size], trials)
            .within()
            .map_err(Unanswered::TooMuch)?;
        Ok((size, Settings { trials, ..settings }))
    };
    work(question, scenario, options, settings.trials)
        .within()
        .map_err(Unanswered::TooMuch)?;
    let (figures, size, trials) = match question {
        Question::Compare => {
            let all: Vec<Scenario> = std::iter::once(scenario).chain(&options.against).cloned().collect();
            if all.len() < 2 {
                return Err(Unanswered::Several);
            }
            if compare::comparable(&all) < 2 {
                return Err(Unanswered::Currencies);
            }
            let asked = compare::Question {
                sizes: (0..all.len()).map(|k| options.size_of(k)).collect(),
                hours_a_week: None,
                files: all.iter().map(|other| other.title.clone()).collect(),
            };
            let answer = compare::run(&all, &asked, &settings, progress);
            let trials = answer.trials;
            (Figures::Compare(Box::new(answer)), options.size, trials)
        }
        Question::Sweep => {
            let answer = sweep::run(scenario, &settings, progress);
            let (size, trials) = (size_of(&answer), answer.trials);
            (Figures::Sweep(Box::new(answer)), Some(size), trials)
        }
        Question::Floor => {
            let answer = match options.size {
                Some(size) => floor::run(&of_size(scenario, size), &settings, progress),
                None => floor::run(scenario, &settings, progress),
            };
            let trials = answer.trials;
            (Figures::Floor(Box::new(answer)), options.size, trials)
        }
        Question::Stress => {
            let (size, settings) = one(stress::MOST_WORK)?;
            let answer = stress::run(scenario, size, &settings, progress);
            (Figures::Stress(Box::new(answer)), Some(size), settings.trials)
        }
        Question::Drivers => {
            let (size, settings) = one(drivers::MOST_WORK)?;
            let answer = drivers::run(scenario, size, &settings, progress);
            (Figures::Drivers(Box::new(answer)), Some(size), settings.trials)
        }
        Question::Jig => {
            let all: Vec<usize> = (0..scenario.jigs.len()).collect();
            let answer = jig::run(scenario, &all, options.size, &settings, progress);
            let size = answer.size;
            (Figures::Jig(Box::new(answer)), Some(size), settings.trials)
        }
        Question::Season => {
            let answer = season::run(scenario, &settings, progress).map_err(|_| Unanswered::Lacks("[season]"))?;
            (Figures::Season(Box::new(answer)), None, settings.trials)
        }
        Question::Steady => {
            let answer = steady::run(scenario, &settings, progress).map_err(Unanswered::NoSet)?;
            (Figures::Steady(Box::new(answer)), None, settings.trials)
        }
        Question::Calendar => {
            let asked = calendar::Question {
                from: Day(options.start.ok_or(Unanswered::Undated)?),
                due: options.due.map(Day),
                opens: Opens::default(),
                sizes: options.size.into_iter().collect(),
                first_batch: false,
                spares: 0,
            };
            let answer = calendar::run(scenario, &asked, &settings, progress).map_err(|why| match why {
                NoDate::NoHours => Unanswered::Lacks("[hours]"),
                NoDate::NoStart => Unanswered::NoStart,
                NoDate::TooLong(size) => Unanswered::TooLong(size),
            })?;
            let size = answer.size;
            (Figures::Calendar(Box::new(answer)), Some(size), settings.trials)
        }
    };
    Ok(Answer { figures, size, trials })
}

/// What a question takes, before its size is known.
fn work(question: Question, scenario: &Scenario, options: &Options, trials: u64) -> Work {
    let sizes: Vec<u32> = options.size.into_iter().collect();
    match question {
        // Their trials are chosen by their size, which takes a quick sweep.
        Question::Stress | Question::Drivers => Work::of(Question::Sweep, scenario, &sizes, trials.min(CHOICE_TRIALS)),
        // These look at every size of the scenario, whichever is asked about.
        Question::Sweep | Question::Season | Question::Steady => Work::of(question, scenario, &[], trials),
        // The others stand beside it.
        _ => (1..)
            .zip(&options.against)
            .fold(Work::of(question, scenario, &sizes, trials), |sum, (place, other)| {
                let sizes: Vec<u32> = options.size_of(place).into_iter().collect();
                sum.and(Work::of(question, other, &sizes, trials))
            }),
    }
}

/// The scenario with one size to look at.
fn of_size(scenario: &Scenario, size: u32) -> Scenario {
    let mut alone = scenario.clone();
    alone.batch.sizes = vec![size];
    alone
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sweep looks at every size, whichever it is asked about.
    #[test]
    fn a_size_buys_no_larger_budget() {
        let text = "target = 20\n[batch]\nsizes = \"1..1000\"\n[sale]\nprice = 40\n[[step]]\nname = \"make\"\neach = \"10 / 12 / 20 min\"\n";
        let scenario = crate::scenario::read("test", text, &[]).expect("it reads");
        let options = Options::new()
            .size(1)
            .and_then(|options| options.trials(100_000_000))
            .expect("options");
        let answer = answer(Question::Sweep, &scenario, &options, &|_| ());
        assert!(matches!(answer, Err(Unanswered::TooMuch(_))));
    }
}
