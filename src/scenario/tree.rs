//! TOML as a tree in which every key and value knows where it was written.
//!
//! Text is read into it in `toml.rs`; values given for a single call are planted into it in `overrides.rs`.

use toml_edit::{Item, TableLike};

use super::faults::{Source, SourceSpan};

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

    pub(super) fn get_mut(&mut self, key: &str) -> Option<&mut Node> {
        self.entries.iter_mut().find(|(k, _)| k.text == key).map(|(_, n)| n)
    }

    pub(super) fn put(&mut self, key: Key, node: Node) {
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

/// A table of a document as a tree.
pub(super) fn table(from: &dyn TableLike, text: &str, source: usize) -> Table {
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

/// An item of a document as a value of the tree; `None`: there is none.
pub(super) fn node(item: &Item, key: &SourceSpan, text: &str, source: usize) -> Option<Node> {
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
