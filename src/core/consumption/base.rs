//! The baseline consumption of the vehicle, and the factor k that scales the fuel formula to it.
//!
//! k is solved in the condition in which the figure was measured. Otherwise a figure from fills with rack and
//! load on board would count them twice.

use crate::model::vehicle::{BaselineConditions, REFERENCE_LOAD, REFERENCE_TEMPERATURE, Vehicle};
use crate::model::vocabulary::{BaselineOdometer, BaselineTyres, RoofShape, Surface};
use crate::quantity::{Celsius, Factor, Kilograms, KilometresPerHour, LitresPer100Km, Metres};

use super::drive::{ACCESSORIES, Drive, Machine, Rolling};
use super::{air, surface};

/// A factor outside this range shows that figure and vehicle do not belong together. Common practice, no source.
pub(crate) const USUAL_FACTORS: std::ops::RangeInclusive<f64> = 0.6..=1.6;

/// The figure that everything is scaled to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Base {
    /// Consumption in the baseline conditions: level sealed road, base speed, still standard air at sea level,
    /// kerb mass without driver plus 75 kg, nothing on the roof, standard tyres at road pressure. By the vehicle's own
    /// fill-ups where it was fitted to them, else as the stated figure has it.
    pub reference: LitresPer100Km,
    /// Litres really burnt for each litre of the unscaled formula.
    pub k: Factor,
    /// The speed that the engine holds in the base condition, and the base speed, where that is more.
    pub held: Option<(KilometresPerHour, KilometresPerHour)>,
}

/// Mass of the empty vehicle with what its kerb mass holds of fuel, and nobody in it.
pub(super) fn kerb_without_driver(vehicle: &Vehicle) -> Kilograms {
    vehicle.kerb_mass_kg - vehicle.kerb_driver()
}

/// Kelvins below the reference temperature.
pub(super) fn cold(temperature: Celsius) -> f64 {
    (REFERENCE_TEMPERATURE - temperature).get().max(0.0)
}

/// A hundred kilometres in `condition`, begun with a warm engine.
pub(super) fn hundred_km(vehicle: &Vehicle, condition: &BaselineConditions) -> Drive {
    let ground = surface::properties(condition.surface.unwrap_or(Surface::Sealed));
    let tyres = match condition.tyres.unwrap_or(BaselineTyres::Standard) {
        BaselineTyres::Standard => Rolling {
            ratio: 1.0,
            tread: 1.0,
            aired_down: None,
        },
        BaselineTyres::Fitted => Rolling {
            ratio: vehicle.tyre_ratio().get(),
            tread: surface::tread_factor(vehicle.tread()).get(),
            aired_down: None,
        },
    };
    let altitude = condition.altitude_m.unwrap_or(Metres::ZERO);
    let temperature = match (condition.temperature_c, condition.altitude_m) {
        (None, Some(_)) => None,
        (stated, _) => Some(stated.unwrap_or(REFERENCE_TEMPERATURE)),
    };
    Drive {
        distance: 100_000.0,
        crr: ground.resistance.likely.get(),
        sand_crr: surface::SAND.resistance.likely.get(),
        dune_crr: surface::DUNES.resistance.likely.get(),
        unsteadiness: ground.unsteadiness.get(),
        firm: ground.firm,
        speed: vehicle.baseline_speed().get() / 3.6,
        pace: 1.0,
        sand: 0.0,
        dunes: 0.0,
        low_range: 0.0,
        both: None,
        roof_area: surface::roof_drag(condition.roof.unwrap_or(RoofShape::None)).get(),
        mass: (kerb_without_driver(vehicle) + condition.load_kg.unwrap_or(REFERENCE_LOAD)).get(),
        climb: [0.0, super::terrain::LEAST_MEAN_GRADE.get()],
        descent: [0.0, super::terrain::LEAST_MEAN_GRADE.get()],
        density: air::density(altitude, temperature).get(),
        head_wind: 0.0,
        cold: temperature.map_or(0.0, cold),
        starts: 0.0,
        tyres,
        accessories: ACCESSORIES,
        idling: 0.0,
        camp: 0.0,
    }
}

impl Base {
    /// Scales the formula to the vehicle's baseline consumption.
    pub(crate) fn from_vehicle(vehicle: &Vehicle) -> Self {
        let machine = Machine::from_vehicle(vehicle);
        let condition = vehicle
            .baseline_conditions
            .as_ref()
            .unwrap_or(&BaselineConditions::REFERENCE);
        let measured = hundred_km(vehicle, condition);
        // A figure on the odometer's kilometres: each of them is so many true ones on the tyres of the baseline
        // consumption. `odometer_factor` holds for those that are fitted now.
        let true_km = match condition.odometer.unwrap_or(BaselineOdometer::True) {
            BaselineOdometer::True => 1.0,
            BaselineOdometer::Shown => {
                vehicle.odometer_factor().get() * measured.tyres.ratio / vehicle.tyre_ratio().get()
            }
        };
        let stated = vehicle.baseline_l_per_100km.get() / true_km;
        let k = stated / measured.litres(&machine);
        let fitted = vehicle
            .calibration
            .as_ref()
            .map_or(1.0, |fitted| fitted.base.get());
        let reference =
            fitted * k * hundred_km(vehicle, &BaselineConditions::REFERENCE).litres(&machine);
        Self {
            reference: LitresPer100Km::new(reference),
            k: Factor::new(k),
            held: measured.held(&machine),
        }
    }

    /// Whether figure and vehicle seem to belong together.
    pub(crate) fn is_usual(&self) -> bool {
        USUAL_FACTORS.contains(&self.k.get())
    }
}
