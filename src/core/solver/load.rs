//! Masses at every departure, and the limits that they are held against.
//!
//! `empty = kerb − driver in it − fuel in it − accessories that are listed in the load too`;
//! `mass at a departure = empty + people + items less what was used up by that day + roof carrier + cans + fuel`.
//! The heaviest departure decides. The load of each axle is in `axles`.

use crate::consumption::engine::fuel_density;
use crate::consumption::leg::Burden;
use crate::consumption::surface;
use crate::model::Trip;
use crate::model::load::Load;
use crate::model::vehicle::{ROOF_OFF_ROAD_DIVISOR, Vehicle};
use crate::model::vocabulary::{CarryingPlace, RoofShape, Surface};
use crate::quantity::{Kilograms, Litres, Share, SquareMetres};

use super::axles::{AxleLoads, Moments};
use super::cans::{self, ChosenCans};
use super::places::PLACES;

/// Masses that differ by less are equal: no scale at hand distinguishes them.
pub(crate) const EQUAL_MASS: Kilograms = Kilograms::new(0.001);

/// Mass of the vehicle with nobody, nothing and no fuel in it.
pub(crate) fn empty_mass(vehicle: &Vehicle) -> Kilograms {
    let fuel = vehicle.tank_l * vehicle.kerb_tank_share().get() * fuel_density(vehicle.fuel);
    vehicle.kerb_mass_kg - vehicle.kerb_driver() - fuel - vehicle.kerb_accessories()
}

fn people_mass(load: &Load) -> Kilograms {
    load.people().iter().map(|person| person.mass_kg).sum()
}

/// Mass of the items in `place` on the morning of `day`.
fn items_in(load: &Load, place: CarryingPlace, day: u32) -> Kilograms {
    load.gear()
        .iter()
        .filter(|item| item.place() == place)
        .map(|item| item.mass_on(day))
        .sum()
}

/// Drag area on the roof: the carrier's, and a can on top makes at least a low load of it.
pub(crate) fn roof_drag(load: &Load, set: &[ChosenCans]) -> SquareMetres {
    let stated = load.roof.as_ref().and_then(|roof| roof.drag_area_m2);
    let carrier = stated.unwrap_or(surface::roof_drag(load.roof_shape()));
    let can_on_top = set.iter().any(|cans| cans.place == CarryingPlace::Roof);
    if can_on_top {
        carrier.max(surface::roof_drag(RoofShape::LowLoad))
    } else {
        carrier
    }
}

/// What is carried on a leg of `day` besides usable fuel, with the cans of `set` on board.
pub fn burden(trip: &Trip, set: &[ChosenCans], day: u32) -> Burden {
    let (vehicle, load) = (&trip.vehicle, trip.load());
    let items: Kilograms = load.gear().iter().map(|item| item.mass_on(day)).sum();
    let remainder = vehicle.unusable() * fuel_density(vehicle.fuel);
    Burden {
        dry_mass: empty_mass(vehicle)
            + people_mass(load)
            + items
            + load.roof_carrier_mass()
            + cans::empty_mass(set)
            + remainder,
        roof_drag: roof_drag(load, set),
    }
}

/// What is on board at one departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Departing {
    /// Day of the trip.
    pub(crate) day: u32,
    /// Ground of the leg that begins.
    pub(crate) surface: Surface,
    /// Usable litres in tank and cans.
    pub(crate) on_board: Litres,
    /// Part of the cans' fill that is in them; the fullest cans are taken to be on the roof.
    pub(crate) cans_full: Share,
}

/// What a vehicle's mass at a departure is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MadeOf {
    /// The vehicle with nobody, nothing and no fuel in it.
    pub empty: Kilograms,
    /// Everybody on board.
    pub people: Kilograms,
    /// Gear that is left on that day, without the water.
    pub gear: Kilograms,
    /// Drinking water that is left on that day.
    pub water: Kilograms,
    /// The roof carrier itself.
    pub carrier: Kilograms,
    /// The cans themselves, full or empty.
    pub cans: Kilograms,
    /// All fuel, what the pickup cannot reach included.
    pub fuel: Kilograms,
}

impl MadeOf {
    /// The gross mass of that morning.
    pub fn sum(&self) -> Kilograms {
        self.empty + self.people + self.gear + self.water + self.carrier + self.cans + self.fuel
    }
}

