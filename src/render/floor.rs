//! The answer to `floor` for a person, and as CSV.

mod order;
mod plot;
mod table;

pub(crate) use order::one_parcel;

use super::Render;
use super::columns::Declared;
use super::format::{
    amount, asked_of_100, at_most, count, enough, enough_beside, enough_money, enough_money_beside, exact_amount,
    money, of_100, of_100_beside, only, percent_interval, price_interval, share_in_words, typed_money,
};
use super::page::Page;
use super::plot::{Plot, prices};
use super::text::Look;
use super::words::{
    batch_of, batches_of, joined, lowest_price_at, may_be_too_little, nothing_varies, one_or_count, several,
};
use crate::questions::floor::{ChannelPrice, Discount, Floors, MadeFor, SizeFloors};

/// So much oftener than asked is told: half of one in a hundred.
const MORE: f64 = 0.005;

impl Render for Floors {
    fn page(&self, look: &Look) -> Page {
        let view = View::new(self);
        Page {
            title: self.title.clone(),
            opening: view.opening(),
            why: view.why(),
            tables: self.grids(look),
            more: view.more(look.terminal),
            small: view.small_print(),
            care: "Prices are before the maker's income tax; what the price must contain of sales tax, and consumer law, are \
                   for local rules."
                .to_owned(),
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(View::new(self).sizes()))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        let view = View::new(self);
        let prices: Box<dyn Declared + '_> = match self.sizes.as_slice() {
            [one] if !view.certain => Box::new(view.one_size(one)),
            _ => Box::new(view.sizes()),
        };
        let spares = self.spares.iter();
        let spares = spares.map(|spares| Box::new(order::table(self, spares)) as Box<dyn Declared>);
        std::iter::once(prices).chain(spares).collect()
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// One sentence for the chart.
pub(crate) fn headline(floors: &Floors) -> String {
    View::new(floors).opening().into_iter().next().unwrap_or_default()
}

struct View<'a> {
    floors: &'a Floors,
    /// The size the answer speaks of first.
    about: Option<&'a SizeFloors>,
    certain: bool,
}

impl<'a> View<'a> {
    fn new(floors: &'a Floors) -> Self {
        let about = if floors.made_to_order { 1 } else { floors.about };
        Self {
            floors,
            about: floors.sizes.iter().find(|s| s.size == about),
            certain: floors.certain,
        }
    }

    fn money(&self, value: f64) -> String {
        money(value, &self.floors.currency)
    }

    /// A price floor.
    fn enough(&self, value: f64) -> String {
        enough_money_beside(value, self.floors.price, &self.floors.currency)
    }

    fn target(&self) -> String {
        typed_money(self.floors.target, &self.floors.currency)
    }

    fn asked(&self) -> String {
        typed_money(self.floors.price, &self.floors.currency)
    }

