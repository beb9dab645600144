//! One step: what its entries say of each part, beside what the file has.

use super::answer::{Along, Apart, Chance, From, How, LinePoint, Part, Point, Range, Says, StepFit, Sum, Work};
use super::guess::{Pace, varies};
use super::measured::{Measured, Timed, sittings};
use super::{BAND, ENOUGH, ranges};
use crate::scenario::{Spread, Step, Varies};
use crate::stats::estimate::Estimate;
use crate::stats::{self, Z975};
use crate::worklog::hierarchy::Row;
use crate::worklog::own_times::OwnTimes;
use crate::worklog::units::WorkUnits;
use crate::worklog::{Entry, What};
use std::collections::HashSet;

/// Points of a line that is drawn, at most.
const LINE_POINTS: u32 = 60;
/// What is written has three digits, and so has the pace: a mean closer to the file's than this share of it was written there.
const WRITTEN: f64 = 0.01;
/// A mean closer to the file's than this share of it is the file's: the rest is rounding.
const SAME: f64 = 1e-9;

/// A step with what the rest of the answer still needs of it.
pub(super) struct Fitted<'a> {
    /// As the file has it.
    pub(super) file: &'a Step,
    /// As it was guessed before the log, which the log is read beside.
    pub(super) guess: &'a Step,
    pub(super) step: StepFit,
    pub(super) work: Option<Measured<'a>>,
    pub(super) orders: Option<Measured<'a>>,
    pub(super) once: Option<Measured<'a>>,
}

