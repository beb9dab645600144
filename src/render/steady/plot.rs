//! The steady seller's plot: setups and holding, surplus, stock, all against batch size.

use super::{headline, is_advised};
use crate::questions::steady::{SteadyAnswer, SteadySize};
use crate::render::figure::Mark;
use crate::render::format;
use crate::render::plot::by_size::{BySize, LONE, UNDER};
use crate::render::plot::palette::{ASKED, INK, MUTED, PARTS, SECOND};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    EndLabel, LABEL, Layer, Line, MEDIAN, Panel, Plot, Points, STRONG, Side, Sign, TARGET, Text, Way, X, Y,
    beside_line, beyond, listed, sentence, spots,
};

const TEXTBOOK: Line = Line::dashed(MUTED, 1.8, 2.0, 4.0);
const STOCK: Line = Line::solid(SECOND, 2.6);

/// The whole plot; nothing where there are no sizes.
pub(super) fn plot(answer: &SteadyAnswer) -> Option<Plot> {
    let best = answer.sizes.iter().find(|s| s.size == answer.best)?;
    let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
    let by = BySize::new(sizes, best.size, best.surplus_a_year.mean, &answer.currency);
    let view = View { answer, best, by };
    let [price, target] = [answer.price, answer.target].map(|value| format::typed_money(value, &answer.currency));
    let (per_week, hold) = (format::mean_count(answer.per_week), format::confidence(answer.hold));
    let (trials, seed, version) = (format::count(answer.trials), answer.seed, &answer.version);
    Some(Plot {
        foot: format!(
            "{per_week} asked for a week · price {price} · target {target} an hour · holding {hold} a year · {trials} simulated batches \
             of each size · seed {seed} · batchwright {version}"
        ),
        description: format!(
            "Three panels against batch size: what setups and holding cost a year, with the textbook's batch; what a \
             year leaves after the target for every hour; pieces in stock on average. {}",
            sentence(&headline(answer))
        ),
        height: 1180,
        panels: vec![view.cost(), view.surplus(), view.stock()],
        ..Plot::about(&answer.title, headline(answer))
    })
}

struct View<'a> {
    answer: &'a SteadyAnswer,
    best: &'a SteadySize,
    by: BySize<'a>,
}

