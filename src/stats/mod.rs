//! Estimates with their sampling errors.
//!
//! * Quantiles: type 7 of Hyndman & Fan (1996), "Sample quantiles in statistical packages", Am. Statistician 50(4), 361-365; a price floor
//!   is the least value that the asked share of trials is at or under (their type 1).
//! * Their intervals: binomial order statistics, valid for any distribution.
//! * Shares: Wilson (1927), "Probable inference, the law of succession, and statistical inference", JASA 22, 209-212.
//! * Expected shortfall: Manistre & Hancock (2005), "Variance of the CTE estimator", North American Actuarial Journal 9(2),
//!   129-156 (from memory; held against closed forms here).
//! * Ratio of means: the delta method, variance `E[(P - R H)^2] / (n E[H]^2)`.

pub mod columns;
pub mod estimate;
pub mod sobol;

use self::columns::{OrderStatistics, Ranks, Scratch, ends_and_reached, select};
use crate::engine::Path;
use crate::laws::{Beta, Binomial, reaching};
use serde::{Deserialize, Serialize};

/// Mean and its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Mean {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub se: f64,
}

impl Mean {
    /// The ends of its 95 % interval.
    #[must_use]
    pub fn interval(&self) -> [f64; 2] {
        [self.mean - Z975 * self.se, self.mean + Z975 * self.se]
    }

    /// Whether it is above another beyond simulation error; the two errors are added up, an upper bound whatever they share.
    #[must_use]
    pub fn surely_above(&self, other: &Self) -> bool {
        self.mean - other.mean > Z975 * (self.se + other.se)
    }
}

/// Mean with its error, and three quantiles (Hyndman and Fan's type 7).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// Standard error of the mean.
    pub se: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

/// Mean and three quantiles.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Middle {
    /// Mean.
    pub mean: f64,
    /// 10 % quantile.
    pub p10: f64,
    /// Median.
    pub p50: f64,
    /// 90 % quantile.
    pub p90: f64,
}

/// A share of trials and its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// Share.
    pub share: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Standard normal 97.5 % quantile.
pub const Z975: f64 = 1.959_963_984_540_054;

/// The greatest floor that a price reaches: one above it by rounding alone is reached.
#[must_use]
pub(crate) fn reachable(price: f64) -> f64 {
    price * (1.0 + 1e-12)
}

/// How many of these floors a price reaches; a trial reaches the target where its own floor is at or below the price.
#[must_use]
pub fn reached(floors: &[f64], price: f64) -> u64 {
    let reachable = reachable(price);
    floors.iter().filter(|floor| **floor <= reachable).count() as u64
}

/// Where a quantile and its interval lie among n sorted values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuantileRank {
    /// Index (from 0) of the value at or under the quantile.
    pub below: usize,
    /// How far on towards the next value, in [0, 1).
    pub fraction: f64,
    /// Index of the lower end of the 95 % interval.
    pub low: usize,
    /// Index of the upper end.
    pub high: usize,
}

impl QuantileRank {
    /// The place of the `q`-quantile among `n` values.
    ///
    /// The interval runs between the order statistics `ppf(2.5 %)` and `ppf(97.5 %) + 1` of Binomial(n, q), counted from 1
    /// and kept within the sample: with very few values its coverage is then below 95 %.
    ///
    /// # Panics
    /// Where `n` is 0: nothing has no quantile.
    #[must_use]
    pub fn new(n: usize, q: f64) -> Self {
        assert!(n > 0, "nothing has no quantile");
        let position = (n - 1) as f64 * q;
        // A position that misses a whole number only by rounding is that number.
        let whole = libm::floor(position + 0.5);
        let position = if (position - whole).abs() < 1e-9 {
            whole
        } else {
            position
        };
        let below = libm::floor(position);
        let law = Binomial::new(n as u64, q);
        let low = law.quantile(0.025).max(1) - 1;
        // Of a handful of values the quantile may lie beyond.
        let high = law.quantile(0.975).max(libm::ceil(position) as u64).min(n as u64 - 1);
        Self {
            below: below as usize,
            fraction: position - below,
            low: low as usize,
            high: high as usize,
        }
    }

