//! `stress`: what misfortunes do to the asked price, and how far each may go before the target, and before anything, is lost.
//!
//! Trial i is the same day with and without a misfortune. Where hours and money are linear in its strength (everything that
//! scales a time or a price), one more simulation at strength 1 gives every other strength exactly, trial by trial,
//! and with it each trial's own breaking strength: what it has over the target, divided by what strength 1 takes. The chance
//! of reaching the target at strength x is the share of trials whose breaking strength is at least x, so that the strength at
//! which it falls to the confidence is a quantile. What is not linear (spoil, redo, unsold pieces) is run again at each
//! strength, and the breaking points are found between brackets.
//!
//! # Why so few trials are enough
//!
//! Hours and money are linear in a scale on any one time, price or fee as long as the draws stay. One simulation with a part scaled, or
//! alone, gives every other strength trial by trial, and with it the breaking points in closed form. Only what moves chances (spoil, redo,
//! unsold pieces) is searched for by simulating again.

mod cases;
mod linear;
mod pieces;
mod search;

use super::sweep::{self, Floor};
use super::{Settings, floor, trials_of_one_size, vary};
use crate::engine::{Engine, Plan, SizeTrials};
use crate::parallel;
use crate::scenario::Scenario;
use crate::stats::Z975 as Z;
use crate::stats::columns::per_hour;
use crate::stats::{self, Mean, QuantileRank, Share};
use cases::{Case, Way, cases};
use linear::{linear, struck};
use pieces::pieces;
use search::searched;
use serde::Serialize;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Trials where nothing is said, up to [`MOST_WORK`].
pub const TRIALS: u64 = 8_000;

/// Pieces times steps of a trial up to which [`TRIALS`] are simulated.
pub const MOST_WORK: usize = 800;

/// The whole answer; its serialised form is the documented JSON of `stress`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stress {
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
    /// Trials of each setting.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Pieces started in a batch.
    pub size: u32,
    /// Whether nothing is left to chance, as planned or with anything that goes wrong: all trials of a setting are the same.
    pub certain: bool,
    /// Nothing goes wrong but what the scenario says; the share of trials that reach the target is from as many as `floor` is.
    pub as_planned: Outcome,
    /// The price at which as many trials as asked reach the target, as planned: what `sweep` and `floor` say of this size, from as many
    /// trials as they take.
    pub floor: Floor,
    /// What `floor` says of this size: the share of trials that a dearer piece only costs more. For people alone.
    #[serde(skip)]
    pub worse_when_dearer: Option<f64>,
    /// Demand hangs on the price, and that price takes the buyers there are at the asked one; absent where it does not.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub buyers_kept: bool,
    /// Whether pieces sell until a season ends: buyers then stay away by any share, where else whole pieces stay unsold.
    #[serde(skip)]
    pub in_season: bool,
    /// Whether a selling day costs money, which rises with the fees. For people alone.
    #[serde(skip)]
    pub day_costs: bool,
    /// The slowest tenth of trials, as planned.
    pub slow_tenth: SlowTenth,
    /// What may go wrong; what cannot in this scenario (no redo, no postage) is left out.
    pub misfortunes: Vec<Misfortune>,
}

/// What trials come to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outcome {
    /// `E[profit] / E[hours]`, with its delta-method error.
    pub rate: Mean,
    /// Median of the trials' rates.
    pub rate_median: f64,
    /// Ends of its 95 % interval (order statistics).
    pub rate_median_interval: (f64, f64),
    /// Share of trials that reach the target, with its Wilson 95 % interval.
    pub reach: Share,
    /// Profit of a batch, before the maker is paid.
    pub profit: Mean,
}

/// The slowest tenth of trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SlowTenth {
    /// Hours from which a trial belongs to it.
    pub from: f64,
    /// Mean hours of its trials: the expected shortfall of hours at 10 %.
    pub hours: Mean,
    /// What an hour earns in them: sum of profit / sum of hours.
    pub rate: Mean,
}

/// One thing that may go wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Misfortune {
    /// What it is.
    pub kind: Kind,
    /// The step, the channel, what is lost before an order (`quotes`, `enquiries`, or both), or the name in the scenario, of those that have
    /// one.
    pub name: Option<String>,
    /// Rising strengths and what each comes to.
    pub strengths: Vec<Strength>,
    /// Strength up to which the target is reached at the asked confidence.
    pub target_lost: Breaking,
    /// Strength from which the long-run profit is nothing.
    pub nothing_earned: Breaking,
}

