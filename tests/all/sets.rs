//! Pieces sold in sets, by hand and by law.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, normal_bound, scenario, settings};
use batchwright_core::model;
use batchwright_core::questions::{floor, sweep};

/// Sets of four at 40 a piece, an order a set; what makes none fetches 30 at the door.
const CUPS: &str = r#"
target = 20
currency = "EUR"
[batch]
sizes = [3, 10]
[[step]]
name = "make"
each = "30 min"
[[step]]
name = "pack"
per_order = "12 min"
[[material]]
name = "box"
per_order = 1
price = 2
[sale]
price = 50
tax = "25 %"
fee = "10 %"
post = 6
set_of = 4
single_price = 30
"#;

/// The same where what makes no set has no price of its own.
pub(crate) fn full_sets_only() -> String {
    CUPS.replace("single_price = 30\n", "")
}

#[test]
fn ten_by_hand() {
    let shop = scenario(CUPS);
    let hours = 5.0 + 2.0 * 0.2;
    close(model::hours(&shop, 10), hours, 1e-12, "hours");
    let money = model::money(&shop, 10).unwrap();
    close(money.income, 8.0 * 40.0 + 2.0 * 24.0, 1e-12, "income");
    close(money.fees, 8.0 * 5.0 + 2.0 * 3.0, 1e-12, "fees");
    close(money.post, 12.0, 1e-12, "postage");
    close(money.materials, 4.0, 1e-12, "boxes");
    let profit = 368.0 - 46.0 - 12.0 - 4.0;
    let price = 50.0 + (20.0 * hours - profit) / (8.0 * 0.7 + 2.0 * 0.6 * 0.7);
    close(model::money::floor(&shop, 10).unwrap().unwrap(), price, 1e-12, "floor");
    let answer = sweep::run(&shop, &settings(100), &|_| ());
    let [three, ten] = &answer.sizes[..] else { panic!() };
    close(ten.hours.mean, hours, 1e-12, "simulated hours");
    close(ten.profit.mean, profit, 1e-12, "simulated profit");
    close(ten.floor_asked.price.unwrap(), price, 1e-12, "simulated floor");
    close(ten.sold.mean, 10.0, 1e-12, "sold");
    // Three make no set: 21 each, for half an hour and no order.
    close(three.profit.mean, 63.0, 1e-12, "three");
    close(three.hours.mean, 1.5, 1e-12, "hours of three");
    // In an endless batch 35 a piece, less a quarter of a box and its postage, for 33 min.
    close(model::ceiling(&shop), (35.0 - 2.0) / 33.0 * 60.0, 1e-12, "ceiling");
    let told = batchwright::render::understood::scenario(&shop, 200, true);
    assert!(
        told.contains("sets of 4") && told.contains("sold singly at 30.00 EUR"),
        "{told}"
    );
    // An order of one is for a piece.
    let quoted = floor::orders(&shop, None, &[1], &settings(100), &|_| ());
    let due = (42.0 / 60.0 * 20.0 + 8.0) / 0.7;
    close(quoted.sizes[0].floor_asked.price.unwrap(), due, 1e-12, "an order");
}

/// Set against a piece that is sold in another currency, what is sold singly costs as much there.
#[test]
fn in_another_currency() {
    let made = scenario(CUPS).in_currency("USD", 2.0);
    close(model::money(&made, 10).unwrap().income, 2.0 * 368.0, 1e-12, "income");
}

/// Nobody takes what makes no set: it is left over, for a later set, and counts its half hour at 20 an hour. At the end of a season it is cleared.
#[test]
fn what_makes_no_set_is_left() {
    let text = full_sets_only();
    let ten = &sweep::run(&scenario(&text), &settings(50), &|_| ()).sizes[1];
    close(ten.sold.mean, 8.0, 1e-12, "sold");
    close(ten.profit.mean, 320.0 - 40.0 - 16.0 + 2.0 * 10.0, 1e-12, "profit");
    let money = model::money(&scenario(&text), 10).unwrap();
    close(money.clearance, 20.0, 1e-12, "two for a later set, by the model");
    // A piece that comes back as new is worth the same, and makes no other difference.
    let as_new = scenario(&text.replace("set_of = 4", "set_of = 4\nreturned = \"0.0001 %\"\nas_new = \"50 %\""));
    close(
        model::money(&as_new, 10).unwrap().clearance,
        20.0,
        1e-4,
        "with pieces that come back",
    );
    // Three alone make no set and are worth their hours at the target: no batch passes that where sets earn less.
    let poor = scenario(&text.replace("price = 50", "price = 12.5"));
    close(model::ceiling(&poor), 20.0, 1e-12, "ceiling of sets that earn little");
    let three = &sweep::run(&poor, &settings(50), &|_| ()).sizes[0];
    close(three.rate.long_run, 20.0, 1e-12, "three that wait for a fourth");
    assert_eq!(ten.sold_out.share, 0.0);
    let season = scenario(&format!("{text}[season]\nbuyers = 7\nclearance = 9\n"));
    let ten = &sweep::run(&season, &settings(50), &|_| ()).sizes[1];
    close(ten.sold.mean, 4.0, 1e-12, "one set of seven asked for");
    close(ten.money.clearance, 6.0 * 9.0, 1e-12, "cleared");
    close(
        model::money(&season, 10).unwrap().clearance,
        54.0,
        1e-12,
        "cleared, by the model",
    );
}

/// Two of three come through: sets and singles by the binomial law.
#[test]
fn chance_by_law() {
    let shop = scenario(
        &CUPS
            .replace("each = \"30 min\"", "each = \"20 / 40 min\"\nspoil = \"33 %\"")
            .replace("set_of = 4", "set_of = 3\norder_of = \"1 / 3\"")
            .replace("fee = \"10 %\"", "fee = \"10 %\"\nreturned = \"20 %\""),
    );
    let trials = 40_000;
    for at in sweep::run(&shop, &settings(trials), &|_| ()).sizes {
        let bound = normal_bound(ALARM) * at.profit.se;
        let due = model::money(&shop, at.size).unwrap().profit();
        assert!((at.profit.mean - due).abs() < bound, "{due}: {:?}", at.profit);
        let bound = normal_bound(ALARM) * at.hours.se;
        assert!(
            (at.hours.mean - model::hours(&shop, at.size)).abs() < bound,
            "{:?}",
            at.hours
        );
    }
}
