//! Ranges written in braces: `{ low, likely, high, unit, shape, ends }` and `{ shape, values, unit }`.

use crate::scenario::faults::{Source, SourceSpan, nearest, quoted};
use crate::scenario::keys::{self, LARGEST, Measure, Rule, Takes};
use crate::scenario::spread::{Spread, TenthsError, ThreePoint};
use crate::scenario::tree::{Node, Table, Value};

use super::rules::{bound_reason, check_bounds, check_order};
use super::text::{read_text, times};
use super::units::{needs_unit, unit_worth};
use super::{Figure, Flaw, read_number};

/// Fewest values of a log that a range may have. Of n values that come alike, whatever their law, the next one is outside of all of
/// them with a chance of 2 / (n + 1): one time in three here.
pub(crate) const FEWEST_LOGGED: usize = 5;
/// Most of them: more than one maker times by hand, and few enough to read and to draw from.
pub(crate) const MOST_LOGGED: usize = 5_000;

/// `{ low, likely, high, unit, shape, ends }` or `{ shape, values, unit }`.
pub(super) fn read_table(node: &Node, table: &Table, rule: Rule, sources: &[Source]) -> Result<Spread, Vec<Flaw>> {
    let mut flaws = Vec::new();
    unknown_parts(table, &mut flaws);
    let unit = unit_of(table, rule, &mut flaws);
    let shape = word_of(table, "shape", &mut flaws);
    let has = |name: &str| table.get(name).is_some();
    // Values without a shape, or with one that is no word: the rest is read as what they must be meant for.
    if shape.as_deref() == Some("logged") || (has("values") && shape.is_none()) {
        return read_logged(node, table, &unit, rule, sources, flaws);
    }
    let mut figure = |name: &str| -> Option<Figure> {
        let (_, inner) = table.get(name)?;
        read_figure(inner, &format!("`{name}`"), &unit, rule, sources)
            .map_err(|more| flaws.extend(more))
            .ok()
    };
    let written = [figure("low"), figure("likely"), figure("high")];
    let default_shape = if has("likely") { "triangular" } else { "uniform" };
    let shape = shape.unwrap_or_else(|| default_shape.to_owned());
    let ends = word_of(table, "ends", &mut flaws).unwrap_or_else(|| "limits".to_owned());
    unfitting(node, table, &shape, &ends, &mut flaws);
    if !flaws.is_empty() {
        return Err(flaws);
    }
    let figures: Vec<Figure> = written.iter().flatten().cloned().collect();
    let [Some(low), likely, Some(high)] = written else {
        return Err(flaws);
    };
    check_bounds(&figures, rule)?;
    check_order(&figures, rule.measure, node)?;
    let three = ThreePoint {
        low: low.value,
        likely: likely.as_ref().map_or(low.value, |l| l.value),
        high: high.value,
    };

    let spread = shaped(node, &shape, &ends, three, &low)?;
    within_the_rule(node, &spread, &shape, low.value, rule)?;
    Ok(spread)
}

/// What a range cannot have.
fn unknown_parts(table: &Table, flaws: &mut Vec<Flaw>) {
    for (key, _) in &table.entries {
        if keys::key(keys::RANGE, &key.text).is_none() {
            flaws.push(Flaw::new(
                key.place.clone(),
                format!("a range has no {}", quoted(&key.text)),
                "not known",
                nearest(&key.text, keys::known(keys::RANGE)).map_or_else(
                    || "it may have low, likely, high, unit, shape and ends, or values".to_owned(),
                    |n| format!("did you mean {}?", quoted(n)),
                ),
            ));
        }
    }
}

