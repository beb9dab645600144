//! Parts of the file beside each other: what one question says must hold beside what another one does.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, normal_bound, scenario, settings};
use crate::program::said;
use crate::sets::full_sets_only;
use assert_cmd::Command;
use batchwright_core::model::{self, WEEKS_PER_YEAR, counts};
use batchwright_core::questions::{calendar, drivers, floor, season, steady, stress, sweep, vary};
use batchwright_core::scenario::Scenario;

fn told(shop: &Scenario) -> String {
    let text = batchwright::render::understood::scenario(shop, 4_000, true);
    text.replace('\n', " ")
}

/// Four a week: eight of ten are sold in two weeks, and 26 such batches a year. A piece ties up 10, and a fifth of that a year: 64 squared
/// pieces over 2 x 4 x 52.
#[test]
fn what_makes_no_full_set_is_not_sold_all_year() {
    let text = format!("{}[steady]\nper_week = 4\nhold = \"20 %\"\n", full_sets_only());
    let shop = scenario(&text);
    let holding = 0.2 * 10.0 * 64.0 / (2.0 * 4.0 * 52.0);
    close(
        model::money(&shop, 10).unwrap().holding,
        holding,
        1e-12,
        "holding by the model",
    );
    let answer = steady::run(&shop, &settings(50), &|_| ()).unwrap();
    let [ten] = &answer.sizes[..] else { panic!("{answer:?}") };
    assert_eq!((ten.size, &answer.no_set[..]), (10, &[3][..]));
    close(ten.good.mean, 10.0, 1e-12, "good");
    close(ten.sold.unwrap().mean, 8.0, 1e-12, "sold");
    close(ten.weeks, 2.0, 1e-12, "weeks");
    close(ten.runs_a_year, 26.0, 1e-12, "batches a year");
    close(ten.hours_a_week, 2.7, 1e-12, "hours a week");
    close(ten.stock, 4.0, 1e-12, "stock");
    close(ten.tied_up, 40.0, 1e-12, "tied up");
    close(ten.holding_a_year, 26.0 * holding, 1e-12, "holding a year");
    // Two wait for a later set, each worth its half hour at 20 an hour.
    let surplus = 8.0 * 40.0 + 2.0 * 10.0 - 40.0 - 12.0 - 4.0 - 20.0 * 5.4 - holding;
    close(ten.surplus_a_year.mean, 26.0 * surplus, 1e-12, "surplus a year");
    let page = said(&answer);
    for sentence in [
        "Of 10 good pieces of a batch 8 are sold on average. What makes no full set is left over",
        "Not looked at, because no batch makes a full set: 3.",
    ] {
        assert!(page.contains(sentence), "{sentence}\n{page}");
    }
    // Where those beside are sold too, all are.
    let all = scenario(&text.replace("set_of = 4", "set_of = 4\nsingle_price = 30"));
    let answer = steady::run(&all, &settings(50), &|_| ()).unwrap();
    assert_eq!((answer.sizes.len(), answer.sizes[1].sold), (2, None));
    close(answer.sizes[1].weeks, 2.5, 1e-12, "weeks of all");
    let none = scenario(&text.replace("[3, 10]", "[1, 3]"));
    let refused = steady::run(&none, &settings(50), &|_| ()).unwrap_err();
    assert!(refused.contains("none makes a full set"), "{refused}");
}

/// Where pieces are spoiled: the yearly surplus is that of a batch by the model, as often as its sales need.
#[test]
fn sets_all_year_by_law() {
    let text = full_sets_only().replace("each = \"30 min\"", "each = \"20 / 40 min\"\nspoil = \"30 %\"");
    let shop = scenario(&format!("{text}[steady]\nper_week = 4\nhold = \"20 %\"\n"));
    let at = &steady::run(&shop, &settings(40_000), &|_| ()).unwrap().sizes[0];
    let sold: f64 = counts::sold_by_way(&shop, 10).iter().map(|way| way.pieces).sum();
    let surplus = model::money(&shop, 10).unwrap().profit() - 20.0 * model::hours(&shop, 10);
    let due = surplus / sold * 4.0 * WEEKS_PER_YEAR;
    let off = (at.surplus_a_year.mean - due).abs();
    assert!(off < normal_bound(ALARM) * at.surplus_a_year.se, "{due}: {at:?}");
    close(
        counts::sold_squared(&shop, 10),
        counts::good(&shop, 10).mean_of(|n| f64::from(n / 4 * 4).powi(2)),
        1e-12,
        "squares",
    );
}

