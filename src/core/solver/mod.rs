//! Pure functions from legs, stops and masses to the fuel plan.
//!
//! The solver knows places by number, legs by their [`Usage`](crate::consumption::usage::Usage), and nothing of
//! names or files. [`fuel`] calculates what is required where, [`cans`] which cans can be carried in which order of
//! preference, [`drive`] drives the trip forward with them, `run` holds what comes of that, [`least_cost`] where to buy
//! how much, `turn_back` finds the last points of return, [`load`] the masses, `axles` which of
//! them is on which axle.

pub(crate) mod axles;
pub mod cans;
pub mod carriage;
pub mod drive;
pub(crate) mod filling;
pub mod fuel;
pub mod least_cost;
pub mod load;
pub(crate) mod payload;
pub(crate) mod places;
pub(crate) mod run;
mod sharing;
pub mod sun;
pub(crate) mod turn_back;