    /// The place of the price floor at the confidence `q` among the floors of `n` trials.
    ///
    /// That of the first trial with which a share `q` is reached: a lower price pays less surely than asked, and a dearer one need not be. A
    /// quantile between two trials would be either: of 104 trials 80 % are 84, and type 7 lies under the 84th; of 100 it lies between the
    /// 80th and the 81st, which are far apart where 80 % of all single pieces are sold at one price and the others at half of it.
    ///
    /// # Panics
    /// Where `n` is 0.
    #[must_use]
    pub(crate) fn of_floor(n: usize, q: f64) -> Self {
        Self {
            below: reaching(n, q) - 1,
            fraction: 0.0,
            ..Self::new(n, q)
        }
    }
}

/// The values that reading `places` and their intervals takes (no NaN).
#[must_use]
pub fn settled(values: &[f64], places: &[QuantileRank]) -> OrderStatistics {
    let path = Path::best();
    let ranks = Ranks::of(places, true, values.len());
    let (ends, _) = ends_and_reached(path, values, 0.0);
    select(path, values, ends, &ranks, &mut Scratch::default())
}

/// Puts the values that reading `places` takes (no NaN) in their sorted places; the other places hold anything after.
pub fn put_in_order(values: &mut [f64], places: &[QuantileRank]) {
    if !values.is_empty() {
        settled(values, places).put(values);
    }
}

/// The quantile at `place` of values whose ranks are settled. Infinite where its neighbours are.
#[must_use]
pub fn quantile(values: &[f64], place: QuantileRank) -> f64 {
    let below = values[place.below];
    if place.fraction == 0.0 {
        return below;
    }
    let above = values[(place.below + 1).min(values.len() - 1)];
    if below == above || above.is_infinite() {
        return above;
    }
    below + place.fraction * (above - below)
}

/// Mean and variance (divisor n - 1), in two passes.
#[must_use]
pub fn mean_variance(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = sum_of(values, values, |v, _| v) / n;
    let squares = sum_of(values, values, |v, _| (v - mean) * (v - mean));
    let rest = sum_of(values, values, |v, _| v - mean);
    (mean, variance_of_sums(rest, squares, n))
}

/// Variance of n values from the sums of the values, less any constant, and of their squares; 0 for a single value.
///
/// Where the constant is the mean, the sum, 0 but for rounding, takes out what rounding left in it (Chan, Golub & LeVeque 1983).
#[must_use]
pub(crate) fn variance_of_sums(rest: f64, squares: f64, n: f64) -> f64 {
    if n < 2.0 {
        return 0.0;
    }
    ((squares - rest * rest / n) / (n - 1.0)).max(0.0)
}

/// Sum of a function of two columns, over eight interleaved partial sums in a fixed order: quick, and the same bits
/// everywhere.
#[must_use]
pub(crate) fn sum_of(first: &[f64], second: &[f64], term: impl Fn(f64, f64) -> f64) -> f64 {
    let mut partial = [0.0_f64; 8];
    let ((a_chunks, a_rest), (b_chunks, b_rest)) = (first.as_chunks::<8>(), second.as_chunks::<8>());
    for (a, b) in a_chunks.iter().zip(b_chunks) {
        for k in 0..8 {
            partial[k] += term(a[k], b[k]);
        }
    }
    for (k, (a, b)) in a_rest.iter().zip(b_rest).enumerate() {
        partial[k] += term(*a, *b);
    }
    partial.iter().fold(0.0, |total, p| total + p)
}

/// Mean with its standard error.
#[must_use]
pub fn mean(values: &[f64]) -> Mean {
    let (mean, variance) = mean_variance(values);
    Mean {
        mean,
        se: libm::sqrt(variance / values.len() as f64),
    }
}

/// Mean with its standard error from sums of values and of squares; exact where all values are equal integers.
#[must_use]
pub(crate) fn mean_of_sums(sum: f64, squares: f64, n: u64) -> Mean {
    let n = n as f64;
    Mean {
        mean: sum / n,
        se: libm::sqrt(variance_of_sums(sum, squares, n) / n),
    }
}

