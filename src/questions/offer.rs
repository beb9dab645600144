//! What a buyer or a shop is told: prices by quantity and the dates they can be ready by, and nothing of what stands behind them.
//!
//! - Each quantity is one order, made and sent together. Its price is what [`floor::orders`] quotes at the scenario's confidence, rounded up
//!   to a price tag in whole coins, so that what many cost is what a buyer works out. Where some batch pays at the asked price, no piece of an
//!   order costs more than that: it can come from such a batch.
//!   The asked price is for an order of usual size: one of no more pieces is not offered below it, and only one of more comes cheaper.
//!   No order costs less in all than a smaller one of the sheet, and a piece costs no more than in a smaller one, unless the simulation is sure
//!   that it must, as where so many take another round ([`Line::dearer`]).
//! - Its date is the first by which four in five such orders are done ([`calendar`]), whatever the scenario's own confidence is: a buyer who
//!   is told a date counts on it (assumption).

use super::calendar::{self, Day, NoDate, Opens};
use super::{Settings, floor, quick_sweep, vary};
use crate::model::counts;
use crate::model::hours::once_hours;
use crate::model::money::OnceAnOrder;
use crate::scenario::{Offered, Scenario, Spoiled, coins};

/// Share of orders that are ready by the date.
pub const READY: f64 = 0.8;

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// Pieces of each order, ascending and not empty.
    pub orders: Vec<u32>,
    /// The index of the channel that the orders go through; `None`: as `[sale]` says.
    pub channel: Option<usize>,
    /// Work begins on the first bench day from there on.
    pub from: Day,
}

/// What is offered.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// The scenario's title.
    pub title: String,
    /// What it says of the piece and of who offers it.
    pub offered: Offered,
    /// ISO 4217 code.
    pub currency: String,
    /// Tax contained in the prices, as a fraction of the net price.
    pub tax: f64,
    /// Postage that the buyer pays for an order, in the offer's currency; 0 where none is charged.
    pub postage: f64,
    /// Whether the maker pays postage and charges none.
    pub postage_included: bool,
    /// Pieces of a set, where sets are sold; 1 where pieces are.
    pub set_of: u32,
    /// Whether it is left on sale or return.
    pub on_return: bool,
    /// Whether there are channels and none is named, so that what they add is missing, which no buyer is told.
    pub past_channels: bool,
    /// What the scenario itself asks for a piece, in whole coins, which the maker knows and no buyer is told.
    pub own_price: f64,
    /// Share of orders that [`Line::needs`] pays in, likewise.
    pub confidence: f64,
    /// Hours for what is done once, which the dates leave out, likewise; 0 where they hold it.
    pub once_hours: f64,
    /// What an order costs once, likewise.
    pub once_an_order: Option<OnceAnOrder>,
    /// Whether there are days without work to come: an order that arrives later may be ready later still.
    pub days_off: bool,
    /// Ascending in pieces.
    pub lines: Vec<Line>,
}

/// One quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Pieces of the order.
    pub pieces: u32,
    /// Price of a piece.
    pub each: f64,
    /// The least price of a piece at which such an order pays by itself, which no buyer is told; above `each` where that is the asked price.
    pub needs: f64,
    /// [`floor::SizeFloors::worse_when_dearer`] where the sheet asks more than the scenario, likewise.
    pub worse_when_dearer: Option<f64>,
    /// [`floor::SizeFloors::spares`], likewise.
    pub spares: Option<u32>,
    /// Why a piece costs more than in a smaller order of the sheet; `None` where it does not.
    pub dearer: Option<Dearer>,
    /// Price of all of them.
    pub in_all: f64,
    /// The date by which it is ready; `None` where the scenario has no bench hours.
    pub ready: Option<Day>,
}

/// What makes a piece of an order dearer than one of a smaller order.
#[derive(Debug, Clone, PartialEq)]
pub struct Dearer {
    /// Pieces of the smaller order, the one with the lowest price of a piece.
    pub than: u32,
    /// The step that takes more rounds for each piece, spares included; `None` where there is none.
    pub rounds_at: Option<String>,
}

/// Why nothing can be offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoOffer {
    /// No price pays for an order of so many.
    NoPrice(u32),
    /// The bench has hours, but an order of so many would not be done.
    NoDate(u32),
}

