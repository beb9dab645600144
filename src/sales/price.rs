//! Which price earns most, with all that a log leaves open carried through.
//!
//! A price p leaves `buyers(p) x (what is left of p - what a piece costs)`, hours at the target and enquiries among the costs
//! ([`crate::model::worth`], [`crate::model::newsvendor`] with its `cost_before_price`). What the log leaves open is a law over elasticities and
//! levels: the likelihood with levels and the law's second parameter fitted at every elasticity, times the information's share of them (Laplace;
//! Tierney & Kadane 1986, "Accurate approximations for posterior moments and marginal densities", JASA 81, 82-86), where elasticities from 0 to
//! [`STEEPEST`] are equally likely before (assumption: a dearer piece has no more buyers); and at each of them a gamma law for the level. It is
//! summed over a fixed grid, so that the answer has no seed.
//!
//! The price that earns most is the one with the largest mean over that law. Its regret is what it leaves less, on average over the law, than
//! the price that one would choose who knew the buyers. Prices are looked at only near those that were tried ([`super::learn::NEAR`]).
//!
//! Assumptions: all who ask are served, so hours and stock suffice; what is left over costs nothing; setup, and what a batch uses once, are no
//! piece's, as the price does not change them.

use super::count::Between;
use super::survival::{Fit, Problem};
use crate::laws::{Beta, chi_squared_cdf, normal_quantile};
use crate::model::{newsvendor, worth};
use crate::scenario::Scenario;
use serde::Serialize;

/// Elasticities above are not believed (assumption).
pub const STEEPEST: f64 = 8.0;
/// Elasticities of the grid, and levels at each of them.
const SLOPES: usize = 65;
const LEVELS: usize = 9;
/// Prices that are looked at.
const PRICES: usize = 201;
/// Of those as many stand in the curve.
const EACH: usize = 5;
/// A price that leaves so much of what the best one does is about as good (assumption).
const NEARLY: f64 = 0.95;

/// What may be true: buyers a week at a price, an elasticity, and how much it weighs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    weight: f64,
    elasticity: f64,
    a_week: f64,
    centre: f64,
}

impl Node {
    /// Buyers a week at a log price.
    #[must_use]
    pub fn buyers(&self, log_price: f64) -> f64 {
        self.a_week * self.answer(log_price)
    }

    /// By what a log price multiplies buyers.
    fn answer(&self, log_price: f64) -> f64 {
        libm::exp(-self.elasticity * (log_price - self.centre))
    }
}

/// What a sold piece brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Money {
    per_price: f64,
    cost: f64,
}

impl Money {
    /// With so many hours of enquiries for each sale.
    #[must_use]
    pub fn new(scenario: &Scenario, enquiry_hours: f64) -> Self {
        let hour = scenario.target_per_hour + scenario.shop.cost_per_hour();
        Self {
            per_price: worth::sold_piece(scenario, 1).0,
            cost: newsvendor::cost_before_price(scenario) + enquiry_hours * hour,
        }
    }

    /// What a sold piece leaves at a price, every hour paid at the target.
    #[must_use]
    pub fn leaves(&self, price: f64) -> f64 {
        self.per_price * price - self.cost
    }
}

/// The price that earns most. Money is a season's where the file has one, else a week's.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Best {
    /// It.
    pub price: f64,
    /// Prices were looked at from here
    pub from: f64,
    /// to here: those that were tried, and near them.
    pub to: f64,
    /// Whether it lies at an end of them, so that one beyond may earn more.
    pub at_end: Option<PriceEnd>,
    /// What it leaves on average after the target for every hour but setup.
    pub leaves: f64,
    /// Eight times in ten that lies between these.
    pub leaves_tenths: [f64; 2],
    /// What a piece leaves at it.
    pub leaves_a_piece: f64,
    /// What it leaves less, on average, than the price of one who knew the buyers.
    pub regret: f64,
    /// Nine times in ten it leaves less by no more than this.
    pub regret_p90: f64,
    /// Prices that leave nearly as much.
    pub nearly: [f64; 2],
    /// What the file's price leaves; `None` where it is not near those tried.
    pub file_leaves: Option<f64>,
}

