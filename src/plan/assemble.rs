//! From the solver's numbers to the lines of a plan.

use std::sync::{Arc, OnceLock};

use crate::consumption::usage::Usage;
use crate::model::Trip;
use crate::model::vocabulary::Surface;
use crate::quantity::{Kilometres, Litres, Money, Share};
use crate::solver::cans;
use crate::solver::run::Fill;
use crate::solver::turn_back::{OutAndBack, last_point, needed_back};

use super::findings;
use super::solve::{Groundwork, Solution};
use super::{
    Decision, LoadPlan, Plan, PlannedLeg, Pour, Span, Spare, Stop, Stretch, Totals, TurnBack,
};

/// Off the sealed road the go/no-go card has a line at least this often.
const CARD_STEP: Kilometres = Kilometres::new(50.0);

/// Plans the trip.
pub(super) fn plan(trip: &Arc<Trip>) -> Plan {
    let ground = Groundwork::of(trip);
    let (solution, sets_cut) = ground.choose();
    let course = Course::of(&ground, &solution);
    let legs = course.legs();
    let stops = course.stops();
    let stretches = course.stretches();
    let totals = totals(&legs, &stops, &solution);
    let gvm = solution
        .bars
        .iter()
        .find(|bar| bar.what == super::LoadLimit::Gvm);
    let load = LoadPlan {
        heaviest_at: gvm.map_or(0, |bar| bar.node),
        mass: gvm.map_or_else(Default::default, |bar| bar.mass),
        gvm: trip.vehicle.gvm_kg,
        bars: solution.bars.clone(),
        departures: solution.departures.clone(),
    };
    let spare = Spare {
        plain: solution.spare,
        needed: solution.need.spare,
        carried: cans::fill(&solution.set),
        covers: solution.covers(),
        short_at_start: solution.short_at_start,
        cans: solution.set.clone(),
    };
    let findings = findings::all(&ground, &solution, &legs, &stops, &stretches, sets_cut);
    Plan {
        base: ground.formula.base(),
        totals,
        stops,
        pours: course.pours(),
        decisions: course.decisions(),
        course: course.spans(),
        findings,
        spare,
        load,
        stretches,
        usages: solution.problem.legs.clone(),
        why: legs.iter().map(|_| OnceLock::new()).collect(),
        formulas: solution.legs.clone(),
        legs,
        trip: Arc::clone(trip),
    }
}

fn totals(legs: &[PlannedLeg], stops: &[Stop], solution: &Solution) -> Totals {
    let distance: Kilometres = legs.iter().map(|leg| leg.distance).sum();
    let driven: Litres = legs.iter().map(|leg| leg.fuel).sum();
    let detours: Litres = solution.run.fills.iter().map(|fill| fill.detour).sum();
    let filled = || {
        stops
            .iter()
            .filter(|stop| stop.tank + stop.cans > Litres::ZERO)
    };
    let cost: Option<Money> = filled().map(|stop| stop.cost).sum::<Option<Money>>();
    Totals {
        distance,
        fuel: driven + detours,
        rate: (distance > Kilometres::ZERO).then(|| (driven / distance).into()),
        ascent: legs.iter().map(|leg| leg.ascent).sum(),
        driving: legs.iter().map(|leg| leg.driving).sum(),
        cost: cost.filter(|_| filled().next().is_some()),
    }
}

/// A solution laid out along the way.
struct Course<'a> {
    ground: &'a Groundwork<'a>,
    solution: &'a Solution,
    /// Kilometre of each place.
    km: Vec<Kilometres>,
    /// Litres used from each place to the next pump that is used.
    ahead: Vec<Litres>,
    /// What is filled at each place.
    fills: Vec<Option<&'a Fill>>,
    /// Each leg driven the other way, where it can be.
    back: Vec<Option<Usage>>,
    /// Litres needed at each place to go back to the nearest refuge behind it, and that refuge.
    home: Vec<Option<(Litres, usize)>>,
}

