//! The plot of `drivers`: what a tenth less is worth, shares of variance and swings, each as rows.

use super::{headline, little, made};
use crate::questions::drivers::{Drivers, InputAnswer, Lever};
use crate::render::format;
use crate::render::plot::palette::{ASKED, BAND, INK, MAIN, MUTED, SECOND, STEPS};
use crate::render::plot::{Axis, Field, LABEL, Line, Panel, Plot, RowLayer, Sign, Text, minus};

/// Rows of a panel at the most.
const ROWS: usize = 12;
/// Room for names, in pixels.
const NAMES: f64 = 300.0;
/// Height of a row, and of everything around the rows of a panel, and of head and foot.
const ROW: usize = 26;
const AROUND: usize = 78;
const PAGE: usize = 250;

const AS_IS: Line = Line::solid(INK, 1.6);
const TARGET: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const INTERVAL: Line = Line::solid(INK, 1.4);

/// The whole plot; nothing where there is nothing to draw.
pub(super) fn plot(answer: &Drivers) -> Option<Plot> {
    let view = View::new(answer);
    let panels: Vec<Panel> = [view.gains(), view.shares(), view.swings()]
        .into_iter()
        .flatten()
        .collect();
    panels.first()?;
    let rows: f64 = panels.iter().map(|p| p.share).sum();
    let most = view.moving.first().and_then(|i| Some((i, i.shares?))).map_or_else(
        || "nothing varies".to_owned(),
        |(i, shares)| {
            format!(
                "{} moves a run's result most, {} of the variance",
                i.name,
                format::share_estimate(shares.total.share)
            )
        },
    );
    Some(Plot {
        about: answer.title.clone(),
        title: answer.title.clone(),
        headline: headline(answer),
        foot: format!(
            "Made {} · long-run rate {} (upright line) · target {} (dashed) · {} batches of each sample and setting · seed {} · \
             batchwright {}",
            made(answer.size),
            format::money(answer.long_run.mean, &answer.currency),
            format::typed_money(answer.target, &answer.currency),
            format::count(answer.trials),
            answer.seed,
            answer.version
        ),
        description: format!(
            "Rows of bars in up to three panels: what a tenth less of something is worth, shares of the variance of the hourly \
             rate, and the long-run rate with one range at its low or high tenth. At batches of {}, {most}.",
            format::count(answer.size.into())
        ),
        height: (PAGE + panels.len() * AROUND) as u32 + ROW as u32 * rows as u32,
        panels,
    })
}

struct View<'a> {
    answer: &'a Drivers,
    /// By total share, by swing, by gain.
    moving: Vec<&'a InputAnswer>,
    swinging: Vec<&'a InputAnswer>,
    levers: Vec<&'a Lever>,
}

impl<'a> View<'a> {
    fn new(answer: &'a Drivers) -> Self {
        let top = |worth: &dyn Fn(&InputAnswer) -> Option<f64>| -> Vec<&'a InputAnswer> {
            let mut all: Vec<(&InputAnswer, f64)> = answer.inputs.iter().filter_map(|i| Some((i, worth(i)?))).collect();
            all.sort_by(|a, b| b.1.total_cmp(&a.1));
            all.into_iter().take(ROWS).map(|(input, _)| input).collect()
        };
        let mut moving = top(&|i| Some(i.shares?.total.share));
        // What moves next to nothing is one line of small print and no row.
        let moves = |i: &&&InputAnswer| i.shares.is_some_and(|s| s.total.share >= 0.01);
        moving.truncate(moving.iter().take_while(moves).count().max(3));
        Self {
            answer,
            moving,
            swinging: top(&|i| Some((i.swing?.high.rate - i.swing?.low.rate).abs())),
            levers: answer.levers.iter().filter(|l| l.tenth.is_some()).take(ROWS).collect(),
        }
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    fn panel(&self, names: Vec<String>, layers: Vec<RowLayer>, axis: Axis) -> Option<Panel> {
        (!names.is_empty()).then(|| Panel {
            share: names.len() as f64,
            axis,
            names_wide: NAMES,
            field: Field::Rows { names, layers },
            ..Panel::default()
        })
    }

