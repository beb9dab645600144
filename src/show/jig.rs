//! The answer about jigs in words, tables, JSON and CSV.

use super::figure::{self, Cell};
use super::format::{confidence, count, mean_count, money, money_interval, share, tick, typed_money};
use super::grid::{Across, Grid};
use super::text_chart::{Mark, Ruler, Signs, Strip, Strips};
use super::words::{self, capital};
use super::{Shown, chart, csv, json, text};
use crate::answers::jig::{Jigs, Payback, Set};
use chart::ChartError;

/// Sets in the table, at most.
const ROWS: usize = 12;

/// The axis of pieces goes no further than so many times what is planned and what the first set needs; the rest is said beside
/// its row.
const FARTHEST: f64 = 10.0;

/// What has no number of pieces after which it is paid for.
const NEVER_PAID: &str = "never";

/// Paid within the life in fewer runs than this is a gamble (assumption: as likely as not).
const EVEN: f64 = 0.5;

impl Shown for Jigs {
    fn page(&self, look: &text::Look) -> text::Page {
        text::Page {
            title: self.title.clone(),
            verdict: verdict(self),
            tables: vec![sets(self, look), sizes(self)],
            small: small_print(self),
            chart: text_chart(self, look),
            care: care(self),
        }
    }

    fn json(&self) -> String {
        json::pretty(self)
    }

    fn csv(&self) -> String {
        table(self)
    }

    fn svg(&self) -> Result<String, ChartError> {
        chart::jig_svg(self, &headline(self))
    }

    fn png(&self) -> Result<Vec<u8>, ChartError> {
        chart::jig_png(self, &headline(self))
    }
}

/// The names of a set: "peg drilling jig and second set of clamps".
#[must_use]
pub fn names(answer: &Jigs, set: &Set) -> String {
    let list: Vec<String> = set
        .jigs
        .iter()
        .filter_map(|k| answer.jigs.get(*k))
        .map(|jig| text::printable(&jig.name))
        .collect();
    match list.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => list.join(""),
    }
}

/// How a set stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stand {
    /// It adds, and pays within its life as surely as the target is asked for.
    Pays,
    /// It adds on average, but not so surely.
    Gamble,
    /// It saves something, but not what it costs.
    Short,
    /// A run is no better with it.
    Useless,
}

fn stand(answer: &Jigs, set: &Set) -> Stand {
    if set.saving.mean <= 1e-9 * answer.rate.mean.abs().max(1.0) {
        Stand::Useless
    } else if set.adds_a_run.mean <= 0.0 || set.payback.within_life.share < EVEN {
        Stand::Short
    } else if set.payback.within_life.share < answer.confidence {
        Stand::Gamble
    } else {
        Stand::Pays
    }
}

/// A few sentences: what to build, when it has paid, what it adds; and what not to build.
#[must_use]
pub fn verdict(answer: &Jigs) -> Vec<String> {
    let Some(best) = answer.sets.first() else {
        return Vec::new();
    };
    let mut said = Vec::new();
    let many = best.jigs.len() > 1;
    let (together, it, its) = if many {
        ("together they", "they", "their")
    } else {
        ("it", "it", "its")
    };
    let name = names(answer, best);
    match (stand(answer, best), plan(answer, best)) {
        (Stand::Pays, None) => said.push(format!(
            "Build the {name}: {together} {}, and {}.",
            pays(answer, best),
            adds(answer, best, many)
        )),
        (Stand::Pays | Stand::Gamble, Some(plan)) => said.push(format!(
            "Do not build the {name} for what you plan: {together} {}, but {plan}.{}",
            pays(answer, best),
            // Without an end to its life the figure is of what is planned, and says nothing about more.
            if best.life_pieces.is_some() {
                format!(" Making more of them, {it} would {}.", adds(answer, best, true))
            } else {
                String::new()
            }
        )),
        (Stand::Gamble, None) => said.push(format!(
            "The {name} may be worth building: {together} {}, but within {its} life only in {} of cases; on average {it} {}.",
            pays(answer, best),
            share(best.payback.within_life.share),
            adds(answer, best, many)
        )),
        (Stand::Short | Stand::Useless, _) => {
            let none = if answer.sets.len() == 1 {
                ""
            } else {
                "None of these is worth building. "
            };
            said.push(format!("{none}{}", alone(answer, best)));
        }
    }
    // Every jig that is not among what is advised.
    let others = answer
        .sets
        .iter()
        .filter(|set| set.jigs.len() == 1 && !best.jigs.contains(&set.jigs[0]));
    for set in others.take(4) {
        let name = names(answer, set);
        match (stand(answer, set), plan(answer, set)) {
            (Stand::Pays | Stand::Gamble, Some(plan)) => said.push(format!(
                "The {name} pays for itself only after {}, and {plan}.",
                after(&set.payback)
            )),
            (Stand::Pays | Stand::Gamble, None) => said.push(format!(
                "The {name} alone would pay for itself after {}, but adds nothing to what is better.",
                after(&set.payback)
            )),
            (Stand::Short | Stand::Useless, _) => said.push(alone(answer, set)),
        }
    }
    said
}

