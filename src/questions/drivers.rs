//! Which uncertain input moves the hour's earnings at one batch size, what each estimate would mean if it were off, and what
//! a little less of anything is worth.
//!
//! * **Shares of variance** of the rate P / H of a run ([`crate::stats::sobol`]). The second sample of an input is its streams under
//!   other names ([`crate::engine::groups`]). Redo times depend on who else of a group of eight trials redoes, so an earlier step's
//!   chance carries a trace of the redo times of later steps.
//! * **Swings**: the long-run rate with all draws of one range at its 10 % and at its 90 % point. A view of an estimate that
//!   is off throughout, not of chance: chance evens out over pieces, a wrong estimate does not.
//! * **Levers**: the long-run rate gained by a little less of something. Times and prices enter hours and money linearly, so
//!   that runs of one part of the work alone give hours for every strength of it, exactly. What is little is told in two ways: a
//!   minute (a percentage point, a unit of money) of each draw, and a tenth of all of it. A minute is much of what takes four seconds
//!   and nothing of what takes a day, so that things are ranked by the tenth: about as much as effort may take off anything
//!   (assumption).
//! * **Steps**: the same for a tenth of all that a step takes, its setups, pieces and orders together.
//!
//! All changed runs keep the draws of the unchanged ones, and errors are those of differences trial by trial.
//!
//! # Why parts of the work are simulated alone
//!
//! One part's time only, one minute in each of its draws, and its streams under other names (`engine/groups.rs`) give its variance shares,
//! both ends of its swing and the worth of a minute without the rest being simulated again. Redo times depend on who redoes in a group of
//! eight, so the bootstrap draws whole groups.
//!
//! # Why steps are ranked by 10 % less
//!
//! A minute is nothing of eighteen hours and all of four seconds; 10 % off each step is about the same effort. The minute stays as a
//! column, and in the words where it is a fiftieth to half of what there is (assumption).

use super::Settings;
use super::ways::{Way, ways};
use crate::engine::groups::{Input, TimePart, groups, time_parts};
use crate::engine::plan::{PlanChannel, PlanStep};
use crate::engine::shape::{Shape, half_bound};
use crate::engine::stream::{Use, part};
use crate::engine::{Engine, Plan};
use crate::scenario::{Sale, Scenario};
use crate::stats;
use crate::stats::Mean;
use crate::stats::sobol::{self, Indices};
use rayon::prelude::*;
use serde::Serialize;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Simulated runs where nothing is said, up to [`MOST_WORK`].
pub const TRIALS: u64 = 8_192;

/// Pieces times steps of a run up to which [`TRIALS`] are simulated.
pub const MOST_WORK: usize = 600;

/// The whole answer; its serialised form is the documented JSON of `drivers`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drivers {
    /// The scenario's title.
    pub title: String,
    /// ISO 4217 code.
    pub currency: String,
    /// Asked price per piece.
    pub price: f64,
    /// Money an hour should earn.
    pub target: f64,
    /// Share of runs that should reach it.
    pub confidence: f64,
    /// Pieces started.
    pub size: u32,
    /// Simulated runs of each sample and setting.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Bootstrap resamples behind the errors of shares.
    pub resamples: u32,
    /// Program version.
    pub version: String,
    /// `E[profit] / E[hours]`, money per hour, as things are.
    pub long_run: Mean,
    /// Mean of the runs' rates, over both samples.
    pub rate_mean: f64,
    /// Standard deviation of the runs' rates; 0 where nothing varies.
    pub rate_sd: f64,
    /// What varies, in the scenario's order.
    pub inputs: Vec<InputAnswer>,
    /// What could be less, that of which a tenth is worth most first.
    pub levers: Vec<Lever>,
    /// The work of every step, and of every channel with time of its own; that of which a tenth is worth most first.
    pub steps: Vec<StepWorth>,
    /// What a tenth of the pieces sold another way is worth, that which adds most first; empty without channels.
    pub ways: Vec<Way>,
}

/// What a tenth less of a step's time is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepWorth {
    /// The step, or the channel.
    pub name: String,
    /// Hands-on hours it takes in a run on average, `once` shared among the planned runs.
    pub hours: f64,
    /// Money an hour more in the long run with a tenth less of all of it; `None` where a run takes no hours at all.
    pub tenth: Option<Mean>,
}

