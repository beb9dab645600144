//! The program held against the outside: exact values, published tables and other libraries, from scenario text to answer.
//!
//! The tables are in `tests/reference/`. Each computed one is made by the short script that names it (Python 3.11, versions
//! pinned in `requirements.txt`); `tests/reference/remake.sh` makes them anew, `remake.sh --check` compares. What printed
//! sources say is typed, with its source, in `published.csv`.
//!
//! Where a value is random, its bound follows from a stated chance of a false alarm: one in a million a check
//! (`crate::bounds::ALARM`) where nothing else is said. Seeds are fixed.

#![allow(clippy::unwrap_used, reason = "a test that fails may panic")]

mod money;

use crate::bounds::{
    ALARM, close, count_is_binomial, normal_bound, quantile_is, rows, scenario, settings, simulate, sorted,
};

use batchwright_core::questions::sweep::{self, SizeAnswer, Sweep};
use batchwright_core::stats;
use statrs::distribution::{Discrete, NegativeBinomial};

macro_rules! table {
    ($name:literal) => {
        rows(include_str!(concat!("../reference/", $name)))
    };
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("{text:?} is not a number"))
}

fn run(text: &str, trials: u64) -> Sweep {
    let settings = settings(trials);
    sweep::run(&scenario(text), &settings, &|_| ())
}

fn of_size(sweep: &Sweep, size: u32) -> &SizeAnswer {
    sweep.sizes.iter().find(|s| s.size == size).expect("in the sweep")
}

/// Pencil trays: everything certain. Own invention, see `shops.py`.
const PENCIL_TRAYS: &str = r#"
title = "Pencil trays"
target = 30
confidence = "80 %"
[batch]
sizes = [1, 2, 5, 6, 10]
[[step]]
name = "mill"
setup = "30 min"
each = "12 min"
[[step]]
name = "glue up"
setup = "10 min"
each = "8 min"
room = 4
[[step]]
name = "sand and finish"
setup = "15 min"
each = "25 min"
[[step]]
name = "pack"
per_order = "6 min"
[[material]]
name = "lumber"
unit = "board foot"
per_piece = 2.5
price = 9.00
waste = "25 %"
pack = 1
leftover = "lost"
breaks = [{ from = 20, price = 8.10 }]
[[material]]
name = "finish"
unit = "tray"
per_piece = 1
price = 1.50          # a can of 12 trays at 18.00
pack = 12
leftover = "lost"
[[material]]
name = "packaging"
per_order = 1
price = 1.80
[sale]
price = 95
post = 9.50
fee = "6.5 %"
fee_per_order = 0.45
"#;

/// Incense holders: discrete chances. Own invention, see `shops.py`.
const INCENSE_HOLDERS: &str = r#"
title = "Incense holders"
target = 25
confidence = "80 %"
[batch]
sizes = [1, 2, 5, 10]
spoiled = "short"
[[step]]
name = "throw"
setup = "20 min"
each = "10 min"
[[step]]
name = "bisque"
setup = "40 min"
room = 6
spoil = "10 %"
[[step]]
name = "glaze"
setup = "15 min"
each = "5 min"
[[step]]
name = "glaze firing"
setup = "40 min"
room = 6
spoil = "5 %"
[[step]]
name = "pack"
per_order = "4 min"
[[material]]
name = "clay"
per_piece = 1.20
price = 1
[[material]]
name = "glaze"
per_piece = 0.60
price = 1
at = "glaze"
[[material]]
name = "first firing"
per_round = 1
price = 7.00
at = "bisque"
[[material]]
name = "second firing"
per_round = 1
price = 7.00
at = "glaze firing"
[[material]]
name = "box"
per_order = 1
price = 1.10
[sale]
price = 28
post = 5.20
fee = "8 %"
fee_per_order = 0.30
"#;

