//! What sets of jigs cost, save and add at one size.

use super::{Course, CoursePoint, Outlay, Payback, Set};
use crate::engine::shape::unit;
use crate::engine::stream::{Use, nth, part, start, trial_keys};
use crate::laws::reaching;
use crate::parallel;
use crate::scenario::Scenario;
use crate::stats::{self, Mean, QuantileRank, Share};

/// Profit and hours by trial.
pub(super) struct Columns {
    pub(super) profit: Vec<f64>,
    pub(super) hours: Vec<f64>,
}

/// What stays the same from set to set at one size.
pub(super) struct Work<'a> {
    pub(super) scenario: &'a Scenario,
    pub(super) size: u32,
    pub(super) seed: u64,
    pub(super) runs_a_year: Option<f64>,
    pub(super) sequences: usize,
}

impl Work<'_> {
    /// Building hours of a jig in one trial or sequence.
    pub(super) fn build_hours(&self, jig: usize, index: u64) -> f64 {
        let jig = &self.scenario.jigs[jig];
        if jig.build.is_zero() {
            return 0.0;
        }
        // A name no step can have, so that no step's draws are these.
        let stream = self.stream(&format!("\u{1}jig\u{1}{}", jig.name));
        jig.build.quantile(unit(nth(stream, index))) / 60.0
    }

    pub(super) fn stream(&self, name: &str) -> u64 {
        start(trial_keys(self.seed, 0)[0], part(Use::Once, name))
    }

    /// Batches over which a jig's cost is spread.
    pub(super) fn life_batches(&self, jig: usize) -> f64 {
        self.scenario.jigs[jig]
            .lasts
            .map_or(f64::from(self.scenario.batch.runs), |pieces| {
                f64::from(pieces) / f64::from(self.size)
            })
    }

    /// Share of a jig's cost that falls to a batch.
    pub(super) fn part_of_a_batch(&self, jig: usize) -> f64 {
        1.0 / self.life_batches(jig)
    }

    /// Share of a jig's cost that falls to a year of so many batches; all of it where the jig lasts for ever.
    pub(super) fn part_of_a_year(&self, jig: usize, runs: f64) -> f64 {
        self.scenario.jigs[jig]
            .lasts
            .map_or(1.0, |_| runs * self.part_of_a_batch(jig))
    }

    /// What a set costs over the planned batches, as expected: of each jig one at least, and more as it wears out.
    pub(super) fn cost_of_plan(&self, jigs: &[usize]) -> f64 {
        let an_hour = self.scenario.target_per_hour + self.scenario.shop.cost_per_hour();
        let plan = f64::from(self.scenario.batch.runs);
        let cost = |k: &usize| {
            let jig = &self.scenario.jigs[*k];
            (jig.cost + an_hour * jig.build.mean() / 60.0) * (plan * self.part_of_a_batch(*k)).max(1.0)
        };
        jigs.iter().map(cost).sum()
    }

    /// Money and building hours of a set for each of `n` trials, of each jig the part that is asked for.
    pub(super) fn charged(&self, jigs: &[usize], n: usize, part: impl Fn(usize) -> f64) -> (Vec<f64>, Vec<f64>) {
        let overhead = self.scenario.shop.cost_per_hour();
        let (mut money, mut hours) = (vec![0.0; n], vec![0.0; n]);
        for jig in jigs {
            let part = part(*jig);
            let cost = self.scenario.jigs[*jig].cost;
            for (i, (m, h)) in money.iter_mut().zip(&mut hours).enumerate() {
                let built = self.build_hours(*jig, i as u64);
                *m += (cost + overhead * built) * part;
                *h += built * part;
            }
        }
        (money, hours)
    }

    /// Surplus that a year adds, and its error; see the top of this file.
    pub(super) fn a_year(&self, jigs: &[usize], savings: &[f64]) -> Option<Mean> {
        let runs = self.runs_a_year?;
        let (money, hours) = self.charged(jigs, savings.len(), |jig| self.part_of_a_year(jig, runs));
        let target = self.scenario.target_per_hour;
        let left: Vec<f64> = savings
            .iter()
            .zip(money.iter().zip(&hours))
            .map(|(s, (m, h))| runs * s - m - target * h)
            .collect();
        Some(stats::mean(&left))
    }

    /// What the set costs in each sequence.
    pub(super) fn outlays(&self, jigs: &[usize]) -> Vec<f64> {
        let an_hour = self.scenario.target_per_hour + self.scenario.shop.cost_per_hour();
        (0..self.sequences as u64)
            .map(|q| {
                jigs.iter()
                    .map(|jig| self.scenario.jigs[*jig].cost + an_hour * self.build_hours(*jig, q))
                    .sum()
            })
            .collect()
    }

    pub(super) fn savings(&self, bare: &Columns, with: &Columns) -> Vec<f64> {
        let target = self.scenario.target_per_hour;
        let surplus = |c: &Columns, i: usize| c.profit[i] - target * c.hours[i];
        (0..bare.profit.len())
            .map(|i| surplus(with, i) - surplus(bare, i))
            .collect()
    }

    pub(super) fn life_pieces(&self, jigs: &[usize]) -> Option<u32> {
        jigs.iter().filter_map(|jig| self.scenario.jigs[*jig].lasts).min()
    }

    /// A set's figures, and what a batch saves by trial.
    pub(super) fn set(&self, jigs: &[usize], bare: &Columns, with: &Columns) -> (Set, Vec<f64>) {
        let savings = self.savings(bare, with);
        let (rate, adds_to_hour, adds_a_run) = self.adds(jigs, bare, with, &savings);
        let mut outlays = self.outlays(jigs);
        let payback = self.payback(jigs, &savings, &outlays);
        let (outlay, saving) = (stats::mean(&outlays), stats::mean(&savings));
        let made = f64::from(self.scenario.batch.runs) * f64::from(self.size);
        let runs = self.life_pieces(jigs).map_or(made, |life| made.min(f64::from(life))) / f64::from(self.size);
        let [p10, p50, p90] = quantiles(&mut outlays);
        let year = self.a_year(jigs, &savings);
        let freed: Vec<f64> = bare.hours.iter().zip(&with.hours).map(|(a, b)| a - b).collect();
        let set = Set {
            jigs: jigs.to_vec(),
            outlay: Outlay {
                mean: outlay.mean,
                p10,
                p50,
                p90,
            },
            life_pieces: self.life_pieces(jigs),
            saving,
            hours_saved: stats::mean(&freed),
            payback,
            rate,
            adds_to_hour,
            low: adds_to_hour.mean - stats::Z975 * adds_to_hour.se,
            high: adds_to_hour.mean + stats::Z975 * adds_to_hour.se,
            adds_a_run,
            ahead_after_plan: Mean {
                mean: runs * saving.mean - outlay.mean,
                se: libm::hypot(runs * saving.se, outlay.se),
            },
            adds_a_year: year.map(|y| y.mean),
            adds_a_year_se: year.map(|y| y.se),
        };
        (set, savings)
    }

    /// Long-run rate with the set, what it adds to the hour and to a batch, its cost spread over its life.
    pub(super) fn adds(&self, jigs: &[usize], bare: &Columns, with: &Columns, savings: &[f64]) -> (Mean, Mean, Mean) {
        let (money, hours) = self.charged(jigs, savings.len(), |jig| self.part_of_a_batch(jig));
        let plus =
            |a: &[f64], b: &[f64], sign: f64| -> Vec<f64> { a.iter().zip(b).map(|(x, y)| x + sign * y).collect() };
        let (profit, worked) = (plus(&with.profit, &money, -1.0), plus(&with.hours, &hours, 1.0));
        let target = self.scenario.target_per_hour;
        let left: Vec<f64> = savings
            .iter()
            .zip(money.iter().zip(&hours))
            .map(|(s, (m, h))| s - m - target * h)
            .collect();
        (
            stats::ratio(&profit, &worked),
            stats::ratio_difference((&profit, &worked), (&bare.profit, &bare.hours)),
            stats::mean(&left),
        )
    }

    pub(super) fn payback(&self, jigs: &[usize], savings: &[f64], outlays: &[f64]) -> Payback {
        let life = self.life_pieces(jigs).map_or(f64::INFINITY, f64::from);
        let plan = f64::from(self.scenario.batch.runs) * f64::from(self.size);
        // Beyond both nothing is asked but how much later it would have paid.
        let hopeless = savings.iter().all(|s| *s <= 0.0);
        let base = self.stream("\u{1}sequences");
        let paid: Vec<(f64, f64)> = parallel::map(outlays.len(), |q| {
            if hopeless && outlays[q] > 0.0 {
                return (f64::INFINITY, f64::INFINITY);
            }
            let mut runs = Sequence::new(base, q as u64, savings);
            until_paid(outlays[q], f64::from(self.size), || runs.next_saving())
        });
        let count = |limit: f64| {
            paid.iter()
                .filter(|p| p.0 <= limit * (1.0 + 1e-12) && p.0.is_finite())
                .count() as u64
        };
        let runs: Vec<f64> = paid.iter().map(|p| p.1).collect();
        let finite = |q: [f64; 3]| q.map(|v| v.is_finite().then_some(v));
        Payback {
            pieces: finite(quantiles(&mut paid.iter().map(|p| p.0).collect::<Vec<f64>>())),
            mean_runs: runs.iter().all(|r| r.is_finite()).then(|| {
                let (drawn, saved) = (stats::mean(&runs), stats::mean(savings));
                // What costs nothing has paid at once, whatever it saves.
                let of_savings = if drawn.mean == 0.0 {
                    0.0
                } else {
                    drawn.mean * saved.se / saved.mean
                };
                Mean {
                    mean: drawn.mean,
                    se: libm::hypot(drawn.se, of_savings),
                }
            }),
            runs: finite(ranks(&mut runs.clone())),
            within_life: self.within(count(life), life, savings, outlays),
            within_plan: self.within(count(plan), plan, savings, outlays),
        }
    }

    /// The share of sequences that have paid within so many pieces. Its interval carries the error of the sequences and that of the simulated
    /// savings: together they leave the share as uncertain as if it had been counted in fewer sequences, and its interval is the exact one of
    /// these (Korn & Graubard 1998, "Confidence intervals for proportions with small expected number of positive counts estimated from survey
    /// data", Survey Methodology 24(2), 193-201; from memory).
    fn within(&self, paid: u64, limit: f64, savings: &[f64], outlays: &[f64]) -> Share {
        let batches = limit * (1.0 + 1e-12) / f64::from(self.size);
        let drawn = outlays.len() as f64;
        // What lasts for ever, or longer than is looked at, pays at last or never.
        if batches > MOST_BATCHES as f64 {
            return stats::wilson(paid, outlays.len() as u64);
        }
        // Half a sequence either way keeps it from being certain where all have paid, or none.
        let share = (paid as f64 + 0.5) / (drawn + 1.0);
        let spread = share * (1.0 - share);
        let of_savings = self.variance_of_savings(batches, savings, outlays);
        if of_savings <= 1e-9 * spread / drawn {
            return stats::wilson(paid, outlays.len() as u64);
        }
        stats::clopper_pearson_of(paid as f64 / drawn, spread / (spread / drawn + of_savings))
    }

    /// What the simulated savings, drawn from anew, would move the share that has paid within so many batches: its variance by the
    /// infinitesimal jackknife (Efron 1982, "The jackknife, the bootstrap and other resampling plans", chapter 6, from memory). A saving weighs as
    /// its batches do: the share that pays where one of them saves this much, less the share that pays at all, times their number.
    fn variance_of_savings(&self, batches: f64, savings: &[f64], outlays: &[f64]) -> f64 {
        let base = self.stream("\u{1}sequences");
        let many = libm::ceil(batches) as usize;
        let smallest = savings.iter().copied().fold(f64::INFINITY, f64::min);
        // What the batch looked at must save so that its sequence pays, whatever it did save.
        let needed = |q: usize| {
            let due = outlays[q] - 1e-12 * outlays[q].abs();
            let (looked_at, mut runs) = (q % many, Sequence::new(base, q as u64, savings));
            let (mut sum, mut least) = (0.0, if due <= 0.0 { f64::NEG_INFINITY } else { f64::INFINITY });
            for batch in 0..many {
                let saving = runs.next_saving();
                let part = (batches - batch as f64).min(1.0);
                if batch == looked_at {
                    least = least.min((due - sum) / part);
                } else {
                    let short = due - sum - part * saving;
                    if batch > looked_at {
                        least = least.min(short);
                    }
                    // It pays whatever that batch saves.
                    if least <= smallest || (batch < looked_at && short <= 0.0) {
                        return f64::NEG_INFINITY;
                    }
                    sum += saving;
                }
            }
            least
        };
        let mut needed = parallel::map(outlays.len(), needed);
        needed.sort_unstable_by(f64::total_cmp);
        let pays: Vec<f64> = savings
            .iter()
            .map(|saving| needed.partition_point(|least| least <= saving) as f64 / needed.len() as f64)
            .collect();
        let (_, variance) = stats::mean_variance(&pays);
        (many * many) as f64 * variance / savings.len() as f64
    }

    /// How the first sets get on, over the same stretch of pieces for all.
    pub(super) fn courses(&self, sets: &[(Set, Vec<f64>)], shown: &[usize]) -> Vec<Course> {
        let size = f64::from(self.size);
        let plan = f64::from(self.scenario.batch.runs);
        // Past the slowest payback by half, but no longer than anything lasts.
        let wanted = shown
            .iter()
            .map(|k| {
                let set = &sets[*k].0;
                let life = set.life_pieces.map_or(f64::INFINITY, |p| f64::from(p) / size);
                let [_, median, late] = set.payback.runs;
                let seen = late.map_or_else(|| median.map_or(life, |m| 2.0 * m), |l| 1.5 * l);
                let seen = if seen.is_finite() { seen } else { 4.0 * plan };
                seen.min(life)
            })
            .fold(4.0_f64, f64::max)
            .min(MOST_BATCHES as f64);
        let stride = libm::ceil(wanted / COURSE_POINTS as f64).max(1.0) as usize;
        let points = (libm::ceil(wanted / stride as f64) as usize).max(1);
        let base = self.stream("\u{1}sequences");
        parallel::map(shown.len(), |k| {
            let (set, savings) = &sets[shown[k]];
            let outlays = self.outlays(&set.jigs);
            let mut at: Vec<Vec<f64>> = vec![Vec::with_capacity(QUICK_SEQUENCES); points + 1];
            for (q, outlay) in outlays.iter().take(QUICK_SEQUENCES).enumerate() {
                let mut runs = Sequence::new(base, q as u64, savings);
                let mut sum = -outlay;
                at[0].push(sum);
                for column in &mut at[1..] {
                    for _ in 0..stride {
                        sum += runs.next_saving();
                    }
                    column.push(sum);
                }
            }
            let points = at
                .iter_mut()
                .enumerate()
                .map(|(k, column)| {
                    let [p10, p50, p90] = quantiles(column);
                    CoursePoint {
                        pieces: (k * stride) as f64 * size,
                        p10,
                        p50,
                        p90,
                    }
                })
                .collect();
            Course { set: shown[k], points }
        })
    }
}

