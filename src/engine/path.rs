//! Which vector instructions the loops use, chosen while the program runs. Every path gives the same bytes.
//!
//! The narrowest path is the processor's own base (SSE2 or NEON) and not lane-by-lane code: the compiler took more than ten minutes over
//! the vector library's scalar fallback. The plain reading of the same arithmetic is a test instead, which simulates a scenario again in
//! scalar code and asks for the same bits.

use fearless_simd::{Select, Simd, SimdBase, f64x8};

/// A vector path: the instructions that the eight logical lanes are mapped to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Path {
    /// What every processor of its kind can run: 128 bits wide on x86-64 (SSE2) and 64-bit ARM (NEON), lane by lane elsewhere.
    Base,
    /// 256 bits wide on x86-64.
    Avx2,
    /// 512 bits wide on x86-64.
    Avx512,
}

impl Path {
    /// The widest this processor can run.
    #[must_use]
    pub fn best() -> Self {
        Self::available().last().copied().unwrap_or(Self::Base)
    }

    /// All that this processor can run, narrowest first.
    #[must_use]
    pub fn available() -> Vec<Self> {
        [Self::Base, Self::Avx2, Self::Avx512]
            .into_iter()
            .filter(|p| p.is_available())
            .collect()
    }

    #[cfg(target_arch = "x86_64")]
    fn is_available(self) -> bool {
        let level = fearless_simd::Level::new();
        match self {
            Self::Base => true,
            Self::Avx2 => level.as_avx2().is_some(),
            Self::Avx512 => level.as_avx512().is_some(),
        }
    }

    #[cfg(not(target_arch = "x86_64"))]
    fn is_available(self) -> bool {
        self == Self::Base
    }
}

/// The lesser of two, lane by lane; the second where they are alike. None is NaN.
///
/// A browser's own instruction looks after NaN and the signs of zero, which takes a processor seven instructions.
#[inline(always)]
pub(crate) fn lesser<S: Simd>(a: f64x8<S>, b: f64x8<S>) -> f64x8<S> {
    if cfg!(target_arch = "wasm32") {
        a.simd_lt(b).select(a, b)
    } else {
        a.min(b)
    }
}

/// The greater of two, as [`lesser`].
#[inline(always)]
pub(crate) fn greater<S: Simd>(a: f64x8<S>, b: f64x8<S>) -> f64x8<S> {
    if cfg!(target_arch = "wasm32") {
        a.simd_gt(b).select(a, b)
    } else {
        a.max(b)
    }
}

/// Runs an expression with the token of a path; a path that the processor lacks runs on the base.
///
/// SSE4.2 is left out: each further path is one more copy of every loop to compile. So is the library's lane-by-lane
/// fallback where the processor has vectors, because the compiler takes minutes over it.
#[cfg(target_arch = "x86_64")]
macro_rules! dispatch {
    ($path:expr, $simd:ident => $body:expr) => {{
        let level = fearless_simd::Level::new();
        match $path {
            $crate::engine::Path::Avx512 if let Some($simd) = level.as_avx512() => $body,
            $crate::engine::Path::Avx2 if let Some($simd) = level.as_avx2() => $body,
            _ => {
                let $simd = level.as_sse2().expect("part of every x86-64 processor");
                $body
            }
        }
    }};
}
#[cfg(not(target_arch = "x86_64"))]
macro_rules! dispatch {
    ($path:expr, $simd:ident => $body:expr) => {{
        let _ = $path;
        fearless_simd::dispatch!(fearless_simd::Level::baseline(), $simd => $body)
    }};
}
pub(crate) use dispatch;
