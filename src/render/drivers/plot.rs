//! The plot of `drivers`: what 10 % less is worth, shares of variance and swings, each as rows.

use super::{headline, is_time, little, made};
use crate::questions::drivers::{Drivers, InputAnswer, Lever};
use crate::render::format;
use crate::render::plot::palette::{BAND, INK, MAIN, MUTED, SECOND, STEPS};
use crate::render::plot::{Axis, LABEL, Line, Panel, Plot, RowLayer, Sign, TARGET, Text, minus};
use crate::stats::Mean;

/// Rows of a panel at the most.
const ROWS: usize = 12;
/// Room for names, in pixels.
const NAMES: f64 = 300.0;
/// Height of a row, and of everything around the rows of a panel, and of head and foot.
const ROW: usize = 26;
const AROUND: usize = 78;
const PAGE: usize = 250;

const AS_IS: Line = Line::solid(INK, 1.6);
const INTERVAL: Line = Line::solid(INK, 1.4);

/// The whole plot; nothing where there is nothing to draw.
pub(super) fn plot(answer: &Drivers) -> Option<Plot> {
    let view = View::new(answer);
    let swings = view.swings();
    let (average, dashed) = if swings.is_some() {
        (" (upright line)", " (dashed)")
    } else {
        ("", "")
    };
    let panels: Vec<Panel> = [view.gains(), view.shares(), swings].into_iter().flatten().collect();
    panels.first()?;
    let rows: f64 = panels.iter().map(|p| p.share).sum();
    let most = view.moving.first().and_then(|i| Some((i, i.shares?))).map_or_else(
        || "nothing varies".to_owned(),
        |(i, shares)| {
            format!(
                "{} makes batches differ most, {} of the variance",
                i.name,
                format::share_estimate(shares.total_in_order().share)
            )
        },
    );
    Some(Plot {
        foot: format!(
            "Made {} · {} an hour on average{average} · target {}{dashed} · {} batches of each sample and setting · seed {} · \
             batchwright {}",
            made(answer.size),
            minus(&format::money(answer.long_run.mean, &answer.currency)),
            format::typed_money(answer.target, &answer.currency),
            format::count(answer.trials),
            answer.seed,
            answer.version
        ),
        description: format!(
            "Rows of bars in up to three panels: what 10 % less of something is worth, shares of the variance of the hourly \
             rate, and what an hour earns on average with one range at its low or high end. At batches of {}, {most}.",
            format::count(answer.size.into())
        ),
        height: (PAGE + panels.len() * AROUND) as u32 + ROW as u32 * rows as u32,
        panels,
        ..Plot::about(&answer.title, headline(answer))
    })
}

struct View<'a> {
    answer: &'a Drivers,
    /// By total share, by swing, by gain.
    moving: Vec<&'a InputAnswer>,
    swinging: Vec<&'a InputAnswer>,
    gains: Vec<Gain<'a>>,
}

/// A row of what 10 % less is worth: all the time of a step, or something that is no time.
struct Gain<'a> {
    name: &'a str,
    worth: Mean,
    /// What is no time.
    lever: Option<&'a Lever>,
}

