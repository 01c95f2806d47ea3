//! Files that are read and written: trips, tracks, tables, map files, and those that may hold anything.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

#[path = "../common/drawn_routes.rs"]
mod drawn_routes;
#[path = "../common/extract.rs"]
mod extract;
#[path = "../common/imported.rs"]
mod imported;
#[path = "../common/kept.rs"]
mod kept;
#[path = "../common/legal.rs"]
mod legal;
#[path = "../common/tiles.rs"]
mod tiles;
#[path = "../common/tracks.rs"]
mod tracks;

mod heights;
mod import;
mod import_geojson;
mod import_way;
mod leg_table;
mod map_files;
mod map_sample;
mod maps;
mod odd_inputs;
mod trip_file;
