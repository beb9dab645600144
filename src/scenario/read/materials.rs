//! `[[material]]`: what is bought and used up.

use crate::scenario::amounts::short;
use crate::scenario::faults::{Fault, SourceSpan, quoted};
use crate::scenario::keys;
use crate::scenario::overrides;
use crate::scenario::tree::{Table, Value};
use crate::scenario::{Break, Leftover, Material, Spread};

use super::reader::{Reader, Section, entry_title};

impl Reader<'_> {
    pub(super) fn materials(&mut self, top: &Section<'_>, step_names: &[String], channels: &[String]) -> Vec<Material> {
        let Some(list) = self.list(top, "material") else {
            return Vec::new();
        };
        let materials: Vec<Material> = list
            .iter()
            .map(|(table, place)| self.material(table, place, step_names, channels))
            .collect();
        self.unique(&list, "material", materials.iter().map(|m| m.name.as_str()));
        materials
    }

    fn material(&mut self, table: &Table, place: &SourceSpan, step_names: &[String], channels: &[String]) -> Material {
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
        let [per_piece, per_batch, per_round, per_order] = used.map(|key| self.certain(&s, key).unwrap_or(0.0));
        if s.get("price").is_none() {
            self.missing(&s, "price");
        }
        let (price, currency) = self.money(&s, "price").unwrap_or((Spread::ZERO, None));
        let breaks = self.breaks(&s, currency);
        let paid = self.money(&s, "paid");
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
            channel: self.one_channel(&s, channels),
            price,
            waste: self.amount(&s, "waste").unwrap_or(Spread::ZERO),
            pack: self.certain(&s, "pack"),
            leftover: self
                .choice(&s, "leftover", &[Leftover::Keep, Leftover::Lost])
                .unwrap_or(Leftover::Keep),
            breaks,
            paid: paid.map(|(spread, _)| spread.mean()),
            currency,
            at: self.step_of(&s, "at", step_names).unwrap_or(0),
        }
    }

    /// The one channel whose orders use it.
    fn one_channel(&mut self, s: &Section<'_>, channels: &[String]) -> Option<usize> {
        let name = self.text(s, "channel")?;
        let alone = ["per_piece", "per_batch", "per_round"];
        if let Some(key) = alone.into_iter().find(|key| s.get(key).is_some()) {
            self.at_value(
                s,
                key,
                "this goes into the pieces of all channels, and the material is for one alone".to_owned(),
                "not together with `channel`",
                "write what goes into an order as `per_order`, and the rest as a material of its own".to_owned(),
            );
        }
        let found = channels.iter().position(|known| *known == name);
        if let (None, Some(node)) = (found, s.get("channel")) {
            if channels.is_empty() {
                self.at_value(
                    s,
                    "channel",
                    format!("{} is no channel, because there is none", quoted(&name)),
                    "not known",
                    "leave `channel` out, or write each way of selling under a line `[[channel]]`".to_owned(),
                );
            } else {
                let fault = overrides::unknown_name(node.place.clone(), "channel", &name, channels);
                self.faults.extend(fault.map(|fault| Fault {
                    what: format!("{}: {}", s.owner("channel"), fault.what),
                    ..fault
                }));
            }
        }
        found
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
                word: keys::BREAKS,
                title: &title,
                table,
                place: &item.place,
            };
            self.unknown_keys(&b);
            let from = self.required(&b, "from");
            if b.get("price").is_none() {
                self.missing(&b, "price");
            }
            let price = self.money(&b, "price").map(|(price, other)| {
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
}
