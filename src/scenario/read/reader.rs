//! One key at a time: its value by the rule of the table, or what is wrong with it.

use crate::scenario::Spread;
use crate::scenario::amounts::{self, Flaw};
use crate::scenario::faults::{Fault, Source, SourceSpan, nearest, quoted};
use crate::scenario::keys::{self, Key, Measure, Rule, Takes};
use crate::scenario::tree::{Node, Table, Value};

use super::NO_CURRENCY;

/// Letters of a text: more fit no line, no table and no chart.
const LONGEST_TEXT: usize = 200;
/// Largest count of pieces or batches taken.
const LARGEST_COUNT: u32 = 1_000_000;

/// A section being read.
#[derive(Clone, Copy)]
pub(super) struct Section<'a> {
    /// Its word in the table of keys.
    pub(super) word: &'static str,
    /// How it is called in a message: `[sale]`, step `glue pegs`; empty for the top.
    pub(super) title: &'a str,
    pub(super) table: &'a Table,
    /// Where it starts, for what is missing in it.
    pub(super) place: &'a SourceSpan,
}

impl<'a> Section<'a> {
    pub(super) fn get(&self, key: &str) -> Option<&'a Node> {
        debug_assert!(
            keys::known(self.word).any(|known| known == key),
            "{key} of {} is in the table",
            self.word
        );
        self.table.get(key).map(|(_, node)| node)
    }

    /// What the table says of a key.
    pub(super) fn key(&self, name: &str) -> Option<&'static Key> {
        keys::key(self.word, name)
    }

    pub(super) fn key_place(&self, key: &str) -> SourceSpan {
        self.table
            .get(key)
            .map_or_else(|| self.place.clone(), |(k, _)| k.place.clone())
    }

    pub(super) fn owner(&self, key: &str) -> String {
        if self.title.is_empty() {
            format!("`{key}`")
        } else {
            format!("`{key}` of {}", self.title)
        }
    }
}

pub(super) struct Reader<'a> {
    pub(super) sources: &'a [Source],
    pub(super) faults: Vec<Fault>,
    /// The scenario's own currency, once read; empty where it is faulty, so that no amount is judged by it.
    pub(super) own_currency: String,
    /// Codes of the other currencies, once read.
    pub(super) currencies: Vec<String>,
}

impl<'a> Reader<'a> {
    pub(super) const fn new(sources: &'a [Source], faults: Vec<Fault>) -> Self {
        Self {
            sources,
            faults,
            own_currency: String::new(),
            currencies: Vec::new(),
        }
    }
}

