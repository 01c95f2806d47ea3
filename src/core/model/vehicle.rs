//! The vehicle: engine, tank, masses, tyres and baseline consumption.

use super::calibration::Calibration;
use super::tyre::TyreSize;
use super::vocabulary::{
    BaselineFrom, BaselineOdometer, BaselineTyres, CarryingPlace, Fuel, Induction, KerbFrom,
    RoofShape, Surface, Tread,
};
use crate::quantity::{
    Bar, Celsius, Factor, Kilograms, KilometresPerHour, Litres, LitresPer100Km, Metres,
    Millimetres, RevsPerKm, Share, SquareMetres,
};

/// Default induction of the engine.
pub(crate) const INDUCTION: Induction = Induction::Natural;
/// Cylinders, unless stated: 3 below [`SMALL_ENGINE`], 6 above [`LARGE_ENGINE`]. Common practice, no source.
pub(crate) const CYLINDERS: u32 = 4;
/// Swept volume below which an engine is taken to have 3 cylinders. Common practice, no source.
pub(crate) const SMALL_ENGINE: Litres = Litres::new(1.1);
/// Swept volume above which an engine is taken to have 6 cylinders. Common practice, no source.
pub(crate) const LARGE_ENGINE: Litres = Litres::new(3.2);
/// Default source of the baseline consumption: the one with the largest uncertainty.
pub(crate) const BASELINE_FROM: BaselineFrom = BaselineFrom::Guess;
/// Where the kerb mass comes from, unless stated.
pub(crate) const KERB_FROM: KerbFrom = KerbFrom::Book;
/// Tread of the tyres, unless stated.
pub(crate) const TREAD: Tread = Tread::Road;
/// Default speed of the baseline consumption. Common practice, no source.
pub const BASELINE_SPEED: KilometresPerHour = KilometresPerHour::new(90.0);
/// Drag area of a boxy small 4x4: 0.9 to 1.3 m². From memory.
pub(crate) const DRAG_AREA: SquareMetres = SquareMetres::new(1.1);
/// Manual box 92–97 % times hypoid axle 90–93 %: Joachim, Börner, Kurz, Gear Technology 2012.
pub(crate) const DRIVELINE_EFFICIENCY: Share = Share::new(0.865);
/// Part of the tank that a kerb mass includes: ISO 1176 and Reg. (EU) 1230/2012 require at least 90 %.
pub(crate) const KERB_TANK_SHARE: Share = Share::new(0.9);
/// Unusable fuel as a share of the tank. Common practice, no source.
pub(crate) const UNUSABLE_SHARE: Share = Share::new(0.04);
/// Engine turns a kilometre in top gear. Common practice, no source.
pub(crate) const REVS_PER_KM_PETROL: RevsPerKm = RevsPerKm::new(2000.0);
/// Engine turns a kilometre in top gear. Common practice, no source.
pub(crate) const REVS_PER_KM_DIESEL: RevsPerKm = RevsPerKm::new(1600.0);
/// A roof rated on the road only carries two thirds of it off the road. Common practice, no source.
pub(crate) const ROOF_OFF_ROAD_DIVISOR: f64 = 1.5;
/// Load over kerb mass in the reference conditions: one driver.
pub const REFERENCE_LOAD: Kilograms = Kilograms::new(75.0);
/// Temperature of the reference conditions (ISO 2533 at sea level).
pub(crate) const REFERENCE_TEMPERATURE: Celsius = Celsius::new(15.0);
/// Tyre pressure on the road. Common practice, no source.
pub const ROAD_PRESSURE: Bar = Bar::new(2.0);
/// Tyre pressure in soft ground. Common practice, no source.
pub(crate) const SOFT_PRESSURE: Bar = Bar::new(1.2);

