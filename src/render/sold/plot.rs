//! The plot of `sold`: sales, days to a sale and what is left, all against price.

use super::{headline, keeps};
use crate::render::figure::Mark;
use crate::render::format;
use crate::render::plot::palette::{ASKED, BAND, Color, INK, MAIN, MUTED, PAYS};
use crate::render::plot::{
    Axis, BEST, EndLabel, LABEL, Layer, Line, Panel, Plot, Points, STRONG, Sign, SpotSaid, TARGET, Text, Way,
    beside_line, beyond, minus, sentence,
};
use crate::sales::answer::Sold;
use crate::sales::count::{AtPrice, Between};
use crate::sales::price::{Best, CurvePoint};

const CURVE: Line = Line::solid(MAIN, 2.8);
const FILE: Line = Line::dashed(ASKED, 1.8, 8.0, 4.0);

/// The whole plot; nothing where nothing was learned.
pub(super) fn plot(sold: &Sold) -> Option<Plot> {
    let (first, last) = (sold.curve.first()?, sold.curve.last()?);
    let view = View {
        sold,
        axis: Axis::values((first.price, last.price), format::tick).named(format!("price, {}", sold.currency)),
    };
    let mut panels = vec![view.buyers(), view.days()];
    panels.extend(sold.best.map(|best| view.leaves(&best)));
    if let Some(panel) = panels.last_mut() {
        panel.named = true;
    }
    Some(Plot {
        foot: format!(
            "{} offers · {} of {} pieces sold · prices from {} to {} tried · batchwright {}",
            format::count(sold.counted.offers as u64),
            format::count(sold.counted.sold),
            format::count(sold.counted.pieces),
            sold.tried
                .map_or_else(String::new, |t| format::amount(t[0], &sold.currency)),
            sold.tried
                .map_or_else(String::new, |t| format::money(t[1], &sold.currency)),
            sold.counted.version
        ),
        description: format!(
            "Panels against price: pieces asked for a week with the band that holds them 95 times in 100 and what sold at each price tried; \
             days until half of the offers have sold a piece; what each price leaves. {}",
            sentence(&headline(sold))
        ),
        height: 190 + 330 * panels.len() as u32,
        panels,
        ..Plot::about(&sold.title, headline(sold))
    })
}

struct View<'a> {
    sold: &'a Sold,
    axis: Axis,
}

/// What a panel shows of an estimate by price.
struct Estimate<'a> {
    of: fn(&CurvePoint) -> &Between,
    write: fn(f64) -> String,
    /// What was found at each price tried.
    dots: Vec<((f64, f64), Color)>,
    /// Its name at the end of its curve, and what is said of each price.
    name: &'a str,
    told: &'a str,
    /// Whether it stands in text.
    signed: bool,
    share: f64,
}

