//! Litres on one leg.

pub mod causes;
