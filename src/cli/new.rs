//! `new`: a commented starter scenario.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{Stop, Streams};
use crate::files::Destination;

/// Write a commented starter scenario
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  batchwright new small-run                      print it
  batchwright new kiln-load --out mugs.toml      write it; an existing file is never overwritten
  batchwright new bespoke > table.toml")]
pub(super) struct New {
    /// What the work is like
    kind: Kind,
    /// Write to this file instead of standard output; refused if it exists
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kind {
    /// Several pieces of one design, sold one by one
    SmallRun,
    /// Pieces that share firings, with losses
    KilnLoad,
    /// One large piece, or a few, made to order
    Bespoke,
}

impl Kind {
    const fn text(self) -> &'static str {
        match self {
            Self::SmallRun => include_str!("../scenario/starters/small-run.toml"),
            Self::KilnLoad => include_str!("../scenario/starters/kiln-load.toml"),
            Self::Bespoke => include_str!("../scenario/starters/bespoke.toml"),
        }
    }
}

pub(super) fn run(command: &New, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let text = command.kind.text();
    let Some(path) = &command.out else {
        return streams.answer(text);
    };
    let name = path.display();
    // A link that leads nowhere counts as being there.
    if path.symlink_metadata().is_ok_and(|found| !found.is_dir()) {
        return Err(Stop::Wrote(format!(
            "batchwright: {name} exists and is left as it is; choose another name for --out"
        )));
    }
    Destination::open(path)?.stage(text.as_bytes())?.place_new()?;
    streams.remark(&format!(
        "Wrote {name}. Put in your own figures, then: batchwright check {name}"
    ));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario;

    #[test]
    fn every_starter_reads_and_leaves_no_doubt() {
        for kind in Kind::value_variants() {
            let scenario = scenario::read("starter", kind.text(), &[]);
            let scenario = scenario.unwrap_or_else(|faults| panic!("{kind:?}: {}", faults.render(false, 100)));
            assert_eq!(scenario::doubts::doubts(&scenario), Vec::<String>::new(), "{kind:?}");
        }
    }
}
