//! Quantities that may be uncertain: certain values and the shapes a maker can give a range.
//!
//! Formulas: the triangular and uniform laws by inversion; the beta-PERT law with weight 4
//! (Malcolm, Roseboom, Clark & Fazar 1959 fix the mean at (low + 4 likely + high) / 6; the variance here is the beta's own,
//! (mean - low)(high - mean) / 7, not the textbook ((high - low) / 6)^2); the lognormal from two of its tenths; values kept from a
//! log, each equally likely to come again (the empirical distribution, from which a bootstrap draws: Efron 1979, "Bootstrap
//! methods: another look at the jackknife", Annals of Statistics 7(1), 1-26; from memory).
//!
//! # Why a logged range is its values and no curve through them
//!
//! Each value is equally likely: mean and variance are the log's own, exactly; ties stay ties; nothing outside of what was seen is drawn,
//! which is said where a log is short. A line between order statistics would take spread away and need an assumption for its ends. A draw is
//! a place, the high half of bits x count, off equal shares by less than 2^-64, by integers alone and so the same on every path. The quantile
//! is the law's own (Hyndman and Fan's type 1), not an estimate from a sample (type 7).

use crate::laws::{Beta, normal_cdf, normal_quantile, reaching};
use std::sync::Arc;

/// Low, likely and high, with low <= likely <= high.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThreePoint {
    /// Lower limit.
    pub low: f64,
    /// Mode.
    pub likely: f64,
    /// Upper limit.
    pub high: f64,
}

/// A quantity: certain, or uncertain with one of the shapes a range can have.
#[derive(Debug, Clone, PartialEq)]
pub enum Spread {
    /// Known.
    Certain(f64),
    /// Triangular between absolute limits, low < high.
    Triangular(ThreePoint),
    /// Beta-PERT (weight 4) between absolute limits, low < high.
    Pert(ThreePoint),
    /// All values between low and high equally likely, low < high.
    Uniform {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Lognormal: the logarithm is normal with mean `mu` and standard deviation `sigma` > 0.
    Lognormal {
        /// Mean of the logarithm.
        mu: f64,
        /// Standard deviation of the logarithm.
        sigma: f64,
    },
    /// One of the values of a log.
    Logged(Arc<Logged>),
}

/// Values that were measured, each equally likely to come again. Made by [`Spread::logged`].
///
/// Nothing is assumed of what lies between them or beyond: mean and variance (that of the values themselves, divided by their
/// number) are the log's own, ties count as often as they stand there, and no draw is outside of what was seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Logged {
    /// Ascending; at least two, not all the same.
    values: Vec<f64>,
    mean: f64,
    variance: f64,
}

impl Logged {
    /// Of ascending values.
    fn new(values: Vec<f64>) -> Self {
        let n = values.len() as f64;
        let mean = sum(values.iter().copied()) / n;
        // Freed from the rounding of the mean (Chan, Golub & LeVeque 1983, "Algorithms for computing the sample variance", The American
        // Statistician 37(3), 242-247).
        let off = sum(values.iter().map(|v| v - mean));
        let squares = sum(values.iter().map(|v| (v - mean) * (v - mean)));
        let variance = (squares - off * off / n) / n;
        Self { values, mean, variance }
    }

    /// The values, ascending.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The same log with every value changed; `change` must keep their order.
    #[must_use]
    pub fn map(&self, change: impl Fn(f64) -> f64) -> Spread {
        Spread::logged(self.values.iter().map(|v| change(*v)).collect())
    }

    /// The smallest value that a share `q` of all are at or under: the inverse of [`Logged::share`] (type 1 of Hyndman & Fan 1996).
    #[must_use]
    pub fn quantile(&self, q: f64) -> f64 {
        self.values[reaching(self.values.len(), q) - 1]
    }

    /// The share of values at or under `x`.
    #[must_use]
    pub fn share(&self, x: f64) -> f64 {
        self.values.partition_point(|v| *v <= x) as f64 / self.values.len() as f64
    }

    /// The share of values under `x`.
    #[must_use]
    pub(crate) fn share_below(&self, x: f64) -> f64 {
        self.values.partition_point(|v| *v < x) as f64 / self.values.len() as f64
    }

    /// Least and greatest.
    fn ends(&self) -> (f64, f64) {
        (self.values[0], self.values[self.values.len() - 1])
    }
}

