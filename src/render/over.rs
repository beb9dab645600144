//! `sweep --over` made visible: words, table, small chart, JSON, CSV.

mod plot;

use super::columns::{Columns, Declared, SHARE, Table, Unit};
use super::figure::{self, Mark};
use super::format::{
    asked_of_100, between_two, count, money, of_100, of_100_beside, plain_interval, share_interval, tick, typed_amount,
    typed_money,
};
use super::page::Page;
use super::plot::Plot;
use super::spoken::spoken;
use super::text::Look;
use super::words::{BEFORE_TAX, SINGLES_GO_ALONG, batches_of, earns, several};
use super::{Render, text};
use crate::questions::over::{Crossing, LEAST_TRIALS, Over, OverAxis, OverPoint};
use crate::scenario::keys::{self, Key, Measure, Takes};
use crate::stats::Z975;

/// Rows shown unless all are asked for.
const ROWS: usize = 21;

impl Render for Over {
    fn page(&self, look: &Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self),
            why: why(self),
            tables: self.grids(look),
            small: small_print(self),
            care: BEFORE_TAX.to_owned(),
            ..Page::default()
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(table(self)))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        match self.axes.as_slice() {
            [across, up] => vec![Box::new(map_table(self, across, up))],
            _ => vec![Box::new(table(self))],
        }
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// A value of an axis with its unit: `61 EUR`, `4 min`, `remake`.
fn with_unit(axis: &OverAxis, value: &str, currency: &str) -> String {
    match axis.unit.as_str() {
        // A bare amount of money is the scenario's own, whatever stands in the file.
        "" if is_money(&axis.key) => format!("{value} {currency}"),
        "" => value.to_owned(),
        unit if value.ends_with(unit) => value.to_owned(),
        unit => format!("{value} {unit}"),
    }
}

/// How a key is called in a sentence.
fn named(axis: &OverAxis) -> String {
    format!("the {}", spoken(&axis.key))
}

/// What stands above its values, and the currency where they are bare amounts of money: `price, EUR`, `setup of 'glue pegs'`.
fn headed(axis: &OverAxis, currency: &str) -> String {
    if axis.unit.is_empty() && is_money(&axis.key) {
        format!("{}, {currency}", spoken(&axis.key))
    } else {
        spoken(&axis.key)
    }
}

/// Whether a key's value is an amount of money.
fn is_money(key: &str) -> bool {
    let last = key.rsplit('.').next().unwrap_or(key).trim_end_matches(['"', '\'']);
    let takes_money = |key: &Key| matches!(key.takes, Takes::Amount(rule) if rule.measure == Measure::Money);
    keys::all().any(|(_, key)| key.name == last && takes_money(key))
}

/// A value between two that were looked at: one digit finer than they are apart, rounded to the side where the target is reached.
fn between(axis: &OverAxis, crossing: &Crossing, currency: &str) -> String {
    let apart = crossing.to - crossing.from;
    let value = between_two(crossing.value, apart, crossing.reached_after);
    figure_of(axis, value, apart / 10.0, currency)
}

/// A value with the digits that a step needs; of money all of its cents or none.
fn figure_of(axis: &OverAxis, value: f64, step: f64, currency: &str) -> String {
    let is_bare_money = axis.unit.is_empty() && is_money(&axis.key);
    if is_bare_money && step < 1.0 {
        typed_amount(value, currency)
    } else {
        tick(value, step)
    }
}

/// "66.7 EUR (95 %: 66.4 to 67.1)": where a crossing lies, with its interval.
fn surely_at(over: &Over, axis: &OverAxis, crossing: &Crossing) -> String {
    let apart = (crossing.to - crossing.from) / 10.0;
    let narrow = crossing.low.zip(crossing.high).map(|(low, high)| (high - low) / 4.0);
    let fine = narrow
        .filter(|narrow| *narrow > 0.0)
        .map_or(apart, |narrow| narrow.min(apart));
    let text = |value: f64| figure_of(axis, value, fine, &over.currency);
    let ends = match (crossing.low, crossing.high) {
        (Some(low), Some(high)) => format!(" (95 %: {})", plain_interval(&text(low), &text(high))),
        (Some(low), None) => format!(" (95 %: {} or more)", text(low)),
        (None, Some(high)) => format!(" (95 %: {} or less)", text(high)),
        (None, None) => String::new(),
    };
    format!("{}{ends}", with_unit(axis, &text(crossing.value), &over.currency))
}

