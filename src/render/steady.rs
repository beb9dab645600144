//! The answer to `steady` in words, table, CSV; its chart is in `steady/plot.rs`.

mod plot;

use super::Render;
use super::columns::{Columns, Declared, MEAN, SHARE, Table, Unit};
use super::figure::Mark;
use super::format::{
    confidence, count, hours, mean_count, mean_interval, money, nearest, share, typed_amount, typed_money, weeks,
};
use super::grid::{stretches, well_chosen};
use super::page::Page;
use super::plot::Plot;
use super::question::Question;
use super::text::Look;
use super::words::{
    BEFORE_TAX, beyond_looked_at, capital, either, is_or_are, joined, only_so_many, sweep_says, wanted,
};
use crate::questions::steady::{SteadyAnswer, SteadySize};

/// Rows of the table unless all are asked for.
const ROWS: usize = 11;
impl Render for SteadyAnswer {
    fn page(&self, look: &Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self),
            why: why(self, look),
            tables: self.grids(look),
            more: more(self, look),
            small: small_print(self),
            care: format!("Stock can also be spoiled, stolen or go out of fashion: that is not counted. {BEFORE_TAX}"),
        }
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        vec![Box::new(table(self))]
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

fn best(answer: &SteadyAnswer) -> Option<&SteadySize> {
    answer.sizes.iter().find(|s| s.size == answer.best)
}

/// How often: "8.7 weeks", "week".
fn every(time: f64) -> String {
    let said = weeks(time);
    said.strip_prefix("1 ").map_or_else(|| said.clone(), str::to_owned)
}

/// How many at a time, what a year leaves, and the hours it takes.
pub fn opening(answer: &SteadyAnswer) -> Vec<String> {
    let Some(best) = best(answer) else { return Vec::new() };
    let (n, currency) = (count(best.size.into()), &answer.currency);
    let surplus = best.surplus_a_year.mean;
    let (figure, hour) = (money(surplus.abs(), currency), typed_money(answer.target, currency));
    let every = every(best.weeks);
    let own = hours(best.hours_a_week);
    let falls = |who: &str| {
        if answer.target > 0.0 {
            format!("With {who}, {n} at a time, {figure} a year is missing to pay you {hour} an hour.")
        } else {
            format!("With {who}, {n} at a time, you lose {figure} a year.")
        }
    };
    let who = if answer.sizes.len() > 1 {
        "the best batch"
    } else {
        "the only batch looked at"
    };
    if !answer.keeps_up {
        let bench = hours(answer.week_hours.unwrap_or(0.0));
        return vec![
            format!("Do not promise {} a week.", mean_count(answer.per_week)),
            format!("Even {n} at a time take {own} a week, and the bench is open for {bench}."),
            match (surplus < 0.0, answer.target > 0.0) {
                (true, _) => falls(who),
                (false, true) => {
                    format!(
                        "With enough hours, {n} every {every} would pay you {hour} an hour and leave {figure} a year."
                    )
                }
                (false, false) => format!("With enough hours, {n} every {every} would leave {figure} a year."),
            },
        ];
    }
    if surplus < 0.0 {
        return vec![
            format!("Do not sell it all year at {}.", typed_money(answer.price, currency)),
            falls(who),
        ];
    }
    vec![
        format!("Make {n} at a time, every {every}."),
        if answer.target > 0.0 {
            format!("Once you are paid {hour} for every hour, that leaves {figure} a year.")
        } else {
            format!("That leaves {figure} a year.")
        },
        match answer.week_hours {
            Some(week) => format!("It takes {own} a week of the {} you have at the bench.", hours(week)),
            None => format!("It takes {own} a week at the bench."),
        },
    ]
}

