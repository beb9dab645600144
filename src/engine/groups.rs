//! The plan's random streams by what they stand for: which belong together, a second sample of some of them, and plans that
//! keep one part of the work only.
//!
//! A stream is named by its part, so an independent second sample of a group of streams is the same plan with other names for
//! them. To make another input a group of its own: a word in [`Input`], a line in [`groups`], and its streams in
//! `Plan::streams_mut`.

use super::plan::{Plan, PlanChannel, PlanDemand, Source};
use super::shape::Shape;
use super::stream::{Use, part};
use crate::model::{counts, demand};
use crate::scenario::{Channel, Material, Sale, Scenario, Spread, Step, Tries};

/// Turns a stream's name into that of an independent stream (any odd constant will do; these are digits of pi).
pub const SALT: u64 = 0x3141_5926_5358_9793;

/// An uncertain input; steps and materials by their place in the scenario.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Input {
    /// The trial's pace.
    Pace,
    /// Time once for the design, of a step.
    Once(usize),
    /// Time per round of a step.
    Setup(usize),
    /// Time per piece of a step.
    Each(usize),
    /// Time per order of a step.
    PerOrder(usize),
    /// Which pieces a step spoils or asks to do again, and how long that takes.
    Chance(usize),
    /// Price of a material, at all its breaks.
    Price(usize),
    /// Waste of a material.
    Waste(usize),
    /// Postage.
    Postage,
    /// What buyers add to an order.
    Tips,
    /// Pieces in an order.
    OrderSize,
    /// Which orders come back.
    Returns,
    /// Time per order of a channel that says its own.
    ChannelOrder(usize),
    /// What another currency is worth.
    Exchange(usize),
    /// Pieces asked for in a season.
    Buyers,
    /// Which pieces are seconds.
    Seconds,
    /// Time per order of seconds that say their own.
    SecondOrder,
    /// Time of a quote of a way of selling.
    Quote(usize),
    /// Time of an enquiry of a way of selling.
    Enquiry(usize),
    /// Which quotes and enquiries of a way of selling become orders.
    Won(usize),
    /// Time there on a selling day.
    There(usize),
    /// Time on the way to a selling day.
    Travel(usize),
    /// What a selling day costs.
    DayCost(usize),
    /// Pieces that a selling day finds buyers for.
    DaySells(usize),
    /// Which pieces come back from a channel that has them on sale or return.
    Unsold(usize),
    /// Where in their shares the ways of selling begin.
    WhereSold,
}

/// Each way of selling with the name that its own streams have: the channels, or the one way of `[sale]`.
pub fn ways(scenario: &Scenario) -> impl Iterator<Item = (usize, &str, &Sale)> {
    let name = |way: usize| scenario.channels.get(way).map_or("", |channel| channel.name.as_str());
    scenario
        .sales()
        .into_iter()
        .enumerate()
        .map(move |(way, sale)| (way, name(way), sale))
}

/// What is asked before an order, of a way of selling of this name.
#[must_use]
pub(crate) fn asked_through(what: &str, name: &str) -> String {
    if name.is_empty() {
        what.to_owned()
    } else {
        format!("{name}: {what}")
    }
}

/// Which of quotes and enquiries take time before these sales have an order, in words; `None` where none of those that `count` do.
#[must_use]
pub(crate) fn asked_first(sales: &[&Sale], count: fn(&Tries) -> bool) -> Option<&'static str> {
    let any = |k: usize| {
        sales
            .iter()
            .map(|sale| sale.tries()[k])
            .any(|tries| !tries.minutes.is_zero() && count(tries))
    };
    match (any(0), any(1)) {
        (true, true) => Some("quotes and enquiries"),
        (true, false) => Some("quotes"),
        (false, true) => Some("enquiries"),
        (false, false) => None,
    }
}

/// An input with its streams.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// What it is.
    pub input: Input,
    /// For people: `glue pegs: setup`.
    pub name: String,
    /// Its streams; the first is the one its range is drawn from.
    pub streams: Vec<u64>,
}

/// What a part of the work is: an input that takes hands-on time, certain or not.
#[derive(Debug, Clone, PartialEq)]
pub struct TimePart {
    /// Which.
    pub input: Input,
    /// Its range as the file has it, minutes.
    pub spread: Spread,
    /// The share of it that this design bears.
    pub share: f64,
    /// The stream it is drawn from.
    pub stream: u64,
}

