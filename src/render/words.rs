//! The verdict of a sweep in plain sentences, as one maker would say it to another.
//!
//! Every figure is written by [`super::format`] from the same field the table shows, so words and table never disagree.
//! Differences are not computed from rounded figures: both figures are given.

use super::format::{confidence, count, hours, money, share, size_list, typed_money};
use crate::questions::size_of;
use crate::questions::sweep::{ChannelAnswer, SizeAnswer, Sweep};

/// Most characters of a [`headline`]; a chart has no room for more.
pub const HEADLINE_CHARACTERS: usize = 90;

/// A run that takes longer than this is no longer one day's work (assumption).
const LONG_RUN_HOURS: f64 = 8.0;

/// A share of the hour too small to speak of: that of the size past which more adds next to nothing.
const FALLS: f64 = 0.01;

/// From so many pieces on, none of which takes long, the same movement is made often (assumption).
const REPETITIVE_PIECES: u32 = 6;
const REPETITIVE_HOURS_A_PIECE: f64 = 4.0;

/// Two or three sentences: does it pay, from how many, what a smaller one loses, where more stops helping.
///
/// Empty only for a sweep without sizes, which no engine makes.
#[must_use]
pub fn verdict(sweep: &Sweep) -> Vec<String> {
    told(sweep, true)
}

/// [`verdict`] for a page, where no flag can be typed.
#[must_use]
pub fn verdict_of_page(sweep: &Sweep) -> Vec<String> {
    told(sweep, false)
}

fn told(sweep: &Sweep, terminal: bool) -> Vec<String> {
    let Some(mut view) = View::new(sweep) else {
        return Vec::new();
    };
    view.terminal = terminal;
    let mut said = match view.first_paying() {
        Some(first) if first.size == view.smallest.size => view.pays_at_once(first),
        Some(first) => view.pays_from(first),
        None => view.never_pays(),
    };
    said.extend(view.as_many_buyers());
    said.extend(view.by_channel());
    said
}

/// One sentence for a chart, at most [`HEADLINE_CHARACTERS`] long.
#[must_use]
pub fn headline(sweep: &Sweep) -> String {
    let Some(view) = View::new(sweep) else {
        return String::new();
    };
    let candidates = match view.first_paying() {
        Some(first) => {
            let who = if first.size == view.smallest.size {
                format!("Pays from {}", run_of(first.size))
            } else if view.holds_from(first) {
                format!("Pays in runs of {} or more", count(first.size.into()))
            } else {
                format!("{} is the first size that pays", count(first.size.into()))
            };
            let earns = view.earns(first);
            vec![
                if view.certain {
                    format!("{who}: an hour {earns}, target {}", view.target())
                } else {
                    format!(
                        "{who}: an hour {earns}, {} reached in {} of runs",
                        view.target(),
                        share(first.reach.share)
                    )
                },
                format!("{who}: an hour {earns}"),
                who,
            ]
        }
        None => {
            let alone = view.largest.size == 1;
            let who = if alone {
                format!("A single piece does not pay at {}", view.price())
            } else {
                format!("{} pays at {}", capital(&view.no_size()), view.price())
            };
            let cure = view
                .nearest()
                .and_then(|near| Some((run_of(near.size), money(near.floor_asked.price?, &sweep.currency))))
                .map(|(run, floor)| (if alone { "it".to_owned() } else { run }, floor));
            let buyers = if sweep.buyers_kept { " with as many buyers" } else { "" };
            let long = cure.map_or_else(
                || format!("{who}, and no price would"),
                |(run, floor)| format!("{who}; {run} would need {floor}{buyers}"),
            );
            vec![long, who, capital(&format!("{} pays", view.no_size()))]
        }
    };
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
    let view = View::new(sweep);
    let advised = view.as_ref().and_then(|v| v.first_paying().or_else(|| v.nearest()));
    let tiring = advised.map_or_else(String::new, tiring);
    format!("{tiring}{BEFORE_TAX}")
}