/// The two values looked at on either side of a crossing.
fn gap(axis: &OverAxis, crossing: &Crossing) -> String {
    let text = |value: f64| {
        let at = axis.numbers.as_ref().and_then(|n| n.iter().position(|v| *v == value));
        let text = at.and_then(|i| axis.texts.get(i)).cloned().unwrap_or_default();
        text.strip_suffix(&axis.unit)
            .map_or(text.clone(), |t| t.trim().to_owned())
    };
    format!("{} and {}", text(crossing.from), text(crossing.to))
}

/// What a value must do: "you earn 28 EUR an hour in at least 80 of 100 batches of 11"; what is gone over itself is not named.
fn goal(over: &Over) -> String {
    let over_key = |key: &str| over.axes.iter().any(|axis| axis.key == key);
    let target = if over_key("target") {
        "you reach that target".to_owned()
    } else if over.target == 0.0 {
        "you cover your costs".to_owned()
    } else {
        format!("you earn {} an hour", typed_money(over.target, &over.currency))
    };
    let batches = batches_of(over.size, "pieces made one at a time");
    if over_key("confidence") {
        format!("{target} in as many {batches} as it says")
    } else {
        format!("{target} in at least {} {batches}", asked_of_100(over.confidence))
    }
}

/// The value at which to act, what it brings, and what an hour earns over all that was gone over.
fn opening(over: &Over) -> Vec<String> {
    let Some(axis) = over.axes.first() else {
        return Vec::new();
    };
    let goal = goal(over);
    let paying = over.points.iter().filter(|p| p.pays).count();
    let mut said = vec![headline(over)];
    if changes_nothing(over) {
        said.push(format!("At every value looked at {}", own_hour(over)));
        return said;
    }
    let value = if over.axes.len() > 1 { "pair" } else { "value" };
    said.push(match paying {
        0 => format!("With none of these {value}s {goal}."),
        n if n == over.points.len() => format!("With each of these {value}s {goal}."),
        _ => format!("With such a {value} {goal}."),
    });
    if paying == 0 && over.axes.len() == 1 {
        let nearest = over.points.iter().max_by(|a, b| {
            // Of those that reach it as seldom, the one with the better hour.
            let often = |p: &OverPoint| p.reach.share - p.confidence;
            let hour = |p: &OverPoint| p.rate.long_run - p.target;
            often(a).total_cmp(&often(b)).then(hour(a).total_cmp(&hour(b)))
        });
        said.extend(nearest.and_then(|p| {
            Some(format!(
                "The nearest is {}, with {} {}.",
                with_unit(axis, axis.texts.get(*p.at.first()?)?, &over.currency),
                of_100_beside(p.reach.share, p.confidence),
                several(over.size)
            ))
        }));
    } else {
        said.extend(earns_between(over));
    }
    said
}

/// Whether one value is gone over and every batch earns the same at each: bench hours, what a jig costs.
fn changes_nothing(over: &Over) -> bool {
    let as_it_is = |p: &OverPoint| OverPoint {
        at: p.at.clone(),
        ..over.own.clone()
    };
    over.axes.len() == 1 && over.points.iter().all(|p| *p == as_it_is(p))
}

/// What an hour earns on average at the worst and the best value.
fn earns_between(over: &Over) -> Option<String> {
    let currency = &over.currency;
    let rate = |p: &&OverPoint| p.rate.long_run;
    let least = over.points.iter().min_by(|a, b| rate(a).total_cmp(&rate(b)))?;
    let most = over.points.iter().max_by(|a, b| rate(a).total_cmp(&rate(b)))?;
    let at = |p: &OverPoint| {
        let values = over.axes.iter().zip(&p.at).filter_map(|(axis, i)| axis.texts.get(*i));
        values.cloned().collect::<Vec<_>>().join(" and ")
    };
    let [from, to] = [least, most].map(|p| money(p.rate.long_run, currency));
    Some(if least.rate.long_run == most.rate.long_run {
        format!("On average an hour earns {to} at every value.")
    } else {
        let (worst, best) = (at(least), at(most));
        format!("On average an hour earns from {from} (at {worst}) to {to} (at {best}).")
    })
}

