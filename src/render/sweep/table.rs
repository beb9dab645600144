//! The sweep as a table of well-chosen sizes, and the small print under it.

use super::words::{is_certain, reference};
use crate::questions::size_of;
use crate::questions::sweep::{ChannelAnswer, Sells, SizeAnswer, Sweep};
use crate::render::columns::{Columns, MEAN, MIDDLE, SHARE, SUMMARY, Table, Unit};
use crate::render::figure::{self, Mark};
use crate::render::format::{
    asked_of_100, confidence, count, fine_share, in_percent, is_some_amount, mean_count, mean_interval, money, of_100,
    percent_interval, price_interval, typed_amount, with_unit,
};
use crate::render::grid::apart;
use crate::render::words::{batch_of, capital, is_or_are, joined, nothing_varies, you_earn};

/// Rows shown unless all are asked for.
const ROWS: usize = 11;

/// Sizes that people think in.
const ROUND: [u32; 12] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 24];

/// A line a size. All columns are the CSV.
pub fn sizes(sweep: &Sweep) -> Table<'_, &SizeAnswer> {
    let floor = "floor_asked.price";
    let last = sweep.sizes.last().map_or(0, |last| last.size);
    let why = match (sweep.weighed_size(), sweep.sells) {
        (None, _) | (_, Sells::All) => "the first that pays",
        (_, Sells::UntilASeasonEnds) => "the season leaves most",
        (_, Sells::AllYear) => "a year leaves most",
    };
    Table::new("Size by size", sweep, "sizes", &sweep.sizes, columns(sweep))
        .choose(well_chosen(sweep), "sizes")
        .mark(Mark::Best, why, move |a| Some(a.size) == sweep.advised_size)
        .mark(Mark::Level, "", move |a| {
            a.size == sweep.level_size && a.size < last && a.rate.long_run > 0.0
        })
        .mark(Mark::Pays, "", move |a| a.pays(sweep.confidence))
        .main(move |a| Some(a.size) == sweep.advised_size)
        .curve(
            "What an hour earns, one batch in ten, half and nine in ten under it",
            format!("{} an hour", sweep.currency),
            ["rate.p10", "rate.p50", "rate.p90"],
            "rate.p50",
        )
        .curve(
            "The price that pays",
            format!("{} a piece", sweep.currency),
            [floor],
            floor,
        )
}

/// Times are in hours, shares are fractions. What is in the data does not depend on the figures, but for the price floors, one for
/// each confidence that the answer holds, and the channels.
fn columns(sweep: &Sweep) -> Columns<'_, &SizeAnswer> {
    let unit = sweep.currency.as_str();
    let (money, hourly) = (Unit::Money(unit), Unit::Hourly(unit));
    let varies = !is_certain(sweep);
    let mut c = Columns::default();
    c.field("size", Unit::Count).plain("pieces\na batch");
    c.fields("good", MEAN, Unit::Mean);
    let sold = c.fields("sold", MEAN, Unit::Mean);
    // In a season not every good piece is sold.
    if sweep.sizes.iter().any(|a| a.sold.mean < a.good.mean) {
        sold.plain("pieces\nsold");
    }
    c.fields("hours", SUMMARY, Unit::Hours);
    // Nor has one without a helper.
    let helper = sweep.sizes.iter().any(|size| size.helper_hours.is_some());
    if helper {
        c.field("helper_hours", Unit::Hours);
    }
    c.fields("hours_per_piece", MIDDLE, Unit::Hours).plain("hours\na piece");
    // A scenario without selling days has no columns for them.
    let days = sweep.sizes.iter().any(|size| !size.selling_days.is_empty());
    let mut parts = vec!["once", "setup", "each", "redo", "per_order"];
    parts.extend(days.then_some("selling_days"));
    c.called("hours_parts", "hours_per_piece", &parts, Unit::Hours);
    c.field("setup_share", Unit::Share)
        .plain("setup's\nshare of\nthe hours")
        .spare(1);
    c.fields("profit", SUMMARY, money)
        .head(format!("profit\na batch\n{unit}"))
        .note("Profit: what a batch leaves before you are paid.")
        .spare(2);
    c.rates("rate", unit, varies).decides();
    let reach = c.fields("reach", SHARE, Unit::Share);
    if varies {
        reach
            .plain(format!("batches that\nearn {}", typed_amount(sweep.target, unit)))
            .decides();
    }
    floors(&mut c, sweep, varies);
    let mut sums = vec![
        "income",
        "materials",
        "materials_paid",
        "fees",
        "post",
        "shop",
        "clearance",
        "holding",
    ];
    sums.extend(days.then_some("selling_days"));
    sums.extend(helper.then_some("wages"));
    c.fields("money", &sums, money);
    c.fields("sold_out", SHARE, Unit::Share);
    // Every size of one answer has the same channels; the first speaks for all.
    for (k, channel) in sweep.sizes.first().map_or(&[][..], |a| &a.channels).iter().enumerate() {
        for (path, name, unit) in [
            ("sold", "sold_mean", Unit::Mean),
            ("orders", "orders_mean", Unit::Mean),
            ("hours", "hours_mean", Unit::Hours),
            ("profit", "profit_mean", money),
            ("rate.mean", "rate_long_run", hourly),
            ("rate.se", "rate_long_run_se", hourly),
            ("floor_asked", "floor_asked", Unit::Money(&channel.currency)),
        ] {
            c.field(format!("channels[{k}].{path}"), unit)
                .named(format!("channel {} {name}", channel.name));
        }
    }
    c
}