/// What speaks for another size, and what is tied up.
fn why(answer: &SteadyAnswer, look: &Look) -> Vec<String> {
    let Some(best) = best(answer) else { return Vec::new() };
    let currency = &answer.currency;
    let mut said = Vec::new();
    let all: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
    said.extend(beyond_looked_at(&all, best.size));
    let nearly = either(&stretches(&answer.nearly, &all)).filter(|_| is_advised(answer));
    said.extend(nearly.map(|nearly| format!("You give up next to nothing with {nearly} instead.")));
    let stock = mean_count(best.stock);
    let (lie, worth) = (if stock == "1" { "lies" } else { "lie" }, money(best.tied_up, currency));
    said.push(format!(
        "On average {stock} {lie} in stock, worth {worth} in material and hours."
    ));
    said.extend(fewer(answer, best));
    let short: Vec<u32> = answer.sizes.iter().filter(|s| !s.fits).map(|s| s.size).collect();
    if let (true, Some(last)) = (answer.keeps_up, short.last()) {
        let from_below = all.iter().take(short.len()).eq(&short);
        said.push(if from_below {
            let at_most = match last {
                1 => "one".to_owned(),
                n => format!("{} or fewer", count((*n).into())),
            };
            format!("At {at_most} at a time the bench hours are too few, because setup comes round too often.")
        } else {
            let short = joined(&stretches(&short, &all)).unwrap_or_default();
            format!("The bench hours are too few for these batches: {short}.")
        });
    }
    if best.surplus_a_year.mean >= 0.0 && best.reach.share < answer.confidence {
        let (share, many) = (best.reach.share, "batches");
        let wanted = wanted(answer.target, currency);
        // `sweep` also counts what is done once, and so has another share.
        said.push(if answer.once_hours > 0.0 {
            capital(&only_so_many((share, many), answer.confidence, &wanted)) + "."
        } else {
            sweep_says(look, (best.size, share, many), answer.confidence, &wanted)
        });
        said.push("For a steady sale go by this page: over a year good and bad batches even out.".to_owned());
    }
    said
}

/// What the smallest batch that pays gives up and frees, where that is clearly smaller: the size that `sweep` names, but for what is done once.
fn fewer(answer: &SteadyAnswer, best: &SteadySize) -> Option<String> {
    let pays = |s: &&SteadySize| s.fits && s.reach.share >= answer.confidence && s.surplus_a_year.mean >= 0.0;
    let first = answer.sizes.iter().find(pays).filter(|s| s.size < best.size)?;
    let currency = &answer.currency;
    let less = best.surplus_a_year.mean - first.surplus_a_year.mean;
    let pays = match answer.once_hours > 0.0 {
        true => "pays once the design is done",
        false => "pays",
    };
    let (n, [less, tied_up]) = (
        count(first.size.into()),
        [less, first.tied_up].map(|v| money(v, currency)),
    );
    Some(format!(
        "The smallest batch that {pays}, {n}, leaves {less} less a year, but ties up only {tied_up}."
    ))
}

/// What another question, and the textbook, say about how many.
fn more(answer: &SteadyAnswer, look: &Look) -> Vec<String> {
    let Some(best) = best(answer) else { return Vec::new() };
    let currency = &answer.currency;
    let mut said = Vec::new();
    if best.surplus_a_year.mean >= 0.0 && best.reach.share >= answer.confidence {
        said.push(format!(
            "{} looks for the smallest batch that reaches the target surely enough. For this file go by the steady sale: it \
             also weighs what lies in stock and how often you set up.",
            Question::Sweep.named(look)
        ));
    }
    if let Some(sold) = best.sold {
        let sold = mean_count(sold.mean);
        said.push(format!(
            "Of {} good pieces of a batch {sold} {} sold on average. What makes no full set is left over and counts what making it \
             takes, as a later set has it.",
            mean_count(best.good.mean),
            is_or_are(&sold),
        ));
    }
    if !answer.no_set.is_empty() {
        let looked_at = answer.sizes.iter().map(|s| s.size);
        let all: Vec<u32> = answer.no_set.iter().copied().chain(looked_at).collect();
        let no_set = joined(&stretches(&answer.no_set, &all)).unwrap_or_default();
        said.push(format!("Not looked at, because no batch makes a full set: {no_set}."));
    }
    said.push(match &answer.textbook {
        Some(t) => {
            let first = format!(
                "The textbook batch is {}. It sets {} for a setup against {} for keeping one piece a year, at {} pieces a \
                 year, and both together cost {} a year.",
                nearest(t.batch),
                money(t.setup_cost, currency),
                money(t.holding_cost, currency),
                mean_count(t.demand),
                money(t.yearly_cost, currency)
            );
            let share = share(t.stock_share);
            let singly = match t.stock_share < 0.995 {
                true => format!(" Pieces are sold while the others are made, so at most {share} of a batch lies in stock."),
                false => String::new(),
            };
            format!("{first}{singly} It knows no rounds, spoiled pieces or learning.")
        }
        None if answer.hold > 0.0 => "There is no textbook batch, because setup costs nothing here.".to_owned(),
        None => "There is no textbook batch, because keeping stock costs nothing here.".to_owned(),
    });
    said
}

