//! Figures of outside tools: a browser, Python packages, shells.

#![cfg(feature = "outside")]
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod calibrate;
mod doubt;
mod extracts;
mod gpx;
mod html;
mod map_files;
mod tabs;
