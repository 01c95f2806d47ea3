//! Driving the trip forward with a set of cans: what is filled where, which can is decanted when, what is left.
//!
//! The tank is filled at every fuel stop, a can only where the way to the next fuel stop requires it, whole cans at a
//! time. Where prices determine how much to leave a fuel stop with, the tank is filled to that, and cans with what it
//! cannot hold. A can is decanted at the first halt (a place) at which all of it fits. On the road it is decanted only
//! where the tank alone would otherwise fall below its floor before the next halt: the fixed reserve, and on rough or
//! steep ground at least 12 % of the tank, because fuel pickups suck air on slopes. When the fuel does not reach, the
//! tank goes below zero and shows how much is missing.

use std::sync::Arc;

use crate::consumption::usage::Usage;
use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Kilometres, Litres, Share};

use super::cans::Can;
use super::fuel::{DECANTING_LOSS, FuelStopVisit, Need, Problem, ROUNDING};
use super::run::{DecantEvent, Fill, LegRun, Run, Span};

/// What the tank alone keeps on rough or steep ground, as a share of the usable tank. Common practice, no source.
pub(crate) const ROUGH_FLOOR: Share = Share::new(0.12);

/// What the run needs beyond the fuel problem.
#[derive(Clone, Copy, Debug)]
pub struct Conditions<'a> {
    /// Usable litres in the tank at the start.
    pub start_tank: Litres,
    /// Litres already in cans at the start.
    pub start_cans: Litres,
    /// The cans on board, largest fill first.
    pub cans: &'a [Can],
    /// Length of each leg.
    pub distances: &'a [Kilometres],
    /// Whether each leg is rough or steep.
    pub rough: &'a [bool],
    /// How many legs were driven: nothing is decanted on them.
    pub driven: usize,
}

/// Drives the trip forward. Cost: linear in the legs, and for each decant the legs to the next fuel stop.
pub(crate) fn run(problem: &Problem, need: &Need, conditions: Conditions<'_>) -> Run {
    let mut from = vec![Kilometres::ZERO];
    for &distance in conditions.distances {
        from.push(from[from.len() - 1] + distance);
    }
    let mut drive = Drive::new(problem, need, &conditions);
    drive.log = Some(Box::new(Log {
        from,
        run: Run::default(),
    }));
    for leg in 0..problem.legs.len() {
        let fill =
            problem.fuel_stops[leg].and_then(|fuel_stop| drive.fill(leg, fuel_stop, Tap::Open));
        let driven = drive.leg(leg, problem.legs[leg]);
        if let Some(log) = &mut drive.log {
            log.run.fills.extend(fill);
            log.run.legs.push(driven);
        }
    }
    drive.log.map(|log| log.run).unwrap_or_default()
}

/// A vehicle on its way, halt by halt: [`Drive::fill`] at a place, then [`Drive::leg`] to the next.
#[derive(Clone, Debug)]
pub(crate) struct Drive<'a> {
    problem: &'a Problem,
    need: &'a Need,
    conditions: &'a Conditions<'a>,
    /// What is left in each fuel stop.
    left: Vec<Option<Litres>>,
    /// What a limited fuel stop keeps at each place for when it is met again; empty where no fuel stop is limited.
    kept_after: Arc<[Litres]>,
    tank: Litres,
    /// Litres in each can.
    cans: Vec<Litres>,
    /// Litres in all of them.
    in_cans: Litres,
    /// The highest tank level at which one that holds something fits; below anything where none does.
    fits_at: Litres,
    /// What is written down on the route, where it is.
    log: Option<Box<Log>>,
}

#[derive(Clone, Debug)]
struct Log {
    /// Kilometre at which each leg starts; one more for the finish.
    from: Vec<Kilometres>,
    run: Run,
}

impl Log {
    fn km(&self, leg: usize, part: f64) -> Kilometres {
        self.from[leg] + (self.from[leg + 1] - self.from[leg]) * part
    }
}

