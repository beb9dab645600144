//! How many pieces reach a step, how many rounds, sold pieces and orders are there?
//!
//! With n pieces started and s_t the chance that step t spoils one, a piece reaches step j with chance a_j = (1 - s_1) ... (1 - s_(j-1))
//! and comes out good with chance g, the same product over all steps.
//!
//! * Handled at step j: binomial(n, a_j). Where spoiled pieces are made again: as many starts as it takes for n good ones, of
//!   which each that gets to j is good with chance g / a_j (negative binomial).
//! * Rounds of a step with room r: E\[ceil(handled / r)\], one where all find room and there is any. What is made again has rounds of its
//!   own: its k-th wave is binomial(n, (1 - g)^k a_j).
//! * On a selling day that finds S buyers: min(left, S) of what is left of the good pieces; the rest comes home.
//! * Sold: min(home, asked for). A maker goes on sharing out where the last batch left off: of m pieces the first channel takes floor(p m + u),
//!   p its share and u uniform on 0 to 1 from batch to batch. That is the whole part of p m, and one more with the chance of the rest of
//!   it. The next channel takes its share of what is left in the same way, with a u of its own, and the last one all that is left then.
//! * Seconds: a piece that comes through is a second with chance z = 1 - (1 - z_1) ... (1 - z_k), z_t that of step t; g is then the chance
//!   that it comes through and is a first. Seconds: binomial(n, g z / (1 - z)). All of them are sold.
//! * On sale or return: of the pieces that go to a channel the mean share U finds no buyer.
//! * Orders: pieces are put into orders of N pieces, N whole and at least 1. M(m), the orders that m pieces open, is
//!   ceil(m / N) where N is certain, else M(m) = 1 + sum over k < m of P(N = k) M(m - k) (the renewal equation; Feller,
//!   "An Introduction to Probability Theory", volume 1, chapter XIII; from memory).
//! * Sets of s: of the m pieces that go one way, s floor(m / s) are sold, in orders of sets; the rest is left over or sold singly.
//! * Learning (Crawford's unit model): the i-th piece takes ((m + i) / (m + 1))^log2(L) of the first, m made before, L the rate.
//!
//! Assumptions: pieces are spoiled independently of each other, of the buyers and of times. Example: 13 pieces in rounds of 6 are 3.

use super::chances::Chances;
use crate::laws::normal_cdf;
use crate::scenario::{Channel, Learning, Sale, Scenario, SellingDay, Spoiled, Spread, Step};
use std::collections::BTreeMap;

/// Chance that a piece that is started reaches each step, and at the end that it comes out good, and a first.
#[must_use]
pub(crate) fn arrivals(scenario: &Scenario) -> (Vec<f64>, f64) {
    let mut arrive = 1.0;
    let reach = |step: &Step| {
        let here = arrive;
        arrive *= 1.0 - step.spoil;
        here
    };
    let at_steps = scenario.steps.iter().map(reach).collect();
    (at_steps, arrive * (1.0 - scenario.second_chance()))
}

/// The share of orders of `due` pieces below which spares are as good as never too few.
const HARDLY_EVER: f64 = 0.01;

/// The fewest spares with which pieces are hardly ever made again for an order of `due`; `None` where nothing is spoiled.
#[must_use]
pub(crate) fn most_spares(scenario: &Scenario, due: u32) -> Option<u32> {
    let good = arrivals(scenario).1;
    let starts = (good > 0.0 && good < 1.0).then(|| Chances::starts(due, good))?;
    let mut beyond = 1.0;
    let enough = |(_, chance): &(u32, f64)| {
        beyond -= chance;
        beyond < HARDLY_EVER
    };
    starts.each().find(enough).map(|(starts, _)| starts - due)
}

/// The chance that pieces are made again for an order of `due` that so many spares are started with, and the good pieces that are left over,
/// on average.
#[must_use]
pub(crate) fn with_spares(scenario: &Scenario, due: u32, spares: u32) -> (f64, f64) {
    let good = Chances::binomial(due + spares, arrivals(scenario).1);
    (
        good.mean_of(|good| if good < due { 1.0 } else { 0.0 }),
        good.mean_of(|good| f64::from(good.saturating_sub(due))),
    )
}

