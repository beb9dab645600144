//! The strict reader: TOML tree in, checked [`Scenario`] or every fault out.
//!
//! What may stand where is said once, in [`SCHEMA`]; what a key takes is said once, where it is read. To add a key: a word in
//! `SCHEMA` and a line in its section's function. To add a section: a row in `SCHEMA` and a function called from [`Reader::scenario`].

use std::collections::HashSet;
use std::path::Path;

use super::amounts::{self, Bound, Flaw, Kind, Rule, short};
use super::faults::{Fault, Faults, Source, SourceSpan, nearest, quoted};
use super::sizes;
use super::tree::{self, Node, Table, Value};
use super::{
    Batch, Break, Currency, Learning, Leftover, Material, Sale, SaleCurrencies, Scenario, Shop, Spoiled, Spread, Step,
    Varies,
};

/// Keys that a section does not know although their word is known elsewhere, and what was meant by them: section, key, cure.
const MEANT: &[(&str, &str, &str)] = &[
    (
        "step",
        "price",
        "what a buyer pays is the `price` of [sale]; what a step uses up is a [[material]], with a `price` of its own",
    ),
    (
        "step",
        "cost",
        "what a step uses up is a [[material]] with its `price`; what every hour costs is `per_hour` of [shop]",
    ),
    (
        "step",
        "channel",
        "a step is the same for every channel; write the time that one channel takes for an order as its `per_order` under \
         [[channel]]",
    ),
    ("material", "cost", "write what one unit costs as `price`"),
    (
        "sale",
        "cost",
        "what a piece costs follows from its steps, materials and [shop]; write what it uses up as [[material]]",
    ),
];

/// Letters of a title or a name: more fit no line, no table and no chart.
const LONGEST_TEXT: usize = 200;

/// Entries of one kind of section, which each question goes through many times.
const MOST_ENTRIES: usize = 500;

/// Sections and their keys. The empty name is the top of the file.
pub(super) const SCHEMA: &[(&str, &[&str])] = &[
    (
        "",
        &[
            "title",
            "currency",
            "target",
            "confidence",
            "batch",
            "pace",
            "step",
            "material",
            "sale",
            "channel",
            "currencies",
            "shop",
            "season",
            "steady",
            "hours",
            "jig",
            "misfortune",
        ],
    ),
    ("batch", &["sizes", "spoiled", "runs"]),
    ("pace", &["factor"]),
    (
        "step",
        &[
            "name",
            "once",
            "setup",
            "each",
            "per_order",
            "room",
            "kept_in",
            "wait",
            "varies",
            "learning",
            "made_before",
            "learned_by",
            "redo",
            "spoil",
        ],
    ),
    (
        "material",
        &[
            "name",
            "per_piece",
            "per_batch",
            "per_round",
            "per_order",
            "unit",
            "price",
            "waste",
            "pack",
            "leftover",
            "breaks",
            "paid",
            "at",
        ],
    ),
    (
        "sale",
        &[
            "price",
            "tax",
            "order_of",
            "fee",
            "fee_per_order",
            "post",
            "post_charged",
            "returned",
        ],
    ),
    (
        "channel",
        &[
            "name",
            "share",
            "discount",
            "per_order",
            "price",
            "tax",
            "order_of",
            "fee",
            "fee_per_order",
            "post",
            "post_charged",
            "returned",
        ],
    ),
    // Its keys are currency codes.
    ("currencies", &[]),
    ("shop", &["per_hour", "per_month", "hours_per_month"]),
    (
        "season",
        &["buyers", "clearance", "leftover", "hold", "weeks", "elasticity"],
    ),
    ("steady", &["per_week", "hold", "finished"]),
    ("hours", &["mon", "tue", "wed", "thu", "fri", "sat", "sun", "off"]),
    (
        "jig",
        &["name", "step", "build", "cost", "setup", "each", "room", "lasts"],
    ),
    ("misfortune", &["name", "changes"]),
    ("breaks", &["from", "price"]),
];

/// Every key of the file with its section; the empty name is the top. Currency codes are keys of no list.
pub fn keys() -> impl Iterator<Item = (&'static str, &'static str)> {
    SCHEMA
        .iter()
        .flat_map(|(section, keys)| keys.iter().map(|key| (*section, *key)))
}

/// Sections that are lists of tables.
const LISTS: &[&str] = &["step", "material", "channel", "jig", "misfortune"];
/// What ISO 4217 keeps for "no currency".
pub(super) const NO_CURRENCY: &str = "XXX";
/// Largest count of pieces or runs taken.
const LARGEST_COUNT: u32 = 1_000_000;

/// The key under which [`read`] takes another asked price and moves what hangs on it: a channel's own price keeps its ratio to it, and
/// buyers are those told for the file's price. `sale.price` overrides that one value, as if it stood in the file.
pub const ASKED_PRICE: &str = "--price";

