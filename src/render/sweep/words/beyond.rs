//! What else there is to know: more pieces, the ceiling, channels, the headline of the chart.

use super::{Advice, View, batch_of, ends_of_channels, several, you_earn};
use crate::questions::sweep::{Sells, SizeAnswer, Sweep};
use crate::render::format::{count, of_100};
use crate::render::words::{batches_of, joined, one_or_count};

impl<'a> View<'a> {
    /// Where a bigger batch stops adding.
    pub(super) fn more_is(&self, first: &SizeAnswer) -> Option<String> {
        if self.alone() {
            return None;
        }
        let last = self.largest;
        let level = self.sweep.sizes.iter().find(|a| a.size == self.sweep.level_size)?;
        let best = self.sweep.best()?;
        let falls = last.rate.long_run < best.rate.long_run - FALLS * best.rate.long_run.abs();
        let average = if self.certain { "" } else { " on average" };
        let (n, end) = (count(level.size.into()), count(last.size.into()));
        Some(if falls && best.size >= first.size {
            let (most, least) = (count(best.size.into()), self.earns(last));
            let at_best = self.earns(best);
            let cause = self.sweep.cause(best, last);
            let because = cause.map_or_else(String::new, |cause| format!(", {}", self.because(cause)));
            format!("At {most} you {at_best} an hour{average}, which is the best; at {end} you {least}{because}.")
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
    pub(super) fn not_looked_at(&self, first: &SizeAnswer) -> Option<String> {
        let below = self.sweep.sizes.iter().rev().find(|a| a.size < first.size);
        let n = count(first.size.into());
        match below {
            _ if first.size == 1 => None,
            _ if self.alone() => Some("No other size was looked at.".to_owned()),
            None => Some(format!("No size under {n} was looked at, so fewer may pay as well.")),
            Some(below) if below.size + 1 < first.size => {
                let below = count(below.size.into());
                Some(format!(
                    "No size between {below} and {n} was looked at, so fewer may pay as well."
                ))
            }
            Some(_) => None,
        }
    }

    pub(super) fn ceiling(&self) -> String {
        let sweep = self.sweep;
        let ceiling = you_earn(sweep.ceiling, &sweep.currency);
        if ceiling_is_passed(sweep) {
            format!("In very large batches you {ceiling} an hour on average, though some smaller ones earn more.")
        } else if sweep.ceiling < 0.0 {
            format!("No batch size does better on average than the ceiling, where you {ceiling} an hour.")
        } else {
            let setup = (self.smallest.setup_share > 0.0).then_some("hardly any time goes into setup");
            let sells = match (sweep.sells, sweep.ceiling_is_of_left_over) {
                (Sells::UntilASeasonEnds, true) => Some("nearly all pieces are left over"),
                (Sells::UntilASeasonEnds, false) => Some("every piece sells"),
                _ => None,
            };
            let there: Vec<&str> = setup.into_iter().chain(sells).collect();
            let there = joined(&there).map_or_else(String::new, |there| format!(", where {there}"));
            format!(
                "No batch size earns more on average than the ceiling, {} an hour{there}{}.",
                self.money(sweep.ceiling),
                self.as_fast_as()
            )
        }
    }

    /// How fast the ceiling takes you to be, where learning has no end.
    pub(super) fn as_fast_as(&self) -> String {
        let at = self.sweep.ceiling_at;
        at.map_or_else(String::new, |at| {
            format!(", if you are as fast as at piece {}", count(at.into()))
        })
    }

    /// Which way of selling feeds the hour, and which does not.
    pub(super) fn by_channel(&self) -> Option<String> {
        let at = self.nearest()?;
        let (best, worst) = ends_of_channels(at)?;
        let [best_earns, worst_earns] = [best, worst].map(|of| you_earn(of.rate.mean, &self.sweep.currency));
        let (best_name, worst_name) = (&best.name, &worst.name);
        let pieces = match at.size {
            1 => "single pieces".to_owned(),
            _ => format!("pieces of {}", batch_of(at.size)),
        };
        let target = self.sweep.target;
        // Who loses need not be told that this is less than is wanted.
        let less = match (0.0..target).contains(&worst.rate.mean) && best.rate.mean >= target {
            true => ", less than you want",
            false => "",
        };
        Some(format!(
            "On {pieces} that go to '{best_name}' you {best_earns} an hour; on those to '{worst_name}' you {worst_earns}{less}."
        ))
    }

    /// That the prices of the table leave out what they do to demand.
    pub(super) fn as_many_buyers(&self) -> Option<String> {
        self.sweep
            .buyers_kept
            .then(|| "The prices that pay in the table leave out that fewer people buy at a higher price.".to_owned())
    }

    /// Sentences for a chart, the longest first.
    pub(super) fn headlines(&self) -> Vec<String> {
        let goal = if self.sweep.target > 0.0 {
            format!("earn {} an hour", self.target())
        } else {
            "cover their costs".to_owned()
        };
        let (long, short) = match self.advice() {
            Advice::Pays(first) | Advice::Weighed(first) => {
                let (make, one) = (self.make(first), self.is_one(first));
                let does = match (self.certain, one) {
                    (true, true) => format!("you {} an hour, and want {}", self.earns(first), self.target()),
                    (true, false) => format!(
                        "with {} you {} an hour, and want {}",
                        one_or_count(first.size),
                        self.earns(first),
                        self.target()
                    ),
                    (false, true) => format!("{} {} {goal}", of_100(first.reach.share), several(first.size)),
                    (false, false) => format!(
                        "{} {} {goal}",
                        of_100(first.reach.share),
                        batches_of(first.size, several(first.size))
                    ),
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
                let (lowest, n) = (
                    at.floor_asked.price.map(|floor| self.enough(floor)),
                    count(at.size.into()),
                );
                let long = match (lowest, self.sweep.buyers_kept, at.size) {
                    (_, true, _) => short.clone(),
                    (None, false, _) => format!("{short}, and no price would"),
                    (Some(lowest), false, 1) => format!("{short}; the lowest price that pays is {lowest}"),
                    (Some(lowest), false, _) => format!("{short}; {lowest} would pay in batches of {n}"),
                };
                (long, short)
            }
            Advice::Never(None) => ("No size pays".to_owned(), "No size pays".to_owned()),
        };
        vec![long, short, "What an hour earns, size by size".to_owned()]
    }
}

/// A share of the hour too small to speak of: that of the size past which more adds next to nothing.
pub(super) const FALLS: f64 = 0.01;

/// Whether some size earns more than very large ones do: a lossy batch of one has nothing to pack.
pub(in crate::render) fn ceiling_is_passed(sweep: &Sweep) -> bool {
    sweep
        .sizes
        .iter()
        .any(|a| a.rate.long_run > sweep.ceiling + 1e-9 * sweep.ceiling.abs() + 4.0 * a.rate.long_run_se)
}