/// An input whose streams carry the name `of`; `None` where nothing of it is left to chance.
fn group(varies: bool, input: Input, name: String, of: &str, uses: &[Use]) -> Option<Group> {
    let streams = || uses.iter().map(|purpose| part(*purpose, of)).collect();
    varies.then(|| Group {
        input,
        name,
        streams: streams(),
    })
}

/// A range as an input: `glue pegs: setup`.
fn range(spread: &Spread, input: Input, of: &str, what: &str, uses: &[Use]) -> Option<Group> {
    group(!spread.is_certain(), input, format!("{of}: {what}"), of, uses)
}

/// The inputs of a scenario that leave something to chance, in its own order.
#[must_use]
pub fn groups(scenario: &Scenario) -> Vec<Group> {
    let pace = !scenario.pace.is_certain();
    let mut all = vec![group(pace, Input::Pace, "pace".to_owned(), "", &[Use::Pace])];
    for (i, step) in scenario.steps.iter().enumerate() {
        all.extend(of_step(i, step));
    }
    for (i, material) in scenario.materials.iter().enumerate() {
        all.extend(of_material(i, material));
    }
    for (i, channel) in scenario.channels.iter().enumerate() {
        let (own, input) = (channel.per_order.as_ref(), Input::ChannelOrder(i));
        all.extend(own.map(|own| range(own, input, &channel.name, "per order", &[Use::ChannelTime])));
    }
    all.extend(of_every_sale(scenario));
    for (way, name, sale) in ways(scenario) {
        all.extend(of_way(way, name, sale));
    }
    for (i, on_return) in scenario.on_return() {
        let n = scenario.channels[i].name.as_str();
        let (varies, uses) = (!on_return.unsold.is_zero(), [Use::Unsold, Use::ComesBack]);
        all.push(group(varies, Input::Unsold(i), format!("{n}: unsold"), n, &uses));
    }
    all.push(of_shares(scenario));
    for (i, day) in scenario.selling_days.iter().enumerate() {
        let of = |spread, input, what, purpose| range(spread, input, &day.name, what, &[purpose]);
        all.extend([
            of(&day.there, Input::There(i), "time there", Use::DayThere),
            of(&day.travel, Input::Travel(i), "time on the way", Use::DayTravel),
            of(&day.cost, Input::DayCost(i), "cost", Use::DayCost),
        ]);
        let varies = demand::certain_of(&day.sells, scenario.buyers_at_price()).is_none();
        let name = format!("{}: sells", day.name);
        all.push(group(varies, Input::DaySells(i), name, &day.name, &[Use::DaySells]));
    }
    for (i, currency) in scenario.currencies.iter().enumerate() {
        let (rate, code) = (&currency.rate, &currency.code);
        all.push(range(rate, Input::Exchange(i), code, "worth", &[Use::Exchange]));
    }
    let price = scenario.sale.price;
    let asked_for = (scenario.season.as_ref()).is_some_and(|season| demand::certain(season, price).is_none());
    all.push(group(asked_for, Input::Buyers, "buyers".to_owned(), "", &[Use::Buyers]));
    all.into_iter().flatten().collect()
}

fn of_step(i: usize, step: &Step) -> [Option<Group>; 5] {
    let n = step.name.as_str();
    let (redoes, spoils) = (step.redo > 0.0 && !step.each.is_zero(), step.spoil > 0.0);
    let chance = match (spoils, redoes) {
        (true, true) => "spoil and redo",
        (_, true) => "redo",
        _ => "spoil",
    };
    let fates = [Use::Fate, Use::Redo, Use::RemakeFate, Use::RemakeRedo];
    [
        range(&step.once, Input::Once(i), n, "once", &[Use::Once]),
        range(
            &step.setup,
            Input::Setup(i),
            n,
            "setup",
            &[Use::Setup, Use::RemakeSetup, Use::Opposite],
        ),
        range(&step.each, Input::Each(i), n, "each", &[Use::Each, Use::RemakeEach]),
        range(&step.per_order, Input::PerOrder(i), n, "per order", &[Use::OrderTime]),
        group(redoes || spoils, Input::Chance(i), format!("{n}: {chance}"), n, &fates),
    ]
}

