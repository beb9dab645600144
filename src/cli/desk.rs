//! `desk`: the local page.

use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};

use clap::Args;

use super::input::Source;
use super::{Stop, Streams, page};
use crate::desk::{Desk, until_told};
use crate::files::{Destination, Failed, reason};
use crate::hash::fnv1a;

/// Shows the scenario as a page in the browser, where you change it and see the answer change
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  Print an address to open in a browser on this machine:
    batchwright desk hooks.toml
  At a port that you choose:
    batchwright desk hooks.toml --port 8417
  From nothing:
    batchwright new batch --out hooks.toml && batchwright desk hooks.toml

It is the page that `batchwright page` writes. Every value of the file is a field, and what is a number or a range can be dragged. \
While you drag, the answer is made from fewer trials and says from how many. When you stop, it is what the command of that name says. \
A fault is shown at its field, with its cure.

Saving puts the changed values into the file and leaves every other byte as it is, comments too. Nothing else is ever written, \
and nothing if something else has changed the file meanwhile. Logs, and other products on the shelf, are kept by the browser for \
the address, which is the same at every start with the same file.

The page is for you alone: the address lets in the browser that opens it first, and nobody else on this machine. It is \
served at 127.0.0.1 and loads nothing from elsewhere. Ctrl-C ends it.

Exit code 0: ended. 2: the file or a flag is wrong. 1: the file cannot be read, the port is taken, or there is no page to show.")]
pub(super) struct DeskCommand {
    /// The scenario
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Port of the address; 0 takes a free one [default: the same one whenever the file is the same]
    #[arg(long, value_name = "N")]
    port: Option<u16>,
    /// The page to show, as `batchwright page` wrote it [default: the one in this program]
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
}

/// Where no port is chosen, the file's own: a browser keeps logs and the rest of the shelf by address, and finds them again there.
fn listener(command: &DeskCommand, streams: &mut Streams<'_>) -> Result<TcpListener, Stop> {
    let listen = |port| TcpListener::bind((Ipv4Addr::LOCALHOST, port)).map_err(|error| no_port(port, &error));
    if let Some(port) = command.port {
        return listen(port);
    }
    let own = port_of(&command.file);
    listen(own).or_else(|_| {
        streams.remark(&format!(
            "batchwright: port {own}, where the page of this file stands, is taken, perhaps by that very page. What the browser keeps \
             there, your logs among it, is not seen at another port"
        ));
        listen(0)
    })
}

fn no_port(port: u16, error: &std::io::Error) -> Stop {
    Stop::Refused(format!(
        "cannot serve at 127.0.0.1, port {port}: {}; without --port a free one is taken",
        reason(error)
    ))
}

/// The same for the same file, among the ports that are given to nobody (RFC 6335, section 6: 49152 to 65535).
fn port_of(file: &Path) -> u16 {
    const OFFSET: u64 = 49_152;
    let path = std::fs::canonicalize(file).unwrap_or_else(|_| file.to_owned());
    let spread = fnv1a(path.as_os_str().as_encoded_bytes());
    u16::try_from(OFFSET + spread % (65_536 - OFFSET)).expect("below 65,536")
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
    let listener = listener(command, streams)?;
    let port = listener.local_addr().map_err(|error| no_port(0, &error))?.port();
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
