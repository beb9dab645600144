//! How it is sold, a sentence for everything that was said.

use super::{code, hands, set_off, so_many, three_in_words};
use crate::render::format::{asked_of_100, confidence, money, typed_money, weeks};
use crate::render::words::joined;
use crate::scenario::{Channel, OnReturn, Sale, Scenario, Seconds, SellingDay, Spread};

pub(super) fn sale(scenario: &Scenario) -> String {
    let terms = terms(scenario, &scenario.sale);
    let set = a_set(scenario, &scenario.sale, 0.0);
    if scenario.channels.is_empty() {
        format!("Sale:{set} {terms}")
    } else {
        format!("Sale, where a channel says nothing else:{set} {terms}")
    }
}

/// What a set costs, so that a price meant for all of it is seen; nothing where there are none.
fn a_set(scenario: &Scenario, sale: &Sale, discount: f64) -> String {
    if sale.set_of < 2 {
        return String::new();
    }
    let price = f64::from(sale.set_of) * sale.price * (1.0 - discount);
    format!(
        " A set of {} costs {}.",
        sale.set_of,
        money(price, code(scenario, sale.currencies.price))
    )
}

/// Tax, fees, postage and the like, a sentence each.
fn terms(scenario: &Scenario, sale: &Sale) -> String {
    let in_currency = |value: f64, k: Option<usize>| money(value, code(scenario, k));
    let mut said = Vec::new();
    if sale.tax > 0.0 {
        let tax = confidence(sale.tax);
        let contain = match sale.post_charged > 0.0 {
            true => "The price and the postage charged contain",
            false => "The price contains",
        };
        said.push(format!("{contain} {tax} tax, reckoned on what is left without it."));
    }
    said.push(kept(scenario, sale));
    said.extend(sets(scenario, sale));
    match &sale.order_of {
        Spread::Certain(one) if *one == 1.0 => {}
        many => {
            let what = if sale.set_of > 1 { "sets" } else { "pieces" };
            said.push(format!("An order is for {}.", so_many(many, what)));
        }
    }
    said.push(match (sale.post.is_zero(), sale.post_charged > 0.0) {
        (true, false) => "There is no postage.".to_owned(),
        (_, charged) => {
            let taken = three_in_words(&sale.post, |value| in_currency(value, sale.currencies.post));
            if charged {
                let paid = in_currency(sale.post_charged, sale.currencies.post_charged);
                format!("For an order the carrier takes {taken}, and the buyer pays {paid} for it.")
            } else {
                format!("For an order the carrier takes {taken}.")
            }
        }
    });
    if !sale.tip.is_zero() {
        let tip = three_in_words(&sale.tip, |value| in_currency(value, sale.currencies.tip));
        said.push(format!(
            "Neither tax nor fees take a share of what a buyer adds to an order of free will: {tip}."
        ));
    }
    for (one, many, tries) in [
        ("A quote", "quotes", &sale.quote),
        ("An enquiry", "enquiries", &sale.enquiry),
    ] {
        if tries.minutes.is_zero() {
            continue;
        }
        said.push(format!(
            "{one} takes {}, and {} {many} become an order: {} for each order on average.",
            three_in_words(&tries.minutes, hands),
            of_all(tries.won),
            hands(tries.per_order())
        ));
    }
    if sale.returned > 0.0 {
        let share = of_all(sale.returned);
        said.push(if sale.as_new > 0.0 {
            format!(
                "In {share} orders the buyer gets the money back. Of these, {} bring pieces back that can be sold again as new, each worth {}.",
                of_all(sale.as_new),
                kept_worth(scenario)
            )
        } else {
            format!("In {share} orders the buyer gets the money back and the piece is gone.")
        });
    }
    said.join(" ")
}

/// That pieces are sold in sets, and what becomes of those beside.
fn sets(scenario: &Scenario, sale: &Sale) -> Option<String> {
    let rest = match sale.single_price {
        Some(price) => {
            let price = money(price, &scenario.currency);
            format!("What makes no full set is sold singly at {price}.")
        }
        None => {
            let worth = kept_worth(scenario);
            format!("What makes no full set is left over, and is worth {worth}.")
        }
    };
    let set = sale.set_of;
    (set > 1).then(|| format!("Pieces are sold in sets of {set}, and an order is for so many sets. {rest}"))
}

/// What the maker keeps of what a buyer pays, in money, so that a rate of tax meant otherwise is seen.
fn kept(scenario: &Scenario, sale: &Sale) -> String {
    let unit = code(scenario, sale.currencies.price);
    let [tax, fee, kept] = sale.shares_of_money().map(|share| money(100.0 * share, unit));
    let hundred = typed_money(100.0, unit);
    let whole = match (sale.tax > 0.0, sale.fee > 0.0) {
        (true, true) => {
            format!("Of {hundred} that a buyer pays, {tax} is tax and {fee} goes in fees: you keep {kept}.")
        }
        (true, false) => format!("Of {hundred} that a buyer pays, {tax} is tax: you keep {kept}."),
        (false, true) => format!("Of {hundred} that a buyer pays, {fee} goes in fees: you keep {kept}."),
        (false, false) => format!("Of {hundred} that a buyer pays, you keep {kept}."),
    };
    if sale.fee_per_order > 0.0 {
        let per_order = money(sale.fee_per_order, code(scenario, sale.currencies.fee_per_order));
        let another = if sale.fee > 0.0 { "another " } else { "" };
        format!("{whole} Each order costs {another}{per_order} in fees.")
    } else {
        whole
    }
}

