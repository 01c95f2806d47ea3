//! Fields of what is carried.

use super::IfAbsent::{Derived, Flag, Nothing, Number, Phrase, Whole, Word};
use super::row::{CHOICES, NAME, kg, list, may, must, number, whole};
use super::{Field, Kind};
use crate::model::load;
use crate::model::vocabulary::{CarryingPlace, RoofShape, Seat};
use crate::quantity::{Factor, Litres, SquareMetres};

#[rustfmt::skip] // A row is a field.
pub(super) static FIELDS: &[Field] = &[
    may("/load", Kind::Object, Phrase("nobody and nothing aboard"),
        "What the vehicle carries besides its fuel."),
    may("/load/people", CHOICES, Phrase("nobody"), "Everybody aboard, the driver too."),
    may("/load/people/*", Kind::Object, Nothing, "A person."),
    must("/load/people/*/name", NAME, "What the person is called."),
    must("/load/people/*/mass_kg", kg(1.0, 300.0), "Mass, dressed."),
    may("/load/people/*/seat", Kind::Choice(Seat::WORDS), Word(load::SEAT.word()), "Where the person sits."),
    may("/load/gear", CHOICES, Phrase("nothing"), "Things aboard that are neither fuel nor cans."),
    may("/load/gear/*", Kind::Object, Nothing, "A thing."),
    must("/load/gear/*/name", NAME, "What the thing is called."),
    must("/load/gear/*/mass_kg", kg(0.0, 3000.0), "Mass at the start."),
    may("/load/gear/*/place", Kind::Choice(CarryingPlace::WORDS), Word(load::GEAR_PLACE.word()),
        "Where it is carried."),
    may("/load/gear/*/use_per_day_kg", kg(0.0, 1000.0), Number(0.0), "What is used up of it each day."),
    may("/load/gear/*/water", Kind::Flag, Flag(false), "Whether it is drinking water, a litre to the kilogram."),
    may("/load/gear/*/safety", Kind::Flag, Phrase("not known"),
        "Whether lives may hang on it, as on recovery gear, tools, first aid or a radio. Such things are the last \
         that is proposed to be left at home; those of which it is not known come after all other ways too."),
    may("/load/roof", Kind::Object, Phrase("nothing on the roof"), "The carrier on the roof."),
    must("/load/roof/shape", Kind::Choice(RoofShape::WORDS), "What stands on the roof, by its drag."),
    may("/load/roof/mass_kg", kg(0.0, 500.0), Number(0.0), "Mass of the carrier itself."),
    may("/load/roof/rating_kg", kg(0.0, 1000.0), Nothing, "What the roof may carry by the carrier's own rating."),
    may("/load/roof/drag_area_m2", number(SquareMetres::UNIT, 0.0, 3.0), Phrase("that of its shape"),
        "Drag area that it adds."),
    may("/load/cans", CHOICES, Phrase("no cans"),
        "Kinds of fuel can to choose from; only chosen ones weigh."),
    may("/load/cans/*", Kind::Object, Nothing, "Cans of one size."),
    must("/load/cans/*/size_l", number(Litres::UNIT, 1.0, 250.0), "What a can holds by its mark."),
    must("/load/cans/*/empty_kg", kg(0.0, 100.0), "Mass of an empty can."),
    may("/load/cans/*/owned", whole(0, 100), Whole(load::OWNED as u64), "How many there are."),
    may("/load/cans/*/may_buy", whole(0, 100), Whole(load::MAY_BUY as u64), "How many more could be bought."),
    may("/load/cans/*/places", list(1, CarryingPlace::WORDS.len()), Derived(can_places),
        "Where they may be carried, best place first."),
    may("/load/cans/*/places/*", Kind::Choice(CarryingPlace::WORDS), Nothing, "A carrying place."),
    may("/load/cans/*/fill_share", number(Factor::UNIT, 0.1, 1.0), Number(load::FILL_SHARE.get()),
        "Part of a can that is filled, so that the fuel can expand."),
    may("/load/place_ratings_kg", Kind::Object, Phrase("no rating known"),
        "What the carrying places may carry."),
    may("/load/place_ratings_kg/cabin", kg(0.0, 3000.0), Nothing, "Rating of the cabin."),
    may("/load/place_ratings_kg/cargo", kg(0.0, 3000.0), Nothing, "Rating of the load space."),
    may("/load/place_ratings_kg/rear", kg(0.0, 3000.0), Nothing, "Rating of the rear carrier."),
    may("/load/place_ratings_kg/roof", kg(0.0, 3000.0), Nothing, "Rating of the roof, the carrier counted."),
];

fn can_places() -> String {
    load::CAN_PLACES
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(", ")
}
