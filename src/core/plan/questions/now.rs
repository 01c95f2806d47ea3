//! What follows from a trip under way for going on or turning back now.

use std::sync::Arc;

use crate::model::Trip;
use crate::model::vehicle::Vehicle;
use crate::quantity::{Kilometres, Litres};
use crate::solver::fuel::ROUNDING;

use crate::plan::answers::fixes::Fixes;
use crate::plan::parts::Plan;
use crate::plan::parts::finding::{Finding, What};
use crate::plan::under_way::UnderWay;
use crate::plan::under_way::progress::{DrivenInterval, Progress};
use crate::plan::under_way::return_trip::return_trip;

/// Deviations of the normal distribution that one in a hundred passes.
const P99: f64 = 2.326_348;

/// What a reading under way requires, and what to do. Litres are those to be read off: that a reading may be off is
/// allowed for, and nothing is to be deducted from it.
#[derive(Clone, Debug, PartialEq)]
pub struct Now {
    /// Usable litres that were read, tank and cans.
    pub on_board: Litres,
    /// How far they may be off: a standard deviation.
    pub error: Litres,
    /// With this, continue without filling here; `None` if no amount is enough.
    pub continue_with: Option<Litres>,
    /// With this, continue after filling here; `None` if nothing can be had here.
    pub continue_filling: Option<Litres>,
    /// The refuge behind with the litres that returning to it takes; `None` if there is no return.
    pub back: Option<(usize, Litres)>,
    /// The turn-back point ahead.
    pub turn_back: Option<Kilometres>,
    /// Whether hardly any trip was expected here with so much or so little: one in a hundred at either end.
    pub unexpected: bool,
    /// Continue, fill, turn back, or neither.
    pub advice: Advice,
}

/// What the driver is advised to do at the last reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Advice {
    /// There is enough to continue.
    Continue,
    /// There is enough once tank and cans are filled here.
    Fill,
    /// There is not enough to continue, and enough to return.
    TurnBack,
    /// There is not enough for either.
    Neither,
}

impl Plan {
    /// The kilometre from which on is planned, on a trip that is under way.
    pub fn here(&self) -> Option<Kilometres> {
        let place_number = self.progress.as_deref()?.place_number;
        Some(
            self.legs
                .get(place_number)
                .map_or(self.totals.distance, |leg| leg.from_km),
        )
    }

    /// What can be done now, on a trip that is under way and not at its finish; `None` without simulated trips.
    pub fn now(&self) -> Option<Now> {
        let progress = self.progress.as_deref()?;
        let doubt = self.doubt.as_ref()?;
        let figures = doubt.now?;
        let driving = self.kept.driving.as_ref()?;
        let on_board = progress.on_board;
        let is_enough =
            |litres: Option<Litres>| litres.is_some_and(|litres| on_board >= litres - ROUNDING);
        let refuge = driving.refuge_for_return();
        let advice = if is_enough(figures.continue_with) {
            Advice::Continue
        } else if is_enough(figures.continue_filling) {
            Advice::Fill
        } else if refuge.is_some() && is_enough(figures.return_with) {
            Advice::TurnBack
        } else {
            Advice::Neither
        };
        Some(Now {
            on_board,
            error: progress.error,
            continue_with: figures.continue_with,
            continue_filling: figures.continue_filling,
            back: refuge.zip(figures.return_with),
            turn_back: doubt.turn_backs.first().copied().flatten(),
            unexpected: self.is_unexpected(progress),
            advice,
        })
    }

    /// Whether the plan that the trip set out with has fewer than one in a hundred trips here with so little, or so
    /// much.
    fn is_unexpected(&self, progress: &Progress) -> bool {
        if progress.to_next.is_some() {
            return false;
        }
        let Some(reading) = progress.readings.last() else {
            return false;
        };
        let checks = self.as_planned().map_or(&[][..], |plan| &plan.fuel_checks);
        let check = checks
            .iter()
            .find(|check| check.place_number == Some(progress.place_number));
        check.is_some_and(|check| {
            // The reading's own error is no surprise.
            let slack = reading.spread * P99;
            reading.left + slack < check.arrivals.p01 || reading.left - slack > check.arrivals.p99
        })
    }

    /// The plan that the trip set out with, to hold the log against; `None` if there is no log. As sure as this one;
    /// computed when first asked for.
    pub fn as_planned(&self) -> Option<&Arc<Self>> {
        self.progress.as_ref()?;
        Some(self.answers.set_out.get_or_init(|| {
            let trip = Trip {
                log: None,
                ..(*self.trip).clone()
            };
            Arc::new(match &self.doubt {
                Some(doubt) => Self::at_target(trip, doubt.effort()),
                None => Self::best_estimate(trip),
            })
        }))
    }

    /// The plan of the return, if the trip under way is to turn back now; computed when first asked for. What could be
    /// changed before setting out is no longer asked: it has no fixes.
    pub fn return_plan(&self) -> Option<&Self> {
        let answer = self.answers.return_plan.get_or_init(|| {
            let now = self.now().filter(|now| now.advice == Advice::TurnBack)?;
            let (refuge, _) = now.back?;
            let under_way = UnderWay::from_log(&self.trip)?;
            let effort = self.doubt.as_ref()?.effort();
            let mut plan = Self::at_target(return_trip(&under_way, refuge), effort);
            // Who returns does not turn back again.
            let turns_back = |found: &Finding| matches!(found.what, What::NoTurnBack { .. });
            plan.findings.retain(|found| !turns_back(found));
            plan.is_return = true;
            let _ = plan.answers.fixes.set(Fixes::default());
            Some(Arc::new(plan))
        });
        answer.as_deref()
    }

    /// Litres that were planned for a way that was driven, when the trip set out.
    pub fn planned_for(&self, interval: &DrivenInterval) -> Litres {
        let legs = self.as_planned().map_or(&self.legs, |plan| &plan.legs);
        let [from, to] = interval.between.map(|(leg, part)| leg as f64 + part.get());
        let (low, high) = (from.min(to), from.max(to));
        let part = |at: f64| (high.min(at + 1.0) - low.max(at)).max(0.0);
        let first = interval.between[0]
            .0
            .min(interval.between[1].0)
            .min(legs.len());
        let driven = legs[first..]
            .iter()
            .take_while(|leg| ((leg.n - 1) as f64) < high);
        driven.map(|leg| leg.fuel * part((leg.n - 1) as f64)).sum()
    }

    /// The vehicle as it is planned with: with what the way has added where the trip is under way.
    pub fn vehicle(&self) -> &Vehicle {
        self.progress
            .as_deref()
            .map_or(&self.trip.vehicle, |progress| &progress.vehicle)
    }
}
