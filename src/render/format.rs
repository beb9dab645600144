//! All display rounding, in one place: money, hours, shares, counts, sizes, intervals.
//!
//! Every face (terminal, chart, report, page) writes its figures through here, so that the same figure never appears
//! twice with different digits. Machine formats (JSON, CSV) do not round and do not come here.
//!
//! A figure that is not finite has no honest digits; it is written as [`NONE`].

use crate::scenario::minor_digits;
use crate::stats::Mean;
use jiff::civil::Date;

/// What stands where there is no figure.
pub const NONE: &str = "none";

/// From here on cents only pretend to know more than anyone does.
const WHOLE_FROM: f64 = 1_000.0;

/// Prices of cheap things (a printed card, a yard of thread), under this, would vanish with the two digits that cents have.
const SMALL: f64 = 0.095;

/// An amount of money under this is nothing to anybody, and mostly what rounding left of nothing.
const NOTHING: f64 = 5e-7;

/// What a figure is of, for a workbook, which writes it itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Form {
    /// Money with so many digits.
    Money(u8),
    /// Money more or less, with so many digits.
    Change(u8),
    /// A share as a fraction.
    Share,
    /// A span of time in hours.
    Hours,
    /// A span of time in minutes.
    Minutes,
    /// A whole number of things.
    Count,
    /// A mean number of things.
    Mean,
    /// A number without a unit.
    Ratio,
    /// A number of days.
    Days,
    /// A day of the calendar, counted as [`sheet_day`] does.
    Date,
}

impl Form {
    /// The form of an amount: cents where the currency has them, three digits for the price of cheap things.
    pub fn money(value: f64, currency: &str) -> Self {
        Self::Money(money_digits(value, currency))
    }

    /// Its number format as spreadsheets write them (ECMA-376 part 1, 18.8.31).
    pub fn sheet(self) -> String {
        let money = |digits: u8| match digits {
            0 => "#,##0".to_owned(),
            n => format!("#,##0.{}", "0".repeat(n.into())),
        };
        match self {
            Self::Money(digits) => money(digits),
            Self::Change(digits) => {
                let plain = money(digits);
                format!("+{plain};-{plain};{plain}")
            }
            Self::Share => "#,##0.0%".to_owned(),
            Self::Hours => "#,##0.00\" h\"".to_owned(),
            Self::Minutes | Self::Mean => "#,##0.0".to_owned(),
            Self::Count => "#,##0".to_owned(),
            Self::Ratio => "0.00".to_owned(),
            Self::Days => "0.0\" d\"".to_owned(),
            Self::Date => "yyyy-mm-dd".to_owned(),
        }
    }
}

/// A day as spreadsheets count them: 1 is 1900-01-01 and 1900-02-29 is counted though it never was (ECMA-376 part 1,
/// 18.17.4.1), so that from March 1900 on days are counted from 1899-12-30.
pub fn sheet_day(date: Date) -> f64 {
    let since = date.since(jiff::civil::date(1899, 12, 30));
    since.map_or(f64::NAN, |span| f64::from(span.get_days()))
}

/// Digits after the point of an amount of money.
pub(crate) fn money_digits(value: f64, currency: &str) -> u8 {
    let (value, minor) = (value.abs(), minor_digits(currency));
    let finer = u8::from(minor > 0 && value >= NOTHING && value < SMALL * 100.0 / libm::pow(10.0, minor.into()));
    // As many more as it takes to show what is not nothing.
    let shown = |digits: &u8| value < NOTHING || value * libm::pow(10.0, (*digits).into()) >= 0.5;
    (minor + finer..=TYPED_DIGITS).find(shown).unwrap_or(minor)
}

/// An amount of money with its currency: `28.42 EUR`, `1,235 EUR`, `4,200 JPY`.
pub fn money(value: f64, currency: &str) -> String {
    with_unit(amount(value, currency), currency)
}

/// The least amount that can be shown and is no less than this: a price floor is told as a price that is enough, so that who asks it has what
/// was promised. A floor that the reckoning left a hair above a coin is that coin.
pub fn enough(value: f64, currency: &str) -> f64 {
    let parts = shown_parts(value, currency);
    libm::ceil(value * parts - 1e-9 * (value * parts).abs().max(1.0)) / parts
}

