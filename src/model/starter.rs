//! The trip that a new one begins as: an invented way out and back, small, sound, and to be replaced.

use super::Trip;
use super::check;

/// A pattern of a trip; its places have no positions, its vehicle is marked as unknown.
///
/// # Panics
/// Never; a test reads it.
pub fn trip() -> Trip {
    let text = include_str!("starter.json");
    let document = serde_json::from_str(text).expect("the pattern is JSON");
    check::read(document).expect("the pattern keeps the rules of a trip")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pattern_can_be_planned_and_says_that_it_is_one() {
        let trip = trip();
        assert!(trip.name.unwrap().contains("put your own figures in"));
        assert!(trip.vehicle.name.unwrap().contains("state yours"));
    }
}
