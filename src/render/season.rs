//! The answer to `season` in words, tables, CSV; its chart is in `season/plot.rs`.

mod plot;

use super::Render;
use super::columns::{Columns, Declared, MEAN, SHARE, Table, Unit};
use super::figure::Mark;
use super::format::{
    asked_of_100, count, counted, factor, mean_count, mean_interval, money, nearest, of_100, price_tags, share,
    typed_amount, typed_money,
};
use super::grid::{stretches, well_chosen};
use super::page::Page;
use super::plot::Plot;
use super::question::Question;
use super::text::Look;
use super::words::{BEFORE_TAX, batch_of, beyond_looked_at, is_or_are, joined, sweep_says, wanted};
use crate::questions::season::{NEARLY, PricePoint, PriceResponse, SeasonAnswer, SeasonSize};

/// Rows of the table of sizes unless all are asked for.
const ROWS: usize = 11;
/// Rows of the table of prices unless all are asked for.
const PRICE_ROWS: usize = 9;
impl Render for SeasonAnswer {
    fn page(&self, look: &Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self),
            why: why(self, look),
            tables: self.grids(look),
            more: more(self, look),
            small: small_print(self),
            care: care(self),
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(data(self)))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        let mut tables: Vec<Box<dyn Declared + '_>> = vec![Box::new(sizes_table(self))];
        let prices = self.prices.iter();
        tables.extend(prices.map(|prices| Box::new(prices_table(self, prices)) as Box<_>));
        tables
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

fn at(answer: &SeasonAnswer, size: u32) -> Option<&SeasonSize> {
    answer.sizes.iter().find(|s| s.size == size)
}

fn best(answer: &SeasonAnswer) -> Option<&SeasonSize> {
    at(answer, answer.best_by_surplus)
}

/// How many come back worn, where that is any.
fn worn(at: &SeasonSize) -> Option<String> {
    at.worn.map(mean_count).filter(|worn| worn != "0")
}

/// How many to make, what that leaves, and how many are left over.
pub fn opening(answer: &SeasonAnswer) -> Vec<String> {
    let Some(best) = best(answer) else { return Vec::new() };
    let n = count(best.size.into());
    let currency = &answer.currency;
    let surplus = best.surplus.mean;
    let figure = money(surplus.abs(), currency);
    let hour = typed_money(answer.target, currency);
    let left = mean_count(best.leftover);
    let are = is_or_are(&left);
    if surplus < 0.0 {
        let [batches, batch] = match answer.sizes.len() {
            1 => [format!("In batches of {n}, the only size"), "The only batch".to_owned()],
            _ => [
                format!("Even in batches of {n}, the best size"),
                "Even the best batch".to_owned(),
            ],
        };
        let price = typed_money(answer.price, currency);
        return vec![
            format!("Do not make it for this season at {price}."),
            if answer.target > 0.0 {
                format!("{batches} looked at, {figure} is missing on average to pay you {hour} an hour.")
            } else {
                format!("{batch} looked at, {n}, loses {figure} on average.")
            },
            if left == "0" && worn(best).is_none() {
                "All of it sells.".to_owned()
            } else {
                let becomes = if answer.carried {
                    "carried on to the next season"
                } else {
                    "left over"
                };
                format!("Of that batch {left} on average {are} {becomes}.")
            },
        ];
    }
    vec![
        format!("Make {n} for this season."),
        if answer.target > 0.0 {
            format!("Once you are paid {hour} for every hour, that leaves {figure} on average.")
        } else {
            format!("On average that leaves {figure}.")
        },
        if left == "0" && worn(best).is_none() {
            "The whole batch sells before the season ends.".to_owned()
        } else {
            let often = of_100(best.sold_out.share);
            let becomes = if answer.carried {
                "carried on to the next one"
            } else {
                "left over"
            };
            format!("The batch sells out in {often} seasons; on average {left} {are} {becomes}.")
        },
    ]
}

