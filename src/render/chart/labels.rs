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
    /// From its left upper corner to its right lower one.
    pub(super) const fn new((x0, y0): (f64, f64), (x1, y1): (f64, f64)) -> Self {
        Self { x0, y0, x1, y1 }
    }

    /// So wide and so high around its middle.
    pub(super) fn around((x, y): (f64, f64), wide: f64, tall: f64) -> Self {
        let (half, up) = (wide / 2.0, tall / 2.0);
        Self::new((x - half, y - up), (x + half, y + up))
    }

    pub(super) fn grown(self, by: f64) -> Self {
        Self::new((self.x0 - by, self.y0 - by), (self.x1 + by, self.y1 + by))
    }

    /// Its four sides.
    pub(super) fn edges(self) -> [[(f64, f64); 2]; 4] {
        let Self { x0, y0, x1, y1 } = self;
        let corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
        [0, 1, 2, 3].map(|k: usize| [corners[k], corners[(k + 1) % 4]])
    }

    pub(super) fn holds(&self, (x, y): (f64, f64)) -> bool {
        (self.x0..=self.x1).contains(&x) && (self.y0..=self.y1).contains(&y)
    }

    /// How much of the stroke between two points lies within, in pixels (Liang and Barsky, "A new concept and method for line clipping",
    /// ACM Transactions on Graphics 3(1), 1984).
    pub(super) fn holds_of(self, a: (f64, f64), b: (f64, f64)) -> f64 {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let (mut from, mut to) = (0.0_f64, 1.0_f64);
        for (d, room) in [
            (-dx, a.0 - self.x0),
            (dx, self.x1 - a.0),
            (-dy, a.1 - self.y0),
            (dy, self.y1 - a.1),
        ] {
            if d == 0.0 && room < 0.0 {
                return 0.0;
            }
            if d < 0.0 {
                from = from.max(room / d);
            } else if d > 0.0 {
                to = to.min(room / d);
            }
        }
        // Most strokes lie elsewhere, and their length is nobody's concern.
        if to <= from {
            return 0.0;
        }
        (to - from) * libm::hypot(dx, dy)
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

/// What is drawn in a panel and must stay readable: strokes, among them the edges of areas, and points spread over areas on which dark
/// letters can be read, and over others.
#[derive(Debug, Clone, Default)]
pub(super) struct Ink {
    pub(super) strokes: Vec<[(f64, f64); 2]>,
    pub(super) pale: Vec<(f64, f64)>,
    pub(super) dark: Vec<(f64, f64)>,
}

impl Ink {
    /// How much of the strokes lies within, in pixels.
    fn under(&self, place: Rect) -> f64 {
        self.strokes.iter().map(|&[a, b]| place.holds_of(a, b)).sum()
    }

    pub(super) fn crosses(&self, place: Rect) -> bool {
        self.strokes.iter().any(|&[a, b]| place.holds_of(a, b) > 0.0)
    }

    pub(super) fn is_within_pale(&self, place: Rect) -> bool {
        points(&self.pale, place) > 0.0 && !self.crosses(place)
    }
}

/// How many of the points lie within.
fn points(of: &[(f64, f64)], place: Rect) -> f64 {
    of.iter().filter(|p| place.holds(**p)).count() as f64
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

/// Where a label goes of several wanted places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Freest {
    /// Which of them it was, and where it is then.
    pub(super) which: usize,
    pub(super) place: Rect,
    pub(super) over: Over,
}

/// What a label lies over, the better first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Over {
    /// Free ground, or a pale area.
    Nothing,
    /// The inside of a dark area.
    Dark,
    /// Strokes, edges or other labels.
    Lines,
}

/// The best of several places: least on other labels, then within bounds, then least over strokes and dark areas, then least over pale
/// ones; of equal ones the first. Where it lies over anything but a pale area, the nearest place does that does not, if there is one;
/// else one within a dark area. `None` only where there are no places.
pub(super) fn freest(places: &[Rect], bounds: Rect, taken: &[Rect], ink: &Ink) -> Option<Freest> {
    let cost = |place: &Rect| {
        let wide = place.grown(3.0);
        let on_labels: f64 = taken.iter().map(|t| wide.shared_area(t)).sum();
        let outside = place.area() - place.shared_area(&bounds);
        20.0 * on_labels + 20.0 * outside + 2.0 * ink.under(wide) + 10.0 * points(&ink.dark, wide)
    };
    let costs = places.iter().map(|place| cost(place) + 0.1 * points(&ink.pale, *place));
    let best = costs.enumerate().min_by(|a, b| a.1.total_cmp(&b.1))?.0;
    let found = |(which, place), over| Some(Freest { which, place, over });
    if cost(&places[best]) == 0.0 {
        return found((best, places[best]), Over::Nothing);
    }
    let near = |dark: &[(f64, f64)]| nearest_free(places, bounds, &Covered::new(bounds, taken, &ink.strokes, dark));
    if let Some(free) = near(&ink.dark) {
        return found(free, Over::Nothing);
    }
    let within = if ink.dark.is_empty() { None } else { near(&[]) };
    match within {
        Some(within) => found(within, Over::Dark),
        None => found((best, places[best]), Over::Lines),
    }
}

