//! Names for places: one name for one place, however often it is met.

use std::collections::{HashMap, HashSet};

use crate::io::reading::Words;
use crate::model::geodesic;
use crate::model::route::Position;
use crate::quantity::Metres;

/// Names that are given to places. Two places with one name are one place, so a name is given again
/// only where it is.
#[derive(Default)]
pub(super) struct Names {
    /// For each name that was asked for, the names that were given instead and where they are, and the number that
    /// the last of them has.
    given: HashMap<String, (Vec<(String, Position)>, usize)>,
    all: HashSet<String>,
    places: Vec<(String, Position)>,
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
        let near = self.places.iter().find(|(_, there)| {
            is_same_place(*there, at) && geodesic::distance(*there, at) <= within
        });
        match near {
            Some((name, _)) => name.clone(),
            None => self.unique(&otherwise(), at),
        }
    }

    /// The name itself, or with a number where it represents another place already.
    pub(super) fn unique(&mut self, name: &str, at: Position) -> String {
        let (given, number) = self.given.entry(name.to_owned()).or_default();
        if let Some((known, _)) = given.iter().find(|(_, there)| is_same_place(*there, at)) {
            return known.clone();
        }
        let free = loop {
            *number += 1;
            let candidate = match *number {
                1 => name.to_owned(),
                number => format!("{name} ({number})"),
            };
            if self.all.insert(candidate.clone()) {
                break candidate;
            }
        };
        given.push((free.clone(), at));
        self.places.push((free.clone(), at));
        free
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Degrees;

    #[test]
    fn one_name_is_one_place() {
        let at = |lat: f64| Position {
            lat: Degrees::new(lat),
            lon: Degrees::new(-130.0),
        };
        let mut names = Names::default();
        assert_eq!(names.unique("Camp (2)", at(-40.0)), "Camp (2)");
        assert_eq!(names.unique("Camp", at(-48.0)), "Camp");
        assert_eq!(names.unique("Camp", at(-48.001)), "Camp");
        assert_eq!(names.unique("Camp", at(-49.0)), "Camp (3)");
        assert_eq!(names.unique("Camp", at(-49.0)), "Camp (3)");
        let near = names.of_end(None, at(-49.001), Metres::new(250.0), || "end".to_owned());
        assert_eq!(near, "Camp (3)");
        let far = names.of_end(None, at(-49.005), Metres::new(250.0), || "end".to_owned());
        assert_eq!(far, "end");
    }
}