    fn shares(&self) -> Option<Panel> {
        let shares = || self.moving.iter().filter_map(|i| i.shares);
        let most = shares().flat_map(|s| [s.total.high, s.first.high]).fold(0.05, f64::max);
        let least = shares().flat_map(|s| [s.total.low, s.first.low]).fold(0.0, f64::min);
        let (least, most) = aired(least, most);
        let percent = |v: f64, step: f64| format!("{} %", format::tick(v, step));
        let mut layers = Vec::new();
        for (row, shares) in shares().enumerate() {
            let (first, total) = (shares.first, shares.total);
            let (alone, in_all) = shares.in_order();
            let bar = |to: f64, thick, color, sign| RowLayer::bar(row, (0.0, to), thick, color).signed(sign);
            let whisker =
                |low: f64, high: f64, off| RowLayer::whisker(row, (low * 100.0, high * 100.0), INTERVAL).off(off);
            layers.extend([
                bar(in_all * 100.0, 0.8, BAND, Sign::Band),
                bar(alone.max(0.0) * 100.0, 0.42, SECOND, Sign::Bar),
                whisker(total.low, total.high, -0.6),
                whisker(first.low, first.high, 0.0),
            ]);
            let all = format::share_estimate(in_all);
            layers.push(
                RowLayer::figure(
                    row,
                    format!("{} alone, {all} in all", format::share_estimate(alone)),
                    LABEL,
                )
                .brief(all),
            );
        }
        let names = self.moving.iter().map(|i| i.name.clone()).collect();
        let left_out = self.answer.inputs.iter().filter(|i| i.shares.is_some()).count() - self.moving.len();
        let rest = if left_out == 0 {
            String::new()
        } else {
            format!("; {left_out} more move next to nothing")
        };
        let panel = self.panel(names, layers, Axis::values((least * 100.0, most * 100.0), percent))?;
        Some(Panel {
            title: "What moves the result of a run".into(),
            unit: "share of the variance of its hourly rate".into(),
            key: format!("dark alone, light with others; lines: 95 % intervals{rest}"),
            text: Some(Text {
                legend: vec![(Sign::Bar, "alone".into()), (Sign::Band, "more with others".into())],
                ..Text::default()
            }),
            ..panel
        })
    }

    fn swings(&self) -> Option<Panel> {
        let a = self.answer;
        let now = a.long_run.mean;
        let swings = || self.swinging.iter().filter_map(|i| i.swing);
        let ends = swings().flat_map(|s| [s.low.rate, s.high.rate]);
        let (low, high) = ends.fold((now, now), |(l, h), v| (l.min(v), h.max(v)));
        let span = (high - low).max(now.abs() * 0.01).max(1e-6);
        // The target is shown where it is not so far off that it would squeeze all else.
        let near = (low - span..=high + span).contains(&a.target);
        let (low, high) = if near {
            (low.min(a.target), high.max(a.target))
        } else {
            (low, high)
        };
        let air = 0.04 * span;
        let mut layers = Vec::new();
        for (row, swing) in swings().enumerate() {
            for (to, color) in [(swing.low.rate, STEPS[0]), (swing.high.rate, MAIN)] {
                layers.push(RowLayer::bar(row, (now, to), 0.6, color));
            }
            let [low, high] = [swing.low.rate, swing.high.rate].map(|v| self.amount(v));
            let text = format!("low {low}, high {high}");
            layers.push(RowLayer::figure(row, text, LABEL));
        }
        let upright = |at, line| RowLayer::upright(at, line);
        layers.push(upright(now, AS_IS));
        if near {
            layers.push(upright(a.target, TARGET));
        }
        let names = self.swinging.iter().map(|i| i.name.clone()).collect();
        let panel = self.panel(names, layers, Axis::values((low - air, high + air), format::tick))?;
        Some(Panel {
            title: "What if an estimate is off".into(),
            unit: format!(
                "{} an hour in the long run if all pieces are alike at the low tenth (light) or the high tenth (dark) of the range",
                a.currency
            ),
            ..panel
        })
    }

    fn gains(&self) -> Option<Panel> {
        let gains = || self.levers.iter().filter_map(|l| Some((l, l.tenth?)));
        let ends = gains().flat_map(|(_, g)| [g.mean - 1.96 * g.se, g.mean + 1.96 * g.se]);
        let (low, high) = ends.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
        let mut layers = Vec::new();
        for (row, (lever, gain)) in gains().enumerate() {
            layers.push(RowLayer::bar(row, (0.0, gain.mean), 0.6, SECOND));
            layers.push(RowLayer::whisker(
                row,
                (gain.mean - 1.96 * gain.se, gain.mean + 1.96 * gain.se),
                INTERVAL,
            ));
            let less = lever.gain.map_or_else(String::new, |less| {
                let what = little(lever, &self.answer.currency);
                format!("; {what} less {}", self.amount(less.mean))
            });
            let brief = self.amount(gain.mean);
            layers.push(
                RowLayer::figure(
                    row,
                    format!("{brief}{less}"),
                    if gain.mean > 0.0 { LABEL } else { LABEL.of(MUTED) },
                )
                .brief(brief),
            );
        }
        let names = self.levers.iter().map(|l| l.name.clone()).collect();
        let panel = self.panel(names, layers, Axis::values(aired(low, high), format::tick))?;
        Some(Panel {
            title: "What a tenth less is worth".into(),
            unit: format!("{} an hour more in the long run", self.answer.currency),
            key: "lines: 95 % intervals; beside it what a little less is worth".into(),
            ..panel
        })
    }
}

/// Ends of an axis with air beyond what is not at zero, so that no interval's end is cut.
fn aired(low: f64, high: f64) -> (f64, f64) {
    let air = 0.03 * (high - low);
    (
        if low < 0.0 { low - air } else { low },
        if high > 0.0 { high + air } else { high },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An interval that ends where the values end has room for its end; zero, where bars begin, needs none.
    #[test]
    fn intervals_end_within_the_panel() {
        assert_eq!(aired(0.0, 50.0), (0.0, 51.5));
        assert_eq!(aired(-10.0, 90.0), (-13.0, 93.0));
        assert_eq!(aired(-10.0, 0.0), (-10.3, 0.0));
    }
}
