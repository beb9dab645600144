//! `floor`: the price that pays, at several confidences and in the long run, for one or several sizes or for one order.
//!
//! # Why it is so
//!
//! *An order is filled.* A quote is for so many pieces whatever is spoiled on the way: what is spoiled is made again, also where batches come
//! out short. It is for the order made as is advised: with the spares that bring its price next to the lowest in the fewest hours (`spares.rs`).
//!
//! *The table takes the buyers of the asked price* where demand depends on the price: a trial's own floor is then still closed form, and
//! the chance of reaching the target still agrees with the floor at the asked price. The lowest price that pays with the buyers there are at
//! it is searched for, for the size that is spoken of.
//!
//! *A batch that sells nothing may have a floor of 0.* Where clearance or carried stock earns the target alone, any price does it; else none.
//! No floor is below 0, so that the chance and the floor agree in every trial.

mod order;
mod spares;

pub use order::{hardly_filled, usual_orders};
pub use spares::{Choice, MOST_CHOICES, Spares, compared_in};

use super::season::{self, PayingPrice};
use super::sweep::Floor;
use super::{Settings, advised, long_run_rates, made_to_order, nearest, trials_at, vary};
use crate::engine::{Engine, Plan, SizeTrials};
use crate::model;
use crate::model::money::{OnceAnOrder, once_an_order};
use crate::scenario::{Sale, Scenario, SellingDay, Spoiled};
use crate::stats::Share;
use crate::stats::Z975 as Z;
use crate::stats::columns;
use crate::stats::{self, QuantileRank};
use serde::Serialize;

/// Trials of each size where nothing is said.
pub const TRIALS: u64 = 50_000;

/// The whole answer; its serialised form is the documented JSON of `floor`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Floors {
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
    /// Whether `size` counts the pieces of a batch, sold as the scenario says, or of one order made and sent together.
    pub made_for: MadeFor,
    /// The size the answer speaks of first: the one that is advised for a season or a year; else the first that pays at the asked price, or the one
    /// that comes nearest; of orders the largest, or the smallest where pieces are made to order.
    pub about: u32,
    /// Pieces can be spoiled and are not made again: a trial may come out short. An order never does.
    pub short: bool,
    /// Pieces can be spoiled.
    pub spoils: bool,
    /// The scenario sells through channels, and the order goes through none: it is quoted as `[sale]` says.
    pub past_channels: bool,
    /// Whether a single piece is made to order ([`super::made_to_order`]); its price is then said first.
    #[serde(skip)]
    pub made_to_order: bool,
    /// The channel that orders are quoted through: with its packing, postage and fees, at its price in the scenario's own money.
    pub through: Option<String>,
    /// Demand hangs on the price: these floors take the buyers there are at the asked one.
    pub buyers_kept: bool,
    /// Then the lowest price at which a batch of `about` pays surely enough with the buyers there are at it.
    pub own_buyers: Option<PayingPrice>,
    /// What a list price is in each channel; empty without channels, and for orders, which go through none.
    pub channels: Vec<ChannelPrice>,
    /// The same on each selling day; absent where there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub selling_days: Vec<ChannelPrice>,
    /// The same for a piece that makes no full set and is sold singly, in each channel where it is, or where there are none by no name; absent where
    /// none is.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub singles: Vec<ChannelPrice>,
    /// The scenario has selling days, and the order goes to none; absent where not.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub past_days: bool,
    /// Pieces can become seconds, and one fills no order: another is made in its place; absent where not.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub past_seconds: bool,
    /// What the order goes through sells sets of so many, and some of these orders make no full ones; absent where not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub past_sets: Option<u32>,
    /// What an order costs once, however many pieces are in it: it is taken for one parcel. Absent for batches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub once_an_order: Option<OnceAnOrder>,
    /// The order is left on sale or return, and what comes back unsold is counted; absent where not.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub on_return: bool,
    /// Pieces of an order can be spoiled: spares to start with it, for the order of `about`; absent where not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spares: Option<Spares>,
    /// Some piece can become a second, so that spoiled pieces are never made again. For people alone.
    #[serde(skip)]
    pub makes_seconds: bool,
    /// Nothing varies: hours and profit of each trial are those of the next. For people alone.
    #[serde(skip)]
    pub certain: bool,
    /// Ascending in size.
    pub sizes: Vec<SizeFloors>,
}

