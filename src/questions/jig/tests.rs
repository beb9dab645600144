use super::*;
use crate::scenario::{Change, Finished, Jig, Spread, Steady, Step};
use crate::testing::{scenario, step, tri};

fn certain(minutes: f64) -> Spread {
    Spread::Certain(minutes)
}

fn jig(name: &str, step: usize) -> Jig {
    Jig {
        name: name.to_owned(),
        step,
        build: certain(120.0),
        cost: 14.0,
        setup: Change::NONE,
        each: Change::NONE,
        room: None,
        lasts: Some(100),
    }
}

/// Drilling 30 min and 6 a piece, gluing 10 min for every four; 30 an hour wanted.
fn shop() -> Scenario {
    let mut shop = scenario(
        40.0,
        30.0,
        &[1, 2, 5, 10],
        vec![
            Step {
                setup: certain(30.0),
                each: certain(6.0),
                ..step("drill")
            },
            Step {
                setup: certain(10.0),
                each: certain(8.0),
                room: Some(4),
                ..step("glue")
            },
        ],
    );
    shop.batch.runs = 3;
    shop.jigs = vec![
        Jig {
            setup: Change {
                factor: 0.5,
                minutes: 0.0,
            },
            each: Change {
                factor: 1.0,
                minutes: -2.0,
            },
            ..jig("stop", 0)
        },
        Jig {
            build: Spread::ZERO,
            cost: 60.0,
            room: Some(8),
            lasts: None,
            ..jig("clamps", 1)
        },
    ];
    shop
}

fn quiet(shop: &Scenario, size: u32, trials: u64) -> Jigs {
    let wanted: Vec<usize> = (0..shop.jigs.len()).collect();
    let settings = Settings {
        trials,
        ..Settings::default()
    };
    run(shop, &wanted, Some(size), &settings, &|_| ())
}

fn of<'a>(found: &'a Jigs, jigs: &[usize]) -> &'a Set {
    found.sets.iter().find(|s| s.jigs == jigs).expect("looked at")
}

fn close(found: f64, expected: f64, what: &str) {
    assert!(
        (found - expected).abs() <= 1e-9 * expected.abs().max(1.0),
        "{what}: {found} against {expected}"
    );
}

#[test]
fn a_certain_jig_pays_when_division_says() {
    let found = quiet(&shop(), 10, 300);
    // By hand, ten pieces. The stop saves 15 + 20 min a batch: 17.50. It costs 14 and two hours: 74. 74 / 17.5 = 4.23 batches.
    let stop = of(&found, &[0]);
    close(stop.saving.mean, 17.5, "saving");
    close(stop.outlay.p50, 74.0, "outlay");
    close(stop.payback.pieces[1].expect("pays"), 740.0 / 17.5, "pieces");
    assert_eq!(stop.payback.runs, [Some(5.0); 3]);
    close(stop.payback.mean_runs.expect("all pay").mean, 5.0, "mean runs");
    // It lasts 100 pieces, ten batches; three are planned.
    assert_eq!(
        (stop.payback.within_life.share, stop.payback.within_plan.share),
        (1.0, 0.0)
    );
    // Without: drill 30 + 60, glue 30 + 80, 200 min earn 400. With: 165 min, and 12 min of building and 1.40 a batch.
    close(found.rate.mean, 120.0, "rate without");
    close(stop.rate.mean, (400.0 - 1.4) / (177.0 / 60.0), "rate with");
    close(
        stop.adds_to_hour.mean,
        (400.0 - 1.4) / (177.0 / 60.0) - 120.0,
        "adds to the hour",
    );
    close(stop.adds_a_run.mean, 17.5 - 7.4, "adds a run");
    // Room for eight: two rounds of gluing, not three. 10 min are 5 a batch; 60 spread over the three planned batches.
    let clamps = of(&found, &[1]);
    close(clamps.saving.mean, 5.0, "saving of the clamps");
    assert_eq!(clamps.payback.runs, [Some(12.0); 3]);
    close(clamps.payback.pieces[0].expect("pays"), 120.0, "pieces");
    close(clamps.adds_a_run.mean, -15.0, "adds a run");
    let both = of(&found, &[0, 1]);
    close(both.saving.mean, 22.5, "saving of both");
    assert_eq!(found.sets.len(), 3);
    assert_eq!(found.sets[0].jigs, [0]);
    // With 20 batches planned clamps and stop pay together, and add more: 22.5 - 7.4 - 60 / 20 against 10.1.
    let mut more = shop();
    more.batch.runs = 20;
    assert_eq!(quiet(&more, 10, 300).sets[0].jigs, [0, 1]);
    // With five only the stop pays: both cost 134, and 134 / 22.5 are six batches. A large life would make both better.
    more.batch.runs = 5;
    more.jigs[1].lasts = Some(10_000);
    let found = quiet(&more, 10, 300);
    assert_eq!(found.sets[0].jigs, [0]);
    assert!(of(&found, &[0, 1]).adds_a_run.mean > found.sets[0].adds_a_run.mean);
}

