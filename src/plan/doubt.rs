//! The plan at the confidence that the rules ask for: which pumps to rely on, what to fill, how it ends.
//!
//! Nothing is decided with knowledge of what comes later. A pump that may be dry is relied on only while all of those
//! relied on have fuel together with at least the confidence; of the ways of relying on pumps the one that needs the
//! least spare fuel is taken. Where the rules count on turning back, a doubtful pump is relied on if one can turn back
//! from it, and the odds of getting through and of being stranded are told apart. The instructions are raised, from
//! quantiles of what is required, until the samples that are driven by them end well often enough.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use crate::consumption::leg::LegFormula;
use crate::consumption::usage::Usage;
use crate::doubt::BLOCK;
use crate::doubt::driven::{Instructions, Outcome, Passing};
use crate::doubt::homeward::{self, Point, WaysBack};
use crate::doubt::required::Homeward;
use crate::doubt::study::{
    Band, DoubtfulPump, Drawn, Driver, Effort, FIRST_BLOCKS, FirstDriven, MOST_BLOCKS, Policy,
    Spread, drivers,
};
use crate::doubt::tally::{Odds, Quantile, Sorted};
use crate::doubt::vehicle::VehicleDoubt;
use crate::doubt::world::{Held, LegDoubt, World};
use crate::model::Trip;
use crate::model::route::FuelStop;
use crate::model::vocabulary::DoubtfulStops;
use crate::quantity::{Factor, Kilometres, Litres, Share};
use crate::solver::cans::{self, CanSet};
use crate::solver::fuel::{Need, Problem, ROUNDING};
use crate::solver::run::Conditions;
use crate::solver::turn_back::needed_back;

use super::choice::{Bounds, Choice};
use super::solve::{Groundwork, Solution};
use super::underway::Underway;
use super::{Decision, LoadBar, Plan, WayBack};

/// The confidences at which spare litres are told, besides the one that the rules ask for.
pub const CONFIDENCES: [Share; 5] = [
    Share::new(0.5),
    Share::new(0.8),
    Share::new(0.9),
    Share::new(0.95),
    Share::new(0.99),
];
/// Samples are added until the spare litres are this sure.
const SURE_ENOUGH: Litres = Litres::new(0.1);
/// Ways of relying on pumps at most; more steps of chance than this are merged.
const MOST_RELIANCES: usize = 8;
/// Trips of more legs are not sampled: what a block requires everywhere would not fit into memory.
pub const MOST_LEGS: usize = 5_000;
/// What samples ask for is at most put as so many times all use still ahead, found by halving so often.
const MOST_SHARE: f64 = 4.0;
/// See [`MOST_SHARE`].
const HALVINGS: u32 = 24;
/// How often the instructions are raised, each time halving what is left to certainty.
const RAISES: i32 = 6;

/// What the samples say about a plan.
#[derive(Clone, Debug)]
pub struct Doubt {
    /// How surely the whole trip shall go through.
    pub confidence: Share,
    /// Samples behind every figure.
    pub samples: usize,
    /// Litres that must be in cans at that confidence, without the per-cent share of the plain plan.
    pub spare: Quantile,
    /// The same at other confidences.
    pub by_confidence: Vec<(Share, Quantile)>,
    /// The odds of being at the finish with the fixed reserve untouched all the way.
    pub through: Odds,
    /// The odds of being at the finish with less.
    pub on_reserve: Odds,
    /// The odds of turning back from a dry pump and being safe.
    pub turned_back: Odds,
    /// The odds of running out of fuel.
    pub stranded: Odds,
    /// Whether the plan counts on turning back from pumps that are dry.
    pub turns_back: bool,
    /// The odds, leg by leg, that the reserve is broken there first.
    pub first_below: Vec<Odds>,
    /// What is on board leg by leg.
    pub bands: Vec<Band>,
    /// The last kilometre of each stretch from which, at the confidence, a refuge behind can be reached with the fixed
    /// reserve untouched; nothing where there is none.
    pub turn_backs: Vec<Option<Kilometres>>,
    /// The plain plan, to be seen beside this one.
    pub plain: Arc<Plan>,
    study: Study,
}

/// What is kept to ask the samples more.
#[derive(Clone, Debug)]
struct Study {
    world: Arc<World>,
    policy: Policy,
    doubtful: Vec<DoubtfulPump>,
    /// The share of the draws in which the spare litres are enough.
    share: Share,
    effort: Effort,
    drivers: OnceLock<Vec<Driver>>,
}

impl Doubt {
    /// How many samples may be drawn, and on how many threads.
    pub(super) fn effort(&self) -> Effort {
        self.study.effort
    }

