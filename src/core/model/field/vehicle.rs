//! Fields of the vehicle.

use super::IfAbsent::{Derived, Nothing, Number, Phrase, Word};
use super::row::{
    ALTITUDE, BY_PARTS, NAME, SHARE, TEMPERATURE, kg, may, must, number, of_tank, whole,
};
use super::{Field, Kind};
use crate::model::vehicle::AxlePlace;
use crate::model::vocabulary::{
    BaselineFrom, BaselineOdometer, BaselineTyres, CarryingPlace, Fuel, Induction, KerbFrom,
    RoofShape, Surface, Tread,
};
use crate::model::{route, vehicle};
use crate::quantity::{
    Bar, Factor, KilometresPerHour, Litres, LitresPer100Km, Metres, Millimetres, RevsPerKm,
    SquareMetres,
};

/// Metres forward of the rear axle.
const POSITION_X: Kind = number(Metres::UNIT, -3.0, 6.0);

#[rustfmt::skip] // A row is a field.
pub(super) static FIELDS: &[Field] = &[
    must("/vehicle", Kind::Object, "Vehicle: engine, tank, masses, tyres and baseline consumption."),
    may("/vehicle/name", NAME, Nothing, "Name of the vehicle."),
    must("/vehicle/fuel", Kind::Choice(Fuel::WORDS), "Fuel type of the engine."),
    may("/vehicle/induction", Kind::Choice(Induction::WORDS), Word(vehicle::INDUCTION.word()),
        "Naturally aspirated or turbocharged; only a natural engine loses power at altitude."),
    must("/vehicle/engine_l", number(Litres::UNIT, 0.5, 8.0), "Engine displacement."),
    may("/vehicle/cylinders", whole(1, 12), Derived(cylinders), "Number of cylinders."),
    may("/vehicle/stroke_mm", number(Millimetres::UNIT, 40.0, 130.0),
        Phrase("equal to the bore"),
        "Stroke of the pistons."),
    must("/vehicle/baseline_l_per_100km", number(LitresPer100Km::UNIT, 3.0, 40.0),
        "Baseline consumption: what the vehicle burns in the baseline conditions."),
    may("/vehicle/baseline_speed_kmh", number(KilometresPerHour::UNIT, 20.0, 130.0), Number(vehicle::BASELINE_SPEED.get()),
        "Steady speed of the baseline consumption, and the speed on sealed roads."),
    may("/vehicle/baseline_from", Kind::Choice(BaselineFrom::WORDS), Word(vehicle::BASELINE_FROM.word()),
        "Source of the baseline consumption, which sets its uncertainty."),
    may("/vehicle/baseline_conditions", Kind::Object, Phrase("the reference conditions"),
        "Baseline conditions: those in which the consumption was measured."),
    may("/vehicle/baseline_conditions/load_kg", kg(0.0, 3000.0), Number(vehicle::REFERENCE_LOAD.get()),
        "Load on board, beyond the kerb mass without a driver."),
    may("/vehicle/baseline_conditions/roof", Kind::Choice(RoofShape::WORDS), Word(RoofShape::None.word()),
        "Roof load in the baseline conditions."),
    may("/vehicle/baseline_conditions/tyres", Kind::Choice(BaselineTyres::WORDS), Word(BaselineTyres::Standard.word()),
        "Tyres in the baseline conditions."),
    may("/vehicle/baseline_conditions/altitude_m", ALTITUDE, Number(0.0), "Altitude above sea level."),
    may("/vehicle/baseline_conditions/temperature_c", TEMPERATURE, Derived(baseline_temperature), "Air temperature."),
    may("/vehicle/baseline_conditions/surface", Kind::Choice(Surface::WORDS), Word(route::SURFACE.word()), "Surface in the baseline conditions."),
    may("/vehicle/baseline_conditions/odometer", Kind::Choice(BaselineOdometer::WORDS), Word(BaselineOdometer::True.word()),
        "Whether the distance was true or the uncorrected odometer distance."),
    must("/vehicle/tank_l", number(Litres::UNIT, 10.0, 400.0), "Tank capacity, including unusable fuel."),
    may("/vehicle/unusable_l", number(Litres::UNIT, 0.0, 100.0), Derived(|| of_tank(vehicle::UNUSABLE_SHARE)),
        "Unusable fuel: what the fuel pickup cannot reach."),
    may("/vehicle/revs_per_km", number(RevsPerKm::UNIT, 800.0, 4500.0), Derived(revs_per_km),
        "Engine revolutions per kilometre in top gear, with the standard tyres."),
    may("/vehicle/drag_area_m2", number(SquareMetres::UNIT, 0.4, 4.0), Number(vehicle::DRAG_AREA.get()),
        "Drag area (drag coefficient times frontal area) with an empty roof."),
    may("/vehicle/driveline_efficiency", number(Factor::UNIT, 0.5, 1.0), Number(vehicle::DRIVELINE_EFFICIENCY.get()),
        "Share of the engine power that reaches the wheels."),
    must("/vehicle/kerb_mass_kg", kg(400.0, 6000.0), "Kerb mass: the empty vehicle with what the kerb mass includes."),
    may("/vehicle/kerb_from", Kind::Choice(KerbFrom::WORDS), Word(vehicle::KERB_FROM.word()),
        "Source of the kerb mass."),
    may("/vehicle/kerb_includes", Kind::Object, Phrase(BY_PARTS), "What the kerb mass includes."),
    may("/vehicle/kerb_includes/driver_kg", kg(0.0, 200.0), Number(0.0), "Driver included in the kerb mass."),
    may("/vehicle/kerb_includes/tank_share", SHARE, Number(vehicle::KERB_TANK_SHARE.get()),
        "Fuel included in the kerb mass, as a share of the tank."),
    may("/vehicle/kerb_includes/accessories_kg", kg(0.0, 2000.0), Number(0.0),
        "Accessories included in the kerb mass that are also listed as gear."),
    may("/vehicle/gvm_kg", kg(500.0, 9000.0), Nothing,
        "Gross vehicle mass (GVM): the limit for vehicle, people, fuel and gear."),
    may("/vehicle/roof_rating_kg", kg(0.0, 1000.0), Nothing,
        "Roof load limit on sealed roads, including the roof rack."),
    may("/vehicle/roof_rating_offroad_kg", kg(0.0, 1000.0),
        Derived(|| format!("the limit on sealed roads ÷ {}", vehicle::ROOF_OFF_ROAD_DIVISOR)),
        "Roof load limit off sealed roads, including the roof rack."),
    may("/vehicle/axles", Kind::Object, Nothing, "Axle loads: those at kerb mass, their limits, and where masses act."),
    may("/vehicle/axles/wheelbase_m", number(Metres::UNIT, 1.0, 6.0), Nothing, "Wheelbase: distance between the axles."),
    may("/vehicle/axles/front_kerb_kg", kg(50.0, 5000.0), Nothing,
        "Part of the kerb mass on the front axle."),
    may("/vehicle/axles/front_limit_kg", kg(100.0, 6000.0), Nothing, "Load limit of the front axle."),
    may("/vehicle/axles/rear_limit_kg", kg(100.0, 6000.0), Nothing, "Load limit of the rear axle."),
    may("/vehicle/axles/place_x_m", Kind::Object, Phrase(BY_PARTS),
        "Distance of each mass from the rear axle; positive is forward."),
    may("/vehicle/axles/place_x_m/front_seats", POSITION_X, Derived(|| of_wheelbase(AxlePlace::FrontSeats)),
        "People in the front seats: distance forward of the rear axle."),
    may("/vehicle/axles/place_x_m/rear_seats", POSITION_X, Derived(|| of_wheelbase(AxlePlace::RearSeats)),
        "People in the rear seats: distance forward of the rear axle."),
    may("/vehicle/axles/place_x_m/cabin", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Cabin))),
        "Gear in the cabin: distance forward of the rear axle."),
    may("/vehicle/axles/place_x_m/cargo", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Cargo))),
        "Gear in the cargo area: distance forward of the rear axle."),
    may("/vehicle/axles/place_x_m/rear", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Rear))),
        "Gear on the rear carrier: distance forward of the rear axle."),
    may("/vehicle/axles/place_x_m/roof", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Roof))),
        "Roof load: distance forward of the rear axle."),
    may("/vehicle/axles/place_x_m/tank", POSITION_X, Derived(|| of_wheelbase(AxlePlace::Tank)), "Fuel in the tank: distance forward of the rear axle."),
    may("/vehicle/tyres", Kind::Object, Phrase(BY_PARTS), "Tyres and their pressures."),
    may("/vehicle/tyres/standard", Kind::TyreSize, Nothing, "Standard tyre size, for which the odometer is correct."),
    may("/vehicle/tyres/fitted", Kind::TyreSize, Phrase("the standard size"),
        "Tyre size fitted for the trip."),
    may("/vehicle/tyres/tread", Kind::Choice(Tread::WORDS), Word(vehicle::TREAD.word()),
        "Tread of the tyres fitted for the trip."),
    may("/vehicle/tyres/road_bar", number(Bar::UNIT, 0.8, 6.0), Number(vehicle::ROAD_PRESSURE.get()),
        "Tyre pressure on the road."),
    may("/vehicle/tyres/soft_bar", number(Bar::UNIT, 0.4, 6.0), Derived(soft_pressure), "Tyre pressure when aired down."),
    may("/vehicle/tyres/load_rating_kg", kg(200.0, 3000.0), Nothing, "Load rating of one tyre, by its load index."),
    may("/vehicle/tyres/load_rating_bar", number(Bar::UNIT, 1.5, 8.0), Nothing,
        "Pressure of the load rating; if it is not set, the road pressure is not checked."),
    may("/vehicle/odometer_factor", number(Factor::UNIT, 0.7, 1.4),
        Phrase("from the tyre sizes, or 1"),
        "Odometer correction: true distance divided by odometer distance."),
];

fn of_wheelbase(place: AxlePlace) -> String {
    format!("{} × the wheelbase", place.wheelbase_share().get())
}

fn cylinders() -> String {
    format!(
        "{}; 3 below {} L, 6 above {} L",
        vehicle::CYLINDERS,
        vehicle::SMALL_ENGINE.get(),
        vehicle::LARGE_ENGINE.get()
    )
}

fn baseline_temperature() -> String {
    format!(
        "standard atmosphere, {} °C at sea level",
        vehicle::REFERENCE_TEMPERATURE.get()
    )
}

fn revs_per_km() -> String {
    format!(
        "{} for petrol, {} for diesel",
        vehicle::REVS_PER_KM_PETROL.get(),
        vehicle::REVS_PER_KM_DIESEL.get()
    )
}

fn soft_pressure() -> String {
    format!(
        "{}, or the road pressure if lower",
        vehicle::SOFT_PRESSURE.get()
    )
}
