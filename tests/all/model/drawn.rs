//! Scenarios with every key of the file, made from a list of numbers between 0 and 1.

use super::SIZES;
use batchwright_core::scenario::ASKED_PRICE;
use std::collections::BTreeSet;

/// Numbers between 0 and 1 that a scenario is made from.
struct Choices<'a> {
    left: std::slice::Iter<'a, f64>,
    /// Whether they are taken from the end: for keys that came later, so that all others stay as they were.
    from_end: bool,
    certain: bool,
    /// Whether the first step has a limit of room.
    roomy: bool,
    /// Whether spoiled pieces are made again, which leaves no seconds.
    remake: bool,
    /// Whether any step makes seconds.
    seconds: bool,
    /// Whether there are selling days or anything on sale or return, which leave no steady sale.
    unsteady: bool,
    /// Whether a helper does any step.
    helper: bool,
    /// Whether what sells now may sell in sets.
    in_sets: bool,
    /// Sections and keys written so far.
    used: BTreeSet<(String, String)>,
    section: &'static str,
    text: String,
}

impl Choices<'_> {
    fn next(&mut self) -> f64 {
        let next = if self.from_end {
            self.left.next_back()
        } else {
            self.left.next()
        };
        next.copied().unwrap_or(0.0)
    }

    /// Whether something is there that is in such a share of scenarios.
    fn has(&mut self, share: f64) -> bool {
        self.next() > 1.0 - share
    }

    /// Between two ends, to three digits.
    fn number(&mut self, low: f64, high: f64) -> f64 {
        let scale = 1000.0 / high;
        ((low + (high - low) * self.next()) * scale).round() / scale
    }

    fn whole(&mut self, low: u32, high: u32) -> u32 {
        low + (f64::from(high - low + 1) * self.next()).min(f64::from(high - low)) as u32
    }

    fn head(&mut self, section: &'static str, list: bool) {
        self.section = section;
        let (open, close) = if list { ("[[", "]]") } else { ("[", "]") };
        self.text.push_str(&format!("{open}{section}{close}\n"));
        self.note("", section);
    }

    fn note(&mut self, section: &str, key: &str) {
        self.used.insert((section.to_owned(), key.to_owned()));
    }

    fn key(&mut self, key: &str, value: &str) {
        self.note(self.section, key);
        self.text.push_str(&format!("{key} = {value}\n"));
    }

    /// A certain amount.
    fn amount(&mut self, low: f64, high: f64, unit: &str) -> String {
        let value = self.number(low, high);
        format!("\"{value} {unit}\"")
    }

    /// An amount that may be a range of any shape.
    fn range(&mut self, low: f64, high: f64, unit: &str) -> String {
        if self.certain {
            return self.amount(low, high, unit);
        }
        let shape = self.whole(0, 7);
        let value = self.number(low, high);
        let (middle, top) = (value * (1.0 + 0.3 * self.next()), value * (1.4 + 0.6 * self.next()));
        let unit_key = if unit.is_empty() {
            String::new()
        } else {
            format!("unit = \"{unit}\", ")
        };
        let table = |more: &str| format!("{{ low = {value}, high = {top}, {unit_key}{more} }}");
        match shape {
            0 => format!("\"{value} {unit}\""),
            1 => format!("\"{value} / {middle} / {top} {unit}\""),
            2 => format!("\"{value} / {top} {unit}\""),
            3 => table(&format!("likely = {middle}, shape = \"pert\"")),
            4 => table(&format!("likely = {middle}, shape = \"triangular\", ends = \"tenths\"")),
            5 => table("shape = \"lognormal\", ends = \"tenths\""),
            6 => table("shape = \"uniform\", ends = \"limits\""),
            _ => format!(
                "{{ {unit_key}shape = \"logged\", values = [{value}, {middle}, {middle}, {}, {top}] }}",
                0.5 * (value + top)
            ),
        }
    }

    /// Money, sometimes in the other currency.
    fn money(&mut self, low: f64, high: f64, range: bool) -> String {
        let code = if self.has(0.3) { "USD" } else { "EUR" };
        if range && !self.certain && self.has(0.5) {
            let value = self.number(low, high);
            let top = value * (1.2 + self.next());
            format!("\"{value} / {top} {code}\"")
        } else {
            self.amount(low, high, code)
        }
    }

    fn chance(&mut self, high: f64) -> String {
        self.amount(0.03, high, "")
            .replace('"', "")
            .trim()
            .parse::<f64>()
            .map_or_else(
                |_| unreachable!(),
                |chance| format!("\"{} %\"", (chance * 1000.0).round() / 10.0),
            )
    }

    fn step(&mut self, number: usize) {
        self.head("step", true);
        self.key("name", &format!("\"step {number}\""));
        let mut orders = false;
        for (key, share, high) in [
            ("once", 0.3, 200.0),
            ("setup", 0.7, 60.0),
            ("each", 0.8, 30.0),
            ("per_order", 0.4, 12.0),
        ] {
            // Something must take time.
            if self.has(share) || (number == 0 && key == "setup") {
                let value = self.range(0.1 * high, high, "min");
                self.key(key, &value);
                orders |= key == "per_order";
            }
        }
        if self.has(0.5) {
            let room = self.whole(1, 9);
            self.key("room", &room.to_string());
            self.roomy |= number == 0;
        }
        self.from_end = true;
        if number > 0 && !orders && self.has(0.3) {
            self.key("done_by", "\"helper\"");
            self.helper = true;
        }
        if self.has(0.25) {
            let others = self.whole(5, 80);
            self.key("others", &format!("\"{others} %\""));
        }
        self.from_end = false;
        if self.has(0.2) {
            self.key("kept_in", "\"kiln\"");
        }
        if self.has(0.2) {
            let wait = self.range(1.0, 20.0, "h");
            self.key("wait", &wait);
        }
        if self.has(0.3) {
            self.key("varies", "\"batch\"");
            self.from_end = true;
            if self.has(0.5) {
                let opposite = self.whole(10, 100);
                self.key("opposite", &format!("\"{opposite} %\""));
            }
            self.from_end = false;
        }
        if self.has(0.4) {
            let rate = self.number(0.7, 0.98);
            self.key("learning", &format!("\"{} %\"", (rate * 1000.0).round() / 10.0));
            let before = self.whole(0, 6);
            if before > 0 {
                self.key("made_before", &before.to_string());
            }
            if self.has(0.5) {
                let by = before + self.whole(1, 20);
                self.key("learned_by", &by.to_string());
            }
        }
        if !self.certain && self.has(0.4) {
            let redo = self.chance(0.5);
            self.key("redo", &redo);
        }
        if !self.certain && self.has(0.35) {
            let spoil = self.chance(0.4);
            self.key("spoil", &spoil);
        }
        if !self.certain && !self.remake && self.has(0.3) {
            let second = self.chance(0.5);
            self.key("second", &second);
            self.seconds = true;
        }
    }

    fn material(&mut self, number: usize, steps: usize) {
        self.head("material", true);
        self.key("name", &format!("\"stuff {number}\""));
        for (key, share) in [
            ("per_batch", 0.4),
            ("per_round", 0.4),
            ("per_order", 0.4),
            ("per_piece", 1.1),
        ] {
            if self.has(share) {
                let units = self.number(0.2, 3.0);
                self.key(key, &units.to_string());
            }
        }
        if self.has(0.2) {
            self.key("unit", "\"kg\"");
        }
        let breaks = self.has(0.3);
        let foreign = !breaks && self.has(0.3);
        let code = if foreign { "USD" } else { "EUR" };
        let plain = self.number(1.0, 6.0);
        // A tier cannot be told where prices are ranges.
        let price = if foreign {
            format!("\"{plain} / {} USD\"", plain * if self.certain { 1.0 } else { 1.5 })
        } else if breaks && self.has(0.8) {
            format!("{plain}")
        } else {
            self.range(1.0, 6.0, "")
        };
        self.key("price", &price);
        if self.has(0.5) {
            let waste = if breaks && self.has(0.8) {
                self.amount(5.0, 60.0, "%")
            } else {
                self.range(5.0, 60.0, "%")
            };
            self.key("waste", &waste);
        }
        if self.has(0.5) {
            let pack = self.number(0.5, 7.0);
            self.key("pack", &pack.to_string());
            let leftover = if self.has(0.7) { "\"lost\"" } else { "\"keep\"" };
            self.key("leftover", leftover);
        }
        if breaks {
            let from = self.number(4.0, 30.0);
            let list = format!(
                "[{{ from = {from}, price = {} }}, {{ from = {}, price = {} }}]",
                0.8 * plain,
                2.0 * from,
                0.3 * plain
            );
            self.key("breaks", &list);
            self.note("breaks", "from");
            self.note("breaks", "price");
        }
        if self.has(0.4) {
            let paid = self.amount(0.1, 3.0, code);
            self.key("paid", &paid);
        }
        if self.has(0.6) {
            let at = self.whole(0, steps as u32 - 1);
            self.key("at", &format!("\"step {at}\""));
        }
    }

    /// What `[sale]` and each channel may say.
    fn terms(&mut self, share: f64) {
        if self.has(share) {
            let tax = self.amount(1.0, 25.0, "%");
            self.key("tax", &tax);
        }
        if self.has(share) {
            let order_of = if self.certain || self.has(0.5) {
                self.whole(1, 6).to_string()
            } else {
                let low = self.number(1.0, 3.0);
                format!("\"{low} / {} / {}\"", low + 0.7, low + self.number(1.0, 4.0))
            };
            self.key("order_of", &order_of);
        }
        if self.has(share) {
            let fee = self.amount(1.0, 20.0, "%");
            self.key("fee", &fee);
        }
        if self.has(share) {
            let fee = self.money(0.1, 2.0, false);
            self.key("fee_per_order", &fee);
        }
        if self.has(share) {
            let post = self.money(2.0, 9.0, true);
            self.key("post", &post);
        }
        if self.has(share) {
            let charged = self.money(2.0, 9.0, false);
            self.key("post_charged", &charged);
        }
        self.from_end = true;
        if self.in_sets && self.has(0.4 * share) {
            let set = self.whole(2, 5);
            self.key("set_of", &set.to_string());
            if self.has(0.6) {
                let single = self.number(10.0, 60.0);
                self.key("single_price", &single.to_string());
            }
        }
        self.from_end = false;
        if !self.certain && self.has(share) {
            let returned = self.chance(0.3);
            self.key("returned", &returned);
            if self.section != "seconds" && self.has(0.6) {
                let as_new = self.chance(0.9);
                self.key("as_new", &as_new);
            }
        }
        if self.has(share) {
            let tip = self.money(0.5, 4.0, true);
            self.key("tip", &tip);
        }
    }

    /// Quotes and enquiries, most of which come to nothing unless all is certain.
    fn tries(&mut self, share: f64) {
        for (time, won) in [("quote", "quote_won"), ("enquiry", "enquiry_bought")] {
            if self.has(share) {
                let minutes = self.range(2.0, 30.0, "min");
                self.key(time, &minutes);
                let chance = if self.certain { 100.0 } else { self.number(15.0, 90.0) };
                self.key(won, &format!("\"{chance} %\""));
            }
        }
    }

    fn selling(&mut self) {
        self.head("sale", false);
        let price = self.number(20.0, 90.0);
        self.key("price", &price.to_string());
        self.terms(0.6);
        self.tries(0.3);
        if self.has(0.5) {
            let count = self.whole(1, 3);
            let mut left = 100.0;
            for number in 0..count {
                let share = if number + 1 == count {
                    left
                } else {
                    (0.3 + 0.4 * self.next()) * left
                };
                let share = (share * 10.0_f64).round() / 10.0;
                left -= share;
                self.channel(number, share);
            }
            if self.has(0.5) {
                self.carton();
            }
        }
        let days = self.has(0.35);
        self.unsteady |= days;
        for number in 0..if days { self.whole(1, 3) } else { 0 } {
            self.selling_day(number);
        }
        if self.seconds && self.has(0.7) {
            self.head("seconds", false);
            let price = self.number(2.0, 15.0);
            self.key("price", &price.to_string());
            if self.has(0.5) {
                let time = self.range(1.0, 30.0, "min");
                self.key("per_order", &time);
            }
            // Of one kind: seconds make no sets.
            self.in_sets = false;
            self.terms(0.3);
        }
        self.head("currencies", false);
        let rate = if self.certain { "0.9" } else { "\"0.7 / 0.9 / 1.3\"" };
        self.text.push_str(&format!("USD = {rate}\n"));
        if self.has(0.7) {
            self.head("shop", false);
            let per_hour = self.number(0.5, 9.0);
            self.key("per_hour", &per_hour.to_string());
            if self.has(0.5) {
                let per_month = self.number(20.0, 300.0);
                self.key("per_month", &per_month.to_string());
                self.key("hours_per_month", "60");
            }
        }
    }

    fn channel(&mut self, number: u32, share: f64) {
        self.head("channel", true);
        self.key("name", &format!("\"way {number}\""));
        self.key("share", &format!("\"{share} %\""));
        if self.has(0.4) {
            let discount = self.amount(5.0, 50.0, "%");
            self.key("discount", &discount);
        }
        if self.has(0.5) {
            let time = self.range(1.0, 30.0, "min");
            self.key("per_order", &time);
        }
        if self.has(0.4) {
            let price = self.money(20.0, 90.0, false);
            self.key("price", &price);
        }
        // What may come back unsold comes back piece by piece.
        let on_return = self.has(0.4);
        self.in_sets = !on_return;
        self.terms(0.3);
        self.tries(0.15);
        self.in_sets = true;
        self.unsteady |= on_return;
        if on_return {
            self.on_return();
        }
    }

    /// What comes back unsold.
    fn on_return(&mut self) {
        let low = self.number(4.0, 45.0);
        let high = low * (1.1 + self.next());
        let all_or_none = |low: f64| if low > 25.0 { "\"100 %\"" } else { "\"0 %\"" };
        let unsold = if self.certain {
            all_or_none(low).to_owned()
        } else {
            format!("\"{low} / {high} %\"")
        };
        self.key("unsold", &unsold);
        if self.has(0.6) {
            let worn = if self.certain {
                all_or_none(high - low).to_owned()
            } else {
                self.chance(0.9)
            };
            self.key("worn", &worn);
            let price = self.number(1.0, 15.0);
            self.key("worn_price", &price.to_string());
        }
        if self.has(0.5) {
            let weeks = self.whole(1, 40);
            self.key("weeks", &weeks.to_string());
            let hold = self.amount(5.0, 80.0, "%");
            self.key("hold", &hold);
        }
    }

    /// A material of one channel's orders.
    fn carton(&mut self) {
        self.head("material", true);
        self.key("name", "\"carton\"");
        let units = self.number(0.2, 3.0);
        self.key("per_order", &units.to_string());
        self.key("channel", "\"way 0\"");
        let price = self.range(1.0, 6.0, "");
        self.key("price", &price);
        if self.has(0.3) {
            self.key("pack", "2");
            self.key("leftover", "\"lost\"");
        }
    }

    fn selling_day(&mut self, number: u32) {
        self.head("selling_day", true);
        self.key("name", &format!("\"day {number}\""));
        // Of a number of buyers with a fraction, chance decides that.
        let sells = if self.has(0.5) || self.certain {
            self.whole(0, 9).to_string()
        } else {
            self.range(0.2, 9.0, "")
        };
        self.key("sells", &sells);
        for (key, unit, high) in [("there", "h", 8.0), ("travel", "min", 90.0), ("cost", "", 60.0)] {
            if self.has(0.6) {
                let amount = self.range(0.1 * high, high, unit);
                self.key(key, &amount);
            }
        }
        if self.has(0.6) {
            let price = self.number(20.0, 90.0);
            self.key("price", &price.to_string());
        }
        for key in ["tax", "fee"] {
            if self.has(0.4) {
                let share = self.amount(1.0, 20.0, "%");
                self.key(key, &share);
            }
        }
    }

    fn demand(&mut self) {
        let hours = self.has(0.5);
        let kind = self.next();
        if kind > 0.6 {
            self.head("season", false);
            let buyers = if self.certain {
                self.whole(1, 30).to_string()
            } else if self.has(0.4) {
                format!("[{}, {}, {}]", self.whole(0, 9), self.whole(3, 30), self.whole(1, 20))
            } else {
                self.range(2.0, 20.0, "")
            };
            self.key("buyers", &buyers);
            if self.has(0.5) {
                self.key("leftover", "\"carry\"");
                let hold = self.amount(1.0, 60.0, "%");
                self.key("hold", &hold);
                self.key("weeks", "26");
            } else {
                let fetched = self.number(1.0, 30.0);
                self.key("clearance", &fetched.to_string());
            }
            if self.has(0.5) {
                let elasticity = self.number(0.5, 3.0);
                self.key("elasticity", &elasticity.to_string());
                // Of certain buyers it would leave a fraction to chance.
                if !self.certain && self.has(0.5) {
                    let told_at = self.number(20.0, 80.0);
                    self.key("buyers_at", &told_at.to_string());
                }
            }
        } else if kind > 0.3 && !self.unsteady {
            self.head("steady", false);
            let per_week = self.number(0.5, 6.0);
            self.key("per_week", &per_week.to_string());
            let hold = self.amount(10.0, 60.0, "%");
            self.key("hold", &hold);
            if hours {
                self.key("finished", "\"singly\"");
            }
        }
        if hours {
            self.head("hours", false);
            for day in ["mon", "tue", "wed", "thu", "fri", "sat", "sun"] {
                if day == "mon" || self.has(0.4) {
                    let bench = self.whole(1, 8);
                    // Tuesdays say from when.
                    let evening = format!("\"{}:30..{}:30\"", 15 - bench, 15);
                    let said = if day == "tue" { evening } else { bench.to_string() };
                    self.key(day, &said);
                }
            }
            self.key("off", "[\"2027-12-24..2027-12-26\"]");
        }
    }

    /// What changes no mean of the scenario itself.
    fn besides(&mut self) {
        if self.has(0.4) {
            self.head("jig", true);
            self.key("name", "\"stop\"");
            self.key("step", "\"step 0\"");
            let build = self.range(10.0, 90.0, "min");
            self.key("build", &build);
            self.key("cost", "12");
            self.key("setup", "\"x 0.5\"");
            self.key("each", "\"x 0.9\"");
            if self.roomy {
                self.key("room", "20");
            }
            self.key("lasts", "400");
        }
        if self.has(0.4) {
            self.head("misfortune", true);
            self.key("name", "\"a dear year\"");
            self.key("changes", "[\"sale.price = 19\"]");
        }
    }
}

