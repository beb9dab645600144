//! The chart of `drivers`: shares of variance, swings and gains, each as rows.

use super::Picture;
use super::canvas::Canvas;
use super::frame::{Axis, Drawn, LABEL, Letters, Line, Page, PanelHead, Rows, minus};
use super::labels::Rect;
use super::palette::{ASKED, BAND, INK, MAIN, MUTED, SECOND, STEPS};
use crate::questions::drivers::{Drivers, InputAnswer, Lever};
use crate::render::{drivers as words, format};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters_backend::DrawingBackend;

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

pub(super) struct Chart<'a> {
    answer: &'a Drivers,
    headline: &'a str,
    /// By total share, by swing, by gain.
    moving: Vec<&'a InputAnswer>,
    swinging: Vec<&'a InputAnswer>,
    levers: Vec<&'a Lever>,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a Drivers, headline: &'a str) -> Self {
        let top = |worth: &dyn Fn(&InputAnswer) -> Option<f64>| -> Vec<&'a InputAnswer> {
            let mut all: Vec<(&InputAnswer, f64)> = answer.inputs.iter().filter_map(|i| Some((i, worth(i)?))).collect();
            all.sort_by(|a, b| b.1.total_cmp(&a.1));
            all.into_iter().take(ROWS).map(|(input, _)| input).collect()
        };
        Self {
            answer,
            headline,
            moving: top(&|i| Some(i.shares?.total.share)),
            swinging: top(&|i| Some((i.swing?.high.rate - i.swing?.low.rate).abs())),
            levers: answer.levers.iter().filter(|l| l.tenth.is_some()).take(ROWS).collect(),
        }
    }

    fn counts(&self) -> Vec<usize> {
        let counts = [self.moving.len(), self.swinging.len(), self.levers.len()];
        counts.into_iter().filter(|n| *n > 0).collect()
    }

    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    fn shares_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let most = self
            .moving
            .iter()
            .filter_map(|i| i.shares)
            .flat_map(|s| [s.total.high, s.first.high])
            .fold(0.05, f64::max);
        let least = self
            .moving
            .iter()
            .filter_map(|i| i.shares)
            .flat_map(|s| [s.total.low, s.first.low])
            .fold(0.0, f64::min);
        let (least, most) = aired(least, most);
        let axis = Axis::values((least * 100.0, most * 100.0), |v, step| {
            format!("{} %", format::tick(v, step))
        });
        let head = PanelHead {
            title: "What moves the result of a run",
            unit: "share of the variance of its hourly rate; dark alone, light with others; lines: 95 % intervals",
        };
        let names: Vec<String> = self.moving.iter().map(|i| i.name.clone()).collect();
        let rows = Rows::new(page, bounds, &head, &names, NAMES, &axis)?;
        for (row, shares) in self.moving.iter().enumerate().filter_map(|(r, i)| Some((r, i.shares?))) {
            let (first, total) = (shares.first, shares.total);
            rows.bar(row, (0.0, total.share * 100.0), (0.8, 0.0), BAND)?;
            rows.bar(row, (0.0, first.share.max(0.0) * 100.0), (0.42, 0.0), SECOND)?;
            rows.whisker(row, (total.low * 100.0, total.high * 100.0), -0.6, &INTERVAL)?;
            rows.whisker(row, (first.low * 100.0, first.high * 100.0), 0.0, &INTERVAL)?;
            let text = format!(
                "{} alone, {} in all",
                format::share_estimate(first.share),
                format::share_estimate(total.share)
            );
            rows.figure(row, &text, LABEL)?;
        }
        Ok(())
    }

    fn swings_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let a = self.answer;
        let now = a.long_run.mean;
        let ends = || {
            self.swinging
                .iter()
                .filter_map(|i| i.swing)
                .flat_map(|s| [s.low.rate, s.high.rate])
        };
        let (low, high) = ends().fold((now, now), |(l, h), v| (l.min(v), h.max(v)));
        let span = (high - low).max(now.abs() * 0.01).max(1e-6);
        // The target is shown where it is not so far off that it would squeeze all else.
        let near = (low - span..=high + span).contains(&a.target);
        let (low, high) = if near {
            (low.min(a.target), high.max(a.target))
        } else {
            (low, high)
        };
        let air = 0.04 * span;
        let axis = Axis::values((low - air, high + air), format::tick);
        let unit = format!(
            "{} an hour in the long run if all pieces are alike at the low tenth (light) or the high tenth (dark) of the range",
            a.currency
        );
        let head = PanelHead {
            title: "What if an estimate is off",
            unit: &unit,
        };
        let names: Vec<String> = self.swinging.iter().map(|i| i.name.clone()).collect();
        let rows = Rows::new(page, bounds, &head, &names, NAMES, &axis)?;
        for (row, swing) in self
            .swinging
            .iter()
            .enumerate()
            .filter_map(|(r, i)| Some((r, i.swing?)))
        {
            rows.bar(row, (now, swing.low.rate), (0.6, 0.0), STEPS[0])?;
            rows.bar(row, (now, swing.high.rate), (0.6, 0.0), MAIN)?;
            let text = format!(
                "low {}, high {}",
                self.amount(swing.low.rate),
                self.amount(swing.high.rate)
            );
            rows.figure(row, &text, LABEL)?;
        }
        rows.upright(now, &AS_IS)?;
        if near {
            rows.upright(a.target, &TARGET)?;
        }
        Ok(())
    }

    fn gains_panel<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect) -> Drawn<DB> {
        let gains = || self.levers.iter().filter_map(|l| l.tenth);
        let ends = gains().flat_map(|g| [g.mean - 1.96 * g.se, g.mean + 1.96 * g.se]);
        let (low, high) = ends.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
        let axis = Axis::values(aired(low, high), format::tick);
        let unit = format!(
            "{} an hour more in the long run; lines: 95 % intervals; beside it what a little less is worth",
            self.answer.currency
        );
        let head = PanelHead {
            title: "What a tenth less is worth",
            unit: &unit,
        };
        let names: Vec<String> = self.levers.iter().map(|l| l.name.clone()).collect();
        let rows = Rows::new(page, bounds, &head, &names, NAMES, &axis)?;
        let quiet = Letters { color: MUTED, ..LABEL };
        for (row, (lever, gain)) in self
            .levers
            .iter()
            .enumerate()
            .filter_map(|(r, l)| Some((r, (l, l.tenth?))))
        {
            rows.bar(row, (0.0, gain.mean), (0.6, 0.0), SECOND)?;
            rows.whisker(
                row,
                (gain.mean - 1.96 * gain.se, gain.mean + 1.96 * gain.se),
                0.0,
                &INTERVAL,
            )?;
            let little = lever.gain.map_or_else(String::new, |little| {
                format!(
                    "; {} less {}",
                    words::little(lever, &self.answer.currency),
                    self.amount(little.mean)
                )
            });
            let text = format!("{}{little}", self.amount(gain.mean));
            rows.figure(row, &text, if gain.mean > 0.0 { LABEL } else { quiet })?;
        }
        Ok(())
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

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        let counts = self.counts();
        (PAGE + counts.iter().map(|n| AROUND + ROW * n).sum::<usize>()) as u32
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        let most = self.moving.first().map_or_else(
            || "nothing varies".to_owned(),
            |i| {
                let total = i.shares.map_or(0.0, |s| s.total.share);
                format!(
                    "{} moves a run's result most, {} of the variance",
                    i.name,
                    format::share_estimate(total)
                )
            },
        );
        format!(
            "Rows of bars in up to three panels: shares of the variance of the hourly rate, long-run rate with one range at its \
             low or high tenth, and what a tenth less of something is worth. At batches of {}, {most}.",
            format::count(self.answer.size.into())
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let foot = format!(
            "Made {} · long-run rate {} (upright line) · target {} (dashed) · {} runs of each sample and setting · seed {} · batchwright {}",
            words::made(a.size),
            format::money(a.long_run.mean, &a.currency),
            format::typed_money(a.target, &a.currency),
            format::count(a.trials),
            a.seed,
            a.version
        );
        let page = Page::new(root, &a.title, self.headline, &foot)?;
        let shares: Vec<f64> = self.counts().iter().map(|n| *n as f64).collect();
        let mut boxes = page.stacked(&shares).into_iter();
        let mut next = |wanted: bool| if wanted { boxes.next() } else { None };
        if let Some(bounds) = next(!self.moving.is_empty()) {
            self.shares_panel(&page, bounds)?;
        }
        if let Some(bounds) = next(!self.swinging.is_empty()) {
            self.swings_panel(&page, bounds)?;
        }
        if let Some(bounds) = next(!self.levers.is_empty()) {
            self.gains_panel(&page, bounds)?;
        }
        Ok(())
    }
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
