//! The answer to `calendar` in words, tables, a bar plan in text, JSON and CSV; its chart is in `chart/calendar.rs`.

#[cfg(feature = "charts")]
use super::chart::{self, ChartError};
use super::csv::{Table, cell};
use super::figure::{self, Cell};
use super::format::{
    self, Form, confidence, count, days, hours, hours_interval, mean_count, plain_interval, ready_at, share,
    share_estimate, short_date, tick_date,
};
use super::grid::Grid;
use super::text::{Look, Page, cut, printable};
use super::words::{capital, run_of};
use super::{Render, json};
use crate::questions::calendar::{AtSize, Calendar, DateEstimate, Day, Lever, LimitedBy, More, PlanDay, Waiting};
use crate::stats::Share;
use crate::stats::Z975;

/// Lines of the day plan unless all are asked for.
const PLAN_LINES: usize = 32;
/// Letters of a step's name in the day plan.
const LONGEST_NAME: usize = 28;
const SHORTEST_NAME: usize = 8;

impl Render for Calendar {
    fn page(&self, look: &Look) -> Page {
        let mut tables = Vec::new();
        if self.sizes.len() > 1 {
            tables.push(sizes_table(self));
        }
        tables.push(plan_table(self, look));
        tables.push(levers_table(self, look));
        Page {
            title: self.title.clone(),
            opening: verdict(self),
            why: Vec::new(),
            tables,
            more: Vec::new(),
            small: small_print(self, look),
            chart: bar_plan(self, look.line(), look.unicode),
            care: CARE.to_owned(),
        }
    }

    fn json(&self) -> String {
        json::pretty(self)
    }

    fn csv(&self) -> String {
        csv(self)
    }

    #[cfg(feature = "charts")]
    fn svg(&self) -> Result<String, ChartError> {
        chart::calendar_svg(self, &headline(self))
    }

    #[cfg(feature = "charts")]
    fn png(&self) -> Result<Vec<u8>, ChartError> {
        chart::calendar_png(self, &headline(self))
    }
}

const CARE: &str = "Curing, drying and cooling times are the glue maker's, the finish's and the kiln's, not ours to shorten. Long \
                    days tire, and tired hands get hurt.";

fn year(answer: &Calendar) -> Option<i16> {
    Some(answer.start.0.year())
}

fn long(answer: &Calendar, day: Day) -> String {
    format::date(day.0, year(answer))
}

fn short_cell(answer: &Calendar, day: Day) -> Cell {
    figure::short_date(day.0, year(answer))
}

fn short(answer: &Calendar, day: Day) -> String {
    short_date(day.0, year(answer))
}

/// What runs into, in a sentence or three: when it is done, when to start for the date it is due, what limits.
#[must_use]
pub fn verdict(answer: &Calendar) -> Vec<String> {
    let Some(at) = answer.asked() else { return Vec::new() };
    let mut said = vec![format!("{}.", done(answer, at))];
    said.extend(due(answer, at));
    said.push(limits(answer, at));
    said
}

/// "Started on Thursday 3 December 2026, a run of 13 is done by ...", without a full stop.
fn done(answer: &Calendar, at: &AtSize) -> String {
    let begun = format!("Started on {}, {}", format::date(answer.start.0, None), run_of(at.size));
    let (half, kept) = (at.finish_median.date, at.finish_kept.date);
    let sure = confidence(answer.confidence);
    if answer.certain {
        return format!(
            "{begun} is done on {}, {} later; nothing in it is left to chance",
            long(answer, half),
            days(at.finish_median.days as f64)
        );
    }
    if half == kept {
        let by = answer.by_date.iter().find(|by| by.date == half);
        let share_of = by.map_or(sure, |by| share(by.done.share));
        return format!("{begun} is done by {} in {share_of} of runs", long(answer, half));
    }
    format!(
        "{begun} is done by {} in half of all runs, and by {} in {sure}",
        long(answer, half),
        long(answer, kept)
    )
}

