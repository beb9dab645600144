//! A canvas as SVG: plain shapes, letters as outlines defined once each, no style sheet needed, and no font but for letters that ours lacks.

use super::canvas::{Canvas, Mark, Paint, UNIT};
use super::lettering;
use crate::render::plot::palette::Color;
use crate::render::plot::{Letters, Weight};
use plotters_backend::DrawingBackend;
use std::collections::BTreeSet;
use std::fmt::Write;
use ttf_parser::{GlyphId, OutlineBuilder};

/// How colours are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Colours {
    /// As they are.
    Fixed,
    /// As properties of the page, `--c-0b3f66`, which may be another colour there.
    Named,
}

/// The document; `title` and `description` are for those who hear the page instead of seeing it.
pub(super) fn document(canvas: &Canvas, title: &str, description: &str, colours: Colours) -> String {
    let (width, height) = canvas.get_size();
    let (px_width, px_height) = (f64::from(width) / UNIT, f64::from(height) / UNIT);
    let mut out = Text(String::with_capacity(64 * 1024));
    out.put(format_args!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{px_width}\" height=\"{px_height}\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\">\n<title>{}</title>\n<desc>{}</desc>\n",
        escape(title),
        escape(description)
    ));
    let letters = define_letters(&mut out, canvas.marks());
    for mark in canvas.marks() {
        put_mark(&mut out, mark, &letters, colours);
    }
    out.put(format_args!("</svg>\n"));
    out.0
}

/// A document's letters, each with its name and definition, and the document without them: for a page that defines each
/// letter once for all its charts.
pub(in crate::render) fn apart(document: &str) -> (Vec<(&str, &str)>, String) {
    let Some((before, (letters, after))) = document
        .split_once(DEFS)
        .and_then(|(before, rest)| Some((before, rest.split_once(DEFS_END)?)))
    else {
        return (Vec::new(), document.to_owned());
    };
    let named = |line| {
        let name = str::split(line, '"').nth(1)?;
        Some((name, line))
    };
    (letters.lines().filter_map(named).collect(), format!("{before}{after}"))
}

const DEFS: &str = "<defs>\n";
const DEFS_END: &str = "</defs>\n";

/// A growing text; writing to memory cannot fail, which this says once.
struct Text(String);

impl Text {
    fn put(&mut self, what: std::fmt::Arguments<'_>) {
        self.0.write_fmt(what).expect("memory takes what is written to it");
    }
}

type Letter = (Weight, GlyphId);

/// Defines every letter that has a shape, once; blanks have none. Gives back what was defined.
fn define_letters(out: &mut Text, marks: &[Mark]) -> BTreeSet<Letter> {
    let mut used: BTreeSet<Letter> = BTreeSet::new();
    for mark in marks {
        if let Mark::Text { text, letters, .. } = mark {
            let glyphs = lettering::layout(text, letters.weight).glyphs.into_iter();
            used.extend(glyphs.map(|(glyph, _)| (letters.weight, glyph)));
        }
    }
    out.put(format_args!("{DEFS}"));
    used.retain(|&(weight, glyph)| {
        let mut path = OutlineText(Text(String::new()));
        lettering::outline(glyph, weight, &mut path);
        let data = path.0.0;
        if !data.is_empty() {
            out.put(format_args!(
                "<path id=\"{}\" d=\"{data}\"/>\n",
                letter_id(weight, glyph)
            ));
        }
        !data.is_empty()
    });
    out.put(format_args!("{DEFS_END}"));
    used
}

/// The same letter has the same name in every chart: several charts may stand in one page.
fn letter_id(weight: Weight, glyph: GlyphId) -> String {
    let weight = match weight {
        Weight::Regular => 'r',
        Weight::SemiBold => 's',
    };
    format!("bw-{weight}{}", glyph.0)
}

