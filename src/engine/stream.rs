//! Random streams: one for each (trial, part), where a part is, say, the setup of the step "glue pegs".
//!
//! Two published generators are used. *SplitMix64* (Steele, Lea & Flood 2014, "Fast splittable pseudorandom number
//! generators", OOPSLA, 453-472) with random access serves draws that are rare (setups, orders, prices): number k of a
//! stream is `mix(start + (k + 1) gamma)`. *xoshiro256++* (Blackman & Vigna 2021, "Scrambled linear pseudorandom number
//! generators", ACM TOMS 47(4), article 36), seeded from SplitMix64 as its authors advise, serves the per-piece draws;
//! eight generators run side by side, one a lane.
//!
//! # Why draws belong to pieces
//!
//! With spoiling, lanes lose pieces at different places. If a lane skipped a lost piece's draws, its generators would drift from its
//! neighbours', and changing one step's spoil would change every later draw. A lost piece is drawn and counted with weight 0.
//!
//! # Why there are two generators
//!
//! Draws for each piece come from xoshiro256++, eight side by side. Setups, orders and prices are rare and wanted by number (the setup of
//! round 3), so they come from SplitMix64 by random access.
//!
//! # Why a hundred trials have one number in every hundredth
//!
//! Ways of selling take pieces by shares, which are mostly whole per cents. Of a hundred trials in a row just as many as the share says then
//! begin with a piece for a way (`evenly`), so that chance leaves no error in how often a way gets one, and a price that pays in 80 of 100
//! batches because the way that pays has 80 % does so at every seed. Which trials these are is left to chance, anew in each hundred:
//! going round in the order of the trials would leave shares with a long period far out where the trials end within a round, and a second
//! sample would hang together with the first. What is printed takes the trials to be independent, so its errors are rather too large
//! (stratified sampling; Cochran, "Sampling Techniques", chapter 5; from memory).
//!
//! # Why there are eight lanes on every processor
//!
//! Redos draw from their stream while any lane of the group still needs one. Were the group as wide as the processor's vectors, results
//! would depend on the processor.

use super::shape::unit;
use super::{LANES, Lanes};
use crate::hash::fnv1a;
use fearless_simd::{Simd, SimdBase, SimdFrom, u64x8};

/// 2^64 / golden ratio, odd: the increment of SplitMix64.
pub const GAMMA: u64 = 0x9E37_79B9_7F4A_7C15;
const MIX_1: u64 = 0xBF58_476D_1CE4_E5B9;
const MIX_2: u64 = 0x94D0_49BB_1331_11EB;

/// SplitMix64's finaliser (variant 13 of David Stafford's mixers).
#[must_use]
pub const fn mix(z: u64) -> u64 {
    let z = (z ^ (z >> 30)).wrapping_mul(MIX_1);
    let z = (z ^ (z >> 27)).wrapping_mul(MIX_2);
    z ^ (z >> 31)
}

/// [`mix`] on all lanes.
#[inline(always)]
pub(crate) fn mix_lanes<S: Simd>(z: u64x8<S>) -> u64x8<S> {
    let z = (z ^ (z >> 30)) * MIX_1;
    let z = (z ^ (z >> 27)) * MIX_2;
    z ^ (z >> 31)
}

/// What a stream is for; together with the name of its step it makes the stream's identity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u64)]
pub enum Use {
    /// The trial's pace.
    Pace = 1,
    /// Hours once for the design.
    Once,
    /// A round's setup.
    Setup,
    /// A piece's time.
    Each,
    /// Whether a piece is redone (high half) or spoiled (low half).
    Fate,
    /// The time of a redo.
    Redo,
    /// An order's hands-on time.
    OrderTime,
    /// An order's number of pieces.
    OrderSize,
    /// An order's postage.
    Post,
    /// Whether an order comes back.
    Returned,
    /// A material's price.
    Price,
    /// A material's waste.
    Waste,
    /// Setup of a round of remade pieces.
    RemakeSetup,
    /// Time of a remade piece.
    RemakeEach,
    /// Fate of a remade piece.
    RemakeFate,
    /// Redo of a remade piece.
    RemakeRedo,
    /// What another currency is worth.
    Exchange,
    /// Pieces asked for in a season.
    Buyers,
    /// An order's hands-on time in a channel that says its own.
    ChannelTime,
    /// Whether a piece that comes through is a second.
    Second,
    /// An order's hands-on time of seconds that say their own.
    SecondTime,
    /// The time of a quote.
    Quote,
    /// Whether a quote becomes an order.
    QuoteWon,
    /// The time of an enquiry.
    Enquiry,
    /// Whether an enquiry becomes an order.
    EnquiryBought,
    /// Pieces that find a buyer on a selling day.
    DaySells,
    /// The maker's time there.
    DayThere,
    /// The maker's time on the way.
    DayTravel,
    /// What the day costs.
    DayCost,
    /// An order's tip.
    Tip,
    /// The share of the pieces left on sale or return that comes back.
    Unsold,
    /// Whether a piece left on sale or return comes back (high half), and is worn (low half).
    ComesBack,
    /// Where in its share a way of selling begins.
    Begins,
    /// Whether a batch's setups lie opposite to its time per piece.
    Opposite,
}

