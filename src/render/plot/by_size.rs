//! Curves against batch size with the best size marked: what the plots of `season` and `steady` share.

use super::palette::{self, Color, INK, WHITE};
use super::{
    Axis, BEST, EndLabel, LABEL, Layer, Line, MEDIAN, Points, Ranges, STRONG, Sign, Spot, TARGET, beside_line, minus,
};
use crate::render::figure::Mark;
use crate::render::format;

/// Half the width of what stands for one size alone, in pixels.
pub(in crate::render) const LONE: f64 = 28.0;
/// Up to so many sizes each has its dot.
const FEW: usize = 12;
/// Keeps a line over shaded areas apart from them.
pub(in crate::render) const UNDER: Line = Line::solid(WHITE, 3.0);

/// Ascending sizes, the best of them, and what it leaves.
pub(in crate::render) struct BySize<'a> {
    pub(in crate::render) sizes: Vec<u32>,
    pub(in crate::render) axis: Axis,
    best: u32,
    leaves: f64,
    currency: &'a str,
}

impl<'a> BySize<'a> {
    pub(in crate::render) fn new(sizes: Vec<u32>, best: u32, leaves: f64, currency: &'a str) -> Self {
        Self {
            axis: Axis::sizes(&sizes, false),
            sizes,
            best,
            leaves,
            currency,
        }
    }

    pub(in crate::render) fn amount(&self, value: f64) -> String {
        minus(&format::amount(value, self.currency))
    }

    pub(in crate::render) fn several(&self) -> bool {
        self.sizes.len() > 1
    }

    /// A curve with a dot at each size where they are few.
    pub(in crate::render) fn curve(&self, points: Points, line: Line) -> Layer {
        Layer::curve(points, line).dots(self.sizes.len() <= FEW)
    }

    pub(in crate::render) fn best_color(&self) -> Color {
        palette::best(self.leaves)
    }

    /// The line at the best size, where there are others.
    pub(in crate::render) fn best_line(&self) -> Option<Layer> {
        let color = self.best_color();
        self.several()
            .then(|| Layer::upright(self.best.into(), Line { color, ..BEST }))
    }

    /// The same over shaded areas.
    pub(in crate::render) fn best_line_over_areas(&self) -> impl Iterator<Item = Layer> {
        let line = self.best_line();
        let under = line.as_ref().map(|_| Layer::upright(self.best.into(), UNDER));
        under.into_iter().chain(line)
    }

    pub(in crate::render) fn best_dot(&self, value: f64, radius: f64) -> Layer {
        Layer::dot((self.best.into(), value), radius, self.best_color())
    }

    pub(in crate::render) fn beside_best(&self) -> Vec<Spot> {
        beside_line(self.best.into(), if self.several() { 9.0 } else { LONE + 14.0 })
    }

    /// Shaded areas, and their labels with what each comes to at the best size.
    pub(in crate::render) fn areas(
        &self,
        areas: impl IntoIterator<Item = (Color, &'static str, Ranges)>,
        write: impl Fn(f64) -> String,
    ) -> (Vec<Layer>, Vec<EndLabel>) {
        let (mut layers, mut ends) = (Vec::new(), Vec::new());
        for (color, name, points) in areas {
            let told = points
                .get(told(&self.sizes, self.best).0)
                .map_or(0.0, |(_, low, high)| high - low);
            ends.extend(
                (points.last()).map(|(_, low, high)| EndLabel::area((low + high) / 2.0, color, name, write(told))),
            );
            layers.push(Layer::band(points, color));
        }
        (layers, ends)
    }

    /// Of which size the figures beside lines are, where that is not the last.
    pub(in crate::render) fn figures_of(&self) -> String {
        told(&self.sizes, self.best).1
    }

    /// What each size leaves once hours are paid, and of the best two lines of words at one of some places. `near` are nearly as good;
    /// without them the best is not advised, nor anything as good as it.
    pub(in crate::render) fn surplus(
        &self,
        points: Points,
        near: Option<&[u32]>,
        [first, second]: [String; 2],
        places: Vec<Spot>,
    ) -> Vec<Layer> {
        let mut layers = vec![
            Layer::level(0.0, TARGET).signed(Sign::Target),
            self.curve(points, MEDIAN).signed(Sign::Median),
        ];
        layers.extend(near.map(|near| {
            Layer::marks(near.iter().map(|size| f64::from(*size)).collect()).signed(Sign::Row(Mark::Near))
        }));
        let best = near.map(|_| Sign::Row(Mark::Best));
        layers.extend(self.best_line().map(|line| line.signed(best)));
        layers.push(self.best_dot(self.leaves, 5.5));
        layers.push(Layer::note(
            [(first, STRONG.of(self.best_color())), (second, LABEL.of(INK))],
            places,
        ));
        layers
    }
}

/// The place of the size that is spoken of, whose figures stand beside the lines, and what a panel says of that: nothing of the last, where the lines end.
pub(in crate::render) fn told(sizes: &[u32], size: u32) -> (usize, String) {
    let last = sizes.len().saturating_sub(1);
    match sizes.iter().position(|at| *at == size) {
        Some(place) if place < last => (place, format::count(size.into())),
        _ => (last, String::new()),
    }
}
