//! An estimate with its error and its interval by Student's t.

use crate::laws::student_quantile;
use serde::Serialize;

/// Confidence of every interval.
pub const CONFIDENCE: f64 = 0.95;

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
    pub(crate) fn differs_from(&self, value: f64) -> bool {
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
