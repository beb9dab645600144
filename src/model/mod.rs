//! Expected values in closed form: what a batch takes, brings and costs on average, each said once.
//!
//! The room knows the scenario only. The engine takes its rules of counting from here (learning, orders, channels, packs), the
//! questions their ceilings and textbook values, `check` its hours; tests hold the simulation's means to it.
//!
//! | file | question it answers |
//! | --- | --- |
//! | [`chances`] | how likely is each whole count? |
//! | [`counts`] | how many pieces reach a step, how many rounds, sold pieces and orders are there? |
//! | [`mod@hours`] | how many hands-on hours does a batch take, and for what? |
//! | [`variance`] | how much do those hours vary? |
//! | [`stock`] | what do materials cost, in packs and at price breaks? |
//! | [`mod@money`] | what does a batch bring and cost, and for what? |
//! | [`mod@ceiling`] | what can an hour earn at most? |
//! | [`worth`] | what is tied up in a piece, and what does keeping it cost? |
//! | [`sums`] | what of it changes with a price or a time? |
//! | [`lots`] | how many at a time for a steady seller, by the textbook? |
//! | [`demand`] | how many are asked for in a season? |
//! | [`newsvendor`] | how many to make for a season, by the textbook? |
//! | [`doubts`] | what looks unintended? |
//! | [`uneven`] | what goes by the round, the order or the pack, so that one more piece may cost more? |
//!
//! Hours have a mean whatever the scenario says. Money has one but where [`NoClosedForm`] tells why not.

pub mod ceiling;
pub mod chances;
pub mod counts;
pub mod demand;
pub mod doubts;
pub mod hours;
pub mod lots;
pub mod money;
pub mod newsvendor;
pub mod stock;
pub mod sums;
pub mod uneven;
pub mod variance;
pub mod worth;

pub use ceiling::{ceiling, slow_ceiling};
pub use hours::{Parts, hours, hours_by_part};
pub use money::{Money, money, rate};

/// Weeks of a year, as holding costs count them.
pub const WEEKS_PER_YEAR: f64 = 52.0;

/// Why a mean or a variance has no closed form here. Materials are indices into `Scenario::materials`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoClosedForm {
    /// Which break of a material is bought at hangs on a price or a waste that is a range.
    Breaks(usize),
    /// Orders of uncertain size fill a material's packs or reach its breaks.
    OrdersInPacks(usize),
    /// Rounds of pieces made again fill a material's packs or reach its breaks.
    RoundsInPacks(usize),
    /// Orders of seconds fill a material's packs or reach its breaks beside those of firsts.
    SecondsInPacks(usize),
    /// Seconds bring money that is neither price times pieces nor a time.
    SecondsInSums,
    /// What makes no full set is sold singly at a price of its own, or not at all.
    SetsInSums,
    /// A helper's hours cost a wage and are not the maker's.
    HelperInSums,
    /// Selling days cost money and time that go with no piece.
    DaysInSums,
    /// A variance where pieces can be spoiled, which ties the steps together.
    Spoiled,
    /// A variance where the number of orders is left to chance.
    Orders,
}

impl NoClosedForm {
    /// The reason, with the material's name.
    #[must_use]
    pub fn told(self, scenario: &crate::scenario::Scenario) -> String {
        self.with(|m| format!("'{}'", scenario.materials[m].name))
    }

    /// The reason, with a material as it is called.
    fn with(self, called: impl Fn(usize) -> String) -> String {
        match self {
            Self::Breaks(m) => format!("{} has price breaks, and its price or its waste is a range", called(m)),
            Self::OrdersInPacks(m) => format!(
                "orders of uncertain size use {}, which comes in packs or at breaks",
                called(m)
            ),
            Self::RoundsInPacks(m) => format!(
                "rounds of pieces made again use {}, which comes in packs or at breaks",
                called(m)
            ),
            Self::SecondsInPacks(m) => {
                format!("orders of seconds use {}, which comes in packs or at breaks", called(m))
            }
            Self::SecondsInSums => "seconds are sold at a price of their own".to_owned(),
            Self::SetsInSums => "pieces are sold in sets".to_owned(),
            Self::HelperInSums => "a helper does a part of the work".to_owned(),
            Self::DaysInSums => "selling days cost money and time that go with no piece".to_owned(),
            Self::Spoiled => "pieces can be spoiled, which ties the steps together".to_owned(),
            Self::Orders => "the number of orders is left to chance".to_owned(),
        }
    }
}

impl std::fmt::Display for NoClosedForm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.with(|m| format!("material {m}")))
    }
}

impl std::error::Error for NoClosedForm {}

#[cfg(test)]
mod tests {
    use super::NoClosedForm;

    /// A name may hold what stands for a material without its name.
    #[test]
    fn a_reason_names_the_material_once() {
        let mut shop = crate::testing::pencil_trays();
        shop.materials[0].name = "material 0".to_owned();
        for (why, told, shown) in [
            (
                NoClosedForm::Breaks(0),
                "'material 0' has price breaks, and its price or its waste is a range",
                "material 0 has price breaks, and its price or its waste is a range",
            ),
            (
                NoClosedForm::OrdersInPacks(0),
                "orders of uncertain size use 'material 0', which comes in packs or at breaks",
                "orders of uncertain size use material 0, which comes in packs or at breaks",
            ),
            (
                NoClosedForm::SetsInSums,
                "pieces are sold in sets",
                "pieces are sold in sets",
            ),
        ] {
            assert_eq!((why.told(&shop).as_str(), why.to_string().as_str()), (told, shown));
        }
    }
}
