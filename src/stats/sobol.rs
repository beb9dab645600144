//! Shares of variance: how much of a figure's variance each uncertain input accounts for, alone and with all it plays together
//! with. Pure arithmetic over columns; where the columns come from is another's concern.
//!
//! Design: Saltelli's radial one. f_A is the figure on a sample A, f_B on an independent sample B, f_AB(i) on A with the input i
//! taken from B. All averages are over trials; f is centred on the mean of f_A and f_B together, V is the variance of both.
//!
//! * Total: `E[(f_A - f_AB(i))^2] / 2 V`; Jansen (1999), "Analysis of variance designs for model output", Computer Physics
//!   Communications 117, 35-43; see Saltelli, Annoni, Azzini, Campolongo, Ratto & Tarantola (2010), "Variance based
//!   sensitivity analysis of model output. Design and estimator for the total sensitivity index", Computer Physics
//!   Communications 181, 259-270, table 2 (f).
//! * First order, whichever of two is known better: `E[f_B (f_AB(i) - f_A)] / V`, Saltelli and others (2010), table 2 (b), good
//!   for small shares; or `1 - E[(f_B - f_AB(i))^2] / 2 V`, Jansen (1999), table 2 (c) there, good for large ones.
//! * Errors: bootstrap (Efron 1979, "Bootstrap methods: another look at the jackknife", Annals of Statistics 7, 1-26; for these
//!   indices Archer, Saltelli & Sobol' 1997, J. Statistical Computation and Simulation 58, 99-120). Whole groups of eight or more
//!   neighbouring trials are drawn again, as the simulated trials of a group of eight share some draws. Intervals are the
//!   estimate and 1.96 bootstrap errors either side.
//!
//! Table and equation numbers from memory.

use super::Z975;
use crate::engine::LANES;
use crate::engine::stream::{mix, nth};
use crate::parallel;
use serde::Serialize;

/// Bootstrap resamples behind every error.
pub const RESAMPLES: u32 = 1_000;
/// Groups of trials that are drawn again, at the most.
const MOST_GROUPS: usize = 1_024;

/// A share of the variance with its error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct IndexEstimate {
    /// Estimate; may stray below 0 or above 1 by its error.
    pub share: f64,
    /// Bootstrap standard error.
    pub se: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// Which estimator of the first-order share was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FirstBy {
    /// Saltelli and others (2010).
    Saltelli,
    /// Jansen (1999).
    Jansen,
}

/// What one input accounts for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Indices {
    /// By itself: the variance that would go if the input were known.
    pub first: IndexEstimate,
    /// Which estimator gave `first`.
    pub first_by: FirstBy,
    /// With all it plays together with: the variance that would be left if everything else were known.
    pub total: IndexEstimate,
}

impl Indices {
    /// Both shares as they can be: none more than all there is, and alone no more than in all. Where the estimates are the other way round,
    /// within their errors, both are their mean, each weighted by one over its squared error (the least squares fit in order; Barlow and
    /// others 1972, "Statistical Inference under Order Restrictions", chapter 1; from memory).
    #[must_use]
    pub fn in_order(&self) -> (f64, f64) {
        let (first, total) = (self.first, self.total);
        if first.share <= total.share {
            return (first.share.min(1.0), total.share.min(1.0));
        }
        let (first_square, total_square) = (first.se * first.se, total.se * total.se);
        let both = first_square + total_square;
        let weight = if both > 0.0 { total_square / both } else { 0.5 };
        let pooled = (total.share + weight * (first.share - total.share)).min(1.0);
        (pooled, pooled)
    }

    /// `total` as [`Indices::in_order`] has it.
    #[must_use]
    pub fn total_in_order(&self) -> IndexEstimate {
        IndexEstimate {
            share: self.in_order().1,
            ..self.total
        }
    }
}

/// Mean, variance and the indices of each input.
#[derive(Debug, Clone, PartialEq)]
pub struct Shares {
    /// Mean of the figure.
    pub mean: f64,
    /// Variance of the figure; 0 where nothing varies.
    pub variance: f64,
    /// One an input, in their order; `None` where nothing varies, so that there are no shares of it.
    pub inputs: Vec<Option<Indices>>,
}

/// Sums of what the estimators need over one group of trials; the figure is centred.
const COMMON: usize = 3;
/// The same for each input: `(A - AB)^2`, `B (AB - A)`, `AB - A`, `(B - AB)^2`.
const EACH: usize = 4;

/// The indices of every input: `a` and `b` are the figure by trial on both samples, `ab` on A with one input from B.
///
/// Equally long columns of at least one trial. The resampling is fixed by `seed`.
#[must_use]
pub fn shares(a: &[f64], b: &[f64], ab: &[Vec<f64>], seed: u64) -> Shares {
    let n = a.len();
    let mean = (super::sum_of(a, b, |x, y| x + y)) / (2 * n) as f64;
    let largest = a.iter().chain(b).fold(0.0_f64, |m, v| m.max(v.abs()));
    let squares = super::sum_of(a, b, |x, y| (x - mean) * (x - mean) + (y - mean) * (y - mean));
    let variance = squares / (2 * n) as f64;
    // What is left of a constant after rounding is no variance.
    if libm::sqrt(variance) <= 1e-11 * largest || variance == 0.0 {
        return Shares {
            mean,
            variance: 0.0,
            inputs: vec![None; ab.len()],
        };
    }
    let groups = group_sums(mean, a, b, ab);
    let mut whole = vec![0.0; COMMON + EACH * ab.len()];
    for group in &groups {
        add(&mut whole, group);
    }
    let resampled = resample(&groups, ab.len(), seed);
    let column = |k: usize| -> Vec<[f64; 3]> { resampled.iter().map(|found| found[k]).collect() };
    let inputs = (0..ab.len())
        .map(|k| Some(indices(estimates(&whole, k), &column(k))))
        .collect();
    Shares { mean, variance, inputs }
}

