//! The best batch for a selling season: how many before the fair, at what price, and what is left over.
//!
//! The model is the newsvendor's (single-period inventory; Arrow, Harris & Marschak 1951, "Optimal inventory policy",
//! Econometrica 19, 250-272; any text on operations research) with the maker's hours paid at the target: the batch that earns
//! most surplus, E[profit - target x hours], is looked for among the scenario's sizes by simulation, which also knows setups,
//! rounds, spoiled pieces and packs. Beside it stands the textbook's answer: one more piece earns `under` if it is asked for and
//! loses `over` if it is left, so as many are made as are asked for in a share under / (under + over) of seasons, the critical
//! fractile.
//!
//! Price response: demand at price p is buyers x (p / price)^-elasticity. Batch and price are searched together over a grid of
//! prices, then by golden section (Kiefer 1953, "Sequential minimax search for a maximum", Proc. AMS 4, 502-506), each price with
//! its best batch. All prices share their random numbers, so they differ by the price and not by luck.
//!
//! # Why it is so
//!
//! *Buyers stay those of the file's price.* Another price for one call has its own buyers where there is an elasticity
//! (`Season::asked_at`). A price written into the file is the one the buyers are told for, unless the file has their own (`buyers_at`).
//!
//! *A leftover that is carried on is worth what making it costs* (materials, and hours at the target, less holding): next season it saves
//! making one. Valued at its price, leftovers would cost nothing and any batch would be too small. Its worth is what the last piece of that
//! batch cost: at the first piece's cost, making more than sell would pay by itself.
//!
//! *There is no textbook rule with rounds.* The rule weighs one cost of one more piece. Where one more piece may open another firing there
//! is no such cost.

use super::Settings;
use crate::engine::{Engine, Plan, SizeTrials};
pub use crate::model::newsvendor::Fractile;
use crate::model::{counts, demand, newsvendor, worth};
use crate::scenario::{Buyers, Scenario, Season, Unsold};
use crate::stats::Z975;
use crate::stats::wilson;
use crate::stats::{self, QuantileRank};
use crate::stats::{Mean, Share};
use serde::Serialize;

/// Trials of each size where nothing is said.
pub const TRIALS: u64 = 20_000;

/// The whole answer; its serialised form is the documented JSON of `season`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonAnswer {
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
    /// Simulated seasons of each size.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// Pieces asked for at the asked price: mean, and the numbers that one season in ten stays under and goes over.
    pub buyers: BuyersAnswer,
    /// Mean share of them that stays sold; absent where no channel has pieces on sale or return.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stay_sold: Option<f64>,
    /// Whether leftovers are carried on to the next season instead of sold off.
    pub carried: bool,
    /// What a leftover piece brings, after holding where it is carried.
    pub leftover_worth: f64,
    /// Size with the largest expected surplus.
    pub best_by_surplus: u32,
    /// Size with the largest long-run rate.
    pub best_by_rate: u32,
    /// Sizes whose surplus the simulation cannot tell from the best (paired 95 % interval holds 0), ascending.
    pub ties: Vec<u32>,
    /// Whether a leftover brings back all that making it costs.
    pub leftovers_cost_nothing: bool,
    /// The textbook's answer.
    pub fractile: Option<Fractile>,
    /// Ascending in size.
    pub sizes: Vec<SeasonSize>,
    /// What other prices do; `None` where demand does not depend on the price.
    pub prices: Option<PriceResponse>,
}

/// Pieces asked for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BuyersAnswer {
    /// Mean.
    pub mean: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// 90 % quantile.
    pub p90: f64,
}

impl SeasonAnswer {
    /// Prices between which the elasticity is more than a guess: from half of the asked one to twice (assumption).
    #[must_use]
    pub fn nearer(&self) -> [f64; 2] {
        [self.price / 2.0, self.price * 2.0]
    }
}

