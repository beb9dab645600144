//! Estimates from a work log in words, tables, JSON and CSV.

mod plot;

use super::figure;
use super::format::{chances_beside, count, hours, minutes, plain_interval, ratio, share};
use super::grid::{Across, Grid, Hand};
use super::plot::Plot;
use super::words::capital;
use super::{Render, csv, json, text};
use crate::worklog::fit::{Chance, ENOUGH, ENOUGH_JOBS, FEW, Fit, From, How, Part, Range, Says, StepFit, Weights};

/// Steps the verdict tells one by one, at most.
const TOLD: usize = 3;
/// Within this share of what was expected it is as expected (assumption).
const AS_EXPECTED: f64 = 0.05;

impl Render for Fit {
    fn page(&self, look: &text::Look) -> text::Page {
        text::Page {
            title: self.title.clone(),
            opening: verdict(self),
            why: Vec::new(),
            tables: vec![parts(self, look)],
            more: Vec::new(),
            small: small_print(self),
            care: "A fair figure is what the work takes with guards on and glue left its time, not the fastest it was ever done."
                .to_owned(),
        }
    }

    fn json(&self) -> String {
        json::pretty(self)
    }

    fn csv(&self) -> String {
        table(self)
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

/// "15 % more than", "about as much as".
fn against(actual: f64, expected: f64) -> String {
    let off = actual / expected - 1.0;
    if off.abs() < AS_EXPECTED {
        "about what".to_owned()
    } else if off > 0.0 {
        format!("{} more than", share(off))
    } else {
        format!("{} less than", share(-off))
    }
}

/// One sentence for a chart.
#[must_use]
pub fn headline(fit: &Fit) -> String {
    if fit.entries == 0 || fit.expected <= 0.0 {
        return "The log has no entries at these steps".to_owned();
    }
    format!(
        "The work took {} the file expects: {}, expected {}",
        against(fit.minutes, fit.expected),
        hours(fit.minutes / 60.0),
        hours(fit.expected / 60.0)
    )
}

/// A few sentences: the whole, the steps that differ most, jobs, losses.
#[must_use]
pub fn verdict(fit: &Fit) -> Vec<String> {
    if fit.entries == 0 {
        return vec![
            "The log has no entries at the steps of this scenario, so nothing can be learned from it.".to_owned(),
        ];
    }
    let mut said = Vec::new();
    if fit.expected > 0.0 {
        said.push(format!(
            "In {} the work took {}, {} the file expects ({}).",
            entries(fit.entries),
            hours(fit.minutes / 60.0),
            against(fit.minutes, fit.expected),
            hours(fit.expected / 60.0)
        ));
    }
    let mut order: Vec<&StepFit> = fit.steps.iter().filter(|s| s.entries > 0).collect();
    order.sort_by(|a, b| {
        (b.minutes - b.expected)
            .abs()
            .total_cmp(&(a.minutes - a.expected).abs())
    });
    let differ: Vec<&&StepFit> = order.iter().filter(|s| s.parts.iter().any(differs)).collect();
    said.extend(differ.iter().take(TOLD).map(|s| told(s)));
    let more = differ.len().saturating_sub(TOLD);
    if more > 0 {
        let (steps, them) = if more == 1 {
            ("step differs", "it")
        } else {
            ("steps differ", "them")
        };
        said.push(format!(
            "{} more {steps} from the file; the table has {them}.",
            count(more as u64)
        ));
    }
    if differ.is_empty() {
        let other: Vec<&StepFit> = order
            .iter()
            .copied()
            .filter(|s| s.parts.iter().any(|p| p.from == From::SpreadAlone))
            .collect();
        said.push(if other.is_empty() {
            "No step differs from the file by more than chance would have it.".to_owned()
        } else {
            format!(
                "No step differs from the file on average by more than chance would have it, but times vary otherwise than it says \
                 at {}.",
                names(&other)
            )
        });
    }
    for step in &fit.steps {
        let name = step_name(step);
        if let Some(c) = step.spoil.filter(|c| c.contradicts) {
            let [found, ends, named] = beside(&c);
            said.push(format!(
                "{name}: {} of {} pieces {} spoiled, {found} (95 %: {ends}), not {named}.",
                count(c.times),
                count(c.of),
                if c.times == 1 { "was" } else { "were" },
            ));
        }
        if let Some(c) = step.redo.filter(|c| c.contradicts) {
            let [found, ends, named] = beside(&c);
            said.push(format!(
                "{name}: done again {} in {}, {found} (95 %: {ends}), not {named}.",
                if c.times == 1 {
                    "once".to_owned()
                } else {
                    format!("{} times", count(c.times))
                },
                count(c.of),
            ));
        }
    }
    said.extend(jobs(fit));
    said
}

/// A chance by counting, its interval and the file's.
fn beside(c: &Chance) -> [String; 3] {
    chances_beside(c.share.share, (c.share.low, c.share.high), c.was)
}

fn entries(n: usize) -> String {
    if n == 1 {
        "1 entry".to_owned()
    } else {
        format!("{} entries", count(n as u64))
    }
}

fn step_name(step: &StepFit) -> String {
    capital(&text::printable(&step.name))
}

/// Whether the log is sure enough that a part is not what the file expects.
fn differs(part: &Part) -> bool {
    part.says == Says::Differs
}

/// "Glue pegs took 4.9 min a piece (95 %: 4.6 to 5.2), not 4.1; setup as expected."
fn told(step: &StepFit) -> String {
    // Of one size, or of too few entries, only the sum is known to be off.
    if step.parts.iter().any(|p| differs(p) && p.from == From::Ratio) && step.expected > 0.0 {
        let off = step.minutes / step.expected - 1.0;
        return format!(
            "{} took {} in {}, {} {} than the file expects.",
            step_name(step),
            hours(step.minutes / 60.0),
            entries(step.entries),
            share(off.abs()),
            if off > 0.0 { "more" } else { "less" }
        );
    }
    let mut unlike = Vec::new();
    let mut alike = Vec::new();
    let mut left = Vec::new();
    for part in &step.parts {
        let Some(found) = part.found else { continue };
        if differs(part) {
            let ends = match (found.low, found.high) {
                (Some(low), Some(high)) => {
                    format!(" (95 %: {})", plain_interval(&minutes(low.max(0.0)), &minutes(high)))
                }
                _ => String::new(),
            };
            unlike.push(format!(
                "{} min {}{ends}, not {}",
                minutes(found.value),
                unit_words(part.key),
                minutes(part.expected)
            ));
        } else if part.says == Says::CannotTell {
            left.push(part_words(part.key));
        } else if found.low.is_some() {
            alike.push(part_words(part.key));
        }
    }
    let mut rest = String::new();
    if !alike.is_empty() {
        rest.push_str(&format!("; {} as expected", alike.join(" and ")));
    }
    if !left.is_empty() {
        rest.push_str(&format!("; {} taken as in the file", left.join(" and ")));
    }
    format!("{} took {}{rest}.", step_name(step), unlike.join(", and "))
}

fn unit_words(key: &str) -> &'static str {
    match key {
        "setup" => "of setup",
        "each" => "a piece",
        "per_order" => "an order",
        _ => "once",
    }
}

fn part_words(key: &str) -> &'static str {
    match key {
        "setup" => "setup",
        "each" => "the time a piece",
        "per_order" => "the time an order",
        _ => "what is done once",
    }
}