fn put_mark(out: &mut Text, mark: &Mark, defined: &BTreeSet<Letter>, colours: Colours) {
    match mark {
        Mark::Fill { points, paint } => {
            out.put(format_args!("<path {} d=\"", filled(*paint, colours)));
            put_line(out, points);
            out.put(format_args!("Z\"/>\n"));
        }
        Mark::Stroke { lines, width, paint } => {
            out.put(format_args!("<path {} d=\"", stroked(*paint, *width, colours)));
            for line in lines {
                put_line(out, line);
            }
            out.put(format_args!("\"/>\n"));
        }
        Mark::Disc { centre, radius, paint } => {
            let ((x, y), paint) = (centre, filled(*paint, colours));
            out.put(format_args!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" {paint}/>\n"));
        }
        Mark::Text { text, at, letters } => {
            let Letters { size, weight, color } = letters;
            let scale = size / lettering::units_per_size(*weight);
            let paint = filled((*color).into(), colours);
            out.put(format_args!(
                "<g data-text=\"{}\" {} transform=\"translate({:.1} {:.1}) scale({scale:.5} {:.5})\">",
                escape(text),
                paint,
                at.0,
                at.1,
                -scale
            ));
            let line = lettering::layout(text, *weight);
            for (glyph, x) in line.glyphs {
                if defined.contains(&(*weight, glyph)) {
                    out.put(format_args!("<use href=\"#{}\" x=\"{x}\"/>", letter_id(*weight, glyph)));
                }
            }
            out.put(format_args!("</g>\n"));
            for lacking in line.lacking {
                let (x, width) = lacking.place();
                let bold = match weight {
                    Weight::Regular => "",
                    Weight::SemiBold => " font-weight=\"600\"",
                };
                out.put(format_args!(
                    "<text x=\"{:.1}\" y=\"{:.1}\" font-family=\"sans-serif\" font-size=\"{size}\"{bold} \
                     textLength=\"{:.1}\" lengthAdjust=\"spacingAndGlyphs\" {}>{}</text>\n",
                    at.0 + x * scale,
                    at.1,
                    width * scale,
                    paint,
                    escape(&lacking.text)
                ));
            }
        }
    }
}

/// First point absolute, the others relative: a third of the bytes.
fn put_line(out: &mut Text, points: &[(i32, i32)]) {
    let mut before: Option<(i32, i32)> = None;
    for &(x, y) in points {
        match before {
            None => out.put(format_args!("M{x} {y}l")),
            Some((bx, by)) => out.put(format_args!("{} {} ", x - bx, y - by)),
        }
        before = Some((x, y));
    }
}

/// A colour as an attribute says it.
fn colour(Color(r, g, b): Color, colours: Colours) -> String {
    let hex = format!("{r:02x}{g:02x}{b:02x}");
    match colours {
        Colours::Fixed => format!("#{hex}"),
        Colours::Named => format!("var(--c-{hex},#{hex})"),
    }
}

/// Attributes of a filled shape, and of a line so wide.
fn filled(paint: Paint, colours: Colours) -> String {
    format!("fill=\"{}\"{}", colour(paint.color, colours), opacity("fill", paint))
}

fn stroked(paint: Paint, width: u32, colours: Colours) -> String {
    format!(
        "fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\" stroke-linejoin=\"round\"{}",
        colour(paint.color, colours),
        opacity("stroke", paint)
    )
}

fn opacity(of: &str, paint: Paint) -> String {
    if paint.alpha < 1.0 {
        format!(" {of}-opacity=\"{:.3}\"", paint.alpha)
    } else {
        String::new()
    }
}

/// Text as XML may hold it: its own signs escaped, what XML 1.0 forbids left out.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c => out.push(crate::clean::shown(c)),
        }
    }
    out
}

struct OutlineText(Text);

impl OutlineBuilder for OutlineText {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.put(format_args!("M{x} {y}"));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.put(format_args!("L{x} {y}"));
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.0.put(format_args!("Q{x1} {y1} {x} {y}"));
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.0.put(format_args!("C{x1} {y1} {x2} {y2} {x} {y}"));
    }
    fn close(&mut self) {
        self.0.put(format_args!("Z"));
    }
}
