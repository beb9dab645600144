//! One step's work log as a hierarchical model: what a setup and a piece take, and how jobs, setups and pieces vary.
//!
//! **The law.** An entry of job j with r rounds and d units took `y = F (A_1 + .. + A_r + E_1 + .. + E_d)`: F is the job's pace there, one
//! draw for all entries of the job at the step, each setup A and each piece E draw their own. To first order its mean is `m = S r + t d` and its
//! variance `h^2 m^2 + a^2 S^2 r + e^2 t^2 d`, with h, a and e the coefficients of variation of pace, of a setup and of a piece; two entries
//! of one job have the covariance `h^2 m m'`. S and t are looked for, and h, a, e beside them.
//!
//! **How.** For given shares of the three terms in the variance, `y` is linear in S and t with one unknown scale: S and t then have
//! Student's t as their law, centre and spread by generalised least squares, the scale integrated out (Box & Tiao 1973, Bayesian Inference in
//! Statistical Analysis, ch. 2; the weight of each set of shares is the restricted likelihood of Patterson & Thompson 1971, Biometrika 58(3),
//! 545-554, with its scale integrated out as Harville 1974 does, Biometrika 61(2), 383-385; from memory). The shares are unknown, so the answer is
//! the mixture over a grid of them, each weighing as it is likely: no maximum stands for the whole, and few entries get wide intervals of their
//! own accord. The means in the variance are those of the round before, four times over.
//!
//! **The file as a prior.** Its proportion of setup to pieces, brought to the level of the log, is believed give or take all of it (`GIVE`):
//! weak enough to be overruled by a few jobs of different sizes, and enough to say something of jobs of one size. How many degrees of
//! freedom it takes or leaves is the trace of the shrinkage (Hodges & Sargent 2001, Biometrika 88(2), 367-379; from memory). Shares of variance:
//! a Dirichlet law that leans to what the file's own ranges make of them (`LEAN`). The pace's share is that of a typical entry; setup and piece divide the
//! rest as the squared coefficients of variation of one setup and one piece are to each other, so that what is believed of these two is the same whichever
//! entries were timed. A file without a pace is believed to be right at three to one.
//!
//! **Other steps.** What jobs have in common is seen best where several steps of a job are slow together. Each step takes what they say of h
//! as what is known beforehand ([`InCommon`]).
//!
//! **Slips of the pen.** An entry is set apart where a slip explains it better than work does: its log ratio to what the others expect of it has
//! the density of Student's t if it is work, and a flat one over a factor of twenty either way, at one entry in fifty, if it is a slip (a two-part mixture as in
//! Box & Tiao 1968, Biometrika 55(1), 119-129; from memory). It begins with an estimate that slips do not move: Tukey's biweight from the median
//! ratio. At most a fifth of the entries are set apart: more are no slips. Two to four entries cannot tell by themselves: one of them is a
//! slip where it is far off the others and the file alike ([`SLIP_OF_FEW`]), and where both of two are, neither teaches anything. Five to ten can hardly: how
//! entries vary is then as little known as what they take, and a tail that is so long has room for a slip. So the file's ranges have a say there
//! ([`SLIP_GUESS`]), as a scaled inverse chi-square law of the variance beforehand has it (Gelman et al. 2013, Bayesian Data Analysis, ch. 2.6; from memory).
//!
//! **Limits.** Steps are taken one by one, though jobs tie them: with the same jobs at each of them little is lost. The variance is linear in the draws (pace times
//! piece is of second order), the laws are taken as near normal about the mean, and sizes as known. A few setups that are timed alone hold their mean up to two points too seldom
//! where most are short and some long, as Student's t of such draws does (`tests/MEASURED.md`).

mod around;
mod common;
mod start;

use crate::laws::{Beta, normal_cdf, normal_quantile};
use around::Around;
pub(in crate::worklog) use common::{Deviation, InCommon};
use start::{level, robust, slips_of_few};

