//! The plot of `stress`: how far each misfortune may go, and what it does to the hour; one row each.

use super::{FARTHEST, bar_end, chosen, headline, how_bad, limit, name, strengths_are, strengths_shown, told};
use crate::questions::stress::{Kind, Misfortune, Stress};
use crate::render::format;
use crate::render::plot::palette::{ASKED, BAND, MAIN, MUTED, STEPS};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{Axis, Field, Line, Panel, Plot, RowLayer, RowShape, STRONG, Sign, Text, minus};
use crate::render::words::{batch_of, capital};

/// Room for the names of rows, in pixels.
const NAMES: f64 = 264.0;
/// Height of a row, in pixels.
const ROW: f64 = 34.0;
const TARGET: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const PLANNED: Line = Line::solid(MUTED, 1.4);
const INTERVAL: Line = Line::solid(STEPS[0], 2.0);

/// The whole plot; nothing where nothing can go wrong.
pub(super) fn plot(answer: &Stress) -> Option<Plot> {
    let view = View {
        answer,
        rows: chosen(answer, false),
    };
    view.rows.first()?;
    let lost: Vec<String> = view
        .rows
        .iter()
        .filter(|m| m.kind != Kind::Own)
        .map(|m| format!("{}: {}", name(answer, m), limit(answer, m, &m.target_lost)))
        .collect();
    Some(Plot {
        about: answer.title.clone(),
        title: answer.title.clone(),
        headline: headline(answer),
        foot: foot(answer),
        description: format!(
            "Two panels of rows, one row a misfortune: how far it may go before the target of {} an hour is missed, and what an \
             hour earns at rising strengths. {}.",
            format::typed_money(answer.target, &answer.currency),
            lost.join("; ")
        ),
        height: (310.0 + 2.0 * (70.0 + ROW * view.rows.len() as f64)) as u32,
        panels: vec![view.limits(), view.effects()],
    })
}

fn foot(a: &Stress) -> String {
    let asked = format!(
        "{} at {} · target {} an hour",
        capital(&batch_of(a.size)),
        format::typed_money(a.price, &a.currency),
        format::typed_money(a.target, &a.currency),
    );
    if a.certain {
        return format!("{asked} · nothing is left to chance · batchwright {}", a.version);
    }
    format!(
        "{asked} in {} of batches · {} simulated batches of each setting · seed {} · batchwright {}",
        format::confidence(a.confidence),
        format::count(a.trials),
        a.seed,
        a.version,
    )
}

struct View<'a> {
    answer: &'a Stress,
    rows: Vec<&'a Misfortune>,
}

