//! From a trip to the solver's terms and to the set of cans that is carried.

use std::collections::HashMap;

use crate::consumption::leg::{Formula, LegFormula};
use crate::consumption::terrain::{self, Terrain};
use crate::consumption::usage::Usage;
use crate::model::Trip;
use crate::model::route::{COUNTED_FROM, FuelStop, Leg};
use crate::model::vocabulary::Surface;
use crate::quantity::{Grade, Kilometres, Litres, LitresPerKm, Metres, Share};
use crate::solver::cans::{self, Can, CanSet};
use crate::solver::drive::{self, Conditions};
use crate::solver::fuel::{Need, Problem, Pump, ROUNDING};
use crate::solver::load::{self, Aboard, Departure, LoadBar};
use crate::solver::run::Run;

use crate::plan::policy::target::{Doubts, simulation::Studied};
use crate::plan::under_way::behind::Behind;
use crate::plan::under_way::{DrivenLeg, Underway};
use crate::plan::{NotLeast, PlannedLeg};

/// Ground steeper than this starves a pump of a low tank. Common practice, no source.
const STEEP: Grade = Grade::new(0.10);

/// What a trip is to the solver whatever cans are aboard.
pub(in crate::plan) struct Groundwork<'a> {
    pub trip: &'a Trip,
    pub formula: Formula,
    pub terrain: Vec<Terrain>,
    pub distances: Vec<Kilometres>,
    pub days: Vec<u32>,
    rough: Vec<bool>,
    /// Number of the pump at each place that has one.
    pumps: Vec<Option<usize>>,
    /// Whether the plan relies on the pump of each place.
    counted: Vec<bool>,
    /// Share that is added to all use still ahead.
    pub extra: Share,
    /// How what is not known is dealt with; nothing for the plain plan.
    pub doubts: Option<Doubts>,
    /// What lies behind, where the trip is under way.
    underway: Option<&'a Underway>,
}

/// A trip solved with one set of cans.
pub(in crate::plan) struct Solution {
    pub set: CanSet,
    /// Usable litres when tank and cans are full.
    pub full: Litres,
    pub legs: Vec<LegFormula>,
    pub problem: Problem,
    pub need: Need,
    pub run: Run,
    pub departures: Vec<Departure>,
    pub bars: Vec<LoadBar>,
    /// Spare litres needed, without what is lost in pouring.
    pub spare: Litres,
    /// What the start itself lacks; no can cures it.
    pub short_at_start: Litres,
    /// Why it may cost more than it must, where the least cost is asked for.
    pub not_least: Option<NotLeast>,
    /// What the samples say, where the plan is one at a confidence.
    pub studied: Option<Studied>,
}

impl Solution {
    /// Whether the cans hold what is needed, pouring losses included.
    pub fn covers(&self) -> bool {
        self.need.spare <= cans::fill(&self.set) + ROUNDING
    }
}

/// Whether a leg is sand, mud, rock, low range or steep.
pub(in crate::plan) fn is_rough(leg: &Leg, terrain: &Terrain) -> bool {
    let steep = terrain.ascent > Metres::ZERO && terrain.ascent_grade > STEEP
        || terrain.descent > Metres::ZERO && terrain.descent_grade > STEEP;
    steep
        || leg.sand_share() > Share::ZERO
        || leg.low_range_share() > Share::ZERO
        || matches!(leg.surface(), Surface::Mud | Surface::Rock)
}

