//! The charts' colours. Each figure has its own step of lightness, so that a grey print still tells them apart, and hues
//! that colour-blind readers tell apart: oranges and blues after Okabe and Ito, "Color universal design" (2008), most of
//! them darkened or lightened to their step. The tests compute both properties.

/// Red, green and blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::render) struct Color(
    pub(in crate::render) u8,
    pub(in crate::render) u8,
    pub(in crate::render) u8,
);

pub(in crate::render) const WHITE: Color = Color(0xff, 0xff, 0xff);

/// Figures and titles.
pub(in crate::render) const INK: Color = Color(0x1f, 0x26, 0x2b);
/// Text that explains.
pub(in crate::render) const MUTED: Color = Color(0x58, 0x62, 0x6a);
/// Lines of the grid.
pub(in crate::render) const GRID: Color = Color(0xe4, 0xe7, 0xe9);
/// Axis lines, ticks and leaders.
pub(in crate::render) const AXIS: Color = Color(0x94, 0x9d, 0xa4);

/// What is asked for and what is being asked: target, asked price.
pub(in crate::render) const ASKED: Color = Color(0xb8, 0x4a, 0x00);
/// The main curve.
pub(in crate::render) const MAIN: Color = Color(0x0b, 0x3f, 0x66);
/// Its quieter companion.
pub(in crate::render) const SECOND: Color = Color(0x00, 0x72, 0xb2);
/// The band in which most trials lie.
pub(in crate::render) const BAND: Color = Color(0xd3, 0xe4, 0xf0);
/// Where it pays.
pub(in crate::render) const PAYS: Color = Color(0x00, 0x69, 0x4d);

/// The best there is, which need not pay: what it leaves beyond the target says whether it does.
pub(in crate::render) const fn best(leaves: f64) -> Color {
    if leaves >= 0.0 { PAYS } else { INK }
}

/// Light to dark: a family of curves of rising confidence.
pub(in crate::render) const STEPS: [Color; 3] = [Color(0x6f, 0xb1, 0xdd), Color(0x1f, 0x78, 0xb8), MAIN];

/// Light to dark: parts of a whole, from the bottom up.
pub(in crate::render) const PARTS: [Color; 5] = [
    Color(0xcf, 0xe2, 0xf0),
    Color(0xee, 0xad, 0x2c),
    Color(0xcf, 0x5a, 0x00),
    Color(0x00, 0x61, 0x4a),
    Color(0x0a, 0x2c, 0x4c),
];

/// Light to dark: cells of a map, more is darker.
pub(in crate::render) const SHADES: [Color; 7] = [
    Color(0xf6, 0xf9, 0xfc),
    Color(0xd3, 0xe4, 0xf0),
    Color(0xa9, 0xcb, 0xe4),
    Color(0x7a, 0xae, 0xd4),
    Color(0x3f, 0x86, 0xb6),
    Color(0x1d, 0x65, 0x96),
    MAIN,
];

/// Things of one rank set against each other.
pub(in crate::render) const RIVALS: [Color; 4] = [
    Color(0x0a, 0x2c, 0x4c),
    Color(0xcf, 0x5a, 0x00),
    Color(0x5f, 0xa8, 0xdc),
    Color(0x00, 0x61, 0x4a),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::plot::sight::{DEUTAN, PROTAN, apart, lab, linear, seen};

    fn check(group: &[Color], lightness_step: f64) {
        for (i, &a) in group.iter().enumerate() {
            for &b in &group[i + 1..] {
                let (la, lb) = (lab(linear(a))[0], lab(linear(b))[0]);
                assert!(
                    (la - lb).abs() >= lightness_step,
                    "{a:?} and {b:?} print as one grey: L* {la:.0}, {lb:.0}"
                );
                for by in [&PROTAN, &DEUTAN] {
                    let d = apart(lab(seen(by, linear(a))), lab(seen(by, linear(b))));
                    // About 2.3 is just noticeable side by side (Mahy and others, 1994); areas and lines need many times that.
                    assert!(d >= 20.0, "{a:?} and {b:?} look alike to some: {d:.0}");
                }
            }
        }
    }

    #[test]
    fn matrices_keep_grey_grey() {
        for row in PROTAN.iter().chain(&DEUTAN) {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 2e-6);
        }
    }

    #[test]
    fn parts_are_told_apart_in_grey_and_by_colour_blind_readers() {
        check(&PARTS, 12.0);
        assert!(
            PARTS.windows(2).all(|w| lab(linear(w[0]))[0] > lab(linear(w[1]))[0]),
            "light to dark"
        );
    }

    #[test]
    fn curves_are_told_apart_in_grey_and_by_colour_blind_readers() {
        check(&STEPS, 20.0);
        check(&RIVALS, 12.0);
        check(&[BAND, MAIN, ASKED], 15.0);
    }

    #[test]
    fn shades_darken_step_by_step() {
        let lightness: Vec<f64> = SHADES.iter().map(|c| lab(linear(*c))[0]).collect();
        assert!(lightness.windows(2).all(|w| w[0] - w[1] >= 7.0), "{lightness:?}");
        // Figures on them, dark on the lighter four and white on the others: WCAG 2.2, 1.4.11 asks for 3 to 1 at the least.
        let luminance = |c: Color| {
            let [r, g, b] = linear(c);
            0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05
        };
        for (k, shade) in SHADES.into_iter().enumerate() {
            let contrast = if k >= 4 {
                1.05 / luminance(shade)
            } else {
                luminance(shade) / luminance(INK)
            };
            assert!(contrast >= 3.5, "{k}: {contrast:.1}");
        }
    }

    #[test]
    fn text_is_dark_enough_to_read() {
        // WCAG 2.2, 1.4.3: at least 4.5 to 1 for text.
        for c in [INK, MUTED, ASKED, PAYS, MAIN] {
            let [r, g, b] = linear(c);
            let contrast = 1.05 / (0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05);
            assert!(contrast >= 4.5, "{c:?}: {contrast:.1}");
        }
    }
}
