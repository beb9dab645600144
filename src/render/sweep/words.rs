//! A sweep in plain sentences, as one maker would say it to another: what to do, why, and what else there is to know.
//!
//! Every figure is written by [`crate::render::format`] from the same field the table shows, so words and table never disagree.
//! Differences are not computed from rounded figures: both figures are given. Each sentence stands here whole, so that it can be found by
//! its words; cases that differ only in a word, or in a clause at the end, share one with a hole for it.

mod beyond;
mod reasons;

pub(super) use beyond::ceiling_is_passed;

use crate::model::money::DayMoney;
use crate::questions::size_of;
use crate::questions::sweep::{ChannelAnswer, Sells, SizeAnswer, Sweep};
use crate::render::format::{
    asked_of_100, count, enough_money_beside, hours, mean_count, money, of_100_beside, plain_interval, short_of,
    typed_money, whole_hours,
};
use crate::render::words::{
    BEFORE_TAX, SINGLES_GO_ALONG, batch_of, capital, is_or_are, one_or_count, several, you_earn,
};

/// Most characters of a [`headline`]; a chart has no room for more.
pub const HEADLINE_CHARACTERS: usize = 90;

/// A batch that takes longer than this is no longer one day's work (assumption).
const LONG_BATCH_HOURS: f64 = 8.0;

/// From so many pieces on, none of which takes long, the same movement is made often (assumption).
const REPETITIVE_PIECES: u32 = 6;
const REPETITIVE_HOURS_A_PIECE: f64 = 4.0;

/// Ranges of sizes that are named; more are only marked in the table.
const RANGES: usize = 3;

/// What to do: how many to make or what to charge, how often that earns the target, and what it earns on average.
///
/// Empty only for a sweep without sizes, which no engine makes.
pub fn opening(sweep: &Sweep) -> Vec<String> {
    View::new(sweep).map_or_else(Vec::new, |view| view.opening())
}

/// Why: what smaller sizes or lower prices lose, and what may go wrong.
pub fn why(sweep: &Sweep) -> Vec<String> {
    View::new(sweep).map_or_else(Vec::new, |view| view.why())
}

/// What else there is to know, a paragraph each; `terminal`: commands can be typed where it is read.
pub fn more(sweep: &Sweep, terminal: bool) -> Vec<String> {
    View::new(sweep).map_or_else(Vec::new, |view| view.more(terminal))
}

/// One sentence for a chart, at most [`HEADLINE_CHARACTERS`] long.
pub(crate) fn headline(sweep: &Sweep) -> String {
    let Some(view) = View::new(sweep) else {
        return String::new();
    };
    let candidates = view.headlines();
    // The last is short whatever the figures are: only sizes of up to ten digits stand in it.
    let fits = |text: &&String| text.chars().count() <= HEADLINE_CHARACTERS;
    let fitting = candidates.iter().find(fits).or(candidates.last());
    fitting.cloned().unwrap_or_default()
}

/// What to mind, in a line or two; only what applies to this answer.
pub fn care(sweep: &Sweep) -> String {
    let advised = View::new(sweep).and_then(|view| match view.advice() {
        Advice::Order(at) | Advice::Weighed(at) | Advice::Pays(at) => Some(at),
        Advice::Never(near) => near,
    });
    let tiring = advised.map_or_else(String::new, tiring);
    format!("{tiring}{BEFORE_TAX}")
}

/// A sentence, with a space after it, where a batch is long and repetitive; else nothing.
pub(in crate::render) fn tiring(advised: &SizeAnswer) -> String {
    let tires = advised.size >= REPETITIVE_PIECES
        && advised.hours_per_piece.p50 < REPETITIVE_HOURS_A_PIECE
        && advised.hours.p50 > LONG_BATCH_HOURS;
    if tires {
        format!(
            "{} takes about {}: long repetitive work tires, and tired hands get hurt. ",
            capital(&batch_of(advised.size)),
            whole_hours(advised.hours.p50)
        )
    } else {
        String::new()
    }
}