/// What holds for every answer about money.
pub(super) const BEFORE_TAX: &str =
    "Earnings are before income tax; tax, product safety and consumer law are for local rules.";

/// A sentence, with a space after it, where a run is long and repetitive; else nothing.
pub(super) fn tiring(advised: &SizeAnswer) -> String {
    let tires = advised.size >= REPETITIVE_PIECES
        && advised.hours_per_piece.p50 < REPETITIVE_HOURS_A_PIECE
        && advised.hours.p50 > LONG_RUN_HOURS;
    if tires {
        format!(
            "{} takes about {}: long repetitive runs tire, and tired hands get hurt. ",
            capital(&run_of(advised.size)),
            hours(advised.hours.p50.round())
        )
    } else {
        String::new()
    }
}

/// The sweep with what the sentences keep asking for.
struct View<'a> {
    sweep: &'a Sweep,
    smallest: &'a SizeAnswer,
    largest: &'a SizeAnswer,
    /// Nothing varies: there are no chances to talk about.
    certain: bool,
    /// Whether flags can be typed where it is read.
    terminal: bool,
}

impl<'a> View<'a> {
    fn new(sweep: &'a Sweep) -> Option<Self> {
        let (smallest, largest) = (sweep.sizes.first()?, sweep.sizes.last()?);
        Some(Self {
            sweep,
            smallest,
            largest,
            certain: is_certain(sweep),
            terminal: true,
        })
    }

    /// Which way of selling feeds the hour, and which does not.
    fn by_channel(&self) -> Option<String> {
        let at = self.first_paying().or_else(|| self.nearest())?;
        let (best, worst) = ends_of_channels(at)?;
        let currency = &self.sweep.currency;
        let join = if worst.rate.mean < self.sweep.target {
            "but"
        } else {
            "and"
        };
        let short = if worst.rate.mean < self.sweep.target && best.rate.mean >= self.sweep.target {
            ", less than you want"
        } else {
            ""
        };
        // "earns 41.46 for fairs but 15.25 for the gallery", "earns 41.46 for fairs but loses 9.61 for the gallery".
        let second = if (best.rate.mean < 0.0) == (worst.rate.mean < 0.0) {
            money(worst.rate.mean.abs(), currency)
        } else {
            earns(worst.rate.mean, currency)
        };
        Some(format!(
            "By where the pieces of {} go, an hour {} for {} {join} {second} for {}{short}.",
            run_of(at.size),
            earns(best.rate.mean, currency),
            best.name,
            worst.name
        ))
    }

    /// That the prices named leave out what they do to demand.
    fn as_many_buyers(&self) -> Option<String> {
        if !self.sweep.buyers_kept {
            return None;
        }
        let more = if self.terminal {
            ", `floor` and `season` with those there are at each price"
        } else {
            ""
        };
        Some(format!(
            "Prices are reckoned with as many buyers as at {}{more}.",
            self.price()
        ))
    }

    fn target(&self) -> String {
        typed_money(self.sweep.target, &self.sweep.currency)
    }

    fn price(&self) -> String {
        typed_money(self.sweep.price, &self.sweep.currency)
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
        self.sweep
            .sizes
            .iter()
            .filter(|a| a.size >= first.size)
            .all(|a| self.pays(a))
    }

    /// What a run must do to pay: "earns the 32 EUR an hour you want".
    fn goal(&self) -> String {
        if self.sweep.target > 0.0 {
            format!("earns the {} an hour you want", self.target())
        } else {
            "covers its costs".to_owned()
        }
    }

    /// What an hour does over many runs: "earns 35.67 EUR", "loses 5.28 EUR".
    fn earns(&self, answer: &SizeAnswer) -> String {
        earns(answer.rate.long_run, &self.sweep.currency)
    }