impl Reader<'_> {
    /// An amount by the rule of the table, `None` where it is absent or faulty. Money is in the scenario's own currency.
    pub(super) fn amount(&mut self, s: &Section<'_>, key: &str) -> Option<Spread> {
        self.amount_by(s, key, rule_of(s, key)?)
    }

    /// An amount of a key that takes other forms too, by the rule of this one.
    pub(super) fn amount_by(&mut self, s: &Section<'_>, key: &str, rule: Rule) -> Option<Spread> {
        let (spread, currency) = self.money_by(s, key, rule)?;
        if let Some(code) = currency.and_then(|k| self.currencies.get(k)) {
            let what = format!("{code} is another currency, and this is in {}", self.own_currency);
            let cure = format!("write it in {}", self.own_currency);
            self.at_value(s, key, what, "another currency", cure);
            return None;
        }
        Some(spread)
    }

    /// An amount that may be in another currency: which one is told by its index. `None` where it is absent or faulty.
    pub(super) fn money(&mut self, s: &Section<'_>, key: &str) -> Option<(Spread, Option<usize>)> {
        self.money_by(s, key, rule_of(s, key)?)
    }

    fn money_by(&mut self, s: &Section<'_>, key: &str, rule: Rule) -> Option<(Spread, Option<usize>)> {
        let node = s.get(key)?;
        if let (Measure::Money, Value::Text(text, _)) = (rule.measure, &node.value)
            && text.contains(amounts::CURRENCY_SIGNS)
        {
            let own = if self.own_currency == NO_CURRENCY {
                ""
            } else {
                &self.own_currency
            };
            let cure = amounts::without_sign(text, own);
            let what = "money is a plain number here; its currency is said once, at the top".to_owned();
            self.at_value(s, key, what, "no sign is due", cure);
            return None;
        }
        let (plain, code) = match (rule.measure, without_code(node)) {
            (Measure::Money, Some((plain, code))) => (Some(plain), Some(code)),
            _ => (None, None),
        };
        let currency = match &code {
            Some(code) if *code != self.own_currency && !self.own_currency.is_empty() => {
                let found = self.currencies.iter().position(|known| known == code);
                if found.is_none() {
                    let what = if self.own_currency == NO_CURRENCY {
                        format!("{code} is written here, and the scenario does not say its currency")
                    } else {
                        format!("{code} is neither this scenario's currency nor one of [currencies]")
                    };
                    let cure = if self.own_currency == NO_CURRENCY {
                        format!(
                            "write the number alone, and `currency = \"{code}\"` at the top, above the first [section]"
                        )
                    } else {
                        format!(
                            "add a line `[currencies]` and under it what one {code} is worth, for example `{code} = \"0.86 / 0.91 / 0.97\"`, or write the amount in {}",
                            self.own_currency
                        )
                    };
                    self.at_value(s, key, what, "not known", cure);
                    return None;
                }
                found
            }
            _ => None,
        };
        let plain = plain.as_ref().unwrap_or(node);
        if let (Measure::Money | Measure::Number, Value::Text(text, _), None) = (rule.measure, &plain.value, currency)
            && let Some((what, cure)) = s.key(key).and_then(|key| amounts::another_span(text, key.unit, rule))
        {
            let what = format!("{} {what}", quoted(node.raw(self.sources).trim_matches('"')));
            self.at_value(s, key, what, "a plain number is due", cure);
            return None;
        }
        match amounts::read(plain, rule, self.sources) {
            Ok(spread) => Some((spread, currency)),
            Err(flaws) => {
                self.flaws(s, key, flaws);
                None
            }
        }
    }

    /// A certain amount.
    pub(super) fn certain(&mut self, s: &Section<'_>, key: &str) -> Option<f64> {
        debug_assert!(rule_of(s, key).is_some_and(|rule| rule.certain), "{key} takes no range");
        self.amount(s, key).map(|spread| spread.mean())
    }

    /// A certain amount that must be there.
    pub(super) fn required(&mut self, s: &Section<'_>, key: &str) -> Option<f64> {
        if s.get(key).is_none() {
            self.missing(s, key);
            return None;
        }
        self.certain(s, key)
    }

    pub(super) fn missing(&mut self, s: &Section<'_>, key: &str) {
        self.missing_as(s, key, s.key(key).map_or("", |key| key.example));
    }

    /// The same with an example of this file.
    pub(super) fn missing_as(&mut self, s: &Section<'_>, key: &str, example: &str) {
        let meaning = s.key(key).map_or("", |key| key.needed);
        // Written under a section by mistake it is reported there.
        let strayed = |node: &Node| match &node.value {
            Value::Table(t) => t.get(key).is_some(),
            Value::List(list) => list.iter().filter_map(Node::as_table).any(|t| t.get(key).is_some()),
            _ => false,
        };
        if s.word.is_empty() && s.table.entries.iter().any(|(_, node)| strayed(node)) {
            return;
        }
        let (label, whereto) = if s.title.is_empty() {
            ("not found", ", above the first [section]")
        } else {
            ("not found here", "")
        };
        self.faults.push(Fault::new(
            s.place.clone(),
            format!("{} is missing: {meaning}", s.owner(key)),
            label,
            format!("add for example `{key} = {example}`{whereto}"),
        ));
    }

    /// A whole number of pieces or batches.
    pub(super) fn count(&mut self, s: &Section<'_>, key: &str) -> Option<u32> {
        let node = s.get(key)?;
        let least = match s.key(key)?.takes {
            Takes::Count(least) => least,
            _ => 1,
        };
        let label = "must be a whole number";
        let Value::Whole(i) = node.value else {
            self.at_value(
                s,
                key,
                format!("{} is not a whole number", quoted(node.raw(self.sources))),
                label,
                format!("write a whole number without quotes, for example `{key} = 6`"),
            );
            return None;
        };
        let fits = u32::try_from(i).ok().filter(|n| (least..=LARGEST_COUNT).contains(n));
        if fits.is_none() {
            let (label, cure) = if i < i64::from(least) {
                ("too small", format!("it must be at least {least}"))
            } else {
                ("too large", format!("it must be at most {LARGEST_COUNT}"))
            };
            self.at_value(s, key, format!("{i} is {label}"), label, cure);
        }
        fits
    }

    /// A text of one line; a bare number given for one call is taken as text where text is due.
    pub(super) fn text(&mut self, s: &Section<'_>, key: &str) -> Option<String> {
        let node = s.get(key)?;
        let text = match &node.value {
            Value::Text(text, _) => text.clone(),
            Value::Whole(_) | Value::Real(_) | Value::Truth | Value::Moment if node.place.source > 0 => {
                node.raw(self.sources).to_owned()
            }
            _ => {
                self.at_value(
                    s,
                    key,
                    format!("this must be a text, not {}", node.kind()),
                    "must be a text",
                    format!("write it between double quotes: `{key} = \"...\"`"),
                );
                return None;
            }
        };
        if text.trim().is_empty() {
            self.at_value(
                s,
                key,
                "nothing is written".to_owned(),
                "empty",
                format!("write something, or leave `{key}` out if it may be"),
            );
            return None;
        }
        if text.chars().any(char::is_control) {
            self.at_value(
                s,
                key,
                "a line break or another character that cannot be shown".to_owned(),
                "must be one line",
                "write it in one line of plain text".to_owned(),
            );
            return None;
        }
        if text.chars().count() > LONGEST_TEXT {
            self.at_value(
                s,
                key,
                format!("{} letters are more than {LONGEST_TEXT}", text.chars().count()),
                "too long",
                "say it in fewer words; what else there is to say goes into a comment, after #".to_owned(),
            );
            return None;
        }
        Some(text)
    }

    /// A required name; empty where it is faulty.
    pub(super) fn name(&mut self, s: &Section<'_>, what: &str) -> String {
        if s.get("name").is_none() {
            self.faults.push(Fault::new(
                s.place.clone(),
                format!("this {what} has no `name`"),
                "what is it called?",
                format!(
                    "add for example `name = {}`",
                    s.key("name").map_or("", |key| key.example)
                ),
            ));
        }
        self.text(s, "name").unwrap_or_default()
    }

    /// One of the words that the table has for the key: what it means, in the order of the table.
    pub(super) fn choice<T: Copy>(&mut self, s: &Section<'_>, key: &str, meant: &[T]) -> Option<T> {
        let node = s.get(key)?;
        let Takes::Choice(choices) = s.key(key)?.takes else {
            return None;
        };
        debug_assert_eq!(choices.len(), meant.len(), "{key}: each word means something");
        let known = choices.iter().map(|choice| choice.word);
        let given = match &node.value {
            Value::Text(text, _) => text.as_str(),
            _ => "",
        };
        if let Some((_, meaning)) = known.clone().zip(meant).find(|(word, _)| *word == given) {
            return Some(*meaning);
        }
        let words: Vec<String> = known.clone().map(|word| format!("`\"{word}\"`")).collect();
        let cure = nearest(given, known).map_or_else(
            || format!("it is {}", words.join(" or ")),
            |n| format!("did you mean `\"{n}\"`? It is {}", words.join(" or ")),
        );
        self.at_value(
            s,
            key,
            format!(
                "{} is not one of its words",
                quoted(node.raw(self.sources).trim_matches('"'))
            ),
            "not known",
            cure,
        );
        None
    }

    pub(super) fn flaws(&mut self, s: &Section<'_>, key: &str, flaws: Vec<Flaw>) {
        let owner = s.owner(key);
        self.faults.extend(flaws.into_iter().map(|f| f.of(&owner)));
    }

    pub(super) fn at_value(&mut self, s: &Section<'_>, key: &str, what: String, label: &str, cure: String) {
        let place = s.get(key).map_or_else(|| s.place.clone(), |n| n.place.clone());
        self.faults
            .push(Fault::new(place, format!("{}: {what}", s.owner(key)), label, cure));
    }

    /// The end of the file's last line with something on it.
    pub(super) fn end(&self) -> SourceSpan {
        let end = self.sources.first().map_or(0, |s| s.text.trim_end().len());
        SourceSpan::new(0, end..end)
    }
}

