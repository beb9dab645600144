//! A sales log as levels of outlets, prices and times: what laws are fitted to.

use super::answer::Along;
use super::count::{WEEK, outlets};
use super::mixed::explained;
use super::survival::{Ended, Problem, Row};
use super::{End, Offer, days_between};
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
    let ratio = channel.map_or(1.0, |c| c.price_ratio(scenario.sale.price));
    if ratio > 0.0 { offer.price / ratio } else { offer.price }
}

/// An offer that something is learned from.
pub(super) struct Open<'a> {
    pub(super) offer: &'a Offer,
    pub(super) days: f64,
    /// log of its list price.
    pub(super) price: f64,
    /// Its level.
    pub(super) outlet: usize,
}

/// A log's levels, prices and times.
pub(super) struct Data<'a> {
    pub(super) offers: Vec<Open<'a>>,
    pub(super) names: Vec<String>,
    /// Pieces sold at each level.
    pub(super) sold: Vec<u64>,
    /// Offers open there on a day on which anything is for sale.
    pub(super) weights: Vec<f64>,
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

impl<'a> Data<'a> {
    pub(super) fn new(scenario: &Scenario, kept: &[&'a Offer], looked: Date) -> Option<Self> {
        let open: Vec<&Offer> = kept.iter().copied().filter(|o| o.days(looked) > 0.0).collect();
        let sold_at = |name: &str| {
            let there = open.iter().filter(|o| o.outlet == name);
            there.map(|o| u64::from(o.sold())).sum::<u64>()
        };
        let mut names: Vec<(&str, u64)> = outlets(&open).into_iter().map(|name| (name, sold_at(name))).collect();
        names.sort_by_key(|(_, sold)| std::cmp::Reverse(*sold));
        let selling = names.iter().filter(|(_, sold)| *sold > 0).count();
        let alone = match selling {
            few @ ..=MOST_OUTLETS => few,
            _ => MOST_OUTLETS - 1,
        };
        let level = |name: &str| {
            let mut selling = names[..selling].iter();
            Some(selling.position(|(known, _)| *known == name)?.min(alone))
        };
        let mut offers: Vec<Open<'a>> = Vec::new();
        for offer in &open {
            let Some(outlet) = level(&offer.outlet) else { continue };
            offers.push(Open {
                offer,
                days: offer.days(looked),
                price: libm::log(list_price(scenario, offer)),
                outlet,
            });
        }
        let first = offers.iter().map(|o| o.offer.listed).min()?;
        let levels = alone + usize::from(selling > alone);
        let mut sold = vec![0; levels];
        let mut days = vec![0.0; levels];
        let (mut sum, mut weight) = (0.0, 0.0);
        for open in &offers {
            let pieces = u64::from(open.offer.sold());
            sold[open.outlet] += pieces;
            days[open.outlet] += open.days;
            sum += pieces as f64 * open.price;
            weight += pieces as f64;
        }
        // A season's days for sale are asked for or counted, so that it has none between.
        let calendar: Vec<Option<f64>> = (0..levels)
            .map(|k| {
                let there: Vec<&Offer> = offers.iter().filter(|o| o.outlet == k).map(|o| o.offer).collect();
                scenario.season.is_none().then(|| calendar_days(&there))?
            })
            .collect();
        let waits = |o: &&Offer| level(&o.outlet).is_none_or(|k| calendar[k].is_none());
        let waiting: Vec<&Offer> = open.iter().copied().filter(waits).collect();
        let for_sale: f64 = stretches(&waiting, looked, first).iter().sum();
        let weights: Vec<f64> = days
            .iter()
            .zip(&calendar)
            .map(|(days, calendar)| days / calendar.map_or(for_sale, |there| there.max(for_sale)))
            .collect();
        let selling_days: Vec<f64> = weights
            .iter()
            .zip(&calendar)
            .filter_map(|(weight, calendar)| calendar.map(|_| WEEK * weight))
            .collect();
        let span = |f: fn(f64, f64) -> f64, from: f64| offers.iter().map(|o| o.price).fold(from, f);
        let wide = span(f64::max, f64::NEG_INFINITY) - span(f64::min, f64::INFINITY);
        let mut named: Vec<String> = names[..alone].iter().map(|(name, _)| (*name).to_owned()).collect();
        if levels > alone {
            named.push(format!("{} others", selling - alone));
        }
        let data = Self {
            names: named,
            sold,
            weights,
            selling_days_a_week: (!selling_days.is_empty()).then(|| selling_days.iter().sum()),
            priced: wide > libm::log1p(SAME_PRICE),
            centre: sum / weight,
            stretches: stretches(&open, looked, first),
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
                    End::Sold(day) if day == open.offer.listed => Ended::SoldOutBy,
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