/// Why so many, how bad a season may be, and what another price would do.
fn why(answer: &SeasonAnswer, look: &Look) -> Vec<String> {
    let Some(best) = best(answer) else { return Vec::new() };
    let currency = &answer.currency;
    let hour = typed_money(answer.target, currency);
    let pays = best.surplus.mean >= 0.0;
    // Another price may bring more than any other number of pieces, so it comes first.
    let prices = answer.prices.iter();
    let mut said: Vec<String> = prices.flat_map(|prices| price_words(answer, prices)).collect();
    let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
    if !pays && answer.prices.is_none() {
        let floor = Question::Floor.named(look);
        said.push(format!(
            "{floor} says from which price on it pays, if as many still buy."
        ));
    }
    said.extend(beyond_looked_at(&sizes, best.size));
    if pays && best.surplus_p10 < best.surplus_p90 {
        let bad = money(best.surplus_p10.abs(), currency);
        said.push(match (best.surplus_p10 < 0.0, answer.target > 0.0) {
            (true, true) => format!("In 10 of 100 seasons you fall {bad} or more short of {hour} for every hour."),
            (true, false) => format!("In 10 of 100 seasons {} loses {bad} or more.", batch_of(best.size)),
            (false, _) => format!("In 90 of 100 seasons {} leaves {bad} or more.", batch_of(best.size)),
        });
    }
    match &answer.fractile {
        Some(f) if pays => {
            let [under, over] = [f.under, f.over].map(|value| money(value, currency));
            said.push(format!(
                "One more piece earns {under} if somebody buys it and loses {over} if it is left over."
            ));
            let pieces = counted(nearest(f.pieces), "good piece", "good pieces");
            let are = is_or_are(&nearest(f.pieces));
            // At least so many of 100, and "more than 99" says that already.
            let seasons = of_100(f.fractile);
            let seasons = match seasons.starts_with(|first: char| first.is_ascii_digit()) {
                true => format!("at least {seasons}"),
                false => seasons,
            };
            // The setup of a batch and its spoiled pieces are in what a whole season leaves, and not in one piece.
            said.push(if (best.good.mean - f.pieces).abs() < 1.0 {
                format!("So aim for {pieces}, which {are} enough in {seasons} seasons.")
            } else {
                format!("By that alone {pieces} would be best, which {are} enough in {seasons} seasons.")
            });
        }
        None if pays && answer.leftovers_cost_nothing => said.push(
            "A piece that is left over brings back all it costs to make one more, so making too many loses nothing."
                .to_owned(),
        ),
        _ => {}
    }
    if pays && !sure(answer, best) {
        let short = (best.size, best.reach.share, "seasons");
        let wanted = wanted(answer.target, currency);
        said.push(sweep_says(look, short, answer.confidence, &wanted));
        said.push(
            "For one season go by this page: it weighs what each season leaves. If a bad season would ruin you, make \
             fewer."
                .to_owned(),
        );
    }
    said
}

/// Whether it reaches the target in as many seasons as the file wants, as `sweep` asks for.
fn sure(answer: &SeasonAnswer, at: &SeasonSize) -> bool {
    at.reach.share >= answer.confidence
}

