//! The top of the file, and sections that stand once and say little.

use std::path::Path;

use crate::scenario::amounts;
use crate::scenario::amounts::short;
use crate::scenario::faults::{Fault, SourceSpan, quoted};
use crate::scenario::keys::{Measure, Rule};
use crate::scenario::tree::{Node, Table};
use crate::scenario::{Batch, Currency, Helper, Offered, Scenario, Shop, Spoiled, Spread, Step};

use super::reader::{Reader, Section};
use super::{NO_CURRENCY, sizes};

impl Reader<'_> {
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
        let [description, maker, contact] = ["description", "maker", "contact"].map(|key| self.text(&top, key));
        let currency = self.currency(&top);
        self.own_currency = if is_code(&currency) {
            currency.clone()
        } else {
            String::new()
        };
        let currencies = self.currencies(&top);
        self.currencies = currencies.iter().map(|c| c.code.clone()).collect();
        let target_per_hour = self.required(&top, "target");
        let confidence = self.certain(&top, "confidence").unwrap_or(0.8);

        let batch = self.batch(&top);
        let (pace, guessed_pace) = self.pace(&top);
        let (steps, step_names) = self.steps(&top);
        let sale = self.sale(&top);
        let channels = self.channels(&top, sale.as_ref());
        let channel_names: Vec<String> = channels.iter().map(|channel| channel.name.clone()).collect();
        let selling_days = self.selling_days(&top, sale.as_ref());
        let materials = self.materials(&top, &step_names, &channel_names);
        let seconds = self.seconds(&top, sale.as_ref(), &steps, batch.spoiled);
        let shop = self.shop(&top);
        let season = self.season(&top, sale.as_ref().map_or(0.0, |sale| sale.price));
        let steady = self.steady(&top, &channels);
        let hours = self.hours(&top);
        let helper = self.section(&top, "helper", "[helper]").and_then(|s| {
            let wage = self.required(&s, "wage")?;
            Some(Helper { wage })
        });
        let jigs = self.jigs(&top, &steps, &step_names);

        if batch.spoiled == Spoiled::Remake {
            self.remake_ends(&top, &steps);
        }
        let misfortunes = self.misfortunes(&top);
        Some(Scenario {
            title,
            offered: Offered {
                description,
                maker,
                contact,
            },
            currency,
            target_per_hour: target_per_hour?,
            confidence,
            batch,
            pace,
            guessed_pace,
            steps,
            materials,
            sale: sale?,
            shop,
            channels,
            selling_days,
            seconds,
            currencies,
            season,
            steady,
            hours,
            helper,
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
            let what = if !is_code(code) {
                format!("{} is not a currency code (ISO 4217)", quoted(code))
            } else if *code == self.own_currency {
                format!("{code} is the scenario's own currency, worth 1 of itself")
            } else {
                let rate = amounts::read(node, Rule::positive(Measure::Number), self.sources).unwrap_or_else(|flaws| {
                    let owner = format!("`{code}` of [currencies]");
                    self.faults.extend(flaws.into_iter().map(|f| f.of(&owner)));
                    // It is written all the same: amounts in it have no fault of their own.
                    Spread::Certain(1.0)
                });
                found.push(Currency {
                    code: code.clone(),
                    rate,
                });
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
        if !is_code(&code) {
            let upper = code.trim().to_ascii_uppercase();
            let cure = if is_code(&upper) {
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
        if let Some(spoiled) = self.choice(&section, "spoiled", &[Spoiled::Short, Spoiled::Remake]) {
            batch.spoiled = spoiled;
        }
        if let Some(runs) = self.count(&section, "runs") {
            batch.runs = runs;
        }
        batch
    }

    /// The pace, and what was guessed of it before.
    fn pace(&mut self, top: &Section<'_>) -> (Spread, Option<Spread>) {
        let Some(section) = self.section(top, "pace", "[pace]") else {
            return (Spread::Certain(1.0), None);
        };
        let [pace, guessed] = ["factor", "guessed_factor"].map(|key| self.amount(&section, key));
        (pace.unwrap_or(Spread::Certain(1.0)), guessed)
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
        shop.per_hour = self.certain(&s, "per_hour").unwrap_or(0.0);
        shop.per_month = self.certain(&s, "per_month").unwrap_or(0.0);
        shop.hours_per_month = self.certain(&s, "hours_per_month").unwrap_or(0.0);
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

    /// With `remake` a batch goes on until enough pieces are good, which must be in sight.
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
}

/// Whether a text looks like a code of ISO 4217.
fn is_code(text: &str) -> bool {
    text.len() == 3 && text.bytes().all(|b| b.is_ascii_uppercase())
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
