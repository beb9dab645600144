//! The answer to `calendar` in words, tables, a bar plan in text, JSON and CSV; its chart is in `chart/calendar.rs`.

#[cfg(feature = "charts")]
use super::chart::{self, ChartError};
use super::csv::{Table, cell};
use super::figure::{self, Cell};
use super::format::{
    self, Form, asked_of_100, confidence, count, days, hours, hours_interval, mean_count, of_100, plain_interval,
    ready_at, share_estimate, short_date, tick_date,
};
use super::grid::Grid;
use super::text::{Look, Page, cut, printable};
use super::words::capital;
use super::{Render, json};
use crate::questions::calendar::{
    AtSize, Calendar, DateEstimate, Day, DueAnswer, Lever, LimitedBy, More, PlanDay, Waiting,
};
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
            opening: opening(self),
            why: why(self),
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

/// The date to promise, or to start by where a date is due, and how surely it is kept.
#[must_use]
pub fn opening(answer: &Calendar) -> Vec<String> {
    let Some(at) = answer.asked() else { return Vec::new() };
    match answer.due.zip(at.due.as_ref()) {
        Some((date, due)) => for_a_date(answer, at, date, due),
        None => promise(answer, at),
    }
}

fn promise(answer: &Calendar, at: &AtSize) -> Vec<String> {
    let kept = at.finish_kept.date;
    let (start, run) = (said_beside(answer.start, kept), batch_of(at.size));
    let mut said = vec![format!("Promise {}.", format::date(kept.0, None))];
    if answer.certain {
        let later = days(at.finish_median.days as f64);
        said.push(format!("Started on {start}, {run} is done on that day, {later} later."));
        said.push("Nothing in it is left to chance.".to_owned());
        return said;
    }
    let (often, batches) = (done_by(answer, kept), batches_of(at.size));
    said.push(format!(
        "Started on {start}, {run} is done by then in {often} {batches}."
    ));
    let half = at.finish_median.date;
    if half != kept {
        said.push(format!("Half of them are done by {}.", said_beside(half, kept)));
    }
    said
}

fn for_a_date(answer: &Calendar, at: &AtSize, date: Day, due: &DueAnswer) -> Vec<String> {
    let by = said_beside(date, answer.start);
    let (start, run) = (said_beside(answer.start, date), batch_of(at.size));
    let (surely, batches) = (asked_of_100(answer.confidence), batches_of(at.size));
    let too_late = due.latest_start.is_none_or(|latest| latest < answer.start);
    let it = if too_late { run.as_str() } else { "it" };
    let kept = match (answer.certain, due.kept.share == 0.0) {
        (true, true) => format!("Started on {start}, {it} is done too late."),
        (false, true) => format!("Started on {start}, {it} is never done in time."),
        (true, false) => format!("Started on {start}, {it} is done in time."),
        (false, false) => format!(
            "Started on {start}, {it} is done in time in {} {batches}.",
            of_100(due.kept.share)
        ),
    };
    let instead = format!("Promise {}, not {by}.", format::date(at.finish_kept.date.0, None));
    match due.latest_start {
        None => vec![
            instead,
            kept,
            "No start in the ten years before would keep that date surely enough.".to_owned(),
        ],
        Some(latest) if latest < answer.start => vec![
            instead,
            kept,
            if answer.certain {
                format!("It had to be started by {}.", said_beside(latest, answer.start))
            } else {
                format!(
                    "To be done in time in {surely} {batches}, it had to be started by {}.",
                    said_beside(latest, answer.start)
                )
            },
        ],
        Some(latest) => {
            let by = said_beside(date, latest);
            let mut said = vec![
                format!("Start by {}.", format::date(latest.0, None)),
                match due.kept_then.filter(|_| !answer.certain) {
                    None => format!("Then {run} is done by {by}, the date it is due."),
                    Some(kept) => format!(
                        "Then {run} is done by {by}, the date it is due, in {} {batches}.",
                        of_100(kept.share)
                    ),
                },
            ];
            if latest != answer.start {
                said.push(kept);
            }
            said
        }
    }
}

