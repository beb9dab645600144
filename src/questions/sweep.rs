//! The main question: hourly rate and price floor against batch size.

mod cause;
mod channels;

use super::{Settings, advised, floor, level_size, long_run_rates, made_to_order, nearest, size_of};
use crate::engine::plan::Terms;
use crate::engine::{ByThread, Engine, MoneyLine, Path, Plan, SizeColumns, SizeTrials, Sums, Trials, Worker};
use crate::model;
use crate::model::ceiling::{ceiling, is_of_left_over, slow_ceiling};
use crate::model::money::{DayMoney, selling_days};
use crate::model::uneven::{Uneven, uneven};
pub use crate::model::{Money, Parts};
use crate::parallel;
use crate::scenario::Scenario;
use crate::stats::columns::{self, Gathered, Moments, OrderStatistics, Ranks, per_hour, select};
use crate::stats::{self, Mean, Middle, QuantileRank, Share, Summary};
pub use cause::Cause;
use channels::channel_answers;
use serde::{Deserialize, Serialize};

/// Trials of each size where nothing is said.
pub const TRIALS: u64 = 50_000;

/// The whole answer; its serialised form is the documented JSON of `sweep`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sweep {
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
    /// Long-run rate that no batch size can pass.
    pub ceiling: f64,
    /// What an hour earns in an endless batch on a day as slow as the asked share of trials allows: of all chances the pace is the one
    /// that no number of pieces evens out. A target above it is out of reach however many are made.
    pub slow_ceiling: f64,
    /// Where learning has no end: the ceiling is for hands as fast as at this piece, the last of the largest batch. For people alone.
    #[serde(skip)]
    pub ceiling_at: Option<u32>,
    /// Whether the ceiling is what pieces earn that a season leaves over. For people alone.
    #[serde(skip)]
    pub ceiling_is_of_left_over: bool,
    /// Demand hangs on the price: prices that pay are told for the buyers there are at the asked one.
    pub buyers_kept: bool,
    /// Whether a single piece is made to order ([`super::made_to_order`]); what to charge for it is then said first.
    #[serde(skip)]
    pub made_to_order: bool,
    /// Whether pieces are sold in sets anywhere: then some may make no full one. For people alone.
    #[serde(skip)]
    pub has_sets: bool,
    /// Whether a piece that makes no full set has a price of its own, which another asked price takes along. For people alone.
    #[serde(skip)]
    pub has_singles: bool,
    /// How what is made sells: another question then says how many to make.
    #[serde(skip)]
    pub sells: Sells,
    /// First size whose chance of reaching the target is at least the confidence.
    pub first_paying_size: Option<u32>,
    /// The size that is advised: where a season ends or a sale is steady what [`super::season`] or [`super::steady`] advises, which weigh more than this
    /// question does; else the first that pays. `None`: no size is.
    pub advised_size: Option<u32>,
    /// Smallest size past which no bigger size of the sweep adds 1 % to the long-run rate.
    pub level_size: u32,
    /// The size that comes nearest to paying; what is said where none pays. For people alone.
    #[serde(skip)]
    pub nearest_size: Option<u32>,
    /// A size, the first that pays or the nearest, and what an hour earns there on average without each selling day; none where money has no
    /// closed form. For people alone.
    #[serde(skip)]
    pub without_days: Option<(u32, Vec<f64>)>,
    /// A size that does not pay, the smallest or the one that is spoken of, whose price is told above the asked one, and its
    /// [`super::floor::SizeFloors::worse_when_dearer`]. For people alone.
    #[serde(skip)]
    pub worse_when_dearer: Option<(u32, f64)>,
    /// Sizes of which it is told why they earn less than others, and what in them goes by the round, the order or the pack. For people alone.
    #[serde(skip)]
    pub uneven: Vec<(u32, Uneven)>,
    /// Where `--within` was asked: what was asked and what was reached.
    pub within: Option<Within>,
    /// Ascending in size.
    pub sizes: Vec<SizeAnswer>,
}

