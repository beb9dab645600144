//! Channels, other currencies, seasons and holding, by hand and by law.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{close, json, normal_bound, scenario, settings};
use batchwright_core::model;
use batchwright_core::questions::Settings;
use batchwright_core::questions::sweep::{self, Cause, Sweep};

fn answer(text: &str, trials: u64) -> Sweep {
    let settings = settings(trials);
    sweep::run(&scenario(text), &settings, &|_| ())
}

const MAKING: &str = r#"
target = 20
currency = "EUR"
[batch]
sizes = [10, 25]
[[step]]
name = "make"
setup = "60 min"
each = "30 min"
[[step]]
name = "pack"
per_order = "10 min"
[[material]]
name = "wood"
per_piece = 1
price = 4
[[material]]
name = "box"
per_order = 1
price = 1.50
[sale]
price = 50
fee = "10 %"
fee_per_order = 0.25
post = 5
"#;

/// Two ways of selling [`MAKING`]; the second takes half the price and half an hour an order.
const TWO_WAYS: &str = r#"
[[channel]]
name = "direct"
share = "60 %"
[[channel]]
name = "shop"
share = "40 %"
discount = "50 %"
order_of = 12
fee = "0 %"
post = 9
post_charged = 4
per_order = "30 min"
"#;

/// One piece at a time: six of ten go out direct, 100 min for 45 less 6.75 and wood, and four to the shop, 120 min for 25 + 4 less 10.75 and
/// wood. Of a hundred batches it is just so many, so that six of ten earn 20 an hour and the price that pays in 60 % is that of the first
/// way, at any seed.
#[test]
fn single_pieces_go_each_way_by_its_share() {
    let text = MAKING.replace("sizes = [10, 25]", "sizes = [1]\n") + TWO_WAYS;
    let shop = scenario(&text.replace("target = 20", "target = 20\nconfidence = \"60 %\""));
    let profit = [45.0 - 6.75 - 4.0, 25.0 + 4.0 - 10.75 - 4.0];
    let hours = [100.0 / 60.0, 2.0];
    let mean = |of: [f64; 2]| 0.6 * of[0] + 0.4 * of[1];
    for (seed, trials) in [(1, 100), (2, 100), (3, 5_000)] {
        let settings = Settings {
            seed,
            trials,
            ..Settings::default()
        };
        let one = &sweep::run(&shop, &settings, &|_| ()).sizes[0];
        close(one.profit.mean, mean(profit), 1e-12, "profit");
        close(one.hours.mean, mean(hours), 1e-12, "hours");
        close(one.rate.long_run, mean(profit) / mean(hours), 1e-12, "an hour");
        assert_eq!(one.reach.share, 0.6);
        close(
            one.floor_asked.price.unwrap(),
            50.0 + (20.0 * hours[0] - profit[0]) / 0.9,
            1e-12,
            "price that pays in 60 %",
        );
        for (channel, share) in one.channels.iter().zip([0.6, 0.4]) {
            close(channel.sold, share, 1e-12, "sold");
            close(channel.orders, share, 1e-12, "orders");
        }
        assert!(one.profit.se > 0.0, "batches differ by where their piece goes");
    }
}

/// Shares of no whole per cent and trials of no whole hundred: the printed interval of the average holds what is exact at least as often as it
/// says. 400 seeds; 3.7 standard errors below 95 % is a false alarm of one in ten thousand.
#[test]
fn intervals_hold_where_pieces_go_either_way() {
    let text = MAKING.replace("sizes = [10, 25]", "sizes = [1, 3]") + TWO_WAYS;
    let shop = scenario(&text.replace("60 %", "37.55 %").replace("40 %", "62.45 %"));
    let exact = [1, 3].map(|size| model::money(&shop, size).unwrap().profit() / model::hours(&shop, size));
    let mut held = [0.0; 2];
    for seed in 0..400 {
        let settings = Settings {
            seed,
            trials: 950,
            ..Settings::default()
        };
        let sweep = sweep::run(&shop, &settings, &|_| ());
        for ((held, at), exact) in held.iter_mut().zip(&sweep.sizes).zip(exact) {
            *held += f64::from(u8::from((at.rate.long_run - exact).abs() <= 1.96 * at.rate.long_run_se));
        }
    }
    let least = 0.95 - 3.7 * (0.95_f64 * 0.05 / 400.0).sqrt();
    assert!(held.iter().all(|held| held / 400.0 >= least), "{held:?}");
}

