//! A plotters backend that keeps what is drawn, so that one drawing becomes an SVG or a PNG with the same shapes.
//!
//! plotters hands backends whole numbers. The canvas counts in sixteenths of a pixel ([`UNIT`]), so that curves lie where
//! they belong and not on the pixel grid.

use super::lettering;
use crate::render::plot::palette::Color;
use crate::render::plot::{Letters, Weight};
use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
};
use std::convert::Infallible;

/// Canvas units in a pixel.
pub(super) const UNIT: f64 = 16.0;

/// Colour and opacity (0 to 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Paint {
    pub(super) color: Color,
    pub(super) alpha: f64,
}

impl From<BackendColor> for Paint {
    fn from(BackendColor { rgb: (r, g, b), alpha }: BackendColor) -> Self {
        let color = Color(r, g, b);
        Self {
            color,
            alpha: alpha.clamp(0.0, 1.0),
        }
    }
}

impl From<Color> for Paint {
    fn from(color: Color) -> Self {
        Self { color, alpha: 1.0 }
    }
}

/// One thing drawn; coordinates and widths in canvas units, y downwards.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    /// A filled polygon.
    Fill { points: Vec<BackendCoord>, paint: Paint },
    /// Open lines of one style; neighbours in drawing order are joined into one mark.
    Stroke {
        lines: Vec<Vec<BackendCoord>>,
        width: u32,
        paint: Paint,
    },
    Disc {
        centre: BackendCoord,
        radius: u32,
        paint: Paint,
    },
    /// A line of text; `at` is the left end of its baseline.
    Text {
        text: String,
        at: (f64, f64),
        letters: Letters,
    },
}

impl Mark {
    /// Between which heights it lies, with some room: no pixel beyond them is touched.
    pub(super) fn extent(&self) -> [f64; 2] {
        let of = |points: &mut dyn Iterator<Item = i32>, room: f64| {
            let [least, most] = points.fold([i32::MAX, i32::MIN], |[least, most], y| [least.min(y), most.max(y)]);
            [f64::from(least) - room - UNIT, f64::from(most) + room + UNIT]
        };
        match self {
            Self::Fill { points, .. } => of(&mut points.iter().map(|at| at.1), 0.0),
            Self::Stroke { lines, width, .. } => of(&mut lines.iter().flatten().map(|at| at.1), f64::from(*width)),
            Self::Disc { centre, radius, .. } => of(&mut std::iter::once(centre.1), f64::from(*radius)),
            // Letters reach less than their size above the line and below it, accents and tails too.
            Self::Text { at, letters, .. } => [at.1 - 2.0 * letters.size, at.1 + letters.size],
        }
    }
}

/// The recording backend.
#[derive(Debug, Default)]
pub(super) struct Canvas {
    size: (u32, u32),
    marks: Vec<Mark>,
}

impl Canvas {
    /// An empty canvas of so many pixels.
    pub(super) fn new(width: u32, height: u32) -> Self {
        let unit = UNIT as u32;
        Self {
            size: (width * unit, height * unit),
            marks: Vec::new(),
        }
    }

    /// Everything drawn so far, in drawing order.
    pub(super) fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Lays what was drawn on another canvas over this one.
    pub(super) fn take(&mut self, other: Self) {
        self.marks.extend(other.marks);
    }

    fn stroke(&mut self, line: Vec<BackendCoord>, width: u32, paint: Paint) {
        if line.len() < 2 || paint.alpha == 0.0 {
            return;
        }
        let line = simplified(&line);
        if let Some(Mark::Stroke { lines, width: w, paint: p }) = self.marks.last_mut()
            && *w == width
            && *p == paint
            // Lines that cross within one translucent mark would not add up.
            && paint.alpha == 1.0
        {
            lines.push(line);
        } else {
            self.marks.push(Mark::Stroke {
                lines: vec![line],
                width,
                paint,
            });
        }
    }

    fn fill(&mut self, points: Vec<BackendCoord>, paint: Paint) {
        if points.len() > 2 && paint.alpha > 0.0 {
            self.marks.push(Mark::Fill {
                points: simplified(&points),
                paint,
            });
        }
    }
}

/// How far a line may stray when points are left out, in canvas units: an eighth of a pixel.
const STRAY: f64 = UNIT / 8.0;

/// The line without the points that nobody could see, by Douglas and Peucker, "Algorithms for the reduction of the number
/// of points required to represent a digitized line or its caricature", Cartographica 10(2), 1973. A thousand sizes have
/// more points than the plot has pixels.
fn simplified(line: &[BackendCoord]) -> Vec<BackendCoord> {
    let mut keep = vec![false; line.len()];
    let mut open = vec![(0, line.len().saturating_sub(1))];
    while let Some((first, last)) = open.pop() {
        let (Some(&a), Some(&b)) = (line.get(first), line.get(last)) else {
            continue;
        };
        (keep[first], keep[last]) = (true, true);
        let between = (first + 1..last).map(|i| (i, distance(line[i], a, b)));
        if let Some((i, far)) = between.max_by(|p, q| p.1.total_cmp(&q.1))
            && far > STRAY
        {
            open.extend([(first, i), (i, last)]);
        }
    }
    let kept = line.iter().zip(keep).filter(|(_, keep)| *keep);
    kept.map(|(p, _)| *p).collect()
}

