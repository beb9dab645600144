//! A file against itself: its own values put in again, its parts, its ceiling, and what `check` says of it.

use super::{Asked, SIZE, each, turnover};
use batchwright::render::format::{hours, money};
use batchwright::{Figures, Options, Question, ask};
use batchwright_core::model;
use batchwright_core::questions::sweep::{self, SizeAnswer};
use batchwright_core::scenario::{Scenario, Spread, read, written};

/// A jig, a misfortune or a value put in that is the file's own changes nothing; `--over` at it is the plain answer.
#[test]
fn a_files_own_value_changes_nothing() {
    each(|asked| {
        let text = &asked.made.text;
        let plain = read("random.toml", text, &[]).unwrap();
        for section in written::sections(text).unwrap() {
            for value in &section.values {
                let parts = [
                    Some(section.word.as_str()),
                    section.name.as_deref(),
                    Some(value.key.as_str()),
                ];
                let path: Vec<&str> = parts.into_iter().flatten().filter(|part| !part.is_empty()).collect();
                let key = path.join(".");
                for own in [&text[value.span.clone()], &value.shown] {
                    match read("random.toml", text, &[(key.clone(), own.to_owned())]) {
                        Ok(set) => asked.holds(set == plain, &format!("{key} = {own} changes something")),
                        Err(faults) => asked.holds(
                            false,
                            &format!("{key} = {own} is refused: {}", faults.render(false, 100)),
                        ),
                    }
                }
            }
        }
        gone_over(asked, &plain);
    });
}

fn gone_over(asked: &Asked, read_plain: &Scenario) {
    // Values as a person writes them, without a last digit that is rounding.
    let [price, target] = [read_plain.sale.price, read_plain.target_per_hour].map(|value| format!("{value:.2}"));
    let set = [("sale.price", price.as_str()), ("target", target.as_str())];
    let given = batchwright::Scenario::from_toml_with(&asked.made.text, &set).unwrap();
    let set = set.map(|(key, value)| (key.to_owned(), value.to_owned()));
    let plain = &read("random.toml", &asked.made.text, &set).unwrap();
    let at = asked.of_size(plain, SIZE);
    let own = [
        format!("sale.price={price},190"),
        format!("target={target},90"),
        "confidence=75%,90%".to_owned(),
        format!("batch.runs={},9", plain.batch.runs),
        "batch.spoiled=short,remake".to_owned(),
    ];
    for over in own {
        let options = Options::new()
            .trials(asked.trials)
            .unwrap()
            .size(SIZE)
            .unwrap()
            .over(&over)
            .unwrap();
        // Seconds and pieces made again do not go together.
        let Ok(answer) = ask(Question::Sweep, &given, &options) else {
            asked.holds(over.contains("spoiled"), &format!("{over} is refused"));
            continue;
        };
        let Figures::Over(found) = answer.figures() else {
            panic!("values were gone over")
        };
        let scale = turnover(&at) / at.hours.mean;
        asked.holds(
            !found.own.at.is_empty(),
            &format!("{over} has no point that is the file"),
        );
        let here = found.points.iter().find(|point| point.at == found.own.at).unwrap();
        for point in [here, &found.own] {
            asked.same(point.rate.long_run, at.rate.long_run, scale, &over);
            asked.same_floor(&point.floor, &at.floor_asked, &over);
            asked.alike(&point.reach, &at.reach, &over);
        }
    }
}

/// However many are made, an hour earns no more than the ceiling, where no size looked at does; the bound is five standard errors, one false
/// alarm in three million.
#[test]
fn no_size_passes_the_ceiling() {
    each(|asked| {
        // Hands that learn without end are faster in a larger batch.
        if asked.sweep.ceiling_at.is_some() {
            return;
        }
        let ceiling = asked.sweep.ceiling;
        let passes = |at: &SizeAnswer| {
            let rate = at.rate;
            rate.long_run > ceiling + 1e-9 * ceiling.abs() + 5.0 * rate.long_run_se
        };
        // A small batch may, and the page then calls it no ceiling.
        if asked.sweep.sizes.iter().any(passes) {
            return;
        }
        for size in [40, 300] {
            let at = asked.of_size(&asked.shop, size);
            asked.holds(
                !passes(&at),
                &format!("{size} earn {:?} and the ceiling is {ceiling}", at.rate),
            );
        }
    });
}

