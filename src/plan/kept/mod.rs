//! What is kept of a solved trip for the questions to its plan.

pub(in crate::plan) mod what_if_dry;
