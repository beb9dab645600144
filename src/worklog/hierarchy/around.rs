//! The log about given means: how likely shares of variance are, and what follows from each.

use super::start::{give, solve};
use super::{Node, Prior, Row};
use crate::laws::Beta;

/// How far the shares of variance lean to the file's: 0 not at all, 1 as if three such shares had been seen.
const LEAN: f64 = 0.5;
/// The pace's share where there is none.
const NO_PACE: f64 = 1e-6;
/// Odds that a file without a pace is believed to be right with: how much its silence counts (measured in `tests/MEASURED.md`).
const NONE_TO_SOME: f64 = 3.0;
/// Degrees of freedom from which on Student's t is the normal law.
const AS_NORMAL: f64 = 400.0;
/// What of the variance is not the pace's where next to nothing is: beside the grid's cells, which end at a tenth.
const STEADY: [f64; 6] = [0.03, 0.01, 3e-3, 1e-3, 1e-4, 2e-5];
/// A coefficient of variation that reading a clock makes of itself.
const CLOCK: f64 = 1e-3;
/// A squared coefficient of variation below which arithmetic alone speaks.
const LEAST: f64 = 1e-12;
/// Cells of the grid of shares: of the pace's, and of how setups and pieces divide the rest.
const PACES: usize = 11;
const SPLITS: usize = 6;

/// The log about given means, which the variance is taken at.
pub(super) struct Around<'a> {
    rows: &'a [Row],
    times: [f64; 2],
    prior: &'a Prior,
    /// How much of a typical entry's squared coefficient of variation one of pace, of a setup and of a piece makes; 0 where the log has nothing of it.
    typical: [f64; 3],
}

/// A product of many factors, of which the logarithm is wanted: one is taken for several of them.
pub(super) struct Product {
    product: f64,
    ln: f64,
}

impl Default for Product {
    fn default() -> Self {
        Self { product: 1.0, ln: 0.0 }
    }
}

impl Product {
    pub(super) fn times(&mut self, factor: f64) {
        self.product *= factor;
        if !(1e-100..1e100).contains(&self.product) {
            self.ln += libm::log(self.product);
            self.product = 1.0;
        }
    }

    pub(super) fn ln(&self) -> f64 {
        self.ln + libm::log(self.product)
    }
}

impl<'a> Around<'a> {
    pub(super) fn new(rows: &'a [Row], times: [f64; 2], prior: &'a Prior) -> Self {
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
        let typical = sums.map(|s| if s > 0.0 { s / sums[0] } else { 0.0 });
        Self {
            rows,
            times,
            prior,
            typical,
        }
    }

    /// Squared coefficients of variation that have these shares and make up 1 in a typical entry. The pace's share is one of the entry; setup and
    /// piece divide the rest as their own coefficients are to each other. Were theirs shares of the entry too, a log of many setups alone would have pieces
    /// believed beforehand to vary several times as much as setups.
    pub(super) fn varies(&self, [pace, setup, piece]: [f64; 3]) -> [f64; 3] {
        let entry = setup * self.typical[1] + piece * self.typical[2];
        let unit = if entry > 0.0 { (setup + piece) / entry } else { 0.0 };
        [pace, setup * unit, piece * unit]
    }

    /// The file's shares; none where it has no ranges.
    pub(super) fn of_file(&self) -> Option<[f64; 3]> {
        let [pace, setup, piece] = [0, 1, 2].map(|k| f64::from(self.typical[k] > 0.0) * self.prior.varies[k]);
        let rest = setup * self.typical[1] + piece * self.typical[2];
        let unit = if rest > 0.0 { rest / (setup + piece) } else { 0.0 };
        (pace + rest > 0.0).then(|| [pace, setup * unit, piece * unit].map(|share| share / (pace + rest)))
    }