/// Rounds in which the means in the variance settle.
const ROUNDS: usize = 4;
/// Nodes that weigh less than this of the heaviest add nothing that shows.
const NOTHING: f64 = 1e-4;
/// Cells that weigh less than this of the heaviest in the first round are not looked at again.
const FAR_BELOW: f64 = 1e-9;
/// One entry in so many is a slip of the pen (assumption).
const SLIPS: f64 = 0.02;
/// A slip makes the time up to so many times as long, or as short.
const SLIP_FACTOR: f64 = 20.0;
/// A slip is at least this far off, as a factor.
const SLIP_LEAST: f64 = 1.6;
/// Entries that can tell a slip.
const SLIP_ENTRIES: usize = 5;
/// Of two to four, one is a slip that is so many times what each of the others makes of it, and what the file does, or so small a part (assumption: less
/// than a slip by one digit).
const SLIP_OF_FEW: f64 = 4.0;
/// What the file says of how entries vary counts as so many entries more where one may be a slip (assumption).
const SLIP_GUESS: f64 = 2.0;

/// Shares of variance in the middle of a cell of the grid, and the logarithm of the cell's size.
type Cell = ([f64; 3], f64);

/// One entry, as the model sees it.
#[derive(Debug, Clone, Copy)]
pub(in crate::worklog) struct Row {
    /// Setups in it.
    pub rounds: f64,
    /// Pieces in it, in units of the first where they get quicker.
    pub units: f64,
    /// Minutes.
    pub minutes: f64,
    /// Its job; rows of one job stand together.
    pub job: usize,
}

impl Row {
    /// Mean minutes at these times of a setup and a piece.
    pub fn mean(&self, times: [f64; 2]) -> f64 {
        self.rounds * times[0] + self.units * times[1]
    }
}

/// What the file says beforehand.
#[derive(Debug, Clone)]
pub(in crate::worklog) struct Prior {
    /// Minutes of a setup and a piece; a part at 0 is not looked for.
    pub times: [f64; 2],
    /// Squared coefficients of variation of pace, a setup, a piece.
    pub varies: [f64; 3],
    /// What the steps of the same jobs say together of the pace.
    pub pace: Option<InCommon>,
}

/// One set of shares of variance, and what follows from it.
#[derive(Debug, Clone, Copy)]
pub(in crate::worklog) struct Node {
    /// How likely, all nodes together 1.
    pub weight: f64,
    /// Setup and piece.
    pub times: [f64; 2],
    /// Variance of the first, covariance, variance of the second.
    pub error: [f64; 3],
    /// Squared coefficients of variation of pace, a setup, a piece.
    pub varies: [f64; 3],
    pub freedom: f64,
    beta: Option<Beta>,
}

/// What a log says about a step.
#[derive(Debug, Clone)]
pub(in crate::worklog) struct Posterior {
    pub nodes: Vec<Node>,
    /// Means of setup and piece, not below 0.
    pub times: [f64; 2],
    /// Rows that were set apart as slips, ascending.
    pub apart: Vec<usize>,
    /// What of each job's deviation (per minute of its mean) goes into setup and piece.
    pub by_job: Vec<(usize, [f64; 2])>,
    /// Jobs behind it.
    pub jobs: usize,
    /// Squared coefficients of variation of pace, a setup, a piece where the restricted likelihood is greatest.
    pub likeliest: [f64; 3],
}

impl Node {
    /// Student's t.
    fn cdf(&self, t: f64) -> f64 {
        let Some(beta) = self.beta else { return normal_cdf(t) };
        let tail = 0.5 * beta.cdf(self.freedom / (self.freedom + t * t));
        if t > 0.0 { 1.0 - tail } else { tail }
    }

    /// Its density.
    fn density(&self, t: f64) -> f64 {
        let n = self.freedom;
        let ln = if self.beta.is_some() {
            libm::lgamma(0.5 * (n + 1.0))
                - libm::lgamma(0.5 * n)
                - 0.5 * libm::log(n * std::f64::consts::PI)
                - 0.5 * (n + 1.0) * libm::log1p(t * t / n)
        } else {
            -0.5 * (libm::log(2.0 * std::f64::consts::PI) + t * t)
        };
        libm::exp(ln)
    }

    /// Variance of `S r + t d` from the errors of S and t.
    pub fn error_at(&self, r: f64, d: f64) -> f64 {
        (self.error[0] * r * r + 2.0 * self.error[1] * r * d + self.error[2] * d * d).max(0.0)
    }