/// A price floor in a sentence: [`enough`] with its currency.
pub(crate) fn enough_money(value: f64, currency: &str) -> String {
    money(enough(value, currency), currency)
}

/// The greatest amount that can be shown and is no more than this: the end of prices that pay, as [`enough`] is their beginning.
pub(crate) fn at_most(value: f64, currency: &str) -> f64 {
    -enough(-value, currency)
}

/// [`enough`] beside a price that was typed: where that is enough, nothing above it is told to be.
pub(crate) fn enough_beside(value: f64, asked: f64, currency: &str) -> f64 {
    let enough = enough(value, currency);
    if (value..enough).contains(&asked) {
        asked
    } else {
        enough
    }
}

/// [`enough_beside`] in a sentence, with its currency.
pub(crate) fn enough_money_beside(value: f64, asked: f64, currency: &str) -> String {
    let told = enough_beside(value, asked, currency);
    if told < enough(value, currency) {
        typed_money(told, currency)
    } else {
        money(told, currency)
    }
}

/// What an hour earns, to be shown beside what it should: what falls short is not rounded up to all of it.
pub(crate) fn short_of(rate: f64, target: f64, currency: &str) -> f64 {
    let parts = shown_parts(rate, currency);
    let falls_short = rate < target - 1e-9 * target.abs();
    if falls_short && (rate * parts).round() >= target * parts {
        libm::floor(rate * parts) / parts
    } else {
        rate
    }
}

/// Into how many parts a unit of money is divided where such an amount is shown.
fn shown_parts(value: f64, currency: &str) -> f64 {
    let digits = if value.abs() >= WHOLE_FROM {
        0
    } else {
        money_digits(value, currency)
    };
    libm::pow(10.0, f64::from(digits))
}

/// An amount of money where the currency is said elsewhere (a table's head, an axis title): `28.42`.
pub fn amount(value: f64, currency: &str) -> String {
    if value.abs() >= WHOLE_FROM {
        fixed(value, 0)
    } else {
        exact_amount(value, currency)
    }
}

/// An amount of money that somebody is to pay, to the last cent: `1,079.50`.
pub(crate) fn exact_amount(value: f64, currency: &str) -> String {
    fixed(value, money_digits(value, currency).into())
}

/// An amount that is a change, with its sign: `+2.10`, `-0.40`, `0.00`.
pub(crate) fn signed_amount(value: f64, currency: &str) -> String {
    let text = amount(value, currency);
    if value > 0.0 && is_some_amount(value, currency) {
        format!("+{text}")
    } else {
        text
    }
}

/// Whether an amount is not shown as nothing.
pub(crate) fn is_some_amount(value: f64, currency: &str) -> bool {
    amount(value, currency).bytes().any(|b| matches!(b, b'1'..=b'9'))
}

/// Digits after the point of what people typed, at the most: of more it is a figure that was reckoned.
const TYPED_DIGITS: u8 = 6;

/// An amount of money as people typed it: `32`, `28.50`, `1,079.60`, `0.125`. For prices and targets: who is told of another figure than the own
/// cannot tell on which side of a price floor it is.
pub(crate) fn typed_amount(value: f64, currency: &str) -> String {
    if !value.is_finite() {
        return NONE.to_owned();
    }
    let least = money_digits(value, currency);
    let is_it = |digits: &u8| {
        let parts = value * libm::pow(10.0, f64::from(*digits));
        (parts - parts.round()).abs() <= 1e-12 * parts.abs()
    };
    let digits = std::iter::once(0).chain(least..=TYPED_DIGITS).find(is_it);
    fixed(value, digits.unwrap_or(least).into())
}

/// [`typed_amount`] with its currency: `32 EUR`.
pub(crate) fn typed_money(value: f64, currency: &str) -> String {
    with_unit(typed_amount(value, currency), currency)
}

/// Two prices on either side of `best`, rounded towards it to what a price tag would say: steps of 1, 2 or 5 of some digit, of one to
/// two hundredths of it.
pub(crate) fn price_tags([low, high]: [f64; 2], best: f64) -> [f64; 2] {
    let step = tag_step(best);
    [libm::ceil(low / step) * step, libm::floor(high / step) * step]
}

