//! The sweep as a table of well-chosen sizes, and the small print under it.

use super::figure::{self, Cell};
use super::format::{confidence, count, mean_count, money, money_interval, percent_interval, share, typed_amount};
use super::grid::{Across, Curves, Grid};
use super::text::Look;
use super::words::is_certain;
use crate::questions::size_of;
use crate::questions::sweep::{SizeAnswer, Sweep};

/// Rows shown unless all are asked for.
const ROWS: usize = 11;

/// Narrower than this, the table leaves out what matters least.
const WIDE: usize = 88;

/// The head of what one run in ten earns less than.
const TENTH: &str = "10 %";

/// Sizes that people think in.
const ROUND: [u32; 12] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 24];

/// One column: its head in two lines, and what stands in it.
struct Column<'a> {
    head: [String; 2],
    cell: Box<dyn Fn(&SizeAnswer) -> Cell + 'a>,
}

/// The table, one line per size, at most `columns` wide where that can be; `all` shows every size.
///
/// Marks before a size: `>` the first that pays, `=` past it a bigger batch adds under 1 %, `+` any other that pays.
#[must_use]
pub fn sweep(sweep: &Sweep, columns: usize, all: bool) -> Grid {
    let shown: Vec<&SizeAnswer> = if all {
        sweep.sizes.iter().collect()
    } else {
        well_chosen(sweep)
    };
    let parts = parts(sweep, columns);
    let heads = parts.iter().map(|part| part.head.join("\n")).collect();
    let rows = shown
        .iter()
        .map(|answer| parts.iter().map(|part| (part.cell)(answer)).collect())
        .collect();
    let first = shown.iter().position(|a| Some(a.size) == sweep.first_paying_size);
    let tenths = parts.iter().position(|part| part.head[1] == TENTH);
    let across: Option<Across> = tenths.map(|first| {
        let columns = parts[first..]
            .iter()
            .take_while(|part| part.head[1].ends_with('%'))
            .count();
        Across::new(first, columns, format!("an hour earns {}", sweep.currency))
    });
    let mut curves = Vec::new();
    if let Some(across) = &across {
        curves.push(Curves {
            name: "What an hour earns, one run in ten, half and nine in ten under it".to_owned(),
            axis: format!("{} an hour", sweep.currency),
            columns: (across.first..across.first + across.columns).collect(),
            main: across.first + 1,
        });
    }
    curves.push(Curves {
        name: "The price that pays".to_owned(),
        axis: format!("{} a piece", sweep.currency),
        columns: vec![parts.len() - 1],
        main: parts.len() - 1,
    });
    Grid {
        name: "Size by size".to_owned(),
        heads,
        across: across.into_iter().collect(),
        rows,
        marked: first,
        curves,
        ..Grid::default()
    }
}

fn parts<'a>(sweep: &'a Sweep, columns: usize) -> Vec<Column<'a>> {
    let money_of = |value: f64| figure::amount(value, &sweep.currency);
    let column = |head: [&str; 2], cell: Box<dyn Fn(&SizeAnswer) -> Cell + 'a>| Column {
        head: head.map(str::to_owned),
        cell,
    };
    let currency = sweep.currency.as_str();
    let certain = is_certain(sweep);
    let wide = columns >= WIDE;
    let mut parts = vec![
        column(
            ["", "size"],
            Box::new(move |a| figure::count(a.size.into()).marked(mark(sweep, a))),
        ),
        column(
            ["hours", "a piece"],
            Box::new(|a| figure::hours(a.hours_per_piece.mean)),
        ),
        column(["setup's", "share"], Box::new(|a| figure::share(a.setup_share))),
    ];
    if wide {
        parts.push(column(["profit", currency], Box::new(move |a| money_of(a.profit.mean))));
    }
    // In a season not every good piece is sold.
    if sweep.sizes.iter().any(|a| a.sold.mean < a.good.mean) {
        parts.push(column(
            ["pieces", "sold"],
            Box::new(|a| figure::mean_count(a.sold.mean)),
        ));
    }
    if certain {
        parts.push(column(
            ["an hour", "earns"],
            Box::new(move |a| money_of(a.rate.long_run)),
        ));
        parts.push(column(
            ["price", "that pays"],
            Box::new(move |a| figure::price(a.floor_asked.price, currency)),
        ));
        return parts;
    }
    parts.push(column(["an hour", TENTH], Box::new(move |a| money_of(a.rate.p10))));
    parts.push(column(["earns", "50 %"], Box::new(move |a| money_of(a.rate.p50))));
    if wide {
        parts.push(column([currency, "90 %"], Box::new(move |a| money_of(a.rate.p90))));
    }
    parts.push(column(
        ["in the", "long run"],
        Box::new(move |a| money_of(a.rate.long_run)),
    ));
    let reach = [
        "runs that".to_owned(),
        format!("earn {}", typed_amount(sweep.target, currency)),
    ];
    parts.push(Column {
        head: reach,
        cell: Box::new(|a| figure::share(a.reach.share)),
    });
    parts.push(Column {
        head: [
            "price that".to_owned(),
            format!("pays {}", confidence(sweep.confidence)),
        ],
        cell: Box::new(move |a| figure::price(a.floor_asked.price, currency)),
    });
    parts
}

