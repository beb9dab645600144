//! The answer to `calendar` in words, tables, a bar plan in text, JSON and CSV; its chart is in `calendar/plot.rs`.

mod plot;

use super::Render;
use super::cautions;
use super::columns::{Columns, Declared, MEAN, SHARE, Table, Unit, between};
use super::figure::{self, Cell};
use super::format::{
    self, asked_of_100, confidence, count, days, hours, hours_interval, mean_count, of_100, of_100_beside,
    plain_interval, ready_at, share_in_words, short_date,
};
use super::page::Page;
use super::plot::Plot;
use super::text::{Look, printable};
use super::words::{batch_of, capital, joined};
use crate::questions::calendar::{
    AtSize, Calendar, DateEstimate, Day, DayWork, DueAnswer, Lever, LimitedBy, More, PlanDay, Waiting, Written,
};
use crate::stats::{Share, Z975};

/// Lines of the day plan unless all are asked for.
const PLAN_LINES: usize = 32;
/// Letters of a step's name in the day plan.
const SHORTEST_NAME: usize = 8;

impl Render for Calendar {
    fn page(&self, look: &Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self),
            why: why(self),
            tables: self.grids(look),
            small: small_print(self, look),
            care: care(self),
            ..Page::default()
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(Table::new("", self, "sizes", &self.sizes, columns(self))))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        let mut tables: Vec<Box<dyn Declared + '_>> = Vec::new();
        if self.sizes.len() > 1 {
            tables.push(Box::new(sizes_table(self)));
        }
        tables.push(Box::new(plan_table(self)));
        tables.push(Box::new(levers_table(self)));
        tables
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

const CARE: &str = "Curing, drying and cooling times are the glue maker's, the finish's and the kiln's, not ours to shorten. Long \
                    days tire, and tired hands get hurt.";

/// What the work on these days calls for, and that waits are not ours to shorten.
fn care(answer: &Calendar) -> String {
    let steps = answer.plan.steps.iter().map(String::as_str);
    format!("{}{CARE}", cautions::of_steps(steps))
}

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
pub fn opening(answer: &Calendar) -> Vec<String> {
    let Some(at) = answer.asked() else { return Vec::new() };
    match answer.due.zip(at.due.as_ref()) {
        Some((date, due)) => for_a_date(answer, at, date, due),
        None => promise(answer, at),
    }
}

fn promise(answer: &Calendar, at: &AtSize) -> Vec<String> {
    let kept = at.finish_kept.date;
    let (start, batch) = (said_beside(answer.start, kept), batch_of(at.size));
    let mut said = vec![format!("Promise {}.", format::date(kept.0, None))];
    if answer.certain {
        let later = days(at.finish_median.days as f64);
        said.push(format!(
            "Started on {start}, {batch} is done on that day, {later} later."
        ));
        said.push("Nothing in it is left to chance.".to_owned());
        return said;
    }
    let (often, batches) = (done_by(answer, kept), batches_of(at.size));
    said.push(format!(
        "Started on {start}, {batch} is done by then in {often} {batches}."
    ));
    let half = at.finish_median.date;
    if half != kept {
        said.push(format!("Half of them are done by {}.", said_beside(half, kept)));
    }
    said
}

