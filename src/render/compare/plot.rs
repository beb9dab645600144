//! The comparison's plot: what batches earn an hour, all on one axis, and what the hour earns on average against batch size.

use super::{chart_title, headline, label, letter, rates, same_target, title};
use crate::questions::compare::{Compare, Compared};
use crate::render::format;
use crate::render::plot::palette::{MUTED, RIVALS};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    Axis, Curves, EndLabel, Field, Layer, Line, Panel, Plot, Points, STRONG, Side, Sign, Spot, SpotSaid, Text, WHISKER,
    Whisker, X, Y, beside, minus, spots,
};

/// Height of both plots with titles and foot, in pixels.
const HEIGHT: f64 = 900.0;
/// Height of either plot without the whiskers, in pixels.
const PLOT: f64 = 300.0;
/// Where the letter of a dot stands, in pixels.
const ABOVE_AND_BELOW: [f64; 2] = [-18.0, 18.0];
/// Lines are close that lie nearer than this share of the panel's height: a letter has no room between.
const NEAR: f64 = 0.12;
const TARGET: Line = Line::dashed(MUTED, 1.8, 14.0, 5.0);

/// The whole plot; nothing where nothing is compared.
pub(super) fn plot(answer: &Compare) -> Option<Plot> {
    answer.entries.first()?;
    let view = View { answer };
    let each = |(k, e): (usize, &Compared)| {
        format!(
            "{}: median {}, on average {}",
            view.label(k),
            view.amount(e.run.rate.p50),
            view.amount(e.run.rate.long_run)
        )
    };
    let list: Vec<String> = answer.entries.iter().enumerate().map(each).collect();
    Some(Plot {
        about: chart_title(answer),
        title: title(answer),
        headline: headline(answer),
        foot: format!(
            "{}{} simulated batches of each on the same days · seed {} · batchwright {}",
            rates(answer).map_or_else(String::new, |rates| format!("{rates} · ")),
            format::count(answer.trials),
            answer.seed,
            answer.version
        ),
        description: format!(
            "Two panels: how the batches of each scenario are spread over what an hour earns, in {}, and what it earns on average \
             against batch size. {}.",
            answer.currency,
            list.join("; ")
        ),
        height: (HEIGHT + view.whiskers()) as u32,
        panels: vec![view.rates(), view.sweeps()],
    })
}

struct View<'a> {
    answer: &'a Compare,
}

