//! Sums and order statistics of whole columns, with the processor's vectors.
//!
//! Sums run over eight interleaved partial sums, as [`super::stats::sum_of`] does, and give its bits. Order statistics are
//! selected, not sorted: one pass counts the values in equal buckets between the least and the greatest, one picks out the
//! buckets that hold a wanted rank, and only those are sorted. Which bucket a value falls in rises with the value, so the
//! picks are exact.

use super::stats::Place;
use crate::engine::path::dispatch;
use crate::engine::{LANES, Lanes, MoneyLine, Path};
use fearless_simd::{Select, Simd, SimdBase, SimdFrom, f64x8};

/// Buckets that a column is thrown into; the last takes what is infinite.
const BUCKETS: usize = 2048;
/// Below so many values all are sorted.
const FEW: usize = 1024;

/// Ranks (from 0) among n values, ascending, each once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ranks(Vec<usize>);

impl Ranks {
    /// The ranks that reading `places` takes among `n` values: with their intervals, or the quantiles alone.
    #[must_use]
    pub fn of(places: &[Place], intervals: bool, n: usize) -> Self {
        let last = n.saturating_sub(1);
        let mut ranks = Vec::with_capacity(4 * places.len());
        for place in places {
            ranks.push(place.below);
            if place.fraction != 0.0 {
                ranks.push((place.below + 1).min(last));
            }
            if intervals {
                ranks.extend([place.low, place.high]);
            }
        }
        Self::new(ranks)
    }

    /// These ranks.
    #[must_use]
    pub fn new(mut ranks: Vec<usize>) -> Self {
        ranks.sort_unstable();
        ranks.dedup();
        Self(ranks)
    }

    /// These and others.
    #[must_use]
    pub fn and(&self, other: &Self) -> Self {
        Self::new(self.0.iter().chain(&other.0).copied().collect())
    }

    /// The ranks of the same values counted from the greatest.
    #[must_use]
    pub fn mirrored(&self, n: usize) -> Self {
        Self(self.0.iter().rev().map(|rank| n - 1 - rank).collect())
    }
}

/// Order statistics at some ranks.
#[derive(Debug, Clone)]
pub struct Settled {
    ranks: Vec<usize>,
    values: Vec<f64>,
}

impl Settled {
    /// The value with this rank, which must be one of those asked for.
    #[must_use]
    pub fn at(&self, rank: usize) -> f64 {
        self.values[self.ranks.partition_point(|r| *r < rank)]
    }

    /// The quantile at `place`. Infinite where its neighbours are.
    #[must_use]
    pub fn quantile(&self, place: Place) -> f64 {
        let below = self.at(place.below);
        if place.fraction == 0.0 {
            return below;
        }
        let above = self.values[(self.ranks.partition_point(|r| *r < place.below) + 1).min(self.values.len() - 1)];
        if below == above || above.is_infinite() {
            return above;
        }
        below + place.fraction * (above - below)
    }

    /// Puts them in their sorted places of a column.
    pub fn put(&self, values: &mut [f64]) {
        for (rank, value) in self.ranks.iter().zip(&self.values) {
            values[*rank] = *value;
        }
    }

    /// What a function that never falls makes of them.
    #[must_use]
    pub fn rising(&self, function: impl Fn(f64) -> f64) -> Self {
        Self {
            ranks: self.ranks.clone(),
            values: self.values.iter().map(|v| function(*v)).collect(),
        }
    }

    /// What a function that never rises makes of them, among `n` values in all.
    #[must_use]
    pub fn falling(&self, n: usize, function: impl Fn(f64) -> f64) -> Self {
        Self {
            ranks: self.ranks.iter().rev().map(|rank| n - 1 - rank).collect(),
            values: self.values.iter().rev().map(|v| function(*v)).collect(),
        }
    }
}

/// What selection uses again from column to column.
#[derive(Debug, Default)]
pub struct Scratch {
    ids: Vec<u16>,
    picks: Vec<f64>,
    /// A column to work one out in.
    pub column: Vec<f64>,
}

