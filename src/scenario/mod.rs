//! What the maker wrote: a TOML text read strictly into a checked [`Scenario`].
//!
//! Parse, then trust: everything behind this room takes a `Scenario` as given and never re-checks it.
//! Times are held in minutes, money in the scenario's currency, shares and chances as fractions.

mod amounts;
pub mod change;
pub mod doubts;
mod faults;
mod jig;
pub mod keys;
mod money;
mod overrides;
mod read;
pub mod rewrite;
pub mod spread;
#[cfg(test)]
mod tests;
mod toml;
mod tree;
pub mod written;

pub(crate) use amounts::{FEWEST_LOGGED, MOST_LOGGED, work_minutes};
pub use faults::nearest;
pub use faults::{Fault, Faults};
pub(crate) use faults::{Source, SourceSpan, grouped, quoted};
pub use jig::{Change, Jig};
pub use money::{coins, minor_digits};
pub use read::{ASKED_PRICE, read, read_bytes, split_setting};
pub(crate) use read::{plain_sale, text_of};
pub use spread::{Logged, Spread, TenthsError, ThreePoint};

/// One checked scenario: a design, its steps, its stock and how it is sold.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// What the piece is called, for headings.
    pub title: String,
    /// What a buyer is told besides prices and dates.
    pub offered: Offered,
    /// ISO 4217 code; only ever printed.
    pub currency: String,
    /// Money an hands-on hour should earn.
    pub target_per_hour: f64,
    /// Share of trials in which the target must be reached, in (0, 1).
    pub confidence: f64,
    /// Which sizes to look at and what happens to spoiled pieces.
    pub batch: Batch,
    /// Multiplies all hands-on time of a batch; drawn once a batch.
    pub pace: Spread,
    /// The pace as it was thought to be before the first entry of a work log, where the file keeps it.
    pub guessed_pace: Option<Spread>,
    /// At least one, names unique, at least one of them takes time.
    pub steps: Vec<Step>,
    /// May be empty; names unique.
    pub materials: Vec<Material>,
    /// Price, fees, postage.
    pub sale: Sale,
    /// Overhead.
    pub shop: Shop,
    /// Where the pieces go; empty: all of them as [`Scenario::sale`] says. Shares add up to 1, names unique.
    pub channels: Vec<Channel>,
    /// Days at stalls and fairs, in the order of the file; names unique, never together with `steady`.
    pub selling_days: Vec<SellingDay>,
    /// How seconds are sold; `None`: they are thrown away.
    pub seconds: Option<Seconds>,
    /// Other currencies that money is written in; codes unique.
    pub currencies: Vec<Currency>,
    /// A selling season; never together with `steady`.
    pub season: Option<Season>,
    /// A steady sale.
    pub steady: Option<Steady>,
    /// Bench hours.
    pub hours: Option<Hours>,
    /// Whoever does the steps that say so, for a wage.
    pub helper: Option<Helper>,
    /// Aids that could be built; names unique.
    pub jigs: Vec<Jig>,
    /// What may go wrong besides; names unique.
    pub misfortunes: Vec<Misfortune>,
}

/// What a sheet for a buyer says of the piece and of who offers it; nothing is reckoned with it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Offered {
    /// What a buyer gets.
    pub description: Option<String>,
    /// Who offers it.
    pub maker: Option<String>,
    /// Where a buyer reaches the maker.
    pub contact: Option<String>,
}

/// Something that may go wrong, as the maker sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Misfortune {
    /// Unique within the scenario.
    pub name: String,
    /// The whole scenario as it is then; it has no misfortunes of its own, and asks for the same.
    pub scenario: Box<Scenario>,
}

/// Sizes to look at, and the fate of spoiled pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Ascending, unique, each at least 1; never empty.
    pub sizes: Vec<u32>,
    /// What a spoiled piece leads to.
    pub spoiled: Spoiled,
    /// Batches of this design ever planned (at least 1): `once` is spread over them.
    pub runs: u32,
}

/// What a spoiled piece leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spoiled {
    /// Fewer are sold.
    Short,
    /// The missing pieces are made again, with their own rounds and setups, until all are good.
    Remake,
}