fn jobs(fit: &Fit) -> Option<String> {
    let pace = &fit.pace;
    let found = pace.ratio?;
    let n = pace.jobs.len();
    let name = if n == 1 {
        "The one job".to_owned()
    } else {
        format!("The {} jobs", count(n as u64))
    };
    let ends = pace.tenths.filter(|_| n >= ENOUGH_JOBS).map_or_else(String::new, |t| {
        format!(
            ", eight in ten of them {} times",
            plain_interval(&ratio(t[0]), &ratio(t[2]))
        )
    });
    let file = format!("the file's pace is {} on average", ratio(pace.was.mean));
    Some(format!(
        "{name} took {} times what the steps say{ends}; {file}.",
        ratio(found.value)
    ))
}

fn parts(fit: &Fit, look: &text::Look) -> Grid {
    let room = look.letters(look.columns.saturating_sub(72).clamp(12, 30));
    let mut rows = Vec::new();
    for step in fit.steps.iter().filter(|s| !s.parts.is_empty()) {
        for (k, part) in step.parts.iter().enumerate() {
            let name = if k == 0 {
                text::cut(&step.name, room)
            } else {
                String::new()
            };
            let (says, ends) = part.found.map_or((figure::nothing(), String::new()), |f| {
                let ends = f.low.zip(f.high).map_or_else(String::new, |(low, high)| {
                    plain_interval(&minutes(low.max(0.0)), &minutes(high))
                });
                (figure::minutes(f.value), ends)
            });
            let mut row = vec![
                name.into(),
                part.key.into(),
                figure::count(part.entries as u64),
                figure::minutes(part.expected),
                says,
                ends.into(),
            ];
            row.extend(if part.from == From::File {
                [figure::nothing(), "stays".into(), figure::nothing()]
            } else {
                [part.new.p10, part.new.mean, part.new.p90].map(figure::minutes)
            });
            rows.push(row);
        }
    }
    let pace = &fit.pace;
    if let Some(found) = pace.ratio {
        let new = pace.new.map_or_else(
            || [figure::nothing(), "stays".into(), figure::nothing()],
            |n| [n.p10, n.mean, n.p90].map(figure::ratio),
        );
        let ends = found.low.zip(found.high).map_or_else(String::new, |(low, high)| {
            plain_interval(&ratio(low.max(0.0)), &ratio(high))
        });
        let mut row = vec![
            "pace".into(),
            "factor".into(),
            figure::count(pace.jobs.len() as u64),
            figure::ratio(pace.was.mean),
            figure::ratio(found.value),
            ends.into(),
        ];
        row.extend(new);
        rows.push(row);
    }
    let heads = [
        "\n",
        "\n",
        "\nentries",
        "file expects\nmin",
        "log says\nmin",
        "\n95 %",
        "new\n10 %",
        "min\nmean",
        "\n90 %",
    ];
    Hand {
        name: "Step by step".to_owned(),
        across: vec![Across::new(6, 3, "new min")],
        heads: heads.map(String::from).to_vec(),
        rows,
        left: 2,
        marked: None,
        ..Hand::default()
    }
    .grid()
}

