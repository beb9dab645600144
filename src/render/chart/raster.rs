//! A canvas as PNG: anti-aliased shapes on white.

use super::ChartError;
use super::canvas::{Canvas, Mark, Paint, UNIT};
use super::lettering;
use batchwright_core::parallel;
use plotters_backend::DrawingBackend;
use std::cmp::Reverse;
use std::collections::HashMap;
use tiny_skia::{FillRule, LineJoin, Path, PathBuilder, Pixmap, Rect, Stroke, Transform};
use ttf_parser::OutlineBuilder;

/// Bands that a picture is drawn in, side by side: always as many, so that it is the same picture on any machine.
const BANDS: u32 = 4;
/// Rows that a band is drawn beyond its ends, and that are then left off: where a line is clipped it may end otherwise.
const MARGIN: u32 = 16;

/// The bar that stands for a word in letters that the font lacks: its height / font size, that of small letters, and how opaque it is.
const BAR: (f64, f64) = (0.52, 0.3);

/// The picture, one pixel a pixel, as a PNG with a palette: a chart has few colours, and edges between two of them have shades that
/// nobody can tell from the next.
pub(super) fn png(canvas: &Canvas) -> Result<Vec<u8>, ChartError> {
    let (width, height, rgba) = pixels(canvas, BANDS)?;
    let (palette, indices) = indexed(&rgba);
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::Balanced);
    // Neighbouring numbers of a palette are no neighbouring colours.
    encoder.set_filter(png::Filter::NoFilter);
    encoder
        .add_text_chunk("Software".to_owned(), "batchwright".to_owned())
        .map_err(|e| ChartError::encoding(&e))?;
    let mut writer = encoder.write_header().map_err(|e| ChartError::encoding(&e))?;
    writer
        .write_image_data(&indices)
        .map_err(|e| ChartError::encoding(&e))?;
    writer.finish().map_err(|e| ChartError::encoding(&e))?;
    Ok(out)
}

/// Colours of a PNG's palette.
const COLOURS: usize = 256;

/// The most frequent colours, and for each pixel the number of its own or of the nearest of them.
fn indexed(rgba: &[u8]) -> (Vec<[u8; 3]>, Vec<u8>) {
    let (pixels, _) = rgba.as_chunks::<4>();
    // Colours in the order they are met, each with its pixels, and runs of pixels of one colour.
    let mut met: HashMap<[u8; 4], usize> = HashMap::new();
    let mut counts: Vec<(Reverse<usize>, [u8; 4], usize)> = Vec::new();
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for run in pixels.chunk_by(|a, b| a == b) {
        let color = *met.entry(run[0]).or_insert(counts.len());
        if color == counts.len() {
            counts.push((Reverse(0), run[0], color));
        }
        counts[color].0.0 += run.len();
        runs.push((color, run.len()));
    }
    // Equally frequent ones by themselves, so that the same picture has the same bytes.
    counts.sort_unstable();
    let palette = counts.iter().take(COLOURS);
    let palette: Vec<[u8; 3]> = palette.map(|&(_, [r, g, b, _], _)| [r, g, b]).collect();
    // How far off with the number behind it: the least of these is found with vectors.
    let nearest = |color: [u8; 3]| {
        let mut least = u32::MAX;
        for (k, of) in (0..).zip(&palette) {
            let off = |c: usize| u32::from(of[c].abs_diff(color[c]));
            least = least.min((off(0) * off(0) + off(1) * off(1) + off(2) * off(2)) * COLOURS as u32 + k);
        }
        (least % COLOURS as u32) as u8
    };
    let mut numbers = vec![0; counts.len()];
    for &(_, [r, g, b, _], k) in &counts {
        numbers[k] = nearest([r, g, b]);
    }
    let mut indices = Vec::with_capacity(pixels.len());
    for (color, length) in runs {
        indices.resize(indices.len() + length, numbers[color]);
    }
    (palette, indices)
}

/// Width, height and the pixels row by row, four bytes each; nothing is translucent on a white ground.
pub(super) fn pixels(canvas: &Canvas, bands: u32) -> Result<(u32, u32, Vec<u8>), ChartError> {
    let (width, height) = canvas.get_size();
    let (width, height) = (width / UNIT as u32, height / UNIT as u32);
    if width == 0 || height == 0 {
        return Err(ChartError::Size);
    }
    let row = width as usize * 4;
    let mut rgba = vec![0; row * height as usize];
    let rows = height.div_ceil(bands);
    let mut each: Vec<(u32, &mut [u8])> = (0..).zip(rgba.chunks_mut(row * rows as usize)).collect();
    let drawn = parallel::map_mut(&mut each, |(band, rgba)| {
        let top = *band * rows;
        let above = top.saturating_sub(MARGIN);
        let end = (top + rows + MARGIN).min(height);
        let pixmap = picture(canvas, width, above, end - above)?;
        let before = row * (top - above) as usize;
        rgba.copy_from_slice(&pixmap.data()[before..before + rgba.len()]);
        Ok(())
    });
    drawn.into_iter().collect::<Result<(), ChartError>>()?;
    Ok((width, height, rgba))
}