impl<'a> Course<'a> {
    fn of(ground: &'a Groundwork<'a>, solution: &'a Solution) -> Self {
        let n = ground.distances.len();
        let mut km = vec![Kilometres::ZERO];
        for &distance in &ground.distances {
            km.push(km[km.len() - 1] + distance);
        }
        let mut ahead = vec![Litres::ZERO; n + 1];
        for j in (0..n).rev() {
            let beyond = if solution.need.at_pump[j + 1].is_some() {
                Litres::ZERO
            } else {
                ahead[j + 1]
            };
            ahead[j] = solution.run.legs[j].used + beyond;
        }
        let mut fills = vec![None; n + 1];
        for fill in &solution.run.fills {
            fills[fill.node] = Some(fill);
        }
        let back = ground
            .trip
            .legs
            .iter()
            .zip(&solution.legs)
            .map(|(leg, formula)| {
                leg.can_return()
                    .then(|| formula.reversed(leg.return_factor()).usage(solution.full))
            });
        let mut course = Self {
            ground,
            solution,
            km,
            ahead,
            fills,
            back: back.collect(),
            home: Vec::with_capacity(n + 1),
        };
        for node in 0..=n {
            let refuge = course
                .is_refuge(node)
                .then(|| (solution.problem.reserve[node], node));
            let farther = || {
                let (needed, refuge) = *course.home.last()?.as_ref()?;
                Some((needed_back(course.back[node - 1], needed)?, refuge))
            };
            let home = refuge.or_else(farther);
            course.home.push(home);
        }
        course
    }

    fn trip(&self) -> &Trip {
        self.ground.trip
    }

    fn name(&self, node: usize) -> String {
        self.trip().place(node).name.to_owned()
    }

    /// What must be left on departure from a place.
    fn reserve_leaving(&self, node: usize) -> Litres {
        self.solution.problem.reserve[node] + self.ahead[node] * self.solution.problem.extra.get()
    }

    /// What must be left on arrival at a place: at a pump only the fixed part.
    fn reserve_arriving(&self, node: usize) -> Litres {
        if self.solution.need.at_pump[node].is_some() {
            self.solution.problem.reserve[node]
        } else {
            self.reserve_leaving(node)
        }
    }

    fn legs(&self) -> Vec<PlannedLeg> {
        let trip = self.trip();
        let driven = self.solution.run.legs.iter().enumerate();
        driven
            .map(|(index, run)| {
                let (leg, terrain) = (&trip.legs[index], &self.ground.terrain[index]);
                let (formula, usage) = (
                    &self.solution.legs[index],
                    self.solution.problem.legs[index],
                );
                let mean = usage.mean_on_board(run.start);
                let end = run.end_tank + run.end_cans;
                let reserve = self.reserve_arriving(index + 1);
                PlannedLeg {
                    n: index + 1,
                    from: self.name(index),
                    to: self.name(index + 1),
                    day: self.ground.days[index],
                    surface: leg.surface(),
                    from_km: self.km[index],
                    distance: terrain.distance,
                    ascent: terrain.ascent,
                    descent: terrain.descent,
                    driving: formula.driving(mean),
                    fuel: run.used,
                    rate: (terrain.distance > Kilometres::ZERO)
                        .then(|| (run.used / terrain.distance).into()),
                    start: run.start,
                    end,
                    end_tank_gauge: (run.end_tank + trip.vehicle.unusable()).max(Litres::ZERO),
                    end_cans: run.end_cans,
                    reserve,
                    below_reserve: end < reserve - Litres::new(1e-6),
                    use_empty: usage.empty(),
                    use_slope: usage.slope(),
                    held: formula.held(mean),
                }
            })
            .collect()
    }

