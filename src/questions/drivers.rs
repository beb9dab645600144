//! Which uncertain input moves the hour's earnings at one batch size, what each estimate would mean if it were off, and what
//! a little less of anything is worth.
//!
//! * **Shares of variance** of the rate P / H of a trial ([`crate::stats::sobol`]). The second sample of an input is its streams under
//!   other names ([`crate::engine::groups`]). Redo times depend on who else of a group of eight trials redoes, so an earlier step's
//!   chance carries a trace of the redo times of later steps. Setups that lie opposite to the time per piece go along where that is drawn anew.
//! * **Swings**: the long-run rate with all draws of one range at its 10 % and at its 90 % point. A view of an estimate that
//!   is off throughout, not of chance: chance evens out over pieces, a wrong estimate does not. What lies opposite to the range stays as it is.
//! * **Levers**: the long-run rate gained by a little less of something. Times and prices enter hours and money linearly, so
//!   that trials of one part of the work alone give hours for every strength of it, exactly. What is little is told in two ways: a
//!   minute (a percentage point, a unit of money) of each draw, and a tenth of all of it. A minute is much of what takes four seconds
//!   and nothing of what takes a day, so that things are ranked by the tenth: about as much as effort may take off anything
//!   (assumption).
//! * **Steps**: the same for a tenth of all that a step takes, its setups, pieces and orders together.
//!
//! All changed trials keep the draws of the unchanged ones, and errors are those of differences trial by trial.
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

mod levers;

use super::Settings;
use super::kept::Kept;
use super::ways::{Way, ways};
use crate::engine::groups::{Group, Input, TimePart, groups, time_parts};
use crate::engine::shape::Shape;
use crate::engine::{Engine, Plan};
use crate::parallel;
use crate::scenario::{Material, Scenario, Spread};
use crate::stats::columns::per_hour;
use crate::stats::sobol::{self, Indices};
use crate::stats::{self, Mean};
use serde::Serialize;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Trials where nothing is said, up to [`MOST_WORK`].
pub const TRIALS: u64 = 8_192;

/// Pieces times steps of a trial up to which [`TRIALS`] are simulated.
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
    /// Share of trials that should reach it.
    pub confidence: f64,
    /// Pieces started.
    pub size: u32,
    /// Trials of each sample and setting.
    pub trials: u64,
    /// Seed of every random stream.
    pub seed: u64,
    /// Bootstrap resamples behind the errors of shares.
    pub resamples: u32,
    /// Program version.
    pub version: String,
    /// `E[profit] / E[hours]`, money per hour, as things are.
    pub long_run: Mean,
    /// Mean of the trials' rates, over both samples.
    pub rate_mean: f64,
    /// Standard deviation of the trials' rates; 0 where nothing varies.
    pub rate_sd: f64,
    /// What varies, in the scenario's order.
    pub inputs: Vec<InputAnswer>,
    /// What could be less, that of which a tenth is worth most first.
    pub levers: Vec<Lever>,
    /// The work of every step, the helper's too, of every channel and of seconds with time of their own, of every selling day, and of quotes
    /// and enquiries: all hours there are; that of which a tenth is worth most first.
    pub steps: Vec<StepWorth>,
    /// What a tenth of the pieces sold another way is worth, that which adds most first; empty without channels.
    pub ways: Vec<Way>,
}

/// What a tenth less of a step's time is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepWorth {
    /// The step, or the channel.
    pub name: String,
    /// Hands-on hours it takes in a batch on average, `once` shared among the planned batches.
    pub hours: f64,
    /// Money an hour more in the long run with a tenth less of all of it; `None` where a trial takes no hours at all.
    pub tenth: Option<Mean>,
}

/// What an input or a lever belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Pace of the whole batch, a factor.
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
    /// What buyers add, money per order.
    Tips,
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
    /// Which pieces are seconds.
    Seconds,
    /// Chance of a second at a step, fraction.
    Second,
    /// Time of a quote, minutes.
    Quote,
    /// Time of an enquiry, minutes.
    Enquiry,
    /// Which quotes and enquiries become orders.
    Won,
    /// Time there on a selling day, minutes.
    There,
    /// Time on the way to a selling day, minutes.
    Travel,
    /// What a selling day costs, money.
    DayCost,
    /// Pieces that a selling day finds buyers for.
    DaySells,
    /// What comes back unsold from a channel on sale or return, fraction of what is left there.
    Unsold,
    /// The helper's wage, money per hour of the helper's.
    Wage,
    /// Where in their shares the ways of selling begin.
    WhereSold,
}

