//! What a work log and a sales log teach, for those outside.

use crate::ask::Answer;
use crate::render::figures::Figures;
use crate::sales::answer::Sold;
use crate::sales::{self, edit as buyers, learn};
use crate::worklog::{self, edit, fit};
use crate::{Error, Scenario};

/// What faults of a sales log are told of.
const SALES: &str = "sales.csv";

/// Times that were noted at the bench, read strictly.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkLog(worklog::Log);

impl WorkLog {
    /// Reads a log: CSV with the columns job, step, what, pieces and minutes, as `batchwright log` writes it.
    ///
    /// # Errors
    /// Everything that is wrong with the text, all at once, each with its line, its column and a cure ([`Error::faults`]).
    pub fn from_csv(text: &str) -> Result<Self, Error> {
        Ok(Self(worklog::read("log.csv", text.as_bytes())?))
    }

    /// What is allowed but odd, a sentence each.
    #[must_use]
    pub fn doubts(&self) -> &[String] {
        &self.0.doubts
    }
}

/// What the log says of the scenario's times and chances; figures, words, table and chart are those of the command `fit`.
///
/// ```
/// use batchwright::{Scenario, WorkLog, fit, fitted};
///
/// let hook = Scenario::from_toml(
///     "currency = 'EUR'\ntarget = 25\n[sale]\nprice = 18\n[[step]]\nname = 'forge'\nper_order = '8 / 10 / 12 min'\n",
/// )?;
/// let mut log = "job,step,what,pieces,minutes\n".to_owned();
/// for (job, minutes) in [15.0, 16.0, 14.5, 15.5, 15.0, 16.5].iter().enumerate() {
///     log += &format!("{job},forge,order,1,{minutes}\n");
/// }
/// let log = WorkLog::from_csv(&log)?;
/// println!("{}", fit(&hook, &log).text(80));
/// let learned = fitted(&hook, &log)?;
/// assert!(learned.understood(80) != hook.understood(80));
/// # Ok::<(), batchwright::Error>(())
/// ```
#[must_use]
pub fn fit(scenario: &Scenario, log: &WorkLog) -> Answer {
    Answer::new(Figures::Fit(Box::new(fit::fit(&scenario.read, &log.0))))
}

/// The scenario with what the log says in it; times the log does not contradict stay as they are.
///
/// # Errors
/// A value stands in a form that cannot be exchanged, or the new values clash with the rest of the scenario.
pub fn fitted(scenario: &Scenario, log: &WorkLog) -> Result<Scenario, Error> {
    let (text, _) = edit::edited(&scenario.text, &fit::fit(&scenario.read, &log.0)).map_err(Error::unwritten)?;
    scenario.again(&text)
}

/// What was put up for sale, at which price, and what of it sold; read strictly.
#[derive(Debug, Clone, PartialEq)]
pub struct SalesLog(sales::SalesLog);

impl SalesLog {
    /// Reads a log: CSV with the columns listed, price, pieces, left, sold and until, as `batchwright log --sale` writes it.
    ///
    /// # Errors
    /// Everything that is wrong with the text, all at once, each with its line, its column and a cure ([`Error::faults`]).
    pub fn from_csv(text: &str) -> Result<Self, Error> {
        Ok(Self(sales::read(SALES, text.as_bytes())?))
    }

    fn teaches(&self, scenario: &Scenario) -> Sold {
        learn::learn(SALES, &scenario.read, &self.0, &learn::Asked::of(&self.0))
    }
}

/// What the log says of buyers and prices, open offers looked at until its last day; figures, words, table and chart are those of the
/// command `sold`.
///
/// ```
/// use batchwright::{SalesLog, Scenario, sold};
///
/// let hook = Scenario::from_toml(
///     "currency = 'EUR'\ntarget = 25\n[sale]\nprice = 18\n[[step]]\nname = 'forge'\neach = '8 / 10 / 12 min'\n",
/// )?;
/// let log = SalesLog::from_csv("listed,price,pieces,sold\n2026-05-02,18,1,2026-05-09\n2026-05-02,18,1,2026-05-30\n")?;
/// println!("{}", sold(&hook, &log).text(80));
/// # Ok::<(), batchwright::Error>(())
/// ```
#[must_use]
pub fn sold(scenario: &Scenario, log: &SalesLog) -> Answer {
    Answer::new(Figures::Sold(Box::new(log.teaches(scenario))))
}

/// The scenario with the buyers and the elasticity that the log says; what the log does not contradict stays.
///
/// # Errors
/// A value stands in a form that cannot be exchanged, or the new values clash with the rest of the scenario.
pub fn with_buyers(scenario: &Scenario, log: &SalesLog) -> Result<Scenario, Error> {
    let (text, _) = buyers::edited(&scenario.text, &log.teaches(scenario)).map_err(Error::unwritten)?;
    scenario.again(&text)
}