/// Source: `shops.py`, exact fractions, written to twelve decimals: half a unit of the last, and the rounding of doubles.
#[test]
fn the_certain_shop_is_exact() {
    let sweep = run(PENCIL_TRAYS, 7);
    for row in table!("shop_certain.csv") {
        let answer = of_size(&sweep, number(&row[0]) as u32);
        let check = |found: f64, column: usize, what: &str| {
            let exact = number(&row[column]);
            close(found, exact, 1e-12 * (1.0 + exact), &format!("{what} of {}", row[0]));
        };
        check(answer.hours.mean * 60.0, 1, "minutes");
        // The table's materials are without packaging.
        check(answer.money.materials - 1.8 * f64::from(answer.size), 2, "materials");
        for profit in [answer.profit.mean, answer.profit.p10, answer.profit.p90] {
            check(profit, 3, "profit");
        }
        for rate in [
            answer.rate.mean,
            answer.rate.p10,
            answer.rate.p50,
            answer.rate.p90,
            answer.rate.long_run,
        ] {
            check(rate, 4, "rate");
        }
        for floor in answer.floor.iter().chain([&answer.floor_asked]) {
            for end in [floor.price, floor.low, floor.high] {
                check(end.expect("finite"), 5, "floor");
            }
        }
        check(answer.floor_long_run.expect("finite"), 5, "long-run floor");
        // Errors of what is certain are nothing but rounding.
        close(answer.rate.long_run_se, 0.0, 1e-12, "error of the long-run rate");
        let reaches = f64::from(u8::from(number(&row[5]) <= 95.0));
        close(answer.reach.share, reaches, 0.0, "share of runs that reach the target");
    }
    // 97.86 at two, 81.44 at five.
    assert_eq!(sweep.first_paying_size, Some(5));
}

/// Source: `shops.py`, enumerated in exact fractions. Twenty-four checks at four standard errors each: a false alarm in about
/// 1 of 650 seeds. Floors are discrete and must be exact.
#[test]
fn the_shop_of_chances_lies_around_its_exact_values() {
    let n = 200_000;
    let root = (n as f64).sqrt();
    let sweep = run(INCENSE_HOLDERS, n);
    for row in table!("shop_chance.csv") {
        let at = |column: usize| number(&row[column]);
        let answer = of_size(&sweep, at(0) as u32);
        let about = |found: f64, exact: f64, sd: f64, what: &str| {
            close(found, exact, 4.0 * sd / root, &format!("{what} of {}", row[0]));
        };
        about(answer.good.mean, at(1), at(2), "good");
        about(answer.sold.mean, at(1), at(2), "sold");
        about(answer.profit.mean, at(3), at(4), "profit");
        about(answer.hours.mean, at(5), at(6), "hours");
        about(answer.rate.long_run, at(7), at(8), "long-run rate");
        // A variance estimated from n trials has the relative error sqrt((kurtosis - 1) / n); its root half of that.
        let spread = 0.5 * (at(9) - 1.0).sqrt() * at(8);
        about(answer.rate.long_run_se * root, at(8), spread, "delta-method error");
        for (found, exact) in answer.floor.iter().zip(&row[10..]) {
            if exact.is_empty() {
                assert_eq!(
                    found.price, None,
                    "an infinite floor is due at {} of {}",
                    found.confidence, row[0]
                );
                assert_eq!(found.high, None);
            } else {
                close(found.price.expect("finite"), number(exact), 1e-10, "floor");
            }
        }
    }
    let json: serde_json::Value = serde_json::to_value(&sweep).expect("valid");
    assert!(json["sizes"][0]["floor"][2]["price"].is_null(), "infinite is null");
}

