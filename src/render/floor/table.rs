//! What each size, or each confidence of one size, needs; and the CSV.

use super::MORE;
use super::View;
use crate::questions::floor::{Floors, SizeFloors};
use crate::questions::sweep::Floor;
use crate::render::columns::{Columns, SHARE, Table, Unit, between};
use crate::render::figure::{self, Cell};
use crate::render::format::{amount, at_most, confidence, enough, in_percent, price_interval, share, typed_amount};
use crate::render::grid::well_chosen;
use crate::render::plot::prices;

/// Rows of sizes shown unless all are asked for.
const ROWS: usize = 10;

impl<'a> View<'a> {
    /// A line a size; all columns are the CSV.
    pub(super) fn sizes(&self) -> Table<'a, &'a SizeFloors> {
        let floors = self.floors;
        let sizes: Vec<u32> = floors.sizes.iter().map(|s| s.size).collect();
        let rows = if self.is_order() { sizes.len() } else { ROWS };
        let confidences = if self.certain {
            vec![floors.confidence]
        } else {
            self.confidences()
        };
        let name = "The price that pays";
        let about = self.about.map_or(floors.about, |about| about.size);
        Table::new(name, floors, "sizes", &floors.sizes, self.columns())
            .choose(well_chosen(&sizes, &[about], rows), "sizes")
            .main(move |s| s.size == about)
            .curve(
                name,
                format!("{} a piece", floors.currency),
                confidences.iter().map(|q| self.key(*q)),
                "asked",
            )
    }

    fn columns(&self) -> Columns<'a, &'a SizeFloors> {
        let (floors, certain, order) = (self.floors, self.certain, self.is_order());
        let asked = floors.confidence;
        let price = typed_amount(floors.price, &floors.currency);
        let mut c: Columns<'a, &'a SizeFloors> = Columns::default();
        c.field("size", Unit::Count).plain(if order {
            "pieces in\nan order"
        } else {
            "pieces\na batch"
        });
        if floors.sizes.iter().any(|s| s.spares.is_some()) {
            c.field("spares", Unit::Count).or("-").plain("spares\nstarted").spare(2);
        }
        if !certain {
            for q in self.confidences() {
                self.price_at(&mut c, q);
            }
        }
        // Every size of one answer has floors at the same confidences; the first speaks for all.
        for (k, floor) in floors.sizes.first().map_or(&[][..], |s| &s.floor).iter().enumerate() {
            let name = format!("floor_{}pct", in_percent(floor.confidence));
            price_data(&mut c, &floors.currency, &format!("floor[{k}]"), &name, move |s| {
                s.floor.get(k)?.price
            });
        }
        let name = format!("floor_asked_{}pct", in_percent(asked));
        price_data(&mut c, &floors.currency, "floor_asked", &name, |s| s.floor_asked.price);
        if certain {
            c.shown("asked", move |s| price_cell(floors, s.floor_asked.price))
                .plain("price\nthat pays");
        } else if !order {
            c.shown("asked ends", move |s| {
                interval(floors, s.floor_asked.low, s.floor_asked.high)
            })
            .head(format!("exact price for {}\nlies between", confidence(asked)))
            .note("Exact price: 95 times in 100 the simulation is no further off than this.")
            .spare(2);
        }
        if order && !floors.on_return {
            c.shown("in all", move |s| {
                let whole = s.floor_asked.price.map(|price| in_all(floors, s, price));
                figure::exact_amount(whole, &floors.currency)
            })
            .plain(if certain {
                format!("whole\norder,\n{}", floors.currency)
            } else {
                format!("whole\norder, {}\nin {}", floors.currency, confidence(asked))
            })
            .decides();
        }
        price_data(&mut c, &floors.currency, "long_run", "floor_long_run", |s| {
            s.long_run.price
        });
        if !certain {
            c.shown("long run", move |s| price_cell(floors, s.long_run.price))
                .head("pays on\naverage")
                .note(format!(
                    "Pays on average: over many {}, good and bad together.",
                    self.many()
                ));
        }
        c.field("long_run.se", Unit::Money(&floors.currency))
            .named("floor_long_run_se");
        let reach = c.fields("reach", SHARE, Unit::Share);
        if !certain && !order {
            reach.plain(format!("{price} is\nenough in\nso many")).decides();
        }
        let off = c.fields("off_one", SHARE, Unit::Share);
        if order {
            off.written(cheaper).or("-").plain("each\ncheaper\nthan one\nalone");
        }
        let off = c.fields("off_price", SHARE, Unit::Share);
        off.written(room).or("-").plain(format!("{price} may\nfall by"));
        c
    }

    /// How the column of a price that pays so surely is called.
    fn key(&self, q: f64) -> String {
        match self.is_asked(q) {
            true => "asked".to_owned(),
            false => format!("at {q}"),
        }
    }

