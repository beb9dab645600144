//! TOML as a tree in which every key and value knows where it was written.
//!
//! Values given for a single call (`--set sale.price=62`) are planted into the same tree under their own source, so that
//! a fault in one of them points at what was typed and not at the file.

use toml_edit::{Document, Item, TableLike};

use super::amounts::{CURRENCY_SIGNS, thousands_joined, without_sign};
use super::faults::{Fault, Source, SourceSpan, nearest, quoted};
use super::keys;

/// A key as written.
#[derive(Debug, Clone)]
pub(super) struct Key {
    pub(super) text: String,
    pub(super) place: SourceSpan,
}

/// A value as written.
#[derive(Debug, Clone)]
pub(super) struct Node {
    pub(super) place: SourceSpan,
    pub(super) value: Value,
}

/// What a value is.
#[derive(Debug, Clone)]
pub(super) enum Value {
    Table(Table),
    List(Vec<Node>),
    /// The text, and where it starts in its source if it stands there letter by letter (no escapes).
    Text(String, Option<usize>),
    Whole(i64),
    Real(f64),
    Truth,
    Moment,
}

/// Keys and values in the order they were written.
#[derive(Debug, Clone, Default)]
pub(super) struct Table {
    pub(super) entries: Vec<(Key, Node)>,
}

impl Table {
    pub(super) fn get(&self, key: &str) -> Option<&(Key, Node)> {
        self.entries.iter().find(|(k, _)| k.text == key)
    }

    fn get_mut(&mut self, key: &str) -> Option<&mut Node> {
        self.entries.iter_mut().find(|(k, _)| k.text == key).map(|(_, n)| n)
    }

    fn put(&mut self, key: Key, node: Node) {
        match self.entries.iter_mut().find(|(k, _)| k.text == key.text) {
            Some(entry) => *entry = (key, node),
            None => self.entries.push((key, node)),
        }
    }
}

impl Node {
    pub(super) const fn as_table(&self) -> Option<&Table> {
        match &self.value {
            Value::Table(t) => Some(t),
            _ => None,
        }
    }

    /// The value as it was written.
    pub(super) fn raw<'a>(&self, sources: &'a [Source]) -> &'a str {
        sources
            .get(self.place.source)
            .and_then(|s| s.text.get(self.place.span.clone()))
            .unwrap_or("")
    }

    /// What kind of value it is, in words.
    pub(super) const fn kind(&self) -> &'static str {
        match self.value {
            Value::Table(_) => "a table",
            Value::List(_) => "a list",
            Value::Text(..) => "a text",
            Value::Whole(_) => "a whole number",
            Value::Real(_) => "a number",
            Value::Truth => "true or false",
            Value::Moment => "a date",
        }
    }
}

/// Parts of a key, and brackets within brackets, that anything of ours could need, and more; each is a step down the stack.
const DEEPEST: usize = 16;

/// Where a text goes deeper than [`DEEPEST`]: a key of more parts, or brackets within brackets. Strings and comments are passed over; what
/// is no TOML the parser says.
pub(super) fn too_deep(text: &str) -> Option<std::ops::Range<usize>> {
    let bytes = text.as_bytes();
    let (mut at, mut open, mut parts, mut begun) = (0, 0_usize, 0, 0);
    while let Some(&byte) = bytes.get(at) {
        let mut next = at + 1;
        match byte {
            b'"' | b'\'' => {
                let long = [byte; 3];
                let close: &[u8] = if bytes[at..].starts_with(&long) {
                    &long
                } else {
                    &long[..1]
                };
                next = at + close.len();
                loop {
                    match bytes.get(next) {
                        None => break,
                        Some(b'\n') if close.len() == 1 => break,
                        Some(b'\\') if byte == b'"' => next += 2,
                        Some(_) if bytes[next..].starts_with(close) => {
                            next += close.len();
                            break;
                        }
                        Some(_) => next += 1,
                    }
                }
            }
            b'#' => {
                next = bytes[at..]
                    .iter()
                    .position(|b| *b == b'\n')
                    .map_or(bytes.len(), |end| at + end)
            }
            b'.' => parts += 1,
            b'[' | b'{' => open += 1,
            b']' | b'}' => open = open.saturating_sub(1),
            _ => {}
        }
        if matches!(byte, b'=' | b'\n' | b',' | b'[' | b']' | b'{' | b'}') {
            (parts, begun) = (0, next);
        }
        if parts >= DEEPEST || open > DEEPEST {
            return Some(begun.min(at)..at + 1);
        }
        at = next.min(bytes.len());
    }
    None
}