/// Savings drawn with replacement, the same places for every set.
pub(super) struct Sequence<'a> {
    pub(super) key: u64,
    pub(super) drawn: u64,
    pub(super) savings: &'a [f64],
}

impl<'a> Sequence<'a> {
    pub(super) fn new(base: u64, number: u64, savings: &'a [f64]) -> Self {
        Self {
            key: nth(base, number),
            drawn: 0,
            savings,
        }
    }

    pub(super) fn next_saving(&mut self) -> f64 {
        let word = nth(self.key, self.drawn);
        self.drawn += 1;
        // The high half of the product is even over the places but for one part in 2^40 or less.
        let place = (u128::from(word) * self.savings.len() as u128) >> 64;
        self.savings[place as usize]
    }
}

/// Pieces and whole batches until the savings reach the outlay; infinite where they have not after [`MOST_BATCHES`].
pub(super) fn until_paid(outlay: f64, size: f64, mut next: impl FnMut() -> f64) -> (f64, f64) {
    // An outlay that is a whole number of savings but for rounding must not take another batch.
    let due = outlay - 1e-12 * outlay.abs();
    if due <= 0.0 {
        return (0.0, 0.0);
    }
    let mut sum = 0.0;
    for run in 0..MOST_BATCHES {
        let saving = next();
        if sum + saving >= due {
            let share = ((outlay - sum) / saving).clamp(0.0, 1.0);
            return ((run as f64 + share) * size, (run + 1) as f64);
        }
        sum += saving;
    }
    (f64::INFINITY, f64::INFINITY)
}

