//! A sales log to what it says about buyers: how fast pieces sell, how many buyers a price costs, how sure that is.
//!
//! **Laws.** An offer's sales are buyers who come by chance (`survival.rs`): as likely on every day, or more or less likely as the offer gets
//! older; where most pieces were sold several an offer, some offers may be better than others (a fair's weather). The law with the smaller
//! criterion of Akaike is told with its margin, and estimates are its. Their intervals leave the second parameter open whichever law is
//! better, as a few sales cannot tell.
//!
//! **Price.** Buyers at price p are those at p0 times (p / p0)^-e; e is the elasticity, as `[season]` has it. Every outlet has a level of its
//! own. An outlet that sold nothing has the likeliest level 0, at which it says nothing about the rest, and is left out.
//!
//! **Buyers a week.** Offers differ in how many are open at once, so levels are added over outlets, each times the offers open there on
//! a day on which anything is for sale, as in the log. An outlet with nothing but selling days, as a market on Saturdays, is closed between
//! them and not sold out: where the file has no season, its days count as often a week as they come in the log. The interval of buyers a week
//! is that of a gamma law whose shape is 1 over the variance of the logarithm (by the information): with one outlet and one price under the
//! exponential law that shape is the number of sales. A season has so many days for sale as are asked for, or as the log's stretches without a
//! gap of [`GAP`](super::data::GAP) days or more have on average.
//!
//! **What it cannot tell.** Where prices went along with outlets, with time or with the time of year, the log cannot tell which of them buyers
//! answered; the share that went along is told, and e again with a trend or a yearly wave left open. One offer open beside another is taken to have buyers of its own, and
//! a row's price to be what a buyer pays there; in an outlet that is called like a `[[channel]]`, prices are put back to list prices.
//! Sales in the log are final. Where channels have pieces on sale or return, `buyers` of a scenario counts what they take: sales over the share
//! that stays sold, by the file's shares of the channels and their `unsold`.
//! A selling day of the file has its own number (`sells`): offers in an outlet that is called like it are a level of their own, of one day each,
//! which teaches that number and the elasticity, and is none of the buyers a week or a season.
//! With fewer than [`FEW`] sales it only counts. So it does where most pieces were sold at offers of several and there are too few offers to tell
//! how much they differ ([`TooFew`]).

use super::answer::{
    Against, Along, Buyers, FileSays, GoesAlong, LawTold, OutletTold, SeasonBuyers, SellingDayTold, Sells, Sold, TooFew,
};
use super::count::{self, Between, WEEK};
use super::data::{Data, SAME_PRICE, YEAR, list_price, of_selling_day};
use super::level::{Level, Weighed, gamma, half_sold, open_t};
use super::mixed::explained;
use super::price::{self, Node, PriceEnd};
use super::survival::{Fit, Law, Problem};
use super::{Offer, SalesLog, days_between};
use crate::laws::normal_quantile;
use crate::scenario::Scenario;
use crate::stats::estimate::student;
use jiff::civil::Date;

/// Sales from which on something is learned.
pub const FEW: u64 = 5;
/// Prices so near one that was tried are near it (assumption).
pub const NEAR: f64 = 0.10;

/// From a tenth below the lowest price that was tried to one above the highest.
fn near([lowest, highest]: [f64; 2]) -> [f64; 2] {
    [lowest * (1.0 - NEAR), highest * (1.0 + NEAR)]
}

/// By how much to move a price so that its effect can be seen (assumption: enough for that, little enough to be borne).
const TRY: f64 = 0.12;
/// Prices went along with something where it explains so much of them (assumption).
const GOES_ALONG: f64 = 0.5;
/// A margin of likelihood below which two laws are about as good (assumption: as common practice has it for Akaike's criterion).
const CLEARLY: f64 = 2.0;

/// What is asked besides the log.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// The day until which open offers are looked at.
    pub looked: Date,
    /// Minutes an enquiry takes, where that is known.
    pub enquiry_minutes: Option<f64>,
    /// Days for sale in a season; `None`: as in the log.
    pub season_days: Option<f64>,
}

impl Asked {
    /// What is asked where nothing but the log is known: open offers are looked at until its last day.
    #[must_use]
    pub fn of(log: &SalesLog) -> Self {
        Self {
            looked: log.last_day().unwrap_or_default(),
            enquiry_minutes: None,
            season_days: None,
        }
    }
}