/// The values at `ranks` of a column (no NaN) whose least and greatest finite values are `ends`.
#[must_use]
pub fn select(path: Path, values: &[f64], ends: (f64, f64), ranks: &Ranks, scratch: &mut Scratch) -> Settled {
    let settled = |values: Vec<f64>| Settled {
        ranks: ranks.0.clone(),
        values,
    };
    let (least, most) = ends;
    let scale = (BUCKETS - 1) as f64 / (most - least);
    if values.len() <= FEW || !(scale.is_finite() && scale > 0.0) {
        if ranks.0.is_empty() {
            return settled(Vec::new());
        }
        // Few; or all alike, all infinite, too close or too far apart for buckets.
        scratch.picks.clear();
        scratch.picks.extend_from_slice(values);
        scratch.picks.sort_unstable_by(f64::total_cmp);
        return settled(ranks.0.iter().map(|rank| scratch.picks[*rank]).collect());
    }
    scratch.ids.resize(values.len(), 0);
    let ids = &mut scratch.ids[..];
    dispatch!(path, simd => bucket_ids(simd, values, least, scale, ids));
    let counts = count_ids(ids);

    // Where the values of each wanted bucket go among the picks, how many values lie before it, and how many in it.
    let mut slots = [0_u16; BUCKETS];
    let mut wanted: Vec<Wanted> = Vec::with_capacity(ranks.0.len());
    let (mut bucket, mut before, mut picked) = (0, 0, 0);
    for rank in &ranks.0 {
        while before + counts[bucket] as usize <= *rank {
            before += counts[bucket] as usize;
            bucket += 1;
        }
        if slots[bucket] == 0 {
            wanted.push(Wanted {
                next: picked,
                begin: picked,
                before,
            });
            // At most as many as there are buckets.
            slots[bucket] = wanted.len() as u16;
            picked += counts[bucket] as usize;
        }
    }
    scratch.picks.resize(picked, 0.0);
    let mut pick = |id: u16, value: f64| {
        let slot = slots[usize::from(id) % BUCKETS];
        if slot != 0 {
            let wanted = &mut wanted[usize::from(slot) - 1];
            scratch.picks[wanted.next] = value;
            wanted.next += 1;
        }
    };
    // Few values are picked: one question for eight.
    let ((id_chunks, id_rest), (chunks, rest)) = (ids.as_chunks::<8>(), values.as_chunks::<8>());
    for (ids, values) in id_chunks.iter().zip(chunks) {
        if ids.iter().fold(0, |any, id| any | slots[usize::from(*id) % BUCKETS]) != 0 {
            for (id, value) in ids.iter().zip(values) {
                pick(*id, *value);
            }
        }
    }
    for (id, value) in id_rest.iter().zip(rest) {
        pick(*id, *value);
    }
    for wanted in &wanted {
        scratch.picks[wanted.begin..wanted.next].sort_unstable_by(f64::total_cmp);
    }
    let mut found = Vec::with_capacity(ranks.0.len());
    let mut number = 0;
    for rank in &ranks.0 {
        while *rank >= wanted[number].before + (wanted[number].next - wanted[number].begin) {
            number += 1;
        }
        found.push(scratch.picks[wanted[number].begin + rank - wanted[number].before]);
    }
    settled(found)
}

/// A bucket that holds a wanted rank.
struct Wanted {
    /// Where its values begin among the picks.
    begin: usize,
    /// Where its next value goes.
    next: usize,
    /// Values in the buckets before it.
    before: usize,
}

/// The bucket of every value.
#[inline(never)]
fn bucket_ids<S: Simd>(simd: S, values: &[f64], least: f64, scale: f64, ids: &mut [u16]) {
    simd.vectorize(
        #[inline(always)]
        || {
            // Adding 2^52 leaves the nearest whole number in the low bits.
            const TWO_52: f64 = 4_503_599_627_370_496.0;
            const LAST: f64 = (BUCKETS - 1) as f64;
            for (id, value) in ids.iter_mut().zip(values) {
                let place = (value - least) * scale;
                let place = if place > 0.0 { place } else { 0.0 };
                let place = if place < LAST { place } else { LAST };
                *id = (place + TWO_52).to_bits() as u16;
            }
        },
    );
}

/// How many of each bucket there are.
fn count_ids(ids: &[u16]) -> [u32; BUCKETS] {
    // Two tables, as neighbours often fall into the same bucket and would wait for each other.
    let mut counts = [[0_u32; BUCKETS]; 2];
    let (chunks, rest) = ids.as_chunks::<8>();
    for chunk in chunks {
        for (k, id) in chunk.iter().enumerate() {
            counts[k % 2][usize::from(*id) % BUCKETS] += 1;
        }
    }
    for id in rest {
        counts[0][usize::from(*id) % BUCKETS] += 1;
    }
    let [mut all, more] = counts;
    for (count, more) in all.iter_mut().zip(more) {
        *count += more;
    }
    all
}