/// What an input or a lever belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Pace of the whole run, a factor.
    Pace,
    /// Time once for the design, minutes.
    Once,
    /// Time per round, minutes.
    Setup,
    /// Time per piece, minutes.
    Each,
    /// Time per order, minutes.
    PerOrder,
    /// Which pieces spoil or must be done again at a step.
    Chance,
    /// Chance of spoiling a piece at a step, fraction.
    Spoil,
    /// Chance of a redo at a step, fraction.
    Redo,
    /// Price of a material, money per unit.
    Price,
    /// Waste of a material, fraction of what is used.
    Waste,
    /// Postage, money per order.
    Postage,
    /// Pieces in an order.
    OrderSize,
    /// Orders that come back, fraction.
    Returns,
    /// Fee, fraction of what the buyer pays.
    Fee,
    /// Fee per order, money.
    FeePerOrder,
    /// What another currency is worth, in the scenario's own.
    Exchange,
    /// Pieces asked for in a season.
    Buyers,
}

/// One uncertain input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InputAnswer {
    /// For people: `glue pegs: setup`.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// The step or material it belongs to; `None`: the run or its sale.
    pub of: Option<String>,
    /// Shares of the variance of the runs' rate; `None` where the rate does not vary at all.
    pub shares: Option<Indices>,
    /// What an estimate that is off would mean; `None` for chances, which are no range.
    pub swing: Option<Swing>,
}

/// The long-run rate with one range at its ends.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Swing {
    /// All draws at the range's 10 % point.
    pub low: SwingEnd,
    /// All draws at the range's 90 % point.
    pub high: SwingEnd,
}

/// One end of a swing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SwingEnd {
    /// The input's value, in the unit of its kind.
    pub value: f64,
    /// Long-run rate, money per hour.
    pub rate: f64,
    /// Difference to the long-run rate as things are, with its paired standard error; money per hour.
    pub change: Mean,
}

/// What a little less of something is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lever {
    /// For people: `glue pegs: setup`.
    pub name: String,
    /// What there is less of.
    pub kind: Kind,
    /// The step or material; `None`: the sale.
    pub of: Option<String>,
    /// How much less, in the unit of its kind: a minute, a percentage point (0.01), a unit of money; all of it where there is
    /// less than that on average.
    pub less: f64,
    /// How much of it there is on average, in the same unit.
    pub has: f64,
    /// Whether that is all of it.
    pub all_of_it: bool,
    /// Money an hour more in the long run, with its paired standard error; `None` where no hours would be left.
    pub gain: Option<Mean>,
    /// The same for a tenth less of it; `None` where a run takes no hours at all.
    pub tenth: Option<Mean>,
    /// QuantileRank in `inputs` of what varies here; `None` where it does not.
    pub input: Option<usize>,
}

/// Hours and profit of a setting, by trial.
#[derive(Debug, Clone)]
struct Columns {
    hours: Vec<f64>,
    profit: Vec<f64>,
}

/// Simulates plans of one size and counts what is done.
struct Simulator<'a> {
    settings: &'a Settings,
    progress: &'a (dyn Fn(f64) + Sync),
    done: AtomicUsize,
    due: usize,
}

impl Simulator<'_> {
    fn run(&self, plan: &Plan) -> Columns {
        let engine = Engine::new(plan, self.settings.seed);
        let mut runs = engine.answer_sizes(self.settings.trials, &|_| (), |runs| runs);
        let runs = runs.pop().expect("one size is planned");
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        (self.progress)(done as f64 / self.due.max(done) as f64);
        Columns {
            hours: runs.hours,
            profit: runs.profit,
        }
    }
}

/// Everything that is asked of one part of the work.
struct TimeRuns {
    /// Its hours, by trial.
    hours: Vec<f64>,
    /// Hours that a minute in each of its draws makes, by trial.
    a_minute: Vec<f64>,
    /// Its hours in the second sample; empty where it is certain.
    other: Vec<f64>,
}

/// What there is less of everything, so that unlike things can be ranked.
const TENTH: f64 = 0.1;

/// Ends of a swing.
const ENDS: [f64; 2] = [0.1, 0.9];

/// A unit of money, the step of a lever: where hours are worth thousands, a hundred.
fn unit_of_money(target: f64) -> f64 {
    if target >= 1_000.0 { 100.0 } else { 1.0 }
}

