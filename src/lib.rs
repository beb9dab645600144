//! Batchwright: batch-versus-one-off economics for people who make goods by hand and sell them.
//!
//! Data flows one way, each room knowing only the rooms before it:
//! `scenario` -> `engine` -> `stats` -> `questions`, `worklog` -> `render` -> `ask` -> `desk` -> `cli`.
//!
//! The engine knows no files, no terminal and no dates; questions print nothing.

#![cfg_attr(
    test,
    allow(
        clippy::disallowed_methods,
        reason = "tests may take expected values from the platform's mathematics"
    )
)]

mod ask;
pub mod cli;
pub mod desk;
pub mod engine;
mod files;
pub mod laws;
pub mod questions;
pub mod render;
pub mod scenario;
pub mod stats;
pub mod worklog;

#[cfg(test)]
mod testing;