fn mark(sweep: &Sweep, answer: &SizeAnswer) -> char {
    if Some(answer.size) == sweep.first_paying_size {
        '>'
    } else if answer.size == sweep.level_size && sweep.sizes.last().is_some_and(|last| last.size > answer.size) {
        '='
    } else if answer.reach.share >= sweep.confidence {
        '+'
    } else {
        ' '
    }
}

/// What each channel's hour earns, at the size the small print speaks of; `None` where there is one way of selling.
#[must_use]
pub fn channels(sweep: &Sweep) -> Option<Grid> {
    let at = reference(sweep).filter(|at| !at.channels.is_empty())?;
    let unit = &sweep.currency;
    let heads = [
        format!("at size\n{}", count(at.size.into())),
        "pieces\nsold".to_owned(),
        "orders\nsent".to_owned(),
        "hours, making\nshared out".to_owned(),
        format!("profit\n{unit}"),
        format!("an hour\nearns {unit}"),
        "price\nthere".to_owned(),
        format!("there, at list\nthat pays {}", confidence(sweep.confidence)),
    ];
    let rows = at.channels.iter().map(|c| {
        vec![
            c.name.as_str().into(),
            figure::mean_count(c.sold),
            figure::mean_count(c.orders),
            figure::hours(c.hours),
            figure::amount(c.profit, unit),
            figure::amount(c.rate.mean, unit),
            figure::money(c.price, &c.currency),
            c.floor_asked
                .map_or_else(|| "no price".into(), |price| figure::money(price, &c.currency)),
        ]
    });
    Some(Grid {
        name: "Ways of selling".to_owned(),
        heads: heads.to_vec(),
        rows: rows.collect(),
        left: 1,
        ..Grid::default()
    })
}

/// What the marks and columns mean, the ceiling, and how far the simulation itself may be off: short lines.
#[must_use]
pub fn small_print(sweep: &Sweep, look: &Look) -> Vec<String> {
    let shown_all = look.complete();
    let currency = &sweep.currency;
    let certain = is_certain(sweep);
    let shown: Vec<&SizeAnswer> = if shown_all {
        sweep.sizes.iter().collect()
    } else {
        well_chosen(sweep)
    };
    let mut marks = Vec::new();
    for (sign, meaning) in [
        ('>', "> first that pays"),
        ('+', "+ pays too"),
        ('=', "= past it bigger adds under 1 %"),
    ] {
        if shown.iter().any(|a| mark(sweep, a) == sign) {
            marks.push(meaning.to_owned());
        }
    }
    if shown.len() < sweep.sizes.len() {
        marks.push(format!("--all: all {} sizes", count(sweep.sizes.len() as u64)));
    }
    let mut lines = vec![marks.join("   ")];
    if !certain {
        lines.push("10 %, 50 %, 90 %: one run in ten earns less, half of them do, nine in ten do.".to_owned());
    }
    // Short runs may earn more: their pieces go to the dearest channel first, or a lossy run of one often has nothing to pack.
    let passed = sweep
        .sizes
        .iter()
        .any(|a| a.rate.long_run > sweep.ceiling + 1e-9 * sweep.ceiling.abs() + 4.0 * a.rate.long_run_se);
    lines.push(format!(
        "Ceiling: {} an hour in the long run, setup spread to nothing; {}.",
        money(sweep.ceiling, currency),
        if passed {
            "what very large runs come to, though some smaller ones earn more"
        } else {
            "no batch size passes it"
        }
    ));
    if let Some(line) = paid_line(sweep) {
        lines.push(line);
    }
    lines.extend(season_line(sweep));
    lines.extend(holding_line(sweep));
    lines.push(if certain {
        format!(
            "Nothing varies here, so every run is the same. batchwright {}",
            sweep.version
        )
    } else {
        format!(
            "{} runs of each size, seed {}, batchwright {}.",
            count(sweep.trials),
            sweep.seed,
            sweep.version
        )
    });
    if !certain {
        lines.extend(error_line(sweep));
        lines.extend(close_call(sweep, look.terminal));
    }
    if let Some(within) = &sweep.within {
        let percent = |fraction: f64| format!("{:.2} %", fraction * 100.0);
        let (asked, widest) = (percent(within.asked), percent(within.widest));
        lines.push(if within.reached {
            format!("Every price above is known within {widest} (95 % interval); {asked} was asked.")
        } else {
            format!(
                "Asked was {asked}, but memory ran out at {widest} (95 % interval of the price for {}).",
                count(within.at_size.into())
            )
        });
    }
    lines
}

