//! The program as it is called: arguments, streams, exit status, preferences, and the README.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod calibrate;
mod cli;
mod preferences;
mod program;
mod range;
mod readme;
mod terrain;
