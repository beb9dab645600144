//! A scenario told back to whoever wrote it: what was understood, in tables and plain sentences.

mod guessed;
mod selling;

use self::guessed::guessed;
use self::selling::{channels, sale, seconds, selling_day};
use super::cautions;
use super::columns::{Columns, Declared, Table};
use super::figure::Cell;
use super::format::{
    amount, asked_of_100, confidence, count, hours, mean_count, money, nearest, plain_number, share, sizes_written,
    typed_money, weeks as in_weeks,
};
use super::grid::Grid;
use super::text::{Look, printable, wrap};
use super::words::{joined, number_of};
use crate::clean;
use crate::scenario::{
    Buyers, Finished, Hours, Jig, Leftover, Logged, Material, Scenario, Season, Spoiled, Spread, Steady, Step, Unsold,
    Varies,
};

const WEEKDAYS: [&str; 7] = [
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
];

/// The whole scenario as understood, at most `columns` wide where that can be.
pub fn scenario(scenario: &Scenario, columns: usize, unicode: bool) -> String {
    let look = Look {
        columns: columns.clamp(60, 110),
        unicode,
        terminal: true,
        ..Look::page(true)
    };
    let mut out = format!("{}\n\n", scenario.title);
    for sentence in opening(scenario) {
        out.push_str(&wrap(&sentence, look.columns));
    }
    for table in tables(scenario) {
        let grid = table.grid(&look);
        out.push_str(&format!("\n{}", grid.text(unicode, None)));
        for sentence in grid.explained() {
            out.push_str(&wrap(&sentence, look.columns));
        }
    }
    out.push('\n');
    for sentence in closing(scenario) {
        out.push_str(&wrap(&sentence, look.columns));
    }
    clean::lines(&out).into_owned()
}

/// The whole scenario as understood, for faces that set it themselves: sentences, tables, sentences.
pub fn told(scenario: &Scenario) -> Told {
    Told {
        opening: opening(scenario),
        tables: tables(scenario)
            .iter()
            .map(|table| table.grid(&Look::page(true)))
            .collect(),
        closing: closing(scenario),
    }
}

/// Steps, and materials and guesses where there are any.
pub fn tables(scenario: &Scenario) -> Vec<Box<dyn Declared + '_>> {
    let mut tables: Vec<Box<dyn Declared + '_>> = vec![Box::new(steps(scenario))];
    if !scenario.materials.is_empty() {
        tables.push(Box::new(materials(scenario)));
    }
    tables.extend(guessed(scenario));
    tables
}

/// A scenario told back, in the order it is read.
#[derive(Debug, Clone)]
pub struct Told {
    /// What is wanted and made, a sentence each.
    pub opening: Vec<String>,
    /// Steps, and materials and guesses where there are any.
    pub tables: Vec<Grid>,
    /// How it is sold and what else was said, a sentence each.
    pub closing: Vec<String>,
}

fn opening(scenario: &Scenario) -> Vec<String> {
    let mut said = vec![wanted(scenario), batch(scenario)];
    if scenario.pace != Spread::Certain(1.0) {
        let pace = plain(&scenario.pace);
        said.push(format!("The pace of a batch multiplies all its hands-on time: {pace}."));
    }
    said
}

fn closing(scenario: &Scenario) -> Vec<String> {
    let mut said = vec![sale(scenario)];
    said.extend(channels(scenario));
    said.extend(scenario.selling_days.iter().map(|day| selling_day(scenario, day)));
    said.extend(seconds(scenario));
    said.extend(besides_the_sale(scenario));
    said.push(shop(scenario));
    said.extend(helper(scenario));
    said.extend(offered(scenario));
    if !scenario.misfortunes.is_empty() {
        let names: Vec<&str> = scenario.misfortunes.iter().map(|m| m.name.as_str()).collect();
        said.push(format!(
            "`stress` also looks at what may go wrong: {}.",
            names.join("; ")
        ));
    }
    said.extend(cautions::of_scenario(scenario).into_iter().map(str::to_owned));
    let parts = crate::model::hours_by_part(scenario, 1);
    let there = if parts.selling_days > 0.0 {
        format!(", {} of it on selling days", hours(parts.selling_days))
    } else {
        String::new()
    };
    said.push(format!(
        "A single piece made alone takes {} of hands-on time on average{there}.",
        hours(parts.total())
    ));
    said
}