/// What can be offered of a scenario.
///
/// # Errors
/// [`NoOffer`] where a quantity has no price or no date.
pub fn run(
    scenario: &Scenario,
    question: &Question,
    settings: &Settings,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Offer, NoOffer> {
    let orders = &question.orders;
    let quotes = floor::orders(scenario, question.channel, orders, settings, &|done| {
        progress(0.5 * done)
    });
    // The price that a buyer sees there.
    let sold = question
        .channel
        .map_or_else(|| scenario.clone(), |k| vary::through(scenario, k));
    let coins = coins(&scenario.currency);
    let own_price = libm::round(sold.sale.price * coins) / coins;
    let asked = quick_sweep(scenario, settings).first_paying_size.map(|_| own_price);
    let usual = sold.sale.order_of.mean() * f64::from(sold.sale.set_of);
    let mut lines: Vec<Line> = Vec::with_capacity(orders.len());
    for (k, quote) in quotes.sizes.iter().enumerate() {
        let quoted = quote.floor_asked.price.ok_or(NoOffer::NoPrice(quote.size))?;
        let fewer = lines.last().map_or(0.0, |line| line.in_all);
        let due = quoted.max(fewer / f64::from(quote.size));
        let each = tag(due, coins).min(asked.unwrap_or(f64::INFINITY));
        let each = if f64::from(quote.size) <= usual {
            each.max(own_price)
        } else {
            each
        };
        let cheapest = lines.iter().min_by(|a, b| a.each.total_cmp(&b.each));
        let (each, dearer) = match cheapest.filter(|line| line.each < each) {
            Some(line) if quote.floor_asked.low.is_some_and(|low| low <= line.each) => (line.each, None),
            Some(line) => {
                let counts = [(line.pieces, line.spares), (quote.size, quote.spares)];
                let rounds_at = more_rounds(&sold, counts.map(|(due, spares)| (due, due + spares.unwrap_or(0))));
                let than = line.pieces;
                (each, Some(Dearer { than, rounds_at }))
            }
            None => (each, None),
        };
        lines.push(Line {
            pieces: quote.size,
            each,
            needs: quoted,
            spares: quote.spares,
            dearer,
            worse_when_dearer: quote.worse_when_dearer.filter(|_| each > own_price),
            in_all: each * f64::from(quote.size),
            ready: ready(&sold, (quote.size, quote.spares.unwrap_or(0)), question, settings)?,
        });
        progress(0.5 + 0.5 * (k + 1) as f64 / orders.len() as f64);
    }
    Ok(Offer {
        title: scenario.title.clone(),
        offered: scenario.offered.clone(),
        currency: scenario.currency.clone(),
        tax: sold.sale.tax,
        set_of: sold.sale.set_of,
        on_return: quotes.on_return,
        own_price,
        past_channels: quotes.past_channels,
        confidence: scenario.confidence,
        // Of a batch that is all there will be the dates hold it.
        once_hours: if scenario.batch.runs == 1 {
            0.0
        } else {
            once_hours(scenario)
        },
        once_an_order: quotes.once_an_order,
        days_off: (scenario.hours.iter().flat_map(|hours| &hours.off)).any(|(_, last)| *last >= question.from.0),
        postage_included: sold.sale.post_charged <= 0.0 && !sold.sale.post.is_zero(),
        postage: sold.sale.post_charged * scenario.exchange_rate(sold.sale.currencies.post_charged),
        lines,
    })
}

/// The step whose rounds take most more time for each piece of the second order than of the first, each with the pieces that are started for it.
fn more_rounds(scenario: &Scenario, orders: [(u32, u32); 2]) -> Option<String> {
    let mut short = scenario.clone();
    short.batch.spoiled = Spoiled::Short;
    let [before, then] = orders.map(|(due, started)| {
        let steps = counts::at_steps(&short, started).into_iter();
        steps.map(|at| at.rounds / f64::from(due)).collect::<Vec<_>>()
    });
    let steps = scenario.steps.iter().zip(before.iter().zip(&then));
    let more = steps.map(|(step, (before, then))| (step, (then - before) * step.own_setup().mean()));
    let most = more.filter(|(_, more)| *more > 0.0).max_by(|a, b| a.1.total_cmp(&b.1));
    most.map(|(step, _)| step.name.clone())
}

/// The date by which an order of so many pieces is ready that so many spares are started with.
fn ready(
    scenario: &Scenario,
    (pieces, spares): (u32, u32),
    question: &Question,
    settings: &Settings,
) -> Result<Option<Day>, NoOffer> {
    let mut order = if question.channel.is_some() {
        vary::one_order_through(scenario, pieces)
    } else {
        vary::one_order(scenario, pieces)
    };
    order.confidence = READY;
    let asked = calendar::Question {
        from: question.from,
        due: None,
        opens: Opens::default(),
        sizes: vec![pieces],
        first_batch: false,
        spares,
    };
    let few = Settings {
        trials: settings.trials.min(calendar::TRIALS),
        ..*settings
    };
    match calendar::run(&order, &asked, &few, &|_| ()) {
        Ok(found) => Ok(found.asked().map(|at| at.finish_kept.date)),
        Err(NoDate::NoHours) => Ok(None),
        Err(NoDate::NoStart | NoDate::TooLong(_)) => Err(NoOffer::NoDate(pieces)),
    }
}

/// A price rounded up to what a price tag would say: a step of 1, 2 or 5 of some digit, of one to two and a half hundredths of it, and no
/// finer than a coin, `coins` of which make one.
fn tag(price: f64, coins: f64) -> f64 {
    let fine = 0.025 * price;
    if fine <= 0.0 {
        return price.max(0.0);
    }
    let digit = libm::pow(10.0, libm::floor(libm::log10(fine)));
    let step = digit
        * [5.0, 2.0]
            .into_iter()
            .find(|times| times * digit <= fine)
            .unwrap_or(1.0);
    let step = step.max(1.0 / coins);
    // What is a tag already but for rounding stays.
    libm::round(libm::ceil(price / step - 1e-9) * step * coins) / coins
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Hours, Spread, Step};
    use crate::testing::{scenario, step};
    use jiff::civil::date;

    /// These orders from a day in January, and few trials: nothing here is left to chance.
    fn asked(orders: &[u32]) -> (Question, Settings) {
        let question = Question {
            orders: orders.to_vec(),
            channel: None,
            from: Day(date(2027, 1, 11)),
        };
        let settings = Settings {
            trials: 64,
            ..Settings::default()
        };
        (question, settings)
    }

    #[test]
    fn tags_are_round_and_never_below() {
        for (price, said) in [
            (61.08, 62.0),
            (62.0, 62.0),
            (29.97, 30.0),
            (4.13, 4.2),
            (1_043.0, 1_060.0),
            (152.3, 154.0),
            (0.0, 0.0),
        ] {
            let found = tag(price, 100.0);
            assert!((found - said).abs() < 1e-9, "{price}: {found}");
        }
        assert_eq!((tag(0.355, 100.0), tag(0.3, 100.0), tag(23.4, 1.0)), (0.36, 0.3, 24.0));
    }

    /// A buyer multiplies: what so many cost in all is the price that the sheet says times their number, at any price.
    #[test]
    fn prices_multiply_as_they_are_written() {
        for code in ["EUR", "JPY"] {
            for needs in (50..5_000).map(|k| f64::from(k) * 0.001) {
                let each = tag(needs, coins(code));
                let written: f64 = format!("{each:.*}", if code == "JPY" { 0 } else { 2 })
                    .parse()
                    .expect("a number");
                assert!(
                    (written - each).abs() < 1e-12 && each >= needs * (1.0 - 1e-9),
                    "{needs} {code}: {each}"
                );
            }
        }
        // 0.705 min at 30 an hour need 0.3525; a price of 4.995 is asked as 5.00 (or 4.99), and not as what nobody can pay.
        for (minutes, price) in [(0.705, 0.4), (8.0, 4.995)] {
            let make = Step {
                each: Spread::Certain(minutes),
                ..step("make")
            };
            let shop = scenario(price, 30.0, &[1, 24, 100], vec![make]);
            let asked = Question {
                orders: vec![24, 100],
                channel: None,
                from: Day(date(2027, 1, 11)),
            };
            let settings = Settings {
                trials: 64,
                ..Settings::default()
            };
            for line in run(&shop, &asked, &settings, &|_| ()).expect("an offer").lines {
                let written = (line.each * 100.0).round() / 100.0;
                assert!(
                    (line.in_all - written * f64::from(line.pieces)).abs() < 1e-9,
                    "{line:?}"
                );
            }
        }
    }

    /// All of it is setup: an order of two needs no more than one of one, for which 50 are asked, and does not cost less either.
    #[test]
    fn no_order_costs_less_than_a_smaller_one() {
        let make = Step {
            setup: Spread::Certain(60.0),
            each: Spread::Certain(0.1),
            ..step("make")
        };
        let shop = scenario(50.0, 30.0, &[1, 3, 12], vec![make]);
        let (asked, settings) = asked(&[1, 2, 7]);
        let lines = run(&shop, &asked, &settings, &|_| ()).expect("an offer").lines;
        let told: Vec<(f64, f64)> = lines.iter().map(|line| (line.each, line.in_all)).collect();
        assert!(lines[2].needs < 5.0, "{lines:?}");
        assert_eq!(told, [(50.0, 50.0), (25.0, 50.0), (7.2, 50.4)]);
    }

    /// A pot of 3 h holds twelve, and a piece takes 6 min besides; an hour should earn 30 and nothing else costs anything. Twelve need 3 h and 1.2 h,
    /// 10.50 a piece; thirteen take a second pot, 7.3 h and 16.85; 24 need 10.50 again. One of 24 is no dearer than one of twelve.
    #[test]
    fn a_piece_is_dearer_only_where_another_round_makes_it_so() {
        let make = Step {
            setup: Spread::Certain(180.0),
            each: Spread::Certain(6.0),
            room: Some(12),
            ..step("pour")
        };
        let shop = scenario(5.0, 30.0, &[1, 24], vec![make]);
        let (asked, settings) = asked(&[12, 13, 24]);
        let lines = run(&shop, &asked, &settings, &|_| ()).expect("an offer").lines;
        let dearer = Some(Dearer {
            than: 12,
            rounds_at: Some("pour".to_owned()),
        });
        let told: Vec<(f64, Option<Dearer>)> = lines.iter().map(|line| (line.each, line.dearer.clone())).collect();
        assert_eq!(told, [(10.6, None), (17.0, dearer), (10.6, None)]);
    }

    /// Every second piece is spoiled. Three are started for one that is due, in 1 h and 1.5 h, which is enough in 7 of 8 orders: on three Mondays of
    /// an hour. Made one after the other until one is good, each in 1.5 h, four orders in five would take up to three of them and five Mondays.
    #[test]
    fn the_date_counts_on_the_advised_spares() {
        let make = Step {
            setup: Spread::Certain(60.0),
            each: Spread::Certain(30.0),
            spoil: 0.5,
            ..step("turn")
        };
        let mut shop = scenario(80.0, 20.0, &[1], vec![make]);
        let mut days = [0.0; 7];
        days[0] = 1.0;
        shop.hours = Some(Hours {
            days,
            opens: [None; 7],
            off: Vec::new(),
        });
        let (asked, few) = asked(&[1]);
        let settings = Settings { trials: 2_000, ..few };
        let lines = run(&shop, &asked, &settings, &|_| ()).expect("an offer").lines;
        assert_eq!(
            (lines[0].spares, lines[0].ready),
            (Some(2), Some(Day(date(2027, 1, 25))))
        );
    }

    /// A piece takes 1 h, setup 3 h; an hour should earn 30 and nothing else costs anything. So an order of one takes 4 h and needs 120, one of
    /// three 6 h and 60 a piece, one of twelve 15 h and 37.50. At an asked price of 50 a batch of twelve pays (600 for 15 h),
    /// so nothing costs more than that.
    #[test]
    fn prices_by_hand() {
        let make = Step {
            setup: Spread::Certain(180.0),
            each: Spread::Certain(60.0),
            ..step("make")
        };
        let mut shop = scenario(50.0, 30.0, &[1, 3, 12], vec![make]);
        let (asked, settings) = asked(&[1, 3, 12]);
        let each = |shop: &Scenario| -> Vec<(u32, f64, f64)> {
            let offer = run(shop, &asked, &settings, &|_| ()).expect("an offer");
            assert!(offer.lines.iter().all(|line| line.ready.is_none()));
            offer
                .lines
                .iter()
                .map(|line| (line.pieces, line.each, line.in_all))
                .collect()
        };
        assert_eq!(each(&shop), [(1, 50.0, 50.0), (3, 50.0, 150.0), (12, 37.5, 450.0)]);
        let offer = run(&shop, &asked, &settings, &|_| ()).expect("an offer");
        let needs: Vec<f64> = offer.lines.iter().map(|line| line.needs).collect();
        assert_eq!(needs, [120.0, 60.0, 37.5]);
        // Where no batch pays at the asked price, an order must pay by itself.
        shop.sale.price = 20.0;
        assert_eq!(each(&shop), [(1, 120.0, 120.0), (3, 60.0, 180.0), (12, 37.5, 450.0)]);
        // Two hours a Monday: 4 h take two of them, 6 h three, 15 h eight.
        let mut days = [0.0; 7];
        days[0] = 2.0;
        shop.hours = Some(Hours {
            days,
            opens: [None; 7],
            off: Vec::new(),
        });
        let offer = run(&shop, &asked, &settings, &|_| ()).expect("an offer");
        let dates: Vec<Option<Day>> = offer.lines.iter().map(|line| line.ready).collect();
        let monday = |month, day| Some(Day(date(2027, month, day)));
        assert_eq!(dates, [monday(1, 18), monday(1, 25), monday(3, 1)]);
        // What is done once, two hours, is a Monday more where this is all that will be made, and no other batch's otherwise.
        shop.steps[0].once = Spread::Certain(120.0);
        for (runs, due) in [
            (1, [monday(1, 25), monday(2, 1), monday(3, 8)]),
            (2, [monday(1, 18), monday(1, 25), monday(3, 1)]),
        ] {
            shop.batch.runs = runs;
            let offer = run(&shop, &asked, &settings, &|_| ()).expect("an offer");
            let dates: Vec<Option<Day>> = offer.lines.iter().map(|line| line.ready).collect();
            assert_eq!(dates, due, "{runs}");
        }
    }
}
