//! The route: a start, and legs that each run to the next place.

use super::calendar::{ClockTime, Date, UtcOffset};
use super::track::Track;
use super::vocabulary::{Hazard, Rely, Surface, SurfaceFrom};
use crate::quantity::{
    Celsius, Degrees, Factor, Grade, Hours, Kilometres, KilometresPerHour, Litres, Metres,
    MoneyPerLitre, Share,
};

/// Road distance for each kilometre of the straight line. Common practice, no source.
pub const DETOUR_FACTOR: Factor = Factor::new(1.3);
/// Chance from which the best-estimate plan relies on a fuel stop.
pub(crate) const COUNTED_FROM: Share = Share::new(0.5);
/// Consumption of the return over sand, mud or rock, as a multiple of the calculated one. Common practice, no source.
pub(crate) const RETURN_FACTOR_SOFT: Factor = Factor::new(1.15);

/// Default surface of a leg.
pub(crate) const SURFACE: Surface = Surface::Sealed;
/// Part of the smaller of the two shares that is driven both in sand and in low range, unless stated;
/// the rest of the default is as if chance mixed them. Common practice, no source.
pub(crate) const BOTH_OF_SMALLER: Share = Share::new(0.7);
/// The chance that a stop has fuel, unless stated.
pub(crate) const CHANCE: Share = Share::new(1.0);
/// Whether the plan relies on a stop, unless stated.
pub const RELY: Rely = Rely::Auto;
/// Consumption of the return on firm ground, as a multiple of the calculated one.
pub(crate) const RETURN_FACTOR_FIRM: Factor = Factor::new(1.0);
/// Share of the distance whose surface is known, unless stated.
pub(crate) const SURFACE_KNOWN: Share = Share::new(1.0);
/// The day of the first leg, unless stated.
pub const FIRST_DAY: u32 = 1;

stated! {
    /// The start of the trip.
    pub struct Start {
        pub name: String,
        pub lat: Option<Degrees>,
        pub lon: Option<Degrees>,
        pub altitude_m: Option<Metres>,
        pub odometer_km: Option<Kilometres>,
        pub date: Option<Date>,
        pub utc_offset: Option<UtcOffset>,
        pub fuel: Option<FuelStop>,
    }

    /// One leg: from the place before to the place that it names.
    #[derive(Default)]
    pub struct Leg {
        pub to: String,
        pub lat: Option<Degrees>,
        pub lon: Option<Degrees>,
        pub day: Option<u32>,
        pub distance_km: Option<Kilometres>,
        pub surface: Option<Surface>,
        pub surface_known_share: Option<Share>,
        pub surface_from: Option<SurfaceFrom>,
        pub hazards: Option<Vec<Hazard>>,
        pub sand_share: Option<Share>,
        pub dune_share: Option<Share>,
        pub low_range_share: Option<Share>,
        pub both_share: Option<Share>,
        pub aired_down: Option<bool>,
        pub speed_kmh: Option<KilometresPerHour>,
        pub ascent_m: Option<Metres>,
        pub descent_m: Option<Metres>,
        pub ascent_grade: Option<Grade>,
        pub descent_grade: Option<Grade>,
        pub mean_altitude_m: Option<Metres>,
        pub temperature_c: Option<Celsius>,
        pub headwind_kmh: Option<KilometresPerHour>,
        pub wind_kmh: Option<KilometresPerHour>,
        pub wind_from_deg: Option<Degrees>,
        pub idle_h: Option<Hours>,
        pub camp_l_per_day: Option<Litres>,
        pub aircon: Option<bool>,
        pub depart: Option<ClockTime>,
        #[serde(rename = "return")]
        pub way_back: Option<WayBack>,
        pub fuel: Option<FuelStop>,
        pub track: Option<Track>,
        pub note: Option<String>,
        /// Litres for each litre that the formula gives; only legs that are driven back have it, and no trip file.
        #[serde(skip)]
        pub litres_factor: Option<Factor>,
    }

    /// Return over the leg, in the other direction.
    #[derive(Default)]
    pub struct WayBack {
        pub possible: Option<bool>,
        pub factor: Option<Factor>,
    }

    /// Fuel for sale at a place; an empty object means unlimited and confirmed.
    #[derive(Default)]
    pub struct FuelStop {
        pub litres: Option<Litres>,
        pub price_per_l: Option<MoneyPerLitre>,
        pub chance: Option<Share>,
        pub rely: Option<Rely>,
        pub detour_km: Option<Kilometres>,
        pub note: Option<String>,
    }
}

