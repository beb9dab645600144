//! One module per question: trials in, figures with their errors out. Nothing here prints.

pub mod calendar;
pub mod compare;
pub mod drivers;
pub mod floor;
pub mod jig;
mod kept;
pub mod offer;
pub mod over;
pub mod season;
pub mod steady;
pub mod stress;
pub mod sweep;
pub mod vary;
pub mod ways;

use crate::engine::{Engine, Plan, SizeTrials};
use crate::model;
use crate::scenario::{Scenario, Spoiled};

/// How to simulate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Trials of each size, at least 1.
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
        // More than a few a core only cost: the answer is the same.
        let most = 4 * std::thread::available_parallelism().map_or(1, usize::from);
        let pool = self
            .threads
            .map(|n| n.min(most))
            .map(|n| rayon::ThreadPoolBuilder::new().num_threads(n).build());
        match pool {
            Some(Ok(pool)) => pool.install(work),
            _ => work(),
        }
    }
}

/// The trials of one batch size.
///
/// A batch of `size` draws the same here as within a sweep.
#[must_use]
pub fn trials_at(scenario: &Scenario, size: u32, settings: &Settings) -> SizeTrials {
    let mut alone = scenario.clone();
    alone.batch.sizes = vec![size];
    let plan = Plan::new(&alone);
    let engine = Engine::new(&plan, settings.seed);
    let mut trials = settings.on_threads(|| engine.answer_sizes(settings.trials, &|_| (), |trials| trials));
    trials.pop().expect("one size was asked for")
}

/// Trials behind the choice of a size where none was asked for.
pub const CHOICE_TRIALS: u64 = 10_000;

/// The size a question is asked about where none is named: the one that is best until a [`season`] ends or for a steady sale all year ([`steady`]), as that is
/// what is made then, whether or not it pays as surely as asked; else [`size_of`] a quick sweep.
#[must_use]
pub fn size_to_ask_about(scenario: &Scenario, settings: &Settings) -> u32 {
    advised(scenario, settings).unwrap_or_else(|| size_of(&quick_sweep(scenario, settings)))
}

/// The size that is best until a [`season`] ends, or for a steady sale all year ([`steady`]) of what is not [`made_to_order`]; `None` where neither
/// is in the file, and where every size makes a loss there: a single piece would only make the smallest.
#[must_use]
pub fn advised(scenario: &Scenario, settings: &Settings) -> Option<u32> {
    if made_to_order(scenario, model::hours(scenario, 1)) {
        return None;
    }
    season::advised(scenario, settings).or_else(|| steady::advised(scenario, settings))
}

/// How many trials a question simulates that looks at one size under many settings: `usual`, or fewer if a trial has more than `most`
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

/// Standard errors between a share of few trials and the asked one from which a size surely pays or does not: one size in 16,000 is taken wrongly.
const SURELY: f64 = 4.0;

/// A sweep with few trials. Sizes of which so few cannot tell whether they pay have as many as `sweep` itself, so that all questions name the same
/// one as the first that pays.
fn quick_sweep(scenario: &Scenario, settings: &Settings) -> sweep::Sweep {
    let with = |trials: u64| Settings {
        trials,
        within: None,
        ..*settings
    };
    let quick = with(settings.trials.min(CHOICE_TRIALS));
    let mut sweep = sweep::unadvised(scenario, &quick, &|_| ());
    let asked = scenario.confidence;
    let error = SURELY * libm::sqrt(asked * (1.0 - asked) / quick.trials as f64);
    let off = |at: &sweep::SizeAnswer| at.reach.share - asked;
    let clear = sweep.sizes.iter().take_while(|at| off(at) < error);
    let mut close = scenario.clone();
    close.batch.sizes = clear.filter(|at| off(at) > -error).map(|at| at.size).collect();
    if close.batch.sizes.is_empty() {
        return sweep;
    }
    let looked = sweep::unadvised(&close, &with(sweep::TRIALS.min(10 * settings.trials)), &|_| ());
    for at in looked.sizes {
        if let Some(own) = sweep.sizes.iter_mut().find(|own| own.size == at.size) {
            *own = at;
        }
    }
    sweep.first_paying_size = sweep.sizes.iter().find(|at| at.pays(asked)).map(|at| at.size);
    sweep.advised_size = sweep.first_paying_size;
    sweep
}

/// Hands-on hours from which a piece that a customer waits for is spoken of by itself (assumption: a day's work).
const DAYS_WORK: f64 = 8.0;

/// Whether pieces are made to order: each is more than a day's work, an order of its own, and made again where it is spoiled,
/// as somebody waits for it; none is sold in a season or by way of channels. `hours`: what a single one takes on average.
#[must_use]
pub fn made_to_order(scenario: &Scenario, hours: f64) -> bool {
    let order_of = &scenario.sale.order_of;
    hours > DAYS_WORK
        && scenario.batch.spoiled == Spoiled::Remake
        && order_of.is_certain()
        && order_of.mean() == 1.0
        && scenario.season.is_none()
        && scenario.channels.is_empty()
        && scenario.selling_days.is_empty()
}

/// The single piece where it is made to order, as nobody orders two; else the advised size, or, where none is, the one that comes nearest to
/// paying.
#[must_use]
pub fn size_of(sweep: &sweep::Sweep) -> u32 {
    if sweep.made_to_order {
        return 1;
    }
    (sweep.advised_size)
        .or(sweep.first_paying_size)
        .or(sweep.nearest_size)
        .unwrap_or(1)
}

