//! What do materials cost a batch on average, in packs and at price breaks?
//!
//! A batch uses U = per_piece x pieces handled + per_round x rounds + per_order x orders + per_batch units and needs U (1 + w), w the waste.
//! Of a round that other designs fill in part it bears the rest.
//! Price p, waste w and rate of exchange e are drawn independently of each other and of U, so where any amount is bought at one price
//!
//! E\[cost\] = E\[U\] (1 + E\[w\]) E\[p\] E\[e\].
//!
//! Where whole packs are charged, or cheaper prices begin at some amount, the cost is not linear in U:
//!
//! * packs of k units: E\[p\] E\[e\] k E\[ceil(U (1 + w) / k)\], over the chances of U; where w is a range by E\[X\] = sum over j of P(X > j).
//! * breaks, all prices and the waste certain: the cost of the cheapest purchase for each U, by its chance.
//!
//! [`NoClosedForm`] where breaks have uncertain prices or waste, where orders of uncertain size use such a material, and where its rounds are
//! those of pieces made again. Example: 18.75 units at 9.00, or 8.10 from 20 on: 20 are bought, 162.00.

use super::NoClosedForm;
use super::chances::Chances;
use super::counts::{self, AtStep, Sold, arrivals, rounds_of};
use crate::laws::normal_cdf;
use crate::scenario::{Leftover, Material, Sale, Scenario, Spoiled, Spread, ThreePoint};

/// A pack that is opened less often is none.
const LEAST: f64 = 1e-13;
/// So many packs at most are added up one by one.
const FEW_PACKS: f64 = 1_000.0;
/// So many terms at most of a stretch are added up one by one.
const FEW_PLACES: f64 = 16.0;

/// Units in whole packs (0: any amount); a need that is a whole number of packs but for rounding opens no other.
#[must_use]
pub fn packed(units: f64, pack: f64) -> f64 {
    if pack == 0.0 {
        units
    } else {
        libm::ceil(units / pack * (1.0 - 1e-12) - 1e-12) * pack
    }
}

/// What a batch that needs `need` units (waste included) buys, in units, and the tier it pays (0: the plain price).
///
/// Whole packs; where buying up to the next break costs less in all, that is what is bought. `breaks` are the amounts that tiers
/// begin at, ascending; `price` gives the plain price (0) and the price at each break (from 1).
#[must_use]
pub fn purchase(need: f64, pack: f64, breaks: &[f64], price: impl Fn(usize) -> f64) -> (f64, usize) {
    let bought = packed(need, pack);
    let tier = breaks.iter().take_while(|from| bought >= **from).count();
    let mut best = (bought, tier);
    let mut outlay = bought * price(tier);
    for (k, from) in breaks.iter().enumerate().skip(tier) {
        let up = packed(*from, pack);
        let up_outlay = up * price(k + 1);
        if up_outlay < outlay && bought > 0.0 {
            outlay = up_outlay;
            best = (up, k + 1);
        }
    }
    best
}

/// What all materials cost a batch of `size` on average: at replacement prices, and as paid.
///
/// # Errors
/// [`NoClosedForm`] of the first material that has none.
pub fn costs(scenario: &Scenario, size: u32) -> Result<[f64; 2], NoClosedForm> {
    let at_steps = counts::at_steps(scenario, size);
    let mut ways = counts::sold_by_way(scenario, size);
    ways.extend(counts::seconds_sold(scenario, size));
    let mut all = [0.0; 2];
    for (number, material) in scenario.materials.iter().enumerate() {
        let worth = scenario.exchange_rate(material.currency);
        let [charged, cost] = charged(scenario, size, number, &at_steps, &ways, Ranges::Refused)?;
        all[0] += cost * worth;
        all[1] += material.paid.map_or(cost, |paid| charged * paid) * worth;
    }
    Ok(all)
}

/// What is done where price breaks meet a price or a waste that is a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ranges {
    /// There is no closed form.
    Refused,
    /// What is cheapest at the means is bought: not the mean, but near it.
    AtMeans,
}

