//! The answer about jigs in words, tables, JSON and CSV.

mod plot;

use super::cautions;
use super::columns::{Columns, Declared, MIDDLE, SHARE, Table, Unit};
use super::figure::{self, Cell};
use super::format::{asked_of_100, count, counted, mean_count, money, money_interval, of_100, only, typed_money};
use super::page::Page;
use super::plot::Plot;
use super::words::{self, batch_of, batches_of, capital, joined, made, one_or_count, you_earn};
use super::{Render, text};
use crate::questions::jig::{AtSize, Jigs, Payback, Set, YearLimit};

/// Jigs that are told of beside what is advised, at most.
const OTHERS: usize = 4;

/// Sets in the table, at most.
const ROWS: usize = 12;

/// The axis of pieces goes no further than so many times what is planned and what the first set needs; the rest is said beside
/// its row.
const FARTHEST: f64 = 10.0;

/// What has no number of pieces after which it is paid for.
const NEVER_PAID: &str = "never";

/// Paid within the life in fewer cases than this is a gamble (assumption: as likely as not).
const EVEN: f64 = 0.5;

impl Render for Jigs {
    fn page(&self, look: &text::Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self),
            why: why(self),
            tables: self.grids(look),
            more: more(self),
            small: small_print(self),
            care: care(self),
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(sets(self, usize::MAX)))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        vec![Box::new(sets(self, ROWS)), Box::new(sizes(self))]
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// The names of a set: "peg drilling jig and second set of clamps".
pub fn names(answer: &Jigs, set: &Set) -> String {
    let jigs = set.jigs.iter().filter_map(|k| answer.jigs.get(*k));
    let list: Vec<String> = jigs.map(|jig| text::printable(&jig.name)).collect();
    joined(&list).unwrap_or_default()
}

/// How a set stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stand {
    /// It adds, and pays within its life as surely as the target is asked for.
    Pays,
    /// It adds on average, but not so surely.
    Gamble,
    /// It saves something, but not what it costs.
    Short,
    /// A batch is no better with it.
    Useless,
}

fn stand(answer: &Jigs, set: &Set) -> Stand {
    // Where one that lasts for ever would pay, but only after more pieces than are planned, the plan is too short and the jig not too dear.
    let dear = set.adds_a_run.mean <= 0.0 && !(set.life_pieces.is_none() && planned_too_few(answer, set));
    if set.saving.mean <= 1e-9 * answer.rate.mean.abs().max(1.0) {
        Stand::Useless
    } else if dear || set.payback.within_life.share < EVEN {
        Stand::Short
    } else if set.payback.within_life.share < answer.confidence {
        Stand::Gamble
    } else {
        Stand::Pays
    }
}

const PAYS: &str = "it pays for itself";
const PAY: &str = "they pay for themselves";

/// What is said of a set of one jig, or else what is said of several.
const fn spoken(set: &Set, one: &'static str, several: &'static str) -> &'static str {
    if set.jigs.len() == 1 { one } else { several }
}

/// Build it or not, and what decides it: at most three sentences.
pub fn opening(answer: &Jigs) -> Vec<String> {
    let Some(best) = answer.sets.first() else {
        return Vec::new();
    };
    let name = names(answer, best);
    let does = match paid_after(answer, best) {
        None => spoken(best, "it costs nothing", "they cost nothing").to_owned(),
        Some(after) => format!("{} after {after}", spoken(best, PAYS, PAY)),
    };
    match (stand(answer, best), planned_too_few(answer, best)) {
        (Stand::Pays, false) => vec![
            format!("Build the {name}{}: {does}.", spoken(best, "", " together")),
            in_plan(answer, best).unwrap_or_else(|| adds(answer, best)),
        ],
        (Stand::Gamble, false) => vec![
            format!("Build the {name} only if you can take the risk: {does}."),
            format!(
                "Before the end of its life it has done so in {} cases; you need {}.",
                of_100(best.payback.within_life.share),
                asked_of_100(answer.confidence)
            ),
            adds(answer, best),
        ],
        (Stand::Pays | Stand::Gamble, true) => too_few(answer, best),
        (Stand::Short | Stand::Useless, _) if answer.sets.len() > 1 => [
            vec!["Build none of these as things stand.".to_owned()],
            alone(answer, best),
        ]
        .concat(),
        (Stand::Short | Stand::Useless, _) => alone(answer, best),
    }
}

