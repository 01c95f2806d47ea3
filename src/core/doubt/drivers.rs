//! What each unknown does to the litres in cans.

use crate::consumption::spread::P95;
use crate::quantity::{Deviations, Litres, Share};
use crate::solver::fuel::{FuelStopVisit, Need, Problem};

use super::study::{Drawn, Effort, Policy};
use super::world::{Held, Unknown, World};

/// Something that is not known and moves the litres in cans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Uncertain {
    /// What the vehicle, the ground and the days bring.
    Unknown(Unknown),
    /// Whether the fuel stop that is first met at this place has fuel.
    FuelStop(usize),
}

/// What one of them does to the litres in cans.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driver {
    /// The uncertain input.
    pub of: Uncertain,
    /// Litres in cans with it at its 5th percentile and all else at its median; of a fuel stop, if it surely had fuel.
    pub low: Litres,
    /// Litres in cans with it at its 95th percentile; of a fuel stop, if it surely had no fuel.
    pub high: Litres,
    /// The share of the variance of what is required over a full tank that goes when it is known. The shares of all
    /// unknowns do not add up to the whole where two act on each other. Nothing for a fuel stop: the instructions do
    /// without it or turn back from it, and what they require is the same whether it has fuel or not.
    pub of_variance: Option<Share>,
}

/// A fuel stop that may be dry: how it would be used at each place at which it is met.
pub(crate) type UnconfirmedFuelStop = Vec<(usize, FuelStopVisit)>;

/// What each unknown does to the litres in cans, those that do most first. Cost: as many studies as there are unknowns.
pub(crate) fn drivers(
    world: &World,
    policy: &Policy,
    unconfirmed: &[UnconfirmedFuelStop],
    effort: Effort,
) -> Vec<Driver> {
    let all = Drawn::to_ask_once(world.clone(), effort).variance(policy);
    let in_cans = |problem: &Problem, need: &Need, unknown: Unknown, at: Deviations| {
        let (factors, idling) = world.with_one(unknown, at);
        let mut problem = Problem {
            extra: Share::ZERO,
            ..problem.clone()
        };
        for ((usage, factor), leg) in problem.legs.iter_mut().zip(&factors).zip(&world.legs) {
            *usage = usage.scaled(*factor, leg.idle(), idling);
        }
        problem.need_as(need).in_cans
    };
    let unknowns = Unknown::ALL.into_iter().map(|unknown| {
        let without = World {
            held: Held::only(unknown),
            ..world.clone()
        };
        let left = Drawn::to_ask_once(without, effort).variance(policy);
        let at = |end| in_cans(&policy.problem, &policy.need, unknown, end);
        Driver {
            of: Uncertain::Unknown(unknown),
            low: at(-P95),
            high: at(P95),
            of_variance: Some(Share::new(if all > 0.0 {
                (1.0 - left / all).max(0.0)
            } else {
                0.0
            })),
        }
    });
    let fuel_stops = unconfirmed.iter().filter_map(|met| {
        let with = |has_fuel: bool| {
            let mut problem = policy.problem.clone();
            for &(place, fuel_stop) in met {
                problem.fuel_stops[place] = has_fuel.then_some(fuel_stop);
            }
            let need = problem.need();
            in_cans(&problem, &need, Unknown::Base, Deviations::ZERO)
        };
        Some(Driver {
            of: Uncertain::FuelStop(met.first()?.0),
            low: with(true),
            high: with(false),
            of_variance: None,
        })
    });
    let mut drivers: Vec<Driver> = unknowns.chain(fuel_stops).collect();
    drivers.sort_by(|a, b| {
        let width = |driver: &Driver| (driver.high - driver.low).abs().get();
        let share = |driver: &Driver| driver.of_variance.unwrap_or_default().get();
        let by_width = width(b).total_cmp(&width(a));
        by_width.then(share(b).total_cmp(&share(a)))
    });
    drivers
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::study::tests::{effort, trip};
    use super::*;

    /// Litres in cans at the ends of an unknown are those of the recursion there: with the baseline consumption 8.6 %
    /// up (`e^(0.05 · 1.645)`) the leg takes 8.6 % more.
    #[test]
    fn drivers_are_worked_out_at_their_ends() {
        let (world, policy) = trip(&json!([{ "to": "b", "distance_km": 300 }]), Unknown::Base);
        let drivers = drivers(
            &World {
                held: Held::default(),
                ..world
            },
            &policy,
            &[],
            effort(8, 1),
        );
        let base = drivers
            .iter()
            .find(|driver| driver.of == Uncertain::Unknown(Unknown::Base))
            .unwrap();
        for (end, z) in [(base.low, -1.644_854_f64), (base.high, 1.644_854)] {
            let mut problem = policy.problem.clone();
            let factor = crate::quantity::Factor::new((0.05 * z).exp());
            problem.legs[0] = problem.legs[0].scaled(factor, Litres::ZERO, factor);
            assert!((problem.need().in_cans - end).abs() < Litres::new(1e-6));
        }
        assert!(
            drivers
                .iter()
                .filter_map(|driver| driver.of_variance)
                .map(Share::get)
                .sum::<f64>()
                > 0.8
        );
    }
}
