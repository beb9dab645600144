//! How likely is each whole count?
//!
//! * binomial: of n pieces each gets through with chance p. P(k + 1) / P(k) = (n - k) / (k + 1) x p / (1 - p).
//! * negative binomial: starts until n pieces are good, each with chance p. P(k + 1) / P(k) = k / (k + 1 - n) x (1 - p), k from n on.
//!
//! Both are textbook laws (Johnson, Kemp & Kotz, "Univariate Discrete Distributions", chapters 3 and 5; from memory). Chances are worked
//! out from the likeliest count outwards by these ratios and divided by their sum, so that nothing under- or overflows; what is less
//! than 1e-22 of the likeliest is left out.
//!
//! Example: of two pieces, each good three times out of four, both are with chance 9/16.

use super::counts::part_of;

/// Chances of whole counts, which add up to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Chances {
    first: u32,
    chances: Vec<f64>,
}

/// What is left out, as a share of the likeliest count's chance.
const LEAST: f64 = 1e-22;

impl Chances {
    /// Always `count`.
    #[must_use]
    pub fn certain(count: u32) -> Self {
        Self {
            first: count,
            chances: vec![1.0],
        }
    }

    /// How many of `n` get through, each with `chance`.
    #[must_use]
    pub(crate) fn binomial(n: u32, chance: f64) -> Self {
        if chance <= 0.0 || chance >= 1.0 {
            return Self::certain(if chance > 0.0 { n } else { 0 });
        }
        let odds = chance / (1.0 - chance);
        let mode = (libm::floor(f64::from(n) * chance + chance) as u32).min(n);
        let ratio = |k: u32| f64::from(n - k) / f64::from(k + 1) * odds;
        Self::around(mode, 0, Some(n), ratio)
    }

    /// How many must be started until `n` are good, each with `chance` above 0.
    #[must_use]
    pub fn starts(n: u32, chance: f64) -> Self {
        if chance >= 1.0 || n == 0 {
            return Self::certain(n);
        }
        let more = libm::floor(f64::from(n - 1) * (1.0 - chance) / chance) as u32;
        let ratio = |k: u32| f64::from(k) / f64::from(k + 1 - n) * (1.0 - chance);
        Self::around(n + more, n, None, ratio)
    }

    /// The lesser of such a count and another, independent one, of which `at_least(k)` is the chance of `k` or more.
    #[must_use]
    pub fn at_most(&self, at_least: impl Fn(u32) -> f64) -> Self {
        let mut chances = Vec::with_capacity(self.last() as usize + 1);
        let mut more = self.chances.iter().fold(0.0, |sum, chance| sum + chance);
        let mut reach = at_least(0);
        for count in 0..=self.last() {
            let here = self.chance(count);
            let next = at_least(count + 1);
            // Both at least `count`, less both above it.
            let left = (more - here).max(0.0);
            chances.push(more * reach - left * next);
            (more, reach) = (left, next);
        }
        Self { first: 0, chances }
    }

    /// What such a count has beyond another, independent one, of which `at_least(k)` is the chance of `k` or more; 0 where it has less.
    #[must_use]
    pub fn beyond(&self, at_least: impl Fn(u32) -> f64) -> Self {
        let last = self.last();
        let reach: Vec<f64> = (0..=last + 1).map(at_least).collect();
        let mut chances = vec![0.0; last as usize + 1];
        for (count, chance) in self.each() {
            chances[0] += chance * reach[count as usize];
            for other in 0..count {
                chances[(count - other) as usize] += chance * (reach[other as usize] - reach[other as usize + 1]);
            }
        }
        Self { first: 0, chances }
    }

    /// What goes to a way of selling that has such a part of the count ([`super::counts`]), and what is left.
    #[must_use]
    pub fn shared_out(&self, part: f64) -> (Self, Self) {
        if part >= 1.0 {
            return (self.clone(), Self::certain(0));
        }
        let count = self.last() as usize + 1;
        let (mut here, mut left) = (vec![0.0; count], vec![0.0; count]);
        for (count, chance) in self.each() {
            let (sure, more) = part_of(count, part);
            for (goes, share) in [(sure, 1.0 - more), (sure + 1, more)] {
                if share > 0.0 {
                    here[goes as usize] += chance * share;
                    left[(count - goes) as usize] += chance * share;
                }
            }
        }
        (Self::from_none(&here), Self::from_none(&left))
    }

    /// Of the chances of 0, 1, ..., without what is impossible at either end.
    fn from_none(chances: &[f64]) -> Self {
        let possible = |chance: &f64| *chance > 0.0;
        let first = chances.iter().position(possible).unwrap_or(0);
        let last = chances.iter().rposition(possible).unwrap_or(0);
        Self {
            first: first as u32,
            chances: chances[first..=last].to_vec(),
        }
    }

