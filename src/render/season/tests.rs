use super::*;
use crate::model::newsvendor::Fractile;
use crate::questions::season::{BuyersAnswer, PricePoint, PriceResponse};
use crate::render::columns::Declared;
use crate::render::samples::{any_figure, fitting, look, mean, no_wider, on_its_page, share, text_chart};
use proptest::prelude::*;

/// Surplus by size: 10 %, mean, 90 %.
fn season(sizes: &[(u32, [f64; 3])], best: u32, ties: &[u32]) -> SeasonAnswer {
    SeasonAnswer {
        title: "Spinning tops".to_owned(),
        currency: "EUR".to_owned(),
        price: 30.0,
        target: 28.0,
        confidence: 0.8,
        trials: 1000,
        seed: 1,
        version: "0.1.0".to_owned(),
        buyers: BuyersAnswer {
            mean: 21.0,
            p10: 10.0,
            p90: 34.0,
        },
        stay_sold: None,
        carried: false,
        leftover_worth: 11.0,
        leftovers_cost_nothing: false,
        best_by_surplus: best,
        best_by_rate: best,
        ties: ties.to_vec(),
        fractile: None,
        sizes: sizes
            .iter()
            .map(|(size, [p10, middle, p90])| SeasonSize {
                size: *size,
                good: mean(f64::from(*size)),
                sold: mean(f64::from(*size)),
                leftover: 0.0,
                worn: None,
                sold_out: share(0.5),
                surplus: mean(*middle),
                surplus_p10: *p10,
                surplus_p90: *p90,
                against_best: mean(0.0),
                hours: 10.0,
                rate: mean(30.0),
                reach: share(0.8),
            })
            .collect(),
        prices: None,
    }
}

/// A hill with its top at 20 pieces.
fn hill() -> SeasonAnswer {
    let sizes: Vec<(u32, [f64; 3])> = (1..=40)
        .map(|n| {
            let middle = 100.0 - 0.5 * (f64::from(n) - 20.0).powi(2);
            (n, [middle - 40.0, middle, middle + 60.0])
        })
        .collect();
    season(&sizes, 20, &[19, 21])
}

#[test]
fn a_headline_counts_one_piece_as_one_and_says_what_becomes_of_it() {
    let mut answer = season(&[(40, [-104.0, 130.43, 365.0])], 40, &[]);
    for (leftover, carried, said) in [
        (1.0, true, "1 piece carried on"),
        (4.9, true, "4.9 pieces carried on"),
        (1.0, false, "1 piece left over"),
        (4.9, false, "4.9 pieces left over"),
    ] {
        answer.sizes[0].leftover = leftover;
        answer.carried = carried;
        assert!(headline(&answer).ends_with(said), "{}", headline(&answer));
    }
}

#[test]
fn small_print_counts_one_buyer_as_one() {
    let mut answer = season(&[(40, [-104.0, 130.43, 365.0])], 40, &[]);
    for (buyers, said) in [
        ([1.0, 1.0, 1.0], "At 30 EUR buyers want 1 piece."),
        ([4.0, 4.0, 4.0], "At 30 EUR buyers want 4 pieces."),
        (
            [1.0, 0.0, 2.0],
            "At 30 EUR buyers want 1 piece on average: under 0 in 10 of 100 seasons, over 2 in another 10.",
        ),
        ([0.0; 3], "Nobody buys otherwise than on selling days."),
    ] {
        let [mean, p10, p90] = buyers;
        answer.buyers = BuyersAnswer { mean, p10, p90 };
        assert_eq!(small_print(&answer)[0], said);
    }
}

#[test]
fn charts_look_as_they_should() {
    insta::assert_snapshot!("season_hill", text_chart(&hill(), &look(80, true)).unwrap());
    let loss = season(&[(5, [-60.0, -50.0, -40.0]), (10, [-90.0, -70.0, -50.0])], 5, &[]);
    insta::assert_snapshot!("season_loss", text_chart(&loss, &look(60, true)).unwrap());
}

#[test]
fn no_line_is_wider_than_the_terminal_and_the_page_has_it() {
    assert_eq!(fitting(|look| text_chart(&hill(), look)).len(), 6);
    on_its_page(&hill(), "What the season leaves: EUR");
}