/// The identity of a stream: its name, then its use.
#[must_use]
pub fn part(purpose: Use, name: &str) -> u64 {
    mix(fnv1a(name.as_bytes()) ^ mix(purpose as u64))
}

/// The keys of the eight trials of a group.
#[must_use]
pub fn trial_keys(seed: u64, group: u64) -> [u64; LANES] {
    std::array::from_fn(|lane| {
        let trial = group * LANES as u64 + lane as u64;
        mix(mix(seed).wrapping_add(GAMMA.wrapping_mul(trial + 1)))
    })
}

/// Where a part's stream starts in one trial.
#[must_use]
pub const fn start(trial_key: u64, part: u64) -> u64 {
    mix(trial_key ^ part)
}

/// Number `k` of the stream that starts at `start`.
#[must_use]
pub const fn nth(start: u64, k: u64) -> u64 {
    mix(start.wrapping_add(GAMMA.wrapping_mul(k.wrapping_add(1))))
}

/// [`start`] on all lanes.
#[inline(always)]
pub(crate) fn start_lanes<S: Simd>(simd: S, keys: &[u64; LANES], part: u64) -> u64x8<S> {
    mix_lanes(u64x8::simd_from(simd, *keys) ^ part)
}

/// Number `k`, the same in all lanes, of the streams that start at `start`.
#[inline(always)]
pub(crate) fn nth_of_all<S: Simd>(start: u64x8<S>, k: u64) -> u64x8<S> {
    mix_lanes(start + GAMMA.wrapping_mul(k.wrapping_add(1)))
}

/// Trials in a row of which one each has a number in every hundredth of the range ([`evenly`]).
const ROW: u64 = 100;

/// A number between 0 and 1 of each trial of a group. Of a hundred trials in a row, one each has a number in every hundredth.
///
/// Which has which is a permutation of the hundredths in four rounds of Feistel's scheme on their two digits: each round adds to one digit,
/// modulo 10, a random number that hangs on the other.
#[must_use]
pub(crate) fn evenly(seed: u64, part: u64, group: u64) -> Lanes {
    let begin = start(mix(seed), part);
    std::array::from_fn(|lane| {
        let trial = group * LANES as u64 + lane as u64;
        let (row, number) = (trial / ROW, trial % ROW);
        let (mut one, mut other) = (number / 10, number % 10);
        for round in 0..4 {
            let more = nth(begin, (row * 4 + round) * 10 + other);
            (one, other) = (other, (one + (((more >> 32) * 10) >> 32)) % 10);
        }
        // Numbered from so far on that no round has the same number.
        let within = unit(nth(begin, trial | 1 << 63));
        ((one * 10 + other) as f64 + within) / ROW as f64
    })
}

/// State of eight xoshiro256++ generators, word by word.
pub type Words = [[u64; LANES]; 4];

/// Seeds eight generators from the first four numbers of each lane's stream.
#[inline(never)]
pub fn seed_words<S: Simd>(simd: S, keys: &[u64; LANES], part: u64) -> Words {
    simd.vectorize(
        #[inline(always)]
        || {
            let begin = start_lanes(simd, keys, part);
            let mut words = [[0; LANES]; 4];
            for (k, word) in words.iter_mut().enumerate() {
                nth_of_all(begin, k as u64).store_array(word);
            }
            words
        },
    )
}

/// Eight xoshiro256++ generators in registers.
#[derive(Clone, Copy)]
pub struct Xoshiro<S: Simd>([u64x8<S>; 4]);

impl<S: Simd> Xoshiro<S> {
    /// Takes up where `words` left off.
    #[inline(always)]
    pub fn load(simd: S, words: &Words) -> Self {
        Self(std::array::from_fn(|k| u64x8::simd_from(simd, words[k])))
    }

    /// Puts the state back.
    #[inline(always)]
    pub fn store(self, words: &mut Words) {
        for (word, value) in words.iter_mut().zip(self.0) {
            value.store_array(word);
        }
    }

