//! `keys`: what may stand in a scenario, and what it means.

use clap::Args;

use super::{Stop, Streams};
use crate::render::keys::{asked, name, text};
use crate::scenario::keys::{SECTIONS, Section};

/// Says what may stand in a scenario, key by key, with an example of each
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Every key there is:
    batchwright keys
  Those of two sections:
    batchwright keys step sale
  As data, for a program:
    batchwright keys --json

`batchwright check` says what a file of yours was understood to mean.")]
pub(super) struct Keys {
    /// Only these sections: top, batch, step, ...; without any, all of them
    #[arg(value_name = "SECTION")]
    sections: Vec<String>,
    /// Print the table of keys as JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(command: &Keys, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let sections = asked(&command.sections).map_err(|unknown| {
        let of = |sections: &mut dyn Iterator<Item = &Section>| sections.map(name).collect::<Vec<_>>();
        let holds = |section: &&Section| section.keys.iter().any(|key| key.name == unknown);
        let holding = of(&mut SECTIONS.iter().filter(holds));
        Stop::Wrote(if holding.is_empty() {
            format!(
                "batchwright: there is no section `{unknown}`; the sections are {}",
                of(&mut SECTIONS.iter()).join(", ")
            )
        } else {
            format!(
                "batchwright: `{unknown}` is a key and no section; write batchwright keys {}",
                holding.join(" ")
            )
        })
    })?;
    if command.json {
        let json = serde_json::to_string_pretty(&sections);
        let json = json.map_err(|error| Stop::Refused(format!("the table of keys: {error}")))?;
        return streams.answer(&format!("{json}\n"));
    }
    streams.answer(&text(&sections, streams.screen.columns))
}
