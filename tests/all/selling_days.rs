//! Selling days, by hand and by law.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

use crate::bounds::{ALARM, close, normal_bound, scenario, settings};
use batchwright::render::Render;
use batchwright::render::text::Look;
use batchwright_core::model::{self, counts, variance::variance_of_hours};
use batchwright_core::questions::{compare, drivers, floor, stress, sweep};

/// Of ten the fair takes three at 48 without tax, the market four at 40, and three come home.
const TRIVETS: &str = r#"
target = 20
currency = "EUR"
[batch]
sizes = [2, 10]
[[step]]
name = "make"
each = "30 min"
[[step]]
name = "pack"
per_order = "6 min"
[[material]]
name = "box"
per_order = 1
price = 1.50
[sale]
price = 50
tax = "25 %"
fee = "10 %"
post = 5
[[selling_day]]
name = "fair"
sells = 3
there = "6 h"
travel = "2 h"
cost = 40
price = 60
fee = "5 %"
[[selling_day]]
name = "market"
sells = 4
there = "5 h"
"#;

#[test]
fn ten_by_hand() {
    let shop = scenario(TRIVETS);
    let hours = 10.0 * 0.5 + 3.0 * 0.1 + 8.0 + 5.0;
    close(model::hours(&shop, 10), hours, 1e-12, "hours");
    let money = model::money(&shop, 10).unwrap();
    close(money.income, 3.0 * 48.0 + 4.0 * 40.0 + 3.0 * 40.0, 1e-12, "income");
    close(money.fees, 3.0 * 3.0 + 3.0 * 5.0, 1e-12, "fees");
    close(money.post, 15.0, 1e-12, "postage");
    close(money.materials, 4.5, 1e-12, "materials");
    close(money.selling_days, 40.0, 1e-12, "days");
    close(money.profit(), 340.5, 1e-12, "profit");
    // Of a list price p the fair keeps 1.2 x 0.75 p of each, the market 0.8 p, home 0.7 p.
    let price = 50.0 + (20.0 * hours - 340.5) / (2.7 + 3.2 + 2.1);
    close(model::money::floor(&shop, 10).unwrap().unwrap(), price, 1e-12, "floor");
    // At best all are sold from home, each 28.5 for 36 minutes: with eight hours at the fair an hour there earns 10.
    close(model::ceiling(&shop), 47.5, 1e-12, "ceiling");
    // With 300 buyers it earns more than that, and a batch that has pieces for them comes near.
    let crowded = scenario(&TRIVETS.replace("sells = 3", "sells = 300").replace("2, 10", "2, 300"));
    let best = (300.0 * 45.0 - 40.0) / (300.0 * 0.5 + 8.0);
    close(model::ceiling(&crowded), best, 1e-12, "ceiling of a crowded fair");
    let money = model::money(&crowded, 300).unwrap();
    let found = money.profit() / model::hours(&crowded, 300);
    assert!(found < best && found > 0.96 * best, "{found} against {best}");
    let answer = sweep::run(&shop, &settings(100), &|_| ());
    let [two, ten] = &answer.sizes[..] else { panic!() };
    close(ten.hours.mean, hours, 1e-12, "simulated hours");
    close(ten.profit.mean, 340.5, 1e-12, "simulated profit");
    close(ten.floor_asked.price.unwrap(), price, 1e-12, "simulated floor");
    close(ten.hours_parts.selling_days, 1.3, 1e-12, "hours of days a piece");
    close(ten.sold.mean, 10.0, 1e-12, "sold");
    // Without the fair six go by post, without the market seven.
    let (size, without) = answer.without_days.as_ref().unwrap();
    assert_eq!(*size, 10);
    close(
        without[0],
        (160.0 + 6.0 * 28.5) / (5.0 + 0.6 + 5.0),
        1e-12,
        "without the fair",
    );
    close(
        without[1],
        (95.0 + 7.0 * 28.5) / (5.0 + 0.7 + 8.0),
        1e-12,
        "without the market",
    );
    let page = answer.text(&Look::page(false)).replace('\n', " ");
    assert!(
        page.contains("Without it you would earn 31.23 EUR an hour on average, if its pieces sell as the others do."),
        "{page}"
    );
    // A [steady] would be refused beside them.
    assert!(page.contains("write a [season] into the file"), "{page}");
    let fair = &ten.selling_days[0];
    assert_eq!(
        (fair.name.as_str(), fair.sold, fair.cost, fair.hours),
        ("fair", 3.0, 40.0, 8.0)
    );
    close(fair.kept, 135.0, 1e-12, "kept");
    // Both of two are sold at the fair, and the market is stood for nothing.
    close(two.hours.mean, 14.0, 1e-12, "hours of two");
    close(two.profit.mean, 2.0 * 45.0 - 40.0, 1e-12, "profit of two");
    assert_eq!(two.selling_days[1].sold, 0.0);
    let told = batchwright::render::understood::scenario(&shop, 200, true);
    assert!(
        told.contains("Selling day \"fair\", once with every batch: 3 pieces find a buyer at 60.00 EUR each"),
        "{told}"
    );
    assert!(told.contains("40.00 EUR, 6 h there and 2 h on the way"), "{told}");
    // An order that is there already goes to no fair.
    let quoted = floor::orders(&shop, None, &[1], &settings(100), &|_| ());
    let due = (36.0 / 60.0 * 20.0 + 6.5) / 0.7;
    close(quoted.sizes[0].floor_asked.price.unwrap(), due, 1e-12, "an order");
}