impl View<'_> {
    fn points(&self, of: impl Fn(&SteadySize) -> f64) -> Points {
        let sizes = self.answer.sizes.iter();
        sizes.map(|s| (f64::from(s.size), Some(of(s)))).collect()
    }

    /// Says how far values go beyond an end of their panel.
    fn beyond(&self, values: &[f64], end: f64, way: Way) -> Option<Layer> {
        let is_beyond = |v: f64| v.is_finite() && if way == Way::Up { v > end } else { v < end };
        let each = self.by.sizes.iter().copied().zip(values.iter().copied());
        let cut: Vec<(u32, f64)> = each.filter(|(_, v)| is_beyond(*v)).collect();
        let (size, value) = *cut
            .iter()
            .max_by(|a, b| (a.1 - end).abs().total_cmp(&(b.1 - end).abs()))?;
        let text = format!("{} at a time: {}", format::count(size.into()), self.by.amount(value));
        Some(beyond(text, way, cut.first()?.0.into(), cut.last()?.0.into()))
    }

    fn cost(&self) -> Panel {
        let a = self.answer;
        let sums: Vec<f64> = a.sizes.iter().map(|s| s.setup_a_year + s.holding_a_year).collect();
        let least = self.best.setup_a_year + self.best.holding_a_year;
        // One piece at a time costs many times as much: what matters is the trough.
        let most = sums.iter().copied().fold(least, f64::max);
        let story = [0.0, most.min(3.0 * least)];
        let (_, high) = ticks::range(&story, &sums, &sums, Stretch { allow: 0.3, show: 0.1 });
        let sized = |s: &SteadySize| f64::from(s.size);
        let holding = a.sizes.iter().map(|s| (sized(s), 0.0, s.holding_a_year));
        let setups = a.sizes.iter();
        let setups = setups.map(|s| (sized(s), s.holding_a_year, s.holding_a_year + s.setup_a_year));
        let areas = [
            (PARTS[1], "holding", holding.collect()),
            (PARTS[4], "setups", setups.collect()),
        ];
        let (mut layers, ends) = self.by.areas(areas, |value| self.by.amount(value));
        layers.extend(self.by.best_line_over_areas());
        let textbook = a.textbook.filter(|t| self.by.axis.scale.holds(t.batch));
        layers.extend(textbook.into_iter().flat_map(|t| {
            let lines = [UNDER, TEXTBOOK].map(|line| Layer::upright(t.batch, line));
            lines
                .into_iter()
                .chain([Layer::dot((t.batch, t.yearly_cost), 5.0, ASKED)])
        }));
        // It has but one line, which must not be broken where there is little free ground.
        layers.extend(self.beyond(&sums, high * 1.04, Way::Up));
        layers.extend(textbook.map(|t| {
            let mut places = beside_line(t.batch, 9.0);
            // Above the trough there is free ground.
            places.rotate_left(4);
            let batch = format!("textbook: {}", format::mean_count(t.batch));
            let cost = format!("{} a year", self.by.amount(t.yearly_cost));
            Layer::note([(batch, STRONG.of(ASKED)), (cost, LABEL.of(INK))], places)
        }));
        layers.push(Layer::ends(ends));
        Panel {
            title: "Setups and holding".into(),
            unit: format!("{} a year", a.currency),
            figures_of: self.by.figures_of(),
            ..Panel::curves(0.4, &self.by.axis, (0.0, high * 1.04), layers).lone(LONE)
        }
    }

    fn surplus(&self) -> Panel {
        let a = self.answer;
        let values: Vec<f64> = a.sizes.iter().map(|s| s.surplus_a_year.mean).collect();
        let best = self.best.surplus_a_year.mean;
        let range = ticks::range(&[0.0, best], &values, &values, Stretch { allow: 0.6, show: 0.4 });
        let range = ticks::aired(range, 0.06);
        let mut layers = self.short_strips();
        let n = format::count(self.best.size.into());
        let said = [
            format!("{n} at a time: {}", self.by.amount(best)),
            format!("every {}", format::weeks(self.best.weeks)),
        ];
        let (points, places) = (self.points(|s| s.surplus_a_year.mean), self.by.beside_best());
        let near = is_advised(a).then(|| self.nearly());
        layers.extend(self.by.surplus(points, near.as_deref(), said, places));
        if let Some(last) = a.sizes.iter().rfind(|s| !s.fits) {
            let across = [(X::Left(8.0), Side::Left), (X::At(last.size.into(), 8.0), Side::Left)];
            let text = "bench hours do not suffice".to_owned();
            let places = spots(&[Y::Foot(20.0), Y::Share(0.5), Y::Top(14.0)], &across);
            layers.push(Layer::note([(text, LABEL.of(ASKED))], places));
        }
        layers.extend(self.beyond(&values, range.0, Way::Down));
        let last = values.last().copied().unwrap_or(f64::NAN);
        layers.push(Layer::ends(vec![
            EndLabel::line(0.0, TARGET, "target just met", "0"),
            EndLabel::line(last, MEDIAN, "surplus", self.by.amount(best)),
        ]));
        Panel {
            title: "What a year leaves".into(),
            unit: format!(
                "{}, after {} for every hour and after holding",
                a.currency,
                format::typed_amount(a.target, &a.currency)
            ),
            figures_of: self.by.figures_of(),
            text: self.by.several().then(|| self.text()),
            ..Panel::curves(0.36, &self.by.axis, range, layers)
        }
    }

    /// Sizes like these beside the best.
    fn others(&self, like: impl Fn(&SteadySize) -> bool) -> Vec<u32> {
        let others = self.answer.sizes.iter().filter(|s| s.size != self.best.size && like(s));
        others.map(|s| s.size).collect()
    }

    fn nearly(&self) -> Vec<u32> {
        self.others(|s| s.fits && self.answer.nearly.contains(&s.size))
    }

    fn text(&self) -> Text {
        let mut legend = vec![
            (Sign::Median, "surplus".to_owned()),
            (Sign::Target, "target just met".to_owned()),
        ];
        let mut marked = vec![(Sign::Row(Mark::Short), self.others(|s| !s.fits))];
        if is_advised(self.answer) {
            let most = format!("{} leaves most", format::count(self.best.size.into()));
            legend.push((Sign::Row(Mark::Best), most));
            marked.insert(0, (Sign::Row(Mark::Near), self.nearly()));
        }
        for (sign, like) in marked.into_iter().filter(|(_, like)| !like.is_empty()) {
            legend.push((sign, listed(&like, &self.by.sizes)));
        }
        Text::of(legend)
    }

    /// Strips where the bench hours do not suffice; neighbours make one.
    fn short_strips(&self) -> Vec<Layer> {
        let mut strips: Vec<(f64, f64)> = Vec::new();
        let short = self.answer.sizes.iter().enumerate().filter(|(_, s)| !s.fits);
        for (place, s) in short.filter(|_| self.by.several()) {
            let x = f64::from(s.size);
            let middle = |other: Option<&u32>| other.map_or(x, |o| f64::midpoint(x, f64::from(*o)));
            let from = middle(place.checked_sub(1).and_then(|k| self.by.sizes.get(k)));
            let to = middle(self.by.sizes.get(place + 1));
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
        let mut layers = vec![self.by.curve(self.points(|s| s.stock), STOCK)];
        layers.extend(self.by.best_line());
        layers.push(self.by.best_dot(self.best.stock, 5.0));
        let stock = format::mean_count(self.best.stock);
        let text = format!(
            "{stock} in stock, tying up {}",
            format::money(self.best.tied_up, &a.currency)
        );
        let letters = STRONG.of(self.by.best_color());
        layers.push(Layer::note([(text, letters)], self.by.beside_best()));
        layers.extend(a.sizes.last().map(|last| {
            let figure = format::mean_count(self.best.stock);
            Layer::ends(vec![EndLabel::line(last.stock, STOCK, "in stock", figure)])
        }));
        Panel {
            title: "In stock".into(),
            unit: "pieces, on average".into(),
            figures_of: self.by.figures_of(),
            named: true,
            ..Panel::curves(0.24, &self.by.axis, (0.0, most * 1.06), layers)
        }
    }
}