fn due(answer: &Calendar, at: &AtSize) -> Option<String> {
    let (date, due) = answer.due.zip(at.due)?;
    let (by, sure) = (long(answer, date), confidence(answer.confidence));
    let now = if answer.certain {
        let keeps = if due.kept.share > 0.0 { "in time" } else { "too late" };
        format!("for {by} that is {keeps}")
    } else {
        format!("{} of runs are done by {by}, the date it is due", share(due.kept.share))
    };
    let Some(latest) = due.latest_start else {
        return Some(format!(
            "{}; no start in the ten years before would keep it.",
            capital(&now)
        ));
    };
    let latest_words = long(answer, latest);
    let next = match (due.next_start.zip(due.kept_next), answer.certain) {
        (Some((next, _)), true) => format!("; a start on {} would be too late", long(answer, next)),
        (Some((next, kept)), false) => {
            let kept = if kept.share == 0.0 {
                "none is".to_owned()
            } else {
                format!("only {} are", share(kept.share))
            };
            format!("; of those started on {} {kept}", long(answer, next))
        }
        (None, _) => "; it is the last bench day before".to_owned(),
    };
    let chance = if answer.certain {
        String::new()
    } else {
        format!(" in {sure} of runs")
    };
    Some(if latest < answer.start {
        format!(
            "{}: to be done by then{chance} it must be started by {latest_words}, which is before that start.",
            capital(&now)
        )
    } else {
        format!(
            "{}. To be done by then{chance}, start on {latest_words} at the latest{next}.",
            capital(&now)
        )
    })
}

/// Brought forward by less than so many days: hardly worth building for (assumption).
const LITTLE: f64 = 0.5;

fn limits(answer: &Calendar, at: &AtSize) -> String {
    let limits = &at.limits;
    let lever = best_lever(answer);
    let what = match limits.by {
        // Busy hands, and yet it is room that would do most.
        LimitedBy::Hands if lever.is_some_and(|lever| lever.more != More::HourAWeek) => format!(
            "Hands are busy in {} of the bench hours until then, but more room would do most",
            share_estimate(limits.hands.mean)
        ),
        LimitedBy::Hands => format!(
            "Hands are what limits: they are busy in {} of the bench hours until then",
            share_estimate(limits.hands.mean)
        ),
        LimitedBy::Room => format!(
            "Room is what limits: in {} of the bench hours until then work stands ready and finds none",
            share_estimate(limits.room.mean)
        ),
        LimitedBy::Wait => format!(
            "Waiting is what limits: in {} of the bench hours until then there is nothing to do but wait",
            share_estimate(limits.wait.mean)
        ),
    };
    let Some(best) = lever else {
        let so = if at.finish_last == answer.start {
            "and all is done on the first day"
        } else if answer.levers.iter().any(|lever| lever.more != More::HourAWeek) {
            "yet neither more room nor an hour a week more brings it forward by as much as an hour"
        } else {
            "yet an hour a week more at the bench brings it forward by less than an hour"
        };
        return format!("{what}, {so}.");
    };
    let given = match best.more {
        More::HourAWeek => "an hour a week more at the bench brings".to_owned(),
        More::Place => format!("one more place at {} brings", quoted(best)),
        More::TwiceTheRoom => format!("twice the room at {} brings", quoted(best)),
        More::Second => format!("a second {} would bring", kept_in(best)),
    };
    let only = if best.days_earlier.mean < LITTLE { "only " } else { "" };
    // A mean may move where the dates that are said do not: then the one must not be read as the other.
    let moves = best.finish_median != at.finish_median.date || best.finish_kept != at.finish_kept.date;
    let which = if at.finish_median.date == at.finish_kept.date {
        "the date"
    } else {
        "either date"
    };
    let so = match (answer.certain, moves) {
        (true, true) => String::new(),
        (true, false) => ", within the same day".to_owned(),
        (false, true) => " on average".to_owned(),
        (false, false) => format!(" on average, which does not move {which}"),
    };
    format!(
        "{what}; {given} it forward by {only}{}{so}.",
        days(best.days_earlier.mean)
    )
}

/// What there would be a second of.
fn kept_in(lever: &Lever) -> String {
    printable(lever.kept_in.as_deref().unwrap_or("place"))
}

fn quoted(lever: &Lever) -> String {
    format!("\"{}\"", printable(lever.step.as_deref().unwrap_or("")))
}