fn for_a_date(answer: &Calendar, at: &AtSize, date: Day, due: &DueAnswer) -> Vec<String> {
    let by = said_beside(date, answer.start);
    let (start, batch) = (said_beside(answer.start, date), batch_of(at.size));
    let (surely, batches) = (asked_of_100(answer.confidence), batches_of(at.size));
    let too_late = due.latest_start.is_none_or(|latest| latest < answer.start);
    let it = if too_late { batch.as_str() } else { "it" };
    let kept = match (answer.certain, due.kept.share == 0.0) {
        (true, true) => format!("Started on {start}, {it} is done too late."),
        (false, true) => format!("Started on {start}, {it} is never done in time."),
        (true, false) => format!("Started on {start}, {it} is done in time."),
        (false, false) => {
            let often = of_100_beside(due.kept.share, answer.confidence);
            format!("Started on {start}, {it} is done in time in {often} {batches}.")
        }
    };
    let promise = format::date(at.finish_kept.date.0, None);
    if date < answer.start {
        return vec![
            format!("Name a later date than {by}: the work starts only on {start}."),
            format!("You can promise {promise}."),
        ];
    }
    let instead = format!("Promise {promise}, not {by}.");
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
                format!("It would have to be started by {}.", said_beside(latest, answer.start))
            } else {
                format!(
                    "To be done in time in {surely} {batches}, it would have to be started by {}.",
                    said_beside(latest, answer.start)
                )
            },
        ],
        Some(latest) => {
            let by = said_beside(date, latest);
            let mut said = vec![
                format!("Start by {}.", format::date(latest.0, None)),
                match due.kept_then.filter(|_| !answer.certain) {
                    None => format!("Then {batch} is done by {by}, the date it is due."),
                    Some(kept) => format!(
                        "Then {batch} is done by {by}, the date it is due, in {} {batches}.",
                        of_100_beside(kept.share, answer.confidence)
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
                of_100_beside(kept.share, answer.confidence),
                batches_of(at.size)
            ),
            (None, _) => format!(
                "{} is the last bench day before that.",
                capital(&due.latest_start.map_or_else(String::new, |latest| long(answer, latest)))
            ),
        });
    }
    // Of the start that is advised, as the plan is.
    if let Some(at) = answer.as_planned() {
        said.push(limits(answer, at));
        said.extend(brought_forward(answer, at));
    }
    said
}

/// Brought forward by less than so many days: hardly worth building for (assumption).
const LITTLE: f64 = 0.5;

fn limits(answer: &Calendar, at: &AtSize) -> String {
    let limits = &at.limits;
    let [hands, room, wait] = [limits.hands, limits.room, limits.wait].map(|share| share_in_words(share.mean));
    match limits.by {
        // Busy hands, and yet it is room that would do most.
        LimitedBy::Hands if best_lever(answer).is_some_and(|lever| lever.more != More::HourAWeek) => {
            format!("Your hands are busy in {hands} of the bench hours until it is done, but more room would do most.")
        }
        LimitedBy::Hands => {
            format!("Your hands are what limits it: they are busy in {hands} of the bench hours until it is done.")
        }
        // Hands that are busy longer than work stands or waits are no less a limit.
        LimitedBy::Room if limits.hands.mean > limits.room.mean => format!(
            "Your hands are busy in {hands} of the bench hours until it is done; in {room} work stands ready and finds no room."
        ),
        LimitedBy::Room => {
            format!(
                "Room is what limits it: in {room} of the bench hours until it is done work stands ready and finds none."
            )
        }
        LimitedBy::Wait if limits.hands.mean > limits.wait.mean => format!(
            "Your hands are busy in {hands} of the bench hours until it is done; in {wait} there is nothing to do but wait."
        ),
        LimitedBy::Wait => {
            format!(
                "Waiting is what limits it: in {wait} of the bench hours until it is done there is nothing else to do."
            )
        }
    }
}

