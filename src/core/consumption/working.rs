//! The printed calculation of one leg: every number between its inputs and its litres, so that it can be redone by
//! hand. Nothing is computed here that the formula does not compute; units are those of a workshop rather
//! than SI (km/h, kW, 1/min, bar, litres).

use crate::quantity::{
    Bar, Celsius, Factor, Grade, Hours, Kilograms, KilogramsPerCubicMetre, KilogramsPerLitre,
    Kilometres, KilometresPerHour, Kilowatts, Litres, LitresPerHour, MegajoulesPerLitre,
    MetresPerSecond, MetresPerSecond2, Millimetres, Newtons, RevsPerKm, RevsPerMinute, Share,
    SquareMetres,
};

use super::drive::{self, LegPart};
pub use super::drive::{Regime, Slope};
use super::engine;
use super::leg::LegFormula;

/// Everything that a leg's litres are made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Working {
    /// Mass of everything but usable fuel.
    pub dry_mass: Kilograms,
    /// Usable fuel on board, held steady at its mean over the leg.
    pub on_board: Litres,
    /// Mass of a litre of it.
    pub fuel_density: KilogramsPerLitre,
    /// Mass of vehicle, load and fuel.
    pub mass: Kilograms,
    /// Standard gravity, the same everywhere.
    pub gravity: MetresPerSecond2,
    /// Density of the air.
    pub air_density: KilogramsPerCubicMetre,
    /// Wind against the way.
    pub head_wind: KilometresPerHour,
    /// Drag area of the bare vehicle.
    pub drag_area: SquareMetres,
    /// Drag area on the roof.
    pub roof_area: SquareMetres,
    /// Part of the crank's power that reaches the wheels.
    pub driveline: Share,
    /// What accessories take at the crank.
    pub accessories: Kilowatts,
    /// Rolling resistance of the ground on a road tread at road pressure.
    pub ground_resistance: Factor,
    /// Factor of the tread on it; 1 on ground that is not firm.
    pub tread: Factor,
    /// Factor of the pressure on it, in high and in low range; 1 on ground that is not firm, or at road pressure.
    pub pressure: [Factor; 2],
    /// Rolling resistance of soft sand, and of dunes, at the pressure driven.
    pub soft_resistances: [Factor; 2],
    /// Factor of that pressure in them.
    pub sand_pressure: Factor,
    /// Kelvins below the reference temperature.
    pub cold: Celsius,
    /// Factor of the cold on the litres of every part.
    pub cold_factor: Factor,
    /// Litres of cold starts, before the scale factor.
    pub starts: Litres,
    /// The engine's size and the lines of its fuel model.
    pub engine: EngineWorking,
    /// Litres really burnt for each litre of the unscaled formula.
    pub k: Factor,
    /// The leg's parts, each evenly driven.
    pub parts: Vec<PartWorking>,
    /// Time at rest with the engine running.
    pub idling: Hours,
    /// What is used at rest besides: heater, stove, generator.
    pub camp: Litres,
    /// The engine while it idles.
    pub idle: EngineState,
    /// Litres of the whole leg.
    pub litres: Litres,
}

/// The engine's own numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EngineWorking {
    /// Swept volume of all cylinders.
    pub swept: Litres,
    /// Stroke of a piston.
    pub stroke: Millimetres,
    /// Turns for each kilometre in the highest gear on the tyres that are fitted.
    pub revs_per_km: RevsPerKm,
    /// Coefficients a, b, c, a2, l, l2 of the Willans line.
    pub line: [Factor; 6],
    /// Mean effective pressure up to which it is worked in this air.
    pub working_pme: Bar,
    /// Lowest comfortable speed in high range, and in low range.
    pub lowest: [RevsPerMinute; 2],
    /// Lowest speed in dunes.
    pub in_dunes: RevsPerMinute,
    /// Highest speed that a driver uses.
    pub highest: RevsPerMinute,
    /// Energy in a litre.
    pub energy: MegajoulesPerLitre,
}

/// The engine at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EngineState {
    /// Power at the crank.
    pub power: Kilowatts,
    /// Speed of the crankshaft.
    pub revs: RevsPerMinute,
    /// Mean speed of the pistons.
    pub piston_speed: MetresPerSecond,
    /// Mean effective pressure at the crank.
    pub pme: Bar,
    /// Mean effective pressure of the fuel's energy.
    pub pmf: Bar,
    /// Before the scale factor.
    pub rate: LitresPerHour,
}