impl<'a> Fitted<'a> {
    pub(super) fn new([file, step]: [&'a Step; 2], entries: &[Timed<'a>], [pace, before]: [Pace; 2]) -> Self {
        let of = |kinds: &[What]| -> Vec<Timed<'a>> {
            entries
                .iter()
                .copied()
                .filter(|t| kinds.contains(&t.entry.timed(step)))
                .collect()
        };
        let minutes = |of: fn(&Step) -> &Spread| [of(file).mean() * pace.mean, of(step).mean() * before.mean];
        let work: Vec<(Timed<'a>, WorkUnits)> = of(&[What::All, What::Setup, What::Each])
            .into_iter()
            .map(|t| {
                let e = t.entry;
                (
                    t,
                    WorkUnits::of(step, e.timed(step), e.pieces, e.rounds, e.redone.unwrap_or(0)),
                )
            })
            .collect();
        let piece = varies(&step.each);
        let by_batch = step.varies == Varies::Batch;
        let counts = |list: Vec<Timed<'a>>, units: &dyn Fn(&Entry) -> f64| -> Vec<(Timed<'a>, WorkUnits)> {
            let without_rounds = |units: f64| WorkUnits { rounds: 0.0, units };
            list.into_iter().map(|t| (t, without_rounds(units(t.entry)))).collect()
        };
        let measured = |list: Vec<(Timed<'a>, WorkUnits)>, setup: [f64; 2], each: [f64; 2], varies: [f64; 3]| {
            let [file, guess] = [0, 1].map(|k| [setup[k], each[k]]);
            (!list.is_empty()).then(|| Measured::new(list, file, guess, varies))
        };
        Self {
            file,
            guess: step,
            step: StepFit {
                name: step.name.clone(),
                channel: None,
                entries: entries.len(),
                jobs: 0,
                minutes: entries.iter().map(|t| t.entry.minutes).sum(),
                expected: 0.0,
                work: None,
                parts: Vec::new(),
                varies: None,
                opposite: None,
                spoil: chance(entries, step.spoil, |e| e.spoiled, false),
                redo: chance(entries, step.redo, |e| e.redone, true),
                along: Along::Pieces,
                points: Vec::new(),
                line: Vec::new(),
                left_out: 0,
            },
            work: measured(
                work,
                minutes(|step| &step.setup),
                minutes(|step| &step.each),
                [
                    before.varies + if by_batch { piece } else { 0.0 },
                    varies(&step.setup),
                    if by_batch { 0.0 } else { piece },
                ],
            ),
            orders: measured(
                counts(of(&[What::Order]), &|e| f64::from(e.pieces)),
                [0.0; 2],
                minutes(|step| &step.per_order),
                [before.varies, 0.0, varies(&step.per_order)],
            ),
            once: measured(
                counts(sittings(of(&[What::Once])), &|_| 1.0),
                [0.0; 2],
                minutes(|step| &step.once),
                [before.varies, 0.0, varies(&step.once)],
            ),
        }
    }

    /// Puts what was found into the answer.
    pub(super) fn tell(&mut self, pace: [Pace; 2]) {
        let (file, step) = (self.file, self.guess);
        let mut parts = Vec::new();
        let mut expected = 0.0;
        if let Some(once) = &self.once {
            parts.extend(part("once", [&file.once, &step.once], once, 1, pace));
            expected += once.kept().map(|(_, row)| row.mean(once.file)).sum::<f64>();
        }
        if let Some(work) = &self.work {
            self.step.jobs = work.found.jobs;
            for (k, key, has) in [
                (0, "setup", [&file.setup, &step.setup]),
                (1, "each", [&file.each, &step.each]),
            ] {
                if work.has()[k] {
                    parts.extend(part(key, has, work, k, pace));
                }
            }
            expected += work.kept().map(|(_, row)| row.mean(work.file)).sum::<f64>();
            self.step.work = Some(Work {
                how: work.how,
                entries: work.rows.len() - work.found.apart.len(),
                varies: work.found.likeliest.map(libm::sqrt),
                sum: sum(step, work),
            });
            self.step.points = points(work, |e| e.timed(step) != What::All);
            let most = work.kept().map(|(e, _)| e.pieces).max().unwrap_or(0);
            if work.rows.iter().any(|r| r.rounds > 0.0 && r.units > 0.0) || work.how == How::NoSetup {
                self.step.line = line(work, most, |n| WorkUnits::of(step, What::All, n, None, 0));
            }
        }
        if let Some(orders) = &self.orders {
            parts.extend(part("per_order", [&file.per_order, &step.per_order], orders, 1, pace));
            expected += orders.kept().map(|(_, row)| row.mean(orders.file)).sum::<f64>();
            if self.work.is_none() {
                self.step.jobs = orders.found.jobs;
                self.step.along = Along::Orders;
                self.step.points = points(orders, |_| false);
                let most = orders.entries.iter().map(|e| e.pieces).max().unwrap_or(0);
                self.step.line = line(orders, most, |n| WorkUnits {
                    rounds: 0.0,
                    units: f64::from(n),
                });
            }
        }
        self.step.parts = parts;
        self.step.expected = expected;
        self.step.minutes -= self.set_apart().iter().map(|apart| apart.minutes).sum::<f64>();
    }

    pub(super) fn all(&self) -> impl Iterator<Item = &Measured<'a>> {
        [&self.work, &self.orders, &self.once].into_iter().flatten()
    }

    pub(super) fn set_apart(&self) -> Vec<Apart> {
        let of = |m: &Measured<'a>| -> Vec<Apart> {
            let times = if m.kept().next().is_some() {
                m.found.times
            } else {
                m.file
            };
            let apart = |k: &usize| Apart {
                line: m.entries[*k].line,
                step: self.step.name.clone(),
                minutes: m.rows[*k].minutes,
                expected: m.rows[*k].mean(times),
            };
            m.found.apart.iter().map(apart).collect()
        };
        self.all().flat_map(of).collect()
    }

    /// Puts logged times in place of ranges made of them.
    pub(super) fn keep(&mut self, own: &OwnTimes, kept: f64) {
        for (key, minutes) in &own.parts {
            if let Some(part) = self.step.parts.iter_mut().find(|part| part.key == *key) {
                part.spread = Spread::logged(minutes.clone()).scaled(1.0 / kept);
                part.new = Range::of(&part.spread);
                part.from = From::Logged;
                if *key == "each" {
                    self.step.varies = None;
                    self.step.opposite = None;
                }
            }
        }
        self.step.left_out = own.left_out;
    }
}