    /// Variance of a new job's work of r setups and d pieces whose pieces take t and setups S.
    pub fn work_at(&self, times: [f64; 2], r: f64, d: f64) -> f64 {
        let mean = times[0] * r + times[1] * d;
        self.varies[0] * mean * mean
            + self.varies[1] * times[0] * times[0] * r
            + self.varies[2] * times[1] * times[1] * d
    }
}

/// An estimate as the mixture has it.
#[derive(Debug, Clone, Copy)]
pub(in crate::worklog) struct Mixed {
    pub mean: f64,
    /// Standard deviation with the scale at its estimate.
    pub sd: f64,
}

impl Posterior {
    /// Of the rows (those of one job together), the prior believed as far as it goes.
    pub fn of(rows: &[Row], prior: &Prior) -> Self {
        let mut kept: Vec<bool> = vec![true; rows.len()];
        let level = level(rows, prior);
        let mut slips = Vec::new();
        let first = if rows.len() < SLIP_ENTRIES {
            slips = slips_of_few(rows, prior.times);
            // Where all are doubtful, what they say is not asked for.
            for slip in slips.iter().filter(|_| slips.len() < rows.len()) {
                kept[*slip] = false;
            }
            level
        } else {
            let (times, doubtful) = robust(rows, level);
            kept = doubtful.iter().map(|d| !d).collect();
            times
        };
        let mut near = None;
        let mut found = Self::settled(rows, &kept, first, prior, &mut near);
        for _ in 0..4 {
            if rows.len() < SLIP_ENTRIES {
                break;
            }
            let judged = found.judged(rows, &kept, prior.varies);
            if judged == kept {
                break;
            }
            kept = judged;
            found = Self::settled(rows, &kept, found.times, prior, &mut near);
        }
        found.apart = if rows.len() < SLIP_ENTRIES {
            slips
        } else {
            (0..rows.len()).filter(|k| !kept[*k]).collect()
        };
        if found.apart.len() == rows.len() {
            found.jobs = 0;
        }
        found
    }

    /// `near`: the cells of the grid that matter at all, once they are known.
    fn settled(rows: &[Row], kept: &[bool], first: [f64; 2], prior: &Prior, near: &mut Option<Vec<Cell>>) -> Self {
        let rows: Vec<Row> = rows
            .iter()
            .zip(kept)
            .filter(|(_, kept)| **kept)
            .map(|(row, _)| *row)
            .collect();
        let prior = Prior {
            times: level(&rows, prior),
            ..prior.clone()
        };
        let mut times = first;
        let mut nodes = Vec::new();
        let mut heaviest = None;
        for round in 0..ROUNDS {
            let around = Around::new(&rows, times, &prior);
            // The middle rounds only settle the means: the likeliest shares do for that.
            nodes = match heaviest {
                Some(shares) if round + 1 < ROUNDS => vec![around.node(shares, 0.0)],
                _ => {
                    let cells = near.get_or_insert_with(|| around.grid());
                    cells.iter().map(|(shares, cell)| around.node(*shares, *cell)).collect()
                }
            };
            let most = nodes.iter().map(|(_, n)| n.weight).fold(f64::NEG_INFINITY, f64::max);
            heaviest = nodes.iter().find(|(_, n)| n.weight == most).map(|(s, _)| *s);
            for (_, node) in &mut nodes {
                node.weight = libm::exp(node.weight - most);
            }
            if let Some(cells) = near.as_mut().filter(|cells| cells.len() == nodes.len()) {
                let mut matter = nodes.iter().map(|(_, n)| n.weight >= FAR_BELOW);
                cells.retain(|_| matter.next() == Some(true));
            }
            nodes.retain(|(_, n)| n.weight >= NOTHING);
            let sum: f64 = nodes.iter().map(|(_, n)| n.weight).sum();
            for (_, node) in &mut nodes {
                node.weight /= sum;
            }
            times = [0, 1].map(|k| nodes.iter().map(|(_, n)| n.weight * n.times[k]).sum::<f64>());
            times = not_below_nothing(times, &nodes, &prior);
        }
        let around = Around::new(&rows, times, &prior);
        let by_job = heaviest.map_or_else(Vec::new, |shares| around.by_job(shares));
        let likeliest = heaviest.map_or([0.0; 3], |shares| around.likeliest(shares));
        Self {
            jobs: by_job.len(),
            likeliest,
            nodes: nodes.into_iter().map(|(_, n)| n).collect(),
            times,
            apart: Vec::new(),
            by_job,
        }
    }

