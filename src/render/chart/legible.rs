//! Every chart of every question of every shipped scenario: no text lies over another, and none leaves the picture.

use super::canvas::{Mark, UNIT};
use super::labels::Rect;
use super::{Canvas, Paper, drawn, lettering};
use crate::render::columns::tests::answers;
use crate::render::plot::Plot;

/// Texts may come so near, in pixels: the boxes of letters have some air in them.
const AIR: f64 = 1.0;

fn texts<'c>(canvas: &'c Canvas) -> Vec<(&'c str, Rect)> {
    let place = |mark: &'c Mark| match mark {
        Mark::Text {
            text, at, size, weight, ..
        } => {
            let (x, y, size) = (at.0 / UNIT, at.1 / UNIT, size / UNIT);
            let (tall, deep) = (size * lettering::CAP_HEIGHT, size * 0.2);
            let x1 = x + lettering::width(text, *weight, size);
            let (y0, y1) = (y - tall, y + deep);
            Some((text.as_str(), Rect { x0: x, y0, x1, y1 }))
        }
        _ => None,
    };
    canvas.marks().iter().filter_map(place).collect()
}

/// What is wrong with a plot on a paper.
fn faults(plot: &Plot, paper: Paper) -> Vec<String> {
    let canvas = drawn(plot, paper).expect("it is drawn");
    let texts = texts(&canvas);
    let (wide, tall) = (paper.width, f64::from(paper.height(plot)));
    let mut found = Vec::new();
    for (k, (text, a)) in texts.iter().enumerate() {
        if a.x0 < -AIR || a.y0 < -AIR || a.x1 > wide + AIR || a.y1 > tall + AIR {
            found.push(format!("'{text}' leaves the picture"));
        }
        for (other, b) in &texts[k + 1..] {
            let (dx, dy) = (a.x1.min(b.x1) - a.x0.max(b.x0), a.y1.min(b.y1) - a.y0.max(b.y0));
            if dx > AIR && dy > AIR {
                found.push(format!("'{text}' and '{other}' lie over each other"));
            }
        }
    }
    found
}

#[test]
fn no_text_lies_over_another_or_leaves_the_picture() {
    let mut found = Vec::new();
    for (name, answer) in answers() {
        let Some(plot) = answer.plot() else { continue };
        let papers = [
            ("sheet", Paper::SHEET),
            ("1000 pixels", Paper::part(1000, &plot)),
            ("700 pixels", Paper::part(700, &plot)),
            ("360 pixels", Paper::part(360, &plot)),
            ("column", Paper::column(super::COLUMN, &plot)),
        ];
        for (on, paper) in papers {
            found.extend(
                faults(&plot, paper)
                    .into_iter()
                    .map(|fault| format!("{name}, {on}: {fault}")),
            );
        }
    }
    assert!(found.is_empty(), "{} faults:\n{}", found.len(), found.join("\n"));
}
