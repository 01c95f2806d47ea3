//! Where to buy how much, so that the fuel of a trip costs the least: refuelling on a fixed path.
//!
//! With `d_j` on board on leaving place j, `m_j` and `c_j` the slope and the empty litres of a leg, `b_j` what is
//! bought, `p_j` its price:
//!
//! ```text
//! least  Σ p_j·b_j      d_{j+1} = (1 − m_j)·d_j − c_j + b_{j+1}
//!                       R_j ≤ d_j ≤ most,   0 ≤ b_j ≤ what the fuel stop has
//! ```
//!
//! `R_j` is what [`fuel`](super::fuel) requires on leaving a fuel stop, reserve and per cent in it. Carrying burns: of
//! a litre at j only `Π(1 − m)` reach a later place. Counted in litres divided by that product the fuel is conserved
//! and a litre only becomes dearer on its way, so the problem is a flow of least cost along a path, and *tentative
//! filling* solves it: at each fuel stop take all there is room for, keep what is on board in order of price, the
//! dearest given back first; what is burnt, and what must be on board, is taken from the cheapest and is then really
//! bought; what nobody needs at the end was never bought (the fixed-path gas station problem: Lin, Gertsch, Russell
//! 2007; Khuller, Malekian, Mestre 2007). Cost: n log n.
//!
//! Two things are not of that kind. Which fuel stops off the route to use is decided by branch and bound (the bound: as
//! if the undecided were on the route), exact unless it is given up for the many places. The shares of a limited fuel
//! stop that is met again are found by exchanges between two meetings, exact with one fuel stop met twice.
//! [`Purchase::proven`] shows.
//!
//! Left out: what a can loses when decanted changes no choice, it is bought where it is lacking; fuel that is left at
//! the finish is worth nothing.

use std::collections::VecDeque;

use crate::consumption::usage::Usage;
use crate::quantity::{Litres, Money, MoneyPerLitre, Share};

use super::fuel::{Need, OffRoute, Problem, ROUNDING};
use super::sharing;

/// Places looked at in all before the search for the best fuel stops off the route, or for the best shares, is given
/// up: some hundredths of a second.
const MOST_WORK: usize = 1_000_000;
/// Costs that differ by less are equal.
const PENNY: f64 = 1e-9;

/// What fuel costs where, and what may be on board.
#[derive(Clone, Copy, Debug)]
pub struct Market<'a> {
    /// The trip as the solver sees it.
    pub problem: &'a Problem,
    /// A litre's price at each place, read where there is a fuel stop; not below 0.
    pub prices: &'a [MoneyPerLitre],
    /// Usable litres on board before the start, cans included.
    pub start: Litres,
    /// Whether cans may be filled for the price alone, or only where more than a tank is needed.
    pub cans_for_price: bool,
}

/// How much to buy at each fuel stop, and what that costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// What is required where, with what each fuel stop is left with.
    pub need: Need,
    /// Litres in cans that it needs, without what is lost in decanting.
    pub in_cans: Litres,
    /// Litres bought at each place.
    pub bought: Vec<Litres>,
    /// Cost of all fills.
    pub cost: Money,
    /// Whether nothing cheaper is possible.
    pub proven: bool,
}

/// What is decided of a fuel stop off the route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Visit {
    Undecided,
    Used,
    Passed,
}

/// The best purchase with some fuel stops decided.
#[derive(Clone, Debug)]
struct Priced {
    problem: Problem,
    shares: Vec<Option<Litres>>,
    bought: Vec<f64>,
    /// Infinite when the trip cannot be made.
    cost: f64,
}