/// Of what brings a run forward by an hour or more beyond its own error, the one that does most; one more place or hour where
/// that does nearly as much (four fifths, assumption) as twice the room or a second kiln.
fn best_lever(answer: &Calendar) -> Option<&Lever> {
    let days = |lever: &Lever| lever.days_earlier.mean;
    let sure = |lever: &&Lever| days(lever) > Z975 * lever.days_earlier.se + 1.0 / 24.0;
    let most = |small: bool| {
        let kind = move |lever: &&Lever| !(small && matches!(lever.more, More::TwiceTheRoom | More::Second));
        let all = answer.levers.iter().filter(sure).filter(kind);
        all.reduce(|best, lever| if days(lever) > days(best) { lever } else { best })
    };
    let best = most(false)?;
    Some(
        most(true)
            .filter(|small| days(small) >= 0.8 * days(best))
            .unwrap_or(best),
    )
}

/// One sentence for a chart.
#[must_use]
pub fn headline(answer: &Calendar) -> String {
    answer.asked().map_or_else(String::new, |at| done(answer, at))
}

fn sizes_table(answer: &Calendar) -> Grid {
    let sure = confidence(answer.confidence);
    let mut heads = vec![
        "pieces\na run".to_owned(),
        "hands-on\nhours".to_owned(),
        "half done\nby".to_owned(),
        format!("{sure} done\nby"),
        "days\nto then".to_owned(),
        "hands busy\nat the bench".to_owned(),
    ];
    if answer.due.is_some() {
        heads.extend(["done when\ndue".to_owned(), "latest\nstart".to_owned()]);
    }
    let rows = answer
        .sizes
        .iter()
        .map(|at| {
            let mut row = vec![
                figure::count(at.size.into()),
                figure::hours(at.hands_hours.mean),
                short_cell(answer, at.finish_median.date),
                short_cell(answer, at.finish_kept.date),
                figure::mean_count(at.finish_kept.days as f64),
                figure::share_estimate(at.limits.hands.mean),
            ];
            if let Some(due) = &at.due {
                let latest = due
                    .latest_start
                    .map_or_else(|| "none".into(), |day| short_cell(answer, day));
                row.extend([figure::share(due.kept.share), latest]);
            }
            row
        })
        .collect();
    Grid {
        name: "By batch size".to_owned(),
        heads,
        rows,
        left: 0,
        marked: answer.sizes.iter().position(|at| at.size == answer.size),
        ..Grid::default()
    }
}

/// "glue pegs: 6, to 22:30", or "glue pegs: 6, to Thu 10 Dec 23:15" on another day.
fn waiting(answer: &Calendar, today: Day, waiting: &Waiting, room: usize) -> String {
    let step = answer.plan.steps.get(waiting.step).map_or("", String::as_str);
    let (later, time) = ready_at(waiting.until_minute);
    let until = waiting.until.plus(later).unwrap_or(waiting.until);
    let day = if until == today {
        String::new()
    } else {
        format!("{} ", short(answer, until))
    };
    format!("{}: {}, to {day}{time}", cut(step, room), count(waiting.pieces.into()))
}

/// Lines of a day: what is done beside what waits.
fn day_lines(answer: &Calendar, day: &PlanDay, room: usize) -> Vec<Vec<Cell>> {
    let lines = day.work.len().max(day.overnight.len()).max(1);
    (0..lines)
        .map(|k| {
            let first = k == 0;
            let mut row = vec![
                if first {
                    short_cell(answer, day.date)
                } else {
                    figure::nothing()
                },
                match (first, day.bench_hours > 0.0) {
                    (true, true) => figure::hours(day.bench_hours),
                    (true, false) => "closed".into(),
                    (false, _) => figure::nothing(),
                },
            ];
            match day.work.get(k) {
                Some(done) => {
                    let step = answer.plan.steps.get(done.step).map_or("", String::as_str);
                    row.extend([
                        cut(step, room).into(),
                        figure::whole_minutes(done.hours),
                        if done.pieces > 0 {
                            figure::count(done.pieces.into())
                        } else {
                            "-".into()
                        },
                    ]);
                }
                None => row.extend([figure::nothing(), figure::nothing(), figure::nothing()]),
            }
            row.push(
                day.overnight
                    .get(k)
                    .map_or_else(figure::nothing, |w| waiting(answer, day.date, w, room).into()),
            );
            row
        })
        .collect()
}

/// The day plan, the names of steps as long as there is room for.
fn plan_table(answer: &Calendar, look: &Look) -> Grid {
    let longest = look.letters(LONGEST_NAME);
    if longest > LONGEST_NAME {
        return plan_with(answer, look, longest);
    }
    let fits = |grid: &Grid| {
        let text = grid.text(look.unicode, None);
        text.lines().all(|line| line.chars().count() <= look.columns)
    };
    let mut tables = (SHORTEST_NAME..=LONGEST_NAME)
        .rev()
        .map(|room| plan_with(answer, look, room));
    let first = tables.find(fits);
    first.unwrap_or_else(|| plan_with(answer, look, SHORTEST_NAME))
}