/// Which sizes and prices do nearly as well, and what another question says about how many.
fn more(answer: &SeasonAnswer, look: &Look) -> Vec<String> {
    let Some(best) = best(answer) else { return Vec::new() };
    let (n, currency) = (count(best.size.into()), &answer.currency);
    let mut said = Vec::new();
    said.extend(worn(best).map(|worn| {
        format!("Besides, {worn} on average come back worn from sale or return, to be sold at a price of their own.")
    }));
    if let Some(rate) = at(answer, answer.best_by_rate).filter(|s| {
        let same = money(s.rate.mean, currency) == money(best.rate.mean, currency);
        s.size != best.size && best.surplus.mean >= 0.0 && !same
    }) {
        said.push(format!(
            "An hour earns most with {}: {} on average, against {} with {n}.",
            count(rate.size.into()),
            money(rate.rate.mean, currency),
            money(best.rate.mean, currency)
        ));
    }
    if !answer.ties.is_empty() && best.surplus.mean >= 0.0 {
        let mut level = answer.ties.clone();
        level.push(answer.best_by_surplus);
        level.sort_unstable();
        let all: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
        said.extend(joined(&stretches(&level, &all)).map(|level| {
            let seasons = count(answer.trials);
            format!("As far as {seasons} seasons can tell, {level} do equally well.")
        }));
    }
    said.extend(answer.prices.iter().filter_map(|prices| price_range(answer, prices)));
    if named_price(answer).is_some() {
        let sold = if look.terminal { "`sold`" } else { "A sales log" };
        said.push(format!(
            "{sold} may name another price: it goes by what sold near the prices you tried, and this page by the file's elasticity."
        ));
    }
    let first_sure = answer.sizes.iter().find(|size| sure(answer, size));
    if best.surplus.mean >= 0.0 && sure(answer, best) && first_sure.is_some_and(|first| first.size < best.size) {
        let sweep = Question::Sweep.named(look);
        said.push(format!(
            "{sweep} looks for the smallest batch that reaches the target surely enough. For this file go by the season: a \
             few more than the smallest leave more money, until too many are left over."
        ));
    }
    said
}

/// The price that is told as the best.
fn named_price(answer: &SeasonAnswer) -> Option<PricePoint> {
    let best = answer.prices.as_ref()?.best;
    best.filter(|best| best.surplus.mean >= 0.0)
}

/// Between which prices a season leaves nearly as much as at the best.
fn price_range(answer: &SeasonAnswer, prices: &PriceResponse) -> Option<String> {
    let currency = &answer.currency;
    let best = named_price(answer)?;
    let ends = prices.nearly_best?;
    let [low, high] = price_tags(ends, best.price);
    // As far as prices were looked at.
    let from = match prices.curve.first() {
        Some(first) if first.price == ends[0] => format!("{} or less", typed_amount(low, currency)),
        _ => typed_amount(low, currency),
    };
    let to = match prices.curve.last() {
        Some(last) if last.price == ends[1] => format!("{} or more", typed_money(high, currency)),
        _ => typed_money(high, currency),
    };
    (low < high).then(|| {
        format!(
            "From {from} to {to}, each price with its own batch, a season leaves at most {} less than at the best price.",
            share(1.0 - NEARLY)
        )
    })
}

/// A price further from the asked one than this factor is told as a guess, as one is that far from those that a sales log has.
const NEAR_ASKED: f64 = 1.0 + crate::sales::learn::NEAR;

/// The price looked at that leaves most; of equals, the cheapest.
fn most_left(prices: &PriceResponse) -> PricePoint {
    let mut most = prices.curve[0];
    for point in &prices.curve {
        if point.surplus.mean > most.surplus.mean {
            most = *point;
        }
    }
    most
}

/// That no price looked at leaves anything.
fn nothing_left(prices: &PriceResponse, currency: &str) -> String {
    let ends = [prices.curve[0], prices.curve[prices.curve.len() - 1]];
    let [low, high] = ends.map(|end| money(end.price, currency));
    format!("No price from {low} to {high} leaves anything.")
}

