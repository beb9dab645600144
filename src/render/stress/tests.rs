use super::*;
use crate::questions::stress::{Outcome, SlowTenth};
use crate::questions::sweep::Floor;
use crate::render::plot::{Field, RowShape};
use crate::render::samples::{any_figure, fitting, look, mean, no_wider, on_its_page, row_of, share, text_chart};
use proptest::prelude::*;

const HOLDS: Breaking = Breaking {
    found: Found::Holds,
    at: None,
    low: None,
    high: None,
    looked_to: None,
};

fn at(strength: f64) -> Breaking {
    Breaking {
        found: if strength < 0.0 {
            Found::BrokenAlready
        } else {
            Found::Breaks
        },
        at: Some(strength),
        ..HOLDS
    }
}

fn stress(rows: &[(Kind, Option<&str>, Breaking, Breaking)]) -> Stress {
    let outcome = Outcome {
        rate: mean(36.0),
        rate_median: 36.0,
        rate_median_interval: (36.0, 36.0),
        reach: share(0.85),
        profit: mean(330.0),
    };
    Stress {
        title: "Oak peg rail".to_owned(),
        currency: "EUR".to_owned(),
        price: 62.0,
        target: 32.0,
        confidence: 0.8,
        trials: 1000,
        seed: 1,
        version: "0.1.0".to_owned(),
        size: 9,
        certain: false,
        as_planned: outcome,
        floor: Floor {
            confidence: 0.8,
            price: Some(61.0),
            low: Some(60.5),
            high: Some(61.5),
        },
        buyers_kept: false,
        worse_when_dearer: None,
        in_season: false,
        day_costs: false,
        slow_tenth: SlowTenth {
            from: 10.0,
            hours: mean(11.0),
            rate: mean(31.0),
        },
        misfortunes: rows
            .iter()
            .map(|(kind, name, target_lost, nothing_earned)| Misfortune {
                kind: *kind,
                name: name.map(str::to_owned),
                strengths: Vec::new(),
                target_lost: *target_lost,
                nothing_earned: *nothing_earned,
            })
            .collect(),
    }
}

fn chart(stress: &Stress, look: &Look) -> Option<String> {
    text_chart(stress, look)
}

fn rail() -> Stress {
    stress(&[
        (Kind::Build, None, at(0.025), at(11.4)),
        (Kind::Setups, None, at(0.14), at(66.0)),
        (Kind::Step, Some("sand and oil"), at(0.12), at(55.0)),
        (Kind::Spoil, None, at(1.3), HOLDS),
        (Kind::Fees, None, HOLDS, HOLDS),
        (Kind::Unsold, None, at(0.0), at(0.25)),
        (Kind::Own, Some("a kiln element fails"), at(0.2), HOLDS),
    ])
}

#[test]
fn charts_look_as_they_should() {
    insta::assert_snapshot!("stress_rail", chart(&rail(), &look(80, true)).unwrap());
    let lost = stress(&[
        (Kind::Build, None, at(-0.2), at(0.5)),
        (
            Kind::Fees,
            None,
            Breaking {
                found: Found::BrokenAlready,
                ..HOLDS
            },
            at(1.5),
        ),
    ]);
    insta::assert_snapshot!("stress_lost", chart(&lost, &look(60, true)).unwrap());
}

#[test]
fn no_line_is_wider_than_the_terminal_and_the_page_has_it() {
    assert_eq!(fitting(|look| chart(&rail(), look)).len(), 6);
    on_its_page(&rail(), "How far each may go alone");
}

/// 18 letters and 12 for "20 % slower", so 60 - 18 - 2 - 12 = 28 columns. Targets go at 10 and 20 %, so the axis ends at
/// 1.2 x 20 = 24 %: 10 % is 11.25 of 27 columns along, 20 % 22.5.
#[test]
fn bars_end_where_the_target_and_the_last_earning_go() {
    let two = stress(&[
        (Kind::Build, None, at(0.1), at(0.2)),
        (Kind::Setups, None, at(0.2), at(11.0)),
    ]);
    let text = chart(&two, &look(60, true)).unwrap();
    let cells = |name: &str, sign: char| row_of(&text, name).unwrap().iter().filter(|c| **c == sign).count();
    assert_eq!((cells("whole", '█'), cells("whole", '×')), (11, 1), "{text}");
    assert_eq!(
        row_of(&text, "whole").unwrap().iter().position(|c| *c == '×'),
        Some(23),
        "{text}"
    );
    assert_eq!((cells("setups", '█'), cells("setups", '×')), (23, 0), "{text}");
    assert!(!text.contains('►'), "{text}");
}

