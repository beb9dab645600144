//! Amounts as people write them: `"12 min"`, `"1 h 30 min"`, `"15 %"`, `6.20`, and ranges `"8 / 12 / 25 min"`.
//!
//! Grammar of a text: one to three parts between slashes. One part is certain; two are low / high with all values between
//! equally likely; three are low / likely / high. A part is a number with its unit, or for times several
//! (`1 h 30 min`, or `1 h 30`). The unit may stand once, at the end, for all parts, or with each of them.
//!
//! `1/2 h` is refused: it reads as half an hour and means one to two hours, four times too long, and nobody would see it.

mod braces;
mod rules;
mod spans;
mod text;
mod tokens;
mod units;

use super::faults::{Fault, Source, SourceSpan, quoted};
use super::keys::{Measure, Rule};
use super::spread::{Spread, ThreePoint};
use super::tree::{Node, Value};

use braces::read_table;
pub(crate) use braces::{FEWEST_LOGGED, MOST_LOGGED};
use rules::{check_bounds, check_order};
pub(super) use spans::another_span;
use text::read_text;
pub(super) use tokens::{Stretch, stretches, thousands_joined};
pub(super) use units::{CURRENCY_SIGNS, time_unit};

impl Measure {
    const fn example(self) -> &'static str {
        match self {
            Self::Work => "`\"12 min\"`, `\"1 h 30 min\"` or a range `\"8 / 12 / 25 min\"`",
            Self::Clock => "`\"12 h\"`, `\"3 d\"` or a range `\"8 / 12 / 24 h\"`",
            Self::Money => "`6.5` or a range `\"6.20 / 7.00 / 8.50\"`",
            Self::Share => "`\"15 %\"` or a range `\"15 / 25 / 40 %\"`",
            Self::Number => "`1.5` or a range `\"0.9 / 1 / 1.35\"`",
        }
    }

    const fn certain_example(self) -> &'static str {
        match self {
            Self::Work | Self::Clock => "`\"12 min\"`",
            Self::Money => "`6.5`",
            Self::Share => "`\"15 %\"`",
            Self::Number => "`1.5`",
        }
    }

    /// What a list of logged values may look like.
    const fn logged_example(self) -> &'static str {
        match self {
            Self::Work => "`values = [11, 12.5, 14, 12, 19], unit = \"min\"`",
            Self::Clock => "`values = [20, 22, 24, 21, 30], unit = \"h\"`",
            Self::Money => "`values = [5.9, 6.8, 6.8, 7.2, 9.5]`",
            Self::Share => "`values = [15, 20, 20, 25, 40], unit = \"%\"`",
            Self::Number => "`values = [0.9, 1, 1, 1.1, 1.35]`",
        }
    }

    /// An amount in this kind's own unit, for a cure.
    fn show(self, value: f64) -> String {
        match self {
            Self::Work | Self::Clock => format!("{} min", short(value)),
            Self::Share => format!("{} %", short(value * 100.0)),
            Self::Money | Self::Number => short(value),
        }
    }
}

/// A number without a tail of zeros or a long fraction.
pub(super) fn short(value: f64) -> String {
    let rounded = (value * 1e4).round() / 1e4;
    if rounded == 0.0 && value != 0.0 {
        format!("{value:e}")
    } else {
        format!("{rounded}")
    }
}

impl Rule {
    fn example(self) -> String {
        match self.measure {
            Measure::Number if !self.such_as.is_empty() => format!("`{}`", self.such_as),
            measure if self.certain => measure.certain_example().to_owned(),
            measure => measure.example().to_owned(),
        }
    }
}

/// The cure of money with a sign of its currency in it; `own`: the code that the scenario says, empty where it says none.
pub(super) fn without_sign(text: &str, own: &str) -> String {
    let code = match text.chars().find(|c| CURRENCY_SIGNS.contains(c)) {
        _ if !own.is_empty() => own,
        Some('£') => "GBP",
        Some('$') => "USD",
        Some('¥') => "JPY",
        _ => "EUR",
    };
    let bare = text.replace(CURRENCY_SIGNS, " ");
    let bare = bare.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = if !text::is_taken(&bare, Rule::of(Measure::Money)) {
        "write the number alone".to_owned()
    } else if bare.contains('/') {
        format!("write the numbers alone, `\"{bare}\"`")
    } else {
        format!("write the number alone, `{bare}`")
    };
    format!("{plain}; the currency stands once, at the top: `currency = \"{code}\"`")
}