/// By hand: 95 min earn 45; floor 40 x 95/60 + 5. 410 min earn 450; floor (40 x 410/60 + 50) / 10. Each further piece takes 35 min
/// and earns 45.
#[test]
fn the_simplest_certain_shop_is_exact() {
    let sweep = run(
        r#"
target = 40
[batch]
sizes = "1..10"
[[step]]
name = "make"
setup = "60 min"
each = "15 min"
[[step]]
name = "pack"
per_order = "20 min"
[[material]]
name = "stock"
per_piece = 1
price = 5
[sale]
price = 50
"#,
        100,
    );
    for (size, rate, floor) in [(1, 28.421_052_6, 68.333_333_3), (10, 65.853_658_5, 32.333_333_3)] {
        let answer = of_size(&sweep, size);
        // Written to seven decimals.
        close(answer.rate.p50, rate, 0.5e-7, "rate");
        close(answer.rate.long_run, rate, 0.5e-7, "long-run rate");
        close(answer.floor_asked.price.expect("valid"), floor, 0.5e-7, "floor");
        close(answer.floor_long_run.expect("valid"), floor, 0.5e-7, "long-run floor");
    }
    close(sweep.ceiling, 77.142_857_1, 0.5e-7, "ceiling");
    close(of_size(&sweep, 1).setup_share, 60.0 / 95.0, 1e-15, "setup's share");
}

/// A scenario whose trial takes the minutes of `steps`.
fn timed(sizes: &str, steps: &str) -> String {
    format!("target = 30\n[batch]\nsizes = {sizes}\n{steps}\n[sale]\nprice = 50\n")
}

/// A step with one more line than its name.
fn step(name: &str, line: &str) -> String {
    format!("[[step]]\nname = \"{name}\"\n{line}\n")
}

/// Checks mean, variance and three quantiles of simulated minutes against exact ones, and the sweep's own quantiles against
/// those of the sorted trials.
fn minutes_are(text: &str, size: u32, exact: &[String], what: &str) {
    let trials = 100_000;
    let n = trials as f64;
    let made = scenario(text);
    let at = made.batch.sizes.iter().position(|s| *s == size).expect("in the sweep");
    let hours = sorted(&simulate(&made, trials, 1)[at].hours);
    let minutes: Vec<f64> = hours.iter().map(|h| h * 60.0).collect();
    for (q, value) in [0.1, 0.5, 0.9].into_iter().zip(exact) {
        quantile_is(&minutes, q, number(value), what);
    }
    let (mean, variance) = stats::mean_variance(&minutes);
    let (exact_mean, exact_variance) = (number(&exact[3]), number(&exact[4]));
    let z = normal_bound(ALARM);
    close(mean, exact_mean, z * (exact_variance / n).sqrt(), what);
    // Sums of independent triangular variables have a kurtosis between 2.4 (one) and 3 (many).
    close(variance, exact_variance, z * exact_variance * (2.0 / n).sqrt(), what);
    let answer = &run(text, trials).sizes[at];
    for (q, found) in [
        (0.1, answer.hours.p10),
        (0.5, answer.hours.p50),
        (0.9, answer.hours.p90),
    ] {
        let place = stats::QuantileRank::new(hours.len(), q);
        assert_eq!(found, stats::quantile(&hours, place), "{what}");
    }
}

/// Source: Irwin (1927) and Hall (1927), exact rationals by `sums.py`.
#[test]
fn symmetric_pieces_add_up_to_irwin_and_hall() {
    let text = timed("[1, 2, 5, 12]", &step("turn", "each = \"4 / 6 / 8 min\""));
    for row in table!("irwin_hall.csv") {
        minutes_are(&text, number(&row[0]) as u32, &row[1..], &format!("{} pieces", row[0]));
    }
    let trials = 100_000;
    let runs = simulate(&scenario(&text), trials, 2);
    for row in table!("irwin_hall_cdf.csv") {
        let of_size = runs.iter().find(|r| r.size == number(&row[0]) as u32).expect("valid");
        let under = of_size.hours.iter().filter(|h| **h * 60.0 <= number(&row[1])).count() as u64;
        count_is_binomial(
            under,
            trials,
            number(&row[2]),
            &format!("{} pieces under {} min", row[0], row[1]),
        );
    }
}

