//! Every chart of every question of every shipped scenario, and of odd ones: no text lies over another, over a line, a dot or the edge of
//! an area, and none leaves the picture.

use super::canvas::{Mark, Paint, UNIT};
use super::labels::Rect;
use super::{Canvas, Paper, lettering, page, png, svg};
use crate::render::Render;
use crate::render::columns::tests::{answers, odd_answers};
use crate::render::plot::palette::{AXIS, GRID, WHITE};
use crate::render::plot::{Letters, Plot};
use crate::{scenario, worklog};
use plotters_backend::BackendCoord;

/// Texts may come so near, in pixels: the boxes of letters have some air in them.
const AIR: f64 = 1.0;

fn texts<'c>(canvas: &'c Canvas) -> Vec<(&'c str, Rect)> {
    let place = |mark: &'c Mark| match mark {
        Mark::Text { text, at, letters } => {
            let (x, y, size) = (at.0 / UNIT, at.1 / UNIT, letters.size / UNIT);
            let (tall, deep) = (size * lettering::CAP_HEIGHT, size * 0.2);
            let x1 = x + lettering::width(text, Letters { size, ..*letters });
            let (y0, y1) = (y - tall, y + deep);
            Some((text.as_str(), Rect { x0: x, y0, x1, y1 }))
        }
        _ => None,
    };
    canvas.marks().iter().filter_map(place).collect()
}

/// What a text must keep off: grid and axes are made to be written over, and white is ground.
fn counts(paint: Paint) -> bool {
    paint.alpha == 1.0 && ![GRID, AXIS, WHITE].contains(&paint.color)
}

/// What texts must keep off: strokes of lines and of the edges of areas, and dots with their radius, in pixels.
#[derive(Default)]
struct Ground {
    strokes: Vec<([(f64, f64); 2], &'static str)>,
    dots: Vec<((f64, f64), f64)>,
}

impl Ground {
    fn of(canvas: &Canvas) -> Self {
        let pixels = |p: &BackendCoord| (f64::from(p.0) / UNIT, f64::from(p.1) / UNIT);
        let mut ground = Self::default();
        for mark in canvas.marks() {
            let mut strokes = |points: &[BackendCoord], what| {
                let ends = points.windows(2).map(|w| ([pixels(&w[0]), pixels(&w[1])], what));
                ground.strokes.extend(ends);
            };
            match mark {
                Mark::Stroke { lines, paint, .. } if counts(*paint) => lines.iter().for_each(|l| strokes(l, "a line")),
                Mark::Fill { points, paint } if counts(*paint) => {
                    let closed: Vec<BackendCoord> = points.iter().chain(points.first()).copied().collect();
                    strokes(&closed, "the edge of an area");
                }
                Mark::Disc { centre, radius, paint } if counts(*paint) => {
                    ground.dots.push((pixels(centre), f64::from(*radius) / UNIT))
                }
                _ => {}
            }
        }
        ground
    }

    /// What of it lies in a box.
    fn under(&self, r: Rect) -> Option<&'static str> {
        let near = |[a, b]: &[(f64, f64); 2]| {
            a.0.max(b.0) >= r.x0 && a.0.min(b.0) <= r.x1 && a.1.max(b.1) >= r.y0 && a.1.min(b.1) <= r.y1
        };
        let stroke = self
            .strokes
            .iter()
            .find(|(ends, _)| near(ends) && r.holds_of(ends[0], ends[1]) > 0.0);
        let dot = || self.dots.iter().find(|(at, radius)| r.grown(*radius).holds(*at));
        stroke.map(|stroke| stroke.1).or_else(|| dot().map(|_| "a dot"))
    }
}

/// What is wrong with a plot on a paper.
fn faults(plot: &Plot, paper: Paper) -> Vec<String> {
    let canvas = page(plot, paper).drawn();
    let (texts, ground) = (texts(&canvas), Ground::of(&canvas));
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
        found.extend(
            ground
                .under(a.grown(-AIR))
                .map(|what| format!("'{text}' lies over {what}")),
        );
    }
    found
}

#[test]
fn no_text_lies_over_anything_or_leaves_the_picture() {
    let mut found = Vec::new();
    for (name, answer) in answers().iter().chain(odd_answers()) {
        let Some(plot) = answer.plot() else { continue };
        let papers = [
            ("sheet", Paper::SHEET),
            ("1000 pixels", Paper::part(1000, &plot)),
            ("700 pixels", Paper::part(700, &plot)),
            ("360 pixels", Paper::part(360, &plot)),
            ("340 pixels", Paper::part(340, &plot)),
        ];
        let whole = papers.map(|(on, paper)| (on, plot.clone(), paper));
        let printed = super::cut(&plot)
            .into_iter()
            .map(|(piece, paper)| ("printed", piece, paper));
        for (on, plot, paper) in whole.into_iter().chain(printed) {
            found.extend(
                faults(&plot, paper)
                    .into_iter()
                    .map(|fault| format!("{name}, {on}: {fault}")),
            );
        }
    }
    assert!(found.is_empty(), "{} faults:\n{}", found.len(), found.join("\n"));
}

/// Where all took less than was expected, the dashed line of that stands under the figures of a phone's rows, and some names reach over it
/// where more was taken.
#[test]
fn what_stands_above_a_row_is_clear_of_the_line_through_it() {
    let rail = scenario::read("rail", include_str!("../../../scenarios/oak-peg-rail.toml"), &[]).expect("a scenario");
    let own = include_str!("../../../scenarios/oak-peg-rail-log.csv").to_owned();
    let quick = (1..=6).fold("job,step,pieces,minutes\n".to_owned(), |log, k| {
        let (setup, each) = (8 + k % 2, 3 + k % 3);
        format!(
            "{log}{k},drill,{k},{}\n{k},glue pegs,{k},{}\n",
            setup + 2 * k,
            2 + each * k / 2
        )
    });
    for log in [own, quick] {
        let log = worklog::read("log", log.as_bytes()).expect("a log");
        let mut plot = worklog::fit::fit(&rail, &log).plot().expect("a plot");
        plot.panels.truncate(1);
        for width in [280, 340, 360, 400] {
            let canvas = page(&plot, Paper::part(width, &plot)).drawn();
            let (texts, ground) = (texts(&canvas), Ground::of(&canvas));
            assert!(texts.len() > 8);
            for (text, place) in texts {
                let wide = place.grown(1.5);
                assert_eq!(ground.under(wide), None, "'{text}' at {width}");
            }
        }
    }
}

/// Writes every chart of every question, of shipped scenarios and odd ones, to a folder of the machine's temporary files, for looking at:
/// `cargo test --lib chart::legible -- --ignored`
#[test]
#[ignore = "writes pictures for a person to look at"]
fn charts_to_look_at() {
    let folder = std::env::temp_dir().join("batchwright-charts");
    std::fs::create_dir_all(&folder).expect("a folder");
    for (name, answer) in answers().iter().chain(odd_answers()) {
        let Some(plot) = answer.plot() else { continue };
        std::fs::write(folder.join(format!("{name}.png")), png(&plot).expect("a picture").0).expect("a file");
        std::fs::write(folder.join(format!("{name}.svg")), svg(&plot)).expect("a file");
        let (phone, _) = super::part(&plot, 340);
        std::fs::write(folder.join(format!("{name}-340.svg")), phone).expect("a file");
    }
}
