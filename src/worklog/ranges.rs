//! New ranges for a file, wide enough for what a log leaves open.
//!
//! A file says how a batch varies by three kinds of range: the pace, which multiplies all of it; a setup, drawn each round; a piece, drawn for each or once
//! for the batch. The log says, for each size, between which minutes eight of ten new jobs take: their own chance and the errors of the
//! estimates together ([`Posterior::new_job`]). The widths of the three are chosen so that the file's band is as wide as the log's at
//! sizes spaced evenly on a logarithmic line over those of the file and the log. For each width of the pace, the other two make the gamma law's deviance least, the sum of
//! `1/f - 1 + ln f` over the ratios f of squared widths, as of variances that follow a sum of terms (McCullagh & Nelder 1989, Generalized Linear
//! Models, ch. 8; from memory): half counts more than twice (0.31 and 0.19), where plain squares make the smallest batches' bands too narrow. None is below half of what the
//! log says single setups and pieces vary by. The pace follows by search over the batch's total. A step whose mean is not well known errs by the same share for every piece of
//! a batch: where one draw for the whole batch says that better, `varies` becomes `batch`, and the other way round.
//!
//! The errors of a setup's and a piece's mean go against each other, as the log tells best what a batch of its own sizes takes: the log's band dips between the sizes, which no sum of
//! independent ranges does. So beside one draw for the batch `opposite` is looked for too, the share of batches whose setups lie opposite to it. Then both
//! ranges are as even as they can be above nought: of a skew one its opposite leaves much.
//!
//! Errors of steps are taken together with what their jobs had in common; other steps' own are independent. So the long tails that few jobs give
//! each step's band even out in their sum, and all steps get the stretch of the sum ([`even`]).
//!
//! Widths are variances. What shape a batch has follows from the ranges themselves: one draw that all pieces have in common reaches further, from tenth to
//! tenth, than a sum of many with the same variance, in the file as at the bench.

use super::hierarchy::Posterior;
use crate::laws::{student_cdf, student_quantile};
use crate::scenario::spread::Z90;

/// Ranges are near each other where no end lies further off than this share of what is between the ends (assumption).
const NEAR: f64 = 0.2;
/// Figures are written to three digits.
const ROUNDED: f64 = 0.005;
/// Means and tenths that are read from what was written to three digits lie within this share of what was to be written.
pub(super) const WRITTEN: f64 = 2.0 * ROUNDED;
/// Widths of the pace that are looked at.
const PACES: usize = 60;
/// Setups and pieces vary by at least this share of the squared variation that the log says they have (assumption: a pace that is wider than the log's is
/// no reason to take them for all alike).
const STILL: f64 = 0.5;
/// Tenths of what is drawn once lie no further apart than this over twice the mean and [`Z90`]: of a lognormal (`fit/renewed.rs`).
const FURTHEST: f64 = 0.857;
/// Of a triangle that begins at [`BEGINS`] of its mean and whose likely value is its lower tenth, `0.97 x 9/11 / Z90`, as `fit/renewed.rs` writes what lies opposite.
const STEEP: f64 = 0.619_2;
/// Where it begins: no rounding to three digits takes it below nought.
pub(super) const BEGINS: f64 = 0.03;
/// Of one from there that reaches as far to either side, `0.97 (1 - root 0.2) / Z90`.
pub(super) const EVEN: f64 = 0.418_4;
/// [`Made::skew`] of the steep one.
const STEEP_SKEW: f64 = 0.333_7;
/// The least ratio of squared widths that is told from others.
const NARROW: f64 = 0.05;
/// The search for widths ends at steps of this share of what each could be, and while the pace is looked for at these.
const FINE: f64 = 0.002;
const ROUGH: f64 = 0.008;
/// Fewest and most degrees of freedom that are told apart.
const FREEDOM: (f64, f64) = (0.5, 400.0);
/// One draw for all pieces, or one for each where the file has one for all, must make the deviance this much smaller to be taken, and by at least
/// this much a size: else what the file has would come and go with each reading of one log. So must setups that lie opposite to pieces, for which less is
/// enough: where a setup is hardly known no range above nought dips as far as the log's band does.
const BETTER: f64 = 0.5;
const TOGETHER: f64 = 0.8;
const AT_LEAST: f64 = 0.005;

/// What the file has of a step's work, or of its orders.
#[derive(Debug, Clone, Copy)]
pub(super) struct Written {
    /// Minutes of a setup and a piece, pace counted.
    pub times: [f64; 2],
    /// How they vary.
    pub made: Made,
}

