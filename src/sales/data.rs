//! A sales log as levels of outlets, prices and times: what laws are fitted to.

use super::answer::Along;
use super::count::{WEEK, outlets};
use super::mixed::explained;
use super::survival::{Ended, Problem, Row};
use super::{End, Offer, days_between};
use crate::model::counts::stay_sold;
use crate::scenario::Scenario;
use jiff::civil::Date;

/// Prices that differ by less than this share are one (assumption).
pub(super) const SAME_PRICE: f64 = 0.01;
/// Outlets with a level of their own at the most; the others, those that sold least, share one.
const MOST_OUTLETS: usize = 8;
/// Days without any offer that divide two seasons (assumption).
pub const GAP: f64 = 28.0;
/// Days a year.
pub(super) const YEAR: f64 = 365.25;

/// The list price that an offer's price stands for.
pub(super) fn list_price(scenario: &Scenario, offer: &Offer) -> f64 {
    let channel = scenario.channels.iter().find(|c| c.name == offer.outlet);
    let day = scenario.selling_days.iter().find(|d| d.name == offer.outlet);
    let ratio = match (channel, day) {
        (Some(channel), _) => channel.price_ratio(scenario.sale.price),
        (None, Some(day)) => day.price / scenario.sale.price,
        (None, None) => 1.0,
    };
    if ratio > 0.0 { offer.price / ratio } else { offer.price }
}

/// Whether an offer is of a selling day of the file, which has a number of its own there and none of its buyers.
pub(super) fn of_selling_day(scenario: &Scenario, offer: &Offer) -> bool {
    scenario.selling_days.iter().any(|day| day.name == offer.outlet)
}

/// An offer that something is learned from.
pub(super) struct Open<'a> {
    pub(super) offer: &'a Offer,
    pub(super) days: f64,
    /// log of its list price.
    pub(super) price: f64,
    /// Its level.
    pub(super) outlet: usize,
    /// Whether it is of a selling day of the file: one day, and sold out by its evening where none is left.
    on_selling_day: bool,
}

/// A log's levels, prices and times.
pub(super) struct Data<'a> {
    pub(super) offers: Vec<Open<'a>>,
    pub(super) names: Vec<String>,
    /// Pieces sold at each level.
    pub(super) sold: Vec<u64>,
    /// Offers open there on a day on which anything is for sale; 0 on selling days of the file, whose buyers are no others'.
    pub(super) weights: Vec<f64>,
    /// Offers on each of the file's selling days: as many levels as there are, the last ones.
    pub(super) offers_a_day: Vec<f64>,
    /// Share of the pieces asked for that stays sold, by the file; what the log sold has.
    pub(super) stay_sold: Option<f64>,
    /// Selling days a week, where outlets with nothing else count by them.
    pub(super) selling_days_a_week: Option<f64>,
    /// Whether prices differ enough for an elasticity.
    pub(super) priced: bool,
    /// log of the price about which the others lie.
    pub(super) centre: f64,
    /// Lengths in days of stretches for sale.
    pub(super) stretches: Vec<f64>,
    pub(super) first: Date,
}

/// Which level of sales each outlet has: those that sold most one each, the others that sold one together, selling days one each.
struct Levels<'a> {
    /// Outlets that sold something, the most first, but for selling days.
    selling: Vec<&'a str>,
    /// How many of them have a level of their own.
    alone: usize,
    days: Vec<&'a str>,
}

impl<'a> Levels<'a> {
    fn new(scenario: &'a Scenario, open: &[&'a Offer], others: &[&'a Offer]) -> Self {
        let sold_at = |name: &str| {
            let there = open.iter().filter(|o| o.outlet == name);
            there.map(|o| u64::from(o.sold())).sum::<u64>()
        };
        let all = outlets(others).into_iter().map(|name| (name, sold_at(name)));
        let mut selling: Vec<(&str, u64)> = all.filter(|(_, sold)| *sold > 0).collect();
        selling.sort_by_key(|(_, sold)| std::cmp::Reverse(*sold));
        let selling: Vec<&str> = selling.into_iter().map(|(name, _)| name).collect();
        let alone = match selling.len() {
            few @ ..=MOST_OUTLETS => few,
            _ => MOST_OUTLETS - 1,
        };
        let days = scenario.selling_days.iter().map(|day| day.name.as_str());
        Self {
            selling,
            alone,
            days: days.filter(|name| sold_at(name) > 0).collect(),
        }
    }

