//! What the file keeps of the times as they were guessed before a work log.

use super::{hands, plain_number, slashes};
use crate::render::spoken::spoken;
use crate::scenario::{Scenario, Spread, Varies};

/// "Before the first entry of the work log you guessed: setup of 'drill' 8 min / 12 min / 20 min. The log is read beside that."
pub(super) fn guessed(scenario: &Scenario) -> Option<String> {
    let mut list = Vec::new();
    let mut time = |section: &str, name: &str, key: &str, guess: &Option<Spread>| {
        if let Some(guess) = guess {
            list.push(format!(
                "{} {}",
                spoken(&format!("{section}.\"{name}\".{key}")),
                slashes(guess, hands)
            ));
        }
    };
    for step in &scenario.steps {
        let guess = &step.guessed;
        time("step", &step.name, "once", &guess.once);
        time("step", &step.name, "setup", &guess.setup);
        time("step", &step.name, "each", &guess.each);
        time("step", &step.name, "per_order", &guess.per_order);
    }
    for channel in &scenario.channels {
        time("channel", &channel.name, "per_order", &channel.guessed_per_order);
    }
    for step in &scenario.steps {
        list.extend(step.guessed.varies.map(|varies| {
            let by = match varies {
                Varies::Piece => "piece",
                Varies::Batch => "batch",
            };
            format!("'{}' differs from {by} to {by}", step.name)
        }));
    }
    let pace = scenario.guessed_pace.as_ref();
    list.extend(pace.map(|pace| format!("pace {}", slashes(pace, plain_number))));
    (!list.is_empty()).then(|| {
        format!(
            "Before the first entry of the work log you guessed: {}. The log is read beside that.",
            list.join("; ")
        )
    })
}
