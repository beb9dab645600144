//! What the file keeps of the times as they were guessed before a work log.

use super::{hands, plain_number, shape, three, three_columns};
use crate::render::columns::{Columns, Declared, Table};
use crate::scenario::{Scenario, Spread, Varies};

/// One guess.
struct Guess<'a> {
    /// The step or the channel.
    of: &'a str,
    part: &'static str,
    /// Low, likely and high.
    three: [String; 3],
    besides: String,
}

/// A row for each guess; nothing where the file keeps none.
pub(super) fn guessed(scenario: &Scenario) -> Option<Box<dyn Declared + '_>> {
    let rows = guesses(scenario);
    if rows.is_empty() {
        return None;
    }
    let mut c: Columns<'_, Guess<'_>> = Columns::default();
    c.said("of", move |guess| guess.of.into())
        .plain("guess of")
        .once()
        .breaks(12);
    c.said("part", move |guess| guess.part.into()).plain("part");
    three_columns(&mut c, false, |guess| &guess.three);
    c.said("besides", move |guess| guess.besides.as_str().into())
        .plain("besides")
        .breaks(14);
    let table = Table::new("What you guessed before the work log", &(), "", rows, c);
    Some(Box::new(table.titled(true)))
}

fn guesses(scenario: &Scenario) -> Vec<Guess<'_>> {
    let mut rows = Vec::new();
    for step in &scenario.steps {
        let guess = &step.guessed;
        rows.extend(time(&step.name, "once", guess.once.as_ref()));
        rows.extend(time(&step.name, "setup", guess.setup.as_ref()));
        rows.extend(time(&step.name, "each", guess.each.as_ref()));
        rows.extend(time(&step.name, "per order", guess.per_order.as_ref()));
        rows.extend(guess.varies.map(|varies| {
            Guess {
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
    rows.extend(scenario.guessed_pace.as_ref().map(|pace| Guess {
        of: "all times",
        part: "pace",
        three: three(pace, plain_number),
        besides: shape(pace),
    }));
    rows
}

fn time<'a>(of: &'a str, part: &'static str, guess: Option<&Spread>) -> Option<Guess<'a>> {
    guess.map(|guess| Guess {
        of,
        part,
        three: three(guess, hands),
        besides: shape(guess),
    })
}
