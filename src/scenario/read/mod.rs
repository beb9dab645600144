//! The strict reader: TOML tree in, checked [`Scenario`] or every fault out.
//!
//! What may stand where, and what a key takes, is said once, in [`super::keys`]. To add a key: an entry there and a line in its section's
//! function here. To add a section: its entry there and a function called from [`reader::Reader::scenario`].

mod bench;
mod materials;
mod misfortunes;
mod reader;
mod sale;
mod sections;
mod selling;
mod sizes;
mod steps;
mod top;

use super::Scenario;
use super::faults::{Fault, Faults, Source, SourceSpan};
use super::{overrides, toml};
use reader::Reader;

pub(crate) use sale::plain_sale;

/// What ISO 4217 keeps for "no currency".
pub(super) const NO_CURRENCY: &str = "XXX";

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
        overrides::override_source(flag, &names(key), value)
    }));
    let mut root = match toml::parse(text) {
        Ok(root) => root,
        Err(faults) => return Err(Faults::new(sources, faults)),
    };
    let mut faults = Vec::new();
    for (i, (key, value)) in overrides.iter().enumerate() {
        if let Err(fault) = overrides::plant(&mut root, i + 1, &names(key), value) {
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
                asked_once(&mut scenario, &as_written, overrides);
            }
            Ok(scenario)
        }
        _ => Err(Faults::new(sources, faults)),
    }
}

/// What another asked price leaves as the file tells it, which is `written`: buyers are those at the file's price, and a channel's own
/// price keeps its ratio to the list price, as it does in a price floor.
fn asked_once(scenario: &mut Scenario, written: &Scenario, overrides: &[(String, String)]) {
    if let (Some(season), Some(written)) = (&mut scenario.season, written.elastic_season()) {
        season.asked_at = written.asked_at;
    }
    let written = written.sale.price;
    // A name may have points in it.
    let bare = |part: &str| part.trim().trim_matches(['"', '\'']).to_owned();
    let given = |section: &str, name: &str| {
        overrides.iter().any(|(key, _)| {
            let parts = key.split_once('.').zip(key.rsplit_once('.'));
            parts.is_some_and(|((word, rest), (_, last))| {
                let owner = rest.rsplit_once('.').map_or("", |(owner, _)| owner);
                bare(word) == section && bare(owner) == name && bare(last) == "price"
            })
        })
    };
    let factor = scenario.sale.price / written;
    for channel in &mut scenario.channels {
        if channel.own_price && factor.is_finite() && !given("channel", &channel.name) {
            channel.sale.price *= factor;
        }
    }
    let of_channels = scenario.channels.iter_mut().map(|channel| &mut channel.sale);
    for sale in std::iter::once(&mut scenario.sale).chain(of_channels) {
        sale.single_price = sale
            .single_price
            .map(|price| if factor.is_finite() { price * factor } else { price });
    }
    for day in &mut scenario.selling_days {
        if day.own_price && factor.is_finite() && !given("selling_day", &day.name) {
            day.price *= factor;
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