/// "pays for itself after 31 pieces (24 to 40), 3 runs of 12".
fn pays(answer: &Jigs, set: &Set) -> String {
    let verb = if set.jigs.len() > 1 {
        "pay for themselves"
    } else {
        "pays for itself"
    };
    if set.outlay.mean <= 0.0 {
        return format!("{verb} at once, costing nothing");
    }
    let runs = set.payback.runs[1].map_or_else(String::new, |runs| {
        if answer.size == 1 {
            String::new()
        } else {
            let word = if runs == 1.0 { "run" } else { "runs" };
            format!(", {} {word} of {}", mean_count(runs), count(answer.size.into()))
        }
    });
    format!("{verb} after {}{runs}", after(&set.payback))
}

/// "31 pieces (24 to 40)".
fn after(payback: &Payback) -> String {
    let whole = |v: f64| count(v.ceil() as u64);
    match payback.pieces {
        [Some(low), Some(middle), Some(high)] if whole(low) != whole(high) => {
            format!("{} pieces ({} to {})", whole(middle), whole(low), whole(high))
        }
        [_, Some(middle), Some(_)] => {
            let word = if middle.ceil() == 1.0 { "piece" } else { "pieces" };
            format!("{} {word}", whole(middle))
        }
        [Some(low), Some(middle), None] => format!("{} pieces ({} or many more)", whole(middle), whole(low)),
        _ => "more pieces than can be counted on".to_owned(),
    }
}

/// "adds 2.10 EUR to the hour over its 400 pieces", `bare`: "add ..."; what it takes off is not said to be added. That happens where an
/// hour earns less than the target, at which the hours saved are counted.
fn adds(answer: &Jigs, set: &Set, bare: bool) -> String {
    let change = set.adds_to_hour.mean;
    let (verb, way) = if change < 0.0 { ("take", "off") } else { ("add", "to") };
    let why = if change < 0.0 && answer.rate.mean < answer.target {
        ", as hours saved count at the target, which an hour does not earn"
    } else {
        ""
    };
    let s = if bare { "" } else { "s" };
    format!(
        "{verb}{s} {} {way} the hour{}{why}",
        money(change.abs(), &answer.currency),
        over(answer, set)
    )
}

/// " over its 400 pieces".
fn over(answer: &Jigs, set: &Set) -> String {
    let whose = if set.jigs.len() > 1 { "their" } else { "its" };
    let planned = u64::from(answer.planned_runs) * u64::from(answer.size);
    match set.life_pieces {
        Some(pieces) if set.jigs.len() == 1 && planned < u64::from(pieces) => {
            format!(
                " over {whose} {} pieces ({} are planned)",
                count(pieces.into()),
                count(planned)
            )
        }
        Some(pieces) if set.jigs.len() == 1 => format!(" over {whose} {} pieces", count(pieces.into())),
        Some(_) => format!(" over {whose} lives"),
        None => format!(" over the {} planned", runs_of(answer)),
    }
}

