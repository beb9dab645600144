//! The questions that the page can ask, each as its command asks it.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::answers::calendar::{self, Day, NoDate, Opens};
use crate::answers::{
    Settings, drivers, floor, jig, season, size_of, size_to_ask_about, steady, stress, sweep, trials_of_one_size,
};
use crate::scenario::Scenario;
use crate::show::Shown;

/// A question, named as its command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Question {
    Sweep,
    Floor,
    Stress,
    Drivers,
    Jig,
    Season,
    Steady,
    Calendar,
}

/// All of them, the main one first.
const ALL: [Question; 8] = [
    Question::Sweep,
    Question::Floor,
    Question::Stress,
    Question::Drivers,
    Question::Jig,
    Question::Season,
    Question::Steady,
    Question::Calendar,
];

/// How far it goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Depth {
    /// As the command with nothing said.
    Full,
    /// With so many runs, fewer than usual, so that it is there before the hand has moved on.
    Quick(u64),
}

/// The answer, and how it was come by.
pub(super) struct Answer {
    pub(super) shown: Box<dyn Shown>,
    /// The size it is about, where it is about one.
    pub(super) size: Option<u32>,
    /// Where it is a sweep: the sweep itself.
    pub(super) sweep: Option<Arc<sweep::Sweep>>,
    /// Simulated runs.
    pub(super) trials: u64,
}

impl Question {
    /// Which questions a scenario can be asked.
    pub(super) fn of(scenario: &Scenario) -> Vec<Self> {
        ALL.into_iter().filter(|question| question.applies(scenario)).collect()
    }

    fn applies(self, scenario: &Scenario) -> bool {
        match self {
            Self::Sweep | Self::Floor | Self::Stress | Self::Drivers => true,
            Self::Jig => !scenario.jigs.is_empty(),
            Self::Season => scenario.season.is_some(),
            Self::Steady => scenario.steady.is_some(),
            Self::Calendar => scenario.hours.is_some(),
        }
    }
}

/// Seed of the page's answers: that of the commands where nothing is said.
const SEED: u64 = 1;

/// How to simulate with so many runs.
///
/// Full answers have threads of their own: a quick one that comes meanwhile does not wait behind their work.
pub(super) fn settings(trials: u64, depth: Depth) -> Settings {
    let threads = match depth {
        Depth::Full => std::thread::available_parallelism().ok().map(usize::from),
        Depth::Quick(_) => None,
    };
    Settings {
        trials,
        within: None,
        seed: SEED,
        threads,
    }
}

/// Answers; `size` is the size asked about, where one was chosen.
///
/// # Errors
/// One sentence: why the scenario cannot be asked this.
pub(super) fn ask(question: Question, scenario: &Scenario, size: Option<u32>, depth: Depth) -> Result<Answer, String> {
    if !question.applies(scenario) {
        return Err(question.needs().to_owned());
    }
    let silent = &|_: f64| ();
    let usual = question.usual();
    let trials = match depth {
        Depth::Full => usual,
        Depth::Quick(runs) => runs.min(usual),
    };
    let how = settings(trials, depth);
    // A question about one size under many settings, and how many pieces times steps it takes with its usual runs.
    let one = |most: usize| {
        let size = size.unwrap_or_else(|| size_to_ask_about(scenario, &how));
        let trials = match depth {
            Depth::Full => trials_of_one_size(scenario, size, usual, most),
            Depth::Quick(_) => trials,
        };
        (size, Settings { trials, ..how })
    };
    let (shown, size, trials): (Box<dyn Shown>, _, _) = match question {
        Question::Sweep => return Ok(Answer::of_sweep(sweep::run(scenario, &how, silent))),
        Question::Floor => match size {
            Some(size) => {
                let mut alone = scenario.clone();
                alone.batch.sizes = vec![size];
                (Box::new(floor::run(&alone, &how, silent)), Some(size), trials)
            }
            None => (Box::new(floor::run(scenario, &how, silent)), None, trials),
        },
        Question::Stress => {
            let (size, how) = one(stress::MOST_WORK);
            (
                Box::new(stress::run(scenario, size, &how, silent)),
                Some(size),
                how.trials,
            )
        }
        Question::Drivers => {
            let (size, how) = one(drivers::MOST_WORK);
            (
                Box::new(drivers::run(scenario, size, &how, silent)),
                Some(size),
                how.trials,
            )
        }
        Question::Jig => {
            let all: Vec<usize> = (0..scenario.jigs.len()).collect();
            let answer = jig::run(scenario, &all, size, &how, silent);
            let size = Some(answer.size);
            (Box::new(answer), size, trials)
        }
        Question::Season => (Box::new(season::run(scenario, &how, silent)?), None, trials),
        Question::Steady => (Box::new(steady::run(scenario, &how, silent)?), None, trials),
        Question::Calendar => {
            let asked = calendar::Question {
                from: Day(jiff::ZonedDateTime::now().date()),
                due: None,
                opens: Opens::default(),
                sizes: size.into_iter().collect(),
                first_run: false,
            };
            let answer = calendar::run(scenario, &asked, &how, silent).map_err(|why| no_date(&why))?;
            let size = Some(answer.size);
            (Box::new(answer), size, trials)
        }
    };
    Ok(Answer {
        shown,
        sweep: None,
        size,
        trials,
    })
}

impl Answer {
    fn of_sweep(sweep: sweep::Sweep) -> Self {
        let sweep = Arc::new(sweep);
        Self {
            trials: sweep.trials,
            size: Some(size_of(&sweep)),
            shown: Box::new(Arc::clone(&sweep)),
            sweep: Some(sweep),
        }
    }
}

impl Question {
    /// Simulated runs of the command with nothing said.
    pub(super) const fn usual(self) -> u64 {
        match self {
            Self::Sweep => sweep::TRIALS,
            Self::Floor => floor::TRIALS,
            Self::Stress => stress::TRIALS,
            Self::Drivers => drivers::TRIALS,
            Self::Jig => jig::TRIALS,
            Self::Season => season::TRIALS,
            Self::Steady => steady::TRIALS,
            Self::Calendar => calendar::TRIALS,
        }
    }

    /// What the scenario must say to be asked this.
    const fn needs(self) -> &'static str {
        match self {
            Self::Jig => "The scenario has no [[jig]]: write what could be built, and which step it helps.",
            Self::Season => "The scenario has no [season]: write how many pieces are asked for before it ends.",
            Self::Steady => "The scenario has no [steady]: write how many pieces are asked for a week.",
            Self::Calendar => "The scenario has no [hours]: write when there is time for the bench.",
            Self::Sweep | Self::Floor | Self::Stress | Self::Drivers => "",
        }
    }
}

fn no_date(why: &NoDate) -> String {
    match why {
        NoDate::NoHours => Question::Calendar.needs().to_owned(),
        NoDate::NoStart => "No bench day is left in the years that dates have: write other [hours].".to_owned(),
        NoDate::TooLong(size) => {
            format!(
                "With these [hours] a run of {size} takes more than 200 years: write more hours, or ask about fewer pieces."
            )
        }
    }
}