/// The unit of its plain figures.
fn unit_of(table: &Table, rule: Rule, flaws: &mut Vec<Flaw>) -> Unit {
    let Some((key, node)) = table.get("unit") else {
        return Unit::None;
    };
    let flaw = if !needs_unit(rule.measure) {
        Flaw::new(
            key.place.clone(),
            format!("{} has no unit here", rule.measure.noun()),
            "no unit",
            "leave `unit` out",
        )
    } else if let Value::Text(word, _) = &node.value {
        match unit_worth(rule, word.trim()) {
            Ok(_) => return Unit::Of(word.trim().to_owned()),
            Err((what, cure)) => Flaw::new(node.place.clone(), what, "here", cure),
        }
    } else {
        Flaw::new(
            node.place.clone(),
            format!("`unit` is a text, not {}", node.kind()),
            "must be a text",
            "write for example `unit = \"min\"`",
        )
    };
    flaws.push(flaw);
    Unit::Faulty
}

/// What is missing for the shape, or does not go with it.
fn unfitting(node: &Node, table: &Table, shape: &str, ends: &str, flaws: &mut Vec<Flaw>) {
    let values = table.get("values");
    if let Some((key, _)) = values {
        flaws.push(Flaw::new(
            key.place.clone(),
            format!("a {shape} range has no values of a log"),
            "not used",
            "take `shape = \"logged\"`, or leave `values` out",
        ));
    }
    for (name, wanted) in [
        ("low", true),
        ("high", true),
        ("likely", matches!(shape, "triangular" | "pert")),
    ] {
        match (table.get(name), wanted) {
            (None, true) if values.is_none() => flaws.push(Flaw::new(
                node.place.clone(),
                format!("`{name}` is missing in this range"),
                format!("no `{name}`"),
                if name == "likely" {
                    format!("add `likely`, or take `shape = \"uniform\"`: a {shape} range has three values")
                } else {
                    "a range has at least `low` and `high`; for one certain value write it alone, without the braces"
                        .to_owned()
                },
            )),
            (Some((key, _)), false) => flaws.push(Flaw::new(
                key.place.clone(),
                format!("a {shape} range has no likely value"),
                "not used",
                "leave `likely` out, or take `shape = \"triangular\"` or `\"pert\"`",
            )),
            _ => {}
        }
    }
    if shape == "lognormal" && ends == "limits" {
        let shape_place = table
            .get("shape")
            .map_or_else(|| node.place.clone(), |(_, n)| n.place.clone());
        flaws.push(Flaw::new(
            shape_place,
            "a lognormal range has no limits: it goes from 0 on without end",
            "low and high cannot be limits here",
            "add `ends = \"tenths\"`: one time in ten goes under low, one time in ten over high",
        ));
    }
}

/// The range of a shape; `low` is the figure of its low end.
fn shaped(node: &Node, shape: &str, ends: &str, three: ThreePoint, low: &Figure) -> Result<Spread, Vec<Flaw>> {
    let spread = match (shape, ends) {
        ("lognormal", _) => {
            if low.value <= 0.0 {
                return Err(vec![Flaw::new(
                    low.place.clone(),
                    "a lognormal range cannot start at 0: it never gets there",
                    "must be more than 0",
                    "give a low above 0, or take `shape = \"triangular\"`",
                )]);
            }
            Ok(Spread::lognormal_from_tenths(three.low, three.high))
        }
        ("uniform", "tenths") => Ok(Spread::uniform_from_tenths(three.low, three.high)),
        ("uniform", _) => Ok(Spread::uniform(three.low, three.high)),
        ("pert", "tenths") => Spread::pert_from_tenths(three),
        ("pert", _) => Ok(Spread::pert(three)),
        (_, "tenths") => Spread::triangular_from_tenths(three),
        _ => Ok(Spread::triangular(three)),
    };
    spread.map_err(|TenthsError| {
        vec![Flaw::new(
            node.place.clone(),
            "no limits can be found for which these are the tenths",
            "not solvable",
            "give the limits themselves: `ends = \"limits\"`",
        )]
    })
}

