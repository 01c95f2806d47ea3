//! Plans the fuel, the load and the route of a multi-day overland trip in a small 4x4.
//!
//! Modules, each using only those to its left:
//! `quantity <- model <- consumption <- fit <- solver <- doubt <- plan <- present <- {io, report, tui} <- cli`.
//!
//! ```
//! use drystage::{io::json, plan::Plan, plan::Verdict};
//!
//! let trip = json::parse(include_bytes!("../sample-routes/long-dry-stage.json"))?;
//! let plan = Plan::best_estimate(trip);
//! assert_eq!(plan.verdict(), Verdict::Overloaded);
//! for leg in &plan.legs {
//!     println!("{} to {}: {:.1} L", leg.from, leg.to, leg.fuel.get());
//! }
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod calibrate;
pub mod cli;
pub mod consumption;
pub mod doubt;
pub mod io;
pub mod model;
pub mod plan;
pub mod present;
pub mod quantity;
pub mod report;
pub mod solver;
pub mod tui;