/// How sure that is, and what of the others.
fn why(answer: &Jigs) -> Vec<String> {
    let Some(best) = answer.sets.first() else {
        return Vec::new();
    };
    let mut said = Vec::new();
    match (stand(answer, best), planned_too_few(answer, best)) {
        (Stand::Pays | Stand::Gamble, too_few) => {
            said.extend(spread(&best.payback));
            said.extend(off_the_hour(answer, best));
            if !too_few {
                said.extend(match in_plan(answer, best) {
                    Some(_) => Some(adds(answer, best)),
                    None => planned_of_life(answer, best),
                });
            }
            if too_few {
                said.push(with_more(answer, best));
            }
        }
        (Stand::Short | Stand::Useless, _) => said.extend(elsewhere(answer, 0)),
    }
    for (_, set) in others(answer, best) {
        match (stand(answer, set), planned_too_few(answer, set)) {
            (Stand::Pays | Stand::Gamble, true) => said.extend(too_few(answer, set)),
            (Stand::Pays | Stand::Gamble, false) => {
                let does = match paid_after(answer, set) {
                    Some(after) => format!("would pay for itself after {after}"),
                    None => "costs nothing".to_owned(),
                };
                let name = names(answer, set);
                said.push(format!("The {name} alone {does}, but adds nothing to what is better."));
            }
            (Stand::Short | Stand::Useless, _) => said.extend(alone(answer, set)),
        }
    }
    said
}

/// Other sizes at which those pay that do not at this one.
fn more(answer: &Jigs) -> Vec<String> {
    let Some(best) = answer.sets.first() else {
        return Vec::new();
    };
    others(answer, best)
        .filter(|(_, set)| matches!(stand(answer, set), Stand::Short | Stand::Useless))
        .flat_map(|(k, _)| elsewhere(answer, k))
        .collect()
}

/// Jigs that are not among what is advised, each by its place among the sets.
fn others<'a>(answer: &'a Jigs, best: &Set) -> impl Iterator<Item = (usize, &'a Set)> {
    let alone = |(_, set): &(usize, &Set)| set.jigs.len() == 1 && !best.jigs.contains(&set.jigs[0]);
    answer.sets.iter().enumerate().filter(alone).take(OTHERS)
}

/// Said of one that would pay, but later than is planned.
fn too_few(answer: &Jigs, set: &Set) -> Vec<String> {
    let name = names(answer, set);
    let plan = planned(answer, answer.size);
    // One batch is the plan also where `runs` was left out, though the sale goes on all year.
    let paid = set.payback.pieces[1].map_or(f64::INFINITY, f64::ceil);
    let goes_on = |year: &f64| answer.planned_runs == 1 && paid <= year * f64::from(answer.size);
    let year = year_that_sells(answer).filter(goes_on);
    if let Some((year, after)) = year.zip(paid_after(answer, set)) {
        let pays = spoken(set, PAYS, PAY);
        let of = if answer.size == 1 { "pieces" } else { "batches" };
        return vec![
            format!("Build the {name} if you go on making these: {pays} after {after}."),
            format!(
                "`runs` of [batch] plans only {plan}, and a year of your steady sale asks for {} {of}.",
                mean_count(year)
            ),
        ];
    }
    let mut said = vec![match paid_after(answer, set) {
        Some(after) => {
            let pays = spoken(set, PAYS, PAY);
            format!("Do not build the {name} yet: {pays} only after {after}.")
        }
        None => format!("Do not build the {name} yet."),
    }];
    let chance = set.payback.within_plan.share;
    said.push(if chance > 0.0 {
        format!("You plan {plan}, which is enough in {} cases.", of_100(chance))
    } else {
        format!("You plan only {plan}.")
    });
    said
}

