//! Special functions that give the same bits on every operating system: built on `libm`, not on the platform's own.
//!
//! The reference they are tested against is `statrs`, which calls the platform's logarithm and exponential.

#![allow(clippy::excessive_precision, reason = "coefficients as printed in the cited paper")]
#![allow(clippy::many_single_char_names, reason = "symbols of the cited papers")]

/// Quantile of the standard normal for a lower tail `p` in (0, 1).
///
/// Algorithm AS 241, PPND16 (Wichura 1988, Applied Statistics 37(3), 477-484): about 16 digits.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q * ratio(
            r,
            [
                3.3871328727963666080e0,
                1.3314166789178437745e2,
                1.9715909503065514427e3,
                1.3731693765509461125e4,
                4.5921953931549871457e4,
                6.7265770927008700853e4,
                3.3430575583588128105e4,
                2.5090809287301226727e3,
            ],
            [
                1.0,
                4.2313330701600911252e1,
                6.8718700749205790830e2,
                5.3941960214247511077e3,
                2.1213794301586595867e4,
                3.9307895800092710610e4,
                2.8729085735721942674e4,
                5.2264952788528545610e3,
            ],
        );
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail <= 0.0 {
        return if q < 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let r = libm::sqrt(-libm::log(tail));
    let z = if r <= 5.0 {
        ratio(
            r - 1.6,
            [
                1.42343711074968357734e0,
                4.63033784615654529590e0,
                5.76949722146069140550e0,
                3.64784832476320460504e0,
                1.27045825245236838258e0,
                2.41780725177450611770e-1,
                2.27238449892691845833e-2,
                7.74545014278341407640e-4,
            ],
            [
                1.0,
                2.05319162663775882187e0,
                1.67638483018380384940e0,
                6.89767334985100004550e-1,
                1.48103976427480074590e-1,
                1.51986665636164571966e-2,
                5.47593808499534494600e-4,
                1.05075007164441684324e-9,
            ],
        )
    } else {
        ratio(
            r - 5.0,
            [
                6.65790464350110377720e0,
                5.46378491116411436990e0,
                1.78482653991729133580e0,
                2.96560571828504891230e-1,
                2.65321895265761230930e-2,
                1.24266094738807843860e-3,
                2.71155556874348757815e-5,
                2.01033439929228813265e-7,
            ],
            [
                1.0,
                5.99832206555887937690e-1,
                1.36929880922735805310e-1,
                1.48753612908506148525e-2,
                7.86869131145613259100e-4,
                1.84631831751005468180e-5,
                1.42151175831644588870e-7,
                2.04426310338993978564e-15,
            ],
        )
    };
    if q < 0.0 { -z } else { z }
}

/// The share of a standard normal at or under `z`.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Two polynomials in `r`, coefficients ascending, one over the other.
fn ratio(r: f64, over: [f64; 8], under: [f64; 8]) -> f64 {
    let horner = |c: [f64; 8]| c.iter().rev().fold(0.0, |sum, c| sum * r + c);
    horner(over) / horner(under)
}

/// A beta distribution on (0, 1) with its normalising constant worked out.
#[derive(Debug, Clone, Copy)]
pub struct Beta {
    a: f64,
    b: f64,
    ln_norm: f64,
}