/// One uncertain input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InputAnswer {
    /// For people: `glue pegs: setup`.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// The step or material it belongs to; `None`: the batch or its sale.
    pub of: Option<String>,
    /// Shares of the variance of the trials' rate; `None` where the rate does not vary at all.
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
    /// How much less, in the unit of its kind: a minute (an hour of what takes hours), a percentage point (0.01), a unit of money; all of it where there is
    /// less than that on average.
    pub less: f64,
    /// How much of it there is on average, in the same unit.
    pub has: f64,
    /// Whether that is all of it.
    pub all_of_it: bool,
    /// Money an hour more in the long run, with its paired standard error; `None` where no hours would be left.
    pub gain: Option<Mean>,
    /// The same for a tenth less of it; `None` where a trial takes no hours at all.
    pub tenth: Option<Mean>,
    /// Index into `inputs` of what varies here; `None` where it does not.
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
        let mut trials = engine.answer_sizes(self.settings.trials, &|_| (), |trials| trials);
        let trials = trials.pop().expect("one size is planned");
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        (self.progress)(done as f64 / self.due.max(done) as f64);
        Columns {
            hours: trials.hours,
            profit: trials.profit,
        }
    }
}

/// Everything that is asked of one part of the work.
struct TimeTrials {
    /// Its hours, by trial.
    hours: Vec<f64>,
    /// Hours that a minute in each of its draws makes, by trial.
    a_minute: Vec<f64>,
    /// Its hours in the second sample; empty where it is certain.
    other: Vec<f64>,
}

/// Ends of a swing.
const ENDS: [f64; 2] = [0.1, 0.9];

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
        // A guess that holds for most: three trials an input or part.
        due: 3 * (inputs.len() + parts.len()) + 4,
    };
    let streams: Vec<u64> = inputs.iter().flat_map(|g| g.streams.iter().copied()).collect();
    let bare = plan.without_times();
    let [base, other, paces, other_paces] = samples(&plan, &streams, &simulator);
    let times = time_trials(&plan, &parts, &inputs, &simulator);
    let kept = Kept::of(scenario, size, &bare, |plan| simulator.run(plan).profit);
    let view = View {
        scenario,
        kept: kept.as_ref(),
        plan: &plan,
        bare: &bare,
        simulator: &simulator,
        base: &base,
        paces: &paces.hours,
        other_paces: &other_paces.hours,
        parts: &parts,
        times: &times,
    };
    let by_input = parallel::map(inputs.len(), |k| {
        let group = &inputs[k];
        (
            view.switched(group.input, &group.streams),
            view.swing(group.input, group.streams[0]),
        )
    });
    let (switched, swings): (Vec<Vec<f64>>, Vec<Option<Swing>>) = by_input.into_iter().unzip();
    let rates = |columns: &Columns| rates(&columns.hours, &columns.profit);
    let shares = sobol::shares(&rates(&base), &rates(&other), &switched, settings.seed);
    let kinds: Vec<Input> = inputs.iter().map(|group| group.input).collect();
    let inputs = inputs
        .into_iter()
        .zip(shares.inputs)
        .zip(swings)
        .map(|((group, shares), swing)| view.input(group, shares, swing))
        .collect();
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
        inputs,
        levers: view.levers(&kinds),
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

/// Both samples of everything, then of pace alone.
fn samples(plan: &Plan, streams: &[u64], simulator: &Simulator<'_>) -> [Columns; 4] {
    let plans = [
        plan.clone(),
        plan.salted(streams),
        plan.pace_alone(),
        plan.pace_alone().salted(&[plan.pace.part]),
    ];
    let columns = parallel::map(plans.len(), |k| simulator.run(&plans[k]));
    columns.try_into().expect("four in, four out")
}

/// What each part of the work takes, from simulations of that part alone.
fn time_trials(plan: &Plan, parts: &[TimePart], inputs: &[Group], simulator: &Simulator<'_>) -> Vec<TimeTrials> {
    parallel::map(parts.len(), |k| {
        let time = &parts[k];
        let only = plan.with_time_only(time);
        let certain = time.spread.is_certain();
        let a_minute = simulator
            .run(&only.with_shape(time.stream, |_| Shape::Fixed(time.share)))
            .hours;
        let hours = if certain {
            a_minute.iter().map(|u| u * time.spread.mean()).collect()
        } else {
            simulator.run(&only).hours
        };
        let streams = inputs.iter().find(|g| g.input == time.input).map(|g| &g.streams);
        let other = streams.map_or_else(Vec::new, |streams| simulator.run(&only.salted(streams)).hours);
        TimeTrials { hours, a_minute, other }
    })
}