/// What is wrong with an amount, before it is said whose amount it is.
#[derive(Debug, Clone)]
pub(super) struct Flaw {
    pub(super) place: SourceSpan,
    pub(super) what: String,
    pub(super) label: String,
    pub(super) cure: String,
}

impl Flaw {
    fn new(place: SourceSpan, what: impl Into<String>, label: impl Into<String>, cure: impl Into<String>) -> Self {
        Self {
            place,
            what: what.into(),
            label: label.into(),
            cure: cure.into(),
        }
    }

    pub(super) fn of(self, owner: &str) -> Fault {
        Fault::new(self.place, format!("{owner}: {}", self.what), self.label, self.cure)
    }
}

/// One number of an amount, in the kind's own unit, and where it stands.
#[derive(Debug, Clone)]
struct Figure {
    value: f64,
    place: SourceSpan,
    /// As written, for messages.
    shown: String,
}

/// Reads an amount of any form.
pub(super) fn read(node: &Node, rule: Rule, sources: &[Source]) -> Result<Spread, Vec<Flaw>> {
    let kind = rule.measure;
    let figures = match &node.value {
        Value::Table(table) if !rule.certain => return read_table(node, table, rule, sources),
        Value::Text(text, start) => read_text(node, text, *start, rule)?,
        Value::Whole(_) | Value::Real(_) => vec![read_number(node, rule, sources).map_err(|f| vec![f])?],
        _ => {
            return Err(vec![Flaw::new(
                node.place.clone(),
                format!("this must be {}, not {}", kind.noun(), node.kind()),
                format!("must be {}", kind.noun()),
                format!("write for example {}", rule.example()),
            )]);
        }
    };
    if rule.certain && figures.len() > 1 {
        return Err(vec![Flaw::new(
            node.place.clone(),
            "this must be certain, and a range is given",
            "must be one value",
            format!("write for example {}", kind.certain_example()),
        )]);
    }
    check_bounds(&figures, rule)?;
    check_order(&figures, kind, node)?;
    Ok(match figures.as_slice() {
        [one] => Spread::Certain(one.value),
        [low, high] => Spread::uniform(low.value, high.value),
        [low, likely, high] => Spread::triangular(ThreePoint {
            low: low.value,
            likely: likely.value,
            high: high.value,
        }),
        _ => Spread::ZERO,
    })
}

/// Hands-on minutes from a text: `52 min`, `1 h 30 min`; more than none, and certain. `verbatim`: it stands at `place` letter by
/// letter, so that a part of it can be marked.
pub(crate) fn work_minutes(owner: &str, text: &str, place: SourceSpan, verbatim: bool) -> Result<f64, Vec<Fault>> {
    let start = verbatim.then_some(place.span.start);
    let node = Node {
        place,
        value: Value::Text(text.to_owned(), start),
    };
    let spread = read(&node, Rule::positive(Measure::Work).certain(), &[]);
    spread
        .map(|s| s.mean())
        .map_err(|flaws| flaws.into_iter().map(|flaw| flaw.of(owner)).collect())
}

/// A number that stands without quotes.
fn read_number(node: &Node, rule: Rule, sources: &[Source]) -> Result<Figure, Flaw> {
    let value = match node.value {
        // Whole numbers past 2^53 lose their last digits here and are refused for their size later.
        Value::Whole(i) => i as f64,
        Value::Real(x) => x,
        _ => f64::NAN,
    };
    let shown = node.raw(sources).to_owned();
    if !value.is_finite() {
        return Err(Flaw::new(
            node.place.clone(),
            format!("{} is not an amount", quoted(&shown)),
            "must be a number",
            format!("write for example {}", rule.example()),
        ));
    }
    match rule.measure {
        Measure::Work | Measure::Clock if value != 0.0 => Err(Flaw::new(
            node.place.clone(),
            format!("{} has no unit, and a time needs one", quoted(&shown)),
            "minutes, hours?",
            format!("write `\"{shown} min\"` or `\"{shown} h\"`"),
        )),
        Measure::Share if value > 0.0 => Err(Flaw::new(
            node.place.clone(),
            format!("{} has no % sign, and a share is written in per cent", quoted(&shown)),
            "per cent?",
            if value < 1.0 {
                format!("write `\"{} %\"`", short(value * 100.0))
            } else {
                format!("write `\"{shown} %\"`")
            },
        )),
        _ => Ok(Figure {
            value,
            place: node.place.clone(),
            shown,
        }),
    }
}
