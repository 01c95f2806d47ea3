//! Files: the only modules that open, read and write them.

pub mod json;
mod layout;
pub mod save;
