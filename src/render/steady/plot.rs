//! The steady seller's plot: setups and holding, surplus, stock, all against batch size.

use super::headline;
use crate::questions::steady::{SteadyAnswer, SteadySize};
use crate::render::figure::Mark;
use crate::render::format;
use crate::render::plot::palette::{self, ASKED, INK, MAIN, MUTED, PARTS, PAYS, SECOND, WHITE};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    Axis, Curves, EndLabel, Field, LABEL, Layer, Line, Panel, Plot, Points, STRONG, Side, Sign, Spot, Text, Way, X, Y,
    along_end, beside_line, listed, minus, sentence, spots,
};

const SURPLUS: Line = Line::solid(MAIN, 3.0);
const BEST: Line = Line::dashed(PAYS, 1.6, 4.0, 3.0);
const UNDER: Line = Line::solid(WHITE, 3.0);
const TEXTBOOK: Line = Line::dashed(MUTED, 1.8, 2.0, 4.0);
const ZERO: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const STOCK: Line = Line::solid(SECOND, 2.6);
/// Half the width of what stands for one size alone, in pixels.
const LONE: f64 = 28.0;
/// Up to so many sizes each has its dot.
const FEW: usize = 12;

/// The whole plot; nothing where there are no sizes.
pub(super) fn plot(answer: &SteadyAnswer) -> Option<Plot> {
    let best = answer.sizes.iter().find(|s| s.size == answer.best)?;
    let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
    let view = View {
        answer,
        best,
        axis: Axis::sizes(&sizes, false),
        sizes,
    };
    Some(Plot {
        about: answer.title.clone(),
        title: answer.title.clone(),
        headline: headline(answer),
        foot: format!(
            "{} asked for a week · price {} · target {} an hour · holding {} a year · {} simulated batches of each size · seed {} · \
             batchwright {}",
            format::mean_count(answer.per_week),
            format::typed_money(answer.price, &answer.currency),
            format::typed_money(answer.target, &answer.currency),
            format::confidence(answer.hold),
            format::count(answer.trials),
            answer.seed,
            answer.version,
        ),
        description: format!(
            "Three panels against batch size: what setups and holding cost a year, with the textbook's batch; what a \
             year leaves after the target for every hour; pieces in stock on average. {}",
            sentence(&headline(answer))
        ),
        height: 1180,
        panels: vec![view.cost(), view.surplus(), view.stock()],
    })
}

struct View<'a> {
    answer: &'a SteadyAnswer,
    best: &'a SteadySize,
    sizes: Vec<u32>,
    axis: Axis,
}