/// Ten pieces take 200 min. 40 h a week are 12 batches, 624 a year. The stop saves 17.50 a batch and costs 74 over ten batches; the clamps
/// save 5 and cost 60 once and for all. However many batches are planned, and whatever the drawing took.
#[test]
fn a_year_is_charged_for_what_it_uses_up() {
    for (planned, once) in [(1, 0.0), (1, 600.0), (3, 600.0), (20, 0.0)] {
        let mut shop = shop();
        shop.batch.runs = planned;
        shop.steps[0].once = certain(once);
        shop.shop.hours_per_month = 40.0 * 52.0 / 12.0;
        let found = quiet(&shop, 10, 300);
        close(found.runs_a_year.expect("hours are given"), 624.0, "runs a year");
        assert_eq!(found.year_limit, Some(YearLimit::BenchHours));
        // The stop lasts ten batches, so that no more than ten of the plan are made with it.
        let ahead = |jigs: &[usize]| of(&found, jigs).ahead_after_plan.mean;
        close(
            ahead(&[0]),
            f64::from(planned.min(10)) * 17.5 - 74.0,
            "the stop, after the plan",
        );
        close(
            ahead(&[1]),
            f64::from(planned) * 5.0 - 60.0,
            "the clamps, after the plan",
        );
        let year = |jigs: &[usize]| of(&found, jigs).adds_a_year.expect("a year is known");
        close(year(&[0]), 624.0 * (17.5 - 7.4), "the stop");
        close(year(&[1]), 624.0 * 5.0 - 60.0, "the clamps");
        close(year(&[0, 1]), 624.0 * (22.5 - 7.4) - 60.0, "both");
        close(
            of(&found, &[1]).adds_a_year_se.expect("known"),
            0.0,
            "nothing is left to chance",
        );
    }
    // 60 pieces are asked for a week, six batches.
    let mut shop = shop();
    shop.shop.hours_per_month = 40.0 * 52.0 / 12.0;
    shop.steady = Some(Steady {
        per_week: 60.0,
        hold: 0.2,
        finished: Finished::Together,
    });
    let found = quiet(&shop, 10, 300);
    assert_eq!(found.year_limit, Some(YearLimit::Demand));
    close(
        of(&found, &[1]).adds_a_year.expect("known"),
        312.0 * 5.0 - 60.0,
        "by demand",
    );
}

/// Four fit into the clamps and eight into both sets of them: looked at though the scenario names neither. 16 is named, 24 is not.
#[test]
fn rooms_are_looked_at_full() {
    let mut shop = shop();
    shop.batch.sizes = vec![1, 2, 5, 10, 16];
    let found = quiet(&shop, 5, 300);
    let sizes: Vec<u32> = found.by_size.iter().map(|at| at.size).collect();
    assert_eq!(sizes, [1, 2, 4, 5, 8, 10, 16]);
    let clamps = found.sets.iter().position(|set| set.jigs == [1]).expect("looked at");
    let saves = |size: u32| {
        let at = found.by_size.iter().find(|at| at.size == size).expect("looked at");
        at.sets[clamps].saving
    };
    // A round of 10 min at 30 an hour wherever one falls away.
    for (size, rounds) in [(4, 0.0), (5, 1.0), (8, 1.0), (10, 1.0), (16, 2.0)] {
        close(saves(size), 5.0 * rounds, "a round less");
    }
    // Only what changes a room is looked at so.
    shop.jigs.pop();
    let sizes: Vec<u32> = quiet(&shop, 5, 300).by_size.iter().map(|at| at.size).collect();
    assert_eq!(sizes, [1, 2, 5, 10, 16]);
}

#[test]
fn a_jig_that_hurts_never_pays() {
    let mut shop = shop();
    shop.jigs[0].setup = Change {
        factor: 1.0,
        minutes: 30.0,
    };
    let found = quiet(&shop, 1, 300);
    let stop = of(&found, &[0]);
    assert!(stop.saving.mean < 0.0 && stop.adds_to_hour.mean < 0.0);
    assert_eq!(stop.payback.pieces, [None; 3]);
    assert_eq!((stop.payback.within_life.share, stop.payback.mean_runs), (0.0, None));
}

