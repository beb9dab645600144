//! What the steps of the same jobs say together of the pace.
//!
//! A job's relative deviations at its steps are its pace's, which they have in common, and each step's own. How they scatter about the job's mean
//! tells the own variance alone, and that mean varies by the pace's and by what they leave of their own: the one-way layout with random effects (Searle, Casella &
//! McCulloch 1992, Variance Components, ch. 3; from memory). A job of few pieces is off by more of its own than one of many, so each deviation weighs by the
//! inverse of its own variance `v w`, w what the step's fit makes of it beside the step's other jobs and v the mean of steps that differ. How likely h^2 is follows with v
//! integrated out, which beforehand is even on a logarithmic line. A step's own deviations are among them and count in its own likelihood too, where they tell pace
//! from pieces only by how they grow with size (assumption: that this is little; simulated logs bear it out).

use super::around::Product;

/// Nodes of the integral over the logarithm of v on either side of where the scatter has it, and how far apart.
const NODES: i32 = 24;
const APART: f64 = 0.25;
/// Jobs' worth of freedom that a step's fitted times take from its deviations: setup and piece, of which the file knows a part.
const SPENT: f64 = 1.5;
/// A variance that reading clocks makes of itself.
const CLOCKS: f64 = 1e-6;

/// A job's relative deviation at one step, and its own variance there beside that of the step's other jobs.
#[derive(Debug, Clone, Copy)]
pub(in crate::worklog) struct Deviation {
    pub off: f64,
    pub own: f64,
}

/// A job: at how many steps, and sums over its deviations, weighed by the inverse of their own variance, of 1, of each and of its square.
#[derive(Debug, Clone, Copy)]
struct Job {
    steps: f64,
    weight: f64,
    sum: f64,
    squares: f64,
}

/// What the steps of jobs have in common.
#[derive(Debug, Clone)]
pub(in crate::worklog) struct InCommon {
    jobs: Vec<Job>,
    /// What the fitted times leave of the freedom, as a share.
    left: f64,
    /// Where the scatter has v.
    own: f64,
}

impl InCommon {
    /// Of jobs with two steps or more each.
    pub fn of(jobs: &[Vec<Deviation>]) -> Self {
        let sums = |deviations: &Vec<Deviation>| {
            let sum = |of: fn(&Deviation) -> f64| deviations.iter().map(|d| of(d) / d.own).sum();
            Job {
                steps: deviations.len() as f64,
                weight: sum(|_| 1.0),
                sum: sum(|d| d.off),
                squares: sum(|d| d.off * d.off),
            }
        };
        let jobs: Vec<Job> = jobs.iter().map(sums).collect();
        let about: f64 = jobs
            .iter()
            .map(|j| (j.squares - j.sum * j.sum / j.weight).max(0.0))
            .sum();
        let freedom: f64 = jobs.iter().map(|j| j.steps - 1.0).sum();
        Self {
            left: 1.0 - SPENT / jobs.len() as f64,
            own: (about / freedom).max(CLOCKS),
            jobs,
        }
    }

