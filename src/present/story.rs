//! What was read off on the way against what was planned when the trip set out: a band of litres along the way and the
//! observed points on it. It knows no cells and no pixels.

use super::strip::Strip;
use crate::plan::Plan;
use crate::quantity::{Kilometres, Litres};

/// A trip under way against its plan.
#[derive(Clone, Debug)]
pub(crate) struct Story {
    planned: Strip,
    points: Vec<Point>,
    here: Kilometres,
}

/// Litres that were read off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Point {
    /// Where, on the planned route.
    pub(crate) at: Kilometres,
    /// Usable litres in tank and cans, before anything was filled.
    pub(crate) left: Litres,
    /// How far they may be off: a standard deviation.
    pub(crate) spread: Litres,
    /// Litres that were then taken on.
    pub(crate) filled: Litres,
}

/// Planned fuel on board at a kilometre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Planned {
    /// With everything as the plan takes it.
    pub(crate) litres: Litres,
    /// The range of 90 % of the simulated trips; `None` without a simulation.
    pub(crate) band: Option<[Litres; 2]>,
}

impl Story {
    /// The story of a plan; `None` if the trip is not under way.
    pub(crate) fn of(plan: &Plan) -> Option<Self> {
        let progress = plan.progress.as_deref()?;
        let planned = Strip::of(std::sync::Arc::clone(plan.as_planned()?));
        let km = |(leg, part): (usize, crate::quantity::Share)| {
            planned
                .plan()
                .legs
                .get(leg)
                .map_or(planned.length(), |leg| {
                    leg.from_km + leg.distance * part.get()
                })
        };
        let points: Vec<Point> = progress
            .readings
            .iter()
            .map(|reading| Point {
                at: km(reading.at),
                left: reading.left,
                spread: reading.spread,
                filled: reading.filled,
            })
            .collect();
        Some(Self {
            here: points.last().map_or(Kilometres::ZERO, |point| point.at),
            points,
            planned,
        })
    }

    /// What was read off, in driving order.
    pub(crate) fn points(&self) -> &[Point] {
        &self.points
    }

    /// Where the last reading was taken.
    pub(crate) const fn here(&self) -> Kilometres {
        self.here
    }

    /// Length of the trip as planned.
    pub(crate) const fn length(&self) -> Kilometres {
        self.planned.length()
    }

    /// The most that was planned or read off anywhere.
    pub(crate) fn top(&self) -> Litres {
        self.points
            .iter()
            .map(|point| point.left + point.filled)
            .fold(self.planned.top(), Litres::max)
    }

    /// Planned fuel on board at a kilometre.
    pub(crate) fn planned(&self, km: Kilometres) -> Planned {
        let fuel = self.planned.plan().on_board_at(km);
        Planned {
            litres: (fuel.tank + fuel.cans).max(Litres::ZERO),
            band: self.planned.band(km),
        }
    }
}
