//! `drivers` made visible: words, table, small chart, JSON, CSV.

mod plot;

use super::Render;
use super::columns::{Columns, Declared, Table, Unit};
use super::figure;
use super::format::{
    confidence, count, hours, is_some_amount, mean_interval, money, points, points_at_most, share_estimate,
    share_in_words, typed_money,
};
use super::page::Page;
use super::plot::Plot;
use super::text::Look;
use super::words::{BEFORE_TAX, batches_of, capital, made, several, you_earn};
use crate::questions::drivers::{Drivers, InputAnswer, Kind, Lever, StepWorth};
use crate::questions::ways::Way;
use crate::stats::sobol::IndexEstimate;
use crate::stats::{Mean, Z975};

/// Levers shown unless all are asked for.
const LEVERS: usize = 9;
/// Inputs that account for at least this much are shown in any case.
const MATTERS: f64 = 0.02;
/// From this share of the best gain on, another is nearly as good.
const NEARLY: f64 = 0.9;
impl Render for Drivers {
    fn page(&self, look: &Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self),
            why: why(self),
            tables: self.grids(look),
            more: more(self),
            small: small_print(self),
            care: format!(
                "A minute saved by leaving a guard off, or by opening clamps or a kiln before its time, is not one of these minutes. \
                 {BEFORE_TAX}"
            ),
        }
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        let mut tables: Vec<Box<dyn Declared + '_>> = vec![Box::new(table(self))];
        tables.extend(ways(self).map(|table| Box::new(table) as Box<_>));
        tables
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// A row: a lever, an input, or both.
#[derive(Clone, Copy)]
struct Row<'a> {
    lever: Option<&'a Lever>,
    input: Option<&'a InputAnswer>,
}

impl Row<'_> {
    fn name(&self) -> &str {
        match (self.lever, self.input) {
            (Some(lever), _) => &lever.name,
            (_, Some(input)) => &input.name,
            _ => "",
        }
    }

    fn total(&self) -> Option<IndexEstimate> {
        Some(self.input?.shares?.total_in_order())
    }
}

/// Levers by what they are worth, then the inputs that none belongs to.
fn rows(answer: &Drivers) -> Vec<Row<'_>> {
    let levers = answer.levers.iter().map(|lever| Row {
        lever: Some(lever),
        input: lever.input.and_then(|i| answer.inputs.get(i)),
    });
    let taken = |i: usize| answer.levers.iter().any(|lever| lever.input == Some(i));
    let others = answer.inputs.iter().enumerate().filter(|(i, _)| !taken(*i));
    let bare = |(_, input)| Row {
        lever: None,
        input: Some(input),
    };
    levers.chain(others.map(bare)).collect()
}

/// The input that accounts for most, with what it plays together with.
fn foremost(answer: &Drivers) -> Option<(&InputAnswer, IndexEstimate)> {
    let inputs = answer.inputs.iter();
    let totals = inputs.filter_map(|input| Some((input, input.shares?.total_in_order())));
    totals.max_by(|a, b| a.1.share.total_cmp(&b.1.share))
}

/// What a lever takes something off.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Of {
    Time,
    Money,
    Share,
    /// No lever takes anything off it.
    Nothing,
}

const fn of(kind: Kind) -> Of {
    match kind {
        Kind::Once
        | Kind::Setup
        | Kind::Each
        | Kind::PerOrder
        | Kind::Quote
        | Kind::Enquiry
        | Kind::There
        | Kind::Travel => Of::Time,
        Kind::Price | Kind::Postage | Kind::FeePerOrder | Kind::DayCost | Kind::Wage => Of::Money,
        Kind::Spoil | Kind::Second | Kind::Redo | Kind::Waste | Kind::Returns | Kind::Unsold | Kind::Fee => Of::Share,
        Kind::Pace
        | Kind::Chance
        | Kind::Tips
        | Kind::OrderSize
        | Kind::Exchange
        | Kind::Buyers
        | Kind::Seconds
        | Kind::Won
        | Kind::DaySells
        | Kind::WhereSold => Of::Nothing,
    }
}

