//! A chart in text.
