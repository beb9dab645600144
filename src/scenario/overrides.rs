//! Values given for a single call (`--set sale.price=62`), planted into the tree of the file under their own source, so that a fault in one of
//! them points at what was typed and not at the file.

use toml_edit::{Document, Item};

use super::faults::{Fault, Source, SourceSpan, nearest, quoted};
use super::keys;
use super::toml::{DEEPEST, too_deep};
use super::tree::{Key, Node, Table, Value, node};

/// The text under which a value given for one call is shown.
pub(super) fn override_source(flag: &str, key: &str, value: &str) -> Source {
    Source {
        name: flag.to_owned(),
        text: format!("{key}={value}"),
    }
}

/// Plants one value given for a single call into the tree.
pub(super) fn plant(root: &mut Table, source: usize, key: &str, value: &str) -> Result<(), Fault> {
    let node = override_node(source, key.len() + 1, value);
    let whole_key = SourceSpan::new(source, 0..key.len());
    let parts = split_path(key).map_err(|why| {
        Fault::new(
            whole_key.clone(),
            format!("{} does not name a value", quoted(key)),
            why,
            "write it as in the file, with dots between: `sale.price`, `step.glue pegs.setup`, `step.\"glue pegs\".setup`",
        )
    })?;
    let (Some(first), rest) = (parts.first(), parts.get(1..).unwrap_or(&[])) else {
        return Err(Fault::new(
            whole_key,
            "this does not say which value to set",
            "no name before the `=`",
            "write for example `sale.price=62`",
        ));
    };
    // The word is what it is in the file; a list there means that the next part is a name.
    if keys::is_list(&first.text) {
        return plant_named(root, source, key, first, node);
    }
    if let Some(whole) = of_an_entry(root, key, &parts) {
        let (what, label) = if rest.is_empty() {
            let what = format!("{} is a step, which has several values", quoted(key));
            (what, "which of them?")
        } else {
            let what = format!("{} does not say what {} is", quoted(key), quoted(&first.text));
            (what, "its kind is due before it")
        };
        return Err(Fault::new(whole_key, what, label, format!("write `{whole}={value}`")));
    }
    plant_at(root, source, &parts, node).map_err(|blocked| {
        Fault::new(
            SourceSpan::new(source, blocked.start..key.len().max(blocked.start)),
            format!("{} has no parts to set", quoted(&key[..blocked.end])),
            "it is one value",
            format!(
                "give the whole value: `{}=...`{}",
                &key[..blocked.end],
                if rest.is_empty() { "" } else { ", ranges too" }
            ),
        )
    })
}

/// The key with its kind before it where it begins with the name of a step, a material or the like: `step.fire.spoil` for `fire.spoil`. A step's
/// name alone stands for what a piece takes there: `step.fire.each` for `fire`.
fn of_an_entry(root: &Table, key: &str, parts: &[Part]) -> Option<String> {
    let (Some(first), Some(last)) = (parts.first(), parts.last()) else {
        return None;
    };
    let alone = parts.len() == 1;
    if keys::is_section(&first.text) || alone && keys::known("").any(|known| known == first.text) {
        return None;
    }
    let begins = |name: &str| {
        !name.is_empty() && (first.text == name || key.strip_prefix(name).is_some_and(|rest| rest.starts_with('.')))
    };
    let named = |node: &Node| match node
        .as_table()
        .and_then(|table| table.get("name"))
        .map(|(_, name)| &name.value)
    {
        Some(Value::Text(name, _)) => begins(name),
        _ => false,
    };
    let mut kinds = root.entries.iter().filter_map(|(word, node)| match &node.value {
        Value::List(list) if keys::is_list(&word.text) && list.iter().any(named) => Some(word.text.as_str()),
        _ => None,
    });
    if alone {
        return kinds
            .find(|kind| *kind == "step")
            .map(|kind| format!("{kind}.{key}.each"));
    }
    // A step and a material may have one name; the key tells which is meant.
    let kind = kinds.min_by_key(|word| !keys::known(word).any(|known| known == last.text))?;
    Some(format!("{kind}.{key}"))
}

/// Goes down the path, making what is missing; where a value stands in the way, its stretch of the key.
fn plant_at(table: &mut Table, source: usize, parts: &[Part], node: Node) -> Result<(), std::ops::Range<usize>> {
    let Some((first, rest)) = parts.split_first() else {
        return Ok(());
    };
    let key = Key {
        text: first.text.clone(),
        place: SourceSpan::new(source, first.span.clone()),
    };
    if rest.is_empty() {
        table.put(key, node);
        return Ok(());
    }
    if table.get(&first.text).is_none() {
        table.put(
            key,
            Node {
                place: SourceSpan::new(source, first.span.clone()),
                value: Value::Table(Table::default()),
            },
        );
    }
    match table.get_mut(&first.text).map(|n| &mut n.value) {
        Some(Value::Table(inner)) => plant_at(inner, source, rest, node),
        _ => Err(0..first.span.end),
    }
}