/// Whether a fuel stop has anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tap {
    /// As the problem states.
    Open,
    /// Nothing, as is found on arrival.
    Dry,
}

/// What a can adds to the tank.
fn worth(litres: Litres) -> Litres {
    (litres - DECANTING_LOSS).max(Litres::ZERO)
}

impl<'a> Drive<'a> {
    /// Before the start; nothing is written down.
    pub(crate) fn new(
        problem: &'a Problem,
        need: &'a Need,
        conditions: &'a Conditions<'a>,
    ) -> Self {
        let fuel_stops = || problem.fuel_stops.iter().flatten();
        let (mut left, mut kept_after) = (Vec::new(), Vec::new());
        // Most trips have no fuel stop that is limited.
        if fuel_stops().any(|fuel_stop| fuel_stop.supply.is_some()) {
            left.resize(problem.fuel_stop_numbers(), None);
            for fuel_stop in fuel_stops() {
                left[fuel_stop.number] = fuel_stop.supply;
            }
            kept_after = problem.kept_after(need);
        }
        let mut to_share = conditions.start_cans;
        let cans = conditions.cans.iter().map(|can| {
            let litres = to_share.min(can.fill);
            to_share -= litres;
            litres
        });
        let mut drive = Self {
            problem,
            need,
            conditions,
            left,
            kept_after: kept_after.into(),
            tank: conditions.start_tank.min(problem.tank),
            cans: cans.collect(),
            in_cans: Litres::ZERO,
            fits_at: Litres::ZERO,
            log: None,
        };
        drive.look_at_cans();
        drive
    }

    /// The drive with so much more in the tank than was thought.
    #[must_use]
    pub(crate) fn with_tank_off(mut self, off: Litres) -> Self {
        self.tank = (self.tank + off).max(Litres::ZERO).min(self.problem.tank);
        self
    }

    fn set_can(&mut self, can: usize, litres: Litres) {
        self.cans[can] = litres;
        self.look_at_cans();
    }

    fn look_at_cans(&mut self) {
        self.in_cans = self.cans.iter().copied().sum();
        let levels = self.full_cans().map(|can| self.can_fits_at(can));
        self.fits_at = levels.fold(Litres::new(f64::NEG_INFINITY), Litres::max);
    }

    /// Usable litres, cans included.
    pub(crate) fn on_board(&self) -> Litres {
        self.tank + self.in_cans
    }

    /// Fills at the fuel stop of a place where the need uses it.
    pub(crate) fn fill(
        &mut self,
        place_number: usize,
        fuel_stop: FuelStopVisit,
        tap: Tap,
    ) -> Option<Fill> {
        let planned = self.need.at_fuel_stop[place_number]?;
        // Who arrives with so little drives a thirsty vehicle, and fills all that there is.
        let is_thirsty =
            self.need.fill_all_below[place_number].is_some_and(|least| self.on_board() < least);
        let wanted = if is_thirsty {
            self.problem.tank + self.conditions.cans.iter().map(|can| can.fill).sum()
        } else {
            planned
        };
        let supply = self.left.get(fuel_stop.number).copied().flatten();
        let there = fuel_stop.detour.litres(self.on_board());
        self.tank -= there;
        let at_fuel_stop = self.on_board();
        let mut available = match (tap, self.need.allowance[place_number], supply) {
            (Tap::Dry, _, _) => Some(Litres::ZERO),
            (_, Some(_), Some(left)) => {
                Some((left - self.kept_after[place_number]).max(Litres::ZERO))
            }
            _ => None,
        };
        let mut take = |litres: Litres| {
            let taken = available
                .map_or(litres, |available| litres.min(available))
                .max(Litres::ZERO);
            available = available.map(|available| available - taken);
            taken
        };
        let enough = self.need.filled_to[place_number].map(|litres| litres.max(wanted));
        let room = self.problem.tank - self.tank;
        let tank = take(enough.map_or(room, |enough| {
            room.min(enough + self.lost_besides(enough) - at_fuel_stop)
        }));
        self.tank += tank;
        let (cans, cans_filled) = match enough {
            Some(enough) => self.fill_cans_to(enough, take),
            None => self.fill_cans_for(wanted, take),
        };
        if let Some(Some(left)) = self.left.get_mut(fuel_stop.number) {
            *left -= tank + cans;
        }
        let is_as_wanted = available.is_none_or(|left| left > ROUNDING);
        let back = fuel_stop.detour.litres(self.on_board());
        self.tank -= back;
        Some(Fill {
            place_number,
            at_fuel_stop,
            tank,
            cans,
            cans_filled,
            is_as_wanted,
            after: self.on_board(),
            detour: there + back,
        })
    }