/// One batch size in the season.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SeasonSize {
    /// Pieces started.
    pub size: u32,
    /// Good pieces.
    pub good: Mean,
    /// Pieces sold.
    pub sold: Mean,
    /// Good pieces that are left, those that came back worn apart.
    pub leftover: f64,
    /// Good pieces that came back worn from sale or return, which fetch a price of their own; absent where none can.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worn: Option<f64>,
    /// Share of seasons in which every good piece is sold.
    pub sold_out: Share,
    /// Profit less the target for every hour, with its error.
    pub surplus: Mean,
    /// 10 % quantile of the surplus.
    pub surplus_p10: f64,
    /// 90 % quantile of the surplus.
    pub surplus_p90: f64,
    /// Surplus less that of the best size, with the error of the paired difference.
    pub against_best: Mean,
    /// Hands-on hours.
    pub hours: f64,
    /// What an hour earns in the long run, with its error.
    pub rate: Mean,
    /// Share of seasons that reach the target.
    pub reach: Share,
}

/// What other prices do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PriceResponse {
    /// Demand at price p is buyers x (p / price)^-elasticity.
    pub elasticity: f64,
    /// The price that earns most together with its batch; `None` where there is none (elasticity 1 or less: dearer always pays
    /// more) or where it lies at an end of the prices looked at.
    pub best: Option<PricePoint>,
    /// The lowest and highest price, each with its best batch, between which a season leaves at least [`NEARLY`] of what the best
    /// one does, as far as prices were looked at; `None` where there is no best price or it leaves nothing.
    pub nearly_best: Option<[f64; 2]>,
    /// The price that earns most at the size that is best at the asked price; `None` likewise.
    pub best_at_size: Option<PricePoint>,
    /// The lowest price at which the target is reached surely enough at that size, with the buyers there are at that price;
    /// `None` where no price looked at does it.
    pub floor: Option<f64>,
    /// Whether that is only the lowest price looked at, so that one below may do as well.
    pub floor_at_end: bool,
    /// Prices looked at, ascending, each with its best size.
    pub curve: Vec<PricePoint>,
    /// The markup rule for constant elasticity where everything is sold: elasticity / (elasticity - 1) x cost, put up by tax and
    /// fees; `None` where demand is not elastic enough for a best price (elasticity 1 or less).
    pub markup_rule: Option<f64>,
    /// Seasons simulated for each price of the curve.
    pub curve_trials: u64,
}

/// One price.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PricePoint {
    /// Price per piece.
    pub price: f64,
    /// Batch size.
    pub size: u32,
    /// Mean pieces asked for at that price.
    pub buyers: f64,
    /// Expected surplus, with its error.
    pub surplus: Mean,
    /// What an hour earns in the long run.
    pub rate: f64,
    /// Mean pieces left over, those that came back worn apart.
    pub leftover: f64,
    /// Share of seasons that reach the target.
    pub reach: f64,
}

/// Prices of the curve, evenly spaced by ratio.
const PRICES: usize = 25;
/// The curve goes from the asked price divided by this to the asked price times this, then on either way while that pays.
const PRICE_SPAN: f64 = 2.0;
/// Times the curve may be stretched.
const STRETCHES: usize = 3;
/// Seasons simulated for each price of the curve at the most.
const CURVE_TRIALS: u64 = 4_000;
/// Steps of the golden section: each takes off 38 %, so the price is known to a few parts in a thousand.
const GOLDEN_STEPS: usize = 12;
/// Of the best price's surplus, what a price must leave to be about as good: nobody knows the number of buyers closer than that.
pub const NEARLY: f64 = 0.95;
/// Halvings of the way between two prices of the curve, a few hundredths of either: to less than a thousandth.
const HALVINGS: usize = 6;
/// Times the lowest price of the curve is halved where it pays: to a millionth.
const TIMES_HALVED: u32 = 20;

/// Answers for a scenario with a season.
///
/// # Errors
/// A sentence, where the scenario has no `[season]`.
pub fn run(scenario: &Scenario, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Result<SeasonAnswer, String> {
    let season = scenario.season.as_ref().ok_or_else(|| lacking(scenario))?;
    Ok(settings.on_threads(|| answer(scenario, season, settings, progress)))
}

/// What to do where the scenario has no `[season]`, a clause.
#[must_use]
pub fn lacking(scenario: &Scenario) -> &'static str {
    // The file says one of the two.
    if scenario.steady.is_some() {
        "this scenario sells all year, as its [steady] says: ask `steady`, or write a [season] in its place"
    } else {
        "there is no [season] in this scenario: add for example `[season]` and under it `buyers = \"6 / 14 / 30\"` and \
         `clearance = 30`"
    }
}