impl<'a> Groundwork<'a> {
    pub fn of(trip: &'a Trip) -> Self {
        let terrain = terrain::of(trip);
        let mut numbers = HashMap::new();
        let pumps = trip.places().map(|place| {
            place.fuel.map(|_| {
                let next = numbers.len();
                *numbers.entry(place.name).or_insert(next)
            })
        });
        Self {
            pumps: pumps.collect(),
            counted: trip
                .places()
                .map(|place| place.fuel.is_some_and(FuelStop::is_counted))
                .collect(),
            extra: trip.rules().reserve_share(),
            doubts: None,
            underway: None,
            formula: Formula::of(&trip.vehicle),
            distances: terrain.iter().map(|terrain| terrain.distance).collect(),
            rough: trip
                .legs
                .iter()
                .zip(&terrain)
                .map(|(leg, terrain)| is_rough(leg, terrain))
                .collect(),
            days: trip.days(),
            trip,
            terrain,
        }
    }

    /// The same for a trip that may be under way; pumps behind are not relied on.
    pub fn under_way(stated: &'a Trip, underway: Option<&'a Underway>) -> Self {
        let mut ground = Self::of(underway.map_or(stated, |underway| &underway.trip));
        ground.underway = underway;
        let passed = ground.passed();
        ground.counted[..passed].fill(false);
        ground
    }

    /// Number of the place where the plan begins.
    pub fn from(&self) -> usize {
        self.underway.map_or(0, |underway| underway.node)
    }

    /// How many places lie behind; one more than [`Groundwork::from`] where the plan begins past a place.
    pub fn passed(&self) -> usize {
        self.underway.map_or(0, Underway::passed)
    }

    /// What is told of what lies behind.
    pub fn behind(&self) -> Option<&Behind> {
        self.underway.map(|underway| &underway.behind)
    }

    /// Whether one could go back to a place behind and begin anew there.
    pub fn is_refuge_behind(&self, node: usize) -> bool {
        let sure = match &self.doubts {
            Some(_) => self.trip.rules().confidence(),
            None => COUNTED_FROM,
        };
        node < self.passed()
            && self
                .trip
                .place(node)
                .fuel
                .is_some_and(|fuel| fuel.is_unlimited() && fuel.chance() >= sure)
    }

    /// Where the plan begins past a place, the way back to it.
    pub fn back_aside(&self, full: Litres, set: &CanSet) -> Option<Usage> {
        let underway = self.underway?;
        let (leg, terrain) = underway.aside.as_ref()?;
        let burden = load::burden(self.trip, set, self.days[underway.node]);
        let formula = self.formula.leg(leg, terrain, burden);
        let usage = || formula.reversed(leg.return_factor()).usage(full);
        leg.can_return().then(usage)
    }

    /// Puts what was observed in the place of what was planned.
    pub fn stand_as_driven(&self, legs: &mut [PlannedLeg]) {
        let unusable = self.trip.vehicle.unusable();
        for (leg, driven) in legs.iter_mut().zip(self.legs_behind()) {
            leg.fuel = driven.used;
            leg.rate =
                (leg.distance > Kilometres::ZERO).then(|| (driven.used / leg.distance).into());
            leg.start = driven.start;
            leg.end = driven.end;
            leg.end_cans = driven.cans.min(driven.end);
            leg.end_tank_gauge = driven.end - leg.end_cans + unusable;
            leg.reserve = Litres::ZERO;
            leg.below_reserve = false;
            leg.use_empty = driven.used;
            leg.use_slope = Share::ZERO;
        }
    }

    /// The legs that were driven.
    pub fn legs_behind(&self) -> &[DrivenLeg] {
        self.underway.map_or(&[], |underway| &underway.driven)
    }

    /// Litres that were used past the place where the plan begins.
    pub fn used_aside(&self) -> Litres {
        self.underway
            .map_or(Litres::ZERO, |underway| underway.used_aside)
    }

    /// The use of each leg, as observed where it was.
    pub fn usages(&self, solution: &Solution) -> Vec<Usage> {
        let mut usages = solution.problem.legs.clone();
        for (usage, driven) in usages.iter_mut().zip(self.legs_behind()) {
            *usage = Usage::between(driven.used, driven.used, solution.full);
        }
        usages
    }

    /// Whether the plan relies on the pump of a place.
    pub fn counts(&self, node: usize) -> bool {
        self.counted[node]
    }