/// A latitude and a longitude.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    /// Latitude, in degrees north.
    pub lat: Degrees,
    /// Longitude, in degrees east.
    pub lon: Degrees,
}

/// A place along the route, numbered from 0, the start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place<'a> {
    /// Place number: 0 is the start, `legs.len()` the finish.
    pub place_number: usize,
    /// Its name; two places of one name are one place met twice.
    pub name: &'a str,
    /// Coordinates, if they are set.
    pub position: Option<Position>,
    /// The fuel for sale there.
    pub fuel: Option<&'a FuelStop>,
}

impl<'a> From<&'a Start> for Place<'a> {
    fn from(start: &'a Start) -> Self {
        Self {
            place_number: 0,
            name: &start.name,
            position: Position::from_degrees(start.lat, start.lon),
            fuel: start.fuel.as_ref(),
        }
    }
}

impl Start {
    /// A start of which only the name is known.
    pub fn named(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            lat: None,
            lon: None,
            altitude_m: None,
            odometer_km: None,
            date: None,
            utc_offset: None,
            fuel: None,
        }
    }
}

impl<'a> Place<'a> {
    /// The place where a leg ends, by the leg's index from 0.
    pub(crate) fn end_of(leg: &'a Leg, index: usize) -> Self {
        Self {
            place_number: index + 1,
            name: &leg.to,
            position: Position::from_degrees(leg.lat, leg.lon),
            fuel: leg.fuel.as_ref(),
        }
    }
}

impl Position {
    fn from_degrees(lat: Option<Degrees>, lon: Option<Degrees>) -> Option<Self> {
        Some(Self {
            lat: lat?,
            lon: lon?,
        })
    }
}

impl Leg {
    /// A leg of which only the end is known.
    pub fn to(name: impl Into<String>) -> Self {
        Self {
            to: name.into(),
            ..Self::default()
        }
    }

    /// What is stated of the leg, seen from the other end: climbs become descents, headwind tailwind, the track runs
    /// backwards. Where it ends, its fuel stop and its day are not its own.
    #[must_use]
    pub(crate) fn reversed(&self) -> Self {
        Self {
            ascent_m: self.descent_m,
            descent_m: self.ascent_m,
            ascent_grade: self.descent_grade,
            descent_grade: self.ascent_grade,
            // 0 stays a plain 0.
            headwind_kmh: self
                .headwind_kmh
                .map(|wind| wind * -1.0 + KilometresPerHour::ZERO),
            track: self.track.as_ref().map(Track::reversed),
            depart: None,
            ..self.clone()
        }
    }

    /// The wind that has a direction, and where it blows from; `None` unless both are set.
    pub fn wind(&self) -> Option<(KilometresPerHour, Degrees)> {
        self.wind_kmh.zip(self.wind_from_deg)
    }

    /// The surface; default sealed.
    pub fn surface(&self) -> Surface {
        self.surface.unwrap_or(SURFACE)
    }

    /// Share of the distance whose surface is known; default all of it.
    pub fn surface_known_share(&self) -> Share {
        self.surface_known_share.unwrap_or(SURFACE_KNOWN)
    }

    /// What may stop or endanger the vehicle; default nothing.
    pub fn hazards(&self) -> &[Hazard] {
        self.hazards.as_deref().unwrap_or_default()
    }

