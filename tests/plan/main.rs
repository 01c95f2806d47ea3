//! What a plan says, held against figures in print, problems solved by hand, brute force, a linear program and laws.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

#[path = "../common/kept.rs"]
mod kept;
#[path = "../common/legal.rs"]
mod legal;
#[path = "../common/linear_program.rs"]
mod linear_program;
#[path = "../common/wishes.rs"]
mod wishes;

mod changes;
mod daylight;
mod doubt;
mod doubt_enumeration;
mod dry_stops;
mod extremes;
mod findings;
mod fixes;
mod laws;
mod learn;
mod least_cost;
mod limits;
mod optimum;
mod physics;
mod range;
mod response;
mod samples;
mod sliders;
mod worked_example;

/// 2,048 simulated trips, on one thread.
const EFFORT: drystage::plan::Effort = drystage::plan::Effort {
    blocks: 8,
    threads: std::num::NonZeroUsize::MIN,
};
