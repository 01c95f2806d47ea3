//! What the vehicle carries.

use crate::plan::supplies::Water as PlannedWater;
use crate::plan::{LoadBar, LoadLimit, Plan};
use crate::quantity::{Days, Kilograms, Kilometres, Litres};

object! {
    pub(super) struct Load(
        plan: &Plan;
        load = &plan.load,
        roof = bar(plan, |what| matches!(what, LoadLimit::Roof { .. })),
        front = bar(plan, |what| what == LoadLimit::FrontAxle),
        rear = bar(plan, |what| what == LoadLimit::RearAxle)
    ) {
        heaviest_at: String = plan.trip.place(load.heaviest_at).name.to_owned(),
        heaviest_at_place_number: usize = load.heaviest_at,
        mass_kg: Kilograms = load.mass,
        gvm_kg: Option<Kilograms> = load.gvm,
        left_kg: Option<Kilograms> = load.gvm.map(|limit| limit - load.mass),
        roof_kg: Option<Kilograms> = roof.map(|bar| bar.mass),
        roof_limit_kg: Option<Kilograms> = roof.and_then(|bar| bar.limit),
        /// The highest front axle load of any departure; `null` if unknown.
        front_axle_kg: Option<Kilograms> = front.map(|bar| bar.mass),
        front_axle_limit_kg: Option<Kilograms> = front.and_then(|bar| bar.limit),
        rear_axle_kg: Option<Kilograms> = rear.map(|bar| bar.mass),
        rear_axle_limit_kg: Option<Kilograms> = rear.and_then(|bar| bar.limit),
        /// `null` if nobody is on board or no water is listed.
        water: Option<Water> = load.supplies.water.map(|water| Water::new(&water, load.supplies.days)),
    }
}

object! {
    pub(super) struct Water(water: &PlannedWater, trip: Days; point = water.at_turn_back) {
        on_board_l: Litres = water.on_board,
        person_day_l: Litres = water.person_day,
        lasts_days: Days = water.lasts,
        trip_days: Days = trip,
        /// At the last turn-back point: days that the water lasts from there, and days that the return takes.
        turn_back_km: Option<Kilometres> = point.map(|point| point.at_km),
        lasts_at_turn_back_days: Option<Days> = point.map(|point| point.lasts),
        way_back_days: Option<Days> = point.map(|point| point.back),
    }
}

fn bar(plan: &Plan, of: fn(LoadLimit) -> bool) -> Option<&LoadBar> {
    plan.load.bars.iter().find(|bar| of(bar.what))
}
