//! From the success target to instructions for one set of cans: what surely cannot do is passed over by a few simulated
//! trips, a few more settle how the fuel checks are fitted, and all of them determine what must be on board where.

use std::sync::Arc;

use super::Target;
use super::check_route;
use super::reliance::chances;
use super::simulation::{EVEN_IF_EXACT, Raising, Simulation};
use super::sketch::Fit;
use crate::doubt::BLOCK;
use crate::doubt::sharing::Carried;
use crate::doubt::study::{self, Drawn, Effort, FEW_BLOCKS, FIRST_BLOCKS, OverTank};
use crate::doubt::tally::{SURELY, Sorted};
use crate::doubt::vehicle::VehicleDoubt;
use crate::doubt::world::{Held, LegDoubt, World};
use crate::model::vocabulary::Surface;
use crate::plan::facts::TripFacts;
use crate::plan::loadout::Loadout;
use crate::plan::policy::{Basis, Instructions, cheapest};
use crate::plan::under_way::gauge_spread;
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, ROUNDING};

/// Blocks of a first look at cans that may not hold enough by far.
const FIRST_LOOK: usize = FEW_BLOCKS;

/// A target with what is known by now of the work that it takes.
#[derive(Clone, Copy)]
pub(in crate::plan) struct Aim<'a> {
    target: &'a Target,
    /// Blocks of simulated trips to begin with.
    blocks: usize,
    depth: Depth,
    asking: Asking,
}

/// How far cans are confirmed that do not hold what the target needs.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Depth {
    /// As far as any others.
    InFull,
    /// Until that is seen: what they are then taken to need is the least that it can be, by the best estimate, and no
    /// simulated trips are kept.
    IfSufficient,
}

/// What is wanted of cans that do not hold what the target needs.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asking {
    /// A plan, with how it ends.
    Plan,
    /// What the target needs, and no more.
    Need,
}

impl Target {
    /// The target before anything is known of the work that it takes.
    pub(crate) fn aim(&self) -> Aim<'_> {
        Aim {
            target: self,
            blocks: self.effort.blocks.min(FIRST_BLOCKS),
            depth: Depth::InFull,
            asking: Asking::Plan,
        }
    }
}

impl<'a> Aim<'a> {
    /// The aim for cans that may hold too little, where only those that hold enough are of use.
    #[must_use]
    pub(crate) fn confirm_if_sufficient(self) -> Self {
        Self {
            depth: Depth::IfSufficient,
            ..self
        }
    }

    /// The aim for cans that are confirmed whether or not they hold enough.
    #[must_use]
    pub(crate) fn at_target(self) -> Self {
        Self {
            depth: Depth::InFull,
            ..self
        }
    }

    /// The aim where only the litres that the target needs are asked for.
    #[must_use]
    pub(crate) fn for_need_alone(self) -> Self {
        Self {
            asking: Asking::Need,
            ..self
        }
    }

    /// The aim once so many blocks of simulated trips were found necessary.
    #[must_use]
    pub(crate) fn with_blocks(self, blocks: usize) -> Self {
        Self { blocks, ..self }
    }

