//! Batchwright: batch-versus-one-off economics for people who make goods by hand and sell them.
//!
//! Data flows one way, each room knowing only the rooms before it:
//! `scenario` -> `engine` -> `answers` -> `show` -> `cli`.
//!
//! The engine knows no files, no terminal and no dates; answers print nothing.

pub mod answers;
pub mod cli;
pub mod engine;
pub mod scenario;
pub mod show;

#[cfg(test)]
mod testing;
