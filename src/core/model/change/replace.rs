//! The route replaced by another, as an edited table gives it: what-ifs and fuel readings follow their legs by name.

use std::collections::{HashMap, HashSet, VecDeque};

use serde_json::{Map, Value};

use super::fields::in_words_set;
use super::{Change, LEGS, Step};
use crate::model::Trip;
use crate::model::route::{Leg, Start};

/// A route in the place of the trip's: for each of its legs the old one that it continues.
#[derive(Clone, Debug)]
pub struct NewRoute {
    /// The place where the new route begins.
    start: Start,
    /// The legs in driving order.
    legs: Vec<Leg>,
    /// For each leg the index of the old one, if there is one.
    was: Vec<Option<usize>>,
}

impl NewRoute {
    /// Finds the old leg of each new one: the one between the same two places, otherwise one that leads to the same
    /// place. Of several, each is taken once, in driving order. A leg between the same places keeps what tables have no
    /// columns for.
    pub fn new(trip: &Trip, start: Start, mut legs: Vec<Leg>) -> Self {
        let mut was = vec![None; legs.len()];
        let mut is_free = vec![true; trip.legs.len()];
        for with_begin in [true, false] {
            let key = |start: &Start, legs: &[Leg], at: usize| {
                let begin = at
                    .checked_sub(1)
                    .map_or(&start.name, |before| &legs[before].to);
                (with_begin.then(|| begin.clone()), legs[at].to.clone())
            };
            let mut old: HashMap<_, VecDeque<usize>> = HashMap::new();
            for at in (0..trip.legs.len()).filter(|&at| is_free[at]) {
                let key = key(&trip.start, &trip.legs, at);
                old.entry(key).or_default().push_back(at);
            }
            for (at, was) in was.iter_mut().enumerate() {
                if was.is_none() {
                    let same = old.get_mut(&key(&start, &legs, at));
                    *was = same.and_then(VecDeque::pop_front);
                    if let Some(old) = *was {
                        is_free[old] = false;
                        if with_begin {
                            keep_unstated(&mut legs[at], &trip.legs[old]);
                        }
                    }
                }
            }
        }
        Self { start, legs, was }
    }

    /// The change that makes it the route of the trip.
    ///
    /// # Panics
    /// Never: a start has text keys and finite numbers only.
    pub fn change(&self, trip: &Trip, name: impl Into<String>) -> Change {
        let mut steps = Vec::new();
        if self.start != trip.start {
            let start = serde_json::to_value(&self.start).expect("text keys and finite numbers");
            steps.push(Step::set("/start", start));
        }
        // The old legs as they are after each step; first those go that have no successor.
        let mut now: Vec<usize> = (0..trip.legs.len()).collect();
        let kept = self.kept();
        for at in (0..now.len()).rev() {
            if !kept.contains(&now[at]) {
                now.remove(at);
                steps.push(Step::Remove {
                    list: LEGS.to_owned(),
                    at,
                    count: 1,
                });
            }
        }
        for (to, old) in self.was.iter().flatten().enumerate() {
            let from = now.iter().position(|other| other == old).unwrap_or(to);
            if from != to {
                now[to..=from].rotate_right(1);
                steps.push(Step::Move {
                    list: LEGS.to_owned(),
                    from,
                    count: 1,
                    to,
                });
            }
        }
        for (at, (leg, was)) in self.legs.iter().zip(&self.was).enumerate() {
            match was {
                None => steps.push(Step::InsertLegs {
                    at,
                    legs: vec![leg.clone()],
                }),
                Some(old) if trip.legs[*old] != *leg => steps.push(Step::ReplaceLeg {
                    at,
                    leg: Box::new(leg.clone()),
                }),
                Some(_) => {}
            }
        }
        Change {
            name: name.into(),
            steps,
        }
    }

    /// The old legs that have a successor.
    fn kept(&self) -> HashSet<usize> {
        self.was.iter().copied().flatten().collect()
    }

    /// Each difference to the trip's route in a line: `leg 4 to Dune Gate: distance 56 -> 60 km`.
    pub fn differences(&self, trip: &Trip) -> Vec<String> {
        let mut lines = Vec::new();
        let start = in_words(trip, "/start", &trip.start, &self.start);
        if !start.is_empty() {
            lines.push(format!("start: {}", start.join(", ")));
        }
        let kept = self.kept();
        for (old, leg) in trip.legs.iter().enumerate() {
            if !kept.contains(&old) {
                lines.push(format!("leg {} to {}: removed", old + 1, leg.to));
            }
        }
        let mut last = None;
        for (at, (leg, was)) in self.legs.iter().zip(&self.was).enumerate() {
            let title = format!("leg {} to {}", at + 1, leg.to);
            let Some(old) = *was else {
                lines.push(format!("{title}: new"));
                continue;
            };
            let mut words = Vec::new();
            if last > Some(old) {
                words.push(format!("moved, was leg {}", old + 1));
            }
            last = last.max(Some(old));
            words.extend(in_words(
                trip,
                &format!("{LEGS}/{old}"),
                &trip.legs[old],
                leg,
            ));
            if !words.is_empty() {
                lines.push(format!("{title}: {}", words.join(", ")));
            }
        }
        lines
    }

    /// How many legs have a track that the new route does not state.
    pub fn kept_tracks(&self, stated: &[Leg]) -> usize {
        let both = self.legs.iter().zip(stated);
        both.filter(|(leg, stated)| leg.track.is_some() && stated.track.is_none())
            .count()
    }
}

/// Gives a leg the track, the hazards and the source of the surface that it does not state.
fn keep_unstated(leg: &mut Leg, was: &Leg) {
    if leg.track.is_none() {
        leg.track.clone_from(&was.track);
    }
    if leg.hazards.is_none() {
        leg.hazards.clone_from(&was.hazards);
    }
    // A surface that was changed is not from where the old one was.
    if leg.surface == was.surface {
        leg.surface_from = leg.surface_from.or(was.surface_from);
        leg.surface_known_share = leg.surface_known_share.or(was.surface_known_share);
    }
}

/// What differs between two parts of a trip, the first of which is at a pointer.
pub(super) fn in_words<T: serde::Serialize>(
    trip: &Trip,
    at: &str,
    was: &T,
    now: &T,
) -> Vec<String> {
    let document = |part: &T| serde_json::to_value(part).unwrap_or_default();
    let (was, now) = (document(was), document(now));
    let mut words = Vec::new();
    compare(trip, at, &was, &now, &mut words);
    words
}

fn compare(trip: &Trip, at: &str, was: &Value, now: &Value, words: &mut Vec<String>) {
    let none = Map::new();
    let [old, new] = [was, now].map(|part| part.as_object().unwrap_or(&none));
    let gone = old.keys().filter(|key| !new.contains_key(*key));
    for key in gone.chain(new.keys()) {
        let at = format!("{at}/{key}");
        let (was, now) = (old.get(key), new.get(key));
        match (was, now) {
            _ if was == now => {}
            // A list of points cannot be read in a line.
            _ if key == "track" => words.push("track".to_owned()),
            (Some(was @ Value::Object(_)), Some(now @ Value::Object(_))) => {
                compare(trip, &at, was, now, words);
            }
            _ => words.push(in_words_set(trip, &at, now)),
        }
    }
}
