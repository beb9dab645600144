//! Starts the command line.

use std::io;
use std::process::ExitCode;

use batchwright::cli;

/// Sweeps take and give back columns of some hundred kilobytes. The system's allocator hands each back to the kernel, and
/// faulting the pages in again cost the rail's sweep 40 % of its time.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    // Not locked: the progress bar draws from other threads.
    cli::run(
        std::env::args_os(),
        &mut io::stdout(),
        &mut io::stderr(),
        cli::Screen::of_process(),
    )
}
