//! What the maker wrote: a TOML text read strictly into a checked [`Scenario`].
//!
//! Parse, then trust: everything behind this room takes a `Scenario` as given and never re-checks it.
//! Times are held in minutes, money in the scenario's currency, shares and chances as fractions.

mod amounts;
pub mod doubts;
mod faults;
mod read;
mod sizes;
pub mod special;
pub mod spread;
#[cfg(test)]
mod tests;
mod tree;

pub use faults::{Fault, Faults};
pub use read::{read, read_bytes, split_setting};
pub use spread::{Spread, TenthsError, ThreePoint};

/// One checked scenario: a design, its steps, its stock and how it is sold.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// What the piece is called, for headings.
    pub title: String,
    /// ISO 4217 code; only ever printed.
    pub currency: String,
    /// Money an hands-on hour should earn.
    pub target_per_hour: f64,
    /// Share of runs in which the target must be reached, in (0, 1).
    pub confidence: f64,
    /// Which sizes to look at and what happens to spoiled pieces.
    pub batch: Batch,
    /// Multiplies all hands-on time of a run; drawn once a run.
    pub pace: Spread,
    /// At least one, names unique, at least one of them takes time.
    pub steps: Vec<Step>,
    /// May be empty; names unique.
    pub materials: Vec<Material>,
    /// Price, fees, postage.
    pub sale: Sale,
    /// Overhead.
    pub shop: Shop,
}

/// Sizes to look at, and the fate of spoiled pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    /// Ascending, unique, each at least 1; never empty.
    pub sizes: Vec<u32>,
    /// What a spoiled piece leads to.
    pub spoiled: Spoiled,
    /// Runs of this design ever planned (at least 1): `once` is spread over them.
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
    /// Clock minutes per round that nobody's hands are needed.
    pub wait: Spread,
    /// Whether each piece draws its own time or the run draws one for all.
    pub varies: Varies,
    /// Learning by the unit (Crawford) model.
    pub learning: Option<Learning>,
    /// Chance that the step must be done again on a piece (again with the same chance), in [0, 1).
    pub redo: f64,
    /// Chance that the piece is lost after this step, in [0, 1].
    pub spoil: f64,
}

/// How a step's per-piece time varies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Varies {
    /// A fresh draw for each piece.
    Piece,
    /// One draw for the whole run.
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
    /// Units used once a run.
    pub per_batch: f64,
    /// Units used in each round of the step `at` (a firing, a mix of resin).
    pub per_round: f64,
    /// Units used by each order sold.
    pub per_order: f64,
    /// What a unit would cost to replace; drawn once a run.
    pub price: Spread,
    /// Bought beyond what is used: bought = used x (1 + waste); drawn once a run.
    pub waste: Spread,
    /// Bought in whole packs of this many units, per run; `None`: any amount.
    pub pack: Option<f64>,
    /// What happens to the rest of the last pack.
    pub leftover: Leftover,
    /// Cheaper prices from so many units bought per run, ascending in `from`.
    pub breaks: Vec<Break>,
    /// What was really paid per unit, where that is not the replacement price.
    pub paid: Option<f64>,
    /// Index into `Scenario::steps`: where it goes in. A piece spoiled before does not use it.
    pub at: usize,
}

/// What happens to what is bought and not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leftover {
    /// Kept for the next run: only what is used (waste included) is charged.
    Keep,
    /// Lost: all that is bought is charged.
    Lost,
}

/// From `from` units bought per run, every unit costs `price`.
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
    /// Fraction of what the buyer pays, postage included.
    pub fee: f64,
    /// Money per order.
    pub fee_per_order: f64,
    /// Paid to the carrier per order; drawn per order.
    pub post: Spread,
    /// Paid by the buyer per order.
    pub post_charged: f64,
    /// Chance that an order is refunded and lost, in [0, 1).
    pub returned: f64,
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
