//! Any question about one scenario, asked as its own command asks it where nothing more is said; for `desk` and `cli`.

use std::sync::Arc;

use jiff::civil::Date;

use crate::questions::calendar::{self, Day, NoDate, Opens};
use crate::questions::{
    Settings, drivers, floor, jig, season, size_of, size_to_ask_about, steady, stress, sweep, trials_of_one_size,
};
use crate::render::Render;
use crate::render::question::Question;
use crate::scenario::Scenario;

/// What a question leaves open.
#[derive(Debug, Clone, Copy)]
pub(crate) struct How {
    /// The size that is asked about; `None`: as the command chooses it.
    pub(crate) size: Option<u32>,
    /// Simulated runs; `None`: as many as the command takes.
    pub(crate) trials: Option<u64>,
    /// Seed of the random streams.
    pub(crate) seed: u64,
    /// Threads; `None`: the common ones.
    pub(crate) threads: Option<usize>,
    /// The calendar's first day.
    pub(crate) start: Date,
    /// The day it is due.
    pub(crate) due: Option<Date>,
}

/// An answer, and how it was come by.
pub(crate) struct Answer {
    pub(crate) shown: Box<dyn Render>,
    /// The size it is about, where it is about one.
    pub(crate) size: Option<u32>,
    /// Where it is a sweep: the sweep itself.
    pub(crate) sweep: Option<Arc<sweep::Sweep>>,
    /// Simulated runs.
    pub(crate) trials: u64,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Why {
    /// It takes several scenarios.
    Several,
    /// The scenario has no such section.
    Lacks(&'static str),
    /// No bench day is left in the years that dates have.
    NoStart,
    /// A run of so many takes more than 200 years.
    TooLong(u32),
}

/// Answers. `progress` is called with the share that is done, from any thread.
///
/// # Errors
/// [`Why`] the scenario cannot be asked this.
pub(crate) fn ask(
    question: Question,
    scenario: &Scenario,
    how: &How,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Answer, Why> {
    if let Some(section) = question.lacks(scenario) {
        return Err(Why::Lacks(section));
    }
    let usual = question.usual_trials();
    let settings = Settings {
        trials: how.trials.unwrap_or(usual),
        within: None,
        seed: how.seed,
        threads: how.threads,
    };
    // A question about one size under many settings, and how many pieces times steps it takes with its usual runs.
    let one = |most: usize| {
        let size = how.size.unwrap_or_else(|| size_to_ask_about(scenario, &settings));
        let trials = how
            .trials
            .unwrap_or_else(|| trials_of_one_size(scenario, size, usual, most));
        (size, Settings { trials, ..settings })
    };
    let (shown, size, trials): (Box<dyn Render>, _, _) = match question {
        Question::Compare => return Err(Why::Several),
        Question::Sweep => {
            let sweep = Arc::new(sweep::run(scenario, &settings, progress));
            return Ok(Answer {
                trials: sweep.trials,
                size: Some(size_of(&sweep)),
                shown: Box::new(Arc::clone(&sweep)),
                sweep: Some(sweep),
            });
        }
        Question::Floor => {
            let answer = match how.size {
                Some(size) => {
                    let mut alone = scenario.clone();
                    alone.batch.sizes = vec![size];
                    floor::run(&alone, &settings, progress)
                }
                None => floor::run(scenario, &settings, progress),
            };
            let trials = answer.trials;
            (Box::new(answer), how.size, trials)
        }
        Question::Stress => {
            let (size, settings) = one(stress::MOST_WORK);
            let answer = stress::run(scenario, size, &settings, progress);
            (Box::new(answer), Some(size), settings.trials)
        }
        Question::Drivers => {
            let (size, settings) = one(drivers::MOST_WORK);
            let answer = drivers::run(scenario, size, &settings, progress);
            (Box::new(answer), Some(size), settings.trials)
        }
        Question::Jig => {
            let all: Vec<usize> = (0..scenario.jigs.len()).collect();
            let answer = jig::run(scenario, &all, how.size, &settings, progress);
            let size = answer.size;
            (Box::new(answer), Some(size), settings.trials)
        }
        Question::Season => {
            let answer = season::run(scenario, &settings, progress).map_err(|_| Why::Lacks("[season]"))?;
            (Box::new(answer), None, settings.trials)
        }
        Question::Steady => {
            let answer = steady::run(scenario, &settings, progress).map_err(|_| Why::Lacks("[steady]"))?;
            (Box::new(answer), None, settings.trials)
        }
        Question::Calendar => {
            let asked = calendar::Question {
                from: Day(how.start),
                due: how.due.map(Day),
                opens: Opens::default(),
                sizes: how.size.into_iter().collect(),
                first_run: false,
            };
            let answer = calendar::run(scenario, &asked, &settings, progress).map_err(|why| match why {
                NoDate::NoHours => Why::Lacks("[hours]"),
                NoDate::NoStart => Why::NoStart,
                NoDate::TooLong(size) => Why::TooLong(size),
            })?;
            let size = answer.size;
            (Box::new(answer), Some(size), settings.trials)
        }
    };
    Ok(Answer {
        shown,
        size,
        sweep: None,
        trials,
    })
}
