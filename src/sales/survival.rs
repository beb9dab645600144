//! Times until a sale, some of them cut off before it: laws with covariates by maximum likelihood.
//!
//! An offer that was open for t days and sold d pieces is d buyers of a Poisson process whose mean number by t days is
//! `m(t) = exp(x b) (t / L)^k`, where L is a span that only sets the scale of b. If it sold out, its last buyer came at t:
//! `log m'(t) + (d - 1) log m(t) - m(t)`; if not, d came by t: `d log m(t) - m(t)`; if it sold out within t, at least d came:
//! `log P(N >= d)`. For single pieces this is survival with right and interval censoring: k = 1 is the exponential law, any k Weibull's as proportional hazards (Kalbfleisch & Prentice 2002, "The Statistical
//! Analysis of Failure Time Data", chapter 3; from memory). In the third law every offer has an own factor of mean 1, gamma with variance
//! v: counts are then negative binomial (Lawless 1987, "Regression methods for Poisson process data", JASA 82, 808-815; from memory).
//!
//! `z = x b + k log(t / L)` is linear in (b, k), and the likelihood of the first two laws concave in them, so that Newton's method with
//! halved steps finds the one maximum; v is found around it by golden section.
//!
//! An interval of one coefficient is that of the profile likelihood: values whose likelihood, the rest fitted anew, is not less than the
//! largest by more than `n/2 log(1 + t^2 / f)`, t Student's at f degrees: for n values of a normal law, f their number less that of
//! parameters, this is Student's own interval, and for many it becomes chi-squared's 3.84 / 2. Here n is the number of sales (of offers, where those are fewer or
//! differ) and f one more than n less the parameters, as times of this kind are less wild (an assumption, held to simulated logs).

#![allow(
    clippy::needless_range_loop,
    reason = "rows and columns of a matrix are told by their numbers"
)]

use crate::laws::{Beta, chi_squared_cdf};
use crate::stats::Z975;
use crate::stats::estimate::student;

/// Which law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Law {
    /// Exponential: as likely on every day.
    Even,
    /// Weibull: more or less likely as an offer gets older.
    Ageing,
    /// Exponential, some offers better than others.
    Uneven,
}

/// One offer.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Days it was open, above 0.
    pub days: f64,
    /// Pieces sold.
    pub sold: f64,
    /// What its last day is.
    pub ended: Ended,
    /// Covariates.
    pub x: Vec<f64>,
}

/// What an offer's last day is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The day until which it was looked at.
    Looked,
    /// The day of its last sale.
    SoldOut,
    /// By then it was sold out, nobody knows since when.
    SoldOutBy,
}

/// Where the likelihood is largest.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The law.
    pub law: Law,
    /// Coefficients of the covariates; under [`Law::Ageing`] k after them.
    pub b: Vec<f64>,
    /// Variance of the offers' own factors; 0 but for [`Law::Uneven`].
    pub v: f64,
    /// Its logarithm.
    pub log_likelihood: f64,
    /// Inverse of the observed information of `b`, v held; none where that is singular.
    pub covariance: Option<Vec<Vec<f64>>>,
    /// Logarithm of the determinant of the information.
    pub log_information: f64,
}

impl Fit {
    /// k of Weibull's law.
    #[must_use]
    pub fn k(&self) -> f64 {
        match self.law {
            Law::Ageing => self.b.last().copied().unwrap_or(1.0),
            Law::Even | Law::Uneven => 1.0,
        }
    }

    /// Akaike's criterion, corrected for `n` independent pieces of what is known (Hurvich & Tsai 1989, "Regression and time series model
    /// selection in small samples", Biometrika 76(2), 297-307): twice the parameters less twice the log-likelihood, and
    /// `2 p (p + 1) / (n - p - 1)`, whose denominator is held at a half where nothing is left.
    #[must_use]
    pub(crate) fn aicc(&self, n: usize) -> f64 {
        let p = (self.b.len() + usize::from(self.law == Law::Uneven)) as f64;
        2.0 * p - 2.0 * self.log_likelihood + 2.0 * p * (p + 1.0) / (n as f64 - p - 1.0).max(0.5)
    }

    /// Standard error of a coefficient.
    #[must_use]
    pub fn se(&self, column: usize) -> Option<f64> {
        let variance = self.covariance.as_ref()?.get(column)?.get(column)?;
        Some(libm::sqrt(*variance))
    }
}