/// A scenario's text, what setting it is read with, and the keys in it.
pub(crate) struct Made {
    pub(crate) text: String,
    pub(crate) set: Vec<(String, String)>,
    pub(crate) used: BTreeSet<(String, String)>,
}

/// A scenario made from a list of numbers.
pub(crate) fn make(numbers: &[f64], certain: bool) -> Made {
    let mut made = Choices {
        left: numbers.iter(),
        from_end: false,
        certain,
        roomy: false,
        remake: false,
        seconds: false,
        unsteady: false,
        helper: false,
        in_sets: true,
        used: BTreeSet::new(),
        section: "",
        text: String::new(),
    };
    made.key("title", "\"made at random\"");
    for key in ["description", "maker", "contact"] {
        made.key(key, "\"nothing is reckoned with it\"");
    }
    made.key("currency", "\"EUR\"");
    let target = made.number(5.0, 60.0);
    made.key("target", &target.to_string());
    made.key("confidence", "\"75 %\"");
    made.head("batch", false);
    made.key("sizes", &format!("{SIZES:?}"));
    made.remake = made.has(0.4);
    let spoiled = if made.remake { "\"remake\"" } else { "\"short\"" };
    made.key("spoiled", spoiled);
    let batches = made.whole(1, 5);
    made.key("runs", &batches.to_string());
    made.head("pace", false);
    let pace = made.range(0.7, 1.2, "");
    made.key("factor", &pace);
    let steps = made.whole(1, 4) as usize;
    for number in 0..steps {
        made.step(number);
    }
    if made.helper {
        made.head("helper", false);
        made.from_end = true;
        let wage = made.number(5.0, 40.0);
        made.from_end = false;
        made.key("wage", &wage.to_string());
    }
    for number in 0..made.whole(0, 3) as usize {
        made.material(number, steps);
    }
    made.selling();
    made.demand();
    made.besides();
    // Another price has its own buyers; of certain ones it would leave a fraction to chance.
    let set = if made.text.contains("elasticity") && !made.certain {
        vec![(ASKED_PRICE.to_owned(), "57".to_owned())]
    } else {
        Vec::new()
    };
    Made {
        text: made.text,
        set,
        used: made.used,
    }
}
