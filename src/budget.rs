//! What a call would take, estimated from the plan before it begins: a call that would keep people waiting for minutes, or take the machine's
//! memory, is refused with what to change.
//!
//! Assumption: seconds and bytes as measured on two slow cores of 2026, rounded up. They bound what is taken on and are no promise.

use crate::questions::floor::{MOST_CHOICES, compared_in};
use crate::questions::{calendar, jig, stress, sweep, trials_of_one_size};
use crate::render::question::Question;
use crate::scenario::{Scenario, Spoiled};
use batchwright_core::engine::groups::{groups, time_parts};

/// Seconds that a call may take.
const MOST_SECONDS: f64 = 30.0;
/// Cores that are reckoned with, whatever the machine has, so that it refuses the same everywhere.
const CORES: f64 = 2.0;
/// Bytes that a call may hold.
const MOST_BYTES: f64 = 2.0 * 1024.0 * 1024.0 * 1024.0;

/// One piece at one step, everything on.
const PIECE_STEP: f64 = 5e-9;
/// One task of a schedule: made, queued, done, waited for.
const TASK: f64 = 2.5e-7;
/// Bytes of a batch's hours, profit and floor.
const COLUMNS: f64 = 24.0;
/// Bytes of columns that a sweep holds at once; a larger one goes through its sizes in stretches and keeps each trial's state between them.
const STRETCH: f64 = 256.0 * 1024.0 * 1024.0;

/// Seconds from which a sweep is shared out in a page, where it takes some four times as long as here: three questions and answers take a few
/// milliseconds more than one.
const WORTH_SHARING: f64 = 0.005;
/// Bytes of a sweep up to which it is shared out: handing more from worker to worker takes longer than it saves.
const SHARED: f64 = 128.0 * 1024.0 * 1024.0;

/// What a call would take.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Work {
    /// Trials of each size or setting.
    trials: u64,
    seconds: f64,
    bytes: f64,
}

impl Work {
    /// Of a question about one scenario, at these sizes, or all of its own where there are none.
    pub(crate) fn of(question: Question, scenario: &Scenario, sizes: &[u32], trials: u64) -> Self {
        // One size is chosen by the calendar, at most the largest.
        let own = &scenario.batch.sizes[scenario.batch.sizes.len().saturating_sub(1)..];
        let own = if question == Question::Calendar {
            own
        } else {
            &scenario.batch.sizes
        };
        let sizes = if sizes.is_empty() { own } else { sizes };
        let runs = trials as f64;
        let count = sizes.len() as f64;
        let steps = scenario.steps.len() as f64;
        let largest = sizes.iter().copied().max().map_or(1.0, f64::from);
        let pieces = |size: f64| size * starts(scenario) * steps;
        let one = runs * (pieces(largest) * PIECE_STEP + 1e-7);
        let all = one + count * runs * 5e-8;
        let columns = COLUMNS * runs * count;
        let stretched = if columns > STRETCH {
            1.5 * STRETCH + state(scenario, largest) * runs
        } else {
            1.5 * columns + 200.0 * runs
        };
        let (seconds, bytes) = match question {
            // What a season or a steady sale advises is simulated as by a question of its own.
            Question::Sweep if sizes.len() > 1 && (scenario.season.is_some() || scenario.steady.is_some()) => {
                (1.4 * all, stretched)
            }
            Question::Sweep => (all, stretched),
            // Prices and their intervals are looked up in order, size by size.
            Question::Floor => (2.0 * all + count * runs * 3e-7, stretched),
            // The price that pays takes as many trials as a sweep, unless so many were asked for.
            Question::Stress => {
                let usual = trials_of_one_size(scenario, largest as u32, stress::TRIALS, stress::MOST_WORK);
                let sweeps = if trials == usual {
                    sweep::TRIALS as f64 / runs
                } else {
                    0.0
                };
                ((10.0 + sweeps + 4.0 * steps) * one, 270.0 * runs)
            }
            // A column for each input, and three for each part of the work.
            Question::Drivers => (
                (15.0 + 6.0 * steps) * one,
                (260.0 + 10.0 * groups(scenario).len() as f64 + 30.0 * time_parts(scenario).len() as f64) * runs,
            ),
            // What each set of jigs saves is kept until all are compared, trial by trial.
            Question::Jig => {
                let sets = jig::sets_of(scenario.jigs.len()) as f64;
                ((4.0 + sets) * one + sets * runs * 8e-7, (140.0 + 8.0 * sets) * runs)
            }
            Question::Season | Question::Steady => (10.0 * one + count * runs * 3e-7, 1.2 * columns + 200.0 * runs),
            Question::Compare => (2.0 * one, 200.0 * runs),
            Question::Calendar => {
                let roomed = scenario
                    .steps
                    .iter()
                    .filter(|step| step.room.is_some() || step.kept_in.is_some())
                    .count();
                let ways = 2.0 + 2.0 * roomed as f64;
                let tasks: f64 = sizes.iter().map(|size| 2.0 * pieces(f64::from(*size))).sum();
                (runs * tasks * ways * TASK, 170.0 * ways * runs + 200.0 * tasks * CORES)
            }
        };
        Self {
            trials,
            seconds: seconds / CORES,
            bytes,
        }
    }

