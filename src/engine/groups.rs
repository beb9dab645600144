//! The plan's random streams by what they stand for: which belong together, a second sample of some of them, and plans that
//! keep one part of the work only.
//!
//! A stream is named by its part, so an independent second sample of a group of streams is the same plan with other names for
//! them. To make another input a group of its own: a word in [`Input`], a line in [`groups`], and its streams in
//! `Plan::streams_mut`.

use super::plan::{Plan, PlanChannel, PlanDemand, Source};
use super::shape::Shape;
use super::stream::{Use, part};
use crate::scenario::{Buyers, Sale, Scenario, Spread};

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
pub fn asked_through(what: &str, name: &str) -> String {
    if name.is_empty() {
        what.to_owned()
    } else {
        format!("{what} for {name}")
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

/// The inputs of a scenario that leave something to chance, in its own order.
#[must_use]
pub fn groups(scenario: &Scenario) -> Vec<Group> {
    let mut out = Vec::new();
    let mut add = |varies: bool, input: Input, name: String, streams: &[(Use, &str)]| {
        if varies {
            let streams = streams.iter().map(|(purpose, of)| part(*purpose, of)).collect();
            out.push(Group { input, name, streams });
        }
    };
    add(
        !scenario.pace.is_certain(),
        Input::Pace,
        "pace".to_owned(),
        &[(Use::Pace, "")],
    );
    for (i, step) in scenario.steps.iter().enumerate() {
        let n = step.name.as_str();
        let named = |what: &str| format!("{n}: {what}");
        let varies = |spread: &Spread| !spread.is_certain();
        let (redoes, spoils) = (step.redo > 0.0 && !step.each.is_zero(), step.spoil > 0.0);
        let chance = match (spoils, redoes) {
            (true, true) => "spoil and redo",
            (_, true) => "redo",
            _ => "spoil",
        };
        add(varies(&step.once), Input::Once(i), named("once"), &[(Use::Once, n)]);
        add(
            varies(&step.setup),
            Input::Setup(i),
            named("setup"),
            &[(Use::Setup, n), (Use::RemakeSetup, n)],
        );
        add(
            varies(&step.each),
            Input::Each(i),
            named("each"),
            &[(Use::Each, n), (Use::RemakeEach, n)],
        );
        add(
            varies(&step.per_order),
            Input::PerOrder(i),
            named("per order"),
            &[(Use::OrderTime, n)],
        );
        add(
            redoes || spoils,
            Input::Chance(i),
            named(chance),
            &[
                (Use::Fate, n),
                (Use::Redo, n),
                (Use::RemakeFate, n),
                (Use::RemakeRedo, n),
            ],
        );
    }
    for (i, material) in scenario.materials.iter().enumerate() {
        let n = material.name.as_str();
        let dear = std::iter::once(&material.price).chain(material.breaks.iter().map(|b| &b.price));
        add(
            dear.into_iter().any(|p| !p.is_certain()),
            Input::Price(i),
            format!("{n}: price"),
            &[(Use::Price, n)],
        );
        add(
            !material.waste.is_certain(),
            Input::Waste(i),
            format!("{n}: waste"),
            &[(Use::Waste, n)],
        );
    }
    for (i, channel) in scenario.channels.iter().enumerate() {
        let n = channel.name.as_str();
        add(
            channel.per_order.as_ref().is_some_and(|own| !own.is_certain()),
            Input::ChannelOrder(i),
            format!("{n}: per order"),
            &[(Use::ChannelTime, n)],
        );
    }
    let sales: Vec<&Sale> = scenario
        .sales()
        .into_iter()
        .chain(scenario.seconds.as_ref().map(|seconds| &seconds.sale))
        .collect();
    let own = scenario.seconds.as_ref().and_then(|seconds| seconds.per_order.as_ref());
    add(
        scenario.second_chance() > 0.0,
        Input::Seconds,
        "seconds".to_owned(),
        &[(Use::Second, "")],
    );
    add(
        own.is_some_and(|own| !own.is_certain()),
        Input::SecondOrder,
        "seconds: per order".to_owned(),
        &[(Use::SecondTime, "")],
    );
    add(
        sales.iter().any(|sale| !sale.post.is_certain()),
        Input::Postage,
        "postage".to_owned(),
        &[(Use::Post, "")],
    );
    add(
        sales.iter().any(|sale| !sale.tip.is_certain()),
        Input::Tips,
        "tips".to_owned(),
        &[(Use::Tip, "")],
    );
    add(
        sales.iter().any(|sale| !sale.order_of.is_certain()),
        Input::OrderSize,
        "pieces in an order".to_owned(),
        &[(Use::OrderSize, "")],
    );
    add(
        sales.iter().any(|sale| sale.returned > 0.0),
        Input::Returns,
        "returns".to_owned(),
        &[(Use::Returned, "")],
    );
    for (way, n, sale) in ways(scenario) {
        let [quote, enquiry] = sale.tries();
        add(
            !quote.minutes.is_certain(),
            Input::Quote(way),
            asked_through("quotes", n),
            &[(Use::Quote, n)],
        );
        add(
            !enquiry.minutes.is_certain(),
            Input::Enquiry(way),
            asked_through("enquiries", n),
            &[(Use::Enquiry, n)],
        );
        add(
            sale.tries()
                .iter()
                .any(|tries| tries.won < 1.0 && !tries.minutes.is_zero()),
            Input::Won(way),
            asked_through("orders won", n),
            &[(Use::QuoteWon, n), (Use::EnquiryBought, n)],
        );
    }
    for (i, on_return) in scenario.on_return() {
        let n = scenario.channels[i].name.as_str();
        add(
            !on_return.unsold.is_zero(),
            Input::Unsold(i),
            format!("{n}: unsold"),
            &[(Use::Unsold, n), (Use::ComesBack, n)],
        );
    }
    for (i, day) in scenario.selling_days.iter().enumerate() {
        let n = day.name.as_str();
        for (spread, input, what, purpose) in [
            (&day.there, Input::There(i), "time there", Use::DayThere),
            (&day.travel, Input::Travel(i), "time on the way", Use::DayTravel),
            (&day.cost, Input::DayCost(i), "cost", Use::DayCost),
            (&day.sells, Input::DaySells(i), "sells", Use::DaySells),
        ] {
            add(!spread.is_certain(), input, format!("{n}: {what}"), &[(purpose, n)]);
        }
    }
    for (i, currency) in scenario.currencies.iter().enumerate() {
        let n = currency.code.as_str();
        add(
            !currency.rate.is_certain(),
            Input::Exchange(i),
            format!("{n}: worth"),
            &[(Use::Exchange, n)],
        );
    }
    let asked_for = scenario.season.as_ref().is_some_and(|season| match &season.buyers {
        Buyers::Range(spread) => !spread.is_certain(),
        Buyers::Seen(seen) => seen.iter().any(|count| *count != seen[0]),
    });
    add(asked_for, Input::Buyers, "buyers".to_owned(), &[(Use::Buyers, "")]);
    out
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
        }
        for material in &mut self.materials {
            all.extend([&mut material.price.part, &mut material.waste.part]);
        }
        all
    }

    /// The same plan with an independent second sample of these streams.
    #[must_use]
    pub fn salted(&self, streams: &[u64]) -> Self {
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
    pub fn with_shape(&self, stream: u64, change: impl Fn(&Shape) -> Shape) -> Self {
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
    pub fn without_times(&self) -> Self {
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
    pub fn with_time_only(&self, time: &TimePart) -> Self {
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
    pub fn pace_alone(&self) -> Self {
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
    use crate::scenario::{Learning, Spoiled, Step, Varies};
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
