//! What the questions to a plan are answered with.

pub mod dry;
