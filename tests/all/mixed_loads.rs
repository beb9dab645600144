//! Rounds that pieces of other designs fill in part, by hand and by law.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, normal_bound, scenario, settings};
use batchwright::render::Render;
use batchwright::render::text::Look;
use batchwright_core::model;
use batchwright_core::questions::{calendar, sweep};

/// A kiln with room for six of these beside others, which fill two fifths of it.
const KILN: &str = r#"
target = 20
currency = "EUR"
[batch]
sizes = [4, 9]
[[step]]
name = "throw"
each = "12 min"
[[step]]
name = "fire"
setup = "50 min"
each = "2 min"
room = 6
others = "40 %"
wait = "10 h"
[[material]]
name = "power"
per_round = 30
unit = "kWh"
price = 0.5
at = "fire"
[sale]
price = 30
[shop]
per_hour = 2
[hours]
mon = 8
tue = 8
"#;

/// Nine take two firings, of which 30 of 50 min and 18 of 30 kWh are theirs.
#[test]
fn nine_by_hand() {
    let shop = scenario(KILN);
    let hours = (9.0 * 14.0 + 2.0 * 30.0) / 60.0;
    let profit = 270.0 - 2.0 * 18.0 * 0.5 - 2.0 * hours;
    close(model::hours(&shop, 9), hours, 1e-12, "hours");
    close(model::money(&shop, 9).unwrap().profit(), profit, 1e-12, "profit");
    let answer = sweep::run(&shop, &settings(100), &|_| ());
    let nine = &answer.sizes[1];
    close(nine.hours.mean, hours, 1e-12, "simulated hours");
    close(nine.profit.mean, profit, 1e-12, "simulated profit");
    close(nine.setup_share, 60.0 / (60.0 * hours), 1e-12, "getting ready");
    // In an endless batch 14 min and a sixth of what is borne of a firing.
    let ceiling = (30.0 - 9.0 / 6.0) / (19.0 / 60.0) - 2.0;
    close(model::ceiling(&shop), ceiling, 1e-12, "ceiling");
    let told = batchwright::render::understood::scenario(&shop, 110, true);
    assert!(told.contains("others") && told.contains("40 %"), "{told}");
}

/// With chance in setups, redos and spoils, and packs that round up: the mean by the model.
#[test]
fn chance_by_law() {
    let text = KILN
        .replace(
            "setup = \"50 min\"",
            "setup = \"40 / 50 / 80 min\"\nredo = \"10 %\"\nspoil = \"15 %\"",
        )
        .replace("each = \"12 min\"", "each = \"8 / 12 / 25 min\"\nspoil = \"10 %\"")
        .replace("unit = \"kWh\"", "unit = \"kWh\"\npack = 10\nleftover = \"lost\"");
    for spoiled in ["short", "remake"] {
        let pack = if spoiled == "remake" {
            text.replace("pack = 10\nleftover = \"lost\"", "")
        } else {
            text.clone()
        };
        let shop = scenario(&pack.replace("[batch]", &format!("[batch]\nspoiled = \"{spoiled}\"")));
        for at in sweep::run(&shop, &settings(40_000), &|_| ()).sizes {
            let bound = normal_bound(ALARM) * at.hours.se;
            let due = model::hours(&shop, at.size);
            assert!((at.hours.mean - due).abs() < bound, "{due}: {:?}", at.hours);
            let bound = normal_bound(ALARM) * at.profit.se;
            let due = model::money(&shop, at.size).unwrap().profit();
            assert!((at.profit.mean - due).abs() < bound, "{due}: {:?}", at.profit);
        }
    }
}

/// The hands are at all of a firing's setup, whoever bears it: nine take 9 x 14 and 2 x 50 min at the bench, and the calendar says why.
#[test]
fn hands_are_at_the_whole_of_a_shared_round() {
    let said = "Others pay for part of some rounds, but you still spend the whole setup time yourself.";
    for (text, minutes, shared) in [
        (KILN.to_owned(), 226.0, true),
        (KILN.replace("others = \"40 %\"\n", ""), 226.0, false),
    ] {
        let asked = calendar::Question {
            from: calendar::Day("2027-03-01".parse().unwrap()),
            due: None,
            opens: calendar::Opens::default(),
            sizes: vec![9],
            first_batch: false,
            spares: 0,
        };
        let answer = calendar::run(&scenario(&text), &asked, &settings(100), &|_| ()).unwrap();
        close(answer.asked().unwrap().hands_hours.mean, minutes / 60.0, 1e-12, "hands");
        let page = answer
            .text(&Look::page(false))
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert_eq!((answer.others, page.contains(said)), (shared, shared), "{page}");
    }
}
