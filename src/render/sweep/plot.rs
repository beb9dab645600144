//! The sweep's plot: three panels over one axis of batch sizes.

use super::words::{self, is_certain};
use crate::questions::size_of;
use crate::questions::sweep::{Parts, SizeAnswer, Sweep};
use crate::render::figure::Mark;
use crate::render::format;
use crate::render::plot::by_size::{self, LONE, UNDER};
use crate::render::plot::palette::{ASKED, BAND, Color, INK, MUTED, PARTS, PAYS, STEPS, WHITE};
use crate::render::plot::prices::Curve;
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    Axis, BEST, EndLabel, LABEL, LONG_RUN, Layer, Line, MEDIAN, Panel, Plot, Points, Ranges, STRONG, Side, Sign,
    TARGET, Text, Way, X, at_ends, beside, beyond, listed, minus, prices, shares, sizes_named, spots, within,
};

const CEILING: Line = Line::dashed(MUTED, 1.6, 2.0, 4.0);

/// Up to so many sizes each is drawn as a thing of its own: dots on curves, bars for parts.
const FEW: usize = 12;
/// Curves nearer than this share of the axis everywhere are one curve to the eye and get one label.
const SAME: f64 = 1.0 / 260.0;

/// The whole plot; nothing where there are no sizes.
pub(super) fn plot(answer: &Sweep) -> Option<Plot> {
    let view = View::new(answer)?;
    let [price, target] = [answer.price, answer.target].map(|value| format::typed_money(value, &answer.currency));
    let (sure, trials) = (format::confidence(answer.confidence), format::count(answer.trials));
    let Sweep { seed, version, .. } = answer;
    let pays = match answer.first_paying_size {
        Some(size) => format!("the first size that pays is {size}"),
        None => "no size pays".to_owned(),
    };
    Some(Plot {
        foot: if is_certain(answer) {
            format!("Asked price {price} · target {target} an hour · nothing varies · batchwright {version}")
        } else {
            format!(
                "Asked price {price} · target {target} an hour in {sure} of batches · {trials} simulated batches of each size · \
                 seed {seed} · batchwright {version}"
            )
        },
        description: format!(
            "Three panels against batch size: hourly rate with the range of eight batches in ten, price floor at several \
             confidences, hands-on time per piece by what it goes into. At a price of {price} and a target of {target} an hour in {sure} \
             of batches, {pays}."
        ),
        height: 1200,
        panels: vec![view.rate(), view.floor(), view.time()],
        ..Plot::about(&answer.title, words::headline(answer))
    })
}

/// The answer with what all panels share.
struct View<'a> {
    answer: &'a Sweep,
    sizes: Vec<u32>,
    /// The place of the size that is spoken of, and what panels say of it.
    told: (usize, String),
    axis: Axis,
    few: bool,
    /// From one bar to the next, on the axis.
    step: f64,
}