impl Market<'_> {
    /// The cheapest purchase; `None` if the trip cannot be made with what there is.
    ///
    /// # Panics
    /// When there is not one price for each place.
    pub fn least_cost(&self) -> Option<Purchase> {
        let places = self.problem.legs.len() + 1;
        assert!(self.prices.len() == places, "one price for each place");
        let visits: Vec<Visit> = self
            .problem
            .fuel_stops
            .iter()
            .map(|fuel_stop| match fuel_stop {
                Some(fuel_stop) if fuel_stop.detour != Usage::NONE => Visit::Undecided,
                _ => Visit::Used,
            })
            .collect();
        let mut search = Search {
            market: *self,
            dearest: self.dearest(),
            work_left: MOST_WORK,
            proven: true,
            best: None,
        };
        search.branch(&visits);
        let best = search.best?;
        let mut need = best.problem.need_with(&best.shares, OffRoute::Used);
        need.filled_to = self.levels(&best.problem, &best.bought);
        // What is left in fuel stops that are passed, for those who ask what if another is dry.
        for (place, fuel_stop) in self.problem.fuel_stops.iter().enumerate() {
            if let (Some(fuel_stop), None) = (fuel_stop, best.problem.fuel_stops[place]) {
                let once = sharing::met_once(self.problem, fuel_stop.number);
                need.allowance[place] = fuel_stop
                    .supply
                    .map(|supply| if once { supply } else { Litres::ZERO });
            }
        }
        let smooth = Problem {
            cans: Vec::new(),
            ..best.problem
        };
        Some(Purchase {
            need,
            in_cans: smooth.need_with(&best.shares, OffRoute::Used).in_cans,
            bought: best
                .bought
                .iter()
                .map(|&litres| Litres::new(litres))
                .collect(),
            cost: Money::new(best.cost),
            proven: search.proven,
        })
    }

    /// The cheapest purchase with which each fuel stop that `need` uses is left with at least what it requires, and no
    /// meeting takes more than its share; `None` if that cannot be.
    pub(crate) fn least_cost_for(&self, need: &Need) -> Option<Need> {
        let mut problem = self.problem.clone();
        for (fuel_stop, used) in problem.fuel_stops.iter_mut().zip(&need.at_fuel_stop) {
            if used.is_none() {
                *fuel_stop = None;
            }
        }
        // What is required at one fuel stop must be brought to it from the one before, where its supply does not do.
        let mut at_least = need.clone();
        let mut next = Litres::ZERO;
        for j in (0..problem.legs.len()).rev() {
            let departure = problem.legs[j].needed_for(next, Share::ZERO);
            at_least.departure[j] = need.departure[j].max(departure);
            next = at_least.departure[j].max(problem.reserve[j]);
            if let (Some(fuel_stop), Some(at_fuel_stop)) =
                (problem.fuel_stops[j], &mut at_least.at_fuel_stop[j])
            {
                let back = fuel_stop
                    .detour
                    .needed_for(at_least.departure[j], Share::ZERO);
                *at_fuel_stop = back.max(*at_fuel_stop);
                let share = need.allowance[j];
                let before = share.map_or(Litres::ZERO, |share| *at_fuel_stop - share);
                next = fuel_stop
                    .detour
                    .needed_for(before.max(problem.reserve[j]), Share::ZERO);
            }
        }
        let filled = self.filled_for(&problem, &at_least);
        let mut bought = need.clone();
        bought.filled_to = self.levels(&problem, &filled.bought);
        (filled.missing <= ROUNDING.get()).then_some(bought)
    }

    fn dearest(&self) -> f64 {
        let prices = self.problem.fuel_stops.iter().zip(self.prices);
        prices
            .filter(|(fuel_stop, _)| fuel_stop.is_some())
            .map(|(_, price)| price.get())
            .fold(0.0, f64::max)
    }

    /// What to leave each fuel stop with; nothing to be bought requires no more than is required.
    fn levels(&self, problem: &Problem, bought: &[f64]) -> Vec<Option<Litres>> {
        let mut on_board = self.start;
        let mut levels = vec![None; problem.fuel_stops.len()];
        for (j, &leg) in problem.legs.iter().enumerate() {
            if let Some(fuel_stop) = problem.fuel_stops[j] {
                on_board -= fuel_stop.detour.litres(on_board);
                let bought = Litres::new(bought[j]);
                on_board += bought;
                levels[j] = Some(if bought > ROUNDING {
                    on_board
                } else {
                    Litres::ZERO
                });
                on_board -= fuel_stop.detour.litres(on_board);
            }
            on_board -= leg.litres(on_board);
        }
        levels
    }

    /// The least cost when every fuel stop of `problem` is used and each meeting takes no more than its share.
    fn filled(&self, problem: &Problem, shares: &[Option<Litres>]) -> Filled {
        let need = problem.need_with(shares, OffRoute::Used);
        self.filled_for(problem, &need)
    }

    /// The least cost when every fuel stop of `problem` is used and is left with at least what `need` requires.
    fn filled_for(&self, problem: &Problem, need: &Need) -> Filled {
        let n = problem.legs.len();
        let tank = self.problem.tank.get();
        let most = tank + self.problem.cans.iter().map(|can| can.get()).sum::<f64>();
        let mut on_board = FuelByPrice::new(self.start.get(), n + 1);
        for j in 0..n {
            if let (Some(fuel_stop), Some(required)) = (problem.fuel_stops[j], need.at_fuel_stop[j])
            {
                on_board.drive(fuel_stop.detour);
                let required = required.get();
                if required > most {
                    on_board.missing += required - most;
                }
                let required = required.min(most);
                let room = if self.cans_for_price {
                    most
                } else {
                    tank.max(required)
                };
                let supply = need.allowance[j].map_or(f64::INFINITY, Litres::get);
                on_board.offer(j, self.prices[j].get(), supply, room);
                on_board.really_buy(required);
                on_board.drive(fuel_stop.detour);
            } else if j == 0 {
                on_board.really_buy(need.departure[0].get());
            }
            on_board.drive(problem.legs[j]);
        }
        let cost: f64 = self
            .prices
            .iter()
            .zip(&on_board.bought)
            .map(|(price, litres)| price.get() * litres)
            .sum();
        Filled {
            cost,
            missing: on_board.missing,
            bought: on_board.bought,
        }
    }
}

