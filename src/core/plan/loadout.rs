//! A set of cans as it is carried: what it holds, and what the legs burn with its mass and drag. Computed once,
//! whatever is then tried with it.

use crate::consumption::leg::LegFormula;
use crate::consumption::usage::Usage;
use crate::model::route::FuelStop;
use crate::quantity::{Kilometres, Litres, LitresPerKm, Share};
use crate::solver::cans::{self, Can, CanSet};
use crate::solver::drive::Conditions;
use crate::solver::fuel::{FuelStopVisit, Problem};
use crate::solver::load;

use crate::plan::facts::TripFacts;

/// A set of cans as it is carried on a trip.
pub(in crate::plan) struct Loadout {
    pub(crate) cans: CanSet,
    /// The cans one by one.
    each: Vec<Can>,
    pub(crate) fill: Litres,
    /// Usable litres when tank and cans are full.
    pub(crate) full: Litres,
    /// The legs with the cans on board.
    pub(crate) legs: Vec<LegFormula>,
    /// What the legs use by what is on board; nothing on those that were driven.
    pub(crate) usages: Vec<Usage>,
    /// The reserve at each place; at those that were passed no more than where the plan begins.
    reserve: Vec<Litres>,
    /// The reserve at each place, for the one who returns to those that were passed.
    pub(crate) reserve_on_return: Vec<Litres>,
}

impl Loadout {
    pub(crate) fn new(facts: &TripFacts<'_>, cans: CanSet) -> Self {
        let fill = cans::fill(&cans);
        let full = facts.trip.vehicle.usable_tank() + fill;
        let legs: Vec<LegFormula> = facts
            .trip
            .legs
            .iter()
            .zip(&facts.terrain)
            .zip(&facts.days)
            .map(|((leg, terrain), &day)| {
                let burden = load::burden(facts.trip, &cans, day);
                facts.formula.leg(leg, terrain, burden)
            })
            .collect();
        let mut usages: Vec<Usage> = legs.iter().map(|leg| leg.usage(full)).collect();
        let reserve_on_return = reserve(facts, &usages, full);
        let mut reserve = reserve_on_return.clone();
        // What was driven takes nothing more, and requires no more than what is kept here.
        let from = facts.from();
        usages[..from].fill(Usage::NONE);
        let kept = reserve[from];
        for passed in &mut reserve[..from] {
            *passed = passed.min(kept);
        }
        Self {
            each: cans::each(&cans),
            cans,
            fill,
            full,
            legs,
            usages,
            reserve,
            reserve_on_return,
        }
    }

    /// The trip as the solver sees it, with the fuel stops that are relied on and a share of all use still ahead held
    /// back.
    pub(crate) fn problem(
        &self,
        facts: &TripFacts<'_>,
        relied_on: &[bool],
        contingency: Share,
    ) -> Problem {
        Problem {
            tank: facts.trip.vehicle.usable_tank(),
            reserve: self.reserve.clone(),
            extra: contingency,
            fuel_stops: self.stops(facts, relied_on),
            cans: self.each.iter().map(|can| can.fill).collect(),
            legs: self.usages.clone(),
        }
    }

    /// The fuel stops of some places.
    pub(crate) fn stops(
        &self,
        facts: &TripFacts<'_>,
        wanted: &[bool],
    ) -> Vec<Option<FuelStopVisit>> {
        let stop = |place: usize| {
            Some(FuelStopVisit {
                supply: facts.trip.place(place).fuel?.litres,
                number: facts.stop_numbers()[place].filter(|_| wanted[place])?,
                detour: self.detour(facts, place),
            })
        };
        (0..wanted.len()).map(stop).collect()
    }

    /// One way of the detour to the fuel stop of a place, at the level rate of the leg that leads there.
    pub(crate) fn detour(&self, facts: &TripFacts<'_>, place: usize) -> Usage {
        let stop = facts.trip.place(place).fuel;
        let one_way = stop.map_or(Kilometres::ZERO, FuelStop::detour) / 2.0;
        // Without legs nothing is known of the ground.
        let leg = self.legs.get(place.saturating_sub(1));
        if let Some(leg) = leg.filter(|_| one_way > Kilometres::ZERO) {
            Usage::between(
                leg.level_rate(Litres::ZERO) * one_way,
                leg.level_rate(self.full) * one_way,
                self.full,
            )
        } else {
            Usage::NONE
        }
    }

    /// What the detour of each place takes, also of those that are driven.
    pub(crate) fn detours(&self, facts: &TripFacts<'_>) -> Vec<Usage> {
        let places = 0..=facts.trip.legs.len();
        places.map(|place| self.detour(facts, place)).collect()
    }

    /// Each leg on the return, where it can be driven the other way.
    pub(crate) fn return_legs(&self, facts: &TripFacts<'_>) -> Vec<Option<Usage>> {
        let legs = facts.trip.legs.iter().zip(&self.legs);
        legs.map(|(leg, formula)| {
            leg.can_return()
                .then(|| formula.reversed(leg.return_factor()).usage(self.full))
        })
        .collect()
    }

    /// Where the plan begins past a place, the detour back to it.
    pub(crate) fn detour_to_route(&self, facts: &TripFacts<'_>) -> Option<Usage> {
        let (leg, terrain) = facts.leg_to_route()?;
        let burden = load::burden(facts.trip, &self.cans, facts.days[facts.from()]);
        let formula = facts.formula.leg(leg, terrain, burden);
        let usage = || formula.reversed(leg.return_factor()).usage(self.full);
        leg.can_return().then(usage)
    }

    /// What the vehicle has at the start, and what it drives over.
    pub(crate) fn conditions<'b>(&'b self, facts: &'b TripFacts<'_>) -> Conditions<'b> {
        let (rules, vehicle) = (facts.trip.rules(), &facts.trip.vehicle);
        Conditions {
            start_tank: (rules.start(vehicle) - vehicle.unusable()).max(Litres::ZERO),
            start_cans: rules.start_cans().min(self.fill),
            cans: &self.each,
            distances: &facts.distances,
            rough: facts.rough(),
            driven: facts.from(),
        }
    }
}

/// The reserve at each place: stated litres, or stated kilometres at the dearer of the leg at hand and the next,
/// whichever is more.
fn reserve(facts: &TripFacts<'_>, legs: &[Usage], full: Litres) -> Vec<Litres> {
    let rules = facts.trip.rules();
    let litres = rules.reserve_litres(&facts.trip.vehicle);
    let rates: Vec<Option<LitresPerKm>> = legs
        .iter()
        .zip(&facts.distances)
        .map(|(leg, &distance)| {
            (distance > Kilometres::ZERO).then(|| leg.litres(full / 2.0) / distance)
        })
        .collect();
    // A rest stop has no rate of its own; the nearest leg that is driven counts.
    let mut last = None;
    let before: Vec<Option<LitresPerKm>> = std::iter::once(None)
        .chain(rates.iter().map(|rate| {
            last = rate.or(last);
            last
        }))
        .collect();
    let mut next = None;
    let mut after: Vec<Option<LitresPerKm>> = std::iter::once(None)
        .chain(rates.iter().rev().map(|rate| {
            next = rate.or(next);
            next
        }))
        .collect();
    after.reverse();
    before
        .into_iter()
        .zip(after)
        .map(|(before, after)| {
            let dearest = before.unwrap_or_default().max(after.unwrap_or_default());
            litres.max(rules.reserve_km() * dearest)
        })
        .collect()
}