/// One sentence for each channel.
pub(super) fn channels(scenario: &Scenario) -> Vec<String> {
    let one = |channel: &Channel| {
        let unit = code(scenario, channel.sale.currencies.price);
        let asked = money(channel.asked(), unit);
        let share = of_all(channel.share);
        let off = match channel.discount {
            0.0 => String::new(),
            off => format!(", {} off the price", confidence(off)),
        };
        let time = channel.per_order.as_ref().map_or_else(String::new, |own| {
            format!(" An order takes {} of its own.", set_off(three_in_words(own, hands)))
        });
        let on_return = channel
            .on_return
            .as_ref()
            .map_or_else(String::new, |on_return| self::on_return(scenario, on_return));
        let terms = other_terms(scenario, &channel.sale);
        let name = &channel.name;
        let set = a_set(scenario, &channel.sale, channel.discount);
        format!("Channel \"{name}\" takes {share} good pieces at {asked} each{off}.{set}{on_return}{time} {terms}")
    };
    scenario.channels.iter().map(one).collect()
}

/// A share as people count, all of them in one word.
fn of_all(share: f64) -> String {
    if share == 1.0 {
        "all".to_owned()
    } else {
        asked_of_100(share)
    }
}

/// How pieces are left with a shop on sale or return.
fn on_return(scenario: &Scenario, on_return: &OnReturn) -> String {
    let own = |value: f64| money(value, &scenario.currency);
    let unsold = set_off(three_in_words(&on_return.unsold, confidence));
    let worn = if on_return.worn > 0.0 {
        let (some, price) = (of_all(on_return.worn), own(on_return.worn_price));
        format!(" Of these, {some} are worn and fetch {price} each.")
    } else {
        String::new()
    };
    let again = if on_return.worn < 1.0 {
        let whose = if on_return.worn > 0.0 {
            "Each of the others"
        } else {
            "Each of these"
        };
        format!(" {whose} is worth {}.", kept_worth(scenario))
    } else {
        String::new()
    };
    let settled = if on_return.weeks > 0.0 {
        format!(
            " It settles after {}, and until then the money tied up in them costs {} a year.",
            weeks(on_return.weeks),
            confidence(on_return.hold)
        )
    } else {
        " When it settles makes no difference to what an hour earns.".to_owned()
    };
    let singly = if scenario.sale.set_of > 1 {
        " They go there one by one, in no sets."
    } else {
        ""
    };
    format!(" It has them on sale or return: {unsold} of them come back unsold.{worn}{again}{settled}{singly}")
}

/// What a piece is worth that comes back as new, or makes no full set.
fn kept_worth(scenario: &Scenario) -> &'static str {
    if scenario.season.is_some() {
        "as much as a piece left over"
    } else {
        "what the last piece of a batch takes in material and hours"
    }
}

/// One selling day.
pub(super) fn selling_day(scenario: &Scenario, day: &SellingDay) -> String {
    let own = |value: f64| money(value, &scenario.currency);
    let sells = match so_many(&day.sells, "pieces").as_str() {
        "1 pieces" => "1 piece finds".to_owned(),
        many => format!("{} find", set_off(many.to_owned())),
    };
    let time = [(&day.there, "there"), (&day.travel, "on the way")]
        .into_iter()
        .filter(|(time, _)| !time.is_zero())
        .map(|(time, what)| format!("{} {what}", three_in_words(time, hands)));
    let takes: Vec<String> = std::iter::once(three_in_words(&day.cost, own))
        .filter(|_| !day.cost.is_zero())
        .chain(time)
        .collect();
    let takes = joined(&takes).map_or_else(String::new, |list| format!(" The day takes {list}."));
    let left = 100.0 * day.left_of_money();
    format!(
        "Selling day \"{}\", once with every batch: {sells} a buyer at {} each, and of 100 that they pay you keep {}.{takes} What is left \
         comes home.",
        day.name,
        own(day.price),
        money(left, &scenario.currency)
    )
}

/// What becomes of seconds, where any step makes some.
pub(super) fn seconds(scenario: &Scenario) -> Option<String> {
    let chance = scenario.second_chance();
    if chance == 0.0 {
        return None;
    }
    let share = of_all(chance);
    let Some(Seconds { sale, per_order }) = &scenario.seconds else {
        return Some(format!(
            "Of the pieces that come through all steps, {share} are seconds and are thrown away."
        ));
    };
    let price = money(sale.price, &scenario.currency);
    let time = per_order.as_ref().map_or_else(String::new, |own| {
        let own = set_off(three_in_words(own, hands));
        format!(" An order of them takes {own} of its own.")
    });
    let terms = other_terms(scenario, sale);
    Some(format!(
        "Of the pieces that come through all steps, {share} are seconds, and each finds a buyer at {price}.{time} {terms}"
    ))
}

/// The terms of a channel or of seconds, said after those of `[sale]`.
fn other_terms(scenario: &Scenario, sale: &Sale) -> String {
    match terms(scenario, sale) {
        same if same == terms(scenario, &scenario.sale) => {
            if sale.post.is_zero() {
                "All else is as said above.".to_owned()
            } else {
                "All else is as said above, the postage too.".to_owned()
            }
        }
        own => own,
    }
}