/// Mean units charged of one material, where each of `ways` sells so much, seconds last; and their mean cost at replacement prices in its own currency.
///
/// # Errors
/// [`NoClosedForm`], where it has none.
pub(super) fn charged(
    scenario: &Scenario,
    size: u32,
    number: usize,
    at_steps: &[AtStep],
    ways: &[Sold],
    ranges: Ranges,
) -> Result<[f64; 2], NoClosedForm> {
    let material = &scenario.materials[number];
    let at = &at_steps[material.at];
    if !((material.pack.is_none() || material.leftover == Leftover::Keep) && material.breaks.is_empty()) {
        return bought(scenario, size, number, at, ranges);
    }
    let all: f64 = ways.iter().map(|sold| sold.orders).sum();
    let orders = material.channel.map_or(all, |only| ways[only].orders);
    let units = at.handled.mean() * material.per_piece
        + at.rounds * scenario.per_round(material)
        + orders * material.per_order
        + material.per_batch;
    let charged = units * (1.0 + material.waste.mean());
    Ok([charged, charged * material.price.mean()])
}

/// Mean units charged and mean cost of a material that comes in packs or at breaks.
fn bought(
    scenario: &Scenario,
    size: u32,
    number: usize,
    at: &AtStep,
    ranges: Ranges,
) -> Result<[f64; 2], NoClosedForm> {
    let material = &scenario.materials[number];
    let used = used(scenario, size, number, at)?;
    let pack = material.pack.unwrap_or(0.0);
    let mean = |of: &dyn Fn(f64) -> f64| used.iter().fold(0.0, |sum, (units, chance)| sum + chance * of(*units));
    if material.breaks.is_empty() {
        let charged = mean(&|units| mean_packed(units, &material.waste, pack));
        return Ok([charged, charged * material.price.mean()]);
    }
    let certain = |spread: &Spread| match spread {
        Spread::Certain(value) => Ok(*value),
        range if ranges == Ranges::AtMeans => Ok(range.mean()),
        _ => Err(NoClosedForm::Breaks(number)),
    };
    let waste = certain(&material.waste)?;
    let mut prices = vec![certain(&material.price)?];
    for tier in &material.breaks {
        prices.push(certain(&tier.price)?);
    }
    let breaks: Vec<f64> = material.breaks.iter().map(|tier| tier.from).collect();
    let charged = |units: f64| {
        let need = units * (1.0 + waste);
        let (bought, tier) = purchase(need, pack, &breaks, |tier| prices[tier]);
        let lost = material.leftover == Leftover::Lost;
        (if lost { bought } else { need }, prices[tier])
    };
    Ok([
        mean(&|units| charged(units).0),
        mean(&|units| {
            let (units, price) = charged(units);
            units * price
        }),
    ])
}

/// Mean units in whole packs for `units` used and what is wasted.
fn mean_packed(units: f64, waste: &Spread, pack: f64) -> f64 {
    if units == 0.0 {
        return 0.0;
    }
    let due = |waste: f64| units * (1.0 + waste);
    let mean = due(waste.mean());
    match waste {
        Spread::Certain(waste) => return packed(due(*waste), pack),
        Spread::Logged(log) => {
            let all = log
                .values()
                .iter()
                .fold(0.0, |sum, waste| sum + packed(due(*waste), pack));
            return all / log.values().len() as f64;
        }
        _ if !mean.is_finite() => return mean,
        _ => {}
    }
    // All of what is under the least need, then each pack by the chance that it is opened.
    let sure = libm::floor(due(waste.limits().0) / pack);
    let last = libm::ceil(due(waste.upper_quantile(LEAST)) / pack);
    let wasted = |packs: f64| packs * pack / units - 1.0;
    let mut packs = sure;
    if last - sure <= FEW_PACKS {
        let opened = |packs: f64| 1.0 - waste.cdf(wasted(packs));
        let chances = (0..).map(|k| opened(sure + f64::from(k)));
        packs = chances
            .take_while(|opened| *opened >= LEAST)
            .fold(packs, |sum, opened| sum + opened);
    } else {
        let opened = |packs: f64| match *waste {
            // Less than this is left of 1 less the share below it: the far end has many packs of little chance.
            Spread::Lognormal { mu, sigma } if wasted(packs) > 0.0 => {
                normal_cdf((mu - libm::log(wasted(packs))) / sigma)
            }
            _ => 1.0 - waste.cdf(wasted(packs)),
        };
        // Cut where the law bends or has a corner, so that each stretch is smooth.
        let mut cuts = vec![waste.quantile(0.5)];
        for tail in [LEAST, 1e-8, 1e-4, 1e-2, 0.1] {
            cuts.extend([waste.quantile(tail), waste.upper_quantile(tail)]);
        }
        if let Spread::Triangular(ThreePoint { likely, .. }) = waste {
            cuts.push(*likely);
        }
        cuts.sort_by(f64::total_cmp);
        let mut from = sure;
        for cut in cuts {
            let to = libm::ceil(due(cut) / pack).max(from);
            packs += summed(&opened, from, to, 1e-13 * mean / pack);
            from = to;
        }
    }
    if let Spread::Lognormal { mu, sigma } = *waste {
        packs += counts::beyond(mu, sigma, wasted(last)) * units / pack;
    }
    packs * pack
}

