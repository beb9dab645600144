//! Where axes carry figures, and how much of the values they show.

/// Steps of 1, 2 or 5 times a power of ten, about `wanted` of them between the ends; the ticks and their step.
pub(in crate::render) fn nice(low: f64, high: f64, wanted: usize) -> (Vec<f64>, f64) {
    let rough = (high - low) / wanted.max(1) as f64;
    if !(rough > 0.0 && rough.is_finite()) {
        return (vec![low], 0.0);
    }
    let ruled = |step: f64| {
        let (first, last) = ((low / step - 1e-9).ceil() as i64, (high / step + 1e-9).floor() as i64);
        ((first..=last).map(|i| i as f64 * step).collect::<Vec<f64>>(), step)
    };
    // The step above and the one below: whichever gives nearer to the wanted number of spaces.
    let (coarse, fine) = (ruled(nice_step(rough)), ruled(nice_step(rough / 2.0)));
    let off = |ticks: &[f64]| ticks.len().abs_diff(wanted + 1);
    if off(&fine.0) < off(&coarse.0) { fine } else { coarse }
}

fn nice_step(rough: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(rough)));
    let leading = rough / power;
    let factor = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|f| leading <= f * 1.000_001)
        .unwrap_or(10.0);
    factor * power
}

/// Sizes span more than this many times: a linear axis would squeeze the small ones, where most changes.
const LINEAR_SPAN: u32 = 20;

/// The axis of batch sizes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(in crate::render) struct SizeScale {
    pub(in crate::render) low: f64,
    pub(in crate::render) high: f64,
    pub(in crate::render) log: bool,
}

impl SizeScale {
    /// For ascending sizes; `room` widens the axis by half a step at both ends, for bars.
    pub(in crate::render) fn new(sizes: &[u32], room: bool) -> Self {
        let first = sizes.first().copied().unwrap_or(1).max(1);
        let last = sizes.last().copied().unwrap_or(1).max(first);
        let log = u64::from(last) > u64::from(first) * u64::from(LINEAR_SPAN);
        let mut scale = Self {
            low: f64::from(first),
            high: f64::from(last),
            log,
        };
        if first == last {
            (scale.low, scale.high) = (scale.low - 1.0, scale.high + 1.0);
        } else if room {
            let (a, b) = (scale.position(scale.low), scale.position(scale.high));
            let half = scale.narrowest_step(sizes) / 2.0;
            (scale.low, scale.high) = (scale.value(a - half), scale.value(b + half));
        }
        scale
    }

    /// The value on the scale that is ruled evenly.
    pub(in crate::render) fn position(&self, size: f64) -> f64 {
        if self.log { libm::log(size.max(1e-9)) } else { size }
    }

    /// Back from [`Self::position`].
    pub(in crate::render) fn value(&self, position: f64) -> f64 {
        if self.log { libm::exp(position) } else { position }
    }

    /// Share of the axis to the left of a size.
    pub(in crate::render) fn share(&self, size: f64) -> f64 {
        let (a, b) = (self.position(self.low), self.position(self.high));
        (self.position(size) - a) / (b - a)
    }

    /// Whether a value lies between its ends, or on one of them.
    pub(in crate::render) fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }

    /// The least distance of neighbouring sizes, in positions.
    pub(in crate::render) fn narrowest_step(&self, sizes: &[u32]) -> f64 {
        let gaps = sizes
            .windows(2)
            .map(|w| self.position(w[1].into()) - self.position(w[0].into()));
        // One size alone has no neighbour.
        gaps.reduce(f64::min).unwrap_or(1.0)
    }
}

/// So few sizes are all named.
const NAME_ALL: usize = 12;