/// Limits that were solved for keep the rules as well: nobody glues in less than no time.
fn within_the_rule(node: &Node, spread: &Spread, shape: &str, low: f64, rule: Rule) -> Result<(), Vec<Flaw>> {
    let kind = rule.measure;
    let (bottom, top) = spread.limits();
    let endless = matches!(spread, Spread::Lognormal { .. });
    if endless && (spread.mean() > LARGEST || !spread.variance().is_finite()) {
        return Err(vec![Flaw::new(
            node.place.clone(),
            "low and high are too far apart for a lognormal range: its mean is beyond all measure",
            "too wide",
            "give narrower tenths, or take `shape = \"triangular\"`",
        )]);
    }
    if let Some(bad) = [bottom, top]
        .into_iter()
        .filter(|_| !endless)
        .find(|v| bound_reason(*v, rule).is_some())
    {
        return Err(vec![Flaw::new(
            node.place.clone(),
            format!(
                "with these tenths the {shape} range would reach to {}, which is not allowed here",
                kind.show(bad)
            ),
            format!("{} to {}", kind.show(bottom), kind.show(top)),
            if low > 0.0 && bad < low {
                "give the limits themselves (`ends = \"limits\"`), or take `shape = \"lognormal\"` with low and high, which never \
                 goes under 0"
                    .to_owned()
            } else {
                "give the limits themselves: `ends = \"limits\"`".to_owned()
            },
        )]);
    }
    Ok(())
}

/// The unit of a range's table.
pub(super) enum Unit {
    Of(String),
    None,
    Faulty,
}

/// One number of a range's table; a plain one has the table's unit, by the same rules as in a text. `name` is for messages.
pub(super) fn read_figure(
    inner: &Node,
    name: &str,
    unit: &Unit,
    rule: Rule,
    sources: &[Source],
) -> Result<Figure, Vec<Flaw>> {
    let kind = rule.measure;
    match (&inner.value, unit) {
        (Value::Whole(_) | Value::Real(_), Unit::Of(_) | Unit::Faulty) if needs_unit(kind) => {
            let plain = read_number(inner, Rule::of(Measure::Number).certain(), sources).map_err(|f| vec![f])?;
            let worth = match unit {
                Unit::Of(word) => unit_worth(rule, word).ok(),
                Unit::None | Unit::Faulty => None,
            };
            Ok(Figure {
                value: times(plain.value, worth.unwrap_or(1.0)),
                ..plain
            })
        }
        (Value::Whole(_) | Value::Real(_), _) => read_number(inner, rule, sources).map_err(|f| vec![f]),
        (Value::Text(text, start), _) => {
            let mut list = read_text(inner, text, *start, rule)?;
            if list.len() == 1 {
                Ok(list.remove(0))
            } else {
                Err(vec![Flaw::new(
                    inner.place.clone(),
                    format!("{name} is one value, not a range"),
                    "must be one value",
                    format!("write for example {}", kind.certain_example()),
                )])
            }
        }
        _ => Err(vec![Flaw::new(
            inner.place.clone(),
            format!("{name} is {}, not {}", kind.noun(), inner.kind()),
            format!("must be {}", kind.noun()),
            format!("write for example {}", kind.certain_example()),
        )]),
    }
}

/// `{ shape = "logged", values, unit }`; `flaws` are those found before.
pub(super) fn read_logged(
    node: &Node,
    table: &Table,
    unit: &Unit,
    rule: Rule,
    sources: &[Source],
    mut flaws: Vec<Flaw>,
) -> Result<Spread, Vec<Flaw>> {
    let kind = rule.measure;
    for name in ["low", "likely", "high", "ends"] {
        if let Some((key, _)) = table.get(name) {
            flaws.push(Flaw::new(
                key.place.clone(),
                format!("a logged range has no `{name}`: it is its values"),
                "not used",
                format!("leave `{name}` out, or `values` and `shape = \"logged\"`"),
            ));
        }
    }
    let (list, items) = match list_of_values(node, table, kind, &mut flaws) {
        Ok(found) => found,
        Err(unreadable) => {
            flaws.push(unreadable);
            return Err(flaws);
        }
    };
    let bare = |item: &Node| match item.value {
        Value::Whole(n) => n != 0,
        Value::Real(x) => x != 0.0,
        _ => false,
    };
    // Once for all of them.
    let no_unit = needs_unit(kind) && matches!(unit, Unit::None) && items.iter().any(bare);
    if no_unit {
        flaws.push(Flaw::new(
            list.place.clone(),
            format!("these values have no unit, and {} needs one", kind.noun()),
            "unit?",
            if kind == Measure::Share {
                "add `unit = \"%\"`"
            } else {
                "add `unit = \"min\"` or `unit = \"h\"`"
            },
        ));
    }
    let unit = if no_unit { &Unit::Faulty } else { unit };
    let mut figures = Vec::with_capacity(items.len());
    for item in items {
        match read_figure(item, "each of `values`", unit, rule, sources) {
            Ok(figure) => figures.push(figure),
            Err(more) => flaws.extend(more),
        }
    }
    if !matches!(unit, Unit::Faulty) {
        flaws.extend(check_bounds(&figures, rule).err().unwrap_or_default());
    }
    if flaws.is_empty() {
        Ok(Spread::logged(figures.iter().map(|figure| figure.value).collect()))
    } else {
        Err(flaws)
    }
}

