//! The plot of `stress`: how far each misfortune may go, and what an hour earns at each strength; one row each, what the price can
//! stand least of on top.

use super::{FARTHEST, bar_end, chosen, headline, in_season, limit, name, reached, strengths_are, strengths_shown};
use crate::questions::stress::{Found, Kind, Misfortune, Outcome, Stress};
use crate::render::format;
use crate::render::plot::palette::{ASKED, BAND, Color, INK, MAIN, MUTED, SHADES, WHITE};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{Axis, EndLabel, Line, Panel, Plot, RowLayer, RowShape, STRONG, Sign, Text, minus};
use crate::render::words::{batch_of, capital, joined};

/// Height of a row, in pixels.
const ROW: f64 = 30.0;
const PLANNED: Line = Line::solid(MUTED, 1.4);
/// On dark bars as on white ground.
const INTERVAL: Line = Line::solid(INK, 1.6);
const INTERVAL_HALO: Line = Line::solid(WHITE, 4.6);

/// The whole plot; nothing where nothing can go wrong.
pub(super) fn plot(answer: &Stress) -> Option<Plot> {
    let mut rows = chosen(answer, false);
    rows.sort_by(|a, b| stands(a).total_cmp(&stands(b)));
    // Where the target is missed as planned, rows that nothing mends have no bar.
    let some = rows.iter().any(|m| m.target_lost.at.is_some());
    let barred = |m: &&&Misfortune| !some || m.target_lost.at.is_some() || m.target_lost.found != Found::BrokenAlready;
    let barred = rows.iter().filter(barred).copied().collect();
    let view = View { answer, rows, barred };
    view.rows.first()?;
    let lost = view.barred.iter().filter(|m| m.kind != Kind::Own);
    let lost = lost.map(|m| format!("{}: {}", name(answer, m), limit(answer, m, &m.target_lost)));
    let lost: Vec<String> = lost.collect();
    let [price, target] = [answer.price, answer.target].map(|value| format::typed_money(value, &answer.currency));
    let (batch, sure) = (capital(&batch_of(answer.size)), format::confidence(answer.confidence));
    let (trials, seed, version) = (format::count(answer.trials), answer.seed, &answer.version);
    let limits = match reached(answer) {
        true => format!("how far it may go before the target of {target} an hour is missed"),
        false => format!("how much better it alone must be for the target of {target} an hour"),
    };
    Some(Plot {
        foot: if answer.certain {
            format!("{batch} at {price} · target {target} an hour · nothing is left to chance · batchwright {version}")
        } else {
            format!(
                "{batch} at {price} · target {target} an hour in {sure} of batches · {trials} simulated batches of each setting · \
                 seed {seed} · batchwright {version}"
            )
        },
        description: format!(
            "Two panels of rows, one row a misfortune: {limits}, and shaded \
             boxes with what an hour earns at rising strengths, darker where the target is missed. {}.",
            lost.join("; ")
        ),
        height: (450.0 + ROW * (view.barred.len() + view.with_strengths().count()) as f64) as u32,
        panels: vec![view.limits(), view.effects()],
        ..Plot::about(&answer.title, headline(answer))
    })
}

/// How much of a misfortune the price can stand, or how much better it must get; most where nothing mends it, or it never bites.
fn stands(m: &Misfortune) -> f64 {
    match (m.target_lost.found, m.target_lost.at) {
        (Found::Holds, _) => f64::INFINITY,
        (_, Some(at)) => at.abs(),
        (_, None) => f64::MAX,
    }
}

struct View<'a> {
    answer: &'a Stress,
    rows: Vec<&'a Misfortune>,
    /// Those with something to tell of how far they may go.
    barred: Vec<&'a Misfortune>,
}

