//! The chart of `calendar`: share of runs done by each date, and beneath it the day plan of the median run as bars.

use super::frame::{Axis, Drawn, EndLabel, Key, LABEL, Letters, Line, Page, Panel, PanelHead, ROW, Rows, STRONG};
use super::labels::Rect;
use super::palette::{ASKED, BAND, INK, MAIN, MUTED, PAYS, SECOND};
use super::ticks::SizeScale;
use super::{Canvas, ChartError, Picture};
use crate::questions::calendar::{AtSize, Calendar, Day};
use crate::render::format;
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;

/// Height of everything but the rows of the plan, and of the panel above them.
const FIXED: f64 = 660.0;
const DONE: Line = Line::solid(MAIN, 2.8);
const MEDIAN: Line = Line::solid(INK, 1.6);
const KEPT: Line = Line::dashed(PAYS, 2.2, 8.0, 4.0);
const DUE: Line = Line::dashed(ASKED, 2.2, 3.0, 3.0);
/// Noon, in days.
const NOON: f64 = 0.5;
/// Room for the names of steps, in pixels.
const NAMES: f64 = 220.0;

/// An answer to `calendar` and its words.
pub(super) struct Chart<'a> {
    answer: &'a Calendar,
    at: &'a AtSize,
    headline: &'a str,
}

impl<'a> Chart<'a> {
    pub(super) fn new(answer: &'a Calendar, headline: &'a str) -> Result<Self, ChartError> {
        let at = answer.asked().ok_or(ChartError::Empty)?;
        if answer.by_date.is_empty() || answer.plan.steps.is_empty() {
            return Err(ChartError::Empty);
        }
        Ok(Self { answer, at, headline })
    }

    /// Noon of a day, in days from midnight of the start: a date stands in the middle of its day.
    fn noon(&self, day: Day) -> f64 {
        self.answer.start.days_to(day) as f64 + NOON
    }

    /// Days against which both panels are drawn.
    fn axis(&self) -> Axis {
        let plan = self.answer.plan.bars.iter().map(|bar| bar.until).fold(0.0, f64::max);
        let due = self.answer.due.map_or(0.0, |due| self.noon(due));
        let end = self.noon(self.at.finish_last);
        // A due date far away would squeeze all the rest.
        let high = if due <= 2.0 * end { end.max(due) } else { end };
        let high = high.max(plan.ceil()).max(2.0) + NOON;
        // Dates a day, a week or more apart, on Mondays where they are weeks.
        let apart = [1_i64, 2, 7, 14, 28, 56, 112]
            .into_iter()
            .find(|apart| high / *apart as f64 <= 12.0)
            .unwrap_or(365);
        let to_monday = (7 - i64::from(self.answer.start.0.weekday().to_monday_zero_offset())) % 7;
        let first = if apart >= 7 { to_monday } else { 0 };
        let mut ticks = Vec::new();
        let mut day = first;
        while (day as f64) < high {
            if let Some(date) = self.answer.start.plus(day) {
                ticks.push((day as f64 + NOON, format::tick_date(date.0)));
            }
            day += apart;
        }
        Axis {
            scale: SizeScale {
                low: 0.0,
                high,
                log: false,
            },
            ticks,
        }
    }

