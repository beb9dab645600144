use super::*;
use crate::questions::compare::{Bins, Converted, Point, Week};
use crate::render::grid::Grid;
use crate::render::plot::{Field, Shape, Y};
use crate::render::samples::{fitting, gallery, look, on_its_page, row_of, text_chart};

/// Rates at 10, 50 and 90 %, in the long run, and the target, of each.
fn compare(rates: &[([f64; 4], f64)]) -> Compare {
    let run = &gallery().remove(0).1.sizes[0];
    let entries = rates.iter().map(|([p10, p50, p90, long_run], target)| {
        let mut run = run.clone();
        (run.rate.p10, run.rate.p50, run.rate.p90, run.rate.long_run) = (*p10, *p50, *p90, *long_run);
        Compared {
            place: 0,
            title: "Rail".to_owned(),
            file: None,
            converted: None,
            price: 58.0,
            target: *target,
            confidence: 0.8,
            chosen: Chosen::BestRate,
            run,
            density: Vec::new(),
            week: Week {
                day_hours: None,
                bench_hours: None,
                bench_from: BenchFrom::NotGiven,
                demand: None,
                one_season: false,
                runs: None,
                sold: None,
                hours: None,
                money: None,
                limit: None,
            },
            sweep: Vec::new(),
        }
    });
    let mut entries: Vec<Compared> = entries.collect();
    for (k, entry) in entries.iter_mut().enumerate() {
        entry.place = k;
    }
    Compare {
        currency: "EUR".to_owned(),
        trials: 1000,
        seed: 1,
        version: "0.1.0".to_owned(),
        best: 0,
        best_week: None,
        bins: Bins { from: 0.0, width: 0.0 },
        entries,
        left_out: Vec::new(),
        pairs: Vec::new(),
        mix: None,
    }
}

/// "A", a space and the upright leave 57 of 60 columns, 56 steps, for 0 to 54 and 3 % of that at either end: 57.24 of money. So 20 is
/// 21.15 steps from the first column, 28 is 28.98, 30 is 30.93, 32 is 32.89 and 40 is 40.72.
#[test]
fn strips_stand_where_the_rates_are() {
    let answer = compare(&[([20.0, 30.0, 40.0, 28.0], 32.0), ([0.0, 10.0, 54.0, 12.0], 32.0)]);
    let text = text_chart(&answer, &look(60, true)).unwrap();
    let row = row_of(&text, "A").unwrap();
    let shown: Vec<usize> = (0..row.len()).filter(|k| row[*k] != ' ').collect();
    assert_eq!(shown, (21..=41).collect::<Vec<_>>(), "{text}");
    assert_eq!((row[29], row[31], row[33]), ('┃', '●', '┆'), "{text}");
    assert!(text.contains("┆ target 32"), "{text}");
    assert_eq!(fitting(|look| text_chart(&answer, look)).len(), 6);
    on_its_page(&answer, "What a batch earns an hour: EUR");
}

#[test]
fn what_has_one_title_is_told_apart_by_file_or_size() {
    let rates = ([20.0, 30.0, 40.0, 28.0], 32.0);
    let mut answer = compare(&[rates, rates]);
    // Nothing but the title is known of either, and the size is the same.
    assert_eq!(title(&answer), "Rail against itself");
    answer.entries[1].run.size += 1;
    assert_eq!(title(&answer), "Rail, at 2 sizes");
    let files = |a: &str, b: &str| {
        let mut answer = answer.clone();
        answer.entries[0].file = Some(a.to_owned());
        answer.entries[1].file = Some(b.to_owned());
        answer
    };
    assert_eq!(title(&files("rail.toml", "rail.toml")), "Rail, at 2 sizes");
    let two = files("old/rail.toml", "rail-new.toml");
    assert_eq!(title(&two), "Rail (rail.toml) against Rail (rail-new.toml)");
    assert_eq!(name(&two, 1), "Rail (rail-new.toml)");
    assert_eq!(label(&two, 1), "rail-new.toml");
    // The name alone would not tell these apart.
    assert_eq!(name(&files("old/rail.toml", "rail.toml"), 0), "Rail (old/rail.toml)");
    // A title of its own needs no file.
    let mut other = two;
    other.entries[1].title = "Rail, short".to_owned();
    assert_eq!(title(&other), "Rail against Rail, short");
}

#[test]
fn long_names_are_broken_and_not_cut() {
    let rates = ([20.0, 30.0, 40.0, 28.0], 32.0);
    let mut answer = compare(&[rates, rates]);
    answer.entries[0].title = "Walnut sideboard to order".to_owned();
    answer.best = 1;
    let lines = |columns: usize| {
        let tables = answer.grids(&look(columns, true));
        assert_eq!(tables[0].marked, Some(1));
        let names = |table: &Grid| table.rows.iter().map(|row| row[1].text.clone()).collect::<Vec<_>>();
        assert_eq!(names(&tables[0]).len(), names(&tables[1]).len());
        names(&tables[0])
    };
    assert_eq!(lines(200), ["Walnut sideboard to order", "Rail"]);
    let narrow = lines(70);
    assert!(narrow[0].contains('\n'), "{narrow:?}");
    assert_eq!(narrow[0].replace('\n', " "), "Walnut sideboard to order");
}

