//! The go/no-go card: what must be aboard to go on and to go back, at each place and every fifty kilometres off the
//! sealed road.
//!
//! The litres required on arrival and on departure are the decisions of the trip and work with no device. What going
//! back takes is counted to the nearest sure pump *behind*, at a pump too: it may be dry.

use crate::model::vocabulary::Surface;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::turn_back::needed_back;

use super::course::Course;
use crate::plan::parts::card::{Decision, WayBack};

/// Off the sealed road the card has a line at least this often.
const STEP: Kilometres = Kilometres::new(50.0);
/// A mark nearer to a place than this is the place's own line.
const CLEAR: Kilometres = Kilometres::new(10.0);
/// All of a leg.
const WHOLE: Share = Share::new(1.0);

impl Course<'_> {
    pub(in crate::plan) fn decisions(&self) -> Vec<Decision> {
        let from = self.facts.from();
        let is_left = from < self.trip().legs.len();
        let is_under_way = self.facts.behind().is_some() && is_left;
        let mut decisions: Vec<Decision> = is_under_way
            .then(|| self.decision_here())
            .into_iter()
            .collect();
        let mut unsealed_since = None;
        for (index, leg) in self.trip().legs.iter().enumerate().skip(from) {
            if leg.surface() == Surface::Sealed {
                unsealed_since = None;
            } else {
                let since = *unsealed_since.get_or_insert(self.km[index]);
                decisions.extend(self.decisions_on(index, since));
            }
            if index + 1 < self.trip().legs.len() {
                decisions.push(self.decision_after(index));
            }
        }
        decisions
    }

    /// The line of the place where a trip that is under way is now.
    fn decision_here(&self) -> Decision {
        let node = self.facts.from();
        let in_cans = self.trial.run.legs[node].start_cans;
        let line = self.decision_at(node);
        let back = if self.aside.is_some() {
            self.home[node].and_then(|(needed, refuge)| self.back_with(needed, refuge, in_cans))
        } else {
            let before = node.checked_sub(1);
            before.and_then(|leg| self.way_back(leg, WHOLE, in_cans))
        };
        let place = self
            .facts
            .behind()
            .map_or_else(|| line.place.clone(), |behind| behind.place.clone());
        Decision {
            place,
            back,
            ..line
        }
    }

    /// The line of the place that a leg leads to.
    fn decision_after(&self, leg: usize) -> Decision {
        let in_cans = self.trial.run.legs[leg].end_cans;
        Decision {
            back: self.way_back(leg, WHOLE, in_cans),
            ..self.decision_at(leg + 1)
        }
    }

    /// The line of a place without the way back.
    fn decision_at(&self, node: usize) -> Decision {
        let need = &self.trial.need;
        let (arrival, departure) = (need.arrival[node], need.departure[node]);
        let pump = need.at_pump[node].is_some();
        let fills = pump && arrival < departure;
        Decision {
            node: Some(node),
            place: self.name(node),
            at_km: self.km[node],
            go_on: self.if_it_fits(departure.max(arrival)),
            fill_cans: fills.then_some(arrival),
            turn_back: arrival,
            back: None,
        }
    }

    /// The lines of the card on one unsealed leg, each fifty kilometres since the road was last sealed.
    fn decisions_on(&self, leg: usize, since: Kilometres) -> impl Iterator<Item = Decision> {
        let (from, to) = (self.km[leg], self.km[leg + 1]);
        let length = to - from;
        let problem = &self.trial.problem;
        let first = ((from - since) / STEP).floor();
        (1..)
            .map(move |step| since + STEP * (first + f64::from(step)))
            .take_while(move |&at| at < to - CLEAR)
            .filter(move |&at| at > from + CLEAR)
            .map(move |at| {
                let rest = problem.legs[leg].part(Share::new((to - at) / length));
                let needed = problem.before(rest, self.trial.need.arrival[leg + 1]);
                Decision {
                    node: None,
                    place: self.name(leg + 1),
                    at_km: at,
                    go_on: self.if_it_fits(needed),
                    fill_cans: None,
                    turn_back: needed,
                    back: self.way_back(
                        leg,
                        Share::new((at - from) / length),
                        self.cans_at(leg, at),
                    ),
                }
            })
    }

    /// The litres, where tank and cans together hold so much.
    fn if_it_fits(&self, litres: Litres) -> Option<Litres> {
        (litres <= self.trial.loadout.full).then_some(litres)
    }

    /// Litres in cans at a kilometre of a leg.
    fn cans_at(&self, leg: usize, at: Kilometres) -> Litres {
        let spans = &self.trial.run.spans;
        let after =
            spans.partition_point(|span| span.leg < leg || span.leg == leg && span.from <= at);
        let last = after.checked_sub(1).and_then(|last| spans.get(last));
        last.map_or(Litres::ZERO, |span| span.cans)
    }

    /// What it takes to go back after a part of a leg, with so much in cans that are still to be poured.
    fn way_back(&self, leg: usize, part: Share, in_cans: Litres) -> Option<WayBack> {
        let (needed_at_start, refuge) = self.home[leg]?;
        let back = self.back[leg].map(|back| back.part(part));
        self.back_with(needed_back(back, needed_at_start)?, refuge, in_cans)
    }

    fn back_with(&self, needed: Litres, refuge: usize, in_cans: Litres) -> Option<WayBack> {
        let needed = needed + self.trial.problem.lost_in_pouring(in_cans);
        Some(WayBack {
            refuge,
            needed: self.if_it_fits(needed)?,
        })
    }
}
