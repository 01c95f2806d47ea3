//! What a plan consists of.

pub mod doubt;
pub mod finding;
pub mod supplies;
