//! Fields of the trip itself: its head, its rules, and its tail of what-ifs and readings.

use super::IfAbsent::{Derived, Flag, Nothing, Number, Phrase, Whole, Word};
use super::row::{
    BY_PARTS, CANS, CHOICES, NAME, ODOMETER, SPEED, TANK, list, may, must, number, of_tank, text,
    whole,
};
use super::{Field, Kind, MOST_ITEMS};
use crate::model::trip::FORMAT_VERSION;
use crate::model::vocabulary::{Measured, Objective, UnconfirmedStops, UnitSystem};
use crate::model::{log, rules};
use crate::quantity::{Factor, Hours, Kilometres, Litres, Percent};

/// The greatest whole number that every reader of JSON keeps exactly (RFC 7493, section 2.2).
const MOST_EXACT: u64 = (1 << 53) - 1;

#[rustfmt::skip] // A row is a field.
pub(super) static HEAD: &[Field] = &[
    must("/drystage", whole(FORMAT_VERSION as u64, FORMAT_VERSION as u64), "Version of the format."),
    may("/name", NAME, Nothing, "Name of the trip."),
];

#[rustfmt::skip] // A row is a field.
pub(super) static RULES: &[Field] = &[
    may("/rules", Kind::Object, Phrase(BY_PARTS), "The rules that the plan keeps."),
    may("/rules/reserve", Kind::Object, Phrase(BY_PARTS), "What must still be usable anywhere on the way."),
    may("/rules/reserve/litres", number(Litres::UNIT, 0.0, 400.0), Derived(|| of_tank(rules::RESERVE_TANK_SHARE)),
        "Litres of the fixed part."),
    may("/rules/reserve/km", number(Kilometres::UNIT, 0.0, 2000.0), Number(0.0),
        "Kilometres of the fixed part; the larger of both counts."),
    may("/rules/contingency_percent", number(Percent::UNIT, 0.0, 200.0), Number(rules::CONTINGENCY_PERCENT.get()),
        "Added to all use still ahead to the next counted stop."),
    may("/rules/success_target", number(Factor::UNIT, 0.5, 0.999), Number(rules::SUCCESS_TARGET.get()),
        "How surely the whole trip shall go through."),
    may("/rules/unconfirmed_stops", Kind::Choice(UnconfirmedStops::WORDS), Word(rules::UNCONFIRMED_STOPS.word()),
        "What to do about stops that may be dry."),
    may("/rules/start_l", TANK, Phrase("a full tank"),
        "Litres in the tank at the start, unusable ones included."),
    may("/rules/start_cans_l", CANS, Number(0.0), "Litres already in cans at the start."),
    may("/rules/objective", Kind::Choice(Objective::WORDS), Word(rules::OBJECTIVE.word()),
        "What the fill plan is after."),
    may("/rules/longest_day_h", number(Hours::UNIT, 0.5, 24.0), Number(rules::LONGEST_DAY.get()),
        "The most hours at the wheel on one day."),
    may("/rules/speeds_kmh", Kind::Object, Phrase(BY_PARTS), "The speed on each surface, where a leg states none."),
    may("/rules/speeds_kmh/sealed", SPEED, Phrase("the base speed"), "Speed on sealed road."),
    may("/rules/speeds_kmh/gravel", SPEED, Phrase("the usual speed"), "Speed on gravel."),
    may("/rules/speeds_kmh/corrugated", SPEED, Phrase("the usual speed"), "Speed on corrugated gravel."),
    may("/rules/speeds_kmh/earth", SPEED, Phrase("the usual speed"), "Speed on earth."),
    may("/rules/speeds_kmh/rock", SPEED, Phrase("the usual speed"), "Speed on rock."),
    may("/rules/speeds_kmh/mud", SPEED, Phrase("the usual speed"), "Speed on mud."),
    may("/rules/speeds_kmh/salt", SPEED, Phrase("the usual speed"), "Speed on salt."),
    may("/rules/speeds_kmh/snow", SPEED, Phrase("the usual speed"), "Speed on snow."),
    may("/rules/water_l_per_person_day", number(Litres::UNIT, 0.0, 50.0), Number(rules::WATER_PER_PERSON_DAY.get()),
        "Drinking water that each person needs a day."),
    may("/rules/most_in_cans_l", CANS, Nothing, "The most litres that may be carried in cans, by law or by choice."),
    may("/rules/currency", text(12), Nothing, "Currency of the prices."),
    may("/rules/units", Kind::Choice(UnitSystem::WORDS), Word(rules::UNITS.word()), "Units of display."),
    may("/rules/seed", whole(0, MOST_EXACT), Whole(rules::SEED), "Seed of the random draws."),
];

#[rustfmt::skip] // A row is a field.
pub(super) static TAIL: &[Field] = &[
    may("/what_ifs", CHOICES, Phrase("none"), "Changes that are kept under a name."),
    may("/what_ifs/*", Kind::Object, Nothing, "A change that can be tried at any time."),
    must("/what_ifs/*/name", NAME, "What the change is called."),
    must("/what_ifs/*/change", Kind::Patch, "The operations, applied in order, all or none."),
    may("/log", list(0, MOST_ITEMS), Phrase("no readings"), "What was read off on the way."),
    may("/log/*", Kind::Object, Nothing, "One reading at a place."),
    must("/log/*/place_number", whole(0, 1_000_000), "Number of the place, or of the last one passed; the start is 0."),
    must("/log/*/odometer_km", ODOMETER, "What the odometer shows."),
    must("/log/*/tank_left_l", TANK, "All that is left in the tank, unusable litres included."),
    may("/log/*/cans_left_l", CANS, Number(0.0), "What is left in cans."),
    may("/log/*/how", Kind::Choice(Measured::WORDS), Word(log::MEASURED.word()), "How the tank was measured."),
    may("/log/*/filled_l", CANS, Number(0.0), "What was then taken on there."),
    may("/log/*/dry", Kind::Flag, Flag(false),
        "Whether the pump of the place was found dry; no visit to it is counted on any more."),
    may("/log/*/to_next_km", number(Kilometres::UNIT, 0.0, 5000.0), Nothing,
        "Where it was read between two places, off the plan, or before a detour: kilometres from there to the next \
         place, by the way that will be driven."),
    may("/log/*/place", NAME, Nothing, "What it is called there, if it is no place of the plan."),
];