/// A coefficient that is held, and at which value.
pub type Held = Option<(usize, f64)>;

/// No coefficient of a covariate is looked for beyond this.
pub const FARTHEST: f64 = 40.0;
/// Steps of Newton's method at the most.
const STEPS: usize = 100;
/// Steps of the golden section: the variance is known to a ten-thousandth.
const GOLDEN: usize = 24;
/// Halvings of the way to an interval's end.
const HALVINGS: usize = 34;
/// k is looked for between these.
const SHAPES: (f64, f64) = (0.02, 50.0);
/// Shapes that are looked at over its interval.
const SHAPES_LOOKED_AT: usize = 25;
/// From so many offers on v stays at its value while an interval is looked for: the two hardly depend on each other.
const MANY: usize = 500;

/// Offers with what they are fitted with.
#[derive(Debug, Clone)]
pub struct Problem {
    rows: Vec<Row>,
    /// The span L.
    pub span: f64,
    logs: Vec<f64>,
    /// What each offer's log-likelihood has less, whatever the coefficients are.
    less: Vec<f64>,
    sold_out: f64,
}

/// The variance of the offers' own factors, and what the log-likelihood of each offer has more for it, whatever the coefficients are.
struct Varied {
    v: f64,
    more: Vec<f64>,
}

impl Problem {
    /// `rows` are not empty, and of one number of covariates.
    #[must_use]
    pub fn new(rows: Vec<Row>) -> Self {
        let span = rows.iter().map(|r| r.days).sum::<f64>() / rows.len().max(1) as f64;
        let logs = rows.iter().map(|r| libm::log(r.days / span)).collect();
        // Of the last sale its day is known: m'(t) = k m(t) / t.
        let less = rows.iter().map(|r| match r.ended {
            Ended::SoldOut => libm::log(r.days) + libm::lgamma(r.sold),
            _ => libm::lgamma(r.sold + 1.0),
        });
        let less = less.collect();
        let sold_out = rows.iter().filter(|r| r.ended == Ended::SoldOut).count() as f64;
        Self {
            rows,
            span,
            logs,
            less,
            sold_out,
        }
    }

    fn varied(&self, v: f64) -> Varied {
        let more = |row: &Row| if v > 0.0 { rising(row.sold, v) } else { 0.0 };
        let more = self.rows.iter().map(more).collect();
        Varied { v, more }
    }

    /// Offers.
    #[must_use]
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// Coefficients of an offer's rate: outlets' levels, the price.
    #[must_use]
    pub(crate) fn covariates(&self) -> usize {
        self.rows.first().map_or(0, |r| r.x.len())
    }

    /// The largest likelihood under a law, a coefficient held or not, begun from such coefficients.
    #[must_use]
    pub fn fit(&self, law: Law, held: Held, start: Option<&Fit>) -> Fit {
        if law != Law::Uneven {
            return self.newton(law, 0.0, held, start.map(|s| s.b.as_slice()));
        }
        if let Some(start) = start.filter(|s| s.law == law && self.rows.len() >= MANY) {
            return self.newton(law, start.v, held, Some(&start.b));
        }
        let even = self.newton(law, 0.0, held, start.filter(|s| s.law == law).map(|s| s.b.as_slice()));
        let at = |u: f64, from: &Fit| self.newton(law, u / (1.0 - u), held, Some(&from.b));
        let ratio = 0.5 * (libm::sqrt(5.0) - 1.0);
        let (mut low, mut high) = (0.0, 0.95);
        let (mut a, mut b) = (high - ratio * (high - low), low + ratio * (high - low));
        let (mut fit_a, mut fit_b) = (at(a, &even), at(b, &even));
        for _ in 0..GOLDEN {
            if fit_a.log_likelihood >= fit_b.log_likelihood {
                (high, b, fit_b) = (b, a, fit_a);
                a = high - ratio * (high - low);
                fit_a = at(a, &fit_b);
            } else {
                (low, a, fit_a) = (a, b, fit_b);
                b = low + ratio * (high - low);
                fit_b = at(b, &fit_a);
            }
        }
        let best = if fit_a.log_likelihood >= fit_b.log_likelihood {
            fit_a
        } else {
            fit_b
        };
        if even.log_likelihood >= best.log_likelihood {
            even
        } else {
            best
        }
    }