fn is_time(kind: Kind) -> bool {
    of(kind) == Of::Time
}

/// 10 % less of what is no time, in words: `10 % off the price of 'oak'`.
fn less_of(lever: &Lever) -> String {
    let whose = |of: &str| match &lever.of {
        Some(name) => format!(" {of} '{name}'"),
        None => String::new(),
    };
    match (lever.kind, lever.of.as_deref()) {
        (Kind::Price, _) => format!("10 % off the price{}", whose("of")),
        (Kind::Waste, _) => format!("10 % less waste{}", whose("of")),
        (Kind::Spoil, _) => format!("10 % fewer pieces spoiled{}", whose("at")),
        (Kind::Second, _) => format!("10 % fewer seconds{}", whose("at")),
        (Kind::Redo, _) => format!("10 % fewer pieces done again{}", whose("at")),
        (Kind::DayCost, Some(of)) => format!("10 % off what '{of}' costs"),
        (Kind::Postage, _) => "10 % off the postage".to_owned(),
        (Kind::Unsold, Some(of)) => format!("10 % less that comes back unsold from '{of}'"),
        (Kind::Returns, _) => "10 % fewer returns".to_owned(),
        (Kind::Fee, _) => "10 % off the fee".to_owned(),
        (Kind::FeePerOrder, _) => "10 % off the fee per order".to_owned(),
        (Kind::Wage, _) => "10 % off the helper's wage".to_owned(),
        _ => format!("10 % less of '{}'", lever.name),
    }
}

/// The same with what it does: `10 % off the fee adds`, `10 % fewer returns add`.
fn adds(lever: &Lever) -> String {
    let many = matches!(lever.kind, Kind::Spoil | Kind::Second | Kind::Redo | Kind::Returns);
    format!("{} {}", less_of(lever), if many { "add" } else { "adds" })
}

/// Where to work: at most three sentences.
fn opening(answer: &Drivers) -> Vec<String> {
    let mut said = vec![advice(answer)];
    if let (Some(_), Some((step, tenth))) = (other_way(answer), advised(answer)) {
        said.push("First find out whether they sell there.".to_owned());
        said.push(format!(
            "Of the work '{}' matters most: 10 % less time there{} adds {}.",
            step.name,
            all_of(answer, step),
            money(tenth.mean, &answer.currency)
        ));
        return said;
    }
    match advised(answer) {
        Some((step, tenth)) if tenth.mean > 0.0 => {
            if let Some((lever, gain)) = more_than_work(answer) {
                let gain = money(gain.mean, &answer.currency);
                said.push(format!("{} more: {gain}.", capital(&adds(lever))));
                said.extend(a_minute(answer, step));
            } else {
                said.extend(a_minute(answer, step));
                said.extend(nearly_as_good(answer));
            }
        }
        Some(_) => said.push("Fewer minutes alone would not mend that.".to_owned()),
        None => {}
    }
    said
}

/// What makes batches differ, and which wrong estimate would matter most.
fn why(answer: &Drivers) -> Vec<String> {
    let mut said: Vec<String> = mover(answer).into_iter().collect();
    said.extend(off(answer));
    said
}

fn more(answer: &Drivers) -> Vec<String> {
    let currency = &answer.currency;
    let told = usize::from(more_than_work(answer).is_some() && other_way(answer).is_none());
    let gains = besides_time(answer).skip(told);
    let gains = gains.map(|(lever, gain)| (adds(lever), money(gain.mean, currency)));
    let besides: Vec<(String, String)> = gains.take(2).collect();
    let mut said = Vec::new();
    if let Some((adds, gain)) = besides.first() {
        let also = besides.get(1);
        let also = also.map_or_else(String::new, |(adds, gain)| format!(", and {adds} {gain}"));
        said.push(format!("Besides time, {adds} {gain} to the hour{also}."));
    }
    let another = another_way(answer);
    let posted = another.as_ref().and_then(|_| postage_there(answer));
    said.extend(another.filter(|_| other_way(answer).is_none()));
    said.extend(posted);
    said
}