/// Offers with what they are fitted with, the better law's fit, and the fit that leaves the second parameter open.
type Fits<'a> = (&'a Problem, &'a Fit, &'a Fit);

fn sold<'a>(offers: impl Iterator<Item = &'a Offer>) -> u64 {
    offers.map(|o| u64::from(o.sold())).sum()
}

/// Whether most pieces were sold at offers of several, whose single sales have no times.
fn mostly_several(offers: &[&Offer]) -> bool {
    let lots = offers.iter().copied().filter(|o| o.pieces > 1);
    2 * sold(lots) > sold(offers.iter().copied())
}

/// Learns from a log for a scenario.
#[must_use]
pub fn learn(name: &str, scenario: &Scenario, log: &SalesLog, asked: &Asked) -> Sold {
    let counted = count::count(name, log, asked.looked);
    let (kept, _) = count::set_apart(log);
    let prices: Vec<f64> = kept.iter().map(|o| list_price(scenario, o)).collect();
    let tried = prices.iter().copied().fold(None, |ends: Option<[f64; 2]>, p| {
        Some(ends.map_or([p, p], |[low, high]| [low.min(p), high.max(p)]))
    });
    let enquiry_hours = asked
        .enquiry_minutes
        .zip(counted.enquiries.and_then(|e| e.a_sale))
        .map(|(minutes, a_sale)| {
            let hours = |n: f64| n * minutes / 60.0;
            Between {
                value: hours(a_sale.value),
                low: a_sale.low.map(hours),
                high: a_sale.high.map(hours),
            }
        });
    let mut answer = Sold {
        title: scenario.title.clone(),
        currency: scenario.currency.clone(),
        price: scenario.sale.price,
        target: scenario.target_per_hour,
        largest_batch: scenario.batch.sizes.last().copied().unwrap_or(1),
        set_of: Some(scenario.sale.set_of).filter(|pieces| *pieces > 1),
        tried,
        too_few: (sold(kept.iter().copied()) < FEW).then_some(TooFew::Sales { needed: FEW }),
        laws: Vec::new(),
        clearly: false,
        shape: None,
        elasticity: None,
        outlets: Vec::new(),
        goes_along: None,
        buyers: None,
        selling_days: selling_days(scenario, &kept),
        enquiry_minutes: asked.enquiry_minutes,
        enquiry_hours_a_sale: enquiry_hours,
        best: None,
        try_prices: [scenario.sale.price, scenario.sale.price * (1.0 + TRY)],
        curve: Vec::new(),
        file: FileSays {
            per_week: None,
            buyers: None,
            buyers_at: None,
            elasticity: None,
        },
        counted,
    };
    // Where nothing sells, a dearer one teaches nothing.
    if let Some([lowest, _]) = tried.filter(|_| answer.counted.sold == 0) {
        answer.try_prices = [lowest / (1.0 + TRY), lowest];
    }
    let others: Vec<&Offer> = kept.iter().copied().filter(|o| !of_selling_day(scenario, o)).collect();
    if answer.too_few.is_none()
        && let Some(data) = Data::new(scenario, &kept, asked.looked)
    {
        data.fill(&mut answer, scenario, asked, sold(others.iter().copied()));
    }
    let tried = kept
        .iter()
        .zip(&prices)
        .filter(|(offer, _)| offer.days(asked.looked) > 0.0);
    let tried: Vec<(f64, bool)> = tried.map(|(offer, price)| (*price, offer.sold() > 0)).collect();
    answer.try_prices = where_some_may_sell(answer.try_prices, &tried);
    answer
}

/// The file's selling days that the log has, as they are counted.
fn selling_days(scenario: &Scenario, kept: &[&Offer]) -> Vec<SellingDayTold> {
    let told = scenario.selling_days.iter().filter_map(|day| {
        let there: Vec<&Offer> = kept.iter().copied().filter(|o| o.outlet == day.name).collect();
        (!there.is_empty()).then(|| SellingDayTold {
            name: day.name.clone(),
            sold: sold(there.iter().copied()),
            sells: None,
            file: None,
        })
    });
    told.collect()
}

