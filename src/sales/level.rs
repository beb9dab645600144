//! Levels of all outlets together by a fit, with the errors that its information gives.

use super::count::{Between, WEEK};
use super::data::Data;
use super::survival::{Fit, Law, Problem};
use crate::laws::{chi_squared_quantile, normal_quantile};
use crate::stats::estimate::student;

/// Days from which on an interval has no end: a time that nobody lives to see.
const NO_END: f64 = 1e5;

/// Student's t at the freedom that is left, or the normal's; for intervals by the information, which have no likelihood to lean on, one
/// degree less than theirs.
pub(super) fn open_t(problem: &Problem, open: &Fit) -> f64 {
    if open.law == Law::Even {
        return normal_quantile(0.975);
    }
    student(0.95, problem.freedom(open.law).saturating_sub(1)).unwrap_or(f64::INFINITY)
}

/// Which buyers are counted: so many offers of each level open for so many days, the sum so many times.
pub(super) struct Weighed {
    weights: Vec<f64>,
    days: f64,
    times: f64,
}

impl Data<'_> {
    /// Buyers a week of all outlets together, with those whose pieces come back unsold; an offer is open for as long as the log's are.
    pub(super) fn a_week(&self, problem: &Problem) -> Weighed {
        Weighed {
            weights: self.weights.clone(),
            days: problem.span,
            times: WEEK / problem.span / self.stay_sold.unwrap_or(1.0),
        }
    }

    /// Buyers of so many offers on one of the file's selling days, the `day`-th that the log has.
    pub(super) fn on_a_day(&self, day: usize, offers: f64) -> Weighed {
        let mut weights = vec![0.0; self.levels()];
        weights[self.buyers_levels() + day] = offers;
        Weighed {
            weights,
            days: 1.0,
            times: 1.0,
        }
    }
}

/// How many buyers these are, by a fit.
pub(super) struct Level {
    pub(super) buyers: f64,
    /// Variance of its logarithm; `None` where the information is singular.
    pub(super) variance: Option<f64>,
    /// The same where a coefficient of the fit is held.
    pub(super) held_variance: f64,
}

impl Level {
    /// At a log price, by a fit whose prices lie about `about`.
    pub(super) fn new(data: &Data<'_>, of: &Weighed, fit: &Fit, problem: &Problem, log_price: f64, about: f64) -> Self {
        let m = data.levels();
        let mut slope = vec![0.0; fit.b.len()];
        let mut sum = 0.0;
        for ((s, weight), b) in slope[..m].iter_mut().zip(&of.weights).zip(&fit.b) {
            *s = weight * libm::exp(*b);
            sum += *s;
        }
        let more = about - log_price;
        let times = if data.priced { libm::exp(fit.b[m] * more) } else { 1.0 };
        for s in &mut slope {
            *s /= sum;
        }
        if data.priced {
            slope[m] = more;
        }
        let spans = libm::log(of.days / problem.span);
        if let (Law::Ageing, Some(k)) = (fit.law, slope.last_mut()) {
            *k = spans;
        }
        let variance = fit.covariance.as_ref().map(|c| quadratic(c, &slope));
        Self {
            buyers: of.times * sum * times * libm::exp(fit.k() * spans),
            variance,
            held_variance: variance.unwrap_or(0.0),
        }
    }
}

fn quadratic(matrix: &[Vec<f64>], x: &[f64]) -> f64 {
    let rows = matrix.iter().zip(x);
    rows.map(|(row, x_i)| x_i * row.iter().zip(x).map(|(m, x)| m * x).sum::<f64>())
        .sum()
}

/// A rate with the 95 % interval of a gamma law whose logarithm has this variance.
pub(super) fn gamma(value: f64, variance: f64) -> Between {
    let shape = (1.0 / variance).clamp(0.05, 1e7);
    let end = |q: f64, freedom: f64| {
        Some(value * chi_squared_quantile(q, freedom) / (2.0 * shape)).filter(|end| end.is_finite())
    };
    Between {
        value,
        low: end(0.025, 2.0 * shape),
        high: end(0.975, 2.0 * shape + 1.0),
    }
}

/// Days until half of the offers have sold a piece, at a log price: the middle offer of the log.
///
/// Where offers age, what was seen after weeks says little about the first days: the interval reaches over all shapes of the law's own
/// interval (`shapes`), at each as far as is left of the likelihood there, `t` standard errors at the best one.
pub(super) fn half_sold(
    data: &Data<'_>,
    problem: &Problem,
    better: &Fit,
    (shapes, t): (&[(f64, Fit)], f64),
    log_price: f64,
) -> Between {
    let m = data.levels();
    let total: f64 = data.weights.iter().sum();
    // log of the mean sales of an offer in the span, and its slope.
    let level = |fit: &Fit| {
        let mut slope = vec![0.0; fit.b.len()];
        let mut sum = 0.0;
        for ((s, weight), b) in slope[..m].iter_mut().zip(&data.weights).zip(&fit.b) {
            *s = weight * libm::exp(*b);
            sum += *s;
        }
        for s in &mut slope[..m] {
            *s /= sum;
        }
        let more = if data.priced { data.centre - log_price } else { 0.0 };
        let mut log = libm::log(sum / total);
        if data.priced {
            slope[m] = more;
            log += fit.b[m] * more;
        }
        (log, slope)
    };
    let half = libm::log(std::f64::consts::LN_2);
    let log_days = |fit: &Fit| libm::log(problem.span) + (half - level(fit).0) / fit.k();
    let value = libm::exp(log_days(better));
    let reach = |(left, fit): &(f64, Fit)| {
        let se = libm::sqrt(quadratic(fit.covariance.as_ref()?, &level(fit).1)) / fit.k();
        Some((log_days(fit), t * se * libm::sqrt(*left)))
    };
    let ends: Option<Vec<(f64, f64)>> = shapes.iter().map(reach).collect();
    let end = |far: fn(f64, f64) -> f64, way: f64| {
        let ends = ends.as_ref()?.iter().map(|(log, reach)| libm::exp(log + way * reach));
        Some(ends.fold(value, far)).filter(|end| *end < NO_END)
    };
    Between {
        value,
        low: end(f64::min, -1.0),
        high: end(f64::max, 1.0),
    }
}
