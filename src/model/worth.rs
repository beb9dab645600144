//! What is tied up in a piece, what does a sold one bring, and what does keeping it cost?
//!
//! * value of a piece = hours of the helper x wage + (sum over materials of a_j x per piece x (1 + waste) x price) / g + hours of one more good piece x (target + overhead),
//!   a_j of the pieces started reaching the step where a material goes in and g of them coming out good,
//!   less what the seconds made along with each good piece have brought back;
//! * a sold piece brings list price x sum over ways of share x what is left of it, and besides, per piece of an order, postage charged and tips less fees,
//!   postage, packing material and the order's time at the target;
//! * a leftover that is carried on is worth its value x (1 - hold x weeks / 52);
//! * a piece that comes back as new, or makes no full set, is worth what a leftover is; without a season, its value: it saves making another;
//! * n pieces that sell at d a week are gone after n / d weeks, n / 2 in stock on average; where they come in one by one at p a week,
//!   (1 - d / p) n / 2 (Harris 1913 and Taft 1918; see any text on lot sizes), so that holding costs hold x value x share x n^2 / (2 x 52 d).
//!
//! Assumption: setups and orders are not tied up in a piece, so that the economic batch is that of the textbooks. Example: 5 of stock and
//! half an hour at 30 an hour: 20.

use super::hours::{helper_hours_of_the_last, hours_of_the_last, order_minutes, pieces_per_week, second_minutes};
use super::{WEEKS_PER_YEAR, counts, stock};
use crate::scenario::{Finished, Material, OnReturn, Sale, Scenario, Spoiled, Steady, Unsold};

/// Money tied up in one more good piece: stock used per piece at replacement prices, and its hours at the target.
#[must_use]
pub fn piece_value(scenario: &Scenario) -> f64 {
    value(scenario, 1, |material, _| material.price.mean())
}

/// [`piece_value`] of the last piece of a batch of `size`: with what was learned by then, at the price that so many pay. Whole packs are left out, as the
/// rest of one is no piece's.
///
/// What a piece that is carried over saves is no more than that, or making more than sells would pay by itself.
#[must_use]
pub(crate) fn last_piece_value(scenario: &Scenario, size: u32) -> f64 {
    // Where spoiled pieces are made again, so many are started that `size` are good.
    let started = match scenario.batch.spoiled {
        Spoiled::Short => f64::from(size),
        Spoiled::Remake => f64::from(size) / counts::arrivals(scenario).1,
    };
    value(scenario, size, |material, arrive| {
        let need = (started * arrive * material.per_piece + material.per_batch) * (1.0 + material.waste.mean());
        let breaks: Vec<f64> = material.breaks.iter().map(|tier| tier.from).collect();
        let price = |tier: usize| match tier.checked_sub(1) {
            None => material.price.mean(),
            Some(tier) => material.breaks[tier].price.mean(),
        };
        price(stock::purchase(need, 0.0, &breaks, price).1)
    })
}

/// Money tied up in the last good piece of a batch of `size`, where `price` is a material's, of which so many pieces reach its step.
fn value(scenario: &Scenario, size: u32, price: impl Fn(&Material, f64) -> f64) -> f64 {
    let (arrivals, good) = counts::arrivals(scenario);
    if good == 0.0 {
        // Where no piece comes through there is none that money is tied up in.
        return 0.0;
    }
    let materials: f64 = scenario
        .materials
        .iter()
        .map(|m| {
            let arrive = arrivals[m.at];
            arrive * m.per_piece * (1.0 + m.waste.mean()) * price(m, arrive) * scenario.exchange_rate(m.currency)
        })
        .sum();
    let overhead = scenario.shop.cost_per_hour();
    let spent = materials / good
        + hours_of_the_last(scenario, size) * (scenario.target_per_hour + overhead)
        + helper_hours_of_the_last(scenario, size) * scenario.wage();
    // What the seconds made along with it have brought back is tied up no more.
    (spent - seconds_bring(scenario) * counts::second(scenario) / good).max(0.0)
}

