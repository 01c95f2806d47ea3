//! Files imported from a folder of their own.

use std::fs;
use std::path::PathBuf;

use drystage::io::import::{self, ImportError, Imported, Options};
use drystage::model::Trip;
use drystage::model::route::Leg;
use drystage::quantity::Kilometres;
use proptest::prelude::ProptestConfig;

/// The trip of files of these names and contents.
pub fn import(files: &[(&str, &[u8])], options: &Options) -> Result<Imported, ImportError> {
    let (_directory, paths) = written(files);
    import::import(&paths, options)
}

/// The files, in a folder that goes when its handle does.
pub fn written(files: &[(&str, &[u8])]) -> (tempfile::TempDir, Vec<PathBuf>) {
    let directory = tempfile::tempdir().unwrap();
    let paths = files
        .iter()
        .map(|(name, bytes)| {
            let path = directory.path().join(name);
            fs::write(&path, bytes).unwrap();
            path
        })
        .collect();
    (directory, paths)
}

/// The text in UTF-16, without a byte-order mark.
pub fn utf_16(text: &str, to_bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(to_bytes).collect()
}

/// Legs by place and kilometres.
pub fn legs(trip: &Trip) -> Vec<(&str, f64)> {
    let km = |leg: &Leg| leg.distance_km.map_or(f64::NAN, Kilometres::get);
    trip.legs
        .iter()
        .map(|leg| (leg.to.as_str(), km(leg)))
        .collect()
}

/// Random cases that once failed are kept in that file and tried first.
pub fn saved_under(name: &'static str) -> ProptestConfig {
    ProptestConfig {
        failure_persistence: Some(Box::new(
            proptest::test_runner::FileFailurePersistence::Direct(name),
        )),
        ..ProptestConfig::default()
    }
}
