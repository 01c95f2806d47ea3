//! The terminal is taken and given back: the program runs in a pseudo-terminal, and what it writes
//! is read as a terminal reads it.

#![cfg(unix)]
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod faults;
#[path = "../faults/faulty.rs"]
#[expect(dead_code, reason = "the rest is for the tests beside it")]
mod faulty;
mod input;
mod laid_out;
mod opening;
mod painting;
mod place;
mod session;
mod unsaved;
mod ways_out;
