//! The model of a trip, its consumption, its simulation and its plan.

pub mod calibrate;
pub mod consumption;
pub mod doubt;
pub mod model;
pub mod plan;
pub mod platform;
pub mod quantity;
pub mod roads;
pub mod solver;