/// What a second brings, its order and that one's time taken off; 0 where seconds are thrown away.
fn seconds_bring(scenario: &Scenario) -> f64 {
    let Some(seconds) = &scenario.seconds else { return 0.0 };
    let (per_price, besides) = through(scenario, &seconds.sale, None, second_minutes(scenario), 1.0, &|| 0.0);
    per_price * seconds.sale.price + besides
}

/// What a piece that goes this way brings for each unit of list price, of which its price is `ratio`, and besides; `again` is what one is
/// worth that comes back as new.
fn through(
    scenario: &Scenario,
    sale: &Sale,
    channel: Option<usize>,
    minutes: f64,
    ratio: f64,
    again: &dyn Fn() -> f64,
) -> (f64, f64) {
    let hour = scenario.target_per_hour + scenario.shop.cost_per_hour();
    let left = sale.left_of_money();
    let per_price = left * ratio * scenario.exchange_rate(sale.currencies.price);
    let order = sale.post_charged * scenario.exchange_rate(sale.currencies.post_charged) * left
        + sale.tip.mean() * scenario.exchange_rate(sale.currencies.tip) * (1.0 - sale.returned)
        - sale.fee_per_order * scenario.exchange_rate(sale.currencies.fee_per_order)
        - sale.post.mean() * scenario.exchange_rate(sale.currencies.post)
        - stock::order_material(scenario, channel)
        - scenario.pace.mean() * minutes / 60.0 * hour;
    let mut besides = order / counts::order_size(&sale.order_of) / f64::from(sale.set_of);
    let unsold = channel.map_or(0.0, |channel| counts::unsold(scenario, channel));
    let as_new = (1.0 - unsold) * sale.returned * sale.as_new;
    if as_new > 0.0 {
        besides += as_new * again();
    }
    let on_return = channel.and_then(|channel| scenario.channels[channel].on_return.as_ref());
    if let Some(on_return) = on_return {
        besides += unsold * ((1.0 - on_return.worn) * again() + on_return.worn * on_return.worn_price)
            - waiting(on_return) * piece_value(scenario);
    }
    (per_price * (1.0 - unsold), besides)
}

/// What a sold piece brings for each unit of list price, and besides, orders and their time taken off: means over ways of selling. What
/// comes back of it is worth what it is in a batch of `size`.
#[must_use]
pub(crate) fn sold_piece(scenario: &Scenario, size: u32) -> (f64, f64) {
    let minutes = order_minutes(scenario);
    let again = || leftover(scenario, size);
    if scenario.channels.is_empty() {
        return through(scenario, &scenario.sale, None, minutes[0], 1.0, &again);
    }
    let mut total = (0.0, 0.0);
    for (way, (channel, minutes)) in scenario.channels.iter().zip(minutes).enumerate() {
        let (per_price, besides) = through(
            scenario,
            &channel.sale,
            Some(way),
            minutes,
            channel.price_ratio(scenario.sale.price),
            &again,
        );
        total.0 += channel.share * per_price;
        total.1 += channel.share * besides;
    }
    total
}

/// What a good piece of a batch of `size` is worth that is not sold in the season, comes back as new or makes no full set; 0 where there is none.
#[must_use]
pub fn leftover(scenario: &Scenario, size: u32) -> f64 {
    leftover_of(scenario, |scenario| last_piece_value(scenario, size))
}

/// [`leftover`] at the most, which it is in the smallest batch.
#[must_use]
pub(crate) fn leftover_at_most(scenario: &Scenario) -> f64 {
    leftover(scenario, scenario.batch.sizes.first().copied().unwrap_or(1))
}

/// What is left over is worth, where one that saves making another is worth `value`.
#[must_use]
pub(crate) fn leftover_of(scenario: &Scenario, value: impl Fn(&Scenario) -> f64) -> f64 {
    match scenario.season.as_ref().map(|season| season.leftover) {
        Some(Unsold::Clearance(money)) => money,
        Some(Unsold::Carry { hold, weeks }) => value(scenario) * still_worth(hold, weeks),
        None if stays(scenario) => value(scenario),
        None => 0.0,
    }
}

