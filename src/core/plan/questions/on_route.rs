//! What the odometer shows and what is on board at a point of the route, and why a leg costs what it costs.

use std::num::NonZeroUsize;

use crate::consumption::leg::LegFormula;
use crate::doubt::threads::for_each;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::load::{self, Departure, LoadBar};

use crate::plan::answers::attribution::Attribution;
use crate::plan::parts::Plan;
use crate::plan::parts::course::OnBoard;

impl Plan {
    /// Why leg number `n` (from 1) costs what it costs; computed when first asked for.
    ///
    /// # Panics
    /// When there is no such leg.
    pub fn attribution(&self, n: usize) -> &Attribution {
        self.answers.why[n - 1].get_or_init(|| Attribution {
            causes: self.kept.formulas[n - 1].causes(self.legs[n - 1].steady),
        })
    }

    /// Computes why each leg costs what it costs.
    pub(in crate::plan) fn attribute_all(&self, threads: NonZeroUsize) {
        for_each(self.legs.iter(), threads, |leg| {
            self.attribution(leg.n);
        });
    }

    /// Leg number `n` (from 1) as the formula sees it.
    ///
    /// # Panics
    /// When there is no such leg.
    pub fn formula(&self, n: usize) -> &LegFormula {
        &self.kept.formulas[n - 1]
    }

    /// What the odometer will show at a kilometre of the trip, counted from the stated reading at the start, or
    /// from 0 like a trip meter. `None` if it shows true kilometres and no reading is stated.
    pub fn odometer_at(&self, km: Kilometres) -> Option<Kilometres> {
        let factor = self.trip.vehicle.odometer_factor();
        let start = self.trip.start.odometer_km;
        if let Some(progress) = self.progress.as_deref() {
            let here = self.here().unwrap_or_default();
            if km >= here || start.is_none() {
                let shown = progress.odometer + (km - here).shown(factor);
                return Some(shown.max(Kilometres::ZERO));
            }
        }
        let is_known = start.is_some() || (factor.get() - 1.0).abs() > 1e-9;
        is_known.then(|| start.unwrap_or_default() + km.shown(factor))
    }

    /// Every limit at its heaviest of some departures.
    pub fn bars_of(&self, departures: &[Departure]) -> Vec<LoadBar> {
        load::bars(&self.trip, departures)
    }

    /// Fuel on board at a kilometre of the trip, after all that is done there.
    pub fn on_board_at(&self, km: Kilometres) -> OnBoard {
        let last = self
            .course
            .partition_point(|span| span.from_km <= km)
            .saturating_sub(1);
        let Some(span) = self.course.get(last) else {
            return OnBoard {
                tank: Litres::ZERO,
                cans: Litres::ZERO,
                reserve: Litres::ZERO,
            };
        };
        let leg = &self.legs[span.leg - 1];
        let length = span.to_km - span.from_km;
        let driven = length.min((km - span.from_km).max(Kilometres::ZERO));
        let part_of = |whole: Kilometres| driven.part_of(whole).unwrap_or(1.0);
        let used = self.kept.usages[span.leg - 1]
            .part(Share::new(part_of(leg.distance)))
            .litres(span.tank_from + span.cans);
        OnBoard {
            tank: span.tank_from - used,
            cans: span.cans,
            reserve: span.reserve_from + (span.reserve_to - span.reserve_from) * part_of(length),
        }
    }
}
