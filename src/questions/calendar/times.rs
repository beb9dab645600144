//! The times of single pieces, rounds and orders in one trial: the draws that `sweep` adds up, one by one.
//!
//! The streams are those of the engine (`engine::stream`): same seed and trial, same minutes; a test adds them up again and
//! compares. Waits have streams of their own, under a name that no step can have.
//!
//! # Why a calendar trial is the sweep's trial
//!
//! The calendar needs the minutes of each piece and each round, which the engine only adds up. It draws them again, one by one, from the
//! same streams, and a test adds them up and compares them with the engine. Waits have streams of their own.

use crate::engine::path::dispatch;
use crate::engine::plan::{FIRST_OF_SECONDS, Plan, PlanDemand, PlanStep, Source};
use crate::engine::remake::REDO_STRIDE;
use crate::engine::shape::Shape;
use crate::engine::stream::{Use, Xoshiro, nth, part, seed_words, start, trial_keys};
use crate::engine::{LANES, Lanes, Path};
use crate::model::counts::whole_order;
use crate::scenario::Scenario;
use fearless_simd::SimdBase;

/// What one step does to one piece. Minutes at the estimated pace.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Handled {
    /// Its number in its batch.
    pub(super) piece: usize,
    /// The first time.
    pub(super) minutes: f64,
    /// Each time again.
    pub(super) again: Vec<f64>,
}

/// Pieces started together: the batch, or those that are made again.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Wave {
    /// Pieces started.
    pub(super) pieces: usize,
    /// By step, the pieces that reach it, in their order.
    pub(super) steps: Vec<Vec<Handled>>,
    /// Whether each piece comes out good.
    pub(super) good: Vec<bool>,
}

impl Wave {
    fn good(&self) -> usize {
        self.good.iter().filter(|good| **good).count()
    }
}

/// One order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Order {
    /// Pieces in it.
    pub(super) pieces: usize,
    /// Whether they are seconds.
    pub(super) seconds: bool,
    /// Minutes, by step; those of a channel and of seconds have a number after those of the steps.
    pub(super) minutes: Vec<(usize, f64)>,
}

/// Everything drawn for one trial of one size.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drawn {
    key: u64,
    /// What all hands-on time is multiplied by.
    pub(super) pace: f64,
    /// The batch, then what is made again.
    pub(super) waves: Vec<Wave>,
    /// In the order their pieces are there, those of seconds after the others.
    pub(super) orders: Vec<Order>,
    /// Of the batch, which pieces are seconds if they come through; empty where none is.
    pub(super) seconds: Vec<bool>,
}

/// What is drawn from.
#[derive(Debug, Clone)]
pub(super) struct Times {
    pub(super) plan: Plan,
    /// Pieces started.
    size: usize,
    /// Good pieces that are due of them.
    due: usize,
    waits: Vec<(Shape, u64)>,
    /// The steps that `Plan::once` belongs to.
    once_steps: Vec<usize>,
    /// By channel, and then of seconds, the steps that order times belong to.
    order_steps: Vec<Vec<usize>>,
}

impl Times {
    /// For a batch of `due` that so many spares are started with.
    pub(super) fn new(scenario: &Scenario, due: u32, spares: u32) -> Self {
        let size = due + spares;
        let mut alone = scenario.clone();
        alone.batch.sizes = vec![size];
        let plan = Plan::new(&alone);
        let which = |has: &dyn Fn(&crate::scenario::Step) -> bool| -> Vec<usize> {
            let steps = scenario.steps.iter().enumerate();
            steps.filter(|(_, step)| has(step)).map(|(k, _)| k).collect()
        };
        let packing = which(&|step| !step.per_order.is_zero());
        let order_steps = plan
            .channels
            .iter()
            .enumerate()
            .map(
                |(c, _)| match scenario.channels.get(c).map(|channel| &channel.per_order) {
                    // A channel's own time stands for that of the steps and is a part of its own.
                    Some(Some(_)) => vec![scenario.steps.len() + c],
                    _ => packing.clone(),
                },
            )
            .chain([match scenario.seconds.as_ref().map(|seconds| &seconds.per_order) {
                Some(Some(_)) => vec![scenario.steps.len() + scenario.channels.len()],
                _ => packing.clone(),
            }])
            .collect();
        Self {
            size: size as usize,
            due: due as usize,
            waits: scenario
                .steps
                .iter()
                .map(|step| {
                    let name = format!("\u{1}wait\u{1}{}", step.name);
                    (Shape::new(&step.wait), part(Use::Setup, &name))
                })
                .collect(),
            once_steps: which(&|step| !step.once.is_zero()),
            order_steps,
            plan,
        }
    }