impl View<'_> {
    fn names(&self) -> Vec<String> {
        self.rows.iter().map(|m| name(self.answer, m)).collect()
    }

    /// Ends of the axis of strengths. The target goes long before the last earning, and how soon is what was asked: it must
    /// not be squeezed.
    fn strengths(&self) -> (f64, f64) {
        let (low, most) = strengths_shown(&self.rows);
        let lost = self.rows.iter().filter_map(|m| m.target_lost.at);
        let kept: Vec<f64> = lost.filter(|at| *at > 0.0 && *at <= FARTHEST).collect();
        if kept.is_empty() {
            return (low, most);
        }
        let (_, high) = ticks::range(&[0.0, 0.2], &kept, &kept, Stretch { allow: 1.0, show: 0.5 });
        (low, most.min(1.2 * high))
    }

    /// Bars up to where the target is lost; lines on to where nothing is earned.
    fn limits(&self) -> Panel {
        let a = self.answer;
        let (low, high) = self.strengths();
        let mut layers = Vec::new();
        for (row, m) in self.rows.iter().enumerate() {
            // Buyers, and trials that are struck, can be all of them and no more.
            let whole = matches!(m.kind, Kind::Own | Kind::Unsold);
            let endless = if whole { FARTHEST } else { f64::INFINITY };
            let (target, nothing) = (bar_end(&m.target_lost, endless), bar_end(&m.nothing_earned, endless));
            let bar = |from, to, thick, color, sign| RowLayer::bar(row, (from, to), thick, color).signed(sign);
            if nothing > 0.0 {
                layers.push(bar(0.0, nothing, 0.2, STEPS[0], Sign::More));
            }
            layers.push(if target < 0.0 {
                bar(target, 0.0, 0.62, ASKED, Sign::Lack)
            } else {
                bar(0.0, target, 0.62, MAIN, Sign::Bar)
            });
            if let (Some(from), Some(to), true) = (m.target_lost.low, m.target_lost.high, target <= high) {
                layers.push(RowLayer::whisker(row, (from, to), Line::solid(BAND, 2.0)));
            }
            let text = minus(&limit(a, m, &m.target_lost));
            layers.push(RowLayer::figure(row, text, STRONG));
        }
        layers.push(RowLayer::upright(0.0, PLANNED));
        let goal = if a.target > 0.0 {
            format!("an hour still earns {}", format::typed_money(a.target, &a.currency))
        } else {
            "an hour still covers its costs".to_owned()
        };
        let how_often = if a.certain {
            String::new()
        } else {
            format!(" in {} of batches", format::confidence(a.confidence))
        };
        let mut key = "thick: the target is kept; thin: the hour still earns something".to_owned();
        let mut legend = vec![
            (Sign::Bar, "the target is kept".to_owned()),
            (Sign::More, "the hour still earns something".to_owned()),
        ];
        if low < 0.0 {
            key.push_str("; left of 0: how much better for the target");
            legend.push((Sign::Lack, "how much better for the target".to_owned()));
        }
        let has_lines = layers
            .iter()
            .any(|layer| matches!(layer.shape, RowShape::Whisker { .. }));
        if has_lines {
            key.push_str("; fine line: 95 % interval");
        }
        let percent = |v: f64, step: f64| format!("{} %", format::tick(v * 100.0, step * 100.0));
        Panel {
            title: format!("How far each may go alone while {goal}{how_often}"),
            key,
            share: 1.0,
            axis: Axis::values((low * 1.05, high), percent).named(strengths_are(&self.rows)),
            named: true,
            names_wide: NAMES,
            field: Field::Rows {
                names: self.names(),
                layers,
            },
            text: Some(Text {
                legend,
                ..Text::default()
            }),
            ..Panel::default()
        }
    }

    /// Dots: what an hour earns at each strength.
    fn effects(&self) -> Panel {
        let a = self.answer;
        let planned = a.as_planned.rate.mean;
        let strengths = self.rows.iter().flat_map(|m| &m.strengths);
        let found = strengths.map(|s| s.outcome.rate.mean).chain([planned, a.target, 0.0]);
        let found: Vec<f64> = found.filter(|v| v.is_finite()).collect();
        // A loss many times the target would squeeze the rest.
        let most = found.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let span = (most - 0.0_f64.min(planned)).max(1e-6);
        let least = found.iter().copied().fold(f64::INFINITY, f64::min);
        let low = least.max(0.0_f64.min(planned) - span) - 0.02 * span;
        let mut layers = vec![RowLayer::upright(planned, PLANNED), RowLayer::upright(a.target, TARGET)];
        for (row, m) in self.rows.iter().enumerate() {
            layers.extend(self.row_of_effects(row, m));
        }
        Panel {
            title: "What each does to the hour".into(),
            unit: format!("{} per hands-on hour, on average", a.currency),
            key: "a dot for each strength, the large one said on the right".into(),
            share: 1.0,
            axis: Axis::values((low, most + 0.04 * span), format::tick).named(format!(
                "grey: as planned, {} · dashed: target, {}",
                minus(&format::amount(planned, &a.currency)),
                format::typed_amount(a.target, &a.currency)
            )),
            named: true,
            names_wide: NAMES,
            field: Field::Rows {
                names: self.names(),
                layers,
            },
            ..Panel::default()
        }
    }

    fn row_of_effects(&self, row: usize, m: &Misfortune) -> Vec<RowLayer> {
        let a = self.answer;
        let (Some(last), Some(main)) = (m.strengths.last(), told(m)) else {
            return Vec::new();
        };
        let mut layers = vec![RowLayer::whisker(
            row,
            (a.as_planned.rate.mean, last.outcome.rate.mean),
            INTERVAL,
        )];
        layers.extend(m.strengths.iter().map(|s| {
            let (radius, color) = if s.strength == main.strength {
                (5.5, MAIN)
            } else {
                (3.5, STEPS[1])
            };
            RowLayer::dot(row, s.outcome.rate.mean, radius, color)
        }));
        let named = std::iter::once(main).chain(&m.strengths);
        layers.push(RowLayer::names(
            row,
            named
                .map(|s| (s.outcome.rate.mean, format::confidence(s.strength)))
                .collect(),
        ));
        let said = how_bad(a, m, main.strength);
        let rate = minus(&format::amount(main.outcome.rate.mean, &a.currency));
        layers.push(RowLayer::figure(row, format!("{said}: {rate}"), STRONG).brief(rate));
        layers
    }
}