    fn stops(&self) -> Vec<Stop> {
        let (run, n) = (&self.solution.run, self.ground.distances.len());
        let stop = |node: usize| {
            let fuel = self.trip().place(node).fuel?;
            let fill = self.fills[node];
            let (tank, cans) = fill.map_or_else(Default::default, |fill| (fill.tank, fill.cans));
            let leaving = run.legs.get(node).map(|leg| leg.start);
            let arriving = node
                .checked_sub(1)
                .map(|leg| run.legs[leg].end_tank + run.legs[leg].end_cans);
            Some(Stop {
                node,
                place: self.name(node),
                at_km: self.km[node],
                counted: fuel.is_counted(),
                chance: fuel.chance(),
                supply: fuel.litres,
                tank,
                cans,
                cans_filled: fill.map_or(0, |fill| fill.cans_filled),
                after: fill
                    .map(|fill| fill.after)
                    .or(leaving)
                    .or(arriving)
                    .unwrap_or_default(),
                detour: if fill.is_some() {
                    fuel.detour()
                } else {
                    Kilometres::ZERO
                },
                cost: fuel.price_per_l.map(|price| (tank + cans) * price),
            })
        };
        (0..=n).filter_map(stop).collect()
    }

    fn pours(&self) -> Vec<Pour> {
        let unusable = self.trip().vehicle.unusable();
        let pours = self.solution.run.pours.iter();
        pours
            .map(|pour| Pour {
                at_km: pour.at,
                leg: pour.leg + 1,
                node: pour.at_place.then_some(pour.leg),
                litres: pour.litres,
                lost: pour.lost,
                can_size: pour.can.size,
                from: pour.can.place,
                when_tank_at_most_gauge: pour.fits_at + unusable,
                earliest_km: pour.earliest,
                latest_km: pour.latest,
            })
            .collect()
    }

    fn decisions(&self) -> Vec<Decision> {
        let mut decisions = Vec::new();
        let mut unsealed_since = None;
        for (index, leg) in self.trip().legs.iter().enumerate() {
            if leg.surface() == Surface::Sealed {
                unsealed_since = None;
            } else {
                let since = *unsealed_since.get_or_insert(self.km[index]);
                decisions.extend(self.decisions_on(index, since));
            }
            if index + 1 < self.trip().legs.len() {
                decisions.push(self.decision_at(index + 1));
            }
        }
        decisions
    }

    fn decision_at(&self, node: usize) -> Decision {
        let need = &self.solution.need;
        let (arrival, departure) = (need.arrival[node], need.departure[node]);
        let pump = need.at_pump[node].is_some();
        let fills = pump && arrival < departure;
        Decision {
            node: Some(node),
            place: self.name(node),
            at_km: self.km[node],
            go_on: (departure.max(arrival) <= self.solution.full).then_some(departure.max(arrival)),
            fill_cans: fills.then_some(arrival),
            turn_back: arrival,
        }
    }

    /// The lines of the card on one unsealed leg, each fifty kilometres since the road was last sealed.
    fn decisions_on(&self, leg: usize, since: Kilometres) -> impl Iterator<Item = Decision> {
        let (from, to) = (self.km[leg], self.km[leg + 1]);
        let length = to - from;
        let usage = self.solution.problem.legs[leg];
        let first = ((from - since) / CARD_STEP).floor();
        // A mark at a place is the place's own line.
        let clear = Kilometres::new(1.0);
        (1..)
            .map(move |step| since + CARD_STEP * (first + f64::from(step)))
            .take_while(move |&at| at < to - clear)
            .filter(move |&at| at > from + clear)
            .map(move |at| {
                let rest = usage.part(Share::new((to - at) / length));
                let needed = rest.needed_for(
                    self.solution.need.arrival[leg + 1],
                    self.solution.problem.extra,
                );
                Decision {
                    node: None,
                    place: self.name(leg + 1),
                    at_km: at,
                    go_on: (needed <= self.solution.full).then_some(needed),
                    fill_cans: None,
                    turn_back: needed,
                }
            })
    }

    fn stretches(&self) -> Vec<Stretch> {
        let n = self.ground.distances.len();
        let mut bounds: Vec<usize> = (0..n)
            .filter(|&node| node == 0 || self.solution.need.at_pump[node].is_some())
            .collect();
        bounds.push(n);
        bounds
            .windows(2)
            .map(|ends| self.stretch(ends[0], ends[1]))
            .collect()
    }

