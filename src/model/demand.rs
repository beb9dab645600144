//! How many are asked for in a season?
//!
//! Asked for are x = buyers x (price / asked at)^-elasticity, in whole pieces D.
//!
//! # Why chance decides the fraction of a known number
//!
//! Buyers drawn from a range are rounded, D = floor(x + 1/2): the range smooths the edges. A known number has nothing that does. Were 14.5
//! buyers 15 and 14.4 of them 14, a hair more on the price would lose a whole sale, and the best price would stand at such an edge, which is
//! no fact of the shop. So D is floor(x) or one more, the latter with the chance x - floor(x), and its mean is x. It is so for each count of
//! earlier seasons and each value of a log. (Assumption: a range much narrower than one piece is rounded all the same.)

use crate::scenario::{Buyers, Season, Spread};

/// Whole pieces asked for where `buyers` were drawn from a range, `times` the file's.
#[must_use]
pub fn drawn(buyers: f64, times: f64) -> f64 {
    libm::floor(buyers * times + 0.5)
}

/// Whole pieces asked for by a known number of buyers, `times` the file's: 15 for 14.3 where `chance`, uniform in (0, 1), is under 0.3, or 14.
#[must_use]
pub fn known(buyers: f64, times: f64, chance: f64) -> f64 {
    let whole = libm::floor(buyers * times);
    whole + f64::from(u8::from(chance < buyers * times - whole))
}

/// Chance that at least so many pieces are asked for, of buyers `times` these.
#[must_use]
pub(crate) fn at_least_of(buyers: &Spread, times: f64, pieces: u32) -> f64 {
    match buyers {
        _ if pieces == 0 => 1.0,
        Spread::Certain(known) => one_of(&[*known], times, pieces),
        Spread::Logged(log) => one_of(log.values(), times, pieces),
        spread => 1.0 - spread.cdf_below((f64::from(pieces) - 0.5) / times),
    }
}

/// Chance that at least so many pieces, one or more, are asked for, where each of these known numbers is equally likely.
pub(super) fn one_of(known: &[f64], times: f64, pieces: u32) -> f64 {
    let enough = |sum: f64, buyers: &f64| sum + (buyers * times - f64::from(pieces - 1)).clamp(0.0, 1.0);
    known.iter().fold(0.0, enough) / known.len() as f64
}

/// Chance that at least so many pieces are asked for at a price.
#[must_use]
pub(crate) fn at_least(season: &Season, price: f64, pieces: u32) -> f64 {
    let times = season.at_price(price);
    match &season.buyers {
        _ if pieces == 0 => 1.0,
        Buyers::Range(spread) => at_least_of(spread, times, pieces),
        Buyers::Seen(seen) => one_of(seen, times, pieces),
    }
}

/// The number asked for by buyers `times` these, where it is certain.
#[must_use]
pub(crate) fn certain_of(buyers: &Spread, times: f64) -> Option<f64> {
    match buyers {
        Spread::Certain(known) => Some(known * times).filter(|all| *all == libm::floor(*all)),
        _ => None,
    }
}

/// The number asked for at a price, where it is certain.
#[must_use]
pub fn certain(season: &Season, price: f64) -> Option<f64> {
    let times = season.at_price(price);
    match &season.buyers {
        Buyers::Range(spread) => certain_of(spread, times),
        Buyers::Seen(seen) if seen.iter().all(|count| *count == seen[0]) => {
            certain_of(&Spread::Certain(seen[0]), times)
        }
        Buyers::Seen(_) => None,
    }
}

/// Mean buyers as the file tells them.
#[must_use]
pub(crate) fn mean_buyers(season: &Season) -> f64 {
    match &season.buyers {
        Buyers::Range(spread) => spread.mean(),
        Buyers::Seen(seen) => seen.iter().fold(0.0, |sum, count| sum + count) / seen.len() as f64,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{close, season};

    #[test]
    fn whole_pieces_are_asked_for() {
        let shop = season("\"0 / 4\"");
        let range = shop.season.as_ref().expect("it is there");
        // From 1.5 on two; at twice the price an eighth of the buyers, half a piece at the most, which is rounded up.
        for (price, pieces, chance) in [(53.0, 0, 1.0), (53.0, 2, 0.625), (53.0, 5, 0.0), (106.0, 1, 0.0)] {
            assert_eq!(at_least(range, price, pieces), chance, "{pieces} at {price}");
        }
        assert_eq!(certain(range, 53.0), None);
        let shop = season("[3, 1, 1, 2]");
        let seen = shop.season.as_ref().expect("it is there");
        assert_eq!(
            [1, 2, 3, 4].map(|pieces| at_least(seen, 53.0, pieces)),
            [1.0, 0.5, 0.25, 0.0]
        );
        close(mean_buyers(seen), 1.75);
        let shop = season("4");
        let four = shop.season.as_ref().expect("it is there");
        // At twice the price half a buyer is left: one in two seasons, and none in the other.
        assert_eq!((certain(four, 53.0), certain(four, 106.0)), (Some(4.0), None));
        assert_eq!([4, 5].map(|pieces| at_least(four, 53.0, pieces)), [1.0, 0.0]);
        assert_eq!([1, 2].map(|pieces| at_least(four, 106.0, pieces)), [0.5, 0.0]);
        // Of 3, 1, 1 and 2 an eighth each is left: 7/8 of a buyer in four seasons.
        close(at_least(seen, 106.0, 1), 7.0 / 32.0);
    }
}
