//! What it is worth to sell more one way and less another.

use super::{Settings, trials_at};
use crate::parallel;
use crate::scenario::Scenario;
use crate::stats;
use crate::stats::Mean;
use serde::Serialize;

/// Some of the pieces sold one way in place of another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Way {
    /// The channel they leave.
    pub from: String,
    /// The channel they go to.
    pub to: String,
    /// How many, as a share of all pieces.
    pub moved: f64,
    /// Money an hour more in the long run, with its paired standard error.
    pub gain: Mean,
    /// Whether orders there cost the postage of `[sale]`, as a channel takes from there what it does not say. For people alone: somebody may sell
    /// across a table there, and have left it at that.
    #[serde(skip)]
    pub postage_of_sale: bool,
}

/// The share of the pieces that is moved.
const MOVED: f64 = 0.1;

/// Every way of moving a tenth of the pieces of a batch of `size` from a channel that has more to another, that which adds most to
/// the hour first. Empty without channels.
///
/// All have the same days: each order keeps its draws, so that the differences are taken trial by trial.
#[must_use]
pub fn ways(scenario: &Scenario, size: u32, settings: &Settings) -> Vec<Way> {
    let channels = &scenario.channels;
    let pairs: Vec<(usize, usize)> = (0..channels.len())
        .filter(|from| channels[*from].share > MOVED)
        .flat_map(|from| (0..channels.len()).map(move |to| (from, to)))
        .filter(|(from, to)| from != to)
        .collect();
    if pairs.is_empty() {
        return Vec::new();
    }
    let base = trials_at(scenario, size, settings);
    let mut found = parallel::map(pairs.len(), |k| {
        let (from, to) = pairs[k];
        let mut changed = scenario.clone();
        changed.channels[from].share -= MOVED;
        changed.channels[to].share += MOVED;
        let trials = trials_at(&changed, size, settings);
        Way {
            from: channels[from].name.clone(),
            to: channels[to].name.clone(),
            moved: MOVED,
            postage_of_sale: !channels[to].sale.post.is_zero() && channels[to].sale.post == scenario.sale.post,
            gain: stats::ratio_difference((&trials.profit, &trials.hours), (&base.profit, &base.hours)),
        }
    });
    // Of equals the first in the file.
    found.sort_by(|a, b| b.gain.mean.total_cmp(&a.gain.mean));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
target = 20
[batch]
sizes = [10]
[[step]]
name = "make"
setup = "60 min"
each = "30 min"
[[step]]
name = "pack"
per_order = "10 min"
[[material]]
name = "wood"
per_piece = 1
price = 4
[sale]
price = 50
fee = "10 %"
post = 5
[[channel]]
name = "direct"
share = "60 %"
[[channel]]
name = "shop"
share = "40 %"
discount = "50 %"
order_of = 12
fee = "0 %"
post = 9
"#;

    fn at(size: u32) -> Vec<Way> {
        let shop = crate::scenario::read("two.toml", TEXT, &[]).expect("a scenario");
        ways(
            &shop,
            size,
            &Settings {
                trials: 50,
                ..Settings::default()
            },
        )
    }

    /// Ten: six go out one by one at 45 less 5, four in one order at 25 each less 9; wood 40; 60 + 300 + 60 + 10 min. With seven and three
    /// it is 7 x 40 + 66 and ten minutes more, with five and five 5 x 40 + 116 and ten less.
    #[test]
    fn a_piece_moved_by_hand() {
        let rate = |direct: f64, shop: f64| {
            let profit = direct * 40.0 + shop * 25.0 - 9.0 - 40.0;
            profit / ((60.0 + 300.0 + 10.0 * direct + 10.0) / 60.0)
        };
        let found = at(10);
        let names: Vec<(&str, &str)> = found.iter().map(|w| (w.from.as_str(), w.to.as_str())).collect();
        assert_eq!(names, [("shop", "direct"), ("direct", "shop")]);
        for (way, due) in found
            .iter()
            .zip([rate(7.0, 3.0) - rate(6.0, 4.0), rate(5.0, 5.0) - rate(6.0, 4.0)])
        {
            assert!((way.gain.mean - due).abs() < 1e-9, "{way:?} against {due}");
            assert!(way.moved == 0.1 && way.gain.se < 1e-9, "{way:?}");
        }
    }

    /// Who sells through the shop pays 9 there, and 5 through the channel that says nothing of it, as [sale] does.
    #[test]
    fn a_channel_without_postage_of_its_own_has_that_of_the_sale() {
        let found = at(10);
        let posted: Vec<(&str, bool)> = found.iter().map(|w| (w.to.as_str(), w.postage_of_sale)).collect();
        assert_eq!(posted, [("direct", true), ("shop", false)]);
    }

    /// A channel with a tenth of the pieces has none left to give, however many are made.
    #[test]
    fn no_channel_gives_all_it_has() {
        for size in [1, 10] {
            let shares = TEXT.replace("60 %", "90 %").replace("40 %", "10 %");
            let shop = crate::scenario::read("two.toml", &shares, &[]).expect("a scenario");
            let settings = Settings {
                trials: 100,
                ..Settings::default()
            };
            let found = ways(&shop, size, &settings);
            assert_eq!(found.iter().map(|w| w.from.as_str()).collect::<Vec<_>>(), ["direct"]);
        }
    }
}
