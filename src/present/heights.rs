//! Altitudes along the route, as far as the trip sets them: the altitude of the start, then the climb and
//! the descent of each leg, spread evenly over the leg. What is between two places of a leg that
//! goes up and down is not known and not shown.

use crate::plan::Plan;
use crate::quantity::{Kilometres, Metres};

/// The smallest difference that is drawn: twenty metres, drawn over the full height, would look like a mountain. Chosen,
/// no source.
const LEAST: Metres = Metres::new(100.0);

/// Heights of all places.
#[derive(Clone, Debug)]
pub(crate) struct Heights {
    /// Kilometres of all places, at least two.
    places: Vec<Kilometres>,
    at_places: Vec<Metres>,
    lowest: Metres,
    highest: Metres,
}

impl Heights {
    /// The altitudes of a plan's places; `None` if the altitude of the start is not set, or if all are about the same.
    pub(super) fn from_plan(plan: &Plan) -> Option<Self> {
        let start = plan.trip.start.altitude_m?;
        let last = plan.legs.last()?;
        let places = plan.legs.iter().map(|leg| leg.from_km);
        let later = plan.legs.iter().scan(start, |height, leg| {
            *height = *height + leg.ascent - leg.descent;
            Some(*height)
        });
        let at_places: Vec<Metres> = std::iter::once(start).chain(later).collect();
        let lowest = at_places.iter().copied().fold(start, Metres::min);
        let highest = at_places.iter().copied().fold(start, Metres::max);
        (highest - lowest >= LEAST).then(|| Self {
            places: places.chain([last.from_km + last.distance]).collect(),
            lowest,
            highest,
            at_places,
        })
    }

    pub(crate) const fn lowest(&self) -> Metres {
        self.lowest
    }

    pub(crate) const fn highest(&self) -> Metres {
        self.highest
    }

    /// The height at a kilometre.
    pub(crate) fn at(&self, km: Kilometres) -> Metres {
        let to = self.places.partition_point(|place| *place <= km);
        let to = to.clamp(1, self.places.len() - 1);
        let [start, end] = [to - 1, to].map(|place| self.places[place]);
        let [from, to] = [to - 1, to].map(|place| self.at_places[place]);
        let part = (km - start).part_of(end - start);
        from + (to - from) * part.map_or(1.0, |part| part.clamp(0.0, 1.0))
    }
}
