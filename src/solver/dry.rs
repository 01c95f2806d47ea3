//! What is required when a pump that was relied on has nothing.
//!
//! The recursion of [`fuel`](super::fuel) is run again without the pump. Only places before its last meeting can
//! require more, and only as far back as what they require on arrival differs: at the first pump behind that has as
//! much as one likes everything is as it was. So a dry pump costs the legs to that pump and not those of the trip.
//!
//! A dry pump never lowers what is required anywhere: each step of the recursion rises with what the next place
//! requires, and a pump only ever lowers it.

use super::fuel::{Need, OffRoute, Problem, Step};
use crate::quantity::{Litres, Share};

/// Pumps that are met again are shared out anew without the dry one for up to so many legs times pumps; beyond
/// that they are shared as with all of them. So that an answer is not waited for; chosen, no source.
pub const SHARED_ANEW: usize = 400;

/// A problem and what it requires, ready to be asked again with pumps dry.
#[derive(Clone, Debug)]
pub struct Again {
    problem: Problem,
    need: Need,
    /// The most that is required over the tank at all places before each place; one more for the finish.
    before: Vec<Litres>,
    /// The same from each place on.
    from: Vec<Litres>,
    /// Whether a limited pump is met again.
    is_shared: bool,
}

impl Again {
    /// From a problem, with what its meetings may take from their pumps.
    ///
    /// # Panics
    /// When there is not one allowance for each place.
    pub fn of(problem: Problem, allowance: &[Option<Litres>]) -> Self {
        let need = problem.need_with(allowance, OffRoute::WhereItHelps);
        let n = problem.legs.len();
        let most = |j: usize| {
            let at_pump = need.at_pump[j].unwrap_or(Litres::ZERO);
            need.departure[j].max(at_pump) - problem.tank
        };
        let mut before = vec![Litres::ZERO];
        for j in 0..n {
            before.push(before[j].max(most(j)));
        }
        let mut from = vec![Litres::ZERO; n + 1];
        for j in (0..n).rev() {
            from[j] = from[j + 1].max(most(j));
        }
        let mut met = vec![0; problem.pump_numbers()];
        for pump in problem.pumps[..n].iter().flatten() {
            met[pump.number] += usize::from(pump.supply.is_some());
        }
        Self {
            is_shared: met.iter().any(|&times| times > 1),
            problem,
            need,
            before,
            from,
        }
    }

    /// The same legs and pumps with other shares and reserves held back.
    #[must_use]
    pub fn holding_back(&self, extra: Share, reserve: &[Litres]) -> Self {
        let problem = Problem {
            extra,
            reserve: reserve.to_vec(),
            ..self.problem.clone()
        };
        Self::of(problem, &self.need.allowance)
    }

    /// The problem.
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    /// What it requires with every pump as stated.
    pub fn need(&self) -> &Need {
        &self.need
    }

    /// Whether a limited pump is met again, and its supply shared out among the meetings.
    pub fn is_shared(&self) -> bool {
        self.is_shared
    }

    /// Whether that is done anew without the dry pump.
    pub fn shares_anew(&self) -> bool {
        self.is_shared && self.problem.legs.len() * self.problem.pump_numbers() <= SHARED_ANEW
    }

    /// What must be aboard on departure from the first of some places when the pumps at all of them, in rising order and
    /// none of them the finish, have nothing. What meetings with other pumps may take stays.
    ///
    /// # Panics
    /// When no place is given, or one past the last leg.
    pub fn departure_without(&self, dry: &[usize]) -> Litres {
        let (first, mut still_dry) = (dry[0], dry);
        let mut j = dry[dry.len() - 1];
        let mut next = self.need.arrival[j + 1];
        loop {
            let step = self.step(j, next, &mut still_dry);
            if j == first {
                return step.departure;
            }
            if step.arrival == self.need.arrival[j] {
                // Farther back all is as it was, up to the next that is dry.
                j = still_dry[still_dry.len() - 1];
                next = self.need.arrival[j + 1];
            } else {
                j -= 1;
                next = step.arrival;
            }
        }
    }

