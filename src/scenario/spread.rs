//! Quantities that may be uncertain: certain values and the shapes a maker can give a range.
//!
//! Formulas: the triangular and uniform laws by inversion; the beta-PERT law with weight 4
//! (Malcolm, Roseboom, Clark & Fazar 1959 fix the mean at (low + 4 likely + high) / 6; the variance here is the beta's own,
//! (mean - low)(high - mean) / 7, not the textbook ((high - low) / 6)^2); the lognormal from two of its tenths.

use super::special::{Beta, normal_cdf, normal_quantile};

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
                t.low + (t.high - t.low) * Beta::new(alpha, beta).quantile(q)
            }
            Self::Uniform { low, high } => low + q * (high - low),
            Self::Lognormal { mu, sigma } => libm::exp(mu + sigma * normal_quantile(q)),
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
