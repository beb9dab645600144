//! What reckons: a text becomes a checked scenario, the scenario simulated batches, those an answer with its errors; timed entries
//! and sales become estimates.
//!
//! Data flows one way, each room knowing only the rooms before it (and `parallel`, which shares work out among threads, `hash` and `clean`):
//! `laws` -> `scenario` -> `model` -> `engine` -> `stats` -> `questions`, `worklog`, `sales`.
//!
//! The engine knows no files, no terminal and no dates; questions print nothing. This package serves the others of this program,
//! its tests and its measurements, and may change with them: what is meant for use from outside is the crate `batchwright`.

#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        reason = "tests may take expected values from the platform's mathematics"
    )
)]

pub mod clean;
pub mod engine;
pub mod hash;
pub mod laws;
pub mod logfile;
pub mod model;
pub mod parallel;
pub mod questions;
pub mod sales;
pub mod scenario;
pub mod stats;
pub mod worklog;

#[cfg(test)]
mod testing;
