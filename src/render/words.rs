//! A sweep in plain sentences, as one maker would say it to another: what to do, why, and what else there is to know.
//!
//! Every figure is written by [`super::format`] from the same field the table shows, so words and table never disagree.
//! Differences are not computed from rounded figures: both figures are given. Each sentence stands here whole, once for
//! each case, so that it can be found by its words.

use super::format::{asked_of_100, count, hours, mean_count, money, of_100, share, typed_money};
use crate::questions::size_of;
use crate::questions::sweep::{ChannelAnswer, SizeAnswer, Sweep};

/// Most characters of a [`headline`]; a chart has no room for more.
pub const HEADLINE_CHARACTERS: usize = 90;

/// A batch that takes longer than this is no longer one day's work (assumption).
const LONG_BATCH_HOURS: f64 = 8.0;

/// A share of the hour too small to speak of: that of the size past which more adds next to nothing.
const FALLS: f64 = 0.01;

/// A fall of the share that getting ready takes, from which on it is given as a reason (assumption).
const READY_FALLS: f64 = 0.05;

/// A cause is named where it takes at least this share of what the greatest takes (assumption).
const NAMED: f64 = 0.3;

/// From so many pieces on, none of which takes long, the same movement is made often (assumption).
const REPETITIVE_PIECES: u32 = 6;
const REPETITIVE_HOURS_A_PIECE: f64 = 4.0;

/// Ranges of sizes that are named; more are only marked in the table.
const RANGES: usize = 3;

/// What to do: how many to make or what to charge, how often that earns the target, and what it earns on average.
///
/// Empty only for a sweep without sizes, which no engine makes.
#[must_use]
pub fn opening(sweep: &Sweep) -> Vec<String> {
    View::new(sweep).map_or_else(Vec::new, |view| view.opening())
}

/// Why: what smaller sizes or lower prices lose, and what may go wrong.
#[must_use]
pub fn why(sweep: &Sweep) -> Vec<String> {
    View::new(sweep).map_or_else(Vec::new, |view| view.why())
}

/// What else there is to know, a paragraph each; `terminal`: commands can be typed where it is read.
#[must_use]
pub fn more(sweep: &Sweep, terminal: bool) -> Vec<String> {
    View::new(sweep).map_or_else(Vec::new, |view| view.more(terminal))
}

/// One sentence for a chart, at most [`HEADLINE_CHARACTERS`] long.
#[must_use]
pub fn headline(sweep: &Sweep) -> String {
    let Some(view) = View::new(sweep) else {
        return String::new();
    };
    let candidates = view.headlines();
    // The last is short whatever the figures are: only sizes of up to ten digits stand in it.
    let fits = |text: &&String| text.chars().count() <= HEADLINE_CHARACTERS;
    candidates
        .iter()
        .find(fits)
        .or(candidates.last())
        .cloned()
        .unwrap_or_default()
}

/// What to mind, in a line or two; only what applies to this answer.
#[must_use]
pub fn care(sweep: &Sweep) -> String {
    let advised = View::new(sweep).and_then(|view| match view.advice() {
        Advice::Order(at) | Advice::Pays(at) => Some(at),
        Advice::Never(near) => near,
    });
    let tiring = advised.map_or_else(String::new, tiring);
    format!("{tiring}{BEFORE_TAX}")
}

/// What holds for every answer about money.
pub(super) const BEFORE_TAX: &str =
    "Earnings are before income tax; tax, product safety and consumer law are for local rules.";

/// A sentence, with a space after it, where a batch is long and repetitive; else nothing.
pub(super) fn tiring(advised: &SizeAnswer) -> String {
    let tires = advised.size >= REPETITIVE_PIECES
        && advised.hours_per_piece.p50 < REPETITIVE_HOURS_A_PIECE
        && advised.hours.p50 > LONG_BATCH_HOURS;
    if tires {
        format!(
            "{} takes about {}: long repetitive work tires, and tired hands get hurt. ",
            capital(&batch_of(advised.size)),
            hours(advised.hours.p50.round())
        )
    } else {
        String::new()
    }
}