/// What a batch's parts come to: money, hours, ways of selling.
#[test]
fn parts_add_up() {
    each(|asked| {
        for at in &asked.sweep.sizes {
            let m = at.money;
            let profit =
                m.income + m.clearance - m.materials - m.fees - m.post - m.shop - m.holding - m.selling_days - m.wages;
            asked.same(profit, at.profit.mean, turnover(at), "money");
            let p = at.hours_parts;
            let parts = p.once + p.setup + p.each + p.redo + p.per_order + p.selling_days;
            asked.same(parts * f64::from(at.size), at.hours.mean, 0.0, "hours");
            asked.holds(at.sold.mean <= at.good.mean + 1e-9, "sold of the good");
            // What is not sold in any way bears no part of the making.
            if at.channels.is_empty() || at.sold.mean == 0.0 {
                continue;
            }
            let sum = |of: fn(&sweep::ChannelAnswer) -> f64| at.channels.iter().map(of).sum::<f64>();
            let on_days: f64 = at.selling_days.iter().map(|day| day.sold).sum();
            // Days are told by the model, as expected; where chance is in them they differ from the sample by its error.
            if asked.shop.selling_days.is_empty() {
                asked.same(
                    sum(|way| way.sold),
                    at.sold.mean - on_days,
                    f64::from(at.size),
                    "sold in all ways",
                );
                let seconds = at.seconds.is_some();
                asked.holds(
                    seconds || (sum(|way| way.hours) - at.hours.mean).abs() <= 1e-9 * at.hours.mean,
                    "hours of all ways",
                );
                let off = (sum(|way| way.profit) - at.profit.mean).abs();
                asked.holds(
                    seconds || off <= 1e-9 * turnover(at),
                    &format!("profit of all ways, {off} off"),
                );
            }
        }
    });
}

/// Where all is certain, `check` says what `sweep` finds: the hours of a single piece, and what is kept of 100.
#[test]
fn check_says_what_the_sweep_finds() {
    let (tried, kept) = (std::cell::Cell::new(0), std::cell::Cell::new(0));
    each(|asked| {
        let certain = asked
            .shop
            .steps
            .iter()
            .all(|step| step.redo + step.spoil + step.second == 0.0)
            && asked.number % 4 == 3;
        if !certain {
            return;
        }
        tried.set(tried.get() + 1);
        let told = batchwright::render::understood::scenario(&asked.shop, 110, true);
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        let one = asked.at(1);
        // Which way of selling the piece goes is left to chance, and each may take its own time: five errors either way.
        let expected = model::hours(&asked.shop, 1);
        let off = (expected - one.hours.mean).abs();
        asked.holds(
            off <= 5.0 * one.hours.se + 1e-9,
            &format!("{expected} h, not {}", one.hours.mean),
        );
        let said = format!("A single piece made alone takes {} of hands-on time", hours(expected));
        asked.holds(told.contains(&said), &format!("{said}\n{told}"));
        let plain = asked.shop.channels.is_empty() && asked.shop.selling_days.is_empty() && asked.shop.sale.set_of == 1;
        if !plain {
            return;
        }
        // Of what buyers pay for pieces alone.
        let mut bare = asked.shop.clone();
        (bare.sale.post_charged, bare.sale.tip, bare.sale.fee_per_order) = (0.0, Spread::ZERO, 0.0);
        let at = asked.of_size(&bare, SIZE);
        if at.sold.mean == 0.0 {
            return;
        }
        kept.set(kept.get() + 1);
        let share = (at.money.income - at.money.fees) / (at.sold.mean * bare.sale.price);
        let said = format!("you keep {}.", money(100.0 * share, &bare.currency));
        asked.holds(told.contains(&said), &format!("{said}\n{told}"));
    });
    assert!(
        tried.get() > 3 && kept.get() > 0,
        "{} and {} files",
        tried.get(),
        kept.get()
    );
}