/// One sentence for the chart.
pub(crate) fn headline(answer: &SteadyAnswer) -> String {
    let Some(best) = best(answer) else { return String::new() };
    let currency = &answer.currency;
    let (n, every) = (count(best.size.into()), every(best.weeks));
    let surplus = best.surplus_a_year.mean;
    let (figure, hour) = (money(surplus.abs(), currency), typed_money(answer.target, currency));
    match (answer.keeps_up, surplus < 0.0, answer.target > 0.0) {
        (false, _, _) => {
            let promised = mean_count(answer.per_week);
            format!("Do not promise {promised} a week: even {n} at a time take more than the bench hours")
        }
        (_, true, true) => {
            format!("Do not sell it all year: even {n} at a time fall {figure} a year short of {hour} an hour")
        }
        (_, true, false) => format!("Do not sell it all year: even {n} at a time lose {figure} a year"),
        (_, false, true) => {
            format!("Make {n} at a time, every {every}: {figure} a year beyond {hour} an hour")
        }
        (_, false, false) => format!("Make {n} at a time, every {every}: {figure} a year"),
    }
}

/// Places of the sizes that have a row in any case.
fn shown(answer: &SteadyAnswer) -> Vec<usize> {
    let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
    let mut must = vec![answer.best];
    must.extend(answer.nearly.first());
    must.extend(answer.nearly.last());
    must.extend(answer.sizes.iter().rev().find(|s| !s.fits).map(|s| s.size));
    must.extend(answer.sizes.iter().find(|s| s.fits).map(|s| s.size));
    // The size nearest to the textbook's.
    if let Some(textbook) = &answer.textbook {
        let off = |size: &&u32| (f64::from(**size) - textbook.batch).abs();
        must.extend(sizes.iter().min_by(|a, b| off(a).total_cmp(&off(b))));
    }
    well_chosen(&sizes, &must, ROWS)
}

/// Whether the opening says to make it.
fn is_advised(answer: &SteadyAnswer) -> bool {
    answer.keeps_up && best(answer).is_some_and(|best| best.surplus_a_year.mean >= 0.0)
}

/// All columns are the CSV.
fn table(answer: &SteadyAnswer) -> Table<'_, &SteadySize> {
    let year = "surplus_a_year.mean";
    // What is not to be made is not advised, nor is anything as good as it.
    let advised = is_advised(answer);
    Table::new("Batch by batch", answer, "sizes", &answer.sizes, columns(answer))
        .choose(shown(answer), "sizes")
        .mark(Mark::Best, "leaves most", move |s| advised && s.size == answer.best)
        .mark(Mark::Short, "", move |s| !s.fits)
        .mark(
            Mark::Near,
            "leaves less by no more than a hundredth of what setups and holding cost a year",
            move |s| advised && answer.nearly.contains(&s.size),
        )
        .main(move |s| s.size == answer.best)
        .curve(
            "What a year leaves",
            format!("{} a year", answer.currency),
            [year],
            year,
        )
}