/// What another price would do by the file's elasticity, and that nobody has tried it.
fn price_words(answer: &SeasonAnswer, prices: &PriceResponse) -> Vec<String> {
    let currency = &answer.currency;
    let leaves = |point: &PricePoint| money(point.surplus.mean, currency);
    let at_price = |point: &PricePoint| (money(point.price, currency), count(point.size.into()));
    let elasticity = factor(prices.elasticity);
    let mut said = Vec::new();
    // The prices that are spoken of, least and greatest.
    let mut spoken = [f64::INFINITY, 0.0_f64];
    match &prices.best {
        Some(best) if best.surplus.mean < 0.0 => {
            said.push(nothing_left(prices, currency));
            let ((price, batch), loses) = (at_price(best), money(-best.surplus.mean, currency));
            said.push(format!(
                "The best of them, {price} with a batch of {batch}, loses {loses}."
            ));
        }
        Some(best) => {
            spoken = [best.price; 2];
            let pays = |point: &&PricePoint| point.price > answer.price && point.surplus.mean >= 0.0;
            let losing = at(answer, answer.best_by_surplus).is_some_and(|own| own.surplus.mean < 0.0);
            said.extend(prices.curve.iter().find(pays).filter(|_| losing).map(|point| {
                let ((price, batch), left) = (at_price(point), leaves(point));
                format!(
                    "The first price looked at that leaves anything is {price} with a batch of {batch}: {left} on average."
                )
            }));
            let ((price, batch), left) = (at_price(best), leaves(best));
            said.push(format!(
                "By the file's elasticity of {elasticity} a price of {price} with a batch of {batch} would leave most: {left} on average."
            ));
        }
        None => {
            let most = most_left(prices);
            let ((price, batch), left) = (at_price(&most), leaves(&most));
            let last = prices.curve.last().is_some_and(|last| last.price == most.price);
            let (end, other) = match most.price > answer.price {
                true => ("dearest", "dearer"),
                false => ("cheapest", "cheaper"),
            };
            spoken = [most.price; 2];
            if prices.curve.iter().all(|point| point.surplus.mean == most.surplus.mean) {
                said.push("Every price looked at leaves the same.".to_owned());
            } else if prices.elasticity <= 1.0 && last {
                spoken[1] = f64::INFINITY;
                said.push(format!(
                    "With an elasticity of {elasticity} the dearest price looked at leaves most, so there is no best price."
                ));
            } else if prices.elasticity <= 1.0 {
                said.push(format!(
                    "With an elasticity of {elasticity} a dearer piece leaves more until too few buy it: of the prices looked at {price} is best."
                ));
            } else if most.surplus.mean < 0.0 {
                said.push(nothing_left(prices, currency));
                said.push(format!(
                    "The {end} of them, {price} with a batch of {batch}, loses least, {}; a {other} one may lose less.",
                    money(-most.surplus.mean, currency)
                ));
            } else {
                said.push(format!(
                    "The {end} price looked at, {price} with a batch of {batch}, leaves most, {left}; a {other} one may leave more."
                ));
            }
        }
    }
    // The file tells of buyers at its own price; how many would pay one far from it, it cannot know.
    let (least, greatest) = (answer.price / NEAR_ASKED, answer.price * NEAR_ASKED);
    if spoken[0] < least || spoken[1] > greatest {
        said.push(
            "How buyers answer is known only near prices that you have tried: go there in small steps, and log what sells."
                .to_owned(),
        );
    }
    said
}

/// One sentence for the chart.
pub(crate) fn headline(answer: &SeasonAnswer) -> String {
    let Some(best) = best(answer) else {
        return String::new();
    };
    let currency = &answer.currency;
    let price = typed_money(answer.price, currency);
    let hour = typed_money(answer.target, currency);
    let (n, batch) = (count(best.size.into()), batch_of(best.size));
    let figure = money(best.surplus.mean.abs(), currency);
    let left = counted(mean_count(best.leftover), "piece", "pieces");
    let becomes = if answer.carried { "carried on" } else { "left over" };
    match (best.surplus.mean < 0.0, answer.target > 0.0) {
        (true, true) => format!("Do not make it at {price}: even {batch} falls {figure} short of {hour} an hour"),
        (true, false) => format!("Do not make it at {price}: even {batch} loses {figure}"),
        (false, true) => {
            format!("Make {n} for the season at {price}: {figure} beyond {hour} an hour, {left} {becomes}")
        }
        (false, false) => format!("Make {n} for the season at {price}: it leaves {figure}, {left} {becomes}"),
    }
}

fn care(answer: &SeasonAnswer) -> String {
    let counted = if answer.carried {
        "A piece that is kept can also go out of fashion or be spoiled: that is not counted. "
    } else {
        ""
    };
    format!("{counted}How many buyers will come is your own guess, and the answer is no better than it. {BEFORE_TAX}")
}