/// The standard normal 90 % quantile, as used for "one time in ten" ends.
pub const Z90: f64 = 1.281_551_565_544_600_4;

impl Spread {
    /// Nothing at all.
    pub const ZERO: Self = Self::Certain(0.0);

    /// Triangular between absolute limits; certain where they meet. `low <= likely <= high` is the caller's to see to.
    #[must_use]
    pub fn triangular(t: ThreePoint) -> Self {
        if t.low < t.high {
            Self::Triangular(t)
        } else {
            Self::Certain(t.low)
        }
    }

    /// Beta-PERT (weight 4) between absolute limits; certain where they meet.
    #[must_use]
    pub fn pert(t: ThreePoint) -> Self {
        if t.low < t.high {
            Self::Pert(t)
        } else {
            Self::Certain(t.low)
        }
    }

    /// All values between absolute limits equally likely; certain where they meet.
    #[must_use]
    pub fn uniform(low: f64, high: f64) -> Self {
        if low < high {
            Self::Uniform { low, high }
        } else {
            Self::Certain(low)
        }
    }

    /// Uniform with one time in ten under `low` and one time in ten over `high`: the range is wider by an eighth at each end.
    #[must_use]
    pub(crate) fn uniform_from_tenths(low: f64, high: f64) -> Self {
        let eighth = 0.125 * (high - low);
        Self::uniform(low - eighth, high + eighth)
    }

    /// Lognormal with one time in ten under `low` (above 0) and one time in ten over `high`; certain where they meet.
    #[must_use]
    pub fn lognormal_from_tenths(low: f64, high: f64) -> Self {
        if low < high {
            let (ln_low, ln_high) = (libm::log(low), libm::log(high));
            Self::Lognormal {
                mu: 0.5 * (ln_low + ln_high),
                sigma: (ln_high - ln_low) / (2.0 * Z90),
            }
        } else {
            Self::Certain(low)
        }
    }

    /// One of these values, each equally likely; certain where they are all the same. Their order does not matter.
    #[must_use]
    pub fn logged(mut values: Vec<f64>) -> Self {
        values.sort_unstable_by(f64::total_cmp);
        match values.as_slice() {
            [] => Self::ZERO,
            [first, .., last] if first != last => Self::Logged(Arc::new(Logged::new(values))),
            [first, ..] => Self::Certain(*first),
        }
    }

    /// Triangular whose 10 % and 90 % quantiles are `low` and `high` and whose mode is `likely`.
    ///
    /// With x = low - a and y = b - high the two conditions are x^2 = 0.1 w (likely - a) and y^2 = 0.1 w (b - likely) for the
    /// width w = b - a. Given w, each is a quadratic with one root above zero (where low = likely, x = 0 solves it too and
    /// is false: nothing would lie under `low`). What is left, w = (high - low) + x(w) + y(w), has exactly one root because
    /// x and y are concave in w, and it lies under 2.5 (high - low) because x <= 0.1 w + (likely - low).
    ///
    /// # Errors
    /// [`TenthsError`] where rounding leaves no limits around the three values.
    pub(crate) fn triangular_from_tenths(t: ThreePoint) -> Result<Self, TenthsError> {
        if t.low == t.high {
            return Ok(Self::Certain(t.low));
        }
        let (left, right, inner) = (t.likely - t.low, t.high - t.likely, t.high - t.low);
        let outside = |w: f64, side: f64| 0.05 * w + libm::sqrt(0.0025 * w * w + 0.1 * w * side);
        let missing = |w: f64| inner + outside(w, left) + outside(w, right) - w;
        let width = bisect(inner, 2.5 * inner, |w| missing(w) > 0.0);
        solved(t.low - outside(width, left), t.likely, t.high + outside(width, right)).map(Self::Triangular)
    }

    /// Beta-PERT whose 10 % and 90 % quantiles are `low` and `high` and whose mode is `likely`.
    ///
    /// The place of the mode between the limits, theta in \[0, 1\], fixes the shape; the share of the way from the 10 % to the
    /// 90 % quantile at which the mode lies then depends on theta alone. It is below 0 at theta = 0 and above 1 at theta = 1, so the
    /// theta that gives the asked share is bracketed.
    ///
    /// # Errors
    /// [`TenthsError`] where rounding leaves no limits around the three values.
    pub(crate) fn pert_from_tenths(t: ThreePoint) -> Result<Self, TenthsError> {
        if t.low == t.high {
            return Ok(Self::Certain(t.low));
        }
        let inner = t.high - t.low;
        let tenths = |theta: f64| {
            let (alpha, beta) = (1.0 + 4.0 * theta, 5.0 - 4.0 * theta);
            let law = Beta::new(alpha, beta);
            (law.quantile(0.1), law.quantile(0.9))
        };
        let theta = bisect(0.0, 1.0, |theta| {
            let (q10, q90) = tenths(theta);
            (theta - q10) * inner < (t.likely - t.low) * (q90 - q10)
        });
        let (q10, q90) = tenths(theta);
        let width = inner / (q90 - q10);
        solved(t.low - width * q10, t.likely, t.high + width * (1.0 - q90)).map(Self::Pert)
    }