/// The price of a channel, or of a selling day, against the list price.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChannelPrice {
    /// Its name.
    pub name: String,
    /// Currency of its price (ISO 4217).
    pub currency: String,
    /// Its price, discount taken off, for each unit of list price.
    pub per_list_price: f64,
}

/// What a list price is on each selling day.
fn day_prices(scenario: &Scenario) -> Vec<ChannelPrice> {
    let day = |day: &SellingDay| ChannelPrice {
        name: day.name.clone(),
        currency: scenario.currency.clone(),
        per_list_price: day.price / scenario.sale.price,
    };
    scenario.selling_days.iter().map(day).collect()
}

/// The currency of a way of selling's price.
fn currency_of(scenario: &Scenario, sale: &Sale) -> String {
    let other = sale.currencies.price.map(|k| &scenario.currencies[k].code);
    other.unwrap_or(&scenario.currency).clone()
}

/// What a list price is for a piece sold singly.
fn single_prices(scenario: &Scenario) -> Vec<ChannelPrice> {
    let single = |name: &str, sale: &Sale| {
        sale.single_price.map(|price| ChannelPrice {
            name: name.to_owned(),
            currency: currency_of(scenario, sale),
            per_list_price: price / scenario.sale.price,
        })
    };
    match scenario.channels.as_slice() {
        [] => single("", &scenario.sale).into_iter().collect(),
        channels => channels.iter().filter_map(|c| single(&c.name, &c.sale)).collect(),
    }
}

/// What a list price is in each channel.
fn channel_prices(scenario: &Scenario) -> Vec<ChannelPrice> {
    let plan = Plan::new(scenario);
    scenario
        .channels
        .iter()
        .zip(&plan.channels)
        .map(|(channel, planned)| ChannelPrice {
            name: channel.name.clone(),
            currency: currency_of(scenario, &channel.sale),
            per_list_price: planned.price_ratio,
        })
        .collect()
}

/// What the pieces are made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MadeFor {
    /// Batches, sold as the scenario says.
    Batches,
    /// One order of all of them.
    Order,
}

/// Prices per piece for one size; in all they are `size` times as much.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizeFloors {
    /// Pieces of the batch or the order.
    pub size: u32,
    /// Pieces started with an order beyond those, as many as are advised; absent where none are looked at.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spares: Option<u32>,
    /// Price floors at 50, 80, 90 and 95 %.
    pub floor: Vec<Floor>,
    /// Price floor at the asked confidence.
    pub floor_asked: Floor,
    /// Share of trials that reach the target at that price: more than asked for where many trials have the same floor. Absent where no price does.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pays: Option<f64>,
    /// Price at which `E[profit] = target x E[hours]`.
    pub long_run: LongRunFloor,
    /// Share of trials that reach the target at the asked price, with its Wilson 95 % interval.
    pub reach: Share,
    /// What the floor leaves under the floor for one piece, at the asked confidence, as a share of that; orders only.
    pub off_one: Option<Discount>,
    /// What the floor leaves under the asked price, at the asked confidence, as a share of that.
    pub off_price: Option<Discount>,
    /// Share of trials in which all that was sold comes back and its fee is lost, while what else comes in is enough at some price. A dearer
    /// piece costs more there, so that such a trial has no price from which on it pays: in every floor it counts as it fares at the asked
    /// price. Absent where there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worse_when_dearer: Option<f64>,
    /// Whether any trial sells a piece. For people alone.
    #[serde(skip)]
    pub sells: bool,
}

/// The long-run floor and its error; `None` is infinite (no price does it).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LongRunFloor {
    /// The floor.
    pub price: Option<f64>,
    /// Its standard error by the delta method.
    pub se: Option<f64>,
    /// Lower end of its 95 % interval.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// How much cheaper a piece may be, as a share; below 0: it must be dearer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Discount {
    /// Share.
    pub share: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Confidences at which a floor is always given.
pub const CONFIDENCES: [f64; 4] = [0.5, 0.8, 0.9, 0.95];

