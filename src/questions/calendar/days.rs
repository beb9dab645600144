//! Dates and minutes: bench hours of the week as stretches of minutes from a day's midnight.
//!
//! A day has 1,440 minutes: the hour that clocks are put on or back is not in it, nor are time zones.

use super::schedule::OpenHours;
use crate::scenario::Hours;
use jiff::Span;
use jiff::civil::{Date, Time};
use serde::{Serialize, Serializer};

/// Minutes of a day.
pub const DAY_MINUTES: f64 = 1_440.0;

/// A date; in JSON as ISO 8601 has it, `2026-12-03`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(pub Date);

impl Serialize for Day {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(&self.0)
    }
}

impl std::fmt::Display for Day {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

impl Day {
    /// So many days later, or (below 0) earlier; `None` beyond the years that dates have.
    #[must_use]
    pub fn plus(self, days: i64) -> Option<Self> {
        let span = Span::new().try_days(days).ok()?;
        self.0.checked_add(span).ok().map(Self)
    }

    /// Days from this one to another.
    #[must_use]
    pub fn days_to(self, other: Self) -> i64 {
        // Dates are at most some 20,000 years apart, and without a larger unit asked for the difference is in days.
        self.0.until(other.0).map_or(0, |span| i64::from(span.get_days()))
    }
}

/// When the bench is open on a bench day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opens(pub Time);

/// Nine in the morning: an assumption that matters for waits of some hours only.
impl Default for Opens {
    fn default() -> Self {
        Self(jiff::civil::time(9, 0, 0, 0))
    }
}

impl Opens {
    fn minute(self) -> f64 {
        f64::from(self.0.hour()) * 60.0 + f64::from(self.0.minute())
    }
}

impl Serialize for Opens {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl std::fmt::Display for Opens {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:02}:{:02}", self.0.hour(), self.0.minute())
    }
}

/// Bench days that say in the file when they begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Written {
    /// All of them.
    EveryDay,
    /// Some of them; the others begin when it is asked for.
    SomeDays,
}

/// Bench hours with the time of day they begin at.
#[derive(Debug, Clone)]
pub struct Week<'a> {
    hours: &'a Hours,
    opens: f64,
    /// What the hours of each day are multiplied by, kept within the day.
    times: f64,
}

impl<'a> Week<'a> {
    /// As written.
    #[must_use]
    pub fn new(hours: &'a Hours, opens: Opens) -> Self {
        Self {
            hours,
            opens: opens.minute(),
            times: 1.0,
        }
    }

    /// With so many hours a week more, spread over the bench days in proportion.
    #[must_use]
    pub fn with_more(&self, hours: f64) -> Self {
        let week = self.hours.week();
        Self {
            times: self.times * (week + hours) / week,
            ..self.clone()
        }
    }

    /// Whether some day of the week begins earlier than asked, so that it ends by midnight.
    #[must_use]
    pub fn begins_earlier(&self) -> bool {
        let days = self.hours.days.iter().zip(self.hours.opens);
        let longest = days.filter(|(_, own)| own.is_none()).map(|(hours, _)| *hours);
        let minutes = (longest.fold(0.0, f64::max) * self.times * 60.0).min(DAY_MINUTES);
        minutes > 0.0 && self.opens + minutes > DAY_MINUTES
    }

    /// Which bench days of the week say in the file when they begin.
    #[must_use]
    pub fn opens_as_written(&self) -> Option<Written> {
        let days = self.hours.days.iter().zip(self.hours.opens);
        let bench: Vec<bool> = days
            .filter(|(hours, _)| **hours > 0.0)
            .map(|(_, own)| own.is_some())
            .collect();
        match (bench.iter().all(|own| *own), bench.contains(&true)) {
            (true, true) => Some(Written::EveryDay),
            (false, true) => Some(Written::SomeDays),
            _ => None,
        }
    }

    /// Bench minutes of a date and the minute they begin at; `None` where there are none.
    ///
    /// Hours that would run past midnight begin so much earlier.
    #[must_use]
    pub fn on(&self, day: Day) -> Option<(f64, f64)> {
        if self
            .hours
            .off
            .iter()
            .any(|(first, last)| (*first..=*last).contains(&day.0))
        {
            return None;
        }
        let weekday = day.0.weekday().to_monday_zero_offset() as usize;
        let of_day = self.hours.days[weekday];
        let minutes = (of_day * self.times * 60.0).min(DAY_MINUTES);
        (minutes > 0.0).then(|| {
            let opens = self.hours.opens[weekday].unwrap_or(self.opens);
            let begin = opens.min(DAY_MINUTES - minutes).max(0.0);
            (begin, begin + minutes)
        })
    }

    /// The first bench day on or after a date; `None` where the years end first.
    #[must_use]
    pub fn first_from(&self, day: Day) -> Option<Day> {
        let mut day = day;
        while self.on(day).is_none() {
            day = day.plus(1)?;
        }
        Some(day)
    }