/// Answers for a batch of `size`. `progress` is called now and then with the share of the work that is done.
#[must_use]
pub fn run(scenario: &Scenario, size: u32, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Drivers {
    let mut alone = scenario.clone();
    alone.batch.sizes = vec![size];
    settings.on_threads(|| answer(&alone, size, settings, progress))
}

fn answer(scenario: &Scenario, size: u32, settings: &Settings, progress: &(dyn Fn(f64) + Sync)) -> Drivers {
    let plan = Plan::new(scenario);
    let inputs = groups(scenario);
    let parts = time_parts(scenario);
    let simulator = Simulator {
        settings,
        progress,
        done: AtomicUsize::new(0),
        // A guess that holds for most: three runs an input or part.
        due: 3 * (inputs.len() + parts.len()) + 4,
    };
    let streams: Vec<u64> = inputs.iter().flat_map(|g| g.streams.iter().copied()).collect();
    let bare = plan.without_times();
    let [base, other, paces, other_paces]: [Columns; 4] = [
        plan.clone(),
        plan.salted(&streams),
        plan.pace_alone(),
        plan.pace_alone().salted(&[plan.pace.part]),
    ]
    .par_iter()
    .map(|plan| simulator.run(plan))
    .collect::<Vec<_>>()
    .try_into()
    .expect("four in, four out");

    let times: Vec<TimeRuns> = parts
        .par_iter()
        .map(|time| {
            let only = plan.with_time_only(time);
            let certain = time.spread.is_certain();
            let a_minute = simulator
                .run(&only.with_shape(time.stream, |_| Shape::Fixed(1.0)))
                .hours;
            let hours = if certain {
                a_minute.iter().map(|u| u * time.spread.mean()).collect()
            } else {
                simulator.run(&only).hours
            };
            let streams = inputs.iter().find(|g| g.input == time.input).map(|g| &g.streams);
            let other = streams.map_or_else(Vec::new, |streams| simulator.run(&only.salted(streams)).hours);
            TimeRuns { hours, a_minute, other }
        })
        .collect();

    let view = View {
        scenario,
        plan: &plan,
        bare: &bare,
        simulator: &simulator,
        base: &base,
        paces: &paces.hours,
        other_paces: &other_paces.hours,
        parts: &parts,
        times: &times,
    };
    let (switched, swings): (Vec<Vec<f64>>, Vec<Option<Swing>>) = inputs
        .par_iter()
        .map(|group| {
            (
                view.switched(group.input, &group.streams),
                view.swing(group.input, group.streams[0]),
            )
        })
        .unzip();
    let rates = |columns: &Columns| rates(&columns.hours, &columns.profit);
    let shares = sobol::shares(&rates(&base), &rates(&other), &switched, settings.seed);
    let inputs: Vec<(Input, InputAnswer)> = inputs
        .into_iter()
        .zip(shares.inputs)
        .zip(swings)
        .map(|((group, shares), swing)| {
            let (kind, of) = view.belongs(group.input);
            let answer = InputAnswer {
                name: group.name,
                kind,
                of,
                shares,
                swing,
            };
            (group.input, answer)
        })
        .collect();
    let levers = view.levers(&inputs.iter().map(|(input, _)| *input).collect::<Vec<_>>());
    Drivers {
        title: scenario.title.clone(),
        currency: scenario.currency.clone(),
        price: scenario.sale.price,
        target: scenario.target_per_hour,
        confidence: scenario.confidence,
        size,
        trials: settings.trials,
        seed: settings.seed,
        resamples: sobol::RESAMPLES,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        long_run: stats::ratio(&base.profit, &base.hours),
        rate_mean: shares.mean,
        rate_sd: libm::sqrt(shares.variance),
        inputs: inputs.into_iter().map(|(_, answer)| answer).collect(),
        levers,
        steps: view.steps(),
        // On the threads there are already.
        ways: ways(
            scenario,
            size,
            &Settings {
                threads: None,
                ..*settings
            },
        ),
    }
}

fn rates(hours: &[f64], profit: &[f64]) -> Vec<f64> {
    let rate = |(p, h): (&f64, &f64)| if *h > 0.0 { p / h } else { 0.0 };
    profit.iter().zip(hours).map(rate).collect()
}

/// What all changed runs are made from.
struct View<'a> {
    scenario: &'a Scenario,
    plan: &'a Plan,
    bare: &'a Plan,
    simulator: &'a Simulator<'a>,
    base: &'a Columns,
    paces: &'a [f64],
    other_paces: &'a [f64],
    parts: &'a [TimePart],
    times: &'a [TimeRuns],
}

