//! The comparison in words, tables, a small chart, JSON and CSV.
//!
//! The compared things are called A, B, C ... in the order they were given, as titles are long.

#[cfg(feature = "charts")]
use super::chart::{self, ChartError};
use super::figure::{self, Cell};
use super::floor::joined;
use super::format::{
    Form, asked_of_100, count, hours, money, money_interval, of_100, of_100_beside, often, share_interval,
    typed_amount, typed_money,
};
use super::grid::{Across, Grid};
use super::text_chart::{Mark, RangePlot, Ruler, Signs, Strip, extent};
use super::words::{self, earns};
use super::{Render, csv, json, text};
use crate::questions::compare::{BenchFrom, Chosen, Compare, Entry, Limit, Pair};

/// Letters of a name in a table at the most and at the least, where whole titles have no room.
const LONGEST_NAME: usize = 40;
const SHORTEST_NAME: usize = 10;
/// Letters of whole titles in a heading at the most.
const LONGEST_HEADING: usize = 90;

impl Render for Compare {
    fn page(&self, look: &text::Look) -> text::Page {
        text::Page {
            title: title(self),
            opening: opening(self),
            why: why(self),
            tables: tables(self, look).to_vec(),
            more: more(self, look),
            small: small_print(self, look),
            chart: strips(self, look.line(), look.unicode),
            care: care(self),
        }
    }

    fn json(&self) -> String {
        json::pretty(self)
    }

    fn csv(&self) -> String {
        table(self)
    }

    #[cfg(feature = "charts")]
    fn svg(&self) -> Result<String, ChartError> {
        chart::compare_svg(self, &headline(self))
    }

    #[cfg(feature = "charts")]
    fn png(&self) -> Result<Vec<u8>, ChartError> {
        chart::compare_png(self, &headline(self))
    }
}

