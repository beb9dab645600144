//! Quantities that may be uncertain: certain values and the shapes a maker can give a range.
//!
//! Formulas: the triangular and uniform laws by inversion; the beta-PERT law with weight 4
//! (Malcolm, Roseboom, Clark & Fazar 1959 fix the mean at (low + 4 likely + high) / 6; the variance here is the beta's own,
//! (mean - low)(high - mean) / 7, not the textbook ((high - low) / 6)^2); the lognormal from two of its tenths.

use statrs::distribution::{Beta, ContinuousCDF, Normal};

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
#[derive(Debug, Clone, Copy, PartialEq)]
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
    pub fn uniform_from_tenths(low: f64, high: f64) -> Self {
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

    /// Triangular whose 10 % and 90 % quantiles are `low` and `high` and whose mode is `likely`.
    ///
    /// With x = low - a and y = b - high the two conditions are x^2 = 0.1 w (likely - a) and y^2 = 0.1 w (b - likely) for the
    /// width w = b - a. Given w, each is a quadratic with one root above zero (where low = likely, x = 0 solves it too and
    /// is false: nothing would lie under `low`). What is left, w = (high - low) + x(w) + y(w), has exactly one root because
    /// x and y are concave in w, and it lies under 2.5 (high - low) because x <= 0.1 w + (likely - low).
    ///
    /// # Errors
    /// [`TenthsError`] where rounding leaves no limits around the three values.
    pub fn triangular_from_tenths(t: ThreePoint) -> Result<Self, TenthsError> {
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
    pub fn pert_from_tenths(t: ThreePoint) -> Result<Self, TenthsError> {
        if t.low == t.high {
            return Ok(Self::Certain(t.low));
        }
        let inner = t.high - t.low;
        let tenths = |theta: f64| {
            let (alpha, beta) = (1.0 + 4.0 * theta, 5.0 - 4.0 * theta);
            (beta_quantile(alpha, beta, 0.1), beta_quantile(alpha, beta, 0.9))
        };
        let theta = bisect(0.0, 1.0, |theta| {
            let (q10, q90) = tenths(theta);
            (theta - q10) * inner < (t.likely - t.low) * (q90 - q10)
        });
        let (q10, q90) = tenths(theta);
        let width = inner / (q90 - q10);
        solved(t.low - width * q10, t.likely, t.high + width * (1.0 - q90)).map(Self::Pert)
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
        }
    }

    /// The value that a share `q` in [0, 1] of draws stays under.
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
                t.low + (t.high - t.low) * beta_quantile(alpha, beta, q)
            }
            Self::Uniform { low, high } => low + q * (high - low),
            Self::Lognormal { mu, sigma } => libm::exp(mu + sigma * standard_normal().inverse_cdf(q)),
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
                Beta::new(alpha, beta).map_or(f64::NAN, |d| d.cdf(unit))
            }
            Self::Uniform { low, high } => ((x - low) / (high - low)).clamp(0.0, 1.0),
            Self::Lognormal { mu, sigma } => {
                if x <= 0.0 {
                    0.0
                } else {
                    standard_normal().cdf((libm::log(x) - mu) / sigma)
                }
            }
        }
    }

    /// The smallest and largest value it can take (0 and infinity for the lognormal).
    #[must_use]
    pub fn limits(&self) -> (f64, f64) {
        match *self {
            Self::Certain(v) => (v, v),
            Self::Triangular(t) | Self::Pert(t) => (t.low, t.high),
            Self::Uniform { low, high } => (low, high),
            Self::Lognormal { .. } => (0.0, f64::INFINITY),
        }
    }
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

fn standard_normal() -> Normal {
    Normal::standard()
}

/// Quantile of Beta(alpha, beta): bisection on the regularised incomplete beta, then Newton steps kept inside the bracket.
fn beta_quantile(alpha: f64, beta: f64, q: f64) -> f64 {
    if q <= 0.0 {
        return 0.0;
    }
    if q >= 1.0 {
        return 1.0;
    }
    let cdf = |x: f64| statrs::function::beta::beta_reg(alpha, beta, x);
    let ln_norm = statrs::function::beta::ln_beta(alpha, beta);
    let pdf = |x: f64| libm::exp((alpha - 1.0) * libm::log(x) + (beta - 1.0) * libm::log1p(-x) - ln_norm);
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    let mut x = alpha / (alpha + beta);
    for _ in 0..200 {
        let excess = cdf(x) - q;
        if excess > 0.0 {
            high = x;
        } else {
            low = x;
        }
        let newton = x - excess / pdf(x);
        let next = if newton > low && newton < high {
            newton
        } else {
            0.5 * (low + high)
        };
        if (next - x).abs() <= 4.0 * f64::EPSILON * next {
            return next;
        }
        x = next;
    }
    x
}