/// What is counted by hundreds.
fn batches_of(size: u32) -> &'static str {
    if size == 1 { "cases" } else { "batches" }
}

fn batch_of(size: u32) -> String {
    if size == 1 {
        "a single piece".to_owned()
    } else {
        format!("a batch of {}", count(size.into()))
    }
}

/// A date in the same paragraph as another: the year only where it is another one.
fn said_beside(day: Day, other: Day) -> String {
    format::date(day.0, Some(other.0.year()))
}

/// In how many of 100 batches all is done by a date that the answer names.
fn done_by(answer: &Calendar, day: Day) -> String {
    let by = answer.by_date.iter().find(|by| by.date == day);
    by.map_or_else(|| asked_of_100(answer.confidence), |by| of_100(by.done.share))
}

/// What a later start would do, what limits, and what would bring it forward.
fn why(answer: &Calendar) -> Vec<String> {
    let Some(at) = answer.asked() else { return Vec::new() };
    let mut said = Vec::new();
    if let Some(due) = at
        .due
        .as_ref()
        .filter(|due| due.latest_start.is_some_and(|latest| latest >= answer.start))
    {
        said.push(match (due.next_start.zip(due.kept_next), answer.certain) {
            (Some((next, _)), true) => format!("A start on {} would be too late.", long(answer, next)),
            (Some((next, kept)), false) => format!(
                "Started on {}, the next bench day, it is done in time in {} {}.",
                long(answer, next),
                of_100(kept.share),
                batches_of(at.size)
            ),
            (None, _) => "That is the last bench day before the date.".to_owned(),
        });
    }
    said.push(limits(answer, at));
    said.extend(brought_forward(answer, at));
    said
}

/// Brought forward by less than so many days: hardly worth building for (assumption).
const LITTLE: f64 = 0.5;

fn limits(answer: &Calendar, at: &AtSize) -> String {
    let limits = &at.limits;
    match limits.by {
        // Busy hands, and yet it is room that would do most.
        LimitedBy::Hands if best_lever(answer).is_some_and(|lever| lever.more != More::HourAWeek) => format!(
            "Your hands are busy in {} of the bench hours until then, but more room would do most.",
            share_estimate(limits.hands.mean)
        ),
        LimitedBy::Hands => format!(
            "Your hands are what limits it: they are busy in {} of the bench hours until then.",
            share_estimate(limits.hands.mean)
        ),
        LimitedBy::Room => format!(
            "Room is what limits it: in {} of the bench hours until then work stands ready and finds none.",
            share_estimate(limits.room.mean)
        ),
        LimitedBy::Wait => format!(
            "Waiting is what limits it: in {} of the bench hours until then there is nothing else to do.",
            share_estimate(limits.wait.mean)
        ),
    }
}

