//! The answer to `stress` for a person, and as CSV.

mod plot;
mod table;

use super::Render;
use super::columns::Declared;
use super::format::{
    asked_of_100, count, down_percent, down_times, enough_money_beside, hours, mean_interval, money, of_100_beside,
    percent_interval, short_of, typed_money,
};
use super::page::Page;
use super::plot::Plot;
use super::text::Look;
use super::words::{batches_of, either, joined, may_be_too_little, nothing_varies, several, you_earn};
use crate::questions::stress::{Breaking, Found, Kind, Misfortune, Strength, Stress};

/// What the misfortune of slower setups is called in a sentence.
const ALL_SETUPS: &str = "all setups together";

/// So many steps are told of, unless all are asked for.
const STEPS_TOLD: usize = 4;

/// Work that is this much quicker is another way of working, and nobody's choice for tomorrow (assumption).
const MUCH_QUICKER: f64 = 0.3;
/// What would have to get better by this much or more is out of a maker's hands (assumption).
const OUT_OF_REACH: f64 = 0.5;
/// A margin below this is gone with one bad day (assumption).
const LITTLE_TO_SPARE: f64 = 0.03;
/// Less than this cannot be told from nothing at the bench.
const NOTHING_TO_SPARE: f64 = 0.005;

impl Render for Stress {
    fn page(&self, look: &Look) -> Page {
        let view = View { stress: self };
        Page {
            title: self.title.clone(),
            opening: view.opening(),
            why: view.why(),
            tables: self.grids(look),
            more: view.more(),
            small: view.small_print(),
            care: "When work runs late, guards stay on and curing times stay the glue maker's; tired hands get hurt. Earnings are \
                   before income tax."
                .to_owned(),
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(table::data(self)))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        vec![Box::new(table::limits(self)), Box::new(table::effects(self))]
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// One sentence for the chart.
pub(crate) fn headline(stress: &Stress) -> String {
    View { stress }.opening().into_iter().next().unwrap_or_default()
}

/// What a misfortune is called in a table or a chart.
pub(super) fn name(stress: &Stress, misfortune: &Misfortune) -> String {
    let named = misfortune.name.as_deref().unwrap_or("");
    match misfortune.kind {
        Kind::Build => "whole build slower".to_owned(),
        Kind::Setups => "setups slower".to_owned(),
        Kind::Step => format!("{named} slower"),
        Kind::Channel => format!("orders through {named} slower"),
        Kind::Spoil => "spoil likelier".to_owned(),
        Kind::Days => "fewer sold on selling days".to_owned(),
        Kind::Lost => format!("more {named} lost"),
        Kind::ComesBack => "more comes back unsold".to_owned(),
        Kind::Seconds => "seconds likelier".to_owned(),
        Kind::Redo => "redo likelier".to_owned(),
        Kind::Stock => "material dearer".to_owned(),
        Kind::Post => "postage dearer".to_owned(),
        Kind::Fees => format!("{} higher", fees(stress)),
        Kind::Helper => "helper dearer".to_owned(),
        Kind::Unsold if in_season(misfortune, stress) => "fewer buyers".to_owned(),
        Kind::Unsold => "pieces unsold".to_owned(),
        Kind::AllAtOnce => "all at once worse".to_owned(),
        Kind::Own => named.to_owned(),
    }
}

/// Fees, and what selling days cost where that rises with them.
const fn fees(stress: &Stress) -> &'static str {
    if stress.day_costs { "fees and day costs" } else { "fees" }
}

/// Whether it slows one step, or the orders of one channel.
const fn is_step(misfortune: &Misfortune) -> bool {
    matches!(misfortune.kind, Kind::Step | Kind::Channel)
}

/// With a season buyers stay away by any share; without one whole pieces stay unsold.
fn in_season(misfortune: &Misfortune, stress: &Stress) -> bool {
    misfortune.kind == Kind::Unsold && stress.in_season
}

/// A strength in words: "14 % slower", "2.4 times as long"; below 0 what would have to be better. Rounded to the careful side.
pub(super) fn how_bad(stress: &Stress, misfortune: &Misfortune, x: f64) -> String {
    let (worse, fold, better) = match misfortune.kind {
        Kind::Build | Kind::Setups | Kind::Step | Kind::Channel => ("slower", "as long", "quicker"),
        Kind::Stock | Kind::Post | Kind::Helper => ("dearer", "as dear", "cheaper"),
        Kind::Fees => ("higher", "as high", "lower"),
        Kind::Spoil | Kind::Seconds | Kind::Redo => ("likelier", "as often", "rarer"),
        Kind::Lost => ("more", "as many", "fewer"),
        Kind::ComesBack => ("more", "as much", "less"),
        Kind::Days => ("fewer", "", "more"),
        Kind::AllAtOnce => ("worse", "as bad", "better"),
        Kind::Unsold if in_season(misfortune, stress) => ("fewer", "", "more"),
        Kind::Unsold => {
            let left = (x * f64::from(stress.size)).round() as u64;
            return format!("{} of {} unsold", count(left), count(stress.size.into()));
        }
        Kind::Own => {
            return if x >= 1.0 {
                "when it strikes".to_owned()
            } else {
                format!("in {} of {}", down_percent(x), several(stress.size))
            };
        }
    };
    if x < 0.0 {
        format!("{} {better}", down_percent(x))
    } else if x < 1.0 {
        format!("{} {worse}", down_percent(x))
    } else {
        format!("{} {fold}", down_times(1.0 + x))
    }
}

/// The strength of a misfortune that is told of where only one is.
pub(super) fn told(misfortune: &Misfortune) -> Option<&Strength> {
    let wanted = match misfortune.kind {
        Kind::Build | Kind::AllAtOnce => 0.1,
        Kind::Setups | Kind::Step | Kind::Channel | Kind::Unsold | Kind::Days => 0.5,
        Kind::Stock | Kind::Post | Kind::Fees | Kind::Helper | Kind::ComesBack => 0.25,
        Kind::Spoil | Kind::Seconds | Kind::Redo | Kind::Lost | Kind::Own => 1.0,
    };
    let off = |s: &Strength| (s.strength - wanted).abs();
    misfortune.strengths.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// The misfortunes to tell of: of the steps only those that matter most, in their order of harm; all where asked.
pub(super) fn chosen(stress: &Stress, all: bool) -> Vec<&Misfortune> {
    let harm = |m: &&Misfortune| told(m).map_or(0.0, |s| s.rate_change.mean);
    let mut steps: Vec<&Misfortune> = stress.misfortunes.iter().filter(|m| is_step(m)).collect();
    steps.sort_by(|a, b| harm(a).total_cmp(&harm(b)));
    if !all {
        steps.truncate(STEPS_TOLD);
    }
    let before = |m: &&Misfortune| matches!(m.kind, Kind::Build | Kind::Setups);
    let rest = stress.misfortunes.iter().filter(|m| !is_step(m));
    let (first, last): (Vec<&Misfortune>, Vec<&Misfortune>) = rest.partition(before);
    first.into_iter().chain(steps).chain(last).collect()
}

/// Ten times as bad: beyond that nobody at a bench minds how far (assumption).
const BEYOND: f64 = 9.0;

/// How far the target is kept, or what would have to be better where it is missed, which is said elsewhere: "14 % slower", "9.4 % quicker", "over 20
/// times as long"; nothing where that alone does not mend it.
pub(super) fn limit(stress: &Stress, misfortune: &Misfortune, breaking: &Breaking) -> String {
    match (breaking.found, breaking.at) {
        (Found::Breaks, Some(at)) if at > BEYOND => format!("over {}", how_bad(stress, misfortune, BEYOND)),
        // Hardly any trial lies between missed and reached: what is lacking is too little to be told.
        (Found::BrokenAlready, Some(0.0)) => "hardly better".to_owned(),
        (Found::Breaks | Found::BrokenAlready, Some(at)) => how_bad(stress, misfortune, at),
        (Found::BrokenAlready, None) => String::new(),
        (Found::Holds, _) | (Found::Breaks, None) => match breaking.looked_to {
            None => "no limit".to_owned(),
            Some(_) if misfortune.kind == Kind::Own && stress.size == 1 => "in every piece".to_owned(),
            Some(_) if misfortune.kind == Kind::Own => "in every batch".to_owned(),
            Some(to) => format!("over {}", how_bad(stress, misfortune, to)),
        },
    }
}

/// Whether the target is reached as planned.
pub(super) fn reached(stress: &Stress) -> bool {
    stress.as_planned.reach.share >= stress.confidence
}

/// The axis of strengths ends here; what goes further is said beside its row.
const FARTHEST: f64 = 1.0;

/// Ends of the axis on which breaking points are drawn: from what would have to be better to where the last is lost.
pub(super) fn strengths_shown(rows: &[&Misfortune]) -> (f64, f64) {
    let lost = rows.iter().filter_map(|m| m.target_lost.at);
    let all = rows.iter().flat_map(|m| [m.target_lost.at, m.nothing_earned.at]);
    (
        lost.fold(0.0, f64::min),
        all.flatten().fold(0.2, f64::max).min(FARTHEST),
    )
}

/// Where a bar ends: at the breaking point, at `endless` where it holds, at nothing where no improvement mends it.
pub(super) fn bar_end(breaking: &Breaking, endless: f64) -> f64 {
    match (breaking.found, breaking.at) {
        (Found::Holds, _) => endless,
        (_, Some(at)) => at,
        (_, None) => 0.0,
    }
}

/// What strengths count, for an axis that begins at `low`; what must get better lies left of 0.
pub(super) fn strengths_are(rows: &[&Misfortune], low: f64) -> &'static str {
    let own = rows.iter().any(|m| m.kind == Kind::Own);
    match (low < 0.0, own) {
        (false, false) => "worse than planned",
        (false, true) => "worse than planned; for misfortunes of your own, in how many batches",
        (true, false) => "worse than planned; left of 0, better",
        (true, true) => "worse than planned, left of 0 better; for misfortunes of your own, in how many batches",
    }
}

struct View<'a> {
    stress: &'a Stress,
}