/// A price above 0 that is about right, to what a price tag would say.
pub(crate) fn price_tag(price: f64, currency: &str) -> String {
    let step = tag_step(price);
    typed_money((price / step).round() * step, currency)
}

fn tag_step(price: f64) -> f64 {
    let fine = 0.02 * price;
    let digit = libm::pow(10.0, libm::floor(libm::log10(fine)));
    let times = [5.0, 2.0].into_iter().find(|times| times * digit <= fine);
    times.unwrap_or(1.0) * digit
}

/// A span of time given in hours: `1.5 s`, `40 s`, `4.5 min`, `25 min`, `2 h 10 min`, `1,204 h`.
pub fn hours(hours: f64) -> String {
    if !hours.is_finite() {
        return NONE.to_owned();
    }
    let sign = if hours < 0.0 { "-" } else { "" };
    let minutes = hours.abs() * 60.0;
    let text = if minutes == 0.0 {
        "0 min".to_owned()
    } else if minutes < 9.95 / 60.0 {
        // A tenth of a second at the least: less than that is no time at a bench, and 0 s would be none at all.
        format!("{} s", short((minutes * 60.0).max(0.1), 1))
    } else if minutes < 1.0 - 0.5 / 60.0 {
        format!("{} s", fixed(minutes * 60.0, 0))
    } else if minutes < 9.95 {
        format!("{} min", short(minutes, 1))
    } else if minutes < 59.5 {
        format!("{} min", fixed(minutes, 0))
    } else if minutes < 100.0 * 60.0 - 0.5 {
        let whole = minutes.round();
        let (h, min) = ((whole / 60.0).floor(), whole % 60.0);
        if min == 0.0 {
            format!("{h:.0} h")
        } else {
            format!("{h:.0} h {min:.0} min")
        }
    } else {
        format!("{} h", fixed(minutes / 60.0, 0))
    };
    format!("{sign}{text}")
}

/// A span of simulated time of a day, given in hours, in whole minutes: `<1 min`, `7 min`, `25 min`, `2 h 10 min`. No day is foreseen
/// to the tenth of a minute.
pub(crate) fn whole_minutes(time: f64) -> String {
    if time > 0.0 && time * 60.0 < 0.5 {
        "<1 min".to_owned()
    } else {
        hours((time * 60.0).round() / 60.0)
    }
}

/// The same in whole hours where it is long: `12 h`.
pub(crate) fn whole_hours(time: f64) -> String {
    hours(time.round())
}

/// A span of time in minutes, where the head of a table says so: `0.45`, `4.9`, `52.5`, `133`.
pub fn minutes(value: f64) -> String {
    let digits = match value.abs() {
        v if v >= 99.95 => 0,
        v if v >= 0.995 || v == 0.0 => 1,
        _ => 2,
    };
    short(value, digits)
}

/// A ratio of actual to expected: `1.14`.
pub fn ratio(value: f64) -> String {
    fixed(value, 2)
}

/// A share given as a fraction: `83 %`. Nearly none and nearly all are not rounded into none and all: `<1 %`, `>99 %`.
pub fn share(fraction: f64) -> String {
    with_unit(share_figure(fraction), "%")
}

/// The chance a file names, kept as it was written: `80 %`, `97.5 %`.
pub fn confidence(fraction: f64) -> String {
    with_unit(bare_confidence(fraction), "%")
}

/// The same where the unit is said elsewhere: `80`.
pub(crate) fn bare_confidence(fraction: f64) -> String {
    short(fraction * 100.0, 1)
}

/// A share as people count: `84 of 100`, `none of 100`, `fewer than 1 of 100`, `more than 99 of 100`.
pub fn of_100(fraction: f64) -> String {
    match share_figure(fraction).as_str() {
        "0" => "none of 100".to_owned(),
        "<1" => "fewer than 1 of 100".to_owned(),
        ">99" => "more than 99 of 100".to_owned(),
        figure => format!("{figure} of 100"),
    }
}