/// A share with its Wilson 95 % interval; nearer to none or all than a thousandth, with its exact one.
#[must_use]
pub fn wilson(successes: u64, n: u64) -> Share {
    if (successes.min(n - successes) as f64) < RARE * n as f64 {
        return clopper_pearson(successes, n);
    }
    wilson_of(successes as f64, n as f64)
}

/// Shares below, and above 1 less this, have exact intervals: Wilson's leaves out more than one time in forty there.
const RARE: f64 = 0.001;

/// [`wilson`] for a number of successes that need not be whole, as where ties count half.
///
/// A tie varies less than a win or a loss would, so the interval is then too wide rather than too narrow.
#[must_use]
pub fn wilson_of(successes: f64, n: f64) -> Share {
    let (k, share) = (successes, successes / n);
    let z2 = Z975 * Z975;
    let centre = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z975 / (1.0 + z2 / n) * libm::sqrt(share * (1.0 - share) / n + z2 / (4.0 * n * n));
    // At the ends the closed form is exactly 0 or 1 but for rounding.
    let low = if successes == 0.0 {
        0.0
    } else {
        (centre - half).max(0.0)
    };
    let high = if k == n { 1.0 } else { (centre + half).min(1.0) };
    Share { share, low, high }
}

/// A share with its exact 95 % interval (Clopper & Pearson 1934, "The use of confidence or fiducial limits illustrated in the case of
/// the binomial", Biometrika 26(4), 404-413): the chances of which so many or more, and so many or fewer, come at most one time in
/// forty. For counts of a few, where Wilson's, right on average over all chances, leaves out what is not unlikely at all.
#[must_use]
pub(crate) fn clopper_pearson(successes: u64, n: u64) -> Share {
    let share = if n == 0 { 0.0 } else { successes as f64 / n as f64 };
    exact(successes as f64, n as f64, share)
}

/// [`clopper_pearson`] of a share that is known as well as from `n` trials, which need not be a whole number.
#[must_use]
pub(crate) fn clopper_pearson_of(share: f64, n: f64) -> Share {
    exact(share * n, n, share)
}