/// The list that `values` is, and what stands in it; `flaws` are those after which it can be read.
fn list_of_values<'a>(
    node: &Node,
    table: &'a Table,
    kind: Measure,
    flaws: &mut Vec<Flaw>,
) -> Result<(&'a Node, &'a [Node]), Flaw> {
    let example = || format!("for example {}", kind.logged_example());
    let (key, list) = table.get("values").ok_or_else(|| {
        Flaw::new(
            node.place.clone(),
            "`values` is missing in this range",
            "no `values`",
            format!("add what was logged, {}", example()),
        )
    })?;
    if table.get("shape").is_none() {
        flaws.push(Flaw::new(
            key.place.clone(),
            "values of a log are a shape of their own, and this range does not say it",
            "which shape?",
            "add `shape = \"logged\"`",
        ));
    }
    let Value::List(items) = &list.value else {
        return Err(Flaw::new(
            list.place.clone(),
            format!("`values` is a list, not {}", list.kind()),
            "must be a list",
            format!("write {}", example()),
        ));
    };
    enough(items.len(), &list.place, flaws)?;
    Ok((list, items))
}

/// Whether there are enough logged values, and not too many to be looked at.
fn enough(count: usize, place: &SourceSpan, flaws: &mut Vec<Flaw>) -> Result<(), Flaw> {
    if count < FEWEST_LOGGED {
        flaws.push(Flaw::new(
            place.clone(),
            format!("a logged range of {count} values is too little to go by"),
            "too few",
            format!(
                "give at least {FEWEST_LOGGED}, or low, likely and high instead: with fewer, more than one in three of those to come \
                 would be outside of all that were seen"
            ),
        ));
    }
    if count > MOST_LOGGED {
        return Err(Flaw::new(
            place.clone(),
            format!("a logged range of {count} values is too long"),
            "too many",
            format!("keep the latest {MOST_LOGGED}, or give low, likely and high instead"),
        ));
    }
    Ok(())
}

/// A word out of a few, in a range's table.
pub(super) fn word_of(table: &Table, key: &str, flaws: &mut Vec<Flaw>) -> Option<String> {
    let (_, node) = table.get(key)?;
    let Takes::Choice(choices) = keys::key(keys::RANGE, key)?.takes else {
        return None;
    };
    let known: Vec<&str> = choices.iter().map(|choice| choice.word).collect();
    match &node.value {
        Value::Text(word, _) if known.contains(&word.as_str()) => Some(word.clone()),
        other => {
            let given = match other {
                Value::Text(word, _) => quoted(word),
                _ => node.kind().to_owned(),
            };
            let near = match other {
                Value::Text(word, _) => nearest(word, known.iter().copied()),
                _ => None,
            };
            flaws.push(Flaw::new(
                node.place.clone(),
                format!("{given} is not a word for `{key}`"),
                "not known",
                near.map_or_else(
                    || {
                        format!(
                            "`{key}` is one of {}",
                            known.iter().map(|k| format!("\"{k}\"")).collect::<Vec<_>>().join(", ")
                        )
                    },
                    |n| format!("did you mean {}?", quoted(n)),
                ),
            ));
            None
        }
    }
}
