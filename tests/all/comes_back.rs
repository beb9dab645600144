//! Sale or return, and returned goods that can be sold again: by hand and by law.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, normal_bound, scenario, settings, simulate};
use batchwright::render::Render;
use batchwright::render::text::Look;
use batchwright_core::model;
use batchwright_core::questions::{drivers, floor, season, steady, stress, sweep};
use batchwright_core::scenario::Scenario;

/// A piece takes 30 min at 20 an hour and 4 of wood: 14. Of ten, six are sold at once and four are left at a gallery in one order.
const PRINTS: &str = r#"
target = 20
currency = "EUR"
[batch]
sizes = [10]
[[step]]
name = "make"
each = "30 min"
[[step]]
name = "pack"
per_order = "6 min"
[[material]]
name = "paper"
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
[[channel]]
name = "own"
share = "60 %"
[[channel]]
name = "gallery"
share = "40 %"
discount = "40 %"
order_of = 4
fee = "0 %"
unsold = "100 %"
weeks = 13
hold = "40 %"
"#;

/// The shop where so much comes back, with more lines under the gallery.
fn prints(unsold: &str, more: &str) -> Scenario {
    scenario(&PRINTS.replace("unsold = \"100 %\"", &format!("unsold = \"{unsold}\"\n{more}")))
}

/// What the six bring and what all ten and the gallery's one order cost.
const OWN: f64 = 6.0 * (45.0 - 5.0 - 1.5);
const COST: f64 = 40.0 + 5.0 + 1.5;
/// Waiting 13 weeks costs a tenth of 14 for each of the four.
const WAITING: f64 = 4.0 * 1.4;

#[test]
fn all_or_nothing_sold_by_hand() {
    for (unsold, more, brings, left, clearance) in [
        ("0 %", "", 4.0 * 30.0, 6.0 * 45.0 + 120.0, 0.0),
        ("100 %", "", 4.0 * 14.0, 6.0 * 45.0, 56.0),
        ("100 %", "worn = \"100 %\"\nworn_price = 8", 4.0 * 8.0, 6.0 * 45.0, 0.0),
    ] {
        let shop = prints(unsold, more);
        let (hours, profit) = (5.7, OWN + brings - COST - WAITING);
        let money = model::money(&shop, 10).unwrap();
        close(money.profit(), profit, 1e-12, "profit by the model");
        close(money.holding, WAITING, 1e-12, "waiting");
        close(money.clearance, clearance, 1e-12, "what came back");
        let ten = &sweep::run(&shop, &settings(200), &|_| ()).sizes[0];
        close(ten.hours.mean, hours, 1e-12, "hours");
        close(ten.profit.mean, profit, 1e-10, "profit");
        close(ten.money.holding, WAITING, 1e-12, "waiting, simulated");
        close(ten.money.clearance, clearance, 1e-12, "what came back, simulated");
        let price = 50.0 + (20.0 * hours - profit) / (left / 50.0);
        close(ten.floor_asked.price.unwrap(), price, 1e-10, "floor");
        close(
            model::money::floor(&shop, 10).unwrap().unwrap(),
            price,
            1e-10,
            "floor by the model",
        );
        let [own, gallery] = &ten.channels[..] else { panic!() };
        let sold = if unsold == "0 %" { 4.0 } else { 0.0 };
        assert_eq!(
            (gallery.sold, gallery.unsold, own.unsold),
            (sold, Some(4.0 - sold), None)
        );
        // Making is shared by what goes there.
        close(gallery.hours, 0.4 * 5.0 + 0.1, 1e-12, "hours of the gallery");
        close(gallery.profit, brings - 5.0 - 1.5 - WAITING - 16.0, 1e-10, "its profit");
        close(own.profit, OWN - 24.0, 1e-10, "profit of the others");
        // Of one more piece six tenths go to the one and four to the other.
        let minutes = 30.0 + 0.6 * 6.0 + 0.1 * 6.0;
        let more = 0.6 * 38.5 + 0.4 * (brings / 4.0 - 1.4) - 0.1 * 6.5 - 4.0;
        close(model::ceiling(&shop), more / minutes * 60.0, 1e-10, "ceiling");
    }
    // An order that goes there and is sold: 30 less 1.40, 6 min and 6.50 for it.
    let order = |unsold: &str| {
        let found = floor::orders(&prints(unsold, ""), Some(1), &[1], &settings(100), &|_| ());
        found.sizes[0].floor_asked.price
    };
    close(order("0 %").unwrap(), 12.0 + 4.0 + 6.5 + 1.4, 1e-10, "an order");
    assert_eq!(order("100 %"), None);
}

