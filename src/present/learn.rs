//! Calibration drives in words.

use super::number::{Toward, Units, odds};
use crate::plan::Plan;
use crate::plan::learn::{Kind, Lesson};
use crate::quantity::Litres;

/// A drive that reduces the fuel in cans by less is not worth it. Chosen, no source.
const WORTH: Litres = Litres::new(1.0);

/// A kind of driving in words, and by its key in JSON.
const fn driving(kind: Kind) -> [&'static str; 2] {
    match kind {
        Kind::Road => ["on sealed road, nothing on the roof", "road"],
        Kind::RoadWithRoof => [
            "on sealed road with the roof as it will be",
            "road_with_roof",
        ],
        Kind::Sand => ["on sand", "sand"],
        Kind::LowRange => ["in low range", "low_range"],
    }
}

/// JSON key of a kind of driving.
pub(crate) const fn key(kind: Kind) -> &'static str {
    let [_, key] = driving(kind);
    key
}

/// How the figures are meant.
const BASIS: &str = "Each figure is the mean over what such a drive may find. Fill to the brim where the surface begins and \
    where it ends. Driving elsewhere in the same interval is not counted and makes the result less exact.";

/// The drives that are worth it, each as a sentence, the most useful first, and how the figures are meant; or that none is.
/// Empty without a simulation.
pub fn sentences(plan: &Plan, units: Units) -> Vec<String> {
    let lessons = plan.lessons();
    if lessons.is_empty() {
        return Vec::new();
    }
    let worth = |lesson: &&Lesson| lesson.in_cans[0] - lesson.in_cans[1] >= WORTH;
    let mut drives: Vec<String> = lessons
        .iter()
        .filter(worth)
        .map(|lesson| sentence(plan, lesson, units))
        .collect();
    if drives.is_empty() {
        return vec![format!(
            "No drive before departure would reduce the fuel in cans by {} or more: the remaining uncertainty does not come from \
             the vehicle.",
            units.litres(WORTH)
        )];
    }
    drives.push(BASIS.to_owned());
    drives
}

fn sentence(plan: &Plan, lesson: &Lesson, units: Units) -> String {
    let success_target = plan.trip.rules().success_target();
    let [before, after] = lesson.in_cans;
    format!(
        "Drive {} brim to brim {} before departure. The fuel in cans for the {} target is then about {} instead of {}.",
        units.distance(lesson.distance, Toward::Nearest),
        driving(lesson.kind)[0],
        odds(success_target),
        units.fuel_tenths(after, Toward::Nearest),
        units.fuel_tenths(before, Toward::Up),
    )
}
