//! What a sales log says, in words, tables, JSON and CSV; its chart is in `plot`.

mod plot;
mod table;

use super::columns::Declared;
use super::format::{
    self, amount, count, days, hours, mean_count, money, money_interval, of_100, often, plain_interval, price_tag,
    price_tags, ratio, share, typed_money,
};
use super::page::Page;
use super::plot::Plot;
use super::question::Question;
use super::words::{joined, number_of, pieces};
use super::{Render, text};
use crate::sales::Offer;
use crate::sales::answer::{Against, Along, Buyers, GoesAlong, SellingDayTold, Sold, TooFew};
use crate::sales::count::{Between, Counted, TOLD};
use crate::sales::data::GAP;
use crate::sales::price::{Best, PriceEnd, STEEPEST};
use crate::sales::survival::Law;
use table::{prices, tables};

impl Render for Sold {
    fn page(&self, look: &text::Look) -> Page {
        Page {
            title: self.title.clone(),
            opening: opening(self),
            why: why(self, look),
            tables: self.grids(look),
            more: more(self),
            small: small_print(self, look),
            care: "What sold does not say what will sell. Prices are before income tax; what must be said of a price, and to whom it may be \
                   raised, is for local rules."
                .to_owned(),
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(prices(self, "counted.prices", &self.counted, &self.currency)))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        let at = ["counted.prices", "counted.changes"];
        tables(self, at, &self.counted, &self.currency)
    }

    fn plot(&self) -> Option<Plot> {
        plot::plot(self)
    }
}

impl Render for Counted {
    fn page(&self, look: &text::Look) -> Page {
        Page {
            title: self.name.clone(),
            opening: vec![counted(self)],
            why: asked(self).into_iter().collect(),
            tables: self.grids(look),
            ..Page::default()
        }
    }

    fn data(&self) -> Option<Box<dyn Declared + '_>> {
        Some(Box::new(prices(self, "prices", self, "")))
    }

    fn tables(&self) -> Vec<Box<dyn Declared + '_>> {
        tables(self, ["prices", "changes"], self, "")
    }
}

/// Why the log may be another piece's, or have the prices of sets.
pub(crate) fn doubt(sold: &Sold) -> Option<String> {
    if let Some(pieces) = sold.prices_of_sets() {
        return Some(format!(
            "every price in the log is about {pieces} times the file's {}, and the file sells in sets of {pieces}; write the price of a piece, \
             and count pieces",
            typed_money(sold.price, &sold.currency)
        ));
    }
    sold.another_piece().map(|[low, high]| {
        format!(
            "the log's prices go from {low} to {high}, and the scenario asks {}; is it the log of another piece?",
            sold.price
        )
    })
}

/// "12 pieces, 4 left, at 28, fair": an offer as it is told when it is added.
pub(crate) fn offer_said(offer: &Offer) -> String {
    let mut parts = vec![pieces(offer.pieces.into())];
    if offer.left > 0 {
        parts.push(format!("{} left", count(offer.left.into())));
    }
    parts.push(format!("at {}", amount(offer.price, "")));
    if !offer.outlet.is_empty() {
        parts.push(offer.outlet.clone());
    }
    parts.join(", ")
}

/// "In 14 offers from 2027-01-10 to 2027-11-02, 31 of 48 pieces sold, one in 9.6 days on offer."
fn counted(log: &Counted) -> String {
    let (Some(first), Some(until)) = (&log.first, &log.until) else {
        return "The log has no offers yet.".to_owned();
    };
    let offers = number_of(log.offers as u64, "offer", "offers");
    let pace = match log.days_a_sale {
        Some(a_sale) => format!(", one in {} on offer", days(a_sale)),
        None => format!(" in {} on offer", days(log.days)),
    };
    let sold = if log.sold == 0 {
        "none".to_owned()
    } else {
        count(log.sold)
    };
    let when = if first == until {
        format!("of {first}")
    } else {
        format!("from {first} to {until}")
    };
    format!("In {offers} {when}, {sold} of {} sold{pace}.", pieces(log.pieces))
}

fn asked(log: &Counted) -> Option<String> {
    let enquiries = log.enquiries?;
    Some(match enquiries.a_sale {
        Some(a_sale) => {
            let buyers = format::counted(often(a_sale.value), "buyer", "buyers");
            format!("For each sale {buyers} asked{}.", within(a_sale, often))
        }
        None => {
            let buyers = number_of(enquiries.count, "buyer", "buyers");
            format!("{buyers} asked, and none bought.")
        }
    })
}