fn answer(scenario: &Scenario, season: &Season, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> SeasonAnswer {
    let plan = Plan::new(scenario);
    let engine = Engine::new(&plan, settings.seed);
    // With other prices to look at, the sizes at the asked price are the smaller part of the work.
    let part = if season.elasticity > 0.0 { 0.4 } else { 1.0 };
    let columns = engine.answer_sizes(settings.trials, &|done| progress(done * part), |simulated| {
        Columns::new(&plan, simulated)
    });
    let best = best_of(&surpluses(&columns));
    let places = [0.1, 0.9].map(|q| QuantileRank::new(settings.trials as usize, q));
    let sizes: Vec<SeasonSize> = columns
        .iter()
        .map(|column| column.answer(&columns[best], places))
        .collect();
    let by_rate = (0..sizes.len())
        .max_by(|a, b| {
            let rate = |k: usize| sizes[k].rate.mean;
            rate(*a).total_cmp(&rate(*b)).then(b.cmp(a))
        })
        .unwrap_or(best);
    // Sums of the same amounts in another order may differ by rounding.
    let level = 1e-12 * sizes[best].surplus.mean.abs().max(1.0);
    let ties = sizes
        .iter()
        .filter(|s| s.size != sizes[best].size && s.against_best.mean + Z975 * s.against_best.se >= -level)
        .map(|s| s.size)
        .collect();
    let prices = (season.elasticity > 0.0).then(|| {
        price_response(scenario, season, &plan, settings, sizes[best].size, &|done| {
            progress(part + (1.0 - part) * done);
        })
    });
    SeasonAnswer {
        title: scenario.title.clone(),
        currency: scenario.currency.clone(),
        price: scenario.sale.price,
        target: scenario.target_per_hour,
        confidence: scenario.confidence,
        trials: settings.trials,
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        buyers: buyers(season, season.at_price(scenario.sale.price)),
        stay_sold: counts::stay_sold(scenario),
        carried: matches!(season.leftover, Unsold::Carry { .. }),
        leftover_worth: plan.clearance(sizes[best].size),
        best_by_surplus: sizes[best].size,
        best_by_rate: sizes[by_rate].size,
        ties,
        leftovers_cost_nothing: plan.clearance(sizes[best].size) >= worth::last_piece_value(scenario, sizes[best].size)
            && !newsvendor::rounds_cost(scenario),
        fractile: newsvendor::fractile(scenario, season, sizes[best].size),
        sizes,
        prices,
    }
}

/// The place of the largest mean surplus; of those that are level but for rounding, the first.
fn best_of(surplus: &[f64]) -> usize {
    let mut best = 0;
    for (k, now) in surplus.iter().enumerate() {
        let before = surplus[best];
        if *now > before + 1e-12 * before.abs().max(1.0) {
            best = k;
        }
    }
    best
}

/// The size that [`run`] advises with its usual trials, or with fewer in a quick look; `None` without a season, and where every size makes a loss.
pub(super) fn advised(scenario: &Scenario, settings: &Settings) -> Option<u32> {
    scenario.season.as_ref()?;
    let plan = Plan::new(scenario);
    let engine = Engine::new(&plan, settings.seed);
    let surplus = settings.on_threads(|| {
        engine.answer_sizes(TRIALS.min(10 * settings.trials), &|_| (), |simulated| {
            Columns::new(&plan, simulated).surplus_mean.mean
        })
    });
    let best = best_of(&surplus);
    (surplus[best] >= 0.0).then(|| scenario.batch.sizes[best])
}

/// The mean surplus of each size.
fn surpluses(columns: &[Columns]) -> Vec<f64> {
    columns.iter().map(|column| column.surplus_mean.mean).collect()
}

/// One size's simulated seasons.
struct Columns {
    size: u32,
    trials: u64,
    surplus: Vec<f64>,
    surplus_mean: Mean,
    rate: Mean,
    hours: f64,
    good: Mean,
    sold: Mean,
    leftover: f64,
    worn: Option<f64>,
    sold_out: u64,
    reached: u64,
}

impl Columns {
    fn new(plan: &Plan, simulated: SizeTrials) -> Self {
        let SizeTrials {
            size,
            hours,
            profit,
            floor,
            sums,
            ..
        } = simulated;
        let trials = hours.len() as u64;
        let target = plan.terms.target;
        let surplus: Vec<f64> = profit.iter().zip(&hours).map(|(p, h)| p - target * h).collect();
        Self {
            size,
            trials,
            surplus_mean: stats::mean(&surplus),
            surplus,
            rate: stats::ratio(&profit, &hours),
            hours: stats::mean(&hours).mean,
            good: stats::mean_of_sums(sums.good, sums.good_squared, trials),
            sold: stats::mean_of_sums(sums.sold, sums.sold_squared, trials),
            leftover: (sums.good - sums.sold - sums.worn) / trials as f64,
            worn: plan.wears().then(|| sums.worn / trials as f64),
            sold_out: sums.sold_out as u64,
            reached: stats::reached(&floor, plan.terms.price),
        }
    }

    fn answer(&self, best: &Self, places: [QuantileRank; 2]) -> SeasonSize {
        let differences: Vec<f64> = self.surplus.iter().zip(&best.surplus).map(|(a, b)| a - b).collect();
        let mut sorted = self.surplus.clone();
        stats::put_in_order(&mut sorted, &places);
        let [surplus_p10, surplus_p90] = places.map(|place| stats::quantile(&sorted, place));
        SeasonSize {
            size: self.size,
            good: self.good,
            sold: self.sold,
            leftover: self.leftover,
            worn: self.worn,
            sold_out: wilson(self.sold_out, self.trials),
            surplus: self.surplus_mean,
            surplus_p10,
            surplus_p90,
            against_best: stats::mean(&differences),
            hours: self.hours,
            rate: self.rate,
            reach: wilson(self.reached, self.trials),
        }
    }

    /// Share of seasons that reach the target.
    fn reach(&self) -> f64 {
        self.reached as f64 / self.trials as f64
    }

    fn point(&self, price: f64, buyers: f64) -> PricePoint {
        PricePoint {
            price,
            size: self.size,
            buyers,
            surplus: self.surplus_mean,
            rate: self.rate.mean,
            leftover: self.leftover,
            reach: self.reach(),
        }
    }
}

/// Buyers `times` those of the file.
fn buyers(season: &Season, times: f64) -> BuyersAnswer {
    let told = match &season.buyers {
        Buyers::Range(spread) => BuyersAnswer {
            mean: demand::mean_buyers(season),
            p10: spread.quantile(0.1),
            p90: spread.quantile(0.9),
        },
        Buyers::Seen(seen) => {
            let mut sorted = seen.clone();
            sorted.sort_unstable_by(f64::total_cmp);
            let at = |q| stats::quantile(&sorted, QuantileRank::new(sorted.len(), q));
            BuyersAnswer {
                mean: demand::mean_buyers(season),
                p10: at(0.1),
                p90: at(0.9),
            }
        }
    };
    BuyersAnswer {
        mean: told.mean * times,
        p10: told.p10 * times,
        p90: told.p90 * times,
    }
}

/// The plan of one batch size.
fn single(scenario: &Scenario, size: u32) -> Plan {
    let mut alone = scenario.clone();
    alone.batch.sizes = vec![size];
    Plan::new(&alone)
}

/// The lowest price at which a batch pays, with the buyers there are at that price.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PayingPrice {
    /// The price; `None`: none of those looked at does it. 0 where the lowest that was tried, a millionth of the asked one and less, still does.
    pub price: Option<f64>,
    /// The highest price up to which each that was looked at pays from there on, as fewer buy at a dearer one; `None` where all do, or none.
    pub up_to: Option<f64>,
    /// Prices were looked at from here
    pub from: f64,
    /// to here.
    pub to: f64,
}