fn of_material(i: usize, material: &Material) -> [Option<Group>; 2] {
    if !material.is_used() {
        return [None, None];
    }
    let n = material.name.as_str();
    let mut prices = std::iter::once(&material.price).chain(material.breaks.iter().map(|b| &b.price));
    let dearer = prices.any(|price| !price.is_certain());
    [
        group(dearer, Input::Price(i), format!("{n}: price"), n, &[Use::Price]),
        range(&material.waste, Input::Waste(i), n, "waste", &[Use::Waste]),
    ]
}

/// What all ways of selling share, and seconds with them.
fn of_every_sale(scenario: &Scenario) -> [Option<Group>; 6] {
    let of_seconds = scenario.seconds.as_ref();
    let own = of_seconds.and_then(|seconds| seconds.per_order.as_ref());
    let sales = scenario
        .sales()
        .into_iter()
        .chain(of_seconds.map(|seconds| &seconds.sale));
    let sales: Vec<&Sale> = sales.collect();
    let one = |varies, input, name: &str, purpose| group(varies, input, name.to_owned(), "", &[purpose]);
    let any = |varies: fn(&Sale) -> bool| sales.iter().any(|sale| varies(sale));
    let [post, tip] = [any(|sale| !sale.post.is_certain()), any(|sale| !sale.tip.is_certain())];
    let [size, back] = [any(|sale| !sale.order_of.is_certain()), any(|sale| sale.returned > 0.0)];
    [
        one(scenario.second_chance() > 0.0, Input::Seconds, "seconds", Use::Second),
        own.and_then(|own| {
            one(
                !own.is_certain(),
                Input::SecondOrder,
                "seconds: per order",
                Use::SecondTime,
            )
        }),
        one(post, Input::Postage, "postage", Use::Post),
        one(tip, Input::Tips, "tips", Use::Tip),
        one(size, Input::OrderSize, "pieces in an order", Use::OrderSize),
        one(back, Input::Returns, "returns", Use::Returned),
    ]
}

/// Which way of selling each piece goes.
fn of_shares(scenario: &Scenario) -> Option<Group> {
    let begins = |channel: &Channel| part(Use::Begins, &channel.name);
    (!counts::shared_out_alike(scenario, &scenario.batch.sizes)).then(|| Group {
        input: Input::WhereSold,
        name: "where pieces are sold".to_owned(),
        streams: scenario.channels.iter().map(begins).collect(),
    })
}

/// What is asked before an order.
fn of_way(way: usize, n: &str, sale: &Sale) -> [Option<Group>; 3] {
    let [quote, enquiry] = sale.tries();
    let lost = |tries: &Tries| tries.won < 1.0 && !tries.minutes.is_zero();
    let of = |varies, input, what, uses: &[Use]| group(varies, input, asked_through(what, n), n, uses);
    let [quoted, enquired] = [quote, enquiry].map(|tries| !tries.minutes.is_certain());
    [
        of(quoted, Input::Quote(way), "quotes", &[Use::Quote]),
        of(enquired, Input::Enquiry(way), "enquiries", &[Use::Enquiry]),
        of(
            lost(quote) || lost(enquiry),
            Input::Won(way),
            "orders won",
            &[Use::QuoteWon, Use::EnquiryBought],
        ),
    ]
}

/// The parts of the work that take time, in the scenario's order.
#[must_use]
pub fn time_parts(scenario: &Scenario) -> Vec<TimePart> {
    let mut out = Vec::new();
    for (i, step) in scenario.steps.iter().enumerate() {
        let parts = [
            (Input::Once(i), &step.once, Use::Once),
            (Input::Setup(i), &step.setup, Use::Setup),
            (Input::Each(i), &step.each, Use::Each),
            (Input::PerOrder(i), &step.per_order, Use::OrderTime),
        ];
        out.extend(
            parts
                .into_iter()
                .filter(|(_, spread, _)| !spread.is_zero())
                .map(|(input, spread, purpose)| TimePart {
                    input,
                    spread: spread.clone(),
                    share: if matches!(input, Input::Setup(_)) {
                        1.0 - step.others
                    } else {
                        1.0
                    },
                    stream: part(purpose, &step.name),
                }),
        );
    }
    for (i, channel) in scenario.channels.iter().enumerate() {
        if let Some(own) = channel.per_order.as_ref().filter(|own| !own.is_zero()) {
            out.push(TimePart {
                input: Input::ChannelOrder(i),
                spread: own.clone(),
                share: 1.0,
                stream: part(Use::ChannelTime, &channel.name),
            });
        }
    }
    for (way, name, sale) in ways(scenario) {
        let [quote, enquiry] = sale.tries();
        for (input, tries, purpose) in [
            (Input::Quote(way), quote, Use::Quote),
            (Input::Enquiry(way), enquiry, Use::Enquiry),
        ] {
            if !tries.minutes.is_zero() {
                out.push(TimePart {
                    input,
                    spread: tries.minutes.clone(),
                    share: 1.0,
                    stream: part(purpose, name),
                });
            }
        }
    }
    for (i, day) in scenario.selling_days.iter().enumerate() {
        for (spread, input, purpose) in [
            (&day.there, Input::There(i), Use::DayThere),
            (&day.travel, Input::Travel(i), Use::DayTravel),
        ] {
            if !spread.is_zero() {
                out.push(TimePart {
                    input,
                    spread: spread.clone(),
                    share: 1.0,
                    stream: part(purpose, &day.name),
                });
            }
        }
    }
    let seconds = scenario.seconds.as_ref().and_then(|seconds| seconds.per_order.as_ref());
    out.extend(seconds.filter(|own| !own.is_zero()).map(|own| TimePart {
        input: Input::SecondOrder,
        spread: own.clone(),
        share: 1.0,
        stream: part(Use::SecondTime, ""),
    }));
    out
}