/// Bytes of columns held at once; more sizes go in stretches.
const COLUMN_BUDGET: usize = 256 << 20;

/// Price floors of batches of the scenario's sizes, which are ascending and not empty.
#[must_use]
pub fn run(scenario: &Scenario, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Floors {
    settings.on_threads(|| {
        let sizes = &scenario.batch.sizes;
        let stretch = (COLUMN_BUDGET / 48 / settings.trials.max(1) as usize).max(1);
        let all = sizes.len() as f64;
        let mut found = Vec::with_capacity(sizes.len());
        let mut rates = Vec::with_capacity(sizes.len());
        let mut hours_of_first = 0.0;
        let mut certain = true;
        // Where demand hangs on the price, the search for a price that pays comes last.
        let last = if scenario.elastic_season().is_some() { 0.6 } else { 1.0 };
        for part in sizes.chunks(stretch) {
            let begin = last * found.len() as f64 / all;
            let share = last * part.len() as f64 / all;
            let mut looked = scenario.clone();
            looked.batch.sizes = part.to_vec();
            let simulated = simulate(&looked, settings, &|done| progress(begin + share * 0.5 * done));
            let doubled = simulate(&vary::priced(&looked, 2.0), settings, &|done| {
                progress(begin + share * (0.5 + 0.5 * done));
            });
            if found.is_empty() {
                let hours = &simulated[0].hours;
                hours_of_first = stats::sum_of(hours, hours, |v, _| v) / settings.trials as f64;
            }
            certain &= simulated.iter().all(is_certain);
            rates.extend(simulated.iter().map(|simulated| {
                let sum = |column: &[f64]| stats::sum_of(column, column, |v, _| v);
                columns::per_hour(sum(&simulated.profit), sum(&simulated.hours))
            }));
            found.extend(
                simulated
                    .iter()
                    .zip(&doubled)
                    .map(|(simulated, doubled)| size_floors(scenario, simulated, doubled, None)),
            );
        }
        let mut answer = answer(scenario, settings, MadeFor::Batches, found, &rates);
        answer.certain = certain;
        answer.made_to_order = sizes[0] == 1 && made_to_order(scenario, hours_of_first);
        answer.own_buyers = scenario.elastic_season().map(|season| {
            season::paying_price(scenario, season, answer.about, settings, &|done| {
                progress(last + (1.0 - last) * done);
            })
        });
        answer
    })
}

/// Price floors of single orders of so many pieces, each made and sent together, with the spares that are advised; `orders` are ascending and
/// not empty. Through the channel with the index `channel`, or as `[sale]` says.
#[must_use]
pub fn orders(
    scenario: &Scenario,
    channel: Option<usize>,
    orders: &[u32],
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Floors {
    let past_channels = channel.is_none() && !scenario.channels.is_empty();
    let through = channel.map(|k| scenario.channels[k].name.clone());
    let past_days = !scenario.selling_days.is_empty();
    let all = scenario;
    let scenario = &channel.map_or_else(|| scenario.clone(), |k| vary::through(scenario, k));
    settings.on_threads(|| {
        let of = |pieces: u32| {
            let order = one_order(all, channel, pieces);
            let at_price = |times: f64, count: u32, worth: f64| {
                let started = spares::started(&vary::priced(&order, times), count, worth);
                trials_of(&started, settings, &|_| ()).remove(0)
            };
            match spares::run(all, &order, settings) {
                Some((found, simulated)) => {
                    let doubled = at_price(2.0, found.advised.unwrap_or(0), found.worth);
                    (simulated, doubled, Some(found))
                }
                None => (at_price(1.0, 0, 0.0), at_price(2.0, 0, 0.0), None),
            }
        };
        let single = one_order(all, channel, 1);
        let bespoke = made_to_order(scenario, model::hours(&single, 1));
        let one = of(1).0;
        let first_said = if bespoke { orders.first() } else { orders.last() };
        let about = first_said.copied().unwrap_or(1);
        let (mut certain, mut spares_of_about) = (true, None);
        let found: Vec<SizeFloors> = orders
            .iter()
            .enumerate()
            .map(|(k, pieces)| {
                let (simulated, doubled, spares) = of(*pieces);
                progress((k + 1) as f64 / orders.len() as f64);
                certain &= is_certain(&simulated);
                let advised = spares.as_ref().and_then(|found| found.advised);
                if *pieces == about {
                    spares_of_about = spares;
                }
                SizeFloors {
                    size: *pieces,
                    spares: advised,
                    ..size_floors(scenario, &simulated, &doubled, Some(&one))
                }
            })
            .collect();
        let set = scenario.sale.set_of;
        Floors {
            about,
            certain,
            spares: spares_of_about,
            once_an_order: Some(once_an_order(&single)),
            past_channels,
            through,
            past_days,
            past_seconds: scenario.second_chance() > 0.0,
            past_sets: orders.iter().any(|pieces| pieces % set != 0).then_some(set),
            on_return: scenario.on_return().next().is_some() && channel.is_some(),
            ..answer(scenario, settings, MadeFor::Order, found, &[])
        }
    })
}

/// One order of so many pieces, through the channel with the index `channel` or as `[sale]` says.
fn one_order(scenario: &Scenario, channel: Option<usize>, pieces: u32) -> Scenario {
    match channel {
        Some(k) => vary::one_order_through(&vary::through(scenario, k), pieces),
        None => vary::one_order(scenario, pieces),
    }
}

/// Whether every trial is the same as the next but for rounding. Floors do not tell: all of them are 0 where any price pays.
fn is_certain(trials: &SizeTrials) -> bool {
    let alike = |values: &[f64]| {
        let (low, high) = values
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                (low.min(*v), high.max(*v))
            });
        high - low <= 1e-9 * high.abs().max(low.abs()).max(1.0)
    };
    alike(&trials.hours) && alike(&trials.profit)
}

