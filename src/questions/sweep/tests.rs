use super::*;
use crate::scenario::{Spread, Step};
use crate::testing::{incense_holders, material, pencil_trays, scenario, step, tri};

fn quiet(scenario: &Scenario, trials: u64) -> Sweep {
    run(
        scenario,
        &Settings {
            trials,
            ..Settings::default()
        },
        &|_| (),
    )
}

fn close(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found} against {expected}"
    );
}

/// 50 for half an hour; four trials in five take 1.2 times that or less: 50 / 0.6 less 3 of overhead is 80.33, and no trial of any
/// size, setup being nothing, does otherwise.
#[test]
fn the_pace_alone_holds_the_hour_down() {
    let mut shop = scenario(
        50.0,
        40.0,
        &[1, 50],
        vec![Step {
            each: Spread::Certain(30.0),
            ..step("turn")
        }],
    );
    shop.pace = Spread::uniform(0.8, 1.3);
    shop.shop.per_hour = 3.0;
    shop.confidence = 0.8;
    let exact = 50.0 / (0.5 * 1.2) - 3.0;
    close(quiet(&shop, 10).slow_ceiling, exact, 1e-12, "by hand");
    for size in quiet(
        &Scenario {
            target_per_hour: exact,
            ..shop
        },
        40_000,
    )
    .sizes
    {
        // Four trials in five reach it: within 4.9 standard errors, one false alarm in a million.
        let bound = 4.9 * (0.8_f64 * 0.2 / 40_000.0).sqrt();
        close(size.reach.share, 0.8, bound, "reach");
    }
}

#[test]
fn a_certain_shop_is_exact() {
    let certain = Spread::Certain;
    let mut shop = scenario(
        50.0,
        40.0,
        &[1, 10],
        vec![
            Step {
                setup: certain(60.0),
                each: certain(15.0),
                ..step("make")
            },
            Step {
                per_order: certain(20.0),
                ..step("pack")
            },
        ],
    );
    shop.materials = vec![crate::scenario::Material {
        per_piece: 1.0,
        ..material("stock", 5.0)
    }];
    let sweep = quiet(&shop, 100);
    // By hand: 95 min earn 45; floor (40 x 95/60 + 5). 410 min earn 450; floor (40 x 410/60 + 50) / 10.
    for (answer, minutes, pieces) in [(&sweep.sizes[0], 95.0, 1.0), (&sweep.sizes[1], 410.0, 10.0)] {
        close(answer.rate.p50, 45.0 * pieces / (minutes / 60.0), 1e-12, "rate");
        close(
            answer.rate.long_run,
            45.0 * pieces / (minutes / 60.0),
            1e-12,
            "long-run rate",
        );
        close(answer.rate.long_run_se, 0.0, 1e-12, "its error");
        close(
            answer.floor_asked.price.expect("finite"),
            40.0 * minutes / 60.0 / pieces + 5.0,
            1e-12,
            "floor",
        );
        close(answer.setup_share, 60.0 / minutes, 1e-15, "setup share");
    }
    close(sweep.ceiling, 45.0 / (35.0 / 60.0), 1e-12, "ceiling");
    assert_eq!(sweep.first_paying_size, Some(10));
}

#[test]
fn pencil_trays_match_the_exact_fractions() {
    // (size, profit, hours, rate, floor): exact fractions, tests/reference/shop_certain.csv.
    let exact = [
        (1, 23.0750, 1.766_666_666_7, 13.061_320_754_7, 127.005_347_593_6),
        (2, 73.1500, 2.616_666_666_7, 27.955_414_012_7, 97.860_962_566_8),
        (5, 223.3750, 5.333_333_333_3, 41.882_812_500_0, 81.443_850_267_4),
        (10, 493.5500, 9.750_000_000_0, 50.620_512_820_5, 73.497_326_203_2),
    ];
    let sweep = quiet(&pencil_trays(), 9);
    for (size, profit, hours, rate, floor) in exact {
        let answer = sweep.sizes.iter().find(|s| s.size == size).expect("in the sweep");
        close(answer.profit.mean, profit, 1e-9, "profit");
        close(answer.hours.mean, hours, 1e-9, "hours");
        close(answer.rate.long_run, rate, 1e-9, "rate");
        for found in answer.floor.iter().chain([&answer.floor_asked]) {
            close(found.price.expect("finite"), floor, 1e-9, "floor");
        }
        close(answer.floor_long_run.expect("finite"), floor, 1e-9, "long-run floor");
    }
    // The trap named beside the table: 18.75 board feet are 19 at 9.00, but 20 at 8.10 cost less in all.
    let six = sweep.sizes.iter().find(|s| s.size == 6).expect("in the sweep");
    close(
        six.money.materials,
        20.0 * 8.1 + 18.0 + 6.0 * 1.8,
        1e-9,
        "materials of six",
    );
}

