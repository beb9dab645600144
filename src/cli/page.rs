//! `page`: the whole program as a page for a browser, one file or a folder for a web host.

use std::borrow::Cow;
use std::path::{Path, PathBuf};

use clap::Args;

use super::{Stop, Streams, overwrite};
use crate::files::{self, Destination, reason, shown};
use crate::page::bench;

/// Writes the whole program as one page that any browser opens, without an install and without a network
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  One file, to open from the disk, to mail, or to put on a web host:
    batchwright page --out bench.html
  The same for browsers of 2021 and 2022, which lack vector instructions; answers take longer:
    batchwright page --for-old-browsers --out old.html
  A folder for a web host with both, of which each browser takes its own; a phone that opens it there can keep it, and it works without a network afterwards:
    batchwright page --out bench/

The page begins from nothing, opens and saves scenario files, answers every question with the same figures as the commands, gives \
out the report and the sheet for a buyer, and has a clock for the bench. What is typed into it stays on the device that shows it: it asks nothing of any server.

Some phones run no script of a file that lies on the phone; put the folder on a web host for those.

Exit code 0: done. 2: a flag is wrong. 1: the file cannot be written, or this program was built without the page.")]
pub(super) struct PageCommand {
    /// Where to write it: a file, or a folder where it ends in a slash
    #[arg(long, value_name = "FILE or FOLDER/")]
    out: PathBuf,
    /// Write the page for browsers of 2021 and 2022; a folder has it anyway
    #[arg(long)]
    for_old_browsers: bool,
    /// Replace files that are there already, whatever they are
    #[arg(long)]
    overwrite: bool,
}

pub(super) fn run(command: &PageCommand, streams: &mut Streams<'_>) -> Result<(), Stop> {
    let page = built(None)?;
    let plain = bench::PLAIN.unwrap_or_default();
    if !ends_in_slash(&command.out) && !command.out.is_dir() {
        let page = if command.for_old_browsers {
            bench::for_old_browsers(&page, plain).into()
        } else {
            page
        };
        put(&command.out, page.as_bytes(), command.overwrite)?;
        streams.remark(&format!("Wrote {}. Open it in a browser.", shown(&command.out)));
        return Ok(());
    }
    std::fs::create_dir_all(&command.out)
        .map_err(|error| Stop::Refused(format!("cannot make {}: {}", shown(&command.out), reason(&error))))?;
    for (name, bytes) in bench::folder(&page, plain) {
        put(&command.out.join(name), &bytes, command.overwrite)?;
    }
    streams.remark(&format!(
        "Wrote {}. Put the folder on a web host that serves it by https.",
        shown(&command.out)
    ));
    Ok(())
}

/// The page that was written to this file, or the one in this program.
pub(super) fn built(given: Option<&Path>) -> Result<Cow<'static, str>, Stop> {
    let Some(path) = given else {
        return bench::PAGE.map(Cow::Borrowed).ok_or_else(|| {
            Stop::Refused(
                "this program was built without the page. Build it with the page: run src/page/build.sh, set BATCHWRIGHT_PAGE to the file \
                 that it names, and run cargo build --release --features page. A page from elsewhere can be named too: \
                 batchwright desk hooks.toml --page bench.html"
                    .to_owned(),
            )
        });
    };
    let name = shown(path);
    let bytes = files::load(path).map_err(|error| Stop::Refused(format!("cannot read {name}: {}", reason(&error))))?;
    let page = String::from_utf8(bytes).ok().filter(|page| bench::is_ours(page));
    page.map(Cow::Owned).ok_or_else(|| {
        Stop::Wrote(format!(
            "batchwright: --page {name}: this is no page that `batchwright page --out FILE` wrote; name one that is"
        ))
    })
}

fn ends_in_slash(path: &Path) -> bool {
    path.as_os_str()
        .as_encoded_bytes()
        .last()
        .is_some_and(|end| std::path::is_separator(char::from(*end)))
}

fn put(path: &Path, bytes: &[u8], overwrite: bool) -> Result<(), Stop> {
    let place = Destination::open(path)?;
    overwrite::inputs_stay("--out", &place, overwrite)?;
    overwrite::others_stay("--out", &place, overwrite, bytes)?;
    place.stage(bytes)?.place()?;
    Ok(())
}