/// What it is about: the names set against each other.
#[must_use]
pub fn title(answer: &Compare) -> String {
    let unlike = |of: fn(&Compare, usize) -> String| -> Vec<String> {
        let mut unlike = Vec::new();
        for k in 0..answer.entries.len() {
            let name = of(answer, k);
            if !unlike.contains(&name) {
                unlike.push(name);
            }
        }
        unlike
    };
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
#[must_use]
pub fn chart_title(answer: &Compare) -> String {
    let led: Vec<String> = (0..answer.entries.len())
        .map(|k| format!("{} {}", letter(k), whole(answer, k)))
        .collect();
    let led = led.join(AGAINST);
    if title(answer).contains(AGAINST) && led.chars().count() <= LONGEST_HEADING {
        led
    } else {
        title(answer)
    }
}

/// A, B, C ...
#[must_use]
pub fn letter(k: usize) -> char {
    char::from(b'A' + (k % 26) as u8)
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
    let title = text::printable(title);
    told_by_file(answer, k).map_or_else(|| title.clone(), |file| format!("{title} ({file})"))
}

/// What it is called where room is short: the name, or the file where that alone tells it from another.
#[must_use]
pub fn label(answer: &Compare, k: usize) -> String {
    told_by_file(answer, k).unwrap_or_else(|| name(answer, k))
}

/// The title up to its first comma where that tells the compared things apart, else the whole; with the file where titles agree.
#[must_use]
pub fn name(answer: &Compare, k: usize) -> String {
    let title = by_title(answer, k);
    told_by_file(answer, k).map_or_else(|| title.clone(), |file| format!("{title} ({file})"))
}

fn by_title(answer: &Compare, k: usize) -> String {
    let short = |entry: &Entry| text::printable(entry.title.split(',').next().unwrap_or_default().trim());
    let Some(entry) = answer.entries.get(k) else {
        return String::new();
    };
    let own = short(entry);
    let doubled = answer
        .entries
        .iter()
        .any(|other| short(other) == own && other.title != entry.title);
    if own.is_empty() || doubled {
        text::printable(&entry.title)
    } else {
        own
    }
}

/// "Oak peg rail, 9 at a time"; the name only where it tells one from another.
fn what(answer: &Compare, k: usize) -> String {
    let size = answer.entries[k].run.size;
    let many = if size == 1 {
        "one at a time".to_owned()
    } else {
        format!("{} at a time", count(size.into()))
    };
    let own = name(answer, k);
    if (0..answer.entries.len()).all(|other| name(answer, other) == own) {
        many
    } else {
        format!("{own}, {many}")
    }
}

/// Whether nothing varies from run to run in either.
fn both_certain(answer: &Compare, pair: &Pair) -> bool {
    [pair.first, pair.second].iter().all(|k| {
        let rate = &answer.entries[*k].run.rate;
        (rate.p90 - rate.p10).abs() <= 1e-9 * rate.p90.abs().max(1.0) && rate.long_run_se <= 1e-9
    })
}

/// The entries that are not the best, best long-run rate first.
fn others(answer: &Compare) -> Vec<usize> {
    let mut order: Vec<usize> = (0..answer.entries.len()).filter(|k| *k != answer.best).collect();
    let rate = |k: usize| answer.entries[k].run.rate.long_run;
    order.sort_by(|a, b| rate(*b).total_cmp(&rate(*a)).then(a.cmp(b)));
    order
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

/// Which to make, what the hour earns by it, and whether a week says otherwise.
#[must_use]
pub fn opening(answer: &Compare) -> Vec<String> {
    let Some(pair) = against_next(answer) else {
        return Vec::new();
    };
    let currency = answer.currency.as_str();
    let [a, b] = [pair.first, pair.second].map(letter);
    let [one, other] = [pair.first, pair.second].map(|k| what(answer, k));
    let [first, second] = [pair.first, pair.second].map(|k| answer.entries[k].run.rate.long_run);
    let more = money(pair.difference.mean, currency);
    if pair.low <= 0.0 {
        let mut said = vec![format!("Make {a} or {b}, as you like.")];
        if both_certain(answer, &pair) {
            said.push(format!(
                "With {a}, {one}, and with {b}, {other}, an hour {} alike.",
                earns(first, currency)
            ));
        } else {
            said.push(format!(
                "On average an hour {} with {a}, {one}, and {} with {b}, {other}.",
                earns(first, currency),
                earns(second, currency)
            ));
            said.push(format!(
                "That is the same, as far as {} batches can tell.",
                count(answer.trials)
            ));
        }
        return said;
    }
    if first < 0.0 {
        return vec![
            if answer.entries.len() == 2 {
                "Make neither of the two.".to_owned()
            } else {
                format!("Make none of the {}.", answer.entries.len())
            },
            format!(
                "None pays its own costs: with {a}, {one}, an hour {} on average.",
                earns(first, currency)
            ),
            format!("With {b}, {other}, it {}.", earns(second, currency)),
        ];
    }
    let hour = if both_certain(answer, &pair) {
        "An hour"
    } else {
        "On average an hour"
    };
    let mut said = if same_product(answer, &pair) {
        vec![
            format!("Expect {more} an hour more from {a}, {one}, than from {b}, {other}."),
            format!(
                "{hour} {} with {a} and {} with {b}.",
                earns(first, currency),
                earns(second, currency)
            ),
        ]
    } else {
        vec![
            format!("Make {a}, {one}."),
            format!("{hour} {}, {more} more than with {b}, {other}.", earns(first, currency)),
        ]
    };
    let otherwise = rival_week(answer).filter(|rival| rival.clear && rival.first != answer.best);
    said.extend(match otherwise {
        Some(rival) => Some(format!(
            "But a week of {} brings in more: {}, against {} with {}.",
            letter(rival.first),
            money(rival.money[0], currency),
            money(rival.money[1], currency),
            letter(rival.second)
        )),
        None => wins(answer, &pair),
    });
    said
}

/// In how many of 100 cases a batch of the one beats a batch of the other.
fn wins(answer: &Compare, pair: &Pair) -> Option<String> {
    if both_certain(answer, pair) {
        return None;
    }
    let [a, b] = [pair.first, pair.second].map(letter);
    let (chance, often) = (pair.first_wins.share, of_100(pair.first_wins.share));
    Some(if chance < 0.5 && pair.difference.mean > 0.0 {
        format!("A batch of {a} beats one of {b} in only {often} cases, but its good batches make up for it.")
    } else {
        format!("A batch of {a} beats one of {b} in {often} cases.")
    })
}

/// What the others do, whether the target is reached, and what a week brings in.
fn why(answer: &Compare) -> Vec<String> {
    let Some(best) = answer.entries.get(answer.best) else {
        return Vec::new();
    };
    let a = letter(answer.best);
    let mut said = Vec::new();
    for (place, k) in others(answer).into_iter().enumerate() {
        let Some(pair) = answer.pair(answer.best, k) else {
            continue;
        };
        let wins = wins(answer, &pair).filter(|wins| !opening(answer).contains(wins));
        if place > 0 {
            said.push(format!(
                "Against {}, {}, {a} is {} an hour ahead.",
                letter(k),
                what(answer, k),
                money(pair.difference.mean, &answer.currency)
            ));
        }
        said.extend(wins);
    }
    said.extend(target(answer, best));
    said.extend(week(answer));
    said
}

/// Whether the best reaches what an hour should earn.
fn target(answer: &Compare, best: &Entry) -> Option<String> {
    let goal = typed_money(best.target, &answer.currency);
    let a = letter(answer.best);
    if best.target <= 0.0 || best.run.rate.long_run < 0.0 {
        return None;
    }
    if best.run.rate.long_run < best.target {
        Some(format!("Even {a} does not earn the {goal} an hour you want."))
    } else if best.run.pays(best.confidence) {
        None
    } else {
        Some(format!(
            "{a} earns the {goal} an hour you want in only {} batches; you want it in {}.",
            of_100_beside(best.run.reach.share, best.confidence),
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
        // The two errors added up: an upper bound, whatever they share.
        clear: best.mean - next.mean > crate::stats::Z975 * (best.se + next.se),
    })
}

/// What a week brings in.
fn week(answer: &Compare) -> Vec<String> {
    let currency = answer.currency.as_str();
    let mut said = Vec::new();
    if let Some(rival) = rival_week(answer) {
        let [x, y] = [rival.first, rival.second].map(letter);
        let [most, next] = rival.money.map(|value| money(value, currency));
        if !rival.clear {
            said.push(format!(
                "A week brings in about the same: {most} with {x} and {next} with {y}."
            ));
        } else if rival.first == answer.best {
            said.push(format!(
                "A week of {x} brings in more as well: {most}, against {next} with {y}."
            ));
        }
    }
    for (k, entry) in answer.entries.iter().enumerate() {
        let week = &entry.week;
        if let (Some(Limit::Demand), Some(demand)) = (week.limit, week.demand) {
            said.push(format!(
                "Buyers want only {} of {} a week, which takes {} at the bench.",
                often(demand),
                letter(k),
                hours(week.hours.unwrap_or(0.0))
            ));
        }
    }
    if let Some(mix) = &answer.mix {
        let mut parts: Vec<(f64, usize)> = mix.hours.iter().copied().zip(0..).filter(|(h, _)| *h > 0.0).collect();
        parts.sort_by(|x, y| {
            let rate = |k: usize| answer.entries[k].run.rate.long_run;
            rate(y.1).total_cmp(&rate(x.1))
        });
        let list: Vec<String> = parts
            .iter()
            .map(|(h, k)| format!("{} of {}", hours(*h), letter(*k)))
            .collect();
        let (list, money) = (joined(&list).unwrap_or_default(), money(mix.money, currency));
        said.push(if parts.len() == 2 {
            format!("A week of both earns most: {list} bring in {money}.")
        } else {
            format!("A week of some of each earns most: {list} bring in {money}.")
        });
    }
    said
}

/// What is tied up, and why a week may not be known.
fn more(answer: &Compare, look: &text::Look) -> Vec<String> {
    let mut said = vec![tied_up(answer)];
    let without = |season: bool| -> Vec<String> {
        let of = |k: &usize| &answer.entries[*k].week;
        let every = 0..answer.entries.len();
        every
            .filter(|k| of(k).money.is_none() && of(k).one_season == season)
            .map(|k| letter(k).to_string())
            .collect()
    };
    let (unknown, seasonal) = (without(false), without(true));
    if !unknown.is_empty() {
        said.push(format!(
            "What a week of {} brings in is not known without bench hours.",
            unknown.join(" or ")
        ));
        said.push(if look.terminal {
            "Write an [hours] section (for example mon = 2 and sat = 6) or give --hours-a-week.".to_owned()
        } else {
            "Write an [hours] section, for example mon = 2 and sat = 6.".to_owned()
        });
    }
    if !seasonal.is_empty() {
        said.push(format!(
            "There is no usual week for {}, because it is made for one season only.",
            seasonal.join(" and for ")
        ));
    }
    said
}

/// What lies on the bench until a batch is sold.
fn tied_up(answer: &Compare) -> String {
    let parts: Vec<String> = answer
        .entries
        .iter()
        .enumerate()
        .map(|(k, e)| {
            format!(
                "{} of work and {} of material in {}",
                hours(e.run.hours.mean),
                money(e.run.money.materials, &answer.currency),
                letter(k)
            )
        })
        .collect();
    format!(
        "Until a batch is sold, it ties up {}.",
        joined(&parts).unwrap_or_default()
    )
}

/// One sentence for a chart.
#[must_use]
pub fn headline(answer: &Compare) -> String {
    let Some(pair) = against_next(answer) else {
        return String::new();
    };
    let (a, b) = (letter(pair.first), letter(pair.second));
    let hour = earns(answer.entries[answer.best].run.rate.long_run, &answer.currency);
    if pair.low <= 0.0 {
        format!("Make {a} or {b}, as you like: an hour {hour} with either")
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
    let tiring = answer
        .entries
        .get(answer.best)
        .map_or_else(String::new, |best| words::tiring(&best.run));
    format!("{tiring}{}", words::BEFORE_TAX)
}

/// Both tables with the same names: whole titles where there is room, else what they are called, over several lines where it must be.
/// Nothing is cut off, as the end of a name may be all that tells it from another.
fn tables(answer: &Compare, look: &text::Look) -> [Grid; 2] {
    let with = |lines: &dyn Fn(usize) -> Vec<String>| {
        let names: Vec<Vec<String>> = (0..answer.entries.len())
            .map(|k| {
                let lines = lines(k).into_iter().enumerate();
                let led = |(n, line)| {
                    if n == 0 {
                        format!("{} {line}", letter(k))
                    } else {
                        format!("  {line}")
                    }
                };
                lines.map(led).collect()
            })
            .collect();
        [rates(answer, &names), weeks(answer, &names)]
    };
    let titles = with(&|k| vec![whole(answer, k)]);
    let narrow = |table: &Grid| {
        let text = table.text(look.unicode, None);
        text.lines().all(|line| line.chars().count() <= look.columns)
    };
    let fit = |tables: &[Grid; 2]| tables.iter().all(narrow);
    if !look.terminal || fit(&titles) {
        return titles;
    }
    let broken_at = |room: usize| with(&|k| broken(&label(answer, k), room));
    let mut shorter = (SHORTEST_NAME..=LONGEST_NAME).rev().map(broken_at);
    shorter.find(fit).unwrap_or_else(|| broken_at(SHORTEST_NAME))
}

/// A name over lines of at most so many letters, at spaces where there are any.
fn broken(name: &str, room: usize) -> Vec<String> {
    let mut lines = Vec::new();
    for line in text::wrap(name, room).lines() {
        let letters: Vec<char> = line.chars().collect();
        lines.extend(
            letters
                .chunks(room.max(1))
                .map(|chunk| chunk.iter().collect::<String>()),
        );
    }
    lines
}

/// The first line of a row with its figures, and one for each further line of its name.
fn rows(names: &[Vec<String>], figures: impl Fn(usize) -> Vec<Cell>) -> Vec<Vec<Cell>> {
    let row = |(k, lines): (usize, &Vec<String>)| {
        let figures = figures(k);
        let blank = vec![figure::nothing(); figures.len()];
        let of = lines.iter().enumerate().map(|(n, line)| {
            let mut row = vec![Cell::from(line.clone())];
            row.extend(if n == 0 { figures.clone() } else { blank.clone() });
            row
        });
        of.collect::<Vec<_>>()
    };
    names.iter().enumerate().flat_map(row).collect()
}

/// Where an entry's figures stand among the rows.
fn row_of(names: &[Vec<String>], k: usize) -> usize {
    names.iter().take(k).map(Vec::len).sum()
}

/// What an hour earns.
fn rates(answer: &Compare, names: &[Vec<String>]) -> Grid {
    let currency = answer.currency.as_str();
    let best = letter(answer.best);
    let heads = [
        "\n".to_owned(),
        "pieces\na run".to_owned(),
        "an hour\n10 %".to_owned(),
        "earns\n50 %".to_owned(),
        format!("{currency}\n90 %"),
        "in the\nlong run".to_owned(),
        "reaches\ntarget".to_owned(),
        format!("less\nthan {best}"),
        "95 %\ninterval".to_owned(),
        format!("beats\n{best}"),
    ];
    let figures = |k: usize| {
        let e = &answer.entries[k];
        let rate = &e.run.rate;
        let mut row = vec![figure::count(e.run.size.into())];
        row.extend([rate.p10, rate.p50, rate.p90, rate.long_run].map(|v| figure::amount(v, currency)));
        row.push(figure::share(e.run.reach.share));
        match answer.pair(answer.best, k).filter(|_| k != answer.best) {
            Some(pair) => row.extend([
                figure::amount(pair.difference.mean, currency),
                figure::interval(
                    money_interval(pair.low, pair.high, "").trim_end().to_owned(),
                    [pair.low, pair.high].map(Some),
                    Form::money(pair.difference.mean, currency),
                ),
                figure::share(pair.turned().first_wins.share),
            ]),
            None => row.extend([figure::nothing(), figure::nothing(), figure::nothing()]),
        }
        row
    };
    Grid {
        name: "What an hour earns".to_owned(),
        across: vec![Across::new(2, 3, format!("an hour earns {currency}"))],
        heads: heads.to_vec(),
        rows: rows(names, figures),
        left: 1,
        marked: Some(row_of(names, answer.best)),
        ..Grid::default()
    }
}

/// What a week brings in and what a run ties up.
fn weeks(answer: &Compare, names: &[Vec<String>]) -> Grid {
    let currency = answer.currency.as_str();
    let heads = [
        "\n".to_owned(),
        "hours\na run".to_owned(),
        format!("stock\na run {currency}"),
        "bench\na week".to_owned(),
        "asked for\na week".to_owned(),
        "runs\na week".to_owned(),
        "sold\na week".to_owned(),
        format!("a week\nearns {currency}"),
        "limited\nby".to_owned(),
    ];
    let unknown = Cell::from("?");
    let figures = |k: usize| {
        let e = &answer.entries[k];
        let week = &e.week;
        let or = |value: Option<f64>, write: &dyn Fn(f64) -> Cell| value.map_or_else(|| unknown.clone(), write);
        vec![
            figure::hours(e.run.hours.mean),
            figure::amount(e.run.money.materials, currency),
            or(week.bench_hours, &figure::hours),
            match week.demand {
                None if week.one_season => "a season".into(),
                demand => demand.map_or_else(|| "all".into(), figure::often),
            },
            or(week.runs, &figure::often),
            or(week.sold, &figure::mean_count),
            or(week.money.map(|m| m.mean), &|v| figure::amount(v, currency)),
            match week.limit {
                Some(Limit::BenchHours) => "hours".into(),
                Some(Limit::Demand) => "demand".into(),
                None => figure::nothing(),
            },
        ]
    };
    Grid {
        name: "What a week brings in".to_owned(),
        heads: heads.to_vec(),
        rows: rows(names, figures),
        left: 1,
        marked: answer.best_week.map(|k| row_of(names, k)),
        ..Grid::default()
    }
}

fn small_print(answer: &Compare, look: &text::Look) -> Vec<String> {
    let mut said = Vec::new();
    let chosen = |which: Chosen| -> String {
        let letters: Vec<String> = (0..answer.entries.len())
            .filter(|k| answer.entries[*k].chosen == which)
            .map(|k| letter(k).to_string())
            .collect();
        letters.join(", ")
    };
    let (pays, rate) = (chosen(Chosen::FirstThatPays), chosen(Chosen::BestRate));
    let mut sizes = Vec::new();
    if !pays.is_empty() {
        sizes.push(format!("{pays} at the first size that pays"));
    }
    if !rate.is_empty() {
        sizes.push(format!("{rate} at the size that earns most, as none pays"));
    }
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
    let from_month: Vec<String> = (0..answer.entries.len())
        .filter(|k| answer.entries[*k].week.bench_from == BenchFrom::ShopMonth)
        .map(|k| letter(k).to_string())
        .collect();
    if !from_month.is_empty() {
        said.push(format!(
            "The bench hours a week of {} are hours_per_month x 12 / 52.",
            from_month.join(", ")
        ));
    }
    if let Some(best) = answer.best_week
        && let Some(earned) = answer.entries[best].week.money
    {
        let z = crate::stats::Z975;
        said.push(format!(
            "A week holds as many batches as bench hours and buyers allow. Nothing else is made, and waits are used for other \
             work. Material counts what it costs to replace. Simulation error (95 %) of the week of {}: {}.",
            letter(best),
            money_interval(earned.mean - z * earned.se, earned.mean + z * earned.se, &answer.currency)
        ));
    }
    let shares: Vec<String> = others(answer)
        .into_iter()
        .filter_map(|k| {
            let pair = answer.pair(answer.best, k)?;
            (!both_certain(answer, &pair)).then(|| {
                format!(
                    "{} beats {} in {} of cases",
                    letter(answer.best),
                    letter(k),
                    share_interval(pair.first_wins.low, pair.first_wins.high)
                )
            })
        })
        .collect();
    if !shares.is_empty() {
        said.push(format!(
            "Simulation error (95 %): {}. That of the differences is in the table.",
            shares.join(", ")
        ));
    }
    said.push(format!(
        "Ten batches of 100 earn less than the column 10 %, half of them less than 50 %, and 90 less than 90 %. Each was made {} \
         times. Seed {}, batchwright {}.",
        count(answer.trials),
        answer.seed,
        answer.version
    ));
    said
}

/// A strip a scenario: where eight runs in ten lie, the median, the long run, and the target where all want the same.
fn strips(answer: &Compare, width: usize, unicode: bool) -> Option<String> {
    let signs = Signs::of(unicode);
    let target = same_target(answer);
    let strips = answer.entries.iter().enumerate().map(|(k, e)| {
        let rate = &e.run.rate;
        let mut marks = vec![Mark::Band(rate.p10, rate.p90, signs.band)];
        marks.extend(target.map(|at| Mark::Dot(at, signs.aim)));
        marks.extend([
            Mark::Dot(rate.long_run, signs.long_run),
            Mark::Dot(rate.p50, signs.median),
        ]);
        Strip {
            name: format!("  {}", letter(k)),
            marks,
            figure: String::new(),
        }
    });
    let rates = answer.entries.iter().map(|e| &e.run.rate);
    let shown = rates.flat_map(|rate| [rate.p10, rate.p90, rate.long_run]);
    let [median, band] = signs.runs();
    let mut legend = vec![median, band, format!("{} long run", signs.long_run)];
    legend.extend(target.map(|at| format!("{} target {}", signs.aim, typed_amount(at, &answer.currency))));
    RangePlot {
        heading: format!("{} per hands-on hour, against what is made", answer.currency),
        strips: strips.collect(),
        ends: extent(shown.chain(answer.entries.iter().map(|e| e.target)).chain([0.0])),
        ruler: Some(Ruler {
            write: super::format::tick,
            name: String::new(),
        }),
        numbered: false,
        legend,
    }
    .text(width, signs)
}

/// The target, where all want the same.
pub(super) fn same_target(answer: &Compare) -> Option<f64> {
    let first = answer.entries.first()?.target;
    (first > 0.0 && answer.entries.iter().all(|e| e.target == first)).then_some(first)
}

/// One row a scenario, unrounded; the pair columns set it against the best.
fn table(answer: &Compare) -> String {
    let unit = &answer.currency;
    let mut header: Vec<String> = ["letter", "title", "size"].map(String::from).to_vec();
    for part in ["p10", "p50", "p90", "mean", "long_run", "long_run_se"] {
        header.push(format!("rate_{part}_{unit}_per_hour"));
    }
    header.extend(["reach_share", "reach_low", "reach_high", "hours_mean", "hours_se"].map(String::from));
    for part in ["profit_mean", "profit_se", "stock"] {
        header.push(format!("{part}_{unit}"));
    }
    header.push("sold_mean".to_owned());
    for part in ["difference", "difference_se", "difference_low", "difference_high"] {
        header.push(format!("best_less_this_{part}_{unit}_per_hour"));
    }
    header.extend(["beats_best_share", "beats_best_low", "beats_best_high", "ties_share"].map(String::from));
    header.extend(
        [
            "week_bench_hours",
            "week_demand",
            "week_runs",
            "week_sold",
            "week_hours",
        ]
        .map(String::from),
    );
    header.extend([
        format!("week_money_{unit}"),
        format!("week_money_se_{unit}"),
        "week_limit".to_owned(),
    ]);
    let mut table = csv::Table::new(header);
    for (k, e) in answer.entries.iter().enumerate() {
        let run = &e.run;
        let pair = answer.pair(answer.best, k).filter(|_| k != answer.best);
        let against = pair.map(Pair::turned);
        let mut row = vec![letter(k).to_string(), e.title.clone(), run.size.to_string()];
        let figures = [
            run.rate.p10,
            run.rate.p50,
            run.rate.p90,
            run.rate.mean,
            run.rate.long_run,
            run.rate.long_run_se,
            run.reach.share,
            run.reach.low,
            run.reach.high,
            run.hours.mean,
            run.hours.se,
            run.profit.mean,
            run.profit.se,
            run.money.materials,
            run.sold.mean,
        ];
        row.extend(figures.map(|v| csv::cell(Some(v))));
        row.extend(
            [
                pair.map(|p| p.difference.mean),
                pair.map(|p| p.difference.se),
                pair.map(|p| p.low),
                pair.map(|p| p.high),
                against.map(|p| p.first_wins.share),
                against.map(|p| p.first_wins.low),
                against.map(|p| p.first_wins.high),
                against.map(|p| p.ties),
                e.week.bench_hours,
                e.week.demand,
                e.week.runs,
                e.week.sold,
                e.week.hours,
                e.week.money.map(|m| m.mean),
                e.week.money.map(|m| m.se),
            ]
            .map(csv::cell),
        );
        row.push(
            match e.week.limit {
                Some(Limit::BenchHours) => "bench_hours",
                Some(Limit::Demand) => "demand",
                None => "",
            }
            .to_owned(),
        );
        table.row(row);
    }
    table.into_text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::compare::{Bins, Week};
    use crate::render::samples::{fitting, gallery, look, on_its_page, row_of};

    /// Rates at 10, 50 and 90 %, in the long run, and the target, of each.
    fn compare(rates: &[([f64; 4], f64)]) -> Compare {
        let run = &gallery().remove(0).1.sizes[0];
        let entries = rates.iter().map(|([p10, p50, p90, long_run], target)| {
            let mut run = run.clone();
            (run.rate.p10, run.rate.p50, run.rate.p90, run.rate.long_run) = (*p10, *p50, *p90, *long_run);
            Entry {
                title: "Rail".to_owned(),
                file: None,
                price: 58.0,
                target: *target,
                confidence: 0.8,
                chosen: Chosen::BestRate,
                run,
                density: Vec::new(),
                week: Week {
                    bench_hours: None,
                    bench_from: BenchFrom::NotGiven,
                    demand: None,
                    one_season: false,
                    runs: None,
                    sold: None,
                    hours: None,
                    money: None,
                    limit: None,
                },
                sweep: Vec::new(),
            }
        });
        Compare {
            currency: "EUR".to_owned(),
            trials: 1000,
            seed: 1,
            version: "0.1.0".to_owned(),
            best: 0,
            best_week: None,
            bins: Bins { from: 0.0, width: 0.0 },
            entries: entries.collect(),
            pairs: Vec::new(),
            mix: None,
        }
    }

    /// "  A" and the upright leave 55 of 60 columns for 0 to 54: each column is one unit of money.
    #[test]
    fn strips_stand_where_the_rates_are() {
        let answer = compare(&[([20.0, 30.0, 40.0, 28.0], 32.0), ([0.0, 10.0, 54.0, 12.0], 32.0)]);
        let text = strips(&answer, 60, true).unwrap();
        let row = row_of(&text, "A").unwrap();
        let shown: Vec<usize> = (0..row.len()).filter(|k| row[*k] != ' ').collect();
        assert_eq!(shown, (20..=40).collect::<Vec<_>>(), "{text}");
        assert_eq!((row[28], row[30], row[32]), ('┃', '●', '┆'), "{text}");
        assert!(text.contains("┆ target 32"), "{text}");
        assert_eq!(fitting(|look| strips(&answer, look.line(), look.unicode)).len(), 6);
        on_its_page(&answer, "EUR per hands-on hour, against");
    }

    #[test]
    fn what_has_one_title_is_told_apart_by_file_or_size() {
        let rates = ([20.0, 30.0, 40.0, 28.0], 32.0);
        let mut answer = compare(&[rates, rates]);
        // Nothing but the title is known of either, and the size is the same.
        assert_eq!(title(&answer), "Rail against itself");
        answer.entries[1].run.size += 1;
        assert_eq!(title(&answer), "Rail, at 2 sizes");
        let files = |a: &str, b: &str| {
            let mut answer = answer.clone();
            answer.entries[0].file = Some(a.to_owned());
            answer.entries[1].file = Some(b.to_owned());
            answer
        };
        assert_eq!(title(&files("rail.toml", "rail.toml")), "Rail, at 2 sizes");
        let two = files("old/rail.toml", "rail-new.toml");
        assert_eq!(title(&two), "Rail (rail.toml) against Rail (rail-new.toml)");
        assert_eq!(name(&two, 1), "Rail (rail-new.toml)");
        assert_eq!(label(&two, 1), "rail-new.toml");
        // The name alone would not tell these apart.
        assert_eq!(name(&files("old/rail.toml", "rail.toml"), 0), "Rail (old/rail.toml)");
        // A title of its own needs no file.
        let mut other = two;
        other.entries[1].title = "Rail, short".to_owned();
        assert_eq!(title(&other), "Rail against Rail, short");
    }

    #[test]
    fn long_names_are_broken_and_not_cut() {
        let rates = ([20.0, 30.0, 40.0, 28.0], 32.0);
        let mut answer = compare(&[rates, rates]);
        answer.entries[0].title = "Walnut sideboard to order".to_owned();
        answer.best = 1;
        let lines = |columns: usize| {
            let [rates, weeks] = tables(&answer, &look(columns, true));
            assert_eq!(rates.rows.len(), weeks.rows.len());
            let names: Vec<String> = rates.rows.iter().map(|row| row[0].text.clone()).collect();
            (names, rates.marked)
        };
        assert_eq!(lines(200).0, ["A Walnut sideboard to order", "B Rail"]);
        let (narrow, marked) = lines(80);
        assert_eq!(narrow.join("").replace("  ", " "), "A Walnut sideboard to orderB Rail");
        // Figures and the mark stand in the first line of each.
        assert_eq!(marked, Some(narrow.len() - 1));
        assert_eq!(broken("belt-nowholesale.toml", 10), ["belt-nowho", "lesale.tom", "l"]);
    }

    #[test]
    fn unlike_targets_and_nothing_earned() {
        let unlike = compare(&[([20.0, 30.0, 40.0, 28.0], 32.0), ([1.0, 2.0, 3.0, 2.0], 30.0)]);
        assert!(!strips(&unlike, look(60, true).line(), true).unwrap().contains("target"));
        let nothing = compare(&[([0.0; 4], 0.0)]);
        assert_eq!(strips(&nothing, 60, true), None);
    }
}
