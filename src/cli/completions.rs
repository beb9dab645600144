//! `completions`: what a shell needs to complete the command line.

use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::{Arguments, Stop, Streams};

/// Prints what a shell needs to complete the commands
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  For one shell or another:
    batchwright completions bash >> ~/.bash_completion
    batchwright completions fish > ~/.config/fish/completions/batchwright.fish
    batchwright completions zsh  > \"${fpath[1]}/_batchwright\"")]
pub(super) struct Completions {
    /// The shell
    shell: Shell,
}

pub(super) fn run(command: &Completions, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let mut script = Vec::new();
    clap_complete::generate(command.shell, &mut Arguments::command(), "batchwright", &mut script);
    streams.answer(&String::from_utf8_lossy(&script))
}
