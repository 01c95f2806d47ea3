//! A forward simulation of trips under printed instructions, written apart from the planner, and the laws that the
//! printed figures keep in it.
//!
//! The instructions come from the JSON report alone, as the driver has them on paper. The litres come from the formula
//! of consumption. The draws, the driving, the filling, the decanting and the returning are this folder's own: nothing
//! of the planner's solver or simulation is used, so a mistake there is not made here too.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod draws;
mod drive;
mod ground;
mod instructions;
mod laws;
mod shares;
mod surfaces;
mod trips;
mod validation;