/// Reads a scenario strictly.
///
/// `source_name` is the file's name as shown in messages. `overrides` are pairs of key and value for this one call
/// (`("sale.price", "62")`, `("step.glue pegs.setup", "3 / 4 / 8 min")`), the value written as in the file, with or without
/// its quotes; [`split_setting`] makes such a pair from `key=value`.
///
/// Defaults. `title`: the file's name without its ending. `currency`: XXX, which ISO 4217 keeps for "no currency", because no
/// real one can be guessed. `confidence`: 80 %. Sizes: 1 to 24. Spoiled pieces: `short`. `runs`: 1. `pace`: 1. A step's times: none.
/// `room`: all pieces. `kept_in`: each step in a place of its own. `varies`: piece. No learning, no redo, no spoil. A material's amounts: none, but one must be said.
/// `unit`: "unit". No waste, any amount bought, leftovers kept, no breaks, really paid what it costs, used in the first step.
/// Tax, fees, postage and returns: none; one piece an order. Overhead: none. No channels: all is sold as `[sale]` says; a
/// channel has no discount and is otherwise as `[sale]`. No season: all that is good sells; in a season leftovers fetch nothing
/// and demand does not depend on the price. Holding costs nothing. No bench hours, no jigs; a jig lasts for ever. Without a default, because every answer hangs on
/// it: `target`, `sale.price`, at least one step that takes time, names, a material's price.
///
/// # Errors
/// [`Faults`]: everything that is wrong, all at once, sorted by place.
pub fn read(source_name: &str, text: &str, overrides: &[(String, String)]) -> Result<Scenario, Faults> {
    // Some editors put a byte order mark in front; it is no part of the text.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut sources = vec![Source {
        name: source_name.to_owned(),
        text: text.to_owned(),
    }];
    let names = |key: &'_ str| if key == ASKED_PRICE { "sale.price" } else { key }.to_owned();
    sources.extend(overrides.iter().map(|(key, value)| {
        let flag = if key == ASKED_PRICE { key } else { "--set" };
        tree::override_source(flag, &names(key), value)
    }));
    let mut root = match tree::parse(text) {
        Ok(root) => root,
        Err(fault) => return Err(Faults::new(sources, vec![fault])),
    };
    let mut faults = Vec::new();
    for (i, (key, value)) in overrides.iter().enumerate() {
        if let Err(fault) = tree::plant(&mut root, i + 1, &names(key), value) {
            faults.push(fault);
        }
    }
    let mut reader = Reader::new(&sources, faults);
    let scenario = reader.scenario(&root);
    let faults = reader.faults;
    match scenario {
        Some(mut scenario) if faults.is_empty() => {
            let others: Vec<_> = overrides
                .iter()
                .filter(|(key, _)| key != ASKED_PRICE)
                .cloned()
                .collect();
            if others.len() < overrides.len()
                && let Ok(as_written) = read(source_name, text, &others)
            {
                asked_once(&mut scenario, as_written.sale.price, overrides);
            }
            Ok(scenario)
        }
        _ => Err(Faults::new(sources, faults)),
    }
}

/// What another asked price leaves as the file, which asks `written`, tells it: buyers are those at the file's price, and a channel's own
/// price keeps its ratio to the list price, as it does in a price floor.
fn asked_once(scenario: &mut Scenario, written: f64, overrides: &[(String, String)]) {
    if let Some(season) = scenario.season.as_mut().filter(|season| season.elasticity > 0.0) {
        season.asked_at = written;
    }
    // A name may have points in it.
    let bare = |part: &str| part.trim().trim_matches(['"', '\'']).to_owned();
    let given = |name: &str| {
        overrides.iter().any(|(key, _)| {
            let parts = key.split_once('.').zip(key.rsplit_once('.'));
            parts.is_some_and(|((word, rest), (_, last))| {
                let owner = rest.rsplit_once('.').map_or("", |(owner, _)| owner);
                bare(word) == "channel" && bare(owner) == name && bare(last) == "price"
            })
        })
    };
    let factor = scenario.sale.price / written;
    for channel in &mut scenario.channels {
        if channel.own_price && factor.is_finite() && !given(&channel.name) {
            channel.sale.price *= factor;
        }
    }
}

/// Reads a scenario from bytes as they come from a file, which may not be text at all.
///
/// # Errors
/// [`Faults`], as [`read`]; bytes that are not UTF-8 are a fault at their place.
pub fn read_bytes(source_name: &str, bytes: &[u8], overrides: &[(String, String)]) -> Result<Scenario, Faults> {
    read(source_name, text_of(source_name, bytes, "a scenario")?, overrides)
}

/// The text that bytes from a file are; `what` is what it should be, in words.
pub(crate) fn text_of<'a>(source_name: &str, bytes: &'a [u8], what: &str) -> Result<&'a str, Faults> {
    let error = match std::str::from_utf8(bytes) {
        Ok(text) => return Ok(text),
        Err(error) => error,
    };
    let at = error.valid_up_to();
    let text = String::from_utf8_lossy(bytes).into_owned();
    // The first replacement character stands at the same byte, for all before it is unchanged.
    let end = at + '\u{fffd}'.len_utf8();
    let (wrong, cure) = if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        (
            format!("this file is UTF-16, and {what} is UTF-8"),
            "save it again as UTF-8 in the editor".to_owned(),
        )
    } else {
        (
            format!(
                "this is not UTF-8 text: byte {} cannot be read",
                bytes.get(at).map_or_else(String::new, |b| format!("0x{b:02X}"))
            ),
            format!(
                "save the file as UTF-8 in the editor; if it is not {what} but a picture or the like, give another file"
            ),
        )
    };
    Err(Faults::new(
        vec![Source {
            name: source_name.to_owned(),
            text,
        }],
        vec![Fault::new(SourceSpan::new(0, at..end), wrong, "here", cure)],
    ))
}