/// " (95 %: 0.8 to 3.1)"; nothing without ends.
fn within(figure: Between, write: impl Fn(f64) -> String) -> String {
    ends(figure, write).map_or_else(String::new, |ends| format!(" ({ends})"))
}

/// "95 %: 1.2 to 3.4"; `None` where it has no end.
fn ends(figure: Between, write: impl Fn(f64) -> String) -> Option<String> {
    Some(match (figure.low, figure.high) {
        (Some(low), Some(high)) => format!("95 %: {}", plain_interval(&write(low), &write(high))),
        // An interval of 95 % leaves out 2.5 % on either side, and here only one side has an end.
        (Some(low), None) => format!("97.5 %: {} or more; the log sets no upper end", write(low)),
        (None, Some(high)) => format!("97.5 %: {} or less; the log sets no lower end", write(high)),
        (None, None) => return None,
    })
}

/// A week, or a season where the file has one.
fn span(sold: &Sold) -> &'static str {
    if sold.buyers.is_some_and(|b| b.season.is_some()) {
        "a season"
    } else {
        "a week"
    }
}

/// What to charge, what that leaves, and what not knowing more costs; or what to try.
pub fn opening(sold: &Sold) -> Vec<String> {
    let log = &sold.counted;
    if let Some(too_few) = sold.too_few {
        return until_learned(sold, too_few);
    }
    if sold.buyers.is_none() && log.sold == log.pieces {
        return vec![
            format!(
                "Raise the price, or bring more: all {} went nearly at once.",
                pieces(log.sold)
            ),
            "The log cannot tell how many more would have gone.".to_owned(),
        ];
    }
    let Some(best) = sold.best else {
        let buyers = sold.buyers.map(|b| asked_for(sold, &b));
        let step = match sold.goes_along {
            Some(_) => {
                "Change the price within one outlet: each of yours had its own, so the log cannot tell one from the other."
            }
            None => "Change the price now and then: at one price alone the log cannot tell what a higher one costs.",
        };
        return std::iter::once(step.to_owned()).chain(buyers).collect();
    };
    charge(sold, &best)
}

/// What to do until a price can be learned.
fn until_learned(sold: &Sold, too_few: TooFew) -> Vec<String> {
    let so_far = if sold.counted.offers == 0 {
        "It has no offers yet.".to_owned()
    } else {
        counted(&sold.counted)
    };
    let [low, high] = sold.try_prices.map(|price| price_tag(price, &sold.currency));
    let wait = match too_few {
        TooFew::Sales { needed } => {
            let besides = match sold.selling_days.is_empty() {
                true => "",
                false => " besides those of selling days",
            };
            format!("Keep the log going: a price can be learned from {needed} sales on{besides}.")
        }
        TooFew::Offers { needed } => format!(
            "Keep the log going: where several pieces are put up at once, a price can be learned from {needed} offers on."
        ),
    };
    vec![
        wait,
        so_far,
        format!("Put up the next pieces in turn at {low} and at {high}."),
    ]
}

/// The price that earns most, and what it leaves.
fn charge(sold: &Sold, best: &Best) -> Vec<String> {
    let c = &sold.currency;
    let price = price_tag(best.price, c);
    let (hour, span) = (typed_money(sold.target, c), span(sold));
    if best.leaves <= 0.0 {
        return vec![
            format!("Do not sell it at {}.", money_interval(best.from, best.to, c)),
            format!(
                "Even the best price there, {}, falls {} {span} short of {hour} for every hour but setup.",
                money(best.price, c),
                money(best.leaves.abs(), c)
            ),
        ];
    }
    let keeps = keeps(sold, best);
    let earns = match best.at_end {
        Some(PriceEnd::Highest) => "the highest earns most, and a higher one may earn more",
        Some(PriceEnd::Lowest) => "the lowest earns most, and a lower one may earn more",
        None => "it earns most",
    };
    let surely = sold.elasticity.is_some_and(|e| e.low.is_some_and(|low| low > 0.0));
    let first = match (keeps, surely) {
        (true, _) => format!(
            "Keep your price of {}: none near those you tried is clearly better.",
            typed_money(sold.price, c)
        ),
        (false, true) => format!("Charge about {price}: of the prices near those you tried {earns}."),
        // Where buyers may not mind the price at all, the best one is a guess at it.
        (false, false) => format!("Try {price} on a few pieces: of the prices near those you tried {earns}."),
    };
    let [low, high] = best.leaves_tenths;
    if low < high / FAR {
        return vec![
            first,
            format!(
                "What that leaves the log cannot tell yet: eight times in ten it is {} {span}.",
                money_interval(low, high, c)
            ),
        ];
    }
    let left = match best.file_leaves.filter(|_| keeps) {
        Some(leaves) => {
            let leaves = money(leaves, c);
            format!("That leaves about {leaves} {span} after {hour} for every hour, setup left out.")
        }
        // Another price has another number of buyers, and so many must be made too.
        None => format!(
            "At that price about {} asked for {span}: they leave about {} after {hour} for every hour, setup left out.",
            format::counted(often(best.asked()), "piece is", "pieces are"),
            money(best.leaves, c)
        ),
    };
    let mut said = vec![first, left];
    // At an end it is the untried prices that matter.
    if best.at_end.is_none() {
        let regret = money(best.regret, c);
        said.push(format!(
            "If you knew your buyers well, a better price would leave about {regret} more."
        ));
    }
    said
}