fn simulate(scenario: &Scenario, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Vec<SizeTrials> {
    trials_of(&Plan::new(scenario), settings, progress)
}

fn trials_of(plan: &Plan, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Vec<SizeTrials> {
    Engine::new(plan, settings.seed).answer_sizes(settings.trials, progress, |simulated| simulated)
}

/// `rates` are what an hour earns in the long run, size by size; of orders none.
fn answer(
    scenario: &Scenario,
    settings: &Settings,
    made_for: MadeFor,
    sizes: Vec<SizeFloors>,
    rates: &[f64],
) -> Floors {
    let spoils = scenario.steps.iter().any(|step| step.spoil > 0.0);
    let first_paying = sizes.iter().find(|s| s.reach.share >= scenario.confidence);
    let about = match made_for {
        MadeFor::Batches => advised(scenario, settings)
            .or(first_paying.map(|s| s.size))
            .or_else(|| {
                let simulated = sizes.iter().map(|s| s.size).zip(rates.iter().copied());
                let rates = long_run_rates(scenario, simulated.collect());
                let floors = sizes.iter().map(|s| s.floor_asked.price);
                nearest(&rates.into_iter().zip(floors).collect::<Vec<_>>())
            }),
        MadeFor::Order => None,
    };
    Floors {
        title: scenario.title.clone(),
        currency: scenario.currency.clone(),
        price: scenario.sale.price,
        target: scenario.target_per_hour,
        confidence: scenario.confidence,
        trials: settings.trials,
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        made_for,
        about: about.unwrap_or(1),
        past_channels: false,
        through: None,
        made_to_order: false,
        buyers_kept: made_for == MadeFor::Batches && scenario.elastic_season().is_some(),
        own_buyers: None,
        short: made_for == MadeFor::Batches && scenario.batch.spoiled == Spoiled::Short && spoils,
        spoils,
        channels: if made_for == MadeFor::Batches {
            channel_prices(scenario)
        } else {
            Vec::new()
        },
        selling_days: if made_for == MadeFor::Batches {
            day_prices(scenario)
        } else {
            Vec::new()
        },
        singles: if made_for == MadeFor::Batches {
            single_prices(scenario)
        } else {
            Vec::new()
        },
        past_days: false,
        past_seconds: false,
        past_sets: None,
        once_an_order: None,
        on_return: false,
        spares: None,
        makes_seconds: scenario.second_chance() > 0.0,
        certain: false,
        sizes,
    }
}

impl SizeFloors {
    /// What all pieces cost together at a price a piece.
    #[must_use]
    pub fn in_all(&self, price: f64) -> f64 {
        price * f64::from(self.size)
    }
}

/// `doubled` are the same trials at twice the price; `one` those of an order of one.
fn size_floors(
    scenario: &Scenario,
    simulated: &SizeTrials,
    doubled: &SizeTrials,
    one: Option<&SizeTrials>,
) -> SizeFloors {
    let trials = simulated.floor.len();
    let price = scenario.sale.price;
    let reached = stats::reached(&simulated.floor, price);

    let at = |q: f64| (q, QuantileRank::of_floor(trials, q));
    let (asked, places) = (at(scenario.confidence), CONFIDENCES.map(at));
    let wanted: Vec<QuantileRank> = places.iter().chain([&asked]).map(|(_, place)| *place).collect();
    let settled = stats::settled(&simulated.floor, &wanted);
    let floor = |at| Floor::of(&settled, at);
    let floor_asked = floor(asked);
    let off_price = match floor_asked {
        Floor {
            price: Some(at),
            low: Some(low),
            high: Some(high),
            ..
        } => Some(Discount {
            share: 1.0 - at / price,
            low: 1.0 - high / price,
            high: 1.0 - low / price,
        }),
        _ => None,
    };
    SizeFloors {
        size: simulated.size,
        floor: places.into_iter().map(floor).collect(),
        floor_asked,
        pays: floor_asked
            .price
            .map(|price| stats::reached(&simulated.floor, price) as f64 / trials as f64),
        long_run: long_run(
            price,
            scenario.target_per_hour,
            scenario.price_counts(),
            simulated,
            doubled,
        ),
        reach: stats::wilson(reached, trials as u64),
        off_one: one.and_then(|one| off_one(&simulated.floor, &one.floor, scenario.confidence)),
        off_price,
        worse_when_dearer: worse_when_dearer(scenario, simulated, doubled),
        spares: None,
        sells: simulated.sums.sold > 0.0,
    }
}

/// See [`SizeFloors::worse_when_dearer`]. With profit P at the asked price p and P2 at twice that, a price of 1 brings in (P2 - P) / p, and
/// 2 P - P2 is what is left at no price.
fn worse_when_dearer(scenario: &Scenario, simulated: &SizeTrials, doubled: &SizeTrials) -> Option<f64> {
    let trials = simulated.profit.iter().zip(&doubled.profit).zip(&simulated.hours);
    let such = trials
        .filter(|((once, twice), hours)| twice < once && 2.0 * **once - **twice >= scenario.target_per_hour * **hours);
    let such = such.count();
    (such > 0).then(|| such as f64 / simulated.profit.len() as f64)
}

/// A share of trials below which nobody is told of them, and they are not looked for.
const HARDLY_EVER: f64 = 0.005;
/// So many trials have none of a share of [`HARDLY_EVER`] in five of 100,000 cases.
const PILOT: u64 = 2_000;

/// No more than this share of batches has all that was sold come back. k good pieces make k / o orders or more, o the most that one holds, each of
/// which comes back with at most the chance r: E\[r^(k / o)\] = (1 - g + g r^(1 / o))^n of n pieces that are good with chance g. Where a season
/// or a shop on sale or return leaves pieces unsold, one order may be all.
fn all_come_back_at_most(scenario: &Scenario, size: u32) -> f64 {
    let sales = scenario.sales();
    let most = |of: fn(&Sale) -> f64| sales.iter().map(|sale| of(sale)).fold(0.0, f64::max);
    let (returned, order) = (
        most(|sale| sale.returned),
        most(|sale| sale.order_of.limits().1 * f64::from(sale.set_of)).max(1.0),
    );
    if scenario.season.is_some() || scenario.on_return().next().is_some() || returned <= 0.0 {
        return returned;
    }
    let good = model::counts::arrivals(scenario).1;
    libm::pow(1.0 - good + good * libm::pow(returned, 1.0 / order), f64::from(size))
}

/// [`SizeFloors::worse_when_dearer`] of batches of `size`, for a question that has their floors by itself; `None` where that is next to nothing.
pub(super) fn worse_when_dearer_at(scenario: &Scenario, size: u32, settings: &Settings) -> Option<f64> {
    // What else can bring anything in.
    let is_left = scenario.comes_back() || scenario.season.is_some() || scenario.leaves_odd();
    let is_possible = is_left || scenario.second_chance() > 0.0;
    if !is_possible || all_come_back_at_most(scenario, size) < HARDLY_EVER {
        return None;
    }
    let share = |trials: u64| {
        let settings = &Settings { trials, ..*settings };
        let simulated = trials_at(scenario, size, settings);
        let doubled = trials_at(&vary::priced(scenario, 2.0), size, settings);
        worse_when_dearer(scenario, &simulated, &doubled)
    };
    // Where there is next to nothing to tell, all trials would take a quarter of a sweep.
    if settings.trials > PILOT {
        share(PILOT)?;
    }
    share(settings.trials)
}

/// The long-run floor with its delta-method error.
///
/// With profit P at the asked price p, hours H and what a price of 1 brings in W, the price x at which
/// E\[P + (x - p) W\] = T E\[H\] is p + E\[T H - P\] / E\[W\]: a ratio of means, whose error the delta method gives as
/// sqrt(var(D - r W) / n) / E\[W\] with D = T H - P and r = E\[D\] / E\[W\]. W differs from trial to trial where pieces are spoiled or
/// come back; money is linear in price, so a second simulation with the same draws at twice the price gives it exactly: (P2 - P) / p.
///
/// `counts`: whether a dearer piece leaves more at all, on average. No price is below 0.
fn long_run(price: f64, target: f64, counts: bool, simulated: &SizeTrials, doubled: &SizeTrials) -> LongRunFloor {
    let brings: Vec<f64> = doubled
        .profit
        .iter()
        .zip(&simulated.profit)
        .map(|(twice, once)| (twice - once) / price)
        .collect();
    let due: Vec<f64> = simulated
        .hours
        .iter()
        .zip(&simulated.profit)
        .map(|(hours, profit)| target * hours - profit)
        .collect();
    if !counts || stats::sum_of(&brings, &brings, |w, _| w) <= 0.0 {
        return LongRunFloor {
            price: None,
            se: None,
            low: None,
            high: None,
        };
    }
    let above = stats::ratio(&due, &brings);
    let at = price + above.mean;
    LongRunFloor {
        price: Some(at.max(0.0)),
        se: Some(above.se),
        low: Some((at - Z * above.se).max(0.0)),
        high: Some((at + Z * above.se).max(0.0)),
    }
}

/// 1 - floor of `simulated` / floor of `one` at one confidence, with an interval that knows both saw the same days.
///
/// Bahadur's representation (1966, "A note on quantiles in large samples", Ann. Math. Stat. 37, 577-580): a sample quantile
/// moves with the share of trials at or under it, so that two quantiles of paired trials have the correlation of those two
/// indicators, (P(both) - q^2) / (q (1 - q)). Their own standard errors are read off their order-statistic intervals; the
/// delta method gives the error of the ratio.
fn off_one(simulated: &[f64], one: &[f64], q: f64) -> Option<Discount> {
    let place = QuantileRank::of_floor(one.len(), q);
    let read = |values: &[f64]| {
        let settled = stats::settled(values, &[place]);
        let at = settled.quantile(place);
        let se = (settled.at(place.high) - settled.at(place.low)) / (2.0 * Z);
        (at.is_finite() && se.is_finite()).then_some((at, se))
    };
    let ((many, many_se), (single, single_se)) = (read(simulated)?, read(one)?);
    if single <= 0.0 {
        return None;
    }
    let n = one.len() as f64;
    let both = simulated
        .iter()
        .zip(one)
        .filter(|(a, b)| **a <= many && **b <= single)
        .count() as f64
        / n;
    let correlation = ((both - q * q) / (q * (1.0 - q))).clamp(-1.0, 1.0);
    let ratio = many / single;
    let variance =
        many_se * many_se + ratio * ratio * single_se * single_se - 2.0 * ratio * correlation * many_se * single_se;
    let half = Z * libm::sqrt(variance.max(0.0)) / single;
    let share = 1.0 - ratio;
    Some(Discount {
        share,
        low: share - half,
        high: share + half,
    })
}

#[cfg(test)]
mod tests;