/// The rows of the picture from `top` on.
fn picture(canvas: &Canvas, width: u32, top: u32, rows: u32) -> Result<Pixmap, ChartError> {
    let mut pixmap = Pixmap::new(width, rows).ok_or(ChartError::Size)?;
    pixmap.fill(tiny_skia::Color::WHITE);
    for mark in canvas.marks() {
        put_mark(&mut pixmap, mark, top);
    }
    Ok(pixmap)
}

fn put_mark(pixmap: &mut Pixmap, mark: &Mark, top: u32) {
    let unit = 1.0 / UNIT as f32;
    let scale = Transform::from_row(unit, 0.0, 0.0, unit, 0.0, -(top as f32));
    let fill = |pixmap: &mut Pixmap, path: Option<Path>, paint: &Paint, rule| {
        // A path of no extent has nothing to fill.
        if let Some(path) = path {
            pixmap.fill_path(&path, &skia_paint(paint), rule, scale, None);
        }
    };
    match mark {
        Mark::Fill { points, paint } => {
            let mut path = PathBuilder::with_capacity(points.len() + 1, points.len());
            put_line(&mut path, points);
            path.close();
            fill(pixmap, path.finish(), paint, FillRule::Winding);
        }
        Mark::Stroke { lines, width, paint } => {
            let mut path = PathBuilder::new();
            for line in lines {
                put_line(&mut path, line);
            }
            stroke(pixmap, path.finish(), *width, paint, scale);
        }
        Mark::Circle {
            centre: (x, y),
            radius,
            line,
            paint,
        } => {
            let path = PathBuilder::from_circle(*x as f32, *y as f32, *radius as f32);
            match line {
                Some(width) => stroke(pixmap, path, *width, paint, scale),
                None => fill(pixmap, path, paint, FillRule::Winding),
            }
        }
        Mark::Text {
            text,
            at,
            size,
            weight,
            paint,
        } => {
            let per_unit = size / lettering::units_per_size(*weight);
            let mut letters = Letters {
                path: PathBuilder::new(),
                x: 0.0,
                y: at.1 as f32,
                scale: per_unit as f32,
            };
            let line = lettering::layout(text, *weight);
            for (glyph, x) in line.glyphs {
                letters.x = (at.0 + x * per_unit) as f32;
                lettering::outline(glyph, *weight, &mut letters);
            }
            fill(pixmap, letters.path.finish(), paint, FillRule::Winding);
            let bar = Paint {
                alpha: paint.alpha * BAR.1,
                ..*paint
            };
            for (x, width) in line.lacking.iter().flat_map(|lacking| &lacking.words) {
                let (left, tall) = ((at.0 + x * per_unit) as f32, (size * BAR.0) as f32);
                let word = Rect::from_xywh(left, at.1 as f32 - tall, (width * per_unit) as f32, tall);
                fill(pixmap, word.map(PathBuilder::from_rect), &bar, FillRule::Winding);
            }
        }
    }
}

fn stroke(pixmap: &mut Pixmap, path: Option<Path>, width: u32, paint: &Paint, scale: Transform) {
    let style = Stroke {
        width: width as f32,
        line_join: LineJoin::Round,
        ..Stroke::default()
    };
    if let Some(path) = path {
        pixmap.stroke_path(&path, &skia_paint(paint), &style, scale, None);
    }
}

fn put_line(path: &mut PathBuilder, points: &[(i32, i32)]) {
    for (i, &(x, y)) in points.iter().enumerate() {
        if i == 0 {
            path.move_to(x as f32, y as f32);
        } else {
            path.line_to(x as f32, y as f32);
        }
    }
}

fn skia_paint(paint: &Paint) -> tiny_skia::Paint<'static> {
    let (r, g, b) = paint.rgb;
    let mut out = tiny_skia::Paint {
        anti_alias: true,
        ..tiny_skia::Paint::default()
    };
    out.set_color_rgba8(r, g, b, (paint.alpha * 255.0).round() as u8);
    out
}

/// Glyph outlines placed on the canvas.
struct Letters {
    path: PathBuilder,
    x: f32,
    y: f32,
    scale: f32,
}

impl Letters {
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        (self.x + x * self.scale, self.y - y * self.scale)
    }
}

impl OutlineBuilder for Letters {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.move_to(x, y);
    }
    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.path.line_to(x, y);
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.at(x1, y1), self.at(x, y));
        self.path.quad_to(x1, y1, x, y);
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.cubic_to(x1, y1, x2, y2, x, y);
    }
    fn close(&mut self) {
        self.path.close();
    }
}