/// What would bring it forward most, and whether that moves a date.
fn brought_forward(answer: &Calendar, at: &AtSize) -> Vec<String> {
    let Some(best) = best_lever(answer) else {
        return vec![if at.finish_last == answer.start {
            "All is done on the first day.".to_owned()
        } else if answer.levers.iter().any(|lever| lever.more != More::HourAWeek) {
            "Neither more room nor an hour a week more would bring it forward by as much as an hour.".to_owned()
        } else {
            "An hour a week more at the bench would bring it forward by less than an hour.".to_owned()
        }];
    };
    let mean = best.days_earlier.mean;
    let only = if mean < LITTLE { "only " } else { "" };
    let by = match answer.certain {
        true => format!("{only}{}", days(mean)),
        false => format!("{only}{} on average", days(mean)),
    };
    let mut said = vec![match best.more {
        More::HourAWeek => format!("An hour a week more at the bench would bring it forward by {by}."),
        More::Place => format!("One more place at {} would bring it forward by {by}.", quoted(best)),
        More::TwiceTheRoom => format!("Twice the room at {} would bring it forward by {by}.", quoted(best)),
        More::Second => format!("A second {} would bring it forward by {by}.", kept_in(best)),
    }];
    // A mean may move where the date that is said does not: then the one must not be read as the other.
    if best.finish_kept == at.finish_kept.date {
        said.push(match answer.due {
            None => "Even so, the date to promise stays the same.".to_owned(),
            Some(_) => "Even so, it is surely done no day sooner.".to_owned(),
        });
    }
    said
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
    let Some(at) = answer.asked() else {
        return String::new();
    };
    let kept = at.finish_kept.date;
    let (start, run) = (said_beside(answer.start, kept), batch_of(at.size));
    let date = format::date(kept.0, None);
    if answer.certain {
        format!("Started on {start}, {run} is done on {date}")
    } else {
        format!(
            "Started on {start}, {run} is done by {date} in {} {}",
            done_by(answer, kept),
            batches_of(at.size)
        )
    }
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
    said.push(if answer.certain {
        "The day plan shows the batch; the end of a wait is rounded up.".to_owned()
    } else {
        "The day plan shows the batch whose finish is nearest the middle, with as many steps at work as usual. The end of a \
         wait is rounded up."
            .to_owned()
    });
    said.push(format!(
        "The bench is open for {} until the finish. Hands are busy in {} of that, {} goes by with work that finds no room and {} \
         with waiting. Of all clock time, nights and days off included, hands are busy in {}.",
        hours(limits.bench_hours.mean),
        share_estimate(limits.hands.mean),
        share_estimate(limits.room.mean),
        share_estimate(limits.wait.mean),
        share_estimate(limits.hands_of_clock.mean)
    ));
    let earlier = if answer.begins_earlier {
        ", or earlier where the hours would go on past midnight"
    } else {
        ""
    };
    said.push(format!(
        "You are at the bench for {} a week, from {} on bench days{earlier}. Waits go on through nights and days off.",
        hours(answer.week_hours),
        answer.opens
    ));
    said.push(
        "Earlier steps go first. A round begins when all its pieces are there and the step's room is empty, and keeps the room \
         until its wait is over. What is not done when the bench closes goes on the next bench day. Done means packed and dry: \
         the last wait is over."
            .to_owned(),
    );
    let shared: Vec<String> = answer
        .levers
        .iter()
        .filter_map(|lever| lever.kept_in.as_deref())
        .map(|place| format!("the {}", printable(place)))
        .collect();
    if !shared.is_empty() {
        said.push(format!(
            "Several steps share {}, which holds one round at a time.",
            shared.join(", ")
        ));
    }
    if answer.once_hours > 0.0 {
        let once = hours(answer.once_hours);
        said.push(match (answer.first_run, look.terminal) {
            (true, _) => format!("The {once} spent once for the design are in it."),
            (false, true) => format!("The {once} spent once for the design are not in it; --first-run adds them."),
            (false, false) => format!("The {once} spent once for the design are not in it."),
        });
    }
    if answer.certain {
        said.push(format!(
            "Nothing is left to chance, so one batch says it all. Batchwright {}.",
            answer.version
        ));
        return said;
    }
    said.push(format!(
        "Simulation error (95 %): half are done by {}, {} by {}; hands-on time is {}.",
        interval(answer, &at.finish_median),
        confidence(answer.confidence),
        interval(answer, &at.finish_kept),
        hours_interval(
            at.hands_hours.mean - Z975 * at.hands_hours.se,
            at.hands_hours.mean + Z975 * at.hands_hours.se
        )
    ));
    if let Some(due) = &at.due {
        said.push(format!(
            "Simulation error (95 %): {} are done when due.",
            shares_of(&due.kept)
        ));
    }
    said.push(format!(
        "{} batches were simulated. Seed {}, batchwright {}.",
        count(answer.trials),
        answer.seed,
        answer.version
    ));
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