#[test]
fn incense_holders_lie_within_bounds_of_the_exact_values() {
    // (size, E[good], E[profit], sd profit, E[hours], long-run rate, delta s.e. x sqrt(n), floors): enumerated exactly,
    // tests/reference/shop_chance.csv.
    type Row = (u32, f64, f64, f64, f64, f64, f64, [Option<f64>; 3]);
    let exact: [Row; 4] = [
        (
            1,
            0.855,
            1.3418,
            5.080_352_42,
            2.123_666_666_7,
            0.631_831_737_6,
            2.330_733_95,
            [Some(85.036_231_884_1), Some(85.036_231_884_1), None],
        ),
        (
            2,
            1.71,
            15.3536,
            9.121_754_08,
            2.504_833_333_3,
            6.129_589_460_4,
            3.440_545_27,
            [Some(51.385_869_565_2), Some(90.869_565_217_4), Some(90.869_565_217_4)],
        ),
        (
            5,
            4.275,
            59.209_07,
            14.760_823_30,
            3.409_990_833_3,
            17.363_410_312_2,
            3.837_585_10,
            [Some(36.019_021_739_1), Some(36.748_188_405_8), Some(44.057_971_014_5)],
        ),
        (
            10,
            8.55,
            118.507_566_389_5,
            20.651_954_56,
            6.228_136_534_3,
            19.027_772_711_3,
            2.853_066_72,
            [Some(31.902_173_913_0), Some(34.402_173_913_0), Some(37.616_459_627_3)],
        ),
    ];
    let n = 100_000;
    let sweep = quiet(&incense_holders(), n);
    // Ten checks of a mean at four standard errors each: one false alarm in about 1,500 seeds.
    let root = (n as f64).sqrt();
    for (answer, row) in sweep.sizes.iter().zip(exact) {
        let (size, good, profit, sd, hours, rate, rate_sd, floors) = row;
        assert_eq!(answer.size, size);
        close(answer.good.mean, good, 4.0 * answer.good.se, "good");
        close(answer.profit.mean, profit, 4.0 * sd / root, "profit");
        close(answer.hours.mean, hours, 4.0 * answer.hours.se, "hours");
        close(answer.rate.long_run, rate, 4.0 * rate_sd / root, "long-run rate");
        // A standard error estimated from n trials is itself within a few per cent.
        close(
            answer.rate.long_run_se * root,
            rate_sd,
            0.03 * rate_sd,
            "delta-method error",
        );
        close(answer.profit.se * root, sd, 0.03 * sd, "error of profit");
        for (found, expected) in answer.floor.iter().zip(floors) {
            match (found.price, expected) {
                (Some(found), Some(expected)) => close(found, expected, 1e-9, "floor"),
                (found, expected) => assert_eq!(found, expected, "size {size}"),
            }
        }
    }
}