fn exact(successes: f64, n: f64, share: f64) -> Share {
    // P(X >= k) with chance p is the regularised incomplete beta function at (k, n - k + 1).
    let at_least = |k: f64, p: f64| Beta::new(k, n - k + 1.0).cdf(p);
    let tail = 0.025;
    let where_it_is = |k: f64, level: f64| {
        // None and all have closed forms: (1 - p)^n and p^n.
        if k == 1.0 && level > 0.5 {
            return -libm::expm1(libm::log(1.0 - level) / n);
        }
        if k == n && level < 0.5 {
            return libm::exp(libm::log(level) / n);
        }
        let (mut low, mut high) = (0.0, 1.0);
        // Each halving gives a binary digit; after so many there is no double between the two.
        for _ in 0..1100 {
            let middle = f64::midpoint(low, high);
            if middle <= low || middle >= high {
                break;
            }
            if at_least(k, middle) < level {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    };
    Share {
        share,
        low: if successes == 0.0 {
            0.0
        } else {
            where_it_is(successes, tail)
        },
        high: if successes >= n {
            1.0
        } else {
            where_it_is(successes + 1.0, 1.0 - tail)
        },
    }
}

/// Mean of `over` divided by mean of `under`, and its standard error by the delta method; 0 where `under` is nothing.
#[must_use]
pub fn ratio(over: &[f64], under: &[f64]) -> Mean {
    let n = over.len() as f64;
    let under_mean = sum_of(under, under, |h, _| h) / n;
    if under_mean == 0.0 {
        return Mean { mean: 0.0, se: 0.0 };
    }
    let ratio = sum_of(over, over, |p, _| p) / n / under_mean;
    let residuals = sum_of(over, under, |p, h| (p - ratio * h) * (p - ratio * h));
    ratio_of_sums(ratio, residuals, under_mean, n)
}

/// A ratio of means with its standard error, from the sum of squared residuals.
#[must_use]
pub(crate) fn ratio_of_sums(ratio: f64, residuals: f64, under_mean: f64, n: f64) -> Mean {
    let variance = if n > 1.0 { residuals / (n - 1.0) / n } else { 0.0 };
    Mean {
        mean: ratio,
        se: libm::sqrt(variance) / under_mean,
    }
}

/// Difference of two ratios of means, first less second, whose columns share their trials, and its standard error by the
/// delta method: with R the ratio and X the mean of `under`, trial i moves the difference by
/// `(P1_i - R1 H1_i) / X1 - (P2_i - R2 H2_i) / X2`, so what both share cancels trial by trial (Casella & Berger 2002,
/// "Statistical Inference", section 5.5.4, from memory).
#[must_use]
pub(crate) fn ratio_difference(first: (&[f64], &[f64]), second: (&[f64], &[f64])) -> Mean {
    let influence = |(over, under): (&[f64], &[f64])| {
        let n = over.len() as f64;
        let under_mean = sum_of(under, under, |h, _| h) / n;
        if under_mean == 0.0 {
            return (0.0, vec![0.0; over.len()]);
        }
        let ratio = sum_of(over, over, |p, _| p) / n / under_mean;
        let moved = over.iter().zip(under).map(|(p, h)| (p - ratio * h) / under_mean);
        (ratio, moved.collect())
    };
    let ((a, moved_a), (b, moved_b)) = (influence(first), influence(second));
    let n = moved_a.len() as f64;
    let squares = sum_of(&moved_a, &moved_b, |x, y| (x - y) * (x - y));
    let variance = if n > 1.0 { squares / (n - 1.0) / n } else { 0.0 };
    Mean {
        mean: a - b,
        se: libm::sqrt(variance),
    }
}

/// The mean of the largest values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shortfall {
    /// The value that the tail begins with.
    pub from: f64,
    /// Mean of the tail, and its standard error.
    pub mean: Mean,
}

/// The trials of the largest `tail` share of `values` (not empty, no NaN), largest first, of equal ones the earlier; each with
/// its weight. Where `tail` of the values is no whole number, the last weighs what is missing.
///
/// So weighted the mean is the expected shortfall for any law, steps in it included (Acerbi & Tasche 2002, "On the coherence
/// of expected shortfall", J. Banking & Finance 26, 1487-1503).
#[must_use]
pub fn largest(values: &[f64], tail: f64) -> Vec<(usize, f64)> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*b].total_cmp(&values[*a]).then(a.cmp(b)));
    let count = (tail * values.len() as f64).clamp(0.0, values.len() as f64);
    let whole = libm::floor(count + 1e-9);
    let rest = if count - whole > 1e-9 { count - whole } else { 0.0 };
    let weights = std::iter::repeat_n(1.0, whole as usize).chain((rest > 0.0).then_some(rest));
    order.into_iter().zip(weights).collect()
}

/// Expected shortfall: the mean of the largest `tail` share of `values`.
///
/// Its asymptotic variance is \[Var(X | X > q) + (1 - tail) (ES - q)^2\] / (n tail): the spread within the tail, and what the
/// tail's own beginning q, an estimate too, adds.
#[must_use]
pub(crate) fn expected_shortfall(values: &[f64], tail: f64) -> Shortfall {
    let picked = largest(values, tail);
    let from = picked.last().map_or(f64::NAN, |(k, _)| values[*k]);
    let weight = picked.iter().fold(0.0, |sum, (_, w)| sum + w);
    let mean = picked.iter().fold(0.0, |sum, (k, w)| sum + w * values[*k]) / weight;
    let squares = picked
        .iter()
        .fold(0.0, |sum, (k, w)| sum + w * (values[*k] - mean) * (values[*k] - mean));
    let within = squares / (weight - 1.0).max(1.0);
    let variance = (within + (1.0 - tail) * (mean - from) * (mean - from)) / weight;
    Shortfall {
        from,
        mean: Mean {
            mean,
            se: libm::sqrt(variance.max(0.0)),
        },
    }
}