    /// Where a start is none, or of another length, a flat one is taken.
    fn begin(&self, law: Law, held: Held, start: Option<&[f64]>) -> Vec<f64> {
        let m = self.covariates();
        let length = m + usize::from(law == Law::Ageing);
        let mut b = match start {
            Some(start) if start.len() == length => start.to_vec(),
            Some(start) if start.len() >= m => start[..m].iter().copied().chain([1.0]).take(length).collect(),
            _ => (0..length).map(|k| if k == m { 1.0 } else { 0.0 }).collect(),
        };
        if let Some((column, value)) = held {
            b[column] = value;
        }
        b
    }

    fn newton(&self, law: Law, v: f64, held: Held, start: Option<&[f64]>) -> Fit {
        let mut b = self.begin(law, held, start);
        let m = self.covariates();
        let varied = self.varied(v);
        let mut now = self.log_likelihood(law, &varied, &b);
        let mut damping = 0.0;
        let (mut slope, mut curve) = self.derivatives(law, v, &b, held);
        for _ in 0..STEPS {
            let mut damped = curve.clone();
            for (k, row) in damped.iter_mut().enumerate() {
                row[k] += damping * (1.0 + row[k]);
            }
            let Some(step) = solve(&damped, &slope) else {
                damping = (damping * 10.0).max(1e-8);
                if damping > 1e12 {
                    break;
                }
                continue;
            };
            let longest = step.iter().fold(0.0_f64, |most, s| most.max(s.abs()));
            let mut size = if longest > 4.0 { 4.0 / longest } else { 1.0 };
            let mut moved = None;
            for _ in 0..40 {
                let mut next: Vec<f64> = b
                    .iter()
                    .zip(&step)
                    .map(|(b, s)| (b + size * s).clamp(-3.0 * FARTHEST, 3.0 * FARTHEST))
                    .collect();
                if law == Law::Ageing {
                    next[m] = next[m].clamp((b[m] * 0.3).max(SHAPES.0), SHAPES.1);
                }
                let there = self.log_likelihood(law, &varied, &next);
                if there >= now - 1e-13 * now.abs() {
                    moved = Some((next, there));
                    break;
                }
                size *= 0.5;
            }
            let Some((next, there)) = moved else { break };
            let gain = there - now;
            let way = next
                .iter()
                .zip(&b)
                .fold(0.0_f64, |most, (a, b)| most.max((a - b).abs()));
            (b, now) = (next, there.max(now));
            (slope, curve) = self.derivatives(law, v, &b, held);
            damping *= 0.1;
            if way < 1e-9 || (gain.abs() < 1e-13 * (1.0 + now.abs()) && way < 1e-6) {
                break;
            }
        }
        let (covariance, log_information) = inverse(&curve);
        Fit {
            law,
            b,
            v,
            log_likelihood: now,
            covariance,
            log_information,
        }
    }

    fn z(&self, row: usize, b: &[f64], law: Law) -> f64 {
        let x = &self.rows[row].x;
        let k = if law == Law::Ageing { b[x.len()] } else { 1.0 };
        x.iter().zip(b).map(|(x, b)| x * b).sum::<f64>() + k * self.logs[row]
    }

    fn log_likelihood(&self, law: Law, varied: &Varied, b: &[f64]) -> f64 {
        let v = varied.v;
        let mut sum = 0.0;
        for (i, row) in self.rows.iter().enumerate() {
            let z = self.z(i, b, law);
            let d = row.sold;
            if row.ended == Ended::SoldOutBy {
                sum += at_least(d, z, v).0;
                continue;
            }
            sum += d * z;
            if v > 0.0 {
                sum -= (d + 1.0 / v) * libm::log1p(v * libm::exp(z));
                sum += varied.more[i];
            } else {
                sum -= libm::exp(z);
            }
            sum -= self.less[i];
        }
        if law == Law::Ageing {
            sum += self.sold_out * libm::log(b[b.len() - 1]);
        }
        if sum.is_nan() { f64::NEG_INFINITY } else { sum }
    }