/// Two prices to try, none of them above one that sold none beyond the dearest that sold; each price was tried, and sold some or none.
fn where_some_may_sell([low, high]: [f64; 2], tried: &[(f64, bool)]) -> [f64; 2] {
    let sold = tried.iter().filter(|(_, sold)| *sold).map(|(price, _)| *price);
    let Some(dearest) = sold.max_by(f64::total_cmp) else {
        return [low, high];
    };
    let beyond = tried.iter().map(|(price, _)| *price);
    let beyond = beyond
        .filter(|price| *price > dearest * (1.0 + SAME_PRICE))
        .min_by(f64::total_cmp);
    match beyond {
        Some(none) if low >= none => [dearest, none],
        Some(none) => [low, high.min(none)],
        None => [low, high],
    }
}

impl Data<'_> {
    /// `otherwise`: pieces sold to buyers who came on no selling day of the file.
    fn fill(&self, answer: &mut Sold, scenario: &Scenario, asked: &Asked, otherwise: u64) {
        let problem = self.problem(self.centre, &[]);
        let even = problem.fit(Law::Even, None, None);
        let mut others: Vec<Fit> = Vec::new();
        // Where all offers were open for one time, how chances change with time cannot be seen.
        let days = problem.rows().iter().map(|r| r.days);
        let (least, most) = days.fold((f64::INFINITY, 0.0_f64), |(a, b), d| (a.min(d), b.max(d)));
        if most > 1.05 * least && problem.freedom(Law::Ageing) > 0 {
            others.push(problem.fit(Law::Ageing, None, Some(&even)));
        }
        let offers: Vec<&Offer> = self.offers.iter().map(|o| o.offer).collect();
        let mostly_several = mostly_several(&offers);
        // One more than the freedom that no interval is left with.
        let needed = problem.covariates() + 2;
        if mostly_several && problem.known(Law::Uneven) < needed {
            answer.too_few = Some(TooFew::Offers { needed });
            return;
        }
        if mostly_several {
            others.push(problem.fit(Law::Uneven, None, Some(&even)));
        }
        // Of several pieces the times of single sales are not known, so an offer's age must show clearly before it is believed.
        let known = problem.known(Law::Ageing);
        let doubted = |fit: &Fit| {
            fit.aicc(known)
                + if mostly_several && fit.law == Law::Ageing {
                    CLEARLY
                } else {
                    0.0
                }
        };
        let second = others.iter().min_by(|a, b| doubted(a).total_cmp(&doubted(b))).cloned();
        let better = second
            .clone()
            .filter(|s| doubted(s) < even.aicc(known))
            .unwrap_or_else(|| even.clone());
        // Intervals leave the second parameter open.
        let open = second.unwrap_or_else(|| even.clone());
        let runner_up = if better.law == Law::Even {
            open.aicc(known)
        } else {
            even.aicc(known)
        };
        answer.clearly = others.is_empty() || runner_up - better.aicc(known) > CLEARLY;
        answer.laws = std::iter::once(&even)
            .chain(&others)
            .map(|fit| LawTold {
                law: fit.law,
                log_likelihood: fit.log_likelihood,
                aicc: fit.aicc(known),
                better: fit.law == better.law,
            })
            .collect();
        if let Some(fit) = others.iter().find(|fit| fit.law == Law::Ageing) {
            let [low, high] = problem.interval(fit, fit.b.len() - 1);
            answer.shape = Some(Between {
                value: fit.k(),
                low,
                high,
            });
        }
        let column = self.levels();
        if self.priced {
            answer.elasticity = Some(elasticity(&problem, &better, &open, column));
        }
        let fits = (&problem, &better, &open);
        self.tell_selling_days(answer, scenario, &problem, &even);
        if otherwise < FEW {
            answer.too_few = Some(TooFew::Sales { needed: FEW });
            return;
        }
        self.tell_outlets(answer, &problem, &better, &open);
        answer.goes_along = self.goes_along(&open);
        self.tell_buyers(answer, scenario, asked, fits);
    }

    /// The price that buyers are told for, and whether it is the file's: the usual one of the log where that is near none that was tried.
    fn told_at(&self, tried: [f64; 2], file: f64) -> (f64, bool) {
        let [low, high] = near(tried);
        let near = file >= low && file <= high;
        (if near { file } else { libm::exp(self.centre) }, near)
    }

    /// How many buyers these are at a log price, the variance of that number's logarithm, and what may be true; none where that is not known.
    /// `wider`: how many times as wide as by the information the variance is, and that of what may be true.
    fn estimate(
        &self,
        of: impl Fn(&Problem) -> Weighed,
        (problem, better, open): Fits<'_>,
        log_price: f64,
        wider: [f64; 2],
    ) -> Option<(f64, f64, Vec<Node>)> {
        let level = |fit: &Fit, at: f64| Level::new(self, &of(problem), fit, problem, at, self.centre);
        let buyers = level(better, log_price).buyers;
        // About this price the levels' own information is that of buyers there.
        let about = self.problem(log_price, &[]);
        let there = about.fit(open.law, None, None);
        let there = Level::new(self, &of(&about), &there, &about, log_price, log_price);
        let variance = wider[0] * there.variance?;
        let column = self.priced.then_some(self.levels());
        let of_node = |fit: &Fit, at: f64| {
            let level = level(fit, at);
            (level.buyers, wider[1] * level.held_variance)
        };
        let nodes = price::nodes(problem, open, column, &of_node, self.centre);
        (buyers.is_finite() && variance.is_finite() && !nodes.is_empty()).then_some((buyers, variance, nodes))
    }

    /// How many times as much as by chance alone what a selling day sells differs from day to day, and the degrees of freedom that tell it: the
    /// squares of Pearson over their number less 1 (McCullagh & Nelder 1989, "Generalized Linear Models", section 4.5; from memory), of
    /// days on which something was left, as of others nobody knows how many would have bought. At least once as much; none of a single day.
    fn days_differ(&self, day: usize, (problem, fit): (&Problem, &Fit)) -> Option<(f64, usize)> {
        let level = self.buyers_levels() + day;
        let mut there: Vec<_> = self.offers.iter().filter(|o| o.outlet == level).collect();
        there.sort_by_key(|o| o.offer.listed);
        let one = self.on_a_day(day, 1.0);
        let (mut squares, mut days) = (0.0, 0_usize);
        for offers in there.chunk_by(|a, b| a.offer.listed == b.offer.listed) {
            if offers.iter().any(|o| o.offer.left == 0) {
                continue;
            }
            let sold: f64 = offers.iter().map(|o| f64::from(o.offer.sold())).sum();
            let due = offers
                .iter()
                .map(|o| Level::new(self, &one, fit, problem, o.price, self.centre).buyers);
            let due: f64 = due.sum();
            squares += (sold - due) * (sold - due) / due;
            days += 1;
        }
        let freedom = days.checked_sub(1).filter(|freedom| *freedom > 0)?;
        Some((f64::max(squares / freedom as f64, 1.0), freedom))
    }

    /// What each of the file's selling days sells: buyers by chance, and days that differ as much as they did ([`Self::days_differ`]), with
    /// Student's t, as a few days hardly tell how much. `even`: the law of even chances, by which each day counts for as much as it sold.
    fn tell_selling_days(&self, answer: &mut Sold, scenario: &Scenario, problem: &Problem, even: &Fit) {
        let Some(tried) = answer.tried else { return };
        let (price, at_file_price) = self.told_at(tried, scenario.sale.price);
        let log_price = libm::log(price);
        for (k, name) in self.names[self.buyers_levels()..].iter().enumerate() {
            let told = answer.selling_days.iter_mut().find(|told| told.name == *name);
            let day = scenario.selling_days.iter().find(|day| day.name == *name);
            let (Some(told), Some(day), Some((differ, freedom))) = (told, day, self.days_differ(k, (problem, even)))
            else {
                continue;
            };
            let wider = |confidence: f64| {
                let normal = normal_quantile(f64::midpoint(1.0, confidence));
                let times = student(confidence, freedom).unwrap_or(f64::INFINITY) / normal;
                differ * times * times
            };
            let (wide, tenths) = (wider(0.95), wider(0.8));
            let of = |_: &Problem| self.on_a_day(k, self.offers_a_day[k]);
            let Some((mean, variance, nodes)) = self.estimate(of, (problem, even, even), log_price, [wide, tenths])
            else {
                continue;
            };
            // A day's own factor besides chance, so that its variance is so many times the mean.
            let uneven = (tenths - 1.0) / mean;
            let count = |q: f64| price::count_quantile(&nodes, &|node| node.buyers(log_price), uneven, q);
            let sells = Sells {
                price,
                mean: gamma(mean, variance),
                p10: count(0.1),
                p50: count(0.5),
                p90: count(0.9),
            };
            let file = day.sells.mean() * scenario.buyers_at_price();
            told.file = at_file_price.then(|| Against::new(file, sells.mean));
            told.sells = Some(sells);
        }
    }

    fn tell_outlets(&self, answer: &mut Sold, problem: &Problem, better: &Fit, open: &Fit) {
        if self.buyers_levels() < 2 {
            return;
        }
        let z = open_t(problem, open);
        for (k, name) in self.names[..self.buyers_levels()].iter().enumerate() {
            // The difference of two logarithms, by the information.
            let times = (k > 0).then(|| {
                let value = libm::exp(better.b[k] - better.b[0]);
                let se = open
                    .covariance
                    .as_ref()
                    .map(|c| libm::sqrt(c[k][k] + c[0][0] - 2.0 * c[0][k]));
                let end = |way: f64| {
                    se.map(|se| value * libm::exp(way * z * se))
                        .filter(|end| end.is_finite())
                };
                Between {
                    value,
                    low: end(-1.0),
                    high: end(1.0),
                }
            });
            answer.outlets.push(OutletTold {
                name: name.clone(),
                sold: self.sold[k],
                times,
            });
        }
    }

    fn goes_along(&self, open: &Fit) -> Option<GoesAlong> {
        let prices = self.log_prices();
        let span = |f: fn(f64, f64) -> f64, from: f64| prices.iter().copied().fold(from, f);
        if span(f64::max, f64::NEG_INFINITY) - span(f64::min, f64::INFINITY) <= libm::log1p(SAME_PRICE) {
            return None;
        }
        let outlet = GoesAlong {
            with: Along::Outlet,
            share: self.along_outlets(),
            elasticity: None,
        };
        if !self.priced {
            return Some(outlet);
        }
        // Of what outlets leave of the prices.
        let left = 1.0 - outlet.share;
        let with_levels = |along: Along| {
            let mut columns = self.level_columns();
            columns.extend(self.times(along));
            GoesAlong {
                with: along,
                share: (explained(&prices, &columns) - outlet.share).max(0.0) / left,
                elasticity: None,
            }
        };
        // A yearly wave of less than three quarters of a year is a trend.
        let years = self
            .offers
            .iter()
            .map(|o| days_between(self.first, o.offer.listed))
            .fold(0.0, f64::max)
            / YEAR;
        let mut found = vec![outlet, with_levels(Along::Time)];
        if years > 0.75 {
            found.push(with_levels(Along::Year));
        }
        let mut most = found.into_iter().max_by(|a, b| a.share.total_cmp(&b.share))?;
        if most.share < GOES_ALONG {
            return None;
        }
        let more = self.times(most.with);
        if !more.is_empty() {
            let problem = self.problem(self.centre, &more);
            if problem.freedom(open.law) > 0 {
                let fit = problem.fit(open.law, None, None);
                most.elasticity = Some(elasticity(&problem, &fit, &fit, self.levels()));
            }
        }
        Some(most)
    }

    /// Buyers of a season of the days asked for, or of as many as the log's stretches have; `uneven` is the variance of an offer's own
    /// factor.
    fn season_to_come(
        &self,
        nodes: &[Node],
        week: Between,
        log_price: f64,
        uneven: f64,
        asked: &Asked,
    ) -> Option<SeasonBuyers> {
        let n = self.stretches.len();
        let as_in_log = (n > 0).then(|| self.stretches.iter().sum::<f64>() / n as f64);
        let days = asked.season_days.or(as_in_log)?;
        let times = days / WEEK;
        // Offers of one season share its days: each has its own factor, so that their mean varies less. One at least there is.
        let open_days = days * self.weights.iter().sum::<f64>();
        let span = self.offers.iter().map(|o| o.days).sum::<f64>() / self.offers.len() as f64;
        let uneven = uneven / (open_days / span).max(1.0);
        let count = |q: f64| price::count_quantile(nodes, &|node| node.buyers(log_price) * times, uneven, q);
        Some(SeasonBuyers {
            days,
            stretches: if asked.season_days.is_some() { 0 } else { n },
            mean: Between {
                value: week.value * times,
                low: week.low.map(|low| low * times),
                high: week.high.map(|high| high * times),
            },
            p10: count(0.1),
            p50: count(0.5),
            p90: count(0.9),
        })
    }

    fn tell_buyers(&self, answer: &mut Sold, scenario: &Scenario, asked: &Asked, fits: Fits<'_>) {
        let (problem, better, open) = fits;
        let Some(tried) = answer.tried else { return };
        let (price, at_file_price) = self.told_at(tried, scenario.sale.price);
        let log_price = libm::log(price);
        let wider = match open.law {
            // How much a few offers differ is itself hardly known: Student's t against the normal's.
            Law::Uneven => libm::pow(open_t(problem, open) / normal_quantile(0.975), 2.0),
            Law::Even | Law::Ageing => 1.0,
        };
        let of = |problem: &Problem| self.a_week(problem);
        let Some((a_week, spread, nodes)) = self.estimate(of, fits, log_price, [wider, 1.0]) else {
            return;
        };
        let shapes = (&problem.along_shapes(open)[..], open_t(problem, open));
        let half = half_sold(self, problem, better, shapes, log_price);
        // Where all was sold out at once, or nearly, every larger number of buyers is as likely: there is no telling them.
        if !half.value.is_finite() {
            return;
        }
        let week = gamma(a_week, spread);
        let season = scenario
            .season
            .as_ref()
            .and_then(|_| self.season_to_come(&nodes, week, log_price, open.v, asked));
        answer.buyers = Some(Buyers {
            price,
            at_file_price,
            week,
            week_tenths: price::tenths(&nodes, log_price, 1.0),
            open_at_once: self.weights.iter().sum(),
            stay_sold: self.stay_sold,
            selling_days_a_week: self.selling_days_a_week,
            half_sold_days: half,
            season,
        });
        answer.set_against(scenario, at_file_price, week, season);
        let enquiry_hours = answer.enquiry_hours_a_sale.map_or(0.0, |h| h.value);
        let money = price::Money::new(scenario, enquiry_hours * self.stay_sold.unwrap_or(1.0));
        let times = season.map_or(1.0, |s| s.days / WEEK);
        let ends = near(tried);
        let at = |log_price: f64| {
            let buyers = Level::new(self, &self.a_week(problem), better, problem, log_price, self.centre).buyers;
            (buyers, half_sold(self, problem, better, shapes, log_price))
        };
        // At one price nothing is known of others.
        if self.priced {
            answer.curve = price::curve(&nodes, &money, ends, times, &at);
            answer.best = price::best(&nodes, &money, ends, times, scenario.sale.price);
        }
        if let Some(best) = answer.best {
            let (below, above) = (best.price / (1.0 + TRY), best.price * (1.0 + TRY));
            answer.try_prices = match best.at_end {
                Some(PriceEnd::Highest) => [best.price, above],
                Some(PriceEnd::Lowest) => [below, best.price],
                None => [below, above],
            };
        }
    }
}