fn rates(hours: &[f64], profit: &[f64]) -> Vec<f64> {
    profit.iter().zip(hours).map(|(p, h)| per_hour(*p, *h)).collect()
}

/// What all changed trials are made from.
struct View<'a> {
    scenario: &'a Scenario,
    kept: Option<&'a Kept>,
    plan: &'a Plan,
    bare: &'a Plan,
    simulator: &'a Simulator<'a>,
    base: &'a Columns,
    paces: &'a [f64],
    other_paces: &'a [f64],
    parts: &'a [TimePart],
    times: &'a [TimeTrials],
}

impl View<'_> {
    fn input(&self, group: Group, shares: Option<Indices>, swing: Option<Swing>) -> InputAnswer {
        let (kind, of) = self.belongs(group.input);
        InputAnswer {
            name: group.name,
            kind,
            of,
            shares,
            swing,
        }
    }

    fn time(&self, input: Input) -> Option<(&TimePart, &TimeTrials)> {
        let found = self.parts.iter().position(|p| p.input == input)?;
        Some((&self.parts[found], &self.times[found]))
    }

    /// Whether the helper does this part of the work.
    fn is_helped(&self, input: Input) -> bool {
        matches!(input, Input::Setup(i) | Input::Each(i) if self.scenario.steps[i].helped)
    }

    /// The trials with the hours `was` of one part exchanged for others; a helper's cost the wage.
    fn with_part(&self, input: Input, was: &[f64], is: impl Fn(usize) -> f64) -> Columns {
        if !self.is_helped(input) {
            return self.with_hours(self.exchanged(was, is));
        }
        let less: Vec<f64> = was.iter().enumerate().map(|(i, was)| was - is(i)).collect();
        self.with_less_wages(self.base.clone(), &less)
    }

    /// The trials with so many hours less of the helper's.
    fn with_less_wages(&self, mut columns: Columns, less: &[f64]) -> Columns {
        for (profit, less) in columns.profit.iter_mut().zip(less) {
            *profit += self.plan.terms.wage * less;
        }
        columns
    }

    /// Hours of the helper, by trial.
    fn helper_hours(&self) -> Vec<f64> {
        let mut hours = vec![0.0; self.base.hours.len()];
        for (time, trials) in self.parts.iter().zip(self.times) {
            if self.is_helped(time.input) {
                hours.iter_mut().zip(&trials.hours).for_each(|(sum, own)| *sum += own);
            }
        }
        hours
    }

    /// The trials with other hours; the shop's hours cost what they cost.
    fn with_hours(&self, hours: Vec<f64>) -> Columns {
        let per_hour = self.plan.terms.shop_per_hour;
        let both = self.base.hours.iter().zip(&hours);
        let profit = self.base.profit.iter().zip(both);
        Columns {
            profit: profit.map(|(p, (was, is))| p + per_hour * (was - is)).collect(),
            hours,
        }
    }

    /// The trials where what is kept is worth what it costs with `change`.
    fn revalued(&self, mut columns: Columns, change: impl FnOnce(&mut Scenario)) -> Columns {
        if let Some(kept) = self.kept {
            let mut then = self.scenario.clone();
            change(&mut then);
            kept.revalue(&mut columns.profit, &then);
        }
        columns
    }

    /// The trials, with other hours of an input, whose estimate is then so long on average.
    fn with_time(&self, columns: Columns, input: Input, mean: f64) -> Columns {
        self.revalued(columns, |then| match (input, &mut then.seconds) {
            (Input::Each(i), _) => then.steps[i].each = Spread::Certain(mean),
            // An order of seconds takes off what they bring.
            (Input::PerOrder(i), _) => then.steps[i].per_order = Spread::Certain(mean),
            (Input::SecondOrder, Some(seconds)) => seconds.per_order = Some(Spread::Certain(mean)),
            _ => {}
        })
    }

    /// The trials with other money: of a plan without times, whose shop has cost nothing yet.
    fn with_money(&self, plan: &Plan) -> Columns {
        let per_hour = self.plan.terms.shop_per_hour;
        let money = self.simulator.run(plan).profit;
        let both = money.iter().zip(&self.base.hours);
        Columns {
            profit: both
                .zip(self.helper_hours())
                .map(|((p, h), helped)| p - per_hour * h - self.plan.terms.wage * helped)
                .collect(),
            hours: self.base.hours.clone(),
        }
    }

    /// The trials at another pace, which lengthens no selling day.
    fn at_pace(&self, to: impl Fn(usize) -> f64) -> Columns {
        let mut days = vec![0.0; self.base.hours.len()];
        for (time, trials) in self.parts.iter().zip(self.times) {
            if matches!(time.input, Input::There(_) | Input::Travel(_)) {
                days.iter_mut().zip(&trials.hours).for_each(|(sum, own)| *sum += own);
            }
        }
        let by = self.base.hours.iter().zip(self.paces).zip(days).enumerate();
        let hours = by.map(|(i, ((h, pace), day))| (h - day) / pace * to(i) + day).collect();
        let helped = self.helper_hours();
        let by = helped.iter().zip(self.paces).enumerate();
        let less: Vec<f64> = by.map(|(i, (h, pace))| h - h / pace * to(i)).collect();
        self.with_less_wages(self.with_hours(hours), &less)
    }

    /// The hours with those of one part exchanged for others.
    fn exchanged(&self, part: &[f64], by: impl Fn(usize) -> f64) -> Vec<f64> {
        let both = self.base.hours.iter().zip(part).enumerate();
        both.map(|(i, (h, own))| h - own + by(i)).collect()
    }

    /// The rate by trial with one input from the second sample.
    fn switched(&self, input: Input, streams: &[u64]) -> Vec<f64> {
        let columns = match input {
            Input::Pace => self.at_pace(|i| self.other_paces[i]),
            // Its setups go along.
            Input::Each(i) if self.plan.steps[i].opposite.is_some() => self.simulator.run(&self.plan.salted(streams)),
            Input::Once(_)
            | Input::Setup(_)
            | Input::Each(_)
            | Input::PerOrder(_)
            | Input::ChannelOrder(_)
            | Input::SecondOrder
            | Input::Quote(_)
            | Input::Enquiry(_)
            | Input::There(_)
            | Input::Travel(_) => match self.time(input) {
                Some((_, trials)) => self.with_part(input, &trials.hours, |i| trials.other[i]),
                None => self.base.clone(),
            },
            Input::Price(_)
            | Input::Waste(_)
            | Input::Postage
            | Input::Tips
            | Input::Exchange(_)
            | Input::DayCost(_) => self.with_money(&self.bare.salted(streams)),
            Input::Chance(_)
            | Input::OrderSize
            | Input::Returns
            | Input::Buyers
            | Input::Seconds
            | Input::Won(_)
            | Input::Unsold(_)
            | Input::WhereSold
            | Input::DaySells(_) => self.simulator.run(&self.plan.salted(streams)),
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
                Input::Pace => self.revalued(self.at_pace(|_| value), |then| then.pace = Spread::Certain(value)),
                Input::Price(_)
                | Input::Waste(_)
                | Input::Postage
                | Input::Tips
                | Input::Exchange(_)
                | Input::DayCost(_) => self.revalued(self.with_money(&at(self.bare)), |then| match input {
                    Input::Price(i) => prices(&mut then.materials[i], &|price| Spread::Certain(price.quantile(q))),
                    Input::Waste(i) => then.materials[i].waste = Spread::Certain(value),
                    Input::Exchange(i) => then.currencies[i].rate = Spread::Certain(value),
                    Input::Postage => {
                        if let Some(seconds) = &mut then.seconds {
                            seconds.sale.post = Spread::Certain(seconds.sale.post.quantile(q));
                        }
                    }
                    Input::Tips => {
                        if let Some(seconds) = &mut then.seconds {
                            seconds.sale.tip = Spread::Certain(seconds.sale.tip.quantile(q));
                        }
                    }
                    _ => {}
                }),
                Input::OrderSize | Input::Buyers | Input::DaySells(_) | Input::Unsold(_) => {
                    self.simulator.run(&at(self.plan))
                }
                _ => match self.time(input) {
                    Some((_, trials)) => self.with_time(
                        self.with_part(input, &trials.hours, |i| trials.a_minute[i] * value),
                        input,
                        value,
                    ),
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
            Input::Once(_)
            | Input::Setup(_)
            | Input::Each(_)
            | Input::PerOrder(_)
            | Input::ChannelOrder(_)
            | Input::SecondOrder
            | Input::Quote(_)
            | Input::Enquiry(_)
            | Input::There(_)
            | Input::Travel(_) => Shape::new(&self.time(input)?.0.spread),
            Input::Price(i) => self.plan.materials[i].price.shape.clone(),
            Input::Waste(i) => self.plan.materials[i].waste.shape.clone(),
            Input::Exchange(i) => self.plan.rates[i].shape.clone(),
            // Where channels differ, the first that varies speaks for all; each is set at its own point.
            Input::Postage => varying(self.plan.sales().map(|c| &c.post.shape))?,
            Input::Tips => varying(self.plan.sales().map(|c| &c.tip.shape))?,
            Input::OrderSize => varying(self.plan.sales().map(|c| &c.order_of.shape))?,
            Input::Buyers => self.plan.demand.as_ref()?.range()?,
            Input::DaySells(i) => self.plan.days[i].sells.range()?,
            Input::DayCost(i) => self.plan.days[i].cost.shape.clone(),
            Input::Unsold(i) => varying(self.plan.channels[i].on_return.iter().map(|r| &r.unsold.shape))?,
            Input::Chance(_) | Input::Returns | Input::Seconds | Input::Won(_) | Input::WhereSold => return None,
        })
    }

    /// The name of a way of selling, where it has one.
    fn way(&self, way: usize) -> Option<String> {
        self.scenario.channels.get(way).map(|channel| channel.name.clone())
    }

    /// Kind of an input, and whose it is.
    fn belongs(&self, input: Input) -> (Kind, Option<String>) {
        let step = |i: usize| Some(self.scenario.steps[i].name.clone());
        let material = |i: usize| Some(self.scenario.materials[i].name.clone());
        let day = |i: usize| Some(self.scenario.selling_days[i].name.clone());
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
            Input::Tips => (Kind::Tips, None),
            Input::OrderSize => (Kind::OrderSize, None),
            Input::Returns => (Kind::Returns, None),
            Input::ChannelOrder(i) => (Kind::PerOrder, Some(self.scenario.channels[i].name.clone())),
            Input::Exchange(i) => (Kind::Exchange, Some(self.scenario.currencies[i].code.clone())),
            Input::Buyers => (Kind::Buyers, None),
            Input::Seconds => (Kind::Seconds, None),
            Input::SecondOrder => (Kind::PerOrder, Some(SECONDS.to_owned())),
            Input::Quote(way) => (Kind::Quote, self.way(way)),
            Input::Enquiry(way) => (Kind::Enquiry, self.way(way)),
            Input::Won(way) => (Kind::Won, self.way(way)),
            Input::There(i) => (Kind::There, day(i)),
            Input::Travel(i) => (Kind::Travel, day(i)),
            Input::DayCost(i) => (Kind::DayCost, day(i)),
            Input::DaySells(i) => (Kind::DaySells, day(i)),
            Input::Unsold(i) => (Kind::Unsold, self.way(i)),
            Input::WhereSold => (Kind::WhereSold, None),
        }
    }
}

