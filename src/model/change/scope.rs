//! Which rules between fields a change can break: only those are looked at again.
//!
//! The rules that bind legs to one another (days in order, one pump for one place, a length that can be
//! measured) speak of few fields; a change of any other field of a leg can break only what holds within
//! that leg, and a change of the vehicle, the load or the rules no rule about legs. So a key that is typed
//! costs the same on a trip of ten legs and of a thousand.

use serde_json::{Map, Value, json};

use super::{LEGS, Step, WHAT_IFS};
use crate::model::Trip;
use crate::model::check::{self, Problem};
use crate::model::route::Leg;
use crate::model::track::Track;

/// The fields of a leg that rules hold against other legs or the log.
const BINDING: [&str; 6] = ["to", "day", "lat", "lon", "fuel", "track"];

/// What a change touches.
#[derive(Debug, Default)]
pub(super) struct Scope {
    /// Whether it may break what holds between legs, the start and the log.
    whole: bool,
    /// Legs of which it may break what holds within them.
    legs: Vec<usize>,
    /// Whether it touches the stored what-ifs.
    what_ifs: bool,
}

impl Scope {
    /// Adds what a step touches.
    pub(super) fn add(&mut self, step: &Step, changed: &Trip) {
        match step {
            Step::Set { at, to } => self.add_value(at, to.is_some(), changed),
            Step::Insert { list, .. }
            | Step::Remove { list, .. }
            | Step::Move { list, .. }
            | Step::Reverse { list }
                if list != LEGS =>
            {
                self.add_value(list, true, changed);
            }
            _ => self.whole = true,
        }
    }

    /// Adds a value that is set, or else cleared.
    pub(super) fn add_value(&mut self, at: &str, is_set: bool, changed: &Trip) {
        let mut steps = at.split('/').skip(1);
        match (
            steps.next(),
            steps.next().map(str::parse::<usize>),
            steps.next(),
        ) {
            (Some("legs"), Some(Ok(leg)), Some(field)) => {
                let has_length = is_set || field != "distance_km";
                if BINDING.contains(&field) || !has_length || leg >= changed.legs.len() {
                    self.whole = true;
                } else {
                    self.legs.push(leg);
                }
            }
            (Some("legs" | "start" | "log"), ..) => self.whole = true,
            (Some("what_ifs"), ..) => self.what_ifs = true,
            _ => {}
        }
    }

    /// Every problem that the change may have brought about.
    pub(super) fn problems(mut self, changed: &Trip) -> Vec<Problem> {
        if self.whole {
            return check::between(&skeleton(changed));
        }
        self.legs.sort_unstable();
        self.legs.dedup();
        let legs = self.legs.iter().map(|&leg| json!(bare(&changed.legs[leg])));
        let mut document = Map::new();
        document.insert("legs".to_owned(), legs.collect());
        document.insert("vehicle".to_owned(), json!(changed.vehicle));
        let mut add = |key: &str, part: Value| {
            if !part.is_null() {
                document.insert(key.to_owned(), part);
            }
        };
        add("load", json!(changed.load));
        add("rules", json!(changed.rules));
        if self.what_ifs {
            add(&WHAT_IFS[1..], json!(changed.what_ifs));
        }
        let found = check::between(&Value::Object(document));
        found
            .into_iter()
            .filter_map(|problem| self.renumbered(problem))
            .collect()
    }

    /// The problem with its leg's own number; nothing for one that the leg has only because it stands alone here.
    fn renumbered(&self, mut problem: Problem) -> Option<Problem> {
        let Some(rest) = problem.at.strip_prefix("/legs/") else {
            return Some(problem);
        };
        let (number, field) = rest.split_once('/')?;
        let leg = self.legs.get(number.parse::<usize>().ok()?)?;
        // That a leg can be measured was not touched.
        if field == "distance_km" {
            return None;
        }
        problem.at = format!("{LEGS}/{leg}/{field}");
        Some(problem)
    }
}

/// The trip as a document, without the points of its tracks: no rule between fields looks at them.
fn skeleton(trip: &Trip) -> Value {
    let mut bare_trip = trip.clone();
    for leg in &mut bare_trip.legs {
        if leg.track.is_some() {
            *leg = bare(leg);
        }
    }
    bare_trip.to_document()
}

fn bare(leg: &Leg) -> Leg {
    let track = leg.track.is_some().then(|| Track::File {
        path: "track".to_owned(),
        lines: None,
    });
    Leg {
        track,
        ..leg.clone()
    }
}