    /// The bench from midnight of `first` on for so many days, as far as there are dates.
    #[must_use]
    pub fn bench(&self, first: Day, days: i64) -> OpenHours {
        let mut open: Vec<(f64, f64)> = Vec::new();
        let mut day = Some(first);
        let mut number = 0_i64;
        while let Some(date) = day.filter(|_| number < days) {
            if let Some((begin, end)) = self.on(date) {
                let midnight = number as f64 * DAY_MINUTES;
                open.push((midnight + begin, midnight + end));
            }
            number += 1;
            day = date.plus(1);
        }
        OpenHours::new(open)
    }
}

/// The day in which something that ends at a minute is done: what ends at midnight sharp was done the day before.
#[must_use]
pub fn day_of(first: Day, minute: f64) -> Option<Day> {
    let days = libm::ceil(minute / DAY_MINUTES - 1e-9).max(1.0) - 1.0;
    first.plus(days as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::{date, time};

    fn hours() -> Hours {
        Hours {
            days: [2.0, 0.0, 0.0, 2.0, 0.0, 6.0, 0.0],
            opens: [None; 7],
            off: vec![(date(2026, 12, 24), date(2026, 12, 27))],
        }
    }

    /// By a calendar: 3 December 2026 is a Thursday; the 24th is one too, and off.
    #[test]
    fn bench_days_are_those_of_the_week_without_days_off() {
        let hours = hours();
        let week = Week::new(&hours, Opens(time(9, 0, 0, 0)));
        let day = |m, d| Day(date(2026, m, d));
        assert_eq!(week.on(day(12, 3)), Some((540.0, 660.0)));
        let later = Week::new(&hours, Opens(time(9, 30, 0, 0)));
        assert_eq!(later.on(day(12, 3)), Some((570.0, 690.0)));
        assert_eq!(week.on(day(12, 4)), None);
        assert_eq!(week.on(day(12, 5)), Some((540.0, 900.0)));
        assert_eq!(week.on(day(12, 24)), None);
        assert_eq!(week.first_from(day(12, 1)), Some(day(12, 3)));
        assert_eq!(week.first_from(day(12, 22)), Some(day(12, 28)));
        let bench = week.bench(day(12, 21), 8);
        // Monday the 21st; Thursday and Saturday are off; Monday the 28th.
        assert_eq!(
            bench.stretches(),
            [(540.0, 660.0), (7.0 * 1440.0 + 540.0, 7.0 * 1440.0 + 660.0)]
        );
        // One more hour in ten: 2 h 12 min and 6 h 36 min.
        let more = week.with_more(1.0);
        assert!((more.on(day(12, 3)).unwrap().1 - 672.0).abs() < 1e-9);
        assert!((more.on(day(12, 5)).unwrap().1 - 936.0).abs() < 1e-9);
    }

    #[test]
    fn long_and_late_days_stay_within_the_day() {
        let mut hours = hours();
        hours.days[3] = 24.0;
        let day = Day(date(2026, 12, 3));
        let late = Week::new(&hours, Opens(time(22, 0, 0, 0)));
        assert_eq!(late.on(day), Some((0.0, 1440.0)));
        assert_eq!(late.on(Day(date(2026, 12, 5))), Some((1080.0, 1440.0)));
        assert_eq!(late.with_more(10.0).on(day), Some((0.0, 1440.0)));
    }

    /// Thursdays from 18:30, the others from 9:00; a day that says when it begins is no reason to begin another earlier.
    #[test]
    fn a_day_begins_when_it_says() {
        let mut hours = hours();
        hours.opens[3] = Some(1110.0);
        let week = Week::new(&hours, Opens(time(9, 0, 0, 0)));
        let (thursday, saturday) = (Day(date(2026, 12, 3)), Day(date(2026, 12, 5)));
        assert_eq!(week.on(thursday), Some((1110.0, 1230.0)));
        assert_eq!(week.on(saturday), Some((540.0, 900.0)));
        assert_eq!(
            (week.opens_as_written(), week.begins_earlier()),
            (Some(Written::SomeDays), false)
        );
        assert!(Week::new(&hours, Opens(time(20, 0, 0, 0))).begins_earlier());
        (hours.opens[0], hours.opens[5]) = (Some(0.0), Some(540.0));
        let week = Week::new(&hours, Opens(time(20, 0, 0, 0)));
        assert_eq!(
            (week.opens_as_written(), week.begins_earlier()),
            (Some(Written::EveryDay), false)
        );
        // Three hours more a week make 2 h 2 h 36 min, as far as the day goes.
        assert_eq!(week.with_more(3.0).on(thursday), Some((1110.0, 1266.0)));
        assert_eq!(week.with_more(60.0).on(thursday), Some((600.0, 1440.0)));
    }

    #[test]
    fn minutes_are_dates() {
        let first = Day(date(2026, 12, 30));
        assert_eq!(day_of(first, 0.0), Some(first));
        assert_eq!(day_of(first, 1440.0), Some(first));
        assert_eq!(day_of(first, 1440.5), Some(Day(date(2026, 12, 31))));
        assert_eq!(day_of(first, 3.0 * 1440.0), Some(Day(date(2027, 1, 1))));
        assert_eq!(first.days_to(Day(date(2027, 3, 1))), 61);
        assert_eq!(Day(date(9999, 12, 31)).plus(1), None);
        assert_eq!(serde_json::to_string(&first).unwrap(), "\"2026-12-30\"");
    }
}
