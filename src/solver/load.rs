//! Masses at every departure, and the limits that they are held against.
//!
//! `empty = kerb − driver in it − fuel in it − accessories that are listed in the load too`;
//! `mass at a departure = empty + crew + items less what was used up by that day + roof carrier + cans + fuel`.
//! The heaviest departure decides. Left out: axle loads.

use crate::consumption::engine::fuel_density;
use crate::consumption::leg::Burden;
use crate::consumption::surface;
use crate::model::Trip;
use crate::model::load::Load;
use crate::model::vehicle::{ROOF_OFF_ROAD_DIVISOR, Vehicle};
use crate::model::vocabulary::{CarryingPlace, RoofShape, Surface};
use crate::quantity::{Kilograms, Litres, Share, SquareMetres};

use super::cans::{self, ChosenCans};

/// Mass of the vehicle with nobody, nothing and no fuel in it.
pub fn empty_mass(vehicle: &Vehicle) -> Kilograms {
    let fuel = vehicle.tank_l * vehicle.kerb_tank_share().get() * fuel_density(vehicle.fuel);
    vehicle.kerb_mass_kg - vehicle.kerb_driver() - fuel - vehicle.kerb_accessories()
}

fn crew_mass(load: &Load) -> Kilograms {
    load.crew().iter().map(|person| person.mass_kg).sum()
}

/// Mass of the items in `place` on the morning of `day`.
fn items_in(load: &Load, place: CarryingPlace, day: u32) -> Kilograms {
    load.items()
        .iter()
        .filter(|item| item.place() == place)
        .map(|item| item.mass_on(day))
        .sum()
}

/// Drag area on the roof: the carrier's, and a can on top makes at least a low load of it.
pub fn roof_drag(load: &Load, set: &[ChosenCans]) -> SquareMetres {
    let stated = load.roof.as_ref().and_then(|roof| roof.drag_area_m2);
    let carrier = stated.unwrap_or(surface::roof_drag(load.roof_shape()));
    let can_on_top = set.iter().any(|cans| cans.place == CarryingPlace::Roof);
    if can_on_top {
        carrier.max(surface::roof_drag(RoofShape::LowLoad))
    } else {
        carrier
    }
}

/// What a leg on `day` bears besides usable fuel, with the cans of `set` aboard.
pub fn burden(trip: &Trip, set: &[ChosenCans], day: u32) -> Burden {
    let (vehicle, load) = (&trip.vehicle, trip.load());
    let items: Kilograms = load.items().iter().map(|item| item.mass_on(day)).sum();
    let remainder = vehicle.unusable() * fuel_density(vehicle.fuel);
    Burden {
        dry_mass: empty_mass(vehicle)
            + crew_mass(load)
            + items
            + load.roof_carrier_mass()
            + cans::empty_mass(set)
            + remainder,
        roof_drag: roof_drag(load, set),
    }
}

/// What is aboard at one departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aboard {
    /// Day of the trip.
    pub day: u32,
    /// Ground of the leg that begins.
    pub surface: Surface,
    /// Usable litres in tank and cans.
    pub on_board: Litres,
    /// Part of the cans' fill that is in them; the fullest cans are taken to be on the roof.
    pub cans_full: Share,
}

/// Masses at one departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Departure {
    /// Place number.
    pub node: usize,
    /// Total mass.
    pub mass: Kilograms,
    /// Carrier, items and cans on the roof.
    pub roof: Kilograms,
    /// Items and cans on the rear carrier.
    pub rear: Kilograms,
    /// Items and cans in the load space.
    pub cargo: Kilograms,
    /// Whether the leg that begins is not sealed.
    pub off_road: bool,
}

/// Masses at the departure from place `node`. As long as any can is full, those in each place are taken as full
/// for that place's limit, up to the litres that are in cans.
pub fn departure(trip: &Trip, set: &[ChosenCans], node: usize, aboard: Aboard) -> Departure {
    let (vehicle, load) = (&trip.vehicle, trip.load());
    let density = fuel_density(vehicle.fuel);
    let in_cans = cans::fill(set) * aboard.cans_full.get();
    let in_place = |place: CarryingPlace| {
        let there = || set.iter().filter(|cans| cans.place == place);
        let empty: Kilograms = there().map(|cans| cans.empty * f64::from(cans.count)).sum();
        let fuel: Litres = there().map(|cans| cans.fill * f64::from(cans.count)).sum();
        items_in(load, place, aboard.day) + empty + fuel.min(in_cans) * density
    };
    Departure {
        node,
        mass: burden(trip, set, aboard.day).dry_mass + aboard.on_board * density,
        roof: in_place(CarryingPlace::Roof) + load.roof_carrier_mass(),
        rear: in_place(CarryingPlace::Rear),
        cargo: in_place(CarryingPlace::Cargo),
        off_road: aboard.surface != Surface::Sealed,
    }
}

/// What a load limit is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadLimit {
    /// Total mass.
    Gvm,
    /// The roof.
    Roof {
        /// Whether the limit off sealed roads is the one that binds.
        off_road: bool,
    },
    /// A carrying place.
    Place(CarryingPlace),
}

/// One limit and what it bears at its worst departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadBar {
    /// What is limited.
    pub what: LoadLimit,
    /// Place number of the worst departure.
    pub node: usize,
    /// Mass there.
    pub mass: Kilograms,
    /// The limit; nothing when none is stated.
    pub limit: Option<Kilograms>,
}

impl LoadBar {
    /// What may still be added; negative when over.
    pub fn left(&self) -> Option<Kilograms> {
        self.limit.map(|limit| limit - self.mass)
    }

    /// Whether more is borne than allowed.
    pub fn is_over(&self) -> bool {
        self.left().is_some_and(|left| left < Kilograms::new(-1e-9))
    }
}

/// The least of the ratings that the roof has, on or off sealed roads. Off them each rating counts two thirds
/// unless the vehicle states its own.
pub fn roof_limit(trip: &Trip, off_road: bool) -> Option<Kilograms> {
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

/// The worst of the departures by what `mass` says of them.
fn worst(
    what: LoadLimit,
    limit: Option<Kilograms>,
    departures: &[Departure],
    mass: impl Fn(&Departure) -> Option<Kilograms>,
) -> Option<LoadBar> {
    departures
        .iter()
        .filter_map(|departure| Some((departure.node, mass(departure)?)))
        .reduce(|worst, next| if next.1 > worst.1 { next } else { worst })
        .map(|(node, mass)| LoadBar {
            what,
            node,
            mass,
            limit,
        })
}

/// The roof's bar: on and off sealed roads are one roof, and the one with less left stands for it.
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

/// Every limit with its worst departure: total mass first, then the roof, then the places that are rated.
pub fn bars(trip: &Trip, departures: &[Departure]) -> Vec<LoadBar> {
    let place = |place: CarryingPlace, mass: fn(&Departure) -> Kilograms| {
        let limit = trip.load().place_rating(place)?;
        worst(
            LoadLimit::Place(place),
            Some(limit),
            departures,
            |departure| Some(mass(departure)),
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
    [
        gvm,
        roof,
        place(CarryingPlace::Rear, |departure| departure.rear),
        place(CarryingPlace::Cargo, |departure| departure.cargo),
    ]
    .into_iter()
    .flatten()
    .collect()
}