#[test]
fn hours_agree_with_their_closed_forms() {
    let mut shop = scenario(
        80.0,
        30.0,
        &[1, 3, 7, 20, 65, 130],
        vec![
            Step {
                once: tri(60.0, 90.0, 200.0),
                setup: tri(20.0, 30.0, 60.0),
                ..step("draw")
            },
            Step {
                setup: tri(3.0, 4.0, 8.0),
                each: tri(3.0, 4.0, 7.0),
                room: Some(6),
                redo: 0.1,
                ..step("glue")
            },
            Step {
                each: tri(10.0, 12.0, 20.0),
                learning: Some(crate::scenario::Learning {
                    rate: 0.9,
                    made_before: 2,
                    learned_by: Some(40),
                }),
                ..step("carve")
            },
            Step {
                each: tri(2.0, 3.0, 5.0),
                varies: crate::scenario::Varies::Batch,
                redo: 0.05,
                ..step("oil")
            },
            Step {
                per_order: tri(10.0, 12.0, 30.0),
                ..step("pack")
            },
        ],
    );
    shop.pace = tri(0.9, 1.0, 1.4);
    shop.sale.order_of = Spread::Certain(3.0);
    let trials = 40_000;
    let check = |shop: &Scenario| {
        for answer in quiet(shop, trials).sizes {
            let exact = model::hours(shop, answer.size);
            // Four standard errors: one false alarm in 16,000 a check.
            close(answer.hours.mean, exact, 4.0 * answer.hours.se, "mean hours");
            if let Ok(variance) = model::variance::variance_of_hours(shop, answer.size) {
                let found = answer.hours.se * answer.hours.se * trials as f64;
                // The variance of a sample variance is (kurtosis - 1) s^4 / n; kurtosis here is under 4.
                close(
                    found,
                    variance,
                    4.0 * variance * (3.0 / trials as f64).sqrt(),
                    "variance of hours",
                );
            }
        }
    };
    check(&shop);
    shop.steps[1].spoil = 0.05;
    shop.steps[3].spoil = 0.02;
    check(&shop);
}

#[test]
fn trials_without_hours_count_as_nothing_earned() {
    let mut shop = scenario(
        50.0,
        30.0,
        &[1],
        vec![
            Step {
                spoil: 1.0,
                ..step("fire")
            },
            Step {
                per_order: Spread::Certain(60.0),
                ..step("pack")
            },
        ],
    );
    shop.materials = vec![crate::scenario::Material {
        per_piece: 1.0,
        ..material("clay", 2.0)
    }];
    let answer = &quiet(&shop, 300).sizes[0];
    assert_eq!(
        (answer.rate.mean, answer.rate.p50, answer.rate.long_run),
        (0.0, 0.0, 0.0)
    );
    assert_eq!((answer.profit.mean, answer.setup_share), (-2.0, 0.0));
    assert_eq!(answer.floor_long_run, None);
}

#[test]
fn remade_batches_are_whole_and_take_negative_binomial_starts() {
    // One step that takes a minute a piece and spoils one in ten: minutes are the starts needed for n good pieces,
    // n + NegBin(n, 0.9); tests/reference/starts.csv (SciPy 1.17.1).
    let mut shop = scenario(
        50.0,
        30.0,
        &[1, 2, 5, 10],
        vec![Step {
            each: Spread::Certain(60.0),
            spoil: 0.1,
            ..step("make")
        }],
    );
    shop.batch.spoiled = crate::scenario::Spoiled::Remake;
    let trials = 100_000;
    let exact = [
        (1, 1.111_111_111_1, 0.123_456_790_1, 1.0),
        (2, 2.222_222_222_2, 0.246_913_580_2, 3.0),
        (5, 5.555_555_555_6, 0.617_283_950_6, 7.0),
        (10, 11.111_111_111_1, 1.234_567_901_2, 13.0),
    ];
    for (answer, (size, mean, variance, p90)) in quiet(&shop, trials).sizes.iter().zip(exact) {
        assert_eq!((answer.size, answer.good.mean), (size, f64::from(size)));
        close(
            answer.hours.mean,
            mean,
            4.0 * (variance / trials as f64).sqrt(),
            "starts",
        );
        // P(one start is enough) is exactly 0.9 at size 1, so its 90 % quantile is 1 or 2 by chance.
        if size > 1 {
            close(answer.hours.p90, p90, 0.0, "90 % of starts");
        }
    }
}