    /// Slope of the log-likelihood and its curvature with the sign turned; a held coefficient does not move.
    fn derivatives(&self, law: Law, v: f64, b: &[f64], held: Held) -> (Vec<f64>, Vec<Vec<f64>>) {
        let n = b.len();
        let mut slope = vec![0.0; n];
        let mut curve = vec![vec![0.0; n]; n];
        let mut x = vec![0.0; n];
        for (i, row) in self.rows.iter().enumerate() {
            let z = self.z(i, b, law);
            let m = libm::exp(z);
            let (first, second) = if row.ended == Ended::SoldOutBy {
                let (_, first, second) = at_least(row.sold, z, v);
                (first, second)
            } else if v > 0.0 {
                let q = 1.0 / (1.0 + v * m);
                (
                    row.sold - (row.sold * v + 1.0) * m * q,
                    (row.sold * v + 1.0) * m * q * q,
                )
            } else {
                (row.sold - m, m)
            };
            x[..row.x.len()].copy_from_slice(&row.x);
            if n > row.x.len() {
                x[row.x.len()] = self.logs[i];
            }
            for j in 0..n {
                if x[j] == 0.0 {
                    continue;
                }
                slope[j] += first * x[j];
                for l in 0..=j {
                    curve[j][l] += second * x[j] * x[l];
                }
            }
        }
        if law == Law::Ageing {
            let k = b[n - 1];
            slope[n - 1] += self.sold_out / k;
            curve[n - 1][n - 1] += self.sold_out / (k * k);
        }
        for j in 0..n {
            for l in 0..j {
                curve[l][j] = curve[j][l];
            }
        }
        if let Some((column, _)) = held {
            slope[column] = 0.0;
            for j in 0..n {
                curve[column][j] = 0.0;
                curve[j][column] = 0.0;
            }
            curve[column][column] = 1.0;
        }
        (slope, curve)
    }

    /// Independent pieces of what is known: sales, or offers where they differ or an offer's age counts, as single sales of one have no days
    /// of their own.
    #[must_use]
    pub fn known(&self, law: Law) -> usize {
        let sales = self.rows.iter().map(|r| r.sold).sum::<f64>() as usize;
        match law {
            Law::Even => sales,
            Law::Ageing => sales.min(self.rows.len()),
            Law::Uneven => self.rows.len(),
        }
    }

    /// Degrees of freedom that are left.
    #[must_use]
    pub fn freedom(&self, law: Law) -> usize {
        (self.known(law) + 1).saturating_sub(self.covariates() + usize::from(law != Law::Even))
    }

    /// By how much a log-likelihood may lie below the largest within the 95 % interval; `None` with no freedom left.
    #[must_use]
    pub fn allowed(&self, law: Law) -> Option<f64> {
        if law == Law::Even {
            return Some(0.5 * Z975 * Z975);
        }
        let (n, freedom) = (self.known(law) as f64, self.freedom(law));
        let t = student(0.95, freedom)?;
        Some(0.5 * n * libm::log1p(t * t / freedom as f64))
    }

    /// The law with ages over all shapes that its 95 % interval holds, the rest fitted at each: what is left of [`Problem::allowed`] there, as a
    /// share, and the fit. Another law has no shape: it alone.
    #[must_use]
    pub(crate) fn along_shapes(&self, fit: &Fit) -> Vec<(f64, Fit)> {
        let Some(allowed) = self.allowed(fit.law).filter(|_| fit.law == Law::Ageing) else {
            return vec![(1.0, fit.clone())];
        };
        let column = fit.b.len() - 1;
        let [low, high] = self.interval(fit, column);
        let low = low.unwrap_or(SHAPES.0).max(SHAPES.0);
        let step = libm::log(high.unwrap_or(SHAPES.1) / low) / (SHAPES_LOOKED_AT - 1) as f64;
        let mut before = fit.clone();
        let mut found = vec![(1.0, self.fit(fit.law, Some((column, fit.k())), Some(fit)))];
        for n in 0..SHAPES_LOOKED_AT {
            let k = low * libm::exp(step * n as f64);
            before = self.fit(fit.law, Some((column, k)), Some(&before));
            let share = 1.0 - (fit.log_likelihood - before.log_likelihood) / allowed;
            found.push((share.clamp(0.0, 1.0), before.clone()));
        }
        found
    }