/// Sum of `over` divided by sum of `under` over the trials in which `under` is largest, with its standard error.
///
/// With R the ratio and U = over - R under, whose mean over the tail is 0, the same reasoning as for the expected shortfall
/// gives the variance \[Var(U | tail) + (1 - tail) m^2\] / (n tail) of U's tail mean, where m is the mean of U at the place
/// where the tail begins (in the expected shortfall U = X and that place counts as q); the ratio's error is its root divided
/// by the tail mean of `under`. m is estimated from the nearest n^0.6 trials on both sides.
#[must_use]
pub(crate) fn tail_ratio(over: &[f64], under: &[f64], tail: f64) -> Mean {
    let n = under.len();
    let picked = largest(under, tail);
    let sum = |of: &[f64]| picked.iter().fold(0.0, |sum, (k, w)| sum + w * of[*k]);
    let (weight, below) = (picked.iter().fold(0.0, |sum, (_, w)| sum + w), sum(under));
    if below == 0.0 {
        return Mean { mean: 0.0, se: 0.0 };
    }
    let ratio = sum(over) / below;
    let off = |k: usize| over[k] - ratio * under[k];
    let squares = picked.iter().fold(0.0, |sum, (k, w)| sum + w * off(*k) * off(*k));
    let near = (libm::ceil(libm::pow(n as f64, 0.6)) as usize).min(picked.len());
    let wide = largest(under, ((picked.len() + near) as f64 / n as f64).min(1.0));
    let around = &wide[picked.len() - near..];
    let begin = around.iter().fold(0.0, |sum, (k, _)| sum + off(*k)) / around.len() as f64;
    let variance = (squares / (weight - 1.0).max(1.0) + (1.0 - tail) * begin * begin) / weight;
    Mean {
        mean: ratio,
        se: libm::sqrt(variance.max(0.0)) * weight / below,
    }
}

#[cfg(test)]
mod tails {
    use super::*;
    use crate::engine::shape::unit;
    use crate::engine::stream::nth;

    fn uniforms(seed: u64, n: u64) -> Vec<f64> {
        (0..n).map(|k| unit(nth(seed, k))).collect()
    }

    /// Every law's expected shortfall within four of its own standard errors (one false alarm in 16,000), and that error within
    /// a tenth of the asymptotic one: it rests on 2,000 and more tail values, whose variance is known to about 5 % (kurtosis 9).
    #[test]
    fn shortfalls_match_closed_forms() {
        let n = 40_000_u64;
        let root = (n as f64).sqrt();
        for tail in [0.05, 0.1, 0.25] {
            // Uniform: q = 1 - t, mean 1 - t / 2, variance in the tail t^2 / 12.
            let uniform = expected_shortfall(&uniforms(11, n), tail);
            let exact = ((tail * tail / 12.0 + (1.0 - tail) * tail * tail / 4.0) / tail).sqrt();
            // Exponential: q = -ln t, the excess is exponential again: mean q + 1, variance 1.
            let values: Vec<f64> = uniforms(12, n).iter().map(|u| -(1.0 - u).ln()).collect();
            let exponential = expected_shortfall(&values, tail);
            let exact_exponential = ((1.0 + (1.0 - tail)) / tail).sqrt();
            // Triangular on 0..1 with its mode at 0, as 1 - sqrt(U): q = 1 - sqrt(t), the tail is the same shape again, of
            // width sqrt(t): mean q + w / 3, variance w^2 / 18. U is the share above, so that small U are large values.
            let values: Vec<f64> = uniforms(13, n).iter().map(|u| 1.0 - u.sqrt()).collect();
            let triangular = expected_shortfall(&values, tail);
            let wide = tail.sqrt();
            let exact_triangular = ((tail / 18.0 + (1.0 - tail) * tail / 9.0) / tail).sqrt();
            for (name, found, from, mean, se) in [
                ("uniform", uniform, 1.0 - tail, 1.0 - tail / 2.0, exact),
                (
                    "exponential",
                    exponential,
                    -tail.ln(),
                    1.0 - tail.ln(),
                    exact_exponential,
                ),
                (
                    "triangular",
                    triangular,
                    1.0 - wide,
                    1.0 - wide + wide / 3.0,
                    exact_triangular,
                ),
            ] {
                assert!(
                    (found.mean.mean - mean).abs() <= 4.0 * se / root,
                    "{name} {tail}: {} against {mean}",
                    found.mean.mean
                );
                assert!(
                    (found.mean.se * root / se - 1.0).abs() < 0.1,
                    "{name} {tail}: error {} against {}",
                    found.mean.se,
                    se / root
                );
                assert!((found.from - from).abs() < 0.2, "{name} {tail}: from {}", found.from);
            }
        }
    }