stated! {
    /// A vehicle as its owner states it.
    pub struct Vehicle {
        pub name: Option<String>,
        pub fuel: Fuel,
        pub induction: Option<Induction>,
        pub engine_l: Litres,
        pub cylinders: Option<u32>,
        pub stroke_mm: Option<Millimetres>,
        pub baseline_l_per_100km: LitresPer100Km,
        pub baseline_speed_kmh: Option<KilometresPerHour>,
        pub baseline_from: Option<BaselineFrom>,
        pub baseline_conditions: Option<BaselineConditions>,
        pub tank_l: Litres,
        pub unusable_l: Option<Litres>,
        pub revs_per_km: Option<RevsPerKm>,
        pub drag_area_m2: Option<SquareMetres>,
        pub driveline_efficiency: Option<Share>,
        pub kerb_mass_kg: Kilograms,
        pub kerb_from: Option<KerbFrom>,
        pub kerb_includes: Option<KerbIncludes>,
        pub gvm_kg: Option<Kilograms>,
        pub roof_rating_kg: Option<Kilograms>,
        pub roof_rating_offroad_kg: Option<Kilograms>,
        pub axles: Option<Axles>,
        pub tyres: Option<Tyres>,
        pub odometer_factor: Option<Factor>,
        pub calibration: Option<Calibration>,
    }

    /// Baseline conditions: those in which the consumption was measured.
    #[derive(Default)]
    pub struct BaselineConditions {
        pub load_kg: Option<Kilograms>,
        pub roof: Option<RoofShape>,
        pub tyres: Option<BaselineTyres>,
        pub altitude_m: Option<Metres>,
        pub temperature_c: Option<Celsius>,
        pub surface: Option<Surface>,
        pub odometer: Option<BaselineOdometer>,
    }

    /// What the kerb mass includes.
    #[derive(Default)]
    pub struct KerbIncludes {
        pub driver_kg: Option<Kilograms>,
        pub tank_share: Option<Share>,
        pub accessories_kg: Option<Kilograms>,
    }

    /// Axle loads at kerb mass, their limits, and where masses act.
    #[derive(Default)]
    pub struct Axles {
        pub wheelbase_m: Option<Metres>,
        pub front_kerb_kg: Option<Kilograms>,
        pub front_limit_kg: Option<Kilograms>,
        pub rear_limit_kg: Option<Kilograms>,
        pub place_x_m: Option<PlacePositions>,
    }

    /// Distances of masses from the rear axle; positive is forward.
    #[derive(Default)]
    pub struct PlacePositions {
        pub front_seats: Option<Metres>,
        pub rear_seats: Option<Metres>,
        pub cabin: Option<Metres>,
        pub cargo: Option<Metres>,
        pub rear: Option<Metres>,
        pub roof: Option<Metres>,
        pub tank: Option<Metres>,
    }

    /// Tyres: the standard ones, those fitted, and their pressures.
    #[derive(Default)]
    pub struct Tyres {
        pub standard: Option<TyreSize>,
        pub fitted: Option<TyreSize>,
        pub tread: Option<Tread>,
        pub road_bar: Option<Bar>,
        pub soft_bar: Option<Bar>,
        pub load_rating_kg: Option<Kilograms>,
        pub load_rating_bar: Option<Bar>,
    }
}

impl Vehicle {
    /// Induction of the engine; default natural.
    pub fn induction(&self) -> Induction {
        self.induction.unwrap_or(INDUCTION)
    }

    /// Cylinders; default 4, 3 below 1.1 L, 6 above 3.2 L.
    pub(crate) fn cylinders(&self) -> u32 {
        self.cylinders.unwrap_or(match self.engine_l {
            swept if swept < SMALL_ENGINE => 3,
            swept if swept > LARGE_ENGINE => 6,
            _ => CYLINDERS,
        })
    }

    /// Stroke; default that of a square engine (bore equals stroke) of the swept volume.
    pub(crate) fn stroke(&self) -> Millimetres {
        self.stroke_mm.unwrap_or_else(|| {
            let cylinder_mm3 = self.engine_l.get() * 1e6 / f64::from(self.cylinders());
            Millimetres::new((cylinder_mm3 * 4.0 / std::f64::consts::PI).cbrt())
        })
    }

    /// Speed of the baseline consumption.
    pub fn baseline_speed(&self) -> KilometresPerHour {
        self.baseline_speed_kmh.unwrap_or(BASELINE_SPEED)
    }

    /// Source of the baseline consumption; default a guess.
    pub fn baseline_from(&self) -> BaselineFrom {
        self.baseline_from.unwrap_or(BASELINE_FROM)
    }

    /// Unusable fuel: what the fuel pickup cannot reach.
    pub fn unusable(&self) -> Litres {
        self.unusable_l
            .unwrap_or(self.tank_l * UNUSABLE_SHARE.get())
    }

    /// Usable fuel of a full tank.
    pub fn usable_tank(&self) -> Litres {
        self.tank_l - self.unusable()
    }

    /// Engine turns a kilometre in top gear, on the standard tyres.
    pub(crate) fn revs_per_km(&self) -> RevsPerKm {
        self.revs_per_km.unwrap_or(match self.fuel {
            Fuel::Petrol => REVS_PER_KM_PETROL,
            Fuel::Diesel => REVS_PER_KM_DIESEL,
        })
    }

    /// Drag area of the bare vehicle.
    pub(crate) fn drag_area(&self) -> SquareMetres {
        self.drag_area_m2.unwrap_or(DRAG_AREA)
    }

    /// Share of the engine power that reaches the wheels.
    pub(crate) fn driveline_efficiency(&self) -> Share {
        self.driveline_efficiency.unwrap_or(DRIVELINE_EFFICIENCY)
    }