    /// The same draws once more, to ask what other litres of the legs would need.
    pub(super) fn again(&self) -> Again<'_> {
        let effort = Effort {
            blocks: FIRST_BLOCKS / 2,
            ..self.study.effort
        };
        let mut again = Again {
            doubt: self,
            drawn: Drawn::of(Arc::clone(&self.study.world), effort),
            before: Litres::ZERO,
        };
        again.before = again.spare(&self.study.world.legs, &self.study.policy);
        again
    }

    /// The share on all use still ahead with which the plain recursion needs as much spare fuel as the samples ask for and
    /// twice their standard error: a stand-in for the samples where many trips like this one are to be looked at.
    pub(super) fn as_share(&self) -> Share {
        as_share(&self.study.policy, self.spare)
    }

    /// The spare litres at the confidence if so much were known of the vehicle.
    pub(super) fn spare_with(&self, vehicle: VehicleDoubt) -> Litres {
        let study = &self.study;
        let world = World {
            vehicle,
            ..World::clone(&study.world)
        };
        let effort = Effort {
            blocks: 2 * FIRST_BLOCKS,
            ..study.effort
        };
        let spare = Drawn::of(world, effort).spare(std::slice::from_ref(&study.policy));
        spare[0].quantile(study.share)
    }

    /// What [`Doubt::drivers`] gives, if it was asked before.
    pub fn known_drivers(&self) -> Option<&[Driver]> {
        self.study.drivers.get().map(Vec::as_slice)
    }

    /// What each unknown does to the spare litres, those that do most first; computed when first asked for.
    pub fn drivers(&self) -> &[Driver] {
        let study = &self.study;
        study.drivers.get_or_init(|| {
            let effort = Effort {
                blocks: FIRST_BLOCKS / 2,
                ..study.effort
            };
            drivers(&study.world, &study.policy, &study.doubtful, effort)
        })
    }
}

/// Some of the draws of a plan, to be asked again.
pub(super) struct Again<'a> {
    doubt: &'a Doubt,
    drawn: Drawn,
    /// What these draws say that the plan needs.
    before: Litres,
}

impl Again<'_> {
    fn spare(&self, legs: &[LegDoubt], policy: &Policy) -> Litres {
        let sorted = self.drawn.spare_of(legs, std::slice::from_ref(policy));
        let share = self.doubt.study.share;
        sorted.first().map_or(Litres::ZERO, |spare| {
            spare.quantile_with_error(share).litres
        })
    }

    /// The spare litres at the confidence if the legs took these litres, each `times` what it takes. The difference to
    /// the plan comes from the draws, so it hangs little on which they are.
    pub fn spare_with(&self, legs: &[Usage], times: &[Factor]) -> Litres {
        let Study { world, policy, .. } = &self.doubt.study;
        let problem = Problem {
            legs: legs.to_vec(),
            ..policy.problem.clone()
        };
        let policy = Policy {
            need: problem.need_as(&policy.need),
            problem,
            homeward: policy.homeward.clone(),
        };
        let legs = world.legs.iter().zip(times);
        let legs: Vec<LegDoubt> = legs.map(|(leg, &times)| leg.idling(times)).collect();
        let saved = self.before - self.spare(&legs, &policy);
        (self.doubt.spare.litres - saved).max(Litres::ZERO)
    }
}

/// See [`Doubt::as_share`].
fn as_share(policy: &Policy, spare: Quantile) -> Share {
    let wanted = spare.litres + spare.error * 2.0;
    let needed = |share: f64| {
        let extra = Share::new(share);
        let problem = Problem {
            extra,
            ..policy.problem.clone()
        };
        problem.need_as(&policy.need).spare
    };
    let (mut low, mut high) = (0.0, MOST_SHARE);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if needed(middle) < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    Share::new(high)
}

/// A way of relying on pumps.
#[derive(Clone, Debug)]
struct Reliance {
    /// Whether the pump of each place is relied on.
    counted: Vec<bool>,
    /// The chance that all of those have fuel.
    chance: Share,
    /// Where one must be able to turn back.
    turn_back: Option<Vec<bool>>,
}

/// How what is not known is dealt with.
pub(super) struct Doubts {
    confidence: Share,
    effort: Effort,
    /// Blocks that the spare litres were found to need.
    blocks: Cell<usize>,
    reliances: Vec<Reliance>,
}

/// A solution's samples, and how the first of them end.
pub(super) struct Studied {
    samples: Samples,
    driven: FirstDriven,
}

