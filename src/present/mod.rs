//! How a plan is worded, tabulated and drawn, wherever it is shown.
//!
//! Screen, text and every other report take numbers, sentences and columns from here, so that the
//! same thing reads the same everywhere. Nothing is computed but the rounding.

pub mod axis;
pub mod behind;
pub mod card;
mod carrying;
pub mod caution;
pub mod columns;
pub mod compare;
pub mod day;
pub mod dial;
pub mod dry;
pub mod entry;
pub mod finding;
pub mod fit;
pub mod heights;
pub mod learn;
pub mod ledger;
pub mod leg_table;
pub mod load;
mod lowest;
pub mod map;
pub mod margin;
pub mod mark;
pub mod name;
pub mod number;
pub mod odds;
mod relied;
pub mod story;
pub mod strip;
pub mod verdict;
pub mod way;
pub mod ways;
pub mod why;
pub mod words;
