//! Least squares with a few columns and known ratios of variances, and what follows from it: standard errors, intervals by
//! Student's t, predictions.
//!
//! Minimises `sum (y - X b)^2 / v` by Householder reflections of the rows divided by `sqrt(v)` (Golub 1965, "Numerical methods for
//! solving linear least squares problems", Numerische Mathematik 7, 206-216), which keeps twice the digits that normal equations
//! keep. The covariance of the coefficients is `s^2 (X' V^-1 X)^-1` with `s^2` the weighted sum of squares over the degrees of
//! freedom. No intercept is added: a column of ones is one.
//!
//! Restricted likelihood (Patterson & Thompson 1971, "Recovery of inter-block information when block sizes are unequal", Biometrika
//! 58(3), 545-554): `-1/2 [(n - k) ln s^2 + sum ln v + ln det X' V^-1 X]`, up to what is the same for all `v`.

use crate::laws::student_quantile;
use serde::Serialize;

/// A column whose part that no other column explains is smaller than this share of it is taken to hold nothing of its own.
const NOTHING_NEW: f64 = 1e-9;
/// Confidence of every interval.
pub const CONFIDENCE: f64 = 0.95;

/// A fitted linear law.
#[derive(Debug, Clone, PartialEq)]
pub struct Law {
    /// One for each column.
    pub coefficients: Vec<f64>,
    /// `(X' V^-1 X)^-1`.
    pub unscaled: Vec<Vec<f64>>,
    /// `y - X b`.
    pub residuals: Vec<f64>,
    /// Rows less columns.
    pub freedom: usize,
    /// `s^2`, the variance where `v` is 1; `None` without degrees of freedom.
    pub variance: Option<f64>,
    /// Restricted log-likelihood; `None` without degrees of freedom or where the fit is perfect.
    pub likelihood: Option<f64>,
}

/// An estimate with its error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Standard error; `None`: not known, as there are no degrees of freedom.
    pub se: Option<f64>,
    /// Lower end of its 95 % interval by Student's t.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

impl Estimate {
    /// With its interval at so many degrees of freedom.
    #[must_use]
    pub fn new(value: f64, se: Option<f64>, freedom: usize) -> Self {
        let half = se.zip(student(CONFIDENCE, freedom)).map(|(se, t)| se * t);
        Self {
            value,
            se: se.filter(|_| half.is_some()),
            low: half.map(|h| value - h),
            high: half.map(|h| value + h),
        }
    }

    /// Whether its interval is known and lies on one side of `value`.
    #[must_use]
    pub fn differs_from(&self, value: f64) -> bool {
        self.low.is_some_and(|low| low > value) || self.high.is_some_and(|high| high < value)
    }
}

/// The value that Student's t stays within on both sides with this confidence; `None` without degrees of freedom.
#[must_use]
pub fn student(confidence: f64, freedom: usize) -> Option<f64> {
    (freedom > 0)
        .then(|| student_quantile(0.5 + 0.5 * confidence, freedom as f64))
        .filter(|t| t.is_finite())
}

