//! Trips under way: what the trip log says of the legs already driven, what is planned from there, whether to continue
//! or to turn back, and the return.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod as_planned;
mod log;
mod returning;
#[path = "../forward/trips.rs"]
mod trips;