/// The size the small print speaks of: that of the words.
fn reference(sweep: &Sweep) -> Option<&SizeAnswer> {
    let size = size_of(sweep);
    sweep.sizes.iter().find(|a| a.size == size)
}

fn paid_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep)?;
    let (replaced, paid) = (
        money(at.rate.long_run, &sweep.currency),
        money(at.rate.long_run_paid, &sweep.currency),
    );
    (replaced != paid).then(|| {
        format!(
            "Stock counts at what it costs to replace; at what was really paid, an hour at size {} earns {paid}, not {replaced}.",
            count(at.size.into())
        )
    })
}

/// That the season ends.
fn season_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep).filter(|at| at.sold.mean < at.good.mean)?;
    Some(format!(
        "The season ends: of {} good pieces {} are sold on average at size {}, and all of them in {} of runs.",
        mean_count(at.good.mean),
        mean_count(at.sold.mean),
        count(at.size.into()),
        share(at.sold_out.share)
    ))
}

/// That what lies in stock is charged for.
fn holding_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep)?;
    let last = sweep.sizes.last().filter(|last| last.size > at.size);
    let held = |a: &SizeAnswer| {
        format!(
            "{} at size {}",
            money(a.money.holding, &sweep.currency),
            count(a.size.into())
        )
    };
    let also = last.map_or_else(String::new, |last| format!(", {}", held(last)));
    (at.money.holding > 0.0).then(|| {
        format!(
            "Holding what is not sold yet is counted as [steady] says: {}{also}.",
            held(at)
        )
    })
}

fn error_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep)?;
    let floor = match (at.floor_asked.low, at.floor_asked.high) {
        (Some(low), Some(high)) => format!(", the price {}", money_interval(low, high, &sweep.currency)),
        _ => String::new(),
    };
    // 1.96 standard errors either side: a 95 % interval.
    let margin = 1.96 * at.rate.long_run_se;
    Some(format!(
        "Simulation error (95 %) at size {}: long run {}, reach {}{floor}.",
        count(at.size.into()),
        money_interval(at.rate.long_run - margin, at.rate.long_run + margin, &sweep.currency),
        percent_interval(at.reach.low, at.reach.high),
    ))
}

/// Where the simulation cannot tell which size is the first that pays.
fn close_call(sweep: &Sweep, terminal: bool) -> Option<String> {
    let unsure = |a: &&SizeAnswer| a.reach.low < sweep.confidence && sweep.confidence <= a.reach.high;
    let first = sweep.first_paying_size.unwrap_or(u32::MAX);
    let close = sweep.sizes.iter().take_while(|a| a.size <= first).find(unsure)?;
    Some(format!(
        "Close call: whether {} pays lies within the simulation's own error; more {} tell.",
        count(close.size.into()),
        if terminal { "--trials" } else { "runs" }
    ))
}