/// Nothing here is on sale or return; two of ten make no set.
#[test]
fn what_is_not_sold_is_said_for_what_it_is() {
    let ten = scenario(&full_sets_only().replace("[3, 10]", "[10]"));
    let page = said(&sweep::run(&ten, &settings(50), &|_| ()));
    assert!(
        page.contains(
            "At size 10, 8 of 10 good pieces are sold on average; the others make no full set and are left over."
        ),
        "{page}"
    );
    let shop = "[[channel]]\nname = \"own page\"\nshare = \"50 %\"\n[[channel]]\nname = \"shop\"\nshare = \"50 %\"\nunsold = \"100 %\"\n";
    let both = scenario(&format!("{}{shop}", full_sets_only().replace("[3, 10]", "[10]")));
    let page = said(&sweep::run(&both, &settings(50), &|_| ()));
    assert!(
        page.contains(
            "At size 10, 4 of 10 good pieces are sold on average. 5 come back from sale or return, and 1 makes no full set and is left over."
        ),
        "{page}"
    );
    let page = told(&both);
    assert!(page.contains("They go there one by one, in no sets."), "{page}");
}

/// An order of six, through a shop that sells sets of four, is quoted and makes no full sets; one left on sale or return is not paid whole.
#[test]
fn orders_say_that_they_make_no_sets_and_may_come_back() {
    let ten = scenario(&full_sets_only());
    let quote = |orders: &[u32]| floor::orders(&ten, None, orders, &settings(50), &|_| ());
    let page = said(&quote(&[4, 6]));
    assert!(
        page.contains(
            "Pieces are sold here in sets of 4; an order of 6 makes no full ones and is quoted all the same."
        ),
        "{page}"
    );
    assert!(said(&quote(&[1, 4, 6])).contains("orders of 1 and 6 make no full ones and are quoted"));
    assert_eq!(quote(&[4, 8]).past_sets, None);
    let text = full_sets_only().replace(
        "set_of = 4\n",
        "[[channel]]\nname = \"shop\"\nshare = \"100 %\"\nunsold = \"30 %\"\n",
    );
    let order = floor::orders(&scenario(&text), Some(0), &[6], &settings(50), &|_| ());
    let page = said(&order);
    assert!(
        order.on_return && page.contains("a piece for 6 left on sale or return."),
        "{page}"
    );
    assert!(
        page.contains("what comes back unsold is not paid for") && !page.contains(" in all."),
        "{page}"
    );
}

/// One order: nothing is said of several, and what is not all paid for costs nothing as a whole.
#[test]
fn one_order_is_spoken_of_as_one() {
    let text = full_sets_only().replace(
        "set_of = 4\n",
        "[[channel]]\nname = \"shop\"\nshare = \"100 %\"\nunsold = \"20 / 40 %\"\n",
    );
    let order = floor::orders(
        &scenario(&text.replace("price = 50", "price = 5")),
        Some(0),
        &[6],
        &settings(500),
        &|_| (),
    );
    let page = said(&order);
    assert!(
        page.contains("This order does not pay at your price of 5 EUR."),
        "{page}"
    );
    assert!(
        !page.contains("the whole order") && !page.contains("of batches"),
        "{page}"
    );
}

