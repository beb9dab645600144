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
//! **The file as a prior.** Its proportion of setup to pieces, brought to the level of the log, is believed give or take all of it ([`GIVE`]):
//! weak enough to be overruled by a few jobs of different sizes, and enough to say something of jobs of one size. How many degrees of
//! freedom it takes or leaves is the trace of the shrinkage (Hodges & Sargent 2001, Biometrika 88(2), 367-379; from memory). Shares of variance:
//! a Dirichlet law that leans to what the file's own ranges make of them ([`LEAN`]); a file without a pace is believed to have none with even odds.
//!
//! **Other steps.** What jobs have in common is seen best where several steps of a job are slow together: the mean product of two steps' relative
//! deviations is the squared coefficient of variation of the pace. Each step takes it, with its standard error, as what is known beforehand of h (a normal law).
//!
//! **Slips of the pen.** An entry is set apart where a slip explains it better than work does: its log ratio to what the others expect of it has
//! the density of Student's t if it is work, and a flat one over a factor of twenty either way, at one entry in fifty, if it is a slip (a two-part mixture as in
//! Box & Tiao 1968, Biometrika 55(1), 119-129; from memory). It begins with an estimate that slips do not move: Tukey's biweight from the median
//! ratio. At most a fifth of the entries are set apart: more are no slips.
//!
//! **Limits.** Steps are taken one by one, though jobs tie them: with the same jobs at each of them little is lost. The variance is linear in the draws (pace times
//! piece is of second order), the laws are taken as near normal about the mean, and sizes as known.

use crate::laws::{Beta, normal_cdf, normal_quantile};

/// Standard deviation of the file's setup and time a piece about their truth, over themselves once they are brought to the log's level.
const GIVE: f64 = 1.5;
/// Degrees of freedom that finding the shares costs (an assumption that simulated logs bear out).
const SHARES: f64 = 0.5;
/// How far the shares of variance lean to the file's: 0 not at all, 1 as if three such shares had been seen.
const LEAN: f64 = 0.5;
/// Cells of the grid of shares: of the pace's, and of how setups and pieces divide the rest.
const PACES: usize = 11;
const SPLITS: usize = 6;
/// The pace's share where there is none.
const NO_PACE: f64 = 1e-6;
/// Rounds in which the means in the variance settle.
const ROUNDS: usize = 4;
/// Nodes that weigh less than this of the heaviest add nothing that shows.
const NOTHING: f64 = 1e-4;
/// One entry in so many is a slip of the pen (assumption).
const SLIPS: f64 = 0.02;
/// A slip makes the time up to so many times as long, or as short.
const SLIP_FACTOR: f64 = 20.0;
/// A slip is at least this far off, as a factor.
const SLIP_LEAST: f64 = 1.6;
/// Entries that can tell a slip.
const SLIP_ENTRIES: usize = 5;
/// Degrees of freedom from which on Student's t is the normal law.
const AS_NORMAL: f64 = 400.0;
/// What of the variance is not the pace's where next to nothing is: beside the grid's cells, which end at a tenth.
const STEADY: [f64; 6] = [0.03, 0.01, 3e-3, 1e-3, 1e-4, 2e-5];
/// A coefficient of variation that reading a clock makes of itself.
const CLOCK: f64 = 1e-3;
/// A squared coefficient of variation below which arithmetic alone speaks.
const LEAST: f64 = 1e-12;

/// One entry, as the model sees it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
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
#[derive(Debug, Clone, Copy)]
pub(super) struct Prior {
    /// Minutes of a setup and a piece; a part at 0 is not looked for.
    pub times: [f64; 2],
    /// Squared coefficients of variation of pace, a setup, a piece.
    pub varies: [f64; 3],
    /// What other steps of the same jobs say of the pace's squared coefficient of variation, and the standard error of that.
    pub pace: Option<(f64, f64)>,
}

