//! The kinds of change that are tried to make a trip fit, each as operations on the trip.
//!
//! Water is never left behind, nor is anybody; of the gear first what is set to be no safety gear, safety gear
//! last; fuel is never put among the passengers, nor in the cargo area unless the trip lists cans there; and the
//! reserve is only lowered by its share on all use still ahead, never by its litres.

use json_patch::jsonptr::PointerBuf;
use json_patch::{AddOperation, PatchOperation, RemoveOperation};
use serde_json::{Value, json};

use crate::consumption::surface;
use crate::model::Trip;
use crate::model::geodesic;
use crate::model::load::{CanKind, GearItem, Load};
use crate::model::route::{DETOUR_FACTOR, FuelStop, Leg};
use crate::model::vocabulary::{CarryingPlace, RoofShape, Surface, UnconfirmedStops};
use crate::quantity::{Hours, Kilograms, Kilometres, KilometresPerHour, Percent, Share};

use crate::plan::answers::fixes::{Remedy, Spared};
use crate::plan::parts::Plan;
use crate::solver::load::{LoadBar, LoadLimit};

/// Tyres are let down and pumped up again in this time. Common practice, no source.
const AIRING: Hours = Hours::new(0.25);
/// No road is driven slower than this to save fuel. Common practice, no source.
const SLOWEST: KilometresPerHour = KilometresPerHour::new(60.0);
/// Sand from this share on is worth letting tyres down for. Common practice, no source.
const WORTH_AIRING_DOWN: Share = Share::new(0.1);
/// Parts of the fill share that are tried.
const FILLS: [f64; 5] = [0.95, 0.9, 0.85, 0.8, 0.7];
/// Masses that are tried to be left at home.
const LESS: [f64; 3] = [10.0, 25.0, 50.0];
/// Things that are tried, the heaviest first.
const MOST_ITEMS: usize = 3;

impl Spared {
    fn from_item(item: &GearItem) -> Self {
        match item.safety {
            Some(false) => Self::Dispensable,
            None => Self::Unknown,
            Some(true) => Self::SafetyGear,
        }
    }
}

/// A change to be tried.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Try {
    pub(crate) remedies: Remedy,
    pub(crate) operations: Vec<PatchOperation>,
    /// What is moved or left at home, cans left out.
    pub(crate) kg: Kilograms,
    /// Time that the plan's driving time do not hold.
    pub(crate) time: Hours,
    pub(crate) reserve: Percent,
}

impl Try {
    fn new(remedies: Remedy, operations: Vec<PatchOperation>) -> Self {
        Self {
            remedies,
            operations,
            kg: Kilograms::ZERO,
            time: Hours::ZERO,
            reserve: Percent::ZERO,
        }
    }

    /// Whether both are changes of one kind.
    pub(crate) fn is_like(&self, other: &Self) -> bool {
        std::mem::discriminant(&self.remedies) == std::mem::discriminant(&other.remedies)
    }

    /// Whether it may help beside another change though it does not alone.
    pub(crate) fn pairs_unseen(&self) -> bool {
        matches!(self.remedies, Remedy::CansElsewhere { .. })
    }
}

/// The path of keys and numbers, none of which needs an escape.
fn path(at: &str) -> PointerBuf {
    PointerBuf::from_tokens(at.split('/').skip(1))
}

/// Puts a value where one is, or where none does yet.
fn put(at: &str, value: Value) -> PatchOperation {
    let path = path(at);
    PatchOperation::Add(AddOperation { path, value })
}

/// How fast a leg is driven: as stated, else as is usual on its ground.
fn speed(trip: &Trip, leg: &Leg) -> KilometresPerHour {
    let usual = surface::properties(leg.surface()).speed;
    leg.speed_kmh
        .or(usual)
        .unwrap_or_else(|| trip.vehicle.baseline_speed())
}

/// Every change that is worth a try.
pub(in crate::plan) fn tries(plan: &Plan) -> Vec<Try> {
    let trip = &plan.trip;
    [
        cans_elsewhere(plan),
        moved(plan),
        left_behind(plan),
        no_rack(trip).into_iter().collect(),
        slower(trip),
        air_down(trip).into_iter().collect(),
        turn_back_if_dry(trip).into_iter().collect(),
        detours(trip),
        smaller_reserve(trip),
    ]
    .concat()
}

