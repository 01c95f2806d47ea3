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
mod on_route;
mod others;
pub mod tipping;