/// The samples of a solution, and what they ask for.
struct Samples {
    drawn: Drawn,
    policy: Policy,
    counted: Vec<bool>,
    passing: Vec<Option<Passing>>,
    /// The share of the draws in which the spare litres are enough.
    share: Share,
    spare: Quantile,
    by_confidence: Vec<(Share, Quantile)>,
}

/// Plans the trip at its confidence. Trips of more legs than can be sampled get the plain plan.
pub(super) fn plan(trip: &Arc<Trip>, effort: Effort) -> Plan {
    if trip.legs.len() > MOST_LEGS {
        return Plan::of(Arc::clone(trip));
    }
    let plain = Arc::new(Plan::of(Arc::clone(trip)));
    let underway = Underway::of(trip);
    let mut ground = Groundwork::under_way(trip, underway.as_ref());
    ground.doubts = Some(Doubts::of(&ground, effort));
    let Choice { solution, cut, .. } = ground.choose();
    if let Some(studied) = &solution.studied {
        ground.count(studied.samples.counted.clone());
    }
    let mut plan = super::assemble::assemble(trip, &ground, &solution, cut);
    if let Some(studied) = &solution.studied {
        studied.tell(&ground, &solution, plain, &mut plan);
    }
    plan
}

/// A plan with no more of what samples say than it takes to judge it.
pub(super) struct Judged {
    pub plan: Plan,
    /// Whether the choice of cans would have been worth more than its bounds: its plan may carry other ones.
    pub cut: bool,
    /// Standard error of the spare litres.
    pub error: Litres,
    /// The odds of getting through.
    pub through: Option<Share>,
    /// The odds of turning back from a dry pump and being safe, where that is counted on.
    pub back: Option<Share>,
}

/// Plans a trip, at its confidence where an effort is given, to see whether it fits. The cans are those that are guessed,
/// or chosen where those do not: the guess may not be quite the cans of the trip's own plan, but it does.
pub(super) fn judged(
    trip: &Arc<Trip>,
    effort: Option<Effort>,
    guess: CanSet,
    bounds: Bounds,
) -> Judged {
    let underway = Underway::of(trip);
    let mut ground = Groundwork::under_way(trip, underway.as_ref());
    ground.doubts = effort.map(|effort| Doubts::of(&ground, effort));
    let guessed = ground.confirmed(ground.solve(guess));
    let does = guessed.covers()
        && guessed.short_at_start <= ROUNDING
        && !guessed.bars.iter().any(LoadBar::is_over);
    let (solution, cut) = if does {
        (guessed, false)
    } else {
        let choice = ground.choose_within(bounds);
        (choice.solution, choice.cut_in_limits)
    };
    let Some(studied) = &solution.studied else {
        let solution = ground.cheapest(solution);
        return Judged {
            plan: super::assemble::assemble(trip, &ground, &solution, cut),
            cut,
            error: Litres::ZERO,
            through: None,
            back: None,
        };
    };
    let samples = &studied.samples;
    ground.count(samples.counted.clone());
    let plan = super::assemble::assemble(trip, &ground, &solution, cut);
    let each = cans::each(&solution.set);
    let conditions = ground.conditions(&solution.set, &each);
    let told = samples.told_with(&solution.need, conditions);
    let outcomes = samples.drawn.outcomes(&studied.driven, told, MOST_BLOCKS);
    Judged {
        plan,
        cut,
        error: samples.spare.error,
        through: Some(outcomes.odds(Outcome::Through).share),
        back: (samples.policy.homeward.as_ref()).map(|_| outcomes.odds(Outcome::TurnedBack).share),
    }
}

/// Which pumps a trip relies on with a set of cans aboard, and what [`Doubt::as_share`] would give.
pub(super) fn reliance(trip: &Trip, effort: Effort, set: CanSet) -> Option<(Vec<bool>, Share)> {
    let underway = Underway::of(trip);
    let mut ground = Groundwork::under_way(trip, underway.as_ref());
    ground.doubts = Some(Doubts::of(&ground, effort));
    let samples = ground.confirmed(ground.solve(set)).studied?.samples;
    let share = as_share(&samples.policy, samples.spare);
    Some((samples.counted, share))
}

impl Doubts {
    fn of(ground: &Groundwork<'_>, effort: Effort) -> Self {
        Self {
            confidence: ground.trip.rules().confidence(),
            effort,
            blocks: Cell::new(effort.blocks.min(FIRST_BLOCKS)),
            reliances: reliances(ground),
        }
    }

