//! What a turned slider changes in a trip.

use super::{AIRED, ROOFS, Reading, Slider, SliderStep, TARGETS, TREADS};
use crate::model::Trip;
use crate::model::load::{GearItem, Person, RoofCarrier};
use crate::model::route::Leg;
use crate::model::rules::Rules;
use crate::model::vehicle::{REFERENCE_LOAD, Tyres};
use crate::model::vocabulary::{CarryingPlace, RoofShape, Seat, Surface};
use crate::quantity::{Kilograms, KilometresPerHour, Share};

/// Name of the gear that represents more load.
pub(super) const EXTRA: &str = "extra load";
/// Name of the gear that represents more load on the roof.
pub(super) const ON_ROOF: &str = "extra load on the roof";
/// The most headwind that the format has.
const MOST_WIND: KilometresPerHour = KilometresPerHour::new(120.0);

/// Mass of the gear of that name.
pub(super) fn extra(trip: &Trip, name: &str) -> Kilograms {
    let items = trip.load().gear().iter();
    items
        .filter(|item| item.name == name)
        .map(|item| item.mass_kg)
        .sum()
}

/// Whether tyres are let down on a leg by one of the choices of that slider.
pub(super) fn lets_down(choice: usize, leg: &Leg) -> bool {
    let soft = leg.soft_share() > Share::ZERO || leg.surface() == Surface::Mud;
    match choice {
        0 => false,
        1 => soft,
        _ => soft || leg.surface() != Surface::Sealed,
    }
}

/// Mass of a carrier of a shape. Common practice, no source.
const fn carrier_mass(shape: RoofShape) -> Kilograms {
    Kilograms::new(match shape {
        RoofShape::None => 0.0,
        RoofShape::Bars => 6.0,
        RoofShape::OpenRack | RoofShape::LowLoad | RoofShape::TallLoad => 28.0,
        RoofShape::Box => 20.0,
        RoofShape::Tent => 50.0,
    })
}

/// Whether two shapes are the same carrier, differently loaded.
fn same_carrier(one: RoofShape, other: RoofShape) -> bool {
    [one, other].iter().all(|shape| {
        matches!(
            shape,
            RoofShape::OpenRack | RoofShape::LowLoad | RoofShape::TallLoad
        )
    })
}

impl Slider {
    /// Puts what a step means into `turned`; scale and stated values are those of `stated`.
    pub(super) fn put(self, stated: &Trip, slider_step: SliderStep, turned: &mut Trip) {
        let reading = self.reading(stated, slider_step);
        match (self, reading) {
            (Self::Roof, _) => put_roof(turned, ROOFS[slider_step.0 as usize % ROOFS.len()]),
            (Self::RoofLoad, Reading::Mass(mass)) => {
                put_extra(turned, ON_ROOF, mass, CarryingPlace::Roof);
            }
            (Self::Cargo, Reading::Mass(mass)) => {
                put_extra(turned, EXTRA, mass, CarryingPlace::Cargo);
            }
            (Self::People, Reading::Count(count)) => put_people(turned, count as usize),
            (Self::Tread, _) => {
                tyres(turned).tread = Some(TREADS[slider_step.0 as usize % TREADS.len()]);
            }
            (Self::RoadPressure, Reading::Pressure(bar)) => {
                let tyres = tyres(turned);
                tyres.road_bar = Some(bar);
                // Tyres are never let down to more than the road pressure.
                tyres.soft_bar = tyres.soft_bar.map(|soft| soft.min(bar));
            }
            (Self::SoftPressure, Reading::Pressure(bar)) => {
                let most = turned.vehicle.road_pressure();
                tyres(turned).soft_bar = Some(bar.min(most));
            }
            (Self::AiredDown, _) => {
                let choice = slider_step.0 as usize % AIRED.len();
                for leg in &mut turned.legs {
                    let down = lets_down(choice, leg);
                    if leg.is_aired_down() != down {
                        leg.aired_down = Some(down);
                    }
                }
            }
            (Self::SealedSpeed, Reading::Speed(speed)) => {
                for leg in &mut turned.legs {
                    if leg.surface() == Surface::Sealed {
                        leg.speed_kmh = Some(speed);
                    }
                }
            }
            (Self::Sand | Self::LowRange, Reading::OfStated(part)) => {
                for leg in &mut turned.legs {
                    put_share(leg, self, |share| share * part.get());
                }
            }
            (Self::SandOn(leg) | Self::LowRangeOn(leg), Reading::Share(share)) => {
                if let Some(leg) = turned.legs.get_mut(leg.wrapping_sub(1)) {
                    put_share(leg, self, |_| share);
                }
            }
            (Self::Headwind, Reading::MoreWind(more)) => {
                for leg in &mut turned.legs {
                    let wind = leg.headwind_kmh.unwrap_or_default() + more;
                    leg.headwind_kmh = Some(wind.max(-MOST_WIND).min(MOST_WIND));
                }
            }
            (Self::Temperature, Reading::Temperature(temperature)) => {
                for leg in &mut turned.legs {
                    leg.temperature_c = Some(temperature);
                }
            }
            (Self::Reserve, Reading::Fuel(litres)) => {
                let rules: &mut Rules = turned.rules.get_or_insert_default();
                rules.reserve.get_or_insert_default().litres = Some(litres);
            }
            (Self::Contingency, Reading::Percent(part)) => {
                let rules: &mut Rules = turned.rules.get_or_insert_default();
                rules.contingency_percent = Some(part);
            }
            (Self::SuccessTarget, _) => {
                let share = TARGETS[slider_step.0 as usize % TARGETS.len()];
                turned.rules.get_or_insert_default().success_target = Some(share);
            }
            (Self::DryStop, Reading::Place(name)) => {
                for leg in turned.legs.iter_mut().filter(|leg| leg.to == name) {
                    if let Some(stop) = &mut leg.fuel {
                        stop.chance = Some(Share::ZERO);
                    }
                }
            }
            _ => {}
        }
    }
}