/// [`of_100`] or [`of_100_beside`] where it is too few: `only 12 of 100`. None and fewer than one are few without that word.
pub fn only(often: &str) -> String {
    if often.starts_with(|first: char| first.is_ascii_digit()) {
        format!("only {often}")
    } else {
        often.to_owned()
    }
}

/// [`of_100`] beside a chance that a file names, finer where the two would read the other way round: `798 of 1,000` beside `80 of 100`, and
/// `974 of 1,000` beside `972 of 1,000`.
pub fn of_100_beside(fraction: f64, named: f64) -> String {
    let whole = (fraction * 100.0).round();
    if (fraction >= named) == (whole >= (named * 1000.0).round() / 10.0) {
        return of_100(fraction);
    }
    let thousand = (fraction * 1000.0).floor().max(0.0);
    format!("{} of 1,000", short(thousand, 0))
}

/// The chance a file names, as people count: `80 of 100`, `975 of 1,000`.
pub(crate) fn asked_of_100(fraction: f64) -> String {
    let tenths = (fraction * 1000.0).round();
    if tenths % 10.0 == 0.0 {
        format!("{} of 100", short(tenths / 10.0, 0))
    } else {
        format!("{} of 1,000", short(tenths, 0))
    }
}

/// A difference of shares given as a fraction, in percentage points: `1 point`, `0.5 points`.
pub fn points(fraction: f64) -> String {
    counted(short(fraction * 100.0, 2), "point", "points")
}

/// The same of an error, rounded up to a tenth of a point: `0.1 points`.
pub(crate) fn points_at_most(fraction: f64) -> String {
    points(libm::ceil(fraction * 1e3) / 1e3)
}

/// A share to a hundredth of a per cent, as finely as prices are asked to be known: `0.50 %`.
pub(crate) fn fine_share(fraction: f64) -> String {
    format!("{:.2} %", fraction * 100.0)
}

/// A share in per cent to a hundredth, where the unit is said elsewhere: 97.5.
pub(crate) fn in_percent(fraction: f64) -> f64 {
    (fraction * 1e4).round() / 100.0
}

/// A share that may stray below 0 by its error, which is then nothing: `0 %`.
pub(crate) fn share_estimate(fraction: f64) -> String {
    share(fraction.max(0.0))
}

/// The same in a sentence: `more than 99 %`, `less than 1 %`.
pub(crate) fn share_in_words(fraction: f64) -> String {
    share_estimate(fraction)
        .replace('<', "less than ")
        .replace('>', "more than ")
}

/// How far something may go, as a fraction, rounded down so that it still holds: `14 %`, `4.6 %`. Below 0 how much better it must
/// be, so rounded up: `9.4 %`; the sign is the words' to tell.
pub(crate) fn down_percent(fraction: f64) -> String {
    let digits = down_digits(fraction);
    with_unit(short(rounded_down(fraction, digits).abs(), digits), "%")
}

/// The interval of such a figure, its ends rounded like it, so that it never lies outside: `14 to 15 %`, `4.6 to 5.1 %`.
pub(crate) fn down_percent_interval(fraction: f64, low: f64, high: f64) -> String {
    let digits = down_digits(fraction);
    // What must be better is told without its sign, the least of it first; an end beyond zero has one.
    let (sign, first, last) = if fraction < 0.0 {
        (-1.0, high, low)
    } else {
        (1.0, low, high)
    };
    let end = |end: f64| short(sign * rounded_down(end, digits) + 0.0, digits);
    with_unit(plain_interval(&end(first), &end(last)), "%")
}

fn down_digits(fraction: f64) -> usize {
    if (fraction * 100.0).abs() < 9.95 { 1 } else { 0 }
}

/// In per cent.
fn rounded_down(fraction: f64, digits: usize) -> f64 {
    down_to(fraction * 100.0, if digits == 1 { 10.0 } else { 1.0 })
}

/// Down to a part of one; a figure that rounding left just below itself stays as it is.
fn down_to(value: f64, parts: f64) -> f64 {
    (value * parts + 1e-6).floor() / parts
}