    /// The solution with its cans raised to what the confidence asks for. Where the cans do not hold that, `only_if_held`
    /// spares the instructions: they are those of the likely values then, and nothing is kept to be asked.
    pub fn confirmed(
        &self,
        ground: &Groundwork<'_>,
        solution: Solution,
        only_if_held: bool,
    ) -> Solution {
        let Solution {
            set,
            full,
            legs,
            problem,
            ..
        } = solution;
        let policies = self.policies(ground, &legs, full, &problem);
        let world = Arc::new(world(ground, &legs, full, &self.reliances));
        loop {
            let effort = Effort {
                blocks: self.blocks.get(),
                ..self.effort
            };
            let drawn = Drawn::of(Arc::clone(&world), effort);
            let spare = drawn.spare(&policies);
            let (at, quantile) = self.least(&policies, &spare, self.confidence);
            if let Some(more) = self.more(quantile.error, drawn.samples()) {
                self.blocks.set(more);
                continue;
            }
            let (policy, reliance) = (policies[at].clone(), &self.reliances[at]);
            let wanted = policy.need.spare.max(quantile.litres);
            if only_if_held && wanted > cans::fill(&set) + ROUNDING {
                let need = Need {
                    spare: wanted,
                    ..policy.need
                };
                return ground.driven(set, legs, policy.problem, need);
            }
            let samples = Samples {
                spare: quantile,
                by_confidence: CONFIDENCES
                    .map(|share| (share, self.least_at(&spare, share).1))
                    .to_vec(),
                counted: reliance.counted.clone(),
                passing: passing(ground, &reliance.counted),
                drawn,
                policy,
                share: self.share(at),
            };
            let each = cans::each(&set);
            let not_least = Cell::new(None);
            let (mut need, driven) =
                samples.instructions(ground.conditions(&set, &each), cans::fill(&set), |need| {
                    let (need, why) = ground.bought(&set, &samples.policy.problem, need);
                    not_least.set(why);
                    need
                });
            need.spare = wanted;
            let policy_problem = samples.policy.problem.clone();
            let solution = ground.driven(set, legs, policy_problem, need);
            return Solution {
                studied: Some(Studied { samples, driven }),
                not_least: not_least.get(),
                ..solution
            };
        }
    }

    /// Blocks that would make the spare litres sure enough, where there are to be more.
    fn more(&self, error: Litres, samples: usize) -> Option<usize> {
        let had = samples / BLOCK;
        let most = self.effort.blocks.min(MOST_BLOCKS);
        if error <= SURE_ENOUGH || had < self.blocks.get() || had >= most {
            return None;
        }
        let times = (error / SURE_ENOUGH).powi(2) * 1.1;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a small positive number"
        )]
        let wanted = (had as f64 * times).ceil().min(most as f64) as usize;
        Some(wanted.max(had + 1))
    }

    /// The share of the samples in which what a reliance requires must be enough, so that with the chance of its pumps
    /// it comes to the confidence.
    fn share(&self, reliance: usize) -> Share {
        self.share_for(reliance, self.confidence)
    }

    fn share_for(&self, reliance: usize, confidence: Share) -> Share {
        Share::new((confidence / self.reliances[reliance].chance).min(1.0))
    }

    /// The reliance that needs the least at a confidence, the plain reserve counted.
    fn least(&self, policies: &[Policy], spare: &[Sorted], confidence: Share) -> (usize, Quantile) {
        self.least_by(spare, confidence, |at, litres| {
            litres.max(policies[at].need.spare)
        })
    }

    fn least_at(&self, spare: &[Sorted], confidence: Share) -> (usize, Quantile) {
        self.least_by(spare, confidence, |_, litres| litres)
    }

    fn least_by(
        &self,
        spare: &[Sorted],
        confidence: Share,
        wanted: impl Fn(usize, Litres) -> Litres,
    ) -> (usize, Quantile) {
        let mut least: Option<(usize, Quantile, Litres)> = None;
        for (at, reliance) in self.reliances.iter().enumerate() {
            if reliance.chance < confidence {
                continue;
            }
            let quantile = spare[at].quantile_with_error(self.share_for(at, confidence));
            let litres = wanted(at, quantile.litres);
            if least.is_none_or(|(_, _, least)| litres < least) {
                least = Some((at, quantile, litres));
            }
        }
        least.map_or((0, Quantile::default()), |(at, quantile, _)| (at, quantile))
    }

    fn policies(
        &self,
        ground: &Groundwork<'_>,
        legs: &[LegFormula],
        full: Litres,
        problem: &Problem,
    ) -> Vec<Policy> {
        self.reliances
            .iter()
            .map(|reliance| {
                let problem = Problem {
                    pumps: ground.pumps_counted(&reliance.counted, legs, full),
                    ..problem.clone()
                };
                let homeward = reliance.turn_back.as_ref().map(|wanted| Homeward {
                    back: ground.ways_back(legs, full),
                    refuge: refuges(ground, &reliance.counted, wanted),
                    wanted: wanted.clone(),
                });
                Policy {
                    need: problem.need(),
                    problem,
                    homeward,
                }
            })
            .collect()
    }
}