    /// Shares of variance at the middle of cells that are the smaller the less there is of the pace (it alone does not even out over many pieces), each with the
    /// logarithm of its cell's size; terms that the log has nothing of have none. What setups make of the rest is even in the angle whose sine is its root, as
    /// Jeffreys has it of a proportion (1946, Proc. R. Soc. Lond. A 186, 453-461; from memory): setups may vary next to not at all beside pieces, or
    /// pieces beside setups.
    pub(super) fn grid(&self) -> Vec<([f64; 3], f64)> {
        let [_, setups, pieces] = self.typical.map(|part| part > 0.0);
        let split: Vec<[f64; 2]> = match (setups, pieces) {
            (true, true) => (0..SPLITS)
                .map(|j| libm::sin(std::f64::consts::FRAC_PI_2 * (j as f64 + 0.5) / SPLITS as f64))
                .map(|sine| [sine * sine, 1.0 - sine * sine])
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
            let cell = libm::log(NONE_TO_SOME * all / split.len() as f64);
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
        let file = self.of_file();
        let terms = self.typical.iter().filter(|part| **part > 0.0).count() as f64;
        let paced = self.prior.varies[0] > 0.0;
        (0..3)
            .filter(|k| self.typical[*k] > 0.0 && (*k > 0 || paced))
            .map(|k| {
                let share = file.map_or(1.0 / terms, |file| file[k]);
                LEAN * (terms * share - 1.0) * libm::log(shares[k])
            })
            .sum()
    }

    /// Sums over all rows under these shares: X'V^-1 X, X'V^-1 y, y'V^-1 y (y the distance from the means) and ln det V.
    pub(super) fn sums(&self, shares: [f64; 3]) -> ([f64; 3], [f64; 2], f64, f64) {
        let [p, q, u] = self.varies(shares);
        let (s2, t2) = (self.times[0] * self.times[0], self.times[1] * self.times[1]);
        let (mut xx, mut xy, mut yy) = ([0.0; 3], [0.0; 2], 0.0);
        let mut det = Product::default();
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
                det.times(d);
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
            det.times(1.0 + p * mm);
            xx[0] -= c * xm[0] * xm[0];
            xx[1] -= c * xm[0] * xm[1];
            xx[2] -= c * xm[1] * xm[1];
            xy[0] -= c * xm[0] * ym;
            xy[1] -= c * xm[1] * ym;
            yy -= c * ym * ym;
        }
        (xx, xy, yy, det.ln())
    }

    /// A node, its weight still the logarithm of how likely it is.
    pub(super) fn node(&self, shares: [f64; 3], cell: f64) -> ([f64; 3], Node) {
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
            freedom = (n - trace).max(0.5);
            scale = squares / freedom;
        }
        let (b, inverse, _, ln_det) = found;
        let in_common = self.prior.pace.as_ref();
        let varies = self.varies(shares).map(|v| v * scale);
        let by_steps = in_common.map_or(0.0, |common| common.ln_likely(varies[0]));
        let weight = cell + self.beforehand(shares) + by_steps - 0.5 * (freedom * libm::log(squares) + ln + ln_det);
        let node = Node {
            weight,
            times: [self.times[0] + b[0], self.times[1] + b[1]],
            error: inverse.map(|i| i * scale),
            varies,
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
    pub(super) fn likeliest(&self, start: [f64; 3]) -> [f64; 3] {
        let (mut best, mut at) = (self.restricted(start), start);
        let mut step: f64 = 0.08;
        while step > 2e-4 {
            let mut better = None;
            for (from, to) in [(0, 1), (1, 0), (0, 2), (2, 0), (1, 2), (2, 1)] {
                if self.typical[from] <= 0.0 || self.typical[to] <= 0.0 || at[from] <= 0.0 {
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
        self.varies(at).map(|v| v * best.1)
    }

    /// What a job that is off by one minute in each of its own does to setup and piece, job by job.
    pub(super) fn by_job(&self, shares: [f64; 3]) -> Vec<(usize, [f64; 2])> {
        let (_, node) = self.node(shares, 0.0);
        let (xx, _, _, _) = self.sums(shares);
        let give = give(self.prior);
        let varies = self.varies(shares);
        let scale = (0..3)
            .filter(|k| varies[*k] > 0.0)
            .fold(0.0, |found: f64, k| found.max(node.varies[k] / varies[k]));
        let precision = give.map(|g| if g > 0.0 { scale / (g * g) } else { f64::INFINITY });
        let inverse = solve(xx, [0.0; 2], precision, [0.0; 2]).1;
        let [p, q, u] = varies;
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
