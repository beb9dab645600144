//! The local page: one scenario in the browser, edited and answered as it changes, over loopback only.
//!
//! The page holds the text as it was loaded and what was typed into it since; every request brings both, so the server keeps
//! nothing of the work but its file's name. `guard` lets in the page and nobody else, `ask` has
//! the questions, `keep` the file, `serve` the routes. The page itself is in `page/`.
//!
//! Only the file named at the start is ever written, and only when asked to save.
//!
//! # Why the page sends its whole text with each question
//!
//! The server keeps nothing of the work, tabs do not disturb each other, and "has the file changed" is a comparison of bytes. Quick
//! answers have a number of trials that holds while the hand moves, and the seed of the full ones: what moves is the change, not luck. A
//! quick request waits for the one before, since sixty a second would each cancel the last. Full answers have threads of their own, so
//! that a quick one does not queue behind them.

mod depth;
mod guard;
mod keep;
mod serve;

pub use serve::Desk;
#[cfg(feature = "cli")]
pub use serve::until_told;