/// Seconds and pieces made again do not go together, so nobody is told to take them together.
#[test]
fn a_floor_advises_nothing_that_is_refused() {
    let spoiled = full_sets_only().replace("each = \"30 min\"", "each = \"30 min\"\nspoil = \"5 %\"");
    let page = |text: &str| said(&floor::run(&scenario(text), &settings(50), &|_| ()));
    assert!(page(&spoiled).contains("quotes full batches"));
    let flawed = page(&spoiled.replace("spoil =", "second = \"5 %\"\nspoil ="));
    assert!(
        flawed.contains("so there is one fewer to sell.") && !flawed.contains("remake"),
        "{flawed}"
    );
}

/// Five buyers at the fair for sure and ten at home. At twice the price a quarter of both come: 1.25 and 2.5 on average.
const FAIR: &str = r#"
target = 20
currency = "EUR"
[batch]
sizes = [20]
[[step]]
name = "make"
each = "30 min"
[sale]
price = 30
[[selling_day]]
name = "fair"
sells = 5
price = 40
[season]
buyers = 10
elasticity = 2
"#;

#[test]
fn buyers_on_selling_days_mind_the_price_too() {
    let shop = scenario(FAIR);
    let sold = |shop: &Scenario| {
        let at = &sweep::run(shop, &settings(4_000), &|_| ()).sizes[0];
        let due = model::money(shop, 20).unwrap().profit();
        close(at.profit.mean, due, 4.0 * at.profit.se + 1e-9, "by the model");
        (at.selling_days[0].sold, at.sold)
    };
    let (fair, all) = sold(&shop);
    assert_eq!((fair, all.mean), (5.0, 15.0));
    // Each price moves, and the file's buyers came at the old one.
    let mut dearer = vary::priced(&shop, 2.0);
    dearer.season.as_mut().unwrap().asked_at = 30.0;
    let (fair, all) = sold(&dearer);
    // One or two come; four standard errors of a share of a quarter.
    close(fair, 1.25, 4.0 * (0.25 * 0.75 / 4_000.0_f64).sqrt(), "at the fair");
    close(all.mean, 3.75, 4.0 * all.se, "in all");
    let answer = season::run(&shop, &settings(4_000), &|_| ()).unwrap();
    let prices = answer.prices.unwrap();
    // At a price of p = 30 x, the fair brings 40 x for 5 / x^2 on average, and home p for 10 / x^2.
    for point in &prices.curve {
        let times = (point.price / 30.0).powi(-2);
        let due = [(5.0, 40.0), (10.0, 30.0)].iter().fold(-200.0, |sum, (buyers, price)| {
            sum + buyers * times * price * point.price / 30.0
        });
        if 15.0 * times < 18.0 {
            let bound = 4.0 * point.surplus.se + 1e-9;
            close(point.surplus.mean, due, bound, "a point of the curve");
        }
    }
    assert!(
        told(&shop).contains("buyers, those on selling days too, want 17 % fewer"),
        "{}",
        told(&shop)
    );
}

/// Which price pays where buyers answer to it is told where its buyers are counted: `floor` said of a batch that no price pays, or that the
/// asked one is too high, and `sweep` and `stress` that it is too little.
#[test]
fn a_price_is_told_where_its_buyers_are_counted() {
    let shop = scenario(
        &FAIR
            .replace("price = 30", "price = 12")
            .replace("price = 40", "price = 14"),
    );
    let page = said(&stress::run(&shop, 20, &settings(50), &|_| ()));
    assert!(
        page.contains("Work 5 % quicker: your price of 12 EUR does not pay for batches of 20.")
            && !page.contains("Raise your price"),
        "{page}"
    );
    let page = said(&sweep::run(&shop, &settings(50), &|_| ()));
    assert!(
        page.contains("at your price of 12 EUR: ")
            && !page.contains("too little")
            && page.contains("The prices that pay in the table leave out that fewer people buy at a higher price."),
        "{page}"
    );
    let page = said(&floor::run(&shop, &settings(50), &|_| ()));
    assert!(
        page.contains("no price from") || page.contains("A list price of"),
        "{page}"
    );
}

