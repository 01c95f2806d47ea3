//! What each sample requires where: the recursion of `solver::fuel` on a whole block at once.
//!
//! The per-cent share is left out, since the samples themselves are the doubt that it represents. Which fuel stops are
//! used, and how much a meeting may take from a limited one, is set by the instructions; nothing is known of a
//! sample before it is driven.

use crate::consumption::usage::Usage;
use crate::quantity::{Litres, Share};
use crate::solver::fuel::Problem;

use super::returns::Returns;
use super::scaled::Scaled;
use super::study::Policy;
use super::world::{Block, LegDoubt};
use super::{BLOCK, Lane};

/// More litres than this are as good as no amount that would do: figures of absurd trips stay numbers. Chosen, no
/// source.
pub(super) const MOST_REQUIRED: f64 = 1e9;

/// A way back that may have to be driven from a fuel stop that is dry.
#[derive(Clone, Debug, PartialEq)]
pub struct Homeward {
    /// Each leg the other way; `None` if it cannot be driven.
    pub(crate) back: Vec<Option<Usage>>,
    /// Whether each place is a refuge.
    pub(crate) refuge: Vec<bool>,
    /// One way from each place to its fuel stop.
    pub(crate) to_fuel: Vec<Usage>,
    /// Whether one must be able to turn back from each place, should its fuel stop be dry.
    pub(crate) wanted: Vec<bool>,
}

/// What is required at one place.
#[derive(Clone, Debug)]
pub(crate) struct AtPlace {
    pub(crate) departure: Lane,
    /// Where a fuel stop is used. Else what is required on departure is required on arrival.
    pub(crate) fuel_stop: Option<Box<AtFuelStop>>,
}

/// What is required at a place whose fuel stop is used.
#[derive(Clone, Debug)]
pub(crate) struct AtFuelStop {
    pub(crate) arrival: Lane,
    /// Off the route: at the fuel stop after filling. Else that is what is required on departure.
    pub(crate) filled: Option<Lane>,
}

/// What is seen at one place, see [`AtPlace`].
struct Seen<'a> {
    departure: &'a Lane,
    fuel_stop: Option<(&'a Lane, Option<&'a Lane>)>,
}

impl Policy {
    /// What a block requires at each place. The need determines which fuel stops are used and what each meeting may
    /// take.
    pub(crate) fn required(&self, legs: &[LegDoubt], block: &Block) -> Vec<AtPlace> {
        let problem = &self.problem;
        let finish = problem.reserve[problem.legs.len()];
        let mut places = Vec::with_capacity(problem.legs.len() + 1);
        places.push(AtPlace {
            departure: [finish.get(); BLOCK],
            fuel_stop: None,
        });
        self.back_from_the_finish(legs, block, |_, seen| {
            places.push(AtPlace {
                departure: *seen.departure,
                fuel_stop: seen.fuel_stop.map(|(arrival, filled)| {
                    Box::new(AtFuelStop {
                        arrival: *arrival,
                        filled: filled.copied(),
                    })
                }),
            });
        });
        places.reverse();
        places
    }

    /// The most that is required anywhere over a full tank, and nothing else of it.
    pub(crate) fn over_tank(&self, legs: &[LegDoubt], block: &Block) -> Lane {
        self.back_from_the_finish(legs, block, |_, _| {})
    }

    /// The most that is missing: over tank and cans anywhere, or over what is on board at the start. Below 0 there is
    /// this margin.
    pub(super) fn missing(
        &self,
        legs: &[LegDoubt],
        block: &Block,
        [in_cans, on_board]: [Litres; 2],
    ) -> Lane {
        let mut at_start = [0.0; BLOCK];
        let mut missing = self.back_from_the_finish(legs, block, |place, seen| {
            if place == 0 {
                at_start = *seen
                    .fuel_stop
                    .map_or(seen.departure, |(arrival, _)| arrival);
            }
        });
        for (missing, at_start) in missing.iter_mut().zip(at_start) {
            *missing = (*missing - in_cans.get()).max(at_start - on_board.get());
        }
        missing
    }

    /// What a return from each place takes, and from which it is wanted.
    fn home(&self, legs: &[LegDoubt], block: &Block) -> Option<(Vec<Lane>, &[bool])> {
        let homeward = self.homeward.as_ref()?;
        let ways = Returns {
            problem: &self.problem,
            legs,
            back: &homeward.back,
            refuge: &homeward.refuge,
            to_fuel: &homeward.to_fuel,
            aside: None,
        };
        Some((ways.home(block), &homeward.wanted))
    }