/// Who sees the chart alone learns that money was converted, and how.
#[test]
fn a_chart_says_what_other_currencies_are_worth() {
    let rates = ([20.0, 30.0, 40.0, 28.0], 32.0);
    let mut answer = compare(&[rates, rates]);
    let foot = |answer: &Compare| answer.plot().unwrap().foot;
    assert!(
        foot(&answer).starts_with("1,000 simulated batches"),
        "{}",
        foot(&answer)
    );
    answer.entries[1].converted = Some(Converted {
        from: "USD".to_owned(),
        worth: 0.91,
    });
    assert!(
        foot(&answer).starts_with("1 USD is 0.91 EUR · 1,000"),
        "{}",
        foot(&answer)
    );
}

#[test]
fn unlike_targets_and_nothing_earned() {
    let unlike = compare(&[([20.0, 30.0, 40.0, 28.0], 32.0), ([1.0, 2.0, 3.0, 2.0], 30.0)]);
    assert!(!text_chart(&unlike, &look(60, true)).unwrap().contains("target"));
    let nothing = compare(&[([0.0; 4], 0.0)]);
    assert_eq!(text_chart(&nothing, &look(60, true)), None);
}

/// The word stands once where both earn, or both lose; who earns nothing loses nothing.
#[test]
fn what_the_second_earns_is_said_after_the_first() {
    let said = |first, second| opening::and_earns(first, second, "EUR");
    for both in [[0.0, 5.0], [3.0, 5.0], [-3.0, -5.0]] {
        assert_eq!(said(both[0], both[1]), money(5.0, "EUR"), "{both:?}");
    }
    for unlike in [[-3.0, 5.0], [3.0, -5.0], [0.0, -5.0]] {
        assert_eq!(said(unlike[0], unlike[1]), earns(unlike[1], "EUR"), "{unlike:?}");
    }
}

/// One batch in a thousand is nothing to show; 3 % of what is shown is air on either side.
#[test]
fn what_batches_earn_is_drawn_as_far_as_there_are_any() {
    let mut answer = compare(&[([25.0, 30.0, 35.0, 31.0], 30.0)]);
    answer.bins = Bins { from: 0.0, width: 10.0 };
    answer.entries[0].density = vec![0.0005, 0.25, 0.5, 0.125, 0.0005];
    let panel = answer.plot().unwrap().panels.remove(0);
    let scale = panel.axis.scale;
    assert!(
        (scale.low - 9.1).abs() < 1e-9 && (scale.high - 40.9).abs() < 1e-9,
        "{scale:?}"
    );
    let Field::Curves(curves) = panel.field else {
        panic!("no curves")
    };
    let drawn = curves.layers.into_iter().find_map(|layer| match layer.shape {
        Shape::Curve { points, .. } => Some(points),
        _ => None,
    });
    let steps = [(10.0, 25.0), (20.0, 50.0), (30.0, 12.5)];
    let mut by_hand = vec![(10.0, Some(0.0))];
    by_hand.extend(
        steps
            .iter()
            .flat_map(|(from, share)| [(*from, Some(*share)), (from + 10.0, Some(*share))]),
    );
    by_hand.push((40.0, Some(0.0)));
    assert_eq!(drawn, Some(by_hand));
}

/// The line of one runs just above the dot of the other, which runs just below its own: both letters stand on the far side. Where the lines run
/// far apart they may stand on either.
#[test]
fn a_letter_stands_not_behind_the_line_of_another() {
    let places = |rates: [f64; 2]| {
        let mut answer = compare(&rates.map(|rate| ([rate, rate, rate, rate], 0.0)));
        for (entry, rate) in answer.entries.iter_mut().zip(rates) {
            let point = |size| Point {
                size,
                long_run: rate,
                se: 0.0,
            };
            entry.sweep = [1, 40].map(point).to_vec();
        }
        let Field::Curves(curves) = answer.plot().unwrap().panels.remove(1).field else {
            panic!("no curves")
        };
        let offs = curves.layers.into_iter().filter_map(|layer| match layer.shape {
            Shape::Note { lines, spots, .. } if lines[0].0.len() == 1 => Some(
                spots
                    .iter()
                    .map(|spot| match spot.y {
                        Y::At(_, off) => off,
                        _ => panic!("off a dot"),
                    })
                    .collect::<Vec<f64>>(),
            ),
            _ => None,
        });
        offs.collect::<Vec<_>>()
    };
    let [below, above] = [vec![18.0; 3], vec![-18.0; 3]];
    assert_eq!(places([30.0, 31.0]), [below.clone(), above.clone()]);
    assert_eq!(places([31.0, 30.0]), [above, below]);
    assert!(places([10.0, 30.0]).iter().all(|offs| offs.len() == 6));
}