/// Source: exact rationals by `sums.py` (agreeing there with a numerical convolution to 3e-6).
#[test]
fn skewed_sums_have_their_exact_quantiles() {
    let three = [
        step("saw", "each = \"2 / 3 / 7 min\""),
        step("sand", "each = \"1 / 4 / 5 min\""),
        step("oil", "each = \"10 / 12 / 20 min\""),
    ]
    .concat();
    let pieces = step("turn", "each = \"4 / 6 / 14 min\"");
    let with_setup = step("turn", "setup = \"20 / 30 / 60 min\"\neach = \"15 / 20 / 40 min\"");
    let alike = step("turn", "each = \"4 / 6 / 14 min\"\nvaries = \"batch\"");
    for row in table!("asymmetric.csv") {
        let (steps, size) = match row[0].as_str() {
            "three steps" => (&three, 1),
            "5 pieces" => (&pieces, 5),
            "10 pieces" => (&pieces, 10),
            "setup and 5 pieces" => (&with_setup, 5),
            "10 pieces, one draw" => (&alike, 10),
            other => panic!("no scenario for {other}"),
        };
        minutes_are(&timed(&format!("[{size}]"), steps), size, &row[1..], &row[0]);
    }
}

/// Minutes of batches of 1 to 100, first piece an hour, with these lines about learning.
fn learned(lines: &str) -> Vec<f64> {
    let text = timed("\"1..100\"", &step("carve", &format!("each = \"60 min\"\n{lines}")));
    run(&text, 1).sizes.iter().map(|s| s.hours.mean * 60.0).collect()
}

/// Source: `learning.py` (Crawford's unit model) and the printed values of `published.csv`, each to its last printed digit.
#[test]
fn learning_follows_crawford() {
    for percent in [80, 85, 90] {
        let totals = learned(&format!("learning = \"{percent} %\""));
        let total = |n: usize| if n == 0 { 0.0 } else { totals[n - 1] / 60.0 };
        let unit = |n: usize| total(n) - total(n - 1);
        let here = |row: &&Vec<String>, column: usize| number(&row[column]) == f64::from(percent);
        let computed = table!("learning.csv");
        for row in computed.iter().filter(|r| here(r, 0)) {
            let n = number(&row[1]) as usize;
            close(unit(n), number(&row[2]), 0.5e-8 + 1e-12, "unit");
            close(total(n), number(&row[3]), 0.5e-8 + 1e-12, "total");
        }
        let printed = table!("published.csv");
        for row in printed.iter().filter(|r| here(r, 1)) {
            let n = number(&row[2]) as usize;
            let found = match row[0].as_str() {
                "learning unit" => unit(n),
                "learning total" => total(n),
                other => panic!("no check for {other}"),
            };
            let last_digit = 10.0_f64.powf(-number(&row[4]));
            close(found, number(&row[3]), 0.5 * last_digit + 1e-12, &row.join(", "));
        }
    }
}

/// Source: `learning.py`. The estimate is the time of the next piece: with ten made before, that of the eleventh.
#[test]
fn learning_counts_what_was_made_before() {
    let table = table!("learning_minutes.csv");
    let [after_ten, from_scratch] = [&table[0], &table[1]];
    let eleventh = 30.0 * 11.0_f64.powf(0.85_f64.log2());
    let lines = format!("each = \"{eleventh} min\"\nlearning = \"85 %\"\nmade_before = 10");
    let found = run(&timed("[10]", &step("carve", &lines)), 1).sizes[0].hours.mean * 60.0;
    close(found, number(&after_ten[1]), 0.5e-9 + 1e-11, &after_ten[0]);
    let lines = "each = \"12 min\"\nlearning = \"90 %\"";
    let found = run(&timed("[10]", &step("carve", lines)), 1).sizes[0].hours.mean * 60.0;
    close(found, number(&from_scratch[1]), 0.5e-9 + 1e-11, &from_scratch[0]);
}

/// Units 4 and later at 80 % take 0.64 of the first (the table), pieces made before are counted in.
#[test]
fn learning_ends_where_it_is_said_to() {
    let totals = learned("learning = \"80 %\"\nlearned_by = 4");
    for n in 4..=100 {
        let exact = 3.142_103_70 + f64::from(n - 4) * 0.64;
        close(totals[n as usize - 1] / 60.0, exact, 0.5e-8 + 1e-11, "plateau");
    }
    // Third and fourth unit at 80 %: 0.70210370 and 0.64 of the first.
    let totals = learned("learning = \"80 %\"\nmade_before = 2\nlearned_by = 4");
    let fourth = 0.64 / 0.702_103_70;
    for n in 1..=100 {
        let exact = 1.0 + f64::from(n - 1) * fourth;
        close(
            totals[n as usize - 1] / 60.0,
            exact,
            f64::from(n) * 2e-8,
            "plateau after two",
        );
    }
}

