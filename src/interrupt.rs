//! A signal that ends the program while a passing file lies beside its place: the file is taken away first.
//!
//! A signal ends a process where it stands, and what tidies up behind a file is not run. So from the first passing file on a thread of its own
//! waits for the signals that end a program. No passing file is made before they are waited for, and what has been moved to its place is no
//! longer there to be taken away.

use std::io;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, Once, PoisonError, mpsc};

use tempfile::NamedTempFile;

static PASSING: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());
static WATCH: Once = Once::new();
static ELSEWHERE: AtomicBool = AtomicBool::new(false);

/// Whoever calls this ends the program by itself when told, and tidies up.
pub(crate) fn is_told_elsewhere() {
    ELSEWHERE.store(true, Ordering::Relaxed);
}

/// Makes a passing file that a signal does not leave behind.
pub(crate) fn passing(make: impl FnOnce() -> io::Result<NamedTempFile>) -> io::Result<NamedTempFile> {
    if !ELSEWHERE.load(Ordering::Relaxed) {
        WATCH.call_once(watch);
    }
    let mut passing = PASSING.lock().unwrap_or_else(PoisonError::into_inner);
    let file = make()?;
    passing.push(file.path().to_owned());
    Ok(file)
}

/// Starts to wait for the signals; best effort, as without a thread they do what they always do.
fn watch() {
    let (ready, began) = mpsc::channel();
    let thread = std::thread::Builder::new().name("interrupt".into());
    let started = thread.spawn(move || {
        let Ok(runtime) = tokio::runtime::Builder::new_current_thread().enable_all().build() else {
            return;
        };
        let told = runtime.block_on(async {
            let told = told();
            let _heard = ready.send(());
            told?.await
        });
        let Ok(code) = told else { return };
        // Held to the end, so that no other file is begun.
        let passing = PASSING.lock().unwrap_or_else(PoisonError::into_inner);
        for path in passing.iter() {
            let _gone = std::fs::remove_file(path);
        }
        std::process::exit(code);
    });
    if started.is_ok() {
        let _waits = began.recv();
    }
}

/// Waits from this call on until the program is told to end, and gives what a shell says of a program that the signal ended: 128 and the
/// signal's number, so 130 after Ctrl-C. A terminal that closes is not waited for, as waiting would end what `nohup` keeps alive.
///
/// # Errors
/// Where the system lets nobody wait for them.
#[cfg(unix)]
pub(crate) fn told() -> io::Result<impl Future<Output = io::Result<i32>>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut interrupted = signal(SignalKind::interrupt())?;
    let mut terminated = signal(SignalKind::terminate())?;
    Ok(async move {
        let kind = tokio::select! {
            _ = interrupted.recv() => SignalKind::interrupt(),
            _ = terminated.recv() => SignalKind::terminate(),
        };
        Ok(128 + kind.as_raw_value())
    })
}

/// Waits until Ctrl-C, and gives what a shell says of a program that it ended.
///
/// # Errors
/// Where the system lets nobody wait for it.
#[cfg(not(unix))]
pub(crate) fn told() -> io::Result<impl Future<Output = io::Result<i32>>> {
    Ok(async { tokio::signal::ctrl_c().await.map(|()| 130) })
}