/// One step of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Unique within the scenario; also names the step's random streams.
    pub name: String,
    /// Minutes once for the life of the design.
    pub once: Spread,
    /// Minutes per round.
    pub setup: Spread,
    /// Minutes per piece.
    pub each: Spread,
    /// Minutes per order sold.
    pub per_order: Spread,
    /// Pieces one setup holds; `None`: all of them.
    pub room: Option<u32>,
    /// Share of each round that other designs fill and bear, in [0, 1): so much of its setup, and of the materials that a round uses.
    pub others: f64,
    /// Whether the helper does its setup and the work on each piece; what is done once for the design is the maker's.
    pub helped: bool,
    /// What holds a round until its wait is over, where other steps may need it too: one kiln for two firings.
    pub kept_in: Option<String>,
    /// Clock minutes per round that nobody's hands are needed.
    pub wait: Spread,
    /// Whether each piece draws its own time or the batch draws one for all.
    pub varies: Varies,
    /// Share of the batches in which every setup lies as high in its range as the batch's time per piece lies low in its own, in [0, 1]; above 0
    /// only where the batch draws one time for all pieces. Elsewhere setups are drawn by themselves.
    pub opposite: f64,
    /// Learning by the unit (Crawford) model.
    pub learning: Option<Learning>,
    /// Chance that the step must be done again on a piece (again with the same chance), in [0, 1).
    pub redo: f64,
    /// Chance that the piece is lost after this step, in [0, 1].
    pub spoil: f64,
    /// Chance that the piece becomes a second at this step, in [0, 1); it goes on through the others.
    pub second: f64,
    /// What was thought of its times before the first entry of a work log.
    pub guessed: Guessed,
}

/// A step's times before the first entry of a work log, each where the file keeps it beside what was learned since.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Guessed {
    /// Minutes once.
    pub once: Option<Spread>,
    /// Minutes per round.
    pub setup: Option<Spread>,
    /// Minutes per piece.
    pub each: Option<Spread>,
    /// Minutes per order.
    pub per_order: Option<Spread>,
    /// Whether pieces or batches differed.
    pub varies: Option<Varies>,
}

/// A helper, whose hours are not the maker's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Helper {
    /// Money for an hour of the helper's, with all that is paid on top of it.
    pub wage: f64,
}

impl Step {
    /// Minutes of setup that this design bears of a round.
    #[must_use]
    pub fn own_setup(&self) -> Spread {
        self.setup.scaled(1.0 - self.others)
    }

    /// Share of the batches whose setups lie opposite to the time per piece; 0 where one of the two is certain, as there is no opposite then.
    #[must_use]
    pub fn opposite_share(&self) -> f64 {
        let both_vary = !self.setup.is_certain() && !self.each.is_certain();
        if both_vary { self.opposite } else { 0.0 }
    }
}

/// How a step's per-piece time varies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Varies {
    /// A fresh draw for each piece.
    Piece,
    /// One draw for the whole batch.
    Batch,
}

/// Crawford's unit model: the 2k-th piece takes `rate` of the k-th.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learning {
    /// In (0, 1].
    pub rate: f64,
    /// Pieces of experience that the estimate already contains (m).
    pub made_before: u32,
    /// No gain after this many pieces, those made before included; `None`: no end.
    pub learned_by: Option<u32>,
}

/// Something bought and used up.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Unique within the scenario.
    pub name: String,
    /// Word for one unit, only ever printed.
    pub unit: String,
    /// Units used by each piece that reaches the step `at`.
    pub per_piece: f64,
    /// Units used once a batch.
    pub per_batch: f64,
    /// Units used in each round of the step `at` (a firing, a mix of resin): it costs money per load, however many pieces are in it.
    pub per_round: f64,
    /// Units used by each order sold.
    pub per_order: f64,
    /// Index into `Scenario::channels`: whose orders alone use it, and nothing else does; `None`: all orders.
    pub channel: Option<usize>,
    /// What a unit would cost to replace; drawn once a batch.
    pub price: Spread,
    /// Bought beyond what is used: bought = used x (1 + waste); drawn once a batch.
    pub waste: Spread,
    /// Bought in whole packs of this many units, per batch; `None`: any amount.
    pub pack: Option<f64>,
    /// What happens to the rest of the last pack.
    pub leftover: Leftover,
    /// Cheaper prices from so many units bought per batch, ascending in `from`.
    pub breaks: Vec<Break>,
    /// What was really paid per unit, where that is not the replacement price.
    pub paid: Option<f64>,
    /// Currency of all its prices, an index into `Scenario::currencies`; `None`: the scenario's own.
    pub currency: Option<usize>,
    /// Index into `Scenario::steps`: where it goes in. A piece spoiled before does not use it.
    pub at: usize,
}