/// A step's work, or its orders, at each size.
pub(super) struct Target<'a> {
    found: &'a Posterior,
    written: Written,
    /// Setups and pieces at each size.
    at: Vec<[f64; 2]>,
    mean: Vec<f64>,
    /// Squared half width of the band of eight in ten, as a normal law's variance.
    width: Vec<f64>,
    /// Half width over the standard deviation.
    stretch: Vec<f64>,
    /// Whether pieces were drawn once for the batch in the guess; `None`: they never are.
    by_batch: Option<bool>,
}

/// Coefficients of variation of a setup and a piece. Of what is drawn once for a batch, or each round: half of what lies between its tenths, over the mean
/// and [`Z90`].
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Made {
    pub setup: f64,
    pub each: f64,
    pub by_batch: bool,
    /// Share of the batches whose setups lie opposite to the draw for their pieces.
    pub opposite: f64,
    /// How far the twentieths of either lie above its median, on average, over half of what lies between its tenths: what opposite draws leave of each other.
    pub skew: [f64; 2],
}

impl<'a> Target<'a> {
    /// `by_batch`: whether pieces may be drawn once for the batch at all, and were so in the guess.
    pub fn new(found: &'a Posterior, written: Written, at: Vec<[f64; 2]>, by_batch: Option<bool>) -> Self {
        let mean = at
            .iter()
            .map(|[r, d]| r * found.times[0] + d * found.times[1])
            .collect();
        let width: Vec<f64> = at
            .iter()
            .map(|[r, d]| {
                let (low, high) = found.new_job(*r, *d, 0.8);
                let half = (high - low) / (2.0 * Z90);
                half * half
            })
            .collect();
        let stretch = at
            .iter()
            .zip(&width)
            .map(|([r, d], w)| {
                let sd = found.new_job_sd(*r, *d);
                if sd > 0.0 { libm::sqrt(*w) / sd } else { 1.0 }
            })
            .collect();
        Self {
            found,
            written,
            at,
            mean,
            width,
            stretch,
            by_batch,
        }
    }

    /// Widths of setup and piece beside a pace that varies so much, and how far off they leave the bands.
    fn beside(&self, pace: f64, fine: f64) -> (Made, f64) {
        let is = self.with(pace, fine, self.by_batch == Some(true));
        match self.by_batch {
            Some(by_batch) => self.clearer(is, self.with(pace, fine, !by_batch)),
            None => is,
        }
    }

    /// The other where it is clearly nearer.
    fn clearer(&self, is: (Made, f64), other: (Made, f64)) -> (Made, f64) {
        let least = AT_LEAST * self.at.len() as f64;
        let better = if other.0.opposite > 0.0 { TOGETHER } else { BETTER };
        if other.1 < better * is.1 && is.1 - other.1 > least {
            other
        } else {
            is
        }
    }

    fn with(&self, pace: f64, fine: f64, by_batch: bool) -> (Made, f64) {
        let apart = self.nearest([pace, fine], by_batch, 0.0);
        if by_batch {
            self.clearer(apart, self.nearest([pace, fine], by_batch, 1.0))
        } else {
            apart
        }
    }

    /// Where the deviance is least, and it: setups lie opposite to pieces in `most` of the batches at the most.
    ///
    /// Compass search: one step either way in each, half as long where none is better (Kolda, Lewis & Torczon 2003, SIAM Review 45(3), 385-482; from memory).
    fn nearest(&self, [pace, fine]: [f64; 2], by_batch: bool, most: f64) -> (Made, f64) {
        let [_, setup, piece] = self.found.varies();
        // One draw for all pieces is no longer what single ones vary by.
        let least = [STILL * setup, if by_batch { 0.0 } else { STILL * piece }].map(libm::sqrt);
        // What either would have to vary by alone, where it varies most.
        let alone = |[setup, each]: [f64; 2]| {
            let made = Made {
                setup,
                each,
                by_batch,
                ..Made::default()
            };
            let share = |k: usize| self.own(k, made) / self.width[k].max(f64::MIN_POSITIVE);
            let most = (0..self.at.len()).map(share).fold(0.0, f64::max);
            if most > 0.0 { 1.0 / libm::sqrt(most) } else { 0.0 }
        };
        let made = |[setup, each, opposite]: [f64; 3]| Made {
            setup,
            each,
            by_batch,
            opposite,
            skew: [setup, each].map(skew),
        };
        let alone = [alone([1.0, 0.0]), alone([0.0, 1.0]), most];
        let once = if most > 0.0 { STEEP } else { FURTHEST };
        let widest = [once, if by_batch { once } else { f64::INFINITY }, most];
        let least = [least[0].min(widest[0]), least[1].min(widest[1]), 0.0];
        let [setup, each] = [0, 1].map(|k| (0.5 * alone[k]).clamp(least[k], widest[k]));
        let mut at = [setup, each, 0.0];
        let mut best = self.deviance(pace, made(at));
        let mut step = 0.25;
        while step > fine {
            let mut nearer = None;
            for k in 0..3 {
                for by in [-step, step] {
                    let mut tried = at;
                    tried[k] += by * alone[k];
                    tried[k] = tried[k].clamp(least[k], widest[k]);
                    let off = self.deviance(pace, made(tried));
                    if off < nearer.map_or(best, |(off, _)| off) {
                        nearer = Some((off, tried));
                    }
                }
            }
            match nearer {
                Some(found) => (best, at) = found,
                None => step *= 0.5,
            }
        }
        // Whole batches of a hundred are written.
        at[2] = libm::round(100.0 * at[2]) / 100.0;
        (made(at), self.deviance(pace, made(at)))
    }