/// Whether a leftover is worth what it costs to make, so that it gets cheaper as pieces do.
#[must_use]
pub(crate) fn leftovers_save_making(scenario: &Scenario) -> bool {
    match &scenario.season {
        Some(season) => matches!(season.leftover, Unsold::Carry { .. }),
        None => stays(scenario),
    }
}

/// Whether good pieces stay with the maker without a season: those that come back, and those that make no full set.
fn stays(scenario: &Scenario) -> bool {
    scenario.comes_back() || scenario.leaves_odd()
}

/// What each piece left on sale or return costs until the shop settles, as a share of the money tied up in it.
#[must_use]
pub fn waiting(on_return: &OnReturn) -> f64 {
    on_return.hold * on_return.weeks / WEEKS_PER_YEAR
}

/// Money tied up in each piece left on sale or return; 0 where that costs nothing.
#[must_use]
pub fn tied_up(scenario: &Scenario) -> f64 {
    if scenario.on_return().any(|(_, on_return)| waiting(on_return) > 0.0) {
        piece_value(scenario)
    } else {
        0.0
    }
}

/// What is left of a piece's worth after so many weeks on the shelf.
#[must_use]
pub(crate) fn still_worth(hold: f64, weeks: f64) -> f64 {
    (1.0 - hold * weeks / WEEKS_PER_YEAR).max(0.0)
}

/// What a steady seller's stock costs to hold: this times the square of the pieces of a batch. 0 without a steady sale.
#[must_use]
pub fn holding(scenario: &Scenario) -> f64 {
    let Some(steady) = scenario.steady else { return 0.0 };
    let in_stock = stock_share(scenario, steady);
    steady.hold * piece_value(scenario) * in_stock / (2.0 * steady.per_week * WEEKS_PER_YEAR)
}