    /// Share of the distance in soft sand; default none.
    pub fn sand_share(&self) -> Share {
        self.sand_share.unwrap_or_default()
    }

    /// Share of the distance in dunes without a track; default none.
    pub fn dune_share(&self) -> Share {
        self.dune_share.unwrap_or_default()
    }

    /// Share of the distance in soft sand or dunes.
    pub fn soft_share(&self) -> Share {
        (self.sand_share() + self.dune_share()).min(Share::new(1.0))
    }

    /// Share of the distance in low range; default none.
    pub fn low_range_share(&self) -> Share {
        self.low_range_share.unwrap_or_default()
    }

    /// Share of the distance in low range *and* in sand or dunes: low range is used mostly there, so
    /// the default is 0.7 of the smaller share and 0.3 of their product.
    pub fn both_share(&self) -> Share {
        let (soft, low) = (self.soft_share().get(), self.low_range_share().get());
        let mostly = BOTH_OF_SMALLER.get();
        self.both_share.unwrap_or(Share::new(
            mostly * soft.min(low) + (1.0 - mostly) * soft * low,
        ))
    }

    /// Whether the tyres are aired down; default not.
    pub fn is_aired_down(&self) -> bool {
        self.aired_down.unwrap_or(false)
    }

    /// Whether the air-conditioning runs; default not.
    pub fn has_aircon(&self) -> bool {
        self.aircon.unwrap_or(false)
    }

    /// Whether the leg can be driven in the other direction; default it can.
    pub fn can_return(&self) -> bool {
        self.way_back
            .as_ref()
            .and_then(|back| back.possible)
            .unwrap_or(true)
    }

    /// Litres for each litre that the formula gives; default 1.
    pub(crate) fn litres_factor(&self) -> Factor {
        self.litres_factor.unwrap_or(Factor::new(1.0))
    }

    /// Consumption of the return as a multiple of the calculated one; default 1.15 with
    /// sand, dunes, mud or rock, otherwise 1.
    pub fn return_factor(&self) -> Factor {
        let soft =
            self.soft_share().get() > 0.0 || matches!(self.surface(), Surface::Mud | Surface::Rock);
        let default = if soft {
            RETURN_FACTOR_SOFT
        } else {
            RETURN_FACTOR_FIRM
        };
        self.way_back
            .as_ref()
            .and_then(|back| back.factor)
            .unwrap_or(default)
    }
}

impl FuelStop {
    /// The chance of fuel; default 1, a confirmed fuel stop.
    pub fn chance(&self) -> Share {
        self.chance.unwrap_or(CHANCE)
    }

    /// Whether the plan relies on the stop; default where the success target allows it.
    pub fn rely(&self) -> Rely {
        self.rely.unwrap_or(RELY)
    }

    /// Whether there can be any fuel. A stop that was reported dry has none, even if the trip is set to rely on it.
    pub fn may_have_fuel(&self) -> bool {
        self.chance() > Share::ZERO && self.litres.is_none_or(|litres| litres > Litres::ZERO)
    }

    /// Whether the best-estimate plan relies on the stop.
    pub fn is_counted(&self) -> bool {
        self.is_relied_on_from(COUNTED_FROM)
    }

    /// Whether a plan relies on the stop that relies on stops with at least this chance of fuel.
    pub(crate) fn is_relied_on_from(&self, least: Share) -> bool {
        let wanted = match self.rely() {
            Rely::Auto => self.chance() >= least,
            Rely::Never => false,
            Rely::Always => true,
        };
        wanted && self.may_have_fuel()
    }

    /// Whether the stock is unlimited.
    pub fn is_unlimited(&self) -> bool {
        self.litres.is_none()
    }

    /// Detour from the route to the fuel stop and back; default none.
    pub fn detour(&self) -> Kilometres {
        self.detour_km.unwrap_or_default()
    }
}