    /// How far the bands of these widths are off.
    fn deviance(&self, pace: f64, made: Made) -> f64 {
        let of = |k: usize| {
            let file = pace * self.mean[k] * self.mean[k] + (1.0 + pace) * self.own(k, made);
            let ratio = (file / self.width[k].max(f64::MIN_POSITIVE)).max(NARROW);
            1.0 / ratio - 1.0 + libm::log(ratio)
        };
        (0..self.at.len()).map(of).sum()
    }

    /// Variance of the new work at a size but for the pace.
    fn own(&self, k: usize, made: Made) -> f64 {
        own(self.at[k], self.found.times, made)
    }

    /// Mean of the file's work at a size, and its variance but for the pace.
    fn of_file(&self, k: usize) -> [f64; 2] {
        let ([r, d], [s, t]) = (self.at[k], self.written.times);
        [r * s + d * t, own(self.at[k], self.written.times, self.written.made)]
    }
}

/// Variance of r setups and d pieces (`model/variance.rs`). Opposite draws that reach equally far leave of each other what both are skew by: where either is at
/// a twentieth, both together lie so far above where they are at their medians.
fn own([r, d]: [f64; 2], times: [f64; 2], made: Made) -> f64 {
    let (s, t) = (times[0] * made.setup, times[1] * made.each);
    if made.by_batch {
        let left = 0.5 * (made.skew[0] + made.skew[1]);
        s * s * r * (1.0 + made.opposite * (r - 1.0)) - made.opposite * s * r * t * d * (2.0 - left * left)
            + t * t * d * d
    } else {
        s * s * r + t * t * d
    }
}

/// [`Made::skew`] of the triangle that reaches so far and is as even as it can be above nought: about as the root has it, between 0 and [`STEEP_SKEW`].
pub(super) fn skew(reach: f64) -> f64 {
    STEEP_SKEW * libm::sqrt((reach - EVEN).max(0.0) / (STEEP - EVEN))
}

/// How far a range with these ends and this mean may lie off another and is near it all the same.
pub(super) fn near([low, high]: [f64; 2], mean: f64) -> f64 {
    NEAR * (high - low) + ROUNDED * mean.abs()
}