/// One part as the log has it; `None` where few entries would make up a part that the file does not have.
fn part(
    key: &'static str,
    [was, guess]: [&Spread; 2],
    measured: &Measured<'_>,
    k: usize,
    [pace, before]: [Pace; 2],
) -> Option<Part> {
    let enough = measured.enough();
    let found = if k == 0 {
        measured.estimate(1.0, 0.0)
    } else {
        measured.estimate(0.0, 1.0)
    };
    if guess.is_zero() && (!enough && measured.has() == [true, true]) {
        return None;
    }
    let expected = was.mean() * pace.mean;
    let entries = measured
        .rows
        .iter()
        .filter(|row| if k == 0 { row.rounds > 0.0 } else { row.units > 0.0 })
        .count();
    // What was timed by itself is there.
    let alone = |row: &Row| [row.rounds, row.units][k] > 0.0 && [row.rounds, row.units][1 - k] == 0.0;
    let (says, from, spread) = if enough {
        let is_written = (found.value - expected).abs() <= WRITTEN * expected;
        let says = if contradicted(&found, expected) && !is_written {
            Says::Differs
        } else if measured.found.share_below_nothing(k) > 0.025 && !measured.rows.iter().any(alone) {
            Says::CannotTell
        } else {
            Says::AsExpected
        };
        // The range follows when all steps are known.
        (says, From::Log, Spread::Certain(found.value))
    } else if key != "once" && measured.found.jobs == 1 {
        // One job may have been anything; what is done once has but one.
        (Says::OneJob, From::File, was.scaled(pace.mean))
    } else if guess.is_zero() {
        (Says::Differs, From::Ratio, Spread::Certain(found.value))
    } else {
        let by_guess = by_guess(measured, guess, before);
        let actual: Vec<f64> = measured.kept().map(|(_, row)| row.minutes).collect();
        let beside = Beside {
            pace: before,
            expected: &by_guess,
            actual: &actual,
        };
        if beside.sum_off() {
            let all: f64 = by_guess.iter().map(|e| e.minutes).sum();
            let ratio = actual.iter().sum::<f64>() / all;
            (Says::Differs, From::Ratio, guess.scaled(before.mean * ratio))
        } else {
            (Says::AsExpected, From::File, was.scaled(pace.mean))
        }
    };
    Some(Part {
        key,
        entries,
        was: Range::of(was),
        expected,
        found,
        says,
        from,
        new: Range::of(&spread),
        spread,
    })
}

/// What was guessed of each row, both parts together, which vary as this one does (few entries, a rough test).
fn by_guess(measured: &Measured<'_>, guess: &Spread, pace: Pace) -> Vec<Expected> {
    let [s, t] = measured.guess;
    let expected = |row: &Row| Expected {
        minutes: row.mean(measured.guess),
        own: (1.0 + pace.varies) * varies(guess) * (row.rounds * s * s + row.units * t * t),
    };
    measured.kept().map(|(_, row)| expected(row)).collect()
}

fn sum(step: &Step, work: &Measured<'_>) -> Option<Sum> {
    if work.how != How::Both {
        return None;
    }
    let mut pieces: Vec<u32> = work.kept().map(|(e, _)| e.pieces).filter(|n| *n > 0).collect();
    pieces.sort_unstable();
    let pieces = *pieces.get(pieces.len() / 2)?;
    let of = WorkUnits::of(step, What::All, pieces, None, 0);
    let minutes = work.estimate(of.rounds, of.units);
    let expected = of.rounds * work.file[0] + of.units * work.file[1];
    Some(Sum {
        pieces,
        minutes,
        expected,
        differs: contradicted(&minutes, expected),
    })
}

fn points(measured: &Measured<'_>, partly: impl Fn(&Entry) -> bool) -> Vec<Point> {
    let mut list: Vec<(usize, Point)> = measured
        .entries
        .iter()
        .enumerate()
        .map(|(k, e)| {
            let point = Point {
                pieces: e.pieces,
                minutes: e.minutes,
                partly: partly(e),
                apart: measured.is_apart(k),
            };
            (e.line, point)
        })
        .collect();
    list.sort_by_key(|(line, _)| *line);
    list.into_iter().map(|(_, point)| point).collect()
}