fn columns(answer: &SteadyAnswer) -> Columns<'_, &SteadySize> {
    let currency = answer.currency.as_str();
    let (money, hourly) = (Unit::Money(currency), Unit::Hourly(currency));
    let year = format!("{currency} a year");
    let target = typed_money(answer.target, currency);
    let mut c: Columns<'_, &SteadySize> = Columns::default();
    c.field("size", Unit::Count).plain("pieces\na batch");
    c.fields("good", MEAN, Unit::Mean);
    if answer.sizes.iter().any(|size| size.sold.is_some()) {
        c.fields("sold", MEAN, Unit::Mean).plain("pieces\nsold");
    }
    c.field("weeks", Unit::Mean).plain("weeks\nit lasts");
    c.field("runs_a_year", Unit::Mean);
    c.field("hours_a_week", Unit::Hours).plain("work\na week");
    c.field("fits", Unit::Text);
    c.field("stock", Unit::Mean)
        .named("stock_mean")
        .head("unsold\npieces")
        .note("Unsold pieces: in stock on average.");
    c.field("tied_up", money)
        .plain(format!("{currency} tied\nup in them"))
        .spare(2);
    c.field("setup_a_year", money).plain("setups").under(&year);
    c.field("holding_a_year", money).plain("holding\nstock").under(&year);
    c.fields("surplus_a_year", MEAN, money)
        .head("surplus")
        .under(&year)
        .note(format!("Surplus: after {target} for every hour and after holding."))
        .decides();
    c.field("rate.mean", hourly)
        .named("rate_long_run")
        .head(format!("an hour\nearns {currency}"))
        .note("An hour earns: on average.")
        .spare(1);
    c.field("rate.se", hourly).named("rate_long_run_se");
    c.fields("reach", SHARE, Unit::Share)
        .plain(format!("batches that\nearn {}", typed_amount(answer.target, currency)))
        .decides();
    c
}