fn names(steps: &[&StepFit]) -> String {
    let list: Vec<String> = steps.iter().map(|s| text::printable(&s.name)).collect();
    match list.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => list.join(""),
    }
}

fn small_print(fit: &Fit) -> Vec<String> {
    let mut said = Vec::new();
    let with = |want: &dyn Fn(&StepFit) -> bool| -> Vec<&StepFit> { fit.steps.iter().filter(|s| want(s)).collect() };
    let how = |how: How| with(&|s| s.work.as_ref().is_some_and(|w| w.how == how));
    let mut tell = |steps: Vec<&StepFit>, text: &dyn Fn(&str) -> String| {
        if !steps.is_empty() {
            said.push(text(&names(&steps)));
        }
    };
    // Where it is left as the file has it, nothing was dropped.
    let dropped = |of: How, key: &'static str| {
        with(&|s| {
            s.work.as_ref().is_some_and(|w| w.how == of) && s.parts.iter().any(|p| p.key == key && p.from != From::File)
        })
    };
    tell(dropped(How::SetupBelowNothing, "setup"), &|n| {
        format!("Setup came out below nothing at {n}; it was fitted again without any.")
    });
    tell(dropped(How::EachBelowNothing, "each"), &|n| {
        format!("The time a piece came out below nothing at {n}; it was fitted again without any.")
    });
    for step in how(How::OneSize) {
        let total = step.work.as_ref().and_then(|w| w.total).map_or_else(String::new, |t| {
            let ends = t
                .minutes
                .low
                .zip(t.minutes.high)
                .map_or_else(String::new, |(low, high)| {
                    format!(" (95 %: {})", plain_interval(&minutes(low.max(0.0)), &minutes(high)))
                });
            format!(
                ", {} min for {}{ends}, expected {}",
                minutes(t.minutes.value),
                count(t.pieces.into()),
                minutes(t.expected)
            )
        });
        let so = if step.parts.iter().any(|p| p.from == From::Ratio) {
            "keep their proportion"
        } else {
            "stay as they are"
        };
        tell(vec![step], &|n| {
            format!(
                "All entries at {n} are of one size: only their total is known{total}. Setup and the time a piece {so}; time a run \
                 of another size to tell them apart."
            )
        });
    }
    tell(
        with(&|s| s.work.as_ref().is_some_and(|w| w.freedom == 0 && w.how != How::OneSize)),
        &|n| format!("As many figures as entries at {n}: no error can be given."),
    );
    let scaled = |s: &StepFit| s.parts.iter().any(|p| p.from == From::Ratio && p.found.is_some());
    tell(with(&scaled), &|n| {
        format!("Fewer than {FEW} entries at {n}: the new range is the file's, times actual over expected.")
    });
    let few = |s: &StepFit| match &s.work {
        Some(work) => work.entries < FEW && work.how != How::OneSize,
        None => s.parts.iter().all(|p| p.entries < FEW),
    };
    tell(
        with(&|s| few(s) && s.parts.iter().any(|p| p.from == From::File)),
        &|n| {
            format!(
                "Fewer than {FEW} entries at {n}, no further off than the file's own ranges and pace allow: nothing is changed there."
            )
        },
    );
    tell(with(&|s| !few(s) && unclear(s)), &|n| {
        format!(
            "Setup and pieces are hard to tell apart at {n}: what the log cannot tell from nothing stays as the file has it. Time a \
             few setups alone (what = setup), or runs of very different sizes."
        )
    });
    tell(
        with(&|s| of_work(s).count() == 2 && of_work(s).any(differs) && of_work(s).any(|p| p.from == From::File)),
        &|n| {
            format!("Of setup and the time a piece at {n} one stays as the file has it; the other is fitted beside it.")
        },
    );
    let spread = |more: bool| {
        with(&|s| {
            let other = |p: &Part| p.from == From::SpreadAlone && (wide(&p.new) > wide(&p.was)) == more;
            s.parts.iter().any(other)
        })
    };
    for (more, word) in [(true, "more"), (false, "less")] {
        tell(spread(more), &|n| {
            format!(
                "Entries vary {word} than the file's ranges and pace make them at {n}: means stay, ranges get the log's spread."
            )
        });
    }
    tell(with(&|s| s.parts.iter().any(|p| p.from == From::Mean)), &|n| {
        format!("Fewer than {ENOUGH} entries at {n}: the new mean is the log's, the spread the file's.")
    });
    tell(
        with(&|s| s.work.as_ref().is_some_and(|w| w.weights == Weights::Growing)),
        &|n| format!("Entries vary the more the more pieces they have at {n}, and count accordingly."),
    );
    tell(with(&|s| s.parts.iter().any(|p| p.from == From::Logged)), &|n| {
        format!("Times are kept as they were logged at {n}, each equally likely to come again.")
    });
    tell(with(&|s| s.left_out > 0), &|n| {
        format!("Entries in which the piece was done again are left out of them at {n}.")
    });
    let without = with(&|s| s.parts.is_empty());
    tell(without.clone(), &|n| format!("No entries: {n}."));
    let stays = fit.steps.iter().flat_map(|s| &s.parts).any(|p| p.from == From::File);
    if fit.complete && !stays {
        if fit.pace.beyond_steps == Some(0.0) {
            said.push("Jobs differ no more than their steps do: with the new estimates the pace is 1.".to_owned());
        } else if fit.pace.new.is_some() {
            let from = if fit.pace.beyond_steps.is_some() {
                "what jobs differ by beyond their steps"
            } else {
                "the file's, as fewer than 5 jobs are named"
            };
            said.push(format!(
                "New times are as measured, so the new pace is 1 on average; its spread is {from}."
            ));
        }
    } else if (fit.pace_kept - 1.0).abs() > 0.005
        && fit.steps.iter().flat_map(|s| &s.parts).any(|p| p.from != From::File)
    {
        said.push(format!(
            "Some times {}, so the pace stays {} on average, and new times are what was measured over it: together they give what \
             was measured.",
            if fit.complete { "stay as they are" } else { "have no entries" },
            ratio(fit.pace_kept)
        ));
    }
    if stays && fit.pace.new.is_some() {
        said.push("Jobs differ otherwise than the file's pace and the steps make them: the pace's mean stays, its spread is new.".to_owned());
    }
    let spoilt: Vec<String> = fit
        .steps
        .iter()
        .flat_map(|s| {
            [("spoiled", s.spoil), ("redone", s.redo)]
                .into_iter()
                .filter_map(move |(word, c)| c.map(|c| (s, word, c)))
        })
        .filter(|(_, _, c)| !c.contradicts)
        .map(|(s, word, c)| {
            let [_, ends, named] = beside(&c);
            format!(
                "{} {} of {} {word} (95 %: {ends}; the file's {named} stays)",
                text::printable(&s.name),
                count(c.times),
                count(c.of),
            )
        })
        .collect();
    if !spoilt.is_empty() {
        said.push(format!("Chances the log does not contradict: {}.", spoilt.join("; ")));
    }
    said.push(format!(
        "File expects: its mean times its pace. 95 %: Student's t; of chances exact (Clopper and Pearson). --write puts the new figures \
         into the file; what the log does not contradict stays. batchwright {}.",
        fit.version
    ));
    said
}