/// Everything certain, so that each figure follows with pencil and paper; exact to rounding.
#[test]
fn a_split_by_hand() {
    let sweep = answer(&format!("{MAKING}{TWO_WAYS}"), 100);
    // Ten: six go out one by one, four in one order. 60 + 10 x 30 + 6 x 10 + 30 = 450 min.
    // Direct: 6 x 50 x 0.9 - 6 x (0.25 + 5 + 1.50); shop: 4 x 25 + 4 - 0.25 - 9 - 1.50; wood 40.
    let ten = &sweep.sizes[0];
    close(ten.hours.mean, 7.5, 1e-12, "hours of ten");
    let direct = 6.0 * 45.0 - 6.0 * 6.75;
    let shop = 100.0 + 4.0 - 0.25 - 9.0 - 1.5;
    close(ten.profit.mean, direct + shop - 40.0, 1e-10, "profit of ten");
    let own = |name: &str| ten.channels.iter().find(|c| c.name == name).unwrap();
    // Making is 360 min, shared six to four; so is the wood.
    for (name, sold, orders, minutes, profit, price) in [
        ("direct", 6.0, 6.0, 216.0 + 60.0, direct - 24.0, 50.0),
        ("shop", 4.0, 1.0, 144.0 + 30.0, shop - 16.0, 25.0),
    ] {
        let channel = own(name);
        close(channel.sold, sold, 1e-12, "sold");
        close(channel.orders, orders, 1e-12, "orders");
        close(channel.hours, minutes / 60.0, 1e-12, "hours");
        close(channel.profit, profit, 1e-10, "profit");
        close(channel.rate.mean, profit / minutes * 60.0, 1e-10, "rate");
        close(channel.rate.se, 0.0, 1e-9, "its error");
        close(channel.price, price, 1e-12, "price there");
    }
    // The floor is the list price: p (6 x 0.9 + 4 x 0.5) = 20 x 7.5 + 40 + 6 x 6.75 + 6.75 (shop: 0.25 + 9 + 1.50 - 4).
    let floor = (20.0 * 7.5 + 40.0 + 6.0 * 6.75 + 6.75) / (6.0 * 0.9 + 4.0 * 0.5);
    close(ten.floor_asked.price.unwrap(), floor, 1e-10, "floor");
    close(
        own("shop").floor_asked.unwrap(),
        floor / 2.0,
        1e-10,
        "floor in the shop",
    );
    // Twenty-five: fifteen and ten.
    assert_eq!(sweep.sizes[1].channels[0].sold, 15.0);
    // The ceiling: one more piece, 0.6 to one and 0.4 to the other.
    let minutes = 30.0 + 0.6 * 10.0 + 0.4 / 12.0 * 30.0;
    let money = 0.6 * (45.0 - 6.75) + 0.4 * (25.0 + (4.0 - 0.25 - 9.0 - 1.5) / 12.0) - 4.0;
    close(sweep.ceiling, money / minutes * 60.0, 1e-10, "ceiling");
}

/// Each way of three sells just its share of any size over many batches. No way is two pieces off, so that the standard deviation of its
/// pieces is under 1: five of its errors, of 10,000 trials, are a false alarm for one of the 180 means in 10,000 such tests.
#[test]
fn every_size_is_split_by_the_shares() {
    let sizes = "1..60";
    let sweep = answer(
        &format!(
            "{}\n[[channel]]\nname = \"a\"\nshare = \"50 %\"\n[[channel]]\nname = \"b\"\nshare = \"30 %\"\n[[channel]]\nname = \
             \"c\"\nshare = \"20 %\"\n",
            MAKING.replace("[10, 25]", &format!("\"{sizes}\""))
        ),
        10_000,
    );
    for size in &sweep.sizes {
        let n = f64::from(size.size);
        let sold: Vec<f64> = size.channels.iter().map(|c| c.sold).collect();
        close(sold.iter().sum::<f64>(), n, 1e-12, "all of them");
        close(
            sold[0],
            0.5 * n,
            1e-12,
            "the first, exactly: whole per cents of hundreds of trials",
        );
        for (sold, share) in sold.iter().zip([0.5, 0.3, 0.2]) {
            assert!(
                (sold - share * n).abs() < 5.0 / 100.0,
                "{n}: {sold} for a share of {share}"
            );
        }
        if size.size % 10 == 0 {
            close(sold[1], 0.3 * n, 1e-12, "whole pieces are in no doubt");
        }
    }
}