fn runs_of(answer: &Jigs) -> String {
    if answer.planned_runs == 1 {
        "one run".to_owned()
    } else {
        format!("{} runs", count(answer.planned_runs.into()))
    }
}

/// "only 4 runs of 9 are planned (batch.runs), 36 pieces", where the plan is too short for it to pay surely.
fn plan(answer: &Jigs, set: &Set) -> Option<String> {
    let planned = u64::from(answer.planned_runs) * u64::from(answer.size);
    let life = set.life_pieces.map_or(u64::MAX, u64::from);
    let chance = set.payback.within_plan.share;
    (planned < life && chance < answer.confidence).then(|| {
        let by_then = if chance == 0.0 {
            String::new()
        } else {
            format!(", which is enough in {} of cases", share(chance))
        };
        format!(
            "only {} of {} {} planned (batch.runs), {} {}{by_then}",
            runs_of(answer),
            count(answer.size.into()),
            if answer.planned_runs == 1 { "is" } else { "are" },
            count(planned),
            if planned == 1 { "piece" } else { "pieces" }
        )
    })
}

/// What is said of a set that is not worth building.
fn alone(answer: &Jigs, set: &Set) -> String {
    let name = names(answer, set);
    let it = if set.jigs.len() > 1 { "they" } else { "it" };
    if stand(answer, set) == Stand::Useless {
        let same = set.saving.mean.abs() <= 1e-9 * answer.rate.mean.abs().max(1.0);
        return if same {
            format!(
                "Do not build the {name} for runs of {}: {it} would change nothing there.",
                count(answer.size.into())
            )
        } else {
            format!(
                "Do not build the {name}: with {} a run of {} leaves {} less.",
                if set.jigs.len() > 1 { "them" } else { "it" },
                count(answer.size.into()),
                money(-set.saving.mean, &answer.currency)
            )
        };
    }
    let life = set.life_pieces.map_or_else(
        || format!("the {} planned", runs_of(answer)),
        |pieces| {
            format!(
                "the {} pieces {it} last{}",
                count(pieces.into()),
                if it == "it" { "s" } else { "" }
            )
        },
    );
    let chance = if set.life_pieces.is_some() {
        set.payback.within_life.share
    } else {
        set.payback.within_plan.share
    };
    let within = if chance == 0.0 {
        format!("does not pay for itself within {life}")
    } else {
        format!("pays for itself within {life} in only {} of cases", share(chance))
    };
    let within = if it == "they" {
        within
            .replace("does not pay for itself", "do not pay for themselves")
            .replace("pays for itself", "pay for themselves")
    } else {
        within
    };
    let saves = format!(
        "a run of {} saves {}, building costs {}",
        count(answer.size.into()),
        money(set.saving.mean, &answer.currency),
        money(set.outlay.mean, &answer.currency)
    );
    format!("Do not build the {name}: {it} {within} ({saves}).")
}

/// One sentence for a chart.
#[must_use]
pub fn headline(answer: &Jigs) -> String {
    let Some(best) = answer.sets.first() else {
        return String::new();
    };
    let name = capital(&names(answer, best));
    match stand(answer, best) {
        Stand::Pays | Stand::Gamble if plan(answer, best).is_some() => {
            format!("{name}: paid after {}, more than are planned", after(&best.payback))
        }
        Stand::Pays | Stand::Gamble => {
            format!(
                "{name}: paid after {}, {}",
                after(&best.payback),
                adds(answer, best, best.jigs.len() > 1)
            )
        }
        Stand::Short | Stand::Useless if answer.sets.len() > 1 => "None of these pays for itself".to_owned(),
        Stand::Short => format!("{name}: not paid for within its life"),
        Stand::Useless => format!("{name}: a run is no better with it"),
    }
}

fn care(_: &Jigs) -> String {
    format!(
        "Never save setup by leaving a guard off; a jig holds the piece and keeps hands away from the cutter. {}",
        words::BEFORE_TAX
    )
}

fn pieces(value: Option<f64>) -> String {
    value.map_or_else(|| NEVER_PAID.to_owned(), |v| count(v.ceil() as u64))
}

