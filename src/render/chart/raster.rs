//! A canvas as PNG: anti-aliased shapes on white.

use super::ChartError;
use super::canvas::{Canvas, Mark, Paint, UNIT};
use super::lettering;
use crate::render::plot::Letters;
use crate::render::plot::palette::Color;
use batchwright_core::parallel;
use plotters_backend::DrawingBackend;
use std::cmp::Reverse;
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};
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
    let (width, height, runs) = bands(canvas, BANDS, runs)?;
    let (palette, indices) = indexed(&runs.concat());
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.concat());
    encoder.set_compression(png::Compression::Balanced);
    // Neighbouring numbers of a palette are no neighbouring colours.
    encoder.set_filter(png::Filter::NoFilter);
    encoder.add_text_chunk("Software".to_owned(), "batchwright".to_owned())?;
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&indices)?;
    writer.finish()?;
    Ok(out)
}

/// Colours of a PNG's palette.
const COLOURS: usize = 256;

/// Pixels of one colour side by side: their red, green and blue as one number, red the highest, and how many they are.
type Run = (u32, usize);

/// The runs of rows of a picture.
fn runs(rgba: &[u8]) -> Vec<Run> {
    let (pixels, _) = rgba.as_chunks::<4>();
    let color = |[r, g, b, _]: [u8; 4]| u32::from_be_bytes([0, r, g, b]);
    let runs = pixels.chunk_by(|a, b| a == b);
    runs.map(|run| (color(run[0]), run.len())).collect()
}

/// The most frequent colours, and for each pixel the number of its own or of the nearest of them.
fn indexed(runs: &[Run]) -> (Vec<[u8; 3]>, Vec<u8>) {
    let mut counts: HashMap<u32, usize, BuildHasherDefault<Mixed>> = HashMap::default();
    for &(color, length) in runs {
        *counts.entry(color).or_default() += length;
    }
    // Equally frequent ones by themselves, so that the same picture has the same bytes.
    let mut frequent: Vec<(Reverse<usize>, u32)> =
        counts.iter().map(|(color, count)| (Reverse(*count), *color)).collect();
    frequent.sort_unstable();
    let parts = |color: u32| color.to_be_bytes().map(i32::from);
    let palette: Vec<[i32; 4]> = frequent.iter().take(COLOURS).map(|&(_, color)| parts(color)).collect();
    // How far off with the number behind it: the least of these is found with vectors.
    let nearest = |[_, r, g, b]: [i32; 4]| {
        let mut least = i32::MAX;
        for (k, of) in (0..).zip(&palette) {
            let (r, g, b) = (of[1] - r, of[2] - g, of[3] - b);
            least = least.min((r * r + g * g + b * b) * COLOURS as i32 + k);
        }
        least as usize % COLOURS
    };
    // From here on the number of each colour, and no more its count.
    for (k, (_, color)) in frequent.into_iter().enumerate() {
        counts.insert(color, if k < COLOURS { k } else { nearest(parts(color)) });
    }
    let mut indices = Vec::with_capacity(runs.iter().map(|run| run.1).sum());
    for (color, length) in runs {
        indices.resize(indices.len() + length, counts[color] as u8);
    }
    let palette = palette.into_iter().map(|[_, r, g, b]| [r as u8, g as u8, b as u8]);
    (palette.collect(), indices)
}

/// The hash of a colour: one product in place of the usual hash, which holds out against keys that somebody chose to be alike.
#[derive(Default)]
struct Mixed(u64);

impl Hasher for Mixed {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|byte| self.write_u32(u32::from(*byte)));
    }
    fn write_u32(&mut self, color: u32) {
        // An odd number without a pattern; its own lowest and highest bits, which a table goes by, hang on all of the colour then.
        let mixed = (self.0 ^ u64::from(color)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        self.0 = mixed ^ (mixed >> 32);
    }
}