impl View<'_> {
    fn time(&self, input: Input) -> Option<(&TimePart, &TimeRuns)> {
        let found = self.parts.iter().position(|p| p.input == input)?;
        Some((&self.parts[found], &self.times[found]))
    }

    /// The runs with other hours; the shop's hours cost what they cost.
    fn with_hours(&self, hours: Vec<f64>) -> Columns {
        let per_hour = self.plan.terms.shop_per_hour;
        let both = self.base.hours.iter().zip(&hours);
        let profit = self.base.profit.iter().zip(both);
        Columns {
            profit: profit.map(|(p, (was, is))| p + per_hour * (was - is)).collect(),
            hours,
        }
    }

    /// The runs with other money: of a plan without times, whose shop has cost nothing yet.
    fn with_money(&self, plan: &Plan) -> Columns {
        let per_hour = self.plan.terms.shop_per_hour;
        let money = self.simulator.run(plan).profit;
        let both = money.iter().zip(&self.base.hours);
        Columns {
            profit: both.map(|(p, h)| p - per_hour * h).collect(),
            hours: self.base.hours.clone(),
        }
    }

    /// The hours with those of one part exchanged for others.
    fn exchanged(&self, part: &[f64], by: impl Fn(usize) -> f64) -> Vec<f64> {
        let both = self.base.hours.iter().zip(part).enumerate();
        both.map(|(i, (h, own))| h - own + by(i)).collect()
    }

    /// The rate by trial with one input from the second sample.
    fn switched(&self, input: Input, streams: &[u64]) -> Vec<f64> {
        let columns = match input {
            Input::Pace => {
                let by = self.base.hours.iter().zip(self.paces).zip(self.other_paces);
                self.with_hours(by.map(|((h, pace), other)| h / pace * other).collect())
            }
            Input::Once(_) | Input::Setup(_) | Input::Each(_) | Input::PerOrder(_) | Input::ChannelOrder(_) => {
                match self.time(input) {
                    Some((_, runs)) => self.with_hours(self.exchanged(&runs.hours, |i| runs.other[i])),
                    None => self.base.clone(),
                }
            }
            Input::Price(_) | Input::Waste(_) | Input::Postage | Input::Exchange(_) => {
                self.with_money(&self.bare.salted(streams))
            }
            Input::Chance(_) | Input::OrderSize | Input::Returns | Input::Buyers => {
                self.simulator.run(&self.plan.salted(streams))
            }
        };
        rates(&columns.hours, &columns.profit)
    }

    /// The long-run rate at both ends of a range.
    fn swing(&self, input: Input, stream: u64) -> Option<Swing> {
        let shape = self.shape(input)?;
        let [low, high] = ENDS.map(|q| {
            let value = shape.quantile(q);
            // Every range that is drawn from this stream, at its own point: a dear day is dear at every break.
            let at = |plan: &Plan| plan.with_shape(stream, |shape| Shape::Fixed(shape.quantile(q)));
            let columns = match input {
                Input::Pace => {
                    let by = self.base.hours.iter().zip(self.paces);
                    self.with_hours(by.map(|(h, pace)| h / pace * value).collect())
                }
                Input::Price(_) | Input::Waste(_) | Input::Postage | Input::Exchange(_) => {
                    self.with_money(&at(self.bare))
                }
                Input::OrderSize | Input::Buyers => self.simulator.run(&at(self.plan)),
                _ => match self.time(input) {
                    Some((_, runs)) => self.with_hours(self.exchanged(&runs.hours, |i| runs.a_minute[i] * value)),
                    None => self.base.clone(),
                },
            };
            let change = gain(self.base, &columns).unwrap_or(Mean { mean: 0.0, se: 0.0 });
            SwingEnd {
                value,
                rate: stats::ratio(&columns.profit, &columns.hours).mean,
                change,
            }
        });
        Some(Swing { low, high })
    }

    /// The range of an input; `None` for a chance.
    fn shape(&self, input: Input) -> Option<Shape> {
        Some(match input {
            Input::Pace => self.plan.pace.shape.clone(),
            Input::Once(_) | Input::Setup(_) | Input::Each(_) | Input::PerOrder(_) | Input::ChannelOrder(_) => {
                Shape::new(&self.time(input)?.0.spread)
            }
            Input::Price(i) => self.plan.materials[i].price.shape.clone(),
            Input::Waste(i) => self.plan.materials[i].waste.shape.clone(),
            Input::Exchange(i) => self.plan.rates[i].shape.clone(),
            // Where channels differ, the first that varies speaks for all; each is set at its own point.
            Input::Postage => varying(self.plan.channels.iter().map(|c| &c.post.shape))?,
            Input::OrderSize => varying(self.plan.channels.iter().map(|c| &c.order_of.shape))?,
            Input::Buyers => self.plan.demand.as_ref()?.counts.clone().ok()?,
            Input::Chance(_) | Input::Returns => return None,
        })
    }

    /// Kind of an input, and whose it is.
    fn belongs(&self, input: Input) -> (Kind, Option<String>) {
        let step = |i: usize| Some(self.scenario.steps[i].name.clone());
        let material = |i: usize| Some(self.scenario.materials[i].name.clone());
        match input {
            Input::Pace => (Kind::Pace, None),
            Input::Once(i) => (Kind::Once, step(i)),
            Input::Setup(i) => (Kind::Setup, step(i)),
            Input::Each(i) => (Kind::Each, step(i)),
            Input::PerOrder(i) => (Kind::PerOrder, step(i)),
            Input::Chance(i) => (Kind::Chance, step(i)),
            Input::Price(i) => (Kind::Price, material(i)),
            Input::Waste(i) => (Kind::Waste, material(i)),
            Input::Postage => (Kind::Postage, None),
            Input::OrderSize => (Kind::OrderSize, None),
            Input::Returns => (Kind::Returns, None),
            Input::ChannelOrder(i) => (Kind::PerOrder, Some(self.scenario.channels[i].name.clone())),
            Input::Exchange(i) => (Kind::Exchange, Some(self.scenario.currencies[i].code.clone())),
            Input::Buyers => (Kind::Buyers, None),
        }
    }

    /// Everything that could be less, and what that is worth.
    fn levers(&self, inputs: &[Input]) -> Vec<Lever> {
        let place = |input: Input| inputs.iter().position(|i| *i == input);
        let mut levers: Vec<Lever> = self
            .parts
            .iter()
            .zip(self.times)
            .map(|(time, runs)| {
                let (kind, of) = self.belongs(time.input);
                let mean = time.spread.mean();
                let less = mean.min(1.0);
                let saved = if less < 1.0 { &runs.hours } else { &runs.a_minute };
                let columns = self.with_hours(self.exchanged(saved, |_| 0.0));
                let tenth = self.with_hours(self.exchanged(&runs.hours, |i| (1.0 - TENTH) * runs.hours[i]));
                Lever {
                    name: name(kind, of.as_deref()),
                    kind,
                    of,
                    less,
                    has: mean,
                    all_of_it: less == mean,
                    gain: gain(self.base, &columns),
                    tenth: gain(self.base, &tenth),
                    input: place(time.input),
                }
            })
            .collect();
        levers.extend(
            self.changes()
                .into_par_iter()
                .map(|change| {
                    let columns = |plan: &Plan| {
                        if change.hours_stay {
                            self.with_money(plan)
                        } else {
                            self.simulator.run(plan)
                        }
                    };
                    let by_little = columns(&change.plan);
                    let tenth = match &change.tenth {
                        Tenth::Plan(plan) => columns(plan),
                        Tenth::Times(times) => self.scaled(&by_little, *times),
                    };
                    Lever {
                        name: name(change.kind, change.of.as_deref()),
                        kind: change.kind,
                        of: change.of,
                        less: change.less,
                        has: change.has,
                        all_of_it: change.all_of_it,
                        gain: gain(self.base, &by_little),
                        tenth: gain(self.base, &tenth),
                        input: change.input.and_then(place),
                    }
                })
                .collect::<Vec<_>>(),
        );
        let worth = |lever: &Lever| lever.tenth.map_or(f64::NEG_INFINITY, |g| g.mean);
        levers.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
        levers
    }

    /// The runs with so many times the difference in money that others make, hours being the same.
    fn scaled(&self, others: &Columns, times: f64) -> Columns {
        let both = self.base.profit.iter().zip(&others.profit);
        Columns {
            hours: self.base.hours.clone(),
            profit: both.map(|(was, is)| was + times * (is - was)).collect(),
        }
    }

    /// The work of each step and channel, and what a tenth less of all of it is worth.
    fn steps(&self) -> Vec<StepWorth> {
        let mut owners: Vec<(Owner, Vec<f64>)> = Vec::new();
        for (time, runs) in self.parts.iter().zip(self.times) {
            let Some(owner) = Owner::of(time.input) else {
                continue;
            };
            match owners.iter_mut().find(|(other, _)| *other == owner) {
                Some((_, hours)) => hours.iter_mut().zip(&runs.hours).for_each(|(sum, own)| *sum += own),
                None => owners.push((owner, runs.hours.clone())),
            }
        }
        let mut steps: Vec<StepWorth> = owners
            .into_iter()
            .map(|(owner, hours)| {
                let columns = self.with_hours(self.exchanged(&hours, |i| (1.0 - TENTH) * hours[i]));
                StepWorth {
                    name: match owner {
                        Owner::Step(i) => self.scenario.steps[i].name.clone(),
                        Owner::Channel(i) => self.scenario.channels[i].name.clone(),
                    },
                    hours: stats::mean(&hours).mean,
                    tenth: gain(self.base, &columns),
                }
            })
            .collect();
        let worth = |step: &StepWorth| step.tenth.map_or(f64::NEG_INFINITY, |g| g.mean);
        steps.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
        steps
    }

    /// Levers that are not times: each with its changed plan.
    fn changes(&self) -> Vec<Change> {
        const POINT: f64 = 0.01;
        let money = unit_of_money(self.scenario.target_per_hour);
        let mut out = Vec::new();
        let mut add = |kind: Kind,
                       of: Option<&String>,
                       has: f64,
                       most: f64,
                       input: Option<Input>,
                       make: &dyn Fn(&Less) -> Plan| {
            if has > 0.0 {
                let less = has.min(most);
                let hours_stay = !matches!(kind, Kind::Spoil | Kind::Redo | Kind::Returns);
                out.push(Change {
                    kind,
                    of: of.cloned(),
                    less,
                    has,
                    all_of_it: less == has,
                    hours_stay,
                    input,
                    plan: make(&|has| has.min(most)),
                    // Money is linear in every price and fee; with channels each has a tenth of its own.
                    tenth: if hours_stay && self.plan.channels.len() == 1 {
                        Tenth::Times(TENTH * has / less)
                    } else {
                        Tenth::Plan(Box::new(make(&|has| TENTH * has)))
                    },
                });
            }
        };
        for (i, step) in self.scenario.steps.iter().enumerate() {
            let of = Some(&step.name);
            let changed = |change: &dyn Fn(&mut PlanStep)| {
                let mut plan = self.plan.clone();
                change(&mut plan.steps[i]);
                plan
            };
            let chance = Some(Input::Chance(i));
            add(Kind::Spoil, of, step.spoil, POINT, chance, &|less| {
                changed(&|s| {
                    s.spoil -= less(step.spoil);
                    s.spoil_bound = half_bound(s.spoil);
                })
            });
            let redo = if step.each.is_zero() { 0.0 } else { step.redo };
            add(Kind::Redo, of, redo, POINT, chance, &|less| {
                changed(&|s| {
                    s.redo -= less(step.redo);
                    s.redo_bound = half_bound(s.redo);
                })
            });
        }
        for (i, material) in self.scenario.materials.iter().enumerate() {
            let of = Some(&material.name);
            // Scaled, not shifted: no draw falls below nothing, and which break is bought up to stays as it was.
            let (price, waste) = (material.price.mean(), material.waste.mean());
            add(Kind::Price, of, price, money, Some(Input::Price(i)), &|less| {
                let stream = part(Use::Price, &material.name);
                self.bare
                    .with_shape(stream, |shape| shape.scaled(1.0 - less(price) / price))
            });
            add(Kind::Waste, of, waste, POINT, Some(Input::Waste(i)), &|less| {
                let stream = part(Use::Waste, &material.name);
                self.bare
                    .with_shape(stream, |shape| shape.scaled(1.0 - less(waste) / waste))
            });
        }
        // In every channel that has it; by what is asked, or by all of it where a channel has less.
        let sales = self.scenario.sales();
        let largest = |of: &dyn Fn(&Sale) -> f64| sales.iter().map(|sale| of(sale)).fold(0.0, f64::max);
        let everywhere = |plan: &Plan, change: &dyn Fn(&mut PlanChannel, &Sale)| {
            let mut plan = plan.clone();
            for (channel, sale) in plan.channels.iter_mut().zip(&sales) {
                change(channel, sale);
            }
            plan
        };
        let post = largest(&|sale| sale.post.mean());
        add(Kind::Postage, None, post, money, Some(Input::Postage), &|less| {
            everywhere(self.bare, &|channel, sale| {
                let mean = sale.post.mean();
                if mean > 0.0 {
                    channel.post.shape = channel.post.shape.scaled(1.0 - less(mean) / mean);
                }
            })
        });
        let returned = largest(&|sale| sale.returned);
        add(Kind::Returns, None, returned, POINT, Some(Input::Returns), &|less| {
            everywhere(self.plan, &|channel, sale| {
                channel.returned_bound = half_bound((sale.returned - less(sale.returned)).max(0.0));
            })
        });
        let fee = largest(&|sale| sale.fee);
        add(Kind::Fee, None, fee, POINT, None, &|less| {
            everywhere(self.bare, &|channel, sale| {
                channel.fee = (sale.fee - less(sale.fee)).max(0.0)
            })
        });
        let per_order = largest(&|sale| sale.fee_per_order);
        add(Kind::FeePerOrder, None, per_order, money, None, &|less| {
            everywhere(self.bare, &|channel, sale| {
                channel.fee_per_order = (sale.fee_per_order - less(sale.fee_per_order)).max(0.0);
            })
        });
        out
    }
}

