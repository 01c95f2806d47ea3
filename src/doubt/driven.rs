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
    /// Usable litres at the start and the end of each leg that was driven.
    pub legs: Vec<[Litres; 2]>,
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
}

/// Drives every sample of a block, and shows each as it ends.
pub fn driven(told: Instructions<'_>, block: &Block, mut seen: impl FnMut(&Driven)) {
    let mut sampled = told.problem.clone();
    let mut driven = Driven {
        outcome: Outcome::Through,
        first_below: None,
        legs: Vec::with_capacity(sampled.legs.len()),
    };
    for sample in 0..BLOCK {
        told.put(&mut sampled, block, sample);
        told.drive(&sampled, block, sample, &mut driven);
        seen(&driven);
    }
}

impl Instructions<'_> {
    /// Puts a sample's litres into the problem.
    fn put(&self, sampled: &mut Problem, block: &Block, sample: usize) {
        let idling = Factor::new(block.idling[sample]);
        for (leg, usage) in sampled.legs.iter_mut().enumerate() {
            *usage = self.problem.legs[leg].scaled(
                block.driving(leg, sample),
                self.legs[leg].idle(),
                idling,
            );
        }
        for (node, pump) in sampled.pumps.iter_mut().enumerate() {
            if let (Some(pump), Some(likely)) = (pump, self.problem.pumps[node]) {
                let factor = block.driving(node.saturating_sub(1), sample);
                pump.detour = likely.detour.scaled(factor, Litres::ZERO, idling);
            }
        }
    }

    fn drive(&self, sampled: &Problem, block: &Block, sample: usize, driven: &mut Driven) {
        let mut drive = Drive::new(sampled, self.need, self.conditions);
        driven.outcome = Outcome::Through;
        driven.first_below = None;
        driven.legs.clear();
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
            let run = drive.leg(leg);
            let end = run.end_tank + run.end_cans;
            driven.legs.push([run.start, end]);
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
                left -= self.to_pump(leg, left, block, sample);
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
    fn to_pump(&self, node: usize, on_board: Litres, block: &Block, sample: usize) -> Litres {
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