    #[test]
    fn a_tail_of_part_of_a_value_takes_part_of_it() {
        // The largest quarter of six is one and a half of them.
        let found = expected_shortfall(&[3.0, 9.0, 1.0, 6.0, 2.0, 0.0], 0.25);
        assert_eq!((found.from, found.mean.mean), (6.0, (9.0 + 0.5 * 6.0) / 1.5));
        assert_eq!(
            expected_shortfall(&[4.0; 50], 0.1),
            Shortfall {
                from: 4.0,
                mean: Mean { mean: 4.0, se: 0.0 }
            }
        );
    }

    /// Over = under (a + V) with V of mean 0, independent: the ratio in the tail is a, and its error scatters as stated.
    #[test]
    fn a_tail_ratio_scatters_by_its_stated_error() {
        let mut squares = 0.0;
        for seed in 0..40 {
            let n = 4_000;
            let under: Vec<f64> = uniforms(100 + seed, n).iter().map(|u| 1.0 + u).collect();
            // A fixed cost over more hours: the ratio depends on where the tail begins.
            let over: Vec<f64> = uniforms(900 + seed, n)
                .iter()
                .zip(&under)
                .map(|(v, h)| 60.0 - 10.0 * h + 8.0 * (v - 0.5))
                .collect();
            let found = tail_ratio(&over, &under, 0.1);
            // The tail's mean of under is 1.95.
            let exact = (60.0 - 19.5) / 1.95;
            let z = (found.mean - exact) / found.se;
            squares += z * z;
        }
        use statrs::distribution::{ChiSquared, ContinuousCDF};
        let law = ChiSquared::new(40.0).expect("a law");
        assert!(
            (law.inverse_cdf(0.0005)..law.inverse_cdf(0.9995)).contains(&squares),
            "{squares}"
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use statrs::distribution::DiscreteCDF;

    const INFINITE: f64 = f64::INFINITY;

    /// Type 7 by its definition, on values fully sorted: position (n - 1) q, straight between neighbours.
    fn by_definition(values: &[f64], q: f64) -> f64 {
        let mut values = values.to_vec();
        values.sort_by(f64::total_cmp);
        let position = (values.len() - 1) as f64 * q;
        let below = position.floor() as usize;
        let above = (below + 1).min(values.len() - 1);
        values[below] + (position - below as f64) * (values[above] - values[below])
    }

    proptest! {
        #[test]
        fn selection_finds_what_sorting_finds(
            values in prop::collection::vec(-1e3..1e3_f64, 1..400),
            qs in prop::collection::vec(0.01..0.99_f64, 1..6),
        ) {
            let places: Vec<QuantileRank> = qs.iter().map(|q| QuantileRank::new(values.len(), *q)).collect();
            let mut settled = values.clone();
            put_in_order(&mut settled, &places);
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            for (q, place) in qs.iter().zip(places) {
                let found = quantile(&settled, place);
                let exact = by_definition(&values, *q);
                // A position within 1e-9 of a value is taken as that value; neighbours are at most 2000 apart.
                prop_assert!((found - exact).abs() <= 2e-6 + 1e-12 * exact.abs(), "{found} {exact}");
                prop_assert_eq!(settled[place.low], sorted[place.low]);
                prop_assert_eq!(settled[place.high], sorted[place.high]);
                prop_assert!(place.low <= place.below + 1 && place.below <= place.high);
            }
        }

        #[test]
        fn two_passes_agree_with_the_definition(values in prop::collection::vec(-1e3..1e3_f64, 2..200)) {
            let n = values.len() as f64;
            let mean = values.iter().sum::<f64>() / n;
            let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
            let (found, spread) = mean_variance(&values);
            prop_assert!((found - mean).abs() <= 1e-10);
            prop_assert!((spread - variance).abs() <= 1e-10 * variance.max(1.0));
        }

        /// The smallest k that reaches the share, by walking up from nothing.
        #[test]
        fn binomial_quantiles_are_the_smallest(n in 1_usize..300, q in 0.01..0.99_f64, share in 0.001..0.999_f64) {
            let law = statrs::distribution::Binomial::new(q, n as u64).unwrap();
            let walked = (0..=n as u64).find(|k| law.cdf(*k) >= share).unwrap_or(n as u64);
            prop_assert_eq!(Binomial::new(n as u64, q).quantile(share), walked);
        }
    }

    /// A quantile between the last finite value and infinity is infinite: no price reaches it.
    #[test]
    fn infinite_neighbours_make_infinite_quantiles() {
        let mut values = vec![INFINITE, 3.0, 1.0, INFINITE, 2.0];
        let at = |q: f64| QuantileRank::new(5, q);
        put_in_order(&mut values, &[at(0.5), at(0.6), at(0.9)]);
        assert_eq!(quantile(&values, at(0.5)), 3.0);
        assert_eq!(quantile(&values, at(0.6)), INFINITE);
        assert_eq!(quantile(&values, at(0.9)), INFINITE);
        let all = [INFINITE; 4];
        assert_eq!(quantile(&all, QuantileRank::new(4, 0.3)), INFINITE);
    }

    #[test]
    fn one_value_is_every_quantile() {
        for q in [0.01, 0.5, 0.99] {
            let place = QuantileRank::new(1, q);
            assert_eq!((place.low, place.below, place.high), (0, 0, 0));
            assert_eq!(quantile(&[7.0], place), 7.0);
        }
        let (mean, variance) = mean_variance(&[7.0]);
        assert_eq!((mean, variance), (7.0, 0.0));
        assert_eq!(ratio(&[7.0], &[2.0]), Mean { mean: 3.5, se: 0.0 });
    }

    /// 0.7 x 10 is 7.000000000000001 in doubles, and must be the seventh step, not a bit beyond.
    #[test]
    fn whole_positions_are_met() {
        for n in [11_usize, 101, 10_001, 100_001] {
            for tenth in 1..10 {
                let place = QuantileRank::new(n, f64::from(tenth) / 10.0);
                assert_eq!((place.below, place.fraction), ((n - 1) / 10 * tenth as usize, 0.0));
            }
        }
    }

    /// Whatever the trials and the confidence, at the floor a share of them is reached that is the confidence or just more, and at none below it.
    #[test]
    fn floors_are_reached_as_surely_as_asked() {
        let shares = (1..100)
            .map(|k| f64::from(k) / 100.0)
            .chain([1.0 / 3.0, 0.777, 0.799_999, 0.999]);
        for q in shares {
            for n in (1..320).chain([401, 1_000, 2_048, 10_000]) {
                let floors: Vec<f64> = (0..n).rev().map(|k| 1.0 + k as f64).collect();
                let place = QuantileRank::of_floor(n, q);
                let settled = settled(&floors, &[place]);
                let floor = settled.quantile(place);
                let share = |trials: u64| trials as f64 / n as f64;
                let trials = reached(&floors, floor);
                assert!(floors.contains(&floor), "{q} of {n}: {floor}");
                assert!(share(trials) >= q && share(trials - 1) < q, "{q} of {n}: {trials}");
                assert!(
                    settled.at(place.low) <= floor && floor <= settled.at(place.high),
                    "{q} of {n}"
                );
            }
        }
    }

    #[test]
    #[should_panic(expected = "nothing has no quantile")]
    fn nothing_has_no_quantile() {
        let _ = QuantileRank::new(0, 0.5);
    }

    /// A quantile between two ranks is read off these two, and not off whatever rank is held next.
    #[test]
    #[should_panic(expected = "a rank that was asked for")]
    fn a_rank_that_is_not_held_is_not_made_up() {
        let place = QuantileRank::new(4, 0.5);
        let ranks = Ranks::new(vec![place.below, 3]);
        let held = select(
            Path::best(),
            &[1.0, 2.0, 3.0, 9.0],
            (1.0, 9.0),
            &ranks,
            &mut Scratch::default(),
        );
        let _ = held.quantile(place);
    }

    /// The interval covers its quantile in at least 95 % of samples (binomial law, statrs), where the sample is large enough.
    #[test]
    fn intervals_cover() {
        for n in [100_usize, 1000, 50_000] {
            for q in [0.1, 0.5, 0.8, 0.9] {
                let place = QuantileRank::new(n, q);
                let law = statrs::distribution::Binomial::new(q, n as u64).unwrap();
                // Counted from 1: P(low <= Bin < high).
                let coverage = law.cdf(place.high as u64) - law.cdf(place.low as u64);
                assert!((0.95..0.97).contains(&coverage), "{n} {q}: {coverage}");
            }
        }
    }

    #[test]
    fn sums_give_the_same_mean_as_values() {
        let values = [3.0, 0.0, 5.0, 5.0, 4.0];
        let squares = values.iter().map(|v| v * v).sum();
        let (a, b) = (mean(&values), mean_of_sums(values.iter().sum(), squares, 5));
        assert!((a.mean - b.mean).abs() < 1e-15 && (a.se - b.se).abs() < 1e-15);
        assert_eq!(mean_of_sums(12.0, 48.0, 3), Mean { mean: 4.0, se: 0.0 });
        assert_eq!(mean_of_sums(4.0, 16.0, 1), Mean { mean: 4.0, se: 0.0 });
    }

    #[test]
    fn shares_end_at_none_and_all() {
        assert_eq!(wilson(0, 50_000).low, 0.0);
        assert_eq!(wilson(50_000, 50_000).high, 1.0);
        assert!(wilson(0, 50_000).high > 0.0 && wilson(50_000, 50_000).low < 1.0);
    }

    /// Exact below one in a thousand and above all but one; Wilson's between them.
    #[test]
    fn rare_shares_have_exact_intervals() {
        for k in [0, 1, 49, 49_951, 50_000] {
            assert_eq!(wilson(k, 50_000), clopper_pearson(k, 50_000), "{k}");
        }
        for k in [50, 25_000, 49_950] {
            assert_eq!(wilson(k, 50_000), wilson_of(k as f64, 50_000.0), "{k}");
        }
    }

    /// Limits as printed in tables of the binomial (Clopper & Pearson 1934 and many since), in per cent, from memory; and by hand:
    /// none of n has the upper limit 1 - 0.025^(1/n), and the tails beyond the limits hold 2.5 %.
    #[test]
    fn exact_limits_of_a_share_are_those_of_the_tables() {
        let tables = [
            (0, 10, 0.0, 30.85),
            (1, 10, 0.25, 44.50),
            (5, 10, 18.71, 81.29),
            (10, 10, 69.15, 100.0),
            (2, 20, 1.23, 31.70),
            (10, 100, 4.90, 17.62),
        ];
        for (k, n, low, high) in tables {
            let found = clopper_pearson(k, n);
            let printed = |v: f64| (v * 1e4).round() / 100.0;
            assert_eq!((printed(found.low), printed(found.high)), (low, high), "{k} of {n}");
        }
        for n in [1_u32, 7, 12, 5000] {
            let due = 1.0 - 0.025_f64.powf(1.0 / f64::from(n));
            assert!((clopper_pearson(0, u64::from(n)).high - due).abs() < 1e-12, "{n}");
        }
        for (k, n) in [(1, 12), (4, 104), (7, 50), (299, 300), (3, 4000)] {
            let found = clopper_pearson(k, n);
            let up_to = |p: f64, k: u64| statrs::distribution::Binomial::new(p, n).unwrap().cdf(k);
            assert!((1.0 - up_to(found.low, k - 1) - 0.025).abs() < 1e-9, "{k} of {n}");
            assert!((up_to(found.high, k) - 0.025).abs() < 1e-9, "{k} of {n}");
        }
    }
}