impl Beta {
    /// Shape parameters `a` and `b`, both above 0.
    #[must_use]
    pub fn new(a: f64, b: f64) -> Self {
        Self {
            a,
            b,
            ln_norm: libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b),
        }
    }

    /// The mirrored distribution: that of 1 - x.
    #[must_use]
    pub const fn mirrored(self) -> Self {
        Self {
            a: self.b,
            b: self.a,
            ln_norm: self.ln_norm,
        }
    }

    /// The share at or under `x`: the regularised incomplete beta by its continued fraction
    /// (DLMF 8.17.22, evaluated by the modified Lentz method).
    #[must_use]
    pub fn cdf(self, x: f64) -> f64 {
        if x <= 0.0 {
            return 0.0;
        }
        if x >= 1.0 {
            return 1.0;
        }
        // The fraction converges fast below the mean and slowly above it.
        if x <= (self.a + 1.0) / (self.a + self.b + 2.0) {
            self.front(x) / self.a * self.fraction(x)
        } else {
            let other = self.mirrored();
            1.0 - other.front(1.0 - x) / other.a * other.fraction(1.0 - x)
        }
    }

    /// x^a (1-x)^b / B(a, b).
    fn front(self, x: f64) -> f64 {
        libm::exp(self.a * libm::log(x) + self.b * libm::log1p(-x) - self.ln_norm)
    }

    fn fraction(self, x: f64) -> f64 {
        const TINY: f64 = 1e-300;
        let (a, b) = (self.a, self.b);
        let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
        let mut c = 1.0;
        let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
        let mut product = d;
        for m in 1..400 {
            let m = f64::from(m);
            for term in [
                m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m)),
                -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0)),
            ] {
                d = 1.0 / guard(1.0 + term * d);
                c = guard(1.0 + term / c);
                product *= c * d;
            }
            if (c * d - 1.0).abs() < 1e-16 {
                break;
            }
        }
        product
    }

    /// The value whose lower tail is `q`: Newton's method on the logarithms, where the distribution function is concave.
    #[must_use]
    pub fn quantile(self, q: f64) -> f64 {
        if q <= 0.0 {
            return 0.0;
        }
        if q >= 1.0 {
            return 1.0;
        }
        if q > 0.5 {
            return 1.0 - self.mirrored().lower_quantile(1.0 - q);
        }
        self.lower_quantile(q)
    }

    /// [`Beta::quantile`] for `q` up to one half, with relative accuracy however small it is.
    #[must_use]
    pub fn lower_quantile(self, q: f64) -> f64 {
        let ln_q = libm::log(q);
        // The leading term of the power series at 0 bounds the quantile from below where b >= 1.
        let mut x = libm::exp((ln_q + libm::log(self.a) + self.ln_norm) / self.a).min(0.9);
        for _ in 0..60 {
            let share = self.cdf(x);
            // d ln F / d ln x = x f / F, and x f = front / (1 - x).
            let slope = self.front(x) / (1.0 - x) / share;
            let step = (libm::log(share) - ln_q) / slope;
            let next = (x * libm::exp(-step)).min(0.5 * (1.0 + x));
            if (next - x).abs() <= 2.0 * f64::EPSILON * next {
                return next;
            }
            x = next;
        }
        x
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, Normal};

    #[test]
    fn normal_quantile_and_cdf_agree_with_statrs() {
        let reference = Normal::standard();
        for k in 1..2000 {
            let p = f64::from(k) / 2000.0;
            let (ours, theirs) = (normal_quantile(p), reference.inverse_cdf(p));
            assert!((ours - theirs).abs() < 1e-11, "p = {p}: {ours} against {theirs}");
            assert!((normal_cdf(ours) - p).abs() < 4e-16, "p = {p}");
        }
        // SciPy 1.17.1, stats.norm.ppf.
        assert!((normal_quantile(0.9) - 1.281_551_565_544_600_4).abs() < 1e-15);
        assert!((normal_quantile(0.995) - 2.575_829_303_549).abs() < 1e-12);
    }

    #[test]
    fn beta_agrees_with_statrs_and_inverts() {
        for (a, b) in [(1.0, 5.0), (1.8, 4.2), (3.0, 3.0), (4.2, 1.8), (5.0, 1.0), (2.6, 3.4)] {
            let ours = Beta::new(a, b);
            let theirs = statrs::distribution::Beta::new(a, b).expect("valid shape");
            for k in 1..400 {
                let x = f64::from(k) / 400.0;
                assert!((ours.cdf(x) - theirs.cdf(x)).abs() < 1e-13, "a {a} b {b} x {x}");
                let q = ours.cdf(x);
                // Inverting and going back costs a few units in the last place of the share, however flat the tail.
                let back = ours.cdf(ours.quantile(q));
                assert!((back - q).abs() < 1e-14, "a {a} b {b} q {q}: {back}");
            }
            for q in [1e-12, 1e-9, 1e-6, 1e-4] {
                let x = ours.quantile(q);
                assert!((ours.cdf(x) / q - 1.0).abs() < 1e-12, "a {a} b {b} q {q}");
            }
        }
    }
}
