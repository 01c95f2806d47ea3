//! A trial laid out along the way: its legs, stops, decants, and the fuel all along.

use std::collections::HashMap;

use crate::consumption::usage::Usage;
use crate::model::Trip;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;
use crate::solver::run::Fill;
use crate::solver::turn_back::needed_back;

use crate::plan::facts::TripFacts;
use crate::plan::parts::course::Span;
use crate::plan::parts::legs::PlannedLeg;
use crate::plan::parts::stops::{Decant, Stop};
use crate::plan::trial::Trial;

/// A trial laid out along the way.
pub(in crate::plan) struct Course<'a> {
    pub(crate) facts: &'a TripFacts<'a>,
    pub(crate) trial: &'a Trial,
    /// Kilometre of each place.
    pub(crate) km: Vec<Kilometres>,
    /// Litres used from each place to the next fuel stop that is used.
    ahead: Vec<Litres>,
    /// What is filled at each place.
    pub(crate) fills: Vec<Option<&'a Fill>>,
    /// Each leg driven the other way, where it can be.
    pub(crate) back: Vec<Option<Usage>>,
    /// Litres needed at each place to go back to the nearest refuge behind it, and that refuge.
    pub(crate) home: Vec<Option<(Litres, usize)>>,
    /// What must be left at each place.
    pub(crate) reserve: Vec<Litres>,
    /// Where the plan begins past a place, the way back to it.
    pub(crate) aside: Option<Aside>,
}

/// Where a plan begins past a place.
#[derive(Clone, Copy, Debug)]
pub(in crate::plan) struct Aside {
    /// The way back to it, where it can be driven.
    pub(crate) back: Option<Usage>,
}

impl<'a> Course<'a> {
    pub(crate) fn new(facts: &'a TripFacts<'a>, trial: &'a Trial) -> Self {
        let n = facts.distances.len();
        let mut km = vec![Kilometres::ZERO];
        for &distance in &facts.distances {
            km.push(km[km.len() - 1] + distance);
        }
        let mut ahead = vec![Litres::ZERO; n + 1];
        for j in (0..n).rev() {
            let beyond = if trial.need.at_fuel_stop[j + 1].is_some() {
                Litres::ZERO
            } else {
                ahead[j + 1]
            };
            ahead[j] = trial.run.legs[j].used + beyond;
        }
        let mut fills = vec![None; n + 1];
        for fill in &trial.run.fills {
            fills[fill.place_number] = Some(fill);
        }
        let mut course = Self {
            facts,
            trial,
            km,
            ahead,
            fills,
            back: trial.loadout.return_legs(facts),
            home: Vec::with_capacity(n + 1),
            reserve: trial.loadout.reserve_on_return.clone(),
            aside: (facts.passed() > facts.from()).then(|| Aside {
                back: trial.loadout.detour_to_route(facts),
            }),
        };
        for place_number in 0..=n {
            let refuge = course.is_refuge(place_number).then(|| {
                (
                    course.to_fuel_stop(place_number, course.reserve[place_number]),
                    place_number,
                )
            });
            let farther = || {
                let (needed, refuge) = *course.home.last()?.as_ref()?;
                Some((needed_back(course.back[place_number - 1], needed)?, refuge))
            };
            let home = refuge.or_else(farther);
            let home = match course.aside.filter(|_| place_number == facts.from()) {
                Some(Aside { back }) => {
                    home.and_then(|(needed, refuge)| Some((needed_back(back, needed)?, refuge)))
                }
                None => home,
            };
            course.home.push(home);
        }
        course
    }

    /// Litres needed on the route at a place to be at its fuel stop with `left`.
    pub(crate) fn to_fuel_stop(&self, place_number: usize, left: Litres) -> Litres {
        let detour = self.trial.loadout.detour(self.facts, place_number);
        detour.needed_for(left, Share::ZERO)
    }

    pub(crate) fn trip(&self) -> &Trip {
        self.facts.trip
    }

    pub(crate) fn name(&self, place_number: usize) -> String {
        self.trip().place(place_number).name.to_owned()
    }

    /// What must be left on departure from a place.
    fn reserve_leaving(&self, place_number: usize) -> Litres {
        self.trial.problem.reserve[place_number]
            + self.ahead[place_number] * self.trial.problem.extra.get()
    }

    /// What must be left on arrival at a place: at a fuel stop only the fixed part.
    fn reserve_arriving(&self, place_number: usize) -> Litres {
        if self.trial.need.at_fuel_stop[place_number].is_some() {
            self.trial.problem.reserve[place_number]
        } else {
            self.reserve_leaving(place_number)
        }
    }

    pub(crate) fn legs(&self) -> Vec<PlannedLeg> {
        let trip = self.trip();
        let driven = self.trial.run.legs.iter().enumerate();
        driven
            .map(|(index, run)| {
                let (leg, terrain) = (&trip.legs[index], &self.facts.terrain[index]);
                let (formula, usage) = (
                    &self.trial.loadout.legs[index],
                    self.trial.problem.legs[index],
                );
                let steady = match self.facts.driven_legs().get(index) {
                    Some(driven) => (driven.start + driven.end) / 2.0,
                    None => formula.steady_on_board(run.used, usage.mean_on_board(run.start)),
                };
                let end = run.end_tank + run.end_cans;
                let reserve = self.reserve_arriving(index + 1);
                PlannedLeg {
                    n: index + 1,
                    from: self.name(index),
                    to: self.name(index + 1),
                    day: self.facts.days[index],
                    surface: leg.surface(),
                    from_km: self.km[index],
                    distance: terrain.distance,
                    ascent: terrain.ascent,
                    descent: terrain.descent,
                    driving: formula.driving(steady),
                    fuel: run.used,
                    rate: (terrain.distance > Kilometres::ZERO)
                        .then(|| (run.used / terrain.distance).into()),
                    start: run.start,
                    end,
                    end_tank_gauge: (run.end_tank + trip.vehicle.unusable()).max(Litres::ZERO),
                    end_cans: run.end_cans,
                    reserve,
                    fixed_reserve: self.trial.problem.reserve[index + 1],
                    below_reserve: end < reserve - ROUNDING,
                    use_empty: usage.empty(),
                    use_slope: usage.slope(),
                    speed: formula.fastest(),
                    held: formula.held(steady),
                    steady,
                }
            })
            .collect()
    }

