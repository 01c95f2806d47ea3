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
use crate::quantity::{Factor, Hours, Kilometres, Litres, Minutes, Percent};

/// The greatest whole number that every reader of JSON keeps exactly (RFC 7493, section 2.2).
const MOST_EXACT: u64 = (1 << 53) - 1;

#[rustfmt::skip] // A row is a field.
pub(super) static HEAD: &[Field] = &[
    must("/drystage", whole(FORMAT_VERSION as u64, FORMAT_VERSION as u64), "Version of the file format."),
    may("/name", NAME, Nothing, "Name of the trip."),
    may("/notice", text(400), Nothing, "Notice that goes with the data of others in the trip; every report prints it."),
];

#[rustfmt::skip] // A row is a field.
pub(super) static RULES: &[Field] = &[
    may("/rules", Kind::Object, Phrase(BY_PARTS), "Rules of the plan: reserve, success target, speeds and limits."),
    may("/rules/reserve", Kind::Object, Phrase(BY_PARTS), "Reserve: usable fuel to have on board on arrival at every fuel stop and at the finish."),
    may("/rules/reserve/litres", number(Litres::UNIT, 0.0, 400.0), Derived(|| of_tank(rules::RESERVE_TANK_SHARE)),
        "Reserve in litres."),
    may("/rules/reserve/km", number(Kilometres::UNIT, 0.0, 2000.0), Number(0.0),
        "Reserve as a distance; the larger of the two reserves applies."),
    may("/rules/contingency_percent", number(Percent::UNIT, 0.0, 200.0), Number(rules::CONTINGENCY_PERCENT.get()),
        "Contingency: extra fuel to have on board, as a percentage of the fuel still to be burnt before the next fuel stop."),
    may("/rules/success_target", number(Factor::UNIT, 0.5, 0.999), Number(rules::SUCCESS_TARGET.get()),
        "Success target: the share of simulated trips that must arrive with the reserve intact."),
    may("/rules/unconfirmed_stops", Kind::Choice(UnconfirmedStops::WORDS), Word(rules::UNCONFIRMED_STOPS.word()),
        "Unconfirmed fuel stops: skip (carry enough to pass them) or turn-back (rely on them if you can return)."),
    may("/rules/start_l", TANK, Phrase("a full tank"),
        "Fuel in the tank at the start, including unusable fuel."),
    may("/rules/start_cans_l", CANS, Number(0.0), "Fuel already in cans at the start."),
    may("/rules/objective", Kind::Choice(Objective::WORDS), Word(rules::OBJECTIVE.word()),
        "Objective of the fills where they can be chosen."),
    may("/rules/longest_day_h", number(Hours::UNIT, 0.5, 24.0), Number(rules::LONGEST_DAY.get()),
        "Longest driving time in one day."),
    may("/rules/halt_min_per_h", number(Minutes::UNIT, 0.0, 240.0), Number(rules::HALTS.get()),
        "Halts for each hour of driving, for the times of arrival."),
    may("/rules/speeds_kmh", Kind::Object, Phrase(BY_PARTS), "Speed on each surface, for legs that set none."),
    may("/rules/speeds_kmh/sealed", SPEED, Phrase("the baseline speed"), "Speed on sealed road."),
    may("/rules/speeds_kmh/gravel", SPEED, Phrase("the usual speed"), "Speed on gravel."),
    may("/rules/speeds_kmh/corrugated", SPEED, Phrase("the usual speed"), "Speed on corrugated gravel."),
    may("/rules/speeds_kmh/earth", SPEED, Phrase("the usual speed"), "Speed on earth."),
    may("/rules/speeds_kmh/rock", SPEED, Phrase("the usual speed"), "Speed on rock."),
    may("/rules/speeds_kmh/mud", SPEED, Phrase("the usual speed"), "Speed on mud."),
    may("/rules/speeds_kmh/salt", SPEED, Phrase("the usual speed"), "Speed on salt."),
    may("/rules/speeds_kmh/snow", SPEED, Phrase("the usual speed"), "Speed on snow."),
    may("/rules/water_l_per_person_day", number(Litres::UNIT, 0.0, 50.0), Number(rules::WATER_PER_PERSON_DAY.get()),
        "Drinking water needed for each person and day."),
    may("/rules/most_in_cans_l", CANS, Nothing, "Largest amount of fuel in cans, by law or by choice."),
    may("/rules/currency", text(12), Nothing, "Currency of the prices, such as EUR."),
    may("/rules/units", Kind::Choice(UnitSystem::WORDS), Word(rules::UNITS.word()), "Display units."),
    may("/rules/seed", whole(0, MOST_EXACT), Whole(rules::SEED), "Random seed of the simulation; the same seed gives the same result."),
];

#[rustfmt::skip] // A row is a field.
pub(super) static TAIL: &[Field] = &[
    may("/what_ifs", CHOICES, Phrase("none"), "Saved what-ifs."),
    may("/what_ifs/*", Kind::Object, Nothing, "One what-if: a named set of changes to the trip."),
    must("/what_ifs/*/name", NAME, "Name of the what-if."),
    must("/what_ifs/*/change", Kind::Patch, "JSON Patch operations (RFC 6902); all are applied in order, or none."),
    may("/log", list(0, MOST_ITEMS), Phrase("no readings"), "Trip log: the fuel readings taken under way."),
    may("/log/*", Kind::Object, Nothing, "One fuel reading."),
    must("/log/*/place_number", whole(0, 1_000_000), "Number of the place, or of the last place passed; the start is 0."),
    must("/log/*/odometer_km", ODOMETER, "Odometer reading."),
    must("/log/*/tank_left_l", TANK, "Fuel in the tank before filling, including unusable fuel."),
    may("/log/*/cans_left_l", CANS, Number(0.0), "Fuel in cans before filling."),
    may("/log/*/how", Kind::Choice(Measured::WORDS), Word(log::MEASURED.word()), "How the tank was measured."),
    may("/log/*/filled_l", CANS, Number(0.0), "Fuel filled there after the reading, tank and cans together."),
    may("/log/*/dry", Kind::Flag, Flag(false),
        "Whether the fuel stop had no fuel; the plan no longer relies on it."),
    may("/log/*/to_next_km", number(Kilometres::UNIT, 0.0, 5000.0), Nothing,
        "Distance from there to the next place by the route that will be driven; for a reading between two places, \
         outside the plan, or before a detour."),
    may("/log/*/place", NAME, Nothing, "Name of the place, if it is outside the plan."),
];