    /// Mass of the driver included in the kerb mass; default none.
    pub(crate) fn kerb_driver(&self) -> Kilograms {
        self.kerb_includes
            .as_ref()
            .and_then(|k| k.driver_kg)
            .unwrap_or_default()
    }

    /// Fuel included in the kerb mass, as a share of the tank.
    pub(crate) fn kerb_tank_share(&self) -> Share {
        self.kerb_includes
            .as_ref()
            .and_then(|k| k.tank_share)
            .unwrap_or(KERB_TANK_SHARE)
    }

    /// Accessories included in the kerb mass that are also listed as gear; default none.
    pub(crate) fn kerb_accessories(&self) -> Kilograms {
        self.kerb_includes
            .as_ref()
            .and_then(|k| k.accessories_kg)
            .unwrap_or_default()
    }

    /// Where the kerb mass comes from; default a handbook.
    pub(crate) fn kerb_from(&self) -> KerbFrom {
        self.kerb_from.unwrap_or(KERB_FROM)
    }

    /// Rating of the roof off sealed roads.
    pub(crate) fn roof_rating_off_road(&self) -> Option<Kilograms> {
        self.roof_rating_offroad_kg.or(self
            .roof_rating_kg
            .map(|rating| rating / ROOF_OFF_ROAD_DIVISOR))
    }

    /// Tread that is fitted; default road.
    pub(crate) fn tread(&self) -> Tread {
        self.tyres.as_ref().and_then(|t| t.tread).unwrap_or(TREAD)
    }

    /// Pressure on the road.
    pub(crate) fn road_pressure(&self) -> Bar {
        self.tyres
            .as_ref()
            .and_then(|t| t.road_bar)
            .unwrap_or(ROAD_PRESSURE)
    }

    /// Pressure when aired down; never above that on the road.
    pub(crate) fn soft_pressure(&self) -> Bar {
        let soft = self
            .tyres
            .as_ref()
            .and_then(|t| t.soft_bar)
            .unwrap_or(SOFT_PRESSURE);
        soft.min(self.road_pressure())
    }

    /// Diameter of the fitted tyre over that of the standard one; 1 when one of them is not stated.
    pub fn tyre_ratio(&self) -> Factor {
        let ratio = self.tyres.as_ref().and_then(|t| {
            let (standard, fitted) = (t.standard.as_ref()?, t.fitted.as_ref()?);
            Some(fitted.diameter() / standard.diameter())
        });
        Factor::new(ratio.unwrap_or(1.0))
    }

    /// True distance divided by odometer distance; default the ratio of the tyres.
    pub fn odometer_factor(&self) -> Factor {
        self.odometer_factor.unwrap_or_else(|| self.tyre_ratio())
    }
}

impl BaselineConditions {
    /// The default: the reference conditions.
    pub(crate) const REFERENCE: Self = Self {
        load_kg: None,
        roof: None,
        tyres: None,
        altitude_m: None,
        temperature_c: None,
        surface: None,
        odometer: None,
    };
}

impl Axles {
    /// Where a mass in `place` acts; default a share of the wheelbase.
    pub(crate) fn place_x(&self, wheelbase: Metres, place: AxlePlace) -> Metres {
        let stated = self.place_x_m.as_ref().and_then(|x| match place {
            AxlePlace::FrontSeats => x.front_seats,
            AxlePlace::RearSeats => x.rear_seats,
            AxlePlace::Carried(CarryingPlace::Cabin) => x.cabin,
            AxlePlace::Carried(CarryingPlace::Cargo) => x.cargo,
            AxlePlace::Carried(CarryingPlace::Rear) => x.rear,
            AxlePlace::Carried(CarryingPlace::Roof) => x.roof,
            AxlePlace::Tank => x.tank,
        });
        stated.unwrap_or(wheelbase * place.wheelbase_share().get())
    }
}

/// A place at which a mass acts on the axles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum AxlePlace {
    /// The front seats.
    FrontSeats,
    /// The rear seats.
    RearSeats,
    /// A carrying place.
    Carried(CarryingPlace),
    /// The fuel tank.
    Tank,
}

impl AxlePlace {
    /// Default position forward of the rear axle as a share of the wheelbase. Common practice, no source.
    pub(crate) const fn wheelbase_share(self) -> Factor {
        Factor::new(match self {
            Self::FrontSeats => 0.45,
            Self::RearSeats | Self::Carried(CarryingPlace::Cabin) => 0.10,
            Self::Carried(CarryingPlace::Cargo) => -0.10,
            Self::Carried(CarryingPlace::Rear) => -0.35,
            Self::Carried(CarryingPlace::Roof) => 0.25,
            Self::Tank => 0.05,
        })
    }
}
