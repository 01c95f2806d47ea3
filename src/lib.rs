//! Plans the fuel, the load and the route of a multi-day overland trip in a small 4x4.
//!
//! Each module uses only those above it; [`io`], [`report`] and [`tui`] do not use one another:
//!
//! - [`platform`]: the kind of operating system
//! - [`quantity`]: units and their arithmetic
//! - [`model`]: the trip file as types, its fields, checks and changes
//! - [`roads`]: ways of a map, and which of them a track follows
//! - [`consumption`]: the litres of a leg and their causes; rolling resistance is in [`consumption::surface`]
//! - [`calibrate`]: calibration factors from fill-ups
//! - [`solver`]: litres required at each place, sets of cans, mass, turn-back points
//! - [`doubt`]: the simulation of the uncertain inputs
//! - [`plan`]: a trip and everything that follows from it
//! - [`present`]: words, tables and drawings of a plan
//! - [`io`], [`report`], [`tui`]: files, printed reports, the screen
//! - [`cli`]: the commands
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

pub use drystage_core::{
    calibrate, consumption, doubt, model, plan, platform, quantity, roads, solver,
};

pub mod cli;
pub mod io;
pub mod present;
pub mod report;
pub mod tui;
