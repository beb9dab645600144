//! How colours look to those who see all of them, to those who do not, and in grey, for tests.

use super::palette::Color;

pub(in crate::render) type Linear = [f64; 3];

/// sRGB to linear light (IEC 61966-2-1).
pub(in crate::render) fn linear(c: Color) -> Linear {
    [c.0, c.1, c.2].map(|v| {
        let v = f64::from(v) / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    })
}

/// CIE 1976 L*a*b* under D65 (CIE 15; the sRGB matrix of IEC 61966-2-1).
pub(in crate::render) fn lab(c: Linear) -> [f64; 3] {
    let [r, g, b] = c;
    let xyz = [
        (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
        0.2126 * r + 0.7152 * g + 0.0722 * b,
        (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089,
    ];
    let [x, y, z] = xyz.map(|t| {
        if t > 216.0 / 24389.0 {
            t.cbrt()
        } else {
            (24389.0 / 27.0 * t + 16.0) / 116.0
        }
    });
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision deficiency", IEEE
/// TVCG 15(6), 2009, matrices of severity 1.0 (from memory, rows checked to add up to 1).
pub(in crate::render) const PROTAN: [[f64; 3]; 3] = [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
];
pub(in crate::render) const DEUTAN: [[f64; 3]; 3] = [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.011820, 0.042940, 0.968881],
];

pub(in crate::render) fn seen(by: &[[f64; 3]; 3], c: Linear) -> Linear {
    by.map(|row| row.iter().zip(c).map(|(m, v)| m * v).sum::<f64>().clamp(0.0, 1.0))
}

pub(in crate::render) fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum::<f64>().sqrt()
}

/// How far two colours lie apart at the least: to full sight, protanopia and deuteranopia (CIE 1976 distance), and in grey (lightness).
#[cfg(feature = "cli")]
pub(in crate::render) fn least_apart(a: Color, b: Color) -> (f64, f64) {
    const WHOLE: [[f64; 3]; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let (a, b) = (linear(a), linear(b));
    let sights = [WHOLE, PROTAN, DEUTAN].map(|by| apart(lab(seen(&by, a)), lab(seen(&by, b))));
    let grey = (lab(a)[0] - lab(b)[0]).abs();
    (sights.into_iter().fold(f64::INFINITY, f64::min), grey)
}
