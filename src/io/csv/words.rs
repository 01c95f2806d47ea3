//! Words that people write into tables for those of the trip file.

use super::cell::CellError;
use crate::model::vocabulary::Surface;

/// Common names of surfaces that have one meaning.
const SURFACES: [(Surface, &[&str]); 7] = [
    (
        Surface::Sealed,
        &[
            "asphalt", "bitumen", "blacktop", "concrete", "paved", "tar", "tarmac",
        ],
    ),
    (Surface::Gravel, &["gravel road", "graded gravel"]),
    (
        Surface::Corrugated,
        &["corrugation", "corrugations", "washboard"],
    ),
    (Surface::Earth, &["dirt", "dirt road", "dirt track", "soil"]),
    (Surface::Rock, &["rocks", "rocky", "stony"]),
    (Surface::Mud, &["muddy"]),
    (Surface::Salt, &["salt flat", "salt lake", "salt pan"]),
];
/// Names of surfaces that have no meaning here or several, and what to write.
const UNCLEAR: [(&[&str], &str); 3] = [
    (
        &["sand", "sandy", "soft sand"],
        "sand is a share of the leg: set sand_share, and here the surface of the rest",
    ),
    (
        &["dune", "dunes"],
        "dunes are a share of the leg: set dune_share, and here the surface of the rest",
    ),
    (
        &[
            "unpaved",
            "unsealed",
            "unsurfaced",
            "off-road",
            "offroad",
            "piste",
            "track",
        ],
        "write which: gravel, corrugated, earth or rock",
    ),
];

/// The surface of a common name.
pub(super) fn surface(word: &str) -> Option<Surface> {
    let known = SURFACES.iter().find(|(_, words)| words.contains(&word));
    known.map(|(surface, _)| *surface)
}

/// What to write instead of a name that has no meaning here or several; empty for any other word.
pub(super) fn advice_on_surface(word: &str) -> String {
    let known = UNCLEAR.iter().find(|(words, _)| words.contains(&word));
    known.map_or_else(String::new, |(_, advice)| format!(" ({advice})"))
}

/// The answer to a question.
pub(super) fn answer(cell: &str, got: String) -> Result<bool, CellError> {
    match cell.to_ascii_lowercase().as_str() {
        "yes" | "y" | "true" | "1" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        // A cross ticks a box in one list and crosses it out in another.
        "x" => Err(CellError::Cross(got)),
        _ => Err(CellError::YesNo(got)),
    }
}