/// Chance that a piece that is started comes out as a second.
#[must_use]
pub fn second(scenario: &Scenario) -> f64 {
    let through: f64 = scenario.steps.iter().map(|step| 1.0 - step.spoil).product();
    through * scenario.second_chance()
}

/// Seconds that a batch of `size` sells, on average; `None` where they are thrown away.
#[must_use]
pub fn seconds_sold(scenario: &Scenario, size: u32) -> Option<Sold> {
    let sale = &scenario.seconds.as_ref()?.sale;
    let seconds = Chances::binomial(size, second(scenario));
    let orders = orders(&sale.order_of, seconds.last());
    Some(Sold {
        placed: seconds.mean(),
        singly: 0.0,
        pieces: seconds.mean(),
        orders: seconds.mean_of(|pieces| orders[pieces as usize]),
    })
}

/// What is counted at one step for a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct AtStep {
    /// Pieces handled, with those that are made again.
    pub handled: Chances,
    /// Rounds on average.
    pub rounds: f64,
}

/// What is counted at every step for a batch of `size`.
#[must_use]
pub fn at_steps(scenario: &Scenario, size: u32) -> Vec<AtStep> {
    let (arrive, good) = arrivals(scenario);
    let remade = scenario.batch.spoiled == Spoiled::Remake && good < 1.0;
    let at_step = |(step, arrive): (&Step, f64)| {
        let rounds = |handled: &Chances| handled.mean_of(|pieces| f64::from(rounds_of(pieces, step.room)));
        let handled = Chances::binomial(size, arrive);
        let mut found = AtStep {
            rounds: rounds(&handled),
            handled,
        };
        if remade {
            found.handled = Chances::starts(size, good / arrive);
            let mut chance = (1.0 - good) * arrive;
            while f64::from(size) * chance > 1e-15 {
                found.rounds += rounds(&Chances::binomial(size, chance));
                chance *= 1.0 - good;
            }
        }
        found
    };
    scenario.steps.iter().zip(arrive).map(at_step).collect()
}

/// Rounds that so many pieces take; `room` is what one holds, `None` all of them.
#[must_use]
pub(crate) fn rounds_of(pieces: u32, room: Option<u32>) -> u32 {
    match room {
        Some(room) => pieces.div_ceil(room),
        None => pieces.min(1),
    }
}

/// Good pieces of a batch of `size`.
#[must_use]
pub fn good(scenario: &Scenario, size: u32) -> Chances {
    match scenario.batch.spoiled {
        Spoiled::Short => Chances::binomial(size, arrivals(scenario).1),
        Spoiled::Remake => Chances::certain(size),
    }
}

/// Pieces sold on each selling day of so many good ones, and what comes home.
#[must_use]
pub fn on_selling_days(scenario: &Scenario, good: &Chances) -> (Vec<Chances>, Chances) {
    let mut home = good.clone();
    let times = scenario.buyers_at_price();
    let mut day = |day: &SellingDay| {
        let at_least = |pieces: u32| super::demand::at_least_of(&day.sells, times, pieces);
        let sold = home.at_most(at_least);
        home = home.beyond(at_least);
        sold
    };
    let sold = scenario.selling_days.iter().map(&mut day).collect();
    (sold, home)
}

/// Pieces sold of so many good ones otherwise than on selling days.
#[must_use]
pub fn sold(scenario: &Scenario, good: &Chances) -> Chances {
    let home = if scenario.selling_days.is_empty() {
        good.clone()
    } else {
        on_selling_days(scenario, good).1
    };
    match &scenario.season {
        Some(season) => home.at_most(|pieces| super::demand::at_least(season, scenario.sale.price, pieces)),
        None => home,
    }
}