    /// Whether rounds of this step ever wait.
    pub(super) fn waits(&self, step: usize) -> bool {
        !self.waits[step].0.is_zero()
    }

    /// Clock minutes that round number `k` of a step waits, rounds of what is made again counted on.
    pub(super) fn wait(&self, drawn: &Drawn, step: usize, k: u64) -> f64 {
        let (shape, stream) = &self.waits[step];
        shape.draw_one(nth(start(drawn.key, *stream), k))
    }

    /// Minutes of setup of round number `k` of a step in the batch, or (`again`) among the rounds that are made again; those that other designs
    /// bear are worked as well.
    pub(super) fn setup(&self, drawn: &Drawn, step: usize, again: bool, k: u64) -> f64 {
        let step = &self.plan.steps[step];
        let stream = if again { step.remake_parts[0] } else { step.setup.part };
        let minutes = step.opposite_setup(drawn.key);
        minutes.unwrap_or_else(|| step.setup.shape.draw_one(nth(start(drawn.key, stream), k))) / step.own
    }

    /// Minutes spent once for the design, by step.
    pub(super) fn once(&self, drawn: &Drawn) -> Vec<(usize, f64)> {
        let draws = self
            .plan
            .once
            .iter()
            .map(|s| s.shape.draw_one(nth(start(drawn.key, s.part), 0)));
        self.once_steps.iter().copied().zip(draws).collect()
    }

    /// Draws the eight trials of a group.
    pub(super) fn group(&self, seed: u64, group: u64) -> [Drawn; LANES] {
        let keys = &trial_keys(seed, group);
        let begins: Vec<Lanes> = self
            .plan
            .channels
            .iter()
            .map(|channel| channel.begins(seed, group))
            .collect();
        let mut lane = 0;
        self.batches(keys).map(|batch| {
            let key = keys[lane];
            let begins: Vec<f64> = begins.iter().map(|places| places[lane]).collect();
            lane += 1;
            let pace = &self.plan.pace;
            let mut waves = vec![batch];
            if self.plan.remake {
                self.remake(key, &mut waves);
            }
            Drawn {
                key,
                pace: pace.shape.draw_one(nth(start(key, pace.part), 0)),
                orders: self.orders(key, &begins, &waves),
                seconds: self.seconds(key),
                waves,
            }
        })
    }

    /// The batches as they are started.
    fn batches(&self, keys: &[u64; LANES]) -> [Wave; LANES] {
        let size = self.size;
        let mut waves: [Wave; LANES] = std::array::from_fn(|_| Wave {
            pieces: size,
            steps: Vec::with_capacity(self.plan.steps.len()),
            good: vec![true; size],
        });
        for step in &self.plan.steps {
            self.step(step, keys, &mut waves);
        }
        waves
    }

    fn step(&self, step: &PlanStep, keys: &[u64; LANES], waves: &mut [Wave; LANES]) {
        let alike = step.is_alike();
        let trial_draw = keys.map(|key| trial_draw(step, key));
        let times = if step.has_each && !alike {
            numbers(keys, step.each.part, self.size)
        } else {
            Vec::new()
        };
        // Also where it takes no hands: a firing that is repeated waits again.
        let redoes = step.redo > 0.0;
        let fates = if redoes || step.spoil > 0.0 {
            numbers(keys, step.fate_part, self.size)
        } else {
            Vec::new()
        };
        // How often each lane does each piece again: the eight generators of redo times move on while any of them does.
        let mut again = vec![[0_u32; LANES]; if redoes { self.size } else { 0 }];
        let mut drawn = 0;
        for (piece, again) in again.iter_mut().enumerate() {
            for lane in 0..LANES {
                let chance = (fates[piece][lane] >> 32) as f64 + 0.5;
                let mut bound = step.redo_bound;
                while waves[lane].good[piece] && chance < bound {
                    bound *= step.redo;
                    again[lane] += 1;
                }
            }
            drawn += again.iter().copied().max().unwrap_or(0) as usize;
        }
        let redos = if drawn > 0 && !alike {
            numbers(keys, step.redo_part, drawn)
        } else {
            Vec::new()
        };
        for (lane, wave) in waves.iter_mut().enumerate() {
            let mut handled = Vec::with_capacity(self.size);
            let mut reached = 0;
            let mut next = 0;
            for piece in 0..self.size {
                let most = again
                    .get(piece)
                    .map_or(0, |again| again.iter().copied().max().unwrap_or(0));
                if wave.good[piece] {
                    let factor = step.factor(reached);
                    reached += 1;
                    let one = |bits: Option<&[u64; LANES]>| {
                        let draw = bits.map_or(trial_draw[lane], |bits| step.each.shape.draw_one(bits[lane]));
                        draw * factor
                    };
                    let often = again.get(piece).map_or(0, |again| again[lane]) as usize;
                    handled.push(Handled {
                        piece,
                        minutes: if step.has_each { one(times.get(piece)) } else { 0.0 },
                        again: (0..often).map(|k| one(redos.get(next + k))).collect(),
                    });
                    if let Some(fate) = fates.get(piece) {
                        let chance = (fate[lane] & 0xFFFF_FFFF) as f64 + 0.5;
                        wave.good[piece] = chance >= step.spoil_bound;
                    }
                }
                next += most as usize;
            }
            wave.steps.push(handled);
        }
    }

