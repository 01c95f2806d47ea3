//! What the vehicle carries.

use schemars::JsonSchema;
use serde::Serialize;

use crate::plan::{LoadLimit, Plan};
use crate::quantity::{Days, Kilograms, Kilometres, Litres};

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Load {
    heaviest_at: String,
    heaviest_at_place_number: usize,
    mass_kg: Kilograms,
    gvm_kg: Option<Kilograms>,
    left_kg: Option<Kilograms>,
    roof_kg: Option<Kilograms>,
    roof_limit_kg: Option<Kilograms>,
    /// The most that stands on the front axle at any departure; `null` where that cannot be known.
    front_axle_kg: Option<Kilograms>,
    front_axle_limit_kg: Option<Kilograms>,
    rear_axle_kg: Option<Kilograms>,
    rear_axle_limit_kg: Option<Kilograms>,
    /// `null` when nobody is aboard or no water is listed.
    water: Option<Water>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Water {
    aboard_l: Litres,
    person_day_l: Litres,
    lasts_days: Days,
    trip_days: Days,
    /// At the last turn-back point: days that the water lasts from there, and days that the way back takes.
    turn_back_km: Option<Kilometres>,
    lasts_at_turn_back_days: Option<Days>,
    way_back_days: Option<Days>,
}

pub(super) fn load(plan: &Plan) -> Load {
    let load = &plan.load;
    let find = |matches: fn(LoadLimit) -> bool| load.bars.iter().find(|bar| matches(bar.what));
    let roof = find(|what| matches!(what, LoadLimit::Roof { .. }));
    let front = find(|what| what == LoadLimit::FrontAxle);
    let rear = find(|what| what == LoadLimit::RearAxle);
    Load {
        heaviest_at: plan.trip.place(load.heaviest_at).name.to_owned(),
        heaviest_at_place_number: load.heaviest_at,
        mass_kg: load.mass,
        gvm_kg: load.gvm,
        left_kg: load.gvm.map(|limit| limit - load.mass),
        roof_kg: roof.map(|bar| bar.mass),
        roof_limit_kg: roof.and_then(|bar| bar.limit),
        front_axle_kg: front.map(|bar| bar.mass),
        front_axle_limit_kg: front.and_then(|bar| bar.limit),
        rear_axle_kg: rear.map(|bar| bar.mass),
        rear_axle_limit_kg: rear.and_then(|bar| bar.limit),
        water: load.supplies.water.map(|water| Water {
            aboard_l: water.aboard,
            person_day_l: water.person_day,
            lasts_days: water.lasts,
            trip_days: load.supplies.days,
            turn_back_km: water.at_turn_back.map(|point| point.at_km),
            lasts_at_turn_back_days: water.at_turn_back.map(|point| point.lasts),
            way_back_days: water.at_turn_back.map(|point| point.back),
        }),
    }
}