/// What would bring it forward most, and whether that moves a date.
fn brought_forward(answer: &Calendar, at: &AtSize) -> Vec<String> {
    let Some(best) = best_lever(answer) else {
        return vec![if at.finish_last == answer.plan.start {
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
    // A mean may move where the date that is said does not, or by less: the one must not be read as the other.
    if answer.due.is_some() {
        return said;
    }
    if best.finish_kept == at.finish_kept.date {
        let the = if only.is_empty() { "But the" } else { "The" };
        said.push(format!("{the} date that you can promise would stay the same."));
    } else {
        let date = format::date(best.finish_kept.0, None);
        said.push(format!("You could then promise {date}."));
    }
    said
}

/// What there would be a second of.
fn kept_in(lever: &Lever) -> String {
    printable(lever.kept_in.as_deref().unwrap_or("place"))
}

fn quoted(lever: &Lever) -> String {
    format!("'{}'", printable(lever.step.as_deref().unwrap_or("")))
}

/// Of what brings a batch forward by an hour or more beyond its own error, the one that does most. Of those that do nearly as much (four
/// fifths, assumption) the one with the earliest date to promise, then one more place or hour before twice the room or a second kiln.
fn best_lever(answer: &Calendar) -> Option<&Lever> {
    let days = |lever: &Lever| lever.days_earlier.mean;
    let sure = |lever: &&Lever| days(lever) > Z975 * lever.days_earlier.se + 1.0 / 24.0;
    let most = answer.levers.iter().filter(sure).map(days).reduce(f64::max)?;
    let large = |lever: &Lever| matches!(lever.more, More::TwiceTheRoom | More::Second);
    answer
        .levers
        .iter()
        .filter(|lever| sure(lever) && days(lever) >= 0.8 * most)
        .min_by(|a, b| {
            let first = |lever: &Lever| (lever.finish_kept.0, large(lever));
            first(a).cmp(&first(b)).then(days(b).total_cmp(&days(a)))
        })
}

/// The day to start by for a date that is due, where that is another than the one asked for.
fn later_start(answer: &Calendar) -> Option<Day> {
    let latest = answer.asked()?.due.as_ref()?.latest_start?;
    (latest != answer.start).then_some(latest)
}

/// How a due date is kept from the start that the plan has.
fn due_kept(answer: &Calendar) -> Option<Share> {
    let due = answer.asked()?.due?;
    Some(answer.then.as_ref().and(due.kept_then).unwrap_or(due.kept))
}

/// One sentence for a chart: what is to be done for a date that is due, else what comes of this start.
pub(crate) fn headline(answer: &Calendar) -> String {
    let Some(at) = answer.asked() else {
        return String::new();
    };
    if at.due.is_some()
        && let [advice, then, ..] = opening(answer).as_slice()
    {
        let mut letters = then.chars();
        let first = letters.next().map(|c| c.to_ascii_lowercase());
        let then: String = first.into_iter().chain(letters).collect();
        return format!("{}: {}", advice.trim_end_matches('.'), then.trim_end_matches('.'));
    }
    let kept = at.finish_kept.date;
    let (start, batch) = (said_beside(answer.start, kept), batch_of(at.size));
    let date = format::date(kept.0, None);
    if answer.certain {
        format!("Started on {start}, {batch} is done on {date}")
    } else {
        format!(
            "Started on {start}, {batch} is done by {date} in {} {}",
            done_by(answer, kept),
            batches_of(at.size)
        )
    }
}

fn sizes_table(answer: &Calendar) -> Table<'_, &AtSize> {
    let shown = [
        "size",
        "hands_hours.mean",
        "half done",
        "done",
        "finish_kept.days",
        "limits.hands.mean",
        "due.kept.share",
        "latest",
    ];
    let name = format!("By batch size{}", started_on(answer, answer.start));
    Table::new(name, answer, "sizes", &answer.sizes, columns(answer).pick(&shown))
        .main(move |at| at.size == answer.size)
        .titled(later_start(answer).is_some())
}

/// Dates as ISO 8601, shares of bench hours as fractions.
fn columns(answer: &Calendar) -> Columns<'_, &AtSize> {
    let sure = confidence(answer.confidence);
    let mut c: Columns<'_, &AtSize> = Columns::default();
    c.field("size", Unit::Count).plain("pieces\na batch");
    c.of_all("start", Unit::Text);
    c.fields("finish_median", &["date", "low", "high"], Unit::Text)
        .named("finish_median");
    c.fields("finish_kept", &["date", "low", "high"], Unit::Text)
        .named("finish_kept");
    c.of_all("confidence", Unit::Share);
    c.shown("half done", move |at| short_cell(answer, at.finish_median.date))
        .plain("half done\nby");
    c.shown("done", move |at| short_cell(answer, at.finish_kept.date))
        .plain(format!("{sure} done\nby"));
    c.field("finish_kept.days", Unit::Count)
        .unwritten()
        .plain("days until\nthen");
    c.field("finish_first", Unit::Text);
    c.field("finish_last", Unit::Text);
    c.fields("clock_days", MEAN, Unit::Days);
    c.fields("hands_hours", MEAN, Unit::Hours).plain("hands-on\ntime");
    if answer.helper {
        c.fields("helper_hours", MEAN, Unit::Hours);
    }
    c.field("limits.bench_hours.mean", Unit::Hours)
        .named("bench_hours_mean");
    c.field("limits.hands.mean", Unit::Share)
        .named("hands_share_of_bench")
        .written(figure::share_estimate)
        .plain("hands busy\nat the bench");
    c.field("limits.room.mean", Unit::Share).named("room_share_of_bench");
    c.field("limits.wait.mean", Unit::Share).named("wait_share_of_bench");
    c.field("limits.hands_of_clock.mean", Unit::Share)
        .named("hands_share_of_clock");
    c.field("limits.by", Unit::Text).named("limited_by");
    c.of_all("due", Unit::Text);
    let kept = c.called("due.kept", "kept", SHARE, Unit::Share);
    if answer.due.is_some() {
        kept.plain("batches done\nwhen due");
        c.shown("latest", move |at| {
            let latest = at.due.as_ref().and_then(|due| due.latest_start);
            latest.map_or_else(|| "none".into(), |day| short_cell(answer, day))
        })
        .plain("start no\nlater than");
    }
    for (start, kept) in [("latest_start", "kept_then"), ("next_start", "kept_next")] {
        c.field(format!("due.{start}"), Unit::Text).named(start);
        c.field(format!("due.{kept}.share"), Unit::Share)
            .named(format!("kept_from_{start}"));
    }
    c
}

/// "glue pegs: 6, to 22:30", or "glue pegs: 6, to Thu 10 Dec 23:15" on another day.
fn waiting(answer: &Calendar, today: Day, waiting: &Waiting) -> String {
    let step = answer.plan.steps.get(waiting.step).map_or("", String::as_str);
    let (later, time) = ready_at(waiting.until_minute);
    let until = waiting.until.plus(later).unwrap_or(waiting.until);
    let day = if until == today {
        String::new()
    } else {
        format!("{} ", plan_date(answer, until))
    };
    format!("{step}: {}, to {day}{time}", count(waiting.pieces.into()))
}

/// A line of a day: what is done beside what waits.
struct PlanLine<'a> {
    day: &'a PlanDay,
    k: usize,
}