/// What never bites has a bar to the end and an arrow, and what can strike every trial only where the axis ends before.
#[test]
fn what_never_bites_goes_beyond_the_axis() {
    let text = chart(
        &stress(&[
            (Kind::Stock, None, HOLDS, HOLDS),
            (Kind::Own, Some("no kiln"), HOLDS, HOLDS),
            (Kind::Build, None, at(-0.5), at(1.0)),
        ]),
        &look(80, true),
    )
    .unwrap();
    let row = |name| row_of(&text, name).unwrap();
    assert!(
        row("material").contains(&'►') && !row("material").contains(&'▒'),
        "{text}"
    );
    assert!(
        !row("no kiln").contains(&'►') && row("no kiln").contains(&'█'),
        "{text}"
    );
    assert!(
        row("whole build").contains(&'▓') && text.contains("▓ how much better"),
        "{text}"
    );
}

/// Strengths as they are looked at: each has a box of its own, in its order, with its figure, and what the price stands least is on top.
#[test]
fn every_strength_has_a_box_of_its_own() {
    let mut answer = rail();
    let strengths: [&[f64]; 7] = [
        &[0.1, 0.2, 0.3, 0.5, 1.0],
        &[0.1, 0.2, 0.3, 0.5, 1.0],
        &[0.1, 0.25, 0.5, 1.0],
        &[1.0, 2.0],
        &[],
        &[1.0 / 9.0, 3.0 / 9.0, 5.0 / 9.0],
        &[1.0],
    ];
    for (misfortune, strengths) in answer.misfortunes.iter_mut().zip(strengths) {
        let strength = |strength: &f64| Strength {
            strength: *strength,
            outcome: Outcome {
                rate: mean(36.0 - 10.0 * strength),
                ..answer.as_planned
            },
            rate_change: mean(-10.0 * strength),
        };
        misfortune.strengths = strengths.iter().map(strength).collect();
    }
    let plot = answer.plot().unwrap();
    let [_, effects] = plot.panels.as_slice() else { panic!() };
    let Field::Rows { names, layers } = &effects.field else {
        panic!()
    };
    assert_eq!(names[0], "1, 3 and 5 of 9 unsold", "{names:?}");
    assert_eq!(names[1], "whole build slower", "{names:?}");
    let cells = |row: usize| -> Vec<(f64, &str)> {
        let here = layers.iter().filter(|layer| layer.row == row);
        here.filter_map(|layer| match &layer.shape {
            RowShape::Cell { at, text, .. } => Some((*at, text.as_str())),
            _ => None,
        })
        .collect()
    };
    // The columns are 10, 20, 25, 30, 50, 100 and 200 %.
    let ticks: Vec<&str> = effects.axis.ticks.iter().map(|(_, text)| text.as_str()).collect();
    assert_eq!(ticks, ["10", "20", "25", "30", "50", "100", "200"]);
    assert_eq!(cells(0), [(0.0, "34.89"), (3.0, "32.67"), (4.0, "30.44")]);
    let slower = [
        (0.0, "35.00"),
        (1.0, "34.00"),
        (3.0, "33.00"),
        (4.0, "31.00"),
        (5.0, "26.00"),
    ];
    assert_eq!(cells(1), slower);
    let boxes: usize = (0..names.len()).map(|row| cells(row).len()).sum();
    assert_eq!(boxes, strengths.iter().map(|strengths| strengths.len()).sum::<usize>());
}

#[test]
fn where_nothing_can_go_wrong_there_is_no_chart() {
    assert_eq!(chart(&stress(&[]), &look(80, true)), None);
}

proptest! {
    #[test]
    fn no_answer_breaks_it(
        found in prop::collection::vec((any_figure(), any_figure(), ".{0,60}"), 0..20),
        columns in 60usize..130,
    ) {
        let rows: Vec<_> = found
            .iter()
            .map(|(target, nothing, name)| (Kind::Step, Some(name.as_str()), at(*target), at(*nothing)))
            .collect();
        if let Some(text) = chart(&stress(&rows), &look(columns, true)) {
            no_wider(&text, columns);
        }
    }
}