/// Where a trip can safely end or start anew: at pumps that are relied on, unlimited, and not doubted.
fn refuges(ground: &Groundwork<'_>, counted: &[bool], doubted: &[bool]) -> Vec<bool> {
    (0..counted.len())
        .map(|node| {
            let unlimited = ground
                .trip
                .place(node)
                .fuel
                .is_some_and(FuelStop::is_unlimited);
            counted[node] && unlimited && !doubted[node] || ground.is_refuge_behind(node)
        })
        .collect()
}

/// The pumps on the way that may be dry.
fn doubtful(ground: &Groundwork<'_>, solution: &Solution) -> Vec<DoubtfulPump> {
    let last = ground.pumps().len() - 1;
    let may_be_dry: Vec<bool> = (0..=last)
        .map(|node| {
            let fuel = ground.trip.place(node).fuel;
            // Where the plan begins one sees what there is.
            let way = node > ground.from() && node < last;
            way && fuel.is_some_and(|fuel| fuel.chance() < Share::new(1.0))
        })
        .collect();
    let mut met: BTreeMap<usize, DoubtfulPump> = BTreeMap::new();
    let pumps = ground.pumps_counted(&may_be_dry, &solution.legs, solution.full);
    for (node, pump) in pumps.into_iter().enumerate() {
        if let Some(pump) = pump {
            met.entry(pump.number).or_default().push((node, pump));
        }
    }
    met.into_values().collect()
}

/// The pumps on the route that are not relied on.
fn passing(ground: &Groundwork<'_>, counted: &[bool]) -> Vec<Option<Passing>> {
    let places = ground.trip.places().zip(ground.pumps()).zip(counted);
    let passed = ground.passed();
    places
        .map(|((place, number), counted)| {
            let fuel = place.fuel.filter(|fuel| {
                place.node >= passed && !counted && fuel.detour() <= Kilometres::ZERO
            })?;
            Some(Passing {
                number: (*number)?,
                supply: fuel.litres,
            })
        })
        .collect()
}

fn world(
    ground: &Groundwork<'_>,
    legs: &[LegFormula],
    full: Litres,
    reliances: &[Reliance],
) -> World {
    let trip = ground.trip;
    let legs = legs.iter().zip(&trip.legs).zip(&ground.days);
    World {
        seed: trip.rules().seed(),
        vehicle: trip.vehicle.fitted.as_ref().map_or(
            VehicleDoubt::Prior(trip.vehicle.base_from()),
            VehicleDoubt::fitted,
        ),
        legs: legs
            .enumerate()
            .map(|(at, ((formula, leg), &day))| {
                let doubt = LegDoubt::of(&formula.response(full), leg.surface(), day);
                if at < ground.from() {
                    doubt.behind()
                } else {
                    doubt
                }
            })
            .collect(),
        chances: chances(ground),
        held: Held::default(),
        both_ways: reliances
            .iter()
            .any(|reliance| reliance.turn_back.is_some()),
    }
}

/// The chance of each pump by its number: of a pump that is met again with another chance, the least.
fn chances(ground: &Groundwork<'_>) -> Vec<Share> {
    let mut chances = BTreeMap::new();
    for (place, number) in ground.trip.places().zip(ground.pumps()) {
        if let (Some(fuel), Some(number)) = (place.fuel, number) {
            let least = chances.entry(*number).or_insert(Share::new(1.0));
            *least = least.min(fuel.chance());
        }
    }
    chances.into_values().collect()
}