/// What a sheet for a buyer says besides prices and dates.
fn offered(scenario: &Scenario) -> Option<String> {
    let of = &scenario.offered;
    let said = [&of.maker, &of.contact, &of.description].into_iter().flatten();
    let said: Vec<String> = said.map(|text| format!("\"{text}\"")).collect();
    let stand = if said.len() == 1 { "stands" } else { "stand" };
    Some(format!("{} {stand} on a sheet for a buyer.", joined(&said)?))
}

fn wanted(scenario: &Scenario) -> String {
    format!(
        "You want {} an hour in at least {} batches, and you ask {} for a piece.",
        typed_money(scenario.target_per_hour, &scenario.currency),
        asked_of_100(scenario.confidence),
        typed_money(scenario.sale.price, &scenario.currency)
    )
}

fn batch(scenario: &Scenario) -> String {
    let list = sizes_written(&scenario.batch.sizes);
    let singly = scenario.batch.sizes == [1];
    let sizes = match scenario.batch.sizes.len() {
        1 if singly => "You make one piece at a time.".to_owned(),
        1 => format!("You look at a batch of {list}."),
        _ => format!("You look at batches of {list}."),
    };
    let spoiled = match scenario.batch.spoiled {
        Spoiled::Short => "A spoiled piece means one fewer to sell.",
        Spoiled::Remake => "A spoiled piece is made again.",
    };
    let once = scenario.steps.iter().any(|step| !step.once.is_zero());
    let runs = match scenario.batch.runs {
        1 if singly => "You make one of this design.".to_owned(),
        1 => "You make this design in one batch.".to_owned(),
        n => {
            let (n, what) = (count(n.into()), if singly { "pieces" } else { "batches" });
            let shared = if once {
                format!(" What is done once for the design is spread over all {n}.")
            } else {
                String::new()
            };
            format!("You make {n} {what} of this design.{shared}")
        }
    };
    format!("{sizes} {spoiled} {runs}")
}

/// One part of a step, or of what an order takes through a channel.
struct PartLine<'a> {
    /// The step, or the channel.
    of: &'a str,
    part: &'static str,
    /// Low, likely and high.
    three: [String; 3],
    besides: String,
}

fn steps(scenario: &Scenario) -> Table<'_, PartLine<'_>> {
    let rows = scenario.steps.iter().flat_map(part_lines);
    let logged = scenario
        .steps
        .iter()
        .flat_map(parts)
        .any(|(_, spread)| is_logged(spread));
    Table::new("Steps", &(), "", rows, part_columns("step", logged)).titled(true)
}

/// The columns of such rows: the step or channel under this head, its part, and what is said of that.
fn part_columns<'a>(head: &str, logged: bool) -> Columns<'a, PartLine<'a>> {
    let mut c: Columns<'_, PartLine<'_>> = Columns::default();
    c.said("of", |line| line.of.into()).plain(head).once().breaks(12);
    c.said("part", |line| line.part.into()).plain("part");
    three_columns(&mut c, logged, |line| &line.three);
    c.said("besides", |line| line.besides.as_str().into())
        .plain("besides")
        .breaks(14);
    c
}

/// What takes time at a step.
fn parts(step: &Step) -> [(&'static str, &Spread); 5] {
    [
        ("once", &step.once),
        ("setup", &step.setup),
        ("each", &step.each),
        ("per order", &step.per_order),
        ("wait", &step.wait),
    ]
}

/// Low, likely and high, with what a logged range says.
fn three_columns<'a, R: 'a>(c: &mut Columns<'a, R>, logged: bool, three: impl Fn(&R) -> &[String; 3] + Copy + 'a) {
    // What that means, where any is.
    let note = if logged {
        "Logged: each of so many logged values is equally likely; low, likely and high are the least, the middle one and the greatest."
    } else {
        ""
    };
    for (k, head) in ["low", "likely", "high"].into_iter().enumerate() {
        c.shown(head, move |line| three(line)[k].as_str().into())
            .head(head)
            .note(note);
    }
}

fn part_lines(step: &Step) -> Vec<PartLine<'_>> {
    let mut lines: Vec<PartLine<'_>> = parts(step)
        .into_iter()
        .filter(|(_, spread)| !spread.is_zero())
        .map(|(part, spread)| PartLine {
            of: &step.name,
            part,
            three: three(spread, if part == "wait" { clock } else { hands }),
            besides: shape(spread),
        })
        .collect();
    if lines.is_empty() {
        lines.push(PartLine {
            of: &step.name,
            part: "no time",
            three: Default::default(),
            besides: String::new(),
        });
    }
    // What the step says stands beside its first part.
    let first = &mut lines[0].besides;
    *first = all_of([besides(step), first.clone()], "; ");
    lines
}

