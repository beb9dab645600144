//! Why: what smaller sizes or lower prices lose, and what makes larger ones earn less.

use super::{View, ceiling_is_passed, ends_of_channels, is_or_are};
use crate::questions::sweep::{Cause, Sells, SizeAnswer};
use crate::render::format::{asked_of_100, count, mean_count, of_100, only, share};
use crate::render::words::{batches_of, capital, lowest_price_at, may_be_too_little, one_or_count, several};

/// A fall of the share that setup takes, from which on it is given as a reason (assumption).
pub(super) const READY_FALLS: f64 = 0.05;

impl<'a> View<'a> {
    /// The lowest price, where the smallest size pays already.
    pub(super) fn lowest_price(&self, first: &SizeAnswer) -> Option<String> {
        let floor = first.floor_asked.price.filter(|_| !self.sweep.buyers_kept)?;
        let (lowest, own) = (self.enough(floor), self.price());
        // Of several, it is told of the first.
        let one = self.alone() || self.holds_from(first);
        let made = match first.size {
            _ if one => String::new(),
            1 => " for a single piece".to_owned(),
            n => format!(" in batches of {}", count(n.into())),
        };
        Some(if floor <= 0.0 {
            format!("Any price would pay{made}; yours is {own}.")
        } else if self.certain {
            format!("The lowest price that pays{made} is {lowest} a piece; yours is {own}.")
        } else if one {
            let often = self.as_often(first.size);
            format!("The lowest price that pays in {often} is {lowest} a piece; yours is {own}.")
        } else {
            let (often, made) = (
                asked_of_100(self.sweep.confidence),
                batches_of(first.size, several(first.size)),
            );
            format!("The lowest price that pays in {often} {made} is {lowest} a piece; yours is {own}.")
        })
    }

    /// What the smallest size, mostly a single piece, earns, and what would have to be charged for it.
    pub(super) fn smaller_loses(&self) -> Vec<String> {
        let small = self.smallest;
        let loses = small.rate.long_run < 0.0;
        let rate = self.money(small.rate.long_run.abs());
        // On average even that may be enough, where too many fall short.
        let rate = match loses || small.rate.long_run >= self.sweep.target {
            true => rate,
            false => only(&rate),
        };
        let made = match small.size {
            1 => "If you make one at a time".to_owned(),
            n => format!("In batches of {}, the smallest looked at", count(n.into())),
        };
        let earn = if loses { "lose" } else { "earn" };
        let average = if self.certain { "" } else { " on average" };
        let mut said = vec![format!("{made}, you {earn} {rate} an hour{average}.")];
        let (own, often) = (self.price(), self.as_often(small.size));
        // Where buyers answer to the price, another price is `floor`'s to say.
        if self.sweep.buyers_kept {
            return said;
        }
        said.push(match small.floor_asked.price.map(|floor| self.enough(floor)) {
            None => self.why_no_price(small),
            Some(lowest) if self.certain => {
                format!("To pay, you would have to charge {lowest} for a piece, not {own}.")
            }
            Some(lowest) => {
                format!("To pay in {often}, you would have to charge {lowest} for a piece, not {own}.")
            }
        });
        said.extend(self.may_be_too_little(small));
        said
    }

    /// That the price told for this size may not be enough.
    pub(super) fn may_be_too_little(&self, at: &SizeAnswer) -> Option<String> {
        let (_, share) = self
            .sweep
            .worse_when_dearer
            .filter(|(size, _)| *size == at.size && !self.sweep.buyers_kept)?;
        may_be_too_little(share, &self.enough(at.floor_asked.price?), several(at.size))
    }

    /// How much of the work is setup, where a bigger batch has clearly less of it.
    pub(super) fn getting_ready(&self, first: &SizeAnswer) -> Option<String> {
        let small = self.smallest;
        let [much, less] = [small, first].map(|at| share(at.setup_share));
        let (few, n) = (one_or_count(small.size), count(first.size.into()));
        (small.setup_share - first.setup_share >= READY_FALLS).then(|| {
            format!("Setup takes {much} of the hours when you make {few} at a time, and {less} when you make {n}.")
        })
    }