const UNCERTAIN: &str = r#"
target = 20
[batch]
sizes = "1..30"
[pace]
factor = "0.9 / 1 / 1.4"
[[step]]
name = "make"
setup = "40 / 60 / 100 min"
each = "20 / 30 / 50 min"
spoil = "4 %"
[[step]]
name = "pack"
per_order = "8 / 10 / 18 min"
[[material]]
name = "wood"
per_piece = 1
price = "3 / 4 / 7"
[sale]
price = 50
tax = "19 %"
fee = "6 %"
fee_per_order = 0.30
order_of = "1 / 2 / 4"
post = "4 / 5 / 8"
post_charged = 3
returned = "3 %"
"#;

#[test]
fn one_channel_with_all_of_it_is_no_channel_bit_for_bit() {
    let plain = answer(UNCERTAIN, 3000);
    let one = answer(
        &format!("{UNCERTAIN}\n[[channel]]\nname = \"all\"\nshare = \"100 %\"\n"),
        3000,
    );
    assert_eq!(json(&plain), json(&one));
}

/// More buyers than pieces in any season is no season, bit for bit.
#[test]
fn a_season_that_asks_for_more_is_no_season() {
    let plain = answer(UNCERTAIN, 2000);
    let mut rush = answer(&format!("{UNCERTAIN}\n[season]\nbuyers = \"30 / 60 / 90\"\n"), 2000);
    // What is advised for a season weighs more.
    assert_eq!((plain.advised_size, rush.advised_size), (Some(2), Some(30)));
    rush.advised_size = plain.advised_size;
    assert_eq!(json(&plain), json(&rush));
    assert!(rush.sizes.iter().skip(3).all(|s| s.sold_out.share > 0.9));
}

/// Another currency at a certain worth is the same money written otherwise.
#[test]
fn other_money_is_worth_what_it_is_worth() {
    let at_home = answer(UNCERTAIN, 2000);
    let written = UNCERTAIN
        .replace("\"3 / 4 / 7\"", "\"6 / 8 / 14 USD\"")
        .replace("fee_per_order = 0.30", "fee_per_order = \"0.60 USD\"")
        .replace("\"4 / 5 / 8\"", "{ low = 8, likely = 10, high = 16, unit = \"USD\" }")
        .replace("post_charged = 3", "post_charged = \"6 USD\"");
    let abroad = answer(&format!("{written}\n[currencies]\nUSD = 0.5\n"), 2000);
    for (a, b) in at_home.sizes.iter().zip(&abroad.sizes) {
        close(
            b.profit.mean,
            a.profit.mean,
            1e-9 * a.profit.mean.abs().max(1.0),
            "profit",
        );
        close(b.hours.mean, a.hours.mean, 1e-12, "hours");
        close(
            b.rate.long_run_paid,
            a.rate.long_run_paid,
            1e-9 * a.rate.long_run.abs().max(1.0),
            "rate",
        );
    }
}

/// A worth that varies moves the money by its own mean, and the spread of profit by its own spread.
#[test]
fn an_uncertain_worth_is_drawn_once_a_run() {
    let text = format!(
        "{}\n[currencies]\nUSD = \"0.8 / 0.9 / 1.0\"\n",
        MAKING.replace("price = 4\n", "price = \"10 USD\"\n")
    );
    let trials = 40_000;
    let sweep = answer(&text, trials);
    for size in &sweep.sizes {
        // Wood for all pieces, one worth for all: mean 9 a piece, and the law of the worth has a variance of 0.01 / 6.
        let n = f64::from(size.size);
        close(
            size.money.materials,
            9.0 * n + 1.5 * n,
            normal_bound(1e-6) * size.profit.se,
            "materials",
        );
        let variance = size.profit.se * size.profit.se * trials as f64;
        let exact = 100.0 * n * n * 0.01 / 6.0;
        // A triangular law's fourth moment is 2.4 times its variance squared.
        let bound = normal_bound(1e-6) * exact * (1.4 / trials as f64).sqrt();
        close(variance, exact, bound, "variance of profit");
    }
}