/// The sizes worth a row: both ends, the first that pays and its neighbours, the level, peaks of the saw-tooth, then
/// round sizes where the gaps are widest.
fn well_chosen(sweep: &Sweep) -> Vec<&SizeAnswer> {
    let sizes = &sweep.sizes;
    let last = sizes.len().saturating_sub(1);
    if sizes.len() <= ROWS {
        return sizes.iter().collect();
    }
    let mut chosen = vec![0, last];
    let find = |size: u32| sizes.iter().position(|a| a.size == size);
    let pays = |i: usize| sizes.get(i).is_some_and(|a| a.reach.share >= sweep.confidence);
    if let Some(first) = sweep.first_paying_size.and_then(find) {
        chosen.push(first);
        chosen.push(first.saturating_sub(1));
        // The first that fails again, and the first from which all pay: the words speak of them.
        chosen.extend((first..=last).find(|&i| !pays(i)));
        chosen.extend(
            (first..=last)
                .rev()
                .find(|&i| !pays(i))
                .filter(|&i| i < last)
                .map(|i| i + 1),
        );
    } else {
        let floor = |i: &usize| sizes.get(*i).and_then(|a| a.floor_asked.price).unwrap_or(f64::INFINITY);
        chosen.extend((0..=last).min_by(|a, b| floor(a).total_cmp(&floor(b))));
    }
    chosen.extend(find(sweep.level_size));
    // The best hour: the words speak of it where larger sizes earn less.
    chosen.extend((0..=last).max_by(|&a, &b| {
        let rate = |i: usize| sizes[i].rate.long_run;
        rate(a).total_cmp(&rate(b)).then(b.cmp(&a))
    }));
    chosen.sort_unstable();
    chosen.dedup();
    let rate = |i: usize| sizes.get(i).map_or(f64::NAN, |a| a.rate.long_run);
    let size = |i: usize| sizes.get(i).map_or(1.0, |a| f64::from(a.size));
    // A full round: the rate falls where the next piece opens another.
    let peak = |i: usize| i > 0 && i < last && rate(i) > rate(i + 1) + 0.002 * rate(i).abs();
    while chosen.len() < ROWS {
        let worth = |i: usize| {
            let gap = chosen
                .iter()
                .map(|&c| libm::log(size(c) / size(i)).abs())
                .fold(f64::INFINITY, f64::min);
            gap * if peak(i) || is_round(size(i) as u32) { 1.6 } else { 1.0 }
        };
        let Some(best) = (0..=last)
            .filter(|i| !chosen.contains(i))
            .max_by(|&a, &b| worth(a).total_cmp(&worth(b)))
        else {
            break;
        };
        chosen.push(best);
    }
    chosen.sort_unstable();
    chosen.iter().filter_map(|&i| sizes.get(i)).collect()
}

fn is_round(mut size: u32) -> bool {
    while size > 24 && size.is_multiple_of(10) {
        size /= 10;
    }
    ROUND.contains(&size)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::samples::{any_sweep, gallery};
    use proptest::prelude::*;

    #[test]
    fn a_table_fits_eighty_and_a_hundred_columns() {
        for (name, answer) in gallery() {
            for columns in [80, 100] {
                for all in [false, true] {
                    let text = sweep(&answer, columns, all).text(true, None);
                    let widest = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
                    assert!(widest <= columns, "{name}: {widest} of {columns}\n{text}");
                }
            }
        }
    }

    #[test]
    fn the_sizes_the_words_speak_of_have_a_row() {
        for (name, answer) in gallery() {
            let rows: Vec<u32> = well_chosen(&answer).iter().map(|a| a.size).collect();
            let ends = [answer.sizes.first(), answer.sizes.last()].map(|a| a.map(|a| a.size));
            let spoken = ends
                .into_iter()
                .chain([answer.first_paying_size, Some(answer.level_size)])
                .flatten();
            for size in spoken {
                assert!(rows.contains(&size), "{name}: {size} is not among {rows:?}");
            }
            assert!(rows.len() <= ROWS && rows.is_sorted(), "{name}: {rows:?}");
        }
    }

    #[test]
    fn all_sizes_are_shown_when_asked() {
        for (name, answer) in gallery() {
            // Two lines of head and two rules besides.
            assert_eq!(
                sweep(&answer, 100, true).text(true, None).lines().count(),
                answer.sizes.len() + 4,
                "{name}"
            );
        }
    }

    #[test]
    fn plain_terminals_get_plain_characters() {
        for (name, answer) in gallery() {
            assert!(sweep(&answer, 100, true).text(false, None).is_ascii(), "{name}");
        }
    }

    #[test]
    fn the_first_paying_line_and_no_other_is_highlighted() {
        for (name, answer) in gallery() {
            let text = sweep(&answer, 100, true).text(true, Some(("<", ">>")));
            let lit: Vec<&str> = text.lines().filter(|line| line.starts_with('<')).collect();
            assert_eq!(lit.len(), usize::from(answer.first_paying_size.is_some()), "{name}");
            assert!(lit.iter().all(|line| line.contains('>')), "{name}: {lit:?}");
        }
    }

    proptest! {
        #[test]
        fn no_answer_makes_the_table_fail(answer in any_sweep()) {
            for all in [false, true] {
                prop_assert!(!sweep(&answer, 80, all).text(true, None).is_empty());
                let look = Look { all, ..crate::render::samples::look(80, true) };
                prop_assert!(!small_print(&answer, &look).is_empty());
            }
        }
    }
}
