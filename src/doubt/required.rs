//! What each sample requires where: the recursion of `solver::fuel` on a whole block at once.
//!
//! The per-cent share is left out, since the samples themselves are the doubt that it stands for. Which pumps are
//! used, and how much a meeting may take from a limited one, is what the instructions say; nothing is known of a
//! sample before it is driven.

use crate::consumption::usage::{Usage, growth_over};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem};

use super::world::{Block, LegDoubt};
use super::{BLOCK, Lane};

/// A way back that may have to be driven from a pump that is dry.
#[derive(Clone, Debug, PartialEq)]
pub struct Homeward {
    /// Each leg the other way; nothing where it cannot be driven.
    pub back: Vec<Option<Usage>>,
    /// Whether each place is a refuge.
    pub refuge: Vec<bool>,
    /// Whether one must be able to turn back from each place, should its pump be dry.
    pub wanted: Vec<bool>,
}

/// What a block requires.
#[derive(Clone, Debug)]
pub struct Required {
    /// On departure from each place.
    pub(super) departure: Vec<Lane>,
    /// On arrival at each place.
    pub(super) arrival: Vec<Lane>,
    /// At the pump after filling, where one is used.
    pub(super) at_pump: Vec<Option<Lane>>,
    /// The most that is required anywhere over a full tank; below 0 is what a full tank has to spare.
    pub(super) over_tank: Lane,
}

impl Required {
    /// On departure from a place in a sample.
    pub fn departure(&self, place: usize, sample: usize) -> Litres {
        Litres::new(self.departure[place][sample])
    }

    /// On arrival at a place in a sample.
    pub fn arrival(&self, place: usize, sample: usize) -> Litres {
        Litres::new(self.arrival[place][sample])
    }

    /// Litres that must be in cans somewhere in a sample.
    pub fn spare(&self, sample: usize) -> Litres {
        Litres::new(self.over_tank[sample]).max(Litres::ZERO)
    }
}

/// A leg, or a detour, as the samples scale it: α = driving · factor + idling · factor, β = growth · factor.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scaled {
    driving: f64,
    growth: f64,
    idle: f64,
}

impl Scaled {
    pub(super) fn of(usage: Usage, idle: Litres) -> Self {
        Self {
            driving: (usage.at_empty() - idle).get(),
            growth: usage.growth().get(),
            idle: idle.get(),
        }
    }

    /// `left` becomes what is needed at the start of the leg to end with it.
    fn needed_for(self, left: &mut Lane, factor: &Lane, idling: &Lane) {
        for ((left, factor), idling) in left.iter_mut().zip(factor).zip(idling) {
            let rate = self.driving * factor + self.idle * idling;
            let beta = self.growth * factor;
            *left += (rate + beta * *left) * growth_over(Share::new(beta)).get();
        }
    }
}

/// Works out what a block requires. `need` says which pumps are used and what each meeting may take.
pub fn required(
    problem: &Problem,
    need: &Need,
    legs: &[LegDoubt],
    homeward: Option<&Homeward>,
    block: &Block,
) -> Required {
    let n = problem.legs.len();
    let mut departure = vec![[0.0; BLOCK]; n + 1];
    departure[n] = [problem.reserve[n].get(); BLOCK];
    let mut arrival = departure.clone();
    let mut at_pump: Vec<Option<Lane>> = vec![None; n + 1];
    let over_tank = back_from_the_finish(problem, need, legs, homeward, block, |place, lanes| {
        departure[place] = *lanes.departure;
        arrival[place] = *lanes.arrival;
        at_pump[place] = lanes.at_pump.copied();
    });
    Required {
        departure,
        arrival,
        at_pump,
        over_tank,
    }
}

/// The most that is required anywhere over a full tank, and nothing else of it.
pub(super) fn over_tank(
    problem: &Problem,
    need: &Need,
    legs: &[LegDoubt],
    homeward: Option<&Homeward>,
    block: &Block,
) -> Lane {
    back_from_the_finish(problem, need, legs, homeward, block, |_, _| {})
}

/// What is required at one place.
struct AtPlace<'a> {
    departure: &'a Lane,
    arrival: &'a Lane,
    at_pump: Option<&'a Lane>,
}

