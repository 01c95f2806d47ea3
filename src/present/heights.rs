//! How high the way lies, as far as the trip states it: the height of the start, then the climb and
//! the descent of each leg, spread evenly over the leg. What lies between two places of a leg that
//! goes up and down is not known and not shown.

use crate::plan::Plan;
use crate::quantity::{Kilometres, Metres};

/// Heights of all places.
#[derive(Clone, Debug)]
pub struct Heights {
    at_places: Vec<Metres>,
    lowest: Metres,
    highest: Metres,
}

impl Heights {
    /// The heights of a plan's places; nothing where the height of the start is not stated.
    pub(super) fn of(plan: &Plan) -> Option<Self> {
        let start = plan.trip.start.altitude_m?;
        let later = plan.legs.iter().scan(start, |height, leg| {
            *height = *height + leg.ascent - leg.descent;
            Some(*height)
        });
        let at_places: Vec<Metres> = std::iter::once(start).chain(later).collect();
        Some(Self {
            lowest: at_places.iter().copied().fold(start, Metres::min),
            highest: at_places.iter().copied().fold(start, Metres::max),
            at_places,
        })
    }

    /// The lowest place.
    pub const fn lowest(&self) -> Metres {
        self.lowest
    }

    /// The highest place.
    pub const fn highest(&self) -> Metres {
        self.highest
    }

    /// The height at a kilometre of the plan that the heights were made of.
    pub fn at(&self, plan: &Plan, km: Kilometres) -> Metres {
        let leg = plan.legs.partition_point(|leg| leg.from_km <= km).max(1);
        let (Some(planned), Some(&from), Some(&to)) = (
            plan.legs.get(leg - 1),
            self.at_places.get(leg - 1),
            self.at_places.get(leg),
        ) else {
            return self.lowest;
        };
        let part = if planned.distance > Kilometres::ZERO {
            ((km - planned.from_km) / planned.distance).clamp(0.0, 1.0)
        } else {
            1.0
        };
        from + (to - from) * part
    }
}