/// What goes wrong, and what its strength counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// All hands-on time: 0.1 is 10 % more.
    Build,
    /// All setups: 0.1 is 10 % more.
    Setups,
    /// All hands-on time of one step: 0.1 is 10 % more.
    Step,
    /// A channel's own time per order: 0.1 is 10 % more.
    Channel,
    /// Chances of a spoiled piece: 1 is twice as likely. None is raised above 95 %.
    Spoil,
    /// Pieces that selling days find buyers for: 0.5 is half as many.
    Days,
    /// Chances that a quote or an enquiry comes to nothing: 1 is twice as likely. None is raised above 95 %.
    Lost,
    /// Shares that come back unsold from sale or return: 1 is twice as much. None is raised above 95 %.
    ComesBack,
    /// Chances of a second: 1 is twice as likely. None is raised above 95 %.
    Seconds,
    /// Chances of a redo: 1 is twice as likely. None is raised above 95 %.
    Redo,
    /// Prices of stock: 0.1 is 10 % dearer.
    Stock,
    /// Postage paid: 0.1 is 10 % dearer.
    Post,
    /// Fees, of the price and per order: 0.1 is 10 % more (8 % becomes 8.8 %).
    Fees,
    /// The helper's wage: 0.1 is 10 % dearer.
    Helper,
    /// Pieces of a batch that find no buyer and bring in nothing, as a share of those started, in whole pieces; with a season:
    /// buyers that stay away, as a share.
    Unsold,
    /// Build, stock, postage, fees, wage, spoil, seconds, redo, orders lost and pieces unsold at once: 0.1 is each 10 % worse.
    AllAtOnce,
    /// As the scenario says; strength is the share of trials that it strikes.
    Own,
}

/// A misfortune at one strength.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Strength {
    /// How bad, see [`Kind`].
    pub strength: f64,
    /// What trials come to then.
    pub outcome: Outcome,
    /// Change of the long-run rate against plan, with the error of paired trials.
    pub rate_change: Mean,
}

/// How far a misfortune may go.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Breaking {
    /// What was found.
    pub found: Found,
    /// The strength; below 0: it would have to be so much better than planned.
    pub at: Option<f64>,
    /// Ends of its 95 % interval.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Where there was none: strength up to which it was looked for; `None`: for ever.
    pub looked_to: Option<f64>,
}

/// What was found about a breaking point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// It breaks at `at`.
    Breaks,
    /// It is broken as planned; `at` is below 0, and `None` where no improvement of this kind mends it.
    BrokenAlready,
    /// It holds at least as far as was looked.
    Holds,
}

/// Tail of the slowest trials.
const TENTH: f64 = 0.1;

/// The trials as planned, and what is needed of each.
struct Plain {
    hours: Vec<f64>,
    profit: Vec<f64>,
    floor: Vec<f64>,
    /// What a price of 1 brings in, by trial.
    brings: Vec<f64>,
}

#[derive(Clone, Copy)]
struct Asked<'a> {
    scenario: &'a Scenario,
    size: u32,
    settings: Settings,
}

impl Asked<'_> {
    fn simulate(&self, scenario: &Scenario) -> SizeTrials {
        let mut alone = scenario.clone();
        alone.batch.sizes = vec![self.size];
        let plan = Plan::new(&alone);
        Engine::new(&plan, self.settings.seed)
            .answer_sizes(self.settings.trials, &|_| (), |trials| trials)
            .remove(0)
    }

    /// What a price of 1 brings in, by trial: exact, as money is linear in price.
    fn brings(&self, scenario: &Scenario, trials: &SizeTrials) -> Vec<f64> {
        let doubled = self.simulate(&vary::priced(scenario, 2.0));
        let price = scenario.sale.price;
        let pairs = doubled.profit.iter().zip(&trials.profit);
        pairs.map(|(twice, once)| (twice - once) / price).collect()
    }

    /// How far profit may lie under target x hours by rounding alone, in a trial where a price of 1 brings in `brings`.
    fn allowance(&self, brings: f64) -> f64 {
        1e-12 * self.scenario.sale.price * brings
    }
}

