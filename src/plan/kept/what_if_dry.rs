//! Asks a solved trip what if a pump is dry, two are, or a can is lost.
//!
//! The recursion of the plan is asked again, with the plan's per cent for the spare fuel, and without it, and with
//! nothing held back at all, for the ways out. What the answers mean stands with their types, in `dry`.

use std::collections::BTreeMap;

use crate::consumption::usage::Usage;
use crate::model::Trip;
use crate::model::route::FuelStop;
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::cans;
use crate::solver::dry::Again;
use crate::solver::fuel::{POUR_LOSS, Problem, ROUNDING};
use crate::solver::run::Span;
use crate::solver::turn_back::needed_back;

use crate::plan::answers::dry::{DryAt, DryStop, DryStops, MoreCans, Open, WayOut, way_out};
use crate::plan::lay_out::course::Course;

/// Places that are worked out anew at most for one plan; beyond that the rest is left out, and said to be. Chosen, no
/// source: some seconds' work.
pub(in crate::plan) const MOST_STEPS: usize = 50_000_000;

/// What is kept of a solved trip, to be asked what if.
#[derive(Clone, Debug)]
pub(in crate::plan) struct WhatIfDry {
    /// Spare fuel without what is lost in pouring.
    pub(in crate::plan) plain: Again,
    /// Spare fuel with the plan's own cans.
    pub(in crate::plan) poured: Again,
    /// The fixed reserve alone held back, and nothing at all.
    pub(in crate::plan) fixed: Again,
    pub(in crate::plan) bare: Again,
    /// Kilometre of each place.
    pub(in crate::plan) km: Vec<Kilometres>,
    /// Litres in tank and cans on arrival at each place.
    pub(in crate::plan) arriving: Vec<[Litres; 2]>,
    /// Litres aboard on departure from each place but the finish.
    pub(in crate::plan) leaving: Vec<Litres>,
    pub(in crate::plan) spans: Vec<Span>,
    pub(in crate::plan) back: Vec<Option<Usage>>,
    /// Litres needed at each place to be at the nearest refuge behind it with the reserve, and with nothing left.
    pub(in crate::plan) home: Vec<Option<Home>>,
    refuges: Vec<bool>,
    /// The places at which each pump is met after the start, by the first place at which the plan uses it.
    met: BTreeMap<usize, Vec<usize>>,
    /// The same of the pumps that the plan does not rely on.
    passed: BTreeMap<usize, Vec<usize>>,
    /// One way to each of those that are off the route.
    aside: BTreeMap<usize, Usage>,
    chances: Vec<Share>,
    carried: Litres,
    /// Size and fill of the largest kind of can.
    largest: Option<[Litres; 2]>,
}

/// What going back takes.
#[derive(Clone, Copy, Debug)]
pub(in crate::plan) struct Home {
    refuge: usize,
    fixed: Litres,
    bare: Litres,
}

impl Home {
    /// Over one leg more, or a part of one.
    pub(in crate::plan) fn over(self, back: Option<Usage>) -> Option<Self> {
        Some(Self {
            fixed: needed_back(back, self.fixed)?,
            bare: needed_back(back, self.bare)?,
            ..self
        })
    }

    pub(in crate::plan) fn way(self, aboard: Litres) -> WayOut {
        way_out(self.refuge, aboard, self.fixed, self.bare)
    }
}

impl WhatIfDry {
    pub fn of(course: &Course<'_>) -> Self {
        let (solution, trip) = (course.solution, course.trip());
        let n = trip.legs.len();
        let poured = Again::of(solution.problem.clone(), &solution.need.allowance);
        let without_cans = Problem {
            cans: Vec::new(),
            ..solution.problem.clone()
        };
        let plain = Again::of(without_cans, &solution.need.allowance);
        let fixed = plain.holding_back(Share::ZERO, &solution.problem.reserve);
        let bare = plain.holding_back(Share::ZERO, &vec![Litres::ZERO; n + 1]);
        let mut nodes = vec![Vec::new(); solution.problem.pump_numbers()];
        let mut first_used = vec![None; nodes.len()];
        // At the place where the plan begins one sees what there is.
        let first = course.ground.from() + 1;
        for (node, pump) in solution
            .problem
            .pumps
            .iter()
            .enumerate()
            .take(n)
            .skip(first)
        {
            let Some(pump) = pump else { continue };
            let used = solution.need.at_pump[node].is_some();
            nodes[pump.number].push(node);
            if used && first_used[pump.number].is_none() {
                first_used[pump.number] = Some(node);
            }
        }
        let met = first_used
            .iter()
            .zip(nodes)
            .filter_map(|(first, nodes)| Some(((*first)?, nodes)))
            .map(|(first, nodes)| {
                (
                    first,
                    nodes.into_iter().filter(|&node| node >= first).collect(),
                )
            })
            .collect();
        let arriving = std::iter::once([Litres::ZERO; 2]).chain(
            solution
                .run
                .legs
                .iter()
                .map(|leg| [leg.end_tank, leg.end_cans]),
        );
        let passed = passed(course, &met);
        let aside = passed.values().flatten().map(|&node| {
            let way = course.ground.detour(node, &solution.legs, solution.full);
            (node, way)
        });
        Self {
            aside: aside.collect(),
            passed,
            plain,
            poured,
            fixed,
            bare,
            km: course.km.clone(),
            arriving: arriving.collect(),
            leaving: solution.run.legs.iter().map(|leg| leg.start).collect(),
            spans: solution.run.spans.clone(),
            back: course.back.clone(),
            home: homes(course),
            refuges: (0..=n).map(|node| course.is_refuge(node)).collect(),
            met,
            chances: (0..=n)
                .map(|node| {
                    trip.place(node)
                        .fuel
                        .map_or(Share::new(1.0), FuelStop::chance)
                })
                .collect(),
            carried: cans::fill(&solution.set),
            largest: largest_can(trip),
        }
    }

