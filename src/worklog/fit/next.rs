//! The entries that would teach most.

use super::answer::{How, Next};
use super::step::Fitted;
use crate::scenario::Scenario;
use crate::stats::Z975;
use crate::worklog::What;
use crate::worklog::units::WorkUnits;

/// Entries that are advised to be timed next.
const NEXT: usize = 3;

/// The few entries that would make a middle batch known best: of setup alone, of pieces alone and of whole jobs of the least size and of the largest there was.
pub(super) fn next(scenario: &Scenario, steps: &[Fitted<'_>]) -> Option<Next> {
    let sizes = &scenario.batch.sizes;
    let (least, most) = (*sizes.iter().min()?, *sizes.iter().max()?);
    let batch = sizes[sizes.len() / 2];
    let mut best: Option<Next> = None;
    for fitted in steps {
        let Some(work) = fitted.work.as_ref().filter(|w| w.enough() && w.how == How::Both) else {
            continue;
        };
        let error = work.found.error();
        // No more than were ever made at a time: a batch is not made larger to be timed.
        let most = work
            .kept()
            .map(|(e, _)| e.pieces)
            .max()
            .map_or(most, |n| n.clamp(least, most));
        let at = |n: u32| {
            let of = WorkUnits::of(fitted.guess, What::All, n, None, 0);
            [of.rounds, of.units]
        };
        let x = at(batch);
        let half = |e: [f64; 3]| {
            Z975 * libm::sqrt((e[0] * x[0] * x[0] + 2.0 * e[1] * x[0] * x[1] + e[2] * x[1] * x[1]).max(0.0))
        };
        let now = half(error);
        let pieces = at(batch)[1];
        for (what, n, x) in [
            ("setup", 0, [1.0, 0.0]),
            ("each", batch, [0.0, pieces]),
            ("all", least, at(least)),
            ("all", most, at(most)),
        ] {
            let variance = work.found.work_at(x[0], x[1]);
            let then = half(with_more(error, x, variance / NEXT as f64));
            if best.as_ref().is_none_or(|b| now - then > b.now - b.then) {
                best = Some(Next {
                    step: fitted.step.name.clone(),
                    entries: NEXT,
                    what,
                    pieces: n,
                    batch,
                    now,
                    then,
                });
            }
        }
    }
    best
}

/// The errors of setup and piece (variance, covariance, variance) once `S r + t d` was measured with this variance.
fn with_more(e: [f64; 3], [r, d]: [f64; 2], variance: f64) -> [f64; 3] {
    let (a, b) = (e[0] * r + e[1] * d, e[1] * r + e[2] * d);
    let all = variance + a * r + b * d;
    if all <= 0.0 {
        return e;
    }
    [e[0] - a * a / all, e[1] - a * b / all, e[2] - b * b / all]
}
