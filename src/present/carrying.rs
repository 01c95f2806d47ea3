//! Why no more cans are carried, and why cans are not in the place that the trip lists first, each in a sentence.

use super::finding::place_name;
use super::number::{Toward, Units};
use crate::model::vocabulary::CarryingPlace;
use crate::plan::{Elsewhere, NoMoreCans};
use crate::plan::{LoadLimit, Plan};
use crate::quantity::{Kilograms, Litres};

/// Why the cans hold less than is needed: what forbids more of them first, then what is needed.
pub(super) fn cans_short(
    needed: Litres,
    most: Litres,
    why: NoMoreCans,
    plan: &Plan,
    units: Units,
) -> String {
    let short = units.fuel_tenths(needed - most, Toward::Up);
    let held = units.fuel_tenths(most, Toward::Down);
    let needs = units.fuel_tenths(needed, Toward::Up);
    match why {
        NoMoreCans::NoneListed => format!(
            "The trip needs {needs} in cans, and no cans are allowed. Allow cans for {short}, add a fuel stop on the \
             longest stage, or carry less."
        ),
        NoMoreCans::NoneUsable => format!(
            "The trip needs {needs} in cans, and none of those listed can be used. List cans that fit whole into the tank \
             beside the reserve, outside the cabin."
        ),
        NoMoreCans::AllCarried => format!(
            "The trip needs {needs} in cans, and those that can be carried hold {held}. Allow cans for {short} more, add a \
             fuel stop on the longest stage, or carry less."
        ),
        NoMoreCans::Rule(limit) => format!(
            "The rules allow {} in cans, and the cans within that hold {held}. The trip needs {needs}. Allow more, or add a \
             fuel stop on the longest stage.",
            units.fuel_tenths(limit, Toward::Down),
        ),
        NoMoreCans::Mass {
            what,
            left,
            place_number,
        } => format!(
            "On leaving {}, {} is left to {}, too little for {}. The trip needs {needs} in cans. Leave weight behind, or add a \
             fuel stop on the longest stage.",
            place_name(plan, place_number),
            units.mass(left.max(Kilograms::ZERO), Toward::Down),
            limit_name(what),
            if most > Litres::ZERO {
                format!("more than {held} in cans")
            } else {
                "a can".to_owned()
            },
        ),
    }
}

/// A mass limit within a sentence.
pub(super) fn limit_name(what: LoadLimit) -> String {
    let limit = match what {
        LoadLimit::Gvm => "the gross vehicle mass",
        LoadLimit::FrontAxle => "the front axle's limit",
        LoadLimit::RearAxle => "the rear axle's limit",
        LoadLimit::Roof { off_road: true } => "the roof's off-road limit",
        LoadLimit::Roof { off_road: false } => "the roof's limit",
        LoadLimit::Place(CarryingPlace::Roof) => "the limit of cans on the roof",
        LoadLimit::Place(place) => return format!("{}'s limit", carrying_place(place)),
    };
    limit.to_owned()
}

/// The carrying place with its article.
pub(super) const fn carrying_place(place: CarryingPlace) -> &'static str {
    match place {
        CarryingPlace::Cabin => "the cabin",
        CarryingPlace::Cargo => "the cargo area",
        CarryingPlace::Rear => "the rear carrier",
        CarryingPlace::Roof => "the roof",
    }
}

/// Where cans are, and why they are not in the place listed first.
pub(super) fn elsewhere(cans: Elsewhere, units: Units) -> String {
    let within = |place| {
        let is_room = matches!(place, CarryingPlace::Cabin | CarryingPlace::Cargo);
        let on = if is_room { "in" } else { "on" };
        format!("{on} {}", carrying_place(place))
    };
    let why = match (cans.first, cans.left) {
        (CarryingPlace::Roof, _) => {
            "fuel goes on the roof only if no other place has room".to_owned()
        }
        (_, Some(left)) => format!(
            "only {} is left to {}",
            units.mass(left.max(Kilograms::ZERO), Toward::Down),
            limit_name(LoadLimit::Place(cans.first)),
        ),
        (_, None) => "an axle would exceed its limit".to_owned(),
    };
    format!(
        "{} x {} {} {} {}, not {}, which is listed first: {why}.",
        cans.count,
        Units::can_size(cans.size),
        if cans.count == 1 { "can" } else { "cans" },
        if cans.count == 1 { "is" } else { "are" },
        within(cans.place),
        within(cans.first),
    )
}