fn tyres(trip: &mut Trip) -> &mut Tyres {
    trip.vehicle.tyres.get_or_insert_default()
}

fn put_roof(trip: &mut Trip, shape: RoofShape) {
    let load = trip.load.get_or_insert_default();
    let was = load.roof.take();
    if shape == RoofShape::None {
        return;
    }
    let kept = was.filter(|roof| roof.shape == shape || same_carrier(roof.shape, shape));
    let mass_kg = match &kept {
        Some(roof) => roof.mass_kg,
        None => Some(carrier_mass(shape)),
    };
    load.roof = Some(RoofCarrier {
        shape,
        mass_kg,
        rating_kg: kept.and_then(|roof| roof.rating_kg),
        // What was measured is of the other shape.
        drag_area_m2: None,
    });
}

fn put_extra(trip: &mut Trip, name: &str, mass: Kilograms, place: CarryingPlace) {
    if mass == extra(trip, name) {
        return;
    }
    let items = trip
        .load
        .get_or_insert_default()
        .gear
        .get_or_insert_default();
    match items.iter_mut().find(|item| item.name == name) {
        Some(item) => item.mass_kg = mass,
        None => items.push(GearItem {
            name: name.to_owned(),
            mass_kg: mass,
            place: Some(place),
            use_per_day_kg: None,
            water: None,
            safety: None,
        }),
    }
}

fn put_people(trip: &mut Trip, count: usize) {
    let people = trip
        .load
        .get_or_insert_default()
        .people
        .get_or_insert_default();
    people.truncate(count);
    while people.len() < count {
        let names = (people.len() + 1..).map(|number| format!("passenger {number}"));
        let name = names
            .into_iter()
            .find(|name| people.iter().all(|person| person.name != *name))
            .unwrap_or_default();
        let seat = if people.is_empty() {
            None
        } else {
            Some(Seat::Rear)
        };
        people.push(Person {
            name,
            mass_kg: REFERENCE_LOAD,
            seat,
        });
    }
}

/// Sets the share of sand or of low range; where both at once is stated, it keeps its part of the smaller one.
fn put_share(leg: &mut Leg, slider: Slider, to: impl Fn(Share) -> Share) {
    let smaller = |leg: &Leg| leg.soft_share().min(leg.low_range_share());
    let before = smaller(leg);
    let of_sand = matches!(slider, Slider::Sand | Slider::SandOn(_));
    let most = if of_sand {
        Share::new(1.0) - leg.dune_share()
    } else {
        Share::new(1.0)
    };
    let share = if of_sand {
        &mut leg.sand_share
    } else {
        &mut leg.low_range_share
    };
    let was = share.unwrap_or_default();
    let new = to(was).max(Share::ZERO).min(most);
    if new != was {
        *share = Some(new);
    }
    if let Some(both) = leg.both_share {
        let part = both.part_of(before).unwrap_or(1.0);
        let least = leg.soft_share() + leg.low_range_share() - Share::new(1.0);
        let most = smaller(leg);
        leg.both_share = Some((most * part).max(least).max(Share::ZERO).min(most));
    }
}
