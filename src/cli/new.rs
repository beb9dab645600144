//! `new`: a scenario to start from, with every key explained.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{Stop, Streams};
use crate::files::{Destination, shown};

/// Writes a scenario to start from, with every key explained
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Print a starter:
    batchwright new batch
  Write one to a new file:
    batchwright new kiln-load --out mugs.toml
  The same by way of the shell:
    batchwright new bespoke > table.toml

Every key is explained where it is first met. Put your own figures in, then let `batchwright check` say
what was understood. A file that exists is never overwritten.")]
pub(super) struct New {
    /// What the work is like
    kind: Option<Kind>,
    /// Write it to this file, which must not exist yet, instead of printing it
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kind {
    /// Several pieces of one design, sold one by one
    Batch,
    /// Pieces that share firings, with losses
    KilnLoad,
    /// One large piece, or a few, made to order
    Bespoke,
}

impl Kind {
    const fn text(self) -> &'static str {
        match self {
            Self::Batch => include_str!("../scenario/starters/batch.toml"),
            Self::KilnLoad => include_str!("../scenario/starters/kiln-load.toml"),
            Self::Bespoke => include_str!("../scenario/starters/bespoke.toml"),
        }
    }
}

pub(super) fn run(command: &New, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let Some(kind) = command.kind else {
        let kinds = Kind::value_variants().iter().filter_map(ValueEnum::to_possible_value);
        let kinds = kinds.map(|kind| {
            let what = kind.get_help().map(ToString::to_string).unwrap_or_default();
            format!("\n  batchwright new {:9}  {what}", kind.get_name())
        });
        return Err(Stop::Wrote(format!(
            "batchwright: new: say what the work is like:{}",
            kinds.collect::<String>()
        )));
    };
    let text = kind.text();
    let Some(path) = &command.out else {
        return streams.answer(text);
    };
    let name = shown(path);
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

    /// A starter with the lines of the sections that `wanted` names ready to use: their # is taken away.
    fn with_sections(text: &str, wanted: impl Fn(&str) -> bool) -> String {
        let mut section = String::new();
        let ready = |line: &str| {
            line.strip_prefix('#')
                .filter(|rest| !rest.starts_with(' '))
                .map(str::to_owned)
        };
        let lines = text.lines().map(|line| match ready(line) {
            Some(code) => {
                if code.starts_with('[') {
                    code.trim_matches(['[', ']']).clone_into(&mut section);
                }
                // Some keys stand where they are used and belong to a section further down.
                let of = match code.split_whitespace().next() {
                    Some("second") => "seconds",
                    Some("channel") => "channel",
                    // What a channel may say, but not beside [steady].
                    Some("unsold" | "worn") => "on return",
                    _ => section.as_str(),
                };
                if wanted(of) { code } else { line.to_owned() }
            }
            None => line.to_owned(),
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    #[test]
    fn what_a_starter_holds_ready_can_be_used_alone_and_together() {
        let all = ["channel", "hours", "season", "steady", "jig", "misfortune", "seconds"];
        for kind in Kind::value_variants() {
            let read = |what: &str, text: &str| {
                scenario::read("starter", text, &[])
                    .unwrap_or_else(|faults| panic!("{kind:?}, {what}: {}", faults.render(false, 100)))
            };
            // What is made to order is made again until it is good: it has no seconds.
            let sections = &all[..all.len() - usize::from(*kind == Kind::Bespoke)];
            let there = |made: &scenario::Scenario| {
                [
                    !made.channels.is_empty(),
                    made.hours.is_some(),
                    made.season.is_some(),
                    made.steady.is_some(),
                    !made.jigs.is_empty(),
                    !made.misfortunes.is_empty(),
                    made.seconds.is_some(),
                ]
            };
            for (k, section) in sections.iter().enumerate() {
                let wanted = |s: &str| s == *section || (*section == "channel" && s == "on return");
                let made = read(section, &with_sections(kind.text(), wanted));
                let mut one = [false; 7];
                one[k] = true;
                assert_eq!(there(&made), one, "{kind:?} {section}");
                assert_eq!(
                    scenario::doubts::doubts(&made),
                    Vec::<String>::new(),
                    "{kind:?} {section}"
                );
            }
            // A selling day comes with a batch, and what sells all year has no last one; nor does it come back.
            for without in [&["season", "selling_day", "on return"][..], &["steady"]] {
                let made = read(without[0], &with_sections(kind.text(), |s| !without.contains(&s)));
                assert_eq!(
                    there(&made).iter().filter(|is| **is).count(),
                    sections.len() - 1,
                    "{kind:?} without {without:?}"
                );
            }
            // What is left over may be kept instead of sold off.
            let season = with_sections(kind.text(), |s| s == "season");
            let carried: Vec<String> = season
                .lines()
                .filter(|line| !line.starts_with("clearance"))
                .map(|line| {
                    line.strip_prefix("#   ")
                        .filter(|rest| rest.contains(" = "))
                        .unwrap_or(line)
                        .to_owned()
                })
                .skip_while(|line| !line.starts_with("title"))
                .collect();
            let made = read("carried", &carried.join("\n"));
            let kept = made.season.expect("a season").leftover;
            assert!(
                matches!(kept, scenario::Unsold::Carry { weeks, .. } if weeks == 26.0),
                "{kept:?}"
            );
        }
    }

    /// What the comments say that the shop keeps of 100, it keeps.
    #[test]
    fn a_starter_tells_what_the_shop_keeps() {
        for kind in Kind::value_variants() {
            let made = scenario::read("starter", kind.text(), &[]).expect("it reads");
            let [.., kept] = made.sale.shares_of_money();
            let said = format!("of 100 that a buyer pays, the shop keeps {:.2}", 100.0 * kept);
            assert!(kind.text().contains(&said), "{kind:?}: {said}");
        }
    }

    #[test]
    fn every_starter_reads_and_leaves_no_doubt() {
        for kind in Kind::value_variants() {
            let scenario = scenario::read("starter", kind.text(), &[]);
            let scenario = scenario.unwrap_or_else(|faults| panic!("{kind:?}: {}", faults.render(false, 100)));
            assert_eq!(scenario::doubts::doubts(&scenario), Vec::<String>::new(), "{kind:?}");
        }
    }
}
