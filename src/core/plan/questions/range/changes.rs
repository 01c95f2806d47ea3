//! What single changes do to the range: one can more, one person more, the roof rack, the speed, the tyre pressure.

use std::num::NonZeroUsize;

use crate::doubt::threads::for_each;
use crate::model::Trip;
use crate::model::load::{GearItem, Load, Person, RoofCarrier};
use crate::model::route::Leg;
use crate::model::vocabulary::RoofShape;
use crate::plan::answers::range::{
    Changed, GEAR, Loaded, PERSON, RACK, RangeChange, STEP, TypicalSurface, WithCans,
};
use crate::quantity::{Kilometres, KilometresPerHour};

use super::{loaded, with_load, without_roof};

/// Slower than this is no driving.
const SLOWEST: KilometresPerHour = KilometresPerHour::new(5.0);
/// Distances that differ by less are equal.
const NOTHING: Kilometres = Kilometres::new(1e-6);

/// What each change does, from the tank alone and loaded as in the trip.
pub(super) fn all(
    trip: &Trip,
    stated: &Loaded,
    with_can: Option<&WithCans>,
    threads: NonZeroUsize,
) -> Vec<Changed> {
    let roof = if trip.load().roof.is_some() {
        RangeChange::WithoutRoof
    } else {
        RangeChange::WithRack
    };
    let tried = [
        RangeChange::OneMoreCan,
        RangeChange::OneMorePerson,
        RangeChange::MoreGear,
        roof,
        RangeChange::Slower,
        RangeChange::Faster,
        RangeChange::AiredDown,
    ];
    let changes = for_each(tried.into_iter(), threads, |what| {
        let after = tried_with(trip, stated, with_can, what)?;
        Some(changed(what, stated, &after))
    });
    changes.into_iter().flatten().collect()
}

fn changed(what: RangeChange, before: &Loaded, after: &Loaded) -> Changed {
    let mut by_surface = [None; TypicalSurface::ALL.len()];
    for (at, more) in by_surface.iter_mut().enumerate() {
        let (before, after) = (&before.by_surface[at], &after.by_surface[at]);
        let km = after.to_minimum.at_target - before.to_minimum.at_target;
        // A step that is cut off by what the ground or the engine allows is no change of so much.
        let is_done = match what {
            RangeChange::Faster => after.speed >= before.speed + STEP * 0.5,
            RangeChange::Slower => after.speed <= before.speed - STEP * 0.5,
            _ => km.abs() > NOTHING,
        };
        *more = is_done.then_some(km);
    }
    Changed {
        what,
        mass: after.mass - before.mass,
        by_surface,
    }
}

/// The range with a change; `None` if it cannot be made.
fn tried_with(
    trip: &Trip,
    stated: &Loaded,
    with_can: Option<&WithCans>,
    what: RangeChange,
) -> Option<Loaded> {
    let load = trip.load();
    let of_load = |load: Load| loaded(&with_load(trip, load), &[], TypicalSurface::leg);
    let of_legs = |leg: &dyn Fn(TypicalSurface) -> Leg| loaded(trip, &[], leg);
    let at_speed = |step: KilometresPerHour| {
        of_legs(&|surface| {
            let speed = stated.by_surface[surface as usize].speed + step;
            Leg {
                speed_kmh: Some(speed).filter(|&speed| speed >= SLOWEST),
                ..surface.leg()
            }
        })
    };
    Some(match what {
        RangeChange::OneMoreCan => with_can?.loaded.clone(),
        RangeChange::OneMorePerson => {
            let mut people = load.people().to_vec();
            people.push(Person {
                name: "one more".to_owned(),
                mass_kg: PERSON,
                seat: None,
            });
            of_load(Load {
                people: Some(people),
                ..load.clone()
            })
        }
        RangeChange::MoreGear => {
            let mut gear = load.gear().to_vec();
            gear.push(GearItem {
                name: "more".to_owned(),
                mass_kg: GEAR,
                place: None,
                use_per_day_kg: None,
                water: None,
                safety: None,
            });
            of_load(Load {
                gear: Some(gear),
                ..load.clone()
            })
        }
        RangeChange::WithoutRoof => of_load(without_roof(load)),
        RangeChange::WithRack => of_load(Load {
            roof: Some(RoofCarrier {
                shape: RoofShape::OpenRack,
                mass_kg: Some(RACK),
                rating_kg: None,
                drag_area_m2: None,
            }),
            ..load.clone()
        }),
        RangeChange::Slower => at_speed(STEP * -1.0),
        RangeChange::Faster => at_speed(STEP),
        RangeChange::AiredDown => of_legs(&|surface| Leg {
            aired_down: Some(true),
            ..surface.leg()
        }),
    })
}