#[test]
fn overhead_is_part_of_what_building_costs() {
    let mut shop = shop();
    shop.shop.per_hour = 6.0;
    let found = quiet(&shop, 10, 300);
    // Two hours at 30 and 6, and 14; a batch saves 35 min at 36.
    let stop = of(&found, &[0]);
    close(stop.outlay.mean, 86.0, "outlay");
    close(stop.saving.mean, 21.0, "saving");
    assert_eq!(stop.payback.runs[1], Some(5.0));
}

#[test]
fn sequences_keep_to_renewal_theory() {
    let mut shop = shop();
    shop.pace = tri(0.8, 1.0, 2.0);
    shop.steps[0].setup = tri(5.0, 30.0, 90.0);
    shop.jigs[0].build = tri(200.0, 300.0, 900.0);
    shop.jigs[0].lasts = None;
    let found = quiet(&shop, 2, 20_000);
    let stop = of(&found, &[0]);
    let settings = Settings {
        trials: 20_000,
        ..Settings::default()
    };
    let columns = |s: &Scenario| {
        let runs = trials_at(s, 2, &settings);
        Columns {
            profit: runs.profit,
            hours: runs.hours,
        }
    };
    let work = Work {
        scenario: &shop,
        size: 2,
        seed: 1,
        runs_a_year: None,
        sequences: SEQUENCES,
    };
    let savings = work.savings(&columns(&shop), &columns(&shop.with_jigs(&[0])));
    let n = savings.len() as f64;
    let mean = savings.iter().sum::<f64>() / n;
    let squares = savings.iter().map(|s| s.max(0.0).powi(2)).sum::<f64>() / n;
    let runs = stop.payback.mean_runs.expect("all pay");
    // Wald and Lorden hold for the distribution that is drawn from and the mean of the outlays that were drawn; the
    // number of batches has the error of its 4,000 sequences. Four standard errors: one false alarm in 16,000.
    let low = stop.outlay.mean / mean;
    let high = low + squares / (mean * mean);
    assert!(
        runs.mean >= low - 4.0 * runs.se && runs.mean <= high + 4.0 * runs.se,
        "{low} {} {high}",
        runs.mean
    );
    // The bounds must be able to fail: they are closer together than the answer is large.
    assert!(
        high - low < 0.2 * runs.mean && runs.se < 0.02 * runs.mean,
        "{low} {high} {}",
        runs.mean
    );
    // The mean outlay itself against the mean of its range: (200 + 300 + 900) / 3 min at 30 an hour, and 14.
    let expected = 14.0 + 30.0 * 1400.0 / 3.0 / 60.0;
    let spread = 30.0 / 60.0 * shop.jigs[0].build.variance().sqrt() / (SEQUENCES as f64).sqrt();
    assert!(
        (stop.outlay.mean - expected).abs() <= 4.0 * spread,
        "{}",
        stop.outlay.mean
    );
}

#[test]
fn sizes_agree_with_the_asked_one_and_courses_begin_at_the_outlay() {
    let mut shop = shop();
    shop.pace = tri(0.8, 1.0, 1.5);
    // More trials than other sizes have.
    let found = quiet(&shop, 5, 2 * QUICK_TRIALS);
    let here = found.by_size.iter().find(|s| s.size == 5).expect("asked");
    assert_eq!((here.rate, here.rate_se), (found.rate.mean, found.rate.se));
    assert_eq!(here.sets.len(), 3);
    for (at, set) in here.sets.iter().zip(&found.sets) {
        assert_eq!(at.adds_to_hour, set.adds_to_hour);
        assert_eq!((at.rate, at.saving), (set.rate.mean, set.saving.mean));
        assert_eq!(at.payback, set.payback);
    }
    for course in &found.courses {
        let set = &found.sets[course.set];
        close(course.points[0].p50, -set.outlay.p50, "outlay");
        assert!(course.points.iter().all(|p| p.p10 <= p.p50 && p.p50 <= p.p90));
    }
}

#[test]
fn many_jigs_are_paired_and_not_combined_without_end() {
    assert_eq!(combinations(&[0, 1, 2]).0.len(), 7);
    let (some, every) = combinations(&[0, 1, 2, 3, 4, 5]);
    assert_eq!((some.len(), every), (6 + 15 + 1, false));
}

/// Errors of 3 and 4 are one of 5 together, and 1.96 of it are 9.8.
#[test]
fn a_set_beats_another_size_beyond_the_error_of_both() {
    let found = quiet(&shop(), 10, 30);
    let set = SetAtSize {
        rate: 30.0,
        rate_se: 3.0,
        ..found.by_size[0].sets[0]
    };
    let bare = |rate| AtSize {
        rate,
        rate_se: 4.0,
        ..found.by_size[0].clone()
    };
    assert!(set.beats(&bare(30.0 - 9.9)));
    assert!(!set.beats(&bare(30.0 - 9.7)));
}