/// The rule of a key that takes an amount and nothing else.
fn rule_of(s: &Section<'_>, key: &str) -> Option<Rule> {
    match s.key(key)?.takes {
        Takes::Amount(rule) => Some(rule),
        _ => None,
    }
}

/// An amount's node without its currency code, and the code; `None` where there is none, or more than one.
///
/// Blanks stand where the code stood, so that places in the text stay what they are.
fn without_code(node: &Node) -> Option<(Node, String)> {
    let is_code = |word: &str| word.len() == 3 && word.bytes().all(|b| b.is_ascii_uppercase());
    let value = match &node.value {
        Value::Text(text, start) => {
            let mut codes = text.split(|c: char| !c.is_alphanumeric()).filter(|word| is_code(word));
            let code = codes.next()?.to_owned();
            if codes.any(|other| other != code) {
                return None;
            }
            return Some((
                Node {
                    place: node.place.clone(),
                    value: Value::Text(text.replace(&code, "   "), *start),
                },
                code,
            ));
        }
        Value::Table(table) => table,
        _ => return None,
    };
    let (_, unit) = value.get("unit")?;
    let Value::Text(code, _) = &unit.value else { return None };
    let code = code.trim().to_owned();
    is_code(&code).then(|| {
        let mut plain = value.clone();
        plain.entries.retain(|(key, _)| key.text != "unit");
        (
            Node {
                place: node.place.clone(),
                value: Value::Table(plain),
            },
            code,
        )
    })
}

/// How one of a list is called in messages.
pub(super) fn entry_title(what: &str, table: &Table) -> String {
    match table.get("name").map(|(_, n)| &n.value) {
        Some(Value::Text(name, _)) if !name.trim().is_empty() => format!("{what} {}", quoted(name)),
        _ => format!("a {what} without a name"),
    }
}
