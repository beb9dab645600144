//! A progress bar for work that takes more than a second while a person is watching.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work shorter than this shows no bar.
const PATIENCE: Duration = Duration::from_secs(1);

/// Steps of a full bar.
const STEPS: u64 = 1_000;

/// A bar that stays hidden until the work has taken a second.
pub(super) struct Progress {
    bar: ProgressBar,
    start: Instant,
    shown: AtomicBool,
    watched: bool,
}

impl Progress {
    /// `watched`: whether a person looks at standard error.
    pub(super) fn new(watched: bool) -> Self {
        let bar = ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template("simulating {bar:40} {percent} %, {eta} left") {
            bar.set_style(style.progress_chars("=> "));
        }
        Self {
            bar,
            start: Instant::now(),
            shown: AtomicBool::new(false),
            watched,
        }
    }

    /// This share of the work is done; may be called from any thread.
    pub(super) fn tell(&self, done: f64) {
        if !self.watched || self.start.elapsed() < PATIENCE {
            return;
        }
        if !self.shown.swap(true, Ordering::Relaxed) {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        // Out of order from several threads, and starting anew where an asked precision needs more trials.
        self.bar.set_position((done.clamp(0.0, 1.0) * STEPS as f64) as u64);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