/// `step.NAME.KEY` and `material.NAME.KEY`, the name with or without quotes, dots in it or not.
fn plant_named(root: &mut Table, source: usize, key: &str, first: &Part, node: Node) -> Result<(), Fault> {
    let what = first.text.clone();
    let from = first.span.end + 1;
    let missing = |why: &str| {
        Fault::new(
            SourceSpan::new(source, 0..key.len()),
            format!("{} does not say which {what}, or which of its values", quoted(key)),
            why,
            format!("write `{what}.NAME.KEY`, for example `{what}.{}`", example(&what)),
        )
    };
    let Some(rest) = key.get(from..).filter(|r| !r.trim().is_empty()) else {
        return Err(missing("nothing follows"));
    };
    let mut none = Vec::new();
    let list = match root.get_mut(&what).map(|n| &mut n.value) {
        Some(Value::List(list)) => list,
        // Absent or malformed in the file: the reader says so; the name cannot be looked up.
        _ => &mut none,
    };
    let names: Vec<String> = list
        .iter()
        .map(
            |n| match n.as_table().and_then(|t| t.get("name")).map(|(_, n)| &n.value) {
                Some(Value::Text(name, _)) => name.clone(),
                _ => String::new(),
            },
        )
        .collect();

    let (found, name, name_len) = name_in(rest, &names).map_err(|why| missing(&why))?;
    let Some((index, consumed)) = found else {
        let place = SourceSpan::new(source, from..from + name_len);
        return unknown_name(place, &what, &name, &names).map_or(Ok(()), Err);
    };
    let tail = &rest[consumed..];
    let mut parts = split_path(tail).map_err(|why| missing(&why))?;
    for part in &mut parts {
        part.span = part.span.start + from + consumed..part.span.end + from + consumed;
    }
    match list.get_mut(index).map(|n| &mut n.value) {
        Some(Value::Table(table)) => plant_at(table, source, &parts, node).map_err(|blocked| {
            Fault::new(
                SourceSpan::new(source, 0..key.len()),
                format!("{} has no parts to set", quoted(&key[..blocked.end])),
                "it is one value",
                format!("give the whole value: `{}=...`, ranges too", &key[..blocked.end]),
            )
        }),
        _ => Ok(()),
    }
}

/// What begins with the key of an entry, `step.glue.each = 5 min`, with another name for it; `None` where it speaks of something else.
pub(super) fn renamed(setting: &str, word: &str, names: &[String], entry: usize, name: &str) -> Option<String> {
    let rest = setting.trim_start().strip_prefix(word)?.strip_prefix('.')?;
    let (found, _, _) = name_in(rest, names).ok()?;
    found
        .filter(|(index, _)| *index == entry)
        .map(|(_, key)| format!("{word}.{name}.{}", &rest[key..]))
}

/// The index of a known name and where the key begins, if it is one; the name; its length.
type NameFound = (Option<(usize, usize)>, String, usize);

/// The name that `NAME.KEY` begins with, and its length; where it is one of `names`, its index and where the key begins.
fn name_in(rest: &str, names: &[String]) -> Result<NameFound, String> {
    // The longest name that fits, so that "glue" does not shadow "glue. 2nd coat".
    let bare = names
        .iter()
        .enumerate()
        .filter(|(_, n)| !n.is_empty())
        .filter_map(|(i, n)| {
            let after = rest.strip_prefix(n.as_str())?.strip_prefix('.')?;
            Some((n.len(), i, rest.len() - after.len()))
        })
        .max_by_key(|(length, i, _)| (*length, usize::MAX - i));
    if let Some((length, index, consumed)) = bare {
        return Ok((Some((index, consumed)), rest[..length].to_owned(), length));
    }
    let parts = split_path(rest)?;
    let (name, end) = if rest.starts_with(['"', '\'']) {
        match parts.first() {
            Some(p) => (p.text.clone(), p.span.end),
            None => return Err("nothing follows".to_owned()),
        }
    } else {
        // An unknown name, dots in it or not: the last part is the key.
        match rest.rfind('.') {
            Some(dot) => (rest[..dot].to_owned(), dot),
            None => return Err("a name, a dot and a key are due".to_owned()),
        }
    };
    if rest.len() <= end + 1 {
        return Err("no key follows the name".to_owned());
    }
    let found = names.iter().position(|n| *n == name);
    Ok((found.map(|i| (i, end + 1)), name, end))
}

