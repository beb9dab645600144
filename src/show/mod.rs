//! Answers made visible: figures as people write them, charts, JSON, CSV. Nothing here computes an answer or prints one.

pub mod chart;
pub mod csv;
pub mod format;
pub mod json;
pub mod table;
pub mod text;
pub mod text_chart;
pub mod understood;
pub mod words;

#[cfg(test)]
mod samples;
