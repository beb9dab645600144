//! One module per question: simulated runs in, figures with their errors out. Nothing here prints.

pub mod sweep;
