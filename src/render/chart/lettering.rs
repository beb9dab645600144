//! The embedded font: how wide a text is, and its letters as outlines.
//!
//! Letters are drawn as shapes, in SVG as in PNG, so that a chart looks the same wherever it is opened and no machine
//! needs the font. Kerning pairs are applied. Letters that the font lacks (of other scripts) get room that is reckoned and not measured: an
//! SVG leaves them to a font of whoever looks, set into that room, and a PNG has a bar there for each word.

use crate::render::plot::{Letters, Weight};
use std::sync::OnceLock;
use ttf_parser::gpos::{PairAdjustment, PositioningSubtable};
use ttf_parser::{Face, GlyphId, OutlineBuilder};
use unicode_width::UnicodeWidthChar;

/// One parsed weight.
struct Cut {
    face: Face<'static>,
    kerning: Vec<PairAdjustment<'static>>,
    /// The glyphs of the first letters, which nearly every text is made of.
    basic: Vec<Option<GlyphId>>,
    /// What kerning any two of these have, once it was looked up.
    kerned: Vec<OnceLock<i16>>,
}

impl Cut {
    fn glyph(&self, c: char) -> Option<GlyphId> {
        match self.basic.get(c as usize) {
            Some(glyph) => *glyph,
            None => self.face.glyph_index(c),
        }
    }

    /// Change of the first letter's advance before the second.
    fn kern(&self, first: (char, GlyphId), second: (char, GlyphId)) -> f64 {
        let look = || kern(&self.kerning, first.1, second.1);
        let count = self.basic.len();
        let (row, column) = (first.0 as usize, second.0 as usize);
        let known = (row.max(column) < count).then(|| &self.kerned[row * count + column]);
        f64::from(known.map_or_else(look, |known| *known.get_or_init(look)))
    }
}

/// Basic Latin (the first block of Unicode): what any two letters of a larger one have takes a megabyte, which a chart alone would wait for.
const BASIC: std::ops::RangeInclusive<char> = '\0'..='\x7f';

static REGULAR: &[u8] = include_bytes!("../font/PublicSans-Regular.ttf");
static SEMI_BOLD: &[u8] = include_bytes!("../font/PublicSans-SemiBold.ttf");

/// Height of a capital letter / font size; the same for both weights (a test checks it).
pub(super) const CAP_HEIGHT: f64 = 0.723;

fn cut(weight: Weight) -> &'static Cut {
    static CUTS: [OnceLock<Cut>; 2] = [OnceLock::new(), OnceLock::new()];
    let (slot, bytes) = match weight {
        Weight::Regular => (&CUTS[0], REGULAR),
        Weight::SemiBold => (&CUTS[1], SEMI_BOLD),
    };
    slot.get_or_init(|| {
        let face = Face::parse(bytes, 0).expect("the embedded font is whole; a test parses it");
        let kerning = face.tables().gpos.map(|gpos| pairs(&gpos)).unwrap_or_default();
        let basic: Vec<Option<GlyphId>> = BASIC.map(|c| face.glyph_index(c)).collect();
        let kerned = vec![OnceLock::new(); basic.len().pow(2)];
        Cut {
            face,
            kerning,
            basic,
            kerned,
        }
    })
}