impl View<'_> {
    /// Room for the whiskers above the densities.
    fn whiskers(&self) -> f64 {
        WHISKER * self.answer.entries.len() as f64
    }

    fn label(&self, k: usize) -> String {
        format!(
            "{} {} × {}",
            letter(self.answer, k),
            format::count(self.answer.entries[k].run.size.into()),
            label(self.answer, k)
        )
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    /// Least and most of what is shown; the far tails say little and would squeeze the rest.
    fn extent(&self) -> (f64, f64) {
        let a = self.answer;
        let rates = a.entries.iter().map(|e| &e.run.rate);
        let mut shown: Vec<f64> = rates.flat_map(|r| [r.p10, r.p90, r.long_run]).collect();
        if a.bins.width > 0.0 {
            let held: Vec<usize> = (0..a.entries[0].density.len())
                .filter(|k| a.entries.iter().any(|e| e.density[*k] > 0.001))
                .collect();
            if let (Some(first), Some(last)) = (held.first(), held.last()) {
                let edge = |k: usize| a.bins.from + a.bins.width * k as f64;
                shown.extend([edge(*first), edge(*last + 1)]);
            }
        }
        shown.extend(same_target(a));
        let finite = shown.into_iter().filter(|v| v.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let air = if high > low {
            0.03 * (high - low)
        } else {
            0.5 * high.abs().max(1.0)
        };
        (low - air, high + air)
    }

    /// The letter of a scenario beside a point of its curve.
    fn letter(&self, k: usize, places: Vec<Spot>) -> Layer {
        let text = letter(self.answer, k).to_string();
        Layer::note([(text, STRONG.of(line(k).color))], places)
    }

    /// How far off a dot its letter stands. Where the line of another runs close on one side only, on the other: behind it the letter would be
    /// taken for its.
    fn clear_of_others(&self, k: usize, at: (f64, f64), near: f64) -> &'static [f64] {
        let others = self.answer.entries.iter().enumerate().filter(|(j, _)| *j != k);
        let there = others.filter_map(|(_, e)| {
            let off = |size: u32| (f64::from(size) - at.0).abs();
            let points = e.sweep.iter().min_by(|a, b| off(a.size).total_cmp(&off(b.size)));
            points.map(|p| p.long_run)
        });
        let close: Vec<f64> = there.filter(|y| (y - at.1).abs() < near).collect();
        let (above, below) = (close.iter().any(|y| *y >= at.1), close.iter().any(|y| *y < at.1));
        match (above, below) {
            (true, false) => &ABOVE_AND_BELOW[1..],
            (false, true) => &ABOVE_AND_BELOW[..1],
            _ => &ABOVE_AND_BELOW,
        }
    }

    /// Densities as steps, each with its letter at the top, above them a whisker each with median and average.
    fn rates(&self) -> Panel {
        let a = self.answer;
        let ends = self.extent();
        // One that is certain is a single bar: it must not squeeze the others flat.
        let uncertain = a.entries.iter().filter(|e| !certain(e));
        let peak = uncertain.flat_map(|e| e.density.iter().copied()).fold(0.0, f64::max);
        let peak = if peak > 0.0 { 100.0 * peak } else { 1.0 };
        let target = same_target(a);
        let (mut layers, mut letters): (Vec<Layer>, Vec<Layer>) = (Vec::new(), Vec::new());
        layers.extend(target.map(|at| Layer::upright(at, TARGET).signed(Sign::Aim)));
        for (k, e) in a.entries.iter().enumerate().rev() {
            let points = if a.bins.width > 0.0 && !certain(e) {
                let points = steps(e, (a.bins.from, a.bins.width), ends);
                letters.extend(top(&points).map(|at| self.letter(k, around(at, &ABOVE_AND_BELOW))));
                points
            } else {
                vec![(e.run.rate.p50, Some(0.0)), (e.run.rate.p50, Some(peak))]
            };
            layers.push(Layer::curve(points, line(k)));
        }
        layers.extend(letters);
        for (k, e) in a.entries.iter().enumerate() {
            let rate = &e.run.rate;
            layers.push(Layer::whisker(Whisker {
                line_no: k,
                name: letter(self.answer, k).to_string(),
                low: rate.p10,
                middle: rate.p50,
                high: rate.p90,
                tick: rate.long_run,
                end: EndLabel::line(0.0, line(k), self.label(k), self.amount(rate.p50)),
            }));
        }
        layers.push(Layer::ends(Vec::new()));
        layers.extend(self.target_named());
        Panel {
            title: "What a batch earns an hour".into(),
            unit: format!("{} per hands-on hour", a.currency),
            key: "height: how many batches earn that; bar: 8 batches in 10; dot: median; upright tick: on average"
                .into(),
            share: PLOT + self.whiskers(),
            axis: Axis::values(ends, format::tick),
            told: self.rates_told(ends),
            field: Field::Curves(Curves {
                range: (0.0, 1.04 * peak),
                headroom: self.whiskers() + 10.0,
                bare: true,
                layers,
                ..Curves::default()
            }),
            text: self.differ().then(|| self.text()),
            ..Panel::default()
        }
    }

    /// What is said of each stretch of hourly rates that is shown: how many batches of each scenario lie in it. Where all is certain, what
    /// each earns.
    fn rates_told(&self, (low, high): (f64, f64)) -> Vec<(f64, SpotSaid)> {
        let a = self.answer;
        let entries = || a.entries.iter().enumerate();
        let what = "an hour earns".to_owned();
        if a.bins.width <= 0.0 {
            let said = |(k, e): (usize, &Compared)| {
                let (piece, rate) = (("piece".to_owned(), self.label(k)), e.run.rate.p50);
                (rate, vec![piece, (what.clone(), self.amount(rate))])
            };
            let mut told: Vec<(f64, SpotSaid)> = entries().map(said).collect();
            told.sort_by(|one, other| one.0.total_cmp(&other.0));
            return told;
        }
        let edge = |bin: usize| a.bins.from + a.bins.width * bin as f64;
        let bins = a.entries.first().map_or(0, |e| e.density.len());
        let shown = (0..bins).filter(|bin| edge(*bin) >= low && edge(bin + 1) <= high);
        let told = shown.map(|bin| {
            let from_to = format!("{} to {}", self.amount(edge(bin)), self.amount(edge(bin + 1)));
            let each = entries().map(|(k, e)| (self.label(k), format::share_estimate(e.density[bin])));
            let said = std::iter::once((what.clone(), from_to)).chain(each).collect();
            (f64::midpoint(edge(bin), edge(bin + 1)), said)
        });
        told.collect()
    }

    /// What each scenario earns an hour on average, by size; the compared sizes too.
    fn sweeps_told(&self, sizes: &[u32]) -> Vec<(f64, SpotSaid)> {
        let at = |e: &Compared, size: u32| {
            let simulated = e.sweep.iter().find(|p| p.size == size).map(|p| p.long_run);
            simulated.or((e.run.size == size).then_some(e.run.rate.long_run))
        };
        let told = sizes.iter().map(|size| {
            let each = self.answer.entries.iter().enumerate();
            let each = each.filter_map(|(k, e)| Some((label(self.answer, k), self.amount(at(e, *size)?))));
            let what = ("pieces a batch".to_owned(), format::count(u64::from(*size)));
            (f64::from(*size), std::iter::once(what).chain(each).collect())
        });
        told.collect()
    }

    /// Whether there is more than one rate to tell of.
    fn differ(&self) -> bool {
        let entries = self.answer.entries.iter();
        let mut rates = entries.flat_map(|e| [e.run.rate.p10, e.run.rate.p50, e.run.rate.p90]);
        let first = rates.next();
        rates.any(|rate| Some(rate) != first)
    }

    fn text(&self) -> Text {
        let mut legend = vec![
            (Sign::Median, "median".to_owned()),
            (Sign::Band, "8 batches in 10".to_owned()),
            (Sign::LongRun, "on average".to_owned()),
        ];
        legend.extend(same_target(self.answer).map(|at| (Sign::Aim, self.target(at))));
        Text::of(legend)
    }

    fn target(&self, at: f64) -> String {
        format!("target {}", format::typed_amount(at, &self.answer.currency))
    }

    /// Names the target, where it is one for all.
    fn target_named(&self) -> Option<Layer> {
        let heights = [0.1, 0.25, 0.4, 0.55, 0.7].map(|t| Y::Below(self.whiskers(), t));
        let at = same_target(self.answer)?;
        let places = spots(&heights, &beside(at, 8.0));
        Some(Layer::note([(self.target(at), STRONG.of(MUTED))], places))
    }

    /// What the hour earns on average against batch size, the compared sizes as dots.
    fn sweeps(&self) -> Panel {
        let a = self.answer;
        let each = a.entries.iter();
        let mut sizes: Vec<u32> = each
            .flat_map(|e| e.sweep.iter().map(|p| p.size).chain([e.run.size]))
            .collect();
        sizes.sort_unstable();
        sizes.dedup();
        let all: Vec<f64> = a.entries.iter().flat_map(|e| &e.sweep).map(|p| p.long_run).collect();
        let mut story: Vec<f64> = a.entries.iter().map(|e| e.run.rate.long_run).collect();
        story.push(0.0);
        story.extend(same_target(a));
        let range = ticks::range(&story, &all, &all, Stretch { allow: 1.5, show: 0.5 });
        let range = ticks::aired(range, 0.05);
        let mut layers: Vec<Layer> = Vec::new();
        layers.extend(same_target(a).map(|value| Layer::level(value, TARGET)));
        for (k, e) in a.entries.iter().enumerate().rev().filter(|(_, e)| e.sweep.len() > 1) {
            let points = e.sweep.iter().map(|p| (f64::from(p.size), Some(p.long_run)));
            layers.push(Layer::curve(points.collect(), line(k)));
        }
        let (mut ends, mut letters) = (Vec::new(), Vec::new());
        for (k, e) in a.entries.iter().enumerate() {
            let at = (f64::from(e.run.size), e.run.rate.long_run);
            layers.push(Layer::dot(at, 6.0, line(k).color));
            ends.push(EndLabel::line(at.1, line(k), self.label(k), self.amount(at.1)));
            let offs = self.clear_of_others(k, at, NEAR * (range.1 - range.0));
            letters.push(self.letter(k, around(at, offs)));
        }
        layers.extend(letters);
        layers.push(Layer::ends(ends));
        Panel {
            title: "On average, against batch size".into(),
            unit: format!("{} per hands-on hour", a.currency),
            key: "dots: what is compared".into(),
            told: self.sweeps_told(&sizes),
            named: true,
            ..Panel::curves(PLOT, &Axis::sizes(&sizes, sizes.len() <= 12), range, layers)
        }
    }
}

