//! What is kept of a trial to be asked what if a fuel stop is dry, two are, or a can is lost; and the ways out on arrival.
//!
//! The recursion of the plan is asked again, with the plan's per cent for the spare fuel, and without it, and with
//! nothing held back at all, for the ways out. What the answers mean stands with their types, in `dry`.

use std::collections::BTreeMap;

use crate::consumption::usage::Usage;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::dry::Again;
use crate::solver::fuel::Problem;
use crate::solver::run::Span;
use crate::solver::turn_back::needed_back;

use crate::plan::answers::dry::{DryAt, Open, WayOut, way_out};

/// What is kept of a solved trip, to be asked what if.
#[derive(Clone, Debug)]
pub(in crate::plan) struct WhatIfDry {
    /// Spare fuel without what is lost in pouring.
    pub plain: Again,
    /// Spare fuel with the plan's own cans.
    pub poured: Again,
    /// The fixed reserve alone held back, and nothing at all.
    pub fixed: Again,
    pub bare: Again,
    /// Kilometre of each place.
    pub km: Vec<Kilometres>,
    /// Litres in tank and cans on arrival at each place.
    pub arriving: Vec<[Litres; 2]>,
    /// Litres aboard on departure from each place but the finish.
    pub leaving: Vec<Litres>,
    pub spans: Vec<Span>,
    pub back: Vec<Option<Usage>>,
    /// Litres needed at each place to be at the nearest refuge behind it with the reserve, and with nothing left.
    pub home: Vec<Option<Home>>,
    pub refuges: Vec<bool>,
    /// The places at which each pump is met after the start, by the first place at which the plan uses it.
    pub met: BTreeMap<usize, Vec<usize>>,
    /// The same of the pumps that the plan does not rely on.
    pub passed: BTreeMap<usize, Vec<usize>>,
    /// One way to each of those that are off the route.
    pub aside: BTreeMap<usize, Usage>,
    pub chances: Vec<Share>,
    pub carried: Litres,
    /// Size and fill of the largest kind of can.
    pub largest: Option<[Litres; 2]>,
}

/// What going back takes.
#[derive(Clone, Copy, Debug)]
pub(in crate::plan) struct Home {
    pub refuge: usize,
    pub fixed: Litres,
    pub bare: Litres,
}

impl Home {
    /// Over one leg more, or a part of one.
    pub fn over(self, back: Option<Usage>) -> Option<Self> {
        Some(Self {
            fixed: needed_back(back, self.fixed)?,
            bare: needed_back(back, self.bare)?,
            ..self
        })
    }

    pub fn way(self, aboard: Litres) -> WayOut {
        way_out(self.refuge, aboard, self.fixed, self.bare)
    }
}

impl WhatIfDry {
    pub fn problem(&self) -> &Problem {
        self.plain.problem()
    }

    /// What can be had of the litres in a tank and in cans.
    pub fn usable(&self, tank: Litres, in_cans: Litres) -> Litres {
        tank + in_cans - self.poured.problem().lost_in_pouring(in_cans)
    }

    /// The next place from `node` on, `dry` left out, at which a pump is used; the finish where there is none.
    pub fn next_stop(&self, node: usize, dry: &[usize]) -> usize {
        let used = &self.fixed.need().at_pump;
        let n = used.len() - 1;
        (node..n)
            .find(|place| used[*place].is_some() && !dry.contains(place))
            .unwrap_or(n)
    }

    /// Each pump that the plan relies on, found dry on arrival.
    pub fn stops(&self) -> Vec<DryAt> {
        self.met
            .values()
            .map(|nodes| self.found_dry(nodes))
            .collect()
    }

    /// Each pump that the plan does not rely on, found dry on arrival by whoever drives there all the same.
    pub fn passed(&self) -> Vec<DryAt> {
        self.passed
            .values()
            .map(|nodes| self.found_dry(nodes))
            .collect()
    }

    fn found_dry(&self, nodes: &[usize]) -> DryAt {
        let node = nodes[0];
        let [tank, in_cans] = self.arriving[node];
        let aboard = self.usable(tank, in_cans);
        let (go_on, turn_back) = self.ways_out(nodes, &self.numbers(&[node]), aboard);
        let detour = self.detour(node);
        let left = aboard - detour.litres(aboard);
        let on_route = left - detour.litres(left);
        DryAt {
            nodes: nodes.to_vec(),
            chance: self.chances[node],
            empty_at: (go_on.open == Open::No).then(|| self.empty_at(node, on_route, go_on.to)),
            go_on,
            turn_back,
        }
    }

    /// One way from the route to the pump of a place.
    pub fn detour(&self, node: usize) -> Usage {
        let aside = || self.aside.get(&node).copied().unwrap_or(Usage::NONE);
        self.problem().pumps[node].map_or_else(aside, |pump| pump.detour)
    }

    /// The numbers of the pumps at some places.
    pub fn numbers(&self, nodes: &[usize]) -> Vec<usize> {
        let pumps = nodes.iter().filter_map(|&node| self.problem().pumps[node]);
        pumps.map(|pump| pump.number).collect()
    }

    /// Both ways from the first of some places when the pumps at all of them, which have these numbers, are dry.
    pub fn ways_out(
        &self,
        nodes: &[usize],
        numbers: &[usize],
        aboard: Litres,
    ) -> (WayOut, Option<WayOut>) {
        let node = nodes[0];
        let detour = self.detour(node);
        // To the pump with the reserve, and back to the route with what is needed there.
        let by_way_of = |reserve: Litres, needed: Litres| {
            let at_pump = reserve.max(detour.needed_for(needed, Share::ZERO));
            detour.needed_for(at_pump, Share::ZERO)
        };
        let reserve = self.problem().reserve[node];
        let go_on = way_out(
            self.fixed.next_used_without(nodes),
            aboard,
            by_way_of(reserve, self.fixed.departure_without(nodes)),
            by_way_of(Litres::ZERO, self.bare.departure_without(nodes)),
        );
        let turn_back = self.home_from(node, numbers).map(|home| {
            let through = Home {
                fixed: by_way_of(reserve, home.fixed),
                bare: by_way_of(Litres::ZERO, home.bare),
                ..home
            };
            through.way(aboard)
        });
        (go_on, turn_back)
    }

    /// What going back from a place takes when the pumps of some numbers have nothing.
    fn home_from(&self, node: usize, dry: &[usize]) -> Option<Home> {
        let is_dry = |place: usize| {
            let pump = self.problem().pumps[place];
            pump.is_some_and(|pump| dry.contains(&pump.number))
        };
        let near = self.home[node - 1]?;
        if !is_dry(near.refuge) {
            return near.over(self.back[node - 1]);
        }
        // The nearest is a dry pump itself, met on the way out: on to the one behind it.
        let farther = (0..near.refuge)
            .rev()
            .find(|&place| self.refuges[place] && !is_dry(place))?;
        let home = self.home[farther]?;
        (farther..node).try_fold(home, |home, leg| home.over(self.back[leg]))
    }

    /// Where `aboard` litres are burnt that leave a place, on the way to another or there.
    fn empty_at(&self, node: usize, aboard: Litres, to: usize) -> Kilometres {
        let mut left = aboard;
        for leg in node..to {
            let usage = self.problem().legs[leg];
            if let Some(part) = usage.part_until(left, Litres::ZERO) {
                return self.km[leg] + (self.km[leg + 1] - self.km[leg]) * part.get();
            }
            left -= usage.litres(left);
        }
        self.km[to]
    }
}