/// How many times as much something may be, rounded down so that it still holds: `twice`, `2.4 times`.
pub(crate) fn down_times(factor: f64) -> String {
    let rounded = down_to(factor, 10.0);
    if rounded == 2.0 {
        "twice".to_owned()
    } else {
        format!("{} times", short(rounded, 1))
    }
}

/// Two ends of a share to a tenth of a per cent, as so many trials allow: `83.0 to 86.1 %`; `under 0.1 %` and `over 99.9 %` where that is
/// all there is to say.
pub(crate) fn percent_interval(low: f64, high: f64) -> String {
    const LEAST: f64 = 0.000_5;
    if (0.0..LEAST).contains(&low) && (0.0..LEAST).contains(&high) {
        "under 0.1 %".to_owned()
    } else if low > 1.0 - LEAST && high > 1.0 - LEAST {
        "over 99.9 %".to_owned()
    } else {
        with_unit(plain_interval(&fixed(low * 100.0, 1), &fixed(high * 100.0, 1)), "%")
    }
}

/// A counted share, its interval and the chance that a file names, `["3.8 %", "1.1 to 9.6 %", "1 %"]`: with as few digits as keep the
/// file's chance on the side of each end where it is, and the ends apart.
pub(crate) fn chances_beside(share: f64, (low, high): (f64, f64), named: f64) -> [String; 3] {
    let rounded = |value: f64, digits: usize| {
        let by = libm::pow(10.0, digits as f64);
        (value * 100.0 * by).round() / by
    };
    let kept = |end: f64, digits: usize| {
        let (end_shown, named) = (rounded(end, digits), named * 100.0);
        (end * 100.0).partial_cmp(&named) == end_shown.partial_cmp(&named)
    };
    let digits = (0..4)
        .find(|digits| kept(low, *digits) && kept(high, *digits) && rounded(low, *digits) < rounded(high, *digits))
        .unwrap_or(4);
    let text = |value: f64| short(value * 100.0, digits);
    [
        format!("{} %", text(share)),
        format!("{} %", plain_interval(&text(low), &text(high))),
        format!("{} %", short(named * 100.0, 4)),
    ]
}

/// Two ends of a factor, rounded down like [`down_times`], which then never lies outside: `2.1 to 2.6 times`.
pub(crate) fn times_interval(low: f64, high: f64) -> String {
    let end = |factor: f64| fixed(down_to(factor, 10.0), 1);
    with_unit(plain_interval(&end(low), &end(high)), "times")
}

/// Two ends that are written already: `0 to 1`; one where they are the same.
pub(crate) fn plain_interval(low: &str, high: &str) -> String {
    if low == high {
        low.to_owned()
    } else if [low, high].contains(&NONE) {
        NONE.to_owned()
    } else {
        format!("{low} to {high}")
    }
}

/// A number of things as it is written, and what they are: `1 piece`, `4.9 pieces`.
pub fn counted(figure: String, one: &str, more: &str) -> String {
    let what = if figure == "1" { one } else { more };
    with_unit(figure, what)
}

/// A count: `50,000`.
pub fn count(n: u64) -> String {
    grouped(&n.to_string())
}

/// A mean number of things: `11.7`, `12`, `1,204`.
pub(crate) fn mean_count(value: f64) -> String {
    if value.abs() >= 99.95 {
        fixed(value, 0)
    } else {
        short(value, 1)
    }
}

/// How often something happens: `12`, `1.4`, `0.04`.
pub fn often(value: f64) -> String {
    if value.abs() >= 9.95 {
        fixed(value, 0)
    } else if value.abs() >= 0.995 {
        short(value, 1)
    } else {
        short(value, 2)
    }
}

/// The whole number nearest to a number of things: `15`.
pub fn nearest(value: f64) -> String {
    fixed(value, 0)
}

/// A plain factor as it was typed, at most two digits: `2.5`.
pub fn factor(value: f64) -> String {
    short(value, 2)
}

/// A number as it was typed, at most three digits: `0.125`.
pub(crate) fn plain_number(value: f64) -> String {
    ((value * 1000.0).round() / 1000.0).to_string()
}