impl PlanLine<'_> {
    /// In the order of the steps, whatever was done first that day; of one step pieces before orders, and what the maker does first.
    fn done(&self) -> Option<&DayWork> {
        let mut work: Vec<&DayWork> = self.day.work.iter().collect();
        work.sort_by_key(|done| (done.step, done.orders, done.helper));
        work.get(self.k).copied()
    }
}

/// The day plan: the first days and the last one, unless all are asked for.
fn plan_table(answer: &Calendar) -> Table<'_, PlanLine<'_>> {
    let tall = |day: &PlanDay| day.work.len().max(day.overnight.len()).max(1);
    let lines = |day| (0..tall(day)).map(move |k| PlanLine { day, k });
    let rows: Vec<PlanLine<'_>> = answer.plan.days.iter().flat_map(lines).collect();
    let last = answer.plan.days.last().map_or(0, tall);
    let mut first = 0;
    for day in &answer.plan.days {
        if first + tall(day) + last + 1 > PLAN_LINES {
            break;
        }
        first += tall(day);
    }
    let shown = if rows.len() <= PLAN_LINES {
        (0..rows.len()).collect()
    } else {
        (0..first).chain(rows.len() - last..rows.len()).collect()
    };
    let started = started_on(answer, answer.plan.start);
    let name = format!("The batch in the middle, day by day{started}");
    Table::new(name, &(), "", rows, plan_columns(answer))
        .choose(shown, "lines")
        .gapped()
        .titled(later_start(answer).is_some())
}

/// From which start something is, where two are spoken of: nobody should take the one for the other.
fn started_on(answer: &Calendar, start: Day) -> String {
    later_start(answer).map_or_else(String::new, |_| format!(", started on {}", long(answer, start)))
}

/// A date of the plan, which says in what year it begins.
fn plan_date(answer: &Calendar, day: Day) -> String {
    short_date(day.0, Some(answer.plan.start.0.year()))
}

