//! The rules of a plan: reserve, contingency, success target, fuel at the start.

use super::vehicle::Vehicle;
use super::vocabulary::{Objective, Surface, UnconfirmedStops, UnitSystem};
use crate::quantity::{
    Factor, Hours, Kilometres, KilometresPerHour, Litres, Minutes, Percent, Share,
};

/// Fixed reserve as a share of the tank, unless stated. Common practice, no source.
pub(crate) const RESERVE_TANK_SHARE: Share = Share::new(0.1);
/// Contingency: a percentage of the fuel still to be burnt, unless stated. Common practice, no source.
pub(crate) const CONTINGENCY_PERCENT: Percent = Percent::new(10.0);
/// Share of trips that must succeed, unless stated.
pub(crate) const SUCCESS_TARGET: Share = Share::new(0.95);
/// Default longest driving time in one day. Common practice, no source.
pub(crate) const LONGEST_DAY: Hours = Hours::new(9.0);
/// Default halts for each hour of driving: a quarter of an hour every second hour, and a meal a day. Common practice, no
/// source.
pub(crate) const HALTS: Minutes = Minutes::new(12.0);
/// Drinking water a person and day, unless stated: 2.5–3 L to drink (Sphere Handbook 2011), more in heat.
pub(crate) const WATER_PER_PERSON_DAY: Litres = Litres::new(4.0);

/// How unconfirmed fuel stops are planned for, unless stated: the safer of the two.
pub(crate) const UNCONFIRMED_STOPS: UnconfirmedStops = UnconfirmedStops::Skip;
/// Default objective of the fills.
pub(crate) const OBJECTIVE: Objective = Objective::FewestCans;
/// Default units of what is shown.
pub const UNITS: UnitSystem = UnitSystem::Metric;
/// Default random seed of the simulation.
pub(crate) const SEED: u64 = 1;

stated! {
    /// The rules of one trip.
    #[derive(Default)]
    pub struct Rules {
        pub reserve: Option<Reserve>,
        pub contingency_percent: Option<Percent>,
        pub success_target: Option<Share>,
        pub unconfirmed_stops: Option<UnconfirmedStops>,
        pub start_l: Option<Litres>,
        pub start_cans_l: Option<Litres>,
        pub objective: Option<Objective>,
        pub longest_day_h: Option<Hours>,
        pub halt_min_per_h: Option<Minutes>,
        pub speeds_kmh: Option<Speeds>,
        pub water_l_per_person_day: Option<Litres>,
        pub most_in_cans_l: Option<Litres>,
        pub currency: Option<String>,
        pub units: Option<UnitSystem>,
        pub seed: Option<u64>,
        /// By how much the litres at the start may be off, a standard deviation; only a trip that returns has it, from
        /// its last fuel reading, and no trip file.
        #[serde(skip)]
        pub start_error: Option<Litres>,
    }

    /// Speed on each surface, for legs that set none.
    #[derive(Default)]
    pub struct Speeds {
        pub sealed: Option<KilometresPerHour>,
        pub gravel: Option<KilometresPerHour>,
        pub corrugated: Option<KilometresPerHour>,
        pub earth: Option<KilometresPerHour>,
        pub rock: Option<KilometresPerHour>,
        pub mud: Option<KilometresPerHour>,
        pub salt: Option<KilometresPerHour>,
        pub snow: Option<KilometresPerHour>,
    }

    /// Reserve: the fixed part of the minimum on arrival.
    #[derive(Default)]
    pub struct Reserve {
        pub litres: Option<Litres>,
        pub km: Option<Kilometres>,
    }
}

impl Rules {
    /// Reserve in litres; default a tenth of the tank.
    pub fn reserve_litres(&self, vehicle: &Vehicle) -> Litres {
        self.reserve
            .as_ref()
            .and_then(|r| r.litres)
            .unwrap_or(vehicle.tank_l * RESERVE_TANK_SHARE.get())
    }

    /// Reserve as a distance; default none.
    pub fn reserve_km(&self) -> Kilometres {
        self.reserve.as_ref().and_then(|r| r.km).unwrap_or_default()
    }

    /// Contingency as a share of the fuel still to be burnt.
    pub(crate) fn contingency(&self) -> Share {
        self.contingency_percent
            .unwrap_or(CONTINGENCY_PERCENT)
            .into()
    }

    /// Share of trips that must succeed.
    pub fn success_target(&self) -> Share {
        self.success_target.unwrap_or(SUCCESS_TARGET)
    }

    /// How unconfirmed fuel stops are planned for; default skip them.
    pub fn unconfirmed_stops(&self) -> UnconfirmedStops {
        self.unconfirmed_stops.unwrap_or(UNCONFIRMED_STOPS)
    }

    /// Litres in the tank at the start, including unusable fuel; default a full tank.
    pub fn start(&self, vehicle: &Vehicle) -> Litres {
        self.start_l.unwrap_or(vehicle.tank_l)
    }

    /// Litres in cans at the start; default none.
    pub fn start_cans(&self) -> Litres {
        self.start_cans_l.unwrap_or_default()
    }

    /// Objective of the fills; default the fewest cans.
    pub fn objective(&self) -> Objective {
        self.objective.unwrap_or(OBJECTIVE)
    }

    /// The speed that the trip states for a surface.
    pub fn speed_on(&self, surface: Surface) -> Option<KilometresPerHour> {
        let speeds = self.speeds_kmh.as_ref()?;
        match surface {
            Surface::Sealed => speeds.sealed,
            Surface::Gravel => speeds.gravel,
            Surface::Corrugated => speeds.corrugated,
            Surface::Earth => speeds.earth,
            Surface::Rock => speeds.rock,
            Surface::Mud => speeds.mud,
            Surface::Salt => speeds.salt,
            Surface::Snow => speeds.snow,
        }
    }

    /// Longest driving time in one day.
    pub(crate) fn longest_day(&self) -> Hours {
        self.longest_day_h.unwrap_or(LONGEST_DAY)
    }

    /// Hours of halts for each hour of driving.
    pub fn halts(&self) -> Factor {
        Factor::new(self.halt_min_per_h.unwrap_or(HALTS).get() / 60.0)
    }

    /// Drinking water for each person and day.
    pub(crate) fn water_per_person_day(&self) -> Litres {
        self.water_l_per_person_day.unwrap_or(WATER_PER_PERSON_DAY)
    }

    /// Display units; default metric.
    pub fn units(&self) -> UnitSystem {
        self.units.unwrap_or(UNITS)
    }

    /// Random seed of the simulation; default 1.
    pub(crate) fn seed(&self) -> u64 {
        self.seed.unwrap_or(SEED)
    }
}