/// Masses at one departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Departure {
    /// Number of the place, 0 for the start.
    pub place_number: usize,
    /// Day of the trip.
    pub day: u32,
    /// Mass of the vehicle with everything on board.
    pub mass: Kilograms,
    /// What that is made of.
    pub made_of: MadeOf,
    /// The loads of the axles, where that is known.
    pub axles: Option<AxleLoads>,
    /// Usable litres in the tank.
    pub in_tank: Litres,
    /// Litres in cans.
    pub in_cans: Litres,
    /// Things in the cabin.
    pub cabin: Kilograms,
    /// Carrier, items and cans on the roof.
    pub roof: Kilograms,
    /// Items and cans on the rear carrier.
    pub rear: Kilograms,
    /// Gear and cans in the cargo area.
    pub cargo: Kilograms,
    /// Whether the leg that begins is not sealed.
    pub off_road: bool,
}

impl Departure {
    /// Mass in a place.
    pub(crate) const fn in_place(&self, place: CarryingPlace) -> Kilograms {
        match place {
            CarryingPlace::Cabin => self.cabin,
            CarryingPlace::Cargo => self.cargo,
            CarryingPlace::Rear => self.rear,
            CarryingPlace::Roof => self.roof,
        }
    }

    /// Mass in each of the places for cans.
    pub(crate) fn in_places(&self) -> [Kilograms; 3] {
        PLACES.map(|place| self.in_place(place))
    }
}

/// Masses at the departure from place `place_number`. As long as any can is full, those in each place are taken as full
/// for that place's limit, up to the litres that are in cans.
pub(crate) fn departure(
    trip: &Trip,
    set: &[ChosenCans],
    place_number: usize,
    departing: Departing,
) -> Departure {
    let (vehicle, load) = (&trip.vehicle, trip.load());
    let density = fuel_density(vehicle.fuel);
    let in_cans = cans::fill(set) * departing.cans_full.get();
    let in_place = |place: CarryingPlace| {
        let there = || set.iter().filter(|cans| cans.place == place);
        let empty: Kilograms = there().map(|cans| cans.empty * f64::from(cans.count)).sum();
        let fuel: Litres = there().map(|cans| cans.fill * f64::from(cans.count)).sum();
        items_in(load, place, departing.day) + empty + fuel.min(in_cans) * density
    };
    let in_tank = departing.on_board - in_cans;
    let gear = |is_water: bool| -> Kilograms {
        let gear = load.gear().iter();
        gear.filter(|item| item.is_water() == is_water)
            .map(|item| item.mass_on(departing.day))
            .sum()
    };
    let made_of = MadeOf {
        empty: empty_mass(vehicle),
        people: people_mass(load),
        gear: gear(false),
        water: gear(true),
        carrier: load.roof_carrier_mass(),
        cans: cans::empty_mass(set),
        fuel: (departing.on_board + vehicle.unusable()) * density,
    };
    Departure {
        place_number,
        day: departing.day,
        mass: made_of.sum(),
        made_of,
        axles: Moments::from_vehicle(vehicle)
            .map(|moments| moments.loads(trip, set, departing.day, in_tank, in_cans)),
        in_tank,
        in_cans,
        cabin: items_in(load, CarryingPlace::Cabin, departing.day),
        roof: in_place(CarryingPlace::Roof) + load.roof_carrier_mass(),
        rear: in_place(CarryingPlace::Rear),
        cargo: in_place(CarryingPlace::Cargo),
        off_road: departing.surface != Surface::Sealed,
    }
}

/// What a load limit is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadLimit {
    /// Total mass of vehicle, load and fuel.
    Gvm,
    /// Load of the front axle.
    FrontAxle,
    /// Load of the rear axle.
    RearAxle,
    /// Load on the roof.
    Roof {
        /// Whether the limit off sealed roads is the one that binds.
        off_road: bool,
    },
    /// A carrying place.
    Place(CarryingPlace),
}

impl LoadLimit {
    /// Whether both are about the same limit; the roof is one thing on and off sealed roads.
    pub fn is_of(self, other: Self) -> bool {
        self == other || matches!((self, other), (Self::Roof { .. }, Self::Roof { .. }))
    }
}