/// The price that pays, at each confidence and at the asked one, which is shown.
fn floors<'a>(c: &mut Columns<'a, &'a SizeAnswer>, sweep: &'a Sweep, varies: bool) {
    let floor = Unit::Floor(&sweep.currency);
    let ends = ["price", "low", "high"];
    // Every size of one answer has floors at the same confidences; the first speaks for all.
    for (k, at) in sweep.sizes.first().map_or(&[][..], |a| &a.floor).iter().enumerate() {
        let name = format!("floor_{}pct", in_percent(at.confidence));
        c.called(&format!("floor[{k}]"), &name, &ends, floor);
    }
    let sure = confidence(sweep.confidence);
    let name = format!("floor_asked_{}pct", in_percent(sweep.confidence));
    let asked = c.called("floor_asked", &name, &ends, floor).or("no price");
    if varies {
        asked
            .head(format!("price that\npays {}\nin {sure}", sweep.currency))
            .note(format!(
                "The price that pays in {sure}: at that price {} batches earn enough.",
                asked_of_100(sweep.confidence)
            ));
    } else {
        asked.plain(format!("price\nthat pays\n{}", sweep.currency));
    }
    asked.decides();
    c.field("floor_long_run", floor);
}

/// What each channel's hour earns, at the size the small print speaks of; `None` where there is one way of selling.
pub fn channels(sweep: &Sweep) -> Option<Table<'_, &ChannelAnswer>> {
    let size = size_of(sweep);
    let k = sweep.sizes.iter().position(|a| a.size == size)?;
    let channels: Vec<&ChannelAnswer> = sweep.sizes[k].channels.iter().collect();
    if channels.is_empty() {
        return None;
    }
    let unit = sweep.currency.as_str();
    let mut c: Columns<'_, &ChannelAnswer> = Columns::default();
    c.field("name", Unit::Text).plain("way of\nselling").breaks(10);
    c.field("sold", Unit::Mean).plain("pieces\nsold");
    if channels.iter().any(|channel| channel.unsold.is_some()) {
        c.shown("unsold", |c| c.unsold.map(mean_count).into())
            .plain("came\nback");
    }
    c.field("orders", Unit::Mean).plain("orders\nsent").spare(1);
    c.field("hours", Unit::Hours)
        .head("hours")
        .note("Hours: its orders, and its share of making, by the pieces that go there.");
    c.field("profit", Unit::Money(unit)).plain(format!("profit\n{unit}"));
    c.field("rate.mean", Unit::Hourly(unit))
        .plain(format!("an hour\nearns {unit}"));
    c.shown("price", move |c| figure::money(c.price, &c.currency))
        .plain("price\nthere");
    c.shown("list", move |c| match c.floor_asked {
        Some(price) => figure::enough_money(price, &c.currency),
        None => "no price".into(),
    })
    .plain("price there\nwhen the\nbatch pays")
    .note(format!(
        "When the batch pays: with the price that pays in {}, which all ways of selling move to together.",
        confidence(sweep.confidence)
    ));
    let name = format!("Ways of selling {}", batch_of(size));
    Some(Table::new(name, sweep, "", channels, c).placed(move |i, _| format!("sizes[{k}].channels[{i}]")))
}

