//! Plans the fuel, the load and the route of a multi-day overland trip in a small 4x4.
//!
//! Modules, each using only those to its left:
//! `quantity <- model <- consumption <- solver <- plan <- present <- {io, report, tui} <- cli`.

pub mod cli;
pub mod consumption;
pub mod io;
pub mod model;
pub mod plan;
pub mod present;
pub mod quantity;
pub mod report;
pub mod solver;
pub mod tui;