/// The sum of a smooth function over the whole numbers from `from` up to and without `to`, in steps far fewer than these.
///
/// Where two halves come to what the whole did, they stand, else each is halved again. The rule for a stretch takes three places: it is
/// Gauss's for the law that gives each of N whole numbers the same weight (moments (N^2 - 1) / 12 and (N^2 - 1) (3 N^2 - 7) / 240), exact for
/// polynomials up to the fifth degree.
fn summed(of: &dyn Fn(f64) -> f64, from: f64, to: f64, within: f64) -> f64 {
    halved(of, (from, to), stretch(of, from, to), within)
}

fn halved(of: &dyn Fn(f64) -> f64, (from, to): (f64, f64), known: f64, within: f64) -> f64 {
    let middle = libm::floor(f64::midpoint(from, to));
    // Beyond 2^53 not every whole number is a double.
    if to - from <= FEW_PLACES || middle <= from || middle >= to {
        return known;
    }
    let (left, right) = (stretch(of, from, middle), stretch(of, middle, to));
    if (left + right - known).abs() <= within {
        return left + right;
    }
    halved(of, (from, middle), left, within) + halved(of, (middle, to), right, within)
}

fn stretch(of: &dyn Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    let n = to - from;
    if n <= FEW_PLACES {
        return (0..n as u32).fold(0.0, |sum, k| sum + of(from + f64::from(k)));
    }
    let middle = 0.5 * (from + to - 1.0);
    let square = (3.0 * n * n - 7.0) / 20.0;
    let outer = n * (n * n - 1.0) / (24.0 * square);
    let off = libm::sqrt(square);
    outer * (of(middle - off) + of(middle + off)) + (n - 2.0 * outer) * of(middle)
}

/// The units of a material that a batch uses, waste not yet added, each with its chance.
fn used(scenario: &Scenario, size: u32, number: usize, at: &AtStep) -> Result<Vec<(f64, f64)>, NoClosedForm> {
    let material = &scenario.materials[number];
    let (arrive, good) = arrivals(scenario);
    let arrive = arrive[material.at];
    let room = scenario.steps[material.at].room;
    let remade = scenario.batch.spoiled == Spoiled::Remake && good < 1.0;
    if remade && material.per_round != 0.0 {
        return Err(NoClosedForm::RoundsInPacks(number));
    }
    let made = |pieces: u32| {
        f64::from(pieces) * material.per_piece
            + f64::from(rounds_of(pieces, room)) * scenario.per_round(material)
            + material.per_batch
    };
    if material.per_order == 0.0 {
        return Ok(at
            .handled
            .each()
            .map(|(pieces, chance)| (made(pieces), chance))
            .collect());
    }
    if scenario.seconds.is_some() && material.channel.is_none() {
        return Err(NoClosedForm::SecondsInPacks(number));
    }
    let orders = orders_of_sold(scenario, size, material.channel).ok_or(NoClosedForm::OrdersInPacks(number))?;
    let mut all = Vec::new();
    let mut add = |pieces: u32, chance: f64, sold: &Chances| {
        for (sold, here) in sold.each() {
            let each = orders[sold as usize].iter();
            all.extend(each.map(|(orders, share)| {
                (
                    made(pieces) + f64::from(*orders) * material.per_order,
                    chance * here * share,
                )
            }));
        }
    };
    // Where pieces come up short, how many are good hangs on how many got here.
    for (pieces, chance) in at.handled.each() {
        let of_them = match scenario.batch.spoiled {
            Spoiled::Short => Chances::binomial(pieces, if arrive > 0.0 { good / arrive } else { 0.0 }),
            Spoiled::Remake => Chances::certain(size),
        };
        add(pieces, chance, &counts::sold(scenario, &of_them));
    }
    Ok(all)
}