/// What one channel sells of a batch, on average.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sold {
    /// Pieces that go there.
    pub placed: f64,
    /// Pieces that find a buyer there: all, but on sale or return.
    pub pieces: f64,
    /// Orders.
    pub orders: f64,
    /// Pieces beside, which make no full set and are sold singly.
    pub singly: f64,
}

/// What each way of selling but selling days sells of a batch of `size`, on average; without channels there is one, `[sale]`.
#[must_use]
pub fn sold_by_way(scenario: &Scenario, size: u32) -> Vec<Sold> {
    let goes = by_way(&scenario.channels, &sold(scenario, &good(scenario, size)));
    let way = |(k, (sale, here)): (usize, (&Sale, Chances))| {
        let set = sale.set_of;
        let orders = orders(&sale.order_of, here.last() / set);
        let placed = here.mean_of(|pieces| f64::from(pieces / set * set));
        let singly = |pieces: u32| f64::from(pieces % set);
        Sold {
            placed,
            pieces: placed * (1.0 - unsold(scenario, k)),
            orders: here.mean_of(|pieces| orders[(pieces / set) as usize]),
            singly: sale.single_price.map_or(0.0, |_| here.mean_of(singly)),
        }
    };
    scenario.sales().into_iter().zip(goes).enumerate().map(way).collect()
}

/// Mean square of the pieces that a batch of `size` sells, but on selling days and of what comes back.
#[must_use]
pub fn sold_squared(scenario: &Scenario, size: u32) -> f64 {
    let all = sold(scenario, &good(scenario, size));
    let square = |pieces: u32| f64::from(pieces) * f64::from(pieces);
    if !scenario.has_sets() {
        return all.mean_of(square);
    }
    let sales = scenario.sales();
    let of_way = |way: usize, here: u32| match sales[way].single_price {
        Some(_) => here,
        None => here - here % sales[way].set_of,
    };
    all.mean_of(|sold| {
        let sums = sums_of_ways(&scenario.channels, sold, of_way);
        sums.iter()
            .fold(0.0, |sum, (pieces, chance)| sum + chance * square(*pieces))
    })
}

/// Mean share of the pieces that go to a channel that comes back unsold.
#[must_use]
pub fn unsold(scenario: &Scenario, channel: usize) -> f64 {
    let on_return = scenario
        .channels
        .get(channel)
        .and_then(|channel| channel.on_return.as_ref());
    on_return.map_or(0.0, |on_return| on_return.unsold.mean())
}

/// Mean share of the pieces asked for that stays sold; the rest comes back unsold from channels that have theirs on sale or return. `None` where
/// none has.
#[must_use]
pub(crate) fn stay_sold(scenario: &Scenario) -> Option<f64> {
    let channels = scenario.channels.iter().enumerate();
    let on_return = channels.clone().any(|(_, channel)| channel.on_return.is_some());
    on_return.then(|| {
        channels
            .map(|(k, channel)| channel.share * (1.0 - unsold(scenario, k)))
            .sum()
    })
}

/// A share of some pieces that is no further from a whole number is whole.
pub const WHOLE: f64 = 1e-9;

/// The share that each channel has of the pieces that no channel before it takes; without channels, of the one way there is.
#[must_use]
pub(crate) fn parts_of_rest(channels: &[Channel]) -> Vec<f64> {
    let mut rest = 0.0;
    let mut parts: Vec<f64> = channels
        .iter()
        .rev()
        .map(|channel| {
            rest += channel.share;
            channel.share / rest
        })
        .collect();
    parts.reverse();
    if parts.is_empty() { vec![1.0] } else { parts }
}

/// Of so many pieces, how many are sure to go to a way of selling that has such a part of them, and the chance of one more.
pub(super) fn part_of(pieces: u32, part: f64) -> (u32, f64) {
    let due = f64::from(pieces) * part;
    let sure = libm::floor(due + WHOLE);
    let more = due - sure;
    (sure as u32, if more > WHOLE { more } else { 0.0 })
}