fn small_print(answer: &SteadyAnswer) -> Vec<String> {
    let currency = &answer.currency;
    let mut lines = Vec::new();
    lines.push(format!(
        "Holding costs {} a year of {}, the material and the hours in a finished piece.",
        confidence(answer.hold),
        money(answer.piece_value, currency)
    ));
    if answer.once_hours > 0.0 {
        lines.push(format!(
            "The {} done once for the design are left out, because they are the same however many are made at a time.",
            hours(answer.once_hours)
        ));
    }
    if answer.sold_again {
        lines.push(
            "What buyers send back as new counts what making it takes. That it is sold again, so that a batch lasts a little longer, \
             is left out of the weeks."
                .to_owned(),
        );
    }
    let (trials, seed, version) = (count(answer.trials), answer.seed, &answer.version);
    lines.push(format!(
        "Each size was tried in {trials} batches. Seed {seed}, batchwright {version}."
    ));
    if let Some(best) = best(answer).filter(|best| best.surplus_a_year.se > 0.0) {
        lines.push(format!(
            "Simulation error (95 %) at size {}: surplus a year {}.",
            count(best.size.into()),
            mean_interval(&best.surplus_a_year, currency)
        ));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::samples::{any_figure, fitting, look, mean, no_wider, on_its_page, share, text_chart};
    use proptest::prelude::*;

    /// Surplus a year by size; those before `fits_from` take more hours than there are.
    fn steady(sizes: &[(u32, f64)], best: u32, nearly: &[u32], fits_from: u32) -> SteadyAnswer {
        SteadyAnswer {
            title: "Plant labels".to_owned(),
            currency: "EUR".to_owned(),
            price: 26.0,
            target: 28.0,
            confidence: 0.8,
            trials: 1000,
            seed: 1,
            version: "0.1.0".to_owned(),
            per_week: 3.0,
            hold: 0.25,
            piece_value: 12.0,
            once_hours: 0.0,
            sold_again: false,
            no_set: Vec::new(),
            week_hours: Some(2.25),
            best,
            keeps_up: true,
            nearly: nearly.to_vec(),
            textbook: None,
            sizes: sizes
                .iter()
                .map(|(size, surplus)| SteadySize {
                    size: *size,
                    good: mean(f64::from(*size)),
                    sold: None,
                    weeks: 4.0,
                    runs_a_year: 13.0,
                    hours_a_week: 2.0,
                    fits: *size >= fits_from,
                    stock: 2.0,
                    tied_up: 24.0,
                    setup_a_year: 100.0,
                    holding_a_year: 20.0,
                    surplus_a_year: mean(*surplus),
                    rate: mean(30.0),
                    reach: share(0.8),
                })
                .collect(),
        }
    }

    /// Setup is spread over more pieces, holding grows with them: best at sqrt(900 / 1) = 30.
    fn trough() -> SteadyAnswer {
        let surplus = |n: u32| 400.0 - 900.0 / f64::from(n) - f64::from(n);
        let sizes: Vec<(u32, f64)> = (2..=80).map(|n| (n, surplus(n))).collect();
        steady(&sizes, 30, &[29, 31], 5)
    }

    /// What is done once for the design is said to be left out where there is any.
    #[test]
    fn what_is_done_once_is_said_to_be_left_out() {
        for (once_hours, times) in [(0.0, 0), (2.0, 1)] {
            let mut answer = trough();
            answer.once_hours = once_hours;
            let said = small_print(&answer).join(" ");
            assert_eq!(said.matches("done once for the design").count(), times, "{said}");
        }
    }

    #[test]
    fn charts_look_as_they_should() {
        insta::assert_snapshot!("steady_trough", text_chart(&trough(), &look(80, true)).unwrap());
        insta::assert_snapshot!("steady_trough_ascii", text_chart(&trough(), &look(60, false)).unwrap());
        let loss = steady(&[(5, -500.0), (10, -300.0)], 10, &[], 0);
        insta::assert_snapshot!("steady_loss", text_chart(&loss, &look(60, true)).unwrap());
    }

    #[test]
    fn no_line_is_wider_than_the_terminal_and_the_page_has_it() {
        assert_eq!(fitting(|look| text_chart(&trough(), look)).len(), 6);
        on_its_page(&trough(), "What a year leaves: EUR");
    }

    /// What the opening says not to make is not marked as advised, nor is another told to be nearly as good.
    #[test]
    fn what_makes_a_loss_is_not_advised() {
        let sizes = [(5, -500.0), (10, -300.0), (11, -301.0)];
        let mut answer = steady(&sizes, 10, &[11], 0);
        for (less, advised) in [(0.0, false), (400.0, true)] {
            for size in &mut answer.sizes {
                size.surplus_a_year.mean += less;
            }
            let said = answer.text(&look(80, true));
            assert_eq!(said.contains("Make 10 at a time"), advised, "{said}");
            assert_eq!(said.contains("▲ 10"), advised, "{said}");
            assert_eq!(said.contains("◇ 11"), advised, "{said}");
            assert_eq!(said.contains("next to nothing"), advised, "{said}");
        }
        answer.keeps_up = false;
        assert!(!answer.text(&look(80, true)).contains("▲ 10"));
    }

    /// Two figures side by side with a comma between them would read as one.
    #[test]
    fn stock_and_what_it_ties_up_are_told_apart() {
        let drawn = trough().svg().unwrap();
        assert!(drawn.contains("2 in stock, tying up 24.00 EUR"), "{drawn}");
    }

    /// Sizes 1 to 11 at 60 columns, from 0 to 100: 54 columns; 1 is the first, 6 at 26.5 of 53, 11 the last.
    #[test]
    fn sizes_are_marked_in_their_columns() {
        let sizes: Vec<(u32, f64)> = (1..=11)
            .map(|n| (n, 100.0 - 20.0 * f64::from(6u32.abs_diff(n))))
            .collect();
        let text = text_chart(&steady(&sizes, 6, &[11], 2), &look(60, true)).unwrap();
        let ruler: Vec<char> = text.lines().find(|line| line.contains('└')).unwrap().chars().collect();
        assert_eq!((ruler[5], ruler[5 + 27], ruler[5 + 53]), ('▽', '▲', '◇'), "{text}");
        assert!(
            text.contains("▽ bench hours do not suffice: 1") && text.contains("◇ nearly as good: 11"),
            "{text}"
        );
    }

    #[test]
    fn what_lies_far_below_is_said() {
        let sizes: Vec<(u32, f64)> = (1..=11).map(|n| (n, if n < 3 { -9000.0 } else { 100.0 })).collect();
        let text = text_chart(&steady(&sizes, 6, &[], 0), &look(60, true)).unwrap();
        assert!(text.contains("off the chart at 1, 2"), "{text}");
    }

    #[test]
    fn one_size_has_no_chart() {
        assert_eq!(text_chart(&steady(&[(5, 20.0)], 5, &[], 0), &look(80, true)), None);
    }

    proptest! {
        #[test]
        fn no_answer_breaks_it(figures in prop::collection::vec(any_figure(), 1..30), columns in 60usize..130) {
            let sizes: Vec<(u32, f64)> = figures.iter().zip(1..).map(|(f, n)| (n * n, *f)).collect();
            if let Some(text) = text_chart(&steady(&sizes, 1, &[4], 2), &look(columns, true)) {
                no_wider(&text, columns);
            }
        }
    }
}
