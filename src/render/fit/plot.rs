//! The plot of `fit`: what it took over what the file expects, then a panel for each step with its entries as dots, the fitted
//! line with its band, and what the file expects.

use super::{headline, ratio};
use crate::render::plot::palette::{ASKED, BAND, INK, MAIN, MUTED, STEPS, WHITE};
use crate::render::plot::ticks::SizeScale;
use crate::render::plot::{Axis, EndLabel, LABEL, Layer, Line, Panel, Plot, Points, RowLayer, Sign, SpotSaid, Text};
use crate::render::{format, text};
use crate::worklog::fit::{Along, Fit, LinePoint, StepFit};

/// Panels at most: those whose entries took longest.
const PANELS: usize = 8;
const PANEL: f64 = 250.0;
/// Height of a row, in pixels.
const ROW: f64 = 26.0;
const LAW: Line = Line::solid(MAIN, 2.6);
const EXPECTED: Line = Line::dashed(ASKED, 2.0, 8.0, 4.0);

/// The whole plot; nothing where no step has entries of setup and pieces.
pub(super) fn plot(answer: &Fit) -> Option<Plot> {
    let mut longest: Vec<&StepFit> = answer.steps.iter().filter(|s| !s.line.is_empty()).collect();
    longest.sort_by(|a, b| b.minutes.total_cmp(&a.minutes));
    longest.truncate(PANELS);
    let told = |s: &&StepFit| longest.iter().any(|l| std::ptr::eq(*l, *s));
    let steps: Vec<&StepFit> = answer.steps.iter().filter(told).collect();
    let against = against_file(answer);
    if steps.is_empty() && against.is_none() {
        return None;
    }
    let list: Vec<String> = steps.iter().map(|step| found(step)).collect();
    let above = against.as_ref().map_or(0.0, |panel| panel.share + 104.0);
    let mut panels: Vec<Panel> = against.into_iter().chain(steps.iter().map(|s| step(s))).collect();
    if let Some(last) = panels.last_mut() {
        last.named = true;
    }
    Some(Plot {
        foot: format!(
            "{} entries · {} jobs named · dots: entries (grey: setup or pieces alone; ring: left out) · batchwright {}",
            format::count(answer.entries as u64),
            format::count(answer.pace.jobs.len() as u64),
            answer.version
        ),
        description: format!(
            "What it took over what the file expects, then one panel a step: minutes of each entry against its pieces or orders, \
             the fitted line with the band of eight new batches in ten, and what the file expects. {}.",
            list.join("; ")
        ),
        height: (190.0 + above + PANEL * steps.len() as f64) as u32,
        panels,
        ..Plot::about(&answer.title, headline(answer))
    })
}

fn found(step: &StepFit) -> String {
    let parts = step.parts.iter();
    let parts = parts.map(|p| format!("{} {}", called(p.key), minutes(p.found.value)));
    format!(
        "{}: {}",
        text::printable(&step.name),
        parts.collect::<Vec<_>>().join(", ")
    )
}

/// A part of a step as it stands beside its name.
fn called(key: &str) -> String {
    key.replace('_', " ")
}

/// A row for each estimate: how many times what the file expects; nothing for a single one.
fn against_file(fit: &Fit) -> Option<Panel> {
    let (mut names, mut layers, mut shown, mut told) = (Vec::new(), Vec::new(), vec![1.0_f64], Vec::new());
    for step in &fit.steps {
        for part in step.parts.iter().filter(|p| p.expected > 0.0) {
            let found = part.found;
            let times = |v: f64| v / part.expected;
            let row = names.len();
            names.push(format!("{}: {}", text::printable(&step.name), called(part.key)));
            let ends = found.low.zip(found.high);
            if let Some((low, high)) = ends {
                let (from, to) = (times(low.max(0.0)), times(high));
                // A hopelessly wide interval must not flatten the others.
                shown.extend([from, to.min(3.0)]);
                layers.push(RowLayer::whisker(row, (from, to), Line::solid(STEPS[0], 4.0)).signed(Sign::Band));
            }
            shown.push(times(found.value));
            layers.push(RowLayer::dot(row, times(found.value), 4.5, MAIN).signed(Sign::Median));
            let text = ratio(times(found.value));
            layers.push(RowLayer::figure(row, text, LABEL));
            let what = (text::printable(&step.name), called(part.key));
            let said = said(what, [found.value, part.expected], "95 % interval", ends);
            told.push((row as f64, said));
        }
    }
    if names.len() < 2 {
        return None;
    }
    layers.push(RowLayer::upright(1.0, EXPECTED).signed(Sign::Aim));
    let finite = shown.into_iter().filter(|v| v.is_finite());
    let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    let air = 0.05 * (high - low);
    let axis = Axis::values(((low - air).max(0.0), high + air), format::tick).named("times as expected");
    Some(Panel {
        title: "What it took over what the file expects".into(),
        key: "dot: the log; line: its 95 % interval; dashed: as expected".into(),
        share: ROW * names.len() as f64,
        told,
        text: Some(Text::of([
            (Sign::Median, "log"),
            (Sign::Band, "95 %"),
            (Sign::Aim, "as expected"),
        ])),
        ..Panel::rows(names, layers, axis)
    })
}