/// What a set is good for beyond what is planned.
fn with_more(answer: &Jigs, set: &Set) -> String {
    if set.life_pieces.is_some() {
        return adds(answer, set);
    }
    let (one, more) = if answer.size == 1 {
        ("piece", "pieces")
    } else {
        ("batch", "batches")
    };
    // Spread over the plan it was judged by already; a year shows what it does where there is no such end.
    match (set.adds_a_year, year_that_sells(answer)) {
        (Some(year), Some(runs)) if year > 0.0 => format!(
            "If you made more, it would add {} in a first year of {}.",
            money(year, &answer.currency),
            counted(mean_count(runs), one, more)
        ),
        _ => format!(
            "If you made more, it would save {} with each {one}.",
            money(set.saving.mean, &answer.currency)
        ),
    }
}

/// The batches of a year, where it is known how many are asked for. Bench hours alone do not say that a year of them would sell.
fn year_that_sells(answer: &Jigs) -> Option<f64> {
    answer
        .runs_a_year
        .filter(|_| answer.year_limit == Some(YearLimit::Demand))
}

/// Another size at which a set pays that does not at the asked one, where it earns more with it than any size does without.
fn elsewhere(answer: &Jigs, set: usize) -> Vec<String> {
    let found = || {
        let at = better_size(answer, set)?;
        Some((at, at.sets.get(set)?, best_without(answer)?))
    };
    let Some((at, with, bare)) = found() else {
        return Vec::new();
    };
    let set = &answer.sets[set];
    let (name, pays) = (names(answer, set), spoken(set, "pays for itself", "pay for themselves"));
    let (after, earns) = (after(&with.payback), you_earn(with.rate, &answer.currency));
    let made = match at.size {
        1 => "For pieces made one at a time,".to_owned(),
        n => format!("In batches of {}", count(n.into())),
    };
    let most = if bare.rate < 0.0 { "lose least" } else { "earn most" };
    let mut said = vec![
        format!("{made} the {name} {pays} after {after}, and you {earns} an hour."),
        format!(
            "Without, you {most} when you make {} at a time, {} an hour.",
            one_or_count(bare.size),
            money(bare.rate.abs(), &answer.currency)
        ),
    ];
    if with.payback.within_plan.share < answer.confidence {
        said.push(format!("You plan only {}.", planned(answer, at.size)));
    }
    said
}

/// The size at which an hour earns most without any; of equals the smallest.
fn best_without(answer: &Jigs) -> Option<&AtSize> {
    let sizes = answer.by_size.iter().rev();
    sizes.max_by(|a, b| a.rate.total_cmp(&b.rate))
}