fn plan_with(answer: &Calendar, look: &Look, room: usize) -> Grid {
    let days: Vec<Vec<Vec<Cell>>> = answer
        .plan
        .days
        .iter()
        .map(|day| day_lines(answer, day, room))
        .collect();
    let all: usize = days.iter().map(Vec::len).sum();
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    if look.all || all <= PLAN_LINES {
        rows.extend(days.into_iter().flatten());
    } else {
        // The first days, and the last one.
        let last = days.last().map_or(0, Vec::len);
        let mut left = days.len();
        for day in days {
            if rows.len() + day.len() + last + 1 > PLAN_LINES && left > 1 {
                break;
            }
            left -= 1;
            rows.extend(day);
        }
        let mut gap = vec![figure::nothing(); 6];
        gap[0] = "...".into();
        gap[2] = look.more_rows(left.saturating_sub(1), "days").into();
        rows.push(gap);
        if let Some(day) = answer.plan.days.last() {
            rows.extend(day_lines(answer, day, room));
        }
    }
    let heads = [
        "day",
        "bench",
        "what is done",
        "hands-on",
        "pieces",
        "waits when the bench closes",
    ]
    .map(String::from);
    Grid {
        name: "The run in the middle, day by day".to_owned(),
        words_last: true,
        heads: heads.to_vec(),
        rows,
        left: 3,
        marked: None,
        ..Grid::default()
    }
}

fn more(lever: &Lever) -> String {
    match (lever.more, lever.room) {
        (More::HourAWeek, _) => "an hour a week more".to_owned(),
        (More::Place, Some(room)) => format!("one more place, {}", count(room.into())),
        (More::TwiceTheRoom, Some(room)) => format!("twice the room, {}", count(room.into())),
        (More::Second, _) => format!("a second {}", cut(&kept_in(lever), 26)),
        (More::Place | More::TwiceTheRoom, None) => "more room".to_owned(),
    }
}

fn levers_table(answer: &Calendar, look: &Look) -> Grid {
    let sure = confidence(answer.confidence);
    let best = best_lever(answer);
    let rows = answer
        .levers
        .iter()
        .map(|lever| {
            let half = Z975 * lever.days_earlier.se;
            let mean = lever.days_earlier.mean;
            vec![
                more(lever).into(),
                match (&lever.step, lever.more) {
                    (Some(step), _) => cut(step, look.letters(26)).into(),
                    (None, More::Second) => "the shop".into(),
                    (None, _) => "the bench".into(),
                },
                figure::days_earlier(mean),
                if answer.certain {
                    "exact".into()
                } else {
                    let (low, high) = (mean - half, mean + half);
                    let said = if high < 0.0 {
                        format!("{} later", plain_interval(&mean_count(-high), &mean_count(-low)))
                    } else {
                        plain_interval(&mean_count(low), &mean_count(high))
                    };
                    figure::interval(said, [low, high].map(Some), Form::Days)
                },
                short_cell(answer, lever.finish_median),
                short_cell(answer, lever.finish_kept),
            ]
        })
        .collect();
    let heads = [
        "if there were\n".to_owned(),
        "at\n".to_owned(),
        "done earlier\non average".to_owned(),
        "95 % interval\ndays".to_owned(),
        "half done\nby".to_owned(),
        format!("{sure} done\nby"),
    ];
    Grid {
        name: "What would bring it forward".to_owned(),
        heads: heads.to_vec(),
        rows,
        left: 2,
        marked: best.and_then(|best| answer.levers.iter().position(|lever| lever == best)),
        ..Grid::default()
    }
}

fn interval(answer: &Calendar, estimate: &DateEstimate) -> String {
    plain_interval(&short(answer, estimate.low), &short(answer, estimate.high))
}

fn shares_of(of: &Share) -> String {
    format::share_interval(of.low, of.high)
}