    /// What is counted out of 100.
    fn several(&self, size: u32) -> &'static str {
        if self.is_order() { "such orders" } else { several(size) }
    }

    /// "80 of 100 batches": how often the target must be reached.
    fn as_often(&self, size: u32) -> String {
        format!("{} {}", asked_of_100(self.floors.confidence), self.several(size))
    }

    fn is_order(&self) -> bool {
        self.floors.made_for == MadeFor::Order
    }

    /// "a batch of 6", "an order of 12", "a single piece".
    fn made(&self, size: u32) -> String {
        if self.is_order() && size > 1 {
            format!("an order of {}", count(size.into()))
        } else {
            batch_of(size)
        }
    }

    /// The size of which most trials are worse off where a piece is dearer, and their share, where that is as much as the page tells.
    fn worse_when_dearer(&self) -> Option<(u32, f64)> {
        let sizes = self.floors.sizes.iter();
        let such = sizes.filter_map(|s| Some((s.size, s.worse_when_dearer?)));
        such.max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, share)| *share >= 0.005)
    }

    /// [`View::to_charge`], and what the price leaves out where no channel is named; three sentences at most.
    fn opening(&self) -> Vec<String> {
        let missing = self.floors.past_channels.then(|| {
            "If it comes through a channel, name that: its fees, postage and packing are not in this price.".to_owned()
        });
        let room = 3 - usize::from(missing.is_some());
        self.to_charge().into_iter().take(room).chain(missing).collect()
    }

    /// What to charge, how often that earns the target, and how often the asked price does.
    fn to_charge(&self) -> Vec<String> {
        let Some(about) = self.about else { return Vec::new() };
        let Some(price) = self.lowest(about) else {
            let yours = match self.pays_at_asked() {
                Some(_) => {
                    let often = of_100_beside(about.reach.share, self.floors.confidence);
                    format!(
                        "In {} it is enough in {}.",
                        batches_of(about.size, "single pieces"),
                        only(&often)
                    )
                }
                None => self.yours(about),
            };
            return vec![self.do_not(about), yours];
        };
        if price <= 0.0 {
            let often = of_100_beside(about.reach.share, self.floors.confidence);
            let often = format!("{often} {}", self.several(about.size));
            return vec![self.keep(about), self.then_in(&often)];
        }
        vec![self.charge(about, price), self.then(about), self.yours(about)]
    }

    /// The lowest price that pays as surely as asked, with the buyers there are at it where that is known.
    fn lowest(&self, about: &SizeFloors) -> Option<f64> {
        match self.floors.own_buyers {
            Some(own) => own.price,
            None => about.floor_asked.price,
        }
    }

    /// The price above which too few buy, where it is told apart from the lowest.
    fn up_to(&self) -> Option<f64> {
        let own = self.floors.own_buyers?;
        let currency = &self.floors.currency;
        let top = at_most(own.up_to?, currency);
        (top > enough(own.price?, currency)).then_some(top)
    }

    fn charge(&self, about: &SizeFloors, price: f64) -> String {
        let n = count(about.size.into());
        let told = enough_beside(price, self.floors.price, &self.floors.currency);
        let (price, currency) = (self.enough(price), &self.floors.currency);
        let whole = format!("{} {currency}", exact_amount(about.in_all(told), currency));
        let price = match self.up_to() {
            Some(top) => format!("{} to {}", amount(told, currency), money(top, currency)),
            None => format!("at least {price}"),
        };
        match (self.is_order(), about.size) {
            (true, 1) => format!("Quote {price} for a piece ordered alone."),
            (true, _) if self.floors.on_return => {
                format!("Quote {price} a piece for {n} left on sale or return.")
            }
            (true, _) => format!("Quote {price} a piece for an order of {n}, {whole} in all."),
            (false, 1) => format!("Charge {price} for a single piece."),
            (false, _) => format!("Charge {price} a piece in batches of {n}."),
        }
    }

    /// Where any price pays.
    fn keep(&self, about: &SizeFloors) -> String {
        let (asked, n) = (self.asked(), count(about.size.into()));
        match (self.is_order(), about.size) {
            (_, 1) => format!("Keep your price of {asked} for a single piece: any price pays."),
            (true, _) => format!("Keep your price of {asked} for an order of {n}: any price pays."),
            (false, _) => format!("Keep your price of {asked} in batches of {n}: any price pays."),
        }
    }

    /// The first other size that pays at the asked price, with the buyers there are at it.
    fn pays_at_asked(&self) -> Option<u32> {
        let own = self.floors.own_buyers.filter(|own| own.price.is_none());
        let mut sizes = own.iter().flat_map(|_| &self.floors.sizes);
        let first = sizes.find(|s| s.reach.share >= self.floors.confidence)?;
        Some(first.size)
    }

    /// Where no price pays.
    fn do_not(&self, about: &SizeFloors) -> String {
        let n = one_or_count(about.size);
        match (self.floors.own_buyers, self.is_order()) {
            (Some(own), _) => {
                let [from, to] = [own.from, own.to].map(|price| self.money(price));
                match self.pays_at_asked() {
                    Some(size) => format!(
                        "Keep your price of {} and make {} at a time: no price from {from} to {to} pays in {}.",
                        self.asked(),
                        one_or_count(size),
                        batches_of(about.size, "single pieces")
                    ),
                    None => format!("Do not make {n} at a time as it is: no price from {from} to {to} pays."),
                }
            }
            (None, true) => format!("Do not take an order of {n} as it is: no price pays."),
            (None, false) => format!("Do not make {n} at a time as it is: no price pays."),
        }
    }

    /// How often the target is reached at the lowest price.
    fn then(&self, about: &SizeFloors) -> String {
        let often = match about.pays.filter(|_| self.floors.own_buyers.is_none()) {
            // Many trials need the same price.
            Some(pays) if pays >= self.floors.confidence + MORE => {
                format!("{} {}", of_100(pays), self.several(about.size))
            }
            _ => self.as_often(about.size),
        };
        match self.up_to() {
            Some(_) => self.then_in(&format!("at least {often}")),
            None if self.may_be_too_little(about).is_some() => self.then_in(&format!("at most {often}")),
            None => self.then_in(&often),
        }
    }

    fn then_in(&self, often: &str) -> String {
        let reach = match self.floors.target > 0.0 {
            true => format!("earn the {} an hour you want", self.target()),
            false => "cover your costs".to_owned(),
        };
        if self.floors.own_buyers.is_some() {
            let price = if self.up_to().is_some() {
                "such a price"
            } else {
                "that price"
            };
            return format!("With the buyers there are at {price}, you {reach} in {often}.");
        }
        match self.certain {
            true => format!("You then {reach}."),
            false => format!("You then {reach} in {often}."),
        }
    }

    /// What the asked price does.
    fn yours(&self, about: &SizeFloors) -> String {
        let (reach, needed) = (about.reach.share, self.floors.confidence);
        let (asked, often) = (self.asked(), of_100_beside(reach, needed));
        if reach < needed && self.up_to().is_some_and(|top| self.floors.price > top) {
            let few = only(&often);
            return format!("Your price of {asked} is too high: too few buy, and it is enough in {few}.");
        }
        match (self.certain, reach >= needed) {
            (true, true) => format!("Your price of {asked} is enough."),
            (true, false) => format!("Your price of {asked} is too little."),
            (false, true) => format!("Your price of {asked} is enough in {often}."),
            (false, false) if reach == 0.0 => format!("Your price of {asked} is never enough."),
            (false, false) => format!("Your price of {asked} is enough in {}.", only(&often)),
        }
    }

    fn why(&self) -> Vec<String> {
        let Some(about) = self.about else { return Vec::new() };
        let mut said = Vec::new();
        if self.lowest(about).is_none() {
            said.push(self.why_none(about));
        }
        said.extend(self.may_be_too_little(about));
        let spares = self.floors.spares.as_ref();
        said.extend(spares.and_then(|spares| order::start(self.floors, spares)));
        said.extend(self.with_as_many_buyers(about));
        // Other sizes and the average are told for the buyers of the asked price: the table has them.
        if self.floors.own_buyers.is_none() {
            said.extend(self.on_average(about));
            said.extend(self.elsewhere(about));
        }
        said.extend(self.by_channel(about));
        said.extend(self.singly(about));
        said
    }

    fn more(&self, terminal: bool) -> Vec<String> {
        let floors = self.floors;
        let mut said = Vec::new();
        if self.is_order() {
            said.extend(self.discounts());
            said.extend(self.one_parcel());
            if floors.spoils {
                said.push("An order is filled: what is spoiled on the way is made again.".to_owned());
            }
            let spares = floors.spares.as_ref();
            said.extend(spares.and_then(order::cheapest));
            said.extend(spares.and_then(|spares| order::left_over(floors, spares)));
        }
        if floors.past_channels {
            said.push("No channel is named, so the quote has the price, fees and postage of [sale] alone.".to_owned());
        }
        if floors.past_days {
            said.push("Such an order goes to no selling day, so what those cost is not in it.".to_owned());
        }
        if floors.past_seconds {
            said.push(
                "A second fills no order: another is made in its place, and what the second might fetch is left out."
                    .to_owned(),
            );
        }
        if let Some(set) = floors.past_sets {
            let odd = floors.sizes.iter().filter(|s| s.size % set != 0);
            let odd: Vec<String> = odd.map(|s| count(s.size.into())).collect();
            said.extend(joined(&odd).map(|list| {
                let orders = if odd.len() == 1 {
                    format!("an order of {list} makes no full ones and is")
                } else {
                    format!("orders of {list} make no full ones and are")
                };
                format!("Pieces are sold here in sets of {set}; {orders} quoted all the same.")
            }));
        }
        if floors.on_return {
            said.push(
                "It is left on sale or return: what comes back unsold is not paid for, and counts what it is worth to you."
                    .to_owned(),
            );
        }
        if floors.short {
            let remake = match terminal {
                true => "--set batch.spoiled=remake",
                false => "batch.spoiled = \"remake\"",
            };
            said.push(match floors.makes_seconds {
                true => "A spoiled piece is not made again here, so there is one fewer to sell.".to_owned(),
                false => format!(
                    "A spoiled piece is not made again here, so there is one fewer to sell; {remake} quotes full batches."
                ),
            });
        }
        said
    }

    /// What an order of several pieces counts once, which one that needs several parcels has more of.
    fn one_parcel(&self) -> Option<String> {
        let most = self.floors.sizes.last().map_or(1, |s| s.size);
        one_parcel(self.floors.once_an_order?, most, &self.floors.currency)
    }

    /// The price for the buyers there are at the asked one, where that is another.
    fn with_as_many_buyers(&self, about: &SizeFloors) -> Option<String> {
        let own = self.floors.own_buyers?;
        let price = about.floor_asked.price?;
        let (asked, enough) = (self.asked(), self.enough(price));
        let other = own.price.is_none_or(|own| self.enough(own) != enough);
        other.then(|| format!("With as many buyers as at {asked}, {enough} would be enough."))
    }

    /// The same price in each channel's own money, and on each selling day.
    fn by_channel(&self, about: &SizeFloors) -> Option<String> {
        let list = self.lowest(about)?;
        let price = |c: &ChannelPrice| enough_money(list * c.per_list_price, &c.currency);
        let all = || self.floors.channels.iter().chain(&self.floors.selling_days);
        if all().all(|c| price(c) == self.enough(list)) {
            return None;
        }
        let channels = self.floors.channels.iter();
        let through = channels.map(|c| format!("{} through '{}'", price(c), c.name));
        let days = self.floors.selling_days.iter();
        let prices: Vec<String> = through
            .chain(days.map(|day| format!("{} at '{}'", price(day), day.name)))
            .collect();
        let (list, prices) = (self.enough(list), joined(&prices)?);
        Some(format!("A list price of {list} comes to {prices}."))
    }

    /// What a piece sold singly costs at the price told, where that is another than the asked one.
    fn singly(&self, about: &SizeFloors) -> Option<String> {
        let list = self.lowest(about).filter(|list| self.enough(*list) != self.asked())?;
        let singles = self.floors.singles.iter().map(|single| {
            let price = enough_money(list * single.per_list_price, &single.currency);
            match single.name.as_str() {
                "" => price,
                name => format!("{price} through '{name}'"),
            }
        });
        let prices = joined(&singles.collect::<Vec<_>>())?;
        Some(format!("Pieces sold singly are then {prices}."))
    }

    fn why_none(&self, at: &SizeFloors) -> String {
        if self.floors.own_buyers.is_some() {
            "Each price was tried with the buyers there are at it.".to_owned()
        } else if !at.sells {
            "Nothing is sold, and what does not sell earns too little.".to_owned()
        } else if at.long_run.price.is_none() {
            "Tax, fees, refunds and spoiled pieces leave nothing of any price.".to_owned()
        } else {
            format!(
                "In more than {} {} nothing is sold and kept.",
                asked_of_100(1.0 - self.floors.confidence),
                self.several(at.size)
            )
        }
    }

    /// That the price told above the asked one may not be enough; one that was tried with its own buyers is.
    fn may_be_too_little(&self, about: &SizeFloors) -> Option<String> {
        let lowest = about.floor_asked.price.filter(|lowest| *lowest > self.floors.price)?;
        let share = about.worse_when_dearer.filter(|_| self.floors.own_buyers.is_none())?;
        may_be_too_little(share, &self.enough(lowest), self.several(about.size))
    }

    fn on_average(&self, about: &SizeFloors) -> Option<String> {
        let price = about.long_run.price.filter(|_| !self.certain)?;
        let many = if self.is_order() { "orders" } else { several(about.size) };
        // No price is below 0: what is earned at that one may be more.
        if price <= 0.0 {
            let misses = self.lowest(about).is_none_or(|lowest| lowest > 0.0);
            let target = self.target();
            return misses.then(|| match self.floors.target > 0.0 {
                true => format!("On average any price earns {target} an hour or more, but many {many} would miss it."),
                false => format!("On average any price covers your costs, but in many {many} it would not."),
            });
        }
        let dearer = self.lowest(about).is_some_and(|lowest| lowest < price);
        let (price, target) = (self.enough(price), self.target());
        let (goal, miss) = match self.floors.target > 0.0 {
            true => (format!("earn {target} an hour"), " miss it"),
            false => ("cover your costs".to_owned(), " not"),
        };
        Some(if dearer {
            format!("To {goal} on average as well takes {price}, because bad {many} lose more than good ones gain.")
        } else {
            format!("At {price} you would {goal} only on average: many {many} would{miss}.")
        })
    }

    /// The size of a batch that needs the lowest price, where that is lower than what is spoken of.
    fn lower(&self, about: &SizeFloors) -> Option<(u32, f64, String)> {
        let priced = self.floors.sizes.iter().filter(|_| !self.is_order());
        let (lowest, size) = priced
            .filter_map(|s| Some((s.floor_asked.price?, s.size)))
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        let shown = self.enough(lowest);
        let own = self.enough(about.floor_asked.price?);
        (shown != own).then_some((size, lowest, shown))
    }

    /// What other sizes need: the one with the lowest price, the smallest and the largest; of orders each.
    fn elsewhere(&self, about: &SizeFloors) -> Vec<String> {
        let sizes = &self.floors.sizes;
        let lower = self.lower(about);
        let others: Vec<&SizeFloors> = if self.is_order() {
            sizes.iter().filter(|s| s.size != about.size).collect()
        } else {
            let told = [Some(about.size), lower.as_ref().map(|(size, ..)| *size)];
            let ends = [sizes.first(), sizes.last()].into_iter().flatten();
            ends.filter(|s| !told.contains(&Some(s.size))).collect()
        };
        let lower = lower.map(|(size, price, shown)| lowest_price_at(size, price, &shown));
        let other = |s: &&SizeFloors| {
            let n = count(s.size.into());
            let any = s.floor_asked.price.is_some_and(|price| price <= 0.0);
            let price = s.floor_asked.price.map(|price| self.enough(price));
            match (price, self.is_order(), s.size) {
                (Some(_), false, 1) if any => "A single piece pays at any price.".to_owned(),
                (Some(_), false, _) if any => format!("In batches of {n} any price pays."),
                (Some(_), true, 1) if any => "A piece ordered alone pays at any price.".to_owned(),
                (Some(_), true, _) if any => format!("In an order of {n} any price pays."),
                (Some(price), false, 1) => format!("A single piece needs {price}."),
                (Some(price), false, _) => format!("In batches of {n} a piece needs {price}."),
                (Some(price), true, 1) => format!("A piece ordered alone needs {price}."),
                (Some(price), true, _) => format!("In an order of {n} a piece needs {price}."),
                (None, true, 1) => "For a piece ordered alone no price would do.".to_owned(),
                (None, true, _) => format!("For an order of {n} no price would do."),
                (None, false, 1) => "For a single piece no price would do.".to_owned(),
                (None, false, _) => format!("For {n} at a time no price would do."),
            }
        };
        lower.into_iter().chain(others.iter().map(other)).collect()
    }

    /// What larger orders can bear.
    fn discounts(&self) -> Vec<String> {
        let borne = |off: fn(&SizeFloors) -> Option<Discount>| {
            let orders = self.floors.sizes.iter().filter(|s| s.size > 1);
            let cheaper = orders.filter_map(|s| Some((s.size, off(s)?.share)));
            let told = cheaper.filter(|(_, share)| *share >= 0.005);
            let list: Vec<String> = told
                .map(|(n, off)| format!("by {} in an order of {}", share_in_words(off), count(n.into())))
                .collect();
            joined(&list)
        };
        let mut said = Vec::new();
        if let Some(list) = borne(|s| s.off_one) {
            said.push(format!("A piece can cost less than one ordered alone: {list}."));
        }
        let asked = self.asked();
        let mut sizes = self.floors.sizes.iter();
        let some_to_spare = sizes.any(|s| s.off_price.is_some_and(|off| off.share >= 0.0));
        said.push(match borne(|s| s.off_price) {
            Some(list) => format!("A piece can cost less than your {asked}: {list}."),
            None if some_to_spare => format!("Your price of {asked} has next to nothing to spare."),
            None if self.floors.sizes.iter().all(|s| s.reach.share < self.floors.confidence) => {
                match self.floors.sizes.len() {
                    1 => format!("This order does not pay at your price of {asked}."),
                    _ => format!("None of these orders pays at your price of {asked}."),
                }
            }
            None if self.floors.sizes.len() == 1 => format!("This order still cannot go below your price of {asked}."),
            None => format!("None of these orders can go below your price of {asked}."),
        });
        said
    }

    /// Confidences with a column: the four, the asked one among them.
    fn confidences(&self) -> Vec<f64> {
        let first = self.floors.sizes.first().map_or(&[][..], |first| &first.floor);
        prices::confidences(first, self.floors.confidence)
    }

    /// Whether it is the confidence that was asked for.
    fn is_asked(&self, confidence: f64) -> bool {
        prices::same_confidence(confidence, self.floors.confidence)
    }

    /// What is made: batches or orders.
    fn many(&self) -> &'static str {
        if self.is_order() { "orders" } else { "batches" }
    }

    fn small_print(&self) -> Vec<String> {
        let floors = self.floors;
        let mut lines = Vec::new();
        if floors.buyers_kept {
            lines.push(format!(
                "Only the table counts on as many buyers as there are at {}, whatever the price.",
                typed_money(floors.price, &floors.currency)
            ));
        }
        if let Some((size, share)) = self.worse_when_dearer() {
            lines.push(format!(
                "In {} {} all that is sold comes back and its fee is lost, so that a higher price only costs more. They count as they \
                 fare at {}; for another price, ask again with --price.",
                of_100(share),
                if self.is_order() {
                    "such orders".to_owned()
                } else {
                    batches_of(size, "pieces made one at a time")
                },
                self.asked()
            ));
        }
        if self.certain {
            lines.push(nothing_varies(&floors.version));
            return lines;
        }
        if self.is_order()
            && floors.sizes.len() > 1
            && let Some(about) = self.about
            && let (Some(low), Some(high)) = (about.floor_asked.low, about.floor_asked.high)
        {
            let (made, price) = (
                self.made(about.size),
                format!("{} {}", price_interval(low, high, &floors.currency), floors.currency),
            );
            let discount = about.off_one.map_or_else(String::new, |off| {
                format!(", discount {}", percent_interval(off.low, off.high))
            });
            lines.push(format!("Simulation error (95 %) for {made}: price {price}{discount}."));
        }
        let (trials, seed, version) = (count(floors.trials), floors.seed, &floors.version);
        let many = self.many();
        lines.push(format!(
            "{trials} {many} of each size were simulated, seed {seed}, batchwright {version}."
        ));
        lines
    }
}

#[cfg(test)]
mod tests;