impl View<'_> {
    fn points(&self, of: impl Fn(&CurvePoint) -> f64) -> Points {
        self.sold.curve.iter().map(|p| (p.price, Some(of(p)))).collect()
    }

    /// What is said of each price: a figure, and where there is one its interval.
    fn told(
        &self,
        what: &str,
        figure: impl Fn(&CurvePoint) -> (String, Option<String>),
        between: &str,
    ) -> Vec<(f64, SpotSaid)> {
        let each = self.sold.curve.iter().map(|point| {
            let (figure, interval) = figure(point);
            let mut said = vec![
                ("price".to_owned(), format::money(point.price, &self.sold.currency)),
                (what.to_owned(), figure),
            ];
            said.extend(interval.map(|interval| (between.to_owned(), interval)));
            (point.price, said)
        });
        each.collect()
    }

    fn shows(&self, price: f64) -> bool {
        self.axis.scale.holds(price)
    }

    /// Upright lines at the file's price and at the best one, as far as the axis goes.
    fn uprights(&self, signed: bool) -> Vec<Layer> {
        let mut layers = Vec::new();
        if self.shows(self.sold.price) {
            layers.push(Layer::upright(self.sold.price, FILE).signed(signed.then_some(Sign::Aim)));
        }
        if let Some(best) = self.sold.best {
            // Where the file's price leaves nearly as much, no other is advised.
            let advised = signed && !keeps(self.sold, &best);
            layers.push(Layer::upright(best.price, BEST).signed(advised.then_some(Sign::Row(Mark::Best))));
        }
        layers
    }

    /// Says how far dots and bands go beyond the top of their panel.
    fn beyond(&self, shown: &Estimate<'_>, top: f64) -> Option<Layer> {
        let ends = self.sold.curve.iter();
        let ends = ends.map(|p| (p.price, (shown.of)(p).high.unwrap_or(f64::INFINITY)));
        let dots = shown.dots.iter().map(|dot| dot.0).filter(|dot| self.shows(dot.0));
        let mut cut: Vec<(f64, f64)> = dots.chain(ends).filter(|(_, value)| *value > top).collect();
        cut.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (first, last) = (cut.first()?.0, cut.last()?.0);
        let (price, most) = *cut.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
        let text = if most.is_finite() {
            let price = format::typed_money(price, &self.sold.currency);
            format!("up to {} at {price}", (shown.write)(most))
        } else {
            "without an upper end".to_owned()
        };
        Some(beyond(text, Way::Up, first, last))
    }

    /// The panel of an estimate by price: its band, its curve, what was found at each price tried as dots, and the file's price.
    fn estimate(&self, shown: &Estimate<'_>) -> Panel {
        let (of, write) = (shown.of, shown.write);
        let curve = || self.sold.curve.iter().map(of);
        let most = curve().map(|b| b.value).filter(|v| v.is_finite()).fold(0.0, f64::max);
        let others = curve().filter_map(|b| b.high).chain(shown.dots.iter().map(|d| d.0.1));
        let others = others.filter(|v| v.is_finite()).fold(0.0, f64::max);
        // Of what is far above the curve no more is shown than twice that.
        let top = most.max(others.min(2.0 * most)).max(1e-9) * 1.05;
        let ends = |p: &CurvePoint| {
            let (low, high) = (of(p).low.unwrap_or(0.0), of(p).high.unwrap_or(top));
            (p.price, low.min(top), high.min(top))
        };
        let band = self.sold.curve.iter().map(ends).collect();
        let sign = |sign| shown.signed.then_some(sign);
        let mut layers = vec![Layer::band(band, BAND).signed(sign(Sign::Band))];
        layers.extend(self.uprights(shown.signed));
        layers.push(Layer::curve(self.points(|p| of(p).value), CURVE).signed(sign(Sign::Median)));
        let dots = shown.dots.iter();
        let dots = dots.filter(|((price, value), _)| *value <= top && self.shows(*price));
        layers.extend(dots.map(|(at, color)| Layer::dot(*at, 4.5, *color)));
        layers.extend(self.beyond(shown, top));
        layers.extend(self.sold.curve.last().map(|end| {
            let value = of(end).value;
            Layer::ends(vec![EndLabel::line(value, CURVE, shown.name, write(value))])
        }));
        Panel {
            told: self.told(
                shown.told,
                |p| (write(of(p).value), span_of(of(p), write)),
                "95 % interval",
            ),
            ..Panel::curves(shown.share, &self.axis, (0.0, top), layers)
        }
    }

    /// What was found at each price in each outlet, the file's selling days left out.
    fn tried(&self) -> impl Iterator<Item = &AtPrice> {
        let days = &self.sold.selling_days;
        let on_a_day = |p: &AtPrice| days.iter().any(|day| day.name == p.outlet);
        let prices = self.sold.counted.prices.iter();
        prices.filter(move |p| p.days > 0.0 && !on_a_day(p))
    }

    fn buyers(&self) -> Panel {
        let sold = self.sold;
        let scale = sold.buyers.map_or(1.0, |b| b.open_at_once / b.stay_sold.unwrap_or(1.0));
        let tried = self.tried();
        let mut legend = vec![
            (Sign::Median, "asked for".to_owned()),
            (Sign::Band, "95 times in 100".to_owned()),
        ];
        if sold.best.is_some_and(|best| !keeps(sold, &best)) {
            legend.push((Sign::Row(Mark::Best), "earns most".to_owned()));
        }
        legend.push((Sign::Aim, "the file's price".to_owned()));
        Panel {
            title: "Sales against price".into(),
            unit: "pieces a week".into(),
            key: "shaded: 95 times in 100; dots: what sold at each price in each outlet".into(),
            text: Some(Text::of(legend)),
            ..self.estimate(&Estimate {
                of: |p| &p.buyers,
                write: format::often,
                // What one offer sold, as many offers as are open at once.
                dots: tried.map(|p| ((p.price, p.a_week.value * scale), INK)).collect(),
                name: "asked for",
                told: "asked for a week",
                signed: true,
                share: 0.36,
            })
        }
    }

    fn days(&self) -> Panel {
        let tried = self.tried();
        let dot = |p: &AtPrice| {
            let half = p.days_a_sale.unwrap_or(p.days) * std::f64::consts::LN_2;
            ((p.price, half), if p.sold > 0 { INK } else { MUTED })
        };
        Panel {
            title: "Days to a sale".into(),
            unit: "days until half of the offers have sold a piece".into(),
            key: "shaded: 95 times in 100; dots: each price in each outlet alone, grey where nothing sold yet".into(),
            ..self.estimate(&Estimate {
                of: |p| &p.half_sold_days,
                write: format::days,
                dots: tried.map(dot).collect(),
                name: "half sold",
                told: "half have sold after",
                signed: false,
                share: 0.3,
            })
        }
    }

    fn leaves(&self, best: &Best) -> Panel {
        let (curve, currency) = (&self.sold.curve, &self.sold.currency);
        let write = |v: f64| minus(&format::amount(v, currency));
        let lows = curve.iter().map(|p| p.leaves_tenths[0].min(p.leaves_tenths[1]));
        let highs = curve.iter().map(|p| p.leaves_tenths[1].max(p.leaves_tenths[0]));
        let (low, high) = (lows.fold(0.0, f64::min), highs.fold(0.0, f64::max));
        let air = 0.05 * (high - low).max(1e-9);
        let tenths = curve.iter().map(|p| (p.price, p.leaves_tenths[0], p.leaves_tenths[1]));
        let mut layers = vec![Layer::band(tenths.collect(), BAND), Layer::level(0.0, TARGET)];
        layers.extend(self.uprights(false));
        layers.push(Layer::curve(self.points(|p| p.leaves), CURVE));
        layers.push(Layer::dot((best.price, best.leaves), 5.5, PAYS));
        let leaves = format!("{}: {}", format::money(best.price, currency), write(best.leaves));
        let regret = format!("not knowing better costs {}", write(best.regret));
        layers.push(Layer::note(
            [(leaves, STRONG.of(PAYS)), (regret, LABEL.of(INK))],
            beside_line(best.price, 9.0),
        ));
        if self.shows(self.sold.price) {
            let asked = format!("your price {}", format::typed_amount(self.sold.price, currency));
            layers.push(Layer::note(
                [(asked, LABEL.of(ASKED))],
                beside_line(self.sold.price, 9.0),
            ));
        }
        let last = curve.last().map_or(f64::NAN, |p| p.leaves);
        layers.push(Layer::ends(vec![
            EndLabel::line(0.0, TARGET, "target just met", "0"),
            EndLabel::line(last, CURVE, "on average", write(last)),
        ]));
        Panel {
            title: "What each price leaves".into(),
            unit: format!(
                "{currency} {}, after {} for every hour but setup",
                super::span(self.sold),
                format::typed_amount(self.sold.target, currency)
            ),
            key: "shaded: eight times in ten".into(),
            told: self.told(
                "leaves on average",
                |p| {
                    let [one, other] = p.leaves_tenths;
                    let ends = [one.min(other), one.max(other)].map(write);
                    (write(p.leaves), Some(format::plain_interval(&ends[0], &ends[1])))
                },
                "eight times in ten",
            ),
            ..Panel::curves(0.34, &self.axis, (low - air, high + air), layers)
        }
    }
}

/// The interval of an estimate in words; none where it has none.
fn span_of(of: &Between, written: fn(f64) -> String) -> Option<String> {
    let (low, high) = (of.low?, of.high?);
    Some(format::plain_interval(&written(low), &written(high)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::columns::tests::labels_sold;
    use crate::render::plot::{Field, Shape};

    /// The file's price has a line in every panel where the axis reaches it, and only there.
    #[test]
    fn the_files_price_is_shown_as_far_as_the_axis_goes() {
        let mut sold = labels_sold();
        let ends = [sold.curve[0].price, sold.curve[sold.curve.len() - 1].price];
        for (price, shown) in [
            (ends[0], true),
            (ends[1], true),
            (ends[0] - 1.0, false),
            (ends[1] + 1.0, false),
        ] {
            sold.price = price;
            for panel in plot(&sold).unwrap().panels {
                let Field::Curves(curves) = &panel.field else { continue };
                let lines = curves.layers.iter();
                let of_file = lines.filter(|l| matches!(l.shape, Shape::Upright { line, .. } if line == FILE));
                assert_eq!(of_file.count(), usize::from(shown), "{}, {price}", panel.title);
            }
        }
    }
}
