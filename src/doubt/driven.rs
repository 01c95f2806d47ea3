//! Every sample driven forward under the printed instructions, by the same rules as the plan itself.
//!
//! What is filled where is fixed before the start. A pump that is dry in a sample stays dry. Where the rules count on
//! turning back from a dry pump, the driver goes on from there only with what the card asks for, else he turns back.

use crate::quantity::{Factor, Litres};
use crate::solver::fuel::{Need, Problem, ROUNDING};
use crate::solver::run::{Conditions, Drive, Tap};

use super::BLOCK;
use super::required::Homeward;
use super::world::{Block, LegDoubt};

/// How a sample ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// At the finish, the fixed reserve untouched all the way.
    Through,
    /// At the finish, with less than the fixed reserve somewhere.
    OnReserve,
    /// Back at a refuge from a pump that was dry.
    TurnedBack,
    /// Out of fuel.
    Stranded,
}

/// One sample as driven.
#[derive(Clone, Debug, PartialEq)]
pub struct Driven {
    /// How it ends.
    pub outcome: Outcome,
    /// The first leg (from 0) that ends, or whose next pump is reached, with less than the fixed reserve.
    pub first_below: Option<usize>,
    /// The legs that were driven.
    pub legs: Vec<LegDriven>,
}

/// One leg of a sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LegDriven {
    /// Usable litres on departure.
    pub start: Litres,
    /// Litres in cans on departure.
    pub start_cans: Litres,
    /// Usable litres on arrival.
    pub end: Litres,
}

/// What a driver has in hand.
#[derive(Clone, Copy, Debug)]
pub struct Instructions<'a> {
    /// The trip with everything at its likely value.
    pub problem: &'a Problem,
    /// What is to be on board where.
    pub need: &'a Need,
    /// The vehicle at the start.
    pub conditions: Conditions<'a>,
    /// What cannot be known of the legs.
    pub legs: &'a [LegDoubt],
    /// The ways back, and what to do where a pump is dry.
    pub homeward: Option<&'a Homeward>,
    /// At each place, the pump on the route that is not relied on: there the tank is filled if there is fuel.
    pub passing: &'a [Option<Passing>],
}

/// A pump that the plan does not rely on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passing {
    /// Its number.
    pub number: usize,
    /// What it has; nothing when unlimited.
    pub supply: Option<Litres>,
}

/// Drives every sample of a block, and shows each as it ends.
pub fn driven(told: Instructions<'_>, block: &Block, mut seen: impl FnMut(usize, &Driven)) {
    let mut sampled = told.problem.clone();
    let mut driven = Driven {
        outcome: Outcome::Through,
        first_below: None,
        legs: Vec::with_capacity(sampled.legs.len()),
    };
    for sample in 0..BLOCK {
        put(told.problem, told.legs, block, sample, &mut sampled);
        told.drive(&sampled, block, sample, &mut driven);
        seen(sample, &driven);
    }
}

/// The problem with the litres of one sample.
#[cfg(test)]
pub fn sampled(problem: &Problem, legs: &[LegDoubt], block: &Block, sample: usize) -> Problem {
    let mut sampled = problem.clone();
    put(problem, legs, block, sample, &mut sampled);
    sampled
}

/// Puts a sample's litres into a copy of the problem.
fn put(problem: &Problem, legs: &[LegDoubt], block: &Block, sample: usize, sampled: &mut Problem) {
    let idling = Factor::new(block.idling[sample]);
    for (leg, usage) in sampled.legs.iter_mut().enumerate() {
        let factor = block.driving(leg, sample);
        *usage = problem.legs[leg].scaled(factor, legs[leg].idle(), idling);
    }
    for (node, pump) in sampled.pumps.iter_mut().enumerate() {
        if let (Some(pump), Some(likely)) = (pump, problem.pumps[node]) {
            let factor = block.driving(node.saturating_sub(1), sample);
            pump.detour = likely.detour.scaled(factor, Litres::ZERO, idling);
        }
    }
}