/// The size at which an hour earns most with a set, if that is beyond simulation error more than at any size without it and the set
/// pays there as surely as asked.
fn better_size(answer: &Jigs, set: usize) -> Option<&AtSize> {
    let bare = best_without(answer)?;
    let worth = |at: &AtSize| {
        let with = at.sets.get(set)?;
        let surely = with.payback.within_life.share >= answer.confidence;
        (at.size != answer.size && surely && with.beats(bare)).then_some(with.rate)
    };
    let some = answer.by_size.iter().rev();
    some.filter_map(|at| Some((at, worth(at)?)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(at, _)| at)
}

/// "one piece", "12 pieces".
fn so_many(pieces: u64) -> String {
    if pieces == 1 {
        "one piece".to_owned()
    } else {
        format!("{} pieces", count(pieces))
    }
}

/// What is planned, in batches of `size`: "12 pieces", "one batch of 4", "3 batches of 4".
fn planned(answer: &Jigs, size: u32) -> String {
    match (answer.planned_runs, size) {
        (_, 1) => so_many(answer.planned_pieces(size)),
        (1, _) => format!("one batch of {}", count(size.into())),
        (batches, _) => format!("{} batches of {}", count(batches.into()), count(size.into())),
    }
}

/// "25 pieces, that is 3 batches of 9"; `None` of one that costs nothing.
fn paid_after(answer: &Jigs, set: &Set) -> Option<String> {
    if set.outlay.mean <= 0.0 {
        return None;
    }
    let (pieces, size) = (after(&set.payback), count(answer.size.into()));
    Some(match set.payback.runs[1] {
        Some(batches) if answer.size > 1 && batches == 1.0 => format!("{pieces}, that is one batch of {size}"),
        Some(batches) if answer.size > 1 => format!("{pieces}, that is {} batches of {size}", mean_count(batches)),
        _ => pieces,
    })
}

/// "31 pieces".
fn after(payback: &Payback) -> String {
    match payback.pieces[1] {
        Some(middle) => so_many(middle.ceil() as u64),
        None => "more pieces than can be counted on".to_owned(),
    }
}

/// How far the pieces until it has paid may lie apart.
fn spread(payback: &Payback) -> Option<String> {
    let whole = |v: f64| count(v.ceil() as u64);
    match payback.pieces {
        [Some(low), Some(_), Some(high)] if whole(low) != whole(high) => {
            let [low, high] = [low, high].map(whole);
            Some(format!(
                "In 80 of 100 cases the cost is back after {low} to {high} pieces."
            ))
        }
        [Some(low), Some(_), None] => {
            let low = whole(low);
            Some(format!(
                "In 80 of 100 cases the cost is back only after {low} pieces or many more."
            ))
        }
        _ => None,
    }
}

/// What it does to the hour; what it takes off is not said to be added.
fn adds(answer: &Jigs, set: &Set) -> String {
    let change = set.adds_to_hour.mean;
    let (amount, over) = (money(change.abs(), &answer.currency), over(answer, set));
    if change < 0.0 {
        format!("{} {amount} off the hour {over}.", spoken(set, "It takes", "They take"))
    } else {
        format!("{} {amount} to the hour {over}.", spoken(set, "It adds", "They add"))
    }
}

/// Why what pays takes something off the hour: the hours saved are counted at a target that is not earned.
fn off_the_hour(answer: &Jigs, set: &Set) -> Option<String> {
    (set.adds_to_hour.mean < 0.0 && answer.rate.mean < answer.target).then(|| {
        format!(
            "Hours saved count at the {} you want, which you do not earn.",
            typed_money(answer.target, &answer.currency)
        )
    })
}

/// How many are planned of those it lasts, where they are fewer.
fn planned_of_life(answer: &Jigs, set: &Set) -> Option<String> {
    let pieces = answer.planned_pieces(answer.size);
    set.life_pieces
        .filter(|life| pieces < u64::from(*life))
        .map(|_| format!("You plan {}.", planned(answer, answer.size)))
}

/// What it leaves of what is planned, where that is less than it lasts.
fn in_plan(answer: &Jigs, set: &Set) -> Option<String> {
    let ahead = set.ahead_after_plan.mean;
    (planned_of_life(answer, set).is_some() && ahead > 0.0).then(|| {
        format!(
            "Over the {} that you plan, {} {} more than {}.",
            planned(answer, answer.size),
            spoken(set, "it saves", "they save"),
            money(ahead, &answer.currency),
            spoken(set, "it costs", "they cost"),
        )
    })
}

/// "over the 400 pieces it lasts".
fn over(answer: &Jigs, set: &Set) -> String {
    match set.life_pieces {
        Some(pieces) if set.jigs.len() == 1 => format!("over the {} it lasts", so_many(pieces.into())),
        Some(_) if endless(answer, set) => {
            format!("over their lives, or {} where there is no end", planned_batches(answer))
        }
        Some(_) => "over their lives".to_owned(),
        None => format!("over {}", planned_batches(answer)),
    }
}

/// Whether a jig of the set lasts for ever.
fn endless(answer: &Jigs, set: &Set) -> bool {
    let lasts = set.jigs.iter().filter_map(|k| answer.jigs.get(*k));
    lasts.into_iter().any(|jig| jig.lasts.is_none())
}

/// Whether any set has such a jig.
pub(super) fn some_endless(answer: &Jigs) -> bool {
    answer.sets.iter().any(|set| endless(answer, set))
}

/// "the 4 batches you plan".
fn planned_batches(answer: &Jigs) -> String {
    let n = count(answer.planned_runs.into());
    match (answer.planned_runs, answer.size) {
        (1, 1) => "the one piece you plan".to_owned(),
        (_, 1) => format!("the {n} pieces you plan"),
        (1, _) => "the one batch you plan".to_owned(),
        _ => format!("the {n} batches you plan"),
    }
}

/// Whether the plan is too short for it to pay as surely as asked.
fn planned_too_few(answer: &Jigs, set: &Set) -> bool {
    let planned = answer.planned_pieces(answer.size);
    let life = set.life_pieces.map_or(u64::MAX, u64::from);
    planned < life && set.payback.within_plan.share < answer.confidence
}

/// What is said of a set that is not worth building.
fn alone(answer: &Jigs, set: &Set) -> Vec<String> {
    let name = names(answer, set);
    let (batch, batches) = (batch_of(answer.size), batches_of(answer.size, "single pieces"));
    let saving = set.saving.mean;
    if stand(answer, set) == Stand::Useless {
        let same = saving.abs() <= 1e-9 * answer.rate.mean.abs().max(1.0);
        let less = money(-saving, &answer.currency);
        let only_time = same && set.hours_saved.mean.abs() > 1e-9;
        return vec![if only_time {
            let saves = spoken(set, "it saves", "they save");
            format!("Do not build the {name} for {batches}: {saves} only time, and you want nothing for an hour.")
        } else if same {
            let they = spoken(set, "it", "they");
            format!("Do not build the {name} for {batches}: {they} would change nothing.")
        } else {
            let them = spoken(set, "it", "them");
            format!("Do not build the {name}: with {them} {batch} leaves {less} less.")
        }];
    }
    vec![
        format!(
            "Do not build the {name}: {batch} saves {}, and building costs {}.",
            money(saving, &answer.currency),
            money(set.outlay.mean, &answer.currency)
        ),
        falls_short(answer, set),
    ]
}

/// How often one that falls short pays for itself after all.
fn falls_short(answer: &Jigs, set: &Set) -> String {
    let lasts = spoken(set, "it lasts", "they last");
    let (within, chance) = match set.life_pieces {
        Some(pieces) => (
            format!("the {} {lasts}", so_many(pieces.into())),
            set.payback.within_life.share,
        ),
        None => (planned_batches(answer), set.payback.within_plan.share),
    };
    if chance > 0.0 {
        let often = only(&of_100(chance));
        format!("{} within {within} in {often} cases.", capital(spoken(set, PAYS, PAY)))
    } else {
        let not = spoken(set, "It does not pay for itself", "They do not pay for themselves");
        format!("{not} within {within}.")
    }
}

/// One sentence for a chart.
pub(crate) fn headline(answer: &Jigs) -> String {
    opening(answer).into_iter().next().unwrap_or_default()
}

fn care(answer: &Jigs) -> String {
    let steps = answer.jigs.iter().map(|jig| jig.step.as_str());
    format!(
        "{}Never save setup by leaving a guard off; a jig holds the piece and keeps hands away from the cutter. {}",
        cautions::of_steps(steps),
        words::BEFORE_TAX
    )
}

fn pieces(value: Option<f64>) -> String {
    value.map_or_else(|| NEVER_PAID.to_owned(), |v| count(v.ceil() as u64))
}

fn pieces_cell(value: Option<f64>) -> Cell {
    value.map_or_else(|| NEVER_PAID.into(), |v| figure::count(v.ceil() as u64))
}

/// Jigs by number where a row holds several: `1 + 2`.
fn row_name(answer: &Jigs, set: &Set) -> String {
    if set.jigs.len() == 1 {
        format!("{} {}", numbers(set, ""), names(answer, set))
    } else {
        numbers(set, " + ")
    }
}

fn numbers(set: &Set, between: &str) -> String {
    let each: Vec<String> = set.jigs.iter().map(|k| (k + 1).to_string()).collect();
    each.join(between)
}

/// What each set comes to. All columns are the CSV.
fn sets(answer: &Jigs, most: usize) -> Table<'_, &Set> {
    let first = answer
        .sets
        .first()
        .filter(|set| matches!(stand(answer, set), Stand::Pays | Stand::Gamble));
    let (rows, columns) = (answer.sets.iter().take(most), of_set(answer));
    Table::new("When it has paid for itself", answer, "sets", rows, columns).main(move |set| first == Some(set))
}