/// Where the target begins and ends to be reached.
fn why(over: &Over) -> Vec<String> {
    let mut said = Vec::new();
    let over_prices = over.axes.iter().any(|axis| axis.key == "sale.price");
    let singles = (over_prices && over.has_singles).then(|| SINGLES_GO_ALONG.to_owned());
    if over.axes.len() > 1 {
        said.push(as_it_is(over));
        said.extend(singles);
        said.extend(map_sentences(over));
        return said;
    }
    let Some(axis) = over.axes.first() else { return said };
    if changes_nothing(over) {
        return said;
    }
    if axis.key == "sale.price" && !over.own_buyers {
        said.push(
            "Each price is reckoned with the same buyers; whether a dearer piece loses some is not looked at."
                .to_owned(),
        );
    }
    said.extend(singles);
    for crossing in &over.crossings {
        let (at, gap) = (surely_at(over, axis, crossing), gap(axis, crossing));
        let does = if crossing.reached_after { "begins" } else { "ceases" };
        said.push(format!(
            "The target {does} to be reached at {at}; {gap} were looked at."
        ));
    }
    if over.points.iter().all(|p| !p.pays) {
        said.extend(earns_between(over));
    }
    if over.own.at.is_empty() {
        said.push(as_it_is(over));
    }
    said
}

/// What the file itself earns, which need not be among what was gone over.
fn as_it_is(over: &Over) -> String {
    let what = if over.axes.len() > 1 { "pair of values" } else { "value" };
    let with = match over.own.at.is_empty() {
        true => format!("Your file's own {what} is not among these. With it"),
        false => format!("With your file's own {what}"),
    };
    format!("{with} {}", own_hour(over))
}

/// What an hour earns as the file is, and how often that is enough: the end of a sentence.
fn own_hour(over: &Over) -> String {
    let hour = earns(over.own.rate.long_run, &over.currency);
    let (reached, batches) = (of_100(over.own.reach.share), several(over.size));
    format!("an hour {hour} on average, and {reached} {batches} reach the target.")
}

/// The instruction: the value at which to act.
fn headline(over: &Over) -> String {
    let Some(axis) = over.axes.first() else {
        return String::new();
    };
    let paying = over.points.iter().filter(|p| p.pays).count();
    let all = over.points.len();
    if over.axes.len() > 1 {
        let pairs = count(all as u64);
        return match paying {
            0 => format!("Change something else too: it does not pay with any of the {pairs} pairs of values."),
            n if n == all => format!("Choose any of the {pairs} pairs of values."),
            1 => format!("Choose the one of the {pairs} pairs looked at that reaches the target as surely as asked."),
            n => {
                let n = count(n as u64);
                format!("Choose among {n} of the {pairs} pairs looked at: they reach the target as surely as asked.")
            }
        };
    }
    let key = named(axis);
    if changes_nothing(over) {
        return format!("Look elsewhere: nothing of what an hour earns hangs on {key}.");
    }
    let ends = match (&axis.numbers, axis.texts.first(), axis.texts.last()) {
        (Some(_), Some(first), Some(last)) => Some((first, with_unit(axis, last, &over.currency))),
        _ => None,
    };
    match (paying, ends) {
        (0, Some((first, last))) => {
            return format!("Change something else too: it does not pay with {key} anywhere from {first} to {last}.");
        }
        (0, None) => {
            return format!("Change something else too: it does not pay with any of the {all} values of {key}.");
        }
        (n, Some((first, last))) if n == all => return format!("Choose {key} as you like from {first} to {last}."),
        (n, None) if n == all => return format!("Choose {key} as you like: each of the {all} values will do."),
        _ => {}
    }
    if axis.numbers.is_none() {
        let with = |pays: bool| {
            let such = over.points.iter().filter(|p| p.pays == pays);
            let texts = such.filter_map(|p| axis.texts.get(*p.at.first()?));
            texts.cloned().collect::<Vec<_>>().join(" or ")
        };
        return format!("Choose {} for {key}, not {}.", with(true), with(false));
    }
    let stretches = stretches(over, axis).join(", or at ");
    if axis.key == "sale.price" {
        format!("Set the price at {stretches}.")
    } else {
        format!("Keep {key} at {stretches}.")
    }
}