    /// The best estimate that the target starts from.
    pub(in crate::plan::policy) fn basis(self) -> &'a Basis {
        &self.target.basis
    }

    /// What must be on board where, so that the target is reached.
    pub(in crate::plan::policy) fn instructions(
        self,
        facts: &TripFacts<'_>,
        loadout: &Loadout,
    ) -> Instructions {
        let target = self.target;
        let mut policies = target.policies(facts, loadout);
        let world = world(facts, loadout);
        let effort = |blocks| Effort {
            blocks,
            ..target.effort
        };
        let held = loadout.fill + ROUNDING;
        let only_if_held = self.depth == Depth::IfSufficient && !facts.is_for_least_cost();
        let blocks = self.blocks;
        let drawn = Drawn::new(world, effort(blocks.min(FIRST_LOOK)));
        // What is needed whatever the checks require: with other cans they may require less.
        let at_least = only_if_held.then(|| target.surely(&policies, &drawn.in_cans(&policies)));
        if let Some((at, surely)) = at_least.filter(|(_, surely)| *surely > held) {
            return self.asking(at, policies, surely, blocks);
        }
        let conditions = loadout.conditions(facts);
        let carried = Carried {
            in_cans: loadout.fill,
            on_board: conditions.start_tank + conditions.start_cans,
        };
        share_out(&mut policies, &drawn, carried, |at| {
            target.share(at, target.success)
        });
        let most = if only_if_held {
            held
        } else {
            Litres::new(f64::INFINITY)
        };
        let sketch = target.sketch(facts, loadout, (&drawn, most), &mut policies);
        // What a check requires may fall until all is settled.
        let surely = at_least.filter(|_| sketch.surely.1 > held);
        if let Some((at, surely)) = surely {
            return self.asking(at, policies, surely.max(held + ROUNDING), blocks);
        }
        let mut drawing = Drawing {
            policies,
            drawn,
            blocks,
        };
        let mut fit = sketch.fit;
        loop {
            match self.by_all_trips(facts, loadout, &mut drawing, (at_least, &fit)) {
                Outcome::Instructions(instructions) => return *instructions,
                Outcome::FitAnew(anew) => fit = anew,
            }
        }
    }

    /// What the target needs by as many simulated trips as it takes, with the fuel checks fitted as a few trips
    /// settled; or how to fit them instead.
    fn by_all_trips(
        self,
        facts: &TripFacts<'_>,
        loadout: &Loadout,
        drawing: &mut Drawing,
        (at_least, fit): (Option<(usize, Litres)>, &Fit),
    ) -> Outcome {
        let target = self.target;
        let held = loadout.fill + ROUNDING;
        let (at, in_cans, wanted) = drawing.until_sure(target, fit);
        let Drawing {
            policies,
            drawn,
            blocks,
        } = drawing;
        let blocks = *blocks;
        let asking = |at, litres| {
            let asking = self.asking(at, policies.clone(), litres, blocks);
            Outcome::Instructions(Box::new(asking))
        };
        if let Some((at, surely)) = at_least.filter(|_| wanted > held) {
            return asking(at, surely.max(held + ROUNDING));
        }
        if self.asking == Asking::Need && wanted > held {
            return asking(at, wanted);
        }
        let Some(needed) = target.simulated(facts, policies, (at, &in_cans), drawn.clone()) else {
            return asking(at, wanted);
        };
        let problem = &needed.policy.problem;
        let conditions = loadout.conditions(facts);
        let raising = Raising::new(facts.is_for_least_cost(), fit.for_gauge);
        let mut followed = needed.followed(conditions, loadout.fill, raising, |need| {
            cheapest::as_told(facts, loadout, problem, need)
        });
        let most = check_route::turned_back_at_most(target.success);
        let may_carry_more = !fit.for_gauge && !facts.is_for_least_cost() && wanted <= held;
        let is_fine = followed.driven.card().is_surely_not_too_fine(most)
            && (!may_carry_more || needed.is_read_by_gauge(&followed, conditions, -SURELY));
        if !is_fine || self.asking == Asking::Plan {
            followed = needed.all_follow(followed, conditions);
        }
        if !is_fine {
            // To more trips other checks are too fine. That they require less takes back no verdict.
            let driving = (problem, &needed.policy.need);
            let card = followed.driven.card();
            if let Some(checks) = card.too_fine(&needed.drawn, driving, most) {
                let by_gauge = checks.route().by_gauge.clone();
                policies[at].checks = Some(Arc::new(checks));
                return Outcome::FitAnew(Fit {
                    by_gauge,
                    ..fit.clone()
                });
            }
            // More is carried where a gauge still turns too many back.
            if may_carry_more && !needed.is_read_by_gauge(&followed, conditions, EVEN_IF_EXACT) {
                return Outcome::FitAnew(Fit {
                    for_gauge: true,
                    ..fit.clone()
                });
            }
        }
        let is_settled =
            is_fine || !may_carry_more || needed.drawn.samples() >= FIRST_BLOCKS * BLOCK;
        let may_rise = if is_settled {
            Litres::ZERO
        } else {
            gauge_spread(&facts.trip.vehicle)
        };
        Outcome::Instructions(Box::new(Instructions {
            problem: problem.clone(),
            need: Need {
                in_cans: wanted,
                ..followed.need
            },
            relied_on: needed.relied_on.clone(),
            not_least: followed.not_least,
            simulation: Some(Simulation {
                needed,
                driven: followed.driven,
                outcomes: followed.outcomes,
                may_rise,
            }),
            blocks,
        }))
    }

    /// Instructions that need more than the cans hold; they are those of the best estimate.
    fn asking(
        self,
        at: usize,
        mut policies: Vec<study::Policy>,
        wanted: Litres,
        blocks: usize,
    ) -> Instructions {
        let policy = policies.swap_remove(at);
        Instructions {
            problem: policy.problem,
            need: Need {
                in_cans: wanted,
                ..policy.need
            },
            relied_on: self.target.reliances[at].relied_on.clone(),
            not_least: None,
            simulation: None,
            blocks,
        }
    }
}