/// An hour earns 10 where 20 is wanted: half the time would do, which is much quicker and no way out for tomorrow, but not nothing.
#[test]
fn much_quicker_work_is_named_and_not_denied() {
    let text = "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [2]\n[[step]]\nname = \"make\"\neach = \"1 h\"\n[sale]\nprice = 10\n";
    let answer = stress::run(&scenario(text), 2, &settings(50), &|_| ());
    let page = said(&answer);
    assert!(
        page.contains("Raise your price of 10 EUR to about 20.00 EUR for batches of 2; without that you would have to work 50 % quicker."),
        "{page}"
    );
    assert!(
        page.contains("50 % quicker") && !page.contains("missed;") && !page.contains("no quicker work"),
        "{page}"
    );
}

/// What a lost order belongs to stands before it, as with every other part.
#[test]
fn parts_of_a_channel_are_called_after_it() {
    let text = "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [4]\n[[step]]\nname = \"make\"\neach = \"20 / 40 min\"\n[sale]\nprice = 50\n\
                quote = \"20 / 40 min\"\nquote_won = \"30 %\"\n[[channel]]\nname = \"at the forge\"\nshare = \"50 %\"\n[[channel]]\nname = \"post\"\n\
                share = \"50 %\"\n";
    let page = said(&drivers::run(&scenario(text), 4, &settings(512), &|_| ()));
    assert!(
        page.contains("at the forge: orders won") && page.contains("post: quotes") && !page.contains("enquiries"),
        "{page}"
    );
}

/// Thursday is the only bench day, and Friday is due: no later start is looked at, and it is named.
#[test]
fn the_last_bench_day_is_named() {
    let text = "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [1]\n[[step]]\nname = \"make\"\neach = \"30 / 40 min\"\n[sale]\nprice = 50\n\
                [hours]\nthu = 3\n";
    let day = |text: &str| calendar::Day(text.parse().unwrap());
    let asked = calendar::Question {
        from: day("2027-01-04"),
        due: Some(day("2027-01-22")),
        opens: calendar::Opens::default(),
        sizes: vec![1],
        first_batch: false,
        spares: 0,
    };
    let page = said(&calendar::run(&scenario(text), &asked, &settings(200), &|_| ()).unwrap());
    assert!(
        page.contains("Thursday 21 January is the last bench day before that."),
        "{page}"
    );
    assert!(!page.contains(">99 % of the bench"), "{page}");
}

/// A map of pairs has the file's own in its table as in its chart, and says whether it pays.
#[test]
fn a_map_marks_the_pair_of_the_file() {
    let map = |price: &str| {
        let text = format!(
            "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [2]\n[[step]]\nname = \"make\"\neach = \"1 h\"\n[sale]\nprice = {price}\n\
             fee = \"10 %\"\n"
        );
        let mut command = Command::new(env!("CARGO_BIN_EXE_batchwright"));
        let map = [
            "sweep",
            "-",
            "--over",
            "sale.price=20,30,40",
            "--over",
            "sale.fee=5%,10%",
            "--size",
            "2",
        ];
        let done = command.args(map).write_stdin(text).assert().success();
        let text = String::from_utf8(done.get_output().stdout.clone()).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let page = map("30");
    assert!(
        page.contains("○ 27.00") && page.contains("○ as in the file: pays"),
        "{page}"
    );
    let other = map("20");
    assert!(
        other.contains("○ 18.00") && other.contains("○ as in the file: does not pay"),
        "{other}"
    );
    let away = map("25");
    assert!(
        !away.contains('○') && away.contains("own pair of values is not among these"),
        "{away}"
    );
}

/// Two sittings at one chair, each logged as a piece, would halve its time: whoever adds the second is told how it is written.
#[test]
fn a_second_sitting_is_asked_after() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("chair-log.csv");
    let add = |what: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_batchwright"));
        let done = command
            .arg("log")
            .arg(&log)
            .args(["--step", "carve", "--minutes", "5 h"])
            .args(what)
            .assert()
            .success();
        String::from_utf8(done.get_output().stdout.clone()).unwrap()
    };
    let hint =
        "That makes 2 pieces of the job \"chair 1\"; another sitting at the same one is written `--pieces part`.";
    let one = ["--pieces", "1", "--job", "chair 1"];
    assert!(!add(&one).contains("That makes"));
    assert!(add(&one).contains(hint));
    // Three are no two, another job or an order is no sitting, and what goes on says so itself.
    assert!(!add(&one).contains("That makes"));
    let order = &["--what", "order"][..];
    for (pieces, what) in [("1", &[][..]), ("part", &[]), ("1", order), ("1", order)] {
        let said = add(&[&["--pieces", pieces, "--job", "chair 2"], what].concat());
        assert!(!said.contains("That makes"), "{said}");
    }
}

