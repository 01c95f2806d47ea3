//! Whether more simulated trips could still turn a verdict round.
//!
//! The first simulated trips give the litres that are needed with a standard error. A verdict is certain when each of
//! its borders (litres in cans, litres at the start, every mass limit) is farther away than that error may reach.

use crate::consumption::engine::fuel_density;
use crate::doubt::tally::SURELY;
use crate::plan::parts::Plan;
use crate::plan::parts::doubt::Doubt;
use crate::plan::parts::finding::What;
use crate::quantity::{Litres, Share};
use crate::solver::fuel::ROUNDING;
use crate::solver::load::LoadBar;

/// By how much the litres on a departure, whose error a plan does not keep, may be off, as a share of them. Their 95 %
/// quantile of 2,048 simulated trips has a standard error of 0.047 standard deviations (order statistics of a normal
/// distribution), and consumption has a standard deviation of 15 to 20 % at most.
const ON_DEPARTURE: Share = Share::new(0.03);

/// How far inside its border a verdict is, in litres: below 0 it is NO-GO.
struct Margin {
    /// At the most unfavourable end of the error.
    worst: Litres,
    /// At the most favourable end.
    best: Litres,
}

impl Doubt {
    fn error(&self) -> Litres {
        self.in_cans.error * SURELY
    }

    /// The most that simulated trips may still require in cans, that for a gauge counted. Where the tank is
    /// enough in the target share of trips, the litres are 0 and so may their error be: then it is what the next higher
    /// target needs.
    fn most_needed(&self) -> Option<Litres> {
        let at_target = self.in_cans.litres + self.error() + self.may_rise;
        if self.in_cans.litres > Litres::ZERO {
            return Some(at_target);
        }
        let mut higher = self.by_target.iter();
        let (_, next) = higher.find(|(target, _)| *target > self.success_target)?;
        Some(at_target.max(next.litres))
    }
}

impl Plan {
    /// Whether no number of further simulated trips turns the verdict round; never so for a best-estimate plan.
    pub fn verdict_is_certain(&self) -> bool {
        let Some(doubt) = &self.doubt else {
            return false;
        };
        if self.is_forbidden_for_other_reasons() {
            return true;
        }
        let Some(margins) = self.margins(doubt) else {
            return false;
        };
        margins.iter().all(|margin| margin.worst >= -ROUNDING)
            || margins.iter().any(|margin| margin.best < Litres::ZERO)
    }

    /// Whether something forbids departure that no simulated trip has a part in.
    fn is_forbidden_for_other_reasons(&self) -> bool {
        let mut findings = self.findings.iter();
        findings.any(|finding| {
            matches!(
                finding.what,
                What::WaterShort { .. } | What::AiredDownFast { .. }
            )
        })
    }

    /// The margins to all borders; `None` where the error is not known.
    fn margins(&self, doubt: &Doubt) -> Option<Vec<Margin>> {
        let most_in_cans = self.trip.rules().most_in_cans_l;
        let held = self.in_cans.carried;
        let held = most_in_cans.map_or(held, |most| held.min(most));
        let needed = self.in_cans.needed;
        let most_needed = doubt.most_needed()?.max(needed);
        let in_cans = Margin {
            worst: held - most_needed,
            best: held - (needed - doubt.error()),
        };
        let required = self.stages.iter().map(|stage| stage.required);
        let on_departure = required.fold(Litres::ZERO, Litres::max) * ON_DEPARTURE.get();
        let error = doubt.error().max(on_departure);
        let at_start = self.margin_at_start();
        let density = fuel_density(self.trip.vehicle.fuel);
        let loads = self.load.bars.iter().filter_map(LoadBar::left);
        let inside = at_start.into_iter().chain(loads.map(|left| left / density));
        let mut margins = vec![in_cans];
        margins.extend(inside.map(|litres| Margin {
            worst: litres - error,
            best: litres + error,
        }));
        Some(margins)
    }