fn of_set(answer: &Jigs) -> Columns<'_, &Set> {
    let currency = answer.currency.as_str();
    let (money, hourly) = (Unit::Money(currency), Unit::Hourly(currency));
    let signed = move |v: f64| figure::signed_amount(v, currency);
    let tenths = [10, 50, 90];
    let mut c: Columns<'_, &Set> = Columns::default();
    c.said("what", move |set| row_name(answer, set).into())
        .plain("what is\nbuilt")
        .breaks(12);
    c.text("jigs", move |set| names(answer, set));
    c.of_all("size", Unit::Count);
    c.fields("outlay", MIDDLE, money).plain(format!("costs\n{currency}"));
    c.field("saving.mean", money)
        .named("saving_a_run")
        .written(signed)
        .plain(format!("saves\n{currency}\na batch"));
    c.field("saving.se", money).named("saving_a_run_se");
    c.field("hours_saved.mean", Unit::Hours)
        .named("hours_saved_a_run")
        .plain("saves\ntime\na batch")
        .spare(1);
    for (k, q) in tenths.into_iter().enumerate() {
        let paid = c.shown(format!("after {q}"), move |set| pieces_cell(set.payback.pieces[k]));
        paid.head(format!("in\n{q} %"))
            .under("pieces until paid")
            .note("Pieces until paid: in so many of 100 cases no more are needed.");
        if q == 50 {
            paid.decides();
        }
    }
    for what in ["pieces", "runs"] {
        for (k, q) in tenths.into_iter().enumerate() {
            c.field(format!("payback.{what}[{k}]"), Unit::Mean)
                .named(format!("paid_after_{what}_p{q}"));
        }
    }
    c.field("life_pieces", Unit::Count);
    c.shown("within life", move |set| match set.life_pieces {
        Some(_) => Unit::Share.cell(set.payback.within_life.share),
        None => "no end".into(),
    })
    .plain("paid for\nbefore\nworn out");
    c.called("payback.within_life", "within_life", SHARE, Unit::Share)
        .named("within_life");
    c.field("payback.within_plan.share", Unit::Share).named("within_plan");
    c.field("rate.mean", hourly).named("rate");
    c.field("rate.se", hourly);
    c.field("adds_to_hour.mean", hourly)
        .named("adds_to_hour")
        .written(signed)
        .plain(format!("adds\n{currency}\nan hour"))
        .decides();
    c.field("low", hourly).named("adds_to_hour_low");
    c.field("high", hourly).named("adds_to_hour_high");
    c.field("adds_a_run.mean", money).named("adds_a_run");
    c.field("ahead_after_plan.mean", money)
        .named("ahead_after_plan")
        .written(signed)
        .plain(format!("{currency} ahead\nafter\nyour plan"));
    c.field("ahead_after_plan.se", money).named("ahead_after_plan_se");
    of_year(&mut c, answer);
    c
}

