//! What a change does, in words: a scenario as it is now against the same as it was before it, simulated with the same draws.

use serde::{Deserialize, Serialize};

use super::format::{asked_of_100, count, enough_money};
use super::words::{batch_of, batches_of, you_earn};
use crate::questions::sweep::Sweep;

/// What is told of a sweep, few enough figures to be kept and sent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Points {
    currency: String,
    confidence: f64,
    trials: u64,
    first_paying_size: Option<u32>,
    sizes: Vec<Point>,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Point {
    size: u32,
    /// What an hour earns on average.
    rate: f64,
    /// The lowest price that pays.
    floor: Option<f64>,
}

impl From<&Sweep> for Points {
    fn from(sweep: &Sweep) -> Self {
        let point = |answer: &crate::questions::sweep::SizeAnswer| Point {
            size: answer.size,
            rate: answer.rate.long_run,
            floor: answer.floor_asked.price,
        };
        Self {
            currency: sweep.currency.clone(),
            confidence: sweep.confidence,
            trials: sweep.trials,
            first_paying_size: sweep.first_paying_size,
            sizes: sweep.sizes.iter().map(point).collect(),
        }
    }
}

impl Points {
    fn at(&self, size: u32) -> Option<&Point> {
        self.sizes.iter().find(|point| point.size == size)
    }

    /// Whether they say something of this size, from so many trials.
    pub fn tell(&self, size: u32, trials: u64) -> bool {
        self.trials == trials && self.at(size).is_some()
    }
}

/// The hour and the price floor at one size, and the first size that pays, with the change and without it; empty where the size is in neither.
///
/// Both sweeps have the same seed and number of trials, so that what differs is the change and not luck.
pub fn sentences(saved: &Points, now: &Points, size: u32) -> Vec<String> {
    let (Some(was), Some(is)) = (saved.at(size), now.at(size)) else {
        return Vec::new();
    };
    let mut said = vec![hour(saved, was, now, is)];
    said.extend(floor(saved, was, now, is));
    if saved.sizes.len() > 1 && now.sizes.len() > 1 {
        said.extend(first(saved.first_paying_size, now.first_paying_size));
    }
    said
}

fn hour(saved: &Points, was: &Point, now: &Points, is: &Point) -> String {
    let batch = batch_of(is.size);
    let (before, after) = (you_earn(was.rate, &saved.currency), you_earn(is.rate, &now.currency));
    if before == after {
        format!("With {batch} you {after} an hour on average, as before.")
    } else {
        format!("With {batch} you {after} an hour on average; without that you {before}.")
    }
}

fn floor(saved: &Points, was: &Point, now: &Points, is: &Point) -> Option<String> {
    let told = |of: &Points, point: &Point| point.floor.map(|price| enough_money(price, &of.currency));
    let often = format!(
        "{} {}",
        asked_of_100(now.confidence),
        batches_of(is.size, "single pieces")
    );
    Some(match (told(saved, was), told(now, is)) {
        (Some(before), Some(after)) if before == after => {
            format!("The lowest price that pays in {often} stays {after}.")
        }
        (Some(before), Some(after)) => {
            format!("The lowest price that pays in {often} is {after}; without that it is {before}.")
        }
        (None, Some(after)) => {
            format!("The lowest price that pays in {often} is {after}; without that no price is high enough.")
        }
        (Some(before), None) => format!("No price pays in {often} any more; without that {before} does."),
        (None, None) => return None,
    })
}

fn first(was: Option<u32>, is: Option<u32>) -> Option<String> {
    let n = |size: u32| count(size.into());
    Some(match (was, is) {
        (Some(was), Some(is)) if was == is => return None,
        (Some(was), Some(is)) => format!("The first size that pays is {}; without that it is {}.", n(is), n(was)),
        (Some(was), None) => format!("No size pays any more; without that {} is the first that does.", n(was)),
        (None, Some(is)) => format!("Now {} is the first size that pays; without that none does.", n(is)),
        (None, None) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::format::money;
    use crate::render::samples::Shop;

    #[test]
    fn both_figures_are_given_and_what_stays_is_said_to_stay() {
        let saved = Shop::default().sweep([1, 12]);
        let sentences = |saved: &Sweep, now: &Sweep, size| sentences(&saved.into(), &now.into(), size);
        assert!(
            sentences(&saved, &saved, 12)[0].ends_with("as before."),
            "{:?}",
            sentences(&saved, &saved, 12)
        );
        assert!(sentences(&saved, &saved, 7).is_empty());
        let mut now = saved.clone();
        now.sizes[1].rate.long_run += 1.0;
        now.sizes[1].floor_asked.price = now.sizes[1].floor_asked.price.map(|price| price - 2.0);
        now.first_paying_size = None;
        let said = sentences(&saved, &now, 12);
        assert_eq!(
            said.len(),
            if saved.first_paying_size.is_some() { 3 } else { 2 },
            "{said:?}"
        );
        for (sweep, word) in [(&saved, "without that you"), (&now, "With a batch of 12 you")] {
            let rate = money(sweep.sizes[1].rate.long_run, "EUR");
            assert!(said[0].contains(&rate) && said[0].contains(word), "{said:?}");
        }
        let (was, is) = (saved.sizes[1].floor_asked.price, now.sizes[1].floor_asked.price);
        for price in [was, is].into_iter().flatten() {
            assert!(said[1].contains(&enough_money(price, "EUR")), "{said:?}");
        }
    }
}
