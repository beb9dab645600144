//! One module per question: simulated runs in, figures with their errors out. Nothing here prints.

pub mod calendar;
pub mod columns;
pub mod compare;
pub mod drivers;
pub mod floor;
pub mod jig;
pub mod over;
pub mod season;
pub mod sobol;
pub mod stats;
pub mod steady;
pub mod stress;
pub mod sweep;
pub mod vary;

use crate::engine::{Engine, Plan, SizeRuns};
use crate::scenario::Scenario;

/// How to simulate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Simulated runs of each size, at least 1.
    pub trials: u64,
    /// Go on until the asked floor's 95 % interval is at most this share of the floor, at every size.
    pub within: Option<f64>,
    /// Seed of every random stream.
    pub seed: u64,
    /// Threads; `None`: one for each core.
    pub threads: Option<usize>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            trials: sweep::TRIALS,
            within: None,
            seed: 1,
            threads: None,
        }
    }
}

impl Settings {
    /// Runs `work` on as many threads as asked.
    ///
    /// Where the machine refuses the threads, the work is done on the common pool: the answer is the same.
    pub fn on_threads<R: Send>(&self, work: impl FnOnce() -> R + Send) -> R {
        let pool = self
            .threads
            .map(|n| rayon::ThreadPoolBuilder::new().num_threads(n).build());
        match pool {
            Some(Ok(pool)) => pool.install(work),
            _ => work(),
        }
    }
}

/// The simulated runs of one batch size.
///
/// A batch of `size` draws the same here as within a sweep.
#[must_use]
pub fn runs_at(scenario: &Scenario, size: u32, settings: &Settings) -> SizeRuns {
    let mut alone = scenario.clone();
    alone.batch.sizes = vec![size];
    let plan = Plan::new(&alone);
    let engine = Engine::new(&plan, settings.seed);
    let mut runs = settings.on_threads(|| engine.answer_sizes(settings.trials, &|_| (), |runs| runs));
    runs.pop().expect("one size was asked for")
}

/// Runs behind the choice of a size where none was asked for.
const CHOICE_TRIALS: u64 = 10_000;

/// The size a question is asked about where none is named: the first of the scenario's sizes that pays, or, where none
/// does, the one with the best long-run rate.
#[must_use]
pub fn size_to_ask_about(scenario: &Scenario, settings: &Settings) -> u32 {
    size_of(&quick_sweep(scenario, settings))
}

/// How many runs a question simulates that looks at one size under many settings: `usual`, or fewer if a run has more than `most`
/// pieces times steps, so that the answer keeps people waiting no longer.
#[must_use]
pub fn trials_of_one_size(scenario: &Scenario, size: u32, usual: u64, most: usize) -> u64 {
    let work = size as usize * scenario.steps.len();
    if work > most {
        (usual * most as u64 / work as u64 / 1_000 * 1_000).max(2_000)
    } else {
        usual
    }
}

/// A sweep with few runs: close enough to choose a size by, or to draw a curve.
fn quick_sweep(scenario: &Scenario, settings: &Settings) -> sweep::Sweep {
    let quick = Settings {
        trials: settings.trials.min(CHOICE_TRIALS),
        within: None,
        ..*settings
    };
    sweep::run(scenario, &quick, &|_| ())
}

/// The first size that pays, or, where none does, the one with the best long-run rate.
#[must_use]
pub fn size_of(sweep: &sweep::Sweep) -> u32 {
    let best = sweep
        .sizes
        .iter()
        .max_by(|a, b| a.rate.long_run.total_cmp(&b.rate.long_run).then(b.size.cmp(&a.size)));
    sweep.first_paying_size.or(best.map(|s| s.size)).unwrap_or(1)
}
