//! Fuel stops of the JSON report, and where the cans are decanted.

use crate::model::route::FuelStop;
use crate::model::vocabulary::{CarryingPlace, Rely};
use crate::plan::{self, Decant, Plan};
use crate::quantity::{Kilometres, Litres, Money, Share};

object! {
    /// A fuel stop, and the instruction to the driver there.
    pub(super) struct Stop(
        plan: &Plan, stop: &plan::Stop;
        leaves = plan.stages.binary_search_by_key(&stop.place_number, |stage| stage.from).is_ok(),
        used = stop.counted && leaves,
        leaving = stop.leave_with.filter(|_| used)
    ) {
        place_number: usize = stop.place_number,
        place: String = stop.place.clone(),
        at_km: Kilometres = stop.at_km,
        /// Whether the plan needs its fuel.
        relied_on: bool = stop.counted,
        /// What the trip states about relying on it: `auto`, `never` or `always`.
        rely: Rely = plan.trip.place(stop.place_number).fuel.map_or(Rely::Auto, FuelStop::rely),
        /// Whether the plan drives to it and fills there.
        used: bool = used,
        /// Chance of fuel.
        chance: Share = stop.chance,
        /// Its stock; `null` if unlimited.
        supply_l: Option<Litres> = stop.supply,
        /// Distance to it and back to the route.
        detour_km: Kilometres = stop.detour,
        /// Filled into the tank.
        tank_l: Litres = stop.tank,
        /// Filled into cans.
        cans_l: Litres = stop.cans,
        /// Usable fuel on leaving.
        after_l: Litres = stop.after,
        /// Usable fuel to have in the tank on leaving, back on the route; fuel that is in it already stays. `null` where nothing
        /// is filled.
        leave_tank_l: Option<Litres> = leaving.map(|[tank, _]| tank),
        /// Fuel to have in cans on leaving; fuel that is in them already stays.
        leave_cans_l: Option<Litres> = leaving.map(|[_, cans]| cans),
        /// The most to take at this visit; `null` if unlimited.
        at_most_l: Option<Litres> = stop.at_most,
        cost: Option<Money> = stop.cost,
    }
}

object! {
    /// A can that is emptied into the tank.
    pub(super) struct DecantReport(plan: &Plan, decant: &Decant) {
        at_km: Kilometres = decant.at_km,
        leg: usize = decant.leg,
        place: Option<String> = decant.place_number.map(|place_number| plan.trip.place(place_number).name.to_owned()),
        /// Litres that reach the tank.
        litres: Litres = decant.litres,
        /// Spilt and left in the can.
        lost_l: Litres = decant.lost,
        /// On the gauge, unusable fuel included.
        when_tank_at_most_l: Litres = decant.when_tank_at_most_gauge,
        can_size_l: Litres = decant.can_size,
        from: CarryingPlace = decant.from,
        earliest_km: Kilometres = decant.earliest_km,
        latest_km: Kilometres = decant.latest_km,
    }
}