fn pieces_cell(value: Option<f64>) -> Cell {
    value.map_or_else(|| NEVER_PAID.into(), |v| figure::count(v.ceil() as u64))
}

/// Jigs by number where a row holds several: `1 + 2`.
fn row_name(answer: &Jigs, set: &Set, room: usize) -> String {
    let numbers: Vec<String> = set.jigs.iter().map(|k| (k + 1).to_string()).collect();
    if set.jigs.len() == 1 {
        format!("{} {}", numbers[0], text::cut(&names(answer, set), room))
    } else {
        numbers.join(" + ")
    }
}

fn sets(answer: &Jigs, look: &text::Look) -> Grid {
    let currency = answer.currency.as_str();
    let heads = [
        "\n".to_owned(),
        format!("costs\n{currency}"),
        "saves\na run".to_owned(),
        "hours\na run".to_owned(),
        "paid\n10 %".to_owned(),
        "after\n50 %".to_owned(),
        "pieces\n90 %".to_owned(),
        "within\nits life".to_owned(),
        "adds to\nthe hour".to_owned(),
        "adds\na year".to_owned(),
    ];
    let room = look.letters(look.columns.saturating_sub(76).clamp(10, 30));
    let rows = answer
        .sets
        .iter()
        .take(ROWS)
        .map(|set| {
            let mut row = vec![
                row_name(answer, set, room).into(),
                figure::amount(set.outlay.mean, currency),
                figure::signed_amount(set.saving.mean, currency),
                figure::hours(set.hours_saved.mean),
            ];
            row.extend(set.payback.pieces.map(pieces_cell));
            row.push(if set.life_pieces.is_some() {
                figure::share(set.payback.within_life.share)
            } else {
                "no end".into()
            });
            row.push(figure::signed_amount(set.adds_to_hour.mean, currency));
            row.push(
                set.adds_a_year
                    .map_or_else(|| "?".into(), |v| figure::signed_amount(v, currency)),
            );
            row
        })
        .collect();
    let first = answer.sets.first().map(|set| stand(answer, set));
    Grid {
        name: "When it has paid for itself".to_owned(),
        across: vec![Across::new(4, 3, "paid after pieces, in so many cases")],
        heads: heads.to_vec(),
        rows,
        left: 1,
        marked: matches!(first, Some(Stand::Pays | Stand::Gamble)).then_some(0),
        ..Grid::default()
    }
}

/// The first few sets by batch size.
fn sizes(answer: &Jigs) -> Grid {
    let currency = answer.currency.as_str();
    let followed = answer.by_size.first().map_or(0, |at| at.sets.len());
    let labels: Vec<String> = answer
        .sets
        .iter()
        .take(followed)
        .map(|set| {
            let numbers: Vec<String> = set.jigs.iter().map(|k| (k + 1).to_string()).collect();
            format!("with {}", numbers.join("+"))
        })
        .collect();
    let mut heads = vec!["pieces\na run".to_owned(), format!("an hour earns\n{currency} without")];
    for label in &labels {
        heads.extend([format!("an hour\n{label}"), "paid after\npieces".to_owned()]);
    }
    let rows = answer
        .by_size
        .iter()
        .map(|at| {
            let mut row = vec![figure::count(at.size.into()), figure::amount(at.rate, currency)];
            for set in &at.sets {
                row.extend([figure::amount(set.rate, currency), pieces_cell(set.payback.pieces[1])]);
            }
            row
        })
        .collect();
    Grid {
        name: "By batch size".to_owned(),
        heads,
        rows,
        left: 0,
        marked: answer.by_size.iter().position(|at| at.size == answer.size),
        ..Grid::default()
    }
}