    /// Where one is made to order: what several to the same drawing would do.
    pub(super) fn more_to_the_same_drawing(&self, one: &SizeAnswer) -> Option<String> {
        if self.alone() || self.pays(one) {
            return None;
        }
        let Some(first) = self.first_paying() else {
            let up_to = if self.largest.size > 2 { "up to " } else { "" };
            return Some(format!(
                "Making {up_to}{} together to the same drawing does not pay at your price either.",
                count(self.largest.size.into())
            ));
        };
        let n = count(first.size.into());
        Some(if self.certain {
            format!("If {n} are made together, you {} an hour.", self.earns(first))
        } else {
            format!(
                "If {n} are made together, {} batches pay, and you {} an hour on average.",
                of_100(first.reach.share),
                self.earns(first)
            )
        })
    }

    /// Whether even the largest batch earns too little on average.
    pub(super) fn no_size_will_do(&self) -> bool {
        self.most() < self.sweep.target
    }

    /// The most that any size looked at, or a very large one, earns on average. A short batch may earn more than long ones ever will:
    /// the first pieces go to the dearest channel, or none comes out whole.
    pub(super) fn most(&self) -> f64 {
        let rates = self.sweep.sizes.iter().map(|a| a.rate.long_run);
        rates.fold(self.sweep.ceiling, f64::max)
    }

    /// Which size needs the lowest price, where that is not the one that is spoken of.
    pub(super) fn lower_elsewhere(&self, near: &SizeAnswer) -> Option<String> {
        let sizes = self.sweep.sizes.iter();
        let priced = sizes.filter_map(|a| Some((a.floor_asked.price?, a.size)));
        let (lowest, size) = priced.min_by(|a, b| a.0.total_cmp(&b.0))?;
        let (own, shown) = (self.enough(near.floor_asked.price?), self.enough(lowest));
        (own != shown && !self.sweep.buyers_kept).then(|| lowest_price_at(size, lowest, &shown))
    }

    /// Whether a bigger batch would do what none does that was looked at.
    pub(super) fn would_more_do(&self, near: &SizeAnswer) -> Vec<String> {
        let sweep = self.sweep;
        if self.no_size_will_do() {
            let most = self.most();
            let channels = ends_of_channels(near).is_some_and(|(best, _)| best.rate.mean >= sweep.target);
            let (fast, figure) = (self.as_fast_as(), self.money(most.abs()));
            // What a size looked at passes is no bound for those that were not.
            let passed = ceiling_is_passed(sweep);
            let none = if passed { "none of them" } else { "no batch size" };
            let what = match channels {
                true => "the price, the hours or where the pieces go",
                false => "the price or the hours",
            };
            return vec![
                match (passed, most < 0.0) {
                    (false, true) => {
                        format!("However many you make, you lose at least {figure} an hour on average{fast}.")
                    }
                    (false, false) => {
                        format!("However many you make, you earn no more than {figure} an hour on average{fast}.")
                    }
                    (true, true) => format!("No size looked at loses less than {figure} an hour on average."),
                    (true, false) => format!("No size looked at earns more than {figure} an hour on average."),
                },
                format!("So {none} will do: {what} must change."),
            ];
        }
        if near.rate.long_run >= sweep.target {
            let batches = capital(&batches_of(near.size, "pieces made one at a time"));
            return vec![format!(
                "{batches} earn enough on average, but too many of them fall short."
            )];
        }
        if let Some(most) = self.unsold() {
            let from = count(most.size.into());
            let next = self.sweep.sizes.iter().find(|a| a.size > most.size);
            let cause = next.and_then(|next| self.sweep.cause(most, next));
            let because = cause.map_or_else(String::new, |cause| format!(", {}", self.because(cause)));
            return vec![format!(
                "A bigger batch would not do it either: from {from} on you earn less an hour{because}."
            )];
        }
        if near.floor_asked.price.is_none() {
            return Vec::new();
        }
        if !self.most().is_finite() {
            return vec!["A bigger batch does better, as all the time goes into setup.".to_owned()];
        }
        if !self.certain && sweep.slow_ceiling < sweep.target {
            vec![
                "A bigger batch would not do it either.".to_owned(),
                format!(
                    "However many you make, the pace alone holds you to {} an hour or less in {} batches.",
                    self.money(sweep.slow_ceiling),
                    asked_of_100(1.0 - sweep.confidence)
                ),
            ]
        } else if sweep.ceiling_is_of_left_over {
            vec!["A bigger batch may do it by what is left over.".to_owned()]
        } else if self.alone() {
            vec!["A bigger batch may do it, if that many sell; no other size was looked at.".to_owned()]
        } else {
            vec!["A bigger batch may do it, if that many sell.".to_owned()]
        }
    }