fn plan_columns(answer: &Calendar) -> Columns<'_, PlanLine<'_>> {
    let mut c: Columns<'_, PlanLine<'_>> = Columns::default();
    let year = Some(answer.plan.start.0.year());
    let date = move |line: &PlanLine<'_>| (line.k == 0).then(|| figure::short_date(line.day.date.0, year)).into();
    c.said("day", date).plain("day").breaks(10);
    c.said("bench", move |line| match (line.k, line.day.bench_hours > 0.0) {
        (0, true) => Unit::Hours.cell(line.day.bench_hours),
        (0, false) => "closed".into(),
        _ => Cell::default(),
    })
    .plain("bench is\nopen");
    let what = |done: &DayWork| {
        let step = answer.plan.steps.get(done.step)?;
        Some(match (done.helper, done.orders) {
            (true, _) => format!("{step} (helper)"),
            (false, true) => format!("{step} (orders)"),
            (false, false) => step.clone(),
        })
    };
    c.said("what", move |line| line.done().and_then(what).into())
        .plain("what is done")
        .breaks(SHORTEST_NAME);
    c.shown("hands", |line| {
        line.done().map(|done| figure::whole_minutes(done.hours)).into()
    })
    .plain("hands-on\ntime");
    c.shown("pieces", move |line| match line.done().map(|done| done.pieces) {
        Some(0) => "-".into(),
        Some(pieces) => figure::count(pieces.into()),
        None => Cell::default(),
    })
    .plain("pieces\ndone");
    c.said("waits", move |line| {
        let waits = line.day.overnight.get(line.k);
        waits.map(|w| waiting(answer, line.day.date, w)).into()
    })
    .plain("waits when the\nbench closes")
    .breaks(SHORTEST_NAME + 8);
    c
}

fn more(lever: &Lever) -> String {
    match (lever.more, lever.room) {
        (More::HourAWeek, _) => "an hour a week more".to_owned(),
        (More::Place, Some(room)) => format!("one more place, {}", count(room.into())),
        (More::TwiceTheRoom, Some(room)) => format!("twice the room, {}", count(room.into())),
        (More::Second, _) => format!("a second {}", kept_in(lever)),
        (More::Place | More::TwiceTheRoom, None) => "more room".to_owned(),
    }
}

fn levers_table(answer: &Calendar) -> Table<'_, &Lever> {
    let best = best_lever(answer);
    let mut c: Columns<'_, &Lever> = Columns::default();
    c.said("more", move |lever| more(lever).into())
        .plain("if there were")
        .breaks(14);
    c.said("at", move |lever| match (&lever.step, lever.more) {
        (Some(step), _) => step.as_str().into(),
        (None, More::Second) => "workshop".into(),
        (None, _) => "the bench".into(),
    })
    .plain("where")
    .breaks(8);
    c.field("days_earlier.mean", Unit::Days)
        .plain("done earlier\non average");
    c.shown("interval", move |lever| {
        if answer.certain {
            return "exact".into();
        }
        let [low, high] = lever.days_earlier.interval();
        let said = if high < 0.0 && mean_count(-low) != "0" {
            format!("{} later", plain_interval(&mean_count(-high), &mean_count(-low)))
        } else {
            plain_interval(&mean_count(low), &mean_count(high))
        };
        between(said, [low, high].map(Some), Unit::Days)
    })
    .head("exact value lies\nbetween, days")
    .note("Exact value: 95 times in 100 the simulation is no further off than this.")
    .spare(1);
    c.shown("half", move |lever| short_cell(answer, lever.finish_median))
        .plain("half done\nby");
    c.shown("sure", move |lever| short_cell(answer, lever.finish_kept))
        .plain(format!("{} done\nby", confidence(answer.confidence)));
    let name = format!("What would bring it forward{}", started_on(answer, answer.plan.start));
    Table::new(name, answer, "levers", &answer.levers, c)
        .main(move |lever| best == Some(*lever))
        .titled(later_start(answer).is_some())
}

fn interval(answer: &Calendar, estimate: &DateEstimate) -> String {
    plain_interval(&short(answer, estimate.low), &short(answer, estimate.high))
}