/// A channel abroad has its floor in its own money, and its own price keeps its ratio to the list price.
#[test]
fn a_channel_abroad_shows_its_own_money() {
    let sweep = answer(
        &format!(
            "{MAKING}\n[currencies]\nUSD = 0.8\n[[channel]]\nname = \"abroad\"\nshare = \"100 %\"\nprice = \"80 USD\"\npost = \"10 \
             USD\"\n"
        ),
        100,
    );
    let ten = &sweep.sizes[0];
    // 80 USD are 64 EUR; 10 pieces: 640 x 0.9 - 10 x (0.25 + 8 + 1.5) - 40; 60 + 300 + 100 min.
    close(ten.profit.mean, 576.0 - 97.5 - 40.0, 1e-10, "profit");
    close(ten.hours.mean, 460.0 / 60.0, 1e-12, "hours");
    // In one channel alone nothing is told apart.
    assert!(ten.channels.is_empty());
    let two = answer(
        &format!(
            "{MAKING}\n[currencies]\nUSD = 0.8\n[[channel]]\nname = \"abroad\"\nshare = \"50 %\"\nprice = \"80 \
             USD\"\n[[channel]]\nname = \"here\"\nshare = \"50 %\"\n"
        ),
        100,
    );
    let abroad = &two.sizes[0].channels[0];
    assert_eq!((abroad.currency.as_str(), abroad.price), ("USD", 80.0));
    let list = two.sizes[0].floor_asked.price.unwrap();
    close(abroad.floor_asked.unwrap(), list * 80.0 / 50.0, 1e-10, "floor abroad");
}

/// What is not asked for fetches the clearance; orders are filled up to the demand and no further.
#[test]
fn a_season_by_hand() {
    let sweep = answer(&format!("{MAKING}\n[season]\nbuyers = 7\nclearance = 12\n"), 100);
    let ten = &sweep.sizes[0];
    // Seven sold: 60 + 300 + 70 min; 7 x 45 - 7 x 6.75 - 40 + 3 x 12.
    close(ten.hours.mean, 430.0 / 60.0, 1e-12, "hours");
    close(ten.profit.mean, 315.0 - 47.25 - 40.0 + 36.0, 1e-10, "profit");
    assert_eq!((ten.good.mean, ten.sold.mean, ten.sold_out.share), (10.0, 7.0, 0.0));
    close(ten.money.clearance, 36.0, 1e-12, "clearance");
    let floor = (20.0 * 430.0 / 60.0 + 47.25 + 40.0 - 36.0) / (7.0 * 0.9);
    close(ten.floor_asked.price.unwrap(), floor, 1e-10, "floor");
    // Of 25 eighteen are left, 0.72 of each that is started where it was 0.3, and a sold one brings 50.
    let more = sweep.more_of(ten, &sweep.sizes[1]);
    let unsold = more.iter().find(|(cause, _)| *cause == Cause::Unsold);
    close(unsold.unwrap().1, 0.42 * 50.0, 1e-10, "more unsold");
    // Carried: each saves making another, 30 min at 20 and 4 of wood, less 30 % a year for half of one.
    let carried = answer(
        &format!("{MAKING}\n[season]\nbuyers = 7\nleftover = \"carry\"\nhold = \"30 %\"\nweeks = 26\n"),
        100,
    );
    close(
        carried.sizes[0].money.clearance,
        3.0 * 14.0 * 0.85,
        1e-10,
        "worth of what is carried",
    );
}