/// Of free places all over the bounds the one that is nearest to a wanted one, and which that is.
fn nearest_free(places: &[Rect], bounds: Rect, covered: &Covered) -> Option<(usize, Rect)> {
    const STEP: f64 = 6.0;
    let first = places.first()?;
    let (wide, tall) = (first.x1 - first.x0, first.y1 - first.y0);
    let steps = |from: f64, to: f64| {
        let count = if to < from {
            0
        } else {
            ((to - from) / STEP) as usize + 1
        };
        (0..count).map(move |k| from + STEP * k as f64)
    };
    let ys = steps(bounds.y0 + 3.0, bounds.y1 - 4.0 - tall);
    let all = steps(bounds.x0 + 4.0, bounds.x1 - 4.0 - wide).flat_map(|x0| ys.clone().map(move |y0| (x0, y0)));
    let rects = all.map(|(x, y)| Rect::new((x, y), (x + wide, y + tall)));
    let free = rects.filter(|place| !covered.any(place.grown(3.0)));
    let near = free.filter_map(|place| {
        // Along a line a note says the same, aside of it less.
        let off = |p: &Rect| 2.0 * (p.x0 - place.x0).abs() + (p.y0 - place.y0).abs();
        let wanted = places.iter().map(off).enumerate();
        let (which, off) = wanted.min_by(|a, b| a.1.total_cmp(&b.1))?;
        Some((off, which, place))
    });
    let nearest = near.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some((nearest.1, nearest.2))
}

/// Where in a panel something is drawn that must stay readable, in squares of [`Self::SIDE`] pixels.
struct Covered {
    bounds: Rect,
    columns: usize,
    /// How many squares are covered above and to the left of each corner, so that any rectangle is counted at once.
    sums: Vec<u32>,
}

impl Covered {
    const SIDE: f64 = 3.0;

    fn new(bounds: Rect, taken: &[Rect], strokes: &[[(f64, f64); 2]], dark: &[(f64, f64)]) -> Self {
        let count = |from: f64, to: f64| ((to - from) / Self::SIDE).ceil().max(0.0) as usize + 1;
        let (columns, rows) = (count(bounds.x0, bounds.x1), count(bounds.y0, bounds.y1));
        let mut covered = Self {
            bounds,
            columns,
            sums: vec![0; columns * rows],
        };
        for &[a, b] in strokes {
            let steps = (libm::hypot(b.0 - a.0, b.1 - a.1) / (0.5 * Self::SIDE)).ceil().max(1.0);
            for k in 0..=steps as usize {
                let t = k as f64 / steps;
                let at = (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t);
                covered.cover(Rect::new(at, at));
            }
        }
        // Points of an area stand this far from one another.
        dark.iter().for_each(|&p| covered.cover(Rect::around(p, 12.0, 12.0)));
        taken.iter().for_each(|&place| covered.cover(place));
        for k in 0..covered.sums.len() {
            let at = |back: usize, there: bool| if there { covered.sums[k - back] } else { 0 };
            let (left, above) = (k % columns > 0, k >= columns);
            let before = at(1, left) + at(columns, above) - at(columns + 1, left && above);
            covered.sums[k] += before;
        }
        covered
    }

    /// Column and row of the square at a point; it may lie outside.
    fn square(&self, x: f64, y: f64) -> (f64, f64) {
        let at = |v: f64, from: f64| ((v - from) / Self::SIDE).floor();
        (at(x, self.bounds.x0), at(y, self.bounds.y0))
    }

    /// The squares from the first to the last column and row of a place, as far as they lie within.
    fn squares(&self, place: Rect) -> Option<[usize; 4]> {
        let rows = self.sums.len() / self.columns;
        let (x0, y0) = self.square(place.x0, place.y0);
        let (x1, y1) = self.square(place.x1, place.y1);
        let outside = x1 < 0.0 || y1 < 0.0 || x0 >= self.columns as f64 || y0 >= rows as f64;
        let within = |v: f64, count: usize| (v.max(0.0) as usize).min(count - 1);
        let ends = [(x0, self.columns), (x1, self.columns), (y0, rows), (y1, rows)];
        (!outside).then(|| ends.map(|(end, count)| within(end, count)))
    }

