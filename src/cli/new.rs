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

Every key is explained where it is first met. Put your own figures in, then let `batchwright check` say \
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

    /// A starter with the lines ready to use that `wanted` names: their # is taken away. A line belongs to the section that is ready above
    /// it; beside what is there already it goes by its own key.
    fn with_parts(text: &str, wanted: impl Fn(&str) -> bool) -> String {
        let mut section = String::new();
        let ready = |line: &str| {
            line.strip_prefix('#')
                .filter(|rest| !rest.starts_with(' ') && !rest.is_empty())
                .map(str::to_owned)
        };
        let lines = text.lines().map(|line| {
            let code = ready(line);
            if line.starts_with('[') {
                section.clear();
            } else if let Some(code) = code.as_ref().filter(|code| code.starts_with('[')) {
                code.trim_matches(['[', ']']).clone_into(&mut section);
            }
            let Some(code) = code else { return line.to_owned() };
            // Some keys stand where they are used and say nothing alone.
            let of = match code.split_whitespace().next() {
                Some("second") => "seconds",
                Some("channel") => "channel",
                Some("done_by") => "helper",
                // What a channel may say, but not beside [steady].
                Some("unsold" | "worn") => "on return",
                Some("single_price") => "set_of",
                Some("quote_won") => "quote",
                Some("enquiry_bought") => "enquiry",
                Some(key) if section.is_empty() => key,
                _ => section.as_str(),
            };
            if wanted(of) { code } else { line.to_owned() }
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    /// What a starter holds ready, once each, in its order.
    fn parts(text: &str) -> Vec<String> {
        let found = std::cell::RefCell::new(Vec::<String>::new());
        with_parts(text, |part| {
            let mut found = found.borrow_mut();
            if !found.iter().any(|known| known == part) {
                found.push(part.to_owned());
            }
            false
        });
        found.into_inner()
    }

    fn read(what: &str, text: &str) -> scenario::Scenario {
        scenario::read("starter", text, &[]).unwrap_or_else(|faults| panic!("{what}: {}", faults.render(false, 100)))
    }

    #[test]
    fn every_starter_holds_the_parts_ready_that_its_work_may_need() {
        let all = [
            "channel",
            "selling_day",
            "helper",
            "hours",
            "season",
            "steady",
            "jig",
            "misfortune",
            "tip",
        ];
        for kind in Kind::value_variants() {
            let parts = parts(kind.text());
            let own: &[&str] = match kind {
                Kind::Batch => &["seconds", "on return", "as_new"],
                Kind::KilnLoad => &["seconds", "on return", "as_new", "others", "set_of"],
                // What is made to order is made again until it is good: it has no seconds.
                Kind::Bespoke => &["quote", "enquiry"],
            };
            let mut missing = all.iter().chain(own).filter(|part| !parts.iter().any(|p| p == *part));
            assert_eq!(missing.next(), None, "{kind:?}");
            assert_eq!(parts.len(), all.len() + own.len(), "{kind:?}: {parts:?}");
        }
    }

    #[test]
    fn what_a_starter_holds_ready_can_be_used_alone_and_together() {
        let there = |made: &scenario::Scenario| {
            let mut there = Vec::new();
            let sale = &made.sale;
            for (part, is) in [
                ("channel", !made.channels.is_empty()),
                ("selling_day", !made.selling_days.is_empty()),
                ("helper", made.steps.iter().any(|step| step.helped)),
                ("hours", made.hours.is_some()),
                ("season", made.season.is_some()),
                ("steady", made.steady.is_some()),
                ("jig", !made.jigs.is_empty()),
                ("misfortune", !made.misfortunes.is_empty()),
                ("seconds", made.seconds.is_some()),
                ("on return", made.on_return().next().is_some()),
                ("others", made.steps.iter().any(|step| step.others > 0.0)),
                ("tip", !sale.tip.is_zero()),
                ("as_new", sale.as_new > 0.0),
                ("set_of", sale.set_of > 1),
                ("quote", !sale.quote.minutes.is_zero()),
                ("enquiry", !sale.enquiry.minutes.is_zero()),
            ] {
                if is {
                    there.push(part.to_owned());
                }
            }
            there.sort();
            there
        };
        for kind in Kind::value_variants() {
            let parts = parts(kind.text());
            for part in &parts {
                // A channel comes with what it may say.
                let along = if part == "on return" { "channel" } else { part };
                let made = read(part, &with_parts(kind.text(), |p| p == part || p == along));
                let mut due = vec![part.clone()];
                if along != part {
                    due.push(along.to_owned());
                    due.sort();
                }
                assert_eq!(there(&made), due, "{kind:?} {part}");
                assert_eq!(
                    crate::model::doubts::doubts(&made),
                    Vec::<String>::new(),
                    "{kind:?} {part}"
                );
            }
            // A selling day comes with a batch, and what sells all year has no last one; nor does it come back. What goes on sale or return
            // makes no sets.
            for without in [
                &["season", "selling_day", "on return"][..],
                &["steady", "set_of"],
                &["steady", "on return"],
            ] {
                let made = read(without[0], &with_parts(kind.text(), |s| !without.contains(&s)));
                let mut due: Vec<String> = parts
                    .iter()
                    .filter(|p| !without.contains(&p.as_str()))
                    .cloned()
                    .collect();
                due.sort();
                assert_eq!(there(&made), due, "{kind:?} without {without:?}");
            }
            // What is left over may be kept instead of sold off.
            let season = with_parts(kind.text(), |s| s == "season");
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

    /// A key has a comment behind it where it is first met; names say themselves what they are, and a misfortune's changes stand under
    /// the comment on them.
    #[test]
    fn every_key_of_a_starter_is_explained_where_it_is_first_met() {
        for kind in Kind::value_variants() {
            let mut met = vec!["title", "name", "changes"];
            for line in kind.text().lines() {
                let code = line.strip_prefix('#').unwrap_or(line);
                let Some((key, value)) = code.split_once('=') else {
                    continue;
                };
                let key = key.trim_end();
                if key.is_empty()
                    || !key.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b'_')
                    || met.contains(&key)
                {
                    continue;
                }
                assert!(value.contains(" # "), "{kind:?}: {line}");
                met.push(key);
            }
            assert!(met.len() > 50, "{kind:?}: {}", met.len());
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
            assert_eq!(
                crate::model::doubts::doubts(&scenario),
                Vec::<String>::new(),
                "{kind:?}"
            );
        }
    }
}
