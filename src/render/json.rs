//! Answers as JSON: every figure, unrounded, with its error. Hours in hours, money in the scenario's currency, shares as
//! fractions, what is infinite or undefined as `null`.

use crate::clean;

/// An answer's JSON: that of its serialised form.
pub trait Json {
    /// Every figure, unrounded, with its error; indented, with a line end after it.
    fn json(&self) -> String;
}

impl<A: serde::Serialize> Json for A {
    fn json(&self) -> String {
        // Writing plain structs of numbers and texts to memory cannot fail: no map has keys that are not texts.
        let mut text = serde_json::to_string_pretty(self).expect("plain data always has a JSON form");
        text.push('\n');
        clean::json(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::samples::{Shop, gallery};
    use serde_json::Value;

    fn keys(value: &Value) -> Vec<&str> {
        value.as_object().unwrap().keys().map(String::as_str).collect()
    }

    /// The documented keys; more may stand beside them.
    #[test]
    fn the_contract_holds() {
        let shop = Shop {
            spread: (0.1, 0.2),
            ..Shop::default()
        };
        let text = shop.sweep([1, 12]).json();
        assert!(text.ends_with("}\n"));
        let json: Value = serde_json::from_str(&text).unwrap();
        let has = |value: &Value, names: &[&str]| {
            for name in names {
                assert!(keys(value).contains(name), "{name} is missing in {:?}", keys(value));
            }
        };
        let top = [
            "title",
            "currency",
            "price",
            "target",
            "confidence",
            "trials",
            "seed",
            "version",
            "ceiling",
        ];
        has(&json, &top);
        has(&json, &["first_paying_size", "level_size", "sizes"]);
        let size = &json["sizes"][1];
        assert_eq!(size["size"], 12);
        has(
            size,
            &[
                "size",
                "good",
                "sold",
                "hours",
                "hours_per_piece",
                "setup_share",
                "profit",
                "rate",
                "reach",
            ],
        );
        has(size, &["floor", "floor_asked", "floor_long_run"]);
        for name in ["good", "sold"] {
            has(&size[name], &["mean", "se"]);
        }
        for name in ["hours", "profit"] {
            has(&size[name], &["mean", "se", "p10", "p50", "p90"]);
        }
        has(&size["hours_per_piece"], &["mean", "p10", "p50", "p90"]);
        has(&size["rate"], &["mean", "p10", "p50", "p90", "long_run", "long_run_se"]);
        has(&size["reach"], &["share", "low", "high"]);
        let floors = size["floor"].as_array().unwrap();
        assert_eq!(
            floors
                .iter()
                .map(|f| f["confidence"].as_f64().unwrap())
                .collect::<Vec<_>>(),
            [0.5, 0.8, 0.9]
        );
        for floor in floors.iter().chain([&size["floor_asked"]]) {
            has(floor, &["confidence", "price", "low", "high"]);
        }
    }

    #[test]
    fn what_is_infinite_or_missing_is_null() {
        let mut answer = gallery().into_iter().find(|g| g.0 == "hopeless_all").unwrap().1;
        answer.first_paying_size = None;
        answer.ceiling = f64::INFINITY;
        answer.sizes[0].rate.mean = f64::NAN;
        let json: Value = serde_json::from_str(&answer.json()).unwrap();
        assert!(json["first_paying_size"].is_null() && json["ceiling"].is_null());
        assert!(json["sizes"][0]["rate"]["mean"].is_null());
        assert!(json["sizes"][0]["floor"][2]["price"].is_null());
    }

    #[test]
    fn figures_read_back_to_the_bit() {
        let answer = Shop {
            spread: (0.1, 0.2),
            ..Shop::default()
        }
        .sweep([7]);
        let json: Value = serde_json::from_str(&answer.json()).unwrap();
        assert_eq!(
            json["sizes"][0]["rate"]["p50"].as_f64().unwrap().to_bits(),
            answer.sizes[0].rate.p50.to_bits()
        );
    }
}
