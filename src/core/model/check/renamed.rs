//! Keys that had another name before, so that an older file is refused with the name to write.

/// The object that a key belongs to, its former name and its name now; relative to the trip where the key moved.
const RENAMED: [(&str, &str, &str); 13] = [
    ("/rules", "confidence", "success_target"),
    ("/rules", "doubtful_stops", "unconfirmed_stops"),
    ("/rules", "most_spare_l", "most_in_cans_l"),
    ("/rules/reserve", "percent", "/rules/contingency_percent"),
    ("/load", "crew", "people"),
    ("/load", "items", "gear"),
    ("/vehicle", "base_l_per_100km", "baseline_l_per_100km"),
    ("/vehicle", "base_speed_kmh", "baseline_speed_kmh"),
    ("/vehicle", "base_from", "baseline_from"),
    ("/vehicle", "base_condition", "baseline_conditions"),
    ("/vehicle", "fitted", "calibration"),
    ("/vehicle/calibration", "ways", "predictions"),
    ("/log/*", "node", "place_number"),
];

/// The name that `key` of the object at `path` has now; `None` if it never had another.
pub(super) fn renamed(path: &str, key: &str) -> Option<&'static str> {
    RENAMED
        .iter()
        .find(|(of, old, _)| *of == path && *old == key)
        .map(|(_, _, now)| *now)
}