/// How many of so many pieces sold go each way.
#[must_use]
pub(crate) fn by_way(channels: &[Channel], sold: &Chances) -> Vec<Chances> {
    let mut left = sold.clone();
    let way = |part: f64| {
        let (here, rest) = left.shared_out(part);
        left = rest;
        here
    };
    parts_of_rest(channels).into_iter().map(way).collect()
}

/// Whether every batch of each of these sizes is shared out among the ways of selling as any other of the same size.
#[must_use]
pub fn shared_out_alike(scenario: &Scenario, sizes: &[u32]) -> bool {
    let alike = |size: &u32| {
        let sold = sold(scenario, &good(scenario, *size));
        by_way(&scenario.channels, &sold)
            .iter()
            .all(|here| here.known().is_some())
    };
    scenario.channels.len() < 2 || sizes.iter().all(alike)
}

/// The sum over all ways of selling of what `of` makes of a way and the pieces that go there, where so many are sold: each with its chance.
pub(super) fn sums_of_ways(channels: &[Channel], sold: u32, of: impl Fn(usize, u32) -> u32) -> Vec<(u32, f64)> {
    let mut found = BTreeMap::from([((sold, 0), 1.0)]);
    for (way, part) in parts_of_rest(channels).into_iter().enumerate() {
        let mut next = BTreeMap::new();
        for ((left, sum), chance) in found {
            let (sure, more) = part_of(left, part);
            for (here, share) in [(sure, 1.0 - more), (sure + 1, more)] {
                if share > 0.0 {
                    *next.entry((left - here, sum + of(way, here))).or_insert(0.0) += chance * share;
                }
            }
        }
        found = next;
    }
    found.into_iter().map(|((_, sum), chance)| (sum, chance)).collect()
}

/// Whole pieces of an order that is drawn as `size`: half a piece is rounded up, and there is at least one.
#[must_use]
pub(crate) fn whole_order(size: f64) -> f64 {
    libm::floor(size + 0.5).max(1.0)
}

/// Orders that 0, 1, ... `most` pieces open, on average.
#[must_use]
pub fn orders(order_of: &Spread, most: u32) -> Vec<f64> {
    if let Spread::Certain(size) = order_of {
        return (0..=most)
            .map(|pieces| certain_orders(f64::from(pieces), *size))
            .collect();
    }
    let chances = order_sizes(order_of, most);
    let mut opened = vec![0.0];
    for pieces in 1..=most as usize {
        let later = chances.iter().enumerate().take(pieces - 1);
        let more = later.fold(0.0, |sum, (k, chance)| sum + chance * opened[pieces - 1 - k]);
        opened.push(1.0 + more);
    }
    opened
}

/// Orders that so many pieces fill, each drawn as `order_of`.
#[must_use]
pub(crate) fn certain_orders(pieces: f64, order_of: f64) -> f64 {
    libm::ceil(pieces / whole_order(order_of))
}

/// Chance of an order of more than so many pieces; half a piece is rounded up.
fn larger(order_of: &Spread, pieces: f64) -> f64 {
    1.0 - order_of.cdf_below(pieces + 0.5)
}

/// Chances of an order of 1, 2, ... pieces, up to `most`: a lognormal has no largest.
fn order_sizes(order_of: &Spread, most: u32) -> Vec<f64> {
    let (mut chances, mut at_least, mut pieces) = (Vec::new(), 1.0, 1.0);
    while at_least >= 1e-12 && chances.len() < most as usize {
        let more = larger(order_of, pieces);
        chances.push(at_least - more);
        (at_least, pieces) = (more, pieces + 1.0);
    }
    chances
}

/// Pieces from which on the tail of a lognormal is an integral and no sum: it has no end.
const SUMMED: f64 = 10_000.0;

/// E\[max(X - a, 0)\] of a lognormal X: e^(mu + sigma^2 / 2) Phi(d) - a Phi(d - sigma) with d = (mu + sigma^2 - ln a) / sigma (the partial
/// expectation; any text on the lognormal law). By the midpoint rule it is the sum of P(X > k + 1/2) over k from a on.
pub(super) fn beyond(mu: f64, sigma: f64, a: f64) -> f64 {
    let d = (mu + sigma * sigma - libm::log(a)) / sigma;
    libm::exp(mu + 0.5 * sigma * sigma) * normal_cdf(d) - a * normal_cdf(d - sigma)
}

