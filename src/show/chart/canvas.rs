//! A plotters backend that keeps what is drawn, so that one drawing becomes an SVG or a PNG with the same shapes.
//!
//! plotters hands backends whole numbers. The canvas counts in sixteenths of a pixel ([`UNIT`]), so that curves lie where
//! they belong and not on the pixel grid.

use super::lettering::{self, Weight};
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
    pub(super) rgb: (u8, u8, u8),
    pub(super) alpha: f64,
}

impl From<BackendColor> for Paint {
    fn from(color: BackendColor) -> Self {
        Self {
            rgb: color.rgb,
            alpha: color.alpha.clamp(0.0, 1.0),
        }
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
    /// A disc, or a ring of the given line width.
    Circle {
        centre: BackendCoord,
        radius: u32,
        line: Option<u32>,
        paint: Paint,
    },
    /// A line of text; `at` is the left end of its baseline.
    Text {
        text: String,
        at: (f64, f64),
        size: f64,
        weight: Weight,
        paint: Paint,
    },
}

/// The recording backend.
#[derive(Debug)]
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

    fn stroke(&mut self, line: Vec<BackendCoord>, width: u32, paint: Paint) {
        if line.len() < 2 || paint.alpha == 0.0 {
            return;
        }
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
            self.marks.push(Mark::Fill { points, paint });
        }
    }
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

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Drawn {
        self.stroke(vec![from, to], style.stroke_width(), style.color().into());
        Ok(())
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        (x0, y0): BackendCoord,
        (x1, y1): BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let mut corners = vec![(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
        if fill {
            self.fill(corners, style.color().into());
        } else {
            corners.push((x0, y0));
            self.stroke(corners, style.stroke_width(), style.color().into());
        }
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.stroke(path.into_iter().collect(), style.stroke_width(), style.color().into());
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(&mut self, centre: BackendCoord, radius: u32, style: &S, fill: bool) -> Drawn {
        let line = (!fill).then(|| style.stroke_width());
        self.marks.push(Mark::Circle {
            centre,
            radius,
            line,
            paint: style.color().into(),
        });
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        self.fill(path.into_iter().collect(), style.color().into());
        Ok(())
    }

    /// Top is the top of capital letters, bottom the baseline, centre half-way between. Letters are always level.
    fn draw_text<T: BackendTextStyle>(&mut self, text: &str, style: &T, (x, y): BackendCoord) -> Drawn {
        let (size, weight) = (style.size(), weight(style.style()));
        let cap = size * lettering::CAP_HEIGHT;
        let dx = match style.anchor().h_pos {
            HPos::Left => 0.0,
            HPos::Center => -0.5 * lettering::width(text, weight, size),
            HPos::Right => -lettering::width(text, weight, size),
        };
        let dy = match style.anchor().v_pos {
            VPos::Top => cap,
            VPos::Center => 0.5 * cap,
            VPos::Bottom => 0.0,
        };
        if !text.is_empty() {
            let at = (f64::from(x) + dx, f64::from(y) + dy);
            self.marks.push(Mark::Text {
                text: text.to_owned(),
                at,
                size,
                weight,
                paint: style.color().into(),
            });
        }
        Ok(())
    }

    fn estimate_text_size<T: BackendTextStyle>(
        &self,
        text: &str,
        style: &T,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let width = lettering::width(text, weight(style.style()), style.size());
        Ok((
            width.ceil() as u32,
            (style.size() * lettering::CAP_HEIGHT).ceil() as u32,
        ))
    }
}

fn weight(style: FontStyle) -> Weight {
    match style {
        FontStyle::Bold => Weight::SemiBold,
        _ => Weight::Regular,
    }
}
