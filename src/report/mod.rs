//! A plan as text to read, or as data to work with; words and columns come from `present`.

pub mod compare;
pub mod json;
mod page;
pub mod text;
pub mod work;