/// No pace lengthens a day, and what nobody buys there comes home to a season that asks for two.
#[test]
fn days_keep_their_hours_and_a_season_comes_after() {
    let shop = scenario(&format!(
        "{TRIVETS}[pace]\nfactor = \"0.5 / 1.5\"\n[season]\nbuyers = 2\nclearance = 10\n"
    ));
    let money = model::money(&shop, 10).unwrap();
    close(money.clearance, 10.0, 1e-12, "one is left");
    // At the bench 5.2 h at a pace whose variance is 1/12.
    close(
        variance_of_hours(&shop, 10).unwrap(),
        5.2 * 5.2 / 12.0,
        1e-12,
        "variance",
    );
    let ten = &sweep::run(&shop, &settings(20_000), &|_| ()).sizes[1];
    close(ten.hours.mean, 18.2, 0.02, "hours");
    close(ten.hours.p10, 5.2 * 0.6 + 13.0, 0.02, "a quick day");
    let pace = &drivers::run(&shop, 10, &settings(1_000), &|_| ());
    let pace = pace
        .inputs
        .iter()
        .find(|input| input.kind == drivers::Kind::Pace)
        .unwrap();
    let profit = money.profit();
    close(
        pace.swing.unwrap().low.rate,
        profit / (5.2 * 0.6 + 13.0),
        1e-9,
        "at a quick pace",
    );
    close(
        pace.swing.unwrap().high.rate,
        profit / (5.2 * 1.4 + 13.0),
        1e-9,
        "at a slow pace",
    );
}

/// One piece, lost with 1/4; a day that finds from none to four buyers, uniform before it is rounded: at least one with 7/8.
#[test]
fn chance_by_law() {
    let shop = scenario(
        &TRIVETS
            .replace("sells = 3", "sells = \"0 / 4\"")
            .replace("cost = 40", "cost = \"20 / 60\"")
            .replace("there = \"6 h\"", "there = \"4 / 8 h\"")
            .replace("sizes = [2, 10]", "sizes = [1, 6]")
            .replace("each = \"30 min\"", "each = \"30 min\"\nspoil = \"25 %\""),
    );
    let days = counts::on_selling_days(&shop, &counts::good(&shop, 1));
    close(days.0[0].mean(), 0.75 * 0.875, 1e-12, "at the fair");
    close(days.0[1].mean(), 0.75 * 0.125, 1e-12, "at the market");
    close(days.1.mean(), 0.0, 1e-12, "home");
    // Of six: by each number of good ones and of buyers.
    let due = |size: u32| model::money(&shop, size).unwrap();
    let trials = 40_000;
    for at in sweep::run(&shop, &settings(trials), &|_| ()).sizes {
        let bound = normal_bound(ALARM) * at.profit.se;
        assert!(
            (at.profit.mean - due(at.size).profit()).abs() < bound,
            "{:?}",
            at.profit
        );
        let bound = normal_bound(ALARM) * at.hours.se;
        assert!(
            (at.hours.mean - model::hours(&shop, at.size)).abs() < bound,
            "{:?}",
            at.hours
        );
    }
    let found = drivers::run(&shop, 6, &settings(500), &|_| ());
    for kind in [drivers::Kind::There, drivers::Kind::DayCost, drivers::Kind::DaySells] {
        assert!(
            found
                .inputs
                .iter()
                .any(|input| input.kind == kind && input.of.as_deref() == Some("fair")),
            "{kind:?}"
        );
    }
    assert!(
        found
            .levers
            .iter()
            .any(|lever| lever.kind == drivers::Kind::DayCost && lever.has == 40.0)
    );
    assert!(
        found
            .steps
            .iter()
            .any(|step| step.name == "market" && (step.hours - 5.0).abs() < 1e-9)
    );
    let stressed = stress::run(&shop, 6, &settings(500), &|_| ());
    let fewer = stressed
        .misfortunes
        .iter()
        .find(|m| m.kind == stress::Kind::Days)
        .unwrap();
    assert!(fewer.strengths.iter().all(|s| s.rate_change.mean < 0.0), "{fewer:?}");
}

