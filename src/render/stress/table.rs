//! Both tables of `stress`, how far each misfortune may go and what each does, and the CSV, which has all of it.

use super::{BEYOND, chosen, how_bad, in_season, limit, name, reached, told};
use crate::questions::stress::{Breaking, Found, Kind, Misfortune, Strength, Stress};
use crate::render::columns::{Columns, MEAN, SHARE, Table, Unit, between};
use crate::render::figure::{self, Cell};
use crate::render::format::{Form, count, down_percent_interval, plain_interval, times_interval};

/// How far each may go.
pub(super) fn limits(stress: &Stress) -> Table<'_, &Misfortune> {
    let (rows, columns) = (&stress.misfortunes, of_misfortune(stress));
    Table::new("How far each may go", stress, "misfortunes", rows, columns).choose(places_of(stress), "misfortunes")
}

/// Places of the misfortunes that are shown unless all are asked for.
fn places_of(stress: &Stress) -> Vec<usize> {
    let shown = chosen(stress, false);
    let place = |m: &&Misfortune| stress.misfortunes.iter().position(|known| std::ptr::eq(known, *m));
    shown.iter().filter_map(place).collect()
}

fn of_misfortune(stress: &Stress) -> Columns<'_, &Misfortune> {
    let mut c: Columns<'_, &Misfortune> = Columns::default();
    c.said("what", move |m| name(stress, m).into())
        .head("what goes wrong")
        .note("Each goes wrong alone, the others as planned.")
        .breaks(14);
    // Missed as planned: said once, above the rows.
    let missed = !reached(stress);
    c.shown("kept", move |m| limit_cell(stress, m, &m.target_lost))
        .head(match missed {
            true => "for the target,\nthis alone must be",
            false => "you still reach\nthe target up to",
        })
        .note(match missed {
            true => "The target is missed as planned; where nothing stands, that alone cannot mend it.",
            false => "",
        });
    c.shown("interval", move |m| {
        let b = &m.target_lost;
        if stress.certain && b.at.is_some_and(|at| at <= BEYOND) {
            "exact".into()
        } else {
            between(interval(stress, m, b), [b.low, b.high], Unit::Share)
        }
    })
    .head("exact value\nlies between")
    .note("Exact value: 95 times in 100 the simulation is no further off than this.");
    c.shown("nothing", move |m| nothing_cell(stress, m))
        .plain("an hour earns\nnothing when")
        .breaks(16);
    c
}

/// One setting: as planned, or a misfortune of one strength.
#[derive(Clone, Copy, Default)]
pub(super) struct Setting<'a> {
    /// Its place and the misfortune.
    of: Option<(usize, &'a Misfortune)>,
    /// Its place and the strength.
    strength: Option<(usize, &'a Strength)>,
    slow: bool,
}

impl Setting<'_> {
    fn is_planned(&self) -> bool {
        self.of.is_none() && !self.slow
    }

    /// Where JSON has the misfortune.
    fn place(&self) -> Option<String> {
        self.of.map(|(k, _)| format!("misfortunes[{k}]"))
    }

    /// Where JSON has the strength.
    fn deeper(&self) -> Option<String> {
        let (j, _) = self.strength?;
        Some(format!("{}.strengths[{j}]", self.place()?))
    }

    /// Where JSON has what it comes to.
    fn outcome(&self) -> Option<String> {
        if self.is_planned() {
            return Some("as_planned".to_owned());
        }
        Some(format!("{}.outcome", self.deeper()?))
    }
}

/// As planned and each misfortune at each strength; one without any has a line as well.
fn settings(stress: &Stress) -> Vec<Setting<'_>> {
    let mut found = vec![Setting::default()];
    for (k, m) in stress.misfortunes.iter().enumerate() {
        let bare = Setting {
            of: Some((k, m)),
            ..Setting::default()
        };
        found.extend(m.strengths.iter().enumerate().map(|(j, s)| Setting {
            strength: Some((j, s)),
            ..bare
        }));
        if m.strengths.is_empty() {
            found.push(bare);
        }
    }
    found
}

/// What each does.
pub(super) fn effects(stress: &Stress) -> Table<'_, Setting<'_>> {
    let rows: Vec<Setting<'_>> = settings(stress).into_iter().filter(|s| s.outcome().is_some()).collect();
    let places = places_of(stress);
    let is_shown = |setting: &Setting<'_>| match (setting.of, setting.strength) {
        (Some((k, m)), Some((_, s))) => {
            places.contains(&k) && (m.kind == Kind::Build || told(m).is_some_and(|told| std::ptr::eq(told, s)))
        }
        _ => true,
    };
    let shown = (0..rows.len()).filter(|k| is_shown(&rows[*k])).collect();
    Table::new("What each does", stress, "", rows, of_setting(stress))
        .choose(shown, "strengths")
        .main(Setting::is_planned)
}

/// One row for each misfortune and strength; strengths and shares are fractions.
pub(super) fn data(stress: &Stress) -> Table<'_, Setting<'_>> {
    let mut rows = settings(stress);
    let slow = Setting {
        slow: true,
        ..Setting::default()
    };
    rows.insert(1, slow);
    Table::new("", stress, "", rows, of_setting(stress))
}

