//! Batchwright: batch-versus-one-off economics for people who make goods by hand and sell them.
//!
//! Data flows one way, each room knowing only the rooms before it:
//! `scenario` -> `engine` -> `answers`, `worklog` -> `show` -> `ask` -> `desk` -> `cli`.
//!
//! The engine knows no files, no terminal and no dates; answers print nothing.

pub mod answers;
mod ask;
pub mod cli;
pub mod desk;
pub mod engine;
mod files;
pub mod scenario;
pub mod show;
pub mod worklog;

#[cfg(test)]
mod testing;