impl Material {
    /// Whether any of it goes into anything.
    #[must_use]
    pub fn is_used(&self) -> bool {
        [self.per_piece, self.per_batch, self.per_round, self.per_order]
            .iter()
            .any(|amount| *amount != 0.0)
    }
}

/// What happens to what is bought and not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leftover {
    /// Kept for the next batch: only what is used (waste included) is charged.
    Keep,
    /// Lost: all that is bought is charged.
    Lost,
}

/// From `from` units bought per batch, every unit costs `price`.
#[derive(Debug, Clone, PartialEq)]
pub struct Break {
    /// Units, above 0.
    pub from: f64,
    /// Money per unit; shares the draw of the material's own price, so that a dear day is dear at every tier.
    pub price: Spread,
}

/// How pieces are sold.
#[derive(Debug, Clone, PartialEq)]
pub struct Sale {
    /// Asked price per piece, tax included.
    pub price: f64,
    /// Tax contained in the price and passed on, as a fraction of the net price.
    pub tax: f64,
    /// Pieces in an order; a range is drawn per order and rounded to whole pieces, at least 1.
    pub order_of: Spread,
    /// Pieces of a set; 1 where pieces are sold one by one. An order is then for so many sets.
    pub set_of: u32,
    /// What a buyer pays for a piece that makes no full set, tax included, in the scenario's own money; `None`: nobody takes it. It makes no
    /// order: nobody packs or posts it.
    pub single_price: Option<f64>,
    /// Fraction of what the buyer pays, postage included.
    pub fee: f64,
    /// Money per order.
    pub fee_per_order: f64,
    /// Paid to the carrier per order; drawn per order.
    pub post: Spread,
    /// Paid by the buyer per order, tax included: postage that the seller charges is taxed as what it carries (Council Directive
    /// 2006/112/EC, article 78 (b); from memory).
    pub post_charged: f64,
    /// What a buyer adds to an order of free will; drawn per order. No tax and no fee is taken of it, and an order that comes back takes it
    /// along: a gift is no payment for what is sold (assumption; local rules on gratuities differ).
    pub tip: Spread,
    /// Chance that an order is refunded and lost, in [0, 1). The buyer gets everything back, and fee and postage are gone: an assumption
    /// on the cautious side, as ways of selling differ.
    pub returned: f64,
    /// Share of the orders that come back whose pieces can be sold again as new, in [0, 1]: each is worth what a leftover is.
    pub as_new: f64,
    /// Quotes that come before an order.
    pub quote: Tries,
    /// Enquiries that come before an order.
    pub enquiry: Tries,
    /// In which currencies its money is.
    pub currencies: SaleCurrencies,
}

/// What is tried until an order comes of it: each try takes time, and each wins with the same chance, whatever came before.
#[derive(Debug, Clone, PartialEq)]
pub struct Tries {
    /// Hands-on minutes for one.
    pub minutes: Spread,
    /// Share that becomes an order, in [0.01, 1].
    pub won: f64,
}

impl Tries {
    /// Nobody asks.
    pub const NONE: Self = Self {
        minutes: Spread::ZERO,
        won: 1.0,
    };

    /// Mean minutes for each order: tries are 1 / `won` on average (geometric law).
    #[must_use]
    pub fn per_order(&self) -> f64 {
        self.minutes.mean() / self.won
    }

    /// Variance of the minutes for each order: E\[N\] Var\[X\] + Var\[N\] E\[X\]^2 with Var\[N\] = (1 - won) / won^2.
    #[must_use]
    pub fn variance(&self) -> f64 {
        let mean = self.minutes.mean();
        self.minutes.variance() / self.won + (1.0 - self.won) / (self.won * self.won) * mean * mean
    }
}

/// Currencies of a sale's money, indices into `Scenario::currencies`; `None`: the scenario's own.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct SaleCurrencies {
    /// Of the price; only a channel may sell in another currency.
    pub price: Option<usize>,
    /// Of the fee per order.
    pub fee_per_order: Option<usize>,
    /// Of the postage paid.
    pub post: Option<usize>,
    /// Of the postage charged.
    pub post_charged: Option<usize>,
    /// Of the tip.
    pub tip: Option<usize>,
}