/// From a point to the stroke between two others.
fn distance(p: BackendCoord, a: BackendCoord, b: BackendCoord) -> f64 {
    let to_f = |v: BackendCoord| (f64::from(v.0), f64::from(v.1));
    let ((px, py), (ax, ay), (bx, by)) = (to_f(p), to_f(a), to_f(b));
    let (dx, dy) = (bx - ax, by - ay);
    let length = dx * dx + dy * dy;
    let t = if length > 0.0 {
        (((px - ax) * dx + (py - ay) * dy) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    libm::hypot(px - ax - t * dx, py - ay - t * dy)
}

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

impl DrawingBackend for Canvas {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, color: BackendColor) -> Drawn {
        self.fill(vec![(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)], color.into());
        Ok(())
    }

    /// Filled, as all boxes and discs of a chart are.
    fn draw_rect<S: BackendStyle>(
        &mut self,
        (x0, y0): BackendCoord,
        (x1, y1): BackendCoord,
        style: &S,
        _: bool,
    ) -> Drawn {
        self.fill(vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)], style.color().into());
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.stroke(path.into_iter().collect(), style.stroke_width(), style.color().into());
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(&mut self, centre: BackendCoord, radius: u32, style: &S, _: bool) -> Drawn {
        let paint = style.color().into();
        self.marks.push(Mark::Disc { centre, radius, paint });
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.fill(path.into_iter().collect(), style.color().into());
        Ok(())
    }

    /// Top is the top of capital letters, bottom the baseline, centre half-way between. Letters are always level.
    fn draw_text<T: BackendTextStyle>(&mut self, text: &str, style: &T, (x, y): BackendCoord) -> Drawn {
        let letters = letters(style);
        let cap = letters.size * lettering::CAP_HEIGHT;
        let dx = match style.anchor().h_pos {
            HPos::Left => 0.0,
            HPos::Center => -0.5 * lettering::width(text, letters),
            HPos::Right => -lettering::width(text, letters),
        };
        let dy = match style.anchor().v_pos {
            VPos::Top => cap,
            VPos::Center => 0.5 * cap,
            VPos::Bottom => 0.0,
        };
        if !text.is_empty() {
            let (text, at) = (text.to_owned(), (f64::from(x) + dx, f64::from(y) + dy));
            self.marks.push(Mark::Text { text, at, letters });
        }
        Ok(())
    }
}

fn letters(style: &impl BackendTextStyle) -> Letters {
    let weight = match style.style() {
        FontStyle::Bold => Weight::SemiBold,
        _ => Weight::Regular,
    };
    Letters::new(style.size(), weight, Paint::from(style.color()).color)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_on_a_straight_line_go_and_corners_stay() {
        let straight: Vec<BackendCoord> = (0..100).map(|i| (i * 10, i * 5)).collect();
        assert_eq!(simplified(&straight), [(0, 0), (990, 495)]);
        let saw: Vec<BackendCoord> = (0..100).map(|i| (i * 3, 40 * (i % 2))).collect();
        assert_eq!(simplified(&saw), saw);
        assert_eq!(simplified(&[(1, 1), (1, 1)]), [(1, 1), (1, 1)]);
        assert!(simplified(&[]).is_empty());
    }

    #[test]
    fn no_point_left_out_was_farther_off_than_said() {
        let curve: Vec<BackendCoord> = (1..2000).map(|i| (i * 7, (200_000.0 / f64::from(i)) as i32)).collect();
        let kept = simplified(&curve);
        assert!(kept.len() < curve.len() / 4, "{}", kept.len());
        for &p in &curve {
            let off = kept
                .windows(2)
                .map(|w| distance(p, w[0], w[1]))
                .fold(f64::INFINITY, f64::min);
            assert!(off <= STRAY, "{p:?} is {off} off");
        }
    }

    #[test]
    fn strokes_of_one_style_become_one_mark() {
        let mut canvas = Canvas::new(10, 10);
        let style = BackendColor {
            alpha: 1.0,
            rgb: (1, 2, 3),
        };
        for y in 0..3 {
            DrawingBackend::draw_path(&mut canvas, [(0, y), (9, y)], &style).unwrap();
        }
        let [Mark::Stroke { lines, .. }] = canvas.marks() else {
            panic!("{:?}", canvas.marks())
        };
        assert_eq!(lines.len(), 3);
    }
}