fn of_work(step: &StepFit) -> impl Iterator<Item = &Part> {
    step.parts.iter().filter(|p| matches!(p.key, "setup" | "each"))
}

/// Whether the log leaves open if there is any setup, or any time a piece, at all.
fn unclear(step: &StepFit) -> bool {
    of_work(step).count() == 2 && of_work(step).any(|p| p.says == Says::CannotTell)
}

/// How far a range reaches, over its mean.
fn wide(range: &Range) -> f64 {
    (range.p90 - range.p10) / range.mean
}

/// One row a part, unrounded; then chances, then jobs.
fn table(fit: &Fit) -> String {
    let mut header: Vec<String> = ["step", "part", "entries", "from"].map(String::from).to_vec();
    for set in ["was", "new"] {
        for part in ["mean", "p10", "p50", "p90"] {
            header.push(format!("{set}_{part}"));
        }
    }
    header.extend(
        [
            "expected",
            "found",
            "found_se",
            "found_low",
            "found_high",
            "times",
            "of",
        ]
        .map(String::from),
    );
    let wide = header.len();
    let mut table = csv::Table::new(header);
    let from = |from: From| match from {
        From::File => "file",
        From::SpreadAlone => "spread_alone",
        From::Spread => "spread",
        From::Mean => "mean",
        From::Ratio => "ratio",
        From::Logged => "logged",
    };
    let range = |r: Option<Range>| -> [Option<f64>; 4] {
        r.map_or([None; 4], |r| [Some(r.mean), Some(r.p10), Some(r.p50), Some(r.p90)])
    };
    let mut put =
        |step: &str, part: &str, entries: usize, from: &str, cells: Vec<Option<f64>>, counts: [Option<u64>; 2]| {
            let mut row = vec![step.to_owned(), part.to_owned(), entries.to_string(), from.to_owned()];
            row.extend(cells.into_iter().map(csv::cell));
            row.extend(counts.map(|n| n.map_or_else(String::new, |n| n.to_string())));
            debug_assert_eq!(row.len(), wide);
            table.row(row);
        };
    for step in &fit.steps {
        for part in &step.parts {
            let mut cells = range(Some(part.was)).to_vec();
            cells.extend(range(Some(part.new)));
            cells.push(Some(part.expected));
            let f = part.found;
            cells.extend([
                f.map(|f| f.value),
                f.and_then(|f| f.se),
                f.and_then(|f| f.low),
                f.and_then(|f| f.high),
            ]);
            put(&step.name, part.key, part.entries, from(part.from), cells, [None, None]);
        }
        for (word, chance) in [("spoil", step.spoil), ("redo", step.redo)] {
            let Some(c) = chance else { continue };
            let mut cells = vec![Some(c.was), None, None, None];
            cells.extend([c.contradicts.then_some(c.share.share), None, None, None, Some(c.was)]);
            cells.extend([Some(c.share.share), None, Some(c.share.low), Some(c.share.high)]);
            put(&step.name, word, step.entries, "", cells, [Some(c.times), Some(c.of)]);
        }
    }
    let pace = &fit.pace;
    let mut cells = range(Some(pace.was)).to_vec();
    cells.extend(range(pace.new));
    cells.push(Some(pace.was.mean));
    let f = pace.ratio;
    cells.extend([
        f.map(|f| f.value),
        f.and_then(|f| f.se),
        f.and_then(|f| f.low),
        f.and_then(|f| f.high),
    ]);
    put("", "pace", fit.entries, "", cells, [Some(pace.jobs.len() as u64), None]);
    for job in &pace.jobs {
        let mut cells = vec![None; 8];
        cells.extend([Some(job.expected), Some(job.ratio), None, None, None]);
        put(&job.name, "job", job.entries, "", cells, [None, None]);
    }
    table.into_text()
}