/// The cost of which 10 % less adds more than of the time at any step, where there is one: told beside that step.
fn more_than_work(answer: &Drivers) -> Option<(&Lever, Mean)> {
    let work = advised(answer)?.1.mean;
    besides_time(answer)
        .next()
        .filter(|(_, gain)| work > 0.0 && gain.mean > work)
}

/// What is not time and of which 10 % less adds something that shows, with what it adds.
fn besides_time(answer: &Drivers) -> impl Iterator<Item = (&Lever, Mean)> {
    let shows = |gain: &Mean| gain.mean > 0.0 && is_some_amount(gain.mean, &answer.currency);
    let others = answer.levers.iter().filter(|lever| !is_time(lever.kind));
    others.filter_map(move |lever| Some((lever, lever.tenth.filter(shows)?)))
}

/// That the way of selling which is advised is reckoned with postage that its channel does not name.
fn postage_there(answer: &Drivers) -> Option<String> {
    let way = answer.ways.first().filter(|way| way.postage_of_sale)?;
    Some(format!(
        "Orders through '{}' are reckoned with the postage of the sale. If nothing is posted there, give that channel a postage of 0.",
        way.to
    ))
}

/// A minute, or an hour, is said where it is from a fiftieth to half of what there is (assumption): less is lost in it, more is another piece
/// of work.
const MINUTE: (f64, f64) = (0.02, 0.5);

/// The step where 10 % less time is worth most, and what it is worth.
fn advised(answer: &Drivers) -> Option<(&StepWorth, Mean)> {
    let step = answer.steps.first()?;
    Some((step, step.tenth?))
}

/// What takes time at a step, that of which 10 % is worth most first.
fn parts<'a>(answer: &'a Drivers, step: &'a StepWorth) -> impl Iterator<Item = &'a Lever> {
    let own = |l: &&Lever| is_time(l.kind) && l.of.as_ref() == Some(&step.name);
    answer.levers.iter().filter(own)
}

/// Another way of selling, where moving some pieces there is worth clearly more than 10 % less time at any step.
fn other_way(answer: &Drivers) -> Option<&Way> {
    let way = answer.ways.first()?;
    let step = advised(answer)?.1.mean;
    (step > 0.0 && way.gain.mean - Z975 * way.gain.se > step).then_some(way)
}

/// Where to sell more, or else where to work.
fn advice(answer: &Drivers) -> String {
    if let Some(way) = other_way(answer) {
        return format!(
            "Sell more by way of '{}': moving {} there from '{}' adds {} to the hour.",
            way.to,
            some(way.moved),
            way.from,
            money(way.gain.mean, &answer.currency)
        );
    }
    work(answer)
}

/// Where to work.
fn work(answer: &Drivers) -> String {
    let made = batches_of(answer.size, "a single piece");
    let (of, with) = if answer.size == 1 { ("of", "with") } else { ("in", "in") };
    match advised(answer) {
        Some((best, tenth)) if tenth.mean > 0.0 => format!(
            "Work on '{}' first: 10 % less time there{} adds {} to the hour {of} {made}.",
            best.name,
            all_of(answer, best),
            money(tenth.mean, &answer.currency)
        ),
        Some(_) => format!(
            "Change the price or the costs first: {with} {made} you {} an hour on average.",
            you_earn(answer.long_run.mean, &answer.currency)
        ),
        None => format!("Leave the work as it is: nothing in {made} takes time that could be less."),
    }
}

/// That a step's time is the sum of several rows of the table, where it is.
fn all_of(answer: &Drivers, step: &StepWorth) -> &'static str {
    let kinds: Vec<Kind> = parts(answer, step).map(|lever| lever.kind).collect();
    match (kinds.len() > 1, kinds.contains(&Kind::Setup)) {
        (false, _) => "",
        (true, true) => ", with its setup,",
        (true, false) => ", all of it,",
    }
}