/// Places of the sizes that have a row in any case.
fn shown(answer: &SeasonAnswer) -> Vec<usize> {
    let sizes: Vec<u32> = answer.sizes.iter().map(|s| s.size).collect();
    let mut must = vec![answer.best_by_surplus, answer.best_by_rate];
    if let Ok(place) = sizes.binary_search(&answer.best_by_surplus) {
        let around = [place.checked_sub(1), Some(place + 1)].into_iter().flatten();
        must.extend(around.filter_map(|near| sizes.get(near)));
    }
    must.extend(answer.ties.first());
    must.extend(answer.ties.last());
    well_chosen(&sizes, &must, ROWS)
}

fn sizes_table(answer: &SeasonAnswer) -> Table<'_, (usize, &SeasonSize)> {
    let surplus = "surplus.mean";
    let pays = best(answer).is_some_and(|best| best.surplus.mean >= 0.0);
    let mut c: Columns<'_, (usize, &SeasonSize)> = Columns::default();
    of_size(&mut c, answer, |row| Some(format!("sizes[{}]", row.0)));
    Table::new("Batch by batch", answer, "sizes", answer.sizes.iter().enumerate(), c)
        .choose(shown(answer), "sizes")
        // What is not to be made is not advised, nor is anything as good as it.
        .mark(Mark::Best, "leaves most", move |row| {
            row.1.size == answer.best_by_surplus && row.1.surplus.mean >= 0.0
        })
        .mark(Mark::Near, "no difference beyond the simulation error", move |s| {
            pays && answer.ties.contains(&s.1.size)
        })
        .mark(Mark::Hour, "", move |row| row.1.size == answer.best_by_rate)
        .main(move |row| row.1.size == answer.best_by_surplus)
        .curve(
            "What a season leaves",
            format!("{} a season", answer.currency),
            ["surplus_p10", surplus, "surplus_p90"],
            surplus,
        )
}

/// What is not sold.
fn leftover_head(answer: &SeasonAnswer) -> &'static str {
    if answer.carried {
        "pieces\ncarried\non"
    } else {
        "pieces\nleft\nover"
    }
}

fn earning(answer: &SeasonAnswer) -> String {
    format!("seasons\nthat\nearn {}", typed_amount(answer.target, &answer.currency))
}

/// A size at the asked price.
fn of_size<'a, R: 'a>(
    c: &mut Columns<'a, R>,
    answer: &'a SeasonAnswer,
    place: impl Fn(&R) -> Option<String> + Copy + 'a,
) {
    let currency = answer.currency.as_str();
    let (money, hourly) = (Unit::Money(currency), Unit::Hourly(currency));
    let surplus = format!("surplus {currency}");
    let target = typed_money(answer.target, currency);
    c.from(place);
    c.field("size", Unit::Count).plain("pieces\na batch");
    c.from(move |row| place(row).map(|_| String::new()));
    c.field("price", money);
    c.field("buyers.mean", Unit::Mean).named("asked_for_mean");
    c.from(place);
    c.fields("good", MEAN, Unit::Mean)
        .head("good\npieces")
        .note("Good pieces: those that are not spoiled.");
    c.fields("sold", MEAN, Unit::Mean).plain("pieces\nsold");
    c.field("leftover", Unit::Mean)
        .named("left_over_mean")
        .plain(leftover_head(answer));
    if answer.sizes.iter().any(|size| size.worn.is_some()) {
        c.field("worn", Unit::Mean)
            .named("worn_mean")
            .head("come\nback\nworn")
            .note("Come back worn: from sale or return, to be sold at a price of their own.");
    }
    c.fields("sold_out", SHARE, Unit::Share).plain("seasons\nsold\nout");
    c.fields("surplus", MEAN, money)
        .head("on\naverage")
        .under(&surplus)
        .note(format!("Surplus: what a season leaves after {target} for every hour."))
        .decides();
    c.field("surplus_p10", money)
        .plain("10 %\nleave\nless")
        .under(&surplus)
        .spare(1);
    c.field("surplus_p90", money)
        .plain("10 %\nleave\nmore")
        .under(&surplus)
        .spare(1);
    c.fields("against_best", MEAN, money);
    c.field("hours", Unit::Hours).named("hours_mean");
    c.field("rate.mean", hourly)
        .named("rate_long_run")
        .head(format!("an hour\nearns\n{currency}"))
        .note("An hour earns: on average.");
    c.field("rate.se", hourly).named("rate_long_run_se");
    c.fields("reach", SHARE, Unit::Share).plain(earning(answer)).decides();
}