impl<'a> View<'a> {
    fn new(answer: &'a Sweep) -> Option<Self> {
        let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
        let few = sizes.len() <= FEW;
        let axis = Axis::sizes(&sizes, few);
        sizes.first()?;
        Some(Self {
            answer,
            step: axis.scale.narrowest_step(&sizes),
            told: by_size::told(&sizes, size_of(answer)),
            sizes,
            axis,
            few,
        })
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    /// A price floor.
    fn enough(&self, value: f64) -> String {
        self.amount(format::enough(value, &self.answer.currency))
    }

    fn typed(&self, value: f64) -> String {
        minus(&format::typed_amount(value, &self.answer.currency))
    }

    fn values(&self, of: impl Fn(&SizeAnswer) -> f64) -> Vec<f64> {
        self.answer.sizes.iter().map(of).collect()
    }

    fn points(&self, of: impl Fn(&SizeAnswer) -> Option<f64>) -> Points {
        self.answer.sizes.iter().map(|s| (f64::from(s.size), of(s))).collect()
    }

    /// The advised size, where there are others beside it.
    fn advised(&self) -> Option<u32> {
        self.answer.advised_size.filter(|_| self.sizes.len() > 1)
    }

    /// Says that these sizes' values lie beyond the panel. `words` says how far, given "up to" or "down to" where there are
    /// several.
    fn beyond(&self, cut: &[&SizeAnswer], way: Way, words: impl Fn(&str) -> String) -> Option<Layer> {
        let sizes: Vec<u32> = cut.iter().map(|s| s.size).collect();
        let to = match (sizes.len(), way) {
            (1, _) => "",
            (_, Way::Up) => " up to",
            (_, Way::Down) => " down to",
        };
        let text = format!("{} off the chart: {}", sizes_named(&sizes, &self.sizes), words(to));
        Some(beyond(text, way, f64::from(*sizes.first()?), f64::from(*sizes.last()?)))
    }

    /// What an hour earns: band, median and average against target and ceiling, and where it pays.
    fn rate(&self) -> Panel {
        let a = self.answer;
        let medians = self.values(|s| s.rate.p50);
        let mut all = self.values(|s| s.rate.p10);
        all.extend(self.values(|s| s.rate.p90));
        all.extend(self.values(|s| s.rate.long_run));
        all.extend(&medians);
        all.push(a.ceiling);
        let mut story = vec![0.0, a.target];
        let told = a.sizes.iter().filter(|s| Some(s.size) == a.advised_size);
        story.extend(told.map(|s| s.rate.p50));
        let range = ticks::range(&story, &medians, &all, Stretch { allow: 2.0, show: 0.6 });
        let range = ticks::aired(range, 0.04);
        let shown = |v: f64| v.clamp(range.0, range.1);
        let apart = |f: fn(&SizeAnswer) -> f64, g: fn(&SizeAnswer) -> f64| {
            let sizes = a.sizes.iter();
            let gaps = sizes.map(|s| (shown(f(s)) - shown(g(s))).abs() / (range.1 - range.0));
            gaps.filter(|d| d.is_finite()).fold(0.0, f64::max)
        };
        let one_curve = apart(|s| s.rate.p50, |s| s.rate.long_run) < SAME;
        let no_band = apart(|s| s.rate.p10, |s| s.rate.p90) < SAME;

        let bands = a.sizes.iter().map(|s| (f64::from(s.size), s.rate.p10, s.rate.p90));
        let mut layers = vec![Layer::band(bands.collect(), BAND).signed(Sign::Band)];
        layers.extend(self.paying_strips());
        if a.ceiling.is_finite() {
            layers.push(Layer::level(a.ceiling, CEILING));
        }
        layers.push(Layer::level(a.target, TARGET).signed(Sign::Target));
        let median = Layer::curve(self.points(|s| Some(s.rate.p50)), MEDIAN).dots(self.few);
        layers.push(median.signed(Sign::Median));
        if !one_curve {
            layers.push(Layer::curve(self.points(|s| Some(s.rate.long_run)), LONG_RUN));
        }
        layers.extend(self.where_it_pays(range));
        layers.extend(self.rate_cut(range, Way::Down));
        layers.extend(self.rate_cut(range, Way::Up));
        layers.push(Layer::ends(self.rate_ends(range, one_curve, no_band)));
        Panel {
            title: "What an hour earns".into(),
            unit: format!("{} per hands-on hour", a.currency),
            figures_of: self.told.1.clone(),
            text: (self.sizes.len() > 1).then(|| self.rate_text()),
            ..Panel::curves(0.42, &self.axis, range, layers).lone(LONE)
        }
    }

    fn rate_text(&self) -> Text {
        let a = self.answer;
        let mut legend = vec![
            (Sign::Median, "median".to_owned()),
            (Sign::Band, "8 batches in 10".to_owned()),
        ];
        if is_certain(a) {
            legend = vec![(Sign::Median, "what an hour earns".to_owned())];
        }
        let target = format::typed_amount(a.target, &a.currency);
        legend.push((Sign::Target, format!("target {target}")));
        let (head, below) = self.pays();
        let mut notes = Vec::new();
        match (a.weighed_size(), a.advised_size) {
            (Some(size), _) => {
                legend.push((Sign::Row(Mark::Best), format::count(size.into())));
                notes.push(head);
            }
            (None, Some(_)) => legend.push((Sign::Row(Mark::Best), head)),
            (None, None) => notes.push(head),
        }
        notes.extend(below);
        Text {
            legend,
            notes,
            ..Text::default()
        }
    }

    fn rate_ends(&self, range: (f64, f64), one_curve: bool, no_band: bool) -> Vec<EndLabel> {
        let a = self.answer;
        let mut ends = vec![EndLabel::line(a.target, TARGET, "target", self.typed(a.target))];
        if a.ceiling.is_finite() {
            let name = match (within(range, a.ceiling), words::ceiling_is_passed(a)) {
                (true, false) => "ceiling",
                (false, false) => "ceiling, beyond",
                // What small batches pass is no ceiling.
                (true, true) => "very large batches",
                (false, true) => "very large, beyond",
            };
            ends.push(EndLabel::line(a.ceiling, CEILING, name, self.amount(a.ceiling)));
        }
        let Some((last, told)) = a.sizes.last().zip(a.sizes.get(self.told.0)) else {
            return ends;
        };
        let (rate, told) = (&last.rate, &told.rate);
        let median = self.amount(told.p50);
        let name = match (one_curve, no_band) {
            (true, true) => "every batch",
            (true, _) if median == self.amount(told.long_run) => "median and average",
            (true, _) => "median, near average",
            _ => "median",
        };
        ends.push(EndLabel::line(rate.p50, MEDIAN, name, median));
        if !one_curve {
            let average = self.amount(told.long_run);
            ends.push(EndLabel::line(rate.long_run, LONG_RUN, "on average", average));
        }
        if !no_band {
            let band = [
                (rate.p90, "1 batch in 10 over", told.p90),
                (rate.p10, "1 batch in 10 under", told.p10),
            ];
            ends.extend(band.map(|(end, name, told)| EndLabel::area(end, BAND, name, self.amount(told))));
        }
        ends.retain(|end| end.value.is_finite());
        ends
    }

    fn reached(&self, s: &SizeAnswer) -> bool {
        s.reach.share >= self.answer.confidence
    }

    /// Strips along the foot where sizes pay; a single line would hide that a kiln's 13th mug may not.
    fn paying_strips(&self) -> Vec<Layer> {
        if self.sizes.len() == 1 {
            return Vec::new();
        }
        let paying = self.answer.sizes.iter().enumerate().filter(|(_, s)| self.reached(s));
        if self.few {
            // Between the few nothing is known.
            let strip = |(_, s): (usize, &SizeAnswer)| Layer::strip_at(s.size.into(), self.step, PAYS);
            return paying.map(strip).collect();
        }
        // From the first of neighbours that pay to the last, by place among the sizes.
        let mut strips: Vec<(usize, usize)> = Vec::new();
        for (i, _) in paying {
            match strips.last_mut() {
                Some((_, end)) if *end + 1 == i => *end = i,
                _ => strips.push((i, i)),
            }
        }
        let at = |i: usize| f64::from(self.sizes[i]);
        let strip = |(from, to)| {
            if from == to {
                Layer::strip_at(at(from), self.step, PAYS)
            } else {
                Layer::strip((at(from), at(to)), PAYS)
            }
        };
        strips.into_iter().map(strip).collect()
    }

    /// Where it pays, in two lines.
    fn pays(&self) -> (String, Option<String>) {
        let a = self.answer;
        let confidence = format::confidence(a.confidence);
        let Some(first) = a.first_paying_size else {
            let none = format!("no size here reaches the target in {confidence} of batches");
            return (none, None);
        };
        let failing = a.sizes.iter().filter(|s| s.size > first && !self.reached(s));
        let failing: Vec<u32> = failing.map(|s| s.size).collect();
        let count = format::count(first.into());
        if failing.is_empty() {
            let head = if self.sizes.last() == Some(&first) {
                format!("pays at {count}")
            } else if self.sizes.first() == Some(&first) {
                "pays at every size here".to_owned()
            } else {
                format!("pays from {count}")
            };
            let often = (!is_certain(a)).then(|| format!("in {confidence} of batches or more"));
            return (head, often);
        }
        let below = match listed(&failing, &self.sizes) {
            list if list.len() <= 24 => format!("but not at {list}"),
            _ => "but not at every size after".to_owned(),
        };
        (format!("pays first at {count}"), Some(below))
    }

    fn where_it_pays(&self, range: (f64, f64)) -> Vec<Layer> {
        let a = self.answer;
        let (head, below) = self.pays();
        let Some(told) = a.advised_size.or(a.first_paying_size) else {
            let places = spots(&shares([0.06, 0.93, 0.2, 0.8]), &at_ends(12.0));
            return vec![Layer::note(vec![(head, STRONG.of(ASKED))], places)];
        };
        let mut layers = Vec::new();
        if let Some(size) = self.advised() {
            layers.push(Layer::upright(size.into(), BEST).signed(Sign::Row(Mark::Best)));
            let at = a.sizes.iter().find(|s| s.size == size && within(range, s.rate.p50));
            layers.extend(at.map(|at| Layer::dot((size.into(), at.rate.p50), 5.5, PAYS)));
        }
        let off = if self.sizes.len() > 1 { 9.0 } else { LONE + 14.0 };
        let mut lines = match a.weighed_size() {
            Some(size) => vec![
                (format!("advised: {}", format::count(size.into())), STRONG.of(PAYS)),
                (head, LABEL.of(INK)),
            ],
            None => vec![(head, STRONG.of(PAYS))],
        };
        lines.extend(below.map(|below| (below, LABEL.of(INK))));
        let heights = shares([0.9, 0.8, 0.7, 0.08, 0.18, 0.5]);
        layers.push(Layer::note(lines, spots(&heights, &beside(told.into(), off))));
        layers
    }

    /// Says what lies beyond one of the panel's ends. What the curve does says more than what the band does.
    fn rate_cut(&self, range: (f64, f64), way: Way) -> Option<Layer> {
        let up = way == Way::Up;
        let edge: fn(&SizeAnswer) -> f64 = if up { |s| s.rate.p90 } else { |s| s.rate.p10 };
        let median: fn(&SizeAnswer) -> f64 = |s| s.rate.p50;
        [("median", median), ("band", edge)].into_iter().find_map(|(what, of)| {
            let sizes = self.answer.sizes.iter();
            let cut: Vec<&SizeAnswer> = sizes
                .filter(|s| !within(range, of(s)) && (of(s) > self.answer.target) == up)
                .collect();
            let values = cut.iter().map(|s| of(s));
            let extreme = values.reduce(|x, y| if up { x.max(y) } else { x.min(y) })?;
            self.beyond(&cut, way, |to| format!("{what}{to} {}", self.amount(extreme)))
        })
    }

    /// The confidences to draw, ascending, the asked one among them.
    fn floor_curves(&self) -> Vec<Curve> {
        let confidences = prices::confidences(&self.answer.sizes[0].floor, self.answer.confidence);
        let of = confidences.len();
        let curve = |(i, confidence): (usize, f64)| {
            let at = |s: &SizeAnswer| prices::at_confidence(&s.floor, &s.floor_asked, confidence).price;
            let asked = prices::same_confidence(confidence, self.answer.confidence);
            Curve {
                name: format!("in {} of batches", format::confidence(confidence)),
                line: floor_line(i, of, asked),
                points: self.points(|s| at(s).filter(|price| price.is_finite())),
                asked,
            }
        };
        confidences.into_iter().enumerate().map(curve).collect()
    }

    /// The price that earns the target, at several confidences, against the asked price.
    fn floor(&self) -> Panel {
        let a = self.answer;
        let curves = self.floor_curves();
        let found = |asked: bool| -> Vec<f64> {
            let curves = curves.iter().filter(|curve| !asked || curve.asked);
            curves.flat_map(Curve::prices).collect()
        };
        let story = [a.price, 0.8 * a.price, 1.1 * a.price];
        let range = ticks::range(&story, &found(true), &found(false), Stretch { allow: 4.0, show: 1.0 });
        let range = prices::aired(range, 0.05);
        let mut layers: Vec<Layer> = Vec::new();
        layers.extend(self.advised().map(|size| Layer::upright(size.into(), BEST)));
        layers.push(Layer::level(a.price, TARGET));
        let mut ends = vec![EndLabel::line(a.price, TARGET, "asked", self.typed(a.price))];
        let place = |v: f64| v.clamp(range.0, range.1) / (range.1 - range.0);
        let same = |one: f64, other: f64| (place(one) - place(other)).abs() < SAME;
        let one = prices::all_one(&curves, same).then(|| [curves[0].alone("in every batch".to_owned())]);
        for curve in one.as_ref().map_or(&curves[..], |one| one) {
            layers.push(Layer::curve(curve.points.clone(), curve.line).dots(self.few));
            ends.push(curve.end(self.told.0, |price| self.enough(price)));
        }
        layers.extend(self.floor_gaps(&curves));
        layers.extend(self.floor_cut(range, &curves, Way::Up));
        layers.extend(self.floor_cut(range, &curves, Way::Down));
        layers.push(Layer::ends(ends));
        let target = format::typed_money(a.target, &a.currency);
        Panel {
            title: format!("The price at which an hour earns {target}"),
            unit: format!("{} per piece, reached in so many batches", a.currency),
            figures_of: self.told.1.clone(),
            ..Panel::curves(0.31, &self.axis, range, layers).lone(LONE)
        }
    }

    /// Says where no price earns the target.
    fn floor_gaps(&self, curves: &[Curve]) -> Vec<Layer> {
        let gaps = prices::gaps(curves, &self.sizes);
        let note = |(name, sizes): (&str, Vec<u32>)| {
            let at = if sizes.len() == self.sizes.len() {
                ", at any size".to_owned()
            } else {
                format!(" at {}", sizes_named(&sizes, &self.sizes))
            };
            let text = format!("no price does it {name}{at}");
            let across = [
                (X::At(sizes[0].into(), 8.0), Side::Left),
                (X::Right(8.0), Side::Right),
                (X::Left(8.0), Side::Left),
            ];
            let places = spots(&shares([0.09, 0.2, 0.31, 0.42, 0.6, 0.9]), &across);
            Layer::note([(text, LABEL.of(ASKED))], places)
        };
        gaps.into_iter().map(note).collect()
    }

    /// Says what lies beyond one of the panel's ends.
    fn floor_cut(&self, range: (f64, f64), curves: &[Curve], way: Way) -> Option<Layer> {
        let up = way == Way::Up;
        let beyond = |v: &f64| !within(range, *v) && (*v > self.answer.price) == up;
        let mut cut: Vec<&SizeAnswer> = Vec::new();
        let mut values: Vec<f64> = Vec::new();
        for (i, s) in self.answer.sizes.iter().enumerate() {
            let before = values.len();
            values.extend(curves.iter().filter_map(|curve| curve.points[i].1).filter(beyond));
            if values.len() > before {
                cut.push(s);
            }
        }
        let farthest = values.into_iter().reduce(if up { f64::max } else { f64::min })?;
        let to = if up { "up to" } else { "down to" };
        self.beyond(&cut, way, |_| format!("{to} {}", self.amount(farthest)))
    }

    /// Where the hands-on time of a piece goes, as stacked areas or, for few sizes, bars.
    fn time(&self) -> Panel {
        let in_hours = self.values(|s| parts(&s.hours_parts).iter().map(|p| p.1).sum());
        let median = ticks::range(&[], &in_hours, &[], Stretch { allow: 0.0, show: 0.0 }).1;
        let (per_hour, unit) = if median < 2.0 {
            (60.0, "minutes per piece, on average")
        } else {
            (1.0, "hours per piece, on average")
        };
        let totals: Vec<f64> = in_hours.iter().map(|t| t * per_hour).collect();
        let (_, high) = ticks::range(&[0.0], &totals, &totals, Stretch { allow: 6.0, show: 1.0 });
        let range = (0.0, high * 1.04);
        let paying = |line: Line| self.advised().map(|size| Layer::upright(size.into(), line));
        let mut layers = Vec::new();
        // Behind bars, which it would hollow out; over areas, which would hide it.
        layers.extend(paying(BEST).filter(|_| self.few));
        let (slices, ends) = self.slices(per_hour);
        layers.extend(slices);
        if !self.few {
            layers.extend(self.names_inside(per_hour));
            layers.extend([UNDER, BEST].into_iter().filter_map(paying));
        }
        let beyond = |(_, t): &(&SizeAnswer, &f64)| !within(range, **t) && t.is_finite();
        let beyond: Vec<(&SizeAnswer, &f64)> = self.answer.sizes.iter().zip(&totals).filter(beyond).collect();
        let most = beyond.iter().map(|b| *b.1).fold(0.0, f64::max);
        let cut: Vec<&SizeAnswer> = beyond.iter().map(|b| b.0).collect();
        let figure = format::hours(most / per_hour);
        layers.extend(self.beyond(&cut, Way::Up, |to| format!("{to} {figure}").trim().to_owned()));
        layers.push(Layer::ends(ends));
        Panel {
            title: "Where the hands-on time of a piece goes".into(),
            unit: unit.into(),
            figures_of: self.told.1.clone(),
            named: true,
            ..Panel::curves(0.27, &self.axis, range, layers)
        }
    }

    /// Each part over those below it, and its label; white seams keep neighbours apart where a printer makes them one grey.
    fn slices(&self, per_hour: f64) -> (Vec<Layer>, Vec<EndLabel>) {
        let (mut layers, mut seams, mut ends) = (Vec::new(), Vec::new(), Vec::new());
        let mut base = vec![0.0; self.sizes.len()];
        for (part, color) in PARTS.into_iter().enumerate() {
            let values = self.values(|s| parts(&s.hours_parts)[part].1 * per_hour);
            if values.iter().all(|&v| v.is_nan() || v <= 0.0) {
                continue;
            }
            let stacked = self.sizes.iter().zip(base.iter().zip(&values));
            let points: Ranges = stacked
                .map(|(&s, (&from, &v))| (f64::from(s), from, from + v.max(0.0)))
                .collect();
            base = points.iter().map(|s| s.2).collect();
            ends.extend(points.last().map(|&(_, from, to)| {
                let figure = format::hours(values.get(self.told.0).map_or(to - from, |v| v.max(0.0)) / per_hour);
                EndLabel::area((from + to) / 2.0, color, self.part_name(part), figure)
            }));
            if self.few {
                layers.push(Layer::bars(points, self.step, color));
            } else {
                let seam = points.iter().map(|&(x, _, to)| (x, Some(to))).collect();
                seams.push(Layer::curve(seam, Line::solid(WHITE, 1.0)));
                layers.push(Layer::band(points, color));
            }
        }
        seams.pop();
        layers.extend(seams);
        (layers, ends)
    }

    fn part_name(&self, part: usize) -> &'static str {
        self.answer.sizes.last().map_or("", |s| parts(&s.hours_parts)[part].0)
    }