fn pairs(gpos: &ttf_parser::opentype_layout::LayoutTable<'static>) -> Vec<PairAdjustment<'static>> {
    let lookups = gpos.lookups.into_iter();
    let subtables = lookups.flat_map(|lookup| lookup.subtables.into_iter::<PositioningSubtable<'static>>());
    subtables
        .filter_map(|subtable| match subtable {
            PositioningSubtable::Pair(pair) => Some(pair),
            _ => None,
        })
        .collect()
}

/// Font units in one font size.
pub(super) fn units_per_size(weight: Weight) -> f64 {
    f64::from(cut(weight).face.units_per_em())
}

/// A line of text laid out, in font units from its left end.
#[derive(Default)]
pub(super) struct Line {
    /// Each glyph with the place of its origin.
    pub(super) glyphs: Vec<(GlyphId, f64)>,
    /// What the font has no letters for.
    pub(super) lacking: Vec<Lacking>,
    /// The whole advance.
    pub(super) width: f64,
}

/// Words in letters that the font lacks, with the blanks between them: some scripts join letters, or run to the left.
#[derive(Default)]
pub(super) struct Lacking {
    pub(super) text: String,
    /// Where each word begins, and how wide it is.
    pub(super) words: Vec<(f64, f64)>,
}

impl Lacking {
    /// Where it begins, and how wide it is.
    pub(super) fn place(&self) -> (f64, f64) {
        let (first, last) = (self.words[0], self.words[self.words.len() - 1]);
        (first.0, last.0 + last.1 - first.0)
    }
}

/// Room for a letter that the font lacks / font size: for one that takes one column of a terminal, and for one that takes two.
const LACKING: [f64; 2] = [0.6, 1.0];

/// A letter where it stands in a line, in font units from the line's left end.
struct Letter {
    letter: char,
    glyph: GlyphId,
    start: f64,
    end: f64,
    /// Whether it stands among those that the font lacks.
    lacks: bool,
}

/// The letters of a line. Characters that are not shown get the font's empty box.
fn letters(text: &str, weight: Weight) -> Vec<Letter> {
    let cut = cut(weight);
    let shown = text.chars().map(crate::clean::shown);
    let signs: Vec<(char, Option<GlyphId>)> = shown.map(|c| (c, cut.glyph(c))).collect();
    let has = |(c, glyph): (char, Option<GlyphId>)| c == crate::clean::SHOWN || glyph.is_some();
    let is_mark = |sign: (char, _)| !has(sign) && sign.0.width() == Some(0);
    // A mark over a letter takes the letter along.
    let lacking = |k: usize| {
        let sign = |k: usize| signs.get(k).copied();
        sign(k).is_some_and(|sign| !has(sign)) || sign(k + 1).is_some_and(is_mark)
    };
    let mut placed: Vec<Letter> = Vec::with_capacity(signs.len());
    for (k, &(letter, found)) in signs.iter().enumerate() {
        let glyph = found.unwrap_or(GlyphId(0));
        let before = placed.last();
        let lacks = lacking(k) || letter == ' ' && before.is_some_and(|before| before.lacks) && lacking(k + 1);
        let kern = match before {
            Some(before) if !lacks && !before.lacks => cut.kern((before.letter, before.glyph), (letter, glyph)),
            _ => 0.0,
        };
        let advance = match letter.width() {
            _ if !lacks || has((letter, found)) => f64::from(cut.face.glyph_hor_advance(glyph).unwrap_or(0)),
            Some(columns @ 1..) => LACKING[columns.min(2) - 1] * units_per_size(weight),
            _ => 0.0,
        };
        let start = before.map_or(0.0, |before| before.end) + kern;
        let end = start + advance;
        placed.push(Letter {
            letter,
            glyph,
            start,
            end,
            lacks,
        });
    }
    placed
}

/// Lays out a line.
pub(super) fn layout(text: &str, weight: Weight) -> Line {
    let mut line = Line::default();
    let mut open = false;
    for Letter {
        letter,
        glyph,
        start,
        end,
        lacks,
    } in letters(text, weight)
    {
        line.width = end;
        if !lacks {
            line.glyphs.push((glyph, start));
            open = false;
            continue;
        }
        if !open {
            line.lacking.push(Lacking::default());
        }
        if let Some(lacking) = line.lacking.last_mut() {
            lacking.text.push(letter);
            match lacking.words.last_mut() {
                Some(word) if letter != ' ' && open => word.1 += end - start,
                _ if letter == ' ' => lacking.words.push((end, 0.0)),
                _ => lacking.words.push((start, end - start)),
            }
        }
        open = true;
    }
    line
}

/// Change of the first glyph's advance before the second; the first subtable that covers the pair decides.
fn kern(tables: &[PairAdjustment<'static>], first: GlyphId, second: GlyphId) -> i16 {
    for table in tables {
        let value = match table {
            PairAdjustment::Format1 { coverage, sets } => coverage
                .get(first)
                .and_then(|i| sets.get(i))
                .and_then(|set| set.get(second)),
            PairAdjustment::Format2 {
                coverage,
                classes,
                matrix,
            } => coverage
                .get(first)
                .and_then(|_| matrix.get((classes.0.get(first), classes.1.get(second)))),
        };
        if let Some((value, _)) = value {
            return value.x_advance;
        }
    }
    0
}

/// Width of a line of text, in the unit the size is given in.
pub(super) fn width(text: &str, of: Letters) -> f64 {
    letters(text, of.weight).last().map_or(0.0, |last| last.end) * of.size / units_per_size(of.weight)
}

/// Feeds a glyph's outline (font units, y upwards) to a builder; nothing for blanks.
pub(super) fn outline(glyph: GlyphId, weight: Weight, builder: &mut dyn OutlineBuilder) {
    cut(weight).face.outline_glyph(glyph, builder);
}

/// The words of a text, measured once for all the widths that it is broken to.
struct Words {
    words: Vec<String>,
    /// Where each begins and ends when all stand in one line.
    places: Vec<(f64, f64)>,
    of: Letters,
}

impl Words {
    fn new(text: &str, of: Letters) -> Self {
        let mut words: Vec<String> = Vec::new();
        for word in text.split_whitespace() {
            match words.last_mut() {
                // A figure and its unit stay on one line.
                Some(number)
                    if word.starts_with('%')
                        || number.ends_with(|c: char| c.is_ascii_digit())
                            && word.len() >= 3
                            && word.bytes().take(3).all(|b| b.is_ascii_uppercase()) =>
                {
                    number.push(' ');
                    number.push_str(word);
                }
                _ => words.push(word.to_owned()),
            }
        }
        let line = letters(&words.join(" "), of.weight);
        let unit = of.size / units_per_size(of.weight);
        let mut rest = &line[..];
        let mut places = Vec::with_capacity(words.len());
        for word in &words {
            let (letters, after) = rest.split_at(word.chars().count());
            places.push((letters[0].start * unit, letters[letters.len() - 1].end * unit));
            rest = after.get(1..).unwrap_or_default();
        }
        Self { words, places, of }
    }

    fn width(&self, from: usize, to: usize) -> f64 {
        self.places[to].1 - self.places[from].0
    }

    /// In lines no wider than `limit`, at most `lines` of them, as [`wrap`].
    fn wrap(&self, limit: f64, lines: usize) -> Vec<String> {
        // The first and last word of each line.
        let mut ends: Vec<(usize, usize)> = Vec::new();
        let mut whole = true;
        for k in 0..self.words.len() {
            let has_room = ends.len() < lines;
            match ends.last_mut().filter(|line| self.width(line.0, k) <= limit) {
                Some(line) => line.1 = k,
                None if has_room => ends.push((k, k)),
                None => {
                    whole = false;
                    break;
                }
            }
        }
        let last = ends.len().wrapping_sub(1);
        let line = |(k, &(from, to)): (usize, &(usize, usize))| {
            let mut line = self.words[from..=to].join(" ");
            let is_whole = whole || k < last;
            if !is_whole {
                line.push('…');
            }
            if is_whole && self.width(from, to) <= limit {
                return line;
            }
            shorten(&line, self.of, limit)
        };
        ends.iter().enumerate().map(line).collect()
    }
}

/// Breaks a text at its blanks into lines no wider than `limit`; at most `lines` of them, the last shortened with an
/// ellipsis where more would follow. A percent sign stays with its number.
pub(super) fn wrap(text: &str, of: Letters, limit: f64, lines: usize) -> Vec<String> {
    Words::new(text, of).wrap(limit, lines)
}

/// The same in lines of about one length: no word is left alone on the last one.
pub(super) fn balanced(text: &str, of: Letters, limit: f64, lines: usize) -> Vec<String> {
    let words = Words::new(text, of);
    let widest = words.wrap(limit, lines);
    let count = widest.len().max(1) as f64;
    let even = words.places.last().map_or(0.0, |last| last.1) / count;
    // From an even share of the text up to all there is room for.
    let limits = (0..20).map(|k| even + (limit - even) * f64::from(k) / 20.0);
    let whole = widest.join(" ");
    limits
        .map(|limit| words.wrap(limit, widest.len()))
        .find(|wrapped| wrapped.join(" ") == whole)
        .unwrap_or(widest)
}

/// Breaks a text between its parts, or between words where it has a part that is wider than `limit`.
pub(super) fn wrap_parts(text: &str, of: Letters, limit: f64, lines: usize) -> Vec<String> {
    const BETWEEN: &str = " · ";
    let mut out: Vec<String> = Vec::new();
    for part in text.split(BETWEEN) {
        match out.last_mut() {
            Some(line) if width(&format!("{line}{BETWEEN}{part}"), of) <= limit => {
                *line = format!("{line}{BETWEEN}{part}");
            }
            _ => out.push(part.to_owned()),
        }
    }
    if out.len() > lines || out.iter().any(|line| width(line, of) > limit) {
        return wrap(text, of, limit, lines);
    }
    out
}

/// Cuts a text that is wider than `limit`, with an ellipsis at the cut.
pub(super) fn shorten(text: &str, of: Letters, limit: f64) -> String {
    if width(text, of) <= limit {
        return text.to_owned();
    }
    let text = text.trim_end_matches('…');
    let ends: Vec<usize> = text.char_indices().map(|(start, c)| start + c.len_utf8()).collect();
    let fits = |end: &usize| width(&format!("{}…", &text[..*end]), of) <= limit;
    let kept = ends[..ends.partition_point(fits)]
        .last()
        .map_or("", |end| &text[..*end]);
    format!("{}…", kept.trim_end())
}

/// Cuts a text that is wider than `limit` in its middle: both ends stay.
pub(super) fn shorten_middle(text: &str, of: Letters, limit: f64) -> String {
    if width(text, of) <= limit {
        return text.to_owned();
    }
    let letters: Vec<char> = text.chars().collect();
    let without = |middle: usize| {
        let kept = letters.len() - middle;
        let (head, tail) = letters.split_at(kept.div_ceil(2));
        let (head, tail): (String, String) = (head.iter().collect(), tail[middle..].iter().collect());
        format!("{}…{}", head.trim_end(), tail.trim_start())
    };
    let least: Vec<usize> = (1..=letters.len()).collect();
    let wide = |middle: &usize| width(&without(*middle), of) > limit;
    let found = least.get(least.partition_point(wide));
    found.map(|middle| without(*middle)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::plot::palette::INK;

    const TEXT: Letters = Letters::new(16.0, Weight::Regular, INK);

    #[test]
    fn both_weights_hold_every_letter_charts_use() {
        for weight in [Weight::Regular, Weight::SemiBold] {
            for c in "AZaz09 €£¥$₹₩zł–—×≥≤·%−…°µÄÖåçñőűğşčřž'’“”„".chars()
            {
                assert!(
                    cut(weight).face.glyph_index(c).is_some(),
                    "{c} is missing in {weight:?}"
                );
            }
            let cap = f64::from(cut(weight).face.capital_height().unwrap()) / units_per_size(weight);
            assert!((cap - CAP_HEIGHT).abs() < 5e-4, "{cap}");
        }
    }

    #[test]
    fn letters_that_the_font_lacks_have_room_and_stand_together() {
        let unit = units_per_size(Weight::Regular);
        let of = |text: &str| {
            let line = layout(text, Weight::Regular);
            let lacking: Vec<String> = line.lacking.iter().map(|l| l.text.clone()).collect();
            (line.glyphs.len(), lacking.join("|"))
        };
        assert_eq!(of("5 Äpfel, 4 €"), (12, String::new()));
        assert_eq!(of("glaze 釉薬 twice"), (12, "釉薬".to_owned()));
        // A blank between two such words is theirs, and a mark takes the letter below it along.
        assert_eq!(of("Чаша за чай, 2"), (3, "Чаша за чай".to_owned()));
        assert_eq!(of("cafe\u{301} 2"), (5, "e\u{301}".to_owned()));
        // What is not shown is the font's own empty box.
        assert_eq!(of("a\u{202e}b"), (3, String::new()));
        let line = layout("x釉薬y", Weight::Regular);
        let (x, lacking) = (layout("x", Weight::Regular).width, &line.lacking[0]);
        assert_eq!(lacking.place(), (x, 2.0 * unit));
        assert_eq!(line.width, x + 2.0 * unit + layout("y", Weight::Regular).width);
        assert_eq!(line.glyphs[1].1, x + 2.0 * unit);
        let two = &layout("Чаша за", Weight::Regular).lacking[0];
        let blank = layout(" ", Weight::Regular).width;
        let (letter, near) = (0.6 * unit, |a: f64, b: f64| (a - b).abs() < 1e-9);
        assert!(near(two.words[0].1, 4.0 * letter) && near(two.words[1].1, 2.0 * letter));
        assert!(near(two.words[1].0, 4.0 * letter + blank) && near(two.place().1, 6.0 * letter + blank));
    }

    #[test]
    fn width_grows_with_size_and_kerning_draws_letters_together() {
        let one = width("batch of 12", TEXT);
        let large = Letters { size: 32.0, ..TEXT };
        assert!((width("batch of 12", large) - 2.0 * one).abs() < 1e-9);
        let apart = width("A", TEXT) + width("V", TEXT);
        assert!(width("AV", TEXT) < apart, "AV is a kerning pair of every text font");
    }

    #[test]
    fn long_texts_are_broken_and_shortened() {
        let lines = wrap("one two three four five six seven", TEXT, 110.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines[1].ends_with('…'), "{lines:?}");
        for line in &lines {
            assert!(width(line, TEXT) <= 110.0, "{line}");
        }
        assert_eq!(wrap("short", TEXT, 110.0, 2), ["short"]);
        assert!(wrap("", TEXT, 110.0, 2).is_empty());
        let unbroken = wrap("Donaudampfschifffahrtsgesellschaft", TEXT, 110.0, 2);
        assert!(width(&unbroken[0], TEXT) <= 110.0);
        let even = balanced("one two three four five six seven", TEXT, 200.0, 3);
        assert_eq!(even, ["one two three", "four five six seven"]);
        let parts = |limit| wrap_parts("seed 1 · batchwright 0.1.0", TEXT, limit, 2);
        assert_eq!(parts(180.0), ["seed 1", "batchwright 0.1.0"]);
        assert_eq!(parts(400.0), ["seed 1 · batchwright 0.1.0"]);
        assert_eq!(
            parts(100.0)[0],
            "seed 1 ·",
            "a part that is too wide is broken at its blanks"
        );
        // Wide enough for "done in 95" alone.
        let limit = width("done in 95", TEXT) + 1.0;
        assert_eq!(wrap("done in 95 %, late", TEXT, limit, 3), ["done in", "95 %, late"]);
    }
}
