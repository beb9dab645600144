//! Means and variances of hours in closed form, for whatever has one: the simulation's yardstick.
//!
//! Hours are F x M / 60 with F the pace and M the minutes of a run, independent of each other. A piece's time with redo is a
//! geometric sum of draws; pieces that reach a step after spoiling are binomial. Both are textbook results (compound sums:
//! Wald's identity and the law of total variance).

use super::plan::learning_factor;
use crate::laws::Binomial;
use crate::scenario::{Material, Scenario, Spoiled, Spread, Varies};

/// Expected hours and their variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Hours.
    pub mean: f64,
    /// Hours squared; `None` where pieces can be spoiled, which ties the steps together.
    pub variance: Option<f64>,
}

/// Moments of the hands-on hours of a batch of `size`.
///
/// `None` where there is no closed form: spoiled pieces made again, orders of uncertain size, channels, a season.
#[must_use]
pub fn hours(scenario: &Scenario, size: u32) -> Option<Moments> {
    let spoils = scenario.steps.iter().any(|s| s.spoil > 0.0);
    let sells_as_it_comes = scenario.channels.is_empty() && scenario.season.is_none();
    if (spoils && scenario.batch.spoiled == Spoiled::Remake)
        || !scenario.sale.order_of.is_certain()
        || !sells_as_it_comes
    {
        return None;
    }
    let runs = f64::from(scenario.batch.runs);
    let (mut mean, mut variance) = (0.0, 0.0);
    let mut arrive = 1.0;
    for step in &scenario.steps {
        mean += step.once.mean() / runs;
        variance += step.once.variance() / (runs * runs);

        let counts = counts(size, arrive);
        let rounds = expected_groups(&counts, step.room.map_or(f64::INFINITY, f64::from));
        mean += rounds * step.setup.mean();
        variance += rounds * step.setup.variance();

        // Repeats of one piece's step: 1 + geometric.
        let repeats = 1.0 / (1.0 - step.redo);
        let repeats_variance = step.redo * repeats * repeats;
        let (mut factors, mut factors_squared, mut at_least) = (0.0, 0.0, 1.0 - counts[0]);
        for piece in 0..size {
            let factor = learning_factor(step.learning, piece);
            factors += factor * at_least;
            factors_squared += factor * factor;
            at_least -= counts[piece as usize + 1];
        }
        let (each, each_variance) = (step.each.mean(), step.each.variance());
        mean += each * factors * repeats;
        variance += match step.varies {
            Varies::Piece => factors_squared * (repeats * each_variance + repeats_variance * each * each),
            Varies::Batch => {
                let sum = factors * repeats;
                let sum_variance = factors_squared * repeats_variance;
                (each_variance + each * each) * (sum_variance + sum * sum) - each * each * sum * sum
            }
        };
        arrive *= 1.0 - step.spoil;
    }
    let orders = expected_groups(&counts(size, arrive), order_size(&scenario.sale.order_of));
    for step in &scenario.steps {
        mean += orders * step.per_order.mean();
        variance += orders * step.per_order.variance();
    }
    let (pace, pace_variance) = (scenario.pace.mean(), scenario.pace.variance());
    let whole = (pace_variance + pace * pace) * (variance + mean * mean) - pace * pace * mean * mean;
    Some(Moments {
        mean: pace * mean / 60.0,
        variance: (!spoils).then_some(whole / 3600.0),
    })
}

/// Expected hands-on hours of one more good piece: time per piece of all that must be started for it. No setup, no orders.
///
/// Learning is as for the first piece.
#[must_use]
pub fn hours_of_one_more(scenario: &Scenario) -> f64 {
    hours_of_the_last(scenario, 1)
}

/// [`hours_of_one_more`] with what was learned from the pieces before it in a batch of `size`.
fn hours_of_the_last(scenario: &Scenario, size: u32) -> f64 {
    let (mut arrive, mut minutes) = (1.0, 0.0);
    for step in &scenario.steps {
        let learned = learning_factor(step.learning, size.saturating_sub(1));
        minutes += arrive * step.each.mean() * learned / (1.0 - step.redo);
        arrive *= 1.0 - step.spoil;
    }
    scenario.pace.mean() * minutes / 60.0 / arrive
}

/// Money tied up in one more good piece: stock used per piece at replacement prices, and its hours at the target.
///
/// Assumption: setups and orders are not tied up in a piece, so that the economic batch is that of the textbooks.
#[must_use]
pub fn piece_value(scenario: &Scenario) -> f64 {
    value(scenario, 1, |material, _| material.price.mean())
}

