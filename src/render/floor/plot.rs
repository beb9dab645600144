//! The plot of `floor`: prices that pay against size, the asked price across them.

use super::table::at_confidence;
use super::{View, headline};
use crate::questions::floor::{Floors, MadeFor, SizeFloors};
use crate::render::figure::Mark;
use crate::render::format;
use crate::render::plot::palette::{ASKED, BAND, MAIN, MUTED, STEPS};
use crate::render::plot::prices::Curve;
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    Axis, EndLabel, LABEL, Layer, Line, Panel, Plot, Points, Ranges, Side, Sign, TARGET, Text, TextRow, Way, X, Y,
    by_size, listed, minus, prices, shares, spots, within,
};

/// Half the width of what stands for a curve where there is one size only, in pixels.
const LONE: f64 = 60.0;
/// Up to so many sizes each has its dot, and its row in text.
const FEW: usize = 12;

const LONG_RUN: Line = Line::dashed(MUTED, 2.2, 2.0, 4.0);

/// The whole plot; nothing where there are no sizes.
pub(super) fn plot(answer: &Floors) -> Option<Plot> {
    answer.sizes.first()?;
    let view = View::new(answer);
    let many = view.many();
    let shown = Shown {
        answer,
        view,
        sizes: answer.sizes.iter().map(|s| s.size).collect(),
    };
    let made_for = match answer.made_for {
        MadeFor::Batches => "batch size",
        MadeFor::Order => "the pieces of one order",
    };
    let [price, target] = [answer.price, answer.target].map(|value| format::typed_money(value, &answer.currency));
    let (sure, trials) = (format::confidence(answer.confidence), format::count(answer.trials));
    let Floors { seed, version, .. } = answer;
    Some(Plot {
        foot: format!(
            "Asked price {price} · target {target} an hour in {sure} of {many} · {trials} simulated {many} of each size · seed {seed} · \
             batchwright {version}"
        ),
        description: format!(
            "The lowest price per piece that earns {target} an hour against {made_for}, in so many of 100 {many} and on average, \
             with the asked price of {price} as a line across."
        ),
        height: 760,
        panels: vec![shown.panel()],
        ..Plot::about(&answer.title, headline(answer))
    })
}

struct Shown<'a> {
    answer: &'a Floors,
    view: View<'a>,
    sizes: Vec<u32>,
}