    /// Shows what is required at each place but the finish, the last one first; the most that is over a full tank.
    fn back_from_the_finish(
        &self,
        legs: &[LegDoubt],
        block: &Block,
        mut show: impl FnMut(usize, Seen<'_>),
    ) -> Lane {
        let Self { problem, need, .. } = self;
        let checks = self.checks.as_deref();
        let n = problem.legs.len();
        let home = self.home(legs, block);
        let mut arrival = [problem.reserve[n].get(); BLOCK];
        let mut over_tank = [f64::NEG_INFINITY; BLOCK];
        let tank = problem.tank.get();
        let mut must_hold = |lane: &mut Lane| {
            for (most, litres) in over_tank.iter_mut().zip(lane) {
                // What grows past every number is not one any more; then no amount is enough.
                *litres = litres.min(MOST_REQUIRED);
                let over = *litres - tank;
                *most = if over > *most { over } else { *most };
            }
        };
        let floors =
            checks.map_or_else(Vec::new, |checks| checks.floors(problem, need, legs, block));
        let mut checks_ahead = checks.map_or(&[][..], |checks| &checks.route().points);
        for j in (0..n).rev() {
            let mut departure = arrival;
            let driven = (&problem.legs[j], &legs[j], &block.driving[j]);
            let passes = checks_ahead
                .iter()
                .rev()
                .take_while(|(leg, _)| *leg == j)
                .count();
            let (before, on_leg) = checks_ahead.split_at(checks_ahead.len() - passes);
            let asked = on_leg.iter().zip(&floors[before.len()..]).rev();
            let asked = asked.map(|(&(_, part), floor)| (part, floor.arrival.as_deref()));
            over_leg(driven, asked, &mut departure, block);
            checks_ahead = before;
            if let Some(check) = checks.and_then(|checks| checks.at_place(j))
                && let Some(floor) = &floors[check].departure
            {
                raise(&mut departure, floor);
            }
            lose_in_decanting(problem, &mut departure, &arrival);
            must_hold(&mut departure);
            let reserve = problem.reserve[j].get();
            let begins = checks.is_some_and(|checks| checks.route().from == j);
            let Some(fuel_stop) = problem.fuel_stops[j].filter(|_| need.at_fuel_stop[j].is_some())
            else {
                if begins {
                    as_read(&mut departure, block);
                }
                less_but_at_least(&mut arrival, &departure, 0.0, reserve);
                let departure = &departure;
                show(
                    j,
                    Seen {
                        departure,
                        fuel_stop: None,
                    },
                );
                continue;
            };
            let detour = Scaled::new(fuel_stop.detour, Litres::ZERO);
            let factor = &block.driving[j.saturating_sub(1)];
            let on_road = fuel_stop.detour == Usage::NONE;
            let mut at_fuel_stop = departure;
            if !on_road {
                detour.needed_for(&mut at_fuel_stop, factor, &block.idling);
                lose_in_decanting(problem, &mut at_fuel_stop, &departure);
                must_hold(&mut at_fuel_stop);
            }
            let share = need.allowance[j].map_or(f64::INFINITY, Litres::get);
            less_but_at_least(&mut arrival, &at_fuel_stop, share, reserve);
            if let Some((home, wanted)) = &home
                && wanted[j]
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
                lose_in_decanting(problem, &mut arrival, &before);
                for litres in &mut arrival {
                    *litres = litres.min(MOST_REQUIRED);
                }
            }
            if begins && fuel_stop.supply.is_some() {
                as_read(&mut arrival, block);
            }
            let (departure, filled) = (&departure, (!on_road).then_some(&at_fuel_stop));
            let fuel_stop = Some((&arrival, filled));
            show(
                j,
                Seen {
                    departure,
                    fuel_stop,
                },
            );
        }
        over_tank
    }
}

/// What is required at the end of a leg becomes what is required at its beginning, the fuel checks on the route, the
/// last one first, with what they require.
fn over_leg<'a>(
    (usage, doubt, factor): (&Usage, &LegDoubt, &Lane),
    checks: impl Iterator<Item = (Share, Option<&'a Lane>)>,
    required: &mut Lane,
    block: &Block,
) {
    let mut here = 1.0;
    for (part, floor) in checks {
        let part = part.get();
        if part < here {
            let rest = Scaled::new(
                usage.part(Share::new(here - part)),
                doubt.idle() * (here - part),
            );
            rest.needed_for(required, factor, &block.idling);
            here = part;
        }
        if let Some(floor) = floor {
            raise(required, floor);
        }
    }
    let first = Scaled::new(usage.part(Share::new(here)), doubt.idle() * here);
    first.needed_for(required, factor, &block.idling);
}

/// `lane` becomes what others are less so much, but no less than a floor.
fn less_but_at_least(lane: &mut Lane, others: &Lane, less: f64, floor: f64) {
    for (litres, other) in lane.iter_mut().zip(others) {
        *litres = (other - less).max(floor);
    }
}

/// What must be read off is what must be on board less what the reading was short by.
fn as_read(required: &mut Lane, block: &Block) {
    for (litres, off) in required.iter_mut().zip(&block.reading) {
        *litres -= off;
    }
}

/// Raises what is required to what a fuel check requires.
fn raise(required: &mut Lane, floor: &Lane) {
    for (required, &floor) in required.iter_mut().zip(floor) {
        *required = required.max(floor);
    }
}

/// Adds what is lost when the cans are decanted that a leg or a detour empties.
fn lose_in_decanting(problem: &Problem, here: &mut Lane, left: &Lane) {
    let tank = problem.tank.get();
    if problem.cans.is_empty() || here.iter().all(|&litres| litres <= tank) {
        return;
    }
    let more_than_tank = here.iter_mut().zip(left).filter(|(here, _)| **here > tank);
    for (here, &left) in more_than_tank {
        *here += problem
            .decanted_between(Litres::new(*here), Litres::new(left))
            .get();
    }
}