/// Sizes 1 to 11 at 60 columns, from 0 to 100: a row is 10, so labels have 3 characters and there are 60 - 5 - 1 = 54
/// columns; 6 is the middle, 26.5 of 53 along. A surplus of 100 stands in the first row, one of 0 in the last.
#[test]
fn the_best_is_marked_in_its_column() {
    let sizes: Vec<(u32, [f64; 3])> = (1..=11)
        .map(|n| (n, [100.0 - 20.0 * f64::from(6u32.abs_diff(n)); 3]))
        .collect();
    let text = text_chart(&season(&sizes, 6, &[]), &look(60, true)).unwrap();
    let lines: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
    let ruler = lines.iter().find(|line| line.contains(&'└')).unwrap();
    let best = ruler.iter().position(|c| *c == '▲').unwrap();
    assert_eq!(best, 5 + 27, "{text}");
    let top = lines.iter().find(|line| line.starts_with(&['1', '0', '0'])).unwrap();
    assert_eq!(top[best], '●', "{text}");
    let zero = lines.iter().find(|line| line.starts_with(&[' ', ' ', '0'])).unwrap();
    // 0 at 1 and 11, the ends; between them the line that says so.
    assert!(zero[5] == '●' && zero[58] == '●' && zero[best] == '─', "{text}");
    assert!(
        text.contains("▲ advised: 6 leaves most") && !text.contains('~') && !text.contains('░'),
        "{text}"
    );
}

#[test]
fn one_size_has_no_chart() {
    assert_eq!(
        text_chart(&season(&[(5, [1.0, 2.0, 3.0])], 5, &[]), &look(80, true)),
        None
    );
}

proptest! {
    #[test]
    fn no_answer_breaks_it(
        figures in prop::collection::vec(prop::array::uniform3(any_figure()), 1..30),
        columns in 60usize..130,
    ) {
        let sizes: Vec<(u32, [f64; 3])> = figures.iter().zip(1..).map(|(f, n)| (n * n, *f)).collect();
        if let Some(text) = text_chart(&season(&sizes, 1, &[1, 4]), &look(columns, true)) {
            no_wider(&text, columns);
        }
    }
}

/// A bad season is told of where the batch pays on average; where it does not, that is said instead.
#[test]
fn only_what_pays_says_how_bad_a_season_may_be() {
    let said = |[bad, middle, good]: [f64; 3]| {
        let answer = season(&[(5, [bad, middle, good])], 5, &[]);
        why(&answer, &look(80, true)).join(" ")
    };
    let bad = "In 10 of 100 seasons you fall 40.00 EUR or more short of";
    assert!(said([-40.0, 10.0, 20.0]).contains(bad), "{}", said([-40.0, 10.0, 20.0]));
    assert!(!said([-40.0, -10.0, 20.0]).contains("of 100 seasons"));
}

/// That a few more than the smallest batch that pays leave more is said only where they do.
#[test]
fn a_few_more_are_advised_only_where_the_best_is_more() {
    let said = |best: u32| {
        let sizes: Vec<(u32, [f64; 3])> = (5..=8).map(|n| (n, [0.0, 10.0, 20.0])).collect();
        more(&season(&sizes, best, &[]), &look(80, true)).join(" ")
    };
    assert!(said(6).contains("a few more than the smallest"), "{}", said(6));
    assert!(!said(5).contains("a few more"), "{}", said(5));
}

/// What one more piece earns and loses says how many good pieces to have; where the batch that is advised has others, that is no second advice.
#[test]
fn what_one_more_piece_says_is_no_advice_beside_another() {
    let said = |pieces: f64| {
        let answer = SeasonAnswer {
            fractile: Some(Fractile {
                sold_for: 33.3,
                cost: 30.5,
                under: 2.8,
                over: 24.2,
                fractile: 0.1,
                pieces,
            }),
            ..hill()
        };
        why(&answer, &look(80, true)).join(" ")
    };
    assert!(
        said(20.0).contains("So aim for 20 good pieces, which"),
        "{}",
        said(20.0)
    );
    let other = "By that alone 19 good pieces would be best, which are enough in at least 10 of 100 seasons.";
    assert!(
        said(19.0).contains(other) && !said(19.0).contains("So aim"),
        "{}",
        said(19.0)
    );
}

/// Of prices looked at, the table has no more than fit nine rows, both ends among them: of ten every second and the last, six; of 25 every third.
#[test]
fn the_table_of_prices_has_nine_rows_at_the_most() {
    let shown = |many: u32| {
        let point = |k: u32| PricePoint {
            price: 20.0 + f64::from(k),
            size: 20,
            buyers: 21.0,
            surplus: mean(100.0),
            rate: 30.0,
            leftover: 0.0,
            reach: 0.8,
        };
        let prices = PriceResponse {
            elasticity: 1.0,
            best: None,
            nearly_best: None,
            best_at_size: None,
            floor: None,
            floor_at_end: false,
            curve: (0..many).map(point).collect(),
            markup_rule: None,
            curve_trials: 1000,
        };
        let answer = SeasonAnswer {
            prices: Some(prices.clone()),
            ..hill()
        };
        let rows = prices_table(&answer, &prices).grid(&look(80, true)).rows;
        let price = |k: usize| rows[k][0].figure.map(|figure| figure.value);
        assert_eq!(price(0), Some(20.0));
        assert_eq!(price(rows.len() - 1), Some(19.0 + f64::from(many)));
        rows.len()
    };
    assert_eq!([9, 10, 17, 25, 37, 41].map(shown), [9, 6, 9, 9, 9, 9]);
}
