//! Estimates with their sampling errors.
//!
//! * Quantiles: type 7 of Hyndman & Fan (1996), "Sample quantiles in statistical packages", Am. Statistician 50(4), 361-365.
//! * Their intervals: binomial order statistics, valid for any distribution.
//! * Shares: Wilson (1927), "Probable inference, the law of succession, and statistical inference", JASA 22, 209-212.
//! * Ratio of means: the delta method, variance E[(P - R H)^2] / (n E[H]^2).

use super::sweep::{Mean, Share};
use statrs::distribution::{Binomial, DiscreteCDF};

/// Standard normal 97.5 % quantile.
const Z975: f64 = 1.959_963_984_540_054;

/// Where a quantile and its interval lie among n sorted values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Index (from 0) of the value at or under the quantile.
    pub below: usize,
    /// How far on towards the next value, in [0, 1).
    pub fraction: f64,
    /// Index of the lower end of the 95 % interval.
    pub low: usize,
    /// Index of the upper end.
    pub high: usize,
}

impl Place {
    /// The place of the `q`-quantile among `n` values (at least one).
    ///
    /// The interval runs between the order statistics `ppf(2.5 %)` and `ppf(97.5 %) + 1` of Binomial(n, q), counted from 1
    /// and kept within the sample: with very few values its coverage is then below 95 %.
    #[must_use]
    pub fn new(n: usize, q: f64) -> Self {
        let position = (n - 1) as f64 * q;
        // A position that misses a whole number only by rounding is that number.
        let whole = libm::floor(position + 0.5);
        let position = if (position - whole).abs() < 1e-9 {
            whole
        } else {
            position
        };
        let below = libm::floor(position);
        let (low, high) = Binomial::new(q, n as u64).map_or((0, n - 1), |law| {
            let low = binomial_quantile(&law, 0.025, n, q).max(1) - 1;
            let high = binomial_quantile(&law, 0.975, n, q).min(n as u64 - 1);
            (low as usize, high as usize)
        });
        Self {
            below: below as usize,
            fraction: position - below,
            low,
            high,
        }
    }
}

/// Smallest k whose distribution function reaches `share`, searched near the normal approximation.
fn binomial_quantile(law: &Binomial, share: f64, n: usize, q: f64) -> u64 {
    let n = n as f64;
    let spread = libm::sqrt(n * q * (1.0 - q));
    let mut low = (n * q - 8.0 * spread - 8.0).max(0.0) as u64;
    let mut high = (n * q + 8.0 * spread + 8.0).min(n) as u64;
    while low < high {
        let middle = low + (high - low) / 2;
        if law.cdf(middle) >= share {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// Puts the values with the given ranks (ascending) in their sorted places, by selection rather than by sorting.
pub fn settle_ranks(values: &mut [f64], ranks: &[usize]) {
    if values.len() <= 1 || ranks.is_empty() {
        return;
    }
    let middle = ranks.len() / 2;
    let rank = ranks[middle];
    let (left, _, right) = values.select_nth_unstable_by(rank, f64::total_cmp);
    let before = ranks[..middle].partition_point(|r| *r < rank);
    settle_ranks(left, &ranks[..before]);
    let after = &ranks[middle + 1..];
    let shifted: Vec<usize> = after.iter().filter(|r| **r > rank).map(|r| r - rank - 1).collect();
    settle_ranks(right, &shifted);
}

/// Settles every rank that `places` read.
pub fn settle(values: &mut [f64], places: &[Place]) {
    let last = values.len().saturating_sub(1);
    let mut ranks: Vec<usize> = places
        .iter()
        .flat_map(|p| [p.below, (p.below + 1).min(last), p.low, p.high])
        .collect();
    ranks.sort_unstable();
    ranks.dedup();
    settle_ranks(values, &ranks);
}

/// The quantile at `place` of values whose ranks are settled. Infinite where its neighbours are.
#[must_use]
pub fn quantile(values: &[f64], place: Place) -> f64 {
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
    let mean = sum(values.iter().copied()) / n;
    if values.len() < 2 {
        return (mean, 0.0);
    }
    // The second term takes out what rounding left in the mean (Chan, Golub & LeVeque 1983).
    let squares = sum(values.iter().map(|v| (v - mean) * (v - mean)));
    let rest = sum(values.iter().map(|v| v - mean));
    (mean, ((squares - rest * rest / n) / (n - 1.0)).max(0.0))
}

/// Sum over eight interleaved partial sums in a fixed order: quick, and the same bits everywhere.
#[must_use]
pub fn sum(values: impl Iterator<Item = f64>) -> f64 {
    let mut partial = [0.0_f64; 8];
    for (k, value) in values.enumerate() {
        partial[k % 8] += value;
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
pub fn mean_of_sums(sum: f64, squares: f64, n: u64) -> Mean {
    let n = n as f64;
    let variance = if n > 1.0 {
        ((squares - sum * sum / n) / (n - 1.0)).max(0.0)
    } else {
        0.0
    };
    Mean {
        mean: sum / n,
        se: libm::sqrt(variance / n),
    }
}

/// A share with its Wilson 95 % interval.
#[must_use]
pub fn wilson(successes: u64, n: u64) -> Share {
    let (k, n) = (successes as f64, n as f64);
    let share = k / n;
    let z2 = Z975 * Z975;
    let centre = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z975 / (1.0 + z2 / n) * libm::sqrt(share * (1.0 - share) / n + z2 / (4.0 * n * n));
    // At the ends the closed form is exactly 0 or 1 but for rounding.
    let low = if successes == 0 { 0.0 } else { (centre - half).max(0.0) };
    let high = if k == n { 1.0 } else { (centre + half).min(1.0) };
    Share { share, low, high }
}

/// Mean of `over` divided by mean of `under`, and its standard error by the delta method.
#[must_use]
pub fn ratio(over: &[f64], under: &[f64]) -> Mean {
    let n = over.len() as f64;
    let under_mean = sum(under.iter().copied()) / n;
    let ratio = sum(over.iter().copied()) / n / under_mean;
    let residuals = sum(over.iter().zip(under).map(|(p, h)| (p - ratio * h) * (p - ratio * h)));
    let variance = if n > 1.0 { residuals / (n - 1.0) / n } else { 0.0 };
    Mean {
        mean: ratio,
        se: libm::sqrt(variance) / under_mean,
    }
}