    /// What is on board at the start over what is required there; `None` where a fuel stop gives whatever is required.
    fn margin_at_start(&self) -> Option<Litres> {
        if self.in_cans.short_at_start > ROUNDING {
            return Some(-self.in_cans.short_at_start);
        }
        let stage = self.stages.first()?;
        let at_start = |place_number: usize| place_number == stage.from;
        match self.stops.iter().find(|stop| at_start(stop.place_number)) {
            Some(stop) => Some(stop.supply? - stop.tank - stop.cans),
            None => Some(self.legs.get(stage.from)?.start - stage.required),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::num::NonZeroUsize;
    use std::sync::Arc;

    use serde_json::Value;

    use super::*;
    use crate::doubt::study::Effort;
    use crate::model::{Trip, check};
    use crate::plan::questions::difference::Outcome;
    use crate::quantity::Kilograms;

    const FEW: Effort = Effort {
        blocks: 8,
        threads: NonZeroUsize::MIN,
    };

    fn sample() -> Value {
        let text = include_str!("../../../../sample-routes/plateau-loop.json");
        serde_json::from_str(text).unwrap()
    }

    fn plan(document: Value) -> Plan {
        let trip: Trip = check::read(document).unwrap();
        Plan::at_target(Arc::new(trip), FEW)
    }

    #[test]
    fn a_best_estimate_is_never_certain() {
        let trip: Trip = check::read(sample()).unwrap();
        assert!(!Plan::best_estimate(trip).verdict_is_certain());
    }

    /// With the litres needed just inside, on, and just outside of what is carried.
    #[test]
    fn three_standard_errors_decide() {
        let mut plan = plan(sample());
        let doubt = plan.doubt.as_mut().unwrap();
        doubt.may_rise = Litres::ZERO;
        let error = doubt.in_cans.error;
        assert!(error > Litres::new(0.1), "2,048 trips leave an error");
        let needed = plan.in_cans.needed;
        for (errors, covers, certain) in [
            (3.2, true, true),
            (2.8, true, false),
            (0.0, true, false),
            (-2.8, false, false),
            (-3.2, false, true),
        ] {
            plan.in_cans.carried = needed + error * errors;
            plan.in_cans.covers = covers;
            assert_eq!(plan.verdict_is_certain(), certain, "{errors}");
        }
        // What may be carried for a gauge besides is in the way of a GO alone.
        plan.doubt.as_mut().unwrap().may_rise = Litres::new(2.0);
        for (errors, covers, more, certain) in [
            (3.2, true, 2.0, true),
            (3.2, true, 1.9, false),
            (-3.2, false, 0.0, true),
        ] {
            plan.in_cans.carried = needed + error * errors + Litres::new(more);
            plan.in_cans.covers = covers;
            assert_eq!(plan.verdict_is_certain(), certain, "{errors} {more}");
        }
    }

    /// A mass that is within what the fuel on board may still weigh more is no certain GO, and no certain NO-GO.
    #[test]
    fn a_mass_limit_is_a_border_too() {
        let mut plan = plan(sample());
        plan.in_cans.carried = plan.in_cans.needed + Litres::new(50.0);
        assert!(plan.verdict_is_certain());
        for (left, certain) in [(20.0, true), (0.2, false), (-0.2, false), (-20.0, true)] {
            let bar = &mut plan.load.bars[0];
            bar.mass = bar.limit.unwrap() - Kilograms::new(left);
            assert_eq!(plan.verdict_is_certain(), certain, "{left}");
        }
    }

    /// Whatever is asked of the plan with few simulated trips: where it is certain, the refined plan agrees.
    #[test]
    fn what_is_certain_is_what_the_refined_plan_says() {
        let may_go = |plan: &Plan| plan.decided().outcome == Outcome::Go;
        let mut certain = [0; 2];
        for target in [0.9, 0.95] {
            for reserve in [3, 7, 11, 17, 24] {
                let mut document = sample();
                document["rules"]["reserve"]["litres"] = reserve.into();
                document["rules"]["success_target"] = target.into();
                let few = plan(document);
                if few.verdict_is_certain() {
                    let trip = Arc::clone(&few.trip);
                    let refined = Plan::at_target(trip, Effort::refined());
                    assert_eq!(may_go(&few), may_go(&refined), "{target} {reserve}");
                    certain[usize::from(may_go(&few))] += 1;
                }
            }
        }
        assert!(certain.iter().all(|&count| count > 1), "{certain:?}");
    }
}