    /// Usable litres to leave a fuel stop with, as in [`Stop::leave_with`].
    fn leave_with(&self, place_number: usize) -> Option<[Litres; 2]> {
        let (problem, need) = (&self.trial.problem, &self.trial.need);
        need.at_fuel_stop[place_number]?;
        problem.fuel_stops[place_number]?;
        let in_cans = self.trial.run.legs.get(place_number)?.start_cans;
        // Fuel that is bought for its price is not always a full tank.
        let Some(level) = need.filled_to[place_number] else {
            // By the best estimate cans may still be full that another driver has emptied: print only what must be
            // filled.
            let asked = problem.whole_cans(need.at_fuel_stop[place_number]? - problem.tank);
            return Some([problem.tank, asked]);
        };
        Some([
            (level - in_cans).min(problem.tank),
            self.fills[place_number].map_or(in_cans, |fill| in_cans.max(fill.cans)),
        ])
    }

    pub(crate) fn stops(&self) -> Vec<Stop> {
        let (run, n) = (&self.trial.run, self.facts.distances.len());
        let mut visits = HashMap::new();
        for place in self.trip().places().filter(|place| place.fuel.is_some()) {
            *visits.entry(place.name).or_insert(0) += 1;
        }
        let kept_after = self.trial.problem.kept_after(&self.trial.need);
        let stop = |place_number: usize| {
            let fuel = self.trip().place(place_number).fuel?;
            let fill = self.fills[place_number];
            let (tank, cans) = fill.map_or_else(Default::default, |fill| (fill.tank, fill.cans));
            let leaving = run.legs.get(place_number).map(|leg| leg.start);
            let arriving = place_number
                .checked_sub(1)
                .map(|leg| run.legs[leg].end_tank + run.legs[leg].end_cans);
            Some(Stop {
                place_number,
                place: self.name(place_number),
                at_km: self.km[place_number],
                counted: self.trial.relied_on[place_number],
                chance: fuel.chance(),
                supply: fuel.litres,
                at_most: fuel.litres.map(|stock| stock - kept_after[place_number]),
                leave_with: self.leave_with(place_number),
                visits: visits[self.trip().place(place_number).name],
                tank,
                cans,
                cans_filled: fill.map_or(0, |fill| fill.cans_filled),
                after: fill
                    .map(|fill| fill.after)
                    .or(leaving)
                    .or(arriving)
                    .unwrap_or_default(),
                off_route: fuel.detour() > Kilometres::ZERO,
                detour: if fill.is_some() {
                    fuel.detour()
                } else {
                    Kilometres::ZERO
                },
                cost: fuel.price_per_l.map(|price| (tank + cans) * price),
            })
        };
        (self.facts.passed()..=n).filter_map(stop).collect()
    }

    pub(crate) fn decants(&self) -> Vec<Decant> {
        let unusable = self.trip().vehicle.unusable();
        let decants = self.trial.run.decants.iter();
        decants
            .map(|decant| Decant {
                at_km: decant.at,
                leg: decant.leg + 1,
                place_number: decant.at_place.then_some(decant.leg),
                litres: decant.litres,
                lost: decant.lost,
                can_size: decant.can.size,
                from: decant.can.place,
                when_tank_at_most_gauge: decant.fits_at + unusable,
                earliest_km: decant.earliest.max(self.km[self.facts.from()]),
                latest_km: decant.latest,
            })
            .collect()
    }

    pub(crate) fn spans(&self) -> Vec<Span> {
        let from = self.facts.from();
        let driven = self.facts.driven_legs().iter().enumerate();
        let driven = driven.map(|(leg, driven)| Span {
            leg: leg + 1,
            from_km: self.km[leg],
            to_km: self.km[leg + 1],
            tank_from: driven.start - driven.cans,
            tank_to: driven.end - driven.cans.min(driven.end),
            cans: driven.cans.min(driven.end),
            reserve_from: Litres::ZERO,
            reserve_to: Litres::ZERO,
        });
        let spans = self.trial.run.spans.iter().filter(|span| span.leg >= from);
        let ahead = spans.map(|span| {
            let (from, to) = (self.km[span.leg], self.km[span.leg + 1]);
            let (leaving, arriving) = (
                self.reserve_leaving(span.leg),
                self.reserve_arriving(span.leg + 1),
            );
            let part = |km: Kilometres| {
                if to > from {
                    (km - from) / (to - from)
                } else {
                    0.0
                }
            };
            Span {
                leg: span.leg + 1,
                from_km: span.from,
                to_km: span.to,
                tank_from: span.tank_from,
                tank_to: span.tank_to,
                cans: span.cans,
                reserve_from: leaving + (arriving - leaving) * part(span.from),
                reserve_to: leaving + (arriving - leaving) * part(span.to),
            }
        });
        driven.chain(ahead).collect()
    }
}
