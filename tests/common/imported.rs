//! Files imported from a folder of their own.

use std::fs;
use std::path::PathBuf;

use drystage::io::import::{self, ImportError, Imported, Options};
use drystage::model::Trip;
use drystage::model::route::Leg;
use drystage::quantity::Kilometres;

/// The trip of files of these names and contents.
pub fn import(files: &[(&str, &[u8])], options: &Options) -> Result<Imported, ImportError> {
    let (_directory, paths) = written(files);
    import::import(&paths, options)
}

/// The trip of one file.
#[track_caller]
pub fn trip_of(name: &str, bytes: &(impl AsRef<[u8]> + ?Sized)) -> Trip {
    let imported = import(&[(name, bytes.as_ref())], &Options::default());
    imported.unwrap().trip
}

/// Why one file is refused.
#[track_caller]
pub fn refusal(name: &str, bytes: &(impl AsRef<[u8]> + ?Sized)) -> String {
    let imported = import(&[(name, bytes.as_ref())], &Options::default());
    imported.unwrap_err().to_string()
}

/// The note with that part.
#[track_caller]
pub fn note<'a>(imported: &'a Imported, part: &str) -> &'a str {
    let found = imported.notes.iter().find(|note| note.contains(part));
    found.unwrap_or_else(|| panic!("{part}: {:?}", imported.notes))
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

/// The places where legs end.
pub fn places(trip: &Trip) -> Vec<&str> {
    trip.legs.iter().map(|leg| leg.to.as_str()).collect()
}

/// Legs by place and kilometres.
pub fn legs(trip: &Trip) -> Vec<(&str, f64)> {
    let km = |leg: &Leg| leg.distance_km.map_or(f64::NAN, Kilometres::get);
    trip.legs
        .iter()
        .map(|leg| (leg.to.as_str(), km(leg)))
        .collect()
}