    /// Fills cans until they hold what whole cans, filled from empty, hold of `wanted` litres over a full tank; litres
    /// filled, and into how many cans. Those that are not empty are topped up, the last one in part.
    fn fill_cans_for(
        &mut self,
        wanted: Litres,
        mut take: impl FnMut(Litres) -> Litres,
    ) -> (Litres, u32) {
        // As if the tank were full: what a fuel stop left out of it no can makes up for.
        let over = wanted - self.problem.tank;
        let with_losses = over + self.lost_besides(wanted);
        let mut asked = self.problem.whole_cans(over);
        if asked < with_losses - ROUNDING {
            asked = self.problem.whole_cans(with_losses);
        }
        let (mut cans, mut cans_filled) = (Litres::ZERO, 0);
        loop {
            let missing = asked - self.in_cans;
            if missing <= ROUNDING {
                break;
            }
            let Some(at) = self.next_to_top_up(missing) else {
                break;
            };
            let room = missing.min(self.conditions.cans[at].fill - self.cans[at]);
            let taken = take(room);
            if taken <= Litres::ZERO {
                break;
            }
            self.set_can(at, self.cans[at] + taken);
            cans += taken;
            cans_filled += 1;
            if taken < room {
                break;
            }
        }
        (cans, cans_filled)
    }

    /// The can to top up next: the one with the most room that is filled by what is missing, else that with the least.
    fn next_to_top_up(&self, missing: Litres) -> Option<usize> {
        let room = |at: &usize| self.conditions.cans[*at].fill - self.cans[*at];
        let by_room = |a: &usize, b: &usize| room(a).get().total_cmp(&room(b).get());
        let open = || (0..self.cans.len()).filter(|at| room(at) > ROUNDING);
        open()
            .filter(|at| room(at) <= missing + ROUNDING)
            .max_by(by_room)
            .or_else(|| open().min_by(by_room))
    }

    /// What will be lost in decanting the cans that hold something, besides what `enough` litres count for it.
    fn lost_besides(&self, enough: Litres) -> Litres {
        if self.in_cans <= Litres::ZERO {
            return Litres::ZERO;
        }
        let counted = self.problem.cans_holding(enough - self.problem.tank);
        DECANTING_LOSS * self.full_cans().count().saturating_sub(counted) as f64
    }

    /// Fills cans with what is still lacking of `enough` litres, the last one in part, and with what more cans than
    /// need be lose in decanting; litres filled, and into how many cans.
    fn fill_cans_to(
        &mut self,
        enough: Litres,
        mut take: impl FnMut(Litres) -> Litres,
    ) -> (Litres, u32) {
        let (mut cans, mut cans_filled) = (Litres::ZERO, 0);
        loop {
            let missing = enough + self.lost_besides(enough) - self.on_board();
            if missing <= ROUNDING || self.tank < self.problem.tank - ROUNDING {
                break;
            }
            let Some(at) = self.next_to_fill(missing, enough) else {
                break;
            };
            let taken = take(missing.min(self.conditions.cans[at].fill - self.cans[at]));
            if taken <= Litres::ZERO {
                break;
            }
            self.set_can(at, self.cans[at] + taken);
            cans += taken;
            cans_filled += 1;
        }
        (cans, cans_filled)
    }

