//! The plot of `calendar`: share of batches done by each date, and beneath it the day plan of the batch in the middle.

use super::{due_kept, headline, plan_date, started_on};
use crate::questions::calendar::{AtSize, ByDate, Calendar, Day};
use crate::render::format;
use crate::render::plot::palette::{ASKED, BAND, INK, MAIN, MUTED, PAYS, SECOND};
use crate::render::plot::ticks::SizeScale;
use crate::render::plot::{
    Axis, EndLabel, LABEL, Layer, Line, NAMES, Panel, Plot, RowLayer, STRONG, Sign, SpotSaid, Text, at_ends, shares,
    spots,
};

/// Height of everything but the rows of the plan, of the panel above them, and of a row.
const FIXED: f64 = 660.0;
const PANEL: f64 = 300.0;
const ROW: f64 = 30.0;
const DONE: Line = Line::solid(MAIN, 2.8);
const MEDIAN: Line = Line::solid(INK, 1.6);
const KEPT: Line = Line::dashed(PAYS, 2.2, 8.0, 4.0);
const DUE: Line = Line::dashed(ASKED, 2.2, 3.0, 3.0);
/// A due date that takes more than so many times as long as the batch itself is off the axis.
const FAR: f64 = 6.0;
/// Noon, in days.
const NOON: f64 = 0.5;

/// The whole plot; nothing where there is no plan.
pub(super) fn plot(answer: &Calendar) -> Option<Plot> {
    let at = answer.as_planned()?;
    if answer.by_date.is_empty() || answer.plan.steps.is_empty() {
        return None;
    }
    let by_date = match &answer.then {
        Some(_) => &answer.by_date_then,
        None => &answer.by_date,
    };
    let view = View { answer, at, by_date };
    let each = by_date
        .iter()
        .map(|by| format!("{}: {}", by.date, format::share(by.done.share)));
    let (list, steps) = (each.collect::<Vec<_>>().join("; "), answer.plan.steps.join(", "));
    let rows = ROW * answer.plan.steps.len() as f64;
    Some(Plot {
        foot: format!(
            "Batches of {} · {} a week at the bench, {} · {} simulated {} · seed {} · batchwright {}",
            format::count(answer.size.into()),
            format::hours(answer.week_hours),
            match answer.opens_as_written {
                Some(_) => "from when the file says".to_owned(),
                None => format!("from {}", answer.opens),
            },
            format::count(answer.trials),
            if answer.trials == 1 { "batch" } else { "batches" },
            answer.seed,
            answer.version
        ),
        description: format!(
            "Two panels: share of batches done by date with the median and the kept date, and the day plan of the median batch with \
             a row for each of these steps: {steps}. Done by date, started on {}: {list}.",
            answer.plan.start
        ),
        height: (FIXED + rows) as u32,
        panels: vec![view.done(), view.plan(rows)],
        ..Plot::about(&answer.title, headline(answer))
    })
}

/// The answer from the start that the plan has.
struct View<'a> {
    answer: &'a Calendar,
    at: &'a AtSize,
    by_date: &'a [ByDate],
}

