//! Sums and order statistics of whole columns, with the processor's vectors.
//!
//! Sums run over eight interleaved partial sums, as those of [`super`] do, and give their bits. Order statistics are
//! selected, not sorted: one pass counts the values in equal buckets between the least and the greatest, one picks out the
//! buckets that hold a wanted rank, and only those are sorted. Which bucket a value falls in rises with the value, so the
//! picks are exact.
//!
//! # Why selection goes by buckets
//!
//! Ten or so ranks of a column are wanted for every size. Sorting, or selecting rank by rank, took half of all instructions of a sweep.
//! Counting into 2,048 equal buckets and sorting only those that hold a wanted rank takes a small part of that and gives the same values.

use super::QuantileRank;
use crate::engine::path::{dispatch, greater, lesser};
use crate::engine::{LANES, Lanes, MoneyLine, Path, SizeColumns};
use fearless_simd::{Select, Simd, SimdBase, SimdFrom, f64x8};
use std::ops::Range;

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
    pub fn of(places: &[QuantileRank], intervals: bool, n: usize) -> Self {
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
    pub(crate) fn mirrored(&self, n: usize) -> Self {
        Self(self.0.iter().rev().map(|rank| n - 1 - rank).collect())
    }
}

/// Order statistics at some ranks.
#[derive(Debug, Clone)]
pub struct OrderStatistics {
    ranks: Vec<usize>,
    values: Vec<f64>,
}

impl OrderStatistics {
    /// The value with this rank, which must be one of those asked for.
    ///
    /// # Panics
    /// Where it is none of them.
    #[must_use]
    pub fn at(&self, rank: usize) -> f64 {
        let held = self.ranks.binary_search(&rank).expect("a rank that was asked for");
        self.values[held]
    }

