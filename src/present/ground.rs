//! Grounds of a map in words.

use super::name::plain;
use super::number::percent;
use crate::model::route::Leg;
use crate::model::vocabulary::{Surface, SurfaceFrom};
use crate::plan::Plan;
use crate::roads::Ground;

/// A ground, as part of a list of distances: `12 km gravel`.
pub(crate) const fn in_words(ground: Ground) -> &'static str {
    match ground {
        Ground::Known(surface) => surface.word(),
        Ground::Sand => "sand",
        Ground::Firm => "sealed or gravel (track of grade 1)",
        Ground::Soft => "earth, perhaps soft (track of grade 4 or 5)",
        Ground::Untagged => "on ways without a surface",
        Ground::Unmapped => "on no mapped way",
    }
}

/// Heading of the lines.
pub(crate) const TITLE: &str = "Surfaces from a map";
/// What the lines mean.
pub(crate) const HOW_TO_READ: &str = "Matched to the ways of a map. The rest of each leg is on no mapped way, or on one \
                                      without a surface; the simulation varies it. The map's own errors are not included.";

/// Each leg whose surface comes from a map, with the share that is known.
pub(crate) fn lines(plan: &Plan) -> impl Iterator<Item = String> {
    let legs = plan.trip.legs.iter().enumerate();
    legs.filter_map(|(n, leg)| {
        let surface = leg.surface.map_or("no surface", Surface::word);
        let source = source(leg)?;
        Some(format!(
            "Leg {} to {}: {surface}, {source}",
            n + 1,
            plain(&leg.to)
        ))
    })
}

/// Where the surface of a leg comes from, if it is not the user's: `surface from the map, 94 % known`.
pub(crate) fn source(leg: &Leg) -> Option<String> {
    let map = match leg.surface_from? {
        SurfaceFrom::Own => return None,
        SurfaceFrom::Map => "the map",
        SurfaceFrom::InventedMap => "an invented map",
    };
    let known = percent(leg.surface_known_share());
    Some(format!("surface from {map}, {known} known"))
}
