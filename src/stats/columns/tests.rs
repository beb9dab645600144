use super::*;
use crate::engine::shape::unit;
use crate::engine::stream::nth;
use crate::engine::{Engine, Plan, SizeTrials, Sums};
use crate::stats;
use crate::testing::pencil_trays;

fn uniform(seed: u64, n: u64) -> impl Iterator<Item = f64> {
    (0..n).map(move |k| unit(nth(seed, k)))
}

#[test]
fn settled_ranks_are_those_of_a_sort() {
    for n in [1, 7, 1_023, 1_025, 40_003] {
        let columns: [Vec<f64>; 7] = [
            uniform(1, n).collect(),
            // Heavy tail: nearly all values share a bucket.
            uniform(2, n).map(|u| 1.0 / (u * u)).collect(),
            // Ties, and infinite floors.
            uniform(3, n).map(|u| (u * 5.0).floor()).collect(),
            uniform(4, n)
                .map(|u| if u < 0.3 { f64::INFINITY } else { u - 10.0 })
                .collect(),
            uniform(5, n).map(|_| 7.25).collect(),
            uniform(6, n).map(|_| f64::INFINITY).collect(),
            // Further apart than a double's range.
            uniform(7, n).map(|u| (2.0 * u - 1.0) * 1.7e308).collect(),
        ];
        let n = n as usize;
        let ranks = [
            0,
            1,
            17,
            n / 10,
            n / 10 + 1,
            n / 2,
            n * 7 / 10,
            n * 9 / 10,
            n.saturating_sub(3),
            n - 1,
        ];
        let ranks = Ranks::new(ranks.into_iter().filter(|rank| *rank < n).collect());
        // One scratch for all: nothing of one column may show in another.
        let mut scratch = Scratch::default();
        for column in columns {
            let mut sorted = column.clone();
            sorted.sort_unstable_by(f64::total_cmp);
            for path in Path::available() {
                let (ends, _) = ends_and_reached(path, &column, 0.0);
                let settled = select(path, &column, ends, &ranks, &mut scratch);
                for rank in &ranks.0 {
                    assert_eq!(settled.at(*rank), sorted[*rank], "rank {rank} of {n}");
                }
            }
        }
    }
}