/// The likeliest elasticity of the better law, its interval that of the open one.
fn elasticity(problem: &Problem, better: &Fit, open: &Fit, column: usize) -> Between {
    let [low, high] = problem.interval(open, column);
    // No end was found beyond what a likelihood can be told by.
    let value = better.b[column].clamp(-super::survival::FARTHEST, super::survival::FARTHEST);
    Between {
        value,
        low: low.map(|low| low.min(value)),
        high: high.map(|high| high.max(value)),
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::super::survival::{Ended, Row};
    use super::*;

    /// By hand: b = 0.3, Weibull's k = 2, a span of ten days, so the half is sold after exp(log 10 + (log log 2 - 0.3) / 2) = 7.1659 days. The
    /// standard error of b is 0.2, of the days' logarithm half of that, and two of them reach from exp(-0.2) to exp(0.2) of the days.
    #[test]
    fn days_until_half_are_sold_are_as_unsure_as_the_level_over_k() {
        let data = Data {
            offers: Vec::new(),
            names: vec!["page".to_owned()],
            sold: vec![4],
            weights: vec![2.0],
            offers_a_day: Vec::new(),
            stay_sold: None,
            selling_days_a_week: None,
            priced: false,
            centre: 0.0,
            stretches: Vec::new(),
            first: Date::default(),
        };
        let row = Row {
            days: 10.0,
            sold: 1.0,
            ended: Ended::SoldOut,
            x: vec![1.0],
        };
        let fit = Fit {
            law: Law::Ageing,
            b: vec![0.3, 2.0],
            v: 0.0,
            log_likelihood: 0.0,
            covariance: Some(vec![vec![0.04, 0.0], vec![0.0, 1.0]]),
            log_information: 0.0,
        };
        let half = half_sold(&data, &Problem::new(vec![row]), &fit, (&[(1.0, fit.clone())], 2.0), 0.0);
        for (found, due) in [
            (half.value, 7.1659),
            (half.low.unwrap(), 5.8669),
            (half.high.unwrap(), 8.7524),
        ] {
            assert!((found - due).abs() < 1e-4, "{half:?}");
        }
    }
}