/// The law from one piece to the most there were.
fn line(measured: &Measured<'_>, most: u32, units: impl Fn(u32) -> WorkUnits) -> Vec<LinePoint> {
    let stride = most.div_ceil(LINE_POINTS).max(1) as usize;
    let at: Vec<u32> = (1..=most).step_by(stride).collect();
    // How many standard deviations the band reaches is looked up at a few sizes and changes slowly between them.
    let anchors: Vec<(f64, [f64; 2])> = if measured.enough() {
        ranges::spaced(1, most.max(1), 4)
            .into_iter()
            .map(|n| {
                let of = units(n);
                let (mean, sd) = (
                    measured.found.sum(of.rounds, of.units).mean,
                    measured.found.new_job_sd(of.rounds, of.units),
                );
                let (low, high) = measured.found.new_job(of.rounds, of.units, BAND);
                (
                    f64::from(n),
                    if sd > 0.0 {
                        [(low - mean) / sd, (high - mean) / sd]
                    } else {
                        [0.0; 2]
                    },
                )
            })
            .collect()
    } else {
        Vec::new()
    };
    at.into_iter()
        .map(|pieces| {
            let of = units(pieces);
            let found = &measured.found;
            let minutes = of.rounds * found.times[0] + of.units * found.times[1];
            let band = between(&anchors, f64::from(pieces)).map(|z| {
                let (mean, sd) = (
                    found.sum(of.rounds, of.units).mean,
                    found.new_job_sd(of.rounds, of.units),
                );
                z.map(|z| (mean + z * sd).max(0.0))
            });
            LinePoint {
                pieces,
                minutes,
                expected: of.rounds * measured.file[0] + of.units * measured.file[1],
                low: band.map(|b| b[0].min(minutes)),
                high: band.map(|b| b[1].max(minutes)),
            }
        })
        .collect()
}

/// On the straight line between the anchors about `x`.
fn between(anchors: &[(f64, [f64; 2])], x: f64) -> Option<[f64; 2]> {
    let last = anchors.last()?;
    let k = anchors.partition_point(|a| a.0 <= x);
    let (Some(low), Some(high)) = (anchors.get(k.wrapping_sub(1)), anchors.get(k)) else {
        return Some(if k == 0 { anchors[0].1 } else { last.1 });
    };
    let share = (x - low.0) / (high.0 - low.0);
    Some([0, 1].map(|e| low.1[e] + share * (high.1[e] - low.1[e])))
}

/// What was guessed of an entry.
#[derive(Debug, Clone, Copy)]
struct Expected {
    /// Minutes, pace counted.
    minutes: f64,
    /// Their variance but for the pace's.
    own: f64,
}

/// Entries beside what was guessed of them.
struct Beside<'a> {
    pace: Pace,
    expected: &'a [Expected],
    actual: &'a [f64],
}

impl Beside<'_> {
    /// Whether the sum is further off than the guessed ranges and pace allow.
    fn sum_off(&self) -> bool {
        let actual: f64 = self.actual.iter().sum();
        let expected: f64 = self.expected.iter().map(|e| e.minutes).sum();
        let own: f64 = self.expected.iter().map(|e| e.own).sum();
        let sd = libm::sqrt(own + self.pace.varies * expected * expected);
        if sd <= 0.0 {
            return self.ratio_off();
        }
        (actual - expected).abs() > Z975 * sd + SAME * expected
    }

    /// Where the guess is certain, only the log can say how far single entries are off: whether their ratios to what is expected tell
    /// its mean from 1 (Student's t); of one entry they never do.
    fn ratio_off(&self) -> bool {
        let pairs = self.expected.iter().zip(self.actual);
        let ratios: Vec<f64> = pairs
            .filter(|(expected, _)| expected.minutes > 0.0)
            .map(|(expected, actual)| actual / expected.minutes)
            .collect();
        if ratios.len() < 2 {
            return false;
        }
        let mean = stats::mean(&ratios);
        contradicted(&Estimate::new(mean.mean, Some(mean.se), ratios.len() - 1), 1.0)
    }
}

/// Whether the file's mean lies outside of an estimate's interval, by more than rounding.
fn contradicted(found: &Estimate, expected: f64) -> bool {
    found.differs_from(expected) && (found.value - expected).abs() > SAME * expected.abs()
}

