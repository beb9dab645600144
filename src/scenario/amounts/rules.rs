//! Amounts held to the rule of their key.

use crate::scenario::faults::{SourceSpan, quoted};
use crate::scenario::keys::{Bound, LARGEST, Measure, Rule, SMALLEST};
use crate::scenario::tree::Node;

use super::{Figure, Flaw};

pub(super) fn check_bounds(figures: &[Figure], rule: Rule) -> Result<(), Vec<Flaw>> {
    let flaws: Vec<Flaw> = figures
        .iter()
        .filter_map(|f| bound_reason(f.value, rule).map(|broken| (f, broken)))
        .map(|(f, (label, cure))| {
            let what = format!("{} is {label}", quoted(&f.shown));
            Flaw::new(f.place.clone(), what, label, cure)
        })
        .collect();
    if flaws.is_empty() { Ok(()) } else { Err(flaws) }
}

/// What a value is that it may not be, and what it must be.
pub(super) fn bound_reason(value: f64, rule: Rule) -> Option<(&'static str, String)> {
    let kind = rule.measure;
    let under = match rule.low {
        Bound::To(b) => value < b,
        Bound::Short(b) => value <= b,
    };
    let over = match rule.high {
        Bound::To(b) => value > b,
        Bound::Short(b) => value >= b,
    };
    let room = || {
        let low = match rule.low {
            Bound::To(SMALLEST) if value <= 0.0 => "more than 0".to_owned(),
            Bound::To(b) => format!("at least {}", kind.show(b)),
            Bound::Short(b) => format!("more than {}", kind.show(b)),
        };
        match rule.high {
            Bound::To(LARGEST) if under => low,
            Bound::To(LARGEST) => format!("at most {}", kind.show(LARGEST)),
            Bound::To(b) => format!("{low} and at most {}", kind.show(b)),
            Bound::Short(b) => format!("{low} and less than {}", kind.show(b)),
        }
    };
    let label = if !value.is_finite() {
        "no amount"
    } else if under && value < 0.0 {
        "negative"
    } else if under {
        "too small"
    } else if over && rule.measure == Measure::Share && value > 1.0 && rule.high != Bound::To(LARGEST) {
        "more than 100 %"
    } else if over {
        "too large"
    } else {
        return None;
    };
    Some((label, format!("it must be {}", room())))
}

pub(super) fn check_order(figures: &[Figure], kind: Measure, node: &Node) -> Result<(), Vec<Flaw>> {
    let names: &[&str] = if figures.len() == 3 {
        &["low", "likely", "high"]
    } else {
        &["low", "high"]
    };
    for (i, pair) in figures.windows(2).enumerate() {
        let [a, b] = pair else { continue };
        if a.value > b.value {
            let place = if a.place.source == b.place.source && a.place.span.end <= b.place.span.start {
                SourceSpan::new(a.place.source, a.place.span.start..b.place.span.end)
            } else {
                node.place.clone()
            };
            let mut sorted: Vec<f64> = figures.iter().map(|f| f.value).collect();
            sorted.sort_by(f64::total_cmp);
            let parts: Vec<String> = sorted.iter().map(|v| kind.show(*v)).collect();
            // One is enough: mended as proposed, the whole range is in order.
            return Err(vec![Flaw::new(
                place,
                format!(
                    "{} {} is more than {} {}",
                    names[i],
                    quoted(&a.shown),
                    names[i + 1],
                    quoted(&b.shown)
                ),
                "the smaller comes first",
                format!(
                    "a range is written {}; perhaps `\"{}\"`",
                    names.join(" / "),
                    join_range(&parts)
                ),
            )]);
        }
    }
    Ok(())
}

/// `8 min / 12 min` becomes `8 / 12 min`.
fn join_range(parts: &[String]) -> String {
    let Some((last, before)) = parts.split_last() else {
        return String::new();
    };
    let mut out = String::new();
    for part in before {
        out.push_str(part.split(' ').next().unwrap_or(part));
        out.push_str(" / ");
    }
    out + last
}