    /// The same quantity times a factor, 0 or more.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        if factor == 0.0 {
            return Self::ZERO;
        }
        let three = |t: ThreePoint| ThreePoint {
            low: t.low * factor,
            likely: t.likely * factor,
            high: t.high * factor,
        };
        match *self {
            Self::Certain(v) => Self::Certain(v * factor),
            Self::Triangular(t) => Self::Triangular(three(t)),
            Self::Pert(t) => Self::Pert(three(t)),
            Self::Uniform { low, high } => Self::Uniform {
                low: low * factor,
                high: high * factor,
            },
            Self::Lognormal { mu, sigma } => Self::Lognormal {
                mu: mu + libm::log(factor),
                sigma,
            },
            Self::Logged(ref log) => log.map(|v| v * factor),
        }
    }

    /// The same quantity and so much more; `None` for a lognormal one, which would be of another kind then.
    #[must_use]
    pub fn shifted(&self, more: f64) -> Option<Self> {
        if more == 0.0 {
            return Some(self.clone());
        }
        let three = |t: ThreePoint| ThreePoint {
            low: t.low + more,
            likely: t.likely + more,
            high: t.high + more,
        };
        Some(match *self {
            Self::Certain(v) => Self::Certain(v + more),
            Self::Triangular(t) => Self::Triangular(three(t)),
            Self::Pert(t) => Self::Pert(three(t)),
            Self::Uniform { low, high } => Self::Uniform {
                low: low + more,
                high: high + more,
            },
            Self::Lognormal { .. } => return None,
            Self::Logged(ref log) => log.map(|v| v + more),
        })
    }

    /// Whether it is known to be zero.
    #[must_use]
    pub fn is_zero(&self) -> bool {
        matches!(self, Self::Certain(v) if *v == 0.0)
    }

    /// Whether it is certain.
    #[must_use]
    pub const fn is_certain(&self) -> bool {
        matches!(self, Self::Certain(_))
    }

    /// Expected value.
    #[must_use]
    pub fn mean(&self) -> f64 {
        match *self {
            Self::Certain(v) => v,
            Self::Triangular(t) => (t.low + t.likely + t.high) / 3.0,
            Self::Pert(t) => (t.low + 4.0 * t.likely + t.high) / 6.0,
            Self::Uniform { low, high } => 0.5 * (low + high),
            Self::Lognormal { mu, sigma } => libm::exp(mu + 0.5 * sigma * sigma),
            Self::Logged(ref log) => log.mean,
        }
    }

    /// Variance.
    #[must_use]
    pub fn variance(&self) -> f64 {
        match *self {
            Self::Certain(_) => 0.0,
            Self::Triangular(ThreePoint {
                low: a,
                likely: m,
                high: b,
            }) => {
                let (p, q) = (m - a, b - m);
                (p * p + p * q + q * q) / 18.0
            }
            Self::Pert(t) => (self.mean() - t.low) * (t.high - self.mean()) / 7.0,
            Self::Uniform { low, high } => (high - low) * (high - low) / 12.0,
            Self::Lognormal { mu, sigma } => {
                let s2 = sigma * sigma;
                libm::expm1(s2) * libm::exp(2.0 * mu + s2)
            }
            Self::Logged(ref log) => log.variance,
        }
    }

    /// The value that a share `q` in [0, 1] of draws stays under; of values from a log the smallest that as many are at or under.
    #[must_use]
    pub fn quantile(&self, q: f64) -> f64 {
        match *self {
            Self::Certain(v) => v,
            Self::Triangular(ThreePoint {
                low: a,
                likely: m,
                high: b,
            }) => {
                let width = b - a;
                if q * width <= m - a {
                    a + libm::sqrt(q * width * (m - a))
                } else {
                    b - libm::sqrt((1.0 - q) * width * (b - m))
                }
            }
            Self::Pert(t) => {
                let (alpha, beta) = pert_shape(t);
                t.low + (t.high - t.low) * Beta::new(alpha, beta).quantile(q)
            }
            Self::Uniform { low, high } => low + q * (high - low),
            Self::Lognormal { mu, sigma } => libm::exp(mu + sigma * normal_quantile(q)),
            Self::Logged(ref log) => log.quantile(q),
        }
    }

    /// The value that a share `tail` in (0, 1/2] of draws goes over, with relative accuracy however small the tail.
    #[must_use]
    pub fn upper_quantile(&self, tail: f64) -> f64 {
        match *self {
            Self::Pert(t) => {
                let (alpha, beta) = pert_shape(t);
                t.high - (t.high - t.low) * Beta::new(beta, alpha).quantile(tail)
            }
            Self::Lognormal { mu, sigma } => libm::exp(mu - sigma * normal_quantile(tail)),
            Self::Triangular(ThreePoint { low, likely, high }) => {
                let mirrored = ThreePoint {
                    low: -high,
                    likely: -likely,
                    high: -low,
                };
                -Self::Triangular(mirrored).quantile(tail)
            }
            Self::Uniform { low, high } => high - tail * (high - low),
            Self::Certain(v) => v,
            Self::Logged(ref log) => log.quantile(1.0 - tail),
        }
    }

    /// The share of draws at or under `x`.
    #[must_use]
    pub fn cdf(&self, x: f64) -> f64 {
        match *self {
            Self::Certain(v) => f64::from(u8::from(x >= v)),
            Self::Triangular(ThreePoint {
                low: a,
                likely: m,
                high: b,
            }) => {
                if x <= a {
                    0.0
                } else if x >= b {
                    1.0
                } else if x <= m {
                    (x - a) * (x - a) / ((b - a) * (m - a))
                } else {
                    1.0 - (b - x) * (b - x) / ((b - a) * (b - m))
                }
            }
            Self::Pert(t) => {
                let (alpha, beta) = pert_shape(t);
                let unit = ((x - t.low) / (t.high - t.low)).clamp(0.0, 1.0);
                Beta::new(alpha, beta).cdf(unit)
            }
            Self::Uniform { low, high } => ((x - low) / (high - low)).clamp(0.0, 1.0),
            Self::Lognormal { mu, sigma } => {
                if x <= 0.0 {
                    0.0
                } else {
                    normal_cdf((libm::log(x) - mu) / sigma)
                }
            }
            Self::Logged(ref log) => log.share(x),
        }
    }

    /// The share of draws under `x`: [`Spread::cdf`] but where single values have a chance of their own.
    #[must_use]
    pub fn cdf_below(&self, x: f64) -> f64 {
        match self {
            Self::Certain(v) => f64::from(u8::from(x > *v)),
            Self::Logged(log) => log.share_below(x),
            _ => self.cdf(x),
        }
    }

    /// Whether it is `other`, moved or stretched, or a log of as many values tied alike: then one number, made into a draw of each, falls on the same quantile of both.
    #[must_use]
    pub(crate) fn is_like(&self, other: &Self) -> bool {
        let lean = |t: &ThreePoint| (t.likely - t.low) / (t.high - t.low);
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-12;
        match (self, other) {
            (Self::Certain(_), _) | (_, Self::Certain(_)) | (Self::Uniform { .. }, Self::Uniform { .. }) => true,
            (Self::Triangular(a), Self::Triangular(b)) | (Self::Pert(a), Self::Pert(b)) => near(lean(a), lean(b)),
            (Self::Lognormal { sigma: a, .. }, Self::Lognormal { sigma: b, .. }) => near(*a, *b),
            // A draw is a place among the values.
            (Self::Logged(a), Self::Logged(b)) => {
                a.values.len() == b.values.len() && {
                    let ties = |log: &Logged| log.values.windows(2).map(|pair| pair[0] == pair[1]).collect::<Vec<_>>();
                    ties(a) == ties(b)
                }
            }
            _ => false,
        }
    }

    /// What stands at the quantile at which `x` stands in `other`.
    #[must_use]
    pub(crate) fn matching(&self, other: &Self, x: f64) -> f64 {
        self.quantile(other.rank(x, 0.5))
    }

    /// Covariance of a draw of this range with one of `other` that lies as low in its own as the first lies high, in both units: nought or less.
    ///
    /// The midpoint rule over the quantile, which for ranges with ends is off by about a millionth of it.
    #[must_use]
    pub fn opposite_covariance(&self, other: &Self) -> f64 {
        const CELLS: u32 = 8_192;
        let (mean, others) = (self.mean(), other.mean());
        let cell = |k: u32| {
            let q = (f64::from(k) + 0.5) / f64::from(CELLS);
            (self.quantile(1.0 - q) - mean) * (other.quantile(q) - others)
        };
        (0..CELLS).map(cell).sum::<f64>() / f64::from(CELLS)
    }

    /// The quantile at which `x` stands, in (0, 1); a value that has a chance of its own stands for all of that chance, and `within` says where in it.
    ///
    /// Where `x` is drawn and `within` is uniform on 0 to 1, so is the quantile (the distributional transform: Rueschendorf 2009, J. Statistical Planning
    /// and Inference 139, 3921-3927; from memory). The last 1e-12 of either tail are left out: a lognormal has no end there.
    #[must_use]
    pub(crate) fn rank(&self, x: f64, within: f64) -> f64 {
        let below = self.cdf_below(x);
        (below + within * (self.cdf(x) - below)).clamp(1e-12, 1.0 - 1e-12)
    }

    /// The smallest and largest value it can take (0 and infinity for the lognormal).
    #[must_use]
    pub fn limits(&self) -> (f64, f64) {
        match *self {
            Self::Certain(v) => (v, v),
            Self::Triangular(t) | Self::Pert(t) => (t.low, t.high),
            Self::Uniform { low, high } => (low, high),
            Self::Lognormal { .. } => (0.0, f64::INFINITY),
            Self::Logged(ref log) => log.ends(),
        }
    }
}

