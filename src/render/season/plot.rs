//! The season's plot: surplus and pieces against batch size, surplus against price.

use super::headline;
use crate::questions::season::{PriceResponse, SeasonAnswer, SeasonSize};
use crate::render::figure::Mark;
use crate::render::format;
use crate::render::plot::by_size::{BySize, LONE};
use crate::render::plot::palette::{self, ASKED, BAND, INK, MAIN, MUTED, PARTS, WHITE};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    Axis, BEST, EndLabel, LABEL, Layer, Line, MEDIAN, Panel, Plot, Points, Ranges, STRONG, Side, Sign, TARGET, Text, X,
    at_ends, beside_line, listed, sentence, shares, spots,
};
use crate::render::words::{batch_of, capital};

/// What a season leaves at prices so far from the asked one that it is a guess.
const GUESSED: Line = Line::dashed(MAIN, 3.0, 2.0, 5.0);
const ASKED_PRICE: Line = Line::dashed(ASKED, 1.8, 6.0, 4.0);

/// The whole plot; nothing where there are no sizes.
pub(super) fn plot(answer: &SeasonAnswer) -> Option<Plot> {
    let best = answer.sizes.iter().find(|s| s.size == answer.best_by_surplus)?;
    let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
    let by = BySize::new(sizes, best.size, best.surplus.mean, &answer.currency);
    let view = View { answer, best, by };
    let mut panels = vec![view.surplus(), view.pieces()];
    if let Some(prices) = &answer.prices {
        panels.push(view.prices(prices));
        for (panel, share) in panels.iter_mut().zip([0.38, 0.27]) {
            panel.share = share;
        }
    }
    let against_price = if answer.prices.is_some() {
        ", then what is left against the price"
    } else {
        ""
    };
    let [price, target] = [answer.price, answer.target].map(|value| format::typed_money(value, &answer.currency));
    let (buyers, trials) = (format::mean_count(answer.buyers.mean), format::count(answer.trials));
    let SeasonAnswer { seed, version, .. } = answer;
    Some(Plot {
        foot: format!(
            "Asked price {price} · {buyers} asked for on average · target {target} an hour · {trials} simulated seasons of each size · \
             seed {seed} · batchwright {version}"
        ),
        description: format!(
            "Panels against batch size: what the season leaves after the target for every hour, with the range of eight \
             seasons in ten; pieces sold and left over{against_price}. {}",
            sentence(&headline(answer))
        ),
        height: if answer.prices.is_some() { 1340 } else { 940 },
        panels,
        ..Plot::about(&answer.title, headline(answer))
    })
}

struct View<'a> {
    answer: &'a SeasonAnswer,
    best: &'a SeasonSize,
    by: BySize<'a>,
}

