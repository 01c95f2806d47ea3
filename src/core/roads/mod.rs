//! Roads from map data: what the tags of a way mean, and which surfaces a track was driven on.
//!
//! Nothing here opens a file: `io::osm` reads an extract into a [`Network`], [`matching`] finds the probability of each
//! [`Ground`] along a track, and [`along`] sums it up over a part of the track.

pub mod along;
pub mod matching;
pub mod network;
mod shortest;
pub mod tags;

pub use along::{Along, Summary};
pub use network::{FuelObject, Network};
pub use tags::{Ground, WayTags};