/// The gear but water in a place with their number, the heaviest first.
fn things(trip: &Trip, there: impl Fn(CarryingPlace) -> bool) -> Vec<(usize, &GearItem)> {
    let items = trip.load().gear().iter().enumerate();
    let mut things: Vec<_> = items
        .filter(|(_, item)| {
            !item.is_water() && item.mass_kg > Kilograms::ZERO && there(item.place())
        })
        .collect();
    things.sort_by(|(_, a), (_, b)| b.mass_kg.get().total_cmp(&a.mass_kg.get()));
    things
}

/// The heaviest gear on the rear carrier and on the roof.
fn outside(trip: &Trip) -> Vec<(usize, &GearItem)> {
    let mut things = things(trip, |place| {
        matches!(place, CarryingPlace::Rear | CarryingPlace::Roof)
    });
    things.truncate(MOST_ITEMS);
    things
}

fn to_load_space(at: usize) -> PatchOperation {
    put(&format!("/load/gear/{at}/place"), json!("cargo"))
}

/// Cans in more places and less full, and room made for them: every combination.
fn cans_elsewhere(plan: &Plan) -> Vec<Try> {
    let trip = &plan.trip;
    let load = trip.load();
    let listed = |place: &CarryingPlace| {
        let mut kinds = load.cans().iter();
        kinds.any(|kind| kind.places().contains(place))
    };
    let open = |place: &CarryingPlace| match place {
        CarryingPlace::Cabin => false,
        CarryingPlace::Rear => true,
        CarryingPlace::Cargo => listed(place),
        CarryingPlace::Roof => load.roof_shape() != RoofShape::None || listed(place),
    };
    if load.cans().is_empty() {
        return Vec::new();
    }
    let places: Vec<CarryingPlace> = CarryingPlace::ALL.iter().copied().filter(open).collect();
    let mut not_on_roof = places.clone();
    not_on_roof.retain(|place| *place != CarryingPlace::Roof);
    let mut options = vec![places, not_on_roof];
    options.dedup();
    let mut rooms = vec![None];
    rooms.extend(outside(trip).into_iter().map(Some));
    let mut parts = vec![None];
    parts.extend(FILLS.map(Some));
    let mut tries = Vec::new();
    for places in &options {
        for &room in &rooms {
            for &part in &parts {
                tries.extend(cans_to(places, room, part, load));
            }
        }
    }
    tries
}

/// Cans in some places, gear from outside in the cargo area, cans filled to a part of their fill; `None` if that
/// changes nothing.
fn cans_to(
    places: &[CarryingPlace],
    room: Option<(usize, &GearItem)>,
    part: Option<f64>,
    load: &Load,
) -> Option<Try> {
    let share = |kind: &CanKind| kind.fill() / kind.size_l;
    let is_new = |place: &&CarryingPlace| {
        let mut kinds = load.cans().iter();
        kinds.any(|kind| !kind.places().contains(place))
    };
    let to: Vec<CarryingPlace> = places.iter().filter(is_new).copied().collect();
    if to.is_empty() && room.is_none() && part.is_none() {
        return None;
    }
    let words: Vec<&str> = places.iter().map(|place| place.word()).collect();
    let mut operations = Vec::new();
    for (at, kind) in load.cans().iter().enumerate() {
        operations.push(put(&format!("/load/cans/{at}/places"), json!(words)));
        if let Some(part) = part {
            let filled = ((share(kind) * part) * 1000.0).floor() / 1000.0;
            operations.push(put(&format!("/load/cans/{at}/fill_share"), json!(filled)));
        }
    }
    operations.extend(room.map(|(at, _)| to_load_space(at)));
    let fullest = load.cans().iter().map(share).fold(0.0, f64::max);
    let remedies = Remedy::CansElsewhere {
        to,
        filled: part.map(|part| Share::new(fullest * part)),
        moved: room.map(|(_, item)| item.name.clone()),
    };
    Some(Try {
        kg: room.map_or(Kilograms::ZERO, |(_, item)| item.mass_kg),
        ..Try::new(remedies, operations)
    })
}