/// One step that spoils, and an hour an order of one, so that hours count good pieces.
fn spoiling(sizes: &str, chances: &[&str]) -> String {
    let steps: String = (0..)
        .zip(chances)
        .map(|(k, chance)| step(&format!("fire {k}"), &format!("spoil = \"{chance}\"")))
        .collect();
    timed(sizes, &(steps + &step("pack", "per_order = \"1 h\"")))
}

fn spoil_of(good: &str) -> Vec<&'static str> {
    match good {
        "0.9" => vec!["10 %"],
        "0.8" => vec!["20 %"],
        "0.95" => vec!["5 %"],
        // 0.9 x 0.95
        "0.855" => vec!["10 %", "5 %"],
        other => panic!("no chances for {other}"),
    }
}

/// Source: binomial tails in exact fractions, `yields.py`.
#[test]
fn good_pieces_are_binomial() {
    let trials = 100_000;
    for row in table!("good.csv") {
        let text = spoiling(&format!("[{}]", row[0]), &spoil_of(&row[2]));
        let runs = &simulate(&scenario(&text), trials, 3)[0];
        let enough = number(&row[1]) - 0.5;
        let count = runs.hours.iter().filter(|h| **h > enough).count() as u64;
        count_is_binomial(
            count,
            trials,
            number(&row[3]),
            &format!("{} good of {} at {}", row[1], row[0], row[2]),
        );
    }
}

/// Source: starts needed are n + NegBin(n, y): SciPy by `yields.py`, and statrs' own probabilities.
#[test]
fn starts_until_all_are_good_are_negative_binomial() {
    let trials = 100_000;
    let n = trials as f64;
    for row in table!("starts.csv") {
        let (good, share) = (number(&row[0]), number(&row[1]));
        // An hour a start at the first step: hours count starts, whichever step then spoils them.
        let steps: String = spoil_of(&row[1])
            .iter()
            .enumerate()
            .map(|(k, spoil)| {
                let each = if k == 0 { "each = \"1 h\"\n" } else { "" };
                step(&format!("fire {k}"), &format!("{each}spoil = \"{spoil}\""))
            })
            .collect();
        let text = timed(&format!("[{}]\nspoiled = \"remake\"", row[0]), &steps);
        let runs = &simulate(&scenario(&text), trials, 4)[0];
        let what = format!("starts for {good} good at {share}");
        let (mean, variance) = (number(&row[2]), number(&row[3]));
        let found = stats::mean_variance(&runs.hours).0;
        close(found, mean, normal_bound(ALARM) * (variance / n).sqrt(), &what);
        let starts = sorted(&runs.hours);
        for (q, value) in [0.5, 0.8, 0.9, 0.95].into_iter().zip(&row[4..8]) {
            quantile_is(&starts, q, number(value), &what);
        }
        let count = |wanted: f64| starts.iter().filter(|s| (**s - wanted).abs() < 0.5).count() as u64;
        count_is_binomial(count(good), trials, number(&row[8]), &format!("{what}: none lost"));
        let law = NegativeBinomial::new(good, share).expect("valid");
        for lost in 0..12 {
            count_is_binomial(
                count(good + lost as f64),
                trials,
                law.pmf(lost),
                &format!("{what}: {lost} lost"),
            );
        }
        assert_eq!(runs.sums.good, n * good, "a remade batch is whole");
    }
}

/// A redo is a step done again, again with the same chance: 1 + geometric. Source: statrs' negative binomial with one success.
#[test]
fn redone_pieces_are_geometric() {
    let trials = 100_000;
    let text = timed("[1]", &step("lacquer", "each = \"1 h\"\nredo = \"30 %\""));
    let runs = &simulate(&scenario(&text), trials, 5)[0];
    let law = NegativeBinomial::new(1.0, 0.7).expect("valid");
    for again in 0..8 {
        let count = runs
            .hours
            .iter()
            .filter(|h| (**h - 1.0 - again as f64).abs() < 0.5)
            .count() as u64;
        count_is_binomial(count, trials, law.pmf(again), &format!("{again} redos"));
    }
}

