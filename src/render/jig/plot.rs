//! The plot about jigs: when each has paid for itself, its surplus by pieces made, and what it adds to the hour.

use super::{FARTHEST, ROWS, headline, made, names, pieces, some_endless};
use crate::questions::jig::{AtSize, Jigs, Set};
use crate::render::format;
use crate::render::plot::palette::{BAND, INK, MUTED, RIVALS};
use crate::render::plot::ticks::{self, Stretch};
use crate::render::plot::{
    Axis, EndLabel, LABEL, Layer, Line, Panel, Plot, RowLayer, STRONG, Sign, SpotSaid, Text, at_ends, by_size, minus,
    shares, spots,
};

/// Height of everything but the rows, and of one of them, in pixels.
const HEIGHT: f64 = 1010.0;
const ROW: f64 = 30.0;
const ZERO: Line = Line::solid(INK, 1.6);
const WITHOUT: Line = Line::dashed(MUTED, 2.2, 8.0, 4.0);
/// In how many ways lines are broken.
const DASHES: usize = 3;
const PLANNED: Line = Line::dashed(MUTED, 1.8, 6.0, 4.0);

/// The whole plot; nothing where there is no jig.
pub(super) fn plot(answer: &Jigs) -> Option<Plot> {
    let view = View { answer };
    let paid = |set: &Set| {
        let paid = set.payback.pieces[1].map_or_else(
            || "never pays".to_owned(),
            |p| format!("paid after {} pieces", format::count(p.ceil() as u64)),
        );
        format!("{}: {paid}", names(answer, set))
    };
    let list: Vec<String> = answer.sets.iter().map(paid).collect();
    let rows = view.payback();
    let rows_high = rows.as_ref().map_or(0.0, |panel| panel.share + 104.0);
    let courses = (!answer.courses.is_empty()).then(|| view.courses());
    let gains = (!answer.by_size.is_empty()).then(|| view.gains());
    let panels: Vec<Panel> = [rows, courses, gains].into_iter().flatten().collect();
    panels.first()?;
    Some(Plot {
        foot: format!(
            "Made {} · target {} an hour · {} simulated batches with and without · seed {} · batchwright {}",
            made(answer.size),
            format::typed_money(answer.target, &answer.currency),
            format::count(answer.trials),
            answer.seed,
            answer.version
        ),
        description: format!(
            "Panels: when it has paid for itself in pieces made, surplus cumulated since building against pieces made, with the \
             middle eight cases in ten, and what it adds to the hour on average against batch size. {}.",
            list.join("; ")
        ),
        height: (HEIGHT + rows_high) as u32,
        panels,
        ..Plot::about(&answer.title, headline(answer))
    })
}

struct View<'a> {
    answer: &'a Jigs,
}