    /// Makes spoiled pieces again until none is missing: the engine's sequence (`engine::remake`).
    fn remake(&self, key: u64, waves: &mut Vec<Wave>) {
        let mut reached: Vec<u32> = waves[0].steps.iter().map(|handled| handled.len() as u32).collect();
        let mut number = 0_u64;
        loop {
            let good: usize = waves.iter().map(Wave::good).sum();
            let missing = self.due.saturating_sub(good);
            if missing == 0 {
                return;
            }
            let mut wave = Wave {
                pieces: missing,
                steps: Vec::with_capacity(self.plan.steps.len()),
                good: vec![true; missing],
            };
            for (index, step) in self.plan.steps.iter().enumerate() {
                let [_, each_part, fate_part, redo_part] = step.remake_parts;
                let same = trial_draw(step, key);
                let draw = |part: u64, k: u64| {
                    if step.is_alike() {
                        same
                    } else {
                        step.each.shape.draw_one(nth(start(key, part), k))
                    }
                };
                let mut handled = Vec::new();
                for piece in (0..missing).filter(|piece| wave.good[*piece]) {
                    let of = number + piece as u64;
                    let factor = step.factor(reached[index]);
                    reached[index] += 1;
                    let fate = nth(start(key, fate_part), of);
                    let chance = (fate >> 32) as f64 + 0.5;
                    let mut again = Vec::new();
                    let mut bound = step.redo_bound;
                    while step.redo > 0.0 && chance < bound {
                        again.push(draw(redo_part, of * REDO_STRIDE + again.len() as u64) * factor);
                        bound *= step.redo;
                    }
                    handled.push(Handled {
                        piece,
                        minutes: if step.has_each {
                            draw(each_part, of) * factor
                        } else {
                            0.0
                        },
                        again,
                    });
                }
                for handled in &handled {
                    let fate = nth(start(key, fate_part), number + handled.piece as u64);
                    wave.good[handled.piece] = (fate & 0xFFFF_FFFF) as f64 + 0.5 >= step.spoil_bound;
                }
                wave.steps.push(handled);
            }
            number += missing as u64;
            waves.push(wave);
        }
    }

    /// Which pieces of the batch are seconds if they come through.
    fn seconds(&self, key: u64) -> Vec<bool> {
        let Some(seconds) = &self.plan.seconds else {
            return Vec::new();
        };
        let begin = start(key, seconds.part);
        let is = |piece: usize| ((nth(begin, piece as u64) >> 32) as f64 + 0.5) < seconds.bound;
        (0..self.size).map(is).collect()
    }