/// Reads the text of source 0.
pub(super) fn parse(text: &str) -> Result<Table, Vec<Fault>> {
    if let Some(span) = too_deep(text) {
        return Err(vec![Fault::new(
            SourceSpan::new(0, floor(text, span.start)..floor(text, span.end)),
            format!("this goes more than {DEEPEST} levels deep"),
            "too deep",
            "no value of a scenario stands deeper than two or three names; look for a stray dot or bracket",
        )]);
    }
    match Document::parse(text) {
        Ok(document) => Ok(table(document.as_table(), text, 0)),
        Err(error) => Err(all_not_toml(text, error)),
    }
}

/// Faults told at once of a text that is no TOML at the most.
const TOLD_AT_ONCE: usize = 30;

/// Every value that wants quotes, and what stops the parser else. The library ends at the first fault, so a value that wants quotes is
/// blotted out with something that it reads, of the same length.
fn all_not_toml(text: &str, mut error: toml_edit::TomlError) -> Vec<Fault> {
    let mut blotted = text.to_owned();
    let mut faults = Vec::new();
    loop {
        if error.message() == "duplicate key" {
            let lists = single_brackets(text);
            if !lists.is_empty() {
                faults.extend(lists);
                return faults;
            }
        }
        faults.push(not_toml(text, &error));
        let value = error.span().and_then(|span| unquoted(&blotted, span.start));
        let Some(value) = value.filter(|_| wants_quotes(error.message()) && faults.len() < TOLD_AT_ONCE) else {
            return faults;
        };
        let blot = format!("{:<1$}", 0, value.len());
        blotted.replace_range(value, &blot);
        match Document::parse(blotted.as_str()) {
            Ok(_) => return faults,
            Err(next) => error = next,
        }
    }
}

/// Where the value of the line at `at` stands, if it is a line of `key = value`.
fn unquoted(text: &str, at: usize) -> Option<std::ops::Range<usize>> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    let end = text[start..].find('\n').map_or(text.len(), |end| start + end);
    let (key, value) = text[start..end].split_once('=')?;
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
    (key.trim().chars().all(bare) && !value.trim().is_empty()).then(|| end - value.len()..end)
}

/// Whether the library stopped at a value without quotes.
fn wants_quotes(message: &str) -> bool {
    message.contains("must be quoted")
}