    /// Relies on other pumps.
    pub fn count(&mut self, counted: Vec<bool>) {
        self.counted = counted;
    }

    /// Number of the pump at each place that has one; a pump met again has one number.
    pub fn pumps(&self) -> &[Option<usize>] {
        &self.pumps
    }

    pub fn is_rough(&self, leg: usize) -> bool {
        self.rough[leg]
    }

    /// The fixed reserve at each place: stated litres, or stated kilometres at the dearer of the leg at hand and
    /// the next, whichever is more.
    fn reserve(&self, legs: &[Usage], full: Litres) -> Vec<Litres> {
        let rules = self.trip.rules();
        let litres = rules.reserve_litres(&self.trip.vehicle);
        let rates: Vec<Option<LitresPerKm>> = legs
            .iter()
            .zip(&self.distances)
            .map(|(leg, &distance)| {
                (distance > Kilometres::ZERO).then(|| leg.litres(full / 2.0) / distance)
            })
            .collect();
        // A stay has no rate of its own; the nearest leg that is driven counts.
        let mut last = None;
        let behind: Vec<Option<LitresPerKm>> = std::iter::once(None)
            .chain(rates.iter().map(|rate| {
                last = rate.or(last);
                last
            }))
            .collect();
        let mut next = None;
        let mut ahead: Vec<Option<LitresPerKm>> = std::iter::once(None)
            .chain(rates.iter().rev().map(|rate| {
                next = rate.or(next);
                next
            }))
            .collect();
        ahead.reverse();
        behind
            .into_iter()
            .zip(ahead)
            .map(|(behind, ahead)| {
                let dearest = behind.unwrap_or_default().max(ahead.unwrap_or_default());
                litres.max(rules.reserve_km() * dearest)
            })
            .collect()
    }

    /// The fixed reserve at each place, with what is kept at places behind for whoever goes back to them.
    pub fn reserve_there(&self, solution: &Solution) -> Vec<Litres> {
        if self.passed() == 0 {
            return solution.problem.reserve.clone();
        }
        let legs = solution.legs.iter();
        let usages: Vec<Usage> = legs.map(|leg| leg.usage(solution.full)).collect();
        self.reserve(&usages, solution.full)
    }

    /// One way of the detour to the pump of a place, at the level rate of the leg that leads there.
    pub fn detour(&self, node: usize, legs: &[LegFormula], full: Litres) -> Usage {
        let stop = self.trip.place(node).fuel;
        let one_way = stop.map_or(Kilometres::ZERO, FuelStop::detour) / 2.0;
        let leg = &legs[node.saturating_sub(1)];
        if one_way > Kilometres::ZERO {
            Usage::between(
                leg.level_rate(Litres::ZERO) * one_way,
                leg.level_rate(full) * one_way,
                full,
            )
        } else {
            Usage::NONE
        }
    }

    /// The pumps that are relied on, where `counted` says so.
    pub fn pumps_counted(
        &self,
        counted: &[bool],
        legs: &[LegFormula],
        full: Litres,
    ) -> Vec<Option<Pump>> {
        let pump = |node: usize| {
            Some(Pump {
                supply: self.trip.place(node).fuel?.litres,
                number: self.pumps[node].filter(|_| counted[node])?,
                detour: self.detour(node, legs, full),
            })
        };
        (0..counted.len()).map(pump).collect()
    }

    /// Each leg driven the other way, where it can be.
    pub fn ways_back(&self, legs: &[LegFormula], full: Litres) -> Vec<Option<Usage>> {
        let legs = self.trip.legs.iter().zip(legs);
        legs.map(|(leg, formula)| {
            leg.can_return()
                .then(|| formula.reversed(leg.return_factor()).usage(full))
        })
        .collect()
    }