impl Plan {
    /// The names of all streams.
    fn streams_mut(&mut self) -> Vec<&mut u64> {
        let mut all = vec![&mut self.pace.part, &mut self.returned_part];
        all.extend(self.once.iter_mut().map(|s| &mut s.part));
        let mut ways: Vec<&mut PlanChannel> = self.channels.iter_mut().collect();
        if let Some(seconds) = &mut self.seconds {
            all.push(&mut seconds.part);
            ways.extend(&mut seconds.sale);
        }
        for channel in ways {
            all.extend([
                &mut channel.order_of.part,
                &mut channel.post.part,
                &mut channel.tip.part,
                &mut channel.begins_part,
            ]);
            all.extend(channel.order_times.iter_mut().map(|s| &mut s.part));
            if let Some(on_return) = &mut channel.on_return {
                all.extend([&mut on_return.unsold.part, &mut on_return.part]);
            }
            all.extend(channel.tries.iter_mut().flat_map(|t| [&mut t.time.part, &mut t.part]));
        }
        all.extend(self.rates.iter_mut().map(|s| &mut s.part));
        all.extend(self.demand.iter_mut().map(|demand| &mut demand.part));
        for day in &mut self.days {
            all.extend([&mut day.sells.part, &mut day.cost.part]);
            all.extend(day.times.iter_mut().map(|s| &mut s.part));
        }
        for step in &mut self.steps {
            all.extend([
                &mut step.setup.part,
                &mut step.each.part,
                &mut step.fate_part,
                &mut step.redo_part,
            ]);
            all.extend(&mut step.remake_parts);
            all.extend(step.opposite.iter_mut().flat_map(|o| [&mut o.part, &mut o.each.part]));
        }
        for material in &mut self.materials {
            all.extend([&mut material.price.part, &mut material.waste.part]);
        }
        all
    }

    /// The same plan with an independent second sample of these streams.
    #[must_use]
    pub(crate) fn salted(&self, streams: &[u64]) -> Self {
        let mut plan = self.clone();
        for stream in plan.streams_mut() {
            if streams.contains(stream) {
                *stream ^= SALT;
            }
        }
        plan
    }

    /// The same plan with every range that is drawn from `stream` changed.
    #[must_use]
    pub(crate) fn with_shape(&self, stream: u64, change: impl Fn(&Shape) -> Shape) -> Self {
        let mut plan = self.clone();
        let mut sources = vec![&mut plan.pace];
        let of_seconds = plan.seconds.as_mut().and_then(|seconds| seconds.sale.as_mut());
        for channel in plan.channels.iter_mut().chain(of_seconds) {
            sources.extend([&mut channel.order_of, &mut channel.post, &mut channel.tip]);
            sources.extend(&mut channel.order_times);
            sources.extend(channel.on_return.iter_mut().map(|on_return| &mut on_return.unsold));
            sources.extend(channel.tries.iter_mut().map(|tries| &mut tries.time));
        }
        sources.extend(&mut plan.rates);
        let mut asked: Vec<&mut PlanDemand> = plan.demand.iter_mut().collect();
        for day in &mut plan.days {
            sources.push(&mut day.cost);
            sources.extend(&mut day.times);
            asked.push(&mut day.sells);
        }
        for demand in asked.into_iter().filter(|demand| demand.part == stream) {
            if let Ok(shape) = &mut demand.counts {
                *shape = change(shape);
            }
        }
        let steps = plan.steps.iter_mut().flat_map(|s| [&mut s.setup, &mut s.each]);
        for source in sources.into_iter().chain(steps).chain(&mut plan.once) {
            if source.part == stream {
                source.shape = change(&source.shape);
            }
        }
        for material in &mut plan.materials {
            if material.price.part == stream {
                material.price.shape = change(&material.price.shape);
                for (_, shape) in &mut material.breaks {
                    *shape = change(shape);
                }
            }
            if material.waste.part == stream {
                material.waste.shape = change(&material.waste.shape);
            }
        }
        plan
    }