    /// "no size from 1 to 24", "the only size looked at, 6, does not": the subject of a refusal.
    fn no_size(&self) -> String {
        let (low, high) = (count(self.smallest.size.into()), count(self.largest.size.into()));
        if low == high {
            if self.smallest.size == 1 {
                "no single piece".to_owned()
            } else {
                format!("no run of {low}")
            }
        } else {
            format!("no size from {low} to {high}")
        }
    }

    fn pays_at_once(&self, first: &SizeAnswer) -> Vec<String> {
        let single = first.size == 1;
        let mut said = if single {
            vec![format!("Even a single piece pays: it {}.", self.result(first))]
        } else {
            let unseen = if self.sweep.sizes.len() > 1 {
                ", the smallest looked at,"
            } else {
                ""
            };
            vec![format!(
                "A run of {}{unseen} pays: it {}.",
                count(first.size.into()),
                self.result(first)
            )]
        };
        said.extend(self.steps(first));
        if let Some(floor) = first.floor_asked.price {
            let surely = if self.certain {
                "the lowest price that pays"
            } else {
                "the lowest price that pays as surely as you ask"
            };
            said.push(if floor > 0.0 {
                format!(
                    "{} {} a piece; you ask {}.",
                    capital(&format!("{surely} is")),
                    money(floor, &self.sweep.currency),
                    self.price()
                )
            } else {
                format!("It would pay at any price; you ask {}.", self.price())
            });
        }
        said.extend(self.more_is(first));
        said
    }

    fn pays_from(&self, first: &SizeAnswer) -> Vec<String> {
        let n = count(first.size.into());
        let looked = if self.neighbours(first) {
            ""
        } else {
            ", the first size looked at that pays"
        };
        let mut said = if self.holds_from(first) {
            vec![
                format!("Make {n} or more at a time{looked}."),
                format!("A run of {n} {}.", self.result(first)),
            ]
        } else {
            vec![format!(
                "A run of {n} is the first that pays: it {}.",
                self.result(first)
            )]
        };
        said.extend(self.steps(first));
        said.push(self.smaller_loses());
        said.extend(self.more_is(first));
        said
    }

    /// "earns the 32 EUR an hour you want in 84 % of runs (you ask for 80 %), and 36.60 EUR on average over many".
    fn result(&self, answer: &SizeAnswer) -> String {
        let rate = money(answer.rate.long_run, &self.sweep.currency);
        if self.certain {
            return format!("earns {rate} an hour; you want {}", self.target());
        }
        format!(
            "{} in {} of runs (you ask for {}), and {rate} an hour over many of them",
            self.goal(),
            share(answer.reach.share),
            confidence(self.sweep.confidence)
        )
    }

    /// What the smallest size, mostly a one-off, earns and would have to cost.
    fn smaller_loses(&self) -> String {
        let small = self.smallest;
        let who = if small.size == 1 {
            "Made one at a time".to_owned()
        } else {
            format!("In runs of {}, the smallest looked at,", count(small.size.into()))
        };
        let rate = small.rate.long_run;
        let hour = if rate < 0.0 {
            format!("an hour loses {}", money(-rate, &self.sweep.currency))
        } else {
            format!("an hour earns only {}", money(rate, &self.sweep.currency))
        };
        let surely = if self.certain { "pay" } else { "pay as surely" };
        match small.floor_asked.price {
            Some(floor) => format!(
                "{who} {hour}; to {surely}, a piece would have to cost {}, not {}.",
                money(floor, &self.sweep.currency),
                self.price()
            ),
            None => format!(
                "{who} {hour}, and no price would {surely}: {}.",
                self.why_no_price(small)
            ),
        }
    }