    /// Levels of outlets, which come before those of selling days.
    fn outlets(&self) -> usize {
        self.alone + usize::from(self.selling.len() > self.alone)
    }

    fn count(&self) -> usize {
        self.outlets() + self.days.len()
    }

    fn of(&self, name: &str) -> Option<usize> {
        let among = |names: &[&str]| names.iter().position(|known| *known == name);
        let day = among(&self.days).map(|day| self.outlets() + day);
        day.or_else(|| Some(among(&self.selling)?.min(self.alone)))
    }

    fn names(&self) -> Vec<String> {
        let others = self.selling.len() - self.alone;
        let together = (others > 0).then(|| format!("{others} others"));
        let own = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
        own(&self.selling[..self.alone])
            .into_iter()
            .chain(together)
            .chain(own(&self.days))
            .collect()
    }
}

impl<'a> Data<'a> {
    pub(super) fn new(scenario: &Scenario, kept: &[&'a Offer], looked: Date) -> Option<Self> {
        let open: Vec<&Offer> = kept.iter().copied().filter(|o| o.days(looked) > 0.0).collect();
        let others = open.iter().copied().filter(|o| !of_selling_day(scenario, o));
        let others: Vec<&Offer> = others.collect();
        let levels = Levels::new(scenario, &open, &others);
        let mut offers: Vec<Open<'a>> = Vec::new();
        for offer in &open {
            let Some(outlet) = levels.of(&offer.outlet) else {
                continue;
            };
            let on_selling_day = of_selling_day(scenario, offer);
            offers.push(Open {
                offer,
                days: if on_selling_day { 1.0 } else { offer.days(looked) },
                price: libm::log(list_price(scenario, offer)),
                outlet,
                on_selling_day,
            });
        }
        let first = offers.iter().map(|o| o.offer.listed).min()?;
        let mut sold = vec![0; levels.count()];
        let mut open_days = vec![0.0; levels.count()];
        let (mut sum, mut weight) = (0.0, 0.0);
        for open in &offers {
            let pieces = u64::from(open.offer.sold());
            sold[open.outlet] += pieces;
            open_days[open.outlet] += open.days;
            sum += pieces as f64 * open.price;
            weight += pieces as f64;
        }
        // A season's days for sale are asked for or counted, so that it has none between.
        let calendar: Vec<Option<f64>> = (0..levels.outlets())
            .map(|k| {
                let there: Vec<&Offer> = offers.iter().filter(|o| o.outlet == k).map(|o| o.offer).collect();
                scenario.season.is_none().then(|| calendar_days(&there))?
            })
            .collect();
        let waits = |o: &&Offer| levels.of(&o.outlet).is_none_or(|k| calendar[k].is_none());
        let waiting: Vec<&Offer> = others.iter().copied().filter(waits).collect();
        let for_sale: f64 = stretches(&waiting, looked, first).iter().sum();
        let mut weights: Vec<f64> = open_days
            .iter()
            .zip(&calendar)
            .map(|(days, calendar)| days / calendar.map_or(for_sale, |there| there.max(for_sale)))
            .collect();
        weights.resize(levels.count(), 0.0);
        let selling_days: Vec<f64> = weights
            .iter()
            .zip(&calendar)
            .filter_map(|(weight, calendar)| calendar.map(|_| WEEK * weight))
            .collect();
        let span = |f: fn(f64, f64) -> f64, from: f64| offers.iter().map(|o| o.price).fold(from, f);
        let wide = span(f64::max, f64::NEG_INFINITY) - span(f64::min, f64::INFINITY);
        let offers_a_day = (levels.outlets()..levels.count()).map(|k| {
            let mut dates: Vec<Date> = offers
                .iter()
                .filter(|o| o.outlet == k)
                .map(|o| o.offer.listed)
                .collect();
            let rows = dates.len() as f64;
            dates.sort_unstable();
            dates.dedup();
            rows / dates.len() as f64
        });
        let data = Self {
            names: levels.names(),
            sold,
            weights,
            offers_a_day: offers_a_day.collect(),
            stay_sold: stay_sold(scenario).filter(|share| *share > 0.0),
            selling_days_a_week: (!selling_days.is_empty()).then(|| selling_days.iter().sum()),
            priced: wide > libm::log1p(SAME_PRICE),
            centre: sum / weight,
            stretches: stretches(&others, looked, first),
            first,
            offers,
        };
        // Where every outlet had one price there is no telling price from outlet.
        let priced = data.priced && data.along_outlets() < 1.0 - 1e-6;
        Some(Self { priced, ..data })
    }

    pub(super) fn levels(&self) -> usize {
        self.sold.len()
    }

    /// Levels of buyers: those before the selling days'.
    pub(super) fn buyers_levels(&self) -> usize {
        self.levels() - self.offers_a_day.len()
    }

    pub(super) fn level_columns(&self) -> Vec<Vec<f64>> {
        let of = |level: usize| {
            self.offers
                .iter()
                .map(|o| f64::from(u8::from(o.outlet == level)))
                .collect()
        };
        (0..self.levels()).map(of).collect()
    }

    pub(super) fn log_prices(&self) -> Vec<f64> {
        self.offers.iter().map(|o| o.price).collect()
    }

    pub(super) fn along_outlets(&self) -> f64 {
        if self.levels() > 1 {
            explained(&self.log_prices(), &self.level_columns())
        } else {
            0.0
        }
    }

    /// Years since the first offer, and the yearly wave.
    pub(super) fn times(&self, along: Along) -> Vec<Vec<f64>> {
        let years = |o: &Open<'_>| (days_between(self.first, o.offer.listed) + 0.5 * o.days) / YEAR;
        let start = f64::from(self.first.day_of_year()) / YEAR;
        let wave = |f: fn(f64) -> f64| {
            self.offers
                .iter()
                .map(|o| f(std::f64::consts::TAU * (start + years(o))))
                .collect()
        };
        match along {
            Along::Outlet => Vec::new(),
            Along::Time => vec![self.offers.iter().map(years).collect()],
            Along::Year => vec![wave(libm::sin), wave(libm::cos)],
        }
    }

    /// Levels, then minus log price about a price, then what else there is.
    pub(super) fn problem(&self, about: f64, more: &[Vec<f64>]) -> Problem {
        let rows = self.offers.iter().enumerate().map(|(i, open)| {
            let mut x = vec![0.0; self.levels()];
            x[open.outlet] = 1.0;
            if self.priced {
                x.push(about - open.price);
            }
            x.extend(more.iter().map(|column| column[i]));
            Row {
                days: open.days,
                sold: f64::from(open.offer.sold()),
                ended: match open.offer.end {
                    End::Sold(day) if open.on_selling_day || day == open.offer.listed => Ended::SoldOutBy,
                    End::Sold(_) => Ended::SoldOut,
                    End::Until(_) | End::Open => Ended::Looked,
                },
                x,
            }
        });
        Problem::new(rows.collect())
    }
}

/// Days on which anything was for sale, in stretches without a long gap.
fn stretches(offers: &[&Offer], looked: Date, first: Date) -> Vec<f64> {
    let mut spans: Vec<(f64, f64)> = offers
        .iter()
        .map(|o| {
            let from = days_between(first, o.listed);
            (from, from + o.days(looked))
        })
        .collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut found: Vec<f64> = Vec::new();
    let mut end = f64::NEG_INFINITY;
    for (from, to) in spans {
        if from - end >= GAP {
            found.push(0.0);
        }
        if let Some(last) = found.last_mut() {
            *last += (to - from.max(end)).max(0.0);
        }
        end = end.max(to);
    }
    found
}

/// Days from an outlet's first selling day to its last, and once more from one to the next on average; `None` where it has other offers, or
/// a single date. Where nothing was ever left in the evening it may as well be a shelf that is empty at once.
fn calendar_days(offers: &[&Offer]) -> Option<f64> {
    if !offers.iter().all(|o| o.is_selling_day()) || offers.iter().all(|o| o.left == 0) {
        return None;
    }
    let mut dates: Vec<Date> = offers.iter().map(|o| o.listed).collect();
    dates.sort_unstable();
    dates.dedup();
    let between = dates.len().checked_sub(2)? as f64 + 1.0;
    Some(days_between(*dates.first()?, *dates.last()?) * (between + 1.0) / between)
}