#[test]
fn check_says_it_back() {
    let told = |shop: &Scenario| batchwright::render::understood::scenario(shop, 4_000, true).replace('\n', " ");
    let shop = told(&prints("20 / 60 %", "worn = \"25 %\"\nworn_price = 8"));
    for said in [
        "It has them on sale or return:",
        "of them come back unsold. Of these, 25 of 100 are worn and fetch 8.00 EUR each. Each of the others is worth what the last piece of a \
         batch takes in material and hours.",
        "It settles after 13 weeks, and until then the money tied up in them costs 40 % a year.",
    ] {
        assert!(shop.contains(said), "{said}\n{shop}");
    }
    let at_once = PRINTS.replace("weeks = 13\nhold = \"40 %\"\n", "");
    assert!(told(&scenario(&at_once)).contains("When it settles makes no difference to what an hour earns."));
    let again = PRINTS.replace("post = 5", "post = 5\nreturned = \"4 %\"\nas_new = \"75 %\"");
    assert!(told(&scenario(&again)).contains("Of these, 75 of 100 bring pieces back that can be sold again as new"));
}

/// From 20 to 60 % come back, uniform; a quarter of them worn. One piece brings 30 with 1 - p, 8 with p / 4 and 14 with 3 p / 4.
#[test]
fn what_comes_back_by_law() {
    let shop = prints("20 / 60 %", "worn = \"25 %\"\nworn_price = 8");
    let due = model::money(&shop, 10).unwrap();
    close(due.income, 300.0 + 4.0 * (0.6 * 30.0 + 0.1 * 8.0), 1e-12, "income");
    close(due.clearance, 4.0 * 0.3 * 14.0, 1e-12, "what came back");
    let trials = 40_000;
    let ten = &sweep::run(&shop, &settings(trials), &|_| ()).sizes[0];
    let bound = normal_bound(ALARM);
    assert!(
        (ten.profit.mean - due.profit()).abs() < bound * ten.profit.se,
        "{:?}",
        ten.profit
    );
    // Given p a piece's mean is 30 - 17.5 p, its mean square 900 (1 - p) + 163 p; p has mean 0.4 and variance 1/75.
    let (mean, variance) = (0.4, 1.0 / 75.0);
    let square = 900.0 - 737.0 * mean;
    let of_mean = 900.0 - 1050.0 * mean + 17.5 * 17.5 * (mean * mean + variance);
    let spread = 4.0 * (square - of_mean) + 16.0 * 17.5 * 17.5 * variance;
    let found = ten.profit.se * ten.profit.se * trials as f64;
    // No trial is further than 60 from the mean, so that the kurtosis is at most 3,600 over the variance.
    let error = spread * ((3_600.0 / spread - 1.0) / trials as f64).sqrt();
    assert!((found - spread).abs() < bound * error, "{found} against {spread}");
    let moved = drivers::run(&shop, 10, &settings(4_000), &|_| ());
    let unsold = moved
        .inputs
        .iter()
        .find(|input| input.kind == drivers::Kind::Unsold)
        .unwrap();
    assert_eq!(
        (unsold.name.as_str(), unsold.of.as_deref()),
        ("gallery: unsold", Some("gallery"))
    );
    // Nothing else varies.
    let total = unsold.shares.unwrap().total;
    assert!((total.share - 1.0).abs() < bound * total.se + 1e-9, "{total:?}");
    let swing = unsold.swing.unwrap();
    close(swing.low.value, 0.24, 1e-6, "a tenth is below");
    close(swing.high.value, 0.56, 1e-6, "a tenth is above");
    let rates = (swing.high.rate - swing.low.rate) / (-4.0 * 17.5 * 0.32 / 5.7);
    assert!((rates - 1.0).abs() < 0.1, "{rates}");
    let lever = moved
        .levers
        .iter()
        .find(|lever| lever.kind == drivers::Kind::Unsold)
        .unwrap();
    let tenth = lever.tenth.unwrap();
    assert!(
        (tenth.mean - 4.0 * 17.5 * 0.04 / 5.7).abs() < bound * tenth.se,
        "{tenth:?}"
    );
    // A tenth less of making makes what came back worth less: 3 min of 20 an hour for each of 1.2, and a tenth of that for the four that wait.
    let make = moved.steps.iter().find(|step| step.name == "make").unwrap();
    let then = (due.profit() - 1.2 + 0.4) / 5.2 - due.profit() / 5.7;
    let tenth = make.tenth.unwrap();
    assert!((tenth.mean - then).abs() < bound * tenth.se, "{tenth:?} against {then}");
    // Twice as much comes back of 10 to 30 %: a fifth more of four pieces.
    let less = prints("10 / 30 %", "worn = \"25 %\"\nworn_price = 8");
    let stressed = stress::run(&less, 10, &settings(40_000), &|_| ());
    let more = stressed
        .misfortunes
        .iter()
        .find(|m| m.kind == stress::Kind::ComesBack)
        .unwrap();
    let change = more.strengths.iter().find(|s| s.strength == 1.0).unwrap().rate_change;
    assert!(
        (change.mean + 4.0 * 17.5 * 0.2 / 5.7).abs() < bound * change.se,
        "{change:?}"
    );
}