/// The ways of relying on pumps: all that the plain plan counts, and ever fewer of the doubtful ones, the least sure
/// dropped first; and where the rules say so, all from which one can turn back.
fn reliances(ground: &Groundwork<'_>) -> Vec<Reliance> {
    let chances = chances(ground);
    let counted: Vec<bool> = (0..ground.pumps().len())
        .map(|node| ground.counts(node))
        .collect();
    let chance_at =
        |node: usize| ground.pumps()[node].map_or(Share::new(1.0), |number| chances[number]);
    // The finish needs no fuel, and at the start one sees what there is.
    let last = counted.len() - 1;
    let mut steps: Vec<Share> = (1..last)
        .filter(|&node| counted[node] && chance_at(node) < Share::new(1.0))
        .map(chance_at)
        .collect();
    steps.sort_by(|a, b| a.get().total_cmp(&b.get()));
    steps.dedup();
    let every = steps.len().div_ceil(MOST_RELIANCES - 1).max(1);
    let from: Vec<Share> = std::iter::once(Share::ZERO)
        .chain(steps.iter().copied().skip(every - 1).step_by(every))
        .collect();
    let over = |step: Share| move |chance: Share| step == Share::ZERO || chance > step;
    let mut reliances: Vec<Reliance> = from
        .into_iter()
        .map(|step| {
            let kept = over(step);
            let counted: Vec<bool> = (0..=last)
                .map(|node| counted[node] && kept(chance_at(node)))
                .collect();
            Reliance {
                chance: together(ground, &counted, &chances),
                counted,
                turn_back: None,
            }
        })
        .collect();
    // The last step drops every doubtful pump, so that there is always one to take.
    if let Some(surest) = reliances.last_mut()
        && surest.chance < Share::new(1.0)
    {
        for node in 1..last {
            surest.counted[node] &= chance_at(node) >= Share::new(1.0);
        }
        surest.chance = together(ground, &surest.counted, &chances);
    }
    if ground.trip.rules().doubtful_stops() == DoubtfulStops::TurnBack {
        reliances.extend(with_turning_back(ground, &counted, chance_at));
    }
    reliances
}

/// The chance that every pump that is counted on the way has fuel.
fn together(ground: &Groundwork<'_>, counted: &[bool], chances: &[Share]) -> Share {
    let mut numbers: Vec<usize> = (1..counted.len() - 1)
        .filter(|&node| counted[node])
        .filter_map(|node| ground.pumps()[node])
        .collect();
    numbers.sort_unstable();
    numbers.dedup();
    Share::new(
        numbers
            .iter()
            .map(|&number| chances[number].get())
            .product(),
    )
}

/// All pumps that the plain plan counts, but for those from which one could not turn back.
fn with_turning_back(
    ground: &Groundwork<'_>,
    counted: &[bool],
    chance_at: impl Fn(usize) -> Share,
) -> Option<Reliance> {
    let last = counted.len() - 1;
    let doubted: Vec<bool> = (0..=last)
        .map(|node| node > 0 && node < last && counted[node] && chance_at(node) < Share::new(1.0))
        .collect();
    let refuges = refuges(ground, counted, &doubted);
    // Whether a refuge lies behind, over legs that can all be driven the other way.
    let mut home = vec![refuges[0]];
    for (leg, &refuge) in ground.trip.legs.iter().zip(&refuges[1..]) {
        home.push(refuge || leg.can_return() && home[home.len() - 1]);
    }
    let wanted: Vec<bool> = (0..=last).map(|node| doubted[node] && home[node]).collect();
    wanted.iter().any(|&wanted| wanted).then(|| Reliance {
        counted: (0..=last)
            .map(|node| counted[node] && (!doubted[node] || wanted[node]))
            .collect(),
        chance: Share::new(1.0),
        turn_back: Some(wanted),
    })
}

impl Samples {
    /// What is to be on board where, raised until the samples end well often enough, and the samples driven by it.
    fn instructions(
        &self,
        conditions: Conditions<'_>,
        held: Litres,
        bought: impl Fn(Need) -> Need,
    ) -> (Need, FirstDriven) {
        let share = self.share;
        let mut levels = self.drawn.levels(&self.policy);
        let mut told = |share: Share| {
            let need = bought(levels.raised(&self.policy.need, share));
            let driven = self.drawn.first_driven(self.told_with(&need, conditions));
            (need, driven)
        };
        let first = told(share);
        let does = |(_, driven): &(Need, FirstDriven)| driven.outcomes().as_wanted() >= share;
        // Where the cans do not hold what is wanted, no instruction makes up for it.
        if does(&first) || self.spare.litres > held {
            return first;
        }
        let mut raised = (1..=RAISES).map(|raise| {
            let left = (1.0 - share.get()) * 0.5_f64.powi(raise);
            told(Share::new(1.0 - left))
        });
        // Nor where what is aboard at the start is not enough.
        raised.find(does).unwrap_or(first)
    }

    fn told_with<'b>(&'b self, need: &'b Need, conditions: Conditions<'b>) -> Instructions<'b> {
        Instructions {
            problem: &self.policy.problem,
            need,
            conditions,
            legs: &self.drawn.world().legs,
            homeward: self.policy.homeward.as_ref(),
            passing: &self.passing,
        }
    }
}