/// Where one end of what a price leaves, eight times in ten, is so many times the other, their mean is no figure to go by (assumption).
const FAR: f64 = 20.0;

/// Whether the file's price leaves nearly what the best one does.
pub(super) fn keeps(sold: &Sold, best: &Best) -> bool {
    sold.price >= best.nearly[0] && sold.price <= best.nearly[1]
}

fn asked_for(sold: &Sold, buyers: &Buyers) -> String {
    let (currency, several) = (&sold.currency, sold.outlets.len() > 1);
    format!(
        "At {} about {} asked for a week{}{}.",
        money(buyers.price, currency),
        format::counted(often(buyers.week.value), "piece is", "pieces are"),
        if several { " in all outlets together" } else { "" },
        within(buyers.week, often)
    )
}

/// What a higher price costs, how many buyers there are, and what the log cannot tell.
fn why(sold: &Sold, look: &text::Look) -> Vec<String> {
    let mut said: Vec<String> = too_many(sold).into_iter().collect();
    said.extend(season_beside(sold, look));
    said.extend(sold.elasticity.map(costs));
    if sold.best.is_some() && sold.elasticity.is_some_and(|e| e.value > STEEPEST) {
        // Without it the price, the picture and the numbers asked for seem to contradict one another.
        said.push(format!(
            "So much is hardly true of buyers: the price to charge and the picture count on {} % at the most.",
            often(STEEPEST)
        ));
    }
    if sold.best.is_some()
        && let Some(buyers) = sold.buyers
    {
        said.push(asked_for(sold, &buyers));
    }
    said.extend(sold.goes_along.map(|goes| along(sold, goes)));
    said.extend(selling_days(sold));
    said.extend(sold.buyers.and_then(|buyers| come_back(&buyers)));
    said.extend(against(sold));
    said
}

/// That what comes back unsold is counted on top of what the log sold.
fn come_back(buyers: &Buyers) -> Option<String> {
    buyers.stay_sold.map(|stays| {
        format!(
            "What the log sold is taken to stay sold. Of the pieces asked for {} come back unsold from sale or return, as the file says, and \
             are counted on top{}.",
            of_100(1.0 - stays),
            if buyers.season.is_some() { ", in `buyers` too" } else { "" }
        )
    })
}

/// That rows of the file's selling days are theirs.
fn selling_days(sold: &Sold) -> Option<String> {
    let days = sold.selling_days.iter();
    let names: Vec<String> = days.map(|day| place(&day.name)).collect();
    let whose = match names.as_slice() {
        [_] => "that selling day's own",
        _ => "those selling days' own",
    };
    let elsewhere = match sold.buyers.and(sold.best) {
        Some(_) => ", nor in what a price leaves",
        None => "",
    };
    Some(format!(
        "Rows of {} are {whose}: they are not counted in {}{elsewhere}.",
        joined(&names)?,
        if sold.file.buyers.is_some() {
            "`buyers`"
        } else {
            "what is asked for otherwise"
        }
    ))
}

/// What a selling day sells.
fn sells(day: &SellingDayTold) -> String {
    let place = place(&day.name);
    day.sells.map_or_else(
        || format!("How many would buy at {place} the log cannot tell yet."),
        |sells| {
            format!(
                "At {place} {} would find a buyer on average{}, and on eight days in ten {}.",
                format::counted(mean_count(sells.mean.value), "piece", "pieces"),
                within(sells.mean, mean_count),
                plain_interval(&count(sells.p10 as u64), &count(sells.p90 as u64))
            )
        },
    )
}