fn small_print(answer: &Calendar, look: &Look) -> Vec<String> {
    let Some(at) = answer.asked() else { return Vec::new() };
    let mut said = Vec::new();
    if answer.from != answer.start {
        said.push(format!(
            "{} is no bench day; the first from there on is {}.",
            capital(&long(answer, answer.from)),
            long(answer, answer.start)
        ));
    }
    let limits = &at.limits;
    said.push(format!(
        "The day plan is that of {}; when waits are over is rounded up. Of the {} at the bench until the finish the hands are \
         busy in {}, {} goes by with work that has no room, {} with waiting; of all clock time, nights and days off included, \
         they are busy in {}.",
        if answer.certain {
            "the only run there is"
        } else {
            "the run nearest the median finish in which as many steps as usual have work"
        },
        hours(limits.bench_hours.mean),
        share_estimate(limits.hands.mean),
        share_estimate(limits.room.mean),
        share_estimate(limits.wait.mean),
        share_estimate(limits.hands_of_clock.mean)
    ));
    let earlier = if answer.begins_earlier {
        ", earlier where the hours would run past midnight"
    } else {
        ""
    };
    let shared: Vec<String> = answer
        .levers
        .iter()
        .filter_map(|lever| lever.kept_in.as_deref())
        .map(|place| format!("the {}", printable(place)))
        .collect();
    let shared = if shared.is_empty() {
        String::new()
    } else {
        format!(" ({}, where steps share it)", shared.join(", "))
    };
    let once = if answer.once_hours <= 0.0 {
        String::new()
    } else if answer.first_run {
        format!(" The {} spent once for the design are in it.", hours(answer.once_hours))
    } else {
        format!(
            " The {} spent once for the design are not in it{}.",
            hours(answer.once_hours),
            if look.terminal { "; --first-run adds them" } else { "" }
        )
    };
    said.push(format!(
        "{} a week at the bench, from {} on bench days{earlier}; waits run through nights and days off. Earlier steps go first; a round begins \
         when all its pieces are there and the step's room{shared} is empty, and keeps the room until its wait is over; what is not done \
         when the bench closes goes on the next bench day. Done means packed and dry: the last wait is over.{once}",
        hours(answer.week_hours),
        answer.opens
    ));
    let due = at
        .due
        .as_ref()
        .filter(|_| !answer.certain)
        .map_or_else(String::new, |due| {
            format!(", share done when due {}", shares_of(&due.kept))
        });
    said.push(if answer.certain {
        format!(
            "Nothing is left to chance, so one run says it all. batchwright {}.",
            answer.version
        )
    } else {
        format!(
            "Simulation error (95 %): half {}, {} {}{due}; hands-on {}. {} runs, seed {}, batchwright {}.",
            interval(answer, &at.finish_median),
            confidence(answer.confidence),
            interval(answer, &at.finish_kept),
            hours_interval(
                at.hands_hours.mean - Z975 * at.hands_hours.se,
                at.hands_hours.mean + Z975 * at.hands_hours.se
            ),
            count(answer.trials),
            answer.seed,
            answer.version
        )
    });
    said
}

