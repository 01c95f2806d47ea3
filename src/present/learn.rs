//! Words for what to learn of the vehicle first.

use super::number::{Toward, Units, percent};
use crate::plan::Plan;
use crate::plan::learn::{Kind, Lesson};
use crate::quantity::Litres;

/// What narrows the spare litres by less is not worth a drive. Chosen, no source.
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

/// What stands for a kind of driving in JSON.
pub(crate) const fn key(kind: Kind) -> &'static str {
    let [_, key] = driving(kind);
    key
}

/// How the figures are meant.
const BASIS: &str = "Figures are the mean over what such a drive may find, the tank filled to the brim where that ground \
    begins and where it ends: what the way there and back takes in the same fill is not counted, and blurs it.";

/// The drives that are worth it, each as a sentence, the most telling first, and how the figures are meant; that none is
/// where none is. Empty where nothing can be told.
pub fn sentences(plan: &Plan, units: Units) -> Vec<String> {
    let lessons = plan.lessons();
    if lessons.is_empty() {
        return Vec::new();
    }
    let worth = |lesson: &&Lesson| lesson.spare[0] - lesson.spare[1] >= WORTH;
    let mut told: Vec<String> = lessons
        .iter()
        .filter(worth)
        .map(|lesson| sentence(plan, lesson, units))
        .collect();
    if told.is_empty() {
        return vec![format!(
            "No drive before you go would narrow the spare litres by {}: they hang on other things than this vehicle.",
            units.litres(WORTH)
        )];
    }
    told.push(BASIS.to_owned());
    told
}

fn sentence(plan: &Plan, lesson: &Lesson, units: Units) -> String {
    let success_target = plan.trip.rules().success_target();
    let [before, after] = lesson.spare;
    format!(
        "{} brim to brim {} before you go: the {} spare from {} to about {}.",
        units.distance(lesson.distance, Toward::Nearest),
        driving(lesson.kind)[0],
        percent(success_target),
        units.litres(before).number,
        units.litres(after),
    )
}
