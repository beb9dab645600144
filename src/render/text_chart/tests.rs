//! Curves and strips in letters.

use super::strips::{Mark, Strip, Strips};
use super::*;
use crate::questions::sweep::Sweep;
use crate::render::samples::{any_figure, gallery};
use crate::render::{Render, format};

fn sweep_chart(answer: &Sweep, width: usize, unicode: bool) -> String {
    answer
        .plot()
        .and_then(|plot| text(&plot, width, unicode))
        .unwrap_or_default()
}

#[test]
fn no_line_is_wider_than_asked_and_ascii_is_ascii() {
    for (name, answer) in gallery() {
        for width in [0, 40, 41, 60, 80, 200] {
            for unicode in [false, true] {
                let text = sweep_chart(&answer, width, unicode);
                assert!((answer.sizes.len() < 2) == text.is_empty(), "{name} {width}");
                for line in text.lines() {
                    assert!(line.chars().count() <= width.max(40), "{name} at {width}: {line}");
                    assert!(unicode || line.is_ascii(), "{name}: {line}");
                }
            }
        }
    }
}

#[test]
fn charts_look_as_they_should() {
    let gallery = gallery();
    let of = |name: &str| &gallery.iter().find(|g| g.0 == name).unwrap().1;
    insta::assert_snapshot!("rail", sweep_chart(of("rail"), 72, true));
    insta::assert_snapshot!("rail_ascii", sweep_chart(of("rail"), 60, false));
    insta::assert_snapshot!("mug", sweep_chart(of("mug"), 80, true));
    insta::assert_snapshot!("table", sweep_chart(of("table"), 60, true));
    assert_eq!(sweep_chart(of("single"), 40, true), "");
    insta::assert_snapshot!("loss", sweep_chart(of("loss"), 60, true));
}

proptest::proptest! {
    #[test]
    fn no_answer_breaks_it(answer in crate::render::samples::any_sweep(), width in 0usize..120, unicode: bool) {
        for line in sweep_chart(&answer, width, unicode).lines() {
            proptest::prop_assert!(line.chars().count() <= width.max(40), "{line}");
        }
    }
}

/// Names of one letter and no figures: 60 - 1 - 2 = 57 columns; 0 to 100 is 56 steps, so 50 is column 28 and 25 is 14.
fn strips(marks: Vec<Mark>, ends: (f64, f64)) -> Strips {
    let mut axis = Axis::values(ends, format::tick).named("luck");
    (axis.scale.low, axis.scale.high) = ends;
    Strips {
        heading: "money against luck".to_owned(),
        strips: vec![Strip {
            name: "a".to_owned(),
            marks,
            figure: String::new(),
        }],
        axis,
        legend: vec![(Sign::Median, "one".to_owned()), (Sign::End, "other".to_owned())],
    }
}

fn row(strips: &Strips) -> Vec<char> {
    let text = strips.text(60, &UNICODE).unwrap();
    text.lines().nth(1).unwrap().chars().skip(3).collect()
}

#[test]
fn marks_stand_in_their_columns() {
    let marks = vec![
        Mark::Band(0.0, 50.0, Sign::Band),
        Mark::Bar(50.0, 100.0, Sign::Bar),
        Mark::Dot(25.0, Sign::Median),
    ];
    let row = row(&strips(marks, (0.0, 100.0)));
    let at = |sign: char| (0..row.len()).filter(|k| row[*k] == sign).collect::<Vec<_>>();
    assert_eq!(at('●'), [14]);
    // A bar is as long as the way between its ends; where it begins it covers the band's last sign.
    assert_eq!(at('░'), (0..28).filter(|k| *k != 14).collect::<Vec<_>>());
    assert_eq!(at('█'), (28..56).collect::<Vec<_>>());
}

#[test]
fn what_lies_beyond_the_axis_ends_in_an_arrow() {
    let far = strips(
        vec![Mark::Bar(0.0, f64::INFINITY, Sign::Bar), Mark::Dot(-1.0, Sign::Median)],
        (0.0, 100.0),
    );
    let cells = row(&far);
    assert_eq!((cells[0], cells[1], cells[55], cells[56]), ('◄', '█', '█', '►'));
    assert!(!cells.contains(&'●'));
    let text = far.text(60, &UNICODE).unwrap();
    assert!(text.ends_with("\n◄► beyond the axis\n"), "{text}");
    let near = strips(vec![Mark::Bar(0.0, 100.0, Sign::Bar)], (0.0, 100.0))
        .text(60, &UNICODE)
        .unwrap();
    assert!(!near.contains("beyond"), "{near}");
}