/// Where the best price brings more buyers in a season than the file makes pieces at once.
fn too_many(sold: &Sold) -> Option<String> {
    let best = sold.best.filter(|best| best.leaves > 0.0 && !keeps(sold, best))?;
    let season = sold.buyers.and_then(|buyers| buyers.season);
    season
        .filter(|_| best.asked() >= f64::from(sold.largest_batch) + 1.0)
        .map(|_| {
            format!(
                "{} are more than your largest batch of {}; the sum counts all of them.",
                format::counted(often(best.asked()), "piece", "pieces"),
                count(sold.largest_batch.into())
            )
        })
}

/// That the question for the season reckons otherwise, where the file has an answer to prices.
fn season_beside(sold: &Sold, look: &text::Look) -> Option<String> {
    let named =
        sold.best.is_some_and(|best| best.leaves > 0.0) && sold.file.elasticity.is_some_and(|file| file.was > 0.0);
    named.then(|| {
        format!(
            "{} may name another price: it goes by the file's elasticity and counts what is left over, and this page goes by the log.",
            Question::Season.named(look)
        )
    })
}

/// "A price 1 % higher costs 1.9 % of the buyers (95 %: 0.8 to 3.1)."
fn costs(e: Between) -> String {
    let ends = within(e, often);
    let costs = often(e.value);
    if e.low.is_none_or(|low| low <= 0.0) {
        format!("The log cannot tell yet whether a higher price costs buyers: 1 % more costs {costs} % of them{ends}.")
    } else {
        format!("A price 1 % higher costs {costs} % of the buyers{ends}.")
    }
}

/// What prices went along with.
fn along(sold: &Sold, goes: GoesAlong) -> String {
    let with = match goes.with {
        Along::Outlet if sold.elasticity.is_some() => {
            return format!(
                "{} of the differences in price are between outlets, so only changes of price within one outlet teach anything.",
                share(goes.share)
            );
        }
        Along::Outlet => "with the outlet",
        Along::Time => "up or down as time went by",
        Along::Year => "with the time of year",
    };
    let open = goes.elasticity.map_or_else(String::new, |e| {
        format!(
            " With that left open, a price 1 % higher costs {} % of them{}.",
            often(e.value),
            within(e, often)
        )
    });
    format!(
        "{} of the differences in price went {with}, so buyers may have answered that and not the price.{open}",
        share(goes.share)
    )
}

/// What of the file the log contradicts.
fn against(sold: &Sold) -> Vec<String> {
    let mut said = Vec::new();
    let mut tell = |against: Option<Against>, what: &str, found: String| {
        if let Some(against) = against.filter(|a| a.contradicted) {
            said.push(format!(
                "The file says {} {what}, which the log contradicts: {found}.",
                often(against.was)
            ));
        }
    };
    let found = |of: Between, write: fn(f64) -> String| format!("{}{}", write(of.value), within(of, write));
    if let Some(buyers) = sold.buyers {
        tell(sold.file.per_week, "a week", found(buyers.week, often));
        if let Some(season) = buyers.season {
            let mean = found(season.mean, mean_count);
            tell(sold.file.buyers, "pieces asked for a season on average", mean);
        }
    }
    if let Some(e) = sold.elasticity {
        tell(sold.file.elasticity, "for the elasticity", found(e, often));
    }
    for day in &sold.selling_days {
        if let Some(sells) = day.sells {
            let what = format!("pieces asked for on average at {}", place(&day.name));
            tell(day.file, &what, found(sells.mean, mean_count));
        }
    }
    said
}