impl View<'_> {
    fn money(&self, value: f64) -> String {
        money(value, &self.stress.currency)
    }

    fn find(&self, kind: Kind) -> Option<&Misfortune> {
        self.stress.misfortunes.iter().find(|m| m.kind == kind)
    }

    /// The words of those kinds that the scenario has.
    fn there(&self, kinds: &[(Kind, &'static str)]) -> Vec<&'static str> {
        let there = kinds.iter().filter(|(kind, _)| self.find(*kind).is_some());
        there.map(|(_, word)| *word).collect()
    }

    /// "a single piece", "batches of 9": what the price is for.
    fn made(&self) -> String {
        batches_of(self.stress.size, "a single piece")
    }

    fn price(&self) -> String {
        typed_money(self.stress.price, &self.stress.currency)
    }

    fn target(&self) -> String {
        typed_money(self.stress.target, &self.stress.currency)
    }

    fn earns(&self, rate: f64) -> String {
        you_earn(rate, &self.stress.currency)
    }

    /// How much the price can stand; where it does not pay as planned, what would mend that.
    fn opening(&self) -> Vec<String> {
        if reached(self.stress) {
            let mut said = vec![self.keep()];
            said.extend(self.material());
            said.extend(self.unsold());
            said
        } else {
            [self.raise(), vec![self.as_planned()]].concat()
        }
    }

    /// The margin of a price that pays.
    fn keep(&self) -> String {
        let (price, made) = (self.price(), self.made());
        let Some(m) = self.find(Kind::Build) else {
            return format!("Keep your price of {price} for {made}: it pays.");
        };
        let b = &m.target_lost;
        let beyond = b.at.filter(|at| *at > BEYOND).map(|_| BEYOND);
        let Some(at) = b.at.filter(|at| b.found == Found::Breaks && *at <= BEYOND) else {
            return match b.looked_to.or(beyond).map(|to| how_bad(self.stress, m, to)) {
                Some(far) => {
                    format!("Keep your price of {price} for {made}: it pays even if the whole build takes {far}.")
                }
                None => format!("Keep your price of {price} for {made}: it pays however slow the whole build goes."),
            };
        };
        let far = how_bad(self.stress, m, at);
        if at < NOTHING_TO_SPARE {
            format!("Keep your price of {price} for {made}: it has nothing to spare.")
        } else if at < LITTLE_TO_SPARE {
            format!("Keep your price of {price} for {made}: it only just pays, until the whole build goes {far}.")
        } else {
            let goes = if at < 1.0 { "goes" } else { "takes" };
            format!("Keep your price of {price} for {made}: it pays until the whole build {goes} {far}.")
        }
    }

    /// How much dearer material may get.
    fn material(&self) -> Option<String> {
        let m = self.find(Kind::Stock)?;
        let at = m.target_lost.at.filter(|_| m.target_lost.found == Found::Breaks)?;
        Some(if at < NOTHING_TO_SPARE {
            "Material may get no dearer.".to_owned()
        } else if at < 1.0 {
            format!(
                "With nothing else changed, material may get {}.",
                how_bad(self.stress, m, at)
            )
        } else {
            let over = if at > BEYOND { "over " } else { "" };
            let times = down_times(1.0 + at.min(BEYOND));
            format!("With nothing else changed, material may cost {over}{times} as much.")
        })
    }

    /// How few may be sold.
    fn unsold(&self) -> Option<String> {
        let m = self.find(Kind::Unsold)?;
        let at = m.target_lost.at.filter(|_| m.target_lost.found == Found::Breaks)?;
        Some(match (in_season(m, self.stress), at) {
            (true, at) if at < NOTHING_TO_SPARE => "There may be no fewer buyers.".to_owned(),
            (true, at) => format!("There may be {} buyers.", how_bad(self.stress, m, at)),
            (false, at) if at <= 0.0 => "Every good piece must find a buyer.".to_owned(),
            (false, at) => {
                let pieces = (at * f64::from(self.stress.size)).round() as u64;
                let size = u64::from(self.stress.size);
                let [sold, size] = [size.saturating_sub(pieces), size].map(count);
                format!("There must be buyers for at least {sold} of every {size} pieces you start.")
            }
        })
    }

    /// What would mend a price that does not pay. Where a dearer piece finds fewer buyers, another price is `floor`'s to say.
    fn raise(&self) -> Vec<String> {
        let made = self.made();
        let better = |kind: Kind| {
            let m = self.find(kind)?;
            let at = m.target_lost.at.filter(|at| *at > -OUT_OF_REACH)?;
            Some((how_bad(self.stress, m, at), at))
        };
        let quicker = better(Kind::Build);
        let soon = quicker.as_ref().filter(|(_, at)| *at > -MUCH_QUICKER);
        let [soon, quicker, cheaper] =
            [soon.cloned(), quicker, better(Kind::Stock)].map(|said| said.map(|(said, _)| said));
        if self.stress.buyers_kept {
            let price = self.price();
            return vec![match (quicker, cheaper) {
                (Some(quicker), Some(cheaper)) => {
                    format!(
                        "Work {quicker}, or find material {cheaper}: your price of {price} does not pay for {made}."
                    )
                }
                (Some(quicker), None) => format!("Work {quicker}: your price of {price} does not pay for {made}."),
                (None, Some(cheaper)) => {
                    format!("Find material {cheaper}: your price of {price} does not pay for {made}.")
                }
                (None, None) => format!("Do not make {made} at your price of {price}: it does not pay."),
            }];
        }
        // The trials are few: the price that pays is the question `floor`'s to say to the cent.
        let Some(pays) = self.stress.floor.price else {
            return vec![match self.stress.size {
                1 => "Do not make a single piece as it is: no price pays.".to_owned(),
                n => format!("Do not make {} at a time as it is: no price pays.", count(n.into())),
            }];
        };
        let raise = format!(
            "Raise your price of {} to about {} for {made}",
            self.price(),
            enough_money_beside(pays, self.stress.price, &self.stress.currency)
        );
        vec![match (soon, cheaper) {
            (Some(quicker), Some(cheaper)) => format!("{raise}, work {quicker}, or find material {cheaper}."),
            (Some(quicker), None) => format!("{raise}, or work {quicker}."),
            (None, Some(cheaper)) => format!("{raise}, or find material {cheaper}."),
            (None, None) => match quicker {
                Some(quicker) => format!("{raise}; without that you would have to work {quicker}."),
                None if self.find(Kind::Build).is_some_and(|m| m.target_lost.at.is_some()) => format!("{raise}."),
                None => format!("{raise}: no quicker work alone would do."),
            },
        }]
    }

    /// That the price told may not be enough.
    fn may_be_too_little(&self) -> Option<String> {
        let (stress, lowest) = (self.stress, self.stress.floor.price?);
        let lowest = enough_money_beside(lowest, stress.price, &stress.currency);
        may_be_too_little(
            stress.worse_when_dearer.filter(|_| !stress.buyers_kept)?,
            &lowest,
            several(stress.size),
        )
    }

    /// How often the target is reached with nothing worse than the scenario says.
    fn as_planned(&self) -> String {
        let stress = self.stress;
        let reach = of_100_beside(stress.as_planned.reach.share, stress.confidence);
        let reach = format!("{reach} {}", several(stress.size));
        let rate = short_of(stress.as_planned.rate.mean, stress.target, &stress.currency);
        let (needed, earns) = (asked_of_100(stress.confidence), self.earns(rate));
        match (stress.target > 0.0, stress.certain) {
            (true, true) => format!("As planned you {earns} an hour; you want {}.", self.target()),
            (false, true) => format!("As planned you {earns} an hour."),
            (true, false) => format!(
                "As planned you earn the {} an hour you want in {reach}; you need {needed}.",
                self.target()
            ),
            (false, false) => format!("As planned you cover your costs in {reach}; you need {needed}."),
        }
    }

    fn why(&self) -> Vec<String> {
        let mut said = Vec::new();
        if reached(self.stress) {
            said.push(self.as_planned());
        } else {
            said.extend(self.may_be_too_little());
        }
        said.extend(self.nothing());
        said.extend(self.at_once());
        said.extend(self.worst_step());
        said
    }

    fn more(&self) -> Vec<String> {
        let mut said: Vec<String> = self.next_steps().into_iter().collect();
        said.extend(self.own());
        said.extend(self.slow());
        said
    }

    /// What is earned on average, and when nothing is.
    fn nothing(&self) -> Option<String> {
        let m = self.find(Kind::Build)?;
        let b = &m.nothing_earned;
        let earns = self.earns(self.stress.as_planned.rate.mean);
        let at = b.at.filter(|at| b.found == Found::Breaks && *at <= BEYOND);
        match at {
            Some(at) => Some(format!(
                "On average you {earns} an hour, and you earn nothing once the whole build {} {}.",
                if at < 1.0 { "goes" } else { "takes" },
                how_bad(self.stress, m, at)
            )),
            None => (!self.stress.certain).then(|| format!("On average you {earns} an hour.")),
        }
    }

    /// The steps, and all setups together, that take something off the hour, worst first: name and what it takes.
    fn steps(&self) -> Vec<(String, String)> {
        let mut found: Vec<(String, f64)> = chosen(self.stress, false)
            .iter()
            .filter(|m| is_step(m) || m.kind == Kind::Setups)
            .filter_map(|m| {
                let name = match (m.kind, m.name.as_deref()) {
                    (Kind::Setups, _) => ALL_SETUPS.to_owned(),
                    (_, name) => format!("'{}'", name.unwrap_or_default()),
                };
                let takes = -told(m)?.rate_change.mean;
                // What shows as nothing is nothing to watch.
                (takes > 0.0 && self.money(takes) != self.money(0.0)).then_some((name, takes))
            })
            .collect();
        found.sort_by(|a, b| b.1.total_cmp(&a.1));
        found
            .into_iter()
            .map(|(name, takes)| (name, self.money(takes)))
            .collect()
    }

    fn worst_step(&self) -> Option<String> {
        let steps = self.steps();
        let (step, takes) = steps.first()?;
        Some(format!(
            "Watch {step} most: 50 % slower, {} {takes} off the hour.",
            if step == ALL_SETUPS { "they take" } else { "it takes" }
        ))
    }

    fn next_steps(&self) -> Option<String> {
        let steps = self.steps();
        let step = |k: usize| steps.get(k);
        let take = |name: &str| if name == ALL_SETUPS { "take" } else { "takes" };
        Some(match (step(1), step(2)) {
            (Some((a, takes)), Some((b, takes_b))) => format!(
                "Next come {a}, which {} {takes} off the hour when 50 % slower, and {b} with {takes_b}.",
                take(a)
            ),
            (Some((a, takes)), None) => format!(
                "Next {} {a}, which {} {takes} off the hour when 50 % slower.",
                if a == ALL_SETUPS { "come" } else { "comes" },
                take(a)
            ),
            _ => return None,
        })
    }

    fn at_once(&self) -> Option<String> {
        let s = self.find(Kind::AllAtOnce)?.strengths.first()?;
        // Of what goes worse only what the scenario has; what it has not is no misfortune of its own either.
        let there = [
            (Kind::Build, "work"),
            (Kind::Stock, "material"),
            (Kind::Post, "postage"),
            (Kind::Fees, "fees"),
            (Kind::Fees, "day costs"),
            (Kind::Helper, "the helper's wage"),
            (Kind::Spoil, "spoil"),
            (Kind::Seconds, "seconds"),
            (Kind::Redo, "redo"),
            (Kind::Lost, "orders lost"),
            (Kind::ComesBack, "pieces unsold"),
        ];
        let mut there = self.there(&there);
        there.retain(|what| *what != "day costs" || self.stress.day_costs);
        // One alone has been told of.
        let list = joined(&there).filter(|_| there.len() > 1)?;
        let reach = s.outcome.reach.share;
        let (worse, earns) = (down_percent(s.strength), self.earns(s.outcome.rate.mean));
        Some(match (self.stress.certain, reach >= self.stress.confidence) {
            (true, true) => {
                format!("If {list} all get {worse} worse, you {earns} an hour and still reach the target.")
            }
            (true, false) => format!("If {list} all get {worse} worse, you {earns} an hour and miss the target."),
            (false, _) => format!(
                "If {list} all get {worse} worse, you {earns} an hour on average, and reach the target in {} {}.",
                of_100_beside(reach, self.stress.confidence),
                several(self.stress.size)
            ),
        })
    }

    fn own(&self) -> Vec<String> {
        let own = self.stress.misfortunes.iter().filter(|m| m.kind == Kind::Own);
        own.filter_map(|m| {
            let s = m.strengths.first()?;
            let name = m.name.as_deref().unwrap_or_default();
            let (these, earns) = (several(self.stress.size), self.earns(s.outcome.rate.mean));
            let may = match (m.target_lost.found, m.target_lost.at) {
                (Found::Breaks, Some(at)) => {
                    let most = down_percent(at);
                    format!("; up to {most} of {these} may be struck before the target is missed")
                }
                (Found::Holds, _) => "; all of them may be struck and the target is still reached".to_owned(),
                _ => String::new(),
            };
            Some(format!(
                "In {these} struck by '{name}' you {earns} an hour on average{may}."
            ))
        })
        .collect()
    }

    /// Where each takes the same time there are no slowest ones.
    fn slow(&self) -> Option<String> {
        let slow = &self.stress.slow_tenth;
        // Where hands are always as quick, what takes long is that more pieces come through.
        let no_less = slow.rate.mean >= self.stress.as_planned.rate.mean && self.find(Kind::Spoil).is_some();
        (!self.stress.certain).then(|| {
            format!(
                "The slowest 10 of 100 {} take {} on average, and in them you {} an hour{}.",
                several(self.stress.size),
                hours(slow.hours.mean),
                self.earns(slow.rate.mean),
                if no_less {
                    ", no less than in all of them: the fewer pieces are spoiled, the more there is to do"
                } else {
                    ""
                }
            )
        })
    }

    fn small_print(&self) -> Vec<String> {
        let stress = self.stress;
        let mut lines = Vec::new();
        if self.find(Kind::ComesBack).is_some() {
            lines.push("No more than 95 % is taken to come back unsold.".to_owned());
        }
        let chances = [
            (Kind::Spoil, "spoil"),
            (Kind::Seconds, "seconds"),
            (Kind::Redo, "redo"),
            (Kind::Lost, "a lost order"),
        ];
        let there = either(&self.there(&chances));
        lines.extend(there.map(|list| format!("No chance of {list} is raised above 95 %.")));
        if stress.certain {
            lines.push(nothing_varies(&stress.version));
            return lines;
        }
        let o = &stress.as_planned;
        let slow = &stress.slow_tenth;
        lines.push(format!(
            "Simulation error (95 %) as planned: average {}, share that earns the target {}, slowest 10 of 100 {}.",
            mean_interval(&o.rate, &stress.currency),
            percent_interval(o.reach.low, o.reach.high),
            mean_interval(&slow.rate, &stress.currency),
        ));
        let (trials, seed, version) = (count(stress.trials), stress.seed, &stress.version);
        lines.push(format!(
            "{trials} batches of each setting were simulated, with the same luck in all; seed {seed}, batchwright {version}."
        ));
        lines
    }
}

#[cfg(test)]
mod tests;