    /// Names inside the areas.
    fn names_inside(&self, per_hour: f64) -> impl Iterator<Item = Layer> + '_ {
        (0..PARTS.len()).map(move |part| {
            let edges = |s: &SizeAnswer| {
                let all = parts(&s.hours_parts);
                let below: f64 = all[..part].iter().map(|p| p.1).sum::<f64>() * per_hour;
                (s.size.into(), below, below + all[part].1 * per_hour)
            };
            Layer::inside(
                self.answer.sizes.iter().map(edges).collect(),
                self.part_name(part).to_owned(),
                if part <= 1 { INK } else { WHITE },
            )
        })
    }
}

/// Rising confidence is drawn darker; the asked one thicker and unbroken, the others dashed each their own way.
fn floor_line(i: usize, of: usize, asked: bool) -> Line {
    let shade: Color = STEPS[(i * STEPS.len() / of.max(1)).min(STEPS.len() - 1)];
    match (asked, i) {
        (true, _) => Line::solid(shade, 3.0),
        (false, 0) => Line::dashed(shade, 2.2, 3.0, 3.0),
        (false, _) => Line::dashed(shade, 2.2, 10.0, 4.0),
    }
}

/// The parts from the bottom up: what no batch dilutes first, setup, which every piece more dilutes, on top.
fn parts(p: &Parts) -> [(&'static str, f64); 5] {
    // Five shades are as many as can be told apart.
    let selling = if p.selling_days > 0.0 {
        ("orders, selling days", p.per_order + p.selling_days)
    } else {
        ("per order", p.per_order)
    };
    [
        ("each", p.each),
        selling,
        ("redo", p.redo),
        ("once", p.once),
        ("setup", p.setup),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::plot::{Field, Shape};
    use crate::render::samples::Shop;

    /// 1,000 min once, 15 a piece and 20 an order: 35 + 1000/n minutes a piece. Two thirds of 40 sizes take 106.4 min or less, those of 14; the
    /// axis reaches twice as far and 4 % more, to 221.4, which sizes 1 to 5 pass, from 235 to 1,035 min.
    #[test]
    fn what_takes_longer_than_the_axis_reaches_is_said() {
        let shop = Shop {
            once: 1000.0,
            setup: 0.0,
            ..Shop::default()
        };
        let panels = plot(&shop.sweep(1..=40)).map_or_else(Vec::new, |plot| plot.panels);
        let time = panels
            .iter()
            .find(|panel| panel.title.starts_with("Where the hands-on"));
        let Some(Field::Curves(curves)) = time.map(|panel| &panel.field) else {
            panic!("no curves");
        };
        let said: Vec<&str> = curves
            .layers
            .iter()
            .filter_map(|layer| match &layer.shape {
                Shape::Note { lines, .. } => Some(lines[0].0.as_str()),
                _ => None,
            })
            .collect();
        assert_eq!(said, ["sizes 1–5 off the chart: up to 17 h 15 min"]);
    }
}
