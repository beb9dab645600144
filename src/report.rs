//! Every question about one or several scenarios, put together: for those outside, and for `cli`.

use jiff::civil::Date;

use crate::ask::{self, Options, Unanswered};
#[cfg(feature = "workbook")]
use crate::model::sums::Sums;
use crate::questions::compare;
use crate::render::figures::Figures;
use crate::render::question::Question;
use crate::render::report::{self, Part, Report, Section};
use crate::render::understood;
use crate::scenario::Scenario;
use crate::{Error, checked};

/// Scenarios of one report, at most: each has a letter in a workbook.
const MOST: usize = 26;

/// A scenario and where it comes from.
pub(crate) struct Origin<'a> {
    pub(crate) scenario: &'a Scenario,
    /// As it was written.
    pub(crate) text: String,
    /// The name of its file.
    pub(crate) file: String,
    /// What a comparison calls it.
    pub(crate) named: String,
}

/// What is asked of each scenario.
pub(crate) struct Wanted<'a> {
    /// These questions; all, if it is empty.
    pub(crate) only: &'a [Question],
    pub(crate) options: Options,
    /// The day of the report, on which the calendar starts where no other day is said.
    pub(crate) made: Date,
}

/// How far a report is.
pub(crate) struct Stage {
    /// What is being answered.
    pub(crate) question: Question,
    /// The part of that which is done, from 0 to 1; 0 once, where it begins.
    pub(crate) part: f64,
    /// Questions before it.
    pub(crate) before: usize,
    /// All questions.
    pub(crate) all: usize,
}

impl Stage {
    /// The part done of the whole report, from 0 to 1.
    pub(crate) fn share(&self) -> f64 {
        (self.before as f64 + self.part) / self.all as f64
    }
}

impl Report {
    /// Asks every question that applies to these scenarios, and where there are several sets them against each other. `made` is the day of
    /// the report, on which the calendar starts if `options` name no start.
    ///
    /// ```
    /// use batchwright::{Options, Report, Scenario};
    ///
    /// let hook = Scenario::from_toml(
    ///     "title = 'Coat hook'\ncurrency = 'EUR'\ntarget = 25\nbatch.sizes = [1, 6]\nsale.price = 18\n\
    ///      [[step]]\nname = 'forge'\nsetup = '20 / 25 / 40 min'\neach = '12 / 15 / 25 min'\n",
    /// )?;
    /// let report = Report::new(&[hook], &Options::new().trials(200)?, "2027-01-11")?;
    /// assert!(report.html()?.contains("<h1>Coat hook</h1>"));
    /// # Ok::<(), batchwright::Error>(())
    /// ```
    ///
    /// # Errors
    /// No scenario or more than 26, a day that is no date, or options that single commands have: a size, others to set it against,
    /// values to go over.
    pub fn new(scenarios: &[checked::Scenario], options: &Options, made: &str) -> Result<Self, Error> {
        ask::within("scenarios", scenarios.len(), 1, MOST)?;
        let made = ask::date_of("made", made)?;
        if let Some(size) = options.size {
            return Err(Error::option("size", size, "left out, as a report looks at all sizes"));
        }
        if let Some(other) = options.against.first() {
            return Err(Error::option("against", &other.title, "one of the report's scenarios"));
        }
        if !options.over.is_empty() {
            return Err(Error::option(
                "over",
                options.over.join(" and "),
                "left out, as a report goes over no values",
            ));
        }
        let origins = scenarios.iter().map(|scenario| Origin {
            scenario: &scenario.read,
            text: scenario.text.clone(),
            file: checked::NAME.to_owned(),
            named: scenario.read.title.clone(),
        });
        let wanted = Wanted {
            only: &[],
            options: options.clone(),
            made,
        };
        let mut report = put_together(&origins.collect::<Vec<_>>(), &wanted, &|_| ());
        for set in scenarios.iter().flat_map(|scenario| &scenario.values) {
            if !report.changed.contains(set) {
                report.changed.push(set.clone());
            }
        }
        Ok(report)
    }

    /// The report as a page that stands alone: valid HTML and well-formed XML.
    ///
    /// # Errors
    /// A chart cannot be drawn.
    pub fn html(&self) -> Result<String, Error> {
        Ok(report::html(self)?)
    }

    /// The report as a spreadsheet workbook (Office Open XML), its sums as formulas.
    ///
    /// # Errors
    /// A chart cannot be drawn, or a sheet holds less than there is to say.
    #[cfg(feature = "workbook")]
    pub fn workbook(&self) -> Result<Vec<u8>, Error> {
        Ok(report::workbook(self)?)
    }
}