/// One way of selling, with its share of the good pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Unique within the scenario.
    pub name: String,
    /// Share of the good pieces over many batches, in (0, 1].
    pub share: f64,
    /// Taken off the price, as a fraction in [0, 1).
    pub discount: f64,
    /// Whether `sale.price` is its own and not the list price. Its own price keeps its ratio to the list price when a floor moves that:
    /// one that stood still would make the floor depend on which prices are thought fixed (assumption).
    pub own_price: bool,
    /// Hands-on minutes per order that stand for those of the steps; `None`: the steps' own.
    pub per_order: Option<Spread>,
    /// The same before the first entry of a work log, where the file keeps it.
    pub guessed_per_order: Option<Spread>,
    /// `[sale]` with what the channel says otherwise; `price` before the discount.
    pub sale: Sale,
    /// How pieces are left there on sale or return; `None`: what goes there is sold.
    pub on_return: Option<OnReturn>,
}

/// Pieces that are left with a shop, which pays for what it sells and gives back the rest. They go there in orders like others.
#[derive(Debug, Clone, PartialEq)]
pub struct OnReturn {
    /// Share of them that comes back unsold, in [0, 1]; drawn once a batch, and each piece comes back with that chance.
    pub unsold: Spread,
    /// Chance that a piece that comes back is too worn to be sold as new, in [0, 1].
    pub worn: f64,
    /// Net money that a worn one fetches. The others are worth what a leftover is.
    pub worn_price: f64,
    /// Weeks until the shop pays and gives back the rest; 0: at once.
    pub weeks: f64,
    /// What the money tied up until then costs a year, as a share of it.
    pub hold: f64,
}

/// How seconds are sold: all of them, as they come, whatever the season or the channels.
#[derive(Debug, Clone, PartialEq)]
pub struct Seconds {
    /// `[sale]` with what `[seconds]` says otherwise; `price` is the second's own and does not move with the list price.
    pub sale: Sale,
    /// Hands-on minutes per order that stand for those of the steps; `None`: the steps' own.
    pub per_order: Option<Spread>,
}

/// A day at a stall or a fair. Each happens once with every batch, whatever its size, before a piece is sold otherwise; what is left comes
/// home. A piece sold there makes no order: nobody packs or posts it.
#[derive(Debug, Clone, PartialEq)]
pub struct SellingDay {
    /// Unique within the scenario.
    pub name: String,
    /// Money for the pitch, the fuel and the like; drawn once a batch.
    pub cost: Spread,
    /// The maker's minutes there, which no pace lengthens.
    pub there: Spread,
    /// The maker's minutes on the way, loading included.
    pub travel: Spread,
    /// Pieces that find a buyer, as far as there are good ones; drawn once a batch, in whole pieces as those of a season.
    pub sells: Spread,
    /// What a buyer pays for a piece there, tax included.
    pub price: f64,
    /// Whether that is its own and not the list price; it moves with the list price as a channel's does.
    pub own_price: bool,
    /// Tax contained in the price, as a fraction of the net price.
    pub tax: f64,
    /// Fraction of what the buyer pays.
    pub fee: f64,
}

impl SellingDay {
    /// What is left of each unit of money that a buyer pays, tax and fee taken off.
    #[must_use]
    pub fn left_of_money(&self) -> f64 {
        1.0 / (1.0 + self.tax) - self.fee
    }

    /// Mean minutes there and on the way.
    #[must_use]
    pub fn minutes(&self) -> f64 {
        self.there.mean() + self.travel.mean()
    }
}

/// Another currency.
#[derive(Debug, Clone, PartialEq)]
pub struct Currency {
    /// ISO 4217 code.
    pub code: String,
    /// What one unit of it is worth in the scenario's currency; drawn once a batch.
    pub rate: Spread,
}

/// A selling season.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// Pieces asked for at the price `asked_at` before it ends; how they become whole pieces, [`crate::model::demand`] says.
    pub buyers: Buyers,
    /// The price that the file's buyers are told for: the asked one where it says no other; another price for one call leaves it as it was.
    pub asked_at: f64,
    /// What becomes of pieces that are left.
    pub leftover: Unsold,
    /// Demand at price p is buyers x (p / `asked_at`)^-elasticity.
    pub elasticity: f64,
}

impl Sale {
    /// Quotes and enquiries.
    #[must_use]
    pub const fn tries(&self) -> [&Tries; 2] {
        [&self.quote, &self.enquiry]
    }

