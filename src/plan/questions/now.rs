//! What a trip that is under way says of going on or turning back now.

use std::sync::Arc;

use crate::model::Trip;
use crate::model::vehicle::Vehicle;
use crate::quantity::{Kilometres, Litres};

use crate::plan::parts::Plan;
use crate::plan::parts::stages::TurnBack;
use crate::plan::under_way::behind::DrivenWay;

/// What can be done now with what is aboard.
#[derive(Clone, Debug, PartialEq)]
pub struct Now {
    /// Litres with which to go on without filling here.
    pub go_on: Litres,
    /// Litres with which to go on after filling here; nothing where nothing can be had.
    pub fill: Option<Litres>,
    /// The nearest sure pump behind with the litres that going back to it takes; nothing where there is none.
    pub back: Option<(usize, Litres)>,
    /// The last point ahead from which that can still be done.
    pub last: Option<TurnBack>,
    /// Which of them to do.
    pub advice: Advice,
}

/// What to do now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Advice {
    /// There is enough to go on.
    GoOn,
    /// There is enough once tank and cans are filled here.
    Fill,
    /// There is not enough to go on, and enough to go back.
    TurnBack,
    /// There is not enough for either with the reserve untouched.
    Stay,
}

impl Plan {
    /// The kilometre from which on is planned, on a trip that is under way.
    pub fn here(&self) -> Option<Kilometres> {
        let node = self.behind.as_deref()?.node;
        Some(
            self.legs
                .get(node)
                .map_or(self.totals.distance, |leg| leg.from_km),
        )
    }

    /// What can be done now, on a trip that is under way and not at its finish.
    pub fn now(&self) -> Option<Now> {
        let behind = self.behind.as_deref()?;
        let leg = self.legs.get(behind.node)?;
        let stretch = self.stretches.first()?;
        let here = self
            .decisions
            .iter()
            .find(|line| line.node == Some(behind.node));
        let (go_on, arrival) = here.map_or((stretch.required, stretch.required), |line| {
            (line.go_on.unwrap_or(stretch.required), line.turn_back)
        });
        let fill = here.and_then(|line| line.fill_cans);
        let back = here
            .and_then(|line| line.back)
            .map(|back| (back.refuge, back.needed));
        debug_assert_eq!(leg.n, behind.node + 1);
        let counted = behind.counted;
        let advice = if counted >= go_on {
            Advice::GoOn
        } else if counted >= arrival {
            Advice::Fill
        } else if back.is_some_and(|(_, needed)| counted >= needed) {
            Advice::TurnBack
        } else {
            Advice::Stay
        };
        Some(Now {
            go_on,
            fill,
            back,
            last: stretch.turn_back,
            advice,
        })
    }

    /// The plan that the trip set out with, to hold the log against; nothing where there is no log. As sure as this one;
    /// computed when first asked for.
    pub fn as_planned(&self) -> Option<&Arc<Self>> {
        self.behind.as_ref()?;
        Some(self.answers.set_out.get_or_init(|| {
            let trip = Trip {
                log: None,
                ..(*self.trip).clone()
            };
            Arc::new(match &self.doubt {
                Some(doubt) => Self::at_confidence(trip, doubt.effort()),
                None => Self::of(trip),
            })
        }))
    }

    /// Litres that were planned for a way that was driven, when the trip set out.
    pub fn planned_for(&self, way: &DrivenWay) -> Litres {
        let legs = self.as_planned().map_or(&self.legs, |plan| &plan.legs);
        let [from, to] = way.between.map(|(leg, part)| leg as f64 + part.get());
        let (low, high) = (from.min(to), from.max(to));
        let part = |at: f64| (high.min(at + 1.0) - low.max(at)).max(0.0);
        legs.iter()
            .map(|leg| leg.fuel * part((leg.n - 1) as f64))
            .sum()
    }

    /// The vehicle as it is planned with: with what the way has added where the trip is under way.
    pub fn vehicle(&self) -> &Vehicle {
        self.behind
            .as_deref()
            .map_or(&self.trip.vehicle, |behind| &behind.vehicle)
    }
}
