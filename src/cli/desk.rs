//! `desk`: the local page.

use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};

use clap::Args;

use super::input::Source;
use super::{Stop, Streams, page};
use crate::desk::{Desk, until_told};
use crate::files::{Destination, Failed, reason};

/// Shows the scenario as a page in the browser, where you change it and see the answer change
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Print an address to open in a browser on this machine:
    batchwright desk hooks.toml
  The same port every time:
    batchwright desk hooks.toml --port 8417
  From nothing:
    batchwright new batch --out hooks.toml && batchwright desk hooks.toml

It is the page that `batchwright page` writes. Every value of the file is a field, and what is a number or a range can be dragged. \
While you drag, the answer is made from fewer trials and says from how many. When you stop, it is what the command of that name says. \
A fault is shown at its field, with its cure.

Saving puts the changed values into the file and leaves every other byte as it is, comments too. Nothing else is ever written, \
and nothing if something else has changed the file meanwhile.

The page is for you alone: the address lets in the browser that opens it first, and nobody else on this machine. It is \
served at 127.0.0.1 and loads nothing from elsewhere. Ctrl-C ends it.

Exit code 0: ended. 2: the file or a flag is wrong. 1: the file cannot be read, the port is taken, or there is no page to show.")]
pub(super) struct DeskCommand {
    /// The scenario
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Port of the address; 0 takes a free one
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
    /// The page to show, as `batchwright page` wrote it [default: the one in this program]
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
}

pub(super) fn run(command: &DeskCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    if command.file == Path::new("-") {
        return Err(Stop::Wrote(
            "batchwright: desk writes into the file it shows, and standard input cannot be written to; name a file"
                .to_owned(),
        ));
    }
    let source = Source::load(&command.file)?;
    // A scenario with faults can be mended in the page; what is no text at all cannot be shown there.
    if std::str::from_utf8(source.bytes()).is_err() {
        source.read(&[], streams.screen)?;
    }
    let page = page::built(command.page.as_deref())?;
    let taken = |error: &std::io::Error| {
        Stop::Refused(format!(
            "cannot serve at 127.0.0.1, port {}: {}; without --port a free one is taken",
            command.port,
            reason(error)
        ))
    };
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, command.port)).map_err(|error| taken(&error))?;
    let port = listener.local_addr().map_err(|error| taken(&error))?.port();
    let desk = Desk::new(&command.file, port, page).map_err(Stop::Refused)?;
    if let Err(Failed::Refused(why)) = Destination::open(&command.file) {
        streams.remark(&format!("batchwright: {why}: it can be looked at, and not saved"));
    }
    streams.answer(&format!(
        "{} is at\n\n  {}\n\nOpen it in a browser on this machine; it lets in one browser, once. Ctrl-C ends it; nothing is \
         written until you save.\n",
        source.name(),
        desk.address()
    ))?;
    until_told(listener, desk).map_err(|error| Stop::Refused(format!("the page ended: {}", reason(&error))))?;
    streams.remark("ended");
    Ok(())
}