/// How far the simulation itself may be off: short lines.
pub(crate) fn small_print(sweep: &Sweep) -> Vec<String> {
    let certain = is_certain(sweep);
    let mut lines = Vec::new();
    lines.push(if certain {
        nothing_varies(&sweep.version)
    } else {
        let (trials, seed, version) = (count(sweep.trials), sweep.seed, &sweep.version);
        format!("{trials} batches of each size were simulated, seed {seed}, batchwright {version}.")
    });
    if !certain {
        lines.extend(error_line(sweep));
    }
    if let Some(within) = &sweep.within {
        let (asked, widest) = (fine_share(within.asked), fine_share(within.widest));
        lines.push(if within.reached {
            format!("Every price above is known within {widest} (95 % interval), as closely as {asked} or closer.")
        } else {
            format!(
                "You wanted prices within {asked}, but memory ran out at {widest} (95 % interval of the price for {}).",
                count(within.at_size.into())
            )
        });
    }
    lines
}

/// What counts in the figures beyond work and sale, a sentence each.
pub(crate) fn facts(sweep: &Sweep) -> Vec<String> {
    [paid_line(sweep), season_line(sweep), holding_line(sweep)]
        .into_iter()
        .flatten()
        .collect()
}

fn paid_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep)?;
    let [replaced, paid] = [at.rate.long_run, at.rate.long_run_paid].map(|rate| you_earn(rate, &sweep.currency));
    // Sums of the same amounts in another order may differ by rounding.
    let other = (at.money.materials - at.money.materials_paid).abs() > 1e-9 * at.money.materials.abs();
    (other && replaced != paid).then(|| {
        format!(
            "Material counts at what it costs to replace: at size {} you {replaced} an hour on average. At what was really paid for \
             it you {paid}.",
            count(at.size.into())
        )
    })
}

/// That the season ends, that shops give back what they do not sell, or that some pieces make no full set.
fn season_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep).filter(|at| at.sold.mean < at.good.mean)?;
    let [sold, good] = [at.sold.mean, at.good.mean].map(mean_count);
    if good == "0" {
        return None;
    }
    let (size, sold) = (
        format!("at size {}", count(at.size.into())),
        format!("{sold} of {good} good pieces {} sold on average", is_or_are(&sold)),
    );
    if sweep.sells == Sells::UntilASeasonEnds {
        return Some(format!(
            "By the end of the season {sold} {size}, and all of them in {} batches.",
            of_100(at.sold_out.share)
        ));
    }
    let of = format!("{}, {sold}", capital(&size));
    let back: f64 = at.channels.iter().filter_map(|channel| channel.unsold).sum();
    // Of one way of selling alone nothing is told apart: it has either sets or sale or return.
    let [back, beside] = match (sweep.has_sets, at.channels.is_empty()) {
        (false, _) => [at.good.mean - at.sold.mean, 0.0],
        (true, true) => [0.0, at.good.mean - at.sold.mean],
        (true, false) => [back, at.good.mean - at.sold.mean - back],
    };
    let [back, beside] = [back, beside].map(mean_count);
    Some(match (back.as_str(), beside.as_str()) {
        (_, "0") => format!("{of}; the others come back from sale or return."),
        ("0", _) => format!("{of}; the others make no full set and are left over."),
        _ => format!(
            "{of}. {back} {} back from sale or return, and {beside} {} no full set and {} left over.",
            if back == "1" { "comes" } else { "come" },
            if beside == "1" { "makes" } else { "make" },
            is_or_are(&beside)
        ),
    })
}

/// That what lies in stock is charged for.
fn holding_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep)?;
    let last = sweep.sizes.last().filter(|last| last.size > at.size);
    if !is_some_amount(last.unwrap_or(at).money.holding, &sweep.currency) {
        return None;
    }
    let held = |a: &SizeAnswer| format!("{} in {}", money(a.money.holding, &sweep.currency), batch_of(a.size));
    let waits = at.channels.iter().any(|channel| channel.unsold.is_some());
    let what = match (sweep.sells == Sells::AllYear, waits) {
        (true, false) => "Holding stock until it sells, as [steady] says,",
        (true, true) => {
            "Holding stock until it sells, as [steady] says, and waiting for what is left on sale or return,"
        }
        _ => "Waiting for the money of what is left on sale or return",
    };
    let each: Vec<String> = std::iter::once(at).chain(last).map(held).collect();
    Some(format!("{what} costs {}.", joined(&each)?))
}