/// The size that comes nearest to paying, of those given in ascending order with their long-run rate ([`long_run_rates`]) and their price floor: the
/// one past which a bigger batch adds next to nothing to the hour, of those that some price pays for where there are any. The best hour itself would
/// be that of the biggest batch that happens to be looked at. Where no hour earns anything it is the one with the lowest floor, as an hour
/// then loses least where least gets done.
fn nearest(sizes: &[((u32, f64), Option<f64>)]) -> Option<u32> {
    let mut priced: Vec<_> = sizes.iter().filter(|(_, floor)| floor.is_some()).collect();
    if sizes.iter().any(|((_, rate), _)| *rate > 0.0) {
        let of = if priced.is_empty() {
            sizes.iter().collect()
        } else {
            priced
        };
        return level_size(&of.into_iter().map(|(rated, _)| *rated).collect::<Vec<_>>());
    }
    let floor = |floor: &Option<f64>| floor.unwrap_or(f64::INFINITY);
    // Level: the smallest.
    priced.sort_by(|a, b| floor(&a.1).total_cmp(&floor(&b.1)));
    let first = priced.first().copied().or(sizes.first());
    first.map(|((size, _), _)| *size)
}

/// Pieces of all sizes together up to which their closed forms take no time to speak of.
const MOST_IN_CLOSED_FORM: u64 = 50_000;

/// What an hour earns in the long run at each of these sizes: the exact rates where all are known, so that every question names the same
/// size, whatever its trials; else those `simulated`.
fn long_run_rates(scenario: &Scenario, simulated: Vec<(u32, f64)>) -> Vec<(u32, f64)> {
    if simulated.iter().map(|(size, _)| u64::from(*size)).sum::<u64>() > MOST_IN_CLOSED_FORM {
        return simulated;
    }
    let exact = |(size, _): &(u32, f64)| Some((*size, model::rate(scenario, *size).ok()?));
    simulated.iter().map(exact).collect::<Option<_>>().unwrap_or(simulated)
}

/// The smallest size past which no bigger one of these earns 1 % more in the long run; sizes in ascending order, with their rates.
fn level_size(rates: &[(u32, f64)]) -> Option<u32> {
    let mut level = None;
    let mut best_after = f64::NEG_INFINITY;
    for &(size, rate) in rates.iter().rev() {
        // No early end: where rounds fill up the rate is a saw-tooth, and a full kiln may do as well as all that follow.
        if best_after - rate <= 0.01 * rate.abs() {
            level = Some(size);
        }
        best_after = best_after.max(rate);
    }
    level
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Spread;
    use crate::testing::{scenario, step};

    /// A hundred pieces times steps where forty are the most: two fifths of the trials.
    #[test]
    fn many_pieces_get_fewer_trials() {
        let shop = scenario(50.0, 30.0, &[50], vec![step("cut"), step("glue")]);
        assert_eq!(trials_of_one_size(&shop, 50, 50_000, 40), 20_000);
        assert_eq!(trials_of_one_size(&shop, 20, 50_000, 40), 50_000);
        assert_eq!(trials_of_one_size(&shop, 5_000, 50_000, 40), 2_000);
    }

    #[test]
    fn what_is_made_to_order_takes_a_day_and_is_one() {
        let mut shop = scenario(900.0, 30.0, &[1], vec![step("build")]);
        assert!(!made_to_order(&shop, 9.0));
        shop.batch.spoiled = Spoiled::Remake;
        assert!(made_to_order(&shop, 9.0));
        assert!(!made_to_order(&shop, 8.0));
        shop.sale.order_of = Spread::Certain(2.0);
        assert!(!made_to_order(&shop, 9.0));
    }

    #[test]
    fn the_nearest_size_has_the_best_hour_or_needs_the_least() {
        let of = |sizes: &[(u32, f64, Option<f64>)]| {
            let sizes = sizes.iter().map(|(size, rate, floor)| ((*size, *rate), *floor));
            nearest(&sizes.collect::<Vec<_>>())
        };
        // The best hour but for less than 1 %, though a larger batch would need a lower price.
        assert_eq!(
            of(&[(1, 5.0, Some(80.0)), (12, 41.0, Some(43.4)), (40, 41.4, Some(42.8))]),
            Some(12)
        );
        // More than 1 % is worth the bigger batch; so is a batch that some price pays for at all.
        assert_eq!(of(&[(12, 41.0, Some(43.4)), (40, 41.5, Some(42.8))]), Some(40));
        assert_eq!(of(&[(12, 41.0, None), (40, 41.4, Some(42.8))]), Some(40));
        // Where an hour earns something, the best one, though a larger batch would need a lower price.
        assert_eq!(
            of(&[(1, 5.0, Some(80.0)), (39, 41.5, Some(99.0)), (59, 41.2, Some(98.0))]),
            Some(39)
        );
        // A single piece loses less an hour, as less is done in it; twenty need the lower price.
        assert_eq!(of(&[(1, -30.0, Some(200.0)), (20, -95.0, Some(150.0))]), Some(20));
        assert_eq!(of(&[(1, -30.0, None), (20, -95.0, Some(150.0))]), Some(20));
        // An hour that brings in nothing earns nothing.
        assert_eq!(of(&[(1, 0.0, Some(200.0)), (20, -95.0, Some(150.0))]), Some(20));
        // Level: the smallest.
        assert_eq!(of(&[(1, 5.0, None), (2, 5.0, None)]), Some(1));
        assert_eq!(of(&[]), None);
    }
}