impl Best {
    /// Pieces that are asked for at it on average, in the time that [`leaves`](Self::leaves) is of; where a piece leaves something.
    #[must_use]
    pub fn asked(&self) -> f64 {
        self.leaves / self.leaves_a_piece
    }
}

/// An end of the prices looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PriceEnd {
    /// The lowest.
    Lowest,
    /// The highest.
    Highest,
}

/// One price.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Price per piece.
    pub price: f64,
    /// Buyers a week with the interval that holds them nineteen times in twenty.
    pub buyers: Between,
    /// Days until half of the offers have sold a piece.
    pub half_sold_days: Between,
    /// What it leaves on average, a season or a week.
    pub leaves: f64,
    /// Eight times in ten that lies between these.
    pub leaves_tenths: [f64; 2],
}

/// Buyers a week at a log price by a fit, and the variance of their logarithm.
type LevelOf<'a> = &'a dyn Fn(&Fit, f64) -> (f64, f64);

/// The law of what may be true as weighed points; `column` is the elasticity's, where there is one. None where no number of buyers is
/// likelier than all larger ones.
#[must_use]
pub(crate) fn nodes(
    problem: &Problem,
    open: &Fit,
    column: Option<usize>,
    level: LevelOf<'_>,
    centre: f64,
) -> Vec<Node> {
    let mut found = Vec::with_capacity(SLOPES * LEVELS);
    let mut put = |fit: &Fit, elasticity: f64, weight: f64| {
        let (a_week, variance) = level(fit, centre);
        if !(a_week.is_finite() && variance.is_finite() && weight.is_finite()) {
            return;
        }
        // What says next to nothing still has a law that can be summed over.
        let shape = (1.0 / variance).clamp(0.05, 1e12);
        // Quantiles of a gamma law of mean 1 (Wilson & Hilferty 1931, "The distribution of chi-square", PNAS 17(12), 684-688).
        let at = |k: usize| {
            let z = normal_quantile((k as f64 + 0.5) / LEVELS as f64);
            let root = (1.0 - 1.0 / (9.0 * shape) + z / (3.0 * libm::sqrt(shape))).max(0.0);
            root * root * root
        };
        let mean = (0..LEVELS).map(at).sum::<f64>() / LEVELS as f64;
        found.extend((0..LEVELS).map(|k| Node {
            weight,
            elasticity,
            a_week: a_week * at(k) / mean,
            centre,
        }));
    };
    let Some(column) = column else {
        put(open, 0.0, 1.0);
        return normed(found);
    };
    let best = open.b[column].clamp(0.0, STEEPEST);
    let reach = 8.0 * open.se(column).filter(|se| se.is_finite()).unwrap_or(STEEPEST);
    let (low, high) = ((best - reach).max(0.0), (best + reach).min(STEEPEST));
    let mut before = open.clone();
    for k in 0..SLOPES {
        let e = low + (high - low) * (k as f64 + 0.5) / SLOPES as f64;
        let fit = problem.fit(open.law, Some((column, e)), Some(&before));
        let log_weight = fit.log_likelihood - open.log_likelihood - 0.5 * fit.log_information;
        put(&fit, e, log_weight);
        before = fit;
    }
    let most = found.iter().map(|n| n.weight).fold(f64::NEG_INFINITY, f64::max);
    for node in &mut found {
        node.weight = libm::exp(node.weight - most);
    }
    normed(found)
}

fn normed(mut nodes: Vec<Node>) -> Vec<Node> {
    let sum: f64 = nodes.iter().map(|n| n.weight).sum();
    if !(sum > 0.0 && sum.is_finite()) {
        return Vec::new();
    }
    for node in &mut nodes {
        node.weight /= sum;
    }
    nodes
}