    /// What is left of each unit of money that somebody pays who takes a single piece at the door.
    #[must_use]
    pub fn left_of_single(&self) -> f64 {
        1.0 / (1.0 + self.tax) - self.fee
    }

    /// What is left, on average, of each unit of money that a buyer pays, postage and tax included: after refunds and tax, less the fee.
    #[must_use]
    pub fn left_of_money(&self) -> f64 {
        (1.0 - self.returned) / (1.0 + self.tax) - self.fee
    }

    /// Where each unit of money goes that a buyer pays and does not get back: tax passed on, the fee, what the shop keeps.
    #[must_use]
    pub fn shares_of_money(&self) -> [f64; 3] {
        let tax = self.tax / (1.0 + self.tax);
        [tax, self.fee, 1.0 - tax - self.fee]
    }
}

impl Channel {
    /// What a buyer pays for a piece here, discount taken off, in this channel's own currency.
    #[must_use]
    pub fn asked(&self) -> f64 {
        self.sale.price * (1.0 - self.discount)
    }

    /// What a buyer pays for a piece here, discount taken off, as a share of the list price (in this channel's own currency).
    #[must_use]
    pub fn price_ratio(&self, list: f64) -> f64 {
        self.sale.price / list * (1.0 - self.discount)
    }
}

impl Season {
    /// How many times the file's buyers there are at a price.
    #[must_use]
    pub fn at_price(&self, price: f64) -> f64 {
        if self.elasticity > 0.0 && self.asked_at > 0.0 && price > 0.0 {
            libm::pow(price / self.asked_at, -self.elasticity)
        } else {
            1.0
        }
    }
}

/// How many pieces are asked for.
#[derive(Debug, Clone, PartialEq)]
pub enum Buyers {
    /// A range.
    Range(Spread),
    /// Counts of earlier seasons, each equally likely to come again; never empty.
    Seen(Vec<f64>),
}

impl SellingDay {
    /// Whether no piece is ever asked for there.
    #[must_use]
    pub fn nobody(&self) -> bool {
        nobody(&self.sells)
    }
}

/// Whether these buyers never ask for a piece: a draw from a range under one half is rounded to none.
fn nobody(buyers: &Spread) -> bool {
    match buyers {
        Spread::Certain(_) | Spread::Logged(_) => buyers.limits().1 == 0.0,
        _ => buyers.limits().1 < 0.5,
    }
}

impl Buyers {
    /// Whether no piece is ever asked for.
    #[must_use]
    pub fn nobody(&self) -> bool {
        match self {
            Self::Range(spread) => nobody(spread),
            Self::Seen(seen) => seen.iter().all(|count| *count == 0.0),
        }
    }
}

/// What becomes of pieces that are left at the end of a season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unsold {
    /// Each fetches this much money, net.
    Clearance(f64),
    /// They are kept for the next season, where each saves making another.
    Carry {
        /// Cost of holding a year, as a share of the money tied up.
        hold: f64,
        /// Weeks until then.
        weeks: f64,
    },
}

/// A steady seller.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steady {
    /// Pieces asked for a week.
    pub per_week: f64,
    /// Cost of holding a year, as a share of the money tied up in a finished piece.
    pub hold: f64,
    /// When pieces come into stock.
    pub finished: Finished,
}

/// When the pieces of a batch come into stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finished {
    /// All at the end of the batch.
    Together,
    /// One by one while the batch goes on, at the pace of the bench hours.
    Singly,
}

/// The calendar of bench hours.
#[derive(Debug, Clone, PartialEq)]
pub struct Hours {
    /// Hands-on hours on Monday to Sunday, each in [0, 24]; at least one above 0.
    pub days: [f64; 7],
    /// The minute after midnight at which each of these days begins, where the file says it: then all its hours lie before the next.
    pub opens: [Option<f64>; 7],
    /// First and last days of stretches without any, each first at or before its last.
    pub off: Vec<(jiff::civil::Date, jiff::civil::Date)>,
}

impl Hours {
    /// Hands-on hours of a week without days off.
    #[must_use]
    pub fn week(&self) -> f64 {
        self.days.iter().sum()
    }
}

/// More than this must be left of a unit of money that a buyer pays: rounding leaves less in place of nothing, where a chance is cancelled
/// against a fee.
pub const LEFT: f64 = 1e-12;

