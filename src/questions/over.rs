//! The main question against any value of the scenario instead of batch size: over one value, or over two at once.
//!
//! The scenarios come read and checked, one for each value or pair of values; streams are named by seed and part, so that all of
//! them share their draws and neighbours differ by the value and not by luck.
//!
//! The crossing is found on price minus floor and not on the share of trials: the share saturates at 0 and 100 %.

use super::Settings;
use super::sweep::{self, Floor, Rate, SizeAnswer};
use crate::engine::{Engine, Plan};
use crate::parallel;
use crate::scenario::Scenario;
use crate::stats::Share;
use serde::Serialize;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Trials of each value at the least, unless fewer are asked for or a call has no time for more.
pub const LEAST_TRIALS: u64 = 2_000;

/// The whole answer; its serialised form is the documented JSON of `sweep --over`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Over {
    /// The scenario's title.
    pub title: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Pieces started.
    pub size: u32,
    /// Asked price per piece, as the file has it.
    pub price: f64,
    /// Money an hour should earn, as the file has it.
    pub target: f64,
    /// Share of trials that should reach it, as the file has it.
    pub confidence: f64,
    /// Trials of each value.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Program version.
    pub version: String,
    /// What was gone over, one or two.
    pub axes: Vec<OverAxis>,
    /// One a value, in order; with two axes the first runs through all its values for each value of the second.
    pub points: Vec<OverPoint>,
    /// The answer as the file has it; its `at` is empty where that is not among the points.
    pub own: OverPoint,
    /// Over one value in numbers: where the target begins or ceases to be reached, ascending.
    pub crossings: Vec<Crossing>,
    /// Whether another price has other buyers.
    #[serde(skip)]
    pub own_buyers: bool,
    /// Whether a piece that makes no full set has a price of its own, which another asked price takes along.
    #[serde(skip)]
    pub has_singles: bool,
}

/// One value that is gone over.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OverAxis {
    /// Key as `--set` takes it.
    pub key: String,
    /// Unit as written after the numbers; empty: none.
    pub unit: String,
    /// The values as written.
    pub texts: Vec<String>,
    /// The values as numbers in `unit`, ascending; `None` where they are no plain numbers of one unit.
    pub numbers: Option<Vec<f64>>,
}

/// The answer at one value, or one pair of values.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OverPoint {
    /// Index on each axis, from 0.
    pub at: Vec<usize>,
    /// Asked price per piece here.
    pub price: f64,
    /// Target here.
    pub target: f64,
    /// Confidence here.
    pub confidence: f64,
    /// Profit / hours, money per hour.
    pub rate: Rate,
    /// Share of trials that reach the target, with its Wilson 95 % interval.
    pub reach: Share,
    /// Whether that is at least the confidence.
    pub pays: bool,
    /// Price floor at the confidence.
    pub floor: Floor,
    /// Price at which `E[profit] = target x E[hours]`; `None` when no price does it.
    pub floor_long_run: Option<f64>,
}

/// Where the share of trials that reach the target crosses the confidence.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Crossing {
    /// The value: where, on a straight line between the two that were looked at, the asked price meets the price floor at the
    /// confidence (or, where there is no floor, the share of trials meets the confidence).
    pub value: f64,
    /// The last value before.
    pub from: f64,
    /// The first value after.
    pub to: f64,
    /// Lower end of the 95 % interval of `value`: values between the two ends are those at which the error of the price floor (or of the
    /// share) leaves open on which side they lie. `None`: it reaches beyond the values looked at.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Whether the target is reached after it, and not before.
    pub reached_after: bool,
}