    /// Fills the tank, as far as `available` goes, at a fuel stop on the route that the need does not rely on; what was
    /// taken.
    pub(crate) fn top_up(&mut self, available: Litres) -> Litres {
        let taken = (self.problem.tank - self.tank)
            .min(available)
            .max(Litres::ZERO);
        self.tank += taken;
        taken
    }

    /// The can to fill next on the route to `enough` litres: the smallest that closes the gap, else the largest there
    /// is.
    fn next_to_fill(&self, missing: Litres, enough: Litres) -> Option<usize> {
        let counted = self.problem.cans_holding(enough - self.problem.tank);
        let one_more = self.full_cans().count() >= counted;
        let gain = |at: usize| {
            let room = self.conditions.cans[at].fill - self.cans[at];
            let is_new = self.cans[at] <= Litres::ZERO;
            if is_new && one_more {
                room - DECANTING_LOSS
            } else {
                room
            }
        };
        let by_gain = |a: &usize, b: &usize| gain(*a).get().total_cmp(&gain(*b).get());
        let open = || {
            (0..self.cans.len())
                .filter(|&at| self.cans[at] < self.conditions.cans[at].fill - ROUNDING)
        };
        open()
            .filter(|&at| gain(at) >= missing)
            .min_by(by_gain)
            .or_else(|| open().max_by(by_gain))
    }

    /// What the tank alone must hold on a leg.
    fn floor(&self, leg: usize) -> Litres {
        floor(self.problem, leg, self.conditions.rough[leg])
    }

    fn full_cans(&self) -> impl Iterator<Item = usize> {
        (0..self.cans.len()).filter(|&at| self.cans[at] > Litres::ZERO)
    }

    /// The tank level (usable) at and below which a can fits.
    fn can_fits_at(&self, can: usize) -> Litres {
        self.problem.tank - worth(self.cans[can])
    }

    /// The can to decant next: off the roof first, then the largest of those that fit.
    fn next_to_decant(&self) -> Option<usize> {
        if self.fits_at < self.tank - ROUNDING {
            return None;
        }
        let from_roof = |at: usize| self.conditions.cans[at].place == CarryingPlace::Roof;
        self.full_cans()
            .filter(|&at| self.can_fits_at(at) >= self.tank - ROUNDING)
            .max_by(|&a, &b| {
                from_roof(a)
                    .cmp(&from_roof(b))
                    .then(self.cans[a].get().total_cmp(&self.cans[b].get()))
            })
    }

    /// Decants what fits, then drives a leg, decanting on the road where that cannot wait.
    #[inline]
    pub(crate) fn leg(&mut self, leg: usize, usage: Usage) -> LegRun {
        if self.in_cans > Litres::ZERO {
            return self.leg_with_cans(leg, usage);
        }
        let start = self.tank;
        let used = usage.litres(start);
        self.advance(leg, 0.0, 1.0, used);
        LegRun {
            start,
            start_cans: Litres::ZERO,
            used,
            end_tank: self.tank,
            end_cans: Litres::ZERO,
        }
    }

