//! The stages from fuel stop to fuel stop, and the last points of each from which a place behind can be reached.

use crate::quantity::{Litres, Share};
use crate::solver::turn_back::{OutAndBack, last_point};

use super::course::Course;
use crate::plan::parts::stages::{Stage, TurnBack};

impl Course<'_> {
    pub(in crate::plan) fn stages(&self) -> Vec<Stage> {
        let n = self.facts.distances.len();
        let first = self.facts.from();
        let mut bounds: Vec<usize> = (first..n)
            .filter(|&place_number| {
                place_number == first || self.trial.need.at_fuel_stop[place_number].is_some()
            })
            .collect();
        bounds.push(n);
        bounds
            .windows(2)
            .map(|ends| self.stage(ends[0], ends[1]))
            .collect()
    }

    fn stage(&self, from: usize, to: usize) -> Stage {
        let need = &self.trial.need;
        let required = need.at_fuel_stop[from].unwrap_or(need.departure[from]);
        let tank = self.trial.problem.tank;
        // At a fuel stop off the route what is required is required there.
        let on_board = self.fills[from].filter(|_| need.at_fuel_stop[from].is_some());
        let on_board = on_board.map_or(self.trial.run.legs[from].start, |fill| fill.after);
        let turn_back = self.turn_back(from, to);
        // The last of the unconfirmed or limited stops behind, where it is nearer than the refuge.
        let nearest = if from == self.facts.from() && self.aside.is_none() {
            self.home[from].map_or(0, |(_, refuge)| refuge)
        } else {
            from
        };
        let unconfirmed = (nearest.min(from)..to)
            .rev()
            .find_map(|place_number| self.unconfirmed_turn_back(place_number, to))
            .filter(|point| point.at_km >= self.km[from]);
        Stage {
            from,
            to,
            from_km: self.km[from],
            distance: self.km[to] - self.km[from],
            required,
            on_board: on_board.max(Litres::ZERO),
            tank,
            in_cans: (required - tank).max(Litres::ZERO),
            turn_back,
            turn_back_best_estimate: turn_back,
            unconfirmed_turn_back: unconfirmed,
        }
    }

    /// Whether a trip can safely end or start anew at a place.
    pub(in crate::plan) fn is_refuge(&self, place_number: usize) -> bool {
        self.trial.problem.fuel_stops[place_number]
            .is_some_and(|fuel_stop| fuel_stop.supply.is_none())
            || self
                .facts
                .is_refuge_behind(place_number, self.trial.refuge_chance)
    }

    fn out_and_back(&self, leg: usize, to: usize) -> OutAndBack {
        // What the decants still to come on the stage will lose is not there to burn.
        let decants = &self.trial.run.decants;
        let done = decants
            .partition_point(|decant| decant.leg < leg || decant.leg == leg && decant.at_place);
        let to_come = decants[done..].iter().take_while(|decant| decant.leg < to);
        let lost: Litres = to_come.map(|decant| decant.lost).sum();
        OutAndBack {
            out: self.trial.problem.legs[leg],
            back: self.back[leg],
            start: self.trial.run.legs[leg].start - lost,
        }
    }

    /// The last point of `from..to` from which `refuge` can be reached, when that takes `needed` litres at `from`.
    fn point(&self, from: usize, to: usize, needed: Litres, refuge: usize) -> Option<TurnBack> {
        let point = last_point((from..to).map(|leg| self.out_and_back(leg, to)), needed)?;
        let leg = from + point.leg;
        let at_km = self.km[leg] + (self.km[leg + 1] - self.km[leg]) * point.part.get();
        Some(TurnBack {
            at_km,
            refuge,
            chance: self
                .trip()
                .place(refuge)
                .fuel
                .map_or(Share::new(1.0), crate::model::route::FuelStop::chance),
            way_back: at_km - self.km[refuge],
            left: None,
        })
    }

    fn turn_back(&self, from: usize, to: usize) -> Option<TurnBack> {
        let (needed, refuge) = self.home[from]?;
        self.point(from, to, needed, refuge)
    }

    /// The last point from which an unconfirmed or limited stop can be reached, such that with what was left in it a
    /// refuge behind it can be reached too.
    fn unconfirmed_turn_back(&self, place_number: usize, to: usize) -> Option<TurnBack> {
        let fuel = self
            .trip()
            .place(place_number)
            .fuel
            .filter(|_| !self.is_refuge(place_number))?;
        let taken = self.fills[place_number];
        let left = fuel
            .litres
            .map(|litres| litres - taken.map_or(Litres::ZERO, |fill| fill.tank + fill.cans));
        let reserve = self.trial.problem.reserve[place_number];
        let at_fuel_stop = match (self.home[place_number], left) {
            // Back to the route from the fuel stop takes as much as to the fuel stop from the route.
            (Some((needed, _)), Some(left)) => {
                reserve.max(self.to_fuel_stop(place_number, needed) - left)
            }
            _ => reserve,
        };
        let needed = self.to_fuel_stop(place_number, at_fuel_stop);
        self.point(place_number, to, needed, place_number)
            .map(|point| TurnBack { left, ..point })
    }
}