/// Those texts that say anything, with this between them.
fn all_of<const N: usize>(texts: [String; N], between: &str) -> String {
    let said: Vec<String> = texts.into_iter().filter(|text| !text.is_empty()).collect();
    said.join(between)
}

fn hands(minutes: f64) -> String {
    hours(minutes / 60.0)
}

/// Hands-on time that is one figure of the file: not rounded.
fn as_written(minutes: f64) -> String {
    if minutes < 1.0 || minutes.fract() == 0.0 {
        hands(minutes)
    } else {
        format!("{} min", plain_number(minutes))
    }
}

/// Clock time; two days and more in days.
fn clock(minutes: f64) -> String {
    let days = minutes / (24.0 * 60.0);
    if days >= 2.0 {
        format!("{} d", mean_count(days))
    } else {
        hours(minutes / 60.0)
    }
}

/// What else a step says, in a few words.
fn besides(step: &Step) -> String {
    let mut said = Vec::new();
    if let Some(room) = step.room {
        said.push(format!("room for {}", count(room.into())));
    }
    if step.helped {
        said.push("done by your helper".to_owned());
    }
    if step.others > 0.0 {
        let others = confidence(step.others);
        said.push(format!("others fill {others} of a round and pay for it"));
    }
    if let Some(place) = &step.kept_in {
        said.push(format!("kept in \"{}\"", printable(place)));
    }
    if step.varies == Varies::Batch {
        said.push("alike for the whole batch".to_owned());
    }
    if step.opposite_share() > 0.0 {
        let batches = asked_of_100(step.opposite_share());
        said.push(format!("in {batches} batches a long setup goes with quick pieces"));
    }
    if let Some(learning) = step.learning {
        let by = learning
            .learned_by
            .map_or_else(String::new, |most| format!(", up to {}", count(most.into())));
        said.push(format!(
            "learning {}, {} made before{by}",
            confidence(learning.rate),
            count(learning.made_before.into())
        ));
    }
    if step.redo > 0.0 {
        said.push(format!("{} done again", confidence(step.redo)));
    }
    if step.spoil > 0.0 {
        said.push(format!("{} spoiled", confidence(step.spoil)));
    }
    if step.second > 0.0 {
        said.push(format!("{} become seconds", confidence(step.second)));
    }
    said.join("; ")
}

fn materials(scenario: &Scenario) -> Table<'_, (&Material, [String; 3])> {
    let price = |material: &Material| {
        three(&material.price, |v| match material.currency {
            None => amount(v, &scenario.currency),
            other => money(v, code(scenario, other)),
        })
    };
    let rows = scenario.materials.iter().map(|material| (material, price(material)));
    let mut c: Columns<'_, (&Material, [String; 3])> = Columns::default();
    c.said("material", move |line| line.0.name.as_str().into())
        .plain("material")
        .breaks(12);
    c.said("used", move |line| used(scenario, line.0).into())
        .plain("used")
        .breaks(12);
    three_columns(&mut c, scenario.materials.iter().any(|m| is_logged(&m.price)), |line| {
        &line.1
    });
    c.said("waste", move |line| match &line.0.waste {
        none if none.is_zero() => Cell::default(),
        waste => slashes(waste, share).into(),
    })
    .plain("waste")
    .breaks(10);
    c.said("besides", move |line| bought(scenario, line.0).into())
        .plain("besides")
        .breaks(14);
    Table::new(format!("Materials, {} per unit", scenario.currency), &(), "", rows, c).titled(true)
}

