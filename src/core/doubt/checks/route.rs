//! What every simulated trip of a block has on board at each fuel check, and what continuing and returning take there.
//!
//! Litres are those of the simple course: full at every fuel stop that is relied on and unlimited, what the plan takes
//! at limited ones, nothing elsewhere, nothing lost in decanting. What a trip has *used* hardly depends on how much it
//! left with, so the figures that are fitted to it hold for any loadout.

use super::dry::DryMetAgain;
use crate::consumption::usage::Usage;
use crate::doubt::returns::{Point, Returns};
use crate::doubt::scaled::Scaled;
use crate::doubt::world::{Block, LegDoubt};
use crate::doubt::{BLOCK, Lane};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{FuelStopVisit, Need, Problem};

/// One number for each simulated trip of a block, to be kept: litres to a thousandth are enough for statistics.
pub(super) type KeptLane = Box<[f32; BLOCK]>;

/// Where the fuel is checked, and the ways back.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckRoute {
    /// The checks in driving order: a leg, and the part of it that is driven. At part 1 the check is on arrival at the
    /// place that the leg leads to, before any filling.
    pub points: Vec<Point>,
    /// Of these the ones whose figures allow for a reading that is off, because a gauge cannot show so little.
    pub by_gauge: Vec<Point>,
    /// By how much a reading of the gauge may be off, a standard deviation.
    pub gauge: Litres,
    /// Number of the place where the plan begins.
    pub from: usize,
    /// Usable litres when tank and cans are full.
    pub full: Litres,
    /// Usable litres on board where the plan begins, before any filling.
    pub at_start: Litres,
    /// Each leg driven the other way; `None` if it cannot be.
    pub back: Vec<Option<Usage>>,
    /// Whether each place is a refuge: confirmed, unlimited fuel that is relied on, or the finish.
    pub refuge: Vec<bool>,
    /// One way from each place to its fuel stop.
    pub to_fuel: Vec<Usage>,
    /// If the plan begins past a place, that place with the return to it.
    pub aside: Option<(usize, Usage)>,
}

impl CheckRoute {
    /// The ways back of a trip that is checked like this.
    pub(crate) fn returns<'a>(&'a self, problem: &'a Problem, legs: &'a [LegDoubt]) -> Returns<'a> {
        Returns {
            problem,
            legs,
            back: &self.back,
            refuge: &self.refuge,
            to_fuel: &self.to_fuel,
            aside: self.aside,
        }
    }

    /// By how many litres more the gauge of each trip shows than there is.
    pub(super) fn off(&self, block: &Block) -> Lane {
        let mut off = block.gauge;
        for off in &mut off {
            *off *= self.gauge.get();
        }
        off
    }
}

/// Whether a return from the next check is thought of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Looking {
    Ahead,
    Back,
}

/// Whether the reserve may be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reserve {
    Intact,
    Used,
}

/// What the checks of a block are about, check by check.
pub(super) struct AtChecks {
    /// Usable litres on board.
    pub(crate) on_board: Vec<KeptLane>,
    /// Litres that were taken since the last full fill, all trips of the block together.
    pub(crate) taken: Vec<f64>,
    /// Least litres to reach the next refuge, with what the plan takes at limited fuel stops after this check, and none
    /// at it: at the stop, where that is off the route. Infinite if no fill can save the trip.
    pub(crate) need: Vec<KeptLane>,
    /// Least litres at a fuel stop that is visited again, if it has no fuel then either; `None` elsewhere.
    pub(crate) need_if_dry: Vec<Option<KeptLane>>,
    /// Litres to be back at the refuge behind with the reserve intact; infinite if there is no return.
    pub(crate) back: Vec<KeptLane>,
    /// Litres to drive to the next check and to return from there; empty if nobody looks ahead.
    pub(crate) ahead: Vec<KeptLane>,
    /// By how much more a gauge shows than there is.
    pub(crate) off: KeptLane,
}

