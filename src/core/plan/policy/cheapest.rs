//! The plan that costs least, with the cans that are needed anyway.
//!
//! The cans are chosen first, as always: the fewest that go through. Then what to buy where follows from the prices, in
//! three ways: cans filled for the price too, cans filled only where more than a tank is needed, and the tank filled at
//! every fuel stop; driven forward with what decanting loses, the cheapest of them is the plan. With everything at its
//! likely value it is free which fuel stops off the route to use; at the success target they are those that the
//! instructions were raised for, and no fuel stop is left with less than those require.
//!
//! A stop without a price is taken for the dearest that is stated, so that it is relied on only where nothing else will
//! do.

use std::ops::RangeInclusive;

use crate::consumption::usage::Usage;
use crate::quantity::{Litres, Money, MoneyPerLitre};
use crate::solver::drive::{self, Conditions};
use crate::solver::fuel::{FuelStopVisit, Need, Problem, ROUNDING};
use crate::solver::least_cost::Market;
use crate::solver::run::Run;

use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;

/// Why a plan may cost more than it must.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotLeast {
    /// No stop that is relied on has a price.
    NoPrices,
    /// The fuel does not go through with what can be carried.
    NotThrough,
    /// Not every way to use the stops was tried.
    NotProven,
}

/// One way to buy the fuel of a trip.
pub(in crate::plan) struct Bought {
    cost: Money,
    pub(crate) need: Need,
    /// Litres needed in cans without what is lost in decanting, where they are others than those of the full tank.
    pub(crate) in_cans: Option<Litres>,
    /// Whether it is proven to be the least.
    pub(crate) proven: bool,
}

/// The fuel of a trip bought for least, everything at its best estimate, free which fuel stops off the route to use.
/// With cans that do not go through there is nothing to choose.
///
/// # Errors
/// Why there is no least.
pub(in crate::plan) fn at_best_estimate(
    facts: &TripFacts<'_>,
    loadout: &Loadout,
    problem: &Problem,
    need: &Need,
    goes_through: bool,
) -> Result<Bought, NotLeast> {
    least(facts, loadout, problem, need, |market| {
        let purchase = market.least_cost().filter(|_| goes_through)?;
        Some((purchase.need, Some(purchase.in_cans), purchase.proven))
    })
}

/// Instructions for `problem`, bought for least where the trip is after that; and why that may not be the least.
pub(super) fn as_told(
    facts: &TripFacts<'_>,
    loadout: &Loadout,
    problem: &Problem,
    need: Need,
) -> (Need, Option<NotLeast>) {
    if !facts.is_for_least_cost() {
        return (need, None);
    }
    let off_route = |fuel_stop: &FuelStopVisit| fuel_stop.detour != Usage::NONE;
    let as_planned = problem.fuel_stops.iter().flatten().any(off_route) || problem.meets_again();
    let best = least(facts, loadout, problem, &need, |market| {
        Some((market.least_cost_for(&need)?, None, !as_planned))
    });
    match best {
        Err(why) => (need, Some(why)),
        Ok(bought) => {
            let why = (!bought.proven).then_some(NotLeast::NotProven);
            (bought.need, why)
        }
    }
}

/// The cheapest of the ways to buy, as driven; `full` fills the tank at every fuel stop.
fn least(
    facts: &TripFacts<'_>,
    loadout: &Loadout,
    problem: &Problem,
    full: &Need,
    buy: impl Fn(Market<'_>) -> Option<(Need, Option<Litres>, bool)>,
) -> Result<Bought, NotLeast> {
    let dearest = facts
        .dearest(|place| problem.fuel_stops[place].is_some())
        .ok_or(NotLeast::NoPrices)?;
    let prices: Vec<MoneyPerLitre> = (0..=facts.distances.len())
        .map(|place| facts.price(place).unwrap_or(dearest))
        .collect();
    let conditions = loadout.conditions(facts);
    let cost = |need: &Need| -> Money {
        let run = drive::run(problem, need, conditions);
        let fills = run.fills.iter();
        fills
            .map(|fill| (fill.tank + fill.cans) * prices[fill.place_number])
            .sum()
    };
    let way = |cans_for_price: bool| {
        let (need, in_cans, proven) = buy(Market {
            problem,
            prices: &prices,
            start: conditions.start_tank.min(problem.tank) + conditions.start_cans,
            cans_for_price,
        })?;
        let need = carrying_losses(problem, need, conditions);
        Some(Bought {
            cost: cost(&need),
            need,
            in_cans,
            proven,
        })
    };
    let only_where_needed = way(false);
    let for_price = if problem.cans.is_empty() {
        None
    } else {
        way(true)
    };
    let least = [only_where_needed, for_price]
        .into_iter()
        .flatten()
        .min_by(|a, b| a.cost.get().total_cmp(&b.cost.get()))
        .ok_or(NotLeast::NotThrough)?;
    let filled_up = cost(full);
    Ok(if filled_up < least.cost {
        Bought {
            cost: filled_up,
            need: full.clone(),
            in_cans: None,
            proven: least.proven,
        }
    } else {
        least
    })
}

/// Raises what is bought by what carrying the litres takes that are later lost in decanting.
///
/// What is required counts them on the leg that no longer needs the can, but a can is decanted at the first halt where
/// it fits, so that they are carried for longer; bought to the drop, that would be some millilitres short.
fn carrying_losses(problem: &Problem, mut need: Need, conditions: Conditions<'_>) -> Need {
    const ROUNDS: usize = 8;
    /// What is added weighs too.
    const MORE: f64 = 1.1;
    let most = problem.lost_in_decanting(problem.cans.iter().copied().sum());
    let mut run = drive::run(problem, &need, conditions);
    for _ in 0..ROUNDS {
        let mut lacking = (0..run.legs.len()).map(|leg| (leg, run.lacks(leg, &need)));
        let Some((leg, missing)) = lacking.find(|(_, missing)| *missing > ROUNDING) else {
            break;
        };
        if missing > most {
            break;
        }
        // At the last fuel stop before it; where that has no more to give, at one before, too.
        let fuel_stops = (0..=leg)
            .rev()
            .filter(|&place_number| need.filled_to[place_number].is_some());
        let raised = fuel_stops.map(|from| {
            let need = raised(&need, from..=leg, missing * MORE);
            (drive::run(problem, &need, conditions), need)
        });
        let helps = |(run, need): &(Run, Need)| run.lacks(leg, need) < missing / 2.0;
        let Some(better) = raised.into_iter().find(helps) else {
            break;
        };
        (run, need) = better;
    }
    need
}

/// The need with each fuel stop of a part of the way left with so much more than is bought or, if that is more,
/// required there.
fn raised(need: &Need, part: RangeInclusive<usize>, by: Litres) -> Need {
    let mut need = need.clone();
    for place_number in part {
        let required = need.at_fuel_stop[place_number].unwrap_or_default();
        if let Some(level) = &mut need.filled_to[place_number] {
            *level = level.max(required) + by;
        }
    }
    need
}