impl View<'_> {
    fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, &self.answer.currency))
    }

    /// A name that fits beside the plot.
    fn name(&self, set: usize) -> String {
        let jigs = &self.answer.jigs;
        match self.answer.sets[set].jigs.as_slice() {
            [one] => jigs[*one].name.clone(),
            many if many.len() == jigs.len() && many.len() > 2 => "all together".to_owned(),
            many if many.len() == jigs.len() => "both together".to_owned(),
            many => {
                let numbers: Vec<String> = many.iter().map(|k| (k + 1).to_string()).collect();
                format!("jigs {} together", numbers.join(", "))
            }
        }
    }

    /// From the pieces by which one case in ten has paid to those by which nine have; nothing where none ever does.
    fn payback(&self) -> Option<Panel> {
        let a = self.answer;
        let sets = &a.sets[..a.sets.len().min(ROWS)];
        let planned = a.planned_pieces(a.size) as f64;
        let paid = |set: &Set| set.payback.pieces.into_iter().flatten().fold(0.0, f64::max);
        let most = sets.iter().map(paid).fold(0.0, f64::max);
        if most <= 0.0 {
            return None;
        }
        let first = sets.iter().map(paid).find(|p| *p > 0.0).unwrap_or(most);
        let end = most.max(planned).min(FARTHEST * planned.max(first));
        let worn = |set: &Set| set.life_pieces.map(f64::from).filter(|life| *life <= end);
        let mut layers = Vec::new();
        for (row, set) in sets.iter().enumerate() {
            let [low, middle, high] = set.payback.pieces.map(|p| p.unwrap_or(f64::INFINITY));
            let dot = |at: f64, color, sign| RowLayer::dot(row, at, 5.0, color).signed(sign);
            if low.is_finite() {
                layers.push(RowLayer::whisker(row, (low, high), Line::solid(line(row).color, 5.0)).signed(Sign::Band));
            }
            layers.extend(worn(set).map(|life| dot(life, MUTED, Sign::End)));
            if low.is_finite() {
                layers.push(dot(middle, line(row).color, Sign::Median));
            }
            let paid = pieces(set.payback.pieces[1]);
            let figure = match set.payback.pieces[1] {
                Some(_) => format!("{paid} pieces"),
                None => paid.clone(),
            };
            layers.push(RowLayer::figure(row, figure, STRONG).brief(paid));
        }
        layers.push(RowLayer::upright(planned, PLANNED).signed(Sign::Aim));
        let planned = format!("planned {}", format::count(planned as u64));
        let mut legend = vec![
            (Sign::Median, "paid as likely as not".to_owned()),
            (Sign::Band, "8 cases in 10".to_owned()),
            (Sign::Aim, planned.clone()),
        ];
        let mut key = format!("dot: as likely as not; bar: 8 cases in 10; dashed: {planned}");
        if sets.iter().any(|set| worn(set).is_some()) {
            legend.push((Sign::End, "worn out".to_owned()));
            key.push_str("; grey dot: worn out");
        }
        let names = (0..sets.len()).map(|k| self.name(k)).collect();
        Some(Panel {
            title: "When it has paid for itself".into(),
            unit: format!("pieces made with it {}", made(a.size)),
            key,
            share: ROW * sets.len() as f64,
            told: self.paid_told(sets),
            text: Some(Text::of(legend)),
            ..Panel::rows(names, layers, Axis::counts(1.02 * end).named("pieces made"))
        })
    }

    /// When each has paid for itself.
    fn paid_told(&self, sets: &[Set]) -> Vec<(f64, SpotSaid)> {
        let said = |(row, set): (usize, &Set)| {
            let [low, middle, high] = set.payback.pieces.map(pieces);
            let said = vec![
                ("jig".to_owned(), self.name(row)),
                ("as likely as not paid after pieces".to_owned(), middle),
                ("in 10 of 100 cases".to_owned(), low),
                ("in 90 of 100 cases".to_owned(), high),
            ];
            (row as f64, said)
        };
        sets.iter().enumerate().map(said).collect()
    }

    /// The surplus of each after so many pieces, where any course has a point.
    fn courses_told(&self) -> Vec<(f64, SpotSaid)> {
        let courses = &self.answer.courses;
        let mut made: Vec<f64> = courses.iter().flat_map(|c| &c.points).map(|p| p.pieces).collect();
        made.sort_by(f64::total_cmp);
        made.dedup();
        let told = made.into_iter().map(|made| {
            let each = courses.iter().filter_map(|course| {
                let point = course.points.iter().find(|p| p.pieces == made)?;
                Some((self.name(course.set), self.amount(point.p50)))
            });
            let what = ("pieces made".to_owned(), format::count(made as u64));
            (made, std::iter::once(what).chain(each).collect())
        });
        told.collect()
    }

    /// Surplus by pieces made; where it crosses nothing, the jig is paid.
    fn courses(&self) -> Panel {
        let a = self.answer;
        let pieces = a.courses.iter().filter_map(|c| c.points.last()).map(|p| p.pieces);
        let last = pieces.fold(0.0, f64::max);
        let middle = a.courses.iter().flat_map(|c| &c.points).map(|p| p.p50);
        // The first has a band.
        let first = a.courses.first().map_or(&[][..], |first| &first.points);
        let shown = middle.chain(first.iter().flat_map(|p| [p.p10, p.p90]));
        let (low, high) = shown.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
        let air = 0.05 * (high - low).max(1.0);
        let band = first.iter().map(|p| (p.pieces, p.p10, p.p90));
        let mut layers = vec![Layer::band(band.collect(), BAND), Layer::level(0.0, ZERO)];
        layers.extend(solid_first(a.courses.len()).map(|k| {
            let points = &a.courses[k].points;
            Layer::curve(points.iter().map(|p| (p.pieces, Some(p.p50))).collect(), line(k))
        }));
        let mut ends = Vec::new();
        for (k, course) in a.courses.iter().enumerate() {
            let paid = a.sets[course.set].payback.pieces[1].filter(|p| *p > 0.0 && *p <= last);
            layers.extend(paid.map(|paid| Layer::dot((paid, 0.0), 5.0, line(k).color)));
            let end = course.points.last();
            ends.extend(end.map(|p| EndLabel::line(p.p50, line(k), self.name(course.set), self.amount(p.p50))));
        }
        let end = first.last();
        ends.extend(end.map(|p| EndLabel::area((p.p10 + p.p50) / 2.0, BAND, "8 cases in 10", "")));
        layers.push(Layer::ends(ends));
        layers.push(Layer::note(
            [("dot: as likely as not it has paid".to_owned(), LABEL.of(MUTED))],
            spots(&shares([0.9, 0.1, 0.75, 0.25]), &at_ends(10.0)),
        ));
        let axis = Axis::counts(last).named("pieces made");
        Panel {
            title: "Surplus since it was built".into(),
            unit: format!("{}, against pieces made with it", a.currency),
            key: "above 0 it has paid for itself".into(),
            named: true,
            told: self.courses_told(),
            ..Panel::curves(340.0, &axis, (low - air, high + air), layers)
        }
    }

    /// What each adds to the long-run rate, against batch size.
    fn gains(&self) -> Panel {
        let a = self.answer;
        let sizes: Vec<u32> = a.by_size.iter().map(|s| s.size).collect();
        let gain = |at: &AtSize, k: usize| Some(at.sets.get(k)?.adds_to_hour.mean);
        let gains = |at| (0..a.courses.len()).filter_map(move |k| gain(at, k));
        let all: Vec<f64> = a.by_size.iter().flat_map(gains).collect();
        let here = a.by_size.iter().find(|s| s.size == a.size);
        let mut story = vec![0.0];
        story.extend(here.into_iter().flat_map(gains));
        let range = ticks::range(&story, &all, &all, Stretch { allow: 4.0, show: 0.5 });
        let range = ticks::aired(range, 0.05);
        let mut layers = vec![Layer::level(0.0, WITHOUT)];
        layers.extend(solid_first(a.courses.len()).map(|k| {
            let points = a.by_size.iter().map(|s| (f64::from(s.size), gain(s, k)));
            Layer::curve(points.collect(), line(k))
        }));
        let mut ends = vec![EndLabel::line(0.0, WITHOUT, "without", "0")];
        for k in 0..a.courses.len() {
            let end = a.by_size.last().and_then(|s| gain(s, k));
            let here = here.and_then(|s| gain(s, k));
            let figure = |end: f64| self.amount(here.unwrap_or(end));
            ends.extend(end.map(|end| EndLabel::line(end, line(k), self.name(k), figure(end))));
            layers.extend(here.map(|gain| Layer::dot((a.size.into(), gain), 4.5, line(k).color)));
        }
        layers.push(Layer::ends(ends));
        let life = if some_endless(a) { " or what is planned" } else { "" };
        Panel {
            title: "What it adds to the hour on average".into(),
            unit: format!(
                "{} per hands-on hour, building and cost spread over its life{life}",
                a.currency
            ),
            figures_of: by_size::told(&sizes, a.size).1,
            named: true,
            ..Panel::curves(280.0, &Axis::sizes(&sizes, sizes.len() == 1), range, layers)
        }
    }
}

/// The order in which so many lines are drawn: through the gaps of a broken one an unbroken one is seen.
fn solid_first(many: usize) -> impl Iterator<Item = usize> {
    (0..DASHES).flat_map(move |dash| (dash..many).step_by(DASHES))
}

/// Lines that lie on one another show through each other's gaps, and are told apart in grey.
fn line(k: usize) -> Line {
    let color = RIVALS[k % RIVALS.len()];
    match k % DASHES {
        0 => Line::solid(color, 2.6),
        1 => Line::dashed(color, 2.6, 10.0, 5.0),
        _ => Line::dashed(color, 2.6, 3.0, 3.0),
    }
}