/// What 10 % less of each is worth, the most first. A step's parts are one row, as the words take it.
fn gains(answer: &Drivers) -> Vec<Gain<'_>> {
    let gain = |name, worth, lever| Gain { name, worth, lever };
    let steps = answer.steps.iter();
    let steps = steps.filter_map(|step| Some(gain(&step.name, step.tenth?, None)));
    let others = answer.levers.iter().filter(|lever| !is_time(lever.kind));
    let others = others.filter_map(|lever| Some(gain(&lever.name, lever.tenth?, Some(lever))));
    let mut all: Vec<Gain<'_>> = steps.chain(others).collect();
    all.sort_by(|a, b| b.worth.mean.total_cmp(&a.worth.mean));
    all.truncate(ROWS);
    all
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
            gains: gains(answer),
        }
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    fn panel(&self, names: Vec<String>, layers: Vec<RowLayer>, axis: Axis) -> Option<Panel> {
        (!names.is_empty()).then(|| Panel {
            named: false,
            names_wide: NAMES,
            ..Panel::rows(names, layers, axis)
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
                bar(in_all * 100.0, 0.8, BAND, Sign::More),
                bar(alone.max(0.0) * 100.0, 0.42, SECOND, Sign::Bar),
                whisker(total.low, total.high, -0.6),
                whisker(first.low, first.high, 0.0),
            ]);
            let all = format::share_estimate(in_all);
            let text = format!("{} alone, {all} in all", format::share_estimate(alone));
            layers.push(RowLayer::figure(row, text, LABEL).brief(all));
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
            title: "What makes batches differ".into(),
            unit: "share of the variance of the hourly rate".into(),
            key: format!("strong alone, faint with others; lines: 95 % intervals{rest}"),
            text: Some(Text::of([(Sign::Bar, "alone"), (Sign::More, "more with others")])),
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
            let mut ends = [(swing.low.rate, STEPS[0]), (swing.high.rate, MAIN)];
            let far = |to: f64| (to - now).abs();
            ends.sort_by(|a, b| far(b.0).total_cmp(&far(a.0)));
            // Where both lie on one side, the nearer is seen within the farther.
            let [first, second] = ends.map(|end| end.0 > now);
            let inner = if first == second { 0.3 } else { 0.6 };
            for ((to, color), thick) in ends.into_iter().zip([0.6, inner]) {
                layers.push(RowLayer::bar(row, (now, to), thick, color));
            }
            let [low, high] = [swing.low.rate, swing.high.rate].map(|v| self.amount(v));
            let text = format!("low {low}, high {high}");
            layers.push(RowLayer::figure(row, text, LABEL).brief(format!("{low} to {high}")));
        }
        layers.push(RowLayer::upright(now, AS_IS));
        if near {
            layers.push(RowLayer::upright(a.target, TARGET));
        }
        let names = self.swinging.iter().map(|i| i.name.clone()).collect();
        let panel = self.panel(names, layers, Axis::values((low - air, high + air), format::tick))?;
        Some(Panel {
            title: "What if an estimate is off".into(),
            unit: format!(
                "{} an hour on average if every draw were low (faint: 1 in 10 is lower) or high (strong: 1 in 10 is higher)",
                a.currency
            ),
            ..panel
        })
    }

    fn gains(&self) -> Option<Panel> {
        let ends = self.gains.iter().flat_map(|gain| gain.worth.interval());
        let (low, high) = ends.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
        let unsure = self.gains.iter().any(|gain| gain.worth.se > 0.0);
        let intervals = if unsure { "; lines: 95 % intervals" } else { "" };
        let mut layers = Vec::new();
        for (row, gain) in self.gains.iter().enumerate() {
            let color = if gain.lever.is_some() { STEPS[0] } else { MAIN };
            layers.push(RowLayer::bar(row, (0.0, gain.worth.mean), 0.6, color));
            layers.push(RowLayer::whisker(row, gain.worth.interval().into(), INTERVAL));
            let less = gain.lever.and_then(|lever| Some((lever, lever.gain?)));
            let less = less.map_or_else(String::new, |(lever, less)| {
                let what = little(lever, &self.answer.currency);
                format!("; {what} less: {}", self.amount(less.mean))
            });
            let brief = self.amount(gain.worth.mean);
            let letters = if gain.worth.mean > 0.0 { LABEL } else { LABEL.of(MUTED) };
            layers.push(RowLayer::figure(row, format!("{brief}{less}"), letters).brief(brief));
        }
        let names = self.gains.iter().map(|gain| gain.name.to_owned()).collect();
        let panel = self.panel(names, layers, Axis::values(aired(low, high), format::tick))?;
        Some(Panel {
            title: "What 10 % less is worth".into(),
            unit: format!("{} an hour more on average", self.answer.currency),
            key: format!("strong: all the time of a step; faint: money and chances{intervals}"),
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