/// Asks every scenario what is wanted, each question as its own command does. `progress` is told how far it is.
pub(crate) fn put_together(origins: &[Origin<'_>], wanted: &Wanted<'_>, progress: &(dyn Fn(Stage) + Sync)) -> Report {
    let mut asked = Asked {
        wanted,
        one: origins.len() == 1,
        left_out: Vec::new(),
    };
    let scenarios: Vec<Scenario> = origins.iter().map(|origin| origin.scenario.clone()).collect();
    let compares = asked.compares(&scenarios);
    let questions: Vec<Vec<Question>> = scenarios.iter().map(|scenario| asked.apply(scenario)).collect();
    let all = questions.iter().map(Vec::len).sum::<usize>() + usize::from(compares);
    let mut before = 0;
    let stage = |question, before| {
        move |part| {
            progress(Stage {
                question,
                part,
                before,
                all,
            })
        }
    };
    let compared = compares.then(|| {
        let question = compare::Question {
            sizes: Vec::new(),
            hours_a_week: None,
            files: origins.iter().map(|origin| origin.named.clone()).collect(),
        };
        let settings = wanted.options.settings(compare::TRIALS);
        let told = stage(Question::Compare, before);
        told(0.0);
        let answer = compare::run(&scenarios, &question, &settings, &told);
        before += 1;
        Section {
            question: Question::Compare,
            trials: answer.trials,
            answer: Figures::Compare(Box::new(answer)),
        }
    });
    let mut parts = Vec::with_capacity(origins.len());
    for (origin, questions) in origins.iter().zip(questions) {
        let mut sections = Vec::with_capacity(questions.len());
        for question in questions {
            let told = stage(question, before);
            told(0.0);
            sections.extend(asked.ask(question, origin.scenario, &told));
            before += 1;
        }
        parts.push(Part {
            title: origin.scenario.title.clone(),
            file: origin.file.clone(),
            source: origin.text.clone(),
            told: understood::told(origin.scenario),
            currency: origin.scenario.currency.clone(),
            #[cfg(feature = "workbook")]
            sums: Sums::of(origin.scenario).map_err(|why| why.told(origin.scenario)),
            sections,
        });
    }
    Report {
        made: wanted.made,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: wanted.options.seed,
        changed: Vec::new(),
        compared,
        parts,
        left_out: asked.left_out,
        paper: None,
    }
}

/// What is asked of which scenario, or why not.
struct Asked<'a> {
    wanted: &'a Wanted<'a>,
    /// Whether there is one scenario.
    one: bool,
    left_out: Vec<String>,
}

impl Asked<'_> {
    fn wants(&self, question: Question) -> bool {
        self.wanted.only.is_empty() || self.wanted.only.contains(&question)
    }

    fn leave_out(&mut self, question: Question, why: &str) {
        let said = format!("{} ({why})", question.command());
        if self.wants(question) && !self.left_out.contains(&said) {
            self.left_out.push(said);
        }
    }

    /// The questions that this scenario can be asked.
    fn apply(&mut self, scenario: &Scenario) -> Vec<Question> {
        for question in Question::ALL {
            if let Some(section) = question.lacks(scenario) {
                let of = if self.one {
                    String::new()
                } else {
                    format!(" in {}", scenario.title)
                };
                self.leave_out(question, &format!("no {section}{of}"));
            }
        }
        Question::of(scenario)
            .filter(|question| self.wants(*question))
            .collect()
    }

    /// Whether the scenarios are set against each other.
    fn compares(&mut self, scenarios: &[Scenario]) -> bool {
        if self.one {
            self.leave_out(Question::Compare, &left_out(Unanswered::Several));
            return false;
        }
        if compare::comparable(scenarios) < 2 {
            self.leave_out(Question::Compare, &left_out(Unanswered::Currencies));
            return false;
        }
        self.wants(Question::Compare)
    }

    /// Asks one question as its own command does.
    fn ask(&mut self, question: Question, scenario: &Scenario, progress: &(dyn Fn(f64) + Sync)) -> Option<Section> {
        let options = Options {
            start: self.wanted.options.start.or(Some(self.wanted.made)),
            ..self.wanted.options.clone()
        };
        match ask::answer(question, scenario, &options, progress) {
            Ok(answer) => Some(Section {
                question,
                trials: answer.trials,
                answer: answer.figures,
            }),
            Err(why) => {
                self.leave_out(question, &left_out(why));
                None
            }
        }
    }
}

/// Why there is no answer, in a clause.
fn left_out(why: Unanswered) -> String {
    match why {
        Unanswered::Several => "one file".to_owned(),
        Unanswered::Currencies => "different currencies, and no rate under [currencies]".to_owned(),
        // A report asks none of these.
        Unanswered::Alone | Unanswered::Sized | Unanswered::TooLarge(_) | Unanswered::Undated => "not asked".to_owned(),
        Unanswered::Lacks(section) => format!("no {section}"),
        Unanswered::NoSet(_) => "no batch makes a full set".to_owned(),
        Unanswered::NoStart => "no bench day after --start".to_owned(),
        Unanswered::TooLong(size) => format!("a batch of {size} takes more than 200 years"),
        Unanswered::TooMuch(why) => why,
    }
}