/// Counts of what an entry may say, out of pieces; repeats are out of pieces and repeats. An entry that says nothing counts as none
/// where another of the step says something.
fn chance(entries: &[Timed<'_>], was: f64, count: impl Fn(&Entry) -> Option<u32>, again: bool) -> Option<Chance> {
    if entries.iter().all(|timed| count(timed.entry).is_none()) {
        return None;
    }
    let (mut times, mut of) = (0, 0);
    let mut jobs = HashSet::new();
    for Timed { entry, job, .. } in entries {
        if !matches!(entry.what, What::All | What::Each) {
            continue;
        }
        jobs.insert(job);
        let n = u64::from(count(entry).unwrap_or(0));
        times += n;
        of += u64::from(entry.pieces) + if again { n } else { 0 };
    }
    (of > 0).then(|| {
        let share = stats::clopper_pearson(times, of);
        Chance {
            was,
            times,
            of,
            share,
            // What spoils one piece of a job may spoil the next one of it: as with times, a few jobs change nothing.
            contradicts: jobs.len() >= ENOUGH && (was < share.low || was > share.high),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three of twenty were spoiled: 3.2 to 37.9 % by the exact interval, from sums of the binomial law.
    #[test]
    fn a_chance_is_contradicted_on_either_side() {
        let entry = |pieces, spoiled| Entry {
            line: 2,
            date: None,
            job: String::new(),
            step: "turn".to_owned(),
            what: What::All,
            pieces,
            rounds: None,
            minutes: 10.0,
            spoiled,
            redone: None,
            note: String::new(),
        };
        let (some, rest) = (entry(12, Some(3)), entry(2, None));
        let timed = |entry, job| Timed {
            entry,
            job,
            minutes: 10.0,
        };
        let all = [
            timed(&some, 0),
            timed(&rest, 1),
            timed(&rest, 2),
            timed(&rest, 3),
            timed(&rest, 4),
        ];
        let of = |was: f64| chance(&all, was, |e| e.spoiled, false).expect("counted");
        assert_eq!((of(0.1).times, of(0.1).of), (3, 20));
        for (was, off) in [(0.03, true), (0.034, false), (0.37, false), (0.39, true)] {
            assert_eq!(of(was).contradicts, off, "{was}");
        }
        // Done again three times, twenty pieces were tried 23 times.
        assert_eq!(chance(&all, 0.1, |e| e.spoiled, true).map(|c| c.of), Some(23));
        assert!(chance(&all[1..], 0.1, |e| e.spoiled, false).is_none());
        // The same of four jobs changes nothing.
        let mut few = all;
        few[4].job = 3;
        assert!(!chance(&few, 0.0, |e| e.spoiled, false).expect("counted").contradicts);
        assert!(of(0.0).contradicts);
    }

    /// Eight jobs of one order differ by a standard deviation of 2 min about 12. Eight of ten new ones lie within t of 7 degrees of freedom at
    /// 90 %, 1.415, times 2 times the root of 9/8, which is 3.00 either way.
    #[test]
    fn the_band_of_new_jobs_is_that_of_a_textbook() {
        let text = "target = 30\n[[step]]\nname = \"pack\"\nper_order = \"5 / 7 / 9 min\"\n[sale]\nprice = 50\n";
        let scenario = crate::scenario::read("test", text, &[]).expect("it reads");
        let off = 3.5_f64.sqrt();
        let mut log = "job,step,pieces,minutes\n".to_owned();
        for k in 0..8 {
            let minutes = if k % 2 == 0 { 12.0 - off } else { 12.0 + off };
            log.push_str(&format!("{k},pack,1,{minutes}\n"));
        }
        let log = crate::worklog::read("log", log.as_bytes()).expect("it reads");
        let found = crate::worklog::fit::fit(&scenario, &log);
        let one = found.steps[0].line.iter().find(|at| at.pieces == 1).expect("one order");
        for reach in [one.low.map(|low| 12.0 - low), one.high.map(|high| high - 12.0)] {
            assert!(reach.is_some_and(|reach| (2.99..3.01).contains(&reach)), "{one:?}");
        }
    }
}
