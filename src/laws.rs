//! Distribution laws that give the same bits on every operating system: built on `libm`, not on the platform's own functions.
//!
//! The lowest room of all: ranges, expected values, intervals and estimates take their laws from here. The reference they are
//! tested against is `statrs`, which calls the platform's logarithm and exponential, and tables of SciPy and of NIST.
//!
//! * Normal: Wichura (1988), AS 241.
//! * Beta: the continued fraction of DLMF 8.17.22. Student's t and the binomial are incomplete beta functions: Abramowitz & Stegun
//!   (1964), "Handbook of Mathematical Functions", 26.7.1 and 26.5.24.
//! * Chi-squared: the incomplete gamma function by its series (DLMF 8.7.1) or its continued fraction (DLMF 8.9.2).
//! * Single binomial chances: Loader (2000), "Fast and accurate computation of binomial probabilities" (from memory; held against
//!   `statrs` and SciPy here).

#![allow(clippy::excessive_precision, reason = "coefficients as printed in the cited paper")]
#![allow(clippy::many_single_char_names, reason = "symbols of the cited papers")]

/// Quantile of the standard normal for a lower tail `p` in (0, 1).
///
/// Algorithm AS 241, PPND16 (Wichura 1988, Applied Statistics 37(3), 477-484): about 16 digits. Its coefficients make it long.
#[must_use]
pub(crate) fn normal_quantile(p: f64) -> f64 {
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
pub(crate) fn normal_cdf(z: f64) -> f64 {
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
    pub(crate) const fn mirrored(self) -> Self {
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
        if self.is_low(x) {
            self.low_share(x, self.front(x))
        } else {
            let other = self.mirrored();
            1.0 - other.low_share(1.0 - x, other.front(1.0 - x))
        }
    }

    /// Whether the fraction converges fast: it does below the mean, and slowly above it.
    fn is_low(self, x: f64) -> bool {
        x <= (self.a + 1.0) / (self.a + self.b + 2.0)
    }

    /// [`Beta::cdf`] at a low `x`, of its [`Beta::front`].
    fn low_share(self, x: f64, front: f64) -> f64 {
        front / self.a * self.fraction(x)
    }

    /// x^a (1-x)^b / B(a, b).
    fn front(self, x: f64) -> f64 {
        let (a, b) = (self.a, self.b);
        // Logarithms of large gammas would cancel each other's digits.
        if a.max(b) >= LARGE {
            return a * b / (a + b) * binomial_chance(a, b, x);
        }
        libm::exp(self.a * libm::log(x) + self.b * libm::log1p(-x) - self.ln_norm)
    }

    fn fraction(self, x: f64) -> f64 {
        const TINY: f64 = 1e-300;
        let (a, b) = (self.a, self.b);
        let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
        let mut c = 1.0;
        let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
        let mut product = d;
        // About the mean it takes some multiple of the square root of the larger parameter.
        let most = 400 + 10 * libm::sqrt(a.max(b)) as u32;
        for m in 1..most {
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
    pub(crate) fn lower_quantile(self, q: f64) -> f64 {
        let ln_q = libm::log(q);
        // The leading term of the power series at 0 bounds the quantile from below where b >= 1.
        let mut x = libm::exp((ln_q + libm::log(self.a) + self.ln_norm) / self.a).min(0.9);
        for _ in 0..60 {
            let front = self.front(x);
            let share = if self.is_low(x) {
                self.low_share(x, front)
            } else {
                self.cdf(x)
            };
            // d ln F / d ln x = x f / F, and x f = front / (1 - x).
            let slope = front / (1.0 - x) / share;
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

/// The share of Student's t with `freedom` degrees (above 0, not necessarily whole) at or under `t`.
#[must_use]
pub(crate) fn student_cdf(t: f64, freedom: f64) -> f64 {
    let tail = 0.5 * Beta::new(0.5 * freedom, 0.5).cdf(freedom / (freedom + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// The value of Student's t with `freedom` degrees (above 0) whose lower tail is `p` in (0, 1).
#[must_use]
pub(crate) fn student_quantile(p: f64, freedom: f64) -> f64 {
    let tail = p.min(1.0 - p);
    // Above the median the share grows ever more slowly: halving a bracket needs no slope and cannot overshoot.
    let mut high = 1.0;
    while student_cdf(-high, freedom) > tail {
        high *= 2.0;
    }
    let t = halved(0.0, high, |t| student_cdf(-t, freedom) > tail);
    if p < 0.5 { -t } else { t }
}

/// The share of a chi-squared law with `freedom` degrees (above 0) at or under `x`.
#[must_use]
pub(crate) fn chi_squared_cdf(x: f64, freedom: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    let (a, x) = (0.5 * freedom, 0.5 * x);
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    let most = 400 + 10 * libm::sqrt(a) as u32;
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for k in 1..most {
            term *= x / (a + f64::from(k));
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        return (front * sum).min(1.0);
    }
    // The modified Lentz method, as for the beta.
    let mut b = x + 1.0 - a;
    let (mut c, mut d) = (1e300, 1.0 / b);
    let mut product = d;
    for k in 1..most {
        let k = f64::from(k);
        let term = -k * (k - a);
        b += 2.0;
        d = 1.0 / (term * d + b);
        c = b + term / c;
        product *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
    }
    1.0 - front * product
}

/// The value of a chi-squared law with `freedom` degrees (above 0) whose lower tail is `p` in (0, 1).
#[must_use]
pub(crate) fn chi_squared_quantile(p: f64, freedom: f64) -> f64 {
    let mut high = freedom.max(1.0);
    while chi_squared_cdf(high, freedom) < p {
        high *= 2.0;
    }
    halved(0.0, high, |x| chi_squared_cdf(x, freedom) < p)
}

/// Where what holds at `low` and not at `high` stops holding: halved until there is no double between the two.
fn halved(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    loop {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            return high;
        }
        if holds(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
}

/// How many of `n` (not 0) are the share `q` in (0, 1\] of them, or just more: the quotient decides, as it does where shares are compared.
#[must_use]
pub fn reaching(n: usize, q: f64) -> usize {
    let reaches = |k: usize| k as f64 / n as f64 >= q;
    // The product may be rounded past a whole number.
    let near = (libm::ceil(q * n as f64) as usize).clamp(1, n);
    if near > 1 && reaches(near - 1) {
        near - 1
    } else if reaches(near) {
        near
    } else {
        (near + 1).min(n)
    }
}

/// The number of successes in `n` tries, each of which succeeds with chance `p`.
#[derive(Debug, Clone, Copy)]
pub struct Binomial {
    n: u64,
    p: f64,
}

impl Binomial {
    /// `p` in [0, 1].
    #[must_use]
    pub const fn new(n: u64, p: f64) -> Self {
        Self { n, p }
    }

    /// The chance of exactly `k`.
    #[must_use]
    pub fn pmf(self, k: u64) -> f64 {
        let (n, p) = (self.n as f64, self.p);
        if k > self.n {
            return 0.0;
        }
        if p <= 0.0 {
            return f64::from(u8::from(k == 0));
        }
        if p >= 1.0 {
            return f64::from(u8::from(k == self.n));
        }
        if k == 0 {
            return libm::exp(n * libm::log1p(-p));
        }
        if k == self.n {
            return libm::exp(n * libm::log(p));
        }
        binomial_chance(k as f64, (self.n - k) as f64, p)
    }

    /// The chance of `k` or fewer.
    #[must_use]
    pub fn cdf(self, k: u64) -> f64 {
        if k >= self.n || self.p <= 0.0 {
            return 1.0;
        }
        if self.p >= 1.0 {
            return 0.0;
        }
        Beta::new((self.n - k) as f64, k as f64 + 1.0).cdf(1.0 - self.p)
    }

    /// The smallest k whose [`Binomial::cdf`] reaches `share` in (0, 1).
    ///
    /// The normal approximation is hardly ever off by more than a few, so the search goes out from there in doubling steps before it
    /// closes in.
    #[must_use]
    pub fn quantile(self, share: f64) -> u64 {
        let (n, p) = (self.n as f64, self.p);
        let reaches = |k: f64| k >= n || (k >= 0.0 && self.cdf(k as u64) >= share);
        let spread = libm::sqrt(n * p * (1.0 - p));
        let guess = libm::floor(n * p + normal_quantile(share) * spread).clamp(0.0, n);
        // `low` does not reach the share, `high` does.
        let (mut low, mut high, mut step) = (guess, guess, 2.0);
        while low >= 0.0 && reaches(low) {
            high = low;
            low -= step;
            step *= 2.0;
        }
        step = 2.0;
        while !reaches(high) {
            low = low.max(high);
            high += step;
            step *= 2.0;
        }
        let (mut low, mut high) = (low.max(-1.0), high.min(n));
        while high - low > 1.0 {
            let middle = libm::floor(f64::midpoint(low, high));
            if reaches(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        high as u64
    }
}

/// From here on Stirling's series gives the last digit.
const LARGE: f64 = 16.0;

/// The chance of `k` successes and `left` failures, both above 0 and not necessarily whole, where each succeeds with chance `p` in (0, 1).
///
/// Loader's form: Stirling's errors and deviances instead of factorials, so that nothing cancels however large they are.
fn binomial_chance(k: f64, left: f64, p: f64) -> f64 {
    let n = k + left;
    let error = stirling_error(n) - stirling_error(k) - stirling_error(left);
    let exponent = error - deviance(k, n * p) - deviance(left, n * (1.0 - p));
    libm::exp(exponent) * libm::sqrt(n / (2.0 * std::f64::consts::PI * k * left))
}

/// ln n! less Stirling's formula for it, for n above 0.
fn stirling_error(n: f64) -> f64 {
    if n < LARGE {
        let stirling = (n + 0.5) * libm::log(n) - n + 0.5 * libm::log(2.0 * std::f64::consts::PI);
        return libm::lgamma(n + 1.0) - stirling;
    }
    let square = n * n;
    let series = [1.0 / 12.0, 1.0 / 360.0, 1.0 / 1260.0, 1.0 / 1680.0, 1.0 / 1188.0];
    let [a, b, c, d, e] = series;
    (a - (b - (c - (d - e / square) / square) / square) / square) / n
}

/// x ln(x / mean) + mean - x, without cancelling where the two are close.
fn deviance(x: f64, mean: f64) -> f64 {
    if (x - mean).abs() < 0.1 * (x + mean) {
        let v = (x - mean) / (x + mean);
        let mut sum = (x - mean) * v;
        let mut power = 2.0 * x * v;
        for k in 1..1000 {
            power *= v * v;
            let next = sum + power / f64::from(2 * k + 1);
            if next == sum {
                return next;
            }
            sum = next;
        }
    }
    x * libm::log(x / mean) + mean - x
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ChiSquared, ContinuousCDF, Discrete, DiscreteCDF, Normal, StudentsT};

    /// `statrs` takes differences of logarithms of gammas, which costs it digits where they are large.
    fn close(found: f64, due: f64, relative: f64, what: &str) {
        assert!(
            (found - due).abs() <= relative * due.abs() + 1e-300,
            "{what}: {found} against {due}"
        );
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2: critical values of Student's t, to its three decimals.
    #[test]
    fn student_is_the_handbooks() {
        for (freedom, p, due) in [
            (1.0, 0.975, 12.706),
            (2.0, 0.975, 4.303),
            (5.0, 0.95, 2.015),
            (10.0, 0.975, 2.228),
            (30.0, 0.995, 2.750),
            (100.0, 0.999, 3.174),
        ] {
            let found = student_quantile(p, freedom);
            assert!((found - due).abs() <= 0.000_5, "{freedom} {p}: {found}");
            assert_eq!(
                student_quantile(1.0 - p, freedom),
                -student_quantile(1.0 - (1.0 - p), freedom)
            );
        }
        for freedom in [0.7, 1.0, 2.0, 3.5, 7.0, 25.0, 400.0, 20_000.0] {
            let theirs = StudentsT::new(0.0, 1.0, freedom).expect("degrees above 0");
            for k in -40..=40 {
                let t = f64::from(k) / 8.0;
                let what = format!("freedom {freedom}, t {t}");
                close(student_cdf(t, freedom), theirs.cdf(t), 1e-12 + 1e-14 * freedom, &what);
                let back = student_quantile(student_cdf(t, freedom), freedom);
                assert!((back - t).abs() < 1e-9 * (1.0 + t.abs()), "{what}: {back}");
            }
        }
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4: critical values of chi-squared, to its three decimals.
    #[test]
    fn chi_squared_is_the_handbooks() {
        for (freedom, p, due) in [
            (1.0, 0.95, 3.841),
            (2.0, 0.99, 9.210),
            (5.0, 0.975, 12.833),
            (10.0, 0.05, 3.940),
            (30.0, 0.95, 43.773),
            (100.0, 0.999, 149.449),
        ] {
            let found = chi_squared_quantile(p, freedom);
            assert!((found - due).abs() <= 0.000_5, "{freedom} {p}: {found}");
        }
        for freedom in [0.5, 1.0, 2.0, 3.7, 12.0, 90.0, 3000.0] {
            let theirs = ChiSquared::new(freedom).expect("degrees above 0");
            for k in 1..60 {
                let x = freedom * f64::from(k) / 20.0;
                close(
                    chi_squared_cdf(x, freedom),
                    theirs.cdf(x),
                    1e-9,
                    &format!("freedom {freedom}, x {x}"),
                );
            }
        }
        assert_eq!(chi_squared_cdf(0.0, 3.0), 0.0);
    }

    #[test]
    fn binomials_agree_with_statrs_and_add_up() {
        for (n, p) in [
            (1_u64, 0.3),
            (7, 0.02),
            (40, 0.5),
            (300, 0.97),
            (2_000, 0.8),
            (50_000, 0.1),
        ] {
            let (ours, theirs) = (
                Binomial::new(n, p),
                statrs::distribution::Binomial::new(p, n).expect("a chance"),
            );
            let mut sum = 0.0;
            for k in 0..=n {
                let chance = ours.pmf(k);
                sum += chance;
                if chance > 1e-250 {
                    close(chance, theirs.pmf(k), 1e-8, &format!("n {n}, p {p}, k {k}"));
                }
                if k % n.div_ceil(40) == 0 {
                    assert!(
                        (ours.cdf(k) - theirs.cdf(k)).abs() < 1e-12 + 1e-14 * n as f64,
                        "n {n}, p {p}, k {k}"
                    );
                    assert!((ours.cdf(k) - sum).abs() < 1e-12, "n {n}, p {p}, k {k}: {sum}");
                }
            }
            assert!((sum - 1.0).abs() < 1e-12, "n {n}, p {p}: {sum}");
        }
        for (n, p, k, due) in [
            (5, 0.0, 0, 1.0),
            (5, 0.0, 1, 0.0),
            (5, 1.0, 5, 1.0),
            (5, 1.0, 4, 0.0),
            (5, 0.4, 6, 0.0),
        ] {
            assert_eq!(Binomial::new(n, p).pmf(k), due, "n {n}, p {p}, k {k}");
        }
        // By hand: 10 x 0.3^2 x 0.7^3.
        close(Binomial::new(5, 0.3).pmf(2), 0.3087, 1e-14, "two of five");
    }

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