    /// Which rows are work and which are slips; `guessed`: squared coefficients of variation by the file, all 0 where it says nothing of them.
    fn judged(&self, rows: &[Row], before: &[bool], guessed: [f64; 3]) -> Vec<bool> {
        let guesses = if guessed.iter().any(|v| *v > 0.0) {
            SLIP_GUESS
        } else {
            0.0
        };
        let slip = SLIPS / (2.0 * libm::log(SLIP_FACTOR));
        let mut odds: Vec<(f64, usize)> = Vec::new();
        for (k, row) in rows.iter().enumerate() {
            let mean = row.mean(self.times);
            if mean <= 0.0 {
                continue;
            }
            let off = libm::log(row.minutes / mean);
            if off.abs() < libm::log(SLIP_LEAST) {
                continue;
            }
            let work: f64 = self
                .nodes
                .iter()
                .map(|node| {
                    let work = |varies| Node { varies, ..*node }.work_at(self.times, row.rounds, row.units);
                    let freedom = node.freedom + guesses;
                    // The scale with the file's say, over that of the entries alone.
                    let scale = (node.freedom + guesses * work(guessed) / work(node.varies)) / freedom;
                    let own = scale * work(node.varies);
                    let error = scale * node.error_at(row.rounds, row.units);
                    // What it did to the estimate itself makes one that was taken part in look nearer.
                    let (variance, freedom) = if before[k] {
                        ((own - error).max(0.1 * own), (freedom - 1.0).max(1.0))
                    } else {
                        (own + error, freedom)
                    };
                    let sd = libm::sqrt(variance) / mean;
                    let node = Node { freedom, ..*node };
                    node.weight * node.density(off / sd) / sd
                })
                .sum();
            let odd = slip / work.max(1e-300);
            if odd > 1.0 {
                odds.push((odd, k));
            }
        }
        odds.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        odds.truncate((rows.len() / 5).max(1));
        let mut kept = vec![true; rows.len()];
        for (_, k) in odds {
            kept[k] = false;
        }
        kept
    }

    /// A part (0: setup, 1: piece), or any `S r + t d`.
    pub fn sum(&self, r: f64, d: f64) -> Mixed {
        self.mixed(|n| (n.times[0] * r + n.times[1] * d, n.error_at(r, d)))
    }

    fn mixed(&self, of: impl Fn(&Node) -> (f64, f64)) -> Mixed {
        let mean: f64 = self.nodes.iter().map(|n| n.weight * of(n).0).sum();
        let variance: f64 = self
            .nodes
            .iter()
            .map(|n| {
                let (m, v) = of(n);
                n.weight * (v + (m - mean) * (m - mean))
            })
            .sum();
        Mixed {
            mean,
            sd: libm::sqrt(variance),
        }
    }

    /// Ends that `S r + t d` lies between with 95 % probability, given that it is not below nothing.
    pub fn ends(&self, r: f64, d: f64) -> (f64, f64) {
        let of = |n: &Node| (n.times[0] * r + n.times[1] * d, n.error_at(r, d));
        let below = self.share(0.0, of);
        let at = |q: f64| self.quantile(below + q * (1.0 - below), of).max(0.0);
        (at(0.025), at(0.975))
    }

    /// Between which minutes a share of new jobs of r setups and d pieces takes, their own chance and the estimates' errors together.
    pub fn new_job(&self, r: f64, d: f64, share: f64) -> (f64, f64) {
        let of = |n: &Node| {
            let mean = n.times[0] * r + n.times[1] * d;
            (mean, n.error_at(r, d) + n.work_at(self.times, r, d))
        };
        let tail = 0.5 * (1.0 - share);
        (self.quantile(tail, of), self.quantile(1.0 - tail, of))
    }

    /// Standard deviation of the same.
    pub fn new_job_sd(&self, r: f64, d: f64) -> f64 {
        self.mixed(|n| {
            let mean = n.times[0] * r + n.times[1] * d;
            (mean, n.error_at(r, d) + n.work_at(self.times, r, d))
        })
        .sd
    }