/// What there is to say first.
enum Advice<'a> {
    /// One piece is made to order: what to charge for it.
    Order(&'a SizeAnswer),
    /// The first size that pays.
    Pays(&'a SizeAnswer),
    /// None pays: the size that comes nearest.
    Never(Option<&'a SizeAnswer>),
}

/// Why a larger size earns less.
struct Cause {
    /// As a clause that ends a sentence.
    because: &'static str,
    /// Whether it is, or also is, that pieces stay unsold.
    unsold: bool,
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
        match self.first_paying() {
            Some(first) => Advice::Pays(first),
            None => Advice::Never(self.nearest()),
        }
    }

    fn opening(&self) -> Vec<String> {
        match self.advice() {
            Advice::Order(one) => [vec![self.charge_for_one(one)], self.at_your_price(one)].concat(),
            Advice::Pays(first) => [vec![format!("{}.", self.make(first))], self.then(first)].concat(),
            Advice::Never(None) => vec!["Do not make it as it is: no price pays.".to_owned()],
            Advice::Never(Some(near)) => [vec![self.charge_for_many(near)], self.at_your_price(near)].concat(),
        }
    }

    fn why(&self) -> Vec<String> {
        let mut said = Vec::new();
        match self.advice() {
            Advice::Order(one) => {
                if one.floor_asked.price.is_none() {
                    said.push(self.why_no_price(one));
                }
                said.extend(self.more_to_the_same_drawing(one));
                said.extend(self.as_many_buyers());
            }
            Advice::Pays(first) => {
                said.extend(self.gap(first));
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
                said.extend(self.would_more_do(near));
                said.extend(self.as_many_buyers());
            }
            Advice::Never(None) => {}
        }
        said
    }

    fn more(&self, terminal: bool) -> Vec<String> {
        let mut said = Vec::new();
        let advice = self.advice();
        if let Advice::Order(first) | Advice::Pays(first) = advice {
            said.extend(self.more_is(first));
            said.extend(self.not_looked_at(first));
        }
        if !(matches!(advice, Advice::Never(Some(_))) && self.no_size_will_do()) {
            said.push(self.ceiling());
        }
        said.extend(self.by_channel());
        if let Advice::Pays(_) = advice {
            said.extend(self.as_many_buyers());
        }
        if self.sweep.buyers_kept && terminal {
            said.push("The commands floor and season take the buyers there are at each price.".to_owned());
        }
        said
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

    /// "80 of 100 batches": how often the target must be reached.
    fn as_often(&self, size: u32) -> String {
        format!("{} {}", asked_of_100(self.sweep.confidence), several(size))
    }

    /// Whether one size was looked at.
    fn alone(&self) -> bool {
        self.sweep.sizes.len() == 1
    }

    fn pays(&self, answer: &SizeAnswer) -> bool {
        answer.reach.share >= self.sweep.confidence
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

    /// What to charge for a single piece.
    fn charge_for_one(&self, one: &SizeAnswer) -> String {
        let price = self.price();
        match one.floor_asked.price {
            None => "Do not make one to order as it is: no price pays.".to_owned(),
            Some(floor) if floor <= 0.0 => format!("Keep your price of {price} for one piece: any price pays."),
            Some(floor) if self.pays(one) => format!(
                "Charge at least {} for one piece; your {price} is enough.",
                self.money(floor)
            ),
            Some(floor) => format!(
                "Charge at least {} for one piece; your {price} is too little.",
                self.money(floor)
            ),
        }
    }

    /// What to charge where no size pays.
    fn charge_for_many(&self, near: &SizeAnswer) -> String {
        let (price, size) = (self.price(), count(near.size.into()));
        match (near.floor_asked.price, self.alone(), near.size) {
            (None, true, _) => format!("Do not make {size} at a time as it is: no price pays."),
            (None, false, _) => format!(
                "Do not make {} to {} at a time as it is: no price pays.",
                count(self.smallest.size.into()),
                count(self.largest.size.into())
            ),
            (Some(floor), true, _) => format!(
                "Charge at least {} a piece in batches of {size}; your {price} is too little.",
                self.money(floor)
            ),
            (Some(floor), false, 1) => format!(
                "Charge at least {} a piece, made one at a time; at your {price} no size pays.",
                self.money(floor)
            ),
            (Some(floor), false, _) => format!(
                "Charge at least {} a piece in batches of {size}; at your {price} no size pays.",
                self.money(floor)
            ),
        }
    }

    /// How many to make, without the full stop.
    fn make(&self, first: &SizeAnswer) -> String {
        let n = count(first.size.into());
        if self.alone() {
            return format!("Make {n} at a time");
        }
        if self.holds_from(first) {
            return format!("Make {n} or more at a time");
        }
        let ranges = self.paying_ranges();
        match ranges.split_last() {
            Some((last, [])) => format!("Make {last} at a time"),
            Some((last, others)) if others.len() < RANGES => {
                format!("Make {}, or {last}, at a time", others.join(", "))
            }
            _ => format!("Make {n} at a time, or another size marked in the table"),
        }
    }

    /// The sizes that pay, neighbours among those looked at as one range: "24", "32 to 72".
    fn paying_ranges(&self) -> Vec<String> {
        let stretches = self.sweep.sizes.chunk_by(|a, b| self.pays(a) == self.pays(b));
        let paying = stretches.filter(|stretch| stretch.first().is_some_and(|a| self.pays(a)));
        paying
            .filter_map(|stretch| {
                let (first, last) = (stretch.first()?.size, stretch.last()?.size);
                Some(if first == last {
                    count(first.into())
                } else {
                    format!("{} to {}", count(first.into()), count(last.into()))
                })
            })
            .collect()
    }

    /// What the advised size does.
    fn then(&self, at: &SizeAnswer) -> Vec<String> {
        if self.certain {
            return vec![if self.sweep.target > 0.0 {
                format!("You then {} an hour; you want {}.", self.earns(at), self.target())
            } else {
                format!("You then {} an hour.", self.earns(at))
            }];
        }
        let (often, needed) = (of_100(at.reach.share), asked_of_100(self.sweep.confidence));
        let these = several(at.size);
        let how_often = if self.sweep.target > 0.0 {
            format!(
                "You then earn the {} an hour you want in {often} {these}; you need {needed}.",
                self.target()
            )
        } else {
            format!("You then cover your costs in {often} {these}; you need {needed}.")
        };
        vec![how_often, self.on_average(at)]
    }

    /// What the asked price does at a size.
    fn at_your_price(&self, at: &SizeAnswer) -> Vec<String> {
        if self.certain {
            return vec![if self.sweep.target > 0.0 {
                format!(
                    "At your price you {} an hour; you want {}.",
                    self.earns(at),
                    self.target()
                )
            } else {
                format!("At your price you {} an hour.", self.earns(at))
            }];
        }
        let (often, needed) = (of_100(at.reach.share), asked_of_100(self.sweep.confidence));
        let these = several(at.size);
        let how_often = if self.sweep.target > 0.0 {
            format!(
                "At your price you earn the {} an hour you want in {often} {these}; you need {needed}.",
                self.target()
            )
        } else {
            format!("At your price you cover your costs in {often} {these}; you need {needed}.")
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

    /// The lowest price, where the smallest size pays already.
    fn lowest_price(&self, first: &SizeAnswer) -> Option<String> {
        let floor = first.floor_asked.price?;
        Some(if floor <= 0.0 {
            format!("Any price would pay; yours is {}.", self.price())
        } else if self.certain {
            format!(
                "The lowest price that pays is {} a piece; yours is {}.",
                self.money(floor),
                self.price()
            )
        } else {
            format!(
                "The lowest price that pays in {} is {} a piece; yours is {}.",
                self.as_often(first.size),
                self.money(floor),
                self.price()
            )
        })
    }

    /// What the smallest size, mostly a single piece, earns and would have to cost.
    fn smaller_loses(&self) -> Vec<String> {
        let small = self.smallest;
        let n = count(small.size.into());
        let loses = small.rate.long_run < 0.0;
        let rate = self.money(small.rate.long_run.abs());
        let mut said = vec![match (small.size, loses, self.certain) {
            (1, false, false) => format!("If you make one at a time, you earn only {rate} an hour on average."),
            (1, false, true) => format!("If you make one at a time, you earn only {rate} an hour."),
            (1, true, false) => format!("If you make one at a time, you lose {rate} an hour on average."),
            (1, true, true) => format!("If you make one at a time, you lose {rate} an hour."),
            (_, false, false) => {
                format!("In batches of {n}, the smallest looked at, you earn only {rate} an hour on average.")
            }
            (_, false, true) => format!("In batches of {n}, the smallest looked at, you earn only {rate} an hour."),
            (_, true, false) => {
                format!("In batches of {n}, the smallest looked at, you lose {rate} an hour on average.")
            }
            (_, true, true) => format!("In batches of {n}, the smallest looked at, you lose {rate} an hour."),
        }];
        said.push(match small.floor_asked.price {
            None => self.why_no_price(small),
            Some(floor) if self.certain => format!(
                "To pay, a piece would then have to cost {}, not {}.",
                self.money(floor),
                self.price()
            ),
            Some(floor) => format!(
                "To pay in {}, a piece would then have to cost {}, not {}.",
                self.as_often(small.size),
                self.money(floor),
                self.price()
            ),
        });
        said
    }

    /// How much of the work is getting ready, where a bigger batch has clearly less of it.
    fn getting_ready(&self, first: &SizeAnswer) -> Option<String> {
        let small = self.smallest;
        let (much, less, n) = (
            share(small.setup_share),
            share(first.setup_share),
            count(first.size.into()),
        );
        if small.setup_share - first.setup_share < READY_FALLS {
            return None;
        }
        Some(if small.size == 1 {
            format!(
                "Getting ready takes {much} of the hours when you make one at a time, and {less} when you make {n}."
            )
        } else {
            format!(
                "Getting ready takes {much} of the hours when you make {} at a time, and {less} when you make {n}.",
                count(small.size.into())
            )
        })
    }

    /// Where one is made to order: what several to the same drawing would do.
    fn more_to_the_same_drawing(&self, one: &SizeAnswer) -> Option<String> {
        if self.alone() || self.pays(one) {
            return None;
        }
        let Some(first) = self.first_paying() else {
            return Some(format!(
                "Nor do {} or fewer at a time pay at your price.",
                count(self.largest.size.into())
            ));
        };
        let n = count(first.size.into());
        Some(if self.certain {
            format!("If you make {n} at a time, you {} an hour.", self.earns(first))
        } else {
            format!(
                "If you make {n} at a time, {} batches pay, and you {} an hour on average.",
                of_100(first.reach.share),
                self.earns(first)
            )
        })
    }

    /// Whether even the largest batch earns too little on average.
    fn no_size_will_do(&self) -> bool {
        self.most() < self.sweep.target
    }

    /// The most that any size looked at, or a very large one, earns on average. A short batch may earn more than long ones ever will:
    /// the first pieces go to the dearest channel, or none comes out whole.
    fn most(&self) -> f64 {
        let rates = self.sweep.sizes.iter().map(|a| a.rate.long_run);
        rates.fold(self.sweep.ceiling, f64::max)
    }

    /// Whether a bigger batch would do what none does that was looked at.
    fn would_more_do(&self, near: &SizeAnswer) -> Vec<String> {
        let sweep = self.sweep;
        if self.no_size_will_do() {
            let most = self.most();
            let channels = ends_of_channels(near).is_some_and(|(best, _)| best.rate.mean >= sweep.target);
            return vec![
                if most < 0.0 {
                    format!(
                        "However many you make, you lose at least {} an hour on average.",
                        self.money(-most)
                    )
                } else {
                    format!(
                        "However many you make, you earn no more than {} an hour on average.",
                        self.money(most)
                    )
                },
                if channels {
                    "So no batch size will do: the price, the hours or where the pieces go must change.".to_owned()
                } else {
                    "So no batch size will do: the price or the hours must change.".to_owned()
                },
            ];
        }
        if near.rate.long_run >= sweep.target {
            return vec!["On average that is enough, but too many batches fall short.".to_owned()];
        }
        if let Some(most) = self.unsold() {
            let from = count(most.size.into());
            let next = self.sweep.sizes.iter().find(|a| a.size > most.size);
            return vec![match next.and_then(|next| self.cause(most, next)) {
                Some(Cause { because, .. }) => {
                    format!("A bigger batch would not do it either: from {from} on you earn less an hour, {because}.")
                }
                None => format!("A bigger batch would not do it either: from {from} on you earn less an hour."),
            }];
        }
        if near.floor_asked.price.is_none() {
            return Vec::new();
        }
        let ceiling = self.money(self.most());
        if !self.certain && sweep.slow_ceiling < sweep.target {
            vec![
                "A bigger batch would not do it either.".to_owned(),
                format!(
                    "However many you make, the pace alone holds you to {} an hour or less in {} batches.",
                    self.money(sweep.slow_ceiling),
                    asked_of_100(1.0 - sweep.confidence)
                ),
            ]
        } else if self.alone() {
            vec![format!(
                "Very large batches could earn up to {ceiling} an hour, if that many sell; no other size was looked at."
            )]
        } else {
            vec![format!(
                "Very large batches could earn up to {ceiling} an hour, so a bigger one may do it, if that many sell."
            )]
        }
    }

    /// The size with the best hour, where larger ones were looked at, earn less and leave more unsold than they sell more.
    fn unsold(&self) -> Option<&'a SizeAnswer> {
        let best = self.best()?;
        let last = self.largest;
        let left = |a: &SizeAnswer| a.good.mean - a.sold.mean;
        (last.size > best.size && left(last) - left(best) > last.sold.mean - best.sold.mean).then_some(best)
    }

    /// Why a larger size earns less than a smaller one: what it has more of, for each piece started, in money. Nothing is said that
    /// is not among the figures.
    fn cause(&self, before: &SizeAnswer, after: &SizeAnswer) -> Option<Cause> {
        let per = |a: &SizeAnswer, of: f64| of / f64::from(a.size);
        let an_hour = before.rate.long_run.max(self.sweep.target).max(0.0);
        let a_piece = before.money.income / before.sold.mean;
        let setup = (after.hours_parts.setup - before.hours_parts.setup) * an_hour;
        let left = |a: &SizeAnswer| per(a, a.good.mean - a.sold.mean);
        let unsold = (left(after) - left(before)) * a_piece;
        let holding = per(after, after.money.holding) - per(before, before.money.holding);
        let most = setup.max(unsold).max(holding);
        let counts = |cost: f64| cost > 1e-9 * self.sweep.price.abs() && cost >= NAMED * most;
        let because = match (counts(setup), counts(unsold), counts(holding)) {
            (true, false, false) => "because another round with its own setup begins before the last is full",
            (true, true, _) => "because another round begins and not all of them sell",
            (true, false, true) => "because another round begins and what is not sold yet costs money to hold",
            (false, true, false) => "because not all of them sell",
            (false, true, true) => "because not all of them sell and what is not sold yet costs money to hold",
            (false, false, true) => "because what is not sold yet costs money to hold",
            (false, false, false) => return None,
        };
        Some(Cause {
            because,
            unsold: counts(unsold),
        })
    }

    /// The size with the best long-run hour.
    fn best(&self) -> Option<&'a SizeAnswer> {
        let sizes = self.sweep.sizes.iter();
        sizes.max_by(|a, b| a.rate.long_run.total_cmp(&b.rate.long_run).then(b.size.cmp(&a.size)))
    }

    /// The size that comes nearest where none pays.
    fn nearest(&self) -> Option<&'a SizeAnswer> {
        let size = size_of(self.sweep);
        self.sweep.sizes.iter().find(|a| a.size == size)
    }

    fn why_no_price(&self, at: &SizeAnswer) -> String {
        if at.floor_long_run.is_none() {
            "No price would pay, because tax, fees and refunds take all of it.".to_owned()
        } else {
            format!(
                "No price would pay in {}, because in more than {} nothing is left to sell.",
                self.as_often(at.size),
                asked_of_100(1.0 - at.floor_asked.confidence)
            )
        }
    }

    /// Why sizes after the first paying one do not pay, where it can be told.
    fn gap(&self, first: &SizeAnswer) -> Option<String> {
        let sizes = &self.sweep.sizes;
        let after = sizes.iter().filter(|a| a.size > first.size);
        let miss = after.clone().find(|a| !self.pays(a))?;
        let before = sizes.iter().rev().find(|a| a.size < miss.size)?;
        let size = count(miss.size.into());
        let for_good = after.clone().skip_while(|a| a.size < miss.size).all(|a| !self.pays(a));
        let cause = self.cause(before, miss);
        Some(match (for_good && miss.size < self.largest.size, cause) {
            (true, Some(Cause { because, unsold: true })) => format!(
                "From {size} on no size pays, {because}: of {} good ones {} are sold on average.",
                mean_count(miss.good.mean),
                mean_count(miss.sold.mean)
            ),
            (true, Some(Cause { because, .. })) => format!("From {size} on no size pays, {because}."),
            (true, None) => format!("From {size} on no size pays."),
            (false, Some(Cause { because, .. })) => format!("A batch of {size} does not pay, {because}."),
            (false, None) => format!("A batch of {size} does not pay."),
        })
    }

    /// Where a bigger batch stops adding.
    fn more_is(&self, first: &SizeAnswer) -> Option<String> {
        if self.alone() {
            return None;
        }
        let last = self.largest;
        let level = self.sweep.sizes.iter().find(|a| a.size == self.sweep.level_size)?;
        let best = self.best()?;
        let falls = last.rate.long_run < best.rate.long_run - FALLS * best.rate.long_run.abs();
        let average = if self.certain { "" } else { " on average" };
        let (n, end) = (count(level.size.into()), count(last.size.into()));
        Some(if falls && best.size >= first.size {
            let (most, least) = (count(best.size.into()), self.earns(last));
            let at_best = self.earns(best);
            match self.cause(best, last) {
                Some(Cause { because, .. }) => format!(
                    "At {most} you {at_best} an hour{average}, which is the best; at {end} you {least}, {because}."
                ),
                None => format!("At {most} you {at_best} an hour{average}, which is the best; at {end} you {least}."),
            }
        } else if level.size == last.size && level.size > first.size {
            // Were any smaller size better or level, it would be the level size.
            format!(
                "At {end}, the largest size looked at, you {} an hour{average}, which is the best; still larger ones may \
                 do better.",
                self.earns(last)
            )
        } else if level.size <= first.size {
            if first.size == last.size {
                return None;
            }
            format!(
                "Making more than {} at a time, up to the {end} looked at, adds next to nothing to the hour.",
                count(first.size.into())
            )
        } else {
            format!(
                "At {n} you {} an hour{average}; bigger batches, up to the {end} looked at, add less than 1 %.",
                self.earns(level)
            )
        })
    }

    /// That the first paying size may not be the smallest that pays.
    fn not_looked_at(&self, first: &SizeAnswer) -> Option<String> {
        let below = self.sweep.sizes.iter().rev().find(|a| a.size < first.size);
        match below {
            _ if first.size == 1 => None,
            _ if self.alone() => Some("No other size was looked at.".to_owned()),
            None => Some(format!(
                "No size under {} was looked at, so fewer may pay as well.",
                count(first.size.into())
            )),
            Some(below) if below.size + 1 < first.size => Some(format!(
                "No size between {} and {} was looked at, so fewer may pay as well.",
                count(below.size.into()),
                count(first.size.into())
            )),
            Some(_) => None,
        }
    }

    fn ceiling(&self) -> String {
        let sweep = self.sweep;
        // Small batches may earn more: their pieces go to the dearest channel first, or a lossy batch of one has nothing to pack.
        let passed = sweep
            .sizes
            .iter()
            .any(|a| a.rate.long_run > sweep.ceiling + 1e-9 * sweep.ceiling.abs() + 4.0 * a.rate.long_run_se);
        let ceiling = you_earn(sweep.ceiling, &sweep.currency);
        if passed {
            format!("In very large batches you {ceiling} an hour on average, though some smaller ones earn more.")
        } else if sweep.ceiling < 0.0 {
            format!("No batch size does better on average than the ceiling, where you {ceiling} an hour.")
        } else {
            format!(
                "No batch size earns more on average than the ceiling, {} an hour, where hardly any time goes into setup.",
                self.money(sweep.ceiling)
            )
        }
    }

    /// Which way of selling feeds the hour, and which does not.
    fn by_channel(&self) -> Option<String> {
        let at = self.first_paying().or_else(|| self.nearest())?;
        let (best, worst) = ends_of_channels(at)?;
        let (best_earns, worst_earns) = (
            you_earn(best.rate.mean, &self.sweep.currency),
            you_earn(worst.rate.mean, &self.sweep.currency),
        );
        let (batch, best_name, worst_name) = (batch_of(at.size), &best.name, &worst.name);
        let target = self.sweep.target;
        Some(if worst.rate.mean < target && best.rate.mean >= target {
            format!(
                "On pieces of {batch} that go to '{best_name}' you {best_earns} an hour; on those to '{worst_name}' you \
                 {worst_earns}, less than you want."
            )
        } else {
            format!(
                "On pieces of {batch} that go to '{best_name}' you {best_earns} an hour; on those to '{worst_name}' you \
                 {worst_earns}."
            )
        })
    }

    /// That the prices named leave out what they do to demand.
    fn as_many_buyers(&self) -> Option<String> {
        self.sweep
            .buyers_kept
            .then(|| format!("These prices count on as many buyers as there are at {}.", self.price()))
    }

    /// Sentences for a chart, the longest first.
    fn headlines(&self) -> Vec<String> {
        let goal = if self.sweep.target > 0.0 {
            format!("earn {} an hour", self.target())
        } else {
            "cover their costs".to_owned()
        };
        let (long, short) = match self.advice() {
            Advice::Pays(first) => {
                let make = self.make(first);
                let does = if self.certain {
                    format!("you {} an hour, and want {}", self.earns(first), self.target())
                } else {
                    format!("{} {} {goal}", of_100(first.reach.share), several(first.size))
                };
                (format!("{make}: {does}"), make)
            }
            Advice::Order(at) | Advice::Never(Some(at)) => {
                let short = match (at.size, self.pays(at), self.alone()) {
                    (1, true, _) => format!("One piece pays at {}", self.price()),
                    (1, false, true) => format!("One piece does not pay at {}", self.price()),
                    (_, true, _) => format!("A batch of {} pays at {}", count(at.size.into()), self.price()),
                    (_, false, true) => {
                        format!("A batch of {} does not pay at {}", count(at.size.into()), self.price())
                    }
                    (_, false, false) if matches!(self.advice(), Advice::Order(_)) => {
                        format!("One piece does not pay at {}", self.price())
                    }
                    (_, false, false) => format!("No size pays at {}", self.price()),
                };
                let long = match (at.floor_asked.price, self.sweep.buyers_kept, at.size) {
                    (None, _, _) => format!("{short}, and no price would"),
                    (Some(floor), false, 1) => format!("{short}; the lowest price that pays is {}", self.money(floor)),
                    (Some(floor), false, n) => format!(
                        "{short}; in batches of {} {} would pay",
                        count(n.into()),
                        self.money(floor)
                    ),
                    (Some(floor), true, 1) => format!(
                        "{short}; the lowest price that pays is {} with as many buyers",
                        self.money(floor)
                    ),
                    (Some(floor), true, n) => format!(
                        "{short}; in batches of {} {} would pay with as many buyers",
                        count(n.into()),
                        self.money(floor)
                    ),
                };
                (long, short)
            }
            Advice::Never(None) => ("No size pays".to_owned(), "No size pays".to_owned()),
        };
        vec![long, short, "What an hour earns, size by size".to_owned()]
    }
}

/// The channels with the best and the worst hour.
fn ends_of_channels(at: &SizeAnswer) -> Option<(&ChannelAnswer, &ChannelAnswer)> {
    let mut channels: Vec<_> = at.channels.iter().filter(|channel| channel.sold > 0.0).collect();
    channels.sort_by(|a, b| b.rate.mean.total_cmp(&a.rate.mean));
    // One that has all of the pieces is no other than itself.
    (channels.len() > 1).then_some((*channels.first()?, *channels.last()?))
}

/// Whether nothing varies from batch to batch.
#[must_use]
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

/// "earns 36.60 EUR", "loses 5.28 EUR".
pub(super) fn earns(rate: f64, currency: &str) -> String {
    if rate < 0.0 {
        format!("loses {}", money(-rate, currency))
    } else {
        format!("earns {}", money(rate, currency))
    }
}

/// The same of you: "earn 36.60 EUR", "lose 5.28 EUR".
pub(super) fn you_earn(rate: f64, currency: &str) -> String {
    if rate < 0.0 {
        format!("lose {}", money(-rate, currency))
    } else {
        format!("earn {}", money(rate, currency))
    }
}

/// "a single piece", "a batch of 9".
pub(super) fn batch_of(size: u32) -> String {
    if size == 1 {
        "a single piece".to_owned()
    } else {
        format!("a batch of {}", count(size.into()))
    }
}

/// What is counted out of 100: single pieces, or batches.
pub(super) const fn several(size: u32) -> &'static str {
    if size == 1 { "pieces" } else { "batches" }
}

pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::columns::Declared;
    use crate::render::samples::{Shop, any_sweep, gallery};
    use crate::render::{format, table};
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    /// All that a page says of it.
    fn said(sweep: &Sweep) -> String {
        [opening(sweep), why(sweep), more(sweep, true)].concat().join(" ")
    }

    #[test]
    fn sentences_of_every_kind() {
        let mut all = String::new();
        for (name, sweep) in gallery() {
            all.push_str(&format!(
                "== {name}\n{}\n\n{}\n\n{}\n[{}]\n({})\n\n",
                opening(&sweep).join("\n"),
                why(&sweep).join("\n"),
                more(&sweep, true).join("\n"),
                headline(&sweep),
                care(&sweep)
            ));
        }
        insta::assert_snapshot!(all);
    }

    /// All amounts of money in a text: figures that stand before the currency.
    fn amounts(text: &str) -> BTreeSet<String> {
        let words: Vec<&str> = text.split_whitespace().collect();
        words
            .windows(2)
            .filter(|pair| pair[1].starts_with("EUR"))
            .map(|pair| pair[0].trim_start_matches(['(', '-']).to_owned())
            .collect()
    }

    #[test]
    fn every_figure_in_the_words_stands_in_the_table_or_was_asked() {
        for (name, sweep) in gallery() {
            let look = crate::render::samples::look(200, true);
            let look = crate::render::text::Look { all: true, ..look };
            let table = table::sizes(&sweep).grid(&look).text(true, None);
            let mut known: BTreeSet<String> = table
                .split_whitespace()
                .map(|cell| cell.trim_start_matches('-').to_owned())
                .collect();
            for asked in [sweep.price, sweep.target] {
                known.insert(format::typed_amount(asked, &sweep.currency));
            }
            known.insert(format::amount(sweep.ceiling.abs(), &sweep.currency));
            known.insert(format::amount(sweep.slow_ceiling, &sweep.currency));
            let said = format!("{} {}", said(&sweep), headline(&sweep));
            let strange: Vec<String> = amounts(&said).difference(&known).cloned().collect();
            assert!(!amounts(&said).is_empty(), "{name}: says no amount at all");
            assert!(strange.is_empty(), "{name}: {strange:?} in {said}");
        }
    }

    #[test]
    fn the_words_agree_with_the_first_paying_size() {
        for (name, sweep) in gallery() {
            let first = opening(&sweep).remove(0);
            match sweep.first_paying_size {
                _ if sweep.sizes.iter().all(|a| a.size == 1) => {
                    assert!(first.contains("for one piece"), "{name}: {first}")
                }
                Some(n) => assert!(
                    first.starts_with("Make ") && first.contains(&count(n.into())),
                    "{name}: {first}"
                ),
                None => assert!(
                    first.starts_with("Charge at least ") || first.starts_with("Do not make "),
                    "{name}: {first}"
                ),
            }
        }
    }

    /// One table is ordered: it needs a price and a chance, and no advice to make two.
    #[test]
    fn what_is_made_to_order_gets_a_price() {
        let (_, mut table) = gallery()
            .into_iter()
            .find(|(name, _)| *name == "table")
            .expect("a table");
        table.made_to_order = true;
        table.sizes[0].reach.share = 0.69;
        table.first_paying_size = Some(2);
        table.sizes[1].reach.share = 0.91;
        let [first, chance, average] = opening(&table).try_into().expect("three sentences");
        let floor = money(table.sizes[0].floor_asked.price.expect("a price"), "EUR");
        assert_eq!(
            first,
            format!("Charge at least {floor} for one piece; your 2,900 EUR is too little.")
        );
        assert!(chance.contains("in 69 of 100 pieces; you need 80 of 100."), "{chance}");
        assert!(average.starts_with("On average you "), "{average}");
        assert!(
            why(&table)[0].starts_with("If you make 2 at a time, 91 of 100 batches pay, and you "),
            "{:?}",
            why(&table)
        );
        table.sizes[0].reach.share = 0.97;
        assert!(opening(&table)[0].ends_with("for one piece; your 2,900 EUR is enough."));
    }

    #[test]
    fn a_saw_tooth_is_told_with_its_reason() {
        // Room for six: the seventh opens a round that costs its whole setup. Certain, so that nothing blurs the teeth.
        let shop = Shop {
            setup: 60.0,
            room: 6,
            price: 50.0,
            target: 55.0,
            ..Shop::default()
        };
        let sweep = shop.sweep(1..=14);
        let paying: Vec<u32> = sweep
            .sizes
            .iter()
            .filter(|a| a.reach.share >= 0.8)
            .map(|a| a.size)
            .collect();
        // By hand: 45 / 55 h is 49.09 min a piece; 35 + 60 x rounds / n: n = 5 is 47, 7 is 52.1, 8 is 50, 9 is 48.3, 13 is 48.8.
        assert_eq!(paying, [5, 6, 9, 10, 11, 12, 13, 14]);
        let said = said(&sweep);
        assert!(said.starts_with("Make 5 to 6, or 9 to 14, at a time."), "{said}");
        assert!(
            said.contains(
                "A batch of 7 does not pay, because another round with its own setup begins before the last is full."
            ),
            "{said}"
        );
    }

    /// Where each of several stretches of sizes pays, the words leave them to the table.
    #[test]
    fn many_gaps_are_left_to_the_table() {
        let mut sweep = Shop::default().sweep(1..=12);
        for answer in &mut sweep.sizes {
            answer.reach.share = f64::from(u8::from(answer.size % 2 == 0));
        }
        sweep.first_paying_size = Some(2);
        assert_eq!(
            opening(&sweep)[0],
            "Make 2 at a time, or another size marked in the table."
        );
        assert!(
            why(&sweep)[0].starts_with("A batch of 3 does not pay."),
            "{:?}",
            why(&sweep)
        );
    }

    #[test]
    fn nothing_certain_talks_of_chances() {
        let said = said(&Shop::default().sweep(1..=10));
        assert!(!said.contains("of 100") && !said.contains("you need"), "{said}");
    }

    #[test]
    fn a_ceiling_below_the_target_says_that_no_size_will_do() {
        let shop = Shop {
            target: 90.0,
            ..Shop::default()
        };
        // By hand: 45 for 35 min without setup is 77.14 an hour.
        let said = said(&shop.sweep(1..=40));
        assert!(
            said.contains("you earn no more than 77.14 EUR an hour on average. So no batch size will do"),
            "{said}"
        );
    }

    /// Ten sell, however many are made: from there on the hour falls, and more is no cure.
    #[test]
    fn where_no_more_sell_a_bigger_batch_is_not_advised() {
        let ten_sell = |target: f64| {
            let mut sweep = Shop {
                target,
                ..Shop::default()
            }
            .sweep(1..=20);
            for answer in sweep.sizes.iter_mut().filter(|a| a.size > 10) {
                answer.sold.mean = 10.0;
                answer.rate.long_run *= 10.0 / f64::from(answer.size);
            }
            sweep
        };
        let text = said(&ten_sell(40.0));
        // By hand: 45 for 60 / 10 + 35 min is 65.85 an hour; at 20, half of 45 for 38 min is 35.53.
        assert!(
            text.contains(
                "At 10 you earn 65.85 EUR an hour, which is the best; at 20 you earn 35.53 EUR, because not all of them sell."
            ),
            "{text}"
        );
        let mut poor = ten_sell(70.0);
        poor.first_paying_size = None;
        for answer in &mut poor.sizes {
            answer.reach.share = 0.0;
        }
        let text = said(&poor);
        assert!(
            text.contains(
                "A bigger batch would not do it either: from 10 on you earn less an hour, because not all of them sell."
            ),
            "{text}"
        );
    }

    /// The hour falls where a second round begins as well as for want of buyers.
    #[test]
    fn another_round_is_told_with_the_want_of_buyers() {
        let mut sweep = Shop {
            room: 10,
            target: 70.0,
            ..Shop::default()
        }
        .sweep(1..=20);
        for answer in sweep.sizes.iter_mut().filter(|a| a.size > 10) {
            answer.sold.mean = 10.0;
            answer.rate.long_run *= 10.0 / f64::from(answer.size);
        }
        sweep.first_paying_size = None;
        sweep.ceiling = 80.0;
        let said = said(&sweep);
        assert!(
            said.contains("from 10 on you earn less an hour, because another round begins and not all of them sell."),
            "{said}"
        );
    }

    /// Where the pace alone is too often too slow, no bigger batch is held out.
    #[test]
    fn a_pace_too_slow_too_often_ends_the_hope() {
        let mut sweep = Shop {
            target: 60.0,
            spread: (0.1, 0.1),
            ..Shop::default()
        }
        .sweep(1..=4);
        sweep.first_paying_size = None;
        assert!(
            said(&sweep).contains("so a bigger one may do it, if that many sell"),
            "{}",
            said(&sweep)
        );
        sweep.slow_ceiling = 52.5;
        assert!(
            said(&sweep).contains(
                "However many you make, the pace alone holds you to 52.50 EUR an hour or less in 20 of 100 batches."
            ),
            "{}",
            said(&sweep)
        );
    }

    #[test]
    fn prices_say_whose_buyers_they_take() {
        let mut sweep = Shop::default().sweep(1..=10);
        assert!(!said(&sweep).contains("buyers"));
        sweep.buyers_kept = true;
        assert!(
            said(&sweep).contains("These prices count on as many buyers as there are at 50 EUR."),
            "{}",
            said(&sweep)
        );
        sweep.first_paying_size = None;
        assert!(
            headline(&sweep).ends_with("with as many buyers"),
            "{}",
            headline(&sweep)
        );
    }

    /// A level reached at the end of what was looked at says so, and what lies beyond.
    #[test]
    fn how_far_more_was_looked_at_is_said() {
        let mut sweep = Shop::default().sweep(1..=40);
        sweep.level_size = 36;
        let said = said(&sweep);
        // By hand: 45 for 60 / 36 + 35 min is 73.64; without any setup 77.14.
        for sentence in [
            "At 36 you earn 73.64 EUR an hour; bigger batches, up to the 40 looked at, add less than 1 %.",
            "No batch size earns more on average than the ceiling, 77.14 EUR an hour",
        ] {
            assert!(said.contains(sentence), "{said}");
        }
    }

    /// A lossy batch of one may earn more than large ones ever will; then that is the most, and not the ceiling.
    #[test]
    fn a_size_above_the_ceiling_is_the_most() {
        let mut sweep = Shop {
            target: 90.0,
            ..Shop::default()
        }
        .sweep(1..=4);
        sweep.sizes[0].rate.long_run = 80.0;
        assert!(
            said(&sweep).contains("no more than 80.00 EUR an hour"),
            "{}",
            said(&sweep)
        );
        sweep.target = 78.0;
        assert!(
            said(&sweep).contains("you earn 77.14 EUR an hour on average, though some smaller ones earn more"),
            "{}",
            said(&sweep)
        );
    }

    #[test]
    fn a_floor_that_no_price_reaches_is_said_with_its_reason() {
        let mut sweep = Shop {
            target: 70.0,
            spread: (0.1, 0.1),
            ..Shop::default()
        }
        .sweep(1..=12);
        let unreachable = |answer: &mut SizeAnswer| {
            (
                answer.floor_asked.price,
                answer.floor_asked.low,
                answer.floor_asked.high,
            ) = (None, None, None);
        };
        // A one-off too often comes to nothing, a batch does not.
        unreachable(&mut sweep.sizes[0]);
        sweep.target = 30.0;
        sweep.first_paying_size = Some(4);
        assert!(
            said(&sweep).contains(
                "No price would pay in 80 of 100 pieces, because in more than 20 of 100 nothing is left to sell."
            ),
            "{}",
            said(&sweep)
        );
        // No size has a price.
        sweep.sizes.iter_mut().for_each(unreachable);
        sweep.first_paying_size = None;
        sweep.sizes.iter_mut().for_each(|a| a.floor_long_run = None);
        assert!(
            said(&sweep).contains("No price would pay, because tax, fees and refunds take all of it."),
            "{}",
            said(&sweep)
        );
        assert!(headline(&sweep).ends_with("and no price would"), "{}", headline(&sweep));
    }

    #[test]
    fn the_largest_currency_still_fits_the_headline() {
        for (_, mut sweep) in gallery() {
            sweep.price *= 1e9;
            for answer in &mut sweep.sizes {
                answer.rate.long_run *= 1e12;
                answer.floor_asked.price = answer.floor_asked.price.map(|p| p * 1e12);
            }
            let text = headline(&sweep);
            assert!(
                !text.is_empty() && text.chars().count() <= HEADLINE_CHARACTERS,
                "{text}"
            );
        }
    }

    proptest! {
        #[test]
        fn no_answer_makes_the_words_fail(sweep in any_sweep()) {
            prop_assert!((1..=3).contains(&opening(&sweep).len()));
            prop_assert!(!said(&sweep).is_empty());
            prop_assert!(headline(&sweep).chars().count() <= HEADLINE_CHARACTERS);
            prop_assert!(!care(&sweep).is_empty());
        }
    }
}
