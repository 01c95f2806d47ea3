//! The go/no-go card: what must be aboard at each place, and every fifty kilometres off the sealed road.
//!
//! The litres required on arrival and on departure are the decisions of the trip and work with no device.

use crate::model::vocabulary::Surface;
use crate::quantity::{Kilometres, Share};

use super::Decision;
use super::course::Course;

/// Off the sealed road the card has a line at least this often.
const STEP: Kilometres = Kilometres::new(50.0);
/// A mark nearer to a place than this is the place's own line.
const CLEAR: Kilometres = Kilometres::new(10.0);

impl Course<'_> {
    pub(super) fn decisions(&self) -> Vec<Decision> {
        let mut decisions = Vec::new();
        let mut unsealed_since = None;
        for (index, leg) in self.trip().legs.iter().enumerate() {
            if leg.surface() == Surface::Sealed {
                unsealed_since = None;
            } else {
                let since = *unsealed_since.get_or_insert(self.km[index]);
                decisions.extend(self.decisions_on(index, since));
            }
            if index + 1 < self.trip().legs.len() {
                decisions.push(self.decision_at(index + 1));
            }
        }
        decisions
    }

    fn decision_at(&self, node: usize) -> Decision {
        let need = &self.solution.need;
        let (arrival, departure) = (need.arrival[node], need.departure[node]);
        let pump = need.at_pump[node].is_some();
        let fills = pump && arrival < departure;
        Decision {
            node: Some(node),
            place: self.name(node),
            at_km: self.km[node],
            go_on: (departure.max(arrival) <= self.solution.full).then_some(departure.max(arrival)),
            fill_cans: fills.then_some(arrival),
            turn_back: arrival,
        }
    }

    /// The lines of the card on one unsealed leg, each fifty kilometres since the road was last sealed.
    fn decisions_on(&self, leg: usize, since: Kilometres) -> impl Iterator<Item = Decision> {
        let (from, to) = (self.km[leg], self.km[leg + 1]);
        let length = to - from;
        let usage = self.solution.problem.legs[leg];
        let first = ((from - since) / STEP).floor();
        (1..)
            .map(move |step| since + STEP * (first + f64::from(step)))
            .take_while(move |&at| at < to - CLEAR)
            .filter(move |&at| at > from + CLEAR)
            .map(move |at| {
                let rest = usage.part(Share::new((to - at) / length));
                let needed = rest.needed_for(
                    self.solution.need.arrival[leg + 1],
                    self.solution.problem.extra,
                );
                Decision {
                    node: None,
                    place: self.name(leg + 1),
                    at_km: at,
                    go_on: (needed <= self.solution.full).then_some(needed),
                    fill_cans: None,
                    turn_back: needed,
                }
            })
    }
}