/// Ten at a season with twelve buyers: the gallery has four of them and gives all back. What is worn fetches its own price and is not among
/// what is left over; only what is as good as new is.
#[test]
fn worn_pieces_are_none_of_those_left_over() {
    let at = "[season]\nbuyers = 12\nclearance = 9\n";
    for (worn, left, spent) in [("", 4.0, None), ("worn = \"100 %\"\nworn_price = 8", 0.0, Some(4.0))] {
        let text = format!(
            "{}{at}",
            PRINTS.replace("unsold = \"100 %\"", &format!("unsold = \"100 %\"\n{worn}"))
        );
        let shop = scenario(&text);
        let found = season::run(&shop, &settings(100), &|_| ()).unwrap();
        let ten = &found.sizes[0];
        assert_eq!((ten.sold.mean, ten.leftover, ten.worn), (6.0, left, spent), "{worn}");
        let worth = 9.0 * left + 8.0 * spent.unwrap_or(0.0);
        close(
            ten.surplus.mean,
            OWN + worth - COST - WAITING - 20.0 * 5.7,
            1e-10,
            "surplus",
        );
        let said = found.text(&Look::page(false)).replace('\n', " ");
        assert_eq!(
            said.contains("Besides, 4 on average come back worn"),
            spent.is_some(),
            "{said}"
        );
        assert!(!said.contains("The whole batch sells"), "{said}");
    }
    // A quarter of what comes back, simulated: 4 x 40 % x 25 %.
    let shop = prints("20 / 60 %", "worn = \"25 %\"\nworn_price = 8");
    let shop = Scenario {
        season: scenario(&format!("{PRINTS}{at}")).season,
        ..shop
    };
    let trials = 40_000;
    let ten = season::run(&shop, &settings(trials), &|_| ()).unwrap().sizes[0];
    // Each of four is worn with a chance of p / 4: variance 4 x 0.1 x 0.9 and that of p, 12 / 16 of 1 / 75.
    let error = ((4.0 * 0.1 * 0.9 + 0.75 / 75.0) / trials as f64).sqrt();
    let worn = ten.worn.unwrap();
    assert!((worn - 0.4).abs() < normal_bound(ALARM) * error, "{worn}");
    close(ten.sold.mean + ten.leftover + worn, 10.0, 1e-9, "all ten");
}

/// What buyers send back and can be sold again makes a batch last longer, which the weeks leave out and the page says.
#[test]
fn a_steady_sale_says_what_its_weeks_leave_out() {
    let plain = PRINTS[..PRINTS.find("[[channel]]").unwrap()].to_owned();
    for (as_new, told) in [("0 %", false), ("60 %", true)] {
        let sale = format!("post = 5\nreturned = \"25 %\"\nas_new = \"{as_new}\"");
        let shop = scenario(&format!("{}[steady]\nper_week = 2\n", plain.replace("post = 5", &sale)));
        let found = steady::run(&shop, &settings(100), &|_| ()).unwrap();
        let said = found.text(&Look::page(false)).replace('\n', " ");
        assert_eq!(
            (found.sold_again, said.contains("is left out of the weeks")),
            (told, told),
            "{said}"
        );
    }
}