    /// Orders of so many pieces, each made alone and filled.
    pub(crate) fn of_orders(scenario: &Scenario, orders: &[u32], trials: u64) -> Self {
        let mut filled = scenario.clone();
        filled.batch.spoiled = Spoiled::Remake;
        orders.iter().fold(Self::default(), |sum, size| {
            let one = Self::of(Question::Sweep, &filled, &[*size], trials);
            Self {
                trials,
                seconds: sum.seconds + one.seconds,
                bytes: sum.bytes.max(one.bytes) + 50.0 * trials as f64,
            }
        })
    }

    /// [`Self::of_orders`], and each with every number of spares that is looked at where pieces can be spoiled.
    pub(crate) fn of_quotes(scenario: &Scenario, orders: &[u32], trials: u64) -> Self {
        let quotes = Self::of_orders(scenario, orders, trials);
        if left(scenario) >= 1.0 {
            return quotes;
        }
        orders.iter().fold(quotes, |sum, size| {
            let mut compared = Self::of_orders(scenario, &[*size], compared_in(trials, *size));
            compared.seconds *= f64::from(MOST_CHOICES);
            sum.and(compared)
        })
    }

    /// The sheet for a buyer: prices of these orders, and their dates where the bench has hours.
    pub(crate) fn of_offer(scenario: &Scenario, orders: &[u32], trials: u64) -> Self {
        let prices = Self::of_quotes(scenario, orders, trials);
        if scenario.hours.is_none() {
            return prices;
        }
        let few = trials.min(calendar::TRIALS);
        prices.and(Self::of(Question::Calendar, scenario, orders, few))
    }

    /// One after the other.
    pub(crate) fn and(self, next: Self) -> Self {
        Self {
            trials: self.trials.max(next.trials),
            seconds: self.seconds + next.seconds,
            bytes: self.bytes.max(next.bytes),
        }
    }

    /// Whether several workers of a page, each of which hands the others a part of what it simulates, are done with a sweep sooner than one.
    pub(crate) fn worth_sharing(self) -> bool {
        self.seconds >= WORTH_SHARING && self.bytes <= SHARED
    }

    /// How many times what is taken on it would take.
    fn over(self) -> f64 {
        (self.seconds / MOST_SECONDS).max(self.bytes / MOST_BYTES)
    }

    /// As many of its trials as are taken on, in hundreds where they are fewer.
    pub(crate) fn taken_on(self) -> u64 {
        let over = self.over();
        if over <= 1.0 {
            self.trials
        } else {
            (self.trials as f64 / over / 100.0).floor() as u64 * 100
        }
    }

    /// # Errors
    /// One sentence: what it would take, and what to change.
    pub(crate) fn within(self) -> Result<(), String> {
        let over = self.over();
        if over <= 1.0 {
            return Ok(());
        }
        let takes = match (self.seconds > MOST_SECONDS, self.bytes > MOST_BYTES) {
            (true, true) => format!("{} and {}", seconds(self.seconds), gigabytes(self.bytes)),
            (true, false) => seconds(self.seconds),
            _ => gigabytes(self.bytes),
        };
        let fewer = self.trials as f64 / over;
        let cure = if fewer >= 100.0 {
            let digit = libm::pow(10.0, libm::log10(fewer).floor());
            format!(
                "write --trials {}, or ask about smaller sizes",
                (fewer / digit).floor() * digit
            )
        } else {
            "ask about smaller sizes".to_owned()
        };
        Err(format!(
            "this would take about {takes}, and at most {MOST_SECONDS} seconds and {} are taken on; {cure}",
            gigabytes(MOST_BYTES)
        ))
    }
}

/// Bytes of a trial's state: generators and counts of each step, prices of each material, orders of each way of selling, and pieces that were
/// made again.
fn state(scenario: &Scenario, largest: f64) -> f64 {
    let (steps, ways) = (scenario.steps.len() as f64, 2 + scenario.channels.len());
    let again = match scenario.batch.spoiled {
        Spoiled::Remake => largest * (1.0 / left(scenario) - 1.0),
        Spoiled::Short => 0.0,
    };
    400.0 + 150.0 * steps + 60.0 * scenario.materials.len() as f64 + 300.0 * ways as f64 + again * (40.0 + 32.0 * steps)
}