/// Sums and ends of hours, profit and rate of one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Totals {
    /// Sum of hours.
    pub hours: f64,
    /// Sum of profit.
    pub profit: f64,
    /// Sum of rates.
    pub rate: f64,
    /// Least and greatest hours.
    pub hours_ends: (f64, f64),
    /// Least and greatest profit.
    pub profit_ends: (f64, f64),
    /// Least and greatest rate.
    pub rate_ends: (f64, f64),
}

/// Sums of what is left of each run once means are taken off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Squares {
    /// Hours less their mean.
    pub hours: f64,
    /// Squared.
    pub hours_squared: f64,
    /// Profit less its mean.
    pub profit: f64,
    /// Squared.
    pub profit_squared: f64,
    /// (Profit less ratio x hours) squared.
    pub residual_squared: f64,
}

/// Profit by trial, or as it follows from hours.
pub trait Profit: Copy {
    /// Profit of the eight trials from `at` on, whose hours are given.
    fn lanes<S: Simd>(self, simd: S, at: usize, hours: f64x8<S>) -> f64x8<S>;
    /// Profit of one.
    fn one(self, at: usize, hours: f64) -> f64;
}

impl Profit for &[f64] {
    #[inline(always)]
    fn lanes<S: Simd>(self, simd: S, at: usize, _hours: f64x8<S>) -> f64x8<S> {
        f64x8::from_slice(simd, &self[at..at + LANES])
    }

    #[inline(always)]
    fn one(self, at: usize, _hours: f64) -> f64 {
        self[at]
    }
}

impl Profit for MoneyLine {
    #[inline(always)]
    fn lanes<S: Simd>(self, simd: S, _at: usize, hours: f64x8<S>) -> f64x8<S> {
        f64x8::splat(simd, self.gross) - hours * self.shop_per_hour
    }

    #[inline(always)]
    fn one(self, _at: usize, hours: f64) -> f64 {
        self.profit(hours)
    }
}

/// Money (or hours) for each hour. A run without any hours (all its time is per order, and nothing came out good) counts as 0.
#[must_use]
pub fn per_hour(amount: f64, hours: f64) -> f64 {
    if hours > 0.0 { amount / hours } else { 0.0 }
}

/// Eight running sums and, where they matter, ends.
#[derive(Clone, Copy)]
struct Running<S: Simd> {
    sum: f64x8<S>,
    least: f64x8<S>,
    most: f64x8<S>,
}

impl<S: Simd> Running<S> {
    #[inline(always)]
    fn none(simd: S) -> Self {
        Self {
            sum: f64x8::splat(simd, 0.0),
            least: f64x8::splat(simd, f64::INFINITY),
            most: f64x8::splat(simd, f64::NEG_INFINITY),
        }
    }

    #[inline(always)]
    fn take(&mut self, values: f64x8<S>) {
        self.sum += values;
        self.least = values.min(self.least);
        self.most = values.max(self.most);
    }

    /// The total with the values past the last full eight, and the ends.
    fn close(self, rest: impl Iterator<Item = f64>) -> (f64, (f64, f64)) {
        let mut sums: Lanes = self.sum.to_array();
        let mut least = self.least.to_array().into_iter().fold(f64::INFINITY, f64::min);
        let mut most = self.most.to_array().into_iter().fold(f64::NEG_INFINITY, f64::max);
        for (sum, value) in sums.iter_mut().zip(rest) {
            *sum += value;
            least = least.min(value);
            most = most.max(value);
        }
        (sums.iter().fold(0.0, |total, sum| total + sum), (least, most))
    }
}

/// First pass over a size: sums and ends; where `rates` is as long as the columns it takes the rates.
#[must_use]
pub fn totals(path: Path, hours: &[f64], profit: impl Profit, rates: &mut [f64]) -> Totals {
    dispatch!(path, simd => totals_on(simd, hours, profit, rates))
}

