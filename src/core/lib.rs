//! What plans a trip: its model, its consumption, its simulation and its plan.
//!
//! The package `drystage` passes these modules on; its front page lists what each is for.

pub mod calibrate;
pub mod consumption;
pub mod doubt;
pub mod model;
pub mod plan;
pub mod platform;
pub mod quantity;
pub mod roads;
pub mod solver;