/// What one minute or hour less is worth, of what takes most at the step.
fn a_minute(answer: &Drivers, step: &StepWorth) -> Option<String> {
    let most = parts(answer, step).next();
    let lever = most.filter(|l| !l.all_of_it && (MINUTE.0..=MINUTE.1).contains(&(l.less / l.has)))?;
    let adds = money(lever.gain?.mean, &answer.currency);
    let less = if lever.less == 1.0 { "One minute" } else { "One hour" };
    Some(match lever.kind {
        Kind::Once => format!("{less} less, once for the design, adds {adds}."),
        Kind::Setup => format!("{less} less for each setup adds {adds}."),
        Kind::PerOrder => format!("{less} less for each order adds {adds}."),
        Kind::Quote => format!("{less} less for each quote adds {adds}."),
        Kind::Enquiry => format!("{less} less for each enquiry adds {adds}."),
        Kind::There => format!("{less} less there adds {adds}."),
        Kind::Travel => format!("{less} less on the way adds {adds}."),
        _ => format!("{less} less for each piece adds {adds}."),
    })
}

/// Other steps where 10 % less is worth nearly as much: then what counts is where it is easiest to save.
fn nearly_as_good(answer: &Drivers) -> Option<String> {
    let (best, others) = answer.steps.split_first()?;
    let worth = best.tenth?.mean;
    let near = |s: &&StepWorth| s.tenth.is_some_and(|t| worth > 0.0 && t.mean >= NEARLY * worth);
    let steps: Vec<&str> = others.iter().filter(near).map(|s| s.name.as_str()).collect();
    let are = match steps.as_slice() {
        [] => return None,
        [a] => format!("'{a}' is"),
        [a, b] => format!("'{a}' and '{b}' are"),
        [a, rest @ ..] => format!("'{a}' and {} other steps are", rest.len()),
    };
    Some(format!(
        "{are} worth nearly as much, so begin where time is easiest to save."
    ))
}

/// Some of the pieces: "10 % of the pieces".
fn some(moved: f64) -> String {
    format!("{} of the pieces", confidence(moved))
}

/// Which way of selling could have more, where that is worth more than chance.
fn another_way(answer: &Drivers) -> Option<String> {
    let way = answer.ways.first()?;
    (way.gain.mean > Z975 * way.gain.se && way.gain.mean > 0.0).then(|| {
        format!(
            "Selling {} by way of '{}' in place of '{}' adds {} to the hour, if they sell there.",
            some(way.moved),
            way.to,
            way.from,
            money(way.gain.mean, &answer.currency)
        )
    })
}

/// What another split among the ways of selling adds or takes off.
fn ways(answer: &Drivers) -> Option<Table<'_, &Way>> {
    let first = answer.ways.first()?;
    let currency = answer.currency.as_str();
    let mut c: Columns<'_, &Way> = Columns::default();
    let moved = some(first.moved);
    c.field("from", Unit::Text)
        .plain(format!("{moved}\ntaken from"))
        .breaks(12);
    c.field("to", Unit::Text).plain("and sold through").breaks(12);
    c.field("gain.mean", Unit::Hourly(currency))
        .written(|v| figure::signed_amount(v, currency))
        .plain(format!("adds {currency}\nan hour"));
    Some(Table::new("Sold another way", answer, "ways", &answer.ways, c))
}

/// What makes batches differ most.
fn mover(answer: &Drivers) -> Option<String> {
    if answer.inputs.iter().all(|i| i.shares.is_none()) {
        return Some("Nothing varies here, so every batch is like the next.".to_owned());
    }
    let (input, total) = foremost(answer)?;
    let (what, share) = (subject(answer, input), share_in_words(total.share));
    let batches = capital(several(answer.size));
    Some(format!(
        "{batches} differ most because of {what} ({share} of the variance)."
    ))
}