/// Answers at one size for every scenario, in the order of [`Over::points`]. `base` is the scenario as the file has it.
/// `progress` is called now and then with the share of the work that is done.
#[must_use]
pub fn run(
    base: &Scenario,
    axes: Vec<OverAxis>,
    scenarios: &[Scenario],
    size: u32,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Over {
    let first = axes.first().map_or(1, |axis| axis.texts.len().max(1));
    let done = AtomicUsize::new(0);
    let settings = Settings {
        within: None,
        ..*settings
    };
    let points: Vec<OverPoint> = settings.on_threads(|| {
        parallel::map(scenarios.len(), |i| {
            let at = if axes.len() > 1 {
                vec![i % first, i / first]
            } else {
                vec![i]
            };
            let point = point(&scenarios[i], at, size, &settings);
            progress((done.fetch_add(1, Ordering::Relaxed) + 1) as f64 / scenarios.len() as f64);
            point
        })
    });
    let place = scenarios.iter().position(|scenario| scenario == base);
    let own = match place {
        Some(place) => points[place].clone(),
        None => settings.on_threads(|| point(base, Vec::new(), size, &settings)),
    };
    let crossings = match axes.as_slice() {
        [
            OverAxis {
                numbers: Some(numbers), ..
            },
        ] => crossings(numbers, &points),
        _ => Vec::new(),
    };
    Over {
        title: base.title.clone(),
        currency: base.currency.clone(),
        size,
        price: base.sale.price,
        target: base.target_per_hour,
        confidence: base.confidence,
        trials: settings.trials,
        seed: settings.seed,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        axes,
        points,
        own,
        crossings,
        own_buyers: base.elastic_season().is_some(),
        has_singles: base.has_singles(),
    }
}

fn point(scenario: &Scenario, at: Vec<usize>, size: u32, settings: &Settings) -> OverPoint {
    let mut alone = scenario.clone();
    alone.batch.sizes = vec![size];
    let plan = Plan::new(&alone);
    let engine = Engine::new(&plan, settings.seed);
    let mut sweep = sweep::answer(&alone, &plan, engine, settings, &|_| ());
    let answer: SizeAnswer = sweep.sizes.remove(0);
    OverPoint {
        at,
        price: alone.sale.price,
        target: alone.target_per_hour,
        confidence: alone.confidence,
        rate: answer.rate,
        reach: answer.reach,
        pays: answer.pays(alone.confidence),
        floor: answer.floor_asked,
        floor_long_run: answer.floor_long_run,
    }
}

fn crossings(numbers: &[f64], points: &[OverPoint]) -> Vec<Crossing> {
    let all = (numbers, points);
    let pairs = points.windows(2).zip(numbers.windows(2));
    pairs
        .filter(|(points, _)| points[0].pays != points[1].pays)
        .map(|(points, numbers)| {
            // The asked price passes the price floor where the share of trials passes the confidence, and far more evenly: a
            // share has no way to go beyond none or all.
            let margin = |p: &OverPoint| p.floor.price.map(|floor| p.price - floor);
            let share = |p: &OverPoint| p.reach.share - p.confidence;
            let (before, after) = match (margin(&points[0]), margin(&points[1])) {
                (Some(a), Some(b)) if (a >= 0.0) != (b >= 0.0) => (a, b),
                _ => (share(&points[0]), share(&points[1])),
            };
            // One of the two is under 0 and the other is not.
            let part = (before / (before - after)).clamp(0.0, 1.0);
            let value = numbers[0] + part * (numbers[1] - numbers[0]);
            let [low, high] = interval(all, value, points[1].pays);
            Crossing {
                value,
                from: numbers[0],
                to: numbers[1],
                low,
                high,
                reached_after: points[1].pays,
            }
        })
        .collect()
}

/// The 95 % interval of a crossing (as Fieller's: the values that a test at each of them does not refuse; Fieller 1954, "Some problems in
/// interval estimation", JRSS B 16(2), 175-185): outwards from it, on straight lines between the values looked at, until the interval of
/// what is left of the price above its floor no longer holds 0. Values share their draws, so that all err the same way and no value is
/// one of many tries.
fn interval((numbers, points): (&[f64], &[OverPoint]), value: f64, reached_after: bool) -> [Option<f64>; 2] {
    // What is surely short of the target, and what surely reaches it, is beyond 0 at the end that is nearer to 0.
    let margins = |sure: bool| -> Option<Vec<f64>> {
        let of = |p: &OverPoint| Some(p.price - if sure { p.floor.high? } else { p.floor.low? });
        points.iter().map(of).collect()
    };
    let shares = |sure: bool| -> Vec<f64> {
        let of = |p: &OverPoint| (if sure { p.reach.low } else { p.reach.high }) - p.confidence;
        points.iter().map(of).collect()
    };
    let ends = |sure: bool| {
        margins(true)
            .and(margins(false))
            .and(margins(sure))
            .unwrap_or_else(|| shares(sure))
    };
    let zeros = |left: &[f64]| -> Vec<f64> {
        let pairs = left.windows(2).zip(numbers.windows(2));
        pairs
            .filter(|(left, _)| (left[0] >= 0.0) != (left[1] >= 0.0) && (left[1] >= 0.0) == reached_after)
            .map(|(left, at)| at[0] + left[0] / (left[0] - left[1]) * (at[1] - at[0]))
            .collect()
    };
    // Surely reached begins after the crossing, and is surely over before it where the target ceases to be reached.
    let (sure, open) = (zeros(&ends(true)), zeros(&ends(false)));
    let below = |found: &[f64]| found.iter().copied().filter(|at| *at <= value).reduce(f64::max);
    let above = |found: &[f64]| found.iter().copied().filter(|at| *at >= value).reduce(f64::min);
    if reached_after {
        [below(&open), above(&sure)]
    } else {
        [below(&sure), above(&open)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Spread;
    use crate::testing::{scenario, step, tri};

    fn axis(numbers: &[f64]) -> OverAxis {
        OverAxis {
            key: "sale.price".to_owned(),
            unit: String::new(),
            texts: numbers.iter().map(f64::to_string).collect(),
            numbers: Some(numbers.to_vec()),
        }
    }

    fn at_prices(prices: &[f64], each: Spread) -> Over {
        let base = scenario(30.0, 20.0, &[1], vec![crate::scenario::Step { each, ..step("carve") }]);
        let scenarios: Vec<Scenario> = prices
            .iter()
            .map(|price| {
                let mut other = base.clone();
                other.sale.price = *price;
                other
            })
            .collect();
        let settings = Settings {
            trials: 20_000,
            ..Settings::default()
        };
        run(&base, vec![axis(prices)], &scenarios, 3, &settings, &|_| ())
    }

    /// An hour a piece and 20 an hour: a price of 20 reaches it, 19.99 does not.
    #[test]
    fn a_certain_price_pays_from_its_floor_on() {
        let over = at_prices(&[19.0, 19.99, 20.0, 25.0], Spread::Certain(60.0));
        let pays: Vec<bool> = over.points.iter().map(|p| p.pays).collect();
        assert_eq!(pays, [false, false, true, true]);
        let [crossing] = over.crossings.as_slice() else {
            panic!("{:?}", over.crossings)
        };
        assert_eq!(
            (crossing.from, crossing.to, crossing.reached_after),
            (19.99, 20.0, true)
        );
        assert!((crossing.value - 20.0).abs() < 1e-9);
        for (point, price) in over.points.iter().zip([19.0, 19.99, 20.0, 25.0]) {
            assert!((point.rate.long_run - price).abs() < 1e-9);
            assert!((point.floor.price.unwrap() - 20.0).abs() < 1e-9);
        }
    }

    /// The crossing over the price is the price floor of any of its points: what pays is one thing.
    #[test]
    fn crossing_and_floor_agree() {
        let prices: Vec<f64> = (0..20).map(|k| 18.0 + 0.5 * f64::from(k)).collect();
        let over = at_prices(&prices, tri(40.0, 60.0, 110.0));
        let [crossing] = over.crossings.as_slice() else {
            panic!("{:?}", over.crossings)
        };
        let floor = over.points[0].floor.price.unwrap();
        assert!((crossing.from..=crossing.to).contains(&floor), "{crossing:?} {floor}");
        assert!((crossing.value - floor).abs() < 1e-9, "{crossing:?} {floor}");
        // So is its interval, at every price the same.
        let ends = [over.points[0].floor.low.unwrap(), over.points[0].floor.high.unwrap()];
        for (found, due) in [crossing.low, crossing.high].iter().zip(ends) {
            assert!((found.unwrap() - due).abs() < 1e-9, "{crossing:?} {due}");
        }
    }

    /// Left of the price above its floor: -4, -1, 2, 5 at 10, 20, 30, 40, and a floor known to 2 either way, so that 20 is open still:
    /// the interval goes on past the values beside the crossing.
    #[test]
    fn an_interval_goes_past_the_values_beside_it() {
        let mut over = at_prices(&[10.0, 20.0, 30.0, 40.0], tri(40.0, 60.0, 110.0));
        for (point, left) in over.points.iter_mut().zip([-4.0, -1.0, 2.0, 5.0]) {
            let floor = point.price - left;
            point.floor = Floor {
                price: Some(floor),
                low: Some(floor - 2.0),
                high: Some(floor + 2.0),
                ..point.floor
            };
            point.pays = left >= 0.0;
        }
        let [crossing] = crossings(&[10.0, 20.0, 30.0, 40.0], &over.points)[..] else {
            panic!()
        };
        // -2, 1 cross 0 at 16.67, and 0 at 30 is reached at 30; the crossing itself is at 23.33.
        assert!((crossing.value - 70.0 / 3.0).abs() < 1e-9, "{crossing:?}");
        assert!((crossing.low.unwrap() - 50.0 / 3.0).abs() < 1e-9, "{crossing:?}");
        assert!((crossing.high.unwrap() - 30.0).abs() < 1e-9, "{crossing:?}");
        // A floor known to 20 either way leaves all open.
        for point in &mut over.points {
            point.floor.low = Some(-100.0);
            point.floor.high = Some(200.0);
        }
        let [crossing] = crossings(&[10.0, 20.0, 30.0, 40.0], &over.points)[..] else {
            panic!()
        };
        assert_eq!((crossing.low, crossing.high), (None, None));
        // Where no price pays, the share goes from 60 to 95 % of batches, where 80 are asked for: it passes at 25, and a tenth more or less
        // of them at 16.67 and 35.
        for (point, share) in over.points.iter_mut().zip([0.6, 0.75, 0.85, 0.95]) {
            point.floor = Floor {
                price: None,
                low: None,
                high: None,
                ..point.floor
            };
            point.reach = Share {
                share,
                low: share - 0.1,
                high: share + 0.1,
            };
        }
        let [crossing] = crossings(&[10.0, 20.0, 30.0, 40.0], &over.points)[..] else {
            panic!()
        };
        assert!((crossing.value - 25.0).abs() < 1e-9, "{crossing:?}");
        assert!((crossing.low.unwrap() - 50.0 / 3.0).abs() < 1e-9, "{crossing:?}");
        assert!((crossing.high.unwrap() - 35.0).abs() < 1e-9, "{crossing:?}");
    }
}
