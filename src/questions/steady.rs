//! The best batch for a steady seller: how many at a time, how often, and what lies in stock meanwhile.
//!
//! A batch of which n pieces are sold sells at d a week and is gone after n / d weeks; then the next one is there. Over the years the maker
//! is left, beyond the target for every hour, E[surplus of a batch] / E[weeks it lasts] (the renewal-reward theorem; Ross,
//! "Stochastic Processes"), where a batch's surplus is profit - target x hours with the cost of holding its pieces taken off. The
//! batch that makes this largest is the economic batch. Beside it stands the textbook's: sqrt(2 D S / h) with D pieces a year, S the
//! cost of getting ready and h the yearly cost of holding a piece (F. W. Harris 1913, "How many parts to make at once", Factory
//! 10, 135-136, 152), divided by sqrt(1 - d / p) where pieces come into stock one by one at p a week (E. W. Taft 1918, "The most
//! economical production lot", Iron Age 101, 1410-1412).
//!
//! What makes no full set and has no price of its own is not sold: a batch lasts as long as what is sold of it, and the rest counts
//! what making it takes, as a later set has it.
//!
//! # Why a steady seller's batch leaves `once` out
//!
//! What is done once for a design is the same however many pieces are made at a time. Spread over batches it would count as setup: ten
//! hours of drawing made an economic batch of 64 one of 158.

use super::Settings;
use crate::engine::{Engine, Plan, SizeTrials};
pub use crate::model::hours::helper_hours;
use crate::model::lots::Textbook;
use crate::model::{WEEKS_PER_YEAR, hours, lots, worth};
use crate::scenario::{Scenario, Steady};
use crate::stats;
use crate::stats::{Mean, Share};
use serde::Serialize;

/// Trials of each size where nothing is said.
pub const TRIALS: u64 = 20_000;

/// The whole answer; its serialised form is the documented JSON of `steady`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SteadyAnswer {
    /// The scenario's title.
    pub title: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Asked price per piece.
    pub price: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// Share of trials that should reach it.
    pub confidence: f64,
    /// Trials of each size.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Pieces asked for a week.
    pub per_week: f64,
    /// Cost of holding a year, as a share of the money tied up.
    pub hold: f64,
    /// Money tied up in a finished piece: its stock, and its hours at the target.
    pub piece_value: f64,
    /// Hands-on hours done once for the design, on average, which are left out: they are the same however many are made at a time.
    pub once_hours: f64,
    /// Whether some of what buyers send back is sold again, which makes a batch last a little longer than `weeks` says; absent where not.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub sold_again: bool,
    /// Bench hours of a week, where given.
    pub week_hours: Option<f64>,
    /// Size with the largest surplus a year among those the bench hours allow; among all where they allow none.
    pub best: u32,
    /// Whether the bench hours, where given, allow the best size.
    pub keeps_up: bool,
    /// Sizes whose yearly surplus is within a hundredth of the best one's cost of setups and holding: a flat optimum, ascending.
    pub nearly: Vec<u32>,
    /// The textbook's economic batch; `None` where getting ready or holding costs nothing.
    pub textbook: Option<Textbook>,
    /// Sizes of the file of which no batch sells a piece, as none makes a full set; absent where there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub no_set: Vec<u32>,
    /// Ascending in size.
    pub sizes: Vec<SteadySize>,
}

/// One batch size, sold steadily.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SteadySize {
    /// Pieces started.
    pub size: u32,
    /// Good pieces of a batch.
    pub good: Mean,
    /// Pieces of a batch that are sold, where some make no full set; absent where all good ones are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sold: Option<Mean>,
    /// Weeks a batch lasts.
    pub weeks: f64,
    /// Batches a year.
    pub runs_a_year: f64,
    /// Bench hours a week.
    pub hours_a_week: f64,
    /// Whether the bench hours, where given, are enough.
    pub fits: bool,
    /// Pieces in stock on average.
    pub stock: f64,
    /// Money tied up in them.
    pub tied_up: f64,
    /// Getting ready a year: hours of setups at the target, and stock that is used once a batch.
    pub setup_a_year: f64,
    /// Holding a year.
    pub holding_a_year: f64,
    /// Surplus a year, with its error.
    pub surplus_a_year: Mean,
    /// What an hour earns in the long run, holding taken off, with its error.
    pub rate: Mean,
    /// Share of trials that reach the target.
    pub reach: Share,
}