/// What is missed already for want of buyers needs more of them.
/// Beyond ten times as bad the words say no more than the table does.
#[test]
fn nobody_minds_how_far_beyond_ten_times() {
    let far = |strength: f64| Breaking {
        low: Some(strength - 1.0),
        high: Some(strength + 1.0),
        ..at(strength)
    };
    let told = |strength: f64| {
        let answer = stress(&[
            (Kind::Build, None, far(strength), HOLDS),
            (Kind::Stock, None, far(strength), HOLDS),
        ]);
        let grid = table::limits(&answer).grid(&look(100, true));
        (
            View { stress: &answer }.opening().join(" "),
            grid.rows[0][2].text.clone(),
        )
    };
    let said = |words: &str, interval: &str| (words.to_owned(), interval.to_owned());
    assert_eq!(
        told(8.0),
        said(
            "Keep your price of 62 EUR for batches of 9: it pays until the whole build takes 9 times as long. With nothing else changed, material may cost 9 times as \
             much.",
            "8.0 to 10.0 times"
        )
    );
    assert_eq!(
        told(4_090.0),
        said(
            "Keep your price of 62 EUR for batches of 9: it pays even if the whole build takes 10 times as long. With nothing else changed, material may cost over 10 \
             times as much.",
            ""
        )
    );
}

#[test]
fn too_few_buyers_need_to_be_more() {
    let missed = Breaking {
        found: Found::BrokenAlready,
        ..at(0.0)
    };
    let few = stress(&[
        (Kind::Days, None, at(-0.05), HOLDS),
        (Kind::Days, None, at(0.05), HOLDS),
        (Kind::Days, None, missed, HOLDS),
    ]);
    let said = |k: usize| limit(&few, &few.misfortunes[k], &few.misfortunes[k].target_lost);
    assert_eq!([0, 1, 2].map(said), ["5 % more", "5 % fewer", "hardly better"]);
}

/// Four buyers of a thousand are nothing to spare; five of a hundred are 5 %.
#[test]
fn buyers_to_spare_are_told_from_none() {
    let said = |strength| {
        let answer = Stress {
            in_season: true,
            ..stress(&[(Kind::Unsold, None, at(strength), HOLDS)])
        };
        View { stress: &answer }.unsold()
    };
    assert_eq!(said(0.004).as_deref(), Some("There may be no fewer buyers."));
    assert_eq!(said(0.05).as_deref(), Some("There may be 5 % fewer buyers."));
}

/// What an hour earns, how many batches reach the target and what is left: the head of the CSV and the row as planned have them.
#[test]
fn the_csv_has_what_a_setting_comes_to() {
    let csv = rail().csv();
    let mut lines = csv.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let (heads, planned) = (lines.next().unwrap(), lines.next().unwrap());
    let of = |head: &str| planned[heads.iter().position(|h| *h == head).unwrap()];
    assert_eq!(
        [
            "rate_EUR_per_hour",
            "rate_median_EUR_per_hour",
            "reach_share",
            "profit_mean_EUR"
        ]
        .map(of),
        ["36", "36", "0.85", "330"]
    );
}

/// A target that is missed as planned is said to be so once; the rows have what would mend it, and where nothing stands nothing does.
#[test]
fn a_target_that_is_missed_is_said_once() {
    let mended = Breaking {
        found: Found::BrokenAlready,
        ..at(-0.16)
    };
    let lost = Breaking {
        found: Found::BrokenAlready,
        at: None,
        ..at(0.0)
    };
    let mut shop = stress(&[(Kind::Build, None, mended, at(0.5)), (Kind::Spoil, None, lost, at(2.0))]);
    shop.as_planned.reach.share = 0.4;
    let text = shop.text(&look(100, true));
    assert_eq!(text.matches("missed").count(), 1, "{text}");
    assert!(
        text.contains("16 % quicker") && text.contains("this alone must be"),
        "{text}"
    );
    let drawn = chart(&shop, &look(100, true)).expect("a chart");
    assert!(
        drawn.contains("whole build slower") && !drawn.contains("spoil"),
        "{drawn}"
    );
    assert!(drawn.starts_with("How much better each alone must be"), "{drawn}");
}

/// Where fewer spoiled pieces make a batch slow, its hour earns no less, and that is no bad luck.
#[test]
fn slow_batches_that_earn_no_less_are_explained() {
    let said = |rate: f64, kind: Kind| {
        let mut answer = stress(&[(kind, None, HOLDS, HOLDS)]);
        answer.slow_tenth.rate = mean(rate);
        answer
            .text(&look(90, true))
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let why = "no less than in all of them: the fewer pieces are spoiled, the more there is to do.";
    assert!(said(36.5, Kind::Spoil).contains(why));
    assert!(!said(31.0, Kind::Spoil).contains(why));
    assert!(!said(36.5, Kind::Build).contains(why));
}
