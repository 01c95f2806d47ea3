//! The fuel that a leg needs: tractive forces, the engine, and the causes that make a leg need more or less.
//!
//! Energy at the wheels (rolling, air, unsteadiness, slope), an engine by the published extended Willans line,
//! and one factor k that scales the result to the vehicle's baseline consumption. The tables that it uses are in
//! [`surface`] (rolling resistance, speed), `tyres`, `air` and [`engine`]; their uncertainty is in [`spread`].
//! [`leg::Formula`] is the vehicle's side, [`leg::LegFormula`] one leg put to it; [`usage::Usage`] is the leg reduced
//! to what the plan needs.
//!
//! Left out: trailers, hills shorter than a mean grade can show, queues in towns.

pub mod air;
pub(crate) mod base;
pub mod causes;
mod drive;
pub mod engine;
pub mod leg;
pub mod response;
pub(crate) mod shapley;
pub mod spread;
pub mod surface;
pub mod terrain;
pub(crate) mod tyres;
pub mod usage;
pub mod working;
