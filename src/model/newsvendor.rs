//! How many to make for a season, and at what price, by the textbook?
//!
//! One more piece earns `under` if it is asked for and loses `over` if it is left, so as many are made as are asked for in a share
//! under / (under + over) of seasons, the critical fractile (the newsvendor's problem; Arrow, Harris & Marschak 1951, "Optimal inventory
//! policy", Econometrica 19, 250-272). Where demand falls with the price and all is sold, the price that earns most is
//! elasticity / (elasticity - 1) x cost, put up by tax and fees (constant elasticity; any text on microeconomics).
//!
//! Assumption: one more piece costs what the last one does, so there is no such rule where it may open another round that costs something.
//! Example: under 30 and over 10: enough for three seasons in four.

use super::demand::one_of;
use super::worth::{last_piece_value, leftover, piece_value, sold_piece};
use crate::scenario::{Buyers, Scenario, Season, Spread};
use serde::Serialize;

/// Critical fractile and what it is made of, money per piece.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fractile {
    /// What one more piece brings when it is sold: price less tax, fees, postage and its order's time at the target.
    pub sold_for: f64,
    /// What one more piece costs: stock, and its hours at the target.
    pub cost: f64,
    /// `sold_for - cost`: lost when a piece is asked for and not there.
    pub under: f64,
    /// `cost` less what a leftover brings: lost when a piece is there and not asked for.
    pub over: f64,
    /// under / (under + over).
    pub fractile: f64,
    /// Smallest number asked for that this share of seasons does not go over: good pieces to have.
    pub pieces: f64,
}

/// Whether one more piece may open another round that costs something: then no piece costs the same as the next.
#[must_use]
pub(crate) fn rounds_cost(scenario: &Scenario) -> bool {
    let largest = scenario.batch.sizes.last().copied().unwrap_or(1);
    let steps = scenario.steps.iter().enumerate();
    steps
        .filter(|(_, step)| step.room.is_some_and(|room| room < largest))
        .any(|(k, step)| !step.setup.is_zero() || scenario.materials.iter().any(|m| m.at == k && m.per_round > 0.0))
}

/// The textbook's answer; `None` where a leftover costs nothing, a sold piece earns nothing, rounds leave no one cost of one more, pieces are
/// sold in sets, or selling days take the first at prices of their own.
///
/// One more piece costs what the last of the `best` batch does.
#[must_use]
pub fn fractile(scenario: &Scenario, season: &Season, best: u32) -> Option<Fractile> {
    if rounds_cost(scenario) || !scenario.selling_days.is_empty() || scenario.has_sets() {
        return None;
    }
    let (per_price, besides) = sold_piece(scenario, best);
    let sold_for = per_price * scenario.sale.price + besides;
    let cost = last_piece_value(scenario, best);
    let (under, over) = (sold_for - cost, cost - leftover(scenario, best));
    if !(under > 0.0 && over > 0.0) {
        return None;
    }
    let fractile = under / (under + over);
    let price = scenario.sale.price;
    let pieces = match &season.buyers {
        Buyers::Range(Spread::Certain(known)) => enough(&[*known], season.at_price(price), fractile),
        Buyers::Range(Spread::Logged(log)) => enough(log.values(), season.at_price(price), fractile),
        Buyers::Range(spread) => spread.quantile(fractile) * season.at_price(price),
        Buyers::Seen(seen) => enough(seen, season.at_price(price), fractile),
    };
    Some(Fractile {
        sold_for,
        cost,
        under,
        over,
        fractile,
        pieces,
    })
}

/// Fewest pieces that are enough with at least this chance, where each of these known numbers of buyers is equally likely.
fn enough(known: &[f64], times: f64, chance: f64) -> f64 {
    // Only from these on are more of them enough.
    let mut pieces: Vec<u32> = known.iter().map(|buyers| libm::floor(buyers * times) as u32).collect();
    pieces.extend(pieces.clone().iter().map(|whole| whole + 1));
    pieces.sort_unstable();
    let too_few = |pieces: &u32| 1.0 - one_of(known, times, pieces + 1) < chance - 1e-9;
    let most = pieces.len() - 1;
    f64::from(pieces[pieces.partition_point(too_few).min(most)])
}

/// What a piece costs before its price brings anything: its value, and what its order takes beyond what it brings.
#[must_use]
pub(crate) fn cost_before_price(scenario: &Scenario) -> f64 {
    piece_value(scenario) - sold_piece(scenario, 1).1
}

/// The markup rule for constant elasticity where everything is sold; `None` where demand is not elastic enough for a best price
/// (elasticity 1 or less), a piece costs nothing or its price leaves nothing.
#[must_use]
pub fn markup_rule(scenario: &Scenario, elasticity: f64) -> Option<f64> {
    let (per_price, cost) = (sold_piece(scenario, 1).0, cost_before_price(scenario));
    let alike = scenario.selling_days.is_empty() && !scenario.has_sets();
    (alike && elasticity > 1.0 && per_price > 0.0 && cost > 0.0)
        .then(|| elasticity / (elasticity - 1.0) * cost / per_price)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{close, season};

    /// A piece costs 10 and brings 53 less 20 % less 3: 39.40. Under 29.40, over 6: 0.8305 of seasons, uniform on 0 to 100.
    #[test]
    fn a_fractile_by_hand() {
        let shop = season("\"0 / 100\"");
        let found = fractile(&shop, shop.season.as_ref().expect("it is there"), 1).expect("both cost something");
        close(found.sold_for, 39.4);
        close(found.cost, 10.0);
        close(found.under, 29.4);
        close(found.over, 6.0);
        close(found.fractile, 29.4 / 35.4);
        close(found.pieces, 100.0 * 29.4 / 35.4);
        // 13 in all, at three to one and a half; of the price 80 % is left.
        close(markup_rule(&shop, 3.0).expect("elastic"), 1.5 * 13.0 / 0.8);
        assert_eq!(markup_rule(&shop, 1.0), None);
        // The fifth of six seasons in order is the first that 83.05 % do not go over.
        let seen = season("[9, 2, 7, 4, 6, 8]");
        close(
            fractile(&seen, seen.season.as_ref().expect("it is there"), 1)
                .expect("as above")
                .pieces,
            8.0,
        );
    }

    #[test]
    fn so_many_are_enough() {
        // Of 14.3 buyers 14 come in 70 of 100 seasons; of 9.8, 14.3 and 20.6 no more than 14 in 1.7 of three.
        assert_eq!(
            [0.0, 0.69, 0.71, 1.0].map(|chance| enough(&[14.3], 1.0, chance)),
            [14.0, 14.0, 15.0, 15.0]
        );
        assert_eq!(
            [0.56, 0.57].map(|chance| enough(&[14.3, 20.6, 9.8], 1.0, chance)),
            [14.0, 15.0]
        );
        assert_eq!(
            [0.25, 0.26, 1.0].map(|chance| enough(&[3.0, 1.0, 1.0, 2.0], 1.0, chance)),
            [1.0, 1.0, 3.0]
        );
    }
}