    /// The column of a price that pays so surely.
    fn price_at(&self, c: &mut Columns<'a, &'a SizeFloors>, q: f64) {
        let floors = self.floors;
        let asked = self.is_asked(q);
        let price = c.shown(self.key(q), move |s| price_cell(floors, at_confidence(s, q).price));
        price
            .head(format!("in {}", confidence(q)))
            .under(format!("price that pays {}", floors.currency))
            .note({
                let reach = match floors.target > 0.0 {
                    true => format!("earn {} an hour", self.target()),
                    false => "cover your costs".to_owned(),
                };
                // Many trials may need the same price.
                let more = floors.sizes.iter().filter_map(|s| Some(s.pays? - floors.confidence));
                let at_least = if more.fold(0.0, f64::max) >= MORE {
                    "at least "
                } else {
                    ""
                };
                format!("At that price you {reach} in {at_least}that share of {}.", self.many())
            })
            .spare(u8::from(!asked));
        if asked {
            price.decides();
        }
    }

    /// One size: a line for each confidence.
    pub(super) fn one_size(&self, at: &'a SizeFloors) -> Table<'a, Level> {
        let floors = self.floors;
        let mut rows: Vec<Level> = Vec::new();
        for q in self.confidences() {
            let floor = at_confidence(at, q);
            let place = at.floor.iter().position(|f| f == floor);
            rows.push(Level {
                name: format!("in {} of {}", confidence(q), self.many()),
                ends: [floor.price, floor.low, floor.high],
                path: place.map_or("floor_asked".to_owned(), |k| format!("floor[{k}]")),
                asked: self.is_asked(q),
            });
        }
        rows.push(Level {
            name: "on average".to_owned(),
            ends: [at.long_run.price, at.long_run.low, at.long_run.high],
            path: "long_run".to_owned(),
            asked: false,
        });
        let mut c: Columns<'a, Level> = Columns::default();
        c.text("name", move |l| l.name.clone()).plain("the target is reached");
        c.field("price", Unit::Floor(&floors.currency))
            .or("no price")
            .plain(format!("{} a piece", floors.currency));
        if self.is_order() && at.size > 1 && !floors.on_return {
            c.shown("in all", move |l| {
                let whole = l.ends[0].map(|price| in_all(floors, at, price));
                figure::exact_amount(whole, &floors.currency)
            })
            .plain(format!("the whole\norder, {}", floors.currency));
        }
        c.shown("ends", move |l| interval(floors, l.ends[1], l.ends[2]))
            .head(format!("exact price\nlies between, {}", floors.currency))
            .note("Exact price: 95 times in 100 the simulation is no further off than this.");
        Table::new("The price that pays", floors, "", rows, c)
            .placed(|_, l| format!("sizes[0].{}", l.path))
            .main(move |l| l.asked)
    }
}

/// One line of the table of one size.
pub(super) struct Level {
    name: String,
    /// The price and its interval.
    ends: [Option<f64>; 3],
    /// Where JSON has it in the size.
    path: String,
    asked: bool,
}

/// A price, its interval, and what all pieces cost at it: data only.
fn price_data<'a>(
    c: &mut Columns<'a, &'a SizeFloors>,
    currency: &'a str,
    path: &str,
    name: &str,
    price: impl Fn(&SizeFloors) -> Option<f64> + 'a,
) {
    let floor = Unit::Floor(currency);
    c.called(path, name, &["price", "low", "high"], floor);
    c.figure(format!("{name}_in_all"), floor, move |s| {
        price(s).map(|price| s.in_all(price))
    });
}

fn cheaper(off: f64) -> Cell {
    let text = match off {
        o if o >= 0.005 => share(o),
        o if o > -1e-9 => "0 %".to_owned(),
        _ => "dearer".to_owned(),
    };
    figure::share_said(text, off)
}

/// How far the price may fall, in a table.
fn room(off: f64) -> Cell {
    if off > -1e-9 {
        return cheaper(off);
    }
    figure::share_said("must rise".to_owned(), off)
}

/// What an order costs at a price a piece as it is shown, so that whoever multiplies finds the same.
fn in_all(floors: &Floors, at: &SizeFloors, price: f64) -> f64 {
    at.in_all(enough(price, &floors.currency))
}

fn price_cell(floors: &Floors, value: Option<f64>) -> Cell {
    figure::price(value, &floors.currency)
}

fn interval(floors: &Floors, low: Option<f64>, high: Option<f64>) -> Cell {
    let currency = &floors.currency;
    let text = match (low, high) {
        (Some(low), Some(high)) => price_interval(low, high, currency),
        (Some(low), None) => format!("{} or more", amount(at_most(low, currency), currency)),
        _ => "no price".to_owned(),
    };
    between(text, [low, high], Unit::Money(currency))
}

/// The floor of a size at one of the confidences it has.
pub(super) fn at_confidence(at: &SizeFloors, q: f64) -> &Floor {
    prices::at_confidence(&at.floor, &at.floor_asked, q)
}