/// What a set adds a year, where batches a year are known.
fn of_year<'a>(c: &mut Columns<'a, &'a Set>, answer: &'a Jigs) {
    let currency = answer.currency.as_str();
    let money = Unit::Money(currency);
    let year = c
        .field("adds_a_year", money)
        .written(move |v| figure::signed_amount(v, currency))
        .or("not known");
    if year_that_sells(answer).is_some() {
        year.plain(if some_endless(answer) {
            format!("adds\n{currency} in\nyear 1")
        } else {
            format!("adds\n{currency}\na year")
        });
    }
    c.field("adds_a_year_se", money);
}

/// The first few sets by batch size.
fn sizes(answer: &Jigs) -> Table<'_, &AtSize> {
    let hourly = Unit::Hourly(answer.currency.as_str());
    let followed = answer.by_size.first().map_or(0, |at| at.sets.len());
    let mut c: Columns<'_, &AtSize> = Columns::default();
    c.field("size", Unit::Count).plain("pieces\na batch");
    let earns = format!("an hour earns {}", answer.currency);
    c.field("rate", hourly).plain("without\nany").under(&earns);
    let with = |k: usize, set: &Set| {
        (
            format!("with\n{}", numbers(set, "+")),
            u8::try_from(k).unwrap_or(u8::MAX),
        )
    };
    let sets = || answer.sets.iter().take(followed).enumerate();
    for (k, set) in sets() {
        let (with, rank) = with(k, set);
        c.field(format!("sets[{k}].rate"), hourly)
            .plain(with)
            .under(&earns)
            .spare(rank);
    }
    for (k, set) in sets() {
        let (with, rank) = with(k, set);
        c.shown(format!("{k} paid"), move |at| pieces_cell(at.sets[k].payback.pieces[1]))
            .head(with)
            .under("pieces until paid")
            .note("Pieces until paid, by batch size: in half of all cases no more are needed.")
            .spare(rank);
    }
    Table::new("By batch size", answer, "by_size", &answer.by_size, c).main(move |at| at.size == answer.size)
}