    fn never_pays(&self) -> Vec<String> {
        let sweep = self.sweep;
        let mut said = vec![if self.certain {
            format!("{} {} at {}.", capital(&self.no_size()), self.goal(), self.price())
        } else {
            format!(
                "{} {} surely enough at {} (you ask for {} of runs).",
                capital(&self.no_size()),
                self.goal(),
                self.price(),
                confidence(sweep.confidence)
            )
        }];
        let near = self.nearest();
        if let Some(near) = near {
            said.push(match near.floor_asked.price {
                Some(floor) => self.comes_near(near, floor),
                None => {
                    let surely = if self.certain { "" } else { " as surely" };
                    format!("No price would pay{surely}: {}.", self.why_no_price(near))
                }
            });
            said.extend(self.would_more_do(near));
        }
        said
    }

    /// How near the nearest size comes, and the price that would do it.
    fn comes_near(&self, near: &SizeAnswer, floor: f64) -> String {
        let who = capital(&run_of(near.size));
        let nearest = if self.sweep.sizes.len() == 1 {
            "is all that was looked at"
        } else if near.rate.long_run > 0.0 {
            "has the best hour"
        } else {
            "comes nearest"
        };
        let hour = self.earns(near);
        let with = if self.certain {
            format!("an hour {hour}")
        } else {
            let often = if near.reach.share > 0.0 {
                format!("{} of its runs do", share(near.reach.share))
            } else {
                "none of its runs does".to_owned()
            };
            format!("{often}, and an hour {hour} over many")
        };
        let floor = money(floor, &self.sweep.currency);
        format!("{who} {nearest}: {with}; it would take a price of {floor}.")
    }

    /// Whether a bigger batch would do what none does that was looked at.
    fn would_more_do(&self, near: &SizeAnswer) -> Option<String> {
        let sweep = self.sweep;
        let currency = &sweep.currency;
        // A short run may earn more than long ones ever will: the first pieces go to the dearest channel, or none comes out whole.
        let best = sweep
            .sizes
            .iter()
            .map(|a| a.rate.long_run)
            .fold(sweep.ceiling, f64::max);
        let ceiling = money(best.abs(), currency);
        if best < sweep.target {
            let most = if best < 0.0 {
                "loses at least"
            } else {
                "earns no more than"
            };
            let channels = ends_of_channels(near).is_some_and(|(best, _)| best.rate.mean >= sweep.target);
            let change = if channels {
                "the price, the hours or where the pieces go"
            } else {
                "the price or the hours"
            };
            return Some(format!(
                "However many are made, in the long run an hour {most} {ceiling}, so no batch size will do: {change} must change."
            ));
        }
        if near.rate.long_run >= sweep.target {
            return Some("On average that is enough; it is the bad runs that fall short too often.".to_owned());
        }
        if let Some((most, why)) = self.unsold() {
            return Some(format!(
                "Nor would a bigger batch do it: from {} on the hour earns less, {why}.",
                count(most.size.into())
            ));
        }
        near.floor_asked.price?;
        Some(if !self.certain && sweep.slow_ceiling < sweep.target {
            format!(
                "Nor would a bigger batch do it: however many are made, the pace alone holds an hour to {} or less in {} of runs.",
                money(sweep.slow_ceiling, currency),
                share(1.0 - sweep.confidence)
            )
        } else if sweep.sizes.len() == 1 {
            format!(
                "Very large runs could earn up to {ceiling} an hour, if that many sell; no other size was looked at."
            )
        } else {
            format!(
                "Very large runs could earn up to {ceiling} an hour, so a bigger batch may still do it, if that many sell."
            )
        })
    }