/// A value between two that were looked at, a tenth of that apart, with a digit for that; rounded up or down to the side that holds.
pub(crate) fn between_two(value: f64, apart: f64, up: bool) -> f64 {
    let parts = libm::pow(10.0, libm::ceil(-libm::log10(apart / 10.0)).max(0.0));
    let steps = value * parts;
    let whole = if up {
        libm::ceil(steps - 1e-6)
    } else {
        libm::floor(steps + 1e-6)
    };
    whole / parts
}

/// A span of time given in weeks: `8.7 weeks`, `1 week`, `2.5 days`.
pub fn weeks(weeks: f64) -> String {
    if weeks < 0.995 {
        days(weeks * 7.0)
    } else {
        counted(mean_count(weeks), "week", "weeks")
    }
}

/// A date with its weekday; the year where it is not the one that is being talked of: `Thursday 3 December`,
/// `Monday 4 January 2027`.
pub fn date(date: Date, year: Option<i16>) -> String {
    with_year("%A %-d %B", date, year)
}

/// A day as its form says (POSIX `strftime`), and its year.
fn with_year(form: &str, date: Date, year: Option<i16>) -> String {
    let day = date.strftime(form);
    if year == Some(date.year()) {
        day.to_string()
    } else {
        format!("{day} {}", date.year())
    }
}

/// A date in a table: `Thu 3 Dec`, `Mon 4 Jan 2027`.
pub(crate) fn short_date(date: Date, year: Option<i16>) -> String {
    with_year("%a %-d %b", date, year)
}

/// A date under an axis: `3 Dec`, with its year where that is not `year`.
pub(crate) fn tick_date(date: Date, year: Option<i16>) -> String {
    with_year("%-d %b", date, year)
}

/// When something is ready: days after the one that `minutes` count from, and the time of day, to the quarter of an hour and never
/// before it: a wait of a day from 12:04 on is over at 12:15 and not at 12:00.
pub(crate) fn ready_at(minutes: f64) -> (i64, String) {
    // What rounding of sums leaves over is no quarter of an hour.
    let quarters = (minutes / 15.0 - 1e-6).ceil().max(0.0) as u64;
    let (day, quarters) = (quarters / 96, quarters % 96);
    (day as i64, format!("{:02}:{:02}", quarters / 4, quarters % 4 * 15))
}

/// A number of days: `2.3 days`, `1 day`, `14 days`.
pub fn days(days: f64) -> String {
    counted(mean_count(days), "day", "days")
}

/// Two ends of money: `26.10 to 31.00 EUR`; one figure where both ends read the same.
pub(crate) fn money_interval(low: f64, high: f64, currency: &str) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => with_unit(amount_interval(low, high, currency), currency),
        (true, false) => format!("{} {currency} or more", amount(low, currency)),
        (false, true) => format!("{} {currency} or less", amount(high, currency)),
        (false, false) => NONE.to_owned(),
    }
}

/// Two ends of money where the currency is said elsewhere: `26.10 to 31.00`.
pub(crate) fn amount_interval(low: f64, high: f64, currency: &str) -> String {
    plain_interval(&amount(low, currency), &amount(high, currency))
}

/// The ends between which a price floor lies, rounded outwards: what is told as [`enough`] is within them.
pub fn price_interval(low: f64, high: f64, currency: &str) -> String {
    amount_interval(at_most(low, currency), enough(high, currency), currency)
}

/// The 95 % interval of a mean that is money: [`money_interval`] of its ends.
pub(crate) fn mean_interval(mean: &Mean, currency: &str) -> String {
    let [low, high] = mean.interval();
    money_interval(low, high, currency)
}

/// Two ends of a share given as fractions: `81 to 85 %`; to a tenth where one of them is nearly none or nearly all.
pub(crate) fn share_interval(low: f64, high: f64) -> String {
    let [from, to] = [low, high].map(share_figure);
    if from != to && [&from, &to].iter().any(|end| end.starts_with(['<', '>'])) {
        return percent_interval(low, high);
    }
    with_unit(plain_interval(&from, &to), "%")
}

/// Two ends of a span of time given in hours: `2 h 10 min to 3 h`.
pub(crate) fn hours_interval(low: f64, high: f64) -> String {
    plain_interval(&hours(low), &hours(high))
}