fn used(scenario: &Scenario, material: &Material) -> String {
    let only = material.channel.and_then(|k| scenario.channels.get(k));
    let order = only.map_or_else(
        || "an order".to_owned(),
        |channel| format!("an order through \"{}\"", printable(&channel.name)),
    );
    let amounts = [
        (material.per_piece, "a piece"),
        (material.per_batch, "a batch"),
        (material.per_round, "a round"),
        (material.per_order, order.as_str()),
    ];
    let some = amounts.iter().filter(|(amount, _)| *amount != 0.0);
    let said: Vec<String> = some
        .map(|(amount, per)| format!("{amount} {} {per}", material.unit))
        .collect();
    if said.is_empty() {
        "nothing".to_owned()
    } else {
        said.join(", ")
    }
}

fn bought(scenario: &Scenario, material: &Material) -> String {
    let mut said = Vec::new();
    if matches!(material.price, Spread::Logged(_)) {
        said.push(format!("price: {}", shape(&material.price)));
    }
    if let Some(step) = scenario.steps.get(material.at).filter(|_| material.at > 0) {
        said.push(format!("at {}", step.name));
    }
    if let Some(pack) = material.pack {
        said.push(match material.leftover {
            Leftover::Keep => format!("packs of {pack}, the rest is kept"),
            Leftover::Lost => format!("whole packs of {pack} are charged"),
        });
    }
    for tier in &material.breaks {
        let price = slashes(&tier.price, |v| amount(v, &scenario.currency));
        said.push(format!("from {} at {price}", tier.from));
    }
    if let Some(paid) = material.paid {
        said.push(format!("you paid {}", amount(paid, &scenario.currency)));
    }
    said.join("; ")
}

/// The code of a currency: the scenario's own where none is named.
fn code(scenario: &Scenario, currency: Option<usize>) -> &str {
    currency
        .and_then(|k| scenario.currencies.get(k))
        .map_or(&scenario.currency, |other| &other.code)
}

/// Other currencies, season or steady sale, bench hours and jigs, a sentence each.
fn besides_the_sale(scenario: &Scenario) -> Vec<String> {
    let mut said: Vec<String> = scenario
        .currencies
        .iter()
        .map(|other| {
            let (one, worth, own) = (&other.code, plain(&other.rate), &scenario.currency);
            format!("1 {one} is worth {worth} {own}, the same for a whole batch.")
        })
        .collect();
    said.extend(scenario.season.iter().flat_map(|season| about_season(scenario, season)));
    said.extend(scenario.steady.into_iter().flat_map(about_steady_sale));
    said.extend(scenario.hours.iter().flat_map(about_hours));
    said.extend(scenario.jigs.iter().map(|jig| about_jig(scenario, jig)));
    said
}

/// What buyers want before a season ends, how they answer to prices, and what becomes of what is left over.
fn about_season(scenario: &Scenario, season: &Season) -> Vec<String> {
    let own = |value: f64| money(value, &scenario.currency);
    let mut said = vec![match &season.buyers {
        buyers if buyers.nobody() => "Nobody buys otherwise than on selling days.".to_owned(),
        Buyers::Range(spread) => format!("Before the season ends, buyers want {}.", so_many(spread, "pieces")),
        Buyers::Seen(seen) => format!(
            "Before the season ends, buyers want as many pieces as in one of {} earlier seasons ({}).",
            count(seen.len() as u64),
            seen.iter()
                .take(12)
                .map(|n| mean_count(*n))
                .collect::<Vec<_>>()
                .join(", ")
        ),
    }];
    if scenario.channels.iter().any(|channel| channel.on_return.is_some()) && !season.buyers.nobody() {
        said.push("Pieces that come back unsold from sale or return count among these.".to_owned());
    }
    if season.elasticity > 0.0 {
        said.push(format!(
            "At a price 10 % above {} buyers{} want {} fewer, at one 10 % below it {} more (elasticity {}).",
            own(season.asked_at),
            if scenario.selling_days.is_empty() {
                ""
            } else {
                ", those on selling days too,"
            },
            share(1.0 - season.at_price(1.1 * season.asked_at)),
            share(season.at_price(0.9 * season.asked_at) - 1.0),
            mean_count(season.elasticity)
        ));
        let price = scenario.sale.price;
        if price != season.asked_at {
            said.push(format!(
                "So at your price of {} they want {} of what they want at {}.",
                own(price),
                share(season.at_price(price)),
                own(season.asked_at)
            ));
        }
    }
    said.push(match season.leftover {
        Unsold::Clearance(fetched) => format!("A piece that is left over fetches {}.", own(fetched)),
        Unsold::Carry { hold, weeks } => format!(
            "A piece that is left over is kept for {} until the next season, which costs {} of its worth a year.",
            in_weeks(weeks),
            confidence(hold)
        ),
    });
    said
}