/// Places so far off a dot.
fn around((x, y): (f64, f64), offs: &[f64]) -> Vec<Spot> {
    let across = [(0.0, Side::Center), (6.0, Side::Left), (-6.0, Side::Right)];
    let places = across.into_iter().flat_map(|(dx, side)| {
        let spot = move |dy: &f64| (X::At(x, dx), Y::At(y, *dy), side);
        offs.iter().map(spot).map(|(x, y, side)| Spot { x, y, side })
    });
    places.collect()
}

/// The middle of the highest step; nothing of none.
fn top(steps: &Points) -> Option<(f64, f64)> {
    let mut best = None;
    for pair in steps.windows(2) {
        if let [(from, Some(low)), (to, Some(high))] = pair
            && low == high
            && best.is_none_or(|(_, y)| y < *high)
        {
            best = Some((f64::midpoint(*from, *to), *high));
        }
    }
    best
}

fn certain(entry: &Compared) -> bool {
    entry.density.iter().filter(|d| **d > 0.0).count() <= 1
}

/// Colour and dash of a scenario: four of each, so that neighbours differ in both, printed in grey too; then the same colours with other
/// dashes.
fn line(k: usize) -> Line {
    let color = RIVALS[k % RIVALS.len()];
    match (k + k / RIVALS.len()) % 4 {
        0 => Line::solid(color, 2.6),
        1 => Line::dashed(color, 2.6, 12.0, 4.0),
        2 => Line::dashed(color, 2.6, 6.0, 3.0),
        _ => Line::dashed(color, 2.6, 2.6, 3.0),
    }
}

/// A density as a stepped outline, in per cent of batches a bin, as far as it lies between `ends`.
fn steps(entry: &Compared, (from, width): (f64, f64), ends: (f64, f64)) -> Points {
    let edge = |k: usize| from + width * k as f64;
    let held: Vec<usize> = (0..entry.density.len())
        .filter(|k| edge(*k) >= ends.0 && edge(k + 1) <= ends.1)
        .collect();
    // What lies flat on the axis at either end is nothing.
    let some = |k: &&usize| entry.density[**k] > 0.0;
    let (Some(first), Some(last)) = (held.iter().find(some), held.iter().rev().find(some)) else {
        return Vec::new();
    };
    let mut out = vec![(edge(*first), Some(0.0))];
    for k in *first..=*last {
        let share = Some(100.0 * entry.density[k]);
        out.extend([(edge(k), share), (edge(k + 1), share)]);
    }
    out.push((edge(last + 1), Some(0.0)));
    out
}