/// Shows what is required at each place but the finish, the last one first; the most that is over a full tank.
fn back_from_the_finish(
    problem: &Problem,
    need: &Need,
    legs: &[LegDoubt],
    homeward: Option<&Homeward>,
    block: &Block,
    mut show: impl FnMut(usize, AtPlace<'_>),
) -> Lane {
    let n = problem.legs.len();
    let home = homeward.map(|homeward| home(problem, legs, homeward, block));
    let mut arrival = [problem.reserve[n].get(); BLOCK];
    let mut over_tank = [f64::NEG_INFINITY; BLOCK];
    let tank = problem.tank.get();
    let mut must_hold = |lane: &Lane| {
        for (most, litres) in over_tank.iter_mut().zip(lane) {
            *most = f64::max(*most, litres - tank);
        }
    };
    for j in (0..n).rev() {
        let mut departure = arrival;
        Scaled::of(problem.legs[j], legs[j].idle()).needed_for(
            &mut departure,
            &block.driving[j],
            &block.idling,
        );
        lose_in_pouring(problem, &mut departure, &arrival);
        must_hold(&departure);
        let reserve = problem.reserve[j].get();
        let Some(pump) = problem.pumps[j].filter(|_| need.at_pump[j].is_some()) else {
            arrival = departure.map(|litres| reserve.max(litres));
            show(
                j,
                AtPlace {
                    departure: &departure,
                    arrival: &arrival,
                    at_pump: None,
                },
            );
            continue;
        };
        let detour = Scaled::of(pump.detour, Litres::ZERO);
        let factor = &block.driving[j.saturating_sub(1)];
        let on_road = pump.detour == Usage::NONE;
        let mut at_pump = departure;
        if !on_road {
            detour.needed_for(&mut at_pump, factor, &block.idling);
            lose_in_pouring(problem, &mut at_pump, &departure);
            must_hold(&at_pump);
        }
        let share = need.allowance[j].map_or(f64::INFINITY, Litres::get);
        arrival = at_pump.map(|litres| reserve.max(litres - share));
        if let (Some(home), Some(homeward)) = (&home, homeward)
            && homeward.wanted[j]
        {
            let mut back = home[j];
            if !on_road {
                detour.needed_for(&mut back, factor, &block.idling);
            }
            for (arriving, back) in arrival.iter_mut().zip(&back) {
                *arriving = arriving.max(*back);
            }
        }
        if !on_road {
            let before = arrival;
            detour.needed_for(&mut arrival, factor, &block.idling);
            lose_in_pouring(problem, &mut arrival, &before);
        }
        show(
            j,
            AtPlace {
                departure: &departure,
                arrival: &arrival,
                at_pump: Some(&at_pump),
            },
        );
    }
    over_tank
}

/// Adds what is lost when the cans are poured that a leg or a detour empties.
fn lose_in_pouring(problem: &Problem, here: &mut Lane, left: &Lane) {
    let tank = problem.tank.get();
    if problem.cans.is_empty() || here.iter().all(|&litres| litres <= tank) {
        return;
    }
    for (here, &left) in here.iter_mut().zip(left) {
        *here += problem
            .poured_between(Litres::new(*here), Litres::new(left))
            .get();
    }
}

/// Litres needed at each place to go back to the nearest refuge behind it and be there with the reserve; no amount
/// is enough where there is none.
fn home(problem: &Problem, legs: &[LegDoubt], homeward: &Homeward, block: &Block) -> Vec<Lane> {
    let mut home: Vec<Lane> = Vec::with_capacity(homeward.refuge.len());
    for node in 0..homeward.refuge.len() {
        let mut needed = [problem.reserve[node].get(); BLOCK];
        if homeward.refuge[node] {
            if let Some(pump) = problem.pumps[node].filter(|pump| pump.detour != Usage::NONE) {
                Scaled::of(pump.detour, Litres::ZERO).needed_for(
                    &mut needed,
                    &block.driving[node.saturating_sub(1)],
                    &block.idling,
                );
            }
        } else if let (Some(&behind), Some(back)) = (
            home.last(),
            node.checked_sub(1).and_then(|leg| homeward.back[leg]),
        ) {
            needed = behind;
            Scaled::of(back, legs[node - 1].idle()).needed_for(
                &mut needed,
                &block.back[node - 1],
                &block.idling,
            );
        } else {
            needed = [f64::INFINITY; BLOCK];
        }
        home.push(needed);
    }
    home
}