/// [`piece_value`] of the last piece of a batch of `size`: with what was learned by then, at the price that so many pay. Whole packs are left out, as the
/// rest of one is no piece's.
///
/// What a piece that is carried over saves is no more than that, or making more than sells would pay by itself.
#[must_use]
pub fn last_piece_value(scenario: &Scenario, size: u32) -> f64 {
    value(scenario, size, |material, arrive| {
        let need = (f64::from(size) * arrive * material.per_piece + material.per_batch) * (1.0 + material.waste.mean());
        // As it is bought: at the tier that so much pays, or up to a later one where that costs less in all.
        let mut least = (need * material.price.mean(), material.price.mean());
        for tier in &material.breaks {
            let price = tier.price.mean();
            let cost = need.max(tier.from) * price;
            if cost < least.0 {
                least = (cost, price);
            }
        }
        least.1
    })
}

/// Money tied up in the last good piece of a batch of `size`, where `price` is a material's, of which so many pieces reach its step.
fn value(scenario: &Scenario, size: u32, price: impl Fn(&Material, f64) -> f64) -> f64 {
    let mut arrivals = Vec::with_capacity(scenario.steps.len());
    let mut arrive = 1.0;
    for step in &scenario.steps {
        arrivals.push(arrive);
        arrive *= 1.0 - step.spoil;
    }
    if arrive == 0.0 {
        // Where no piece comes through there is none that money is tied up in.
        return 0.0;
    }
    let materials: f64 = scenario
        .materials
        .iter()
        .map(|m| {
            let rate = m.currency.map_or(1.0, |k| scenario.currencies[k].rate.mean());
            arrivals[m.at] * m.per_piece * (1.0 + m.waste.mean()) * price(m, arrivals[m.at]) * rate
        })
        .sum();
    let overhead = scenario.shop.cost_per_hour();
    materials / arrive + hours_of_the_last(scenario, size) * (scenario.target_per_hour + overhead)
}

/// Pieces that come off the bench in a week, where hours of the week are given.
#[must_use]
pub fn pieces_per_week(scenario: &Scenario) -> Option<f64> {
    let per_piece = hours_of_one_more(scenario);
    let week = scenario.hours.as_ref()?.week();
    (per_piece > 0.0).then(|| week / per_piece)
}

/// What a steady seller's stock costs to hold: this times the square of the pieces of a run. 0 without a steady sale.
///
/// n pieces that sell at d a week are gone after n / d weeks, n / 2 in stock on average; where they come in one by one at p a
/// week, (1 - d / p) n / 2 (Harris 1913 and Taft 1918; see any text on lot sizes).
#[must_use]
pub fn holding(scenario: &Scenario) -> f64 {
    let Some(steady) = scenario.steady else { return 0.0 };
    let in_stock = match steady.finished {
        crate::scenario::Finished::Together => 1.0,
        crate::scenario::Finished::Singly => {
            pieces_per_week(scenario).map_or(1.0, |made| (1.0 - steady.per_week / made).max(0.0))
        }
    };
    let weeks = super::plan::WEEKS_PER_YEAR;
    steady.hold * piece_value(scenario) * in_stock / (2.0 * steady.per_week * weeks)
}

/// Expected pieces in an order: a draw is rounded to whole pieces, at least one.
#[must_use]
pub fn order_size(order_of: &Spread) -> f64 {
    if let Spread::Certain(value) = order_of {
        return libm::floor(value + 0.5).max(1.0);
    }
    // E[N] = sum over k of P(N >= k); P(N >= 1) is 1.
    let mut expected = 1.0;
    let mut pieces = 2.0;
    loop {
        // Half a piece is rounded up.
        let share = 1.0 - order_of.cdf_below(pieces - 0.5);
        if share < 1e-12 {
            return expected;
        }
        expected += share;
        pieces += 1.0;
    }
}

/// Chance of 0, 1, ... `size` pieces when each arrives with chance `arrive`.
fn counts(size: u32, arrive: f64) -> Vec<f64> {
    let law = Binomial::new(size.into(), arrive);
    (0..=u64::from(size)).map(|k| law.pmf(k)).collect()
}