/// 10 %, 50 % and 90 % quantiles (type 7); the values lose their order.
pub(super) fn quantiles(values: &mut [f64]) -> [f64; 3] {
    let places = [0.1, 0.5, 0.9].map(|q| QuantileRank::new(values.len(), q));
    stats::put_in_order(values, &places);
    places.map(|place| stats::quantile(values, place))
}

/// The same for counts: the smallest count that so many have reached (type 1), so that it is a count.
pub(super) fn ranks(values: &mut [f64]) -> [f64; 3] {
    values.sort_unstable_by(f64::total_cmp);
    let n = values.len();
    [0.1, 0.5, 0.9].map(|q| values[reaching(n, q) - 1])
}

/// A jig that has not paid after so many batches is taken never to pay.
pub(super) const MOST_BATCHES: usize = 5_000;

/// Points of a course.
pub(super) const COURSE_POINTS: usize = 40;

/// And for every other size.
pub(super) const QUICK_SEQUENCES: usize = 1_000;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::scenario;

    /// Two batches are to save 10, each of them 2, 4, 6 or 8 as likely: where one saves 2 a quarter pay, then a half, three quarters, all. A saving
    /// weighs twice, as two batches draw from the four. Of 40,000 sequences each of these shares is off by less than five standard errors, 0.0125,
    /// and the variance by less than two thirds of that (one false alarm in a million).
    #[test]
    fn what_simulated_savings_leave_open_by_hand() {
        let shop = scenario(40.0, 30.0, &[1], Vec::new());
        let work = Work {
            scenario: &shop,
            size: 1,
            seed: 1,
            runs_a_year: None,
            sequences: 40_000,
        };
        let savings = [2.0, 4.0, 6.0, 8.0];
        let shares: [f64; 4] = [0.25, 0.5, 0.75, 1.0];
        let variance = shares.iter().map(|s| (s - 0.625).powi(2)).sum::<f64>() / 3.0;
        let found = work.variance_of_savings(2.0, &savings, &[10.0; 40_000]);
        assert!((found - 4.0 * variance / 4.0).abs() < 0.0125 * 2.0 / 3.0, "{found}");
        // Of the second batch only half counts: 2 + 8 / 2 is not enough for 7, 8 + 2 / 2 is. So much of the first, or twice what it leaves of
        // the second, is needed.
        let pays = |first: f64| savings.iter().filter(|s| first + 0.5 * **s >= 7.0).count() as f64 / 4.0;
        let of_second = |second: f64| savings.iter().filter(|s| **s + 0.5 * second >= 7.0).count() as f64 / 4.0;
        let shares = savings.map(|s| 0.5 * (pays(s) + of_second(s)));
        let mean = shares.iter().sum::<f64>() / 4.0;
        let variance = shares.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / 3.0;
        let found = work.variance_of_savings(1.5, &savings, &[7.0; 40_000]);
        assert!((found - 4.0 * variance / 4.0).abs() < 0.0125 * 2.0 / 3.0, "{found}");
    }
}