/// Answers for a scenario with a steady sale.
///
/// # Errors
/// A sentence, where the scenario has no `[steady]`, or no batch looked at makes a full set.
pub fn run(scenario: &Scenario, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Result<SteadyAnswer, String> {
    let steady = scenario.steady.ok_or_else(|| lacking(scenario))?;
    settings.on_threads(|| answer(scenario, steady, settings, progress))
}

/// Standard errors by which a size must fall behind on either side to be left out (of sizes that share their luck, far more than it takes).
const CLEARLY: f64 = 4.0;

/// The size that [`run`] advises with its usual trials, or with fewer in a quick look; `None` without a steady sale, and where every size makes a loss.
pub(super) fn advised(scenario: &Scenario, settings: &Settings) -> Option<u32> {
    let with = |trials: u64| Settings { trials, ..*settings };
    let trials = TRIALS.min(10 * settings.trials);
    // Most sizes are clearly worse than the best in a tenth of the trials.
    let look = run(scenario, &with((trials / 10).max(1)), &|_| ()).ok()?;
    let least = |size: &SteadySize| size.surplus_a_year.mean - CLEARLY * size.surplus_a_year.se;
    let most = |size: &SteadySize| size.surplus_a_year.mean + CLEARLY * size.surplus_a_year.se;
    let best = look.sizes.iter().find(|size| size.size == look.best)?;
    let mut close = scenario.clone();
    close.batch.sizes = look
        .sizes
        .iter()
        .filter(|size| most(size) >= least(best))
        .map(|size| size.size)
        .collect();
    let answer = run(&close, &with(trials), &|_| ()).ok()?;
    let best = answer.sizes.iter().find(|size| size.size == answer.best)?;
    (best.surplus_a_year.mean >= 0.0).then_some(best.size)
}

/// What to do where the scenario has no `[steady]`, a clause.
#[must_use]
pub fn lacking(scenario: &Scenario) -> &'static str {
    // The file says one of the two, and what it has may stand beside the other alone.
    if scenario.season.is_some() {
        "this scenario sells until a season ends, as its [season] says: ask `season`, or write a [steady] in its place"
    } else if !scenario.selling_days.is_empty() {
        "what comes with each batch is not sold all year: this scenario has a [[selling_day]], so ask `sweep`"
    } else if scenario.on_return().next().is_some() {
        "what a shop may give back is not sold all year: this scenario has pieces on sale or return, so ask `sweep`"
    } else {
        "there is no [steady] in this scenario: add for example `[steady]` and under it `per_week = 3` and `hold = \"20 %\"`"
    }
}

