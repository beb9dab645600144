//! New ranges for the file.

use super::BAND;
use super::answer::{From, Range};
use super::guess::varies;
use super::measured::Measured;
use super::ranges::{self, Made, Written};
use super::step::Fitted;
use crate::scenario::spread::Z90;
use crate::scenario::{Channel, Scenario, Spread, ThreePoint, Varies};
use crate::worklog::What;
use crate::worklog::units::WorkUnits;

/// A coefficient of variation below this is certainty.
pub(super) const CERTAIN: f64 = 0.005;
/// Sizes at which a batch is looked at.
const SIZES: usize = 7;

/// Batch sizes of the scenario and of the log, some of them.
fn sizes_of(scenario: &Scenario, steps: &[Fitted<'_>]) -> Vec<u32> {
    let (mut low, mut high) = (u32::MAX, 1);
    let logged = steps.iter().flat_map(|s| {
        s.step
            .points
            .iter()
            .filter(|p| p.pieces > 0 && !p.apart)
            .map(|p| p.pieces)
    });
    for size in scenario.batch.sizes.iter().copied().chain(logged) {
        (low, high) = (low.min(size), high.max(size));
    }
    ranges::spaced(low.min(high), high, SIZES)
}

/// Orders a piece: of a channel that takes its own time for them, or of all others, which take the steps'.
fn orders_a_piece(scenario: &Scenario, fitted: &Fitted<'_>) -> f64 {
    let own = |channel: &Channel| channel.per_order.is_some();
    let of_channel = |channel: &Channel| channel.share / channel.sale.order_of.mean().max(1.0);
    let of_steps = if scenario.channels.is_empty() {
        1.0 / scenario.sale.order_of.mean().max(1.0)
    } else {
        scenario.channels.iter().filter(|c| !own(c)).map(of_channel).sum()
    };
    let named = |c: &&Channel| fitted.step.channel.as_ref() == Some(&c.name);
    scenario.channels.iter().find(named).map_or(of_steps, of_channel)
}

/// Gives parts their new ranges; the squared coefficient of variation of the new pace where the file's does not stay, and whether the file's bands are the
/// new ones already.
pub(super) fn renewed(
    scenario: &Scenario,
    steps: &mut [Fitted<'_>],
    kept: f64,
    pace: Option<f64>,
    shared: Option<f64>,
) -> (Option<f64>, bool) {
    let sizes = sizes_of(scenario, steps);
    let mut targets = Vec::new();
    let mut owners = Vec::new();
    for (k, fitted) in steps.iter().enumerate() {
        if let Some(work) = fitted.work.as_ref().filter(|w| w.enough()) {
            let at = sizes
                .iter()
                .map(|n| {
                    let of = WorkUnits::of(fitted.guess, What::All, *n, None, 0);
                    let has = work.has();
                    [
                        if has[0] { of.rounds } else { 0.0 },
                        if has[1] { of.units } else { 0.0 },
                    ]
                })
                .collect();
            let (file, was) = (fitted.file, fitted.guess.varies == Varies::Batch);
            let mut written = written(work, [&file.setup, &file.each], file.varies == Varies::Batch);
            written.made.opposite = file.opposite_share();
            written.made.skew = [&file.setup, &file.each].map(skew);
            targets.push(ranges::Target::new(&work.found, written, at, Some(was)));
            owners.push((k, false));
        }
        if let Some(orders) = fitted.orders.as_ref().filter(|o| o.enough()) {
            let rate = orders_a_piece(scenario, fitted);
            // One order at least: times that no channel takes keep a range all the same.
            let at = sizes
                .iter()
                .map(|n| [0.0, libm::ceil(f64::from(*n) * rate).max(1.0)])
                .collect();
            let written = written(orders, [&Spread::ZERO, &fitted.file.per_order], false);
            targets.push(ranges::Target::new(&orders.found, written, at, None));
            owners.push((k, true));
        }
    }
    let some = !targets.is_empty();
    let shared = shared.unwrap_or(0.0);
    ranges::even(&mut targets, shared);
    let (made, found) = ranges::made(&targets, shared, pace);
    let of_file = varies(&scenario.pace);
    let are_written = ranges::are_written(&targets, &made, [of_file, pace.or(found).unwrap_or(of_file)]);
    for ((k, of_orders), made) in owners.into_iter().zip(made) {
        let fitted = &mut steps[k];
        for part in &mut fitted.step.parts {
            if made.opposite > 0.0 && matches!(part.key, "setup" | "each") {
                let reach = if part.key == "setup" { made.setup } else { made.each };
                part.spread = even(part.found.value, reach);
                continue;
            }
            let variation = match (part.key, of_orders) {
                ("setup", false) => reaching(made.setup),
                ("each", false) if made.by_batch => reaching(made.each),
                ("each", false) | ("per_order", true) => made.each,
                _ => continue,
            };
            part.spread = timed(part.found.value, variation);
        }
        if !of_orders && fitted.step.parts.iter().any(|p| p.key == "each") {
            let (is, new) = (
                fitted.file.varies,
                if made.by_batch { Varies::Batch } else { Varies::Piece },
            );
            fitted.step.varies = (is != new).then_some(if made.by_batch { "batch" } else { "piece" });
            let is_written = (fitted.file.opposite - made.opposite).abs() < 1e-9;
            fitted.step.opposite = (!is_written).then_some(made.opposite);
        }
    }
    for fitted in steps.iter_mut() {
        write(fitted, kept);
    }
    (found.filter(|_| some && pace.is_none()), are_written)
}

/// Gives what is done once its new range, and all parts what is to be written of theirs beside a pace that stays at `kept`.
fn write(fitted: &mut Fitted<'_>, kept: f64) {
    if let Some(once) = fitted.once.as_ref().filter(|o| o.enough()) {
        let (low, high) = once.found.new_job(0.0, 1.0, BAND);
        let variation = (high - low) / (2.0 * Z90 * once.found.times[1]);
        for part in fitted.step.parts.iter_mut().filter(|p| p.key == "once") {
            part.spread = timed(part.found.value, reaching(variation));
        }
    }
    for part in &mut fitted.step.parts {
        part.spread = part.spread.scaled(1.0 / kept);
        part.new = if part.from == From::File {
            part.was
        } else {
            Range::of(&part.spread)
        };
    }
}

/// What the file has of measured work: ranges of a setup and a piece.
fn written(work: &Measured<'_>, [setup, each]: [&Spread; 2], by_batch: bool) -> Written {
    let setup = reach(setup);
    let each = if by_batch {
        reach(each)
    } else {
        libm::sqrt(varies(each))
    };
    Written {
        times: work.file,
        made: Made {
            setup,
            each,
            by_batch,
            ..Made::default()
        },
    }
}

/// Half of what lies between the tenths, over the mean: as a normal law's coefficient of variation.
fn reach(spread: &Spread) -> f64 {
    let mean = spread.mean();
    if mean > 0.0 {
        (spread.quantile(0.9) - spread.quantile(0.1)) / (2.0 * Z90 * mean)
    } else {
        0.0
    }
}

/// How far the twentieths lie above the median, on average, over half of what lies between the tenths.
fn skew(spread: &Spread) -> f64 {
    let [low, tenth, middle, ninth, high] = [0.05, 0.1, 0.5, 0.9, 0.95].map(|q| spread.quantile(q));
    if ninth > tenth {
        (low + high - 2.0 * middle) / (ninth - tenth)
    } else {
        0.0
    }
}

/// Minutes that nobody can time.
const UNTIMED: f64 = 1e-3;
/// Beyond this coefficient of variation the lower tenth is nothing to speak of beside the mean.
const WIDEST: f64 = 20.0;
/// Where a lognormal's logarithm has this standard deviation, its tenths lie furthest apart beside its mean: the s with `s = Z90 coth(Z90 s)`.
const FURTHEST: f64 = 1.362;

/// [`from_moments`] of minutes, in what can be written and read again: where entries leave next to nothing for a part, it is nothing.
fn timed(minutes: f64, variation: f64) -> Spread {
    if minutes < UNTIMED {
        return Spread::ZERO;
    }
    from_moments(minutes, if variation > WIDEST { WIDEST } else { variation })
}

/// Coefficient of variation of the lognormal that has this [`reach`], or of the one that reaches furthest. What is drawn once for a batch, or for each of a
/// few rounds, counts in the batch's band by its tenths, and a lognormal's lie nearer to each other than its variance would have them: by a tenth where it
/// varies by a half. What is drawn for each piece counts by its variance.
fn reaching(reach: f64) -> f64 {
    let of = |s: f64| libm::exp(-0.5 * s * s) * libm::sinh(Z90 * s) / Z90;
    let (mut low, mut high) = (0.0, FURTHEST);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if of(middle) < reach {
            low = middle;
        } else {
            high = middle;
        }
    }
    libm::sqrt(libm::expm1(low * low))
}

/// The triangle with this mean and [`reach`] that is as even as it can be above nought (and a little): what lies opposite to such a range takes its chance away, where that
/// of a skew one would stay. Up to where its likely value is its lower tenth.
fn even(mean: f64, wanted: f64) -> Spread {
    if mean < UNTIMED || wanted < CERTAIN {
        return timed(mean, 0.0);
    }
    let base = wanted / ranges::EVEN * (1.0 - ranges::BEGINS);
    let at = |share: f64| mean * (ranges::BEGINS + (1.0 - ranges::BEGINS) * share);
    if wanted <= ranges::EVEN {
        let [low, high] = [1.0 - base, 1.0 + base].map(|share| mean * share);
        return Spread::triangular(ThreePoint {
            low,
            likely: mean,
            high,
        });
    }
    let leaning = |likely: f64| {
        Spread::triangular(ThreePoint {
            low: at(0.0),
            likely: at(likely),
            high: at(3.0 - likely),
        })
    };
    let (mut low, mut high) = (3.0 / 11.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if reach(&leaning(middle)) > wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    leaning(high)
}

/// A triangle with this mean (above 0) and coefficient of variation, as skew as the one that has this mean and the tenths of the lognormal with both; that
/// lognormal itself where the triangle would reach below nothing.
#[must_use]
pub fn from_moments(mean: f64, variation: f64) -> Spread {
    if variation.is_nan() || variation < CERTAIN {
        return Spread::Certain(mean);
    }
    let s2 = libm::log1p(variation * variation);
    let (mu, sigma) = (libm::log(mean) - 0.5 * s2, libm::sqrt(s2));
    let (low, high) = (libm::exp(mu - Z90 * sigma), libm::exp(mu + Z90 * sigma));
    let triangle = |likely: f64| Spread::triangular_from_tenths(ThreePoint { low, likely, high });
    // The mean rises with the likely value.
    let (mut left, mut right) = (low, high);
    for _ in 0..60 {
        let middle = 0.5 * (left + right);
        if triangle(middle).is_ok_and(|t| t.mean() < mean) {
            left = middle;
        } else {
            right = middle;
        }
    }
    let Ok(Spread::Triangular(found)) = triangle(0.5 * (left + right)) else {
        return Spread::lognormal_from_tenths(low, high);
    };
    let is = Spread::Triangular(found);
    // A triangle varies less than a lognormal with the same tenths.
    let by = variation * mean / libm::sqrt(is.variance());
    let [low_end, likely, high_end] = [found.low, found.likely, found.high].map(|end| mean + by * (end - is.mean()));
    if low_end >= 0.0 && (is.mean() - mean).abs() <= 1e-6 * mean {
        Spread::triangular(ThreePoint {
            low: low_end,
            likely,
            high: high_end,
        })
    } else {
        Spread::lognormal_from_tenths(low, high)
    }
}

#[cfg(test)]
mod tests {
    /// Of five jobs with pieces lost a setup of a millionth of a minute came out, with a lower tenth that was written as 0, which no reader takes
    /// for a lognormal range.
    #[test]
    fn next_to_nothing_is_nothing_and_a_wide_range_begins_above_it() {
        assert_eq!(timed(4e-6, 1e6), Spread::ZERO);
        let wide = timed(0.002, 1e6);
        assert!(wide.quantile(0.1) > 1e-6, "{wide:?}");
    }

    use super::*;

    /// By the lognormal's closed form: with mean 1 its tenths are `exp(-s^2/2 -+ Z90 s)`. Those of 2.32 lie 0.857 Z90 either way of their middle, and no others lie
    /// further apart. A triangle's lie further: from `1 - sqrt 0.2` of its half width over `sqrt (1/6)` where it is even, 1.0564 Z90, to 1.0469 Z90 where it falls all
    /// the way.
    #[test]
    fn what_is_drawn_once_has_tenths_as_far_apart_as_said() {
        for wanted in [0.5, 0.8] {
            let found = reach(&timed(10.0, reaching(wanted)));
            assert!((found - wanted).abs() < 1e-5, "{wanted}: {found}");
        }
        for wanted in [0.05, 0.3] {
            let found = reach(&timed(10.0, reaching(wanted))) / reaching(wanted);
            assert!((1.0469..1.0565).contains(&found), "{wanted}: {found}");
        }
        let widest = timed(10.0, reaching(3.0));
        assert!((reach(&widest) - 0.857).abs() < 5e-4, "{widest:?}");
        assert!(reach(&timed(10.0, 2.2)) < reach(&widest) && reach(&timed(10.0, 2.5)) < reach(&widest));
        assert_eq!(reaching(f64::NAN), 0.0);
    }

    /// Tenths of a symmetrical triangle lie `1 - root 0.2` of its half width off the middle; beyond that from a little above nought, as even as the reach allows,
    /// about as skew as the search takes it for, and with a likely value that can be written between its tenths.
    #[test]
    fn what_lies_opposite_is_as_even_as_it_can_be() {
        for wanted in [0.1, 0.41, 0.45, 0.5, 0.55, 0.61] {
            let found = even(10.0, wanted);
            assert!((found.mean() - 10.0).abs() < 1e-9, "{found:?}");
            assert!((reach(&found) - wanted).abs() < 2e-4, "{wanted}: {found:?}");
            assert!(
                (skew(&found) - ranges::skew(wanted)).abs() < 0.03,
                "{wanted}: {}",
                skew(&found)
            );
            let Spread::Triangular(triangle) = &found else {
                panic!("{found:?}");
            };
            assert!(
                triangle.low >= 0.29 && triangle.likely >= found.quantile(0.1) - 1e-6,
                "{found:?}"
            );
        }
        assert_eq!(even(10.0, 0.0), Spread::Certain(10.0));
        assert_eq!(even(1e-6, 0.3), Spread::ZERO);
    }

    /// The written law's own mean and variance are those asked for.
    #[test]
    fn a_range_has_the_mean_and_the_variation_it_is_made_of() {
        for variation in [0.02, 0.3, 0.6, 1.5] {
            let spread = from_moments(10.0, variation);
            let sd = spread.variance().sqrt();
            assert!((sd - 10.0 * variation).abs() < 1e-5, "{variation}: {sd}");
            assert!((spread.mean() - 10.0).abs() < 1e-5, "{variation}: {}", spread.mean());
            // No triangle with such tenths has a mean that far below their middle.
            assert_eq!(matches!(spread, Spread::Triangular(_)), variation < 0.5, "{spread:?}");
        }
        assert_eq!(from_moments(10.0, 0.001), Spread::Certain(10.0));
        assert_eq!(from_moments(10.0, f64::NAN), Spread::Certain(10.0));
    }
}