/// One quote in five is won: half of the orders take four or fewer, all of them five on average. Where half of them are enough, the average
/// needs the dearer price.
#[test]
fn an_average_above_the_price_that_pays_is_not_called_too_little() {
    let text = "target = 20\ncurrency = \"EUR\"\nconfidence = \"50 %\"\n[batch]\nsizes = [1]\n[[step]]\nname = \"make\"\neach = \"1 h\"\n[sale]\n\
                price = 20\nquote = \"1 h\"\nquote_won = \"20 %\"\n";
    let answer = floor::run(&scenario(text), &settings(2_000), &|_| ());
    close(
        answer.sizes[0].floor_asked.price.unwrap(),
        20.0 * 5.0,
        1e-12,
        "one hour at it and four quotes",
    );
    let page = said(&answer);
    assert!(
        page.contains("To earn 20 EUR an hour on average as well takes") && !page.contains("only on average"),
        "{page}"
    );
    let sure = floor::run(&scenario(&text.replace("50 %", "90 %")), &settings(2_000), &|_| ());
    assert!(said(&sure).contains("only on average"), "{}", said(&sure));
}

/// In most batches nothing is left to sell: no price pays, which no question calls too low a price.
#[test]
fn where_no_price_pays_none_is_asked_for() {
    let text = "target = 20\ncurrency = \"EUR\"\n[batch]\nsizes = [2]\n[[step]]\nname = \"make\"\neach = \"1 h\"\nspoil = \"90 %\"\n[sale]\nprice = 10\n";
    let page = said(&stress::run(&scenario(text), 2, &settings(500), &|_| ()));
    assert!(
        page.contains("Do not make 2 at a time as it is: no price pays.") && !page.contains("Raise"),
        "{page}"
    );
}

/// A stall and nothing else: ten of twenty go there at 40, and nobody comes to the door.
#[test]
fn all_may_be_sold_on_selling_days() {
    let text = FAIR
        .replace("sells = 5", "sells = 10")
        .replace("buyers = 10\n", "buyers = 0\nclearance = 1\n");
    let shop = scenario(&text);
    let at = &sweep::run(&shop, &settings(50), &|_| ()).sizes[0];
    close(at.sold.mean, 10.0, 1e-12, "sold");
    close(at.profit.mean, 10.0 * 40.0 + 10.0 * 1.0, 1e-12, "profit");
    close(
        model::money(&shop, 20).unwrap().profit(),
        410.0,
        1e-12,
        "profit by the model",
    );
    let page = said(&season::run(&shop, &settings(50), &|_| ()).unwrap());
    assert!(page.contains("Nobody buys otherwise than on selling days."), "{page}");
    assert!(
        told(&shop).contains("Nobody buys otherwise than on selling days."),
        "{}",
        told(&shop)
    );
    let bad = stress::run(&shop, 20, &settings(50), &|_| ());
    let kinds: Vec<stress::Kind> = bad.misfortunes.iter().map(|m| m.kind).collect();
    assert!(
        kinds.contains(&stress::Kind::Days) && !kinds.contains(&stress::Kind::Unsold),
        "{kinds:?}"
    );
}
