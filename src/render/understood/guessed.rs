//! What the file keeps of the times as they were guessed before a work log.

use super::{PartLine, hands, part_columns, plain_number, shape, three};
use crate::render::columns::{Declared, Table};
use crate::scenario::{Scenario, Spread, Varies};

/// A row for each guess; nothing where the file keeps none.
pub(super) fn guessed(scenario: &Scenario) -> Option<Box<dyn Declared + '_>> {
    let rows = guesses(scenario);
    let name = "What you guessed before the work log";
    let table = |rows| Table::new(name, &(), "", rows, part_columns("guess of", false)).titled(true);
    (!rows.is_empty()).then(|| Box::new(table(rows)) as Box<_>)
}

fn guesses(scenario: &Scenario) -> Vec<PartLine<'_>> {
    let mut rows = Vec::new();
    for step in &scenario.steps {
        let guess = &step.guessed;
        rows.extend(time(&step.name, "once", guess.once.as_ref()));
        rows.extend(time(&step.name, "setup", guess.setup.as_ref()));
        rows.extend(time(&step.name, "each", guess.each.as_ref()));
        rows.extend(time(&step.name, "per order", guess.per_order.as_ref()));
        rows.extend(guess.varies.map(|varies| {
            PartLine {
                of: &step.name,
                part: "differs",
                three: Default::default(),
                besides: match varies {
                    Varies::Piece => "from piece to piece",
                    Varies::Batch => "from batch to batch",
                }
                .to_owned(),
            }
        }));
    }
    for channel in &scenario.channels {
        rows.extend(time(&channel.name, "per order", channel.guessed_per_order.as_ref()));
    }
    rows.extend(scenario.guessed_pace.as_ref().map(|pace| PartLine {
        of: "all times",
        part: "pace",
        three: three(pace, plain_number),
        besides: shape(pace),
    }));
    rows
}

fn time<'a>(of: &'a str, part: &'static str, guess: Option<&Spread>) -> Option<PartLine<'a>> {
    guess.map(|guess| PartLine {
        of,
        part,
        three: three(guess, hands),
        besides: shape(guess),
    })
}