/// What the trials of a size are held against: the plain two-pass sums, on every path, whether profit is a column or follows
/// from hours.
#[test]
fn one_pass_finds_what_two_find() {
    let line = MoneyLine {
        gross: 47.3,
        shop_per_hour: 3.2,
        target: 20.0,
        per_price: 2.0,
        rest: -3.0,
        ..MoneyLine::default()
    };
    for n in [1, 8, 13, 5_003] {
        let hours: Vec<f64> = uniform(8, n).map(|u| if u < 0.01 { 0.0 } else { 10.0 * u }).collect();
        let profit: Vec<f64> = hours.iter().map(|h| line.profit(*h)).collect();
        let rates: Vec<f64> = profit.iter().zip(&hours).map(|(p, h)| per_hour(*p, *h)).collect();
        let floor: Vec<f64> = hours
            .iter()
            .map(|h| if *h > 9.5 { f64::INFINITY } else { line.floor(*h) })
            .collect();
        let trials = SizeTrials {
            size: 1,
            hours: hours.clone(),
            profit: profit.clone(),
            floor: floor.clone(),
            sums: Sums::default(),
            blocks: Vec::new(),
        };
        let ends = |values: &[f64]| {
            let finite = || values.iter().copied().filter(|v| v.is_finite());
            (
                finite().fold(f64::INFINITY, f64::min),
                finite().fold(f64::NEG_INFINITY, f64::max),
            )
        };
        let (hours_mean, hours_variance) = stats::mean_variance(&hours);
        let (profit_mean, profit_variance) = stats::mean_variance(&profit);
        let ratio = profit_mean / hours_mean;
        let residual = stats::sum_of(&profit, &hours, |p, h| (p - ratio * h) * (p - ratio * h));
        let price = 60.0;
        let mut first = None;
        for path in Path::available() {
            let mut columns = Gathered::default();
            let found = gather(path, &trials.columns(), price, &mut columns);
            // The same bits on every path.
            assert_eq!(*first.get_or_insert(found), found);
            assert_eq!(
                [&columns.hours, &columns.profit, &columns.rate, &columns.floor],
                [&hours, &profit, &rates, &floor]
            );
            // To the bit what plain sums without the first trial's values come to.
            let count = n as f64;
            let off = |a: &[f64], b: &[f64]| stats::sum_of(a, b, |x, y| (x - a[0]) * (y - b[0]));
            let left = |a: &[f64]| stats::sum_of(a, a, |x, _| x - a[0]);
            let about = |a: &[f64], b: &[f64]| off(a, b) - left(a) * left(b) / count;
            assert_eq!(found.hours, hours[0] + left(&hours) / count);
            assert_eq!(found.profit, profit[0] + left(&profit) / count);
            assert_eq!(found.hours_squared, about(&hours, &hours).max(0.0));
            assert_eq!(found.profit_squared, about(&profit, &profit).max(0.0));
            assert_eq!(found.product, about(&hours, &profit));
            assert_eq!(found.rate, stats::sum_of(&rates, &rates, |r, _| r) / count);
            // But for rounding (a few thousand sums of at most 100 each) what two passes come to.
            let close = |a: f64, b: f64| assert!((a - b).abs() <= 1e-9 * (1.0 + b.abs()), "{a} against {b}");
            close(found.hours, hours_mean);
            close(found.profit, profit_mean);
            close(found.hours_squared, hours_variance * (count - 1.0));
            close(found.profit_squared, profit_variance * (count - 1.0));
            close(found.residual_squared(found.profit / found.hours), residual);
            assert_eq!(found.hours_ends, ends(&hours));
            let money = MoneyEnds {
                profit: ends(&profit),
                rate: ends(&rates),
                floor: ends(&floor),
                reached: floor.iter().filter(|f| **f <= price).count() as u64,
            };
            assert_eq!(found.money, Some(money));
            let under = hours.iter().filter(|h| **h <= 4.0).count() as u64;
            assert_eq!(at_most(path, &hours, 4.0), under);
            assert_eq!(ends_and_reached(path, &floor, price), (money.floor, money.reached));
        }
    }
}

/// The same bits from where the engine holds its trials, with a short last group, whether or not profit follows from hours.
#[test]
fn held_trials_are_their_columns() {
    let shop = pencil_trays();
    let plan = Plan::new(&shop);
    for path in Path::available() {
        let engine = Engine::new(&plan, 3).on_path(path);
        for engine in [engine, engine.trial_by_trial()] {
            let found = engine.answer_columns(
                1_237,
                &|_| (),
                || (),
                |(), trials| {
                    let copy = SizeTrials::from(trials);
                    let (mut here, mut there) = (Gathered::default(), Gathered::default());
                    let mut moments = gather(path, &trials, 50.0, &mut here);
                    let due = gather(path, &copy.columns(), 50.0, &mut there);
                    assert_eq!(here.hours, there.hours);
                    if trials.line.is_none() {
                        assert_eq!((&here.rate, &here.floor), (&there.rate, &there.floor));
                    } else {
                        moments.money = due.money;
                    }
                    assert_eq!(moments, due);
                },
            );
            assert_eq!(found.len(), plan.sizes.len());
        }
    }
}

#[test]
fn the_last_that_holds_is_found_to_the_bit() {
    let below = f64::from_bits(1.5_f64.to_bits() - 1);
    assert_eq!(last_that(0.25, 9.0, |x| x < 1.5), Some(below));
    assert_eq!(last_that(0.25, 9.0, |x| x <= 9.0), Some(9.0));
    assert_eq!(last_that(0.25, 9.0, |x| x < 0.25), None);
    assert_eq!(last_that(0.25, 9.0, |x| x <= 0.25), Some(0.25));
}