/// Expected pieces in an order: a draw is rounded to whole pieces, at least one.
#[must_use]
pub fn order_size(order_of: &Spread) -> f64 {
    if let Spread::Certain(value) = order_of {
        return whole_order(*value);
    }
    // E[N] = sum over k of P(N >= k); P(N >= 1) is 1.
    let mut expected = 1.0;
    let mut pieces = 1.0;
    loop {
        if let Spread::Lognormal { mu, sigma } = *order_of
            && pieces >= SUMMED
        {
            return expected + beyond(mu, sigma, pieces);
        }
        let share = larger(order_of, pieces);
        if share < 1e-12 {
            return expected;
        }
        expected += share;
        pieces += 1.0;
    }
}

/// Crawford's unit model: ((m + i) / (m + 1))^log2(rate) for the i-th piece (i = `index` + 1), no further gain after
/// `learned_by` pieces, those made before included.
///
/// The unit model is commonly ascribed to J. R. Crawford (Lockheed, 1940s; from memory).
#[must_use]
pub fn learning_factor(learning: Option<Learning>, index: u32) -> f64 {
    let Some(Learning {
        rate,
        made_before,
        learned_by,
    }) = learning
    else {
        return 1.0;
    };
    let made = f64::from(made_before) + f64::from(index) + 1.0;
    let first = f64::from(made_before) + 1.0;
    let counted = learned_by.map_or(made, |end| made.min(f64::from(end).max(first)));
    libm::pow(counted / first, libm::log2(rate))
}