/// Expected number of groups of `room` that the pieces fill, at least one where there are any.
fn expected_groups(counts: &[f64], room: f64) -> f64 {
    counts
        .iter()
        .enumerate()
        .skip(1)
        .map(|(k, chance)| chance * libm::ceil(k as f64 / room).max(1.0))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Step;
    use crate::testing::{scenario, step, tri};

    fn close(found: f64, expected: f64) {
        assert!(
            (found - expected).abs() <= 1e-12 * expected.abs().max(1e-12),
            "{found} against {expected}"
        );
    }

    /// Two pieces through a room of one, the first step spoiling a quarter: every case by hand.
    #[test]
    fn two_pieces_by_hand() {
        let made = scenario(
            50.0,
            30.0,
            &[2],
            vec![
                Step {
                    each: Spread::Certain(10.0),
                    spoil: 0.25,
                    ..step("fire")
                },
                Step {
                    setup: Spread::Certain(8.0),
                    each: Spread::Certain(4.0),
                    room: Some(1),
                    redo: 0.5,
                    learning: Some(crate::scenario::Learning {
                        rate: 0.5,
                        made_before: 0,
                        learned_by: None,
                    }),
                    ..step("polish")
                },
                Step {
                    per_order: Spread::Certain(6.0),
                    ..step("pack")
                },
            ],
        );
        // None, one, two survive with 1/16, 6/16, 9/16. One: setup 8, each 4 twice (redo doubles), order 6: 22. Two: the second
        // takes half: 16 + 8 + 4 + 12 = 40. First step always 20.
        let minutes = 20.0 + 6.0 / 16.0 * 22.0 + 9.0 / 16.0 * 40.0;
        let found = hours(&made, 2).unwrap();
        close(found.mean, minutes / 60.0);
        assert_eq!(found.variance, None);
    }

    /// One piece with everything but spoil: variances of a pace, a setup and a geometric sum, by hand.
    #[test]
    fn variances_by_hand() {
        let mut made = scenario(
            50.0,
            30.0,
            &[1],
            vec![Step {
                once: Spread::uniform(0.0, 12.0),
                setup: tri(2.0, 3.0, 7.0),
                each: Spread::uniform(4.0, 10.0),
                redo: 0.5,
                ..step("make")
            }],
        );
        made.batch.runs = 3;
        // once / 3: mean 2, variance 144 / 12 / 9. Setup: 4 and 7/6 (check value 1a). Each, repeated 1 + geometric: mean 2,
        // variance 2; so 14 and 2 x 36 / 12 + 2 x 49.
        let (mean, variance) = (20.0, 4.0 / 3.0 + 7.0 / 6.0 + 104.0);
        let found = hours(&made, 1).unwrap();
        close(found.mean, mean / 60.0);
        close(found.variance.unwrap(), variance / 3600.0);
        // A pace with mean 1 and variance 1/12 that multiplies it all.
        made.pace = Spread::uniform(0.5, 1.5);
        let found = hours(&made, 1).unwrap();
        close(found.mean, mean / 60.0);
        let with_pace = (1.0 + 1.0 / 12.0) * (variance + mean * mean) - mean * mean;
        close(found.variance.unwrap(), with_pace / 3600.0);
        // One draw for the run, doubled or more by redo.
        made.pace = Spread::Certain(1.0);
        made.steps[0].varies = Varies::Batch;
        let product = (3.0 + 49.0) * (2.0 + 4.0) - 49.0 * 4.0;
        close(
            hours(&made, 1).unwrap().variance.unwrap(),
            (4.0 / 3.0 + 7.0 / 6.0 + product) / 3600.0,
        );
    }

    #[test]
    fn no_closed_form_is_no_answer() {
        let mut made = scenario(
            50.0,
            30.0,
            &[2],
            vec![Step {
                spoil: 0.1,
                each: tri(1.0, 2.0, 3.0),
                ..step("make")
            }],
        );
        assert!(hours(&made, 2).is_some());
        made.batch.spoiled = Spoiled::Remake;
        assert_eq!(hours(&made, 2), None);
        made.steps[0].spoil = 0.0;
        assert!(hours(&made, 2).is_some());
        made.sale.order_of = Spread::uniform(1.0, 3.0);
        assert_eq!(hours(&made, 2), None);
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

    #[test]
    fn groups_fill_up() {
        // A room that holds them all is one round.
        for (pieces, room, groups) in [
            (1, 1.0, 1.0),
            (6, 6.0, 1.0),
            (7, 6.0, 2.0),
            (13, 6.0, 3.0),
            (13, f64::INFINITY, 1.0),
        ] {
            assert_eq!(
                expected_groups(&counts(pieces, 1.0), room),
                groups,
                "{pieces} pieces, room for {room}"
            );
        }
        // None, one or two of two, half of them each: nothing, one, and one or two rounds.
        close(expected_groups(&counts(2, 0.5), f64::INFINITY), 0.75);
        close(expected_groups(&counts(2, 0.5), 1.0), 1.0);
    }
}
