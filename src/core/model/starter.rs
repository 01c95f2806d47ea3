//! The starter trip: a small invented trip, out and back, to be replaced.

use super::Trip;
use super::check;

/// The starter trip; its places have no coordinates, its vehicle is a placeholder.
///
/// # Panics
/// Never; a test reads it.
pub fn trip() -> Trip {
    let text = include_str!("starter.json");
    let document = serde_json::from_str(text).expect("the starter trip is JSON");
    check::read(document).expect("the starter trip is valid")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_starter_trip_is_valid_and_marked_as_one() {
        let trip = trip();
        assert!(trip.name.unwrap().contains("enter your own figures"));
        assert!(trip.vehicle.name.unwrap().contains("enter your own"));
    }
}