impl View<'_> {
    /// What is looked at in some strengths; of a chance that is large already there may be none.
    fn with_strengths(&self) -> impl Iterator<Item = &Misfortune> {
        self.rows.iter().copied().filter(|m| !m.strengths.is_empty())
    }

    /// Ends of the axis of strengths. The target goes long before the last earning, and how soon is what was asked: it must
    /// not be squeezed.
    fn strengths(&self) -> (f64, f64) {
        let (lowest, most) = strengths_shown(&self.rows);
        // By more than all of it nothing gets better.
        let missed = self.rows.iter().map(|m| &m.target_lost);
        let missed = missed.filter(|lost| lost.at.is_some_and(|at| at < 0.0));
        let low = missed
            .filter_map(|lost| lost.low)
            .fold(lowest, f64::min)
            .max(-1.0)
            .min(lowest);
        let lost = self.rows.iter().filter_map(|m| m.target_lost.at);
        let kept: Vec<f64> = lost.filter(|at| *at > 0.0 && *at <= FARTHEST).collect();
        if kept.is_empty() {
            let none = self.rows.iter().all(|m| bar_end(&m.target_lost, f64::INFINITY) <= 0.0);
            // Where no bar is on the other side of zero it needs no room.
            return (low, if none && low < 0.0 { -0.1 * low } else { most });
        }
        let (_, high) = ticks::range(&[0.0, 0.2], &kept, &kept, Stretch { allow: 1.0, show: 0.5 });
        (low, most.min(1.2 * high))
    }

    /// Bars up to where the target is lost, dots where nothing is earned.
    fn limits(&self) -> Panel {
        let a = self.answer;
        let (low, high) = self.strengths();
        let mut layers = Vec::new();
        for (row, m) in self.barred.iter().enumerate() {
            // Buyers, and trials that are struck, can be all of them and no more.
            let whole = matches!(m.kind, Kind::Own | Kind::Unsold);
            let endless = if whole { FARTHEST } else { f64::INFINITY };
            let target = bar_end(&m.target_lost, endless);
            let bar = |from, to, thick, color, sign| RowLayer::bar(row, (from, to), thick, color).signed(sign);
            layers.push(if target < 0.0 {
                bar(target, 0.0, 0.62, ASKED, Sign::Lack)
            } else {
                bar(0.0, target, 0.62, MAIN, Sign::Bar)
            });
            if let (Some(from), Some(to)) = (m.target_lost.low, m.target_lost.high)
                && from < to
                && !a.certain
                && target <= high
            {
                let ends = (from.max(low), to);
                layers.extend([INTERVAL_HALO, INTERVAL].map(|line| RowLayer::whisker(row, ends, line)));
            }
            let nothing = m.nothing_earned.at.filter(|at| (0.0..=high).contains(at));
            layers.extend(nothing.map(|at| RowLayer::dot(row, at, 4.5, INK).signed(Sign::End)));
            let text = minus(&limit(a, m, &m.target_lost));
            layers.push(RowLayer::figure(row, text, STRONG));
        }
        layers.push(RowLayer::upright(0.0, PLANNED));
        let (alone, still) = match reached(a) {
            true => ("How far each may go alone while", " still"),
            false => ("How much better each alone must be so that", ""),
        };
        let goal = if a.target > 0.0 {
            format!("an hour{still} earns {}", format::typed_money(a.target, &a.currency))
        } else {
            format!("an hour{still} covers its costs")
        };
        let how_often = if a.certain {
            String::new()
        } else {
            format!(" in {} of batches", format::confidence(a.confidence))
        };
        let has = |of: fn(&RowLayer) -> bool| layers.iter().any(of);
        let (mut key, mut legend) = (Vec::new(), Vec::new());
        if self.rows.iter().any(|m| bar_end(&m.target_lost, FARTHEST) > 0.0) {
            key.push("bar: the target is kept");
            legend.push((Sign::Bar, "the target is kept".to_owned()));
        }
        if has(|layer| layer.sign == Some(Sign::End)) {
            key.push("dot: from here on an hour earns nothing");
            legend.push((Sign::End, "from here on an hour earns nothing".to_owned()));
        }
        if low < 0.0 {
            key.push("left of 0: how much better for the target");
            legend.push((Sign::Lack, "how much better for the target".to_owned()));
        }
        if has(|layer| matches!(layer.shape, RowShape::Whisker { .. })) {
            key.push("fine line: 95 % interval");
        }
        let key = key.join("; ");
        let percent = |v: f64, step: f64| format!("{} %", format::tick(v * 100.0, step * 100.0));
        let axis = Axis::values((low * 1.05, high), percent);
        let names = self.barred.iter().map(|m| name(a, m)).collect();
        Panel {
            title: format!("{alone} {goal}{how_often}"),
            key,
            text: Some(Text::of(legend)),
            ..Panel::rows(names, layers, axis.named(strengths_are(&self.rows, low)))
        }
    }

    /// A box for each strength with what an hour earns then, shaded by whether that is enough.
    fn effects(&self) -> Panel {
        let a = self.answer;
        let columns = self.columns();
        let rates = self.rows.iter().flat_map(|m| &m.strengths).map(|s| s.outcome.rate.mean);
        let rates = rates.filter(|rate| rate.is_finite());
        let most = rates.fold(0.0, |most: f64, rate| most.max(rate.abs()));
        let (per, scale) = format::tick_scale(0.0, most);
        let write = |rate: f64| {
            if per > 1.0 {
                minus(&format::tick(rate / per, 0.01))
            } else {
                minus(&format::amount(rate, &a.currency))
            }
        };
        let (mut names, mut layers, mut met) = (Vec::new(), Vec::new(), Vec::new());
        for (row, m) in self.with_strengths().enumerate() {
            names.push(self.name_with_strengths(m));
            for (column, outcome) in places(m, &columns) {
                let how = self.how(outcome);
                met.push(how);
                layers.push(RowLayer {
                    row,
                    shape: RowShape::Cell {
                        at: column as f64,
                        text: write(outcome.rate.mean),
                        brief: minus(&format::tick(outcome.rate.mean / per, 1.0)),
                        shade: how.shade(),
                        letters: how.letters(),
                    },
                    sign: None,
                });
            }
        }
        let axis = Axis::places(columns.iter().map(|s| format::bare_confidence(*s)));
        let keys = ALL.iter().filter(|how| met.contains(how));
        layers.push(RowLayer::keys(keys.map(|how| self.key(*how)).collect()));
        Panel {
            title: "What an hour earns at each strength".into(),
            unit: format!("{scale}{}, on average", a.currency),
            key: format!(
                "as planned {}, target {}",
                minus(&format::amount(a.as_planned.rate.mean, &a.currency)),
                format::typed_amount(a.target, &a.currency)
            ),
            ..Panel::rows(
                names,
                layers,
                axis.named(format!("% {}", strengths_are(&self.rows, 0.0))),
            )
        }
    }

    /// Every strength that is looked at, ascending; whole pieces have none of their own, as theirs hang on the batch.
    fn columns(&self) -> Vec<f64> {
        let has = |pieces: bool| {
            let rows = self.rows.iter().filter(move |m| self.counts_pieces(m) == pieces);
            let mut found: Vec<f64> = rows.flat_map(|m| &m.strengths).map(|s| s.strength).collect();
            found.sort_by(f64::total_cmp);
            found.dedup();
            found
        };
        let (found, pieces) = (has(false), has(true));
        if found.len() < pieces.len() { pieces } else { found }
    }

    fn counts_pieces(&self, m: &Misfortune) -> bool {
        m.kind == Kind::Unsold && !in_season(m, self.answer)
    }

    /// Pieces that stay unsold are counted, in the order of the boxes.
    fn name_with_strengths(&self, m: &Misfortune) -> String {
        if !self.counts_pieces(m) || m.strengths.is_empty() {
            return name(self.answer, m);
        }
        let size = f64::from(self.answer.size);
        let pieces = m
            .strengths
            .iter()
            .map(|s| format::count((s.strength * size).round() as u64));
        let pieces: Vec<String> = pieces.collect();
        let list = joined(&pieces).unwrap_or_default();
        format!("{list} of {} unsold", format::count(self.answer.size.into()))
    }

    fn how(&self, outcome: &Outcome) -> How {
        let rate = outcome.rate.mean;
        if outcome.reach.share >= self.answer.confidence {
            How::Reached
        } else if rate >= self.answer.target {
            How::OnAverage
        } else if rate > 0.0 {
            How::Below
        } else {
            How::Nothing
        }
    }

    fn key(&self, how: How) -> EndLabel {
        let words = match how {
            How::Reached if self.answer.certain => "target reached".to_owned(),
            How::Reached => format!("target reached in {}", format::confidence(self.answer.confidence)),
            How::OnAverage => "reached on average only".to_owned(),
            How::Below => "below the target".to_owned(),
            How::Nothing => "earns nothing".to_owned(),
        };
        EndLabel::area(f64::NAN, how.shade(), words, "")
    }
}

/// Whether an hour earns enough, from the best to the worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum How {
    Reached,
    OnAverage,
    Below,
    Nothing,
}

const ALL: [How; 4] = [How::Reached, How::OnAverage, How::Below, How::Nothing];

impl How {
    /// Darker is worse.
    const fn shade(self) -> Color {
        match self {
            Self::Reached => BAND,
            Self::OnAverage => SHADES[3],
            Self::Below => ASKED,
            Self::Nothing => INK,
        }
    }

    const fn letters(self) -> Color {
        match self {
            Self::Reached | Self::OnAverage => INK,
            Self::Below | Self::Nothing => WHITE,
        }
    }
}

/// The column of each strength of a misfortune, the nearest that none before has.
fn places<'m>(m: &'m Misfortune, columns: &[f64]) -> Vec<(usize, &'m Outcome)> {
    let mut from = 0;
    let mut found = Vec::new();
    for s in &m.strengths {
        let off = |k: &usize| (columns[*k] - s.strength).abs();
        let Some(column) = (from..columns.len()).min_by(|a, b| off(a).total_cmp(&off(b))) else {
            break;
        };
        found.push((column, &s.outcome));
        from = column + 1;
    }
    found
}
