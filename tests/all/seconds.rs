//! Seconds, materials of one channel, and quotes that win nothing, by hand and by law.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, normal_bound, scenario, settings};
use batchwright_core::model;
use batchwright_core::questions::{drivers, floor, stress, sweep};

/// One in four of those that come through is a second: 1 - 0.8 x 0.9375.
const BOWLS: &str = r#"
target = 20
currency = "EUR"
[batch]
sizes = [1, 40]
[[step]]
name = "turn"
setup = "30 min"
each = "30 min"
second = "20 %"
[[step]]
name = "finish"
second = "6.25 %"
[[step]]
name = "pack"
per_order = "6 min"
[[material]]
name = "blank"
per_piece = 1
price = 4
[[material]]
name = "box"
per_order = 1
price = 1.50
[sale]
price = 50
fee = "10 %"
post = 5
[seconds]
price = 20
fee = "0 %"
post = 0
per_order = "3 min"
"#;

/// One piece: a first with 3/4, a second with 1/4.
#[test]
fn one_piece_by_hand() {
    let shop = scenario(BOWLS);
    let hours = (60.0 + 0.75 * 6.0 + 0.25 * 3.0) / 60.0;
    close(model::hours(&shop, 1), hours, 1e-12, "hours");
    let money = model::money(&shop, 1).unwrap();
    close(money.income, 0.75 * 50.0 + 0.25 * 20.0, 1e-12, "income");
    close(money.fees, 0.75 * 5.0, 1e-12, "fees");
    close(money.post, 0.75 * 5.0, 1e-12, "postage");
    close(money.materials, 4.0 + 1.5, 1e-12, "materials");
    // The list price p of a first: 0.75 x 0.9 p + 5 = 20 x hours + 0.75 x 5 + 5.50.
    let price = (20.0 * hours + 3.75 + 5.5 - 5.0) / 0.675;
    close(model::money::floor(&shop, 1).unwrap().unwrap(), price, 1e-12, "floor");
    // One more of an endless batch: no setup.
    let minutes = 30.0 + 0.75 * 6.0 + 0.25 * 3.0;
    let earned = 0.75 * (45.0 - 5.0 - 1.5) + 0.25 * (20.0 - 1.5) - 4.0;
    close(model::ceiling(&shop), earned / minutes * 60.0, 1e-12, "ceiling");
}

/// Thrown away, a second is work and a blank for nothing.
#[test]
fn thrown_away_by_hand() {
    let shop = scenario(BOWLS.split("[seconds]").next().unwrap());
    close(model::hours(&shop, 1), (60.0 + 0.75 * 6.0) / 60.0, 1e-12, "hours");
    let money = model::money(&shop, 1).unwrap();
    close(money.income, 37.5, 1e-12, "income");
    close(money.materials, 4.0 + 0.75 * 1.5, 1e-12, "materials");
    let told = batchwright::render::understood::told(&shop);
    assert!(
        told.closing
            .iter()
            .any(|said| said.contains("25 of 100 are seconds and are thrown away"))
    );
}

/// Forty: binomial counts, and money that is linear in them.
#[test]
fn a_batch_by_law() {
    let shop = scenario(BOWLS);
    let settings = settings(20_000);
    let sweep = sweep::run(&shop, &settings, &|_| ());
    let forty = &sweep.sizes[1];
    let bound = normal_bound(ALARM) * (7.5_f64 / 20_000.0).sqrt();
    assert!((forty.good.mean - 30.0).abs() < bound, "{:?}", forty.good);
    assert!((forty.seconds.unwrap() - 10.0).abs() < bound, "{:?}", forty.seconds);
    // A first leaves 38.50 besides the blank and a second 18.50: 20 times the deviation of a count, at most.
    let profit = 30.0 * 38.5 + 10.0 * 18.5 - 160.0;
    assert!((forty.profit.mean - profit).abs() < 20.0 * bound, "{:?}", forty.profit);
    close(model::money(&shop, 40).unwrap().profit(), profit, 1e-12, "the model's");
    // The same seed has the same seconds.
    let dearer = sweep::run(
        &scenario(&BOWLS.replace("price = 20", "price = 30")),
        &settings,
        &|_| (),
    );
    close(
        dearer.sizes[1].profit.mean - forty.profit.mean,
        10.0 * forty.seconds.unwrap(),
        1e-9,
        "ten more for each second of the same batches",
    );
}