/// Whose time a part of the work is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Owner {
    Step(usize),
    Channel(usize),
}

impl Owner {
    const fn of(input: Input) -> Option<Self> {
        match input {
            Input::Once(i) | Input::Setup(i) | Input::Each(i) | Input::PerOrder(i) => Some(Self::Step(i)),
            Input::ChannelOrder(i) => Some(Self::Channel(i)),
            _ => None,
        }
    }
}

/// Of what there is, how much less.
type Less<'a> = dyn Fn(f64) -> f64 + 'a;

/// How a tenth less is found.
enum Tenth {
    /// So many times the difference that the little less makes.
    Times(f64),
    /// By a plan of its own.
    Plan(Box<Plan>),
}

/// A lever that needs runs of its own.
struct Change {
    kind: Kind,
    of: Option<String>,
    less: f64,
    has: f64,
    all_of_it: bool,
    /// Whether the plan is one without times, because hours stay as they are.
    hours_stay: bool,
    input: Option<Input>,
    plan: Plan,
    tenth: Tenth,
}

/// The first of these shapes that leaves something to chance.
fn varying<'s>(mut shapes: impl Iterator<Item = &'s Shape>) -> Option<Shape> {
    shapes.find(|shape| !shape.is_fixed()).cloned()
}

/// For people: whose, and what.
fn name(kind: Kind, of: Option<&str>) -> String {
    let what = match kind {
        Kind::Pace => "pace",
        Kind::Once => "once",
        Kind::Setup => "setup",
        Kind::Each => "each",
        Kind::PerOrder => "per order",
        Kind::Chance => "spoil and redo",
        Kind::Spoil => "spoil",
        Kind::Redo => "redo",
        Kind::Price => "price",
        Kind::Waste => "waste",
        Kind::Postage => "postage",
        Kind::OrderSize => "pieces in an order",
        Kind::Returns => "returns",
        Kind::Fee => "fee",
        Kind::FeePerOrder => "fee per order",
        Kind::Exchange => "worth",
        Kind::Buyers => "buyers",
    };
    of.map_or_else(|| what.to_owned(), |of| format!("{of}: {what}"))
}