    /// Pieces into orders as the engine's sale does it: to the channels by their shares, orders numbered through all of them.
    fn orders(&self, key: u64, begins: &[f64], waves: &[Wave]) -> Vec<Order> {
        let plan = &self.plan;
        let through: usize = waves.iter().map(Wave::good).sum::<usize>().min(self.due);
        let both = self
            .seconds(key)
            .iter()
            .zip(&waves[0].good)
            .filter(|(a, b)| **a && **b)
            .count();
        // What selling days take is packed for nobody.
        let draw = |demand: &PlanDemand| demand.draw(nth(start(key, demand.part), 0));
        let taken: f64 = plan.days.iter().map(|day| draw(&day.sells)).sum();
        let good = (through - both).saturating_sub(taken as usize);
        let demand = plan
            .demand
            .as_ref()
            .map_or(f64::INFINITY, |demand| demand.draw(nth(start(key, demand.part), 0)));
        let count = plan.channels.len();
        let mut orders: Vec<Order> = Vec::new();
        // By channel: room left in its open order, which that is, orders opened.
        let mut open = vec![(0.0, 0, 0_u64); count];
        // Pieces that make no full set yet.
        let mut gone = vec![0; count];
        // Pieces that came past a channel, and of these the ones it has taken.
        let mut passed = vec![(0.0, 0.0); count];
        let takes = |c: &usize, (here, taken): &mut (f64, f64)| {
            *here += 1.0;
            let due = libm::floor(*here * plan.channels[*c].of_rest + begins[*c]);
            std::mem::replace(taken, due) < due
        };
        for _ in (0..good).take_while(|sold| (*sold as f64) < demand) {
            let c = (0..count).find(|c| takes(c, &mut passed[*c])).unwrap_or(0);
            let channel = &plan.channels[c];
            let set = channel.set_of as usize;
            gone[c] += 1;
            if gone[c] < set {
                continue;
            }
            gone[c] = 0;
            let (left, which, opened) = &mut open[c];
            if *left <= 0.0 {
                let number = *opened * count as u64 + c as u64;
                let draw = |source: &Source| source.shape.draw_one(nth(start(key, source.part), number));
                *left = libm::floor(draw(&channel.order_of) + 0.5).max(1.0);
                *which = orders.len();
                *opened += 1;
                orders.push(Order {
                    pieces: 0,
                    seconds: false,
                    minutes: self.order_steps[c]
                        .iter()
                        .copied()
                        .zip(channel.order_times.iter().map(draw))
                        .collect(),
                });
            }
            *left -= 1.0;
            orders[*which].pieces += set;
        }
        self.orders_of_seconds(key, both, &mut orders);
        orders
    }

    /// So many seconds into orders of their own.
    fn orders_of_seconds(&self, key: u64, mut pieces: usize, orders: &mut Vec<Order>) {
        let Some(sale) = self.plan.seconds.as_ref().and_then(|seconds| seconds.sale.as_ref()) else {
            return;
        };
        let steps = &self.order_steps[self.plan.channels.len()];
        for number in FIRST_OF_SECONDS.. {
            if pieces == 0 {
                return;
            }
            let draw = |source: &Source| source.shape.draw_one(nth(start(key, source.part), number));
            let taken = pieces.min(whole_order(draw(&sale.order_of)) as usize);
            pieces -= taken;
            orders.push(Order {
                pieces: taken,
                seconds: true,
                minutes: steps.iter().copied().zip(sale.order_times.iter().map(draw)).collect(),
            });
        }
    }

    /// Hands-on minutes of a trial at the estimated pace, with `once` spread over the planned batches: what `sweep` adds up.
    #[cfg(test)]
    fn minutes(&self, drawn: &Drawn) -> f64 {
        let mut minutes = self.once(drawn).iter().map(|o| o.1 / self.plan.runs).sum::<f64>();
        minutes += drawn.orders.iter().flat_map(|o| &o.minutes).map(|m| m.1).sum::<f64>();
        for (index, step) in self.plan.steps.iter().enumerate() {
            let mut numbers = [0, 0];
            for (w, wave) in drawn.waves.iter().enumerate() {
                let here = wave.steps[index].len();
                let rounds = step.room.map_or(here.min(1), |room| here.div_ceil(room as usize));
                let number = &mut numbers[w.min(1)];
                for _ in 0..rounds {
                    minutes += self.setup(drawn, index, w > 0, *number);
                    *number += 1;
                }
                let pieces = wave.steps[index].iter();
                minutes += pieces.map(|h| h.minutes + h.again.iter().sum::<f64>()).sum::<f64>();
            }
        }
        minutes
    }
}

/// The batch's one draw of a step that varies by batch, or is certain.
fn trial_draw(step: &PlanStep, key: u64) -> f64 {
    if step.is_alike() {
        step.each.shape.draw_one(nth(start(key, step.each.part), 0))
    } else {
        0.0
    }
}