impl Studied {
    /// Tells a plan what the samples say of it.
    fn tell(
        &self,
        ground: &Groundwork<'_>,
        solution: &Solution,
        plain: Arc<Plan>,
        plan: &mut Plan,
    ) {
        let confidence = ground.trip.rules().confidence();
        let samples = &self.samples;
        let drawn = &samples.drawn;
        let each = cans::each(&solution.set);
        let told = samples.told_with(&solution.need, ground.conditions(&solution.set, &each));
        let outcomes = drawn.outcomes(&self.driven, told, MOST_BLOCKS);
        let turn_backs = samples.go_back(ground, solution, told, plan);
        plan.doubt = Some(Doubt {
            confidence,
            samples: outcomes.samples(),
            spare: samples.spare,
            by_confidence: samples.by_confidence.clone(),
            through: outcomes.odds(Outcome::Through),
            on_reserve: outcomes.odds(Outcome::OnReserve),
            turned_back: outcomes.odds(Outcome::TurnedBack),
            stranded: outcomes.odds(Outcome::Stranded),
            turns_back: samples.policy.homeward.is_some(),
            first_below: (0..ground.distances.len())
                .map(|leg| outcomes.first_below(leg))
                .collect(),
            bands: with_observed(ground, self.driven.bands()),
            turn_backs,
            plain,
            study: Study {
                world: Arc::clone(drawn.world()),
                policy: samples.policy.clone(),
                doubtful: doubtful(ground, solution),
                share: samples.share,
                effort: drawn.effort(),
                drivers: OnceLock::new(),
            },
        });
    }
}

impl Samples {
    /// Raises what the card asks for to go back to what is enough at the confidence; the turn-back points likewise.
    fn go_back(
        &self,
        ground: &Groundwork<'_>,
        solution: &Solution,
        told: Instructions<'_>,
        plan: &mut Plan,
    ) -> Vec<Option<Kilometres>> {
        let confidence = ground.trip.rules().confidence();
        let world = World {
            both_ways: true,
            ..World::clone(self.drawn.world())
        };
        let effort = Effort {
            blocks: homeward::BLOCKS,
            ..self.drawn.effort()
        };
        let drawn = Drawn::of(world, effort);
        let back = ground.ways_back(&solution.legs, solution.full);
        let none = vec![false; self.counted.len()];
        let refuge = refuges(ground, &self.counted, &none);
        let ways = WaysBack {
            problem: &solution.problem,
            legs: &drawn.world().legs,
            back: &back,
            refuge: &refuge,
            aside: ground
                .back_aside(solution.full, &solution.set)
                .map(|back| (ground.from(), back)),
        };
        let points: Vec<Point> = plan.decisions.iter().map(|at| point_of(at, plan)).collect();
        let enough = ways.enough(&drawn, &points, confidence);
        let (full, home) = (solution.full, ways.likely_home());
        for ((decision, enough), &(leg, part)) in plan.decisions.iter_mut().zip(enough).zip(&points)
        {
            let likely =
                home[leg].and_then(|home| needed_back(back[leg].map(|back| back.part(part)), home));
            if let (Some(planned), Some(enough), Some(likely)) = (decision.back, enough, likely) {
                let needed = planned.needed + (enough - likely).max(Litres::ZERO);
                decision.back = (needed <= full).then_some(WayBack { needed, ..planned });
            }
        }
        let stretches: Vec<(usize, usize)> = plan
            .stretches
            .iter()
            .map(|stretch| (stretch.from, stretch.to))
            .collect();
        let mut km: Vec<Kilometres> = plan.legs.iter().map(|leg| leg.from_km).collect();
        km.push(plan.totals.distance);
        ways.turn_backs(&drawn, told, &stretches, &km, confidence)
    }
}

/// What was observed is known.
fn with_observed(ground: &Groundwork<'_>, mut bands: Vec<Band>) -> Vec<Band> {
    let known = |litres| Spread {
        low: litres,
        middle: litres,
        high: litres,
    };
    for (band, driven) in bands.iter_mut().zip(ground.legs_behind()) {
        *band = Band {
            start: known(driven.start),
            end: known(driven.end),
        };
    }
    bands
}