/// How much more the long run earns an hour, with the paired error by the delta method; `None` where no hours are left.
fn gain(before: &Columns, after: &Columns) -> Option<Mean> {
    let n = before.hours.len() as f64;
    let mean = |values: &[f64]| stats::sum_of(values, values, |v, _| v) / n;
    let (hours_before, hours_after) = (mean(&before.hours), mean(&after.hours));
    if hours_before <= 0.0 || hours_after <= 1e-9 * hours_before {
        return None;
    }
    let (was, is) = (mean(&before.profit) / hours_before, mean(&after.profit) / hours_after);
    let residual = |columns: &Columns, rate: f64, hours: f64| -> Vec<f64> {
        let both = columns.profit.iter().zip(&columns.hours);
        both.map(|(p, h)| (p - rate * h) / hours).collect()
    };
    let (first, second) = (residual(before, was, hours_before), residual(after, is, hours_after));
    let differences: Vec<f64> = second.iter().zip(&first).map(|(a, b)| a - b).collect();
    let (_, variance) = stats::mean_variance(&differences);
    Some(Mean {
        mean: is - was,
        se: libm::sqrt(variance / n),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An input switched by way of its own hours is the whole run with other names for its streams.
    #[test]
    fn parts_switched_are_runs_switched() {
        let settings = Settings {
            trials: 300,
            ..Settings::default()
        };
        for text in [
            include_str!("../../scenarios/ash-dining-table.toml"),
            include_str!("../../scenarios/card-wallet.toml"),
            include_str!("../../scenarios/letterpress-cards.toml"),
            include_str!("../../scenarios/oak-peg-rail.toml"),
            include_str!("../../scenarios/printed-tea-towels.toml"),
            include_str!("../../scenarios/stoneware-mugs.toml"),
        ] {
            // A season none of them has, so that demand is an input too.
            let season = ("season.buyers".to_owned(), "4 / 7 / 12".to_owned());
            let mut scenario = crate::scenario::read("shipped", text, &[season]).expect("it reads");
            scenario.batch.sizes = vec![9];
            let plan = Plan::new(&scenario);
            let simulator = Simulator {
                settings: &settings,
                progress: &|_| (),
                done: AtomicUsize::new(0),
                due: 1,
            };
            let parts = time_parts(&scenario);
            let inputs = groups(&scenario);
            let times: Vec<TimeRuns> = parts
                .iter()
                .map(|time| {
                    let only = plan.with_time_only(time);
                    let streams = inputs.iter().find(|g| g.input == time.input).map(|g| &g.streams);
                    TimeRuns {
                        hours: simulator.run(&only).hours,
                        a_minute: Vec::new(),
                        other: streams.map_or_else(Vec::new, |s| simulator.run(&only.salted(s)).hours),
                    }
                })
                .collect();
            let view = View {
                scenario: &scenario,
                plan: &plan,
                bare: &plan.without_times(),
                simulator: &simulator,
                base: &simulator.run(&plan),
                paces: &simulator.run(&plan.pace_alone()).hours,
                other_paces: &simulator.run(&plan.pace_alone().salted(&[plan.pace.part])).hours,
                parts: &parts,
                times: &times,
            };
            assert!(inputs.len() > 8);
            for group in &inputs {
                let whole = simulator.run(&plan.salted(&group.streams));
                let due = rates(&whole.hours, &whole.profit);
                let found = view.switched(group.input, &group.streams);
                for (found, due) in found.iter().zip(&due) {
                    assert!(
                        (found - due).abs() <= 1e-9 * (1.0 + due.abs()),
                        "{}: {found} {due}",
                        group.name
                    );
                }
            }
        }
    }

    /// Two runs by hand: 10 in 2 h and 20 in 3 h earn 6; an hour less of each 10 + 20 in 1 h and 2 h, 10.
    #[test]
    fn gains_by_hand() {
        let columns = |hours: [f64; 2]| Columns {
            hours: hours.to_vec(),
            profit: vec![10.0, 20.0],
        };
        let (before, after) = (columns([2.0, 3.0]), columns([1.0, 2.0]));
        let found = gain(&before, &after).expect("hours are left");
        assert!((found.mean - 4.0).abs() < 1e-12);
        // Residuals (10 - 12) / 2.5 and (20 - 18) / 2.5 before; (10 - 10) / 1.5 twice after: differences 0.8 and -0.8.
        assert!((found.se - 0.8).abs() < 1e-12, "{found:?}");
        assert_eq!(gain(&before, &columns([0.0, 0.0])), None);
        assert_eq!(gain(&before, &before), Some(Mean { mean: 0.0, se: 0.0 }));
    }
}