/// An input within a sentence.
fn subject(answer: &Drivers, input: &InputAnswer) -> String {
    let of = input.of.as_deref().unwrap_or("");
    let can = |kind: Kind| answer.levers.iter().any(|l| l.kind == kind && l.of == input.of);
    match input.kind {
        Kind::Pace => "the pace of the work".to_owned(),
        Kind::Once => format!("the time '{of}' takes once for the design"),
        Kind::Setup => format!("the setup of '{of}'"),
        Kind::Each => format!("the time a piece takes at '{of}'"),
        Kind::PerOrder => format!("the time an order takes at '{of}'"),
        Kind::Chance | Kind::Spoil | Kind::Redo => match (can(Kind::Spoil), can(Kind::Redo)) {
            (true, false) => format!("which pieces '{of}' spoils"),
            (false, true) => format!("which pieces '{of}' has done again"),
            _ => format!("which pieces '{of}' spoils or has done again"),
        },
        Kind::Price => format!("the price of '{of}'"),
        Kind::Waste => format!("the waste of '{of}'"),
        Kind::OrderSize => "how many pieces an order holds".to_owned(),
        Kind::Returns => "which orders come back".to_owned(),
        Kind::Postage => "the postage".to_owned(),
        Kind::Tips => "what buyers add to an order".to_owned(),
        Kind::Fee | Kind::FeePerOrder => "the fee".to_owned(),
        Kind::Wage => "the helper's wage".to_owned(),
        Kind::Exchange => format!("what the {of} is worth"),
        Kind::Buyers => "how many buyers the season brings".to_owned(),
        Kind::Seconds | Kind::Second => "which pieces are seconds".to_owned(),
        Kind::Quote => "the time a quote takes".to_owned(),
        Kind::Enquiry => "the time an enquiry takes".to_owned(),
        Kind::There => format!("the time there at '{of}'"),
        Kind::Travel => format!("the time on the way to '{of}'"),
        Kind::DayCost => format!("what '{of}' costs"),
        Kind::DaySells => format!("how many pieces '{of}' sells"),
        Kind::Unsold => format!("what comes back unsold from '{of}'"),
        Kind::WhereSold => "where each piece is sold".to_owned(),
        Kind::Won => {
            let asked = match (can(Kind::Quote), can(Kind::Enquiry)) {
                (true, false) => "quotes",
                (false, true) => "enquiries",
                _ => "quotes and enquiries",
            };
            format!("how many {asked} it takes to win an order")
        }
    }
}

/// The estimate that would matter most if it were wrong.
fn off(answer: &Drivers) -> Vec<String> {
    let wide = |i: &&InputAnswer| i.swing.map_or(0.0, |s| (s.high.rate - s.low.rate).abs());
    let ranges = answer.inputs.iter().filter(|i| i.swing.is_some());
    let most = ranges.max_by(|a, b| wide(a).total_cmp(&wide(b)));
    let Some((most, swing)) = most.and_then(|most| Some((most, most.swing?))) else {
        return Vec::new();
    };
    let earns = |rate: f64| you_earn(rate, &answer.currency);
    vec![
        format!("Of your estimates, {} matters most.", subject(answer, most)),
        format!(
            "If it were always at the low end of its range, you would {} an hour on average; at the high end, you would {}.",
            earns(swing.low.rate),
            earns(swing.high.rate)
        ),
    ]
}

/// The answer in one sentence, for the chart.
fn headline(answer: &Drivers) -> String {
    // The chart shows nothing of ways of selling, but bars of what is no time, which may be the longest.
    let others = answer.levers.iter().filter(|l| !is_time(l.kind));
    let longest = others.filter_map(|l| l.tenth).map(|gain| gain.mean).fold(0.0, f64::max);
    match advised(answer) {
        Some((step, gain)) if gain.mean > 0.0 && longest > gain.mean => format!(
            "Of the work '{}' matters most: 10 % less time there{} adds {} to the hour {}.",
            step.name,
            all_of(answer, step),
            money(gain.mean, &answer.currency),
            made(answer.size)
        ),
        _ => work(answer),
    }
}