fn answer(
    scenario: &Scenario,
    steady: Steady,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<SteadyAnswer, String> {
    let once_hours = hours::once_hours(scenario);
    let scenario = &without_once(scenario);
    let plan = Plan::new(scenario);
    let value = worth::piece_value(scenario);
    let week_hours = scenario.hours.as_ref().map(crate::scenario::Hours::week);
    let view = View {
        scenario,
        plan: &plan,
        steady,
        value,
        stock_share: worth::stock_share(scenario, steady),
        week_hours,
        batch_stock: lots::batch_stock(scenario),
    };
    let engine = Engine::new(&plan, settings.seed);
    let counted = plan
        .sells_short()
        .then(|| sold_by_batch(&plan, settings, &|done| progress(0.6 * done)));
    let begun = if counted.is_some() { 0.6 } else { 0.0 };
    let mut sizes = engine.answer_sizes(
        settings.trials,
        &|done| progress(begun + (1.0 - begun) * done),
        |simulated| {
            let place = plan.sizes.binary_search(&simulated.size).unwrap_or(0);
            view.size(simulated, counted.as_ref().map(|all| all[place].as_slice()))
        },
    );
    let no_set: Vec<u32> = sizes
        .iter()
        .filter(|size| size.weeks == 0.0)
        .map(|size| size.size)
        .collect();
    sizes.retain(|size| size.weeks > 0.0);
    if sizes.is_empty() {
        return Err(
            "no batch looked at sells a piece, because none makes a full set: look at larger ones (`sizes` of [batch]), or give what \
             makes no set a price of its own (`single_price`)"
                .to_owned(),
        );
    }
    let best = best_of(&sizes);
    let least_cost = sizes[best].setup_a_year + sizes[best].holding_a_year;
    let level = sizes[best].surplus_a_year.mean - 0.01 * least_cost;
    Ok(SteadyAnswer {
        title: scenario.title.clone(),
        currency: scenario.currency.clone(),
        price: scenario.sale.price,
        target: scenario.target_per_hour,
        confidence: scenario.confidence,
        trials: settings.trials,
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        per_week: steady.per_week,
        hold: steady.hold,
        piece_value: value,
        once_hours,
        sold_again: scenario.comes_back(),
        week_hours,
        best: sizes[best].size,
        keeps_up: sizes[best].fits,
        nearly: sizes
            .iter()
            .filter(|s| s.fits == sizes[best].fits && s.surplus_a_year.mean >= level && s.size != sizes[best].size)
            .map(|s| s.size)
            .collect(),
        textbook: lots::textbook(scenario, steady),
        no_set,
        sizes,
    })
}

/// The pieces that each batch sells, size by size. Where some may be missing, the error of the yearly surplus needs them. Holding costs their
/// square: two passes, with that cost at 0 and at 1, give them, to the last whole piece.
fn sold_by_batch(plan: &Plan, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Vec<Vec<f64>> {
    let profits = |holding: f64, begun: f64| {
        let mut held = plan.clone();
        held.terms.holding = holding;
        Engine::new(&held, settings.seed).answer_sizes(
            settings.trials,
            &|done| progress(begun + 0.5 * done),
            |simulated| simulated.profit,
        )
    };
    let both = profits(0.0, 0.0).into_iter().zip(profits(1.0, 0.5));
    let pieces = |(free, dear): (Vec<f64>, Vec<f64>)| -> Vec<f64> {
        let both = free.iter().zip(&dear);
        both.map(|(a, b)| libm::floor(libm::sqrt((a - b).max(0.0)) + 0.5))
            .collect()
    };
    both.map(pieces).collect()
}

/// The scenario after its design is done. What is done once is the same however many are made at a time; spread over planned batches
/// it would count as getting ready, and the economic batch would come out far too large.
pub(super) fn without_once(scenario: &Scenario) -> Scenario {
    let mut changed = scenario.clone();
    for step in &mut changed.steps {
        step.once = crate::scenario::Spread::ZERO;
    }
    changed
}

/// The largest yearly surplus among sizes that the bench hours allow, or among all.
fn best_of(sizes: &[SteadySize]) -> usize {
    let any_fits = sizes.iter().any(|s| s.fits);
    let mut best: Option<usize> = None;
    for (k, size) in sizes.iter().enumerate() {
        let better = best.is_none_or(|b| {
            let before = sizes[b].surplus_a_year.mean;
            size.surplus_a_year.mean > before + 1e-12 * before.abs().max(1.0)
        });
        if (size.fits || !any_fits) && better {
            best = Some(k);
        }
    }
    best.unwrap_or(0)
}

struct View<'a> {
    scenario: &'a Scenario,
    plan: &'a Plan,
    steady: Steady,
    value: f64,
    stock_share: f64,
    week_hours: Option<f64>,
    batch_stock: f64,
}

impl View<'_> {
    /// `sold`: the pieces that each batch sells, where they vary.
    fn size(&self, simulated: SizeTrials, sold: Option<&[f64]>) -> SteadySize {
        let terms = self.plan.terms;
        let trials = simulated.hours.len() as u64;
        let n = trials as f64;
        let surplus: Vec<f64> = simulated
            .profit
            .iter()
            .zip(&simulated.hours)
            .map(|(p, h)| p - terms.target * h)
            .collect();
        let good = stats::mean_of_sums(simulated.sums.good, simulated.sums.good_squared, trials);
        let pieces = stats::mean_of_sums(simulated.sums.sold, simulated.sums.sold_squared, trials);
        let yearly = self.steady.per_week * WEEKS_PER_YEAR;
        let per_piece = match sold {
            Some(sold) => stats::ratio(&surplus, sold),
            None => {
                let mean = stats::mean(&surplus);
                Mean {
                    mean: per(mean.mean, pieces.mean),
                    se: per(mean.se, pieces.mean),
                }
            }
        };
        let runs_a_year = per(yearly, pieces.mean);
        let hours_a_week = stats::mean(&simulated.hours).mean * runs_a_year / WEEKS_PER_YEAR;
        // Averaged over time a batch counts by how long it lasts: E[n^2] / (2 E[n]).
        let stock = per(simulated.sums.sold_squared / n, 2.0 * pieces.mean) * self.stock_share;
        SteadySize {
            size: simulated.size,
            good,
            sold: (good != pieces).then_some(pieces),
            weeks: per(pieces.mean, self.steady.per_week),
            runs_a_year,
            hours_a_week,
            fits: self.week_hours.is_none_or(|hours| hours_a_week <= hours),
            stock,
            tied_up: stock * self.value,
            setup_a_year: runs_a_year
                * (simulated.sums.setup_hours / n * (terms.target + terms.shop_per_hour)
                    + helper_hours(self.scenario, simulated.size)[0] * terms.wage
                    + self.batch_stock),
            holding_a_year: simulated.sums.holding / n * runs_a_year,
            surplus_a_year: Mean {
                mean: per_piece.mean * yearly,
                se: per_piece.se * yearly,
            },
            rate: stats::ratio(&simulated.profit, &simulated.hours),
            reach: stats::wilson(stats::reached(&simulated.floor, terms.price), trials),
        }
    }
}

fn per(amount: f64, by: f64) -> f64 {
    if by > 0.0 { amount / by } else { 0.0 }
}