#[inline(never)]
fn totals_on<S: Simd, P: Profit>(simd: S, hours: &[f64], profit: P, rates: &mut [f64]) -> Totals {
    simd.vectorize(
        #[inline(always)]
        || {
            let zero = f64x8::splat(simd, 0.0);
            let mut sums = [Running::none(simd); 3];
            let (chunks, rest) = hours.as_chunks::<LANES>();
            for (number, chunk) in chunks.iter().enumerate() {
                let at = number * LANES;
                let hours = f64x8::simd_from(simd, *chunk);
                let profit = profit.lanes(simd, at, hours);
                let rate = hours.simd_gt(zero).select(profit / hours, zero);
                if let Some(slots) = rates.get_mut(at..at + LANES) {
                    rate.store_slice(slots);
                }
                sums[0].take(hours);
                sums[1].take(profit);
                sums[2].take(rate);
            }
            let begin = chunks.len() * LANES;
            let profits = || rest.iter().enumerate().map(|(k, h)| profit.one(begin + k, *h));
            let last_rates = || profits().zip(rest).map(|(p, h)| per_hour(p, *h));
            for (slot, rate) in rates.iter_mut().skip(begin).zip(last_rates()) {
                *slot = rate;
            }
            let (hours, hours_ends) = sums[0].close(rest.iter().copied());
            let (profit, profit_ends) = sums[1].close(profits());
            let (rate, rate_ends) = sums[2].close(last_rates());
            Totals {
                hours,
                profit,
                rate,
                hours_ends,
                profit_ends,
                rate_ends,
            }
        },
    )
}

/// Second pass over a size: what is left once the means and the ratio of means are taken off.
#[must_use]
pub fn squares(path: Path, hours: &[f64], profit: impl Profit, means: [f64; 2], ratio: f64) -> Squares {
    dispatch!(path, simd => squares_on(simd, hours, profit, means, ratio))
}

#[inline(never)]
fn squares_on<S: Simd, P: Profit>(simd: S, hours: &[f64], profit: P, means: [f64; 2], ratio: f64) -> Squares {
    simd.vectorize(
        #[inline(always)]
        || {
            let mut sums = [f64x8::splat(simd, 0.0); 5];
            let (chunks, rest) = hours.as_chunks::<LANES>();
            for (number, chunk) in chunks.iter().enumerate() {
                let hours = f64x8::simd_from(simd, *chunk);
                let profit = profit.lanes(simd, number * LANES, hours);
                let (h, p, r) = (hours - means[0], profit - means[1], profit - hours * ratio);
                sums[0] += h;
                sums[1] += h * h;
                sums[2] += p;
                sums[3] += p * p;
                sums[4] += r * r;
            }
            let mut sums: [Lanes; 5] = sums.map(|sum| sum.to_array());
            for (k, hours) in rest.iter().enumerate() {
                let profit = profit.one(chunks.len() * LANES + k, *hours);
                let (h, p, r) = (hours - means[0], profit - means[1], profit - ratio * hours);
                for (sum, term) in sums.iter_mut().zip([h, h * h, p, p * p, r * r]) {
                    sum[k] += term;
                }
            }
            let [hours, hours_squared, profit, profit_squared, residual_squared] =
                sums.map(|lanes| lanes.iter().fold(0.0, |total, sum| total + sum));
            Squares {
                hours,
                hours_squared,
                profit,
                profit_squared,
                residual_squared,
            }
        },
    )
}

/// Least and greatest finite value, and how many are at or under `bound`.
#[must_use]
pub fn ends_and_reached(path: Path, values: &[f64], bound: f64) -> ((f64, f64), u64) {
    dispatch!(path, simd => ends_and_reached_on(simd, values, bound))
}

#[inline(never)]
fn ends_and_reached_on<S: Simd>(simd: S, values: &[f64], bound: f64) -> ((f64, f64), u64) {
    simd.vectorize(
        #[inline(always)]
        || {
            let (infinite, none) = (f64x8::splat(simd, f64::INFINITY), f64x8::splat(simd, f64::NEG_INFINITY));
            let (one, zero) = (f64x8::splat(simd, 1.0), f64x8::splat(simd, 0.0));
            let (mut least, mut most, mut reached) = (infinite, none, zero);
            let (chunks, rest) = values.as_chunks::<LANES>();
            for chunk in chunks {
                let values = f64x8::simd_from(simd, *chunk);
                least = values.simd_gt(none).select(values, infinite).min(least);
                most = values.simd_lt(infinite).select(values, none).max(most);
                reached += values.simd_le(bound).select(one, zero);
            }
            let mut least = least.to_array().into_iter().fold(f64::INFINITY, f64::min);
            let mut most = most.to_array().into_iter().fold(f64::NEG_INFINITY, f64::max);
            let mut reached = reached.to_array().iter().sum::<f64>() as u64;
            for value in rest {
                if value.is_finite() {
                    least = least.min(*value);
                    most = most.max(*value);
                }
                reached += u64::from(*value <= bound);
            }
            ((least, most), reached)
        },
    )
}

