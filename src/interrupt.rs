//! Ctrl-C while a passing file lies beside its place: the file is taken away before the program ends.
//!
//! A signal ends a process where it stands, and what tidies up behind a file is not run. So from the first passing file on a thread of its own
//! waits for the signals that end a program. Nothing is named before it is known here, and what has been moved to its place is no longer there
//! to be taken away.

use std::io;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, Once, PoisonError, mpsc};

use tempfile::NamedTempFile;

/// What a shell calls a program that Ctrl-C ended.
const ENDED: i32 = 130;

static PASSING: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());
static WATCH: Once = Once::new();
static ELSEWHERE: AtomicBool = AtomicBool::new(false);

/// Whoever calls this ends the program by itself when told, and tidies up.
pub(crate) fn is_told_elsewhere() {
    ELSEWHERE.store(true, Ordering::Relaxed);
}

/// Makes a passing file that Ctrl-C does not leave behind.
pub(crate) fn passing(make: impl FnOnce() -> io::Result<NamedTempFile>) -> io::Result<NamedTempFile> {
    if !ELSEWHERE.load(Ordering::Relaxed) {
        WATCH.call_once(watch);
    }
    let mut passing = PASSING.lock().unwrap_or_else(PoisonError::into_inner);
    let file = make()?;
    passing.push(file.path().to_owned());
    Ok(file)
}

/// Starts to wait for the signals; best effort, as without a thread Ctrl-C does what it always does.
fn watch() {
    let (ready, began) = mpsc::channel();
    let thread = std::thread::Builder::new().name("interrupt".into());
    let started = thread.spawn(move || {
        let Ok(runtime) = tokio::runtime::Builder::new_current_thread().enable_all().build() else {
            return;
        };
        runtime.block_on(told(&ready));
        // Held to the end, so that no other file is begun.
        let passing = PASSING.lock().unwrap_or_else(PoisonError::into_inner);
        for path in passing.iter() {
            let _gone = std::fs::remove_file(path);
        }
        std::process::exit(ENDED);
    });
    if started.is_ok() {
        let _waits = began.recv();
    }
}

/// Returns when the program is told to end; says on `ready` when it would hear that.
#[cfg(unix)]
async fn told(ready: &mpsc::Sender<()>) {
    use tokio::signal::unix::{SignalKind, signal};
    let both = (signal(SignalKind::interrupt()), signal(SignalKind::terminate()));
    let _heard = ready.send(());
    let (Ok(mut interrupt), Ok(mut terminate)) = both else {
        return std::future::pending().await;
    };
    tokio::select! {
        _ = interrupt.recv() => {}
        _ = terminate.recv() => {}
    }
}

/// Returns when the program is told to end; says on `ready` when it would hear that.
#[cfg(not(unix))]
async fn told(ready: &mpsc::Sender<()>) {
    let _heard = ready.send(());
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending().await
    }
}