    /// Share of runs done by the end of each date: a staircase.
    fn done<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect, axis: &Axis) -> Drawn<DB> {
        let a = self.answer;
        let head = PanelHead {
            title: "Runs that are done",
            unit: "% of all, by the end of each day",
        };
        let panel = Panel::new(page, bounds, &head, axis, (0.0, 100.0))?;
        let mut points = vec![(0.0, Some(0.0))];
        let mut before = 0.0;
        for by in &a.by_date {
            let end = self.noon(by.date);
            points.push((end, Some(100.0 * before)));
            before = by.done.share;
            points.push((end, Some(100.0 * before)));
        }
        points.push((axis.scale.high, Some(100.0 * before)));
        let (median, kept) = (self.at.finish_median, self.at.finish_kept);
        let band: Vec<(f64, f64, f64)> = [kept.low, kept.high]
            .iter()
            .map(|day| (self.noon(*day), 0.0, 100.0 * a.confidence))
            .collect();
        if kept.low < kept.high {
            panel.between_curves(&band, BAND)?;
        }
        let on_axis = |due: Day| self.noon(due) <= axis.scale.high && due >= a.start;
        if let Some(due) = a.due.filter(|due| on_axis(*due)) {
            panel.upright(self.noon(due), &DUE)?;
        }
        panel.curve(&points, &DONE, false)?;
        let mut notes = Vec::new();
        for (estimate, share, line) in [(median, 0.5, &MEDIAN), (kept, a.confidence, &KEPT)] {
            let x = self.noon(estimate.date);
            panel.curve(&[(x, Some(0.0)), (x, Some(100.0 * share))], line, false)?;
            panel.dot((x, 100.0 * share), 5.0, line.color)?;
            notes.push((x, share, line.color));
        }
        let mut labels = vec![
            EndLabel {
                value: 50.0,
                key: Key::Line(MEDIAN),
                name: "half by".to_owned(),
                figure: format::short_date(median.date.0, Some(a.start.0.year())),
            },
            EndLabel {
                value: 100.0 * a.confidence,
                key: Key::Line(KEPT),
                name: format!("{} by", format::confidence(a.confidence)),
                figure: format::short_date(kept.date.0, Some(a.start.0.year())),
            },
        ];
        if kept.low < kept.high {
            labels.push(EndLabel {
                value: 35.0,
                key: Key::Area(BAND),
                name: "its interval (95 %)".to_owned(),
                figure: String::new(),
            });
        }
        let due = a.due.zip(self.at.due);
        if let Some((due, kept)) = due.filter(|(due, _)| on_axis(*due)) {
            labels.push(EndLabel {
                value: 15.0,
                key: Key::Line(DUE),
                name: format!("due {}, kept", format::tick_date(due.0)),
                figure: format::share(kept.kept.share),
            });
        }
        panel.end_labels(&labels)?;
        // A date that the axis does not reach has no line, and so no key to one.
        let Some((due, kept)) = due.filter(|(due, _)| !on_axis(*due)) else {
            return Ok(());
        };
        let where_it_is = if due < a.start {
            "before the start"
        } else {
            "beyond the axis"
        };
        let text = format!(
            "due {}, {where_it_is}: kept in {} of runs",
            format::short_date(due.0, Some(a.start.0.year())),
            format::share(kept.kept.share)
        );
        let b = panel.bounds;
        let places: Vec<((f64, f64), HPos)> = [0.85, 0.7, 0.55, 0.4, 0.25]
            .iter()
            .flat_map(|t| {
                let y = b.y0 + t * (b.y1 - b.y0);
                [((b.x1 - 10.0, y), HPos::Right), ((b.x0 + 10.0, y), HPos::Left)]
            })
            .collect();
        let letters = Letters { color: ASKED, ..STRONG };
        panel.note(&[(&text, letters)], &places)
    }

    /// The median run: what is at the bench and what waits when.
    fn plan<DB: DrawingBackend>(&self, page: &Page<DB>, bounds: Rect, axis: &Axis) -> Drawn<DB> {
        let plan = &self.answer.plan;
        let head = PanelHead {
            title: "The batch in the middle, day by day",
            unit: "dark: at the bench; light: waits, nobody's hands needed",
        };
        let rows = Rows::new(page, bounds, &head, &plan.steps, NAMES, axis)?;
        for bar in plan.bars.iter().filter(|bar| bar.wait) {
            rows.bar(bar.step, (bar.from, bar.until), (0.42, 0.0), BAND)?;
        }
        for bar in plan.bars.iter().filter(|bar| !bar.wait) {
            // A few minutes must still be seen.
            let least = axis.scale.high / 300.0;
            rows.bar(
                bar.step,
                (bar.from, bar.until.max(bar.from + least)),
                (0.72, 0.0),
                SECOND,
            )?;
        }
        rows.upright(self.noon(plan.finish), &MEDIAN)?;
        let quiet = Letters { color: MUTED, ..LABEL };
        for (row, _) in plan.steps.iter().enumerate() {
            let hours: f64 = plan
                .days
                .iter()
                .flat_map(|day| &day.work)
                .filter(|done| done.step == row)
                .map(|done| done.hours)
                .sum();
            if hours > 0.0 {
                rows.figure(row, &format::whole_minutes(hours), quiet)?;
            }
        }
        rows.name_axis("date; each stands at the noon of its day")
    }
}

impl Picture for Chart<'_> {
    fn height(&self) -> u32 {
        (FIXED + self.rows()) as u32
    }

    fn title(&self) -> String {
        format!("{}: {}", self.answer.title, self.headline)
    }

    fn description(&self) -> String {
        let list: Vec<String> = self
            .answer
            .by_date
            .iter()
            .map(|by| format!("{}: {}", by.date, format::share(by.done.share)))
            .collect();
        let steps = self.answer.plan.steps.join(", ");
        format!(
            "Two panels: share of runs done by date with the median and the kept date, and the day plan of the median run with \
             a row for each of these steps: {steps}. Done by date: {}.",
            list.join("; ")
        )
    }

    fn draw(&self, root: DrawingArea<Canvas, Shift>) -> Drawn<Canvas> {
        let a = self.answer;
        let foot = format!(
            "Runs of {} · {} a week at the bench, from {} · {} simulated runs · seed {} · batchwright {}",
            format::count(a.size.into()),
            format::hours(a.week_hours),
            a.opens,
            format::count(a.trials),
            a.seed,
            a.version
        );
        let page = Page::new(root, &a.title, self.headline, &foot)?;
        let axis = self.axis();
        let boxes = page.stacked(&[300.0, self.rows()]);
        let [done, plan] = boxes.as_slice() else {
            return Ok(());
        };
        // Both panels share their dates, so the upper one begins where the rows do.
        let done = Rect {
            x0: 32.0 + NAMES,
            ..*done
        };
        self.done(&page, done, &axis)?;
        self.plan(&page, *plan, &axis)
    }
}

impl Chart<'_> {
    fn rows(&self) -> f64 {
        ROW * self.answer.plan.steps.len() as f64
    }
}