fn error_line(sweep: &Sweep) -> Option<String> {
    let at = reference(sweep)?;
    let size = count(at.size.into());
    let average = mean_interval(&at.rate.average(), &sweep.currency);
    let reach = percent_interval(at.reach.low, at.reach.high);
    let ends = at.floor_asked.low.zip(at.floor_asked.high);
    let price = ends.map_or_else(String::new, |(low, high)| {
        let price = price_interval(low, high, &sweep.currency);
        format!(", price that pays {}", with_unit(price, &sweep.currency))
    });
    Some(format!(
        "Simulation error (95 %) at size {size}: average {average}, share that earns the target {reach}{price}."
    ))
}

/// The sizes worth a row: both ends, the first that pays and its neighbours, the level, peaks of the saw-tooth, then
/// round sizes where the gaps are widest.
fn well_chosen(sweep: &Sweep) -> Vec<usize> {
    let sizes = &sweep.sizes;
    let last = sizes.len().saturating_sub(1);
    if sizes.len() <= ROWS {
        return (0..sizes.len()).collect();
    }
    let mut chosen = vec![0, last];
    let find = |size: u32| sizes.iter().position(|a| a.size == size);
    let pays = |i: usize| sizes.get(i).is_some_and(|a| a.pays(sweep.confidence));
    if let Some(first) = sweep.first_paying_size.and_then(find) {
        chosen.push(first);
        chosen.push(first.saturating_sub(1));
        // The first that fails again, and the first from which all pay: the words speak of them.
        chosen.extend((first..=last).find(|&i| !pays(i)));
        let last_miss = (first..=last).rev().find(|&i| !pays(i));
        chosen.extend(last_miss.filter(|&i| i < last).map(|i| i + 1));
    } else {
        let floor = |i: &usize| sizes.get(*i).and_then(|a| a.floor_asked.price).unwrap_or(f64::INFINITY);
        chosen.extend((0..=last).min_by(|a, b| floor(a).total_cmp(&floor(b))));
    }
    chosen.extend(find(sweep.level_size));
    chosen.extend(sweep.advised_size.and_then(find));
    // The best hour: the words speak of it where larger sizes earn less.
    chosen.extend((0..=last).max_by(|&a, &b| {
        let rate = |i: usize| sizes[i].rate.long_run;
        rate(a).total_cmp(&rate(b)).then(b.cmp(&a))
    }));
    chosen.sort_unstable();
    chosen.dedup();
    let rate = |i: usize| sizes.get(i).map_or(f64::NAN, |a| a.rate.long_run);
    // A full round: the rate falls where the next piece opens another.
    let peak = |i: usize| i > 0 && i < last && rate(i) > rate(i + 1) + 0.002 * rate(i).abs();
    while chosen.len() < ROWS {
        let worth = |i: usize| {
            let gap = apart(sizes[i].size, chosen.iter().map(|&c| sizes[c].size));
            gap * if peak(i) || is_round(sizes[i].size) { 1.6 } else { 1.0 }
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
    chosen
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
    use crate::render::columns::Declared;
    use crate::render::samples::look;
    use crate::render::samples::{Shop, any_sweep, gallery};
    use crate::render::text::Look;
    use proptest::prelude::*;

    fn grid(answer: &Sweep, columns: usize, all: bool) -> crate::render::grid::Grid {
        sizes(answer).grid(&Look {
            all,
            ..look(columns, true)
        })
    }

    #[test]
    fn a_table_fits_eighty_and_a_hundred_columns() {
        for (name, answer) in gallery() {
            for columns in [80, 100] {
                for all in [false, true] {
                    let text = grid(&answer, columns, all).text(true, None);
                    let widest = text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
                    assert!(widest <= columns, "{name}: {widest} of {columns}\n{text}");
                }
            }
        }
    }

    #[test]
    fn the_sizes_the_words_speak_of_have_a_row() {
        for (name, answer) in gallery() {
            let rows: Vec<u32> = well_chosen(&answer).iter().map(|k| answer.sizes[*k].size).collect();
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
            assert_eq!(grid(&answer, 100, true).rows.len(), answer.sizes.len(), "{name}");
        }
    }

    #[test]
    fn plain_terminals_get_plain_characters() {
        for (name, answer) in gallery() {
            assert!(grid(&answer, 100, true).text(false, None).is_ascii(), "{name}");
        }
    }

    #[test]
    fn the_first_paying_line_and_no_other_is_highlighted() {
        for (name, answer) in gallery() {
            let text = grid(&answer, 100, true).text(true, Some(("<", ">>")));
            let lit: Vec<&str> = text.lines().filter(|line| line.starts_with('<')).collect();
            assert_eq!(lit.len(), usize::from(answer.first_paying_size.is_some()), "{name}");
            assert!(lit.iter().all(|line| line.contains('▲')), "{name}: {lit:?}");
        }
    }

    /// What was paid for material is told where it was another amount and the hour shows it.
    #[test]
    fn what_was_paid_is_told_where_the_hour_shows_it() {
        let mut answer = Shop::default().sweep([9]);
        let mut told = |materials: f64, rate: f64| {
            let at = &mut answer.sizes[0];
            (at.money.materials, at.money.materials_paid) = (20.0, materials);
            (at.rate.long_run, at.rate.long_run_paid) = (30.0, rate);
            paid_line(&answer).is_some()
        };
        assert!(told(15.0, 31.0));
        assert!(!told(15.0, 30.0) && !told(20.0, 31.0) && !told(20.0, 30.0));
    }

    fn csv_of(answer: &Sweep) -> String {
        sizes(answer).csv()
    }

    fn read(text: &str) -> (csv::StringRecord, Vec<csv::StringRecord>) {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().unwrap().clone();
        (header, reader.records().map(Result::unwrap).collect())
    }

    #[test]
    fn the_header_names_what_and_in_which_unit() {
        let (header, _) = read(&csv_of(&Shop::default().sweep([1])));
        let expected = "size good_mean good_se sold_mean sold_se hours_mean hours_se hours_p10 hours_p50 hours_p90 \
             hours_per_piece_mean hours_per_piece_p10 hours_per_piece_p50 hours_per_piece_p90 hours_per_piece_once \
             hours_per_piece_setup hours_per_piece_each hours_per_piece_redo hours_per_piece_per_order setup_share \
             profit_mean_EUR profit_se_EUR profit_p10_EUR profit_p50_EUR profit_p90_EUR rate_mean_EUR_per_hour \
             rate_p10_EUR_per_hour rate_p50_EUR_per_hour rate_p90_EUR_per_hour rate_long_run_EUR_per_hour \
             rate_long_run_se_EUR_per_hour rate_long_run_paid_EUR_per_hour reach_share reach_low reach_high \
             floor_50pct_price_EUR floor_50pct_low_EUR floor_50pct_high_EUR floor_80pct_price_EUR floor_80pct_low_EUR \
             floor_80pct_high_EUR floor_90pct_price_EUR floor_90pct_low_EUR floor_90pct_high_EUR \
             floor_asked_80pct_price_EUR floor_asked_80pct_low_EUR floor_asked_80pct_high_EUR floor_long_run_EUR \
             money_income_EUR money_materials_EUR money_materials_paid_EUR money_fees_EUR money_post_EUR money_shop_EUR money_clearance_EUR \
             money_holding_EUR sold_out_share sold_out_low sold_out_high";
        assert_eq!(
            header.iter().collect::<Vec<_>>(),
            expected.split_whitespace().collect::<Vec<_>>()
        );
    }

    #[test]
    fn every_answer_is_one_row_a_size_under_its_own_header() {
        for (name, answer) in gallery() {
            let (header, rows) = read(&csv_of(&answer));
            assert_eq!(rows.len(), answer.sizes.len(), "{name}");
            let column = |wanted: &str| header.iter().position(|h| h == wanted).unwrap();
            for (row, size) in rows.iter().zip(&answer.sizes) {
                let number = |name: &str| row[column(name)].parse::<f64>().ok();
                assert_eq!(row[0], size.size.to_string());
                assert_eq!(number("rate_p50_EUR_per_hour"), Some(size.rate.p50), "{name}");
                assert_eq!(number("hours_per_piece_setup"), Some(size.hours_parts.setup));
                assert_eq!(number("floor_90pct_price_EUR"), size.floor[2].price);
                assert_eq!(number("floor_asked_80pct_high_EUR"), size.floor_asked.high);
                assert_eq!(number("money_shop_EUR"), Some(size.money.shop));
            }
        }
    }

    #[test]
    fn an_answer_without_sizes_is_a_header() {
        let (header, rows) = read(&csv_of(&Shop::default().sweep([])));
        assert!(header.len() > 40 && rows.is_empty());
    }

    proptest! {
        #[test]
        fn no_answer_makes_the_table_fail(answer in any_sweep()) {
            for all in [false, true] {
                prop_assert!(!grid(&answer, 80, all).text(true, None).is_empty());
            }
            prop_assert!(!small_print(&answer).is_empty());
        }
    }
}