/// How what is made sells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sells {
    /// Every good piece.
    All,
    /// As many as are wanted before a season ends.
    UntilASeasonEnds,
    /// Every good piece in time, so many a week.
    AllYear,
}

/// How narrow the asked floor's 95 % interval was wanted, and how narrow it is, as shares of the floor.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Within {
    /// Asked for.
    pub asked: f64,
    /// Widest over the sizes whose floor is finite.
    pub widest: f64,
    /// The size with the widest.
    pub at_size: u32,
    /// Whether it was reached with the memory there is.
    pub reached: bool,
}

/// Everything known about one batch size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SizeAnswer {
    /// Pieces started.
    pub size: u32,
    /// Good pieces of a batch.
    pub good: Mean,
    /// Pieces sold of a batch.
    pub sold: Mean,
    /// Pieces sold as seconds of a batch, on average; absent where none are.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seconds: Option<f64>,
    /// Hands-on hours of a batch.
    pub hours: Summary,
    /// Hours of the helper in a batch, on average; absent where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub helper_hours: Option<f64>,
    /// Hands-on hours of a batch / size.
    pub hours_per_piece: Middle,
    /// Mean hours per piece by what they go into; they add up to `hours_per_piece.mean`.
    pub hours_parts: Parts,
    /// Expected setup hours / expected hours.
    pub setup_share: f64,
    /// Profit of a batch, before the maker is paid.
    pub profit: Summary,
    /// Profit / hours.
    pub rate: Rate,
    /// Share of trials that reach the target, with its Wilson 95 % interval.
    pub reach: Share,
    /// Price floors at 50, 80 and 90 %.
    pub floor: Vec<Floor>,
    /// Price floor at the asked confidence.
    pub floor_asked: Floor,
    /// Price at which `E[profit] = target x E[hours]`; `None` when no price does it.
    pub floor_long_run: Option<f64>,
    /// Mean money of a batch by what it goes into.
    pub money: Money,
    /// Share of trials in which every good piece is sold.
    pub sold_out: Share,
    /// What each selling day is to the batch, on average and exactly; absent where there are none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub selling_days: Vec<DayMoney>,
    /// What each channel's hour earns; empty where there is one way of selling.
    pub channels: Vec<ChannelAnswer>,
}

/// One channel at one batch size.
///
/// Making is shared out by the pieces that go there, the channel's orders are its own: rate = (its income - its fees, postage and
/// packing stock - its share of stock and overhead) / (its share of making + its orders).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChannelAnswer {
    /// Its name.
    pub name: String,
    /// Currency of its price (ISO 4217).
    pub currency: String,
    /// Asked price per piece there, discount taken off, in its own currency.
    pub price: f64,
    /// The asked floor there, in its own currency; `None` where no price does it.
    pub floor_asked: Option<f64>,
    /// Mean pieces sold of a batch.
    pub sold: f64,
    /// Mean pieces of a batch that come back unsold; absent where it is no sale or return.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unsold: Option<f64>,
    /// Mean orders of a batch.
    pub orders: f64,
    /// Mean hours of a batch: its share of making, and its orders.
    pub hours: f64,
    /// Mean profit of a batch.
    pub profit: f64,
    /// What its hour earns in the long run, with the error between blocks of trials; where these are few, so much larger that 1.96 of it
    /// either way hold 95 %.
    pub rate: Mean,
}

/// The hourly rate of trials.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rate {
    /// Mean of the trials' rates (not what the hour earns in the long run).
    pub mean: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
    /// `E[profit] / E[hours]`.
    pub long_run: f64,
    /// Standard error of `long_run` by the delta method.
    pub long_run_se: f64,
    /// `long_run` with stock at what was really paid for it.
    pub long_run_paid: f64,
}

/// A price floor and its 95 % interval; `None` is infinite (no price does it).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Floor {
    /// Share of trials in which this price reaches the target.
    pub confidence: f64,
    /// The floor.
    pub price: Option<f64>,
    /// Lower end.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// Confidences at which every sweep gives a floor.
pub const FLOORS: [f64; 3] = [0.5, 0.8, 0.9];