/// What buyers want of a piece that sells all year, and what keeping one costs.
fn about_steady_sale(steady: Steady) -> Vec<String> {
    let (many, hold) = (mean_count(steady.per_week), confidence(steady.hold));
    let pieces = if many == "1" { "piece" } else { "pieces" };
    vec![
        format!("Buyers want {many} {pieces} a week. Keeping a finished piece costs {hold} of its worth a year."),
        match steady.finished {
            Finished::Together => "All pieces of a batch are finished together.".to_owned(),
            Finished::Singly => "Pieces are finished one by one.".to_owned(),
        },
    ]
}

/// How long one is at the bench, and from when.
fn about_hours(hours: &Hours) -> Vec<String> {
    let week = hands(hours.week() * 60.0);
    let off = match hours.off.as_slice() {
        [] => String::new(),
        [(first, last)] if first == last => ", but for one day off".to_owned(),
        [_] => ", but for one stretch of dates off".to_owned(),
        several => format!(", but for {} stretches of dates off", count(several.len() as u64)),
    };
    let mut said = vec![format!("You are at the bench for {week} a week{off}.")];
    let begins = WEEKDAYS.iter().zip(hours.opens).filter_map(|(day, minute)| {
        let minute = minute? as u32;
        Some(format!("at {:02}:{:02} on {day}", minute / 60, minute % 60))
    });
    let begins = begins.collect::<Vec<_>>();
    let others = begins.len() < hours.days.iter().filter(|day| **day > 0.0).count();
    let others = if others {
        "; of the other days the file does not say when"
    } else {
        ""
    };
    said.extend(joined(&begins).map(|list| format!("You begin {list}{others}.")));
    said
}

/// What a jig costs, changes and how long it lasts.
fn about_jig(scenario: &Scenario, jig: &Jig) -> String {
    let own = |value: f64| money(value, &scenario.currency);
    let step = &scenario.steps[jig.step];
    let mut does = Vec::new();
    for (part, change, time) in [("setup", jig.setup, &step.setup), ("each", jig.each, &step.each)] {
        let average = if change.alike(time).is_some() {
            ""
        } else {
            " on average"
        };
        if change.factor != 1.0 {
            does.push(format!("{part} times {}", plain_number(change.factor)));
        } else if change.minutes < 0.0 {
            does.push(format!("{part} {} less{average}", as_written(-change.minutes)));
        } else if change.minutes > 0.0 {
            does.push(format!("{part} {} more{average}", as_written(change.minutes)));
        }
    }
    if let Some(room) = jig.room {
        does.push(format!("room for {}", count(room.into())));
    }
    let cost = if jig.cost > 0.0 {
        own(jig.cost)
    } else {
        "nothing".to_owned()
    };
    let name = &jig.name;
    let builds = if jig.build.is_zero() {
        format!("The jig \"{name}\" costs {cost} and takes no time to build.")
    } else {
        format!(
            "The jig \"{name}\" costs {cost} and takes {} to build.",
            set_off(three_in_words(&jig.build, hands))
        )
    };
    let gives = format!("It changes \"{}\": {}.", step.name, does.join(", "));
    let lasts = jig.lasts.map_or_else(String::new, |pieces| {
        format!(" It lasts {}.", number_of(pieces.into(), "piece", "pieces"))
    });
    format!("{builds} {gives}{lasts}")
}

/// A range as it stands amid a sentence: "3 to 5 min, likely 4 min," closes what its comma opens.
fn set_off(range: String) -> String {
    if range.contains(", ") { range + "," } else { range }
}