    fn leg_with_cans(&mut self, leg: usize, usage: Usage) -> LegRun {
        let is_behind = leg < self.conditions.driven;
        while !is_behind && let Some(can) = self.next_to_decant() {
            self.decant(leg, 0.0, can);
        }
        let start_cans = self.in_cans;
        let start = self.tank + start_cans;
        let mut may_decant = !is_behind && start_cans > Litres::ZERO;
        let mut used = Litres::ZERO;
        let mut part = 0.0;
        loop {
            let rest = usage.part(Share::new(1.0 - part));
            let burnt = rest.litres(self.on_board());
            let can_wait = !may_decant || self.tank - burnt >= self.floor(leg);
            // Where the tank alone cannot wait for the next halt, drive on to where the next can fits, and decant it.
            let Some(further) = (!can_wait).then(|| self.next_fits(rest)).flatten() else {
                self.advance(leg, part, 1.0, burnt);
                used += burnt;
                break;
            };
            let to = part + further.get() * (1.0 - part);
            let burnt = rest.part(further).litres(self.on_board());
            self.advance(leg, part, to, burnt);
            used += burnt;
            part = to;
            match self.next_to_decant() {
                Some(can) => self.decant(leg, part, can),
                None => may_decant = false,
            }
        }
        LegRun {
            start,
            start_cans,
            used,
            end_tank: self.tank,
            end_cans: self.in_cans,
        }
    }

    /// The part of the rest of a leg after which a can fits, where one does before its end.
    fn next_fits(&self, rest: Usage) -> Option<Share> {
        let on_board = self.on_board();
        rest.part_until(on_board, on_board - (self.tank - self.fits_at))
    }

    /// Drives on from one part of a leg to another, which takes `burnt`.
    #[inline]
    fn advance(&mut self, leg: usize, part: f64, to: f64, burnt: Litres) {
        let tank_from = self.tank;
        self.tank -= burnt;
        if let Some(log) = self.log.as_mut().filter(|_| to > part) {
            log.run.spans.push(Span {
                leg,
                from: log.km(leg, part),
                to: log.km(leg, to),
                tank_from,
                tank_to: self.tank,
                cans: self.in_cans,
                fullest_can: self.cans.iter().copied().fold(Litres::ZERO, Litres::max),
            });
        }
    }

    fn decant(&mut self, leg: usize, part: f64, can: usize) {
        let litres = worth(self.cans[can]);
        let event = self.log.as_ref().map(|log| {
            let (at, fits_at) = (log.km(leg, part), self.can_fits_at(can));
            DecantEvent {
                leg,
                at,
                at_place: part <= 0.0,
                litres,
                lost: self.cans[can] - litres,
                can: self.conditions.cans[can],
                fits_at,
                earliest: self.earliest(log, fits_at, at),
                latest: self.latest(log, leg, part).max(at),
            }
        });
        self.set_can(can, Litres::ZERO);
        self.tank += litres;
        if let Some(log) = &mut self.log {
            log.run.decants.extend(event);
        }
    }

    /// The first kilometre, looking back from `at` to the last filling or decant, at which the tank held no more
    /// than `level`.
    fn earliest(&self, log: &Log, level: Litres, at: Kilometres) -> Kilometres {
        let (mut earliest, mut tank_after, cans) = (at, self.tank, self.in_cans);
        for span in log.run.spans.iter().rev() {
            let unbroken = (span.tank_to - tank_after).abs() < ROUNDING && span.cans == cans;
            if !unbroken || span.tank_to > level {
                break;
            }
            if span.tank_from > level {
                let part = (span.tank_from - level) / (span.tank_from - span.tank_to);
                return span.from + (span.to - span.from) * part;
            }
            (earliest, tank_after) = (span.from, span.tank_from);
        }
        earliest
    }

    /// The last kilometre, looking ahead from here to the next fuel stop, at which the tank holds its floor without
    /// another decant.
    fn latest(&self, log: &Log, leg: usize, part: f64) -> Kilometres {
        let (mut tank, cans, mut part) = (self.tank, self.in_cans, part);
        for ahead in leg..self.problem.legs.len() {
            if ahead > leg && self.need.at_fuel_stop[ahead].is_some() {
                return log.from[ahead];
            }
            let rest = self.problem.legs[ahead].part(Share::new(1.0 - part));
            let floor = self.floor(ahead);
            if let Some(until) = rest.part_until(tank + cans, floor + cans) {
                return log.km(ahead, part + until.get() * (1.0 - part));
            }
            tank -= rest.litres(tank + cans);
            part = 0.0;
        }
        log.from[self.problem.legs.len()]
    }
}