/// Ascending sizes as a maker would write them: every stretch of four or more that are evenly apart (three neighbours) with its own
/// step, the others one by one: `1, 6, 12`, `5-30 by 5, 40-60 by 10, 100`.
pub(crate) fn sizes_written(sizes: &[u32]) -> String {
    let mut texts = Vec::new();
    let mut rest = sizes;
    while let [first, ..] = rest {
        let step = rest.get(1).map_or(0, |second| second - first);
        let even = 1 + rest.windows(2).take_while(|pair| pair[1] - pair[0] == step).count();
        let joined = even >= if step == 1 { 3 } else { 4 };
        let taken = if joined { even } else { 1 };
        let last = rest[taken - 1];
        let [from, to, by] = [*first, last, step].map(|size| count(size.into()));
        texts.push(match (joined, step) {
            (false, _) => from,
            (true, 1) => format!("{from}-{to}"),
            (true, _) => format!("{from}-{to} by {by}"),
        });
        rest = &rest[taken..];
    }
    texts.join(", ")
}

/// Ascending sizes as a person would list them, neighbours joined: `1-3, 5, 8-12`. `is_next` says which size follows
/// another among the sizes that were looked at, so that every second size still reads as one stretch.
pub(crate) fn size_list(sizes: &[u32], is_next: impl Fn(u32, u32) -> bool) -> String {
    let mut stretches: Vec<(u32, u32)> = Vec::new();
    for &size in sizes {
        match stretches.last_mut() {
            Some((_, last)) if is_next(*last, size) => *last = size,
            _ => stretches.push((size, size)),
        }
    }
    let texts: Vec<String> = stretches
        .iter()
        .map(|&(a, b)| match (a == b, b == a + 1) {
            (true, _) => count(a.into()),
            (_, true) => format!("{}, {}", count(a.into()), count(b.into())),
            _ => format!("{}-{}", count(a.into()), count(b.into())),
        })
        .collect();
    texts.join(", ")
}

/// A figure on an axis of what is counted: nothing between whole numbers has a figure.
pub(crate) fn whole_tick(value: f64, step: f64) -> String {
    if (value - value.round()).abs() < 1e-9 {
        tick(value, step.max(1.0))
    } else {
        String::new()
    }
}

/// A figure with the digits that a step between axis ticks needs: `0.25` for steps of 0.05, `40` for steps of 10.
pub(crate) fn tick(value: f64, step: f64) -> String {
    let digits = if step > 0.0 && step < 1.0 {
        (-libm::log10(step) - 1e-9).ceil().clamp(0.0, 9.0) as usize
    } else {
        0
    };
    fixed(value, digits)
}

/// By how much the ticks of an axis are divided, and the word that goes before its unit: an axis with millions on it has
/// no room for their zeros.
pub(crate) fn tick_scale(low: f64, high: f64) -> (f64, &'static str) {
    if low.abs().max(high.abs()) >= 1e6 {
        (1e6, "million ")
    } else {
        (1.0, "")
    }
}

fn share_figure(fraction: f64) -> String {
    let percent = fraction * 100.0;
    if percent > 0.0 && percent <= 0.5 {
        "<1".to_owned()
    } else if (99.5..100.0).contains(&percent) {
        ">99".to_owned()
    } else {
        fixed(percent, 0)
    }
}

/// A figure with its unit behind it, where there is one.
pub fn with_unit(figure: String, unit: &str) -> String {
    if figure == NONE {
        figure
    } else {
        format!("{figure} {unit}")
    }
}

/// So many digits after the point, thousands grouped, and no minus before a zero.
fn fixed(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return NONE.to_owned();
    }
    let text = format!("{:.digits$}", value.abs());
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let is_zero = text.bytes().all(|b| b == b'0' || b == b'.');
    format!(
        "{}{}{rest}",
        if value < 0.0 && !is_zero { "-" } else { "" },
        grouped(whole)
    )
}

/// At most so many digits after the point, zeros at the end left out.
fn short(value: f64, digits: usize) -> String {
    let text = fixed(value, digits);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn grouped(whole: &str) -> String {
    let mut out = String::with_capacity(whole.len() + whole.len() / 3);
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests;