/// [`PayingPrice`] for batches of `size`: on a curve from a quarter to four times the asked price, below it where its lowest pays, by golden section
/// beside each of its peaks that comes to half the asked share or more (assumption) and does not pay, then by bisection.
#[must_use]
pub fn paying_price(
    scenario: &Scenario,
    season: &Season,
    size: u32,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> PayingPrice {
    let plan = single(scenario, size);
    let reach = |price: f64| {
        let plan = plan.at_price(price, season.elasticity);
        let engine = Engine::new(&plan, settings.seed);
        let reach = engine.answer_sizes(settings.trials, &|_| (), |simulated| {
            Columns::new(&plan, simulated).reach()
        });
        reach.first().copied().unwrap_or(0.0)
    };
    let steps = 2 * (PRICES - 1);
    let at = |k: usize| {
        let ratio = libm::pow(PRICE_SPAN, 4.0 / steps as f64);
        scenario.sale.price / (PRICE_SPAN * PRICE_SPAN) * libm::pow(ratio, k as f64)
    };
    let edge = |fails, pays| last_that_pays(fails, pays, scenario.confidence, &reach);
    // The lowest price that pays, and the highest of those above it that all do.
    let (mut found, mut up_to) = (None, None);
    // The chances of the two prices before: where the one between is a peak that is too low, a price beside it may yet pay. Whole pieces are
    // bought, so that there are as many peaks as there are numbers of buyers.
    let mut before = [0.0_f64; 2];
    for k in 0..=steps {
        progress(k as f64 / (steps + 1) as f64);
        let chance = reach(at(k));
        let peak = before[1] > before[0].max(0.5 * scenario.confidence) && before[1] >= chance && k > 1;
        if found.is_none()
            && peak
            && let Some(pays) = pays_between([at(k - 2), at(k)], scenario.confidence, &reach)
        {
            (found, up_to) = (Some(edge(at(k - 2), pays)), Some(edge(at(k), pays)));
            break;
        }
        before = [before[1], chance];
        match (found, chance >= scenario.confidence) {
            (None, true) if k == 0 => {
                let bracket = bracket_below(at(0), &|price| reach(price) >= scenario.confidence);
                found = Some(bracket.map_or(0.0, |(fails, pays)| edge(fails, pays)));
            }
            (None, true) => found = Some(edge(at(k - 1), at(k))),
            (Some(_), false) => {
                up_to = Some(edge(at(k), at(k - 1)));
                break;
            }
            _ => {}
        }
    }
    PayingPrice {
        price: found,
        up_to,
        from: found.unwrap_or(at(0)).min(at(0)),
        to: at(steps),
    }
}

/// A price below one that pays that does not, and one not far above it that does; `None` where a millionth of it still pays.
fn bracket_below(pays: f64, is_enough: &impl Fn(f64) -> bool) -> Option<(f64, f64)> {
    let mut fails = (1..=TIMES_HALVED)
        .map(|k| pays * libm::pow(0.5, f64::from(k)))
        .find(|price| !is_enough(*price))?;
    let mut pays = 2.0 * fails;
    for _ in 0..4 {
        let between = libm::sqrt(fails * pays);
        *(if is_enough(between) { &mut pays } else { &mut fails }) = between;
    }
    Some((fails, pays))
}

/// What each of some prices around the asked one leaves; further ones while the last of them leaves most.
fn price_curve(asked: f64, look: &dyn Fn(f64) -> PricePoint, progress: &(dyn Fn(f64) + Sync)) -> Vec<PricePoint> {
    let mut curve: Vec<PricePoint> = Vec::new();
    let ratio = libm::pow(PRICE_SPAN * PRICE_SPAN, 1.0 / (PRICES - 1) as f64);
    for k in 0..PRICES {
        curve.push(look(asked / PRICE_SPAN * libm::pow(ratio, k as f64)));
        progress(0.6 * (k + 1) as f64 / PRICES as f64);
    }
    for _ in 0..STRETCHES {
        let (first, last) = (curve[0].price, curve[curve.len() - 1].price);
        match top(&curve) {
            0 => {
                let below: Vec<PricePoint> = (1..=6)
                    .rev()
                    .map(|k| look(first * libm::pow(ratio, -f64::from(k))))
                    .collect();
                curve.splice(0..0, below);
            }
            peak if peak + 1 == curve.len() => {
                curve.extend((1..=6).map(|k| look(last * libm::pow(ratio, f64::from(k)))));
            }
            _ => break,
        }
    }
    curve
}

fn price_response(
    scenario: &Scenario,
    season: &Season,
    plan: &Plan,
    settings: &Settings,
    size: u32,
    progress: &(dyn Fn(f64) + Sync),
) -> PriceResponse {
    let asked = scenario.sale.price;
    let elasticity = season.elasticity;
    let mean_buyers = demand::mean_buyers(season);
    let buyers_at = |price: f64| mean_buyers * season.at_price(price);
    let curve_trials = settings.trials.min(CURVE_TRIALS);
    let at_price = |plan: &Plan, price: f64, trials: u64| {
        let plan = plan.at_price(price, elasticity);
        let engine = Engine::new(&plan, settings.seed);
        engine.answer_sizes(trials, &|_| (), |simulated| Columns::new(&plan, simulated))
    };
    let look = |price: f64| {
        let columns = at_price(plan, price, curve_trials);
        columns[best_of(&surpluses(&columns))].point(price, buyers_at(price))
    };
    let curve = price_curve(asked, &look, progress);
    // Where demand falls no faster than the price rises and a piece costs anything, dearer always brings more; a peak on the
    // curve is then only the last whole piece.
    let dearer_is_better = elasticity <= 1.0 && newsvendor::cost_before_price(scenario) > 0.0;
    // At an end of what was looked at a search would only find that end.
    let bracket = |curve: &[PricePoint]| {
        let peak = top(curve);
        let inside = peak > 0 && peak + 1 < curve.len() && !dearer_is_better;
        inside.then(|| (curve[peak - 1].price, curve[peak], curve[peak + 1].price))
    };
    // Batch and price together: each price with its best batch. Price by price at one batch would stop where they are
    // both just too small or too large for each other.
    let found = bracket(&curve).map(|(low, seen, high)| golden(low, seen, high, look));
    let nearly_best = found
        .filter(|found| found.surplus.mean > 0.0)
        .map(|found| nearly(&curve, found, look));
    let best = found.map(|found| {
        at_price(&single(scenario, found.size), found.price, settings.trials)[0].point(found.price, found.buyers)
    });
    progress(0.85);
    let alone = single(scenario, size);
    let at_size: Vec<PricePoint> = curve
        .iter()
        .map(|point| at_price(&alone, point.price, curve_trials)[0].point(point.price, point.buyers))
        .collect();
    let best_at_size = bracket(&at_size).map(|(low, seen, high)| {
        let point = |price: f64| at_price(&alone, price, curve_trials)[0].point(price, buyers_at(price));
        let found = golden(low, seen, high, point);
        at_price(&alone, found.price, settings.trials)[0].point(found.price, found.buyers)
    });
    let floor = lowest_paying(&at_size, scenario.confidence, &|price| {
        at_price(&alone, price, settings.trials)[0].point(price, 0.0).reach
    });
    progress(1.0);
    PriceResponse {
        elasticity,
        best,
        nearly_best,
        best_at_size,
        floor_at_end: floor
            .zip(curve.first())
            .is_some_and(|(floor, lowest)| floor <= lowest.price * (1.0 + 1e-9)),
        floor,
        curve,
        markup_rule: newsvendor::markup_rule(scenario, elasticity),
        curve_trials,
    }
}

/// Index of the largest surplus; of equals, the cheapest.
fn top(curve: &[PricePoint]) -> usize {
    let mut best = 0;
    for (k, point) in curve.iter().enumerate() {
        if point.surplus.mean > curve[best].surplus.mean {
            best = k;
        }
    }
    best
}

/// Golden-section search for the price with the largest surplus: the best of all prices it looked at and of `seen`.
///
/// Whole pieces make the surplus uneven in the price, so that the last price looked at need not be the best one.
fn golden(mut low: f64, seen: PricePoint, mut high: f64, point: impl Fn(f64) -> PricePoint) -> PricePoint {
    let share = (libm::sqrt(5.0) - 1.0) / 2.0;
    let mut best = seen;
    let mut look = |price: f64| {
        let found = point(price);
        if found.surplus.mean > best.surplus.mean {
            best = found;
        }
        found
    };
    let mut left = look(high - share * (high - low));
    let mut right = look(low + share * (high - low));
    for _ in 0..GOLDEN_STEPS {
        if left.surplus.mean >= right.surplus.mean {
            high = right.price;
            right = left;
            left = look(high - share * (high - low));
        } else {
            low = left.price;
            left = right;
            right = look(low + share * (high - low));
        }
    }
    best
}

/// The ends of the prices around the best one that leave nearly as much: outwards along the curve to the first price that does not,
/// and from there back by halves.
fn nearly(curve: &[PricePoint], best: PricePoint, point: impl Fn(f64) -> PricePoint) -> [f64; 2] {
    let enough = |point: &PricePoint| point.surplus.mean >= NEARLY * best.surplus.mean;
    let end = |outwards: &mut dyn Iterator<Item = &PricePoint>| {
        let mut good = best.price;
        for next in outwards {
            if enough(next) {
                good = next.price;
                continue;
            }
            let mut bad = next.price;
            for _ in 0..HALVINGS {
                let middle = 0.5 * (good + bad);
                if enough(&point(middle)) {
                    good = middle;
                } else {
                    bad = middle;
                }
            }
            break;
        }
        good
    };
    let (cheaper, dearer) = curve.split_at(curve.partition_point(|p| p.price < best.price));
    [end(&mut cheaper.iter().rev()), end(&mut dearer.iter())]
}

/// The lowest price at which the target is reached surely enough: the first crossing on the curve, then bisection.
fn lowest_paying(curve: &[PricePoint], confidence: f64, reach: &dyn Fn(f64) -> f64) -> Option<f64> {
    let first = curve.iter().position(|point| reach(point.price) >= confidence)?;
    let high = curve[first].price;
    let Some(before) = first.checked_sub(1) else {
        return Some(high);
    };
    Some(last_that_pays(curve[before].price, high, confidence, reach))
}

/// The price furthest from `pays`, which reaches the target surely enough, on the way to `fails`, which does not.
fn last_that_pays(mut fails: f64, mut pays: f64, confidence: f64, reach: &dyn Fn(f64) -> f64) -> f64 {
    while (pays - fails).abs() > 1e-4 * pays.max(fails) {
        let middle = 0.5 * (fails + pays);
        if reach(middle) >= confidence {
            pays = middle;
        } else {
            fails = middle;
        }
    }
    pays
}

/// A price between two that pays surely enough, where the chance rises to one peak there and falls again: by golden section (Kiefer 1953,
/// Sequential minimax search for a maximum, Proceedings of the American Mathematical Society 4(3), 502-506; from memory), which ends where the first
/// one does; `None` where none was met.
fn pays_between([mut low, mut high]: [f64; 2], confidence: f64, reach: &dyn Fn(f64) -> f64) -> Option<f64> {
    let share = (libm::sqrt(5.0) - 1.0) / 2.0;
    let look = |price: f64| (price, reach(price));
    let mut left = look(high - share * (high - low));
    let mut right = look(low + share * (high - low));
    for _ in 0..GOLDEN_STEPS {
        let (price, chance) = if left.1 >= right.1 { left } else { right };
        if chance >= confidence {
            return Some(price);
        }
        if left.1 >= right.1 {
            (high, right) = (right.0, left);
            left = look(high - share * (high - low));
        } else {
            (low, left) = (left.0, right);
            right = look(low + share * (high - low));
        }
    }
    None
}

#[cfg(test)]
mod tests;
