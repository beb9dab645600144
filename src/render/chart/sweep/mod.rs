//! The sweep's chart: three panels over one axis of batch sizes.

mod floor;
mod rate;
mod time;

use super::frame::{Drawn, Letters, Line, Page, Panel, minus};
use super::palette::{ASKED, MAIN, PAYS};
use super::ticks::SizeScale;
use crate::questions::sweep::{SizeAnswer, Sweep};
use crate::render::format;
use crate::render::words::is_certain;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;

/// Height of the page in pixels.
pub(super) const HEIGHT: u32 = 1380;

const MEDIAN: Line = Line::solid(MAIN, 3.0);
const TARGET: Line = Line::dashed(ASKED, 2.0, 14.0, 5.0);
const PAYING: Line = Line::dashed(PAYS, 1.6, 4.0, 3.0);

/// Up to so many sizes each is drawn as a thing of its own: dots on curves, bars for parts.
const FEW: usize = 12;
/// Half the width of the bar that stands for one size alone, in pixels.
const LONE_HALF: f64 = 28.0;
/// Curves nearer than this everywhere, in pixels, are one curve to the eye and get one label.
const SAME: f64 = 1.5;

/// What the chart says, for those who cannot see it.
pub(super) fn description(answer: &Sweep) -> String {
    let pays = match answer.first_paying_size {
        Some(size) => format!("the first size that pays is {size}"),
        None => "no size pays".to_owned(),
    };
    format!(
        "Three panels against batch size: hourly rate with the range of eight runs in ten, price floor at several \
         confidences, hands-on time per piece by what it goes into. At a price of {} and a target of {} an hour in {} of \
         runs, {pays}.",
        format::typed_money(answer.price, &answer.currency),
        format::typed_money(answer.target, &answer.currency),
        format::confidence(answer.confidence),
    )
}

/// Draws the whole page. The answer has at least one size.
pub(super) fn draw<DB: DrawingBackend>(root: DrawingArea<DB, Shift>, answer: &Sweep, headline: &str) -> Drawn<DB> {
    let page = Page::new(root, &answer.title, headline, &foot(answer))?;
    let boxes = page.stacked(&[0.42, 0.31, 0.27]);
    let chart = Chart::new(answer);
    let [rate, floor, time] = boxes.as_slice() else {
        return Ok(());
    };
    chart.rate_panel(&page, *rate)?;
    chart.floor_panel(&page, *floor)?;
    chart.time_panel(&page, *time)
}

fn foot(answer: &Sweep) -> String {
    if is_certain(answer) {
        return format!(
            "Asked price {} · target {} an hour · nothing varies · batchwright {}",
            format::typed_money(answer.price, &answer.currency),
            format::typed_money(answer.target, &answer.currency),
            answer.version,
        );
    }
    format!(
        "Asked price {} · target {} an hour in {} of runs · {} simulated runs of each size · seed {} · batchwright {}",
        format::typed_money(answer.price, &answer.currency),
        format::typed_money(answer.target, &answer.currency),
        format::confidence(answer.confidence),
        format::count(answer.trials),
        answer.seed,
        answer.version,
    )
}

/// The answer with what all panels share.
struct Chart<'a> {
    answer: &'a Sweep,
    sizes: Vec<u32>,
    scale: SizeScale,
    few: bool,
}