/// Eleven hours at the bench a week: ten take 5.3 there, and 13 at the fair and the market, which are none of the eleven.
#[test]
fn a_week_at_the_bench_has_its_selling_days_besides() {
    let shop = scenario(&format!("{TRIVETS}[hours]\nmon = 11\n"));
    let plain = scenario(&format!(
        "{}[hours]\nmon = 11\n",
        TRIVETS.split("[[selling_day]]").next().unwrap()
    ));
    let question = compare::Question {
        sizes: vec![Some(10); 2],
        ..compare::Question::default()
    };
    let found = compare::run(&[shop, plain], &question, &settings(100), &|_| ());
    let [week, other] = [0, 1].map(|k| found.entries[k].week);
    let runs = 11.0 / 5.3;
    close(week.runs.unwrap(), runs, 1e-12, "batches");
    close(week.day_hours.unwrap(), 13.0 * runs, 1e-12, "hours of days");
    close(week.hours.unwrap(), 18.3 * runs, 1e-12, "all hours");
    close(week.money.unwrap().mean, 340.5 * runs, 1e-12, "money");
    assert_eq!(other.day_hours, None);
    let said = found.text(&Look::page(false)).replace('\n', " ");
    assert!(
        said.contains("The selling days of A take another 26 h 59 min of a week"),
        "{said}"
    );
    assert!(!said.contains("selling days of B"), "{said}");
    // Next to the opening, which may name hours that have those in them.
    let why = found.page(&Look::page(false)).why;
    assert!(why[0].starts_with("The selling days of A"), "{why:?}");
}

/// The fair and the market ask more where the list price does; an order that is there already goes to neither.
#[test]
fn floors_say_what_days_ask_and_that_orders_go_to_none() {
    let shop = scenario(TRIVETS);
    let found = floor::run(&shop, &settings(100), &|_| ());
    let ratios: Vec<(&str, f64)> = found
        .selling_days
        .iter()
        .map(|day| (day.name.as_str(), day.per_list_price))
        .collect();
    assert_eq!(ratios, [("fair", 1.2), ("market", 1.0)]);
    let said = |floors: &floor::Floors| floors.text(&Look::page(false)).replace('\n', " ");
    assert!(said(&found).contains("EUR at 'market'."), "{}", said(&found));
    let order = floor::orders(&shop, None, &[1], &settings(100), &|_| ());
    assert!(order.past_days && order.selling_days.is_empty() && !order.past_seconds);
    assert!(
        said(&order).contains("Such an order goes to no selling day"),
        "{}",
        said(&order)
    );
    let flawed = scenario(&TRIVETS.replace("each = \"30 min\"", "each = \"30 min\"\nsecond = \"10 %\""));
    let order = floor::orders(&flawed, None, &[1], &settings(100), &|_| ());
    assert!(
        order.past_seconds && said(&order).contains("A second fills no order"),
        "{}",
        said(&order)
    );
}

/// How many may stay unsold is asked where the file says nothing of what sells; where it has selling days, what these sell is asked.
#[test]
fn bad_luck_in_selling_is_that_of_the_days() {
    let kinds = |text: &str| {
        let found = stress::run(&scenario(text), 10, &settings(100), &|_| ());
        let kinds = found.misfortunes.into_iter().map(|m| m.kind);
        let kinds = kinds.filter(|kind| [stress::Kind::Days, stress::Kind::Unsold].contains(kind));
        kinds.collect::<Vec<_>>()
    };
    assert_eq!(kinds(TRIVETS), [stress::Kind::Days]);
    assert_eq!(
        kinds(TRIVETS.split("[[selling_day]]").next().unwrap()),
        [stress::Kind::Unsold]
    );
}