    /// The same trials with no hands-on time in them: pieces, orders and money as they were, but for the shop's hours.
    #[must_use]
    pub(crate) fn without_times(&self) -> Self {
        let mut plan = self.clone();
        plan.once.clear();
        for day in &mut plan.days {
            day.times.clear();
        }
        for channel in plan.sales_mut() {
            channel.order_times.clear();
            channel.tries.clear();
        }
        plan.redoes = false;
        for step in &mut plan.steps {
            step.setup.shape = Shape::Fixed(0.0);
            step.each.shape = Shape::Fixed(0.0);
            step.has_each = false;
            // Whoever's it is, the time of one part alone is told as hours.
            step.helped = false;
            // What nobody does takes no time the second time either; spoil has the other half of the same bits.
            step.redo = 0.0;
            step.redo_bound = 0.0;
        }
        plan
    }

    /// The same trials with one part of the work only; its redos belong to it.
    #[must_use]
    pub(crate) fn with_time_only(&self, time: &TimePart) -> Self {
        let mut plan = self.without_times();
        let drawn_here =
            |sources: &[Source]| -> Vec<Source> { sources.iter().filter(|s| s.part == time.stream).cloned().collect() };
        match time.input {
            Input::Once(_) => plan.once = drawn_here(&self.once),
            Input::PerOrder(_) | Input::ChannelOrder(_) | Input::SecondOrder => {
                for (channel, whole) in plan.sales_mut().zip(self.sales()) {
                    channel.order_times = drawn_here(&whole.order_times);
                }
            }
            Input::Quote(_) | Input::Enquiry(_) => {
                for (channel, whole) in plan.sales_mut().zip(self.sales()) {
                    let own = whole.tries.iter().filter(|tries| tries.time.part == time.stream);
                    channel.tries = own.cloned().collect();
                }
            }
            Input::There(i) | Input::Travel(i) => plan.days[i].times = drawn_here(&self.days[i].times),
            Input::Setup(i) => plan.steps[i].setup = self.steps[i].setup.clone(),
            Input::Each(i) => {
                let (step, whole) = (&mut plan.steps[i], &self.steps[i]);
                step.each = whole.each.clone();
                step.has_each = whole.has_each;
                step.redo = whole.redo;
                step.redo_bound = whole.redo_bound;
                plan.redoes = whole.redo > 0.0;
            }
            _ => {}
        }
        plan
    }