/// All columns are the CSV.
fn table(answer: &Drivers) -> Table<'_, Row<'_>> {
    let rows = rows(answer);
    let is_shown = |i: usize, row: &Row<'_>| {
        i < LEVERS || row.lever.is_none() || row.total().is_some_and(|total| total.share >= MATTERS)
    };
    let shown = (0..rows.len()).filter(|i| is_shown(*i, &rows[*i])).collect();
    let best = answer.steps.first().and_then(|step| parts(answer, step).next());
    Table::new("What moves the hour", answer, "", rows, columns(answer))
        .choose(shown, "rows")
        .main(move |row| best.is_some() && row.lever == best)
}

fn columns(answer: &Drivers) -> Columns<'_, Row<'_>> {
    fn place<T>(list: &str, all: &[T], one: Option<&T>) -> Option<String> {
        let place = all
            .iter()
            .position(|known| one.is_some_and(|one| std::ptr::eq(known, one)))?;
        Some(format!("{list}[{place}]"))
    }
    let currency = answer.currency.as_str();
    let hourly = Unit::Hourly(currency);
    let lever = move |row: &Row<'_>| place("levers", &answer.levers, row.lever);
    let input = move |row: &Row<'_>| place("inputs", &answer.inputs, row.input);
    let mut c: Columns<'_, Row<'_>> = Columns::default();
    c.said("what", move |row| row.name().into())
        .plain("what it is")
        .breaks(18);
    c.from(move |row| lever(row).or_else(|| input(row)));
    for key in ["name", "kind", "of"] {
        c.field(key, Unit::Text);
    }
    c.from(lever);
    let adds = format!("adds {currency} an hour");
    c.shown("little", move |row| row.lever.map(|lever| little(lever, currency)).into())
        .head("a little\nless is")
        .note(
            "A little less: a minute, a percentage point or a unit of money off your estimate each time, before pace and learning. \
             Of money, where that is more than half of it, a tenth or hundredth of a unit; of other things, where there is less than that on \
             average, all of it goes.",
        );
    c.field("tenth.mean", hourly)
        .unwritten()
        .head("10 %\nless")
        .under(&adds)
        .note("Adds: on average. 10 % less: of all its time or cost; 10 % less of a step is that of all its rows.");
    c.field("less", Unit::Ratio);
    c.field("all_of_it", Unit::Text);
    c.field("gain.mean", hourly)
        .named("gain")
        .or_row(|row| if row.lever.is_some() { "all" } else { "" })
        .plain("a little\nless")
        .under(&adds);
    c.field("gain.se", hourly);
    c.from(input);
    of_input(&mut c, answer);
    c.from(lever);
    c.field("tenth.mean", hourly).named("tenth");
    c.field("tenth.se", hourly);
    c
}

fn of_input<'a>(c: &mut Columns<'a, Row<'a>>, answer: &'a Drivers) {
    let hourly = Unit::Hourly(answer.currency.as_str());
    for (side, head) in [("first", "by\nitself"), ("total", "with\nothers")] {
        let parts = ["share", "se", "low", "high"];
        let share = c.called(&format!("shares.{side}"), side, &parts, Unit::Share);
        if answer.rate_sd > 0.0 {
            // Alone is never more than in all; the estimates may be, within their errors.
            let said = move |row: &Row<'_>| {
                let (first, total) = row.input?.shares?.in_order();
                Some(share_estimate(if side == "first" { first } else { total }))
            };
            share.says(move |row| said(row).unwrap_or_default()).head(head).under("why batches differ").note(
                "Why batches differ: how much of the variance of what an hour earns comes from this. By itself: the share that \
                 would go if this were the same in every batch. With others: the share that would be left if only this changed. \
                 Spoil and redo of a step are one.",
            );
        }
    }
    c.field("shares.first_by", Unit::Text).named("first_by");
    for end in ["low", "high"] {
        c.field(format!("swing.{end}.value"), Unit::Ratio)
            .named(format!("{end}_tenth_value"));
        let rate = c
            .field(format!("swing.{end}.rate"), hourly)
            .named(format!("{end}_tenth_rate"));
        if answer.inputs.iter().any(|i| i.swing.is_some()) {
            rate.head(format!("always\n{end}")).under(format!("an hour earns {} if", answer.currency)).spare(1).note(
                "Always low, always high: your estimate is wrong. You expect one time in ten to be lower than this low, or higher \
                 than this high; here it is so every time, and all else stays. Chance evens out over the pieces of a batch; a wrong \
                 estimate does not.",
            );
        }
        let change = format!("{end}_tenth_change");
        c.field(format!("swing.{end}.change.mean"), hourly).named(&change);
        c.field(format!("swing.{end}.change.se"), hourly)
            .named(format!("{change}_se"));
    }
}

