//! Fields of the start and the legs.

use super::IfAbsent::{Derived, Flag, Nothing, Number, Phrase, Word};
use super::row::{
    ALTITUDE, BY_PARTS, LATITUDE, LONGITUDE, NAME, NOTE, ODOMETER, SHARE, SPEED, TEMPERATURE, list,
    may, must, number, whole,
};
use super::{Field, Kind, MOST_ITEMS};
use crate::model::route;
use crate::model::vocabulary::{Hazard, Rely, Surface, SurfaceFrom};
use crate::quantity::{
    Degrees, Factor, Grade, Hours, Kilometres, KilometresPerHour, Litres, Metres, MoneyPerLitre,
};

/// More than any leg climbs.
const MOST_CLIMB: f64 = 100_000.0;
/// From nearly level to steeper than wheels can climb.
pub(in crate::model) const GRADE: Kind = number(Grade::UNIT, 0.005, 0.6);

/// At a chance that equals the target, no trip could fail for any other reason.
const RELY_HELP: &str = "Whether the plan relies on this fuel stop. auto: only if all fuel stops relied on have fuel, \
                         together, more often than the success target.";
const FUEL_HELP: &str =
    "Fuel for sale at the place; an empty object {} means unlimited and confirmed.";

#[rustfmt::skip] // A row is a field.
pub(super) static FIELDS: &[Field] = &[
    must("/start", Kind::Object, "The start of the trip, place 0."),
    must("/start/name", NAME, "Name of the place."),
    may("/start/lat", LATITUDE, Nothing, "Latitude in degrees north (WGS 84)."),
    may("/start/lon", LONGITUDE, Nothing, "Longitude in degrees east (WGS 84)."),
    may("/start/altitude_m", ALTITUDE, Number(0.0), "Altitude above sea level."),
    may("/start/odometer_km", ODOMETER, Nothing, "Odometer reading at the start."),
    may("/start/date", Kind::Date, Nothing, "Date of day 1. With the UTC offset and coordinates it gives sunrise, sunset and arrivals."),
    may("/start/utc_offset", Kind::UtcOffset, Nothing, "What local time is ahead of UTC, for the whole trip."),
    may("/start/fuel", Kind::Object, Nothing, FUEL_HELP),
    may("/start/fuel/litres", number(Litres::UNIT, 0.0, 1_000_000.0), Phrase("unlimited"),
        "Stock: the largest amount of fuel on sale."),
    may("/start/fuel/price_per_l", number(MoneyPerLitre::UNIT, 0.0, 10_000_000.0), Nothing, "Price per litre."),
    may("/start/fuel/chance", SHARE, Number(route::CHANCE.get()), "Chance of fuel; 100 % is a confirmed fuel stop."),
    may("/start/fuel/rely", Kind::Choice(Rely::WORDS), Word(route::RELY.word()), RELY_HELP),
    may("/start/fuel/detour_km", number(Kilometres::UNIT, 0.0, 1000.0), Number(0.0),
        "Detour from the route to the fuel stop and back."),
    may("/start/fuel/note", NOTE, Nothing, "Note."),
    must("/legs", list(0, MOST_ITEMS), "Legs in driving order; an empty list describes a vehicle, load and rules alone."),
    may("/legs/*", Kind::Object, Nothing, "One leg: from the place before to the place that it names."),
    must("/legs/*/to", NAME, "Name of the place where the leg ends; the same name means the same place."),
    may("/legs/*/lat", LATITUDE, Nothing, "Latitude in degrees north (WGS 84)."),
    may("/legs/*/lon", LONGITUDE, Nothing, "Longitude in degrees east (WGS 84)."),
    may("/legs/*/day", whole(1, 400), Derived(|| format!("the day of the leg before; {} on leg 1", route::FIRST_DAY)),
        "Day of the trip on which the leg is driven."),
    may("/legs/*/distance_km", number(Kilometres::UNIT, 0.0, 5000.0),
        Phrase("from the track, or from the straight line"),
        "Distance by road; 0 is a rest stop or camp day."),
    may("/legs/*/surface", Kind::Choice(Surface::WORDS), Word(route::SURFACE.word()), "Surface of the leg apart from its sand and dunes."),
    may("/legs/*/surface_known_share", SHARE, Number(route::SURFACE_KNOWN.get()),
        "Share of the distance whose surface is known; on the rest the simulation varies it among those of the trip."),
    may("/legs/*/surface_from", Kind::Choice(SurfaceFrom::WORDS), Word(SurfaceFrom::Own.word()), "Where the surface comes from."),
    may("/legs/*/hazards", list(0, Hazard::WORDS.len()), Phrase("none"), "What may stop or endanger the vehicle on the leg, or costs money."),
    may("/legs/*/hazards/*", Kind::Choice(Hazard::WORDS), Nothing, "One hazard."),
    may("/legs/*/sand_share", SHARE, Number(0.0), "Share of the distance in soft sand on a track."),
    may("/legs/*/dune_share", SHARE, Number(0.0), "Share of the distance in dunes, without a track."),
    may("/legs/*/low_range_share", SHARE, Number(0.0), "Share of the distance in low range."),
    may("/legs/*/both_share", SHARE, Derived(both_share), "Share of the distance that is both in sand or dunes and in low range."),
    may("/legs/*/aired_down", Kind::Flag, Flag(false), "Whether the tyres are aired down."),
    may("/legs/*/speed_kmh", SPEED,
        Phrase("the trip's speed for the surface"),
        "Speed apart from sand and low range."),
    may("/legs/*/ascent_m", number(Metres::UNIT, 0.0, MOST_CLIMB), Phrase("from the track, or 0"),
        "Climb: all metres upward, added up."),
    may("/legs/*/descent_m", number(Metres::UNIT, 0.0, MOST_CLIMB), Phrase("from the track, or 0"),
        "Descent: all metres downward, added up."),
    may("/legs/*/ascent_grade", GRADE, Phrase("from the track, or to fit climb and descent"),
        "Average grade of the parts that climb."),
    may("/legs/*/descent_grade", GRADE, Phrase("from the track, or to fit climb and descent"),
        "Average grade of the parts that descend."),
    may("/legs/*/mean_altitude_m", ALTITUDE,
        Phrase("from the track, or from climbs and descents"),
        "Average altitude above sea level."),
    may("/legs/*/temperature_c", TEMPERATURE, Phrase("the standard atmosphere at the leg's altitude"),
        "Air temperature."),
    may("/legs/*/headwind_kmh", number(KilometresPerHour::UNIT, -120.0, 120.0), Number(0.0),
        "Headwind at the height of the vehicle; negative for a tailwind."),
    may("/legs/*/wind_kmh", number(KilometresPerHour::UNIT, 0.0, 120.0), Number(0.0),
        "Wind at the height of the vehicle, blowing from `wind_from_deg`; the bearing of the leg makes it a headwind or tailwind."),
    may("/legs/*/wind_from_deg", number(Degrees::UNIT, 0.0, 360.0), Nothing,
        "Direction that the wind blows from, clockwise from north: 270 is west. The places of the leg need coordinates."),
    may("/legs/*/idle_h", number(Hours::UNIT, 0.0, 240.0), Number(0.0), "Time with the engine idling."),
    may("/legs/*/camp_l_per_day", number(Litres::UNIT, 0.0, 50.0), Number(0.0),
        "Vehicle fuel that a heater, stove or generator burns on each day at the place."),
    may("/legs/*/aircon", Kind::Flag, Flag(false), "Whether the air-conditioning runs."),
    may("/legs/*/depart", Kind::ClockTime, Phrase("one hour after sunrise"),
        "Local time of departure; counts on the first leg of a day."),
    may("/legs/*/return", Kind::Object, Phrase(BY_PARTS), "Return over the leg, in the other direction."),
    may("/legs/*/return/possible", Kind::Flag, Flag(true), "Whether the leg can be driven in the other direction."),
    may("/legs/*/return/factor", number(Factor::UNIT, 0.5, 5.0), Derived(return_factor),
        "Multiplies the consumption calculated for the return over this leg."),
    may("/legs/*/fuel", Kind::Object, Nothing, FUEL_HELP),
    may("/legs/*/fuel/litres", number(Litres::UNIT, 0.0, 1_000_000.0), Phrase("unlimited"),
        "Stock: the largest amount of fuel on sale."),
    may("/legs/*/fuel/price_per_l", number(MoneyPerLitre::UNIT, 0.0, 10_000_000.0), Nothing, "Price per litre."),
    may("/legs/*/fuel/chance", SHARE, Number(route::CHANCE.get()), "Chance of fuel; 100 % is a confirmed fuel stop."),
    may("/legs/*/fuel/rely", Kind::Choice(Rely::WORDS), Word(route::RELY.word()), RELY_HELP),
    may("/legs/*/fuel/detour_km", number(Kilometres::UNIT, 0.0, 1000.0), Number(0.0),
        "Detour from the route to the fuel stop and back."),
    may("/legs/*/fuel/note", NOTE, Nothing, "Note."),
    may("/legs/*/track", Kind::Track, Nothing, "Track: the line on the map that the leg follows."),
    may("/legs/*/note", NOTE, Nothing, "Note."),
];

fn both_share() -> String {
    let mostly = route::BOTH_OF_SMALLER.get();
    format!(
        "{mostly} × the smaller share + {:.1} × their product",
        1.0 - mostly
    )
}

fn return_factor() -> String {
    format!(
        "{} with sand, dunes, mud or rock, otherwise {}",
        route::RETURN_FACTOR_SOFT.get(),
        route::RETURN_FACTOR_FIRM.get()
    )
}