    /// The size with the best hour, where larger ones were looked at, earn less and leave more unsold than they sell more; and why.
    fn unsold(&self) -> Option<(&'a SizeAnswer, &'static str)> {
        let best = self.best()?;
        let last = self.largest;
        let left = |a: &SizeAnswer| a.good.mean - a.sold.mean;
        let unsold = last.size > best.size && left(last) - left(best) > last.sold.mean - best.sold.mean;
        // Where the next size begins another round, that takes off the hour as well.
        let next = self.sweep.sizes.iter().find(|a| a.size > best.size)?;
        let why = if another_round(best, next) {
            "as another round begins and not all of them sell"
        } else {
            "as not all of them sell"
        };
        unsold.then_some((best, why))
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

    fn why_no_price(&self, answer: &SizeAnswer) -> String {
        if answer.floor_long_run.is_none() {
            "tax, fees and refunds take the whole of it".to_owned()
        } else {
            format!(
                "in more than {} of runs nothing is left to sell",
                share(1.0 - answer.floor_asked.confidence)
            )
        }
    }

    /// Sizes after the first paying one that do not pay, and why where it can be seen.
    fn steps(&self, first: &SizeAnswer) -> Option<String> {
        let sizes = &self.sweep.sizes;
        let after = sizes.iter().filter(|a| a.size > first.size);
        let miss = after.clone().find(|a| !self.pays(a))?;
        let before = sizes.iter().rev().find(|a| a.size < miss.size)?;
        let why = if another_round(before, miss) {
            ", as another round with its own setup begins before the last is full"
        } else {
            ""
        };
        let paying: Vec<u32> = sizes.iter().filter(|a| self.pays(a)).map(|a| a.size).collect();
        let order: Vec<u32> = sizes.iter().map(|a| a.size).collect();
        let list = size_list(&paying, |a, b| {
            order
                .iter()
                .position(|&s| s == b)
                .zip(order.iter().position(|&s| s == a))
                .is_some_and(|(b, a)| b == a + 1)
        });
        if after.clone().skip_while(|a| a.size < miss.size).all(|a| !self.pays(a)) && miss.size < self.largest.size {
            return Some(format!(
                "Not every larger run does: from {} on none does{why}. The sizes that pay are {list}.",
                count(miss.size.into())
            ));
        }
        let list = match (list.len() > 60, self.terminal) {
            (true, true) => "marked in the table (--all shows every size)".to_owned(),
            (true, false) => "marked in the table".to_owned(),
            (false, _) => list,
        };
        Some(format!(
            "Not every larger run does: {} fails{why}. The sizes that pay are {list}.",
            count(miss.size.into())
        ))
    }

    /// Where a bigger batch stops adding.
    fn more_is(&self, first: &SizeAnswer) -> Option<String> {
        let level = self.sweep.sizes.iter().find(|a| a.size == self.sweep.level_size)?;
        let last = self.largest;
        if self.sweep.sizes.len() == 1 {
            return None;
        }
        let currency = &self.sweep.currency;
        let best = self.best()?;
        let falls = last.rate.long_run < best.rate.long_run - FALLS * best.rate.long_run.abs();
        if falls && last.size > best.size && best.size >= first.size {
            let why = self.unsold().map_or_else(String::new, |(_, why)| format!(", {why}"));
            return Some(format!(
                "The hour is best at {}: it {} there; at {} it {}{why}.",
                count(best.size.into()),
                self.earns(best),
                count(last.size.into()),
                self.earns(last)
            ));
        }
        // What still larger runs may bring beyond the largest looked at.
        let beyond = if self.sweep.ceiling > last.rate.long_run + FALLS * last.rate.long_run.abs() {
            format!(
                "; still larger ones could earn up to {}",
                money(self.sweep.ceiling, currency)
            )
        } else {
            String::new()
        };
        Some(if level.size == last.size && level.size > first.size {
            // Were any smaller size better or level, it would be the level size.
            format!(
                "The hour is best at {}, the largest looked at: it {} there; still larger may do better.",
                count(last.size.into()),
                self.earns(last)
            )
        } else if level.size <= first.size {
            if first.size == last.size {
                return None;
            }
            format!(
                "Making more than {} at a time, up to {}, adds next to nothing to the hour{beyond}.",
                count(first.size.into()),
                count(last.size.into())
            )
        } else {
            format!(
                "At {} an hour {}; past that a bigger batch, up to {}, adds less than 1 %{beyond}.",
                count(level.size.into()),
                earns(level.rate.long_run, currency),
                count(last.size.into())
            )
        })
    }

    /// Whether the size just below `answer` was looked at.
    fn neighbours(&self, answer: &SizeAnswer) -> bool {
        let below = answer.size.checked_sub(1);
        self.sweep.sizes.iter().any(|a| Some(a.size) == below)
    }
}

/// Whether another round begins between two sizes: per piece, setup rises nowhere else.
fn another_round(before: &SizeAnswer, after: &SizeAnswer) -> bool {
    after.hours_parts.setup > before.hours_parts.setup * (1.0 + 1e-9)
}

/// The channels with the best and the worst hour.
fn ends_of_channels(at: &SizeAnswer) -> Option<(&ChannelAnswer, &ChannelAnswer)> {
    let mut channels: Vec<_> = at.channels.iter().filter(|channel| channel.sold > 0.0).collect();
    channels.sort_by(|a, b| b.rate.mean.total_cmp(&a.rate.mean));
    // One that has all of the pieces is no other than itself.
    (channels.len() > 1).then_some((*channels.first()?, *channels.last()?))
}

/// Whether nothing varies from run to run.
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

pub(super) fn earns(rate: f64, currency: &str) -> String {
    if rate < 0.0 {
        format!("loses {}", money(-rate, currency))
    } else {
        format!("earns {}", money(rate, currency))
    }
}

pub(super) fn run_of(size: u32) -> String {
    if size == 1 {
        "a single piece".to_owned()
    } else {
        format!("a run of {}", count(size.into()))
    }
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

    #[test]
    fn verdicts_of_every_kind() {
        let mut said = String::new();
        for (name, sweep) in gallery() {
            said.push_str(&format!(
                "== {name}\n{}\n[{}]\n({})\n\n",
                verdict(&sweep).join("\n"),
                headline(&sweep),
                care(&sweep)
            ));
        }
        insta::assert_snapshot!(said);
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
            let said = format!("{} {}", verdict(&sweep).join(" "), headline(&sweep));
            let strange: Vec<String> = amounts(&said).difference(&known).cloned().collect();
            assert!(!amounts(&said).is_empty(), "{name}: says no amount at all");
            assert!(strange.is_empty(), "{name}: {strange:?} in {said}");
        }
    }

