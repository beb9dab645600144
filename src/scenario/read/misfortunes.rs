//! `[[misfortune]]`: what may go wrong as the maker sees it. The changes are planted into a copy of the tree, as `--set` plants
//! them, and the whole changed scenario is read; what is wrong with a change is shown where the change is written.

use crate::scenario::Misfortune;
use crate::scenario::faults::{Fault, SourceSpan, quoted};
use crate::scenario::overrides;
use crate::scenario::tree::{Node, Table, Value};

use super::reader::{Reader, Section, entry_title};
use super::split_setting;

/// What is asked, not what happens: a misfortune leaves it alone.
const ASKED: [&str; 6] = ["title", "currency", "target", "confidence", "batch.sizes", "misfortune"];

/// One change as written.
struct Written<'n> {
    node: &'n Node,
    text: &'n str,
    /// Where the text stands in the file, letter by letter; `None` where it is written with escapes.
    start: Option<usize>,
    key: String,
    value: String,
}

impl<'n> Written<'n> {
    fn of(node: &'n Node) -> Option<Self> {
        let Value::Text(text, start) = &node.value else {
            return None;
        };
        let (key, value) = split_setting(text).filter(|(_, value)| !value.is_empty())?;
        Some(Self {
            node,
            text,
            start: *start,
            key,
            value,
        })
    }

    /// What is wrong with it beside those before it: what, a label, a cure.
    fn amiss(&self, before: &[Written<'_>]) -> Option<(String, &'static str, &'static str)> {
        let key = quoted(&self.key);
        if ASKED.contains(&self.key.as_str()) || self.key.starts_with("misfortune.") {
            Some((
                format!("a misfortune cannot change {key}"),
                "this is what is asked, not what happens",
                "change times, chances, prices, fees or materials",
            ))
        } else if before.iter().any(|other| other.key == self.key) {
            Some((format!("{key} is changed twice"), "changed before", "write it once"))
        } else {
            None
        }
    }
}

impl Written<'_> {
    /// A place in `key=value` as a place in the file.
    fn place(&self, place: &SourceSpan) -> SourceSpan {
        let Some(start) = self.start else {
            return self.node.place.clone();
        };
        let key_at = self.text.len() - self.text.trim_start().len();
        let value_at = self.text.trim_end().len() - self.value.len();
        let at = |p: usize| {
            start
                + if p <= self.key.len() {
                    key_at + p
                } else {
                    value_at + p - self.key.len() - 1
                }
        };
        SourceSpan::new(self.node.place.source, at(place.span.start)..at(place.span.end))
    }

    fn key_place(&self) -> SourceSpan {
        self.place(&SourceSpan::new(0, 0..self.key.len()))
    }
}

/// What `changes` may say, of a step that the file has.
fn example(plain: &Table) -> String {
    const TIMES: [&str; 4] = ["each", "setup", "per_order", "once"];
    let steps = plain.get("step").map(|(_, node)| &node.value);
    let Some(Value::List(steps)) = steps else {
        return "[\"sale.post = 9\"]".to_owned();
    };
    // A name with other letters has to be quoted in a key.
    let plain_name = |name: &str| !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || c == ' ');
    let change = steps.iter().filter_map(Node::as_table).find_map(|step| {
        let Value::Text(name, _) = &step.get("name")?.1.value else {
            return None;
        };
        let time = TIMES.into_iter().find(|time| step.get(time).is_some())?;
        plain_name(name).then(|| format!("\"step.{name}.{time} = 12 / 15 / 30 min\", "))
    });
    format!("[{}\"sale.post = 9\"]", change.unwrap_or_default())
}

impl Reader<'_> {
    /// Own misfortunes; `self.faults` holds what is wrong with the scenario itself.
    pub(super) fn misfortunes(&mut self, top: &Section<'_>) -> Vec<Misfortune> {
        let clean = self.faults.is_empty();
        let Some(list) = self.list(top, "misfortune") else {
            return Vec::new();
        };
        let mut plain = top.table.clone();
        plain.entries.retain(|(key, _)| key.text != "misfortune");
        let example = example(&plain);
        let mut names = Vec::new();
        let mut found = Vec::new();
        for (table, place) in &list {
            let title = entry_title("misfortune", table);
            let s = Section {
                word: "misfortune",
                title: &title,
                table,
                place,
            };
            self.unknown_keys(&s);
            let name = self.name(&s, "misfortune");
            names.push(name.clone());
            let changes = self.changes(&s, &example);
            if let Some(scenario) = self.changed(&s, &plain, &changes, clean) {
                found.push(Misfortune {
                    name,
                    scenario: Box::new(scenario),
                });
            }
        }
        self.unique(&list, "misfortune", names.iter().map(String::as_str));
        found
    }

    fn changes<'n>(&mut self, s: &Section<'n>, example: &str) -> Vec<Written<'n>> {
        let Some(node) = s.get("changes") else {
            self.missing_as(s, "changes", example);
            return Vec::new();
        };
        let Value::List(list) = &node.value else {
            self.at_value(
                s,
                "changes",
                format!("this must be a list of changes, not {}", node.kind()),
                "must be a list",
                format!("write each change as text in a list: `changes = {example}`"),
            );
            return Vec::new();
        };
        if list.is_empty() {
            self.at_value(
                s,
                "changes",
                "nothing is changed".to_owned(),
                "empty",
                format!("write for example `changes = {example}`"),
            );
        }
        let mut written: Vec<Written<'n>> = Vec::new();
        for item in list {
            let Some(change) = Written::of(item) else {
                self.faults.push(Fault::new(
                    item.place.clone(),
                    format!(
                        "{}: {} is not a change",
                        s.owner("changes"),
                        quoted(item.raw(self.sources).trim_matches('"'))
                    ),
                    "a key, `=` and a value are due",
                    format!("write it in quotes, as `--set` takes it: `changes = {example}`"),
                ));
                continue;
            };
            if let Some((what, label, cure)) = change.amiss(&written) {
                let what = format!("{}: {what}", s.owner("changes"));
                self.faults.push(Fault::new(change.key_place(), what, label, cure));
                continue;
            }
            written.push(change);
        }
        written
    }

    /// The scenario with the changes; `None` with faults, or where the scenario itself has some.
    fn changed(
        &mut self,
        s: &Section<'_>,
        plain: &Table,
        changes: &[Written<'_>],
        clean: bool,
    ) -> Option<crate::scenario::Scenario> {
        let first = self.sources.len();
        let mut sources = self.sources.to_vec();
        sources.extend(
            changes
                .iter()
                .map(|c| overrides::override_source("--set", &c.key, &c.value)),
        );
        let mut root = plain.clone();
        let mut faults = Vec::new();
        for (k, change) in changes.iter().enumerate() {
            if let Err(fault) = overrides::plant(&mut root, first + k, &change.key, &change.value) {
                faults.push(fault);
            }
        }
        let mut inner = Reader::new(&sources, faults);
        let scenario = inner.scenario(&root);
        let faults = inner.faults;
        let well = faults.is_empty();
        for mut fault in faults {
            if let Some(change) = fault.place.source.checked_sub(first).and_then(|k| changes.get(k)) {
                fault.place = change.place(&fault.place);
                fault.what = format!("{}: {}", s.title, fault.what);
                self.faults.push(fault);
            } else if clean {
                // Right as it stands in the file, wrong together with the changes.
                fault.place = s.key_place("changes");
                fault.what = format!("{}: with these changes, {}", s.title, fault.what);
                self.faults.push(fault);
            }
        }
        scenario.filter(|_| well)
    }
}