/// Every other question has them too, or does without them.
#[test]
fn every_question_knows_them() {
    let shop = scenario(BOWLS);
    let settings = settings(2_000);
    let stressed = stress::run(&shop, 40, &settings, &|_| ());
    let kinds: Vec<_> = stressed.misfortunes.iter().map(|m| m.kind).collect();
    assert!(kinds.contains(&stress::Kind::Seconds), "{kinds:?}");
    // Twice as likely at both steps: 1 - 0.6 x 0.875 = 0.475 of forty are seconds, 19 instead of 10.
    let twice = stressed
        .misfortunes
        .iter()
        .find(|m| m.kind == stress::Kind::Seconds)
        .unwrap();
    let at = twice.strengths.iter().find(|s| s.strength == 1.0).unwrap();
    assert!(at.outcome.rate.mean < stressed.as_planned.rate.mean);
    let answer = drivers::run(&shop, 40, &settings, &|_| ());
    assert!(answer.inputs.iter().any(|input| input.kind == drivers::Kind::Seconds));
    let lever = |of: &str| {
        answer
            .levers
            .iter()
            .find(|l| l.kind == drivers::Kind::Second && l.of.as_deref() == Some(of))
    };
    let gain = lever("turn").unwrap().gain.unwrap();
    // A point less at the first step: 0.0094 of all are firsts instead; each earns 20 more for 3 min more.
    assert!(gain.mean > 0.0, "{gain:?}");
    // An order is filled with firsts: what would be a second is made again.
    let quoted = |text: &str| {
        floor::orders(&scenario(text), None, &[1], &settings, &|_| ()).sizes[0]
            .floor_asked
            .price
    };
    let spoiled = BOWLS.replace("second =", "spoil =");
    assert_eq!(quoted(BOWLS), quoted(spoiled.split("[seconds]").next().unwrap()));
}

/// A carton for the post alone: of ten pieces six go by post in orders of one, and four to the stall in one order.
#[test]
fn a_material_of_one_channel_by_hand() {
    let text = r#"
target = 20
[batch]
sizes = [10]
[[step]]
name = "make"
each = "30 min"
[[material]]
name = "carton"
per_order = 2
price = 1.50
channel = "post"
[[material]]
name = "card"
per_order = 1
price = 0.25
[[material]]
name = "tape"
per_order = 0.3
price = 4
pack = 1
leftover = "lost"
channel = "post"
[sale]
price = 50
[[channel]]
name = "post"
share = "60 %"
[[channel]]
name = "stall"
share = "40 %"
order_of = 4
"#;
    let shop = scenario(text);
    // Twelve cartons, seven cards, two rolls of tape.
    let cost = 12.0 * 1.5 + 7.0 * 0.25 + 2.0 * 4.0;
    close(model::money(&shop, 10).unwrap().materials, cost, 1e-12, "materials");
    let settings = settings(100);
    let ten = sweep::run(&shop, &settings, &|_| ()).sizes.remove(0);
    close(ten.profit.mean, 500.0 - cost, 1e-10, "profit");
    // The stall's hours are two of five, and its order uses a card.
    let stall = ten.channels.iter().find(|c| c.name == "stall").unwrap();
    close(stall.hours, 2.0, 1e-12, "hours");
    // Of a roll that is not used up, the rest is shared out by the pieces: 8.00 bought, 7.20 used.
    close(stall.profit, 200.0 - 0.25 - 0.4 * 0.8, 1e-10, "profit of the stall");
    // Quoted through the stall there is no carton, and through the post there are two.
    let quoted = |channel| {
        floor::orders(&shop, Some(channel), &[1], &settings, &|_| ()).sizes[0]
            .floor_asked
            .price
            .unwrap()
    };
    close(quoted(1), 10.0 + 0.25, 1e-9, "through the stall");
    close(quoted(0), 10.0 + 0.25 + 3.0 + 4.0, 1e-9, "through the post");
    let told = batchwright::render::understood::scenario(&shop, 100, true);
    assert!(told.contains("an order through \"post\""), "{told}");
}

/// A quote takes half an hour and three of four win nothing; an enquiry takes 6 min and one of three buys: 120 and 18 min an order.
const BOOTHS: &str = r#"
target = 20
[batch]
sizes = [1, 20]
[[step]]
name = "build"
each = "60 min"
[[step]]
name = "deliver"
per_order = "12 min"
[sale]
price = 200
quote = "30 min"
quote_won = "25 %"
enquiry = "4 / 8 min"
enquiry_bought = "33.333333333333333 %"
"#;

