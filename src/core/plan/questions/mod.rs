//! Questions to a plan that is laid out, each answered when it is first asked.

mod again;
pub mod ahead;
mod certain;
pub mod difference;
mod dry;
mod fixes;
mod learn;
mod ledger;
pub(crate) mod now;
pub(crate) mod odometer;
mod on_route;
mod others;
mod range;
mod range_left;
pub mod tipping;
