//! Where labels go so that none lies on another: beside line ends, on free ground, under an axis. Lengths in pixels.

/// A rectangle on the page, y downwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rect {
    pub(super) x0: f64,
    pub(super) y0: f64,
    pub(super) x1: f64,
    pub(super) y1: f64,
}

impl Rect {
    pub(super) fn grown(self, by: f64) -> Self {
        Self {
            x0: self.x0 - by,
            y0: self.y0 - by,
            x1: self.x1 + by,
            y1: self.y1 + by,
        }
    }

    pub(super) fn holds(&self, (x, y): (f64, f64)) -> bool {
        (self.x0..=self.x1).contains(&x) && (self.y0..=self.y1).contains(&y)
    }

    fn shared_area(&self, other: &Self) -> f64 {
        let w = self.x1.min(other.x1) - self.x0.max(other.x0);
        let h = self.y1.min(other.y1) - self.y0.max(other.y0);
        w.max(0.0) * h.max(0.0)
    }

    fn area(&self) -> f64 {
        (self.x1 - self.x0).max(0.0) * (self.y1 - self.y0).max(0.0)
    }
}

/// Moves wanted heights apart until neighbours are `gap` from each other, as little as possible (least squares, by
/// pooling neighbours that push each other), all within `low..high` as far as they fit. Returned in the order given.
pub(super) fn spread(wanted: &[f64], gap: f64, low: f64, high: f64) -> Vec<f64> {
    if wanted.is_empty() {
        return Vec::new();
    }
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    // With each label's own slot taken off, "at least a gap apart" becomes "ascending": isotonic regression, which
    // pooling adjacent violators solves exactly; its solution may then be clamped to bounds.
    let room = (high - low).max(0.0);
    let gap = gap.min(room / (wanted.len() as f64 - 1.0).max(1.0));
    let top = high - gap * (wanted.len() as f64 - 1.0);
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (slot, &i) in order.iter().enumerate() {
        let mut pool = (wanted[i] - gap * slot as f64, 1usize);
        while let Some(&(sum, n)) = pools.last() {
            if sum / n as f64 <= pool.0 / pool.1 as f64 {
                break;
            }
            pools.pop();
            pool = (pool.0 + sum, pool.1 + n);
        }
        pools.push(pool);
    }
    let levels = pools
        .iter()
        .flat_map(|&(sum, n)| std::iter::repeat_n(sum / n as f64, n));
    let mut out = vec![0.0; wanted.len()];
    for ((slot, &i), level) in order.iter().enumerate().zip(levels) {
        out[i] = level.clamp(low, top.max(low)) + gap * slot as f64;
    }
    out
}

/// The best of several places: least on other labels, then within bounds, then least over drawn curves; of equal ones
/// the first. `None` only where there are no places.
pub(super) fn freest(places: &[Rect], bounds: Rect, taken: &[Rect], ink: &[(f64, f64)]) -> Option<usize> {
    let cost = |place: &Rect| {
        let wide = place.grown(3.0);
        let on_labels: f64 = taken.iter().map(|t| wide.shared_area(t)).sum();
        let outside = place.area() - place.shared_area(&bounds);
        let on_curves = ink.iter().filter(|&&p| wide.holds(p)).count();
        20.0 * on_labels + 20.0 * outside + 10.0 * on_curves as f64
    };
    let costs = places.iter().map(cost).enumerate();
    costs.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(i, _)| i)
}

/// Where a label of that width and height fits between the edges (x, lower y, upper y; pixels): the roomiest place.
pub(super) fn roomiest(edges: &[(f64, f64, f64)], width: f64, height: f64) -> Option<(f64, f64)> {
    let mut best: Option<(f64, (f64, f64))> = None;
    let mut next = f64::NEG_INFINITY;
    for (i, first) in edges.iter().enumerate() {
        // Sizes may lie far denser than places that differ.
        if first.0 < next {
            continue;
        }
        next = first.0 + 4.0;
        let Some(steps) = edges[i..].iter().position(|e| e.0 - first.0 >= width) else {
            break;
        };
        let end = i + steps;
        let lowest = edges[i..=end].iter().map(|e| e.1).fold(f64::INFINITY, f64::min);
        let highest = edges[i..=end].iter().map(|e| e.2).fold(f64::NEG_INFINITY, f64::max);
        let room = lowest - highest;
        if room >= height && best.is_none_or(|(r, _)| room > r + 1.0) {
            best = Some((room, ((first.0 + edges[end].0) / 2.0, (lowest + highest) / 2.0)));
        }
    }
    best.map(|b| b.1)
}

