//! What the steps of the same jobs say together of the pace.
//!
//! A job's relative deviations at its k steps are its pace's, which they have in common, and each step's own. How they scatter about the job's mean
//! tells the own variance v alone, and that mean varies by `h^2 + v / k`: the one-way layout with random effects (Searle, Casella & McCulloch 1992,
//! Variance Components, ch. 3; from memory), v the mean of steps that differ. How likely h^2 is follows with v integrated out, which
//! beforehand is even on a logarithmic line. A step's own deviations are among them and count in its own likelihood too, where they tell pace
//! from pieces only by how they grow with size (assumption: that this is little; simulated logs bear it out).

/// Nodes of the integral over the logarithm of v on either side of where the scatter has it, and how far apart.
const NODES: i32 = 24;
const APART: f64 = 0.25;
/// Jobs' worth of freedom that a step's fitted times take from its deviations: setup and piece, of which the file knows a part.
const SPENT: f64 = 1.5;
/// A variance that reading clocks makes of itself.
const CLOCKS: f64 = 1e-6;

/// A job's relative deviations.
#[derive(Debug, Clone, Copy, Default)]
pub(in crate::worklog) struct Deviations {
    /// At how many steps.
    pub steps: f64,
    pub sum: f64,
    pub squares: f64,
}

/// Jobs of as many steps each.
#[derive(Debug, Clone)]
struct Jobs {
    steps: f64,
    jobs: f64,
    /// Sum of the steps times the square of their mean.
    of_means: f64,
    /// Sum of squares about these means.
    about_means: f64,
}

/// What the steps of jobs have in common.
#[derive(Debug, Clone)]
pub(in crate::worklog) struct InCommon {
    groups: Vec<Jobs>,
    /// What the fitted times leave of the freedom, as a share.
    left: f64,
    /// Where the scatter has v.
    own: f64,
}

impl InCommon {
    /// Of jobs with two steps or more each.
    pub fn of(jobs: &[Deviations]) -> Self {
        let mut groups: Vec<Jobs> = Vec::new();
        for job in jobs {
            let k = groups.iter().position(|g| g.steps == job.steps).unwrap_or_else(|| {
                groups.push(Jobs {
                    steps: job.steps,
                    jobs: 0.0,
                    of_means: 0.0,
                    about_means: 0.0,
                });
                groups.len() - 1
            });
            let of_mean = job.sum * job.sum / job.steps;
            groups[k].jobs += 1.0;
            groups[k].of_means += of_mean;
            groups[k].about_means += (job.squares - of_mean).max(0.0);
        }
        let about: f64 = groups.iter().map(|g| g.about_means).sum();
        let freedom: f64 = groups.iter().map(|g| g.jobs * (g.steps - 1.0)).sum();
        Self {
            left: 1.0 - SPENT / jobs.len() as f64,
            own: (about / freedom).max(CLOCKS),
            groups,
        }
    }

    /// Logarithm of how likely the deviations are, but for a constant, where the pace's squared coefficient of variation is so much.
    pub fn ln_likely(&self, pace: f64) -> f64 {
        let at = |node: i32| {
            let own = self.own * libm::exp(APART * f64::from(node));
            let of_group = |g: &Jobs| {
                let mean = own + g.steps * pace;
                let freedom = self.left * g.jobs;
                freedom * ((g.steps - 1.0) * libm::log(own) + libm::log(mean)) + g.about_means / own + g.of_means / mean
            };
            -0.5 * self.groups.iter().map(of_group).sum::<f64>()
        };
        let nodes: Vec<f64> = (-NODES..=NODES).map(at).collect();
        let most = nodes.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        most + libm::log(nodes.iter().map(|ln| libm::exp(ln - most)).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// With 400 steps a job, v is as good as known: 0.04. The jobs' means then vary by `m = h^2 + v / 400`, and with the mean s of their squares
    /// `-n/2 (ln m + s/m)` is greatest at m = s.
    #[test]
    fn the_likeliest_pace_is_that_of_the_jobs_means() {
        let jobs: Vec<Deviations> = (0..200)
            .map(|k| {
                let (steps, mean) = (400.0, if k % 2 == 0 { 0.3 } else { -0.3 });
                Deviations {
                    steps,
                    sum: steps * mean,
                    squares: steps * (mean * mean + 0.04),
                }
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
        let of = |by: f64| {
            let jobs: Vec<Deviations> = (0..8)
                .map(|k| Deviations {
                    steps: 3.0,
                    sum: by * 0.02 * f64::from(k % 3),
                    squares: by * by * (0.01 + 0.002 * f64::from(k)),
                })
                .collect();
            InCommon::of(&jobs)
        };
        let n = (8.0 - SPENT) * 3.0;
        let less = of(1.0).ln_likely(0.0) - of(2.0).ln_likely(0.0);
        assert!((less - n * std::f64::consts::LN_2).abs() < 1e-6, "{less}");
        let jobs = of(1.0);
        let squares: f64 = jobs.groups.iter().map(|g| g.of_means + g.about_means).sum();
        let due = libm::lgamma(0.5 * n) - 0.5 * n * libm::log(0.5 * squares);
        let found = jobs.ln_likely(0.0) + libm::log(APART);
        assert!((found - due).abs() < 1e-6, "{found}, not {due}");
    }
}