/// The day plan as bars: steps against dates, a column a day or a few.
#[must_use]
pub fn bar_plan(answer: &Calendar, width: usize, unicode: bool) -> Option<String> {
    let plan = &answer.plan;
    let longest = plan.steps.iter().map(|step| printable(step).chars().count()).max()?;
    let names = longest.min(24).min(width / 3);
    let room = width.checked_sub(names + 3).filter(|room| *room >= 14)?;
    let last = plan.bars.iter().map(|bar| bar.until).fold(0.0, f64::max);
    let whole_days = (last.ceil() as usize).max(1);
    // A column holds a whole number of days, or a day has several columns.
    let per_column = whole_days.div_ceil(room);
    let per_day = (room / whole_days).clamp(1, 4);
    let columns = if per_column > 1 {
        whole_days.div_ceil(per_column)
    } else {
        whole_days * per_day
    };
    let column = |day: f64| {
        let at = if per_column > 1 {
            day / per_column as f64
        } else {
            day * per_day as f64
        };
        at.floor().max(0.0) as usize
    };
    let (work, wait, upright) = if unicode {
        ('█', '░', '│')
    } else {
        ('#', ':', '|')
    };
    let mut out = String::new();
    for (row, step) in plan.steps.iter().enumerate() {
        let mut cells = vec![' '; columns];
        for passes in [true, false] {
            for bar in plan.bars.iter().filter(|bar| bar.step == row && bar.wait == passes) {
                let (a, b) = (column(bar.from), column((bar.until - 1e-6).max(bar.from)));
                for cell in &mut cells[a.min(columns - 1)..=b.min(columns - 1)] {
                    *cell = if bar.wait { wait } else { work };
                }
            }
        }
        let line: String = cells.iter().collect();
        out.push_str(&format!("{:>names$} {upright}{}", cut(step, names), line.trim_end()));
        out.push('\n');
    }
    let (dash, tick) = if unicode { ('─', '┴') } else { ('-', '+') };
    let mut ruler = vec![dash; columns];
    let mut labels = vec![' '; columns + 8];
    let mut free = 0;
    for day in 0..whole_days {
        let at = column(day as f64);
        let Some(date) = answer.start.plus(day as i64).filter(|_| at >= free && at < columns) else {
            continue;
        };
        // The start, then the Mondays that have room.
        let monday = date.0.weekday().to_monday_zero_offset() == 0;
        if day > 0 && !monday {
            continue;
        }
        let text = tick_date(date.0);
        if at + text.len() > room + 1 {
            continue;
        }
        ruler[at] = tick;
        for (cell, letter) in labels[at..].iter_mut().zip(text.chars()) {
            *cell = letter;
        }
        free = at + text.len() + 2;
    }
    let corner = if unicode { '└' } else { '+' };
    let indent = " ".repeat(names + 1);
    out.push_str(&format!("{indent}{corner}{}\n", ruler.iter().collect::<String>()));
    let labels: String = labels.iter().collect();
    out.push_str(&format!(
        "{indent} {}\n",
        labels.trim_end().chars().take(room + 1).collect::<String>()
    ));
    out.push_str(&format!("{indent} {work} at the bench   {wait} waits\n"));
    if per_column > 1 {
        out.push_str(&format!("{indent} a column is {per_column} days\n"));
    }
    Some(out)
}

/// One row a size, unrounded; dates as ISO 8601.
fn csv(answer: &Calendar) -> String {
    let header = [
        "size",
        "start",
        "finish_median",
        "finish_median_low",
        "finish_median_high",
        "finish_kept",
        "finish_kept_low",
        "finish_kept_high",
        "confidence",
        "finish_first",
        "finish_last",
        "clock_days_mean",
        "clock_days_se",
        "hands_hours_mean",
        "hands_hours_se",
        "bench_hours_mean",
        "hands_share_of_bench",
        "room_share_of_bench",
        "wait_share_of_bench",
        "hands_share_of_clock",
        "limited_by",
        "due",
        "kept_share",
        "kept_low",
        "kept_high",
        "latest_start",
        "kept_from_latest_start",
        "next_start",
        "kept_from_next_start",
    ];
    let mut table = Table::new(header.map(String::from).to_vec());
    let date = |day: Option<Day>| day.map_or_else(String::new, |day| day.to_string());
    for at in &answer.sizes {
        let mut row = vec![at.size.to_string(), answer.start.to_string()];
        for estimate in [&at.finish_median, &at.finish_kept] {
            row.extend([estimate.date, estimate.low, estimate.high].map(|day| day.to_string()));
        }
        row.push(cell(Some(answer.confidence)));
        row.extend([at.finish_first, at.finish_last].map(|day| day.to_string()));
        let limits = &at.limits;
        let figures = [
            at.clock_days.mean,
            at.clock_days.se,
            at.hands_hours.mean,
            at.hands_hours.se,
            limits.bench_hours.mean,
            limits.hands.mean,
            limits.room.mean,
            limits.wait.mean,
            limits.hands_of_clock.mean,
        ];
        row.extend(figures.map(|figure| cell(Some(figure))));
        row.push(
            match limits.by {
                LimitedBy::Hands => "hands",
                LimitedBy::Room => "room",
                LimitedBy::Wait => "wait",
            }
            .to_owned(),
        );
        let due = at.due.as_ref();
        row.push(date(answer.due));
        row.push(cell(due.map(|due| due.kept.share)));
        row.push(cell(due.map(|due| due.kept.low)));
        row.push(cell(due.map(|due| due.kept.high)));
        row.push(date(due.and_then(|due| due.latest_start)));
        row.push(cell(due.and_then(|due| due.kept_then).map(|kept| kept.share)));
        row.push(date(due.and_then(|due| due.next_start)));
        row.push(cell(due.and_then(|due| due.kept_next).map(|kept| kept.share)));
        table.row(row);
    }
    table.into_text()
}