/// A figure's values over the law, ascending, each with its weight.
struct Ascending(Vec<(f64, f64)>);

impl Ascending {
    fn new(nodes: &[Node], figures: &[f64]) -> Self {
        let mut values: Vec<(f64, f64)> = figures
            .iter()
            .zip(nodes)
            .map(|(figure, n)| (*figure, n.weight))
            .collect();
        values.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self(values)
    }

    /// So many times the figure: below 0 the largest becomes the smallest.
    fn times(mut self, factor: f64) -> Self {
        if factor < 0.0 {
            self.0.reverse();
        }
        self.0.iter_mut().for_each(|(value, _)| *value *= factor);
        self
    }

    fn quantiles<const N: usize>(&self, qs: [f64; N]) -> [f64; N] {
        qs.map(|q| {
            let mut sum = 0.0;
            let found = self.0.iter().find(|(_, weight)| {
                sum += weight;
                sum >= q - 1e-12
            });
            found.or(self.0.last()).map_or(0.0, |(value, _)| *value)
        })
    }
}

/// Eight times in ten so many times the buyers at a log price lie between these.
#[must_use]
pub fn tenths(nodes: &[Node], log_price: f64, factor: f64) -> [f64; 2] {
    let ascending = Ascending::new(nodes, &buyers(nodes, log_price));
    ascending.times(factor).quantiles([0.1, 0.9])
}

/// Buyers a week at a log price by each node. Those of one elasticity stand together, and a price is answered once for all of them.
fn buyers(nodes: &[Node], log_price: f64) -> Vec<f64> {
    let alike = nodes.chunk_by(|a, b| a.elasticity == b.elasticity && a.centre == b.centre);
    let each = alike.flat_map(|alike| {
        let answer = alike[0].answer(log_price);
        alike.iter().map(move |n| n.a_week * answer)
    });
    each.collect()
}

fn mean(nodes: &[Node], figures: &[f64]) -> f64 {
    nodes.iter().zip(figures).map(|(n, figure)| n.weight * figure).sum()
}