fn example(what: &str) -> &'static str {
    match what {
        "step" => "glue pegs.setup",
        "channel" => "market stall.share",
        "jig" => "drilling jig.cost",
        "misfortune" => "the saw breaks down.changes",
        _ => "oak.price",
    }
}

/// A step or material that is not there; `None` where one has no name that could be read, which is a fault of its own: it may be that one.
pub(super) fn unknown_name(place: SourceSpan, what: &str, name: &str, names: &[String]) -> Option<Fault> {
    if names.iter().any(String::is_empty) {
        return None;
    }
    let given: Vec<&str> = names.iter().map(String::as_str).filter(|n| !n.is_empty()).collect();
    let cure = match nearest(name, given.iter().copied()) {
        Some(near) => format!("did you mean {}?", quoted(near)),
        None if given.is_empty() => format!("this scenario has no {what} with a name"),
        None => format!(
            "the names are {}{}",
            given.iter().take(12).map(|n| quoted(n)).collect::<Vec<_>>().join(", "),
            if given.len() > 12 { " and more" } else { "" }
        ),
    };
    let what = format!("no {what} is called {}", quoted(name));
    Some(Fault::new(place, what, "not found", cure))
}

/// One part of a dotted key.
#[derive(Debug, Clone)]
struct Part {
    text: String,
    span: std::ops::Range<usize>,
}

/// Splits at dots outside quotes.
fn split_path(path: &str) -> Result<Vec<Part>, String> {
    let mut parts = Vec::new();
    let mut start = 0;
    loop {
        let rest = &path[start..];
        let (text, end) = match rest.chars().next() {
            Some(q @ ('"' | '\'')) => {
                let close = rest[1..].find(q).ok_or("the quote is not closed")? + 1;
                (rest[1..close].to_owned(), start + close + 1)
            }
            _ => {
                let end = rest.find('.').unwrap_or(rest.len());
                (rest[..end].trim().to_owned(), start + end)
            }
        };
        if text.is_empty() {
            return Err("a name is missing".to_owned());
        }
        if parts.len() >= DEEPEST {
            return Err(format!("it has more than {DEEPEST} parts"));
        }
        parts.push(Part { text, span: start..end });
        match path[end..].chars().next() {
            None => return Ok(parts),
            Some('.') => start = end + 1,
            Some(_) => return Err("after the quoted name there must be a dot".to_owned()),
        }
    }
}

/// A value given for one call: as TOML where it is TOML, and as text where it is not (`8 / 12 / 25 min`).
fn override_node(source: usize, at: usize, value_text: &str) -> Node {
    const LEAD: &str = "x = ";
    let bare = Node {
        place: SourceSpan::new(source, at..at + value_text.len()),
        value: Value::Text(value_text.to_owned(), Some(at)),
    };
    if value_text.contains(['\n', '\r', '#']) && !value_text.trim_start().starts_with(['"', '\'', '[', '{']) {
        return bare;
    }
    let line = format!("{LEAD}{value_text}");
    if too_deep(&line).is_some() {
        return bare;
    }
    let Ok(document) = Document::parse(line.as_str()) else {
        return bare;
    };
    match (document.as_table().len(), document.as_table().get("x")) {
        (1, Some(item @ Item::Value(v))) => {
            let Some(span) = v.span() else { return bare };
            // Offsets of the parsed line, moved to where the value stands behind its key.
            let key = SourceSpan::new(source, at..at + value_text.len());
            let mut tree = node(item, &key, &line, source).unwrap_or_else(|| bare.clone());
            move_by(&mut tree, at, LEAD.len());
            tree.place = SourceSpan::new(source, span.start + at - LEAD.len()..span.end + at - LEAD.len());
            tree
        }
        _ => bare,
    }
}

fn move_by(node: &mut Node, plus: usize, minus: usize) {
    let shift = |place: &mut SourceSpan| {
        place.span = (place.span.start + plus).saturating_sub(minus)..(place.span.end + plus).saturating_sub(minus);
    };
    shift(&mut node.place);
    match &mut node.value {
        Value::Table(table) => {
            for (key, inner) in &mut table.entries {
                shift(&mut key.place);
                move_by(inner, plus, minus);
            }
        }
        Value::List(list) => list.iter_mut().for_each(|inner| move_by(inner, plus, minus)),
        Value::Text(_, Some(start)) => *start = (*start + plus).saturating_sub(minus),
        _ => {}
    }
}