    fn stretch(&self, from: usize, to: usize) -> Stretch {
        let need = &self.solution.need;
        let required = need.at_pump[from].unwrap_or(need.departure[from]);
        let tank = self.solution.problem.tank;
        let turn_back = self.turn_back(from, to);
        // The last of the doubtful or limited stops behind, where it lies nearer than the refuge.
        let doubtful = (from..to)
            .rev()
            .find_map(|node| self.doubtful_turn_back(node, to));
        Stretch {
            from,
            to,
            from_km: self.km[from],
            distance: self.km[to] - self.km[from],
            required,
            tank,
            spare: (required - tank).max(Litres::ZERO),
            turn_back,
            doubtful_turn_back: doubtful,
        }
    }

    /// Whether a trip can safely end or start anew at a place.
    fn is_refuge(&self, node: usize) -> bool {
        self.solution.problem.pumps[node].is_some_and(|pump| pump.supply.is_none())
    }

    fn out_and_back(&self, leg: usize, to: usize) -> OutAndBack {
        // What the pours still to come on the stretch will lose is not there to burn.
        let pours = self.solution.run.pours.iter();
        let lost: Litres = pours
            .filter(|pour| pour.leg < to && (pour.leg > leg || pour.leg == leg && !pour.at_place))
            .map(|pour| pour.lost)
            .sum();
        OutAndBack {
            out: self.solution.problem.legs[leg],
            back: self.back[leg],
            start: self.solution.run.legs[leg].start - lost,
        }
    }

    /// The last point of `from..to` from which `refuge` can be reached with `keep` left, when that takes `needed` litres
    /// at `from`.
    fn point(
        &self,
        from: usize,
        to: usize,
        needed: Litres,
        refuge: usize,
        keep: Litres,
    ) -> Option<TurnBack> {
        let legs: Vec<OutAndBack> = (from..to).map(|leg| self.out_and_back(leg, to)).collect();
        let point = last_point(&legs, needed)?;
        let leg = from + point.leg;
        let at_km = self.km[leg] + (self.km[leg + 1] - self.km[leg]) * point.part.get();
        Some(TurnBack {
            at_km,
            refuge,
            chance: self.trip().place(refuge).fuel.map_or(
                Share::new(1.0),
                super::super::model::route::FuelStop::chance,
            ),
            on_board: point.on_board,
            way_back: at_km - self.km[refuge],
            needs: point.needed - keep,
            left: None,
        })
    }

    fn turn_back(&self, from: usize, to: usize) -> Option<TurnBack> {
        let (needed, refuge) = self.home[from]?;
        self.point(
            from,
            to,
            needed,
            refuge,
            self.solution.problem.reserve[refuge],
        )
    }

    /// The last point from which a doubtful or limited stop can be reached, such that with what was left in it a
    /// refuge behind it can be reached too.
    fn doubtful_turn_back(&self, node: usize, to: usize) -> Option<TurnBack> {
        let fuel = self
            .trip()
            .place(node)
            .fuel
            .filter(|_| !self.is_refuge(node))?;
        let taken = self.fills[node];
        let left = fuel
            .litres
            .map(|litres| litres - taken.map_or(Litres::ZERO, |fill| fill.tank + fill.cans));
        let reserve = self.solution.problem.reserve[node];
        let needed = match (self.home[node], left) {
            (Some((needed, _)), Some(left)) => reserve.max(needed - left),
            _ => reserve,
        };
        self.point(node, to, needed, node, needed)
            .map(|point| TurnBack { left, ..point })
    }

    fn spans(&self) -> Vec<Span> {
        let spans = self.solution.run.spans.iter();
        spans
            .map(|span| {
                let (from, to) = (self.km[span.leg], self.km[span.leg + 1]);
                let (leaving, arriving) = (
                    self.reserve_leaving(span.leg),
                    self.reserve_arriving(span.leg + 1),
                );
                let part = |km: Kilometres| {
                    if to > from {
                        (km - from) / (to - from)
                    } else {
                        0.0
                    }
                };
                Span {
                    leg: span.leg + 1,
                    from_km: span.from,
                    to_km: span.to,
                    tank_from: span.tank_from,
                    tank_to: span.tank_to,
                    cans: span.cans,
                    reserve_from: leaving + (arriving - leaving) * part(span.from),
                    reserve_to: leaving + (arriving - leaving) * part(span.to),
                }
            })
            .collect()
    }
}