    /// Solves the trip with one set of cans, with their own mass and drag, everything at its likely value.
    pub fn solve(&self, set: CanSet) -> Solution {
        let vehicle = &self.trip.vehicle;
        let tank = vehicle.usable_tank();
        let full = tank + cans::fill(&set);
        let legs: Vec<LegFormula> = self
            .trip
            .legs
            .iter()
            .zip(&self.terrain)
            .zip(&self.days)
            .map(|((leg, terrain), &day)| {
                self.formula
                    .leg(leg, terrain, load::burden(self.trip, &set, day))
            })
            .collect();
        let mut usages: Vec<Usage> = legs.iter().map(|leg| leg.usage(full)).collect();
        let mut reserve = self.reserve(&usages, full);
        // What lies behind takes nothing more, and asks for no more than what is kept here.
        let from = self.from();
        usages[..from].fill(Usage::NONE);
        let kept = reserve[from];
        for behind in &mut reserve[..from] {
            *behind = behind.min(kept);
        }
        let problem = Problem {
            tank,
            reserve,
            extra: self.extra,
            pumps: self.pumps_counted(&self.counted, &legs, full),
            cans: cans::each(&set).iter().map(|can| can.fill).collect(),
            legs: usages,
        };
        let need = problem.need();
        self.driven(set, legs, problem, need)
    }

    /// What the vehicle has at the start, and what it drives over.
    pub fn conditions<'b>(&'b self, set: &CanSet, each: &'b [Can]) -> Conditions<'b> {
        let (rules, vehicle) = (self.trip.rules(), &self.trip.vehicle);
        Conditions {
            start_tank: (rules.start(vehicle) - vehicle.unusable()).max(Litres::ZERO),
            start_cans: rules.start_cans().min(cans::fill(set)),
            cans: each,
            distances: &self.distances,
            rough: &self.rough,
            driven: self.from(),
        }
    }

    /// The trip driven with one set of cans so that what is needed is on board.
    pub fn driven(
        &self,
        set: CanSet,
        legs: Vec<LegFormula>,
        problem: Problem,
        mut need: Need,
    ) -> Solution {
        let spare = if set.is_empty() {
            need.spare
        } else {
            Problem {
                cans: vec![],
                ..problem.clone()
            }
            .need()
            .spare
        };
        let each = cans::each(&set);
        let conditions = self.conditions(&set, &each);
        let aboard = conditions.start_tank + conditions.start_cans;
        let run = drive::run(&problem, &need, conditions);
        let departures = self.departures(&set, &run);
        let bars = load::bars(self.trip, &departures);
        let short_at_start = short_at_start(&problem, &need, aboard);
        let held = cans::fill(&set);
        if need.spare <= held + ROUNDING && short_at_start <= ROUNDING {
            let lacking = self.carried_losses(&problem, &need, &run);
            if lacking > ROUNDING {
                need.spare = held + lacking;
            }
        }
        Solution {
            full: problem.tank + cans::fill(&set),
            set,
            legs,
            problem,
            need,
            run,
            departures,
            bars,
            spare,
            short_at_start,
            studied: None,
            not_least: None,
        }
    }

    /// What the trip, as driven, ends a leg short of because cans are poured later than what is required counts with:
    /// what pouring them loses is carried until then, and takes fuel. Some millilitres, where cans hold just what is
    /// needed.
    fn carried_losses(&self, problem: &Problem, need: &Need, run: &Run) -> Litres {
        let most = problem.lost_in_pouring(problem.cans.iter().copied().sum());
        let ahead = self.from()..run.legs.len();
        let lacking = ahead.map(|leg| run.lacks(leg, need));
        let worst = lacking.reduce(Litres::max).unwrap_or_default();
        if worst > most { Litres::ZERO } else { worst }
    }

    /// The solution at the confidence that is asked for, where one is; else the solution as it is.
    pub fn confirmed(&self, solution: Solution) -> Solution {
        match &self.doubts {
            Some(doubts) if solution.studied.is_none() => doubts.confirmed(self, solution, false),
            _ => solution,
        }
    }