fn small_print(answer: &Jigs) -> Vec<String> {
    let mut said = Vec::new();
    let hidden = answer.sets.len().saturating_sub(ROWS);
    if hidden > 0 {
        said.push(format!("{hidden} more combinations are in the JSON and CSV."));
    }
    if !answer.every_combination {
        said.push("More than five jigs: each alone, each pair, and all together were looked at.".to_owned());
    }
    if let Some(best) = answer.sets.first() {
        let ends = money_interval(best.low, best.high, &answer.currency);
        said.push(format!(
            "Building hours are charged at the {} you want and at the shop's overhead. What a jig costs \
             is spread over the pieces it lasts or, where that is not said, over the batches you plan. Made {}; without any jig you \
             {} an hour on average.",
            typed_money(answer.target, &answer.currency),
            made(answer.size),
            you_earn(answer.rate.mean, &answer.currency)
        ));
        // Ends that look alike would read as an error of that size.
        said.push(if ends == money(best.low, &answer.currency) {
            format!("The simulation error (95 %) of what the first adds to the hour, {ends}, is smaller than its last digit.")
        } else {
            format!("Simulation error (95 %) of what the first adds to the hour: {ends}.")
        });
    }
    let (batches, unlimited) = (batches_of(answer.size, "single pieces"), some_endless(answer));
    if let Some(batches_a_year) = year_that_sells(answer) {
        said.push(format!(
            "A year has {} {batches}, as many as are asked for once the design is done, whatever you plan. It counts what they save, \
             less what they use up of a jig's life.",
            mean_count(batches_a_year)
        ));
        if unlimited {
            said.push("A jig without an end is charged whole, in the first year.".to_owned());
        }
    }
    let [trials, sequences] = [answer.trials, answer.sequences].map(count);
    let Jigs { seed, version, .. } = answer;
    said.push(format!(
        "{trials} batches with and without were simulated, with the same luck, and {sequences} sequences of them, seed {seed}, \
         batchwright {version}."
    ));
    said
}

#[cfg(test)]
mod tests;