fn not_toml(text: &str, error: &toml_edit::TomlError) -> Fault {
    let span = error.span().unwrap_or(0..0);
    let start = span.start.min(text.len());
    // A fault at the end of a line is shown at that line, not at the start of the next.
    let line_end = text[floor(text, start)..].find('\n').map_or(text.len(), |i| start + i);
    let end = span.end.clamp(start, line_end.max(start));
    let message = error.message();
    let place = SourceSpan::new(0, start..end);
    if message == "duplicate key" {
        let key = text.get(start..end).unwrap_or("");
        return Fault::new(
            place,
            format!("{} is given twice", quoted(key)),
            "given before",
            "write it once; what belongs to another step or material goes under its own [[step]] or [[material]]",
        );
    }
    let digit = |s: Option<&str>, last: bool| {
        s.and_then(|s| if last { s.chars().last() } else { s.chars().next() })
            .is_some_and(|c| c.is_ascii_digit())
    };
    if text.get(start..start + 1) == Some(",") && digit(text.get(..start), true) && digit(text.get(start + 1..), false)
    {
        return Fault::new(
            place,
            "there is a comma in the number",
            "must be a point",
            "a decimal point is a point, and thousands are not set apart: `58.50`, `1250`",
        );
    }
    if let Some((label, cure)) = slip(text, start) {
        return Fault::new(place, NOT_TOML, label, cure);
    }
    // The library's words for the two commonest slips are a programmer's.
    let (label, cure) = if wants_quotes(message) {
        (
            "this needs double quotes around it",
            "amounts with a unit, ranges and names stand between double quotes, for example `each = \"12 min\"`",
        )
    } else if message.contains("basic string") && message.contains("expected `\"`") {
        (
            "the closing quote is missing",
            "amounts with a unit, ranges and names stand between double quotes, for example `each = \"12 min\"`",
        )
    } else {
        (
            message,
            "a line is `key = value`, a [section], a [[step]] or [[material]], or a # comment; what is not a plain number stands \
             between double quotes, for example `each = \"12 min\"`",
        )
    };
    Fault::new(place, NOT_TOML, label, cure)
}

const NOT_TOML: &str = "this cannot be read as TOML, the form a scenario is written in";

/// Quotes as a word processor or a telephone sets them.
const CURLY: [char; 8] = ['“', '”', '„', '‟', '‘', '’', '‚', '‛'];

/// A value and the comment behind it, begun as no comment here is: `22 // my wage`.
fn foreign_comment(value: &str) -> Option<(&str, &str)> {
    let (before, said) = ["//", ";", "--", "/*"].iter().find_map(|sign| value.split_once(sign))?;
    let before = before.trim();
    let is_value = Document::parse(format!("x = {before}").as_str()).is_ok();
    is_value.then(|| (before, said.trim().trim_end_matches("*/").trim_end()))
}

/// A value with curly quotes around it, money with the sign of its currency, or what other hands write: a label and the line as it would be right.
fn slip(text: &str, at: usize) -> Option<(&'static str, String)> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    let line = text[start..].lines().next()?;
    let (key, value) = line.split_once('=')?;
    let value = value.split('#').next().unwrap_or("").trim();
    if let Some(plain) = thousands_joined(value) {
        return Some((
            "thousands are not set apart",
            format!("write `{} = {plain}`", key.trim()),
        ));
    }
    if let Some((before, said)) = foreign_comment(value) {
        return Some((
            "a comment begins with #",
            format!("write `{} = {before} # {said}`", key.trim()),
        ));
    }
    let bare = value.trim_matches(CURLY);
    if bare.contains(CURRENCY_SIGNS) && !keys::is_text(key.trim()) {
        return Some(("a number alone is due", without_sign(bare, own_currency(text))));
    }
    let within = bare.trim_matches('"');
    let cure = if within.contains(['"', '\\']) {
        "write straight quotes in place of the curly ones".to_owned()
    } else {
        format!("write straight quotes: `{} = \"{within}\"`", key.trim())
    };
    (value.len() > bare.len()).then_some(("these quotes are curly", cure))
}

/// The code of the line `currency = "GBP"`, in a text that is no TOML; empty where there is none.
fn own_currency(text: &str) -> &str {
    let of = |line: &str| {
        line.split_once('=')
            .filter(|(key, _)| key.trim() == "currency")
            .map(|(key, _)| key.len() + 1)
    };
    let found = text.lines().find_map(|line| of(line).map(|value| line[value..].trim()));
    let quoted = found.and_then(|value| value.strip_prefix('"')?.split('"').next());
    quoted.filter(|code| code.len() == 3).unwrap_or("")
}