/// A row: a size at the asked price, or a price with its best size.
struct Line {
    what: &'static str,
    /// Where JSON has it.
    place: String,
    price: f64,
}

/// What a row is that is about a size.
const SIZE: &str = "size";

impl Line {
    const fn new(what: &'static str, place: String, price: f64) -> Self {
        Self { what, place, price }
    }

    fn size(&self) -> Option<String> {
        (self.what == SIZE).then(|| self.place.clone())
    }

    fn price(&self) -> Option<String> {
        (self.what != SIZE).then(|| self.place.clone())
    }
}

/// The curve of prices, and the best.
fn price_lines(prices: &PriceResponse) -> (Vec<Line>, Option<Line>) {
    let curve = prices.curve.iter().enumerate();
    let curve = curve.map(|(k, point)| Line::new("price", format!("prices.curve[{k}]"), point.price));
    let best = prices
        .best
        .map(|point| Line::new("best price", "prices.best".to_owned(), point.price));
    (curve.collect(), best)
}

/// The prices of the curve with the best one in its place; some of them have a row in any case.
fn prices_table<'a>(answer: &'a SeasonAnswer, prices: &PriceResponse) -> Table<'a, Line> {
    let (curve, best) = price_lines(prices);
    let last = curve.len().saturating_sub(1);
    let every = last.div_ceil(PRICE_ROWS - 1).max(1);
    let rows = curve.into_iter().enumerate();
    let mut rows: Vec<(bool, Line)> = rows.map(|(k, line)| (k % every == 0 || k == last, line)).collect();
    if let Some(best) = best {
        rows.retain(|(_, line)| (line.price - best.price).abs() > 1e-9 * best.price);
        let place = rows.partition_point(|(_, line)| line.price < best.price);
        rows.insert(place, (true, best));
    }
    let shown = (0..rows.len()).filter(|k| rows[*k].0).collect();
    let rows = rows.into_iter().map(|(_, line)| line);
    let mut c: Columns<'_, Line> = Columns::default();
    of_price(&mut c, answer);
    let own = move |line: &Line| (line.price - answer.price).abs() <= 1e-9 * answer.price;
    let keys = ["price", "buyers", "size", "leftover", "surplus.mean", "rate", "reach"];
    Table::new("Price by price", answer, "", rows, c.pick(&keys))
        .choose(shown, "prices")
        // The advice is for the asked price; any other is what the elasticity makes of it.
        .mark(Mark::Own, "", own)
        .main(own)
}

/// A price with its best size.
fn of_price<'a>(c: &mut Columns<'a, Line>, answer: &'a SeasonAnswer) {
    let currency = answer.currency.as_str();
    let (money, hourly) = (Unit::Money(currency), Unit::Hourly(currency));
    c.from(Line::price);
    c.field("size", Unit::Count).plain("best\nbatch");
    c.field("price", money).plain(format!("price\n{currency}"));
    c.field("buyers", Unit::Mean)
        .named("asked_for_mean")
        .plain("pieces\nasked\nfor");
    c.field("leftover", Unit::Mean)
        .named("left_over_mean")
        .plain(leftover_head(answer));
    c.fields("surplus", MEAN, money).plain(format!("surplus\n{currency}"));
    c.field("rate", hourly)
        .named("rate_long_run")
        .plain(format!("an hour\nearns\n{currency}"));
    c.field("reach", Unit::Share)
        .named("reach_share")
        .plain(earning(answer));
}