/// Keeps, of labels given most wanted first as centre and width, those that leave `gap` to all kept before them.
pub(super) fn without_overlap(labels: &[(f64, f64)], gap: f64) -> Vec<bool> {
    let mut kept: Vec<(f64, f64)> = Vec::new();
    labels
        .iter()
        .map(|&(centre, width)| {
            let free = kept.iter().all(|&(c, w)| (c - centre).abs() >= (w + width) / 2.0 + gap);
            if free {
                kept.push((centre, width));
            }
            free
        })
        .collect()
}

/// Keeps every label, or every second, fifth and so on, counted from the one at `from`, until none touches another, where they stand in
/// order; else those that are wanted most.
pub(super) fn thinned(labels: &[(f64, f64)], from: usize, gap: f64) -> Vec<bool> {
    if labels.is_sorted_by(|a, b| a.0 < b.0) {
        for every in [1, 2, 5, 10, 20, 50] {
            let of = |k: &usize| k % every == from % every;
            let kept: Vec<(f64, f64)> = (0..labels.len()).filter(of).map(|k| labels[k]).collect();
            if without_overlap(&kept, gap).into_iter().all(|free| free) {
                return (0..labels.len()).map(|k| of(&k)).collect();
            }
        }
    }
    without_overlap(labels, gap)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn labels_apart_stay_where_they_are() {
        assert_eq!(spread(&[50.0, 10.0, 90.0], 18.0, 0.0, 100.0), [50.0, 10.0, 90.0]);
    }

    #[test]
    fn labels_on_one_spot_part_evenly() {
        assert_eq!(spread(&[50.0, 50.0], 18.0, 0.0, 100.0), [41.0, 59.0]);
        assert_eq!(spread(&[100.0, 100.0], 18.0, 0.0, 100.0), [82.0, 100.0]);
    }

    #[test]
    fn more_labels_than_fit_share_the_room() {
        assert_eq!(spread(&[5.0; 5], 18.0, 0.0, 40.0), [0.0, 10.0, 20.0, 30.0, 40.0]);
        assert!(spread(&[], 18.0, 0.0, 40.0).is_empty());
    }

    proptest! {
        #[test]
        fn spread_labels_never_overlap_or_leave(wanted in prop::collection::vec(-50.0..450.0, 1..9)) {
            let placed = spread(&wanted, 18.0, 0.0, 400.0);
            let mut sorted = placed.clone();
            sorted.sort_by(f64::total_cmp);
            prop_assert!(sorted.windows(2).all(|w| w[1] - w[0] >= 18.0 - 1e-9), "{:?}", sorted);
            prop_assert!(sorted[0] >= -1e-9 && sorted[sorted.len() - 1] <= 400.0 + 1e-9);
            for i in 0..wanted.len() {
                for j in 0..wanted.len() {
                    prop_assert!(wanted[i] >= wanted[j] || placed[i] <= placed[j], "order is kept");
                }
            }
        }
    }

    #[test]
    fn the_freest_place_avoids_labels_before_curves() {
        let at = |x: f64| Rect {
            x0: x,
            y0: 0.0,
            x1: x + 10.0,
            y1: 10.0,
        };
        let bounds = Rect {
            x0: 0.0,
            y0: 0.0,
            x1: 100.0,
            y1: 10.0,
        };
        let places = [at(0.0), at(30.0), at(60.0), at(95.0)];
        assert_eq!(freest(&places, bounds, &[at(2.0)], &[(35.0, 5.0)]), Some(2));
        assert_eq!(freest(&places[..2], bounds, &[at(2.0)], &[(35.0, 5.0)]), Some(1));
        assert_eq!(freest(&[], bounds, &[], &[]), None);
    }

    /// 7 labels of 10 on places 8 apart: every second is free of its neighbours by 6; the one that is counted from stays.
    #[test]
    fn labels_in_order_are_made_fewer_evenly() {
        let labels: Vec<(f64, f64)> = (0..7).map(|k| (8.0 * f64::from(k), 10.0)).collect();
        let t = true;
        assert_eq!(thinned(&labels, 0, 6.0), [t, !t, t, !t, t, !t, t]);
        assert_eq!(thinned(&labels, 3, 6.0), [!t, t, !t, t, !t, t, !t]);
        assert_eq!(thinned(&labels, 3, 7.0), [!t, !t, !t, t, !t, !t, !t]);
    }

    #[test]
    fn crowded_axis_labels_give_way_to_the_more_wanted() {
        assert_eq!(
            without_overlap(&[(0.0, 10.0), (100.0, 10.0), (95.0, 10.0), (50.0, 10.0)], 4.0),
            [true, true, false, true]
        );
    }
}