#[test]
fn quotes_that_win_nothing_by_hand_and_by_law() {
    let shop = scenario(BOOTHS);
    let minutes = 60.0 + 12.0 + 120.0 + 18.0;
    close(model::hours(&shop, 1), minutes / 60.0, 1e-12, "hours");
    close(model::ceiling(&shop), 200.0 / minutes * 60.0, 1e-12, "ceiling");
    // Tries with chance p: (1 - p) / p^2 of their number; an enquiry varies too, by 4^2 / 12.
    let variance = 12.0 * 30.0 * 30.0 + 3.0 * 16.0 / 12.0 + 6.0 * 6.0 * 6.0;
    close(
        model::variance::variance_of_hours(&shop, 1).unwrap(),
        variance / 3600.0,
        1e-9,
        "variance",
    );
    let settings = settings(20_000);
    let twenty = &sweep::run(&shop, &settings, &|_| ()).sizes[1];
    let error = (20.0 * variance / 3600.0 / 20_000.0).sqrt();
    assert!(
        (twenty.hours.mean - 20.0 * minutes / 60.0).abs() < normal_bound(ALARM) * error,
        "{:?}",
        twenty.hours
    );
    close(twenty.hours.se, error, 0.05 * error, "its error");
    let told = batchwright::render::understood::scenario(&shop, 100, true);
    assert!(
        told.contains("25 of 100 quotes become an order: 2 h for each order"),
        "{told}"
    );
    // All won, all is certain.
    let sure = BOOTHS
        .replace("25 %", "100 %")
        .replace("4 / 8 min", "6 min")
        .replace("33.333333333333333 %", "100 %");
    let sure = &sweep::run(&scenario(&sure), &settings, &|_| ()).sizes[1];
    close(
        sure.hours.mean,
        20.0 * 108.0 / 60.0,
        1e-12,
        "hours where every quote is won",
    );
    close(sure.hours.p10, sure.hours.p90, 1e-12, "and they do not vary");
    // A quoted order has them too, and stress and drivers look at them.
    let quoted = floor::orders(&shop, None, &[1], &settings, &|_| ());
    assert!(
        (quoted.sizes[0].long_run.price.unwrap() - 20.0 * minutes / 60.0).abs() < 1.0,
        "{:?}",
        quoted.sizes[0].long_run
    );
    let stressed = stress::run(&shop, 20, &settings, &|_| ());
    assert!(stressed.misfortunes.iter().any(|m| m.kind == stress::Kind::Lost));
    let answer = drivers::run(&shop, 20, &settings, &|_| ());
    for kind in [drivers::Kind::Enquiry, drivers::Kind::Won] {
        assert!(answer.inputs.iter().any(|input| input.kind == kind), "{kind:?}");
    }
    // An hour of twenty is mostly quotes: a tenth less of them is worth the most.
    assert_eq!(answer.steps[0].name, "quotes and enquiries");
}

/// A page speaks of quotes, of enquiries, or of both, as the file has them.
#[test]
fn what_is_asked_first_is_called_by_what_there_is() {
    for (left_out, asked) in [
        ("enquiry", "quotes"),
        ("quote", "enquiries"),
        ("none", "quotes and enquiries"),
    ] {
        let lines = BOOTHS.lines().filter(|line| !line.starts_with(left_out));
        let shop = scenario(&lines.collect::<Vec<_>>().join("\n"));
        let settings = settings(2_000);
        let answer = drivers::run(&shop, 20, &settings, &|_| ());
        assert!(answer.steps.iter().any(|step| step.name == asked), "{asked}");
        let page = |shown: &dyn batchwright::render::Render| {
            shown
                .text(&batchwright::render::text::Look::page(false))
                .replace('\n', " ")
        };
        let said = page(&answer);
        assert!(
            said.contains(&format!("how many {asked} it takes to win an order")),
            "{said}"
        );
        let stressed = stress::run(&shop, 20, &settings, &|_| ());
        let lost = stressed.misfortunes.iter().find(|m| m.kind == stress::Kind::Lost);
        assert_eq!(lost.and_then(|m| m.name.as_deref()), Some(asked));
        let said = page(&stressed);
        assert!(said.contains(&format!("more {asked} lost")), "{said}");
    }
}

/// A share of seconds may be set to nothing for one call, or gone over from nothing on: [seconds] then says nothing, and is no fault.
#[test]
fn no_seconds_may_be_made_for_one_call() {
    let read = |share: &str| {
        let set: Vec<(String, String)> = ["turn", "finish"]
            .map(|step| (format!("step.{step}.second"), share.to_owned()))
            .to_vec();
        batchwright_core::scenario::read("bowls.toml", BOWLS, &set).unwrap()
    };
    let money = |share: &str| model::money(&read(share), 40).unwrap();
    assert_eq!(
        (read("0 %").second_chance(), read("20 %").second_chance() > 0.3),
        (0.0, true)
    );
    assert!(money("0 %").income > money("20 %").income);
}
