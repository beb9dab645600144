//! The strict reader, selling: channels, a season, a steady sale.

use crate::scenario::amounts::{self, short};
use crate::scenario::faults::{Fault, SourceSpan, quoted};
use crate::scenario::keys::{Measure, Rule};
use crate::scenario::tree::{Table, Value};
use crate::scenario::{Buyers, Channel, Finished, OnReturn, Sale, Season, SellingDay, Spread, Steady, Unsold};

use super::reader::{Reader, Section, entry_title};
use super::sale::plain_sale;

/// Shares that miss 100 % by less add up.
const SHARE_SLACK: f64 = 1e-9;

impl Reader<'_> {
    /// Where the pieces go. `sale` is what `[sale]` says, where that could be read.
    pub(super) fn channels(&mut self, top: &Section<'_>, sale: Option<&Sale>) -> Vec<Channel> {
        let Some(list) = self.list(top, "channel") else {
            return Vec::new();
        };
        let had = self.faults.len();
        // Without a [sale] its fault is told already; the channels' own are looked for all the same.
        let stand_in = plain_sale(1.0);
        let base = sale.unwrap_or(&stand_in);
        let channels: Vec<Channel> = list
            .iter()
            .map(|(table, place)| self.channel(table, place, base))
            .collect();
        self.unique(&list, "channel", channels.iter().map(|c| c.name.as_str()));
        let whole: f64 = channels.iter().map(|c| c.share).sum();
        if had == self.faults.len() && (whole - 1.0).abs() > SHARE_SLACK {
            let place = list
                .last()
                .and_then(|(table, _)| table.get("share"))
                .map_or_else(|| self.end(), |(_, node)| node.place.clone());
            self.faults.push(Fault::new(
                place,
                format!(
                    "the shares of the channels add up to {} %, not to 100 %",
                    short(whole * 100.0)
                ),
                "the last of them",
                "every piece goes somewhere: make the shares add up to 100 %",
            ));
        }
        channels
    }

    fn channel(&mut self, table: &Table, place: &SourceSpan, base: &Sale) -> Channel {
        let title = entry_title("channel", table);
        let s = Section {
            word: "channel",
            title: &title,
            table,
            place,
        };
        self.unknown_keys(&s);
        let name = self.name(&s, "channel");
        let share = self.required(&s, "share").unwrap_or(1.0);
        let discount = self.certain(&s, "discount").unwrap_or(0.0);
        let mut sale = self.sale_terms(&s, base);
        let own = self.money(&s, "price");
        if let Some((price, currency)) = &own {
            sale.price = price.mean();
            sale.currencies.price = *currency;
        }
        let on_return = self.on_return(&s);
        if on_return.is_some() {
            if s.get("set_of").is_some() {
                // However many: that there is a number at all is what is wrong.
                let owner = s.owner("set_of");
                self.faults.retain(|fault| !fault.what.starts_with(&owner));
                self.faults.push(Fault::new(
                    s.key_place("set_of"),
                    format!(
                        "{}: what comes back unsold comes back piece by piece",
                        s.owner("set_of")
                    ),
                    "no sets on sale or return",
                    "leave `set_of` out here, or `unsold`",
                ));
            }
            (sale.set_of, sale.single_price) = (1, None);
        }
        Channel {
            name,
            share,
            discount,
            own_price: own.is_some(),
            per_order: self.amount(&s, "per_order"),
            guessed_per_order: self.amount(&s, "guessed_per_order"),
            on_return,
            sale,
        }
    }

    /// How pieces are left there on sale or return.
    fn on_return(&mut self, s: &Section<'_>) -> Option<OnReturn> {
        for (key, without, example) in [
            ("worn", "unsold", "unsold = \"15 / 30 / 60 %\""),
            ("worn_price", "worn", "worn = \"10 %\""),
            ("weeks", "hold", "hold = \"20 %\""),
            ("hold", "weeks", "weeks = 12"),
            ("weeks", "unsold", "unsold = \"15 / 30 / 60 %\""),
        ] {
            if s.get(key).is_some() && s.get(without).is_none() {
                self.no_effect(s, key, without, example);
            }
        }
        let unsold = self.amount(s, "unsold");
        if unsold.as_ref().is_some_and(|unsold| unsold.limits().1 > 1.0) {
            self.at_value(
                s,
                "unsold",
                "this range goes beyond 100 %, and no more can come back than was left there".to_owned(),
                "too wide",
                "write its limits, for example `\"15 / 30 / 60 %\"`".to_owned(),
            );
        }
        let [worn, worn_price, weeks, hold] =
            ["worn", "worn_price", "weeks", "hold"].map(|key| self.certain(s, key).unwrap_or(0.0));
        Some(OnReturn {
            unsold: unsold?,
            worn,
            worn_price,
            weeks,
            hold,
        })
    }

    /// Days at stalls and fairs. `sale` is what `[sale]` says, where that could be read.
    pub(super) fn selling_days(&mut self, top: &Section<'_>, sale: Option<&Sale>) -> Vec<SellingDay> {
        let Some(list) = self.list(top, "selling_day") else {
            return Vec::new();
        };
        if top.get("steady").is_some() {
            self.faults.push(Fault::new(
                top.key_place("steady"),
                "[steady] sells so many a week, and a [[selling_day]] comes once with a batch: how often that is hangs on the batch",
                "not together with [[selling_day]]",
                "take [season] or leave both out, or write the stall as a [[channel]] with its share",
            ));
        }
        let stand_in = plain_sale(1.0);
        let base = sale.unwrap_or(&stand_in);
        let days: Vec<SellingDay> = list
            .iter()
            .map(|(table, place)| self.selling_day(table, place, base))
            .collect();
        self.unique(&list, "selling day", days.iter().map(|day| day.name.as_str()));
        days
    }

    fn selling_day(&mut self, table: &Table, place: &SourceSpan, base: &Sale) -> SellingDay {
        let title = entry_title("selling day", table);
        let s = Section {
            word: "selling_day",
            title: &title,
            table,
            place,
        };
        self.unknown_keys(&s);
        let name = self.name(&s, "selling day");
        if s.get("sells").is_none() {
            self.missing(&s, "sells");
        }
        let own = self.certain(&s, "price");
        let tax = self.certain(&s, "tax").unwrap_or(base.tax);
        let fee = self.certain(&s, "fee").unwrap_or(0.0);
        self.something_left(&s, tax, fee);
        SellingDay {
            name,
            cost: self.amount(&s, "cost").unwrap_or(Spread::ZERO),
            there: self.amount(&s, "there").unwrap_or(Spread::ZERO),
            travel: self.amount(&s, "travel").unwrap_or(Spread::ZERO),
            sells: self.amount(&s, "sells").unwrap_or(Spread::ZERO),
            price: own.unwrap_or(base.price),
            own_price: own.is_some(),
            tax,
            fee,
        }
    }

    /// The selling season.
    /// `price`: the asked price, at which the buyers are told unless the file says another.
    pub(super) fn season(&mut self, top: &Section<'_>, price: f64) -> Option<Season> {
        let s = self.section(top, "season", "[season]")?;
        let buyers = self.buyers(&s, top.get("selling_day").is_some());
        let clearance = self.certain(&s, "clearance");
        let carried = self.choice(&s, "leftover", &[false, true]);
        let hold = self.certain(&s, "hold");
        let weeks = self.certain(&s, "weeks");
        let leftover = if carried == Some(true) {
            if s.get("clearance").is_some() {
                self.at_value(
                    &s,
                    "clearance",
                    "what is carried to the next season is not sold off".to_owned(),
                    "not with `leftover = \"carry\"`",
                    "leave one of the two out".to_owned(),
                );
            }
            for key in ["hold", "weeks"] {
                if s.get(key).is_none() {
                    self.missing(&s, key);
                }
            }
            Unsold::Carry {
                hold: hold.unwrap_or(0.0),
                weeks: weeks.unwrap_or(0.0),
            }
        } else {
            for key in ["hold", "weeks"] {
                if s.get(key).is_some() && s.get("leftover").is_none() {
                    self.faults.push(Fault::new(
                        s.key_place(key),
                        format!("{} has no effect unless leftovers are carried on", s.owner(key)),
                        "nothing is kept here",
                        format!("add `leftover = \"carry\"`, or leave `{key}` out"),
                    ));
                }
            }
            Unsold::Clearance(clearance.unwrap_or(0.0))
        };
        let elasticity = self.certain(&s, "elasticity").unwrap_or(0.0);
        let asked_at = self.certain(&s, "buyers_at").unwrap_or(price);
        if s.get("buyers_at").is_some() && s.get("elasticity").is_none() {
            self.faults.push(Fault::new(
                s.key_place("buyers_at"),
                format!(
                    "{} has no effect where buyers do not mind the price",
                    s.owner("buyers_at")
                ),
                "as many buy at every price",
                "add for example `elasticity = 2`, or leave `buyers_at` out",
            ));
        }
        Some(Season {
            buyers: buyers?,
            asked_at,
            leftover,
            elasticity,
        })
    }

    /// `days`: some are sold on selling days, so that nobody else need buy.
    fn buyers(&mut self, s: &Section<'_>, days: bool) -> Option<Buyers> {
        let rule = Rule {
            such_as: "\"6 / 14 / 30\"",
            ..Rule::of(Measure::Number)
        };
        let Some(node) = s.get("buyers") else {
            self.missing(s, "buyers");
            return None;
        };
        if let Value::Text(text, _) = &node.value
            && let Some(list) = listed(text)
        {
            let what = format!("{} is a list, and here a text", quoted(text));
            let cure = format!("write the counts of earlier seasons as a list, `[{list}]`");
            self.at_value(s, "buyers", what, "one count of each season?", cure);
            return None;
        }
        let buyers = if let Value::List(list) = &node.value {
            let mut seen = Vec::with_capacity(list.len());
            let had = self.faults.len();
            let rule = Rule {
                such_as: "14",
                ..rule.certain()
            };
            for item in list {
                match amounts::read(item, rule, self.sources) {
                    Ok(spread) => seen.push(spread.mean()),
                    Err(flaws) => self.flaws(s, "buyers", flaws),
                }
            }
            if had < self.faults.len() {
                return None;
            }
            Buyers::Seen(seen)
        } else {
            Buyers::Range(self.amount_by(s, "buyers", rule)?)
        };
        if buyers.nobody() && !days {
            self.at_value(
                s,
                "buyers",
                "nobody ever wants a piece, so there is nothing to decide".to_owned(),
                "no demand at all",
                "say how many pieces buyers want before the season ends, for example `\"6 / 14 / 30\"`, or the counts of earlier \
                 seasons, `[9, 14, 22]`"
                    .to_owned(),
            );
            return None;
        }
        Some(buyers)
    }

    /// The steady sale, beside these channels.
    pub(super) fn steady(&mut self, top: &Section<'_>, channels: &[Channel]) -> Option<Steady> {
        let s = self.section(top, "steady", "[steady]")?;
        if top.get("season").is_some() {
            self.faults.push(Fault::new(
                top.key_place("steady"),
                "[season] and [steady] are two kinds of sale, and a scenario has one",
                "here is the other",
                "leave one of them out; a second file can hold the other",
            ));
        }
        if let Some(gallery) = channels.iter().find(|channel| channel.on_return.is_some()) {
            self.faults.push(Fault::new(
                top.key_place("steady"),
                format!(
                    "[steady] takes what goes out for sold, and channel {} gives some of it back: how long a batch lasts then hangs on \
                     what comes back, and when",
                    quoted(&gallery.name)
                ),
                "not together with `unsold`",
                "leave [steady] out, or leave `unsold` out and give that channel the share of pieces that sell there for good",
            ));
        }
        let per_week = self.required(&s, "per_week");
        let hold = self.certain(&s, "hold").unwrap_or(0.0);
        let finished = self
            .choice(&s, "finished", &[Finished::Together, Finished::Singly])
            .unwrap_or(Finished::Together);
        if finished == Finished::Singly && top.get("hours").is_none() {
            self.at_value(
                &s,
                "finished",
                "how fast single pieces come off the bench is not known without [hours]".to_owned(),
                "needs [hours]",
                "add the bench hours, for example `[hours]` with `mon = 2` and `sat = 6`, or leave `finished` out"
                    .to_owned(),
            );
        }
        Some(Steady {
            per_week: per_week?,
            hold,
            finished,
        })
    }
}

/// Numbers with commas or semicolons between them, `9, 14, 22`, as a list has them; `None` where it may be one number with a comma in it.
fn listed(text: &str) -> Option<String> {
    let parts: Vec<&str> = text.split([',', ';']).map(str::trim).collect();
    let apart = parts.len() > 2 || text.contains([' ', ';']);
    let numbers = parts.len() > 1 && parts.iter().all(|part| part.parse::<f64>().is_ok());
    (apart && numbers).then(|| parts.join(", "))
}