    /// Trials whose hours are their pace: one hour of work each, once.
    #[must_use]
    pub(crate) fn pace_alone(&self) -> Self {
        let mut plan = self.without_times();
        plan.once = vec![Source {
            shape: Shape::Fixed(60.0 * self.runs),
            part: 0,
        }];
        plan
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::{Engine, SizeTrials};
    use crate::scenario::{Learning, Spoiled, Varies};
    use crate::testing::{material, scenario, step, tri};

    /// Something of everything.
    fn everything() -> Scenario {
        let mut made = scenario(
            60.0,
            30.0,
            &[7],
            vec![
                Step {
                    once: tri(20.0, 40.0, 90.0),
                    setup: tri(5.0, 8.0, 20.0),
                    each: tri(3.0, 4.0, 9.0),
                    redo: 0.2,
                    spoil: 0.1,
                    ..step("cut")
                },
                Step {
                    setup: Spread::uniform(2.0, 6.0),
                    each: Spread::lognormal_from_tenths(3.0, 9.0),
                    room: Some(3),
                    redo: 0.1,
                    learning: Some(Learning {
                        rate: 0.9,
                        made_before: 1,
                        learned_by: Some(20),
                    }),
                    ..step("glue")
                },
                Step {
                    each: tri(1.0, 2.0, 5.0),
                    varies: Varies::Batch,
                    spoil: 0.05,
                    ..step("oil")
                },
                Step {
                    per_order: tri(4.0, 6.0, 15.0),
                    ..step("pack")
                },
            ],
        );
        made.pace = tri(0.9, 1.0, 1.4);
        made.shop.per_hour = 3.0;
        made.sale.order_of = Spread::uniform(1.0, 3.0);
        made.sale.post = tri(4.0, 5.0, 9.0);
        made.sale.tip = tri(0.0, 1.0, 4.0);
        made.sale.returned = 0.1;
        let mut stock = material("oak", 6.0);
        (stock.per_piece, stock.price, stock.waste) = (1.5, tri(5.0, 6.0, 9.0), tri(0.1, 0.2, 0.4));
        made.materials = vec![stock];
        made
    }

    fn run(plan: &Plan) -> SizeTrials {
        let mut trials = Engine::new(plan, 3).answer_sizes(512, &|_| (), |trials| trials);
        trials.pop().unwrap()
    }

    /// Parts add up to the whole, trial by trial, whether pieces are lost or made again; money hangs on nothing but its hours.
    #[test]
    fn parts_of_the_work_add_up() {
        for spoiled in [Spoiled::Short, Spoiled::Remake] {
            let mut made = everything();
            made.batch.spoiled = spoiled;
            let plan = Plan::new(&made);
            let whole = run(&plan);
            let bare = run(&plan.without_times());
            let parts: Vec<SizeTrials> = time_parts(&made)
                .iter()
                .map(|time| run(&plan.with_time_only(time)))
                .collect();
            assert_eq!(parts.len(), 7);
            for i in 0..512 {
                let sum: f64 = parts.iter().map(|p| p.hours[i]).sum();
                assert!((sum - whole.hours[i]).abs() <= 1e-12 * sum, "{spoiled:?} {i}");
                let profit = bare.profit[i] - 3.0 * whole.hours[i];
                assert!((profit - whole.profit[i]).abs() <= 1e-10, "{spoiled:?} {i}");
                assert_eq!(bare.hours[i], 0.0);
            }
        }
    }

    /// Salting all groups leaves no draw as it was; salting one leaves what others decide.
    #[test]
    fn salt_changes_what_it_should_and_nothing_else() {
        let made = everything();
        let plan = Plan::new(&made);
        let all = groups(&made);
        assert_eq!(all.len(), 17, "{all:?}");
        let whole = run(&plan);
        let streams: Vec<u64> = all.iter().flat_map(|g| g.streams.clone()).collect();
        let other = run(&plan.salted(&streams));
        assert!((0..512).all(|i| whole.hours[i] != other.hours[i]));
        for group in &all {
            let one = run(&plan.salted(&group.streams));
            let same_hours = (0..512).all(|i| whole.hours[i] == one.hours[i]);
            let same_money = (0..512).all(|i| whole.profit[i] == one.profit[i]);
            let money_only = matches!(
                group.input,
                Input::Price(_) | Input::Waste(_) | Input::Postage | Input::Tips | Input::Returns
            );
            assert_eq!(same_hours, money_only, "{}", group.name);
            assert!(!same_money, "{}", group.name);
        }
        // Twice salted is not salted.
        let back = plan.salted(&streams);
        let salted: Vec<u64> = streams.iter().map(|s| s ^ SALT).collect();
        assert_eq!(run(&back.salted(&salted)).profit, whole.profit);
    }

    #[test]
    fn the_pace_is_drawn_as_it_was() {
        let made = everything();
        let plan = Plan::new(&made);
        let paces = run(&plan.pace_alone()).hours;
        let mut level = made.clone();
        level.pace = Spread::Certain(1.0);
        let at_one = run(&Plan::new(&level)).hours;
        let whole = run(&plan).hours;
        for i in 0..512 {
            assert!((at_one[i] * paces[i] - whole[i]).abs() <= 1e-12 * whole[i]);
        }
    }

    #[test]
    fn a_certain_scenario_has_no_groups() {
        assert_eq!(groups(&crate::testing::pencil_trays()), []);
        assert_eq!(time_parts(&crate::testing::pencil_trays()).len(), 7);
    }
}