/// Exchanges a material's price, at every break.
fn prices(material: &mut Material, change: &dyn Fn(&Spread) -> Spread) {
    material.price = change(&material.price);
    for tier in &mut material.breaks {
        tier.price = change(&tier.price);
    }
}

/// The first of these shapes that leaves something to chance.
fn varying<'s>(mut shapes: impl Iterator<Item = &'s Shape>) -> Option<Shape> {
    shapes.find(|shape| !shape.is_fixed()).cloned()
}

/// What their orders are called where a step or a channel has a name.
const SECONDS: &str = "orders of seconds";

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
        Kind::Tips => "tips",
        Kind::OrderSize => "pieces in an order",
        Kind::Returns => "returns",
        Kind::Fee => "fee",
        Kind::FeePerOrder => "fee per order",
        Kind::Exchange => "worth",
        Kind::Buyers => "buyers",
        Kind::Seconds | Kind::Second => "seconds",
        Kind::Quote => "quotes",
        Kind::Enquiry => "enquiries",
        Kind::Won => "orders won",
        Kind::There => "time there",
        Kind::Travel => "time on the way",
        Kind::DayCost => "cost",
        Kind::DaySells => "sells",
        Kind::Unsold => "unsold",
        Kind::Wage => "helper's wage",
        Kind::WhereSold => "where pieces are sold",
    };
    of.map_or_else(|| what.to_owned(), |of| format!("{of}: {what}"))
}

/// How much more the long run earns an hour, with the paired error by the delta method; `None` where no hours are left.
fn gain(before: &Columns, after: &Columns) -> Option<Mean> {
    let sum = |values: &[f64]| stats::sum_of(values, values, |v, _| v);
    let (hours_before, hours_after) = (sum(&before.hours), sum(&after.hours));
    if hours_before <= 0.0 || hours_after <= 1e-9 * hours_before {
        return None;
    }
    Some(stats::ratio_difference(
        (&after.profit, &after.hours),
        (&before.profit, &before.hours),
    ))
}

#[cfg(test)]
mod tests;
