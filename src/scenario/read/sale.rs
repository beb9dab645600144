//! `[sale]`: price, tax, fees, postage, returns; a channel has the same keys.

use crate::scenario::amounts::short;
use crate::scenario::faults::Fault;
use crate::scenario::tree::{Node, Value};
use crate::scenario::{Sale, SaleCurrencies, Seconds, Spoiled, Spread, Step, Tries};

use super::reader::{Reader, Section};

impl Reader<'_> {
    pub(super) fn sale(&mut self, top: &Section<'_>) -> Option<Sale> {
        let Some(s) = self.section(top, "sale", "[sale]") else {
            if top.get("sale").is_none() {
                self.faults.push(Fault::new(
                    self.end(),
                    "there is no [sale]: a scenario must say what a piece is sold for",
                    "up to here",
                    "add a line `[sale]` and under it for example `price = 58`",
                ));
            }
            return None;
        };
        let price = self.required(&s, "price");
        let sale = self.sale_terms(&s, &plain_sale(price.unwrap_or(1.0)));
        price.map(|_| sale)
    }

    /// How seconds are sold. `sale` is what `[sale]` says, where that could be read.
    pub(super) fn seconds(
        &mut self,
        top: &Section<'_>,
        sale: Option<&Sale>,
        steps: &[Step],
        spoiled: Spoiled,
    ) -> Option<Seconds> {
        let makes = steps.iter().any(|step| step.second > 0.0);
        if makes && spoiled == Spoiled::Remake {
            let node = top
                .get("batch")
                .and_then(Node::as_table)
                .and_then(|batch| batch.get("spoiled"));
            self.faults.push(Fault::new(
                node.map_or_else(|| self.end(), |(_, node)| node.place.clone()),
                "`spoiled` of [batch]: with \"remake\" every piece is made until it is good, so that none is sold as a second",
                "not together with `second`",
                "take `spoiled = \"short\"`, or write what is made again as the `spoil` of its step",
            ));
        }
        let s = self.section(top, "seconds", "[seconds]")?;
        // None may be made where that is asked for one call: `--set "step.turn.second=0 %"`.
        let written = |step: &Node| step.as_table().is_some_and(|step| step.get("second").is_some());
        let said =
            matches!(top.get("step").map(|node| &node.value), Some(Value::List(list)) if list.iter().any(written));
        if !makes && !said && !steps.is_empty() {
            self.faults.push(Fault::new(
                top.key_place("seconds"),
                "[seconds] has no effect: no step makes any",
                "at which step?",
                "add for example `second = \"8 %\"` to the step where it happens, or leave [seconds] out",
            ));
        }
        let price = self.required(&s, "price");
        let stand_in = plain_sale(1.0);
        let mut own = self.sale_terms(&s, sale.unwrap_or(&stand_in));
        let per_order = self.amount(&s, "per_order");
        own.price = price?;
        own.currencies.price = None;
        Some(Seconds { sale: own, per_order })
    }

    /// What a section says about selling, all but the price; what it does not say is as in `base`.
    pub(super) fn sale_terms(&mut self, s: &Section<'_>, base: &Sale) -> Sale {
        let mut sale = base.clone();
        if let Some(tax) = self.certain(s, "tax") {
            sale.tax = tax;
        }
        if s.get("order_of").is_some() {
            sale.order_of = self.order_of(s);
        }
        if let Some(fee) = self.certain(s, "fee") {
            sale.fee = fee;
        }
        self.something_left(s, sale.tax, sale.fee);
        if let Some((fee, currency)) = self.money(s, "fee_per_order") {
            sale.fee_per_order = fee.mean();
            sale.currencies.fee_per_order = currency;
        }
        if let Some((post, currency)) = self.money(s, "post") {
            sale.post = post;
            sale.currencies.post = currency;
        }
        if let Some((charged, currency)) = self.money(s, "post_charged") {
            sale.post_charged = charged.mean();
            sale.currencies.post_charged = currency;
        }
        if let Some((tip, currency)) = self.money(s, "tip") {
            sale.tip = tip;
            sale.currencies.tip = currency;
        }
        if let Some(returned) = self.certain(s, "returned") {
            sale.returned = returned;
        }
        if s.word == "seconds" {
            // Nobody has a second made, and one that comes back is no leftover.
            sale.as_new = 0.0;
            (sale.quote, sale.enquiry) = (Tries::NONE, Tries::NONE);
            (sale.set_of, sale.single_price) = (1, None);
        } else {
            if let Some(as_new) = self.certain(s, "as_new") {
                sale.as_new = as_new;
                // None may come back where that is asked for one call: `--set "sale.returned=0 %"`.
                if sale.returned == 0.0 && s.get("returned").is_none() {
                    self.no_effect(s, "as_new", "returned", "returned = \"2 %\"");
                }
            }
            if let Some(pieces) = self.count(s, "set_of") {
                sale.set_of = pieces;
            }
            if let Some(price) = self.certain(s, "single_price") {
                sale.single_price = Some(price);
            }
            if s.get("single_price").is_some() && s.get("set_of").is_none() && sale.set_of == 1 {
                self.faults.push(Fault::new(
                    s.key_place("single_price"),
                    format!("{} has no effect without `set_of`", s.owner("single_price")),
                    "how many make a set?",
                    "add for example `set_of = 4`, or leave `single_price` out",
                ));
            }
            self.tries(s, ["quote", "quote_won"], &mut sale.quote);
            self.tries(s, ["enquiry", "enquiry_bought"], &mut sale.enquiry);
        }
        sale
    }

    /// A fee and a tax that leave nothing of a price are a fault.
    pub(super) fn something_left(&mut self, s: &Section<'_>, tax: f64, fee: f64) {
        if fee * (1.0 + tax) >= 1.0 {
            let key = if s.get("fee").is_some() { "fee" } else { "tax" };
            self.at_value(
                s,
                key,
                "nothing is left of the price after tax and this fee, however high it is".to_owned(),
                "too high",
                format!("with this tax the fee is less than {} %", short(100.0 / (1.0 + tax))),
            );
        }
    }

    /// The time of one try and the share that becomes an order.
    fn tries(&mut self, s: &Section<'_>, [time, won]: [&str; 2], tries: &mut Tries) {
        if let Some(minutes) = self.amount(s, time) {
            tries.minutes = minutes;
        }
        if let Some(share) = self.certain(s, won) {
            tries.won = share;
        }
        if s.get(won).is_some() && s.get(time).is_none() && tries.minutes.is_zero() {
            self.faults.push(Fault::new(
                s.key_place(won),
                format!("{} has no effect without `{time}`", s.owner(won)),
                "how long does one take?",
                format!("add for example `{time} = \"30 min\"`, or leave `{won}` out"),
            ));
        }
    }

    /// A key that says nothing without another.
    pub(super) fn no_effect(&mut self, s: &Section<'_>, key: &str, without: &str, example: &str) {
        self.faults.push(Fault::new(
            s.key_place(key),
            format!("{} has no effect without `{without}`", s.owner(key)),
            format!("`{without}` is not there"),
            format!("add for example `{example}`, or leave `{key}` out"),
        ));
    }

    fn order_of(&mut self, s: &Section<'_>) -> Spread {
        let order_of = self.amount(s, "order_of").unwrap_or(Spread::Certain(1.0));
        if let Spread::Certain(n) = order_of
            && n.fract() != 0.0
        {
            self.at_value(
                s,
                "order_of",
                format!("{} pieces cannot be sent; an order has whole ones", short(n)),
                "must be a whole number",
                "write for example `1`, or a range `\"1 / 2 / 6\"`, which is rounded for each order".to_owned(),
            );
        }
        order_of
    }
}

/// One piece an order, and nothing taken off.
pub(crate) const fn plain_sale(price: f64) -> Sale {
    Sale {
        price,
        tax: 0.0,
        order_of: Spread::Certain(1.0),
        fee: 0.0,
        fee_per_order: 0.0,
        post: Spread::ZERO,
        post_charged: 0.0,
        tip: Spread::ZERO,
        returned: 0.0,
        as_new: 0.0,
        set_of: 1,
        single_price: None,
        quote: Tries::NONE,
        enquiry: Tries::NONE,
        currencies: SaleCurrencies {
            price: None,
            fee_per_order: None,
            post: None,
            post_charged: None,
            tip: None,
        },
    }
}