/// Source: small exact distributions, `ratio.py` (renewal-reward theorem and ratio estimator, from memory).
#[test]
fn the_long_run_rate_is_a_ratio_of_means() {
    // Samples that hold each outcome in exactly its share; the divisor n - 1 is taken out.
    type Case = (&'static str, &'static [(f64, f64, usize)]);
    let cases: [Case; 3] = [
        ("A", &[(60.0, 2.0, 5), (40.0, 8.0, 5)]),
        ("B", &[(90.0, 3.0, 6), (50.0, 5.0, 3), (-20.0, 4.0, 1)]),
        ("C", &[(80.0, 4.0, 5), (40.0, 4.0, 5)]),
    ];
    let table = table!("ratio.csv");
    for (name, outcomes) in cases {
        let row = table.iter().find(|r| r[0] == name).expect("valid");
        for copies in [1, 100] {
            let sample = |pick: fn(&(f64, f64, usize)) -> f64| -> Vec<f64> {
                let all = outcomes.iter().flat_map(|o| std::iter::repeat_n(pick(o), o.2 * copies));
                all.collect()
            };
            let (profit, hours) = (sample(|o| o.0), sample(|o| o.1));
            let n = profit.len() as f64;
            let found = stats::ratio(&profit, &hours);
            close(found.mean, number(&row[1]), 1e-10, "long-run rate");
            let one = found.se * n.sqrt() * ((n - 1.0) / n).sqrt();
            close(one, number(&row[3]), 1e-9, "delta-method error");
        }
    }
    let row = table.last().expect("valid");
    let profit = [52.0, 61.0, -8.0, 47.0, 70.0, 33.0, 58.0, 64.0, 12.0, 41.0];
    let hours = [3.0, 3.5, 4.0, 3.0, 4.5, 2.5, 3.5, 4.0, 5.0, 3.0];
    let found = stats::ratio(&profit, &hours);
    close(
        found.mean,
        number(&row[1]),
        0.5e-10 + 1e-14,
        "long-run rate of ten runs",
    );
    close(found.se, number(&row[3]), 0.5e-10 + 1e-14, "its error");
}

/// Case A as a shop: an order is a third of an hour, and the other half of the trials is spoiled. Sampled, not stacked.
#[test]
fn the_long_run_rate_of_a_shop_is_not_the_mean_of_its_rates() {
    // A good piece earns 60 in 2 h, a spoiled one nothing in 1 h: E[profit] / E[hours] is 30 / 1.5 = 20, the mean of rates 15.
    let text = "target = 10\n[batch]\nsizes = [1]\n\
        [[step]]\nname = \"fire\"\nsetup = \"1 h\"\nspoil = \"50 %\"\n[[step]]\nname = \"sell\"\nper_order = \"1 h\"\n[sale]\nprice = 60\n";
    let n = 100_000;
    let answer = &run(text, n).sizes[0];
    // Residuals P - 20 H are 20 and -20: the error of one trial is 20 / 1.5. The mean of rates varies by 15.
    let z = normal_bound(ALARM) / (n as f64).sqrt();
    close(answer.rate.long_run, 20.0, z * 20.0 / 1.5, "long-run rate");
    close(answer.rate.mean, 15.0, z * 15.0, "mean of rates");
    let count = (answer.good.mean * n as f64).round() as u64;
    count_is_binomial(count, n, 0.5, "good");
}

/// Source: statsmodels by `yields.py`; the first four agree with Newcombe (1998), Statistics in Medicine 17, 857-872, whose
/// printed values (.2553 .3662, .0624 .1605, 0 .1611, .0061 .1718) are from memory.
#[test]
fn shares_have_wilsons_interval() {
    for row in table!("wilson.csv") {
        let found = stats::wilson_of(number(&row[0]), number(&row[1]));
        close(found.low, number(&row[2]), 0.5e-12 + 1e-15, "lower end");
        close(found.high, number(&row[3]), 0.5e-12 + 1e-15, "upper end");
    }
}

