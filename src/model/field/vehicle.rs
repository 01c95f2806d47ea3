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
    must("/vehicle", Kind::Object, "The vehicle: engine, tank, masses, tyres, and the figure it is known to burn."),
    may("/vehicle/name", NAME, Nothing, "What the vehicle is called."),
    must("/vehicle/fuel", Kind::Choice(Fuel::WORDS), "What the engine burns."),
    may("/vehicle/induction", Kind::Choice(Induction::WORDS), Word(vehicle::INDUCTION.word()),
        "How the engine breathes; thin air takes power from a natural one."),
    must("/vehicle/engine_l", number(Litres::UNIT, 0.5, 8.0), "Swept volume of the engine."),
    may("/vehicle/cylinders", whole(1, 12), Derived(cylinders), "Number of cylinders."),
    may("/vehicle/stroke_mm", number(Millimetres::UNIT, 40.0, 130.0),
        Phrase("that of a square engine, whose bore equals its stroke"),
        "Stroke of the engine."),
    must("/vehicle/baseline_l_per_100km", number(LitresPer100Km::UNIT, 3.0, 40.0),
        "What the vehicle burns in the base condition."),
    may("/vehicle/baseline_speed_kmh", number(KilometresPerHour::UNIT, 20.0, 130.0), Number(vehicle::BASELINE_SPEED.get()),
        "Steady speed at which the base figure holds, also the speed on sealed roads."),
    may("/vehicle/baseline_from", Kind::Choice(BaselineFrom::WORDS), Word(vehicle::BASELINE_FROM.word()),
        "Where the base figure comes from, which decides how far it is trusted."),
    may("/vehicle/baseline_conditions", Kind::Object, Phrase("the reference condition"),
        "Under which conditions the base figure was measured."),
    may("/vehicle/baseline_conditions/load_kg", kg(0.0, 3000.0), Number(vehicle::REFERENCE_LOAD.get()),
        "Load over the kerb mass without a driver."),
    may("/vehicle/baseline_conditions/roof", Kind::Choice(RoofShape::WORDS), Word(RoofShape::None.word()),
        "What stood on the roof."),
    may("/vehicle/baseline_conditions/tyres", Kind::Choice(BaselineTyres::WORDS), Word(BaselineTyres::Standard.word()),
        "Which tyres were fitted."),
    may("/vehicle/baseline_conditions/altitude_m", ALTITUDE, Number(0.0), "Height above the sea."),
    may("/vehicle/baseline_conditions/temperature_c", TEMPERATURE, Derived(baseline_temperature), "Temperature of the air."),
    may("/vehicle/baseline_conditions/surface", Kind::Choice(Surface::WORDS), Word(route::SURFACE.word()), "The ground."),
    may("/vehicle/baseline_conditions/odometer", Kind::Choice(BaselineOdometer::WORDS), Word(BaselineOdometer::True.word()),
        "Whether the distance was true or as the odometer showed it."),
    must("/vehicle/tank_l", number(Litres::UNIT, 10.0, 400.0), "All that the tank holds."),
    may("/vehicle/unusable_l", number(Litres::UNIT, 0.0, 100.0), Derived(|| of_tank(vehicle::UNUSABLE_SHARE)),
        "What the pump cannot draw from the tank."),
    may("/vehicle/revs_per_km", number(RevsPerKm::UNIT, 800.0, 4500.0), Derived(revs_per_km),
        "Engine turns for each kilometre in top gear on the standard tyres."),
    may("/vehicle/drag_area_m2", number(SquareMetres::UNIT, 0.4, 4.0), Number(vehicle::DRAG_AREA.get()),
        "Drag coefficient times frontal area, nothing on the roof."),
    may("/vehicle/driveline_efficiency", number(Factor::UNIT, 0.5, 1.0), Number(vehicle::DRIVELINE_EFFICIENCY.get()),
        "Part of the crank's power that reaches the wheels."),
    must("/vehicle/kerb_mass_kg", kg(400.0, 6000.0), "Mass of the empty vehicle with what `kerb_includes` says."),
    may("/vehicle/kerb_from", Kind::Choice(KerbFrom::WORDS), Word(vehicle::KERB_FROM.word()),
        "Where the kerb mass comes from."),
    may("/vehicle/kerb_includes", Kind::Object, Phrase(BY_PARTS), "What the kerb mass already holds."),
    may("/vehicle/kerb_includes/driver_kg", kg(0.0, 200.0), Number(0.0), "Mass of the driver in it."),
    may("/vehicle/kerb_includes/tank_share", SHARE, Number(vehicle::KERB_TANK_SHARE.get()),
        "Part of the tank that was full."),
    may("/vehicle/kerb_includes/accessories_kg", kg(0.0, 2000.0), Number(0.0),
        "Accessories in it that the load lists again."),
    may("/vehicle/gvm_kg", kg(500.0, 9000.0), Nothing,
        "Gross vehicle mass: the most that vehicle and load may weigh."),
    may("/vehicle/roof_rating_kg", kg(0.0, 1000.0), Nothing,
        "What the roof may carry on sealed roads, the carrier counted."),
    may("/vehicle/roof_rating_offroad_kg", kg(0.0, 1000.0),
        Derived(|| format!("`roof_rating_kg` ÷ {}", vehicle::ROOF_OFF_ROAD_DIVISOR)),
        "What the roof may carry off sealed roads, the carrier counted."),
    may("/vehicle/axles", Kind::Object, Nothing, "Axle loads at kerb mass, their limits, and where masses act."),
    may("/vehicle/axles/wheelbase_m", number(Metres::UNIT, 1.0, 6.0), Nothing, "From axle to axle."),
    may("/vehicle/axles/front_kerb_kg", kg(50.0, 5000.0), Nothing,
        "Part of the kerb mass that stands on the front axle."),
    may("/vehicle/axles/front_limit_kg", kg(100.0, 6000.0), Nothing, "The most that the front axle may carry."),
    may("/vehicle/axles/rear_limit_kg", kg(100.0, 6000.0), Nothing, "The most that the rear axle may carry."),
    may("/vehicle/axles/place_x_m", Kind::Object, Phrase(BY_PARTS),
        "Metres forward of the rear axle at which masses act."),
    may("/vehicle/axles/place_x_m/front_seats", POSITION_X, Derived(|| of_wheelbase(AxlePlace::FrontSeats)),
        "The people in front."),
    may("/vehicle/axles/place_x_m/rear_seats", POSITION_X, Derived(|| of_wheelbase(AxlePlace::RearSeats)),
        "The people behind."),
    may("/vehicle/axles/place_x_m/cabin", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Cabin))),
        "Things among the passengers."),
    may("/vehicle/axles/place_x_m/cargo", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Cargo))),
        "Things in the load space."),
    may("/vehicle/axles/place_x_m/rear", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Rear))),
        "Things on the rear carrier."),
    may("/vehicle/axles/place_x_m/roof", POSITION_X,
        Derived(|| of_wheelbase(AxlePlace::Carried(CarryingPlace::Roof))),
        "Things on the roof."),
    may("/vehicle/axles/place_x_m/tank", POSITION_X, Derived(|| of_wheelbase(AxlePlace::Tank)), "Fuel in the tank."),
    may("/vehicle/tyres", Kind::Object, Phrase(BY_PARTS), "The tyres and their pressures."),
    may("/vehicle/tyres/standard", Kind::TyreSize, Nothing, "Size for which the odometer is right."),
    may("/vehicle/tyres/fitted", Kind::TyreSize, Phrase("the standard size"),
        "Size that is fitted for the trip."),
    may("/vehicle/tyres/tread", Kind::Choice(Tread::WORDS), Word(vehicle::TREAD.word()),
        "Tread that is fitted for the trip."),
    may("/vehicle/tyres/road_bar", number(Bar::UNIT, 0.8, 6.0), Number(vehicle::ROAD_PRESSURE.get()),
        "Pressure on the road."),
    may("/vehicle/tyres/soft_bar", number(Bar::UNIT, 0.4, 6.0), Derived(soft_pressure), "Pressure when aired down."),
    may("/vehicle/tyres/load_rating_kg", kg(200.0, 3000.0), Nothing, "What one tyre may carry, by its load index."),
    may("/vehicle/tyres/load_rating_bar", number(Bar::UNIT, 1.5, 8.0), Nothing,
        "Pressure at which it may carry that; without it nothing is said of the road pressure."),
    may("/vehicle/odometer_factor", number(Factor::UNIT, 0.7, 1.4),
        Phrase("diameter of the fitted tyre over that of the standard one, 1 where one is not stated"),
        "True distance for each unit that the odometer shows."),
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
        "that of the standard atmosphere at `altitude_m`, {} at sea level",
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
        "{}, or `road_bar` where that is less",
        vehicle::SOFT_PRESSURE.get()
    )
}
