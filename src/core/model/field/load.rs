//! Fields of what is carried.

use super::IfAbsent::{Derived, Flag, Nothing, Number, Phrase, Whole, Word};
use super::row::{CHOICES, NAME, kg, list, may, must, number, whole};
use super::{Field, Kind};
use crate::model::load;
use crate::model::vocabulary::{CarryingPlace, RoofShape, Seat};
use crate::quantity::{Factor, Litres, SquareMetres};

#[rustfmt::skip] // A row is a field.
pub(super) static FIELDS: &[Field] = &[
    may("/load", Kind::Object, Phrase("empty"),
        "What the vehicle carries: people, gear, roof load and cans."),
    may("/load/people", CHOICES, Phrase("nobody"), "People on board, including the driver."),
    may("/load/people/*", Kind::Object, Nothing, "One person."),
    must("/load/people/*/name", NAME, "Name of the person."),
    must("/load/people/*/mass_kg", kg(1.0, 300.0), "Mass of the person with clothes."),
    may("/load/people/*/seat", Kind::Choice(Seat::WORDS), Word(load::SEAT.word()), "Seat of the person."),
    may("/load/gear", CHOICES, Phrase("nothing"), "Gear: everything on board except people, fuel and cans."),
    may("/load/gear/*", Kind::Object, Nothing, "One piece of gear."),
    must("/load/gear/*/name", NAME, "Name of the gear."),
    must("/load/gear/*/mass_kg", kg(0.0, 3000.0), "Mass at the start of the trip."),
    may("/load/gear/*/place", Kind::Choice(CarryingPlace::WORDS), Word(load::GEAR_PLACE.word()),
        "Where the gear is carried."),
    may("/load/gear/*/use_per_day_kg", kg(0.0, 1000.0), Number(0.0), "Mass used up per day, as of food and water."),
    may("/load/gear/*/water", Kind::Flag, Flag(false), "Whether it is drinking water (1 kg is 1 L)."),
    may("/load/gear/*/safety", Kind::Flag, Phrase("not set"),
        "Safety gear, such as recovery gear, tools, first aid or a radio. Fixes leave it behind only after \
         everything else."),
    may("/load/roof", Kind::Object, Phrase("nothing on the roof"), "Roof rack and roof load."),
    must("/load/roof/shape", Kind::Choice(RoofShape::WORDS), "Type of roof load, which sets its drag."),
    may("/load/roof/mass_kg", kg(0.0, 500.0), Number(0.0), "Mass of the roof rack itself."),
    may("/load/roof/rating_kg", kg(0.0, 1000.0), Nothing, "Load rating of the roof rack."),
    may("/load/roof/drag_area_m2", number(SquareMetres::UNIT, 0.0, 3.0), Phrase("that of the shape"),
        "Drag area that the roof load adds (drag coefficient times frontal area)."),
    may("/load/cans", CHOICES, Phrase("no cans"),
        "Sizes of jerry can to choose from; only the chosen cans are loaded."),
    may("/load/cans/*", Kind::Object, Nothing, "Jerry cans of one size."),
    must("/load/cans/*/size_l", number(Litres::UNIT, 1.0, 250.0), "Nominal size of the can, as stamped on it."),
    must("/load/cans/*/empty_kg", kg(0.0, 100.0), "Mass of an empty can."),
    may("/load/cans/*/owned", whole(0, 100), Whole(load::OWNED as u64), "Number of cans you own."),
    may("/load/cans/*/may_buy", whole(0, 100), Whole(load::MAY_BUY as u64), "Number of cans you could buy."),
    may("/load/cans/*/places", list(1, CarryingPlace::WORDS.len()), Derived(can_places),
        "Where the cans may be carried, best place first."),
    may("/load/cans/*/places/*", Kind::Choice(CarryingPlace::WORDS), Nothing, "One place to carry cans."),
    may("/load/cans/*/fill_share", number(Factor::UNIT, 0.1, 1.0), Number(load::FILL_SHARE.get()),
        "Fill limit of a can, which leaves room for the fuel to expand."),
    may("/load/place_ratings_kg", Kind::Object, Phrase("no rating set"),
        "Load ratings of the places that carry gear and cans."),
    may("/load/place_ratings_kg/cabin", kg(0.0, 3000.0), Nothing, "Load rating of the cabin, without the people."),
    may("/load/place_ratings_kg/cargo", kg(0.0, 3000.0), Nothing, "Load rating of the cargo area."),
    may("/load/place_ratings_kg/rear", kg(0.0, 3000.0), Nothing, "Load rating of the rear carrier."),
    may("/load/place_ratings_kg/roof", kg(0.0, 3000.0), Nothing, "Load rating of the roof, including the roof rack."),
];

fn can_places() -> String {
    load::CAN_PLACES
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(", ")
}