/// Width, height and what `of` makes of each band: of its pixels row by row, four bytes each; nothing is translucent on a white ground.
pub(super) fn bands<T: Send>(
    canvas: &Canvas,
    bands: u32,
    of: impl Fn(&[u8]) -> T + Sync,
) -> Result<(u32, u32, Vec<T>), ChartError> {
    let (width, height) = canvas.get_size();
    let (width, height) = (width / UNIT as u32, height / UNIT as u32);
    if width == 0 || height == 0 {
        return Err(ChartError::Size);
    }
    let row = width as usize * 4;
    let rows = height.div_ceil(bands);
    let drawn = parallel::map(height.div_ceil(rows) as usize, |band| {
        let top = band as u32 * rows;
        let end = (top + rows).min(height);
        let above = top.saturating_sub(MARGIN);
        let pixmap = picture(canvas, width, above, (end + MARGIN).min(height) - above)?;
        let [from, to] = [top, end].map(|y| row * (y - above) as usize);
        Ok(of(&pixmap.data()[from..to]))
    });
    let drawn = drawn.into_iter().collect::<Result<Vec<T>, ChartError>>()?;
    Ok((width, height, drawn))
}

/// The rows of the picture from `top` on.
fn picture(canvas: &Canvas, width: u32, top: u32, rows: u32) -> Result<Pixmap, ChartError> {
    let mut pixmap = Pixmap::new(width, rows).ok_or(ChartError::Size)?;
    pixmap.fill(tiny_skia::Color::WHITE);
    let [first, end] = [top, top + rows].map(|row| f64::from(row) * UNIT);
    for mark in canvas.marks() {
        let [highest, lowest] = mark.extent();
        if lowest >= first && highest <= end {
            put_mark(&mut pixmap, mark, top);
        }
    }
    Ok(pixmap)
}

fn put_mark(pixmap: &mut Pixmap, mark: &Mark, top: u32) {
    let unit = 1.0 / UNIT as f32;
    let scale = Transform::from_row(unit, 0.0, 0.0, unit, 0.0, -(top as f32));
    let fill = |pixmap: &mut Pixmap, path: Option<Path>, paint: &Paint| {
        // A path of no extent has nothing to fill.
        if let Some(path) = path {
            pixmap.fill_path(&path, &skia_paint(paint), FillRule::Winding, scale, None);
        }
    };
    match mark {
        Mark::Fill { points, paint } => {
            let mut path = PathBuilder::with_capacity(points.len() + 1, points.len());
            put_line(&mut path, points);
            path.close();
            fill(pixmap, path.finish(), paint);
        }
        Mark::Stroke { lines, width, paint } => {
            let mut path = PathBuilder::new();
            for line in lines {
                put_line(&mut path, line);
            }
            let style = Stroke {
                width: *width as f32,
                line_join: LineJoin::Round,
                ..Stroke::default()
            };
            if let Some(path) = path.finish() {
                pixmap.stroke_path(&path, &skia_paint(paint), &style, scale, None);
            }
        }
        Mark::Disc { centre, radius, paint } => {
            let path = PathBuilder::from_circle(centre.0 as f32, centre.1 as f32, *radius as f32);
            fill(pixmap, path, paint);
        }
        Mark::Text { text, at, letters } => {
            let Letters { size, weight, color } = letters;
            let paint = Paint::from(*color);
            let per_unit = size / lettering::units_per_size(*weight);
            let mut outlines = Outlines {
                path: PathBuilder::new(),
                x: 0.0,
                y: at.1 as f32,
                scale: per_unit as f32,
            };
            let line = lettering::layout(text, *weight);
            for (glyph, x) in line.glyphs {
                outlines.x = (at.0 + x * per_unit) as f32;
                lettering::outline(glyph, *weight, &mut outlines);
            }
            fill(pixmap, outlines.path.finish(), &paint);
            let bar = Paint { alpha: BAR.1, ..paint };
            for (x, width) in line.lacking.iter().flat_map(|lacking| &lacking.words) {
                let (left, tall) = ((at.0 + x * per_unit) as f32, (size * BAR.0) as f32);
                let word = Rect::from_xywh(left, at.1 as f32 - tall, (width * per_unit) as f32, tall);
                fill(pixmap, word.map(PathBuilder::from_rect), &bar);
            }
        }
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
    let Color(r, g, b) = paint.color;
    let mut out = tiny_skia::Paint {
        anti_alias: true,
        ..tiny_skia::Paint::default()
    };
    out.set_color_rgba8(r, g, b, (paint.alpha * 255.0).round() as u8);
    out
}

/// Glyph outlines placed on the canvas.
struct Outlines {
    path: PathBuilder,
    x: f32,
    y: f32,
    scale: f32,
}

impl Outlines {
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        (self.x + x * self.scale, self.y - y * self.scale)
    }
}

impl OutlineBuilder for Outlines {
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