impl Shown<'_> {
    fn points(&self, of: impl Fn(&SizeFloors) -> Option<f64>) -> Points {
        let price = |s: &SizeFloors| (f64::from(s.size), of(s).filter(|p| p.is_finite()));
        self.answer.sizes.iter().map(price).collect()
    }

    fn few(&self) -> bool {
        self.sizes.len() <= FEW
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    /// A price floor.
    fn enough(&self, value: f64) -> String {
        self.amount(format::enough(value, &self.answer.currency))
    }

    fn curves(&self) -> Vec<Curve> {
        let (confidences, many) = (self.view.confidences(), self.view.many());
        let of = confidences.len();
        let curve = |(k, &q): (usize, &f64)| {
            let asked = self.view.is_asked(q);
            let shade = STEPS[(k * STEPS.len() / of).min(STEPS.len() - 1)];
            Curve {
                name: format!("in {} of {many}", format::confidence(q)),
                line: if asked {
                    Line::solid(MAIN, 3.2)
                } else {
                    Line::dashed(shade, 2.0, 3.0 + 4.0 * k as f64, 4.0)
                },
                points: self.points(|s| at_confidence(s, q).price),
                asked,
            }
        };
        let mut curves: Vec<Curve> = confidences.iter().enumerate().map(curve).collect();
        curves.push(Curve {
            name: "on average".into(),
            line: LONG_RUN,
            points: self.points(|s| s.long_run.price),
            asked: false,
        });
        if certain(&curves) {
            return vec![curves[0].alone(format!("in all {many}"))];
        }
        curves
    }

    fn range(&self, curves: &[Curve]) -> (f64, f64) {
        let a = self.answer;
        let all: Vec<f64> = curves.iter().flat_map(Curve::prices).collect();
        let asked: Vec<f64> = a.sizes.iter().filter_map(|s| s.floor_asked.price).collect();
        let story = [a.price, 0.85 * a.price, 1.1 * a.price];
        // Few sizes are all looked at; among many the dearest would squeeze the others.
        let allow = if self.few() { 30.0 } else { 3.0 };
        prices::aired(ticks::range(&story, &asked, &all, Stretch { allow, show: 1.5 }), 0.06)
    }

    fn panel(&self) -> Panel {
        let a = self.answer;
        let curves = self.curves();
        let range = self.range(&curves);
        let interval = |s: &SizeFloors| Some((f64::from(s.size), s.floor_asked.low?, s.floor_asked.high?));
        let intervals: Ranges = a.sizes.iter().filter_map(interval).collect();
        let unsure = intervals.iter().any(|(_, low, high)| low < high);
        let mut layers = vec![
            Layer::band(intervals, BAND),
            Layer::level(a.price, TARGET).signed(Sign::Target),
        ];
        layers.extend(self.spread());
        let asked = minus(&format::typed_amount(a.price, &a.currency));
        let mut ends = vec![EndLabel::line(a.price, TARGET, "asked", asked)];
        // Through the gaps of the others the unbroken one is seen, and not the other way round.
        for asked in [true, false] {
            layers.extend(curves.iter().filter(|curve| curve.asked == asked).map(|curve| {
                Layer::curve(curve.points.clone(), curve.line)
                    .dots(self.few())
                    .signed(asked.then_some(Sign::Median))
            }));
        }
        let (told, figures_of) = by_size::told(&self.sizes, a.about);
        ends.extend(curves.iter().map(|curve| curve.end(told, |price| self.enough(price))));
        let gaps = self.gaps(&curves);
        let some = curves.iter().flat_map(Curve::prices).next().is_some();
        layers.extend(gaps.iter().map(|(sizes, text)| self.gap_note(sizes, text)));
        layers.extend(self.beyond(range, &curves));
        layers.push(Layer::ends(ends));
        let first = self.first_paying();
        layers.extend(first.map(|first| Layer::marks(vec![first.into()]).signed(Sign::Row(Mark::Pays))));
        let axis = Axis::sizes(&self.sizes, self.few());
        let axis = match a.made_for {
            MadeFor::Batches => axis,
            MadeFor::Order if a.sizes.iter().any(|s| s.spares.is_some_and(|spares| spares > 0)) => {
                axis.named("pieces in one order; its spares are made too")
            }
            MadeFor::Order => axis.named("pieces in one order, made and sent together"),
        };
        Panel {
            title: self.title(),
            unit: match self.sizes.as_slice() {
                [one] => format!("{} per piece, with {}", a.currency, self.view.made(*one)),
                _ => format!("{} per piece", a.currency),
            },
            key: if unsure {
                format!("shaded: 95 % interval of that in {}", format::confidence(a.confidence))
            } else {
                String::new()
            },
            figures_of,
            named: true,
            // One price beside the asked one, or none at all: the words say that.
            text: (some && (self.sizes.len() > 1 || !self.view.certain)).then(|| self.text(gaps)),
            ..Panel::curves(1.0, &axis, range, layers).lone(LONE)
        }
    }

    fn title(&self) -> String {
        if self.answer.target > 0.0 {
            let target = format::typed_money(self.answer.target, &self.answer.currency);
            return format!("The price at which an hour earns {target}");
        }
        "The price that covers its costs".to_owned()
    }

    /// What the confidences span, which text shows as a band.
    fn spread(&self) -> Option<Layer> {
        let confidences = self.view.confidences();
        let (least, most) = (*confidences.first()?, *confidences.last()?);
        let endless = |price: Option<f64>| price.unwrap_or(f64::INFINITY);
        let range = |s: &SizeFloors| {
            let at = |q| endless(at_confidence(s, q).price);
            (f64::from(s.size), at(least), at(most))
        };
        let points = self.answer.sizes.iter().map(range).collect();
        Some(Layer::spread(points).signed(Sign::Band))
    }

    fn first_paying(&self) -> Option<u32> {
        let mut sizes = self.answer.sizes.iter();
        let first = sizes.find(|s| s.reach.share >= self.answer.confidence)?;
        (!self.few()).then_some(first.size)
    }

    fn text(&self, gaps: Vec<(Vec<u32>, String)>) -> Text {
        let a = self.answer;
        let q = self.view.confidences();
        let asked = format!("asked {}", format::typed_amount(a.price, &a.currency));
        let surely = format::confidence(a.confidence);
        let many = self.view.many();
        let mut legend = vec![(Sign::Median, format!("pays in {surely} of {many}"))];
        if certain(&self.curves()) {
            legend = vec![(Sign::Median, format!("pays in all {many}"))];
        } else if self.sizes.len() == 1 {
            legend = vec![(Sign::Median, "price that does it".to_owned())];
        } else if let (Some(least), Some(most)) = (q.first(), q.last()) {
            let least = format::bare_confidence(*least);
            legend.push((Sign::Band, format!("in {least} to {}", format::confidence(*most))));
        }
        legend.push((Sign::Target, asked));
        let mut notes = Vec::new();
        if let Some(first) = self.first_paying() {
            let paying = |s: &&SizeFloors| s.size > first && s.reach.share < a.confidence;
            let failing: Vec<u32> = a.sizes.iter().filter(paying).map(|s| s.size).collect();
            let word = if failing.is_empty() { "from" } else { "first at" };
            legend.push((Sign::Row(Mark::Pays), format!("{word} {}", format::count(first.into()))));
            if !failing.is_empty() {
                notes.push(format!("but not at {}", listed(&failing, &self.sizes)));
            }
        } else if !self.few() {
            notes.push(format!("no size pays in {surely} of {many}"));
        }
        notes.extend(gaps.into_iter().map(|gap| gap.1));
        let row = |s: &SizeFloors| TextRow {
            at: s.size.into(),
            name: format::count(s.size.into()),
            figure: s
                .floor_asked
                .price
                .map_or_else(|| "no price".to_owned(), |p| self.enough(p)),
        };
        let one = self.sizes.len() == 1;
        Text {
            legend,
            notes,
            rows: if self.few() && !one {
                a.sizes.iter().map(row).collect()
            } else {
                Vec::new()
            },
            by_label: one,
        }
    }

    /// Where there is no price.
    fn gaps(&self, curves: &[Curve]) -> Vec<(Vec<u32>, String)> {
        let said = |(name, sizes): (&str, Vec<u32>)| {
            let text = format!("no price does it {name} at {}", listed(&sizes, &self.sizes));
            (sizes, text)
        };
        let gaps = prices::gaps(curves, &self.sizes);
        gaps.into_iter().map(said).collect()
    }

    fn gap_note(&self, sizes: &[u32], text: &str) -> Layer {
        let across = [(X::At(sizes[0].into(), 8.0), Side::Left), (X::Right(8.0), Side::Right)];
        let places = spots(&shares([0.06, 0.13, 0.2, 0.3, 0.5]), &across);
        Layer::note([(text.to_owned(), LABEL.of(ASKED))], places)
    }

    /// Says what lies above the panel.
    fn beyond(&self, range: (f64, f64), curves: &[Curve]) -> Option<Layer> {
        let (size, value) = curves
            .iter()
            .flat_map(|c| c.points.iter())
            .filter_map(|p| Some((p.0, p.1?)))
            .filter(|(_, v)| !within(range, *v) && *v > self.answer.price)
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        let text = format!("up to {} at {}", self.amount(value), format::count(size as u64));
        let across = [
            (X::Within(size, 60.0), Side::Left),
            (X::Within(size, 6.0), Side::Left),
            (X::Right(8.0), Side::Right),
        ];
        let places = spots(&[14.0, 36.0, 62.0].map(Y::Top), &across);
        Some(Layer::note([(text, LABEL.of(MUTED))], places).towards(Way::Up))
    }
}

/// All prices are one.
fn certain(curves: &[Curve]) -> bool {
    let same = |one: f64, other: f64| (one - other).abs() <= 1e-9 * one.abs().max(1.0);
    prices::all_one(curves, same)
}