/// A lane to be kept.
pub(super) fn kept(lane: &Lane) -> KeptLane {
    let mut kept = Box::new([0.0_f32; BLOCK]);
    for (kept, &litres) in kept.iter_mut().zip(lane) {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "litres to a thousandth are enough"
        )]
        let short = litres as f32;
        // Only what no amount is enough for, on a leg that takes nothing more for more on board, is not a number.
        *kept = if short.is_nan() { f32::INFINITY } else { short };
    }
    kept
}

/// The driving of one policy over the route with its checks.
#[derive(Clone, Copy)]
pub(super) struct Course<'a> {
    pub(crate) problem: &'a Problem,
    pub(crate) need: &'a Need,
    pub(crate) legs: &'a [LegDoubt],
    pub(crate) route: &'a CheckRoute,
}

impl Course<'_> {
    /// Number of the finish.
    pub(crate) fn n(&self) -> usize {
        self.problem.legs.len()
    }

    /// A part of a leg as a block scales it.
    fn part(&self, leg: usize, part: f64) -> Scaled {
        let part = Share::new(part);
        Scaled::new(
            self.problem.legs[leg].part(part),
            self.legs[leg].idle() * part.get(),
        )
    }

    /// The fuel stop of a place, if the plan uses it.
    pub(crate) fn stop(&self, place_number: usize) -> Option<FuelStopVisit> {
        self.problem.fuel_stops[place_number]
            .filter(|_| place_number < self.n() && self.need.at_fuel_stop[place_number].is_some())
    }

    /// Whether tank and cans can be filled at a place.
    pub(crate) fn is_full_fill(&self, place_number: usize) -> bool {
        self.stop(place_number).is_some() && self.need.allowance[place_number].is_none()
    }

    /// The checks on a leg, by their numbers.
    fn on_leg(&self, leg: usize) -> std::ops::Range<usize> {
        let points = &self.route.points;
        let from = points.partition_point(|point| point.0 < leg);
        let to = points.partition_point(|point| point.0 <= leg);
        from..to
    }

    /// Shows what is on board at each check, with the number of the check and the litres taken since the last full
    /// fill.
    pub(crate) fn forward(&self, block: &Block, mut show: impl FnMut(usize, &Lane, f64)) {
        let mut on_board = block.reading;
        for litres in &mut on_board {
            *litres = (self.route.at_start.get() + *litres).max(0.0);
        }
        let mut taken = 0.0;
        for leg in self.route.from..self.n() {
            if let Some(stop) = self.stop(leg) {
                let detour = Scaled::new(stop.detour, Litres::ZERO);
                let factor = &block.driving[leg.saturating_sub(1)];
                let off_route = stop.detour != Usage::NONE;
                if off_route {
                    detour.burn(&mut on_board, factor, &block.idling);
                }
                let full = self.route.full.get();
                if let Some(most) = self.need.allowance[leg] {
                    for litres in &mut on_board {
                        let more = (full - *litres).min(most.get()).max(0.0);
                        *litres += more;
                        taken += more;
                    }
                } else {
                    on_board.fill(full);
                    taken = 0.0;
                }
                if off_route {
                    detour.burn(&mut on_board, factor, &block.idling);
                }
            }
            let mut driven = 0.0;
            for check in self.on_leg(leg) {
                let to = self.route.points[check].1.get();
                self.part(leg, to - driven)
                    .burn(&mut on_board, &block.driving[leg], &block.idling);
                driven = to;
                show(check, &on_board, taken);
            }
            if driven < 1.0 {
                self.part(leg, 1.0 - driven).burn(
                    &mut on_board,
                    &block.driving[leg],
                    &block.idling,
                );
            }
        }
    }

    /// What each check is about; `met_again` are the fuel stops that are met again.
    pub(crate) fn at_checks(
        &self,
        met_again: &[DryMetAgain],
        looking: Looking,
        block: &Block,
    ) -> AtChecks {
        let checks = self.route.points.len();
        let (mut on_board, mut taken) = (Vec::with_capacity(checks), Vec::with_capacity(checks));
        self.forward(block, |_, lane, more| {
            on_board.push(kept(lane));
            taken.push(more);
        });
        let ways = self.route.returns(self.problem, self.legs);
        let back = ways.needed(block, &self.route.points);
        let ahead = match looking {
            Looking::Ahead => self.ahead(block, &back),
            Looking::Back => Vec::new(),
        };
        let mut need_if_dry = vec![None; checks];
        for stop in met_again {
            stop.needed(self.legs, block, |check, lane| {
                need_if_dry[check] = Some(kept(lane));
            });
        }
        AtChecks {
            on_board,
            taken,
            need: self.needs(block),
            need_if_dry,
            back: back.iter().map(kept).collect(),
            ahead,
            off: kept(&self.route.off(block)),
        }
    }

    /// Litres on leaving to drive to the next check and to return from there; infinite where that is at unlimited fuel
    /// which is relied on, and at the last check.
    fn ahead(&self, block: &Block, back: &[Lane]) -> Vec<KeptLane> {
        let points = &self.route.points;
        let ahead = points.iter().enumerate().map(|(check, &(leg, part))| {
            let mut lane = [f64::INFINITY; BLOCK];
            let (mut at, mut from) = (leg, part.get());
            if from >= 1.0 {
                (at, from) = (leg + 1, 0.0);
            }
            if let Some(&(next, to)) = points.get(check + 1)
                && next == at
            {
                lane = back[check + 1];
                self.part(next, to.get() - from).needed_for(
                    &mut lane,
                    &block.driving[next],
                    &block.idling,
                );
            }
            kept(&lane)
        });
        ahead.collect()
    }

    /// Litres needed at each check of the route, as in [`AtChecks::need`].
    fn needs(&self, block: &Block) -> Vec<KeptLane> {
        let mut needs: Vec<KeptLane> = Vec::with_capacity(self.route.points.len());
        // On arrival at the place after the leg at hand, and the same if there is no fuel at it.
        let mut arrival = [0.0; BLOCK];
        let mut without = arrival;
        for leg in (self.route.from..self.n()).rev() {
            let mut here = 1.0;
            let mut lane = arrival;
            for check in self.on_leg(leg).rev() {
                let part = self.route.points[check].1.get();
                if part < here {
                    self.part(leg, here - part).needed_for(
                        &mut lane,
                        &block.driving[leg],
                        &block.idling,
                    );
                    here = part;
                }
                needs.push(kept(if part >= 1.0 { &without } else { &lane }));
            }
            self.part(leg, here)
                .needed_for(&mut lane, &block.driving[leg], &block.idling);
            (arrival, without) = self.at_place(leg, &lane, block, Reserve::Used);
        }
        needs.reverse();
        needs
    }

    /// Litres on arrival at a place to reach the next refuge after it, with the fuel stop there.
    pub(crate) fn needed_at_place(
        &self,
        place_number: usize,
        block: &Block,
        reserve: Reserve,
    ) -> Lane {
        if place_number >= self.n() {
            return [self.floor(self.n(), reserve); BLOCK];
        }
        let departure = self.needed_at((place_number, Share::ZERO), block, reserve);
        self.at_place(place_number, &departure, block, reserve).0
    }

    /// Litres at a point of a leg to reach the next refuge.
    pub(crate) fn needed_at(&self, (leg, part): Point, block: &Block, reserve: Reserve) -> Lane {
        let refuge = (leg + 1..self.n())
            .find(|&place_number| {
                self.stop(place_number).is_some() && self.route.refuge[place_number]
            })
            .unwrap_or(self.n());
        let mut lane = if refuge < self.n() {
            self.at_place(refuge, &[0.0; BLOCK], block, reserve).0
        } else {
            [self.floor(refuge, reserve); BLOCK]
        };
        for at in (leg..refuge).rev() {
            let from = if at == leg { part.get() } else { 0.0 };
            self.part(at, 1.0 - from)
                .needed_for(&mut lane, &block.driving[at], &block.idling);
            if at > leg {
                lane = self.at_place(at, &lane, block, reserve).0;
            }
        }
        lane
    }

    /// Shows litres on leaving each place to reach the next refuge, from the last place to one of them.
    pub(crate) fn needed_on_leaving(
        &self,
        first: usize,
        block: &Block,
        mut show: impl FnMut(usize, &Lane),
    ) {
        let mut lane = [self.floor(self.n(), Reserve::Used); BLOCK];
        for place_number in (first..self.n()).rev() {
            self.part(place_number, 1.0).needed_for(
                &mut lane,
                &block.driving[place_number],
                &block.idling,
            );
            show(place_number, &lane);
            lane = self.at_place(place_number, &lane, block, Reserve::Used).0;
        }
    }

    /// `lane` becomes what is needed where the plan begins to come to the first check with it.
    pub(crate) fn add_first_part(&self, (leg, part): Point, lane: &mut Lane, block: &Block) {
        self.part(leg, part.get())
            .needed_for(lane, &block.driving[leg], &block.idling);
    }

    /// What must be left at a place.
    fn floor(&self, place_number: usize, reserve: Reserve) -> f64 {
        match reserve {
            Reserve::Intact => self.problem.reserve[place_number].get(),
            Reserve::Used => 0.0,
        }
    }

    /// On arrival at a place that is left with `departure`: what the trip needs there, and what it needs at the fuel
    /// stop if that has none.
    fn at_place(
        &self,
        place_number: usize,
        departure: &Lane,
        block: &Block,
        reserve: Reserve,
    ) -> (Lane, Lane) {
        let floor = self.floor(place_number, reserve);
        let Some(stop) = self.stop(place_number) else {
            let arrival = at_least(departure, floor);
            return (arrival, arrival);
        };
        let detour = Scaled::new(stop.detour, Litres::ZERO);
        let factor = &block.driving[place_number.saturating_sub(1)];
        let off_route = stop.detour != Usage::NONE;
        let mut at_stop = *departure;
        if off_route {
            detour.needed_for(&mut at_stop, factor, &block.idling);
        }
        let without = at_least(&at_stop, floor);
        if self.route.refuge[place_number] {
            at_stop = [floor; BLOCK];
        } else {
            self.before_taking(place_number, &mut at_stop, floor);
        }
        if off_route {
            detour.needed_for(&mut at_stop, factor, &block.idling);
        }
        (at_stop, without)
    }

    /// `lane`, needed on leaving a fuel stop, becomes what is needed before the plan takes there what it takes;
    /// infinite if tank and cans do not hold as much.
    fn before_taking(&self, place_number: usize, lane: &mut Lane, floor: f64) {
        let full = self.route.full.get();
        let most = self.need.allowance[place_number];
        for litres in lane {
            *litres = if *litres > full {
                f64::INFINITY
            } else {
                most.map_or(floor, |most| (*litres - most.get()).max(floor))
            };
        }
    }

    /// Litres at the present place, on the route, to leave it with `departure`: once the plan has taken there
    /// what it takes. `None` if it takes nothing there.
    pub(crate) fn needed_before_filling(
        &self,
        place_number: usize,
        departure: &Lane,
        block: &Block,
    ) -> Option<Lane> {
        let stop = self.stop(place_number)?;
        let detour = Scaled::new(stop.detour, Litres::ZERO);
        let factor = &block.driving[place_number.saturating_sub(1)];
        let mut lane = *departure;
        let off_route = stop.detour != Usage::NONE;
        if off_route {
            detour.needed_for(&mut lane, factor, &block.idling);
        }
        self.before_taking(place_number, &mut lane, 0.0);
        if off_route {
            detour.needed_for(&mut lane, factor, &block.idling);
        }
        Some(lane)
    }
}

/// The litres, raised to a floor where they are less.
fn at_least(lane: &Lane, floor: f64) -> Lane {
    let mut raised = *lane;
    for litres in &mut raised {
        *litres = litres.max(floor);
    }
    raised
}

/// `lane` becomes what is needed before a detour there and back.
pub(super) fn add_detour(one_way: Usage, place_number: usize, lane: &mut Lane, block: &Block) {
    let detour = Scaled::new(one_way, Litres::ZERO);
    let factor = &block.driving[place_number.saturating_sub(1)];
    for _ in 0..2 {
        detour.needed_for(lane, factor, &block.idling);
    }
}