    /// The 95 % interval of a coefficient about its fit; `None`: no end within [`FARTHEST`].
    #[must_use]
    pub fn interval(&self, fit: &Fit, column: usize) -> [Option<f64>; 2] {
        let Some(allowed) = self.allowed(fit.law) else {
            return [None; 2];
        };
        // A likelihood that rises for ever is largest at no value: its interval has one end, looked for from afar.
        let best = fit.b[column].clamp(-FARTHEST, FARTHEST);
        let step = fit
            .se(column)
            .filter(|se| se.is_finite() && *se > 0.0)
            .unwrap_or(1.0)
            .min(4.0);
        [-1.0, 1.0].map(|way| {
            let (mut inside, mut reach) = ((best, fit.clone()), step);
            let mut outside = loop {
                let value = best + way * reach;
                if value.abs() > FARTHEST {
                    return None;
                }
                let there = self.fit(fit.law, Some((column, value)), Some(&inside.1));
                if there.log_likelihood < fit.log_likelihood - allowed {
                    break value;
                }
                inside = (value, there);
                reach *= 1.7;
            };
            for _ in 0..HALVINGS {
                let middle = f64::midpoint(inside.0, outside);
                if (outside - inside.0).abs() < 1e-7 * (1.0 + middle.abs()) {
                    break;
                }
                let there = self.fit(fit.law, Some((column, middle)), Some(&inside.1));
                if there.log_likelihood < fit.log_likelihood - allowed {
                    outside = middle;
                } else {
                    inside = (middle, there);
                }
            }
            Some(inside.0)
        })
    }
}

/// log P(N >= d) for a mean of exp(z), its slope in z and its curvature with the sign turned: a gamma law's share, or a beta law's where
/// means vary.
fn at_least(d: f64, z: f64, v: f64) -> (f64, f64, f64) {
    let m = libm::exp(z);
    let (log_front, share, bend) = if v > 0.0 {
        let nu = 1.0 / v;
        let q = v * m / (1.0 + v * m);
        let front =
            d * libm::log(q) - nu * libm::log1p(v * m) + libm::lgamma(d + nu) - libm::lgamma(d) - libm::lgamma(nu);
        (front, Beta::new(d, nu).cdf(q), d * (1.0 - q) - nu * q)
    } else {
        (d * z - m - libm::lgamma(d), chi_squared_cdf(2.0 * m, 2.0 * d), d - m)
    };
    // Where the share is nothing in doubles, its first term is all of it.
    let log_share = if share > 1e-290 {
        libm::log(share)
    } else {
        log_front - libm::log(d)
    };
    let slope = libm::exp(log_front - log_share);
    (log_share, slope, slope * (slope - bend))
}

/// log of 1 (1 + v) (1 + 2 v) ... (1 + (d - 1) v).
fn rising(d: f64, v: f64) -> f64 {
    if d <= 60.0 {
        return (0..d as u32).map(|j| libm::log1p(f64::from(j) * v)).sum();
    }
    libm::lgamma(d + 1.0 / v) - libm::lgamma(1.0 / v) + d * libm::log(v)
}

/// Cholesky's factor of a symmetric matrix; `None` where it is not positive definite.
fn factor(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = matrix.len();
    let mut l = vec![vec![0.0; n]; n];
    for j in 0..n {
        for i in j..n {
            let mut sum = matrix[i][j];
            for k in 0..j {
                sum -= l[i][k] * l[j][k];
            }
            if i == j {
                if !(sum > 1e-13 * matrix[j][j].abs() && sum > 1e-280) {
                    return None;
                }
                l[j][j] = libm::sqrt(sum);
            } else {
                l[i][j] = sum / l[j][j];
            }
        }
    }
    Some(l)
}

fn back(l: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let n = l.len();
    let mut y = right.to_vec();
    for i in 0..n {
        for k in 0..i {
            y[i] -= l[i][k] * y[k];
        }
        y[i] /= l[i][i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            y[i] -= l[k][i] * y[k];
        }
        y[i] /= l[i][i];
    }
    y
}

/// The solution of a symmetric system; `None` where it is not positive definite.
pub(super) fn solve(matrix: &[Vec<f64>], right: &[f64]) -> Option<Vec<f64>> {
    factor(matrix).map(|l| back(&l, right))
}