/// Where on which leg a line of the card stands.
fn point_of(decision: &Decision, plan: &Plan) -> Point {
    if let Some(node) = decision.node.filter(|&node| node > 0) {
        return (node - 1, Share::new(1.0));
    }
    let after = plan
        .legs
        .partition_point(|leg| leg.from_km <= decision.at_km);
    let leg = &plan.legs[after.saturating_sub(1)];
    (
        leg.n - 1,
        Share::new((decision.at_km - leg.from_km) / leg.distance),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::doubt::driven::{Driven, driven, sampled};
    use crate::doubt::required::required;

    fn trips() -> Vec<Trip> {
        [
            include_str!("../../tests/data/example-trip.json"),
            include_str!("../../sample-routes/plateau-loop.json"),
            include_str!("../../sample-routes/dune-coast.json"),
            include_str!("../../sample-routes/forest-weekend.json"),
            include_str!("../../sample-routes/long-dry-stage.json"),
        ]
        .map(|text| serde_json::from_str(text).unwrap())
        .to_vec()
    }

    fn studied(trip: &Trip, then: impl Fn(&Groundwork<'_>, &Solution, &Samples)) {
        let mut ground = Groundwork::of(trip);
        ground.doubts = Some(Doubts::of(&ground, Effort::FIRST));
        let solution = ground.choose().solution;
        then(
            &ground,
            &solution,
            &solution.studied.as_ref().unwrap().samples,
        );
    }

    /// What a block requires is, sample by sample, what the exact recursion finds for that sample.
    #[test]
    fn a_block_requires_what_the_recursion_finds_sample_by_sample() {
        for trip in trips() {
            studied(&trip, |_, _, studied| {
                let (world, policy) = (studied.drawn.world(), &studied.policy);
                let block = world.block(3);
                let all = required(&policy.problem, &policy.need, &world.legs, None, &block);
                for sample in 0..BLOCK {
                    let problem = Problem {
                        extra: Share::ZERO,
                        ..sampled(&policy.problem, &world.legs, &block, sample)
                    };
                    let need = problem.need_as(&policy.need);
                    let near = |a: Litres, b: Litres| {
                        assert!(
                            (a - b).abs() < Litres::new(1e-9),
                            "{:?} {a:?} {b:?}",
                            trip.name
                        );
                    };
                    near(all.spare(sample), need.spare);
                    for place in 0..=problem.legs.len() {
                        near(all.departure(place, sample), need.departure[place]);
                        near(all.arrival(place, sample), need.arrival[place]);
                    }
                }
            });
        }
    }

    /// Asked again with the same litres the draws give the same spare fuel; with less on every leg, less.
    #[test]
    fn the_draws_can_be_asked_again() {
        for trip in trips() {
            let plan = plan(&Arc::new(trip), Effort::FIRST);
            let doubt = plan.doubt.as_ref().unwrap();
            let (again, legs) = (doubt.again(), &doubt.study.policy.problem.legs);
            let times = |times: f64| {
                let times = Factor::new(times);
                let legs: Vec<Usage> = legs
                    .iter()
                    .map(|leg| leg.scaled(times, Litres::ZERO, times))
                    .collect();
                again.spare_with(&legs, &vec![times; legs.len()])
            };
            assert!((times(1.0) - doubt.spare.litres).abs() < ROUNDING);
            assert!(times(0.9) <= doubt.spare.litres && times(0.5) <= times(0.9));
        }
    }

    /// A sample in which everything is as likely as the plan takes it is driven as the plan drives it.
    #[test]
    fn a_sample_without_doubt_is_driven_as_planned() {
        for trip in trips() {
            studied(&trip, |ground, solution, studied| {
                let block = studied.drawn.world().likely();
                let each = cans::each(&solution.set);
                let conditions = ground.conditions(&solution.set, &each);
                let told = studied.told_with(&solution.need, conditions);
                let no_more = vec![None; studied.passing.len()];
                let told = Instructions {
                    passing: &no_more,
                    ..told
                };
                let mut seen: Option<Driven> = None;
                driven(told, &block, |_, sample| seen = Some(sample.clone()));
                for (sample, leg) in seen.unwrap().legs.iter().zip(&solution.run.legs) {
                    let end = leg.end_tank + leg.end_cans;
                    assert!(
                        (sample.start - leg.start).abs() < ROUNDING,
                        "{:?}",
                        trip.name
                    );
                    assert!((sample.end - end).abs() < ROUNDING, "{:?}", trip.name);
                }
            });
        }
    }

    /// Where the cans hold what is wanted, the samples that are driven by the instructions end as the rules want it at
    /// least as often as the confidence says.
    #[test]
    fn instructions_hold_what_the_confidence_says() {
        for mut trip in trips() {
            trip.rules.get_or_insert_default().confidence = Some(Share::new(0.8));
            let plan = plan(&Arc::new(trip), Effort::FIRST);
            let doubt = plan.doubt.as_ref().unwrap();
            if plan.spare.covers && plan.spare.short_at_start <= ROUNDING {
                assert!(
                    doubt.through.share >= Share::new(0.8),
                    "{:?} {:?}",
                    plan.trip.name,
                    doubt.through
                );
            }
            let ends = [
                doubt.through,
                doubt.on_reserve,
                doubt.turned_back,
                doubt.stranded,
            ];
            let all: f64 = ends.iter().map(|odds| odds.share.get()).sum();
            assert!((all - 1.0).abs() < 1e-9);
        }
    }
}
