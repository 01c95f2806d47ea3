//! The plan at the confidence that the rules ask for: which pumps to rely on, what to fill, how it ends.
//!
//! Nothing is decided with knowledge of what comes later. A pump that may be dry is relied on only while all of those
//! relied on have fuel together with at least the confidence; of the ways of relying on pumps the one that needs the
//! least spare fuel is taken. Where the rules count on turning back, a doubtful pump is relied on if one can turn back
//! from it, and the odds of getting through and of being stranded are told apart. The instructions are raised, from
//! quantiles of what is required, until the samples that are driven by them end well often enough.

use std::sync::{Arc, OnceLock};

use crate::consumption::usage::Usage;
use crate::doubt::driven::Outcome;
use crate::doubt::drivers::{DoubtfulPump, Driver, drivers};
use crate::doubt::study::{Band, Drawn, Effort, FIRST_BLOCKS, MOST_BLOCKS, Policy};
use crate::doubt::tally::{Odds, Quantile};
use crate::doubt::vehicle::VehicleDoubt;
use crate::doubt::world::{LegDoubt, World};
use crate::model::Trip;
use crate::quantity::{Factor, Kilometres, Litres, Share};
use crate::solver::cans::{self, CanSet};
use crate::solver::fuel::{Problem, ROUNDING};

use crate::plan::facts::Groundwork;
use crate::plan::search::{Bounds, Choice};
use crate::plan::under_way::Underway;
use crate::plan::{LoadBar, Plan};

use crate::plan::policy::target::Doubts;

/// The confidences at which spare litres are told, besides the one that the rules ask for.
pub const CONFIDENCES: [Share; 5] = [
    Share::new(0.5),
    Share::new(0.8),
    Share::new(0.9),
    Share::new(0.95),
    Share::new(0.99),
];
/// Trips of more legs are not sampled: what a block requires everywhere would not fit into memory.
pub const MOST_LEGS: usize = 5_000;
/// What samples ask for is at most put as so many times all use still ahead, found by halving so often.
const MOST_SHARE: f64 = 4.0;
/// See [`MOST_SHARE`].
const HALVINGS: u32 = 24;

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
    pub(in crate::plan) study: Study,
}

/// What is kept to ask the samples more.
#[derive(Clone, Debug)]
pub(in crate::plan) struct Study {
    pub(in crate::plan) world: Arc<World>,
    pub(in crate::plan) policy: Policy,
    pub(in crate::plan) doubtful: Vec<DoubtfulPump>,
    /// The share of the draws in which the spare litres are enough.
    pub(in crate::plan) share: Share,
    pub(in crate::plan) effort: Effort,
    pub(in crate::plan) drivers: OnceLock<Vec<Driver>>,
}

impl Doubt {
    /// How many samples may be drawn, and on how many threads.
    pub(in crate::plan) fn effort(&self) -> Effort {
        self.study.effort
    }

    /// The same draws once more, to ask what other litres of the legs would need.
    pub(in crate::plan) fn again(&self) -> Again<'_> {
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
    pub(in crate::plan) fn as_share(&self) -> Share {
        as_share(&self.study.policy, self.spare)
    }

    /// The spare litres at the confidence if so much were known of the vehicle.
    pub(in crate::plan) fn spare_with(&self, vehicle: VehicleDoubt) -> Litres {
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
pub(in crate::plan) struct Again<'a> {
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

/// Plans the trip at its confidence. Trips of more legs than can be sampled get the plain plan.
pub(in crate::plan) fn plan(trip: &Arc<Trip>, effort: Effort) -> Plan {
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
    let mut plan = crate::plan::lay_out::assemble(trip, &ground, &solution, cut);
    if let Some(studied) = &solution.studied {
        studied.tell(&ground, &solution, plain, &mut plan);
    }
    plan
}

/// A plan with no more of what samples say than it takes to judge it.
pub(in crate::plan) struct Judged {
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
pub(in crate::plan) fn judged(
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
            plan: crate::plan::lay_out::assemble(trip, &ground, &solution, cut),
            cut,
            error: Litres::ZERO,
            through: None,
            back: None,
        };
    };
    let samples = &studied.samples;
    ground.count(samples.counted.clone());
    let plan = crate::plan::lay_out::assemble(trip, &ground, &solution, cut);
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
pub(in crate::plan) fn reliance(
    trip: &Trip,
    effort: Effort,
    set: CanSet,
) -> Option<(Vec<bool>, Share)> {
    let underway = Underway::of(trip);
    let mut ground = Groundwork::under_way(trip, underway.as_ref());
    ground.doubts = Some(Doubts::of(&ground, effort));
    let samples = ground.confirmed(ground.solve(set)).studied?.samples;
    let share = as_share(&samples.policy, samples.spare);
    Some((samples.counted, share))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::doubt::BLOCK;
    use crate::doubt::driven::{Instructions, driven, sampled};
    use crate::doubt::required::required;
    use crate::plan::facts::Solution;
    use crate::plan::policy::target::simulation::Samples;

    fn trips() -> Vec<Trip> {
        [
            include_str!("../../../tests/data/example-trip.json"),
            include_str!("../../../sample-routes/plateau-loop.json"),
            include_str!("../../../sample-routes/dune-coast.json"),
            include_str!("../../../sample-routes/forest-weekend.json"),
            include_str!("../../../sample-routes/long-dry-stage.json"),
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

    /// What a first look at some samples says that cans must hold, all samples say too: so it refuses none that would do.
    #[test]
    fn a_first_look_asks_for_no_more_than_all_samples() {
        let mut refused = 0;
        for (mut trip, confidence) in trips()
            .into_iter()
            .flat_map(|trip| [0.5, 0.8, 0.95, 0.99].map(|share| (trip.clone(), share)))
        {
            trip.rules.get_or_insert_default().confidence = Some(Share::new(confidence));
            let mut ground = Groundwork::of(&trip);
            ground.doubts = Some(Doubts::of(&ground, Effort::FIRST));
            let bare = || ground.solve(CanSet::new());
            let looked_at = ground.looked_at(bare());
            let wanted = ground.confirmed(bare()).need.spare;
            assert!(
                looked_at.need.spare <= wanted,
                "{:?} {confidence}",
                trip.name
            );
            refused += usize::from(looked_at.need.spare < wanted);
        }
        assert!(refused > 3, "a first look refused only {refused}");
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
                let driven = driven(told, &block);
                for (at, leg) in solution.run.legs.iter().enumerate() {
                    let as_planned = |litres: Option<Litres>, planned: Litres| {
                        let off = litres.unwrap() - planned;
                        assert!(off.abs() < ROUNDING, "{:?}", trip.name);
                    };
                    as_planned(driven.start(at, 0), leg.start);
                    as_planned(driven.end(at, 0), leg.end_tank + leg.end_cans);
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