/// Of half a batch, the share that is in stock on average: all of it where pieces come in together, 1 - d / p where one by one.
#[must_use]
pub fn stock_share(scenario: &Scenario, steady: Steady) -> f64 {
    match steady.finished {
        Finished::Together => 1.0,
        Finished::Singly => pieces_per_week(scenario).map_or(1.0, |made| (1.0 - steady.per_week / made).max(0.0)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::close;

    /// Of ten started eight come out good; clay goes in before, glaze after. The hour costs 30 + 6.
    const POTS: &str = "target = 30\ncurrency = \"EUR\"\n[[step]]\nname = \"throw\"\nsetup = \"9 min\"\neach = \"12 min\"\nspoil = \"20 %\"\n\
                        [[step]]\nname = \"glaze\"\neach = \"5 min\"\nlearning = \"50 %\"\nlearned_by = 2\n\
                        [[step]]\nname = \"pack\"\nper_order = \"20 min\"\n\
                        [[material]]\nname = \"clay\"\nper_piece = 2\nprice = 3\nwaste = \"50 %\"\nbreaks = [{ from = 30, price = 2 }]\n\
                        [[material]]\nname = \"glaze\"\nper_piece = 1\nprice = \"4 USD\"\nat = \"glaze\"\n\
                        [[material]]\nname = \"box\"\nper_order = 2\nprice = 0.5\n\
                        [currencies]\nUSD = 0.5\n[shop]\nper_hour = 6\n";
    const SALE: &str = "[sale]\nprice = 40\ntax = \"25 %\"\nfee = \"10 %\"\nfee_per_order = 0.3\npost = 5\npost_charged = 4\norder_of = 2\n\
                        returned = \"5 %\"\n";

    fn pots(more: &str) -> Scenario {
        crate::scenario::read("test", &format!("{POTS}{more}"), &[]).expect("it reads")
    }

    #[test]
    fn a_piece_holds_its_stock_and_its_hours() {
        let shop = pots(SALE);
        let first = (2.0 * 1.5 * 3.0 + 0.8 * 4.0 * 0.5) / 0.8 + (12.0 + 0.8 * 5.0) / 60.0 / 0.8 * 36.0;
        close(piece_value(&shop), first);
        // Of ten, glazing has halved, and 30 units of clay cost 2 each.
        let last = (2.0 * 1.5 * 2.0 + 0.8 * 4.0 * 0.5) / 0.8 + (12.0 + 0.8 * 2.5) / 60.0 / 0.8 * 36.0;
        close(last_piece_value(&shop, 10), last);
        // Made again, six good ones take 7.5 started and 22.5 units of clay: 30 at 2 cost less than these at 3.
        close(
            last_piece_value(&pots(&format!("{SALE}[batch]\nspoiled = \"remake\"\n")), 6),
            last,
        );
        close(last_piece_value(&shop, 6), last + 2.0 * 1.5 / 0.8);
        assert_eq!((leftover(&shop, 10), holding(&shop)), (0.0, 0.0));
    }

    #[test]
    fn a_sold_piece_brings_its_price_and_pays_for_its_order() {
        let left = 0.95 / 1.25 - 0.1;
        let besides = (4.0 * left - 0.3 - 5.0 - 1.0 - 20.0 / 60.0 * 36.0) / 2.0;
        let (per_price, more) = sold_piece(&pots(SALE), 10);
        close(per_price, left);
        close(more, besides);
        // A quarter goes to a shop at half the price, twelve at a time, 30 min each.
        let channels = "[[channel]]\nname = \"own\"\nshare = \"75 %\"\n[[channel]]\nname = \"shop\"\nshare = \"25 %\"\ndiscount = \"50 %\"\n\
                        order_of = 12\nper_order = \"30 min\"\n";
        let (per_price, more) = sold_piece(&pots(&format!("{SALE}{channels}")), 10);
        close(per_price, left * 0.875);
        let shop = (4.0 * left - 0.3 - 5.0 - 1.0 - 0.5 * 36.0) / 12.0;
        close(more, 0.75 * besides + 0.25 * shop);
    }

    /// Of ten six are sold, three come back and save 30 min at 20 and paper for 4, and one is worn.
    #[test]
    fn what_comes_back_saves_another_or_is_worn() {
        let prints = "target = 20\n[[step]]\nname = \"print\"\neach = \"30 min\"\n[[material]]\nname = \"paper\"\nper_piece = 1\nprice = 4\n\
                      [sale]\nprice = 50\n[[channel]]\nname = \"gallery\"\nshare = \"100 %\"\nunsold = \"40 %\"\nworn = \"25 %\"\n\
                      worn_price = 8\n";
        let shop = crate::scenario::read("test", prints, &[]).expect("it reads");
        let (per_price, besides) = sold_piece(&shop, 10);
        close(per_price, 0.6);
        close(besides, 0.3 * 14.0 + 0.1 * 8.0);
    }

    #[test]
    fn keeping_a_piece_costs_its_share_of_a_year() {
        let carried = "[season]\nbuyers = 5\nleftover = \"carry\"\nhold = \"40 %\"\nweeks = 26\n";
        let shop = pots(&format!("{SALE}{carried}"));
        close(leftover(&shop, 10), 0.8 * last_piece_value(&shop, 10));
        let steady = |more: &str| pots(&format!("{SALE}[steady]\nper_week = 2\nhold = \"40 %\"\n{more}"));
        let together = steady("");
        close(holding(&together), 0.4 * piece_value(&together) / (2.0 * 2.0 * 52.0));
        // 16 / 0.8 = 20 min a good piece: two hours a week are six pieces, of which two are sold.
        let singly = steady("finished = \"singly\"\n[hours]\nmon = 2\n");
        close(
            holding(&singly),
            0.4 * piece_value(&singly) * (4.0 / 6.0) / (2.0 * 2.0 * 52.0),
        );
    }
}