    /// How likely a part (0: setup, 1: piece) is below nothing by what the entries say.
    pub fn share_below_nothing(&self, part: usize) -> f64 {
        let (r, d) = if part == 0 { (1.0, 0.0) } else { (0.0, 1.0) };
        self.share(0.0, |n| (n.times[part], n.error_at(r, d)))
    }

    /// Variance of setup, covariance, variance of a piece.
    pub fn error(&self) -> [f64; 3] {
        let mean = [0, 1].map(|k| self.nodes.iter().map(|n| n.weight * n.times[k]).sum::<f64>());
        let mut out = [0.0; 3];
        for n in &self.nodes {
            let off = [n.times[0] - mean[0], n.times[1] - mean[1]];
            let between = [off[0] * off[0], off[0] * off[1], off[1] * off[1]];
            for k in 0..3 {
                out[k] += n.weight * (n.error[k] + between[k]);
            }
        }
        out
    }

    /// Variance of a new job's own chance.
    pub fn work_at(&self, r: f64, d: f64) -> f64 {
        self.nodes.iter().map(|n| n.weight * n.work_at(self.times, r, d)).sum()
    }

    /// Mean squared coefficients of variation.
    pub fn varies(&self) -> [f64; 3] {
        [0, 1, 2].map(|k| self.nodes.iter().map(|n| n.weight * n.varies[k]).sum())
    }

    fn share(&self, x: f64, of: impl Fn(&Node) -> (f64, f64)) -> f64 {
        self.nodes
            .iter()
            .map(|n| {
                let (mean, variance) = of(n);
                let sd = libm::sqrt(variance);
                n.weight
                    * if sd > 0.0 {
                        n.cdf((x - mean) / sd)
                    } else {
                        f64::from(x >= mean)
                    }
            })
            .sum()
    }

    /// The mixture's quantile: false position held within a bracket (the Illinois rule), which needs no density.
    fn quantile(&self, q: f64, of: impl Fn(&Node) -> (f64, f64) + Copy) -> f64 {
        let about = self.mixed(of);
        if about.sd <= 0.0 {
            return about.mean;
        }
        let z = normal_quantile(q.clamp(1e-9, 1.0 - 1e-9));
        let over = |x: f64| self.share(x, of) - q;
        let (mut a, mut b) = (about.mean + (z - 0.5) * about.sd, about.mean + (z + 0.5) * about.sd);
        let (mut fa, mut fb) = (over(a), over(b));
        let mut reach = about.sd;
        while fa > 0.0 && reach.is_finite() {
            (b, fb) = (a, fa);
            a -= reach;
            fa = over(a);
            reach *= 2.0;
        }
        reach = about.sd;
        while fb < 0.0 && reach.is_finite() {
            (a, fa) = (b, fb);
            b += reach;
            fb = over(b);
            reach *= 2.0;
        }
        for _ in 0..60 {
            if (b - a).abs() <= 1e-9 * about.sd || fa == fb {
                break;
            }
            let x = b - fb * (b - a) / (fb - fa);
            let fx = over(x);
            if fx == 0.0 {
                return x;
            }
            if (fx < 0.0) == (fb < 0.0) {
                fa *= 0.5;
            } else {
                (a, fa) = (b, fb);
            }
            (b, fb) = (x, fx);
            if fx.abs() < 1e-11 {
                return x;
            }
        }
        0.5 * (a + b)
    }
}

/// Means, where one came out below nothing as the other alone has it.
fn not_below_nothing(times: [f64; 2], nodes: &[([f64; 3], Node)], prior: &Prior) -> [f64; 2] {
    let error = |k: usize| nodes.iter().map(|(_, n)| n.weight * n.error[k]).sum::<f64>();
    let mut out = times;
    for (k, other) in [(0, 1), (1, 0)] {
        if prior.times[k] > 0.0 && times[k] <= 0.0 {
            // The other's mean given that this one is nothing.
            let own = error(if k == 0 { 0 } else { 2 });
            if own > 0.0 && prior.times[other] > 0.0 {
                out[other] = times[other] - error(1) / own * times[k];
            }
            out[k] = 0.0;
        }
    }
    out.map(|t| t.max(0.0))
}

#[cfg(test)]
mod tests;