/// Of the orders that come back some can be sold again: trial by trial each such piece is worth 14, or what the season says.
#[test]
fn returned_pieces_are_sold_again() {
    let plain = PRINTS[..PRINTS.find("[[channel]]").unwrap()].to_owned();
    let text = |as_new: &str, more: &str| {
        let sale = format!("post = 5\nreturned = \"25 %\"\nas_new = \"{as_new}\"");
        scenario(&format!("{}{more}", plain.replace("post = 5", &sale)))
    };
    let [lost, all] = ["0 %", "100 %"].map(|as_new| simulate(&text(as_new, ""), 500, 3).remove(0).profit);
    // Without returns 10 x (45 - 5 - 1.50 - 4); each costs 50.
    for (lost, all) in lost.iter().zip(all) {
        let returned = (345.0 - lost) / 50.0;
        close(returned, returned.round(), 1e-9, "whole orders");
        close(all, lost + 14.0 * returned, 1e-9, "sold again");
    }
    let carried = "[season]\nbuyers = 8\nleftover = \"carry\"\nhold = \"50 %\"\nweeks = 26\n";
    for (more, sold, worth) in [
        ("", 10.0, 14.0),
        ("[season]\nbuyers = 8\nclearance = 9\n", 8.0, 9.0),
        (carried, 8.0, 0.75 * 14.0),
    ] {
        let shop = text("60 %", more);
        let due = model::money(&shop, 10).unwrap();
        close(due.income, sold * 0.75 * 50.0, 1e-12, "income");
        close(
            due.clearance,
            (10.0 - sold + sold * 0.15) * worth,
            1e-12,
            "what came back",
        );
        let ten = &sweep::run(&shop, &settings(40_000), &|_| ()).sizes[0];
        let bound = normal_bound(ALARM) * ten.profit.se;
        assert!(
            (ten.profit.mean - due.profit()).abs() < bound,
            "{:?} against {}",
            ten.profit,
            due.profit()
        );
        close(ten.sold.mean, sold, 1e-12, "sold");
    }
    // 12 % of ten more come back with 80 % as new than with none: of the hour of 6 h.
    let found = drivers::run(&text("80 %", ""), 10, &settings(20_000), &|_| ());
    let lever = found
        .levers
        .iter()
        .find(|lever| lever.kind == drivers::Kind::Returns)
        .unwrap();
    let tenth = lever.tenth.unwrap();
    let due = 10.0 * 0.025 * (50.0 - 0.8 * 14.0) / 6.0;
    assert!(
        (tenth.mean - due).abs() < normal_bound(ALARM) * tenth.se,
        "{tenth:?} against {due}"
    );
}

/// An hour each at 20 makes 40 for two prints, of which one sells and the other fetches 45. Half of the orders come back, and their fee, a
/// tenth, is lost: at a price p what is left of these is 45 - 40 - p / 10. They pay up to 50 and no longer, the others always.
#[test]
fn what_pays_less_the_dearer_it_is_counts_as_it_fares_and_is_said() {
    let shop = |price: u32, fee: &str| {
        scenario(&format!(
            "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [2]\n[[step]]\nname = \"print\"\neach = \"1 h\"\n[sale]\nprice = {price}\n\
             fee = \"{fee}\"\nreturned = \"50 %\"\n[season]\nbuyers = 1\nclearance = 45\n"
        ))
    };
    let asked = |price: u32, fee: &str| floor::run(&shop(price, fee), &settings(4_000), &|_| ());
    let off = normal_bound(ALARM) * (0.25 / 4_000.0_f64).sqrt();
    for (price, reach, pays) in [(40, 1.0, Some(0.0)), (60, 0.5, None)] {
        let floors = asked(price, "10 %");
        let two = &floors.sizes[0];
        close(two.reach.share, reach, if reach == 1.0 { 0.0 } else { off }, "pays");
        assert_eq!(two.floor_asked.price, pays, "at {price}");
        close(two.worse_when_dearer.unwrap(), 0.5, off, "dearer is worse");
        let page = floors.text(&Look::page(false)).replace('\n', " ");
        assert!(
            page.contains("batches of 2 all that is sold comes back and its fee is lost")
                && page.contains(&format!("as they fare at {price} EUR")),
            "{page}"
        );
    }
    // Without a fee a dearer piece costs nothing more; and where nothing else comes in, no price would do.
    assert_eq!(asked(60, "0 %").sizes[0].worse_when_dearer, None);
    let mut bare = shop(60, "10 %");
    bare.season = None;
    assert_eq!(
        floor::run(&bare, &settings(4_000), &|_| ()).sizes[0].worse_when_dearer,
        None
    );
}