/// Answers the main question. `progress` is called now and then with the share of the work that is done.
#[must_use]
pub fn run(scenario: &Scenario, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Sweep {
    // Of one size there is nothing to choose.
    let several = scenario.batch.sizes.len() > 1;
    let advised = several.then(|| advised(scenario, settings)).flatten();
    planned(scenario, settings, advised, progress)
}

/// [`run`] where what [`super::season`] and [`super::steady`] advise is not asked for.
#[must_use]
pub fn unadvised(scenario: &Scenario, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Sweep {
    planned(scenario, settings, None, progress)
}

fn planned(scenario: &Scenario, settings: &Settings, advised: Option<u32>, progress: &(dyn Fn(f64) + Sync)) -> Sweep {
    let plan = Plan::new(scenario);
    let engine = Engine::new(&plan, settings.seed);
    settings.on_threads(|| simulated(scenario, &plan, engine, settings, advised, progress))
}

/// [`unadvised`] with a plan and an engine made before, on the threads of the caller.
#[must_use]
pub fn answer(
    scenario: &Scenario,
    plan: &Plan,
    engine: Engine<'_>,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Sweep {
    simulated(scenario, plan, engine, settings, None, progress)
}

fn simulated(
    scenario: &Scenario,
    plan: &Plan,
    engine: Engine<'_>,
    settings: &Settings,
    advised: Option<u32>,
    progress: &(dyn Fn(f64) + Sync),
) -> Sweep {
    let (trials, sizes, within) = match settings.within {
        None => {
            let places = QuantileRanks::new(settings.trials as usize, scenario.confidence);
            let sizes = engine.answer_columns(settings.trials, progress, SizeScratch::default, |scratch, simulated| {
                size_answer(scenario, plan, engine.path(), &places, scratch, &simulated)
            });
            (settings.trials, sizes, None)
        }
        Some(asked) => {
            let (trials, sizes, within) = narrow(scenario, plan, engine, settings.trials, asked, progress);
            (trials, sizes, Some(within))
        }
    };
    Sweep {
        within,
        ..of_sizes(scenario, trials, settings.seed, sizes, advised)
    }
}

/// The whole answer, of what each size says from so many trials: that hangs on no other size, whoever simulated it; and of the size that is `advised` for a
/// season or a steady sale.
#[must_use]
pub fn of_sizes(scenario: &Scenario, trials: u64, seed: u64, sizes: Vec<SizeAnswer>, advised: Option<u32>) -> Sweep {
    let rates = long_run_rates(scenario, sizes.iter().map(|at| (at.size, at.rate.long_run)).collect());
    let first_paying_size = sizes.iter().find(|s| s.pays(scenario.confidence)).map(|s| s.size);
    let floors = sizes.iter().map(|at| at.floor_asked.price);
    let nearest_size = nearest(&rates.iter().copied().zip(floors).collect::<Vec<_>>());
    let mut sweep = Sweep {
        title: scenario.title.clone(),
        currency: scenario.currency.clone(),
        price: scenario.sale.price,
        target: scenario.target_per_hour,
        confidence: scenario.confidence,
        trials,
        seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        ceiling: ceiling(scenario),
        slow_ceiling: slow_ceiling(scenario),
        ceiling_at: (scenario.steps.iter())
            .any(|step| step.learning.is_some_and(|l| l.learned_by.is_none()))
            .then(|| scenario.batch.sizes.last().copied())
            .flatten(),
        ceiling_is_of_left_over: is_of_left_over(scenario),
        buyers_kept: scenario.elastic_season().is_some(),
        has_sets: scenario.has_sets(),
        has_singles: scenario.has_singles(),
        made_to_order: sizes
            .first()
            .is_some_and(|s| s.size == 1 && made_to_order(scenario, s.hours.mean)),
        sells: match (&scenario.season, scenario.steady) {
            (Some(_), _) => Sells::UntilASeasonEnds,
            (None, Some(_)) => Sells::AllYear,
            (None, None) => Sells::All,
        },
        without_days: None,
        first_paying_size,
        advised_size: first_paying_size,
        level_size: level_size(&rates).unwrap_or(1),
        nearest_size,
        worse_when_dearer: None,
        uneven: Vec::new(),
        within: None,
        sizes,
    };
    if sweep.weighs() {
        sweep.advised_size = advised;
    }
    if !scenario.selling_days.is_empty() {
        let size = size_of(&sweep);
        sweep.without_days = without_days(scenario, size).map(|without| (size, without));
    }
    sweep.worse_when_dearer = sweep.raised().and_then(|size| {
        let settings = Settings {
            trials,
            seed,
            ..Settings::default()
        };
        Some((size, floor::worse_when_dearer_at(scenario, size, &settings)?))
    });
    sweep.uneven = sweep
        .explained()
        .into_iter()
        .map(|size| (size, uneven(scenario, size)))
        .collect();
    sweep
}

/// What an hour earns on average in batches of this size, where all is as it is but for one selling day, for each of them.
fn without_days(scenario: &Scenario, size: u32) -> Option<Vec<f64>> {
    let without = |k: usize| {
        let mut other = scenario.clone();
        other.selling_days.remove(k);
        model::rate(&other, size).ok()
    };
    (0..scenario.selling_days.len()).map(without).collect()
}

impl Rate {
    /// What an hour earns over many batches.
    #[must_use]
    pub const fn average(&self) -> Mean {
        Mean {
            mean: self.long_run,
            se: self.long_run_se,
        }
    }
}

impl SizeAnswer {
    /// Good pieces that are not sold, on average.
    #[must_use]
    pub fn left_over(&self) -> f64 {
        self.good.mean - self.sold.mean
    }

    /// Whether the target is reached in at least this share of trials.
    #[must_use]
    pub fn pays(&self, confidence: f64) -> bool {
        self.reach.share >= confidence
    }
}

/// What each size says of the trials that there are.
fn size_answers(scenario: &Scenario, plan: &Plan, engine: Engine<'_>, simulated: &Trials<'_>) -> Vec<SizeAnswer> {
    let places = QuantileRanks::new(simulated.trials() as usize, scenario.confidence);
    let scratches = ByThread::new(SizeScratch::default);
    parallel::map(simulated.sizes().len(), |k| {
        scratches.with(|scratch| size_answer(scenario, plan, engine.path(), &places, scratch, &simulated.columns(k)))
    })
}

/// What one of several workers simulates, as parcels for each of them ([`Engine::parcels`]).
#[must_use]
pub fn parcels(scenario: &Scenario, settings: &Settings, worker: Worker) -> (Vec<u8>, Vec<usize>) {
    Engine::new(&Plan::new(scenario), settings.seed).parcels(settings.trials, worker)
}

/// What its share of the sizes says, from what it simulated itself and what the others did for it ([`Engine::opened`]); `None` where these are not
/// that.
#[must_use]
pub fn of_parcels(
    scenario: &Scenario,
    settings: &Settings,
    worker: Worker,
    own: &[u8],
    others: &[u8],
) -> Option<Vec<SizeAnswer>> {
    let plan = Plan::new(scenario);
    let engine = Engine::new(&plan, settings.seed);
    let simulated = engine.opened(settings.trials, worker, own, others)?;
    Some(size_answers(scenario, &plan, engine, &simulated))
}

/// Adds blocks of trials until the asked floor is known closely enough at every size, or memory for columns runs out.
fn narrow(
    scenario: &Scenario,
    plan: &Plan,
    engine: Engine<'_>,
    first_trials: u64,
    asked: f64,
    progress: &(dyn Fn(f64) + Sync),
) -> (u64, Vec<SizeAnswer>, Within) {
    let mut simulated = engine.trials();
    let most = simulated.most_trials();
    simulated.extend(first_trials.min(most), progress);
    loop {
        let trials = simulated.trials();
        let sizes = size_answers(scenario, plan, engine, &simulated);
        let (widest, at_size) =
            sizes
                .iter()
                .map(|s| (s.floor_asked.relative_width(), s.size))
                .fold(
                    (0.0, plan.sizes[0]),
                    |best, next| if next.0 > best.0 { next } else { best },
                );
        let reached = widest <= asked;
        if reached || trials >= most {
            return (
                trials,
                sizes,
                Within {
                    asked,
                    widest,
                    at_size,
                    reached,
                },
            );
        }
        // Widths shrink with the square root of the trials; a little is added so that one more step mostly does it.
        let wanted = trials as f64 * (1.1 * (widest / asked) * (widest / asked)).clamp(1.05, 8.0);
        simulated.extend((wanted as u64).min(most), progress);
    }
}

impl Floor {
    /// Of the floors of single trials, at a confidence with its place among them (`QuantileRank::of_floor`).
    #[must_use]
    pub fn of(floors: &OrderStatistics, (confidence, place): (f64, QuantileRank)) -> Self {
        let finite = |v: f64| v.is_finite().then_some(v);
        Self {
            confidence,
            price: finite(floors.quantile(place)),
            low: finite(floors.at(place.low)),
            high: finite(floors.at(place.high)),
        }
    }

    /// Width of the interval as a share of the floor; 0 where the floor is infinite, as no number of trials helps there.
    #[must_use]
    pub fn relative_width(&self) -> f64 {
        match (self.price, self.low, self.high) {
            (Some(price), Some(low), Some(high)) if price > 0.0 => (high - low) / price,
            _ => 0.0,
        }
    }
}

/// Where the wanted quantiles lie, the same for all sizes.
struct QuantileRanks {
    n: usize,
    middle: [QuantileRank; 3],
    floors: [(f64, QuantileRank); FLOORS.len()],
    asked: (f64, QuantileRank),
    /// Ranks that the three quantiles read.
    middle_ranks: Ranks,
    /// Ranks that floors and their intervals read.
    floor_ranks: Ranks,
    /// Ranks of hours that serve all, where money follows from hours.
    line_ranks: Ranks,
}

impl QuantileRanks {
    fn new(n: usize, confidence: f64) -> Self {
        let middle = [0.1, 0.5, 0.9].map(|q| QuantileRank::new(n, q));
        let floors = FLOORS.map(|q| (q, QuantileRank::of_floor(n, q)));
        // An interval takes some twenty values of the binomial law.
        let known = floors.iter().find(|(q, _)| *q == confidence).copied();
        let asked = known.unwrap_or_else(|| (confidence, QuantileRank::of_floor(n, confidence)));
        let wanted: Vec<QuantileRank> = floors.iter().chain([&asked]).map(|(_, p)| *p).collect();
        let middle_ranks = Ranks::of(&middle, false, n);
        let floor_ranks = Ranks::of(&wanted, true, n);
        Self {
            n,
            middle,
            floors,
            asked,
            line_ranks: middle_ranks.and(&middle_ranks.mirrored(n)).and(&floor_ranks),
            middle_ranks,
            floor_ranks,
        }
    }

    /// The three quantiles.
    fn middle(&self, settled: &OrderStatistics) -> [f64; 3] {
        self.middle.map(|place| settled.quantile(place))
    }
}

/// Everything known about one batch size from its trials alone, but for its channels.
#[must_use]
pub fn figures(scenario: &Scenario, simulated: &SizeTrials) -> SizeAnswer {
    let places = QuantileRanks::new(simulated.hours.len(), scenario.confidence);
    let mut alone = scenario.clone();
    alone.batch.sizes = vec![simulated.size];
    let plan = Plan::new(&alone);
    size_answer(
        scenario,
        &plan,
        Path::best(),
        &places,
        &mut SizeScratch::default(),
        &simulated.columns(),
    )
}

/// What a thread uses again from size to size.
#[derive(Default)]
struct SizeScratch {
    columns: Gathered,
    sorting: columns::Scratch,
}

/// What is read off the trials of one size.
struct Read {
    moments: Moments,
    hours: OrderStatistics,
    profit: OrderStatistics,
    rate: OrderStatistics,
    floor: OrderStatistics,
    /// Trials whose own floor is at or below the price.
    reached: u64,
}

impl Read {
    fn new(
        simulated: &SizeColumns<'_>,
        price: f64,
        path: Path,
        places: &QuantileRanks,
        scratch: &mut SizeScratch,
    ) -> Self {
        match simulated.line {
            Some(line) if line.never_turns() => Self::line(simulated, line, price, path, places, scratch),
            Some(_) => {
                let copy = SizeTrials::from(*simulated);
                Self::columns(&copy.columns(), price, path, places, scratch)
            }
            None => Self::columns(simulated, price, path, places, scratch),
        }
    }

    fn columns(
        simulated: &SizeColumns<'_>,
        price: f64,
        path: Path,
        places: &QuantileRanks,
        scratch: &mut SizeScratch,
    ) -> Self {
        let SizeScratch { columns, sorting } = scratch;
        let moments = columns::gather(path, simulated, price, columns);
        let ends = moments.money.expect("found wherever there are columns of money");
        let mut middle = |values: &[f64], ends: (f64, f64)| select(path, values, ends, &places.middle_ranks, sorting);
        let (rate, hours, profit) = (
            middle(&columns.rate, ends.rate),
            middle(&columns.hours, moments.hours_ends),
            middle(&columns.profit, ends.profit),
        );
        let floor = select(path, &columns.floor, ends.floor, &places.floor_ranks, sorting);
        Self {
            moments,
            hours,
            profit,
            rate,
            floor,
            reached: ends.reached,
        }
    }

    /// Where money follows from hours, the order of hours is that of floors, and of profits turned round.
    fn line(
        simulated: &SizeColumns<'_>,
        line: MoneyLine,
        price: f64,
        path: Path,
        places: &QuantileRanks,
        scratch: &mut SizeScratch,
    ) -> Self {
        let n = places.n;
        let SizeScratch { columns, sorting } = scratch;
        let moments = columns::gather(path, simulated, price, columns);
        let hours = &columns.hours;
        let settled = select(path, hours, moments.hours_ends, &places.line_ranks, sorting);
        let (least, most) = moments.hours_ends;
        let rate_of = |h: f64| per_hour(line.profit(h), h);
        // A loss that grows with hours, over hours, may turn by a rounding: those rates are settled by themselves. So are
        // rates where some trial took no time at all.
        let rate = if least > 0.0 && line.profit(most) >= 0.0 {
            settled.falling(n, rate_of)
        } else if least > 0.0 && line.shop_per_hour == 0.0 {
            settled.rising(rate_of)
        } else {
            columns.rate.clear();
            columns.rate.extend(hours.iter().map(|h| rate_of(*h)));
            let (ends, _) = columns::ends_and_reached(path, &columns.rate, 0.0);
            select(path, &columns.rate, ends, &places.middle_ranks, sorting)
        };
        let paying = |h: f64| line.floor(h) <= price;
        let reached = if paying(most) {
            n as u64
        } else {
            columns::last_that(least, most, paying).map_or(0, |last| columns::at_most(path, hours, last))
        };
        Self {
            moments,
            profit: settled.falling(n, |h| line.profit(h)),
            floor: settled.rising(|h| line.floor(h)),
            rate,
            hours: settled,
            reached,
        }
    }
}

fn size_answer(
    scenario: &Scenario,
    plan: &Plan,
    path: Path,
    places: &QuantileRanks,
    scratch: &mut SizeScratch,
    simulated: &SizeColumns<'_>,
) -> SizeAnswer {
    let SizeColumns { size, sums, .. } = *simulated;
    let trials = simulated.trials as u64;
    let n = trials as f64;
    let pieces = f64::from(size);

    // The target is reached where the trial's own floor is at or below the price: one definition for both answers. The
    // allowance is for rounding where a price is exactly a floor.
    let price = stats::reachable(plan.terms.price);
    let read = Read::new(simulated, price, path, places, scratch);
    let Read { moments, reached, .. } = read;
    let mean = |mean: f64, squares: f64| Mean {
        mean,
        se: libm::sqrt(stats::variance_of_sums(0.0, squares, n) / n),
    };
    let hours_mean = mean(moments.hours, moments.hours_squared);
    let profit_mean = mean(moments.profit, moments.profit_squared);
    let long_run = long_run(&moments, hours_mean.mean, profit_mean.mean, n);
    let [rate_10, rate_50, rate_90] = places.middle(&read.rate);
    let hours = summary(hours_mean, places.middle(&read.hours));

    let per_price = sums.per_price / n;
    let due = plan.terms.target * hours_mean.mean - profit_mean.mean;
    let parts = parts(&sums, hours_mean.mean / pieces, n, pieces);
    let floor = |at| Floor::of(&read.floor, at);
    let floor_asked = floor(places.asked);
    SizeAnswer {
        size,
        good: stats::mean_of_sums(sums.good, sums.good_squared, trials),
        sold: stats::mean_of_sums(sums.sold, sums.sold_squared, trials),
        seconds: plan
            .seconds
            .as_ref()
            .and_then(|seconds| seconds.sale.as_ref())
            .map(|_| sums.seconds / n),
        helper_hours: plan.has_helper().then(|| sums.helper_hours / n),
        hours_per_piece: Middle {
            mean: hours.mean / pieces,
            p10: hours.p10 / pieces,
            p50: hours.p50 / pieces,
            p90: hours.p90 / pieces,
        },
        hours,
        setup_share: per_hour(parts.setup * pieces, hours_mean.mean),
        hours_parts: parts,
        profit: summary(profit_mean, places.middle(&read.profit)),
        rate: Rate {
            mean: moments.rate,
            p10: rate_10,
            p50: rate_50,
            p90: rate_90,
            long_run: long_run.mean,
            long_run_se: long_run.se,
            long_run_paid: per_hour(
                profit_mean.mean + sums.materials / n - sums.materials_paid / n,
                hours_mean.mean,
            ),
        },
        reach: stats::wilson(reached, trials),
        floor: places.floors.iter().map(|at| floor(*at)).collect(),
        channels: channel_answers(scenario, plan, &simulated.blocks(), n, floor_asked.price),
        selling_days: selling_days(scenario, size),
        sold_out: stats::wilson(sums.sold_out as u64, trials),
        floor_asked,
        floor_long_run: (per_price > 0.0 && scenario.price_counts())
            .then(|| (scenario.sale.price + due / per_price).max(0.0)),
        money: money(&sums, plan.terms, hours_mean.mean, n),
    }
}

/// What an hour earns over many batches.
fn long_run(moments: &Moments, hours: f64, profit: f64, n: f64) -> Mean {
    if hours == 0.0 {
        return Mean { mean: 0.0, se: 0.0 };
    }
    let ratio = profit / hours;
    stats::ratio_of_sums(ratio, moments.residual_squared(ratio), hours, n)
}

/// What the hours of a piece go into, on average.
fn parts(sums: &Sums, hours_a_piece: f64, n: f64, pieces: f64) -> Parts {
    let [setup, redo, per_order, once, selling_days] = [
        sums.setup_hours,
        sums.redo_hours,
        sums.order_hours,
        sums.once_hours,
        sums.day_hours,
    ]
    .map(|h| h / n / pieces);
    Parts {
        once,
        setup,
        // What is left; never below 0 by more than rounding.
        each: (hours_a_piece - once - setup - redo - per_order - selling_days).max(0.0),
        redo,
        per_order,
        selling_days,
    }
}

/// The money of one batch, on average.
fn money(sums: &Sums, terms: Terms, hours: f64, n: f64) -> Money {
    Money {
        income: sums.income / n,
        materials: sums.materials / n,
        materials_paid: sums.materials_paid / n,
        fees: sums.fees / n,
        post: sums.post / n,
        shop: terms.shop_per_hour * hours,
        clearance: sums.clearance / n,
        holding: sums.holding / n,
        selling_days: sums.day_cost / n,
        wages: sums.helper_hours / n * terms.wage,
    }
}

fn summary(mean: Mean, [p10, p50, p90]: [f64; 3]) -> Summary {
    Summary {
        mean: mean.mean,
        se: mean.se,
        p10,
        p50,
        p90,
    }
}

#[cfg(test)]
mod tests;
