//! Files: the only modules that open, read and write them.

pub mod csv;
pub mod disk;
pub(crate) mod folders;
pub mod geojson;
pub mod gpx;
pub mod heights;
pub mod import;
pub mod journal;
pub mod json;
mod layout;
pub(crate) mod moment;
pub mod osm;
mod places;
pub mod reading;
pub(crate) mod reason;
pub mod save;
pub mod terrain;
pub mod text;
pub mod tracks;
