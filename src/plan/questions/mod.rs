//! Questions to a plan that is laid out.

pub mod ahead;
mod can_lost;
pub mod difference;
mod dry_pair;
mod equal_time;
pub mod learn;
pub mod ledger;
pub mod others;
pub mod tipping;
pub mod ways;