/// The first `count` numbers of a part's eight generators.
fn numbers(keys: &[u64; LANES], part: u64, count: usize) -> Vec<[u64; LANES]> {
    let mut out = vec![[0; LANES]; count];
    dispatch!(Path::Base, simd => {
        let mut generator = Xoshiro::load(simd, &seed_words(simd, keys, part));
        for lanes in &mut out {
            generator.next().store_array(lanes);
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::{Settings, trials_at};

    /// Everything that the draws can hang on.
    const WHOLE: &str = r#"
target = 30
currency = "EUR"
[batch]
sizes = [1, 30]
spoiled = "short"
runs = 3
[pace]
factor = "0.9 / 1 / 1.4"
[[step]]
name = "draw"
once = "60 / 90 / 200 min"
setup = "10 / 15 / 40 min"
[[step]]
name = "throw"
setup = "5 / 7 / 9 min"
each = "4 / 6 / 14 min"
room = 6
wait = "1 d"
learning = "90 %"
made_before = 2
redo = "15 %"
[[step]]
name = "fire"
setup = { low = 20, likely = 30, high = 60, unit = "min", shape = "pert" }
room = 5
wait = "20 / 30 h"
redo = "10 %"
spoil = "12 %"
[[step]]
name = "decorate"
setup = "3 min"
each = { low = 5, high = 15, unit = "min", shape = "lognormal", ends = "tenths" }
room = 4
varies = "batch"
learning = "95 %"
redo = "20 %"
spoil = "4 %"
[[step]]
name = "wipe"
each = "2 min"
redo = "25 %"
[[step]]
name = "trim"
setup = { shape = "logged", values = [2, 2, 3, 4.5, 9, 11], unit = "min" }
each = { shape = "logged", values = [1.5, 2, 2, 2.75, 3, 4, 4.1, 9], unit = "min" }
room = 4
redo = "12 %"
spoil = "2 %"
[[step]]
name = "pack"
per_order = "10 / 12 / 30 min"
[[step]]
name = "carry"
per_order = "2 / 9 min"
[sale]
price = 50
order_of = "1 / 2 / 4"
[[channel]]
name = "shop"
share = "40 %"
order_of = 5
per_order = "20 / 30 min"
[[channel]]
name = "market"
share = "60 %"
[season]
buyers = "15 / 30"
clearance = 3
"#;

    /// Each trial's minutes added up are the hours that the engine gives.
    #[test]
    fn minutes_add_up_to_the_hours_of_a_sweep() {
        let whole = WHOLE.to_owned();
        let others = [
            "ash-dining-table",
            "card-wallet",
            "oak-peg-rail",
            "plant-labels",
            "printed-tea-towels",
            "stoneware-mugs",
        ];
        let seconds = whole.replace("spoil = \"4 %\"", "spoil = \"4 %\"\nsecond = \"20 %\"")
            + "[seconds]\nprice = 20\norder_of = \"1 / 2 / 4\"\n";
        let mut texts = vec![
            format!("{seconds}per_order = \"3 / 9 min\"\n"),
            seconds,
            whole.replace("\"short\"", "\"remake\""),
            whole,
        ];
        for name in others {
            let file = format!("{}/../../scenarios/{name}.toml", env!("CARGO_MANIFEST_DIR"));
            // What is asked before an order comes is no work of the batch's days.
            let lines = std::fs::read_to_string(file).unwrap();
            let is_asked = |line: &&str| line.starts_with("quote") || line.starts_with("enquiry");
            texts.push(
                lines
                    .lines()
                    .filter(|line| !is_asked(line))
                    .collect::<Vec<_>>()
                    .join("\n"),
            );
        }
        let settings = Settings {
            trials: 64,
            seed: 9,
            ..Settings::default()
        };
        for text in texts {
            let scenario = crate::scenario::read("test", &text, &[]).unwrap();
            for size in [1, 7, 30] {
                let times = Times::new(&scenario, size, 0);
                let hours = trials_at(&scenario, size, &settings).hours;
                let drawn: Vec<Drawn> = (0..8).flat_map(|group| times.group(9, group)).collect();
                for (drawn, hours) in drawn.iter().zip(hours) {
                    let found = times.minutes(drawn) * drawn.pace / 60.0;
                    assert!(
                        (found - hours).abs() <= 1e-9 * hours,
                        "{}, {size}: {found} {hours}",
                        scenario.title
                    );
                }
            }
        }
    }
}