/// Lists in single brackets, each at its line, where the parser stopped at the second of one name.
fn single_brackets(text: &str) -> Vec<Fault> {
    let mut from = 0;
    let mut faults = Vec::new();
    for line in text.split_inclusive('\n') {
        let header = line.split('#').next().unwrap_or("").trim();
        let word = header
            .strip_prefix('[')
            .and_then(|rest| rest.strip_suffix(']'))
            .map(str::trim);
        if let Some(word) = word.filter(|word| keys::is_list(word)) {
            let at = from + line.find(word).unwrap_or(0);
            faults.push(one_bracket(SourceSpan::new(0, at..at + word.len()), word));
        }
        from += line.len();
    }
    faults
}

/// A list in single brackets.
pub(super) fn one_bracket(place: SourceSpan, word: &str) -> Fault {
    Fault::new(
        place,
        format!("a {word} is written in double brackets, because there may be several"),
        "double brackets are due",
        format!("write `[[{word}]]` with two brackets"),
    )
}

fn floor(text: &str, offset: usize) -> usize {
    let mut at = offset.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn table(from: &dyn TableLike, text: &str, source: usize) -> Table {
    let mut entries = Vec::new();
    for (name, item) in from.iter() {
        let key_span = from.key(name).and_then(toml_edit::Key::span).unwrap_or(0..0);
        let key = Key {
            text: name.to_owned(),
            place: SourceSpan::new(source, key_span),
        };
        if let Some(node) = node(item, &key.place, text, source) {
            entries.push((key, node));
        }
    }
    Table { entries }
}

fn node(item: &Item, key: &SourceSpan, text: &str, source: usize) -> Option<Node> {
    let place = |span: Option<std::ops::Range<usize>>| span.map_or_else(|| key.clone(), |s| SourceSpan::new(source, s));
    Some(match item {
        Item::None => return None,
        Item::Table(t) => Node {
            place: place(t.span()),
            value: Value::Table(table(t, text, source)),
        },
        Item::ArrayOfTables(list) => Node {
            place: key.clone(),
            value: Value::List(
                list.iter()
                    .map(|t| Node {
                        place: place(t.span()),
                        value: Value::Table(table(t, text, source)),
                    })
                    .collect(),
            ),
        },
        Item::Value(v) => {
            let at = place(v.span());
            Node {
                value: value(v, &at, text, source),
                place: at,
            }
        }
    })
}

fn value(from: &toml_edit::Value, at: &SourceSpan, text: &str, source: usize) -> Value {
    match from {
        toml_edit::Value::String(s) => {
            let content = s.value();
            let written = text.get(at.span.clone()).unwrap_or("");
            let verbatim = ["\"\"\"", "'''", "\"", "'"]
                .iter()
                .find(|q| {
                    written.len() == content.len() + 2 * q.len()
                        && written.get(q.len()..written.len() - q.len()) == Some(content)
                })
                .map(|q| at.span.start + q.len());
            Value::Text(content.clone(), verbatim)
        }
        toml_edit::Value::Integer(i) => Value::Whole(*i.value()),
        toml_edit::Value::Float(x) => Value::Real(*x.value()),
        toml_edit::Value::Boolean(_) => Value::Truth,
        toml_edit::Value::Datetime(_) => Value::Moment,
        toml_edit::Value::Array(list) => Value::List(
            list.iter()
                .map(|v| {
                    let place = v.span().map_or_else(|| at.clone(), |s| SourceSpan::new(source, s));
                    Node {
                        value: value(v, &place, text, source),
                        place,
                    }
                })
                .collect(),
        ),
        toml_edit::Value::InlineTable(t) => Value::Table(table(t, text, source)),
    }
}

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
        return Err(unknown_name(
            SourceSpan::new(source, from..from + name_len),
            &what,
            &name,
            &names,
        ));
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

/// A step or material that is not there.
pub(super) fn unknown_name(place: SourceSpan, what: &str, name: &str, names: &[String]) -> Fault {
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
    Fault::new(
        place,
        format!("no {what} is called {}", quoted(name)),
        "not found",
        cure,
    )
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