    /// The size with the best hour, where larger ones were looked at, earn less and leave more unsold than they sell more.
    pub(super) fn unsold(&self) -> Option<&'a SizeAnswer> {
        let best = self.sweep.best()?;
        let last = self.largest;
        let more_left = last.left_over() - best.left_over();
        (last.size > best.size && more_left > last.sold.mean - best.sold.mean).then_some(best)
    }

    /// Why a larger size earns less than a smaller one, as a clause that ends a sentence.
    pub(super) fn because(&self, cause: Cause) -> String {
        match cause {
            Cause::Setup => "because it takes another round, which has its own setup and is not full".to_owned(),
            Cause::Round => "because it takes another round, which is not full".to_owned(),
            Cause::Order => "because more of its pieces go out in orders that are not full".to_owned(),
            Cause::Pack(name) => format!("because it takes another pack of '{name}', which is not used up"),
            Cause::Unsold | Cause::Cheaper if self.sweep.has_sets && self.sweep.sells == Sells::All => {
                "because some of its pieces make no full set".to_owned()
            }
            Cause::Unsold => "because not all of them sell".to_owned(),
            Cause::Cheaper => "because more of its pieces are sold where they bring less".to_owned(),
            Cause::Holding => "because what is not sold yet costs money to hold".to_owned(),
        }
    }

    pub(super) fn why_no_price(&self, at: &SizeAnswer) -> String {
        if at.sold.mean == 0.0 {
            return match (at.good.mean > 0.0, self.sweep.sells) {
                (false, _) => "No price would pay, because no piece comes out whole.".to_owned(),
                (true, _) if self.sweep.has_sets => "No price would pay, because nothing is sold.".to_owned(),
                (true, Sells::UntilASeasonEnds) if self.sweep.buyers_kept => {
                    let price = self.price();
                    format!("At {price} nobody buys, and without buyers no price would pay.")
                }
                (true, Sells::UntilASeasonEnds) => "No price would pay, because nobody buys.".to_owned(),
                (true, _) => "No price would pay, because nothing is sold.".to_owned(),
            };
        }
        if at.floor_long_run.is_none() {
            "No price would pay, because tax, fees and refunds take all of it.".to_owned()
        } else {
            let unsold = asked_of_100(1.0 - at.floor_asked.confidence);
            if self.sweep.buyers_kept {
                let (price, many) = (self.price(), several(at.size));
                return format!(
                    "At {price} nothing is sold in more than {unsold} {many}, and without buyers no price would pay."
                );
            }
            format!(
                "No price would pay in {}, because in more than {unsold} nothing is sold and kept.",
                self.as_often(at.size)
            )
        }
    }

    /// Why sizes after the first paying one do not pay, where it can be told.
    pub(super) fn gap(&self) -> Option<String> {
        let (before, miss) = self.sweep.gap()?;
        let size = count(miss.size.into());
        let after = self.sweep.sizes.iter().filter(|a| a.size >= miss.size);
        let for_good = after.into_iter().all(|a| !self.pays(a)) && miss.size < self.largest.size;
        let cause = self.sweep.cause(before, miss);
        let because = cause.map_or_else(String::new, |cause| format!(", {}", self.because(cause)));
        Some(match for_good {
            true if cause == Some(Cause::Unsold) => {
                let sold = mean_count(miss.sold.mean);
                format!(
                    "From {size} on no size pays{because}: of {} good ones {sold} {} sold on average.",
                    mean_count(miss.good.mean),
                    is_or_are(&sold)
                )
            }
            true => format!("From {size} on no size pays{because}."),
            false => format!("A batch of {size} does not pay{because}."),
        })
    }
}
