//! What a point of the way needs: litres to the next fuel stop that is relied on, and back to the refuge; and from
//! which point on going on takes as long as going back, which is asked when somebody is hurt, not when fuel is short.
//!
//! To the next fuel stop: what the plan burns until there, and the minimum on arrival. Back: between two fuel checks
//! with the same refuge, on a straight line from one to the other; elsewhere nothing.

use crate::doubt::checks::CheckKind;
use crate::plan::parts::Plan;
use crate::plan::parts::stages::Stage;
use crate::quantity::{Hours, Kilometres, Litres};
use crate::solver::turn_back;

/// A place and the litres that reaching it needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Needs {
    /// Number of the place.
    pub place_number: usize,
    /// Litres on board that are needed, tank and cans together.
    pub litres: Litres,
}

impl Plan {
    /// What is needed at a kilometre to be at the next fuel stop that is relied on, or at the finish, with what must be
    /// left there.
    pub fn needs_ahead(&self, km: Kilometres) -> Option<Needs> {
        let first = self.stops.partition_point(|stop| stop.at_km <= km);
        let next = self.stops[first..].iter().find(|stop| stop.counted);
        let place_number = next.map_or(self.legs.len(), |stop| stop.place_number);
        let arrival = self.legs.get(place_number.checked_sub(1)?)?;
        let at = arrival.from_km + arrival.distance;
        if at <= km {
            return None;
        }
        let here = self.on_board_at(km);
        let from = self.decants.partition_point(|decant| decant.at_km <= km);
        let lost: Litres = self.decants[from..]
            .iter()
            .take_while(|decant| decant.at_km <= at)
            .map(|decant| decant.lost)
            .sum();
        let burnt = here.tank + here.cans - arrival.end - lost;
        Some(Needs {
            place_number,
            litres: burnt + arrival.reserve,
        })
    }

    /// What is needed at a kilometre to be back at the refuge with the reserve intact, in 95 of 100 simulated trips
    /// that arrive there with about as much; `None` without simulated trips.
    pub fn needs_back(&self, km: Kilometres) -> Option<Needs> {
        let next = self.fuel_checks.partition_point(|check| check.at_km <= km);
        let before = self.fuel_checks.get(next.checked_sub(1)?)?;
        let back = before.back?;
        let needs = |litres| Needs {
            place_number: back.refuge,
            litres,
        };
        let here = back.litres?;
        if before.at_km == km {
            return Some(needs(here));
        }
        let after = self.fuel_checks.get(next)?;
        let farther = after
            .back
            .filter(|other| other.refuge == back.refuge)?
            .litres?;
        let part = (km - before.at_km) / (after.at_km - before.at_km);
        Some(needs(here + (farther - here) * part))
    }

    /// Where it is decided on a stage whether to continue; a check on arrival at its end belongs to it.
    pub fn decision_point(&self, stage: &Stage) -> Option<Kilometres> {
        let checks = &self.fuel_checks;
        let first = checks.partition_point(|check| check.at_km <= stage.from_km);
        let to = stage.from_km + stage.distance;
        let mut on_stage = checks[first..].iter().take_while(|check| check.at_km <= to);
        let decision = on_stage.find(|check| check.kind == CheckKind::Decision);
        decision.map(|check| check.at_km)
    }

    /// The kilometre of a stage from which its end takes as many driving time as the refuge behind it. Nothing
    /// without a refuge, past a leg that cannot be driven the other way, or where going on is quicker all along.
    pub fn equal_time(&self, stage: &Stage) -> Option<Kilometres> {
        let refuge = stage.turn_back?.refuge;
        let legs: Vec<(Hours, Option<Hours>)> = (refuge..stage.to)
            .map(|leg| {
                let (stated, planned) = (&self.trip.legs[leg], &self.legs[leg]);
                let back = stated.can_return().then(|| {
                    let formula = self.formula(leg + 1).reversed(stated.return_factor());
                    formula.driving(planned.steady)
                });
                (planned.driving, back)
            })
            .collect();
        let (leg, part) = turn_back::equal_time(&legs)?;
        let leg = &self.legs[refuge + leg];
        let km = leg.from_km + leg.distance * part.get();
        (km >= stage.from_km).then_some(km)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::doubt::study::Effort;
    use crate::model::check;

    fn example() -> Plan {
        let text = include_str!("../../../../tests/data/example-trip.json");
        let trip = check::read(serde_json::from_str(text).unwrap()).unwrap();
        Plan::at_target(trip, Effort::FIRST)
    }

    /// At a place the two agree with the legs and the card.
    #[test]
    fn at_places_it_is_what_legs_and_card_say() {
        let plan = example();
        let first = plan.needs_ahead(Kilometres::ZERO).unwrap();
        let stop = plan
            .stops
            .iter()
            .find(|stop| stop.place_number > 0 && stop.counted)
            .unwrap();
        assert_eq!(first.place_number, stop.place_number);
        let arrival = &plan.legs[stop.place_number - 1];
        let burnt: Litres = plan.legs[..stop.place_number]
            .iter()
            .map(|leg| leg.fuel)
            .sum();
        assert!((first.litres - burnt - arrival.reserve).abs() < Litres::new(0.01));
        for check in &plan.fuel_checks {
            let back = plan
                .needs_back(check.at_km)
                .map(|needs| (needs.place_number, needs.litres));
            let printed = check
                .back
                .and_then(|back| Some((back.refuge, back.litres?)));
            assert_eq!(back, printed);
        }
        let finish = plan.legs.last().map(|leg| leg.from_km + leg.distance);
        assert_eq!(plan.needs_ahead(finish.unwrap()), None);
    }

    /// Going on, less is needed ahead and more back.
    #[test]
    fn on_the_way_ahead_falls_and_back_rises() {
        /// The figures of two checks are fitted each by itself: by such a part they may be off.
        const FITTED: f64 = 0.003;
        let plan = example();
        let mut last: Option<(Needs, Option<Needs>)> = None;
        for km in 0..722 {
            let km = Kilometres::new(f64::from(km));
            let (Some(ahead), back) = (plan.needs_ahead(km), plan.needs_back(km)) else {
                continue;
            };
            if let Some((before, was)) = last {
                assert!(
                    before.place_number != ahead.place_number || ahead.litres <= before.litres,
                    "{km:?}"
                );
                if let (Some(was), Some(is)) = (was, back) {
                    assert!(
                        was.place_number != is.place_number
                            || is.litres >= was.litres * (1.0 - FITTED),
                        "{km:?}: {was:?}, then {is:?}"
                    );
                }
            }
            last = Some((ahead, back));
        }
    }
}