    /// Logarithm of how likely the deviations are, but for a constant, where the pace's squared coefficient of variation is so much.
    pub fn ln_likely(&self, pace: f64) -> f64 {
        let steps: f64 = self.jobs.iter().map(|j| j.steps).sum();
        let all_squares: f64 = self.jobs.iter().map(|j| j.squares).sum();
        let at = |node: i32| {
            let own = self.own * libm::exp(APART * f64::from(node));
            // Each job's covariance is own w on the diagonal and the pace's everywhere (Sherman & Morrison).
            let (ratio, mut det, mut in_common) = (pace / own, Product::default(), 0.0);
            for job in &self.jobs {
                let paced = 1.0 + ratio * job.weight;
                det.times(paced);
                in_common += job.sum * job.sum / paced;
            }
            let squares = (all_squares - ratio * in_common) / own;
            -0.5 * (self.left * (steps * libm::log(own) + det.ln()) + squares)
        };
        let nodes: Vec<f64> = (-NODES..=NODES).map(at).collect();
        let most = nodes.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most + libm::log(nodes.iter().map(|ln| libm::exp(ln - most)).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn even(off: f64) -> Deviation {
        Deviation { off, own: 1.0 }
    }

    /// With 400 steps a job, v is as good as known: 0.04. The jobs' means then vary by `m = h^2 + v / 400`, and with the mean s of their squares
    /// `-n/2 (ln m + s/m)` is greatest at m = s.
    #[test]
    fn the_likeliest_pace_is_that_of_the_jobs_means() {
        let jobs: Vec<Vec<Deviation>> = (0..200)
            .map(|job| {
                let mean = if job % 2 == 0 { 0.3 } else { -0.3 };
                (0..400)
                    .map(|step| even(mean + if step % 2 == 0 { 0.2 } else { -0.2 }))
                    .collect()
            })
            .collect();
        let common = InCommon::of(&jobs);
        let likeliest = (1..400)
            .map(|k| f64::from(k) * 5e-4)
            .max_by(|a, b| common.ln_likely(*a).total_cmp(&common.ln_likely(*b)))
            .unwrap();
        // 1.5 of the 200 jobs are spent.
        let due = 0.09 / (1.0 - SPENT / 200.0) - 0.04 / 400.0;
        assert!((likeliest - due).abs() <= 5e-4, "{likeliest}, not {due}");
    }

    /// The integral by a closed form: of jobs with no pace at all, sums of squares Q with n freedom, the integral over v of `v^(-n/2-1) e^(-Q/2v)` is
    /// `Gamma(n/2) (Q/2)^(-n/2)`; twice the deviations make the logarithm less by `n ln 2`.
    #[test]
    fn own_variance_is_integrated_out() {
        let jobs = |by: f64| -> Vec<Vec<Deviation>> {
            (0..8)
                .map(|k| [0.02 * f64::from(k % 3), 0.1, -0.06].map(|off| even(by * off)).to_vec())
                .collect()
        };
        let of = |by: f64| InCommon::of(&jobs(by));
        let n = (8.0 - SPENT) * 3.0;
        let less = of(1.0).ln_likely(0.0) - of(2.0).ln_likely(0.0);
        assert!((less - n * std::f64::consts::LN_2).abs() < 1e-6, "{less}");
        let squares: f64 = jobs(1.0).iter().flatten().map(|d| d.off * d.off).sum();
        let due = libm::lgamma(0.5 * n) - 0.5 * n * libm::log(0.5 * squares);
        let found = of(1.0).ln_likely(0.0) + libm::log(APART);
        assert!((found - due).abs() < 1e-6, "{found}, not {due}");
    }

    /// Two steps, by the normal law of two, written out: with variances `a = h^2 + v`, `b = h^2 + 9 v` and covariance h^2 its determinant is `a b - h^4` and its
    /// exponent `(b x^2 - 2 h^2 x y + a y^2)` over that, to be integrated over ln v. Were all own variances taken as one, a job of one piece that is far off
    /// would pass for a slow day.
    #[test]
    fn a_deviation_weighs_by_its_own_variance() {
        let offs: Vec<[f64; 2]> = (0..6)
            .map(|k| [0.05 - 0.02 * f64::from(k), 0.3 - 0.11 * f64::from(k)])
            .collect();
        let jobs: Vec<Vec<Deviation>> = offs
            .iter()
            .map(|[x, y]| vec![even(*x), Deviation { off: *y, own: 9.0 }])
            .collect();
        let common = InCommon::of(&jobs);
        let left = 1.0 - SPENT / 6.0;
        let due = |pace: f64| {
            let at = |ln_own: f64| {
                let own = ln_own.exp();
                let (a, b) = (pace + own, pace + 9.0 * own);
                let det = a * b - pace * pace;
                let ln =
                    |[x, y]: &[f64; 2]| -0.5 * (left * det.ln() + (b * x * x - 2.0 * pace * x * y + a * y * y) / det);
                offs.iter().map(ln).sum::<f64>().exp()
            };
            (0..4000).map(|k| at(-14.0 + 0.004 * f64::from(k))).sum::<f64>().ln()
        };
        for pace in [1e-4, 1e-3, 0.01, 0.1] {
            let (found, due) = (common.ln_likely(pace) - common.ln_likely(0.0), due(pace) - due(0.0));
            assert!((found - due).abs() < 1e-5, "{pace}: {found}, not {due}");
        }
    }
}
