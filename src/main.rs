//! Starts the command line.

use std::io;
use std::process::ExitCode;

use batchwright::cli;

fn main() -> ExitCode {
    // Not locked: the progress bar draws from other threads.
    cli::run(
        std::env::args_os(),
        &mut io::stdout(),
        &mut io::stderr(),
        cli::Screen::of_process(),
    )
}