/// What tentative filling comes to.
struct Filled {
    /// Of what is bought.
    cost: f64,
    /// Litres that cannot be had, or for which there is no room.
    missing: f64,
    /// Litres at each place.
    bought: Vec<f64>,
}

/// The search for the fuel stops off the route that are worth their detour.
struct Search<'a> {
    market: Market<'a>,
    dearest: f64,
    work_left: usize,
    proven: bool,
    best: Option<Priced>,
}

impl Search<'_> {
    fn branch(&mut self, visits: &[Visit]) {
        let undecided: Vec<usize> = (0..visits.len() - 1)
            .filter(|&place| visits[place] == Visit::Undecided)
            .collect();
        let bound = self.priced(visits);
        let beaten = |search: &Self, cost: f64| {
            search
                .best
                .as_ref()
                .is_some_and(|best| cost >= best.cost - PENNY)
        };
        if !bound.cost.is_finite() || beaten(self, bound.cost) {
            return;
        }
        if undecided.is_empty() {
            self.best = Some(bound);
            return;
        }
        let mut passed = visits.to_vec();
        for &place in &undecided {
            passed[place] = Visit::Passed;
        }
        let without = self.priced(&passed);
        let settled = without.cost <= bound.cost + PENNY;
        if without.cost.is_finite() && !beaten(self, without.cost) {
            self.best = Some(without);
        }
        if settled || beaten(self, bound.cost) {
            return;
        }
        if self.work_left == 0 {
            self.proven = false;
            // Still a plan must be found where the trip needs these fuel stops.
            if self.best.is_some() {
                return;
            }
        }
        // Where the bound buys most, the decision matters most.
        let Some(place) = undecided
            .into_iter()
            .max_by(|&a, &b| bound.bought[a].total_cmp(&bound.bought[b]))
        else {
            return;
        };
        let order = if bound.bought[place] > 0.0 {
            [Visit::Used, Visit::Passed]
        } else {
            [Visit::Passed, Visit::Used]
        };
        for visit in order {
            let mut decided = visits.to_vec();
            decided[place] = visit;
            self.branch(&decided);
        }
    }

    /// The least cost with what is decided; a fuel stop that is not decided is taken to be on the route.
    fn priced(&mut self, visits: &[Visit]) -> Priced {
        let mut problem = self.market.problem.clone();
        for (fuel_stop, visit) in problem.fuel_stops.iter_mut().zip(visits) {
            match visit {
                Visit::Passed => *fuel_stop = None,
                Visit::Undecided => {
                    if let Some(fuel_stop) = fuel_stop {
                        fuel_stop.detour = Usage::NONE;
                    }
                }
                Visit::Used => {}
            }
        }
        let shares = self.shares(&problem);
        self.work_left = self.work_left.saturating_sub(visits.len());
        let filled = self.market.filled(&problem, &shares);
        Priced {
            problem,
            shares,
            bought: filled.bought,
            cost: if filled.missing > ROUNDING.get() {
                f64::INFINITY
            } else {
                filled.cost
            },
        }
    }

    /// The shares of limited fuel stops with which the trip costs least.
    fn shares(&mut self, problem: &Problem) -> Vec<Option<Litres>> {
        let meetings = sharing::meetings(problem);
        if meetings.is_empty() {
            return sharing::supplies(problem);
        }
        self.proven &= matches!(&meetings[..], [places] if places.len() == 2);
        // What is lost in decanting comes in whole cans and would make steps; it is left out of the search.
        let smooth = Problem {
            cans: Vec::new(),
            ..problem.clone()
        };
        // What cannot be had is bought out of the air at a ruinous price, so that the cost is convex in the shares.
        let ruin = 1e3 * (1.0 + self.dearest);
        let mut work = 0;
        let shares = sharing::best(&smooth, &meetings, MOST_WORK, |shares| {
            work += problem.fuel_stops.len();
            let filled = self.market.filled(&smooth, shares);
            filled.cost + ruin * filled.missing
        });
        self.work_left = self.work_left.saturating_sub(work);
        self.proven &= !shares.cut;
        shares.litres
    }
}