impl View<'_> {
    /// Noon of a day, in days from midnight of the plan's start: a date stands in the middle of its day.
    fn noon(&self, day: Day) -> f64 {
        self.answer.plan.start.days_to(day) as f64 + NOON
    }

    /// Days against which both panels are drawn.
    fn axis(&self) -> Axis {
        let due = self.answer.due.map_or(0.0, |due| self.noon(due));
        let end = self.noon(self.at.finish_last);
        // A due date far away would squeeze all the rest.
        let high = if due <= FAR * end { end.max(due) } else { end };
        Self::days(self.answer.plan.start, high.max(self.plan_days()))
    }

    /// Days from midnight of the plan's start until all is done and dry.
    fn plan_days(&self) -> f64 {
        let bars = self.answer.plan.bars.iter();
        bars.map(|bar| bar.until).fold(0.0, f64::max).ceil()
    }

    /// Days from one on, as an axis.
    fn days(from: Day, high: f64) -> Axis {
        let high = high.max(2.0) + NOON;
        // Dates a day, a week or more apart, on Mondays where they are weeks.
        let apart = [1_i64, 2, 7, 14, 28, 56, 112]
            .into_iter()
            .find(|apart| high / *apart as f64 <= 12.0)
            .unwrap_or(365);
        let to_monday = (7 - i64::from(from.0.weekday().to_monday_zero_offset())) % 7;
        let first = if apart >= 7 { to_monday } else { 0 };
        let days = (first..).step_by(apart as usize).take_while(|day| (*day as f64) < high);
        // So far apart that a year passes, dates say theirs.
        let year = (apart < 28).then(|| from.0.year());
        let tick = |day: i64| Some((day as f64 + NOON, format::tick_date(from.plus(day)?.0, year)));
        Axis {
            scale: SizeScale {
                low: 0.0,
                high,
                log: false,
            },
            ticks: days.filter_map(tick).collect(),
            name: "date (its mark is at noon)".into(),
        }
    }

    /// Share of batches done by the end of each date: a staircase.
    fn done(&self) -> Panel {
        let a = self.answer;
        let axis = self.axis();
        let kept = self.at.finish_kept;
        let mut layers: Vec<Layer> = Vec::new();
        if kept.low < kept.high {
            let end = |day| (self.noon(day), 0.0, 100.0 * a.confidence);
            layers.push(Layer::band(vec![end(kept.low), end(kept.high)], BAND));
        }
        let on_axis = |due: Day| self.noon(due) <= axis.scale.high && due >= a.plan.start;
        let due = a.due.filter(|due| on_axis(*due));
        layers.extend(due.map(|due| Layer::upright(self.noon(due), DUE)));
        layers.push(Layer::curve(self.stairs(axis.scale.high), DONE));
        for (day, share, line) in [
            (self.at.finish_median.date, 0.5, MEDIAN),
            (kept.date, a.confidence, KEPT),
        ] {
            let (x, y) = (self.noon(day), 100.0 * share);
            layers.push(Layer::curve(vec![(x, Some(0.0)), (x, Some(y))], line));
            layers.push(Layer::dot((x, y), 5.0, line.color));
        }
        layers.push(Layer::ends(self.labels(due)));
        // A date that the axis does not reach has no line, and so no key to one.
        layers.extend(a.due.filter(|due| !on_axis(*due)).and_then(|due| self.off_axis(due)));
        Panel {
            title: format!("Batches that are done{}", started_on(a, a.plan.start)),
            unit: "% of all, by the end of each day".into(),
            names_wide: NAMES,
            told: self.done_by_date(),
            ..Panel::curves(PANEL, &axis, (0.0, 100.0), layers)
        }
    }

    /// Shares of batches done by the end of each date, to the end of the axis.
    fn stairs(&self, high: f64) -> Vec<(f64, Option<f64>)> {
        let (mut stairs, mut before) = (vec![(0.0, Some(0.0))], 0.0);
        for by in self.by_date {
            let end = self.noon(by.date);
            stairs.push((end, Some(before)));
            before = 100.0 * by.done.share;
            stairs.push((end, Some(before)));
        }
        stairs.push((high, Some(before)));
        stairs
    }

    /// What is done by each date on which anything is, and that nothing is done when the first day begins.
    fn done_by_date(&self) -> Vec<(f64, SpotSaid)> {
        let a = self.answer;
        let said = |day: Day, share: String| {
            let by = ("by the end of".to_owned(), plan_date(self.answer, day));
            vec![by, ("batches done".to_owned(), share)]
        };
        let first = a.plan.start;
        let none = (self.by_date.first().is_none_or(|by| by.date > first))
            .then(|| (self.noon(first), said(first, format::share(0.0))));
        let dates = self.by_date.iter().map(|by| {
            let mut said = said(by.date, format::share(by.done.share));
            if !a.certain {
                let interval = format::share_interval(by.done.low, by.done.high);
                said.push(("95 % interval".to_owned(), interval));
            }
            (self.noon(by.date), said)
        });
        none.into_iter().chain(dates).collect()
    }

    /// What is done at each step of the batch in the middle, when, and until when it waits.
    fn planned(&self) -> Vec<(f64, SpotSaid)> {
        let plan = &self.answer.plan;
        let step = |(row, name): (usize, String)| {
            let days: Vec<(Day, f64)> = self.each_day(row).filter(|(_, hours)| *hours > 0.0).collect();
            let mut said = vec![("step".to_owned(), name)];
            if let (Some((first, _)), Some((last, _))) = (days.first(), days.last()) {
                let hours = days.iter().map(|(_, hours)| hours).sum();
                said.push(("hands-on".to_owned(), format::whole_minutes(hours)));
                let when = match days.len() {
                    1 => plan_date(self.answer, *first),
                    count => {
                        let [first, last] = [first, last].map(|day| plan_date(self.answer, *day));
                        format!("{first} to {last}, on {count} days")
                    }
                };
                said.push(("at the bench".to_owned(), when));
            }
            let waits = plan.bars.iter().filter(|bar| bar.wait && bar.step == row);
            let over = waits.map(|bar| bar.until).fold(f64::NEG_INFINITY, f64::max);
            if let Some(day) = over.is_finite().then(|| plan.start.plus(over as i64)).flatten() {
                said.push(("waits until".to_owned(), plan_date(self.answer, day)));
            }
            (row as f64, said)
        };
        self.names().into_iter().enumerate().map(step).collect()
    }

    /// Hours at a step by bench day, whoever works.
    fn each_day(&self, step: usize) -> impl Iterator<Item = (Day, f64)> {
        self.answer.plan.days.iter().map(move |day| {
            let here = day.work.iter().filter(|done| done.step == step);
            (day.date, here.fold(0.0, |sum, done| sum + done.hours))
        })
    }

    /// The steps, each with who works there where that is not the maker alone.
    fn names(&self) -> Vec<String> {
        let plan = &self.answer.plan;
        let name = |(row, name): (usize, &String)| {
            let works = |helper: bool| {
                let mut work = plan.days.iter().flat_map(|day| &day.work);
                work.any(|done| done.step == row && done.helper == helper)
            };
            match (works(true), works(false)) {
                (true, false) => format!("{name} (helper)"),
                (true, true) => format!("{name} (you and helper)"),
                (false, _) => name.clone(),
            }
        };
        plan.steps.iter().enumerate().map(name).collect()
    }

    fn labels(&self, due: Option<Day>) -> Vec<EndLabel> {
        let a = self.answer;
        let (median, kept) = (self.at.finish_median, self.at.finish_kept);
        let kept_by = format!("{} by", format::confidence(a.confidence));
        let mut labels = vec![
            EndLabel::line(50.0, MEDIAN, "half by", plan_date(self.answer, median.date)),
            EndLabel::line(100.0 * a.confidence, KEPT, kept_by, plan_date(self.answer, kept.date)),
        ];
        if kept.low < kept.high {
            let name = format!("95 % interval of {}", format::confidence(a.confidence));
            labels.push(EndLabel::area(35.0, BAND, name, ""));
        }
        labels.extend(due.zip(due_kept(a)).map(|(due, kept)| {
            let name = format!("due {}, kept", format::tick_date(due.0, Some(a.plan.start.0.year())));
            EndLabel::line(15.0, DUE, name, format::share(kept.share))
        }));
        labels
    }

    fn off_axis(&self, due: Day) -> Option<Layer> {
        let where_it_is = if due < self.answer.plan.start {
            "before the start"
        } else {
            "beyond the axis"
        };
        let lines = vec![
            (format!("due {}", plan_date(self.answer, due)), STRONG.of(ASKED)),
            (
                format!("{where_it_is}, kept in {}", format::share(due_kept(self.answer)?.share)),
                LABEL.of(ASKED),
            ),
        ];
        let places = spots(&shares([0.85, 0.7, 0.55, 0.4, 0.25, 0.14]), &at_ends(10.0));
        Some(Layer::note(lines, places))
    }

    /// The batch in the middle: what is at the bench on which day, and what waits when.
    fn plan(&self, share: f64) -> Panel {
        let plan = &self.answer.plan;
        let axis = self.axis();
        let waits = plan.bars.iter().filter(|bar| bar.wait);
        let waits = waits.map(|bar| RowLayer::bar(bar.step, (bar.from, bar.until), 0.3, BAND));
        let mut layers: Vec<RowLayer> = waits.map(|bar| bar.signed(Sign::More)).collect();
        let rows =
            || (0..plan.steps.len()).flat_map(|step| self.each_day(step).map(move |(day, hours)| (step, day, hours)));
        let most = rows().map(|(.., hours)| hours).fold(0.0, f64::max);
        // As high as hours: minutes at the bench are nothing on an axis of weeks. Nor is a day on one of years, where it is two pixels wide.
        let half = (0.002 * axis.scale.high).max(0.44);
        layers.extend(rows().filter(|(.., hours)| *hours > 0.0).map(|(step, date, hours)| {
            let (noon, tall) = (self.noon(date), 0.14 + 0.76 * hours / most);
            RowLayer::bar(step, ((noon - half).max(0.0), noon + half), tall, SECOND).signed(Sign::Bar)
        }));
        layers.push(RowLayer::upright(self.noon(plan.finish), MEDIAN));
        for row in 0..plan.steps.len() {
            let hours: f64 = self.each_day(row).map(|(_, hours)| hours).sum();
            if hours > 0.0 {
                let text = format::whole_minutes(hours);
                layers.push(RowLayer::figure(row, text, LABEL.of(MUTED)));
            }
        }
        let started = started_on(self.answer, plan.start);
        Panel {
            title: format!("The batch in the middle, day by day{started}"),
            key: format!(
                "strong: at the bench that day, the highest {}; faint: waits, nobody's hands needed; upright: all is done",
                format::whole_minutes(most)
            ),
            share,
            told: self.planned(),
            text: Some(Text::of([
                (Sign::Bar, "at the bench that day"),
                (Sign::More, "waits"),
                (Sign::Aim, "start by"),
            ])),
            ..Panel::rows(self.names(), layers, axis)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each day of a plan that takes eight has its date at its noon, the last one at the edge; of forty from a Thursday
    /// on every Monday has.
    #[test]
    fn dates_stand_at_noon_as_far_as_the_axis_reaches() {
        let places = |high| {
            let axis = View::days(Day(jiff::civil::date(1970, 1, 1)), high);
            axis.ticks.iter().map(|tick| tick.0).collect::<Vec<f64>>()
        };
        assert_eq!(
            places(8.0),
            (0..=8).map(|day| f64::from(day) + 0.5).collect::<Vec<f64>>()
        );
        assert_eq!(places(40.0), [4.5, 11.5, 18.5, 25.5, 32.5, 39.5]);
    }
}