    pub(in crate::plan) fn problem(&self) -> &Problem {
        self.plain.problem()
    }

    /// What can be had of the litres in a tank and in cans.
    pub(in crate::plan) fn usable(&self, tank: Litres, in_cans: Litres) -> Litres {
        tank + in_cans - self.poured.problem().lost_in_pouring(in_cans)
    }

    /// The next place from `node` on, `dry` left out, at which a pump is used; the finish where there is none.
    pub(in crate::plan) fn next_stop(&self, node: usize, dry: &[usize]) -> usize {
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
    pub(in crate::plan) fn detour(&self, node: usize) -> Usage {
        let aside = || self.aside.get(&node).copied().unwrap_or(Usage::NONE);
        self.problem().pumps[node].map_or_else(aside, |pump| pump.detour)
    }

    /// The numbers of the pumps at some places.
    pub(in crate::plan) fn numbers(&self, nodes: &[usize]) -> Vec<usize> {
        let pumps = nodes.iter().filter_map(|&node| self.problem().pumps[node]);
        pumps.map(|pump| pump.number).collect()
    }

    /// Both ways from the first of some places when the pumps at all of them, which have these numbers, are dry.
    pub(in crate::plan) fn ways_out(
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

    /// So many more cans when the trip needs so much, pouring losses included.
    pub(in crate::plan) fn more_cans(&self, needed: Litres) -> Option<MoreCans> {
        let [size, fill] = self.largest?;
        let missing = needed - self.carried - ROUNDING;
        let gives = fill - POUR_LOSS;
        let count = if missing > Litres::ZERO && gives > Litres::ZERO {
            (missing / gives).ceil()
        } else {
            0.0
        };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "not negative, and a cast keeps within what the type holds"
        )]
        let count = count as u32;
        Some(MoreCans { count, size })
    }

    /// What each stop costs that is found dry, and a can lost.
    pub fn each(&self, found: &[DryAt]) -> DryStops {
        let mut answer = DryStops {
            can_lost: self.can_lost(),
            shared_as_planned: self.plain.is_shared() && !self.plain.shares_anew(),
            ..DryStops::default()
        };
        let mut steps = 0;
        for at in found {
            if steps > MOST_STEPS {
                answer.cut = true;
                break;
            }
            let (spare, plain) = self.plain.spare_without(&at.nodes);
            let (needed, poured) = self.poured.spare_without(&at.nodes);
            steps += plain + poured;
            answer.stops.push(DryStop {
                spare,
                more: self.more_cans(needed),
                at: at.clone(),
            });
        }
        answer.hangs_on = self.hangs_on(&answer.stops);
        answer
    }

    /// The stop that leaves neither way out and lacks most for the easier one; failing that, the one that costs
    /// most.
    fn hangs_on(&self, stops: &[DryStop]) -> Option<usize> {
        let strands = (0..stops.len())
            .filter(|&stop| stops[stop].at.strands())
            .min_by(|&a, &b| {
                let (a, b) = (stops[a].at.best(), stops[b].at.best());
                a.get().total_cmp(&b.get())
            });
        let costs = || {
            (0..stops.len())
                .filter(|&stop| stops[stop].spare > self.plain.need().spare + ROUNDING)
                .max_by(|&a, &b| {
                    let (a, b) = (stops[a].spare, stops[b].spare);
                    a.get().total_cmp(&b.get())
                })
        };
        strands.or_else(costs)
    }
}

/// The places of the pumps on the route that are not among those relied on, by the first of each.
fn passed(
    course: &Course<'_>,
    relied: &BTreeMap<usize, Vec<usize>>,
) -> BTreeMap<usize, Vec<usize>> {
    let numbers = course.ground.pumps();
    let n = numbers.len() - 1;
    let relied: Vec<Option<usize>> = relied.keys().map(|&node| numbers[node]).collect();
    let mut first: BTreeMap<usize, usize> = BTreeMap::new();
    let mut passed: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (node, &number) in numbers
        .iter()
        .enumerate()
        .take(n)
        .skip(course.ground.from() + 1)
    {
        let Some(number) = number else { continue };
        if relied.contains(&Some(number)) {
            continue;
        }
        let of = *first.entry(number).or_insert(node);
        passed.entry(of).or_default().push(node);
    }
    passed
}

/// What going back to the nearest refuge takes, from each place.
fn homes(course: &Course<'_>) -> Vec<Option<Home>> {
    let mut homes: Vec<Option<Home>> = Vec::with_capacity(course.home.len());
    for (node, home) in course.home.iter().enumerate() {
        let home = home.and_then(|(fixed, refuge)| {
            let bare = if refuge == node {
                course.to_pump(node, Litres::ZERO)
            } else {
                let behind = homes.last().copied().flatten()?;
                needed_back(course.back[node - 1], behind.bare)?
            };
            let bare = match course.aside.filter(|_| node == course.ground.from()) {
                Some(aside) => needed_back(aside.back, bare)?,
                None => bare,
            };
            Some(Home {
                refuge,
                fixed,
                bare,
            })
        });
        homes.push(home);
    }
    homes
}

/// Size and fill of the largest kind of can that fits whole into the tank.
fn largest_can(trip: &Trip) -> Option<[Litres; 2]> {
    let kinds = trip.load().cans().iter();
    kinds
        .map(|kind| [kind.size_l, kind.fill()])
        .filter(|[_, fill]| *fill <= trip.vehicle.usable_tank())
        .max_by(|[_, a], [_, b]| a.get().total_cmp(&b.get()))
}