    fn cover(&mut self, place: Rect) {
        let Some([x0, x1, y0, y1]) = self.squares(place) else {
            return;
        };
        for y in y0..=y1 {
            self.sums[y * self.columns + x0..=y * self.columns + x1].fill(1);
        }
    }

    /// Whether anything in a place is covered.
    fn any(&self, place: Rect) -> bool {
        let Some([x0, x1, y0, y1]) = self.squares(place) else {
            return false;
        };
        let before = |x: usize, y: usize| {
            if x == 0 || y == 0 {
                0
            } else {
                self.sums[(y - 1) * self.columns + x - 1]
            }
        };
        before(x1 + 1, y1 + 1) + before(x0, y0) > before(x0, y1 + 1) + before(x1 + 1, y0)
    }
}

/// Where a label of that width and height fits between the edges (x, lower y, upper y; pixels): the middle of the roomiest place that is
/// free.
pub(super) fn roomiest(
    edges: &[(f64, f64, f64)],
    width: f64,
    height: f64,
    free: impl Fn((f64, f64)) -> bool,
) -> Option<(f64, f64)> {
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
        let middle = ((first.0 + edges[end].0) / 2.0, (lowest + highest) / 2.0);
        if room >= height && best.is_none_or(|(r, _)| room > r + 1.0) && free(middle) {
            best = Some((room, middle));
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
        let ink = Ink {
            strokes: vec![[(35.0, 0.0), (35.0, 5.0)]],
            ..Ink::default()
        };
        let found = |places: &[Rect]| freest(places, bounds, &[at(2.0)], &ink).map(|f| (f.which, f.over));
        assert_eq!(found(&places), Some((2, Over::Nothing)));
        assert_eq!(
            found(&places[..2]),
            Some((1, Over::Lines)),
            "there is no room for another place"
        );
        assert_eq!(found(&[]), None);
    }

    /// A line down the middle of 100 by 60, a note of 30 by 12 wanted on it: it moves just beside, and rather into a pale area than over a
    /// line.
    #[test]
    fn where_no_wanted_place_is_free_the_nearest_free_one_is_taken() {
        let at = |x0: f64, y0: f64| Rect {
            x0,
            y0,
            x1: x0 + 30.0,
            y1: y0 + 12.0,
        };
        let bounds = Rect {
            x0: 0.0,
            y0: 0.0,
            x1: 100.0,
            y1: 60.0,
        };
        let mut ink = Ink {
            strokes: vec![[(50.0, 0.0), (50.0, 60.0)]],
            ..Ink::default()
        };
        let place = |ink: &Ink| freest(&[at(40.0, 20.0)], bounds, &[], ink).unwrap().place;
        let moved = place(&ink);
        assert!(
            !ink.crosses(moved.grown(3.0)) && !moved.holds((50.0, 20.0)),
            "{moved:?}"
        );
        assert!((moved.y0 - 20.0).abs() <= 6.0 && moved.x0 > 50.0, "{moved:?}");
        ink.pale = (0..100).map(|k| (f64::from(k), 25.0)).collect();
        assert_eq!(place(&ink), moved);
        assert!(ink.is_within_pale(moved) && !ink.is_within_pale(at(40.0, 20.0)));
        std::mem::swap(&mut ink.pale, &mut ink.dark);
        assert!(!place(&ink).grown(3.0).holds((70.0, 25.0)), "it leaves what is dark");
        // Where all is dark, the inside of that is better than a line.
        ink.dark = (0..10)
            .flat_map(|k| (0..10).map(move |j| (12.0 * f64::from(k), 12.0 * f64::from(j))))
            .collect();
        assert_eq!(place(&ink), moved);
        // Where lines leave no room anywhere, the wanted place it is.
        ink.strokes
            .extend((0..10).map(|k| [(10.0 * f64::from(k), 0.0), (10.0 * f64::from(k), 60.0)]));
        assert_eq!(place(&ink), at(40.0, 20.0));
    }

    /// The middle of a wide area is the roomiest place; where a line runs through it, one beside it is.
    #[test]
    fn names_within_areas_keep_off_lines() {
        let edges: Vec<(f64, f64, f64)> = (0..=40)
            .map(|k| (5.0 * f64::from(k), 100.0, 60.0 - f64::from(k)))
            .collect();
        let free = roomiest(&edges, 40.0, 19.0, |_| true).unwrap();
        let line = |(x, _): (f64, f64)| (x - free.0).abs() > 25.0;
        let beside = roomiest(&edges, 40.0, 19.0, line).unwrap();
        assert!(free.0 - beside.0 > 25.0, "{free:?} {beside:?}");
        assert_eq!(roomiest(&edges, 40.0, 19.0, |_| false), None);
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