/// One set of shares of variance, and what follows from it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Node {
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
pub(super) struct Posterior {
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
pub(super) struct Mixed {
    pub mean: f64,
    /// Standard deviation with the scale at its estimate.
    pub sd: f64,
}

impl Posterior {
    /// Of the rows (those of one job together), the prior believed as far as it goes.
    pub fn of(rows: &[Row], prior: &Prior) -> Self {
        let mut kept: Vec<bool> = vec![true; rows.len()];
        let level = level(rows, prior);
        let first = if rows.len() < SLIP_ENTRIES {
            level
        } else {
            let (times, doubtful) = robust(rows, level);
            kept = doubtful.iter().map(|d| !d).collect();
            times
        };
        let mut found = Self::settled(rows, &kept, first, prior);
        for _ in 0..4 {
            let judged = found.judged(rows, &kept);
            if judged == kept {
                break;
            }
            kept = judged;
            found = Self::settled(rows, &kept, found.times, prior);
        }
        found.apart = (0..rows.len()).filter(|k| !kept[*k]).collect();
        found
    }

    fn settled(rows: &[Row], kept: &[bool], first: [f64; 2], prior: &Prior) -> Self {
        let rows: Vec<Row> = rows
            .iter()
            .zip(kept)
            .filter(|(_, kept)| **kept)
            .map(|(row, _)| *row)
            .collect();
        let prior = Prior {
            times: level(&rows, prior),
            ..*prior
        };
        let mut times = first;
        let mut nodes = Vec::new();
        let mut heaviest = None;
        for round in 0..ROUNDS {
            let around = Around::new(&rows, times, &prior);
            // The middle rounds only settle the means: the likeliest shares do for that.
            nodes = match heaviest {
                Some(shares) if round + 1 < ROUNDS => vec![around.node(shares, 0.0)],
                _ => around
                    .grid()
                    .into_iter()
                    .map(|(shares, cell)| around.node(shares, cell))
                    .collect(),
            };
            let most = nodes.iter().map(|(_, n)| n.weight).fold(f64::NEG_INFINITY, f64::max);
            heaviest = nodes.iter().find(|(_, n)| n.weight == most).map(|(s, _)| *s);
            for (_, node) in &mut nodes {
                node.weight = libm::exp(node.weight - most);
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

    /// Which rows are work and which are slips.
    fn judged(&self, rows: &[Row], before: &[bool]) -> Vec<bool> {
        if rows.len() < SLIP_ENTRIES {
            return vec![true; rows.len()];
        }
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
                    let own = node.work_at(self.times, row.rounds, row.units);
                    let error = node.error_at(row.rounds, row.units);
                    // What it did to the estimate itself makes one that was taken part in look nearer.
                    let (variance, freedom) = if before[k] {
                        ((own - error).max(0.1 * own), (node.freedom - 1.0).max(1.0))
                    } else {
                        (own + error, node.freedom)
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
            if (b - a).abs() <= 1e-9 * about.sd || fb - fa <= 0.0 {
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

/// The file's times brought to the log's level: by the median ratio where some may be slips, which half of them do not move.
fn level(rows: &[Row], prior: &Prior) -> [f64; 2] {
    let mut ratios: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|row| {
            let mean = row.mean(prior.times);
            (mean > 0.0).then(|| (row.minutes / mean, mean))
        })
        .collect();
    if ratios.is_empty() {
        return prior.times;
    }
    ratios.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The median of minutes, not of entries: large entries say more of the level.
    let half = 0.5 * ratios.iter().map(|r| r.1).sum::<f64>();
    let mut sum = 0.0;
    let mut at = 1.0;
    for (ratio, mean) in ratios {
        sum += mean;
        at = ratio;
        if sum >= half {
            break;
        }
    }
    prior.times.map(|t| t * at)
}

/// Tukey's biweight on relative residuals from the file's times at the log's level, and which rows it leaves out.
fn robust(rows: &[Row], start: [f64; 2]) -> ([f64; 2], Vec<bool>) {
    let mut times = start;
    let mut doubtful = vec![false; rows.len()];
    for _ in 0..12 {
        let off: Vec<f64> = rows
            .iter()
            .map(|row| libm::log(row.minutes / row.mean(times).max(1e-9)))
            .collect();
        let mut size: Vec<f64> = off.iter().map(|o| o.abs()).collect();
        size.sort_by(f64::total_cmp);
        let scale = (1.4826 * size[size.len() / 2]).clamp(0.03, 0.6);
        let reach = 4.685 * scale;
        let mut sums = [0.0; 5];
        for ((row, off), doubt) in rows.iter().zip(&off).zip(&mut doubtful) {
            let u = off / reach;
            *doubt = u.abs() >= 1.0 && off.abs() > libm::log(SLIP_LEAST);
            if u.abs() >= 1.0 {
                continue;
            }
            let weight = (1.0 - u * u) * (1.0 - u * u);
            let mean = row.mean(times).max(1e-9);
            let w = weight / (mean * mean * scale * scale);
            let left = row.minutes - row.mean(times);
            sums[0] += w * row.rounds * row.rounds;
            sums[1] += w * row.rounds * row.units;
            sums[2] += w * row.units * row.units;
            sums[3] += w * row.rounds * left;
            sums[4] += w * row.units * left;
        }
        let give = give(&Prior {
            times: start,
            varies: [0.0; 3],
            pace: None,
        });
        let precision = give.map(|g| if g > 0.0 { 1.0 / (g * g) } else { f64::INFINITY });
        let change = solve(
            [sums[0], sums[1], sums[2]],
            [sums[3], sums[4]],
            precision,
            [start[0] - times[0], start[1] - times[1]],
        )
        .0;
        for k in 0..2 {
            // Not beyond a tenth of where it began: a mean must stay above nothing.
            times[k] = (times[k] + change[k]).max(0.05 * start[k]);
        }
    }
    (times, doubtful)
}

/// `(X'X + P)^-1 (X'y + P b)`, that inverse, the trace of `X'X` times it, and its determinant's logarithm (that of the parts looked for); a part with an
/// infinite precision is not looked for.
#[allow(clippy::type_complexity, reason = "the four are one solution")]
fn solve(xx: [f64; 3], xy: [f64; 2], precision: [f64; 2], prior: [f64; 2]) -> ([f64; 2], [f64; 3], f64, f64) {
    let (p, q) = (precision[0], precision[1]);
    match (p.is_finite(), q.is_finite()) {
        (true, true) => {
            let (a, b, c) = (xx[0] + p, xx[1], xx[2] + q);
            let det = a * c - b * b;
            let (g, h) = (xy[0] + p * prior[0], xy[1] + q * prior[1]);
            let inverse = [c / det, -b / det, a / det];
            let trace = xx[0] * inverse[0] + 2.0 * xx[1] * inverse[1] + xx[2] * inverse[2];
            (
                [(c * g - b * h) / det, (a * h - b * g) / det],
                inverse,
                trace,
                libm::log(det),
            )
        }
        (true, false) => {
            let a = xx[0] + p;
            (
                [(xy[0] + p * prior[0]) / a, 0.0],
                [1.0 / a, 0.0, 0.0],
                xx[0] / a,
                libm::log(a),
            )
        }
        (false, true) => {
            let c = xx[2] + q;
            (
                [0.0, (xy[1] + q * prior[1]) / c],
                [0.0, 0.0, 1.0 / c],
                xx[2] / c,
                libm::log(c),
            )
        }
        (false, false) => ([0.0; 2], [0.0; 3], 0.0, 0.0),
    }
}

/// How far the truth of each part may be from the file's: where only one is looked for, its level is the log's alone.
fn give(prior: &Prior) -> [f64; 2] {
    let one = prior.times.iter().any(|t| *t <= 0.0);
    prior.times.map(|t| match (t > 0.0, one) {
        (false, _) => 0.0,
        (true, true) => f64::INFINITY,
        (true, false) => GIVE * t,
    })
}

/// The log about given means, which the variance is taken at.
struct Around<'a> {
    rows: &'a [Row],
    times: [f64; 2],
    prior: &'a Prior,
    /// What makes a share of each term one of a typical entry's squared coefficient of variation.
    scale: [f64; 3],
}

impl<'a> Around<'a> {
    fn new(rows: &'a [Row], times: [f64; 2], prior: &'a Prior) -> Self {
        // A mean of nothing has no variance of its own: the prior's keeps the terms apart.
        let times = [0, 1].map(|k| times[k].max(0.02 * prior.times[k]));
        let mut sums = [0.0; 3];
        for row in rows {
            let m = row.mean(times);
            if m > 0.0 {
                sums[0] += 1.0;
                sums[1] += times[0] * times[0] * row.rounds / (m * m);
                sums[2] += times[1] * times[1] * row.units / (m * m);
            }
        }
        let scale = sums.map(|s| if s > 0.0 { sums[0] / s } else { 0.0 });
        Self {
            rows,
            times,
            prior,
            scale,
        }
    }

    /// Shares of variance at the middle of cells that are the smaller the less there is of the pace (it alone does not even out over many pieces), each with the
    /// logarithm of its cell's size; terms that the log has nothing of have none.
    fn grid(&self) -> Vec<([f64; 3], f64)> {
        let [_, setups, pieces] = self.scale.map(|s| s > 0.0);
        let split: Vec<[f64; 2]> = match (setups, pieces) {
            (true, true) => (0..SPLITS)
                .map(|j| (j as f64 + 0.5) / SPLITS as f64)
                .map(|a| [a, 1.0 - a])
                .collect(),
            (true, false) => vec![[1.0, 0.0]],
            _ => vec![[0.0, 1.0]],
        };
        // What is not the pace's, and its cell's width. Jobs of several entries may tell that next to nothing is: the last cells reach halfway to
        // the next on a logarithmic line.
        let mut rests: Vec<(f64, f64)> = (0..PACES)
            .map(|i| (i as f64 + 0.5) / PACES as f64)
            .map(|x| (1.0 - x * x, 2.0 * x / PACES as f64))
            .collect();
        let mut above = libm::sqrt(rests[PACES - 1].0 * STEADY[0]);
        rests[PACES - 1].1 -= above;
        for (k, rest) in STEADY.into_iter().enumerate() {
            let below = STEADY.get(k + 1).map_or(0.0, |next| libm::sqrt(rest * next));
            rests.push((rest, above - below));
            above = below;
        }
        let mut list = Vec::new();
        for (rest, width) in rests {
            let cell = if split.len() > 1 { width * rest } else { width };
            for [a, e] in &split {
                list.push(([1.0 - rest, rest * a, rest * e], libm::log(cell)));
            }
        }
        if self.prior.varies[0] <= 0.0 {
            let all: f64 = list.iter().map(|(_, cell)| libm::exp(*cell)).sum();
            let cell = libm::log(all / split.len() as f64);
            list.extend(
                split
                    .iter()
                    .map(|[a, e]| ([NO_PACE, (1.0 - NO_PACE) * a, (1.0 - NO_PACE) * e], cell)),
            );
        }
        list
    }

    /// Logarithm of how likely shares are beforehand.
    fn beforehand(&self, shares: [f64; 3]) -> f64 {
        let file: Vec<f64> = (0..3)
            .map(|k| {
                if self.scale[k] > 0.0 {
                    self.prior.varies[k] / self.scale[k]
                } else {
                    0.0
                }
            })
            .collect();
        let all: f64 = file.iter().sum();
        let terms = self.scale.iter().filter(|s| **s > 0.0).count() as f64;
        let paced = self.prior.varies[0] > 0.0;
        (0..3)
            .filter(|k| self.scale[*k] > 0.0 && (*k > 0 || paced))
            .map(|k| {
                let share = if all > 0.0 { file[k] / all } else { 1.0 / terms };
                LEAN * (terms * share - 1.0) * libm::log(shares[k])
            })
            .sum()
    }

    /// Sums over all rows under these shares: X'V^-1 X, X'V^-1 y, y'V^-1 y (y the distance from the means) and ln det V.
    fn sums(&self, shares: [f64; 3]) -> ([f64; 3], [f64; 2], f64, f64) {
        let [p, q, u] = [0, 1, 2].map(|k| shares[k] * self.scale[k]);
        let (s2, t2) = (self.times[0] * self.times[0], self.times[1] * self.times[1]);
        let (mut xx, mut xy, mut yy, mut ln) = ([0.0; 3], [0.0; 2], 0.0, 0.0);
        let mut k = 0;
        while k < self.rows.len() {
            let job = self.rows[k].job;
            // The job's own: what its pace is orthogonal to is weighed by the rest of the variance (Sherman & Morrison).
            let (mut mm, mut xm, mut ym) = (0.0, [0.0; 2], 0.0);
            let first = k;
            while let Some(row) = self.rows.get(k).filter(|row| row.job == job) {
                k += 1;
                let m = row.mean(self.times);
                if m <= 0.0 {
                    continue;
                }
                let own = q * s2 * row.rounds + u * t2 * row.units;
                let d = own.max(LEAST * m * m);
                let w = 1.0 / d;
                let y = row.minutes - m;
                ln += libm::log(d);
                xx[0] += w * row.rounds * row.rounds;
                xx[1] += w * row.rounds * row.units;
                xx[2] += w * row.units * row.units;
                xy[0] += w * row.rounds * y;
                xy[1] += w * row.units * y;
                yy += w * y * y;
                mm += w * m * m;
                xm[0] += w * row.rounds * m;
                xm[1] += w * row.units * m;
                ym += w * y * m;
            }
            // Entries of a job agree no better than clocks are read.
            yy += CLOCK * CLOCK * mm * (1.0 - 1.0 / (k - first).max(1) as f64);
            let c = p / (1.0 + p * mm);
            ln += libm::log1p(p * mm);
            xx[0] -= c * xm[0] * xm[0];
            xx[1] -= c * xm[0] * xm[1];
            xx[2] -= c * xm[1] * xm[1];
            xy[0] -= c * xm[0] * ym;
            xy[1] -= c * xm[1] * ym;
            yy -= c * ym * ym;
        }
        (xx, xy, yy, ln)
    }

    /// A node, its weight still the logarithm of how likely it is.
    fn node(&self, shares: [f64; 3], cell: f64) -> ([f64; 3], Node) {
        let (xx, xy, yy, ln) = self.sums(shares);
        let n = self.rows.len() as f64;
        let give = give(self.prior);
        let prior = [0, 1].map(|k| self.prior.times[k] - self.times[k]);
        // The prior's precision in units of the scale, which it has a small part in itself.
        let mut scale = (yy / n).max(LEAST);
        let mut found = ([0.0; 2], [0.0; 3], 0.0, 0.0);
        let mut freedom = n;
        let mut squares = yy;
        for _ in 0..4 {
            let precision = give.map(|g| if g > 0.0 { scale / (g * g) } else { f64::INFINITY });
            found = solve(xx, xy, precision, prior);
            let (b, _, trace, _) = found;
            let held: f64 = (0..2)
                .filter(|k| give[*k] > 0.0)
                .map(|k| precision[k] * (b[k] - prior[k]) * (b[k] - prior[k]))
                .sum();
            squares = (yy - 2.0 * (b[0] * xy[0] + b[1] * xy[1])
                + b[0] * b[0] * xx[0]
                + 2.0 * b[0] * b[1] * xx[1]
                + b[1] * b[1] * xx[2]
                + held)
                .max(n * LEAST);
            freedom = (n - trace - SHARES).max(0.5);
            scale = squares / freedom;
        }
        let (b, inverse, _, ln_det) = found;
        let by_others = self.prior.pace.map_or(0.0, |(pace, se)| {
            let off = (shares[0] * self.scale[0] * scale - pace) / se;
            -0.5 * off * off
        });
        let weight = cell + self.beforehand(shares) + by_others - 0.5 * (freedom * libm::log(squares) + ln + ln_det);
        let node = Node {
            weight,
            times: [self.times[0] + b[0], self.times[1] + b[1]],
            error: inverse.map(|i| i * scale),
            varies: [0, 1, 2].map(|k| shares[k] * self.scale[k] * scale),
            freedom,
            beta: (freedom < AS_NORMAL).then(|| Beta::new(0.5 * freedom, 0.5)),
        };
        (shares, node)
    }

    /// Restricted log-likelihood of these shares, whatever the file says, and the scale that goes with them.
    fn restricted(&self, shares: [f64; 3]) -> (f64, f64) {
        let (xx, xy, yy, ln) = self.sums(shares);
        let flat = self.prior.times.map(|t| if t > 0.0 { 0.0 } else { f64::INFINITY });
        let columns = flat.iter().filter(|p| **p == 0.0).count() as f64;
        let (b, _, _, ln_det) = solve(xx, xy, flat, [0.0; 2]);
        let squares = yy - b[0] * xy[0] - b[1] * xy[1];
        let freedom = self.rows.len() as f64 - columns;
        if freedom <= 0.0 || !squares.is_finite() || !ln_det.is_finite() {
            return (f64::NEG_INFINITY, 0.0);
        }
        let squares = squares.max(freedom * LEAST);
        (-0.5 * (freedom * libm::log(squares) + ln + ln_det), squares / freedom)
    }

    /// The likeliest shares, as squared coefficients of variation: a search in ever smaller steps from the likeliest cell.
    fn likeliest(&self, start: [f64; 3]) -> [f64; 3] {
        let (mut best, mut at) = (self.restricted(start), start);
        let mut step: f64 = 0.08;
        while step > 2e-4 {
            let mut better = None;
            for (from, to) in [(0, 1), (1, 0), (0, 2), (2, 0), (1, 2), (2, 1)] {
                if self.scale[from] <= 0.0 || self.scale[to] <= 0.0 || at[from] <= 0.0 {
                    continue;
                }
                let mut tried = at;
                let moved = step.min(at[from]);
                tried[from] -= moved;
                tried[to] += moved;
                let found = self.restricted(tried);
                if found.0 > better.map_or(best.0, |(b, _): ((f64, f64), [f64; 3])| b.0) {
                    better = Some((found, tried));
                }
            }
            match better {
                Some((found, tried)) => (best, at) = (found, tried),
                None => step *= 0.5,
            }
        }
        [0, 1, 2].map(|k| at[k] * self.scale[k] * best.1)
    }

    /// What a job that is off by one minute in each of its own does to setup and piece, job by job.
    fn by_job(&self, shares: [f64; 3]) -> Vec<(usize, [f64; 2])> {
        let (_, node) = self.node(shares, 0.0);
        let (xx, _, _, _) = self.sums(shares);
        let give = give(self.prior);
        let scale = node
            .varies
            .iter()
            .zip(&self.scale)
            .zip(shares)
            .fold(0.0, |found: f64, ((v, s), share)| {
                if *s > 0.0 && share > 0.0 {
                    found.max(v / s / share)
                } else {
                    found
                }
            });
        let precision = give.map(|g| if g > 0.0 { scale / (g * g) } else { f64::INFINITY });
        let inverse = solve(xx, [0.0; 2], precision, [0.0; 2]).1;
        let [p, q, u] = [0, 1, 2].map(|k| shares[k] * self.scale[k]);
        let (s2, t2) = (self.times[0] * self.times[0], self.times[1] * self.times[1]);
        let mut list: Vec<(usize, [f64; 2])> = Vec::new();
        let mut k = 0;
        while k < self.rows.len() {
            let job = self.rows[k].job;
            let (mut mm, mut xm) = (0.0, [0.0; 2]);
            while let Some(row) = self.rows.get(k).filter(|row| row.job == job) {
                k += 1;
                let m = row.mean(self.times);
                if m <= 0.0 {
                    continue;
                }
                let w = 1.0 / (q * s2 * row.rounds + u * t2 * row.units).max(LEAST * m * m);
                mm += w * m * m;
                xm[0] += w * row.rounds * m;
                xm[1] += w * row.units * m;
            }
            // X'V^-1 m = X'W m / (1 + p m'W m).
            let c = 1.0 / (1.0 + p * mm);
            list.push((
                job,
                [
                    c * (inverse[0] * xm[0] + inverse[1] * xm[1]),
                    c * (inverse[1] * xm[0] + inverse[2] * xm[1]),
                ],
            ));
        }
        list
    }
}