/// Source: `intervals.csv` (intervals of the median with their exact coverage, in fractions) and SciPy's binomial quantiles by `yields.py`.
#[test]
fn quantiles_have_their_order_statistics() {
    for row in table!("intervals.csv") {
        let n = number(&row[0]) as usize;
        let place = stats::QuantileRank::new(n, 0.5);
        let (low, high) = (place.low as u64 + 1, place.high as u64 + 1);
        assert_eq!(
            (low, high),
            (number(&row[1]) as u64, number(&row[2]) as u64),
            "median of {n}"
        );
        // Its coverage, P(low <= Bin(n, 1/2) < high), by fractions.
        let law = statrs::distribution::Binomial::new(0.5, n as u64).expect("valid");
        let coverage: f64 = (low..high).map(|k| law.pmf(k)).sum();
        close(coverage, number(&row[3]), 1e-14, "coverage");
    }
    for row in table!("places.csv") {
        let place = stats::QuantileRank::new(number(&row[0]) as usize, number(&row[1]));
        let found = (place.low + 1, place.high + 1);
        assert_eq!(
            found,
            (number(&row[2]) as usize, number(&row[3]) as usize),
            "{} of {}",
            row[1],
            row[0]
        );
    }
}

fn values(text: &str) -> Vec<f64> {
    text.split(' ').map(number).collect()
}

/// Source: numpy's "linear" method by `quantiles.py`: type 7 of Hyndman & Fan (1996).
#[test]
fn quantiles_are_of_type_7() {
    for row in table!("quantiles.csv") {
        let mut data = values(&row[0]);
        data.reverse();
        let place = stats::QuantileRank::new(data.len(), number(&row[1]));
        stats::put_in_order(&mut data, &[place]);
        close(
            stats::quantile(&data, place),
            number(&row[2]),
            0.5e-10 + 1e-14,
            &row.join(", "),
        );
    }
}

/// Source: numpy by `quantiles.py`.
#[test]
fn means_have_their_standard_errors() {
    for row in table!("summaries.csv") {
        let data = values(&row[0]);
        let (mean, variance) = stats::mean_variance(&data);
        close(mean, number(&row[1]), 1e-13, "mean");
        close(variance.sqrt(), number(&row[2]), 0.5e-12 + 1e-14, "sd");
        close(
            stats::mean(&data).se,
            number(&row[3]),
            0.5e-12 + 1e-14,
            "standard error",
        );
    }
}

/// Source: NIST Statistical Reference Datasets, univariate summaries (Lew, Michelso, NumAcc3, NumAcc4), certified values from the
/// headers of the files. NumAcc3 and 4 cannot be held exactly in doubles: the exact results of the rounded data have standard
/// deviations of 0.100000000034925 and 0.100000000558794.
#[test]
fn hard_data_sets_keep_their_digits() {
    let sets = [
        (table!("nist_lew.csv"), -177.435, 277.332_168_044_316, 1e-14),
        (table!("nist_michelso.csv"), 299.8524, 0.079_010_547_819_051_8, 1e-12),
        (table!("nist_numacc3.csv"), 1_000_000.2, 0.100_000_000_034_925, 1e-12),
        (table!("nist_numacc4.csv"), 10_000_000.2, 0.100_000_000_558_794, 1e-12),
    ];
    for (rows, mean, sd, digits) in sets {
        let data: Vec<f64> = rows.iter().map(|r| number(r.last().expect("valid"))).collect();
        let (found, variance) = stats::mean_variance(&data);
        // Eight partial sums of n / 8 values each: as many roundings of half a unit in the last place at the most.
        let roundings = data.len() as f64 / 8.0 + 9.0;
        close(found, mean, roundings * 0.5 * f64::EPSILON * mean.abs(), "mean");
        close(variance.sqrt(), sd, digits * sd, "standard deviation");
    }
}