fn step(step: &StepFit) -> Panel {
    let band = step.line.iter();
    let band = band.filter_map(|p| Some((f64::from(p.pieces), p.low?, p.high?)));
    let curve = |of: fn(&LinePoint) -> f64, line| -> Layer {
        let points: Points = step.line.iter().map(|p| (f64::from(p.pieces), Some(of(p)))).collect();
        Layer::curve(points, line)
    };
    let mut layers = vec![
        Layer::band(band.collect(), BAND),
        curve(|p| p.expected, EXPECTED),
        curve(|p| p.minutes, LAW),
    ];
    for point in &step.points {
        let at = (f64::from(point.pieces), point.minutes);
        if point.apart {
            // A ring, which is told from a grey dot without colour too.
            layers.extend([Layer::dot(at, 5.0, ASKED), Layer::dot(at, 1.5, WHITE)]);
        } else {
            layers.push(Layer::dot(at, 4.0, if point.partly { MUTED } else { INK }));
        }
    }
    layers.extend(step.line.last().map(|end| Layer::ends(labels(end))));
    let (unit, counted) = match step.along {
        Along::Pieces => ("minutes an entry, against pieces", "pieces in an entry"),
        Along::Orders => ("minutes an entry, against orders", "orders in an entry"),
    };
    let highest = step.line.iter().flat_map(|p| [p.minutes, p.expected]);
    let highest = highest.chain(step.points.iter().map(|p| p.minutes)).fold(0.0, f64::max);
    let band = step.line.iter().filter_map(|p| p.high).fold(0.0, f64::max);
    let top = 1.05 * highest.max(band.min(1.5 * highest));
    Panel {
        title: text::printable(&step.name),
        unit: unit.into(),
        told: step.line.iter().map(|point| along(point, counted)).collect(),
        ..Panel::curves(PANEL - 78.0, &axis(step).named(counted), (0.0, top), layers)
    }
}

/// What is said of so many pieces in an entry.
fn along(point: &LinePoint, counted: &str) -> (f64, SpotSaid) {
    let what = (counted.to_owned(), format::count(point.pieces.into()));
    let ends = point.low.zip(point.high);
    let said = said(what, [point.minutes, point.expected], "eight new batches in ten", ends);
    (f64::from(point.pieces), said)
}

/// What it is, what the log says and the file expects, and the ends between which so much lies.
fn said(what: (String, String), [log, file]: [f64; 2], between: &str, ends: Option<(f64, f64)>) -> SpotSaid {
    let ends = ends.map(|(low, high)| format::plain_interval(&format::minutes(low.max(0.0)), &minutes(high)));
    let mut said = vec![
        what,
        ("by the log".to_owned(), minutes(log)),
        ("as the file expects".to_owned(), minutes(file)),
    ];
    said.extend(ends.map(|ends| (between.to_owned(), ends)));
    said
}

fn minutes(value: f64) -> String {
    format!("{} min", format::minutes(value))
}

fn labels(end: &LinePoint) -> Vec<EndLabel> {
    let mut ends = vec![
        EndLabel::line(end.minutes, LAW, "log", minutes(end.minutes)),
        EndLabel::line(end.expected, EXPECTED, "file", minutes(end.expected)),
    ];
    if let (Some(low), Some(_)) = (end.low, end.high) {
        let middle = f64::midpoint(low, end.minutes);
        ends.push(EndLabel::area(middle, BAND, "8 batches in 10", ""));
    }
    ends
}

/// Pieces of an entry; nothing between whole ones has a figure.
fn axis(step: &StepFit) -> Axis {
    let pieces = step.points.iter().map(|p| p.pieces);
    let most = pieces.chain(step.line.last().map(|p| p.pieces)).max().unwrap_or(1);
    let partly = step.points.iter().any(|p| p.pieces == 0);
    let scale = SizeScale {
        low: if partly { 0.0 } else { 1.0 },
        high: f64::from(most.max(2)),
        log: false,
    };
    let mut axis = Axis::values((scale.low, scale.high), |v, _| format::tick(v, 1.0));
    axis.ticks.retain(|(v, _)| v.fract() == 0.0);
    axis
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Six pieces have room for a figure each, and halves between them that have none.
    #[test]
    fn pieces_are_whole_on_the_axis() {
        let rail = include_str!("../../../scenarios/oak-peg-rail.toml");
        let rail = crate::scenario::read("rail", rail, &[]).expect("a scenario");
        let log = "step,what,pieces,minutes\ndrill,,1,14\ndrill,,2,19\ndrill,,3,25\ndrill,,4,29\ndrill,,5,36\ndrill,,6,41\ndrill,setup,,9\n";
        let log = crate::worklog::read("log", log.as_bytes()).expect("a log");
        let drawn = plot(&crate::worklog::fit::fit(&rail, &log)).expect("a plot");
        let drill = drawn
            .panels
            .iter()
            .find(|panel| panel.title == "drill")
            .expect("a panel");
        let said: Vec<&str> = drill.axis.ticks.iter().map(|(_, said)| said.as_str()).collect();
        assert_eq!(said, ["0", "1", "2", "3", "4", "5", "6"]);
    }
}
