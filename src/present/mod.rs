//! How a plan is worded, tabulated and drawn, wherever it is shown.
//!
//! Screen, text and every other report take numbers, sentences and columns from here, so that the
//! same thing reads the same everywhere. Nothing is computed but the rounding.

pub(crate) mod actions;
pub(crate) mod answer_notes;
pub mod answers;
pub(crate) mod axis;
pub mod calibration;
pub mod card;
mod carrying;
pub mod caution;
pub(crate) mod columns;
pub(crate) mod compare;
pub mod day;
pub(crate) mod daylight;
pub(crate) mod dry;
pub(crate) mod entry;
pub mod finding;
pub mod fixes;
pub(crate) mod ground;
pub(crate) mod heights;
pub(crate) mod home;
pub mod learn;
pub(crate) mod ledger;
pub mod leg_table;
mod levels;
pub(crate) mod load;
pub(crate) mod map;
pub mod margin;
pub(crate) mod mark;
pub mod name;
pub mod number;
pub(crate) mod odds;
pub(crate) mod payload;
pub(crate) mod range;
mod relied;
pub(crate) mod route_line;
pub(crate) mod slider;
pub(crate) mod speeds;
pub(crate) mod story;
pub mod strip;
pub mod under_way;
pub mod verdict;
pub(crate) mod why;
pub(crate) mod words;