/// Sizes at the asked price, then prices with their best sizes.
fn data(answer: &SeasonAnswer) -> Table<'_, Line> {
    let size = |k: usize| Line::new(SIZE, format!("sizes[{k}]"), answer.price);
    let mut rows: Vec<Line> = (0..answer.sizes.len()).map(size).collect();
    if let Some(prices) = &answer.prices {
        let (curve, best) = price_lines(prices);
        rows.extend(curve.into_iter().chain(best));
    }
    let mut c: Columns<'_, Line> = Columns::default();
    c.text("row", |line| line.what);
    of_size(&mut c, answer, Line::size);
    of_price(&mut c, answer);
    Table::new("", answer, "", rows, c)
}

fn small_print(answer: &SeasonAnswer) -> Vec<String> {
    let currency = &answer.currency;
    let mut lines = Vec::new();
    let buyers = &answer.buyers;
    let price = typed_money(answer.price, currency);
    let mean = counted(mean_count(buyers.mean), "piece", "pieces");
    let back = answer.stay_sold.map_or_else(String::new, |stays| {
        format!(
            " Of these, {} come back unsold from where they are left on sale or return.",
            of_100(1.0 - stays)
        )
    });
    lines.push(if buyers.mean == 0.0 {
        "Nobody buys otherwise than on selling days.".to_owned()
    } else if buyers.p10 == buyers.p90 {
        format!("At {price} buyers want {mean}.{back}")
    } else {
        format!(
            "At {price} buyers want {mean} on average: under {} in 10 of 100 seasons, over {} in another 10.{back}",
            mean_count(buyers.p10),
            mean_count(buyers.p90)
        )
    });
    let worth = money(answer.leftover_worth, currency);
    lines.push(if answer.carried {
        format!("A piece carried on counts {worth}: what it saves next season, less what keeping it costs.")
    } else {
        format!("A piece left over fetches {worth}.")
    });
    if let Some(f) = &answer.fractile {
        lines.push(format!(
            "One more piece costs {} in material and hours. Sold, it brings {} after fees, postage and packing.",
            money(f.cost, currency),
            money(f.sold_for, currency)
        ));
    }
    if let Some(prices) = &answer.prices {
        lines.extend(price_print(answer, prices));
    }
    let (trials, seed, version) = (count(answer.trials), answer.seed, &answer.version);
    lines.push(format!(
        "Each size was tried in {trials} seasons. Seed {seed}, batchwright {version}."
    ));
    if let Some(best) = best(answer).filter(|best| best.surplus.se > 0.0) {
        let (size, surplus) = (count(best.size.into()), mean_interval(&best.surplus, currency));
        lines.push(format!("Simulation error (95 %) at size {size}: surplus {surplus}."));
    }
    lines
}

fn price_print(answer: &SeasonAnswer, prices: &PriceResponse) -> Vec<String> {
    let currency = &answer.currency;
    let mut lines = vec![format!(
        "At another price buyers want (price / {}) to the power of -{} times as many. Each price but the best was tried in {} seasons.",
        typed_amount(answer.price, currency),
        factor(prices.elasticity),
        count(prices.curve_trials)
    )];
    if let Some(rule) = prices.markup_rule {
        lines.push(format!(
            "The markup rule names {}: elasticity / (elasticity - 1) times what a sold piece costs, with tax and fees on top. It \
             knows nothing of setups and pieces left over.",
            money(rule, currency)
        ));
    }
    // What the lowest price is that reaches the target, the price floor says; here is only one curve of prices.
    if prices.floor.is_none() {
        lines.push(format!(
            "In batches of {} no price looked at reaches {} an hour in {} seasons.",
            count(answer.best_by_surplus.into()),
            typed_money(answer.target, currency),
            asked_of_100(answer.confidence)
        ));
    }
    lines
}

#[cfg(test)]
mod tests;
