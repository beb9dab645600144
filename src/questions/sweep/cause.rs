//! Why a larger batch earns less an hour than a smaller one.

use super::{Sells, SizeAnswer, Sweep};
use crate::model::uneven::Uneven;
use crate::questions::size_of;

/// What a larger batch has more of, for each piece started.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause<'a> {
    /// Setup, and what a round costs besides: another begins, which is not full.
    Setup,
    /// What a round without setup costs: another begins, which is not full.
    Round,
    /// What orders take: another begins, which is not full.
    Order,
    /// What is bought of a material and not used.
    Pack(&'a str),
    /// Pieces that stay unsold.
    Unsold,
    /// What it costs to hold what is not sold yet.
    Holding,
    /// Pieces that are sold where they bring less.
    Cheaper,
}

impl Sweep {
    /// The size with the best long-run hour.
    #[must_use]
    pub fn best(&self) -> Option<&SizeAnswer> {
        let better =
            |a: &&SizeAnswer, b: &&SizeAnswer| a.rate.long_run.total_cmp(&b.rate.long_run).then(b.size.cmp(&a.size));
        self.sizes.iter().max_by(better)
    }

    /// The size that a season or a steady sale advises, where it is told.
    #[must_use]
    pub fn weighed_size(&self) -> Option<u32> {
        self.advised_size.filter(|_| self.weighs())
    }

    /// Whether a season or a steady sale says which size is advised: of one there is nothing to choose, and what is made to order waits for a buyer.
    pub(super) fn weighs(&self) -> bool {
        self.sells != Sells::All && self.sizes.len() > 1 && !self.made_to_order
    }

    /// The first size that does not pay after one that does, and the one before it.
    #[must_use]
    pub fn gap(&self) -> Option<(&SizeAnswer, &SizeAnswer)> {
        let first = self.first_paying_size?;
        let pairs = self.sizes.windows(2).filter(|pair| pair[0].size >= first);
        pairs
            .map(|pair| (&pair[0], &pair[1]))
            .find(|(_, after)| !after.pays(self.confidence))
    }

    /// The size whose price is told above the asked one: the smallest where a larger one pays, else the one that is spoken of.
    pub(super) fn raised(&self) -> Option<u32> {
        let told = self
            .first_paying_size
            .map_or(size_of(self), |_| self.sizes.first().map_or(1, |at| at.size));
        let mut sizes = self.sizes.iter();
        sizes
            .find(|at| at.size == told && at.floor_asked.price.is_some_and(|lowest| lowest > self.price))
            .map(|at| at.size)
    }

    /// Sizes between which a cause is asked for: on either side of a gap, and the best, the next after it and the last where these earn less.
    pub(super) fn explained(&self) -> Vec<u32> {
        let gap = self
            .gap()
            .into_iter()
            .flat_map(|(before, after)| [before.size, after.size]);
        let best = self.best().map_or(u32::MAX, |best| best.size);
        let mut beyond = self
            .sizes
            .iter()
            .filter(|answer| answer.size > best)
            .map(|answer| answer.size);
        let (next, last) = (beyond.next(), beyond.next_back());
        let mut sizes: Vec<u32> = gap.chain(next.map(|_| best)).chain(next).chain(last).collect();
        sizes.sort_unstable();
        sizes.dedup();
        sizes
    }

    /// Why the larger of two sizes earns less: the greatest of what it has more of. `None` where it earns no less, or for no such reason: what
    /// is left to chance alone has none.
    #[must_use]
    pub fn cause(&self, before: &SizeAnswer, after: &SizeAnswer) -> Option<Cause<'_>> {
        if after.rate.long_run >= before.rate.long_run {
            return None;
        }
        let more = self.more_of(before, after);
        let (cause, cost) = more.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        (cost > self.nothing()).then_some(cause)
    }

    /// Money for a piece that is rounding and no cost.
    fn nothing(&self) -> f64 {
        1e-9 * self.price.abs()
    }

    /// What the larger of two sizes has more of for each piece started, in money, each hour at what it earns or should; below 0: less. Of
    /// sizes that are not among [`Sweep::uneven`] orders, packs and the like are not known.
    #[must_use]
    pub fn more_of(&self, before: &SizeAnswer, after: &SizeAnswer) -> Vec<(Cause<'_>, f64)> {
        let an_hour = before.rate.long_run.max(self.target).max(0.0);
        let more =
            |of: &dyn Fn(&SizeAnswer) -> f64| of(after) / f64::from(after.size) - of(before) / f64::from(before.size);
        // Where nothing sold nobody knows what one brings.
        let a_sold_one = if before.sold.mean > 0.0 {
            before.money.income / before.sold.mean
        } else {
            0.0
        };
        let setup = (after.hours_parts.setup - before.hours_parts.setup) * an_hour;
        let mut causes = vec![
            (Cause::Unsold, more(&SizeAnswer::left_over) * a_sold_one),
            (Cause::Holding, more(&|answer| answer.money.holding)),
        ];
        let known = |size: u32| self.uneven.iter().find(|(of, _)| *of == size).map(|(_, uneven)| uneven);
        let mut rounds = 0.0;
        if let (Some(was), Some(is)) = (known(before.size), known(after.size)) {
            let more = |of: &dyn Fn(&Uneven) -> f64| of(is) / f64::from(after.size) - of(was) / f64::from(before.size);
            rounds = more(&|uneven| uneven.rounds);
            let sold = after.sold.mean / f64::from(after.size);
            causes.push((
                Cause::Order,
                more(&|uneven| uneven.orders + uneven.order_hours * an_hour),
            ));
            causes.push((Cause::Cheaper, (was.brings - is.brings) * sold));
            let packs = is.packs.iter().zip(&was.packs);
            causes.extend(packs.map(|((name, is), (_, was))| {
                let more = is / f64::from(after.size) - was / f64::from(before.size);
                (Cause::Pack(name), more)
            }));
        }
        let round = if setup > self.nothing() {
            Cause::Setup
        } else {
            Cause::Round
        };
        causes.push((round, setup + rounds));
        causes
    }
}