/// Orders of 0, 1, ... `size` pieces sold, through all ways of selling or `only` one, each number with its chance; `None` where the size of
/// an order is left to chance.
fn orders_of_sold(scenario: &Scenario, size: u32, only: Option<usize>) -> Option<Vec<Vec<(u32, f64)>>> {
    let way = |(way, sale): (usize, &Sale)| match sale.order_of {
        _ if only.is_some_and(|only| only != way) => Some(None),
        Spread::Certain(order_of) => Some(Some((sale.set_of, order_of))),
        _ => None,
    };
    let ways: Vec<Option<(u32, f64)>> = scenario
        .sales()
        .into_iter()
        .enumerate()
        .map(way)
        .collect::<Option<_>>()?;
    let of_way = |way: usize, here: u32| {
        ways[way].map_or(0, |(set, order_of)| {
            counts::certain_orders(f64::from(here / set), order_of) as u32
        })
    };
    let sums = |sold: u32| counts::sums_of_ways(&scenario.channels, sold, of_way);
    Some((0..=size).map(sums).collect())
}

/// Material of one order, with its waste, at the price of a unit and in the scenario's own money; through the channel with this index also what it alone
/// takes.
#[must_use]
pub(crate) fn order_material(scenario: &Scenario, channel: Option<usize>) -> f64 {
    let cost =
        |m: &Material| m.per_order * (1.0 + m.waste.mean()) * m.price.mean() * scenario.exchange_rate(m.currency);
    let taken = scenario
        .materials
        .iter()
        .filter(|m| m.channel.is_none() || m.channel == channel);
    taken.map(cost).fold(0.0, |sum, cost| sum + cost)
}