    /// The next place behind the first of some dry ones at which a pump is used when all of them have nothing; the finish
    /// where there is none. A pump off the route may be used then that is passed otherwise.
    ///
    /// # Panics
    /// When no place is given, or one past the last leg.
    pub fn next_used_without(&self, dry: &[usize]) -> usize {
        let (first, last, mut still_dry) = (dry[0], dry[dry.len() - 1], dry);
        let n = self.problem.legs.len();
        let mut used = (last + 1..n)
            .find(|&place| self.need.at_pump[place].is_some())
            .unwrap_or(n);
        let mut next = self.need.arrival[last + 1];
        for j in (first + 1..=last).rev() {
            let step = self.step(j, next, &mut still_dry);
            if step.at_pump.is_some() {
                used = j;
            }
            next = step.arrival;
        }
        used
    }

    /// One place anew; it is taken off the end of what is still dry if it is there.
    fn step(&self, j: usize, next: Litres, still_dry: &mut &[usize]) -> Step {
        let mut pump = self.problem.pumps[j];
        if let Some((&place, others)) = still_dry.split_last()
            && place == j
        {
            (pump, *still_dry) = (None, others);
        }
        self.problem.step(
            j,
            next,
            pump,
            self.need.allowance[j],
            OffRoute::WhereItHelps,
        )
    }

    /// The spare litres when the pumps at some places, in rising order and none of them the finish, have nothing,
    /// while what meetings with other pumps may take stays; and how many places were worked out anew.
    ///
    /// # Panics
    /// When no place is given, or one past the last leg.
    pub fn spare_as_shared(&self, dry: &[usize]) -> (Litres, usize) {
        let (last, mut still_dry) = (dry[dry.len() - 1], dry);
        let mut spare = self.from[last + 1];
        let mut next = self.need.arrival[last + 1];
        for j in (0..=last).rev() {
            let step = self.step(j, next, &mut still_dry);
            spare = spare.max(step.most() - self.problem.tank);
            next = step.arrival;
            if still_dry.is_empty() && next == self.need.arrival[j] {
                return (spare.max(self.before[j]), last + 1 - j);
            }
        }
        (spare, last + 1)
    }

    /// The same, with pumps that are met again shared out anew where that is not too much work.
    pub fn spare_without(&self, dry: &[usize]) -> (Litres, usize) {
        let (spare, steps) = self.spare_as_shared(dry);
        if !self.shares_anew() {
            return (spare, steps);
        }
        let mut problem = self.problem.clone();
        for &place in dry {
            problem.pumps[place] = None;
        }
        // Sharing out anew may rest short of the best; what was found before is an answer too. And less than with all
        // pumps it cannot be, but for a search that rested short there.
        let anew = problem.need().spare.max(self.need.spare);
        (anew.min(spare), steps)
    }

    /// The spare litres when `lost` litres are gone from the cans after a part of a leg and the trip is to go through
    /// all the same.
    pub fn spare_with_loss(&self, leg: usize, part: Share, lost: Litres) -> Litres {
        let problem = &self.problem;
        let whole = problem.legs[leg];
        let rest = whole.part(Share::new(1.0 - part.get()));
        let mut next = problem.before(rest, self.need.arrival[leg + 1]) + lost;
        next = problem.before(whole.part(part), next);
        let mut spare = self.need.spare;
        for j in (0..=leg).rev() {
            spare = spare.max(next - problem.tank);
            let arrival = match (problem.pumps[j], self.need.at_pump[j]) {
                (Some(pump), Some(_)) => {
                    let at_pump = problem.before(pump.detour, next);
                    spare = spare.max(at_pump - problem.tank);
                    let Some(share) = self.need.allowance[j] else {
                        break;
                    };
                    let before_filling = problem.reserve[j].max(at_pump - share);
                    problem.before(pump.detour, before_filling)
                }
                _ => problem.reserve[j].max(next),
            };
            if j > 0 {
                next = problem.before(problem.legs[j - 1], arrival);
            }
        }
        spare
    }
}
