//! One module per question: simulated runs in, figures with their errors out. Nothing here prints.

pub mod columns;
pub mod stats;
pub mod sweep;

/// How to simulate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Simulated runs of each size, at least 1.
    pub trials: u64,
    /// Go on until the asked floor's 95 % interval is at most this share of the floor, at every size.
    pub within: Option<f64>,
    /// Seed of every random stream.
    pub seed: u64,
    /// Threads; `None`: one for each core.
    pub threads: Option<usize>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            trials: 50_000,
            within: None,
            seed: 1,
            threads: None,
        }
    }
}

impl Settings {
    /// Runs `work` on as many threads as asked.
    ///
    /// Where the machine refuses the threads, the work is done on the common pool: the answer is the same.
    pub fn on_threads<R: Send>(&self, work: impl FnOnce() -> R + Send) -> R {
        let pool = self
            .threads
            .map(|n| rayon::ThreadPoolBuilder::new().num_threads(n).build());
        match pool {
            Some(Ok(pool)) => pool.install(work),
            _ => work(),
        }
    }
}