/// The least number that this share of counts does not go over, where a count is Poisson's about a mean, or negative binomial's with variance `v`
/// of its factor.
#[must_use]
pub(crate) fn count_quantile(nodes: &[Node], mean_of: &dyn Fn(&Node) -> f64, v: f64, q: f64) -> f64 {
    let means: Vec<f64> = nodes.iter().map(mean_of).collect();
    let share = |n: f64| {
        let of = |m: &f64| {
            if v > 0.0 {
                Beta::new(1.0 / v, n + 1.0).cdf(1.0 / (1.0 + v * m))
            } else {
                1.0 - chi_squared_cdf(2.0 * m, 2.0 * n + 2.0)
            }
        };
        mean(nodes, &means.iter().map(of).collect::<Vec<f64>>())
    };
    let (mut low, mut high) = (-1.0, 1.0);
    while share(high) < q && high < 1e9 {
        (low, high) = (high, 2.0 * high);
    }
    while high - low > 1.0 {
        let middle = libm::floor(f64::midpoint(low, high));
        if share(middle) < q {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

fn prices([from, to]: [f64; 2]) -> Vec<f64> {
    let step = libm::log(to / from) / (PRICES - 1) as f64;
    (0..PRICES).map(|k| from * libm::exp(step * k as f64)).collect()
}

/// What prices do, from the lowest to the highest.
#[must_use]
pub fn curve(
    nodes: &[Node],
    money: &Money,
    ends: [f64; 2],
    weeks: f64,
    at: &dyn Fn(f64) -> (f64, Between),
) -> Vec<CurvePoint> {
    const WITHIN: [f64; 2] = [0.025, 0.975];
    // Where it is left open what prices went along with, the likeliest line may leave what is then believed: the mean, which money counts on,
    // takes its place.
    let likeliest = ends.iter().all(|end| {
        let log_price = libm::log(*end);
        let [low, high] = Ascending::new(nodes, &buyers(nodes, log_price)).quantiles(WITHIN);
        (low..=high).contains(&at(log_price).0)
    });
    prices(ends)
        .into_iter()
        .step_by(EACH)
        .map(|price| {
            let log_price = libm::log(price);
            let leaves = weeks * money.leaves(price);
            let (value, half_sold_days) = at(log_price);
            let buyers = buyers(nodes, log_price);
            let mean = mean(nodes, &buyers);
            let value = if likeliest { value } else { mean };
            let ascending = Ascending::new(nodes, &buyers);
            let [low, high] = ascending.quantiles(WITHIN);
            CurvePoint {
                price,
                buyers: Between {
                    value,
                    low: Some(low.min(value)),
                    high: Some(high.max(value)),
                },
                half_sold_days,
                leaves: leaves * mean,
                leaves_tenths: ascending.times(leaves).quantiles([0.1, 0.9]),
            }
        })
        .collect()
}

/// The price that earns most on average, and what it may fall short by; `weeks` are those that money is counted for.
#[must_use]
pub fn best(nodes: &[Node], money: &Money, ends: [f64; 2], weeks: f64, file: f64) -> Option<Best> {
    let prices = prices(ends);
    let margins: Vec<f64> = prices.iter().map(|p| weeks * money.leaves(*p)).collect();
    let logs: Vec<f64> = prices.iter().map(|p| libm::log(*p)).collect();
    let means: Vec<f64> = (0..prices.len())
        .map(|k| margins[k] * mean(nodes, &buyers(nodes, logs[k])))
        .collect();
    let best = (0..prices.len()).max_by(|a, b| means[*a].total_cmp(&means[*b]).then(b.cmp(a)))?;
    // The best price of a node does not hang on its level, so that it is looked for once for each elasticity.
    let mut known: Option<(f64, usize)> = None;
    let regrets: Vec<(f64, f64)> = nodes
        .iter()
        .map(|node| {
            let leaves = |k: usize| margins[k] * node.buyers(logs[k]);
            let own = match known {
                Some((e, own)) if e == node.elasticity => own,
                _ => (0..prices.len())
                    .max_by(|a, b| leaves(*a).total_cmp(&leaves(*b)))
                    .unwrap_or(best),
            };
            known = Some((node.elasticity, own));
            // Its own price leaves no less, but for rounding.
            ((leaves(own) - leaves(best)).max(0.0), node.weight)
        })
        .collect();
    let regret = regrets.iter().map(|(regret, weight)| regret * weight).sum();
    let mut sorted = regrets;
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut sum = 0.0;
    let p90 = sorted.iter().find(|(_, weight)| {
        sum += weight;
        sum >= 0.9
    });
    let good: Vec<usize> = (0..prices.len())
        .filter(|k| means[*k] >= NEARLY * means[best])
        .collect();
    let nearly = match (good.first(), good.last()) {
        (Some(first), Some(last)) if means[best] > 0.0 => [prices[*first], prices[*last]],
        _ => [prices[best]; 2],
    };
    let at_file = |price: f64| weeks * money.leaves(price) * mean(nodes, &buyers(nodes, libm::log(price)));
    Some(Best {
        price: prices[best],
        from: ends[0],
        to: ends[1],
        at_end: match best {
            0 => Some(PriceEnd::Lowest),
            k if k + 1 == prices.len() => Some(PriceEnd::Highest),
            _ => None,
        },
        leaves: means[best],
        leaves_tenths: tenths(nodes, logs[best], margins[best]),
        leaves_a_piece: money.leaves(prices[best]),
        regret,
        regret_p90: p90.map_or(0.0, |(regret, _)| *regret),
        nearly,
        file_leaves: (file >= ends[0] && file <= ends[1]).then(|| at_file(file)),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that fails may panic")]
mod tests {
    use super::*;

    fn node(weight: f64, elasticity: f64) -> Node {
        Node {
            weight,
            elasticity,
            a_week: 2.0,
            centre: libm::log(20.0),
        }
    }

    /// Known buyers: the markup rule, e / (e - 1) x cost, and no regret.
    #[test]
    fn known_buyers_give_the_markup_rule() {
        let money = Money {
            per_price: 1.0,
            cost: 12.0,
        };
        let found = best(&[node(1.0, 3.0)], &money, [10.0, 40.0], 1.0, 20.0).unwrap();
        // Of 201 prices from 10 to 40 each is 0.7 % above the last.
        assert!((found.price / 18.0 - 1.0).abs() < 0.0036, "{found:?}");
        assert_eq!((found.regret, found.at_end), (0.0, None));
        // At 20 there are 2 buyers a week and 8 is left of each.
        assert!((found.file_leaves.unwrap() - 16.0).abs() < 1e-9);
        let asked = 2.0 * libm::pow(found.price / 20.0, -3.0);
        assert!((found.asked() - asked).abs() < 1e-9);
    }

    /// Elasticity 2 or 4: at half the price there are 8 or 32 buyers, 20 on average. A line of elasticity 3 has 16, one of 10 has 2,048.
    #[test]
    fn a_line_that_leaves_what_is_believed_gives_way_to_the_mean() {
        let money = Money {
            per_price: 1.0,
            cost: 12.0,
        };
        let first = |e: f64| {
            let none = Between {
                value: 1.0,
                low: None,
                high: None,
            };
            let line = |log_price: f64| (2.0 * libm::exp(e * (libm::log(20.0) - log_price)), none);
            curve(&[node(0.5, 2.0), node(0.5, 4.0)], &money, [10.0, 40.0], 1.0, &line).remove(0)
        };
        let near = |found: f64, due: f64| (found / due - 1.0).abs() < 1e-9;
        assert!(near(first(3.0).buyers.value, 16.0), "{:?}", first(3.0));
        let told = first(10.0);
        assert!(near(told.buyers.value, 20.0) && near(told.leaves, -40.0), "{told:?}");
    }

    /// Elasticity 2 or 4, each as likely: the price between 24 and 16, and what is given up against knowing, by hand at the price found.
    #[test]
    fn what_is_not_known_costs_its_regret() {
        let money = Money {
            per_price: 1.0,
            cost: 12.0,
        };
        let nodes = [node(0.5, 2.0), node(0.5, 4.0)];
        let found = best(&nodes, &money, [10.0, 40.0], 1.0, 20.0).unwrap();
        assert!(found.price > 16.0 && found.price < 24.0, "{found:?}");
        let leaves = |p: f64, e: f64| 2.0 * libm::pow(p / 20.0, -e) * (p - 12.0);
        let due = 0.5 * (leaves(24.0, 2.0) - leaves(found.price, 2.0) + leaves(16.0, 4.0) - leaves(found.price, 4.0));
        assert!((found.regret - due).abs() < 1e-3 * due, "{} {due}", found.regret);
    }

    /// Poisson with mean 4: its tenths are 2 and 7 (cumulative 0.2381 at 2, 0.0916 at 1; 0.9489 at 7, 0.8893 at 6).
    #[test]
    fn counts_have_their_quantiles() {
        let nodes = [node(1.0, 1.0)];
        let count = |v, q| count_quantile(&nodes, &|_| 4.0, v, q);
        assert_eq!([0.05, 0.1, 0.9].map(|q| count(0.0, q)), [1.0, 2.0, 7.0]);
        // Geometric with mean 4: the share at or under n is 1 - 0.8^(n + 1).
        assert_eq!([0.1, 0.5, 0.9].map(|q| count(1.0, q)), [0.0, 3.0, 10.0]);
    }
}