/// Where the target is reached: "about 25.9 EUR or more", "about 29.6 to 57 EUR".
fn stretches(over: &Over, axis: &OverAxis) -> Vec<String> {
    let value = |crossing: &Crossing| with_unit(axis, &between(axis, crossing, &over.currency), &over.currency);
    let mut stretches = Vec::new();
    let mut begin: Option<&Crossing> = None;
    for crossing in &over.crossings {
        if crossing.reached_after {
            begin = Some(crossing);
            continue;
        }
        stretches.push(match begin.take() {
            None => format!("about {} or less", value(crossing)),
            Some(from) => format!("about {} to {}", between(axis, from, &over.currency), value(crossing)),
        });
    }
    if let Some(from) = begin {
        stretches.push(format!("about {} or more", value(from)));
    }
    stretches
}

/// Where a map's line runs: at both ends of the second value.
fn map_sentences(over: &Over) -> Vec<String> {
    let [across, up] = over.axes.as_slice() else {
        return Vec::new();
    };
    let ends = [0, up.texts.len().saturating_sub(1)];
    let key = named(across);
    ends.iter()
        .filter_map(|row| {
            let points = over.points.iter().filter(|p| p.at.get(1) == Some(row));
            let pays: Vec<bool> = points.map(|p| p.pays).collect();
            let first = pays.iter().position(|p| *p);
            let last = pays.iter().rposition(|p| *p);
            let where_ = match (first, last) {
                (None, _) | (_, None) => format!("no value of {key} reaches the target"),
                (Some(0), Some(l)) if l + 1 == pays.len() && pays.iter().all(|p| *p) => {
                    format!("every value of {key} reaches the target")
                }
                (Some(f), Some(l)) if pays[f..=l].iter().all(|p| *p) && across.numbers.is_some() => {
                    let (f_text, l_text) = (across.texts.get(f)?, across.texts.get(l)?);
                    match (f, l + 1 == pays.len()) {
                        (0, _) => format!("{key} up to {l_text} reaches the target"),
                        (_, true) => format!("{key} from {f_text} on reaches the target"),
                        _ => format!("{key} from {f_text} to {l_text} reaches the target"),
                    }
                }
                _ => {
                    let n = pays.iter().filter(|p| **p).count();
                    format!("{n} of {} values of {key} reach the target", pays.len())
                }
            };
            Some(format!("With {} at {}, {where_}.", named(up), up.texts.get(*row)?))
        })
        .collect()
}

/// Places of the values that have a row in any case: both sides of every crossing, the ends, and others evenly between.
fn shown(over: &Over) -> Vec<usize> {
    let n = over.points.len();
    let own = over.own.at.first().copied();
    let turn = |a: usize, b: usize| over.points.get(a).map(|p| p.pays) != over.points.get(b).map(|p| p.pays);
    let wanted = |i: &usize| {
        let i = *i;
        n <= ROWS
            || i == 0
            || i + 1 == n
            || own == Some(i)
            || turn(i - 1, i)
            || turn(i, i + 1)
            || i.is_multiple_of(n.div_ceil(ROWS - 6))
    };
    (0..n).filter(wanted).collect()
}

/// A value as it was written.
fn label<'a>(axis: &'a OverAxis, point: &OverPoint, place: usize) -> &'a str {
    let text = point.at.get(place).and_then(|i| axis.texts.get(*i));
    text.map_or("", String::as_str)
}

/// A line a value; all columns are the CSV, of two axes as well.
fn table(over: &Over) -> Table<'_, &OverPoint> {
    let begins = over.crossings.first().is_some_and(|crossing| crossing.reached_after);
    Table::new("Value by value", over, "points", &over.points, columns(over))
        .choose(shown(over), "values")
        .mark(Mark::Pays, REACHED, |p| p.pays)
        .main(move |p| begins && p.pays)
}

