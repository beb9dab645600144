//! The page that any browser opens, given out over loopback for one scenario file: what is changed in it is saved into that file.
//!
//! The page computes by itself, in the browser; here its file is read and written. Every request brings the text as the page knows it, so
//! the server keeps nothing of the work but its file's name, tabs do not disturb each other, and "has the file changed" is a
//! comparison of bytes. `guard` lets in the page and nobody else, `keep` has the file, `serve` the routes.
//!
//! Only the file named at the start is ever written, and only when asked to save.

mod guard;
mod keep;
mod serve;

pub use serve::Desk;
#[cfg(feature = "cli")]
pub use serve::until_told;