/// Two prints that take 2 to 3 h at 20 an hour, of which one sells at 5, or comes back in 15 of 100 and loses a tenth as its fee; the other
/// fetches 45. Those that sell pay from (due - 45) / 0.9 on, and the others while 45 less the fee is at least what is due, 40 to 60: a quarter
/// of them at some price, 3.75 of 100 in all, and at 5 the 0.225 whose due is at most 44.5. So 80 of 100 seem to pay where 0.9014 of the hours are paid for: from 14.48 on.
#[test]
fn wherever_a_price_is_told_that_may_be_too_little_it_is_said() {
    let shop = scenario(
        "target = 20\ncurrency = \"EUR\"\nconfidence = \"80 %\"\n[batch]\nsizes = [2]\n[[step]]\nname = \"print\"\n\
         each = { low = 60, high = 90, unit = \"min\", shape = \"uniform\" }\nvaries = \"batch\"\n[sale]\nprice = 5\nfee = \"10 %\"\n\
         returned = \"15 %\"\n[season]\nbuyers = 1\nclearance = 45\n",
    );
    let look = Look::page(false);
    let floors = floor::run(&shop, &settings(50_000), &|_| ());
    let two = &floors.sizes[0];
    let paid_for: f64 = (0.8 - 0.15 * 0.225) / 0.85;
    let error = normal_bound(ALARM) * (0.8 * 0.2 / 50_000.0_f64).sqrt() / 0.85 * 20.0 / 0.9;
    close(
        two.floor_asked.price.unwrap(),
        (40.0 + 20.0 * paid_for - 45.0) / 0.9,
        error,
        "the price told",
    );
    let said = "may still be too little. In 4 of 100 batches all that is sold comes back, and the fee you then lose rises with the price.";
    let told = [
        floors.text(&look),
        sweep::run(&shop, &settings(50_000), &|_| ()).text(&look),
        stress::run(&shop, 2, &settings(8_000), &|_| ()).text(&look),
    ];
    for page in told.map(|page| page.split_whitespace().collect::<Vec<_>>().join(" ")) {
        assert!(page.contains(said), "{page}");
    }
    // So it is of a stool made alone, all of whose orders come back in 15 of 100; of two dozen next to never.
    let stools = |sizes: &str| {
        let shop = scenario(&format!(
            "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = {sizes}\n[[step]]\nname = \"make\"\neach = \"50 / 60 / 90 min\"\n[sale]\n\
             price = 21\nfee = \"10 %\"\nreturned = \"15 %\"\nas_new = \"100 %\"\n"
        ));
        sweep::run(&shop, &settings(4_000), &|_| ()).worse_when_dearer
    };
    assert!(stools("[1]").is_some_and(|(size, share)| size == 1 && (0.05..0.15).contains(&share)));
    assert_eq!(stools("[24]"), None);
    // A price that is enough is told without it.
    let dear = Scenario {
        sale: batchwright_core::scenario::Sale {
            price: 30.0,
            ..shop.sale.clone()
        },
        ..shop
    };
    let page = floor::run(&dear, &settings(50_000), &|_| ()).text(&look);
    assert!(!page.contains("may still be too little"), "{page}");
}

/// What comes back may be set to nothing for one call, whatever else the file says of it.
#[test]
fn nothing_may_come_back_for_one_call() {
    let text = PRINTS.replace("post = 5", "post = 5\nreturned = \"5 %\"\nas_new = \"40 %\"");
    for share in ["0 %", "5 %"] {
        let set = [("sale.returned".to_owned(), share.to_owned())];
        let read = batchwright_core::scenario::read("prints.toml", &text, &set);
        assert!(read.is_ok(), "{share}: {}", read.unwrap_err());
    }
}