    /// The same to see whether it covers what it needs: where it does not, its instructions are those of the likely values.
    pub fn looked_at(&self, solution: Solution) -> Solution {
        match &self.doubts {
            Some(doubts) => doubts.confirmed(self, solution, !self.is_for_least_cost()),
            None => solution,
        }
    }

    /// The solution driven by another need, of the spare litres `spare` without what is lost in pouring.
    pub fn redriven(&self, solution: Solution, need: Need, spare: Litres) -> Solution {
        let Solution {
            set, legs, problem, ..
        } = solution;
        Solution {
            spare,
            ..self.driven(set, legs, problem, need)
        }
    }

    /// What is aboard at each departure, and the litres of it that are in cans.
    pub fn aboard(&self, set: &CanSet, run: &Run) -> Vec<(Aboard, Litres)> {
        let fill = cans::fill(set);
        let aboard = run.legs.iter().enumerate().map(|(leg, driven)| {
            let full = if fill > Litres::ZERO {
                driven.start_cans / fill
            } else {
                0.0
            };
            let aboard = Aboard {
                day: self.days[leg],
                surface: self.trip.legs[leg].surface(),
                on_board: driven.start.max(Litres::ZERO),
                cans_full: Share::new(full),
            };
            (aboard, fill * full)
        });
        aboard.collect()
    }

    fn departures(&self, set: &CanSet, run: &Run) -> Vec<Departure> {
        let aboard = self.aboard(set, run).into_iter().enumerate();
        aboard
            .skip(self.from())
            .map(|(leg, (aboard, _))| load::departure(self.trip, set, leg, aboard))
            .collect()
    }
}

/// What the start lacks: what is required there, less what is aboard and what a pump there can give.
fn short_at_start(problem: &Problem, need: &Need, aboard: Litres) -> Litres {
    let (Some(pump), Some(required)) = (problem.pumps[0], need.at_pump[0]) else {
        return (need.departure[0] - aboard).max(Litres::ZERO);
    };
    let there = aboard - pump.detour.litres(aboard);
    let given = need.allowance[0].unwrap_or((required - there).max(Litres::ZERO));
    (required - there - given).max(-there).max(Litres::ZERO)
}

#[cfg(test)]
mod tests {
    use serde_json::{Value, json};

    use super::*;

    /// Sand, low range, mud and rock are rough, and so is a climb or a descent of more than 10 %.
    #[test]
    fn rough_ground_is_what_starves_a_pump() {
        let rough = |stated: Value| {
            let trip: Trip = serde_json::from_value(json!({
                "drystage": 1,
                "vehicle": { "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300 },
                "start": { "name": "a" },
                "legs": [stated]
            }))
            .unwrap();
            is_rough(&trip.legs[0], &terrain::of(&trip)[0])
        };
        for stated in [
            json!({ "to": "b", "distance_km": 50, "sand_share": 0.01 }),
            json!({ "to": "b", "distance_km": 50, "low_range_share": 0.01 }),
            json!({ "to": "b", "distance_km": 50, "surface": "mud" }),
            json!({ "to": "b", "distance_km": 50, "surface": "rock" }),
            json!({ "to": "b", "distance_km": 50, "ascent_m": 100, "ascent_grade": 0.11 }),
            json!({ "to": "b", "distance_km": 50, "descent_m": 100, "descent_grade": 0.11 }),
        ] {
            assert!(rough(stated.clone()), "{stated}");
        }
        for stated in [
            json!({ "to": "b", "distance_km": 50, "surface": "gravel" }),
            json!({ "to": "b", "distance_km": 50, "ascent_m": 100, "ascent_grade": 0.1 }),
            json!({ "to": "b", "distance_km": 50, "ascent_grade": 0.2, "descent_grade": 0.2 }),
        ] {
            assert!(!rough(stated.clone()), "{stated}");
        }
    }
}
