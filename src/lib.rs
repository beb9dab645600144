//! Batchwright: batch-versus-one-off economics for people who make goods by hand and sell them.
//!
//! A scenario is read strictly or refused with all its faults; a question about it gives an answer that comes as figures with their
//! errors, as words and tables for a person, as JSON and CSV, and with the feature `charts` as a picture.
//!
//! ```
//! use batchwright::{Options, Question, Scenario, ask};
//!
//! let scenario = Scenario::from_toml(
//!     "title = 'Coat hook'\ncurrency = 'EUR'\ntarget = 25\nbatch.sizes = [1, 6, 24]\nsale.price = 18\n\
//!      [[step]]\nname = 'forge'\nsetup = '20 / 25 / 40 min'\neach = '12 / 15 / 25 min'\n",
//! )?;
//! let answer = ask(Question::Sweep, &scenario, &Options::new().trials(2_000)?)?;
//! println!("{}", answer.text(80));
//! assert!(answer.json().contains("\"first_paying_size\": 6"));
//! # Ok::<(), batchwright::Error>(())
//! ```
//!
//! The same scenario, seed and number of trials give the same bytes on every machine. Nothing panics.
//!
//! # Features
//! Without any there is all that computes an answer and says it; it stands in a browser too. `charts` draws (SVG), `png` also in dots,
//! `report` makes pages of HTML ([`Report`]), `workbook` a spreadsheet, `desk` serves the local page, `page` puts the built page for browsers into the
//! program, `cli` (the default) is the program with all of them but that.
//!
//! # Rooms
//! Data flows one way, each room knowing only the rooms before it: what reckons (the package `batchwright-core`), `render`, `ask`,
//! `desk`, `cli`. Answers print nothing.

// Without the command line much of what it alone asks for is called by nobody; with it, everything is.
#![cfg_attr(not(feature = "cli"), allow(dead_code))]
#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        reason = "tests may take expected values from the platform's mathematics"
    )
)]

mod ask;
mod budget;
mod checked;
#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;
#[cfg(feature = "desk")]
mod desk;
mod error;
#[cfg(feature = "desk")]
mod files;
#[cfg(feature = "desk")]
mod interrupt;
mod learn;
mod over;
#[cfg(feature = "workbook")]
#[doc(hidden)]
pub mod page;
#[doc(hidden)]
pub mod render;
#[cfg(feature = "report")]
mod report;

pub use ask::{Answer, Options, ask};
pub use batchwright_core::scenario::{Fault, Faults, keys};
pub use checked::Scenario;
pub use error::Error;
pub use learn::{SalesLog, WorkLog, fit, fitted, sold, with_buyers};
pub use render::figures::Figures;
pub use render::question::Question;
#[cfg(feature = "report")]
pub use render::report::Report;

#[cfg(feature = "workbook")]
use batchwright_core::hash;
#[cfg(feature = "workbook")]
use batchwright_core::logfile;
use batchwright_core::{clean, model, questions, sales, scenario, stats, worklog};