/// What there is to say first.
enum Advice<'a> {
    /// One piece is made to order: what to charge for it.
    Order(&'a SizeAnswer),
    /// What a season or a steady sale advises, whether or not it pays as surely as asked.
    Weighed(&'a SizeAnswer),
    /// The first size that pays.
    Pays(&'a SizeAnswer),
    /// None pays: the size that comes nearest.
    Never(Option<&'a SizeAnswer>),
}

/// The sweep with what the sentences keep asking for.
struct View<'a> {
    sweep: &'a Sweep,
    smallest: &'a SizeAnswer,
    largest: &'a SizeAnswer,
    /// Nothing varies: there are no chances to talk about.
    certain: bool,
}

impl<'a> View<'a> {
    fn new(sweep: &'a Sweep) -> Option<Self> {
        let (smallest, largest) = (sweep.sizes.first()?, sweep.sizes.last()?);
        Some(Self {
            sweep,
            smallest,
            largest,
            certain: is_certain(sweep),
        })
    }

    fn advice(&self) -> Advice<'a> {
        if self.smallest.size == 1 && (self.sweep.made_to_order || self.alone()) {
            return Advice::Order(self.smallest);
        }
        let weighed = self.sweep.weighed_size().and(self.nearest());
        match (weighed, self.first_paying()) {
            (Some(at), _) => Advice::Weighed(at),
            (None, Some(first)) => Advice::Pays(first),
            (None, None) => Advice::Never(self.nearest()),
        }
    }

    fn opening(&self) -> Vec<String> {
        match self.advice() {
            Advice::Order(one) => [vec![self.charge_for_one(one)], self.earned("At your price you", one)].concat(),
            Advice::Weighed(first) | Advice::Pays(first) => {
                let you = match self.is_one(first) {
                    true => "You then".to_owned(),
                    // Of several, it is told of the first.
                    false => format!("With {} you", one_or_count(first.size)),
                };
                [vec![format!("{}.", self.make(first))], self.earned(&you, first)].concat()
            }
            Advice::Never(None) => vec!["Do not make it as it is: no price pays.".to_owned()],
            Advice::Never(Some(near)) => {
                // Where no price is told for the size, it is named here.
                let you = match near.size {
                    _ if !self.sweep.buyers_kept || self.alone() => "At your price you".to_owned(),
                    1 => "If you make one at a time, you".to_owned(),
                    n => format!("In batches of {} you", count(n.into())),
                };
                [vec![self.charge_for_many(near)], self.earned(&you, near)].concat()
            }
        }
    }

    /// Where the simulation cannot tell which size is the first that pays, and which surely does.
    fn close_call(&self, first: &SizeAnswer) -> Option<String> {
        let asked = self.sweep.confidence;
        let unsure = |a: &&SizeAnswer| a.reach.low < asked && asked <= a.reach.high;
        let mut looked = self.sweep.sizes.iter();
        let close = looked.find(unsure).filter(|close| close.size <= first.size)?;
        let close = count(close.size.into());
        Some(match looked.find(|a| a.reach.low >= asked) {
            Some(sure) => {
                let sure = count(sure.size.into());
                format!("Whether {close} at a time pays is too close to call: make {sure} to be sure.")
            }
            None => format!("Whether {close} at a time pays is too close to call within the simulation's own error."),
        })
    }

    fn why(&self) -> Vec<String> {
        let mut said = Vec::new();
        match self.advice() {
            Advice::Order(one) => {
                if one.floor_asked.price.is_none() {
                    said.push(self.why_no_price(one));
                }
                said.extend(self.may_be_too_little(one));
                said.extend(self.more_to_the_same_drawing(one));
            }
            Advice::Weighed(at) => match self.first_paying() {
                Some(first) => {
                    if first.size != at.size {
                        let many = self.how_many(first);
                        said.push(format!("To earn it as surely as you want, make {many}."));
                    }
                    said.extend(self.gap());
                    if at.size > self.smallest.size {
                        said.extend(self.smaller_loses());
                        said.extend(self.getting_ready(at));
                    }
                }
                None => {
                    let lowest = at.floor_asked.price.filter(|_| !self.sweep.buyers_kept);
                    let would = lowest.map_or_else(String::new, |floor| {
                        format!("; {} would at {}", batch_of(at.size), self.enough(floor))
                    });
                    let price = self.price();
                    said.push(format!(
                        "At your price of {price} no size pays as surely as you want{would}."
                    ));
                    said.extend(self.may_be_too_little(at));
                }
            },
            Advice::Pays(first) => {
                said.extend(self.close_call(first));
                said.extend(self.gap());
                if first.size == self.smallest.size {
                    said.extend(self.lowest_price(first));
                } else {
                    said.extend(self.smaller_loses());
                    said.extend(self.getting_ready(first));
                }
            }
            Advice::Never(Some(near)) => {
                if near.floor_asked.price.is_none() {
                    said.push(self.why_no_price(near));
                }
                said.extend(self.may_be_too_little(near));
                said.extend(self.lower_elsewhere(near));
                said.extend(self.would_more_do(near));
            }
            Advice::Never(None) => {}
        }
        said
    }

    fn more(&self, terminal: bool) -> Vec<String> {
        let mut said = Vec::new();
        let advice = self.advice();
        match advice {
            Advice::Order(first) | Advice::Pays(first) => {
                said.extend(self.more_is(first));
                said.extend(self.not_looked_at(first));
            }
            Advice::Weighed(_) => said.extend(self.more_is(self.first_paying().unwrap_or(self.smallest))),
            Advice::Never(_) => {}
        }
        // Where all time is setup, an hour grows without end and there is no ceiling to tell of.
        let told = matches!(advice, Advice::Never(Some(_))) && self.no_size_will_do();
        if self.sweep.ceiling.is_finite() && !told {
            said.push(self.ceiling());
        }
        said.extend(self.seconds());
        said.extend(self.selling_days());
        said.extend(self.helper());
        said.extend(self.by_channel());
        said.extend(self.as_many_buyers());
        said.extend(self.sweep.has_singles.then(|| SINGLES_GO_ALONG.to_owned()));
        if self.sweep.buyers_kept && terminal {
            said.push("The commands floor and season count fewer buyers where they name a higher price.".to_owned());
        }
        said
    }

    /// The size that the page speaks of first; where it advises none, the largest.
    fn spoken_of(&self) -> &'a SizeAnswer {
        match self.advice() {
            Advice::Order(size) | Advice::Weighed(size) | Advice::Pays(size) | Advice::Never(Some(size)) => size,
            Advice::Never(None) => self.largest,
        }
    }

    /// How many seconds come out of a batch, where any are sold.
    fn seconds(&self) -> Option<String> {
        let of = self.spoken_of();
        let seconds = of.seconds.map(mean_count).filter(|seconds| seconds != "0")?;
        Some(format!(
            "Of {}, {seconds} on average {} sold as seconds; the price floor is that of a first.",
            batch_of(of.size),
            is_or_are(&seconds)
        ))
    }

    /// What the helper is to a batch.
    fn helper(&self) -> Option<String> {
        let of = self.spoken_of();
        let worked = of.helper_hours?;
        Some(format!(
            "{} {} your helper works {} on average, for {}; these are none of your hours.",
            if of.size == 1 { "On" } else { "In" },
            batch_of(of.size),
            hours(worked),
            money(of.money.wages, &self.sweep.currency)
        ))
    }

    /// What each selling day is to a batch.
    fn selling_days(&self) -> Vec<String> {
        let of = self.spoken_of();
        let currency = &self.sweep.currency;
        let without = self.sweep.without_days.as_ref().filter(|(size, _)| *size == of.size);
        // In a season the pieces that others want are counted; else all sell.
        let if_sold = match self.sweep.sells {
            Sells::UntilASeasonEnds => "",
            Sells::All | Sells::AllYear => ", if its pieces sell as the others do",
        };
        let day = |(k, day): (usize, &DayMoney)| {
            let without = without
                .and_then(|(_, rates)| rates.get(k))
                .map_or_else(String::new, |rate| {
                    format!(
                        " Without it you would {} an hour on average{if_sold}.",
                        you_earn(*rate, currency)
                    )
                });
            let sold = mean_count(day.sold);
            format!(
                "Of {}, {sold} on average {} sold at '{}': {} after tax and fees, less {} for the day, for {} there and on the way.{without}",
                batch_of(of.size),
                is_or_are(&sold),
                day.name,
                money(day.kept, currency),
                money(day.cost, currency),
                hours(day.hours)
            )
        };
        of.selling_days.iter().enumerate().map(day).collect()
    }

    fn target(&self) -> String {
        typed_money(self.sweep.target, &self.sweep.currency)
    }

    fn price(&self) -> String {
        typed_money(self.sweep.price, &self.sweep.currency)
    }

    fn money(&self, value: f64) -> String {
        money(value, &self.sweep.currency)
    }

    /// A price floor.
    fn enough(&self, value: f64) -> String {
        enough_money_beside(value, self.sweep.price, &self.sweep.currency)
    }

    /// "80 of 100 batches": how often the target must be reached.
    fn as_often(&self, size: u32) -> String {
        format!("{} {}", asked_of_100(self.sweep.confidence), several(size))
    }

    /// Whether one size was looked at.
    fn alone(&self) -> bool {
        self.sweep.sizes.len() == 1
    }

    fn pays(&self, answer: &SizeAnswer) -> bool {
        answer.pays(self.sweep.confidence)
    }

    fn first_paying(&self) -> Option<&'a SizeAnswer> {
        let first = self.sweep.first_paying_size?;
        self.sweep.sizes.iter().find(|a| a.size == first)
    }

    /// Whether every size from `first` on pays as well.
    fn holds_from(&self, first: &SizeAnswer) -> bool {
        let from = self.sweep.sizes.iter().filter(|a| a.size >= first.size);
        from.into_iter().all(|a| self.pays(a))
    }

    /// What to charge for a single piece. Where buyers answer to the price, another price is `floor`'s to say.
    fn charge_for_one(&self, one: &SizeAnswer) -> String {
        let price = self.price();
        if self.sweep.buyers_kept {
            return if self.pays(one) {
                format!("Keep your price of {price} for one piece: it pays.")
            } else {
                format!("Do not make one at your price of {price}: it does not pay.")
            };
        }
        let Some(floor) = one.floor_asked.price else {
            return "Do not make one to order as it is: no price pays.".to_owned();
        };
        let lowest = self.enough(floor);
        if floor <= 0.0 {
            format!("Keep your price of {price} for one piece: any price pays.")
        } else if self.pays(one) {
            format!("Keep your price of {price} for one piece; below {lowest} it would not pay.")
        } else {
            format!("Charge at least {lowest} for one piece; your {price} is too little.")
        }
    }

    /// What to charge where no size pays, likewise.
    fn charge_for_many(&self, near: &SizeAnswer) -> String {
        let (price, size) = (self.price(), count(near.size.into()));
        let [least, most] = [self.smallest, self.largest].map(|at| count(at.size.into()));
        if self.sweep.buyers_kept {
            return if self.alone() {
                format!("Do not make {size} at a time at your price of {price}: it does not pay.")
            } else {
                format!("Do not make {least} to {most} at a time at your price of {price}: no size pays.")
            };
        }
        let lowest = near.floor_asked.price.map(|floor| self.enough(floor));
        match (lowest, self.alone(), near.size) {
            (None, true, _) => format!("Do not make {size} at a time as it is: no price pays."),
            (None, false, _) => format!("Do not make {least} to {most} at a time as it is: no price pays."),
            (Some(lowest), true, _) => {
                format!("Charge at least {lowest} a piece in batches of {size}; your {price} is too little.")
            }
            (Some(lowest), false, 1) => {
                format!("Charge at least {lowest} a piece, made one at a time; at your {price} no size pays.")
            }
            (Some(lowest), false, _) => {
                format!("Charge at least {lowest} a piece in batches of {size}; at your {price} no size pays.")
            }
        }
    }

    /// Whether one size is told of, or one from which on all pay: of several ranges it is told of the first.
    fn is_one(&self, first: &SizeAnswer) -> bool {
        self.alone() || self.sweep.weighed_size() == Some(first.size) || self.holds_from(first)
    }

    /// How many to make, without the full stop.
    fn make(&self, first: &SizeAnswer) -> String {
        format!("Make {}", self.how_many(first))
    }

    fn how_many(&self, first: &SizeAnswer) -> String {
        let n = one_or_count(first.size);
        if self.alone() || self.sweep.weighed_size() == Some(first.size) {
            return format!("{n} at a time");
        }
        if self.holds_from(first) {
            return match first.size {
                1 => "one at a time, or more".to_owned(),
                _ => format!("{n} or more at a time"),
            };
        }
        let ranges = self.paying_ranges();
        match ranges.split_last() {
            Some((last, [])) => format!("{last} at a time"),
            Some((last, others)) if others.len() < RANGES => {
                format!("{}, or {last}, at a time", others.join(", "))
            }
            _ => format!("{n} at a time, or another size marked in the table"),
        }
    }

    /// The sizes that pay, neighbours among those looked at as one range: "24", "32 to 72".
    fn paying_ranges(&self) -> Vec<String> {
        let stretches = self.sweep.sizes.chunk_by(|a, b| self.pays(a) == self.pays(b));
        let paying = stretches.filter(|stretch| stretch.first().is_some_and(|a| self.pays(a)));
        paying
            .filter_map(|stretch| {
                let [first, last] = [stretch.first()?, stretch.last()?].map(|a| count(a.size.into()));
                Some(plain_interval(&first, &last))
            })
            .collect()
    }

    /// What a size earns: `you` is "You then", "With 24 you", or "At your price you".
    fn earned(&self, you: &str, at: &SizeAnswer) -> Vec<String> {
        let target = (self.sweep.target > 0.0).then(|| self.target());
        if self.certain {
            let rate = short_of(at.rate.long_run, self.sweep.target, &self.sweep.currency);
            let earns = you_earn(rate, &self.sweep.currency);
            return vec![match target {
                Some(target) => format!("{you} {earns} an hour; you want {target}."),
                None => format!("{you} {earns} an hour."),
            }];
        }
        let confidence = self.sweep.confidence;
        let (often, needed) = (of_100_beside(at.reach.share, confidence), asked_of_100(confidence));
        let these = several(at.size);
        let how_often = match target {
            Some(target) => {
                format!("{you} earn the {target} an hour you want in {often} {these}; you need {needed}.")
            }
            None => format!("{you} cover your costs in {often} {these}; you need {needed}."),
        };
        vec![how_often, self.on_average(at)]
    }

    fn on_average(&self, at: &SizeAnswer) -> String {
        format!("On average you {} an hour.", self.earns(at))
    }

    /// "earn 36.60 EUR", "lose 5.28 EUR": what you do in an hour, over many batches.
    fn earns(&self, at: &SizeAnswer) -> String {
        you_earn(at.rate.long_run, &self.sweep.currency)
    }

    /// The size that comes nearest where none pays.
    fn nearest(&self) -> Option<&'a SizeAnswer> {
        reference(self.sweep)
    }
}

