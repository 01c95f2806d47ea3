//! How sure a plan is: its trip driven thousands of times, each time with other draws of what is not known.
//!
//! Every draw comes from a counter (seed, source, leg, block), so an answer is the same on any number of threads and
//! does not move when something else is drawn besides. Samples are worked on in blocks. `draw` makes the numbers,
//! `world` turns them into what each leg takes, `required` solves backwards what a sample needs, `driven` drives it
//! forward under the printed instructions, `returns` calculates what going back takes and `homeward` from where it can
//! be done, `tally` counts, `study` puts all of it together, `drivers` holds one unknown after the other.
//!
//! Left out: bad luck that is no matter of fuel (breakdowns, leaks, closed roads), and what a driver would learn on
//! the way and act upon; the instructions are fixed before the start.

pub(crate) mod arrivals;
pub mod checks;
mod draw;
pub mod driven;
pub(crate) mod drivers;
pub(crate) mod homeward;
pub(crate) mod range_left;
pub(crate) mod required;
pub(crate) mod returns;
mod scaled;
pub(crate) mod sharing;
pub mod study;
pub(crate) mod tally;
pub(crate) mod thirst;
pub(crate) mod threads;
pub mod vehicle;
pub mod world;

/// Samples in one block.
pub const BLOCK: usize = 256;

/// One number for each sample of a block.
pub(crate) type Lane = [f64; BLOCK];

#[cfg(test)]
mod tanks;
