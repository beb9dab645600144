//! A checked scenario, as those outside hold it.

use crate::model::doubts;
use crate::questions::over::OverAxis;
use crate::render::question::Question;
use crate::render::understood;
use crate::scenario::{self, Faults};
use crate::{Error, over};

/// What stands for the name of a file in faults.
pub(crate) const NAME: &str = "scenario.toml";

/// What the maker wrote, read strictly: whatever is held here can be computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    pub(crate) read: scenario::Scenario,
    /// As it was written, and the values that were set: a question over values of a key reads it anew.
    pub(crate) text: String,
    pub(crate) values: Vec<(String, String)>,
}

impl Scenario {
    /// Reads a scenario. What can be written is shown by the files in `scenarios/` and by `batchwright new`.
    ///
    /// ```
    /// use batchwright::Scenario;
    ///
    /// let wrong = Scenario::from_toml("target = 25\n[sale]\nprice = -3\n").unwrap_err();
    /// let faults = wrong.faults().unwrap();
    /// assert_eq!(faults.count(), 2, "{wrong}"); // no step, and the price
    /// ```
    ///
    /// # Errors
    /// Everything that is wrong with the text, all at once, each with its line, its column and a cure ([`Error::faults`]).
    pub fn from_toml(text: &str) -> Result<Self, Error> {
        Self::from_toml_with(text, &[])
    }

    /// Reads a scenario with other values for some of its keys, for this time: `("sale.price", "62")`, `("step.glue up.each", "4 min")`.
    ///
    /// # Errors
    /// Everything that is wrong with the text or with the values, all at once.
    pub fn from_toml_with(text: &str, values: &[(&str, &str)]) -> Result<Self, Error> {
        let values: Vec<(String, String)> = values
            .iter()
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
            .collect();
        Self::read(text, values)
    }

    fn read(text: &str, values: Vec<(String, String)>) -> Result<Self, Error> {
        Ok(Self {
            read: scenario::read(NAME, text, &values)?,
            text: text.to_owned(),
            values,
        })
    }

    /// Another text, with the same values set.
    pub(crate) fn again(&self, text: &str) -> Result<Self, Error> {
        Self::read(text, self.values.clone())
    }

    /// The scenario with every value of the axes.
    pub(crate) fn over(&self, axes: &[OverAxis]) -> Result<Vec<scenario::Scenario>, Faults> {
        let read = |values: &[(String, String)]| scenario::read(NAME, &self.text, values);
        over::scenarios(&self.values, axes, read).map_err(|(faults, _)| faults)
    }

    /// What the piece is called.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.read.title
    }

    /// ISO 4217 code of all money that is not said to be in another currency.
    #[must_use]
    pub fn currency(&self) -> &str {
        &self.read.currency
    }

    /// Batch sizes to look at: ascending, each once, at least one.
    #[must_use]
    pub fn sizes(&self) -> &[u32] {
        &self.read.batch.sizes
    }

    /// The section that the scenario would need to be asked this, where it is not there: `[season]`.
    #[must_use]
    pub fn lacks(&self, question: Question) -> Option<&'static str> {
        question.lacks(&self.read)
    }

    /// What is allowed but odd, a sentence each.
    #[must_use]
    pub fn doubts(&self) -> Vec<String> {
        doubts::doubts(&self.read)
    }

    /// The whole scenario told back as it was understood, in so many columns where that can be (60 to 110).
    #[must_use]
    pub fn understood(&self, columns: usize) -> String {
        understood::scenario(&self.read, columns, true)
    }
}