/// Inverse and logarithm of the determinant.
fn inverse(matrix: &[Vec<f64>]) -> (Option<Vec<Vec<f64>>>, f64) {
    let Some(l) = factor(matrix) else {
        return (None, f64::NEG_INFINITY);
    };
    let n = l.len();
    let unit = |k: usize| (0..n).map(|j| f64::from(u8::from(j == k))).collect::<Vec<f64>>();
    let columns = (0..n).map(|k| back(&l, &unit(k))).collect();
    (Some(columns), (0..n).map(|k| 2.0 * libm::log(l[k][k])).sum())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;

    fn row(days: f64, sold: f64, x: &[f64]) -> Row {
        Row {
            days,
            sold,
            ended: if sold == 1.0 { Ended::SoldOut } else { Ended::Looked },
            x: x.to_vec(),
        }
    }

    /// Events over exposure, whatever is cut off: 4 in 100 days. The information of log m is the number of events.
    #[test]
    fn one_group_is_events_over_exposure() {
        let rows = [(3.0, 1.0), (10.0, 1.0), (27.0, 0.0), (20.0, 1.0), (40.0, 1.0)];
        let problem = Problem::new(rows.map(|(days, sold)| row(days, sold, &[1.0])).to_vec());
        let fit = problem.fit(Law::Even, None, None);
        let rate = libm::exp(fit.b[0]) / problem.span;
        assert!((rate - 0.04).abs() < 1e-12, "{rate}");
        assert!((fit.covariance.unwrap()[0][0] - 0.25).abs() < 1e-9);
        // log likelihood d log(d / T) - d.
        assert!(
            (fit.log_likelihood - (4.0 * libm::log(0.04) - 4.0)).abs() < 1e-12,
            "{}",
            fit.log_likelihood
        );
    }

    /// Two groups with rates 6 / 30 and 2 / 40: the coefficient is the log of their ratio 1/4, its variance 1/6 + 1/2.
    #[test]
    fn two_groups_differ_by_the_log_of_their_ratio() {
        let mut rows: Vec<Row> = (0..6).map(|_| row(5.0, 1.0, &[1.0, 0.0])).collect();
        rows.extend([
            row(15.0, 1.0, &[1.0, 1.0]),
            row(15.0, 1.0, &[1.0, 1.0]),
            row(10.0, 0.0, &[1.0, 1.0]),
        ]);
        let problem = Problem::new(rows);
        let fit = problem.fit(Law::Even, None, None);
        assert!((fit.b[1] - libm::log(0.25)).abs() < 1e-9, "{:?}", fit.b);
        assert!((fit.se(1).unwrap() - libm::sqrt(2.0 / 3.0)).abs() < 1e-9);
        let [low, high] = problem.interval(&fit, 1);
        // The profile's own equation, solved for the coefficient elsewhere: both ends lie 1.92 below.
        for end in [low.unwrap(), high.unwrap()] {
            let held = problem.fit(Law::Even, Some((1, end)), None);
            assert!((fit.log_likelihood - held.log_likelihood - 1.920_729).abs() < 1e-5);
        }
    }

    /// Counts 0, 2, 4, 10 of a day each: v solves the negative binomial's equation, and v is 0 where counts vary no more than Poisson's.
    #[test]
    fn counts_that_differ_more_have_a_variance_of_their_own() {
        let of = |counts: &[f64]| {
            Problem::new(
                counts
                    .iter()
                    .map(|d| Row {
                        days: 1.0,
                        sold: *d,
                        ended: Ended::Looked,
                        x: vec![1.0],
                    })
                    .collect(),
            )
        };
        let fit = of(&[0.0, 2.0, 4.0, 10.0]).fit(Law::Uneven, None, None);
        assert!((fit.b[0] - libm::log(4.0)).abs() < 1e-6, "{:?}", fit.b);
        let slope = |v: f64| {
            let of = of(&[0.0, 2.0, 4.0, 10.0]);
            let f = |v: f64| of.log_likelihood(Law::Uneven, &of.varied(v), &[libm::log(4.0)]);
            (f(v + 1e-5) - f(v - 1e-5)) / 2e-5
        };
        assert!(fit.v > 0.1 && slope(fit.v).abs() < 1e-2, "{} {}", fit.v, slope(fit.v));
        assert_eq!(of(&[4.0, 4.0, 4.0, 4.0]).fit(Law::Uneven, None, None).v, 0.0);
        // Both ways to add up the same product.
        let sum: f64 = (0..80).map(|j| libm::log1p(0.3 * f64::from(j))).sum();
        assert!((rising(80.0, 0.3) - sum).abs() < 1e-10);
    }

    /// Sold out within a day: 1 - exp(-m) for a single piece, 1 - (1 + m) exp(-m) for two; slopes and curvatures by differences.
    #[test]
    fn sold_out_by_a_day_is_at_least_so_many() {
        let m: f64 = 0.7;
        let z = libm::log(m);
        assert!((at_least(1.0, z, 0.0).0 - libm::log1p(-libm::exp(-m))).abs() < 1e-12);
        assert!((at_least(2.0, z, 0.0).0 - libm::log1p(-(1.0 + m) * libm::exp(-m))).abs() < 1e-12);
        // Of a gamma mean with variance 1 / 2: 1 - (1 + m / 2)^-2.
        assert!((at_least(1.0, z, 0.5).0 - libm::log1p(-1.0 / ((1.0 + 0.5 * m) * (1.0 + 0.5 * m)))).abs() < 1e-12);
        for (d, v) in [(1.0, 0.0), (5.0, 0.0), (3.0, 0.4), (60.0, 0.0)] {
            let f = |z: f64| at_least(d, z, v);
            let (h, found) = (1e-5, f(z));
            assert!(
                (found.1 - (f(z + h).0 - f(z - h).0) / (2.0 * h)).abs() < 1e-5 * (1.0 + found.1),
                "{d} {v}"
            );
            assert!(
                (found.2 + (f(z + h).1 - f(z - h).1) / (2.0 * h)).abs() < 1e-5 * (1.0 + found.2.abs()),
                "{d} {v}"
            );
        }
    }

    /// Two coefficients and a variance, a log-likelihood of -20: 6 + 40 + 24 / (n - 4), or 24 / 0.5 where nothing is left.
    #[test]
    fn akaikes_criterion_by_hand() {
        let mut fit = Fit {
            law: Law::Uneven,
            b: vec![0.0; 2],
            v: 0.3,
            log_likelihood: -20.0,
            covariance: None,
            log_information: 0.0,
        };
        assert_eq!(fit.aicc(10), 50.0);
        assert_eq!(fit.aicc(4), 94.0);
        // Two parameters: 4 + 40 + 12 / (n - 3).
        fit.law = Law::Even;
        assert_eq!(fit.aicc(9), 46.0);
    }

    /// Slopes and curvatures by differences, whatever an offer ended with.
    #[test]
    fn the_likelihood_has_its_slopes_and_curvatures() {
        let mut rows = vec![
            row(3.0, 1.0, &[1.0, 0.2]),
            row(9.0, 0.0, &[1.0, -0.4]),
            row(14.0, 1.0, &[1.0, 0.5]),
        ];
        rows.push(Row {
            sold: 3.0,
            ended: Ended::SoldOutBy,
            ..row(6.0, 0.0, &[1.0, -0.1])
        });
        let problem = Problem::new(rows);
        for (law, v, b) in [
            (Law::Even, 0.0, vec![-0.4, 0.7]),
            (Law::Uneven, 0.4, vec![-0.4, 0.7]),
            (Law::Ageing, 0.0, vec![-0.4, 0.7, 1.3]),
        ] {
            let (slope, curve) = problem.derivatives(law, v, &b, None);
            for k in 0..b.len() {
                let at = |by: f64| {
                    let mut b = b.clone();
                    b[k] += by;
                    b
                };
                let h = 1e-5;
                let likely = |b: &[f64]| problem.log_likelihood(law, &problem.varied(v), b);
                let rise = likely(&at(h)) - likely(&at(-h));
                assert!((slope[k] - rise / (2.0 * h)).abs() < 1e-6, "{law:?} {k}: {slope:?}");
                let (above, below) = (
                    problem.derivatives(law, v, &at(h), None).0,
                    problem.derivatives(law, v, &at(-h), None).0,
                );
                for j in 0..b.len() {
                    let bend = (below[j] - above[j]) / (2.0 * h);
                    assert!((curve[k][j] - bend).abs() < 1e-5, "{law:?} {k} {j}: {curve:?}");
                }
            }
        }
    }

    /// Nothing sold at the higher price: however much higher the coefficient, the likelihood does not fall.
    #[test]
    fn what_has_no_end_has_none() {
        let mut rows: Vec<Row> = (0..6).map(|_| row(5.0, 1.0, &[1.0, 0.0])).collect();
        rows.extend((0..4).map(|_| row(15.0, 0.0, &[1.0, 1.0])));
        let problem = Problem::new(rows);
        for law in [Law::Even, Law::Ageing] {
            let fit = problem.fit(law, None, None);
            let [low, high] = problem.interval(&fit, 1);
            assert!(
                low.is_none() && high.is_some_and(|high| high < 0.0),
                "{law:?} {low:?} {high:?}"
            );
        }
    }
}
