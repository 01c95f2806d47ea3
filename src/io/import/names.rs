//! Names for places: one name for one place, however often it is met.

use std::collections::HashMap;

use crate::io::gpx::Words;
use crate::model::geodesic;
use crate::model::route::Position;
use crate::quantity::Metres;

/// Names that are given to places. Two places with one name are one place, so a name is given again
/// only where it is.
#[derive(Default)]
pub(super) struct Names {
    given: HashMap<String, Position>,
    order: Vec<String>,
}

/// The trip file lets one place have two positions that differ by 0.01°; with room for rounding.
fn is_same_place(a: Position, b: Position) -> bool {
    (a.lat - b.lat).get().abs() < 0.0099 && (a.lon - b.lon).get().abs() < 0.0099
}

impl Names {
    /// The name of a waypoint.
    pub(super) fn of_place(
        &mut self,
        words: &Words,
        at: Position,
        otherwise: impl FnOnce() -> String,
    ) -> String {
        let name = words.name.clone().unwrap_or_else(otherwise);
        self.unique(&name, at)
    }

    /// The name of an end of a line: its waypoint's, or that of a place already named nearby.
    pub(super) fn of_end(
        &mut self,
        words: Option<&Words>,
        at: Position,
        within: Metres,
        otherwise: impl FnOnce() -> String,
    ) -> String {
        if let Some(name) = words.and_then(|words| words.name.clone()) {
            return self.unique(&name, at);
        }
        let near = self.order.iter().find(|name| {
            let there = self.given[*name];
            is_same_place(there, at) && geodesic::distance(there, at) <= within
        });
        match near {
            Some(name) => name.clone(),
            None => self.unique(&otherwise(), at),
        }
    }

    /// The name itself, or with a number where it stands for another place already.
    pub(super) fn unique(&mut self, name: &str, at: Position) -> String {
        let mut candidate = name.to_owned();
        let mut number = 1_u32;
        loop {
            match self.given.get(&candidate) {
                None => {
                    self.given.insert(candidate.clone(), at);
                    self.order.push(candidate.clone());
                    return candidate;
                }
                Some(&there) if is_same_place(there, at) => return candidate,
                Some(_) => {
                    number += 1;
                    candidate = format!("{name} ({number})");
                }
            }
        }
    }
}
