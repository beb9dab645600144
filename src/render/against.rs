//! What a change does, in words: a scenario as it is now against the same as it was saved, run by the same draws.

use super::format::{asked_of_100, count, money};
use super::words::{batch_of, several, you_earn};
use crate::questions::sweep::{SizeAnswer, Sweep};

/// The hour and the price floor at one size, and the first size that pays, now and as saved; empty where the size is in neither.
///
/// Both sweeps have the same seed and number of runs, so that what differs is the change and not luck.
#[must_use]
pub fn sentences(saved: &Sweep, now: &Sweep, size: u32) -> Vec<String> {
    let at = |sweep: &Sweep| sweep.sizes.iter().position(|answer| answer.size == size);
    let (Some(was), Some(is)) = (at(saved), at(now)) else {
        return Vec::new();
    };
    let (was, is) = (&saved.sizes[was], &now.sizes[is]);
    let mut said = vec![hour(saved, was, now, is)];
    said.extend(floor(saved, was, now, is));
    if saved.sizes.len() > 1 && now.sizes.len() > 1 {
        said.extend(first(saved.first_paying_size, now.first_paying_size));
    }
    said
}

fn hour(saved: &Sweep, was: &SizeAnswer, now: &Sweep, is: &SizeAnswer) -> String {
    let batch = batch_of(is.size);
    let (before, after) = (
        you_earn(was.rate.long_run, &saved.currency),
        you_earn(is.rate.long_run, &now.currency),
    );
    if before == after {
        format!("With {batch} you {after} an hour on average, as before.")
    } else {
        format!("With {batch} you {after} an hour on average; as saved you {before}.")
    }
}

fn floor(saved: &Sweep, was: &SizeAnswer, now: &Sweep, is: &SizeAnswer) -> Option<String> {
    let told = |sweep: &Sweep, answer: &SizeAnswer| answer.floor_asked.price.map(|price| money(price, &sweep.currency));
    let often = format!("{} {}", asked_of_100(now.confidence), several(is.size));
    Some(match (told(saved, was), told(now, is)) {
        (Some(before), Some(after)) if before == after => {
            format!("The lowest price that pays in {often} stays {after}.")
        }
        (Some(before), Some(after)) => {
            format!("The lowest price that pays in {often} is {after}; as saved it is {before}.")
        }
        (None, Some(after)) => {
            format!("The lowest price that pays in {often} is {after}; as saved no price is high enough.")
        }
        (Some(before), None) => format!("No price pays in {often} any more; as saved {before} does."),
        (None, None) => return None,
    })
}

fn first(was: Option<u32>, is: Option<u32>) -> Option<String> {
    let n = |size: u32| count(size.into());
    Some(match (was, is) {
        (Some(was), Some(is)) if was == is => return None,
        (Some(was), Some(is)) => format!("The first size that pays is {}; as saved it is {}.", n(is), n(was)),
        (Some(was), None) => format!("No size pays any more; as saved {} is the first that does.", n(was)),
        (None, Some(is)) => format!("Now {} is the first size that pays; as saved none does.", n(is)),
        (None, None) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::samples::Shop;

    #[test]
    fn both_figures_are_given_and_what_stays_is_said_to_stay() {
        let saved = Shop::default().sweep([1, 12]);
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
        for (sweep, word) in [(&saved, "as saved you"), (&now, "With a batch of 12 you")] {
            let rate = money(sweep.sizes[1].rate.long_run, "EUR");
            assert!(said[0].contains(&rate) && said[0].contains(word), "{said:?}");
        }
        let (was, is) = (saved.sizes[1].floor_asked.price, now.sizes[1].floor_asked.price);
        for price in [was, is].into_iter().flatten() {
            assert!(said[1].contains(&money(price, "EUR")), "{said:?}");
        }
    }
}