/// Fuel that was offered at one place and is not yet needed.
#[derive(Clone, Copy, Debug)]
struct Batch {
    place: usize,
    /// For a unit.
    price: f64,
    units: f64,
    /// Litres at its own place that a unit is.
    litres: f64,
}

/// What is on board in tentative filling, in units that carrying does not burn: litres divided by `kept`.
#[derive(Clone, Debug)]
struct FuelByPrice {
    /// What is left here of each litre since units were last made litres.
    kept: f64,
    /// Units that are paid for.
    paid: f64,
    /// What can still be given back, the cheapest first.
    batches: VecDeque<Batch>,
    /// Units in the batches.
    open: f64,
    /// Litres really bought at each place.
    bought: Vec<f64>,
    /// Litres that could not be had.
    missing: f64,
}

impl FuelByPrice {
    fn new(start: f64, places: usize) -> Self {
        Self {
            kept: 1.0,
            paid: start.max(0.0),
            batches: VecDeque::new(),
            open: 0.0,
            bought: vec![0.0; places],
            missing: 0.0,
        }
    }

    /// Takes all of `supply` litres for which there is room, and what is dearer makes room.
    fn offer(&mut self, place: usize, price: f64, supply: f64, room: f64) {
        let room = (room / self.kept - self.paid).max(0.0);
        let units = (supply / self.kept).min(room);
        if units <= 0.0 {
            return self.give_back_over(room);
        }
        let batch = Batch {
            place,
            price: price * self.kept,
            units,
            litres: self.kept,
        };
        // Of equal price the later stays behind the earlier and is given back first.
        let at = self
            .batches
            .partition_point(|other| other.price <= batch.price);
        self.batches.insert(at, batch);
        self.open += units;
        self.give_back_over(room);
    }

    fn give_back_over(&mut self, room: f64) {
        while self.open > room {
            let Some(last) = self.batches.back_mut() else {
                break;
            };
            let over = self.open - room;
            if last.units > over {
                last.units -= over;
                self.open = room;
            } else {
                self.open -= last.units;
                self.batches.pop_back();
            }
        }
        if self.batches.is_empty() {
            self.open = 0.0;
        }
    }

    /// Sees to it that `litres` are on board that are paid for: the cheapest of what is offered.
    fn really_buy(&mut self, litres: f64) {
        let wanted = litres / self.kept;
        while self.paid < wanted {
            let lacking = wanted - self.paid;
            let Some(first) = self.batches.front_mut() else {
                self.missing += lacking * self.kept;
                self.paid = wanted;
                return;
            };
            let taken = first.units.min(lacking);
            self.bought[first.place] += taken * first.litres;
            self.open -= taken;
            if first.units > lacking {
                first.units -= taken;
                self.paid = wanted;
            } else {
                self.paid += taken;
                self.batches.pop_front();
            }
        }
    }

    /// Carries all of it over a leg, which burns some.
    fn drive(&mut self, leg: Usage) {
        /// Far from where numbers end.
        const SMALL: f64 = 1e-100;
        if leg == Usage::NONE {
            return;
        }
        self.kept *= (1.0 - leg.slope().get()).max(SMALL);
        let empty = leg.empty().get();
        self.really_buy(empty);
        self.paid -= empty / self.kept;
        if self.kept < SMALL {
            self.paid *= self.kept;
            self.open *= self.kept;
            for batch in &mut self.batches {
                batch.units *= self.kept;
                batch.price /= self.kept;
                batch.litres /= self.kept;
            }
            self.kept = 1.0;
        }
    }
}