impl View<'_> {
    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    fn points(&self, of: impl Fn(&SteadySize) -> f64) -> Points {
        let sizes = self.answer.sizes.iter();
        sizes.map(|s| (f64::from(s.size), Some(of(s)))).collect()
    }

    /// An upright line at the best size, where there are others.
    fn mark_best(&self, line: Line, sign: Option<Sign>) -> Option<Layer> {
        let at = f64::from(self.best.size);
        (self.sizes.len() > 1).then_some(Layer::upright(at, line).sign(sign))
    }

    fn best_line(&self) -> Line {
        Line {
            color: palette::best(self.best.surplus_a_year.mean),
            ..BEST
        }
    }

    fn beside_best(&self) -> Vec<Spot> {
        let off = if self.sizes.len() == 1 { LONE + 14.0 } else { 9.0 };
        beside_line(f64::from(self.best.size), off)
    }

    /// Says how far values go beyond an end of their panel.
    fn beyond(&self, values: &[f64], end: f64, way: Way) -> Option<Layer> {
        let is_beyond = |v: f64| v.is_finite() && if way == Way::Up { v > end } else { v < end };
        let each = self.sizes.iter().copied().zip(values.iter().copied());
        let cut: Vec<(u32, f64)> = each.filter(|(_, v)| is_beyond(*v)).collect();
        let (size, value) = *cut
            .iter()
            .max_by(|a, b| (a.1 - end).abs().total_cmp(&(b.1 - end).abs()))?;
        let to = if way == Way::Up { "up to" } else { "down to" };
        let text = format!("{to} {} at {}", self.amount(value), format::count(size.into()));
        let places = along_end(way, cut.first()?.0.into(), cut.last()?.0.into());
        Some(Layer::note([(text, LABEL.of(MUTED))], places).towards(way))
    }

    fn cost(&self) -> Panel {
        let a = self.answer;
        let sums: Vec<f64> = a.sizes.iter().map(|s| s.setup_a_year + s.holding_a_year).collect();
        let least = self.best.setup_a_year + self.best.holding_a_year;
        // One piece at a time costs many times as much: what matters is the trough.
        let most = sums.iter().copied().fold(least, f64::max);
        let (_, high) = ticks::range(
            &[0.0, most.min(3.0 * least)],
            &sums,
            &sums,
            Stretch { allow: 0.3, show: 0.1 },
        );
        let part = |of: &dyn Fn(&SteadySize) -> (f64, f64)| -> Vec<(f64, f64, f64)> {
            let range = |s: &SteadySize| (f64::from(s.size), of(s).0, of(s).1);
            a.sizes.iter().map(range).collect()
        };
        let areas = [
            (PARTS[1], "holding", part(&|s| (0.0, s.holding_a_year))),
            (
                PARTS[4],
                "setups",
                part(&|s| (s.holding_a_year, s.holding_a_year + s.setup_a_year)),
            ),
        ];
        let (mut layers, mut ends) = (Vec::new(), Vec::new());
        for (color, name, points) in areas {
            ends.extend(
                points
                    .last()
                    .map(|&(_, low, high)| EndLabel::area((low + high) / 2.0, color, name, self.amount(high - low))),
            );
            layers.push(Layer::band(points, color));
        }
        let lines = [UNDER, self.best_line()];
        layers.extend(lines.into_iter().filter_map(|line| self.mark_best(line, None)));
        let scale = self.axis.scale;
        let textbook = a.textbook.filter(|t| t.batch >= scale.low && t.batch <= scale.high);
        if let Some(t) = textbook {
            layers.extend([UNDER, TEXTBOOK].map(|line| Layer::upright(t.batch, line)));
            layers.push(Layer::dot((t.batch, t.yearly_cost), 5.0, ASKED));
            let mut places = beside_line(t.batch, 9.0);
            // Above the trough there is free ground.
            places.rotate_left(4);
            layers.push(Layer::note(
                [
                    (format!("textbook: {}", format::mean_count(t.batch)), STRONG.of(ASKED)),
                    (format!("{} a year", self.amount(t.yearly_cost)), LABEL.of(INK)),
                ],
                places,
            ));
        }
        layers.extend(self.beyond(&sums, high * 1.04, Way::Up));
        layers.push(Layer::ends(ends));
        Panel {
            title: "Setups and holding".into(),
            unit: format!("{} a year", a.currency),
            share: 0.4,
            axis: self.axis.clone(),
            field: Field::Curves(Curves {
                range: (0.0, high * 1.04),
                lone: LONE,
                layers,
                ..Curves::default()
            }),
            ..Panel::default()
        }
    }

    fn surplus(&self) -> Panel {
        let a = self.answer;
        let values: Vec<f64> = a.sizes.iter().map(|s| s.surplus_a_year.mean).collect();
        let best = self.best.surplus_a_year.mean;
        let (low, high) = ticks::range(&[0.0, best], &values, &values, Stretch { allow: 0.6, show: 0.4 });
        let air = 0.06 * (high - low);
        let mut layers = self.short_strips();
        layers.push(Layer::level(0.0, ZERO).signed(Sign::Target));
        layers.push(
            Layer::curve(self.points(|s| s.surplus_a_year.mean), SURPLUS)
                .dots(self.sizes.len() <= FEW)
                .signed(Sign::Median),
        );
        let near = self
            .others(|s| s.fits && a.nearly.contains(&s.size))
            .into_iter()
            .map(f64::from);
        layers.push(Layer::marks(near.collect()).signed(Sign::Row(Mark::Near)));
        layers.extend(self.mark_best(self.best_line(), Some(Sign::Row(Mark::Best))));
        layers.push(Layer::dot(
            (f64::from(self.best.size), best),
            5.5,
            self.best_line().color,
        ));
        let first = format!(
            "{} at a time: {}",
            format::count(self.best.size.into()),
            self.amount(best)
        );
        let second = format!("every {}", format::weeks(self.best.weeks));
        layers.push(Layer::note(
            [(first, STRONG.of(self.best_line().color)), (second, LABEL.of(INK))],
            self.beside_best(),
        ));
        if let Some(last) = a.sizes.iter().rfind(|s| !s.fits) {
            let across = [(X::Left(8.0), Side::Left), (X::At(last.size.into(), 8.0), Side::Left)];
            let text = "bench hours do not suffice".to_owned();
            layers.push(Layer::note(
                [(text, LABEL.of(ASKED))],
                spots(&[Y::Foot(20.0), Y::Share(0.5), Y::Top(14.0)], &across),
            ));
        }
        layers.extend(self.beyond(&values, low - air, Way::Down));
        let last = values.last().copied().unwrap_or(f64::NAN);
        layers.push(Layer::ends(vec![
            EndLabel::line(0.0, ZERO, "target just met", "0"),
            EndLabel::line(last, SURPLUS, "surplus", self.amount(last)),
        ]));
        Panel {
            title: "What a year leaves".into(),
            unit: format!(
                "{}, after {} for every hour and after holding",
                a.currency,
                format::typed_amount(a.target, &a.currency)
            ),
            share: 0.36,
            axis: self.axis.clone(),
            field: Field::curves((low - air, high + air), layers),
            text: (self.sizes.len() > 1).then(|| self.text()),
            ..Panel::default()
        }
    }

    /// Sizes like these beside the best.
    fn others(&self, like: impl Fn(&SteadySize) -> bool) -> Vec<u32> {
        let others = self.answer.sizes.iter().filter(|s| s.size != self.best.size && like(s));
        others.map(|s| s.size).collect()
    }

    fn text(&self) -> Text {
        let a = self.answer;
        let word = if self.best.surplus_a_year.mean < 0.0 {
            "loses least"
        } else {
            "leaves most"
        };
        let mut legend = vec![
            (Sign::Median, "surplus".to_owned()),
            (Sign::Target, "target just met".to_owned()),
            (
                Sign::Row(Mark::Best),
                format!("{} {word}", format::count(self.best.size.into())),
            ),
        ];
        let marked = [
            (
                Sign::Row(Mark::Near),
                self.others(|s| s.fits && a.nearly.contains(&s.size)),
            ),
            (Sign::Row(Mark::Short), self.others(|s| !s.fits)),
        ];
        for (sign, like) in marked.into_iter().filter(|(_, like)| !like.is_empty()) {
            legend.push((sign, listed(&like, &self.sizes)));
        }
        Text::of(legend)
    }

    /// Strips where the bench hours do not suffice; neighbours make one.
    fn short_strips(&self) -> Vec<Layer> {
        let mut strips: Vec<(f64, f64)> = Vec::new();
        let short = self.answer.sizes.iter().enumerate().filter(|(_, s)| !s.fits);
        for (place, s) in short.filter(|_| self.sizes.len() > 1) {
            let x = f64::from(s.size);
            let middle = |other: Option<&u32>| other.map_or(x, |o| f64::midpoint(x, f64::from(*o)));
            let from = middle(place.checked_sub(1).and_then(|k| self.sizes.get(k)));
            let to = middle(self.sizes.get(place + 1));
            match strips.last_mut() {
                Some((_, end)) if *end == from => *end = to,
                _ => strips.push((from, to)),
            }
        }
        let strip = |(from, to)| Layer::strip((from, to), ASKED).signed(Sign::Row(Mark::Short));
        strips.into_iter().map(strip).collect()
    }

    fn stock(&self) -> Panel {
        let a = self.answer;
        let most = a.sizes.iter().map(|s| s.stock).fold(1e-9, f64::max);
        let mut layers = vec![Layer::curve(self.points(|s| s.stock), STOCK).dots(self.sizes.len() <= FEW)];
        layers.extend(self.mark_best(self.best_line(), None));
        layers.push(Layer::dot(
            (f64::from(self.best.size), self.best.stock),
            5.0,
            self.best_line().color,
        ));
        let text = format!(
            "{} in stock, tying up {}",
            format::mean_count(self.best.stock),
            format::money(self.best.tied_up, &a.currency)
        );
        layers.push(Layer::note(
            [(text, STRONG.of(self.best_line().color))],
            self.beside_best(),
        ));
        layers.extend(a.sizes.last().map(|last| {
            let figure = format::mean_count(last.stock);
            Layer::ends(vec![EndLabel::line(last.stock, STOCK, "in stock", figure)])
        }));
        Panel {
            title: "In stock".into(),
            unit: "pieces, on average".into(),
            share: 0.24,
            axis: self.axis.clone(),
            named: true,
            field: Field::curves((0.0, most * 1.06), layers),
            ..Panel::default()
        }
    }
}