fn more(sold: &Sold) -> Vec<String> {
    let mut said = Vec::new();
    let c = &sold.currency;
    if let Some(best) = sold.best.filter(|best| best.leaves > 0.0) {
        let tags = price_tags(best.nearly, best.price);
        let [low, high] = if tags[0] <= tags[1] { tags } else { best.nearly };
        let regret = money(best.regret_p90, c);
        let others = if regret == money(0.0, c) {
            "no other price there leaves more".to_owned()
        } else {
            format!("the best price there leaves at most {regret} more")
        };
        said.push(format!(
            "At {} it leaves {} {} eight times in ten. Nine times in ten {others}.",
            money(best.price, c),
            money_interval(best.leaves_tenths[0], best.leaves_tenths[1], c),
            span(sold),
        ));
        if money(low, c) != money(high, c) {
            let prices = money_interval(low, high, c);
            said.push(format!("Prices of {prices} leave nearly as much."));
        }
        said.push(next(sold));
    }
    if let Some(buyers) = sold.buyers {
        said.extend(how_they_buy(sold, &buyers));
    }
    said.extend(sold.selling_days.iter().map(sells));
    for outlet in &sold.outlets {
        if let (Some(times), Some(first)) = (outlet.times, sold.outlets.first()) {
            said.push(beside(times, &place(&outlet.name), &place(&first.name)));
        }
    }
    said.extend(asked(&sold.counted));
    if let (Some(minutes), Some(a_sale)) = (sold.enquiry_minutes, sold.enquiry_hours_a_sale) {
        said.push(format!(
            "At {} each, enquiries cost {} a sale{}; that is taken off.",
            hours(minutes / 60.0),
            hours(a_sale.value),
            within(a_sale, hours)
        ));
    }
    let apart = &sold.counted.set_apart;
    for apart in apart.iter().take(TOLD) {
        said.push(format!(
            "Line {} is set apart: its price of {} is far from the usual {}.",
            apart.line,
            money(apart.price, c),
            money(apart.usual, c)
        ));
    }
    if apart.len() > TOLD {
        let more = number_of((apart.len() - TOLD) as u64, "more line is", "more lines are");
        said.push(format!("{more} set apart likewise."));
    }
    said
}

/// How many times as fast an offer sells in one outlet as in another; where that is a small part, the other way round.
fn beside(times: Between, here: &str, there: &str) -> String {
    if times.value >= SMALL_PART {
        let (times, ends) = (ratio(times.value), within(times, ratio));
        return format!("At one price an offer sells {times} times as fast in {here} as in {there}{ends}.");
    }
    let slower = Between {
        value: 1.0 / times.value,
        low: times.high.map(f64::recip),
        high: times.low.map(f64::recip),
    };
    let (times, ends) = (often(slower.value), within(slower, often));
    format!("At one price an offer sells about {times} times more slowly in {here} than in {there}{ends}.")
}

/// Ratios below are told the other way round: two digits say nothing of them.
const SMALL_PART: f64 = 0.1;

/// How soon buyers come, how many a season has, and where the file is left alone.
fn how_they_buy(sold: &Sold, buyers: &Buyers) -> Vec<String> {
    let price = money(buyers.price, &sold.currency);
    // Beyond all days of the log it is only the curve that says when.
    let half = Between {
        high: buyers.half_sold_days.high.filter(|high| *high <= sold.counted.days),
        ..buyers.half_sold_days
    };
    let law = law(sold);
    let mut said = vec![if half.value <= sold.counted.days {
        let (days, ends) = (days(half.value), within(half, mean_count));
        format!("At {price} half of the offers have sold a piece after {days}{ends}.{law}")
    } else {
        format!("At {price} fewer than half of the offers sell a piece, as far as the log can tell.{law}")
    }];
    if let Some(season) = buyers.season {
        let from = match season.stretches {
            0 => String::new(),
            1 => ", as in the log,".to_owned(),
            n => format!(", the mean of {} stretches in the log,", count(n as u64)),
        };
        said.push(format!(
            "In a season of {} for sale{from} {} will ask for it at {price}, eight times in ten. The range is as wide as chance and so short \
             a log make it.",
            days(season.days),
            plain_interval(&count(season.p10 as u64), &count(season.p90 as u64))
        ));
    }
    if !buyers.at_file_price {
        said.push(format!(
            "The file asks {}, which is not near a price that was tried, so its buyers are left alone.",
            typed_money(sold.price, &sold.currency)
        ));
    }
    said
}

fn place(name: &str) -> String {
    if name.is_empty() {
        "the outlet without a name".to_owned()
    } else {
        format!("'{}'", text::printable(name))
    }
}

