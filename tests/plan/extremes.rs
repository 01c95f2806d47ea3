//! Whatever the format allows, edges included: every figure is finite, fuel is conserved, and every face shows it.

use crate::legal;

use crate::kept;

use drystage::consumption::leg::Formula;
use drystage::consumption::terrain;
use drystage::model::check;
use drystage::plan::{Plan, Verdict};
use drystage::present::number::Units;
use drystage::quantity::{Litres, Share};
use drystage::report::{self, Case};
use drystage::solver::load;
use proptest::prelude::*;

proptest! {
    #![proptest_config(kept::cases("extremes", 250))]

    #[test]
    fn every_legal_trip_is_planned_and_shown(document in legal::documents()) {
        let trip = check::read(document).unwrap();
        let tank = trip.vehicle.usable_tank();
        let start = (trip.rules().start(&trip.vehicle) - trip.vehicle.unusable()).max(Litres::ZERO).min(tank);
        let plan = Plan::of(trip);

        for leg in &plan.legs {
            let formula = plan.formula(leg.n);
            let steady = formula.litres_at(Litres::ZERO);
            prop_assert!(steady.get().is_finite(), "{leg:?}");
            if leg.distance.get() > 0.0 {
                prop_assert!(steady > Litres::ZERO && leg.driving.get() > 0.0, "{leg:?}");
            }
            prop_assert!(leg.fuel.get().is_finite() && leg.driving.get().is_finite(), "{leg:?}");
            // Below 1, but on a leg once round the Earth by less than a float can tell.
            prop_assert!(leg.use_slope.get().is_finite() && leg.use_slope.get() <= 1.0, "{leg:?}");
            if leg.end >= Litres::ZERO {
                for share in &plan.attribution(leg.n).causes {
                    prop_assert!(share.without.get().is_finite() && share.without >= Litres::ZERO, "{share:?}");
                    if let Some(multiplier) = share.multiplier {
                        prop_assert!(multiplier.get().is_finite() && multiplier.get() > 0.0, "{share:?}");
                    }
                }
            }
        }

        // Under way the plan begins with what was read off, and legs behind hold only what the log says.
        let driven = plan.progress.as_deref().map_or(0, |progress| progress.place_number);
        for leg in &plan.legs[driven..] {
            let on_it = plan.decants.iter().filter(|decant| decant.leg == leg.n && decant.place_number.is_none());
            let spilt: Litres = on_it.map(|decant| decant.lost).sum();
            let gap = leg.start - leg.fuel - spilt - leg.end;
            prop_assert!(gap.abs().get() < 1e-6 * (1.0 + leg.fuel.abs().get()), "{gap:?} {leg:?}");
        }
        if plan.progress.is_none() {
            let filled: Litres = plan.stops.iter().map(|stop| stop.tank + stop.cans).sum();
            let spilt: Litres = plan.decants.iter().map(|decant| decant.lost).sum();
            let left = plan.legs.last().unwrap().end;
            let in_cans = plan.trip.rules().start_cans().min(plan.in_cans.carried);
            let gap = start + in_cans + filled - plan.totals.fuel - spilt - left;
            prop_assert!(gap.abs().get() < 1e-6 * (1.0 + plan.totals.fuel.abs().get()), "{gap:?}");
        }

        if matches!(plan.verdict(), Verdict::TankDoes | Verdict::CansDo | Verdict::Overloaded) {
            for leg in &plan.legs[driven..] {
                prop_assert!(!leg.below_reserve, "{leg:?}");
            }
        }

        reported(&plan, Units(plan.trip.rules().units()))?;
    }
}

fn reported(plan: &Plan, units: Units) -> Result<(), TestCaseError> {
    let text = report::text::report(Case::as_stated(plan), units);
    prop_assert!(!text.contains("NaN") && !text.contains("inf "), "{text}");
    prop_assert!(!text.chars().any(|c| c.is_control() && c != '\n'));
    let json = report::json::report(Case::as_stated(plan));
    prop_assert!(serde_json::from_str::<serde_json::Value>(&json).is_ok());
    Ok(())
}

proptest! {
    #![proptest_config(kept::cases("extremes", 400))]

    /// A leg is kept as linear in the litres on board. Where the engine's working limit bends it between empty and
    /// full, the line must err on the side of fuel: never under the formula by more than 0.3 % of the leg.
    #[test]
    fn the_line_of_a_leg_never_runs_under_its_formula(document in legal::documents()) {
        let trip = check::read(document).unwrap();
        let formula = Formula::of(&trip.vehicle);
        let full = trip.vehicle.usable_tank();
        for ((leg, terrain), day) in trip.legs.iter().zip(terrain::of(&trip)).zip(trip.days()) {
            let leg = formula.leg(leg, &terrain, load::burden(&trip, &[], day));
            let usage = leg.usage(full);
            for step in 0..=16 {
                let on_board = full * (f64::from(step) / 16.0);
                let short = Share::new(1e-6);
                let line = usage.part(short).litres(on_board) / short.get();
                let exact = leg.litres_at(on_board);
                prop_assert!(
                    line >= exact * 0.997 - Litres::new(1e-9),
                    "{line:?} for {exact:?} with {on_board:?} of {full:?}"
                );
            }
        }
    }
}