/// "12 pieces", "1 to 4 pieces, likely 1": in whole ones, as nobody counts on half a buyer.
fn so_many(spread: &Spread, what: &str) -> String {
    let [low, likely, high] = three(spread, nearest);
    let note = match shape(spread) {
        note if note.is_empty() => note,
        note => format!(" ({note})"),
    };
    match (low.is_empty(), likely.is_empty()) {
        (true, _) => format!("{likely} {what}{note}"),
        (false, true) => format!("{low} to {high} {what}{note}"),
        (false, false) => format!("{low} to {high} {what}, likely {likely}{note}"),
    }
}

fn shop(scenario: &Scenario) -> String {
    match scenario.shop.cost_per_hour() {
        0.0 => "The shop costs nothing besides.".to_owned(),
        cost => {
            let cost = money(cost, &scenario.currency);
            format!("The shop costs {cost} for every hands-on hour.")
        }
    }
}

/// Who does which steps for what.
fn helper(scenario: &Scenario) -> Option<String> {
    let wage = money(scenario.helper?.wage, &scenario.currency);
    let steps = scenario.steps.iter().filter(|step| step.helped);
    let names: Vec<String> = steps.map(|step| format!("\"{}\"", printable(&step.name))).collect();
    Some(match joined(&names) {
        Some(steps) => format!("A helper does {steps} for {wage} an hour, in none of your hours."),
        None => format!("A helper would cost {wage} an hour, and does no step."),
    })
}

/// Low, likely and high as text; a certain value stands in the middle; a shape without a likely value has none.
fn three(spread: &Spread, text: impl Fn(f64) -> String) -> [String; 3] {
    match spread {
        Spread::Certain(value) => [String::new(), text(*value), String::new()],
        Spread::Triangular(t) | Spread::Pert(t) => [text(t.low), text(t.likely), text(t.high)],
        Spread::Uniform { low, high } => [text(*low), String::new(), text(*high)],
        Spread::Logged(_) => {
            let (least, greatest) = spread.limits();
            [text(least), text(spread.quantile(0.5)), text(greatest)]
        }
        Spread::Lognormal { .. } => [
            text(spread.quantile(0.1)),
            text(spread.quantile(0.5)),
            text(spread.quantile(0.9)),
        ],
    }
}

fn shape(spread: &Spread) -> String {
    match spread {
        Spread::Certain(_) | Spread::Triangular(_) => String::new(),
        Spread::Pert(_) => "pert".to_owned(),
        Spread::Uniform { .. } => "all equally likely".to_owned(),
        Spread::Lognormal { .. } => "lognormal: 10 of 100 lie below, 10 above".to_owned(),
        Spread::Logged(log) => one_of(log),
    }
}

/// What a draw from logged values is: "one of 12 logged".
fn one_of(log: &Logged) -> String {
    format!("one of {} logged", count(log.values().len() as u64))
}

const fn is_logged(spread: &Spread) -> bool {
    matches!(spread, Spread::Logged(_))
}

fn three_in_words(spread: &Spread, text: impl Fn(f64) -> String) -> String {
    let [low, likely, high] = three(spread, text);
    if let Spread::Logged(log) = spread {
        return format!(
            "{low} to {high}, half at most {likely} ({}, each equally likely)",
            one_of(log)
        );
    }
    match (low.is_empty(), likely.is_empty()) {
        (true, _) => likely,
        (false, true) => format!("{low} to {high}"),
        (false, false) => format!("{low} to {high}, likely {likely}"),
    }
}

/// As it is written in a scenario: `15 % / 25 % / 40 %`.
fn slashes(spread: &Spread, text: impl Fn(f64) -> String) -> String {
    let [low, likely, high] = three(spread, &text);
    if let Spread::Logged(log) = spread {
        return format!("{low} to {high} ({}, each equally likely)", one_of(log));
    }
    all_of([low, likely, high], " / ")
}

/// A plain number or range of them.
fn plain(spread: &Spread) -> String {
    let words = three_in_words(spread, plain_number);
    match shape(spread) {
        // Its words have said so.
        _ if matches!(spread, Spread::Logged(_)) => words,
        note if note.is_empty() => words,
        note => format!("{words} ({note})"),
    }
}

#[cfg(test)]
mod tests;