/// What the mark before a value means.
const REACHED: &str = "the target is reached as surely as asked";

fn columns(over: &Over) -> Columns<'_, &OverPoint> {
    let currency = over.currency.as_str();
    let (money, hourly) = (Unit::Money(currency), Unit::Hourly(currency));
    let mut c: Columns<'_, &OverPoint> = Columns::default();
    for (k, axis) in over.axes.iter().enumerate() {
        c.from(move |p| Some(format!("axes[{k}].texts[{}]", p.at.get(k)?)));
        c.field("", Unit::Text)
            .named(&axis.key)
            .head(headed(axis, currency))
            .note(format!("In the file: {}.", text::printable(&axis.key)))
            .breaks(12);
        c.from(move |p| Some(format!("axes[{k}].numbers[{}]", p.at.get(k)?)));
        let behind = if axis.unit.is_empty() {
            String::new()
        } else {
            format!(" ({})", axis.unit)
        };
        c.field("", Unit::Ratio)
            .named(format!("{} as a number{behind}", axis.key));
    }
    c.of_all("size", Unit::Count);
    c.from_row();
    c.field("price", money);
    c.field("target", hourly);
    c.field("confidence", Unit::Share);
    c.rates("rate", currency, true);
    c.fields("reach", SHARE, Unit::Share)
        .plain("batches\nthat reach\nthe target")
        .decides();
    c.field("pays", Unit::Text);
    c.called("floor", "floor_asked", &["price", "low", "high"], Unit::Floor(currency))
        .or("no price")
        .plain("price that\npays")
        .decides();
    c.field("floor_long_run", money);
    c
}

/// Places that are shown of so many, at most `room`: the ends and others evenly between.
fn picked(all: usize, room: usize) -> Vec<usize> {
    if all <= room || room < 2 {
        return (0..all).collect();
    }
    (0..room)
        .map(|k| (k * (all - 1) + (room - 1) / 2) / (room - 1))
        .collect()
}

/// What an hour earns on average, one value across and one upwards.
fn map_table<'a>(over: &'a Over, across: &'a OverAxis, up: &'a OverAxis) -> Table<'a, usize> {
    let mut c: Columns<'a, usize> = Columns::default();
    let count = across.texts.len();
    let last = up.texts.len().saturating_sub(1);
    c.said("up", move |row| up.texts.get(last - row).map(String::as_str).into())
        .plain("")
        .breaks(6);
    for (k, text) in across.texts.iter().enumerate() {
        // Where room is short every other column goes, then every other of what is left; the file's own stays.
        let rank = if k == 0 || k + 1 == count || over.own.at.first() == Some(&k) {
            0
        } else {
            8 - k.trailing_zeros().min(7) as u8
        };
        let cell = move |point: &OverPoint| {
            let cell = figure::amount(point.rate.long_run, &over.currency);
            match (point.at == over.own.at, point.pays) {
                (true, _) => cell.marked(Mark::Own),
                (false, true) => cell.marked(Mark::Pays),
                (false, false) => cell,
            }
        };
        c.shown(text, move |row| {
            over.points.get((last - row) * count + k).map(cell).into()
        })
        .plain(text)
        .spare(rank);
    }
    let name = format!(
        "{} an hour on average; across: {}, upwards: {}",
        over.currency,
        headed(across, &over.currency),
        headed(up, &over.currency)
    );
    let rows: Vec<usize> = (0..up.texts.len()).collect();
    let mut shown = picked(rows.len(), ROWS);
    shown.extend(over.own.at.get(1).map(|own| last - own));
    shown.sort_unstable();
    shown.dedup();
    Table::new(name, over, "", rows, c)
        .titled(true)
        .alike()
        .choose(shown, "rows")
        .explain(Mark::Pays, REACHED)
        .explain(Mark::Own, if over.own.pays { "pays" } else { "does not pay" })
}