/// One part of the leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartWorking {
    /// Sand and low range.
    pub regime: Regime,
    /// Which way it leans.
    pub lean: Slope,
    /// Length of the part.
    pub distance: Kilometres,
    /// Downhill is negative.
    pub grade: Grade,
    /// Coefficient of rolling resistance.
    pub resistance: Factor,
    /// Mean acceleration of unsteady driving.
    pub unsteadiness: MetresPerSecond2,
    /// The speed that was wanted.
    pub wanted: KilometresPerHour,
    /// The speed that the engine holds.
    pub speed: KilometresPerHour,
    /// Tractive forces: rolling, air, unsteadiness, slope.
    pub forces: [Newtons; 4],
    /// The engine while the part is driven.
    pub engine: EngineState,
    /// Driving time on it.
    pub time: Hours,
    /// Litres on it, before the scale factor.
    pub litres: Litres,
}

impl LegFormula {
    /// The working of the leg, driven as planned, with a steady `on_board`.
    pub fn working(&self, on_board: Litres) -> Working {
        let machine = &self.formula.machine;
        let drive = self.loaded(on_board);
        let [tread, pressure] = drive.tyre_factors(Regime::Plain);
        let [_, low_range_pressure] = drive.tyre_factors(Regime::LowRange);
        let line = machine.engine.line;
        let rpm = |revs: f64| RevsPerMinute::new(revs * 60.0);
        Working {
            dry_mass: Kilograms::new(self.drive.mass),
            on_board,
            fuel_density: KilogramsPerLitre::new(self.formula.kg_per_l),
            mass: Kilograms::new(drive.mass),
            gravity: MetresPerSecond2::new(drive::GRAVITY),
            air_density: KilogramsPerCubicMetre::new(drive.density),
            head_wind: KilometresPerHour::new(drive.head_wind * 3.6),
            drag_area: SquareMetres::new(machine.drag_area),
            roof_area: SquareMetres::new(drive.roof_area),
            driveline: Share::new(machine.driveline),
            accessories: Kilowatts::new(drive.accessories / 1000.0),
            ground_resistance: Factor::new(drive.crr),
            tread: Factor::new(tread),
            pressure: [pressure, low_range_pressure].map(Factor::new),
            soft_resistances: drive.soft_resistances().map(Factor::new),
            sand_pressure: Factor::new(drive.sand_tyre_factor()),
            cold: Celsius::new(drive.cold),
            cold_factor: Factor::new(drive.cold_factor()),
            starts: Litres::new(drive.start_litres(machine)),
            engine: EngineWorking {
                swept: Litres::new(machine.engine.swept * 1000.0),
                stroke: Millimetres::new(machine.engine.stroke * 1000.0),
                revs_per_km: RevsPerKm::new(machine.turns_per_m * 1000.0 / drive.tyres.ratio),
                line: [line.a, line.b, line.c, line.a2, line.l, line.l2].map(Factor::new),
                working_pme: Bar::new(machine.engine.working_pme(drive.density)),
                lowest: machine.engine.lowest.map(rpm),
                in_dunes: rpm(machine.engine.in_dunes),
                highest: rpm(machine.engine.highest),
                energy: MegajoulesPerLitre::new(machine.engine.energy / 1e6),
            },
            k: Factor::new(self.k()),
            parts: drive.parts(machine).map(part_working).collect(),
            idling: Hours::new(drive.idling / 3600.0),
            camp: Litres::new(drive.camp),
            idle: state(
                drive.accessories,
                machine.engine.idling(drive.accessories, drive.density),
            ),
            litres: self.litres_at(on_board),
        }
    }
}

fn part_working(part: LegPart) -> PartWorking {
    let kmh = |speed: f64| KilometresPerHour::new(speed * 3.6);
    PartWorking {
        regime: part.regime,
        lean: part.lean,
        distance: Kilometres::new(part.distance / 1000.0),
        grade: Grade::new(part.grade),
        resistance: Factor::new(part.crr),
        unsteadiness: MetresPerSecond2::new(part.unsteadiness),
        wanted: kmh(part.wanted),
        speed: kmh(part.speed),
        forces: part.forces.map(Newtons::new),
        engine: state(part.power, part.working),
        time: Hours::new(part.time / 3600.0),
        litres: Litres::new(part.litres),
    }
}

/// `power` in W.
fn state(power: f64, working: engine::Working) -> EngineState {
    EngineState {
        power: Kilowatts::new(power / 1000.0),
        revs: RevsPerMinute::new(working.revs * 60.0),
        piston_speed: MetresPerSecond::new(working.piston_speed),
        pme: Bar::new(working.pme),
        pmf: Bar::new(working.pmf),
        rate: LitresPerHour::new(working.litres_per_s * 3600.0),
    }
}