/// Sizes to name under the axis, most wanted first: the ends, then round ones. Which of them have room is seen when
/// their widths are known.
pub(in crate::render) fn sizes(all: &[u32], log: bool) -> Vec<u32> {
    let (Some(&first), Some(&last)) = (all.first(), all.last()) else {
        return Vec::new();
    };
    let mut out = vec![first, last];
    if all.len() <= NAME_ALL {
        out.extend(all);
    } else if log {
        // Tens before fives before twos: where room is short the rounder one stays.
        for factor in [1u64, 5, 2] {
            let decades = std::iter::successors(Some(factor), |t| t.checked_mul(10));
            out.extend(
                decades
                    .take_while(|&t| t < last.into())
                    .filter_map(|t| u32::try_from(t).ok()),
            );
        }
    } else {
        let step = nice_step(f64::from(last - first) / NAME_ALL as f64).max(1.0) as u32;
        out.extend((first.div_ceil(step)..=last / step).map(|i| i * step));
    }
    let mut seen = std::collections::BTreeSet::new();
    out.retain(|&s| (first..=last).contains(&s) && seen.insert(s));
    out
}

/// How far a range may be stretched by values far from the story.
#[derive(Debug, Clone, Copy)]
pub(in crate::render) struct Stretch {
    /// Values up to this many spans beyond the story are still shown.
    pub(in crate::render) allow: f64,
    /// Where they are not, this many spans are, to show which way it goes.
    pub(in crate::render) show: f64,
}

/// The range of an axis: the `story` (lines and values that must be seen) and the middle of the `curve` always, of `all`
/// values as much as does not squeeze the story. Returns low and high, high above low.
pub(in crate::render) fn range(story: &[f64], curve: &[f64], all: &[f64], stretch: Stretch) -> (f64, f64) {
    let finite = |values: &[f64]| values.iter().copied().filter(|v| v.is_finite()).collect::<Vec<f64>>();
    let (story, mut curve, all) = (finite(story), finite(curve), finite(all));
    curve.sort_by(f64::total_cmp);
    let rank = |share: f64| {
        curve
            .get(((curve.len().max(1) - 1) as f64 * share).round() as usize)
            .copied()
    };
    let min = |values: &[f64]| values.iter().copied().fold(f64::INFINITY, f64::min);
    let max = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // Two thirds of the curve belong to the story, whichever way the rest runs off.
    let keep_low = min(&story).min(rank(1.0 / 3.0).unwrap_or(f64::INFINITY));
    let keep_high = max(&story).max(rank(2.0 / 3.0).unwrap_or(f64::NEG_INFINITY));
    if !(keep_low.is_finite() && keep_high.is_finite()) {
        return (0.0, 1.0);
    }
    let span = (keep_high - keep_low)
        .max(keep_high.abs().max(keep_low.abs()) * 0.05)
        .max(1e-6);
    let (full_low, full_high) = (min(&all).min(keep_low), max(&all).max(keep_high));
    let low = if full_low >= keep_low - stretch.allow * span {
        full_low
    } else {
        keep_low - stretch.show * span
    };
    let high = if full_high <= keep_high + stretch.allow * span {
        full_high
    } else {
        keep_high + stretch.show * span
    };
    if high - low < span {
        (low - span / 2.0, high + span / 2.0)
    } else {
        (low, high)
    }
}