fn of_setting(stress: &Stress) -> Columns<'_, Setting<'_>> {
    let currency = stress.currency.as_str();
    let hourly = Unit::Hourly(currency);
    let mut c: Columns<'_, Setting<'_>> = Columns::default();
    c.from(Setting::place);
    c.field("kind", Unit::Text)
        .named("misfortune")
        .or_row(|s| if s.slow { "slow_tenth" } else { "as_planned" });
    c.field("name", Unit::Text);
    c.from(Setting::deeper);
    c.field("strength", Unit::Share);
    // As planned there is none, in words and in figures.
    c.figure("strength", Unit::Share, |s| s.is_planned().then_some(0.0));
    c.said("what", move |s| match s.of {
        Some((_, m)) => name(stress, m).into(),
        None => "as planned".into(),
    })
    .plain("what goes wrong")
    .once()
    .breaks(14);
    c.said("how bad", move |s| {
        let set = s.of.zip(s.strength);
        set.map(|((_, m), (_, s))| figure::words(how_bad(stress, m, s.strength), WORSE_BY, s.strength, Form::Share))
            .into()
    })
    .plain("by how much");
    of_outcome(&mut c, stress);
    c.from(Setting::deeper);
    c.field("rate_change.mean", hourly).named("rate_change");
    c.field("rate_change.se", hourly);
    c.from(move |s| s.slow.then(|| "slow_tenth".to_owned()));
    c.fields("hours", MEAN, Unit::Hours);
    c.field("rate.mean", hourly).named("rate");
    c.field("rate.se", hourly);
    c.from(Setting::place);
    // What strengths count, hangs on the misfortune.
    for key in ["target_lost", "nothing_earned"] {
        c.fields(key, &["found"], Unit::Text);
        c.fields(key, &["at", "low", "high", "looked_to"], Unit::Share);
    }
    c
}

/// What a setting comes to.
fn of_outcome<'a>(c: &mut Columns<'a, Setting<'a>>, stress: &'a Stress) {
    let currency = stress.currency.as_str();
    let hourly = Unit::Hourly(currency);
    c.from(Setting::outcome);
    let earns = format!("an hour earns {currency}");
    let average = c.field("rate.mean", hourly).named("rate");
    if stress.certain {
        average.plain(format!("an hour\nearns {currency}"));
    } else {
        average.plain("on\naverage").under(&earns);
    }
    c.field("rate.se", hourly);
    let median = c.field("rate_median", hourly);
    if !stress.certain {
        median.plain("half earn\nless").under(&earns).spare(1);
    }
    c.field("rate_median_interval[0]", hourly).named("rate_median_low");
    c.field("rate_median_interval[1]", hourly).named("rate_median_high");
    let reach = c.fields("reach", SHARE, Unit::Share);
    if stress.certain {
        c.shown("reached", move |s| {
            let outcome = s.strength.map_or(&stress.as_planned, |(_, s)| &s.outcome);
            if outcome.reach.share > 0.0 { "yes" } else { "no" }.into()
        })
        .plain("the target\nis reached");
    } else {
        reach.plain("batches\nthat reach\nthe target");
    }
    c.fields("profit", MEAN, Unit::Money(currency))
        .plain(format!("profit\na batch\n{currency}"));
}

/// From where an hour earns nothing, in a table. Of what strikes trials by chance and leaves all of them something: never.
fn nothing_cell(stress: &Stress, misfortune: &Misfortune) -> Cell {
    let breaking = &misfortune.nothing_earned;
    match breaking.found {
        Found::Holds if misfortune.kind == Kind::Own || breaking.looked_to.is_none() => "never".into(),
        Found::BrokenAlready => cell("as planned".to_owned(), breaking),
        _ => limit_cell(stress, misfortune, breaking),
    }
}

/// What a strength is as a figure: the share by which it is worse, below 0 by which it must be better; of pieces unsold and of trials
/// that are struck, their share.
const WORSE_BY: &str = "worse by";

/// [`limit`] with the figure behind it, where there is one.
fn limit_cell(stress: &Stress, misfortune: &Misfortune, breaking: &Breaking) -> Cell {
    cell(limit(stress, misfortune, breaking), breaking)
}

/// Words with the figure behind them, where there is one.
fn cell(text: String, breaking: &Breaking) -> Cell {
    match breaking.at {
        Some(at) => figure::words(text, WORSE_BY, at, Form::Share),
        None => text.into(),
    }
}

/// The 95 % interval of a breaking point, in the unit its figure has.
fn interval(stress: &Stress, misfortune: &Misfortune, b: &Breaking) -> String {
    let (Some(at), Some(low), Some(high)) = (b.at.filter(|at| *at <= BEYOND), b.low, b.high) else {
        return String::new();
    };
    if misfortune.kind == Kind::Unsold && !in_season(misfortune, stress) {
        let pieces = |x: f64| (x * f64::from(stress.size)).round() as u64;
        return plain_interval(&count(pieces(low)), &count(pieces(high)));
    }
    if at >= 1.0 && misfortune.kind != Kind::Own {
        return times_interval(1.0 + low, 1.0 + high);
    }
    down_percent_interval(at, low, high)
}