/// Stresses a batch of `size` pieces at the scenario's price.
#[must_use]
pub fn run(scenario: &Scenario, size: u32, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Stress {
    settings.on_threads(|| {
        let asked = Asked {
            scenario,
            size,
            settings: *settings,
        };
        let trials = asked.simulate(scenario);
        let brings = asked.brings(scenario, &trials);
        let plain = Plain {
            hours: trials.hours,
            profit: trials.profit,
            floor: trials.floor,
            brings,
        };
        let (lowest, reach) = usual(&asked, &plain);
        let slow = stats::expected_shortfall(&plain.hours, TENTH);
        let cases = cases(scenario, size);
        let done = AtomicUsize::new(0);
        let found = parallel::map(cases.len(), |k| {
            let found = misfortune(&asked, &plain, &cases[k]);
            let so_far = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress(so_far as f64 / cases.len() as f64);
            found
        });
        let misfortunes: Vec<Misfortune> = found.into_iter().flatten().collect();
        Stress {
            title: scenario.title.clone(),
            currency: scenario.currency.clone(),
            price: scenario.sale.price,
            target: scenario.target_per_hour,
            confidence: scenario.confidence,
            trials: settings.trials,
            seed: settings.seed,
            version: env!("CARGO_PKG_VERSION").to_owned(),
            size,
            certain: is_certain(&plain, &misfortunes),
            as_planned: outcome(&plain.hours, &plain.profit, reach),
            worse_when_dearer: lowest
                .price
                .filter(|lowest| *lowest > scenario.sale.price)
                .and_then(|_| {
                    let trials = settings.trials.max(floor::TRIALS);
                    floor::worse_when_dearer_at(scenario, size, &Settings { trials, ..*settings })
                }),
            floor: lowest,
            buyers_kept: scenario.elastic_season().is_some(),
            in_season: scenario.season.is_some(),
            day_costs: scenario.selling_days.iter().any(|day| !day.cost.is_zero()),
            slow_tenth: SlowTenth {
                from: slow.from,
                hours: slow.mean,
                rate: stats::tail_ratio(&plain.profit, &plain.hours, TENTH),
            },
            misfortunes,
        }
    })
}

/// The price that pays and the chance that the asked one does, from as many trials as `sweep` and `floor` take, so that one page has them as
/// another. From those of this question where so many were asked for, which are those of the other pages as well, and where the two lie on
/// different sides of the asked price: whether that pays has one answer here.
fn usual(asked: &Asked<'_>, plain: &Plain) -> (Floor, Share) {
    let Asked { scenario, settings, .. } = *asked;
    let of = |floors: &[f64]| {
        let reached = stats::reached(floors, scenario.sale.price);
        (
            lowest_price(floors, scenario.confidence),
            stats::wilson(reached, floors.len() as u64),
        )
    };
    let own = of(&plain.floor);
    if settings.trials != trials_of_one_size(scenario, asked.size, TRIALS, MOST_WORK) {
        return own;
    }
    let settings = Settings {
        trials: sweep::TRIALS,
        ..settings
    };
    let many = Asked { settings, ..*asked }.simulate(scenario);
    let many = of(&many.floor);
    let pays = |(_, reach): &(Floor, Share)| reach.share >= scenario.confidence;
    if pays(&own) == pays(&many) { many } else { own }
}

/// The price floor of the trials.
fn lowest_price(floors: &[f64], confidence: f64) -> Floor {
    let place = QuantileRank::of_floor(floors.len(), confidence);
    Floor::of(&stats::settled(floors, &[place]), (confidence, place))
}

/// Whether every trial is the same as the next, as planned and at every strength. What a scenario says may strike is chance by itself.
fn is_certain(plain: &Plain, misfortunes: &[Misfortune]) -> bool {
    let all_alike = |values: &[f64]| values.windows(2).all(|pair| pair[0] == pair[1]);
    // Errors of what does not vary are what rounding leaves of nothing.
    let sure =
        |o: &Outcome| o.rate.se <= 1e-9 * o.rate.mean.abs().max(1.0) && (o.reach.share == 0.0 || o.reach.share == 1.0);
    all_alike(&plain.hours)
        && all_alike(&plain.profit)
        && misfortunes
            .iter()
            .all(|m| m.kind != Kind::Own && m.strengths.iter().all(|s| sure(&s.outcome)))
}

/// `None` where it changes nothing: there is no such thing in this scenario.
fn misfortune(asked: &Asked<'_>, plain: &Plain, case: &Case) -> Option<Misfortune> {
    let (strengths, target_lost, nothing_earned) = match &case.way {
        Way::Linear(change) => linear(asked, plain, case, change)?,
        Way::Searched(change, limit) => searched(asked, plain, case, change, *limit)?,
        Way::Pieces => pieces(asked, plain, case),
        Way::Struck(scenario) => struck(asked, plain, scenario),
    };
    Some(Misfortune {
        kind: case.kind,
        name: case.name.clone(),
        strengths,
        target_lost,
        nothing_earned,
    })
}

fn outcome(hours: &[f64], profit: &[f64], reach: Share) -> Outcome {
    let n = hours.len();
    let mut rates: Vec<f64> = profit.iter().zip(hours).map(|(p, h)| per_hour(*p, *h)).collect();
    let middle = QuantileRank::new(n, 0.5);
    stats::put_in_order(&mut rates, &[middle]);
    Outcome {
        rate: stats::ratio(profit, hours),
        rate_median: stats::quantile(&rates, middle),
        rate_median_interval: (rates[middle.low], rates[middle.high]),
        reach,
        profit: stats::mean(profit),
    }
}

fn strength(plain: &Plain, strength: f64, hours: &[f64], profit: &[f64], reached: u64) -> Strength {
    let outcome = outcome(hours, profit, stats::wilson(reached, hours.len() as u64));
    Strength {
        strength,
        // The same days are in both.
        rate_change: stats::ratio_difference((profit, hours), (&plain.profit, &plain.hours)),
        outcome,
    }
}

type Told = (Vec<Strength>, Breaking, Breaking);

fn holds_or_not(holds: bool, looked_to: Option<f64>) -> Breaking {
    Breaking {
        found: if holds { Found::Holds } else { Found::BrokenAlready },
        at: None,
        low: None,
        high: None,
        looked_to,
    }
}

#[cfg(test)]
mod tests;
