//! Batchwright: batch-versus-one-off economics for people who make goods by hand and sell them.
//!
//! Data flows one way, each room knowing only the rooms before it:
//! `scenario` -> `engine` -> `stats` -> `questions`, `worklog` -> `render` -> `ask` -> `desk` -> `cli`.
//!
//! Up to the work log they stand in a package of their own, `batchwright-core`. Questions print nothing.
//!
//! Without features there is all that computes an answer and says it in words, tables, JSON and CSV; it stands in a browser too.
//! `charts` draws (SVG, PNG), `report` makes pages of HTML, `workbook` a spreadsheet, `desk` serves the local page, `cli` (the default)
//! is the command line with all of them.

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
#[cfg(feature = "cli")]
pub mod cli;
#[cfg(feature = "desk")]
pub mod desk;
#[cfg(feature = "desk")]
mod files;
pub mod render;

use batchwright_core::{questions, scenario, stats, worklog};