fn small_print(answer: &Jigs) -> Vec<String> {
    let mut said = Vec::new();
    let hidden = answer.sets.len().saturating_sub(ROWS);
    if hidden > 0 {
        said.push(format!("{hidden} more combinations are in the JSON and CSV."));
    }
    if !answer.every_combination {
        said.push("More than five jigs: each alone, each pair, and all together were looked at.".to_owned());
    }
    if let Some(best) = answer.sets.first() {
        let ends = money_interval(best.low, best.high, &answer.currency);
        // Ends that look alike would read as an error of that size.
        let ends = if ends == money(best.low, &answer.currency) {
            format!("{ends} either way, it is smaller than the last digit")
        } else {
            ends
        };
        said.push(format!(
            "Building hours are charged at the {} you want and at the shop's overhead. Costs are spread over the pieces a jig \
             lasts (over the planned runs where that is not said). Runs of {}; without any an hour earns {}. Simulation error \
             (95 %) of what the first adds to the hour: {ends}.",
            typed_money(answer.target, &answer.currency),
            count(answer.size.into()),
            money(answer.rate.mean, &answer.currency)
        ));
    }
    if let Some(runs) = answer.runs_a_year {
        said.push(format!(
            "A year: as many runs of {} as the bench hours allow, {}, whatever is planned or asked for.",
            count(answer.size.into()),
            mean_count(runs)
        ));
    } else {
        said.push(
            "A year: not known without bench hours; write an [hours] section, for example mon = 2 and sat = 6."
                .to_owned(),
        );
    }
    said.push(format!(
        "10 %, 50 %, 90 %: it has paid by then so often; sure means {} of cases. {} runs with and without, on the same days, {} \
         sequences of them, seed {}, batchwright {}.",
        confidence(answer.confidence),
        count(answer.trials),
        count(answer.sequences),
        answer.seed,
        answer.version
    ));
    said
}

/// When each set has paid for itself: from the pieces by which one case in ten has to those by which nine have.
fn text_chart(answer: &Jigs, look: &text::Look) -> Option<String> {
    let signs = Signs::of(look.unicode);
    let sets = &answer.sets[..answer.sets.len().min(ROWS)];
    let planned = f64::from(answer.planned_runs) * f64::from(answer.size);
    let paid = |set: &Set| set.payback.pieces.into_iter().flatten().fold(0.0, f64::max);
    let most = sets.iter().map(paid).fold(0.0, f64::max);
    if most <= 0.0 {
        return None;
    }
    let first = sets.iter().map(paid).find(|p| *p > 0.0).unwrap_or(most);
    let end = most.max(planned).min(FARTHEST * planned.max(first));
    let worn = |set: &Set| set.life_pieces.map(f64::from).filter(|life| *life <= end);
    let room = Strips::name_room(look.line()).saturating_sub(2);
    let strips = sets.iter().map(|set| {
        let [low, middle, high] = set.payback.pieces.map(|p| p.unwrap_or(f64::INFINITY));
        let mut marks = Vec::new();
        if low.is_finite() {
            marks.push(Mark::Band(low, high, signs.band));
        }
        marks.push(Mark::Dot(planned, signs.aim));
        marks.extend(worn(set).map(|life| Mark::Dot(life, signs.end)));
        if low.is_finite() {
            marks.push(Mark::Dot(middle, signs.median));
        }
        Strip {
            name: row_name(answer, set, room),
            marks,
            figure: pieces(set.payback.pieces[1]),
        }
    });
    let mut legend = vec![
        format!("{} paid as likely as not", signs.median),
        format!("{} 8 cases in 10", signs.band),
        format!("{} planned {}", signs.aim, count(planned as u64)),
    ];
    if sets.iter().any(|set| worn(set).is_some()) {
        legend.push(format!("{} worn out", signs.end));
    }
    Strips {
        heading: format!(
            "When it has paid for itself, against pieces made with it in runs of {}",
            count(answer.size.into())
        ),
        strips: strips.collect(),
        ends: (0.0, end),
        ruler: Some(Ruler {
            write: tick,
            name: "pieces made".to_owned(),
        }),
        numbered: false,
        legend,
    }
    .text(look.line(), signs)
}