    /// The quantile at `place`, whose ranks must be among those asked for ([`Ranks::of`]). Infinite where its neighbours are.
    ///
    /// # Panics
    /// Where one of them is not.
    #[must_use]
    pub fn quantile(&self, place: QuantileRank) -> f64 {
        let below = self.at(place.below);
        if place.fraction == 0.0 {
            return below;
        }
        let above = self.at(place.below + 1);
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
    pub(crate) fn falling(&self, n: usize, function: impl Fn(f64) -> f64) -> Self {
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
}

/// The values at `ranks` of a column (no NaN) whose least and greatest finite values are `ends`.
#[must_use]
pub fn select(path: Path, values: &[f64], ends: (f64, f64), ranks: &Ranks, scratch: &mut Scratch) -> OrderStatistics {
    let settled = |values: Vec<f64>| OrderStatistics {
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

/// What one pass over a size finds: means, and squares of what is left without them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Mean hours.
    pub hours: f64,
    /// Sum of squares of hours less their mean.
    pub hours_squared: f64,
    /// Mean profit.
    pub profit: f64,
    /// Sum of squares of profit less its mean.
    pub profit_squared: f64,
    /// Sum of products of both less their means.
    pub product: f64,
    /// Mean rate.
    pub rate: f64,
    /// Least and greatest hours.
    pub hours_ends: (f64, f64),
    /// What is known of the columns where money does not follow from hours.
    pub money: Option<MoneyEnds>,
}

/// Ends of the columns of one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoneyEnds {
    /// Least and greatest profit.
    pub profit: (f64, f64),
    /// Least and greatest rate.
    pub rate: (f64, f64),
    /// Least and greatest finite floor.
    pub floor: (f64, f64),
    /// Floors at or under the price.
    pub reached: u64,
}

impl Moments {
    /// Sum of squares of profit less `ratio` times hours, which has mean 0 where the ratio is that of the means.
    #[must_use]
    pub(crate) fn residual_squared(&self, ratio: f64) -> f64 {
        (self.profit_squared - 2.0 * ratio * self.product + ratio * ratio * self.hours_squared).max(0.0)
    }
}

/// Money (or hours) for each hour. A trial without any hours (all its time is per order, and nothing came out good) counts as 0.
#[must_use]
pub fn per_hour(amount: f64, hours: f64) -> f64 {
    if hours > 0.0 { amount / hours } else { 0.0 }
}

/// The trials of one size in columns of their own; hours alone where money follows from them.
#[derive(Debug, Default)]
pub struct Gathered {
    /// Hours.
    pub hours: Vec<f64>,
    /// Profit.
    pub profit: Vec<f64>,
    /// Money an hour.
    pub rate: Vec<f64>,
    /// Floors.
    pub floor: Vec<f64>,
}

/// One pass over a size: copies its trials into columns and takes what is wanted of all of them on the way. Floors are held
/// against `price`.
///
/// Sums run over eight partial sums, so that they have the same bits everywhere. Squares are taken of what is left without
/// the first trial's values, and what is left of the means is taken out afterwards (Chan, Golub & LeVeque 1983, "Algorithms for
/// computing the sample variance", The American Statistician 37(3), 242-247; from memory): values that are all alike have no variance,
/// to the bit.
#[must_use]
pub(crate) fn gather(path: Path, trials: &SizeColumns<'_>, price: f64, into: &mut Gathered) -> Moments {
    let length = trials.trials.next_multiple_of(LANES);
    into.hours.resize(length, 0.0);
    if trials.line.is_none() {
        for column in [&mut into.profit, &mut into.rate, &mut into.floor] {
            column.resize(length, 0.0);
        }
    }
    if let Some(columns) = trials.columns() {
        for (values, column) in columns
            .into_iter()
            .zip([&mut into.hours, &mut into.profit, &mut into.floor])
        {
            column[..values.len()].copy_from_slice(values);
        }
    }
    let moments = match trials.line {
        Some(line) => dispatch!(path, simd => gather_line(simd, trials, line, into)),
        None => dispatch!(path, simd => gather_columns(simd, trials, price, into)),
    };
    into.hours.truncate(trials.trials);
    for column in [&mut into.profit, &mut into.rate, &mut into.floor] {
        column.truncate(trials.trials);
    }
    moments
}

/// Copies a size's values chunk by chunk into `columns`, and has what is copied of whole groups looked at while the cache has
/// it.
#[inline(always)]
fn in_chunks<const C: usize>(
    trials: &SizeColumns<'_>,
    mut columns: [&mut Vec<f64>; C],
    mut look: impl FnMut(&mut [&mut Vec<f64>; C], Range<usize>),
) {
    let full = trials.trials / LANES * LANES;
    let mut at = 0;
    for chunk in trials.chunks() {
        let next = at + chunk.groups * LANES;
        for (c, column) in columns.iter_mut().enumerate() {
            let rows = column[at..next].as_chunks_mut().0;
            for (row, values) in rows.iter_mut().zip(chunk.column(c)) {
                *row = values.0;
            }
        }
        look(&mut columns, at..next.min(full));
        at = next;
    }
    // In columns already.
    if at < full {
        look(&mut columns, at..full);
    }
}

/// Eight partial sums closed by the values past the last full eight.
#[inline(always)]
fn close_sum<S: Simd>(sums: f64x8<S>, rest: impl Iterator<Item = f64>) -> f64 {
    let mut sums: Lanes = sums.to_array();
    for (sum, value) in sums.iter_mut().zip(rest) {
        *sum += value;
    }
    sums.iter().fold(0.0, |total, sum| total + sum)
}

/// Eight running least and greatest values.
#[derive(Clone, Copy)]
struct Ends<S: Simd>(f64x8<S>, f64x8<S>);

impl<S: Simd> Ends<S> {
    #[inline(always)]
    fn none(simd: S) -> Self {
        let splat = |value| f64x8::splat(simd, value);
        Self(splat(f64::INFINITY), splat(f64::NEG_INFINITY))
    }

    #[inline(always)]
    fn take(&mut self, values: f64x8<S>) {
        self.0 = lesser(values, self.0);
        self.1 = greater(values, self.1);
    }

    /// With the values past the last full eight.
    #[inline(always)]
    fn close(self, rest: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
        let least = self.0.to_array().into_iter().chain(rest.clone());
        let most = self.1.to_array().into_iter().chain(rest);
        (
            least.fold(f64::INFINITY, f64::min),
            most.fold(f64::NEG_INFINITY, f64::max),
        )
    }
}

#[inline(never)]
fn gather_line<S: Simd>(simd: S, trials: &SizeColumns<'_>, line: MoneyLine, into: &mut Gathered) -> Moments {
    simd.vectorize(
        #[inline(always)]
        || {
            let zero = f64x8::splat(simd, 0.0);
            // The first trial of all, which every path takes away alike. Profit is summed as if it were a column: the same bits.
            let first = trials.first(0);
            let origin = [first, line.profit(first)];
            let mut left = [zero; 2];
            let mut squares = [zero; 3];
            let mut rate_sum = zero;
            let mut ends = Ends::none(simd);
            let gross = f64x8::splat(simd, line.gross);
            in_chunks(
                trials,
                [&mut into.hours],
                #[inline(always)]
                |[hours], range| {
                    for hours in hours[range].as_chunks::<LANES>().0 {
                        let hours = f64x8::simd_from(simd, *hours);
                        let profit = gross - hours * line.shop_per_hour;
                        rate_sum += hours.simd_gt(zero).select(profit / hours, zero);
                        ends.take(hours);
                        add_off(&mut left, &mut squares, hours - origin[0], profit - origin[1]);
                    }
                },
            );
            let rest = &into.hours[trials.trials / LANES * LANES..trials.trials];
            let profits: Vec<f64> = rest.iter().map(|h| line.profit(*h)).collect();
            let rates = rest.iter().zip(&profits).map(|(h, p)| per_hour(*p, *h));
            moments(
                trials.trials,
                origin,
                left,
                squares,
                [rest, &profits],
                close_sum(rate_sum, rates),
                ends.close(rest.iter().copied()),
                None,
            )
        },
    )
}

/// Adds what hours and profit are without the first trial's.
#[inline(always)]
fn add_off<S: Simd>(left: &mut [f64x8<S>; 2], squares: &mut [f64x8<S>; 3], hours: f64x8<S>, profit: f64x8<S>) {
    left[0] += hours;
    left[1] += profit;
    squares[0] += hours * hours;
    squares[1] += profit * profit;
    squares[2] += hours * profit;
}

/// Closes the sums by the hours and profits of the trials past the last full eight, and takes the means out of them.
#[allow(clippy::too_many_arguments, reason = "one call, every argument of its own kind")]
#[inline(always)]
fn moments<S: Simd>(
    trials: usize,
    origin: [f64; 2],
    left: [f64x8<S>; 2],
    squares: [f64x8<S>; 3],
    rest: [&[f64]; 2],
    rate_sum: f64,
    hours_ends: (f64, f64),
    money: Option<MoneyEnds>,
) -> Moments {
    let n = trials as f64;
    let off = |c: usize| rest[c].iter().map(move |v| v - origin[c]);
    let left = [0, 1].map(|c| close_sum(left[c], off(c)));
    let products = |k: usize, a: usize, b: usize| {
        let sum = close_sum(squares[k], off(a).zip(off(b)).map(|(a, b)| a * b));
        sum - left[a] * left[b] / n
    };
    Moments {
        hours: origin[0] + left[0] / n,
        hours_squared: products(0, 0, 0).max(0.0),
        profit: origin[1] + left[1] / n,
        profit_squared: products(1, 1, 1).max(0.0),
        product: products(2, 0, 1),
        rate: rate_sum / n,
        hours_ends,
        money,
    }
}

#[inline(never)]
fn gather_columns<S: Simd>(simd: S, trials: &SizeColumns<'_>, price: f64, into: &mut Gathered) -> Moments {
    simd.vectorize(
        #[inline(always)]
        || {
            let (zero, one) = (f64x8::splat(simd, 0.0), f64x8::splat(simd, 1.0));
            let (infinite, none) = (f64x8::splat(simd, f64::INFINITY), f64x8::splat(simd, f64::NEG_INFINITY));
            let origin = [trials.first(0), trials.first(1)];
            let mut left = [zero; 2];
            let mut squares = [zero; 3];
            let (mut rate_sum, mut reached) = (zero, zero);
            let mut ends = [Ends::none(simd); 4];
            let Gathered {
                hours,
                profit,
                rate,
                floor,
            } = into;
            in_chunks(
                trials,
                [hours, profit, floor],
                #[inline(always)]
                |[hours, profit, floor], range| {
                    let [hours, profit, floor] =
                        [hours, profit, floor].map(|column| column[range.clone()].as_chunks::<LANES>().0);
                    let rate = rate[range.clone()].as_chunks_mut::<LANES>().0;
                    for ((hours, profit), rate) in hours.iter().zip(profit).zip(&mut *rate) {
                        let hours = f64x8::simd_from(simd, *hours);
                        let profit = f64x8::simd_from(simd, *profit);
                        let made = hours.simd_gt(zero).select(profit / hours, zero);
                        made.store_array(rate);
                        rate_sum += made;
                        add_off(&mut left, &mut squares, hours - origin[0], profit - origin[1]);
                    }
                    for (ends, column) in ends.iter_mut().zip([hours, profit, rate]) {
                        let mut here = *ends;
                        for values in column {
                            here.take(f64x8::simd_from(simd, *values));
                        }
                        *ends = here;
                    }
                    let (mut here, mut count) = (ends[3], reached);
                    for values in floor {
                        let values = f64x8::simd_from(simd, *values);
                        here.0 = lesser(values.simd_gt(none).select(values, infinite), here.0);
                        here.1 = greater(values.simd_lt(infinite).select(values, none), here.1);
                        count += values.simd_le(price).select(one, zero);
                    }
                    (ends[3], reached) = (here, count);
                },
            );
            let tail = trials.trials / LANES * LANES..trials.trials;
            for k in tail.clone() {
                rate[k] = per_hour(profit[k], hours[k]);
            }
            let [hours, profit, rate, floor] = [hours, profit, rate, floor].map(|column| &column[tail.clone()]);
            let finite = floor.iter().copied().filter(|v| v.is_finite());
            let money = MoneyEnds {
                profit: ends[1].close(profit.iter().copied()),
                rate: ends[2].close(rate.iter().copied()),
                floor: ends[3].close(finite),
                reached: reached.to_array().iter().sum::<f64>() as u64
                    + floor.iter().filter(|v| **v <= price).count() as u64,
            };
            moments(
                trials.trials,
                origin,
                left,
                squares,
                [hours, profit],
                close_sum(rate_sum, rate.iter().copied()),
                ends[0].close(hours.iter().copied()),
                Some(money),
            )
        },
    )
}

/// Least and greatest finite value, and how many are at or under `bound`.
#[must_use]
pub(crate) fn ends_and_reached(path: Path, values: &[f64], bound: f64) -> ((f64, f64), u64) {
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
                least = lesser(values.simd_gt(none).select(values, infinite), least);
                most = greater(values.simd_lt(infinite).select(values, none), most);
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
pub(crate) fn last_that(low: f64, high: f64, holds: impl Fn(f64) -> bool) -> Option<f64> {
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
mod tests;