/// One limit and the load on it at its worst departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadBar {
    /// Which limit it is.
    pub what: LoadLimit,
    /// Place number of the worst departure.
    pub place_number: usize,
    /// Mass that counts against the limit.
    pub mass: Kilograms,
    /// The limit; `None` if none is stated.
    pub limit: Option<Kilograms>,
}

impl LoadBar {
    /// What may still be added; negative when over.
    pub fn left(&self) -> Option<Kilograms> {
        self.limit.map(|limit| limit - self.mass)
    }

    /// Whether more is carried than allowed.
    pub fn is_over(&self) -> bool {
        self.left().is_some_and(|left| left < -EQUAL_MASS)
    }
}

/// The least of the ratings that the roof has, on or off sealed roads. Off them each rating counts two thirds
/// unless the vehicle states its own.
pub(crate) fn roof_limit(trip: &Trip, off_road: bool) -> Option<Kilograms> {
    let divide = if off_road { ROOF_OFF_ROAD_DIVISOR } else { 1.0 };
    let vehicle = if off_road {
        trip.vehicle.roof_rating_off_road()
    } else {
        trip.vehicle.roof_rating_kg
    };
    let carrier = trip
        .load()
        .roof
        .as_ref()
        .and_then(|roof| roof.rating_kg)
        .map(|rating| rating / divide);
    let place = trip
        .load()
        .place_rating(CarryingPlace::Roof)
        .map(|rating| rating / divide);
    [vehicle, carrier, place]
        .into_iter()
        .flatten()
        .reduce(Kilograms::min)
}

/// The worst of the departures by what `mass` returns for them.
fn worst(
    what: LoadLimit,
    limit: Option<Kilograms>,
    departures: &[Departure],
    mass: impl Fn(&Departure) -> Option<Kilograms>,
) -> Option<LoadBar> {
    departures
        .iter()
        .filter_map(|departure| Some((departure.place_number, mass(departure)?)))
        .reduce(|worst, next| if next.1 > worst.1 { next } else { worst })
        .map(|(place_number, mass)| LoadBar {
            what,
            place_number,
            mass,
            limit,
        })
}

/// The roof's bar: on and off sealed roads are one roof, and the one with less left represents it.
fn roof_bar(trip: &Trip, departures: &[Departure]) -> Option<LoadBar> {
    let bars = [false, true].into_iter().filter_map(|off_road| {
        worst(
            LoadLimit::Roof { off_road },
            roof_limit(trip, off_road),
            departures,
            |departure| (departure.off_road == off_road).then_some(departure.roof),
        )
    });
    let left = |bar: &LoadBar| bar.left().map_or(f64::INFINITY, Kilograms::get);
    bars.min_by(|a, b| {
        left(a)
            .total_cmp(&left(b))
            .then(b.mass.get().total_cmp(&a.mass.get()))
    })
}