/// Fits `y` on the columns of `rows`, `v` being in proportion to each row's variance (above 0).
///
/// `None` where there are fewer rows than columns, or where a column is explained by the others.
#[must_use]
pub fn fit(rows: &[Vec<f64>], y: &[f64], v: &[f64]) -> Option<Law> {
    let n = rows.len();
    let k = rows.first()?.len();
    if k == 0 || n < k || y.len() != n || v.len() != n {
        return None;
    }
    let root: Vec<f64> = v.iter().map(|v| libm::sqrt(*v)).collect();
    let mut columns: Vec<Vec<f64>> = (0..k)
        .map(|j| rows.iter().zip(&root).map(|(row, root)| row[j] / root).collect())
        .collect();
    let mut right: Vec<f64> = y.iter().zip(&root).map(|(y, root)| y / root).collect();
    let norms: Vec<f64> = columns.iter().map(|c| norm(c)).collect();

    // The triangle, row by row above the diagonal.
    let mut upper = vec![vec![0.0; k]; k];
    for j in 0..k {
        let (done, rest) = columns.split_at_mut(j + 1);
        let column = &mut done[j];
        let length = norm(&column[j..]);
        if length.is_nan() || length <= NOTHING_NEW * norms[j] {
            return None;
        }
        let diagonal = if column[j] > 0.0 { -length } else { length };
        // The reflection that takes the column's rest onto its first entry.
        column[j] -= diagonal;
        let mirror = &column[j..];
        let size: f64 = mirror.iter().map(|m| m * m).sum();
        for (other, place) in rest.iter_mut().zip(j + 1..) {
            reflect(mirror, size, &mut other[j..]);
            upper[j][place] = other[j];
        }
        reflect(mirror, size, &mut right[j..]);
        upper[j][j] = diagonal;
    }

    let coefficients = solve_upper(&upper, &right[..k]);
    let mut inverse = vec![vec![0.0; k]; k];
    for j in 0..k {
        let mut one = vec![0.0; k];
        one[j] = 1.0;
        for (i, value) in solve_upper(&upper, &one).into_iter().enumerate() {
            inverse[i][j] = value;
        }
    }
    let unscaled: Vec<Vec<f64>> = (0..k)
        .map(|i| {
            (0..k)
                .map(|j| inverse[i].iter().zip(&inverse[j]).map(|(a, b)| a * b).sum())
                .collect()
        })
        .collect();
    let residuals: Vec<f64> = rows
        .iter()
        .zip(y)
        .map(|(row, y)| y - row.iter().zip(&coefficients).map(|(x, b)| x * b).sum::<f64>())
        .collect();
    let squares: f64 = residuals.iter().zip(v).map(|(e, v)| e * e / v).sum();
    let freedom = n - k;
    let variance = (freedom > 0).then(|| squares / freedom as f64);
    // Rounding alone leaves about this much.
    let noise: f64 = y.iter().zip(v).map(|(y, v)| y * y / v).sum::<f64>() * 1e-24;
    let likelihood = variance.filter(|_| squares > noise).map(|variance| {
        let det: f64 = (0..k).map(|j| 2.0 * libm::log(upper[j][j].abs())).sum();
        let weights: f64 = v.iter().map(|v| libm::log(*v)).sum();
        -0.5 * (freedom as f64 * libm::log(variance) + weights + det)
    });
    Some(Law {
        coefficients,
        unscaled,
        residuals,
        freedom,
        variance,
        likelihood,
    })
}

impl Law {
    /// A coefficient with its error.
    #[must_use]
    pub fn estimate(&self, column: usize) -> Estimate {
        let se = self.variance.map(|s2| libm::sqrt(s2 * self.unscaled[column][column]));
        Estimate::new(self.coefficients[column], se, self.freedom)
    }

    /// The law's value at a row.
    #[must_use]
    pub fn at(&self, row: &[f64]) -> f64 {
        row.iter().zip(&self.coefficients).map(|(x, b)| x * b).sum()
    }

    /// Variance of [`Self::at`] from the coefficients' errors, where `s^2` is 1.
    #[must_use]
    pub fn unscaled_at(&self, row: &[f64]) -> f64 {
        row.iter()
            .zip(&self.unscaled)
            .map(|(a, line)| a * line.iter().zip(row).map(|(c, b)| c * b).sum::<f64>())
            .sum()
    }

    /// The law's value at a row with its error.
    #[must_use]
    pub fn mean_at(&self, row: &[f64]) -> Estimate {
        let se = self.variance.map(|s2| libm::sqrt(s2 * self.unscaled_at(row)));
        Estimate::new(self.at(row), se, self.freedom)
    }

    /// Between which values a new entry of variance `v` lies with this confidence; `None` without degrees of freedom.
    #[must_use]
    pub fn new_entry(&self, row: &[f64], v: f64, confidence: f64) -> Option<(f64, f64)> {
        let half = student(confidence, self.freedom)? * libm::sqrt(self.variance? * (v + self.unscaled_at(row)));
        Some((self.at(row) - half, self.at(row) + half))
    }
}

fn norm(values: &[f64]) -> f64 {
    libm::sqrt(values.iter().map(|v| v * v).sum())
}

/// `x - 2 u (u'x) / (u'u)`.
fn reflect(mirror: &[f64], size: f64, x: &mut [f64]) {
    let along: f64 = mirror.iter().zip(x.iter()).map(|(u, x)| u * x).sum();
    let twice = 2.0 * along / size;
    for (x, u) in x.iter_mut().zip(mirror) {
        *x -= twice * u;
    }
}

fn solve_upper(upper: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let k = upper.len();
    let mut x = right.to_vec();
    for j in (0..k).rev() {
        let rest: f64 = (j + 1..k).map(|m| upper[j][m] * x[m]).sum();
        x[j] = (x[j] - rest) / upper[j][j];
    }
    x
}