/// What a unit of a material costs on average, waste not yet added, in the scenario's own money, at the plain price.
#[must_use]
pub(crate) fn unit_price(scenario: &Scenario, material: &Material) -> f64 {
    material.price.mean() * scenario.exchange_rate(material.currency)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Break, Buyers, Season, Step, Unsold};
    use crate::testing::{close, material, scenario, step};

    fn bought(pack: Option<f64>, breaks: &[(f64, f64)], need: f64) -> (f64, usize) {
        let from: Vec<f64> = breaks.iter().map(|tier| tier.0).collect();
        let prices: Vec<f64> = std::iter::once(9.0).chain(breaks.iter().map(|tier| tier.1)).collect();
        purchase(need, pack.unwrap_or(0.0), &from, |tier| prices[tier])
    }

    /// By hand; the break is that of check value 13A: 19 at 9.00 are 171.00, 20 at 8.10 are 162.00.
    #[test]
    fn what_is_bought_costs_least() {
        let trays = [(20.0, 8.1)];
        for (pack, breaks, need, units, tier) in [
            (None, &trays[..], 16.0, 16.0, 0),
            // 18 at 9.00 are exactly 20 at 8.10: nothing is gained by more.
            (None, &trays, 18.0, 18.0, 0),
            (None, &trays, 18.75, 20.0, 1),
            (Some(1.0), &trays, 18.75, 20.0, 1),
            (None, &trays, 20.0, 20.0, 1),
            (Some(1.0), &trays, 31.25, 32.0, 1),
            (Some(6.0), &trays, 18.75, 24.0, 1),
            // The second break is worth more than the first.
            (None, &[(20.0, 8.1), (30.0, 4.0)], 18.75, 30.0, 2),
            // A dearer "break" is not bought up to.
            (None, &[(20.0, 10.0)], 19.0, 19.0, 0),
            (None, &trays, 0.0, 0.0, 0),
            (Some(4.0), &[], 0.0, 0.0, 0),
            (Some(4.0), &[], 0.1, 4.0, 0),
        ] {
            assert_eq!(bought(pack, breaks, need), (units, tier), "{pack:?} {breaks:?} {need}");
        }
    }

    /// Twelve times a twelfth is a can, however it is rounded; a real bit more is two.
    #[test]
    fn rounding_opens_no_pack() {
        for n in 1..2000_u32 {
            let twelfths = f64::from(n) * (1.0 / 12.0);
            assert_eq!(
                bought(Some(1.0), &[], twelfths).0,
                f64::from(n.div_ceil(12)),
                "{n} twelfths"
            );
            let tenths = f64::from(n) * 0.1;
            assert_eq!(
                bought(Some(0.3), &[], tenths).0,
                f64::from(n.div_ceil(3)) * 0.3,
                "{n} tenths"
            );
        }
        assert_eq!(bought(Some(1.0), &[], 1.000_001).0, 2.0);
    }

    /// Two pieces of which a quarter each is lost before the step that uses 3 units a piece, in packs of 4 whose rest is lost: none, one
    /// or two packs with chances 1/16, 6/16, 9/16.
    #[test]
    fn packs_by_what_gets_there() {
        let mut made = scenario(50.0, 30.0, &[2], vec![step("fire"), step("glaze")]);
        made.steps[0].spoil = 0.25;
        made.materials = vec![Material {
            per_piece: 3.0,
            pack: Some(4.0),
            leftover: Leftover::Lost,
            paid: Some(1.0),
            at: 1,
            ..material("glaze", 0.5)
        }];
        let packs = 6.0 / 16.0 + 2.0 * 9.0 / 16.0;
        let [cost, paid] = costs(&made, 2).unwrap();
        close(cost, packs * 4.0 * 0.5);
        close(paid, packs * 4.0);
        // From 8 units on for a tenth: both good, at 0.05; one: 8 for 0.40 are less than 4 for 2.00.
        made.materials[0].breaks = vec![Break {
            from: 8.0,
            price: Spread::Certain(0.05),
        }];
        let [cost, paid] = costs(&made, 2).unwrap();
        close(cost, 15.0 / 16.0 * 0.4);
        close(paid, 15.0 / 16.0 * 8.0);
        made.materials[0].price = Spread::uniform(0.4, 0.6);
        assert_eq!(costs(&made, 2), Err(NoClosedForm::Breaks(0)));
    }

    /// Ten units and a waste uniform on 0 to 100 % in packs of 8: always two, and a third with the chance of more than 16, 2/5.
    #[test]
    fn packs_with_uncertain_waste() {
        let mut made = scenario(50.0, 30.0, &[1], vec![step("make")]);
        made.materials = vec![Material {
            per_batch: 10.0,
            waste: Spread::uniform(0.0, 1.0),
            pack: Some(8.0),
            leftover: Leftover::Lost,
            ..material("lumber", 2.0)
        }];
        close(costs(&made, 1).unwrap()[0], 2.0 * 8.0 * 2.4);
    }

    /// The sum over packs term by term, for wastes narrow and wide, few packs and many. What is beyond the last term of a lognormal is its
    /// partial expectation, by the midpoint rule.
    #[test]
    fn many_packs_are_the_sum_over_packs() {
        let terms = 2_000_000;
        let three = |low, likely, high| ThreePoint { low, likely, high };
        let shapes = [
            Spread::lognormal_from_tenths(0.02, 0.6),
            Spread::lognormal_from_tenths(0.3, 0.301),
            Spread::lognormal_from_tenths(0.3, 0.300_000_1),
            Spread::lognormal_from_tenths(0.01, 1.0),
            Spread::uniform(0.1, 40.0),
            Spread::triangular(three(0.0, 3.0, 100.0)),
            Spread::triangular(three(2.0, 2.0, 2.001)),
            Spread::pert(three(0.1, 0.2, 30.0)),
            Spread::pert(three(0.0, 9.0, 9.0)),
            Spread::logged(vec![0.1, 0.1, 2.7, 11.3]),
        ];
        let pack = 0.7;
        for (waste, units) in shapes
            .iter()
            .flat_map(|waste| [0.4, 7.3, 812.7, 9_431.9].map(|units| (waste, units)))
        {
            let opened = |packs: f64| match *waste {
                Spread::Lognormal { mu, sigma } if packs * pack > units => {
                    normal_cdf((mu - libm::log(packs * pack / units - 1.0)) / sigma)
                }
                _ => 1.0 - waste.cdf(packs * pack / units - 1.0),
            };
            let (mut sum, mut lost, mut packs) = (0.0, 0.0, 0.0);
            while packs < f64::from(terms) && opened(packs) > 1e-15 {
                // With what rounding loses (Kahan 1965, "Further remarks on reducing truncation errors", CACM 8(1), 40).
                let term = opened(packs) - lost;
                let next: f64 = sum + term;
                lost = (next - sum) - term;
                (sum, packs) = (next, packs + 1.0);
            }
            if let Spread::Lognormal { mu, sigma } = *waste {
                let half = if packs < f64::from(terms) { 0.0 } else { 0.5 };
                sum += counts::beyond(mu, sigma, (packs - half) * pack / units - 1.0) * units / pack;
            }
            let found = mean_packed(units, waste, pack);
            let due = sum * pack;
            assert!(
                (found / due - 1.0).abs() < 1e-12,
                "{waste:?} {units}: {found} against {due}"
            );
        }
    }

    /// A lognormal waste has no upper end, and a sum over its packs none that anybody waits for. Where the last pack is as full as not, half
    /// of one is lost; places are counted and not seconds.
    #[test]
    fn no_waste_takes_long() {
        for (low, high) in [(0.01, 1.0), (1e-6, 1.0), (1e-12, 100.0), (99.0, 100.0), (1e-150, 1.0)] {
            let waste = Spread::lognormal_from_tenths(low, high);
            for units in [1.0, 3_200.0, 1e9] {
                let found = mean_packed(units, &waste, 1.0);
                let mean = units * (1.0 + waste.mean());
                assert!(
                    found >= mean * (1.0 - 1e-12) && found <= mean * (1.0 + 1e-12) + 1.0,
                    "{low} {high} {units}: {found} {mean}"
                );
            }
        }
        let asked = std::cell::Cell::new(0);
        let tail = |x: f64| {
            asked.set(asked.get() + 1);
            1.0 / (1.0 + x / 1e6)
        };
        // The sum from 0 to N - 1 of a / (a + x) is a (psi(a + N) - psi(a)), and psi is ln x - 1 / (2 x) - 1 / (12 x^2) to 1e-26 here.
        let psi = |x: f64| libm::log(x) - 0.5 / x - 1.0 / (12.0 * x * x);
        let due = 1e6 * (psi(1e6 + 1e12) - psi(1e6));
        assert!((summed(&tail, 0.0, 1e12, 1e-12 * due) / due - 1.0).abs() < 1e-12);
        assert!(asked.get() < 5_000, "{}", asked.get());
    }

    /// One in two is spoiled after the step that uses a unit a piece; a box an order; both from packs of three. Of two: both good 4 units,
    /// one 3, none 2, so two packs for one quarter and one for the rest. A season that asks for one at most has no fourth unit.
    #[test]
    fn packs_that_pieces_and_orders_share() {
        let mut made = scenario(
            50.0,
            30.0,
            &[2],
            vec![Step {
                spoil: 0.5,
                ..step("make")
            }],
        );
        made.materials = vec![Material {
            per_piece: 1.0,
            per_order: 1.0,
            pack: Some(3.0),
            leftover: Leftover::Lost,
            ..material("card", 1.0)
        }];
        close(costs(&made, 2).unwrap()[0], 3.0 * 1.25);
        made.season = Some(Season {
            buyers: Buyers::Range(Spread::Certain(1.0)),
            asked_at: 50.0,
            leftover: Unsold::Clearance(0.0),
            elasticity: 0.0,
        });
        close(costs(&made, 2).unwrap()[0], 3.0);
        made.sale.order_of = Spread::uniform(1.0, 3.0);
        assert_eq!(costs(&made, 2), Err(NoClosedForm::OrdersInPacks(0)));
        made.materials[0].per_order = 0.0;
        made.materials[0].per_round = 1.0;
        assert!(costs(&made, 2).is_ok());
        made.batch.spoiled = Spoiled::Remake;
        assert_eq!(costs(&made, 2), Err(NoClosedForm::RoundsInPacks(0)));
    }
}
