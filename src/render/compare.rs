//! The comparison in words, tables, a small chart, JSON and CSV.
//!
//! The compared things are called A, B, C ... in the order they were given, as titles are long.

mod opening;
mod plot;
mod table;

use super::columns::Declared;
use super::format::{
    asked_of_100, count, hours, mean_interval, money, of_100, of_100_beside, often, only, share_interval, typed_money,
};
use super::page::Page;
use super::plot::Plot;
use super::question::Question;
use super::words::{self, each_once, earns, joined, one_or_count};
use super::{Render, sweep, text};
use crate::questions::compare::{BenchFrom, Chosen, Compare, Compared, Limit, Mix, Pair};

pub use opening::opening;
use opening::opens_with_wins;

/// Letters of whole titles in a heading at the most.
const LONGEST_HEADING: usize = 90;

impl Render for Compare {
    fn page(&self, look: &text::Look) -> Page {
        let (why, further) = words::folded(why(self));
        Page {
            title: title(self),
            opening: opening(self),
            why,
            tables: self.grids(look),
            more: further.into_iter().chain(more(self, look)).collect(),
            small: small_print(self, look),
            care: care(self),
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(table::of_entries(self, "", table::columns(self))))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        vec![Box::new(table::rates(self)), Box::new(table::weeks(self))]
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// What it is about: the names set against each other.
pub fn title(answer: &Compare) -> String {
    let unlike = |of: fn(&Compare, usize) -> String| each_once((0..answer.entries.len()).map(|k| of(answer, k)));
    let whole = unlike(whole).join(AGAINST);
    let names = unlike(name);
    if let [one] = names.as_slice() {
        let mut sizes: Vec<u32> = answer.entries.iter().map(|entry| entry.run.size).collect();
        sizes.sort_unstable();
        sizes.dedup();
        return match sizes.len() {
            0 | 1 => format!("{one} against itself"),
            n => format!("{one}, at {n} sizes"),
        };
    }
    if whole.chars().count() <= LONGEST_HEADING {
        whole
    } else {
        names.join(AGAINST)
    }
}

const AGAINST: &str = " against ";

/// [`title`] for a chart, where names may be cut beside the letters: with the letters before whole titles.
pub(crate) fn chart_title(answer: &Compare) -> String {
    let led: Vec<String> = (0..answer.entries.len())
        .map(|k| format!("{} {}", letter(answer, k), whole(answer, k)))
        .collect();
    let led = led.join(AGAINST);
    if title(answer).contains(AGAINST) && led.chars().count() <= LONGEST_HEADING {
        led
    } else {
        title(answer)
    }
}

/// A, B, C ... by the place among all scenarios, also of those that are left out.
pub fn letter(answer: &Compare, k: usize) -> char {
    lettered(answer.entries.get(k).map_or(k, |entry| entry.place))
}

/// The letters of such entries.
fn letters(answer: &Compare, such: impl Fn(&Compared) -> bool) -> Vec<String> {
    let entries = answer.entries.iter().filter(|entry| such(entry));
    entries.map(|entry| lettered(entry.place).to_string()).collect()
}

pub(super) fn lettered(place: usize) -> char {
    char::from(b'A' + (place % 26) as u8)
}

/// The file of an entry where another of its title is from another file: by that alone they are told apart. Without the folder
/// where the name says enough.
fn told_by_file(answer: &Compare, k: usize) -> Option<String> {
    let entry = answer.entries.get(k)?;
    let file = entry.file.as_deref()?;
    let base = |file: &str| file.rsplit(['/', '\\']).next().unwrap_or_default().to_owned();
    let others = || {
        let files = answer.entries.iter().filter(|other| other.title == entry.title);
        files
            .filter_map(|other| other.file.as_deref())
            .filter(|other| *other != file)
    };
    others().next()?;
    Some(text::printable(&if others().any(|other| base(other) == base(file)) {
        file.to_owned()
    } else {
        base(file)
    }))
}

/// The whole title, with the file where that alone tells it from another.
fn whole(answer: &Compare, k: usize) -> String {
    let title = answer.entries.get(k).map_or("", |entry| &entry.title);
    with_file(answer, k, text::printable(title))
}

fn with_file(answer: &Compare, k: usize, title: String) -> String {
    match told_by_file(answer, k) {
        Some(file) => format!("{title} ({file})"),
        None => title,
    }
}

/// What it is called where room is short: the name, or the file where that alone tells it from another.
pub fn label(answer: &Compare, k: usize) -> String {
    told_by_file(answer, k).unwrap_or_else(|| name(answer, k))
}

/// The title up to its first comma where that tells the compared things apart, else the whole; with the file where titles agree.
pub fn name(answer: &Compare, k: usize) -> String {
    with_file(answer, k, by_title(answer, k))
}

fn by_title(answer: &Compare, k: usize) -> String {
    let short = |entry: &Compared| text::printable(entry.title.split(',').next().unwrap_or_default().trim());
    let Some(entry) = answer.entries.get(k) else {
        return String::new();
    };
    let own = short(entry);
    let mut others = answer.entries.iter();
    let doubled = others.any(|other| short(other) == own && other.title != entry.title);
    if own.is_empty() || doubled {
        text::printable(&entry.title)
    } else {
        own
    }
}

/// "Oak peg rail, 9 at a time"; the name only where it tells one from another.
fn what(answer: &Compare, k: usize) -> String {
    let size = answer.entries[k].run.size;
    let many = format!("{} at a time", one_or_count(size));
    let own = name(answer, k);
    if (0..answer.entries.len()).all(|other| name(answer, other) == own) {
        many
    } else {
        format!("{own}, {many}")
    }
}

/// Whether nothing varies from trial to trial in either.
fn both_certain(answer: &Compare, pair: &Pair) -> bool {
    [pair.first, pair.second].iter().all(|k| {
        let rate = &answer.entries[*k].run.rate;
        (rate.p90 - rate.p10).abs() <= 1e-9 * rate.p90.abs().max(1.0) && rate.long_run_se <= 1e-9
    })
}

/// The entries that are not the best, best long-run rate first.
fn others(answer: &Compare) -> Vec<usize> {
    by_rate(answer).filter(|k| *k != answer.best).collect()
}

/// The entry that comes nearest to the best, against it.
fn against_next(answer: &Compare) -> Option<Pair> {
    let next = *others(answer).first()?;
    answer.pair(answer.best, next)
}

/// Whether the two are one product, written in two files: what differs may be the work or only what is known of it.
fn same_product(answer: &Compare, pair: &Pair) -> bool {
    let [one, other] = [pair.first, pair.second].map(|k| &answer.entries[k]);
    one.title == other.title && one.file != other.file
}

/// How to share a week out, where that brings in more than any one of them; of many only which, as [`shared_out`] then says how.
fn shared_week(answer: &Compare) -> Option<String> {
    let mix = answer.mix.as_ref()?;
    let money = money(mix.money, &answer.currency);
    Some(if in_mix(answer).len() > TOLD_AT_ONCE {
        format!("A week of {} brings in most: {money}.", joined(&in_mix(answer))?)
    } else {
        format!("{}: that brings in {money}.", give(answer)?)
    })
}

/// Hours given to so many can be said in one sentence with what they bring in.
const TOLD_AT_ONCE: usize = 3;

/// How to share a week out among more than an opening can tell, and what is then left of the bench hours.
fn shared_out(answer: &Compare) -> Vec<String> {
    let Some(mix) = &answer.mix else { return Vec::new() };
    let mut said = Vec::new();
    if in_mix(answer).len() > TOLD_AT_ONCE {
        said.extend(give(answer).map(|give| format!("{give}.")));
    }
    let taken: f64 = mix.hours.iter().sum();
    let of_these = answer.entries.iter().filter(|entry| entry.week.money.is_some());
    let bench = of_these.filter_map(|entry| entry.week.bench_hours).fold(0.0, f64::max);
    if bench - taken > MORE_A_WEEK * bench {
        let [taken, bench] = [taken, bench].map(hours);
        said.push(format!(
            "That takes {taken} of the {bench} at the bench: buyers want no more of them."
        ));
    }
    said.extend(below_target(answer, mix));
    said
}

/// Which of those that share the week earn less than their target, where that is the same of all: else each is told beside its own.
fn below_target(answer: &Compare, mix: &Mix) -> Option<String> {
    let target = typed_money(same_target(answer)?, &answer.currency);
    let below = by_rate(answer)
        .filter(|k| mix.hours[*k] > 0.0 && answer.entries[*k].run.rate.long_run < answer.entries[*k].target);
    let below: Vec<String> = below.map(|k| letter(answer, k).to_string()).collect();
    let (earn, it) = if below.len() == 1 {
        ("earns", "it")
    } else {
        ("earn", "them")
    };
    Some(format!(
        "{} {earn} less than the {target} an hour you want, so give {it} only hours that nothing better fills.",
        joined(&below)?
    ))
}

/// The letters of those that share a week, best hour first.
fn in_mix(answer: &Compare) -> Vec<String> {
    let some = |k: &usize| answer.mix.as_ref().is_some_and(|mix| mix.hours[*k] > 0.0);
    by_rate(answer)
        .filter(some)
        .map(|k| letter(answer, k).to_string())
        .collect()
}

fn give(answer: &Compare) -> Option<String> {
    let mix = answer.mix.as_ref()?;
    let parts: Vec<String> = by_rate(answer)
        .filter(|k| mix.hours[*k] > 0.0)
        .map(|k| format!("{} to {}", hours(mix.hours[k]), letter(answer, k)))
        .collect();
    Some(format!("In a week, give {}", joined(&parts)?))
}

/// A week that brings in more by a smaller share is as good as the other (assumption).
const MORE_A_WEEK: f64 = 0.01;

/// The week of another than the best by the hour, where that clearly brings in most.
fn other_week(answer: &Compare) -> Option<RivalWeek> {
    let more = |[most, next]: [f64; 2]| most > next + MORE_A_WEEK * next.abs();
    rival_week(answer).filter(|rival| rival.clear && rival.first != answer.best && more(rival.money))
}

fn told_of_week(answer: &Compare, rival: &RivalWeek) -> String {
    let [x, y] = [rival.first, rival.second].map(|k| letter(answer, k));
    let [most, next] = rival.money.map(|value| money(value, &answer.currency));
    let [long, short] = [rival.first, rival.second].map(|k| answer.entries[k].week.hours.unwrap_or(0.0));
    if (long - short).abs() > MORE_A_WEEK * short {
        let [long, short] = [long, short].map(hours);
        format!("A week of {x} brings in {most} for {long}, against {next} for {short} with {y}.")
    } else {
        format!("A week of {x} brings in {most}, against {next} with {y}.")
    }
}

/// How each stands to its own target, where they are not the same.
fn own_targets(answer: &Compare) -> Option<String> {
    let none = answer.entries.iter().all(|entry| entry.target <= 0.0);
    if none || same_target(answer).is_some() {
        return None;
    }
    let each: Vec<String> = by_rate(answer)
        .map(|k| {
            let (entry, own) = (&answer.entries[k], letter(answer, k));
            let (rate, goal) = (entry.run.rate.long_run, typed_money(entry.target, &answer.currency));
            if entry.run.pays(entry.confidence) {
                format!("{own} reaches its {goal}")
            } else if rate >= entry.target {
                format!("{own} reaches its {goal} only on average")
            } else {
                let lacks = money(entry.target - rate, &answer.currency);
                format!("{own} falls {lacks} short of its {goal}")
            }
        })
        .collect();
    let each = joined(&each)?;
    Some(format!(
        "Each is held to the target of its own file: an hour of {each}."
    ))
}

/// The entries, best long-run rate first.
fn by_rate(answer: &Compare) -> impl Iterator<Item = usize> {
    let rate = |k: usize| answer.entries[k].run.rate.long_run;
    let mut order: Vec<usize> = (0..answer.entries.len()).collect();
    order.sort_by(|x, y| rate(*y).total_cmp(&rate(*x)));
    order.into_iter()
}

/// In how many of 100 cases a batch of the one beats a batch of the other.
fn wins(answer: &Compare, pair: &Pair) -> Option<String> {
    if both_certain(answer, pair) {
        return None;
    }
    let [a, b] = [pair.first, pair.second].map(|k| letter(answer, k));
    let (chance, often) = (pair.first_wins.share, of_100(pair.first_wins.share));
    Some(if chance < 0.5 && pair.difference.mean > 0.0 {
        format!(
            "A batch of {a} beats one of {b} in {} cases, but its good batches make up for it.",
            only(&often)
        )
    } else {
        format!("A batch of {a} beats one of {b} in {often} cases.")
    })
}

/// What other currencies were taken to be worth, where there are any.
fn rates(answer: &Compare) -> Option<String> {
    let converted = answer.entries.iter().filter_map(|entry| entry.converted.as_ref());
    let rates = converted.map(|of| format!("1 {} is {}", of.from, money(of.worth, &answer.currency)));
    joined(&each_once(rates))
}

/// That money was converted, where it was.
fn converted(answer: &Compare) -> Option<String> {
    let rates = rates(answer)?;
    Some(format!(
        "All money is in {}; {rates}, as the files say on average.",
        answer.currency
    ))
}

/// Which scenarios are left out for want of a rate, and how to mend that.
fn left_out(answer: &Compare) -> Vec<String> {
    let into = &answer.currency;
    let mut said = Vec::new();
    for out in &answer.left_out {
        let (name, own) = (lettered(out.place), &out.currency);
        said.push(format!(
            "{name}, {}, is left out: no file says what a {own} is worth in {into}.",
            out.title
        ));
    }
    let mut rates: Vec<&str> = answer.left_out.iter().map(|out| out.currency.as_str()).collect();
    rates.sort_unstable();
    rates.dedup();
    for own in rates {
        said.push(format!(
            "Write `{own} = ...` under [currencies] in the first file, with what 1 {own} costs in {into} in place of the dots."
        ));
    }
    said
}

/// What the others do, whether the target is reached, and what a week brings in.
fn why(answer: &Compare) -> Vec<String> {
    let Some(best) = answer.entries.get(answer.best) else {
        return Vec::new();
    };
    let a = letter(answer, answer.best);
    let mut said: Vec<String> = converted(answer).into_iter().chain(left_out(answer)).collect();
    said.extend(shared_out(answer));
    // Near the opening, which may name the hours of such a week, and never folded away.
    for (k, entry) in answer.entries.iter().enumerate() {
        if let Some(days) = entry.week.day_hours {
            said.push(format!(
                "The selling days of {} take another {} of a week, beside those hours at the bench.",
                letter(answer, k),
                hours(days)
            ));
        }
    }
    said.extend(own_targets(answer).or_else(|| target(answer, best)));
    for (place, k) in others(answer).into_iter().enumerate() {
        let Some(pair) = answer.pair(answer.best, k) else {
            continue;
        };
        let wins = wins(answer, &pair).filter(|_| place > 0 || !opens_with_wins(answer, &pair));
        if place > 0 {
            said.push(format!(
                "Against {}, {}, {a} is {} an hour ahead.",
                letter(answer, k),
                what(answer, k),
                money(pair.difference.mean, &answer.currency)
            ));
        }
        said.extend(wins);
    }
    said.extend(week(answer));
    said
}

/// Whether the best reaches what an hour should earn.
fn target(answer: &Compare, best: &Compared) -> Option<String> {
    let goal = typed_money(best.target, &answer.currency);
    let a = letter(answer, answer.best);
    if best.target <= 0.0 || best.run.rate.long_run < 0.0 {
        return None;
    }
    if best.run.rate.long_run < best.target {
        Some(format!("Even {a} does not earn the {goal} an hour you want."))
    } else if best.run.pays(best.confidence) {
        None
    } else {
        Some(format!(
            "{a} earns the {goal} an hour you want in {} batches; you want it in {}.",
            only(&of_100_beside(best.run.reach.share, best.confidence)),
            asked_of_100(best.confidence)
        ))
    }
}

/// The entry whose week brings in most, beside the next.
struct RivalWeek {
    first: usize,
    second: usize,
    money: [f64; 2],
    /// Whether the simulation can tell them apart.
    clear: bool,
}

fn rival_week(answer: &Compare) -> Option<RivalWeek> {
    let first = answer.best_week?;
    let of = |k: usize| answer.entries[k].week.money;
    let best = of(first)?;
    let mut rivals: Vec<usize> = (0..answer.entries.len())
        .filter(|k| *k != first && of(*k).is_some())
        .collect();
    let mean = |k: usize| of(k).map_or(f64::NEG_INFINITY, |m| m.mean);
    rivals.sort_by(|x, y| mean(*y).total_cmp(&mean(*x)).then(x.cmp(y)));
    let second = *rivals.first()?;
    let next = of(second)?;
    Some(RivalWeek {
        first,
        second,
        money: [best.mean, next.mean],
        clear: best.surely_above(&next),
    })
}

/// What a week brings in.
fn week(answer: &Compare) -> Vec<String> {
    let currency = answer.currency.as_str();
    let mut said = Vec::new();
    if let Some(rival) = rival_week(answer) {
        let [x, y] = [rival.first, rival.second].map(|k| letter(answer, k));
        let [most, next] = rival.money.map(|value| money(value, currency));
        if !rival.clear {
            said.push(format!(
                "A week brings in about the same: {most} with {x} and {next} with {y}."
            ));
        } else if rival.first == answer.best {
            said.push(format!(
                "A week of {x} brings in more as well: {most}, against {next} with {y}."
            ));
        } else if shared_week(answer).is_some() {
            said.push(format!(
                "Of those made alone, {x} brings in most a week: {most}, against {next} with {y}."
            ));
        }
    }
    for (k, entry) in answer.entries.iter().enumerate() {
        let week = &entry.week;
        if let (Some(Limit::Demand), Some(demand)) = (week.limit, week.demand) {
            said.push(format!(
                "Buyers want only {} of {} a week, which takes {} at the bench.",
                often(demand),
                letter(answer, k),
                hours(week.hours.unwrap_or(0.0))
            ));
        }
    }
    said
}

/// What is tied up, and why a week may not be known.
fn more(answer: &Compare, look: &text::Look) -> Vec<String> {
    let mut said = vec![tied_up(answer)];
    said.extend(all_sells(answer, look));
    let without = |season: bool| {
        letters(answer, |entry| {
            entry.week.money.is_none() && entry.week.one_season == season
        })
    };
    let (unknown, seasonal) = (without(false), without(true));
    let weeks = answer.entries.iter().map(|entry| &entry.week);
    let given = weeks.filter(|week| !week.one_season);
    let ends = given
        .filter_map(|week| week.bench_hours)
        .fold(None, |ends: Option<[f64; 2]>, h| {
            Some(ends.map_or([h, h], |[low, high]| [low.min(h), high.max(h)]))
        });
    if let Some([low, high]) = ends.filter(|[low, high]| low < high) {
        let [low, high] = [low, high].map(hours);
        said.push(format!(
            "Their bench hours a week differ, from {low} to {high}, so one week cannot be shared out among them."
        ));
        let cure = if look.terminal {
            "Give the hours of your week with --hours-a-week to share it out."
        } else if look.has_forms() {
            "Say the same hours at the bench in each to share it out."
        } else {
            "Write the same [hours] into each to share it out."
        };
        said.push(cure.to_owned());
    }
    if !unknown.is_empty() {
        let weeks = unknown.join(" or ");
        said.push(format!(
            "What a week of {weeks} brings in is not known without bench hours."
        ));
        said.push(if look.terminal {
            "Write an [hours] section (for example mon = 2 and sat = 6) or give --hours-a-week.".to_owned()
        } else if look.has_forms() {
            "Say in its figures when you are at the bench.".to_owned()
        } else {
            "Write an [hours] section, for example mon = 2 and sat = 6.".to_owned()
        });
    }
    if !seasonal.is_empty() {
        said.push(format!(
            "There is no usual week for {}, because {} made for one season only.",
            seasonal.join(" and for "),
            if seasonal.len() == 1 { "it is" } else { "they are" }
        ));
    }
    said
}

/// Whose week counts on buyers for all that is made, as no file says how many there are. With selling days, or on sale or return, no file
/// can.
fn all_sells(answer: &Compare, look: &text::Look) -> Option<String> {
    let of = |entry: &&Compared| entry.week.money.is_some() && entry.week.demand.is_none();
    let unlimited = || answer.entries.iter().filter(of);
    let letters: Vec<String> = unlimited().map(|entry| lettered(entry.place).to_string()).collect();
    let sells = format!("Here every good piece of {} is taken.", joined(&letters)?);
    let can_say = |entry: &Compared| {
        let returned = entry.run.channels.iter().any(|channel| channel.unsold.is_some());
        entry.week.day_hours.is_none() && !returned
    };
    Some(if !unlimited().all(can_say) {
        sells
    } else if look.has_forms() {
        format!("{sells} Where that is not sure, say how many buyers want a week, all year.")
    } else {
        format!("{sells} Where that is not sure, write a [steady] into the file, with as many as buyers want a week.")
    })
}

/// What lies on the bench until a batch is sold.
fn tied_up(answer: &Compare) -> String {
    let part = |(k, e): (usize, &Compared)| {
        format!(
            "{} of work and {} of material in {}",
            hours(e.run.hours.mean),
            money(e.run.money.materials, &answer.currency),
            letter(answer, k)
        )
    };
    let parts: Vec<String> = answer.entries.iter().enumerate().map(part).collect();
    format!(
        "Until a batch is sold, it ties up {}.",
        joined(&parts).unwrap_or_default()
    )
}

/// One sentence for a chart.
pub(crate) fn headline(answer: &Compare) -> String {
    let Some(pair) = against_next(answer) else {
        return String::new();
    };
    let (a, b) = (letter(answer, pair.first), letter(answer, pair.second));
    let hour = earns(answer.entries[answer.best].run.rate.long_run, &answer.currency);
    if pair.low <= 0.0 {
        if same_product(answer, &pair) {
            format!("{a} and {b} agree: an hour {hour} with either")
        } else {
            format!("Make {a} or {b}, as you like: an hour {hour} with either")
        }
    } else if answer.entries[answer.best].run.rate.long_run < 0.0 {
        format!("None pays its own costs: with {a} an hour {hour}")
    } else {
        format!(
            "{a}, {}: an hour {hour}, {} more than with {b}",
            what(answer, answer.best),
            money(pair.difference.mean, &answer.currency)
        )
    }
}

fn care(answer: &Compare) -> String {
    let best = answer.entries.get(answer.best);
    let tiring = best.map_or_else(String::new, |best| sweep::words::tiring(&best.run));
    format!("{tiring}{}", words::BEFORE_TAX)
}

fn small_print(answer: &Compare, look: &text::Look) -> Vec<String> {
    let mut said = Vec::new();
    let chosen = |which: Chosen| letters(answer, |entry| entry.chosen == which).join(", ");
    let [season, steady] = [Question::Season, Question::Steady].map(|question| question.named(look));
    let advised = format!("the size that {season} or {steady} advises");
    let sizes: Vec<String> = [
        (Chosen::MadeToOrder, "the single piece, as it is made to order"),
        (Chosen::Advised, advised.as_str()),
        (
            Chosen::Level,
            "the size past which a bigger batch adds less than 1 % to the hour",
        ),
        (Chosen::BestRate, "the size that earns most, as none pays"),
    ]
    .into_iter()
    .map(|(which, size)| (chosen(which), size))
    .filter(|(letters, _)| !letters.is_empty())
    .map(|(letters, size)| format!("{letters} at {size}"))
    .collect();
    if !sizes.is_empty() {
        said.push(format!(
            "No sizes were named{}, so these were taken: {}.",
            if look.terminal { " with --sizes" } else { "" },
            sizes.join("; ")
        ));
    }
    said.push(
        "Each batch stands beside one of the other on the same day: the pace, and steps and materials of the same name, have the \
         same luck. A tie counts as half a win."
            .to_owned(),
    );
    let from_month = letters(answer, |entry| entry.week.bench_from == BenchFrom::ShopMonth);
    if !from_month.is_empty() {
        let weeks = from_month.join(", ");
        said.push(format!(
            "The bench hours a week of {weeks} are hours_per_month x 12 / 52."
        ));
    }
    if let Some(best) = answer.best_week
        && let Some(earned) = answer.entries[best].week.money
    {
        said.push(format!(
            "A week holds as many batches as bench hours and buyers allow. Nothing else is made, and waits are used for other \
             work. Material counts what it costs to replace. Simulation error (95 %) of the week of {}: {}.",
            letter(answer, best),
            mean_interval(&earned, &answer.currency)
        ));
    }
    let shares: Vec<String> = others(answer)
        .into_iter()
        .filter_map(|k| {
            let pair = answer.pair(answer.best, k)?;
            (!both_certain(answer, &pair)).then(|| {
                format!(
                    "{} beats {} in {} of cases",
                    letter(answer, answer.best),
                    letter(answer, k),
                    share_interval(pair.first_wins.low, pair.first_wins.high)
                )
            })
        })
        .collect();
    if !shares.is_empty() {
        let shares = shares.join(", ");
        said.push(format!(
            "Simulation error (95 %): {shares}. The error of the differences is in the table."
        ));
    }
    let (times, seed, version) = (count(answer.trials), answer.seed, &answer.version);
    said.push(format!(
        "Each was made {times} times. Seed {seed}, batchwright {version}."
    ));
    said
}

/// The target, where all want the same.
pub(super) fn same_target(answer: &Compare) -> Option<f64> {
    let first = answer.entries.first()?.target;
    (first > 0.0 && answer.entries.iter().all(|e| e.target == first)).then_some(first)
}

#[cfg(test)]
mod tests;