/// Splits `key=value` at the first `=` that is not within quotes; `None` where there is none or no key before it.
#[must_use]
pub fn split_setting(text: &str) -> Option<(String, String)> {
    let mut quote = None;
    for (i, c) in text.char_indices() {
        match (quote, c) {
            (None, '=') => {
                let key = text[..i].trim();
                return (!key.is_empty()).then(|| (key.to_owned(), text[i + 1..].trim().to_owned()));
            }
            // A quote opens a name only where a name starts; elsewhere it is an apostrophe.
            (None, '"' | '\'') if i == 0 || text[..i].ends_with('.') => quote = Some(c),
            (Some(q), c) if q == c => quote = None,
            _ => {}
        }
    }
    None
}

/// A section being read.
#[derive(Clone, Copy)]
pub(super) struct Section<'a> {
    /// Its word in [`SCHEMA`].
    pub(super) word: &'static str,
    /// How it is called in a message: `[sale]`, step `glue pegs`; empty for the top.
    pub(super) title: &'a str,
    pub(super) table: &'a Table,
    /// Where it starts, for what is missing in it.
    pub(super) place: &'a SourceSpan,
}

impl<'a> Section<'a> {
    pub(super) fn get(&self, key: &str) -> Option<&'a Node> {
        debug_assert!(keys_of(self.word).contains(&key), "{key} of {} is in SCHEMA", self.word);
        self.table.get(key).map(|(_, node)| node)
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

fn keys_of(word: &str) -> &'static [&'static str] {
    SCHEMA.iter().find(|(w, _)| *w == word).map_or(&[], |(_, keys)| keys)
}