impl View<'_> {
    fn points(&self, of: impl Fn(&SeasonSize) -> f64) -> Points {
        let sizes = self.answer.sizes.iter();
        sizes.map(|s| (f64::from(s.size), Some(of(s)))).collect()
    }

    fn ranges(&self, of: impl Fn(&SeasonSize) -> (f64, f64)) -> Ranges {
        let range = |s: &SeasonSize| (f64::from(s.size), of(s).0, of(s).1);
        self.answer.sizes.iter().map(range).collect()
    }

    fn surplus(&self) -> Panel {
        let a = self.answer;
        let means: Vec<f64> = a.sizes.iter().map(|s| s.surplus.mean).collect();
        let mut all = means.clone();
        all.extend(a.sizes.iter().flat_map(|s| [s.surplus_p10, s.surplus_p90]));
        let story = [0.0, self.best.surplus_p10, self.best.surplus_p90];
        let range = ticks::range(&story, &means, &all, Stretch { allow: 1.5, show: 0.6 });
        let range = ticks::aired(range, 0.04);
        let mut layers = vec![Layer::band(self.ranges(|s| (s.surplus_p10, s.surplus_p90)), BAND).signed(Sign::Band)];
        let batch = capital(&batch_of(self.best.size));
        let said = [
            format!("{batch}: {}", self.by.amount(self.best.surplus.mean)),
            format!("sells out in {} of seasons", format::share(self.best.sold_out.share)),
        ];
        // Where there is no free place beside the line, in a corner: the words say which batch it is.
        let mut places = self.by.beside_best();
        places.extend(spots(&shares([0.12, 0.88]), &at_ends(8.0)));
        let near = (self.best.surplus.mean >= 0.0).then_some(a.ties.as_slice());
        layers.extend(self.by.surplus(self.points(|s| s.surplus.mean), near, said, places));
        let mut ends = vec![EndLabel::line(0.0, TARGET, "target just met", "0")];
        if let Some(last) = a.sizes.last() {
            let best = self.best;
            let ends_of = |of: fn(&SeasonSize) -> f64| (of(last), self.by.amount(of(best)));
            let (end, mean) = ends_of(|s| s.surplus.mean);
            ends.push(EndLabel::line(end, MEDIAN, "average", mean));
            if self.has_band() {
                let (over, under) = (ends_of(|s| s.surplus_p90), ends_of(|s| s.surplus_p10));
                for ((end, figure), name) in [(over, "1 in 10 over"), (under, "1 in 10 under")] {
                    ends.push(EndLabel::area(end, BAND, name, figure));
                }
            }
        }
        layers.push(Layer::ends(ends));
        Panel {
            title: "What the season leaves".into(),
            unit: format!(
                "{}, after {} for every hour",
                a.currency,
                format::typed_amount(a.target, &a.currency)
            ),
            figures_of: self.by.figures_of(),
            text: self.by.several().then(|| self.text()),
            ..Panel::curves(0.58, &self.by.axis, range, layers).lone(LONE)
        }
    }

    fn has_band(&self) -> bool {
        self.answer.sizes.iter().any(|s| s.surplus_p90 > s.surplus_p10)
    }

    fn text(&self) -> Text {
        let pays = self.best.surplus.mean >= 0.0;
        let mut legend = vec![(Sign::Median, "average".to_owned())];
        if self.has_band() {
            legend.push((Sign::Band, "8 seasons in 10".to_owned()));
        }
        legend.push((Sign::Target, "target just met".to_owned()));
        if pays {
            let most = format!("{} leaves most", format::count(self.best.size.into()));
            legend.push((Sign::Row(Mark::Best), most));
        }
        if pays && !self.answer.ties.is_empty() {
            let list = listed(&self.answer.ties, &self.by.sizes);
            legend.push((Sign::Row(Mark::Near), list));
        }
        Text::of(legend)
    }

    fn pieces(&self) -> Panel {
        let a = self.answer;
        let most = a.sizes.iter().map(|s| s.good.mean).fold(1e-9, f64::max);
        let (title, left) = if a.carried {
            ("Pieces sold and carried on", "carried on")
        } else {
            ("Pieces sold and left over", "left over")
        };
        let unworn = |s: &SeasonSize| s.sold.mean + s.leftover;
        let mut areas = vec![
            (PARTS[0], "sold", self.ranges(|s| (0.0, s.sold.mean))),
            (PARTS[1], left, self.ranges(|s| (s.sold.mean, unworn(s)))),
        ];
        let wears = a.sizes.iter().any(|s| s.worn.is_some());
        if wears {
            let worn = self.ranges(|s| (unworn(s), unworn(s) + s.worn.unwrap_or(0.0)));
            areas.push((PARTS[2], "come back worn", worn));
        }
        let (mut layers, ends) = self.by.areas(areas, format::mean_count);
        if self.by.several() {
            layers.push(Layer::curve(self.points(|s| s.sold.mean), Line::solid(WHITE, 1.5)));
            layers.extend(wears.then(|| Layer::curve(self.points(unworn), Line::solid(WHITE, 1.5))));
        }
        layers.extend(self.by.best_line_over_areas());
        layers.push(Layer::ends(ends));
        Panel {
            title: title.into(),
            unit: "good pieces, on average".into(),
            figures_of: self.by.figures_of(),
            named: true,
            ..Panel::curves(0.42, &self.by.axis, (0.0, most * 1.04), layers).lone(LONE)
        }
    }

    fn prices(&self, prices: &PriceResponse) -> Panel {
        let a = self.answer;
        let values: Vec<f64> = prices.curve.iter().map(|p| p.surplus.mean).collect();
        let mut story = vec![0.0];
        story.extend(prices.best.map(|best| best.surplus.mean));
        let range = ticks::range(&story, &values, &values, Stretch { allow: 1.5, show: 0.6 });
        let all = prices.curve.iter().map(|p| p.price);
        let ends = all.fold((f64::INFINITY, 0.0_f64), |(l, h), p| (l.min(p), h.max(p)));
        // As in the words, a rounding is no other price.
        let [half, twice] = a.nearer();
        let [half, twice] = [half * (1.0 - 1e-9), twice * (1.0 + 1e-9)];
        let points = points_by_price(prices, [half, twice]);
        let line = |shown: &dyn Fn(f64) -> bool| points.iter().map(|(x, y)| (*x, shown(*x).then_some(*y))).collect();
        let mut layers = vec![
            Layer::level(0.0, TARGET),
            Layer::upright(a.price, ASKED_PRICE),
            Layer::curve(line(&|x| half <= x && x <= twice), MEDIAN),
        ];
        for (beyond, border, side, off) in [
            (ends.0 < half, half, Side::Right, -9.0),
            (ends.1 > twice, twice, Side::Left, 9.0),
        ] {
            if beyond {
                let guessed = |x: f64| if side == Side::Left { x >= border } else { x <= border };
                layers.push(Layer::curve(line(&guessed), GUESSED));
                let heights = shares([0.24, 0.36, 0.06, 0.7, 0.82, 0.94]);
                let places = spots(&heights, &[(X::At(border, off), side)]);
                layers.push(Layer::note([("only a guess".to_owned(), LABEL.of(MUTED))], places));
            }
        }
        layers.extend(self.best_price(prices));
        let asked = format!("asked {}", format::typed_amount(a.price, &a.currency));
        layers.push(Layer::note([(asked, LABEL.of(ASKED))], beside_line(a.price, 9.0)));
        let last = prices.curve.last().map_or(f64::NAN, |p| p.surplus.mean);
        let told = prices.best.map_or(last, |best| best.surplus.mean);
        layers.push(Layer::ends(vec![
            EndLabel::line(0.0, TARGET, "target just met", "0"),
            EndLabel::line(last, MEDIAN, "on average", self.by.amount(told)),
        ]));
        let axis = Axis::values(ends, format::tick).named(format!("price per piece, {}", a.currency));
        Panel {
            title: "What other prices leave".into(),
            unit: format!(
                "{}, each price with its best batch and the buyers there are at it",
                a.currency
            ),
            figures_of: prices.best.map_or_else(String::new, |best| self.by.amount(best.price)),
            named: true,
            ..Panel::curves(0.35, &axis, ticks::aired(range, 0.06), layers)
        }
    }

    /// The best price and what it leaves, or why there is none.
    fn best_price(&self, prices: &PriceResponse) -> Vec<Layer> {
        if let Some(best) = prices.best {
            let color = palette::best(best.surplus.mean);
            let (price, n) = (self.by.amount(best.price), format::count(best.size.into()));
            let first = format!("{price} with a batch of {n}");
            let second = format!("would leave {}", self.by.amount(best.surplus.mean));
            vec![
                Layer::upright(best.price, Line { color, ..BEST }),
                Layer::dot((best.price, best.surplus.mean), 5.5, color),
                Layer::note(
                    [(first, STRONG.of(color)), (second, LABEL.of(INK))],
                    beside_line(best.price, 9.0),
                ),
            ]
        } else {
            let text = if prices.elasticity <= 1.0 {
                "dearer always pays more: no best price"
            } else {
                "the best lies beyond the prices looked at"
            };
            let middle = [(X::Middle(9.0), Side::Left), (X::Middle(-9.0), Side::Right)];
            let places = spots(&shares([0.88, 0.76, 0.12, 0.24, 0.64, 0.4, 0.5]), &middle);
            vec![Layer::note([(text.to_owned(), STRONG.of(MUTED))], places)]
        }
    }
}

/// What each price leaves, the best one and both borders among them, so that lines that end at a border meet there.
fn points_by_price(prices: &PriceResponse, borders: [f64; 2]) -> Vec<(f64, f64)> {
    let all = prices.curve.iter().chain(&prices.best);
    let mut points: Vec<(f64, f64)> = all.map(|p| (p.price, p.surplus.mean)).collect();
    points.sort_by(|x, y| x.0.total_cmp(&y.0));
    for border in borders {
        let Some(k) = points.windows(2).position(|p| p[0].0 < border && border < p[1].0) else {
            continue;
        };
        let ((x, y), (next_x, next_y)) = (points[k], points[k + 1]);
        points.insert(k + 1, (border, y + (border - x) / (next_x - x) * (next_y - y)));
    }
    points
}