/// The size that a sweep's page is about, where it was looked at.
pub(super) fn reference(sweep: &Sweep) -> Option<&SizeAnswer> {
    let size = size_of(sweep);
    sweep.sizes.iter().find(|a| a.size == size)
}

/// Whether nothing varies from batch to batch.
pub fn is_certain(sweep: &Sweep) -> bool {
    // Ends that differ by rounding only are the same.
    let same = |low: f64, high: f64| (high - low).abs() <= 1e-9 * high.abs().max(low.abs()).max(1.0);
    sweep.sizes.iter().all(|a| {
        let chance = a.reach.share;
        same(a.hours.p10, a.hours.p90)
            && same(a.profit.p10, a.profit.p90)
            && a.hours.se <= 1e-9 * a.hours.mean.abs().max(1.0)
            && a.profit.se <= 1e-9 * a.profit.mean.abs().max(1.0)
            && (chance == 0.0 || chance == 1.0)
    })
}

/// The channels with the best and the worst hour.
fn ends_of_channels(at: &SizeAnswer) -> Option<(&ChannelAnswer, &ChannelAnswer)> {
    let mut channels: Vec<_> = at.channels.iter().filter(|channel| channel.sold > 0.0).collect();
    channels.sort_by(|a, b| b.rate.mean.total_cmp(&a.rate.mean));
    // One that has all of the pieces is no other than itself.
    (channels.len() > 1).then_some((*channels.first()?, *channels.last()?))
}

#[cfg(test)]
mod tests;