/// Whether the file's bands are already those of the new ranges (`made`, beside a pace with these squared coefficients of variation in the file and anew),
/// each step's and the whole batch's at every size, but for what the file, as a prior, does to estimates once it holds them itself. Setups and
/// pieces may divide the work otherwise: no batch of these sizes would show it.
pub(super) fn are_written(targets: &[Target<'_>], made: &[Made], [file, new]: [f64; 2]) -> bool {
    let band = |pace: f64, [mean, own]: [f64; 2]| {
        let reach = Z90 * libm::sqrt(pace * mean * mean + (1.0 + pace) * own);
        [mean - reach, mean + reach]
    };
    let is_near = |is: [f64; 2], would_be: [f64; 2]| {
        let ([a, b], [c, d]) = (band(file, is), band(new, would_be));
        let allowed = near([c, d], would_be[0]);
        (a - c).abs() <= allowed && (b - d).abs() <= allowed
    };
    let sizes = targets.first().map_or(0, |first| first.at.len());
    (0..sizes).all(|k| {
        let steps = targets.iter().zip(made);
        let each: Vec<[[f64; 2]; 2]> = steps
            .map(|(t, made)| [t.of_file(k), [t.mean[k], t.own(k, *made)]])
            .collect();
        let [is, would_be] = [0, 1].map(|i| [0, 1].map(|j| each.iter().map(|step| step[i][j]).sum::<f64>()));
        is_near(is, would_be) && each.iter().all(|[is, would_be]| is_near(*is, *would_be))
    })
}

/// Widths of each target, and the squared coefficient of variation of the pace: that given, or the one that makes the total right.
pub(super) fn made(targets: &[Target<'_>], shared: f64, pace: Option<f64>) -> (Vec<Made>, Option<f64>) {
    let Some(first) = targets.first() else {
        return (Vec::new(), None);
    };
    let sizes = first.at.len();
    let at = |pace: f64, fine: f64| -> Vec<Made> { targets.iter().map(|t| t.beside(pace, fine).0).collect() };
    if let Some(pace) = pace {
        return (at(pace, FINE), None);
    }
    let whole: Vec<f64> = (0..sizes).map(|k| targets.iter().map(|t| t.mean[k]).sum()).collect();
    let due: Vec<f64> = (0..sizes).map(|k| together(targets, shared, k)).collect();
    let most = due
        .iter()
        .zip(&whole)
        .map(|(v, m)| if *m > 0.0 { v / (m * m) } else { 0.0 })
        .fold(0.0, f64::max);
    let mut best = (f64::INFINITY, 0.0);
    for step in 0..=PACES {
        let share = step as f64 / PACES as f64;
        let pace = most * share * share;
        let made = at(pace, ROUGH);
        let off: f64 = (0..sizes)
            .map(|k| {
                let own: f64 = targets.iter().zip(&made).map(|(t, m)| t.own(k, *m)).sum();
                let file = pace * whole[k] * whole[k] + (1.0 + pace) * own;
                let off = libm::log(file.max(1e-12) / due[k].max(1e-12));
                off * off
            })
            .sum();
        if off < best.0 - 1e-12 {
            best = (off, pace);
        }
    }
    (at(best.1, FINE), Some(best.1))
}

/// Degrees of freedom of the Student's t whose band of eight in ten is so many times a normal law's.
fn freedom(stretch: f64) -> f64 {
    let (mut low, mut high) = FREEDOM;
    for _ in 0..30 {
        let middle = libm::sqrt(low * high);
        if student_cdf(stretch * Z90, middle) < 0.9 {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// Gives all steps the stretch of their sum at each size.
///
/// A sum of variances that are each known with some degrees of freedom is about as well known as one with `(sum v)^2 / sum (v^2 / n)` of them (Satterthwaite
/// 1946, Biometrics Bulletin 2(6), 110-114; Welch 1947, Biometrika 34, 28-35; from memory). Laws of steps that are convolved instead, each with the tail of
/// its few jobs, hold too often: as if all steps' variances could be underrated at once. The pace is one term that all have in common.
pub(super) fn even(targets: &mut [Target<'_>], shared: f64) {
    for k in 0..targets.first().map_or(0, |first| first.at.len()) {
        let whole: f64 = targets.iter().map(|t| t.mean[k]).sum();
        let common = shared * whole * whole;
        let (mut all, mut unknown) = (common, 0.0);
        for target in &*targets {
            let variance = target.width[k] / (target.stretch[k] * target.stretch[k]);
            let own = (variance - shared * target.mean[k] * target.mean[k]).max(0.0);
            all += own;
            unknown += (own * own + common * common * target.mean[k] / whole) / freedom(target.stretch[k]);
        }
        let freedom = all * all / unknown;
        // Nothing varies, or nothing is done, at this size.
        if !freedom.is_finite() {
            continue;
        }
        let stretch = student_quantile(0.9, freedom) / Z90;
        for target in &mut *targets {
            let by = stretch / target.stretch[k];
            target.width[k] *= by * by;
            target.stretch[k] = stretch;
        }
    }
}

/// Squared width of all steps together at a size.
fn together(targets: &[Target<'_>], shared: f64, k: usize) -> f64 {
    let mut sum = 0.0;
    for (i, a) in targets.iter().enumerate() {
        sum += a.width[k];
        for b in &targets[..i] {
            let common = a.mean[k] * b.mean[k] + of_jobs(a, b, k);
            sum += 2.0 * shared * common * a.stretch[k] * b.stretch[k];
        }
    }
    sum
}

/// What the paces of the jobs that two steps have in common do to both estimates.
fn of_jobs(a: &Target<'_>, b: &Target<'_>, k: usize) -> f64 {
    let along = |target: &Target<'_>, by: [f64; 2]| target.at[k][0] * by[0] + target.at[k][1] * by[1];
    let (mut i, mut j, mut sum) = (0, 0, 0.0);
    let (x, y) = (&a.found.by_job, &b.found.by_job);
    while i < x.len() && j < y.len() {
        match x[i].0.cmp(&y[j].0) {
            std::cmp::Ordering::Less => i += 1,
            std::cmp::Ordering::Greater => j += 1,
            std::cmp::Ordering::Equal => {
                sum += along(a, x[i].1) * along(b, y[j].1);
                i += 1;
                j += 1;
            }
        }
    }
    sum
}

/// Whole numbers from `low` to `high`, evenly on a logarithmic line, each once.
pub(super) fn spaced(low: u32, high: u32, count: usize) -> Vec<u32> {
    let (low, high) = (f64::from(low.max(1)), f64::from(high.max(low).max(1)));
    let mut list: Vec<u32> = (0..count)
        .map(|k| {
            let share = k as f64 / (count - 1).max(1) as f64;
            libm::round(low * libm::pow(high / low, share)) as u32
        })
        .collect();
    list.dedup();
    list
}

#[cfg(test)]
mod tests {
    use super::{Made, Target, Written, freedom, spaced};
    use crate::scenario::spread::Z90;
    use crate::worklog::hierarchy::{Posterior, Prior, Row};

    /// Variances `A + 2 C d + B d^2` of one setup and d pieces are reproduced where C is below nought, by its own share of `-root (A B)`, as both ranges are even;
    /// where it is above, nothing goes against each other. The last step of the search is 0.2 % of what a width could be, moves its square by
    /// twice as much, and what is left of both by several times that.
    #[test]
    fn a_band_that_dips_between_the_sizes_is_reproduced() {
        let row = |job| Row {
            rounds: 1.0,
            units: 10.0,
            minutes: 70.0 + job as f64,
            job,
        };
        let prior = Prior {
            times: [20.0, 5.0],
            varies: [0.0, 0.1, 0.1],
            pace: None,
        };
        let mut found = Posterior::of(&[0, 1, 2, 3, 4, 5].map(row), &prior);
        found.times = [20.0, 5.0];
        for node in &mut found.nodes {
            node.varies = [0.0; 3];
        }
        let at = [3.0, 5.0, 7.0, 11.0, 17.0, 26.0, 40.0].map(|d| [1.0, d]);
        let written = Written {
            times: found.times,
            made: Made::default(),
        };
        // Setups of 20 minutes that vary by 6, pieces of 5 that vary by 1.
        for (opposite, due) in [(0.6, 0.6), (0.9, 0.9), (-0.3, 0.0)] {
            let mut target = Target::new(&found, written, at.to_vec(), Some(true));
            target.width = at
                .iter()
                .map(|[_, d]| 36.0 - 2.0 * opposite * 6.0 * d + d * d)
                .collect();
            let (made, _) = target.beside(0.0, super::FINE);
            assert!((made.opposite - due).abs() <= 0.03, "{opposite}: {made:?}");
            if opposite > 0.0 {
                for (k, width) in target.width.iter().enumerate() {
                    let ratio = target.own(k, made) / width;
                    assert!((ratio - 1.0).abs() < 0.03, "{opposite}, {:?}: {ratio}", at[k]);
                }
            }
        }
    }

    /// 90 % quantiles of Student's t, from a table (from memory): 1.886, 1.638, 1.476 and 1.372 with 2, 3, 5 and 10 degrees of freedom.
    #[test]
    fn degrees_of_freedom_are_those_of_the_band() {
        for (quantile, due) in [(1.886, 2.0), (1.638, 3.0), (1.476, 5.0), (1.372, 10.0)] {
            let found = freedom(quantile / Z90);
            assert!((found - due).abs() < 0.01 * due, "{quantile}: {found}");
        }
        // No t has shorter tails than the normal law.
        assert!((freedom(0.99) - 400.0).abs() < 1e-3);
    }

    /// Each the root of ten times the one before.
    #[test]
    fn sizes_are_spaced_by_ratio() {
        assert_eq!(spaced(1, 100, 5), [1, 3, 10, 32, 100]);
        assert_eq!(spaced(2, 200, 5), [2, 6, 20, 63, 200]);
        // Each once, and one where nothing lies between.
        assert_eq!(spaced(1, 3, 9), [1, 2, 3]);
        assert_eq!(spaced(7, 7, 4), [7]);
    }
}