/// Counts of earlier seasons come again with equal chances.
#[test]
fn seen_counts_are_equally_likely() {
    let trials = 40_000;
    let sweep = answer(&format!("{MAKING}\n[season]\nbuyers = [4, 6, 30]\n"), trials);
    let ten = &sweep.sizes[0];
    let expected = (4.0 + 6.0 + 10.0) / 3.0;
    close(ten.sold.mean, expected, normal_bound(1e-6) * ten.sold.se, "sold");
    crate::bounds::count_is_binomial(
        (ten.sold_out.share * trials as f64).round() as u64,
        trials,
        1.0 / 3.0,
        "sold out",
    );
}

/// Ten pieces at two a week lie 2.5 weeks each on average.
#[test]
fn holding_by_hand() {
    let sweep = answer(&format!("{MAKING}\n[steady]\nper_week = 2\nhold = \"26 %\"\n"), 100);
    // A piece ties up 4 of wood and 30 min at 20; 26 % a year are 0.5 % a week; 10 x 5 / 2 piece-weeks.
    close(
        sweep.sizes[0].money.holding,
        14.0 * 0.005 * 10.0 * 10.0 / 2.0 / 2.0,
        1e-10,
        "holding",
    );
    let plain = answer(MAKING, 100);
    close(
        plain.sizes[0].profit.mean - sweep.sizes[0].profit.mean,
        sweep.sizes[0].money.holding,
        1e-10,
        "profit with and without",
    );
    // One by one at a bench of 10 hours a week, two an hour: 20 a week, two of them sold meanwhile.
    let singly = answer(
        &format!("{MAKING}\n[steady]\nper_week = 2\nhold = \"26 %\"\nfinished = \"singly\"\n[hours]\nmon = 10\n"),
        100,
    );
    close(
        singly.sizes[0].money.holding,
        0.9 * sweep.sizes[0].money.holding,
        1e-10,
        "holding, singly",
    );
}

/// Tips are neither taxed nor charged for, and go back with the order: by hand where they are certain, by law where they are not.
#[test]
fn tips_are_beside_the_price() {
    let shop = MAKING.replace("fee_per_order", "tax = \"25 %\"\ntip = 2.50\nfee_per_order");
    let ten = &answer(&shop, 100).sizes[0];
    // Ten go out one by one: 460 min; of 50 stay 40 less 5, and 2.50 to that.
    close(
        ten.profit.mean,
        10.0 * (40.0 - 5.0 + 2.5 - 0.25 - 5.0 - 1.5 - 4.0),
        1e-10,
        "profit of ten",
    );
    let due = 20.0 * 460.0 / 60.0 + 10.0 * (0.25 + 5.0 + 1.5 + 4.0 - 2.5);
    close(ten.floor_asked.price.unwrap(), due / (10.0 * 0.7), 1e-10, "floor");
    let told = batchwright::render::understood::scenario(&scenario(&shop), 200, true).replace('\n', " ");
    assert!(
        told.contains("what a buyer adds to an order of free will: 2.50 EUR."),
        "{told}"
    );
    let shop = scenario(&shop.replace("tip = 2.50", "tip = \"0 / 1 / 5\"\nreturned = \"10 %\""));
    let settings = settings(40_000);
    let due = model::money(&shop, 10).unwrap();
    close(due.income, 10.0 * 0.9 * (40.0 + 2.0), 1e-12, "income");
    let ten = &sweep::run(&shop, &settings, &|_| ()).sizes[0];
    assert!((ten.profit.mean - due.profit()).abs() < normal_bound(crate::bounds::ALARM) * ten.profit.se);
    let tips = batchwright_core::questions::drivers::run(&shop, 10, &settings, &|_| ());
    let tips = tips.inputs.iter().find(|input| input.name == "tips").unwrap();
    // 0 / 1 / 5: a tenth is below the square root of 0.5, and a tenth above 5 less that of 2.
    let [low, high] = [0.5_f64.sqrt(), 5.0 - 2.0_f64.sqrt()];
    let swing = tips.swing.unwrap();
    close(swing.low.value, low, 1e-6, "low");
    let more = swing.high.rate - swing.low.rate;
    assert!(
        (more / (9.0 * (high - low) / (460.0 / 60.0)) - 1.0).abs() < 0.02,
        "{more}"
    );
}