pub(super) struct Reader<'a> {
    pub(super) sources: &'a [Source],
    pub(super) faults: Vec<Fault>,
    /// The scenario's own currency, once read.
    own_currency: String,
    /// Codes of the other currencies, once read.
    currencies: Vec<String>,
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
    // -----------------------------------------------------------------------------------------------------------------
    // Sections

    /// `None` only with faults.
    pub(super) fn scenario(&mut self, root: &Table) -> Option<Scenario> {
        let start = SourceSpan::new(0, 0..0);
        let top = Section {
            word: "",
            title: "",
            table: root,
            place: &start,
        };
        self.unknown_keys(&top);

        let file_name = self.sources.first().map_or("", |s| s.name.as_str());
        let title = self.text(&top, "title").unwrap_or_else(|| stem(file_name));
        let currency = self.currency(&top);
        self.own_currency.clone_from(&currency);
        let currencies = self.currencies(&top);
        self.currencies = currencies.iter().map(|c| c.code.clone()).collect();
        let target_per_hour = self.required(
            &top,
            "target",
            Rule::of(Kind::Money),
            "what an hour at the bench should earn",
            "32",
        );
        let confidence = self
            .certain(
                &top,
                "confidence",
                Rule::of(Kind::Share).from(Bound::Short(0.0)).up_to(Bound::Short(1.0)),
            )
            .unwrap_or(0.8);

        let batch = self.batch(&top);
        let pace = self.pace(&top);
        let (steps, step_names) = self.steps(&top);
        let materials = self.materials(&top, &step_names);
        let sale = self.sale(&top);
        let channels = self.channels(&top, sale.as_ref());
        let shop = self.shop(&top);
        let season = self.season(&top, sale.as_ref().map_or(0.0, |sale| sale.price));
        let steady = self.steady(&top);
        let hours = self.hours(&top);
        let jigs = self.jigs(&top, &steps, &step_names);

        if batch.spoiled == Spoiled::Remake {
            self.remake_ends(&top, &steps);
        }
        let misfortunes = self.misfortunes(&top);
        Some(Scenario {
            title,
            currency,
            target_per_hour: target_per_hour?,
            confidence,
            batch,
            pace,
            steps,
            materials,
            sale: sale?,
            shop,
            channels,
            currencies,
            season,
            steady,
            hours,
            jigs,
            misfortunes,
        })
    }

    /// What other currencies are worth.
    fn currencies(&mut self, top: &Section<'_>) -> Vec<Currency> {
        let Some(s) = self.section(top, "currencies", "[currencies]") else {
            return Vec::new();
        };
        let mut found = Vec::new();
        for (key, node) in &s.table.entries {
            let code = &key.text;
            let what = if code.len() != 3 || !code.bytes().all(|b| b.is_ascii_uppercase()) {
                format!("{} is not a currency code (ISO 4217)", quoted(code))
            } else if *code == self.own_currency {
                format!("{code} is the scenario's own currency, worth 1 of itself")
            } else {
                match amounts::read(node, Rule::positive(Kind::Number), self.sources) {
                    Ok(rate) => found.push(Currency {
                        code: code.clone(),
                        rate,
                    }),
                    Err(flaws) => {
                        let owner = format!("`{code}` of [currencies]");
                        self.faults.extend(flaws.into_iter().map(|f| f.of(&owner)));
                    }
                }
                continue;
            };
            self.faults.push(Fault::new(
                key.place.clone(),
                format!("[currencies]: {what}"),
                "must be another code",
                "one line a currency, what one unit of it is worth here, for example `USD = \"0.86 / 0.91 / 0.97\"`",
            ));
        }
        found
    }

    fn currency(&mut self, top: &Section<'_>) -> String {
        let Some(code) = self.text(top, "currency") else {
            return NO_CURRENCY.to_owned();
        };
        if code.len() != 3 || !code.bytes().all(|b| b.is_ascii_uppercase()) {
            let upper = code.trim().to_ascii_uppercase();
            let cure = if upper.len() == 3 && upper.bytes().all(|b| b.is_ascii_uppercase()) {
                format!("write `\"{upper}\"`")
            } else {
                "write three capital letters, for example `\"EUR\"` or `\"USD\"`".to_owned()
            };
            self.at_value(
                top,
                "currency",
                format!("{} is not a currency code (ISO 4217)", quoted(&code)),
                "three capital letters are due",
                cure,
            );
        }
        code
    }

    fn batch(&mut self, top: &Section<'_>) -> Batch {
        let mut batch = Batch {
            sizes: (1..=24).collect(),
            spoiled: Spoiled::Short,
            runs: 1,
        };
        let Some(section) = self.section(top, "batch", "[batch]") else {
            return batch;
        };
        if let Some(node) = section.get("sizes") {
            match sizes::read(node, self.sources) {
                Ok(sizes) => batch.sizes = sizes,
                Err(flaws) => self.flaws(&section, "sizes", flaws),
            }
        }
        if let Some(spoiled) = self.word(
            &section,
            "spoiled",
            &[("short", Spoiled::Short), ("remake", Spoiled::Remake)],
        ) {
            batch.spoiled = spoiled;
        }
        if let Some(runs) = self.count(&section, "runs", 1) {
            batch.runs = runs;
        }
        batch
    }

    fn pace(&mut self, top: &Section<'_>) -> Spread {
        self.section(top, "pace", "[pace]")
            .and_then(|section| self.amount(&section, "factor", Rule::positive(Kind::Number)))
            .unwrap_or(Spread::Certain(1.0))
    }

    /// The steps, and for each entry of the list its name (empty where it has none), so that places keep their index.
    fn steps(&mut self, top: &Section<'_>) -> (Vec<Step>, Vec<String>) {
        let had = self.faults.len();
        let Some(list) = self.list(top, "step") else {
            if had == self.faults.len() {
                self.faults.push(Fault::new(
                    self.end(),
                    "there is no [[step]]: a scenario needs at least one step of the work",
                    "up to here",
                    "add for example a line `[[step]]` and under it `name = \"sawing\"`, `setup = \"10 min\"`, `each = \"5 / 6 / 9 min\"`",
                ));
            }
            return (Vec::new(), Vec::new());
        };
        let steps: Vec<Step> = list.iter().map(|(table, place)| self.step(table, place)).collect();
        self.unique(&list, "step", steps.iter().map(|s| s.name.as_str()));
        let takes_time = |s: &Step| [&s.once, &s.setup, &s.each, &s.per_order].iter().any(|t| !t.is_zero());
        if had == self.faults.len() && !steps.iter().any(takes_time) {
            let place = list.first().map_or_else(|| self.end(), |(_, place)| (*place).clone());
            self.faults.push(Fault::new(
                place,
                "no step takes any hands-on time, so there is no hour to reckon with",
                "this and the others take none",
                "give at least one step `setup`, `each`, `per_order` or `once`",
            ));
        }
        let names = steps.iter().map(|s| s.name.clone()).collect();
        (steps, names)
    }

    fn step(&mut self, table: &Table, place: &SourceSpan) -> Step {
        let title = entry_title("step", table);
        let s = Section {
            word: "step",
            title: &title,
            table,
            place,
        };
        self.unknown_keys(&s);
        let name = self.name(&s, "step");
        let time =
            |this: &mut Self, key: &str, kind: Kind| this.amount(&s, key, Rule::of(kind)).unwrap_or(Spread::ZERO);
        let once = time(self, "once", Kind::Work);
        let setup = time(self, "setup", Kind::Work);
        let each = time(self, "each", Kind::Work);
        let per_order = time(self, "per_order", Kind::Work);
        let wait = time(self, "wait", Kind::Clock);
        let varies = self
            .word(&s, "varies", &[("piece", Varies::Piece), ("batch", Varies::Batch)])
            .unwrap_or(Varies::Piece);
        Step {
            name,
            once,
            setup,
            each,
            per_order,
            room: self.count(&s, "room", 1),
            kept_in: self.text(&s, "kept_in"),
            wait,
            varies,
            learning: self.learning(&s),
            redo: self.redo(&s),
            spoil: self
                .certain(&s, "spoil", Rule::of(Kind::Share).up_to(Bound::To(1.0)))
                .unwrap_or(0.0),
        }
    }

    fn redo(&mut self, s: &Section<'_>) -> f64 {
        let redo = self
            .certain(s, "redo", Rule::of(Kind::Share).up_to(Bound::Short(1.0)))
            .unwrap_or(0.0);
        if redo > 0.99 {
            self.at_value(
                s,
                "redo",
                format!("{} % means more than 100 tries for each piece", short(redo * 100.0)),
                "at most 99 %",
                "it is the chance that the step must be done again; `\"5 %\"` is one piece in twenty".to_owned(),
            );
        }
        redo
    }

    fn learning(&mut self, s: &Section<'_>) -> Option<Learning> {
        let rate = self.certain(
            s,
            "learning",
            Rule::of(Kind::Share).from(Bound::Short(0.0)).up_to(Bound::To(1.0)),
        );
        let made_before = self.count(s, "made_before", 0);
        let learned_by = self.count(s, "learned_by", 1);
        if s.get("learning").is_none() {
            for key in ["made_before", "learned_by"] {
                if s.get(key).is_some() {
                    self.faults.push(Fault::new(
                        s.key_place(key),
                        format!("{} has no effect without `learning`", s.owner(key)),
                        "no learning here",
                        format!("add for example `learning = \"92 %\"`, or leave `{key}` out"),
                    ));
                }
            }
            return None;
        }
        let made_before = made_before.unwrap_or(0);
        if let Some(by) = learned_by
            && by < made_before
        {
            self.at_value(
                s,
                "learned_by",
                format!("{by} is fewer than the {made_before} pieces of `made_before`, which it includes"),
                "learned before it begins",
                format!("write more than {made_before}, or leave it out if the gain goes on"),
            );
        }
        Some(Learning {
            rate: rate?,
            made_before,
            learned_by,
        })
    }

    fn materials(&mut self, top: &Section<'_>, step_names: &[String]) -> Vec<Material> {
        let Some(list) = self.list(top, "material") else {
            return Vec::new();
        };
        let materials: Vec<Material> = list
            .iter()
            .map(|(table, place)| self.material(table, place, step_names))
            .collect();
        self.unique(&list, "material", materials.iter().map(|m| m.name.as_str()));
        materials
    }

    fn material(&mut self, table: &Table, place: &SourceSpan, step_names: &[String]) -> Material {
        let title = entry_title("material", table);
        let s = Section {
            word: "material",
            title: &title,
            table,
            place,
        };
        self.unknown_keys(&s);
        let name = self.name(&s, "material");
        let used = ["per_piece", "per_batch", "per_round", "per_order"];
        if used.iter().all(|key| s.get(key).is_none()) {
            self.faults.push(Fault::new(
                place.clone(),
                format!("{title} is never used: no amount is given"),
                "how much of it?",
                "add `per_piece`, `per_batch`, `per_round` or `per_order`, for example `per_piece = 0.9`",
            ));
        }
        let [per_piece, per_batch, per_round, per_order] =
            used.map(|key| self.certain(&s, key, Rule::of(Kind::Number)).unwrap_or(0.0));
        if s.get("price").is_none() {
            self.missing(&s, "price", "what one unit would cost to buy today", "7.00");
        }
        let (price, currency) = self
            .money(&s, "price", Rule::of(Kind::Money))
            .unwrap_or((Spread::ZERO, None));
        let breaks = self.breaks(&s, currency);
        let paid = self.money(&s, "paid", Rule::of(Kind::Money).certain());
        if let Some((_, other)) = paid
            && other != currency
            // Nothing is nothing in any currency.
            && paid.as_ref().is_some_and(|(spread, _)| !spread.is_zero())
        {
            self.at_value(
                &s,
                "paid",
                "this is in another currency than the price".to_owned(),
                "another currency",
                "write both in one currency".to_owned(),
            );
        }
        Material {
            name,
            unit: self.text(&s, "unit").unwrap_or_else(|| "unit".to_owned()),
            per_piece,
            per_batch,
            per_round,
            per_order,
            price,
            // More than all again may be bought: boards with their bark on are mostly waste.
            waste: self
                .amount(&s, "waste", Rule::of(Kind::Share).up_to(Bound::To(100.0)))
                .unwrap_or(Spread::ZERO),
            pack: self.certain(&s, "pack", Rule::positive(Kind::Number)),
            leftover: self
                .word(&s, "leftover", &[("keep", Leftover::Keep), ("lost", Leftover::Lost)])
                .unwrap_or(Leftover::Keep),
            breaks,
            paid: paid.map(|(spread, _)| spread.mean()),
            currency,
            at: self.step_of(&s, "at", step_names).unwrap_or(0),
        }
    }

    fn breaks(&mut self, s: &Section<'_>, currency: Option<usize>) -> Vec<Break> {
        let example = "write for example `breaks = [{ from = 10, price = 6.00 }]`";
        let Some(node) = s.get("breaks") else {
            return Vec::new();
        };
        let Value::List(list) = &node.value else {
            self.at_value(
                s,
                "breaks",
                format!("this must be a list of price breaks, not {}", node.kind()),
                "must be a list",
                example.to_owned(),
            );
            return Vec::new();
        };
        let title = format!("a break of {}", s.title);
        let mut breaks: Vec<Break> = Vec::new();
        for item in list {
            let Value::Table(table) = &item.value else {
                self.faults.push(Fault::new(
                    item.place.clone(),
                    format!(
                        "{}: a break is written in braces, not as {}",
                        s.owner("breaks"),
                        item.kind()
                    ),
                    "from how many, at which price?",
                    example,
                ));
                continue;
            };
            let b = Section {
                word: "breaks",
                title: &title,
                table,
                place: &item.place,
            };
            self.unknown_keys(&b);
            let from = self.required(
                &b,
                "from",
                Rule::positive(Kind::Number),
                "from how many units bought per run",
                "10",
            );
            if b.get("price").is_none() {
                self.missing(&b, "price", "what a unit costs then", "6.00");
            }
            let price = self.money(&b, "price", Rule::of(Kind::Money)).map(|(price, other)| {
                if other != currency {
                    self.at_value(
                        &b,
                        "price",
                        "this is in another currency than the price without a break".to_owned(),
                        "another currency",
                        "write both in one currency".to_owned(),
                    );
                }
                price
            });
            if let (Some(from), Some(last)) = (from, breaks.last())
                && from <= last.from
            {
                self.at_value(
                    &b,
                    "from",
                    format!("{} is not more than the {} before it", short(from), short(last.from)),
                    "must go up",
                    "write the breaks from the smallest amount to the largest, each amount once".to_owned(),
                );
            }
            if let (Some(from), Some(price)) = (from, price) {
                breaks.push(Break { from, price });
            }
        }
        breaks
    }

    fn sale(&mut self, top: &Section<'_>) -> Option<Sale> {
        let Some(s) = self.section(top, "sale", "[sale]") else {
            if top.get("sale").is_none() {
                self.faults.push(Fault::new(
                    self.end(),
                    "there is no [sale]: a scenario must say what a piece is sold for",
                    "up to here",
                    "add a line `[sale]` and under it for example `price = 58`",
                ));
            }
            return None;
        };
        let price = self.required(
            &s,
            "price",
            Rule::positive(Kind::Money),
            "what a buyer pays for a piece",
            "58",
        );
        let nothing_said = Sale {
            price: price.unwrap_or(1.0),
            tax: 0.0,
            order_of: Spread::Certain(1.0),
            fee: 0.0,
            fee_per_order: 0.0,
            post: Spread::ZERO,
            post_charged: 0.0,
            returned: 0.0,
            currencies: SaleCurrencies::default(),
        };
        let sale = self.sale_terms(&s, &nothing_said);
        price.map(|_| sale)
    }

    /// What a section says about selling, all but the price; what it does not say is as in `base`.
    pub(super) fn sale_terms(&mut self, s: &Section<'_>, base: &Sale) -> Sale {
        let under_all = Rule::of(Kind::Share).up_to(Bound::Short(1.0));
        let mut sale = base.clone();
        if let Some(tax) = self.certain(s, "tax", Rule::of(Kind::Share).up_to(Bound::To(1.0))) {
            sale.tax = tax;
        }
        if s.get("order_of").is_some() {
            sale.order_of = self.order_of(s);
        }
        if let Some(fee) = self.certain(s, "fee", under_all) {
            sale.fee = fee;
        }
        if sale.fee * (1.0 + sale.tax) >= 1.0 {
            let key = if s.get("fee").is_some() { "fee" } else { "tax" };
            self.at_value(
                s,
                key,
                "nothing is left of the price after tax and this fee, however high it is".to_owned(),
                "too high",
                format!(
                    "with this tax the fee is less than {} %",
                    short(100.0 / (1.0 + sale.tax))
                ),
            );
        }
        if let Some((fee, currency)) = self.money(s, "fee_per_order", Rule::of(Kind::Money).certain()) {
            sale.fee_per_order = fee.mean();
            sale.currencies.fee_per_order = currency;
        }
        if let Some((post, currency)) = self.money(s, "post", Rule::of(Kind::Money)) {
            sale.post = post;
            sale.currencies.post = currency;
        }
        if let Some((charged, currency)) = self.money(s, "post_charged", Rule::of(Kind::Money).certain()) {
            sale.post_charged = charged.mean();
            sale.currencies.post_charged = currency;
        }
        if let Some(returned) = self.certain(s, "returned", under_all) {
            sale.returned = returned;
        }
        sale
    }

    fn order_of(&mut self, s: &Section<'_>) -> Spread {
        let rule = Rule::of(Kind::Number)
            .from(Bound::To(1.0))
            .up_to(Bound::To(f64::from(sizes::LARGEST_SIZE)));
        let order_of = self.amount(s, "order_of", rule).unwrap_or(Spread::Certain(1.0));
        if let Spread::Certain(n) = order_of
            && n.fract() != 0.0
        {
            self.at_value(
                s,
                "order_of",
                format!("{} pieces cannot be sent; an order has whole ones", short(n)),
                "must be a whole number",
                "write for example `1`, or a range `\"1 / 2 / 6\"`, which is rounded for each order".to_owned(),
            );
        }
        order_of
    }

    fn shop(&mut self, top: &Section<'_>) -> Shop {
        let mut shop = Shop {
            per_hour: 0.0,
            per_month: 0.0,
            hours_per_month: 0.0,
        };
        let Some(s) = self.section(top, "shop", "[shop]") else {
            return shop;
        };
        shop.per_hour = self.certain(&s, "per_hour", Rule::of(Kind::Money)).unwrap_or(0.0);
        shop.per_month = self.certain(&s, "per_month", Rule::of(Kind::Money)).unwrap_or(0.0);
        // 744 hours are a month of 31 days without sleep.
        let hours = Rule::positive(Kind::Number).up_to(Bound::To(744.0));
        shop.hours_per_month = self.certain(&s, "hours_per_month", hours).unwrap_or(0.0);
        if shop.per_month > 0.0 && s.get("hours_per_month").is_none() {
            self.faults.push(Fault::new(
                s.key_place("per_month"),
                "`per_month` of [shop] needs `hours_per_month`, the hours it is spread over",
                "over how many hours?",
                "add for example `hours_per_month = 60`",
            ));
        }
        shop
    }

    /// With `remake` a run goes on until enough pieces are good, which must be in sight.
    fn remake_ends(&mut self, top: &Section<'_>, steps: &[Step]) {
        let good: f64 = steps.iter().map(|s| 1.0 - s.spoil).product();
        if good >= 0.01 {
            return;
        }
        let place = top
            .get("batch")
            .and_then(Node::as_table)
            .and_then(|t| t.get("spoiled"))
            .map_or_else(|| self.end(), |(_, n)| n.place.clone());
        self.faults.push(Fault::new(
            place,
            format!(
                "`spoiled` of [batch]: with \"remake\" a good piece needs more than 100 starts here, since only {} % come through all \
                 steps",
                short(good * 100.0)
            ),
            "this would hardly end",
            "lower the `spoil` of the steps, or take `spoiled = \"short\"`",
        ));
    }

    // -----------------------------------------------------------------------------------------------------------------
    // Keys

    /// An amount, `None` where it is absent or faulty. Money is in the scenario's own currency.
    pub(super) fn amount(&mut self, s: &Section<'_>, key: &str, rule: Rule) -> Option<Spread> {
        let (spread, currency) = self.money(s, key, rule)?;
        if let Some(code) = currency.and_then(|k| self.currencies.get(k)) {
            let what = format!("{code} is another currency, and this is in {}", self.own_currency);
            let cure = format!("write it in {}", self.own_currency);
            self.at_value(s, key, what, "another currency", cure);
            return None;
        }
        Some(spread)
    }

    /// An amount that may be in another currency: which one is told by its index. `None` where it is absent or faulty.
    pub(super) fn money(&mut self, s: &Section<'_>, key: &str, rule: Rule) -> Option<(Spread, Option<usize>)> {
        let node = s.get(key)?;
        let (plain, code) = match (rule.kind, without_code(node)) {
            (Kind::Money, Some((plain, code))) => (Some(plain), Some(code)),
            _ => (None, None),
        };
        let currency = match &code {
            Some(code) if *code != self.own_currency => {
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
        match amounts::read(plain.as_ref().unwrap_or(node), rule, self.sources) {
            Ok(spread) => Some((spread, currency)),
            Err(flaws) => {
                self.flaws(s, key, flaws);
                None
            }
        }
    }

    pub(super) fn certain(&mut self, s: &Section<'_>, key: &str, rule: Rule) -> Option<f64> {
        self.amount(s, key, rule.certain()).map(|spread| spread.mean())
    }

    pub(super) fn required(
        &mut self,
        s: &Section<'_>,
        key: &str,
        rule: Rule,
        meaning: &str,
        example: &str,
    ) -> Option<f64> {
        if s.get(key).is_none() {
            self.missing(s, key, meaning, example);
            return None;
        }
        self.certain(s, key, rule)
    }

    pub(super) fn missing(&mut self, s: &Section<'_>, key: &str, meaning: &str, example: &str) {
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

    /// A whole number of pieces or runs.
    pub(super) fn count(&mut self, s: &Section<'_>, key: &str, least: u32) -> Option<u32> {
        let node = s.get(key)?;
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
                "a title or a name is a few words; what else there is to say goes into a comment, after #".to_owned(),
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
                    "add for example `name = \"{}\"`",
                    match what {
                        "step" => "sawing",
                        "channel" => "market stall",
                        "jig" => "drilling jig",
                        "misfortune" => "the saw breaks down",
                        _ => "oak, sawn 25 mm",
                    }
                ),
            ));
        }
        self.text(s, "name").unwrap_or_default()
    }

    /// One of a few words.
    pub(super) fn word<T: Copy>(&mut self, s: &Section<'_>, key: &str, known: &[(&str, T)]) -> Option<T> {
        let node = s.get(key)?;
        let given = match &node.value {
            Value::Text(text, _) => text.as_str(),
            _ => "",
        };
        if let Some((_, meaning)) = known.iter().find(|(w, _)| *w == given) {
            return Some(*meaning);
        }
        let words: Vec<String> = known.iter().map(|(w, _)| format!("`\"{w}\"`")).collect();
        let cure = nearest(given, known.iter().map(|(w, _)| *w)).map_or_else(
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

    /// A section that may be absent. Its unknown keys are reported here.
    pub(super) fn section<'t>(&mut self, top: &Section<'t>, word: &'static str, title: &'t str) -> Option<Section<'t>> {
        let node = top.get(word)?;
        match &node.value {
            Value::Table(table) => {
                let section = Section {
                    word,
                    title,
                    table,
                    place: &node.place,
                };
                self.unknown_keys(&section);
                Some(section)
            }
            Value::List(_) => {
                self.faults.push(Fault::new(
                    top.key_place(word),
                    format!("{title} is written once, in single brackets"),
                    "not a list",
                    format!("write `{title}`"),
                ));
                None
            }
            _ => {
                self.faults.push(Fault::new(
                    top.key_place(word),
                    format!("`{word}` is a section, not {}", node.kind()),
                    "must be a section",
                    format!(
                        "write a line `{title}` and under it {}",
                        keys_of(word)
                            .iter()
                            .map(|k| format!("`{k}`"))
                            .collect::<Vec<_>>()
                            .join(", ")
                    ),
                ));
                None
            }
        }
    }

    /// A list of tables that may be absent; `None` where absent, empty or malformed, the last with a fault.
    pub(super) fn list<'t>(
        &mut self,
        top: &Section<'t>,
        word: &'static str,
    ) -> Option<Vec<(&'t Table, &'t SourceSpan)>> {
        let node = top.get(word)?;
        let mut tables = Vec::new();
        match &node.value {
            Value::List(list) => {
                if let Some(further) = list.get(MOST_ENTRIES) {
                    self.faults.push(Fault::new(
                        further.place.clone(),
                        format!(
                            "there are {} [[{word}]], and at most {MOST_ENTRIES} are taken",
                            list.len()
                        ),
                        "one too many",
                        format!("put several together under one [[{word}]]"),
                    ));
                }
                for item in list.iter().take(MOST_ENTRIES) {
                    match &item.value {
                        Value::Table(table) => tables.push((table, &item.place)),
                        _ => self.faults.push(Fault::new(
                            item.place.clone(),
                            format!("a {word} is a section, not {}", item.kind()),
                            "must be a section",
                            format!("write each {word} under its own line `[[{word}]]`"),
                        )),
                    }
                }
            }
            other => {
                let what = if matches!(other, Value::Table(_)) {
                    format!("a {word} is written in double brackets, because there may be several")
                } else {
                    format!("`{word}` is a section in double brackets, not {}", node.kind())
                };
                self.faults.push(Fault::new(
                    top.key_place(word),
                    what,
                    "double brackets are due",
                    format!("write `[[{word}]]`"),
                ));
                return None;
            }
        }
        (!tables.is_empty()).then_some(tables)
    }

    /// Names must tell the entries of a list apart.
    pub(super) fn unique<'n>(
        &mut self,
        list: &[(&Table, &SourceSpan)],
        what: &str,
        names: impl Iterator<Item = &'n str>,
    ) {
        let mut seen = HashSet::new();
        for (name, (table, place)) in names.zip(list) {
            if name.is_empty() {
                continue;
            }
            if !seen.insert(name) {
                let at = table
                    .get("name")
                    .map_or_else(|| (*place).clone(), |(_, n)| n.place.clone());
                self.faults.push(Fault::new(
                    at,
                    format!("two of the {what}s are called {}", quoted(name)),
                    "used before",
                    "give each its own name, for example with a number at the end",
                ));
            }
        }
    }

    /// Reports what a section has and cannot have.
    pub(super) fn unknown_keys(&mut self, s: &Section<'_>) {
        if s.word == "currencies" {
            return;
        }
        let known = keys_of(s.word);
        for (key, node) in &s.table.entries {
            let word = key.text.as_str();
            if known.contains(&word) {
                continue;
            }
            let sectionlike = s.word.is_empty()
                && match &node.value {
                    Value::Table(_) => true,
                    Value::List(list) => list.iter().any(|n| n.as_table().is_some()),
                    _ => false,
                };
            let elsewhere: Vec<&str> = SCHEMA
                .iter()
                .filter(|(section, keys)| *section != s.word && *section != "breaks" && keys.contains(&word))
                .map(|(section, _)| *section)
                .collect();
            // A section's name is not a sensible guess for a plain key, nor the other way round.
            let candidates = known
                .iter()
                .copied()
                .filter(|k| !s.word.is_empty() || SCHEMA.iter().any(|(w, _)| w == k) == sectionlike);
            let near = nearest(word, candidates);
            let what = if sectionlike {
                format!("there is no section {}", quoted(word))
            } else if s.title.is_empty() {
                format!("{} is not known at the top of a scenario", quoted(word))
            } else {
                format!("{} is not known in {}", quoted(word), s.title)
            };
            let meant = MEANT
                .iter()
                .find(|(section, key, _)| (*section, *key) == (s.word, word));
            let cure = match (near, elsewhere.as_slice()) {
                _ if meant.is_some() => meant.map_or_else(String::new, |(.., cure)| (*cure).to_owned()),
                (Some(n), _) if sectionlike => format!("did you mean {}?", header(n)),
                (Some(n), _) => format!("did you mean `{n}`?"),
                (None, [""]) if SCHEMA.iter().any(|(w, _)| *w == word) => {
                    format!("{} is a section of its own: {}", quoted(word), header(word))
                }
                (None, [""]) => format!("`{word}` belongs at the top, above the first [section]"),
                (None, [_, ..]) => format!(
                    "`{word}` belongs under {}",
                    elsewhere
                        .iter()
                        .map(|section| header(section))
                        .collect::<Vec<_>>()
                        .join(" or ")
                ),
                (None, []) if sectionlike => format!(
                    "the sections are {}",
                    SCHEMA
                        .iter()
                        .filter(|(w, _)| !w.is_empty() && *w != "breaks")
                        .map(|(w, _)| header(w))
                        .collect::<Vec<_>>()
                        .join(", ")
                ),
                (None, []) => format!(
                    "these may stand here: {}",
                    known
                        .iter()
                        .filter(|k| !s.word.is_empty() || !SCHEMA.iter().any(|(w, _)| w == *k))
                        .map(|k| format!("`{k}`"))
                        .collect::<Vec<_>>()
                        .join(", ")
                ),
            };
            self.faults.push(Fault::new(key.place.clone(), what, "not known", cure));
        }
    }

    // -----------------------------------------------------------------------------------------------------------------
    // Faults

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

fn header(section: &str) -> String {
    if LISTS.contains(&section) {
        format!("[[{section}]]")
    } else {
        format!("[{section}]")
    }
}

/// How one of a list is called in messages.
pub(super) fn entry_title(what: &str, table: &Table) -> String {
    match table.get("name").map(|(_, n)| &n.value) {
        Some(Value::Text(name, _)) if !name.trim().is_empty() => format!("{what} {}", quoted(name)),
        _ => format!("a {what} without a name"),
    }
}

fn stem(file_name: &str) -> String {
    let stem = Path::new(file_name)
        .file_stem()
        .map_or_else(String::new, |s| s.to_string_lossy().into_owned());
    match stem.as_str() {
        "" | "-" => "untitled".to_owned(),
        _ => stem.chars().filter(|c| !c.is_control()).collect(),
    }
}