/// Gear from outside into the cargo area.
fn moved(plan: &Plan) -> Vec<Try> {
    let outside = outside(&plan.trip).into_iter();
    let tries = outside.map(|(at, item)| {
        let name = item.name.clone();
        Try {
            kg: item.mass_kg,
            ..Try::new(Remedy::Moved { name }, vec![to_load_space(at)])
        }
    });
    tries.collect()
}

/// Some of the heaviest gear left at home: round masses, and what the limits are passed by.
fn left_behind(plan: &Plan) -> Vec<Try> {
    let over = plan
        .load
        .bars
        .iter()
        .filter(|bar| bar.is_over() && matches!(bar.what, LoadLimit::Gvm | LoadLimit::Roof { .. }))
        .filter_map(LoadBar::left)
        .map(|left| (-left.get()).ceil());
    let masses: Vec<f64> = LESS.into_iter().chain(over).collect();
    let mut tries = Vec::new();
    let mut things = things(&plan.trip, |_| true);
    things.sort_by_key(|(_, item)| Spared::from_item(item));
    things.truncate(MOST_ITEMS);
    for (at, item) in things {
        for &mass in &masses {
            let less = mass.min(item.mass_kg.get());
            let left = item.mass_kg - Kilograms::new(less);
            let operation = put(&format!("/load/gear/{at}/mass_kg"), json!(left));
            let remedies = Remedy::LeftBehind {
                name: item.name.clone(),
                mass: Kilograms::new(less),
                spared: Spared::from_item(item),
            };
            if !tries.iter().any(|one: &Try| one.remedies == remedies) {
                tries.push(Try {
                    kg: Kilograms::new(less),
                    ..Try::new(remedies, vec![operation])
                });
            }
        }
    }
    tries
}

/// The carrier at home; what was on it goes to the cargo area, and cans to other places that they may be in.
fn no_rack(trip: &Trip) -> Option<Try> {
    let load = trip.load();
    load.roof.as_ref()?;
    let mut operations = vec![PatchOperation::Remove(RemoveOperation {
        path: path("/load/roof"),
    })];
    let mut kg = load.roof_carrier_mass();
    for (at, item) in load.gear().iter().enumerate() {
        if item.place() == CarryingPlace::Roof {
            operations.push(to_load_space(at));
            kg += item.mass_kg;
        }
    }
    for (at, kind) in load.cans().iter().enumerate() {
        if kind.places().contains(&CarryingPlace::Roof) {
            let mut low = kind.places().to_vec();
            low.retain(|place| *place != CarryingPlace::Roof);
            if low.is_empty() {
                low.push(CarryingPlace::Rear);
            }
            operations.push(put(&format!("/load/cans/{at}/places"), json!(low)));
        }
    }
    Some(Try {
        kg,
        ..Try::new(Remedy::NoRack, operations)
    })
}

fn slower(trip: &Trip) -> Vec<Try> {
    let mut tries = Vec::new();
    for on_gravel in [false, true] {
        for by in [10.0, 20.0] {
            let mut operations = Vec::new();
            let mut gravel = false;
            for (at, leg) in trip.legs.iter().enumerate() {
                let here = match leg.surface() {
                    Surface::Sealed => true,
                    Surface::Gravel => on_gravel,
                    _ => false,
                };
                let speed = speed(trip, leg);
                let slow = (speed - KilometresPerHour::new(by)).max(SLOWEST);
                if here && slow < speed {
                    gravel |= leg.surface() == Surface::Gravel;
                    operations.push(put(&format!("/legs/{at}/speed_kmh"), json!(slow)));
                }
            }
            if !operations.is_empty() && gravel == on_gravel {
                let by = KilometresPerHour::new(by);
                tries.push(Try::new(Remedy::Slower { by, on_gravel }, operations));
            }
        }
    }
    tries
}