/// What the tank alone keeps on rough or steep ground, so that the fuel pickup draws no air.
pub(crate) fn lowest_tank_level(problem: &Problem) -> Litres {
    problem.tank * ROUGH_FLOOR.get()
}

/// What the tank alone must hold on a leg: the fixed reserve, and on rough or steep ground a share of the tank.
pub(crate) fn floor(problem: &Problem, leg: usize, rough: bool) -> Litres {
    let fixed = problem.reserve[leg].max(problem.reserve[leg + 1]);
    if rough {
        fixed.max(lowest_tank_level(problem))
    } else {
        fixed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A litre each ten kilometres whatever is on board.
    fn problem(tank: f64, legs: &[f64], reserve: f64, cans: &[Can]) -> Problem {
        let takes = |km: &f64| {
            let litres = Litres::new(km / 10.0);
            Usage::between(litres, litres, Litres::new(100.0))
        };
        let mut fuel_stops = vec![None; legs.len() + 1];
        fuel_stops[0] = Some(FuelStopVisit {
            supply: None,
            number: 0,
            detour: Usage::NONE,
        });
        Problem {
            tank: Litres::new(tank),
            legs: legs.iter().map(takes).collect(),
            reserve: vec![Litres::new(reserve); legs.len() + 1],
            extra: Share::ZERO,
            fuel_stops,
            cans: cans.iter().map(|can| can.fill).collect(),
        }
    }

    fn can(fill: f64, place: CarryingPlace) -> Can {
        Can {
            size: Litres::new(fill / 0.95),
            fill: Litres::new(fill),
            place,
        }
    }

    /// Drives `legs` (km) on a tank of 50 L that is filled at the start, 5 L to be left everywhere.
    fn driven(legs: &[f64], rough: &[bool], cans: &[Can]) -> Run {
        let problem = problem(50.0, legs, 5.0, cans);
        let distances: Vec<Kilometres> = legs.iter().map(|&km| Kilometres::new(km)).collect();
        let conditions = Conditions {
            start_tank: Litres::new(10.0),
            start_cans: Litres::ZERO,
            cans,
            distances: &distances,
            rough,
            driven: 0,
        };
        run(&problem, &problem.need(), conditions)
    }

    fn near(value: f64, by_hand: f64) {
        assert!((value - by_hand).abs() < 1e-6, "{value}, by hand {by_hand}");
    }

    /// By hand: 300 km take 30 L. A round trip ends at the stop, of 100 L, where it began; with 10 L on board the tank
    /// of 50 L is filled there with 40 L, though the stop is met again at the finish.
    #[test]
    fn nothing_is_kept_for_the_finish() {
        let mut round_trip = problem(50.0, &[200.0, 100.0], 5.0, &[]);
        let limited = round_trip.fuel_stops[0].map(|fuel_stop| FuelStopVisit {
            supply: Some(Litres::new(100.0)),
            ..fuel_stop
        });
        round_trip.fuel_stops[0] = limited;
        round_trip.fuel_stops[2] = limited;
        let conditions = Conditions {
            start_tank: Litres::new(10.0),
            start_cans: Litres::ZERO,
            cans: &[],
            distances: &[Kilometres::new(200.0), Kilometres::new(100.0)],
            rough: &[false; 2],
            driven: 0,
        };
        let run = run(&round_trip, &round_trip.need(), conditions);
        near(run.fills[0].tank.get(), 40.0);
        near(run.legs[1].end_tank.get(), 20.0);
    }

    /// By hand: 480 km take 48 L and 5 L are to be left, which is 3 L over the tank: the can of 4.75 L does.
    #[test]
    fn the_smallest_can_that_closes_the_gap_is_filled() {
        let cans = [
            can(19.0, CarryingPlace::Rear),
            can(4.75, CarryingPlace::Rear),
        ];
        let run = driven(&[480.0], &[false], &cans);
        assert_eq!(
            (run.fills[0].cans_filled, run.fills[0].cans),
            (1, Litres::new(4.75))
        );
        near(run.fills[0].tank.get(), 40.0);
    }

    /// By hand: 638 km take 63.8 L and 5 L are to be left, which is 18.8 L over the tank; one of the two cans of 19 L
    /// gives just that. With 640 km it is 19 L, and the second can is filled too. The loss is counted once.
    #[test]
    fn no_more_cans_are_filled_than_decanting_them_needs() {
        let cans = [can(19.0, CarryingPlace::Rear); 2];
        let filled = |km: f64| driven(&[km], &[false], &cans).fills[0].cans_filled;
        assert_eq!(filled(450.0), 0);
        assert_eq!(filled(638.0), 1);
        assert_eq!(filled(638.1), 2);
        assert_eq!(filled(640.0), 2);
        // Cans of 9.5 L each lose as much as one of 19 L: what the two of them lose is counted besides.
        let small = [
            can(19.0, CarryingPlace::Rear),
            can(9.5, CarryingPlace::Rear),
            can(9.5, CarryingPlace::Rear),
        ];
        let run = driven(&[640.0], &[false], &small);
        assert!(
            run.legs[0].end_tank >= Litres::new(5.0) - ROUNDING,
            "{:?}",
            run.legs
        );
        assert_eq!(run.fills[0].cans_filled, 2);
    }

    /// By hand, 600 km in one leg with one can: it fits from 188 km on, when 18.8 L are burnt; the tank alone holds its
    /// 5 L up to 450 km. Nothing requires it before the leg, where it does not fit, so it is decanted as soon as it
    /// fits.
    #[test]
    fn a_can_is_decanted_on_the_road_once_it_fits() {
        let run = driven(&[600.0], &[false], &[can(19.0, CarryingPlace::Rear)]);
        let [decant] = run.decants[..] else {
            panic!("{:?}", run.decants)
        };
        near(decant.fits_at.get(), 31.2);
        near(decant.at.get(), 188.0);
        near(decant.earliest.get(), 188.0);
        near(decant.latest.get(), 450.0);
        near(decant.litres.get(), 18.8);
        near(decant.lost.get(), 0.2);
        near(run.legs[0].end_tank.get(), 50.0 + 18.8 - 60.0);
    }

    /// By hand, 200 km and then 400 km: at the halt after the first leg the can fits since 188 km, and the tank alone
    /// would hold its 5 L up to 450 km, on rough ground its 12 % (6 L) up to 440 km.
    #[test]
    fn a_can_is_decanted_at_the_first_halt_at_which_it_fits() {
        for (rough, latest) in [(false, 450.0), (true, 440.0)] {
            let run = driven(
                &[200.0, 400.0],
                &[false, rough],
                &[can(19.0, CarryingPlace::Rear)],
            );
            let [decant] = run.decants[..] else {
                panic!("{:?}", run.decants)
            };
            assert!(decant.at_place && decant.leg == 1);
            near(decant.at.get(), 200.0);
            near(decant.earliest.get(), 188.0);
            near(decant.latest.get(), latest);
        }
    }

    /// Of cans that fit, those on the roof come down first, even if smaller.
    #[test]
    fn the_roof_is_emptied_first() {
        let cans = [
            can(9.5, CarryingPlace::Rear),
            can(4.75, CarryingPlace::Roof),
        ];
        let run = driven(&[200.0, 380.0], &[false, false], &cans);
        let from: Vec<CarryingPlace> = run.decants.iter().map(|decant| decant.can.place).collect();
        assert_eq!(from, [CarryingPlace::Roof, CarryingPlace::Rear]);
    }
}