/// A range with so large a share of it as air beyond either end.
pub(in crate::render) fn aired((low, high): (f64, f64), share: f64) -> (f64, f64) {
    let air = share * (high - low);
    (low - air, high + air)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        assert_eq!(nice(0.0, 77.0, 5), (vec![0.0, 20.0, 40.0, 60.0], 20.0));
        assert_eq!(nice(-13.0, 42.0, 5).0, [-10.0, 0.0, 10.0, 20.0, 30.0, 40.0]);
        assert_eq!(nice(0.0, 95.0, 4).0, [0.0, 20.0, 40.0, 60.0, 80.0]);
        assert_eq!(nice(3.0, 3.0, 5), (vec![3.0], 0.0));
        let (ticks, step) = nice(0.0, 0.9, 4);
        assert!((step - 0.2).abs() < 1e-12 && ticks.len() == 5, "{ticks:?}");
        assert_eq!(nice(f64::NAN, 1.0, 4).1, 0.0);
    }

    /// Values half a span beyond the story are shown, and of those further off a tenth of one; the middle third of a curve is story.
    #[test]
    fn what_is_far_from_the_story_does_not_squeeze_it() {
        let stretch = Stretch { allow: 0.5, show: 0.1 };
        let at = |curve: &[f64], all: &[f64]| range(&[40.0, 60.0], curve, all, stretch);
        assert_eq!(at(&[], &[30.0, 70.0]), (30.0, 70.0));
        assert_eq!(at(&[], &[29.0, 71.0]), (38.0, 62.0));
        // Of seven values the third and the fifth are where a third and two thirds are.
        let curve = [0.0, 10.0, 20.0, 30.0, 80.0, 90.0, 100.0];
        assert_eq!(at(&curve, &curve), (0.0, 100.0));
        assert_eq!(at(&curve, &[-11.0, 111.0]), (14.0, 86.0));
    }

    #[test]
    fn the_axis_turns_logarithmic_past_twenty_fold() {
        assert!(!SizeScale::new(&[1, 20], false).log);
        assert!(SizeScale::new(&[1, 21], false).log);
        assert!(!SizeScale::new(&[5, 100], false).log);
        let scale = SizeScale::new(&[1, 10, 100], false);
        assert!((scale.share(10.0) - 0.5).abs() < 1e-12);
        let single = SizeScale::new(&[7], false);
        assert!((single.share(7.0) - 0.5).abs() < 1e-12);
        let bars = SizeScale::new(&[1, 2, 3, 4], true);
        assert_eq!((bars.low, bars.high), (0.5, 4.5));
    }

    #[test]
    fn named_sizes_are_whole_round_and_within() {
        let thousand: Vec<u32> = (1..=1000).collect();
        let mut named = sizes(&thousand, true);
        assert_eq!(named[..2], [1, 1000]);
        named.sort_unstable();
        assert_eq!(named, [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]);
        let forty: Vec<u32> = (1..=40).collect();
        let mut named = sizes(&forty, false);
        named.sort_unstable();
        assert_eq!(named, [1, 5, 10, 15, 20, 25, 30, 35, 40]);
        assert_eq!(sizes(&[1, 2, 3, 4, 5, 6], false).len(), 6);
        assert_eq!(sizes(&[9], false), [9]);
        assert!(sizes(&[], false).is_empty());
        assert_eq!(sizes(&[u32::MAX - 1, u32::MAX], false).len(), 2);
    }

    const STRETCH: Stretch = Stretch { allow: 2.0, show: 0.5 };

    #[test]
    fn one_wild_value_does_not_squeeze_the_story() {
        let curve = [-300.0, 5.0, 20.0, 27.0, 30.0, 31.0, 32.0];
        let (low, high) = range(&[0.0, 32.0], &curve, &curve, STRETCH);
        assert_eq!((low, high), (-16.0, 32.0));
        let mild = [-40.0, 5.0, 20.0, 27.0, 30.0, 31.0, 32.0];
        assert_eq!(range(&[0.0, 32.0], &mild, &mild, STRETCH), (-40.0, 32.0));
    }

    #[test]
    fn ranges_of_nothing_and_of_one_value_are_still_ranges() {
        assert_eq!(range(&[], &[], &[], STRETCH), (0.0, 1.0));
        assert_eq!(range(&[f64::NAN], &[f64::INFINITY], &[], STRETCH), (0.0, 1.0));
        let (low, high) = range(&[5.0], &[5.0], &[5.0], STRETCH);
        assert!(low < 5.0 && high > 5.0);
        let (low, high) = range(&[0.0], &[0.0], &[0.0], STRETCH);
        assert!(low < 0.0 && high > 0.0);
    }

    #[test]
    fn a_curve_that_never_nears_its_target_is_shown_all_the_same() {
        let curve: Vec<f64> = (1..=40).map(|n| -50.0 - 250.0 / f64::from(n)).collect();
        let (low, high) = range(&[0.0, 32.0], &curve, &curve, STRETCH);
        let seen = curve.iter().filter(|&&v| v >= low && v <= high).count();
        assert!(seen >= 26, "{seen} of 40");
    }
}
