//! Fields of the start and the legs.

use super::IfAbsent::{Derived, Flag, Nothing, Number, Phrase, Word};
use super::row::{
    ALTITUDE, BY_PARTS, LATITUDE, LONGITUDE, NAME, NOTE, ODOMETER, SHARE, SPEED, TEMPERATURE, list,
    may, must, number, whole,
};
use super::{Field, Kind, MOST_ITEMS};
use crate::model::route;
use crate::model::vocabulary::{Rely, Surface};
use crate::quantity::{
    Degrees, Factor, Grade, Hours, Kilometres, KilometresPerHour, Litres, Metres, MoneyPerLitre,
};

/// No climb on a leg comes near it.
const MOST_CLIMB: f64 = 100_000.0;
/// From what cannot be told from level to what no wheel climbs.
pub(in crate::model) const GRADE: Kind = number(Grade::UNIT, 0.005, 0.6);

/// A chance that equals the target leaves no trip that may fail for any other reason.
const RELY_HELP: &str = "Whether the plan relies on the stop: never, always, or (auto) while its chance times those of \
                         the others relied on exceeds the success target; 95 % at a target of 95 % leaves no room.";

#[rustfmt::skip] // A row is a field.
pub(super) static FIELDS: &[Field] = &[
    must("/start", Kind::Object, "Where the trip starts: place number 0."),
    must("/start/name", NAME, "Name of the place."),
    may("/start/lat", LATITUDE, Nothing, "Degrees north on WGS 84."),
    may("/start/lon", LONGITUDE, Nothing, "Degrees east on WGS 84."),
    may("/start/altitude_m", ALTITUDE, Number(0.0), "Height above the sea."),
    may("/start/odometer_km", ODOMETER, Nothing, "What the odometer shows at the start."),
    may("/start/fuel", Kind::Object, Nothing,
        "Fuel that can be had at the place; an empty object is as much as one likes, for sure."),
    may("/start/fuel/litres", number(Litres::UNIT, 0.0, 1_000_000.0), Phrase("as much as one likes"),
        "The most litres that can be had."),
    may("/start/fuel/price_per_l", number(MoneyPerLitre::UNIT, 0.0, 10_000_000.0), Nothing, "Price of a litre."),
    may("/start/fuel/chance", SHARE, Number(route::CHANCE.get()), "Chance that there is fuel."),
    may("/start/fuel/rely", Kind::Choice(Rely::WORDS), Word(route::RELY.word()), RELY_HELP),
    may("/start/fuel/detour_km", number(Kilometres::UNIT, 0.0, 1000.0), Number(0.0),
        "Extra way to the pump and back to the route."),
    may("/start/fuel/note", NOTE, Nothing, "Anything to remember."),
    must("/legs", list(1, MOST_ITEMS), "The legs in driving order."),
    may("/legs/*", Kind::Object, Nothing, "The way from the place before to the place that the leg names."),
    must("/legs/*/to", NAME, "Name of the place where the leg ends; places of one name are one place."),
    may("/legs/*/lat", LATITUDE, Nothing, "Degrees north on WGS 84."),
    may("/legs/*/lon", LONGITUDE, Nothing, "Degrees east on WGS 84."),
    may("/legs/*/day", whole(1, 400), Derived(|| format!("the day of the leg before, at first {}", route::FIRST_DAY)),
        "Day of the trip on which the leg is driven."),
    may("/legs/*/distance_km", number(Kilometres::UNIT, 0.0, 5000.0),
        Phrase("the track's length, else the straight line between the places, lengthened"),
        "Length by road; 0 is a stay."),
    may("/legs/*/surface", Kind::Choice(Surface::WORDS), Word(route::SURFACE.word()), "The ground outside sand."),
    may("/legs/*/sand_share", SHARE, Number(0.0), "Share of the distance in soft sand of a track."),
    may("/legs/*/dune_share", SHARE, Number(0.0), "Share of the distance in dunes without a track."),
    may("/legs/*/low_range_share", SHARE, Number(0.0), "Share of the distance in low range."),
    may("/legs/*/both_share", SHARE, Derived(both_share), "Share of the distance in sand or dunes and in low range at once."),
    may("/legs/*/aired_down", Kind::Flag, Flag(false), "Whether the tyres are let down."),
    may("/legs/*/speed_kmh", SPEED,
        Phrase("the trip's speed on the surface, else the usual one, the base speed on sealed roads"),
        "Speed outside sand and low range."),
    may("/legs/*/ascent_m", number(Metres::UNIT, 0.0, MOST_CLIMB), Phrase("the track's, else 0"),
        "All metres climbed."),
    may("/legs/*/descent_m", number(Metres::UNIT, 0.0, MOST_CLIMB), Phrase("the track's, else 0"),
        "All metres descended."),
    may("/legs/*/ascent_grade", GRADE, Phrase("the track's, else what climbs and descents ask for"),
        "Mean grade of the climbing parts, metres up for each metre along."),
    may("/legs/*/descent_grade", GRADE, Phrase("the track's, else what climbs and descents ask for"),
        "Mean grade of the descending parts, metres down for each metre along."),
    may("/legs/*/mean_altitude_m", ALTITUDE,
        Phrase("the track's, else from the start's altitude and all climbs and descents so far"),
        "Mean height above the sea."),
    may("/legs/*/temperature_c", TEMPERATURE, Phrase("that of the standard atmosphere at the leg's altitude"),
        "Temperature of the air."),
    may("/legs/*/headwind_kmh", number(KilometresPerHour::UNIT, -120.0, 120.0), Number(0.0),
        "Wind against the way at the vehicle's height; a tailwind is below 0."),
    may("/legs/*/wind_kmh", number(KilometresPerHour::UNIT, 0.0, 120.0), Number(0.0),
        "Wind that blows from `wind_from_deg`, at the vehicle's height; the leg's bearing makes it a headwind or a tailwind, added to `headwind_kmh`."),
    may("/legs/*/wind_from_deg", number(Degrees::UNIT, 0.0, 360.0), Nothing,
        "Direction that the wind blows from, clockwise from north: 270 is a west wind. The places of the leg need coordinates."),
    may("/legs/*/idle_h", number(Hours::UNIT, 0.0, 240.0), Number(0.0), "Hours with the engine running at rest."),
    may("/legs/*/camp_l_per_day", number(Litres::UNIT, 0.0, 50.0), Number(0.0),
        "Fuel of the vehicle that a heater, a stove or a generator takes on each day at the place, until the next leg."),
    may("/legs/*/aircon", Kind::Flag, Flag(false), "Whether the air-conditioning runs."),
    may("/legs/*/return", Kind::Object, Phrase(BY_PARTS), "Driving the leg the other way."),
    may("/legs/*/return/possible", Kind::Flag, Flag(true), "Whether it can be driven the other way."),
    may("/legs/*/return/factor", number(Factor::UNIT, 0.5, 5.0), Derived(return_factor),
        "Litres of the way back for each litre that the model gives it."),
    may("/legs/*/fuel", Kind::Object, Nothing,
        "Fuel that can be had at the place; an empty object is as much as one likes, for sure."),
    may("/legs/*/fuel/litres", number(Litres::UNIT, 0.0, 1_000_000.0), Phrase("as much as one likes"),
        "The most litres that can be had."),
    may("/legs/*/fuel/price_per_l", number(MoneyPerLitre::UNIT, 0.0, 10_000_000.0), Nothing, "Price of a litre."),
    may("/legs/*/fuel/chance", SHARE, Number(route::CHANCE.get()), "Chance that there is fuel."),
    may("/legs/*/fuel/rely", Kind::Choice(Rely::WORDS), Word(route::RELY.word()), RELY_HELP),
    may("/legs/*/fuel/detour_km", number(Kilometres::UNIT, 0.0, 1000.0), Number(0.0),
        "Extra way to the pump and back to the route."),
    may("/legs/*/fuel/note", NOTE, Nothing, "Anything to remember."),
    may("/legs/*/track", Kind::Track, Nothing, "The line that the leg follows."),
    may("/legs/*/note", NOTE, Nothing, "Anything to remember."),
];

fn both_share() -> String {
    let mostly = route::BOTH_OF_SMALLER.get();
    format!(
        "{mostly} of the smaller of the two shares and {:.1} of their product",
        1.0 - mostly
    )
}

fn return_factor() -> String {
    format!(
        "{} with sand, dunes, mud or rock, else {}",
        route::RETURN_FACTOR_SOFT.get(),
        route::RETURN_FACTOR_FIRM.get()
    )
}