    /// The count, where there is no other.
    #[must_use]
    pub fn known(&self) -> Option<u32> {
        let mut possible = self.each().filter(|(_, chance)| *chance > 0.0);
        let (count, _) = possible.next()?;
        possible.next().is_none().then_some(count)
    }

    /// From the count `mode` outwards; `ratio(k)` is P(k + 1) / P(k).
    fn around(mode: u32, least: u32, most: Option<u32>, ratio: impl Fn(u32) -> f64) -> Self {
        let mut below = Vec::new();
        let mut chance = 1.0;
        for k in (least..mode).rev() {
            chance /= ratio(k);
            if chance < LEAST {
                break;
            }
            below.push(chance);
        }
        let first = mode - below.len() as u32;
        below.reverse();
        let mut chances = below;
        chances.push(1.0);
        chance = 1.0;
        let mut k = mode;
        while most.is_none_or(|most| k < most) {
            chance *= ratio(k);
            if chance < LEAST {
                break;
            }
            chances.push(chance);
            k += 1;
        }
        let whole = chances.iter().fold(0.0, |sum, chance| sum + chance);
        for chance in &mut chances {
            *chance /= whole;
        }
        Self { first, chances }
    }

    /// The largest count that is told apart from impossible.
    #[must_use]
    pub fn last(&self) -> u32 {
        self.first + self.chances.len() as u32 - 1
    }

    /// The chance of a count.
    #[must_use]
    pub fn chance(&self, count: u32) -> f64 {
        count
            .checked_sub(self.first)
            .and_then(|k| self.chances.get(k as usize))
            .copied()
            .unwrap_or(0.0)
    }

    /// Each count with its chance, ascending.
    pub fn each(&self) -> impl Iterator<Item = (u32, f64)> {
        (self.first..).zip(self.chances.iter().copied())
    }

    /// The mean of what `of` makes of the count.
    #[must_use]
    pub fn mean_of(&self, of: impl Fn(u32) -> f64) -> f64 {
        self.each().fold(0.0, |sum, (count, chance)| sum + chance * of(count))
    }

    /// The mean count.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mean_of(f64::from)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(found: f64, expected: f64) {
        assert!((found - expected).abs() <= 1e-13, "{found} against {expected}");
    }

    #[test]
    fn two_pieces_by_hand() {
        let law = Chances::binomial(2, 0.75);
        for (count, chance) in [(0, 1.0), (1, 6.0), (2, 9.0), (3, 0.0)] {
            close(law.chance(count), chance / 16.0);
        }
        assert_eq!(Chances::binomial(7, 1.0), Chances::certain(7));
        assert_eq!(Chances::binomial(7, 0.0), Chances::certain(0));
    }

    /// Two good ones at one in two: 2, 3, 4, 5 starts with chances 1/4, 2/8, 3/16, 4/32.
    #[test]
    fn starts_by_hand() {
        let law = Chances::starts(2, 0.5);
        for (count, chance) in [(1, 0.0), (2, 0.25), (3, 0.25), (4, 0.1875), (5, 0.125)] {
            close(law.chance(count), chance);
        }
        assert_eq!(Chances::starts(4, 1.0), Chances::certain(4));
    }

    /// Means n p and n / p, squares n p (1 - p) + (n p)^2, also where the chance of the ends underflows.
    #[test]
    fn means_are_those_of_the_laws() {
        for (n, p) in [(1, 0.3), (30, 0.01), (400, 0.9), (5000, 0.5)] {
            let (np, size) = (f64::from(n) * p, f64::from(n));
            let law = Chances::binomial(n, p);
            assert!((law.mean() / np - 1.0).abs() < 1e-12);
            let squares = law.mean_of(|k| f64::from(k) * f64::from(k));
            assert!((squares / (np * (1.0 - p) + np * np) - 1.0).abs() < 1e-12);
            assert!((Chances::starts(n, p).mean() / (size / p) - 1.0).abs() < 1e-12);
        }
    }

    /// One of two coins beyond a count that is 0 or 1 alike: 2 with 1/8, 1 with 1/4 + 1/8, none with the rest.
    #[test]
    fn what_one_count_has_beyond_another() {
        let law = Chances::binomial(2, 0.5).beyond(|k| match k {
            0 => 1.0,
            1 => 0.5,
            _ => 0.0,
        });
        for (count, chance) in [(0, 0.5), (1, 0.375), (2, 0.125)] {
            close(law.chance(count), chance);
        }
    }

    /// One of two coins against a count that is 1 or 3: none with 1/4, one with 3/4 x 1/2 + 1/2 x 1/2, two with the rest.
    #[test]
    fn the_lesser_of_two_counts() {
        let law = Chances::binomial(2, 0.5).at_most(|k| match k {
            0 | 1 => 1.0,
            2 | 3 => 0.5,
            _ => 0.0,
        });
        for (count, chance) in [(0, 0.25), (1, 0.625), (2, 0.125)] {
            close(law.chance(count), chance);
        }
    }
}