/// How much less, for a table: `1 min`, `1 point`, `1 EUR`.
pub(super) fn little(lever: &Lever, currency: &str) -> String {
    match of(lever.kind) {
        Of::Time => hours(lever.less / 60.0),
        Of::Money => typed_money(lever.less, currency),
        Of::Share => points(lever.less),
        Of::Nothing => String::new(),
    }
}

fn small_print(answer: &Drivers) -> Vec<String> {
    let currency = &answer.currency;
    let (made, trials) = (made(answer.size), count(answer.trials));
    let Drivers { seed, version, .. } = answer;
    let mut lines = Vec::new();
    if answer.rate_sd > 0.0 {
        lines.push(format!(
            "The hourly rates of the batches have a standard deviation of {}. On average an hour earns {} (simulation error, 95 %).",
            money(answer.rate_sd, currency),
            mean_interval(&answer.long_run, currency)
        ));
        lines.push(error_line(answer));
        lines.push(format!(
            "Made {made}; {trials} batches of each sample and setting were simulated, seed {seed}, batchwright {version}."
        ));
    } else {
        let earns = money(answer.long_run.mean, currency);
        lines.push(format!("Made {made}, an hour earns {earns}. batchwright {version}."));
    }
    lines
}

/// How far the simulation may be off, at the worst.
fn error_line(answer: &Drivers) -> String {
    let shares = answer.inputs.iter().filter_map(|i| i.shares);
    let worst = shares.flat_map(|s| [s.first.se, s.total.se]).fold(0.0, f64::max);
    let gains = answer.levers.iter().flat_map(|l| [l.gain, l.tenth]).flatten();
    let gain = gains.map(|g| g.se).fold(0.0, f64::max);
    format!(
        "Simulation error (95 %): shares at most {} either way, gains {}.",
        points_at_most(Z975 * worst),
        money(Z975 * gain, &answer.currency)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::samples::{fitting, look, mean, on_its_page, text_chart};
    use crate::stats::sobol::FirstBy;
    use crate::stats::sobol::Indices;

    /// Shares of variance, alone and with others.
    fn drivers(shares: &[(f64, f64)]) -> Drivers {
        let estimate = |share: f64| IndexEstimate {
            share,
            se: 0.0,
            low: share,
            high: share,
        };
        Drivers {
            title: "Oak peg rail".to_owned(),
            currency: "EUR".to_owned(),
            price: 62.0,
            target: 32.0,
            confidence: 0.8,
            size: 9,
            trials: 1000,
            seed: 1,
            resamples: 100,
            version: "0.1.0".to_owned(),
            long_run: mean(36.0),
            rate_mean: 36.0,
            rate_sd: 5.0,
            inputs: shares
                .iter()
                .enumerate()
                .map(|(k, (first, total))| InputAnswer {
                    name: format!("step {k}: each"),
                    kind: Kind::Each,
                    of: Some(format!("step {k}")),
                    shares: Some(Indices {
                        first: estimate(*first),
                        total: estimate(*total),
                        first_by: FirstBy::Jansen,
                    }),
                    swing: None,
                })
                .collect(),
            levers: Vec::new(),
            steps: Vec::new(),
            ways: Vec::new(),
        }
    }

    /// Names of 12, a space and a figure of 5 leave 60 - 12 - 2 - 5 = 41 columns, 40 steps for 51.5 %: the most and 3 % of it. So 50 %
    /// are 38.8 steps, 25 % 19.4 and 10 % 7.8.
    #[test]
    fn bars_are_as_long_as_their_shares() {
        let answer = drivers(&[(0.1, 0.25), (0.5, 0.5), (0.0, 0.0)]);
        let text = text_chart(&answer, &look(60, true)).unwrap();
        let bars: Vec<&str> = text.lines().filter(|line| line.starts_with("step")).collect();
        assert_eq!(bars[0], format!("step 1: each │{} 50 %", "█".repeat(39)), "{text}");
        let second = format!("step 0: each │{}{} 25 %", "█".repeat(8), "▒".repeat(11));
        assert_eq!(bars[1], second, "{text}");
        assert_eq!(bars[2], "step 2: each │ 0 %", "{text}");
        assert_eq!(fitting(|look| text_chart(&answer, look)).len(), 6);
        on_its_page(&answer, "What makes batches differ");
        assert_eq!(text_chart(&drivers(&[]), &look(60, true)), None);
    }

    /// What tells two names apart may stand at their ends.
    #[test]
    fn long_names_stay_apart() {
        let mut answer = drivers(&[(0.5, 0.5), (0.25, 0.25)]);
        for (input, part) in answer.inputs.iter_mut().zip(["setup", "per order"]) {
            input.name = format!("a name that goes on and on and on: {part}");
        }
        let text = text_chart(&answer, &look(60, true)).unwrap();
        let names: Vec<&str> = text
            .lines()
            .filter_map(|line| line.split_once(" │"))
            .map(|(name, _)| name)
            .collect();
        // Two fifths of 60.
        assert!(
            names.len() >= 2 && names.iter().all(|name| name.chars().count() <= 24),
            "{text}"
        );
        assert!(
            names[0].trim_end().ends_with(": setup") && names[1].trim_end().ends_with("per order"),
            "{text}"
        );
    }

    /// 18 h and 2 h of one step, a tenth of which is more than the tenth of any other though no minute of it is. What is said of
    /// the minute: nothing of 18 h, it of 10 min, nothing of half a minute.
    #[test]
    fn the_step_is_advised_and_a_minute_said_where_it_is_a_fair_part() {
        let lever = |step: &str, kind: Kind, has: f64, gain: f64, tenth: f64| Lever {
            name: format!("{step}: part"),
            kind,
            of: Some(step.to_owned()),
            less: has.min(1.0),
            has,
            all_of_it: has <= 1.0,
            gain: Some(mean(gain)),
            tenth: Some(mean(tenth)),
            input: None,
        };
        let step = |name: &str, tenth: f64| StepWorth {
            name: name.to_owned(),
            hours: 1.0,
            tenth: Some(mean(tenth)),
        };
        let with = |has: f64| Drivers {
            size: 1,
            levers: vec![
                lever("carcass", Kind::Each, has, 0.25, 1.0),
                lever("oil", Kind::Each, 360.0, 0.5, 0.3),
                lever("carcass", Kind::Setup, 120.0, 0.2, 0.1),
            ],
            steps: vec![step("carcass", 1.1), step("oil", 0.3)],
            ..drivers(&[])
        };
        let said = "Work on 'carcass' first: 10 % less time there, with its setup, adds 1.10 EUR to the hour of a single piece.";
        assert_eq!(opening(&with(1080.0)), [said]);
        assert_eq!(
            opening(&with(10.0)),
            [said, "One minute less for each piece adds 0.25 EUR."]
        );
        assert_eq!(opening(&with(0.5)), [said]);
        assert_eq!(table(&with(10.0)).grid(&look(100, true)).marked, Some(0));
        assert_eq!(nearly_as_good(&with(10.0)), None);
    }
}