    /// The next 64 bits of each lane.
    #[inline(always)]
    #[allow(clippy::should_implement_trait, reason = "an endless generator, not an iterator")]
    pub fn next(&mut self) -> u64x8<S> {
        let s = &mut self.0;
        let sum = s[0] + s[3];
        let out = ((sum << 23) | (sum >> 41)) + s[0];
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = (s[3] << 45) | (s[3] >> 19);
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Path;
    use crate::engine::path::dispatch;
    use rand::{Rng, SeedableRng};
    use rand_xoshiro::{SplitMix64, Xoshiro256PlusPlus};

    /// Outputs of the eight generators, `count` each, on one path; put down and taken up again half-way.
    fn outputs(path: Path, words: &Words, count: usize) -> Vec<[u64; LANES]> {
        let mut words = *words;
        let mut out = Vec::new();
        for half in [count / 2, count - count / 2] {
            dispatch!(path, simd => {
                let mut generator = Xoshiro::load(simd, &words);
                for _ in 0..half {
                    let mut lanes = [0; LANES];
                    generator.next().store_array(&mut lanes);
                    out.push(lanes);
                }
                generator.store(&mut words);
            });
        }
        out
    }

    /// Against the published generator as another library has it, begun with the same state.
    #[test]
    fn lanes_are_xoshiro256_plus_plus() {
        let keys = trial_keys(9, 4);
        for path in Path::available() {
            let words = dispatch!(path, simd => seed_words(simd, &keys, part(Use::Each, "carve")));
            let found = outputs(path, &words, 1001);
            for lane in 0..LANES {
                let mut seed = [0; 32];
                for (bytes, word) in seed.chunks_exact_mut(8).zip(&words) {
                    bytes.copy_from_slice(&word[lane].to_le_bytes());
                }
                let mut published = Xoshiro256PlusPlus::from_seed(seed);
                for (k, lanes) in found.iter().enumerate() {
                    assert_eq!(lanes[lane], published.next_u64(), "{path:?}, lane {lane}, number {k}");
                }
            }
        }
    }

    /// The state is the first four outputs of SplitMix64 begun at the stream's start, as the generator's authors advise.
    #[test]
    fn generators_are_seeded_from_splitmix64() {
        let keys = trial_keys(3, 1);
        let identity = part(Use::Fate, "bisque");
        for path in Path::available() {
            let words = dispatch!(path, simd => seed_words(simd, &keys, identity));
            for lane in 0..LANES {
                let mut published = SplitMix64::from_seed(start(keys[lane], identity).to_le_bytes());
                for word in &words {
                    assert_eq!(word[lane], published.next_u64(), "{path:?}");
                }
            }
        }
    }

    #[test]
    fn lanes_and_single_numbers_are_the_same() {
        let keys = trial_keys(5, 2);
        let identity = part(Use::Setup, "glue");
        let numbers = [0, 1, 2, 77, 1 << 20, 1 << 40, u64::MAX - 1, u64::MAX];
        for (path, number) in Path::available()
            .into_iter()
            .flat_map(|path| numbers.map(|k| (path, k)))
        {
            let (begun, drawn) = dispatch!(path, simd => {
                let begin = start_lanes(simd, &keys, identity);
                let (mut begun, mut drawn) = ([0; LANES], [0; LANES]);
                begin.store_array(&mut begun);
                nth_of_all(begin, number).store_array(&mut drawn);
                (begun, drawn)
            });
            for lane in 0..LANES {
                assert_eq!(begun[lane], start(keys[lane], identity), "{path:?}");
                assert_eq!(drawn[lane], nth(begun[lane], number), "{path:?}");
            }
        }
    }

    /// One trial of a hundred in each hundredth; which it is hangs neither on its place among them nor on another stream. Bounds at 5 standard
    /// errors of a binomial count: of 1,100 cells one is beyond them once in 1,500 such tests.
    #[test]
    fn a_hundred_trials_are_spread_evenly() {
        const ROWS: u64 = 2_000;
        let of = |name: &str, trial: u64| evenly(7, part(Use::Begins, name), trial / 8)[trial as usize % 8];
        let mut by_place = vec![[0; 10]; 100];
        let mut by_other = [[0; 10]; 10];
        for row in 0..ROWS {
            let mut seen = [false; 100];
            for place in 0..100 {
                let number = of("a", row * 100 + place);
                assert!(!std::mem::replace(&mut seen[(number * 100.0) as usize], true));
                by_place[place as usize][(number * 10.0) as usize] += 1;
                by_other[(of("b", row * 100 + place) * 10.0) as usize][(number * 10.0) as usize] += 1;
            }
        }
        let far = |found: i32, trials: u64, chance: f64| {
            let due = trials as f64 * chance;
            (f64::from(found) - due).abs() > 5.0 * libm::sqrt(due * (1.0 - chance))
        };
        assert!(
            by_place.iter().flatten().all(|found| !far(*found, ROWS, 0.1)),
            "{by_place:?}"
        );
        assert!(
            by_other.iter().flatten().all(|found| !far(*found, ROWS * 100, 0.01)),
            "{by_other:?}"
        );
        assert_ne!(of("a", 3), evenly(8, part(Use::Begins, "a"), 0)[3]);
    }

    /// A trial has its key whatever group it is counted in.
    #[test]
    fn trials_are_numbered_through() {
        for trial in 0..40_u64 {
            let (group, lane) = (trial / LANES as u64, (trial % LANES as u64) as usize);
            let key = mix(mix(11).wrapping_add(GAMMA.wrapping_mul(trial + 1)));
            assert_eq!(trial_keys(11, group)[lane], key);
        }
    }
}