/// How many values are at or under `bound`.
#[must_use]
pub fn at_most(path: Path, values: &[f64], bound: f64) -> u64 {
    dispatch!(path, simd => at_most_on(simd, values, bound))
}

#[inline(never)]
fn at_most_on<S: Simd>(simd: S, values: &[f64], bound: f64) -> u64 {
    simd.vectorize(
        #[inline(always)]
        || {
            let (one, zero) = (f64x8::splat(simd, 1.0), f64x8::splat(simd, 0.0));
            let (chunks, rest) = values.as_chunks::<LANES>();
            let mut count = zero;
            for chunk in chunks {
                count += f64x8::simd_from(simd, *chunk).simd_le(bound).select(one, zero);
            }
            count.to_array().iter().sum::<f64>() as u64 + rest.iter().filter(|v| **v <= bound).count() as u64
        },
    )
}

/// The greatest of the doubles from `low` to `high` (both at least 0) at which a condition that never comes back once it
/// fails still holds; `None` where it fails from the beginning.
#[must_use]
pub fn last_that(low: f64, high: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
    if !holds(low) {
        return None;
    }
    // The bits of doubles at or above 0 are ordered as they are.
    let (mut good, mut bad) = (low.to_bits(), high.to_bits() + 1);
    while bad - good > 1 {
        let middle = good + (bad - good) / 2;
        if holds(f64::from_bits(middle)) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    Some(f64::from_bits(good))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answers::stats;
    use crate::engine::shape::unit;
    use crate::engine::stream::nth;

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

    /// The bits of the plain sums, on every path, whether profit is a column or follows from hours.
    #[test]
    fn passes_are_the_plain_sums() {
        let line = MoneyLine {
            gross: 47.3,
            shop_per_hour: 3.2,
            ..MoneyLine::default()
        };
        for n in [1, 8, 13, 5_003] {
            let hours: Vec<f64> = uniform(8, n).map(|u| if u < 0.01 { 0.0 } else { 10.0 * u }).collect();
            let profit: Vec<f64> = hours.iter().map(|h| line.profit(*h)).collect();
            let rates: Vec<f64> = profit.iter().zip(&hours).map(|(p, h)| per_hour(*p, *h)).collect();
            let sum = |values: &[f64]| stats::sum_of(values, values, |v, _| v);
            let ends = |values: &[f64]| {
                let fold = |start: f64, pick: fn(f64, f64) -> f64| values.iter().copied().fold(start, pick);
                (fold(f64::INFINITY, f64::min), fold(f64::NEG_INFINITY, f64::max))
            };
            let expected = Totals {
                hours: sum(&hours),
                profit: sum(&profit),
                rate: sum(&rates),
                hours_ends: ends(&hours),
                profit_ends: ends(&profit),
                rate_ends: ends(&rates),
            };
            let means = [expected.hours / n as f64, expected.profit / n as f64];
            let ratio = means[1] / means[0];
            let left = |values: &[f64], mean: f64| {
                [
                    stats::sum_of(values, values, |v, _| v - mean),
                    stats::sum_of(values, values, |v, _| (v - mean) * (v - mean)),
                ]
            };
            let residual = |p: f64, h: f64| (p - ratio * h) * (p - ratio * h);
            let ([h, hh], [p, pp]) = (left(&hours, means[0]), left(&profit, means[1]));
            let rest = [h, hh, p, pp, stats::sum_of(&profit, &hours, residual)];
            for path in Path::available() {
                let mut found_rates = vec![f64::NAN; hours.len()];
                assert_eq!(totals(path, &hours, &profit[..], &mut found_rates), expected);
                assert_eq!(found_rates, rates);
                assert_eq!(totals(path, &hours, line, &mut []), expected);
                for found in [
                    squares(path, &hours, &profit[..], means, ratio),
                    squares(path, &hours, line, means, ratio),
                ] {
                    let found = [
                        found.hours,
                        found.hours_squared,
                        found.profit,
                        found.profit_squared,
                        found.residual_squared,
                    ];
                    assert_eq!(found, rest);
                }
                let under = hours.iter().filter(|h| **h <= 4.0).count() as u64;
                assert_eq!(at_most(path, &hours, 4.0), under);
                assert_eq!(ends_and_reached(path, &hours, 4.0), (expected.hours_ends, under));
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
}