/// 57 columns hold six figures; every figure is centred under its tick.
#[test]
fn figures_stand_under_their_ticks() {
    let text = strips(vec![Mark::Dot(1.0, Sign::Median)], (0.0, 100.0))
        .text(60, &UNICODE)
        .unwrap();
    let line = |k: usize| text.lines().nth(k).unwrap().chars().collect::<Vec<_>>();
    let ticks: Vec<usize> = (0..60).filter(|k| line(2).get(*k) == Some(&'┴')).collect();
    // A tenth of 56 is 5.6 columns; three before the first.
    let tenths = [0, 6, 11, 17, 22, 28, 34, 39, 45, 50, 56];
    assert_eq!(ticks, tenths.map(|k| k + 3), "{text}");
    assert_eq!(line(3)[ticks[2] - 1..=ticks[2]], ['2', '0'], "{text}");
    assert!(text.contains("100\n   luck\n"), "{text}");
}

/// A date in the next year and a large amount stand as they are; what no file takes is short.
#[test]
fn what_stands_at_a_tick_is_written_out() {
    let mut dates = strips(vec![Mark::Dot(1.0, Sign::Median)], (0.0, 100.0));
    dates.axis.ticks = vec![(42.0, "11 Jan 2027".to_owned()), (70.0, "8 Feb 2027".to_owned())];
    let text = dates.text(60, &UNICODE).unwrap();
    assert!(text.contains("11 Jan 2027    8 Feb 2027\n"), "{text}");
    let axis = |high: f64| {
        let text = strips(vec![Mark::Dot(1.0, Sign::Median)], (0.0, high)).text(80, &UNICODE);
        let line = text.unwrap().lines().nth(3).unwrap().to_owned();
        line.split_whitespace().last().unwrap().to_owned()
    };
    assert!(axis(1e12).ends_with("00,000,000,000"), "{}", axis(1e12));
    assert!(axis(1e30).contains(".0e"), "{}", axis(1e30));
}

/// Figures that would touch are made fewer, evenly.
#[test]
fn figures_under_a_short_axis_are_fewer() {
    let mut narrow = strips(vec![Mark::Dot(1.0, Sign::Median)], (0.0, 10_000.0));
    narrow.strips[0].name = "a name of sixteen letters and more".to_owned();
    let text = narrow.text(40, &UNICODE).unwrap();
    let figures: Vec<&str> = text.lines().nth(3).unwrap().split_whitespace().collect();
    assert_eq!(figures, ["0", "5,000", "10,000"], "{text}");
}

#[test]
fn figures_behind_strips_give_way_to_the_strips() {
    let mut one = strips(vec![Mark::Bar(0.0, 1.0, Sign::Bar)], (0.0, 1.0));
    one.strips[0].figure = "so much".to_owned();
    assert!(one.text(60, &UNICODE).unwrap().contains("█ so much"));
    one.strips[0].figure = "a figure that takes half of the line".to_owned();
    assert!(!one.text(60, &UNICODE).unwrap().contains("figure"));
}

#[test]
fn no_axis_no_chart() {
    assert_eq!(
        strips(vec![Mark::Dot(1.0, Sign::Median)], (1.0, 1.0)).text(60, &UNICODE),
        None
    );
    assert_eq!(strips(vec![], (f64::NAN, 1.0)).text(60, &UNICODE), None);
    let mut none = strips(vec![], (0.0, 1.0));
    none.strips.clear();
    assert_eq!(none.text(60, &UNICODE), None);
}

proptest::proptest! {
    #[test]
    fn no_strip_breaks_it(
        name in ".{0,80}",
        figure in ".{0,80}",
        ends in (any_figure(), any_figure()),
        marks in proptest::collection::vec((any_figure(), any_figure()), 0..6),
        width in 0usize..130,
    ) {
        let mut one = strips(Vec::new(), ends);
        (one.strips[0].name, one.strips[0].figure) = (name, figure);
        for (a, b) in marks {
            one.strips[0].marks.extend([Mark::Band(a, b, Sign::Band), Mark::Bar(b, a, Sign::Bar), Mark::Dot(a, Sign::Median)]);
        }
        for line in one.text(width.max(40), &UNICODE).unwrap_or_default().lines() {
            proptest::prop_assert!(line.chars().count() <= width.max(40), "{line}");
        }
    }
}

#[test]
fn an_answer_without_sizes_has_no_chart() {
    let mut answer = gallery().remove(0).1;
    answer.sizes.clear();
    assert_eq!(sweep_chart(&answer, 80, true), "");
}