/// Which law is better, and by how much.
fn law(sold: &Sold) -> String {
    let shape = sold.shape.map_or_else(String::new, |k| {
        let told = std::iter::once(format!("k {}", ratio(k.value))).chain(ends(k, ratio));
        format!(" ({})", told.collect::<Vec<_>>().join(", "))
    });
    let better = sold.laws.iter().find(|l| l.better).map(|l| l.law);
    match (better, sold.clearly, sold.laws.len()) {
        (_, _, 0 | 1) | (None, ..) => String::new(),
        (Some(Law::Even), _, _) => {
            format!(" As far as the log can tell, an offer is as likely to sell on every day{shape}.")
        }
        (Some(Law::Uneven), clearly, _) => format!(
            " Some offers sell better than others by more than chance{}. What is asked for a week is meant for the average offer. In \
             the table, offers that stood longer count for more.",
            surely(clearly)
        ),
        (Some(Law::Ageing), clearly, _) => format!(
            " An offer sells {} as it gets older{shape}{}. What is asked for a week is meant for an offer that stands \
             as long as the log's offers do on average. In the table, offers that stood longer count for more.",
            if sold.shape.is_some_and(|k| k.value < 1.0) {
                "more slowly"
            } else {
                "faster"
            },
            surely(clearly)
        ),
    }
}

fn surely(clearly: bool) -> &'static str {
    if clearly { "" } else { ", though that is not sure" }
}

/// What to try next: two prices in turn, so that the time of year has no part in it.
fn next(sold: &Sold) -> String {
    let [low, high] = sold.try_prices.map(|price| price_tag(price, &sold.currency));
    format!(
        "To learn more, put up the next pieces in turn at {low} and at {high} in one outlet: in turn, so that the time of year has no part in it."
    )
}

fn small_print(sold: &Sold, look: &text::Look) -> Vec<String> {
    let log = &sold.counted;
    let mut said = Vec::new();
    if let Some(until) = &log.until {
        let other = if look.terminal {
            " (--until names another day)"
        } else {
            ""
        };
        said.push(format!(
            "What was not sold counts as long as it was for sale; open offers are counted until {until}{other}."
        ));
    }
    if let Some(buyers) = sold.buyers {
        let offers = format::counted(often(buyers.open_at_once), "offer", "offers");
        let which = buyers.selling_days_a_week.map_or_else(
            || format!("{offers} open at once, as in the log"),
            |days| {
                let days = format::counted(often(days), "selling day", "selling days");
                format!("the log's offers, {days} a week among them")
            },
        );
        said.push(format!(
            "Buyers are those of {which}; each offer has buyers of its own."
        ));
        if sold.outlets.len() > 1 {
            said.push(
                "The table has what one offer sold, each price by itself. What is asked for a week is that of all outlets together, as if \
                 all asked this price."
                    .to_owned(),
            );
        }
    }
    if sold.best.is_some() {
        said.push("Earnings are what all who ask bring, so hours and stock must suffice. Neither setup, nor material that a batch uses once, nor pieces left over are taken off them.".to_owned());
    }
    if !sold.laws.is_empty() {
        said.push(format!(
            "{} Where nothing was for sale for {} days, another season begins.",
            fitted(sold),
            mean_count(GAP)
        ));
    }
    said.push(format!(
        "What is given as 95 % holds 95 times in 100.{} batchwright {}.",
        if look.terminal {
            " --write puts what the log contradicts into the file; all else stays."
        } else {
            ""
        },
        log.version
    ));
    said
}

/// Which of the ways that buyers may come was taken.
fn fitted(sold: &Sold) -> String {
    let way = |law: Law| match law {
        Law::Even => "every offer is as likely to sell on every day",
        Law::Ageing => "an offer sells faster or more slowly as it gets older",
        Law::Uneven => "some offers sell better than others",
    };
    let taken = sold.laws.iter().find(|l| l.better).map_or("", |l| way(l.law));
    match sold.laws.len() {
        1 => format!("It is taken that {taken}."),
        n => format!(
            "Of {} ways in which buyers may come, the log makes this one the likeliest: {taken}.",
            count(n as u64)
        ),
    }
}

/// Letters that a headline has room for, in three lines of the chart.
const HEADLINE: usize = 180;

/// What to charge and what that leaves for the chart, where there is room for both.
pub(crate) fn headline(sold: &Sold) -> String {
    let mut said = opening(sold);
    said.truncate(if sold.best.is_some() { 2 } else { 1 });
    let joined = |said: &[String]| {
        let bare: Vec<&str> = said.iter().map(|s| s.trim_end_matches('.')).collect();
        bare.join(". ")
    };
    let both = joined(&said);
    if both.chars().count() <= HEADLINE {
        both
    } else {
        joined(said.get(..1).unwrap_or_default())
    }
}