impl Instructions<'_> {
    fn drive(&self, sampled: &Problem, block: &Block, sample: usize, driven: &mut Driven) {
        let mut drive = Drive::new(sampled, self.need, self.conditions);
        driven.outcome = Outcome::Through;
        driven.first_below = None;
        driven.legs.clear();
        // What was taken so far from pumps that are not relied on, by number.
        let mut taken: Vec<(usize, Litres)> = Vec::new();
        for leg in 0..sampled.legs.len() {
            let dry = sampled.pumps[leg].is_some_and(|pump| block.dry[pump.number][sample]);
            let fill = drive.fill(leg, if dry { Tap::Dry } else { Tap::Open });
            if let Some(fill) = fill {
                driven.see(
                    fill.at_pump,
                    self.problem.reserve[leg],
                    leg.saturating_sub(1),
                );
                if dry && self.turns_back(leg, drive.on_board()) {
                    if driven.outcome != Outcome::Stranded {
                        driven.outcome = self.back_from(leg, drive.on_board(), block, sample);
                    }
                    return;
                }
            }
            if let Some(passing) = self.passing[leg].filter(|at| !block.dry[at.number][sample]) {
                let before: Litres = taken
                    .iter()
                    .filter(|(number, _)| *number == passing.number)
                    .map(|(_, litres)| *litres)
                    .sum();
                let available = passing
                    .supply
                    .map_or(sampled.tank, |supply| supply - before);
                taken.push((passing.number, drive.top_up(available)));
            }
            let run = drive.leg(leg);
            let end = run.end_tank + run.end_cans;
            driven.legs.push(LegDriven {
                start: run.start,
                start_cans: run.start_cans,
                end,
            });
            driven.see(end, self.problem.reserve[leg + 1], leg);
            if driven.outcome == Outcome::Stranded {
                break;
            }
        }
    }

    /// Whether the driver turns back at a place whose pump is dry.
    fn turns_back(&self, node: usize, on_board: Litres) -> bool {
        self.homeward.is_some_and(|homeward| homeward.wanted[node])
            && on_board < self.need.departure[node] - ROUNDING
    }

    /// Drives back from a place to the nearest refuge behind it.
    fn back_from(&self, node: usize, on_board: Litres, block: &Block, sample: usize) -> Outcome {
        let Some(homeward) = self.homeward else {
            return Outcome::Stranded;
        };
        let idling = Factor::new(block.idling[sample]);
        let mut left = on_board;
        for leg in (0..node).rev() {
            let Some(back) = homeward.back[leg] else {
                return Outcome::Stranded;
            };
            let factor = Factor::new(block.back[leg][sample]);
            left -= back
                .scaled(factor, self.legs[leg].idle(), idling)
                .litres(left);
            if homeward.refuge[leg] {
                left -= self.off_the_route(leg, left, block, sample);
                break;
            }
        }
        if left < -ROUNDING {
            return Outcome::Stranded;
        }
        Outcome::TurnedBack
    }
}

impl Instructions<'_> {
    /// Litres from the route to the pump of a place.
    fn off_the_route(&self, node: usize, on_board: Litres, block: &Block, sample: usize) -> Litres {
        self.problem.pumps[node].map_or(Litres::ZERO, |pump| {
            let factor = block.driving(node.saturating_sub(1), sample);
            let detour = pump.detour.scaled(factor, Litres::ZERO, factor);
            detour.litres(on_board)
        })
    }
}

impl Driven {
    /// Takes note of what is on board where `reserve` must be.
    fn see(&mut self, on_board: Litres, reserve: Litres, leg: usize) {
        if on_board < reserve - ROUNDING {
            self.first_below.get_or_insert(leg);
            self.outcome = if on_board < -ROUNDING || self.outcome == Outcome::Stranded {
                Outcome::Stranded
            } else {
                Outcome::OnReserve
            };
        }
    }
}