impl Scenario {
    /// Chance that a piece that comes through all steps is a second.
    #[must_use]
    pub fn second_chance(&self) -> f64 {
        1.0 - self.steps.iter().map(|step| 1.0 - step.second).product::<f64>()
    }

    /// Whether pieces can come back to be sold again as new.
    #[must_use]
    pub fn comes_back(&self) -> bool {
        self.sales().iter().any(|sale| sale.returned * sale.as_new > 0.0)
            || self.on_return().any(|(_, on_return)| on_return.worn < 1.0)
    }

    /// The channels where pieces are left on sale or return, by index.
    pub fn on_return(&self) -> impl Iterator<Item = (usize, &OnReturn)> {
        let channels = self.channels.iter().enumerate();
        channels.filter_map(|(k, channel)| Some((k, channel.on_return.as_ref()?)))
    }

    /// The season, where demand hangs on the price.
    #[must_use]
    pub fn elastic_season(&self) -> Option<&Season> {
        self.season.as_ref().filter(|season| season.elasticity > 0.0)
    }

    /// What one unit of the currency with this index is worth on average; 1 for the scenario's own.
    #[must_use]
    pub fn exchange_rate(&self, currency: Option<usize>) -> f64 {
        currency.map_or(1.0, |k| self.currencies[k].rate.mean())
    }

    /// How many times the file's buyers there are at the asked price; on selling days too, whose prices move with it.
    #[must_use]
    pub fn buyers_at_price(&self) -> f64 {
        self.season
            .as_ref()
            .map_or(1.0, |season| season.at_price(self.sale.price))
    }

    /// Whether a dearer piece leaves more anywhere, on average.
    #[must_use]
    pub fn price_counts(&self) -> bool {
        self.sales().into_iter().any(|sale| sale.left_of_money() > LEFT)
            || self.selling_days.iter().any(|day| day.left_of_money() > LEFT)
    }

    /// Whether pieces are sold in sets anywhere.
    #[must_use]
    pub fn has_sets(&self) -> bool {
        self.sales().into_iter().any(|sale| sale.set_of > 1)
    }

    /// Whether pieces that make no full set are left over anywhere.
    #[must_use]
    pub fn leaves_odd(&self) -> bool {
        let mut sales = self.sales().into_iter();
        sales.any(|sale| sale.set_of > 1 && sale.single_price.is_none())
    }

    /// Whether pieces that make no full set are sold singly anywhere.
    #[must_use]
    pub fn has_singles(&self) -> bool {
        self.sales().into_iter().any(|sale| sale.single_price.is_some())
    }

    /// Money for an hour of the helper's; 0 where there is none.
    #[must_use]
    pub fn wage(&self) -> f64 {
        self.helper.map_or(0.0, |helper| helper.wage)
    }

    /// Units of a material that this design bears of a round.
    #[must_use]
    pub fn per_round(&self, material: &Material) -> f64 {
        material.per_round * (1.0 - self.steps[material.at].others)
    }

    /// The sales that pieces go through: those of the channels, or the one of `[sale]`.
    #[must_use]
    pub fn sales(&self) -> Vec<&Sale> {
        if self.channels.is_empty() {
            vec![&self.sale]
        } else {
            self.channels.iter().map(|channel| &channel.sale).collect()
        }
    }

    /// The scenario with these of its jigs in use, by index: times and room of their steps changed, one jig after another.
    ///
    /// Building hours and cost are not in it. Jigs that together take more off a time than there is (which the reader refuses for one alone,
    /// and [`doubts`](doubts::doubts) remark on) leave it at nothing.
    #[must_use]
    pub fn with_jigs(&self, jigs: &[usize]) -> Self {
        let mut changed = self.clone();
        for jig in jigs.iter().filter_map(|k| self.jigs.get(*k)) {
            jig.change(&mut changed.steps[jig.step]);
        }
        changed
    }
}

/// Overhead of the shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    /// Money per hands-on hour.
    pub per_hour: f64,
    /// Money per month, spread over `hours_per_month`.
    pub per_month: f64,
    /// Hands-on hours a month; above 0 whenever `per_month` is.
    pub hours_per_month: f64,
}

impl Shop {
    /// Overhead per hands-on hour: `per_hour + per_month / hours_per_month`.
    #[must_use]
    pub fn cost_per_hour(&self) -> f64 {
        if self.per_month == 0.0 {
            self.per_hour
        } else {
            self.per_hour + self.per_month / self.hours_per_month
        }
    }
}
