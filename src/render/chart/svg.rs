//! A canvas as SVG: plain shapes, letters as outlines defined once each, no style sheet needed, and no font but for letters that ours lacks.

use super::canvas::{Canvas, Mark, Paint, UNIT};
use super::lettering;
use crate::render::plot::Weight;
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
pub(super) fn apart(document: &str) -> (Vec<(&str, &str)>, String) {
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
        if let Mark::Text { text, weight, .. } = mark {
            used.extend(
                lettering::layout(text, *weight)
                    .glyphs
                    .into_iter()
                    .map(|(glyph, _)| (*weight, glyph)),
            );
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

fn put_mark(out: &mut Text, mark: &Mark, letters: &BTreeSet<Letter>, colours: Colours) {
    match mark {
        Mark::Fill { points, paint } => {
            out.put(format_args!("<path {} d=\"", Filled(*paint, colours)));
            put_line(out, points);
            out.put(format_args!("Z\"/>\n"));
        }
        Mark::Stroke { lines, width, paint } => {
            out.put(format_args!("<path {} d=\"", Stroked(*paint, *width, colours)));
            for line in lines {
                put_line(out, line);
            }
            out.put(format_args!("\"/>\n"));
        }
        Mark::Circle {
            centre: (x, y),
            radius,
            line,
            paint,
        } => {
            out.put(format_args!("<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" "));
            match line {
                Some(width) => out.put(format_args!("{}/>\n", Stroked(*paint, *width, colours))),
                None => out.put(format_args!("{}/>\n", Filled(*paint, colours))),
            }
        }
        Mark::Text {
            text,
            at,
            size,
            weight,
            paint,
        } => {
            let scale = size / lettering::units_per_size(*weight);
            out.put(format_args!(
                "<g data-text=\"{}\" {} transform=\"translate({:.1} {:.1}) scale({scale:.5} {:.5})\">",
                escape(text),
                Filled(*paint, colours),
                at.0,
                at.1,
                -scale
            ));
            let line = lettering::layout(text, *weight);
            for (glyph, x) in line.glyphs {
                if letters.contains(&(*weight, glyph)) {
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
                    Filled(*paint, colours),
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
struct Colour((u8, u8, u8), Colours);

impl std::fmt::Display for Colour {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (r, g, b) = self.0;
        match self.1 {
            Colours::Fixed => write!(f, "#{r:02x}{g:02x}{b:02x}"),
            Colours::Named => write!(f, "var(--c-{r:02x}{g:02x}{b:02x},#{r:02x}{g:02x}{b:02x})"),
        }
    }
}

struct Filled(Paint, Colours);

impl std::fmt::Display for Filled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "fill=\"{}\"", Colour(self.0.rgb, self.1))?;
        if self.0.alpha < 1.0 {
            write!(f, " fill-opacity=\"{:.3}\"", self.0.alpha)
        } else {
            Ok(())
        }
    }
}

struct Stroked(Paint, u32, Colours);

impl std::fmt::Display for Stroked {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"",
            Colour(self.0.rgb, self.2),
            self.1
        )?;
        if self.0.alpha < 1.0 {
            write!(f, " stroke-opacity=\"{:.3}\"", self.0.alpha)
        } else {
            Ok(())
        }
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