/// A sum whose rounding does not grow with the number of its terms (Neumaier 1974, "Rundungsfehleranalyse einiger Verfahren zur Summation
/// endlicher Summen", ZAMM 54(1), 39-51; from memory).
fn sum(terms: impl Iterator<Item = f64>) -> f64 {
    let (mut total, mut lost) = (0.0_f64, 0.0);
    for term in terms {
        let next = total + term;
        lost += if total.abs() >= term.abs() {
            (total - next) + term
        } else {
            (term - next) + total
        };
        total = next;
    }
    total + lost
}

/// Shape parameters of the beta behind a PERT range with weight 4.
#[must_use]
pub fn pert_shape(t: ThreePoint) -> (f64, f64) {
    let width = t.high - t.low;
    (
        1.0 + 4.0 * (t.likely - t.low) / width,
        1.0 + 4.0 * (t.high - t.likely) / width,
    )
}

/// No limits have the asked values as their tenths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TenthsError;

impl std::fmt::Display for TenthsError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("no limits have these values as their tenths")
    }
}

impl std::error::Error for TenthsError {}

fn solved(low: f64, likely: f64, high: f64) -> Result<ThreePoint, TenthsError> {
    let fits = low <= likely && likely <= high && low < high && low.is_finite() && high.is_finite();
    fits.then_some(ThreePoint { low, likely, high }).ok_or(TenthsError)
}