fn small_print(answer: &Calendar, look: &Look) -> Vec<String> {
    let Some(at) = answer.as_planned() else {
        return Vec::new();
    };
    let mut said = Vec::new();
    if answer.from != answer.start {
        said.push(format!(
            "{} is no bench day; the first from there on is {}.",
            capital(&long(answer, answer.from)),
            long(answer, answer.start)
        ));
    }
    if let Some(asked) = answer.asked_before {
        said.push(format!(
            "{} come before the work; their time is in none of these days.",
            capital(asked)
        ));
    }
    if answer.others {
        said.push("Others pay for part of some rounds, but you still spend the whole setup time yourself.".to_owned());
    }
    if answer.helper {
        said.push("Your helper works beside you in the same bench hours.".to_owned());
        if let Some(helped) = at.helper_hours {
            said.push(format!(
                "Hands-on time is yours; the helper works {} on average, marked in the day plan.",
                hours(helped.mean)
            ));
        }
    }
    if answer.selling_days > 0 {
        said.push("Selling days and the way there are in none of these days.".to_owned());
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
        share_in_words(limits.hands.mean),
        share_in_words(limits.room.mean),
        share_in_words(limits.wait.mean),
        share_in_words(limits.hands_of_clock.mean)
    ));
    let earlier = if answer.begins_earlier {
        ", or earlier where the hours would go on past midnight"
    } else {
        ""
    };
    said.push(format!(
        "You are at the bench for {} a week, {}{earlier}. Waits go on through nights and days off.",
        hours(answer.week_hours),
        opening_hours(answer)
    ));
    said.push(
        "Earlier steps go first. A round begins when all its pieces are there and the step's room is empty, and keeps the room \
         until its wait is over. What is not done when the bench closes goes on the next bench day. Done means packed and dry: \
         the last wait is over. All is packed as soon as it can be; where an order comes later, its packing is done later too."
            .to_owned(),
    );
    said.extend(shared_rooms(answer));
    if answer.once_hours > 0.0 {
        let once = hours(answer.once_hours);
        said.push(match (answer.first_batch, look.terminal) {
            (true, _) => format!("The {once} spent once for the design are in it."),
            (false, true) => format!("The {once} spent once for the design are not in it; --first-batch adds them."),
            (false, false) => format!("The {once} spent once for the design are not in it."),
        });
    }
    said.extend(how_sure(answer, at));
    said
}

/// When bench days begin: "from 09:00 on bench days".
fn opening_hours(answer: &Calendar) -> String {
    match answer.opens_as_written {
        None => format!("from {} on bench days", answer.opens),
        Some(Written::EveryDay) => "on each day from when the file says".to_owned(),
        Some(Written::SomeDays) => format!("from when the file says or else from {}", answer.opens),
    }
}

/// Places that rounds are kept in.
fn shared_rooms(answer: &Calendar) -> Option<String> {
    let levers = answer.levers.iter();
    let shared: Vec<String> = levers
        .filter_map(|lever| lever.kept_in.as_deref())
        .map(|place| format!("the {}", printable(place)))
        .collect();
    let places = capital(&joined(&shared)?);
    Some(match shared.len() {
        1 => format!("{places} holds one round at a time."),
        _ => format!("{places} hold one round each at a time."),
    })
}

/// How many batches were simulated, and how far that may be off.
fn how_sure(answer: &Calendar, at: &AtSize) -> Vec<String> {
    let version = &answer.version;
    if answer.certain {
        return vec![format!(
            "Nothing is left to chance, so one batch says it all. Batchwright {version}."
        )];
    }
    let [least, most] = at.hands_hours.interval();
    let mut said = vec![format!(
        "Simulation error (95 %){}: half are done by {}, {} by {}; hands-on time is {}.",
        started_on(answer, answer.plan.start),
        interval(answer, &at.finish_median),
        confidence(answer.confidence),
        interval(answer, &at.finish_kept),
        hours_interval(least, most)
    )];
    if let Some(kept) = due_kept(answer) {
        let kept = format::share_interval(kept.low, kept.high);
        said.push(format!("Simulation error (95 %): {kept} are done when due."));
    }
    let (trials, seed) = (count(answer.trials), answer.seed);
    said.push(format!(
        "{trials} batches were simulated. Seed {seed}, batchwright {version}."
    ));
    said
}