/// The learning factors of the first 0, 1, ... `most` pieces, added up.
#[must_use]
pub(crate) fn learning_sums(learning: Option<Learning>, most: u32) -> Vec<f64> {
    let mut sum = 0.0;
    let next = |index: u32| {
        sum += learning_factor(learning, index);
        sum
    };
    std::iter::once(0.0).chain((0..most).map(next)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{scenario, step};

    fn close(found: f64, expected: f64) {
        assert!(
            (found - expected).abs() <= 1e-12 * expected.abs().max(1.0),
            "{found} against {expected}"
        );
    }

    #[test]
    fn rounds_fill_up() {
        for (pieces, room, rounds) in [
            (1, Some(1), 1),
            (6, Some(6), 1),
            (7, Some(6), 2),
            (13, Some(6), 3),
            (13, None, 1),
            (0, Some(6), 0),
            (0, None, 0),
        ] {
            assert_eq!(rounds_of(pieces, room), rounds, "{pieces} pieces, room for {room:?}");
        }
    }

    /// Three ways with 50, 30 and 20 %: the second has three fifths of what the first leaves.
    fn three_ways() -> Vec<Channel> {
        let text = "target = 20\n[[step]]\nname = \"make\"\neach = \"1 h\"\n[sale]\nprice = 50\n[[channel]]\nname = \"a\"\nshare = \"50 %\"\n\
                    [[channel]]\nname = \"b\"\nshare = \"30 %\"\n[[channel]]\nname = \"c\"\nshare = \"20 %\"\n";
        crate::scenario::read("test", text, &[]).expect("it reads").channels
    }

    /// A single piece goes each way with its share. Of three, the first way has one or two at even chances; of the two or one that are left the
    /// second has one for sure and another with chance 1/5, or one with chance 3/5. Ten are five, three and two.
    #[test]
    fn pieces_go_by_their_shares_by_hand() {
        let channels = three_ways();
        let goes = |pieces: u32| by_way(&channels, &Chances::certain(pieces));
        for (way, share) in goes(1).iter().zip([0.5, 0.3, 0.2]) {
            close(way.mean(), share);
        }
        let of_three = goes(3);
        close(of_three[0].chance(2), 0.5);
        close(of_three[1].chance(2), 0.5 * 0.2);
        close(of_three[1].chance(0), 0.5 * 0.4);
        for (way, share) in of_three.iter().zip([0.5, 0.3, 0.2]) {
            close(way.mean(), 3.0 * share);
        }
        let known: Vec<Option<u32>> = goes(10).iter().map(Chances::known).collect();
        assert_eq!(known, [Some(5), Some(3), Some(2)]);
        // Of three pieces: c's and twice b's. (2, 1, 0), (2, 0, 1), (1, 2, 0), (1, 1, 1).
        let sums = sums_of_ways(&channels, 3, |way, pieces| [0, 2, 1][way] * pieces);
        let due = [(1, 0.5 * 0.4), (2, 0.5 * 0.6), (3, 0.5 * 0.8), (4, 0.5 * 0.2)];
        for ((found, chance), (sum, share)) in sums.into_iter().zip(due) {
            assert_eq!(found, sum);
            close(chance, share);
        }
    }

    /// floor(p m + u) of what is left, on a grid of every u: no way has less of more pieces, all of them are given away, each number comes as
    /// often as is said, and no way of three is two pieces off.
    #[test]
    fn a_small_batch_is_the_beginning_of_a_large_one() {
        let channels = three_ways();
        let parts = parts_of_rest(&channels);
        let places: Vec<f64> = (0..100).map(|k| (f64::from(k) + 0.5) / 100.0).collect();
        let mut before = vec![[0; 3]; 10_000];
        for pieces in 1..=40_u32 {
            let mut found = vec![[0.0; 41]; 3];
            for (k, before) in before.iter_mut().enumerate() {
                let mut left = pieces;
                for (way, part) in parts.iter().enumerate() {
                    let begins = if *part < 1.0 {
                        places[[k / 100, k % 100][way]]
                    } else {
                        0.0
                    };
                    let here = libm::floor(f64::from(left) * part + begins) as u32;
                    assert!(here >= before[way], "{pieces} pieces, way {way}");
                    assert!((f64::from(here) - channels[way].share * f64::from(pieces)).abs() < 2.0);
                    found[way][here as usize] += 1e-4;
                    (before[way], left) = (here, left - here);
                }
                assert_eq!(left, 0);
            }
            for (way, goes) in by_way(&channels, &Chances::certain(pieces)).iter().enumerate() {
                for here in 0..=pieces {
                    assert!(
                        (goes.chance(here) - found[way][here as usize]).abs() < 1e-9,
                        "{pieces} {way} {here}"
                    );
                }
            }
        }
    }

    /// Of five pieces four go in sets of two, and the fifth where pieces are sold singly.
    #[test]
    fn what_makes_no_set_is_not_sold() {
        let mut made = scenario(50.0, 30.0, &[5], vec![step("make")]);
        close(sold_squared(&made, 5), 25.0);
        made.sale.set_of = 2;
        close(sold_squared(&made, 5), 16.0);
        close(sold_squared(&made, 3), 4.0);
        made.sale.single_price = Some(20.0);
        close(sold_squared(&made, 5), 25.0);
    }

    /// Two pieces, half of them spoiled before a step with room for one: none, one or two get there.
    #[test]
    fn rounds_of_what_gets_there() {
        let mut made = scenario(50.0, 30.0, &[2], vec![step("fire"), step("glaze"), step("pack")]);
        made.steps[0].spoil = 0.5;
        made.steps[1].room = Some(1);
        let found = at_steps(&made, 2);
        close(found[0].rounds, 1.0);
        close(found[1].rounds, 1.0);
        close(found[2].rounds, 0.75);
        close(found[1].handled.mean(), 1.0);
    }

    /// One piece at even chances, made until it is good: two starts and two rounds at the first step, and one at the second, which only
    /// good pieces get to.
    #[test]
    fn one_piece_made_again() {
        let mut made = scenario(50.0, 30.0, &[1], vec![step("fire"), step("pack")]);
        made.steps[0].spoil = 0.5;
        made.batch.spoiled = Spoiled::Remake;
        let found = at_steps(&made, 1);
        close(found[0].rounds, 2.0);
        close(found[0].handled.mean(), 2.0);
        close(found[1].rounds, 1.0);
        close(found[1].handled.mean(), 1.0);
        // Two: the waves have 2, then 1 and 0 with chances 1/2 and 1/4 ...; rounds without a limit of room until both are good: the
        // larger of two geometric numbers, 8/3.
        close(at_steps(&made, 2)[0].rounds, 8.0 / 3.0);
    }

    #[test]
    fn orders_are_of_whole_pieces() {
        for (value, pieces) in [(0.2, 1.0), (1.0, 1.0), (2.49, 2.0), (2.5, 3.0)] {
            assert_eq!(order_size(&Spread::Certain(value)), pieces);
        }
        // Uniform on 0.5 to 3.5: one, two or three alike. On 0 to 2: one for three quarters.
        close(order_size(&Spread::uniform(0.5, 3.5)), 2.0);
        close(order_size(&Spread::uniform(0.0, 2.0)), 1.25);
    }

    /// Orders of one or two at even chances: two pieces open a second one only after an order of one, three do after one of two, or after
    /// two of one a third.
    #[test]
    fn orders_are_opened_by_hand() {
        let one_or_two = Spread::uniform(0.5, 2.5);
        for (found, due) in orders(&one_or_two, 3).into_iter().zip([0.0, 1.0, 1.5, 2.25]) {
            close(found, due);
        }
        assert_eq!(
            orders(&Spread::Certain(3.0), 7),
            [0.0, 1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 3.0]
        );
    }

    /// A lognormal order has no largest: a sum up to a point and an integral behind it, against the sum alone where that ends.
    #[test]
    fn endless_orders_end() {
        let modest = Spread::lognormal_from_tenths(1.0, 20.0);
        let mut summed = 1.0;
        for pieces in 1..2_000_000 {
            summed += larger(&modest, f64::from(pieces));
        }
        assert!((order_size(&modest) / summed - 1.0).abs() < 1e-9);
        let Spread::Lognormal { mu, sigma } = modest else {
            panic!("a lognormal was asked for");
        };
        // From 100 on, by the sum and by the integral; the midpoint rule is off by the second derivative's part in 24.
        let tail: f64 = (100..2_000_000).map(|k| larger(&modest, f64::from(k))).sum();
        assert!((beyond(mu, sigma, 100.0) / tail - 1.0).abs() < 1e-4, "{tail}");
        let endless = Spread::lognormal_from_tenths(1.0, 100_000.0);
        let mean = endless.mean();
        let size = order_size(&endless);
        // Rounded to whole pieces, at least one: half a piece apart from the mean at the most.
        assert!(size > mean && size < mean + 0.5, "{size} {mean}");
        assert_eq!(orders(&endless, 3).len(), 4);
    }

    #[test]
    fn learning_has_a_start_and_an_end() {
        let rule = |made_before, learned_by| {
            Some(Learning {
                rate: 0.8,
                made_before,
                learned_by,
            })
        };
        assert_eq!(learning_factor(None, 5), 1.0);
        assert_eq!(learning_factor(rule(0, None), 0), 1.0);
        assert_eq!(learning_factor(rule(7, None), 0), 1.0);
        // Each doubling: 0.8. From the 8th to the 16th: pieces 0 and 8 of this batch.
        let close = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-15, "{found}");
        close(learning_factor(rule(0, None), 1), 0.8);
        close(learning_factor(rule(0, None), 3), 0.64);
        close(learning_factor(rule(7, None), 8), 0.8);
        // Pieces made before count towards the end.
        close(learning_factor(rule(7, Some(16)), 8), 0.8);
        close(learning_factor(rule(7, Some(16)), 800), 0.8);
        // All learned already.
        close(learning_factor(rule(20, Some(16)), 800), 1.0);
        assert_eq!(learning_sums(None, 3), [0.0, 1.0, 2.0, 3.0]);
        close(learning_sums(rule(0, None), 2)[2], 1.8);
    }
}