fn small_print(over: &Over) -> Vec<String> {
    let mut lines = Vec::new();
    let each = if over.axes.len() > 1 { "pair of values" } else { "value" };
    let widest = over.points.iter().map(|p| p.rate.long_run_se).fold(0.0, f64::max);
    let varies = over.points.iter().any(|p| p.rate.p10 != p.rate.p90);
    let (trials, seed, version) = (count(over.trials), over.seed, &over.version);
    if varies {
        lines.push(format!(
            "Each {each} was tried in {trials} batches, all with the same luck. Seed {seed}, batchwright {version}."
        ));
        if over.trials < LEAST_TRIALS {
            lines.push(format!(
                "Only {trials} batches of each {each} were simulated, not {} or more as is usual, so that each figure is less sure.",
                count(LEAST_TRIALS)
            ));
        }
        let near = over.points.iter().min_by(|a, b| {
            let off = |p: &OverPoint| (p.reach.share - p.confidence).abs();
            off(a).total_cmp(&off(b))
        });
        let reach = near.map_or_else(String::new, |p| {
            let share = share_interval(p.reach.low, p.reach.high);
            format!(", the share of batches {share} where it matters most")
        });
        let widest = money(Z975 * widest, &over.currency);
        lines.push(format!(
            "Simulation error (95 %): the average hour at most {widest} either way{reach}."
        ));
    } else {
        lines.push(format!(
            "Nothing varies here, so every batch is the same. Batchwright {version}."
        ));
    }
    if !over.crossings.is_empty() {
        lines.push(
            "Between two values looked at, the value that just pays is estimated; a finer step tells it more closely."
                .to_owned(),
        );
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::sweep::{Floor, Rate};
    use crate::render::plot::Field;
    use crate::render::samples::{fitting, look, on_its_page, row_of, share, text_chart};

    /// Rates at 10, 50 and 90 % at prices of 40, 50, 60 ...
    fn over(rates: &[[f64; 3]]) -> Over {
        let prices: Vec<u32> = (4..).map(|k| 10 * k).take(rates.len()).collect();
        let points: Vec<OverPoint> = rates
            .iter()
            .enumerate()
            .map(|(k, [p10, p50, p90])| OverPoint {
                at: vec![k],
                price: f64::from(prices[k]),
                target: 20.0,
                confidence: 0.8,
                rate: Rate {
                    mean: *p50,
                    p10: *p10,
                    p50: *p50,
                    p90: *p90,
                    long_run: *p50,
                    long_run_se: 0.1,
                    long_run_paid: *p50,
                },
                reach: share(0.5),
                pays: false,
                floor: Floor {
                    confidence: 0.8,
                    price: None,
                    low: None,
                    high: None,
                },
                floor_long_run: None,
            })
            .collect();
        Over {
            title: "Oak peg rail".to_owned(),
            currency: "EUR".to_owned(),
            size: 9,
            price: 62.0,
            target: 20.0,
            confidence: 0.8,
            trials: 1000,
            seed: 1,
            version: "0.1.0".to_owned(),
            axes: vec![OverAxis {
                key: "sale.price".to_owned(),
                unit: String::new(),
                texts: prices.iter().map(u32::to_string).collect(),
                numbers: Some(prices.iter().map(|p| f64::from(*p)).collect()),
            }],
            own: points[0].clone(),
            points,
            crossings: Vec::new(),
            own_buyers: false,
            has_singles: false,
        }
    }

    /// Two prices by two: what rounding alone sets apart has one shade, and no two shades read alike.
    #[test]
    fn shades_of_a_map_read_differently() {
        let shades = |step: f64| {
            let mut over = over(&[0.0, 1.0, 2.0, 3.0].map(|k| [3.49 + k * step; 3]));
            for (k, point) in over.points.iter_mut().enumerate() {
                point.at = vec![k % 2, k / 2];
            }
            over.axes[0].texts.truncate(2);
            over.axes[0].numbers = Some(vec![40.0, 50.0]);
            over.axes.push(over.axes[0].clone());
            let plot = over.plot().expect("it has points");
            let Field::Map(map) = &plot.panels[0].field else {
                panic!("{plot:?}")
            };
            map.shades.iter().map(|(_, said)| said.clone()).collect::<Vec<_>>()
        };
        assert_eq!(shades(0.0), ["3.49"]);
        assert_eq!(shades(1e-15), ["3.49"]);
        assert_eq!(shades(0.01), ["3.51 to 3.52", "3.50 to 3.51", "3.49 to 3.50"]);
        assert_eq!(shades(1.0).len(), 7);
    }

    /// "40", a space and the upright leave 57 of 61 columns, 56 steps, for 5 to 60 and 5 % of that at either end: 60.5 of money. So 5 is
    /// 2.55 steps from the first column, 10 is 7.17, 15 is 11.80, 18 is 14.58, 20 is 16.43, 30 is 25.69 and 60 is 53.45.
    #[test]
    fn strips_stand_where_the_rates_are() {
        let answer = over(&[[5.0, 10.0, 15.0], [18.0, 30.0, 60.0]]);
        let text = text_chart(&answer, &look(61, true)).unwrap();
        // 5 to 15 with 10 in the middle, then the target.
        let first: String = row_of(&text, "40").unwrap().into_iter().collect();
        assert_eq!(first.trim_end(), "   ░░░░●░░░░░   ┆", "{text}");
        let second = row_of(&text, "50").unwrap();
        let band = |from: usize, to: usize| second[from..=to].iter().all(|c| *c == '░');
        assert!(
            band(15, 15) && band(17, 25) && band(27, 53) && second[14] == ' ',
            "{text}"
        );
        assert_eq!((second[16], second[26], second.get(54)), ('┆', '●', None), "{text}");
        assert_eq!(fitting(|look| text_chart(&answer, look)).len(), 6);
        on_its_page(&answer, "What an hour earns: EUR per");
    }

    /// What pays is to be chosen, what does not is not.
    #[test]
    fn of_words_those_that_pay_are_chosen() {
        let mut answer = over(&[[20.0; 3]; 3]);
        answer.axes[0].key = "batch.spoiled".to_owned();
        answer.axes[0].texts = ["short", "again", "other"].map(str::to_owned).into();
        answer.axes[0].numbers = None;
        answer.points[1].pays = true;
        answer.points[1].rate.p50 = 30.0;
        let said = headline(&answer);
        assert!(
            said.starts_with("Choose again for ") && said.ends_with(", not short or other."),
            "{said}"
        );
    }

    /// Money to the cent, minutes to their step.
    #[test]
    fn a_figure_has_the_digits_of_its_step() {
        let price = over(&[[20.0; 3]]).axes.remove(0);
        assert_eq!(figure_of(&price, 25.9, 0.1, "EUR"), "25.90");
        let minutes = OverAxis {
            key: "step.make.each".to_owned(),
            unit: "min".to_owned(),
            ..price
        };
        assert_eq!(figure_of(&minutes, 0.125, 0.001, "EUR"), "0.125");
    }

    #[test]
    fn where_all_is_one_value_there_is_no_chart() {
        assert_eq!(text_chart(&over(&[[20.0; 3]]), &look(60, true)), None);
    }

    #[test]
    fn picked_places_hold_both_ends() {
        assert_eq!(picked(5, 9), [0, 1, 2, 3, 4]);
        assert_eq!(picked(60, 3), [0, 30, 59]);
        for (all, room) in [(60, 8), (13, 12), (7, 2)] {
            let places = picked(all, room);
            assert_eq!((places[0], places[places.len() - 1], places.len()), (0, all - 1, room));
            assert!(places.windows(2).all(|w| w[0] < w[1]), "{places:?}");
        }
    }

    #[test]
    fn prices_gone_over_say_what_becomes_of_pieces_sold_singly() {
        let mut answer = over(&[[10.0, 18.0, 25.0], [15.0, 22.0, 30.0]]);
        for singles in [false, true] {
            answer.has_singles = singles;
            assert_eq!(why(&answer).iter().any(|line| line == SINGLES_GO_ALONG), singles);
        }
        answer.axes[0].key = "sale.post".to_owned();
        assert!(!why(&answer).iter().any(|line| line == SINGLES_GO_ALONG));
    }
}