    #[test]
    fn the_words_agree_with_the_first_paying_size() {
        for (name, sweep) in gallery() {
            let said = verdict(&sweep).join(" ");
            match sweep.first_paying_size {
                Some(1) => assert!(said.starts_with("Even a single piece pays"), "{name}: {said}"),
                Some(n) => {
                    let first_line = said.split('.').next().unwrap_or_default();
                    assert!(
                        first_line.contains(&n.to_string()) && !first_line.starts_with("No"),
                        "{name}: {said}"
                    );
                }
                None => assert!(said.starts_with("No "), "{name}: {said}"),
            }
        }
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
        let said = verdict(&sweep).join(" ");
        assert!(said.contains("A run of 5 is the first that pays"), "{said}");
        assert!(
            said.contains("7 fails, as another round with its own setup begins"),
            "{said}"
        );
        assert!(said.contains("The sizes that pay are 5, 6, 9-14"), "{said}");
    }

    #[test]
    fn nothing_certain_talks_of_chances() {
        let said = verdict(&Shop::default().sweep(1..=10)).join(" ");
        assert!(!said.contains('%') || said.contains("1 %"), "{said}");
        for word in ["runs (", "surely", "over many"] {
            assert!(!said.contains(word), "{word}: {said}");
        }
    }

    #[test]
    fn a_ceiling_below_the_target_says_that_no_size_will_do() {
        let shop = Shop {
            target: 90.0,
            ..Shop::default()
        };
        // By hand: 45 for 35 min without setup is 77.14 an hour.
        let said = verdict(&shop.sweep(1..=40)).join(" ");
        assert!(
            said.contains("no more than 77.14 EUR, so no batch size will do"),
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
        let said = verdict(&ten_sell(40.0)).join(" ");
        // By hand: 45 for 60 / 10 + 35 min is 65.85 an hour; at 20, half of 45 for 38 min is 35.53.
        assert!(
            said.contains(
                "The hour is best at 10: it earns 65.85 EUR there; at 20 it earns 35.53 EUR, as not all of them sell."
            ),
            "{said}"
        );
        let mut poor = ten_sell(70.0);
        poor.first_paying_size = None;
        for answer in &mut poor.sizes {
            answer.reach.share = 0.0;
        }
        let said = verdict(&poor).join(" ");
        assert!(
            said.contains("Nor would a bigger batch do it: from 10 on the hour earns less, as not all of them sell."),
            "{said}"
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
        let said = verdict(&sweep).join(" ");
        assert!(
            said.contains("from 10 on the hour earns less, as another round begins and not all of them sell"),
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
        let said = verdict(&sweep).join(" ");
        assert!(said.contains("a bigger batch may still do it"), "{said}");
        sweep.slow_ceiling = 52.5;
        let said = verdict(&sweep).join(" ");
        assert!(
            said.ends_with(
                "Nor would a bigger batch do it: however many are made, the pace alone holds an hour to 52.50 EUR or less in 20 % of runs."
            ),
            "{said}"
        );
    }

    #[test]
    fn prices_say_whose_buyers_they_take() {
        let mut sweep = Shop::default().sweep(1..=10);
        assert!(!verdict(&sweep).join(" ").contains("buyers"));
        sweep.buyers_kept = true;
        let said = verdict(&sweep).join(" ");
        assert!(said.contains("Prices are reckoned with as many buyers as at"), "{said}");
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
        let said = verdict(&sweep).join(" ");
        // By hand: 45 for 60 / 36 + 35 min is 73.64; without any setup 77.14.
        assert!(
            said.contains("At 36 an hour earns 73.64 EUR; past that a bigger batch, up to 40, adds less than 1 %; still larger ones could earn up to 77.14 EUR."),
            "{said}"
        );
    }

    /// A lossy run of one may earn more than long runs ever will; then that is the most, and not the ceiling.
    #[test]
    fn a_size_above_the_ceiling_is_the_most() {
        let mut sweep = Shop {
            target: 90.0,
            ..Shop::default()
        }
        .sweep(1..=4);
        sweep.sizes[0].rate.long_run = 80.0;
        let said = verdict(&sweep).join(" ");
        assert!(
            said.contains("no more than 80.00 EUR, so no batch size will do"),
            "{said}"
        );
        let small = table::small_print(&sweep, &crate::render::samples::look(100, true)).join(" ");
        assert!(small.contains("though some smaller ones earn more"), "{small}");
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
        // A one-off too often comes to nothing, a run does not.
        unreachable(&mut sweep.sizes[0]);
        sweep.target = 30.0;
        sweep.first_paying_size = Some(4);
        let said = verdict(&sweep).join(" ");
        assert!(
            said.contains("no price would pay as surely: in more than 20 % of runs nothing is left to sell"),
            "{said}"
        );
        // No size has a price.
        sweep.sizes.iter_mut().for_each(unreachable);
        sweep.first_paying_size = None;
        sweep.sizes.iter_mut().for_each(|a| a.floor_long_run = None);
        let said = verdict(&sweep).join(" ");
        assert!(
            said.contains("No price would pay as surely: tax, fees and refunds take the whole of it"),
            "{said}"
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
            prop_assert!(!verdict(&sweep).is_empty());
            prop_assert!(headline(&sweep).chars().count() <= HEADLINE_CHARACTERS);
            prop_assert!(!care(&sweep).is_empty());
        }
    }
}
