//! Every test from outside the crate, as modules of one program, so that it is linked once.

mod bounds;
mod calendar;
mod cli;
mod compare;
mod desk;
mod distributions;
mod drivers;
mod invalid;
mod jig;
mod logged;
mod over;
mod properties;
mod readme;
mod reference;
mod report;
mod season;
mod selling;
mod steady;
mod stress;
mod worklog;
