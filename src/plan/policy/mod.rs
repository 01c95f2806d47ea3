//! What a plan relies on and holds back, and the instructions that follow from it.

pub(in crate::plan) mod cheapest;
pub(in crate::plan) mod target;