/// Every limit with its worst departure: total mass first, then the axles, the roof, and the places that are rated.
pub(crate) fn bars(trip: &Trip, departures: &[Departure]) -> Vec<LoadBar> {
    let place = |place: CarryingPlace| {
        let limit = trip.load().place_rating(place)?;
        worst(
            LoadLimit::Place(place),
            Some(limit),
            departures,
            |departure| Some(departure.in_place(place)),
        )
    };
    let roof =
        roof_bar(trip, departures).filter(|bar| bar.mass > Kilograms::ZERO || bar.limit.is_some());
    let gvm = worst(
        LoadLimit::Gvm,
        trip.vehicle.gvm_kg,
        departures,
        |departure| Some(departure.mass),
    );
    let stated = trip.vehicle.axles.as_ref();
    let axle = |what, limit: Option<Kilograms>, load: fn(AxleLoads) -> Kilograms| {
        worst(what, limit, departures, |departure| {
            departure.axles.map(load)
        })
    };
    [
        gvm,
        axle(
            LoadLimit::FrontAxle,
            stated.and_then(|axles| axles.front_limit_kg),
            |axles| axles.front,
        ),
        axle(
            LoadLimit::RearAxle,
            stated.and_then(|axles| axles.rear_limit_kg),
            |axles| axles.rear,
        ),
        roof,
        place(CarryingPlace::Cabin),
        place(CarryingPlace::Rear),
        place(CarryingPlace::Cargo),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::cans::CanSet;
    use super::*;

    /// Petrol weighs 0.745 kg/L: 0.9 of a tank of 50 L are 33.525 kg, the unusable 2 L are 1.49 kg.
    fn trip() -> Trip {
        serde_json::from_value(json!({
            "drystage": 1,
            "vehicle": {
                "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "unusable_l": 2,
                "kerb_mass_kg": 1400, "kerb_includes": { "tank_share": 0.9, "driver_kg": 75, "accessories_kg": 20 },
                "roof_rating_kg": 75
            },
            "load": {
                "people": [{ "name": "driver", "mass_kg": 80 }],
                "gear": [{ "name": "water", "mass_kg": 30, "place": "rear", "use_per_day_kg": 4 }],
                "roof": { "shape": "open-rack", "mass_kg": 12, "rating_kg": 45 }
            },
            "start": { "name": "here" },
            "legs": [{ "to": "there", "distance_km": 100 }]
        }))
        .unwrap()
    }

    fn two_cans_on_the_roof() -> CanSet {
        vec![ChosenCans {
            size: Litres::new(20.0),
            fill: Litres::new(19.0),
            empty: Kilograms::new(4.0),
            count: 2,
            place: CarryingPlace::Roof,
            to_buy: 0,
            rank: 0,
        }]
    }

    fn near(mass: Kilograms, by_hand: f64) {
        assert!(
            (mass.get() - by_hand).abs() < 1e-9,
            "{mass:?}, by hand {by_hand}"
        );
    }

    /// By hand: 1400 − 33.525 − 75 − 20 kg empty; driver, water, rack and unusable fuel on top; 4 kg of water less each
    /// day.
    #[test]
    fn a_leg_bears_everything_but_usable_fuel() {
        let trip = trip();
        near(empty_mass(&trip.vehicle), 1271.475);
        let bare = 1271.475 + 80.0 + 30.0 + 12.0 + 1.49;
        near(burden(&trip, &[], 1).dry_mass, bare);
        near(burden(&trip, &[], 3).dry_mass, bare - 8.0);
        near(burden(&trip, &[], 30).dry_mass, bare - 30.0);
        near(
            burden(&trip, &two_cans_on_the_roof(), 1).dry_mass,
            bare + 8.0,
        );
    }

    #[test]
    fn a_can_on_a_rack_makes_at_least_a_low_load_of_it() {
        let (trip, low) = (trip(), surface::roof_drag(RoofShape::LowLoad));
        let drag = |set: &[ChosenCans]| roof_drag(trip.load(), set);
        assert_eq!(drag(&[]), surface::roof_drag(RoofShape::OpenRack));
        assert_eq!(drag(&two_cans_on_the_roof()), low);
        assert!(low > surface::roof_drag(RoofShape::OpenRack));
    }

    /// By hand: of 38 L half are in the cans, and they may all be on the roof: 12 + 8 + 19 · 0.745 kg.
    #[test]
    fn a_departure_weighs_what_is_on_board() {
        let (trip, set) = (trip(), two_cans_on_the_roof());
        let departing = Departing {
            day: 2,
            surface: Surface::Gravel,
            on_board: Litres::new(60.0),
            cans_full: Share::new(0.5),
        };
        let departure = departure(&trip, &set, 0, departing);
        near(departure.roof, 34.155);
        near(departure.rear, 26.0);
        near(
            departure.mass,
            1271.475 + 80.0 + 26.0 + 12.0 + 1.49 + 8.0 + 44.7,
        );
        assert!(departure.off_road);
    }

    /// A rating divides by 1.5 off the sealed road, the carrier's as well as the vehicle's, and the least of them
    /// counts.
    #[test]
    fn the_least_rating_of_the_roof_counts() {
        let mut trip = trip();
        let limit = |trip: &Trip, off_road| roof_limit(trip, off_road).unwrap();
        near(limit(&trip, false), 45.0);
        near(limit(&trip, true), 30.0);
        trip.load.as_mut().unwrap().roof.as_mut().unwrap().rating_kg = None;
        near(limit(&trip, false), 75.0);
        near(limit(&trip, true), 50.0);
    }
}