/// One row a set, unrounded.
fn table(answer: &Jigs) -> String {
    let unit = &answer.currency;
    let mut header = vec!["jigs".to_owned(), "size".to_owned()];
    for part in ["mean", "p10", "p50", "p90"] {
        header.push(format!("outlay_{part}_{unit}"));
    }
    header.extend([
        format!("saving_a_run_{unit}"),
        format!("saving_a_run_se_{unit}"),
        "hours_saved_a_run".to_owned(),
    ]);
    for what in ["pieces", "runs"] {
        header.extend(["p10", "p50", "p90"].map(|p| format!("paid_after_{what}_{p}")));
    }
    header.extend(
        [
            "life_pieces",
            "within_life",
            "within_life_low",
            "within_life_high",
            "within_plan",
        ]
        .map(String::from),
    );
    for part in [
        "rate",
        "rate_se",
        "adds_to_hour",
        "adds_to_hour_low",
        "adds_to_hour_high",
    ] {
        header.push(format!("{part}_{unit}_per_hour"));
    }
    header.extend([format!("adds_a_run_{unit}"), format!("adds_a_year_{unit}")]);
    let mut table = csv::Table::new(header);
    for set in &answer.sets {
        let mut row = vec![names(answer, set), answer.size.to_string()];
        let pay = &set.payback;
        let mut cells = vec![
            Some(set.outlay.mean),
            Some(set.outlay.p10),
            Some(set.outlay.p50),
            Some(set.outlay.p90),
            Some(set.saving.mean),
            Some(set.saving.se),
            Some(set.hours_saved.mean),
        ];
        cells.extend(pay.pieces);
        cells.extend(pay.runs);
        cells.extend([
            set.life_pieces.map(f64::from),
            Some(pay.within_life.share),
            Some(pay.within_life.low),
            Some(pay.within_life.high),
            Some(pay.within_plan.share),
            Some(set.rate.mean),
            Some(set.rate.se),
            Some(set.adds_to_hour.mean),
            Some(set.low),
            Some(set.high),
            Some(set.adds_a_run.mean),
            set.adds_a_year,
        ]);
        row.extend(cells.into_iter().map(csv::cell));
        table.row(row);
    }
    table.into_text()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::answers::jig::{JigGiven, Outlay};
    use crate::show::samples::{any_figure, fitting, look, mean, on_its_page, row_of, share};
    use proptest::prelude::*;

    /// Pieces by which 10, 50 and 90 % of cases have paid, and how many each lasts; four runs of nine are planned.
    fn jigs(sets: &[([Option<f64>; 3], Option<u32>)]) -> Jigs {
        Jigs {
            title: "Oak peg rail".to_owned(),
            currency: "EUR".to_owned(),
            price: 62.0,
            target: 32.0,
            confidence: 0.8,
            trials: 1000,
            sequences: 1000,
            seed: 1,
            version: "0.1.0".to_owned(),
            size: 9,
            planned_runs: 4,
            hours: mean(9.0),
            rate: mean(36.0),
            runs_a_year: None,
            jigs: (1..=sets.len())
                .map(|k| JigGiven {
                    name: format!("jig for step {k}"),
                    step: "drill".to_owned(),
                    cost: 18.0,
                    build_hours: 1.0,
                    lasts: None,
                })
                .collect(),
            every_combination: true,
            sets: sets
                .iter()
                .enumerate()
                .map(|(k, (pieces, life_pieces))| Set {
                    jigs: vec![k],
                    outlay: Outlay {
                        mean: 30.0,
                        p10: 30.0,
                        p50: 30.0,
                        p90: 30.0,
                    },
                    life_pieces: *life_pieces,
                    saving: mean(10.0),
                    hours_saved: mean(0.3),
                    payback: Payback {
                        pieces: *pieces,
                        runs: pieces.map(|p| p.map(|p| p / 9.0)),
                        mean_runs: None,
                        within_life: share(1.0),
                        within_plan: share(1.0),
                    },
                    rate: mean(37.0),
                    adds_to_hour: mean(1.0),
                    low: 1.0,
                    high: 1.0,
                    adds_a_run: mean(9.0),
                    adds_a_year: None,
                })
                .collect(),
            by_size: Vec::new(),
            courses: Vec::new(),
        }
    }

    const NEVER: [Option<f64>; 3] = [None; 3];

    fn three() -> Jigs {
        jigs(&[
            ([20.0, 30.0, 40.0].map(Some), Some(400)),
            ([Some(80.0), Some(100.0), None], Some(90)),
            (NEVER, None),
        ])
    }

    #[test]
    fn charts_look_as_they_should() {
        insta::assert_snapshot!("jig_three", text_chart(&three(), &look(80, true)).unwrap());
        let far = jigs(&[
            ([20.0, 30.0, 40.0].map(Some), None),
            ([4000.0, 5000.0, 6000.0].map(Some), Some(300)),
        ]);
        insta::assert_snapshot!("jig_far", text_chart(&far, &look(60, true)).unwrap());
    }

    /// Hours saved pay for the jig at a target of 32, but an hour earns 5: what is paid for it weighs more than the hour it saves.
    #[test]
    fn what_takes_off_the_hour_is_not_said_to_add() {
        let mut answer = jigs(&[([20.0, 30.0, 40.0].map(Some), Some(400))]);
        answer.rate = mean(5.0);
        answer.sets[0].adds_to_hour = mean(-1.16);
        let loses = "takes 1.16 EUR off the hour over its 400 pieces (36 are planned)";
        let said = verdict(&answer).join(" ");
        assert!(said.contains(loses) && !said.contains("-1.16"), "{said}");
        assert!(headline(&answer).contains(loses), "{}", headline(&answer));
        // Too few are planned; what more of them would do is known only over a life that ends.
        answer.sets[0].payback.within_plan = share(0.1);
        let said = verdict(&answer).join(" ");
        assert!(
            said.contains("Making more of them, it would take 1.16 EUR off the hour"),
            "{said}"
        );
        answer.sets[0].life_pieces = None;
        let said = verdict(&answer).join(" ");
        assert!(
            !said.contains("Making more of them") && !said.contains("1.16"),
            "{said}"
        );
    }

    #[test]
    fn no_line_is_wider_than_the_terminal_and_the_page_has_it() {
        assert_eq!(fitting(|look| text_chart(&three(), look)).len(), 6);
        on_its_page(&three(), "When it has paid for itself, against");
    }

    /// 16 letters, figures of up to 5: 60 - 16 - 2 - 6 = 36 columns from 0 to 100 pieces. 30 is 10.5 of 35 columns along, 20 at 7,
    /// 40 at 14, the 36 planned at 12.6, 90 at 31.5 and 100 in the last.
    #[test]
    fn pieces_stand_where_they_are() {
        let text = text_chart(&three(), &look(60, true)).unwrap();
        let first = row_of(&text, "1 ").unwrap();
        let band: Vec<usize> = (0..36).filter(|k| first.get(*k).is_some_and(|c| *c != ' ')).collect();
        assert_eq!(band[..8], (7..=14).collect::<Vec<_>>(), "{text}");
        assert_eq!((first[11], first[13]), ('●', '┆'), "{text}");
        let second = row_of(&text, "2 ").unwrap();
        // Worn out before it has paid as likely as not; the slowest tenth of cases is beyond.
        assert_eq!((second[13], second[32], second[35]), ('┆', '×', '►'), "{text}");
        let third: String = row_of(&text, "3 ").unwrap().iter().collect();
        assert_eq!(third.trim(), "┆ never", "{text}");
    }

    #[test]
    fn what_never_pays_has_no_chart() {
        assert_eq!(
            text_chart(&jigs(&[(NEVER, Some(400)), (NEVER, None)]), &look(80, true)),
            None
        );
        assert_eq!(text_chart(&jigs(&[]), &look(80, true)), None);
    }

    proptest! {
        #[test]
        fn no_answer_breaks_it(
            found in prop::collection::vec((prop::array::uniform3(prop::option::of(any_figure())), any::<Option<u32>>()), 0..20),
            columns in 60usize..130,
        ) {
            if let Some(text) = text_chart(&jigs(&found), &look(columns, true)) {
                for line in text.lines() {
                    prop_assert!(line.chars().count() <= columns, "{line}");
                }
            }
        }
    }
}