fn air_down(trip: &Trip) -> Option<Try> {
    let legs = trip.legs.iter().enumerate();
    let sandy: Vec<usize> = legs
        .filter(|(_, leg)| !leg.is_aired_down() && leg.soft_share() >= WORTH_AIRING_DOWN)
        .map(|(at, _)| at)
        .collect();
    let aired_down = |at| put(&format!("/legs/{at}/aired_down"), json!(true));
    let operations = sandy.iter().map(aired_down).collect();
    let time = AIRING * sandy.len() as f64;
    let remedies = Remedy::AirDown {
        legs: sandy.iter().map(|at| at + 1).collect(),
    };
    (!sandy.is_empty()).then_some(Try {
        time,
        ..Try::new(remedies, operations)
    })
}

/// A key of the rules; the rules are made where there are none.
fn rule(trip: &Trip, key: &str, value: Value) -> Vec<PatchOperation> {
    let mut operations = Vec::new();
    if trip.rules.is_none() {
        operations.push(put("/rules", json!({})));
    }
    operations.push(put(&format!("/rules/{key}"), value));
    operations
}

pub(in crate::plan) fn turn_back_if_dry(trip: &Trip) -> Option<Try> {
    let unconfirmed = |fuel: &FuelStop| fuel.chance() < Share::new(1.0);
    let any = trip
        .places()
        .any(|place| place.fuel.is_some_and(unconfirmed));
    let counted_on = trip.rules().unconfirmed_stops() == UnconfirmedStops::TurnBack;
    (any && !counted_on).then(|| {
        let operations = rule(trip, "unconfirmed_stops", json!("turn-back"));
        Try::new(Remedy::TurnBackIfDry, operations)
    })
}

/// From places without fuel to sure fuel stops off the route there that the trip knows, the nearest ones.
fn detours(trip: &Trip) -> Vec<Try> {
    let sure = |fuel: &&FuelStop| fuel.is_unlimited() && fuel.chance() >= Share::new(1.0);
    let mut found: Vec<(Kilometres, usize, usize)> = Vec::new();
    for place in trip.places().skip(1).filter(|place| place.fuel.is_none()) {
        let Some(here) = place.position else { continue };
        for fuel_stop in trip
            .places()
            .filter(|fuel_stop| fuel_stop.fuel.as_ref().is_some_and(sure))
        {
            let Some(there) = fuel_stop.position.filter(|_| fuel_stop.name != place.name) else {
                continue;
            };
            let straight = Kilometres::from(geodesic::distance(here, there));
            let fix = straight * (2.0 * DETOUR_FACTOR.get());
            found.push((fix, place.place_number, fuel_stop.place_number));
        }
    }
    found.retain(|(fix, ..)| fix.get() >= 1.0 && fix.get() <= 500.0);
    found.sort_by(|a, b| a.0.get().total_cmp(&b.0.get()));
    found.dedup_by_key(|(_, from, _)| *from);
    found.truncate(MOST_ITEMS);
    let tries = found.into_iter().map(|(fix, from, to)| {
        let fix = Kilometres::new(fix.get().ceil());
        let fuel_stop = trip.place(to);
        let mut fuel = json!({ "detour_km": fix });
        if let Some(price) = fuel_stop.fuel.and_then(|fuel| fuel.price_per_l) {
            fuel["price_per_l"] = json!(price);
        }
        let operation = put(&format!("/legs/{}/fuel", from - 1), fuel);
        let speed = speed(trip, &trip.legs[from - 1]);
        let remedies = Remedy::Detour {
            from,
            to: fuel_stop.name.to_owned(),
            fix,
        };
        Try {
            time: fix / speed,
            ..Try::new(remedies, vec![operation])
        }
    });
    tries.collect()
}

fn smaller_reserve(trip: &Trip) -> Vec<Try> {
    let now = Percent::new(trip.rules().contingency().get() * 100.0);
    let tries = [5.0, 0.0].into_iter().map(Percent::new);
    tries
        .filter(|to| *to < now)
        .map(|to| {
            let operations = rule(trip, "contingency_percent", json!(to));
            Try {
                reserve: now - to,
                ..Try::new(Remedy::SmallerReserve { to }, operations)
            }
        })
        .collect()
}