/// What is drawn for the ways to rely on fuel stops, and how much is still to be.
struct Drawing {
    policies: Vec<study::Policy>,
    drawn: Drawn,
    blocks: usize,
}

/// What a try with fuel checks that were fitted in one way leads to.
enum Outcome {
    Instructions(Box<Instructions>),
    /// The fuel checks are to be fitted like this.
    FitAnew(Fit),
}

impl Drawing {
    /// Draws until the fuel in cans is sure enough: the way to rely on fuel stops that needs least, what each of them
    /// needs, and what is wanted in cans.
    fn until_sure(&mut self, target: &Target, fit: &Fit) -> (usize, Vec<Sorted>, Litres) {
        self.draw(target);
        fit.apply(&self.drawn, &mut self.policies);
        let mut over_tank = OverTank::default();
        loop {
            over_tank.add(&self.drawn, &self.drawn.world().legs, &self.policies);
            let in_cans = over_tank.sorted();
            let (at, least) = target.least(&self.policies, &in_cans);
            let Some(more) = target.more(least.error, self.drawn.samples(), self.blocks) else {
                let wanted = self.policies[at].need.in_cans.max(least.litres);
                return (at, in_cans, wanted);
            };
            self.blocks = more;
            self.draw(target);
        }
    }

    fn draw(&mut self, target: &Target) {
        let effort = Effort {
            blocks: self.blocks,
            ..target.effort
        };
        self.drawn = self.drawn.clone().up_to(effort);
    }
}

/// Shares the stock of limited fuel stops that are met again out among the visits.
fn share_out(
    policies: &mut [study::Policy],
    drawn: &Drawn,
    carried: Carried,
    share: impl Fn(usize) -> Share,
) {
    for (at, policy) in policies.iter_mut().enumerate() {
        if policy.problem.meets_again() {
            policy.need = drawn.shared_out(policy, carried, share(at));
        }
    }
}

/// What is uncertain of the trip with these cans.
pub(in crate::plan) fn world(facts: &TripFacts<'_>, loadout: &Loadout) -> World {
    let trip = facts.trip;
    let legs = loadout.legs.iter().zip(&trip.legs).zip(&facts.days);
    let tanks = tanks(facts, loadout);
    let mut off_road: Vec<u32> = Vec::new();
    for (leg, &day) in trip.legs.iter().zip(&facts.days) {
        if leg.surface() != Surface::Sealed {
            off_road.push(day);
        }
    }
    World {
        seed: trip.rules().seed(),
        vehicle: trip.vehicle.calibration.as_ref().map_or(
            VehicleDoubt::Prior(trip.vehicle.baseline_from()),
            VehicleDoubt::fitted,
        ),
        legs: legs
            .enumerate()
            .map(|(at, ((formula, leg), &day))| {
                let full = loadout.full;
                let out = LegDoubt::new(&formula.response(full), leg.surface(), day)
                    .leading(facts.terrain[at].bearing)
                    // A day that leaves the sealed road is none of those that quiet fills on it show.
                    .on(off_road.contains(&day), tanks[at]);
                let back = || formula.reversed(leg.return_factor()).response(full);
                let doubt = if leg.can_return() {
                    out.and_back(&back())
                } else {
                    out
                };
                if at < facts.from() {
                    doubt.behind()
                } else {
                    doubt
                }
            })
            .collect(),
        chances: chances(facts),
        held: Held::default(),
        reading: facts.reading_error(),
    }
}

/// The number of the tank that each leg is driven on. A tank begins at the first fuel stop at which half of one was
/// used since the last began: after a few litres more one still drives on the fuel of before, and cans are filled where
/// the tank was.
fn tanks(facts: &TripFacts<'_>, loadout: &Loadout) -> Vec<usize> {
    let half = facts.trip.vehicle.usable_tank() / 2.0;
    let (mut tank, mut used) = (0, Litres::ZERO);
    let legs = loadout.legs.iter().zip(facts.stop_numbers());
    legs.map(|(formula, fuel_stop)| {
        if fuel_stop.is_some() && used >= half {
            (tank, used) = (tank + 1, Litres::ZERO);
        }
        used += formula.components(loadout.full / 2.0).total();
        tank
    })
    .collect()
}