/// The share of the pieces that no step spoils.
fn left(scenario: &Scenario) -> f64 {
    let good: f64 = scenario.steps.iter().map(|step| 1.0 - step.spoil).product();
    good.max(1e-9)
}

/// Pieces started for each that is due: more where spoiled ones are made again.
fn starts(scenario: &Scenario) -> f64 {
    match scenario.batch.spoiled {
        // Each is drawn by itself, which takes twenty times as long.
        Spoiled::Remake => 1.0 + 20.0 * (1.0 / left(scenario) - 1.0),
        Spoiled::Short => 1.0,
    }
}

fn seconds(seconds: f64) -> String {
    if seconds < 120.0 {
        format!("{seconds:.0} seconds")
    } else if seconds < 7_200.0 {
        format!("{:.0} minutes", seconds / 60.0)
    } else {
        format!("{:.0} hours", seconds / 3_600.0)
    }
}

fn gigabytes(bytes: f64) -> String {
    format!("{:.0} GB of memory", (bytes / (1024.0 * 1024.0 * 1024.0)).ceil())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::read;

    fn shop(sizes: &str) -> Scenario {
        let text = format!(
            "target = 20\n[batch]\nsizes = '{sizes}'\n[[step]]\nname = 'a'\neach = '3 min'\n[[step]]\nname = 'b'\neach = '3 min'\n\
             [sale]\nprice = 20\n"
        );
        read("a.toml", &text, &[]).expect("a scenario")
    }

    /// Whatever a question takes if nothing is said is taken on, up to sizes of hundreds.
    #[test]
    fn what_is_usual_is_taken_on() {
        for question in Question::ALL {
            let work = Work::of(question, &shop("1..400"), &[], question.usual_trials());
            assert_eq!(work.within(), Ok(()), "{question:?}");
        }
    }

    /// A sweep that goes through its sizes in stretches keeps each trial's state, which sixty steps and forty materials make large: it held 9 GiB
    /// with a million trials.
    #[test]
    fn what_a_trial_keeps_between_stretches_counts() {
        let mut shop = shop("1..40");
        shop.steps = vec![shop.steps[0].clone(); 61];
        let steps = Work::of(Question::Sweep, &shop, &[], 993_000);
        assert!(steps.bytes > 9.0 * 1024.0 * 1024.0 * 1024.0, "{}", steps.bytes);
        assert!(steps.within().is_err());
    }

    /// With so many trials, as `tests/witness/memory.py` found, the drivers of a shop of two steps held 2,639 MiB, and five jigs, of which every
    /// set is kept, 2,460.
    #[test]
    fn inputs_and_sets_of_jigs_count() {
        let held = |question, shop: &Scenario, trials| Work::of(question, shop, &[6], trials).bytes / 1024.0 / 1024.0;
        let jig = "[[jig]]\nname = 'NAME'\nstep = 'a'\nbuild = '2 h'\neach = 'x 0.9'\n";
        let jigs: String = (0..5).map(|k| jig.replace("NAME", &k.to_string())).collect();
        let text = format!(
            "target = 20\n[batch]\nsizes = [6]\n[[step]]\nname = 'a'\nsetup = '1 / 2 / 3 min'\neach = '1 / 3 / 5 min'\n[[step]]\nname = 'b'\n\
             per_order = '1 / 3 / 5 min'\n[[material]]\nname = 'm'\nper_piece = 1\nprice = '1 / 2 / 3'\n[sale]\nprice = 20\n\
             order_of = '1 / 2 / 4'\npost = '1 / 2 / 3'\nreturned = '2 %'\n{jigs}"
        );
        let shop = read("a.toml", &text, &[]).expect("a scenario");
        assert!(held(Question::Drivers, &shop, 8_080_509) > 2_639.0);
        assert!(held(Question::Jig, &shop, 7_026_529) > 2_460.0);
        // So many took 72 s.
        assert!(Work::of(Question::Jig, &shop, &[6], 5_313_065).seconds > 60.0);
    }

    #[test]
    fn too_much_is_refused_and_what_is_said_instead_is_taken_on() {
        for question in Question::ALL {
            let (shop, trials) = (shop("1..400"), 100_000_000);
            let said = Work::of(question, &shop, &[], trials).within().expect_err("too much");
            let fewer = said.split("--trials ").nth(1).and_then(|rest| rest.split(',').next());
            let fewer: u64 = fewer.and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("{said}"));
            assert_eq!(
                Work::of(question, &shop, &[], fewer).within(),
                Ok(()),
                "{question:?}: {said}"
            );
        }
    }
}