/// Where `is_before` turns from true to false, to the last bit.
fn bisect(mut low: f64, mut high: f64, is_before: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if is_before(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The levels of the quantile columns below.
    const LEVELS: [f64; 7] = [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95];

    fn three(low: f64, likely: f64, high: f64) -> ThreePoint {
        ThreePoint { low, likely, high }
    }

    /// Within a relative 1e-9; the reference values have 13 digits.
    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() <= 1e-9 * b.abs().max(1e-3)
    }

    #[track_caller]
    fn check(spread: Spread, mean: f64, variance: f64, quantiles: [f64; 7]) {
        assert!(close(spread.mean(), mean), "{spread:?}: mean {}", spread.mean());
        assert!(
            close(spread.variance(), variance),
            "{spread:?}: variance {}",
            spread.variance()
        );
        for (q, expected) in LEVELS.into_iter().zip(quantiles) {
            assert!(
                close(spread.quantile(q), expected),
                "{spread:?}: q{q} {}",
                spread.quantile(q)
            );
            if !spread.is_certain() {
                assert!(close(spread.cdf(expected), q), "{spread:?}: F({expected})");
            }
        }
    }

    /// Source: closed forms in mpmath 1.4.1, agreeing with SciPy 1.17.1 `stats.triang` to 2e-15.
    #[test]
    #[rustfmt::skip]
    fn triangular_has_the_published_moments_and_quantiles() {
        let rows = [
            (three(1.0, 2.0, 3.0), 2.0, 0.166_666_666_666_7, [1.316_227_766_017, 1.447_213_595_5, 1.707_106_781_187, 2.0, 2.292_893_218_813, 2.552_786_404_5, 2.683_772_233_983]),
            (three(2.0, 3.0, 7.0), 4.0, 1.166_666_666_667, [2.5, 2.707_106_781_187, 3.127_016_653_793, 3.837_722_339_832, 4.763_932_022_5, 5.585_786_437_627, 6.0]),
            (three(4.0, 6.0, 14.0), 8.0, 4.666_666_666_667, [5.0, 5.414_213_562_373, 6.254_033_307_585, 7.675_444_679_663, 9.527_864_045, 11.171_572_875_25, 12.0]),
            (three(0.0, 0.0, 10.0), 3.333_333_333_333, 5.555_555_555_556, [0.253_205_655_191, 0.513_167_019_494_9, 1.339_745_962_156, 2.928_932_188_135, 5.0, 6.837_722_339_832, 7.763_932_022_5]),
            (three(0.0, 10.0, 10.0), 6.666_666_666_667, 5.555_555_555_556, [2.236_067_977_5, 3.162_277_660_168, 5.0, 7.071_067_811_865, 8.660_254_037_844, 9.486_832_980_505, 9.746_794_344_809]),
            (three(10.0, 30.0, 35.0), 25.0, 29.166_666_666_67, [15.0, 17.071_067_811_87, 21.180_339_887_5, 25.811_388_300_84, 29.364_916_731_04, 31.464_466_094_07, 32.5]),
            (three(5.0, 5.0, 5.0), 5.0, 0.0, [5.0; 7]),
        ];
        for (t, mean, variance, quantiles) in rows {
            check(Spread::triangular(t), mean, variance, quantiles);
        }
    }

    /// Source: SciPy 1.17.1 `stats.beta(1 + 4 (m - a) / (b - a), 1 + 4 (b - m) / (b - a), a, b - a)`, quantiles polished with mpmath 1.4.1.
    #[test]
    #[rustfmt::skip]
    fn pert_has_the_published_moments_and_quantiles() {
        let rows = [
            (three(1.0, 2.0, 3.0), 2.0, 0.142_857_142_857_1, [1.378_510_754_876, 1.493_272_906_577, 1.718_872_329_579, 2.0, 2.281_127_670_421, 2.506_727_093_423, 2.621_489_245_124]),
            (three(2.0, 3.0, 7.0), 3.5, 0.75, [2.294_886_938_059, 2.449_510_652_296, 2.817_157_487_611, 3.383_361_296_963, 4.071_133_134_772, 4.726_670_252_168, 5.106_383_620_081]),
            (three(4.0, 6.0, 14.0), 7.0, 3.0, [4.589_773_876_118, 4.899_021_304_592, 5.634_314_975_223, 6.766_722_593_925, 8.142_266_269_545, 9.453_340_504_336, 10.212_767_240_16]),
            (three(0.0, 0.0, 10.0), 1.666_666_666_667, 1.984_126_984_127, [0.102_062_183_130_1, 0.208_516_376_390_2, 0.559_124_887_051, 1.294_494_367_039, 2.421_417_167_448, 3.690_426_555_198, 4.507_197_283_469]),
            (three(0.0, 10.0, 10.0), 8.333_333_333_333, 1.984_126_984_127, [5.492_802_716_531, 6.309_573_444_802, 7.578_582_832_552, 8.705_505_632_961, 9.440_875_112_949, 9.791_483_623_61, 9.897_937_816_87]),
            (three(10.0, 30.0, 35.0), 27.5, 18.75, [19.468_081_899_6, 21.366_648_739_16, 24.644_334_326_14, 28.083_193_515_19, 30.914_212_561_94, 32.752_446_738_52, 33.525_565_309_7]),
        ];
        for (t, mean, variance, quantiles) in rows {
            check(Spread::pert(t), mean, variance, quantiles);
        }
    }

    /// Source: solved with SciPy 1.17.1 `fsolve`, polished with mpmath 1.4.1 `findroot`.
    #[test]
    #[rustfmt::skip]
    fn limits_of_a_triangle_are_found_from_its_tenths() {
        let rows = [
            (three(10.0, 20.0, 30.0), 1.909_830_056_250_5, 38.090_169_943_749, 20.0, 7.385_280_953_736),
            (three(5.0, 8.0, 15.0), 1.616_289_647_329_9, 19.551_777_190_21, 9.722_688_945_847, 3.711_382_744_416),
            (three(5.0, 5.0, 15.0), 3.333_333_333_333_3, 20.0, 9.444_444_444_444, 3.747_427_100_898),
            (three(40.0, 50.0, 90.0), 25.166_406_200_002, 113.770_378_220_9, 62.978_928_140_3, 18.659_248_806_88),
            (three(12.0, 25.0, 30.0), 3.720_373_278_651_2, 35.935_326_831_431, 21.551_900_036_69, 6.687_897_690_601),
        ];
        for (t, low, high, mean, sd) in rows {
            let spread = Spread::triangular_from_tenths(t).unwrap();
            let limits = spread.limits();
            assert!(close(limits.0, low) && close(limits.1, high), "{t:?}: {limits:?}");
            assert!(close(spread.mean(), mean) && close(spread.variance().sqrt(), sd), "{t:?}");
        }
    }

    /// By hand: with the mode at the 10 % quantile, m - a = 0.1 w and b - 15 = 0.3 w, so w = 50 / 3. The false root is a = 5.
    #[test]
    fn the_false_root_is_not_taken() {
        let Spread::Triangular(t) = Spread::triangular_from_tenths(three(5.0, 5.0, 15.0)).unwrap() else {
            panic!("a triangle is due")
        };
        assert!(close(t.low, 10.0 / 3.0) && close(t.high, 20.0), "{t:?}");
        // And its mirror image.
        let Spread::Triangular(t) = Spread::triangular_from_tenths(three(5.0, 15.0, 15.0)).unwrap() else {
            panic!("a triangle is due")
        };
        assert!(t.low.abs() < 1e-12 && close(t.high, 50.0 / 3.0), "{t:?}");
    }

    /// Source: mu and sigma by hand, the rest SciPy 1.17.1 `stats.lognorm` and `norm.ppf`.
    #[test]
    #[rustfmt::skip]
    fn lognormal_is_found_from_its_tenths() {
        let rows = [
            (5.0, 15.0, 2.158_744_056_768, 0.428_625_861_886_9, 8.660_254_037_844, 9.493_469_313_317, 4.263_397_118_3, 4.278_991_081_733, 17.527_496_217_55),
            (20.0, 60.0, 3.545_038_417_888, 0.428_625_861_886_9, 34.641_016_151_38, 37.973_877_253_27, 17.053_588_473_2, 17.115_964_326_93, 70.109_984_870_2),
            (1.0, 10.0, 1.151_292_546_497, 0.898_358_347_373_9, 3.162_277_660_168, 4.734_217_274_536, 5.274_524_278_317, 0.721_534_244_129_9, 13.859_356_061_55),
        ];
        for (low, high, mu, sigma, median, mean, sd, p5, p95) in rows {
            let spread = Spread::lognormal_from_tenths(low, high);
            let Spread::Lognormal { mu: m, sigma: s } = spread else { panic!("a lognormal is due") };
            assert!(close(m, mu) && close(s, sigma), "{low} {high}: {m} {s}");
            for (got, expected) in [
                (spread.mean(), mean), (spread.variance().sqrt(), sd), (spread.quantile(0.5), median),
                (spread.quantile(0.05), p5), (spread.quantile(0.95), p95),
                (spread.quantile(0.1), low), (spread.quantile(0.9), high),
                (spread.cdf(low), 0.1), (spread.cdf(p95), 0.95),
            ] {
                assert!(close(got, expected), "{low} {high}: {got} for {expected}");
            }
        }
        assert_eq!(Spread::lognormal_from_tenths(30.0, 30.0), Spread::Certain(30.0));
    }

    /// The 10 % and 90 % quantiles of the SciPy table above lead back to the limits they came from.
    #[test]
    fn limits_of_a_pert_range_are_found_from_its_tenths() {
        for (tenths, low, high) in [
            (three(1.493_272_906_577, 2.0, 2.506_727_093_423), 1.0, 3.0),
            (three(2.449_510_652_296, 3.0, 4.726_670_252_168), 2.0, 7.0),
            (three(4.899_021_304_592, 6.0, 9.453_340_504_336), 4.0, 14.0),
            (three(21.366_648_739_16, 30.0, 32.752_446_738_52), 10.0, 35.0),
        ] {
            let spread = Spread::pert_from_tenths(tenths).unwrap();
            let limits = spread.limits();
            // Twelve printed digits of the tenths leave about eleven of the limits.
            assert!(close(limits.0, low) && close(limits.1, high), "{tenths:?}: {limits:?}");
            assert!(matches!(spread, Spread::Pert(t) if t.likely == tenths.likely));
        }
    }

    #[test]
    fn uniform_is_found_from_its_tenths() {
        // Closed: 80 % of the width lies between the tenths.
        assert_eq!(
            Spread::uniform_from_tenths(10.0, 18.0),
            Spread::Uniform { low: 9.0, high: 19.0 }
        );
        assert_eq!(Spread::uniform_from_tenths(7.0, 7.0), Spread::Certain(7.0));
    }

    #[test]
    fn what_meets_is_certain() {
        let point = three(5.0, 5.0, 5.0);
        assert_eq!(Spread::triangular(point), Spread::Certain(5.0));
        assert_eq!(Spread::pert(point), Spread::Certain(5.0));
        assert_eq!(Spread::uniform(5.0, 5.0), Spread::Certain(5.0));
        assert_eq!(Spread::triangular_from_tenths(point), Ok(Spread::Certain(5.0)));
        assert_eq!(Spread::pert_from_tenths(point), Ok(Spread::Certain(5.0)));
        for edge in [three(0.0, 0.0, 10.0), three(0.0, 10.0, 10.0)] {
            for spread in [Spread::triangular(edge), Spread::pert(edge)] {
                assert_eq!((spread.quantile(0.0), spread.quantile(1.0)), (0.0, 10.0));
                assert_eq!((spread.cdf(0.0), spread.cdf(10.0)), (0.0, 1.0));
            }
        }
    }

    /// Against another implementation: statrs' own triangular and uniform laws.
    #[test]
    fn cdf_agrees_with_statrs() {
        use statrs::distribution::{ContinuousCDF, Triangular, Uniform};
        for (a, m, b) in [(1.0, 2.0, 3.0), (2.0, 3.0, 7.0), (10.0, 30.0, 35.0), (0.0, 0.5, 10.0)] {
            let triangle = Triangular::new(a, b, m).unwrap();
            let flat = Uniform::new(a, b).unwrap();
            for i in 0..=100 {
                let x = a + (b - a) * f64::from(i) / 100.0;
                assert!((Spread::triangular(three(a, m, b)).cdf(x) - triangle.cdf(x)).abs() < 1e-12);
                assert!((Spread::uniform(a, b).cdf(x) - flat.cdf(x)).abs() < 1e-12);
            }
        }
    }

    proptest! {
        /// What was asked for is what comes out: the solved range has these tenths.
        #[test]
        fn solved_ranges_have_the_asked_tenths(low in 0.001_f64..1e4, left in 0.0_f64..1e3, right in 0.0_f64..1e3) {
            prop_assume!(left + right > 1e-3);
            let t = three(low, low + left, low + left + right);
            for spread in [Spread::triangular_from_tenths(t).unwrap(), Spread::pert_from_tenths(t).unwrap()] {
                let (a, b) = spread.limits();
                let tolerance = 1e-9 * (b - a) + 1e-12 * low;
                prop_assert!(a < t.low && t.high < b, "{spread:?}");
                prop_assert!((spread.quantile(0.1) - t.low).abs() < tolerance, "{spread:?}: {}", spread.quantile(0.1));
                prop_assert!((spread.quantile(0.9) - t.high).abs() < tolerance, "{spread:?}: {}", spread.quantile(0.9));
            }
        }

        /// Quantiles and shares are each other's inverse.
        #[test]
        fn quantile_inverts_cdf(low in 0.0_f64..100.0, left in 0.0_f64..100.0, right in 0.01_f64..100.0, q in 0.001_f64..0.999) {
            let t = three(low, low + left, low + left + right);
            for spread in [
                Spread::triangular(t),
                Spread::pert(t),
                Spread::uniform(t.low, t.high),
                Spread::lognormal_from_tenths(low + 0.1, low + 0.1 + right),
            ] {
                prop_assert!((spread.cdf(spread.quantile(q)) - q).abs() < 1e-9, "{spread:?} at {q}");
            }
        }
    }
}