impl<'a> Chart<'a> {
    fn new(answer: &'a Sweep) -> Self {
        let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
        let few = sizes.len() <= FEW;
        let scale = SizeScale::new(&sizes, few);
        Self {
            answer,
            sizes,
            scale,
            few,
        }
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    fn typed(&self, value: f64) -> String {
        minus(&format::typed_amount(value, &self.answer.currency))
    }

    fn values(&self, of: impl Fn(&SizeAnswer) -> f64) -> Vec<f64> {
        self.answer.sizes.iter().map(of).collect()
    }

    fn points(&self, of: impl Fn(&SizeAnswer) -> Option<f64>) -> Vec<(f64, Option<f64>)> {
        self.answer.sizes.iter().map(|s| (f64::from(s.size), of(s))).collect()
    }

    fn last(&self, of: impl Fn(&SizeAnswer) -> f64) -> f64 {
        self.answer.sizes.last().map_or(f64::NAN, of)
    }

    /// Half the width of a bar, in pixels.
    fn bar_half<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> f64 {
        if self.sizes.len() < 2 {
            return LONE_HALF;
        }
        let (a, b) = (
            self.scale.position(self.scale.low),
            self.scale.position(self.scale.high),
        );
        let wide = (panel.bounds.x1 - panel.bounds.x0) * self.scale.narrowest_step(&self.sizes) / (b - a);
        (0.36 * wide).clamp(0.5, 60.0)
    }

    /// A curve, or what stands for one where there is one size only.
    fn curve<DB: DrawingBackend>(
        &self,
        panel: &Panel<'_, DB>,
        points: &[(f64, Option<f64>)],
        line: &Line,
        dots: bool,
    ) -> Drawn<DB> {
        match points {
            [(size, Some(value))] => panel.rung(*size, LONE_HALF, *value, line),
            _ => panel.curve(points, line, dots),
        }
    }

    /// An upright line at the first paying size; one size alone needs no line to be found.
    fn mark_size<DB: DrawingBackend>(&self, panel: &Panel<'_, DB>) -> Drawn<DB> {
        match self.answer.first_paying_size {
            Some(first) if self.sizes.len() > 1 => panel.upright(first.into(), &PAYING),
            _ => Ok(()),
        }
    }

    /// Sizes in words, "1–3, 5": neighbours among the sizes looked at are joined.
    fn list(&self, sizes: &[u32]) -> String {
        let next = |a: u32, b: u32| {
            self.sizes
                .iter()
                .position(|&s| s == a)
                .and_then(|i| self.sizes.get(i + 1))
                == Some(&b)
        };
        format::size_list(sizes, next).replace('-', "–")
    }

    /// "size 1" or "sizes 1–3".
    fn named(&self, sizes: &[u32]) -> String {
        format!(
            "{} {}",
            if sizes.len() == 1 { "size" } else { "sizes" },
            self.list(sizes)
        )
    }

    /// A note with an arrow head: these sizes' values lie beyond the panel. `words` says how far, given "up to" or "down to"
    /// where there are several.
    fn beyond_note<DB: DrawingBackend>(
        &self,
        panel: &Panel<'_, DB>,
        cut: &[&SizeAnswer],
        up: bool,
        words: impl Fn(&str) -> String,
        letters: Letters,
    ) -> Drawn<DB> {
        let sizes: Vec<u32> = cut.iter().map(|s| s.size).collect();
        let (Some(&first), Some(&last)) = (sizes.first(), sizes.last()) else {
            return Ok(());
        };
        let way = match (sizes.len(), up) {
            (1, _) => "",
            (_, true) => " up to",
            (_, false) => " down to",
        };
        let text = format!("{} off the chart: {}", self.named(&sizes), words(way));
        let b = panel.bounds;
        let (x0, x1) = (panel.x(first.into()), panel.x(last.into()));
        let (edge, inward) = if up { (b.y0 + 14.0, 1.0) } else { (b.y1 - 20.0, -1.0) };
        // Along the end it is about first, then further in.
        let places: Vec<((f64, f64), HPos)> = [0.0, 20.0, 45.0, 75.0, 110.0, 150.0]
            .map(|i| edge + inward * i)
            .into_iter()
            .flat_map(|y| {
                [
                    (x0, HPos::Left),
                    (x1 + 14.0, HPos::Left),
                    (x1 + 90.0, HPos::Left),
                    (b.x1 - 8.0, HPos::Right),
                ]
                .map(|(x, side)| ((if x < b.x0 + 8.0 { b.x0 + 8.0 } else { x }, y), side))
            })
            .collect();
        panel.pointing_note(&text, letters, up, &places)
    }
}
