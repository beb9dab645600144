//! Every test from outside the crate, as modules of one program, so that it is linked once.

#![allow(
    clippy::disallowed_methods,
    reason = "no answer is made here: expected values may come from the platform's mathematics"
)]

mod agree;
mod bounds;
mod bounds_of_input;
mod calendar;
mod cli;
mod comes_back;
mod compare;
mod desk;
mod distributions;
mod drivers;
mod files;
mod fit_truth;
mod fuzz;
mod helper;
mod hostile;
mod invalid;
mod jig;
mod library;
mod logged;
mod mixed_loads;
mod model;
mod openings;
mod over;
mod page;
mod program;
mod properties;
mod readme;
mod reference;
mod report;
mod said_truly;
mod season;
mod seconds;
mod selling;
mod selling_days;
mod sets;
mod shipped;
mod size_to_ask_about;
mod sold;
mod sold_file;
mod sold_truth;
mod steady;
mod stress;
mod together;
mod told;
mod worklog;