/// The sums of each group of trials, all of one pass.
fn group_sums(mean: f64, a: &[f64], b: &[f64], ab: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = a.len();
    let per_group = LANES * n.div_ceil(LANES * MOST_GROUPS);
    let of_group = |g: usize| {
        let mut sums = vec![0.0; COMMON + EACH * ab.len()];
        for t in g * per_group..((g + 1) * per_group).min(n) {
            let (x, y) = (a[t] - mean, b[t] - mean);
            sums[0] += 1.0;
            sums[1] += x + y;
            sums[2] += x * x + y * y;
            for (k, column) in ab.iter().enumerate() {
                let z = column[t] - mean;
                let into = &mut sums[COMMON + EACH * k..][..EACH];
                into[0] += (x - z) * (x - z);
                into[1] += y * (z - x);
                into[2] += z - x;
                into[3] += (y - z) * (y - z);
            }
        }
        sums
    };
    (0..n.div_ceil(per_group)).map(of_group).collect()
}

/// What each resample of the groups gives for each input.
fn resample(groups: &[Vec<f64>], inputs: usize, seed: u64) -> Vec<Vec<[f64; 3]>> {
    parallel::map(RESAMPLES as usize, |r| {
        let start = mix(mix(seed ^ 0x626F_6F74).wrapping_add(r as u64));
        let mut sums = vec![0.0; COMMON + EACH * inputs];
        for k in 0..groups.len() as u64 {
            // The high bits of a product are as even as need be: 2^64 is far above the number of groups.
            let pick = (u128::from(nth(start, k)) * groups.len() as u128) >> 64;
            add(&mut sums, &groups[pick as usize]);
        }
        (0..inputs).map(|k| estimates(&sums, k)).collect()
    })
}

/// What was found of an input, with the errors that its resamples tell of.
fn indices(found: [f64; 3], resampled: &[[f64; 3]]) -> Indices {
    let [total, saltelli, jansen] = [0, 1, 2].map(|which: usize| {
        let values: Vec<f64> = resampled.iter().map(|r| r[which]).filter(|v| v.is_finite()).collect();
        let (_, spread) = super::mean_variance(&values);
        let (share, se) = (found[which], libm::sqrt(spread));
        IndexEstimate {
            share,
            se,
            low: share - Z975 * se,
            high: share + Z975 * se,
        }
    });
    let (first, first_by) = if jansen.se < saltelli.se {
        (jansen, FirstBy::Jansen)
    } else {
        (saltelli, FirstBy::Saltelli)
    };
    Indices { first, first_by, total }
}

fn add(total: &mut [f64], more: &[f64]) {
    for (t, m) in total.iter_mut().zip(more) {
        *t += m;
    }
}

/// Total, first order after Saltelli, first order after Jansen, of the input number `k`.
fn estimates(sums: &[f64], k: usize) -> [f64; 3] {
    let n = sums[0];
    // A resample has a mean of its own.
    let off = sums[1] / (2.0 * n);
    let variance = sums[2] / (2.0 * n) - off * off;
    let own = &sums[COMMON + EACH * k..][..EACH];
    let (apart, product, rise, other) = (own[0] / n, own[1] / n, own[2] / n, own[3] / n);
    [
        apart / (2.0 * variance),
        (product - off * rise) / variance,
        1.0 - other / (2.0 * variance),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two trials by hand: f_A = 1, 3; f_B = 5, 3; the input switched: 5, 3. Mean 3, V = 2.
    #[test]
    fn estimators_by_hand() {
        let found = shares(&[1.0, 3.0], &[5.0, 3.0], &[vec![5.0, 3.0], vec![1.0, 3.0]], 1);
        assert_eq!((found.mean, found.variance), (3.0, 2.0));
        let all = found.inputs[0].unwrap();
        // ((1 - 5)^2 + 0) / 2 / (2 x 2); (2 x 4 + 0) / 2 / 2; 1 - 0.
        assert_eq!(
            (all.total.share, all.first.share),
            (2.0, if all.first_by == FirstBy::Jansen { 1.0 } else { 2.0 })
        );
        // An input that changes nothing accounts for nothing, and that is certain.
        let none = found.inputs[1].unwrap();
        assert_eq!((none.total.share, none.total.se), (0.0, 0.0));
        assert_eq!(
            (none.first.share, none.first.se, none.first_by),
            (0.0, 0.0, FirstBy::Saltelli)
        );
    }

    /// Nothing varies: no shares, and no NaN (0 / 0), whatever rounding leaves.
    #[test]
    fn a_constant_has_no_shares() {
        let constant = vec![31.7; 100];
        let rounded: Vec<f64> = (0..100).map(|k| 31.7 + 1e-15 * f64::from(k % 3)).collect();
        for a in [&constant, &rounded, &vec![0.0; 100]] {
            let found = shares(a, a, std::slice::from_ref(a), 1);
            assert_eq!((found.variance, found.inputs), (0.0, vec![None]));
        }
    }

    #[test]
    fn no_inputs_are_no_shares() {
        let found = shares(&[1.0, 2.0], &[3.0, 5.0], &[], 1);
        assert!(found.inputs.is_empty() && found.variance > 0.0);
    }
}
